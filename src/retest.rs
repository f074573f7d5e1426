//! What changed since the last visit, and what is to become of each exercise given there.
//!
//! Pure. A change is judged by the error of its test alone, and only between readings taken in one way. What to do is
//! decided by rules of data; the first that holds counts, and a coach may rule otherwise.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::assess::{Change, Findings, change};
use crate::body::Side;
use crate::ids::{RegionId, TestId};
use crate::library::Library;
use crate::library::exercise::Exercise;
use crate::library::planning::{Decision, When};
use crate::library::test::Test;
use crate::record::{Client, Given, Ruling, Values, Visit, Went};
use crate::units::Amount;

/// The program that was given at the last visit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Past {
    /// The day of that visit.
    pub on: Date,
    /// Its first day.
    pub start: Date,
    /// Its exercises.
    pub items: Vec<Given>,
}

/// Days done of those planned.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Adherence {
    /// Days done, over all exercises.
    pub done: u32,
    /// Days planned.
    pub planned: u32,
}

impl Adherence {
    /// Days done as a share of those planned, at most 1.
    pub fn share(self) -> f64 {
        if self.planned == 0 { 0.0 } else { (f64::from(self.done) / f64::from(self.planned)).min(1.0) }
    }
}

/// One test on one side over all visits.
#[derive(Clone, Debug, PartialEq)]
pub struct Course {
    /// The test.
    pub test: TestId,
    /// The side; `None` if the test has none.
    pub side: Option<Side>,
    /// Readings taken in the same way as the latest, oldest first.
    pub points: Vec<(Date, Amount)>,
    /// The change since the reading before; `None` where the error is not known or the test is not judged.
    pub last: Option<Change>,
    /// The change since the first reading.
    pub whole: Option<Change>,
    /// Periods up to now in a row without a real change, each judged.
    pub still: usize,
    /// Readings that were taken in another way, and so are not compared.
    pub other_way: usize,
}

/// What is to become of one exercise of the last program.
#[derive(Clone, Debug, PartialEq)]
pub struct Decided {
    /// The exercise as it was given.
    pub was: Given,
    /// What the rules say.
    pub advice: Decision,
    /// What is done.
    pub decision: Decision,
    /// The reason in the coach's words.
    pub coach: String,
    /// The reason in the client's words; empty where the coach chose and gave none.
    pub client: String,
    /// Whether the coach chose it against the rules, and why, if that was written down.
    pub overruled: Option<Option<String>>,
}

/// Why someone else should look.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum HandOver {
    /// A test is really worse.
    Worse(TestId, Option<Side>),
    /// A limit has not changed in so many periods, though the exercises were done.
    NoChange(TestId, Option<Side>),
}

/// A visit seen against the ones before.
#[derive(Clone, Debug, PartialEq)]
pub struct Retest {
    /// The day of the last visit.
    pub since: Date,
    /// Days done of those planned, if there are diary results.
    pub adherence: Option<Adherence>,
    /// Worst discomfort since the last visit, and in the period before.
    pub discomfort: (Option<u32>, Option<u32>),
    /// Every test read now and before.
    pub courses: Vec<Course>,
    /// One for each exercise of the last program.
    pub decided: Vec<Decided>,
    /// Why someone else should look.
    pub hand_over: Vec<HandOver>,
    /// Comparisons that look real, and all, where they are so many that one may be chance.
    pub by_chance: Option<(usize, usize)>,
}

impl Retest {
    /// Whether so few of the planned days were done that little can be said.
    pub fn few_days(&self, library: &Library) -> bool {
        self.adherence.is_some_and(|adherence| adherence.share() < library.planning.change.few_days)
    }

    /// Whether an exercise acts on what a really worse test points to, on its side; gives the test.
    pub fn bars(&self, exercise: &Exercise, sides: crate::body::Sides, library: &Library) -> Option<&TestId> {
        self.hand_over.iter().find_map(|reason| match reason {
            HandOver::Worse(test, side) => {
                let covered = side.is_none_or(|side| sides.covers(side));
                (covered && library.tests.get(test).is_some_and(|test| acts_on(exercise, test))).then_some(test)
            }
            HandOver::NoChange(..) => None,
        })
    }
}

