//! `clients/<id>.toml`.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::civil::Date;

use crate::body::{BySide, Side, Sides};
use crate::diag::{Problem, Rule, SourceFile};
use crate::fields::{At, Fields, Value};
use crate::ids::{ClientId, CoachId, ConditionId, ExerciseId, FlagId, Id, RegionId, TestId};
use crate::library::exercise::{Exercise, Part};
use crate::library::test::{Sex, Test};
use crate::library::vocabulary::Level;
use crate::record::{
    Choice, Clearance, Client, Form, Held, Overridden, Override, Reading, Referral, Screening, Sore, Values, Visit,
};
use crate::units::{Amount, BadQuantity, Unit};

use super::{Practice, brand, known_id, known_ids, retest};

/// Longest name that a sheet can carry.
const LONGEST_NAME: usize = 80;
/// Longest sentence from a record.
pub(super) const LONGEST_SENTENCE: usize = 200;

/// What a record may refer to.
pub struct Known<'a> {
    pub practice: &'a Practice,
    /// The day of the run.
    pub on: Date,
}

const DAYS: [(&str, usize); 7] = [("mon", 0), ("tue", 1), ("wed", 2), ("thu", 3), ("fri", 4), ("sat", 5), ("sun", 6)];

pub fn read(id: &ClientId, file: &Arc<SourceFile>, fields: &Fields<'_>, known: &Known<'_>) -> Option<Client> {
    let sink = fields.sink();
    let vocabulary = &known.practice.library.vocabulary;
    let name = fields.need("name").and_then(|v| v.text(LONGEST_NAME));
    let call = fields.get("call").and_then(|v| v.text(24));
    let language = fields.get("language").and_then(|v| {
        let language = brand::language_code(&v)?;
        if known.practice.offers(&language) {
            return Some(language);
        }
        let offered = known.practice.brand.languages.join(", ");
        let help = format!("offered: {offered}; see `languages` in layouts/brand.toml");
        v.refuse(Rule::UnknownName, format!("the practice does not offer the language `{language}`"), help)
    });
    let born = fields.get("born").and_then(|v| {
        let at = v.date()?;
        if at.value >= known.on || i32::from(known.on.year()) - i32::from(at.value.year()) > 120 {
            return v.refuse(Rule::BadDate, format!("nobody here was born on {}", at.value), "correct the birth date");
        }
        Some(at.value)
    });
    let sex = fields.get("sex").and_then(|v| v.one_of(&Sex::ALL));
    let coach = fields
        .get("coach")
        .and_then(|v| v.id::<CoachId>())
        .and_then(|id| known_id(sink, &id, known.practice.brand.coaches.keys()));
    let goals: Vec<String> = fields.texts("goals", LONGEST_SENTENCE).into_iter().map(|at| at.value).collect();
    if let Some(value) = fields.need("goals")
        && let Some(list) = value.list()
        && !(1..=3).contains(&list.len())
    {
        value.refuse::<()>(
            Rule::BadValue,
            format!("there are {} goals", list.len()),
            "write one to three goals, in the client's own words",
        );
    }
    let loves = known_ids(sink, fields.ids("loves"), vocabulary.activities.keys());
    let minutes_a_day = fields.need("minutes_a_day").and_then(|v| v.whole(1, 120));
    let free_days = fields.get("days").and_then(|v| {
        let mut free = [false; 7];
        for day in v.list()? {
            free[day.one_of(&DAYS)?] = true;
        }
        if free.contains(&true) {
            Some(free)
        } else {
            v.refuse(Rule::BadValue, "the client has no day at all", "name the days they can use, or take the line out")
        }
    });
    let equipment = known_ids(sink, fields.ids("equipment"), vocabulary.equipment.keys());
    let no_equipment = known_ids(sink, fields.ids("no_equipment"), vocabulary.equipment.keys());
    let no_positions = known_ids(sink, fields.ids("no_positions"), vocabulary.positions.keys());
    let (wishes, units) = brand::print(fields);
    let conditions = fields.tables("conditions").iter().filter_map(|f| held(f, known)).collect();
    let overrides = fields.tables("overrides").iter().filter_map(|f| an_override(f, known)).collect();
    let referrals = fields.tables("referrals").iter().filter_map(|f| referral(f, known)).collect();
    let mut visits: Vec<Visit> = fields.tables("visits").iter().filter_map(|f| visit(f, known)).collect();
    fields.need("visits");
    visits.sort_by_key(|visit| visit.on);
    for pair in visits.windows(2) {
        if pair[0].on == pair[1].on {
            sink.report(
                Rule::Duplicate,
                pair[1].place.clone(),
                format!("two visits are dated {}", pair[1].on),
                "join them, or correct a date",
            );
        }
    }
    retest::check(&visits, sink);
    let name = name?.value;
    let call = match call {
        Some(call) => call.value,
        None => name.split(' ').next().unwrap_or(&name).to_owned(),
    };
    Some(Client {
        id: id.clone(),
        file: Arc::clone(file),
        name,
        call,
        language,
        born,
        sex,
        coach,
        goals,
        loves,
        minutes_a_day: minutes_a_day?.value,
        free_days: free_days.unwrap_or([true; 7]),
        equipment,
        no_equipment,
        no_positions,
        wishes,
        units,
        conditions,
        overrides,
        referrals,
        visits,
        issued: BTreeMap::new(),
    })
}

