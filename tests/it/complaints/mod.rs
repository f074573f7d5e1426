//! Every rule and every message of `kinleaf check` is provoked here, and nothing can be added without a case: the rules
//! are walked over, and the messages are taken from the sources.

mod deeper;
mod doubts;
mod edits;
mod missing;
mod report;
mod sources;
mod translated;

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

use jiff::civil::Date;
use kinleaf::check::{check, check_client, wording};
use kinleaf::diag::{Problem, Rule};
use kinleaf::ids::{ClientId, Id};
use kinleaf::load::{load, text};
use kinleaf::pipeline::{Depth, Order, Which, check_all, explain, print};
use kinleaf::print::{What, Wishes};

use crate::practice::demo;

/// A record with a little of everything.
const ANA: &str = include_str!("ana.toml");

/// The day on which the cases run.
const TODAY: Date = Date::constant(2026, 11, 25);

/// The files that the small practice takes from the demo's library.
const SMALL: [&str; 19] = [
    "layouts/brand.toml",
    "layouts/logo.svg",
    "layouts/words/en.toml",
    "layouts/quality/en.toml",
    "exercises/vocabulary.toml",
    "exercises/phases.toml",
    "exercises/planning.toml",
    "exercises/stretch/knee-to-wall.toml",
    "exercises/put-to-use/chair-squat.toml",
    "exercises/tests/knee-to-wall.toml",
    "exercises/tests/bend-and-lift-look.toml",
    "exercises/tests/neck-turn.toml",
    "exercises/tests/one-leg-stand.toml",
    "exercises/poses/library.toml",
    "exercises/poses/knee-to-wall.toml",
    "exercises/poses/chair-squat.toml",
    "exercises/poses/tests/knee-to-wall.toml",
    "exercises/poses/tests/neck-turn.toml",
    "exercises/poses/tests/one-leg-stand.toml",
];

/// How far a case has to be carried to be noticed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Through {
    /// Reading files.
    Files,
    /// Planning for Ana.
    Plan,
    /// All of `kinleaf check`, with the slow looks at every picture.
    Check,
    /// Printing.
    Print(Which),
}

/// A small practice that is sound, for a case to break.
struct Small {
    folder: tempfile::TempDir,
}

impl Small {
    fn new() -> Self {
        let small = Self { folder: tempfile::tempdir().unwrap() };
        for file in SMALL {
            small.write(file, fs::read(demo().join(file)).unwrap());
        }
        small.replace("layouts/brand.toml", "languages = [\"en\", \"es\"]\n", "");
        small.write("clients/ana.toml", ANA);
        small
    }

    /// Offered in Spanish too, with a translation of every file.
    fn translated() -> Self {
        let small = Self::new();
        small.write("layouts/brand.toml", fs::read(demo().join("layouts/brand.toml")).unwrap());
        for file in SMALL {
            let overlay = if file.ends_with("/en.toml") {
                file.replace("/en.toml", "/es.toml")
            } else {
                file.replace(".toml", ".es.toml")
            };
            if let Ok(text) = fs::read(demo().join(&overlay)) {
                small.write(&overlay, text);
            }
        }
        small
    }

    /// Adds all that printing needs.
    fn add_layouts(&self) {
        for folder in ["layouts", "layouts/fonts"] {
            for entry in fs::read_dir(demo().join(folder)).unwrap().map(|entry| entry.unwrap()) {
                let name = entry.file_name().into_string().unwrap();
                // The brand is there, in one language.
                if entry.file_type().unwrap().is_file() && !name.starts_with("brand.") {
                    self.write(&format!("{folder}/{name}"), fs::read(entry.path()).unwrap());
                }
            }
        }
    }

    fn root(&self) -> &Path {
        self.folder.path()
    }

    /// Where a file belongs, its folder made.
    fn made(&self, inside: &str) -> PathBuf {
        let path = self.root().join(inside);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        path
    }

    fn write(&self, inside: &str, bytes: impl AsRef<[u8]>) {
        fs::write(self.made(inside), bytes).unwrap();
    }

    fn replace(&self, inside: &str, from: &str, to: &str) {
        let text = fs::read_to_string(self.root().join(inside)).unwrap();
        assert!(text.contains(from), "{inside} does not hold {from}");
        self.write(inside, text.replacen(from, to, 1));
    }

    fn problems(&self, through: Through) -> Vec<Problem> {
        match through {
            Through::Files => self.read(),
            Through::Plan => match explain(self.root(), "ana", None, TODAY) {
                Ok((_, problems)) | Err(problems) => problems,
            },
            Through::Check => match check_all(self.root(), TODAY, 1, Depth { on_paper: false, old_texts: true }) {
                Ok(outcome) => outcome.problems,
                Err(problems) => problems,
            },
            Through::Print(which) => self.print(which),
        }
    }

