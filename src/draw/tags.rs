//! What the poses of a picture ask of the body, in the words that exercises declare: positions and safety tags.
//!
//! The numbers are those of the drawing and not norms. A tag found here says that the picture shows it; nobody should
//! read the lack of one as leave.

use std::collections::BTreeSet;

use crate::body::Side;
use crate::draw::facts::{Bearing, Facts, is_defined};
use crate::draw::lint::{center_of_mass, support};
use crate::draw::motion::{Joint, Motion};
use crate::draw::skeleton::Bone;
use crate::draw::solve::SolvedFrame;
use crate::draw::vector::v;

/// How the trunk lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lying {
    /// Face down.
    Prone,
    /// Face up.
    Supine,
    /// On the side; which one is down.
    Side(Side),
}

/// A region with a joint close to the end of its range.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum EndRange {
    /// Lower or upper back.
    Spine,
    /// Neck and head.
    Neck,
    /// Any other joint.
    Joint,
}

/// How far one motion of one joint goes over all frames, in degrees; positive is the way the clinical word says.
#[derive(Clone, Debug, PartialEq)]
pub struct Peak {
    /// The motion's name in pose files, such as `hip.flexion`.
    pub motion: &'static str,
    /// The side, unless it is the trunk's or the neck's.
    pub side: Option<Side>,
    /// The least angle of all frames in which the motion has a meaning.
    pub least: f64,
    /// The most.
    pub most: f64,
}

/// What a picture asks of the body; each flag holds if any frame shows it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Demands {
    /// Every joint motion that has a meaning in some frame, in the order of the joints.
    pub peaks: Vec<Peak>,
    /// Everything that carries weight in some frame.
    pub bearing: BTreeSet<Bearing>,
    /// Every way the trunk lies on something.
    pub lying: BTreeSet<Lying>,
    /// Seat down, trunk up.
    pub sitting: bool,
    /// On the feet.
    pub standing: bool,
    /// On one or both knees, trunk up.
    pub kneeling: bool,
    /// One knee down, the other foot in front.
    pub half_kneeling: bool,
    /// Knees down, trunk level over the hands.
    pub hands_and_knees: bool,
    /// An elbow is lifted above its shoulder, measured along the trunk.
    pub overhead: bool,
    /// The head is clearly lower than the middle of the chest.
    pub head_below_heart: bool,
    /// One foot alone carries the body.
    pub single_leg: bool,
    /// A loaded knee is bent past [`DEEP_KNEE_BEND`], or past [`DEEP_KNEEL`] if it is knelt on.
    pub deep_knee_bend: bool,
    /// Without its hands the body would fall.
    pub weight_on_wrists: bool,
    /// A knee or shin carries weight.
    pub weight_on_knees: bool,
    /// Regions with a peak within [`END_RANGE`] of the range that the drawing allows.
    pub end_range: BTreeSet<EndRange>,
    /// The motions behind `end_range`, by name, such as `left.hip.flexion`.
    pub at_the_end: BTreeSet<String>,
}

/// A loaded knee bent farther is a deep knee bend, in degrees.
pub const DEEP_KNEE_BEND: f64 = 100.0;
/// The same for a knee that is knelt on: one that is bent square is not deep, one that sits back on its heel is.
pub const DEEP_KNEEL: f64 = 120.0;
/// A peak this near to the limit of the drawing's range is at the end, in degrees.
pub const END_RANGE: f64 = 5.0;
/// A joint bent less is near its middle, however near a limit may be: a straight knee is no stretch. In degrees.
const NEUTRAL: f64 = 10.0;
/// Hips lower than this are not standing, in percent of stature.
const LOW_HIPS: f64 = 22.0;
/// Weight counts as on the hands only if it lies this far outside the rest of the support, in percent of stature.
const OUTSIDE: f64 = 1.0;
/// The same for hands on a wall: a light touch that steadies is no load.
const OUTSIDE_WALL: f64 = 5.0;

/// The ids by which exercises declare positions and tags, as far as a picture can show them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct DeclaredByPose {
    /// Ids of positions.
    pub positions: BTreeSet<&'static str>,
    /// Ids of tags.
    pub tags: BTreeSet<&'static str>,
}

