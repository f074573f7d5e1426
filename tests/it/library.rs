//! The library in print: book, poster and cards.

use std::fs;

use crate::practice::Practice;
use crate::reading_order::heard;

/// Exercises of the small library: one of each phase, with and without sides.
const KEPT: [&str; 4] = ["wall-slide", "knee-to-wall", "slow-bridge", "carry-one-side"];

/// Keeps what `kept` says in a folder of TOML files.
fn thin(practice: &Practice, folder: &str, kept: impl Fn(&str) -> bool) {
    for entry in fs::read_dir(practice.path(folder)).unwrap() {
        let path = entry.unwrap().path();
        let stem = path.file_stem().unwrap().to_str().unwrap().to_owned();
        if path.extension().is_some_and(|ending| ending == "toml") && !kept(&stem) {
            fs::remove_file(path).unwrap();
        }
    }
}

/// A practice with four exercises, all tests and no client.
fn small() -> Practice {
    let practice = Practice::without_clients();
    for phase in ["loosen", "stretch", "switch-on", "put-to-use"] {
        thin(&practice, &format!("exercises/{phase}"), |stem| KEPT.contains(&stem));
    }
    thin(&practice, "exercises/poses", |stem| stem == "library" || KEPT.contains(&stem));
    practice.replace("layouts/brand.toml", "languages = [\"en\", \"es\"]", "languages = [\"en\"]");
    fs::remove_file(practice.path("layouts/brand.es.toml")).unwrap();
    practice
}

fn read(practice: &Practice, file: &str) -> Vec<u8> {
    fs::read(practice.path("out/book").join(file)).unwrap()
}

#[test]
fn a_book_is_made_without_clients_and_is_the_same_each_time() {
    let practice = small();
    let run = practice.run(&["book", "--json"]);
    assert_eq!(run.code, 0, "{}", run.out);
    let made = &run.json()["documents"][0];
    assert_eq!((&made["file"], &made["exercises"]), (&"book.pdf".into(), &4.into()));
    let first = read(&practice, "book.pdf");
    assert_eq!(practice.run(&["book"]).code, 0);
    assert!(read(&practice, "book.pdf") == first);

    let lines = heard(first);
    let from = lines.iter().position(|line| line.ends_with("H3 Knee to wall")).unwrap();
    let to = lines.iter().position(|line| line.ends_with("H3 Slow bridge")).unwrap();
    insta::assert_snapshot!("an_exercise_in_the_book", lines[from..to].join("\n"));
    let from = lines.iter().position(|line| line.ends_with("H3 Ankle bend")).unwrap();
    let to = lines.iter().position(|line| line.ends_with("H3 Back hold")).unwrap();
    insta::assert_snapshot!("a_test_in_the_book", lines[from..to].join("\n"));
}

#[test]
fn entries_lead_to_their_pages() {
    let practice = small();
    assert_eq!(practice.run(&["book"]).code, 0);
    let lines = heard(read(&practice, "book.pdf"));
    let links: Vec<&str> = lines.iter().map(|line| line.trim()).filter(|line| line.starts_with("Link ")).collect();
    // Contents, the listing by region and the indexes name the bridge with one and the same page.
    let bridge: Vec<&&str> = links.iter().filter(|line| line.contains("Slow bridge")).collect();
    assert!(bridge.len() >= 4 && bridge.iter().all(|line| *line == bridge[0]), "{bridge:?}");
    for chapter in
        ["Contents", "Tests", "By part of the body", "By what it works on", "By equipment", "By position", "Sources"]
    {
        assert!(lines.iter().any(|line| line.trim() == format!("H2 {chapter}")), "{chapter}");
    }
}

#[test]
fn the_day_is_printed_only_if_it_is_asked_for() {
    let practice = small();
    let run = |arguments: &[&str]| {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_kinleaf"));
        crate::practice::run(command.arg("--practice").arg(practice.path("")).args(arguments))
    };
    assert_eq!(run(&["book", "--as", "poster"]).code, 0);
    let words = heard(read(&practice, "poster.pdf")).join("\n");
    assert!(!words.contains("As of") && words.contains("ask your coach"), "{words}");
    assert_eq!(run(&["book", "--as", "poster", "--on", "2026-11-25"]).code, 0);
    assert!(heard(read(&practice, "poster.pdf")).join("\n").contains("As of 25 November 2026"));
}

