//! `kinleaf explain`: the coach's record as text, at most 80 columns wide.

use std::fmt::Write as _;

use super::args::{Common, Explain};
use super::{ALL_WELL, SOME_FAILED, UNUSABLE, show};
use crate::pipeline::explain;
use crate::word::record::{NeedRow, ProgramPart, Record, TestRow};

pub fn run(common: &Common, command: &Explain) -> u8 {
    match explain(&common.practice, &command.client, command.visit, common.today()) {
        Ok((record, problems)) => {
            let failed = record.is_none();
            let code = if failed { SOME_FAILED } else { ALL_WELL };
            show::explained(record.as_deref(), &problems, common.json, code, text);
            code
        }
        Err(problems) => {
            show::unusable(&problems, common.json, UNUSABLE);
            UNUSABLE
        }
    }
}

/// Widest line.
const WIDE: usize = 80;

/// Breaks a text into lines; the second and later ones are set in by `indent`.
fn wrap(out: &mut String, first: &str, indent: usize, text: &str) {
    let mut line = first.to_owned();
    let mut fresh = true;
    for word in text.split_whitespace() {
        let gap = usize::from(!fresh && !line.ends_with(' '));
        if !fresh && line.chars().count() + gap + word.chars().count() > WIDE {
            let _ = writeln!(out, "{}", line.trim_end());
            line = " ".repeat(indent);
        } else if gap == 1 {
            line.push(' ');
        }
        line.push_str(word);
        fresh = false;
    }
    let _ = writeln!(out, "{}", line.trim_end());
}

fn heading(out: &mut String, text: &str) {
    let _ = write!(out, "\n{text}\n{}\n", "-".repeat(text.chars().count()));
}

/// Ten marks for a share of 0 to 1.
fn bar(share: f64) -> String {
    let full = (share.clamp(0.0, 1.0) * 10.0).round() as usize;
    format!("{}{}", "#".repeat(full), ".".repeat(10 - full))
}

/// The whole record.
pub fn text(record: &Record) -> String {
    let mut out = String::new();
    let head = &record.head;
    let age = head.age.map_or_else(String::new, |age| format!(", {age}"));
    wrap(&mut out, "", 2, &format!("{}{age}. Visit of {}, {}.", head.name, head.date, head.coach));
    for goal in &head.goals {
        wrap(&mut out, "Goal: ", 2, goal);
    }
    wrap(&mut out, "Time: ", 2, &format!("{} min a day, {}", head.minutes, head.days));
    for limit in &head.limits {
        wrap(&mut out, "", 2, limit);
    }
    heading(&mut out, "Safety");
    wrap(&mut out, "", 2, &record.safety.gate);
    for rule in &record.safety.rules {
        let lifted = rule.lifted.as_ref().map_or_else(String::new, |lifted| format!(" [{lifted}]"));
        wrap(&mut out, &format!("  {}: ", rule.level), 4, &format!("{}{lifted}", rule.why));
    }
    for place in &record.safety.places {
        wrap(&mut out, "  ", 4, place);
    }
    if !record.tests.is_empty() {
        heading(&mut out, "Tests");
        record.tests.iter().for_each(|row| test(&mut out, row));
    }
    if !record.needs.is_empty() {
        heading(&mut out, "Needs, and how much of each the program covers");
        record.needs.iter().for_each(|row| need(&mut out, row));
    }
    if let Some(part) = &record.program {
        program(&mut out, part);
    }
    out
}

fn test(out: &mut String, row: &TestRow) {
    let values = match &row.right {
        Some(right) => format!("left {}, right {right}", row.left),
        None => row.left.clone(),
    };
    let before = row.before.as_ref().map_or_else(String::new, |before| format!("; before {before}"));
    wrap(out, "", 2, &format!("{}: {values}{before}. {}.", row.test, row.verdict));
    wrap(out, "  ", 4, &format!("Usual {}; a change counts from {}.", row.usual, row.error));
    for sign in &row.signs {
        wrap(out, "  Seen: ", 4, sign);
    }
}

fn need(out: &mut String, row: &NeedRow) {
    let share = (row.covered * 100.0).round();
    wrap(
        out,
        &format!("{} {:.2}  ", bar(row.weight), row.weight),
        17,
        &format!("{}, {}: {share} % covered", row.what, row.state),
    );
    for evidence in &row.evidence {
        let sign = if evidence.against { "against" } else { "for" };
        wrap(out, &" ".repeat(17), 19, &format!("{sign} {:.2}: {}", evidence.weight, evidence.what));
    }
    if let Some(unmet) = &row.unmet {
        wrap(out, &" ".repeat(17), 19, &format!("Not met; {unmet}."));
    }
}

fn program(out: &mut String, part: &ProgramPart) {
    heading(out, "Program");
    wrap(out, "", 2, &part.chosen);
    let (used, given) = part.minutes;
    wrap(out, "", 2, &format!("{used} min on the fullest day, of {given}. Test again on {}.", part.retest));
    for row in &part.rows {
        let side = if row.side == "both" { String::new() } else { format!(", {}", row.side) };
        wrap(out, "", 3, &format!("{}. {}{side} ({}, gain {:.2})", row.n, row.exercise, row.phase, row.gain));
        wrap(out, "   ", 5, &format!("{}: {}; {} days, {} min", row.rung, row.dose, row.days, row.minutes));
        if !row.works_on.is_empty() {
            wrap(out, "   For: ", 5, &row.works_on);
        }
        for why in &row.why {
            wrap(out, "   Why: ", 5, why);
        }
        for caution in &row.cautions {
            wrap(out, "   Caution: ", 5, caution);
        }
    }
    for waits in &part.waits {
        wrap(out, "", 2, waits);
    }
    for stretch in &part.stretch {
        wrap(out, "Stretch a week: ", 2, &format!("{}, {} s: {}.", stretch.what, stretch.seconds, stretch.note));
    }
    if !part.near.is_empty() {
        heading(out, "Nearly in");
        for near in &part.near {
            wrap(out, "", 2, &format!("{} (would add {:.2}): {}", near.exercise, near.gain, near.why));
        }
    }
    if !part.barred.is_empty() {
        heading(out, "Not for this client");
        for barred in &part.barred {
            wrap(out, "", 2, &format!("{}: {}", barred.exercise, barred.why));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_wider_than_a_terminal() {
        let mut out = String::new();
        wrap(&mut out, "  Why: ", 4, &"a short word and another ".repeat(20));
        assert!(out.lines().all(|line| line.chars().count() <= WIDE), "{out}");
        assert!(out.lines().skip(1).all(|line| line.starts_with("    ")));
    }

    #[test]
    fn a_bar_has_ten_marks() {
        assert_eq!(bar(0.0), "..........");
        assert_eq!(bar(0.26), "###.......");
        assert_eq!(bar(1.0), "##########");
    }
}
