//! The choice of a program as arithmetic: the few offers that cover the most need for what they cost, found exactly.
//!
//! Worth of a set of offers: `sum over needs w * (1 - prod (1 - effect)) - sum of costs`. With `y = -ln(1 - effect)` the
//! first part is `sum w * phi(sum y)`, `phi(u) = 1 - exp(-u)`, which is concave in the sums. A tangent of a concave
//! function lies above it, so for any point `u` the worth of a set is at most a constant plus one score for each of its
//! offers, `sum w * exp(-u) * y - cost`. The best that any set can reach under that line is the sum of the best scores,
//! at most one an exercise and as many as there are places; time is priced by a multiplier, which can only raise the
//! sum of a set that keeps within the time. That is the bound: whatever `u` and whatever price, no set is worth more. `u`
//! and the price are walked (Frank-Wolfe, halving) to where the bound is low. What must come first is left out of the
//! bound, which keeps it one. The same line tells what an offer would cost if it were forced in: those that cannot beat
//! the best set known are dropped for the whole branch.

/// One way of doing one exercise.
#[derive(Clone, Debug, PartialEq)]
pub struct Offer {
    /// The exercise; of each at most one offer is taken.
    pub exercise: usize,
    /// What it covers: need and share, 0 to 1.
    pub effects: Vec<(usize, f64)>,
    /// Minutes that a session of it takes at least.
    pub minutes: u32,
    /// What it costs, in covered need; not negative.
    pub cost: f64,
    /// For each entry one of these offers must be taken as well.
    pub first: Vec<Vec<usize>>,
}

/// What there is to choose from.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Menu {
    /// Weights of the needs, not negative.
    pub needs: Vec<f64>,
    /// The offers; among sets of equal worth the earlier ones are taken.
    pub offers: Vec<Offer>,
    /// Exercises that must be taken.
    pub pinned: Vec<usize>,
    /// Most exercises, pinned ones included.
    pub most: usize,
    /// Most minutes.
    pub minutes: u32,
}

/// What was chosen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Choice {
    /// Offers, in their order; `None` if what is pinned cannot be had together.
    pub offers: Option<Vec<usize>>,
    /// Its worth.
    pub worth: f64,
    /// Branches looked at.
    pub nodes: u64,
}

/// Differences of worth smaller than this are no differences.
const SAME: f64 = 1e-9;
/// What being named later costs, so that equal sets are told apart by their order.
const LATER: f64 = 1e-7;
/// Beyond this the rest of a need is below what a number can hold.
const FULL: f64 = 40.0;
/// Tangents tried on each branch.
const TANGENTS: usize = 8;
/// Prices of time tried for each tangent.
const PRICES: usize = 6;
const PRICE_STEP: f64 = 0.02;

impl Menu {
    /// The worth of a set of offers.
    pub fn worth(&self, set: &[usize]) -> f64 {
        self.covered(set) - set.iter().map(|offer| self.offers[*offer].cost).sum::<f64>()
    }

    /// The need that a set of offers covers.
    pub fn covered(&self, set: &[usize]) -> f64 {
        self.needs.iter().sum::<f64>() - self.left(set).iter().sum::<f64>()
    }

    /// The need of what a set covers that would be left uncovered without one of its offers.
    pub fn lost_without(&self, offer: usize, set: &[usize]) -> f64 {
        let others: Vec<usize> = set.iter().copied().filter(|other| *other != offer).collect();
        self.covered(set) - self.covered(&others)
    }

    /// What a set of offers leaves of each need.
    pub fn left(&self, set: &[usize]) -> Vec<f64> {
        let mut left = self.needs.clone();
        for (need, share) in set.iter().flat_map(|offer| &self.offers[*offer].effects) {
            left[*need] *= 1.0 - share;
        }
        left
    }

    /// Whether a set keeps every rule.
    pub fn allows(&self, set: &[usize]) -> bool {
        let takes = |exercise: usize| set.iter().filter(|offer| self.offers[**offer].exercise == exercise).count();
        set.len() <= self.most
            && set.iter().map(|offer| self.offers[*offer].minutes).sum::<u32>() <= self.minutes
            && set.iter().all(|offer| takes(self.offers[*offer].exercise) == 1)
            && set.iter().flat_map(|offer| &self.offers[*offer].first).all(|any| any.iter().any(|o| set.contains(o)))
            && self.pinned.iter().all(|exercise| takes(*exercise) == 1)
    }

