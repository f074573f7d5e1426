//! The coach's own record of a visit: what was found, which rules fired, what was chosen and why. For the coach alone;
//! nothing of it goes to the client.
//!
//! Labels are standing texts; the reasons are the trade's words, in English.

use std::collections::BTreeMap;

use serde::Serialize;
use serde_json::Value as Json;

use super::Writer;
use super::handout::{Colours, Doc, Person};
use super::judge::{QUESTIONS, Question};
use crate::assess::{Band, Basis, Change, Finding, Findings, Need, Origin, change};
use crate::body::{Side, Sides};
use crate::ids::{ExerciseId, FlagId, Id, TestId};
use crate::library::test::{Reference, Test};
use crate::library::vocabulary::Level;
use crate::plan::{self, Bar, Item, Miss, Program};
use crate::print::Look;
use crate::record::{Override, Values};
use crate::safety::{self, Lift, Reason};
use crate::template::{Template, TemplateError};
use crate::units::{Amount, Unit};

/// The coach's record of one visit.
#[derive(Clone, Debug, Serialize)]
pub struct Record {
    /// What kind of document, whose, when.
    pub doc: Doc,
    /// Who prints.
    pub studio: Names,
    /// Colours.
    pub brand: Colours,
    /// The client's name.
    pub client: Person,
    /// Standing labels.
    pub labels: Json,
    /// Who, when, with how much time.
    pub head: Head,
    /// Every rule that fired.
    pub safety: Safety,
    /// What was measured.
    pub tests: Vec<TestPart>,
    /// What it adds up to, strongest first.
    pub needs: Vec<NeedRow>,
    /// Who chose the program, and what it is worth.
    pub chosen: Option<String>,
    /// The program.
    pub program: Vec<ProgramRow>,
    /// Minutes used and given.
    pub minutes: Option<Minutes>,
    /// Stretch in a week.
    pub stretch: Vec<StretchRow>,
    /// What changed since the last visit, if there was one with a program.
    pub retest: Option<RetestPart>,
    /// Needs that nothing can meet.
    pub unmet: Vec<UnmetRow>,
    /// What is not for this client, by reason.
    pub left_out: Vec<LeftOutRow>,
    /// Exercises that nearly got in.
    pub near_misses: Vec<NearRow>,
    /// What else to know.
    pub notes: Vec<String>,
    /// What only a person can judge of the sheet.
    pub judge: &'static [Question],
}

/// Who prints.
#[derive(Clone, Debug, Serialize)]
pub struct Names {
    /// The practice.
    pub name: String,
    /// The coach.
    pub coach: String,
}

/// Who, when, with how much time.
#[derive(Clone, Debug, Serialize)]
pub struct Head {
    /// Title.
    pub title: String,
    /// Facts about client and visit.
    pub facts: Vec<Fact>,
    /// Goals in the client's words.
    pub goals: Vec<String>,
}

/// A fact with its label.
#[derive(Clone, Debug, Serialize)]
pub struct Fact {
    /// The label.
    pub label: String,
    /// The fact.
    pub value: String,
}

/// Every rule that fired.
#[derive(Clone, Debug, Serialize)]
pub struct Safety {
    /// Whether a program may be printed.
    pub gate: GateLine,
    /// Rules that fired, strictest first.
    pub rules: Vec<RuleRow>,
    /// What a coach set aside.
    pub overrides: Vec<OverrideRow>,
    /// Consents that hold.
    pub clearances: Vec<String>,
    /// Questions without an answer.
    pub missing: Vec<String>,
    /// Pain in tests, sore places, open referrals.
    pub pain: Vec<String>,
}

/// Whether a program may be printed.
#[derive(Clone, Debug, Serialize)]
pub struct GateLine {
    /// Its sign.
    pub icon: &'static str,
    /// The answer.
    pub word: String,
    /// Why.
    pub why: String,
}

/// A rule that fired.
#[derive(Clone, Debug, Serialize)]
pub struct RuleRow {
    /// Its sign.
    pub icon: &'static str,
    /// Its level.
    pub level: &'static str,
    /// The question, condition or test.
    pub code: String,
    /// Why it fired, and what lifts it.
    pub reason: String,
}

/// What a coach set aside.
#[derive(Clone, Debug, Serialize)]
pub struct OverrideRow {
    /// The rule.
    pub rule: String,
    /// Who.
    pub who: String,
    /// When.
    pub when: String,
    /// Why.
    pub why: String,
}

/// One test.
#[derive(Clone, Debug, Serialize)]
pub struct TestPart {
    /// The test.
    pub name: String,
    /// The usual range.
    pub reference: String,
    /// The smallest change that is real.
    pub error: String,
    /// Signs seen.
    pub signs: Vec<String>,
    /// One for each side, or one alone.
    pub lanes: Vec<Lane>,
}

