//! The figure engine through its front door: known answers, mirrors, messages, and every picture that ships.

mod accuracy;
mod input;
mod marks;

use std::fs;
use std::path::PathBuf;

use crate::body::Side;
use crate::draw::Show;
use crate::draw::alt::Teller;
use crate::draw::camera::{Camera, View};
use crate::draw::canvas::Svg;
use crate::draw::library::PoseLibrary;
use crate::draw::lint::{Lint, alike, center_of_mass};
use crate::draw::motion::{Angles, Joint, Motion, Posture, angles_of, body_from};
use crate::draw::paint::draw_all;
use crate::draw::picture::Picture;
use crate::draw::region::Region;
use crate::draw::silhouette::silhouette;
use crate::draw::skeleton::{Bone, HandShape, Skeleton};
use crate::draw::solve::{SolvedFrame, solve};
use crate::draw::style::{Look, Palette, Rgb, Style};
use crate::draw::vector::{V3, v};
use proptest::prelude::*;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("exercises/poses")
}

fn library() -> PoseLibrary {
    let text = fs::read_to_string(root().join("library.toml")).unwrap();
    PoseLibrary::parse(&text).unwrap_or_else(|it| panic!("{it:?}"))
}

fn alt_texts(frames: &[SolvedFrame]) -> Vec<String> {
    Teller { words: &crate::testing::demo().words, say: None }.alt_texts(frames)
}

fn pictures() -> Vec<(String, Picture)> {
    let library = library();
    let folders = [root(), root().join("tests")].map(|it| fs::read_dir(it).unwrap());
    let mut paths: Vec<PathBuf> = folders
        .into_iter()
        .flatten()
        .map(|it| it.unwrap().path())
        .filter(|it| it.extension().is_some_and(|ending| ending == "toml") && !it.ends_with("library.toml"))
        // A stem with a dot is a translation.
        .filter(|it| it.file_stem().is_some_and(|stem| !stem.to_string_lossy().contains('.')))
        .collect();
    paths.sort();
    let read = |path: &PathBuf| {
        let text = fs::read_to_string(path).unwrap();
        let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
        let picture = Picture::parse(&text, &library).unwrap_or_else(|it| panic!("{name}: {it:?}"));
        (name, picture)
    };
    paths.iter().map(read).collect()
}

fn bent(pairs: &[(Side, Motion, f64)]) -> Skeleton {
    let angles: Angles = pairs.iter().map(|(side, motion, it)| (Joint::new(*motion, Some(*side)), *it)).collect();
    body_from(Posture::Upright, &angles, [HandShape::Relaxed; 2]).skeleton()
}

#[track_caller]
fn near(got: V3, want: V3) {
    assert!((got - want).norm() < 1e-6, "{got:?} is not {want:?}");
}

#[test]
fn bones_lie_where_the_angles_say() {
    let s = bent(&[]);
    let crown = s.at(Bone::Head, v(1.0, 0.0, 5.1 + 4.85)).z();
    let sole = s.origin(Bone::Foot(Side::Left)).z() - 3.9;
    assert!((crown - sole - 100.0).abs() < 0.6, "{}", crown - sole);
    let s = bent(&[(Side::Left, Motion::HipFlexion, 90.0), (Side::Left, Motion::KneeFlexion, 90.0)]);
    near(s.origin(Bone::Shank(Side::Left)) - s.origin(Bone::Thigh(Side::Left)), v(24.5, 0.0, 0.0));
    near(s.origin(Bone::Foot(Side::Left)) - s.origin(Bone::Shank(Side::Left)), v(0.0, 0.0, -24.6));
    let s = bent(&[(Side::Right, Motion::ShoulderAbduction, 90.0)]);
    near(s.origin(Bone::Forearm(Side::Right)) - s.origin(Bone::UpperArm(Side::Right)), v(0.0, -18.6, 0.0));
    let s = bent(&[(Side::Left, Motion::ElbowFlexion, 90.0), (Side::Left, Motion::ShoulderRotation, 30.0)]);
    let half = 3.0_f64.sqrt() / 2.0;
    near(s.origin(Bone::Hand(Side::Left)) - s.origin(Bone::Forearm(Side::Left)), v(14.6 * half, 7.3, 0.0));
}

#[test]
fn standing_center_of_mass_is_as_high_as_it_should_be() {
    let s = bent(&[]);
    let height = center_of_mass(&s).z() - (s.origin(Bone::Foot(Side::Left)).z() - 3.9);
    assert!((55.0..59.0).contains(&height), "{height}");
}

