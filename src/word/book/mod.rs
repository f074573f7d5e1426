//! The library in words: a book for coaches, a poster for the wall, cards to cut.
//!
//! Nothing here is about one client. Texts with gaps are filled in by [`Librarian::facts`] alone: words and pictures show
//! the same side, and distances from a client's own reading stand as the text says for someone without one.

mod exercise;
mod lists;
mod test;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::civil::Date;
use serde::Serialize;
use serde_json::Value as Json;

use super::Speech;
use super::handout::{Frame, House};
use crate::body::{Side, Sides};
use crate::brand::Brand;
use crate::diag::{Problem, Rule};
use crate::library::Library;
use crate::library::exercise::Exercise;
use crate::print::{Look, Volume};
use crate::template::{Facts, Template, TemplateError};
use crate::words::Words;

pub use exercise::{DoseRow, Entry, Fact, Version};
pub use lists::{Group, Line, Listing};
pub use test::{Grid, Sign, TestEntry};

/// The side that words and pictures show where an exercise or test has sides.
pub const SHOWN: Side = Side::Left;

/// The library, worded and ready for a layout.
#[derive(Clone, Debug, Serialize)]
pub struct Book {
    /// Facts about the document.
    pub doc: Doc,
    /// Who prints.
    pub studio: Studio,
    /// Colours and typefaces.
    pub brand: House,
    /// Standing labels.
    pub labels: Json,
    /// What it is called.
    pub name: String,
    /// The day it stands for, if one was given.
    pub date: Option<String>,
    /// How to use it, a sentence each.
    pub notes: Vec<String>,
    /// Exercises by phase, in the order of work.
    pub phases: Vec<Chapter>,
    /// What only the book has.
    #[serde(flatten)]
    pub more: Option<Box<More>>,
}

/// What the book has beyond its exercises.
#[derive(Clone, Debug, Serialize)]
pub struct More {
    /// How much is in it, in a sentence.
    pub counts: String,
    /// Coaches: name, what they are, telephone.
    pub coaches: Vec<[String; 3]>,
    /// Tests.
    pub tests: Vec<TestEntry>,
    /// The listing by region, then the indexes.
    pub lists: Vec<Listing>,
    /// What the grades of evidence in sources mean.
    pub sources_lead: String,
    /// Sources, numbered from 1.
    pub sources: Vec<String>,
}

/// Who prints.
#[derive(Clone, Debug, Serialize)]
pub struct Studio {
    /// Name.
    pub name: String,
    /// Logo file, served by the typeset stage.
    pub logo_src: Option<String>,
    /// What the logo shows.
    pub logo_alt: String,
}

/// Facts about the document.
#[derive(Clone, Debug, Serialize)]
pub struct Doc {
    /// Language.
    pub lang: String,
    /// Region of the language.
    pub region: Option<String>,
    /// Title for the window bar.
    pub title: String,
    /// The day it stands for as year, month, day; a nominal one if none was given, for the PDF standards want one.
    pub ymd: [i32; 3],
    /// Paper, type, ink.
    pub look: Look,
    /// Whether pages have no running head and foot: everything on them is part of the text.
    pub bare: bool,
    /// Whether cards have a back.
    pub backs: bool,
}

/// The exercises of one phase.
#[derive(Clone, Debug, Serialize)]
pub struct Chapter {
    /// Its letter.
    pub letter: String,
    /// Its name.
    pub name: String,
    /// What it is for.
    pub purpose: String,
    /// Its exercises, in the order of names.
    pub exercises: Vec<Entry>,
}

/// Words a library, without any client.
pub struct Librarian<'a> {
    library: &'a Library,
    brand: &'a Brand,
    speech: Speech<'a>,
    tests: Arc<BTreeSet<String>>,
}

/// Sources in the order in which they are first named; each is told by its number.
#[derive(Default)]
struct Sources(Vec<String>);

impl Sources {
    fn number(&mut self, source: &str) -> usize {
        let known = self.0.iter().position(|known| known == source);
        known.unwrap_or_else(|| {
            self.0.push(source.to_owned());
            self.0.len() - 1
        }) + 1
    }
}

