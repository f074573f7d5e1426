//! What the library can do for whom: for every need that a test can find and every single limit that a client may have,
//! whether a program can still be built.

use std::collections::BTreeSet;

use crate::ids::{ConditionId, PositionId, StructureId};
use crate::library::Library;
use crate::library::exercise::{Exercise, Rung};
use crate::library::vocabulary::{Action, Condition, Level, State};

/// A single limit that a client may have.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Limit {
    /// None.
    Nothing,
    /// One position that they cannot get into.
    Position(PositionId),
    /// Nothing at home but what every home has, stand-ins included.
    NoEquipment,
    /// One condition, cleared where a clinician can clear it.
    Condition(ConditionId),
}

impl std::fmt::Display for Limit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Nothing => f.write_str("no limit"),
            Self::Position(position) => write!(f, "not {position}"),
            Self::NoEquipment => f.write_str("no equipment"),
            Self::Condition(condition) => write!(f, "{condition}"),
        }
    }
}

/// A need and the limits under which nothing in the library works on it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Gap {
    /// The structure.
    pub structure: StructureId,
    /// Its state.
    pub state: State,
    /// Under which limits.
    pub limits: Vec<Limit>,
}

/// How much of what may come the library covers.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Coverage {
    /// Cases looked at: a need with a limit.
    pub cases: usize,
    /// Cases that a rule of safety leaves without any work on purpose; they are not counted among `cases`.
    pub refused: usize,
    /// Cases for which nothing is left, by need.
    pub gaps: Vec<Gap>,
}

impl Coverage {
    /// Cases without an exercise.
    pub fn open(&self) -> usize {
        self.gaps.iter().map(|gap| gap.limits.len()).sum()
    }

    /// Covered cases of a hundred, rounded down.
    pub fn percent(&self) -> usize {
        (self.cases - self.open()) * 100 / self.cases.max(1)
    }
}

/// Looks at every case.
pub fn coverage(library: &Library) -> Coverage {
    let mut limits = vec![Limit::Nothing, Limit::NoEquipment];
    limits.extend(library.vocabulary.positions.keys().cloned().map(Limit::Position));
    // At the two most urgent levels there is no program, whatever the library has.
    let conditions = library.vocabulary.conditions.iter().filter(|(_, condition)| condition.level > Level::SameDay);
    limits.extend(conditions.map(|(id, _)| Limit::Condition(id.clone())));
    let mut found = Coverage::default();
    for (structure, state) in needs(library) {
        let mut open = Vec::new();
        for limit in &limits {
            let acts = |exercise: &&Exercise| exercise.acts_on(&structure, state);
            let mut versions =
                library.exercises.values().filter(acts).flat_map(|e| e.rungs.iter().map(move |r| (e, r)));
            if versions.any(|(exercise, rung)| allowed(exercise, rung, limit, library)) {
                found.cases += 1;
            } else if refused(limit, &structure, state, library) {
                found.refused += 1;
            } else {
                found.cases += 1;
                open.push(limit.clone());
            }
        }
        if !open.is_empty() {
            found.gaps.push(Gap { structure, state, limits: open });
        }
    }
    found
}

/// Every need that a test can find.
fn needs(library: &Library) -> BTreeSet<(StructureId, State)> {
    let of_tests = library.tests.values().flat_map(|test| {
        let signs = test.signs.iter().flat_map(|sign| &sign.evidence);
        test.limited.iter().chain(signs).map(|evidence| (evidence.structure.clone(), evidence.state))
    });
    of_tests.collect()
}

fn allowed(exercise: &Exercise, rung: &Rung, limit: &Limit, library: &Library) -> bool {
    match limit {
        Limit::Nothing => true,
        Limit::Position(position) => !rung.features.positions.contains(position),
        Limit::NoEquipment => exercise.equipment.iter().chain(&rung.equipment).all(|id| {
            library.vocabulary.equipment.get(id).is_some_and(|known| known.household || known.stand_in.is_some())
        }),
        Limit::Condition(id) => library.vocabulary.conditions.get(id).is_some_and(|condition| {
            !condition.rules.iter().any(|rule| {
                // A condition at one place is counted at a place that is not this one: elsewhere there is work to do.
                rule.action == Action::LeaveOut && !rule.local && rule.matches(&rung.features, None)
            })
        }),
    }
}

/// Whether the rules leave out all work of the kind that the need asks for, so that no exercise could cover the case.
fn refused(limit: &Limit, structure: &StructureId, state: State, library: &Library) -> bool {
    let Limit::Condition(id) = limit else {
        return false;
    };
    let Some(condition) = library.vocabulary.conditions.get(id) else {
        return false;
    };
    let mut acting = library.exercises.values().filter(|exercise| exercise.acts_on(structure, state)).peekable();
    let any = acting.peek().is_some();
    any && acting.all(|exercise| exercise.rungs.iter().all(|rung| whole_method_out(condition, rung)))
}

/// Whether a rule that names methods alone leaves a version out.
fn whole_method_out(condition: &Condition, rung: &Rung) -> bool {
    condition.rules.iter().any(|rule| {
        let of = &rule.of;
        let methods_alone = !of.methods.is_empty()
            && of.regions.is_empty()
            && of.positions.is_empty()
            && of.tags.is_empty()
            && !rule.local;
        rule.action == Action::LeaveOut && methods_alone && rung.features.methods.iter().any(|m| of.methods.contains(m))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ids::Id;
    use crate::testing::demo;

    #[test]
    fn the_demo_library_covers_what_may_come() {
        let library = &demo().library;
        let found = coverage(library);
        assert!(library.exercises.len() >= 60 && library.tests.len() >= 18);
        assert!(found.cases > 1500, "{}", found.cases);
        assert!(found.percent() >= 95, "{} of {} cases are open", found.open(), found.cases);
    }

    #[test]
    fn a_library_of_one_exercise_covers_its_own_needs_alone() {
        let mut library = demo().library.clone();
        library.exercises.retain(|id, _| id.as_str() == "chair-squat");
        let found = coverage(&library);
        let gap = |structure: &str, state: State| {
            found.gaps.iter().find(|gap| gap.structure.as_str() == structure && gap.state == state)
        };
        let open = |structure: &str, state: State| {
            gap(structure, state).is_some_and(|gap| gap.limits.contains(&Limit::Nothing))
        };
        // A squat makes thighs stronger; it makes neither them nor the ankles longer.
        assert!(!open("quadriceps", State::Weak));
        assert!(open("quadriceps", State::Short) && open("ankle-dorsiflexion", State::Stiff));
        let standing = gap("quadriceps", State::Weak);
        let not_standing = Limit::Position(PositionId::new("standing").unwrap());
        assert!(standing.unwrap().limits.contains(&not_standing));
    }
}
