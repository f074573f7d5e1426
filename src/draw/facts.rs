//! What a solved frame shows, in terms that rules about exercises can use.

use crate::body::Side;
use crate::draw::motion::{Angles, Joint, Motion};
use crate::draw::picture::{Prop, PropKind};
use crate::draw::pose::{End, Target};
use crate::draw::skeleton::Bone;
use crate::draw::solve::SolvedFrame;
use crate::draw::vector::v;

/// A part of the body that carries weight.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Bearing {
    /// Heel, sole or ball of the foot.
    Foot(Side),
    /// Knee or shin.
    Knee(Side),
    /// Palm on something level.
    Hand(Side),
    /// Elbow or forearm.
    Elbow(Side),
    /// Side of the hip, the trunk or the shoulder.
    Hip(Side),
    /// Buttocks.
    Seat,
    /// Back of the trunk.
    Back,
    /// Front of the trunk or of the thighs.
    Front,
    /// Back of the head or forehead.
    Head,
}

/// Facts of one frame, on the side that is shown.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Facts {
    /// An elbow is lifted above its shoulder, measured along the trunk.
    pub overhead: [bool; 2],
    pub upright: bool,
    pub prone: bool,
    pub supine: bool,
    pub side_lying: bool,
    pub kneeling: bool,
    pub sitting: bool,
    pub bearing: Vec<Bearing>,
    /// The head is clearly lower than the middle of the chest.
    pub head_below_heart: bool,
    /// One foot alone carries the body.
    pub single_leg: bool,
    /// Solved joint angles, in degrees.
    pub angles: Angles,
}

/// How near the skin must be to count as touching, in percent of stature.
const TOUCH: f64 = 0.9;

/// How much lower than the middle of the chest the head must be to count, in percent of stature: the head of a person
/// who lies flat, or on the side on a thin pillow, is a little lower and does not count.
const LOW_HEAD: f64 = 4.0;

/// Reads the facts off a solved frame.
pub(crate) fn facts(frame: &SolvedFrame) -> Facts {
    let s = &frame.skeleton;
    let chest_front = s.direction(Bone::Chest, v(1.0, 0.0, 0.0)).z();
    let chest_up = s.direction(Bone::Chest, v(0.0, 0.0, 1.0)).z();
    let lying = chest_up.abs() < 0.6;
    let mut bearing = bearing(frame);
    bearing.sort();
    bearing.dedup();
    let has = |it: fn(Side) -> Bearing| Side::BOTH.iter().filter(|side| bearing.contains(&it(**side))).count();
    let on_body = bearing.iter().any(|it| matches!(it, Bearing::Back | Bearing::Front | Bearing::Hip(_)));
    let overhead = Side::BOTH.map(|side| {
        let side = frame.side(side);
        let (shoulder, elbow) = (s.origin(Bone::UpperArm(side)), s.origin(Bone::Forearm(side)));
        (elbow - shoulder).dot(s.direction(Bone::Chest, v(0.0, 0.0, 1.0))) > 2.0
    });
    Facts {
        overhead,
        upright: !lying,
        prone: lying && chest_front < -0.6,
        supine: lying && chest_front > 0.6,
        side_lying: lying
            && chest_front.abs() <= 0.6
            && bearing.iter().any(|it| matches!(it, Bearing::Hip(_) | Bearing::Elbow(_))),
        kneeling: has(Bearing::Knee) > 0,
        sitting: bearing.contains(&Bearing::Seat) && !on_body,
        head_below_heart: s.at(Bone::Head, v(1.0, 0.0, 5.0)).z() < s.at(Bone::Chest, v(0.5, 0.0, 2.0)).z() - LOW_HEAD,
        single_leg: has(Bearing::Foot) == 1 && bearing.len() == 1,
        bearing,
        angles: frame.angles(),
    }
}

fn bearing(frame: &SolvedFrame) -> Vec<Bearing> {
    let mut out = Vec::new();
    // A foot on a ball or a roller rolls it and stands on nothing.
    let rolls = |surface: &String| {
        let kind = |it: &Prop| it.name == *surface && matches!(it.kind, PropKind::Ball | PropKind::Roller);
        frame.props.iter().any(kind)
    };
    for contact in frame.contacts().iter().filter(|it| !it.wall) {
        let is_foot = matches!(contact.site.name, "heel" | "forefoot" | "sole" | "outer_foot");
        if is_foot && rolls(&contact.surface) {
            continue;
        }
        let side = contact.site.side;
        let sided = |it: fn(Side) -> Bearing| side.map(it);
        out.extend(match contact.site.name {
            "heel" | "forefoot" | "sole" | "outer_foot" => sided(Bearing::Foot),
            "knee" | "shin" => sided(Bearing::Knee),
            "toe" => None,
            "elbow" | "forearm" => sided(Bearing::Elbow),
            "palm" => sided(Bearing::Hand),
            "hip" | "shoulder" | "armpit" | "thigh_outer" => sided(Bearing::Hip),
            "glute" => Some(Bearing::Seat),
            "upper_back" | "mid_back" | "low_back" | "shoulder_blade" => Some(Bearing::Back),
            "chest" | "belly" | "pec" | "thigh" | "pelvis" => Some(Bearing::Front),
            "head_back" | "forehead" => Some(Bearing::Head),
            _ => None,
        });
    }
    // Hands and feet that reach a level surface carry weight too.
    for reach in &frame.pose.reach {
        let Target::Surface(name) = &reach.to else {
            continue;
        };
        if frame.surfaces.get(name).is_none_or(|plane| plane.is_wall()) || reach.lift > TOUCH {
            continue;
        }
        for side in &reach.sides {
            let side = frame.side(*side);
            match reach.end {
                End::Hand => out.push(Bearing::Hand(side)),
                End::Foot if !rolls(name) => out.push(Bearing::Foot(side)),
                End::Foot => {}
            }
        }
    }
    out
}

/// Whether an angle of a joint says something in this motion; rotations have no meaning when the limb lies across.
pub(crate) fn is_defined(angles: &Angles, joint: Joint) -> bool {
    let across = match joint.motion {
        Motion::ShoulderRotation | Motion::ShoulderFlexion => Motion::ShoulderAbduction,
        Motion::HipRotation | Motion::HipFlexion => Motion::HipAbduction,
        // A hand that lies flat on a wall or the floor is bent back so far that its turn has no meaning.
        Motion::ForearmPronation => Motion::WristExtension,
        _ => return true,
    };
    let limit = if across == Motion::WristExtension { 50.0 } else { 75.0 };
    angles.get(&Joint::new(across, joint.side)).is_none_or(|it| it.abs() <= limit)
}
