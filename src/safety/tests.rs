//! Cases of safety.md section 10 and others of the same kind.

use std::collections::BTreeSet;

use super::*;
use crate::ids::Id;
use crate::library::vocabulary::Method;
use crate::testing::{client, demo};

#[track_caller]
fn check_gate(about: &str, visit: &str, level: Option<Level>) {
    let client = client(about, visit);
    let gate = gate(&client, &client.visits[0], &demo().library.vocabulary);
    let found = match gate {
        Gate::Open { .. } => None,
        Gate::Closed { level, .. } => Some(level),
    };
    assert_eq!(found, level);
}

/// Exercises that a client with one condition may not do.
fn forbidden(condition: &str) -> BTreeSet<String> {
    let client = client(condition, "screening = { yes = [] }");
    let library = &demo().library;
    library
        .exercises
        .values()
        .filter(|exercise| !judge(&exercise.features, &client, &library.vocabulary).forbidden.is_empty())
        .map(|exercise| exercise.id.to_string())
        .collect()
}

#[test]
fn red_flags_close_the_gate_at_their_level() {
    check_gate("", "screening = { yes = [] }", None);
    check_gate("", "screening = { yes = [\"saddle-numbness\"] }", Some(Level::Emergency));
    check_gate("", "screening = { yes = [\"leg-swollen\"] }", Some(Level::SameDay));
    check_gate("", "screening = { yes = [\"falls\"] }", Some(Level::ReferBefore));
    // The strictest wins.
    check_gate("", "screening = { yes = [\"falls\", \"chest-pain\", \"leg-swollen\"] }", Some(Level::Emergency));
}

#[test]
fn what_was_not_asked_is_not_cleared() {
    check_gate("", "", Some(Level::ReferBefore));
    check_gate("", "screening = { yes = [], unasked = [\"chest-pain\"] }", Some(Level::ReferBefore));
}

#[test]
fn a_clearance_lifts_a_referral_but_never_an_emergency() {
    let cleared = |flag: &str| {
        format!(
            "screening = {{ yes = [\"{flag}\"], cleared = [{{ question = \"{flag}\", by = \"Dr Lee\", on = 2026-11-19 }}] }}"
        )
    };
    check_gate("", &cleared("falls"), None);
    check_gate("", &cleared("leg-swollen"), Some(Level::SameDay));
    check_gate("", &cleared("chest-pain"), Some(Level::Emergency));
}

#[test]
fn a_condition_that_needs_clearance_closes_the_gate_until_it_has_one() {
    let held = "[[conditions]]\ncondition = \"fracture-unhealed\"\nregion = \"ankle\"";
    check_gate(held, "screening = { yes = [] }", Some(Level::ReferBefore));
    check_gate(&format!("{held}\ncleared = {{ by = \"Dr Lee\", on = 2026-11-19 }}"), "screening = { yes = [] }", None);
}

#[test]
fn osteoporosis_keeps_balance_and_strength_and_drops_pressure_on_the_spine() {
    let out = forbidden("[[conditions]]\ncondition = \"osteoporosis\"");
    assert!(out.contains("upper-back-ball") && out.contains("side-lying-chest-turn"), "{out:?}");
    for kept in ["chair-squat", "one-leg-stand", "heel-raise", "slow-bridge"] {
        assert!(!out.contains(kept), "{kept} is needed: {out:?}");
    }
}

#[test]
fn very_high_blood_pressure_withholds_all_load() {
    let out = forbidden("[[conditions]]\ncondition = \"blood-pressure-very-high\"");
    let library = &demo().library;
    let load = library.exercises.values().filter(|e| e.features.methods.contains(&Method::Load));
    for exercise in load {
        assert!(out.contains(exercise.id.as_str()), "{} is load", exercise.id);
    }
}

#[test]
fn late_pregnancy_leaves_no_flat_back_and_no_front_lying() {
    let out = forbidden("[[conditions]]\ncondition = \"pregnancy\"");
    let library = &demo().library;
    for exercise in library.exercises.values() {
        let lies_flat = exercise.features.tags.iter().any(|tag| tag.as_str() == "lying-flat");
        let lies_on_front = exercise.features.positions.iter().any(|position| position.as_str() == "prone");
        if lies_flat || lies_on_front {
            assert!(out.contains(exercise.id.as_str()), "{}", exercise.id);
        }
    }
    assert!(out.len() < library.exercises.len() / 2, "exercise is encouraged: {out:?}");
}

#[test]
fn no_pressure_for_a_client_with_a_blood_thinner_until_cleared() {
    let out = forbidden("[[conditions]]\ncondition = \"anticoagulant\"");
    let library = &demo().library;
    for exercise in library.exercises.values().filter(|e| e.features.methods.contains(&Method::Release)) {
        assert!(out.contains(exercise.id.as_str()), "{} presses", exercise.id);
    }
    // Once cleared, pressing is allowed, and the card says how.
    let cleared = "[[conditions]]\ncondition = \"anticoagulant\"\ncleared = { by = \"Dr Lee\", on = 2026-11-19 }";
    let client = client(cleared, "screening = { yes = [] }");
    let ball = library.exercises.values().find(|e| e.id.as_str() == "chest-ball").unwrap();
    let judged = judge(&ball.features, &client, &library.vocabulary);
    assert!(judged.forbidden.is_empty() && !judged.cautions.is_empty(), "{judged:?}");
}

#[test]
fn no_caution_names_a_condition() {
    let vocabulary = &demo().library.vocabulary;
    for (id, condition) in &vocabulary.conditions {
        for tell in condition.rules.iter().filter_map(|rule| rule.tell.as_ref()) {
            let plain = id.as_str().replace('-', " ");
            assert!(!tell.to_lowercase().contains(&plain), "{id}: {tell}");
        }
    }
}
