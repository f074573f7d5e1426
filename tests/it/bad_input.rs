//! Bad input of every kind: one clear message with file, line, column and what to do; the other clients go on.

use std::fs;
use std::process::Command;

use crate::practice::{ANA, Practice, run};

/// Ben's record, which each case breaks.
fn ben() -> String {
    ANA.replace("Ana Silva", "Ben Adeyemi")
}

/// Breaks Ben's record by replacing `from` with `to`, prints, and expects one problem at the first `place` in the broken
/// record; Ana must not notice.
#[track_caller]
fn check(from: &str, to: &str, rule: &str, place: &str) {
    let practice = Practice::with_ana();
    let text = ben();
    assert!(text.contains(from), "the record does not hold {from}");
    let broken = text.replacen(from, to, 1);
    let before = &broken[..broken.find(place).expect("the place is in the broken record")];
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().map_or(0, |line| line.chars().count()) + 1;
    practice.write("clients/ben.toml", broken);
    expect(&practice, rule, "clients/ben.toml", Some((line as u64, column as u64)));
}

/// Prints and expects that Ana's sheet is made, Ben's is not, and the first problem is the one given.
#[track_caller]
fn expect(practice: &Practice, rule: &str, file: &str, at: Option<(u64, u64)>) {
    let run = practice.run(&["print", "--json"]);
    let report = run.json();
    let problem = &report["problems"][0];
    assert_eq!(problem["rule"], rule, "{report:#}");
    assert_eq!(problem["file"], file, "{report:#}");
    if let Some((line, column)) = at {
        assert_eq!((problem["line"].as_u64(), problem["column"].as_u64()), (Some(line), Some(column)), "{report:#}");
    }
    assert!(problem["help"].as_str().is_some_and(|help| !help.is_empty()), "says what to do: {report:#}");
    assert_eq!(run.code, 1, "{report:#}");
    let state = |index: usize| report["documents"][index]["state"].clone();
    assert_eq!((state(0), state(1)), ("new".into(), "failed".into()), "{report:#}");
    let made: Vec<String> = practice.documents().into_iter().map(|(name, _)| name).collect();
    assert_eq!(made, ["ana/ana-sheet-01-handout.pdf"]);
    assert!(!practice.path("clients/ben.sheets.toml").exists());
    // The check command says the same.
    let check = practice.run(&["check", "--json"]);
    if !matches!(rule, "no-glyph" | "layout") {
        assert_eq!(check.json()["problems"][0]["rule"], rule, "{}", check.out);
        assert_eq!(check.code, 1);
    }
}

#[test]
fn broken_toml() {
    check("name = \"Ben Adeyemi\"", "name = \"Ben Adeyemi", "syntax", "\ngoals");
    check("yes = []", "yes = [", "syntax", "}\nreadings");
}

#[test]
fn not_utf8() {
    let practice = Practice::with_ana();
    let mut bytes = ben().into_bytes();
    bytes[9] = 0xff;
    practice.write("clients/ben.toml", bytes);
    expect(&practice, "not-utf8", "clients/ben.toml", None);
}

#[test]
fn a_byte_order_mark_is_accepted() {
    let practice = Practice::without_clients();
    practice.write("clients/ana.toml", format!("\u{feff}{ANA}"));
    assert_eq!(practice.run(&["print"]).code, 0);
}

#[test]
fn keys() {
    check("minutes_a_day", "minutes_per_day", "missing-key", "name");
    check("goals", "goal = \"x\"\ngoals", "unknown-key", "goal =");
    check("on = 2026-11-20", "on = \"2026-11-20\"", "wrong-type", "\"2026");
    check("minutes_a_day = 20", "minutes_a_day = \"twenty\"", "wrong-type", "\"twenty");
    check("minutes_a_day = 20", "minutes_a_day = 0", "bad-value", "0\n");
}

