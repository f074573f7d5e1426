//! Pictures: what a pose file may not say, and where pictures and their words stand on a sheet.

use serde_json::Value as Json;

use crate::practice::Practice;

/// Each line is wrong in one way; the message that it must get, and the line on which.
const WRONG: [(&str, &str); 11] = [
    ("left.kne.flexion = 3", "no joint motion is called `kne.flexion`"),
    ("left.knee.flexion = \"ninety\"", "found string where a number between -10000 and 10000 belongs"),
    ("left.hip.flexion = nan", "found float where a number between -10000 and 10000 belongs"),
    (
        "rest = [\"left.heel on floor\", \"left.heel on step\"]",
        "in pose `one` `left.heel` rests on `floor` and on `step` at once",
    ),
    ("crop = { site = \"left.knee\", radius = 0 }", "a close-up reaches 4 to 100 percent of stature, not 0"),
    ("view = [0]", "this list must hold 2 numbers"),
    ("arrow = [{ site = \"left.knee\" }]", "an arrow of the last frame leads nowhere: no frame follows"),
    ("distance = [{ from = \"left.toe\", label = \"{{ sid }}\" }]", "nothing here is called that: `sid` is undefined"),
    ("distance = [{ from = \"left.toe\" }]", "a distance needs words to print at it"),
    ("angle = [{ joint = \"left.hip\" }]", "an angle needs a joint and two lines, `from` and `to`"),
    ("hold = 30", "`hold` says only that the pose is held: true or false"),
];

#[test]
fn a_pose_file_that_is_wrong_is_told_with_its_line() {
    let practice = Practice::with_ana();
    let file = "exercises/poses/chin-nod.toml";
    for (wrong, message) in WRONG {
        let (in_picture, in_frame) = match wrong.split_once(' ').unwrap().0 {
            "view" | "crop" => (wrong, ""),
            "arrow" | "distance" | "angle" | "hold" => ("", wrong),
            _ => ("", ""),
        };
        let in_pose = if in_picture.is_empty() && in_frame.is_empty() { wrong } else { "" };
        let text = format!(
            "{in_picture}\nprops = [{{ kind = \"wall\", distance = 20 }}, {{ kind = \"step\", at = [9, 0] }}]\n\
             [pose.one]\nbase = \"standing\"\n{in_pose}\n[[frames]]\npose = \"one\"\n{in_frame}\n"
        );
        practice.write(file, &text);
        let report = practice.run(&["draw", "heel-raise", "--json"]).json();
        let problems = report["problems"].as_array().unwrap();
        let found = problems.iter().find(|it| it["file"] == file).unwrap_or_else(|| panic!("{wrong}: {report:#}"));
        assert!(found["message"].as_str().unwrap().contains(message), "{wrong}: {found:#}");
        assert!(!found["help"].as_str().unwrap().is_empty(), "{found:#}");
        // What two lines together make wrong is told at the frame that brings them together.
        let line = match wrong.split_once(' ').unwrap().0 {
            "rest" => 7,
            "arrow" => 6,
            _ => text.lines().position(|it| it == wrong).unwrap() + 1,
        };
        assert_eq!(found["line"], line, "{wrong}: {found:#}");
    }
}

#[test]
fn more_frames_than_a_card_holds_are_refused() {
    let practice = Practice::with_ana();
    let file = "exercises/poses/chin-nod.toml";
    for (count, refused) in [(1, false), (3, false), (4, true), (12, true)] {
        practice.write(file, "[[frames]]\npose = \"standing\"\n".repeat(count));
        let report = practice.run(&["draw", "heel-raise", "--json"]).json();
        let message = format!("{count} pictures stand side by side here, but there is room for 3");
        let told = report["problems"].as_array().unwrap().iter().any(|it| it["message"] == message);
        assert_eq!(told, refused, "{report:#}");
    }
}

#[test]
fn a_card_shows_the_distance_of_its_steps() {
    let sheet = Practice::with_ana().sheet();
    let card = &sheet["phases"][0]["exercises"][0];
    let mark = &card["frames"][0]["marks"][0];
    // Three quarters of 6 cm.
    assert_eq!(mark["text"], "4.5\u{a0}cm");
    assert!(card["steps"][0].as_str().unwrap().contains("4.5\u{a0}cm"), "{card:#}");
    assert!((0.5..1.0).contains(&mark["across"].as_f64().unwrap()) && mark["down"].as_f64().unwrap() > 0.9, "{mark:#}");
}

