//! What makes a reader stumble, whatever the score: long sentences, words to avoid, passives, bare numbers, two actions in
//! one step. Each finding says where and what to write instead.

use std::collections::BTreeSet;
use std::fmt;

use super::text::{Phrases, Text};
use super::{Kind, Plain};

/// A kind of stumbling block.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lint {
    /// A sentence with too many words.
    LongSentence,
    /// A step with too many words.
    LongStep,
    /// A sentence with too many commas: a list in disguise.
    Commas,
    /// A word to avoid.
    Avoid,
    /// A passive.
    Passive,
    /// Two denials in one sentence.
    DoubleNegative,
    /// The reader spoken of, not to.
    ThirdPerson,
    /// Something to work out.
    Calculation,
    /// A number without its unit, or a share of a hundred.
    BareNumber,
    /// What belongs to the coach alone.
    CoachOnly,
    /// A step that does not start with a verb.
    StepVerb,
    /// Several actions in one step.
    TwoActions,
}

/// One stumbling block.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Doubt {
    /// Of which kind.
    pub lint: Lint,
    /// The words in question.
    pub text: String,
    /// What is wrong with them.
    pub what: String,
    /// What to write instead.
    pub cure: String,
}

impl fmt::Display for Doubt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.text, self.what)
    }
}

impl Plain {
    /// Everything in a text that a reader may stumble on.
    pub fn doubts(&self, text: &Text<'_>, kind: Kind) -> Vec<Doubt> {
        let mut doubts = Vec::new();
        for sentence in &text.sentences {
            let mut doubt = |lint, what: String, cure: &str| {
                doubts.push(Doubt { lint, text: sentence.source.to_owned(), what, cure: cure.to_owned() });
            };
            self.wording(&sentence.words, &mut doubt);
            if kind != Kind::Phrase {
                self.shape(sentence.source, &sentence.words, kind, &mut doubt);
            }
        }
        if kind == Kind::Step {
            doubts.extend(self.step(text));
        }
        doubts
    }

