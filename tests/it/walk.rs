//! A newcomer's walk: from nothing to a branded handout for a new client, with an exercise of the practice's own.

use std::fs;
use std::process::Command;

use crate::practice::{Practice, Run, TODAY, documents, run};

struct Walk {
    parent: tempfile::TempDir,
}

impl Walk {
    /// A new practice in a folder of its own.
    fn start() -> Self {
        let walk = Self { parent: tempfile::tempdir().unwrap() };
        let started = run(Command::new(env!("CARGO_BIN_EXE_kinleaf")).arg("start").arg(walk.path("")));
        assert_eq!(started.code, 0, "{}", started.err);
        walk
    }

    fn path(&self, inside: &str) -> std::path::PathBuf {
        self.parent.path().join("practice").join(inside)
    }

    fn run(&self, arguments: &[&str]) -> Run {
        run(Command::new(env!("CARGO_BIN_EXE_kinleaf"))
            .current_dir(self.path(""))
            .args(["--on", TODAY])
            .args(arguments)
            .stdin(std::process::Stdio::null()))
    }

    fn well(&self, arguments: &[&str]) -> Run {
        let run = self.run(arguments);
        assert_eq!(run.code, 0, "{arguments:?}: {}{}", run.out, run.err);
        run
    }

    fn edit(&self, inside: &str, changes: &[(&str, &str)]) {
        let mut text = fs::read_to_string(self.path(inside)).unwrap();
        for (from, to) in changes {
            assert!(text.contains(from), "{inside} does not hold {from}");
            text = text.replacen(from, to, 1);
        }
        fs::write(self.path(inside), text).unwrap();
    }
}

const NEW_EXERCISE: [&str; 13] = [
    "new",
    "exercise",
    "seated-arm-lift",
    "--phase",
    "switch-on",
    "--method",
    "load",
    "--structure",
    "shoulder-flexion",
    "--state",
    "weak",
    "--position",
    "sitting",
];

#[test]
fn from_nothing_to_a_branded_handout() {
    let walk = Walk::start();
    // The brand, with lines of one coach's own.
    let brand = [
        ("name = \"<Your practice>\"", "name = \"Quayside Practice\""),
        ("accent = \"#0b5a68\"", "accent = \"#7a1f3d\""),
        ("# privacy_line = \"...\"", "privacy_line = \"Nobody else reads your record.\""),
        ("phone = \"<Telephone>\"", "phone = \"01632 960 177\""),
        ("name = \"<Your name>\"", "name = \"Ida Brandt\""),
        ("call = \"<You>\"", "call = \"Ida\"\nscope_note = \"Ida is not a doctor.\""),
    ];
    walk.edit("layouts/brand.toml", &brand);
    // An exercise with its own pose.
    walk.well(&NEW_EXERCISE);
    let exercise = "exercises/switch-on/seated-arm-lift.toml";
    walk.edit(
        exercise,
        &[("purpose = \"<Helps", "purpose = \"Strengthens your arms and helps"), ("effect = 0", "effect = 0.4")],
    );
    // As long as its texts are those of the start, nobody is given it.
    assert!(walk.well(&["check"]).err.contains("warning[unfinished]"));
    let text = fs::read_to_string(walk.path(exercise)).unwrap();
    fs::write(walk.path(exercise), text.replace("\"<", "\"").replace(">\"", "\"")).unwrap();
    walk.edit(
        "exercises/poses/seated-arm-lift.toml",
        &[("flexion = 60", "flexion = 75"), ("\"Start\"", "\"Sit tall\"")],
    );
    assert!(walk.well(&["draw", "seated-arm-lift"]).out.contains("2 pictures"));
    // A client; until the health questions are asked there is no program.
    walk.well(&["new", "client", "sol", "--name", "Sol Abara", "--goal", "Climb every week."]);
    let sheet = |walk: &Walk| {
        let day = TODAY.parse().unwrap();
        let (_, sheets) = kinleaf::pipeline::sheets(&walk.path(""), day).unwrap_or_else(|found| panic!("{found:?}"));
        let (_, sheet) = sheets.into_iter().find(|(name, _)| name.starts_with("sol/")).expect("Sol has a sheet");
        String::from_utf8(sheet).unwrap()
    };
    assert!(!sheet(&walk).contains("Seated arm lift"));
    let record = [
        ("# screening = { yes = [] }", "screening = { yes = [] }"),
        ("# { test = \"knee-to-wall\"", "{ test = \"knee-to-wall\""),
        (
            "# program = [{ exercise = \"knee-to-wall\", side = \"right\" }]",
            "program = [{ exercise = \"seated-arm-lift\", because = \"For the long reach on the wall.\" }]",
        ),
    ];
    walk.edit("clients/sol.toml", &record);
    // Check, print.
    let check = walk.well(&["check"]);
    assert_eq!((check.out.as_str(), check.err.trim()), ("Nothing to complain of.\n", ""));
    walk.well(&["print", "sol"]);
    let made: Vec<String> = documents(&walk.path("out")).into_iter().map(|(name, _)| name).collect();
    assert_eq!(made, ["sol/sol-sheet-01-handout.pdf"]);
    let sheet = sheet(&walk);
    let words = [
        "Quayside Practice",
        "Seated arm lift",
        "Strengthens your arms",
        "Sit tall",
        "Climb every week.",
        "Nobody else reads your record.",
        "Ida is not a doctor.",
    ];
    for words in words {
        assert!(sheet.contains(words), "{words}");
    }
    assert!(walk.well(&["print", "sol"]).out.contains("Nothing is due."));
}

