//! Exercise cards and the diary.

use jiff::ToSpan;

use super::handout::{Diary, DosePart, Exercise as Card, Frame, Phase, Video, Week};
use super::{Speech, Writer};
use crate::body::Sides;
use crate::library::exercise::{Dose, Exercise};
use crate::plan::{Item, Program};
use crate::template::{Template, TemplateError, isolated};
use crate::words::Counted;

/// Weeks that the diary runs, unless the next visit is sooner.
const DIARY_WEEKS: i64 = 4;

impl Writer<'_> {
    pub(super) fn phases(&self, program: &Program) -> Result<Vec<Phase>, TemplateError> {
        let mut phases = Vec::new();
        for phase in &self.library.phases {
            let mut cards = Vec::new();
            for item in program.items.iter().filter(|item| item.phase == phase.id) {
                if let Some(exercise) = self.library.exercises.get(&item.exercise) {
                    cards.push(self.card(item, exercise, program)?);
                }
            }
            if !cards.is_empty() {
                let letter = char::from(b'A' + u8::try_from(phases.len()).unwrap_or(25).min(25));
                phases.push(Phase {
                    letter: letter.to_string(),
                    name: phase.name.clone(),
                    purpose: phase.purpose.clone(),
                    exercises: cards,
                });
            }
        }
        Ok(phases)
    }

    fn card(&self, item: &Item, exercise: &Exercise, program: &Program) -> Result<Card, TemplateError> {
        let sentences = &self.words.sentences;
        let tool = item.tools.first().map(|tool| tool.name.as_str());
        let facts = self.facts(crate::plan::reading_side(item.sides), tool);
        let fill = |text: &Template| self.fill(text, &facts);
        let all = |texts: &[Template]| texts.iter().map(fill).collect::<Result<Vec<_>, _>>();
        let rungs = &exercise.rungs;
        let easier = match item.rung.checked_sub(1).and_then(|easier| rungs.get(easier)) {
            Some(easier) => fill(&easier.how)?,
            None => fill(&exercise.ease)?,
        };
        let fine_to = self.library.vocabulary.pain.fine_to.to_string();
        let when = self.say(&sentences.rung_step_up, &[("fine_to", &fine_to)])?;
        let harder = match rungs.get(item.rung + 1) {
            // Work on a limited joint goes up only after asking.
            Some(_) if !item.cautions.is_empty() => {
                self.say(&sentences.rung_ask_first, &[("coach", &self.coach.call)])?
            }
            Some(harder) => fill(&harder.how)?,
            None => self.say(&sentences.rung_top, &[("coach", &self.coach.call)])?,
        };
        let side_note = match item.sides {
            Sides::Each => Some(self.say(&sentences.one_side_first, &[])?),
            Sides::Left | Sides::Right | Sides::Both => None,
        };
        let mut for_you = item.cautions.clone();
        for_you.extend(item.note.as_deref().map(isolated));
        // A practice's own pictures replace those drawn from poses, which the draw stage adds.
        let frames = exercise
            .pictures
            .iter()
            .map(|picture| {
                Ok(Frame {
                    src: picture.file.clone(),
                    alt: fill(&picture.alt)?,
                    caption: None,
                    svg: None,
                    ratio: picture.ratio,
                    wrong: false,
                    marks: Vec::new(),
                })
            })
            .collect::<Result<_, TemplateError>>()?;
        let video = match &exercise.video {
            Some(address) => {
                let alt = self.say(&self.words.papers.video_alt, &[("name", &exercise.name), ("address", address)])?;
                Some(Video { text: address.clone(), alt, svg: None })
            }
            None => None,
        };
        Ok(Card {
            n: item.number,
            name: exercise.name.clone(),
            short: exercise.short.clone(),
            tag: program.retest.as_ref().map(|retest| self.tag(retest, item)),
            side: item.sides.key(),
            side_note,
            purpose: fill(&exercise.purpose)?,
            start: fill(&exercise.start)?,
            version: fill(&rungs[item.rung].how)?,
            steps: all(&exercise.steps)?,
            frames,
            dose: self.dose(exercise, &item.dose, item.sides),
            effort: self.effort(item, exercise)?,
            each_s: item.dose.each_seconds(),
            days: item.days,
            days_text: self.days_text(item.days)?,
            min: item.minutes(),
            feel: fill(&exercise.feel)?,
            not_feel: fill(&exercise.not_feel)?,
            slip: fill(&exercise.slip)?,
            easier,
            harder: [when, harder],
            cautions: all(&exercise.cautions)?,
            for_you,
            video,
        })
    }

    /// How hard it should feel, and how long each time takes. Who goes carefully keeps it light.
    fn effort(&self, item: &Item, exercise: &Exercise) -> Result<String, TemplateError> {
        let sentences = &self.words.sentences;
        let light = exercise.rungs[item.rung].dose.is_light() || !item.cautions.is_empty();
        // More of what is counted; of what is timed there are no more.
        let some_work =
            if item.dose.reps.is_some() { &sentences.effort_medium } else { &sentences.effort_medium_timed };
        let mut effort = self.say(if light { &sentences.effort_light } else { some_work }, &[])?;
        if let Some(seconds) = item.dose.each_seconds() {
            effort = format!("{effort} {}", self.say(&sentences.each_time, &[("seconds", &seconds.to_string())])?);
        }
        Ok(effort)
    }

    pub(super) fn diary(&self, program: &Program) -> Result<Option<Diary>, TemplateError> {
        if program.items.is_empty() {
            return Ok(None);
        }
        let sentences = &self.words.sentences;
        let until = match self.visit.next {
            Some((next, _)) => self.say(&sentences.diary_until, &[("date", &self.date_weekday(next)?)])?,
            None => self.say(&sentences.diary_go_on, &[])?,
        };
        let lead = format!("{} {until}", self.say(&sentences.diary_lead, &[])?);
        let mut weeks = Vec::new();
        for (week, n) in (0..DIARY_WEEKS).zip(1..) {
            let Ok(first) = program.start.checked_add((week * 7).days()) else {
                continue;
            };
            if self.visit.next.is_some_and(|(next, _)| week > 0 && first >= next) {
                break;
            }
            // Weeks run from the first day of the program, whatever weekday that is.
            let check = program.check_days.iter().find_map(|day| {
                let ahead = first.until(*day).ok()?.get_days();
                (0..7)
                    .contains(&ahead)
                    .then(|| usize::try_from(day.weekday().since(jiff::civil::Weekday::Monday)).ok())?
            });
            let from = self.say(&self.words.sentences.week_of, &[("date", &self.date_short(first)?)])?;
            let days = std::array::from_fn(|day| {
                let ahead = (7 + day as i64 - i64::from(first.weekday().to_monday_zero_offset())) % 7;
                let date = first.checked_add(ahead.days());
                self.visit.next.is_none_or(|(next, _)| date.is_ok_and(|date| date < next))
            });
            let ends = first.checked_add(6.days()).unwrap_or(first);
            let visit = self.visit.next.map(|(next, _)| next).filter(|next| (first..=ends).contains(next));
            let visit = visit
                .map(|next| self.say(&self.words.sentences.week_visit, &[("date", &self.date_day(next)?)]))
                .transpose()?;
            weeks.push(Week { n, from, check, days, visit });
        }
        Ok(Some(Diary { lead, weeks }))
    }
}

