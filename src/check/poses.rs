//! `exercises/poses/*.toml`: pictures drawn from poses.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::body::Side;
use crate::brand::Colour;
use crate::diag::{Problem, Rule, SourceFile, meant};
use crate::draw::{Demands, Doubt, Pictures, PoseProblem, Poses, Studio, Subject};
use crate::ids::{ExerciseId, Id, TestId};
use crate::library::exercise::{Exercise, RelativeSide, Shown};
use crate::library::test::Test;
use crate::load::Files;
use crate::print::Ink;
use crate::template::Template;
use crate::words::Words;

use super::Practice;
use super::exercise::Samples;

/// The name of the file of base poses.
const LIBRARY: &str = "library";

fn report(file: &Arc<SourceFile>, found: Vec<PoseProblem>, problems: &mut Vec<Problem>) {
    for problem in found {
        let help = problem.help.unwrap_or_else(|| "exercises/poses/README.md says how poses are written".to_owned());
        problems.push(Problem::at(Rule::BadPose, file, problem.span, problem.message).help(help));
    }
}

/// Notes for every version how far its pictures take the joints that tests measure, and adds to `unusable` what shows
/// something that no body can do or that its exercise does not say.
pub fn measure(
    studio: &Studio,
    sources: &BTreeMap<Subject, Arc<SourceFile>>,
    exercises: &mut BTreeMap<ExerciseId, Exercise>,
    tests: &BTreeMap<TestId, Test>,
    unusable: &mut BTreeSet<Subject>,
) -> Vec<Problem> {
    let mut problems = Vec::new();
    for (subject, pictures) in studio.subjects() {
        let exercise = match subject {
            Subject::Exercise(id) => exercises.get_mut(id),
            Subject::Test(_) => None,
        };
        let count = exercise.as_ref().map_or(0, |it| it.rungs.len());
        let (demands, impossible) = pictures.survey(count);
        let mut found: Vec<Problem> =
            impossible.into_iter().map(|it| doubtful(sources, subject, it, "correct the pose")).collect();
        if let Some(exercise) = exercise {
            let works = pictures.authored();
            for (rung, demands) in exercise.rungs.iter_mut().zip(&demands) {
                rung.shown = tests.values().flat_map(|test| shown(test, demands, works)).collect();
            }
            // What is impossible, or cannot be used as it is, is put right first: its tags would be of no use.
            if found.is_empty() && !unusable.contains(subject) {
                found.extend(undeclared(subject, exercise, &demands));
            }
        }
        if !found.is_empty() {
            unusable.insert(subject.clone());
        }
        problems.extend(found);
    }
    problems
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
fn undeclared(subject: &Subject, exercise: &Exercise, demands: &[Demands]) -> Vec<Problem> {
    let mut problems = Vec::new();
    for ((rung, demands), number) in exercise.rungs.iter().zip(demands).zip(1..) {
        let shows = demands.declared_by_pose();
        let missing = |shown: &BTreeSet<&'static str>, has: &dyn Fn(&str) -> bool| {
            shown.iter().copied().filter(|id| !has(id)).collect::<Vec<_>>()
        };
        let tags = missing(&shows.tags, &|tag| rung.features.tags.iter().any(|own| own.as_str() == tag));
        let positions =
            missing(&shows.positions, &|position| rung.features.positions.iter().any(|own| own.as_str() == position));
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
            let (said, id) = (said.join(", "), &exercise.id);
            let message = format!("the picture of rung {number} shows {said}, but `{id}` does not declare it");
            let help = "declare it in the exercise or its rung, or draw that rung without it (`rungs` in a frame)";
            problems.push(Problem::about(Rule::PoseTags, subject.path(), message).help(help));
        }
    }
    problems
}

