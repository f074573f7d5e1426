//! Draw order: which part lies in front of which, and the parts themselves.

use crate::body::Side;
use crate::draw::camera::Camera;
use crate::draw::flesh::{Blob, BodyPart, Chain, PartKind, body_parts, densified};
use crate::draw::region::{Bounds, Point, Region};
use crate::draw::silhouette::silhouette;
use crate::draw::skeleton::{Bone, Skeleton};
use crate::draw::vector::{M3, V3};

/// What a part belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Owner {
    Body(BodyPart),
    /// A piece of the prop with this number.
    Prop(usize),
}

/// A color token.
pub(crate) type Token = &'static str;

/// How a face of a prop is toned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Tone {
    Plain,
    Light,
    Dark,
}

/// A visible face of a prop.
#[derive(Clone, Debug)]
pub(crate) struct Face {
    pub region: Region,
    pub token: Token,
    pub tone: Tone,
}

/// A solid box, for exact depth.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Solid {
    pub center: V3,
    pub half: V3,
}

/// Something with an outline and a depth.
#[derive(Clone, Debug)]
pub(crate) struct Part {
    pub owner: Owner,
    pub region: Region,
    pub token: Token,
    pub far: bool,
    /// What of the body holds it.
    pub held_by: Vec<PartKind>,
    pub faces: Vec<Face>,
    depths: Depths,
}

#[derive(Clone, Debug)]
enum Depths {
    Blobs(Vec<Bulge>),
    Solid(Solid),
    Flat(f64),
}

/// A blob ready for depth: picture centre, depth, inverse of its 2 by 2 matrix, slope, thickness.
#[derive(Clone, Copy, Debug)]
struct Bulge {
    at: Point,
    depth: f64,
    inverse: [f64; 3],
    slope: [f64; 2],
    thick: f64,
}

fn bulge(blob: &Blob, camera: &Camera) -> Bulge {
    let m = camera.axes * blob.shape;
    let s: M3 = m * m.transpose();
    let (a, b, d) = (s.0[0][0] + 1e-6, s.0[0][1], s.0[1][1] + 1e-6);
    let det = a * d - b * b;
    let inverse = [d / det, -b / det, a / det];
    let (k0, k1) = (s.0[2][0], s.0[2][1]);
    let slope = [k0 * inverse[0] + k1 * inverse[1], k0 * inverse[1] + k1 * inverse[2]];
    let thick = (s.0[2][2] - slope[0] * k0 - slope[1] * k1).max(0.0);
    Bulge { at: camera.flat(blob.center), depth: camera.depth(blob.center), inverse, slope, thick }
}

impl Part {
    /// A part whose depth is that of its blobs.
    pub fn of_blobs(owner: Owner, region: Region, blobs: &[Blob], token: Token, camera: &Camera) -> Part {
        let bulges = blobs.iter().map(|it| bulge(it, camera)).collect();
        Part { owner, region, token, far: false, held_by: Vec::new(), faces: Vec::new(), depths: Depths::Blobs(bulges) }
    }
    /// A part whose depth is that of a box.
    pub fn of_solid(owner: Owner, region: Region, solid: Solid, token: Token, faces: Vec<Face>) -> Part {
        Part { owner, region, token, far: false, held_by: Vec::new(), faces, depths: Depths::Solid(solid) }
    }
    /// A part at one depth.
    pub fn of_flat(owner: Owner, region: Region, depth: f64, token: Token, faces: Vec<Face>) -> Part {
        Part { owner, region, token, far: false, held_by: Vec::new(), faces, depths: Depths::Flat(depth) }
    }
    /// The same with faces to tone.
    pub fn with_faces(mut self, faces: Vec<Face>) -> Part {
        self.faces = faces;
        self
    }
    fn is_body(&self) -> bool {
        matches!(self.owner, Owner::Body(_))
    }

