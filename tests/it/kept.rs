//! What was issued is kept: it comes back to the byte whatever has changed since, and in another look too.

use std::fs;

use crate::practice::{ANA, Practice, documents};
use crate::sheets::states;

/// Changes all that a sheet is made from, so that a new one would look and read otherwise.
fn change_everything(practice: &Practice) {
    practice.replace("layouts/brand.toml", "accent = \"#0b5a68\"", "accent = \"#5a0b3c\"");
    practice.replace("layouts/brand.toml", "Tern & Tide Movement Studio", "Tern & Tide");
    practice.replace("layouts/theme.typ", "body: 12pt", "body: 11.5pt");
    practice.replace("layouts/words/en.toml", "plan = \"Your plan\"", "plan = \"Your week\"");
    practice.replace("exercises/stretch/knee-to-wall.toml", "purpose = \"", "purpose = \"Just so. ");
    practice.replace("exercises/tests/knee-to-wall.toml", "name = \"Ankle bend\"", "name = \"Ankle lunge\"");
    let fonts = practice.path("layouts/fonts");
    let font = |weight: &str| fonts.join(format!("AtkinsonHyperlegibleNext_{weight}.ttf"));
    fs::copy(font("700Bold"), font("600SemiBold")).unwrap();
    fs::remove_file(practice.path("layouts/logo.svg")).unwrap();
    practice.replace("layouts/brand.toml", "logo = \"logo.svg\"\n", "");
    practice.replace("layouts/brand.toml", "logo_alt = \"a bird over a wave\"\n", "");
}

#[test]
fn every_sheet_of_the_demo_comes_back_to_the_byte_after_everything_has_changed() {
    let practice = Practice::demo();
    for file in fs::read_dir(practice.path("clients")).unwrap().map(|entry| entry.unwrap().path()) {
        if file.to_str().unwrap().ends_with(".sheets.toml") {
            fs::remove_file(file).unwrap();
        }
    }
    assert_eq!(practice.run(&["print"]).code, 0);
    let first = practice.documents();
    assert!(first.len() > 8);
    change_everything(&practice);
    let renewed = practice.run(&["print", "--renew", "--json"]);
    assert_eq!(renewed.code, 0, "{}", renewed.err);
    let changed = |name: &str| {
        let new = name.replace("sheet-01", "sheet-02");
        practice.documents().into_iter().find(|(other, _)| *other == new).unwrap().1
    };
    for (name, bytes) in &first {
        assert!(changed(name) != *bytes, "{name}: the change must show on a new sheet");
    }
    fs::remove_dir_all(practice.path("out")).unwrap();
    for which in [["--as-of", "2026-11-24"].as_slice(), &[]] {
        let run = practice.run(&[["print", "--json"].as_slice(), which].concat());
        assert_eq!(run.code, 0, "{}", run.out);
    }
    let again = practice.documents();
    for (name, bytes) in &first {
        let (_, same) = again.iter().find(|(other, _)| other == name).unwrap();
        assert!(same == bytes, "{name} changed");
    }
}

#[test]
fn again_needs_neither_record_nor_library_and_gives_the_old_bytes() {
    let practice = Practice::with_ana();
    practice.run(&["print"]);
    let first = practice.documents();
    change_everything(&practice);
    practice.write("clients/ana.toml", "name = 3\n");
    fs::remove_dir_all(practice.path("out")).unwrap();
    let run = practice.run(&["print", "--again", "--json"]);
    assert_eq!((run.code, states(&run)), (0, vec!["1 remade".to_owned()]), "{}", run.out);
    assert!(practice.documents() == first);
}

#[test]
fn another_look_of_an_old_sheet_is_made_from_what_was_kept() {
    let (old, new) = (Practice::with_ana(), Practice::with_ana());
    let look = ["print", "--again", "--paper", "letter", "--ink", "grey", "--type", "large"];
    for practice in [&old, &new] {
        practice.run(&["print"]);
    }
    change_everything(&new);
    for practice in [&old, &new] {
        assert_eq!(practice.run(&look).code, 0);
    }
    let name = "ana/ana-sheet-01-handout-letter-large-grey.pdf";
    let of = |practice: &Practice| practice.documents().into_iter().find(|(other, _)| other == name).unwrap().1;
    assert!(of(&old) == of(&new), "the look is new, the sheet is not");
    // From now on this look is in the ledger as well.
    fs::remove_dir_all(new.path("out")).unwrap();
    assert_eq!(states(&new.run(&["print", "--json"])), ["1 remade", "1 remade"]);
}

