//! `kinleaf check`.

use super::args::{Check, Common};
use super::{ALL_WELL, SOME_FAILED, UNUSABLE, show};
use crate::pipeline::{check_all, has_errors};

pub fn run(common: &Common, command: &Check) -> u8 {
    match check_all(&common.practice, common.today(), common.jobs(), command.old_texts) {
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
