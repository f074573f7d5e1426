//! Accuracy: places worked out by hand, contacts and reaches that hold, mirrors that are exact, and no pose that breaks.

use super::*;
use crate::draw::motion::MOTIONS;
use crate::draw::pose::{End, Reach, Target};
use crate::draw::reach::two_bones;

const EXACT: f64 = 1e-9;
/// A tenth of a percent of stature: 1.7 mm of a person of 170 cm.
const CLOSE: f64 = 0.1;

#[track_caller]
fn exactly(got: V3, want: [f64; 3]) {
    assert!((got - V3(want)).norm() < EXACT, "{got:?} is not {want:?}");
}

fn turned(pairs: &[(Motion, Option<Side>, f64)]) -> Skeleton {
    let angles: Angles = pairs.iter().map(|(motion, side, it)| (Joint::new(*motion, *side), *it)).collect();
    body_from(Posture::Upright, &angles, [HandShape::Relaxed; 2]).skeleton()
}

#[test]
fn neutral_joints_lie_where_the_segments_put_them() {
    // figure-design.md, section 2: hips at 53, then the lengths and offsets of the segment table.
    let s = turned(&[]);
    exactly(s.origin(Bone::Pelvis), [0.0, 0.0, 53.0]);
    exactly(s.origin(Bone::Lumbar), [-1.0, 0.0, 61.0]);
    exactly(s.origin(Bone::Dorsal), [-0.7, 0.0, 68.0]);
    exactly(s.origin(Bone::Chest), [-1.0, 0.0, 75.0]);
    exactly(s.origin(Bone::Neck), [-1.6, 0.0, 84.2]);
    exactly(s.origin(Bone::Head), [-0.4, 0.0, 90.2]);
    for side in Side::BOTH {
        let y = side.sign();
        exactly(s.origin(Bone::Clavicle(side)), [1.4, 1.6 * y, 80.2]);
        exactly(s.origin(Bone::UpperArm(side)), [-1.7, 9.9 * y, 78.9]);
        exactly(s.origin(Bone::Forearm(side)), [-1.7, 9.9 * y, 60.3]);
        exactly(s.origin(Bone::Hand(side)), [-1.7, 9.9 * y, 45.7]);
        exactly(s.origin(Bone::Thigh(side)), [0.0, 4.7 * y, 53.0]);
        exactly(s.origin(Bone::Shank(side)), [0.0, 4.7 * y, 28.5]);
        exactly(s.origin(Bone::Foot(side)), [0.0, 4.7 * y, 3.9]);
        exactly(s.origin(Bone::Toes(side)), [7.4, 4.7 * y, 1.1]);
    }
}

#[test]
fn bent_joints_lie_where_the_angles_put_them() {
    let left = Some(Side::Left);
    let s = turned(&[(Motion::ElbowFlexion, left, 90.0)]);
    exactly(s.origin(Bone::Hand(Side::Left)), [-1.7 + 14.6, 9.9, 60.3]);
    let s = turned(&[(Motion::KneeFlexion, left, 90.0)]);
    exactly(s.origin(Bone::Foot(Side::Left)), [-24.6, 4.7, 28.5]);
    let half = 3.0_f64.sqrt() / 2.0;
    let s = turned(&[(Motion::HipFlexion, left, 30.0)]);
    exactly(s.origin(Bone::Shank(Side::Left)), [24.5 * 0.5, 4.7, 53.0 - 24.5 * half]);
    let s = turned(&[(Motion::HipAbduction, left, 30.0), (Motion::KneeFlexion, left, 90.0)]);
    exactly(s.origin(Bone::Shank(Side::Left)), [0.0, 4.7 + 24.5 * 0.5, 53.0 - 24.5 * half]);
    exactly(s.origin(Bone::Foot(Side::Left)), [-24.6, 4.7 + 24.5 * 0.5, 53.0 - 24.5 * half]);
    // The loins bend 60 percent at their own joint and 40 at the next: 30, then 50 degrees in all.
    let s = turned(&[(Motion::LumbarFlexion, None, 50.0)]);
    let (hip, loin) = ([-1.0, 61.0], [0.5 * 7.0 + 0.3 * half, half * 7.0 - 0.3 * 0.5]);
    let dorsal = [hip[0] + loin[0], hip[1] + loin[1]];
    exactly(s.origin(Bone::Dorsal), [dorsal[0], 0.0, dorsal[1]]);
    let (sine, cosine) = libm::sincos(50.0_f64.to_radians());
    exactly(s.origin(Bone::Chest), [dorsal[0] + 7.0 * sine - 0.3 * cosine, 0.0, dorsal[1] + 7.0 * cosine + 0.3 * sine]);
}

