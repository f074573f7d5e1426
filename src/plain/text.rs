//! Sentences and words of a text.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Bound;

/// A text with its sentences and their words, taken apart once for all that measures it.
#[derive(Clone, Debug)]
pub struct Text<'t> {
    /// As it was written.
    pub source: &'t str,
    /// Its sentences.
    pub sentences: Vec<Sentence<'t>>,
}

/// One sentence.
#[derive(Clone, Debug)]
pub struct Sentence<'t> {
    /// As it was written.
    pub source: &'t str,
    /// Its words, as [`words`] gives them.
    pub words: Vec<String>,
}

impl<'t> Text<'t> {
    /// Takes a text apart.
    pub fn new(source: &'t str) -> Self {
        let sentence = |source| Sentence { source, words: words(source) };
        Self { source, sentences: sentences(source).into_iter().map(sentence).collect() }
    }

    /// All its words.
    pub fn words(&self) -> impl Iterator<Item = &String> + Clone {
        self.sentences.iter().flat_map(|sentence| &sentence.words)
    }
}

/// Phrases, each one word or several, that can be looked up by how they start.
pub trait Phrases {
    /// Those from `start` on, in order.
    fn starting_at<'p>(&'p self, start: &str) -> impl Iterator<Item = &'p String>;

    /// Those that stand in `words`, in order, each once.
    fn standing_in<'p>(&'p self, words: &[String]) -> BTreeSet<&'p String> {
        let mut found = BTreeSet::new();
        for (at, word) in words.iter().enumerate() {
            let starting = self.starting_at(word).take_while(|phrase| phrase.starts_with(word.as_str()));
            found.extend(starting.filter(|phrase| stands_at(words, at, phrase)));
        }
        found
    }
}

impl Phrases for BTreeSet<String> {
    fn starting_at<'p>(&'p self, start: &str) -> impl Iterator<Item = &'p String> {
        self.range::<str, _>((Bound::Included(start), Bound::Unbounded))
    }
}

impl<V> Phrases for BTreeMap<String, V> {
    fn starting_at<'p>(&'p self, start: &str) -> impl Iterator<Item = &'p String> {
        self.range::<str, _>((Bound::Included(start), Bound::Unbounded)).map(|(phrase, _)| phrase)
    }
}

/// Whether `phrase` stands in `words` from this word on.
fn stands_at(words: &[String], at: usize, phrase: &str) -> bool {
    let mut rest = words[at..].iter();
    phrase.split(' ').all(|wanted| rest.next().is_some_and(|word| word == wanted))
}

/// The sentences of a text. A colon before a new sentence ends one too, as a lead-in does on paper.
pub fn sentences(text: &str) -> Vec<&str> {
    let mut found = Vec::new();
    let mut start = 0;
    let letters: Vec<(usize, char)> = text.char_indices().collect();
    for (index, (_, c)) in letters.iter().enumerate() {
        // A quote or bracket that closes belongs to the sentence.
        let closing = letters[index + 1..].iter().take_while(|(_, c)| "”’\"'»)".contains(*c)).count();
        let mut rest = letters[index + 1 + closing..].iter().map(|(_, c)| *c);
        let end = match c {
            '.' | '!' | '?' | '…' => rest.next().is_none_or(char::is_whitespace),
            ':' => rest.next().is_none_or(char::is_whitespace) && rest.next().is_none_or(char::is_uppercase),
            _ => false,
        };
        if end {
            let stop = letters.get(index + 1 + closing).map_or(text.len(), |(at, _)| *at);
            found.push(text[start..stop].trim());
            start = stop;
        }
    }
    found.push(text[start..].trim());
    found.retain(|sentence| sentence.chars().any(char::is_alphanumeric));
    found
}

/// The words of a text in lower case, without the marks around them. A compound with a hyphen is one word.
pub fn words(text: &str) -> Vec<String> {
    text.split(|c: char| c.is_whitespace() || "–—/".contains(c))
        .map(|word| word.trim_matches(|c: char| !c.is_alphanumeric() && c != '%' && c != '°').to_lowercase())
        .filter(|word| !word.is_empty())
        .map(|word| word.replace('’', "'"))
        .collect()
}

/// Whether a word counts for a score: one without a digit or a sign.
pub fn counts(word: &str) -> bool {
    word.chars().any(char::is_alphabetic) && !word.chars().any(|c| c.is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sentences_end_at_marks_and_before_a_new_lead() {
        assert_eq!(sentences("Hold 2.5 cm away. Why? Stop!"), ["Hold 2.5 cm away.", "Why?", "Stop!"]);
        assert_eq!(sentences("With pain of 2 or less: Step back."), ["With pain of 2 or less:", "Step back."]);
        assert_eq!(sentences("Each side means: do a round."), ["Each side means: do a round."]);
        assert_eq!(sentences("Say “now.” Then go"), ["Say “now.”", "Then go"]);
        assert_eq!(sentences(" . "), [""; 0]);
    }

    #[test]
    fn words_are_bare_and_numbers_do_not_count() {
        assert_eq!(
            words("Don’t bend, hold 2\u{a0}sec (side-lying)."),
            ["don't", "bend", "hold", "2", "sec", "side-lying"]
        );
        let mut counted = words("Hold 2 sec, 10° or 5–10 %.");
        counted.retain(|word| counts(word));
        assert_eq!(counted, ["hold", "sec", "or"]);
    }

    #[test]
    fn phrases_are_found_as_whole_words() {
        let words = words("Do half of it, not behalf of us.");
        let phrases = ["alf", "half of", "half of us", "it", "not", "us", "zebra"].map(str::to_owned);
        let found = BTreeSet::from(phrases);
        let found: Vec<&str> = found.standing_in(&words).into_iter().map(String::as_str).collect();
        assert_eq!(found, ["half of", "it", "not", "us"]);
    }
}
