use std::sync::OnceLock;

use super::*;
use crate::pipeline::sheet_for_tests;
use crate::testing::{client, demo};
use crate::word::handout::Frame;

use Instrument::{Actionability, Cdc, Cert, Gate, Understandability};

/// What one test may spoil.
#[derive(Clone)]
struct Bench {
    sheet: Handout,
    coach: Record,
    paper: Paper,
}

impl Bench {
    fn plan(&mut self) -> &mut Plan {
        match &mut self.sheet.body {
            Body::Plan(plan) => plan,
            Body::SeeSomeone { .. } => unreachable!("the test client has a plan"),
        }
    }

    /// The first exercise.
    fn card(&mut self) -> &mut Exercise {
        &mut self.plan().phases[0].exercises[0]
    }

    fn report(&self) -> Report {
        let plain = &demo().plain["en"];
        measure(&self.sheet, With { plain, coach: Some(&self.coach), paper: Some(&self.paper) })
    }
}

fn sound() -> Bench {
    static SOUND: OnceLock<Bench> = OnceLock::new();
    let make = || {
        let visit = "screening = { yes = [] }\nnext = 2027-01-08T09:00:00\n\
            readings = [{ test = \"knee-to-wall\", left = 10, right = 6 }]\n\
            program = [{ exercise = \"knee-to-wall\", side = \"right\" }, \
            { exercise = \"chair-squat\", because = \"Stairs.\" }]";
        let (sheet, coach) = sheet_for_tests(demo(), &client("", visit));
        let paper = paper(&sheet);
        Bench { sheet, coach, paper }
    };
    SOUND.get_or_init(make).clone()
}

/// Pages as a typesetter might make them: the message large on the first, each card on one page.
fn paper(sheet: &Handout) -> Paper {
    let Body::Plan(plan) = &sheet.body else { unreachable!("the test client has a plan") };
    let mut pages = vec![sheet.message.main.iter().map(|line| (line.clone(), 17.5)).collect::<Vec<_>>()];
    for card in plan.phases.iter().flat_map(|phase| &phase.exercises) {
        pages[0].push((card.name.clone(), 12.0));
        let texts = card.steps.iter().chain(&card.cautions).chain(&card.for_you);
        pages.push(texts.map(|text| (text.clone(), 12.0)).collect());
    }
    let headings = [(1, "Your plan"), (2, "Exercises"), (3, "One"), (3, "Two"), (2, "Stay safe")];
    let headings = headings.map(|(level, text)| (level, text.to_owned())).to_vec();
    Paper { other: pages.clone(), pages, headings }
}

/// Spoils a sound sheet in one way and expects that item to be missed, with a place and a cure.
#[track_caller]
fn misses(instrument: Instrument, id: &str, spoil: impl FnOnce(&mut Bench)) {
    let mut bench = sound();
    let outcome = |report: &Report| {
        let item = report.items.iter().find(|item| item.instrument == instrument && item.id == id);
        item.expect("there is such an item").outcome.clone()
    };
    let before = outcome(&bench.report());
    assert!(matches!(before, Outcome::Pass | Outcome::NotApplicable(_)), "{instrument:?} {id}: {before:?}");
    spoil(&mut bench);
    match outcome(&bench.report()) {
        Outcome::Miss(misses) => {
            assert!(misses.iter().all(|miss| !miss.place.is_empty() && !miss.cure.is_empty()), "{misses:?}");
        }
        other => panic!("{instrument:?} {id} is {other:?}"),
    }
}

