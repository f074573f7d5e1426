//! Quantities a coach measures, their units, and how they are read and printed.
//!
//! Inside, a quantity is a whole number of hundredths of its unit, so that sums are exact and values can be compared and
//! hashed. Which direction is better belongs to the test, not to the quantity.

use std::fmt;

/// What a test's reading is counted in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Unit {
    /// A length, in centimetres.
    Centimetre,
    /// An angle, in degrees, neutral-zero method.
    Degree,
    /// A time, in seconds.
    Second,
    /// A number of repetitions.
    Count,
    /// A force read off a grip meter or scale, in kilograms.
    Kilogram,
    /// A place in a test's own ordered list of grades, worst first, starting at 0.
    Grade,
}

/// Units in which lengths and weights are shown to the client.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum System {
    /// Centimetres and kilograms.
    Metric,
    /// Inches and pounds.
    Imperial,
}

/// A quantity, kept to a hundredth of its unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Amount {
    hundredths: i64,
}

/// Largest magnitude that any reading may have, in the unit; beyond it the input is a typing slip.
const LARGEST: f64 = 10_000.0;

/// Millimetres in an inch, exact by definition (international inch).
const MM_PER_INCH: f64 = 25.4;
/// Kilograms in a pound, exact by definition (international pound).
const KG_PER_POUND: f64 = 0.453_592_37;

impl Amount {
    /// The nearest hundredth to `value`, or `None` if it is not finite or beyond ten thousand.
    pub fn from_f64(value: f64) -> Option<Self> {
        (value.is_finite() && value.abs() <= LARGEST).then(|| Self { hundredths: (value * 100.0).round() as i64 })
    }

    /// A whole number of units.
    pub const fn whole(units: i64) -> Self {
        Self { hundredths: units * 100 }
    }

    /// The value in its unit.
    pub fn to_f64(self) -> f64 {
        self.hundredths as f64 / 100.0
    }

    /// The distance from `other`, never negative.
    pub fn distance(self, other: Self) -> Self {
        Self { hundredths: (self.hundredths - other.hundredths).abs() }
    }

    /// This amount less `other`.
    pub fn minus(self, other: Self) -> Self {
        Self { hundredths: self.hundredths - other.hundredths }
    }

    /// This amount and `other` together.
    pub fn plus(self, other: Self) -> Self {
        Self { hundredths: self.hundredths + other.hundredths }
    }

    /// The nearest multiple of `step`; a `step` of zero leaves the amount as it is.
    pub fn to_nearest(self, step: Self) -> Self {
        if step.hundredths == 0 {
            return self;
        }
        let (n, d) = (self.hundredths, step.hundredths.abs());
        Self { hundredths: (n + n.signum() * d / 2) / d * d }
    }

    /// The smallest multiple of `step` that is no nearer to zero than this amount.
    pub fn up_to(self, step: Self) -> Self {
        let down = self.down_to(step);
        if down == self {
            return self;
        }
        Self { hundredths: down.hundredths + self.hundredths.signum() * step.hundredths.abs() }
    }

    /// The largest multiple of `step` that is no further from zero than this amount.
    pub fn down_to(self, step: Self) -> Self {
        if step.hundredths == 0 {
            return self;
        }
        let d = step.hundredths.abs();
        Self { hundredths: self.hundredths / d * d }
    }
}

impl fmt::Display for Amount {
    /// At most two decimals, without trailing zeros: `7`, `7.5`, `-0.25`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (whole, part) = (self.hundredths.abs() / 100, self.hundredths.abs() % 100);
        if self.hundredths < 0 {
            f.write_str("-")?;
        }
        match (part, part % 10) {
            (0, _) => write!(f, "{whole}"),
            (_, 0) => write!(f, "{whole}.{}", part / 10),
            _ => write!(f, "{whole}.{part:02}"),
        }
    }
}

/// Why a written quantity could not be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BadQuantity {
    /// No number at the start.
    #[error("`{0}` does not start with a number")]
    NoNumber(String),
    /// A unit nobody knows here.
    #[error("`{0}` is not a unit that Kinleaf knows")]
    UnknownUnit(String),
    /// A unit of another kind, such as inches for an angle.
    #[error("`{found}` does not convert to {wanted}")]
    OtherKind {
        /// The unit as written.
        found: String,
        /// The unit that the test is read in.
        wanted: &'static str,
    },
    /// Not a number, infinite, or absurdly large.
    #[error("`{0}` is not a number that can be measured")]
    NotMeasurable(String),
}

