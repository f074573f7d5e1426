//! From findings to a program: what the coach wrote or what covers the most need, its order, doses, days and minutes,
//! and the reasons for all of it.
//!
//! Pure. A program that the coach wrote is checked by the same rules as one that is chosen here.

mod after;
pub mod choose;
mod days;
mod dose;
mod fit;

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use crate::assess::{Findings, Need, Origin};
use crate::body::{Side, Sides};
use crate::diag::{Problem, Rule};
use crate::ids::{EquipmentId, ExerciseId, Id, PhaseId, RegionId, StructureId, TestId};
use crate::library::Library;
use crate::library::exercise::{Dose, Exercise, Part};
use crate::library::planning::FirstRule;
use crate::library::vocabulary::{Method, State, StructureKind};
use crate::record::{Choice, Client, Override, Visit};
use crate::retest::{self, Past, Retest};
use crate::safety::{self, Case};
use crate::units::{Amount, Unit};

use after::past;
use choose::{Menu, Offer};
use days::{check_days, later, next_monday, spread, test_again};
use dose::{Start, dose, larger, smaller, smallest, start_rung};
use fit::{Fit, Who, fit};

pub use fit::Bar;

/// What stands for a piece of equipment at this client's home.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tool {
    /// The equipment.
    pub equipment: EquipmentId,
    /// The client's words for it, with article.
    pub name: String,
    /// Whether it is the household stand-in.
    pub stand_in: bool,
}

/// One exercise as prescribed.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// Its number on every paper, from 1.
    pub number: u32,
    /// The exercise.
    pub exercise: ExerciseId,
    /// Its phase.
    pub phase: PhaseId,
    /// The rung, from 0.
    pub rung: usize,
    /// The sides.
    pub sides: Sides,
    /// The dose.
    pub dose: Dose,
    /// Days of the week, Monday first.
    pub days: [bool; 7],
    /// Seconds that one session takes.
    pub seconds: u32,
    /// What it needs, its main tool first.
    pub tools: Vec<Tool>,
    /// Cautions from the client's conditions, in plain words.
    pub cautions: Vec<String>,
    /// The coach's own caution or hint.
    pub note: Option<String>,
    /// The coach's own reason for it.
    pub because: Option<String>,
    /// The tests whose findings it works on.
    pub serves: Vec<TestId>,
    /// Needs that it covers, by their place in the findings, with its share of each.
    pub covers: Vec<(usize, f64)>,
    /// The need that would be left uncovered without it.
    pub gain: f64,
    /// Reasons for its rung, and for what was set aside to allow it.
    pub why: Vec<String>,
    /// What a coach set aside to allow it.
    pub overridden: Vec<Override>,
}

impl Item {
    /// Whole minutes that one session takes, rounded up.
    pub fn minutes(&self) -> u32 {
        minutes(self.seconds)
    }

    /// Seconds that its holds add up to in a week.
    fn stretch_a_week(&self) -> u32 {
        self.dose.hold_seconds() * self.days_a_week()
    }

    /// Days a week on which it is done.
    pub fn days_a_week(&self) -> u32 {
        self.days.iter().filter(|day| **day).count() as u32
    }
}

fn minutes(seconds: u32) -> u32 {
    seconds.div_ceil(60)
}

/// An exercise that waits for the answer to a referral.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Waits {
    /// The exercise.
    pub exercise: ExerciseId,
    /// The place that the client was sent on for.
    pub region: RegionId,
    /// To whom.
    pub to: String,
}

/// A program with the reasons for it.
#[derive(Clone, Debug, PartialEq)]
pub struct Program {
    /// Items in the order of work.
    pub items: Vec<Item>,
    /// What waits for the answer to a referral.
    pub waits: Vec<Waits>,
    /// The first day.
    pub start: Date,
    /// Whole minutes on each day of the week, Monday first.
    pub minutes: [u32; 7],
    /// Days on which the client checks themselves.
    pub check_days: Vec<Date>,
    /// The day to test again.
    pub test_again: Date,
    /// Why it is as it is.
    pub reasons: Reasons,
    /// What changed since the last visit, if there was one with a program.
    pub retest: Option<Retest>,
}

