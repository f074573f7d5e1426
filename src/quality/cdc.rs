//! The CDC Clear Communication Index (handout-quality section 2). A point only where every instance meets the item; without
//! a main message items 2 to 4 get none.

use super::{Found, Instrument, Item, Miss, Outcome, Read, item, miss, need, passages, pemat};
use crate::plain::Lint;
use crate::plain::text::{Phrases, Sentence, Text};

pub(super) fn items(read: &Read<'_>) -> Vec<Item> {
    let c = |id, about, found: Found| item(Instrument::Cdc, id, about, found);
    let mut items = vec![
        c("1", "one main message", message(read).into()),
        c("2", "it stands at the top", at_the_top(read)),
        c("3", "it stands out", stands_out(read)),
        c("4", "a picture supports it", picture(read)),
        c("5", "a call to action", call(read).into()),
        c("6", "message and call are active", active(read).into()),
        c("7", "the reader's own words", read.lints(&[Lint::Avoid]).into()),
        c("8", "lists are lists", read.lints(&[Lint::Commas]).into()),
        c("9", "chunks with headings", pemat::headings(read).into()),
        c("10", "what matters most comes first", first_section(read)),
        c("11", "says what is not known", not_known(read).into()),
        c("12", "says what to do", recommends(read).into()),
        c("13", "says why", why(read).into()),
        c("14", "says how and how often", how(read)),
        c("15", "only numbers that the reader uses", read.lints(&[Lint::CoachOnly]).into()),
        c("16", "numbers are put in words", numbers_in_words(read)),
        c("17", "nothing to work out", pemat::no_sums(read).into()),
        c("18", "says what the risk is", risk(read)),
        c("19", "says what is gained and what may go wrong", both(read)),
        c("20", "chances are put in words", chances(read)),
    ];
    if matches!(items[0].outcome, Outcome::Miss(_)) {
        for item in &mut items[1..4] {
            item.outcome = Outcome::Miss(vec![miss("the top", "there is no main message", "write one")]);
        }
    }
    items
}

fn message(read: &Read<'_>) -> Vec<Miss> {
    let (limits, act) = (&read.with.plain.limits, read.act());
    let sentences: Vec<Sentence<'_>> = act.iter().flat_map(|text| Text::new(text).sentences).collect();
    let count = (1..=limits.message_sentences).contains(&sentences.len());
    let mut misses =
        need(count, "the top", "the main message is not one to three sentences", "say the one thing that matters");
    for long in sentences.iter().filter(|sentence| sentence.words.len() > limits.sentence_words) {
        misses.push(miss("the top", long.source, "make it short"));
    }
    misses
}

/// The main message on the first page, before anything of the plan.
fn at_the_top(read: &Read<'_>) -> Found {
    let Some(paper) = read.with.paper else {
        return Found::NotMeasured("it takes the typeset page");
    };
    let page: String = paper.pages.first().into_iter().flatten().map(|(text, _)| text.as_str()).collect();
    let place = |text: &str| squeezed(&page).find(&squeezed(text));
    let first = read.act().first().and_then(|text| place(text));
    let plan = read.exercises.iter().filter_map(|card| place(&card.name)).min();
    let holds = first.is_some_and(|first| plan.is_none_or(|plan| first < plan));
    need(holds, "the first page", "the main message does not stand before the plan", "put it first in the layout")
        .into()
}

/// The main message in larger type than the text below it.
fn stands_out(read: &Read<'_>) -> Found {
    let Some(paper) = read.with.paper else {
        return Found::NotMeasured("it takes the typeset page");
    };
    let body = super::gate::body_size(paper);
    let page = paper.pages.first().map_or(&[][..], Vec::as_slice);
    let first = read.act().first().map(|text| squeezed(text)).unwrap_or_default();
    let large = page.iter().any(|(text, size)| {
        let text = squeezed(text);
        text.len() >= 6 && first.contains(&text) && *size >= 1.15 * body
    });
    need(large, "the first page", "the main message is no larger than the text", "set it larger or in a box").into()
}

fn picture(read: &Read<'_>) -> Found {
    if read.exercises.is_empty() {
        return Found::Person;
    }
    let any = read.exercises.iter().any(|card| !card.frames.is_empty());
    need(any, "your plan", "no picture goes with the main message", "add pictures to the exercises").into()
}

fn call(read: &Read<'_>) -> Vec<Miss> {
    let texts: Vec<String> = read.act().iter().cloned().chain([read.sheet.message.sub.clone()]).collect();
    need(read.has_order(&texts), "the top", "there is no call to action", "start a sentence with what to do")
}

fn active(read: &Read<'_>) -> Vec<Miss> {
    let places = ["the main message", "what to do first"];
    let passive =
        read.doubts.iter().filter(|(place, doubt)| doubt.lint == Lint::Passive && places.contains(&place.as_str()));
    passive.map(|(place, doubt)| miss(place, &doubt.text, &doubt.cure)).collect()
}

