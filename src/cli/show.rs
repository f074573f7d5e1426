//! What a person, or a machine, reads at the end of a run. Problems go to standard error, the table to standard output.

use std::collections::BTreeSet;
use std::io::Write;
use std::path::Path;

use serde::Serialize;

use crate::coverage::{Coverage, Gap};
use crate::diag::{Problem, Severity};
use crate::pipeline::{Bound, Made, Outcome, State};
use crate::quality::Report;
use crate::word::record::Record;

/// Writes to a stream whose reader may have gone; that is no reason to fail.
fn say(mut to: impl Write, text: &str) {
    let _ = writeln!(to, "{text}");
}

fn problems(problems: &[Problem]) {
    for problem in problems {
        say(std::io::stderr(), &format!("{problem}\n"));
    }
}

fn json(value: &serde_json::Value) {
    say(std::io::stdout(), &format!("{value:#}"));
}

fn problems_json(problems: &[Problem]) -> serde_json::Value {
    problems.iter().map(Problem::to_json).collect()
}

/// After `print`.
pub fn outcome(outcome: &Outcome, out: &Path, as_json: bool, code: u8) {
    if as_json {
        json(
            &serde_json::json!({ "exit": code, "documents": outcome.made, "problems": problems_json(&outcome.problems) }),
        );
        return;
    }
    problems(&outcome.problems);
    let rows: Vec<[String; 6]> =
        outcome.made.iter().filter(|made| !matches!(made.state, State::NotDue | State::NotNeeded)).map(row).collect();
    if !rows.is_empty() {
        table(["client", "document", "sheet", "pages", "size", "state"], &rows);
    }
    let measured = outcome.made.iter().filter_map(|made| Some((made.client.as_str(), made.quality.as_deref()?)));
    let measured = super::quality::table(measured);
    if !measured.is_empty() {
        say(std::io::stdout(), measured.trim_end());
    }
    for made in outcome.made.iter().filter(|made| !made.differs.is_empty()) {
        let sheet = made.sheet.map_or_else(String::new, |sheet| format!(" sheet {sheet}"));
        say(std::io::stdout(), &format!("{}{sheet} differs from the one before:", made.client));
        made.differs.iter().for_each(|line| say(std::io::stdout(), &format!("  {line}")));
    }
    // Said once for each: a coach who asked for a paper is told why there is none.
    for (made, why) in outcome.made.iter().filter_map(|made| Some((made, made.why?))) {
        say(std::io::stdout(), &format!("No {} for {}: {why}.", made.document, made.client));
    }
    let count = |state: State| outcome.made.iter().filter(|made| made.state == state).count();
    let made = count(State::New) + count(State::Remade);
    let summary = match (made, count(State::Failed)) {
        (0, 0) => "Nothing is due.".to_owned(),
        (_, 0) => format!("{made} made in {}.", out.display()),
        (_, failed) => format!("{made} made in {}, {failed} not made: see above.", out.display()),
    };
    say(std::io::stdout(), &summary);
}

fn row(made: &Made) -> [String; 6] {
    let dash = || "-".to_owned();
    [
        made.client.clone(),
        made.document.to_owned(),
        made.sheet.map_or_else(dash, |sheet| sheet.to_string()),
        made.pages.map_or_else(dash, |pages| pages.to_string()),
        made.bytes.map_or_else(dash, |bytes| format!("{} kB", bytes.div_ceil(1000))),
        match made.state {
            State::New => "new",
            State::Remade => "made again",
            State::NotDue => "not due",
            State::Failed => "not made",
            State::NotNeeded => "none",
        }
        .to_owned(),
    ]
}

