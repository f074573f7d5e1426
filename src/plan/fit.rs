//! Whether one version of an exercise is for one client, and with which tools and cautions.

use std::collections::BTreeSet;

use crate::body::{Side, Sides};
use crate::ids::{EquipmentId, PositionId, TestId};
use crate::library::Library;
use crate::library::exercise::{Exercise, Rung};
use crate::record::{Client, Override, Reading, Visit};
use crate::safety::{self, Case};
use crate::units::Amount;

use super::Tool;

/// Why a version is not for a client.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Bar {
    /// Safety.
    Safety(safety::Bar),
    /// A position that the client cannot get into.
    Position(PositionId),
    /// Something that the client does not have.
    Equipment(EquipmentId),
    /// It goes further than the client does: the test, the client's own reading, how far it goes.
    Reach(TestId, Amount, Amount),
    /// A test that it would serve is really worse than last time: someone must look first.
    Worse(TestId),
    /// The coach does not want it, or it has been dropped.
    Banned,
    /// Nothing that must come first can be done.
    First(String),
}

impl Bar {
    /// What it is about: a condition, a position, a thing, a test, a place.
    pub fn code(&self) -> String {
        match self {
            Self::Safety(safety::Bar::Condition(condition, _) | safety::Bar::NotCleared(condition, _)) => {
                condition.to_string()
            }
            Self::Safety(safety::Bar::Sore(region)) => format!("sore {region}"),
            Self::Safety(safety::Bar::PainInTest(test)) | Self::Reach(test, ..) | Self::Worse(test) => test.to_string(),
            Self::Safety(safety::Bar::Referral(region, _)) => format!("referral, {region}"),
            Self::Position(position) => position.to_string(),
            Self::Equipment(equipment) => equipment.to_string(),
            Self::Banned => "banned".to_owned(),
            Self::First(_) => "order of work".to_owned(),
        }
    }

    /// The reason in the coach's words, and what would change it.
    pub fn words(&self, library: &Library) -> (String, &'static str) {
        match self {
            Self::Safety(safety::Bar::Condition(condition, why)) => {
                (format!("{condition}: {why}"), "choose another exercise")
            }
            Self::Safety(safety::Bar::NotCleared(condition, why)) => {
                (format!("{condition}, not cleared: {why}"), "record a clearance if there is one")
            }
            Self::Safety(safety::Bar::Sore(region)) => {
                (format!("it rests on the sore {region}"), "choose one that does not rest there")
            }
            Self::Safety(safety::Bar::PainInTest(test)) => {
                (format!("the test `{test}` hurt too much in the same place"), "send the client on, and test again")
            }
            Self::Safety(safety::Bar::Referral(region, to)) => {
                (format!("the client was sent to {to} for the {region}"), "close the referral when the answer is there")
            }
            Self::Position(position) => {
                let swap = library.vocabulary.positions.get(position).and_then(|p| p.swap.as_deref());
                let swap = swap.map_or_else(String::new, |swap| format!(" ({swap} instead)"));
                (format!("it needs the position `{position}`{swap}"), "choose an exercise in another position")
            }
            Self::Equipment(equipment) => {
                (format!("it needs `{equipment}`"), "choose another exercise, or add it to the client's `equipment`")
            }
            Self::Reach(test, own, asks) => {
                let unit = library.tests.get(test).map_or("", |test| test.unit.key());
                (
                    format!("it goes to {asks} {unit}, but `{test}` was read as {own} {unit}"),
                    "choose an easier rung, or measure again",
                )
            }
            Self::Worse(test) => (
                format!("`{test}` is really worse than last time, and it works there"),
                "send the client on first, or pin it if someone has looked",
            ),
            Self::Banned => {
                ("it has been dropped, or the coach does not want it".to_owned(), "pin it, or take it out of `bans`")
            }
            Self::First(why) => (why.clone(), "choose what comes first as well"),
        }
    }
}

/// A version that may be done.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Fit {
    /// What it needs, its main tool first.
    pub tools: Vec<Tool>,
    /// Cautions in the client's words.
    pub cautions: Vec<String>,
    /// What a coach set aside for it.
    pub overridden: Vec<Override>,
}

