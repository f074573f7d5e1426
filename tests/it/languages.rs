//! Languages: overlays that say what their originals say, sheets that are wholly in one language, and what is said if not.

use crate::practice::{ANA, Practice};
use crate::reading_order::heard;

const CALF: &str = "exercises/stretch/calf-wall-stretch.es.toml";
const KNEE: &str = "exercises/tests/knee-to-wall.es.toml";
const POSE: &str = "exercises/poses/calf-wall-stretch.es.toml";

/// A practice that offers Spanish, with Ana, who wants it.
fn spanish() -> Practice {
    let practice = Practice::with_ana();
    let brand = practice.read("layouts/brand.toml");
    if !brand.contains("languages = ") {
        practice.replace("layouts/brand.toml", "language = \"en\"", "language = \"en\"\nlanguages = [\"en\", \"es\"]");
    }
    practice.write("clients/ana.toml", format!("language = \"es\"\n{ANA}"));
    practice
}

/// Changes one file of a practice that offers Spanish, and expects a complaint there, at the first `place` in it.
#[track_caller]
fn check(file: &str, from: &str, to: &str, rule: &str, place: &str, message: &str) {
    let practice = spanish();
    practice.replace(file, from, to);
    let text = practice.read(file);
    let before = &text[..text.find(place).expect("the place is in the file")];
    let line = before.matches('\n').count() as u64 + 1;
    // Printing reads as much as checking does, and is sooner done.
    let report = practice.run(&["print", "--json"]).json();
    let problems = report["problems"].as_array().unwrap();
    let found: Vec<_> = problems.iter().filter(|problem| problem["file"] == file && problem["rule"] == rule).collect();
    let says = |problem: &serde_json::Value| problem["message"].as_str().unwrap().contains(message);
    let right = found.iter().any(|problem| says(problem) && problem["line"] == line);
    assert!(right, "{file}: no {rule} on line {line} says “{message}”: {problems:#?}");
    assert!(found.iter().all(|problem| problem["help"].is_string()), "{found:#?}");
}

#[test]
fn an_overlay_has_the_keys_of_its_original() {
    check(CALF, "feel =", "feels =", "unknown-key", "feels =", "has no key `feels`");
    check(CALF, "slip =", "# slip =", "missing-key", "draft", "has no `slip`");
    check(KNEE, "id = \"arch-drops\"", "id = \"arch-falls\"", "unknown-name", "\"arch-falls\"", "no `arch-falls`");
    check(CALF, "draft = true", "draft = true\n[dose]\nsets = 3\n[x]", "unknown-key", "dose", "has no key `dose`");
}

#[test]
fn an_overlay_names_and_states_what_its_original_does() {
    let differs = "translation-differs";
    check(
        CALF,
        "pie {{ side }}, con",
        "pie, con",
        differs,
        "\"Dé un paso",
        "names nothing, but the original names side",
    );
    check(CALF, "rodilla {{ other_side_f }}", "rodilla", differs, "\"Doble despacio", "names other_side, side");
    check(KNEE, "pasa de 2 sobre 10", "pasa de 3 sobre 10", differs, "\"Sin zapatos", "states the figures 0, 10, 3");
    check(
        CALF,
        "  \"Mantenga la posición y siga respirando.\",\n",
        "",
        differs,
        "[\n",
        "has 4 texts, but the original has 5",
    );
    check(CALF, "[[rungs]]\nname = \"Paso largo\"", "[[pictures]]\nalt = \"Paso\"", differs, "draft", "2 `[[rungs]]`");
    check(CALF, "{{ side_f }}", "{{ side_x }}", "bad-template", "\"Doble despacio", "side_x");
}

#[test]
fn words_of_pictures_go_by_what_the_author_wrote() {
    check(
        POSE,
        "\"Front knee bends\"",
        "\"Front knee bend\"",
        "translation-differs",
        "\"Front knee bend\"",
        "no such text",
    );
    check(POSE, "\"Front knee bends\"", "\"Front knee bend\"", "missing-key", "[captions]", "“Front knee bends”");
}

#[test]
fn standing_texts_name_the_same_in_every_language() {
    let es = "layouts/words/es.toml";
    let differs = "translation-differs";
    check(
        es,
        "Para esto es el ejercicio {{ list }}",
        "Para esto es el ejercicio {{ liste }}",
        "bad-template",
        "works_on",
        "`other` does not",
    );
    check(es, "Vimos que {{ sign }}", "Vimos que {{ signo }}", differs, "seen =", "names `signo`");
    check(es, "Empiece el {{ date }}.", "Empiece.", differs, "starts =", "does not name `date`");
    check(es, "one = \"serie\", ", "", "missing-key", "{ other = \"series\" }", "has no `one`");
    check(es, "heel = \"el talón {{ side }}\"", "heel = \"el talón\"", "bad-template", "heel =", "must name the side");
    check(es, "heel = \"el talón {{ side }}\"", "heal = \"el talón {{ side }}\"", "unknown-key", "heal =", "`heal`");
    // The clock needs other gaps in each language.
    assert!(!spanish().run(&["print"]).err.contains("time_of_day"));
}

