//! The coach's record of a visit: the reasoning, written down.

use super::prepare::{Prepared, stale_answers};
use crate::assess::assess;
use crate::check::Practice;
use crate::diag::{Problem, Rule};
use crate::plan::plan;
use crate::print::Look;
use crate::record::{Client, Visit};
use crate::safety::{Fired, Gate, fired, gate};
use crate::word::Writer;
use crate::word::record::{Reasoning, Record};

/// The coach's record of a visit. A program that cannot be printed is a warning here: the record shows why.
pub(super) fn record_of(
    practice: &Practice,
    client: &Client,
    visit: &Visit,
    sheet: u32,
    look: Look,
) -> Result<(Record, Vec<Problem>), Vec<Problem>> {
    let library = &practice.library;
    let fired = fired(client, visit, library);
    let findings = assess(client, visit, library);
    let mut problems = Vec::new();
    if let Gate::Open { stale_since: Some(asked) } = gate(client, visit, library) {
        problems.push(stale_answers(client, visit, asked));
    }
    let program = if fired.iter().any(Fired::stops) {
        None
    } else {
        let (program, warnings) = plan(client, visit, &findings, library);
        problems.extend(warnings);
        program.map_err(|errors| problems.extend(errors)).ok()
    };
    let reasoning = Reasoning { findings: &findings, fired: &fired, program: program.as_ref() };
    Ok((written_record(practice, client, visit, &reasoning, sheet, look)?, problems))
}

/// The coach's record of a visit whose sheet is prepared: nothing is planned again.
pub(super) fn record_beside(
    practice: &Practice,
    client: &Client,
    visit: &Visit,
    prepared: &Prepared,
    sheet: u32,
    look: Look,
) -> Result<Record, Vec<Problem>> {
    let Prepared::Plan { findings, program } = prepared else {
        return record_of(practice, client, visit, sheet, look).map(|(record, _)| record);
    };
    let fired = fired(client, visit, &practice.library);
    let reasoning = Reasoning { findings, fired: &fired, program: Some(program) };
    written_record(practice, client, visit, &reasoning, sheet, look)
}

fn written_record(
    practice: &Practice,
    client: &Client,
    visit: &Visit,
    reasoning: &Reasoning<'_>,
    sheet: u32,
    look: Look,
) -> Result<Record, Vec<Problem>> {
    let writer = Writer::new(client, visit, &practice.library, &practice.brand, &practice.words);
    writer.record(reasoning, sheet, look).map_err(|error| {
        let message = format!("a text for this record cannot be filled in: {error}");
        let problem = Problem::about(Rule::BadTemplate, client.file.path.as_str(), message);
        vec![problem.help("correct the text in layouts/words").client(&client.id)]
    })
}
