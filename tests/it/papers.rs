//! Papers beside the handout: made of the sheet that was issued, or not needed, and said so.

use crate::practice::{ANA, Practice, Run};
use crate::reading_order::heard;

/// Each document with its sheet, pages and state.
fn papers(run: &Run) -> Vec<String> {
    run.json()["documents"]
        .as_array()
        .unwrap()
        .iter()
        .map(|made| {
            let of = |key: &str| made[key].as_str().unwrap_or_default().to_owned();
            format!("{} {} {} {}", of("document"), made["sheet"], made["pages"], of("state"))
        })
        .collect()
}

const SMALL: &str = "glance,cards,diary";

#[test]
fn papers_come_from_the_sheet_that_was_issued() {
    let practice = Practice::with_ana();
    let run = practice.run(&["print", "--what", "cards", "--json"]);
    assert_eq!((run.code, run.json()["problems"][0]["rule"].as_str()), (1, Some("ledger")), "{}", run.out);
    assert!(practice.documents().is_empty(), "no paper without a sheet");

    practice.run(&["print"]);
    let ledger = practice.read("clients/ana.sheets.toml");
    let run = practice.run(&["print", "--what", SMALL, "--json"]);
    assert_eq!(papers(&run), ["glance 1 1 new", "cards 1 1 new", "diary 1 1 new"], "{}", run.out);
    let names: Vec<String> = practice.documents().into_iter().map(|(name, _)| name).collect();
    assert!(names.contains(&"ana/ana-sheet-01-cards.pdf".to_owned()), "{names:?}");
    assert_eq!(practice.read("clients/ana.sheets.toml"), ledger, "papers are not in the ledger");
    let run = practice.run(&["print", "--what", SMALL, "--json"]);
    assert!(papers(&run).iter().all(|paper| paper.ends_with("not-due")), "the same bytes: {}", run.out);
}

#[test]
fn no_paper_contradicts_the_sheet_that_was_issued() {
    let practice = Practice::with_ana();
    practice.run(&["print", "--what", "handout,diary"]);
    practice.replace("clients/ana.toml", "right = 6", "right = 7");
    practice.replace("exercises/stretch/knee-to-wall.toml", "short = \"Knee to wall\"", "short = \"Wall knee\"");
    let run = practice.run(&["print", "--what", "diary", "--json"]);
    assert_eq!(papers(&run), ["diary 1 1 not-due"], "it still says what the sheet says: {}", run.out);
}

#[test]
fn a_client_who_is_sent_on_gets_a_letter_and_no_cards() {
    let practice = Practice::with_ana();
    practice.replace("clients/ana.toml", "yes = []", "yes = [\"leg-swollen\"]");
    let run = practice.run(&["print", "--what", "handout,cards,letter", "--json"]);
    assert_eq!(run.code, 0, "{}", run.out);
    assert_eq!(papers(&run), ["handout 1 1 new", "cards 1 null not-needed", "letter 1 1 new"]);
    assert!(run.json()["documents"][1]["why"].as_str().unwrap().contains("see someone first"));
}

#[test]
fn a_client_without_anything_to_refer_gets_no_letter() {
    let practice = Practice::with_ana();
    let run = practice.run(&["print", "--what", "letter"]);
    assert_eq!(
        (run.code, run.out.lines().next()),
        (0, Some("No letter for ana: this visit refers the client to nobody."))
    );
    // Questions that the coach has yet to ask are no reason to write to a doctor.
    practice.replace("clients/ana.toml", "screening = { yes = [] }\n", "");
    let run = practice.run(&["print", "--what", "letter", "--json"]);
    assert_eq!(papers(&run), ["letter null null not-needed"], "{}", run.out);
}

#[test]
fn each_open_referral_has_a_letter_of_its_own() {
    let practice = Practice::without_clients();
    let referral = |region: &str, closed: &str| {
        format!(
            "[[referrals]]\nregion = \"{region}\"\nto = \"Dr Lee\"\nwhy = \"Swollen.\"\non = 2026-11-10\n{closed}\n"
        )
    };
    let two = referral("ankle", "") + &referral("shoulder", "") + &referral("hip", "closed = 2026-11-12");
    practice.write("clients/ana.toml", ANA.replace("[[visits]]", &format!("{two}[[visits]]")));
    let run = practice.run(&["print", "--what", "letter", "--json"]);
    assert_eq!(papers(&run), ["letter null 2 new"], "the answered one needs none: {}", run.out);
}

