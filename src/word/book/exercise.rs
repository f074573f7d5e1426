//! One exercise of the library: how it is done, its versions, its dose, and what it asks for.

use serde::Serialize;

use super::{Librarian, SHOWN, Sources, has_sides, own_frames};
use crate::body::Sides;
use crate::ids::EquipmentId;
use crate::library::exercise::{Dose, DoseRange, Effect, Exercise, Part, RelativeSide, Rung, Span};
use crate::library::vocabulary::State;
use crate::print::Volume;
use crate::template::sentence_case;
use crate::template::{Template, TemplateError};
use crate::word::handout::Frame;

/// One exercise.
#[derive(Clone, Debug, Serialize)]
pub struct Entry {
    /// Its place in the library, from 1.
    pub n: usize,
    /// Name.
    pub name: String,
    /// On which sides it is done, and which one the pictures show.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sides: Option<String>,
    /// Pictures of the first version.
    pub frames: Vec<Frame>,
    /// The dose to start with.
    pub dose: Vec<DoseRow>,
    /// What to feel and what not to.
    #[serde(flatten)]
    pub cues: Option<Cues>,
    /// How it is done.
    #[serde(flatten)]
    pub how: Option<Box<How>>,
    /// What a coach looks up.
    #[serde(flatten)]
    pub details: Option<Details>,
}

/// What to feel and what not to.
#[derive(Clone, Debug, Serialize)]
pub struct Cues {
    /// What to feel.
    pub feel: String,
    /// What not to feel.
    pub not_feel: String,
}

/// How an exercise is done.
#[derive(Clone, Debug, Serialize)]
pub struct How {
    /// What it is for.
    pub purpose: String,
    /// Start position.
    pub start: String,
    /// Steps.
    pub steps: Vec<String>,
    /// The common slip.
    pub slip: String,
    /// Versions, easiest first.
    pub versions: Vec<Version>,
    /// What to do if even the first version is too hard.
    pub ease: String,
    /// Cautions for everyone.
    pub cautions: Vec<String>,
}

/// One version of an exercise.
#[derive(Clone, Debug, Serialize)]
pub struct Version {
    /// Its name.
    pub name: String,
    /// What makes it this version.
    pub how: String,
    /// What it needs beyond the others, and where its dose differs from the first.
    pub notes: Vec<String>,
    /// A picture of it, where its pictures differ.
    pub frame: Option<Frame>,
}

/// What a coach looks up.
#[derive(Clone, Debug, Serialize)]
pub struct Details {
    /// Facts, each with its label.
    pub facts: Vec<Fact>,
    /// The number of the source of the dose.
    pub source: usize,
}

/// A fact with its label.
#[derive(Clone, Debug, Serialize)]
pub struct Fact {
    /// What it is.
    pub label: String,
    /// The fact.
    pub text: String,
    /// The number of its source, if it is a figure.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source: Option<usize>,
}

/// One part of a dose, and how far it may go.
#[derive(Clone, Debug, Serialize)]
pub struct DoseRow {
    /// Which icon: `rounds`, `times`, `hold`, `slow`, `rest`, `days`; none for effort.
    pub icon: Option<&'static str>,
    /// Where to start.
    pub n: u32,
    /// Its unit, in words.
    pub unit: String,
    /// Least and most; nothing if there is no choice.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub range: Option<String>,
}