#[track_caller]
fn touches(name: &str, frame: &SolvedFrame, least: f64) {
    for contact in frame.contacts() {
        let (site, gap) = (contact.site.full_name(), contact.gap);
        assert!(gap.abs() < least, "{name} {}: {site} is {gap:.3} off the {}", frame.number, contact.surface);
    }
}

#[test]
fn supports_touch_their_surfaces() {
    let library = library();
    for pose in ["standing", "supine", "hook-lying", "prone", "side-lying", "quadruped", "seated", "half-kneel"] {
        let text = format!(
            "props = [{{ kind = \"chair\" }}, {{ kind = \"pillow\", under = \"head\" }}]\n[[frames]]\npose = \"{pose}\""
        );
        let picture = Picture::parse(&text, &library).unwrap();
        touches(pose, &solve(&picture, None)[0], CLOSE);
    }
    // Authors may ask for more contacts than a rigid body can hold; then each is off a little, and never by what shows.
    for (name, picture) in pictures() {
        for frame in solve(&picture, None) {
            touches(&name, &frame, 0.5);
        }
    }
}

#[test]
fn hands_and_feet_that_can_reach_their_surface_lie_on_it() {
    let mut checked = 0;
    for (name, picture) in pictures() {
        for frame in solve(&picture, None) {
            for (i, reach) in frame.pose.reach.iter().enumerate() {
                let Target::Surface(surface) = &reach.to else { continue };
                let plane = &frame.surfaces[surface];
                for &side in &reach.sides {
                    // A later reach of the same limb takes it away again.
                    let again = |it: &Reach| it.end == reach.end && it.sides.contains(&side);
                    if frame.pose.reach[i + 1..].iter().any(again) {
                        continue;
                    }
                    // A limb that is too short ends straight and is told by a lint.
                    let reached = |it: &&(End, Side, f64)| (it.0, it.1) == (reach.end, side) && it.2.abs() < 1e-9;
                    if frame.misses.iter().find(reached).is_none() || reach.heel != 0.0 {
                        continue;
                    }
                    let (point, height) = match reach.end {
                        End::Hand => (frame.skeleton.at(Bone::Hand(side), v(0.0, 0.0, -4.2)), 1.5),
                        End::Foot => (frame.skeleton.origin(Bone::Foot(side)), 3.92 + reach.lift),
                    };
                    let off = point.dot(plane.n) - plane.d - height;
                    let end = reach.end;
                    assert!(off.abs() < CLOSE, "{name} {}: {side:?} {end:?} {off:.3} off {surface}", frame.number);
                    checked += 1;
                }
            }
        }
    }
    assert!(checked > 50, "{checked}");
}

#[test]
fn a_body_mirrored_twice_is_the_same_body() {
    for (name, picture) in pictures() {
        for frame in solve(&picture, None) {
            assert_eq!(frame.authored.mirrored().mirrored(), frame.authored, "{name}");
        }
        if let Some(side) = picture.authored {
            let style = Style::new(Look::Color, Palette::default());
            let twice = solve(&picture, Some(side.other().other()));
            assert_eq!(draw_all(&solve(&picture, None), &style), draw_all(&twice, &style), "{name}");
        }
    }
}

/// Every point of every path of a drawing, in tenths, in the order they are drawn.
fn points(svg: &str) -> Vec<[i64; 2]> {
    let mut out = Vec::new();
    for data in svg.split(" d=\"").skip(1).map(|it| it.split('"').next().unwrap()) {
        let letters = ["-", "M", "l", "a"].map(|it| (it, if it == "-" { " -".to_owned() } else { format!(" {it} ") }));
        let spaced = letters.iter().fold(data.replace('z', " "), |text, (from, to)| text.replace(from, to));
        let (mut absolute, mut skip, mut at, mut pair) = (true, 0, [0_i64; 2], Vec::new());
        for token in spaced.split_whitespace() {
            match token {
                "M" => absolute = true,
                "l" => absolute = false,
                "a" => (absolute, skip) = (false, 5),
                // Before its end an arc has two radii, a slant and two flags.
                _ if skip > 0 => skip -= 1,
                _ => pair.push((token.parse::<f64>().unwrap() * 10.0).round() as i64),
            }
            if let [x, y] = pair[..] {
                at = if absolute { [x, y] } else { [at[0] + x, at[1] + y] };
                out.push(at);
                pair.clear();
            }
        }
    }
    out
}

