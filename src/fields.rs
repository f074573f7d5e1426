//! Typed reading of TOML tables, key by key, so that one file can report all its problems with their places.
//!
//! Every key that is asked for is remembered; [`Fields::done`] reports the rest as unknown.

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::ops::Range;
use std::sync::Arc;

use jiff::civil::{Date, DateTime};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::diag::{Problem, Rule, SourceFile, meant, nearest};
use crate::ids::Id;
use crate::shape::{Kind, Shape};

/// A value with its place in the file it came from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct At<T> {
    /// The value.
    pub value: T,
    /// Its bytes in the file.
    pub span: Range<usize>,
}

impl<T> At<T> {
    /// The same place with another value.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> At<U> {
        At { value: change(self.value), span: self.span }
    }
}

/// Gathers the problems of one file.
pub struct Sink {
    file: Arc<SourceFile>,
    problems: RefCell<Vec<Problem>>,
    shape: Option<Shape>,
}

impl Sink {
    /// A sink for `file`.
    pub fn new(file: &Arc<SourceFile>) -> Self {
        Self { file: Arc::clone(file), problems: RefCell::default(), shape: None }
    }

    /// A sink for `file` that also notes in `shape` what its reader asks for.
    pub fn noting(file: &Arc<SourceFile>, shape: &Shape) -> Self {
        Self { shape: Some(shape.clone()), ..Self::new(file) }
    }

    /// The file.
    pub fn file(&self) -> &Arc<SourceFile> {
        &self.file
    }

    /// Adds a problem at a place in the file, with what to do.
    pub fn report(&self, rule: Rule, span: Range<usize>, message: impl Into<String>, help: impl Into<String>) {
        self.push(Problem::at(rule, &self.file, span, message).help(help));
    }

    /// Adds a finished problem.
    pub fn push(&self, problem: Problem) {
        self.problems.borrow_mut().push(problem);
    }

    /// All problems gathered.
    pub fn into_problems(self) -> Vec<Problem> {
        self.problems.into_inner()
    }
}

/// Most syntax problems shown for one file: one slip often has many echoes.
const MOST_SYNTAX: usize = 3;

/// Parses the sink's file and hands its top table to `build`; `None` if it is not TOML or `build` gives none.
pub fn read<T>(sink: &Sink, build: impl FnOnce(&Fields<'_>) -> Option<T>) -> Option<T> {
    let text = &sink.file.text;
    let (root, errors) = DeTable::parse_recoverable(text);
    if !errors.is_empty() {
        report_syntax(sink, &errors);
        return None;
    }
    let fields = Fields::new(sink, root.get_ref(), 0..0, "this file".to_owned(), sink.shape.clone());
    let built = build(&fields);
    fields.done();
    built
}

/// One problem a line, in file order: the parser reports echoes of one slip, not always in order.
fn report_syntax(sink: &Sink, errors: &[toml::de::Error]) {
    let text = &sink.file.text;
    let line = |at: usize| text[..at.min(text.len())].matches('\n').count();
    let mut found: Vec<(Range<usize>, &str)> =
        errors.iter().map(|error| (error.span().unwrap_or(0..0), error.message())).collect();
    found.sort_by_key(|(span, _)| span.start);
    found.dedup_by_key(|(span, _)| {
        let at = (0..=span.start.min(text.len())).rev().find(|i| text.is_char_boundary(*i));
        line(at.unwrap_or(0))
    });
    for (span, message) in found.into_iter().take(MOST_SYNTAX) {
        let here = text.get(..span.start).map_or(0, |before| before.rfind('\n').map_or(0, |at| at + 1));
        let help = slip(text[here..].lines().next().unwrap_or_default());
        sink.report(Rule::Syntax, span, format!("this is not TOML: {message}"), help);
    }
}

/// What a line that is no TOML most likely wanted to say.
fn slip(line: &str) -> &'static str {
    let digits_beside = |mark: char| {
        line.match_indices(mark).any(|(at, _)| {
            let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
            digit(line[..at].chars().next_back()) && digit(line[at + 1..].chars().next())
        })
    };
    if digits_beside(',') {
        "write numbers with a point, such as 55.5"
    } else if digits_beside('/') {
        "write dates as year-month-day, such as 1961-04-12"
    } else {
        "look for a missing quote, bracket or equals sign on this line or the one before"
    }
}

