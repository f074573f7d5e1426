//! `kinleaf new`: asks the few things that are needed and writes a starting file, or a visit into a record.

use std::path::Path;

use super::args::{Common, New, NewClient, NewExercise, NewTest, NewVisit};
use super::ask::Question;
use super::{ALL_WELL, UNUSABLE, practice, schemas, show};
use crate::blank::{self, Blank};
use crate::check::Practice;
use crate::diag::{Problem, Rule};
use crate::ids::{Id, StructureId};
use crate::library::Library;
use crate::library::vocabulary::{Method, State};
use crate::pipeline;
use crate::publish;
use crate::schema;
use crate::template::sentence_case;
use crate::units::Unit;

pub fn run(common: &Common, command: &New) -> u8 {
    let written = practice(&common.practice).and_then(|practice| {
        let library = &practice.library;
        let (files, next) = match command {
            New::Exercise(asked) => exercise(asked, &practice),
            New::Test(asked) => test(asked, library),
            New::Client(asked) => client(asked, common),
            New::Visit(asked) => return visit(asked, common, &practice),
        }
        .map_err(|problem| vec![problem])?;
        publish::new_files(&common.practice, &files).map_err(|problem| vec![problem])?;
        refresh(&common.practice)?;
        Ok((files.into_iter().map(|(path, _)| path).collect(), next))
    });
    match written {
        Ok((paths, next)) => {
            show::written(&paths, &format!("Written: {}.\n{next}", paths.join(" and ")), common.json);
            ALL_WELL
        }
        Err(problems) => {
            show::unusable(&problems, common.json, UNUSABLE);
            UNUSABLE
        }
    }
}

/// The new name is offered by editors from now on, where there are schemas at all.
fn refresh(folder: &Path) -> Result<(), Vec<Problem>> {
    if folder.join(schema::FOLDER).is_dir() {
        schemas::write(folder, &practice(folder)?)?;
    }
    Ok(())
}

fn id<T: Id>(text: &str) -> Result<T, Problem> {
    T::new(text)
        .map_err(|bad| Problem::about(Rule::BadId, "NAME", bad.to_string()).help("use a name like `knee-to-wall`"))
}

/// `heel-raise` as `Heel raise`.
fn spoken(id: &str) -> String {
    sentence_case(&id.replace('-', " "))
}

fn words<T>(known: &[(&str, T)]) -> Vec<String> {
    known.iter().map(|(word, _)| (*word).to_owned()).collect()
}

/// The value of one of the known words; the question has let no other pass.
fn chosen<T: Copy>(known: &[(&str, T)], word: &str) -> T {
    known.iter().find(|(known, _)| *known == word).expect("the answer is one of those allowed").1
}

fn title(given: Option<&str>, id: &str) -> Result<String, Problem> {
    let question = Question {
        option: "--title",
        ask: "What clients read as its name",
        usual: Some(spoken(id)),
        allowed: Vec::new(),
    };
    let title = question.answer(given)?;
    match title.chars().count() {
        1..=28 => Ok(title),
        length => Err(Problem::about(Rule::TooLong, "--title", format!("is {length} characters long, but 28 fit"))
            .help("make it shorter")),
    }
}

fn structure(given: Option<&str>, library: &Library) -> Result<StructureId, Problem> {
    let allowed = library.vocabulary.structures.keys().map(ToString::to_string).collect();
    let ask = "What it is about: a muscle, joint motion or skill";
    id(&Question { option: "--structure", ask, usual: None, allowed }.answer(given)?)
}

fn state(given: Option<&str>) -> Result<State, Problem> {
    let question =
        Question { option: "--state", ask: "What is amiss with it", usual: None, allowed: words(&State::ALL) };
    Ok(chosen(&State::ALL, &question.answer(given)?))
}

fn exercise(asked: &NewExercise, practice: &Practice) -> Result<(Vec<Blank>, String), Problem> {
    let library = &practice.library;
    let own = id(&asked.name)?;
    if practice.exercise_names().any(|known| *known == own) {
        let message = "there is an exercise of this name, if only a begun one";
        return Err(Problem::about(Rule::Duplicate, "NAME", message).help("choose another name"));
    }
    let pick = |option, ask, usual: Option<&str>, allowed: Vec<String>, given: &Option<String>| {
        Question { option, ask, usual: usual.map(str::to_owned), allowed }.answer(given.as_deref())
    };
    let title = title(asked.title.as_deref(), &asked.name)?;
    let phases = library.phases.iter().map(|phase| phase.id.to_string()).collect();
    let phase = pick("--phase", "When in a program it is done", None, phases, &asked.phase)?;
    let methods = words(&Method::ALL);
    let method = pick("--method", "How it works", None, methods, &asked.method)?;
    let structure = structure(asked.structure.as_deref(), library)?;
    let state = state(asked.state.as_deref())?;
    let positions = library.vocabulary.positions.keys().map(ToString::to_string).collect();
    let position = pick("--position", "How the body is placed", Some("standing"), positions, &asked.position)?;
    let sides = vec!["one".to_owned(), "both".to_owned()];
    let sides = pick("--sides", "One side at a time, or both at once", Some("both"), sides, &asked.sides)?;
    let new = blank::NewExercise {
        phase: id(&phase)?,
        one_side: sides == "one",
        position: id(&position)?,
        method: chosen(&Method::ALL, &method),
        id: own,
        title,
        structure,
        state,
    };
    let next = format!(
        "Edit the texts and the poses, then: `kinleaf draw {0} --format png`, look at it, and `kinleaf check`. \
         It is never chosen until you raise its `effect`.",
        new.id
    );
    Ok((blank::exercise(&new, library), next))
}

