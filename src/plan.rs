//! From the coach's choice to a program: order, dose, days, minutes, tools, cautions, and whether it may be printed.

use jiff::ToSpan;
use jiff::civil::{Date, Weekday};

use crate::assess::Findings;
use crate::body::{Side, Sides};
use crate::diag::{Problem, Rule};
use crate::ids::{EquipmentId, ExerciseId, PhaseId, TestId};
use crate::library::Library;
use crate::library::exercise::{Dose, Exercise, Part, Rung};
use crate::library::vocabulary::{Method, State};
use crate::record::{Choice, Client, Visit};
use crate::safety;

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
    /// The tests whose findings it works on.
    pub serves: Vec<TestId>,
}

impl Item {
    /// Whole minutes that one session takes, rounded up.
    pub fn minutes(&self) -> u32 {
        self.seconds.div_ceil(60)
    }
}

/// A program.
#[derive(Clone, Debug, PartialEq)]
pub struct Program {
    /// Items in the order of work.
    pub items: Vec<Item>,
    /// The first day.
    pub start: Date,
    /// Whole minutes on each day of the week, Monday first.
    pub minutes: [u32; 7],
    /// Days on which the client checks themselves.
    pub check_days: Vec<Date>,
}

/// A program, or every reason why it cannot be printed; in both cases what the coach should look at.
pub type Planned = (Result<Program, Vec<Problem>>, Vec<Problem>);

/// More exercises than this are kept up less well (trade-figures 5.8).
const MANY_EXERCISES: usize = 6;
/// Least weekly stretch of a muscle for lasting change, in seconds (trade-figures 5.2, Thomas 2018).
const WEEKLY_STRETCH_S: u32 = 300;
/// Weeks after the start at whose end the client checks themselves.
const CHECK_WEEKS: [i64; 2] = [2, 4];

/// Builds the program from the coach's choices.
pub fn plan(client: &Client, visit: &Visit, findings: &Findings, library: &Library) -> Planned {
    let mut errors = Vec::new();
    let mut warnings = Vec::new();
    let mut items = Vec::new();
    // The order of work is the phases', then the coach's.
    for phase in &library.phases {
        for choice in &visit.program {
            let Some(exercise) = library.exercises.get(&choice.exercise).filter(|e| e.phase == phase.id) else {
                continue;
            };
            match item(client, choice, exercise, findings, library) {
                Ok(item) => {
                    let held_stretch = item.dose.reps.is_none() && exercise.features.methods.contains(&Method::Stretch);
                    let weekly = item.dose.weekly_hold_seconds();
                    if held_stretch && weekly < WEEKLY_STRETCH_S {
                        warnings.push(
                            at(
                                client,
                                choice,
                                Rule::WeeklyStretch,
                                format!("`{}` gives {weekly} s of stretch a week", exercise.id),
                            )
                            .help(format!(
                                "{WEEKLY_STRETCH_S} s a week or more is usual for lasting change: add days or holds"
                            )),
                        );
                    }
                    items.push(item);
                }
                Err(mut found) => errors.append(&mut found),
            }
        }
    }
    for (item, number) in items.iter_mut().zip(1..) {
        item.number = number;
    }
    if !errors.is_empty() {
        return (Err(errors), warnings);
    }
    let minutes = std::array::from_fn(|day| {
        let seconds: u32 = items.iter().filter(|item| item.days[day]).map(|item| item.minutes()).sum();
        seconds
    });
    let most = minutes.iter().copied().max().unwrap_or(0);
    if most > client.minutes_a_day {
        warnings.push(
            Problem::at(
                Rule::OverTime,
                &client.file,
                visit.place.clone(),
                format!(
                    "the program takes {most} minutes on its fullest day, but {} has {}",
                    client.call, client.minutes_a_day
                ),
            )
            .help("drop an exercise, or ask for fewer sets or days"),
        );
    }
    if items.len() > MANY_EXERCISES {
        warnings.push(
            Problem::at(
                Rule::ManyExercises,
                &client.file,
                visit.place.clone(),
                format!("the program has {} exercises", items.len()),
            )
            .help(format!("people keep up {MANY_EXERCISES} or fewer better")),
        );
    }
    let start = visit.start.unwrap_or_else(|| next_monday(visit.on));
    let program = Program { items, start, minutes, check_days: check_days(start, visit.next.map(|(date, _)| date)) };
    let whole = warnings.into_iter().map(|warning| warning.client(&client.id)).collect();
    (Ok(program), whole)
}

fn at(client: &Client, choice: &Choice, rule: Rule, message: String) -> Problem {
    Problem::at(rule, &client.file, choice.place.clone(), message).client(&client.id)
}