#[test]
fn poster_and_cards_come_in_every_ink_and_on_either_paper() {
    let practice = small();
    for (arguments, file) in [
        (&["--as", "poster", "--paper", "letter"][..], "poster-letter.pdf"),
        (&["--as", "cards", "--ink", "grey"], "cards-grey.pdf"),
        (&["--as", "cards-two-sided", "--ink", "saver", "--paper", "letter"], "cards-two-sided-letter-saver.pdf"),
    ] {
        let run = practice.run(&[&["book"], arguments].concat());
        assert_eq!(run.code, 0, "{}", run.err);
        assert!(read(&practice, file).starts_with(b"%PDF"));
    }
    // Four cards of exercises and one with the title: two sheets, each with its back.
    let run = practice.run(&["book", "--as", "cards-two-sided", "--json"]);
    assert_eq!(run.json()["documents"][0]["pages"], 4);
}

#[test]
fn the_poster_never_shows_how_not_to_do_it() {
    let practice = small();
    assert_eq!(practice.run(&["book", "--as", "poster"]).code, 0);
    let words = heard(read(&practice, "poster.pdf")).join("\n");
    let wrong: Vec<&str> =
        words.lines().filter(|line| line.contains("Figure") && line.contains("ot like this")).collect();
    assert!(words.contains("One-hand carry") && wrong.is_empty(), "{wrong:?}");
}

#[test]
fn a_broken_library_is_not_printed() {
    let practice = small();
    assert_eq!(practice.run(&["book"]).code, 0);
    let before = read(&practice, "book.pdf");
    practice.replace("exercises/loosen/wall-slide.toml", "{{ side }}", "{{ sied }}");
    let run = practice.run(&["book", "--json"]);
    assert_eq!(run.code, 2);
    let report = run.json();
    let problems = report["problems"].as_array().unwrap();
    assert_eq!(problems.len(), 1, "{problems:?}");
    assert_eq!(problems[0]["rule"], "bad-template");
    assert_eq!(problems[0]["file"], "exercises/loosen/wall-slide.toml");
    assert!(read(&practice, "book.pdf") == before, "the older book still stands, whole");
    let names: Vec<_> = fs::read_dir(practice.path("out/book")).unwrap().collect();
    assert_eq!(names.len(), 1, "no half file lies about: {names:?}");
}

#[test]
fn a_character_without_a_glyph_is_named_with_its_text() {
    let practice = small();
    practice.replace("exercises/loosen/wall-slide.toml", "Helps your arm go up", "Helps your arm \u{1f600} go up");
    let run = practice.run(&["book", "--json"]);
    assert_eq!(run.code, 2);
    let report = run.json();
    assert_eq!(report["problems"][0]["rule"], "no-glyph", "{report}");
    assert!(report["problems"][0]["message"].as_str().unwrap().contains("with less effort"), "{report}");
}

#[test]
fn another_brand_prints_its_own_book() {
    let practice = small();
    practice.replace("layouts/brand.toml", "Tern & Tide Movement Studio", "Harbour Lane Physio");
    practice.replace("layouts/brand.toml", "logo = \"logo.svg\"\nlogo_alt = \"a bird over a wave\"\n", "");
    practice.replace("layouts/brand.toml", "#0b5a68", "#7a1f3d");
    practice.replace("layouts/brand.toml", "paper = \"a4\"", "paper = \"letter\"");
    practice.replace("layouts/brand.toml", "units = \"metric\"", "units = \"imperial\"");
    let run = practice.run(&["book", "--json"]);
    // The practice's own paper is no part of the name.
    assert_eq!((run.code, &run.json()["documents"][0]["file"]), (0, &"book.pdf".into()), "{}", run.out);
    let words = heard(read(&practice, "book.pdf")).join("\n");
    assert!(words.contains("Harbour Lane Physio") && !words.contains("Tern") && !words.contains("Logo"), "{words}");
    // 9 to 13 cm at the wall, to the half centimetre of the tape: to the quarter inch in inches.
    assert!(words.contains("3.5 to 5\u{a0}in") && !words.contains("\u{a0}cm"), "{words}");
}
