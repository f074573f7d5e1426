//! The choice of a program: the ways that cover the most need in the client's minutes, and why no others.

use std::collections::BTreeSet;

use super::choose::{Menu, Offer};
use super::days::spread;
use super::dose::{dose, larger, smaller, smallest};
use super::finish::{acts_on, is_held_stretch, serves};
use super::fit::{Bar, Who};
use super::program::minutes;
use super::ways::Way;
use super::{Barred, Item, Miss, NearMiss, Planned, Planner, Reasons, Unmet, named, unlocking};
use crate::assess::Need;
use crate::diag::Rule;
use crate::ids::ExerciseId;
use crate::library::exercise::Part;

/// How much of a limit counts as worked on by the first exercise; each further one takes as much of what is left.
const ANSWERED: f64 = 0.9;
/// Near misses that are told.
const NEAR: usize = 6;

impl Planner<'_> {
    pub(super) fn menu(&self, ways: &[Way<'_>], first: Vec<Vec<Vec<usize>>>) -> Menu {
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

    /// The menu with one more need for each limited test and side that some way works on: that it is worked on at all. A
    /// limit that speaks for one thing alone would else lose to a second exercise for one that speaks for many.
    fn answering(&self, menu: &Menu, ways: &[Way<'_>]) -> Menu {
        let Who { library, .. } = self.who;
        let mut menu = menu.clone();
        for finding in self.findings.limited() {
            let sided = library.tests.get(&finding.test).is_some_and(|test| test.sided);
            // Without sides both hold the same verdict, and are one limit.
            for sides in finding.limited().chunks(if sided { 1 } else { 2 }) {
                let covers = |way: &Way<'_>| sides.iter().any(|side| way.sides.covers(*side));
                let answers = |way: &Way<'_>| covers(way) && acts_on(way.exercise, &finding.test, library);
                for (offer, _) in menu.offers.iter_mut().zip(ways).filter(|(_, way)| answers(way)) {
                    offer.effects.push((menu.needs.len(), ANSWERED));
                }
                menu.needs.push(library.planning.answer);
            }
        }
        menu
    }

    /// Chooses the program that works on the most limits and covers the most need.
    pub(super) fn choose(&self) -> Planned {
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
        let mut choice = self.answering(&menu, &ways).choose();
        if choice.offers.is_none() {
            // The coach's pins alone are too long: they are taken all the same, and nothing else.
            menu.minutes = u32::MAX;
            menu.most = menu.pinned.len();
            choice = self.answering(&menu, &ways).choose();
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
            worth: menu.worth(&set),
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
        self.findings.limited().next().is_some()
    }

    fn unlock(&self, reasons: &Reasons) -> String {
        unlocking(&every_bar(&reasons.barred), self.who.library)
    }

    /// How much of each need is covered.
    pub(super) fn shares(&self, left: &[f64]) -> Vec<f64> {
        let share = |(need, left): (&Need, &f64)| if need.weight > 0.0 { 1.0 - left / need.weight } else { 0.0 };
        self.findings.needs.iter().zip(left).map(share).collect()
    }

    /// Exercises that would have added most.
    pub(super) fn near(
        &self,
        menu: &Menu,
        set: &[usize],
        ways: &[Way<'_>],
        items: &[Item],
        fits: Miss,
    ) -> Vec<NearMiss> {
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
    pub(super) fn unmet(&self, ways: &[Way<'_>], barred: &[Barred]) -> Vec<Unmet> {
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

    pub(super) fn item(&self, way: &Way<'_>) -> Item {
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
}

/// Every reason among what is barred, each once.
fn every_bar<'a>(barred: impl IntoIterator<Item = &'a Barred>) -> Vec<Bar> {
    let bars: BTreeSet<&Bar> = barred.into_iter().flat_map(|barred| &barred.bars).collect();
    bars.into_iter().cloned().collect()
}
