//! `exercises/poses/*.toml`: pictures drawn from poses.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::body::Side;
use crate::brand::Colour;
use crate::diag::{Problem, Rule, SourceFile, meant};
use crate::draw::{Demands, Pictures, PoseProblem, Poses, Studio, Subject};
use crate::ids::{ExerciseId, Id, TestId};
use crate::library::exercise::{Exercise, RelativeSide, Shown};
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

/// Notes for every version how far its pictures take the joints that tests measure.
pub fn measure(studio: &Studio, exercises: &mut BTreeMap<ExerciseId, Exercise>, tests: &BTreeMap<TestId, Test>) {
    for (subject, pictures) in studio.subjects() {
        let Subject::Exercise(id) = subject else { continue };
        let Some(exercise) = exercises.get_mut(id) else { continue };
        let works = pictures.authored();
        let demands = pictures.demands(exercise.rungs.len());
        for (rung, demands) in exercise.rungs.iter_mut().zip(&demands) {
            rung.shown = tests.values().flat_map(|test| shown(test, demands, works)).collect();
        }
    }
}

fn shown(test: &Test, demands: &Demands, works: Option<Side>) -> Vec<Shown> {
    let Some(motion) = &test.motion else {
        return Vec::new();
    };
    let (name, other_way) = match motion.strip_prefix('-') {
        Some(name) => (name, true),
        None => (motion.as_str(), false),
    };
    let peaks = demands.peaks.iter().filter(|peak| peak.motion == name);
    peaks
        .map(|peak| {
            let side = match (peak.side, works) {
                (Some(side), Some(works)) if side == works => RelativeSide::Same,
                (Some(_), Some(_)) => RelativeSide::Other,
                (Some(_), None) | (None, _) => RelativeSide::Both,
            };
            // The trunk turns to both sides with opposite signs; the further way counts.
            let degrees = match (peak.side, other_way) {
                (None, _) => peak.most.max(-peak.least),
                (Some(_), true) => -peak.least,
                (Some(_), false) => peak.most,
            };
            Shown { test: test.id.clone(), side, degrees }
        })
        .collect()
}

/// Compares what the pictures of each version show with what it declares: whatever is shown must be declared.
pub fn compare(studio: &Studio, exercises: &BTreeMap<ExerciseId, Exercise>) -> Vec<Problem> {
    let mut problems = Vec::new();
    for (subject, pictures) in studio.subjects() {
        let Subject::Exercise(id) = subject else { continue };
        let Some(exercise) = exercises.get(id) else { continue };
        let demands = pictures.demands(exercise.rungs.len());
        for ((rung, demands), number) in exercise.rungs.iter().zip(&demands).zip(1..) {
            let shows = demands.declared_by_pose();
            let missing = |shown: &BTreeSet<&'static str>, has: &dyn Fn(&str) -> bool| {
                shown.iter().copied().filter(|id| !has(id)).collect::<Vec<_>>()
            };
            let tags = missing(&shows.tags, &|tag| rung.features.tags.iter().any(|own| own.as_str() == tag));
            let positions = missing(&shows.positions, &|position| {
                rung.features.positions.iter().any(|own| own.as_str() == position)
            });
            let joints = demands.at_the_end.iter().map(String::as_str).collect::<Vec<_>>().join(", ");
            let mut said: Vec<String> = tags
                .into_iter()
                .map(|tag| match tag.starts_with("end-range") {
                    true => format!("the tag `{tag}` ({joints})"),
                    false => format!("the tag `{tag}`"),
                })
                .collect();
            // A picture may pass through a position on its way, so one that is declared is enough.
            if !positions.is_empty() && positions.len() == shows.positions.len() {
                said.extend(positions.into_iter().map(|position| format!("the position `{position}`")));
            }
            if !said.is_empty() {
                let message =
                    format!("the picture of rung {number} shows {}, but `{id}` does not declare it", said.join(", "));
                let help = "declare it in the exercise or its rung, or draw that rung without it (`rungs` in a frame)";
                problems.push(Problem::about(Rule::PoseTags, subject.path(), message).help(help));
            }
        }
    }
    problems
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
    let exercise =
        |stem: &str| ExerciseId::new(stem).ok().filter(|id| known.exercises.contains_key(id)).map(Subject::Exercise);
    let test = |stem: &str| TestId::new(stem).ok().filter(|id| known.tests.contains_key(id)).map(Subject::Test);
    let of_exercises = files.poses.iter().filter(|entry| entry.stem != LIBRARY);
    let entries = of_exercises
        .map(|entry| (entry, exercise(&entry.stem), "exercise"))
        .chain(files.test_poses.iter().map(|entry| (entry, test(&entry.stem), "test")));
    let there = |kind: &str, stem: &str| match kind {
        "test" => files.tests.iter().any(|entry| entry.stem == stem),
        _ => files.exercises.iter().any(|(_, entry)| entry.stem == stem),
    };
    for (entry, subject, kind) in entries {
        match (poses.pictures(&entry.file.text), subject) {
            (Err(found), _) => report(&entry.file, found, problems),
            // One whose exercise or test is in error has been reported there.
            (Ok(_), None) if there(kind, &entry.stem) => {}
            (Ok(_), None) => problems.push(
                Problem::about(
                    Rule::UnknownName,
                    entry.file.path.as_str(),
                    format!("there is no {kind} `{}`", entry.stem),
                )
                .help(format!("call the file after the {kind} that it shows")),
            ),
            (Ok(found), Some(subject)) => {
                signs(&entry.file, &found, &subject, known, problems);
                rungs(&entry.file, &found, &subject, known, problems);
                pictures.insert(subject, found);
            }
        }
    }
    Studio::new(pictures, accent)
}

/// Frames may name rungs of their exercise only, and every rung needs one.
fn rungs(file: &Arc<SourceFile>, found: &Pictures, subject: &Subject, known: &Known<'_>, problems: &mut Vec<Problem>) {
    let count = match subject {
        Subject::Exercise(id) => known.exercises[id].rungs.len(),
        Subject::Test(_) => 0,
    };
    let (highest, all) = found.rungs(count);
    let start = file.text.find("rungs").unwrap_or(0);
    let message = if highest > count {
        format!("a frame shows rung {highest}, but there are {count}")
    } else if !all {
        "a rung has no frame that shows it".to_owned()
    } else {
        return;
    };
    let problem = Problem::at(Rule::BadPose, file, start..start + 5, message);
    problems.push(problem.help("rungs are counted from 1; a frame without `rungs` shows all of them"));
}

/// A frame that shows a sign must name one of its own test.
fn signs(file: &Arc<SourceFile>, found: &Pictures, subject: &Subject, known: &Known<'_>, problems: &mut Vec<Problem>) {
    let of_test: Vec<&str> = match subject {
        Subject::Test(id) => known.tests[id].signs.iter().map(|sign| sign.id.as_str()).collect(),
        Subject::Exercise(_) => Vec::new(),
    };
    for sign in found.signs().filter(|sign| !of_test.contains(sign)) {
        let start = file.text.find(&format!("\"{sign}\"")).unwrap_or(0);
        let help = meant(sign, of_test.iter().copied(), || "take the line out, or name a sign of the test".to_owned());
        let problem = Problem::at(
            Rule::UnknownName,
            file,
            start..start + sign.len() + 2,
            format!("there is no sign `{sign}` in what this file shows"),
        );
        problems.push(problem.help(help));
    }
}