#[test]
fn a_sheet_without_exercises_has_no_papers() {
    let practice = Practice::demo();
    std::fs::remove_file(practice.path("clients/yara-castellanos.sheets.toml")).unwrap();
    practice.run(&["print", "yara-castellanos"]);
    let run = practice.run(&["print", "yara-castellanos", "--what", SMALL, "--json"]);
    assert_eq!(run.code, 0);
    assert!(papers(&run).iter().all(|paper| paper.ends_with("null not-needed")), "{}", run.out);
}

#[test]
fn a_brand_colour_that_is_hard_to_read_is_refused_with_one_that_is_not() {
    let practice = Practice::with_ana();
    practice.replace("layouts/brand.toml", "#0b5a68", "#2a9d9a");
    let run = practice.run(&["check", "--json"]);
    assert_eq!(run.code, 2, "nothing can be printed: {}", run.out);
    let problem = &run.json()["problems"][0];
    assert_eq!((problem["rule"].as_str(), &problem["line"]), (Some("weak-contrast"), &7.into()), "{problem:#}");
    let help = problem["help"].as_str().unwrap();
    let near = help.split_whitespace().last().unwrap();
    practice.replace("layouts/brand.toml", "#2a9d9a", near);
    assert_eq!(practice.run(&["print"]).code, 0, "{near} passes");
}

#[test]
fn a_film_is_printed_as_a_code_and_as_its_address() {
    let practice = Practice::with_ana();
    let with = |address: &str| format!("short = \"Knee to wall\"\nvideo = \"{address}\"");
    let exercise = "exercises/stretch/knee-to-wall.toml";
    practice.replace(exercise, "short = \"Knee to wall\"", &with("https://film.ternandtide.example/knee-to-wall"));
    // The program itself refuses a sheet on which the address is missing.
    let run = practice.run(&["print", "--json"]);
    assert_eq!(run.code, 0, "{}", run.out);
    let practice = Practice::with_ana();
    practice.replace(exercise, "short = \"Knee to wall\"", &with("http://film.example/a"));
    let problems = practice.run(&["check", "--json"]).json()["problems"].clone();
    let bad = problems.as_array().unwrap().iter().find(|problem| problem["rule"] == "bad-value").unwrap();
    assert_eq!((bad["file"].as_str(), &bad["line"]), (Some(exercise), &4.into()), "{bad:#}");
}

#[test]
fn a_plan_without_its_cards_says_where_the_warnings_stand() {
    let practice = Practice::with_ana();
    practice.replace("clients/ana.toml", "side = \"right\" }", "side = \"right\", note = \"Bare feet.\" }");
    assert_eq!(practice.run(&["print", "--what", "handout,glance"]).code, 0);
    let plan = |sheet: &str| {
        let file = format!("{sheet}-glance.pdf");
        let (_, bytes) = practice.documents().into_iter().find(|(name, _)| name.ends_with(&file)).unwrap();
        heard(bytes).join("\n")
    };
    let heard = plan("01");
    assert!(heard.contains("First read the warnings on your sheet for: 1") && heard.contains("Bare feet."), "{heard}");
    // An exercise without warnings sends nobody anywhere.
    let exercise = practice.read("exercises/stretch/knee-to-wall.toml");
    let at = exercise.find("cautions = [").unwrap();
    let end = at + exercise[at..].find("]\n").unwrap() + 2;
    practice.write(
        "exercises/stretch/knee-to-wall.toml",
        format!("{}cautions = []\n{}", &exercise[..at], &exercise[end..]),
    );
    assert_eq!(practice.run(&["print", "--what", "handout,glance", "--renew"]).code, 0);
    assert!(!plan("02").contains("warnings on your sheet"));
}