#[test]
fn unknown_names() {
    check("exercise = \"knee-to-wall\"", "exercise = \"knee-to-wal\"", "unknown-name", "\"knee-to-wal\"");
    check("test = \"knee-to-wall\"", "test = \"knee-wall\"", "unknown-name", "\"knee-wall");
    check("side = \"right\"", "side = \"rihgt\"", "bad-value", "\"rihgt");
    check("[[visits]]", "equipment = [\"loopband\"]\n[[visits]]", "unknown-name", "\"loopband");
    check("[[visits]]", "[[conditions]]\ncondition = \"osteoporoses\"\n[[visits]]", "unknown-name", "\"osteoporoses");
    check("right = 6", "right = 6, left_signs = [\"heel-lift\"]", "bad-value", "\"heel-lift\"");
    check("side = \"right\"", "side = \"both\"", "bad-side", "\"both");
    let practice = Practice::with_ana();
    practice.replace(
        "exercises/tests/knee-to-wall.toml",
        "structure = \"ankle-dorsiflexion\"",
        "structure = \"ankle-dorsiflection\"",
    );
    let report = practice.run(&["check", "--json"]).json();
    assert_eq!(report["problems"][0]["rule"], "broken-name", "the client that uses it is told too");
    assert!(report["problems"].as_array().unwrap().iter().any(|problem| {
        problem["rule"] == "unknown-name" && problem["help"] == "did you mean `ankle-dorsiflexion`?"
    }));
}

#[test]
fn ids() {
    let practice = Practice::with_ana();
    practice.write("clients/Ana.toml", ben());
    let run = practice.run(&["print", "--json"]);
    assert_eq!(run.json()["problems"][0]["rule"], "bad-id");
    assert_eq!(practice.documents().len(), 1);

    let practice = Practice::with_ana();
    practice.write("clients/ben.adeyemi.toml", ben());
    assert_eq!(practice.run(&["print", "--json"]).json()["problems"][0]["rule"], "bad-id");

    for name in ["../ana", "a/b", "..", "anna"] {
        let run = Practice::with_ana().run(&["print", name, "--json"]);
        assert_eq!((run.code, run.json()["problems"][0]["rule"].as_str()), (2, Some("unknown-name")), "{name}");
    }

    let practice = Practice::with_ana();
    let twin = practice.read("exercises/stretch/knee-to-wall.toml");
    practice.write("exercises/switch-on/knee-to-wall.toml", twin);
    assert_eq!(practice.run(&["check", "--json"]).json()["problems"][0]["rule"], "duplicate");
}

#[test]
fn readings() {
    for absurd in ["nan", "inf", "-inf", "-4", "400"] {
        check("right = 6", &format!("right = {absurd}"), "bad-reading", &format!("{absurd} }}"));
    }
    check("right = 6", "right = \"3 deg\"", "bad-reading", "\"3 deg");
    check("right = 6", "right = \"3 ells\"", "bad-reading", "\"3 ells");
    check("right = 6", "right = \"six\"", "bad-reading", "\"six");
}

#[test]
fn dates() {
    check("on = 2026-11-20", "on = 2026-11-26", "bad-date", "2026-11-26");
    check(
        "[[visits]]",
        "[[visits]]\non = 2026-11-20\nscreening = { yes = [] }\n[[visits]]",
        "duplicate",
        "[[visits]]\non = 2026-11-20\nscreening = { yes = [] }\nreadings",
    );
    check("on = 2026-11-20", "on = 2026-11-20\nnext = 2026-11-19", "bad-date", "2026-11-19");
    check("on = 2026-11-20", "on = 2026-02-30", "syntax", "2026-02-30");
}

#[test]
fn doses() {
    check("side = \"right\"", "side = \"right\", dose = { reps = 200 }", "bad-dose", "200 }");
    check("side = \"right\"", "side = \"right\", dose = { lower_s = 3 }", "bad-dose", "3 } }");
    check("side = \"right\"", "side = \"right\", rung = 9", "bad-value", "9 }");
}

#[test]
fn safety_equipment_and_positions() {
    check(
        "exercise = \"knee-to-wall\", side = \"right\"",
        "exercise = \"chair-squat\" }, { exercise = \"chair-squat\"",
        "duplicate",
        "{ exercise = \"chair-squat\" }]",
    );
    check("[[visits]]", "no_equipment = [\"wall\"]\n[[visits]]", "no-equipment", "{ exercise");
    check("[[visits]]", "no_positions = [\"standing\"]\n[[visits]]", "no-position", "{ exercise");
    check(
        "[[visits]]",
        "[[conditions]]\ncondition = \"fracture-unhealed\"\nregion = \"ankle\"\ncleared = { by = \"Dr Lee\", on = 2026-11-27 }\n[[visits]]",
        "bad-date",
        "2026-11-27",
    );
}

