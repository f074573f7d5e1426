//! Simple poses whose demands are known.

use super::*;
use crate::draw::Poses;

fn of(frames: &str) -> Demands {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/exercises/poses/library.toml");
    let poses = Poses::parse(&std::fs::read_to_string(path).unwrap()).unwrap();
    poses.pictures(frames).unwrap_or_else(|it| panic!("{it:?}")).survey(1).0.remove(0)
}

#[track_caller]
fn check(frames: &str, positions: &[&'static str], tags: &[&'static str]) {
    let demands = of(frames);
    let declared = demands.declared_by_pose();
    let set = |ids: &[&'static str]| ids.iter().copied().collect::<BTreeSet<_>>();
    assert_eq!((declared.positions, declared.tags), (set(positions), set(tags)), "{:?}", demands.at_the_end);
}

const PILLOW: &str = "props = [{ kind = \"pillow\", under = \"head\" }]\n";
const CHAIR: &str = "props = [{ kind = \"chair\" }]\n";

#[test]
fn known_poses_have_known_positions_and_tags() {
    check("[[frames]]\npose = \"standing\"", &["standing"], &[]);
    check("[[frames]]\npose = \"supine\"", &["supine"], &["lying-flat"]);
    check("[[frames]]\npose = \"hook-lying\"", &["supine"], &["lying-flat"]);
    check(&format!("{PILLOW}[[frames]]\npose = \"side-lying\""), &["side-lying"], &[]);
    check(&format!("{CHAIR}[[frames]]\npose = \"seated\""), &["sitting"], &[]);
    check("[[frames]]\npose = \"half-kneel\"", &["half-kneeling"], &["knee-pressure"]);
}

#[test]
fn face_down_the_pointed_feet_are_at_their_end() {
    check("[[frames]]\npose = \"prone\"", &["prone"], &["end-range-joint"]);
    assert!(of("[[frames]]\npose = \"prone\"").at_the_end.contains("left.ankle.dorsiflexion"));
}

#[test]
fn hands_and_knees_load_both() {
    let demands = of("[[frames]]\npose = \"quadruped\"");
    assert!(demands.hands_and_knees && demands.weight_on_knees && demands.weight_on_wrists);
    assert!(!demands.standing && demands.lying.is_empty());
    let limbs: BTreeSet<Bearing> =
        Side::BOTH.into_iter().flat_map(|side| [Bearing::Knee(side), Bearing::Hand(side)]).collect();
    assert_eq!(demands.bearing, limbs);
}

#[test]
fn the_side_that_is_down_is_told() {
    let demands = of(&format!("{PILLOW}[[frames]]\npose = \"side-lying\""));
    assert_eq!(demands.lying, BTreeSet::from([Lying::Side(Side::Right)]));
}

#[test]
fn peaks_are_taken_over_all_frames() {
    let demands = of("[[frames]]\npose = \"standing\"\nset = { left = { shoulder = { flexion = 170 } } }\n\
         [[frames]]\npose = \"standing\"\nset = { left = { shoulder = { flexion = -30 } } }");
    let peak = demands.peaks.iter().find(|it| it.motion == "shoulder.flexion" && it.side == Some(Side::Left)).unwrap();
    assert!((peak.most - 170.0).abs() < 1e-6 && (peak.least + 30.0).abs() < 1e-6, "{peak:?}");
    assert!(demands.overhead && demands.end_range.is_empty());
}

#[test]
fn a_joint_near_its_end_is_told_by_region() {
    let bent = |set: &str| of(&format!("[[frames]]\npose = \"standing\"\nset = {{ {set} }}")).end_range;
    assert_eq!(bent("neck = { side = 41 }"), BTreeSet::from([EndRange::Neck]));
    assert_eq!(bent("lumbar = { rotation = 11 }"), BTreeSet::from([EndRange::Spine]));
    assert_eq!(bent("left = { shoulder = { flexion = 181 } }"), BTreeSet::from([EndRange::Joint]));
    assert_eq!(bent("left = { shoulder = { flexion = 175 } }"), BTreeSet::new());
}

#[test]
fn one_leg_and_a_deep_squat() {
    let one = of("[pose.one]\nbase = \"standing\"\nrest = [\"left.heel on floor\", \"left.forefoot on floor\"]\n\
         right.hip.flexion = 60\nright.knee.flexion = 80\n[[frames]]\npose = \"one\"");
    assert!(one.single_leg && one.standing && !one.deep_knee_bend);
    let squat = of("[pose.deep]\nbase = \"standing\"\nlock = [\"lean\"]\nlean = 35\nboth.hip.flexion = 118\n\
         both.knee.flexion = 115\nboth.ankle.dorsiflexion = 32\n[[frames]]\npose = \"deep\"");
    assert!(squat.deep_knee_bend && squat.standing && !squat.single_leg, "{squat:?}");
}

#[test]
fn every_id_is_one_that_can_be_declared() {
    let all = Demands {
        lying: BTreeSet::from([Lying::Prone, Lying::Supine, Lying::Side(Side::Left)]),
        end_range: BTreeSet::from([EndRange::Spine, EndRange::Neck, EndRange::Joint]),
        sitting: true,
        standing: true,
        half_kneeling: true,
        hands_and_knees: true,
        overhead: true,
        head_below_heart: true,
        single_leg: true,
        deep_knee_bend: true,
        weight_on_wrists: true,
        weight_on_knees: true,
        ..Demands::default()
    };
    let declared = all.declared_by_pose();
    assert_eq!(declared.positions, BTreeSet::from(DeclaredByPose::POSITIONS));
    assert_eq!(declared.tags, BTreeSet::from(DeclaredByPose::TAGS));
}