/// Units a coach may write, the kind each belongs to, and how many of that kind's unit one of it makes.
const WRITTEN: &[(&str, Unit, f64)] = &[
    ("cm", Unit::Centimetre, 1.0),
    ("mm", Unit::Centimetre, 0.1),
    ("m", Unit::Centimetre, 100.0),
    ("in", Unit::Centimetre, MM_PER_INCH / 10.0),
    ("inch", Unit::Centimetre, MM_PER_INCH / 10.0),
    ("inches", Unit::Centimetre, MM_PER_INCH / 10.0),
    ("\"", Unit::Centimetre, MM_PER_INCH / 10.0),
    ("deg", Unit::Degree, 1.0),
    ("degrees", Unit::Degree, 1.0),
    ("°", Unit::Degree, 1.0),
    ("s", Unit::Second, 1.0),
    ("sec", Unit::Second, 1.0),
    ("seconds", Unit::Second, 1.0),
    ("min", Unit::Second, 60.0),
    ("kg", Unit::Kilogram, 1.0),
    ("lb", Unit::Kilogram, KG_PER_POUND),
    ("times", Unit::Count, 1.0),
];

/// `2.25inches` as `2.25 in`: a number, a space and the unit as it is usually written; `None` if it is so already, or if it
/// is no quantity.
pub fn usual(text: &str) -> Option<String> {
    let trimmed = text.trim();
    let end = trimmed.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+')))?;
    let (number, written) = (&trimmed[..end], trimmed[end..].trim());
    number.parse::<f64>().ok()?;
    let (_, unit, factor) = WRITTEN.iter().find(|(name, ..)| name.eq_ignore_ascii_case(written))?;
    let (name, ..) = WRITTEN.iter().find(|(_, other, same)| other == unit && same == factor)?;
    Some(format!("{number} {name}")).filter(|usual| usual != text)
}

impl Unit {
    /// Every unit, with the word that a test file uses for it.
    pub const ALL: [(&'static str, Self); 6] = [
        ("cm", Self::Centimetre),
        ("deg", Self::Degree),
        ("s", Self::Second),
        ("count", Self::Count),
        ("kg", Self::Kilogram),
        ("grade", Self::Grade),
    ];

    /// The word that a test file uses for this unit.
    pub fn key(self) -> &'static str {
        match self {
            Self::Centimetre => "cm",
            Self::Degree => "deg",
            Self::Second => "s",
            Self::Count => "count",
            Self::Kilogram => "kg",
            Self::Grade => "grade",
        }
    }

    /// As a coach says it.
    pub fn spoken(self) -> &'static str {
        match self {
            Self::Degree => "degrees",
            Self::Second => "seconds",
            Self::Count => "times",
            Self::Centimetre | Self::Kilogram | Self::Grade => self.key(),
        }
    }

    /// Reads `7.5`, `7.5 cm` or `3 in` into this unit; a bare number is in this unit already.
    ///
    /// # Errors
    /// If the text does not start with a number, the unit is unknown, or it is of another kind.
    pub fn read(self, text: &str) -> Result<Amount, BadQuantity> {
        let text = text.trim();
        let end = text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+'))).unwrap_or(text.len());
        let number: f64 = text[..end].parse().map_err(|_| BadQuantity::NoNumber(text.to_owned()))?;
        let written = text[end..].trim();
        let factor = if written.is_empty() {
            1.0
        } else {
            let (_, kind, factor) = WRITTEN
                .iter()
                .find(|(name, ..)| name.eq_ignore_ascii_case(written))
                .ok_or_else(|| BadQuantity::UnknownUnit(written.to_owned()))?;
            if *kind != self {
                return Err(BadQuantity::OtherKind { found: written.to_owned(), wanted: self.key() });
            }
            *factor
        };
        Amount::from_f64(number * factor).ok_or_else(|| BadQuantity::NotMeasurable(text.to_owned()))
    }

    /// The number to print for `amount`, no finer than the instrument's `resolution`, in the client's units.
    pub fn show(self, amount: Amount, resolution: Amount, system: System) -> Amount {
        match (self.shown_as(system), self) {
            // An inch rule is read to a quarter where a tape is read to half a centimetre.
            (Shown::Inch, _) => scaled(amount, 10.0 / MM_PER_INCH).to_nearest(QUARTER),
            (Shown::Pound, _) => scaled(amount, 1.0 / KG_PER_POUND).to_nearest(Amount::whole(1)),
            // Seconds: 0.1 under 10 s, else 1 (trade-figures section 2).
            (_, Self::Second) if amount.distance(Amount::default()) >= Amount::whole(10) => {
                amount.to_nearest(Amount::whole(1))
            }
            _ => amount.to_nearest(resolution),
        }
    }

    /// The number to print for a change that counts: the smallest printable one that is no less than `amount`, so that
    /// whoever adds it to a printed reading is on the safe side.
    pub fn show_change(self, amount: Amount, resolution: Amount, system: System) -> Amount {
        match self.shown_as(system) {
            Shown::Inch => scaled(amount, 10.0 / MM_PER_INCH).up_to(QUARTER),
            Shown::Pound => scaled(amount, 1.0 / KG_PER_POUND).up_to(Amount::whole(1)),
            Shown::Second if amount >= Amount::whole(10) => amount.up_to(Amount::whole(1)),
            _ => amount.up_to(resolution),
        }
    }

    /// The unit in which a quantity of this kind is printed.
    pub fn shown_as(self, system: System) -> Shown {
        match (self, system) {
            (Self::Centimetre, System::Metric) => Shown::Centimetre,
            (Self::Centimetre, System::Imperial) => Shown::Inch,
            (Self::Kilogram, System::Metric) => Shown::Kilogram,
            (Self::Kilogram, System::Imperial) => Shown::Pound,
            (Self::Degree, _) => Shown::Degree,
            (Self::Second, _) => Shown::Second,
            (Self::Count, _) => Shown::Count,
            (Self::Grade, _) => Shown::Grade,
        }
    }

    /// Whether side differences are judged as a share (times, forces, counts) or as a plain difference (angles, distances).
    pub fn compares_by_share(self) -> bool {
        matches!(self, Self::Second | Self::Count | Self::Kilogram)
    }
}

