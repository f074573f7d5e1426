//! `exercises/planning.toml`.

use crate::diag::Rule;
use crate::fields::Fields;
use crate::ids::{Id, PhaseId};
use crate::library::Phase;
use crate::library::planning::{
    ChangeRules, Count, Decision, DecisionRule, Felt, FirstRule, Planning, RetestWeeks, StartRule, When,
};
use crate::library::vocabulary::State;

use super::known_id;

/// Reads one table that must be there.
fn part<T>(fields: &Fields<'_>, key: &str, read: impl FnOnce(&Fields<'_>) -> Option<T>) -> Option<T> {
    let table = fields.need(key)?.table()?;
    let found = read(&table);
    table.done();
    found
}

fn whole(fields: &Fields<'_>, key: &str, least: u32, most: u32) -> Option<u32> {
    fields.need(key).and_then(|v| v.whole(least, most)).map(|at| at.value)
}

fn weight(fields: &Fields<'_>, key: &str) -> Option<f64> {
    fields.need(key).and_then(|v| v.number(0.0, 1.0)).map(|at| at.value)
}

fn source(fields: &Fields<'_>) {
    fields.need("source").and_then(|v| v.text(300));
}

pub fn read(fields: &Fields<'_>, phases: &[Phase]) -> Option<Planning> {
    let choice = part(fields, "choice", |f| {
        let (cost, minute_cost) = (weight(f, "cost"), weight(f, "minute_cost"));
        let (answer, unmet) = (weight(f, "answer"), weight(f, "tell_unmet_from"));
        Some((cost?, minute_cost?, answer?, unmet?))
    });
    let count = part(fields, "count", |f| {
        let (usual, warn) = (whole(f, "usual", 1, 20), whole(f, "warn_above", 1, 20));
        let never = whole(f, "never_above", 1, 20);
        source(f);
        let count = Count { usual: usual?, warn_above: warn?, never_above: never? };
        if count.usual <= count.warn_above && count.warn_above <= count.never_above {
            return Some(count);
        }
        let message = "`usual`, `warn_above` and `never_above` must rise";
        f.sink().report(Rule::BadValue, f.span(), message, "put the three numbers in order");
        None
    });
    let first = fields.tables("first").iter().filter_map(|f| first(f, phases)).collect();
    let start = fields.tables("start").iter().filter_map(start).collect();
    let weekly = part(fields, "weekly_stretch", |f| {
        let (least, enough) = (whole(f, "least_s", 1, 7200), whole(f, "enough_s", 1, 7200));
        source(f);
        Some((least?, enough?))
    });
    let rest_days = part(fields, "rest_days", |f| {
        source(f);
        let days = phases.iter().filter_map(|phase| {
            let days = f.get_own(phase.id.as_str())?.whole(0, 6)?.value;
            Some((phase.id.clone(), days))
        });
        Some(days.collect())
    });
    let steps_up = part(fields, "steps_up", |f| {
        source(f);
        whole(f, "per_region", 0, 10)
    });
    let picture = part(fields, "picture", |f| {
        let beyond = f.need("beyond_deg").and_then(|v| v.number(0.0, 90.0));
        let tell = f.need("tell").and_then(|v| v.text(160));
        Some((beyond?.value, tell?.value))
    });
    let retest = part(fields, "retest", |f| {
        let (usual, least) = (whole(f, "usual_weeks", 1, 52), whole(f, "least_weeks", 1, 52));
        let most = whole(f, "most_weeks", 1, 52);
        source(f);
        let weeks = RetestWeeks { usual: usual?, least: least?, most: most? };
        if !(weeks.least..=weeks.most).contains(&weeks.usual) {
            let message = format!("{} weeks are not between {} and {}", weeks.usual, weeks.least, weeks.most);
            return f.need("usual_weeks")?.refuse(Rule::BadValue, message, "put the three in order");
        }
        Some(weeks)
    });
    let change = part(fields, "change", change_rules);
    fields.need("decisions");
    let decisions = fields.tables("decisions").iter().filter_map(decision).collect();
    let (cost, minute_cost, answer, tell_unmet_from) = choice?;
    Some(Planning {
        cost,
        minute_cost,
        answer,
        tell_unmet_from,
        count: count?,
        first,
        start,
        weekly_stretch_s: weekly?,
        rest_days: rest_days?,
        steps_up: steps_up?,
        picture: picture?,
        retest_weeks: retest?,
        change: change?,
        decisions,
    })
}

