//! The coach's own record of a visit: what was found, which rules fired, what was chosen and why. For the coach alone;
//! nothing of it goes to the client.
//!
//! Its words are the trade's, in English, whatever language the handout is in.

use serde::Serialize;
use serde_json::Value as Json;

use super::Writer;
use super::handout::{Colours, Doc, Studio};
use crate::assess::{Band, Basis, Finding, Findings, Need, Origin};
use crate::body::{Side, Sides};
use crate::ids::{ExerciseId, FlagId, Id};
use crate::library::test::{Reference, Test};
use crate::plan::{self, Item, Miss, Program};
use crate::print::Look;
use crate::record::{Override, Values};
use crate::safety::{self, Lift, Reason};
use crate::template::TemplateError;
use crate::units::Unit;

/// The coach's record of one visit.
#[derive(Clone, Debug, Serialize)]
pub struct Record {
    /// What kind of document, whose, when.
    pub doc: Doc,
    /// Who prints.
    pub studio: Studio,
    /// Colours.
    pub brand: Colours,
    /// Standing labels.
    pub labels: Json,
    /// Who, when, with how much time.
    pub head: Head,
    /// Every rule that fired.
    pub safety: Safety,
    /// What was measured.
    pub tests: Vec<TestRow>,
    /// What it adds up to, strongest first.
    pub needs: Vec<NeedRow>,
    /// The program, if one may be printed.
    pub program: Option<ProgramPart>,
}

/// Who, when, with how much time.
#[derive(Clone, Debug, Serialize)]
pub struct Head {
    /// Full name.
    pub name: String,
    /// Stem of the record.
    pub id: String,
    /// Age in years.
    pub age: Option<u32>,
    /// The visit.
    pub date: String,
    /// The coach.
    pub coach: String,
    /// Goals in the client's words.
    pub goals: Vec<String>,
    /// Minutes a day.
    pub minutes: u32,
    /// Days that they can use.
    pub days: String,
    /// What they have and lack, and positions they cannot get into.
    pub limits: Vec<String>,
}

/// Every rule that fired.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Safety {
    /// Whether a program may be printed.
    pub gate: String,
    /// Rules about the whole program, strictest first.
    pub rules: Vec<RuleRow>,
    /// Pain in tests, sore places, open referrals.
    pub places: Vec<String>,
}

/// A rule about the whole program.
#[derive(Clone, Debug, Serialize)]
pub struct RuleRow {
    /// Its level.
    pub level: &'static str,
    /// Why it fired.
    pub why: String,
    /// What lifts it.
    pub lifted: Option<String>,
}

/// One test.
#[derive(Clone, Debug, Serialize)]
pub struct TestRow {
    /// The test.
    pub test: String,
    /// How it was measured.
    pub method: String,
    /// Left, or the one value.
    pub left: String,
    /// Right, if it has sides.
    pub right: Option<String>,
    /// The last reading before.
    pub before: Option<String>,
    /// The usual range.
    pub usual: String,
    /// The smallest change that counts.
    pub error: String,
    /// The verdict, left and right together if they are the same.
    pub verdict: String,
    /// Signs seen.
    pub signs: Vec<String>,
    /// Where the figures come from.
    pub sources: Vec<String>,
}

/// One need.
#[derive(Clone, Debug, Serialize)]
pub struct NeedRow {
    /// Structure and side.
    pub what: String,
    /// State.
    pub state: &'static str,
    /// Weight, 0 to 1.
    pub weight: f64,
    /// Share that the program covers, 0 to 1.
    pub covered: f64,
    /// What speaks for and against it.
    pub evidence: Vec<EvidenceRow>,
    /// What keeps exercises for it away, if nothing can be done about it.
    pub unmet: Option<String>,
}

/// One piece of evidence.
#[derive(Clone, Debug, Serialize)]
pub struct EvidenceRow {
    /// What was seen.
    pub what: String,
    /// Working weight.
    pub weight: f64,
    /// Whether it speaks against the need.
    pub against: bool,
}

