//! How programs are chosen, dosed and stepped up: rules of the trade and working weights of the practice, as data.

use crate::ids::PhaseId;
use crate::library::vocabulary::State;

/// Every rule of `exercises/planning.toml`.
#[derive(Clone, Debug, PartialEq)]
pub struct Planning {
    /// What an exercise must add to be worth keeping up, in covered need; a working weight.
    pub cost: f64,
    /// What each minute of a session costs, in covered need; a working weight.
    pub minute_cost: f64,
    /// What it is worth that a limit is worked on at all; a working weight.
    pub answer: f64,
    /// A need of this weight or more that nothing covers is told to the coach.
    pub tell_unmet_from: f64,
    /// Exercises in a program.
    pub count: Count,
    /// What must come first for work to make sense.
    pub first: Vec<FirstRule>,
    /// Where on the ladder of rungs to start.
    pub start: Vec<StartRule>,
    /// Seconds of stretch that a muscle gets in a week: below the first there is little lasting change, above the second
    /// no more gain.
    pub weekly_stretch_s: (u32, u32),
    /// Whole days of rest that a phase asks for between two sessions, by phase; the others need none.
    pub rest_days: Vec<(PhaseId, u32)>,
    /// Steps up that one region takes at one visit.
    pub steps_up: u32,
    /// Degrees by which a picture may go further than a client's own reading before its card says so; and what it says.
    pub picture: (f64, String),
    /// When to test again.
    pub retest_weeks: RetestWeeks,
    /// How changes are read.
    pub change: ChangeRules,
    /// What to do with each exercise of the last program; the first rule that holds counts.
    pub decisions: Vec<DecisionRule>,
}

/// What is to become of an exercise at a later visit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Decision {
    /// It has done its work.
    Drop,
    /// As it is.
    Hold,
    /// The next rung.
    Next,
    /// One rung back.
    Back,
    /// Something else in its place.
    Swap,
    /// Not in the last program.
    Add,
}

impl Decision {
    /// Every decision that a rule or a coach can take, with its word in files.
    pub const ALL: [(&'static str, Self); 5] =
        [("drop", Self::Drop), ("hold", Self::Hold), ("next", Self::Next), ("back", Self::Back), ("swap", Self::Swap)];

    /// Its word.
    pub fn key(self) -> &'static str {
        Self::ALL.iter().find(|(_, known)| *known == self).map_or("add", |(key, _)| key)
    }
}

/// How an exercise felt to the client.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Felt {
    /// Too easy.
    Easy,
    /// Right.
    Right,
    /// Too hard.
    Hard,
}

impl Felt {
    /// All, with the words used in files.
    pub const ALL: [(&'static str, Self); 3] = [("easy", Self::Easy), ("right", Self::Right), ("hard", Self::Hard)];
}

/// How changes are read.
#[derive(Clone, Debug, PartialEq)]
pub struct ChangeRules {
    /// With this many comparisons one of them may well look real by chance.
    pub many_from: usize,
    /// Share of the planned days under which little can be said.
    pub few_days: f64,
    /// Periods without a real change, each with enough days done, after which someone else should look.
    pub periods: usize,
    /// Where a second exercise of one region would go up: the reason for the coach, and for the client.
    pub one_at_a_time: [String; 2],
    /// Where an exercise is not for the client any more.
    pub not_now: [String; 2],
}

/// What to do with an exercise in some case.
#[derive(Clone, Debug, PartialEq)]
pub struct DecisionRule {
    /// What to do.
    pub what: Decision,
    /// Where it holds.
    pub when: When,
    /// The coach's reason.
    pub coach: String,
    /// The client's reason.
    pub client: String,
}

/// When a rule holds: where everything that it says is so.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct When {
    /// Something untoward has happened with the exercise.
    pub event: Option<bool>,
    /// A test that it serves is really worse.
    pub worse: Option<bool>,
    /// A test that it serves is really better.
    pub better: Option<bool>,
    /// Every test that it served has come out about usual.
    pub usual: Option<bool>,
    /// There are diary results for it.
    pub diary: Option<bool>,
    /// How it felt.
    pub felt: Option<Felt>,
    /// Worst discomfort is above this, of 10.
    pub discomfort_above: Option<u32>,
    /// Worst discomfort is this or less.
    pub discomfort_to: Option<u32>,
    /// Form was lost on two sessions.
    pub form_lost: Option<bool>,
    /// It was still felt next morning.
    pub lingered: Option<bool>,
    /// Fewer of the planned days were done than this share.
    pub done_below: Option<f64>,
    /// This share of the planned days or more was done.
    pub done_from: Option<f64>,
    /// At least so many periods without a real change, each with enough days done.
    pub periods_without_change: Option<u32>,
    /// It is on its lowest rung.
    pub lowest: Option<bool>,
    /// It is on its highest rung.
    pub highest: Option<bool>,
}

/// Weeks from the first day of a program to the next test.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RetestWeeks {
    /// Where no visit is agreed.
    pub usual: u32,
    /// Sooner, a lasting change is hardly to be expected.
    pub least: u32,
    /// Later, a program has gone unchecked for too long.
    pub most: u32,
}

impl Planning {
    /// Whole days of rest between two sessions of a phase.
    pub fn rest_days(&self, phase: &PhaseId) -> u32 {
        self.rest_days.iter().find(|(of, _)| of == phase).map_or(0, |(_, days)| *days)
    }
}

/// How many exercises a program has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Count {
    /// As many as the tool chooses.
    pub usual: u32,
    /// More than this are kept up less well.
    pub warn_above: u32,
    /// More than this are refused.
    pub never_above: u32,
}

/// Work of a phase on a structure needs something of an earlier phase on the same structure, if the structure is in one
/// of the states.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FirstRule {
    /// The phase that must not stand alone.
    pub phase: PhaseId,
    /// Phases of which one must come first.
    pub after: Vec<PhaseId>,
    /// States of the structure for which this holds.
    pub states: Vec<State>,
    /// The coach's reason.
    pub why: String,
}

/// A step up or down the ladder for a client or finding of some kind.
#[derive(Clone, Debug, PartialEq)]
pub struct StartRule {
    /// Years of age from which it holds.
    pub age_from: Option<u32>,
    /// Pain in a test that the exercise serves, above which it holds.
    pub pain_above: Option<u32>,
    /// Weight of the strongest need that the exercise serves, below which it holds.
    pub need_below: Option<f64>,
    /// Whether it holds only where a test that the exercise serves got its lowest grade.
    pub worst_grade: bool,
    /// Rungs up, or down if negative.
    pub steps: i32,
    /// The coach's reason.
    pub why: String,
}
