//! Joint motions: their clinical names, signs, ranges, and the way from angles to a body and back.

use std::collections::BTreeMap;

use crate::body::Side;
use crate::draw::skeleton::{Body, Bone, HandShape, N_BONES};
use crate::draw::vector::{M3, acos, asin, atan2, rx, ry, rz, v};

/// One motion of one joint. Positive is the way the clinical word says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Motion {
    HipFlexion,
    HipAbduction,
    HipRotation,
    KneeFlexion,
    AnkleDorsiflexion,
    AnkleEversion,
    ToesExtension,
    ShoulderFlexion,
    ShoulderAbduction,
    ShoulderRotation,
    ElbowFlexion,
    ForearmPronation,
    WristExtension,
    WristRadial,
    ScapulaElevation,
    ScapulaProtraction,
    LumbarFlexion,
    LumbarSide,
    LumbarRotation,
    ThoracicFlexion,
    ThoracicSide,
    ThoracicRotation,
    NeckFlexion,
    NeckSide,
    NeckRotation,
    HeadNod,
    HeadRetraction,
    Lean,
    Tilt,
    Turn,
}

use Motion::*;

/// Name in pose files, whether each side has its own, and the range the drawing may use (degrees; wide on purpose,
/// a working range for pictures and not a norm).
pub const MOTIONS: [(Motion, &str, bool, [f64; 2]); 30] = [
    (HipFlexion, "hip.flexion", true, [-25.0, 135.0]),
    (HipAbduction, "hip.abduction", true, [-30.0, 50.0]),
    (HipRotation, "hip.rotation", true, [-45.0, 60.0]),
    (KneeFlexion, "knee.flexion", true, [-5.0, 155.0]),
    (AnkleDorsiflexion, "ankle.dorsiflexion", true, [-60.0, 38.0]),
    (AnkleEversion, "ankle.eversion", true, [-35.0, 25.0]),
    (ToesExtension, "toes.extension", true, [-45.0, 75.0]),
    (ShoulderFlexion, "shoulder.flexion", true, [-60.0, 185.0]),
    (ShoulderAbduction, "shoulder.abduction", true, [-45.0, 185.0]),
    (ShoulderRotation, "shoulder.rotation", true, [-95.0, 105.0]),
    (ElbowFlexion, "elbow.flexion", true, [-8.0, 150.0]),
    (ForearmPronation, "forearm.pronation", true, [-90.0, 90.0]),
    (WristExtension, "wrist.extension", true, [-80.0, 90.0]),
    (WristRadial, "wrist.radial", true, [-35.0, 25.0]),
    (ScapulaElevation, "scapula.elevation", true, [-10.0, 35.0]),
    (ScapulaProtraction, "scapula.protraction", true, [-25.0, 25.0]),
    (LumbarFlexion, "lumbar.flexion", false, [-30.0, 65.0]),
    (LumbarSide, "lumbar.side", false, [-30.0, 30.0]),
    (LumbarRotation, "lumbar.rotation", false, [-12.0, 12.0]),
    (ThoracicFlexion, "thoracic.flexion", false, [-30.0, 45.0]),
    (ThoracicSide, "thoracic.side", false, [-35.0, 35.0]),
    (ThoracicRotation, "thoracic.rotation", false, [-50.0, 50.0]),
    (NeckFlexion, "neck.flexion", false, [-65.0, 60.0]),
    (NeckSide, "neck.side", false, [-45.0, 45.0]),
    (NeckRotation, "neck.rotation", false, [-85.0, 85.0]),
    (HeadNod, "head.nod", false, [-20.0, 20.0]),
    (HeadRetraction, "head.retraction", false, [-4.0, 4.0]),
    (Lean, "lean", false, [-180.0, 180.0]),
    (Tilt, "tilt", false, [-180.0, 180.0]),
    (Turn, "turn", false, [-180.0, 180.0]),
];

/// A motion of a joint on one side, or of the trunk.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Joint {
    pub motion: Motion,
    pub side: Option<Side>,
}

impl Joint {
    /// A motion on a side; none for the trunk, neck and root.
    pub fn new(motion: Motion, side: Option<Side>) -> Joint {
        Joint { motion, side }
    }
    /// The name used in pose files, such as `left.hip.flexion`.
    pub fn name(self) -> String {
        match self.side {
            Some(side) => format!("{}.{}", side.key(), self.motion.facts().1),
            None => self.motion.facts().1.to_owned(),
        }
    }
    /// The same motion on the other side.
    #[cfg(test)]
    pub fn mirrored(self) -> Joint {
        Joint { side: self.side.map(Side::other), ..self }
    }
}