impl<'a> Librarian<'a> {
    /// A librarian for a practice.
    pub fn new(library: &'a Library, brand: &'a Brand, words: &'a Words) -> Self {
        let tests = Arc::new(library.tests.keys().map(ToString::to_string).collect());
        Self { library, brand, speech: Speech { words, system: brand.units }, tests }
    }

    /// Words the library for one kind of print.
    ///
    /// # Errors
    /// If a text of the library or of the standing texts cannot be filled in.
    pub fn write(&self, volume: Volume, on: Option<Date>, look: Look) -> Result<Book, Problem> {
        self.compose(volume, on, look).map_err(|error| refused(&error))
    }

    /// Fills in the words at a mark of a picture.
    ///
    /// # Errors
    /// If the text names something that is not known.
    pub fn label(&self, text: &str, sided: bool) -> Result<String, Problem> {
        let filled = self.facts(sided, None).and_then(|facts| Template::new(text).fill(&facts));
        filled.map_err(|error| refused(&error))
    }

    fn compose(&self, volume: Volume, on: Option<Date>, look: Look) -> Result<Book, TemplateError> {
        let words = &self.speech.words.book;
        let mut sources = Sources::default();
        let phases = self.chapters(volume, &mut sources)?;
        let more = match volume {
            Volume::Book => Some(Box::new(self.more(&phases, sources)?)),
            Volume::Poster | Volume::Cards { .. } => None,
        };
        let date = on.map(|day| self.speech.date_long(day)).transpose()?;
        let date = date.map(|date| self.speech.say(&words.as_of, &[("date", &date)])).transpose()?;
        let nominal = on.unwrap_or(NOMINAL);
        let notes = match volume {
            Volume::Book => vec![&words.note_sides, &words.note_scope],
            Volume::Poster => vec![&words.note_poster],
            Volume::Cards { .. } => vec![&words.cut_note, &words.note_sides],
        };
        let name = match volume {
            Volume::Book => &words.title,
            Volume::Poster => &words.title_poster,
            Volume::Cards { .. } => &words.title_cards,
        };
        let name = self.speech.say(name, &[])?;
        Ok(Book {
            doc: Doc {
                lang: self.speech.words.language.clone(),
                region: self.brand.region.clone(),
                title: format!("{}, {name}", self.brand.name),
                ymd: [i32::from(nominal.year()), i32::from(nominal.month()), i32::from(nominal.day())],
                look,
                bare: volume != Volume::Book,
                backs: volume == Volume::Cards { backs: true },
            },
            studio: self.studio()?,
            brand: House::of(self.brand),
            labels: self.speech.words.book_json(),
            name,
            date,
            notes: notes.into_iter().map(|note| self.speech.say(note, &[])).collect::<Result<_, _>>()?,
            phases,
            more,
        })
    }

    fn more(&self, phases: &[Chapter], mut sources: Sources) -> Result<More, TemplateError> {
        let words = &self.speech.words.book;
        let tests = self.tests(&mut sources)?;
        let exercises = phases.iter().map(|phase| phase.exercises.len()).sum::<usize>().to_string();
        let (phases, count) = (phases.len().to_string(), tests.len().to_string());
        let gaps = [("exercises", exercises.as_str()), ("phases", &phases), ("tests", &count)];
        let coach =
            |coach: &crate::brand::Coach| [coach.name.clone(), coach.role.clone(), super::unbroken(&coach.phone)];
        Ok(More {
            counts: self.speech.say(&words.counts, &gaps)?,
            coaches: self.brand.coaches.values().map(coach).collect(),
            lists: self.lists(),
            tests,
            sources_lead: self.speech.say(&words.sources_lead, &[])?,
            sources: sources.0,
        })
    }

    fn studio(&self) -> Result<Studio, TemplateError> {
        let alt = &self.speech.words.sentences.alt_logo;
        Ok(Studio {
            name: self.brand.name.clone(),
            logo_src: self.brand.logo.clone(),
            logo_alt: self.speech.say(alt, &[("name", &self.brand.name), ("what", &self.brand.logo_alt)])?,
        })
    }

