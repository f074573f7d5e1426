//! How much: the rung to start on, the dose of a rung, and doses squeezed into the time that there is.

use std::collections::BTreeMap;

use crate::library::exercise::{Dose, Part, Rung};
use crate::library::planning::{Planning, StartRule};

/// What decides the rung to start on.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Start {
    /// The rung of the last program, if the exercise was in it.
    pub before: Option<usize>,
    /// Age in years, if it is known.
    pub age: Option<u32>,
    /// Worst pain in a test that the exercise serves.
    pub pain: u32,
    /// Weight of the strongest need that the exercise serves.
    pub need: f64,
    /// Whether a test that the exercise serves got its lowest grade.
    pub worst_grade: bool,
}

/// The rung to start on and the reasons for it. Who was on a rung before stays there.
pub fn start_rung(start: &Start, rungs: usize, planning: &Planning) -> (usize, Vec<String>) {
    let last = rungs.saturating_sub(1);
    if let Some(before) = start.before {
        return (before.min(last), vec!["It is the rung of the last program.".to_owned()]);
    }
    let holds = |rule: &&StartRule| {
        rule.age_from.is_none_or(|from| start.age.is_some_and(|age| age >= from))
            && rule.pain_above.is_none_or(|above| start.pain > above)
            && rule.need_below.is_none_or(|below| start.need < below)
            && (!rule.worst_grade || start.worst_grade)
    };
    let rules: Vec<&StartRule> = planning.start.iter().filter(holds).collect();
    let steps: i32 = rules.iter().map(|rule| rule.steps).sum();
    let rung = usize::try_from(steps).unwrap_or(0).min(last);
    (rung, rules.into_iter().map(|rule| rule.why.clone()).collect())
}

/// The rung's starting dose, with what the coach set.
pub fn dose(rung: &Rung, set: &BTreeMap<Part, u32>) -> Dose {
    let part = |part: Part| {
        let range = rung.dose.part(part)?;
        Some(set.get(&part).copied().unwrap_or(range.start))
    };
    Dose {
        sets: part(Part::Sets).unwrap_or(rung.dose.sets.start),
        reps: part(Part::Reps),
        hold_s: part(Part::Hold),
        lower_s: part(Part::Lower),
        rest_s: part(Part::Rest),
        days: part(Part::Days).unwrap_or(rung.dose.days.start),
        rep_s: rung.dose.rep_s,
    }
}

/// What may be cut, in this order: sets, then repetitions, then holds.
const CUTS: [Part; 3] = [Part::Sets, Part::Reps, Part::Hold];
/// Seconds by which a hold is changed at once.
const HOLD_STEP: u32 = 5;

/// The dose one step smaller, if it may be; what the coach set is never cut.
pub fn smaller(dose: Dose, rung: &Rung, set: &BTreeMap<Part, u32>) -> Option<Dose> {
    CUTS.into_iter().filter(|part| !set.contains_key(part)).find_map(|part| {
        let least = rung.dose.part(part)?.min;
        let mut cut = dose;
        match part {
            Part::Sets if dose.sets > least => cut.sets -= 1,
            Part::Reps if dose.reps? > least => cut.reps = Some(dose.reps? - 1),
            Part::Hold if dose.hold_s? > least => cut.hold_s = Some(dose.hold_s?.saturating_sub(HOLD_STEP).max(least)),
            _ => return None,
        }
        Some(cut)
    })
}

/// The dose with one round more, or with longer holds, if it may be; what the coach set is never changed.
pub fn larger(dose: Dose, rung: &Rung, set: &BTreeMap<Part, u32>) -> Option<Dose> {
    let most = |part: Part| rung.dose.part(part).filter(|_| !set.contains_key(&part)).map(|range| range.max);
    if most(Part::Sets).is_some_and(|most| dose.sets < most) {
        return Some(Dose { sets: dose.sets + 1, ..dose });
    }
    let (hold, most) = (dose.hold_s?, most(Part::Hold)?);
    (hold < most).then(|| Dose { hold_s: Some((hold + HOLD_STEP).min(most)), ..dose })
}

/// The smallest dose of a rung.
pub fn smallest(rung: &Rung, set: &BTreeMap<Part, u32>) -> Dose {
    let mut least = dose(rung, set);
    while let Some(cut) = smaller(least, rung, set) {
        least = cut;
    }
    least
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::demo;

    fn start(start: Start) -> usize {
        start_rung(&start, 3, &demo().library.planning).0
    }

    #[test]
    fn everyone_starts_low_unless_the_limit_is_small_and_nothing_speaks_against_it() {
        let plain = Start { need: 0.8, age: Some(40), ..Start::default() };
        assert_eq!(start(plain), 0);
        assert_eq!(start(Start { need: 0.29, ..plain }), 1);
        assert_eq!(start(Start { need: 0.29, worst_grade: true, ..plain }), 0);
        assert_eq!(start(Start { need: 0.29, age: Some(70), ..plain }), 0);
        assert_eq!(start(Start { need: 0.29, pain: 3, ..plain }), 0);
        assert_eq!(start(Start { need: 0.29, age: None, ..plain }), 1);
        // What was there before counts more than any rule; a ladder that became shorter ends earlier.
        assert_eq!(start(Start { before: Some(2), age: Some(80), ..plain }), 2);
        assert_eq!(start(Start { before: Some(7), ..plain }), 2);
    }
}