impl Motion {
    fn facts(self) -> &'static (Motion, &'static str, bool, [f64; 2]) {
        MOTIONS.iter().find(|row| row.0 == self).unwrap_or(&MOTIONS[0])
    }
    /// The name used in pose files, without a side.
    pub fn name(self) -> &'static str {
        self.facts().1
    }
    /// The motion with this name in pose files.
    pub fn by_name(name: &str) -> Option<Motion> {
        MOTIONS.iter().find(|row| row.1 == name).map(|row| row.0)
    }
    /// What a plus means, in plain words.
    pub fn plus(self) -> &'static str {
        match self {
            HipFlexion => "the thigh forward and up",
            HipAbduction => "the leg out to its side",
            HipRotation => "the knee and toes turned outward",
            KneeFlexion => "bent",
            AnkleDorsiflexion => "the toes up toward the shin",
            AnkleEversion => "the sole turned outward",
            ToesExtension => "the toes bent up",
            ShoulderFlexion => "the arm forward and up; 90 is level, 180 overhead",
            ShoulderAbduction => "the arm out to its side and up",
            ShoulderRotation => "turned outward",
            ElbowFlexion => "bent",
            ForearmPronation => "the palm down",
            WristExtension => "the back of the hand toward the forearm",
            WristRadial => "the hand toward its thumb",
            ScapulaElevation => "the shoulder up toward the ear",
            ScapulaProtraction => "the shoulder forward",
            LumbarFlexion | ThoracicFlexion | NeckFlexion => "bent forward",
            LumbarSide | ThoracicSide | NeckSide => "bent to the person's left",
            LumbarRotation | ThoracicRotation | NeckRotation => "turned to the person's left",
            HeadNod => "the chin down",
            HeadRetraction => "the head straight back",
            Lean => "the whole body forward",
            Tilt => "the whole body to its left",
            Turn => "the whole body turned to its left",
        }
    }
    /// Least and most that the drawing may use.
    pub fn range(self) -> [f64; 2] {
        self.facts().3
    }
    /// Whether the angle changes sign in a mirror: side bend and rotation of the trunk do.
    #[cfg(test)]
    pub fn flips(self) -> bool {
        matches!(
            self,
            LumbarSide | LumbarRotation | ThoracicSide | ThoracicRotation | NeckSide | NeckRotation | Tilt | Turn
        )
    }
}

/// Joint angles in degrees (head retraction in percent of stature); what is missing is zero.
pub type Angles = BTreeMap<Joint, f64>;

/// The way the body lies before any joint bends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Posture {
    #[default]
    Upright,
    Supine,
    Prone,
    SideLeft,
    SideRight,
}

impl Posture {
    /// The word in pose files for each.
    pub const NAMES: [(&str, Posture); 5] = [
        ("upright", Posture::Upright),
        ("supine", Posture::Supine),
        ("prone", Posture::Prone),
        ("side_left", Posture::SideLeft),
        ("side_right", Posture::SideRight),
    ];
    fn turn(self) -> M3 {
        match self {
            Posture::Upright => M3::IDENTITY,
            Posture::Supine => ry(-90.0),
            Posture::Prone => ry(90.0),
            Posture::SideLeft => rx(-90.0),
            Posture::SideRight => rx(90.0),
        }
    }
}

/// Turns a body by its joint angles.
pub fn body_from(posture: Posture, angles: &Angles, hands: [HandShape; 2]) -> Body {
    let central = |motion| angles.get(&Joint::new(motion, None)).copied().unwrap_or(0.0);
    let spine = |f: f64, s: f64, r: f64| ry(f) * rx(-s) * rz(r);
    let (lf, ls, lr) = (central(LumbarFlexion), central(LumbarSide), central(LumbarRotation));
    let (tf, ts, tr) = (central(ThoracicFlexion), central(ThoracicSide), central(ThoracicRotation));
    let (nf, ns, nr) = (central(NeckFlexion), central(NeckSide), central(NeckRotation));
    let mut body = Body {
        root: v(0.0, 0.0, 53.0),
        turns: [M3::IDENTITY; N_BONES],
        retraction: central(HeadRetraction),
        hands,
        scapula: [[0.0; 2]; 2],
    };
    body.set_turn(Bone::Pelvis, rz(central(Turn)) * ry(central(Lean)) * rx(-central(Tilt)) * posture.turn());
    body.set_turn(Bone::Lumbar, spine(0.6 * lf, 0.6 * ls, 0.6 * lr));
    body.set_turn(Bone::Dorsal, spine(0.4 * lf + 0.45 * tf, 0.4 * ls + 0.45 * ts, 0.4 * lr + 0.45 * tr));
    body.set_turn(Bone::Chest, spine(0.55 * tf, 0.55 * ts, 0.55 * tr));
    body.set_turn(Bone::Neck, spine(0.7 * nf, 0.6 * ns, 0.5 * nr));
    body.set_turn(Bone::Head, spine(0.3 * nf + central(HeadNod), 0.4 * ns, 0.5 * nr));
    for side in Side::BOTH {
        let sign = side.sign();
        let get = |motion| angles.get(&Joint::new(motion, Some(side))).copied().unwrap_or(0.0);
        let ball = |f: f64, a: f64, r: f64| ry(-f) * rx(sign * a) * rz(sign * r);
        let shoulder = ball(get(ShoulderFlexion), get(ShoulderAbduction), get(ShoulderRotation));
        body.set_turn(Bone::UpperArm(side), shoulder);
        body.set_turn(Bone::Forearm(side), ry(-get(ElbowFlexion)));
        let hand = rz(-sign * get(ForearmPronation)) * rx(sign * get(WristExtension)) * ry(-get(WristRadial));
        body.set_turn(Bone::Hand(side), hand);
        body.set_turn(Bone::Thigh(side), ball(get(HipFlexion), get(HipAbduction), get(HipRotation)));
        body.set_turn(Bone::Shank(side), ry(get(KneeFlexion)));
        body.set_turn(Bone::Foot(side), ry(-get(AnkleDorsiflexion)) * rx(-sign * get(AnkleEversion)));
        body.set_turn(Bone::Toes(side), ry(-get(ToesExtension)));
        body.scapula[side.index()] = [get(ScapulaElevation), get(ScapulaProtraction)];
        follow_with_girdle(&mut body, side);
    }
    body
}

