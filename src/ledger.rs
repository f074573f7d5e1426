//! The record of sheets issued: what each client was given, so that it can be given again and never changes silently.
//!
//! `clients/<id>.sheets.toml` is written by the tool alone, one entry a sheet, and only ever grows.

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
    /// The documents made of it.
    pub documents: Vec<Document>,
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
