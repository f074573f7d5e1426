//! The part of the coach's record that tells what changed since the last visit.

use super::DASH;
use super::shape::{ChangeLine, DecisionLine, RetestPart};
use crate::assess::Change;
use crate::body::Side;
use crate::library::planning::{Decision, Felt};
use crate::library::test::Test;
use crate::record::Given;
use crate::retest::{Course, Decided, HandOver, Retest};
use crate::units::Amount;
use crate::word::Writer;

impl Writer<'_> {
    pub(super) fn retest_part(&self, retest: &Retest) -> RetestPart {
        let test = |course: &Course| self.library.tests.get(&course.test);
        RetestPart {
            notes: self.retest_notes(retest),
            changes: retest.courses.iter().filter_map(|it| Some(self.change_line(it, test(it)?))).collect(),
            decisions: retest.decided.iter().map(|it| self.decision_line(it)).collect(),
        }
    }

    /// How it was kept up comes before everything that is judged.
    fn retest_notes(&self, retest: &Retest) -> Vec<String> {
        let mut notes = Vec::new();
        match retest.adherence {
            Some(kept) => {
                let few = if retest.few_days(self.library) { ": fewer than half, so changes say little" } else { "" };
                notes.push(format!(
                    "{} of {} planned exercises done since {}{few}; one on one day counts as one.",
                    kept.done, kept.planned, retest.since
                ));
            }
            None => notes.push(format!("There are no diary results since {}.", retest.since)),
        }
        for event in &self.visit.events {
            let with = event.exercise.as_ref().map_or_else(String::new, |id| format!(", with `{id}`"));
            let on = event.on.map_or_else(String::new, |on| format!(" on {on}"));
            notes.push(format!("What happened{on}{with}: {}", event.what));
        }
        for reason in &retest.hand_over {
            let (id, side, why) = match reason {
                HandOver::Worse(test, side) => (test, side, "is really worse"),
                HandOver::NoChange(test, side) => (test, side, "has not really changed, though the days were done"),
            };
            let name = self.library.tests.get(id).map_or_else(|| id.to_string(), |test| self.course(test, *side));
            notes.push(format!("{name} {why}: send the client to a clinician for it."));
        }
        if let Some((real, all)) = retest.by_chance {
            notes.push(format!(
                "{real} of {all} comparisons look real; about one in twenty would by chance. Go by the pattern."
            ));
        }
        notes
    }

    /// Side and test.
    fn course(&self, test: &Test, side: Option<Side>) -> String {
        side.map_or_else(|| test.name.clone(), |side| format!("{} {}", self.side_label(side), test.name.to_lowercase()))
    }

    fn change_line(&self, course: &Course, test: &Test) -> ChangeLine {
        let values: Vec<String> = course.points.iter().map(|(_, amount)| self.value(test, *amount)).collect();
        let points = &course.points;
        let by = |from: Option<&(jiff::civil::Date, Amount)>, change: Option<Change>| match (from, points.last()) {
            (Some((_, from)), Some((_, now))) => {
                let sign = if now > from { "+" } else { "" };
                format!("{sign}{}, {}", self.number(test, now.minus(*from)), change_word(change))
            }
            _ => DASH.to_owned(),
        };
        let last = match points.len() {
            0 | 1 => format!("measured in another way before ({})", course.other_way),
            count => by(points.get(count - 2), course.last),
        };
        let whole = if points.len() > 2 { by(points.first(), course.whole) } else { DASH.to_owned() };
        ChangeLine { name: self.course(test, course.side), values: values.join(", "), last, whole }
    }

    fn decision_line(&self, it: &Decided) -> DecisionLine {
        let went = self.visit.diary.iter().find(|went| went.exercise == it.was.exercise);
        let went = went.map_or_else(
            || DASH.to_owned(),
            |went| {
                let felt = match went.felt {
                    Felt::Easy => "easy",
                    Felt::Right => "right",
                    Felt::Hard => "hard",
                };
                let lost = if went.form_lost { ", form lost" } else { "" };
                let lingered = if went.lingered { ", felt next morning" } else { "" };
                format!("{} days, worst {} of 10, {felt}{lost}{lingered}", went.days, went.discomfort)
            },
        );
        let decision = match &it.overruled {
            None => word(it.decision).to_owned(),
            Some(Some(why)) => format!("{}, by the coach: {why}", word(it.decision)),
            Some(None) => format!("{}, by the coach; no reason written", word(it.decision)),
        };
        DecisionLine {
            name: format!("{} ({})", self.name_of(&it.was.exercise), was(&it.was)),
            went,
            advice: format!("{}. {}", word(it.advice), it.coach),
            decision,
        }
    }
}

fn word(decision: Decision) -> &'static str {
    match decision {
        Decision::Drop => "Drop",
        Decision::Hold => "Hold",
        Decision::Next => "Next rung",
        Decision::Back => "Back a rung",
        Decision::Swap => "Swap",
        Decision::Add => "Add",
    }
}

/// An exercise as it was given, in short.
fn was(given: &Given) -> String {
    format!("rung {}, {}", given.rung + 1, given.sides.key())
}

pub(super) fn change_word(change: Option<Change>) -> &'static str {
    match change {
        None => "error unknown",
        Some(Change::ClearlyBetter) => "real and worthwhile",
        Some(Change::Better) => "real",
        Some(Change::MaybeBetter) => "within error, leaning better",
        Some(Change::Same) => "no change",
        Some(Change::MaybeWorse) => "within error, leaning worse",
        Some(Change::Worse) => "really worse",
    }
}