/// What a careful eye would doubt in the poses of any picture, and what would not read on a card. Slow. Grey has
/// the marks of colour, and the saver's lines are the thinnest, so two inks stand for all.
pub fn doubts(practice: &Practice) -> Vec<Problem> {
    let subjects: Vec<_> = practice.studio.subjects().collect();
    let of = |&(subject, pictures): &(&Subject, &Pictures)| {
        let mut doubts = pose_doubts(practice, subject, pictures);
        for ink in [Ink::Colour, Ink::Saver] {
            doubts.extend(hard_to_read(practice, subject, pictures, ink));
        }
        doubts
    };
    let half = subjects.len().div_ceil(2).max(1);
    std::thread::scope(|scope| {
        let threads: Vec<_> = subjects
            .chunks(half)
            .map(|share| scope.spawn(move || share.iter().flat_map(of).collect::<Vec<_>>()))
            .collect();
        threads.into_iter().flat_map(|it| it.join().expect("doubts are told, not thrown")).collect()
    })
}

/// What a careful eye would doubt in the poses of one picture. What no body can do was told when it was read.
pub fn pose_doubts(practice: &Practice, subject: &Subject, pictures: &Pictures) -> Vec<Problem> {
    let doubts = pictures.doubts().into_iter().filter(|it| !it.impossible);
    doubts.map(|it| doubtful(&practice.pose_files, subject, it, "correct the pose or the mark")).collect()
}

/// What would not read at the width of a card in this ink.
pub fn hard_to_read(practice: &Practice, subject: &Subject, pictures: &Pictures, ink: Ink) -> Vec<Problem> {
    let help = "draw it larger, turn it, or take something out";
    pictures.hard_to_read(ink).into_iter().map(|it| doubtful(&practice.pose_files, subject, it, help)).collect()
}

fn doubtful(sources: &BTreeMap<Subject, Arc<SourceFile>>, subject: &Subject, doubt: Doubt, help: &str) -> Problem {
    let rule = if doubt.impossible { Rule::ImpossiblePose } else { Rule::DoubtfulPose };
    let help = match doubt.about_joint {
        true => format!("{help}, or name the joint under `allow` in its frame"),
        false => help.to_owned(),
    };
    let problem = match sources.get(subject) {
        // The head of the frame is enough; a frame may be many lines long.
        Some(file) => {
            let end = file.text[doubt.at.start..].find('\n').map_or(doubt.at.end, |it| doubt.at.start + it);
            Problem::at(rule, file, doubt.at.start..end, doubt.text)
        }
        None => Problem::about(rule, subject.path(), doubt.text),
    };
    problem.help(help)
}

/// What pictures may show.
pub struct Known<'a> {
    pub exercises: &'a BTreeMap<ExerciseId, Exercise>,
    pub tests: &'a BTreeMap<TestId, Test>,
}

/// Every picture that can be drawn, its file, and what has pictures that cannot.
type Read = (Studio, BTreeMap<Subject, Arc<SourceFile>>, BTreeSet<Subject>);

/// Reads all pictures. What has one that cannot be used is not printed until it is mended.
pub fn read_all(files: &Files, known: &Known<'_>, accent: Colour, words: &Words, problems: &mut Vec<Problem>) -> Read {
    let (mut pictures, mut sources, mut unusable) = (BTreeMap::new(), BTreeMap::new(), BTreeSet::new());
    let exercise =
        |stem: &str| ExerciseId::new(stem).ok().filter(|id| known.exercises.contains_key(id)).map(Subject::Exercise);
    let test = |stem: &str| TestId::new(stem).ok().filter(|id| known.tests.contains_key(id)).map(Subject::Test);
    let of_exercises = files.poses.iter().filter(|entry| entry.stem != LIBRARY);
    let entries = of_exercises
        .map(|entry| (entry, exercise(&entry.stem), "exercise"))
        .chain(files.test_poses.iter().map(|entry| (entry, test(&entry.stem), "test")));
    let poses = match files.base_poses.as_ref().map(|file| (file, Poses::parse(&file.text))) {
        None => Poses::default(),
        Some((_, Ok(poses))) => poses,
        Some((file, Err(found))) => {
            report(file, found, problems);
            unusable.extend(entries.filter_map(|(_, subject, _)| subject));
            return (Studio::new(pictures, accent, words), sources, unusable);
        }
    };
    let there = |kind: &str, stem: &str| match kind {
        "test" => files.tests.iter().any(|entry| entry.stem == stem),
        _ => files.exercises.iter().any(|(_, entry)| entry.stem == stem),
    };
    for (entry, subject, kind) in entries {
        match (poses.pictures(&entry.file.text), subject) {
            (Err(found), subject) => {
                report(&entry.file, found, problems);
                unusable.extend(subject);
            }
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
                let so_far = problems.len();
                signs(&entry.file, &found, &subject, known, problems);
                rungs(&entry.file, &found, &subject, known, problems);
                labels(&entry.file, &found, known, words, problems);
                holds(&entry.file, &found, &subject, known, problems);
                if problems.len() > so_far {
                    unusable.insert(subject.clone());
                }
                sources.insert(subject.clone(), Arc::clone(&entry.file));
                pictures.insert(subject, found);
            }
        }
    }
    (Studio::new(pictures, accent, words), sources, unusable)
}

