//! CERT (handout-quality section 3): 19 items; what goes to the client is read on the sheet, what stays with the coach in
//! the coach's record.

use super::{Found, Instrument, Item, Miss, Read, item, miss, need};

const NO_EXERCISE: &str = "there is no exercise";

pub(super) fn items(read: &Read<'_>) -> Vec<Item> {
    let due = |found: &dyn Fn(&Read<'_>) -> Found| {
        if read.exercises.is_empty() { Found::NotApplicable(NO_EXERCISE) } else { found(read) }
    };
    let c = |id, about, found: Found| item(Instrument::Cert, id, about, found);
    vec![
        c("1", "equipment", due(&|read| equipment(read).into())),
        c("2", "who teaches", due(&|read| coach(read).into())),
        c("3", "alone or in a group", due(&|read| alone(read).into())),
        c("4", "how it is supervised", due(&|read| supervised(read).into())),
        c("5", "how it is kept track of", due(&|read| track(read).into())),
        c("6", "what keeps it going", due(&|read| motivation(read).into())),
        c("7a", "when to go on to the next step", due(&|read| progress(read).into())),
        c("7b", "how it went on in fact", Found::Person),
        c("8", "each exercise so that it can be repeated", due(&|read| described(read).into())),
        c("9", "the part done at home", due(&|read| at_home(read).into())),
        c("10", "parts that are no exercise", due(&|read| advice(read).into())),
        c("11", "what goes wrong is noted", due(&|read| events(read).into())),
        c("12", "place and room", due(&|read| place(read).into())),
        c("13", "the whole dose", due(&|read| dose(read).into())),
        c("14a", "chosen for this person or not", due(&chosen)),
        c("14b", "which finding led to it", due(&led_to)),
        c("15", "the level it starts on", due(&level)),
        c("16a", "how the way it is done is judged", Found::Person),
        c("16b", "how far it was done as planned", Found::Person),
    ]
}

fn equipment(read: &Read<'_>) -> Vec<Miss> {
    let kit = read.plan.is_some_and(|plan| !plan.kit.is_empty());
    need(kit, "what you need", "nothing says what is needed", "name `equipment` in the exercises")
}

fn coach(read: &Read<'_>) -> Vec<Miss> {
    let studio = &read.sheet.studio;
    let known = [&studio.coach, &studio.role, &studio.phone, &studio.hours].iter().all(|text| !text.trim().is_empty());
    need(
        known,
        "who to ask",
        "the coach's name, role, phone or hours are missing",
        "fill them in in layouts/brand.toml",
    )
}

fn alone(read: &Read<'_>) -> Vec<Miss> {
    let said = read.says(&read.with.plain.lists.alone);
    need(said, "the main message", "it does not say that it is done alone, at home", "say so in `main`")
}

/// A client at home has no coach beside them: the sheet says whom to ask to be shown again.
fn supervised(read: &Read<'_>) -> Vec<Miss> {
    let named = |text: &String| read.sheet.studio.coach.split(' ').any(|name| !name.is_empty() && text.contains(name));
    let said = named(&read.sheet.message.sub);
    need(said, "the main message", "it does not say who shows what is not clear", "name the coach in `go_down`")
}

fn track(read: &Read<'_>) -> Vec<Miss> {
    let diary = read.plan.and_then(|plan| plan.diary.as_ref()).is_some_and(|diary| !diary.weeks.is_empty());
    need(diary, "your diary", "there is no diary", "give the program a first day")
}

fn motivation(read: &Read<'_>) -> Vec<Miss> {
    let goals = !read.sheet.message.goals.is_empty();
    let day = read.plan.is_some_and(|plan| plan.dates.next.is_some() || !plan.dates.checks.is_empty());
    let mut misses = need(goals, "the top", "there is no goal", "add `goals` to the record");
    misses.extend(need(day, "your dates", "there is no day to look at the result", "add `next` to the visit"));
    misses
}

fn progress(read: &Read<'_>) -> Vec<Miss> {
    let rule = |card: &crate::word::handout::Exercise| card.harder.iter().all(|text| !text.trim().is_empty());
    read.each(rule, "no rule says when to go on", "add a harder rung, or say what the coach does")
}

