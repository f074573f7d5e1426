//! Thousands of made-up clients against a second, simple reading of the rules: no program may break one.

use std::collections::BTreeSet;

use jiff::civil::Date;

use super::super::*;
use crate::assess::assess;
use crate::body::BySide;
use crate::ids::{ConditionId, EquipmentId, PositionId, RegionId};
use crate::library::exercise::Rung;
use crate::library::vocabulary::{Action, ConditionRule, Features};
use crate::record::{Clearance, Held, Reading, Referral, Sore, Values};
use crate::safety::{self, Gate};
use crate::testing::{client, demo};
use crate::units::Amount;

/// A small generator of numbers without pattern (splitmix64).
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }

    fn one_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }

    fn pick<'a, T>(&mut self, from: &'a [T]) -> &'a T {
        &from[self.below(from.len())]
    }
}

fn made_up(seed: u64) -> Client {
    let library = &demo().library;
    let mut chance = Chance(seed);
    let mut made = client("", "screening = { yes = [] }");
    let vocabulary = &library.vocabulary;
    let regions: Vec<RegionId> = vocabulary.regions.keys().cloned().collect();
    let conditions: Vec<ConditionId> = vocabulary.conditions.keys().cloned().collect();
    let positions: Vec<PositionId> = vocabulary.positions.keys().cloned().collect();
    let equipment: Vec<EquipmentId> = vocabulary.equipment.keys().cloned().collect();
    let visit_on = made.visits[0].on;
    made.minutes_a_day = 5 + chance.below(40) as u32;
    made.born = (!chance.one_in(4)).then(|| Date::constant(1935 + chance.below(70) as i16, 3, 1));
    for _ in 0..chance.below(4) {
        let condition = chance.pick(&conditions).clone();
        if made.conditions.iter().all(|held| held.condition != condition) {
            let region = chance.one_in(2).then(|| chance.pick(&regions).clone());
            let old = if chance.one_in(8) { Date::constant(2025, 1, 1) } else { visit_on };
            let cleared = (!chance.one_in(3)).then(|| Clearance { by: "Dr Lee".into(), on: old });
            made.conditions.push(Held { condition, region, cleared });
        }
    }
    for _ in 0..chance.below(3) {
        made.no_positions.insert(chance.pick(&positions).clone());
    }
    for _ in 0..chance.below(4) {
        made.equipment.insert(chance.pick(&equipment).clone());
    }
    for _ in 0..chance.below(3) {
        let lacks = chance.pick(&equipment).clone();
        made.equipment.remove(&lacks);
        made.no_equipment.insert(lacks);
    }
    let side = |chance: &mut Chance| [None, Some(Side::Left), Some(Side::Right)][chance.below(3)];
    if chance.one_in(4) {
        let (region, side) = (chance.pick(&regions).clone(), side(&mut chance));
        let closed = chance.one_in(3).then_some(visit_on);
        let (to, why) = ("Dr Lee".into(), "Pain.".into());
        made.referrals.push(Referral { region, side, to, why, on: Date::constant(2026, 11, 1), closed });
    }
    if chance.one_in(3) {
        let (region, side) = (chance.pick(&regions).clone(), side(&mut chance));
        made.visits[0].sore.push(Sore { region, side });
    }
    for test in library.tests.values() {
        // Readings that send on would leave few programs to look at.
        if chance.one_in(3) || (!test.sends_on.is_empty() && !chance.one_in(20)) {
            continue;
        }
        let mut value = || {
            let (least, most) = (test.possible.0.to_f64(), test.possible.1.to_f64());
            let at = least + (most - least) * chance.below(101) as f64 / 100.0;
            Amount::from_f64(at).unwrap().to_nearest(test.resolution)
        };
        let values = if test.sided {
            Values::Sided(BySide { left: Some(value()), right: Some(value()) })
        } else {
            Values::Whole(value())
        };
        let mut pain = BySide { left: 0, right: 0 };
        if chance.one_in(6) {
            let worst = chance.below(11) as u32;
            pain = if test.sided { BySide { left: worst, right: 0 } } else { BySide { left: worst, right: worst } };
        }
        let signs = test
            .signs
            .iter()
            .filter(|_| chance.one_in(3))
            .map(|sign| (test.sided.then_some(Side::Right), sign.id.clone()))
            .collect();
        made.visits[0].readings.insert(test.id.clone(), Reading { place: 0..0, values, method: None, signs, pain });
    }
    made
}

/// Whether a rule speaks of something, read word by word from the schema: it must share an item with each set named.
fn speaks_of(rule: &ConditionRule, of: &Features, place: Option<&RegionId>) -> bool {
    let methods = rule.of.methods.is_empty() || rule.of.methods.iter().any(|m| of.methods.contains(m));
    let regions = rule.of.regions.is_empty() || rule.of.regions.iter().any(|r| of.regions.contains(r));
    let positions = rule.of.positions.is_empty() || rule.of.positions.iter().any(|p| of.positions.contains(p));
    let tags = rule.of.tags.is_empty() || rule.of.tags.iter().any(|t| of.tags.contains(t));
    let here = match (rule.local, place) {
        (true, Some(place)) => of.regions.contains(place),
        _ => true,
    };
    methods && regions && positions && tags && here
}

fn worked_sides(sides: Sides) -> Vec<Side> {
    match sides {
        Sides::Left => vec![Side::Left],
        Sides::Right => vec![Side::Right],
        Sides::Each | Sides::Both => vec![Side::Left, Side::Right],
    }
}

