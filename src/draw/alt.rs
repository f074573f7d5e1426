//! Words for those who cannot see the picture: what the frame shows, in one or two plain sentences.

use crate::body::Side;
use crate::draw::facts::{Facts, facts};
use crate::draw::motion::{Angles, Joint, Motion};
use crate::draw::picture::{PropKind, Verdict};
use crate::draw::skeleton::Bone;
use crate::draw::solve::SolvedFrame;
use crate::draw::vector::v;

/// Longest text, in characters and in words (handout-quality 6.5).
const LONGEST: usize = 250;
const MOST_WORDS: usize = 30;

/// The alternative text of each frame. Frames after the first tell what changed.
pub fn alt_texts(frames: &[SolvedFrame]) -> Vec<String> {
    let text = |(i, frame): (usize, &SolvedFrame)| {
        let before = i.checked_sub(1).and_then(|it| frames.get(it));
        alt_text(frame, before)
    };
    frames.iter().enumerate().map(text).collect()
}

fn alt_text(frame: &SolvedFrame, before: Option<&SolvedFrame>) -> String {
    let facts = facts(frame);
    let stance = stance(frame, &facts);
    let now = notable(frame, &facts);
    let changed: Vec<String> = match before {
        Some(before) => {
            let old = notable(before, &before.facts());
            now.iter().filter(|it| !old.contains(it)).cloned().collect()
        }
        None => now.clone(),
    };
    // Words of the author's tell the pose already; then only what changed since is added.
    let same_words = before.is_some_and(|it| it.pose.say == frame.pose.say);
    let told: &[String] = match (&frame.pose.say, changed.is_empty()) {
        (Some(_), _) if same_words => &changed,
        (Some(_), _) => &[],
        (None, true) => &now,
        (None, false) => &changed,
    };
    let facts: Vec<&str> = told.iter().take(if frame.pose.say.is_some() { 2 } else { 3 }).map(String::as_str).collect();
    let mut text = match facts.split_last() {
        Some((last, [])) => format!("{stance}, {last}."),
        Some((last, rest)) => format!("{stance}, {} and {last}.", rest.join(", ")),
        None => format!("{stance}."),
    };
    for extra in [gap(frame), arrows(frame), feels(frame), verdict(frame)].into_iter().flatten() {
        let words = text.split_whitespace().chain(extra.split_whitespace()).count();
        if text.len() + extra.len() < LONGEST && words <= MOST_WORDS {
            text.push(' ');
            text.push_str(&extra);
            break;
        }
    }
    text
}

fn stance(frame: &SolvedFrame, facts: &Facts) -> String {
    // The author's own words already hold the props that matter.
    if let Some(say) = &frame.pose.say {
        return swapped(say, frame.flipped);
    }
    let mut text = usual_stance(frame, facts);
    let named = |kind| frame.props.iter().any(|it| it.kind == kind);
    let known = [
        (PropKind::Wall, "wall", "at a wall"),
        (PropKind::Step, "step", "on a step"),
        (PropKind::Roller, "roll", "with a roller"),
        (PropKind::Ball, "ball", "with a ball"),
        (PropKind::Band, "band", "with a band"),
        (PropKind::Loop, "band", "with a loop band at the knees"),
        (PropKind::Stick, "stick", "with a stick"),
        (PropKind::Weight, "weight", "with a weight in the hand"),
        (PropKind::Table, "worktop", "at a worktop"),
        (PropKind::Bed, "bed", "on a bed"),
        (PropKind::Post, "door", "at a door frame"),
    ];
    if let Some((_, _, words)) =
        known.iter().find(|(kind, word, _)| named(*kind) && !text.to_lowercase().contains(word))
    {
        text = format!("{text} {words}");
    }
    text
}

fn usual_stance(frame: &SolvedFrame, facts: &Facts) -> String {
    let on_chair = frame.pose.rests_on("glute", "chair");
    let lies_on = |side: Side| facts.bearing.contains(&crate::draw::facts::Bearing::Hip(side));
    if on_chair {
        "Sitting on a chair".to_owned()
    } else if facts.single_leg && facts.upright {
        let standing =
            Side::BOTH.into_iter().find(|it| facts.bearing.contains(&crate::draw::facts::Bearing::Foot(*it)));
        format!("Standing on the {} leg", standing.map_or("one", Side::key))
    } else if facts.prone && facts.kneeling {
        "On hands and knees".to_owned()
    } else if facts.kneeling {
        "Kneeling".to_owned()
    } else if facts.supine {
        "Lying on the back".to_owned()
    } else if facts.prone {
        "Lying face down".to_owned()
    } else if facts.side_lying {
        let side = if lies_on(Side::Left) { "left" } else { "right" };
        format!("Lying on the {side} side")
    } else if facts.sitting {
        "Sitting on the floor".to_owned()
    } else {
        "Standing".to_owned()
    }
}

/// Changes left for right in words that the author wrote.
pub(crate) fn swapped(text: &str, flip: bool) -> String {
    if !flip {
        return text.to_owned();
    }
    let swap = |word: &str| match word {
        "left" => "right".to_owned(),
        "right" => "left".to_owned(),
        "Left" => "Right".to_owned(),
        "Right" => "Left".to_owned(),
        _ => word.to_owned(),
    };
    let mut out = String::new();
    let mut word = String::new();
    for c in text.chars() {
        if c.is_alphabetic() {
            word.push(c);
        } else {
            out.push_str(&swap(&std::mem::take(&mut word)));
            out.push(c);
        }
    }
    out + &swap(&word)
}

