//! The part of the coach's record that tells what was chosen, what was not, and why.

use std::collections::BTreeMap;

use super::DASH;
use super::shape::{DayMinutes, LeftOutRow, Minutes, NearRow, ProgramRow, StretchRow, UnmetRow};
use crate::assess::{Findings, Need};
use crate::body::{Side, Sides};
use crate::plan::{self, Bar, Item, Miss, Program};
use crate::word::Writer;

impl Writer<'_> {
    pub(super) fn program_rows(&self, program: &Program, findings: &Findings) -> Vec<ProgramRow> {
        program.items.iter().map(|item| self.program_row(item, findings)).collect()
    }

    fn program_row(&self, item: &Item, findings: &Findings) -> ProgramRow {
        let exercise = self.library.exercises.get(&item.exercise);
        let parts = exercise.map_or_else(Vec::new, |exercise| self.dose(exercise, &item.dose, item.sides));
        let dose: Vec<String> = parts.into_iter().map(|part| format!("{} {}", part.n, part.unit)).collect();
        let mut needs: Vec<(&Need, f64)> =
            item.covers.iter().filter_map(|(need, share)| Some((findings.needs.get(*need)?, *share))).collect();
        needs.sort_by(|a, b| (b.0.weight * b.1).total_cmp(&(a.0.weight * a.1)));
        let works_on: Vec<String> = needs.iter().map(|(need, _)| plan::named(need, self.library)).collect();
        let led_to = !works_on.is_empty() || item.because.is_some();
        let mut works_on = if works_on.is_empty() { "No need found for it".to_owned() } else { works_on.join("; ") };
        if let Some(because) = &item.because {
            works_on = format!("{works_on}. The coach: {}", because.trim_end_matches('.'));
        }
        let rungs = self.library.exercises.get(&item.exercise).map_or(0, |exercise| exercise.rungs.len());
        let two = &self.words.weekdays[2];
        let days: Vec<&str> = (0..7).filter(|day| item.days[*day]).map(|day| two[day].as_str()).collect();
        ProgramRow {
            n: item.number,
            name: self.name_of(&item.exercise),
            rung: format!("Rung {} of {rungs}", item.rung + 1),
            side: side_word(item.sides).to_owned(),
            dose: dose.join(", "),
            days: days.join(" "),
            minutes: item.minutes().to_string(),
            gain: format!("{:.2}", item.gain),
            why: format!("{works_on}. {}", item.why.join(" ")).trim_end().to_owned(),
            led_to,
        }
    }

    pub(super) fn minutes(&self, program: &Program) -> Minutes {
        let most = program.minutes.iter().copied().max().unwrap_or(0);
        let given = self.client.minutes_a_day;
        let free = self.client.free_days;
        let total: u32 = program.minutes.iter().sum();
        let days = (0..7).map(|day| DayMinutes {
            day: self.words.weekdays[1][day].clone(),
            used: if program.minutes[day] == 0 { DASH.to_owned() } else { program.minutes[day].to_string() },
            given: if free[day] { given.to_string() } else { DASH.to_owned() },
        });
        Minutes { words: format!("{most} of {given} on the fullest day; {total} in the week."), days: days.collect() }
    }

    pub(super) fn stretch_rows(&self, program: &Program) -> Vec<StretchRow> {
        let (least, enough) = self.library.planning.weekly_stretch_s;
        let row = |stretch: &plan::Stretch| StretchRow {
            structure: plan::spoken(&stretch.structure, None, self.library),
            side: stretch.side.map_or(DASH, Side::key).to_owned(),
            total: format!("{} s", stretch.seconds),
            aim: format!("{least} to {enough} s"),
            warning: match stretch.seconds {
                seconds if seconds < least => Some("less than is usual for lasting change".to_owned()),
                seconds if seconds > enough => Some("more than brings further gain".to_owned()),
                _ => None,
            },
        };
        program.reasons.stretch.iter().map(row).collect()
    }

    pub(super) fn unmet_rows(&self, program: &Program, findings: &Findings) -> Vec<UnmetRow> {
        let row = |unmet: &plan::Unmet| {
            let need = findings.needs.get(unmet.need)?;
            let words: Vec<(String, &str)> = unmet.bars.iter().map(|bar| bar.words(self.library)).collect();
            let list = |words: Vec<&str>, none: &str| {
                let mut seen = Vec::new();
                words.into_iter().for_each(|word| {
                    if !seen.contains(&word) {
                        seen.push(word)
                    }
                });
                if seen.is_empty() { none.to_owned() } else { seen.join("; ") }
            };
            Some(UnmetRow {
                need: plan::named(need, self.library),
                why: list(words.iter().map(|(why, _)| why.as_str()).collect(), "the library has no exercise for it"),
                unlock: list(words.iter().map(|(_, cure)| *cure).collect(), "add an exercise for it"),
            })
        };
        program.reasons.unmet.iter().filter_map(row).collect()
    }

    /// What is not for this client, one row a reason.
    pub(super) fn left_out_rows(&self, program: &Program) -> Vec<LeftOutRow> {
        let mut by_reason: BTreeMap<&Bar, Vec<String>> = BTreeMap::new();
        for barred in &program.reasons.barred {
            for bar in &barred.bars {
                by_reason.entry(bar).or_default().push(self.name_of(&barred.exercise));
            }
        }
        let row = |(bar, names): (&Bar, Vec<String>)| LeftOutRow {
            name: names.join(", "),
            rule: bar.code(),
            reason: bar.words(self.library).0,
        };
        by_reason.into_iter().map(row).collect()
    }

    pub(super) fn near_rows(&self, program: &Program) -> Vec<NearRow> {
        let row = |near: &plan::NearMiss| {
            let why = match near.why {
                Miss::AddsLittle => "that is less than it costs to keep up",
                Miss::Full => "the program has as many exercises as most people keep up",
                Miss::NoTime => "it does not fit into the minutes",
                Miss::First => "what must come first is not in the program",
                Miss::CoachsChoice => "it would fit, but the coach chose without it",
            };
            let side = if near.sides == Sides::Both { String::new() } else { format!(" ({})", near.sides.key()) };
            NearRow {
                name: format!("{}{side}", self.name_of(&near.exercise)),
                reason: format!("Would add {:.2}: {why}.", near.gain),
            }
        };
        program.reasons.near.iter().map(row).collect()
    }

    pub(super) fn notes(&self, program: &Program) -> Vec<String> {
        let mut notes = vec![format!("Test again on {}.", program.test_again)];
        for waits in &program.waits {
            notes.push(format!("{} waits for {} ({}).", self.name_of(&waits.exercise), waits.to, waits.region));
        }
        notes
    }
}

fn side_word(sides: Sides) -> &'static str {
    match sides {
        Sides::Left => "Left",
        Sides::Right => "Right",
        Sides::Each => "Each",
        Sides::Both => "Both at once",
    }
}

pub(super) fn chosen(program: &Program, findings: &Findings) -> String {
    let reasons = &program.reasons;
    let total: f64 = findings.needs.iter().map(|need| need.weight).sum();
    let covered: f64 = findings.needs.iter().zip(&reasons.covered).map(|(need, share)| need.weight * share).sum();
    let by = if reasons.chosen {
        format!("Chosen by the tool: the best of all programs (branches looked at: {}).", reasons.nodes)
    } else {
        "Written by the coach, and checked.".to_owned()
    };
    if findings.needs.is_empty() {
        return format!("{by} No test has found a need.");
    }
    let served = |test| program.items.iter().any(|item| item.serves.contains(test));
    let worked_on = findings.limited().filter(|finding| served(&finding.test)).count();
    let on = format!("It works on {worked_on} of the {} limited tests", findings.limited().count());
    format!("{by} {on} and covers {covered:.2} of {total:.2} need.")
}