fn clearance(fields: &Fields<'_>, known: &Known<'_>) -> Option<Clearance> {
    let by = fields.need("by").and_then(|v| v.text(60));
    let on = fields.need("on").and_then(|v| not_after(&v, known.on, "a clearance"));
    fields.done();
    Some(Clearance { by: by?.value, on: on? })
}

pub(super) fn not_after(value: &Value<'_>, on: Date, what: &str) -> Option<Date> {
    let at = value.date()?;
    if at.value > on {
        return value.refuse(
            Rule::BadDate,
            format!("{what} is dated {}, which is after {on}", at.value),
            "correct the date, or run again with `--on` once that day has come",
        );
    }
    Some(at.value)
}

fn held(fields: &Fields<'_>, known: &Known<'_>) -> Option<Held> {
    let vocabulary = &known.practice.library.vocabulary;
    let condition = fields.need("condition").and_then(|v| v.id::<ConditionId>());
    let condition = condition.and_then(|id| known_id(fields.sink(), &id, vocabulary.conditions.keys()));
    let region = fields
        .get("region")
        .and_then(|v| v.id::<RegionId>())
        .and_then(|id| known_id(fields.sink(), &id, vocabulary.regions.keys()));
    let cleared = fields.get("cleared").and_then(|v| v.table()).and_then(|f| clearance(&f, known));
    fields.done();
    Some(Held { condition: condition?, region, cleared })
}

fn an_override(fields: &Fields<'_>, known: &Known<'_>) -> Option<Override> {
    let (sink, library) = (fields.sink(), &known.practice.library);
    let by = fields.need("by").and_then(|v| v.id::<CoachId>());
    let by = by.and_then(|id| known_id(sink, &id, known.practice.brand.coaches.keys()));
    let on = fields.need("on").and_then(|v| not_after(&v, known.on, "an override"));
    let why = fields.need("why").and_then(|v| v.text(LONGEST_SENTENCE));
    let never = |value: &Value<'_>, level: Level| {
        if level.can_be_cleared() {
            return Some(());
        }
        let message = format!("this is at the level `{}`, which no coach can set aside", level.key());
        value.refuse(Rule::NotAllowed, message, "send the client on; take this override out")
    };
    let of = if let Some(value) = fields.get("question") {
        let id = value.id::<FlagId>().and_then(|id| known_id(sink, &id, library.vocabulary.flags.keys()));
        id.and_then(|id| {
            never(&value, library.vocabulary.flags.get(&id)?.level)?;
            Some(Overridden::Question(id))
        })
    } else {
        let value = fields.need("condition");
        let id = value.as_ref().and_then(|v| v.id::<ConditionId>());
        let id = id.and_then(|id| known_id(sink, &id, library.vocabulary.conditions.keys()));
        let exercise = fields.need("exercise").and_then(|v| v.id::<ExerciseId>());
        let exercise = exercise.and_then(|id| entry(fields, &id, &library.exercises, &known.practice.broken_exercises));
        value.zip(id).and_then(|(value, id)| {
            never(&value, library.vocabulary.conditions.get(&id)?.level)?;
            Some(Overridden::Condition(id, exercise?.id.clone()))
        })
    };
    fields.done();
    Some(Override { of: of?, by: by?, on: on?, why: why?.value })
}

