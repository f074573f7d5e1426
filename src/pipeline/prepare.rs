//! One visit of one client, from its record to the words and pictures of a sheet.

use std::collections::BTreeMap;

use jiff::civil::Date;
use serde_json::Value as Json;

use crate::assess::{Findings, assess};
use crate::body::Side;
use crate::check::Practice;
use crate::diag::{Problem, Rule};
use crate::draw::Subject;
use crate::ledger::{Given, Sheet, hash, text_hash};
use crate::library::Library;
use crate::plan::{Item, Program, plan};
use crate::print::{Ink, Look};
use crate::record::{Client, Visit};
use crate::safety::{Gate, gate};
use crate::word::handout::{Body, Frame, Handout};
use crate::word::{Matter, Writer};

/// What a sheet will be about.
pub(super) enum Prepared {
    Plan { findings: Findings, program: Box<Program> },
    SeeSomeone(Gate),
}

/// Assesses, looks at safety and plans. Warnings go to `warnings`.
pub(super) fn prepare(
    practice: &Practice,
    client: &Client,
    visit: &Visit,
    warnings: &mut Vec<Problem>,
) -> Result<Prepared, Vec<Problem>> {
    let library = &practice.library;
    let gate = gate(client, visit, library);
    let Gate::Open { stale_since } = gate else {
        return Ok(Prepared::SeeSomeone(gate));
    };
    warnings.extend(stale_since.map(|asked| stale_answers(client, visit, asked)));
    let findings = assess(client, visit, library);
    let (program, found) = plan(client, visit, &findings, library);
    warnings.extend(found);
    let mut program = program?;
    // Without a test that the client can do alone there is nothing to check on those days.
    let writer = Writer::new(client, visit, library, &practice.brand, &practice.words);
    if !writer.has_home_checks(&findings) {
        program.check_days.clear();
    }
    Ok(Prepared::Plan { findings, program: Box::new(program) })
}

/// That the health questions were not asked at this visit.
pub(super) fn stale_answers(client: &Client, visit: &Visit, asked: Date) -> Problem {
    let message = format!("the health questions were last asked on {asked}");
    Problem::at(Rule::StaleScreening, &client.file, visit.place.clone(), message)
        .help("ask them again at each visit, and write down the answers")
        .client(&client.id)
}

/// The words of a sheet with its pictures in the look's ink.
pub(super) fn write(
    practice: &Practice,
    client: &Client,
    visit: &Visit,
    prepared: &Prepared,
    sheet: u32,
    look: Look,
) -> Result<Handout, Problem> {
    let mut handout = words(practice, client, visit, prepared, sheet, look)?;
    illustrate(practice, prepared, &mut handout, look.ink);
    Ok(handout)
}

/// The words of a sheet, and those of its pictures that are the practice's own files.
pub(super) fn words(
    practice: &Practice,
    client: &Client,
    visit: &Visit,
    prepared: &Prepared,
    sheet: u32,
    look: Look,
) -> Result<Handout, Problem> {
    let writer = Writer::new(client, visit, &practice.library, &practice.brand, &practice.words);
    let mut handout = match prepared {
        Prepared::Plan { findings, program } => writer.write(&Matter::Plan { findings, program }, sheet, look),
        Prepared::SeeSomeone(Gate::Closed { level, reasons }) => {
            writer.write(&Matter::SeeSomeone { level: *level, reasons }, sheet, look)
        }
        Prepared::SeeSomeone(Gate::Open { .. }) => unreachable!("an open gate leads to a plan"),
    }?;
    // A logo that cannot be used has been reported; the sheet does without it.
    if practice.logo.is_none() {
        handout.studio.logo_src = None;
    }
    Ok(handout)
}

/// A sheet's data in every ink, the one of its words first.
pub(super) fn every_ink<'a>(
    practice: &'a Practice,
    prepared: &'a Prepared,
    words: &'a Handout,
) -> impl Iterator<Item = (Ink, Json)> + use<'a> {
    let own = words.doc.look.ink;
    let others = Ink::ALL.into_iter().map(|(_, ink)| ink).filter(move |ink| *ink != own);
    let data = move |ink: Ink| {
        let mut handout = words.clone();
        illustrate(practice, prepared, &mut handout, ink);
        (ink, serde_json::to_value(&handout).expect("sheets are plain data"))
    };
    [own].into_iter().chain(others).map(data)
}

