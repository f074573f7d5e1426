//! Flesh: ellipsoids carried by the bones, and the chains of them that make each part of the body.

use crate::body::Side;
use crate::draw::skeleton::{ANKLE_HEIGHT, Bone, FOREARM, HandShape, SHANK, Skeleton, THIGH, UPPER_ARM};
use crate::draw::vector::{M3, V3, v};

/// An ellipsoid: its centre and the matrix that makes it from the unit ball.
#[derive(Clone, Copy, Debug)]
pub struct Blob {
    pub center: V3,
    pub shape: M3,
}

impl Blob {
    /// An ellipsoid with half-axes along those of a bone, its centre in the frame of the bone.
    pub fn new(skeleton: &Skeleton, bone: Bone, center: V3, radii: V3) -> Blob {
        let shape = *skeleton.frame(bone) * M3::diagonal(radii.x(), radii.y(), radii.z());
        Blob { center: skeleton.at(bone, center), shape }
    }
    /// A ball.
    pub fn ball(center: V3, radius: f64) -> Blob {
        Blob { center, shape: M3::diagonal(radius, radius, radius) }
    }
    /// The ellipsoid a share `t` of the way to the other.
    pub fn mix(&self, other: &Blob, t: f64) -> Blob {
        let mut shape = self.shape;
        for (row, target) in shape.0.iter_mut().zip(&other.shape.0) {
            for (a, b) in row.iter_mut().zip(target) {
                *a = *a * (1.0 - t) + b * t;
            }
        }
        Blob { center: self.center.lerp(other.center, t), shape }
    }
    /// How far it reaches along the unit vector `n`.
    pub fn support(&self, n: V3) -> f64 {
        self.center.dot(n) + (self.shape.transpose() * n).norm()
    }
    /// Its outermost point along the unit vector `n`.
    pub fn outermost(&self, n: V3) -> V3 {
        let pull = self.shape.transpose() * n;
        self.center + self.shape * pull * (1.0 / pull.norm().max(1e-12))
    }
    /// How deep under its skin a point lies, at least; zero outside.
    pub fn depth_of(&self, p: V3) -> f64 {
        let Some(inverse) = self.shape.inverse() else {
            return 0.0;
        };
        let thin = (0..3).map(|i| self.shape.column(i).norm()).fold(f64::MAX, f64::min);
        (1.0 - (inverse * (p - self.center)).norm()).max(0.0) * thin
    }
    /// `k` times as large about its centre.
    pub fn scaled(&self, k: f64) -> Blob {
        let mut blob = *self;
        blob.shape.0.iter_mut().flatten().for_each(|x| *x *= k);
        blob
    }
}

/// A row of blobs; its solid is the union of the hulls of neighbours.
pub type Chain = Vec<Blob>;

/// The blobs of a chain with two more between neighbours: close enough to stand for its solid.
pub(crate) fn densified(chain: &Chain) -> Vec<Blob> {
    let mut blobs = Vec::new();
    for pair in chain.windows(2) {
        blobs.extend((0..3).map(|i| pair[0].mix(&pair[1], f64::from(i) / 3.0)));
    }
    blobs.extend(chain.last());
    blobs
}

/// What a part of the body is, and what it is covered with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PartKind {
    Pelvis,
    Torso,
    Neck,
    Head,
    Thigh,
    Shank,
    Foot,
    UpperArm,
    Sleeve,
    Forearm,
    Hand,
}

/// A part of the body on its side, or of the trunk.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct BodyPart {
    pub kind: PartKind,
    pub side: Option<Side>,
}

impl BodyPart {
    /// Thigh, shank or foot.
    pub fn is_leg(self) -> bool {
        matches!(self.kind, PartKind::Thigh | PartKind::Shank | PartKind::Foot)
    }
}

/// Rows: share of the bone, radius, forward offset, outward offset.
type Profile = [[f64; 4]];

