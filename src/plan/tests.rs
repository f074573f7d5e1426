mod random;
mod worked;

use jiff::civil::Date;
use proptest::prelude::*;

use super::days::{check_days, spread};
use super::*;
use crate::assess::assess;
use crate::testing::{client, demo};

fn planned(about: &str, readings: &str, program: &str) -> Planned {
    let client = client(about, &format!("screening = {{ yes = [] }}\nreadings = [{readings}]\nprogram = [{program}]"));
    let visit = &client.visits[0];
    let library = &demo().library;
    plan(&client, visit, &assess(&client, visit, library), library)
}

fn program(about: &str, readings: &str, list: &str) -> Program {
    planned(about, readings, list).0.expect("the program is allowed")
}

fn week(days: &str) -> [bool; 7] {
    let mut letters = days.chars();
    std::array::from_fn(|_| letters.next() == Some('x'))
}

#[test]
fn days_are_spread_with_the_rest_that_muscle_needs() {
    assert_eq!(spread(2, [true; 7], 0), week("x..x..."));
    assert_eq!(spread(3, [true; 7], 0), week("x.x.x.."));
    assert_eq!(spread(5, [true; 7], 0), week("xxx.xx."));
    assert_eq!(spread(6, [true; 7], 0), week("xxxxxx."));
    assert_eq!(spread(7, [true; 7], 0), week("xxxxxxx"));
    // A phase that asks for a day of rest gets fewer days rather than two in a row (trade-figures 5.4: 48 h).
    assert_eq!(spread(3, week("xxx...."), 1), week("x.x...."));
    assert_eq!(spread(5, [true; 7], 1), week("x.x.x.."));
    // Only Tuesday, Thursday and Sunday are free.
    assert_eq!(spread(2, week(".x.x..x"), 0), week("...x..x"));
    assert_eq!(spread(5, week(".x.x..x"), 0), week(".x.x..x"));
}

#[test]
fn work_goes_in_the_order_of_phases_whatever_the_coach_wrote_first() {
    let program = program(
        "equipment = [\"ball\"]",
        "",
        "{ exercise = \"chair-squat\" }, { exercise = \"knee-to-wall\", side = \"left\" }, { exercise = \"foot-sole-roll\", side = \"each\" }",
    );
    let order: Vec<String> = program.items.iter().map(|item| format!("{} {}", item.number, item.exercise)).collect();
    assert_eq!(order, ["1 foot-sole-roll", "2 knee-to-wall", "3 chair-squat"]);
}

#[test]
fn a_dose_is_the_rungs_start_with_what_the_coach_set() {
    let program = program("", "", "{ exercise = \"chair-squat\", dose = { reps = 8, days = 2 } }");
    let range = demo().library.exercises.values().find(|e| e.id.to_string() == "chair-squat").unwrap().rungs[0].dose;
    let dose = program.items[0].dose;
    assert_eq!((dose.sets, dose.reps, dose.days), (range.sets.start, Some(8), 2));
    assert_eq!(program.minutes.iter().filter(|minutes| **minutes > 0).count(), 2);
}

#[test]
fn minutes_a_day_are_the_sum_of_that_days_exercises() {
    let program = program("", "", "{ exercise = \"chair-squat\" }, { exercise = \"knee-to-wall\", side = \"left\" }");
    for day in 0..7 {
        let sum: u32 = program.items.iter().filter(|item| item.days[day]).map(Item::minutes).sum();
        assert_eq!(program.minutes[day], sum);
    }
}

#[test]
fn a_stand_in_does_for_what_is_not_there() {
    let without = program("", "", "{ exercise = \"foot-sole-roll\", side = \"left\" }");
    let with = program("equipment = [\"ball\"]", "", "{ exercise = \"foot-sole-roll\", side = \"left\" }");
    assert!(without.items[0].tools[0].stand_in && !with.items[0].tools[0].stand_in);
}

#[test]
fn an_exercise_serves_the_findings_on_its_own_side_only() {
    let readings = "{ test = \"knee-to-wall\", left = 10, right = 5 }";
    let right = program("", readings, "{ exercise = \"knee-to-wall\", side = \"right\" }");
    assert_eq!(right.items[0].serves.len(), 1);
    let left = program("", readings, "{ exercise = \"knee-to-wall\", side = \"left\" }");
    assert_eq!(left.items[0].serves, []);
}

#[test]
fn the_program_starts_on_a_monday_and_checks_end_its_second_and_fourth_week() {
    // The visit is on Friday 20 November 2026.
    let plain = program("", "", "{ exercise = \"chair-squat\" }");
    assert_eq!(plain.start, Date::constant(2026, 11, 23));
    assert_eq!(plain.check_days, [Date::constant(2026, 12, 6), Date::constant(2026, 12, 20)]);
    // A visit before the fourth week is over brings the last check forward, to the day before it.
    assert_eq!(
        check_days(plain.start, Some(Date::constant(2026, 12, 17))),
        [Date::constant(2026, 12, 6), Date::constant(2026, 12, 16)]
    );
    // A visit in the first week leaves none.
    assert_eq!(check_days(plain.start, Some(Date::constant(2026, 11, 27))), []);
}

#[test]
fn too_little_stretch_in_a_week_is_said() {
    // 2 x 30 s on 2 days is 120 s; five minutes a week make a lasting change (trade-figures 5.2, Thomas 2018).
    let few = planned("", "", "{ exercise = \"calf-wall-stretch\", side = \"left\", dose = { days = 3 } }").1;
    assert_eq!(few.iter().map(|problem| problem.rule).collect::<Vec<_>>(), [Rule::WeeklyStretch]);
    let enough = planned("", "", "{ exercise = \"calf-wall-stretch\", side = \"left\", dose = { days = 5 } }").1;
    assert_eq!(enough, []);
}

proptest! {
    #[test]
    fn spread_uses_free_days_only_and_as_many_as_it_can(count in 1u32..=7, free in proptest::array::uniform7(any::<bool>())) {
        let days = spread(count, free, 0);
        let used = days.iter().filter(|day| **day).count() as u32;
        let open = free.iter().filter(|day| **day).count() as u32;
        prop_assert_eq!(used, count.min(open));
        prop_assert!((0..7).all(|day| !days[day] || free[day]));
    }

    #[test]
    fn no_other_choice_of_days_leaves_a_longer_shortest_rest(count in 2u32..=7, free in proptest::array::uniform7(any::<bool>())) {
        let days = spread(count, free, 0);
        let bits = |days: [bool; 7]| (0..7).filter(|day| days[*day]).fold(0u8, |bits, day| bits | 1 << day);
        let shortest = |days: u8| super::days::gaps(days).first().copied().unwrap_or(7);
        let (chosen, open) = (bits(days), bits(free));
        for other in (1u8..128).filter(|other| other & !open == 0 && other.count_ones() == chosen.count_ones()) {
            prop_assert!(shortest(other) <= shortest(chosen));
        }
    }
}
