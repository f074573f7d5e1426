//! `kinleaf draw`.

use super::args::{Common, Draw, FormatArg};
use super::{ALL_WELL, SOME_FAILED, UNUSABLE, show};
use crate::pipeline::{Sketches, draw, has_errors};

pub fn run(common: &Common, command: &Draw) -> u8 {
    let order = Sketches {
        practice: common.practice.clone(),
        out: command.out.clone().unwrap_or_else(|| common.practice.join("out/pictures")),
        names: command.names.clone(),
        side: command.side.map(super::args::SideArg::side),
        ink: command.ink.ink(),
        contact_sheet: command.contact_sheet,
        png_width: (command.format == FormatArg::Png).then_some(command.width),
    };
    match draw(&order) {
        Ok((files, problems)) => {
            let code = if has_errors(&problems) { SOME_FAILED } else { ALL_WELL };
            show::drawn(&files, &problems, &order.out, common.json, code);
            code
        }
        Err(problems) => {
            show::unusable(&problems, common.json, UNUSABLE);
            UNUSABLE
        }
    }
}
