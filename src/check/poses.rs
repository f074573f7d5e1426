//! `exercises/poses/*.toml`: pictures drawn from poses.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::brand::Colour;
use crate::diag::{Problem, Rule, SourceFile};
use crate::draw::{Pictures, PoseProblem, Poses, Studio};
use crate::ids::{ExerciseId, Id};
use crate::library::exercise::Exercise;
use crate::load::Entry;

/// The name of the file of base poses.
const LIBRARY: &str = "library";

fn report(file: &Arc<SourceFile>, found: Vec<PoseProblem>, problems: &mut Vec<Problem>) {
    for problem in found {
        let help = problem.help.unwrap_or_else(|| "see exercises/poses/README.md".to_owned());
        problems.push(Problem::at(Rule::BadPose, file, problem.span, problem.message).help(help));
    }
}

/// Reads all pictures. One that cannot be used is reported, and its exercise is printed without.
pub fn read_all(
    base: Option<&Arc<SourceFile>>,
    files: &[Entry],
    exercises: &BTreeMap<ExerciseId, Exercise>,
    accent: Colour,
    problems: &mut Vec<Problem>,
) -> Studio {
    let mut pictures: BTreeMap<ExerciseId, Pictures> = BTreeMap::new();
    let poses = match base.map(|file| (file, Poses::parse(&file.text))) {
        None => Poses::default(),
        Some((_, Ok(poses))) => poses,
        Some((file, Err(found))) => {
            report(file, found, problems);
            return Studio::new(pictures, accent);
        }
    };
    for entry in files.iter().filter(|entry| entry.stem != LIBRARY) {
        let known = ExerciseId::new(&entry.stem).ok().filter(|id| exercises.contains_key(id));
        match (poses.pictures(&entry.file.text), known) {
            (Err(found), _) => report(&entry.file, found, problems),
            (Ok(_), None) => problems.push(
                Problem::about(
                    Rule::UnknownName,
                    entry.file.path.as_str(),
                    format!("there is no usable exercise `{}`", entry.stem),
                )
                .help("call the file after the exercise that it shows"),
            ),
            (Ok(found), Some(id)) => {
                pictures.insert(id, found);
            }
        }
    }
    Studio::new(pictures, accent)
}
