//! Sheets and their ledger: what is due, what is made again, and what is refused.

use crate::practice::{ANA, Practice};

/// Number and state of each document of a report.
pub fn states(run: &crate::practice::Run) -> Vec<String> {
    run.json()["documents"]
        .as_array()
        .unwrap()
        .iter()
        .map(|made| format!("{} {}", made["sheet"], made["state"].as_str().unwrap()))
        .collect()
}

#[test]
fn a_sheet_is_issued_once_and_then_not_due() {
    let practice = Practice::with_ana();
    assert_eq!(states(&practice.run(&["print", "--json"])), ["1 new"]);
    assert_eq!(states(&practice.run(&["print", "--json"])), ["1 not-due"]);
}

#[test]
fn a_sheet_whose_file_is_gone_is_made_again_to_the_byte() {
    let practice = Practice::with_ana();
    practice.run(&["print"]);
    let first = practice.documents();
    std::fs::remove_dir_all(practice.path("out")).unwrap();
    assert_eq!(states(&practice.run(&["print", "--json"])), ["1 remade"]);
    assert!(practice.documents() == first);
}

#[test]
fn a_sheet_never_changes_silently() {
    let practice = Practice::with_ana();
    practice.run(&["print"]);
    practice.replace("clients/ana.toml", "right = 6", "right = 7");
    // The file is there: it stays, and the coach is told.
    let run = practice.run(&["print", "--json"]);
    assert_eq!((run.code, states(&run)), (0, vec!["1 not-due".to_owned()]));
    assert_eq!(run.json()["problems"][0]["rule"], "moved-on");
    let (first, out) = (practice.documents(), practice.path("out"));
    // The file is gone: it comes back as it was issued.
    std::fs::remove_dir_all(&out).unwrap();
    assert_eq!(states(&practice.run(&["print", "--json"])), ["1 remade"]);
    assert!(practice.documents() == first);
    // Of a sheet of an older program nothing is kept: it can no longer be made, and nothing is made in its place.
    std::fs::remove_dir_all(&out).unwrap();
    let ledger = practice.read("clients/ana.sheets.toml");
    let old: Vec<&str> = ledger.lines().filter(|line| !line.starts_with("kept = ")).collect();
    practice.write("clients/ana.sheets.toml", old.join("\n"));
    let run = practice.run(&["print", "--json"]);
    assert_eq!((run.code, states(&run)), (1, vec!["1 failed".to_owned()]));
    assert_eq!(run.json()["problems"][0]["rule"], "changed-since-issue");
    assert!(practice.documents().is_empty());
    // A new sheet is a new number.
    assert_eq!(states(&practice.run(&["print", "--renew", "--json"])), ["2 new"]);
}

#[test]
fn a_later_visit_is_a_new_sheet_and_the_old_one_stays() {
    let practice = Practice::with_ana();
    practice.run(&["print"]);
    let later = ANA.replace("[[visits]]", "[[visits]]\non = 2026-11-24\nscreening = { yes = [] }\nreadings = [{ test = \"knee-to-wall\", left = 10, right = 8.5 }]\nprogram = [{ exercise = \"heel-raise\", side = \"right\" }]\n\n[[visits]]");
    practice.write("clients/ana.toml", later);
    assert_eq!(states(&practice.run(&["print", "--json"])), ["1 not-due", "2 new"]);
    assert_eq!(states(&practice.run(&["print", "--as-of", "2026-11-21", "--json"])), ["1 remade"]);
    assert_eq!(states(&practice.run(&["print", "--again", "--json"])), ["2 remade"]);
    let run = practice.run(&["print", "--as-of", "2026-11-01", "--json"]);
    assert_eq!((run.code, run.json()["problems"][0]["rule"].as_str()), (1, Some("ledger")));
}

#[test]
fn a_document_that_was_changed_by_hand_is_not_overwritten() {
    let practice = Practice::with_ana();
    practice.run(&["print"]);
    let name = "out/ana/ana-sheet-01-handout.pdf";
    practice.write(name, "notes of the coach");
    let run = practice.run(&["print", "--json"]);
    assert_eq!(run.code, 1);
    assert_eq!(run.json()["problems"][0]["rule"], "changed-since-issue");
    assert_eq!(practice.read(name), "notes of the coach");
}