/// Sees a visit against the ones before: `past` is the last program, `before` what was found at the visit that gave it,
/// `earlier` how well the one before it was kept up.
pub fn look(
    client: &Client,
    visit: &Visit,
    found: (&Findings, &Findings),
    past: &Past,
    earlier: Option<Adherence>,
    library: &Library,
) -> Retest {
    let (now, before) = found;
    let courses = courses(client, visit, now, library);
    let adherence = adherence(past, visit);
    let rules = &library.planning.change;
    let good = |adherence: Option<Adherence>| adherence.is_some_and(|kept| kept.share() >= rules.few_days);
    // Only what was kept up well can be said not to have helped; of older periods nobody asks any more.
    let kept = match (good(adherence), good(earlier)) {
        (true, true) => usize::MAX,
        (true, false) => 1,
        (false, _) => 0,
    };
    let limited = |course: &Course| {
        let finding = now.tests.iter().find(|finding| finding.test == course.test);
        finding.is_some_and(|finding| {
            let sides = finding.limited();
            course.side.map_or(!sides.is_empty(), |side| sides.contains(&side))
        })
    };
    let mut hand_over = Vec::new();
    for course in &courses {
        if course.last == Some(Change::Worse) {
            hand_over.push(HandOver::Worse(course.test.clone(), course.side));
        } else if course.still.min(kept) >= rules.periods && limited(course) {
            hand_over.push(HandOver::NoChange(course.test.clone(), course.side));
        }
    }
    let worst = |visit: &Visit| visit.diary.iter().map(|went| went.discomfort).max();
    let last = client.visits.iter().rev().find(|earlier| earlier.on < visit.on);
    let facts = Facts { visit, past, now, before, courses: &courses, kept, library };
    Retest {
        since: past.on,
        adherence,
        discomfort: (worst(visit), last.and_then(worst)),
        decided: facts.decide(),
        hand_over,
        by_chance: by_chance(&courses, rules.many_from),
        courses,
    }
}

/// Days done of those planned, over the exercises that the diary names.
pub fn adherence(past: &Past, visit: &Visit) -> Option<Adherence> {
    let kept = visit.diary.iter().filter_map(|went| kept(went, past, visit.on));
    kept.reduce(|a, b| Adherence { done: a.done + b.done, planned: a.planned + b.planned })
}

/// Days done of those planned for one exercise; more than planned counts as all.
fn kept(went: &Went, past: &Past, now: Date) -> Option<Adherence> {
    let given = past.items.iter().find(|given| given.exercise == went.exercise)?;
    let days = u32::try_from(past.start.until(now).ok()?.get_days()).unwrap_or(0);
    let planned = (days * given.dose.days + 3) / 7;
    Some(Adherence { done: went.days.min(planned), planned })
}

/// Every test read now and before in the same way, left before right.
fn courses(client: &Client, visit: &Visit, now: &Findings, library: &Library) -> Vec<Course> {
    let mut courses = Vec::new();
    for (id, reading) in &visit.readings {
        let Some(test) = library.tests.get(id) else { continue };
        let hurt = now.tests.iter().any(|finding| finding.test == *id && finding.painful);
        let sides: &[Option<Side>] = match reading.values {
            Values::Sided(_) => &[Some(Side::Left), Some(Side::Right)],
            Values::Whole(_) => &[None],
        };
        for side in sides {
            let value = |values: &Values| values.on(side.unwrap_or(Side::Left));
            if value(&reading.values).is_none() {
                continue;
            }
            let all = client.visits.iter().filter(|earlier| earlier.on <= visit.on);
            let read = all.filter_map(|visit| Some((visit.on, visit.readings.get(id)?)));
            let read: Vec<_> = read.filter_map(|(on, it)| Some((on, value(&it.values)?, it))).collect();
            let same_way = |it: &&(Date, Amount, &crate::record::Reading)| it.2.method == reading.method;
            let points: Vec<(Date, Amount)> =
                read.iter().filter(same_way).map(|(on, value, _)| (*on, *value)).collect();
            let other_way = read.len() - points.len();
            if points.len() < 2 && other_way == 0 {
                continue;
            }
            let judge = |from: usize, to: usize| {
                let judged = !(hurt && to + 1 == points.len());
                judged.then(|| change(test, points[from].1, points[to].1)).flatten()
            };
            let end = points.len() - 1;
            let (last, whole) = if end == 0 { (None, None) } else { (judge(end - 1, end), judge(0, end)) };
            let quiet = |it: &usize| {
                matches!(judge(it - 1, *it), Some(Change::MaybeBetter | Change::Same | Change::MaybeWorse))
            };
            let still = (1..=end).rev().take_while(quiet).count();
            courses.push(Course { test: id.clone(), side: *side, last, whole, still, other_way, points });
        }
    }
    courses
}