/// One test an item.
macro_rules! items {
    ($($name:ident $instrument:ident $id:literal $spoil:expr;)*) => {
        $(#[test] fn $name() { misses($instrument, $id, $spoil); })*

        #[test]
        fn every_item_that_a_machine_can_check_has_a_test() {
            let tested = [$(($instrument, $id),)*];
            for item in sound().report().items {
                let known = tested.contains(&(item.instrument, item.id));
                assert_eq!(known, item.outcome != Outcome::Person, "{:?} {}", item.instrument, item.id);
            }
        }
    };
}

const HARD: &str = "Subsequent immobilisation necessitates individualised proprioceptive rehabilitation.";

items! {
    no_goal Understandability "1" |b| b.sheet.message.goals.clear();
    a_number_for_the_coach Understandability "2" |b| b.card().purpose = "Your ICC is good.".into();
    a_hard_word Understandability "3" |b| b.card().steps[0] = "Rotate your scapula.".into();
    a_term_unexplained Understandability "4" |b| b.plan().rounds.clear();
    a_passive Understandability "5" |b| b.card().feel = "Your calf is stretched.".into();
    a_bare_number Understandability "6" |b| b.card().start = "Stand 5 from the wall.".into();
    a_sum_to_do Understandability "7" |b| b.card().easier = "Do half of what you did.".into();
    a_long_paragraph Understandability "8" |b| b.plan().limits = "You may rest. ".repeat(30);
    two_headings_alike Understandability "9" |b| {
        let again = b.plan().findings[0].clone();
        b.plan().findings.push(again);
    };
    signs_out_of_order Understandability "10" |b| b.plan().safety.zones.reverse();
    no_summary Understandability "11" |b| b.sheet.message.main.clear();
    no_cue Understandability "12" |b| b.plan().safety.zones.clear();
    no_picture Understandability "15" |b| b.card().frames.clear();
    a_picture_of_another Understandability "16" |b| {
        let frame = b.card().frames[0].clone();
        b.plan().phases[1].exercises[0].frames.push(frame);
    };
    no_caption Understandability "17" |b| b.card().frames[0].caption = None;
    a_crowded_picture Understandability "18" |b| b.card().frames[0].svg = Some("<text>a</text>".repeat(9));
    a_long_table_head Understandability "19" |b| b.plan().checks.rows[0].columns[0] = "The foot in front on the left".into();
    nothing_to_do Actionability "20" |b| {
        b.sheet.message.main = vec!["Your plan.".into()];
        b.sheet.message.sub = "It takes 5 minutes.".into();
    };
    of_the_reader_not_to_them Actionability "21" |b| b.card().start = "The client stands at a wall.".into();
    two_actions_in_a_step Actionability "22" |b| b.card().steps[0] = "Bend your knee, then lift your foot.".into();
    no_diary Actionability "23" |b| b.plan().diary = None;
    no_help_with_a_sum Actionability "24" |b| b.card().easier = "Do twice as many.".into();
    no_key_to_the_bars Actionability "25" |b| b.sheet.labels["how_to_read"] = "".into();
    no_end_of_the_move Actionability "26" |b| b.card().frames.truncate(1);
    no_main_message Cdc "1" |b| b.sheet.message.main.clear();
    a_message_below_the_plan Cdc "2" |b| b.paper.pages[0].reverse();
    a_message_as_small_as_the_rest Cdc "3" |b| b.paper.pages[0].iter_mut().for_each(|piece| piece.1 = 12.0);
    no_picture_by_the_message Cdc "4" |b| {
        b.plan().phases.iter_mut().flat_map(|phase| &mut phase.exercises).for_each(|card| card.frames.clear());
    };
    no_call Cdc "5" |b| {
        b.sheet.message.main = vec!["Your plan.".into()];
        b.sheet.message.sub = "It takes 5 minutes.".into();
    };
    a_passive_message Cdc "6" |b| b.sheet.message.main[0] = "These 2 exercises are done at home.".into();
    a_word_of_the_trade Cdc "7" |b| b.card().not_feel = "Discomfort.".into();
    a_list_in_a_sentence Cdc "8" |b| b.card().start = "Take a mat, a ball, a towel, a chair.".into();
    an_empty_heading Cdc "9" |b| b.plan().findings[0].title.clear();
    no_pain_scale_in_the_first_section Cdc "10" |b| b.plan().pain.clear();
    what_is_not_known_unsaid Cdc "11" |b| b.plan().limits.clear();
    nothing_recommended Cdc "12" |b| {
        b.plan().phases.clear();
        b.sheet.message.main = vec!["Your plan.".into()];
        b.sheet.message.sub.clear();
    };
    no_reason Cdc "13" |b| b.card().purpose.clear();
    no_steps Cdc "14" |b| b.card().steps.clear();
    a_percentile Cdc "15" |b| b.plan().findings[0].sentences.push("You are in the tenth percentile.".into());
    a_reading_without_a_word Cdc "16" |b| b.plan().findings[0].bar.as_mut().unwrap().lanes[0].band.clear();
    more_than_at_the_start Cdc "17" |b| b.plan().checks.rows[0].unknown = Some("2 cm more than at the start.".into());
    no_sign_to_stop_for Cdc "18" |b| b.plan().safety.zones[0].items.clear();
    no_risk_beside_the_gain Cdc "19" |b| b.card().not_feel.clear();
    a_bare_chance Cdc "20" |b| b.card().feel = "The chance of a cramp is 5 percent.".into();
    no_kit Cert "1" |b| b.plan().kit.clear();
    no_coach Cert "2" |b| b.sheet.studio.role.clear();
    alone_or_not Cert "3" |b| b.sheet.message.main[0] = "Do these 2 exercises.".into();
    nobody_to_ask Cert "4" |b| b.sheet.message.sub = "It takes 7 minutes a day.".into();
    nothing_to_tick Cert "5" |b| b.plan().diary = None;
    no_day_of_the_result Cert "6" |b| {
        b.plan().dates.next = None;
        b.plan().dates.checks.clear();
    };
    no_rule_to_go_on Cert "7a" |b| b.card().harder[1].clear();
    not_to_be_repeated Cert "8" |b| b.card().start.clear();
    no_first_day Cert "9" |b| b.plan().dates.first = None;
    no_advice Cert "10" |b| b.plan().safety.know.clear();
    no_line_for_pain Cert "11" |b| b.sheet.labels["worst_pain"] = "".into();
    no_room Cert "12" |b| b.plan().safety.home.clear();
    half_a_dose Cert "13" |b| b.card().effort.clear();
    nobody_chose Cert "14a" |b| b.coach.chosen = None;
    no_finding_led_to_it Cert "14b" |b| b.coach.program.iter_mut().for_each(|row| row.led_to = false);
    no_reason_for_the_level Cert "15" |b| b.coach.program[0].why.clear();
    gate_no_message Gate "1" |b| b.sheet.message.main.clear();
    gate_pemat Gate "2" |b| {
        b.plan().diary = None;
        b.plan().rounds.clear();
        b.card().frames.clear();
    };
    gate_cdc Gate "3" |b| b.sheet.message.main.clear();
    gate_cert Gate "4" |b| b.card().harder[0].clear();
    gate_hard_to_read Gate "5" |b| b.card().cautions = vec![HARD.into(); 40];
    gate_caution_on_another_page Gate "6" |b| {
        let last = b.paper.pages[1].pop().unwrap();
        b.paper.pages[2].push(last);
    };
    gate_small_type Gate "7" |b| b.paper.pages[1][0].1 = 9.0;
    gate_small_type_on_the_other_paper Gate "7" |b| b.paper.other[1][0].1 = 9.0;
    gate_pale_ink Gate "7" |b| b.sheet.brand.ink = "#8a8a8a".into();
    gate_a_level_left_out Gate "8" |b| { b.paper.headings.remove(1); };
    gate_two_first_headings Gate "8" |b| b.paper.headings[4].0 = 1;
    gate_no_headings Gate "8" |b| b.paper.headings.clear();
    gate_a_picture_without_words Gate "8" |b| b.card().frames[0].alt = " ".into();
    gate_no_title Gate "8" |b| b.sheet.doc.title.clear();
    gate_a_finding_in_the_title Gate "8" |b| b.sheet.doc.title = b.plan().findings[0].title.clone();
    gate_caution_on_another_page_of_the_other_paper Gate "6" |b| {
        let last = b.paper.other[1].pop().unwrap();
        b.paper.other[2].push(last);
    };
    gate_nothing_to_judge Gate "9" |b| b.coach.judge = &[];
}

#[test]
fn a_sound_sheet_misses_nothing_and_scores_by_the_instruments_own_rules() {
    let report = sound().report();
    let missed: Vec<_> = report.misses().collect();
    assert!(missed.is_empty(), "{missed:?}");
    for instrument in Instrument::ALL {
        let points = report.points(instrument);
        assert_eq!((points.percent(), points.met), (100, points.of), "{instrument:?}");
    }
    // 19 items, of which a person judges three.
    assert_eq!(report.points(Cert).of, 16);
    // Nothing to work out, and no chance given: those two do not apply.
    assert_eq!((report.points(Actionability).of, report.points(Cdc).of), (6, 19));
}

#[test]
fn without_a_main_message_the_index_takes_four_points() {
    let mut bench = sound();
    bench.sheet.message.main.clear();
    let report = bench.report();
    let lost = |id: &str| {
        report
            .items
            .iter()
            .any(|item| item.instrument == Cdc && item.id == id && matches!(item.outcome, Outcome::Miss(_)))
    };
    assert!(["1", "2", "3", "4"].into_iter().all(lost));
}

#[test]
fn what_takes_pages_is_not_counted_without_them() {
    let bench = sound();
    let report = measure(&bench.sheet, With { plain: &demo().plain["en"], coach: None, paper: None });
    let item =
        |instrument, id| report.items.iter().find(|item| item.instrument == instrument && item.id == id).unwrap();
    for (instrument, id) in
        [(Cdc, "2"), (Cdc, "3"), (Cert, "14a"), (Cert, "15"), (Gate, "6"), (Gate, "7"), (Gate, "8"), (Gate, "9")]
    {
        assert!(matches!(item(instrument, id).outcome, Outcome::NotMeasured(_)), "{instrument:?} {id}");
    }
    assert_eq!(report.points(Cert).of, 14);
}

#[test]
fn readability_is_told_by_section_with_its_number_of_words() {
    let report = sound().report();
    let names: Vec<&str> = report.sections.iter().map(|section| section.section.as_str()).collect();
    assert_eq!(
        names,
        ["whole sheet", "main message", "plan", "what we found", "exercises", "checks", "diary", "safety"]
    );
    assert!(report.sections[0].words > 300 && report.sections[0].easy);
    assert!(!report.sections[1].enough, "a main message is too short to score");
}

#[test]
fn a_picture_of_the_practice_needs_a_caption() {
    let mut bench = sound();
    let alt = "Standing at a wall.".to_owned();
    bench.card().frames[0] =
        Frame { src: "wall.png".into(), alt, caption: None, svg: None, ratio: None, wrong: false, marks: Vec::new() };
    assert!(bench.report().misses().any(|(item, miss)| item.id == "17" && miss.text.contains("wall.png")));
}
