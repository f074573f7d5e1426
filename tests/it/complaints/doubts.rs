//! Poses that nobody could hold, and pictures that nobody could read: each doubt of the figure engine.

use super::deeper::Deeper;
use super::edits::SQUAT_POSES;
use super::{Small, Through};

pub const DEEPER: &[Deeper] = &[
    doubt(
        |p| draw(p, "[pose.a]\nbase = \"standing\"\nright.hip.flexion = 170", ""),
        "an angle of 170 degrees, but `hip.flexion` goes from -25 to 135",
    ),
    doubt(
        |p| draw(p, &format!("{STANDING}\nreach = [{{ limb = \"left.hand\", at = [-40, 12, 79] }}]"), ""),
        "left.shoulder.flexion is ",
    ),
    doubt(
        |p| draw(p, "[pose.a]\nbase = \"standing\"\nreach = [{ limb = \"left.hand\", at = [200, 10, 79] }]", ""),
        "the left hand misses its place by",
    ),
    doubt(
        |p| draw(p, "[pose.a]\nbase = \"standing\"\nlean = 40\nlock = [\"lean\"]", ""),
        "left heel is 3.1 % of the height off the floor",
    ),
    doubt(
        |p| {
            let low = "rest = [\"left.heel on floor\"]\nlock = [\"lean\"]\nright.ankle.dorsiflexion = -40";
            draw(p, &format!("[pose.a]\nbase = \"standing\"\n{low}"), "");
        },
        "the right foot sinks",
    ),
    doubt(
        |p| {
            let fall = "lean = 15\nlock = [\"lean\"]\nboth.ankle.dorsiflexion = 15";
            let feet = "rest = [\"both.heel on floor\", \"both.forefoot on floor\"]";
            draw(p, &format!("[pose.a]\nbase = \"standing\"\n{fall}\n{feet}"), "");
        },
        "the body would fall; its center of mass is",
    ),
    doubt(
        |p| draw(p, STANDING, "slide = [{ site = \"left.knee\", dir = \"north\", length = 1 }]"),
        "an arrow of 1.0 % of the height is too short to see",
    ),
    doubt(
        |p| {
            let bent = "right.hip.flexion = 60\nright.knee.flexion = 60";
            let angle = "angle = [{ joint = \"right.hip\", from = \"feet\", to = \"right.knee\", degrees = true }]";
            draw(p, &format!("view = [-45, 0]\n{STANDING}\n{bent}"), angle);
        },
        "the angle at the right hip is 60 degrees, but looks like",
    ),
    doubt(
        |p| draw(p, &format!("{STANDING}\nleft.hip.abduction = -12"), ""),
        "the left foot goes 1.5 % of the height into the right foot",
    ),
    doubt(
        |p| draw(p, &format!("props = [{{ kind = \"step\", at = [150, 0] }}]\n{STANDING}"), ""),
        "mm wide the thinnest line is",
    ),
    doubt(|p| draw(p, STANDING, "look = [{ site = \"left.knee\", r = 0.5 }]"), "mm wide the smallest mark is"),
    doubt(|p| draw(p, STANDING, "[[frames]]\npose = \"a\""), "pictures 1 and 2 look alike"),
];

const STANDING: &str = "[pose.a]\nbase = \"standing\"";

/// Draws the squat as one frame of pose `a`, seen from the right unless the poses say otherwise.
fn draw(small: &Small, poses: &str, marks: &str) {
    let view = if poses.starts_with("view") { "" } else { "view = \"right\"\n" };
    small.write(SQUAT_POSES, format!("{view}{poses}\n[[frames]]\npose = \"a\"\n{marks}"));
}

const fn doubt(breaks: fn(&Small), expected: &'static str) -> Deeper {
    Deeper { practice: Small::new, through: Through::Check, breaks, expected }
}