/// With many comparisons about one in twenty looks real by chance: how many do, and of how many.
fn by_chance(courses: &[Course], many_from: usize) -> Option<(usize, usize)> {
    let judged: Vec<Change> = courses.iter().filter_map(|course| course.last).collect();
    let real = judged.iter().filter(|it| matches!(it, Change::Better | Change::ClearlyBetter | Change::Worse)).count();
    (judged.len() >= many_from && real > 0).then_some((real, judged.len()))
}

/// Whether an exercise changes what a limit of a test points to.
fn acts_on(exercise: &Exercise, test: &Test) -> bool {
    test.limited.iter().any(|evidence| exercise.acts_on(&evidence.structure, evidence.state))
}

/// What decisions rest on.
struct Facts<'a> {
    visit: &'a Visit,
    past: &'a Past,
    now: &'a Findings,
    before: &'a Findings,
    courses: &'a [Course],
    /// Periods kept up well, up to now.
    kept: usize,
    library: &'a Library,
}

impl Facts<'_> {
    fn decide(&self) -> Vec<Decided> {
        let mut decided: Vec<Decided> = self.past.items.iter().filter_map(|given| self.one(given)).collect();
        self.one_step_a_region(&mut decided);
        for it in &mut decided {
            let ruling = self.visit.rulings.iter().find(|ruling| ruling.exercise == it.was.exercise);
            if let Some(ruling) = ruling {
                it.rule(ruling);
            }
        }
        decided
    }

    fn one(&self, given: &Given) -> Option<Decided> {
        let exercise = self.library.exercises.get(&given.exercise)?;
        let case = self.case(given, exercise);
        let rule = self.library.planning.decisions.iter().find(|rule| case.meets(&rule.when));
        let (advice, coach, client) = match rule {
            Some(rule) => (rule.what, rule.coach.clone(), rule.client.clone()),
            None => (Decision::Hold, "No rule speaks of it: hold.".to_owned(), String::new()),
        };
        Some(Decided { was: given.clone(), advice, decision: advice, coach, client, overruled: None })
    }

    /// What is known of one exercise.
    fn case(&self, given: &Given, exercise: &Exercise) -> Case {
        let went = self.visit.diary.iter().find(|went| went.exercise == given.exercise);
        let kept = went.and_then(|went| kept(went, self.past, self.visit.on));
        // What it served is what was limited when it was given, on the sides that it works on.
        let served: Vec<(&TestId, Vec<Side>)> = self
            .before
            .tests
            .iter()
            .filter(|finding| self.library.tests.get(&finding.test).is_some_and(|test| acts_on(exercise, test)))
            .map(|finding| {
                let sides = finding.limited().into_iter().filter(|side| given.sides.covers(*side)).collect();
                (&finding.test, sides)
            })
            .filter(|(_, sides): &(_, Vec<Side>)| !sides.is_empty())
            .collect();
        let serves = |course: &&Course| {
            let wanted = served.iter().find(|(test, _)| **test == course.test);
            wanted.is_some_and(|(_, sides)| course.side.is_none_or(|side| sides.contains(&side)))
        };
        let courses: Vec<&Course> = self.courses.iter().filter(serves).collect();
        let usual = |test: &TestId| {
            let finding = self.now.tests.iter().find(|finding| finding.test == *test);
            finding.is_some_and(|finding| {
                finding.is_judged()
                    && !finding.painful
                    && !finding.limited().into_iter().any(|side| given.sides.covers(side))
            })
        };
        let any = |wanted: &[Change]| courses.iter().any(|course| course.last.is_some_and(|it| wanted.contains(&it)));
        Case {
            event: self.visit.events.iter().any(|event| event.exercise.as_ref() == Some(&given.exercise)),
            worse: any(&[Change::Worse]),
            better: any(&[Change::Better, Change::ClearlyBetter]),
            usual: !served.is_empty() && served.iter().all(|(test, _)| usual(test)),
            share: kept.map(Adherence::share),
            still: courses.iter().map(|course| course.still).max().unwrap_or(0).min(self.kept),
            went: went.cloned(),
            lowest: given.rung == 0,
            highest: given.rung + 1 >= exercise.rungs.len(),
        }
    }

    /// Of several exercises for one place only so many go up at once; the later ones wait.
    fn one_step_a_region(&self, decided: &mut [Decided]) {
        let planning = &self.library.planning;
        let mut steps: BTreeMap<&RegionId, u32> = BTreeMap::new();
        for it in decided.iter_mut().filter(|it| it.advice == Decision::Next) {
            let Some(exercise) = self.library.exercises.get(&it.was.exercise) else { continue };
            let regions = &exercise.features.regions;
            if regions.iter().any(|region| steps.get(region).is_some_and(|taken| *taken >= planning.steps_up)) {
                let [coach, client] = planning.change.one_at_a_time.clone();
                (it.advice, it.decision, it.coach, it.client) = (Decision::Hold, Decision::Hold, coach, client);
            } else {
                regions.iter().for_each(|region| *steps.entry(region).or_default() += 1);
            }
        }
    }
}