impl DeclaredByPose {
    /// Every position id that a picture can show. Others, such as `floor`, are not for a picture to tell.
    pub const POSITIONS: [&'static str; 7] =
        ["standing", "sitting", "supine", "prone", "side-lying", "hands-and-knees", "half-kneeling"];
    /// Every tag id that a picture can show.
    pub const TAGS: [&'static str; 10] = [
        "overhead",
        "head-below-heart",
        "single-leg",
        "knee-pressure",
        "wrist-load",
        "deep-knee-bend",
        "lying-flat",
        "end-range-spine",
        "end-range-neck",
        "end-range-joint",
    ];
}

impl Demands {
    /// The ids that an exercise with these pictures should declare.
    pub fn declared_by_pose(&self) -> DeclaredByPose {
        let lies = |it: fn(&Lying) -> bool| self.lying.iter().any(it);
        let shown = |all: &[(bool, &'static str)]| all.iter().filter(|it| it.0).map(|it| it.1).collect();
        DeclaredByPose {
            positions: shown(&[
                (self.standing, "standing"),
                (self.sitting, "sitting"),
                (lies(|it| *it == Lying::Supine), "supine"),
                (lies(|it| *it == Lying::Prone), "prone"),
                (lies(|it| matches!(it, Lying::Side(_))), "side-lying"),
                (self.hands_and_knees, "hands-and-knees"),
                (self.half_kneeling, "half-kneeling"),
            ]),
            tags: shown(&[
                (self.overhead, "overhead"),
                (self.head_below_heart, "head-below-heart"),
                (self.single_leg, "single-leg"),
                (self.weight_on_knees, "knee-pressure"),
                (self.weight_on_wrists, "wrist-load"),
                (self.deep_knee_bend, "deep-knee-bend"),
                (lies(|it| *it == Lying::Supine), "lying-flat"),
                (self.end_range.contains(&EndRange::Spine), "end-range-spine"),
                (self.end_range.contains(&EndRange::Neck), "end-range-neck"),
                (self.end_range.contains(&EndRange::Joint), "end-range-joint"),
            ]),
        }
    }
}

/// What the frames together ask of the body.
pub(crate) fn demands<'a>(frames: impl IntoIterator<Item = &'a SolvedFrame>) -> Demands {
    let mut all = Demands::default();
    for frame in frames {
        let facts = frame.facts();
        add_peaks(&mut all.peaks, &facts);
        add_position(&mut all, frame, &facts);
        all.overhead |= facts.overhead.contains(&true);
        all.head_below_heart |= facts.head_below_heart;
        all.weight_on_knees |= facts.kneeling;
        all.weight_on_wrists |= leans_on_hands(frame, &facts);
        all.bearing.extend(facts.bearing);
    }
    all.peaks.sort_by_key(|it| Motion::by_name(it.motion).map(|motion| (motion, it.side)));
    for peak in &all.peaks {
        let Some(motion) = Motion::by_name(peak.motion) else {
            continue;
        };
        let [least, most] = motion.range();
        let low = peak.least <= least + END_RANGE && peak.least < -NEUTRAL;
        let high = peak.most >= most - END_RANGE && peak.most > NEUTRAL;
        if let Some(region) = region_of(motion).filter(|_| low || high) {
            all.end_range.insert(region);
            all.at_the_end.insert(Joint::new(motion, peak.side).name());
        }
    }
    all
}

fn add_peaks(peaks: &mut Vec<Peak>, facts: &Facts) {
    for (joint, &degrees) in facts.angles.iter().filter(|(joint, _)| is_defined(&facts.angles, **joint)) {
        let motion = joint.motion.name();
        match peaks.iter_mut().find(|it| it.motion == motion && it.side == joint.side) {
            Some(peak) => {
                peak.least = peak.least.min(degrees);
                peak.most = peak.most.max(degrees);
            }
            None => peaks.push(Peak { motion, side: joint.side, least: degrees, most: degrees }),
        }
    }
}

/// One frame shows one position, or none that has a name.
fn add_position(all: &mut Demands, frame: &SolvedFrame, facts: &Facts) {
    let bears = |it: &Bearing| facts.bearing.contains(it);
    let feet: Vec<Side> = Side::BOTH.into_iter().filter(|side| bears(&Bearing::Foot(*side))).collect();
    let knees: Vec<Side> = Side::BOTH.into_iter().filter(|side| bears(&Bearing::Knee(*side))).collect();
    let side_down = Side::BOTH.into_iter().find(|side| bears(&Bearing::Hip(*side)));
    let trunk_down = bears(&Bearing::Back) || bears(&Bearing::Front) || side_down.is_some();
    let level = !facts.upright;
    let hips = frame.skeleton.origin(Bone::Pelvis).z();
    if !knees.is_empty() && !trunk_down {
        let forward = frame.skeleton.direction(Bone::Chest, v(1.0, 0.0, 0.0)).z();
        all.hands_and_knees |= level && forward < -0.5;
        all.kneeling |= !level;
        all.half_kneeling |= !level && knees.len() == 1 && feet.contains(&knees[0].other());
    } else if level && facts.supine && (trunk_down || bears(&Bearing::Seat)) {
        all.lying.insert(Lying::Supine);
    } else if level && facts.prone && (bears(&Bearing::Front) || hips < LOW_HIPS) {
        all.lying.insert(Lying::Prone);
    } else if let (true, Some(side)) = (level, side_down) {
        all.lying.insert(Lying::Side(side));
    } else if bears(&Bearing::Seat) {
        all.sitting = true;
    } else if !feet.is_empty() && hips >= LOW_HIPS {
        all.standing = true;
        all.single_leg |= feet.len() == 1 && !leans_on_hands(frame, facts);
    }
    let loaded = |side: Side| {
        let limit = if bears(&Bearing::Knee(side)) { DEEP_KNEEL } else { DEEP_KNEE_BEND };
        let on_foot = bears(&Bearing::Foot(side)) && !trunk_down && !bears(&Bearing::Seat);
        let bent = facts.angles.get(&Joint::new(Motion::KneeFlexion, Some(side))).copied().unwrap_or(0.0);
        (on_foot || bears(&Bearing::Knee(side))) && bent > limit
    };
    all.deep_knee_bend |= Side::BOTH.into_iter().any(loaded);
}

/// Whether the body would fall if it lifted its hands.
fn leans_on_hands(frame: &SolvedFrame, facts: &Facts) -> bool {
    if !frame.touches_with_hands() {
        return false;
    }
    let trunk_down = |it: &Bearing| matches!(it, Bearing::Seat | Bearing::Back | Bearing::Front | Bearing::Hip(_));
    if facts.bearing.iter().any(trunk_down) {
        return false;
    }
    let c = center_of_mass(&frame.skeleton);
    let rest = support(frame, false);
    let level = facts.bearing.iter().any(|it| matches!(it, Bearing::Hand(_)));
    !rest.is_empty() && !rest.offset(if level { OUTSIDE } else { OUTSIDE_WALL }).contains([c.x(), c.y()])
}

fn region_of(motion: Motion) -> Option<EndRange> {
    use Motion::*;
    match motion {
        LumbarFlexion | LumbarSide | LumbarRotation | ThoracicFlexion | ThoracicSide | ThoracicRotation => {
            Some(EndRange::Spine)
        }
        NeckFlexion | NeckSide | NeckRotation | HeadNod => Some(EndRange::Neck),
        // A shoulder blade has no end that a client would feel, palms lie fully turned on thighs and tables, and
        // retraction is no angle.
        ForearmPronation | ScapulaElevation | ScapulaProtraction | HeadRetraction | Lean | Tilt | Turn => None,
        HipFlexion | HipAbduction | HipRotation | KneeFlexion | AnkleDorsiflexion | AnkleEversion | ToesExtension
        | ShoulderFlexion | ShoulderAbduction | ShoulderRotation | ElbowFlexion | WristExtension | WristRadial => {
            Some(EndRange::Joint)
        }
    }
}

#[cfg(test)]
mod tests;
