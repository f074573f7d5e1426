//! Who holds a sheet whose texts the library has corrected since.

use jiff::civil::Date;

use super::ledger;
use crate::diag::{Problem, Rule};
use crate::ids::{ClientId, ExerciseId, Id, TestId};
use crate::ledger::{Ledger, Sheet, text_hash};
use crate::library::{Correction, Library};
use crate::load::LEDGER;

/// What is out of date on a client's latest sheet: every text, or only what is a matter of safety.
pub(super) fn held(ledger: &Ledger, client: &ClientId, library: &Library, all: bool) -> Vec<Problem> {
    let Some(sheet) = ledger.sheets.last() else { return Vec::new() };
    if sheet.kept.is_none() {
        return unknown(sheet, client, library, all);
    }
    let exercise = |name: &str| Some(library.exercises.get(&ExerciseId::new(name).ok()?));
    let test = |name: &str| Some(library.tests.get(&TestId::new(name).ok()?));
    let mut found = Vec::new();
    for given in &sheet.exercises {
        let Some(now) = exercise(&given.exercise) else { continue };
        let same = now.is_some_and(|now| text_hash(now.texts()) == given.text);
        let corrections = now.map_or(&[][..], |now| &now.corrections);
        found.extend((!same).then(|| problem(sheet, client, &given.exercise, now.is_some(), corrections)));
    }
    for (name, text) in &sheet.tests {
        let Some(now) = test(name) else { continue };
        let same = now.is_some_and(|now| text_hash(now.texts()) == *text);
        let corrections = now.map_or(&[][..], |now| &now.corrections);
        found.extend((!same).then(|| problem(sheet, client, name, now.is_some(), corrections)));
    }
    found.retain(|problem| all || problem.rule == Rule::UnsafeText);
    found
}

/// The same for the client's ledger in a practice; one that cannot be read is reported by those who print.
pub(super) fn held_in(folder: &std::path::Path, client: &ClientId, library: &Library, all: bool) -> Vec<Problem> {
    ledger(folder, client).map_or_else(|_| Vec::new(), |ledger| held(&ledger, client, library, all))
}

fn path(client: &ClientId) -> String {
    format!("clients/{client}{LEDGER}.toml")
}

fn since(corrections: &[Correction], day: Date) -> impl Iterator<Item = &Correction> {
    corrections.iter().filter(move |correction| correction.on >= day)
}

fn problem(sheet: &Sheet, client: &ClientId, name: &str, there: bool, corrections: &[Correction]) -> Problem {
    let urgent = since(corrections, sheet.visit).any(|correction| correction.urgent);
    let rule = if urgent { Rule::UnsafeText } else { Rule::OldText };
    let what: Vec<String> =
        since(corrections, sheet.visit).map(|correction| format!("{} ({})", correction.what, correction.on)).collect();
    let number = sheet.number;
    let message = match (there, what.is_empty()) {
        (false, _) => format!("sheet {number} has `{name}`, which the library does not have any more"),
        (true, true) => format!("sheet {number} has the old words of `{name}`"),
        (true, false) => format!("sheet {number} has the old words of `{name}`: {}", what.join("; ")),
    };
    let help = format!("print it anew with `print --renew {client}`, and take the old one back");
    Problem::about(rule, path(client), message).help(help).client(client)
}

/// A sheet of an older program does not say what it holds: it is named if anything was corrected since.
fn unknown(sheet: &Sheet, client: &ClientId, library: &Library, all: bool) -> Vec<Problem> {
    let every = library.exercises.values().map(|exercise| &exercise.corrections);
    let every = every.chain(library.tests.values().map(|test| &test.corrections));
    let after: Vec<&Correction> = every.flat_map(|list| since(list, sheet.visit)).collect();
    let urgent = after.iter().any(|correction| correction.urgent);
    if after.is_empty() || !(all || urgent) {
        return Vec::new();
    }
    let message = format!("sheet {} is of an older program and may have texts corrected since", sheet.number);
    let rule = if urgent { Rule::UnsafeText } else { Rule::OldText };
    let help = format!("compare it, or print it anew with `print --renew {client}`");
    vec![Problem::about(rule, path(client), message).help(help).client(client)]
}
