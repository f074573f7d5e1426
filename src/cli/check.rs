//! `kinleaf check`.

use std::path::Path;

use super::args::{Check, Common};
use super::{ALL_WELL, SOME_FAILED, UNUSABLE, sarif, show};
use crate::diag::Problem;
use crate::pipeline::{check_all, has_errors};
use crate::publish;

pub fn run(common: &Common, command: &Check) -> u8 {
    let outcome = check_all(&common.practice, common.today(), common.jobs());
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
            show::checked(&outcome.problems, coverage, common.json, code);
            code
        }
        Err(problems) => {
            show::unusable(&problems, common.json, UNUSABLE);
            UNUSABLE
        }
    }
}

fn write(path: &Path, problems: &[Problem]) -> Result<(), Problem> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let name = path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    publish::file(folder, &name, format!("{:#}\n", sarif::log(problems)).as_bytes())
}
