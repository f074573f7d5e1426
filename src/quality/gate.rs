//! The one-page gate of this tool (handout-quality section 7), over the other instruments and the typeset pages.

use std::collections::BTreeMap;

use serde_json::Value as Json;

use super::cdc::squeezed;
use super::{Found, Instrument, Item, Miss, Outcome, Paper, Read, Report, item, miss, need, passages};
use crate::brand::Colour;
use crate::brand::contrast::pairs;
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
        g("7", "contrast, and size of type on each paper", seen(read)),
        g("8", "headings, words and title for listeners", heard(read)),
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
    let mut misses = Vec::new();
    for pages in [&paper.pages, &paper.other] {
        misses.extend(cautions_on(read, pages));
    }
    misses.into()
}

fn cautions_on(read: &Read<'_>, pages: &[Vec<(String, f64)>]) -> Vec<Miss> {
    let pages: Vec<String> = pages.iter().map(|page| page.iter().map(|(text, _)| squeezed(text)).collect()).collect();
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
    misses
}

/// The size in which most of the text stands.
pub(super) fn body_size(paper: &Paper) -> f64 {
    let mut letters: BTreeMap<u32, usize> = BTreeMap::new();
    for (text, size) in paper.pages.iter().flatten() {
        *letters.entry((size * 100.0).round() as u32).or_default() += text.len();
    }
    letters.into_iter().max_by_key(|(_, count)| *count).map_or(0.0, |(size, _)| f64::from(size) / 100.0)
}

/// Every pair of colours that the layouts mix, in colour and in grey, and the size of type.
fn seen(read: &Read<'_>) -> Found {
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
    let pages = paper.pages.iter().zip(1..);
    for (page, number) in pages.chain(paper.other.iter().zip(1..)) {
        if let Some((text, size)) = page.iter().find(|(_, size)| *size < LABEL_SHARE * least) {
            misses.push(miss(format!("page {number}"), format!("“{text}” is {size:.1} pt"), "set it larger"));
        }
    }
    let colours = &read.sheet.brand;
    if let (Some(ink), Some(accent)) = (Colour::from_hex(&colours.ink), Colour::from_hex(&colours.accent)) {
        for pair in pairs(ink, accent).iter().filter(|pair| pair.is_weak()) {
            let text = format!("{}: {:.1} to 1, less than {}", pair.what, pair.ratio, pair.least);
            misses.push(miss("the colours", text, "take a darker colour in layouts/brand.toml"));
        }
    }
    misses.into()
}

/// What can be measured of PDF/UA before the export, which itself refuses whatever breaks the standard: headings that
/// step down one level at a time under a single first one, words for every picture, a title that gives nothing away.
fn heard(read: &Read<'_>) -> Found {
    let Some(paper) = read.with.paper else {
        return Found::NotMeasured("it takes the typeset pages");
    };
    let mut misses = Vec::new();
    let mut level = 0;
    for (number, (this, text)) in paper.headings.iter().enumerate() {
        if *this > level + 1 || (*this == 1) != (number == 0) {
            let text = format!("“{text}” is a heading of level {this} after one of level {level}");
            misses.push(miss("the headings", text, "step down one level at a time, under one heading of level 1"));
        }
        level = *this;
    }
    misses.extend(need(level > 0, "the headings", "there is none", "give each part a heading"));
    let sheet = serde_json::to_value(read.sheet).expect("sheets are plain data");
    if unnamed(&sheet) {
        misses.push(miss("the pictures", "one has no words for listeners", "write its `alt`"));
    }
    let title = &read.sheet.doc.title;
    misses.extend(need(!title.is_empty(), "the title", "there is none", "write `title` in layouts/words"));
    for finding in read.plan.iter().flat_map(|plan| &plan.findings).filter(|it| title.contains(&it.title)) {
        misses.push(miss("the title", &finding.title, "leave findings out: it stands in every list of files"));
    }
    misses.into()
}

/// Whether anything in it that is to be seen has no words.
fn unnamed(value: &Json) -> bool {
    match value {
        Json::Object(fields) => {
            fields.get("alt").is_some_and(|alt| alt.as_str().is_none_or(|alt| alt.trim().is_empty()))
                || fields.values().any(unnamed)
        }
        Json::Array(items) => items.iter().any(unnamed),
        Json::Null | Json::Bool(_) | Json::Number(_) | Json::String(_) => false,
    }
}

fn review(read: &Read<'_>) -> Found {
    let Some(coach) = read.with.coach else {
        return Found::NotMeasured("it takes the coach's record");
    };
    need(!coach.judge.is_empty(), "the coach's record", "it lists nothing to judge", "print the list").into()
}