fn place(fields: &Fields<'_>, known: &Known<'_>) -> Option<(RegionId, Option<Side>)> {
    let region = fields.need("region").and_then(|v| v.id::<RegionId>());
    let region = region.and_then(|id| known_id(fields.sink(), &id, known.practice.library.vocabulary.regions.keys()));
    let side = fields.get("side").map(|v| v.one_of(&Side::ALL));
    Some((region?, side.map_or(Some(None), |side| side.map(Some))?))
}

fn referral(fields: &Fields<'_>, known: &Known<'_>) -> Option<Referral> {
    let place = place(fields, known);
    let to = fields.need("to").and_then(|v| v.text(60));
    let why = fields.need("why").and_then(|v| v.text(LONGEST_SENTENCE));
    let on = fields.need("on").and_then(|v| not_after(&v, known.on, "a referral"));
    let closed_value = fields.get("closed");
    let closed = closed_value.as_ref().map(|v| not_after(v, known.on, "the answer to a referral"));
    if let (Some(value), Some(Some(closed)), Some(on)) = (&closed_value, closed, on)
        && closed < on
    {
        value.refuse::<()>(Rule::BadDate, format!("{closed} is before the referral on {on}"), "correct one of the two");
    }
    fields.done();
    let (region, side) = place?;
    Some(Referral { region, side, to: to?.value, why: why?.value, on: on?, closed: closed.flatten() })
}

fn visit(fields: &Fields<'_>, known: &Known<'_>) -> Option<Visit> {
    let sink = fields.sink();
    let on = fields.need("on").and_then(|v| not_after(&v, known.on, "the visit"));
    let coach = fields
        .get("coach")
        .and_then(|v| v.id::<CoachId>())
        .and_then(|id| known_id(sink, &id, known.practice.brand.coaches.keys()));
    let later = |value: Option<&Value<'_>>, date: Option<Date>| {
        if let (Some(value), Some(date), Some(on)) = (value, date, on)
            && date < on
        {
            value.refuse::<()>(
                Rule::BadDate,
                format!("{date} is before the visit on {on}"),
                "correct one of the two dates",
            );
        }
    };
    let next_value = fields.get("next");
    let next = next_value.as_ref().and_then(|v| v.date_time()).map(|at| at.value);
    later(next_value.as_ref(), next.map(|(date, _)| date));
    let start_value = fields.get("start");
    let start = start_value.as_ref().and_then(|v| v.date()).map(|at| at.value);
    later(start_value.as_ref(), start);
    let screening = fields.get("screening").and_then(|v| v.table()).and_then(|f| screening(&f, on, known));
    let mut readings: BTreeMap<TestId, Reading> = BTreeMap::new();
    for table in fields.tables("readings") {
        if let Some((test, reading)) = reading(&table, known) {
            if readings.contains_key(&test) {
                sink.report(
                    Rule::Duplicate,
                    table.span(),
                    format!("`{test}` is read twice at one visit"),
                    "keep the better one",
                );
            }
            readings.insert(test, reading);
        }
    }
    let program = choices(fields, "program", true, known);
    let pins = choices(fields, "pins", false, known);
    let bans: Vec<At<ExerciseId>> = fields.ids("bans");
    let bans: BTreeSet<ExerciseId> = bans
        .iter()
        .filter_map(|id| entry(fields, id, &known.practice.library.exercises, &known.practice.broken_exercises))
        .map(|exercise| exercise.id.clone())
        .collect();
    if fields.get("program").is_some()
        && let Some(value) = fields.get("pins").or_else(|| fields.get("bans"))
    {
        value.refuse::<()>(
            Rule::BadValue,
            "pins and bans are for a program that the tool chooses, but this visit has its own",
            "take `program` out, or take these out",
        );
    }
    let sore = fields
        .tables("sore")
        .iter()
        .filter_map(|table| {
            let place = place(table, known);
            table.done();
            let (region, side) = place?;
            Some(Sore { region, side })
        })
        .collect();
    let left_out = fields
        .tables("left_out")
        .iter()
        .filter_map(|table| {
            let (what, why) =
                (table.need("what").and_then(|v| v.text(40)), table.need("why").and_then(|v| v.text(120)));
            table.done();
            Some((what?.value, why?.value))
        })
        .collect();
    let (diary, events, rulings) = retest::read(fields, known);
    let watch = fields.texts("watch", 120).into_iter().map(|at| at.value).collect();
    let note = fields.get("note").and_then(|v| v.text(LONGEST_SENTENCE)).map(|at| at.value);
    fields.done();
    Some(Visit {
        on: on?,
        place: fields.span(),
        coach,
        next,
        start,
        screening,
        readings,
        sore,
        diary,
        events,
        rulings,
        program,
        pins,
        bans,
        left_out,
        watch,
        note,
    })
}

