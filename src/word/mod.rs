//! Every sentence on paper: findings and program become the final words and numbers of a sheet.
//!
//! Texts are filled in here and nowhere else. A text that cannot be filled in stops its client's sheet only.

mod amounts;
pub mod book;
mod changed;
mod dates;
mod exercise;
mod finding;
pub mod handout;
pub mod judge;
pub mod letter;
pub mod papers;
pub mod record;
mod safety;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::civil::{Date, DateTime};

use crate::assess::Findings;
use crate::body::Side;
use crate::brand::{Brand, Coach};
use crate::diag::{Problem, Rule};
use crate::library::Library;
use crate::library::vocabulary::Level;
use crate::plan::{Item, Program};
use crate::print::Look;
use crate::record::{Client, Visit};
use crate::safety::Reason;
use crate::template::{Facts, OwnReading, Template, TemplateError, isolated};
use crate::units::System;
use crate::words::Words;

use handout::{Body, Dates, Doc, Handout, House, Message, PainBand, Person, Plan, Studio};

/// What a sheet is about: decided by the stages before.
#[derive(Clone, Debug)]
pub enum Matter<'a> {
    /// A plan; without items all is well.
    Plan {
        /// What was found.
        findings: &'a Findings,
        /// What to do.
        program: &'a Program,
    },
    /// No plan.
    SeeSomeone {
        /// How urgent.
        level: Level,
        /// Why.
        reasons: &'a [(Level, Reason)],
    },
}

/// Everything that the words of a sheet are made from.
pub struct Writer<'a> {
    client: &'a Client,
    visit: &'a Visit,
    library: &'a Library,
    brand: &'a Brand,
    coach: &'a Coach,
    speech: Speech<'a>,
    tests: Arc<BTreeSet<String>>,
}

/// How words, numbers and dates are said: in one language and one system of units.
#[derive(Clone, Copy)]
pub struct Speech<'a> {
    words: &'a Words,
    system: System,
}

/// A writer can say all that its speech can.
impl<'a> std::ops::Deref for Writer<'a> {
    type Target = Speech<'a>;

    fn deref(&self) -> &Speech<'a> {
        &self.speech
    }
}

/// Values for the gaps of a sentence.
type Gaps<'a> = &'a [(&'static str, &'a str)];

impl<'a> Writer<'a> {
    /// A writer for one visit of one client.
    pub fn new(client: &'a Client, visit: &'a Visit, library: &'a Library, brand: &'a Brand, words: &'a Words) -> Self {
        Self {
            client,
            visit,
            library,
            brand,
            coach: brand.coach(visit.coach.as_ref().or(client.coach.as_ref())),
            speech: Speech { words, system: client.units.unwrap_or(brand.units) },
            tests: Arc::new(library.tests.keys().map(ToString::to_string).collect()),
        }
    }

    /// What the client calls their coach.
    pub fn coach_call(&self) -> &str {
        &self.coach.call
    }

    /// Writes the sheet with the given number and look.
    ///
    /// # Errors
    /// If a text of the library or of the standing texts cannot be filled in.
    pub fn write(&self, matter: &Matter<'_>, sheet: u32, look: Look) -> Result<Handout, Problem> {
        self.compose(matter, sheet, look).map_err(|error| self.unfilled(&error))
    }

    fn unfilled(&self, error: &TemplateError) -> Problem {
        let rule = if error.endless { Rule::TemplateFuel } else { Rule::BadTemplate };
        let message = format!("a text for this sheet cannot be filled in: {error}");
        Problem::about(rule, self.client.file.path.as_str(), message)
            .help("correct the text in the library or in layouts/words")
            .client(&self.client.id)
    }

