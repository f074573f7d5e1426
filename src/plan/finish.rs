//! What a program gets at the end, whoever chose it: its order, numbers, days and minutes, and what the coach should look at.

use std::collections::BTreeMap;

use super::days::{check_days, later, next_monday, test_again};
use super::fit::Who;
use super::{Item, Planned, Planner, Program, Reasons, Stretch, Waits, spoken};
use crate::assess::{Finding, Findings};
use crate::body::{Side, Sides};
use crate::diag::{Problem, Rule};
use crate::ids::{RegionId, StructureId, TestId};
use crate::library::Library;
use crate::library::exercise::{Dose, Exercise};
use crate::library::test::Test;
use crate::library::vocabulary::{Method, State, StructureKind};
use crate::record::{Client, Reading, Went};

impl Planner<'_> {
    /// Order, numbers, days and minutes, and what the coach should look at.
    pub(super) fn finish(&self, mut items: Vec<Item>, waits: Vec<Waits>, mut reasons: Reasons) -> Planned {
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
        warnings.extend(self.without_range());
        warnings.extend(self.not_given());
        let changes = self.changes(&items);
        warnings.extend(changes.iter().flat_map(|changes| self.tell(changes)));
        let program = Program { items, waits, start, minutes, check_days, test_again, reasons, retest: changes };
        (Ok(program), warnings)
    }

    /// Readings that could not be judged for want of something in the record.
    fn without_range(&self) -> Vec<Problem> {
        let Who { client, visit, library } = self.who;
        let judged = |test: &TestId| {
            let finding = self.findings.tests.iter().find(|finding| finding.test == *test);
            finding.is_some_and(|finding| finding.painful || finding.is_judged())
        };
        let unjudged = visit.readings.iter().filter(|(test, _)| !judged(test));
        let problem = |(test, reading): (&TestId, &Reading)| {
            let (what, key) = lacking(client, library.tests.get(test))?;
            let message = format!("the usual range of `{test}` goes by {what}, and the record has no `{key}`");
            let help = format!("add `{key}`; until then this reading is not compared with what is usual");
            Some(self.at(&reading.place, Rule::NoUsualRange, message).help(help))
        };
        unjudged.filter_map(problem).collect()
    }

    /// Diary results of exercises that the last program did not have.
    fn not_given(&self) -> Vec<Problem> {
        let Some(past) = &self.past else { return Vec::new() };
        let other = |went: &&Went| past.items.iter().all(|given| given.exercise != went.exercise);
        let problem = |went: &Went| {
            let message = format!("`{}` was not in the last program, so nothing follows from this", went.exercise);
            let help = "name an exercise of that program; `kinleaf explain` with its `--visit` shows it";
            self.at(&went.place, Rule::NotGiven, message).help(help)
        };
        self.who.visit.diary.iter().filter(other).map(problem).collect()
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

/// Whether it is a stretch that a weekly sum is known for: one that is held, not a moment in a slow movement.
pub(super) fn is_held_stretch(exercise: &Exercise, dose: &Dose) -> bool {
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
pub(super) fn serves(exercise: &Exercise, sides: Sides, findings: &Findings, library: &Library) -> Vec<TestId> {
    let covered = |finding: &&Finding| finding.limited().into_iter().any(|side| sides.covers(side));
    let tests = findings.tests.iter().filter(covered).map(|finding| &finding.test);
    tests.filter(|test| acts_on(exercise, test, library)).cloned().collect()
}

/// Whether an exercise acts on what a limit in a test points to.
pub(super) fn acts_on(exercise: &Exercise, test: &TestId, library: &Library) -> bool {
    library
        .tests
        .get(test)
        .is_some_and(|test| test.limited.iter().any(|evidence| exercise.acts_on(&evidence.structure, evidence.state)))
}

/// What the record must say before a test that has usual ranges for somebody can judge this client, in words and as its
/// key, if that is not said.
fn lacking(client: &Client, test: Option<&Test>) -> Option<(&'static str, &'static str)> {
    let references = &test?.references;
    let for_all_ages = |(least, most): (u32, u32)| least <= 18 && most >= 100;
    if client.sex.is_none() && !references.is_empty() && references.iter().all(|it| it.sex.is_some()) {
        return Some(("sex", "sex"));
    }
    let by_age = !references.is_empty() && references.iter().all(|it| !for_all_ages(it.ages));
    (client.born.is_none() && by_age).then_some(("age", "born"))
}