proptest! {
    #[test]
    fn angles_survive_the_way_there_and_back(
        f in -20.0..120.0_f64, a in -25.0..45.0_f64, r in -40.0..50.0_f64, k in 0.0..150.0_f64, e in 0.0..140.0_f64,
    ) {
        let wanted = [(Motion::HipFlexion, f), (Motion::HipAbduction, a), (Motion::HipRotation, r),
            (Motion::KneeFlexion, k), (Motion::ElbowFlexion, e)];
        for side in Side::BOTH {
            let angles: Angles = wanted.iter().map(|(motion, it)| (Joint::new(*motion, Some(side)), *it)).collect();
            let body = body_from(Posture::Upright, &angles, [HandShape::Relaxed; 2]);
            let found = angles_of(&body);
            for (motion, it) in wanted {
                prop_assert!((found[&Joint::new(motion, Some(side))] - it).abs() < 1e-6);
            }
            let mirrored = angles_of(&body.mirrored());
            for (joint, it) in &found {
                let other = mirrored[&joint.mirrored()];
                let it = if joint.motion.flips() { -*it } else { *it };
                prop_assert!((other - it).abs() < 1e-6, "{joint:?}");
            }
        }
    }

    #[test]
    fn no_text_makes_the_reader_panic(text in "[a-z\\[\\]{}=\". \n0-9]{0,80}") {
        let _ = Picture::parse(&text, &PoseLibrary::default());
        let _ = PoseLibrary::parse(&text);
    }
}

/// The outline of the bare body, drawn from a skeleton.
fn outline(skeleton: &Skeleton, view: View) -> Region {
    let camera = Camera::new(view);
    let parts = crate::draw::flesh::body_parts(skeleton);
    Region::union_all(&parts.iter().map(|it| silhouette(&it.1, &camera, 0.0)).collect::<Vec<_>>())
}

#[test]
fn the_mirror_image_is_the_body_of_the_other_side() {
    for (name, picture) in pictures() {
        for frame in solve(&picture, picture.authored) {
            let body = frame.body();
            for view in [View { azimuth: -60.0, elevation: 20.0 }, View { azimuth: 10.0, elevation: 0.0 }] {
                let here = outline(&body.skeleton(), view).flipped();
                let there = outline(&body.mirrored().skeleton(), View { azimuth: -view.azimuth, ..view });
                let differ = here.difference(&there).area() + there.difference(&here).area();
                assert!(differ < 0.002 * there.area(), "{name}: {differ}");
            }
        }
    }
}

#[test]
fn the_other_side_swaps_every_name() {
    for (name, picture) in pictures() {
        let Some(side) = picture.authored else {
            continue;
        };
        let (here, there) = (solve(&picture, Some(side)), solve(&picture, Some(side.other())));
        for (a, b) in here.iter().zip(&there) {
            assert!(!a.is_mirrored() && b.is_mirrored(), "{name}");
            for (p, q) in a.contacts().iter().zip(b.contacts()) {
                assert_eq!(p.site.mirrored(), q.site, "{name}");
            }
            let (p, q) = (a.facts(), b.facts());
            assert_eq!(p.overhead[0], q.overhead[1], "{name}");
            assert_eq!((p.prone, p.supine, p.kneeling), (q.prone, q.supine, q.kneeling), "{name}");
        }
        // Word by word: "upright" is no side.
        let swap = |word: &str| match word {
            "left" => "right".to_owned(),
            "right" => "left".to_owned(),
            "Left" => "Right".to_owned(),
            "Right" => "Left".to_owned(),
            other => other.to_owned(),
        };
        let swapped = |text: &str| -> String {
            let ends = text.match_indices(|it: char| !it.is_alphabetic()).map(|(at, it)| (at, at + it.len()));
            let (mut out, mut from) = (String::new(), 0);
            for (end, next) in ends.chain([(text.len(), text.len())]) {
                out += &swap(&text[from..end]);
                out += &text[end..next];
                from = next;
            }
            out
        };
        let (a, b) = (alt_texts(&here), alt_texts(&there));
        for (p, q) in a.iter().zip(&b) {
            assert_eq!(&swapped(p), q, "{name}");
        }
    }
}

/// Draws the pictures of one file, whose poses may build on the library.
pub(crate) fn drawn(text: &str, look: Look) -> Vec<Svg> {
    let picture = Picture::parse(text, &library()).unwrap_or_else(|it| panic!("{it:?}"));
    draw_all(&solve(&picture, None), &Style::new(look, Palette::default()))
}

