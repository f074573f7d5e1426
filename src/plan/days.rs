//! Days of the week with the rest that a phase asks for, the first day, the days of checks and of the retest.

use jiff::ToSpan;
use jiff::civil::{Date, Weekday};

use crate::library::planning::RetestWeeks;

/// Weeks after the start at whose end the client checks themselves.
const CHECK_WEEKS: [i64; 2] = [2, 4];

const SUNDAY: u8 = 1 << 6;

/// `count` of the free days with at least `rest` days between two, as far apart as they can be; among equals with the
/// days off far apart, Sunday off, and the earliest choice.
///
/// If not so many days are free, or not so many with their rest, there are as many as there can be.
pub fn spread(count: u32, free: [bool; 7], rest: u32) -> [bool; 7] {
    let rested = |days: u8| days.count_ones() < 2 || gaps(days).iter().all(|gap| *gap > rest);
    let chosen = (1u8..128)
        .filter(|days| {
            days.count_ones() <= count && (0..7).all(|day| days & (1 << day) == 0 || free[day]) && rested(*days)
        })
        .max_by_key(|days| {
            (
                days.count_ones(),
                gaps(*days),
                gaps(!days & 127),
                days & SUNDAY == 0,
                std::cmp::Reverse(in_week_order(*days)),
            )
        })
        .unwrap_or(0);
    std::array::from_fn(|day| chosen & (1 << day) != 0)
}

/// The distances between neighbouring days round the week, smallest first.
pub fn gaps(days: u8) -> Vec<u32> {
    let on: Vec<u32> = (0..7).filter(|day| days & (1 << day) != 0).collect();
    let mut gaps: Vec<u32> =
        on.iter().zip(on.iter().cycle().skip(1)).map(|(a, b)| if b > a { b - a } else { b + 7 - a }).collect();
    gaps.sort_unstable();
    gaps
}

/// Days as a list, so that the earlier one comes first.
fn in_week_order(days: u8) -> Vec<u32> {
    (0..7).filter(|day| days & (1 << day) != 0).collect()
}

/// The first Monday after a day: weeks of the diary then run from Monday.
pub fn next_monday(day: Date) -> Date {
    let ahead = 7 - i64::from(day.weekday().since(Weekday::Monday));
    day.checked_add(ahead.days()).unwrap_or(day)
}

/// Sundays that end the second and fourth week; the last one falls on the day before the next visit if that is sooner.
pub fn check_days(start: Date, next: Option<Date>) -> Vec<Date> {
    let mut days: Vec<Date> = Vec::new();
    for weeks in CHECK_WEEKS {
        let Ok(mut day) = start.checked_add((weeks * 7 - 1).days()) else {
            continue;
        };
        if let Some(next) = next
            && day >= next
        {
            day = next.checked_sub(1.days()).unwrap_or(day);
        }
        // Less than a week apart two checks say nothing new.
        let soon = days.last().map_or(start, |last| *last).checked_add(6.days());
        if soon.is_ok_and(|soon| day >= soon) {
            days.push(day);
        }
    }
    days
}

/// The day some weeks later.
pub fn later(start: Date, weeks: u32) -> Date {
    start.checked_add((i64::from(weeks) * 7).days()).unwrap_or(start)
}

/// The day of the retest: the next visit, unless it is too soon for a change; then some weeks after the start.
pub fn test_again(start: Date, next: Option<Date>, weeks: RetestWeeks) -> Date {
    next.filter(|next| *next >= later(start, weeks.least)).unwrap_or_else(|| later(start, weeks.usual))
}
