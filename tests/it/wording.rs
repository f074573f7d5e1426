//! Plain words: the library and the standing texts as `kinleaf check` reads them.

use crate::practice::{Practice, demo, run};

/// The problems of one rule.
fn found(practice: &Practice, rule: &str) -> Vec<serde_json::Value> {
    let report = practice.run(&["check", "--json"]).json();
    let problems = report["problems"].as_array().unwrap();
    problems.iter().filter(|problem| problem["rule"] == rule).cloned().collect()
}

#[test]
fn the_demo_reads_easily() {
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_kinleaf"));
    let run = run(command.arg("--practice").arg(demo()).args(["--on", "2026-11-25", "check", "--json"]));
    let report = run.json();
    let hard: Vec<_> = report["problems"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|problem| ["wording", "hard-to-read", "unmeasured"].contains(&problem["rule"].as_str().unwrap()))
        .collect();
    assert!(hard.is_empty(), "{hard:#?}");
}

#[test]
fn a_hard_word_is_found_at_its_place_with_a_plain_one() {
    let practice = Practice::with_ana();
    let file = "exercises/put-to-use/chair-squat.toml";
    practice.replace(file, "Push your hips back and bend your knees slowly.", "Initiate hip flexion slowly.");
    let found = found(&practice, "wording");
    let line = practice.read(file).lines().position(|line| line.contains("Initiate")).unwrap() + 1;
    assert!(found.iter().all(|problem| problem["file"] == file && problem["line"] == line), "{found:#?}");
    let cures: Vec<_> = found.iter().map(|problem| problem["help"].as_str().unwrap()).collect();
    assert!(cures.contains(&"write “bending”") && cures.contains(&"write “start”"), "{cures:?}");
}