/// Why a program is as it is.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Reasons {
    /// Whether the tool chose it; else the coach did.
    pub chosen: bool,
    /// Need covered, for each need of the findings, as a share.
    pub covered: Vec<f64>,
    /// What it is worth: need covered less what the exercises cost.
    pub worth: f64,
    /// Branches of the search.
    pub nodes: u64,
    /// Exercises that would have added most, with why they are not in.
    pub near: Vec<NearMiss>,
    /// Exercises for one of the needs that are not for this client, each with every reason.
    pub barred: Vec<Barred>,
    /// Needs that nothing in the library can meet for this client.
    pub unmet: Vec<Unmet>,
    /// Seconds of stretch in a week, by muscle and side.
    pub stretch: Vec<Stretch>,
}

/// An exercise that nearly got in.
#[derive(Clone, Debug, PartialEq)]
pub struct NearMiss {
    /// The exercise.
    pub exercise: ExerciseId,
    /// The sides.
    pub sides: Sides,
    /// Need that it would cover on top of the program.
    pub gain: f64,
    /// Why it is not in.
    pub why: Miss,
}

/// Why an exercise did not get in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Miss {
    /// It adds less than it costs to keep up.
    AddsLittle,
    /// The program has as many exercises as people keep up.
    Full,
    /// Even its smallest dose does not fit into the minutes left.
    NoTime,
    /// What must come first is not in the program.
    First,
    /// It fits, but the coach chose another program.
    CoachsChoice,
}

/// An exercise that is not for this client.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Barred {
    /// The exercise.
    pub exercise: ExerciseId,
    /// Every reason.
    pub bars: Vec<Bar>,
}

/// A need that nothing in the library can meet.
#[derive(Clone, Debug, PartialEq)]
pub struct Unmet {
    /// Its place in the findings.
    pub need: usize,
    /// What keeps the exercises for it away; empty if the library has none.
    pub bars: Vec<Bar>,
}

/// What a muscle gets of stretch in a week.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// The muscle.
    pub structure: StructureId,
    /// Its side, if it has one.
    pub side: Option<Side>,
    /// Seconds.
    pub seconds: u32,
}

/// A program, or every reason why it cannot be printed; in both cases what the coach should look at.
pub type Planned = (Result<Program, Vec<Problem>>, Vec<Problem>);

/// Near misses that are told.
const NEAR: usize = 6;

/// One way of doing one exercise that is for this client.
struct Way<'a> {
    exercise: &'a Exercise,
    rung: usize,
    sides: Sides,
    /// Parts of the dose that the coach set.
    set: BTreeMap<Part, u32>,
    note: Option<String>,
    because: Option<String>,
    fit: Fit,
    covers: Vec<(usize, f64)>,
    why: Vec<String>,
}

impl Way<'_> {
    fn seconds(&self, dose: Dose) -> u32 {
        dose.session_seconds(self.sides)
    }
}

/// One client's planning: what every step of it looks at.
struct Planner<'a> {
    who: Who<'a>,
    case: Case<'a>,
    findings: &'a Findings,
    /// The last program.
    past: Option<Past>,
    /// What changed since then, and what is to become of it.
    retest: Option<Retest>,
    /// Exercises that must be in: the coach's, and those of the last program that go on.
    pins: Vec<Choice>,
    /// Exercises that must not be in.
    bans: BTreeSet<ExerciseId>,
}

/// Builds the program of a visit: the coach's own, or the one that goes on from the last and covers the most need.
pub fn plan(client: &Client, visit: &Visit, findings: &Findings, library: &Library) -> Planned {
    let past = past(client, visit, library);
    let retest = past
        .as_ref()
        .map(|(past, before, earlier)| retest::look(client, visit, (findings, before), past, *earlier, library));
    let mut planner = Planner {
        who: Who { client, visit, library },
        case: Case::new(client, visit, library),
        findings,
        past: past.map(|(past, ..)| past),
        retest,
        pins: visit.pins.clone(),
        bans: visit.bans.clone(),
    };
    let (result, warnings) = if visit.program.is_empty() {
        planner.go_on();
        planner.choose()
    } else {
        planner.coachs()
    };
    (result, warnings.into_iter().map(|warning| warning.client(&client.id)).collect())
}

