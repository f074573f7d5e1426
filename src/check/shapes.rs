//! What each kind of file may hold, noted by its own reader while it reads examples.

use jiff::civil::Date;

use crate::diag::Problem;
use crate::fields::{Fields, Sink, read};
use crate::ids::{ClientId, ExerciseId, Id, TestId};
use crate::load::Entry;
use crate::shape::Shapes;
use crate::words::Words;

use super::{Practice, brand, client, exercise, planning, read_phases, test, vocabulary};

/// Reads every example, given by kind of file, with the reader of its kind. Names are looked up in `practice`.
///
/// # Errors
/// With the problems of examples that are not sound.
pub fn shapes(practice: &Practice, examples: &[(&'static str, Entry)], on: Date) -> Result<Shapes, Vec<Problem>> {
    let library = &practice.library;
    let words = &practice.words;
    let photos =
        practice.pictures.iter().map(|(name, picture)| (name.clone(), picture.bytes.as_ref().clone())).collect();
    let exercises = exercise::Known::new(words, &library.vocabulary, &library.tests, &practice.pictures, &photos);
    let clients = client::Known { practice, on };
    let phase = library.phases.first().map(|phase| &phase.id);
    let mut shapes = Shapes::new();
    let mut problems = Vec::new();
    for (kind, entry) in examples {
        let sink = Sink::noting(&entry.file, shapes.entry(kind).or_default());
        let build = |fields: &Fields<'_>| match *kind {
            "brand" => brand::read(fields, &practice.fonts).map(|_| ()),
            "words" => Words::read(&entry.stem, fields).map(|_| ()),
            "vocabulary" => vocabulary::read(fields, words).map(|_| ()),
            "phases" => read_phases(fields).map(|_| ()),
            "planning" => planning::read(fields, &library.phases).map(|_| ()),
            "test" => test::read(TestId::new(&entry.stem).ok()?, fields, &library.vocabulary, words).map(|_| ()),
            "exercise" => {
                let id = ExerciseId::new(&entry.stem).ok()?;
                exercise::read(id, phase?.clone(), fields, &exercises).map(|_| ())
            }
            _ => client::read(&ClientId::new(&entry.stem).ok()?, &entry.file, fields, &clients).map(|_| ()),
        };
        read(&sink, build);
        problems.extend(sink.into_problems());
    }
    if problems.is_empty() { Ok(shapes) } else { Err(problems) }
}