/// Judges one version of an exercise for a client at a visit.
///
/// # Errors
/// Every reason why it is not for them.
pub fn fit(case: &Case<'_>, who: &Who<'_>, exercise: &Exercise, rung: usize, sides: Sides) -> Result<Fit, Vec<Bar>> {
    let Who { client, visit, library } = who;
    let version = &exercise.rungs[rung];
    let judgement = case.version(exercise, version, sides);
    let mut bars: BTreeSet<Bar> = judgement.bars.into_iter().map(Bar::Safety).collect();
    bars.extend(version.features.positions.intersection(&client.no_positions).cloned().map(Bar::Position));
    let mut tools = Vec::new();
    for id in exercise.equipment.iter().chain(&version.equipment) {
        match tool(client, id, library) {
            Some(tool) if tools.contains(&tool) => {}
            Some(tool) => tools.push(tool),
            None => {
                bars.insert(Bar::Equipment(id.clone()));
            }
        }
    }
    bars.extend(beyond_reach(client, visit, version, sides, library));
    if bars.is_empty() {
        let mut cautions: Vec<String> = judgement.cautions.into_iter().collect();
        if picture_goes_beyond(who, version, sides) {
            cautions.push(library.planning.picture.1.clone());
        }
        return Ok(Fit { tools, cautions, overridden: judgement.overridden });
    }
    Err(bars.into_iter().collect())
}

/// A client at a visit, with the library that they are served from.
#[derive(Clone, Copy, Debug)]
pub struct Who<'a> {
    /// The client.
    pub client: &'a Client,
    /// The visit.
    pub visit: &'a Visit,
    /// The library.
    pub library: &'a Library,
}

/// The client's last reading of a test up to the visit.
fn last_reading<'a>(client: &'a Client, visit: &Visit, test: &TestId) -> Option<&'a Reading> {
    let visits = client.visits.iter().rev().filter(|earlier| earlier.on <= visit.on);
    visits.filter_map(|visit| visit.readings.get(test)).next()
}

/// Whether the pictures take a joint further than the client's own reading goes.
fn picture_goes_beyond(who: &Who<'_>, version: &Rung, sides: Sides) -> bool {
    version.shown.iter().any(|shown| {
        let reading = last_reading(who.client, who.visit, &shown.test);
        let own = reading.into_iter().flat_map(|reading| {
            let reached = Side::BOTH.into_iter().filter(|side| shown.side.reaches(sides, *side));
            reached.filter_map(|side| reading.values.on(side))
        });
        own.map(Amount::to_f64).any(|own| shown.degrees > own + who.library.planning.picture.0)
    })
}

/// What a version asks of the body beyond the client's own last readings.
fn beyond_reach<'a>(
    client: &'a Client,
    visit: &'a Visit,
    version: &'a Rung,
    sides: Sides,
    library: &'a Library,
) -> impl Iterator<Item = Bar> + 'a {
    version.asks.iter().filter_map(move |ask| {
        let test = library.tests.get(&ask.test)?;
        let reading = last_reading(client, visit, &ask.test)?;
        let own = Side::BOTH.into_iter().filter(|side| sides.covers(*side)).filter_map(|side| reading.values.on(side));
        let short = own.filter(|own| test.better.shortfall(*own, ask.at_least) > Amount::default());
        let worst = short.max_by_key(|own| test.better.shortfall(*own, ask.at_least))?;
        Some(Bar::Reach(ask.test.clone(), worst, ask.at_least))
    })
}

/// What the client has that does the job of `equipment`.
fn tool(client: &Client, equipment: &EquipmentId, library: &Library) -> Option<Tool> {
    let known = library.vocabulary.equipment.get(equipment)?;
    let lacks = client.no_equipment.contains(equipment);
    let has = client.equipment.contains(equipment) || (known.household && !lacks);
    match (&known.stand_in, has) {
        (_, true) => Some(Tool { equipment: equipment.clone(), name: known.name.clone(), stand_in: false }),
        (Some(stand_in), false) if !lacks => {
            Some(Tool { equipment: equipment.clone(), name: stand_in.clone(), stand_in: true })
        }
        _ => None,
    }
}
