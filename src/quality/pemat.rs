//! PEMAT-P (handout-quality section 1). Items 13 and 14 are for film and sound and do not apply to paper.

use std::collections::BTreeSet;

use super::{Found, Instrument, Item, Miss, Read, item, miss, need, passages};
use crate::plain::Lint;
use crate::plain::text::{self, Phrases};
use crate::word::handout::Frame;

pub(super) fn items(read: &Read<'_>) -> Vec<Item> {
    let u = |id, about, found: Found| item(Instrument::Understandability, id, about, found);
    let a = |id, about, found: Found| item(Instrument::Actionability, id, about, found);
    vec![
        u("1", "says at once what it is for", purpose(read).into()),
        u("2", "nothing of the coach's own on it", read.lints(&[Lint::CoachOnly]).into()),
        u("3", "everyday words", words(read).into()),
        u("4", "terms are explained", terms(read).into()),
        u("5", "active voice", read.lints(&[Lint::Passive, Lint::StepVerb]).into()),
        u("6", "numbers are clear", numbers(read)),
        u("7", "nothing to work out", no_sums(read).into()),
        u("8", "short chunks", chunks(read).into()),
        u("9", "headings", headings(read).into()),
        u("10", "a sensible order", order(read).into()),
        u("11", "a summary", summary(read)),
        u("12", "cues to what matters", cues(read).into()),
        u("15", "a picture wherever it helps", pictures(read)),
        u("16", "each picture belongs to its text", own_pictures(read)),
        u("17", "captions and words for listeners", captions(read)),
        u("18", "pictures without clutter", labels_inside(read)),
        u("19", "simple tables with short heads", tables(read)),
        a("20", "something to do", something_to_do(read).into()),
        a("21", "speaks to the reader", to_the_reader(read).into()),
        a("22", "in small steps", steps(read)),
        a("23", "something to keep track with", tool(read)),
        a("24", "help with sums", Found::NotApplicable("there are no sums")).when(no_sums(read), read),
        a("25", "how to read charts and tables", how_to_read(read)),
        a("26", "start and end of each move", start_and_end(read)),
    ]
}

impl Item {
    /// Help with sums is due only where something must be worked out.
    fn when(mut self, sums: Vec<Miss>, _read: &Read<'_>) -> Self {
        if !sums.is_empty() {
            self.outcome = super::Outcome::Miss(sums);
        }
        self
    }
}

fn purpose(read: &Read<'_>) -> Vec<Miss> {
    let sheet = read.sheet;
    let mut misses =
        need(!sheet.message.greeting.is_empty(), "the top", "there is no title", "give the sheet its title");
    let goal = read.see.map_or(!sheet.message.goals.is_empty(), |see| !see.why.is_empty() || !see.act.is_empty());
    misses.extend(need(goal, "the top", "no goal or reason is given", "add `goals` to the record"));
    misses.extend(read.each(|card| !card.purpose.is_empty(), "it has no purpose", "add `purpose` to the exercise"));
    misses
}

fn words(read: &Read<'_>) -> Vec<Miss> {
    let mut misses = read.lints(&[Lint::Avoid]);
    let whole = read.sections.iter().filter(|section| section.enough && !section.easy);
    misses.extend(whole.map(|section| {
        let text = format!("reads at {} by {}", section.value, read.with.plain.formula.name());
        miss(&section.section, text, "take shorter words and shorter sentences")
    }));
    misses
}

/// A term that the sheet teaches must be explained on it.
fn terms(read: &Read<'_>) -> Vec<Miss> {
    let terms = &read.with.plain.terms;
    let sentences = read.passages.iter().flat_map(|passage| &passage.text.sentences);
    let mut used: BTreeSet<&String> = sentences.flat_map(|sentence| terms.standing_in(&sentence.words)).collect();
    for part in read.exercises.iter().flat_map(|exercise| &exercise.dose) {
        used.extend(terms.standing_in(&text::words(&part.unit)));
    }
    let explains =
        |explained: &String| read.passages.iter().any(|it| it.text.source.to_lowercase().contains(explained.as_str()));
    let missing = used.into_iter().map(|term| (term, &terms[term])).filter(|(_, explained)| !explains(explained));
    missing
        .map(|(term, explained)| {
            miss("your plan", format!("“{term}” is not explained"), &format!("say “{explained} ...”"))
        })
        .collect()
}

