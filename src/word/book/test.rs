//! One test of the library: how it is done, what is usual, how far two readings may differ by chance, and who says so.

use serde::Serialize;

use super::{Fact, Librarian, Sources};
use crate::library::test::{Better, Evidence, Reference, Sex, Test};
use crate::template::sentence_case;
use crate::template::{Template, TemplateError};
use crate::units::{Amount, Unit};
use crate::word::handout::Frame;

/// One test.
#[derive(Clone, Debug, Serialize)]
pub struct TestEntry {
    /// Its place among the tests, from 1.
    pub n: usize,
    /// Name.
    pub name: String,
    /// What it shows.
    pub about: String,
    /// Pictures of how it is done.
    pub frames: Vec<Frame>,
    /// How the coach does it.
    pub steps: Vec<String>,
    /// When to stop.
    pub stop: String,
    /// What to watch for.
    pub signs: Vec<Sign>,
    /// Method, unit, kit and other facts.
    pub facts: Vec<Fact>,
    /// The usual range, by age and sex.
    pub usual: Option<Grid>,
    /// Grades, worst first, for tests read in grades.
    pub grades: Vec<String>,
}

/// A visible way of falling short.
#[derive(Clone, Debug, Serialize)]
pub struct Sign {
    /// The coach's words.
    pub see: String,
    /// What it points to.
    pub points: String,
    /// The sign's id, to find its picture.
    #[serde(skip)]
    pub id: String,
    /// A picture of it.
    pub frame: Option<Frame>,
}

/// A small table: usual ranges, a row an age.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Grid {
    /// Heads of the columns.
    pub head: Vec<String>,
    /// Rows.
    pub rows: Vec<Vec<String>>,
    /// Numbers of the sources.
    pub sources: Vec<usize>,
}

