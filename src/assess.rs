//! From readings to findings: what is limited, on which side, against what, and what that points to.
//!
//! Pure; a client without readings has no findings. Pain during a test is no sign of shortness: it silences the reading.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::body::{BySide, Side};
use crate::ids::{StructureId, TestId};
use crate::library::Library;
use crate::library::test::{Evidence, Reference, Test};
use crate::library::vocabulary::State;
use crate::record::{Client, Reading, Values, Visit};
use crate::units::Amount;

/// How a reading compares.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Band {
    /// Less than usual, or clearly less than the other side.
    Limited,
    /// In the usual range, or within the measuring error of it.
    AboutUsual,
    /// Beyond the usual range on the good side.
    MoreThanUsual,
}

/// What a reading was compared with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// The usual range for the client's age and sex.
    Reference,
    /// The client's other side.
    OtherSide,
}

/// A band and what it rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Verdict {
    /// The band.
    pub band: Band,
    /// What it rests on.
    pub basis: Basis,
}

/// One test at one visit, judged.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// The test.
    pub test: TestId,
    /// What was read.
    pub values: Values,
    /// The last reading before this visit that was taken in the same way, with its date.
    pub previous: Option<(Date, Values)>,
    /// The usual range that fits the client.
    pub reference: Option<Reference>,
    /// The judgement of each side; for tests without sides both are the same. `None` where there is nothing to judge by.
    pub verdicts: BySide<Option<Verdict>>,
    /// Signs seen.
    pub signs: Vec<(Option<Side>, String)>,
    /// Whether pain kept the reading from being judged.
    pub painful: bool,
}

impl Finding {
    /// The sides that are limited, left first.
    pub fn limited(&self) -> Vec<Side> {
        Side::BOTH
            .into_iter()
            .filter(|side| self.verdicts.get(*side).is_some_and(|v| v.band == Band::Limited))
            .collect()
    }

    /// Whether any side was judged.
    pub fn is_judged(&self) -> bool {
        Side::BOTH.iter().any(|side| self.verdicts.get(*side).is_some())
    }

    /// Whether something was judged and nothing of it is limited.
    pub fn came_out_well(&self) -> bool {
        !self.painful && self.limited().is_empty() && self.is_judged()
    }
}

/// Where a piece of evidence comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Origin {
    /// A reading under usual.
    Reading(TestId),
    /// A sign seen in a test.
    Sign(TestId, String),
    /// A reading that came out well; it speaks against.
    Fine(TestId),
}

/// A need with all that speaks for and against it.
#[derive(Clone, Debug, PartialEq)]
pub struct Need {
    /// The structure.
    pub structure: StructureId,
    /// Its state.
    pub state: State,
    /// Its side; `None` if there is only one of it.
    pub side: Option<Side>,
    /// 0 to 1.
    pub weight: f64,
    /// Origins with their working weights.
    pub evidence: Vec<(Origin, f64)>,
}

/// All findings of a visit and the needs they add up to, strongest first.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Findings {
    /// One for each test read, in the order of test ids.
    pub tests: Vec<Finding>,
    /// Needs above zero.
    pub needs: Vec<Need>,
}

impl Findings {
    /// The tests of which a side is limited, in the order of ids.
    pub fn limited(&self) -> impl Iterator<Item = &Finding> {
        self.tests.iter().filter(|finding| !finding.limited().is_empty())
    }
}

/// What a change from one reading to a later one of the same test says (trade-figures section 2), in the direction that is
/// better.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Change {
    /// Beyond measuring error, and as much as people find worthwhile.
    ClearlyBetter,
    /// Beyond measuring error.
    Better,
    /// Within error, leaning better.
    MaybeBetter,
    /// Within one standard error.
    Same,
    /// Within error, leaning worse.
    MaybeWorse,
    /// Worse beyond measuring error.
    Worse,
}