impl Speech<'_> {
    /// The dose in the fixed order: rounds, times, hold, slow return, rest.
    pub(super) fn dose(&self, exercise: &Exercise, dose: &Dose, sides: Sides) -> Vec<DosePart> {
        let (units, counted) = (&self.words.units, &self.words.counted);
        let part = |icon, n: u32, text: &Counted| DosePart { icon, n, unit: text.of(n).source().to_owned() };
        let mut parts = vec![part("rounds", dose.sets, &counted.rounds)];
        if let Some(reps) = dose.reps {
            parts.push(part("times", reps, &counted.times));
        }
        // What is done on one side and then on the other says so beside the number that counts it.
        if sides == Sides::Each
            && let Some(counted) = parts.last_mut()
        {
            counted.unit = format!("{} {}", counted.unit, units.each_side.source());
        }
        if let Some(hold) = dose.hold_s {
            parts.push(part("hold", hold, if exercise.moving { &counted.moving } else { &counted.hold }));
        }
        if let Some(lower) = dose.lower_s {
            parts.push(part("slow", lower, &counted.slow));
        }
        if let Some(rest) = dose.rest_s.filter(|rest| *rest > 0 && dose.sets > 1) {
            parts.push(part("rest", rest, &counted.rest));
        }
        parts
    }
}