#[test]
fn a_picture_mirrored_twice_is_the_same_to_the_last_digit() {
    let style = Style::new(Look::Color, Palette::default());
    for (name, picture) in pictures() {
        let Some(side) = picture.authored.filter(|_| picture.frames.iter().all(|it| it.marks.verdict.is_none())) else {
            continue;
        };
        let (here, there) = (solve(&picture, Some(side)), solve(&picture, Some(side.other())));
        for (a, b) in draw_all(&here, &style).iter().zip(draw_all(&there, &style)) {
            let back: Vec<[i64; 2]> = points(&b.text).iter().map(|[x, y]| [-x, *y]).collect();
            assert_eq!(points(&a.text), back, "{name}");
        }
    }
}

proptest! {
    #[test]
    fn two_bones_end_where_they_should(
        x in -1.0..1.0_f64, y in -1.0..1.0_f64, z in -1.0..1.0_f64, far in 12.0..45.0_f64, pole in -3.0..3.0_f64,
    ) {
        let (upper, lower) = (24.5, 24.6);
        let target = v(x, y, z + 1.5).unit() * far;
        let it = two_bones(V3::ZERO, target, upper, lower, v(1.0, pole, 0.2));
        prop_assert!((it.end - target).norm() < EXACT && it.miss.abs() < EXACT);
        prop_assert!((it.middle.norm() - upper).abs() < EXACT && ((it.end - it.middle).norm() - lower).abs() < EXACT);
    }
}

#[test]
fn a_body_high_above_the_floor_has_its_ground_below_it() {
    // No bone within 45 percent of stature of the floor.
    let text = "view = [40, 25]\nprops = [{ kind = \"table\", at = [0, 0], height = 60, width = 60, depth = 120 }]\n\
                [pose.long-sitting]\nposture = \"upright\"\nrest = [\"seat on table\", \"both.heel on table\"]\n\
                both.hip.flexion = 85\n[[frames]]\npose = \"long-sitting\"\n";
    let picture = Picture::parse(text, &library()).expect("a sound picture");
    let frames = solve(&picture, None);
    for style in styles() {
        let svg = &draw_all(&frames, &style)[0];
        assert!(svg.width < 200.0 && svg.height < 200.0, "{} x {}", svg.width, svg.height);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(ProptestConfig::default().cases / 10))]
    #[test]
    fn any_angles_in_range_draw(
        shares in proptest::collection::vec(0.0..=1.0_f64, 2 * MOTIONS.len()),
        posture in 0..5_usize,
        rests in 0..4_usize,
        azimuth in -180.0..180.0_f64,
        elevation in 0.0..90.0_f64,
    ) {
        let mut text = format!("view = [{azimuth:.2}, {elevation:.2}]\n[pose.any]\n");
        text += &format!("posture = \"{}\"\n", Posture::NAMES[posture].0);
        let rest = ["", "\"seat on floor\"", "\"both.heel on floor\"", "\"left.hip on floor\", \"left.shoulder on floor\""];
        text += &format!("rest = [{}]\n", rest[rests]);
        for (i, (_, name, sided, [least, most])) in MOTIONS.iter().enumerate() {
            let value = |share: f64| least + (most - least) * share;
            if *sided {
                text += &format!("left.{name} = {:.3}\nright.{name} = {:.3}\n", value(shares[2 * i]), value(shares[2 * i + 1]));
            } else {
                text += &format!("{name} = {:.3}\n", value(shares[2 * i]));
            }
        }
        text += "[[frames]]\npose = \"any\"\narrow = [{ site = \"left.knee\", to = 1, length = 15 }]\nfeel = [\"left.calf\"]\n";
        let picture = Picture::parse(&text, &library()).map_err(|it| TestCaseError::fail(format!("{it:?}")))?;
        let frames = solve(&picture, None);
        for bone in Bone::ALL {
            prop_assert!(frames[0].skeleton.origin(bone).0.iter().all(|it| it.is_finite()), "{:?}", bone);
        }
        let _ = (frames[0].lints(), alt_texts(&frames), crate::draw::tags::demands(&frames));
        for style in styles() {
            let svg = &draw_all(&frames, &style)[0];
            prop_assert!(!svg.text.contains("NaN") && !svg.text.contains("inf"));
            prop_assert!(svg.width < 400.0 && svg.height > 5.0 && svg.height < 400.0 && svg.text.len() < 60_000, "{}", svg.text.len());
        }
    }
}