/// One way of writing a dose, and a unit after each number.
fn numbers(read: &Read<'_>) -> Found {
    let mut misses = read.lints(&[Lint::BareNumber]);
    const ORDER: [&str; 5] = ["rounds", "times", "hold", "slow", "rest"];
    misses.extend(read.each(
        |card| {
            let places: Vec<Option<usize>> =
                card.dose.iter().map(|part| ORDER.iter().position(|icon| *icon == part.icon)).collect();
            places.is_sorted()
                && places.iter().all(Option::is_some)
                && card.dose.iter().all(|part| !part.unit.is_empty())
        },
        "its dose is not in the one form",
        "write rounds, times, hold, slow return and rest, each with its unit",
    ));
    let bars =
        read.plan.iter().flat_map(|plan| &plan.findings).filter_map(|finding| Some((finding, finding.bar.as_ref()?)));
    for (finding, bar) in bars {
        for lane in bar.lanes.iter().filter(|lane| !lane.value.chars().any(|c| c.is_alphabetic() || c == '°')) {
            misses.push(miss(&finding.title, format!("“{}” has no unit", lane.value), "add the unit to layouts/words"));
        }
    }
    misses.into()
}

/// Totals are printed, and nothing is a share of something else.
pub(super) fn no_sums(read: &Read<'_>) -> Vec<Miss> {
    let mut misses = read.lints(&[Lint::Calculation]);
    misses.extend(read.each(|card| card.min > 0, "its minutes are not printed", "give its dose a time"));
    misses.extend(read.each(|card| !card.days_text.is_empty(), "its days are not in words", "name its days"));
    if let Some(plan) = read.plan.filter(|_| !read.exercises.is_empty()) {
        let printed = plan.minutes.iter().any(|minutes| *minutes > 0);
        misses.extend(need(printed, "your plan", "the minutes of the days are not printed", "print them"));
    }
    misses
}

fn chunks(read: &Read<'_>) -> Vec<Miss> {
    let limits = &read.with.plain.limits;
    let mut misses = read.lints(&[Lint::LongSentence, Lint::LongStep]);
    let mut paragraph = |place: &str, count: usize| {
        if count > limits.paragraph_words {
            let text = format!("a paragraph of {count} words, more than {}", limits.paragraph_words);
            misses.push(miss(place, text, "part it"));
        }
    };
    for passage in &read.passages {
        paragraph(&passage.place, passage.text.words().count());
    }
    if let Some(plan) = read.plan {
        let count = |texts: &[String]| texts.iter().map(|text| text::words(text).len()).sum();
        plan.findings.iter().for_each(|finding| paragraph(&finding.title, count(&finding.sentences)));
        paragraph("your plan", count(&plan.rounds));
        plan.safety.zones.iter().for_each(|zone| paragraph(&zone.head, count(&zone.act)));
    }
    let mut list = |place: String, items: usize, most: usize| {
        if items > most {
            misses.push(miss(place, format!("{items} items, more than {most}"), "part the list, or leave some out"));
        }
    };
    read.exercises.iter().for_each(|card| list(passages::card(card), card.steps.len(), limits.steps));
    if let Some(plan) = read.plan {
        plan.checks.rows.iter().for_each(|row| list(row.name.clone(), row.steps.len(), limits.steps));
        plan.safety
            .zones
            .iter()
            .for_each(|zone| list(zone.head.clone(), zone.items.len() + zone.for_you.len(), limits.list_items));
        list("stay safe".to_owned(), plan.safety.home.len(), limits.list_items);
    }
    if let Some(see) = read.see {
        list("why we ask".to_owned(), see.why.len(), limits.list_items);
    }
    misses
}