/// The doubts about each frame of one file.
pub(crate) fn lints_of(text: &str) -> Vec<Lint> {
    let picture = Picture::parse(text, &library()).unwrap_or_else(|it| panic!("{it:?}"));
    solve(&picture, None).iter().flat_map(SolvedFrame::lints).collect()
}

fn styles() -> [Style; 3] {
    [Look::Color, Look::Grey, Look::Line].map(|look| Style::new(look, Palette::default()))
}

#[test]
fn every_picture_draws_in_every_style_and_on_every_side() {
    for (name, picture) in pictures() {
        for side in [picture.authored, picture.authored.map(Side::other)] {
            let frames = solve(&picture, side);
            for style in styles() {
                let drawn = draw_all(&frames, &style);
                assert_eq!(drawn, draw_all(&frames, &style), "{name}: not the same twice");
                for svg in &drawn {
                    assert!(svg.text.starts_with("<svg xmlns="), "{name}");
                    for wrong in ["NaN", "inf", "<text", "-0.0", "-0 ", "=\"-0\""] {
                        assert!(!svg.text.contains(wrong), "{name} holds {wrong}");
                    }
                    assert!(svg.text.len() < 40_000, "{name}: {} bytes", svg.text.len());
                    assert!(svg.width > 5.0 && svg.width < 260.0, "{name}: {}", svg.width);
                }
                let heights: Vec<f64> = drawn.iter().map(|it| it.height).collect();
                assert!(picture.crop.is_some() || heights.windows(2).all(|it| (it[0] - it[1]).abs() < 0.3), "{name}");
            }
        }
    }
}

#[test]
fn every_picture_is_free_of_doubts() {
    let mut doubts = Vec::new();
    for (name, picture) in pictures() {
        let frames: Vec<SolvedFrame> = solve(&picture, picture.authored);
        doubts.extend(frames.iter().flat_map(|it| it.lints()).chain(alike(&frames)).map(|it| format!("{name}: {it}")));
    }
    assert!(doubts.is_empty(), "{}", doubts.join("\n"));
}

#[test]
fn every_picture_has_words() {
    let mut all = String::new();
    for (name, picture) in pictures() {
        for text in alt_texts(&solve(&picture, picture.authored)) {
            assert!(text.ends_with('.') && text.len() <= 260, "{name}: {text}");
            assert!(text.matches(". ").count() <= 1, "{name}: {text}");
            all.push_str(&format!("{name}: {text}\n"));
        }
    }
    assert!(!all.contains("  "));
}

#[test]
fn facts_tell_what_the_body_does() {
    let library = library();
    let one = |text: &str| solve(&Picture::parse(text, &library).unwrap(), None).remove(0).facts();
    let stand = one("[[frames]]\npose = \"standing\"");
    assert!(stand.upright && !stand.overhead[0] && !stand.single_leg && stand.bearing.len() == 2);
    assert!(one("[[frames]]\npose = \"supine\"").supine);
    assert!(one("[[frames]]\npose = \"prone\"").prone);
    let four = one("[[frames]]\npose = \"quadruped\"");
    assert!(four.kneeling && four.prone && four.bearing.len() == 4);
    let up = one("[[frames]]\npose = \"standing\"\nset = { left = { shoulder = { flexion = 170 } } }");
    assert_eq!(up.overhead, [true, false]);
}

#[track_caller]
fn complains(text: &str, message: &str, help: &str, marked: &str) {
    let problems = Picture::parse(text, &library()).expect_err("this should be refused");
    let first = &problems[0];
    assert_eq!((first.message.as_str(), first.help.as_deref().unwrap_or("")), (message, help));
    assert_eq!(&text[first.span.clone()], marked);
}

#[test]
fn messages_point_at_the_mistake() {
    let frame = "[[frames]]\npose = \"standing\"\n";
    complains(&format!("{frame}arow = []"), "no key of a frame is called `arow`", "did you mean `arrow`?", "arow");
    complains(
        "[[frames]]\npose = \"standin\"",
        "no pose is called `standin`",
        "did you mean `standing`?",
        "\"standin\"",
    );
    complains(
        &format!("{frame}feel = [\"calf\"]"),
        "`calf` is not a muscle as written",
        "write `left.calf`",
        "\"calf\"",
    );
    complains(
        &format!("[pose.a]\nboth.hip.flexon = 3\n{frame}"),
        "no joint motion is called `hip.flexon`",
        "did you mean `hip.flexion`?",
        "flexon",
    );
    complains(
        "[[frames]]\npose = \"seated\"",
        "pose `seated` needs a `chair`, but the picture has none",
        "the picture has: floor",
        "\"seated\"",
    );
    complains("view = nan", "found float where text belongs", "", "nan");
    complains(
        "[pose.a]\nbase = \"a\"\n[[frames]]\npose = \"a\"",
        "pose `a` is built on itself",
        "name another pose as its base, or take the line out",
        "\"a\"",
    );
}