impl<'a> Librarian<'a> {
    pub(super) fn tests_in_order(&self) -> impl Iterator<Item = &'a Test> {
        let mut tests: Vec<&Test> = self.library.tests.values().collect();
        tests.sort_by_key(|test| test.name.to_lowercase());
        tests.into_iter()
    }

    pub(super) fn tests(&self, sources: &mut Sources) -> Result<Vec<TestEntry>, TemplateError> {
        self.tests_in_order().zip(1..).map(|(test, n)| self.test(n, test, sources)).collect()
    }

    fn test(&self, n: usize, test: &Test, sources: &mut Sources) -> Result<TestEntry, TemplateError> {
        let words = &self.speech.words.book;
        let pain = test.pain_stops_at.to_string();
        let sign = |sign: &crate::library::test::Sign| Sign {
            see: sign.see.clone(),
            points: self.points_to(&sign.evidence),
            id: sign.id.clone(),
            frame: None,
        };
        let usual = self.usual(test, sources)?;
        Ok(TestEntry {
            n,
            name: test.name.clone(),
            about: self.speech.say(&words.shows, &[("what", &test.about)])?,
            frames: Vec::new(),
            steps: test.how.clone(),
            stop: self.speech.say(&words.test_stops, &[("pain", &pain)])?,
            signs: test.signs.iter().map(sign).collect(),
            facts: self.test_facts(test, usual.is_none(), sources)?,
            usual,
            grades: test.grades.clone(),
        })
    }

    fn test_facts(&self, test: &Test, no_range: bool, sources: &mut Sources) -> Result<Vec<Fact>, TemplateError> {
        let words = &self.speech.words.book;
        let mut facts = Vec::new();
        let mut add = |label: &Template, text: String, source: Option<usize>| {
            facts.push(Fact { label: label.source().to_owned(), text, source });
        };
        add(&words.method, test.method.clone(), None);
        add(&words.read_in, self.read_in(test)?, None);
        let kit = self.kit(test);
        if !kit.is_empty() {
            add(&words.needs, sentence_case(&kit), None);
        }
        if no_range {
            add(&words.usual, words.no_usual.source().to_owned(), None);
        }
        match &test.error {
            Some(error) => {
                let source = sources.number(&error.source);
                if let Some(sem) = error.sem {
                    add(&words.sem, self.amount(test, sem), Some(source));
                }
                add(&words.mdc, self.amount(test, error.mdc95), Some(source));
            }
            None => add(&words.mdc, words.no_error.source().to_owned(), None),
        }
        if let Some(worthwhile) = &test.worthwhile {
            add(&words.worthwhile, self.amount(test, worthwhile.amount), Some(sources.number(&worthwhile.source)));
        }
        if let Some(difference) = &test.side_difference {
            let value = if test.unit.compares_by_share() {
                format!("{}\u{a0}%", difference.amount)
            } else {
                self.speech.value(test, difference.amount)
            };
            add(&words.sides_differ, value, Some(sources.number(&difference.source)));
        }
        for rule in &test.sends_on {
            let sentence = if rule.inclusive { &words.sends_on_from } else { &words.sends_on_beyond };
            let value = self.speech.value(test, rule.beyond);
            add(&words.send_on, self.speech.say(sentence, &[("value", &value)])?, Some(sources.number(&rule.source)));
        }
        if !test.judged {
            add(&words.verdict, words.no_verdict.source().to_owned(), None);
        }
        if !test.limited.is_empty() {
            add(&words.points_to, sentence_case(&self.points_to(&test.limited)), None);
        }
        Ok(facts)
    }

    /// An amount of change: in grades it is a number of steps.
    fn amount(&self, test: &Test, amount: Amount) -> String {
        if test.unit == Unit::Grade {
            return format!("{amount}\u{a0}{}", self.speech.words.book.grade_steps.source());
        }
        self.speech.value(test, amount)
    }

    fn kit(&self, test: &Test) -> String {
        let known = &self.library.vocabulary.equipment;
        let names: Vec<&str> = test.kit.iter().filter_map(|id| known.get(id)).map(|item| item.name.as_str()).collect();
        names.join(", ")
    }

    /// `Centimetres, to 0.5 cm; left and right apart. More is better.`
    fn read_in(&self, test: &Test) -> Result<String, TemplateError> {
        let words = &self.speech.words.book;
        let sides = if test.sided { words.left_and_right.source() } else { words.whole_body.source() };
        let better = match test.better {
            Better::Higher => words.more_is_better.source(),
            Better::Lower => words.less_is_better.source(),
        };
        if test.unit == Unit::Grade {
            return Ok(format!("{}, {sides}", words.grades.source()));
        }
        let step = self.speech.value(test, test.resolution);
        let unit = sentence_case(self.speech.unit_full(test));
        let read = self.speech.say(&words.to_nearest, &[("unit", &unit), ("step", &step)])?;
        Ok(format!("{read}, {sides}. {better}"))
    }

    fn points_to(&self, evidence: &[Evidence]) -> String {
        let mut evidence: Vec<&Evidence> = evidence.iter().collect();
        evidence.sort_by(|a, b| b.weight.total_cmp(&a.weight));
        let known = &self.library.vocabulary.structures;
        let name = |one: &&Evidence| {
            let name = known.get(&one.structure).map_or(one.structure.to_string(), |known| known.name.clone());
            format!("{name} ({})", self.state(one.state))
        };
        evidence.iter().map(name).collect::<Vec<_>>().join(", ")
    }

    /// The usual ranges as a table: ages down, and the sexes across where they differ.
    fn usual(&self, test: &Test, sources: &mut Sources) -> Result<Option<Grid>, TemplateError> {
        let words = &self.speech.words.book;
        if test.references.is_empty() {
            return Ok(None);
        }
        let sexes: Vec<(Option<Sex>, &Template)> =
            [(Some(Sex::Female), &words.women), (Some(Sex::Male), &words.men), (None, &words.anyone)]
                .into_iter()
                .filter(|(sex, _)| test.references.iter().any(|range| range.sex == *sex))
                .collect();
        let mut ages: Vec<(u32, u32)> = test.references.iter().map(|range| range.ages).collect();
        ages.sort_unstable();
        ages.dedup();
        let mut rows = Vec::new();
        for age in ages {
            let mut row = vec![self.age(age)?];
            for (sex, _) in &sexes {
                let range = test.references.iter().find(|range| range.ages == age && range.sex == *sex);
                row.push(range.map_or_else(|| Ok("\u{2013}".to_owned()), |range| self.range(test, range))?);
            }
            rows.push(row);
        }
        let heads = sexes.iter().map(|(_, head)| head.source().to_owned());
        let head = [words.age.source().to_owned()].into_iter().chain(heads).collect();
        let mut numbers: Vec<usize> = test.references.iter().map(|range| sources.number(&range.source)).collect();
        numbers.sort_unstable();
        numbers.dedup();
        Ok(Some(Grid { head, rows, sources: numbers }))
    }

    fn age(&self, (low, high): (u32, u32)) -> Result<String, TemplateError> {
        let words = &self.speech.words.book;
        let (low_text, high_text) = (low.to_string(), high.to_string());
        // Ranges without an upper end run to an age that nobody reaches.
        if high >= 100 {
            return self.speech.say(&words.from, &[("low", &low_text)]);
        }
        self.speech.say(&words.from_to, &[("low", &low_text), ("high", &high_text)])
    }

    fn range(&self, test: &Test, range: &Reference) -> Result<String, TemplateError> {
        let words = &self.speech.words.book;
        let low = |amount| {
            if test.unit == Unit::Grade { self.speech.value(test, amount) } else { self.speech.number(test, amount) }
        };
        match (range.low, range.high) {
            (Some(from), Some(to)) => {
                self.speech.say(&words.from_to, &[("low", &low(from)), ("high", &self.speech.value(test, to))])
            }
            (Some(from), None) => self.speech.say(&words.from, &[("low", &self.speech.value(test, from))]),
            (None, Some(to)) => self.speech.say(&words.at_most, &[("high", &self.speech.value(test, to))]),
            (None, None) => Ok("\u{2013}".to_owned()),
        }
    }
}
