//! Plain language: how hard a text is to read by the public formulas, and what in it a tired reader stumbles on.
//!
//! Nothing here knows a handout or a library; it measures texts against one language's limits and word lists, which are
//! data (`layouts/quality/<language>.toml`).

mod lint;
mod read;
mod score;
mod syllables;
pub mod text;

use std::collections::{BTreeMap, BTreeSet};

pub use lint::{Doubt, Lint};
pub use score::{Count, Formula, Score};

/// What kind of text it is, which decides what is asked of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// One step of an exercise or a check: short, one action, a verb first.
    Step,
    /// Whole sentences.
    Prose,
    /// A few words: a heading, a label, a caption. No sentence, so it is not scored.
    Phrase,
}

/// One language's limits and word lists.
#[derive(Clone, Debug, PartialEq)]
pub struct Plain {
    /// The language, such as `en`.
    pub language: String,
    /// The formula that decides.
    pub formula: Formula,
    /// What is aimed at by that formula: at most so hard.
    pub aim: f64,
    /// Limits of length and number.
    pub limits: Limits,
    /// Words to avoid, in lower case, with what to write.
    pub avoid: BTreeMap<String, String>,
    /// Terms that are taught, with the words that explain each.
    pub terms: BTreeMap<String, String>,
    /// Lists of words, in lower case.
    pub lists: Lists,
    /// Syllables of words that the rule gets wrong.
    pub syllables: BTreeMap<String, usize>,
}

macro_rules! limits {
    ($($(#[$doc:meta])* $key:ident $least:literal $most:literal;)*) => {
        /// Limits of length and number.
        #[derive(Clone, Debug, PartialEq, Eq)]
        pub struct Limits { $($(#[$doc])* pub $key: usize,)* }

        impl Limits {
            fn read(fields: &crate::fields::Fields<'_>) -> Option<Self> {
                $(let $key = fields.need(stringify!($key)).and_then(|value| value.whole($least, $most));)*
                fields.done();
                Some(Self { $($key: $key?.value as usize,)* })
            }
        }
    };
}

limits! {
    /// Words of a sentence.
    sentence_words 5 60;
    /// Words of a step.
    step_words 5 40;
    /// Commas of a sentence.
    commas 1 10;
    /// Words of a paragraph.
    paragraph_words 20 200;
    /// Steps of an exercise or a check.
    steps 2 12;
    /// Items of a list.
    list_items 3 20;
    /// Sentences of the main message.
    message_sentences 1 6;
    /// Columns of a table; the days of a week stand together as one.
    table_columns 2 12;
    /// Words of a column's head.
    header_words 1 8;
    /// Words of an alternative text.
    alt_words 10 80;
    /// Labels inside a picture.
    picture_labels 1 12;
    /// Words below which a score says nothing of a text by itself.
    enough_words 20 400;
}

macro_rules! lists {
    ($($(#[$doc:meta])* $key:ident)*) => {
        /// Lists of words, in lower case.
        #[derive(Clone, Debug, Default, PartialEq, Eq)]
        pub struct Lists { $($(#[$doc])* pub $key: BTreeSet<String>,)* }

        impl Lists {
            fn read(fields: &crate::fields::Fields<'_>) -> Option<Self> {
                $(let $key = read::list(fields, stringify!($key));)*
                fields.done();
                Some(Self { $($key: $key?,)* })
            }
        }
    };
}

lists! {
    /// Names of body parts that are fixed: a second score leaves them out.
    body
    /// Verbs that a step may start with.
    verbs
    /// Words that may stand before a step's verb.
    before_verb
    /// Verbs that may follow "and" or "then" in a step, since they belong to the same action.
    same_action
    /// Words that join a second action to a step.
    joins
    /// Forms of "to be" that make a passive.
    passive_be
    /// Endings of a participle.
    passive_endings
    /// Participles without such an ending.
    passive_others
    /// Words with such an ending that are no participles here.
    passive_not
    /// Words that may stand between the two.
    passive_between
    /// Words that deny.
    negatives
    /// How a sheet must not speak of its reader.
    third_person
    /// What makes a reader work something out.
    calculations
    /// Words and numbers that belong to the coach alone.
    coach_only
    /// Words that may follow a number: units and what is counted.
    units
    /// Words that may stand before a number that has no unit.
    before_number
    /// Words that join numbers to one.
    number_joins
    /// Words of chance.
    chances
    /// Words that say what is not known.
    unknown
    /// Words that say where and with whom it is done.
    alone
}

#[cfg(test)]
mod tests;