/// Every section's heading is there, and no two say the same.
pub(super) fn headings(read: &Read<'_>) -> Vec<Miss> {
    let mut heads: Vec<(&str, &str)> = match read.plan {
        None => vec![("the page", read.label("what_now")), ("the page", read.label("who_to_ask"))],
        Some(_) => vec![("found", read.label("found")), ("safety", read.label("safety"))],
    };
    if let Some(plan) = read.plan {
        if !read.exercises.is_empty() {
            heads.extend([("plan", read.label("plan")), ("diary", read.label("diary"))]);
        }
        if !plan.checks.rows.is_empty() {
            heads.push(("checks", read.label("check")));
        }
        heads.extend(plan.findings.iter().map(|finding| ("what we found", finding.title.as_str())));
        heads.extend(plan.phases.iter().map(|phase| ("a part", phase.name.as_str())));
        heads.extend(plan.checks.rows.iter().map(|row| ("a check", row.name.as_str())));
        heads.extend(plan.safety.zones.iter().map(|zone| ("stay safe", zone.head.as_str())));
    }
    let mut seen = BTreeSet::new();
    let cure = "give each section a heading of its own";
    let mut misses = Vec::new();
    for (place, head) in heads {
        if head.trim().is_empty() {
            misses.push(miss(place, "there is no heading", cure));
        } else if !seen.insert(head) {
            misses.push(miss(place, format!("“{head}” stands over two things"), cure));
        }
    }
    misses
}

fn order(read: &Read<'_>) -> Vec<Miss> {
    let Some(plan) = read.plan else {
        return need(
            read.see.is_some_and(|see| !see.act.is_empty()),
            "the page",
            "it does not start with what to do",
            "say it first",
        );
    };
    let numbered = read.exercises.iter().zip(1..).all(|(card, n)| card.n == n);
    let mut misses =
        need(numbered, "exercises", "they are not in the order of their numbers", "number them as they stand");
    let letters: Vec<&String> = plan.phases.iter().map(|phase| &phase.letter).collect();
    misses.extend(need(letters.is_sorted(), "exercises", "the parts are out of order", "letter them as they stand"));
    const URGENT_FIRST: [&str; 4] = ["stop", "call", "easier", "ok"];
    let zones: Vec<Option<usize>> =
        plan.safety.zones.iter().map(|zone| URGENT_FIRST.iter().position(|icon| *icon == zone.icon)).collect();
    misses.extend(need(zones.is_sorted(), "stay safe", "the most urgent signs do not stand first", "put them first"));
    misses
}

fn summary(read: &Read<'_>) -> Found {
    if read.see.is_some() {
        return Found::NotApplicable("the sheet is very short");
    }
    let main = !read.sheet.message.main.is_empty();
    let mut misses = need(main, "the top", "there is no main message", "write `main` in layouts/words");
    misses.extend(read.each(
        |card| !card.short.is_empty() && card.days.contains(&true),
        "it is not in the plan of the week",
        "give it a short name and days",
    ));
    misses.into()
}

fn cues(read: &Read<'_>) -> Vec<Miss> {
    let zones = match (read.plan, read.see) {
        (Some(plan), _) => read.exercises.is_empty() || plan.safety.zones.len() >= 2,
        (None, Some(see)) => see.urgent || see.zone.is_some(),
        (None, None) => false,
    };
    let mut misses = need(zones, "stay safe", "no sign stands in a frame of its own", "add the signs to stop for");
    misses.extend(need(!read.act().is_empty(), "the top", "nothing stands in the first box", "write the main message"));
    misses
}

