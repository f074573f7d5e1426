//! The quality gate over finished sheets: what it is measured with, and what it says as problems.

use std::cell::LazyCell;

use super::coach::record_beside;
use super::prepare::Prepared;
use crate::check::{Practice, own_doubts};
use crate::diag::{Problem, Rule};
use crate::quality::{Instrument, Item, Miss, Paper, Report, With, measure};
use crate::record::Client;
use crate::typeset::{Facts, PageFacts};
use crate::word::handout::Handout;

/// Measures a sheet, with the facts of the papers that it was set on, its own first; `None` if nothing says how plain its
/// language must be.
pub(super) fn gauge(
    practice: &Practice,
    client: &Client,
    prepared: &Prepared,
    sheet: &Handout,
    papers: &[Facts],
) -> Option<Report> {
    let plain = practice.plain.get(&sheet.doc.lang)?;
    let on = |visit: &&crate::record::Visit| {
        sheet.doc.ymd == [i32::from(visit.on.year()), i32::from(visit.on.month()), i32::from(visit.on.day())]
    };
    let visit = client.visits.iter().find(on);
    let beside = |visit| record_beside(practice, client, visit, prepared, sheet.doc.sheet, sheet.doc.look).ok();
    let coach = visit.and_then(beside);
    let pieces = |facts: &Facts| -> Vec<Vec<(String, f64)>> {
        let page = |page: &PageFacts| page.pieces.iter().map(|piece| (piece.text.clone(), piece.size)).collect();
        facts.pages.iter().map(page).collect()
    };
    let paper = papers.first().map(|own| Paper {
        pages: pieces(own),
        other: papers.get(1).map_or_else(Vec::new, pieces),
        headings: own.pages.iter().flat_map(|page| page.headings.iter().cloned()).collect(),
    });
    Some(measure(sheet, With { plain, coach: coach.as_ref(), paper: paper.as_ref() }))
}

/// Every miss as a warning about the record, with its place and cure; one that several items share is said once, and one in
/// the brand's own lines not at all, since a check tells it at the brand.
pub(super) fn misses(practice: &Practice, report: &Report, client: &Client) -> Vec<Problem> {
    let own = LazyCell::new(|| own_doubts(practice));
    let mut said: Vec<(&Miss, Vec<String>)> = Vec::new();
    // The gate's second to fifth items only add up what the others have said.
    let adds_up = |item: &Item| item.instrument == Instrument::Gate && ["2", "3", "4", "5"].contains(&item.id);
    for (item, miss) in report.misses().filter(|(item, miss)| !adds_up(item) && !own.contains(&miss.text)) {
        let name = format!("{} {}, {}", item.instrument.name(), item.id, item.about);
        match said.iter_mut().find(|(known, _)| known.place == miss.place && known.text == miss.text) {
            Some((_, names)) => names.push(name),
            None => said.push((miss, vec![name])),
        }
    }
    let problem = |(miss, names): (&Miss, Vec<String>)| {
        let message = format!("{}: {} ({})", miss.place, miss.text, names.join("; "));
        Problem::about(Rule::Quality, client.file.path.as_str(), message).help(miss.cure.clone()).client(&client.id)
    };
    said.into_iter().map(problem).collect()
}
