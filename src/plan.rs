//! From findings to a program: what the coach wrote or what covers the most need, its order, doses, days and minutes,
//! and the reasons for all of it.
//!
//! Pure. A program that the coach wrote is checked by the same rules as one that is chosen here.

mod after;
pub mod choose;
mod days;
mod dose;
mod finish;
mod fit;
mod program;
mod select;
mod ways;
mod written;

use std::collections::BTreeSet;

use crate::assess::{Findings, Need};
use crate::body::{Side, Sides};
use crate::diag::{Problem, Rule};
use crate::ids::{ExerciseId, Id, StructureId};
use crate::library::Library;
use crate::record::{Choice, Client, Visit};
use crate::retest::{self, Past, Retest};
use crate::safety::Case;

use after::past;
use fit::Who;

pub use fit::Bar;
pub use program::{Barred, Item, Miss, NearMiss, Planned, Program, Reasons, Stretch, Tool, Unmet, Waits};

/// One client's planning: what every step of it looks at.
struct Planner<'a> {
    who: Who<'a>,
    case: Case<'a>,
    findings: &'a Findings,
    /// The last program.
    past: Option<Past>,
    /// What changed since then, and what is to become of it.
    retest: Option<Retest>,
    /// Exercises that must be in: the coach's, and those of the last program that go on.
    pins: Vec<Choice>,
    /// Exercises that must not be in.
    bans: BTreeSet<ExerciseId>,
}

/// Builds the program of a visit: the coach's own, or the one that goes on from the last and covers the most need.
pub fn plan(client: &Client, visit: &Visit, findings: &Findings, library: &Library) -> Planned {
    let past = past(client, visit, library);
    let retest = past
        .as_ref()
        .map(|(past, before, earlier)| retest::look(client, visit, (findings, before), past, *earlier, library));
    let mut planner = Planner {
        who: Who { client, visit, library },
        case: Case::new(client, visit, library),
        findings,
        past: past.map(|(past, ..)| past),
        retest,
        pins: visit.pins.clone(),
        bans: visit.bans.clone(),
    };
    let (result, warnings) = if visit.program.is_empty() {
        planner.go_on();
        planner.choose()
    } else {
        planner.coachs()
    };
    (result, warnings.into_iter().map(|warning| warning.client(&client.id)).collect())
}

impl Planner<'_> {
    fn at(&self, place: &std::ops::Range<usize>, rule: Rule, message: impl Into<String>) -> Problem {
        Problem::at(rule, &self.who.client.file, place.clone(), message).client(&self.who.client.id)
    }
}

/// A need in the coach's words: `right calf, short`.
pub fn named(need: &Need, library: &Library) -> String {
    format!("{}, {}", spoken(&need.structure, need.side, library), need.state.key())
}

/// A structure and its side in words: `right calf`.
pub fn spoken(structure: &StructureId, side: Option<Side>, library: &Library) -> String {
    let name = library.vocabulary.structures.get(structure).map_or(structure.as_str(), |known| known.name.as_str());
    side.map_or_else(|| name.to_owned(), |side| format!("{} {name}", side.key()))
}

/// What would unlock something that bars keep away.
pub fn unlocking(bars: &[Bar], library: &Library) -> String {
    if bars.is_empty() {
        return "the library has no exercise for it: add one".to_owned();
    }
    let words: Vec<String> = bars.iter().map(|bar| bar.words(library).0).collect();
    format!("what keeps it away: {}", words.join("; "))
}

/// The side whose reading a text may use.
pub fn reading_side(sides: Sides) -> Option<Side> {
    sides.shown()
}

#[cfg(test)]
mod tests;
