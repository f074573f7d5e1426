//! The commands that show the reasoning and the pictures: explain, the coach's record, coverage, draw.

use std::fs;

use crate::practice::{ANA, Practice};

/// Ana, for whom the tool chooses.
fn chosen() -> Practice {
    let practice = Practice::without_clients();
    practice
        .write("clients/ana.toml", ANA.replace("program = [{ exercise = \"knee-to-wall\", side = \"right\" }]\n", ""));
    practice
}

#[test]
fn explain_fits_a_terminal_and_gives_reasons() {
    let run = chosen().run(&["explain", "ana"]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(run.out.lines().all(|line| line.chars().count() <= 80), "{}", run.out);
    for word in ["right ankle bend, stiff: 0.60", "Chosen by the tool", "Knee to wall", "Nearly in", "Minutes:"] {
        assert!(run.out.contains(word), "{word} is not in\n{}", run.out);
    }
}

#[test]
fn explain_tells_machines_the_same() {
    let run = chosen().run(&["explain", "ana", "--json"]);
    let record = &run.json()["record"];
    let rows = record["program"].as_array().unwrap();
    assert!((1..=5).contains(&rows.len()), "{record:#}");
    assert!(rows.iter().all(|row| row["why"].as_str().is_some_and(|why| !why.is_empty())));
    assert_eq!(record["tests"][0]["lanes"][1]["verdict"], "limited");
}

#[test]
fn explain_of_nobody_or_of_no_day_says_what_there_is() {
    let practice = chosen();
    let nobody = practice.run(&["explain", "anna", "--json"]);
    assert_eq!((nobody.code, &nobody.json()["problems"][0]["rule"]), (2, &"unknown-name".into()));
    let no_day = practice.run(&["explain", "ana", "--visit", "2026-11-19", "--json"]);
    assert_eq!((no_day.code, &no_day.json()["problems"][0]["rule"]), (1, &"unknown-name".into()));
}

#[test]
fn several_steps_up_for_one_place_are_a_warning() {
    // Both act on the ankle, and both go up a rung between the visits (trade-figures 5.5: one thing at a time).
    let program = |rung: u32| {
        format!(
            "program = [{{ exercise = \"knee-to-wall\", side = \"right\", rung = {rung} }}, {{ exercise = \"calf-wall-stretch\", side = \"right\", rung = {rung} }}]\n"
        )
    };
    let first = ANA.replace("program = [{ exercise = \"knee-to-wall\", side = \"right\" }]\n", &program(1));
    let second = format!("\n[[visits]]\non = 2026-11-24\nscreening = {{ yes = [] }}\n{}", program(2));
    let practice = Practice::without_clients();
    practice.write("clients/ana.toml", format!("{first}{second}"));
    let report = practice.run(&["check", "--json"]).json();
    let problems = report["problems"].as_array().unwrap();
    assert!(problems.iter().any(|problem| problem["rule"] == "many-steps"), "{report:#}");
}

/// The rules of all problems that `explain` and `check` have with Ana's record.
fn told(record: &str) -> [Vec<String>; 2] {
    let practice = Practice::without_clients();
    practice.write("clients/ana.toml", record);
    [&["explain", "ana", "--json"][..], &["print", "--json"]].map(|arguments| {
        let report = practice.run(arguments).json();
        let problems = report["problems"].as_array().unwrap();
        problems.iter().filter_map(|problem| problem["rule"].as_str().map(str::to_owned)).collect()
    })
}

#[test]
fn a_retest_after_more_than_twelve_weeks_is_late() {
    // The first Monday after the visit is 23 November; twelve weeks later (trade-figures 5.7) it is 15 February.
    let next = |day: &str| ANA.replace("on = 2026-11-20", &format!("on = 2026-11-20\nnext = {day}"));
    assert_eq!(told(&next("2027-02-15")), [vec![], Vec::<String>::new()]);
    assert_eq!(told(&next("2027-02-16")), [["late-retest"], ["late-retest"]]);
}

#[test]
fn health_questions_of_an_earlier_visit_are_asked_again() {
    let second = "\n[[visits]]\non = 2026-11-24\nprogram = [{ exercise = \"knee-to-wall\", side = \"right\" }]\n";
    for told in told(&format!("{ANA}{second}")) {
        assert!(told.contains(&"stale-screening".to_owned()), "{told:?}");
    }
}

#[test]
fn a_program_that_the_tool_chose_is_printed() {
    let practice = chosen();
    let run = practice.run(&["print", "--json"]);
    assert_eq!((run.code, &run.json()["documents"][0]["state"]), (0, &"new".into()), "{}", run.out);
    assert_eq!(practice.run(&["print"]).out.trim(), "Nothing is due.");
}

#[test]
fn the_coachs_record_is_made_beside_the_handout_and_is_no_sheet() {
    let practice = chosen();
    let run = practice.run(&["print", "--what", "handout,record", "--json"]);
    assert_eq!(run.code, 0, "{}", run.out);
    let names: Vec<String> = practice.documents().into_iter().map(|(name, _)| name).collect();
    assert_eq!(names, ["ana/ana-2026-11-20-record.pdf", "ana/ana-sheet-01-handout.pdf"]);
    let ledger = practice.read("clients/ana.sheets.toml");
    assert!(!ledger.contains("record.pdf"), "{ledger}");
    // A client who must see someone first has a record too, without a program.
    practice.write("clients/ben.toml", ANA.replace("yes = []", "yes = [\"chest-pain\"]"));
    assert_eq!(practice.run(&["print", "ben", "--what", "record"]).code, 0);
}

#[test]
fn a_record_that_cannot_be_read_fails_each_document_once() {
    let practice = Practice::with_ana();
    practice.write("clients/ben.toml", "name = 3\n");
    let run = practice.run(&["print", "--what", "handout,record", "--json"]);
    let report = run.json();
    let states: Vec<_> = report["documents"].as_array().unwrap().iter().map(|made| made["state"].clone()).collect();
    assert_eq!(states, ["new", "new", "failed", "failed"], "{report:#}");
    let said = report["problems"].as_array().unwrap().iter().filter(|problem| problem["rule"] == "wrong-type").count();
    assert_eq!((run.code, said), (1, 1), "{report:#}");
}

#[test]
fn draw_writes_the_pictures_asked_for() {
    let practice = chosen();
    let out = practice.path("pictures");
    let folder = out.to_str().unwrap();
    let run = practice.run(&["draw", "calf-wall-stretch", "test-knee-to-wall", "--side", "left", "--out", folder]);
    assert_eq!(run.code, 0, "{}", run.err);
    let mut names: Vec<String> =
        fs::read_dir(&out).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    assert!(names.iter().all(|name| name.contains("-left-") && name.ends_with(".svg")), "{names:?}");
    let png = practice.run(&["draw", "calf-wall-stretch", "--format", "png", "--width", "120", "--out", folder]);
    assert_eq!(png.code, 0, "{}", png.err);
    let bytes = fs::read(out.join("calf-wall-stretch-right-1.png")).unwrap();
    assert_eq!(&bytes[..8], b"\x89PNG\r\n\x1a\n");
    let unknown = practice.run(&["draw", "calf-wal-stretch", "--json"]);
    assert_eq!((unknown.code, &unknown.json()["problems"][0]["rule"]), (2, &"unknown-name".into()));
}

#[test]
fn coverage_names_every_gap() {
    let practice = chosen();
    fs::remove_file(practice.path("exercises/switch-on/chin-nod.toml")).unwrap();
    fs::remove_file(practice.path("exercises/poses/chin-nod.toml")).unwrap();
    fs::remove_file(practice.path("exercises/switch-on/wall-chin-glide.toml")).unwrap();
    fs::remove_file(practice.path("exercises/poses/wall-chin-glide.toml")).unwrap();
    let report = practice.run(&["check", "--coverage", "--json"]).json();
    let gaps = report["coverage"]["gaps"].as_array().unwrap();
    let gap = gaps.iter().find(|gap| gap["structure"] == "deep-neck-flexors").expect("nothing is left for it");
    assert!(gap["limits"].as_array().unwrap().contains(&"no limit".into()), "{gap}");
}

#[test]
fn without_a_usual_range_the_sides_are_compared_in_words() {
    // 19 degrees between the sides is more than the MDC95 of the neck turn (trade-figures section 3: 7 degrees), and
    // Ana's age, by which its usual range goes, is not known.
    let practice = Practice::with_ana();
    practice.replace(
        "clients/ana.toml",
        "\"knee-to-wall\", left = 10, right = 6",
        "\"neck-turn\", left = 52, right = 71",
    );
    let sheet = practice.sheet();
    let finding = &sheet["findings"][0];
    let bands: Vec<&str> =
        finding["bar"]["lanes"].as_array().unwrap().iter().map(|lane| lane["band"].as_str().unwrap()).collect();
    assert_eq!(bands, ["does less", "does more"]);
    // Her one exercise is for the ankle, and a client would wonder.
    let said = finding["sentences"].to_string();
    assert!(said.contains("Your exercises work on other things first."), "{said}");
}