#[test]
fn what_the_reasoning_reads() {
    let over =
        |of: &str| format!("[[overrides]]\n{of}\nby = \"maren\"\non = 2026-11-20\nwhy = \"Looked at.\"\n[[visits]]");
    check("[[visits]]", &over("question = \"chest-pain\""), "not-allowed", "\"chest-pain\"");
    let clot = "condition = \"dvt-suspected\"\nexercise = \"chair-squat\"";
    check("[[visits]]", &over(clot), "not-allowed", "\"dvt-suspected\"");
    check("[[visits]]", &over("question = \"chest-pane\""), "unknown-name", "\"chest-pane\"");
    check("yes = []", "yes = [], blood_pressure = \"96/184\"", "bad-reading", "\"96/184\"");
    check("yes = []", "yes = [], blood_pressure = \"high\"", "bad-reading", "\"high\"");
    let form = |on: &str| format!("yes = [], form = {{ name = \"Form\", on = {on}, sends_on = false }}");
    check("yes = []", &form("2026-11-26"), "bad-date", "2026-11-26");
    let referral = "[[referrals]]\nregion = \"ankle\"\nto = \"Dr Lee\"\nwhy = \"Swollen.\"\non = 2026-11-10\nclosed = 2026-11-09\n[[visits]]";
    check("[[visits]]", referral, "bad-date", "2026-11-09");
    check(
        "program = [",
        "pins = [{ exercise = \"chair-squat\" }]\nprogram = [",
        "bad-value",
        "[{ exercise = \"chair-squat\" }]",
    );
    let program = "program = [{ exercise = \"knee-to-wall\", side = \"right\" }]";
    check(program, "bans = [\"no-such\"]", "unknown-name", "\"no-such\"");
    check("screening", "sore = [{ region = \"ankel\" }]\nscreening", "unknown-name", "\"ankel\"");
    let sore = "sore = [{ region = \"ankle\", side = \"both\" }]\nscreening";
    check("screening", sore, "bad-value", "\"both\"");
}

#[test]
fn a_pin_that_safety_forbids_is_refused_with_the_rule() {
    // Osteoporosis leaves out what bends or turns the spine to its end.
    let pin = "pins = [{ exercise = \"side-lying-chest-turn\", side = \"left\" }]\n";
    let practice = Practice::with_ana();
    let record = ben()
        .replace("program = [{ exercise = \"knee-to-wall\", side = \"right\" }]\n", pin)
        .replace("[[visits]]", "[[conditions]]\ncondition = \"osteoporosis\"\n[[visits]]");
    practice.write("clients/ben.toml", record);
    expect(&practice, "not-allowed", "clients/ben.toml", None);
}

#[test]
fn more_exercises_than_anybody_keeps_up() {
    let squats = ["left", "right"].map(|side| format!("{{ exercise = \"knee-to-wall\", side = \"{side}\" }}"));
    let others = [
        "chair-squat",
        "slow-bridge",
        "chin-nod",
        "rib-breath",
        "worktop-march",
        "seated-hip-bend",
        "shoulder-lift-let-go",
    ];
    let all: Vec<String> =
        squats.into_iter().chain(others.map(|id| format!("{{ exercise = \"{id}\", side = \"both\" }}"))).collect();
    let program = format!("program = [{}]", all.join(", "));
    let record = ben().replace("program = [{ exercise = \"knee-to-wall\", side = \"right\" }]", &program);
    let practice = Practice::with_ana();
    practice.write("clients/ben.toml", record);
    expect(&practice, "too-many-exercises", "clients/ben.toml", None);
}

