//! A client's record: who they are, what they told the coach, and what was seen at each visit. Valid by construction.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::civil::{Date, DateTime};

use crate::body::{BySide, Side, Sides};
use crate::diag::SourceFile;
use crate::ids::{
    ActivityId, ClientId, CoachId, ConditionId, EquipmentId, ExerciseId, FlagId, PositionId, RegionId, TestId,
};
use crate::library::exercise::{Dose, Part};
use crate::library::planning::{Decision, Felt};
use crate::library::test::Sex;
use crate::print::Wishes;
use crate::units::{Amount, System};

/// One person.
#[derive(Clone, Debug)]
pub struct Client {
    /// Its id, the stem of the file name.
    pub id: ClientId,
    /// The record as written, to point into when something about it must be said later.
    pub file: Arc<SourceFile>,
    /// Full name, as printed.
    pub name: String,
    /// What the coach calls them.
    pub call: String,
    /// The language of their sheets, unless it is the practice's.
    pub language: Option<String>,
    /// Birth date.
    pub born: Option<Date>,
    /// The sex that reference values are split by, if the client wants it used.
    pub sex: Option<Sex>,
    /// Their coach, unless a visit names another.
    pub coach: Option<CoachId>,
    /// What they want, in their own words.
    pub goals: Vec<String>,
    /// What they love to do.
    pub loves: Vec<ActivityId>,
    /// Minutes they really have on a day.
    pub minutes_a_day: u32,
    /// Days of the week they can use, Monday first.
    pub free_days: [bool; 7],
    /// What they have besides the household things.
    pub equipment: BTreeSet<EquipmentId>,
    /// Household things that they lack.
    pub no_equipment: BTreeSet<EquipmentId>,
    /// Positions that they cannot get into.
    pub no_positions: BTreeSet<PositionId>,
    /// How they want their paper.
    pub wishes: Wishes,
    /// Units they think in.
    pub units: Option<System>,
    /// Health conditions that they told the coach.
    pub conditions: Vec<Held>,
    /// What a coach decided against a rule, with name, date and reason.
    pub overrides: Vec<Override>,
    /// Whom the client was sent to.
    pub referrals: Vec<Referral>,
    /// Visits, oldest first, each on its own day.
    pub visits: Vec<Visit>,
    /// The programs that were issued, by the day of their visit; they come from the record of sheets.
    pub issued: BTreeMap<Date, Vec<Given>>,
}

/// An exercise as it was given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Given {
    /// Which.
    pub exercise: ExerciseId,
    /// On which sides.
    pub sides: Sides,
    /// The rung, from 0.
    pub rung: usize,
    /// How much.
    pub dose: Dose,
}

/// How an exercise of the last program went, from the client's diary.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Went {
    /// Where it starts in the record.
    pub place: std::ops::Range<usize>,
    /// Which exercise.
    pub exercise: ExerciseId,
    /// Days on which it was done.
    pub days: u32,
    /// Worst discomfort, of 10.
    pub discomfort: u32,
    /// How it felt.
    pub felt: Felt,
    /// Whether form was lost on two sessions.
    pub form_lost: bool,
    /// Whether it was still felt next morning.
    pub lingered: bool,
}

/// Something untoward since the last visit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Event {
    /// When, if it is known.
    pub on: Option<Date>,
    /// With which exercise, if with one.
    pub exercise: Option<ExerciseId>,
    /// What, in the coach's words.
    pub what: String,
}

/// A coach's decision on an exercise of the last program, in the place of what the rules say.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ruling {
    /// Where it starts in the record.
    pub place: std::ops::Range<usize>,
    /// Which exercise.
    pub exercise: ExerciseId,
    /// What is to become of it.
    pub decision: Decision,
    /// Why.
    pub why: String,
    /// The reason in words for the client.
    pub tell: Option<String>,
}

impl Client {
    /// Age in whole years on a day.
    pub fn age_on(&self, day: Date) -> Option<u32> {
        let born = self.born?;
        let had_birthday = (day.month(), day.day()) >= (born.month(), born.day());
        u32::try_from(i32::from(day.year()) - i32::from(born.year()) - i32::from(!had_birthday)).ok()
    }
}

/// A condition that a client has.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Held {
    /// Which.
    pub condition: ConditionId,
    /// Where, for conditions that have a place.
    pub region: Option<RegionId>,
    /// A clinician's written consent to exercise.
    pub cleared: Option<Clearance>,
}

/// A dated consent.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Clearance {
    /// Who gave it.
    pub by: String,
    /// When.
    pub on: Date,
}

/// A decision of a coach against a rule; never against the two most urgent levels.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Override {
    /// What it sets aside.
    pub of: Overridden,
    /// Who decided.
    pub by: CoachId,
    /// When.
    pub on: Date,
    /// Why.
    pub why: String,
}

/// What an override sets aside.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Overridden {
    /// A screening question answered with yes, or not answered.
    Question(FlagId),
    /// What a condition says of one exercise.
    Condition(ConditionId, ExerciseId),
}

/// A client sent to a clinician for one place. Until it is closed nothing is done there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Referral {
    /// The part of the body.
    pub region: RegionId,
    /// Its side; both if none is noted.
    pub side: Option<Side>,
    /// To whom.
    pub to: String,
    /// Why, in words for the clinician.
    pub why: String,
    /// When.
    pub on: Date,
    /// When the answer came.
    pub closed: Option<Date>,
}

