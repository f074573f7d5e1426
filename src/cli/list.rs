//! `kinleaf list`: the names that files may use, each with what it stands for.

use std::fmt::Write as _;

use serde_json::{Value as Json, json};

use super::args::{Common, List, ListArg};
use super::{ALL_WELL, UNUSABLE, practice, show};
use crate::check::{Practice, joint_motions, named_things};

/// A name and what it stands for.
type Row = (String, String);

pub fn run(common: &Common, command: &List) -> u8 {
    match practice(&common.practice) {
        Ok(practice) => {
            let rows = rows(&practice, command.what);
            if common.json {
                let list: Vec<Json> =
                    rows.iter().map(|(name, words)| json!({ "name": name, "words": words })).collect();
                show::text(&format!("{:#}\n", json!(list)));
            } else {
                show::text(&table(&rows, command.what));
            }
            ALL_WELL
        }
        Err(problems) => {
            show::unusable(&problems, common.json, UNUSABLE);
            UNUSABLE
        }
    }
}

fn rows(practice: &Practice, what: ListArg) -> Vec<Row> {
    let library = &practice.library;
    let vocabulary = &library.vocabulary;
    let [_, places, muscles] = named_things();
    let sided = |things: Vec<(&str, bool)>| {
        let row = |(name, sided): (&str, bool)| match sided {
            true => (format!("left.{name}"), format!("and right.{name}")),
            false => (name.to_owned(), String::new()),
        };
        things.into_iter().map(row).collect()
    };
    match what {
        ListArg::Exercises => {
            let row = |phase: &crate::library::Phase| {
                let of_phase = library.exercises.values().filter(|it| it.phase == phase.id);
                of_phase.map(|it| (it.id.to_string(), format!("{} ({})", it.name, phase.name))).collect::<Vec<_>>()
            };
            library.phases.iter().flat_map(row).collect()
        }
        ListArg::Tests => {
            let row = |test: &crate::library::test::Test| {
                let sides = if test.sided { "left, right" } else { "value" };
                let signs: Vec<&str> = test.signs.iter().map(|sign| sign.id.as_str()).collect();
                let signs = if signs.is_empty() { String::new() } else { format!("; signs: {}", signs.join(", ")) };
                (test.id.to_string(), format!("{}, in {} ({sides}){signs}", test.name, test.unit.spoken()))
            };
            library.tests.values().map(row).collect()
        }
        ListArg::Questions => vocabulary.flags.iter().map(|(id, it)| (id.to_string(), it.ask.clone())).collect(),
        ListArg::Conditions => vocabulary.conditions.iter().map(|(id, it)| (id.to_string(), it.name.clone())).collect(),
        ListArg::Activities => vocabulary.activities.iter().map(|(id, it)| (id.to_string(), it.name.clone())).collect(),
        ListArg::Equipment => vocabulary.equipment.iter().map(|(id, it)| (id.to_string(), it.name.clone())).collect(),
        ListArg::Positions => vocabulary.positions.iter().map(|(id, it)| (id.to_string(), it.name.clone())).collect(),
        ListArg::Structures => vocabulary.structures.iter().map(|(id, it)| (id.to_string(), it.name.clone())).collect(),
        ListArg::Tags => vocabulary.tags.iter().map(|(id, words)| (id.to_string(), words.clone())).collect(),
        ListArg::Joints => joint_motions().collect(),
        ListArg::Muscles => sided(muscles),
        ListArg::Places => sided(places),
    }
}

fn table(rows: &[Row], what: ListArg) -> String {
    let width = rows.iter().map(|(name, _)| name.chars().count()).max().unwrap_or(0);
    let mut out = String::new();
    for (name, words) in rows {
        // To be printed and ticked with the client.
        let boxed = if what == ListArg::Questions { "[ ] " } else { "" };
        let _ = writeln!(out, "{}", format!("{boxed}{name:width$}  {words}").trim_end());
    }
    out
}
