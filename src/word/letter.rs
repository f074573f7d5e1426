//! Letters to clinicians: who is sent, why, what was measured there, what waits, what we ask. A letter holds what its
//! reader needs and nothing else of the record.

use serde::Serialize;
use serde_json::Value as Json;

use super::Writer;
use super::handout::{Doc, House, Person, Studio};
use crate::assess::{Finding, Findings};
use crate::body::Side;
use crate::ids::{Id, RegionId, TestId};
use crate::library::test::{Reference, Test};
use crate::library::vocabulary::Level;
use crate::plan::Program;
use crate::print::{Look, Type};
use crate::record::{Referral, Values};
use crate::safety::{self, Fired, Reason};
use crate::template::TemplateError;
use crate::units::Unit;

/// The letters of one visit, one a page.
#[derive(Clone, Debug, Serialize)]
pub struct Letters {
    /// What kind of document, whose, when.
    pub doc: Doc,
    /// Who prints.
    pub studio: Studio,
    /// Colours and typefaces.
    pub brand: House,
    /// The client's name.
    pub client: Person,
    /// Standing labels.
    pub labels: Json,
    /// The letters.
    pub letters: Vec<Letter>,
}

/// One letter.
#[derive(Clone, Debug, Serialize)]
pub struct Letter {
    /// To whom.
    pub to: String,
    /// The heading: who, and what about.
    pub head: String,
    /// The client's birth date, by which a surgery finds its records.
    pub born: Option<String>,
    /// What we ask.
    pub ask: String,
    /// Who writes, and when the client was seen.
    pub who: String,
    /// Why the client is sent.
    pub why: Vec<String>,
    /// Readings that belong to it.
    pub measured: Vec<Measured>,
    /// What was done and what was not.
    pub done: Vec<String>,
    /// What the coach is and is not.
    pub scope: String,
}

/// One test in numbers.
#[derive(Clone, Debug, Serialize)]
pub struct Measured {
    /// Its name.
    pub test: String,
    /// Left and right, or one value for the whole body.
    pub values: Vec<String>,
    /// The usual range.
    pub usual: String,
    /// The smallest change that is real.
    pub error: String,
    /// Highest pain in the test on each side, of 10.
    pub pain: Vec<String>,
}

/// What letters are made from.
#[derive(Clone, Copy, Debug)]
pub struct Sent<'a> {
    /// What was found.
    pub findings: &'a Findings,
    /// Every rule that fired.
    pub fired: &'a [Fired],
    /// The program, if there is one.
    pub program: Option<&'a Program>,
}

const DASH: &str = "\u{2013}";

