//! Two brands that could hardly differ more print the whole library and real records as well as the demo's does.

use std::fs;

use hayro_syntax::Pdf;
use hayro_syntax::object::{Dict, Name};

use crate::practice::{Practice, copy, demo};
use crate::reading_order::heard;

/// Clients whose sheets hold most of what a sheet can hold: many exercises, a retest, a doctor first, nothing to do.
const CLIENTS: [&str; 5] = ["ines-okafor", "bram-lindqvist", "kofi-mensah", "jo-tanaka", "edith-rowe"];

/// The demo's library under another brand, with clients who have had no sheet yet.
fn practice(brand: &str) -> Practice {
    let practice = Practice::without_clients();
    fs::remove_file(practice.path("layouts/brand.es.toml")).unwrap();
    copy(&demo().join("tests/brands").join(brand), &practice.path("layouts"));
    for client in CLIENTS {
        let file = format!("clients/{client}.toml");
        fs::copy(demo().join(&file), practice.path(&file)).unwrap();
    }
    practice
}

/// What is printed: each document's file and what a listener hears of it.
fn printed(practice: &Practice) -> Vec<(String, String, Vec<u8>)> {
    let run = practice.run(&["print", "--what", "handout,glance,cards,diary,booklet,letter,record"]);
    assert_eq!(run.code, 0, "{}{}", run.out, run.err);
    let run = practice.run(&["book"]);
    assert_eq!(run.code, 0, "{}{}", run.out, run.err);
    let documents = practice.documents();
    assert!(documents.len() > CLIENTS.len());
    documents.into_iter().map(|(file, bytes)| (file, heard(bytes.clone()).join("\n"), bytes)).collect()
}

/// The names of the typefaces in a document.
fn typefaces(bytes: Vec<u8>) -> Vec<String> {
    let pdf = Pdf::new(bytes).expect("a PDF");
    let fonts = pdf.objects().into_iter().filter_map(hayro_syntax::object::Object::into_dict);
    let names = fonts.filter_map(|font: Dict<'_>| font.get::<Name<'_>>("BaseFont"));
    names.map(|name| name.as_str().to_owned()).collect()
}

/// A document says none of these.
fn silent(file: &str, words: &str, parts: &[&str]) {
    for part in parts {
        if let Some((before, after)) = words.split_once(part) {
            let from = before.char_indices().rev().nth(60).map_or(0, |(at, _)| at);
            let after: String = after.chars().take(60).collect();
            panic!("{file} says `{part}`: …{}{part}{after}…", &before[from..]);
        }
    }
}

#[test]
fn a_loud_brand_with_inches_and_letter_paper() {
    for (file, words, bytes) in printed(&practice("foxglove-lane")) {
        assert!(words.contains("Foxglove Lane") || file.ends_with("record.pdf"), "{file}");
        silent(&file, &words, &["Tern", "Maren", "\u{a0}cm"]);
        assert!(typefaces(bytes).iter().all(|name| !name.contains("Serif")), "{file}");
    }
}

#[test]
fn a_sober_brand_with_its_own_typeface_in_large_spanish_greys() {
    for (file, words, bytes) in printed(&practice("faro-del-norte")) {
        assert!(words.contains("Faro del Norte") || file.ends_with("record.pdf"), "{file}");
        silent(&file, &words, &["Tern", "Maren", "Your plan"]);
        let faces = typefaces(bytes);
        assert!(faces.iter().any(|name| name.contains("SourceSerif")), "{file}: {faces:?}");
        assert!(!faces.iter().any(|name| name.contains("Atkinson")), "{file}: {faces:?}");
    }
}

#[test]
fn a_typeface_that_is_not_there_is_told_with_those_that_are() {
    let practice = practice("faro-del-norte");
    practice.replace("layouts/brand.toml", "Source Serif 4", "Source Serif");
    let run = practice.run(&["check", "--json"]);
    let problems = run.json()["problems"].to_string();
    assert_eq!(run.code, 2, "{problems}");
    assert!(problems.contains("no font in layouts/fonts is called `Source Serif`"), "{problems}");
    assert!(problems.contains("did you mean `Source Serif 4`?"), "{problems}");
}

#[test]
fn a_logo_that_cannot_be_used_is_no_success() {
    let practice = Practice::with_ana();
    practice.write("layouts/logo.svg", "no drawing");
    let run = practice.run(&["print"]);
    assert!(run.code == 1 && run.err.contains("layouts/logo.svg"), "{}", run.err);
    assert_eq!(practice.documents().len(), 1, "the sheet is made all the same");
}