    /// What single words give away.
    fn wording(&self, words: &[String], doubt: &mut impl FnMut(Lint, String, &str)) {
        let lists = &self.lists;
        for word in self.avoid.standing_in(words) {
            let instead = &self.avoid[word];
            doubt(Lint::Avoid, format!("“{word}” is not an everyday word here"), &format!("write “{instead}”"));
        }
        let any = |list: &'static str, phrases: &BTreeSet<String>| {
            phrases.standing_in(words).first().map(|found| format!("“{found}” {list}"))
        };
        if let Some(what) = any("speaks of the reader, not to them", &lists.third_person) {
            doubt(Lint::ThirdPerson, what, "write “you”");
        }
        if let Some(what) = any("asks the reader to work something out", &lists.calculations) {
            doubt(Lint::Calculation, what, "print the number itself");
        }
        if let Some(what) = any("is for the coach alone", &lists.coach_only) {
            doubt(Lint::CoachOnly, what, "leave it out; it stands in the coach's record");
        }
        if let Some(number) = self.bare_number(words) {
            doubt(Lint::BareNumber, format!("“{number}” has no unit"), "write the unit after the number");
        }
    }

    /// What the build of a sentence gives away.
    fn shape(&self, sentence: &str, words: &[String], kind: Kind, doubt: &mut impl FnMut(Lint, String, &str)) {
        let limits = &self.limits;
        if kind == Kind::Prose && words.len() > limits.sentence_words {
            let what = format!("this sentence has {} words, more than {}", words.len(), limits.sentence_words);
            doubt(Lint::LongSentence, what, "make two sentences of it");
        }
        let commas = sentence.matches([',', ';']).count();
        if commas > limits.commas {
            let what = format!("this sentence has {commas} commas, more than {}", limits.commas);
            doubt(Lint::Commas, what, "make a list or more sentences of it");
        }
        if let Some(found) = self.passive(words) {
            doubt(Lint::Passive, format!("“{found}” is passive"), "say who does it: “you” or “we”");
        }
        let denials: Vec<&String> = words.iter().filter(|word| self.lists.negatives.contains(*word)).collect();
        // "No more than" and the like deny once; two denials side by side in a list of signs are two sentences to most.
        if denials.len() > 1 {
            let both = denials.iter().map(|word| format!("“{word}”")).collect::<Vec<_>>().join(" and ");
            doubt(Lint::DoubleNegative, format!("{both} deny twice"), "say what to do, not what not to");
        }
    }

    /// What is asked of a step alone.
    fn step(&self, text: &Text<'_>) -> Vec<Doubt> {
        let (lists, limits) = (&self.lists, &self.limits);
        let mut doubts = Vec::new();
        let mut doubt = |lint, what: String, cure: &str| {
            doubts.push(Doubt { lint, text: text.source.to_owned(), what, cure: cure.to_owned() });
        };
        let words: Vec<&String> = text.words().collect();
        if words.len() > limits.step_words {
            let what = format!("this step has {} words, more than {}", words.len(), limits.step_words);
            doubt(Lint::LongStep, what, "make two steps of it");
        }
        let is_verb = |word: Option<&String>| word.is_some_and(|word| lists.verbs.contains(word));
        let first = words.iter().copied().find(|word| !lists.before_verb.contains(*word));
        if !is_verb(first) {
            let word = first.map_or("", String::as_str);
            let cure = "start with what to do; a verb that is missing can be added to `verbs` in layouts/quality";
            doubt(Lint::StepVerb, format!("this step starts with “{word}”, which is no verb that we know"), cure);
        }
        let own = |word: Option<&String>| is_verb(word) && !word.is_some_and(|word| lists.same_action.contains(word));
        let later = text.sentences.iter().skip(1).filter(|sentence| own(sentence.words.first())).count();
        let mut joined = 0;
        for (at, _) in words.iter().enumerate().filter(|(_, word)| lists.joins.contains(**word)) {
            let next = words[at + 1..].iter().copied().find(|word| !lists.before_verb.contains(*word));
            joined += usize::from(own(next));
        }
        if later + joined > 0 {
            doubt(Lint::TwoActions, "this step asks for more than one action".to_owned(), "make two steps of it");
        }
        doubts
    }

    /// A form of "to be" with a participle.
    fn passive(&self, words: &[String]) -> Option<String> {
        let lists = &self.lists;
        let participle = |word: &String| {
            let ends =
                lists.passive_endings.iter().any(|end| word.len() > end.len() + 1 && word.ends_with(end.as_str()));
            (ends || lists.passive_others.contains(word)) && !lists.passive_not.contains(word)
        };
        for (at, be) in words.iter().enumerate().filter(|(_, word)| lists.passive_be.contains(*word)) {
            let next = words[at + 1..].iter().find(|word| !lists.passive_between.contains(*word));
            if let Some(next) = next.filter(|word| participle(word)) {
                return Some(format!("{be} {next}"));
            }
        }
        None
    }

    /// A number that neither its unit nor the word before it explains; telephone numbers explain themselves.
    fn bare_number(&self, words: &[String]) -> Option<String> {
        let lists = &self.lists;
        let is_number = |word: &String| word.starts_with(|c: char| c.is_ascii_digit());
        let mut at = 0;
        while at < words.len() {
            if !is_number(&words[at]) {
                at += 1;
                continue;
            }
            // "1, 2 and 3" or "9 to 13" is one number here.
            let first = at;
            let mut last = at;
            loop {
                let next =
                    if words.get(last + 1).is_some_and(|word| lists.number_joins.contains(word)) { 2 } else { 1 };
                if words.get(last + next).is_some_and(is_number) {
                    last += next;
                } else {
                    break;
                }
            }
            at = last + 1;
            let numbers = &words[first..=last];
            let telephone = numbers
                .iter()
                .any(|word| word.len() > 4 || (word.len() > 1 && word.starts_with('0') && !word.contains(['.', ','])));
            let own_unit =
                numbers[numbers.len() - 1].trim_start_matches(|c: char| c.is_ascii_digit() || ".,".contains(c));
            let after = words.get(last + 1).is_some_and(|word| lists.units.contains(word));
            let before = |n: usize| first.checked_sub(n).map(|from| words[from..first].join(" "));
            let said = (1..=2).filter_map(before).any(|before| lists.before_number.contains(&before));
            let share = numbers.iter().any(|word| word.contains('%')) || words.get(last + 1).is_some_and(|w| w == "%");
            if share || !(telephone || after || said || lists.units.contains(own_unit)) {
                return Some(words[first..(last + 2).min(words.len())].join(" "));
            }
        }
        None
    }
}
