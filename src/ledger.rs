//! The record of sheets issued: what each client was given, so that it can be given again and never changes silently.
//!
//! `clients/<id>.sheets.toml` is written by the tool alone, one entry a sheet, and only ever grows.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::sync::Arc;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::diag::{Problem, Rule, SourceFile};
use crate::ids::ClientId;
use crate::print::Look;

/// Everything issued to one client.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ledger {
    /// Sheets, by number.
    #[serde(default)]
    pub sheets: Vec<Sheet>,
}

/// One issued sheet.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sheet {
    /// Its number, from 1.
    pub number: u32,
    /// The visit that it was made for.
    pub visit: Date,
    /// Hash of its words and numbers, whatever the paper.
    pub words: String,
    /// Hash of what its pictures show, in any ink; sheets of an older program have none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pictures: Option<String>,
    /// The name under which all that it was set from is kept; sheets of an older program have none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kept: Option<String>,
    /// The documents made of it.
    pub documents: Vec<Document>,
    /// The program, in its order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub exercises: Vec<Given>,
    /// The tests that its words speak of, each with the hash of its texts in the library.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub tests: BTreeMap<String, String>,
}

/// One exercise as it was given.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Given {
    /// Which.
    pub exercise: String,
    /// `left`, `right`, `each` or `both`.
    pub side: String,
    /// The rung, from 1.
    pub rung: usize,
    /// Sets.
    pub sets: u32,
    /// Repetitions.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reps: Option<u32>,
    /// Seconds held.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hold_s: Option<u32>,
    /// Seconds of the slow return.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lower_s: Option<u32>,
    /// Seconds of rest.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rest_s: Option<u32>,
    /// Days a week.
    pub days: u32,
    /// Hash of its texts in the library.
    pub text: String,
}

/// One document of a sheet.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Document {
    /// Which document: `handout`.
    pub what: String,
    /// File name in `out/<client>/`.
    pub file: String,
    /// Paper, type, ink.
    pub look: Look,
    /// Pages.
    pub pages: usize,
    /// SHA-256 of the file.
    pub sha256: String,
}

impl Sheet {
    /// What a sheet gives that an older one did not, a line a difference, in the coach's words.
    pub fn differs_from(&self, older: &Self) -> Vec<String> {
        if older.kept.is_none() {
            return vec![format!("sheet {} is of an older program: compare the two papers", older.number)];
        }
        let mut lines = Vec::new();
        let same = |a: &&Given, b: &Given| a.exercise == b.exercise && a.side == b.side;
        for now in &self.exercises {
            match older.exercises.iter().find(|before| same(before, now)) {
                None => lines.push(format!("`{}` ({}) is new", now.exercise, now.side)),
                Some(before) => lines.extend(now.changes(before)),
            }
        }
        for before in older.exercises.iter().filter(|before| !self.exercises.iter().any(|now| same(&now, before))) {
            lines.push(format!("`{}` ({}) is out", before.exercise, before.side));
        }
        let changed = self.tests.iter().filter(|(test, text)| older.tests.get(*test).is_some_and(|old| old != *text));
        lines.extend(changed.map(|(test, _)| format!("the words of the test `{test}` have changed")));
        if older.pictures.is_some() && self.pictures != older.pictures {
            lines.push("the pictures have changed".to_owned());
        }
        match (lines.is_empty(), self.words == older.words) {
            (true, true) => lines.push("nothing but its number".to_owned()),
            (true, false) => lines.push("the program is the same; other words or readings have changed".to_owned()),
            (false, _) => {}
        }
        lines
    }
}

impl Given {
    /// What has changed since the same exercise was given before.
    fn changes(&self, before: &Self) -> Vec<String> {
        let mut lines = Vec::new();
        let numbers = [
            ("rung", Some(self.rung as u32), Some(before.rung as u32)),
            ("sets", Some(self.sets), Some(before.sets)),
            ("reps", self.reps, before.reps),
            ("hold_s", self.hold_s, before.hold_s),
            ("lower_s", self.lower_s, before.lower_s),
            ("rest_s", self.rest_s, before.rest_s),
            ("days", Some(self.days), Some(before.days)),
        ];
        let show = |part: Option<u32>| part.map_or_else(|| "none".to_owned(), |part| part.to_string());
        for (part, now, then) in numbers.into_iter().filter(|(_, now, then)| now != then) {
            lines.push(format!("`{}`: {part} {}, was {}", self.exercise, show(now), show(then)));
        }
        if self.text != before.text {
            lines.push(format!("the words of `{}` have changed", self.exercise));
        }
        lines
    }
}

const HEAD: &str = "# Written by Kinleaf: the sheets that this client was given. Do not edit or delete;\n\
                    # without it a sheet cannot be given again as it was.\n\n";

impl Ledger {
    /// Reads a ledger.
    ///
    /// # Errors
    /// If it is not what the tool has written.
    pub fn read(file: &Arc<SourceFile>, client: &ClientId) -> Result<Self, Problem> {
        let ledger: Self = toml::from_str(&file.text).map_err(|error| {
            Problem::at(
                Rule::Ledger,
                file,
                error.span().unwrap_or(0..0),
                format!("this record of sheets was changed by hand: {}", error.message()),
            )
            .help("restore the file from a backup; nothing is printed for this client until then")
            .client(client)
        })?;
        let in_order = ledger.sheets.iter().zip(1..).all(|(sheet, number)| sheet.number == number);
        if in_order {
            return Ok(ledger);
        }
        Err(Problem::at(Rule::Ledger, file, 0..0, "the sheets are not numbered 1, 2, 3")
            .help("restore the file from a backup; nothing is printed for this client until then")
            .client(client))
    }

    /// The text of the file.
    pub fn to_text(&self) -> String {
        format!("{HEAD}{}", toml::to_string(self).expect("a ledger is plain data"))
    }

    /// The last sheet made for a visit.
    pub fn last_for(&self, visit: Date) -> Option<&Sheet> {
        self.sheets.iter().rev().find(|sheet| sheet.visit == visit)
    }

    /// The number of the next sheet.
    pub fn next_number(&self) -> u32 {
        self.sheets.last().map_or(1, |sheet| sheet.number + 1)
    }
}

/// A short hash of texts, to tell whether any of them has changed.
pub fn text_hash<'a>(texts: impl IntoIterator<Item = &'a str>) -> String {
    let mut all = String::new();
    for text in texts {
        all.push_str(text);
        all.push('\0');
    }
    let mut hash = hash(all.as_bytes());
    hash.truncate(16);
    hash
}

/// SHA-256 as hex.
pub fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().fold(String::with_capacity(64), |mut hex, byte| {
        // Writing to a string cannot fail.
        let _ = write!(hex, "{byte:02x}");
        hex
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_hash_is_sha_256() {
        // FIPS 180-2, appendix B.1.
        assert_eq!(hash(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }
}