/// What stands out in the joints, most telling first.
fn notable(frame: &SolvedFrame, facts: &Facts) -> Vec<String> {
    let mut out = Vec::new();
    let angle = |motion, side| facts.angles.get(&Joint::new(motion, Some(side))).copied().unwrap_or(0.0);
    pair(&mut out, frame, |side| facts.overhead[side.index()], "arm overhead", "both arms overhead");
    let ahead = |side: Side| {
        let real = frame.side(side);
        let s = &frame.skeleton;
        let reach = s.origin(Bone::Hand(real)) - s.origin(Bone::UpperArm(real));
        reach.dot(s.direction(Bone::Chest, v(1.0, 0.0, 0.0))) > 24.0 && !facts.overhead[side.index()]
    };
    pair(&mut out, frame, ahead, "arm forward", "both arms forward");
    let bend = |side| bend_words(angle(Motion::KneeFlexion, side));
    limbs(&mut out, frame, bend, "knee");
    let elbow = |side| bend_words(angle(Motion::ElbowFlexion, side));
    limbs(&mut out, frame, elbow, "elbow");
    for (motion, way) in [(Motion::ThoracicRotation, "turned"), (Motion::ThoracicSide, "bent")] {
        let degrees = central(&facts.angles, motion);
        if degrees.abs() > 12.0 {
            out.push(format!("the trunk {way} to the {}", if degrees > 0.0 { "left" } else { "right" }));
        }
    }
    if central(&facts.angles, Motion::NeckSide).abs() > 14.0 && facts.upright {
        let way = if central(&facts.angles, Motion::NeckSide) > 0.0 { "left" } else { "right" };
        out.push(format!("the head tilted to the {way}"));
    }
    if out.is_empty() {
        out.push("arms and legs long".to_owned());
    }
    out
}

fn central(angles: &Angles, motion: Motion) -> f64 {
    angles.get(&Joint::new(motion, None)).copied().unwrap_or(0.0)
}

fn bend_words(degrees: f64) -> Option<&'static str> {
    match degrees {
        d if d > 115.0 => Some("bent all the way"),
        d if d > 75.0 => Some("bent square"),
        d if d > 38.0 => Some("bent half way"),
        d if d > 16.0 => Some("bent a little"),
        _ => None,
    }
}

/// Both sides, in the order that makes a mirrored text the same text with the sides changed.
fn sides(frame: &SolvedFrame) -> [Side; 2] {
    [frame.side(Side::Right), frame.side(Side::Left)]
}

fn limbs(out: &mut Vec<String>, frame: &SolvedFrame, words: impl Fn(Side) -> Option<&'static str>, name: &str) {
    let [first, second] = sides(frame);
    match (words(first), words(second)) {
        (Some(a), Some(b)) if a == b => out.push(format!("both {name}s {a}")),
        (a, b) => {
            out.extend(a.map(|it| format!("the {} {name} {it}", first.key())));
            out.extend(b.map(|it| format!("the {} {name} {it}", second.key())));
        }
    }
}

fn pair(out: &mut Vec<String>, frame: &SolvedFrame, holds: impl Fn(Side) -> bool, one: &str, both: &str) {
    let [first, second] = sides(frame);
    match (holds(first), holds(second)) {
        (true, true) => out.push(both.to_owned()),
        (true, false) => out.push(format!("the {} {one}", first.key())),
        (false, true) => out.push(format!("the {} {one}", second.key())),
        (false, false) => {}
    }
}

fn arrows(frame: &SolvedFrame) -> Option<String> {
    let (arrow, path) = frame.marks.arrows.iter().zip(&frame.paths).next()?;
    let (first, last) = (path.first()?, path.last()?);
    let mut d = *last - *first;
    if frame.flipped {
        d = d.sided(-1.0);
    }
    let widest = (0..3).fold(0, |best, i| if d.0[i].abs() > d.0[best].abs() { i } else { best });
    let lying = !frame.facts().upright;
    let way = match (widest, d.0[widest] > 0.0, lying) {
        (2, true, _) => "up",
        (2, false, _) => "down",
        (0, true, false) => "forward",
        (0, false, false) => "back",
        (1, true, _) => "to the left",
        (1, false, _) => "to the right",
        _ => {
            let head = frame.skeleton.direction(Bone::Pelvis, v(0.0, 0.0, 1.0));
            if (*last - *first).dot(head) > 0.0 { "toward the head" } else { "toward the feet" }
        }
    };
    Some(format!("The arrow shows the {} moving {way}.", frame.site(arrow.site).words()))
}

fn gap(frame: &SolvedFrame) -> Option<String> {
    let mark = frame.marks.distances.first()?;
    let gap = format!("line shows the gap from the {} to the wall.", frame.site(mark.from).words());
    Some(match arrows(frame) {
        Some(arrow) => format!("{}; a {gap}", arrow.trim_end_matches('.')),
        None => format!("A {gap}"),
    })
}

fn feels(frame: &SolvedFrame) -> Option<String> {
    let shown: Vec<String> = frame
        .marks
        .feel
        .iter()
        .map(|it| if frame.flipped { it.mirrored() } else { *it })
        .map(|it| format!("the {}", it.words()).replace("the the", "the"))
        .collect();
    (!shown.is_empty()).then(|| format!("A mark shows {}.", shown.join(" and ")))
}

fn verdict(frame: &SolvedFrame) -> Option<String> {
    frame.marks.verdict.map(|it| match it {
        Verdict::Good => "This is the way to do it.".to_owned(),
        Verdict::Bad => "This is the slip to avoid.".to_owned(),
    })
}
