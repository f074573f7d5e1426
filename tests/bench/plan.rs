//! How long the choice of a program takes: 120 exercises, each in three ways, 30 needs, 8 places, 25 minutes.
//!
//! `cargo run --release --example bench-plan [CLIENTS]`

#![allow(clippy::print_stdout, clippy::disallowed_methods, reason = "a tool for people, not part of the library")]

use std::time::Instant;

use kinleaf::plan::choose::{Menu, Offer};

/// A small generator of numbers without pattern (xorshift), so that every run has the same clients.
struct Chance(u64);

impl Chance {
    fn below(&mut self, n: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % n
    }
}

const EXERCISES: usize = 120;
const NEEDS: usize = 30;

fn menu(chance: &mut Chance) -> Menu {
    let needs = (0..NEEDS).map(|_| 0.1 + chance.below(86) as f64 / 100.0).collect();
    let mut offers = Vec::new();
    for exercise in 0..EXERCISES {
        let mut acts: Vec<(usize, f64)> = Vec::new();
        for _ in 0..=chance.below(4) {
            let (structure, effect) = (chance.below(NEEDS as u64 / 2) as usize, 0.15 + chance.below(10) as f64 / 20.0);
            if acts.iter().all(|(other, _)| *other != structure) {
                acts.push((structure, effect));
            }
        }
        let minutes = 1 + chance.below(3) as u32;
        for side in 0..3 {
            let on = |side: usize| acts.iter().map(move |(structure, effect)| (2 * structure + side, *effect));
            let effects: Vec<(usize, f64)> = if side == 2 { on(0).chain(on(1)).collect() } else { on(side).collect() };
            let minutes = if side == 2 { 2 * minutes } else { minutes };
            let cost = 0.06 + 0.004 * f64::from(minutes);
            offers.push(Offer { exercise, effects, minutes, cost, first: Vec::new() });
        }
    }
    Menu { needs, offers, pinned: Vec::new(), most: 8, minutes: 25 }
}

fn main() {
    let clients: usize = std::env::args().nth(1).and_then(|count| count.parse().ok()).unwrap_or(1000);
    let mut chance = Chance(88_172_645_463_325_252);
    let (mut times, mut nodes) = (Vec::new(), Vec::new());
    for _ in 0..clients {
        let menu = menu(&mut chance);
        let start = Instant::now();
        let choice = menu.choose();
        times.push(start.elapsed().as_secs_f64() * 1e3);
        nodes.push(choice.nodes);
        assert!(menu.allows(&choice.offers.expect("an empty program is always allowed")));
    }
    times.sort_by(f64::total_cmp);
    nodes.sort_unstable();
    let at = |share: usize| (clients - 1) * share / 100;
    println!("{clients} made-up clients, {EXERCISES} exercises in three ways, {NEEDS} needs, 8 places, 25 minutes");
    println!("  median {:7.1} ms  {:7} branches  (target: under 20 ms)", times[at(50)], nodes[at(50)]);
    println!("  95 %   {:7.1} ms  {:7} branches", times[at(95)], nodes[at(95)]);
    println!("  worst  {:7.1} ms  {:7} branches  (target: under 250 ms)", times[at(100)], nodes[at(100)]);
}