    /// The set of most worth.
    pub fn choose(&self) -> Choice {
        let later = |offer: usize| LATER * (offer + 1) as f64 / self.offers.len() as f64;
        let exercises = self.offers.iter().map(|offer| offer.exercise + 1).max().unwrap_or(0);
        let mut search = Search {
            menu: self,
            cost: self.offers.iter().zip(0..).map(|(offer, index)| offer.cost + later(index)).collect(),
            pull: self
                .offers
                .iter()
                .map(|offer| offer.effects.iter().map(|(need, x)| (*need, (-libm::log1p(-x)).min(FULL))).collect())
                .collect(),
            opens: vec![false; self.offers.len()],
            exercises,
            best: None,
            taken: Vec::new(),
            nodes: 0,
        };
        for offer in self.offers.iter().flat_map(|offer| &offer.first).flatten() {
            if let Some(opens) = search.opens.get_mut(*offer) {
                *opens = true;
            }
        }
        search.climb();
        let all: Vec<usize> = (0..self.offers.len()).collect();
        let start = Branch { left: self.needs.clone(), worth: 0.0, places: self.most, minutes: self.minutes };
        search.pinned(&self.pinned, start, all);
        let Some((_, mut set)) = search.best else {
            return Choice { offers: None, worth: 0.0, nodes: search.nodes };
        };
        set.sort_unstable();
        Choice { worth: self.worth(&set), offers: Some(set), nodes: search.nodes }
    }
}

struct Search<'a> {
    menu: &'a Menu,
    /// Costs, with what being named later costs.
    cost: Vec<f64>,
    /// Effects as `-ln(1 - x)`.
    pull: Vec<Vec<(usize, f64)>>,
    /// Offers that another one waits for.
    opens: Vec<bool>,
    exercises: usize,
    best: Option<(f64, Vec<usize>)>,
    taken: Vec<usize>,
    nodes: u64,
}

/// Where a branch stands: what is left of each need, what it is worth, and what may still be taken.
#[derive(Clone)]
struct Branch {
    left: Vec<f64>,
    worth: f64,
    places: usize,
    minutes: u32,
}

