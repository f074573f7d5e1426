//! The library in print: a book for coaches, a poster, cards.

use std::path::PathBuf;

use jiff::civil::Date;
use serde::Serialize;

use super::prepare::frame;
use super::with;
use crate::body::Side;
use crate::check::{Practice, check};
use crate::diag::{Problem, Rule, Severity, in_order};
use crate::draw::{Figure, Subject};
use crate::ids::Id;
use crate::load::load;
use crate::print::{Ink, Look, Type, Volume, Wishes};
use crate::publish;
use crate::typeset::Typesetter;
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
    illustrate(&practice, &mut book, order.volume, look.ink);
    let typesetter = Typesetter::new(&practice).map_err(|problem| with(problem, &warnings))?;
    let name = order.volume.key();
    let pdf = on_own_thread(|| typesetter.typeset_library(order.volume.layout(), &book, &format!("library/{name}")))?;
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
    problems.retain(|problem| problem.file() != Some("clients"));
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

/// Adds the pictures drawn from poses, each drawn once.
fn illustrate(practice: &Practice, book: &mut Book, volume: Volume, ink: Ink) {
    let library = &practice.library;
    let exercises: Vec<_> = library.exercises.values().collect();
    let wanted: Vec<(Subject, Option<Side>)> = exercises
        .iter()
        .map(|exercise| (Subject::Exercise(exercise.id.clone()), has_sides(exercise).then_some(SHOWN)))
        .collect();
    practice.studio.prepare(&wanted, ink);
    let entries = book.phases.iter_mut().flat_map(|phase| &mut phase.exercises);
    for entry in entries.filter(|entry| entry.frames.is_empty()) {
        let Some(exercise) = exercises.iter().find(|exercise| exercise.name == entry.name) else { continue };
        let side = has_sides(exercise).then_some(SHOWN);
        if let Some(figures) = practice.studio.figures(&Subject::Exercise(exercise.id.clone()), side, ink) {
            exercise_frames(entry, &figures, exercise.id.as_str(), volume);
        }
    }
    let tests = book.more.iter_mut().flat_map(|more| &mut more.tests);
    for entry in tests {
        let Some(test) = library.tests.values().find(|test| test.name == entry.name) else { continue };
        let side = test.sided.then_some(SHOWN);
        if let Some(figures) = practice.studio.figures(&Subject::Test(test.id.clone()), side, ink) {
            test_frames(entry, &figures, test.id.as_str());
        }
    }
}

/// The pictures of the first version, and the last good one of each version where they differ. The poster shows one.
fn exercise_frames(entry: &mut Entry, figures: &[Figure], stem: &str, volume: Volume) {
    let stem = &format!("figure-{stem}");
    let numbered = || figures.iter().zip(1..).filter(|(figure, _)| figure.sign.is_none());
    // One picture alone must show how to do it, never how not to.
    let last = |rung: usize| {
        let good = numbered().filter(|(figure, _)| figure.shows(rung) && !figure.wrong).last();
        good.map(|(figure, number)| Frame { caption: None, ..frame(figure, stem, number) })
    };
    if volume == Volume::Poster {
        entry.frames.extend(last(0));
        return;
    }
    let first = numbered().filter(|(figure, _)| figure.shows(0));
    entry.frames.extend(first.map(|(figure, number)| frame(figure, stem, number)));
    if volume == Volume::Book && figures.iter().any(|figure| !figure.rungs.is_empty()) {
        for (version, rung) in entry.how.iter_mut().flat_map(|how| &mut how.versions).zip(0..) {
            version.frame = last(rung);
        }
    }
}

/// How a test is done, and what to watch for.
fn test_frames(entry: &mut TestEntry, figures: &[Figure], stem: &str) {
    for (figure, number) in figures.iter().zip(1..) {
        let mut frame = frame(figure, &format!("figure-test-{stem}"), number);
        match &figure.sign {
            None => entry.frames.push(frame),
            Some(sign) => {
                frame.caption = None;
                if let Some(sign) = entry.signs.iter_mut().find(|known| known.id == *sign) {
                    sign.frame = Some(frame);
                }
            }
        }
    }
}
