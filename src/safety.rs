//! What a careful coach would stop, leave out or caution: before planning, and never overridden by it.

use std::collections::BTreeSet;

use jiff::ToSpan;
use jiff::civil::Date;

use crate::body::{Side, Sides};
use crate::ids::{ConditionId, ExerciseId, FlagId, RegionId, TestId};
use crate::library::Library;
use crate::library::exercise::{Bears, Exercise, Rung};
use crate::library::vocabulary::{Action, ConditionRule, Features, Level};
use crate::record::{Clearance, Client, Held, Overridden, Override, Screening, Visit, meets};

/// One reason to send a client on before any exercise.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reason {
    /// A screening question answered with yes.
    Flag(FlagId),
    /// A reading that answers a screening question with yes.
    Reading(TestId, FlagId),
    /// A condition that has not been cleared.
    Condition(ConditionId),
    /// A screening form that sends the client on.
    Form(String),
    /// Questions that were not asked or not answered.
    Unasked(Vec<FlagId>),
    /// Answers that are too old; the day they were given.
    Lapsed(Date),
}

/// What lifts a reason.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Lift {
    /// A clinician's consent that still holds.
    Cleared(Clearance),
    /// A coach's decision.
    Overridden(Override),
}

/// A rule that fired at a visit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fired {
    /// How urgent.
    pub level: Level,
    /// Why.
    pub reason: Reason,
    /// What lifts it, if anything does.
    pub lifted: Option<Lift>,
}

impl Fired {
    /// Whether it keeps a program from being printed.
    pub fn stops(&self) -> bool {
        self.lifted.is_none()
    }
}

/// Whether a program may be printed at all.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Gate {
    /// Yes.
    Open {
        /// The day on which the questions were last asked, if that was before this visit.
        stale_since: Option<Date>,
    },
    /// No: someone must be seen first.
    Closed {
        /// The strictest level that fired.
        level: Level,
        /// Everything that fired and is not lifted, strictest first.
        reasons: Vec<(Level, Reason)>,
    },
}

/// Judges the health answers that hold at a visit.
pub fn gate(client: &Client, visit: &Visit, library: &Library) -> Gate {
    let reasons: Vec<(Level, Reason)> = fired(client, visit, library)
        .into_iter()
        .filter(Fired::stops)
        .map(|fired| (fired.level, fired.reason))
        .collect();
    match reasons.first() {
        Some((level, _)) => Gate::Closed { level: *level, reasons },
        None => {
            let asked = latest_screening(client, visit).map(|screening| screening.on);
            Gate::Open { stale_since: asked.filter(|asked| *asked < visit.on) }
        }
    }
}

/// Every rule about the whole program that fired at a visit, lifted or not, strictest first.
pub fn fired(client: &Client, visit: &Visit, library: &Library) -> Vec<Fired> {
    let vocabulary = &library.vocabulary;
    let screening = latest_screening(client, visit);
    let lift = |flag: &FlagId, level: Level| {
        let cleared = screening.and_then(|s| s.cleared.get(flag)).filter(|c| holds(c.on, visit.on, library));
        lifted(client, visit, level, cleared, &Overridden::Question(flag.clone()))
    };
    let mut fired = Vec::new();
    match screening {
        None => {
            let reason = Reason::Unasked(vocabulary.flags.keys().cloned().collect());
            fired.push(Fired { level: Level::ReferBefore, reason, lifted: None });
        }
        Some(screening) => {
            for (flag, known) in screening.yes.iter().filter_map(|flag| Some((flag, vocabulary.flags.get(flag)?))) {
                let (level, reason) = (known.level, Reason::Flag(flag.clone()));
                fired.push(Fired { level, reason, lifted: lift(flag, level) });
            }
            // An unanswered question could be a yes of its own level, and nothing lifts the two most urgent ones; the sheet
            // asks for a doctor, not for an ambulance.
            let level = Level::ReferBefore;
            let own = |flag: &FlagId| vocabulary.flags.get(flag).map_or(Level::Emergency, |known| known.level);
            let unasked: Vec<FlagId> =
                screening.unasked.iter().filter(|flag| lift(flag, own(flag)).is_none()).cloned().collect();
            if !unasked.is_empty() {
                fired.push(Fired { level, reason: Reason::Unasked(unasked), lifted: None });
            }
            if !holds(screening.on, visit.on, library) {
                fired.push(Fired { level, reason: Reason::Lapsed(screening.on), lifted: None });
            }
            if let Some(form) = screening.form.as_ref().filter(|form| form.sends_on) {
                fired.push(Fired { level, reason: Reason::Form(form.name.clone()), lifted: None });
            }
        }
    }
    for (test, reading) in visit.readings.iter().filter_map(|(id, reading)| Some((library.tests.get(id)?, reading))) {
        let values = Side::BOTH.into_iter().filter_map(|side| reading.values.on(side));
        let flags: BTreeSet<&FlagId> = values.flat_map(|value| test.sends_on(value)).map(|rule| &rule.flag).collect();
        for (flag, known) in flags.into_iter().filter_map(|flag| Some((flag, vocabulary.flags.get(flag)?))) {
            let (level, reason) = (known.level, Reason::Reading(test.id.clone(), flag.clone()));
            fired.push(Fired { level, reason, lifted: lift(flag, level) });
        }
    }
    for held in held(client, visit, library) {
        let Some(known) = vocabulary.conditions.get(&held.condition).filter(|known| known.level.stops_program()) else {
            continue;
        };
        let cleared = held.cleared.as_ref().filter(|c| holds(c.on, visit.on, library));
        let lifted = cleared.filter(|_| known.level.can_be_cleared()).map(|c| Lift::Cleared(c.clone()));
        fired.push(Fired { level: known.level, reason: Reason::Condition(held.condition), lifted });
    }
    fired.sort_by(|a, b| (a.level, &a.reason).cmp(&(b.level, &b.reason)));
    fired
}

