//! Texts with gaps: library sentences that are filled in for one client.
//!
//! A template yields a plain string. What a client's record says is only ever a value in it, never template source.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::Arc;

use minijinja::value::Value;
use minijinja::{AutoEscape, Environment, Error, ErrorKind, Output, State, UndefinedBehavior};

/// Work that one template may do; a sentence needs about twenty, an endless loop any number.
const FUEL: u64 = 20_000;

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
            facts.values.iter().map(|(name, value)| (*name, Value::from(value.as_str()))).collect();
        let (readings, tests) = (Arc::clone(&facts.readings), Arc::clone(&facts.tests));
        context.insert(
            "own",
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
    Ok(format!("{shown}\u{a0}{}", reading.word))
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

/// One ordinary space between words; no-break spaces stay.
fn tidy(text: &str) -> String {
    text.split([' ', '\n', '\t', '\r']).filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
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
        };
        Facts {
            values: BTreeMap::from([("side", "right".to_owned())]),
            readings: Arc::new(BTreeMap::from([("knee-to-wall".to_owned(), reading)])),
            tests: Arc::new(BTreeSet::from(["knee-to-wall".to_owned(), "grip".to_owned()])),
        }
    }

    #[track_caller]
    fn check(source: &str, expected: &str) {
        assert_eq!(Template::new(source).fill(&facts()).unwrap(), expected);
    }

    #[test]
    fn fills_in_sides_and_own_readings() {
        check("Bend your {{ side }} knee.", "Bend your right knee.");
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