/// One table, being read.
pub struct Fields<'a> {
    sink: &'a Sink,
    table: &'a DeTable<'a>,
    span: Range<usize>,
    name: String,
    asked: RefCell<BTreeSet<String>>,
    shape: Option<Shape>,
}

impl<'a> Fields<'a> {
    fn new(sink: &'a Sink, table: &'a DeTable<'a>, span: Range<usize>, name: String, shape: Option<Shape>) -> Self {
        if let Some(shape) = &shape {
            shape.table(table.keys().map(|key| key.get_ref().as_ref()));
        }
        Self { sink, table, span, name, asked: RefCell::default(), shape }
    }

    /// Where the table starts.
    pub fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    /// Where problems go.
    pub fn sink(&self) -> &'a Sink {
        self.sink
    }

    /// The value of `key`, if it is there.
    pub fn get(&self, key: &str) -> Option<Value<'a>> {
        self.ask(key, false)
    }

    /// The value of a key that the practice has named.
    pub fn get_own(&self, key: &str) -> Option<Value<'a>> {
        self.find(key, self.shape.as_ref().map(Shape::named))
    }

    /// The value of a key that should not be there; it does not count as asked for.
    pub fn peek(&self, key: &str) -> Option<Value<'a>> {
        let (found, value) = self.table.get_key_value(key)?;
        let key = found.get_ref().to_string();
        Some(Value { sink: self.sink, key, value: value.get_ref(), span: value.span(), shape: None })
    }

    fn ask(&self, key: &str, needed: bool) -> Option<Value<'a>> {
        self.find(key, self.shape.as_ref().map(|shape| shape.key(key, needed)))
    }

    fn find(&self, key: &str, shape: Option<Shape>) -> Option<Value<'a>> {
        self.asked.borrow_mut().insert(key.to_owned());
        let (found, value) = self.table.get_key_value(key)?;
        if let Some(shape) = &shape
            && let Some(comment) = comment_beside(&self.sink.file.text, found.span().end.max(value.span().end))
        {
            shape.about(comment);
        }
        let key = found.get_ref().to_string();
        Some(Value { sink: self.sink, key, value: value.get_ref(), span: value.span(), shape })
    }

    /// The value of `key`; if it is not there, that is a problem.
    pub fn need(&self, key: &str) -> Option<Value<'a>> {
        let value = self.ask(key, true);
        if value.is_none() {
            self.sink.report(
                Rule::MissingKey,
                self.span.clone(),
                format!("{} has no `{key}`", self.name),
                format!("add a line `{key} = ...`"),
            );
        }
        value
    }

    /// Every key with its value, for tables whose keys are names.
    pub fn entries(&self) -> Vec<(At<String>, Value<'a>)> {
        let shape = self.shape.as_ref().map(Shape::named);
        self.table
            .iter()
            .map(|(key, value)| {
                self.asked.borrow_mut().insert(key.get_ref().to_string());
                let named = At { value: key.get_ref().to_string(), span: key.span() };
                let value = Value {
                    sink: self.sink,
                    key: key.get_ref().to_string(),
                    value: value.get_ref(),
                    span: value.span(),
                    shape: shape.clone(),
                };
                (named, value)
            })
            .collect()
    }

    /// Takes every key as asked for, when what they mean cannot be known.
    pub fn let_pass(&self) {
        self.asked.borrow_mut().extend(self.table.keys().map(|key| key.get_ref().to_string()));
    }

    /// The tables of a list of tables; none if the key is not there.
    pub fn tables(&self, key: &str) -> Vec<Fields<'a>> {
        let one = |value: Value<'a>| match value.is_table() {
            true => value.table(),
            false => {
                let help = format!("write `{key} = [{{ ... = ... }}]`, each in braces with its keys");
                value.wrong_but("a table in braces", help)
            }
        };
        self.get(key).and_then(|value| value.list()).unwrap_or_default().into_iter().filter_map(one).collect()
    }

    /// The texts of a list; none if the key is not there.
    pub fn texts(&self, key: &str, limit: usize) -> Vec<At<String>> {
        self.get(key)
            .and_then(|value| value.list())
            .unwrap_or_default()
            .into_iter()
            .filter_map(|value| value.text(limit))
            .collect()
    }

    /// The ids of a list; none if the key is not there.
    pub fn ids<T: Id>(&self, key: &str) -> Vec<At<T>> {
        self.get(key)
            .and_then(|value| value.list())
            .unwrap_or_default()
            .into_iter()
            .filter_map(|value| value.id())
            .collect()
    }

    /// Reports every key that was not asked for.
    pub fn done(&self) {
        let asked = self.asked.borrow();
        for key in self.table.keys() {
            if asked.contains(key.get_ref().as_ref()) {
                continue;
            }
            let word = key.get_ref();
            let help = meant(word, asked.iter().map(String::as_str), || {
                format!("{} may have: {}", self.name, asked.iter().cloned().collect::<Vec<_>>().join(", "))
            });
            self.sink.report(Rule::UnknownKey, key.span(), format!("{} has no key `{word}`", self.name), help);
        }
    }
}

