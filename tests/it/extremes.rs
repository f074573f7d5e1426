//! The far ends of what a record or a library may hold: nothing at all, next to nothing, and far too much.

use std::fs;

use crate::practice::{ANA, Practice, demo};

/// Ana's record without a program: the tool chooses.
fn open_record() -> String {
    ANA.replace("program = [{ exercise = \"knee-to-wall\", side = \"right\" }]\n", "")
}

/// The ids of a table of the vocabulary, as a list in TOML.
fn all_of(table: &str) -> String {
    let text = fs::read_to_string(demo().join("exercises/vocabulary.toml")).unwrap();
    let vocabulary: toml::Table = toml::from_str(&text).unwrap();
    let ids: Vec<String> = vocabulary[table].as_table().unwrap().keys().map(|id| format!("\"{id}\"")).collect();
    format!("[{}]", ids.join(", "))
}

/// Prints one record and gives its document's state, the exit code and the first problem's rule and help.
fn printed(record: &str) -> (String, i32, String, String) {
    let practice = Practice::without_clients();
    practice.write("clients/ana.toml", record);
    let run = practice.run(&["print", "--json"]);
    let report = run.json();
    let problem = &report["problems"][0];
    let text = |value: &serde_json::Value| value.as_str().unwrap_or_default().to_owned();
    (text(&report["documents"][0]["state"]), run.code, text(&problem["rule"]), text(&problem["help"]))
}

#[test]
fn without_a_position_or_a_thing_nothing_fits_and_the_coach_hears_what_would_help() {
    let nowhere = format!("no_positions = {}\n\n[[visits]]", all_of("positions"));
    let (state, code, rule, help) = printed(&open_record().replace("[[visits]]", &nowhere));
    assert_eq!((state.as_str(), code, rule.as_str()), ("failed", 1, "nothing-fits"));
    assert!(help.contains("the position `standing`"), "{help}");
    let nothing = format!("no_equipment = {}\n\n[[visits]]", all_of("equipment"));
    let (state, code, rule, help) = printed(&open_record().replace("[[visits]]", &nothing));
    assert_eq!((state.as_str(), code, rule.as_str()), ("failed", 1, "nothing-fits"));
    assert!(help.contains("`wall`"), "{help}");
}

#[test]
fn without_a_wish_for_equipment_household_things_do() {
    let (state, code, rule, _) = printed(&open_record());
    assert_eq!((state.as_str(), code, rule.as_str()), ("new", 0, ""));
}

#[test]
fn a_question_without_an_answer_or_not_known_counts_as_not_cleared() {
    let gate = |screening: &str| {
        let practice = Practice::without_clients();
        practice.write("clients/ana.toml", open_record().replace("yes = []", screening));
        let run = practice.run(&["explain", "ana", "--json"]);
        run.json()["record"]["safety"]["gate"]["word"].clone()
    };
    assert_eq!(gate("yes = []"), "A program may be printed");
    assert_eq!(gate("yes = [], unasked = [\"chest-pain\"]"), "No program: see someone first");
    // An answer to a question that the practice does not ask is no answer: the record is refused.
    let (state, code, rule, _) = printed(&open_record().replace("yes = []", "yes = [\"chest-pane\"]"));
    assert_eq!((state.as_str(), code, rule.as_str()), ("failed", 1, "unknown-name"));
}

#[test]
fn no_minutes_is_no_time_for_a_program() {
    let (state, code, rule, _) = printed(&open_record().replace("minutes_a_day = 20", "minutes_a_day = 0"));
    assert_eq!((state.as_str(), code, rule.as_str()), ("failed", 1, "bad-value"));
}

#[test]
fn a_graded_test_without_a_grade_is_refused() {
    for (reading, expected) in [("", "missing-key"), (", value = \"splendid\"", "bad-value")] {
        let with = format!("readings = [{{ test = \"bend-and-lift-look\"{reading} }}, ");
        let (state, code, rule, _) = printed(&open_record().replace("readings = [", &with));
        assert_eq!((state.as_str(), code, rule.as_str()), ("failed", 1, expected), "{reading}");
    }
}

#[test]
fn a_reading_better_than_can_be_is_refused() {
    // Nobody's knee goes a third of a metre past the toes: the test says up to 25 cm.
    let (state, code, rule, _) = printed(&open_record().replace("left = 10", "left = 33"));
    assert_eq!((state.as_str(), code, rule.as_str()), ("failed", 1, "bad-reading"));
}

#[test]
fn fifty_findings_still_make_a_program_that_somebody_keeps_up() {
    let practice = Practice::without_clients();
    let test = practice.read("exercises/tests/knee-to-wall.toml");
    let mut readings = String::from("readings = [\n");
    for number in 1..=50 {
        let named = test.replace("\"Ankle bend\"", &format!("\"Ankle bend {number}\""));
        practice.write(&format!("exercises/tests/knee-to-wall-{number}.toml"), named);
        readings += &format!("  {{ test = \"knee-to-wall-{number}\", left = 3, right = 3 }},\n");
    }
    practice.write("clients/ana.toml", open_record().replace("readings = [", &readings));
    let run = practice.run(&["print", "--json"]);
    let report = run.json();
    assert_eq!((run.code, &report["documents"][0]["state"]), (0, &"new".into()), "{report:#}");
    let record = practice.run(&["explain", "ana", "--json"]).json()["record"].clone();
    assert_eq!(record["tests"].as_array().map(Vec::len), Some(51));
    assert!(record["program"].as_array().is_some_and(|program| (1..=5).contains(&program.len())), "{record:#}");
}

#[test]
fn a_library_of_one_exercise_is_a_library() {
    let practice = Practice::without_clients();
    for phase in ["loosen", "stretch", "switch-on", "put-to-use"] {
        for file in fs::read_dir(practice.path(&format!("exercises/{phase}"))).unwrap() {
            let file = file.unwrap();
            if file.file_name() != "calf-wall-stretch.toml" {
                fs::remove_file(file.path()).unwrap();
                let pose = practice.path("exercises/poses").join(file.file_name());
                if pose.exists() {
                    fs::remove_file(pose).unwrap();
                }
            }
        }
    }
    practice.write("clients/ana.toml", open_record());
    let run = practice.run(&["explain", "ana", "--json"]);
    let program = &run.json()["record"]["program"];
    assert_eq!(program.as_array().map(Vec::len), Some(1), "{program:#}");
    assert_eq!(practice.run(&["print"]).code, 0);
}

#[test]
fn weights_are_shares() {
    for (file, from, to) in [
        ("exercises/tests/knee-to-wall.toml", "state = \"short\", weight = 0.4", "state = \"short\", weight = 1.4"),
        ("exercises/tests/knee-to-wall.toml", "state = \"short\", weight = 0.4", "state = \"short\", weight = -0.4"),
        ("exercises/stretch/calf-wall-stretch.toml", "effect = 0.", "effect = 7."),
    ] {
        let practice = Practice::without_clients();
        practice.write("clients/ana.toml", open_record());
        practice.replace(file, from, to);
        let report = practice.run(&["print", "--json"]).json();
        let problems = report["problems"].as_array().unwrap();
        let found = problems.iter().find(|problem| problem["file"] == file);
        assert_eq!(found.map(|problem| problem["rule"].clone()), Some("bad-value".into()), "{to}: {report:#}");
    }
}