/// The program and the reasons for it.
#[derive(Clone, Debug, Serialize)]
pub struct ProgramPart {
    /// Who chose it, and what it is worth.
    pub chosen: String,
    /// Its exercises.
    pub rows: Vec<ProgramRow>,
    /// What waits for a referral.
    pub waits: Vec<String>,
    /// Exercises that nearly got in.
    pub near: Vec<NearRow>,
    /// Exercises that are not for this client.
    pub barred: Vec<BarredRow>,
    /// Minutes on the fullest day, and those the client has.
    pub minutes: (u32, u32),
    /// Stretch in a week.
    pub stretch: Vec<StretchRow>,
    /// When to test again.
    pub retest: String,
}

/// One exercise of the program.
#[derive(Clone, Debug, Serialize)]
pub struct ProgramRow {
    /// Its number.
    pub n: u32,
    /// Its name.
    pub exercise: String,
    /// Its phase.
    pub phase: String,
    /// Its rung.
    pub rung: String,
    /// Its side.
    pub side: &'static str,
    /// Its dose.
    pub dose: String,
    /// Days a week.
    pub days: u32,
    /// Minutes a session.
    pub minutes: u32,
    /// Need that would be left uncovered without it.
    pub gain: f64,
    /// The needs that it works on.
    pub works_on: String,
    /// Reasons for rung and allowance.
    pub why: Vec<String>,
    /// Cautions on its card.
    pub cautions: Vec<String>,
}

/// An exercise that nearly got in.
#[derive(Clone, Debug, Serialize)]
pub struct NearRow {
    /// Its name and side.
    pub exercise: String,
    /// Need that it would add.
    pub gain: f64,
    /// Why it is not in.
    pub why: &'static str,
}

/// An exercise that is not for this client.
#[derive(Clone, Debug, Serialize)]
pub struct BarredRow {
    /// Its name.
    pub exercise: String,
    /// Why.
    pub why: String,
}

/// What a muscle gets of stretch in a week.
#[derive(Clone, Debug, Serialize)]
pub struct StretchRow {
    /// The muscle and its side.
    pub what: String,
    /// Seconds a week.
    pub seconds: u32,
    /// What the trade says to that.
    pub note: &'static str,
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

const DAYS: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];

/// Two decimals are more than working weights deserve, and enough.
fn rounded(weight: f64) -> f64 {
    (weight * 100.0).round() / 100.0
}

