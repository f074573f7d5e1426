use std::sync::OnceLock;

use serde_json::Value as Json;

use super::*;
use crate::pipeline::sheet_for_tests;
use crate::print::What;
use crate::testing::{client, demo};
use crate::word::papers::paper;

/// A finding on one side and one on both; exercises for one side, for both at once, and for each.
fn sound() -> Handout {
    static SOUND: OnceLock<Handout> = OnceLock::new();
    let make = || {
        let visit = "screening = { yes = [] }\nnext = 2027-01-08T09:00:00\n\
            readings = [{ test = \"knee-to-wall\", left = 10, right = 6 }, \
            { test = \"hip-rotation-seated\", left = 21, right = 22 }]\n\
            program = [{ exercise = \"knee-to-wall\", side = \"right\" }, { exercise = \"chair-squat\" }, \
            { exercise = \"hip-turn-lying\" }, { exercise = \"calf-wall-stretch\", side = \"each\" }]";
        sheet_for_tests(demo(), &client("", visit)).0
    };
    SOUND.get_or_init(make).clone()
}

/// Spoils the plan of a sound sheet in one way and expects that kind of contradiction.
#[track_caller]
fn plan(kind: Kind, spoil: impl FnOnce(&mut Plan)) {
    sheet(kind, |sheet| match &mut sheet.body {
        Body::Plan(plan) => spoil(plan),
        Body::SeeSomeone { .. } => unreachable!("the test client has a plan"),
    });
}

/// Spoils one exercise, by its place in the program.
#[track_caller]
fn card(kind: Kind, side: &str, spoil: impl FnOnce(&mut Exercise)) {
    plan(kind, |plan| {
        let mut cards = plan.phases.iter_mut().flat_map(|phase| &mut phase.exercises);
        spoil(cards.find(|card| card.side == side).expect("there is such an exercise"));
    });
}

#[track_caller]
fn sheet(kind: Kind, spoil: impl FnOnce(&mut Handout)) {
    let mut sheet = sound();
    assert_eq!(contradictions(&sheet), [], "the sheet is sound before it is spoilt");
    spoil(&mut sheet);
    let found = contradictions(&sheet);
    assert!(found.iter().any(|contradiction| contradiction.kind == kind), "{kind:?} is not among {found:?}");
}

#[test]
fn minutes_that_the_dose_does_not_give() {
    card(Kind::Minutes, "right", |card| card.min += 1);
    card(Kind::Minutes, "each", |card| card.side = "left");
    card(Kind::Minutes, "both", |card| card.each_s = Some(1));
    card(Kind::Minutes, "both", |card| card.effort = "Light. Each time takes about 99 seconds.".into());
}

#[test]
fn minutes_of_a_day_that_its_exercises_do_not_add_up_to() {
    plan(Kind::Minutes, |plan| plan.minutes[0] += 1);
    plan(Kind::Minutes, |plan| plan.phases[0].exercises[0].days = [false; 7]);
}

#[test]
fn days_in_words_that_are_not_those_filled_in() {
    card(Kind::Days, "both", |card| card.days[6] = !card.days[6]);
    card(Kind::Days, "right", |card| card.days_text = "Every day".into());
}

#[test]
fn a_headline_that_counts_otherwise_than_the_table() {
    sheet(Kind::Count, |sheet| sheet.message.main[0] = "Do these 3 exercises at home.".into());
    sheet(Kind::Count, |sheet| sheet.message.main[0] = "Do this one exercise at home.".into());
    sheet(Kind::Count, |sheet| sheet.message.sub = "It takes 1 to 99 minutes a day.".into());
}

#[test]
fn a_reference_to_an_exercise_that_is_not_there() {
    plan(Kind::Reference, |plan| {
        let finding = plan.findings.iter_mut().find(|finding| !finding.works_on.is_empty()).unwrap();
        finding.works_on = vec![7];
        *finding.sentences.last_mut().unwrap() = "Exercise 7 works on it.".into();
    });
    plan(Kind::Reference, |plan| {
        let finding = plan.findings.iter_mut().find(|finding| !finding.works_on.is_empty()).unwrap();
        finding.sentences.pop();
    });
    card(Kind::Reference, "both", |card| card.n = 9);
    plan(Kind::Reference, |plan| plan.safety.left_out.push(["Chair squat".into(), "It hurts.".into()]));
}