/// Replaces `from` by `to` all over one file of the library and expects the rule at that file from `check`.
#[track_caller]
fn check_library(file: &str, from: &str, to: &str, rule: &str) {
    let practice = Practice::with_ana();
    let text = practice.read(file);
    assert!(text.contains(from), "{file} does not hold {from}");
    practice.write(file, text.replace(from, to));
    let run = practice.run(&["check", "--json"]);
    let report = run.json();
    let problems = report["problems"].as_array().unwrap();
    let found = problems.iter().find(|problem| problem["file"] == file).unwrap_or_else(|| panic!("{report:#}"));
    assert_eq!(found["rule"], rule, "{report:#}");
    assert!(found["help"].as_str().is_some_and(|help| !help.is_empty()), "{report:#}");
    assert_ne!(run.code, 0);
}

#[test]
fn rules_of_planning_that_cannot_be() {
    let planning = "exercises/planning.toml";
    // What waits for something later waits for ever.
    check_library(planning, "phase = \"put-to-use\"", "phase = \"loosen\"", "bad-value");
    check_library(planning, "usual = 5", "usual = 9", "bad-value");
    check_library(planning, "cost = 0.06", "cost = 1.5", "bad-value");
    check_library(planning, "steps = 1", "steps = 0.5", "bad-value");
    check_library(planning, "states = [\"short\"", "states = [\"long\"", "bad-value");
    check_library(planning, "usual_weeks = 4", "usual_weeks = 2", "bad-value");
    check_library(planning, "[steps_up]", "[step_up]", "missing-key");
}

#[test]
fn what_tests_and_pictures_may_say() {
    check_library(
        "exercises/tests/neck-turn.toml",
        "motion = \"neck.rotation\"",
        "motion = \"neck.turn\"",
        "unknown-name",
    );
    check_library("exercises/tests/one-leg-stand.toml", "flag = \"falls\"", "flag = \"fall\"", "unknown-name");
    check_library(
        "exercises/poses/tests/knee-to-wall.toml",
        "sign = \"heel-lifts\"",
        "sign = \"heel-lift\"",
        "unknown-name",
    );
    check_library("exercises/poses/chair-squat.toml", "rungs = [1]", "rungs = [7]", "bad-pose");
    check_library("exercises/poses/seated-turn.toml", "rungs = [1]", "rungs = [2]", "bad-pose");
    // Squats are counted, not held: a stopwatch would have no seconds to show.
    check_library("exercises/poses/chair-squat.toml", "rungs = [1]", "rungs = [1]\nhold = true", "bad-pose");
    // The first rung stops at shoulder height: a picture of an arm over the head needs the tag of it.
    check_library("exercises/poses/wall-slide.toml", "rungs = [2]", "rungs = [1, 2]", "pose-tags");
}

#[test]
fn a_program_over_the_minutes_is_a_warning() {
    let practice = Practice::without_clients();
    practice.write("clients/ana.toml", ANA.replace("minutes_a_day = 20", "minutes_a_day = 1"));
    let run = practice.run(&["print", "--json"]);
    assert_eq!(run.code, 0);
    let problem = &run.json()["problems"][0];
    assert_eq!((&problem["rule"], &problem["severity"]), (&"over-time".into(), &"warning".into()));
}

/// Breaks an exercise that only Ben uses.
#[track_caller]
fn check_template(text: &str, rule: &str) {
    let practice = Practice::with_ana();
    practice.write("clients/ben.toml", ben().replace("exercise = \"knee-to-wall\"", "exercise = \"heel-raise\""));
    practice.replace("exercises/switch-on/heel-raise.toml", "feel = \"", &format!("feel = \"{text} "));
    let run = practice.run(&["print", "--json"]);
    let report = run.json();
    let own = report["problems"]
        .as_array()
        .unwrap()
        .iter()
        .find(|problem| problem["file"] == "exercises/switch-on/heel-raise.toml");
    assert_eq!(own.map(|problem| problem["rule"].clone()), Some(rule.into()), "{report:#}");
    assert_eq!(report["documents"][0]["state"], "new");
    assert_eq!(report["documents"][1]["state"], "failed");
}

#[test]
fn templates() {
    check_template("{{ sid }}", "bad-template");
    check_template("{{ side", "bad-template");
    check_template("{% for a in range(9999) %}{% for b in range(9999) %}x{% endfor %}{% endfor %}", "template-fuel");
}

