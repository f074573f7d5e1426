//! The quality gate: what public instruments for printed health material ask, measured on the finished sheet.
//!
//! Each item passes, misses at named places, or does not apply. What only a person can judge is listed for the coach's
//! record and never counted; what needs the typeset pages is measured where there are any.

mod cdc;
mod cert;
mod gate;
mod passages;
mod pemat;

use serde::Serialize;

pub use gate::{BODY_PT, LARGE_BODY_PT};

use crate::plain::text::{Phrases, Text};
use crate::plain::{Count, Doubt, Lint, Plain};
use crate::word::handout::{Body, Exercise, Handout, Plan, SeeSomeone};
use crate::word::record::Record;
use passages::Passage;

/// A public instrument.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Instrument {
    /// PEMAT-P, understandability (AHRQ 2013).
    Understandability,
    /// PEMAT-P, actionability.
    Actionability,
    /// CDC Clear Communication Index (2014).
    Cdc,
    /// Consensus on Exercise Reporting Template (2016).
    Cert,
    /// The one-page gate of this tool.
    Gate,
}

impl Instrument {
    /// All, in the order of reports.
    pub const ALL: [Self; 5] = [Self::Understandability, Self::Actionability, Self::Cdc, Self::Cert, Self::Gate];

    /// Its name in tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::Understandability => "PEMAT-P understandability",
            Self::Actionability => "PEMAT-P actionability",
            Self::Cdc => "CDC clear communication",
            Self::Cert => "CERT",
            Self::Gate => "one-page gate",
        }
    }
}

/// One place where an item is not met.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Miss {
    /// The section and the exercise, if it is about one.
    pub place: String,
    /// What is there.
    pub text: String,
    /// What to do.
    pub cure: String,
}

/// What came of an item.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// Met everywhere.
    Pass,
    /// Not met here.
    Miss(Vec<Miss>),
    /// Nothing on the sheet that it could be about, and why.
    NotApplicable(&'static str),
    /// It takes what was not at hand: typeset pages, or the coach's record.
    NotMeasured(&'static str),
    /// Only a person can tell.
    Person,
}

/// One item of an instrument.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Item {
    /// Which instrument.
    pub instrument: Instrument,
    /// Its number there.
    pub id: &'static str,
    /// What it asks, in our words.
    pub about: &'static str,
    /// What came of it.
    pub outcome: Outcome,
}

/// How easily one section reads.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SectionScore {
    /// The section.
    pub section: String,
    /// Its words.
    pub words: usize,
    /// Its sentences.
    pub sentences: usize,
    /// By the language's formula.
    pub value: f64,
    /// The same without fixed names of body parts.
    pub without_body: f64,
    /// Whether there are words enough for the score to mean something.
    pub enough: bool,
    /// Whether it is as easy as is aimed at.
    pub easy: bool,
}

/// Points of an instrument.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Points {
    /// Items met.
    pub met: usize,
    /// Items that apply and could be measured.
    pub of: usize,
}

impl Points {
    /// Percent, rounded down; all if nothing applies.
    pub fn percent(self) -> usize {
        (self.met * 100).checked_div(self.of).unwrap_or(100)
    }
}

/// What the gate says of one sheet.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Report {
    /// Every item.
    pub items: Vec<Item>,
    /// The formula's name.
    pub formula: &'static str,
    /// Readability of each section, the whole first.
    pub sections: Vec<SectionScore>,
}

impl Report {
    /// The points of one instrument, by its own rules.
    pub fn points(&self, instrument: Instrument) -> Points {
        let mut points = Points { met: 0, of: 0 };
        for item in self.items.iter().filter(|item| item.instrument == instrument) {
            points.met += usize::from(item.outcome == Outcome::Pass);
            points.of += usize::from(matches!(item.outcome, Outcome::Pass | Outcome::Miss(_)));
        }
        points
    }

    /// Every miss with its item.
    pub fn misses(&self) -> impl Iterator<Item = (&Item, &Miss)> {
        self.items.iter().flat_map(|item| {
            let misses: &[Miss] = if let Outcome::Miss(misses) = &item.outcome { misses } else { &[] };
            misses.iter().map(move |miss| (item, miss))
        })
    }
}

/// The finished pages, as far as the gate asks about them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Paper {
    /// Pieces of text in the order of each page: the text and its size in points.
    pub pages: Vec<Vec<(String, f64)>>,
    /// The same on the other paper, if it was set on both.
    pub other: Vec<Vec<(String, f64)>>,
    /// Headings in the order of reading: level and text.
    pub headings: Vec<(usize, String)>,
}

/// What a sheet is measured with.
#[derive(Clone, Copy, Debug)]
pub struct With<'a> {
    /// The language's limits and lists.
    pub plain: &'a Plain,
    /// The coach's record of the visit.
    pub coach: Option<&'a Record>,
    /// The typeset pages.
    pub paper: Option<&'a Paper>,
}

/// Measures one sheet.
pub fn measure(sheet: &Handout, with: With<'_>) -> Report {
    let read = Read::new(sheet, with);
    let mut items = pemat::items(&read);
    items.extend(cdc::items(&read));
    items.extend(cert::items(&read));
    let so_far = Report { items, formula: with.plain.formula.name(), sections: read.sections.clone() };
    let gate = gate::items(&read, &so_far);
    let mut report = so_far;
    report.items.extend(gate);
    report
}

