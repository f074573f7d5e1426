//! `kinleaf check`.

use std::path::Path;

use super::args::{Check, Common};
use super::show::Fixed;
use super::{ALL_WELL, SOME_FAILED, UNUSABLE, sarif, show};
use crate::diag::Problem;
use crate::load::{bytes, load};
use crate::mend::mend;
use crate::pipeline::{Depth, check_all, has_errors};
use crate::publish;
use crate::schema;
use crate::starter;

pub fn run(common: &Common, command: &Check) -> u8 {
    let fixed = match command.fix.then(|| fix(&common.practice)).transpose() {
        Ok(fixed) => fixed.unwrap_or_default(),
        Err(problems) => {
            show::unusable(&problems, common.json, UNUSABLE);
            return UNUSABLE;
        }
    };
    let depth = Depth { on_paper: command.quality, old_texts: command.old_texts };
    let outcome = check_all(&common.practice, common.today(), common.jobs(), depth);
    if let Some(path) = &command.sarif {
        let problems = outcome.as_ref().map_or_else(Vec::as_slice, |outcome| &outcome.problems);
        if let Err(problem) = write(path, problems) {
            show::unusable(&[problem], common.json, UNUSABLE);
            return UNUSABLE;
        }
    }
    match outcome {
        Ok(outcome) => {
            let code = if has_errors(&outcome.problems) { SOME_FAILED } else { ALL_WELL };
            let coverage = outcome.coverage.as_ref().filter(|_| command.coverage);
            let quality = Some(outcome.quality.as_slice()).filter(|_| command.quality);
            let more = show::More { fixed: &fixed, coverage, quality };
            show::checked(&outcome.problems, &more, common.json, code);
            code
        }
        Err(problems) => {
            show::unusable(&problems, common.json, UNUSABLE);
            UNUSABLE
        }
    }
}

/// Mends every file of the practice that wants it, and says which and how.
fn fix(practice: &Path) -> Result<Vec<Fixed>, Vec<Problem>> {
    let shapes = schema::known()?;
    let (files, _) = load(practice);
    let mut fixed = Vec::new();
    for path in files.paths() {
        // What cannot be read is told by the check that follows.
        let Ok(Some(Ok(text))) = bytes(practice, &path).map(|found| found.map(String::from_utf8)) else { continue };
        let shape = starter::kind(&path).and_then(|kind| shapes.get(kind));
        if let Some(mended) = mend(&text, shape) {
            publish::mended(practice, &path, &mended.text).map_err(|problem| vec![problem])?;
            fixed.push(Fixed { file: path, done: mended.done });
        }
    }
    Ok(fixed)
}

fn write(path: &Path, problems: &[Problem]) -> Result<(), Problem> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let name = path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    publish::file(folder, &name, format!("{:#}\n", sarif::log(problems)).as_bytes())
}
