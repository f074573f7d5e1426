//! What a record says of the time since the last visit: diary results, untoward events, the coach's decisions.

use crate::diag::Rule;
use crate::fields::{Fields, Sink};
use crate::ids::ExerciseId;
use crate::library::planning::{Decision, Felt};
use crate::record::{Event, Ruling, Visit, Went};

use super::client::{Known, LONGEST_SENTENCE, entry, not_after};

/// Most days that one period can have: a year and a bit.
const MOST_DAYS: u32 = 400;

fn exercise(fields: &Fields<'_>, known: &Known<'_>, needed: bool) -> Option<ExerciseId> {
    let value = if needed { fields.need("exercise") } else { fields.get("exercise") };
    let id = value.and_then(|v| v.id::<ExerciseId>())?;
    let practice = known.practice;
    entry(fields, &id, &practice.library.exercises, &practice.broken_exercises).map(|exercise| exercise.id.clone())
}

/// Reads `diary`, `events` and `decisions` of a visit.
pub fn read(fields: &Fields<'_>, known: &Known<'_>) -> (Vec<Went>, Vec<Event>, Vec<Ruling>) {
    let diary = fields.tables("diary").iter().filter_map(|table| went(table, known)).collect();
    let events = fields.tables("events").iter().filter_map(|table| event(table, known)).collect();
    let rulings = fields.tables("decisions").iter().filter_map(|table| ruling(table, known)).collect();
    (diary, events, rulings)
}

fn went(fields: &Fields<'_>, known: &Known<'_>) -> Option<Went> {
    let exercise = exercise(fields, known, true);
    let days = fields.need("days").and_then(|v| v.whole(0, MOST_DAYS));
    let discomfort = fields.need("discomfort").and_then(|v| v.whole(0, 10));
    let felt = fields.need("felt").and_then(|v| v.one_of(&Felt::ALL));
    let form_lost = fields.get("form_lost").and_then(|v| v.yes()).unwrap_or(false);
    let lingered = fields.get("lingered").and_then(|v| v.yes()).unwrap_or(false);
    fields.done();
    let (days, discomfort) = (days?.value, discomfort?.value);
    Some(Went { place: fields.span(), exercise: exercise?, days, discomfort, felt: felt?, form_lost, lingered })
}

fn event(fields: &Fields<'_>, known: &Known<'_>) -> Option<Event> {
    let on = fields.get("on").and_then(|v| not_after(&v, known.on, "the event"));
    let exercise = exercise(fields, known, false);
    let what = fields.need("what").and_then(|v| v.text(LONGEST_SENTENCE));
    fields.done();
    Some(Event { on, exercise, what: what?.value })
}

fn ruling(fields: &Fields<'_>, known: &Known<'_>) -> Option<Ruling> {
    let exercise = exercise(fields, known, true);
    let decision = fields.need("do").and_then(|v| v.one_of(&Decision::ALL));
    let why = fields.need("why").and_then(|v| v.text(LONGEST_SENTENCE));
    let tell = fields.get("tell").and_then(|v| v.text(90)).map(|at| at.value);
    fields.done();
    Some(Ruling { place: fields.span(), exercise: exercise?, decision: decision?, why: why?.value, tell })
}

/// Compares each visit with the one before: diary results and decisions are about the program that was given there.
pub fn check(visits: &[Visit], sink: &Sink) {
    for (index, visit) in visits.iter().enumerate() {
        let before = index.checked_sub(1).map(|before| &visits[before]);
        let named = visit.diary.iter().map(|went| (&went.exercise, &went.place, "diary"));
        let named: Vec<_> =
            named.chain(visit.rulings.iter().map(|ruling| (&ruling.exercise, &ruling.place, "decisions"))).collect();
        for (at, (exercise, place, list)) in named.iter().enumerate() {
            let Some(before) = before else {
                let message = format!("`{list}` is about the last program, but this is the first visit");
                sink.report(Rule::BadValue, (*place).clone(), message, "take it out");
                continue;
            };
            let given = before.program.iter().any(|choice| choice.exercise == **exercise);
            if !before.program.is_empty() && !given {
                let message = format!("`{exercise}` was not in the program of {}", before.on);
                sink.report(Rule::UnknownName, (*place).clone(), message, "name an exercise that was given there");
            }
            if named[..at].iter().any(|(other, _, of)| other == exercise && of == list) {
                let message = format!("`{exercise}` stands twice in `{list}`");
                sink.report(Rule::Duplicate, (*place).clone(), message, "keep one of the two");
            }
        }
        let days = before.and_then(|before| before.on.until(visit.on).ok()).map_or(0, |span| span.get_days());
        for went in visit.diary.iter().filter(|went| before.is_some() && i64::from(went.days) > i64::from(days)) {
            let message = format!("{} days done, but the last visit was {days} days ago", went.days);
            sink.report(Rule::BadValue, went.place.clone(), message, "count the days again");
        }
    }
}