impl Search<'_> {
    /// What an offer adds to a branch.
    fn gain(&self, offer: usize, left: &[f64]) -> f64 {
        let covered: f64 = self.menu.offers[offer].effects.iter().map(|(need, x)| left[*need] * x).sum();
        covered - self.cost[offer]
    }

    fn total(&self, set: &[usize]) -> f64 {
        self.menu.covered(set) - set.iter().map(|offer| self.cost[*offer]).sum::<f64>()
    }

    /// A good set to begin with: one more offer or one exchanged, whichever adds most, until nothing does.
    fn climb(&mut self) {
        let menu = self.menu;
        let mut set: Vec<usize> = Vec::new();
        if !menu.allows(&set) {
            return;
        }
        let mut worth = 0.0;
        loop {
            let mut better: Option<(f64, Vec<usize>)> = None;
            let mut consider = |next: Vec<usize>| {
                let reached = self.total(&next);
                if reached > better.as_ref().map_or(worth, |(most, _)| *most) + SAME && menu.allows(&next) {
                    better = Some((reached, next));
                }
            };
            for offer in 0..menu.offers.len() {
                consider(set.iter().copied().chain([offer]).collect());
                for place in 0..set.len() {
                    let mut next = set.clone();
                    next[place] = offer;
                    consider(next);
                }
            }
            let Some((reached, next)) = better else { break };
            (worth, set) = (reached, next);
        }
        self.best = Some((worth, set));
    }

    /// Takes each pinned exercise in each of its ways, then goes on.
    fn pinned(&mut self, pinned: &[usize], branch: Branch, candidates: Vec<usize>) {
        let Some((first, rest)) = pinned.split_first() else {
            let tangent = vec![0.0; branch.left.len()];
            return self.branch(branch, candidates, &tangent);
        };
        let ways: Vec<usize> =
            candidates.iter().copied().filter(|offer| self.menu.offers[*offer].exercise == *first).collect();
        for offer in ways {
            if let Some((next, others)) = self.take(offer, &branch, &candidates) {
                self.taken.push(offer);
                self.pinned(rest, next, others);
                self.taken.pop();
            }
        }
    }

    /// The branch after an offer is taken, if there is room for it.
    fn take(&self, offer: usize, branch: &Branch, candidates: &[usize]) -> Option<(Branch, Vec<usize>)> {
        let taken = &self.menu.offers[offer];
        let mut next = branch.clone();
        next.places = branch.places.checked_sub(1)?;
        next.minutes = branch.minutes.checked_sub(taken.minutes)?;
        next.worth += self.gain(offer, &branch.left);
        for (need, x) in &taken.effects {
            next.left[*need] *= 1.0 - x;
        }
        let others = candidates.iter().copied().filter(|o| self.menu.offers[*o].exercise != taken.exercise);
        Some((next, others.collect()))
    }

    /// Whether everything taken has what must come first, or can still get it.
    fn in_order(&self, candidates: &[usize]) -> (bool, bool) {
        let (mut now, mut later) = (true, true);
        for any in self.taken.iter().flat_map(|offer| &self.menu.offers[*offer].first) {
            if !self.taken.iter().any(|offer| any.contains(offer)) {
                now = false;
                later &= candidates.iter().any(|offer| any.contains(offer));
            }
        }
        (now, later)
    }

    fn branch(&mut self, branch: Branch, mut candidates: Vec<usize>, tangent: &[f64]) {
        self.nodes += 1;
        let offers = &self.menu.offers;
        if branch.places == 0 {
            candidates.clear();
        }
        // An offer that adds nothing never will, unless another one waits for it.
        candidates.retain(|offer| {
            offers[*offer].minutes <= branch.minutes && (self.gain(*offer, &branch.left) > 0.0 || self.opens[*offer])
        });
        let (now, later) = self.in_order(&candidates);
        if now && self.best.as_ref().is_none_or(|(most, _)| branch.worth > *most) {
            self.best = Some((branch.worth, self.taken.clone()));
        }
        if !later || candidates.is_empty() {
            return;
        }
        let room = self.best.as_ref().map_or(f64::NEG_INFINITY, |(most, _)| most - branch.worth);
        let Some((candidates, tangent)) = self.prune(&branch, candidates, tangent, room) else {
            return;
        };
        let Some(next) = candidates
            .iter()
            .copied()
            .max_by(|a, b| self.gain(*a, &branch.left).total_cmp(&self.gain(*b, &branch.left)).then(b.cmp(a)))
        else {
            return;
        };
        if let Some((with, others)) = self.take(next, &branch, &candidates) {
            let mut nearer = tangent.clone();
            for (need, pull) in &self.pull[next] {
                nearer[*need] = (nearer[*need] - pull).max(0.0);
            }
            self.taken.push(next);
            self.branch(with, others, &nearer);
            self.taken.pop();
        }
        let without = candidates.into_iter().filter(|offer| *offer != next).collect();
        self.branch(branch, without, &tangent);
    }

    /// The candidates with which a branch may still gain more than `room`, and the tangent where that was seen; none if
    /// it cannot.
    fn prune(
        &self,
        branch: &Branch,
        mut candidates: Vec<usize>,
        tangent: &[f64],
        room: f64,
    ) -> Option<(Vec<usize>, Vec<f64>)> {
        let mut at = tangent.to_vec();
        let mut slope = vec![0.0; at.len()];
        let mut price = 0.0;
        let mut ways: Vec<(f64, usize)> = vec![NO_WAY; self.exercises];
        for step in 0..TANGENTS {
            let mut base = 0.0;
            for ((slope, left), at) in slope.iter_mut().zip(&branch.left).zip(&at) {
                let rest = libm::exp(-at);
                *slope = left * rest;
                base += left * (1.0 - rest) - *slope * at;
            }
            let scores: Vec<f64> = candidates
                .iter()
                .map(|o| self.pull[*o].iter().map(|(need, y)| slope[*need] * y).sum::<f64>() - self.cost[*o])
                .collect();
            let mut line = Line { search: self, branch, candidates: &candidates, scores: &scores, ways: &mut ways };
            let (bound, best) = line.lowest(&mut price);
            if base + bound <= room {
                return None;
            }
            if step == 0 || step + 1 == TANGENTS {
                let total = base + bound;
                let last = if best.len() == branch.places {
                    best.iter().map(|way| way.0).fold(f64::INFINITY, f64::min)
                } else {
                    0.0
                };
                let exercise = |offer: usize| self.menu.offers[offer].exercise;
                let kept = candidates.iter().zip(&scores).filter(|(offer, score)| {
                    let score = *score - price * f64::from(self.menu.offers[**offer].minutes);
                    let rival = best.iter().find(|way| exercise(way.1) == exercise(**offer));
                    let loss = rival.map_or(last, |way| way.0) - score;
                    total - loss.max(0.0) > room
                });
                candidates = kept.map(|(offer, _)| *offer).collect();
                if candidates.is_empty() {
                    return None;
                }
            }
            // Frank-Wolfe: towards the sums of the set that is best under this line.
            let share = if step == 0 && tangent.iter().all(|at| *at == 0.0) { 1.0 } else { 2.0 / (step as f64 + 3.0) };
            let mut sums = vec![0.0; at.len()];
            for (need, pull) in best.iter().flat_map(|way| &self.pull[way.1]) {
                sums[*need] += pull;
            }
            for (at, sum) in at.iter_mut().zip(&sums) {
                *at += share * (sum - *at);
            }
        }
        Some((candidates, at))
    }
}