fn item(
    client: &Client,
    choice: &Choice,
    exercise: &Exercise,
    findings: &Findings,
    library: &Library,
) -> Result<Item, Vec<Problem>> {
    let mut errors = Vec::new();
    let rung = &exercise.rungs[choice.rung];
    let judgement = safety::judge(&rung.features, client, &library.vocabulary);
    for why in judgement.forbidden {
        errors.push(
            at(client, choice, Rule::NotAllowed, format!("`{}` is not for {}: {why}", exercise.id, client.call))
                .help("choose another exercise, or record a clearance if there is one"),
        );
    }
    for position in rung.features.positions.intersection(&client.no_positions) {
        errors.push(
            at(client, choice, Rule::NoPosition, format!("`{}` needs the position `{position}`", exercise.id))
                .help("choose an exercise in another position"),
        );
    }
    let mut tools = Vec::new();
    for id in exercise.equipment.iter().chain(&rung.equipment) {
        match tool(client, id, library) {
            Some(tool) if tools.contains(&tool) => {}
            Some(tool) => tools.push(tool),
            None => errors.push(
                at(client, choice, Rule::NoEquipment, format!("`{}` needs `{id}`", exercise.id))
                    .help("choose another exercise, or add it to the client's `equipment`"),
            ),
        }
    }
    if !errors.is_empty() {
        return Err(errors);
    }
    let dose = dose(rung, choice);
    Ok(Item {
        number: 0,
        exercise: exercise.id.clone(),
        phase: exercise.phase.clone(),
        rung: choice.rung,
        sides: choice.sides,
        dose,
        days: spread(dose.days, client.free_days),
        seconds: dose.session_seconds(choice.sides),
        tools,
        cautions: judgement.cautions.into_iter().collect(),
        note: choice.note.clone(),
        serves: serves(exercise, choice.sides, findings, library),
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

/// The rung's starting dose, with what the coach set.
fn dose(rung: &Rung, choice: &Choice) -> Dose {
    let part = |part: Part| {
        let range = rung.dose.part(part)?;
        Some(choice.dose.get(&part).copied().unwrap_or(range.start))
    };
    Dose {
        sets: part(Part::Sets).unwrap_or(rung.dose.sets.start),
        reps: part(Part::Reps),
        hold_s: part(Part::Hold),
        lower_s: part(Part::Lower),
        rest_s: part(Part::Rest),
        days: part(Part::Days).unwrap_or(rung.dose.days.start),
        rep_s: rung.dose.rep_s,
    }
}

/// The tests with a limited side that the exercise can change: it acts on what the limit points to, on that side.
fn serves(exercise: &Exercise, sides: Sides, findings: &Findings, library: &Library) -> Vec<TestId> {
    findings
        .tests
        .iter()
        .filter(|finding| {
            let reached = finding.limited().into_iter().any(|side| sides.covers(side));
            let points_to: Vec<(&str, State)> = library
                .tests
                .get(&finding.test)
                .map(|test| test.limited.iter().map(|e| (crate::ids::Id::as_str(&e.structure), e.state)).collect())
                .unwrap_or_default();
            reached
                && exercise
                    .effects
                    .iter()
                    .any(|effect| points_to.contains(&(crate::ids::Id::as_str(&effect.structure), effect.state)))
        })
        .map(|finding| finding.test.clone())
        .collect()
}

const SUNDAY: u8 = 1 << 6;

/// `count` of the free days, as far apart as they can be; among equals with the days off far apart, Sunday off, and
/// the earliest choice.
///
/// If fewer days are free than the dose asks for, all free days are used.
pub fn spread(count: u32, free: [bool; 7]) -> [bool; 7] {
    let wanted = count.min(free.iter().filter(|day| **day).count() as u32);
    let chosen = (1u8..128)
        .filter(|days| days.count_ones() == wanted && (0..7).all(|day| days & (1 << day) == 0 || free[day]))
        .max_by_key(|days| {
            (gaps(*days), gaps(!days & 127), days & SUNDAY == 0, std::cmp::Reverse(in_week_order(*days)))
        })
        .unwrap_or(0);
    std::array::from_fn(|day| chosen & (1 << day) != 0)
}

/// The distances between neighbouring days round the week, smallest first.
fn gaps(days: u8) -> Vec<u32> {
    let on: Vec<u32> = (0..7).filter(|day| days & (1 << day) != 0).collect();
    let mut gaps: Vec<u32> =
        on.iter().zip(on.iter().cycle().skip(1)).map(|(a, b)| if b > a { b - a } else { b + 7 - a }).collect();
    gaps.sort_unstable();
    gaps
}

/// Days as a list, so that the earlier one comes first.
fn in_week_order(days: u8) -> Vec<u32> {
    (0..7).filter(|day| days & (1 << day) != 0).collect()
}

/// The first Monday after a day: weeks of the diary then run from Monday.
fn next_monday(day: Date) -> Date {
    let ahead = 7 - i64::from(day.weekday().since(Weekday::Monday));
    day.checked_add(ahead.days()).unwrap_or(day)
}

/// Sundays that end the second and fourth week; the last one falls on the day before the next visit if that is sooner.
fn check_days(start: Date, next: Option<Date>) -> Vec<Date> {
    let mut days: Vec<Date> = Vec::new();
    for weeks in CHECK_WEEKS {
        let Ok(mut day) = start.checked_add((weeks * 7 - 1).days()) else {
            continue;
        };
        if let Some(next) = next
            && day >= next
        {
            day = next.checked_sub(1.days()).unwrap_or(day);
        }
        // Less than a week apart two checks say nothing new.
        let soon = days.last().map_or(start, |last| *last).checked_add(6.days());
        if soon.is_ok_and(|soon| day >= soon) {
            days.push(day);
        }
    }
    days
}

/// The side whose reading a text may use.
pub fn reading_side(sides: Sides) -> Option<Side> {
    sides.shown()
}

#[cfg(test)]
mod tests;
