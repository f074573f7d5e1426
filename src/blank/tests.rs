use std::collections::BTreeSet;

use super::*;
use crate::check::{check, check_client, doubts};
use crate::diag::{Problem, Rule, SourceFile};
use crate::testing::demo;
use crate::{starter, units};

/// The problems of a practice that has these files besides its own.
fn problems(files: &[Blank]) -> Vec<Problem> {
    let mut all = starter::files();
    // The others would only take time.
    all.poses.clear();
    all.test_poses.clear();
    all.exercises.truncate(1);
    all.tests.truncate(1);
    for (path, text) in files {
        let file = std::sync::Arc::new(SourceFile { path: path.clone(), text: text.clone() });
        let stem = path.rsplit('/').next().unwrap().strip_suffix(".toml").unwrap().to_owned();
        let entry = crate::load::Entry { stem, file };
        match starter::kind(path) {
            Some("poses") => all.poses.push(entry),
            Some("test") => all.tests.push(entry),
            _ => all.exercises.push((path.split('/').nth(1).unwrap().to_owned(), entry)),
        }
    }
    let paths: BTreeSet<&str> = files.iter().map(|(path, _)| path.as_str()).collect();
    let (practice, mut problems) = check(all);
    let practice = practice.expect("the rest is sound");
    problems.extend(doubts(&practice));
    problems.retain(|problem| problem.file().is_some_and(|file| paths.contains(file)));
    problems
}

/// Sound but for what its author has still to write; and sound in all once that is written.
#[track_caller]
fn sound(files: &[Blank]) {
    let begun: Vec<Rule> = problems(files).iter().map(|problem| problem.rule).collect();
    assert_eq!(begun, [Rule::Unfinished], "nobody is given it as it is");
    let written = |(path, text): &Blank| (path.clone(), text.replace("\"<", "\"").replace(">\"", "\""));
    let files: Vec<Blank> = files.iter().map(written).collect();
    let found: Vec<String> = problems(&files).iter().map(ToString::to_string).collect();
    assert_eq!(found, Vec::<String>::new(), "{}", files.iter().map(|(_, text)| text.as_str()).collect::<String>());
}

#[test]
fn a_new_exercise_is_sound_in_every_position() {
    let library = &demo().library;
    for position in library.vocabulary.positions.keys() {
        for one_side in [false, true] {
            let new = NewExercise {
                id: ExerciseId::new("new-one").unwrap(),
                title: "A \"new\" one for the shoulder".to_owned(),
                phase: PhaseId::new("stretch").unwrap(),
                one_side,
                position: position.clone(),
                structure: StructureId::new("calf").unwrap(),
                state: State::Short,
                method: Method::Stretch,
            };
            let files = exercise(&new, library);
            assert_eq!(files.len(), 2, "{position} has a base pose");
            sound(&files);
        }
    }
}

#[test]
fn a_new_exercise_is_never_chosen_until_its_weight_is_raised() {
    let new = NewExercise {
        id: ExerciseId::new("new-one").unwrap(),
        title: "New one".to_owned(),
        phase: PhaseId::new("loosen").unwrap(),
        one_side: false,
        position: PositionId::new("sitting").unwrap(),
        structure: StructureId::new("calf").unwrap(),
        state: State::Short,
        method: Method::Release,
    };
    let text = &exercise(&new, &demo().library)[0].1;
    assert!(text.contains("\neffect = 0\n"), "{text}");
    // The dose is the library's own, with its source.
    assert!(text.contains("source_dose = \"As for calf-roll: trade-figures"), "{text}");
}

#[test]
fn a_new_test_is_sound_in_every_unit() {
    for (_, unit) in units::Unit::ALL {
        for each_side in [false, true] {
            sound(&test(
                &NewTest {
                    id: TestId::new("new-test").unwrap(),
                    title: "New test".to_owned(),
                    unit,
                    each_side,
                    structure: StructureId::new("calf").unwrap(),
                    state: State::Short,
                },
                &demo().library,
            ));
        }
    }
}

#[test]
fn a_new_client_is_sound_and_not_screened() {
    let new = NewClient {
        id: ClientId::new("ana").unwrap(),
        name: "Ana \"Annie\" Silva".to_owned(),
        goal: "Row <<name>> again.".to_owned(),
        minutes: 20,
        on: Date::constant(2026, 11, 25),
    };
    let (path, text) = client(&new).remove(0);
    let file = std::sync::Arc::new(SourceFile { path, text });
    let client = check_client(demo(), &new.id, &file, new.on).unwrap();
    assert_eq!(client.name, new.name);
    assert_eq!(client.goals, ["Row <<name>> again."]);
    assert_eq!(client.visits[0].screening, None, "nobody is taken to have answered");
}

#[test]
fn a_short_name_is_made_of_whole_words() {
    assert_eq!(shortened("Knee to wall", 13), "Knee to wall");
    assert_eq!(shortened("Side lying knee lift", 13), "Side lying");
    assert_eq!(shortened("Photosynthesising", 13), "Photosynthesi");
}
