//! Readings as words, and axes with round marks in the client's units.

use super::Speech;
use crate::library::test::Test;
use crate::units::{Amount, Shown, System, Unit};

/// An axis in the client's units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Axis {
    pub min: f64,
    pub max: f64,
    pub step: f64,
}

impl Speech<'_> {
    /// The unit beside a number, such as `1` or `2.5`.
    pub(super) fn unit_word(&self, shown: Shown, number: &str) -> &str {
        let units = &self.words.units;
        match shown {
            Shown::Centimetre => units.cm.source(),
            Shown::Inch => units.inch.source(),
            Shown::Degree => units.deg.source(),
            Shown::Second => units.s.source(),
            Shown::Count => self.words.counted.count.of_written(number).source(),
            Shown::Kilogram => units.kg.source(),
            Shown::Pound => units.lb.source(),
            Shown::Grade => "",
        }
    }

    /// The unit in full, for the line that names a test.
    pub(super) fn unit_full(&self, test: &Test) -> &str {
        let units = &self.words.units;
        match test.unit.shown_as(self.system) {
            Shown::Centimetre => units.cm_word.source(),
            Shown::Inch => units.inch_word.source(),
            Shown::Degree => units.deg_word.source(),
            Shown::Second => units.s_word.source(),
            Shown::Count => units.count_word.source(),
            Shown::Kilogram => units.kg_word.source(),
            Shown::Pound => units.lb_word.source(),
            Shown::Grade => "",
        }
    }

    /// The number as it is printed, no finer than the instrument.
    pub(super) fn shown(&self, test: &Test, amount: Amount) -> Amount {
        test.unit.show(amount, test.resolution, self.system)
    }

    /// The value with its unit, or the name of its grade.
    pub(super) fn value(&self, test: &Test, amount: Amount) -> String {
        if test.unit == Unit::Grade {
            return grade(test, amount);
        }
        self.printed(test, self.shown(test, amount))
    }

    /// The least change that counts, as it is printed and drawn.
    pub(super) fn change_shown(&self, test: &Test, change: Amount) -> Amount {
        test.unit.show_change(change, test.resolution, self.system)
    }

    /// The same with its unit.
    pub(super) fn change(&self, test: &Test, change: Amount) -> String {
        self.printed(test, self.change_shown(test, change))
    }

    /// The first printed reading that lies a change from `now`, with its unit; none if that is no possible reading.
    pub(super) fn beyond(&self, test: &Test, now: Amount, change: Amount, up: bool) -> Option<String> {
        let reached = test.beyond(now, change, up)?;
        if test.unit.shown_as(System::Metric) == test.unit.shown_as(self.system) {
            return Some(self.value(test, reached));
        }
        // In other units the sum of what is printed counts, or it would not add up on paper.
        let (now, change) = (self.shown(test, now), self.change_shown(test, change));
        Some(self.printed(test, if up { now.plus(change) } else { now.minus(change) }))
    }

    /// A number as it is printed, with its unit.
    fn printed(&self, test: &Test, number: Amount) -> String {
        let shown = test.unit.shown_as(self.system);
        let number = number.to_string();
        let word = self.unit_word(shown, &number);
        let number = self.words.number(&number);
        match shown {
            Shown::Degree => format!("{number}{word}"),
            _ => format!("{number}\u{a0}{word}"),
        }
    }

    /// The number alone.
    pub(super) fn number(&self, test: &Test, amount: Amount) -> String {
        self.words.number(&self.shown(test, amount).to_string())
    }

    /// The test's axis; for other units round marks are chosen anew.
    pub(super) fn axis(&self, test: &Test) -> Axis {
        let scale = test.scale;
        let shown = test.unit.shown_as(self.system);
        if !matches!(shown, Shown::Inch | Shown::Pound) {
            return Axis { min: scale.min.to_f64(), max: scale.max.to_f64(), step: scale.step.to_f64() };
        }
        let end = |amount| test.unit.show(amount, test.resolution, self.system).to_f64();
        let (min, max) = (end(scale.min), end(scale.max));
        let step = round_step((max - min) / 4.0);
        Axis { min: (min / step).floor() * step, max: (max / step).ceil() * step, step }
    }
}

/// The name of a grade.
pub(super) fn grade(test: &Test, amount: Amount) -> String {
    // Readings of graded tests are checked against `possible`, which the list of grades covers.
    let index = amount.to_f64().max(0.0) as usize;
    test.grades.get(index).cloned().unwrap_or_default()
}

/// The smallest of 1, 2, 5 times a power of ten that is no less than `rough`.
fn round_step(rough: f64) -> f64 {
    [0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0].into_iter().find(|step| *step >= rough).unwrap_or(200.0)
}
