//! Ways of doing an exercise that are for this client, and what keeps the others away.

use std::collections::{BTreeMap, BTreeSet};

use super::dose::{Start, start_rung};
use super::fit::{Bar, Fit, Who, fit};
use super::{Barred, Planner};
use crate::assess::{Need, Origin};
use crate::body::{Side, Sides};
use crate::library::exercise::{Dose, Exercise, Part};
use crate::library::planning::FirstRule;
use crate::record::Choice;
use crate::units::{Amount, Unit};

/// One way of doing one exercise that is for this client.
pub(super) struct Way<'a> {
    pub(super) exercise: &'a Exercise,
    pub(super) rung: usize,
    pub(super) sides: Sides,
    /// Parts of the dose that the coach set.
    pub(super) set: BTreeMap<Part, u32>,
    pub(super) note: Option<String>,
    pub(super) because: Option<String>,
    pub(super) fit: Fit,
    pub(super) covers: Vec<(usize, f64)>,
    pub(super) why: Vec<String>,
}

impl Way<'_> {
    pub(super) fn seconds(&self, dose: Dose) -> u32 {
        dose.session_seconds(self.sides)
    }
}

impl<'a> Planner<'a> {
    /// Needs that an exercise covers on the sides, each with its share.
    pub(super) fn covers(&self, exercise: &Exercise, sides: Sides) -> Vec<(usize, f64)> {
        let share = |need: &Need| {
            let reaching = exercise.effects_on(&need.structure, need.state).filter(|e| e.reaches(sides, need.side));
            reaching.map(|effect| effect.effect).max_by(f64::total_cmp)
        };
        self.findings.needs.iter().enumerate().filter_map(|(index, need)| Some((index, share(need)?))).collect()
    }

    /// What decides the rung to start on.
    fn start(&self, exercise: &Exercise, covers: &[(usize, f64)]) -> Start {
        let Who { client, visit, .. } = self.who;
        let needs = || covers.iter().map(|(need, _)| &self.findings.needs[*need]);
        let tests = needs().flat_map(|need| &need.evidence).map(|(origin, _)| match origin {
            Origin::Reading(test) | Origin::Sign(test, _) | Origin::Fine(test) => test,
        });
        let readings =
            || tests.clone().filter_map(|test| Some((self.who.library.tests.get(test)?, visit.readings.get(test)?)));
        let worst_grade = readings().any(|(test, reading)| {
            let mut values = Side::BOTH.into_iter().filter_map(|side| reading.values.on(side));
            test.unit == Unit::Grade && values.any(|value| value == Amount::default())
        });
        let pain =
            tests.clone().filter_map(|test| visit.readings.get(test)).map(|r| r.pain.left.max(r.pain.right)).max();
        Start {
            before: self.rung_before(&exercise.id),
            age: client.age_on(visit.on),
            pain: pain.unwrap_or(0),
            need: needs().map(|need| need.weight).fold(0.0, f64::max),
            worst_grade,
        }
    }

    /// A way of doing an exercise: on the wanted rung, or else on an easier one.
    ///
    /// # Errors
    /// Why even the easiest is not for the client.
    pub(super) fn way(&self, exercise: &'a Exercise, sides: Sides, pin: Option<&Choice>) -> Result<Way<'a>, Vec<Bar>> {
        let covers = self.covers(exercise, sides);
        let (rung, mut why) = match pin.and_then(|pin| pin.rung) {
            Some(rung) => (rung, vec!["The coach chose the rung.".to_owned()]),
            None => start_rung(&self.start(exercise, &covers), exercise.rungs.len(), &self.who.library.planning),
        };
        let mut bars = Vec::new();
        for lower in (0..=rung).rev() {
            match fit(&self.case, &self.who, exercise, lower, sides) {
                Ok(fit) => {
                    if lower < rung {
                        why.push("A harder rung is not for this client now.".to_owned());
                    }
                    why.extend(fit.overridden.iter().map(|over| format!("Set aside by {}: {}", over.by, over.why)));
                    let (set, note) = pin.map(|pin| (pin.dose.clone(), pin.note.clone())).unwrap_or_default();
                    let because = pin.and_then(|pin| pin.because.clone());
                    return Ok(Way { exercise, rung: lower, sides, set, note, because, fit, covers, why });
                }
                Err(found) => bars = found,
            }
            if pin.is_some_and(|pin| pin.rung.is_some()) {
                break;
            }
        }
        Err(bars)
    }

    /// Every way of doing something for one of the needs, and what is not for this client.
    pub(super) fn ways(&self) -> (Vec<Way<'a>>, Vec<Barred>) {
        let Who { library, .. } = self.who;
        let (mut ways, mut barred) = (Vec::new(), Vec::new());
        for exercise in library.exercises.values() {
            let pin = self.pins.iter().find(|pin| pin.exercise == exercise.id);
            let mut bars = BTreeSet::new();
            let mut any = false;
            for sides in exercise.sides.iter().copied() {
                if pin.and_then(|pin| pin.sides).is_some_and(|pinned| pinned != sides) {
                    continue;
                }
                if pin.is_none() && self.covers(exercise, sides).is_empty() {
                    continue;
                }
                if self.bans.contains(&exercise.id) {
                    bars.insert(Bar::Banned);
                    continue;
                }
                // What got worse is looked at before anything more is done there, unless the coach wants it.
                let worse = self.retest.as_ref().and_then(|retest| retest.bars(exercise, sides, library));
                if let (Some(test), None) = (worse, pin) {
                    bars.insert(Bar::Worse(test.clone()));
                    continue;
                }
                match self.way(exercise, sides, pin) {
                    Ok(way) => {
                        any = true;
                        ways.push(way);
                    }
                    Err(found) => bars.extend(found),
                }
            }
            if !any && !bars.is_empty() {
                barred.push(Barred { exercise: exercise.id.clone(), bars: bars.into_iter().collect() });
            }
        }
        (ways, barred)
    }

    /// What must come first for a way: for each entry one of these ways. `Err` if there is none.
    pub(super) fn first(&self, way: &Way<'_>, ways: &[Way<'_>]) -> Result<Vec<Vec<usize>>, &'a FirstRule> {
        let planning = &self.who.library.planning;
        let mut first = Vec::new();
        for rule in planning.first.iter().filter(|rule| rule.phase == way.exercise.phase) {
            for (index, need) in self.findings.needs.iter().enumerate() {
                let same_place = way
                    .exercise
                    .effects
                    .iter()
                    .any(|effect| effect.structure == need.structure && effect.reaches(way.sides, need.side));
                if !same_place || !rule.states.contains(&need.state) || need.weight < planning.tell_unmet_from {
                    continue;
                }
                let openers: Vec<usize> = (0..ways.len())
                    .filter(|other| {
                        rule.after.contains(&ways[*other].exercise.phase)
                            && ways[*other].covers.iter().any(|(covered, _)| *covered == index)
                    })
                    .collect();
                if openers.is_empty() {
                    return Err(rule);
                }
                first.push(openers);
            }
        }
        Ok(first)
    }
}
