//! What goes on paper in a coach's record, as the layout reads it.

use serde::Serialize;
use serde_json::Value as Json;

use crate::word::handout::{Doc, House, Person};
use crate::word::judge::Question;

/// The coach's record of one visit.
#[derive(Clone, Debug, Serialize)]
pub struct Record {
    /// What kind of document, whose, when.
    pub doc: Doc,
    /// Who prints.
    pub studio: Names,
    /// Colours and typefaces.
    pub brand: House,
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