/// A list of exercises of the coach's choice; in a program each says its side, in pins it may be left open.
fn choices(fields: &Fields<'_>, key: &str, whole: bool, known: &Known<'_>) -> Vec<Choice> {
    let mut choices: Vec<Choice> = Vec::new();
    for table in fields.tables(key) {
        if let Some(choice) = choice(&table, whole, known) {
            let twice = |other: &Choice| {
                other.exercise == choice.exercise
                    && match (other.sides, choice.sides) {
                        (Some(a), Some(b)) => overlap(a, b),
                        _ => true,
                    }
            };
            if choices.iter().any(twice) {
                fields.sink().report(
                    Rule::Duplicate,
                    table.span(),
                    format!("`{}` stands twice in the {key} for one side", choice.exercise),
                    "keep one of the two",
                );
            }
            choices.push(choice);
        }
    }
    choices
}

fn overlap(a: Sides, b: Sides) -> bool {
    Side::BOTH.iter().any(|side| a.covers(*side) && b.covers(*side))
}

fn screening(fields: &Fields<'_>, visit: Option<Date>, known: &Known<'_>) -> Option<Screening> {
    let flags = &known.practice.library.vocabulary.flags;
    let asked = fields.get("asked_on").map(|v| not_after(&v, visit.unwrap_or(known.on), "the screening"));
    let yes = known_ids(fields.sink(), fields.ids("yes"), flags.keys());
    let unasked = known_ids(fields.sink(), fields.ids("unasked"), flags.keys());
    fields.need("yes");
    let blood_pressure = fields.get("blood_pressure").and_then(|v| {
        let at = v.text(12)?;
        let number = |text: &str| text.trim().parse().ok().filter(|mmhg| (30..=300).contains(mmhg));
        let read = at.value.split_once('/').and_then(|(high, low)| Some((number(high)?, number(low)?)));
        match read.filter(|(systolic, diastolic)| systolic > diastolic) {
            Some(pressure) => Some(pressure),
            None => v.refuse(
                Rule::BadReading,
                format!("`{}` is not a blood pressure", at.value),
                "write it as \"124/78\", in mmHg, the larger number first",
            ),
        }
    });
    let form = fields.get("form").and_then(|v| v.table()).and_then(|f| {
        let name = f.need("name").and_then(|v| v.text(80));
        let on = f.need("on").and_then(|v| not_after(&v, visit.unwrap_or(known.on), "the form"));
        let sends_on = f.need("sends_on").and_then(|v| v.yes());
        f.done();
        Some(Form { name: name?.value, on: on?, sends_on: sends_on? })
    });
    let mut cleared = BTreeMap::new();
    for table in fields.tables("cleared") {
        let flag = table.need("question").and_then(|v| v.id::<FlagId>());
        let flag = flag.and_then(|id| known_id(table.sink(), &id, flags.keys()));
        if let (Some(flag), Some(by)) = (flag, clearance(&table, known)) {
            cleared.insert(flag, by);
        }
    }
    fields.done();
    let on = asked.map_or(visit, |asked| asked)?;
    Some(Screening { on, yes, unasked, cleared, blood_pressure, form })
}

