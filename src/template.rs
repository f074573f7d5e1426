//! Texts with gaps: library sentences that are filled in for one client.
//!
//! A template yields a plain string. What a client's record says is only ever a value in it, never template source.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::{Arc, Mutex, PoisonError};

use minijinja::value::Value;
use minijinja::{AutoEscape, Environment, Error, ErrorKind, Output, State, UndefinedBehavior};

/// Work that one template may do; a sentence needs about twenty, an endless loop any number.
const FUEL: u64 = 20_000;

/// The function that prints a share of the client's own reading.
const OWN: &str = "own";

/// A library text, as written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Template {
    source: String,
}

/// What a template may name.
#[derive(Clone, Debug, Default)]
pub struct Facts {
    /// Plain values by name: `side`, `other_side`, `goal`, `tool`, `coach`.
    pub values: BTreeMap<&'static str, String>,
    /// The sides in the other forms that the language has, such as `side_f`.
    pub forms: BTreeMap<String, String>,
    /// Printed readings of this client on the side in question: amount in the test's unit and how to print a share of it.
    pub readings: Arc<BTreeMap<String, OwnReading>>,
    /// Every test that the practice has, so that a slip in a name is not taken for a missing reading.
    pub tests: Arc<BTreeSet<String>>,
}

/// A client's own reading, ready to be printed in part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OwnReading {
    /// The reading.
    pub amount: crate::units::Amount,
    /// The test's unit.
    pub unit: crate::units::Unit,
    /// The finest step that is printed.
    pub resolution: crate::units::Amount,
    /// The client's units.
    pub system: crate::units::System,
    /// The unit's word, such as `cm`.
    pub word: String,
    /// What stands between whole and part of a number.
    pub decimal: String,
}

/// Why a template could not be filled in.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct TemplateError {
    /// What is wrong.
    pub message: String,
    /// Bytes of the template's source that are wrong, if known.
    pub range: Option<Range<usize>>,
    /// Whether it ran without end.
    pub endless: bool,
}

impl Template {
    /// Wraps a source text; nothing is checked until it is filled in.
    pub fn new(source: impl Into<String>) -> Self {
        Self { source: source.into() }
    }

    /// The text as written.
    pub fn source(&self) -> &str {
        &self.source
    }

    /// Whether nothing needs filling in.
    pub fn is_plain(&self) -> bool {
        !self.source.contains(['{', '}'])
    }

    /// Fills in the gaps.
    ///
    /// # Errors
    /// If the template names something that is not a fact, is not well formed, or does not end.
    pub fn fill(&self, facts: &Facts) -> Result<String, TemplateError> {
        if self.is_plain() {
            return Ok(self.source.clone());
        }
        let environment = environment();
        let mut context: BTreeMap<&str, Value> =
            facts.values.iter().map(|(name, value)| (*name, Value::from(isolated(value)))).collect();
        context.extend(facts.forms.iter().map(|(name, value)| (name.as_str(), Value::from(value.as_str()))));
        let (readings, tests) = (Arc::clone(&facts.readings), Arc::clone(&facts.tests));
        context.insert(
            OWN,
            Value::from_function(move |test: String, share: f64, otherwise: String| {
                own(&readings, &tests, &test, share, otherwise)
            }),
        );
        let filled = environment
            .template_from_str(&self.source)
            .and_then(|template| template.render(Value::from(context)))
            .map_err(|error| refusal(&error))?;
        Ok(tidy(&filled))
    }

    /// What the template names, in whatever form: `side`, `tool`, `own(knee-to-wall, 0.75)`. A template and its
    /// translation name the same. Nothing if it is not well formed.
    pub fn gaps(&self) -> BTreeSet<String> {
        let environment = environment();
        let Ok(template) = environment.template_from_str(&self.source) else {
            return BTreeSet::new();
        };
        let names = template.undeclared_variables(false);
        let calls: Arc<Mutex<BTreeSet<String>>> = Arc::default();
        let noted = Arc::clone(&calls);
        let mut context: BTreeMap<&str, Value> = names.iter().map(|name| (name.as_str(), Value::from("x"))).collect();
        context.insert(
            OWN,
            Value::from_function(move |test: String, share: f64, _otherwise: String| {
                noted.lock().unwrap_or_else(PoisonError::into_inner).insert(format!("own({test}, {share})"));
                "x"
            }),
        );
        // What cannot be filled in is reported when it is tried with true facts.
        let _ = template.render(Value::from(context));
        let whole = |name: &String| match name.as_str() {
            name if name.starts_with("side_") => "side".to_owned(),
            name if name.starts_with("other_side_") => "other_side".to_owned(),
            name => name.to_owned(),
        };
        let mut gaps: BTreeSet<String> = names.iter().filter(|name| *name != OWN).map(whole).collect();
        gaps.append(&mut calls.lock().unwrap_or_else(PoisonError::into_inner));
        gaps
    }

