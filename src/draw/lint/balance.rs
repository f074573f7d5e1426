//! Balance: where the body's weight lies, and over what it can rest.

use crate::body::Side;
use crate::draw::contact::Plane;
use crate::draw::flesh::{PartKind, body_parts};
use crate::draw::lint::Lint;
use crate::draw::picture::{Prop, PropKind};
use crate::draw::pose::{End, Target};
use crate::draw::region::{Point, Region};
use crate::draw::sites;
use crate::draw::skeleton::{Bone, Skeleton};
use crate::draw::solve::SolvedFrame;
use crate::draw::vector::{V3, hypot, v};

/// The support reaches this far beyond the points that touch, in percent of stature.
const SUPPORT_MARGIN: f64 = 2.5;
/// A body whose chest is lower than this is lying and cannot fall, in percent of stature.
const LOW_CHEST: f64 = 24.0;
/// How near the skin must be to a level surface to rest on it, in percent of stature.
const TOUCH: f64 = 0.8;

/// Bone, the bone below it, share of the body's mass, place of its center.
type Mass = (fn(Side) -> Bone, fn(Side) -> Option<Bone>, f64, f64);

/// Share of the body's mass and place of its center from the upper joint, after Winter (2009).
const MASSES: [Mass; 6] = [
    (Bone::Thigh, |side| Some(Bone::Shank(side)), 0.100, 0.433),
    (Bone::Shank, |side| Some(Bone::Foot(side)), 0.0465, 0.433),
    (Bone::Foot, |_| None, 0.0145, 0.5),
    (Bone::UpperArm, |side| Some(Bone::Forearm(side)), 0.028, 0.436),
    (Bone::Forearm, |side| Some(Bone::Hand(side)), 0.016, 0.430),
    (Bone::Hand, |_| None, 0.006, 0.506),
];

/// Center of mass of the body.
pub fn center_of_mass(s: &Skeleton) -> V3 {
    let shoulders = s.origin(Bone::UpperArm(Side::Left)) + s.origin(Bone::UpperArm(Side::Right));
    let trunk = s.origin(Bone::Pelvis) * 0.5 + shoulders * 0.25;
    let head = s.origin(Bone::Head).lerp(s.at(Bone::Head, v(1.0, 0.0, 5.0)), 0.4);
    let mut sum = trunk * 0.497 + head * 0.081;
    for (bone, next, mass, share) in MASSES {
        for side in Side::BOTH {
            let upper = s.origin(bone(side));
            let end = match (next(side), bone(side)) {
                (Some(next), _) => s.origin(next),
                (None, Bone::Foot(_)) => s.at(bone(side), v(7.0, 0.0, -2.5)),
                (None, _) => s.at(bone(side), v(0.0, 0.0, -9.0)),
            };
            sum = sum + upper.lerp(end, share) * mass;
        }
    }
    sum
}

/// The area over which the body can rest its weight: under everything that touches something level. Without `hands`,
/// what the body would stand on if it let go.
pub(crate) fn support(frame: &SolvedFrame, hands: bool) -> Region {
    let s = &frame.skeleton;
    let elbows = frame.supports.iter().any(|it| matches!(it.site.name, "elbow" | "forearm"));
    let mut ground: Vec<Point> = Vec::new();
    for contact in frame.supports.iter().filter(|it| hands || it.site.name != "palm") {
        let p = sites::outermost(s, contact.site, -V3::UP);
        ground.push([p.x(), p.y()]);
    }
    for reach in frame.pose.reach.iter().filter(|_| hands) {
        if let (End::Hand, Target::Surface(_)) = (reach.end, &reach.to) {
            for side in &reach.sides {
                let p = s.origin(Bone::Hand(*side));
                ground.push([p.x(), p.y()]);
            }
        }
    }
    for (part, chains) in body_parts(s) {
        if !hands && (part.kind == PartKind::Hand || (part.kind == PartKind::Forearm && !elbows)) {
            continue;
        }
        for blob in chains.iter().flatten() {
            let p = blob.outermost(-V3::UP);
            let touches = frame.surfaces.values().any(|it| !it.is_wall() && (p.z() - it.d).abs() < TOUCH);
            if touches {
                ground.push([p.x(), p.y()]);
            }
        }
    }
    Region::hull(ground).offset(SUPPORT_MARGIN)
}

/// How far the center of mass lies outside the support, if the body stands free.
pub(super) fn falling(frame: &SolvedFrame) -> Option<Lint> {
    let s = &frame.skeleton;
    let leans = |name: &String| frame.surfaces.get(name).is_some_and(Plane::is_wall);
    let touched = |it: &Prop| it.kind == PropKind::Wall && it.touch.is_some();
    let on_wall = frame.supports.iter().any(|it| it.wall)
        || frame.props.iter().any(touched)
        || frame.pose.reach.iter().any(|it| matches!(&it.to, Target::Surface(name) if leans(name)));
    if on_wall || s.origin(Bone::Chest).z() < LOW_CHEST {
        return None;
    }
    let support = support(frame, true);
    let c = center_of_mass(s);
    let p = [c.x(), c.y()];
    if support.is_empty() || support.contains(p) {
        return None;
    }
    let edge = support.shapes.iter().flatten().flatten();
    let by = edge.map(|q| hypot(q[0] - p[0], q[1] - p[1])).fold(1e9, f64::min);
    Some(Lint::Falls { frame: frame.number, by })
}