#[test]
fn nothing_is_overwritten() {
    let walk = Walk::start();
    let again = run(Command::new(env!("CARGO_BIN_EXE_kinleaf")).arg("start").arg(walk.path("")).arg("--json"));
    assert_eq!((again.code, &again.json()["problems"][0]["rule"]), (2, &"write".into()));
    let names: Vec<_> = fs::read_dir(walk.parent.path()).unwrap().collect();
    assert_eq!(names.len(), 1, "nothing is left beside it");
    walk.well(&NEW_EXERCISE);
    let again = walk.run(&[&NEW_EXERCISE[..], &["--json"]].concat());
    assert_eq!((again.code, &again.json()["problems"][0]["rule"]), (2, &"duplicate".into()));
    let client = ["new", "client", "lena-fisk", "--name", "Lena", "--goal", "Swim.", "--json"];
    let taken = walk.run(&client);
    assert_eq!((taken.code, &taken.json()["problems"][0]["file"]), (2, &"clients/lena-fisk.toml".into()));
    let test = ["new", "test", "grip", "--unit", "kg", "--structure", "calf", "--state", "weak", "--json"];
    assert_eq!(walk.run(&test).json()["problems"][0]["file"], "exercises/tests/grip.toml");
}

#[test]
fn what_is_missing_is_named() {
    let walk = Walk::start();
    let run = walk.run(&["new", "exercise", "heel-rock", "--json"]);
    let problem = run.json()["problems"][0].clone();
    assert_eq!((run.code, &problem["file"]), (2, &"--phase".into()), "{problem}");
    assert!(problem["help"].as_str().unwrap().contains("switch-on"), "{problem}");
    let run = walk.run(&["new", "client", "Ana Silva", "--json"]);
    assert_eq!(run.json()["problems"][0]["rule"], "bad-id");
}

#[test]
fn an_editor_is_offered_new_names() {
    let walk = Walk::start();
    walk.well(&NEW_EXERCISE);
    let schema: serde_json::Value =
        serde_json::from_str(&fs::read_to_string(walk.path(".schemas/client.json")).unwrap()).unwrap();
    let offered = schema["definitions"]["exercise"]["anyOf"][0]["enum"].as_array().unwrap();
    assert!(offered.contains(&"seated-arm-lift".into()));
}