impl<'a> Planner<'a> {
    fn at(&self, place: &std::ops::Range<usize>, rule: Rule, message: impl Into<String>) -> Problem {
        Problem::at(rule, &self.who.client.file, place.clone(), message).client(&self.who.client.id)
    }

    /// Needs that an exercise covers on the sides, each with its share.
    fn covers(&self, exercise: &Exercise, sides: Sides) -> Vec<(usize, f64)> {
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
    fn way(&self, exercise: &'a Exercise, sides: Sides, pin: Option<&Choice>) -> Result<Way<'a>, Vec<Bar>> {
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
    fn ways(&self) -> (Vec<Way<'a>>, Vec<Barred>) {
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
    fn first(&self, way: &Way<'_>, ways: &[Way<'_>]) -> Result<Vec<Vec<usize>>, &'a FirstRule> {
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

    fn menu(&self, ways: &[Way<'_>], first: Vec<Vec<Vec<usize>>>) -> Menu {
        let Who { client, library, .. } = self.who;
        let planning = &library.planning;
        let exercises: Vec<&ExerciseId> = library.exercises.keys().collect();
        let index = |id: &ExerciseId| exercises.iter().position(|known| *known == id).unwrap_or(0);
        let offers: Vec<Offer> = ways
            .iter()
            .zip(first)
            .map(|(way, first)| {
                let version = &way.exercise.rungs[way.rung];
                let usual = minutes(way.seconds(dose(version, &way.set)));
                Offer {
                    exercise: index(&way.exercise.id),
                    effects: way.covers.clone(),
                    minutes: minutes(way.seconds(smallest(version, &way.set))),
                    cost: planning.cost + planning.minute_cost * f64::from(usual),
                    first,
                }
            })
            .collect();
        let pinned: Vec<usize> = self.pins.iter().map(|pin| index(&pin.exercise)).collect();
        Menu {
            needs: self.findings.needs.iter().map(|need| need.weight).collect(),
            offers,
            most: (planning.count.usual as usize).max(pinned.len()),
            minutes: client.minutes_a_day,
            pinned,
        }
    }

    /// Chooses the program that covers the most need.
    fn choose(&self) -> Planned {
        let Who { client, visit, library } = self.who;
        let (mut ways, mut barred) = self.ways();
        let mut errors = Vec::new();
        for pin in &visit.pins {
            if let Some(barred) = barred.iter().find(|barred| barred.exercise == pin.exercise) {
                errors.extend(self.refused(pin, &barred.bars));
            }
        }
        if !errors.is_empty() {
            return (Err(errors), Vec::new());
        }
        let mut first = Vec::new();
        // What waits for something that cannot be had is barred itself, and may in turn be what another waits for.
        loop {
            let found: Vec<_> = ways.iter().map(|way| self.first(way, &ways)).collect();
            let pinned = |way: &Way<'_>| self.pins.iter().any(|pin| pin.exercise == way.exercise.id);
            let Some(at) = found.iter().zip(&ways).position(|(first, way)| first.is_err() && !pinned(way)) else {
                first.extend(found.into_iter().map(|first| first.unwrap_or_default()));
                break;
            };
            let why = found[at].as_ref().err().map_or_else(String::new, |rule| rule.why.clone());
            let way = ways.remove(at);
            if ways.iter().all(|other| other.exercise.id != way.exercise.id) {
                barred.push(Barred { exercise: way.exercise.id.clone(), bars: vec![Bar::First(why)] });
            }
        }
        let mut menu = self.menu(&ways, first);
        let mut choice = menu.choose();
        if choice.offers.is_none() {
            // The coach's pins alone are too long: they are taken all the same, and nothing else.
            menu.minutes = u32::MAX;
            menu.most = menu.pinned.len();
            choice = menu.choose();
        }
        let set = choice.offers.unwrap_or_default();
        let mut items: Vec<Item> = set.iter().map(|offer| self.item(&ways[*offer])).collect();
        self.squeeze(&mut items, &set.iter().map(|offer| &ways[*offer]).collect::<Vec<_>>());
        for (item, offer) in items.iter_mut().zip(&set) {
            item.gain = menu.lost_without(*offer, &set);
        }
        let reasons = Reasons {
            chosen: true,
            covered: self.shares(&menu.left(&set)),
            worth: choice.worth,
            nodes: choice.nodes,
            near: self.near(&menu, &set, &ways, &items, Miss::AddsLittle),
            unmet: self.unmet(&ways, &barred),
            stretch: Vec::new(),
            barred,
        };
        let (result, mut warnings) = self.finish(items, Vec::new(), reasons);
        if result.as_ref().is_ok_and(|program| program.items.is_empty()) && self.must_work() {
            let message = format!("there is work to do, but nothing in the library is for {}", client.call);
            let problem = self.at(&visit.place, Rule::NothingFits, message);
            let unlock = self.unlock(&result.map(|program| program.reasons).unwrap_or_default());
            return (Err(vec![problem.help(unlock)]), Vec::new());
        }
        if let Ok(program) = &result {
            for unmet in &program.reasons.unmet {
                let need = &self.findings.needs[unmet.need];
                let what = named(need, library);
                let problem =
                    self.at(&visit.place, Rule::NeedUnmet, format!("nothing in the library works on {what} here"));
                warnings.push(problem.help(unlocking(&unmet.bars, library)));
            }
        }
        (result, warnings)
    }

    /// Whether any limit was found, so that a sheet without work would be wrong.
    fn must_work(&self) -> bool {
        self.findings.tests.iter().any(|finding| !finding.limited().is_empty())
    }

    fn unlock(&self, reasons: &Reasons) -> String {
        unlocking(&every_bar(&reasons.barred), self.who.library)
    }

    /// How much of each need is covered.
    fn shares(&self, left: &[f64]) -> Vec<f64> {
        let share = |(need, left): (&Need, &f64)| if need.weight > 0.0 { 1.0 - left / need.weight } else { 0.0 };
        self.findings.needs.iter().zip(left).map(share).collect()
    }

    /// Exercises that would have added most.
    fn near(&self, menu: &Menu, set: &[usize], ways: &[Way<'_>], items: &[Item], fits: Miss) -> Vec<NearMiss> {
        let left = menu.left(set);
        let spent: u32 = items.iter().map(Item::minutes).sum();
        let least: u32 = set.iter().map(|offer| menu.offers[*offer].minutes).sum();
        let mut near: Vec<NearMiss> = Vec::new();
        for (index, (way, offer)) in ways.iter().zip(&menu.offers).enumerate() {
            if items.iter().any(|item| item.exercise == way.exercise.id) {
                continue;
            }
            let gain: f64 = offer.effects.iter().map(|(need, x)| left[*need] * x).sum();
            let opened = offer.first.iter().all(|any| any.iter().any(|opener| set.contains(opener)));
            let why = if gain <= offer.cost {
                Miss::AddsLittle
            } else if set.len() >= menu.most {
                Miss::Full
            } else if least.min(spent) + offer.minutes > menu.minutes {
                Miss::NoTime
            } else if !opened {
                Miss::First
            } else {
                fits
            };
            debug_assert!(!set.contains(&index), "what is in the program is no near miss");
            near.push(NearMiss { exercise: way.exercise.id.clone(), sides: way.sides, gain, why });
        }
        near.retain(|miss| miss.gain > 0.0);
        near.sort_by(|a, b| b.gain.total_cmp(&a.gain).then_with(|| a.exercise.cmp(&b.exercise)));
        let mut seen = BTreeSet::new();
        near.retain(|miss| seen.insert(miss.exercise.clone()));
        near.truncate(NEAR);
        near
    }

    /// Needs of some weight for which no way is left.
    fn unmet(&self, ways: &[Way<'_>], barred: &[Barred]) -> Vec<Unmet> {
        let library = self.who.library;
        let open = |need: usize| ways.iter().any(|way| way.covers.iter().any(|(covered, _)| *covered == need));
        let needs = self.findings.needs.iter().enumerate();
        needs
            .filter(|(index, need)| need.weight >= library.planning.tell_unmet_from && !open(*index))
            .map(|(index, need)| {
                let acts = |barred: &&Barred| {
                    let exercise = library.exercises.get(&barred.exercise);
                    exercise.is_some_and(|exercise| exercise.acts_on(&need.structure, need.state))
                };
                Unmet { need: index, bars: every_bar(barred.iter().filter(acts)) }
            })
            .collect()
    }

    fn item(&self, way: &Way<'_>) -> Item {
        let library = self.who.library;
        let dose = dose(&way.exercise.rungs[way.rung], &way.set);
        let rest = library.planning.rest_days(&way.exercise.phase);
        Item {
            number: 0,
            exercise: way.exercise.id.clone(),
            phase: way.exercise.phase.clone(),
            rung: way.rung,
            sides: way.sides,
            dose,
            days: spread(dose.days, self.who.client.free_days, rest),
            seconds: way.seconds(dose),
            tools: way.fit.tools.clone(),
            cautions: way.fit.cautions.clone(),
            note: way.note.clone(),
            because: way.because.clone(),
            serves: serves(way.exercise, way.sides, self.findings, library),
            covers: way.covers.clone(),
            gain: 0.0,
            why: way.why.clone(),
            overridden: way.fit.overridden.clone(),
        }
    }

    /// Makes doses smaller until they fit into the minutes, the longest first; then gives stretches the days, rounds and
    /// seconds that make up their week, as far as the minutes go.
    fn squeeze(&self, items: &mut [Item], ways: &[&Way<'_>]) {
        let Who { client, library, .. } = self.who;
        while items.iter().map(Item::minutes).sum::<u32>() > client.minutes_a_day {
            let cuts = items.iter().zip(ways).enumerate().filter_map(|(index, (item, way))| {
                let cut = smaller(item.dose, &way.exercise.rungs[way.rung], &way.set)?;
                Some((item.seconds, std::cmp::Reverse(index), cut))
            });
            let Some((_, std::cmp::Reverse(index), cut)) = cuts.max_by_key(|cut| (cut.0, cut.1)) else { break };
            items[index].dose = cut;
            items[index].seconds = ways[index].seconds(cut);
        }
        let mut spare = client.minutes_a_day.saturating_sub(items.iter().map(Item::minutes).sum());
        for (item, way) in items.iter_mut().zip(ways) {
            if !is_held_stretch(way.exercise, &item.dose) {
                continue;
            }
            let rung = &way.exercise.rungs[way.rung];
            let rest = library.planning.rest_days(&item.phase);
            let short = |item: &Item| item.stretch_a_week() < library.planning.weekly_stretch_s.0;
            while short(item) && item.dose.days < rung.dose.days.max && !way.set.contains_key(&Part::Days) {
                item.dose.days += 1;
                item.days = spread(item.dose.days, client.free_days, rest);
            }
            while let Some(more) = larger(item.dose, rung, &way.set).filter(|_| short(item)) {
                let longer = minutes(way.seconds(more)) - item.minutes();
                if longer > spare {
                    break;
                }
                spare -= longer;
                item.dose = more;
                item.seconds = way.seconds(more);
            }
        }
    }

    /// Checks the program that the coach wrote.
    fn coachs(&self) -> Planned {
        let Who { visit, library, .. } = self.who;
        let (mut errors, mut waits, mut chosen) = (Vec::new(), Vec::new(), Vec::new());
        for choice in &visit.program {
            let (Some(exercise), Some(sides)) = (library.exercises.get(&choice.exercise), choice.sides) else {
                continue;
            };
            match self.way(exercise, sides, Some(choice)) {
                Ok(way) => chosen.push(way),
                Err(bars) => {
                    let waiting = bars.iter().find_map(|bar| match bar {
                        Bar::Safety(safety::Bar::Referral(region, to)) => Some((region.clone(), to.clone())),
                        _ => None,
                    });
                    match waiting {
                        // What waits for a referral stays in the record and goes on paper as waiting.
                        Some((region, to)) if bars.len() == 1 => {
                            waits.push(Waits { exercise: exercise.id.clone(), region, to });
                        }
                        _ => errors.extend(self.refused(choice, &bars)),
                    }
                }
            }
        }
        let count = library.planning.count;
        if chosen.len() > count.never_above as usize {
            let message = format!("the program has {} exercises", chosen.len());
            let problem = self.at(&visit.place, Rule::TooManyExercises, message);
            errors.push(problem.help(format!("nobody keeps up more than {}: take some out", count.never_above)));
        }
        if !errors.is_empty() {
            return (Err(errors), Vec::new());
        }
        if chosen.is_empty() && !waits.is_empty() {
            let message = "everything in the program waits for the answer to a referral";
            let problem = self.at(&visit.place, Rule::NothingFits, message);
            let help = "add an exercise for another place, or print when the answer is there";
            return (Err(vec![problem.help(help)]), Vec::new());
        }
        let mut items: Vec<Item> = chosen.iter().map(|way| self.item(way)).collect();
        let (ways, barred) = self.ways();
        let none = vec![Vec::new(); ways.len()];
        let mut menu = self.menu(&ways, none);
        // The coach's own items come after all others, so that the numbers of the ways stay.
        let start = menu.offers.len();
        let own = self.menu(&chosen, vec![Vec::new(); chosen.len()]);
        menu.offers.extend(own.offers);
        let set: Vec<usize> = (start..menu.offers.len()).collect();
        for (item, offer) in items.iter_mut().zip(&set) {
            item.gain = menu.lost_without(*offer, &set);
        }
        let reasons = Reasons {
            chosen: false,
            covered: self.shares(&menu.left(&set)),
            worth: menu.worth(&set),
            nodes: 0,
            near: self.near(&menu, &set, &ways, &items, Miss::CoachsChoice),
            unmet: self.unmet(&ways, &barred),
            stretch: Vec::new(),
            barred,
        };
        self.finish(items, waits, reasons)
    }

    /// Why a choice of the coach cannot be, with what could be done instead.
    fn refused(&self, choice: &Choice, bars: &[Bar]) -> Vec<Problem> {
        let Who { client, library, .. } = self.who;
        let swaps = self.swaps(&choice.exercise);
        bars.iter()
            .map(|bar| {
                let (why, cure) = bar.words(library);
                let rule = match bar {
                    Bar::Position(_) => Rule::NoPosition,
                    Bar::Equipment(_) => Rule::NoEquipment,
                    Bar::Reach(..) => Rule::BeyondReach,
                    Bar::Safety(_) | Bar::Worse(_) | Bar::Banned | Bar::First(_) => Rule::NotAllowed,
                };
                let message = format!("`{}` is not for {}: {why}", choice.exercise, client.call);
                let help = if swaps.is_empty() { cure.to_owned() } else { format!("{cure}; instead: {swaps}") };
                self.at(&choice.place, rule, message).help(help)
            })
            .collect()
    }

    /// Exercises that do most of what one does and are for this client.
    fn swaps(&self, id: &ExerciseId) -> String {
        let Some(exercise) = self.who.library.exercises.get(id) else {
            return String::new();
        };
        let like = |other: &Exercise| -> f64 {
            let shared = exercise.effects.iter().map(|effect| {
                let same = other.effects_on(&effect.structure, effect.state).next();
                same.map_or(0.0, |same| same.effect.min(effect.effect))
            });
            shared.sum()
        };
        let others = self.who.library.exercises.values().filter(|other| other.id != *id);
        let mut swaps: Vec<(f64, &ExerciseId)> = others
            .filter(|other| like(other) > 0.0)
            .filter(|other| other.sides.iter().any(|sides| self.way(other, *sides, None).is_ok()))
            .map(|other| (like(other), &other.id))
            .collect();
        swaps.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(b.1)));
        swaps.iter().take(3).map(|(_, id)| format!("`{id}`")).collect::<Vec<_>>().join(", ")
    }

    /// Order, numbers, days and minutes, and what the coach should look at.
    fn finish(&self, mut items: Vec<Item>, waits: Vec<Waits>, mut reasons: Reasons) -> Planned {
        let Who { client, visit, library } = self.who;
        let planning = &library.planning;
        let phase = |item: &Item| library.phases.iter().position(|phase| phase.id == item.phase);
        // The order of work is the phases'; within one the coach's, or what is chosen for the most need first.
        if reasons.chosen {
            items.sort_by(|a, b| b.gain.total_cmp(&a.gain).then_with(|| a.exercise.cmp(&b.exercise)));
        }
        items.sort_by_key(phase);
        for (item, number) in items.iter_mut().zip(1..) {
            item.number = number;
        }
        let minutes: [u32; 7] =
            std::array::from_fn(|day| items.iter().filter(|item| item.days[day]).map(Item::minutes).sum());
        let most = minutes.iter().copied().max().unwrap_or(0);
        let mut warnings = Vec::new();
        let mut warn = |rule: Rule, message: String, help: String| {
            warnings.push(self.at(&visit.place, rule, message).help(help));
        };
        if most > client.minutes_a_day {
            let message = format!(
                "the program takes {most} minutes on its fullest day, but {} has {}",
                client.call, client.minutes_a_day
            );
            warn(Rule::OverTime, message, "drop an exercise, or ask for fewer sets or days".to_owned());
        }
        if items.len() > planning.count.warn_above as usize {
            let help = format!("people keep up {} or fewer better", planning.count.usual);
            warn(Rule::ManyExercises, format!("the program has {} exercises", items.len()), help);
        }
        reasons.stretch = stretch(&items, library);
        let (least, _) = planning.weekly_stretch_s;
        for short in reasons.stretch.iter().filter(|stretch| stretch.seconds < least) {
            let what = spoken(&short.structure, short.side, library);
            let message = format!("the {what} gets {} s of stretch a week", short.seconds);
            let help = format!("{least} s a week or more is usual for lasting change: add days or holds");
            warn(Rule::WeeklyStretch, message, help);
        }
        for (region, steps) in self.steps_up(&items) {
            if steps > planning.steps_up {
                let message = format!("{steps} exercises for the {region} go up a rung at once");
                warn(Rule::ManySteps, message, "change one thing at a time: hold the others".to_owned());
            }
        }
        let start = visit.start.unwrap_or_else(|| next_monday(visit.on));
        let next = visit.next.map(|(date, _)| date);
        let check_days = check_days(start, next);
        let weeks = planning.retest_weeks;
        if !items.is_empty() && next.is_some_and(|next| next > later(start, weeks.most)) {
            let message = format!("the next visit is more than {} weeks after the first day", weeks.most);
            warn(Rule::LateRetest, message, format!("{} weeks are usual: agree an earlier day", weeks.usual));
        }
        let test_again = test_again(start, next, weeks);
        let changes = self.changes(&items);
        warnings.extend(changes.iter().flat_map(|changes| self.tell(changes)));
        let program = Program { items, waits, start, minutes, check_days, test_again, reasons, retest: changes };
        (Ok(program), warnings)
    }

    /// Steps up against the last program, by region.
    fn steps_up(&self, items: &[Item]) -> BTreeMap<RegionId, u32> {
        let mut steps = BTreeMap::new();
        for item in items {
            let up = self.rung_before(&item.exercise).is_some_and(|before| item.rung > before);
            if let Some(exercise) = self.who.library.exercises.get(&item.exercise).filter(|_| up) {
                for region in &exercise.features.regions {
                    *steps.entry(region.clone()).or_default() += 1;
                }
            }
        }
        steps
    }
}

/// Every reason among what is barred, each once.
fn every_bar<'a>(barred: impl IntoIterator<Item = &'a Barred>) -> Vec<Bar> {
    let bars: BTreeSet<&Bar> = barred.into_iter().flat_map(|barred| &barred.bars).collect();
    bars.into_iter().cloned().collect()
}

/// A need in the coach's words: `right calf, short`.
pub fn named(need: &Need, library: &Library) -> String {
    format!("{}, {}", spoken(&need.structure, need.side, library), need.state.key())
}

/// A structure and its side in words: `right calf`.
pub fn spoken(structure: &StructureId, side: Option<Side>, library: &Library) -> String {
    let name = library.vocabulary.structures.get(structure).map_or(structure.as_str(), |known| known.name.as_str());
    side.map_or_else(|| name.to_owned(), |side| format!("{} {name}", side.key()))
}

/// What would unlock something that bars keep away.
pub fn unlocking(bars: &[Bar], library: &Library) -> String {
    if bars.is_empty() {
        return "the library has no exercise for it: add one".to_owned();
    }
    let words: Vec<String> = bars.iter().map(|bar| bar.words(library).0).collect();
    format!("what keeps it away: {}", words.join("; "))
}

/// Whether it is a stretch that a weekly sum is known for: one that is held, not a moment in a slow movement.
fn is_held_stretch(exercise: &Exercise, dose: &Dose) -> bool {
    exercise.features.methods.contains(&Method::Stretch) && dose.reps.is_none() && dose.hold_s.is_some()
}

/// Seconds of stretch that each muscle gets in a week from what lengthens it.
fn stretch(items: &[Item], library: &Library) -> Vec<Stretch> {
    let mut seconds: BTreeMap<(&StructureId, Option<Side>), u32> = BTreeMap::new();
    for item in items {
        let held = library.exercises.get(&item.exercise).filter(|exercise| is_held_stretch(exercise, &item.dose));
        let Some(exercise) = held else { continue };
        let weekly = item.stretch_a_week();
        // What it lengthens most is what it is a stretch of.
        let short = exercise.effects.iter().filter(|effect| effect.state == State::Short);
        let Some(main) = short.max_by(|a, b| a.effect.total_cmp(&b.effect)) else { continue };
        let Some(known) = library.vocabulary.structures.get(&main.structure) else { continue };
        if known.kind != StructureKind::Muscle {
            continue;
        }
        let sides: Vec<Option<Side>> = if known.sided {
            Side::BOTH.into_iter().filter(|side| item.sides.covers(*side)).map(Some).collect()
        } else {
            vec![None]
        };
        for side in sides {
            *seconds.entry((&main.structure, side)).or_default() += weekly;
        }
    }
    let one = |((structure, side), seconds): ((&StructureId, Option<Side>), u32)| Stretch {
        structure: structure.clone(),
        side,
        seconds,
    };
    seconds.into_iter().map(one).collect()
}

/// The tests with a limited side that the exercise can change: it acts on what the limit points to, on that side.
fn serves(exercise: &Exercise, sides: Sides, findings: &Findings, library: &Library) -> Vec<TestId> {
    let acts = |test: &TestId| {
        library.tests.get(test).is_some_and(|test| {
            test.limited.iter().any(|evidence| exercise.acts_on(&evidence.structure, evidence.state))
        })
    };
    findings
        .tests
        .iter()
        .filter(|finding| finding.limited().into_iter().any(|side| sides.covers(side)) && acts(&finding.test))
        .map(|finding| finding.test.clone())
        .collect()
}

/// The side whose reading a text may use.
pub fn reading_side(sides: Sides) -> Option<Side> {
    sides.shown()
}

#[cfg(test)]
mod tests;
