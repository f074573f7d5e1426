//! A program and the reasons for it, as the later steps read it.

use jiff::civil::Date;

use super::fit::Bar;
use crate::body::{Side, Sides};
use crate::diag::Problem;
use crate::ids::{EquipmentId, ExerciseId, PhaseId, RegionId, StructureId, TestId};
use crate::library::exercise::Dose;
use crate::record::Override;
use crate::retest::Retest;

/// What stands for a piece of equipment at this client's home.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tool {
    /// The equipment.
    pub equipment: EquipmentId,
    /// The client's words for it, with article.
    pub name: String,
    /// Whether it is the household stand-in.
    pub stand_in: bool,
}

/// One exercise as prescribed.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// Its number on every paper, from 1.
    pub number: u32,
    /// The exercise.
    pub exercise: ExerciseId,
    /// Its phase.
    pub phase: PhaseId,
    /// The rung, from 0.
    pub rung: usize,
    /// The sides.
    pub sides: Sides,
    /// The dose.
    pub dose: Dose,
    /// Days of the week, Monday first.
    pub days: [bool; 7],
    /// Seconds that one session takes.
    pub seconds: u32,
    /// What it needs, its main tool first.
    pub tools: Vec<Tool>,
    /// Cautions from the client's conditions, in plain words.
    pub cautions: Vec<String>,
    /// The coach's own caution or hint.
    pub note: Option<String>,
    /// The coach's own reason for it.
    pub because: Option<String>,
    /// The tests whose findings it works on.
    pub serves: Vec<TestId>,
    /// Needs that it covers, by their place in the findings, with its share of each.
    pub covers: Vec<(usize, f64)>,
    /// The need that would be left uncovered without it.
    pub gain: f64,
    /// Reasons for its rung, and for what was set aside to allow it.
    pub why: Vec<String>,
    /// What a coach set aside to allow it.
    pub overridden: Vec<Override>,
}

impl Item {
    /// Whole minutes that one session takes, rounded up.
    pub fn minutes(&self) -> u32 {
        minutes(self.seconds)
    }

    /// Seconds that its holds add up to in a week.
    pub(super) fn stretch_a_week(&self) -> u32 {
        self.dose.hold_seconds() * self.days_a_week()
    }

    /// Days a week on which it is done.
    pub fn days_a_week(&self) -> u32 {
        self.days.iter().filter(|day| **day).count() as u32
    }
}

pub(super) fn minutes(seconds: u32) -> u32 {
    seconds.div_ceil(60)
}

/// An exercise that waits for the answer to a referral.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Waits {
    /// The exercise.
    pub exercise: ExerciseId,
    /// The place that the client was sent on for.
    pub region: RegionId,
    /// To whom.
    pub to: String,
}

/// A program with the reasons for it.
#[derive(Clone, Debug, PartialEq)]
pub struct Program {
    /// Items in the order of work.
    pub items: Vec<Item>,
    /// What waits for the answer to a referral.
    pub waits: Vec<Waits>,
    /// The first day.
    pub start: Date,
    /// Whole minutes on each day of the week, Monday first.
    pub minutes: [u32; 7],
    /// Days on which the client checks themselves.
    pub check_days: Vec<Date>,
    /// The day to test again.
    pub test_again: Date,
    /// Why it is as it is.
    pub reasons: Reasons,
    /// What changed since the last visit, if there was one with a program.
    pub retest: Option<Retest>,
}

/// Why a program is as it is.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Reasons {
    /// Whether the tool chose it; else the coach did.
    pub chosen: bool,
    /// Need covered, for each need of the findings, as a share.
    pub covered: Vec<f64>,
    /// What it is worth: need covered less what the exercises cost.
    pub worth: f64,
    /// Branches of the search.
    pub nodes: u64,
    /// Exercises that would have added most, with why they are not in.
    pub near: Vec<NearMiss>,
    /// Exercises for one of the needs that are not for this client, each with every reason.
    pub barred: Vec<Barred>,
    /// Needs that nothing in the library can meet for this client.
    pub unmet: Vec<Unmet>,
    /// Seconds of stretch in a week, by muscle and side.
    pub stretch: Vec<Stretch>,
}

/// An exercise that nearly got in.
#[derive(Clone, Debug, PartialEq)]
pub struct NearMiss {
    /// The exercise.
    pub exercise: ExerciseId,
    /// The sides.
    pub sides: Sides,
    /// Need that it would cover on top of the program.
    pub gain: f64,
    /// Why it is not in.
    pub why: Miss,
}

/// Why an exercise did not get in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Miss {
    /// It adds less than it costs to keep up.
    AddsLittle,
    /// The program has as many exercises as people keep up.
    Full,
    /// Even its smallest dose does not fit into the minutes left.
    NoTime,
    /// What must come first is not in the program.
    First,
    /// It fits, but the coach chose another program.
    CoachsChoice,
}

/// An exercise that is not for this client.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Barred {
    /// The exercise.
    pub exercise: ExerciseId,
    /// Every reason.
    pub bars: Vec<Bar>,
}

/// A need that nothing in the library can meet.
#[derive(Clone, Debug, PartialEq)]
pub struct Unmet {
    /// Its place in the findings.
    pub need: usize,
    /// What keeps the exercises for it away; empty if the library has none.
    pub bars: Vec<Bar>,
}

/// What a muscle gets of stretch in a week.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// The muscle.
    pub structure: StructureId,
    /// Its side, if it has one.
    pub side: Option<Side>,
    /// Seconds.
    pub seconds: u32,
}

/// A program, or every reason why it cannot be printed; in both cases what the coach should look at.
pub type Planned = (Result<Program, Vec<Problem>>, Vec<Problem>);