#[test]
fn a_ledger_that_was_changed_by_hand_stops_its_client_only() {
    let practice = Practice::with_ana();
    practice.write("clients/ben.toml", ANA.replace("Ana Silva", "Ben Adeyemi"));
    practice.run(&["print"]);
    practice.write("clients/ana.sheets.toml", "[[sheets]]\nnumber = \"one\"\n");
    let run = practice.run(&["print", "--json"]);
    assert_eq!(run.code, 1);
    let report = run.json();
    assert_eq!(report["problems"][0]["rule"], "ledger");
    assert_eq!(report["problems"][0]["file"], "clients/ana.sheets.toml");
    assert_eq!(report["documents"][1]["state"], "not-due");
    assert_eq!(
        practice.read("clients/ana.sheets.toml"),
        "[[sheets]]\nnumber = \"one\"\n",
        "nothing of the user's is lost"
    );
}

#[test]
fn safety_stops_the_program_and_says_whom_to_see() {
    let practice = Practice::with_ana();
    practice.replace("clients/ana.toml", "yes = []", "yes = [\"saddle-numbness\"]");
    let run = practice.run(&["print", "--json"]);
    assert_eq!((run.code, &run.json()["documents"][0]["pages"]), (0, &1.into()), "{}", run.out);
    // Unanswered questions count as not cleared.
    let unasked = Practice::with_ana();
    unasked.replace("clients/ana.toml", "screening = { yes = [] }\n", "");
    let run = unasked.run(&["print", "--json"]);
    assert_eq!(run.json()["documents"][0]["pages"], 1, "a page that sends on, and no plan: {}", run.out);
}

#[test]
fn an_exercise_that_a_condition_forbids_is_refused_with_the_rule() {
    let practice = Practice::with_ana();
    practice.replace("clients/ana.toml", "[[visits]]", "[[conditions]]\ncondition = \"dvt-past\"\n\n[[visits]]");
    practice.replace(
        "clients/ana.toml",
        "exercise = \"knee-to-wall\", side = \"right\"",
        "exercise = \"calf-roll\", side = \"right\"",
    );
    let run = practice.run(&["print", "--json"]);
    assert_eq!(run.code, 1);
    let problem = &run.json()["problems"][0];
    assert_eq!(problem["rule"], "not-allowed");
    assert_eq!((&problem["line"], &problem["file"]), (&12.into(), &"clients/ana.toml".into()));
    assert!(practice.documents().is_empty());
}

#[test]
fn completions_and_manual_come_from_the_arguments() {
    let practice = Practice::without_clients();
    assert!(practice.run(&["completions", "bash"]).out.contains("--as-of"));
    assert!(practice.run(&["manual"]).out.contains("kinleaf"));
}

#[test]
fn a_further_look_of_two_sheets_loses_neither_from_the_ledger() {
    let practice = Practice::demo();
    assert_eq!(practice.run(&["print", "kofi-mensah"]).code, 0);
    let letter = practice.run(&["print", "kofi-mensah", "--paper", "letter", "--json"]);
    assert_eq!((letter.code, states(&letter)), (0, ["1 new", "2 new", "3 new"].map(str::to_owned).to_vec()));
    // Each of the six documents is known, so each can be made again.
    std::fs::remove_dir_all(practice.path("out")).unwrap();
    let all = practice.run(&["print", "kofi-mensah", "--json"]);
    assert_eq!(states(&all), ["1 remade", "1 remade", "2 remade", "2 remade", "3 remade", "3 remade"]);
}

#[test]
fn a_pose_that_has_changed_is_told_and_one_that_no_body_can_take_is_not_printed() {
    let practice = Practice::with_ana();
    assert_eq!(practice.run(&["print"]).code, 0);
    let poses = "exercises/poses/knee-to-wall.toml";
    practice.replace(poses, "view = [-98, 6]", "view = [-94, 6]");
    let run = practice.run(&["print", "--json"]);
    let problem = &run.json()["problems"][0];
    assert_eq!((run.code, &problem["rule"]), (0, &"moved-on".into()), "{}", run.out);
    assert!(problem["message"].as_str().unwrap().starts_with("pictures have changed since sheet 1"), "{problem}");
    // Nothing that is seen changes with a comment.
    practice.replace(poses, "view = [-94, 6]", "# from the right\nview = [-98, 6]");
    assert_eq!(practice.run(&["print"]).out.trim(), "Nothing is due.");

    practice.replace(poses, "right.knee.flexion = 32", "right.knee.flexion = 200");
    let run = practice.run(&["print", "--renew", "--json"]);
    let rules: Vec<String> = run.json()["problems"]
        .as_array()
        .unwrap()
        .iter()
        .map(|problem| problem["rule"].as_str().unwrap().to_owned())
        .collect();
    assert_eq!(run.code, 1, "{}", run.out);
    assert!(rules.contains(&"bad-pose".to_owned()) && rules.contains(&"broken-name".to_owned()), "{rules:?}");
    assert_eq!(practice.documents().len(), 1, "no second sheet");
}