/// A table with two spaces between columns; numbers stand at the right.
fn table(head: [&str; 6], rows: &[[String; 6]]) {
    let widths: [usize; 6] = std::array::from_fn(|i| {
        rows.iter().map(|row| row[i].chars().count()).chain([head[i].len()]).max().unwrap_or(0)
    });
    let line = |cells: [&str; 6]| {
        let cells: Vec<String> = cells
            .iter()
            .zip(widths)
            .enumerate()
            .map(
                |(i, (cell, width))| {
                    if (2..=4).contains(&i) { format!("{cell:>width$}") } else { format!("{cell:<width$}") }
                },
            )
            .collect();
        say(std::io::stdout(), cells.join("  ").trim_end());
    };
    line(head);
    for row in rows {
        line(std::array::from_fn(|i| row[i].as_str()));
    }
}

/// A file that `check` has mended.
#[derive(Debug, Serialize)]
pub struct Fixed {
    /// Its path in the practice.
    pub file: String,
    /// What was done.
    pub done: Vec<&'static str>,
}

/// After `check`.
/// What a check tells besides the problems.
pub struct More<'a> {
    /// Files that were mended.
    pub fixed: &'a [Fixed],
    /// What the library covers.
    pub coverage: Option<&'a Coverage>,
    /// What the public instruments say, by client.
    pub quality: Option<&'a [(String, Report)]>,
}

pub fn checked(found: &[Problem], more: &More<'_>, as_json: bool, code: u8) {
    let More { fixed, coverage, quality } = *more;
    if as_json {
        let gaps = coverage.map(|coverage| {
            let gap = |gap: &Gap| {
                let limits: Vec<String> = gap.limits.iter().map(ToString::to_string).collect();
                serde_json::json!({ "structure": gap.structure, "state": gap.state, "limits": limits })
            };
            let gaps: Vec<_> = coverage.gaps.iter().map(gap).collect();
            serde_json::json!({ "cases": coverage.cases, "refused": coverage.refused, "gaps": gaps })
        });
        let quality = quality.map(|sheets| {
            sheets
                .iter()
                .map(|(client, report)| serde_json::json!({ "client": client, "report": report }))
                .collect::<Vec<_>>()
        });
        json(
            &serde_json::json!({ "exit": code, "fixed": fixed, "problems": problems_json(found), "coverage": gaps, "quality": quality }),
        );
        return;
    }
    for Fixed { file, done } in fixed {
        say(std::io::stdout(), &format!("{file}: {}.", done.join(", ")));
    }
    if !found.is_empty() {
        say(std::io::stderr(), report(found).trim_end());
    }
    if let Some(coverage) = coverage {
        gaps(coverage);
    }
    if let Some(sheets) = quality {
        let sheets = sheets.iter().map(|(client, report)| (client.as_str(), report));
        say(std::io::stdout(), super::quality::table(sheets).trim_end());
    }
    let summary = if found.is_empty() { "Nothing to complain of.".to_owned() } else { format!("{}.", tally(found)) };
    say(std::io::stdout(), &summary);
}

/// Problems under the names of their files. Why a rule matters is said the first time that it comes up.
fn report(found: &[Problem]) -> String {
    let mut text = String::new();
    let mut told = BTreeSet::new();
    for group in found.chunk_by(|a, b| a.file() == b.file()) {
        let file = group[0].file().unwrap_or("the practice");
        text.push_str(&format!("== {file}: {}\n\n", tally(group)));
        for problem in group {
            let shown = if told.insert(problem.rule) { problem.explained() } else { problem.to_string() };
            text.push_str(&format!("{shown}\n\n"));
        }
    }
    text
}

