//! The public readability formulas (handout-quality 5.2 and 5.5).

use std::ops::AddAssign;

use super::text::{self, Text};
use super::{Kind, Plain, syllables};

/// The formula that decides for a language.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Formula {
    /// School grade in the United States (Kincaid and others 1975).
    FleschKincaid,
    /// Ease for Spanish (Szigriszt Pazos 1993), 0 to 100 and more.
    Szigriszt,
    /// Long words and long sentences (Bjornsson 1968), for any language.
    Lix,
}

impl Formula {
    /// All, with the words used in files.
    pub const ALL: [(&'static str, Self); 3] =
        [("flesch-kincaid", Self::FleschKincaid), ("szigriszt", Self::Szigriszt), ("lix", Self::Lix)];

    /// Its name in tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::FleschKincaid => "Flesch-Kincaid grade",
            Self::Szigriszt => "Szigriszt-Pazos ease",
            Self::Lix => "LIX",
        }
    }

    /// Whether a smaller number is easier to read.
    fn lower_is_easier(self) -> bool {
        self != Self::Szigriszt
    }
}

/// What the formulas count.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Count {
    /// Sentences; each step and item is one.
    pub sentences: usize,
    /// Words without numerals.
    pub words: usize,
    /// Their syllables.
    pub syllables: usize,
    /// Words of three syllables or more.
    pub hard: usize,
    /// Words of more than six letters.
    pub long: usize,
    /// Words and syllables of fixed names of body parts among them.
    pub body: (usize, usize),
}

impl AddAssign for Count {
    fn add_assign(&mut self, other: Self) {
        self.sentences += other.sentences;
        self.words += other.words;
        self.syllables += other.syllables;
        self.hard += other.hard;
        self.long += other.long;
        self.body.0 += other.body.0;
        self.body.1 += other.body.1;
    }
}

/// One text's score.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Score {
    /// What was counted.
    pub count: Count,
    /// By the formula that decides.
    pub value: f64,
    /// The same without the fixed names of body parts.
    pub without_body: f64,
    /// By the other formulas, for information: name and value.
    pub others: [(&'static str, f64); 2],
    /// Whether it is as easy as is aimed at.
    pub easy: bool,
}

impl Plain {
    /// Syllables of a word in lower case.
    pub fn syllables_of(&self, word: &str) -> usize {
        if let Some(known) = self.syllables.get(word) {
            return *known;
        }
        match self.formula {
            Formula::Szigriszt => syllables::spanish(word),
            Formula::FleschKincaid | Formula::Lix => syllables::english(word),
        }
    }

    /// Counts one text. A phrase is no sentence and counts for nothing.
    pub fn count(&self, text: &Text<'_>, kind: Kind) -> Count {
        let mut count = Count::default();
        if kind == Kind::Phrase {
            return count;
        }
        for sentence in &text.sentences {
            let words = sentence.words.iter().filter(|word| text::counts(word));
            count.sentences += usize::from(words.clone().next().is_some());
            for word in words {
                let syllables = self.syllables_of(word);
                count.words += 1;
                count.syllables += syllables;
                count.hard += usize::from(syllables >= 3);
                count.long += usize::from(word.chars().filter(|c| c.is_alphabetic()).count() > 6);
                if self.lists.body.contains(word) {
                    count.body.0 += 1;
                    count.body.1 += syllables;
                }
            }
        }
        count
    }

    /// The score of what was counted; `None` without a word.
    pub fn score(&self, count: Count) -> Option<Score> {
        if count.words == 0 || count.sentences == 0 {
            return None;
        }
        let (sentences, hard, long) = (count.sentences as f64, count.hard as f64, count.long as f64);
        let by = |formula: Formula, words: f64, syllables: f64| {
            let (length, weight) = (words / sentences, syllables / words);
            match formula {
                Formula::FleschKincaid => 0.39 * length + 11.8 * weight - 15.59,
                Formula::Szigriszt => 206.835 - 62.3 * weight - length,
                Formula::Lix => length + 100.0 * long / words,
            }
        };
        let (words, syllables) = (count.words as f64, count.syllables as f64);
        let value = by(self.formula, words, syllables);
        let rest = ((count.words - count.body.0) as f64, (count.syllables - count.body.1) as f64);
        let without_body = if rest.0 > 0.0 { by(self.formula, rest.0, rest.1) } else { value };
        let (length, weight) = (words / sentences, syllables / words);
        let others = match self.formula {
            Formula::FleschKincaid => [
                ("Flesch ease", 206.835 - 1.015 * length - 84.6 * weight),
                ("SMOG grade", 1.0430 * libm::sqrt(hard * 30.0 / sentences) + 3.1291),
            ],
            Formula::Szigriszt => [
                ("Fernandez-Huerta ease", 206.84 - 60.0 * weight - 1.02 * length),
                ("LIX", by(Formula::Lix, words, syllables)),
            ],
            Formula::Lix => [("words a sentence", length), ("long words in 100", 100.0 * long / words)],
        };
        let easy = if self.formula.lower_is_easier() { value <= self.aim } else { value >= self.aim };
        Some(Score { count, value, without_body, others, easy })
    }
}
