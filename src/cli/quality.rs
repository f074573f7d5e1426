//! The table of the quality gate: a line a sheet, then what a person must judge.

use std::fmt::Write;

use crate::quality::{Instrument, Outcome, Report};

/// Widest line.
const WIDTH: usize = 80;

/// The table for some sheets, each with its name.
pub fn table<'a>(sheets: impl IntoIterator<Item = (&'a str, &'a Report)>) -> String {
    let sheets: Vec<(&str, &Report)> = sheets.into_iter().collect();
    let mut text = String::new();
    if sheets.is_empty() {
        return text;
    }
    let name = |name: &str| -> String { name.chars().take(26).collect() };
    let _ = writeln!(
        text,
        "{:<26}  {:>7}  {:>6}  {:>5}  {:>7}  {:>5}  {:>6}  {:>3}",
        "sheet", "underst", "action", "CDC", "CERT", "gate", "reads", "miss"
    );
    for (client, report) in &sheets {
        let percent = |instrument| format!("{} %", report.points(instrument).percent());
        let points = |instrument| {
            let points = report.points(instrument);
            format!("{}/{}", points.met, points.of)
        };
        let reads = report.sections.first().map_or_else(|| "-".to_owned(), |whole| format!("{:.1}", whole.value));
        let line = format!(
            "{:<26}  {:>7}  {:>6}  {:>5}  {:>7}  {:>5}  {:>6}  {:>3}",
            name(client),
            percent(Instrument::Understandability),
            percent(Instrument::Actionability),
            percent(Instrument::Cdc),
            points(Instrument::Cert),
            points(Instrument::Gate),
            reads,
            report.misses().count()
        );
        let _ = writeln!(text, "{}", line.trim_end());
    }
    let formulas: std::collections::BTreeSet<&str> = sheets.iter().map(|(_, report)| report.formula).collect();
    let formulas: Vec<&str> = formulas.into_iter().collect();
    let _ = writeln!(text, "reads: {}, of the whole sheet. Items are counted where they apply", formulas.join(", "));
    let _ = writeln!(text, "and can be measured; what a person must judge is in the coach's record.");
    for (client, report) in &sheets {
        for item in &report.items {
            if let Outcome::Miss(misses) = &item.outcome {
                for miss in misses {
                    let line =
                        format!("{client}: {} {}: {}: {}", item.instrument.name(), item.id, miss.place, miss.text);
                    text.push_str(&wrapped(&line));
                }
            }
        }
    }
    text
}

/// A long line parted at words, the rest set in.
fn wrapped(line: &str) -> String {
    let mut text = String::new();
    let mut width = 0;
    for word in line.split(' ') {
        let length = word.chars().count();
        if width > 0 && width + 1 + length > WIDTH {
            text.push_str("\n  ");
            width = 2;
        } else if width > 0 {
            text.push(' ');
            width += 1;
        }
        text.push_str(word);
        width += length;
    }
    text.push('\n');
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_line_is_parted_at_words() {
        let text = wrapped(&"word ".repeat(40));
        assert!(text.lines().all(|line| line.chars().count() <= WIDTH) && text.lines().count() > 2, "{text}");
    }
}
