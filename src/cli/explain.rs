//! `kinleaf explain`: the coach's record as text, at most 80 columns wide.

use std::fmt::Write as _;

use super::args::{Common, Explain};
use super::{ALL_WELL, SOME_FAILED, UNUSABLE, show};
use crate::pipeline::explain;
use crate::word::record::{NeedRow, ProgramRow, Record, Safety, TestPart};

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
    wrap(&mut out, "", 2, &record.head.title);
    for fact in &record.head.facts {
        wrap(&mut out, &format!("{}: ", fact.label), 2, &fact.value);
    }
    for goal in &record.head.goals {
        wrap(&mut out, "Goal: ", 2, goal);
    }
    safety(&mut out, &record.safety);
    if !record.tests.is_empty() {
        heading(&mut out, "Tests");
        record.tests.iter().for_each(|part| test(&mut out, part));
    }
    if let Some(part) = &record.retest {
        heading(&mut out, "What changed, and what becomes of each exercise");
        part.notes.iter().for_each(|note| wrap(&mut out, "", 2, note));
        for line in &part.changes {
            let whole =
                if line.whole == "\u{2013}" { String::new() } else { format!("; since the first {}", line.whole) };
            wrap(&mut out, "", 2, &format!("{}: {}; {}{whole}", line.name, line.values, line.last));
        }
        for line in &part.decisions {
            wrap(&mut out, "", 2, &format!("{}: {}", line.name, line.went));
            wrap(&mut out, "  Rules: ", 4, &line.advice);
            wrap(&mut out, "  Decided: ", 4, &line.decision);
        }
    }
    if !record.needs.is_empty() {
        heading(&mut out, "Needs, and how much of each the program covers");
        record.needs.iter().for_each(|row| need(&mut out, row));
    }
    if let Some(chosen) = &record.chosen {
        heading(&mut out, "Program");
        wrap(&mut out, "", 2, chosen);
    }
    if let Some(minutes) = &record.minutes {
        wrap(&mut out, "Minutes: ", 2, &minutes.words);
    }
    record.program.iter().for_each(|row| program(&mut out, row));
    for row in &record.stretch {
        let warning = row.warning.as_ref().map_or_else(String::new, |warning| format!(": {warning}"));
        wrap(&mut out, "Stretch: ", 2, &format!("{} ({}) {} a week{warning}", row.structure, row.side, row.total));
    }
    for note in &record.notes {
        wrap(&mut out, "", 2, note);
    }
    if !record.unmet.is_empty() {
        heading(&mut out, "Needs not met");
        for row in &record.unmet {
            wrap(&mut out, "", 2, &format!("{}: {}. Would help: {}.", row.need, row.why, row.unlock));
        }
    }
    if !record.near_misses.is_empty() {
        heading(&mut out, "Nearly in");
        for row in &record.near_misses {
            wrap(&mut out, "", 2, &format!("{}. {}", row.name, row.reason));
        }
    }
    if !record.left_out.is_empty() {
        heading(&mut out, "Not for this client");
        for row in &record.left_out {
            wrap(&mut out, "", 2, &format!("{} ({}): {}", row.reason, row.rule, row.name));
        }
    }
    out
}

fn safety(out: &mut String, safety: &Safety) {
    heading(out, "Safety");
    wrap(out, "", 2, format!("{}. {}", safety.gate.word, safety.gate.why).trim_end());
    for rule in &safety.rules {
        wrap(out, &format!("  {}: ", rule.level), 4, &format!("{}. {}", rule.code, rule.reason));
    }
    for over in &safety.overrides {
        wrap(out, "  Set aside: ", 4, &format!("{} by {} on {}: {}", over.rule, over.who, over.when, over.why));
    }
    let lists = [("Cleared: ", &safety.clearances), ("Not answered: ", &safety.missing), ("Pain: ", &safety.pain)];
    for (head, list) in lists.into_iter().filter(|(_, list)| !list.is_empty()) {
        wrap(out, &format!("  {head}"), 4, &list.join("; "));
    }
}

fn test(out: &mut String, part: &TestPart) {
    wrap(out, "", 2, &format!("{} (usual {}, error {})", part.name, part.reference, part.error));
    for lane in &part.lanes {
        let side = if lane.side.is_empty() { String::new() } else { format!("{} ", lane.side) };
        let change = if lane.before == "\u{2013}" {
            String::new()
        } else {
            format!("; last {}, change {}", lane.before, lane.change)
        };
        wrap(out, "  ", 4, &format!("{side}{}: {}{change}", lane.now, lane.verdict));
    }
    for sign in &part.signs {
        wrap(out, "  Seen: ", 4, sign);
    }
}

fn need(out: &mut String, row: &NeedRow) {
    let side = if row.side.is_empty() { String::new() } else { format!("{} ", row.side) };
    wrap(
        out,
        &format!("{}  ", bar(row.weight)),
        12,
        &format!("{side}{}, {}: {}", row.structure, row.state, row.weight_text),
    );
    for evidence in row.speaks_for.iter().chain(&row.against) {
        wrap(out, &" ".repeat(12), 18, &format!("{} {}", evidence.weight, evidence.text));
    }
}

fn program(out: &mut String, row: &ProgramRow) {
    wrap(
        out,
        "",
        3,
        &format!("{}. {}, {}. {}. Gain {}.", row.n, row.name, row.side.to_lowercase(), row.rung, row.gain),
    );
    wrap(out, "   ", 5, &format!("{}; {}; {} min", row.dose, row.days, row.minutes));
    wrap(out, "   For: ", 5, &row.why);
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