fn test(asked: &NewTest, library: &Library) -> Result<(Vec<Blank>, String), Problem> {
    let own = id(&asked.name)?;
    let title = title(asked.title.as_deref(), &asked.name)?;
    let unit = Question { option: "--unit", ask: "What is read", usual: None, allowed: words(&Unit::ALL) }
        .answer(asked.unit.as_deref())?;
    let sides = Question {
        option: "--sides",
        ask: "Is each side read, or one reading taken",
        usual: Some("each".to_owned()),
        allowed: vec!["each".to_owned(), "none".to_owned()],
    }
    .answer(asked.sides.as_deref())?;
    let new = blank::NewTest {
        id: own,
        title,
        unit: chosen(&Unit::ALL, &unit),
        each_side: sides == "each",
        structure: structure(asked.structure.as_deref(), library)?,
        state: state(asked.state.as_deref())?,
    };
    let next = "Edit it, then `kinleaf check`. Nobody is judged by it until it has a usual range with a source.";
    Ok((blank::test(&new, library), next.to_owned()))
}

fn client(asked: &NewClient, common: &Common) -> Result<(Vec<Blank>, String), Problem> {
    let own = id(&asked.id)?;
    let plain = |option, ask, usual: Option<&str>, given: &Option<String>| {
        let usual = usual.map(str::to_owned);
        Question { option, ask, usual, allowed: Vec::new() }.answer(given.as_deref())
    };
    let name = plain("--name", "Full name", None, &asked.name)?;
    let goal = plain("--goal", "First goal, in the client's own words", None, &asked.goal)?;
    let minutes = plain("--minutes", "Minutes a day for exercises", Some("20"), &asked.minutes)?;
    let Some(minutes) = minutes.parse().ok().filter(|minutes| (1..=120).contains(minutes)) else {
        return Err(Problem::about(Rule::BadValue, "--minutes", format!("cannot be `{minutes}`"))
            .help("write a whole number between 1 and 120"));
    };
    let new = blank::NewClient { id: own, name, goal, minutes, on: common.today() };
    let next = format!(
        "Put in the readings and the answers to the health questions, then: `kinleaf explain {0}` and `kinleaf print {0}`.",
        new.id
    );
    Ok((blank::client(&new), next))
}

/// Adds a visit to a sound record; nothing else in it changes.
fn visit(asked: &NewVisit, common: &Common, practice: &Practice) -> Result<(Vec<String>, String), Vec<Problem>> {
    let on = common.today();
    let client = pipeline::client(&common.practice, practice, &asked.client, on)?;
    if client.visits.last().is_some_and(|last| last.on >= on) {
        let message = format!("has a visit on {on} or later already");
        let help = "put what is new into that visit, or give the day of this one: `--on`";
        return Err(vec![Problem::about(Rule::Duplicate, client.file.path.as_str(), message).help(help)]);
    }
    let given = client.issued.values().next_back().into_iter().flatten().map(|given| given.exercise.clone()).collect();
    let record: toml::Table = client.file.text.parse().expect("a sound record is TOML");
    let visits = record.get("visits").and_then(toml::Value::as_array);
    let last = visits.and_then(|visits| visits.last()).and_then(|visit| visit.get("readings"));
    let readings = last.and_then(toml::Value::as_array).into_iter().flatten().filter_map(toml::Value::as_table);
    let new = blank::NewVisit { client: client.id.clone(), on, readings: readings.cloned().collect(), given };
    let (old, mut added) = (&client.file.text, blank::visit(&new));
    if !old.ends_with('\n') {
        added.insert(0, '\n');
    }
    if old.contains("\r\n") {
        added = added.replace('\n', "\r\n");
    }
    publish::mended(&common.practice, &client.file.path, &format!("{old}{added}")).map_err(|problem| vec![problem])?;
    let next = format!(
        "A visit on {on} stands at its end. Put in what has changed, then: `kinleaf explain {0}` and `kinleaf print {0}`.",
        new.client
    );
    Ok((vec![client.file.path.clone()], next))
}