#[test]
fn a_layout_with_an_error_stops_every_sheet_and_says_where() {
    let practice = Practice::with_ana();
    practice.replace("layouts/handout.typ", "#show: base", "#show: base\n#nothing-like-this");
    let run = practice.run(&["print", "--json"]);
    let problem = &run.json()["problems"][0];
    assert_eq!((run.code, &problem["rule"], &problem["file"]), (1, &"layout".into(), &"layouts/handout.typ".into()));
    let line = practice.read("layouts/handout.typ").lines().position(|line| line == "#nothing-like-this");
    assert_eq!(problem["line"], line.unwrap() + 1);
    assert!(practice.documents().is_empty());
}

#[test]
fn a_layout_that_drops_words_is_found_out() {
    let practice = Practice::with_ana();
    // A block inside a paragraph is dropped, text and all, with only a warning of the typesetter's.
    practice.replace("layouts/plan.typ", "par(m.sub) })", "par(block(m.sub)) })");
    let rules: Vec<String> = practice.run(&["print", "--json"]).json()["problems"]
        .as_array()
        .unwrap()
        .iter()
        .map(|p| p["rule"].as_str().unwrap().to_owned())
        .collect();
    assert!(rules.contains(&"typeset-warning".to_owned()), "{rules:?}");
    let practice = Practice::with_ana();
    practice.replace("layouts/plan.typ", "par(m.sub) })", "[] })");
    assert_eq!(practice.run(&["print", "--json"]).json()["problems"][0]["rule"], "lost-text");
    let practice = Practice::with_ana();
    practice.replace("layouts/plan.typ", "par(m.sub) })", "place(dx: 150mm, box(m.sub)) })");
    assert_eq!(practice.run(&["print", "--json"]).json()["problems"][0]["rule"], "off-page");
}

#[test]
fn markup_in_a_record_is_only_text() {
    let practice = Practice::with_ana();
    let goal = r##"#panic() $x$ *a* [b] \\ \" ' {{ side }} {% raw %} <b> @c `d` //e = f - g"##;
    practice.replace("clients/ana.toml", "Climb the stairs with ease.", goal);
    let run = practice.run(&["print"]);
    assert_eq!(run.code, 0, "{}", run.err);
}

#[test]
fn characters_without_a_glyph_are_named() {
    check("Climb the stairs", "Climb 🧗 the stairs", "no-glyph", "🧗");
    check("Ben Adeyemi", "Ben 안녕", "no-glyph", "안녕");
}

#[test]
fn texts_too_long_for_paper() {
    check("Climb the stairs with ease.", &"long ".repeat(2000), "too-long", "\"long");
    check("Ben Adeyemi", &"B".repeat(81), "too-long", "\"BBB");
    // Sixty characters fit.
    let practice = Practice::without_clients();
    let name = "Wilhelmina-Charlotte Montgomery-Featherstonehaugh Okonkwo-Lee";
    practice.write("clients/ana.toml", ANA.replace("Ana Silva", name));
    let run = practice.run(&["print"]);
    assert_eq!(run.code, 0, "{}", run.err);
}

/// Gives an exercise that only Ben uses a picture of its own.
#[track_caller]
fn check_picture(name: &str, picture: Option<&[u8]>) {
    let practice = Practice::with_ana();
    practice.write("clients/ben.toml", ben().replace("exercise = \"knee-to-wall\"", "exercise = \"heel-raise\""));
    practice.replace(
        "exercises/switch-on/heel-raise.toml",
        "[[effects]]",
        &format!("[[pictures]]\nfile = \"{name}\"\nalt = \"A raised heel.\"\n[[effects]]"),
    );
    if let Some(picture) = picture {
        practice.write(&format!("exercises/pictures/{name}"), picture);
    }
    let report = practice.run(&["print", "--json"]).json();
    assert!(
        report["problems"].as_array().unwrap().iter().any(|problem| problem["rule"] == "bad-picture"),
        "{report:#}"
    );
    assert_eq!((&report["documents"][0]["state"], &report["documents"][1]["state"]), (&"new".into(), &"failed".into()));
}

