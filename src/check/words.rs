//! `layouts/words/<language>.toml`, and what one language's texts must have in common with another's.

use std::collections::{BTreeMap, BTreeSet};

use crate::diag::{Problem, Rule, meant};
use crate::draw::named_things;
use crate::load::Entry;
use crate::template::Template;
use crate::words::Words;

use super::one;

/// What sentences about a date or a time may name: each language takes what it needs.
const OF_DATES: [&str; 10] =
    ["day", "year", "weekday", "weekday_short", "month", "month_short", "hour", "hour12", "minute", "half"];

/// Reads the standing texts of a language.
pub fn read(language: &str, files: &[Entry], problems: &mut Vec<Problem>) -> Option<Words> {
    let Some(entry) = files.iter().find(|entry| entry.stem == language) else {
        let path = format!("layouts/words/{language}.toml");
        problems.push(
            Problem::about(Rule::NoPractice, path, "this language has no standing texts")
                .help("add the file, or choose another language in layouts/brand.toml"),
        );
        return None;
    };
    let words = one(&entry.file, problems, |fields| Words::read(language, fields))?;
    let found = picture_words(&words, entry);
    let sound = found.is_empty();
    problems.extend(found);
    sound.then_some(words)
}

fn at(entry: &Entry, rule: Rule, key: &str, message: String) -> Problem {
    let text = &entry.file.text;
    let start = text.find(&format!("\n{key} =")).map_or(0, |at| at + 1);
    Problem::at(rule, &entry.file, start..start + key.len(), message)
}

/// The words about pictures name every thing that a picture can show, and nothing else.
fn picture_words(words: &Words, entry: &Entry) -> Vec<Problem> {
    let mut problems = Vec::new();
    let pictures = &words.pictures;
    let tables = [("props", &pictures.props), ("sites", &pictures.sites), ("muscles", &pictures.muscles)];
    for ((table, texts), known) in tables.into_iter().zip(named_things()) {
        let known: BTreeMap<&str, bool> = known.into_iter().collect();
        for name in known.keys().filter(|name| !texts.contains_key(**name)) {
            let message = format!("`pictures.{table}` has no `{name}`");
            problems.push(at(entry, Rule::MissingKey, "arrow", message).help(format!("add a line `{name} = ...`")));
        }
        for (name, text) in texts {
            let Some(sided) = known.get(name.as_str()) else {
                let help = meant(name, known.keys().copied(), || "take it out".to_owned());
                let message = format!("no picture shows `{name}`");
                problems.push(at(entry, Rule::UnknownKey, name, message).help(help));
                continue;
            };
            let wanted: &[&str] = if *sided { &["side"] } else { &[] };
            if !text.gaps().iter().map(String::as_str).eq(wanted.iter().copied()) {
                let message =
                    format!("`{name}` must name {}", if *sided { "the side, and nothing else" } else { "nothing" });
                problems.push(at(entry, Rule::BadTemplate, name, message).help("write such as `the {{ side }} heel`"));
            }
        }
    }
    problems
}

/// A sentence names the same in every language, or its gaps would stay empty or be lost.
pub fn compare(words: &Words, base: &Words, files: &[Entry], problems: &mut Vec<Problem>) {
    let Some(entry) = files.iter().find(|entry| entry.stem == words.language) else {
        return;
    };
    let gaps = |text: &Template| -> BTreeSet<String> {
        text.gaps().into_iter().filter(|gap| !OF_DATES.contains(&gap.as_str())).collect()
    };
    let theirs = all(base);
    for (key, text) in all(words) {
        let Some(original) = theirs.get(&key) else { continue };
        let (here, there) = (gaps(&text), gaps(original));
        let unknown = here.difference(&there).next();
        let lost = there.difference(&here).next();
        let message = match (unknown, lost) {
            (Some(gap), _) => format!("`{key}` names `{gap}`, which it is not given"),
            (None, Some(gap)) => format!("`{key}` does not name `{gap}`, as it does in {}", base.name),
            (None, None) => continue,
        };
        let bare = key.rsplit('.').next().unwrap_or(&key);
        let help = format!("in {}: {}", base.name, original.source());
        problems.push(at(entry, Rule::TranslationDiffers, bare, message).help(help));
    }
}

/// Every text with gaps, by table and key. Of texts that change with a number, the one for other numbers.
fn all(words: &Words) -> BTreeMap<String, Template> {
    let sentences = words.sentences.all().into_iter().map(|(key, text)| (format!("sentences.{key}"), text.clone()));
    let counted = words
        .counted
        .all()
        .into_iter()
        .map(|(key, text)| (format!("counted.{key}"), text.of_written("1000.5").clone()));
    let phrases = words.pictures.phrases.all().into_iter().map(|(key, text)| (format!("phrases.{key}"), text.clone()));
    let papers = words.papers.all().into_iter().map(|(key, text)| (format!("papers.{key}"), text.clone()));
    sentences.chain(papers).chain(counted).chain(phrases).collect()
}