/// What lifts a question of a level: never anything at the two most urgent ones.
fn lifted(client: &Client, visit: &Visit, level: Level, cleared: Option<&Clearance>, of: &Overridden) -> Option<Lift> {
    if !level.can_be_cleared() {
        return None;
    }
    let cleared = cleared.map(|clearance| Lift::Cleared(clearance.clone()));
    cleared.or_else(|| {
        let by_coach = client.overrides.iter().find(|over| over.of == *of && over.on <= visit.on);
        by_coach.map(|over| Lift::Overridden(over.clone()))
    })
}

/// Whether what was said on one day still holds on another.
fn holds(said: Date, day: Date, library: &Library) -> bool {
    let months = i64::from(library.vocabulary.lapses_months);
    said.checked_add(months.months()).is_ok_and(|lapses| day < lapses)
}

/// The answers of this visit, or the last ones before it.
pub fn latest_screening<'a>(client: &'a Client, visit: &'a Visit) -> Option<&'a Screening> {
    let earlier = client.visits.iter().rev().filter(|earlier| earlier.on < visit.on);
    visit.screening.as_ref().or_else(|| earlier.filter_map(|earlier| earlier.screening.as_ref()).next())
}

/// The conditions of a client at a visit: those in the record, and what the blood pressure of the visit says.
pub fn held(client: &Client, visit: &Visit, library: &Library) -> Vec<Held> {
    let mut held = client.conditions.clone();
    if let Some((systolic, diastolic)) = visit.screening.as_ref().and_then(|screening| screening.blood_pressure) {
        let reached = library.vocabulary.conditions.iter().filter(|(_, condition)| {
            condition.from_blood_pressure.is_some_and(|(high, low)| systolic >= high || diastolic >= low)
        });
        // The strictest band alone: those below it are part of it.
        let strictest = reached.max_by_key(|(_, condition)| condition.from_blood_pressure);
        if let Some((condition, _)) = strictest.filter(|(id, _)| held.iter().all(|other| other.condition != **id)) {
            held.push(Held { condition: condition.clone(), region: None, cleared: None });
        }
    }
    held
}

/// Why an exercise is not for a client.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Bar {
    /// A condition rules it out, with the coach's reason.
    Condition(ConditionId, String),
    /// A condition needs a clearance for it.
    NotCleared(ConditionId, String),
    /// It rests on a sore place.
    Sore(RegionId),
    /// The place hurt too much in a test.
    PainInTest(TestId),
    /// The client was sent to a clinician for this place and the answer has not come.
    Referral(RegionId, String),
}

/// What safety says of one exercise.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Judgement {
    /// Why it is not for this client; empty if it may be done.
    pub bars: Vec<Bar>,
    /// Cautions for its card, in the client's words.
    pub cautions: BTreeSet<String>,
    /// What a coach set aside.
    pub overridden: Vec<Override>,
}

/// A client at a visit, as the rules of safety see them.
#[derive(Clone, Debug)]
pub struct Case<'a> {
    client: &'a Client,
    visit: &'a Visit,
    library: &'a Library,
    held: Vec<Held>,
}

