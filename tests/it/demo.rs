//! The demo practice: every sheet can be made, again and again, to the byte.

use std::fs;

use crate::practice::{Practice, demo, documents};

#[test]
fn the_demo_has_nothing_to_complain_of_but_its_draft_translations() {
    let run = Practice::demo().run(&["check", "--json"]);
    assert_eq!(run.code, 0, "{}", run.out);
    let report = run.json();
    let rules: Vec<&str> =
        report["problems"].as_array().unwrap().iter().map(|problem| problem["rule"].as_str().unwrap()).collect();
    assert_eq!(rules, ["draft-translation"], "{report:#}");
}

#[test]
fn the_committed_ledgers_can_be_made_again_to_the_byte() {
    let practice = Practice::demo();
    let ledgers = |of: &Practice| -> Vec<(String, String)> {
        let mut found: Vec<(String, String)> = fs::read_dir(of.path("clients"))
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .filter(|name| name.ends_with(".sheets.toml"))
            .map(|name| (name.clone(), of.read(&format!("clients/{name}"))))
            .collect();
        found.sort();
        found
    };
    let before = ledgers(&practice);
    let names = fs::read_dir(demo().join("clients")).unwrap().map(|entry| entry.unwrap().file_name());
    let files = names.filter(|name| name.to_str().unwrap().ends_with(".toml")).count();
    let records = files - before.len();
    assert_eq!(before.len(), records, "every demo client has a ledger");
    let run = practice.run(&["print", "--json"]);
    assert_eq!(run.code, 0, "{}", run.out);
    let report = run.json();
    let documents = report["documents"].as_array().unwrap();
    assert!(documents.len() > records, "the retest has two sheets");
    // The program itself refuses a sheet whose hash differs from the ledger's: "remade" means that it did not.
    assert!(documents.iter().all(|made| made["state"] == "remade"), "{report:#}");
    assert_eq!(ledgers(&practice), before, "nothing was issued anew");

    let again = practice.run(&["print"]);
    assert_eq!((again.code, again.out.trim()), (0, "Nothing is due."));
}

#[test]
fn order_and_jobs_do_not_change_a_byte() {
    let (one, many) = (Practice::demo(), Practice::demo());
    assert_eq!(one.run(&["print", "--jobs", "1"]).code, 0);
    for client in ["yara-castellanos", "ines-okafor", "bram-lindqvist"] {
        assert_eq!(many.run(&["print", client]).code, 0);
    }
    assert_eq!(many.run(&["print", "--jobs", "7"]).code, 0);
    assert!(!one.documents().is_empty());
    assert!(one.documents() == many.documents(), "two runs differ");
}

#[test]
fn every_look_of_every_sheet_and_every_paper_can_be_made() {
    let practice = Practice::demo();
    for (paper, size, ink) in [
        ("a4", "normal", "grey"),
        ("letter", "normal", "saver"),
        ("a4", "large", "colour"),
        ("letter", "large", "saver"),
    ] {
        let run = practice.run(&["print", "--paper", paper, "--type", size, "--ink", ink, "--again"]);
        assert_eq!(run.code, 0, "{paper} {size} {ink}: {}", run.err);
    }
    for (paper, size) in [("a4", "normal"), ("letter", "normal"), ("a4", "large")] {
        let run =
            practice.run(&["print", "--what", "glance,cards,diary,booklet,letter", "--paper", paper, "--type", size]);
        assert_eq!(run.code, 0, "{paper} {size}: {}", run.err);
    }
    // Each client's sheet has now been made in five looks, or four where one of them is the client's own.
    let names: Vec<String> = practice.documents().into_iter().map(|(name, _)| name).collect();
    assert!(
        names.iter().any(|name| name == "ines-okafor/ines-okafor-sheet-01-handout-letter-large-saver.pdf"),
        "{names:?}"
    );
}

#[test]
fn no_file_name_holds_a_name_and_the_folder_is_private() {
    let practice = Practice::demo();
    practice.run(&["print", "oksana-melnyk"]);
    let found = documents(&practice.path("out"));
    assert_eq!(found.len(), 1);
    assert!(found[0].0.is_ascii());
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = |inside: &str| fs::metadata(practice.path(inside)).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode("out/oksana-melnyk"), 0o700);
        assert_eq!(mode(&format!("out/{}", found[0].0)), 0o600);
    }
}

#[test]
fn the_slow_part_that_a_dose_counts_is_named_in_a_step() {
    let practice = Practice::demo();
    let mut counted = 0;
    for file in practice.files(".toml") {
        let translated = file.replace(".toml", ".es.toml");
        let read = |file: &str| toml::from_str::<toml::Table>(&practice.read(file)).unwrap();
        let exercise = read(&file);
        if exercise.get("dose").is_none_or(|dose| dose.get("lower_s").is_none()) || file.contains("/planning") {
            continue;
        }
        counted += 1;
        let steps = |exercise: &toml::Table| exercise["steps"].to_string();
        assert!(steps(&exercise).contains("slowly"), "{file}: {}", steps(&exercise));
        assert!(steps(&read(&translated)).contains("despacio"), "{translated}");
    }
    assert!(counted > 20, "{counted}");
}
