//! Doubts about a picture: joints past their range, limbs in walls, bodies that would fall, frames too alike.

use crate::body::Side;
use crate::draw::camera::Camera;
use crate::draw::contact::Plane;
use crate::draw::facts::is_defined;
use crate::draw::flesh::{BodyPart, PartKind, body_parts};
use crate::draw::marks::{SHORTEST_ARROW, arrow_paths, length_of};
use crate::draw::order::parts_of_body;
use crate::draw::picture::{Prop, PropKind};
use crate::draw::pose::{End, Target};
use crate::draw::region::{Bounds, Point, Region};
use crate::draw::sites;
use crate::draw::skeleton::{Bone, Skeleton};
use crate::draw::solve::SolvedFrame;
use crate::draw::vector::{V3, hypot, v};

/// One doubt about a frame.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Lint {
    #[error("frame {frame}: {joint} is {degrees:.0} degrees, outside {least:.0} to {most:.0}")]
    PastRange { frame: usize, joint: String, degrees: f64, least: f64, most: f64 },
    #[error("frame {frame}: the {limb} misses its place by {by:.1}")]
    OutOfReach { frame: usize, limb: String, by: f64 },
    #[error("frame {frame}: {site} is {gap:.1} off the {surface}")]
    OffSurface { frame: usize, site: String, surface: String, gap: f64 },
    #[error("frame {frame}: the {part} sinks {by:.1} into the {surface}")]
    Sinks { frame: usize, part: String, surface: String, by: f64 },
    #[error("frame {frame}: the body would fall; its center of mass is {by:.1} outside the support")]
    Falls { frame: usize, by: f64 },
    #[error("frame {frame}: an arrow of {length:.1} is too short to see")]
    ShortArrow { frame: usize, length: f64 },
    #[error("frames {first} and {second} look alike: nothing moves more than {by:.1}")]
    Alike { first: usize, second: usize, by: f64 },
}

const SLACK_DEGREES: f64 = 0.5;
const MISS: f64 = 1.0;
const OFF: f64 = 0.5;
/// Soft tissue gives this much.
const SINK: f64 = 1.3;
const SUPPORT_MARGIN: f64 = 2.5;
/// A body whose chest is lower than this is lying and cannot fall.
const LOW_CHEST: f64 = 24.0;
const ALIKE: f64 = 4.0;

pub(crate) fn lints(frame: &SolvedFrame) -> Vec<Lint> {
    let mut out = Vec::new();
    let number = frame.number;
    let angles = crate::draw::motion::angles_of(&frame.authored);
    for (joint, &degrees) in &angles {
        let [least, most] = joint.motion.range();
        let name = joint.name();
        let outside = degrees < least - SLACK_DEGREES || degrees > most + SLACK_DEGREES;
        if outside && is_defined(&angles, *joint) && !frame.allow.contains(&name) {
            out.push(Lint::PastRange { frame: number, joint: name, degrees, least, most });
        }
    }
    for (end, side, by) in &frame.misses {
        if *by > MISS {
            let limb = if *end == End::Hand { "hand" } else { "foot" };
            out.push(Lint::OutOfReach { frame: number, limb: format!("{} {limb}", side.key()), by: *by });
        }
    }
    for contact in &frame.supports {
        if contact.gap.abs() > OFF {
            let (site, surface) = (contact.site.words(), contact.surface.clone());
            out.push(Lint::OffSurface { frame: number, site, surface, gap: contact.gap });
        }
    }
    out.extend(sinking(frame));
    out.extend(falling(frame));
    let camera = Camera::new(frame.view);
    let parts = parts_of_body(&frame.skeleton, &camera);
    let body = parts.iter().fold(Bounds::EMPTY, |b, it| b.join(it.region.bounds()));
    for (points, _) in arrow_paths(frame, &camera, body.middle()) {
        let length = length_of(&points);
        if length < SHORTEST_ARROW - 0.05 {
            out.push(Lint::ShortArrow { frame: number, length });
        }
    }
    out
}