    /// Depth of the front surface at a point of the picture, in closed form.
    pub fn depth(&self, p: Point, camera: &Camera) -> f64 {
        match &self.depths {
            Depths::Flat(depth) => *depth,
            Depths::Solid(solid) => solid_depth(solid, p, camera),
            Depths::Blobs(bulges) => {
                let mut front = -1e9;
                let mut nearest = (1e18, 0.0);
                for it in bulges {
                    let e = [p[0] - it.at[0], p[1] - it.at[1]];
                    let q = 1.0
                        - (e[0] * e[0] * it.inverse[0]
                            + 2.0 * e[0] * e[1] * it.inverse[1]
                            + e[1] * e[1] * it.inverse[2]);
                    if q > 0.0 {
                        let z = it.depth + it.slope[0] * e[0] + it.slope[1] * e[1] + (q * it.thick).sqrt();
                        front = f64::max(front, z);
                    }
                    let away = e[0] * e[0] + e[1] * e[1];
                    if away < nearest.0 {
                        nearest = (away, it.depth);
                    }
                }
                if front > -1e8 { front } else { nearest.1 }
            }
        }
    }
    fn mean_depth(&self, camera: &Camera) -> f64 {
        match &self.depths {
            Depths::Flat(depth) => *depth,
            Depths::Solid(solid) => camera.depth(solid.center),
            Depths::Blobs(bulges) => bulges.iter().map(|it| it.depth).sum::<f64>() / bulges.len().max(1) as f64,
        }
    }
}

fn solid_depth(solid: &Solid, p: Point, camera: &Camera) -> f64 {
    let toward = camera.toward();
    let base = camera.axes.row(0) * p[0] + camera.axes.row(1) * p[1] - solid.center;
    let mut exit = 1e9;
    for i in 0..3 {
        let speed = toward.0[i];
        if speed.abs() > 1e-9 {
            let (a, b) = ((solid.half.0[i] - base.0[i]) / speed, (-solid.half.0[i] - base.0[i]) / speed);
            exit = f64::min(exit, a.max(b));
        }
    }
    exit
}

fn token(kind: PartKind) -> Token {
    match kind {
        PartKind::Pelvis | PartKind::Thigh | PartKind::Shank => "bottom",
        PartKind::Torso | PartKind::Sleeve => "top",
        PartKind::Neck | PartKind::Head | PartKind::Foot | PartKind::UpperArm | PartKind::Forearm | PartKind::Hand => {
            "skin"
        }
    }
}

/// How wide a crease is filled.
fn closing(kind: PartKind) -> f64 {
    match kind {
        PartKind::Pelvis => 2.5,
        PartKind::Torso => 2.2,
        PartKind::Thigh => 1.5,
        PartKind::Foot => 1.3,
        PartKind::Head => 0.9,
        PartKind::Neck => 0.8,
        // One smooth chain has no creases.
        PartKind::Shank | PartKind::UpperArm | PartKind::Forearm | PartKind::Sleeve => 0.0,
        PartKind::Hand => 0.55,
    }
}

/// A limb counts as far only near a side view; in three-quarter views a tint would make the pelvis look like underwear.
const FAR_LEG: f64 = 7.4;
const FAR_ARM: f64 = 15.0;

/// The parts of the body, with the far limbs marked.
pub(crate) fn parts_of_body(skeleton: &Skeleton, camera: &Camera) -> Vec<Part> {
    let depth = |bone: fn(Side) -> Bone, side| camera.depth(skeleton.origin(bone(side)));
    let far_side = |bone: fn(Side) -> Bone, least: f64| {
        let gap = depth(bone, Side::Left) - depth(bone, Side::Right);
        if gap > least {
            Some(Side::Right)
        } else if gap < -least {
            Some(Side::Left)
        } else {
            None
        }
    };
    let (far_leg, far_arm) = (far_side(Bone::Thigh, FAR_LEG), far_side(Bone::UpperArm, FAR_ARM));
    let middle = camera.depth(skeleton.origin(Bone::Chest));
    let part = |(body_part, chains): (BodyPart, Vec<Chain>)| {
        let region = silhouette(&chains, camera, closing(body_part.kind));
        let blobs: Vec<Blob> = chains.iter().flat_map(densified).collect();
        let mut part = Part::of_blobs(Owner::Body(body_part), region, &blobs, token(body_part.kind), camera);
        let far = if body_part.is_leg() { far_leg } else { far_arm };
        // A hand that is laid across the body is in front of it.
        let across = matches!(body_part.kind, PartKind::Forearm | PartKind::Hand) && part.mean_depth(camera) > middle;
        part.far = body_part.side.is_some() && body_part.side == far && !across;
        part
    };
    body_parts(skeleton).into_iter().map(part).collect()
}