/// No offer of an exercise.
const NO_WAY: (f64, usize) = (0.0, usize::MAX);

/// Scores of candidates under one tangent.
struct Line<'a> {
    search: &'a Search<'a>,
    branch: &'a Branch,
    candidates: &'a [usize],
    scores: &'a [f64],
    ways: &'a mut [(f64, usize)],
}

impl Line<'_> {
    /// The best sum of scores when a minute costs `price`, with the offers that make it and the minutes they take.
    fn at(&mut self, price: f64) -> (f64, Vec<(f64, usize)>, u32) {
        let offers = &self.search.menu.offers;
        self.ways.fill(NO_WAY);
        for (offer, score) in self.candidates.iter().zip(self.scores) {
            let way = &mut self.ways[offers[*offer].exercise];
            let score = score - price * f64::from(offers[*offer].minutes);
            if score > way.0 {
                *way = (score, *offer);
            }
        }
        let mut best: Vec<(f64, usize)> = self.ways.iter().copied().filter(|way| way.1 != usize::MAX).collect();
        let places = self.branch.places;
        if best.len() > places {
            best.select_nth_unstable_by(places - 1, |a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
            best.truncate(places);
        }
        let sum = price * f64::from(self.branch.minutes) + best.iter().map(|way| way.0).sum::<f64>();
        let minutes = best.iter().map(|way| offers[way.1].minutes).sum();
        (sum, best, minutes)
    }

    /// The lowest sum over the prices tried; `price` is where the search starts and where it found the lowest.
    fn lowest(&mut self, price: &mut f64) -> (f64, Vec<(f64, usize)>) {
        let mut lowest = self.at(*price);
        if lowest.2 <= self.branch.minutes && *price == 0.0 {
            return (lowest.0, lowest.1);
        }
        let (mut low, mut high) = (0.0, *price);
        if lowest.2 > self.branch.minutes {
            (low, high) = (*price, (*price * 2.0).max(PRICE_STEP));
        }
        for _ in 0..PRICES {
            let middle = if low == *price { high } else { f64::midpoint(low, high) };
            let found = self.at(middle);
            let over = found.2 > self.branch.minutes;
            if found.0 < lowest.0 {
                lowest = found;
                *price = middle;
            }
            if !over {
                high = middle;
            } else if middle == high {
                (low, high) = (middle, high * 2.0);
            } else {
                low = middle;
            }
        }
        (lowest.0, lowest.1)
    }
}

#[cfg(test)]
mod tests;
