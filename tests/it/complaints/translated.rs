//! What may be wrong with the Spanish of the small practice.

use std::fs;

use super::deeper::Deeper;
use super::edits::{BRAND, CLIENT, Edit, PHASES};
use super::{Small, Through};

pub const EDITS: &[Edit] = &[
    (BRAND, "languages = [\"en\", \"es\"]", "languages = [\"es\"]", "`languages` does not hold `en`"),
    (CLIENT, "minutes_a_day", "language = \"fr\"\nminutes_a_day", "the practice does not offer the language `fr`"),
    (PHASES, "name = \"Loosen\"", "name = \"Free up\"", "no fluent reader has read"),
    // Lists and tables, one to one.
    (EXERCISE, "[[rungs]]", "[[rungs]]\nname = \"A\"\nhow = \"B.\"\n[[rungs]]", "there are 4 `[[rungs]]`"),
    (EXERCISE, "steps = [", "steps = [\n  \"Vaya a la pared.\",", "`steps` has 6 texts, but the original has 5"),
    (SPANISH_PHASES, "id = \"loosen\"", "id = \"losen\"", "the original has no `losen` in `phases`"),
    (SPANISH_PHASES, "id = \"loosen\"", "id = \"losen\"", "add a table `[[phases]]` with `id = \"loosen\"`"),
    (TEST, "id = \"arch-drops\"", "id = \"heel-lifts\"", "two entries of `signs` have this id"),
    // What a text names and states.
    (EXERCISE, "el talón {{ side }} contra", "el talón contra", "names nothing, but the original names side"),
    (TEST, "pasa de 2 sobre 10", "pasa de 3 sobre 10", "states the figures 0, 10, 3, but the original"),
    (VOCABULARY, "Zona dolorida: {region}.", "Zona dolorida.", "`tell_sore` does not name the region"),
    (PLANNING, "\"It works. Keep going.\"", "\"Zebra.\"", "take it out, or copy the text of the original"),
    (PLANNING, "\"It works. Keep going.\"", "\"Zebra.\"", "has no translation of “It works. Keep going.”"),
    (WORDS, "Sube {{ change }}.", "Sube.", "`sentences.change_more` does not name `change`"),
    (WORDS, "Lo comprobaremos otra vez.", "{{ change }}.", "names `change`, which it is not given"),
];

const WORDS: &str = "layouts/words/es.toml";
const VOCABULARY: &str = "exercises/vocabulary.es.toml";
const SPANISH_PHASES: &str = "exercises/phases.es.toml";
const PLANNING: &str = "exercises/planning.es.toml";
const EXERCISE: &str = "exercises/stretch/knee-to-wall.es.toml";
const TEST: &str = "exercises/tests/knee-to-wall.es.toml";

pub const DEEPER: &[Deeper] = &[
    deeper(
        |p| fs::remove_file(p.root().join(SPANISH_PHASES)).unwrap(),
        "this file has no translation into español, which the practice offers",
    ),
    deeper(|p| p.write("exercises/phases.fr.toml", ""), "add layouts/words/fr.toml, or rename the file"),
    deeper(
        |p| p.write("exercises/stretch/heel-rock.es.toml", ""),
        "there is no usable exercises/stretch/heel-rock.toml that this file could translate",
    ),
];

const fn deeper(breaks: fn(&Small), expected: &'static str) -> Deeper {
    Deeper { practice: Small::translated, through: Through::Files, breaks, expected }
}
