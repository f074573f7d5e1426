//! Who holds a sheet whose texts the library has corrected since.

use crate::practice::{ANA, Practice};

const EXERCISE: &str = "exercises/stretch/knee-to-wall.toml";

fn rules(practice: &Practice, arguments: &[&str]) -> Vec<(String, String, String)> {
    let report = practice.run(&[arguments, &["--json"]].concat()).json();
    let problems = report["problems"].as_array().unwrap();
    let text = |problem: &serde_json::Value, key: &str| problem[key].as_str().unwrap_or_default().to_owned();
    let of = |problem: &serde_json::Value| (text(problem, "rule"), text(problem, "client"), text(problem, "message"));
    problems.iter().map(of).filter(|(rule, ..)| rule.ends_with("-text")).collect()
}

fn correct(practice: &Practice, urgent: bool) {
    practice.replace(EXERCISE, "purpose = \"", "purpose = \"Just so. ");
    let urgent = if urgent { "urgent = true\n" } else { "" };
    let text = practice.read(EXERCISE);
    practice.write(
        EXERCISE,
        format!("{text}\n[[corrections]]\non = 2026-11-22\nwhat = \"The knee was too far in.\"\n{urgent}"),
    );
}

#[test]
fn a_correction_lists_who_holds_the_old_text_until_it_is_printed_anew() {
    let practice = Practice::with_ana();
    practice.write(
        "clients/ben.toml",
        ANA.replace("exercise = \"knee-to-wall\", side = \"right\"", "exercise = \"chair-squat\""),
    );
    practice.run(&["print"]);
    assert!(rules(&practice, &["check", "--old-texts"]).is_empty());
    correct(&practice, false);
    assert!(rules(&practice, &["check"]).is_empty(), "only who asks is told");
    let told = rules(&practice, &["check", "--old-texts"]);
    assert_eq!(told.len(), 1, "Ben has another exercise: {told:?}");
    let (rule, client, message) = &told[0];
    assert_eq!((rule.as_str(), client.as_str()), ("old-text", "ana"));
    assert!(message.contains("`knee-to-wall`: The knee was too far in. (2026-11-22)"), "{message}");
    practice.run(&["print", "--renew", "ana"]);
    assert!(rules(&practice, &["check", "--old-texts"]).is_empty());
}

#[test]
fn a_correction_for_safety_is_an_error_until_the_new_sheet_is_out() {
    let practice = Practice::with_ana();
    practice.run(&["print"]);
    correct(&practice, true);
    let check = practice.run(&["check", "--json"]);
    assert_eq!(check.code, 1);
    assert_eq!(rules(&practice, &["check"])[0].0, "unsafe-text");
    assert_eq!(rules(&practice, &["print"])[0].0, "unsafe-text");
    practice.run(&["print", "--renew", "ana"]);
    assert!(rules(&practice, &["check", "--old-texts"]).is_empty());
    // A correction is no news for a sheet that was printed after it.
    assert!(rules(&practice, &["print"]).is_empty());
}

#[test]
fn a_sheet_that_does_not_say_what_it_holds_is_named_too() {
    let practice = Practice::with_ana();
    practice.run(&["print"]);
    let ledger = practice.read("clients/ana.sheets.toml");
    let old: Vec<&str> = ledger.lines().filter(|line| !line.starts_with("kept = ")).collect();
    practice.write("clients/ana.sheets.toml", old.join("\n"));
    assert!(rules(&practice, &["check", "--old-texts"]).is_empty(), "nothing was corrected");
    correct(&practice, false);
    let told = rules(&practice, &["check", "--old-texts"]);
    assert!(told[0].2.contains("of an older program"), "{told:?}");
}

#[test]
fn an_exercise_that_is_gone_is_an_old_text() {
    let practice = Practice::with_ana();
    practice.run(&["print"]);
    practice.replace("clients/ana.toml", "program = [{ exercise = \"knee-to-wall\", side = \"right\" }]\n", "");
    std::fs::remove_file(practice.path(EXERCISE)).unwrap();
    std::fs::remove_file(practice.path("exercises/poses/knee-to-wall.toml")).unwrap();
    let told = rules(&practice, &["check", "--old-texts"]);
    assert!(told.iter().any(|(_, _, message)| message.contains("does not have any more")), "{told:?}");
}