    fn compose(&self, matter: &Matter<'_>, sheet: u32, look: Look) -> Result<Handout, TemplateError> {
        let sentences = &self.words.sentences;
        let (kind, title, message, body) = match matter {
            Matter::Plan { findings, program } => {
                let well = program.items.is_empty();
                let kind = if well { "well" } else { "plan" };
                let body = Body::Plan(Box::new(self.plan(findings, program)?));
                (kind, &sentences.title, self.message(program)?, body)
            }
            Matter::SeeSomeone { level, reasons } => {
                let see = Box::new(self.see_someone(*level, reasons)?);
                let message = Message {
                    greeting: self.say(&sentences.greeting_see_someone, &[("name", &self.client.call)])?,
                    goals: Vec::new(),
                    main: Vec::new(),
                    sub: String::new(),
                    note: None,
                    language: Vec::new(),
                };
                ("see-someone", &sentences.title_see_someone, message, Body::SeeSomeone { see })
            }
        };
        let date = self.visit.on;
        let number = sheet.to_string();
        Ok(Handout {
            doc: Doc {
                kind,
                lang: self.words.language.clone(),
                region: self.brand.region.clone(),
                title: self.say(title, &[("full_name", &self.client.name), ("sheet", &number)])?,
                sheet,
                date: self.date_long(date)?,
                ymd: [i32::from(date.year()), i32::from(date.month()), i32::from(date.day())],
                look,
                draft: None,
            },
            studio: self.studio()?,
            brand: House::of(self.brand),
            client: Person { name: isolated(&self.client.name) },
            labels: self.words.labels_json(),
            message,
            body,
        })
    }

    /// Fills in a library text for one side.
    fn fill(&self, text: &Template, facts: &Facts) -> Result<String, TemplateError> {
        text.fill(facts)
    }

    /// Fills in the words at a mark of a picture that shows a side.
    ///
    /// # Errors
    /// If they cannot be filled in.
    pub fn label(&self, text: &str, side: Option<Side>) -> Result<String, Problem> {
        self.fill(&Template::new(text.to_owned()), &self.facts(side, None)).map_err(|error| self.unfilled(&error))
    }

    /// Seconds with their unit, such as "30 sec".
    pub fn seconds(&self, seconds: u32) -> String {
        format!("{seconds}\u{a0}{}", self.words.units.s.source())
    }

    /// The facts that library texts may name.
    fn facts(&self, side: Option<Side>, tool: Option<&str>) -> Facts {
        let mut values = BTreeMap::from([
            ("goal", self.client.goals.join(" ")),
            ("coach", self.coach.call.clone()),
            ("tool", tool.unwrap_or_default().to_owned()),
        ]);
        if let Some(side) = side {
            values.insert("side", self.side_word(side));
            values.insert("other_side", self.side_word(side.other()));
        }
        let forms = side.map(|side| self.words.side_forms(side)).unwrap_or_default();
        Facts { values, forms, readings: Arc::new(self.own_readings(side)), tests: Arc::clone(&self.tests) }
    }

    fn own_readings(&self, side: Option<Side>) -> BTreeMap<String, OwnReading> {
        self.visit
            .readings
            .iter()
            .filter_map(|(id, reading)| {
                let test = self.library.tests.get(id)?;
                let amount = reading.values.on(side.unwrap_or(Side::Left))?;
                let word = self.unit_word(test.unit.shown_as(self.system), &amount.to_string()).to_owned();
                let (unit, resolution, system) = (test.unit, test.resolution, self.system);
                let own = OwnReading { amount, unit, resolution, system, word, decimal: self.words.decimal.clone() };
                Some((id.to_string(), own))
            })
            .collect()
    }

    fn studio(&self) -> Result<Studio, TemplateError> {
        let sentences = &self.words.sentences;
        Ok(Studio {
            name: self.brand.name.clone(),
            logo_src: self.brand.logo.clone(),
            logo_alt: self.say(&sentences.alt_logo, &[("name", &self.brand.name), ("what", &self.brand.logo_alt)])?,
            coach: self.coach.name.clone(),
            phone: unbroken(&self.coach.phone),
            email: self.coach.email.clone(),
            hours: self.coach.hours.clone(),
            role: self.coach.role.clone(),
            address: self.standing_lines().address,
        })
    }