/// One side of a test.
#[derive(Clone, Debug, Serialize)]
pub struct Lane {
    /// The side; empty if the test has none.
    pub side: String,
    /// The reading.
    pub now: String,
    /// The last one.
    pub before: String,
    /// The change, and whether it is real.
    pub change: String,
    /// The verdict.
    pub verdict: String,
    /// Whether it is limited.
    pub focus: bool,
    /// A drawing of it.
    pub bar: Option<Strip>,
}

/// A drawing of a reading, all numbers in one scale.
#[derive(Clone, Debug, Serialize)]
pub struct Strip {
    /// Left end.
    pub min: f64,
    /// Right end.
    pub max: f64,
    /// The usual range.
    pub usual: Option<[f64; 2]>,
    /// The reading.
    pub at: f64,
    /// The last one.
    pub before: Option<f64>,
    /// The smallest change that is real.
    pub error: Option<f64>,
}

/// One need.
#[derive(Clone, Debug, Serialize)]
pub struct NeedRow {
    /// The structure.
    pub structure: String,
    /// Its state.
    pub state: &'static str,
    /// Its side.
    pub side: String,
    /// Weight, 0 to 1.
    pub weight: f64,
    /// The weight, and how much of it the program covers.
    pub weight_text: String,
    /// What speaks for it.
    #[serde(rename = "for")]
    pub speaks_for: Vec<Evidence>,
    /// What speaks against it.
    pub against: Vec<Evidence>,
}

/// One piece of evidence.
#[derive(Clone, Debug, Serialize)]
pub struct Evidence {
    /// Working weight.
    pub weight: String,
    /// What was seen.
    pub text: String,
}

/// One exercise of the program.
#[derive(Clone, Debug, Serialize)]
pub struct ProgramRow {
    /// Its number.
    pub n: u32,
    /// Its name.
    pub name: String,
    /// Its rung.
    pub rung: String,
    /// Its side.
    pub side: String,
    /// Its dose.
    pub dose: String,
    /// Days of the week.
    pub days: String,
    /// Minutes a session.
    pub minutes: String,
    /// Need that would be left uncovered without it.
    pub gain: String,
    /// What it works on, the coach's own reason, and the reasons for its rung.
    pub why: String,
    /// Whether a finding or the coach's own reason led to it.
    pub led_to: bool,
}

/// Minutes used and given.
#[derive(Clone, Debug, Serialize)]
pub struct Minutes {
    /// In one sentence.
    pub words: String,
    /// On each day of the week.
    pub days: Vec<DayMinutes>,
}

/// Minutes of one day.
#[derive(Clone, Debug, Serialize)]
pub struct DayMinutes {
    /// The day.
    pub day: String,
    /// Used.
    pub used: String,
    /// Given.
    pub given: String,
}

/// What a muscle gets of stretch in a week.
#[derive(Clone, Debug, Serialize)]
pub struct StretchRow {
    /// The muscle.
    pub structure: String,
    /// Its side.
    pub side: String,
    /// Seconds a week.
    pub total: String,
    /// What the trade aims at.
    pub aim: String,
    /// What is wrong with it.
    pub warning: Option<String>,
}

/// What changed since the last visit.
#[derive(Clone, Debug, Serialize)]
pub struct RetestPart {
    /// How the last program was kept up, what happened, whom to see, how many comparisons there are.
    pub notes: Vec<String>,
    /// One a test and side.
    pub changes: Vec<ChangeLine>,
    /// One an exercise of the last program.
    pub decisions: Vec<DecisionLine>,
}

/// One test on one side over all visits.
#[derive(Clone, Debug, Serialize)]
pub struct ChangeLine {
    /// Side and test.
    pub name: String,
    /// The readings, oldest first.
    pub values: String,
    /// The change since the last, and whether it is real.
    pub last: String,
    /// The same since the first.
    pub whole: String,
}

/// What becomes of one exercise.
#[derive(Clone, Debug, Serialize)]
pub struct DecisionLine {
    /// The exercise as it was given.
    pub name: String,
    /// How it went.
    pub went: String,
    /// What the rules say, and why.
    pub advice: String,
    /// What is done, and the coach's reason if it is something else.
    pub decision: String,
}

/// A need that nothing can meet.
#[derive(Clone, Debug, Serialize)]
pub struct UnmetRow {
    /// The need.
    pub need: String,
    /// Why.
    pub why: String,
    /// What would change that.
    pub unlock: String,
}