    /// What the texts of the library may name when there is no client.
    fn facts(&self, sided: bool, tool: Option<&str>) -> Result<Facts, TemplateError> {
        let words = &self.speech.words.book;
        let mut values = BTreeMap::from([
            ("goal", self.speech.say(&words.any_goal, &[])?),
            ("coach", self.speech.say(&words.any_coach, &[])?),
            ("tool", tool.unwrap_or_default().to_owned()),
        ]);
        if sided {
            values.insert("side", self.speech.side_word(SHOWN));
            values.insert("other_side", self.speech.side_word(SHOWN.other()));
        }
        let forms = if sided { self.speech.words.side_forms(SHOWN) } else { BTreeMap::new() };
        // Without readings every `own(..)` prints what it says for those who have none.
        Ok(Facts { values, forms, readings: Arc::default(), tests: Arc::clone(&self.tests) })
    }

    /// The library's exercises of each phase, in the order of names.
    fn in_order(&self) -> impl Iterator<Item = Vec<&'a Exercise>> {
        let all = &self.library.exercises;
        self.library.phases.iter().map(move |phase| {
            let mut exercises: Vec<&Exercise> = all.values().filter(|exercise| exercise.phase == phase.id).collect();
            exercises.sort_by_key(|exercise| exercise.name.to_lowercase());
            exercises
        })
    }

    fn chapters(&self, volume: Volume, sources: &mut Sources) -> Result<Vec<Chapter>, TemplateError> {
        let mut n = 0;
        let mut chapters = Vec::new();
        for (phase, exercises) in self.library.phases.iter().zip(self.in_order()) {
            let entry = |exercise: &&Exercise| {
                n += 1;
                self.entry(n, exercise, volume, sources)
            };
            let exercises = exercises.iter().map(entry).collect::<Result<Vec<_>, _>>()?;
            if exercises.is_empty() {
                continue;
            }
            let letter = char::from(b'A' + u8::try_from(chapters.len()).unwrap_or(25).min(25));
            chapters.push(Chapter {
                letter: letter.to_string(),
                name: phase.name.clone(),
                purpose: phase.purpose.clone(),
                exercises,
            });
        }
        Ok(chapters)
    }
}

fn refused(error: &TemplateError) -> Problem {
    let rule = if error.endless { Rule::TemplateFuel } else { Rule::BadTemplate };
    Problem::about(rule, "exercises", format!("a text of the library cannot be filled in: {error}"))
        .help("correct the text in the library or in layouts/words")
}

/// The day that a book carries in its file when none was given; it is printed nowhere.
const NOMINAL: Date = Date::constant(2000, 1, 1);

/// Whether an exercise works on one side at a time.
pub fn has_sides(exercise: &Exercise) -> bool {
    exercise.sides.iter().any(|sides| *sides != Sides::Both)
}

