//! A last look before a sheet is published: do its parts say the same? Minutes against doses, counts against the table,
//! days, references, left and right, pictures, bars, cautions and the pain scale.
//!
//! It reads the finished sheet as a client would, with arithmetic of its own: what the planner thought is not asked.

mod papers;

use std::collections::BTreeSet;

use crate::word::handout::{Bar, Body, Check, Exercise, Finding, Handout, Plan};

pub use papers::contradictions_of_paper;

/// What two parts of a sheet may disagree about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Minutes and the dose.
    Minutes,
    /// Days of the week.
    Days,
    /// Numbers in the main message and the table.
    Count,
    /// Exercises named elsewhere.
    Reference,
    /// Cautions of one exercise.
    Caution,
    /// Left and right in words.
    Side,
    /// Pictures and the side that they show.
    Picture,
    /// Bars, their dots and their words.
    Bar,
    /// The pain scale.
    Pain,
    /// Dates.
    Date,
}

/// Two parts of a sheet that say different things.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Contradiction {
    /// About what.
    pub kind: Kind,
    /// Where, and what is said.
    pub what: String,
}

/// Seconds to get ready for an exercise, as the sheet counts them (trade-figures 5.8 gives 20 to 30).
const READY_S: u32 = 25;

/// Every contradiction of a sheet.
pub fn contradictions(sheet: &Handout) -> Vec<Contradiction> {
    let mut reader = Reader { sheet, found: Vec::new() };
    if let Body::Plan(plan) = &sheet.body {
        reader.plan(plan);
    }
    reader.found
}

struct Reader<'a> {
    sheet: &'a Handout,
    found: Vec<Contradiction>,
}