/// What comes first must come earlier in the order of work, so no circle of rules fits.
fn first(fields: &Fields<'_>, phases: &[Phase]) -> Option<FirstRule> {
    let sink = fields.sink();
    let ids: Vec<PhaseId> = phases.iter().map(|phase| phase.id.clone()).collect();
    let place = |id: &PhaseId| ids.iter().position(|known| known == id);
    let phase = fields.need("phase").and_then(|v| v.id::<PhaseId>()).and_then(|id| known_id(sink, &id, &ids));
    let named = fields.ids::<PhaseId>("after");
    let mut after = Vec::new();
    for id in named {
        let Some(earlier) = known_id(sink, &id, &ids) else { continue };
        if phase.as_ref().is_some_and(|phase| place(&earlier) >= place(phase)) {
            sink.report(
                Rule::BadValue,
                id.span,
                format!("`{earlier}` does not come before the phase that waits for it"),
                "name phases that stand earlier in exercises/phases.toml; two rules that wait for each other never end",
            );
            continue;
        }
        after.push(earlier);
    }
    fields.need("after");
    let states = fields
        .need("states")
        .and_then(|v| v.list())
        .unwrap_or_default()
        .iter()
        .filter_map(|v| v.one_of(&State::ALL))
        .collect();
    let why = fields.need("why").and_then(|v| v.text(200));
    fields.done();
    Some(FirstRule { phase: phase?, after, states, why: why?.value })
}

fn start(fields: &Fields<'_>) -> Option<StartRule> {
    let age_from = fields.get("age_from").and_then(|v| v.whole(1, 120)).map(|at| at.value);
    let pain_above = fields.get("pain_above").and_then(|v| v.whole(0, 9)).map(|at| at.value);
    let need_below = fields.get("need_below").and_then(|v| v.number(0.0, 1.0)).map(|at| at.value);
    let worst_grade = fields.get("worst_grade").and_then(|v| v.yes()).unwrap_or(false);
    let steps = fields.need("steps").and_then(|v| v.number(-3.0, 3.0));
    let why = fields.need("why").and_then(|v| v.text(200));
    fields.done();
    let steps = steps?.value;
    if steps.fract() != 0.0 {
        let message = "`steps` must be a whole number of rungs";
        fields.sink().report(Rule::BadValue, fields.span(), message, "write 1, -1 and so on");
        return None;
    }
    Some(StartRule { age_from, pain_above, need_below, worst_grade, steps: steps as i32, why: why?.value })
}

fn change_rules(fields: &Fields<'_>) -> Option<ChangeRules> {
    let words = |key: &str| {
        part(fields, key, |f| {
            let (coach, client) =
                (f.need("coach").and_then(|v| v.text(200)), f.need("client").and_then(|v| v.text(90)));
            Some([coach?.value, client?.value])
        })
    };
    let (many_from, periods) = (whole(fields, "many_from", 2, 100), whole(fields, "periods", 1, 9));
    let few_days = weight(fields, "few_days");
    let (one_at_a_time, not_now) = (words("one_at_a_time"), words("not_now"));
    source(fields);
    Some(ChangeRules {
        many_from: many_from? as usize,
        few_days: few_days?,
        periods: periods? as usize,
        one_at_a_time: one_at_a_time?,
        not_now: not_now?,
    })
}

/// A rule says where it holds; one that holds everywhere can only be the last, which is for the library's author to see.
fn decision(fields: &Fields<'_>) -> Option<DecisionRule> {
    let what = fields.need("do").and_then(|v| v.one_of(&Decision::ALL));
    let yes = |key: &str| fields.get(key).and_then(|v| v.yes());
    let number = |key: &str| fields.get(key).and_then(|v| v.whole(0, 10)).map(|at| at.value);
    let share = |key: &str| fields.get(key).and_then(|v| v.number(0.0, 1.0)).map(|at| at.value);
    let when = When {
        event: yes("event"),
        worse: yes("worse"),
        better: yes("better"),
        usual: yes("usual"),
        diary: yes("diary"),
        felt: fields.get("felt").and_then(|v| v.one_of(&Felt::ALL)),
        discomfort_above: number("discomfort_above"),
        discomfort_to: number("discomfort_to"),
        form_lost: yes("form_lost"),
        lingered: yes("lingered"),
        done_below: share("done_below"),
        done_from: share("done_from"),
        periods_without_change: number("periods_without_change"),
        lowest: yes("lowest"),
        highest: yes("highest"),
    };
    let (coach, client) =
        (fields.need("coach").and_then(|v| v.text(200)), fields.need("client").and_then(|v| v.text(90)));
    source(fields);
    fields.done();
    Some(DecisionRule { what: what?, when, coach: coach?.value, client: client?.value })
}
