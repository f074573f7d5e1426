//! What changed since the last sheet, in the client's words: charts over all visits, and the last program beside this one.

use std::collections::BTreeSet;

use super::Writer;
use super::handout::{ChangeRow, Changed, Chart, ChartPoint, Tag};
use crate::assess::{Change, Findings};
use crate::body::{Side, Sides};
use crate::ids::TestId;
use crate::library::planning::Decision;
use crate::library::test::Test;
use crate::plan::{Item, Program};
use crate::retest::{Course, Decided, HandOver, Retest};
use crate::template::TemplateError;
use crate::units::{Amount, Unit};

/// Most charts on a page; what is more stands in a line each.
const MOST_CHARTS: usize = 6;
/// Share of the planned days from which it is well done.
const WELL_DONE: f64 = 0.75;

impl Writer<'_> {
    pub(super) fn changed(&self, findings: &Findings, program: &Program) -> Result<Option<Changed>, TemplateError> {
        let Some(retest) = &program.retest else { return Ok(None) };
        let sentences = &self.words.sentences;
        let mut courses: Vec<(&Course, &Test)> =
            retest.courses.iter().filter_map(|course| Some((course, self.library.tests.get(&course.test)?))).collect();
        let limited = |course: &Course| {
            let finding = findings.tests.iter().find(|finding| finding.test == course.test);
            finding.is_some_and(|it| course.side.map_or(!it.limited().is_empty(), |side| it.limited().contains(&side)))
        };
        // Tests that moved or still need work are drawn first, left beside right.
        let matters = |course: &Course| {
            limited(course) || matches!(course.last, Some(Change::Worse | Change::Better | Change::ClearlyBetter))
        };
        let first: BTreeSet<&TestId> =
            courses.iter().filter(|(course, _)| matters(course)).map(|(course, _)| &course.test).collect();
        courses.sort_by_key(|(course, _)| !first.contains(&course.test));
        let (mut charts, mut more) = (Vec::new(), Vec::new());
        for (course, test) in courses {
            if test.unit != Unit::Grade && course.points.len() > 1 && charts.len() < MOST_CHARTS {
                charts.push(self.chart(course, test, findings)?);
            } else {
                more.push(self.line(course, test)?);
            }
        }
        let mut lead = vec![self.say(&sentences.replaces, &[])?];
        if charts.iter().any(|chart| chart.noise.is_some()) {
            lead.push(self.say(&sentences.change_lead, &[])?);
        }
        Ok(Some(Changed {
            lead,
            first: self.first(retest)?,
            kept: self.kept(retest)?,
            charts,
            more,
            rows: self.rows(retest, program)?,
        }))
    }

    /// Side and test: `Left ankle bend`.
    fn course_name(&self, test: &Test, side: Option<Side>) -> Result<String, TemplateError> {
        match side {
            Some(side) => {
                let name = test.name.to_lowercase();
                let gaps = [("side", self.side_label(side)), ("test_within", &name)];
                self.say(&self.words.sentences.test_on_side, &gaps)
            }
            None => Ok(test.name.clone()),
        }
    }

    /// Whom to see, first of all.
    fn first(&self, retest: &Retest) -> Result<Vec<String>, TemplateError> {
        let sentences = &self.words.sentences;
        let name = |id: &TestId, side: Option<Side>| {
            self.library.tests.get(id).map_or(Ok(String::new()), |test| self.course_name(test, side))
        };
        let one = |reason: &HandOver| match reason {
            HandOver::Worse(test, side) => self.say(&sentences.see_worse, &[("test", &name(test, *side)?)]),
            HandOver::NoChange(test, side) => self.say(&sentences.see_no_change, &[("test", &name(test, *side)?)]),
        };
        retest.hand_over.iter().map(one).collect()
    }

    /// How it was kept up, before anything is judged; then how it felt.
    fn kept(&self, retest: &Retest) -> Result<Vec<String>, TemplateError> {
        let sentences = &self.words.sentences;
        let mut lines = Vec::new();
        if let Some(adherence) = retest.adherence {
            let (done, planned) = (adherence.done.to_string(), adherence.planned.to_string());
            let days = self.say(&sentences.kept_days, &[("done", &done), ("planned", &planned)])?;
            lines.push(if adherence.share() >= WELL_DONE {
                format!("{} {days}", self.say(&sentences.kept_well, &[])?)
            } else {
                days
            });
            if retest.few_days(self.library) {
                lines.push(self.say(&sentences.kept_few, &[])?);
            }
        }
        let (now, before) = (retest.discomfort.0, retest.discomfort.1);
        if let Some(now) = now {
            let now = now.to_string();
            lines.push(match before.map(|before| before.to_string()) {
                Some(before) => self.say(&sentences.discomfort_from, &[("before", &before), ("now", &now)])?,
                None => self.say(&sentences.discomfort_now, &[("now", &now)])?,
            });
        }
        if let Some((_, all)) = retest.by_chance {
            lines.push(self.say(&sentences.by_chance, &[("count", &all.to_string())])?);
        }
        Ok(lines)
    }

    fn chart(&self, course: &Course, test: &Test, findings: &Findings) -> Result<Chart, TemplateError> {
        let sentences = &self.words.sentences;
        let axis = self.axis(test);
        let at = |amount: Amount| self.shown(test, amount).to_f64().clamp(axis.min, axis.max);
        let first = course.points[0].0;
        let days = |day: jiff::civil::Date| first.until(day).map_or(0, |span| span.get_days());
        let all = course.points.last().map_or(1, |point| days(point.0)).max(1);
        let point = |(day, amount): &(jiff::civil::Date, Amount)| {
            Ok(ChartPoint {
                at: at(*amount),
                time: (f64::from(days(*day)) / f64::from(all) * 1000.0).round() / 1000.0,
                day: self.date_day(*day)?,
                value: self.value(test, *amount),
            })
        };
        let points: Vec<ChartPoint> = course.points.iter().map(point).collect::<Result<_, TemplateError>>()?;
        let reference = findings.tests.iter().find(|it| it.test == course.test).and_then(|it| it.reference.as_ref());
        let usual = reference.map(|range| [range.low.map_or(axis.min, at), range.high.map_or(axis.max, at)]);
        let name = self.course_name(test, course.side)?;
        let (icon, verdict, words) = self.verdict(course, test)?;
        let mut said = Vec::new();
        for point in &points {
            said.push(self.say(&sentences.alt_point, &[("day", &point.day), ("value", &point.value)])?);
        }
        let usual_alt = match reference.map(|range| (range.low, range.high)) {
            Some((Some(low), Some(high))) => {
                let (low, high) = (self.value(test, low), self.value(test, high));
                self.say(&sentences.alt_usual, &[("low", &low), ("high", &high)])?
            }
            Some((Some(low), None)) => self.say(&sentences.alt_usual_from, &[("low", &self.value(test, low))])?,
            Some((None, Some(high))) => self.say(&sentences.alt_usual_to, &[("high", &self.value(test, high))])?,
            Some((None, None)) | None => self.say(&sentences.alt_usual_none, &[])?,
        };
        let said = said.join(" ");
        let gaps = [("test", name.as_str()), ("points", &said), ("usual", &usual_alt), ("verdict", &verdict)];
        Ok(Chart {
            alt: self.say(&sentences.alt_chart, &gaps)?,
            name,
            min: axis.min,
            max: axis.max,
            step: axis.step,
            usual,
            noise: test
                .error
                .as_ref()
                .filter(|_| test.judged)
                .map(|error| self.change_shown(test, error.mdc95).to_f64()),
            points,
            icon,
            verdict,
            words,
        })
    }

    /// Its sign, the verdict, and by how much.
    fn verdict(&self, course: &Course, test: &Test) -> Result<(&'static str, String, String), TemplateError> {
        let sentences = &self.words.sentences;
        let (icon, head, then) = match course.last {
            Some(Change::ClearlyBetter) => ("up", &sentences.verdict_clearly_better, None),
            Some(Change::Better) => ("up", &sentences.verdict_better, None),
            Some(Change::MaybeBetter) => ("ask", &sentences.verdict_maybe_better, Some(&sentences.verdict_go_on)),
            Some(Change::Same) => ("same", &sentences.verdict_same, None),
            Some(Change::MaybeWorse) => ("ask", &sentences.verdict_same, Some(&sentences.verdict_check)),
            Some(Change::Worse) => ("down", &sentences.verdict_worse, Some(&sentences.verdict_talk)),
            None => ("ask", &sentences.verdict_none, None),
        };
        let mut words = Vec::new();
        if let [.., (_, before), (_, now)] = course.points.as_slice() {
            let by = self.value(test, if now > before { now.minus(*before) } else { before.minus(*now) });
            let change = match now.cmp(before) {
                std::cmp::Ordering::Greater => &sentences.change_more,
                std::cmp::Ordering::Less => &sentences.change_less,
                std::cmp::Ordering::Equal => &sentences.change_none,
            };
            words.push(self.say(change, &[("change", &by)])?);
        }
        if course.other_way > 0 {
            words.push(self.say(&sentences.other_way, &[])?);
        } else if let (None, None) = (course.last, &test.error) {
            words.push(self.say(&sentences.error_unknown, &[])?);
        }
        words.extend(then.map(|then| self.say(then, &[])).transpose()?);
        // Small steps in one direction may add up to a real one.
        let real = |change| matches!(change, Some(Change::Better | Change::ClearlyBetter));
        if real(course.whole) && !real(course.last) {
            words.push(self.say(&sentences.better_since_start, &[])?);
        }
        Ok((icon, self.say(head, &[])?, words.join(" ")))
    }

    /// A test without a chart, in one line.
    fn line(&self, course: &Course, test: &Test) -> Result<String, TemplateError> {
        let values: Vec<String> = course.points.iter().map(|(_, amount)| self.value(test, *amount)).collect();
        let (_, verdict, words) = self.verdict(course, test)?;
        let words = if test.unit == Unit::Grade { String::new() } else { format!(" {words}") };
        let name = self.course_name(test, course.side)?;
        Ok(format!("{name}: {}. {verdict}.{words}", values.join(", ")).trim_end().to_owned())
    }

    /// The last program beside this one, in the order of this one; what is out comes last.
    fn rows(&self, retest: &Retest, program: &Program) -> Result<Vec<ChangeRow>, TemplateError> {
        let mut rows = Vec::new();
        for item in &program.items {
            let Some(exercise) = self.library.exercises.get(&item.exercise) else { continue };
            let decided = decided(retest, item);
            let tag = self.tag(retest, item);
            let (what, why) = match decided {
                None => (self.say(&self.words.sentences.do_new, &[])?, self.why_new(item)?),
                Some(it) => (self.what_to_do(it, item)?, self.why(it)?),
            };
            rows.push(ChangeRow {
                n: Some(item.number),
                name: named(&exercise.name, item.sides, self),
                tag,
                what,
                why,
            });
        }
        for it in &retest.decided {
            if program.items.iter().any(|item| item.exercise == it.was.exercise) {
                continue;
            }
            let name = self.library.exercises.get(&it.was.exercise).map(|exercise| exercise.name.clone());
            let labels = &self.words.labels;
            let (icon, word) = match it.decision {
                Decision::Swap => ("swap", &labels.swapped),
                _ => ("out", &labels.stopped),
            };
            rows.push(ChangeRow {
                n: None,
                name: named(&name.unwrap_or_default(), it.was.sides, self),
                tag: Tag { icon, word: word.source().to_owned() },
                what: self.say(&self.words.sentences.do_stop, &[])?,
                why: self.why(it)?,
            });
        }
        Ok(rows)
    }

    /// What is different about an exercise of this program.
    pub(super) fn tag(&self, retest: &Retest, item: &Item) -> Tag {
        let labels = &self.words.labels;
        let (icon, word) = match decided(retest, item) {
            None => ("new", &labels.new),
            Some(it) => match it.decision {
                Decision::Next => ("up", &labels.harder_now),
                Decision::Back => ("down", &labels.easier_now),
                _ => match work(&item.dose).cmp(&work(&it.was.dose)) {
                    std::cmp::Ordering::Greater => ("up", &labels.more),
                    std::cmp::Ordering::Less => ("down", &labels.less),
                    std::cmp::Ordering::Equal => ("same", &labels.same),
                },
            },
        };
        Tag { icon, word: word.source().to_owned() }
    }

    /// The new version, or what is new in the dose.
    fn what_to_do(&self, it: &Decided, item: &Item) -> Result<String, TemplateError> {
        let sentences = &self.words.sentences;
        if it.was.rung != item.rung {
            let how = self.library.exercises.get(&item.exercise).and_then(|exercise| exercise.rungs.get(item.rung));
            let tool = item.tools.first().map(|tool| tool.name.as_str());
            let facts = self.facts(crate::plan::reading_side(item.sides), tool);
            return how.map_or(Ok(String::new()), |rung| self.fill(&rung.how, &facts));
        }
        let Some(exercise) = self.library.exercises.get(&item.exercise) else {
            return Ok(String::new());
        };
        let now = self.dose(exercise, &item.dose, item.sides);
        let before = self.dose(exercise, &it.was.dose, it.was.sides);
        let mut parts = Vec::new();
        for part in &now {
            if let Some(old) = before.iter().find(|old| old.icon == part.icon && old.n != part.n) {
                let (value, was) = (format!("{}\u{a0}{}", part.n, part.unit), old.n.to_string());
                parts.push(self.say(&sentences.do_dose, &[("now", &value), ("before", &was)])?);
            }
        }
        if item.dose.days != it.was.dose.days {
            let (now, before) = (item.dose.days.to_string(), it.was.dose.days.to_string());
            parts.push(self.say(&sentences.do_days, &[("now", &now), ("before", &before)])?);
        }
        if parts.is_empty() { self.say(&sentences.do_same, &[]) } else { Ok(parts.join(" ")) }
    }

    fn why(&self, it: &Decided) -> Result<String, TemplateError> {
        match it.client.as_str() {
            "" => self.say(&self.words.sentences.coach_chose, &[("coach", &self.coach.call)]),
            why => Ok(why.to_owned()),
        }
    }

    fn why_new(&self, item: &Item) -> Result<String, TemplateError> {
        let tests: Vec<String> = item
            .serves
            .iter()
            .filter_map(|id| self.library.tests.get(id))
            .map(|test| test.name.to_lowercase())
            .collect();
        if tests.is_empty() {
            return self.say(&self.words.sentences.coach_chose, &[("coach", &self.coach.call)]);
        }
        self.say(&self.words.sentences.new_for, &[("list", &self.list(&tests))])
    }
}

/// What was decided of an exercise that is in the program now.
fn decided<'a>(retest: &'a Retest, item: &Item) -> Option<&'a Decided> {
    let mut same = retest.decided.iter().filter(|it| it.was.exercise == item.exercise);
    let first = same.clone().next();
    same.find(|it| it.was.sides == item.sides).or(first)
}

/// How much a dose is: seconds under way in a week.
fn work(dose: &crate::library::exercise::Dose) -> u32 {
    dose.sets * dose.set_seconds() * dose.days
}

/// An exercise with its side, where it has one.
fn named(name: &str, sides: Sides, writer: &Writer<'_>) -> String {
    match sides {
        Sides::Left | Sides::Right => {
            let side = sides.shown().map(|side| writer.side_beside(side)).unwrap_or_default();
            format!("{name}, {side}")
        }
        Sides::Each | Sides::Both => name.to_owned(),
    }
}
