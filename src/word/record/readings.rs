//! The part of the coach's record that tells what was read in the tests, and what it points to.

use super::retest::change_word;
use super::shape::{Evidence, Lane, NeedRow, Strip, TestPart};
use super::{DASH, Reasoning};
use crate::assess::{Band, Basis, Finding, Need, Origin, change};
use crate::body::Side;
use crate::ids::TestId;
use crate::library::test::{Reference, Test};
use crate::plan;
use crate::record::Values;
use crate::units::{Amount, Unit};
use crate::word::Writer;

impl Writer<'_> {
    pub(super) fn test_part(&self, finding: &Finding) -> Option<TestPart> {
        let test = self.library.tests.get(&finding.test)?;
        let sided = matches!(finding.values, Values::Sided(_));
        let sides: &[Side] = if sided { &Side::BOTH } else { &[Side::Left] };
        let lanes = sides.iter().map(|side| self.lane(finding, test, *side, sided)).collect();
        let signs = finding.signs.iter().map(|(side, id)| {
            let see = test.signs.iter().find(|sign| sign.id == *id).map_or(id.as_str(), |sign| &sign.see);
            side.map_or_else(|| see.to_owned(), |side| format!("{see} ({})", side.key()))
        });
        Some(TestPart {
            name: test.name.clone(),
            reference: finding.reference.as_ref().map_or_else(|| DASH.to_owned(), |range| self.range(test, range)),
            error: match &test.error {
                Some(error) => self.value(test, error.mdc95),
                None => "unknown".to_owned(),
            },
            signs: signs.collect(),
            lanes,
        })
    }

    fn lane(&self, finding: &Finding, test: &Test, side: Side, sided: bool) -> Lane {
        let now = finding.values.on(side);
        let before = finding.previous.as_ref().and_then(|(_, values)| values.on(side));
        let show = |amount: Option<_>| amount.map_or_else(|| DASH.to_owned(), |amount| self.value(test, amount));
        let change = match (before, now) {
            (Some(before), Some(now)) => {
                let sign = if now > before { "+" } else { "" };
                let by = format!("{sign}{}", self.number(test, now.minus(before)));
                format!("{by}, {}", change_word(change(test, before, now)))
            }
            _ => DASH.to_owned(),
        };
        let verdict = finding.verdicts.get(side);
        let words = match verdict {
            None if finding.painful => "hurt",
            None => "no verdict",
            Some(verdict) => match (verdict.band, verdict.basis) {
                (Band::Limited, Basis::Reference) => "limited",
                (Band::Limited, Basis::OtherSide) => "less than the other side",
                (Band::AboutUsual, _) => "about usual",
                (Band::MoreThanUsual, _) => "more than usual",
            },
        };
        let bar = now.filter(|_| test.unit != Unit::Grade).map(|now| {
            let axis = self.axis(test);
            let at = |amount| self.shown(test, amount).to_f64();
            let usual = finding.reference.as_ref().map(|range| {
                [range.low.map_or(axis.min, at), range.high.map_or(axis.max, at)]
                    .map(|edge| edge.clamp(axis.min, axis.max))
            });
            Strip {
                min: axis.min,
                max: axis.max,
                usual,
                at: at(now),
                before: before.map(at),
                error: test.error.as_ref().map(|error| at(error.mdc95)),
            }
        });
        Lane {
            side: if sided { self.side_label(side).to_owned() } else { String::new() },
            now: show(now),
            before: show(before),
            change,
            verdict: words.to_owned(),
            focus: verdict.is_some_and(|verdict| verdict.band == Band::Limited),
            bar,
        }
    }

    fn range(&self, test: &Test, range: &Reference) -> String {
        match (range.low, range.high) {
            (Some(low), Some(high)) => format!("{} to {}", self.number_or_grade(test, low), self.value(test, high)),
            (Some(low), None) => format!("{} or more", self.value(test, low)),
            (None, Some(high)) => format!("up to {}", self.value(test, high)),
            (None, None) => DASH.to_owned(),
        }
    }

    fn number_or_grade(&self, test: &Test, amount: Amount) -> String {
        if test.unit == Unit::Grade { self.value(test, amount) } else { self.number(test, amount) }
    }

    pub(super) fn need_rows(&self, reasoning: &Reasoning<'_>) -> Vec<NeedRow> {
        let covered = |index: usize| reasoning.program.and_then(|p| p.reasons.covered.get(index)).copied();
        let row = |(index, need): (usize, &Need)| {
            let mut evidence: Vec<(&Origin, f64)> = need.evidence.iter().map(|(o, w)| (o, *w)).collect();
            evidence.sort_by(|a, b| b.1.total_cmp(&a.1));
            let (against, speaks_for): (Vec<_>, Vec<_>) =
                evidence.into_iter().partition(|(origin, _)| matches!(origin, Origin::Fine(_)));
            let rows = |list: Vec<(&Origin, f64)>, sign: &str| {
                let one = |(origin, weight): (&Origin, f64)| Evidence {
                    weight: format!("{sign}{weight:.2}"),
                    text: self.origin(origin),
                };
                list.into_iter().map(one).collect()
            };
            let share = covered(index).map_or_else(String::new, |share| format!(", {:.0} % covered", share * 100.0));
            NeedRow {
                structure: plan::spoken(&need.structure, None, self.library),
                state: need.state.key(),
                side: need.side.map_or("", Side::key).to_owned(),
                weight: need.weight,
                weight_text: format!("{:.2}{share}", need.weight),
                speaks_for: rows(speaks_for, "+"),
                against: rows(against, "\u{2212}"),
            }
        };
        reasoning.findings.needs.iter().enumerate().map(row).collect()
    }

    fn origin(&self, origin: &Origin) -> String {
        let name = |id: &TestId| self.library.tests.get(id).map_or_else(|| id.to_string(), |test| test.name.clone());
        match origin {
            Origin::Reading(test) => format!("{} is limited", name(test)),
            Origin::Fine(test) => format!("{} came out well", name(test)),
            Origin::Sign(test, sign) => {
                let seen = self.library.tests.get(test).and_then(|test| test.signs.iter().find(|s| s.id == *sign));
                format!("{}: {}", name(test), seen.map_or(sign.as_str(), |sign| &sign.see))
            }
        }
    }
}