#[test]
fn what_is_not_there_or_not_wanted_is_said() {
    let practice = spanish();
    practice.write("exercises/stretch/calf-wall-stretch.fr.toml", practice.read(CALF));
    practice.write("exercises/stretch/calf-wal-stretch.es.toml", practice.read(CALF));
    std::fs::remove_file(practice.path(CALF)).unwrap();
    let report = practice.run(&["check", "--json"]).json();
    let has = |rule: &str, file: &str| {
        let mut problems = report["problems"].as_array().unwrap().iter();
        problems.any(|problem| problem["rule"] == rule && problem["file"] == file)
    };
    assert!(has("no-translation", "exercises/stretch/calf-wall-stretch.toml"), "{report:#}");
    assert!(has("unknown-name", "exercises/stretch/calf-wal-stretch.es.toml"), "{report:#}");
    assert!(has("unknown-name", "exercises/stretch/calf-wall-stretch.fr.toml"), "{report:#}");
    // Drafts are told of once a language, not once a file.
    let drafts = |problem: &&serde_json::Value| problem["rule"] == "draft-translation";
    assert_eq!(report["problems"].as_array().unwrap().iter().filter(drafts).count(), 1);
}

#[test]
fn a_language_must_be_offered() {
    let practice = spanish();
    practice.write("clients/ana.toml", format!("language = \"fr\"\n{ANA}"));
    let report = practice.run(&["print", "--json"]).json();
    let problems = report["problems"].as_array().unwrap();
    let told = problems.iter().find(|problem| problem["client"] == "ana").unwrap();
    assert_eq!((told["rule"].as_str(), told["line"].as_u64()), (Some("unknown-name"), Some(1)), "{told:#}");

    let practice = spanish();
    let brand = practice.read("layouts/brand.toml");
    practice.write("layouts/brand.toml", brand.replace("language = \"en\"", "language = \"de\""));
    let run = practice.run(&["check", "--json"]);
    assert_eq!(run.code, 2);
    assert!(run.out.contains("`languages` does not hold `de`"), "{}", run.out);
}

#[test]
fn a_sheet_without_its_translation_is_wholly_in_the_other_language_and_says_so_in_both() {
    let practice = spanish();
    std::fs::remove_file(practice.path(KNEE)).unwrap();
    assert_eq!(practice.run(&["print"]).code, 0);
    let sheet = practice.sheet();
    let said = |index: usize| {
        let said = &sheet["message"]["language"][index];
        (said["lang"].as_str().unwrap(), said["text"].as_str().unwrap())
    };
    assert!(matches!(said(0), ("es", text) if text.starts_with("Esta hoja no está en español")), "{sheet:#}");
    assert!(matches!(said(1), ("en", text) if text.starts_with("This sheet is not in español")), "{sheet:#}");
    assert_eq!((&sheet["doc"]["lang"], &sheet["labels"]["decimal"]), (&"en".into(), &".".into()));
    assert_eq!(sheet["message"]["greeting"], "Ana, this is your plan");
    assert!(!sheet["safety"]["know"].to_string().contains("ha leído aún"), "what is not a translation is no draft");
}

#[test]
fn a_sheet_in_spanish_is_wholly_in_spanish() {
    let practice = spanish();
    practice.replace("clients/ana.toml", "right = 6", "right = 6.5, right_signs = [\"heel-lifts\"]");
    assert_eq!(practice.run(&["print"]).code, 0);
    let sheet = practice.sheet();
    assert_eq!((&sheet["doc"]["lang"], &sheet["doc"]["region"]), (&"es".into(), &serde_json::Value::Null));
    assert_eq!(sheet["doc"]["date"], "20 de noviembre de 2026");
    assert_eq!(sheet["message"]["main"][0], "Haga en casa este ejercicio, por su cuenta.");
    assert!(sheet["message"]["language"].as_array().unwrap().is_empty());
    let finding = &sheet["findings"][0];
    assert_eq!(finding["title"], "Su tobillo derecho puede doblarse más");
    assert!(finding["sentences"].to_string().contains("Vimos que su talón derecho se levantó pronto."), "{finding:#}");
    assert_eq!(finding["bar"]["lanes"][1]["value"], "6,5\u{a0}cm", "a comma in every number");
    let card = &sheet["phases"][0]["exercises"][0];
    // Three quarters of 6.5 cm, rounded down to the half centimetre of the tape.
    assert!(card["steps"].to_string().contains("pie derecho a 4,5\u{a0}cm"), "{card:#}");
    assert!(card["steps"].to_string().contains("rodilla derecha"), "the side agrees with the knee: {card:#}");
    assert_eq!(card["dose"][0]["unit"], if card["dose"][0]["n"] == 1 { "serie" } else { "series" });
    let alt = card["frames"][0]["alt"].as_str().unwrap();
    assert!(alt.contains("derech") && !alt.contains("right"), "{alt}");
    let know = sheet["safety"]["know"].as_array().unwrap();
    assert!(
        know.last().unwrap().as_str().unwrap().starts_with("Falta que alguien de lengua española revise"),
        "{know:?}"
    );

    // Once all of its files have been read, a sheet no longer calls itself a draft; the coach's record stays English.
    for file in practice.files(".es.toml").into_iter().chain(["layouts/words/es.toml".to_owned()]) {
        practice.replace(&file, "draft = true", "draft = false");
    }
    assert!(!practice.sheet()["safety"]["know"].to_string().contains("ha leído aún"));
    assert!(!practice.run(&["print"]).err.contains("draft-translation"));
    let explained = practice.run(&["explain", "ana", "--json"]).out;
    assert!(explained.contains("Knee to wall") && !explained.contains("Rodilla"), "{explained}");
}

