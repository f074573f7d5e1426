//! The coach's own record of a visit: what was found, which rules fired, what was chosen and why. For the coach alone;
//! nothing of it goes to the client.
//!
//! Labels are standing texts; the reasons are the trade's words, in English.

mod program;
mod readings;
mod retest;
mod shape;

use crate::assess::Findings;
use crate::body::Side;
use crate::ids::{ExerciseId, FlagId, Id};
use crate::library::vocabulary::Level;
use crate::plan::Program;
use crate::print::Look;
use crate::record::{Override, Values};
use crate::safety::{self, Lift, Reason};
use crate::template::{Template, TemplateError};
use crate::word::Writer;
use crate::word::handout::{Doc, House, Person};
use crate::word::judge::QUESTIONS;
use program::chosen;
use shape::{Fact, GateLine, Head, Names, OverrideRow, RuleRow};

pub use shape::{NeedRow, ProgramRow, Record, Safety, TestPart};

/// What a record is made from.
#[derive(Clone, Copy, Debug)]
pub struct Reasoning<'a> {
    /// What was found.
    pub findings: &'a Findings,
    /// Every rule that fired.
    pub fired: &'a [safety::Fired],
    /// The program, if one may be printed.
    pub program: Option<&'a Program>,
}

const DASH: &str = "\u{2013}";