/// Most pictures side by side on a card: more would be too small to read.
const MOST_FRAMES: usize = 3;

/// Frames may name rungs of their exercise only, and every rung needs one to three.
fn rungs(file: &Arc<SourceFile>, found: &Pictures, subject: &Subject, known: &Known<'_>, problems: &mut Vec<Problem>) {
    let count = match subject {
        Subject::Exercise(id) => known.exercises[id].rungs.len(),
        Subject::Test(_) => 0,
    };
    let (highest, all) = found.rungs(count);
    let most = found.most_frames(count);
    if most > MOST_FRAMES {
        let message = format!("{most} pictures stand side by side here, but there is room for {MOST_FRAMES}");
        let start = file.text.rfind("[[frames]]").unwrap_or(0);
        let problem = Problem::at(Rule::BadPose, file, start..(start + 10).min(file.text.len()), message);
        problems.push(problem.help("take out what shows the least, or give each rung its own with `rungs`"));
        return;
    }
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

/// Longest words at a mark, in characters, before their gaps are filled.
const LONGEST_LABEL: usize = 80;

/// Words at marks must fit under a small picture and be such as can be filled in.
fn labels(file: &Arc<SourceFile>, found: &Pictures, known: &Known<'_>, words: &Words, problems: &mut Vec<Problem>) {
    let samples = Samples::of_pictures(words, found.authored().is_some(), known.tests);
    for (text, at) in found.labels() {
        let fault = if text.chars().count() > LONGEST_LABEL {
            Some((
                Rule::TooLong,
                format!("words at a mark have at most {LONGEST_LABEL} characters"),
                "say it shorter".into(),
            ))
        } else {
            samples.fault(&Template::new(text.to_owned()))
        };
        if let Some((rule, message, help)) = fault {
            problems.push(Problem::at(rule, file, at, message).help(help));
        }
    }
}

/// A frame that is held must show a version whose dose has a hold, or there are no seconds for its stopwatch.
fn holds(file: &Arc<SourceFile>, found: &Pictures, subject: &Subject, known: &Known<'_>, problems: &mut Vec<Problem>) {
    let Subject::Exercise(id) = subject else { return };
    let rungs = &known.exercises[id].rungs;
    for (shown, at) in found.held() {
        let shows = |number: &usize| shown.is_empty() || shown.contains(number);
        let numbered = rungs.iter().zip(1_usize..);
        let without = numbered.filter(|(rung, _)| rung.dose.hold_s.is_none()).map(|(_, number)| number).find(shows);
        if let Some(number) = without {
            let message = format!("this frame is held, but the dose of rung {number} has no `hold_s`");
            let start = file.text[at.clone()].find("hold").map_or(at.start, |it| at.start + it);
            let problem = Problem::at(Rule::BadPose, file, start..start + 4, message);
            problems.push(problem.help("take `hold` out of the frame, or give the dose seconds to hold"));
        }
    }
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