#[test]
fn a_home_check_is_pictured_on_the_side_to_work_on() {
    let practice = Practice::with_ana();
    let frames = |practice: &Practice| practice.sheet()["checks"]["rows"][0]["frames"].as_array().unwrap().clone();
    let right = frames(&practice);
    assert_eq!(right.len(), 3);
    assert!(right[1]["alt"].as_str().unwrap().contains("right knee bent until it touches the wall"), "{right:#?}");
    assert_eq!(right[2]["caption"], "The heel comes up early");
    practice.replace("clients/ana.toml", "left = 10, right = 6", "left = 6, right = 10");
    practice.replace("clients/ana.toml", "side = \"right\"", "side = \"left\"");
    let left = frames(&practice);
    assert!(left[1]["alt"].as_str().unwrap().contains("left knee bent until it touches the wall"), "{left:#?}");
    assert_ne!(left[1]["svg"], right[1]["svg"]);
}

#[test]
fn a_finding_shows_its_test_where_the_page_has_room() {
    let practice = Practice::with_ana();
    let frames = |practice: &Practice| practice.sheet()["findings"][0]["frames"].clone();
    let shown = frames(&practice);
    let [frame] = shown.as_array().unwrap().as_slice() else { panic!("{shown:#}") };
    let alt = frame["alt"].as_str().unwrap();
    // On the side to work on, and without the tick of the home check: it shows the test, not that all is well.
    assert!(alt.contains("right knee bent until it touches the wall") && !alt.contains("right way"), "{alt}");
    let check = practice.sheet()["checks"]["rows"][0]["frames"][1].clone();
    assert_ne!(frame["svg"], check["svg"]);
    // A page in large type is full.
    practice.replace("clients/ana.toml", "[[visits]]", "[print]\ntype = \"large\"\n[[visits]]");
    assert_eq!(frames(&practice), Json::Null);
}

/// A photo of stripes, so that parts of it differ.
fn photo(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    let stripes = image::RgbImage::from_fn(width, height, |x, _| image::Rgb([(x / 8 % 256) as u8, 90, 120]));
    stripes.write_to(&mut bytes, image::ImageFormat::Png).unwrap();
    bytes.into_inner()
}

fn with_photo(crop: &str) -> Practice {
    let practice = Practice::with_ana();
    practice.write("exercises/pictures/wall.png", photo(3000, 2000));
    practice.replace(
        "exercises/stretch/knee-to-wall.toml",
        "[[effects]]",
        &format!("[[pictures]]\nfile = \"wall.png\"\nalt = \"A {{{{ side }}}} knee at a wall.\"\n{crop}\n[[effects]]"),
    );
    practice
}

#[test]
fn a_photo_of_the_practice_takes_the_place_of_the_drawing() {
    for (crop, ratio) in [("", 0.67), ("crop = [25, 0, 50, 100]", 1.33)] {
        let practice = with_photo(crop);
        let frames = practice.sheet()["phases"][0]["exercises"][0]["frames"].as_array().unwrap().clone();
        assert_eq!(frames.len(), 1);
        assert_eq!((&frames[0]["alt"], &frames[0]["ratio"]), (&"A right knee at a wall.".into(), &ratio.into()));
        let run = practice.run(&["print", "--json"]);
        assert_eq!(run.json()["documents"][0]["state"], "new", "{}", run.out);
    }
}

#[test]
fn a_part_of_a_photo_that_cannot_be_printed_is_refused() {
    for (crop, rule) in [
        ("crop = [60, 0, 50, 100]", "bad-value"),
        ("crop = [0, 0, 100]", "bad-value"),
        ("crop = [0, 0, 5, 100]", "bad-picture"),
    ] {
        let report = with_photo(crop).run(&["print", "--json"]).json();
        let problems = report["problems"].as_array().unwrap();
        let found = problems.iter().find(|it| it["file"] == "exercises/stretch/knee-to-wall.toml").unwrap();
        assert_eq!(found["rule"], rule, "{report:#}");
        assert!(found["line"].is_number(), "{report:#}");
    }
}

#[test]
fn a_contact_sheet_shows_every_picture_once_with_its_name() {
    let practice = Practice::with_ana();
    let names = ["foot-sole-roll", "knee-to-wall", "heel-slide", "chin-nod", "test-knee-to-wall"];
    let run = practice.run(&[&["draw", "--contact-sheet", "--json"], &names[..]].concat());
    let files = run.json()["pictures"].as_array().unwrap().clone();
    let pages: Vec<String> =
        files.iter().map(|it| practice.read(&format!("out/pictures/{}", it.as_str().unwrap()))).collect();
    let whole = pages.concat();
    for name in names {
        assert_eq!(whole.matches(&format!(">{name} 1<")).count(), 1, "{name}");
    }
    for page in &pages {
        let document = roxmltree::Document::parse(page).unwrap();
        let mut ids: Vec<&str> = document.descendants().filter_map(|it| it.attribute("id")).collect();
        let count = ids.len();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), count);
        // Twenty pictures and the page itself.
        let drawings =
            document.descendants().filter(|it| it.has_tag_name(("http://www.w3.org/2000/svg", "svg"))).count();
        assert!((2..=21).contains(&drawings), "{drawings}");
    }
}
