//! What `kinleaf check` writes besides its words: SARIF for build servers, and files that it has mended.

use std::fs;
use std::process::Command;

use serde_json::Value as Json;

use super::Small;
use crate::practice::{Run, TODAY, run};

fn check(small: &Small, options: &[&str]) -> Run {
    run(Command::new(env!("CARGO_BIN_EXE_kinleaf"))
        .arg("--practice")
        .arg(small.root())
        .args(["--on", TODAY, "check"])
        .args(options))
}

#[test]
fn problems_stand_in_a_file_for_build_servers() {
    let small = Small::new();
    small.replace("clients/ana.toml", "minutes_a_day = 20", "minutes_a_day = 0");
    let file = small.root().join("reports/check.sarif");
    let run = check(&small, &["--sarif", file.to_str().unwrap()]);
    assert_eq!(run.code, 1, "{}", run.err);
    assert!(run.err.starts_with("== clients/ana.toml: 1 error\n"), "{}", run.err);
    assert_eq!(run.out, "1 error.\n");
    let log: Json = serde_json::from_str(&fs::read_to_string(&file).unwrap()).unwrap();
    let result = &log["runs"][0]["results"][0];
    assert_eq!((&result["ruleId"], &result["level"]), (&"bad-value".into(), &"error".into()));
    let place = &result["locations"][0]["physicalLocation"];
    assert_eq!(place["artifactLocation"]["uri"], "clients/ana.toml");
    assert_eq!((&place["region"]["startLine"], &place["region"]["startColumn"]), (&5.into(), &17.into()));
}

#[test]
fn a_sound_practice_has_an_empty_log() {
    let small = Small::new();
    let file = small.root().join("check.sarif");
    assert_eq!(check(&small, &["--sarif", file.to_str().unwrap()]).code, 0);
    let log: Json = serde_json::from_str(&fs::read_to_string(&file).unwrap()).unwrap();
    assert_eq!(log["runs"][0]["results"], serde_json::json!([]));
}

#[test]
fn what_is_mechanical_is_mended_and_told() {
    let small = Small::new();
    small.replace("clients/ana.toml", "left = 10, right = 6", "right = \"2.5INCH\", left = 10");
    small.replace("exercises/phases.toml", "name = \"Loosen\"", "name = \"Loosen\"   # first");
    small.replace("layouts/brand.toml", "units = \"metric\"\n", "units = \"metric\"  \n");
    let before = fs::metadata(small.root().join("layouts/brand.toml")).unwrap().permissions();
    let run = check(&small, &["--fix"]);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    assert_eq!(
        run.out,
        "clients/ana.toml: keys put in order, units written as usual.\n\
         layouts/brand.toml: spaces at the ends of lines taken out.\n\
         Nothing to complain of.\n"
    );
    let record = fs::read_to_string(small.root().join("clients/ana.toml")).unwrap();
    assert!(record.contains("{ test = \"knee-to-wall\", left = 10, right = \"2.5 in\" }"), "{record}");
    let after = fs::metadata(small.root().join("layouts/brand.toml")).unwrap().permissions();
    assert_eq!(before, after, "who may read a file stays as it was");
    assert!(check(&small, &["--fix"]).out.starts_with("Nothing to complain of."), "once is enough");
}