/// Adds to each exercise card without pictures of its own those drawn from poses, for its side.
fn illustrate(practice: &Practice, prepared: &Prepared, handout: &mut Handout, ink: Ink) {
    let (Prepared::Plan { program, .. }, Body::Plan(plan)) = (prepared, &mut handout.body) else {
        return;
    };
    let wanted: Vec<_> =
        program.items.iter().map(|item| (Subject::Exercise(item.exercise.clone()), item.sides.shown())).collect();
    practice.studio.prepare(&wanted, ink);
    let cards = plan.phases.iter_mut().flat_map(|phase| &mut phase.exercises);
    for (card, item) in cards.zip(&program.items).filter(|(card, _)| card.frames.is_empty()) {
        let side = item.sides.shown();
        let subject = Subject::Exercise(item.exercise.clone());
        let Some(figures) = practice.studio.figures(&subject, side, ink) else { continue };
        let name = |number: usize| format!("figure-{}-{}-{number}.svg", item.exercise, side.map_or("both", Side::key));
        card.frames = figures
            .iter()
            .enumerate()
            .filter(|(_, figure)| figure.shows(item.rung))
            .map(|(index, figure)| Frame {
                src: name(index + 1),
                alt: figure.alt.clone(),
                caption: figure.caption.clone(),
                svg: Some(figure.svg.clone()),
                ratio: Some((figure.ratio * 100.0).round() / 100.0),
            })
            .collect();
    }
}

/// Hash of a sheet's words and numbers, whatever its number, what it is printed on and what its other papers are called.
/// Pictures are left out: nothing that only asks whether a sheet still holds has to draw them.
pub(super) fn words_hash(handout: &Handout) -> String {
    hash_without(handout, &["doc", "frames", "papers"])
}

/// The hash that sheets have of which nothing is kept: with the words of their pictures.
pub(super) fn old_words_hash(handout: &Handout) -> String {
    hash_without(handout, &["look", "svg", "ratio", "papers"])
}

fn hash_without(handout: &Handout, keys: &[&str]) -> String {
    fn strip(value: &mut Json, keys: &[&str]) {
        match value {
            Json::Object(fields) => {
                fields.retain(|key, _| !keys.contains(&key.as_str()));
                fields.values_mut().for_each(|item| strip(item, keys));
            }
            Json::Array(items) => items.iter_mut().for_each(|item| strip(item, keys)),
            _ => {}
        }
    }
    let mut json = serde_json::to_value(handout).expect("sheets are plain data");
    strip(&mut json, keys);
    hash(json.to_string().as_bytes())
}

/// What the ledger says of a sheet that is about to be issued.
pub(super) fn entry(
    practice: &Practice,
    visit: &Visit,
    prepared: &Prepared,
    number: u32,
    words: &Handout,
    kept: String,
) -> Sheet {
    let library = &practice.library;
    let (exercises, tests) = match prepared {
        Prepared::Plan { findings, program } => {
            let given = program.items.iter().filter_map(|item| given(item, library));
            let tests = findings.tests.iter().filter_map(|finding| library.tests.get(&finding.test));
            (given.collect(), tests.map(|test| (test.id.to_string(), text_hash(test.texts()))).collect())
        }
        Prepared::SeeSomeone(_) => (Vec::new(), BTreeMap::new()),
    };
    Sheet {
        number,
        visit: visit.on,
        words: words_hash(words),
        kept: Some(kept),
        documents: Vec::new(),
        exercises,
        tests,
    }
}

fn given(item: &Item, library: &Library) -> Option<Given> {
    let exercise = library.exercises.get(&item.exercise)?;
    Some(Given {
        exercise: item.exercise.to_string(),
        side: item.sides.key().to_owned(),
        rung: item.rung + 1,
        sets: item.dose.sets,
        reps: item.dose.reps,
        hold_s: item.dose.hold_s,
        lower_s: item.dose.lower_s,
        rest_s: item.dose.rest_s,
        days: item.dose.days,
        text: text_hash(exercise.texts()),
    })
}
