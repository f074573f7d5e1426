//! A test: how it is done, what is usual, how far two readings may differ by chance, and what a limit points to.

use crate::ids::{EquipmentId, FlagId, StructureId, TestId};
use crate::library::Correction;
use crate::library::vocabulary::{Features, State};
use crate::template::Template;
use crate::units::{Amount, Unit};

/// The sex that reference values are split by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sex {
    /// Female.
    Female,
    /// Male.
    Male,
}

impl Sex {
    /// Both, with the words used in files.
    pub const ALL: [(&'static str, Self); 2] = [("female", Self::Female), ("male", Self::Male)];
}

/// Which way a reading gets better.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Better {
    /// More is better.
    Higher,
    /// Less is better.
    Lower,
}

impl Better {
    /// Both, with the words used in files.
    pub const ALL: [(&'static str, Self); 2] = [("higher", Self::Higher), ("lower", Self::Lower)];
}

/// The usual range for some people.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reference {
    /// Whom it is for; `None` is anyone.
    pub sex: Option<Sex>,
    /// Youngest and oldest age in whole years.
    pub ages: (u32, u32),
    /// Lower edge of the usual range, if there is one.
    pub low: Option<Amount>,
    /// Upper edge, if there is one.
    pub high: Option<Amount>,
    /// Where the figures come from.
    pub source: String,
}

/// Measuring error of the method, between days.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MeasuringError {
    /// Standard error of measurement, if published.
    pub sem: Option<Amount>,
    /// Smallest change that is real at 95 %.
    pub mdc95: Amount,
    /// Where the figures come from.
    pub source: String,
}

/// A figure with its source.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sourced {
    /// The figure.
    pub amount: Amount,
    /// Where it comes from.
    pub source: String,
}

/// A reading with which a clinician should see the client before any exercise.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SendsOn {
    /// Readings that are worse than this.
    pub beyond: Amount,
    /// Whether a reading of just this much sends on too.
    pub inclusive: bool,
    /// The screening question that it answers with yes.
    pub flag: FlagId,
    /// Where the figure comes from.
    pub source: String,
}

/// What one observation says of one structure.
#[derive(Clone, Debug, PartialEq)]
pub struct Evidence {
    /// The structure.
    pub structure: StructureId,
    /// The state it is thought to be in.
    pub state: State,
    /// Working weight, 0 to 1; not a trade figure.
    pub weight: f64,
}

/// A visible way of falling short in a test.
#[derive(Clone, Debug, PartialEq)]
pub struct Sign {
    /// Its id within the test.
    pub id: String,
    /// The coach's words.
    pub see: String,
    /// The client's words, completing "We saw that ...".
    pub say: Template,
    /// What it points to.
    pub evidence: Vec<Evidence>,
}

/// What the client reads of a result.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TestWords {
    /// Title when one side is limited.
    pub limited: Option<Template>,
    /// Title when both sides are, or when the test has no sides.
    pub limited_both: String,
    /// What it may mean, one side.
    pub meaning: Option<Template>,
    /// What it may mean, both sides or no sides.
    pub meaning_both: String,
    /// One line when all is well.
    pub fine: String,
}

/// How a client repeats the test alone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HomeCheck {
    /// What the client reads as its name.
    pub name: String,
    /// What is needed.
    pub kit: Vec<EquipmentId>,
    /// Steps, one action each.
    pub steps: Vec<String>,
    /// The heading of each side in the table, such as "Standing on {{ side }}".
    pub each_side: Option<Template>,
    /// Pain limit, longest time, shoes.
    pub note: String,
}

/// A chart axis: round steps from `min` to `max`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Scale {
    /// Left end.
    pub min: Amount,
    /// Right end.
    pub max: Amount,
    /// Distance between marks.
    pub step: Amount,
}

/// A test.
#[derive(Clone, Debug, PartialEq)]
pub struct Test {
    /// Its id.
    pub id: TestId,
    /// Its name, without a side.
    pub name: String,
    /// The client's words, completing "This test shows ...".
    pub about: String,
    /// What it is read in.
    pub unit: Unit,
    /// Whether left and right are read apart.
    pub sided: bool,
    /// Which way is better.
    pub better: Better,
    /// The instrument's finest step.
    pub resolution: Amount,
    /// Least and greatest reading that can be true.
    pub possible: (Amount, Amount),
    /// Method, position and instrument: readings compare only within one method.
    pub method: String,
    /// The joint motion that the reading is, as pose files name it; none if it is something else.
    pub motion: Option<String>,
    /// Readings that need a clinician first.
    pub sends_on: Vec<SendsOn>,
    /// Where on the body, in which position, and what else safety rules speak of.
    pub features: Features,
    /// What the coach needs for it.
    pub kit: Vec<EquipmentId>,
    /// How the coach does it.
    pub how: Vec<String>,
    /// Pain at which the test stops.
    pub pain_stops_at: u32,
    /// Chart axis.
    pub scale: Scale,
    /// Usual ranges; the first that fits the client counts.
    pub references: Vec<Reference>,
    /// Measuring error, if known.
    pub error: Option<MeasuringError>,
    /// Smallest change that people find worthwhile, if known.
    pub worthwhile: Option<Sourced>,
    /// Side differences up to this are usual: in the unit, or in percent for times, counts and forces.
    pub side_difference: Option<Sourced>,
    /// Whether readings are judged at all.
    pub judged: bool,
    /// Grades, worst first, for tests read in grades.
    pub grades: Vec<String>,
    /// Signs to watch for.
    pub signs: Vec<Sign>,
    /// What a limited reading points to.
    pub limited: Vec<Evidence>,
    /// What a usual reading speaks against.
    pub fine: Vec<Evidence>,
    /// The client's words.
    pub words: TestWords,
    /// How to repeat it at home, if that is safe alone.
    pub home: Option<HomeCheck>,
    /// Corrections since it was first used, in the order of the file.
    pub corrections: Vec<Correction>,
}

