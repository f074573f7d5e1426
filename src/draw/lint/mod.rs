//! Doubts about a picture: joints past their range, limbs in walls, bodies that would fall, frames too alike, things too
//! small to read.

mod balance;
mod legible;
mod through;

use std::collections::BTreeSet;

use crate::body::Side;
use crate::draw::camera::Camera;
use crate::draw::canvas::CARD_MM;
use crate::draw::facts::is_defined;
use crate::draw::marks::{SHORTEST_ARROW, arrow_paths, length_of};
use crate::draw::order::parts_of_body;
use crate::draw::pose::End;
use crate::draw::region::Bounds;
use crate::draw::skeleton::Bone;
use crate::draw::solve::SolvedFrame;
use crate::draw::vector::hypot;

pub use balance::center_of_mass;
pub(crate) use balance::support;
pub(crate) use legible::too_fine;

/// One doubt about a frame, a picture or a palette.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Lint {
    #[error("picture {frame}: {joint} is {degrees:.0} degrees, outside {least:.0} to {most:.0}")]
    PastRange { frame: usize, joint: String, degrees: f64, least: f64, most: f64 },
    #[error("picture {frame}: the {limb} misses its place by {by:.1} % of the height")]
    OutOfReach { frame: usize, limb: String, by: f64 },
    #[error("picture {frame}: {site} is {gap:.1} % of the height off the {surface}")]
    OffSurface { frame: usize, site: String, surface: String, gap: f64 },
    #[error("picture {frame}: the {part} sinks {by:.1} % of the height into the {surface}")]
    Sinks { frame: usize, part: String, surface: String, by: f64 },
    #[error("picture {frame}: the body would fall; its center of mass is {by:.1} % of the height outside the support")]
    Falls { frame: usize, by: f64 },
    #[error("picture {frame}: an arrow of {length:.1} % of the height is too short to see")]
    ShortArrow { frame: usize, length: f64 },
    #[error("picture {frame}: the angle at the {joint} is {real:.0} degrees, but looks like {seen:.0}; turn the view")]
    AngleAskew { frame: usize, joint: String, real: f64, seen: f64 },
    #[error("picture {frame}: the {limb} goes {by:.1} % of the height into the {into}")]
    Through { frame: usize, limb: String, into: String, by: f64 },
    #[error("picture {frame}: at {CARD_MM} mm wide the thinnest line is {mm:.2} mm; below {least:.2} mm it breaks up")]
    ThinLine { frame: usize, mm: f64, least: f64 },
    #[error("picture {frame}: at {CARD_MM} mm wide the smallest mark is {mm:.1} mm; below {least} mm it does not read")]
    SmallMark { frame: usize, mm: f64, least: f64 },
    #[error("pictures {first} and {second} look alike: nothing moves more than {by:.1} % of the height")]
    Alike { first: usize, second: usize, by: f64 },
}

impl Lint {
    /// The number of the frame it is about, counted from 1.
    pub fn frame(&self) -> usize {
        match self {
            Lint::PastRange { frame, .. }
            | Lint::OutOfReach { frame, .. }
            | Lint::OffSurface { frame, .. }
            | Lint::Sinks { frame, .. }
            | Lint::Falls { frame, .. }
            | Lint::ShortArrow { frame, .. }
            | Lint::AngleAskew { frame, .. }
            | Lint::Through { frame, .. }
            | Lint::ThinLine { frame, .. }
            | Lint::SmallMark { frame, .. } => *frame,
            Lint::Alike { second, .. } => *second,
        }
    }
}

impl Lint {
    /// Whether it is about the angle of a joint.
    pub fn is_about_joint(&self) -> bool {
        matches!(self, Lint::PastRange { .. })
    }
    /// Whether no body can do it, however it is drawn.
    pub fn is_impossible(&self) -> bool {
        matches!(self, Lint::PastRange { .. } | Lint::Sinks { .. })
    }
}

