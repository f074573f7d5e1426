//! The messages that the sources hold: their text literals, with gaps where something is filled in.

use std::fs;
use std::path::{Path, PathBuf};

use kinleaf::diag::{Problem, Rule};

use crate::practice::demo;

/// Where `kinleaf check` finds its words.
const SPEAKERS: [&str; 21] = [
    "src/check",
    "src/fields.rs",
    "src/load.rs",
    "src/words.rs",
    "src/draw/angle.rs",
    "src/draw/read.rs",
    "src/draw/read_picture.rs",
    "src/draw/read_prop.rs",
    "src/draw/library.rs",
    "src/draw/lint/mod.rs",
    "src/pipeline/coach.rs",
    "src/pipeline/gauge.rs",
    "src/pipeline/prepare.rs",
    "src/pipeline/old_texts.rs",
    "src/plan.rs",
    "src/plan/after.rs",
    "src/plan/finish.rs",
    "src/plan/fit.rs",
    "src/plan/select.rs",
    "src/plan/ways.rs",
    "src/plan/written.rs",
];

/// Texts that are no message, or that no file can provoke; each with the reason.
const SPARED: &[(&str, &str)] = &[
    ("each field is the text of the same key in layouts/words", "a lint's reason"),
    ("`{}` is not a day of the calendar", "the TOML parser refuses such a day first"),
    ("{} {{{{ side }}}}", "a template, built from what the file says"),
    ("The coach chose the rung.", "a reason in the coach's record"),
    ("A harder rung is not for this client now.", "a reason in the coach's record"),
    ("Set aside by {}: {}", "a reason in the coach's record"),
    ("order of work", "a name of a rule in the coach's record"),
    ("pin it, or take it out of `bans`", "a cure in the coach's record"),
    ("send the client on first, or pin it if someone has looked", "a cure in the coach's record"),
    ("choose what comes first as well", "a cure in the coach's record"),
    ("what is in the program is no near miss", "what never happens"),
    ("an open gate leads to a plan", "cannot happen"),
    ("a text for this record cannot be filled in: {error}", "standing texts are tried when they are read"),
    ("correct the text in layouts/words", "the cure of the same"),
];

/// One text of the sources.
pub struct Message {
    pub file: String,
    pub text: String,
    parts: Vec<String>,
}

impl Message {
    fn new(file: &str, text: String) -> Self {
        Self { file: file.to_owned(), parts: parts(&text), text }
    }

    /// Whether a problem says it: all its fixed parts, in order.
    pub fn is_in(&self, problem: &Problem) -> bool {
        let said = |text: &str| {
            if text.contains(&self.text) {
                return true;
            }
            let mut rest = text;
            self.parts.iter().all(|part| match rest.find(part.as_str()) {
                Some(at) => {
                    rest = &rest[at + part.len()..];
                    true
                }
                None => false,
            })
        };
        said(&problem.message) || problem.help.as_deref().is_some_and(said)
    }
}

/// Every text of at least three words that the speakers hold outside their tests.
pub fn messages() -> Vec<Message> {
    let mut files = Vec::new();
    for speaker in SPEAKERS {
        collect(&demo().join(speaker), &mut files);
    }
    files.sort();
    let mut messages = Vec::new();
    for file in files {
        let name = file.strip_prefix(demo()).unwrap().display().to_string();
        let source = fs::read_to_string(&file).unwrap();
        let source = source.split("#[cfg(test)]").next().unwrap_or_default();
        let texts = literals(source).into_iter().filter(|text| text.matches(' ').count() >= 2);
        messages.extend(
            texts.filter(|text| !SPARED.iter().any(|(spared, _)| spared == text)).map(|text| Message::new(&name, text)),
        );
    }
    messages
}

fn collect(path: &Path, files: &mut Vec<PathBuf>) {
    if path.is_dir() {
        for entry in fs::read_dir(path).unwrap() {
            collect(&entry.unwrap().path(), files);
        }
    } else if path.file_name().is_some_and(|name| name != "tests.rs") {
        files.push(path.to_owned());
    }
}

/// The fixed parts of a format string.
fn parts(text: &str) -> Vec<String> {
    let mut parts = vec![String::new()];
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        let last = parts.last_mut().expect("there is always one");
        match c {
            '{' if chars.peek() == Some(&'{') => last.extend(chars.next()),
            '}' if chars.peek() == Some(&'}') => last.extend(chars.next()),
            '{' => {
                for inner in chars.by_ref() {
                    if inner == '}' {
                        break;
                    }
                }
                parts.push(String::new());
            }
            _ => last.push(c),
        }
    }
    parts.into_iter().map(|part| part.trim().to_owned()).filter(|part| !part.is_empty()).collect()
}

/// The text literals of Rust source, as they read, without those of `expect`.
fn literals(source: &str) -> Vec<String> {
    let mut found = Vec::new();
    let chars: Vec<char> = source.chars().collect();
    let (mut i, mut before) = (0, String::new());
    while i < chars.len() {
        match chars[i] {
            '/' if chars.get(i + 1) == Some(&'/') => {
                while i < chars.len() && chars[i] != '\n' {
                    i += 1;
                }
            }
            // A character, not the start of a lifetime.
            '\'' if chars.get(i + 2) == Some(&'\'') => i += 3,
            '\'' if chars.get(i + 1) == Some(&'\\') => {
                i += 3;
                while chars.get(i - 1) != Some(&'\'') {
                    i += 1;
                }
            }
            '"' => {
                let mut text = String::new();
                i += 1;
                while chars[i] != '"' {
                    if chars[i] == '\\' {
                        i += 1;
                        match chars[i] {
                            'n' => text.push('\n'),
                            '\n' => {
                                while chars[i + 1].is_whitespace() {
                                    i += 1;
                                }
                            }
                            other => text.push(other),
                        }
                    } else {
                        text.push(chars[i]);
                    }
                    i += 1;
                }
                i += 1;
                if !before.trim_end().ends_with("expect(") {
                    found.push(text);
                }
                before.clear();
            }
            c => {
                before.push(c);
                i += 1;
            }
        }
    }
    found
}

/// Rules that only a unit test can provoke, with the file that holds it.
const BESIDE: &[(Rule, &str)] = &[(Rule::Panic, "src/typeset/mod.rs")];

/// Whether a rule is provoked by a unit test in its own file.
pub fn provoked_beside_the_code(rule: Rule) -> bool {
    BESIDE.iter().any(|(of, file)| {
        let source = fs::read_to_string(demo().join(file)).unwrap();
        let tests = source.split_once("#[cfg(test)]").map_or("", |(_, tests)| tests);
        *of == rule && tests.contains(&format!("Rule::{rule:?}"))
    })
}

#[test]
fn texts_are_found_in_sources() {
    let source = r#"// "no" 
    let a = 'x'; let b: &'static str = "one {a} two\" {{three}}"; let c = '"'; x.expect("never said here"); "four""#;
    assert_eq!(literals(source), ["one {a} two\" {{three}}", "four"]);
    assert_eq!(parts("one {a} two {{three}}"), ["one", "two {three}"]);
}