impl Writer<'_> {
    /// Writes the coach's record.
    ///
    /// # Errors
    /// If a standing text cannot be filled in.
    pub fn record(&self, reasoning: &Reasoning<'_>, sheet: u32, look: Look) -> Result<Record, TemplateError> {
        let date = self.visit.on;
        Ok(Record {
            doc: Doc {
                kind: "record",
                lang: "en".to_owned(),
                region: self.brand.region.clone(),
                title: format!("Record of {}, {date}", self.client.id),
                sheet,
                date: date.to_string(),
                ymd: [i32::from(date.year()), i32::from(date.month()), i32::from(date.day())],
                look,
            },
            studio: self.studio()?,
            brand: Colours { ink: self.brand.ink.to_hex(), accent: self.brand.accent.to_hex() },
            labels: self.words.labels_json(),
            head: self.head(),
            safety: self.rules(reasoning),
            tests: reasoning.findings.tests.iter().filter_map(|finding| self.test_row(finding)).collect(),
            needs: self.need_rows(reasoning),
            program: reasoning.program.map(|program| self.program_part(program, reasoning.findings)),
        })
    }

    fn head(&self) -> Head {
        let client = self.client;
        let list = |ids: Vec<String>| ids.join(", ");
        let mut limits = Vec::new();
        if !client.equipment.is_empty() {
            limits.push(format!("Has: {}", list(client.equipment.iter().map(ToString::to_string).collect())));
        }
        if !client.no_equipment.is_empty() {
            limits.push(format!("Lacks: {}", list(client.no_equipment.iter().map(ToString::to_string).collect())));
        }
        if !client.no_positions.is_empty() {
            let names = client.no_positions.iter().map(ToString::to_string).collect();
            limits.push(format!("Cannot get into: {}", list(names)));
        }
        let free: Vec<&str> = (0..7).filter(|day| client.free_days[*day]).map(|day| DAYS[day]).collect();
        Head {
            name: client.name.clone(),
            id: client.id.to_string(),
            age: client.age_on(self.visit.on),
            date: self.visit.on.to_string(),
            coach: self.coach.name.clone(),
            goals: client.goals.clone(),
            minutes: client.minutes_a_day,
            days: if free.len() == 7 { "every day".to_owned() } else { free.join(", ") },
            limits,
        }
    }

    fn question(&self, flag: &FlagId) -> String {
        self.library.vocabulary.flags.get(flag).map_or_else(|| flag.to_string(), |known| known.ask.clone())
    }

    fn rules(&self, reasoning: &Reasoning<'_>) -> Safety {
        let rules: Vec<RuleRow> = reasoning
            .fired
            .iter()
            .map(|fired| RuleRow {
                level: fired.level.key(),
                why: match &fired.reason {
                    Reason::Flag(flag) => format!("Answered yes ({flag}): {}", self.question(flag)),
                    Reason::Reading(test, flag) => format!("The reading of {test} answers yes to `{flag}`."),
                    Reason::Condition(condition) => format!("Condition: {condition}"),
                    Reason::Form(name) => format!("The form sends on: {name}"),
                    Reason::Unasked(flags) => {
                        let flags: Vec<&str> = flags.iter().map(Id::as_str).collect();
                        format!("Not answered: {}", flags.join(", "))
                    }
                    Reason::Lapsed(on) => format!("The answers of {on} are too old."),
                },
                lifted: fired.lifted.as_ref().map(|lift| match lift {
                    Lift::Cleared(cleared) => format!("cleared by {} on {}", cleared.by, cleared.on),
                    Lift::Overridden(over) => overridden(over),
                }),
            })
            .collect();
        let closed = reasoning.fired.iter().find(|fired| fired.lifted.is_none());
        let gate = match closed {
            Some(fired) => format!("Closed at {}: no program is printed.", fired.level.key()),
            None => "Open: a program may be printed.".to_owned(),
        };
        let mut places = Vec::new();
        for (id, reading) in &self.visit.readings {
            let pain = reading.pain.left.max(reading.pain.right);
            if pain > 0 {
                places.push(format!("Pain in {id}: left {}, right {} of 10.", reading.pain.left, reading.pain.right));
            }
        }
        for sore in &self.visit.sore {
            let side = sore.side.map_or("both sides", Side::key);
            places.push(format!("Sore: {} ({side}).", sore.region));
        }
        for referral in self.client.referrals.iter().filter(|referral| referral.is_open(self.visit.on)) {
            let side = referral.side.map_or("both sides", Side::key);
            places.push(format!(
                "Referral open since {}: {} ({side}), to {}. {}",
                referral.on, referral.region, referral.to, referral.why
            ));
        }
        for held in safety::held(self.client, self.visit, self.library) {
            let place = held.region.map_or_else(String::new, |region| format!(" ({region})"));
            let cleared = held.cleared.map_or_else(String::new, |c| format!(", cleared by {} on {}", c.by, c.on));
            places.push(format!("Condition: {}{place}{cleared}.", held.condition));
        }
        Safety { gate, rules, places }
    }

    fn test_row(&self, finding: &Finding) -> Option<TestRow> {
        let test = self.library.tests.get(&finding.test)?;
        let value = |values: &Values, side: Side| values.on(side).map(|amount| self.value(test, amount));
        let show = |values: &Values| match values {
            Values::Whole(amount) => self.value(test, *amount),
            Values::Sided(_) => {
                let side = |side| value(values, side).unwrap_or_else(|| "-".to_owned());
                format!("{} / {}", side(Side::Left), side(Side::Right))
            }
        };
        let sided = matches!(finding.values, Values::Sided(_));
        let missing = || "-".to_owned();
        let mut sources: Vec<String> = finding.reference.iter().map(|reference| reference.source.clone()).collect();
        sources.extend(test.error.iter().map(|error| error.source.clone()));
        Some(TestRow {
            test: test.name.clone(),
            method: test.method.clone(),
            left: value(&finding.values, Side::Left).unwrap_or_else(missing),
            right: sided.then(|| value(&finding.values, Side::Right).unwrap_or_else(missing)),
            before: finding.previous.as_ref().map(|(on, values)| format!("{} on {on}", show(values))),
            usual: finding.reference.as_ref().map_or_else(|| "no range".to_owned(), |range| self.range(test, range)),
            error: match &test.error {
                Some(error) => self.value(test, error.mdc95),
                None => "unknown".to_owned(),
            },
            verdict: verdict(finding, sided),
            signs: finding
                .signs
                .iter()
                .map(|(side, id)| {
                    let see = test.signs.iter().find(|sign| sign.id == *id).map_or(id.as_str(), |sign| &sign.see);
                    side.map_or_else(|| see.to_owned(), |side| format!("{}: {see}", side.key()))
                })
                .collect(),
            sources,
        })
    }

    fn range(&self, test: &Test, range: &Reference) -> String {
        let show = |amount| if test.unit == Unit::Grade { self.value(test, amount) } else { self.number(test, amount) };
        match (range.low, range.high) {
            (Some(low), Some(high)) => format!("{} to {}", show(low), show(high)),
            (Some(low), None) => format!("from {}", show(low)),
            (None, Some(high)) => format!("up to {}", show(high)),
            (None, None) => "no range".to_owned(),
        }
    }

    fn need_rows(&self, reasoning: &Reasoning<'_>) -> Vec<NeedRow> {
        let reasons = reasoning.program.map(|program| &program.reasons);
        let evidence = |need: &Need| {
            let mut rows: Vec<EvidenceRow> = need
                .evidence
                .iter()
                .map(|(origin, weight)| {
                    let (what, against) = match origin {
                        Origin::Reading(test) => (format!("{test} limited"), false),
                        Origin::Sign(test, sign) => (format!("{test}: {sign}"), false),
                        Origin::Fine(test) => (format!("{test} came out well"), true),
                    };
                    EvidenceRow { what, weight: rounded(*weight), against }
                })
                .collect();
            rows.sort_by(|a, b| (a.against, b.weight).partial_cmp(&(b.against, a.weight)).expect("weights are numbers"));
            rows
        };
        let row = |(index, need): (usize, &Need)| NeedRow {
            what: plan::spoken(&need.structure, need.side, self.library),
            state: need.state.key(),
            weight: rounded(need.weight),
            covered: rounded(reasons.and_then(|reasons| reasons.covered.get(index)).copied().unwrap_or(0.0)),
            evidence: evidence(need),
            unmet: reasons
                .and_then(|reasons| reasons.unmet.iter().find(|unmet| unmet.need == index))
                .map(|unmet| plan::unlocking(&unmet.bars, self.library)),
        };
        reasoning.findings.needs.iter().enumerate().map(row).collect()
    }

    fn name_of(&self, id: &ExerciseId) -> String {
        self.library.exercises.get(id).map_or_else(|| id.to_string(), |exercise| exercise.name.clone())
    }

    fn program_part(&self, program: &Program, findings: &Findings) -> ProgramPart {
        let reasons = &program.reasons;
        let total: f64 = findings.needs.iter().map(|need| need.weight).sum();
        let covered: f64 = findings.needs.iter().zip(&reasons.covered).map(|(need, share)| need.weight * share).sum();
        let by = if reasons.chosen {
            format!("Chosen by the tool: the best of all programs ({} branches looked at).", reasons.nodes)
        } else {
            "Written by the coach, and checked.".to_owned()
        };
        let (least, enough) = self.library.planning.weekly_stretch_s;
        ProgramPart {
            chosen: format!("{by} It covers {covered:.2} of {total:.2} need."),
            rows: program.items.iter().map(|item| self.program_row(item, findings)).collect(),
            waits: program
                .waits
                .iter()
                .map(|waits| format!("{} waits: sent to {} for the {}.", self.name_of(&waits.exercise), waits.to, waits.region))
                .collect(),
            near: reasons
                .near
                .iter()
                .map(|near| NearRow {
                    exercise: format!("{}{}", self.name_of(&near.exercise), of_side(near.sides)),
                    gain: rounded(near.gain),
                    why: match near.why {
                        Miss::AddsLittle => "adds less than it costs to keep up",
                        Miss::Full => "the program is full",
                        Miss::NoTime => "does not fit into the minutes",
                        Miss::First => "what must come first is not in the program",
                        Miss::CoachsChoice => "would fit; the coach chose without it",
                    },
                })
                .collect(),
            barred: reasons
                .barred
                .iter()
                .map(|barred| BarredRow {
                    exercise: self.name_of(&barred.exercise),
                    why: barred.bars.iter().map(|bar| bar.words(self.library).0).collect::<Vec<_>>().join("; "),
                })
                .collect(),
            minutes: (program.minutes.iter().copied().max().unwrap_or(0), self.client.minutes_a_day),
            stretch: reasons
                .stretch
                .iter()
                .map(|stretch| StretchRow {
                    what: plan::spoken(&stretch.structure, stretch.side, self.library),
                    seconds: stretch.seconds,
                    note: match stretch.seconds {
                        seconds if seconds < least => "less than is usual for lasting change",
                        seconds if seconds > enough => "more than brings further gain",
                        _ => "enough",
                    },
                })
                .collect(),
            retest: program.retest.to_string(),
        }
    }

    fn program_row(&self, item: &Item, findings: &Findings) -> ProgramRow {
        let exercise = self.library.exercises.get(&item.exercise);
        let phase = self.library.phases.iter().find(|phase| phase.id == item.phase);
        let dose: Vec<String> =
            self.dose(&item.dose, item.sides).into_iter().map(|part| format!("{} {}", part.n, part.unit)).collect();
        let works_on: Vec<String> = item
            .covers
            .iter()
            .filter_map(|(need, _)| findings.needs.get(*need))
            .map(|need| plan::named(need, self.library))
            .collect();
        ProgramRow {
            n: item.number,
            exercise: self.name_of(&item.exercise),
            phase: phase.map_or_else(|| item.phase.to_string(), |phase| phase.name.clone()),
            rung: exercise.and_then(|e| e.rungs.get(item.rung)).map_or_else(String::new, |rung| rung.name.clone()),
            side: item.sides.key(),
            dose: dose.join(", "),
            days: item.days_a_week(),
            minutes: item.minutes(),
            gain: rounded(item.gain),
            works_on: works_on.join("; "),
            why: item.why.clone(),
            cautions: item.cautions.clone(),
        }
    }
}

fn overridden(over: &Override) -> String {
    format!("set aside by {} on {}: {}", over.by, over.on, over.why)
}

/// ` (left)`, or nothing if it has no side.
fn of_side(sides: Sides) -> String {
    if sides == Sides::Both { String::new() } else { format!(" ({})", sides.key()) }
}

fn verdict(finding: &Finding, sided: bool) -> String {
    let one = |side: Side| match finding.verdicts.get(side) {
        None if finding.painful => "not judged: it hurt".to_owned(),
        None => "no verdict".to_owned(),
        Some(verdict) => {
            let band = match verdict.band {
                Band::Limited => "limited",
                Band::AboutUsual => "about usual",
                Band::MoreThanUsual => "more than usual",
            };
            let basis = match (verdict.band, verdict.basis) {
                (Band::Limited, Basis::OtherSide) => " (against the other side)",
                _ => "",
            };
            format!("{band}{basis}")
        }
    };
    let (left, right) = (one(Side::Left), one(Side::Right));
    if !sided || left == right { left } else { format!("left {left}, right {right}") }
}
