//! A program after another: what was given last time, what goes on from it, and what really became of it.

use std::collections::BTreeMap;

use super::days::next_monday;
use super::fit::Who;
use super::{Item, Planner, plan};
use crate::assess::{Findings, assess};
use crate::body::Side;
use crate::diag::{Problem, Rule};
use crate::ids::{ExerciseId, TestId};
use crate::library::Library;
use crate::library::exercise::{Exercise, Part};
use crate::library::planning::Decision;
use crate::record::{Choice, Client, Given, Visit};
use crate::retest::{self, Adherence, Past, Retest};
use crate::safety::{self, Gate};

/// The program of the last visit before one, what was found there, and how well the one before it was kept up. The program
/// is the one that was issued, or else what it would be today.
pub fn past(client: &Client, visit: &Visit, library: &Library) -> Option<(Past, Findings, Option<Adherence>)> {
    let last = before(client, visit)?;
    let found = assess(client, last, library);
    if let Some(past) = issued(client, last) {
        let earlier = before(client, last).and_then(|earlier| issued(client, earlier));
        return Some((past, found, earlier.and_then(|earlier| retest::adherence(&earlier, last))));
    }
    if !matches!(safety::gate(client, last, library), Gate::Open { .. }) {
        return None;
    }
    let program = plan(client, last, &found, library).0.ok()?;
    let given = |item: Item| Given { exercise: item.exercise, sides: item.sides, rung: item.rung, dose: item.dose };
    let items = program.items.into_iter().map(given).collect();
    let earlier = program.retest.and_then(|retest| retest.adherence);
    Some((Past { on: last.on, start: program.start, items }, found, earlier))
}

fn before<'a>(client: &'a Client, visit: &Visit) -> Option<&'a Visit> {
    client.visits.iter().rev().find(|earlier| earlier.on < visit.on)
}

fn issued(client: &Client, visit: &Visit) -> Option<Past> {
    let items = client.issued.get(&visit.on)?.clone();
    Some(Past { on: visit.on, start: visit.start.unwrap_or_else(|| next_monday(visit.on)), items })
}

/// A choice that keeps the dose of the last program, as far as its rung still allows it.
fn as_before(given: &Given, rung: usize, exercise: &Exercise) -> Choice {
    let dose = given.dose;
    let parts = [
        (Part::Sets, Some(dose.sets)),
        (Part::Reps, dose.reps),
        (Part::Hold, dose.hold_s),
        (Part::Lower, dose.lower_s),
        (Part::Rest, dose.rest_s),
        (Part::Days, Some(dose.days)),
    ];
    let kept = |(part, value): (Part, Option<u32>)| {
        let range = exercise.rungs.get(rung)?.dose.part(part)?;
        Some((part, value?.clamp(range.min, range.max)))
    };
    // Another rung starts at its own dose.
    let dose = if rung == given.rung { parts.into_iter().filter_map(kept).collect() } else { BTreeMap::new() };
    Choice {
        place: 0..0,
        exercise: given.exercise.clone(),
        rung: Some(rung),
        sides: Some(given.sides),
        dose,
        note: None,
        because: None,
    }
}

impl Planner<'_> {
    /// The rung of the last program.
    pub(super) fn rung_before(&self, exercise: &ExerciseId) -> Option<usize> {
        self.past.iter().flat_map(|past| &past.items).find(|given| given.exercise == *exercise).map(|given| given.rung)
    }

    /// Goes on from the last program: what holds or moves a rung must be in, what is dropped must not; the coach's own
    /// wishes come first. What is not for the client any more is swapped.
    pub(super) fn go_on(&mut self) {
        let Who { library, .. } = self.who;
        let mut decided = self.retest.as_mut().map(|retest| std::mem::take(&mut retest.decided)).unwrap_or_default();
        for it in &mut decided {
            let Some(exercise) = library.exercises.get(&it.was.exercise) else { continue };
            if self.pins.iter().any(|pin| pin.exercise == exercise.id) || self.bans.contains(&exercise.id) {
                continue;
            }
            let last = exercise.rungs.len().saturating_sub(1);
            let rung = match it.decision {
                Decision::Hold => it.was.rung.min(last),
                Decision::Next => (it.was.rung + 1).min(last),
                Decision::Back => it.was.rung.saturating_sub(1),
                Decision::Drop | Decision::Swap | Decision::Add => {
                    self.bans.insert(exercise.id.clone());
                    continue;
                }
            };
            let pin = as_before(&it.was, rung, exercise);
            match self.way(exercise, it.was.sides, Some(&pin)) {
                Ok(_) => self.pins.push(pin),
                Err(bars) => {
                    let why: Vec<String> = bars.iter().map(|bar| bar.words(library).0).collect();
                    let [coach, client] = library.planning.change.not_now.clone();
                    (it.advice, it.decision) = (Decision::Swap, Decision::Swap);
                    (it.coach, it.client) = (format!("{coach}: {}.", why.join("; ")), client);
                    self.bans.insert(exercise.id.clone());
                }
            }
        }
        if let Some(retest) = &mut self.retest {
            retest.decided = decided;
        }
    }

    /// What changed, with what really became of each exercise.
    pub(super) fn changes(&self, items: &[Item]) -> Option<Retest> {
        let mut retest = self.retest.clone()?;
        for it in &mut retest.decided {
            let same = items.iter().filter(|item| item.exercise == it.was.exercise);
            let now = same.clone().find(|item| item.sides == it.was.sides).or_else(|| same.clone().next());
            let decision = match now {
                None if matches!(it.decision, Decision::Drop | Decision::Swap) => it.decision,
                None => Decision::Drop,
                Some(item) if item.rung > it.was.rung => Decision::Next,
                Some(item) if item.rung < it.was.rung => Decision::Back,
                Some(_) => Decision::Hold,
            };
            it.became(decision);
        }
        Some(retest)
    }

    /// What the coach should look at before the sheet goes out.
    pub(super) fn tell(&self, retest: &Retest) -> Vec<Problem> {
        let Who { visit, library, .. } = self.who;
        let name = |test: &TestId, side: Option<Side>| {
            let name = library.tests.get(test).map_or_else(|| test.to_string(), |test| test.name.to_lowercase());
            side.map_or_else(|| name.clone(), |side| format!("{name}, {},", side.key()))
        };
        let one = |reason: &retest::HandOver| {
            let message = match reason {
                retest::HandOver::Worse(test, side) => {
                    format!("{} is really worse than at the last visit", name(test, *side))
                }
                retest::HandOver::NoChange(test, side) => {
                    let periods = library.planning.change.periods;
                    format!(
                        "{} has not really changed in {periods} periods, though the days were done",
                        name(test, *side)
                    )
                }
            };
            let help = "send the client to a clinician for it, and write it down under `referrals`";
            self.at(&visit.place, Rule::HandOver, message).help(help)
        };
        retest.hand_over.iter().map(one).collect()
    }
}