fn part_words(part: BodyPart) -> String {
    let name = match part.kind {
        PartKind::Pelvis => "pelvis",
        PartKind::Torso => "trunk",
        PartKind::Neck => "neck",
        PartKind::Head => "head",
        PartKind::Thigh => "thigh",
        PartKind::Shank => "lower leg",
        PartKind::Foot => "foot",
        PartKind::UpperArm | PartKind::Sleeve => "upper arm",
        PartKind::Forearm => "forearm",
        PartKind::Hand => "hand",
    };
    part.side.map_or(name.to_owned(), |side| format!("{} {name}", side.key()))
}

fn sinking(frame: &SolvedFrame) -> Vec<Lint> {
    let solid = |name: &&String| {
        *name == "floor" || frame.props.iter().any(|it| it.name == **name && it.kind == PropKind::Wall)
    };
    let surfaces: Vec<(&String, &Plane)> = frame.surfaces.iter().filter(|it| solid(&it.0)).collect();
    let mut out = Vec::new();
    for (part, chains) in body_parts(&frame.skeleton) {
        for (name, plane) in &surfaces {
            let by = -chains.iter().map(|chain| plane.clearance(chain)).fold(1e9, f64::min);
            if by > SINK {
                out.push(Lint::Sinks { frame: frame.number, part: part_words(part), surface: (*name).clone(), by });
            }
        }
    }
    out
}

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

/// How far the center of mass lies outside the support, if the body stands free.
fn falling(frame: &SolvedFrame) -> Option<Lint> {
    let s = &frame.skeleton;
    let leans = |name: &String| frame.surfaces.get(name).is_some_and(Plane::is_wall);
    let touched = |it: &Prop| it.kind == PropKind::Wall && it.touch.is_some();
    let on_wall = frame.supports.iter().any(|it| it.wall)
        || frame.props.iter().any(touched)
        || frame.pose.reach.iter().any(|it| matches!(&it.to, Target::Surface(name) if leans(name)));
    if on_wall || s.origin(Bone::Chest).z() < LOW_CHEST {
        return None;
    }
    let mut ground: Vec<Point> = Vec::new();
    for contact in &frame.supports {
        let p = sites::outermost(s, contact.site, -V3::UP);
        ground.push([p.x(), p.y()]);
    }
    for reach in &frame.pose.reach {
        if let (End::Hand, Target::Surface(_)) = (reach.end, &reach.to) {
            for side in &reach.sides {
                let p = s.origin(Bone::Hand(*side));
                ground.push([p.x(), p.y()]);
            }
        }
    }
    for (_, chains) in body_parts(s) {
        for blob in chains.iter().flatten() {
            let p = blob.outermost(-V3::UP);
            let touches = frame.surfaces.values().any(|it| !it.is_wall() && (p.z() - it.d).abs() < 0.8);
            if touches {
                ground.push([p.x(), p.y()]);
            }
        }
    }
    let support = Region::hull(ground).offset(SUPPORT_MARGIN);
    let c = center_of_mass(s);
    let p = [c.x(), c.y()];
    if support.is_empty() || support.contains(p) {
        return None;
    }
    let edge = support.shapes.iter().flatten().flatten();
    let by = edge.map(|q| hypot(q[0] - p[0], q[1] - p[1])).fold(1e9, f64::min);
    Some(Lint::Falls { frame: frame.number, by })
}

/// Neighbouring frames between which nothing visible moves.
pub fn alike(frames: &[SolvedFrame]) -> Vec<Lint> {
    let mut out = Vec::new();
    for pair in frames.windows(2) {
        if pair[0].view != pair[1].view || pair[1].crop.is_some() {
            continue;
        }
        let camera = Camera::new(pair[0].view);
        let tips = [Bone::Head, Bone::Chest, Bone::Pelvis];
        let ends = Side::BOTH
            .iter()
            .flat_map(|side| [Bone::Hand(*side), Bone::Forearm(*side), Bone::Foot(*side), Bone::Shank(*side)]);
        let moved = |bone: Bone| {
            let (a, b) = (camera.flat(pair[0].skeleton.origin(bone)), camera.flat(pair[1].skeleton.origin(bone)));
            hypot(a[0] - b[0], a[1] - b[1])
        };
        let by = tips.into_iter().chain(ends).map(moved).fold(0.0, f64::max);
        if by < ALIKE {
            out.push(Lint::Alike { first: pair[0].number, second: pair[1].number, by });
        }
    }
    out
}
