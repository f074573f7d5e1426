//! The one-page gate of this tool (handout-quality section 7), over the other instruments and the typeset pages.

use std::collections::BTreeMap;

use super::cdc::squeezed;
use super::{Found, Instrument, Item, Miss, Outcome, Paper, Read, Report, item, miss, need, passages};
use crate::print::Type;

/// Smallest body type, in points (clear print, UKAAF 2012).
pub const BODY_PT: f64 = 12.0;
/// The same for large print.
pub const LARGE_BODY_PT: f64 = 18.0;
/// Labels may be smaller than the body, down to this share of it; tables and charts need it.
const LABEL_SHARE: f64 = 0.85;
/// What the index asks of a sheet that passes.
const CDC_PASS: usize = 90;
/// What most studies ask of PEMAT.
const PEMAT_PASS: usize = 70;
/// Items of CERT that no sheet may miss.
const CERT_MUSTS: [&str; 6] = ["1", "7a", "8", "13", "14b", "15"];

pub(super) fn items(read: &Read<'_>, report: &Report) -> Vec<Item> {
    let g = |id, about, found: Found| item(Instrument::Gate, id, about, found);
    let at_least = |instrument: Instrument, least: usize| -> Vec<Miss> {
        let percent = report.points(instrument).percent();
        let text = format!("{percent} %, less than {least}");
        need(percent >= least, instrument.name(), &text, "see the misses of that instrument")
    };
    let pemat: Vec<Miss> = [Instrument::Understandability, Instrument::Actionability]
        .into_iter()
        .flat_map(|instrument| at_least(instrument, PEMAT_PASS))
        .collect();
    vec![
        g("1", "a main message", need(!read.act().is_empty(), "the top", "there is none", "write one").into()),
        g("2", "PEMAT-P 70 or more, twice", pemat.into()),
        g("3", "CDC index 90 or more", at_least(Instrument::Cdc, CDC_PASS).into()),
        g("4", "no must of CERT is missing", musts(report)),
        g("5", "reads easily enough", reads(read, report).into()),
        g("6", "each caution on the page of its exercise", cautions(read)),
        g("7", "type is large enough", type_size(read)),
        g("9", "what a person must judge is in the record", review(read)),
    ]
}

fn musts(report: &Report) -> Found {
    let missing = report.items.iter().filter(|item| {
        item.instrument == Instrument::Cert && CERT_MUSTS.contains(&item.id) && matches!(item.outcome, Outcome::Miss(_))
    });
    missing
        .map(|item| miss("CERT", format!("item {}, {}", item.id, item.about), "see its misses"))
        .collect::<Vec<_>>()
        .into()
}

fn reads(read: &Read<'_>, report: &Report) -> Vec<Miss> {
    let hard = report.sections.iter().filter(|section| section.enough && !section.easy);
    hard.map(|section| {
        let text = format!("{} by {}, {} is aimed at", section.value, report.formula, read.with.plain.aim);
        miss(&section.section, text, "take shorter words and shorter sentences")
    })
    .collect()
}

/// Where an exercise's steps are, its cautions are on the same page or, in large type, on the next.
fn cautions(read: &Read<'_>) -> Found {
    let Some(paper) = read.with.paper else {
        return Found::NotMeasured("it takes the typeset pages");
    };
    let pages: Vec<String> =
        paper.pages.iter().map(|page| page.iter().map(|(text, _)| squeezed(text)).collect()).collect();
    let mut misses = Vec::new();
    for card in &read.exercises {
        let Some(first) = card.steps.first().map(|step| squeezed(step)) else {
            continue;
        };
        let reach = if read.sheet.doc.look.type_size == Type::Large { 3 } else { 1 };
        for (at, _) in pages.iter().enumerate().filter(|(_, page)| page.contains(&first)) {
            let near: String = pages[at..].iter().take(reach).map(String::as_str).collect();
            for caution in card.cautions.iter().chain(&card.for_you).filter(|text| !near.contains(&squeezed(text))) {
                misses.push(miss(passages::card(card), caution, "print it beside the steps"));
            }
        }
    }
    misses.into()
}

/// The size in which most of the text stands.
pub(super) fn body_size(paper: &Paper) -> f64 {
    let mut letters: BTreeMap<u32, usize> = BTreeMap::new();
    for (text, size) in paper.pages.iter().flatten() {
        *letters.entry((size * 100.0).round() as u32).or_default() += text.len();
    }
    letters.into_iter().max_by_key(|(_, count)| *count).map_or(0.0, |(size, _)| f64::from(size) / 100.0)
}

fn type_size(read: &Read<'_>) -> Found {
    let Some(paper) = read.with.paper else {
        return Found::NotMeasured("it takes the typeset pages");
    };
    let least = if read.sheet.doc.look.type_size == Type::Large { LARGE_BODY_PT } else { BODY_PT };
    let body = body_size(paper);
    let mut misses = need(
        body + 0.01 >= least,
        "the pages",
        &format!("most of the text is {body} pt"),
        "set it larger in layouts/theme.typ",
    );
    for (page, number) in paper.pages.iter().zip(1..) {
        if let Some((text, size)) = page.iter().find(|(_, size)| *size < LABEL_SHARE * least) {
            misses.push(miss(format!("page {number}"), format!("“{text}” is {size:.1} pt"), "set it larger"));
        }
    }
    misses.into()
}

fn review(read: &Read<'_>) -> Found {
    let Some(coach) = read.with.coach else {
        return Found::NotMeasured("it takes the coach's record");
    };
    need(!coach.judge.is_empty(), "the coach's record", "it lists nothing to judge", "print the list").into()
}