/// The verdict on a change; none where the test's error is not known or it is not judged at all.
///
/// Without a published SEM it is MDC95 / 2.77, since MDC95 = SEM x 1.96 x sqrt 2.
pub fn change(test: &Test, before: Amount, now: Amount) -> Option<Change> {
    let error = test.error.as_ref().filter(|_| test.judged)?;
    let gain = test.better.shortfall(before, now).to_f64();
    let mdc95 = error.mdc95.to_f64();
    let sem = error.sem.map_or(mdc95 / SEM_TO_MDC95, Amount::to_f64);
    let worthwhile = test.worthwhile.as_ref().is_some_and(|worthwhile| gain >= worthwhile.amount.to_f64());
    Some(match gain {
        gain if gain >= mdc95 && worthwhile => Change::ClearlyBetter,
        gain if gain >= mdc95 => Change::Better,
        gain if gain > sem => Change::MaybeBetter,
        gain if gain <= -mdc95 => Change::Worse,
        gain if gain < -sem => Change::MaybeWorse,
        _ => Change::Same,
    })
}

/// 1.96 x sqrt 2.
const SEM_TO_MDC95: f64 = 2.77;

/// Judges the readings of one visit.
pub fn assess(client: &Client, visit: &Visit, library: &Library) -> Findings {
    let mut evidence = Weights::default();
    let mut tests = Vec::new();
    for (id, reading) in &visit.readings {
        let Some(test) = library.tests.get(id) else {
            continue;
        };
        let previous = client
            .visits
            .iter()
            .rev()
            .filter(|earlier| earlier.on < visit.on)
            .filter_map(|earlier| Some((earlier.on, earlier.readings.get(id)?)))
            .find(|(_, earlier)| earlier.method == reading.method)
            .map(|(on, earlier)| (on, earlier.values));
        let reference = test.reference(client.sex, client.age_on(visit.on)).cloned();
        let hurts = BySide::from_fn(|side| *reading.pain.get(side) > library.vocabulary.pain.fine_to);
        let verdicts = BySide::from_fn(|side| {
            let judged = test.judged && !*hurts.get(side);
            judged.then(|| judge(test, reading, reference.as_ref(), side, *hurts.get(side.other()))).flatten()
        });
        let finding = Finding {
            test: id.clone(),
            values: reading.values,
            previous,
            reference,
            verdicts,
            signs: reading.signs.iter().cloned().collect(),
            painful: hurts.left || hurts.right,
        };
        evidence.add(test, &finding, hurts, library);
        tests.push(finding);
    }
    Findings { tests, needs: evidence.needs() }
}

/// Judges one side; a side that hurt is no measure for the other.
fn judge(
    test: &Test,
    reading: &Reading,
    reference: Option<&Reference>,
    side: Side,
    other_hurts: bool,
) -> Option<Verdict> {
    let value = reading.values.on(side)?;
    let (worse_edge, better_edge) = reference.map_or((None, None), |range| test.better.edges(range));
    let sem = test.error.as_ref().and_then(|error| error.sem).unwrap_or_default();
    let by_reference = |band| Some(Verdict { band, basis: Basis::Reference });
    // Within one standard error of the edge the reading could as well lie in the range.
    if worse_edge.is_some_and(|edge| test.better.shortfall(value, edge) > sem) {
        return by_reference(Band::Limited);
    }
    if let Values::Sided(values) = &reading.values
        && let Some(other) = values.get(side.other()).filter(|_| !other_hurts)
        && clearly_less(test, value, other)
    {
        return Some(Verdict { band: Band::Limited, basis: Basis::OtherSide });
    }
    if better_edge.is_some_and(|edge| test.better.shortfall(edge, value) > sem) {
        return by_reference(Band::MoreThanUsual);
    }
    if reference.is_some() {
        return by_reference(Band::AboutUsual);
    }
    // Without a usual range two even sides are still something to go by.
    let compared = test.error.is_some()
        && !other_hurts
        && matches!(reading.values, Values::Sided(BySide { left: Some(_), right: Some(_) }));
    compared.then_some(Verdict { band: Band::AboutUsual, basis: Basis::OtherSide })
}

