//! The right verdicts and decisions are worked out by hand from the figures written beside each case.

use std::sync::Arc;

use super::*;
use crate::assess::assess;
use crate::check::check_client;
use crate::diag::SourceFile;
use crate::ids::{ClientId, ExerciseId, Id};
use crate::library::exercise::Dose;
use crate::plan::plan;
use crate::testing::demo;

/// A client with several visits; each is its day and its keys.
fn client(visits: &[(&str, &str)]) -> Client {
    let mut text =
        "name = \"Ana Silva\"\nborn = 1980-01-01\ngoals = [\"Climb the stairs with ease.\"]\nminutes_a_day = 40\n"
            .to_owned();
    for (on, keys) in visits {
        text.push_str(&format!("\n[[visits]]\non = {on}\nscreening = {{ yes = [] }}\n{keys}\n"));
    }
    let file = Arc::new(SourceFile { path: "clients/ana.toml".into(), text });
    check_client(demo(), &ClientId::new("ana").unwrap(), &file, Date::constant(2027, 6, 1)).unwrap_or_else(|problems| {
        panic!("{}", problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))
    })
}

fn retest(client: &Client) -> Retest {
    let visit = client.visits.last().unwrap();
    let library = &demo().library;
    let program = plan(client, visit, &assess(client, visit, library), library).0.unwrap_or_else(|problems| {
        panic!("{}", problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))
    });
    program.retest.expect("there was a program before")
}

const ANKLE: &str = "{ exercise = \"calf-wall-stretch\", side = \"right\", rung = 2 }";

/// The verdict on a right ankle that went from `before` to `now` centimetres.
fn ankle(before: &str, now: &str) -> Option<Change> {
    let readings =
        |value: &str| format!("readings = [{{ test = \"knee-to-wall\", right = {value} }}]\nprogram = [{ANKLE}]");
    let client = client(&[("2026-09-01", &readings(before)), ("2026-10-06", &readings(now))]);
    retest(&client).courses[0].last
}

#[test]
fn every_row_of_the_table_of_verdicts() {
    // Knee to wall: SEM 0.5 cm, MDC95 2 cm across days (trade-figures 3.1); no worthwhile change is published.
    assert_eq!(ankle("5", "7"), Some(Change::Better), "d >= MDC95");
    assert_eq!(ankle("5", "6.5"), Some(Change::MaybeBetter), "SEM < d < MDC95");
    assert_eq!(ankle("5", "5.5"), Some(Change::Same), "abs(d) <= SEM");
    assert_eq!(ankle("5.5", "5"), Some(Change::Same), "abs(d) <= SEM");
    assert_eq!(ankle("6.5", "5.5"), Some(Change::MaybeWorse), "-MDC95 < d < -SEM");
    assert_eq!(ankle("7", "5"), Some(Change::Worse), "d <= -MDC95");
    // No test of the library has both an error and a worthwhile change: here 3 cm would be one.
    let library = &demo().library;
    let mut test = library.tests[&TestId::new("knee-to-wall").unwrap()].clone();
    test.worthwhile = Some(crate::library::test::Sourced { amount: Amount::whole(3), source: "made up".to_owned() });
    let of = |now: i64| change(&test, Amount::whole(5), Amount::whole(now));
    assert_eq!((of(7), of(8)), (Some(Change::Better), Some(Change::ClearlyBetter)), "d >= MDC95 and d >= MCID");
    // The reach over the head has no published error (3.3): both values and no verdict.
    let reach =
        |value: u32| format!("readings = [{{ test = \"shoulder-reach\", left = {value} }}]\nprogram = [{ANKLE}]");
    let course = retest(&client(&[("2026-09-01", &reach(120)), ("2026-10-06", &reach(150))])).courses.remove(0);
    assert_eq!((course.last, course.points.len()), (None, 2));
}