#[test]
fn what_is_gone_or_damaged_is_named_and_nothing_is_made_in_its_place() {
    let practice = Practice::with_ana();
    practice.run(&["print"]);
    fs::remove_dir_all(practice.path("out")).unwrap();
    let ledger = practice.read("clients/ana.sheets.toml");
    let kept = ledger.lines().find_map(|line| line.strip_prefix("kept = \"")?.strip_suffix('"')).unwrap().to_owned();
    let file = format!("clients/issued/{kept}");
    let whole = fs::read(practice.path(&file)).unwrap();
    practice.write(&file, &whole[..whole.len() / 2]);
    for _ in 0..2 {
        let run = practice.run(&["print", "--json"]);
        assert_eq!(run.code, 1);
        let problem = &run.json()["problems"][0];
        assert_eq!(problem["rule"], "changed-since-issue");
        assert!(problem["message"].as_str().unwrap().contains(&file), "{problem}");
        assert!(documents(&practice.path("out")).is_empty());
        let _ = fs::remove_file(practice.path(&file));
    }
    practice.write(&file, whole);
    assert_eq!(states(&practice.run(&["print", "--json"])), ["1 remade"]);
}

#[test]
fn sheets_share_what_they_have_in_common() {
    let practice = Practice::with_ana();
    practice.run(&["print"]);
    let kept = |practice: &Practice| {
        let files = fs::read_dir(practice.path("clients/issued")).unwrap();
        files.map(|file| file.unwrap().metadata().unwrap().len()).collect::<Vec<u64>>()
    };
    let before = kept(&practice);
    practice.write("clients/ben.toml", ANA.replace("Ana Silva", "Ben Adeyemi"));
    practice.run(&["print"]);
    let after = kept(&practice);
    assert_eq!(after.len(), before.len() + 1, "one more sheet, and nothing else");
    let grown = after.iter().sum::<u64>() - before.iter().sum::<u64>();
    assert!(grown < 12_000, "{grown} bytes for one more sheet");
}

#[test]
fn a_sheet_planned_anew_says_what_differs() {
    let practice = Practice::with_ana();
    practice.run(&["print"]);
    let run = practice.run(&["print", "--renew", "--json"]);
    assert_eq!(run.json()["documents"][0]["differs"], serde_json::json!(["nothing but its number"]));
    practice.replace(
        "clients/ana.toml",
        "program = [{ exercise = \"knee-to-wall\", side = \"right\" }]",
        "program = [{ exercise = \"knee-to-wall\", side = \"right\", rung = 2, dose = { days = 4 } }, { exercise = \"chair-squat\" }]",
    );
    practice.replace("exercises/stretch/knee-to-wall.toml", "purpose = \"", "purpose = \"Just so. ");
    practice.replace("exercises/tests/knee-to-wall.toml", "fine = \"Your", "fine = \"Both of your");
    let run = practice.run(&["print", "--renew"]);
    for line in [
        "ana sheet 3 differs from the one before:",
        "`knee-to-wall`: rung 2, was 1",
        "`knee-to-wall`: days 4, was",
        "the words of `knee-to-wall` have changed",
        "`chair-squat` (both) is new",
        "the words of the test `knee-to-wall` have changed",
    ] {
        assert!(run.out.contains(line), "{line}\n{}", run.out);
    }
    practice.replace("clients/ana.toml", ", { exercise = \"chair-squat\" }", "");
    assert!(practice.run(&["print", "--renew"]).out.contains("`chair-squat` (both) is out"));
    practice.replace("clients/ana.toml", "right = 6", "right = 6.5");
    let run = practice.run(&["print", "--renew"]);
    assert!(run.out.contains("the program is the same; other words or readings have changed"), "{}", run.out);
}
