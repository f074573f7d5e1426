//! What a careful coach would stop, leave out or caution: before planning, and never overridden by it.

use std::collections::BTreeSet;

use crate::ids::{ConditionId, FlagId};
use crate::library::vocabulary::{Action, Features, Level, Vocabulary};
use crate::record::{Client, Screening, Visit};

/// One reason why no program is printed.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reason {
    /// A screening question answered with yes.
    Flag(FlagId),
    /// A condition that has not been cleared.
    Condition(ConditionId),
    /// Questions that were not asked or not answered.
    Unasked(Vec<FlagId>),
}

/// Whether a program may be printed at all.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Gate {
    /// Yes. `stale_since` is the day of the health answers if they are older than the visit.
    Open {
        /// The day on which the questions were last asked, if that was before this visit.
        stale_since: Option<jiff::civil::Date>,
    },
    /// No: someone must be seen first.
    Closed {
        /// The strictest level that fired.
        level: Level,
        /// Everything that fired, strictest first.
        reasons: Vec<(Level, Reason)>,
    },
}

/// Judges the health answers that hold at a visit.
pub fn gate(client: &Client, visit: &Visit, vocabulary: &Vocabulary) -> Gate {
    let mut reasons: Vec<(Level, Reason)> = Vec::new();
    let screening = latest_screening(client, visit);
    match screening {
        None => {
            let all = vocabulary.flags.keys().cloned().collect();
            reasons.push((Level::ReferBefore, Reason::Unasked(all)));
        }
        Some(screening) => {
            for flag in &screening.yes {
                let Some(known) = vocabulary.flags.get(flag) else {
                    continue;
                };
                let cleared = known.level.can_be_cleared() && screening.cleared.contains_key(flag);
                if !cleared {
                    reasons.push((known.level, Reason::Flag(flag.clone())));
                }
            }
            if !screening.unasked.is_empty() {
                let unasked = screening.unasked.iter().cloned().collect();
                reasons.push((Level::ReferBefore, Reason::Unasked(unasked)));
            }
        }
    }
    for held in &client.conditions {
        let Some(known) = vocabulary.conditions.get(&held.condition) else {
            continue;
        };
        let cleared = known.level.can_be_cleared() && held.cleared.is_some();
        if known.level.stops_program() && !cleared {
            reasons.push((known.level, Reason::Condition(held.condition.clone())));
        }
    }
    reasons.sort();
    match reasons.first() {
        Some((level, _)) => Gate::Closed { level: *level, reasons },
        None => Gate::Open { stale_since: screening.map(|s| s.on).filter(|asked| *asked < visit.on) },
    }
}

/// The answers of this visit, or the last ones before it.
fn latest_screening<'a>(client: &'a Client, visit: &'a Visit) -> Option<&'a Screening> {
    let earlier = client.visits.iter().rev().filter(|earlier| earlier.on < visit.on);
    visit.screening.as_ref().or_else(|| earlier.filter_map(|earlier| earlier.screening.as_ref()).next())
}

/// What the conditions of a client say of one exercise.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Judgement {
    /// Why it is not for this client, in the coach's words; empty if it may be done.
    pub forbidden: Vec<String>,
    /// Cautions for its card, in the client's words.
    pub cautions: BTreeSet<String>,
}

/// Judges an exercise by its features.
pub fn judge(features: &Features, client: &Client, vocabulary: &Vocabulary) -> Judgement {
    let mut judgement = Judgement::default();
    for held in &client.conditions {
        let Some(condition) = vocabulary.conditions.get(&held.condition) else {
            continue;
        };
        for rule in condition.rules.iter().filter(|rule| rule.matches(features, held.region.as_ref())) {
            match rule.action {
                Action::LeaveOut => judgement.forbidden.push(format!("{}: {}", held.condition, rule.why)),
                Action::NeedsClearance if held.cleared.is_none() => {
                    judgement.forbidden.push(format!("{}, not cleared: {}", held.condition, rule.why));
                }
                Action::NeedsClearance | Action::Caution => {}
            }
            judgement.cautions.extend(rule.tell.iter().cloned());
        }
    }
    judgement
}

#[cfg(test)]
mod tests;