#[test]
fn five_visits_judged_by_hand() {
    // Neck turn, MDC95 7 degrees, so SEM 7 / 2.77 = 2.53 (trade-figures 3.3, section 2).
    //   left  40 -> 44: +4, within error, leaning better;  44 -> 46: +2, no change;  46 -> 53: +7, real;
    //         53 -> 50: -3, within error, leaning worse;   whole: +10, real.
    //   right 60 -> 60, 59, 61, 53: the last is -8, really worse; whole -7, really worse.
    let visit = |left: u32, right: u32| {
        format!(
            "readings = [{{ test = \"neck-turn\", left = {left}, right = {right} }}]\nprogram = [{{ exercise = \"chin-nod\" }}]"
        )
    };
    let visits = [
        ("2026-08-03", visit(40, 60)),
        ("2026-09-01", visit(44, 60)),
        ("2026-10-01", visit(46, 59)),
        ("2026-11-02", visit(53, 61)),
        ("2026-12-01", visit(50, 53)),
    ];
    let left = [Change::MaybeBetter, Change::Same, Change::Better, Change::MaybeWorse];
    let right = [Change::Same, Change::Same, Change::Same, Change::Worse];
    for end in 2..=5 {
        let until: Vec<(&str, &str)> = visits[..end].iter().map(|(on, keys)| (*on, keys.as_str())).collect();
        let courses = retest(&client(&until)).courses;
        assert_eq!(courses[0].last, Some(left[end - 2]), "left, visit {end}");
        assert_eq!(courses[1].last, Some(right[end - 2]), "right, visit {end}");
        assert_eq!(courses[0].points.len(), end);
    }
    let until: Vec<(&str, &str)> = visits.iter().map(|(on, keys)| (*on, keys.as_str())).collect();
    let last = retest(&client(&until));
    assert_eq!((last.courses[0].whole, last.courses[1].whole), (Some(Change::Better), Some(Change::Worse)));
    assert_eq!((last.courses[0].still, last.courses[1].still), (1, 0));
    let right = HandOver::Worse(TestId::new("neck-turn").unwrap(), Some(Side::Right));
    assert_eq!(last.hand_over, [right], "only the right side is really worse");
}

#[test]
fn readings_taken_in_another_way_are_not_compared() {
    let visit = |value: u32, way: &str| {
        format!(
            "readings = [{{ test = \"neck-turn\", left = {value}{way} }}]\nprogram = [{{ exercise = \"chin-nod\" }}]"
        )
    };
    let phone = ", method = \"phone held on the head\"";
    let two = client(&[("2026-08-03", &visit(40, "")), ("2026-09-01", &visit(60, phone))]);
    let course = retest(&two).courses.remove(0);
    assert_eq!((course.last, course.points.len(), course.other_way), (None, 1, 1));
    // Back to the first way: compared with the first, not with the second.
    let three =
        client(&[("2026-08-03", &visit(40, "")), ("2026-09-01", &visit(60, phone)), ("2026-10-01", &visit(48, ""))]);
    let course = retest(&three).courses.remove(0);
    assert_eq!((course.last, course.points.len()), (Some(Change::Better), 2));
    let finding = &assess(&three, &three.visits[2], &demo().library).tests[0];
    assert_eq!(finding.previous.as_ref().map(|(on, _)| *on), Some(Date::constant(2026, 8, 3)));
}

#[test]
fn many_comparisons_come_with_a_caution() {
    let read = |ids: &[&str], more: f64| {
        let usual = |id: &str| if id == "knee-to-wall" { 8.0 } else { 40.0 };
        let one = |id: &&str| format!("{{ test = \"{id}\", left = {}, right = {} }}", usual(id) + more, usual(id));
        let list: Vec<String> = ids.iter().map(one).collect();
        format!("readings = [{}]\nprogram = [{ANKLE}]", list.join(", "))
    };
    let five = ["neck-turn", "trunk-turn", "hip-rotation-seated", "straight-leg-raise", "knee-to-wall"];
    let of =
        |ids: &[&str]| retest(&client(&[("2026-09-01", &read(ids, 0.0)), ("2026-10-06", &read(ids, 9.0))])).by_chance;
    assert_eq!(of(&five[..4]), None, "eight are few enough");
    let (real, all) = of(&five).expect("ten are many");
    assert!(all == 10 && real > 0, "{real} of {all}");
}

/// The diary of a right calf stretch on its second rung, and what is decided.
fn decided(now: &str, keys: &str) -> (Decision, String) {
    // Second rung, five days a week from Monday 7 September: 29 days to the visit, 21 planned.
    let before = format!(
        "start = 2026-09-07\nreadings = [{{ test = \"knee-to-wall\", left = 11, right = 5 }}]\nprogram = [{}]",
        "{ exercise = \"calf-wall-stretch\", side = \"right\", rung = 2, dose = { days = 5 } }"
    );
    let now =
        format!("readings = [{{ test = \"knee-to-wall\", left = 11, right = {now} }}]\nprogram = [{ANKLE}]\n{keys}");
    let it = retest(&client(&[("2026-09-01", &before), ("2026-10-06", &now)])).decided.remove(0);
    (it.advice, it.coach)
}

fn diary(rest: &str) -> String {
    format!("diary = [{{ exercise = \"calf-wall-stretch\", {rest} }}]")
}

#[track_caller]
fn check(now: &str, keys: &str, decision: Decision, because: &str) {
    let (advice, coach) = decided(now, keys);
    assert!(advice == decision && coach.contains(because), "{advice:?}: {coach}");
}