    fn message(&self, program: &Program) -> Result<Message, TemplateError> {
        let sentences = &self.words.sentences;
        let name = [("name", self.client.call.as_str())];
        let busy: Vec<u32> = program.minutes.iter().copied().filter(|minutes| *minutes > 0).collect();
        let (low, high) = (busy.iter().min().copied(), busy.iter().max().copied());
        let count = program.items.len().to_string();
        let (greeting, main, sub) = match (low, high) {
            (Some(low), Some(high)) => {
                let first = self.date_weekday(program.start)?;
                let counted = &self.words.counted;
                let what = counted.main.of(u32::try_from(program.items.len()).unwrap_or(u32::MAX));
                let (low_text, high_text) = (low.to_string(), high.to_string());
                let minutes = if low == high { &counted.minutes_one } else { &counted.minutes_range }.of(high);
                let gaps = [("low", low_text.as_str()), ("high", high_text.as_str())];
                let sub = format!(
                    "{} {}",
                    self.say(minutes, &gaps)?,
                    self.say(&sentences.go_down, &[("coach", &self.coach.call)])?
                );
                let main =
                    vec![self.say(what, &[("count", &count)])?, self.say(&sentences.starts, &[("date", &first)])?];
                (&sentences.greeting, main, sub)
            }
            _ => {
                let main = vec![self.say(&sentences.main_well, &[])?];
                (&sentences.greeting_well, main, self.say(&sentences.keep_going, &[])?)
            }
        };
        Ok(Message {
            greeting: self.say(greeting, &name)?,
            goals: self.client.goals.iter().map(|goal| isolated(goal)).collect(),
            main,
            sub,
            note: self.visit.note.as_deref().map(isolated),
            language: Vec::new(),
        })
    }

    fn plan(&self, findings: &Findings, program: &Program) -> Result<Plan, TemplateError> {
        let sentences = &self.words.sentences;
        let mut rounds = Vec::new();
        if !program.items.is_empty() {
            rounds.push(self.say(&sentences.rounds_explained, &[])?);
            if program.items.iter().any(|item| item.sides.turns() > 1) {
                rounds.push(self.say(&sentences.rounds_each_side, &[])?);
            }
            let word = self.say(&sentences.slow_word, &[])?;
            let slow: Vec<&Item> = program.items.iter().filter(|item| item.dose.lower_s.is_some()).collect();
            let says = |item: &&Item| {
                let exercise = self.library.exercises.get(&item.exercise);
                exercise.is_some_and(|exercise| exercise.steps_with(&word) == 1)
            };
            if !slow.is_empty() && slow.iter().all(says) {
                rounds.push(self.say(&sentences.slow_part, &[("word", &word)])?);
            }
        }
        let checks = self.checks(findings, program)?;
        let mut limits = self.say(&sentences.limits, &[])?;
        if !findings.tests.is_empty() && findings.tests.iter().all(crate::assess::Finding::came_out_well) {
            limits = format!("{} {limits}", self.say(&sentences.all_well, &[])?);
        }
        let busy = !program.items.is_empty();
        let pain_pointer = if busy { Some(self.pain_pointer()?) } else { None };
        Ok(Plan {
            changed: self.changed(findings, program)?,
            rounds,
            pain: if busy { self.pain_bands() } else { Vec::new() },
            pain_pointer,
            minutes: program.minutes,
            kit: self.kit(findings, program)?,
            dates: self.dates(program)?,
            limits,
            findings: self.findings(findings, program)?,
            well: self.came_out_well(findings),
            measured: self.only_measured(findings),
            phases: self.phases(program)?,
            checks,
            diary: self.diary(program)?,
            safety: self.safety(program)?,
        })
    }

    /// Where to read on about pain, in two halves: the layout puts the page number between them.
    fn pain_pointer(&self) -> Result<[String; 2], TemplateError> {
        const PAGE: &str = "\u{1}";
        let pointer = self.say(&self.words.sentences.pain_pointer, &[("page", PAGE)])?;
        let (before, after) = pointer.split_once(PAGE).unwrap_or((&pointer, ""));
        Ok([before.trim_end().to_owned(), after.to_owned()])
    }