/// What came of looking: misses, or why there was nothing to look at.
enum Found {
    Misses(Vec<Miss>),
    NotApplicable(&'static str),
    NotMeasured(&'static str),
    Person,
}

impl From<Vec<Miss>> for Found {
    fn from(misses: Vec<Miss>) -> Self {
        Self::Misses(misses)
    }
}

fn item(instrument: Instrument, id: &'static str, about: &'static str, found: impl Into<Found>) -> Item {
    let outcome = match found.into() {
        Found::Misses(misses) if misses.is_empty() => Outcome::Pass,
        Found::Misses(misses) => Outcome::Miss(misses),
        Found::NotApplicable(why) => Outcome::NotApplicable(why),
        Found::NotMeasured(why) => Outcome::NotMeasured(why),
        Found::Person => Outcome::Person,
    };
    Item { instrument, id, about, outcome }
}

fn miss(place: impl Into<String>, text: impl Into<String>, cure: &str) -> Miss {
    Miss { place: place.into(), text: text.into(), cure: cure.to_owned() }
}

/// A miss unless something holds.
fn need(holds: bool, place: &str, text: &str, cure: &str) -> Vec<Miss> {
    if holds { Vec::new() } else { vec![miss(place, text, cure)] }
}

/// A sheet with everything that is read from it once.
struct Read<'a> {
    sheet: &'a Handout,
    with: With<'a>,
    plan: Option<&'a Plan>,
    see: Option<&'a SeeSomeone>,
    exercises: Vec<&'a Exercise>,
    passages: Vec<Passage<'a>>,
    doubts: Vec<(String, Doubt)>,
    /// Readability of the whole and of each section.
    sections: Vec<SectionScore>,
}

impl<'a> Read<'a> {
    fn new(sheet: &'a Handout, with: With<'a>) -> Self {
        let (plan, see) = match &sheet.body {
            Body::Plan(plan) => (Some(&**plan), None),
            Body::SeeSomeone { see } => (None, Some(&**see)),
        };
        let exercises = plan.iter().flat_map(|plan| &plan.phases).flat_map(|phase| &phase.exercises).collect();
        let passages = passages::of(sheet);
        let doubts = passages
            .iter()
            .flat_map(|passage| {
                let doubts = with.plain.doubts(&passage.text, passage.kind);
                doubts.into_iter().map(|doubt| (passage.place.clone(), doubt))
            })
            .collect();
        let sections = sections(&passages, with.plain);
        Self { sheet, with, plan, see, exercises, passages, doubts, sections }
    }

    /// Stumbling blocks of some kinds, as misses.
    fn lints(&self, lints: &[Lint]) -> Vec<Miss> {
        let wanted = self.doubts.iter().filter(|(_, doubt)| lints.contains(&doubt.lint));
        wanted.map(|(place, doubt)| miss(place, doubt.to_string(), &doubt.cure)).collect()
    }

    fn label(&self, key: &str) -> &str {
        self.sheet.labels[key].as_str().unwrap_or_default()
    }

    /// One miss for each exercise for which something does not hold.
    fn each(&self, holds: impl Fn(&Exercise) -> bool, text: &str, cure: &str) -> Vec<Miss> {
        let short = self.exercises.iter().filter(|exercise| !holds(exercise));
        short.map(|exercise| miss(passages::card(exercise), text, cure)).collect()
    }

    /// What to do first: the main message, or what the page that sends on says.
    fn act(&self) -> &'a [String] {
        self.see.map_or(self.sheet.message.main.as_slice(), |see| see.act.as_slice())
    }

    /// Sentences that tell the reader to do something.
    fn has_order(&self, texts: &[String]) -> bool {
        let lists = &self.with.plain.lists;
        texts.iter().flat_map(|text| Text::new(text).sentences).any(|sentence| {
            let first = sentence.words.iter().find(|word| !lists.before_verb.contains(*word));
            first.is_some_and(|word| lists.verbs.contains(word))
        })
    }

    /// Whether the sheet says any of these, in any of its texts.
    fn says(&self, phrases: &std::collections::BTreeSet<String>) -> bool {
        let bare: std::collections::BTreeSet<String> = phrases.iter().map(|phrase| phrase.replace(',', "")).collect();
        let mut sentences = self.passages.iter().flat_map(|passage| &passage.text.sentences);
        sentences.any(|sentence| !bare.standing_in(&sentence.words).is_empty())
    }
}

/// Readability of the whole and of each section.
fn sections(passages: &[Passage<'_>], plain: &Plain) -> Vec<SectionScore> {
    let mut counts: Vec<(&str, Count)> = vec![("whole sheet", Count::default())];
    for passage in passages {
        let count = plain.count(&passage.text, passage.kind);
        counts[0].1 += count;
        match counts.iter_mut().skip(1).find(|(section, _)| *section == passage.section) {
            Some((_, known)) => *known += count,
            None => counts.push((passage.section, count)),
        }
    }
    let scored = counts.into_iter().filter_map(|(section, count)| {
        let score = plain.score(count)?;
        Some(SectionScore {
            section: section.to_owned(),
            words: count.words,
            sentences: count.sentences,
            value: (score.value * 10.0).round() / 10.0,
            without_body: (score.without_body * 10.0).round() / 10.0,
            enough: count.words >= plain.limits.enough_words,
            easy: score.easy,
        })
    });
    scored.collect()
}

#[cfg(test)]
mod tests;