#[test]
fn the_page_that_sends_on_is_in_the_clients_language_too() {
    let practice = spanish();
    practice.replace("clients/ana.toml", "yes = []", "yes = [\"leg-swollen\"]");
    assert_eq!(practice.run(&["print"]).code, 0);
    let sheet = practice.sheet();
    assert_eq!(sheet["message"]["greeting"], "Ana, primero consulte, por favor");
    assert!(sheet["see"]["why"][0].as_str().unwrap().starts_with("Usted nos "), "{sheet:#}");
}

#[test]
fn a_practice_may_speak_another_language_than_its_library() {
    let practice = Practice::with_ana();
    let brand = practice.read("layouts/brand.toml");
    practice.write("layouts/brand.toml", brand.replace("language = \"en\"", "language = \"es\"\nwritten_in = \"en\""));
    assert_eq!(practice.sheet()["message"]["greeting"], "Ana, este es su plan");
}

#[test]
fn right_to_left_names_and_goals_keep_their_order_in_an_english_sheet() {
    let practice = Practice::without_clients();
    let text = ANA.replace("Ana Silva", "ליאת בן-דוד").replace("Climb the stairs with ease.", "أريد 3 طوابق (بلا ألم)!");
    practice.write("clients/ana.toml", text);
    let run = practice.run(&["print"]);
    assert_eq!(run.code, 0, "{}", run.err);
    let on = crate::practice::TODAY.parse().unwrap();
    let (typesetter, sheets) = kinleaf::pipeline::sheets(&practice.path(""), on).unwrap();
    let sheet: serde_json::Value = serde_json::from_slice(&sheets[0].1).unwrap();
    let facts = typesetter.facts("handout", &sheet).unwrap();
    let pieces = &facts.pages[0].pieces;
    let left = |text: &str| {
        let alone = pieces.iter().find(|piece| piece.text.trim() == text);
        let found = alone.or_else(|| pieces.iter().find(|piece| piece.text.contains(text)));
        found.unwrap_or_else(|| panic!("{text} is not on the page: {pieces:#?}")).left
    };
    // The greeting, the largest type of the page, runs from left to right, and starts with the name.
    let largest = |text: &str| {
        let found = pieces.iter().filter(|piece| piece.text.contains(text));
        found.max_by(|a, b| a.size.total_cmp(&b.size)).unwrap_or_else(|| panic!("{text} is not on the page"))
    };
    assert!(largest("ליאת").left < largest("this is your plan").left);
    // The goal runs from right to left: label, then the end of the goal, then back to its first word.
    let goal = ["Your goal", "!", "ألم", "بلا", "طوابق", "3", "أريد"].map(left);
    assert!(goal.is_sorted(), "{goal:?}");
}

/// What a listener hears of a document, by the end of its name.
fn hears(practice: &Practice, document: &str) -> String {
    let file = format!("{document}.pdf");
    let (_, bytes) = practice.documents().into_iter().find(|(name, _)| name.ends_with(&file)).expect("it was made");
    heard(bytes).join("\n")
}

#[test]
fn every_paper_of_a_draft_says_so() {
    let practice = spanish();
    let run = practice.run(&["print", "--what", "handout,glance,cards,diary,booklet"]);
    assert_eq!(run.code, 0, "{}", run.err);
    for document in ["handout", "glance", "cards", "diary", "booklet"] {
        let heard = hears(&practice, document);
        assert!(heard.contains("revise esta traducción"), "{document}: {heard}");
    }
    // Letters are in the language that the library is written in.
    let practice = Practice::with_ana();
    practice.replace("clients/ana.toml", "yes = []", "yes = [\"leg-swollen\"]");
    practice.run(&["print", "--what", "handout,letter"]);
    assert!(!hears(&practice, "letter").contains("Nobody who speaks"));
    let words = practice.read("layouts/words/en.toml");
    practice.write("layouts/words/en.toml", format!("draft = true\n{words}"));
    practice.run(&["print", "--what", "letter"]);
    assert!(hears(&practice, "letter").contains("Nobody who speaks this language well has read this text yet"));
}