impl Decided {
    /// The coach decides.
    fn rule(&mut self, ruling: &Ruling) {
        if ruling.decision != self.advice {
            self.decision = ruling.decision;
            self.overruled = Some(Some(ruling.why.clone()));
            self.client = ruling.tell.clone().unwrap_or_default();
        }
    }

    /// What really became of it, where a coach wrote the program.
    pub fn became(&mut self, decision: Decision) {
        let written = matches!(self.overruled, Some(Some(_))) && decision == self.decision;
        self.decision = decision;
        if decision == self.advice {
            self.overruled = None;
        } else if !written {
            self.overruled = Some(None);
            self.client.clear();
        }
    }
}

/// What is known of one exercise of the last program.
#[derive(Clone, Debug, PartialEq)]
struct Case {
    event: bool,
    worse: bool,
    better: bool,
    usual: bool,
    share: Option<f64>,
    still: usize,
    went: Option<Went>,
    lowest: bool,
    highest: bool,
}

impl Case {
    /// Whether everything that a rule asks for is so. What the diary does not say is not so.
    fn meets(&self, when: &When) -> bool {
        let is = |wanted: Option<bool>, so: bool| wanted.is_none_or(|wanted| wanted == so);
        let went = |so: &dyn Fn(&Went) -> bool| self.went.as_ref().is_some_and(so);
        is(when.event, self.event)
            && is(when.worse, self.worse)
            && is(when.better, self.better)
            && is(when.usual, self.usual)
            && is(when.diary, self.went.is_some())
            && is(when.lowest, self.lowest)
            && is(when.highest, self.highest)
            && is(when.form_lost, went(&|it| it.form_lost))
            && is(when.lingered, went(&|it| it.lingered))
            && when.felt.is_none_or(|felt| went(&|it| it.felt == felt))
            && when.discomfort_above.is_none_or(|above| went(&|it| it.discomfort > above))
            && when.discomfort_to.is_none_or(|most| went(&|it| it.discomfort <= most))
            && when.done_below.is_none_or(|share| self.share.is_some_and(|done| done < share))
            && when.done_from.is_none_or(|share| self.share.is_some_and(|done| done >= share))
            && when.periods_without_change.is_none_or(|periods| self.still >= periods as usize)
    }
}

#[cfg(test)]
mod tests;