fn pictures(read: &Read<'_>) -> Found {
    if read.exercises.is_empty() {
        return Found::NotApplicable("there is no exercise to show");
    }
    let mut misses = read.each(
        |card| !card.frames.is_empty(),
        "it has no picture",
        "add a file to exercises/poses, or `pictures` to the exercise",
    );
    let graphs = read
        .plan
        .iter()
        .flat_map(|plan| &plan.findings)
        .filter(|finding| finding.bar.is_none() && finding.grades.is_empty());
    misses.extend(graphs.map(|finding| miss(&finding.title, "no bar or word shows the reading", "print the reading")));
    misses.into()
}

fn own_pictures(read: &Read<'_>) -> Found {
    let mut seen: Vec<(&str, &str)> = Vec::new();
    let mut misses = Vec::new();
    for card in &read.exercises {
        for frame in &card.frames {
            if seen.iter().any(|(src, name)| *src == frame.src && *name != card.name) {
                misses.push(miss(
                    passages::card(card),
                    format!("`{}` also stands with another exercise", frame.src),
                    "give each its own picture",
                ));
            }
            seen.push((&frame.src, &card.name));
        }
    }
    if seen.is_empty() { Found::NotApplicable("there is no picture") } else { misses.into() }
}

fn captions(read: &Read<'_>) -> Found {
    let cards = read.exercises.iter().map(|card| (passages::card(card), card.frames.as_slice()));
    let checks =
        read.plan.iter().flat_map(|plan| &plan.checks.rows).map(|row| (row.name.clone(), row.frames.as_slice()));
    let findings = read.plan.iter().flat_map(|plan| &plan.findings);
    let tests = findings.map(|finding| (finding.title.clone(), finding.frames.as_slice()));
    let mut misses = Vec::new();
    let mut any = false;
    for (place, frames) in cards.chain(tests).chain(checks) {
        any |= !frames.is_empty();
        misses.extend(caption_faults(read, &place, frames));
    }
    for finding in read.plan.iter().flat_map(|plan| &plan.findings) {
        if let Some(bar) = &finding.bar {
            any = true;
            misses.extend(need(
                !bar.alt.is_empty(),
                &finding.title,
                "the bar has no words for a listener",
                "say what it shows",
            ));
        }
    }
    if any { misses.into() } else { Found::NotApplicable("there is no picture") }
}

/// What is wrong with the words of the pictures of one card.
fn caption_faults(read: &Read<'_>, place: &str, frames: &[Frame]) -> Vec<Miss> {
    let most = read.with.plain.limits.alt_words;
    let mut alts = BTreeSet::new();
    let mut misses = Vec::new();
    for frame in frames {
        let caption = frame.caption.as_deref().unwrap_or_default();
        let fault = if caption.is_empty() {
            "a picture has no caption"
        } else if frame.alt.is_empty() {
            "a picture has no words for a listener"
        } else if !alts.insert(&frame.alt) || frame.alt == caption {
            "two pictures have the same words"
        } else if text::words(&frame.alt).len() > most {
            "the words for a listener are too many"
        } else {
            continue;
        };
        misses.push(miss(place, format!("{fault}: `{}`", frame.src), "say what each picture shows, briefly"));
    }
    misses
}

fn labels_inside(read: &Read<'_>) -> Found {
    let most = read.with.plain.limits.picture_labels;
    let drawn: Vec<(&str, usize)> = read
        .exercises
        .iter()
        .flat_map(|card| card.frames.iter().map(|frame| (frame, card.name.as_str())))
        .filter_map(|(frame, name)| Some((name, frame.svg.as_ref()?.matches("<text").count() + frame.marks.len())))
        .collect();
    if drawn.is_empty() {
        return Found::Person;
    }
    let full = drawn.into_iter().filter(|(_, labels)| *labels > most);
    full.map(|(name, labels)| miss(name, format!("{labels} labels in one picture"), "leave some out"))
        .collect::<Vec<_>>()
        .into()
}