    /// The numbers that the text itself states, in order of size of their digits: a translation states the same.
    pub fn figures(&self) -> Vec<String> {
        let mut figures = Vec::new();
        let mut rest = self.source.as_str();
        let mut outside = String::new();
        while let Some((before, gap)) = rest.split_once("{{") {
            outside.push_str(before);
            outside.push(' ');
            rest = gap.split_once("}}").map_or("", |(_, after)| after);
        }
        outside.push_str(rest);
        let part = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',');
        for figure in outside.split(|c| !part(c)) {
            let figure = figure.trim_matches(['.', ',']).replace(',', ".");
            if !figure.is_empty() {
                figures.push(figure);
            }
        }
        figures.sort();
        figures
    }
}

/// A share of the client's own reading, rounded towards zero so that it is never more than they can do.
fn own(
    readings: &BTreeMap<String, OwnReading>,
    tests: &BTreeSet<String>,
    test: &str,
    share: f64,
    otherwise: String,
) -> Result<String, Error> {
    if !(0.0..=1.0).contains(&share) {
        return Err(Error::new(ErrorKind::InvalidOperation, "the share in `own` must lie between 0 and 1"));
    }
    if !tests.contains(test) {
        return Err(Error::new(ErrorKind::InvalidOperation, format!("there is no test `{test}`")));
    }
    let Some(reading) = readings.get(test) else {
        return Ok(otherwise);
    };
    let part =
        crate::units::Amount::from_f64(reading.amount.to_f64() * share).unwrap_or_default().down_to(reading.resolution);
    if part <= crate::units::Amount::default() {
        return Ok(otherwise);
    }
    let shown = reading.unit.show(part, reading.resolution, reading.system);
    Ok(format!("{}\u{a0}{}", shown.to_string().replace('.', &reading.decimal), reading.word))
}

fn environment() -> Environment<'static> {
    let mut environment = Environment::new();
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    environment.set_auto_escape_callback(|_| AutoEscape::None);
    environment.set_formatter(print);
    environment.set_fuel(Some(FUEL));
    environment.set_debug(true);
    environment
}

/// Prints texts and numbers only: `None` or `True` on paper would be a slip.
fn print(out: &mut Output<'_>, _state: &mut State<'_, '_>, value: &Value) -> Result<(), Error> {
    if value.as_str().is_some() || value.is_number() {
        return out.write_str(&value.to_string()).map_err(|_| Error::new(ErrorKind::WriteFailure, "cannot write"));
    }
    if value.is_undefined() {
        return Err(Error::from(ErrorKind::UndefinedError));
    }
    Err(Error::new(ErrorKind::InvalidOperation, format!("a {} cannot be printed", value.kind())))
}

fn refusal(error: &Error) -> TemplateError {
    let endless = error.kind() == ErrorKind::OutOfFuel;
    let message = match (error.kind(), error.detail()) {
        (ErrorKind::OutOfFuel, _) => "this text never comes to an end".to_owned(),
        (ErrorKind::UndefinedError, Some(detail)) => {
            format!("nothing here is called that: {detail}")
        }
        (ErrorKind::UndefinedError, None) => "this text names something that is not known".to_owned(),
        (kind, Some(detail)) => format!("{kind}: {detail}"),
        (kind, None) => kind.to_string(),
    };
    TemplateError { message, range: error.range(), endless }
}

/// The text, set apart from what stands around it if any of it runs from right to left: otherwise its full stop, or a
/// number after it, would end up on the wrong side (Unicode bidirectional algorithm, isolates).
pub fn isolated(text: &str) -> String {
    if text.chars().any(runs_right_to_left) { format!("{FIRST_STRONG}{text}{END_OF_ISOLATE}") } else { text.to_owned() }
}