#[test]
fn pictures() {
    check_picture("heel.svg", None);
    check_picture("heel.png", Some(b"not a picture"));
    check_picture("heel.svg", Some(b"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 9 9'><image href='http://x.example/a.png' width='9' height='9'/></svg>"));
    check_picture(
        "heel.svg",
        Some(b"<!DOCTYPE svg [<!ENTITY a 'aa'>]><svg xmlns='http://www.w3.org/2000/svg'>&a;</svg>"),
    );
    check_picture("heel.svg", Some(&vec![b' '; 21 << 20]));
    // A sound one is printed, and its alternative text is in the file.
    let practice = Practice::with_ana();
    practice.replace(
        "exercises/stretch/knee-to-wall.toml",
        "[[effects]]",
        "[[pictures]]\nfile = \"wall.svg\"\nalt = \"The {{ side }} knee touches a wall.\"\n[[effects]]",
    );
    practice.write("exercises/pictures/wall.svg", "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 40 60' width='40' height='60'><path d='M5 55h30V5'/></svg>");
    let run = practice.run(&["print"]);
    assert_eq!(run.code, 0, "{}", run.err);
}

#[cfg(unix)]
#[test]
fn links_out_of_the_practice_are_not_followed() {
    let practice = Practice::with_ana();
    let outside = tempfile::tempdir().unwrap();
    fs::write(outside.path().join("ben.toml"), ben()).unwrap();
    std::os::unix::fs::symlink(outside.path().join("ben.toml"), practice.path("clients/ben.toml")).unwrap();
    expect(&practice, "outside-practice", "clients/ben.toml", None);
}

#[cfg(unix)]
#[test]
fn a_record_without_permission_stops_its_client_only() {
    use std::os::unix::fs::PermissionsExt;
    use std::os::unix::process::CommandExt;
    let practice = Practice::with_ana();
    practice.write("clients/ben.toml", ben());
    let set =
        |path: &str, mode: u32| fs::set_permissions(practice.path(path), fs::Permissions::from_mode(mode)).unwrap();
    set("clients/ben.toml", 0o000);
    let mut command = Command::new(env!("CARGO_BIN_EXE_kinleaf"));
    // To root nothing is forbidden: it runs the program as somebody else.
    let root = fs::read(practice.path("clients/ben.toml")).is_ok();
    if root {
        let program = practice.path("kinleaf");
        fs::copy(env!("CARGO_BIN_EXE_kinleaf"), &program).unwrap();
        set("", 0o777);
        set("clients", 0o777);
        command = Command::new(program);
        command.uid(65534).gid(65534);
    }
    let run = run(command.arg("--practice").arg(practice.path("")).args(["--on", "2026-11-25", "print", "--json"]));
    let report = run.json();
    assert_eq!(
        (&report["problems"][0]["rule"], &report["problems"][0]["file"]),
        (&"unreadable".into(), &"clients/ben.toml".into()),
        "{report:#}"
    );
    assert_eq!((run.code, &report["documents"][0]["state"]), (1, &"new".into()));
}

#[test]
fn a_folder_for_documents_that_cannot_be_used() {
    let practice = Practice::with_ana();
    practice.write("out", "a file where a folder should be");
    let run = practice.run(&["print", "--json"]);
    assert_eq!((run.code, run.json()["problems"][0]["rule"].as_str()), (2, Some("write")));
    assert_eq!(practice.read("out"), "a file where a folder should be");
    assert!(!practice.path("clients/ana.sheets.toml").exists());
}