#[test]
fn every_rule_of_decision_has_its_case() {
    use Decision::{Back, Drop, Hold, Next, Swap};
    let good = |felt: &str| diary(&format!("days = 18, discomfort = 2, felt = \"{felt}\""));
    check(
        "6",
        &format!("{}\nevents = [{{ exercise = \"calf-wall-stretch\", what = \"A pop in the calf.\" }}]", good("easy")),
        Swap,
        "Something happened",
    );
    check("3", &good("easy"), Drop, "really worse");
    check("6", &diary("days = 18, discomfort = 6, felt = \"right\""), Back, "above 5");
    check("6", &diary("days = 18, discomfort = 5, felt = \"right\""), Hold, "Nothing speaks");
    check("6", &diary("days = 18, discomfort = 2, felt = \"right\", lingered = true"), Back, "next morning");
    check("6", &diary("days = 18, discomfort = 2, felt = \"easy\", form_lost = true"), Back, "Form lost");
    check("9.5", &good("easy"), Drop, "about usual");
    // 21 planned: ten are fewer than half, eleven are not.
    check("6", &diary("days = 10, discomfort = 2, felt = \"easy\""), Hold, "fewer than half");
    check("6", &diary("days = 11, discomfort = 2, felt = \"easy\""), Next, "Easy");
    check("6", &diary("days = 18, discomfort = 3, felt = \"easy\""), Hold, "Nothing speaks");
    check("7", &good("hard"), Hold, "finds it hard");
    check("7", &good("right"), Hold, "really better");
    check("6", "", Hold, "no diary results");
    check("6", &good("right"), Hold, "Nothing speaks");
}

#[test]
fn the_ends_of_the_ladder_have_rules_of_their_own() {
    let library = &demo().library;
    let id = ExerciseId::new("calf-wall-stretch").unwrap();
    let top = library.exercises[&id].rungs.len();
    let at = |rung: usize, rest: &str| {
        let before = format!(
            "readings = [{{ test = \"knee-to-wall\", left = 11, right = 5 }}]\nprogram = [{{ exercise = \"calf-wall-stretch\", side = \"right\", rung = {rung} }}]"
        );
        let now = format!("readings = [{{ test = \"knee-to-wall\", left = 11, right = 6 }}]\n{}", diary(rest));
        retest(&client(&[("2026-09-01", &before), ("2026-10-06", &now)])).decided.remove(0).advice
    };
    assert_eq!(at(1, "days = 18, discomfort = 6, felt = \"right\""), Decision::Swap);
    assert_eq!(at(1, "days = 18, discomfort = 1, felt = \"right\", lingered = true"), Decision::Swap);
    assert_eq!(at(1, "days = 18, discomfort = 1, felt = \"right\", form_lost = true"), Decision::Hold);
    assert_eq!(at(top, "days = 30, discomfort = 1, felt = \"easy\""), Decision::Hold);
    assert_eq!(at(top - 1, "days = 30, discomfort = 1, felt = \"easy\""), Decision::Next);
}

#[test]
fn two_quiet_periods_kept_up_well_are_handed_over() {
    let of = |first: u32, second: u32, right: [&str; 3]| {
        let visit = |value: &str, days: Option<u32>| {
            let diary = days
                .map_or_else(String::new, |days| diary(&format!("days = {days}, discomfort = 2, felt = \"right\"")));
            format!(
                "readings = [{{ test = \"knee-to-wall\", left = 11, right = {value} }}]\nprogram = [{ANKLE}]\n{diary}"
            )
        };
        let visits = [visit(right[0], None), visit(right[1], Some(first)), visit(right[2], Some(second))];
        let it = retest(&client(&[("2026-09-01", &visits[0]), ("2026-10-06", &visits[1]), ("2026-11-10", &visits[2])]));
        (!it.hand_over.is_empty(), it.decided[0].advice)
    };
    assert_eq!(of(18, 18, ["5", "5.5", "6"]), (true, Decision::Swap));
    // Not kept up in one of the two; or a real change in one of the two (2 cm, trade-figures 3.1).
    assert_eq!(of(3, 18, ["5", "5.5", "6"]), (false, Decision::Hold));
    assert_eq!(of(18, 3, ["5", "5.5", "6"]), (false, Decision::Hold));
    assert_eq!(of(18, 18, ["5", "7", "7"]), (false, Decision::Hold));
    // What has come out about usual meanwhile is nobody's trouble (9 cm, SEM 0.5).
    assert!(!of(18, 18, ["8", "8.5", "9"]).0);
}

