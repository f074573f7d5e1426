//! The module map of DEVELOPERS.md: a module imports only from earlier or shared ones, so no cycle fits.

use std::fs;
use std::path::Path;

/// Each module with the modules that it may import; a row names only rows above it.
const MAY_IMPORT: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("ids", &[]),
    ("body", &[]),
    ("memory", &[]),
    ("print", &[]),
    ("template", &["units"]),
    ("brand", &["ids", "print", "units"]),
    ("diag", &["ids"]),
    ("shape", &[]),
    ("mend", &["shape", "units"]),
    ("fields", &["diag", "ids", "shape"]),
    ("words", &["body", "diag", "fields", "template"]),
    ("draw", &["body", "brand", "ids", "print", "template", "words"]),
    ("plain", &["fields"]),
    ("library", &["body", "ids", "template", "units"]),
    ("record", &["body", "diag", "ids", "library", "print", "units"]),
    ("load", &["diag"]),
    (
        "check",
        &[
            "body", "brand", "diag", "draw", "fields", "ids", "library", "load", "plain", "print", "record", "shape",
            "template", "units", "words",
        ],
    ),
    ("starter", &["diag", "load"]),
    ("blank", &["ids", "library", "units"]),
    ("schema", &["check", "diag", "draw", "ids", "load", "shape", "starter"]),
    ("assess", &["body", "ids", "library", "record", "units"]),
    ("safety", &["body", "ids", "library", "record"]),
    ("retest", &["assess", "body", "ids", "library", "record", "units"]),
    ("coverage", &["ids", "library"]),
    ("plan", &["assess", "body", "diag", "ids", "library", "record", "retest", "safety", "units"]),
    (
        "word",
        &[
            "assess", "body", "brand", "diag", "ids", "library", "plan", "print", "record", "retest", "safety",
            "template", "units", "words",
        ],
    ),
    ("coherence", &["word"]),
    ("quality", &["brand", "plain", "print", "word"]),
    ("typeset", &["check", "diag", "ids", "template", "word"]),
    ("ledger", &["diag", "ids", "print"]),
    ("issued", &["ledger", "print"]),
    ("publish", &["diag", "ids", "issued", "ledger", "load"]),
    (
        "pipeline",
        &[
            "assess",
            "body",
            "check",
            "coherence",
            "coverage",
            "diag",
            "draw",
            "ids",
            "issued",
            "ledger",
            "library",
            "load",
            "plan",
            "print",
            "publish",
            "quality",
            "record",
            "safety",
            "template",
            "typeset",
            "word",
        ],
    ),
    (
        "cli",
        &[
            "blank", "body", "check", "coverage", "diag", "ids", "library", "load", "mend", "pipeline", "print",
            "publish", "quality", "schema", "starter", "template", "units", "word",
        ],
    ),
];

fn sources(path: &Path, found: &mut Vec<std::path::PathBuf>) {
    if path.is_dir() {
        for entry in fs::read_dir(path).unwrap() {
            sources(&entry.unwrap().path(), found);
        }
    } else if path.extension().is_some_and(|ending| ending == "rs") {
        found.push(path.to_owned());
    }
}

/// Whether a file is nothing but tests: `tests.rs`, or one in a folder `tests`.
fn holds_tests(file: &Path) -> bool {
    file.ends_with("tests.rs") || file.parent().is_some_and(|folder| folder.ends_with("tests"))
}

/// The part of a source that is not its tests.
fn without_tests(text: &str) -> &str {
    text.split("#[cfg(test)]").next().unwrap_or(text)
}

#[test]
fn a_module_imports_only_from_earlier_ones() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    for (row, (module, allowed)) in MAY_IMPORT.iter().enumerate() {
        for name in *allowed {
            assert!(
                MAY_IMPORT[..row].iter().any(|(earlier, _)| earlier == name),
                "`{module}` names `{name}`, which is not above it"
            );
        }
        let mut files = Vec::new();
        sources(&src.join(module), &mut files);
        files.push(src.join(format!("{module}.rs")));
        for file in files.iter().filter(|file| file.exists() && !holds_tests(file)) {
            let text = fs::read_to_string(file).unwrap();
            for found in without_tests(&text).split("crate::").skip(1) {
                let target: String = found.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
                let fine = target == *module || allowed.contains(&target.as_str());
                assert!(fine, "{}: `{module}` may not import `{target}`", file.display());
            }
        }
    }
}

#[test]
fn the_map_names_every_module() {
    let lib = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("src/lib.rs")).unwrap();
    for module in lib.lines().filter_map(|line| line.strip_prefix("pub mod ")?.strip_suffix(';')) {
        assert!(MAY_IMPORT.iter().any(|(name, _)| *name == module), "`{module}` is not on the map");
    }
}