/// Share of the other side below which times, counts and forces differ (trade-figures section 2, CV).
const USUAL_SHARE_PERCENT: f64 = 10.0;

/// Whether `value` is worse than the other side by more than chance and more than is usual.
///
/// A difference is only ever called beyond the test's MDC95; without a published error there is no call
/// (trade-figures section 2).
fn clearly_less(test: &Test, value: Amount, other: Amount) -> bool {
    let Some(error) = &test.error else {
        return false;
    };
    let gap = test.better.shortfall(value, other);
    if gap <= error.mdc95 {
        return false;
    }
    let usual = test.side_difference.as_ref().map(|usual| usual.amount);
    if test.unit.compares_by_share() {
        let share = usual.map_or(USUAL_SHARE_PERCENT, Amount::to_f64);
        gap.to_f64() * 100.0 > share * other.to_f64().abs()
    } else {
        usual.is_none_or(|usual| gap > usual)
    }
}

type NeedKey = (StructureId, State, Option<Side>);

/// Evidence gathered by need.
#[derive(Default)]
struct Weights {
    by_need: BTreeMap<NeedKey, Vec<(Origin, f64)>>,
}

impl Weights {
    fn add(&mut self, test: &Test, finding: &Finding, hurts: BySide<bool>, library: &Library) {
        let mut note = |evidence: &Evidence, side: Option<Side>, origin: Origin| {
            let sided = library.vocabulary.structures.get(&evidence.structure).is_some_and(|s| s.sided);
            let sides: Vec<Option<Side>> = match (sided, side) {
                (false, _) => vec![None],
                (true, Some(side)) => vec![Some(side)],
                (true, None) => vec![Some(Side::Left), Some(Side::Right)],
            };
            for side in sides {
                let key = (evidence.structure.clone(), evidence.state, side);
                self.by_need.entry(key).or_default().push((origin.clone(), evidence.weight));
            }
        };
        let sides: &[Option<Side>] = if test.sided { &[Some(Side::Left), Some(Side::Right)] } else { &[None] };
        for side in sides {
            let Some(verdict) = finding.verdicts.get(side.unwrap_or(Side::Left)) else {
                continue;
            };
            let (list, origin) = match verdict.band {
                Band::Limited => (&test.limited, Origin::Reading(test.id.clone())),
                Band::AboutUsual | Band::MoreThanUsual => (&test.fine, Origin::Fine(test.id.clone())),
            };
            for evidence in list {
                note(evidence, *side, origin.clone());
            }
        }
        // What is seen while it hurts may be a way round the pain.
        let calm = |side: &Option<Side>| side.map_or(!finding.painful, |side| !*hurts.get(side));
        for (side, id) in finding.signs.iter().filter(|(side, _)| calm(side)) {
            let seen = test.signs.iter().filter(|sign| sign.id == *id);
            for evidence in seen.flat_map(|sign| &sign.evidence) {
                note(evidence, *side, Origin::Sign(test.id.clone(), id.clone()));
            }
        }
    }

    /// Noisy-OR of what speaks for, thinned by what speaks against: `(1 - prod(1 - w)) * prod(1 - c)`.
    fn needs(self) -> Vec<Need> {
        let mut needs: Vec<Need> = self
            .by_need
            .into_iter()
            .map(|((structure, state, side), evidence)| {
                let (mut absent, mut kept) = (1.0, 1.0);
                for (origin, weight) in &evidence {
                    match origin {
                        Origin::Reading(_) | Origin::Sign(..) => absent *= 1.0 - weight,
                        Origin::Fine(_) => kept *= 1.0 - weight,
                    }
                }
                Need { structure, state, side, weight: (1.0 - absent) * kept, evidence }
            })
            .filter(|need| need.weight > 0.0)
            .collect();
        // A stable sort: needs of one weight stay in the order of their names.
        needs.sort_by(|a, b| b.weight.total_cmp(&a.weight));
        needs
    }
}

#[cfg(test)]
mod tests;