/// Garment rules that depth alone cannot know: cuffs and hems lie over what they cover.
fn bias(a: BodyPart, b: BodyPart) -> f64 {
    use PartKind::*;
    if a.side.is_some() && b.side.is_some() && a.side != b.side {
        return 0.0;
    }
    let over = |x: PartKind, y: PartKind| match (x, y) {
        (Sleeve, UpperArm) | (Shank, Foot) => 9.0,
        (Torso, Pelvis) => 30.0,
        (Neck, Torso) => 2.2,
        (Head, Neck) => 3.0,
        (Sleeve, Torso) => 0.6,
        (Hand, Forearm) => 0.5,
        _ => 0.0,
    };
    over(a.kind, b.kind) - over(b.kind, a.kind)
}

/// Parts back to front, and for each pair how far the first lies in front of the second.
pub(crate) struct Ordered {
    pub parts: Vec<Part>,
    /// `in_front[i][j]`: depth of part i less depth of part j where they overlap.
    pub in_front: Vec<Vec<Option<f64>>>,
}

/// Least overlap that counts.
const TOUCH: f64 = 0.15;

/// Sorts parts back to front by comparing depths where they overlap.
pub(crate) fn ordered(parts: Vec<Part>, camera: &Camera) -> Ordered {
    let n = parts.len();
    let mut in_front: Vec<Vec<Option<f64>>> = vec![vec![None; n]; n];
    let bounds: Vec<Bounds> = parts.iter().map(|it| it.region.bounds()).collect();
    for i in 0..n {
        for j in i + 1..n {
            if !bounds[i].meets(bounds[j]) {
                continue;
            }
            let Some(mut gap) = depth_gap(&parts[i], &parts[j], camera) else {
                continue;
            };
            if let (Owner::Body(a), Owner::Body(b)) = (parts[i].owner, parts[j].owner) {
                gap += bias(a, b);
            }
            in_front[i][j] = Some(gap);
            in_front[j][i] = Some(-gap);
        }
    }
    let mut left: Vec<usize> = (0..n).collect();
    let mut order = Vec::with_capacity(n);
    while !left.is_empty() {
        // Weight of the parts that should be painted before this one; none if there is no cycle.
        let blocked = |i: usize| -> f64 {
            left.iter().filter(|&&j| j != i).filter_map(|&j| in_front[i][j]).filter(|gap| *gap > 0.0).sum()
        };
        let mut best = 0;
        let mut least = (f64::MAX, f64::MAX);
        for (position, &i) in left.iter().enumerate() {
            let key = ((blocked(i) * 1e6).round(), parts[i].mean_depth(camera));
            if key < least {
                (best, least) = (position, key);
            }
        }
        order.push(left.remove(best));
    }
    let table = order.iter().map(|&i| order.iter().map(|&j| in_front[i][j]).collect()).collect();
    let mut slots: Vec<Option<Part>> = parts.into_iter().map(Some).collect();
    let parts = order.iter().filter_map(|&i| slots[i].take()).collect();
    Ordered { parts, in_front: table }
}

/// Median depth difference over a grid in the overlap; none if they do not overlap.
fn depth_gap(a: &Part, b: &Part, camera: &Camera) -> Option<f64> {
    let (points, area) = a.region.shared(&b.region);
    if area < TOUCH {
        return None;
    }
    let mut gaps: Vec<f64> = points.iter().map(|p| a.depth(*p, camera) - b.depth(*p, camera)).collect();
    gaps.sort_by(f64::total_cmp);
    gaps.get(gaps.len() / 2).copied()
}

impl Part {
    /// Whether both are parts of the body.
    pub fn both_body(&self, other: &Part) -> bool {
        self.is_body() && other.is_body()
    }
    /// Whether one is a thing and the other what holds it.
    pub fn holds(&self, other: &Part) -> bool {
        let by = |thing: &Part, body: &Part| match body.owner {
            Owner::Body(part) => thing.held_by.contains(&part.kind),
            Owner::Prop(_) => false,
        };
        by(self, other) || by(other, self)
    }
    /// Whether both are of one cloth and tint, so that they show as one patch.
    pub fn is_kin(&self, other: &Part) -> bool {
        self.both_body(other) && self.token == other.token && self.far == other.far
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::camera::View;

    #[test]
    fn depth_of_a_sphere_is_exact() {
        let camera = Camera::new(View { azimuth: 0.0, elevation: 0.0 });
        let owner = Owner::Prop(0);
        let part = Part::of_blobs(owner, Region::empty(), &[Blob::ball(V3::ZERO, 5.0)], "prop", &camera);
        assert!((part.depth([3.0, 0.0], &camera) - 4.0).abs() < 1e-5);
    }
}
