//! `kinleaf check`.

use super::args::{Check, Common};
use super::{ALL_WELL, SOME_FAILED, UNUSABLE, show};
use crate::pipeline::{Depth, check_all, has_errors};

pub fn run(common: &Common, command: &Check) -> u8 {
    let depth = Depth { on_paper: command.quality, old_texts: command.old_texts };
    match check_all(&common.practice, common.today(), common.jobs(), depth) {
        Ok(outcome) => {
            let code = if has_errors(&outcome.problems) { SOME_FAILED } else { ALL_WELL };
            let coverage = outcome.coverage.as_ref().filter(|_| command.coverage);
            let quality = Some(outcome.quality.as_slice()).filter(|_| command.quality);
            show::checked(&outcome.problems, coverage, quality, common.json, code);
            code
        }
        Err(problems) => {
            show::unusable(&problems, common.json, UNUSABLE);
            UNUSABLE
        }
    }
}