/// The thigh, from hip to knee.
pub(crate) const THIGH_PROFILE: [[f64; 4]; 7] = [
    [0.0, 5.5, -0.5, 0.1],
    [0.14, 5.65, -0.2, 0.3],
    [0.35, 5.25, 0.3, 0.25],
    [0.6, 4.5, 0.4, 0.0],
    [0.82, 3.75, 0.15, -0.1],
    [0.93, 3.42, 0.05, -0.1],
    [1.0, 3.3, 0.15, -0.1],
];
/// The lower leg, from knee to ankle.
pub(crate) const SHANK_PROFILE: [[f64; 4]; 7] = [
    [0.0, 3.3, 0.15, -0.1],
    [0.1, 3.2, 0.0, -0.1],
    [0.26, 3.6, -0.75, 0.05],
    [0.42, 3.35, -0.75, 0.05],
    [0.62, 2.6, -0.35, 0.0],
    [0.82, 2.02, -0.1, 0.0],
    [1.0, 1.95, 0.0, 0.0],
];
const UPPER_ARM_PROFILE: [[f64; 4]; 5] = [
    [0.0, 2.65, -0.1, 0.0],
    [0.16, 3.0, 0.0, 0.25],
    [0.45, 2.65, 0.15, 0.1],
    [0.8, 2.25, 0.0, 0.0],
    [1.0, 2.1, 0.0, 0.0],
];
const FOREARM_PROFILE: [[f64; 4]; 5] =
    [[0.0, 2.1, 0.0, 0.0], [0.2, 2.4, 0.1, 0.1], [0.45, 2.1, 0.1, 0.0], [0.8, 1.6, 0.0, 0.0], [1.0, 1.5, 0.0, 0.0]];

/// Column `column` of a profile at share `t`, by cubic Hermite: straight pieces would show as facets.
pub(crate) fn profile_at(rows: &Profile, t: f64, column: usize) -> f64 {
    let last = rows.len() - 1;
    let i = rows.iter().rposition(|row| row[0] < t).unwrap_or(0).min(last - 1);
    let slope = |k: usize| {
        let (a, b) = (k.saturating_sub(1), (k + 1).min(last));
        (rows[b][column] - rows[a][column]) / (rows[b][0] - rows[a][0])
    };
    let h = rows[i + 1][0] - rows[i][0];
    let u = (t - rows[i][0]) / h;
    let (u2, u3) = (u * u, u * u * u);
    (2.0 * u3 - 3.0 * u2 + 1.0) * rows[i][column]
        + (u3 - 2.0 * u2 + u) * slope(i) * h
        + (3.0 * u2 - 2.0 * u3) * rows[i + 1][column]
        + (u3 - u2) * slope(i + 1) * h
}

/// A stretch of a limb. A cuff ends it in a flat disc, so that a hem is straight from every view.
struct Stretch {
    from: f64,
    to: f64,
    grow: f64,
    cuff: bool,
}

const WHOLE: Stretch = Stretch { from: 0.0, to: 1.0, grow: 0.0, cuff: false };

fn limb(skeleton: &Skeleton, bone: Bone, side: Side, rows: &Profile, length: f64, stretch: Stretch) -> Chain {
    let steps = ((8.0 * (stretch.to - stretch.from)).round() as usize).max(2);
    let blob = |i: usize| {
        let t = stretch.from + (stretch.to - stretch.from) * i as f64 / steps as f64;
        let radius = profile_at(rows, t, 1) + stretch.grow;
        let center = v(profile_at(rows, t, 2), side.sign() * profile_at(rows, t, 3), -length * t);
        let flat = stretch.cuff && i == steps;
        Blob::new(skeleton, bone, center, v(radius, radius, if flat { 0.25 } else { radius }))
    };
    (0..=steps).map(blob).collect()
}

fn hand(skeleton: &Skeleton, side: Side) -> Vec<Chain> {
    // The palm looks along -y of a left hand.
    let blob = |x: f64, y: f64, z: f64, radii: [f64; 3]| {
        Blob::new(skeleton, Bone::Hand(side), v(x, -side.sign() * y, z), V3(radii))
    };
    let ball = |x: f64, y: f64, z: f64, r: f64| blob(x, y, z, [r; 3]);
    let wrist = ball(0.0, 0.0, 0.2, 1.45);
    match skeleton.hands[side.index()] {
        HandShape::Flat => vec![
            vec![
                wrist,
                blob(0.0, 0.0, -2.2, [1.75, 1.15, 1.6]),
                blob(0.0, 0.0, -4.4, [2.15, 0.95, 1.6]),
                blob(-0.05, 0.0, -7.4, [1.75, 0.75, 1.6]),
                blob(-0.1, 0.0, -9.5, [1.25, 0.6, 1.2]),
            ],
            vec![ball(1.1, 0.2, -1.8, 0.95), ball(2.7, 0.5, -4.0, 0.75), ball(3.0, 0.6, -5.6, 0.58)],
        ],
        HandShape::Fist | HandShape::Grip => vec![
            vec![wrist, blob(0.0, 0.1, -2.2, [1.8, 1.35, 1.5]), blob(0.0, 0.6, -4.1, [2.15, 1.75, 1.75])],
            vec![ball(1.2, 0.4, -2.2, 0.95), ball(1.5, 1.7, -3.7, 0.8), ball(0.6, 2.2, -4.4, 0.7)],
        ],
        HandShape::Relaxed => vec![
            vec![
                wrist,
                blob(0.0, 0.1, -2.2, [1.75, 1.2, 1.6]),
                blob(0.0, 0.25, -4.3, [2.05, 1.05, 1.6]),
                blob(0.0, 0.9, -6.9, [1.7, 0.85, 1.5]),
                blob(0.0, 1.9, -8.6, [1.3, 0.7, 1.0]),
            ],
            vec![ball(1.1, 0.3, -1.8, 0.95), ball(2.2, 0.9, -4.0, 0.75), ball(2.2, 1.3, -5.5, 0.6)],
        ],
    }
}