/// Longest word that a practice may choose for a rung, a grade or a sign.
const LONGEST_OWN_WORD: usize = 40;

/// What a comment says on the line on which something ends.
fn comment_beside(text: &str, end: usize) -> Option<&str> {
    let line = text.get(end..)?.lines().next()?;
    let (before, comment) = line.split_once('#')?;
    let only_brackets = before.chars().all(|c| c.is_whitespace() || matches!(c, ']' | ','));
    only_brackets.then(|| comment.trim()).filter(|comment| !comment.is_empty())
}

/// One value, being read.
pub struct Value<'a> {
    sink: &'a Sink,
    key: String,
    value: &'a DeValue<'a>,
    /// Its bytes in the file.
    pub span: Range<usize>,
    shape: Option<Shape>,
}

impl<'a> Value<'a> {
    fn takes(&self, kind: impl FnOnce() -> Kind) {
        if let Some(shape) = &self.shape {
            shape.takes(kind());
        }
    }

    fn wrong<T>(&self, wanted: &str) -> Option<T> {
        self.wrong_but(wanted, format!("write {wanted}"))
    }

    fn wrong_but<T>(&self, wanted: &str, help: String) -> Option<T> {
        let message = format!("`{}` is {}, but must be {wanted}", self.key, a_kind(self.value));
        self.sink.report(Rule::WrongType, self.span.clone(), message, help);
        None
    }

    /// Reports that the value is not allowed.
    pub fn refuse<T>(&self, rule: Rule, message: impl Into<String>, help: impl Into<String>) -> Option<T> {
        self.sink.report(rule, self.span.clone(), message, help);
        None
    }

    fn at<T>(&self, value: T) -> At<T> {
        At { value, span: self.span.clone() }
    }

    /// A text of at most `limit` characters, line breaks turned to spaces, trimmed, not empty, without control characters.
    pub fn text(&self, limit: usize) -> Option<At<String>> {
        self.takes(|| Kind::Text(limit));
        let Some(text) = self.value.as_str() else {
            return self.wrong("a text in quotes");
        };
        let text: String = text.split_whitespace().collect::<Vec<_>>().join(" ");
        if text.is_empty() {
            return self.refuse(
                Rule::BadValue,
                format!("`{}` is empty", self.key),
                "write a text, or take the line out",
            );
        }
        if let Some(c) = text.chars().find(|c| c.is_control()) {
            return self.refuse(
                Rule::BadCharacter,
                format!("`{}` holds the control character U+{:04X}", self.key, u32::from(c)),
                "take it out",
            );
        }
        let length = text.chars().count();
        if length > limit {
            return self.refuse(
                Rule::TooLong,
                format!("`{}` is {length} characters long, but at most {limit} fit", self.key),
                "make it shorter",
            );
        }
        Some(self.at(text))
    }