/// What is not for this client, for one reason.
#[derive(Clone, Debug, Serialize)]
pub struct LeftOutRow {
    /// The exercises.
    pub name: String,
    /// The rule.
    pub rule: String,
    /// The reason.
    pub reason: String,
}

/// An exercise that nearly got in.
#[derive(Clone, Debug, Serialize)]
pub struct NearRow {
    /// Its name and side.
    pub name: String,
    /// Why it is not in.
    pub reason: String,
}

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

pub(super) const DASH: &str = "\u{2013}";

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
            brand: Colours { ink: self.brand.ink.to_hex(), accent: self.brand.accent.to_hex() },
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

    fn test_part(&self, finding: &Finding) -> Option<TestPart> {
        let test = self.library.tests.get(&finding.test)?;
        let sided = matches!(finding.values, Values::Sided(_));
        let sides: &[Side] = if sided { &Side::BOTH } else { &[Side::Left] };
        let lanes = sides.iter().map(|side| self.lane(finding, test, *side, sided)).collect();
        let signs = finding.signs.iter().map(|(side, id)| {
            let see = test.signs.iter().find(|sign| sign.id == *id).map_or(id.as_str(), |sign| &sign.see);
            side.map_or_else(|| see.to_owned(), |side| format!("{see} ({})", side.key()))
        });
        Some(TestPart {
            name: test.name.clone(),
            reference: finding.reference.as_ref().map_or_else(|| DASH.to_owned(), |range| self.range(test, range)),
            error: match &test.error {
                Some(error) => self.value(test, error.mdc95),
                None => "unknown".to_owned(),
            },
            signs: signs.collect(),
            lanes,
        })
    }

    fn lane(&self, finding: &Finding, test: &Test, side: Side, sided: bool) -> Lane {
        let now = finding.values.on(side);
        let before = finding.previous.as_ref().and_then(|(_, values)| values.on(side));
        let show = |amount: Option<_>| amount.map_or_else(|| DASH.to_owned(), |amount| self.value(test, amount));
        let change = match (before, now) {
            (Some(before), Some(now)) => {
                let sign = if now > before { "+" } else { "" };
                let by = format!("{sign}{}", self.number(test, now.minus(before)));
                format!("{by}, {}", change_word(change(test, before, now)))
            }
            _ => DASH.to_owned(),
        };
        let verdict = finding.verdicts.get(side);
        let words = match verdict {
            None if finding.painful => "hurt",
            None => "no verdict",
            Some(verdict) => match (verdict.band, verdict.basis) {
                (Band::Limited, Basis::Reference) => "limited",
                (Band::Limited, Basis::OtherSide) => "less than the other side",
                (Band::AboutUsual, _) => "about usual",
                (Band::MoreThanUsual, _) => "more than usual",
            },
        };
        let bar = now.filter(|_| test.unit != Unit::Grade).map(|now| {
            let axis = self.axis(test);
            let at = |amount| self.shown(test, amount).to_f64();
            let usual = finding.reference.as_ref().map(|range| {
                [range.low.map_or(axis.min, at), range.high.map_or(axis.max, at)]
                    .map(|edge| edge.clamp(axis.min, axis.max))
            });
            Strip {
                min: axis.min,
                max: axis.max,
                usual,
                at: at(now),
                before: before.map(at),
                error: test.error.as_ref().map(|error| at(error.mdc95)),
            }
        });
        Lane {
            side: if sided { self.side_label(side).to_owned() } else { String::new() },
            now: show(now),
            before: show(before),
            change,
            verdict: words.to_owned(),
            focus: verdict.is_some_and(|verdict| verdict.band == Band::Limited),
            bar,
        }
    }

    fn range(&self, test: &Test, range: &Reference) -> String {
        match (range.low, range.high) {
            (Some(low), Some(high)) => format!("{} to {}", self.number_or_grade(test, low), self.value(test, high)),
            (Some(low), None) => format!("{} or more", self.value(test, low)),
            (None, Some(high)) => format!("up to {}", self.value(test, high)),
            (None, None) => DASH.to_owned(),
        }
    }

    fn number_or_grade(&self, test: &Test, amount: Amount) -> String {
        if test.unit == Unit::Grade { self.value(test, amount) } else { self.number(test, amount) }
    }

    fn need_rows(&self, reasoning: &Reasoning<'_>) -> Vec<NeedRow> {
        let covered = |index: usize| reasoning.program.and_then(|p| p.reasons.covered.get(index)).copied();
        let row = |(index, need): (usize, &Need)| {
            let mut evidence: Vec<(&Origin, f64)> = need.evidence.iter().map(|(o, w)| (o, *w)).collect();
            evidence.sort_by(|a, b| b.1.total_cmp(&a.1));
            let (against, speaks_for): (Vec<_>, Vec<_>) =
                evidence.into_iter().partition(|(origin, _)| matches!(origin, Origin::Fine(_)));
            let rows = |list: Vec<(&Origin, f64)>, sign: &str| {
                let one = |(origin, weight): (&Origin, f64)| Evidence {
                    weight: format!("{sign}{weight:.2}"),
                    text: self.origin(origin),
                };
                list.into_iter().map(one).collect()
            };
            let share = covered(index).map_or_else(String::new, |share| format!(", {:.0} % covered", share * 100.0));
            NeedRow {
                structure: plan::spoken(&need.structure, None, self.library),
                state: need.state.key(),
                side: need.side.map_or("", Side::key).to_owned(),
                weight: need.weight,
                weight_text: format!("{:.2}{share}", need.weight),
                speaks_for: rows(speaks_for, "+"),
                against: rows(against, "\u{2212}"),
            }
        };
        reasoning.findings.needs.iter().enumerate().map(row).collect()
    }

    fn origin(&self, origin: &Origin) -> String {
        let name = |id: &TestId| self.library.tests.get(id).map_or_else(|| id.to_string(), |test| test.name.clone());
        match origin {
            Origin::Reading(test) => format!("{} is limited", name(test)),
            Origin::Fine(test) => format!("{} came out well", name(test)),
            Origin::Sign(test, sign) => {
                let seen = self.library.tests.get(test).and_then(|test| test.signs.iter().find(|s| s.id == *sign));
                format!("{}: {}", name(test), seen.map_or(sign.as_str(), |sign| &sign.see))
            }
        }
    }

    pub(super) fn name_of(&self, id: &ExerciseId) -> String {
        self.library.exercises.get(id).map_or_else(|| id.to_string(), |exercise| exercise.name.clone())
    }

    fn program_rows(&self, program: &Program, findings: &Findings) -> Vec<ProgramRow> {
        program.items.iter().map(|item| self.program_row(item, findings)).collect()
    }

    fn program_row(&self, item: &Item, findings: &Findings) -> ProgramRow {
        let exercise = self.library.exercises.get(&item.exercise);
        let parts = exercise.map_or_else(Vec::new, |exercise| self.dose(exercise, &item.dose, item.sides));
        let dose: Vec<String> = parts.into_iter().map(|part| format!("{} {}", part.n, part.unit)).collect();
        let mut needs: Vec<(&Need, f64)> =
            item.covers.iter().filter_map(|(need, share)| Some((findings.needs.get(*need)?, *share))).collect();
        needs.sort_by(|a, b| (b.0.weight * b.1).total_cmp(&(a.0.weight * a.1)));
        let works_on: Vec<String> = needs.iter().map(|(need, _)| plan::named(need, self.library)).collect();
        let led_to = !works_on.is_empty() || item.because.is_some();
        let mut works_on = if works_on.is_empty() { "No need found for it".to_owned() } else { works_on.join("; ") };
        if let Some(because) = &item.because {
            works_on = format!("{works_on}. The coach: {}", because.trim_end_matches('.'));
        }
        let rungs = self.library.exercises.get(&item.exercise).map_or(0, |exercise| exercise.rungs.len());
        let two = &self.words.weekdays[2];
        let days: Vec<&str> = (0..7).filter(|day| item.days[*day]).map(|day| two[day].as_str()).collect();
        ProgramRow {
            n: item.number,
            name: self.name_of(&item.exercise),
            rung: format!("Rung {} of {rungs}", item.rung + 1),
            side: side_word(item.sides).to_owned(),
            dose: dose.join(", "),
            days: days.join(" "),
            minutes: item.minutes().to_string(),
            gain: format!("{:.2}", item.gain),
            why: format!("{works_on}. {}", item.why.join(" ")).trim_end().to_owned(),
            led_to,
        }
    }

    fn minutes(&self, program: &Program) -> Minutes {
        let most = program.minutes.iter().copied().max().unwrap_or(0);
        let given = self.client.minutes_a_day;
        let free = self.client.free_days;
        let total: u32 = program.minutes.iter().sum();
        let days = (0..7).map(|day| DayMinutes {
            day: self.words.weekdays[1][day].clone(),
            used: if program.minutes[day] == 0 { DASH.to_owned() } else { program.minutes[day].to_string() },
            given: if free[day] { given.to_string() } else { DASH.to_owned() },
        });
        Minutes { words: format!("{most} of {given} on the fullest day; {total} in the week."), days: days.collect() }
    }

    fn stretch_rows(&self, program: &Program) -> Vec<StretchRow> {
        let (least, enough) = self.library.planning.weekly_stretch_s;
        let row = |stretch: &plan::Stretch| StretchRow {
            structure: plan::spoken(&stretch.structure, None, self.library),
            side: stretch.side.map_or(DASH, Side::key).to_owned(),
            total: format!("{} s", stretch.seconds),
            aim: format!("{least} to {enough} s"),
            warning: match stretch.seconds {
                seconds if seconds < least => Some("less than is usual for lasting change".to_owned()),
                seconds if seconds > enough => Some("more than brings further gain".to_owned()),
                _ => None,
            },
        };
        program.reasons.stretch.iter().map(row).collect()
    }

    fn unmet_rows(&self, program: &Program, findings: &Findings) -> Vec<UnmetRow> {
        let row = |unmet: &plan::Unmet| {
            let need = findings.needs.get(unmet.need)?;
            let words: Vec<(String, &str)> = unmet.bars.iter().map(|bar| bar.words(self.library)).collect();
            let list = |words: Vec<&str>, none: &str| {
                let mut seen = Vec::new();
                words.into_iter().for_each(|word| {
                    if !seen.contains(&word) {
                        seen.push(word)
                    }
                });
                if seen.is_empty() { none.to_owned() } else { seen.join("; ") }
            };
            Some(UnmetRow {
                need: plan::named(need, self.library),
                why: list(words.iter().map(|(why, _)| why.as_str()).collect(), "the library has no exercise for it"),
                unlock: list(words.iter().map(|(_, cure)| *cure).collect(), "add an exercise for it"),
            })
        };
        program.reasons.unmet.iter().filter_map(row).collect()
    }

    /// What is not for this client, one row a reason.
    fn left_out_rows(&self, program: &Program) -> Vec<LeftOutRow> {
        let mut by_reason: BTreeMap<&Bar, Vec<String>> = BTreeMap::new();
        for barred in &program.reasons.barred {
            for bar in &barred.bars {
                by_reason.entry(bar).or_default().push(self.name_of(&barred.exercise));
            }
        }
        let row = |(bar, names): (&Bar, Vec<String>)| LeftOutRow {
            name: names.join(", "),
            rule: bar.code(),
            reason: bar.words(self.library).0,
        };
        by_reason.into_iter().map(row).collect()
    }

    fn near_rows(&self, program: &Program) -> Vec<NearRow> {
        let row = |near: &plan::NearMiss| {
            let why = match near.why {
                Miss::AddsLittle => "that is less than it costs to keep up",
                Miss::Full => "the program is full",
                Miss::NoTime => "it does not fit into the minutes",
                Miss::First => "what must come first is not in the program",
                Miss::CoachsChoice => "it would fit, but the coach chose without it",
            };
            let side = if near.sides == Sides::Both { String::new() } else { format!(" ({})", near.sides.key()) };
            NearRow {
                name: format!("{}{side}", self.name_of(&near.exercise)),
                reason: format!("Would add {:.2}: {why}.", near.gain),
            }
        };
        program.reasons.near.iter().map(row).collect()
    }

    fn notes(&self, program: &Program) -> Vec<String> {
        let mut notes = vec![format!("Test again on {}.", program.test_again)];
        for waits in &program.waits {
            notes.push(format!("{} waits for {} ({}).", self.name_of(&waits.exercise), waits.to, waits.region));
        }
        notes
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

fn side_word(sides: Sides) -> &'static str {
    match sides {
        Sides::Left => "Left",
        Sides::Right => "Right",
        Sides::Each => "Each",
        Sides::Both => "Both at once",
    }
}

pub(super) fn change_word(change: Option<Change>) -> &'static str {
    match change {
        None => "error unknown",
        Some(Change::ClearlyBetter) => "real and worthwhile",
        Some(Change::Better) => "real",
        Some(Change::MaybeBetter) => "within error, leaning better",
        Some(Change::Same) => "no change",
        Some(Change::MaybeWorse) => "within error, leaning worse",
        Some(Change::Worse) => "really worse",
    }
}

fn chosen(program: &Program, findings: &Findings) -> String {
    let reasons = &program.reasons;
    let total: f64 = findings.needs.iter().map(|need| need.weight).sum();
    let covered: f64 = findings.needs.iter().zip(&reasons.covered).map(|(need, share)| need.weight * share).sum();
    let by = if reasons.chosen {
        format!("Chosen by the tool: the best of all programs (branches looked at: {}).", reasons.nodes)
    } else {
        "Written by the coach, and checked.".to_owned()
    };
    format!("{by} It covers {covered:.2} of {total:.2} need.")
}