impl Referral {
    /// Whether it was waiting for its answer on a day.
    pub fn is_open(&self, day: Date) -> bool {
        self.on <= day && self.closed.is_none_or(|closed| closed > day)
    }
}

/// A place that hurts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sore {
    /// The part of the body.
    pub region: RegionId,
    /// Its side; both if none is noted.
    pub side: Option<Side>,
}

/// Whether two sides, of which either may be left open, meet.
pub fn meets(side: Option<Side>, other: Side) -> bool {
    side.is_none_or(|side| side == other)
}

/// One meeting.
#[derive(Clone, Debug)]
pub struct Visit {
    /// The day.
    pub on: Date,
    /// Where it starts in the record.
    pub place: std::ops::Range<usize>,
    /// The coach on that day, if not the usual one.
    pub coach: Option<CoachId>,
    /// The next visit, with its time if it is known.
    pub next: Option<(Date, Option<DateTime>)>,
    /// The first day of the program, if the coach chose one.
    pub start: Option<Date>,
    /// Health questions asked.
    pub screening: Option<Screening>,
    /// What was measured and seen.
    pub readings: BTreeMap<TestId, Reading>,
    /// Places that hurt.
    pub sore: Vec<Sore>,
    /// How the last program went.
    pub diary: Vec<Went>,
    /// What happened since the last visit.
    pub events: Vec<Event>,
    /// What the coach decides against the rules.
    pub rulings: Vec<Ruling>,
    /// The coach's own program; if there is none, the tool chooses.
    pub program: Vec<Choice>,
    /// Exercises that the coach wants in the chosen program.
    pub pins: Vec<Choice>,
    /// Exercises that the coach does not want in it.
    pub bans: BTreeSet<ExerciseId>,
    /// What the coach left out, and why, in words for the client.
    pub left_out: Vec<(String, String)>,
    /// Signs to watch for that concern this person only.
    pub watch: Vec<String>,
    /// A line from the coach to the client.
    pub note: Option<String>,
}

/// Answers to the screening questions.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Screening {
    /// When they were asked.
    pub on: Date,
    /// Questions answered with yes.
    pub yes: BTreeSet<FlagId>,
    /// Questions not asked or not answered.
    pub unasked: BTreeSet<FlagId>,
    /// Clearances for questions answered with yes.
    pub cleared: BTreeMap<FlagId, Clearance>,
    /// Blood pressure, systolic over diastolic, in mmHg.
    pub blood_pressure: Option<(u32, u32)>,
    /// A screening form of another owner that was filled in: its name and edition, and whether it sends on.
    pub form: Option<Form>,
}

/// A screening form of another owner, of which only the outcome is kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Form {
    /// Its name and edition.
    pub name: String,
    /// When it was filled in.
    pub on: Date,
    /// Whether it sends the client to a clinician first.
    pub sends_on: bool,
}

/// The result of one test.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reading {
    /// Where it starts in the record.
    pub place: std::ops::Range<usize>,
    /// The values.
    pub values: Values,
    /// Another way of measuring than the test's own; only readings taken in one way are compared.
    pub method: Option<String>,
    /// Signs seen: by side, or on no side.
    pub signs: BTreeSet<(Option<Side>, String)>,
    /// Highest pain during the test, of 10; what has no side counts for both.
    pub pain: BySide<u32>,
}

/// What was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Values {
    /// One value for the whole body.
    Whole(Amount),
    /// Left and right; a side that was not tested is empty.
    Sided(BySide<Option<Amount>>),
}

impl Values {
    /// The value of a side; the whole body's value counts for both.
    pub fn on(&self, side: Side) -> Option<Amount> {
        match self {
            Self::Whole(amount) => Some(*amount),
            Self::Sided(values) => *values.get(side),
        }
    }
}

/// One exercise of the coach's own program.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// Where it stands in the record.
    pub place: std::ops::Range<usize>,
    /// Which exercise.
    pub exercise: ExerciseId,
    /// Which rung, from 0, easiest first; for a pin the tool may choose.
    pub rung: Option<usize>,
    /// Which sides; for a pin the tool may choose.
    pub sides: Option<Sides>,
    /// Parts of the dose that the coach set.
    pub dose: BTreeMap<Part, u32>,
    /// A caution or hint for this client, in plain words.
    pub note: Option<String>,
    /// Why the coach chose it, where no finding of the tests speaks for it; for the coach's record.
    pub because: Option<String>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn age_turns_on_the_birthday() {
        let mut client = crate::record::tests::client();
        client.born = Some(Date::constant(1984, 11, 25));
        assert_eq!(client.age_on(Date::constant(2026, 11, 24)), Some(41));
        assert_eq!(client.age_on(Date::constant(2026, 11, 25)), Some(42));
    }

    pub(crate) fn client() -> Client {
        use crate::ids::Id;
        Client {
            id: ClientId::new("ana").unwrap(),
            file: Arc::new(SourceFile { path: "clients/ana.toml".into(), text: String::new() }),
            name: "Ana".into(),
            call: "Ana".into(),
            language: None,
            born: None,
            sex: None,
            coach: None,
            goals: Vec::new(),
            loves: Vec::new(),
            minutes_a_day: 20,
            free_days: [true; 7],
            equipment: BTreeSet::new(),
            no_equipment: BTreeSet::new(),
            no_positions: BTreeSet::new(),
            wishes: Wishes::default(),
            units: None,
            conditions: Vec::new(),
            overrides: Vec::new(),
            referrals: Vec::new(),
            visits: Vec::new(),
            issued: BTreeMap::new(),
        }
    }
}
