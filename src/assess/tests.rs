//! The right answers are worked out from the trade's figures, written beside each case.

use super::*;
use crate::testing::{client, demo};

fn findings(about: &str, readings: &str) -> Findings {
    let client = client(about, &format!("screening = {{ yes = [] }}\nreadings = [{readings}]"));
    assess(&client, &client.visits[0], &demo().library)
}

#[track_caller]
fn check(about: &str, reading: &str, left: Option<(Band, Basis)>, right: Option<(Band, Basis)>) {
    let findings = findings(about, reading);
    let verdicts = findings.tests[0].verdicts;
    let plain = |verdict: Option<Verdict>| verdict.map(|v| (v.band, v.basis));
    assert_eq!((plain(verdicts.left), plain(verdicts.right)), (left, right));
}

const LIMITED: Option<(Band, Basis)> = Some((Band::Limited, Basis::Reference));
const USUAL: Option<(Band, Basis)> = Some((Band::AboutUsual, Basis::Reference));

#[test]
fn a_reading_is_limited_only_beyond_the_standard_error_of_the_edge() {
    // Working flag 9 cm, SEM 0.4 to 0.6 cm (trade-figures 3.1): 8.5 could as well be 9, 8 could not.
    check("", "{ test = \"knee-to-wall\", left = 9, right = 8.5 }", USUAL, USUAL);
    check("", "{ test = \"knee-to-wall\", left = 8, right = 8 }", LIMITED, LIMITED);
}

#[test]
fn a_side_is_called_less_only_beyond_the_smallest_real_change() {
    // Both in the usual range; 2 cm across days is measuring error, 2.5 cm is not (trade-figures 3.1, section 2).
    check("", "{ test = \"knee-to-wall\", left = 12, right = 10 }", USUAL, USUAL);
    check("", "{ test = \"knee-to-wall\", left = 12.5, right = 10 }", USUAL, Some((Band::Limited, Basis::OtherSide)));
}

#[test]
fn the_usual_range_goes_by_age_and_sex() {
    // Chair stands in 30 s, below average under 12 for men and 11 for women at 65 to 69 (CDC STEADI, trade-figures 3.2).
    let stands = |sex: &str| format!("born = 1959-01-01\nsex = \"{sex}\"");
    check(&stands("male"), "{ test = \"chair-stand\", value = 11 }", LIMITED, LIMITED);
    check(&stands("female"), "{ test = \"chair-stand\", value = 11 }", USUAL, USUAL);
    // There is no table under 60: nothing to judge by.
    check("born = 1980-01-01\nsex = \"male\"", "{ test = \"chair-stand\", value = 11 }", None, None);
}

#[test]
fn unreliable_tests_and_unknown_errors_give_no_verdict() {
    // The pass or fail of the thigh-level test agrees poorly between raters (trade-figures 3.1).
    check("", "{ test = \"thigh-level\", left = -5, right = 20 }", None, None);
    // Hands behind the back have no published error and no table under 60: two uneven sides are not called.
    check("born = 1990-01-01", "{ test = \"back-scratch\", left = -20, right = 4 }", None, None);
}

#[test]
fn a_change_is_judged_against_the_error_of_its_test() {
    let library = &demo().library;
    let of = |id: &str, before: f64, now: f64| {
        let test = library.tests.values().find(|test| test.id.to_string() == id).unwrap();
        change(test, Amount::from_f64(before).unwrap(), Amount::from_f64(now).unwrap())
    };
    // Knee to wall: SEM 0.5 cm, 2 cm across days (trade-figures 3.1).
    assert_eq!(of("knee-to-wall", 5.5, 7.5), Some(Change::Better));
    assert_eq!(of("knee-to-wall", 5.5, 7.0), Some(Change::MaybeBetter));
    assert_eq!(of("knee-to-wall", 5.5, 6.0), Some(Change::Same));
    assert_eq!(of("knee-to-wall", 5.5, 5.0), Some(Change::Same));
    assert_eq!(of("knee-to-wall", 5.5, 4.5), Some(Change::MaybeWorse));
    assert_eq!(of("knee-to-wall", 5.5, 3.5), Some(Change::Worse));
    // The reach over the head has no published error (3.3): both values, no verdict.
    assert_eq!(of("shoulder-reach", 120.0, 160.0), None);
}

#[test]
fn pain_silences_a_reading() {
    let found = findings("", "{ test = \"knee-to-wall\", left = 10, right = 4, pain = 6 }");
    assert!(found.tests[0].painful && found.tests[0].limited().is_empty());
    assert_eq!(found.needs, [], "pain is no sign of shortness");
}

#[test]
fn evidence_adds_up_by_noisy_or_and_good_results_speak_against() {
    let demo = &demo().library;
    let test = demo.tests.values().find(|test| test.id.to_string() == "knee-to-wall").unwrap();
    let weight = |list: &[Evidence], structure: &str, state: State| {
        list.iter().find(|e| e.structure.to_string() == structure && e.state == state).map_or(0.0, |e| e.weight)
    };
    let found = findings("", "{ test = \"knee-to-wall\", left = 10, right = 4, right_signs = [\"heel-lifts\"] }");
    let sign = test.signs.iter().find(|sign| sign.id == "heel-lifts").unwrap();
    let need = |structure: &str, state: State, side: Side| {
        found
            .needs
            .iter()
            .find(|n| n.structure.to_string() == structure && n.state == state && n.side == Some(side))
            .map(|n| n.weight)
    };
    let calf = 1.0
        - (1.0 - weight(&test.limited, "calf", State::Short)) * (1.0 - weight(&sign.evidence, "calf", State::Short));
    let right = need("calf", State::Short, Side::Right).expect("the right calf is a need");
    assert!((right - calf).abs() < 1e-12 && right > 0.0);
    assert_eq!(need("calf", State::Short, Side::Left), None, "the left came out well");
    assert!(found.needs.is_sorted_by(|a, b| a.weight >= b.weight));
}