fn foot(skeleton: &Skeleton, side: Side) -> Vec<Chain> {
    let sign = side.sign();
    let heel_bone =
        |x: f64, y: f64, z: f64, r: f64| Blob::new(skeleton, Bone::Foot(side), v(x, sign * y, z), v(r, r, r));
    let toe_bone =
        |x: f64, y: f64, z: f64, r: f64| Blob::new(skeleton, Bone::Toes(side), v(x, sign * y, z), v(r, r, r));
    let ankle = Stretch { from: 0.8, to: 1.0, grow: 0.0, cuff: false };
    let mut shin = limb(skeleton, Bone::Shank(side), side, &SHANK_PROFILE, SHANK, ankle);
    let end = shin[shin.len() - 1];
    let heel = heel_bone(-2.9, 0.1, -1.95, 1.95);
    let instep = heel_bone(2.6, -0.1, -1.1, 1.75);
    let (inner_ball, outer_ball) = (heel_bone(7.2, -1.25, -2.75, 1.15), heel_bone(6.6, 1.3, -2.9, 1.0));
    let (big_toe, small_toe) = (toe_bone(2.9, -1.1, -0.15, 0.9), toe_bone(2.2, 1.3, -0.3, 0.75));
    let sole = heel_bone(2.5, 0.2, 0.9 - ANKLE_HEIGHT, 0.9);
    shin.push(heel);
    vec![
        shin,
        vec![end, instep, inner_ball, big_toe],
        vec![instep, outer_ball, small_toe],
        vec![heel, instep],
        vec![inner_ball, outer_ball],
        vec![big_toe, small_toe],
        vec![heel, sole, inner_ball],
        vec![sole, outer_ball],
        vec![heel, outer_ball],
    ]
}

/// The round of the shoulder.
fn deltoid(s: &Skeleton, side: Side) -> Blob {
    Blob::new(s, Bone::UpperArm(side), v(-0.1, 0.0, -0.2), V3([2.6; 3]))
}

/// The web of the armpit, which gives a real line under a raised arm.
fn armpit(s: &Skeleton, side: Side) -> Chain {
    let b = |bone, x: f64, y: f64, z: f64, r: f64| Blob::new(s, bone, v(x, y, z), V3([r; 3]));
    vec![
        b(Bone::UpperArm(side), -0.2, 0.0, -5.2, 2.3),
        b(Bone::Chest, -0.6, side.sign() * 6.0, 1.0, 2.7),
        b(Bone::Dorsal, 0.0, side.sign() * 5.6, 3.0, 2.4),
    ]
}

/// The cloth that shirt and sleeve share: no edge of either shows on it.
pub(crate) fn shoulder(s: &Skeleton, side: Side) -> [Chain; 2] {
    let web = armpit(s, side);
    [vec![deltoid(s, side), web[0]], web]
}