/// A practice's own pictures of an exercise, which replace those drawn from poses.
fn own_frames(
    exercise: &Exercise,
    fill: impl Fn(&Template) -> Result<String, TemplateError>,
) -> Result<Vec<Frame>, TemplateError> {
    let frame = |picture: &crate::library::exercise::OwnPicture| {
        Ok(Frame {
            src: picture.file.clone(),
            alt: fill(&picture.alt)?,
            caption: None,
            svg: None,
            ratio: None,
            wrong: false,
            marks: Vec::new(),
        })
    };
    exercise.pictures.iter().map(frame).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::print::{Ink, Paper, Type};
    use crate::testing::demo;

    fn write(volume: Volume) -> Book {
        let practice = demo();
        let look = Look { paper: Paper::A4, type_size: Type::Normal, ink: Ink::Colour };
        Librarian::new(&practice.library, &practice.brand, &practice.words).write(volume, None, look).unwrap()
    }

    fn entry<'b>(book: &'b Book, name: &str) -> &'b Entry {
        book.phases.iter().flat_map(|phase| &phase.exercises).find(|entry| entry.name == name).unwrap()
    }

    #[test]
    fn texts_are_worded_for_nobody_in_particular() {
        let book = write(Volume::Book);
        let mut all = serde_json::to_value(&book).unwrap();
        // Labels are a list that layouts take from; those with gaps are filled in before they are taken.
        all["labels"] = serde_json::Value::Null;
        assert!(!all.to_string().contains("{{"), "a gap was left open: {all:#}");
        // Knee to wall prints three quarters of the client's own reading; without one it says what a hand can measure.
        let knee = entry(&book, "Knee to wall").how.as_ref().unwrap();
        let words = serde_json::to_string(knee).unwrap();
        assert!(words.contains("two fingers") && words.contains("left") && !words.contains("own("), "{words}");
    }

    #[test]
    fn sides_are_said_as_the_exercise_is_done() {
        let book = write(Volume::Book);
        assert_eq!(entry(&book, "Wall slide").sides.as_deref(), Some("One side, or one after the other. Shown: left"));
        assert_eq!(entry(&book, "Slow bridge").sides.as_deref(), Some("Both at once"));
    }

    #[test]
    fn a_dose_tells_where_to_start_and_how_far_it_may_go() {
        let book = write(Volume::Book);
        let said: Vec<String> = entry(&book, "Wall slide")
            .dose
            .iter()
            .map(|row| format!("{} {} [{}]", row.n, row.unit, row.range.as_deref().unwrap_or("")))
            .collect();
        // As exercises/loosen/wall-slide.toml has it.
        let expected = [
            "2 rounds [1 to 2]",
            "8 times [5 to 10]",
            "3 sec hold [2 to 3]",
            "30 sec rest [15 to 60]",
            "5 days a week [3 to 7]",
            "3 of 10 effort [up to 4]",
        ];
        assert_eq!(said, expected);
        // On cards and poster there is no choice, and what counts for each side says so.
        let cards = write(Volume::Cards { backs: false });
        assert_eq!(entry(&cards, "Wall slide").dose[1].unit, "times each side");
        assert_eq!(entry(&cards, "Slow bridge").dose[1].unit, "times");
    }

    #[test]
    fn every_exercise_and_test_is_listed_by_region_and_position() {
        let book = write(Volume::Book);
        let more = book.more.as_ref().unwrap();
        let count = book.phases.iter().map(|phase| phase.exercises.len()).sum::<usize>();
        assert_eq!(count, demo().library.exercises.len());
        for list in [&more.lists[0], &more.lists[3]] {
            let named = |test: bool| -> BTreeSet<usize> {
                let lines = list.groups.iter().flat_map(|group| &group.lines);
                lines.filter(|line| line.test == test).map(|line| line.n).collect()
            };
            assert_eq!((named(false).len(), named(true).len()), (count, more.tests.len()), "{}", list.head);
        }
    }

    #[test]
    fn usual_ranges_stand_by_age_with_the_numbers_of_their_sources() {
        let book = write(Volume::Book);
        let more = book.more.as_ref().unwrap();
        let test = |name: &str| more.tests.iter().find(|test| test.name == name).unwrap();
        let ankle = test("Ankle bend").usual.as_ref().unwrap();
        assert_eq!(ankle.rows, [["18 or more", "9 to 13\u{a0}cm"]]);
        let reach = test("Chair reach").usual.as_ref().unwrap();
        assert_eq!(reach.head, ["Age", "Women", "Men"]);
        assert_eq!(reach.rows.len(), 7);
        // Rikli and Jones, men of 60 to 64: from 6.4 cm short of the toes, to the half centimetre of the tape.
        assert_eq!(reach.rows[0][2], "\u{2212}6.5 to 10\u{a0}cm");
        assert!(reach.sources.iter().all(|number| (1..=more.sources.len()).contains(number)));
        for source in &more.sources {
            assert_eq!(more.sources.iter().filter(|other| *other == source).count(), 1, "{source}");
        }
    }
}