/// Everything that matters most stands before the section that comes next.
fn first_section(read: &Read<'_>) -> Found {
    let Some(plan) = read.plan.filter(|_| !read.exercises.is_empty()) else {
        return need(!read.act().is_empty(), "the top", "what to do does not stand first", "put it first").into();
    };
    let mut misses = need(
        plan.pain_pointer.is_some(),
        "your plan",
        "it does not say where to read on about pain",
        "write `pain_pointer`",
    );
    misses.extend(need(!plan.pain.is_empty(), "your plan", "the pain scale is not on it", "print it"));
    let dates = plan.dates.first.is_some();
    misses.extend(need(dates, "your plan", "the first day is not on it", "give the program a first day"));
    misses.into()
}

fn not_known(read: &Read<'_>) -> Vec<Miss> {
    let said = read.says(&read.with.plain.lists.unknown);
    let limits = read.plan.is_none_or(|plan| !plan.limits.is_empty());
    need(
        said && limits,
        "what we found",
        "it does not say what the tests cannot tell",
        "write `limits` in layouts/words",
    )
}

fn recommends(read: &Read<'_>) -> Vec<Miss> {
    let any = !read.exercises.is_empty()
        || read.has_order(read.act())
        || read.has_order(std::slice::from_ref(&read.sheet.message.sub));
    need(any, "the top", "nothing is recommended", "say what to do")
}

fn why(read: &Read<'_>) -> Vec<Miss> {
    let mut misses = read.each(|card| !card.purpose.is_empty(), "it does not say why", "add `purpose` to the exercise");
    for phase in read.plan.iter().flat_map(|plan| &plan.phases) {
        misses.extend(need(
            !phase.purpose.is_empty(),
            &phase.name,
            "it does not say why",
            "add `purpose` to the phase",
        ));
    }
    let reason = read.see.is_none_or(|see| !see.why.is_empty() || !see.act.is_empty());
    misses.extend(need(reason, "why we ask", "it does not say why", "add `tell` to the question"));
    misses
}

fn how(read: &Read<'_>) -> Found {
    if read.exercises.is_empty() {
        return Found::NotApplicable("there is no exercise");
    }
    let mut misses = read.each(
        |card| !card.dose.is_empty() && card.days.contains(&true),
        "it does not say how often",
        "give it a dose and days",
    );
    misses.extend(read.each(
        |card| !card.start.is_empty() && card.steps.len() >= 2,
        "it does not say how",
        "write its start and steps",
    ));
    misses.into()
}

/// Each reading has a word beside it, and a reading without a usual range says so.
fn numbers_in_words(read: &Read<'_>) -> Found {
    let mut any = false;
    let mut misses = Vec::new();
    for finding in read.plan.iter().flat_map(|plan| &plan.findings) {
        if let Some(bar) = &finding.bar {
            any = true;
            let said = !bar.usual_text.is_empty() && bar.lanes.iter().all(|lane| !lane.band.is_empty());
            misses.extend(need(said, &finding.title, "a reading has no word beside it", "say how it compares"));
        }
    }
    for well in read.plan.iter().flat_map(|plan| plan.well.iter().chain(&plan.measured)) {
        any = true;
        misses.extend(need(
            !well.line.is_empty(),
            "what came out well",
            "a reading has no words",
            "write `fine` in the test",
        ));
    }
    if any { misses.into() } else { Found::NotApplicable("there are no readings") }
}

fn risk(read: &Read<'_>) -> Found {
    let zones = match (read.plan, read.see) {
        (Some(plan), _) if !read.exercises.is_empty() => &plan.safety.zones[..],
        (_, Some(see)) => {
            return need(!see.act.is_empty(), "the page", "it does not say what the danger asks for", "say it").into();
        }
        _ => return Found::NotApplicable("there is no exercise"),
    };
    let cure = "list the signs in layouts/words";
    let full =
        |icon: &str| zones.iter().any(|zone| zone.icon == icon && !zone.items.is_empty() && !zone.act.is_empty());
    let mut misses = need(full("stop"), "stay safe", "it does not say when to get help at once", cure);
    misses.extend(need(full("call"), "stay safe", "it does not say when to stop for today", cure));
    misses.into()
}

fn both(read: &Read<'_>) -> Found {
    if read.exercises.is_empty() {
        return Found::NotApplicable("there is no exercise");
    }
    let short = read.exercises.iter().filter(|card| card.purpose.is_empty() || card.not_feel.is_empty());
    short
        .map(|card| miss(passages::card(card), "it does not give both", "write `purpose` and `not_feel`"))
        .collect::<Vec<_>>()
        .into()
}

/// A chance in figures needs its words beside it; so far none is printed.
fn chances(read: &Read<'_>) -> Found {
    let lists = &read.with.plain.lists;
    let with_number = |words: &[String]| words.iter().any(|word| word.starts_with(|c: char| c.is_ascii_digit()));
    let found = read.passages.iter().flat_map(|passage| {
        passage.text.sentences.iter().map(move |sentence| (passage, sentence)).filter(|(_, sentence)| {
            with_number(&sentence.words) && !lists.chances.standing_in(&sentence.words).is_empty()
        })
    });
    let misses: Vec<Miss> = found
        .map(|(passage, sentence)| miss(&passage.place, sentence.source, "put the chance in words, or leave it out"))
        .collect();
    if misses.is_empty() { Found::NotApplicable("no chance is given in figures") } else { misses.into() }
}

/// Letters and digits alone: how lines break and where spaces stand is the typesetter's business.
pub(super) fn squeezed(text: &str) -> String {
    text.chars().filter(|c| c.is_alphanumeric()).collect()
}
