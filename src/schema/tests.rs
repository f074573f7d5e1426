use super::*;

mod validate;

use validate::faults;

fn schemas() -> &'static BTreeMap<&'static str, Json> {
    static SCHEMAS: std::sync::OnceLock<BTreeMap<&'static str, Json>> = std::sync::OnceLock::new();
    SCHEMAS.get_or_init(|| all(Some(crate::testing::demo())).unwrap_or_else(|problems| panic!("{problems:?}")))
}

/// A TOML text as the JSON that an editor checks: dates are texts.
fn as_json(text: &str) -> Json {
    fn turn(value: toml::Value) -> Json {
        match value {
            toml::Value::String(text) => text.into(),
            toml::Value::Integer(number) => number.into(),
            toml::Value::Float(number) => number.into(),
            toml::Value::Boolean(yes) => yes.into(),
            toml::Value::Datetime(date) => date.to_string().into(),
            toml::Value::Array(items) => items.into_iter().map(turn).collect(),
            toml::Value::Table(table) => {
                Json::Object(table.into_iter().map(|(key, value)| (key, turn(value))).collect())
            }
        }
    }
    turn(toml::Value::Table(toml::from_str(text).expect("the text is TOML")))
}

/// Every text of the demo that has a schema, with its kind.
fn demo_files() -> Vec<(&'static str, String, String)> {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files: Vec<_> = starter::texts()
        .into_iter()
        .map(|(kind, entry)| (kind, entry.file.path.clone(), entry.file.text.clone()))
        .collect();
    for stem in &crate::testing::demo().clients {
        let path = format!("clients/{stem}.toml");
        files.push(("client", path.clone(), std::fs::read_to_string(root.join(path)).unwrap()));
    }
    files
}

#[test]
fn every_key_has_an_example() {
    let shapes = known().unwrap_or_else(|problems| {
        panic!("{}", problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))
    });
    let missing: Vec<String> = shapes.iter().flat_map(|(kind, shape)| shape.without_example(kind)).collect();
    assert_eq!(missing, Vec::<String>::new(), "add the keys to an example in src/schema");
}

#[test]
fn every_file_of_the_demo_fits_its_schema() {
    for (kind, path, text) in demo_files() {
        let found = faults(&schemas()[kind], &as_json(&text));
        assert_eq!(found, Vec::<String>::new(), "{path}");
    }
}

#[test]
fn every_file_of_the_demo_names_its_schema() {
    for (kind, path, text) in demo_files() {
        let named = text.lines().next().filter(|line| line.starts_with("#:schema"));
        assert_eq!(named, Some(reference(kind, &path).as_str()), "{path}: the first line names the schema");
    }
}

