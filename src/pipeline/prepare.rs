//! One visit of one client, from its record to the words and pictures of a sheet.

use jiff::civil::Date;

use crate::assess::{Findings, assess};
use crate::body::Side;
use crate::check::Practice;
use crate::diag::{Problem, Rule};
use crate::draw::Subject;
use crate::ledger::hash;
use crate::plan::{Program, plan};
use crate::print::Look;
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

pub(super) fn write(
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
    illustrate(practice, prepared, &mut handout, look);
    // A logo that cannot be used has been reported; the sheet does without it.
    if practice.logo.is_none() {
        handout.studio.logo_src = None;
    }
    Ok(handout)
}

/// Adds to each exercise card without pictures of its own those drawn from poses, for its side.
fn illustrate(practice: &Practice, prepared: &Prepared, handout: &mut Handout, look: Look) {
    let (Prepared::Plan { program, .. }, Body::Plan(plan)) = (prepared, &mut handout.body) else {
        return;
    };
    let wanted: Vec<_> =
        program.items.iter().map(|item| (Subject::Exercise(item.exercise.clone()), item.sides.shown())).collect();
    practice.studio.prepare(&wanted, look.ink);
    let cards = plan.phases.iter_mut().flat_map(|phase| &mut phase.exercises);
    for (card, item) in cards.zip(&program.items).filter(|(card, _)| card.frames.is_empty()) {
        let side = item.sides.shown();
        let subject = Subject::Exercise(item.exercise.clone());
        let Some(figures) = practice.studio.figures(&subject, side, look.ink) else { continue };
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

/// Hash of a sheet's words and numbers, whatever it is printed on, however its pictures are drawn and whatever its other
/// papers are called.
pub(super) fn words_hash(handout: &Handout) -> String {
    fn strip(value: &mut serde_json::Value) {
        match value {
            serde_json::Value::Object(fields) => {
                fields.retain(|key, _| !matches!(key.as_str(), "look" | "svg" | "ratio" | "papers"));
                fields.values_mut().for_each(strip);
            }
            serde_json::Value::Array(items) => items.iter_mut().for_each(strip),
            _ => {}
        }
    }
    let mut json = serde_json::to_value(handout).expect("sheets are plain data");
    strip(&mut json);
    hash(json.to_string().as_bytes())
}