    /// A text that is one of the given words, which are the same in every practice.
    pub fn one_of<T: Copy>(&self, words: &[(&str, T)]) -> Option<T> {
        self.takes(|| Kind::OneOf(words.iter().map(|(word, _)| (*word).to_owned()).collect()));
        self.among(words)
    }

    /// A text that is one of the given words, which the practice itself has chosen.
    pub fn one_of_own<T: Copy>(&self, words: &[(&str, T)]) -> Option<T> {
        self.takes(|| Kind::Text(LONGEST_OWN_WORD));
        self.among(words)
    }

    fn among<T: Copy>(&self, words: &[(&str, T)]) -> Option<T> {
        let Some(text) = self.value.as_str() else {
            return self.wrong("a word in quotes");
        };
        let found = words.iter().find(|(word, _)| *word == text);
        if found.is_none() {
            let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
            let near = nearest(text, known.iter().copied())
                .map_or_else(String::new, |near| format!("did you mean `{near}`? "));
            return self.refuse(
                Rule::BadValue,
                format!("`{}` cannot be `{text}`", self.key),
                format!("{near}allowed: {}", known.join(", ")),
            );
        }
        found.map(|(_, value)| *value)
    }

    /// An id.
    pub fn id<T: Id>(&self) -> Option<At<T>> {
        self.takes(|| Kind::Name(T::KIND));
        let Some(text) = self.value.as_str() else {
            return self.wrong(&format!("the name of one {} in quotes", T::KIND));
        };
        match T::new(text) {
            Ok(id) => Some(self.at(id)),
            Err(bad) => {
                let plain = as_name(text);
                let help = match T::new(&plain) {
                    Ok(_) => format!("names are those of the files, in small letters: did you mean `{plain}`?"),
                    Err(_) => "use a name like `knee-to-wall`".to_owned(),
                };
                self.refuse(Rule::BadId, bad.to_string(), help)
            }
        }
    }

    /// A whole number from `least` to `most`, which are the same in every practice.
    pub fn whole(&self, least: u32, most: u32) -> Option<At<u32>> {
        self.takes(|| Kind::Whole(least, most));
        self.between(least, most)
    }

    /// A whole number from 1 to as many as the practice itself has of something.
    pub fn whole_own(&self, most: u32) -> Option<At<u32>> {
        self.takes(|| Kind::Whole(1, u32::MAX));
        self.between(1, most)
    }

    fn between(&self, least: u32, most: u32) -> Option<At<u32>> {
        let Some(text) = self.value.as_integer() else {
            return self.wrong("a whole number");
        };
        let value: Option<i64> = text.to_string().parse().ok();
        match value.and_then(|value| u32::try_from(value).ok()) {
            Some(value) if (least..=most).contains(&value) => Some(self.at(value)),
            _ => self.refuse(
                Rule::BadValue,
                format!("`{}` is {text}, but must lie between {least} and {most}", self.key),
                "correct the number",
            ),
        }
    }

    /// A finite number, whole or not, from `least` to `most`.
    pub fn number(&self, least: f64, most: f64) -> Option<At<f64>> {
        self.takes(|| Kind::Number(least, most));
        let value = match self.value {
            DeValue::Integer(number) => number.to_string().parse::<f64>().ok(),
            DeValue::Float(number) => number.as_str().parse::<f64>().ok(),
            _ => return self.wrong("a number"),
        };
        match value.filter(|value| value.is_finite() && (least..=most).contains(value)) {
            Some(value) => Some(self.at(value)),
            None => self.refuse(
                Rule::BadValue,
                format!("`{}` must be a number between {least} and {most}", self.key),
                "correct the number",
            ),
        }
    }

