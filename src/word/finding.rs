//! What we found, in the client's words, and the home checks that go with it.

use super::Writer;
use super::amounts::Axis;
use super::handout::{Bar, BeforeDot, Check, Checks, Finding as FindingText, GradeLine, Lane, Threshold, Well};
use crate::assess::{Band, Basis, Finding, Findings};
use crate::body::Side;
use crate::library::test::{Better, HomeCheck, Test};
use crate::plan::Program;
use crate::record::Values;
use crate::safety::{Case, Judgement};
use crate::template::{TemplateError, sentence_case};
use crate::units::{Amount, Unit};

/// A number that is neither one nor few, for a unit that stands alone.
const MANY: &str = "10";
/// Most home checks on a sheet: more are not done.
const MOST_CHECKS: usize = 3;

impl Writer<'_> {
    pub(super) fn findings(&self, findings: &Findings, program: &Program) -> Result<Vec<FindingText>, TemplateError> {
        let mut limited: Vec<&Finding> = findings.limited().collect();
        // In the order of the exercises that work on them; what nothing works on comes last.
        limited.sort_by_key(|finding| {
            program.items.iter().find(|item| item.serves.contains(&finding.test)).map_or(u32::MAX, |item| item.number)
        });
        limited
            .into_iter()
            .filter_map(|finding| Some((finding, self.library.tests.get(&finding.test)?)))
            .map(|(finding, test)| self.finding(finding, test, program))
            .collect()
    }

    fn finding(&self, finding: &Finding, test: &Test, program: &Program) -> Result<FindingText, TemplateError> {
        let limited = finding.limited();
        let one = match limited.as_slice() {
            [side] if test.sided => Some(*side),
            _ => None,
        };
        let words = &test.words;
        let (title, meaning) = match (one, &words.limited, &words.meaning) {
            (Some(side), Some(title), Some(meaning)) => {
                let facts = self.facts(Some(side), None);
                (self.fill(title, &facts)?, self.fill(meaning, &facts)?)
            }
            _ => (words.limited_both.clone(), words.meaning_both.clone()),
        };
        let mut sentences = vec![meaning];
        sentences.extend(self.because(test, one)?);
        for (side, id) in &finding.signs {
            let Some(sign) = test.signs.iter().find(|sign| sign.id == *id) else {
                continue;
            };
            // A sign on the side that is not limited would only distract here.
            if one.is_some() && side.is_some() && *side != one {
                continue;
            }
            let said = self.fill(&sign.say, &self.facts(*side, None))?;
            sentences.push(self.say(&self.words.sentences.seen, &[("sign", &said)])?);
        }
        let (works_on, said) = self.works_on(finding, program)?;
        sentences.extend(said);
        let test_line = match test.unit {
            Unit::Grade => {
                format!("{}: {}. {}.", self.words.labels.test.source(), test.name, sentence_case(&test.about))
            }
            _ => format!(
                "{}: {}, {}. {}.",
                self.words.labels.test.source(),
                test.name.to_lowercase(),
                self.unit_full(test),
                sentence_case(&test.about)
            ),
        };
        let counts = match &test.error {
            Some(error) => {
                self.say(&self.words.sentences.counts_from, &[("change", &self.change(test, error.mdc95))])?
            }
            None => String::new(),
        };
        let test_line = format!("{test_line} {counts}").trim_end().to_owned();
        let (bar, grades) = match test.unit {
            Unit::Grade => (None, self.grades(finding, test)),
            _ => (Some(self.bar(finding, test)?), Vec::new()),
        };
        Ok(FindingText {
            title,
            found_by: test.id.clone(),
            shown: one,
            frames: Vec::new(),
            sentences,
            works_on,
            test: test_line,
            bar,
            grades,
        })
    }

    /// What the limit may mean for something the client loves, if the practice has a sentence for it.
    fn because(&self, test: &Test, side: Option<Side>) -> Result<Option<String>, TemplateError> {
        for activity in self.client.loves.iter().filter_map(|id| self.library.vocabulary.activities.get(id)) {
            for evidence in &test.limited {
                let Some(sentence) = activity.because.get(&evidence.structure) else {
                    continue;
                };
                let sided = self.library.vocabulary.structures.get(&evidence.structure).is_some_and(|s| s.sided);
                // With both sides limited a sentence that names one would be half the truth.
                let names_side = sentence.source().contains("side");
                if sided && side.is_none() && names_side {
                    continue;
                }
                return self.fill(sentence, &self.facts(side, None)).map(Some);
            }
        }
        Ok(None)
    }

    /// The exercises that work on a finding, and the sentence that says so.
    fn works_on(&self, finding: &Finding, program: &Program) -> Result<(Vec<u32>, Option<String>), TemplateError> {
        let served = program.items.iter().filter(|item| item.serves.contains(&finding.test));
        let numbers: Vec<u32> = served.map(|item| item.number).collect();
        let list = self.list(&numbers.iter().map(ToString::to_string).collect::<Vec<_>>());
        let count = u32::try_from(numbers.len()).ok().filter(|count| *count > 0);
        let say = |count: u32| self.say(self.words.counted.works_on.of(count), &[("list", &list)]);
        let said = match count {
            Some(count) => Some(say(count)?),
            // That nothing is done about it would make a client wonder.
            None if !program.items.is_empty() => {
                Some(self.say(&self.words.sentences.works_later, &[("coach", &self.coach.call)])?)
            }
            None => None,
        };
        Ok((numbers, said))
    }

    fn band(&self, test: &Test, finding: &Finding, amount: Amount, side: Side) -> &str {
        let sentences = &self.words.sentences;
        // Without a usual range there is only the other side to go by.
        if finding.reference.is_none() {
            let against_other = |side: Side| (*finding.verdicts.get(side)).filter(|it| it.basis == Basis::OtherSide);
            let band = |side: Side| against_other(side).map(|it| it.band);
            match (band(side), band(side.other())) {
                (Some(Band::Limited), _) => return sentences.does_less.source(),
                (Some(Band::AboutUsual), Some(Band::Limited)) => return sentences.does_more.source(),
                (Some(Band::AboutUsual), _) => return sentences.alike.source(),
                _ => {}
            }
        }
        // A mark that stands outside the range is not called usual: it is within the error of the test.
        let short =
            |edge: Option<Amount>| edge.is_some_and(|edge| test.better.shortfall(amount, edge) > Amount::default());
        match finding.verdicts.get(side).map(|it| it.band) {
            Some(Band::Limited) => sentences.limited.source(),
            Some(Band::AboutUsual)
                if short(finding.reference.as_ref().and_then(|range| test.better.edges(range).0)) =>
            {
                sentences.near_usual.source()
            }
            Some(Band::AboutUsual) => sentences.about_usual.source(),
            Some(Band::MoreThanUsual) => sentences.more_than_usual.source(),
            None => sentences.measured.source(),
        }
    }

    fn grades(&self, finding: &Finding, test: &Test) -> Vec<GradeLine> {
        let line = |label: Option<&str>, amount| GradeLine {
            label: label.map(ToOwned::to_owned),
            grade: super::amounts::grade(test, amount),
        };
        match finding.values {
            Values::Whole(amount) => vec![line(None, amount)],
            Values::Sided(values) => Side::BOTH
                .into_iter()
                .filter_map(|side| Some(line(Some(self.side_label(side)), (*values.get(side))?)))
                .collect(),
        }
    }

    fn bar(&self, finding: &Finding, test: &Test) -> Result<Bar, TemplateError> {
        let sentences = &self.words.sentences;
        let axis = self.axis(test);
        let at = |amount| self.shown(test, amount).to_f64().clamp(axis.min, axis.max);
        let before = |side: Side| {
            finding
                .previous
                .and_then(|(_, values)| values.on(side))
                .map(|amount| BeforeDot { at: at(amount), value: self.value(test, amount) })
        };
        let lane = |side: Side, label: &str| {
            let amount = finding.values.on(side)?;
            let verdict = *finding.verdicts.get(side);
            Some(Lane {
                label: label.to_owned(),
                band: self.band(test, finding, amount, side).to_owned(),
                focus: verdict.is_some_and(|v| v.band == Band::Limited),
                at: at(amount),
                value: self.value(test, amount),
                before: before(side),
            })
        };
        let lanes: Vec<Lane> = if test.sided {
            Side::BOTH.into_iter().filter_map(|side| lane(side, self.side_label(side))).collect()
        } else {
            lane(Side::Left, "").into_iter().collect()
        };
        let (usual, usual_text, usual_alt) = self.usual(finding, test, axis)?;
        let mut sides = Vec::new();
        for lane in &lanes {
            let label = if lane.label.is_empty() { self.words.labels.now.source() } else { &lane.label };
            sides.push(
                self.say(&sentences.alt_side, &[("side", label), ("value", &lane.value), ("words", &lane.band)])?,
            );
            if let Some(before) = &lane.before {
                sides.push(self.say(&sentences.alt_before, &[("value", &before.value)])?);
            }
        }
        let noise = test.error.as_ref().map(|error| self.change_shown(test, error.mdc95));
        let gaps = [("test", test.name.as_str()), ("sides", &sides.join(" ")), ("usual", &usual_alt)];
        Ok(Bar {
            min: axis.min,
            max: axis.max,
            step: axis.step,
            usual,
            usual_text,
            noise: noise.map(crate::units::Amount::to_f64),
            lanes,
            alt: self.say(&sentences.alt_range_bar, &gaps)?,
        })
    }

    /// The usual range: where to draw it, its words beside the bar, its words for a listener.
    fn usual(
        &self,
        finding: &Finding,
        test: &Test,
        axis: Axis,
    ) -> Result<(Option<[f64; 2]>, String, String), TemplateError> {
        let sentences = &self.words.sentences;
        let Some(reference) = &finding.reference else {
            let none = self.say(&sentences.alt_usual_none, &[])?;
            return Ok((None, self.words.labels.no_range.source().to_owned(), none));
        };
        let edge = |amount: crate::units::Amount| self.shown(test, amount).to_f64().clamp(axis.min, axis.max);
        let drawn = [reference.low.map_or(axis.min, edge), reference.high.map_or(axis.max, edge)];
        let (low, high) = (
            reference.low.map(|low| self.value(test, low)).unwrap_or_default(),
            reference.high.map(|high| self.value(test, high)).unwrap_or_default(),
        );
        let gaps = [("low", low.as_str()), ("high", high.as_str())];
        let alt = match (reference.low, reference.high) {
            (Some(_), Some(_)) => self.say(&sentences.alt_usual, &gaps)?,
            (None, _) => self.say(&sentences.alt_usual_to, &gaps)?,
            (_, None) => self.say(&sentences.alt_usual_from, &gaps)?,
        };
        let text = match (reference.low, reference.high) {
            (Some(low_edge), Some(_)) => {
                let bare = self.number(test, low_edge);
                self.say(&sentences.range_band, &[("low", &bare), ("high", &high)])?
            }
            (None, _) | (_, None) => alt.clone(),
        };
        Ok((Some(drawn), text, alt))
    }

    pub(super) fn came_out_well(&self, findings: &Findings) -> Vec<Well> {
        self.lines(findings, Finding::came_out_well, |test| test.words.fine.clone())
    }

    /// Readings that nothing is known to judge by, or that pain kept from being judged.
    pub(super) fn only_measured(&self, findings: &Findings) -> Vec<Well> {
        let unjudged = |finding: &Finding| !finding.came_out_well() && finding.limited().is_empty();
        self.lines(findings, unjudged, |test| format!("{}: {}", test.name, test.about))
    }

    fn lines(
        &self,
        findings: &Findings,
        wanted: impl Fn(&Finding) -> bool,
        line: impl Fn(&Test) -> String,
    ) -> Vec<Well> {
        findings
            .tests
            .iter()
            .filter(|finding| wanted(finding))
            .filter_map(|finding| Some((finding, self.library.tests.get(&finding.test)?)))
            .map(|(finding, test)| Well { line: line(test), values: self.values_line(finding, test) })
            .collect()
    }

    /// `Left 10.5 cm, right 11 cm.`
    fn values_line(&self, finding: &Finding, test: &Test) -> String {
        match finding.values {
            Values::Whole(amount) => self.value(test, amount),
            Values::Sided(values) => {
                let parts: Vec<String> = Side::BOTH
                    .into_iter()
                    .filter_map(|side| {
                        Some(format!("{}\u{a0}{}", self.side_beside(side), self.value(test, (*values.get(side))?)))
                    })
                    .collect();
                sentence_case(&parts.join(", "))
            }
        }
    }

    /// The home checks worth doing: of limited tests, those that can be done alone.
    pub(super) fn home_checks<'f>(&'f self, findings: &'f Findings) -> Vec<(&'f Finding, &'f HomeCheck)> {
        findings
            .limited()
            .filter_map(|finding| Some((finding, self.library.tests.get(&finding.test)?)))
            .filter(|(_, test)| self.may_test_alone(test))
            .filter_map(|(finding, test)| Some((finding, test.home.as_ref()?)))
            .take(MOST_CHECKS)
            .collect()
    }

    /// What the safety rules forbid as an exercise is no home check either: nobody stands by.
    fn may_test_alone(&self, test: &Test) -> bool {
        self.judged(test).bars.is_empty() && test.features.positions.is_disjoint(&self.client.no_positions)
    }

    fn judged(&self, test: &Test) -> Judgement {
        Case::new(self.client, self.visit, self.library).features(&test.features)
    }

    /// Whether any limited test can be repeated at home.
    pub fn has_home_checks(&self, findings: &Findings) -> bool {
        !self.home_checks(findings).is_empty()
    }

    pub(super) fn checks(&self, findings: &Findings, program: &Program) -> Result<Checks, TemplateError> {
        let sentences = &self.words.sentences;
        let checks = self.home_checks(findings);
        if checks.is_empty() || program.check_days.is_empty() || program.items.is_empty() {
            return Ok(Checks { lead: Vec::new(), rows: Vec::new(), days: Vec::new() });
        }
        let fine_to = self.library.vocabulary.pain.fine_to.to_string();
        let lead = vec![
            self.say(&sentences.check_lead, &[("coach", &self.coach.call)])?,
            self.say(&sentences.check_pain, &[("fine_to", &fine_to)])?,
        ];
        let mut days = vec![self.date_short(self.visit.on)?];
        for day in &program.check_days {
            days.push(self.date_short(*day)?);
        }
        let mut rows = Vec::new();
        for (finding, home) in checks {
            let Some(test) = self.library.tests.get(&finding.test) else {
                continue;
            };
            rows.push(self.check_row(finding, test, home)?);
        }
        Ok(Checks { lead, rows, days })
    }

    /// From where a change is real, for the better (`gain`) or the worse, a column each; none where it cannot be reached.
    /// The reading itself, so that nobody has to add or take away.
    fn thresholds(
        &self,
        finding: &Finding,
        test: &Test,
        change: Amount,
        gain: bool,
    ) -> Result<Vec<Option<String>>, TemplateError> {
        let up = gain == (test.better == Better::Higher);
        let sentence = if up { &self.words.sentences.check_or_more } else { &self.words.sentences.check_or_less };
        let sides: &[Side] = if test.sided { &Side::BOTH } else { &[Side::Left] };
        let reached = |side: &Side| finding.values.on(*side).and_then(|now| self.beyond(test, now, change, up));
        sides
            .iter()
            .map(|side| reached(side).map(|value| self.say(sentence, &[("value", &value)])).transpose())
            .collect()
    }

    fn check_row(&self, finding: &Finding, test: &Test, home: &HomeCheck) -> Result<Check, TemplateError> {
        let sentences = &self.words.sentences;
        let start = |side: Side| finding.values.on(side).map_or_else(String::new, |amount| self.number(test, amount));
        let (columns, start) = if test.sided {
            let column = |side: Side| match &home.each_side {
                Some(heading) => self.fill(heading, &self.facts(Some(side), None)),
                None => Ok(self.side_label(side).to_owned()),
            };
            let columns = Side::BOTH.into_iter().map(column).collect::<Result<_, _>>()?;
            (columns, Side::BOTH.map(start).to_vec())
        } else {
            (vec![sentence_case(self.unit_full(test))], vec![start(Side::Left)])
        };
        let coach = ("coach", self.coach.call.as_str());
        let (changes, unknown) = match &test.error {
            None => (Vec::new(), Some(self.say(&sentences.check_unknown, &[coach])?)),
            Some(error) => {
                let mut changes = Vec::new();
                for (label, gain) in [(&sentences.check_better, true), (&sentences.check_worse, false)] {
                    let values = self.thresholds(finding, test, error.mdc95, gain)?;
                    if values.iter().any(Option::is_some) {
                        changes.push(Threshold { label: self.say(label, &[coach])?, values });
                    }
                }
                (changes, None)
            }
        };
        let unit = self.unit_word(test.unit.shown_as(self.system), MANY).to_owned();
        let shown = match finding.limited()[..] {
            [side] if test.sided => Some(side),
            _ => None,
        };
        Ok(Check {
            name: home.name.clone(),
            test: test.id.clone(),
            shown,
            frames: Vec::new(),
            steps: home.steps.clone(),
            note: home.note.clone(),
            for_you: self.judged(test).cautions.into_iter().collect(),
            columns,
            start,
            unit,
            changes,
            unknown,
        })
    }
}