impl Writer<'_> {
    /// Writes the coach's record.
    ///
    /// # Errors
    /// If a standing text cannot be filled in.
    pub fn record(&self, reasoning: &Reasoning<'_>, sheet: u32, look: Look) -> Result<Record, TemplateError> {
        let date = self.visit.on;
        let program = reasoning.program;
        Ok(Record {
            doc: Doc {
                kind: "record",
                lang: self.words.language.clone(),
                region: self.brand.region.clone(),
                title: format!(
                    "{} {}, {}",
                    self.words.record.record_of.source(),
                    self.client.name,
                    self.date_long(date)?
                ),
                sheet,
                date: self.date_long(date)?,
                ymd: [i32::from(date.year()), i32::from(date.month()), i32::from(date.day())],
                // A record has one size of type.
                look: Look { type_size: crate::print::Type::Normal, ..look },
                draft: None,
            },
            studio: Names { name: self.brand.name.clone(), coach: self.coach.name.clone() },
            brand: House::of(self.brand),
            client: Person { name: self.client.name.clone() },
            labels: self.words.record_json(),
            head: self.head(sheet)?,
            safety: self.rules(reasoning),
            tests: reasoning.findings.tests.iter().filter_map(|finding| self.test_part(finding)).collect(),
            needs: self.need_rows(reasoning),
            chosen: program.filter(|program| !program.items.is_empty()).map(|p| chosen(p, reasoning.findings)),
            program: program.map(|program| self.program_rows(program, reasoning.findings)).unwrap_or_default(),
            minutes: program.map(|program| self.minutes(program)),
            stretch: program.map(|program| self.stretch_rows(program)).unwrap_or_default(),
            retest: program.and_then(|program| program.retest.as_ref()).map(|retest| self.retest_part(retest)),
            unmet: program.map(|program| self.unmet_rows(program, reasoning.findings)).unwrap_or_default(),
            left_out: program.map(|program| self.left_out_rows(program)).unwrap_or_default(),
            near_misses: program.map(|program| self.near_rows(program)).unwrap_or_default(),
            notes: program.map(|program| self.notes(program)).unwrap_or_default(),
            judge: QUESTIONS,
        })
    }

    fn head(&self, sheet: u32) -> Result<Head, TemplateError> {
        let client = self.client;
        let label = &self.words.record;
        let mut facts = Vec::new();
        let mut fact = |label: &Template, value: String| {
            if !value.is_empty() {
                facts.push(Fact { label: label.source().to_owned(), value });
            }
        };
        let ids = |ids: Vec<&str>| ids.join(", ");
        fact(&label.record, client.id.to_string());
        fact(&label.age, client.age_on(self.visit.on).map_or_else(String::new, |age| age.to_string()));
        fact(&label.visit, self.date_long(self.visit.on)?);
        fact(&label.coach, format!("{}, {}", self.coach.name, self.coach.role));
        fact(&label.sheet_number, if sheet == 0 { String::new() } else { sheet.to_string() });
        fact(&label.minutes_a_day, client.minutes_a_day.to_string());
        fact(&label.free_days, self.days_text(client.free_days)?);
        fact(&label.equipment, ids(client.equipment.iter().map(Id::as_str).collect()));
        fact(&label.lacks, ids(client.no_equipment.iter().map(Id::as_str).collect()));
        fact(&label.no_positions, ids(client.no_positions.iter().map(Id::as_str).collect()));
        if let Some((next, time)) = self.visit.next {
            fact(&label.next_visit, self.next_visit(next, time)?);
        }
        Ok(Head { title: format!("{} {}", label.record_of.source(), client.name), facts, goals: client.goals.clone() })
    }

    fn rules(&self, reasoning: &Reasoning<'_>) -> Safety {
        let (mut rules, mut missing, mut overrides, mut clearances) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        for fired in reasoning.fired {
            let (code, why) = match &fired.reason {
                Reason::Flag(flag) => (flag.to_string(), format!("Answered with yes: {}", self.question(flag))),
                Reason::Reading(test, flag) => (test.to_string(), format!("The reading answers yes to `{flag}`.")),
                Reason::Condition(condition) => {
                    (condition.to_string(), "Needs a clinician before exercise.".to_owned())
                }
                Reason::Form(name) => ("form".to_owned(), format!("{name} sends the client on.")),
                Reason::Lapsed(on) => ("screening".to_owned(), format!("The answers of {on} are too old.")),
                Reason::Unasked(flags) => {
                    missing.extend(flags.iter().map(ToString::to_string));
                    ("screening".to_owned(), "Not every question is answered: see below.".to_owned())
                }
            };
            let lifted = match &fired.lifted {
                None => String::new(),
                Some(Lift::Cleared(cleared)) => format!(" Cleared by {} on {}.", cleared.by, cleared.on),
                Some(Lift::Overridden(over)) => {
                    overrides.push(override_row(code.clone(), over));
                    " Set aside, see below.".to_owned()
                }
            };
            let icon = if fired.lifted.is_some() { "ok" } else { icon(fired.level) };
            rules.push(RuleRow { icon, level: fired.level.key(), code, reason: format!("{why}{lifted}") });
        }
        for held in safety::held(self.client, self.visit, self.library) {
            let Some(known) = self.library.vocabulary.conditions.get(&held.condition) else { continue };
            let place = held.region.as_ref().map_or_else(String::new, |region| format!(", at the {region}"));
            if let Some(cleared) = &held.cleared {
                clearances.push(format!("{}: {} on {}", held.condition, cleared.by, cleared.on));
            }
            if !known.level.stops_program() {
                rules.push(RuleRow {
                    icon: icon(known.level),
                    level: known.level.key(),
                    code: held.condition.to_string(),
                    reason: format!("{}{place}.", known.name),
                });
            }
        }
        for item in reasoning.program.into_iter().flat_map(|program| &program.items) {
            overrides.extend(item.overridden.iter().map(|over| override_row(item.exercise.to_string(), over)));
        }
        let closed = reasoning.fired.iter().find(|fired| fired.stops());
        let label = &self.words.record;
        let (icon, word, why) = match closed {
            Some(fired) => (icon(fired.level), &label.gate_closed, fired.level.key().to_owned()),
            None => ("ok", &label.gate_open, String::new()),
        };
        let gate = GateLine { icon, word: word.source().to_owned(), why };
        Safety { gate, rules, overrides, clearances, missing, pain: self.places() }
    }

    fn question(&self, flag: &FlagId) -> String {
        self.library.vocabulary.flags.get(flag).map_or_else(|| flag.to_string(), |known| known.ask.clone())
    }

    /// Pain in tests, sore places, open referrals.
    fn places(&self) -> Vec<String> {
        let mut places = Vec::new();
        for (id, reading) in &self.visit.readings {
            let name = self.library.tests.get(id).map_or(id.as_str(), |test| &test.name);
            let sided = matches!(reading.values, Values::Sided(_));
            match (reading.pain.left, reading.pain.right) {
                (0, 0) => {}
                (pain, _) if !sided => places.push(format!("{name}: {pain} of 10")),
                (left, right) => places.push(format!("{name}: left {left}, right {right} of 10")),
            }
        }
        for sore in &self.visit.sore {
            places.push(format!("sore: {} {}", sore.side.map_or("both sides of the", Side::key), sore.region));
        }
        for referral in self.client.referrals.iter().filter(|referral| referral.is_open(self.visit.on)) {
            let side = referral.side.map_or("both sides of the", Side::key);
            places.push(format!(
                "sent to {} on {} for the {side} {}: {}",
                referral.to, referral.on, referral.region, referral.why
            ));
        }
        places
    }

    pub(super) fn name_of(&self, id: &ExerciseId) -> String {
        self.library.exercises.get(id).map_or_else(|| id.to_string(), |exercise| exercise.name.clone())
    }
}

fn icon(level: Level) -> &'static str {
    match level {
        Level::Emergency | Level::SameDay => "stop",
        Level::ReferBefore => "call",
        Level::Modify | Level::Caution => "caution",
    }
}

fn override_row(rule: String, over: &Override) -> OverrideRow {
    OverrideRow { rule, who: over.by.to_string(), when: over.on.to_string(), why: over.why.clone() }
}