#[test]
fn every_kind_of_name_is_listed() {
    let walk = Walk::start();
    let holds = [
        ("exercises", "knee-to-wall"),
        ("tests", "one-leg-stand"),
        ("questions", "chest-pain"),
        ("conditions", "osteoporosis"),
        ("activities", "rowing"),
        ("equipment", "mat"),
        ("positions", "half-kneeling"),
        ("structures", "ankle-dorsiflexion"),
        ("tags", "free-standing"),
        ("joints", "knee.flexion"),
        ("muscles", "abdominals"),
        ("places", "left.heel"),
    ];
    for (what, name) in holds {
        let report = walk.well(&["list", what, "--json"]).json();
        let names = report["names"].as_array().unwrap();
        assert!(names.iter().any(|row| row["name"] == name), "{what}: {report:#}");
    }
    let lines = walk.well(&["list", "questions"]).out;
    assert!(lines.lines().all(|line| line.starts_with("[ ] ")), "to be ticked: {lines}");
    // A whole arm from hanging to overhead is 180 degrees.
    let joints = walk.well(&["list", "joints"]).out;
    assert!(
        joints.lines().any(|line| line.starts_with("shoulder.flexion") && line.contains("180 overhead")),
        "{joints}"
    );
}

#[test]
fn a_further_visit_is_added_and_nothing_else_changes() {
    let practice = Practice::demo();
    let (file, day) = ("clients/edith-rowe.toml", "2026-12-21");
    let before = practice.read(file);
    let run = practice.run_on(day, &["new", "visit", "edith-rowe"]);
    assert_eq!(run.code, 0, "{}", run.err);
    let after = practice.read(file);
    let added = after.strip_prefix(&before).expect("what was there stays");
    assert!(
        added.contains("on = 2026-12-21\n") && added.contains("# { test = \"chair-stand\", value = 8 }"),
        "{added}"
    );
    // What was given last, to be filled in from the diary.
    assert!(
        added.contains("#   { exercise = \"heel-raise\", days = 0, discomfort = 0, felt = \"right\" },"),
        "{added}"
    );
    // It is a sound record as it stands, and with every mark taken away.
    let sound = |practice: &Practice| {
        let run = practice.run_on(day, &["check"]);
        assert_eq!(run.code, 0, "{}", run.err);
    };
    sound(&practice);
    let filled: String = added
        .lines()
        .map(|line| match line.trim_start().strip_prefix('#') {
            Some(text)
                if text.trim_start().starts_with(['{', ']']) || text.contains(" = [") || text.contains("{ yes") =>
            {
                format!("{text}\n")
            }
            _ => format!("{line}\n"),
        })
        .collect();
    practice.write(file, format!("{before}{filled}"));
    sound(&practice);
    let again = practice.run_on(day, &["new", "visit", "edith-rowe"]);
    assert!(again.code != 0 && again.err.contains("has a visit on 2026-12-21 or later already"), "{}", again.err);
    let nobody = practice.run(&["new", "visit", "edith-row"]);
    assert!(nobody.code != 0 && nobody.err.contains("did you mean `edith-rowe`?"), "{}", nobody.err);
    assert_eq!(practice.read(file), format!("{before}{filled}"));
}

#[test]
fn a_visit_is_added_with_the_lines_of_the_record() {
    let practice = Practice::demo();
    let file = "clients/edith-rowe.toml";
    let before = practice.read(file).trim_end().replace('\n', "\r\n");
    practice.write(file, &before);
    assert_eq!(practice.run_on("2026-12-21", &["new", "visit", "edith-rowe"]).code, 0);
    let after = practice.read(file);
    assert!(after.starts_with(&format!("{before}\r\n\r\n[[visits]]\r\n")), "{after}");
    assert!(!after.replace("\r\n", "").contains('\n'));
}
