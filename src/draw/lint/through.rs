//! Limbs where there is no room: in the floor, in a wall, in the body itself.

use crate::body::Side;
use crate::draw::contact::Plane;
use crate::draw::flesh::{Blob, BodyPart, PartKind, body_parts, densified};
use crate::draw::lint::Lint;
use crate::draw::picture::PropKind;
use crate::draw::solve::SolvedFrame;

/// Soft tissue gives this much, in percent of stature.
const SINK: f64 = 1.3;
/// The middle of a limb may lie this deep under other skin, in percent of stature: a hand between two thighs presses in.
const DEEP: f64 = 1.5;

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

/// Parts that sink into the floor or a wall.
pub(super) fn sinking(frame: &SolvedFrame) -> Vec<Lint> {
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

/// Hands, forearms, lower legs and feet whose middle lies inside the trunk, the head or the other leg.
pub(super) fn inside_itself(frame: &SolvedFrame) -> Vec<Lint> {
    use PartKind::*;
    let parts: Vec<(BodyPart, Vec<Blob>)> = body_parts(&frame.skeleton)
        .into_iter()
        .map(|(part, chains)| (part, chains.iter().flat_map(densified).collect()))
        .collect();
    let mut out = Vec::new();
    for (limb, blobs) in parts.iter().filter(|it| matches!(it.0.kind, Hand | Forearm | Shank | Foot)) {
        for (body, solid) in &parts {
            let other_leg = limb.is_leg() && body.is_leg() && body.side == limb.side.map(Side::other);
            if !(other_leg || matches!(body.kind, Pelvis | Torso | Head)) {
                continue;
            }
            let depth = |blob: &Blob| solid.iter().map(|it| it.depth_of(blob.center)).fold(0.0, f64::max);
            let by = blobs.iter().map(depth).fold(0.0, f64::max);
            if by > DEEP {
                let (limb, into) = (part_words(*limb), part_words(*body));
                out.push(Lint::Through { frame: frame.number, limb, into, by });
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use crate::draw::lint::Lint;
    use crate::draw::tests::lints_of;

    #[track_caller]
    fn goes_through(set: &str) -> Vec<String> {
        let frame = format!("[[frames]]\npose = \"standing\"\nset = {{ {set} }}");
        let through = |it: Lint| match it {
            Lint::Through { limb, into, .. } => Some(format!("{limb} into {into}")),
            _ => None,
        };
        lints_of(&frame).into_iter().filter_map(through).collect()
    }

    #[test]
    fn a_hand_in_the_belly_is_told_and_a_hanging_one_is_not() {
        assert_eq!(goes_through(""), Vec::<String>::new());
        let inside = goes_through("left = { shoulder = { flexion = -25, rotation = -60 }, elbow = { flexion = 85 } }");
        assert!(inside.contains(&"left hand into pelvis".to_owned()), "{inside:?}");
    }

    #[test]
    fn a_leg_through_the_other_is_told() {
        let crossed = goes_through("left = { hip = { abduction = -12 } }");
        assert!(crossed.iter().any(|it| it == "left foot into right foot"), "{crossed:?}");
    }

    #[test]
    fn a_foot_in_the_floor_is_told() {
        let lints = lints_of(
            "[pose.low]\nbase = \"standing\"\nrest = [\"left.heel on floor\"]\nlock = [\"lean\"]\n\
             right.ankle.dorsiflexion = -40\n[[frames]]\npose = \"low\"",
        );
        assert!(lints.iter().any(|it| matches!(it, Lint::Sinks { part, .. } if part == "right foot")), "{lints:?}");
    }
}
