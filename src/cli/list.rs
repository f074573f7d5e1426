//! `kinleaf list`: the names that files may use, each with what it stands for.

use std::collections::BTreeMap;
use std::fmt::{Display, Write as _};

use super::args::{Common, List, ListArg};
use super::{ALL_WELL, UNUSABLE, practice, show};
use crate::check::{Practice, joint_motions, named_things};

/// A name and what it stands for.
type Row = (String, String);

pub fn run(common: &Common, command: &List) -> u8 {
    match practice(&common.practice) {
        Ok(practice) => {
            let rows = rows(&practice, command.what);
            show::listed(&rows, &table(&rows, command.what), common.json);
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
        ListArg::Questions => named(&vocabulary.flags, |it| &it.ask),
        ListArg::Conditions => named(&vocabulary.conditions, |it| &it.name),
        ListArg::Activities => named(&vocabulary.activities, |it| &it.name),
        ListArg::Equipment => named(&vocabulary.equipment, |it| &it.name),
        ListArg::Positions => named(&vocabulary.positions, |it| &it.name),
        ListArg::Structures => named(&vocabulary.structures, |it| &it.name),
        ListArg::Tags => named(&vocabulary.tags, |words| words),
        ListArg::Joints => joint_motions().collect(),
        ListArg::Muscles => sided(muscles),
        ListArg::Places => sided(places),
    }
}

fn named<K: Display, V>(map: &BTreeMap<K, V>, words: impl Fn(&V) -> &String) -> Vec<Row> {
    map.iter().map(|(id, it)| (id.to_string(), words(it).clone())).collect()
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