impl<'a> Case<'a> {
    /// A client at a visit.
    pub fn new(client: &'a Client, visit: &'a Visit, library: &'a Library) -> Self {
        Self { client, visit, library, held: held(client, visit, library) }
    }

    /// Judges something by its features alone, such as a test that the client is to repeat at home.
    pub fn features(&self, features: &Features) -> Judgement {
        let mut judgement = Judgement::default();
        self.conditions(features, &[], None, &mut judgement);
        self.places(features, Sides::Both, &mut judgement);
        judgement
    }

    /// Judges one version of an exercise.
    pub fn version(&self, exercise: &Exercise, rung: &Rung, sides: Sides) -> Judgement {
        let mut judgement = Judgement::default();
        self.conditions(&rung.features, &rung.bears, Some(&exercise.id), &mut judgement);
        self.places(&rung.features, sides, &mut judgement);
        for sore in &self.visit.sore {
            let rests = rung.bears.iter().filter(|bears| bears.region == sore.region).any(|bears| {
                Side::BOTH.into_iter().any(|side| meets(sore.side, side) && bears.side.reaches(sides, side))
            });
            if rests {
                judgement.bars.push(Bar::Sore(sore.region.clone()));
            }
        }
        judgement
    }

    fn conditions(
        &self,
        features: &Features,
        bears: &[Bears],
        exercise: Option<&ExerciseId>,
        judgement: &mut Judgement,
    ) {
        // What rests on a place is at that place, whatever else it works on.
        let mut there = features.clone();
        there.regions.extend(bears.iter().map(|bears| bears.region.clone()));
        for held in &self.held {
            let Some(condition) = self.library.vocabulary.conditions.get(&held.condition) else {
                continue;
            };
            let cleared = held.cleared.as_ref().is_some_and(|c| holds(c.on, self.visit.on, self.library));
            let set_aside = exercise.and_then(|exercise| {
                let of = Overridden::Condition(held.condition.clone(), exercise.clone());
                self.client.overrides.iter().find(|over| over.of == of && over.on <= self.visit.on)
            });
            let speaks =
                |rule: &&ConditionRule| rule.matches(if rule.local { &there } else { features }, held.region.as_ref());
            for rule in condition.rules.iter().filter(speaks) {
                let bar = match rule.action {
                    Action::LeaveOut => Some(Bar::Condition(held.condition.clone(), rule.why.clone())),
                    Action::NeedsClearance if !cleared => {
                        Some(Bar::NotCleared(held.condition.clone(), rule.why.clone()))
                    }
                    Action::NeedsClearance | Action::Caution => None,
                };
                match (bar, set_aside) {
                    (Some(_), Some(over)) if !judgement.overridden.contains(over) => {
                        judgement.overridden.push(over.clone());
                    }
                    (Some(bar), None) => judgement.bars.push(bar),
                    (Some(_), Some(_)) | (None, _) => {}
                }
                judgement.cautions.extend(rule.tell.iter().cloned());
            }
        }
    }

    /// Sore places, pain in tests and open referrals where the exercise works.
    fn places(&self, features: &Features, sides: Sides, judgement: &mut Judgement) {
        let works = |region: &RegionId, side: Option<Side>| {
            features.regions.contains(region) && Side::BOTH.into_iter().any(|s| meets(side, s) && sides.covers(s))
        };
        let vocabulary = &self.library.vocabulary;
        let pain = &vocabulary.pain;
        for referral in self.client.referrals.iter().filter(|referral| referral.is_open(self.visit.on)) {
            if works(&referral.region, referral.side) {
                judgement.bars.push(Bar::Referral(referral.region.clone(), referral.to.clone()));
            }
        }
        for sore in self.visit.sore.iter().filter(|sore| works(&sore.region, sore.side)) {
            if let Some(region) = vocabulary.regions.get(&sore.region) {
                judgement.cautions.insert(pain.tell_sore.replace("{region}", region));
            }
        }
        for (id, reading) in &self.visit.readings {
            let Some(test) = self.library.tests.get(id) else { continue };
            let worst = Side::BOTH.into_iter().filter(|side| sides.covers(*side));
            let worst = worst.map(|side| *reading.pain.get(side)).max().unwrap_or(0);
            if worst <= pain.fine_to || features.regions.is_disjoint(&test.features.regions) {
                continue;
            }
            if worst > pain.ease_to {
                judgement.bars.push(Bar::PainInTest(id.clone()));
            } else {
                judgement.cautions.insert(pain.tell_in_test.clone());
            }
        }
    }
}

#[cfg(test)]
mod tests;
