//! The program that the coach wrote, held to the same rules as one that is chosen.

use super::fit::{Bar, Who};
use super::{Item, Miss, Planned, Planner, Reasons, Waits};
use crate::diag::{Problem, Rule};
use crate::ids::ExerciseId;
use crate::library::exercise::Exercise;
use crate::record::Choice;
use crate::safety;

impl Planner<'_> {
    /// Checks the program that the coach wrote.
    pub(super) fn coachs(&self) -> Planned {
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
    pub(super) fn refused(&self, choice: &Choice, bars: &[Bar]) -> Vec<Problem> {
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
}