#[test]
fn a_coach_may_rule_otherwise_and_it_is_written_down() {
    let before = "readings = [{ test = \"knee-to-wall\", left = 11, right = 5 }]\nprogram = [{ exercise = \"calf-wall-stretch\", side = \"right\" }, { exercise = \"chair-squat\" }]";
    let rest = "readings = [{ test = \"knee-to-wall\", left = 11, right = 6 }]\ndecisions = [{ exercise = \"calf-wall-stretch\", do = \"drop\", why = \"No room for it.\", tell = \"We make room.\" }]";
    let it = retest(&client(&[("2026-09-01", before), ("2026-10-06", rest)]));
    let calf = &it.decided.iter().find(|it| it.was.exercise.to_string() == "calf-wall-stretch").unwrap();
    assert_eq!((calf.advice, calf.decision), (Decision::Hold, Decision::Drop));
    assert_eq!(calf.overruled, Some(Some("No room for it.".to_owned())));
    assert_eq!(calf.client, "We make room.");
    // A program that the coach wrote is compared with the rules: what is not as they say is the coach's choice.
    let own = "readings = [{ test = \"knee-to-wall\", left = 11, right = 6 }]\nprogram = [{ exercise = \"calf-wall-stretch\", side = \"right\", rung = 2 }]";
    let it = retest(&client(&[("2026-09-01", before), ("2026-10-06", own)]));
    let of = |name: &str| it.decided.iter().find(|it| it.was.exercise.to_string() == name).unwrap();
    assert_eq!(
        (of("calf-wall-stretch").decision, of("calf-wall-stretch").overruled.clone()),
        (Decision::Next, Some(None))
    );
    assert_eq!((of("chair-squat").decision, of("chair-squat").overruled.clone()), (Decision::Drop, Some(None)));
}

#[test]
fn a_chosen_program_goes_on_from_the_decisions() {
    let library = &demo().library;
    let chosen = |now: &str, keys: &str| {
        let before = "start = 2026-09-07\nreadings = [{ test = \"knee-to-wall\", left = 11, right = 5 }]\nprogram = [{ exercise = \"calf-wall-stretch\", side = \"right\", rung = 1, dose = { sets = 1, days = 4 } }]";
        let now = format!("readings = [{{ test = \"knee-to-wall\", left = 11, right = {now} }}]\n{keys}");
        let client = client(&[("2026-09-01", before), ("2026-10-06", &now)]);
        let visit = &client.visits[1];
        plan(&client, visit, &assess(&client, visit, library), library).0
    };
    let program = |now: &str, keys: &str| chosen(now, keys).unwrap();
    let calf = |program: &crate::plan::Program| {
        program.items.iter().find(|item| item.exercise.to_string() == "calf-wall-stretch").map(|it| (it.rung, it.dose))
    };
    // Held: rung and dose as they were.
    let (rung, Dose { sets, days, .. }) =
        calf(&program("6", &diary("days = 12, discomfort = 2, felt = \"right\""))).unwrap();
    assert_eq!((rung, sets, days), (0, 1, 4));
    // Next: one rung up, at that rung's own start.
    let (rung, dose) = calf(&program("6", &diary("days = 12, discomfort = 2, felt = \"easy\""))).unwrap();
    let start = library.exercises[&ExerciseId::new("calf-wall-stretch").unwrap()].rungs[1].dose;
    assert_eq!((rung, dose.sets >= start.sets.start), (1, true));
    // Swapped: another exercise for the same need.
    let swapped = program("6", &diary("days = 12, discomfort = 7, felt = \"right\""));
    assert_eq!(calf(&swapped), None);
    assert!(swapped.items.iter().any(|item| !item.serves.is_empty()), "something else works on the ankle");
    // Really worse: nothing that works there is chosen until someone has looked, unless the coach pins it.
    let worse = chosen("3", "").unwrap_err();
    assert_eq!(worse[0].rule, crate::diag::Rule::NothingFits, "all that there is to do works on the ankle");
    assert!(worse[0].help.as_ref().unwrap().contains("really worse"), "{}", worse[0]);
    let pinned = program("3", "pins = [{ exercise = \"calf-wall-stretch\" }]");
    assert!(calf(&pinned).is_some());
}

#[test]
fn of_two_for_one_place_only_one_goes_up() {
    let before = "start = 2026-09-07\nreadings = [{ test = \"knee-to-wall\", left = 5, right = 5 }]\nprogram = [{ exercise = \"calf-wall-stretch\", side = \"each\" }, { exercise = \"heel-raise\", side = \"each\" }]";
    let went = |id: &str| format!("{{ exercise = \"{id}\", days = 25, discomfort = 1, felt = \"easy\" }}");
    let now = format!(
        "readings = [{{ test = \"knee-to-wall\", left = 6, right = 6 }}]\ndiary = [{}, {}]",
        went("calf-wall-stretch"),
        went("heel-raise")
    );
    let decided = retest(&client(&[("2026-09-01", before), ("2026-10-06", &now)])).decided;
    assert_eq!(decided.iter().map(|it| it.advice).collect::<Vec<_>>(), [Decision::Next, Decision::Hold]);
    assert!(decided[1].coach.contains("one thing at a time"));
}
