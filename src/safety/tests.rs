//! Cases of safety.md section 10 and others of the same kind.

use std::collections::BTreeSet;

use super::*;
use crate::ids::Id;
use crate::library::vocabulary::Method;
use crate::record::Client;
use crate::testing::{client, demo};

#[track_caller]
fn check_gate(about: &str, visit: &str, level: Option<Level>) {
    let client = client(about, visit);
    let gate = gate(&client, &client.visits[0], &demo().library);
    let found = match gate {
        Gate::Open { .. } => None,
        Gate::Closed { level, .. } => Some(level),
    };
    assert_eq!(found, level);
}

fn case(client: &Client) -> Case<'_> {
    Case::new(client, &client.visits[0], &demo().library)
}

fn exercise(id: &str) -> &'static Exercise {
    demo().library.exercises.values().find(|exercise| exercise.id.as_str() == id).expect("the demo has it")
}

/// What bars the easiest version of an exercise.
fn bars(about: &str, visit: &str, id: &str, sides: Sides) -> Vec<Bar> {
    let client = client(about, visit);
    let exercise = exercise(id);
    case(&client).version(exercise, &exercise.rungs[0], sides).bars
}

/// Exercises that a client with one condition may not do.
fn forbidden(condition: &str) -> BTreeSet<String> {
    let client = client(condition, "screening = { yes = [] }");
    let library = &demo().library;
    library
        .exercises
        .values()
        .filter(|exercise| !case(&client).features(&exercise.features).bars.is_empty())
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
    let judged = case(&client).features(&ball.features);
    assert!(judged.bars.is_empty() && !judged.cautions.is_empty(), "{judged:?}");
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

const ASKED: &str = "screening = { yes = [] }";

#[test]
fn blood_pressure_counts_by_either_number() {
    // safety.md 10, case 3: 184/96 withholds load, and either number counts.
    for pressure in ["184/96", "150/112", "180/90"] {
        let visit = format!("screening = {{ yes = [], blood_pressure = \"{pressure}\" }}");
        assert!(!bars("", &visit, "chair-squat", Sides::Both).is_empty(), "{pressure}");
    }
    for pressure in ["159/99", "120/80"] {
        let visit = format!("screening = {{ yes = [], blood_pressure = \"{pressure}\" }}");
        assert_eq!(bars("", &visit, "chair-squat", Sides::Both), [], "{pressure}");
    }
    // Between the two limits load needs a clearance.
    let held = bars("", "screening = { yes = [], blood_pressure = \"165/90\" }", "chair-squat", Sides::Both);
    assert!(held.iter().all(|bar| matches!(bar, Bar::NotCleared(..))) && !held.is_empty(), "{held:?}");
}

#[test]
fn answers_and_clearances_lapse_after_a_year() {
    check_gate("", "screening = { asked_on = 2025-11-21, yes = [] }", None);
    check_gate("", "screening = { asked_on = 2025-11-20, yes = [] }", Some(Level::ReferBefore));
    let cleared = |on: &str| {
        format!(
            "screening = {{ yes = [\"falls\"], cleared = [{{ question = \"falls\", by = \"Dr Lee\", on = {on} }}] }}"
        )
    };
    check_gate("", &cleared("2025-11-21"), None);
    check_gate("", &cleared("2025-11-20"), Some(Level::ReferBefore));
}

#[test]
fn a_new_medicine_blocks_until_someone_has_looked_at_it() {
    check_gate("", "screening = { yes = [\"health-changed\"] }", Some(Level::ReferBefore));
}

#[test]
fn a_reading_can_send_on_by_itself() {
    // One-leg stance under 5 s (trade-figures 3.2), one side is enough.
    check_gate(
        "",
        &format!("{ASKED}\nreadings = [{{ test = \"one-leg-stand\", left = 4.9, right = 30 }}]"),
        Some(Level::ReferBefore),
    );
    check_gate("", &format!("{ASKED}\nreadings = [{{ test = \"one-leg-stand\", left = 5, right = 30 }}]"), None);
    // Timed up and go of 12 s or more (CDC STEADI).
    check_gate(
        "",
        &format!("{ASKED}\nreadings = [{{ test = \"timed-up-and-go\", value = 12 }}]"),
        Some(Level::ReferBefore),
    );
    check_gate("", &format!("{ASKED}\nreadings = [{{ test = \"timed-up-and-go\", value = 11.9 }}]"), None);
    // Head more than 5 cm off the wall (Osteoporosis Canada 2010).
    check_gate(
        "",
        &format!("{ASKED}\nreadings = [{{ test = \"head-to-wall\", value = 5.5 }}]"),
        Some(Level::ReferBefore),
    );
    check_gate("", &format!("{ASKED}\nreadings = [{{ test = \"head-to-wall\", value = 5 }}]"), None);
}

#[test]
fn a_form_that_sends_on_closes_the_gate() {
    let form = |sends_on: bool| {
        format!(
            "screening = {{ yes = [], form = {{ name = \"Readiness form, 2026\", on = 2026-11-20, sends_on = {sends_on} }} }}"
        )
    };
    check_gate("", &form(true), Some(Level::ReferBefore));
    check_gate("", &form(false), None);
}

#[test]
fn a_coach_may_set_a_referral_aside_with_name_date_and_reason() {
    let over = "[[overrides]]\nquestion = \"falls\"\nby = \"maren\"\non = 2026-11-20\nwhy = \"One slip on ice; steady today.\"";
    check_gate(over, "screening = { yes = [\"falls\"] }", None);
    // A decision of a later day says nothing of this visit.
    let later = over.replace("2026-11-20", "2026-11-22");
    check_gate(&later, "screening = { yes = [\"falls\"] }", Some(Level::ReferBefore));
}

#[test]
fn nothing_lifts_a_question_of_the_urgent_levels_that_was_not_asked() {
    let unasked = |flag: &str| {
        format!(
            "screening = {{ yes = [], unasked = [\"{flag}\"], cleared = [{{ question = \"{flag}\", by = \"Dr Lee\", on = 2026-11-19 }}] }}"
        )
    };
    check_gate("", &unasked("chest-pain"), Some(Level::ReferBefore));
    check_gate("", &unasked("leg-swollen"), Some(Level::ReferBefore));
    // What a clinician can clear, they have looked at.
    check_gate("", &unasked("falls"), None);
}

#[test]
fn an_override_opens_one_exercise_and_no_other() {
    let held = "[[conditions]]\ncondition = \"osteoporosis\"";
    let over = "[[overrides]]\ncondition = \"osteoporosis\"\nexercise = \"side-lying-chest-turn\"\nby = \"maren\"\non = 2026-11-20\nwhy = \"Agreed with her doctor, small range.\"";
    let both = format!("{held}\n{over}");
    assert!(!bars(held, ASKED, "side-lying-chest-turn", Sides::Left).is_empty());
    assert_eq!(bars(&both, ASKED, "side-lying-chest-turn", Sides::Left), []);
    assert!(!bars(&both, ASKED, "upper-back-ball", Sides::Left).is_empty());
}

#[test]
fn nothing_rests_on_a_sore_side() {
    // Lifting the right knee in side lying rests on the left shoulder and hip.
    let sore = |side: &str| format!("{ASKED}\nsore = [{{ region = \"shoulder\", side = \"{side}\" }}]");
    assert!(matches!(bars("", &sore("left"), "side-lying-knee-lift", Sides::Right)[..], [Bar::Sore(_)]));
    assert_eq!(bars("", &sore("right"), "side-lying-knee-lift", Sides::Right), []);
    // Done on each side in turn it rests on both.
    assert!(!bars("", &sore("right"), "side-lying-knee-lift", Sides::Each).is_empty());
}

#[test]
fn an_open_referral_holds_its_place_and_its_side_only() {
    let referral = |closed: &str| {
        format!(
            "[[referrals]]\nregion = \"shoulder\"\nside = \"left\"\nto = \"Dr Lee\"\nwhy = \"Night pain.\"\non = 2026-11-10\n{closed}"
        )
    };
    let held = |about: &str, sides: Sides| !bars(about, ASKED, "wall-slide", sides).is_empty();
    assert!(held(&referral(""), Sides::Left) && held(&referral(""), Sides::Each));
    assert!(!held(&referral(""), Sides::Right));
    assert!(!held(&referral("closed = 2026-11-19"), Sides::Left));
    // The answer came after this visit.
    assert!(held(&referral("closed = 2026-11-21"), Sides::Left));
}

#[test]
fn pain_in_a_test_cautions_up_to_the_mark_and_bars_above_it() {
    // trade-figures 5.6: 0 to 2 fine, 3 to 5 ease off, above 5 stop.
    let hurt = |pain: u32| {
        format!("{ASKED}\nreadings = [{{ test = \"knee-to-wall\", left = 8, right = 9, left_pain = {pain} }}]")
    };
    let judged = |pain: u32, sides: Sides| {
        let client = client("", &hurt(pain));
        let stretch = exercise("calf-wall-stretch");
        let judgement = case(&client).version(stretch, &stretch.rungs[0], sides);
        (!judgement.bars.is_empty(), !judgement.cautions.is_empty())
    };
    assert_eq!(judged(2, Sides::Left), (false, false));
    assert_eq!(judged(3, Sides::Left), (false, true));
    assert_eq!(judged(5, Sides::Left), (false, true));
    assert!(judged(6, Sides::Left).0);
    assert_eq!(judged(6, Sides::Right), (false, false), "the other side did not hurt");
}