    /// Load and check, without the slow looks at drawn pictures.
    fn read(&self) -> Vec<Problem> {
        let (files, mut problems) = load(self.root());
        let (practice, found) = check(files);
        problems.extend(found);
        let Some(practice) = practice else {
            return problems;
        };
        // What is slow to look at is not looked at for cases that have shown by now.
        if problems.is_empty() {
            problems.extend(wording(&practice));
        }
        for stem in &practice.clients {
            let Ok(id) = ClientId::new(stem) else { continue };
            match text(self.root(), &format!("clients/{stem}.toml")) {
                Ok(Some(file)) => problems.extend(check_client(&practice, &id, &file, TODAY).err().unwrap_or_default()),
                Ok(None) => {}
                Err(found) => problems.extend(found),
            }
        }
        problems
    }

    fn print(&self, which: Which) -> Vec<Problem> {
        let order = Order {
            practice: self.root().to_owned(),
            out: self.root().join("out"),
            clients: Vec::new(),
            which,
            what: BTreeSet::from([What::Handout]),
            wishes: Wishes::default(),
            on: TODAY,
            jobs: 1,
            quality: false,
        };
        match print(&order, &|_, _| {}) {
            Ok(outcome) => outcome.problems,
            Err(problems) => problems,
        }
    }
}

/// Whether a problem says `part`, in its message or in its help.
fn says(problem: &Problem, part: &str) -> bool {
    problem.message.contains(part) || problem.help.as_ref().is_some_and(|help| help.contains(part))
}

/// What a case breaks.
type Break = Box<dyn Fn(&Small) + Send>;

/// What came of the cases: the problems of all, and the cases that went wrong.
#[derive(Default)]
struct Outcome {
    problems: Vec<Problem>,
    wrong: Vec<String>,
}

impl Outcome {
    /// One of a case's problems must say what it expects, and every one must say what to do.
    fn judge(&mut self, problems: Vec<Problem>, expected: &str) {
        let shown = || problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n");
        if !problems.iter().any(|problem| says(problem, expected)) {
            self.wrong.push(format!("nothing says `{expected}`, but:\n{}", shown()));
        }
        if problems.iter().any(|problem| problem.help.as_ref().is_none_or(String::is_empty)) {
            self.wrong.push(format!("a problem does not say what to do:\n{}", shown()));
        }
        self.problems.extend(problems);
    }
}

/// The practice to break, how far a case has to be carried, what to break, and what must be said then.
type Case = (fn() -> Small, Through, Break, &'static str);

fn cases() -> Vec<Case> {
    fn edits(edits: &'static [edits::Edit], practice: fn() -> Small) -> impl Iterator<Item = Case> {
        edits.iter().map(move |&(file, from, to, expected)| {
            let breaks = Box::new(move |small: &Small| small.replace(file, from, to)) as Break;
            (practice, Through::Files, breaks, expected)
        })
    }
    let files = deeper::FILES.iter().map(|&(file, text, expected)| {
        let breaks = Box::new(move |small: &Small| small.write(file, text)) as Break;
        (Small::new as fn() -> Small, Through::Files, breaks, expected)
    });
    let deeper = deeper::DEEPER.iter().chain(translated::DEEPER).chain(doubts::DEEPER);
    let deeper = deeper.map(|case| (case.practice, case.through, Box::new(case.breaks) as Break, case.expected));
    let edits = edits(edits::EDITS, Small::new).chain(edits(translated::EDITS, Small::translated));
    edits.chain(files).chain(deeper).collect()
}

/// Runs every case, on as many threads as there are cores.
fn all() -> Outcome {
    let queue = Mutex::new(cases());
    let outcome = Mutex::new(Outcome::default());
    std::thread::scope(|scope| {
        for _ in 0..std::thread::available_parallelism().map_or(1, std::num::NonZero::get) {
            scope.spawn(|| {
                loop {
                    let Some((practice, through, breaks, expected)) = queue.lock().unwrap().pop() else { break };
                    let small = practice();
                    if matches!(through, Through::Print(_)) {
                        small.add_layouts();
                    }
                    breaks(&small);
                    let problems = small.problems(through);
                    outcome.lock().unwrap().judge(problems, expected);
                }
            });
        }
    });
    outcome.into_inner().unwrap()
}

#[test]
fn the_small_practice_is_sound() {
    let problems = Small::new().problems(Through::Check);
    assert_eq!(problems.iter().map(ToString::to_string).collect::<Vec<_>>(), Vec::<String>::new());
}

#[test]
fn every_rule_and_every_message_has_a_case() {
    let Outcome { problems, mut wrong } = all();
    let provoked: BTreeSet<Rule> = problems.iter().map(|problem| problem.rule).collect();
    for rule in Rule::ALL {
        if !provoked.contains(rule) && !sources::provoked_beside_the_code(*rule) {
            wrong.push(format!("no case for the rule `{}`", rule.code()));
        }
    }
    for message in sources::messages() {
        if !problems.iter().any(|problem| message.is_in(problem)) {
            wrong.push(format!("no case for a message in {}: {}", message.file, message.text));
        }
    }
    assert!(wrong.is_empty(), "mend or add in tests/it/complaints:\n{}", wrong.join("\n"));
}