/// A joint may be this much past its range, in degrees.
const SLACK_DEGREES: f64 = 0.5;
/// A hand or foot may miss its place by this much, in percent of stature.
const MISS: f64 = 1.0;
/// A support may float by this much, in percent of stature.
const OFF: f64 = 0.5;
/// A printed angle may look this much larger or smaller than it is, in degrees.
const ASKEW: f64 = 3.0;
/// Frames in which nothing moves farther on the picture look alike, in percent of stature.
const ALIKE: f64 = 4.0;

/// What no body can do in a frame.
pub(crate) fn impossible(frame: &SolvedFrame) -> Vec<Lint> {
    let mut out = past_range(frame);
    out.extend(through::sinking(frame));
    out
}

fn past_range(frame: &SolvedFrame) -> Vec<Lint> {
    let (mut out, number) = (Vec::new(), frame.number);
    let angles = crate::draw::motion::angles_of(&frame.authored);
    for (joint, &degrees) in &angles {
        let [least, most] = joint.motion.range();
        let name = joint.name();
        let outside = degrees < least - SLACK_DEGREES || degrees > most + SLACK_DEGREES;
        if outside && is_defined(&angles, *joint) && !frame.allow.contains(&name) {
            out.push(Lint::PastRange { frame: number, joint: name, degrees, least, most });
        }
    }
    out
}

/// What is doubtful about one frame.
pub(crate) fn lints(frame: &SolvedFrame) -> Vec<Lint> {
    let (mut out, number) = (impossible(frame), frame.number);
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
    out.extend(through::inside_itself(frame));
    out.extend(balance::falling(frame));
    let camera = Camera::new(frame.view);
    let parts = parts_of_body(&frame.skeleton, &camera);
    let body = parts.iter().fold(Bounds::EMPTY, |b, it| b.join(it.region.bounds()));
    for (points, _) in arrow_paths(frame, &camera, body.middle()) {
        let length = length_of(&points);
        if length < SHORTEST_ARROW - 0.05 {
            out.push(Lint::ShortArrow { frame: number, length });
        }
    }
    for angle in frame.marks.angles.iter().filter(|it| it.degrees) {
        let (real, seen) = (angle.size(&frame.skeleton), angle.seen(&frame.skeleton, &camera));
        if (real - seen).abs() > ASKEW {
            out.push(Lint::AngleAskew { frame: number, joint: angle.joint.words(), real, seen });
        }
    }
    out
}

/// Frames that stand side by side for some rung, and between which nothing visible moves.
pub fn alike(frames: &[SolvedFrame]) -> Vec<Lint> {
    let rungs = frames.iter().flat_map(|it| &it.rungs).copied().max().unwrap_or(0).max(1);
    let mut pairs = BTreeSet::new();
    for rung in 1..=rungs {
        let shown: Vec<usize> = (0..frames.len()).filter(|&i| frames[i].shows(rung)).collect();
        pairs.extend(shown.windows(2).map(|it| (it[0], it[1])));
    }
    pairs.into_iter().filter_map(|(first, second)| likeness(&frames[first], &frames[second])).collect()
}

fn likeness(first: &SolvedFrame, second: &SolvedFrame) -> Option<Lint> {
    if first.view != second.view || second.crop.is_some() {
        return None;
    }
    let camera = Camera::new(first.view);
    let tips = [Bone::Head, Bone::Chest, Bone::Pelvis];
    let ends = Side::BOTH
        .iter()
        .flat_map(|side| [Bone::Hand(*side), Bone::Forearm(*side), Bone::Foot(*side), Bone::Shank(*side)]);
    let moved = |bone: Bone| {
        let (a, b) = (camera.flat(first.skeleton.origin(bone)), camera.flat(second.skeleton.origin(bone)));
        hypot(a[0] - b[0], a[1] - b[1])
    };
    let by = tips.into_iter().chain(ends).map(moved).fold(0.0, f64::max);
    (by < ALIKE).then_some(Lint::Alike { first: first.number, second: second.number, by })
}
