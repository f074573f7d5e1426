//! The library in print: a book for coaches, a poster, cards.

use std::path::PathBuf;

use jiff::civil::Date;
use serde::Serialize;

use super::prepare::framed;
use super::with;
use crate::check::{Practice, check};
use crate::diag::{Problem, Rule, Severity, in_order};
use crate::draw::{Figure, Said, Show, Subject, Wanted};
use crate::library::exercise::Exercise;
use crate::load::load;
use crate::print::{Ink, Look, Type, Volume, Wishes};
use crate::publish;
use crate::typeset::{self, Typesetter};
use crate::word::book::{Book, Entry, Librarian, SHOWN, TestEntry, has_sides};
use crate::word::handout::Frame;

/// What to print of the library, and how.
#[derive(Clone, Debug)]
pub struct BookOrder {
    /// The practice folder.
    pub practice: PathBuf,
    /// The folder for it.
    pub out: PathBuf,
    /// Book, poster or cards.
    pub volume: Volume,
    /// Paper and ink, where the command line asks for them.
    pub wishes: Wishes,
    /// The day that it stands for, if one is to be printed.
    pub on: Option<Date>,
}

/// A library in print.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Bound {
    /// Its file in the folder.
    pub file: String,
    /// Pages.
    pub pages: usize,
    /// Bytes.
    pub bytes: usize,
    /// Exercises in it.
    pub exercises: usize,
}

/// Prints the library. A library with an error in it is not printed: a book that lacks an exercise without saying so
/// would be taken for the whole.
///
/// # Errors
/// If there is no practice, if anything in its library is in error, or if the file cannot be written.
pub fn book(order: &BookOrder) -> Result<(Bound, Vec<Problem>), Vec<Problem>> {
    let (practice, warnings) = open(order)?;
    let usual = practice.brand.wishes.settle();
    // Everything but the handout has one size of type.
    let look = Look { type_size: Type::Normal, ..order.wishes.or(practice.brand.wishes).settle() };
    let librarian = Librarian::new(&practice.library, &practice.brand, &practice.words);
    let mut book = librarian.write(order.volume, order.on, look).map_err(|problem| with(problem, &warnings))?;
    // A logo that cannot be used has been reported.
    if practice.logo.is_none() {
        book.studio.logo_src = None;
    }
    illustrate(&practice, &librarian, &mut book, order.volume, look.ink).map_err(|problem| with(problem, &warnings))?;
    let typesetter = Typesetter::new(&practice).map_err(|problem| with(problem, &warnings))?;
    let name = order.volume.key();
    let (data, ident) = (typeset::data(&book), format!("library/{name}"));
    let pdf = on_own_thread(|| typesetter.typeset_library(order.volume.layout(), &data, &ident))?;
    let file = file_name(order.volume, look, usual);
    publish::file(&order.out, &file, &pdf.bytes).map_err(|problem| with(problem, &warnings))?;
    let exercises = book.phases.iter().map(|phase| phase.exercises.len()).sum();
    Ok((Bound { file, pages: pdf.pages, bytes: pdf.bytes.len(), exercises }, warnings))
}

/// A practice whose library is sound. It may be without clients.
fn open(order: &BookOrder) -> Result<(Practice, Vec<Problem>), Vec<Problem>> {
    let (files, mut problems) = load(&order.practice);
    let no_practice = |problem: &Problem| problem.rule == Rule::NoPractice && problem.file() != Some("clients");
    if problems.iter().any(no_practice) {
        return Err(problems);
    }
    let (practice, found) = check(files);
    problems.extend(found);
    problems.retain(|problem| problem.file() != Some("clients") && problem.rule != Rule::DraftTranslation);
    let problems = in_order(problems);
    match practice {
        Some(practice) if problems.iter().all(|problem| problem.severity() < Severity::Error) => {
            Ok((practice, problems))
        }
        Some(_) | None => Err(problems),
    }
}

/// `book.pdf`, `cards-letter.pdf`: what differs from the practice's usual look is in the name.
fn file_name(volume: Volume, look: Look, usual: Look) -> String {
    let mut name = volume.key().to_owned();
    for (differs, word) in [
        (look.paper != usual.paper, serde_json::json!(look.paper)),
        (look.ink != usual.ink, serde_json::json!(look.ink)),
    ] {
        if let (true, Some(word)) = (differs, word.as_str()) {
            name.push('-');
            name.push_str(word);
        }
    }
    name + ".pdf"
}