/// The figures of one picture, as a layout gets them.
fn figures(text: &str, side: Side, show: Show) -> Vec<super::Figure> {
    use crate::ids::Id;
    let poses = super::Poses { library: library() };
    let pictures = poses.pictures(text).unwrap_or_else(|it| panic!("{it:?}"));
    let id = crate::ids::ExerciseId::new("one").unwrap();
    let accent = crate::brand::Colour::from_hex("#2b7f86").unwrap();
    let studio = super::Studio::new(
        std::collections::BTreeMap::from([(super::Subject::Exercise(id.clone()), pictures)]),
        accent,
        &crate::testing::demo().words,
    );
    studio.figures(&super::Subject::Exercise(id), Some(side), crate::print::Ink::Colour, show).unwrap().to_vec()
}

fn at_a_wall(label: &str) -> String {
    format!(
        "authored = \"left\"\nview = \"right\"\nprops = [{{ kind = \"wall\", faces = \"south\", distance = 25 }}]\n\
         [[frames]]\npose = \"standing\"\ndistance = [{{ from = \"left.toe\"{label} }}]"
    )
}

#[test]
fn a_distance_mark_gives_its_label_to_the_layout() {
    let text = at_a_wall(", label = \"left toes {{ own(\\\"knee-to-wall\\\") }}\"");
    let here = figures(&text, Side::Left, Show::All);
    let [label] = &here[0].labels[..] else { panic!("{:?}", here[0].labels) };
    assert_eq!(label.says, super::Said::Words("left toes {{ own(\"knee-to-wall\") }}".to_owned()));
    assert!((0.5..1.0).contains(&label.x) && label.y > 0.9, "{label:?}");
    assert!(here[0].alt.contains("A line shows the gap from the left toe"), "{}", here[0].alt);
    let mirrored = figures(&text, Side::Right, Show::All);
    let said = super::Said::Words("right toes {{ own(\"knee-to-wall\") }}".to_owned());
    assert_eq!(mirrored[0].labels[0].says, said);
    assert!((mirrored[0].labels[0].x + label.x - 1.0).abs() < 0.01, "{mirrored:?}");
}

#[test]
fn the_outcome_is_the_last_picture_that_is_no_fault_without_its_sign() {
    let text = "authored = \"left\"\n[[frames]]\npose = \"standing\"\ncaption = \"One\"\n\
        [[frames]]\npose = \"standing\"\ncaption = \"Two\"\nverdict = \"good\"\n\
        [[frames]]\npose = \"standing\"\ncaption = \"Three\"\nverdict = \"bad\"";
    let all = figures(text, Side::Left, Show::All);
    let [outcome] = &figures(text, Side::Left, Show::Outcome)[..] else { panic!("one picture") };
    assert_eq!(outcome.caption.as_deref(), Some("Two"));
    // The sign is a disc, drawn as arcs, with a tick in it.
    let paths = |figure: &super::Figure| figure.svg.matches("<path").count();
    assert!(paths(outcome) < paths(&all[1]), "{}", outcome.svg);
    assert_eq!(paths(outcome), paths(&all[0]), "both stand alike");
    assert!(all[1].alt.len() > outcome.alt.len(), "{}", outcome.alt);
}

#[test]
fn a_distance_without_words_is_refused() {
    for label in ["", ", label = \" \""] {
        let text = at_a_wall(label);
        let problems = Picture::parse(&text, &library()).expect_err("no words");
        assert_eq!(problems[0].message, "a distance needs words to print at it");
        assert!(text[problems[0].span.clone()].starts_with("{ from"), "{problems:?}");
    }
}

#[test]
fn brand_colors_keep_their_distance() {
    for hex in ["#000000", "#ffffff", "#ffee00", "#8c3f5d"] {
        let color = Rgb::parse(hex).unwrap();
        let palette = Palette::with_brand(color, color);
        let [bottom, top, skin] = ["bottom", "top", "skin"].map(|it| palette.get(it).brightness());
        assert!(top - bottom >= 20.0 && skin - top >= 40.0, "{hex}: {bottom} {top} {skin}");
    }
}