impl Writer<'_> {
    /// Writes the letters of a visit; none if it sends the client to nobody.
    ///
    /// # Errors
    /// If a standing text cannot be filled in.
    pub fn letters(&self, sent: &Sent<'_>, sheet: u32, look: Look) -> Result<Option<Letters>, TemplateError> {
        let mut letters = Vec::new();
        letters.extend(self.sent_on(sent)?);
        for referral in self.client.referrals.iter().filter(|referral| referral.is_open(self.visit.on)) {
            letters.push(self.referred(referral, sent, sheet)?);
        }
        if letters.is_empty() {
            return Ok(None);
        }
        let date = self.visit.on;
        let texts = &self.words.papers;
        let long = self.date_long(date)?;
        Ok(Some(Letters {
            doc: Doc {
                kind: "letter",
                lang: self.words.language.clone(),
                region: self.brand.region.clone(),
                title: self.say(&texts.letter, &[("full_name", &self.client.name), ("date", &long)])?,
                sheet,
                date: long,
                ymd: [i32::from(date.year()), i32::from(date.month()), i32::from(date.day())],
                // Letters have one size of type.
                look: Look { type_size: Type::Normal, ..look },
                draft: self.draft()?,
            },
            studio: self.studio()?,
            brand: House::of(self.brand),
            client: Person { name: self.client.name.clone() },
            labels: self.words.labels_json(),
            letters,
        }))
    }

    /// That no fluent reader has read the standing texts, if so.
    fn draft(&self) -> Result<Option<String>, TemplateError> {
        let said = || self.say(&self.words.sentences.draft, &[("coach", self.coach_call())]);
        self.words.draft.then(said).transpose()
    }

    /// The letter about what keeps a program from being printed. What the coach has yet to ask is no reason for one.
    fn sent_on(&self, sent: &Sent<'_>) -> Result<Option<Letter>, TemplateError> {
        let texts = &self.words.papers;
        let mut why = Vec::new();
        let mut tests = Vec::new();
        let mut strictest = None;
        for fired in sent.fired.iter().filter(|fired| fired.stops()) {
            let reason = match &fired.reason {
                Reason::Flag(flag) => {
                    let ask = self.library.vocabulary.flags.get(flag).map_or(flag.as_str(), |known| &known.ask);
                    self.say(&texts.letter_yes, &[("question", ask)])?
                }
                Reason::Reading(test, _) => {
                    tests.push(test.clone());
                    let name = self.library.tests.get(test).map_or(test.as_str(), |test| &test.name);
                    self.say(&texts.letter_reading, &[("test", name)])?
                }
                Reason::Condition(id) => {
                    let condition = self.library.vocabulary.conditions.get(id);
                    let name = condition.map_or(id.as_str(), |known| &known.name);
                    self.say(&texts.letter_condition, &[("condition", name)])?
                }
                Reason::Form(name) => self.say(&texts.letter_form, &[("form", name)])?,
                Reason::Unasked(_) | Reason::Lapsed(_) => continue,
            };
            strictest.get_or_insert(fired.level);
            why.push(reason);
        }
        let Some(level) = strictest else { return Ok(None) };
        let name = [("name", self.client.call.as_str()), ("full_name", self.client.name.as_str())];
        let (to, ask) = match level {
            Level::Emergency => (&texts.letter_to_emergency, &texts.letter_ask_emergency),
            Level::SameDay => (&texts.letter_to_same_day, &texts.letter_ask_same_day),
            Level::ReferBefore | Level::Modify | Level::Caution => (&texts.letter_to_before, &texts.letter_ask_before),
        };
        why.extend(self.pressure(sent)?);
        Ok(Some(Letter {
            to: self.say(to, &name)?,
            head: self.say(&texts.letter_head, &name)?,
            ask: self.say(ask, &name)?,
            why,
            measured: self.measured(sent.findings, |test| tests.contains(&test.id))?,
            done: vec![self.say(&texts.letter_no_plan, &name)?],
            ..self.frame()?
        }))
    }

    /// The letter about one open referral.
    fn referred(&self, referral: &Referral, sent: &Sent<'_>, sheet: u32) -> Result<Letter, TemplateError> {
        let texts = &self.words.papers;
        let place = self.place(&referral.region, referral.side)?;
        let gaps = [
            ("name", self.client.call.as_str()),
            ("full_name", self.client.name.as_str()),
            ("place", &place),
            ("to", &referral.to),
        ];
        let waits: Vec<String> = sent
            .program
            .iter()
            .flat_map(|program| &program.waits)
            .filter(|waits| waits.region == referral.region && waits.to == referral.to)
            .filter_map(|waits| self.library.exercises.get(&waits.exercise))
            .map(|exercise| exercise.name.clone())
            .collect();
        let mut done = vec![self.say(&texts.letter_waits, &gaps)?];
        if !waits.is_empty() {
            done.push(self.say(&texts.letter_on_hold, &[("list", &self.list(&waits))])?);
        }
        let has_plan = sent.program.is_some_and(|program| !program.items.is_empty());
        done.push(if has_plan && sheet > 0 {
            let number = sheet.to_string();
            self.say(&texts.letter_elsewhere, &[("name", &self.client.call), ("sheet", &number)])?
        } else {
            self.say(&texts.letter_no_plan, &gaps)?
        });
        Ok(Letter {
            to: self.say(&texts.letter_to, &gaps)?,
            head: self.say(&texts.letter_head_place, &gaps)?,
            ask: self.say(&texts.letter_ask_place, &gaps)?,
            why: vec![referral.why.clone()],
            measured: self.measured(sent.findings, |test| test.features.regions.contains(&referral.region))?,
            done,
            ..self.frame()?
        })
    }

    /// What every letter of a visit has; the rest is empty.
    fn frame(&self) -> Result<Letter, TemplateError> {
        let texts = &self.words.papers;
        let date = self.date_long(self.visit.on)?;
        let born = match self.client.born {
            Some(born) => Some(self.say(&texts.letter_born, &[("date", &self.date_long(born)?)])?),
            None => None,
        };
        let who = [
            ("role", self.coach.role.as_str()),
            ("practice", &self.brand.name),
            ("full_name", &self.client.name),
            ("date", &date),
        ];
        let phone = super::unbroken(&self.coach.phone);
        Ok(Letter {
            to: String::new(),
            head: String::new(),
            born,
            ask: String::new(),
            who: self.say(&texts.letter_who, &who)?,
            why: Vec::new(),
            measured: Vec::new(),
            done: Vec::new(),
            scope: self.say(&texts.letter_scope, &[("phone", &phone), ("hours", &self.coach.hours)])?,
        })
    }

    /// A part of the body in running text.
    fn place(&self, region: &RegionId, side: Option<Side>) -> Result<String, TemplateError> {
        let name = self.library.vocabulary.regions.get(region).map_or_else(|| region.to_string(), Clone::clone);
        match side {
            Some(side) => {
                let gaps = [("side", self.side_word(side)), ("region", name)];
                self.say(&self.words.papers.letter_place, &gaps.each_ref().map(|(gap, text)| (*gap, text.as_str())))
            }
            None => Ok(name),
        }
    }

    /// Blood pressure, where a condition that keeps a program back was told from it.
    fn pressure(&self, sent: &Sent<'_>) -> Result<Option<String>, TemplateError> {
        let told = sent.fired.iter().filter(|fired| fired.stops()).any(|fired| match &fired.reason {
            Reason::Condition(id) => {
                let known = self.library.vocabulary.conditions.get(id);
                known.is_some_and(|known| known.from_blood_pressure.is_some())
            }
            Reason::Flag(_) | Reason::Reading(..) | Reason::Form(_) | Reason::Unasked(_) | Reason::Lapsed(_) => false,
        });
        let read = safety::latest_screening(self.client, self.visit).and_then(|screening| screening.blood_pressure);
        match read.filter(|_| told) {
            Some((over, under)) => {
                let (over, under) = (over.to_string(), under.to_string());
                self.say(&self.words.papers.letter_pressure, &[("systolic", &over), ("diastolic", &under)]).map(Some)
            }
            None => Ok(None),
        }
    }

    fn measured(&self, findings: &Findings, belongs: impl Fn(&Test) -> bool) -> Result<Vec<Measured>, TemplateError> {
        let known = |id: &TestId| self.library.tests.get(id).filter(|test| belongs(test));
        findings
            .tests
            .iter()
            .filter_map(|finding| Some((finding, known(&finding.test)?)))
            .map(|(finding, test)| self.measured_row(finding, test))
            .collect()
    }

    fn measured_row(&self, finding: &Finding, test: &Test) -> Result<Measured, TemplateError> {
        let show = |side| finding.values.on(side).map_or_else(|| DASH.to_owned(), |amount| self.value(test, amount));
        let sides: &[Side] = if matches!(finding.values, Values::Sided(_)) { &Side::BOTH } else { &[Side::Left] };
        let pain = self.visit.readings.get(&finding.test).map(|reading| reading.pain);
        let usual = match &finding.reference {
            Some(range) => self.usual_range(test, range)?,
            None => DASH.to_owned(),
        };
        Ok(Measured {
            test: test.name.clone(),
            values: sides.iter().map(|side| show(*side)).collect(),
            usual,
            error: test.error.as_ref().map_or_else(|| DASH.to_owned(), |error| self.value(test, error.mdc95)),
            pain: sides.iter().map(|side| pain.map_or(0, |pain| *pain.get(*side)).to_string()).collect(),
        })
    }

    fn usual_range(&self, test: &Test, range: &Reference) -> Result<String, TemplateError> {
        let texts = &self.words.papers;
        match (range.low, range.high) {
            (Some(low), Some(high)) => {
                let low = if test.unit == Unit::Grade { self.value(test, low) } else { self.number(test, low) };
                self.say(&texts.usual_between, &[("low", &low), ("high", &self.value(test, high))])
            }
            (Some(low), None) => self.say(&texts.usual_from, &[("low", &self.value(test, low))]),
            (None, Some(high)) => self.say(&texts.usual_to, &[("high", &self.value(test, high))]),
            (None, None) => Ok(DASH.to_owned()),
        }
    }
}