#[cfg(target_os = "linux")]
#[test]
fn documents_may_lie_on_another_file_system() {
    let practice = Practice::with_ana();
    let elsewhere = tempfile::tempdir_in("/dev/shm").unwrap();
    let run = practice.run(&["print", "--out", elsewhere.path().to_str().unwrap()]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert_eq!(crate::practice::documents(elsewhere.path()).len(), 1);
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_leaves_nothing_half_written() {
    let practice = Practice::with_ana();
    let disk = practice.path("disk");
    fs::create_dir(&disk).unwrap();
    // A file system of 16 kB, in a name space of the test's own; where that is not allowed a limit on the size of files
    // stands for it, which the program meets as an error of the same kind.
    let script = format!(
        "mount -t tmpfs -o size=16k none {disk} && exec {program} --practice {practice} --on 2026-11-25 print --json --out {disk}",
        disk = disk.display(),
        program = env!("CARGO_BIN_EXE_kinleaf"),
        practice = practice.path("").display(),
    );
    let run = run(Command::new("unshare").args(["--mount", "--map-root-user", "sh", "-c", &script]));
    let report = run.json();
    assert_eq!((run.code, &report["problems"][0]["rule"]), (1, &"write".into()), "{report:#} {}", run.err);
    assert_eq!(report["problems"][0]["message"], "the disk is full");
    assert!(!practice.path("clients/ana.sheets.toml").exists(), "the ledger names only what is safe on disk");
}

#[test]
fn an_empty_practice() {
    let practice = Practice::without_clients();
    let run = practice.run(&["print", "--json"]);
    assert_eq!((run.code, run.json()["problems"][0]["rule"].as_str()), (2, Some("no-practice")));
    let empty = tempfile::tempdir().unwrap();
    let run = crate::practice::run(
        Command::new(env!("CARGO_BIN_EXE_kinleaf")).arg("--practice").arg(empty.path()).args(["print", "--json"]),
    );
    let report = run.json();
    assert_eq!(run.code, 2);
    assert!(
        report["problems"].as_array().unwrap().iter().all(|problem| problem["rule"] == "no-practice"),
        "{report:#}"
    );
    let run = crate::practice::run(Command::new(env!("CARGO_BIN_EXE_kinleaf")).args([
        "--practice",
        "/nowhere/at/all",
        "check",
        "--json",
    ]));
    assert_eq!((run.code, run.json()["problems"][0]["rule"].as_str()), (2, Some("no-practice")));
}

#[test]
fn messages_for_people() {
    let practice = Practice::with_ana();
    practice.write(
        "clients/ben.toml",
        ben()
            .replace("minutes_a_day", "minutes_per_day")
            .replace("right = 6", "right = 400")
            .replace("exercise = \"knee-to-wall\"", "exercise = \"knee-to-wal\""),
    );
    let run = practice.run(&["print", "ben"]);
    insta::assert_snapshot!(run.err);
}

#[test]
fn what_happened_since_the_last_visit() {
    let first = "program = [{ exercise = \"knee-to-wall\", side = \"right\" }]\n";
    let second = |keys: &str| format!("{first}\n[[visits]]\non = 2026-11-24\nscreening = {{ yes = [] }}\n{keys}\n");
    let good = "{ exercise = \"knee-to-wall\", days = 3, discomfort = 2, felt = \"easy\" }";
    // There is no last program at the first visit.
    check(first, &format!("{first}diary = [{good}]\n"), "bad-value", "{ exercise = \"knee-to-wall\", days");
    let cases = [
        (good.replace("days = 3", "days = 5"), "bad-value", "{ exercise = \"knee-to-wall\", days"),
        (good.replace("discomfort = 2", "discomfort = 11"), "bad-value", "11, felt"),
        (good.replace("\"easy\"", "\"nice\""), "bad-value", "\"nice\""),
        (good.replace("knee-to-wall", "chair-squat"), "unknown-name", "{ exercise = \"chair-squat\", days"),
        (
            format!("{good}, {good}"),
            "duplicate",
            "{ exercise = \"knee-to-wall\", days = 3, discomfort = 2, felt = \"easy\" }]",
        ),
        (good.replace("days = 3, ", ""), "missing-key", "{ exercise = \"knee-to-wall\", discomfort"),
    ];
    for (entry, rule, place) in cases {
        check(first, &second(&format!("diary = [{entry}]")), rule, place);
    }
    let ruling = "decisions = [{ exercise = \"knee-to-wall\", do = \"hold\" }]";
    check(first, &second(ruling), "missing-key", "{ exercise = \"knee-to-wall\", do");
    let add = "decisions = [{ exercise = \"knee-to-wall\", do = \"add\", why = \"Because.\" }]";
    check(first, &second(add), "bad-value", "\"add\"");
    let event = "events = [{ on = 2027-01-01, what = \"A fall.\" }]";
    check(first, &second(event), "bad-date", "2027");
}
