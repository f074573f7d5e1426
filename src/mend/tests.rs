use std::path::Path;

use proptest::prelude::*;

use super::*;
use crate::shape::Shapes;
use crate::{schema, starter};

/// Worked out once a thread.
fn shapes() -> Shapes {
    thread_local! {
        static SHAPES: Shapes = schema::known().expect("the examples read well");
    }
    SHAPES.with(Clone::clone)
}

const RECORD: &str = "#:schema ../.schemas/client.json
# about the file
goals = [\"Row.\"] # what for
# who
name = \"Ana\"
minutes_a_day = 20   

[[visits]]
# when
on = 2026-11-20
readings = [{ right = \"2.25inches\", test = \"knee-to-wall\", left = \"10 CM\" }]";

#[test]
fn keys_units_and_spaces_are_mended() {
    let shapes = shapes();
    let mended = mend(RECORD, shapes.get("client")).unwrap();
    assert_eq!(
        mended.text,
        "#:schema ../.schemas/client.json
# about the file
name = \"Ana\"
# who
goals = [\"Row.\"] # what for
minutes_a_day = 20

[[visits]]
# when
on = 2026-11-20
readings = [{ test = \"knee-to-wall\", left = \"10 cm\", right = \"2.25 in\" }]
"
    );
    let done = [
        "spaces at the ends of lines taken out",
        "one line end at the end",
        "keys put in order",
        "units written as usual",
    ];
    assert_eq!(mended.done, done);
    assert_eq!(mend(&mended.text, shapes.get("client")), None, "once is enough");
}

#[test]
fn what_cannot_be_understood_is_left_alone() {
    let shapes = shapes();
    for text in ["name = \"Ana\ngoals = []  \n", "zebra = 1\nname = \"Ana\"\n", "a = '''\nb  \n'''\n", ""] {
        assert_eq!(mend(text, shapes.get("client")), None, "{text}");
    }
    assert_eq!(mend("\u{feff}a = 1\n", None).unwrap().text, "a = 1\n");
}

#[test]
fn records_say_the_same_after_mending() {
    let shapes = shapes();
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for stem in &crate::testing::demo().clients {
        let text = std::fs::read_to_string(root.join(format!("clients/{stem}.toml"))).unwrap();
        // Without its last line end there is always something to mend.
        let text = text.trim_end();
        let mended = mend(text, shapes.get("client")).unwrap().text;
        assert!(same(text, &mended), "{stem}");
        assert_eq!(comments(text), comments(&mended), "{stem}");
        assert_eq!(mend(&mended, shapes.get("client")), None, "{stem}");
    }
}

/// Every comment of a text, in the order of the alphabet.
fn comments(text: &str) -> Vec<&str> {
    let mut found: Vec<&str> =
        text.lines().filter_map(|line| line.split_once('#')).map(|(_, comment)| comment.trim_end()).collect();
    found.sort_unstable();
    found
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    /// A demo file with its lines before the first table shuffled, and spaces strewn in.
    #[test]
    fn a_file_says_the_same_after_mending(
        index in any::<prop::sample::Index>(),
        swaps in prop::collection::vec((any::<prop::sample::Index>(), any::<prop::sample::Index>()), 0..6),
        spaces in prop::collection::vec(any::<prop::sample::Index>(), 0..4),
        mark in any::<bool>(),
    ) {
        let texts: Vec<_> = starter::texts().into_iter().filter(|(kind, _)| !kind.ends_with("poses")).collect();
        let (kind, entry) = &texts[index.index(texts.len())];
        let mut lines: Vec<String> = entry.file.text.lines().map(str::to_owned).collect();
        // Only lines that are a whole key can change places.
        let whole: Vec<usize> = (0..lines.len())
            .take_while(|i| !lines[*i].starts_with('['))
            .filter(|i| lines[*i].starts_with(|c: char| c.is_ascii_lowercase()) && !lines[*i].ends_with('['))
            .collect();
        if !whole.is_empty() {
            for (a, b) in swaps {
                lines.swap(whole[a.index(whole.len())], whole[b.index(whole.len())]);
            }
        }
        for at in spaces {
            let at = at.index(lines.len());
            lines[at].push_str(" \t");
        }
        let text = format!("{}{}", if mark { "\u{feff}" } else { "" }, lines.join("\n"));
        let shapes = shapes();
        let shape = shapes.get(kind);
        let mended = mend(&text, shape).expect("it lacks its last line end").text;
        let read = |text: &str| text.trim_start_matches('\u{feff}').parse::<toml::Table>().unwrap();
        prop_assert_eq!(read(&text), read(&mended));
        prop_assert_eq!(comments(&text), comments(&mended));
        prop_assert_eq!(mend(&mended, shape), None);
    }
}