fn quantity(value: &Value<'_>, test: &Test) -> Option<Amount> {
    if test.unit == Unit::Grade && value.is_text() {
        let grades: Vec<(&str, i64)> = test.grades.iter().map(String::as_str).zip(0..).collect();
        return value.one_of_own(&grades).map(Amount::whole);
    }
    let written = value.quantity_text()?;
    let amount = match test.unit.read(&written.value) {
        Ok(amount) => amount,
        Err(bad) => {
            let help = match bad {
                BadQuantity::NoNumber(_) => format!("write a number, in {}", test.unit.key()),
                BadQuantity::UnknownUnit(_) | BadQuantity::OtherKind { .. } => {
                    format!("`{}` is read in {}", test.id, test.unit.key())
                }
                BadQuantity::NotMeasurable(_) => "correct the number".to_owned(),
            };
            return value.refuse(Rule::BadReading, bad.to_string(), help);
        }
    };
    let (least, most) = test.possible;
    if amount < least || amount > most {
        let unit = test.unit.spoken();
        return value.refuse(
            Rule::BadReading,
            format!("{amount} {unit} cannot be right for `{}`: it lies between {least} and {most} {unit}", test.id),
            "measure again, or correct the number or its unit",
        );
    }
    Some(amount)
}

/// Looks up an entry of the library, and tells a broken one from one that is not there.
pub(super) fn entry<'a, K: Id + Clone, T>(
    fields: &Fields<'_>,
    id: &At<K>,
    sound: &'a BTreeMap<K, T>,
    broken: &BTreeSet<K>,
) -> Option<&'a T> {
    if broken.contains(&id.value) {
        fields.sink().report(
            Rule::BrokenName,
            id.span.clone(),
            format!("the {} `{}` has an error of its own", K::KIND, id.value),
            "mend its file first; its problem is listed too",
        );
        return None;
    }
    let id = known_id(fields.sink(), id, sound.keys())?;
    sound.get(&id)
}

fn reading(fields: &Fields<'_>, known: &Known<'_>) -> Option<(TestId, Reading)> {
    let id = fields.need("test").and_then(|v| v.id::<TestId>());
    let Some(test) = id.and_then(|id| entry(fields, &id, &known.practice.library.tests, &known.practice.broken_tests))
    else {
        // Without the test its keys mean nothing: take them as asked for.
        fields.let_pass();
        return None;
    };
    if let Some((value, cure)) = wrong_sides(fields, test) {
        fields.let_pass();
        let message = match test.sided {
            true => format!("`{}` is read on each side", test.id),
            false => format!("`{}` has no sides", test.id),
        };
        return value.refuse(Rule::BadSide, message, cure);
    }
    let values = if test.sided {
        let side = |side: Side| fields.get(side.key()).map(|v| quantity(&v, test));
        let read = BySide::from_fn(side);
        if read.left.is_none() && read.right.is_none() {
            fields.need("left");
        }
        Some(Values::Sided(BySide { left: read.left.flatten(), right: read.right.flatten() }))
    } else {
        fields.need("value").and_then(|v| quantity(&v, test)).map(Values::Whole)
    };
    let mut signs = BTreeSet::new();
    let mut read_signs = |key: &str, side: Option<Side>| {
        for value in fields.get(key).and_then(|v| v.list()).unwrap_or_default() {
            let names: Vec<(&str, usize)> = test.signs.iter().map(|sign| sign.id.as_str()).zip(0..).collect();
            if let Some(index) = value.one_of_own(&names) {
                signs.insert((side, test.signs[index].id.clone()));
            }
        }
    };
    if test.sided {
        read_signs("left_signs", Some(Side::Left));
        read_signs("right_signs", Some(Side::Right));
    } else {
        read_signs("signs", None);
    }
    let method = fields.get("method").and_then(|v| v.text(60)).map(|at| at.value);
    let pain = |key: &str| fields.get(key).and_then(|v| v.whole(0, 10)).map_or(0, |at| at.value);
    let both = pain("pain");
    let pain = if test.sided {
        BySide { left: both.max(pain("left_pain")), right: both.max(pain("right_pain")) }
    } else {
        BySide { left: both, right: both }
    };
    fields.done();
    Some((test.id.clone(), Reading { place: fields.span(), values: values?, method, signs, pain }))
}

