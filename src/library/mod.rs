//! What a practice knows: its words for the body, its rules of safety, its tests and its exercises. Valid by construction.

pub mod exercise;
pub mod planning;
pub mod test;
pub mod vocabulary;

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::ids::{ExerciseId, PhaseId, TestId};
use exercise::Exercise;
use planning::Planning;
use test::Test;
use vocabulary::Vocabulary;

/// One step in the order of work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Phase {
    /// Its id, which is also the folder of its exercises.
    pub id: PhaseId,
    /// What the client reads.
    pub name: String,
    /// One sentence to the client: what this part is for.
    pub purpose: String,
}

/// A correction of an entry's texts or pictures.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Correction {
    /// When.
    pub on: Date,
    /// What was corrected, in words for the coach.
    pub what: String,
    /// Whether it is a matter of safety: who holds the old text must get the new one.
    pub urgent: bool,
}

/// The whole library of a practice.
#[derive(Clone, Debug, PartialEq)]
pub struct Library {
    /// Words, equipment, positions, and the rules of safety.
    pub vocabulary: Vocabulary,
    /// The phases, in the order of work.
    pub phases: Vec<Phase>,
    /// How programs are chosen, dosed and stepped up.
    pub planning: Planning,
    /// Every usable test.
    pub tests: BTreeMap<TestId, Test>,
    /// Every usable exercise.
    pub exercises: BTreeMap<ExerciseId, Exercise>,
}