/// How many of each severity, such as `1 error, 2 warnings`.
fn tally(found: &[Problem]) -> String {
    let counts = [(Severity::Error, "error"), (Severity::Warning, "warning")].map(|(severity, name)| {
        match found.iter().filter(|problem| problem.severity() == severity).count() {
            0 => None,
            1 => Some(format!("1 {name}")),
            count => Some(format!("{count} {name}s")),
        }
    });
    counts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// For which needs and limits there is no exercise.
fn gaps(coverage: &Coverage) {
    let out = std::io::stdout();
    let width = coverage.gaps.iter().map(|gap| gap.structure.to_string().len()).max().unwrap_or(0);
    for gap in &coverage.gaps {
        let limits: Vec<String> = gap.limits.iter().map(ToString::to_string).collect();
        say(&out, &format!("{:<width$}  {:<8}  {}", gap.structure.to_string(), gap.state.key(), limits.join(", ")));
    }
    say(
        &out,
        &format!(
            "{} of {} cases covered ({} %), {} more refused on purpose.",
            coverage.cases - coverage.open(),
            coverage.cases,
            coverage.percent(),
            coverage.refused
        ),
    );
}

/// After `explain`.
pub fn explained(
    record: Option<&Record>,
    found: &[Problem],
    as_json: bool,
    code: u8,
    text: impl Fn(&Record) -> String,
) {
    if as_json {
        let record = record.map(|record| serde_json::to_value(record).expect("records are plain data"));
        json(&serde_json::json!({ "exit": code, "record": record, "problems": problems_json(found) }));
        return;
    }
    problems(found);
    if let Some(record) = record {
        say(std::io::stdout(), text(record).trim_end());
    }
}

/// After `draw`.
pub fn drawn(files: &[String], found: &[Problem], out: &Path, as_json: bool, code: u8) {
    if as_json {
        json(&serde_json::json!({ "exit": code, "pictures": files, "problems": problems_json(found) }));
        return;
    }
    problems(found);
    say(std::io::stdout(), &format!("{} pictures in {}.", files.len(), out.display()));
}

/// After `book`.
pub fn bound(bound: &Bound, found: &[Problem], out: &Path, as_json: bool, code: u8) {
    if as_json {
        json(&serde_json::json!({ "exit": code, "documents": [bound], "problems": problems_json(found) }));
        return;
    }
    problems(found);
    let Bound { file, pages, bytes, exercises } = bound;
    let kilobytes = bytes.div_ceil(1000);
    let text = format!("{exercises} exercises on {pages} pages, {kilobytes} kB: {}.", out.join(file).display());
    say(std::io::stdout(), &text);
}

/// Names with what they stand for, or the text that shows them to a person.
pub fn listed(rows: &[(String, String)], text: &str, as_json: bool) {
    if as_json {
        let names: Vec<_> =
            rows.iter().map(|(name, words)| serde_json::json!({ "name": name, "words": words })).collect();
        json(&serde_json::json!({ "exit": 0, "names": names, "problems": [] }));
    } else {
        say(std::io::stdout(), text.trim_end());
    }
}

/// After files of the practice were written: their paths inside it, and what to say to a person.
pub fn written(files: &[String], text: &str, as_json: bool) {
    if as_json {
        json(&serde_json::json!({ "exit": 0, "files": files, "problems": [] }));
    } else {
        say(std::io::stdout(), text);
    }
}

/// When nothing could be made at all.
pub fn unusable(found: &[Problem], as_json: bool, code: u8) {
    if as_json {
        json(&serde_json::json!({ "exit": code, "documents": [], "problems": problems_json(found) }));
    } else {
        problems(found);
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::diag::{Rule, SourceFile};

    #[test]
    fn problems_stand_under_their_files_and_say_why_once() {
        let file = Arc::new(SourceFile { path: "clients/ana.toml".into(), text: "a = 1\nb = 2\n".into() });
        let key = |span, name: &str| {
            Problem::at(Rule::UnknownKey, &file, span, format!("this file has no key `{name}`")).help("take it out")
        };
        let found = [
            key(0..1, "a"),
            key(6..7, "b"),
            Problem::about(Rule::OverTime, "clients/ben.toml", "the program takes 40 min").help("drop an exercise"),
        ];
        insta::assert_snapshot!(report(&found));
        assert_eq!(tally(&found), "2 errors, 1 warning");
    }
}