/// Deeply nested layouts need a deep stack; the typesetter may use every core, since nothing else runs.
fn on_own_thread<T: Send>(work: impl FnOnce() -> T + Send) -> T {
    let pool = rayon::ThreadPoolBuilder::new().stack_size(super::WORKER_STACK).build();
    pool.expect("the system lets a program start threads").install(work)
}

/// A picture with its place among those of one thing, from 1.
type Numbered<'f> = (&'f Figure, Frame);

/// Adds the pictures drawn from poses, each drawn once.
fn illustrate(
    practice: &Practice,
    librarian: &Librarian<'_>,
    book: &mut Book,
    volume: Volume,
    ink: Ink,
) -> Result<(), Problem> {
    let library = &practice.library;
    let exercises: Vec<_> = library.exercises.values().collect();
    let shown = |sided: bool| sided.then_some(SHOWN);
    let whole = |exercise: &&Exercise| (Subject::Exercise(exercise.id.clone()), shown(has_sides(exercise)), Show::All);
    let wanted: Vec<Wanted> = exercises.iter().map(whole).collect();
    practice.studio.prepare(&wanted, ink);
    let entries = book.phases.iter_mut().flat_map(|phase| &mut phase.exercises);
    for entry in entries.filter(|entry| entry.frames.is_empty()) {
        let Some(exercise) = exercises.iter().find(|exercise| exercise.name == entry.name) else { continue };
        let (subject, sided) = (Subject::Exercise(exercise.id.clone()), has_sides(exercise));
        let figures = practice.studio.figures(&subject, shown(sided), ink, Show::All).unwrap_or_default();
        exercise_frames(entry, &framed_all(librarian, &figures, &subject, sided)?, volume);
    }
    for entry in book.more.iter_mut().flat_map(|more| &mut more.tests) {
        let Some(test) = library.tests.values().find(|test| test.name == entry.name) else { continue };
        let subject = Subject::Test(test.id.clone());
        let figures = practice.studio.figures(&subject, shown(test.sided), ink, Show::All).unwrap_or_default();
        test_frames(entry, framed_all(librarian, &figures, &subject, test.sided)?);
    }
    Ok(())
}

fn framed_all<'f>(
    librarian: &Librarian<'_>,
    figures: &'f [Figure],
    subject: &Subject,
    sided: bool,
) -> Result<Vec<Numbered<'f>>, Problem> {
    // A book has ranges instead of doses: there the stopwatch stands alone.
    let say = |said: &Said| match said {
        Said::Words(text) => librarian.label(text, sided).map(Some),
        Said::Seconds => Ok(None),
    };
    let src = |number: usize| format!("figure-{}-{number}.svg", subject.stem());
    figures.iter().zip(1..).map(|(figure, number)| Ok((figure, framed(figure, src(number), say)?))).collect()
}

/// A picture too small for words in or under it.
fn small(frame: &Frame) -> Frame {
    Frame { caption: None, marks: Vec::new(), ..frame.clone() }
}

/// The pictures of the first version, and the last good one of each version where they differ. The poster shows one.
fn exercise_frames(entry: &mut Entry, pictures: &[Numbered<'_>], volume: Volume) {
    // One picture alone must show how to do it, never how not to.
    let last = |rung: usize| {
        let good = pictures.iter().rfind(|(figure, _)| figure.shows(rung) && !figure.wrong && figure.sign.is_none());
        good.map(|(_, frame)| small(frame))
    };
    if volume == Volume::Poster {
        entry.frames.extend(last(0));
        return;
    }
    let first = pictures.iter().filter(|(figure, _)| figure.shows(0) && figure.sign.is_none());
    entry.frames.extend(first.map(|(_, frame)| frame.clone()));
    if volume == Volume::Book && pictures.iter().any(|(figure, _)| !figure.rungs.is_empty()) {
        for (version, rung) in entry.how.iter_mut().flat_map(|how| &mut how.versions).zip(0..) {
            version.frame = last(rung);
        }
    }
}

/// How a test is done, and what to watch for.
fn test_frames(entry: &mut TestEntry, pictures: Vec<Numbered<'_>>) {
    for (figure, frame) in pictures {
        match &figure.sign {
            None => entry.frames.push(frame),
            Some(sign) => {
                if let Some(sign) = entry.signs.iter_mut().find(|known| known.id == *sign) {
                    sign.frame = Some(small(&frame));
                }
            }
        }
    }
}
