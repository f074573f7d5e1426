//! Reads one language's limits and word lists from `layouts/quality/<language>.toml`.

use std::collections::{BTreeMap, BTreeSet};

use super::{Formula, Limits, Lists, Plain};
use crate::fields::Fields;

/// Longest entry, in characters.
const LONGEST: usize = 80;
/// Most syllables of a word.
const MOST_SYLLABLES: u32 = 12;

impl Plain {
    /// Reads a language's file; problems go to the fields' sink.
    pub fn read(language: &str, fields: &Fields<'_>) -> Option<Self> {
        let formula = fields.need("formula").and_then(|value| value.one_of(&Formula::ALL));
        let aim = fields.need("aim").and_then(|value| value.number(0.0, 120.0));
        let limits = fields.need("limits").and_then(|value| value.table()).and_then(|table| Limits::read(&table));
        let lists = fields.need("lists").and_then(|value| value.table()).and_then(|table| Lists::read(&table));
        let avoid = pairs(fields, "avoid");
        let terms = pairs(fields, "terms");
        let syllables = counts(fields);
        Some(Self {
            language: language.to_owned(),
            formula: formula?,
            aim: aim?.value,
            limits: limits?,
            avoid: avoid?,
            terms: terms?,
            lists: lists?,
            syllables: syllables?,
        })
    }
}

/// A list of words in lower case.
pub(super) fn list(fields: &Fields<'_>, key: &str) -> Option<BTreeSet<String>> {
    let values = fields.need(key)?.list()?;
    Some(values.iter().filter_map(|value| value.text(LONGEST)).map(|at| at.value.to_lowercase()).collect())
}

/// A table from words to words.
fn pairs(fields: &Fields<'_>, key: &str) -> Option<BTreeMap<String, String>> {
    let table = fields.need(key)?.table()?;
    Some(
        table
            .entries()
            .into_iter()
            .filter_map(|(word, value)| Some((word.value.to_lowercase(), value.text(LONGEST)?.value)))
            .collect(),
    )
}

/// A table from words to numbers of syllables.
fn counts(fields: &Fields<'_>) -> Option<BTreeMap<String, usize>> {
    let table = fields.need("syllables")?.table()?;
    Some(
        table
            .entries()
            .into_iter()
            .filter_map(|(word, value)| {
                Some((word.value.to_lowercase(), value.whole(1, MOST_SYLLABLES)?.value as usize))
            })
            .collect(),
    )
}
