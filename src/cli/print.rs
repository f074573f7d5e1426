//! `kinleaf print`.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::args::{Common, Print};
use super::{ALL_WELL, SOME_FAILED, UNUSABLE, show};
use crate::pipeline::{Order, Which, print};

pub fn run(common: &Common, command: &Print) -> u8 {
    let which = match (command.again, command.renew, command.as_of) {
        (true, ..) => Which::Again,
        (_, true, _) => Which::Renew,
        (.., Some(day)) => Which::AsOf(day),
        (false, false, None) => Which::Due,
    };
    let order = Order {
        practice: common.practice.clone(),
        out: command.out.clone().unwrap_or_else(|| common.practice.join("out")),
        clients: command.clients.clone(),
        which,
        what: command.what.iter().map(|what| what.what()).collect(),
        wishes: command.wishes(),
        on: common.today(),
        jobs: common.jobs(),
        quality: command.quality,
    };
    let bar = bar(common.json);
    let outcome = print(&order, &|done, of| {
        bar.set_length(of as u64);
        bar.set_position(done as u64);
    });
    bar.finish_and_clear();
    match outcome {
        Ok(outcome) => {
            let code = if outcome.failed() { SOME_FAILED } else { ALL_WELL };
            show::outcome(&outcome, &order.out, common.json, code);
            code
        }
        Err(problems) => {
            show::unusable(&problems, common.json, UNUSABLE);
            UNUSABLE
        }
    }
}

/// A bar on a terminal, nothing elsewhere.
fn bar(json: bool) -> ProgressBar {
    let target = if json { ProgressDrawTarget::hidden() } else { ProgressDrawTarget::stderr() };
    let style = ProgressStyle::with_template("{bar:30} {pos} of {len} clients, {elapsed}")
        .expect("the template is well formed");
    ProgressBar::with_draw_target(None, target).with_style(style)
}
