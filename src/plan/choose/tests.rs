use proptest::prelude::*;

use super::*;

/// Every set of offers, looked at one by one.
fn by_hand(menu: &Menu) -> Option<f64> {
    let n = menu.offers.len();
    (0..1u32 << n)
        .map(|bits| (0..n).filter(|offer| bits & (1 << offer) != 0).collect::<Vec<_>>())
        .filter(|set| menu.allows(set))
        .map(|set| menu.worth(&set))
        .max_by(f64::total_cmp)
}

fn offer(exercise: usize, needs: usize, offers: usize) -> impl Strategy<Value = Offer> {
    let effects = prop::collection::vec((0..needs, 0.0..=1.0), 0..4);
    let first = prop::collection::vec(prop::collection::vec(0..offers, 1..3), 0..2);
    (effects, 1..9u32, 0.0..0.2, first, prop::bool::weighted(0.3)).prop_map(
        move |(mut effects, minutes, cost, first, waits)| {
            effects.sort_by_key(|(need, _)| *need);
            effects.dedup_by_key(|(need, _)| *need);
            Offer { exercise, effects, minutes, cost, first: if waits { first } else { Vec::new() } }
        },
    )
}

fn menu() -> impl Strategy<Value = Menu> {
    (1..6usize, 1..8usize).prop_flat_map(|(needs, exercises)| {
        let offers = prop::collection::vec(0..exercises, 0..12).prop_flat_map(move |of| {
            let offers = of.len().max(1);
            of.into_iter().map(|e| offer(e, needs, offers)).collect::<Vec<_>>()
        });
        let weights = prop::collection::vec(0.0..1.0, needs);
        let pinned = prop::collection::btree_set(0..exercises, 0..2);
        (weights, offers, pinned, 0..5usize, 0..25u32).prop_map(|(needs, offers, pinned, most, minutes)| Menu {
            needs,
            offers,
            pinned: pinned.into_iter().collect(),
            most,
            minutes,
        })
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(ProptestConfig::default().cases.max(4000)))]

    #[test]
    fn the_choice_is_the_best_of_all_sets(menu in menu()) {
        let choice = menu.choose();
        match (by_hand(&menu), &choice.offers) {
            (None, None) => {}
            (Some(best), Some(set)) => {
                prop_assert!(menu.allows(set));
                // Being named later costs at most `LATER` an offer.
                prop_assert!((best - choice.worth).abs() < LATER * 12.0, "{best} by hand, {} chosen", choice.worth);
            }
            (by_hand, chosen) => prop_assert!(false, "{by_hand:?} by hand, {chosen:?} chosen"),
        }
    }
}

fn plain(exercise: usize, effects: &[(usize, f64)]) -> Offer {
    Offer { exercise, effects: effects.to_vec(), minutes: 3, cost: 0.05, first: Vec::new() }
}

#[test]
fn two_that_do_the_same_are_not_both_taken() {
    // 0.8 x 0.9 = 0.72; the second would add 0.8 x 0.1 x 0.9 = 0.072 and cost 0.05, the other need adds 0.3 x 0.5.
    let menu = Menu {
        needs: vec![0.8, 0.3],
        offers: vec![plain(0, &[(0, 0.9)]), plain(1, &[(0, 0.9)]), plain(2, &[(1, 0.5)])],
        most: 2,
        minutes: 60,
        ..Menu::default()
    };
    let choice = menu.choose();
    assert_eq!(choice.offers, Some(vec![0, 2]));
    assert!((choice.worth - (0.72 + 0.15 - 0.10)).abs() < 1e-12);
}

#[test]
fn of_two_alike_the_earlier_is_taken() {
    let menu = Menu {
        needs: vec![0.8],
        offers: vec![plain(0, &[(0, 0.5)]), plain(1, &[(0, 0.5)])],
        most: 1,
        minutes: 60,
        ..Menu::default()
    };
    assert_eq!(menu.choose().offers, Some(vec![0]));
}

#[test]
fn what_waits_for_another_takes_it_along_or_stays_out() {
    let mut strong = plain(0, &[(0, 0.9)]);
    strong.first = vec![vec![1]];
    // By itself the opener covers nothing, but with it the strong one may come: 0.81 - 0.10 against 0.27 - 0.05.
    let mut menu = Menu {
        needs: vec![0.9],
        offers: vec![strong, plain(1, &[]), plain(2, &[(0, 0.3)])],
        most: 2,
        minutes: 60,
        ..Menu::default()
    };
    assert_eq!(menu.choose().offers, Some(vec![0, 1]));
    menu.most = 1;
    assert_eq!(menu.choose().offers, Some(vec![2]));
}

#[test]
fn a_pin_is_kept_even_if_it_is_worth_nothing_and_one_that_cannot_be_had_is_said() {
    let mut menu = Menu {
        needs: vec![0.9],
        offers: vec![plain(0, &[(0, 0.9)]), plain(1, &[])],
        pinned: vec![1],
        most: 1,
        minutes: 60,
    };
    assert_eq!(menu.choose().offers, Some(vec![1]));
    menu.minutes = 2;
    assert_eq!(menu.choose().offers, None);
}