fn described(read: &Read<'_>) -> Vec<Miss> {
    let cure = "write name, start, steps, picture, `feel` and `not_feel`";
    let texts = |card: &crate::word::handout::Exercise| {
        let texts = [&card.name, &card.start, &card.feel, &card.not_feel];
        texts.iter().all(|text| !text.trim().is_empty()) && card.steps.len() >= 2 && !card.frames.is_empty()
    };
    read.each(texts, "it cannot be repeated from its card", cure)
}

fn at_home(read: &Read<'_>) -> Vec<Miss> {
    let days = read.each(|card| card.days.contains(&true), "it has no day at home", "give it days");
    let first = read.plan.is_some_and(|plan| plan.dates.first.is_some());
    let mut misses = need(first, "your dates", "there is no first day", "give the program a first day");
    misses.extend(days);
    misses
}

fn advice(read: &Read<'_>) -> Vec<Miss> {
    let known = read.plan.is_some_and(|plan| !plan.safety.know.is_empty());
    need(known, "stay safe", "there is nothing good to know", "write `benefit` and `scope`")
}

fn events(read: &Read<'_>) -> Vec<Miss> {
    let diary = read.plan.is_some_and(|plan| plan.diary.is_some()) && !read.label("worst_pain").is_empty();
    need(diary, "your diary", "there is no line for the worst pain", "write `worst_pain` in layouts/words")
}

fn place(read: &Read<'_>) -> Vec<Miss> {
    let home = read.plan.is_some_and(|plan| !plan.safety.home.is_empty());
    let mut misses = need(home, "stay safe", "room and floor are not spoken of", "write `home_safety`");
    misses.extend(read.each(|card| !card.start.is_empty(), "where and how it starts is not said", "write its start"));
    misses
}

/// Rounds, times or hold, effort, pace, rest between rounds, days, minutes; weeks stand in the diary.
fn dose(read: &Read<'_>) -> Vec<Miss> {
    let cure = "give the dose its sets, reps or hold, rest, effort, days and seconds a repetition";
    let mut misses = Vec::new();
    for card in &read.exercises {
        let part = |icon: &str| card.dose.iter().any(|part| part.icon == icon && part.n > 0);
        let rounds = card.dose.iter().find(|part| part.icon == "rounds").map_or(0, |part| part.n);
        let faults = [
            (rounds == 0, "its rounds"),
            (!part("times") && !part("hold"), "its times or its hold"),
            (part("times") && card.each_s.is_none(), "its pace"),
            (card.effort.trim().is_empty(), "how hard it is"),
            (rounds > 1 && !part("rest") && card.side != "each", "its rest"),
            (!card.days.contains(&true), "its days"),
            (card.min == 0, "its minutes"),
        ];
        for (_, what) in faults.iter().filter(|(fault, _)| *fault) {
            misses.push(miss(super::passages::card(card), format!("the dose does not say {what}"), cure));
        }
    }
    let weeks = read.plan.and_then(|plan| plan.diary.as_ref()).map_or(0, |diary| diary.weeks.len());
    misses.extend(need(weeks > 0, "your diary", "the dose does not say for how many weeks", "add `next` to the visit"));
    misses
}

fn chosen(read: &Read<'_>) -> Found {
    let Some(coach) = read.with.coach else {
        return Found::NotMeasured("it takes the coach's record");
    };
    need(coach.chosen.is_some(), "the coach's record", "it does not say who chose the program", "print the record")
        .into()
}

/// A finding on the sheet names the exercise, or the coach's record gives a reason for it.
fn led_to(read: &Read<'_>) -> Found {
    let named = |n: u32| read.plan.iter().flat_map(|plan| &plan.findings).any(|finding| finding.works_on.contains(&n));
    let reasoned =
        |n: u32| read.with.coach.is_some_and(|coach| coach.program.iter().any(|row| row.n == n && row.led_to));
    let cure = "leave it out, record the test that speaks for it, or give `because` in the program";
    read.each(|card| named(card.n) || reasoned(card.n), "no finding and no reason led to it", cure).into()
}

fn level(read: &Read<'_>) -> Found {
    let Some(coach) = read.with.coach else {
        return Found::NotMeasured("it takes the coach's record");
    };
    let told = |n: u32| coach.program.iter().any(|row| row.n == n && !row.rung.is_empty() && !row.why.is_empty());
    let mut misses = read.each(|card| told(card.n), "the record gives no reason for its level", "print the record");
    misses.extend(read.each(
        |card| !card.version.is_empty(),
        "it does not say which version",
        "write `how` in its rung",
    ));
    misses.into()
}