impl Better {
    /// The edges of a usual range, the worse one first.
    pub fn edges(self, range: &Reference) -> (Option<Amount>, Option<Amount>) {
        match self {
            Self::Higher => (range.low, range.high),
            Self::Lower => (range.high, range.low),
        }
    }

    /// How far `value` falls short of `edge` in the direction that is worse; negative if it does not.
    pub fn shortfall(self, value: Amount, edge: Amount) -> Amount {
        match self {
            Self::Higher => edge.minus(value),
            Self::Lower => value.minus(edge),
        }
    }
}

impl Test {
    /// Every text of it that a client may read.
    pub fn texts(&self) -> impl Iterator<Item = &str> {
        let words = &self.words;
        let titles = words.limited.iter().chain(&words.meaning).chain(self.signs.iter().map(|sign| &sign.say));
        let plain = [&self.name, &self.about, &words.limited_both, &words.meaning_both, &words.fine];
        let home = self.home.iter().flat_map(|home| {
            [&home.name, &home.note]
                .into_iter()
                .chain(&home.steps)
                .map(String::as_str)
                .chain(home.each_side.as_ref().map(Template::source))
        });
        let plain = plain.into_iter().chain(&self.grades).map(String::as_str);
        plain.chain(titles.map(Template::source)).chain(home)
    }

    /// The first reading, in the instrument's steps, that lies at least `change` above (`up`) or below `now`; none if
    /// that is no possible reading.
    pub fn beyond(&self, now: Amount, change: Amount, up: bool) -> Option<Amount> {
        let edge = if up { now.plus(change) } else { now.minus(change) };
        let step = edge.to_nearest(self.resolution);
        let short = if up { step < edge } else { step > edge };
        let reached = match (short, up) {
            (false, _) => step,
            (true, true) => step.plus(self.resolution),
            (true, false) => step.minus(self.resolution),
        };
        (self.possible.0 <= reached && reached <= self.possible.1).then_some(reached)
    }

    /// What a reading answers by itself: screening questions with yes.
    pub fn sends_on(&self, value: Amount) -> impl Iterator<Item = &SendsOn> {
        self.sends_on.iter().filter(move |rule| {
            let short = self.better.shortfall(value, rule.beyond);
            short > Amount::default() || (rule.inclusive && short == Amount::default())
        })
    }

    /// The usual range for a person, if the data has one.
    pub fn reference(&self, sex: Option<Sex>, age: Option<u32>) -> Option<&Reference> {
        self.references.iter().find(|reference| {
            let sex_fits = reference.sex.is_none() || reference.sex == sex;
            // Without a birth date only a range for every adult can be used.
            let age_fits = age.map_or(reference.ages.0 <= 18 && reference.ages.1 >= 100, |age| {
                (reference.ages.0..=reference.ages.1).contains(&age)
            });
            sex_fits && age_fits
        })
    }
}

#[cfg(test)]
mod tests {
    use crate::ids::{Id, TestId};
    use crate::testing::demo;
    use crate::units::Amount;

    #[test]
    fn the_reading_of_a_real_change_is_never_short_of_it_and_always_possible() {
        // Ankle bend: read to 0.5 cm, 0 to 25 cm.
        let test = &demo().library.tests[&TestId::new("knee-to-wall").unwrap()];
        let amount = |value: f64| Amount::from_f64(value).unwrap();
        assert_eq!(test.beyond(amount(6.5), amount(2.0), true), Some(amount(8.5)));
        assert_eq!(test.beyond(amount(6.5), amount(1.6), true), Some(amount(8.5)));
        assert_eq!(test.beyond(amount(6.5), amount(1.6), false), Some(amount(4.5)));
        assert_eq!(test.beyond(amount(24.0), amount(2.0), true), None);
        assert_eq!(test.beyond(amount(1.0), amount(2.0), false), None);
    }
}