/// Slips that an editor can show: in a kind of file, a text is replaced, and what the schema finds holds the last text.
const SLIPS: &[(&str, &str, &str, &str)] = &[
    ("clients/ines-okafor.toml", "minutes_a_day", "minutes_per_day", "minutes_per_day"),
    ("clients/ines-okafor.toml", "minutes_a_day = 25", "minutes_a_day = 0", "minutes_a_day"),
    ("clients/ines-okafor.toml", "minutes_a_day = 25", "minutes_a_day = \"twenty\"", "minutes_a_day"),
    ("clients/ines-okafor.toml", "on = 2026-11-24\n", "", "`on`"),
    ("clients/ines-okafor.toml", "side = \"left\"", "side = \"lift\"", "side"),
    ("clients/ines-okafor.toml", "\"wall-slide\"", "\"Wall slide\"", "exercise"),
    ("clients/ines-okafor.toml", "goals = [\"", "goals = [7, \"", "goals[0]"),
    ("layouts/brand.toml", "paper = \"a4\"", "paper = \"a5\"", "paper"),
    ("layouts/brand.toml", "phone = ", "fone = ", "fone"),
    ("exercises/phases.toml", "purpose", "porpoise", "porpoise"),
    ("exercises/planning.toml", "cost = 0.06", "cost = 1.5", "cost"),
    ("exercises/planning.toml", "[steps_up]", "[step_up]", "step_up"),
    ("exercises/vocabulary.toml", "sided = false", "sided = \"no\"", "sided"),
    ("exercises/vocabulary.toml", "level = \"emergency\"", "level = \"urgent\"", "level"),
    ("exercises/tests/knee-to-wall.toml", "unit = \"cm\"", "unit = \"ells\"", "unit"),
    ("exercises/tests/knee-to-wall.toml", "mdc95 = 2\n", "", "`mdc95`"),
    ("exercises/stretch/knee-to-wall.toml", "state = \"stiff\"", "state = \"long\"", "state"),
    ("exercises/stretch/knee-to-wall.toml", "days = { min = 3", "days = { least = 3", "least"),
    ("exercises/stretch/knee-to-wall.toml", "short = \"Knee to wall\"", "short = \"Knee to the wall\"", "short"),
    ("exercises/poses/knee-to-wall.toml", "right.knee.flexion", "right.knee.bend", "bend"),
    ("exercises/poses/knee-to-wall.toml", "kind = \"wall\"", "kind = \"well\"", "kind"),
    ("exercises/poses/knee-to-wall.toml", "pose = \"back\"\n", "", "`pose`"),
    ("exercises/poses/knee-to-wall.toml", "site = \"right.knee\"", "site = \"knee\"", "site"),
    ("exercises/poses/tests/knee-to-wall.toml", "sign =", "sing =", "sing"),
    ("exercises/poses/library.toml", "both.hip.abduction", "hip.abduction", "hip"),
    ("layouts/words/en.toml", "[labels]", "[label]", "label"),
];

#[test]
fn slips_do_not_fit() {
    let files = demo_files();
    for (path, from, to, expected) in SLIPS {
        let (kind, _, text) = files.iter().find(|(_, found, _)| found == path).expect("the demo has this file");
        assert!(text.contains(from), "{path} does not hold {from}");
        let found = faults(&schemas()[kind], &as_json(&text.replacen(from, to, 1)));
        assert!(found.iter().any(|fault| fault.contains(expected)), "{path}: {from} -> {to}: {found:?}");
    }
}

#[test]
fn every_kind_of_file_has_slips() {
    for kind in schemas().keys() {
        assert!(SLIPS.iter().any(|(path, ..)| starter::kind(path) == Some(kind)), "{kind}");
    }
}

#[test]
fn names_of_the_practice_are_offered_and_newer_ones_are_let_pass() {
    let client = &schemas()["client"];
    let known = client["definitions"]["exercise"]["anyOf"][0]["enum"].as_array().unwrap();
    assert!(known.contains(&"knee-to-wall".into()));
    let (_, _, text) = demo_files().into_iter().find(|(_, path, _)| path == "clients/ines-okafor.toml").unwrap();
    let newer = text.replacen("\"wall-slide\"", "\"brand-new\"", 1);
    assert_eq!(faults(client, &as_json(&newer)), Vec::<String>::new());
}

#[test]
fn keys_come_with_a_word_on_them() {
    let goals = &schemas()["client"]["properties"]["goals"];
    assert_eq!(goals["description"], "one to three, in the client's own words");
}

/// The schemas beside the demo are those of this program; names change with every new entry and are left out.
#[test]
fn the_demo_holds_the_schemas() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(FOLDER);
    for (kind, schema) in schemas() {
        let without_names = |mut schema: Json| {
            schema.as_object_mut().unwrap().remove("definitions");
            schema
        };
        let text = std::fs::read_to_string(folder.join(format!("{kind}.json"))).unwrap_or_default();
        let held: Json = serde_json::from_str(&text).unwrap_or_else(|error| panic!("{kind}: {error}"));
        assert!(without_names(held) == without_names(schema.clone()), "{kind} is old: run `kinleaf schemas`");
    }
}