#[track_caller]
fn check_item(seed: u64, client: &Client, item: &Item) {
    let library = &demo().library;
    let visit = &client.visits[0];
    let exercise = &library.exercises[&item.exercise];
    let rung: &Rung = &exercise.rungs[item.rung];
    let what = format!("client {seed}, {} rung {} {:?}", item.exercise, item.rung, item.sides);
    let sides = worked_sides(item.sides);
    for held in &client.conditions {
        let fresh = held.cleared.as_ref().is_some_and(|c| c.on > Date::constant(2025, 11, 20));
        for rule in &library.vocabulary.conditions[&held.condition].rules {
            let mut of = rung.features.clone();
            if rule.local {
                of.regions.extend(rung.bears.iter().map(|bears| bears.region.clone()));
            }
            if !speaks_of(rule, &of, held.region.as_ref()) {
                continue;
            }
            match rule.action {
                Action::LeaveOut => panic!("{what}: {} leaves it out", held.condition),
                Action::NeedsClearance => assert!(fresh, "{what}: {} is not cleared", held.condition),
                Action::Caution => assert!(item.cautions.contains(rule.tell.as_ref().unwrap()), "{what}: no caution"),
            }
        }
    }
    for position in &client.no_positions {
        assert!(!rung.features.positions.contains(position), "{what}: position {position}");
    }
    for needed in exercise.equipment.iter().chain(&rung.equipment) {
        let known = &library.vocabulary.equipment[needed];
        let has = client.equipment.contains(needed)
            || !client.no_equipment.contains(needed) && (known.household || known.stand_in.is_some());
        assert!(has, "{what}: equipment {needed}");
    }
    for sore in &visit.sore {
        for bears in rung.bears.iter().filter(|bears| bears.region == sore.region) {
            for side in [Side::Left, Side::Right] {
                let rests = match bears.side {
                    crate::library::exercise::RelativeSide::Same => sides.contains(&side),
                    crate::library::exercise::RelativeSide::Other => sides.contains(&side.other()),
                    crate::library::exercise::RelativeSide::Both => true,
                };
                assert!(
                    !(rests && (sore.side.is_none() || sore.side == Some(side))),
                    "{what}: rests on {}",
                    sore.region
                );
            }
        }
    }
    for referral in client.referrals.iter().filter(|referral| referral.closed.is_none()) {
        let here = rung.features.regions.contains(&referral.region)
            && (referral.side.is_none() || sides.iter().any(|side| Some(*side) == referral.side));
        assert!(!here, "{what}: referral for {}", referral.region);
    }
    for (id, reading) in &visit.readings {
        let shared = library.tests[id].features.regions.iter().any(|r| rung.features.regions.contains(r));
        let worst = sides.iter().map(|side| *reading.pain.get(*side)).max().unwrap();
        assert!(!(shared && worst > 5), "{what}: {id} hurt {worst}");
    }
    for ask in &rung.asks {
        let Some(reading) = visit.readings.get(&ask.test) else { continue };
        for side in &sides {
            if let Some(value) = reading.values.on(*side) {
                let enough = match library.tests[&ask.test].better {
                    crate::library::test::Better::Higher => value >= ask.at_least,
                    crate::library::test::Better::Lower => value <= ask.at_least,
                };
                assert!(enough, "{what}: asks {} of {}", ask.at_least, ask.test);
            }
        }
    }
}

#[test]
fn no_program_of_ten_thousand_clients_breaks_a_rule() {
    let library = &demo().library;
    let phase = |item: &Item| library.phases.iter().position(|phase| phase.id == item.phase).unwrap();
    let (mut programs, mut exercises) = (0, 0);
    for seed in 0..10_000 {
        let client = made_up(seed);
        let visit = &client.visits[0];
        let gate = safety::gate(&client, visit, library);
        let must_stop = client.conditions.iter().any(|held| {
            let level = library.vocabulary.conditions[&held.condition].level;
            let fresh = held.cleared.as_ref().is_some_and(|c| c.on > Date::constant(2025, 11, 20));
            level.stops_program() && !(fresh && level.can_be_cleared())
        });
        if must_stop {
            assert!(matches!(gate, Gate::Closed { .. }), "client {seed}");
        }
        if matches!(gate, Gate::Closed { .. }) {
            continue;
        }
        let findings = assess(&client, visit, library);
        let (Ok(program), _) = plan(&client, visit, &findings, library) else { continue };
        programs += 1;
        exercises += program.items.len();
        assert!(program.items.len() <= 5, "client {seed}: {} exercises", program.items.len());
        assert!(program.items.is_sorted_by_key(phase), "client {seed}: order of work");
        let different: BTreeSet<&ExerciseId> = program.items.iter().map(|item| &item.exercise).collect();
        assert_eq!(different.len(), program.items.len(), "client {seed}: one exercise twice");
        let minutes: u32 = program.items.iter().map(Item::minutes).sum();
        assert!(minutes <= client.minutes_a_day, "client {seed}: {minutes} of {}", client.minutes_a_day);
        for item in &program.items {
            assert!(item.gain > 0.0, "client {seed}: {} covers nothing", item.exercise);
            check_item(seed, &client, item);
        }
    }
    // Else the test would say nothing.
    assert!(programs > 2_000 && exercises > 5_000, "{programs} programs, {exercises} exercises");
}
