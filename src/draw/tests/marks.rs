//! The marks of a hold and of an angle, as layouts, readers and mirrors get them.

use super::*;
use crate::draw::Said;
use crate::print::Anchor;

fn held(side: Side) -> crate::draw::Figure {
    let text = "authored = \"left\"\nview = \"right\"\n[[frames]]\npose = \"standing\"\nhold = true";
    figures(text, side, Show::All)[0].clone()
}

#[test]
fn a_held_frame_asks_for_the_seconds_of_the_dose() {
    let figure = held(Side::Left);
    let [label] = &figure.labels[..] else { panic!("{:?}", figure.labels) };
    assert_eq!(label.says, Said::Seconds);
    assert!(figure.alt.ends_with(", held still."), "{}", figure.alt);
    assert!(!figure.svg.contains("<text"), "the drawing must hold no words");
}

#[test]
fn the_sign_of_a_hold_is_mirrored_with_its_words() {
    let (left, right) = (held(Side::Left), held(Side::Right));
    let (a, b) = (&left.labels[0], &right.labels[0]);
    assert!((a.x + b.x - 1.0).abs() < 0.01 && (a.y - b.y).abs() < 0.01, "{a:?} {b:?}");
    let anchors = [a.anchor, b.anchor];
    assert!(anchors == [Anchor::Start, Anchor::End] || anchors == [Anchor::End, Anchor::Start], "{anchors:?}");
}

#[test]
fn a_number_of_seconds_in_a_picture_is_refused() {
    complains(
        "[[frames]]\npose = \"standing\"\nhold = 30",
        "`hold` says only that the pose is held: true or false",
        "write `hold = true`; the seconds come from the dose on the sheet",
        "30",
    );
}

const SQUARE: &str = "[pose.a]\nbase = \"standing\"\nlock = [\"lean\"]\nleft.hip.flexion = 60\n";

fn angle(view: &str, angle: &str) -> String {
    format!("authored = \"left\"\nview = {view}\n{SQUARE}[[frames]]\npose = \"a\"\nangle = [{{ {angle} }}]")
}

const HIP: &str = "joint = \"left.hip\", from = \"feet\", to = \"left.knee\"";

#[test]
fn an_angle_is_as_large_as_the_joint_says() {
    let text = angle("\"right\"", &format!("{HIP}, degrees = true"));
    let figure = &figures(&text, Side::Left, Show::All)[0];
    let [label] = &figure.labels[..] else { panic!("{:?}", figure.labels) };
    // The pelvis stands straight, so the thigh leaves its line by the flexion of the hip.
    assert_eq!((&label.says, label.anchor), (&Said::Words("60°".to_owned()), Anchor::Middle));
    assert!(figure.alt.ends_with("An arc shows the angle at the left hip."), "{}", figure.alt);
    let mirrored = &figures(&text, Side::Right, Show::All)[0];
    assert!((mirrored.labels[0].x + label.x - 1.0).abs() < 0.01, "{mirrored:?}");
    assert!(mirrored.alt.ends_with("An arc shows the angle at the right hip."), "{}", mirrored.alt);
    // Without a figure nothing is printed at it.
    assert_eq!(figures(&angle("\"right\"", HIP), Side::Left, Show::All)[0].labels, []);
}

#[test]
fn a_printed_angle_that_looks_like_another_is_told() {
    let askew = |text: &str| lints_of(text).into_iter().filter(|it| matches!(it, Lint::AngleAskew { .. })).count();
    assert_eq!(askew(&angle("\"right\"", &format!("{HIP}, degrees = true"))), 0);
    assert_eq!(askew(&angle("[-45, 0]", HIP)), 0);
    let turned = lints_of(&angle("[-45, 0]", &format!("{HIP}, degrees = true")));
    // From the front right, forward is shortened by the root of a half: about atan(tan 60 / sqrt 2) = 51.
    let seen = turned.iter().find_map(|it| if let Lint::AngleAskew { seen, .. } = it { Some(*seen) } else { None });
    assert!(seen.is_some_and(|it| (it - 50.8).abs() < 4.0), "{turned:?}");
}

#[test]
fn an_angle_too_small_for_a_card_is_told() {
    let small = "[pose.a]\nbase = \"standing\"\nlock = [\"lean\"]\nleft.hip.flexion = 2\n[[frames]]\npose = \"a\"\n";
    let text = format!("view = \"right\"\n{small}angle = [{{ {HIP} }}]");
    let svg = &drawn(&text, Look::Color)[0];
    let told = crate::draw::lint::too_fine(1, svg);
    assert!(matches!(told[..], [Lint::SmallMark { .. }]), "{told:?}");
}

#[test]
fn an_angle_that_cannot_be_drawn_is_refused() {
    let cases = [
        (
            "joint = \"left.hip\"",
            "an angle needs a joint and two lines, `from` and `to`",
            "write `{ joint = \"right.hip\", from = \"feet\", to = \"right.knee\" }`",
            "{ joint = \"left.hip\" }",
        ),
        (
            "joint = \"left.calf\", from = \"feet\", to = \"left.knee\"",
            "`left.calf` is no joint at which an angle can be marked",
            "take one of hip, knee, ankle, shoulder, elbow, wrist, neck",
            "\"left.calf\"",
        ),
        (
            "joint = \"left.hip\", from = \"left.hip\", to = \"left.knee\"",
            "a line from `left.hip` to `left.hip` leads nowhere",
            "name the next joint, or a direction such as `feet`",
            "{ joint = \"left.hip\", from = \"left.hip\", to = \"left.knee\" }",
        ),
        (
            "joint = \"left.hip\", from = \"uphill\", to = \"left.knee\"",
            "no direction is called `uphill`",
            "known: up, down, north, south, west, east, ahead, behind, head, feet, out, in",
            "\"uphill\"",
        ),
        (
            "joint = \"left.hip\", from = \"feet\", to = \"left.knee\", r = 1",
            "an angle needs an arc of at least 4, not 1",
            "leave it out for the usual 16",
            "1",
        ),
    ];
    for (mark, message, help, at) in cases {
        complains(&angle("\"right\"", mark), message, help, at);
    }
}