impl Librarian<'_> {
    pub(super) fn entry(
        &self,
        n: usize,
        exercise: &Exercise,
        volume: Volume,
        sources: &mut Sources,
    ) -> Result<Entry, TemplateError> {
        let equipment = &self.library.vocabulary.equipment;
        let tool = exercise.equipment.first().and_then(|id| equipment.get(id)).map(|known| known.name.as_str());
        let facts = self.facts(has_sides(exercise), tool)?;
        let fill = |text: &Template| text.fill(&facts);
        let in_full = volume == Volume::Book;
        let first = &exercise.rungs[0].dose;
        let cues = || Ok(Cues { feel: fill(&exercise.feel)?, not_feel: fill(&exercise.not_feel)? });
        let mut dose = self.dose(first, exercise.moving, in_full)?;
        if !in_full {
            dose.retain(|row| row.icon.is_some());
            if volume == Volume::Poster {
                // A wall is read from afar: how long to rest is on the sheet.
                dose.retain(|row| !matches!(row.icon, Some("slow" | "rest")));
            }
            if has_sides(exercise) {
                self.count_each_side(&mut dose);
            }
        }
        Ok(Entry {
            n,
            name: exercise.name.clone(),
            sides: if volume == Volume::Poster { None } else { Some(self.sides(exercise)?) },
            frames: own_frames(exercise, fill)?,
            dose,
            cues: if volume == Volume::Poster { None } else { Some(cues()?) },
            how: match volume {
                Volume::Book | Volume::Cards { backs: true } => Some(Box::new(self.how(exercise, &fill)?)),
                Volume::Poster | Volume::Cards { backs: false } => None,
            },
            details: if in_full { Some(self.details(exercise, sources)?) } else { None },
        })
    }

    fn how(
        &self,
        exercise: &Exercise,
        fill: &impl Fn(&Template) -> Result<String, TemplateError>,
    ) -> Result<How, TemplateError> {
        let all = |texts: &[Template]| texts.iter().map(fill).collect::<Result<Vec<_>, _>>();
        let version = |rung: &Rung| {
            Ok(Version {
                name: rung.name.clone(),
                how: fill(&rung.how)?,
                notes: self.notes(exercise, rung)?,
                frame: None,
            })
        };
        Ok(How {
            purpose: fill(&exercise.purpose)?,
            start: fill(&exercise.start)?,
            steps: all(&exercise.steps)?,
            slip: fill(&exercise.slip)?,
            versions: exercise.rungs.iter().map(version).collect::<Result<_, TemplateError>>()?,
            ease: fill(&exercise.ease)?,
            cautions: all(&exercise.cautions)?,
        })
    }

    /// What a version needs and asks beyond the others, and where its dose differs from that of the first.
    fn notes(&self, exercise: &Exercise, rung: &Rung) -> Result<Vec<String>, TemplateError> {
        let words = &self.speech.words.book;
        let mut notes = Vec::new();
        if !rung.equipment.is_empty() {
            let list = self.speech.list(&self.equipment(&rung.equipment)?);
            notes.push(self.speech.say(&words.version_needs, &[("list", &list)])?);
        }
        for ask in &rung.asks {
            if let Some(test) = self.library.tests.get(&ask.test) {
                let value = self.speech.value(test, ask.at_least);
                notes.push(self.speech.say(&words.version_asks, &[("test", &test.name), ("value", &value)])?);
            }
        }
        let usual = self.dose(&exercise.rungs[0].dose, exercise.moving, true)?;
        for row in self.dose(&rung.dose, exercise.moving, true)? {
            let same = |known: &&DoseRow| known.unit == row.unit && known.n == row.n && known.range == row.range;
            if !usual.iter().any(|known| same(&known)) {
                let range = row.range.map_or_else(String::new, |range| format!(" ({range})"));
                notes.push(format!("{}\u{a0}{}{range}", row.n, row.unit));
            }
        }
        Ok(notes)
    }

    fn details(&self, exercise: &Exercise, sources: &mut Sources) -> Result<Details, TemplateError> {
        let words = &self.speech.words.book;
        let fact = |label: &Template, text: String| Fact { label: label.source().to_owned(), text, source: None };
        let needs = if exercise.equipment.is_empty() {
            words.nothing.source().to_owned()
        } else {
            self.equipment(&exercise.equipment)?.join(", ")
        };
        let positions = exercise.features.positions.iter().filter_map(|id| self.library.vocabulary.positions.get(id));
        let positions: Vec<&str> = positions.map(|position| position.name.as_str()).collect();
        let first = &exercise.rungs[0].dose;
        let start = Dose {
            sets: first.sets.start,
            reps: first.reps.map(|span| span.start),
            hold_s: first.hold_s.map(|span| span.start),
            lower_s: first.lower_s.map(|span| span.start),
            rest_s: first.rest_s.map(|span| span.start),
            days: first.days.start,
            rep_s: first.rep_s,
        };
        let sides = if has_sides(exercise) { Sides::Each } else { Sides::Both };
        let minutes = start.session_seconds(sides).div_ceil(60).to_string();
        let minutes_text = if sides == Sides::Each { &words.minutes_each } else { &words.minutes };
        let facts = vec![
            fact(&words.works_on, sentence_case(&self.works_on(exercise))),
            fact(&words.needs, sentence_case(&needs)),
            fact(&words.position, sentence_case(&positions.join(", "))),
            fact(&words.time, self.speech.say(minutes_text, &[("minutes", &minutes)])?),
        ];
        Ok(Details { facts, source: sources.number(&exercise.source_dose) })
    }

    /// Names of equipment, each with what does instead.
    fn equipment(&self, ids: &[EquipmentId]) -> Result<Vec<String>, TemplateError> {
        let known = &self.library.vocabulary.equipment;
        let name = |item: &crate::library::vocabulary::Equipment| match &item.stand_in {
            Some(other) => {
                self.speech.say(&self.speech.words.book.or_instead, &[("name", &item.name), ("other", other)])
            }
            None => Ok(item.name.clone()),
        };
        ids.iter().filter_map(|id| known.get(id)).map(name).collect()
    }

    /// On which sides it is done, and which one the pictures show.
    fn sides(&self, exercise: &Exercise) -> Result<String, TemplateError> {
        let words = &self.speech.words.book;
        let one = exercise.sides.iter().any(|sides| matches!(sides, Sides::Left | Sides::Right));
        let (each, both) = (exercise.sides.contains(&Sides::Each), exercise.sides.contains(&Sides::Both));
        let turns = match (one, each) {
            (true, true) => Some(&words.sides_one_or_each),
            (true, false) => Some(&words.sides_one),
            (false, true) => Some(&words.sides_each),
            (false, false) => None,
        };
        let ways: Vec<&str> =
            turns.into_iter().chain(both.then_some(&words.sides_both)).map(Template::source).collect();
        let ways = sentence_case(&ways.join(", "));
        if !has_sides(exercise) {
            return Ok(ways);
        }
        let side = self.speech.side_word(SHOWN);
        let shown = self.speech.say(&words.shown, &[("side", &side)])?;
        Ok(format!("{ways}. {shown}"))
    }

    /// `shoulder reach (stiff); calf, thigh (short)`, what it does most for first.
    fn works_on(&self, exercise: &Exercise) -> String {
        let words = &self.speech.words.book;
        let mut effects: Vec<&Effect> = exercise.effects.iter().collect();
        effects.sort_by(|a, b| b.effect.total_cmp(&a.effect));
        let mut groups: Vec<(State, Vec<String>)> = Vec::new();
        for effect in effects {
            let known = self.library.vocabulary.structures.get(&effect.structure);
            let mut name = known.map_or_else(|| effect.structure.to_string(), |known| known.name.clone());
            if effect.side == RelativeSide::Other {
                name = format!("{name}, {}", words.other_side.source());
            }
            match groups.iter_mut().find(|(state, _)| *state == effect.state) {
                Some((_, names)) if names.contains(&name) => {}
                Some((_, names)) => names.push(name),
                None => groups.push((effect.state, vec![name])),
            }
        }
        let group = |(state, names): &(State, Vec<String>)| format!("{} ({})", names.join(", "), self.state(*state));
        groups.iter().map(group).collect::<Vec<_>>().join("; ")
    }

    pub(super) fn state(&self, state: State) -> &str {
        let words = &self.speech.words.book;
        match state {
            State::Short => words.short.source(),
            State::Overbusy => words.overbusy.source(),
            State::Weak => words.weak.source(),
            State::Slow => words.slow.source(),
            State::Stiff => words.stiff.source(),
        }
    }

    /// The dose to start with, in the fixed order of a card, and how far each part may go.
    fn dose(&self, dose: &DoseRange, moving: bool, with_ranges: bool) -> Result<Vec<DoseRow>, TemplateError> {
        let (counted, words) = (&self.speech.words.counted, &self.speech.words.book);
        let mut rows = Vec::new();
        for (part, icon, unit) in [
            (Part::Sets, "rounds", &counted.rounds),
            (Part::Reps, "times", &counted.times),
            (Part::Hold, "hold", if moving { &counted.moving } else { &counted.hold }),
            (Part::Lower, "slow", &counted.slow),
            (Part::Rest, "rest", &counted.rest),
            (Part::Days, "days", &counted.days),
        ] {
            let Some(span) = dose.part(part) else {
                continue;
            };
            let unit = unit.of(span.start).source().to_owned();
            let range = if with_ranges { self.span(span)? } else { None };
            rows.push(DoseRow { icon: Some(icon), n: span.start, unit, range });
        }
        let (start, most) = dose.effort;
        let range =
            if most > start { Some(self.speech.say(&words.at_most, &[("high", &most.to_string())])?) } else { None };
        rows.push(DoseRow { icon: None, n: start, unit: words.effort.source().to_owned(), range });
        Ok(rows)
    }

    /// What is done on one side and then on the other says so beside the number that counts it.
    fn count_each_side(&self, dose: &mut [DoseRow]) {
        if let Some(counted) = dose.iter_mut().rfind(|row| matches!(row.icon, Some("rounds" | "times"))) {
            counted.unit = format!("{} {}", counted.unit, self.speech.words.units.each_side.source());
        }
    }

    fn span(&self, span: Span) -> Result<Option<String>, TemplateError> {
        if span.min == span.max {
            return Ok(None);
        }
        let (low, high) = (span.min.to_string(), span.max.to_string());
        self.speech.say(&self.speech.words.book.from_to, &[("low", &low), ("high", &high)]).map(Some)
    }
}