fn tables(read: &Read<'_>) -> Found {
    let limits = &read.with.plain.limits;
    let Some(plan) = read.plan.filter(|_| !read.exercises.is_empty()) else {
        return Found::NotApplicable("there is no table");
    };
    // The days of the week stand together as one column of the plan and of the diary.
    let days = read.sheet.labels["weekdays"].as_array().map_or(0, Vec::len);
    let mut misses = need(days == 7, "your plan", "the days have no heads", "name the seven days in layouts/words");
    let mut heads: Vec<(String, Vec<&str>)> = Vec::new();
    heads.extend(plan.checks.rows.iter().map(|row| {
        let columns = [read.label("check_date")].into_iter().chain(row.columns.iter().map(String::as_str)).collect();
        (row.name.clone(), columns)
    }));
    if !plan.safety.left_out.is_empty() {
        heads.push(("what we left out".to_owned(), vec![read.label("left_out_what"), read.label("left_out_why")]));
    }
    for (place, columns) in heads {
        for head in columns.iter().filter(|head| !(1..=limits.header_words).contains(&text::words(head).len())) {
            misses.push(miss(&place, format!("the head “{head}”"), "name the column in one to three words"));
        }
        misses.extend(need(columns.len() <= limits.table_columns, &place, "too many columns", "part the table"));
    }
    misses.into()
}

fn something_to_do(read: &Read<'_>) -> Vec<Miss> {
    let texts: Vec<String> = read.act().iter().cloned().chain([read.sheet.message.sub.clone()]).collect();
    need(read.has_order(&texts), "the top", "nothing tells the reader what to do", "start with a verb")
}

fn to_the_reader(read: &Read<'_>) -> Vec<Miss> {
    read.lints(&[Lint::ThirdPerson])
}

fn steps(read: &Read<'_>) -> Found {
    if read.exercises.is_empty() {
        return Found::NotApplicable("there is no exercise to part into steps");
    }
    let mut misses = read.each(|card| card.steps.len() >= 2, "it has no steps", "write at least two steps");
    misses.extend(read.lints(&[Lint::TwoActions]));
    misses.into()
}

fn tool(read: &Read<'_>) -> Found {
    if read.exercises.is_empty() {
        return Found::NotApplicable("there is nothing to keep track of");
    }
    let diary = read.plan.and_then(|plan| plan.diary.as_ref());
    let usable = diary.is_some_and(|diary| !diary.weeks.is_empty() && !diary.lead.is_empty());
    need(usable, "your diary", "there is no diary to fill in", "give the program a first day").into()
}

fn how_to_read(read: &Read<'_>) -> Found {
    let Some(plan) = read.plan else {
        return Found::NotApplicable("there is no chart and no table");
    };
    let bars = plan.findings.iter().any(|finding| finding.bar.is_some());
    if !bars && read.exercises.is_empty() {
        return Found::NotApplicable("there is no chart and no table");
    }
    let mut misses = Vec::new();
    if bars {
        let key = ["how_to_read", "now", "usual", "noise"].iter().all(|key| !read.label(key).is_empty());
        misses.extend(need(key, "what we found", "the bars have no key", "write its labels in layouts/words"));
    }
    if !read.exercises.is_empty() {
        misses.extend(need(!plan.rounds.is_empty(), "your plan", "the doses are not explained", "explain a round"));
        let diary = plan.diary.as_ref().is_some_and(|diary| !diary.lead.is_empty());
        misses.extend(need(diary, "your diary", "how to fill it in is not said", "write `diary_lead`"));
    }
    let checks = plan.checks.rows.is_empty() || !plan.checks.lead.is_empty();
    misses.extend(need(checks, "check yourself at home", "how to go about it is not said", "write `check_lead`"));
    misses.into()
}

fn start_and_end(read: &Read<'_>) -> Found {
    if read.exercises.is_empty() {
        return Found::NotApplicable("there is no move");
    }
    let moving = |card: &crate::word::handout::Exercise| card.dose.iter().any(|part| part.icon == "times");
    read.each(|card| !moving(card) || card.frames.len() >= 2, "no picture of its start or its end", "show both").into()
}