/// Starts a stretch whose own first letter says which way it runs.
pub const FIRST_STRONG: char = '\u{2068}';
/// Ends such a stretch.
pub const END_OF_ISOLATE: char = '\u{2069}';

/// Hebrew, Arabic and their neighbours.
pub fn runs_right_to_left(c: char) -> bool {
    matches!(u32::from(c), 0x0590..=0x08ff | 0xfb1d..=0xfdff | 0xfe70..=0xfeff)
}

/// One ordinary space between words; no-break spaces stay.
fn tidy(text: &str) -> String {
    text.split([' ', '\n', '\t', '\r']).filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

/// The text with its first letter in upper case.
pub fn sentence_case(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{Amount, System, Unit};

    fn facts() -> Facts {
        let reading = OwnReading {
            amount: Amount::from_f64(5.5).unwrap(),
            unit: Unit::Centimetre,
            resolution: Amount::from_f64(0.5).unwrap(),
            system: System::Metric,
            word: "cm".into(),
            decimal: ".".into(),
        };
        Facts {
            values: BTreeMap::from([("side", "right".to_owned())]),
            forms: BTreeMap::from([("side_f".to_owned(), "derecha".to_owned())]),
            readings: Arc::new(BTreeMap::from([("knee-to-wall".to_owned(), reading)])),
            tests: Arc::new(BTreeSet::from(["knee-to-wall".to_owned(), "grip".to_owned()])),
        }
    }

    #[track_caller]
    fn check(source: &str, expected: &str) {
        assert_eq!(Template::new(source).fill(&facts()).unwrap(), expected);
    }

    #[test]
    fn gaps_and_figures_are_those_of_the_text_in_any_form() {
        let gaps = |source: &str| Template::new(source).gaps().into_iter().collect::<Vec<_>>();
        assert_eq!(gaps("su pie {{ side }} y su rodilla {{ other_side_f }}"), ["other_side", "side"]);
        assert_eq!(gaps(r#"a {{ own("grip", 0.5, "dos dedos") }} de {{ tool }}"#), ["own(grip, 0.5)", "tool"]);
        assert_eq!(gaps("nada"), [""; 0]);
        let figures = |source: &str| Template::new(source).figures();
        assert_eq!(figures("2,5 cm, de 0 a 10."), figures("From 0 to 10, 2.5 cm"));
        assert_eq!(figures(r#"{{ own("grip", 0.5, "2") }} y 30."#), ["30"], "what a gap holds is not the text's own");
    }

    #[test]
    fn what_runs_the_other_way_is_set_apart() {
        let mut facts = facts();
        facts.values.insert("goal", "\u{5d0}\u{5d1}!".to_owned());
        let filled = Template::new("{{ goal }} 3").fill(&facts).unwrap();
        assert_eq!(filled, "\u{2068}\u{5d0}\u{5d1}!\u{2069} 3");
        assert_eq!(isolated("Oksana \u{41c}"), "Oksana \u{41c}", "Cyrillic runs as Latin does");
    }

    #[test]
    fn fills_in_sides_and_own_readings() {
        check("Bend your {{ side }} knee.", "Bend your right knee.");
        check("Doble la rodilla {{ side_f }}.", "Doble la rodilla derecha.");
        // Three quarters of 5.5 cm is 4.125 cm; the tape is read to 0.5 cm, and never more than they can do.
        check(r#"{{ own("knee-to-wall", 0.75, "two fingers") }} away"#, "4\u{a0}cm away");
        check(r#"{{ own("grip", 0.75, "two fingers") }} away"#, "two fingers away");
    }

    #[test]
    fn refuses_unknown_names_and_bad_syntax_and_endless_loops() {
        let unknown = Template::new("Bend your {{ sied }} knee.").fill(&facts()).unwrap_err();
        assert_eq!(unknown.range, Some(13..17));
        assert!(Template::new(r#"{{ own("knee-wall", 0.5, "x") }}"#).fill(&facts()).is_err());
        assert!(Template::new("{{ side").fill(&facts()).is_err());
        assert!(Template::new("{{ none }}").fill(&facts()).is_err());
        let endless = "{% for a in range(9999) %}{% for b in range(9999) %}x{% endfor %}{% endfor %}";
        assert!(Template::new(endless).fill(&facts()).unwrap_err().endless);
    }
}