    fn pain_bands(&self) -> Vec<PainBand> {
        let pain = &self.library.vocabulary.pain;
        let labels = &self.words.labels;
        let band = |from, to, word: &Template| PainBand { from, to, word: word.source().to_owned() };
        vec![
            band(0, pain.fine_to, &labels.fine),
            band(pain.fine_to + 1, pain.ease_to, &labels.ease_off),
            band(pain.ease_to + 1, 10, &labels.stop_today),
        ]
    }

    /// What the program needs, and what the checks need, each thing once.
    fn kit(&self, findings: &Findings, program: &Program) -> Result<Vec<String>, TemplateError> {
        fn once<'n>(names: impl Iterator<Item = &'n str>) -> Vec<String> {
            let mut found: Vec<String> = Vec::new();
            for name in names.filter(|name| !name.is_empty()) {
                if !found.iter().any(|known| known == name) {
                    found.push(name.to_owned());
                }
            }
            found
        }
        let exercises = once(program.items.iter().flat_map(|item| &item.tools).map(|tool| tool.name.as_str()));
        let known = &self.library.vocabulary.equipment;
        let checks = if program.items.is_empty() { Vec::new() } else { self.home_checks(findings) };
        let checks = once(
            checks
                .iter()
                .flat_map(|(_, home)| &home.kit)
                .filter_map(|id| known.get(id))
                .map(|known| known.name.as_str()),
        );
        let sentences = &self.words.sentences;
        let mut lines = Vec::new();
        for (names, sentence) in [(exercises, &sentences.kit_exercises), (checks, &sentences.kit_checks)] {
            if !names.is_empty() {
                lines.push(self.say(sentence, &[("list", &self.list(&names))])?);
            }
        }
        Ok(lines)
    }

    fn dates(&self, program: &Program) -> Result<Dates, TemplateError> {
        let first = if program.items.is_empty() { None } else { Some(self.date_weekday(program.start)?) };
        let checks = if program.items.is_empty() { &[][..] } else { &program.check_days };
        Ok(Dates {
            first,
            checks: checks.iter().map(|day| self.date_weekday(*day)).collect::<Result<_, _>>()?,
            next: self.visit.next.map(|(date, time)| self.next_visit(date, time)).transpose()?,
        })
    }

    /// The day of the next visit, with its year if that is another.
    fn next_visit(&self, date: Date, time: Option<DateTime>) -> Result<String, TemplateError> {
        let day = if date.year() == self.visit.on.year() { self.date_weekday(date) } else { self.date_whole(date) }?;
        match time {
            Some(time) => self.with_time(&day, time),
            None => Ok(day),
        }
    }
}

impl<'a> Speech<'a> {
    /// Fills in a standing sentence.
    fn say(&self, sentence: &Template, gaps: Gaps<'_>) -> Result<String, TemplateError> {
        let mut facts = Facts::default();
        for (name, value) in gaps {
            facts.values.insert(name, (*value).to_owned());
        }
        sentence.fill(&facts)
    }

    /// `left` or `right` in running text.
    fn side_word(&self, side: Side) -> String {
        self.words.side(side).to_owned()
    }

    /// A side that stands beside a name or a number, not within a sentence.
    fn side_beside(&self, side: Side) -> String {
        self.side_label(side).to_lowercase()
    }

    fn side_label(&self, side: Side) -> &'a str {
        match side {
            Side::Left => self.words.labels.left.source(),
            Side::Right => self.words.labels.right.source(),
        }
    }

    /// `1`, `1 and 2`, `1, 2 and 3`; `a, or b; and c` where a comma stands within one of them.
    fn list(&self, items: &[String]) -> String {
        let and = self.words.units.and.source();
        match items {
            [] => String::new(),
            [one] => one.clone(),
            [first @ .., last] if items.iter().any(|item| item.contains(", ")) => {
                format!("{}; {and} {last}", first.join("; "))
            }
            [first @ .., last] => format!("{} {and} {last}", first.join(", ")),
        }
    }
}

/// A telephone number that is never broken over two lines.
fn unbroken(text: &str) -> String {
    text.replace(' ', "\u{a0}")
}