/// Every part of the body as chains of blobs, trunk first, then side by side.
pub fn body_parts(skeleton: &Skeleton) -> Vec<(BodyPart, Vec<Chain>)> {
    use PartKind::*;
    let s = skeleton;
    let b = |bone, x: f64, y: f64, z: f64, radii: [f64; 3]| Blob::new(s, bone, v(x, y, z), V3(radii));
    let pelvis = b(Bone::Pelvis, -0.9, 0.0, 1.2, [5.5, 9.25, 5.1]);
    let belt = b(Bone::Pelvis, -0.4, 0.0, 6.6, [5.6, 8.2, 0.7]);
    let crotch = b(Bone::Pelvis, -0.6, 0.0, -2.4, [3.8, 6.3, 3.3]);
    let buttock = Side::BOTH.map(|side| b(Bone::Pelvis, -3.1, 3.9 * side.sign(), -1.9, [5.1; 3]));
    let [left, right] = buttock;
    let hem = b(Bone::Pelvis, -0.4, 0.0, 4.6, [6.3, 8.9, 0.5]);
    let waist = b(Bone::Lumbar, 0.6, 0.0, 3.4, [5.4, 7.6, 2.6]);
    let ribs = b(Bone::Dorsal, 0.5, 0.0, 3.2, [6.3, 8.2, 3.2]);
    let chest = b(Bone::Chest, 0.5, 0.0, 1.6, [6.9, 8.9, 3.6]);
    let upper = b(Bone::Chest, -0.4, 0.0, 4.6, [5.7, 8.6, 2.8]);
    let neck_base = b(Bone::Chest, -0.7, 0.0, 8.7, [3.4, 3.8, 1.4]);
    let mut torso = vec![vec![hem, waist, ribs, chest, upper, neck_base]];
    for side in Side::BOTH {
        let deltoid = deltoid(s, side);
        let (middle, shoulder) = (s.origin(Bone::Chest), s.origin(Bone::UpperArm(side)));
        let slope = middle.lerp(shoulder, 0.6) + s.direction(Bone::Chest, v(-0.8, 0.0, 4.5));
        torso.push(vec![upper, deltoid]);
        torso.push(vec![neck_base, Blob::ball(slope, 1.8), deltoid]);
        torso.push(armpit(s, side));
    }
    let part = |kind| BodyPart { kind, side: None };
    let mut parts = vec![
        (
            part(Pelvis),
            vec![
                vec![belt, pelvis, crotch],
                vec![pelvis, left],
                vec![pelvis, right],
                vec![left, right],
                vec![belt, left],
                vec![belt, right],
            ],
        ),
        (part(Torso), torso),
        (
            part(Neck),
            vec![vec![
                b(Bone::Neck, -0.2, 0.0, -1.9, [2.9, 3.1, 1.2]),
                b(Bone::Neck, 0.2, 0.0, 1.2, [2.75; 3]),
                b(Bone::Head, -0.6, 0.0, 0.6, [2.7; 3]),
                b(Bone::Head, -0.2, 0.0, 2.2, [2.6; 3]),
            ]],
        ),
        (part(Head), head(s)),
    ];
    for side in Side::BOTH {
        let part = |kind| BodyPart { kind, side: Some(side) };
        let thigh = limb(s, Bone::Thigh(side), side, &THIGH_PROFILE, THIGH, WHOLE);
        // The gluteal fold belongs to the leg, so that it takes the leg's tint.
        let fold = vec![buttock[side.index()], b(Bone::Thigh(side), -0.9, 0.0, -7.5, [4.3; 3])];
        let leg = Stretch { from: 0.0, to: 0.86, grow: 0.12, cuff: true };
        let bare = Stretch { from: 0.3, to: 1.0, grow: 0.0, cuff: false };
        let sleeve = Stretch { from: 0.0, to: 0.55, grow: 0.28, cuff: true };
        parts.push((part(Thigh), vec![thigh, fold]));
        parts.push((part(Shank), vec![limb(s, Bone::Shank(side), side, &SHANK_PROFILE, SHANK, leg)]));
        parts.push((part(Foot), foot(s, side)));
        let arm = Bone::UpperArm(side);
        parts.push((part(UpperArm), vec![limb(s, arm, side, &UPPER_ARM_PROFILE, UPPER_ARM, bare)]));
        parts.push((part(Sleeve), vec![limb(s, arm, side, &UPPER_ARM_PROFILE, UPPER_ARM, sleeve)]));
        parts.push((part(Forearm), vec![limb(s, Bone::Forearm(side), side, &FOREARM_PROFILE, FOREARM, WHOLE)]));
        parts.push((part(Hand), hand(s, side)));
    }
    parts
}

/// Skull, jaw and nose.
fn head(s: &Skeleton) -> Vec<Chain> {
    let b = |x: f64, z: f64, radii: [f64; 3]| Blob::new(s, Bone::Head, v(x, 0.0, z), V3(radii));
    let (bridge, tip) = (b(5.4, 4.2, [0.55; 3]), b(6.55, 2.75, [0.75; 3]));
    vec![
        vec![b(1.0, 5.1, [5.2, 4.4, 4.85]), b(2.7, 0.5, [3.0, 2.85, 2.7])],
        vec![bridge, tip],
        vec![tip, b(4.6, 2.4, [1.0; 3])],
    ]
}