#[test]
fn the_same_exercise_with_other_cautions() {
    plan(Kind::Caution, |plan| {
        let mut again = plan.phases.last().unwrap().exercises[0].clone();
        again.n += 1;
        again.cautions.clear();
        plan.phases.last_mut().unwrap().exercises.push(again);
    });
}

#[test]
fn the_other_side_in_words_pictures_and_bars() {
    card(Kind::Side, "right", |card| {
        card.steps = vec!["Bend your left knee.".into()];
        card.start = "Stand at a wall.".into();
        card.version.clear();
        card.feel.clear();
    });
    card(Kind::Side, "each", |card| card.side_note = None);
    card(Kind::Picture, "right", |card| card.frames[0].src = "figure-knee-to-wall-left-1.svg".into());
    plan(Kind::Side, |plan| {
        for lane in plan.findings.iter_mut().filter_map(|finding| finding.bar.as_mut()).flat_map(|bar| &mut bar.lanes) {
            lane.focus = lane.label == "Left";
        }
    });
    plan(Kind::Side, |plan| plan.checks.rows[0].columns.reverse());
}

#[test]
fn a_bar_that_shows_or_says_another_value() {
    plan(Kind::Bar, |plan| plan.findings[0].bar.as_mut().unwrap().lanes[0].at += 1.0);
    plan(Kind::Bar, |plan| plan.findings[0].bar.as_mut().unwrap().alt = "Left: 2 cm.".into());
    plan(Kind::Bar, |plan| plan.findings[0].bar.as_mut().unwrap().lanes.reverse());
    plan(Kind::Bar, |plan| plan.checks.rows[0].start[1] = "99".into());
}

#[test]
fn a_pain_scale_that_is_not_the_same_everywhere() {
    plan(Kind::Pain, |plan| plan.pain[1].to = 6);
    plan(Kind::Pain, |plan| plan.checks.rows[0].note = "Stop at pain above 4 out of 10.".into());
    plan(Kind::Pain, |plan| plan.safety.zones[1].items[0] = "Pain above 7 out of 10.".into());
    card(Kind::Pain, "both", |card| card.harder[0] = "If it is easy, with pain of 4 or less:".into());
    card(Kind::Pain, "both", |card| card.cautions.push("Stop at 8 out of 10.".into()));
    plan(Kind::Pain, |plan| plan.pain.clear());
}

#[test]
fn dates_that_differ() {
    plan(Kind::Date, |plan| plan.dates.first = Some("Friday 1 May".into()));
    plan(Kind::Date, |plan| plan.checks.days.truncate(1));
    plan(Kind::Date, |plan| plan.diary.as_mut().unwrap().weeks[0].n = 3);
    plan(Kind::Date, |plan| {
        for week in &mut plan.diary.as_mut().unwrap().weeks {
            week.check = week.check.map(|day| (day + 1) % 7);
        }
    });
}

#[test]
fn a_number_is_read_with_its_sign() {
    assert_eq!((number("\u{2212}2.5\u{a0}cm"), number("6°"), number("none")), (Some(-2.5), Some(6.0), None));
    assert_eq!(numbers("Exercises 1, 2 and 13 work on it."), [1, 2, 13]);
}

#[test]
fn a_paper_that_shows_an_exercise_without_its_cautions() {
    let sheet = serde_json::to_value(sound()).unwrap();
    for what in [What::Glance, What::Cards, What::Diary, What::Booklet] {
        let sound = paper(what, &sheet).unwrap();
        assert_eq!(contradictions_of_paper(&sheet, &sound), [], "{what:?}");
        let spoilt = |key: &str, value: Json| {
            let mut spoilt = sound.clone();
            spoilt["warned"] = Json::Null;
            for phase in spoilt["phases"].as_array_mut().unwrap() {
                phase["exercises"].as_array_mut().unwrap().iter_mut().for_each(|card| card[key] = value.clone());
            }
            contradictions_of_paper(&sheet, &spoilt).iter().any(|found| found.kind == Kind::Caution)
        };
        // The diary gives no dose: it is filled in by those who hold the sheet.
        let shows = what != What::Diary;
        assert_eq!(spoilt("cautions", Json::Null), shows, "{what:?}");
        assert_eq!(spoilt("for_you", serde_json::json!(["Less."])), shows, "{what:?}");
    }
}
