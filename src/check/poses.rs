//! `exercises/poses/*.toml`: pictures drawn from poses.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::brand::Colour;
use crate::diag::{Problem, Rule, SourceFile, nearest};
use crate::draw::{Pictures, PoseProblem, Poses, Studio, Subject};
use crate::ids::{ExerciseId, Id, TestId};
use crate::library::exercise::Exercise;
use crate::library::test::Test;
use crate::load::Files;

/// The name of the file of base poses.
const LIBRARY: &str = "library";

fn report(file: &Arc<SourceFile>, found: Vec<PoseProblem>, problems: &mut Vec<Problem>) {
    for problem in found {
        let help = problem.help.unwrap_or_else(|| "see exercises/poses/README.md".to_owned());
        problems.push(Problem::at(Rule::BadPose, file, problem.span, problem.message).help(help));
    }
}

/// What pictures may show.
pub struct Known<'a> {
    pub exercises: &'a BTreeMap<ExerciseId, Exercise>,
    pub tests: &'a BTreeMap<TestId, Test>,
}

/// Reads all pictures. One that cannot be used is reported, and what it shows is printed without.
pub fn read_all(files: &Files, known: &Known<'_>, accent: Colour, problems: &mut Vec<Problem>) -> Studio {
    let mut pictures: BTreeMap<Subject, Pictures> = BTreeMap::new();
    let poses = match files.base_poses.as_ref().map(|file| (file, Poses::parse(&file.text))) {
        None => Poses::default(),
        Some((_, Ok(poses))) => poses,
        Some((file, Err(found))) => {
            report(file, found, problems);
            return Studio::new(pictures, accent);
        }
    };
    let exercise = |stem: &str| {
        ExerciseId::new(stem).ok().filter(|id| known.exercises.contains_key(id)).map(Subject::Exercise)
    };
    let test = |stem: &str| TestId::new(stem).ok().filter(|id| known.tests.contains_key(id)).map(Subject::Test);
    let of_exercises = files.poses.iter().filter(|entry| entry.stem != LIBRARY);
    let entries = of_exercises
        .map(|entry| (entry, exercise(&entry.stem), "exercise"))
        .chain(files.test_poses.iter().map(|entry| (entry, test(&entry.stem), "test")));
    for (entry, subject, kind) in entries {
        match (poses.pictures(&entry.file.text), subject) {
            (Err(found), _) => report(&entry.file, found, problems),
            (Ok(_), None) => problems.push(
                Problem::about(
                    Rule::UnknownName,
                    entry.file.path.as_str(),
                    format!("there is no usable {kind} `{}`", entry.stem),
                )
                .help(format!("call the file after the {kind} that it shows")),
            ),
            (Ok(found), Some(subject)) => {
                signs(&entry.file, &found, &subject, known, problems);
                pictures.insert(subject, found);
            }
        }
    }
    Studio::new(pictures, accent)
}

/// A frame that shows a sign must name one of its own test.
fn signs(file: &Arc<SourceFile>, found: &Pictures, subject: &Subject, known: &Known<'_>, problems: &mut Vec<Problem>) {
    let of_test: Vec<&str> = match subject {
        Subject::Test(id) => known.tests[id].signs.iter().map(|sign| sign.id.as_str()).collect(),
        Subject::Exercise(_) => Vec::new(),
    };
    for sign in found.signs().filter(|sign| !of_test.contains(sign)) {
        let start = file.text.find(&format!("\"{sign}\"")).unwrap_or(0);
        let help = match nearest(sign, of_test.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => "take the line out, or name a sign of the test".to_owned(),
        };
        let problem = Problem::at(
            Rule::UnknownName,
            file,
            start..start + sign.len() + 2,
            format!("there is no sign `{sign}` in what this file shows"),
        );
        problems.push(problem.help(help));
    }
}