/// A reading's key that its test cannot have, with what to write.
fn wrong_sides<'a>(fields: &Fields<'a>, test: &Test) -> Option<(Value<'a>, &'static str)> {
    if test.sided {
        return Some((fields.peek("value")?, "write `left = ...` and `right = ...`"));
    }
    let sided = fields.peek("left").or_else(|| fields.peek("right"))?;
    Some((sided, "write `value = ...`, and `signs` without a side"))
}

fn choice(fields: &Fields<'_>, whole: bool, known: &Known<'_>) -> Option<Choice> {
    let id = fields.need("exercise").and_then(|v| v.id::<ExerciseId>());
    let Some(exercise) =
        id.and_then(|id| entry(fields, &id, &known.practice.library.exercises, &known.practice.broken_exercises))
    else {
        fields.let_pass();
        return None;
    };
    let rung_value = fields.get("rung");
    let rung = match &rung_value {
        None => Some(whole.then_some(0)),
        Some(value) => rung(value, exercise).map(Some),
    };
    let sides = fields.get("side").map(|v| {
        let sides = v.one_of(&Sides::ALL)?;
        if exercise.sides.contains(&sides) {
            return Some(sides);
        }
        let allowed: Vec<&str> = exercise.sides.iter().map(|s| s.key()).collect();
        v.refuse(
            Rule::BadSide,
            format!("`{}` is not done on the side `{}`", exercise.id, sides.key()),
            format!("allowed: {}", allowed.join(", ")),
        )
    });
    let sides = match (sides, exercise.sides.as_slice()) {
        (Some(sides), _) => sides.map(Some),
        (None, [only]) => Some(Some(*only)),
        (None, _) if whole => {
            fields.need("side");
            None
        }
        (None, _) => Some(None),
    };
    let dose = match (fields.get("dose").and_then(|v| v.table()), rung) {
        (Some(table), Some(rung)) => doses(&table, exercise, rung.unwrap_or(0)),
        _ => BTreeMap::new(),
    };
    let text = |key: &str| fields.get(key).and_then(|v| v.text(160)).map(|at| at.value);
    let (note, because) = (text("note"), text("because"));
    fields.done();
    Some(Choice {
        place: fields.span(),
        exercise: exercise.id.clone(),
        rung: rung?,
        sides: sides?,
        dose,
        note,
        because,
    })
}

fn rung(value: &Value<'_>, exercise: &Exercise) -> Option<usize> {
    if value.is_text() {
        let names: Vec<(&str, usize)> = exercise.rungs.iter().map(|r| r.name.as_str()).zip(0..).collect();
        return value.one_of_own(&names);
    }
    let count = u32::try_from(exercise.rungs.len()).unwrap_or(u32::MAX);
    let number = value.whole_own(count)?;
    usize::try_from(number.value).ok()?.checked_sub(1)
}

fn doses(fields: &Fields<'_>, exercise: &Exercise, rung: usize) -> BTreeMap<Part, u32> {
    let range = exercise.rungs[rung].dose;
    let mut set = BTreeMap::new();
    for (part, key, ..) in Part::ALL {
        let Some(value) = fields.get(key) else {
            continue;
        };
        let Some(span) = range.part(part) else {
            value.refuse::<()>(
                Rule::BadDose,
                format!("`{}` has no `{key}` in its dose", exercise.id),
                "take the line out",
            );
            continue;
        };
        let Some(number) = value.whole(0, 1000) else {
            continue;
        };
        if (span.min..=span.max).contains(&number.value) {
            set.insert(part, number.value);
        } else {
            fields.sink().push(
                Problem::at(
                    Rule::BadDose,
                    fields.sink().file(),
                    value.span.clone(),
                    format!(
                        "`{key}` is {}, but this rung of `{}` takes {} to {}",
                        number.value, exercise.id, span.min, span.max
                    ),
                )
                .help("stay in the range, or choose another rung"),
            );
        }
    }
    fields.done();
    set
}