/// Lets the shoulder girdle rise with the arm: without it raised arms look stuck on.
pub(crate) fn follow_with_girdle(body: &mut Body, side: Side) {
    let down = *body.turn(Bone::UpperArm(side)) * v(0.0, 0.0, -1.0);
    let rise = 0.20 * (acos(-down.z()) - 50.0).max(0.0);
    let [elevation, protraction] = body.scapula[side.index()];
    let sign = side.sign();
    body.set_turn(Bone::Clavicle(side), rx(sign * (rise + elevation)) * rz(-sign * protraction));
}

/// The three angles of a ball joint whose matrix is Ry(-flexion) Rx(abduction) Rz(rotation).
fn ball_angles(r: &M3) -> [f64; 3] {
    let m = &r.0;
    let flexion = -atan2(m[0][2], m[2][2]);
    [if flexion < -100.0 { flexion + 360.0 } else { flexion }, asin(-m[1][2]), atan2(m[1][0], m[1][1])]
}

/// The angle of a hinge that turns about y.
fn hinge(r: &M3) -> f64 {
    atan2(r.0[0][2], r.0[0][0])
}

/// Reads the joint angles off a body, after contacts and reaches have moved it.
pub fn angles_of(body: &Body) -> Angles {
    let mut angles = Angles::new();
    for side in Side::BOTH {
        let sign = side.sign();
        let mut put = |motion, value: f64| {
            angles.insert(Joint::new(motion, Some(side)), value);
        };
        let [f, a, r] = ball_angles(body.turn(Bone::UpperArm(side)));
        put(ShoulderFlexion, f);
        put(ShoulderAbduction, sign * a);
        put(ShoulderRotation, sign * r);
        let [f, a, r] = ball_angles(body.turn(Bone::Thigh(side)));
        put(HipFlexion, f);
        put(HipAbduction, sign * a);
        put(HipRotation, sign * r);
        put(ElbowFlexion, -hinge(body.turn(Bone::Forearm(side))));
        put(KneeFlexion, hinge(body.turn(Bone::Shank(side))));
        let foot = &body.turn(Bone::Foot(side)).0;
        put(AnkleDorsiflexion, atan2(foot[2][0], foot[0][0]));
        put(AnkleEversion, sign * asin(foot[1][2]));
        put(ToesExtension, -hinge(body.turn(Bone::Toes(side))));
        // The hand is Rz(pronation) Rx(extension) Ry(radial).
        let hand = &body.turn(Bone::Hand(side)).0;
        put(WristExtension, sign * asin(hand[2][1]));
        put(ForearmPronation, -sign * atan2(-hand[0][1], hand[1][1]));
    }
    let lumbar = central_angles(body.turn(Bone::Lumbar), 1.0 / 0.6);
    let chest = central_angles(body.turn(Bone::Chest), 1.0 / 0.55);
    let neck = central_angles(&(*body.turn(Bone::Neck) * *body.turn(Bone::Head)), 1.0);
    for (motions, values) in [
        ([LumbarFlexion, LumbarSide, LumbarRotation], lumbar),
        ([ThoracicFlexion, ThoracicSide, ThoracicRotation], chest),
        ([NeckFlexion, NeckSide, NeckRotation], neck),
    ] {
        for (motion, value) in motions.into_iter().zip(values) {
            angles.insert(Joint::new(motion, None), value);
        }
    }
    angles.insert(Joint::new(HeadRetraction, None), body.retraction);
    angles
}

/// Flexion, side bend and rotation of a spine joint, scaled up to the whole region it stands for.
fn central_angles(r: &M3, scale: f64) -> [f64; 3] {
    let [f, s, t] = ball_angles(r);
    [-f * scale, -s * scale, t * scale]
}
