//! The listing by region and the indexes: what stands where in the book.

use serde::Serialize;

use super::Librarian;
use crate::library::exercise::Exercise;
use crate::library::test::Test;
use crate::template::Template;
use crate::template::sentence_case;

/// A listing or an index.
#[derive(Clone, Debug, Serialize)]
pub struct Listing {
    /// Its heading.
    pub head: String,
    /// Its groups, in the order of names.
    pub groups: Vec<Group>,
}

/// What belongs to one word.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Group {
    /// The word.
    pub name: String,
    /// What belongs to it, exercises first.
    pub lines: Vec<Line>,
}

/// A line that leads to a page.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Line {
    /// The exercise or test.
    pub name: String,
    /// Whether it is a test.
    pub test: bool,
    /// Its place among exercises or tests, from 1.
    pub n: usize,
}

impl Librarian<'_> {
    pub(super) fn lists(&self) -> Vec<Listing> {
        let words = &self.speech.words.book;
        let vocabulary = &self.library.vocabulary;
        let regions = vocabulary.regions.iter().map(|(id, name)| (id, name.as_str()));
        let structures = vocabulary.structures.iter().map(|(id, known)| (id, known.name.as_str()));
        let equipment = vocabulary.equipment.iter().map(|(id, known)| (id, known.name.as_str()));
        let positions = vocabulary.positions.iter().map(|(id, known)| (id, known.name.as_str()));
        vec![
            self.listing(
                &words.by_region,
                regions,
                |exercise, id| exercise.features.regions.contains(id),
                |test, id| test.features.regions.contains(id),
            ),
            self.listing(
                &words.by_structure,
                structures,
                |exercise, id| exercise.effects.iter().any(|effect| effect.structure == *id),
                |test, id| test.limited.iter().any(|evidence| evidence.structure == *id),
            ),
            self.listing(
                &words.by_equipment,
                equipment,
                |exercise, id| {
                    exercise.equipment.contains(id) || exercise.rungs.iter().any(|rung| rung.equipment.contains(id))
                },
                |test, id| test.kit.contains(id),
            ),
            self.listing(
                &words.by_position,
                positions,
                |exercise, id| exercise.features.positions.contains(id),
                |test, id| test.features.positions.contains(id),
            ),
        ]
    }

    /// One listing: under each word the exercises and tests that it fits. Words that nothing fits are left out.
    fn listing<'v, K: 'v>(
        &self,
        head: &Template,
        known: impl Iterator<Item = (&'v K, &'v str)>,
        exercise_fits: impl Fn(&Exercise, &K) -> bool,
        test_fits: impl Fn(&Test, &K) -> bool,
    ) -> Listing {
        let mut groups = Vec::new();
        for (id, name) in known {
            let exercises = self.in_order().flatten().zip(1..).filter(|(exercise, _)| exercise_fits(exercise, id));
            let exercises = exercises.map(|(exercise, n)| Line { name: exercise.name.clone(), test: false, n });
            let tests = self.tests_in_order().zip(1..).filter(|(test, _)| test_fits(test, id));
            let tests = tests.map(|(test, n)| Line { name: test.name.clone(), test: true, n });
            let mut lines: Vec<Line> = exercises.chain(tests).collect();
            if !lines.is_empty() {
                lines.sort_by_key(|line| (line.test, line.name.to_lowercase()));
                groups.push(Group { name: sentence_case(name), lines });
            }
        }
        groups.sort_by_key(|group| group.name.to_lowercase());
        Listing { head: head.source().to_owned(), groups }
    }
}