impl Reader<'_> {
    fn say(&mut self, kind: Kind, what: String) {
        self.found.push(Contradiction { kind, what });
    }

    fn expect(&mut self, holds: bool, kind: Kind, what: impl FnOnce() -> String) {
        if !holds {
            self.say(kind, what());
        }
    }

    fn label(&self, key: &str) -> String {
        self.sheet.labels[key].as_str().unwrap_or_default().to_lowercase()
    }

    /// The short names of the weekdays, from Monday.
    fn weekdays(&self) -> Vec<String> {
        let names = self.sheet.labels["weekdays"].as_array();
        names.map_or_else(Vec::new, |names| {
            names.iter().filter_map(|name| name.as_str()).map(ToOwned::to_owned).collect()
        })
    }

    fn plan(&mut self, plan: &Plan) {
        let exercises: Vec<&Exercise> = plan.phases.iter().flat_map(|phase| &phase.exercises).collect();
        for exercise in &exercises {
            self.minutes(exercise);
            self.days(exercise);
            self.sides(exercise);
        }
        self.week(plan, &exercises);
        self.headline(plan, &exercises);
        self.numbering(plan, &exercises);
        self.cautions(&exercises);
        for finding in &plan.findings {
            self.finding(finding, &exercises);
        }
        for check in &plan.checks.rows {
            self.check(check, plan);
        }
        self.pain(plan, &exercises);
        self.dates(plan);
    }

    /// The minutes on a card against its own dose.
    fn minutes(&mut self, exercise: &Exercise) {
        let part = |icon: &str| exercise.dose.iter().find(|part| part.icon == icon).map(|part| part.n);
        let rounds = part("rounds").unwrap_or(0);
        let turns = if exercise.side == "each" { 2 } else { 1 };
        let round = match (part("times"), exercise.each_s) {
            (Some(times), Some(each)) => times * each,
            _ => part("hold").unwrap_or(0),
        };
        let seconds = rounds * round * turns + rounds.saturating_sub(1) * part("rest").unwrap_or(0) + READY_S;
        let fits = seconds.abs_diff(exercise.min * 60) < 60;
        self.expect(fits, Kind::Minutes, || {
            format!(
                "exercise {} takes {seconds} seconds by its dose, and its card says {} min",
                exercise.n, exercise.min
            )
        });
        let least = part("hold").unwrap_or(0) + part("slow").unwrap_or(0);
        self.expect(exercise.each_s.is_none_or(|each| each >= least), Kind::Minutes, || {
            format!("exercise {}: each time takes less than its hold and its way down", exercise.n)
        });
        let said = numbers(&exercise.effort);
        self.expect(exercise.each_s.is_none_or(|each| said.contains(&each)), Kind::Minutes, || {
            format!("exercise {}: “{}” does not give the seconds of each time", exercise.n, exercise.effort)
        });
    }

    /// The days in words against the filled days.
    fn days(&mut self, exercise: &Exercise) {
        let on = exercise.days.iter().filter(|day| **day).count();
        let wrong = self.weekdays().iter().zip(exercise.days).any(|(name, filled)| {
            let named = exercise.days_text.contains(name.as_str());
            // Every day but one names the one that is off.
            match on {
                7 => named,
                6 => named == filled,
                _ => named != filled,
            }
        });
        self.expect(on > 0 && !wrong, Kind::Days, || {
            format!("exercise {} is filled in on {on} days, and its card says “{}”", exercise.n, exercise.days_text)
        });
    }

    /// Minutes of each day against the exercises of that day.
    fn week(&mut self, plan: &Plan, exercises: &[&Exercise]) {
        let weekdays = self.weekdays();
        for (day, minutes) in plan.minutes.iter().enumerate() {
            let sum: u32 = exercises.iter().filter(|exercise| exercise.days[day]).map(|exercise| exercise.min).sum();
            self.expect(sum == *minutes, Kind::Minutes, || {
                let name = weekdays.get(day).map_or("a day", String::as_str);
                format!("{name} says {minutes} minutes, and its exercises add up to {sum}")
            });
        }
    }

    /// The main message against the table.
    fn headline(&mut self, plan: &Plan, exercises: &[&Exercise]) {
        let message = &self.sheet.message;
        let first = message.main.first().cloned().unwrap_or_default();
        let count = exercises.len() as u32;
        let said = numbers(&first);
        let fits = if said.is_empty() { count <= 1 } else { said == [count] };
        self.expect(fits, Kind::Count, || format!("“{first}”, and the plan has {count}"));
        let busy: BTreeSet<u32> = plan.minutes.iter().copied().filter(|minutes| *minutes > 0).collect();
        let ends: BTreeSet<u32> = [busy.first(), busy.last()].into_iter().flatten().copied().collect();
        let sub = message.sub.clone();
        let said: BTreeSet<u32> = numbers(&sub).into_iter().collect();
        self.expect(said == ends, Kind::Count, || format!("“{sub}”, and the days take {busy:?} minutes"));
    }

    fn numbering(&mut self, plan: &Plan, exercises: &[&Exercise]) {
        let fits = exercises.iter().zip(1..).all(|(exercise, n)| exercise.n == n);
        self.expect(fits, Kind::Reference, || {
            "the exercises are not numbered 1, 2, 3 in the order of the pages".to_owned()
        });
        for [name, why] in &plan.safety.left_out {
            let both = exercises.iter().any(|exercise| exercise.name == *name);
            self.expect(!both, Kind::Reference, || format!("“{name}” is in the plan and left out at once (“{why}”)"));
        }
    }

    /// One exercise on two cards, once for each side, carries the same cautions on both.
    fn cautions(&mut self, exercises: &[&Exercise]) {
        for (i, one) in exercises.iter().enumerate() {
            for other in exercises[..i].iter().filter(|other| other.name == one.name) {
                let same = one.cautions.len() == other.cautions.len() && one.for_you.len() == other.for_you.len();
                self.expect(same, Kind::Caution, || {
                    format!("exercises {} and {} are the same one, and do not warn of the same", other.n, one.n)
                });
            }
        }
    }

    /// Left and right in the words, and in the names of the pictures.
    fn sides(&mut self, exercise: &Exercise) {
        let (own, other) = match exercise.side {
            "left" => (self.label("left"), self.label("right")),
            "right" => (self.label("right"), self.label("left")),
            _ => return self.both_sides(exercise),
        };
        let texts = exercise.steps.iter().chain([&exercise.start, &exercise.version, &exercise.feel]);
        let words: Vec<String> = texts.flat_map(|text| words(text)).collect();
        let wrong = names(&words, &other) && !names(&words, &own);
        self.expect(!wrong, Kind::Side, || {
            format!("exercise {} is for the {own} side, and its words name the {other} side alone", exercise.n)
        });
        let turned = match exercise.side {
            "left" => "-right-",
            _ => "-left-",
        };
        for frame in &exercise.frames {
            self.expect(!frame.src.contains(turned), Kind::Picture, || {
                format!("exercise {} is for the {own} side, and its picture `{}` is not", exercise.n, frame.src)
            });
        }
    }

    fn both_sides(&mut self, exercise: &Exercise) {
        let each = exercise.side == "each";
        self.expect(each == exercise.side_note.is_some(), Kind::Side, || {
            format!("exercise {}: what to do about the second side does not go with “{}”", exercise.n, exercise.side)
        });
    }

    fn finding(&mut self, finding: &Finding, exercises: &[&Exercise]) {
        for n in &finding.works_on {
            self.expect(exercises.iter().any(|exercise| exercise.n == *n), Kind::Reference, || {
                format!("“{}” names exercise {n}, which is not in the plan", finding.title)
            });
        }
        if !finding.works_on.is_empty() {
            let last = finding.sentences.last().cloned().unwrap_or_default();
            self.expect(numbers(&last) == finding.works_on, Kind::Reference, || {
                format!("“{last}” does not name exercises {:?}", finding.works_on)
            });
        }
        let Some(bar) = &finding.bar else {
            return;
        };
        let (left, right) = (self.label("left"), self.label("right"));
        let title = words(&finding.title);
        let named: Vec<&String> = [&left, &right].into_iter().filter(|side| names(&title, side)).collect();
        if let [side] = named.as_slice() {
            let marked: Vec<String> =
                bar.lanes.iter().filter(|lane| lane.focus).map(|lane| lane.label.to_lowercase()).collect();
            self.expect(marked == [(*side).clone()], Kind::Side, || {
                format!("“{}” names one side, and the bars mark {marked:?}", finding.title)
            });
        }
        self.bar(&finding.title, bar);
    }

    /// Dots against values, and both against the words for a listener.
    fn bar(&mut self, title: &str, bar: &Bar) {
        for lane in &bar.lanes {
            let value = number(&lane.value);
            let fits = value.is_some_and(|value| (value.clamp(bar.min, bar.max) - lane.at).abs() < 0.005);
            self.expect(fits, Kind::Bar, || {
                format!("“{title}”: the dot stands at {}, and its value is {}", lane.at, lane.value)
            });
            let told = bar.alt.contains(&lane.value) && bar.alt.contains(&lane.band);
            self.expect(told, Kind::Bar, || {
                format!("“{title}”: a listener is not told {} ({})", lane.value, lane.band)
            });
        }
        let labels: Vec<String> = bar.lanes.iter().map(|lane| lane.label.to_lowercase()).collect();
        let order = labels.len() < 2 || labels == [self.label("left"), self.label("right")];
        self.expect(order, Kind::Bar, || format!("“{title}”: the bars are not left and then right"));
    }

    /// A home check against the reading that it starts from.
    fn check(&mut self, check: &Check, plan: &Plan) {
        if let [first, second] = check.columns.as_slice() {
            let sides = [self.label("left"), self.label("right")];
            let fits = [first, second].into_iter().zip(&sides).all(|(column, side)| names(&words(column), side));
            self.expect(fits, Kind::Side, || format!("“{}”: the columns are not left and then right", check.name));
        }
        let start: Vec<Option<f64>> = check.start.iter().map(|value| number(value)).collect();
        let same = |bar: &Bar| bar.lanes.iter().map(|lane| number(&lane.value)).collect::<Vec<_>>() == start;
        let whole = !check.unit.is_empty() && start.iter().all(Option::is_some);
        let known = plan.findings.iter().filter_map(|finding| finding.bar.as_ref()).any(same);
        self.expect(!whole || known, Kind::Bar, || {
            format!("“{}” starts from {:?}, which no reading on the sheet is", check.name, check.start)
        });
    }

    /// One pain scale everywhere.
    fn pain(&mut self, plan: &Plan, exercises: &[&Exercise]) {
        let [fine, ease, stop] = plan.pain.as_slice() else {
            return self.expect(plan.pain.is_empty() && exercises.is_empty(), Kind::Pain, || {
                "the pain scale does not have its three bands".to_owned()
            });
        };
        let joined = fine.from == 0 && fine.to + 1 == ease.from && ease.to + 1 == stop.from && stop.to == 10;
        self.expect(joined, Kind::Pain, || "the bands of the pain scale do not join from 0 to 10".to_owned());
        for zone in &plan.safety.zones {
            let allowed: &[u32] = match zone.icon {
                "ok" => &[fine.to],
                "easier" => &[ease.from, ease.to],
                _ => &[ease.to],
            };
            zone.items.iter().chain(&zone.for_you).for_each(|text| self.threshold(text, allowed));
        }
        let steps_up = exercises.iter().map(|exercise| &exercise.harder[0]).filter(|text| !numbers(text).is_empty());
        for text in steps_up {
            self.expect(numbers(text) == [fine.to], Kind::Pain, || format!("“{text}” is not the pain of {}", fine.to));
        }
        let checks = &plan.checks;
        for text in checks.lead.iter().chain(checks.rows.iter().map(|row| &row.note)) {
            self.threshold(text, &[fine.to]);
        }
        for text in exercises.iter().flat_map(|exercise| exercise.cautions.iter().chain(&exercise.for_you)) {
            self.threshold(text, &[fine.to, ease.to]);
        }
    }

    /// A text that speaks of so much out of 10 must name one of the bands' own numbers.
    fn threshold(&mut self, text: &str, allowed: &[u32]) {
        for sentence in text.split(['.', ';']) {
            let said = numbers(sentence);
            let Some((10, levels)) = said.split_last() else {
                continue;
            };
            self.expect(levels.iter().all(|level| allowed.contains(level)), Kind::Pain, || {
                format!("“{}” is not where the pain scale draws its line ({allowed:?})", sentence.trim())
            });
        }
    }

    fn dates(&mut self, plan: &Plan) {
        if let Some(first) = &plan.dates.first {
            let said = self.sheet.message.main.iter().any(|line| line.contains(first.as_str()));
            self.expect(said, Kind::Date, || format!("the first day is {first}, and the main message does not say so"));
        }
        let days = plan.checks.days.len().saturating_sub(1);
        let with_rows = !plan.checks.rows.is_empty();
        self.expect(!with_rows || days == plan.dates.checks.len(), Kind::Date, || {
            format!("there are {} check days, and {days} rows to fill in", plan.dates.checks.len())
        });
        let Some(diary) = &plan.diary else {
            return;
        };
        let weekdays = self.weekdays();
        let weeks: Vec<&String> = diary.weeks.iter().filter_map(|week| weekdays.get(week.check?)).collect();
        for (day, week) in plan.checks.days.iter().skip(1).zip(&weeks) {
            self.expect(day.contains(week.as_str()), Kind::Date, || {
                format!("the check day {day} stands under {week} in the diary")
            });
        }
        let fits = diary.weeks.iter().zip(1..).all(|(week, n)| week.n == n) && weeks.len() <= plan.dates.checks.len();
        self.expect(fits, Kind::Date, || "the weeks of the diary do not count up, or hold more check days".to_owned());
    }
}

/// The whole numbers of a text.
fn numbers(text: &str) -> Vec<u32> {
    text.split(|c: char| !c.is_ascii_digit()).filter_map(|digits| digits.parse().ok()).collect()
}

/// The number that a value starts with, whatever sign stands for minus and for the decimal point.
fn number(text: &str) -> Option<f64> {
    let text = text.replace('\u{2212}', "-").replace(',', ".");
    let end = text.find(|c: char| !(c.is_ascii_digit() || "-.".contains(c))).unwrap_or(text.len());
    text[..end].parse().ok()
}

fn words(text: &str) -> Vec<String> {
    text.split(|c: char| !c.is_alphabetic()).filter(|word| !word.is_empty()).map(str::to_lowercase).collect()
}

/// Whether a side is named, whatever ending its word has in the sentence.
fn names(words: &[String], side: &str) -> bool {
    let stem = if side.chars().count() > 5 { &side[..side.len() - 1] } else { side };
    words.iter().any(|word| word.starts_with(stem))
}

#[cfg(test)]
mod tests;