    /// The value as written, if it is a number or a text: for quantities that may carry a unit.
    pub fn quantity_text(&self) -> Option<At<String>> {
        self.takes(|| Kind::Quantity);
        match self.value {
            DeValue::Integer(number) => Some(self.at(number.to_string())),
            // Through f64, so that an exponent does not look like a unit; `nan` and `inf` stay words.
            DeValue::Float(number) => Some(self.at(
                number.as_str().parse::<f64>().map_or_else(|_| number.as_str().to_owned(), |value| value.to_string()),
            )),
            DeValue::String(text) => Some(self.at(text.to_string())),
            _ => self.wrong("a number, or a number with its unit in quotes"),
        }
    }

    /// `true` or `false`.
    pub fn yes(&self) -> Option<bool> {
        self.takes(|| Kind::Yes);
        match self.value.as_bool() {
            Some(value) => Some(value),
            None => self.wrong("true or false"),
        }
    }

    /// A date without a time.
    pub fn date(&self) -> Option<At<Date>> {
        self.takes(|| Kind::Date);
        let written = self.value.as_datetime().filter(|written| written.time.is_none());
        let Some(date) = written.and_then(|written| written.date) else {
            return self.wrong("a date like 2026-11-24, without quotes");
        };
        to_date(&date).map_or_else(
            || self.refuse(Rule::BadDate, format!("`{}` is not a day of the calendar", self.key), "correct the date"),
            |date| Some(self.at(date)),
        )
    }

    /// A date, with or without a time of day.
    pub fn date_time(&self) -> Option<At<(Date, Option<DateTime>)>> {
        self.takes(|| Kind::DateTime);
        let written = self.value.as_datetime().filter(|written| written.offset.is_none());
        let Some((written, date)) = written.and_then(|written| Some((written, written.date?))) else {
            return self.wrong("a date and time like 2026-12-22T17:30:00, without quotes");
        };
        let Some(date) = to_date(&date) else {
            return self.refuse(
                Rule::BadDate,
                format!("`{}` is not a day of the calendar", self.key),
                "correct the date",
            );
        };
        let time = written.time.map(|time| date.at(time.hour as i8, time.minute as i8, 0, 0));
        Some(self.at((date, time)))
    }

    /// The values of a list.
    pub fn list(&self) -> Option<Vec<Value<'a>>> {
        let Some(list) = self.value.as_array() else {
            return self.wrong("a list in square brackets");
        };
        let shape = self.shape.as_ref().map(Shape::items);
        Some(
            list.iter()
                .map(|item: &'a Spanned<DeValue<'a>>| Value {
                    sink: self.sink,
                    key: self.key.clone(),
                    value: item.get_ref(),
                    span: item.span(),
                    shape: shape.clone(),
                })
                .collect(),
        )
    }

    /// The fields of a table.
    pub fn table(&self) -> Option<Fields<'a>> {
        match self.value.as_table() {
            Some(table) => {
                let name = format!("`{}`", self.key);
                Some(Fields::new(self.sink, table, self.span.clone(), name, self.shape.clone()))
            }
            None => self.wrong("a table"),
        }
    }

    /// Whether it is a text.
    pub fn is_text(&self) -> bool {
        self.value.is_str()
    }

    fn is_table(&self) -> bool {
        self.value.is_table()
    }
}

/// `Chair squat` as `chair-squat`.
fn as_name(text: &str) -> String {
    let words = text.split(|c: char| !c.is_ascii_alphanumeric()).filter(|word| !word.is_empty());
    words.map(str::to_ascii_lowercase).collect::<Vec<_>>().join("-")
}

fn to_date(date: &toml::value::Date) -> Option<Date> {
    Date::new(i16::try_from(date.year).ok()?, i8::try_from(date.month).ok()?, i8::try_from(date.day).ok()?).ok()
}

fn a_kind(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