/// A quarter of an inch.
const QUARTER: Amount = Amount { hundredths: 25 };

/// The units that reach paper; their words are standing texts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shown {
    /// Centimetres.
    Centimetre,
    /// Inches.
    Inch,
    /// Degrees.
    Degree,
    /// Seconds.
    Second,
    /// Repetitions.
    Count,
    /// Kilograms.
    Kilogram,
    /// Pounds.
    Pound,
    /// A grade, shown by its name.
    Grade,
}

fn scaled(amount: Amount, factor: f64) -> Amount {
    Amount { hundredths: (amount.hundredths as f64 * factor).round() as i64 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(unit: Unit, text: &str, hundredths: i64) {
        assert_eq!(unit.read(text), Ok(Amount { hundredths }));
    }

    #[test]
    fn reads_units_by_their_definition() {
        check(Unit::Centimetre, "7.5", 750);
        check(Unit::Centimetre, "3 in", 762);
        check(Unit::Centimetre, "75mm", 750);
        check(Unit::Second, "1.5 min", 9000);
        check(Unit::Kilogram, "100 lb", 4536);
        check(Unit::Degree, "-12°", -1200);
    }

    #[test]
    fn a_change_that_counts_is_never_printed_smaller_than_it_is() {
        let half = Amount::from_f64(0.5).unwrap();
        let change = |unit: Unit, v: f64, s| unit.show_change(Amount::from_f64(v).unwrap(), half, s).to_string();
        // 2 cm are 0.79 in: three quarters would be too little.
        assert_eq!(change(Unit::Centimetre, 2.0, System::Imperial), "1");
        assert_eq!(change(Unit::Centimetre, 2.0, System::Metric), "2");
        assert_eq!(change(Unit::Centimetre, 2.1, System::Metric), "2.5");
        assert_eq!(change(Unit::Second, 10.2, System::Metric), "11");
        assert_eq!(change(Unit::Kilogram, 5.0, System::Imperial), "12");
    }

    #[test]
    fn refuses_what_does_not_convert() {
        assert!(matches!(Unit::Degree.read("3 in"), Err(BadQuantity::OtherKind { .. })));
        assert!(matches!(Unit::Centimetre.read("3 hands"), Err(BadQuantity::UnknownUnit(_))));
        assert!(matches!(Unit::Centimetre.read("nan"), Err(BadQuantity::NoNumber(_))));
        assert!(matches!(Unit::Centimetre.read("99999999"), Err(BadQuantity::NotMeasurable(_))));
    }

    #[test]
    fn prints_no_finer_than_the_instrument() {
        let half = Amount::from_f64(0.5).unwrap();
        let show = |unit: Unit, v: f64, r: Amount, s| unit.show(Amount::from_f64(v).unwrap(), r, s).to_string();
        assert_eq!(show(Unit::Centimetre, 5.6, half, System::Metric), "5.5");
        assert_eq!(show(Unit::Centimetre, 5.5, half, System::Imperial), "2.25");
        assert_eq!(show(Unit::Second, 14.3, Amount::from_f64(0.1).unwrap(), System::Metric), "14");
        assert_eq!(show(Unit::Second, 4.36, Amount::from_f64(0.1).unwrap(), System::Metric), "4.4");
        assert_eq!(show(Unit::Kilogram, 30.0, half, System::Imperial), "66");
    }

    #[test]
    fn rounds_half_away_from_zero_and_down_towards_it() {
        let half = Amount::from_f64(0.5).unwrap();
        let at = |v: f64| Amount::from_f64(v).unwrap();
        assert_eq!(at(5.75).to_nearest(half), at(6.0));
        assert_eq!(at(-5.75).to_nearest(half), at(-6.0));
        assert_eq!(at(5.9).down_to(half), at(5.5));
        assert_eq!(at(-5.9).down_to(half), at(-5.5));
    }
}
