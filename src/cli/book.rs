//! `kinleaf book`.

use super::args::{Book, Common};
use super::{ALL_WELL, UNUSABLE, show};
use crate::pipeline::{BookOrder, book};

pub fn run(common: &Common, command: &Book) -> u8 {
    let order = BookOrder {
        practice: common.practice.clone(),
        out: command.out.clone().unwrap_or_else(|| common.practice.join("out/book")),
        volume: command.volume(),
        wishes: command.wishes(),
        on: common.on,
    };
    match book(&order) {
        Ok((bound, problems)) => {
            show::bound(&bound, &problems, &order.out, common.json, ALL_WELL);
            ALL_WELL
        }
        Err(problems) => {
            show::unusable(&problems, common.json, UNUSABLE);
            UNUSABLE
        }
    }
}
