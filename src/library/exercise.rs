//! An exercise: what it is for, how it is done, its rungs from easiest to hardest, and how much of it.

use crate::body::Sides;
use crate::ids::{EquipmentId, ExerciseId, PhaseId, RegionId, StructureId, TestId};
use crate::library::Correction;
use crate::library::vocabulary::{Features, State};
use crate::template::Template;
use crate::units::Amount;

/// Least, usual first, and most of one part of a dose.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    /// Least.
    pub min: u32,
    /// Where to start.
    pub start: u32,
    /// Most.
    pub max: u32,
}

/// The parts of a dose.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// Sets.
    Sets,
    /// Repetitions a set.
    Reps,
    /// Seconds held, each repetition or each set.
    Hold,
    /// Seconds of the slow return, each repetition.
    Lower,
    /// Seconds of rest between sets.
    Rest,
    /// Days a week.
    Days,
}

impl Part {
    /// Every part with its key in files and the widest range that is ever sensible.
    pub const ALL: [(Self, &'static str, u32, u32); 6] = [
        (Self::Sets, "sets", 1, 10),
        (Self::Reps, "reps", 1, 30),
        (Self::Hold, "hold_s", 1, 180),
        (Self::Lower, "lower_s", 1, 20),
        (Self::Rest, "rest_s", 0, 300),
        (Self::Days, "days", 1, 7),
    ];
}

/// The dose that an exercise allows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DoseRange {
    /// Sets.
    pub sets: Span,
    /// Repetitions, unless each set is one hold.
    pub reps: Option<Span>,
    /// Seconds held.
    pub hold_s: Option<Span>,
    /// Seconds of the slow return.
    pub lower_s: Option<Span>,
    /// Seconds of rest between sets.
    pub rest_s: Option<Span>,
    /// Days a week.
    pub days: Span,
    /// Seconds that a repetition takes besides hold and slow return.
    pub rep_s: u32,
    /// Where effort starts and the most it may be, of 10.
    pub effort: (u32, u32),
}

impl DoseRange {
    /// Whether it stays easy, below the 5 of 10 at which loads start (trade-figures 5.4).
    pub fn is_light(&self) -> bool {
        self.effort.1 < 5
    }

    /// The range of one part, if the exercise has it.
    pub fn part(&self, part: Part) -> Option<Span> {
        match part {
            Part::Sets => Some(self.sets),
            Part::Reps => self.reps,
            Part::Hold => self.hold_s,
            Part::Lower => self.lower_s,
            Part::Rest => self.rest_s,
            Part::Days => Some(self.days),
        }
    }
}

/// A dose as prescribed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Dose {
    /// Sets.
    pub sets: u32,
    /// Repetitions a set; `None` if each set is one hold.
    pub reps: Option<u32>,
    /// Seconds held.
    pub hold_s: Option<u32>,
    /// Seconds of the slow return.
    pub lower_s: Option<u32>,
    /// Seconds of rest between sets.
    pub rest_s: Option<u32>,
    /// Days a week.
    pub days: u32,
    /// Seconds that a repetition takes besides hold and slow return.
    pub rep_s: u32,
}

/// Seconds to get ready for an exercise: reading, lying down, fetching a tool (trade-figures 5.8 gives 20 to 30).
pub const SET_UP_S: u32 = 25;

impl Dose {
    /// Seconds that one repetition takes, with its hold and slow return; none if a set is one hold.
    pub fn each_seconds(&self) -> Option<u32> {
        self.reps.map(|_| self.rep_s + self.hold_s.unwrap_or(0) + self.lower_s.unwrap_or(0))
    }

    /// Seconds under way in one set of one side.
    pub fn set_seconds(&self) -> u32 {
        match self.reps.zip(self.each_seconds()) {
            Some((reps, each)) => reps * each,
            None => self.hold_s.unwrap_or(0).max(self.rep_s),
        }
    }

    /// Seconds that one session of it takes, with rests, both turns and set-up.
    ///
    /// While one side rests the other works, so an exercise for each side has its rest only between rounds.
    pub fn session_seconds(&self, sides: Sides) -> u32 {
        let rests = self.sets.saturating_sub(1) * self.rest_s.unwrap_or(0);
        self.sets * self.set_seconds() * sides.turns() + rests + SET_UP_S
    }

    /// Seconds of hold that one side gets in a session.
    pub fn hold_seconds(&self) -> u32 {
        self.sets * self.reps.unwrap_or(1) * self.hold_s.unwrap_or(0)
    }
}

/// One version of an exercise.
#[derive(Clone, Debug, PartialEq)]
pub struct Rung {
    /// Its name.
    pub name: String,
    /// The one instruction that makes this version.
    pub how: Template,
    /// Its dose.
    pub dose: DoseRange,
    /// Equipment beyond the exercise's own.
    pub equipment: Vec<EquipmentId>,
    /// Everything that safety rules speak of, with the exercise's own.
    pub features: Features,
    /// What the body must be able to do, by its own readings.
    pub asks: Vec<Ask>,
    /// What the body rests on, beyond feet and seat.
    pub bears: Vec<Bears>,
    /// How far its pictures take joints that tests measure.
    pub shown: Vec<Shown>,
}

/// How far the pictures of a version take the joint motion that a test measures.
#[derive(Clone, Debug, PartialEq)]
pub struct Shown {
    /// The test.
    pub test: TestId,
    /// On which side, seen from the side that works; both for trunk and neck.
    pub side: RelativeSide,
    /// Degrees.
    pub degrees: f64,
}

/// A version takes the body at least this far; whoever was read to reach less does not get it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ask {
    /// The test whose reading says how far the body goes.
    pub test: TestId,
    /// How far the version goes, in the test's unit.
    pub at_least: Amount,
}

/// A part of the body that carries weight or lies on something.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bears {
    /// The part.
    pub region: RegionId,
    /// On which side, seen from the side that works.
    pub side: RelativeSide,
}

/// A side seen from the side that works.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RelativeSide {
    /// The side that works.
    Same,
    /// The side that does not.
    Other,
    /// Both sides.
    Both,
}

impl RelativeSide {
    /// All, with the words used in files.
    pub const ALL: [(&'static str, Self); 3] = [("same", Self::Same), ("other", Self::Other), ("both", Self::Both)];

    /// Whether it means `side` of the body when the exercise is done on `sides`.
    pub fn reaches(self, sides: Sides, side: crate::body::Side) -> bool {
        match self {
            Self::Same => sides.covers(side),
            Self::Other => sides.covers(side.other()),
            Self::Both => true,
        }
    }
}

/// What an exercise changes.
#[derive(Clone, Debug, PartialEq)]
pub struct Effect {
    /// The structure.
    pub structure: StructureId,
    /// The state that it works on.
    pub state: State,
    /// Working weight, 0 to 1.
    pub effect: f64,
    /// On which side, seen from the side that works.
    pub side: RelativeSide,
}

impl Effect {
    /// Whether it reaches a side when the exercise is done on `sides`; what has no side is always reached.
    pub fn reaches(&self, sides: Sides, side: Option<crate::body::Side>) -> bool {
        side.is_none_or(|side| self.side.reaches(sides, side))
    }
}

/// A practice's own picture of an exercise.
#[derive(Clone, Debug, PartialEq)]
pub struct OwnPicture {
    /// File name in `exercises/pictures`, with its crop in front if it is a part.
    pub file: String,
    /// Height over width, if it can be told.
    pub ratio: Option<f64>,
    /// What it shows, for someone who cannot see it.
    pub alt: Template,
}

/// An exercise.
#[derive(Clone, Debug, PartialEq)]
pub struct Exercise {
    /// Its id.
    pub id: ExerciseId,
    /// Its phase.
    pub phase: PhaseId,
    /// Its one name.
    pub name: String,
    /// The same name, short enough for a table.
    pub short: String,
    /// What it is for, in one sentence.
    pub purpose: Template,
    /// The sides it can be done on.
    pub sides: Vec<Sides>,
    /// What it needs, its main tool first.
    pub equipment: Vec<EquipmentId>,
    /// Everything that safety rules speak of, of every rung.
    pub features: Features,
    /// The start position.
    pub start: Template,
    /// Steps, one action each.
    pub steps: Vec<Template>,
    /// What to feel.
    pub feel: Template,
    /// What not to feel.
    pub not_feel: Template,
    /// The common slip.
    pub slip: Template,
    /// What to do if even the first rung is too hard.
    pub ease: Template,
    /// Cautions printed every time.
    pub cautions: Vec<Template>,
    /// Versions, easiest first; at least two.
    pub rungs: Vec<Rung>,
    /// What it acts on.
    pub effects: Vec<Effect>,
    /// Whether the seconds of its dose are spent moving, not held still.
    pub moving: bool,
    /// The practice's own pictures.
    pub pictures: Vec<OwnPicture>,
    /// The address of a film of it, without `https://`.
    pub video: Option<String>,
    /// Where the dose ranges come from.
    pub source_dose: String,
    /// Corrections since it was first used, in the order of the file.
    pub corrections: Vec<Correction>,
}

impl Exercise {
    /// Its effects on one state of a structure: one for each side that it acts on in its own way, mostly one or none.
    pub fn effects_on<'a>(&'a self, structure: &'a StructureId, state: State) -> impl Iterator<Item = &'a Effect> {
        self.effects.iter().filter(move |effect| effect.structure == *structure && effect.state == state)
    }

    /// How many of its steps say a word.
    pub fn steps_with(&self, word: &str) -> usize {
        self.steps.iter().filter(|step| step.source().to_lowercase().contains(word)).count()
    }

    /// Every text of it that a client may read.
    pub fn texts(&self) -> impl Iterator<Item = &str> {
        let single = [&self.purpose, &self.start, &self.feel, &self.not_feel, &self.slip, &self.ease];
        let rungs = self.rungs.iter().map(|rung| &rung.how);
        let templates = single.into_iter().chain(&self.steps).chain(&self.cautions).chain(rungs);
        let pictures = self.pictures.iter().flat_map(|picture| [picture.file.as_str(), picture.alt.source()]);
        [self.name.as_str(), self.short.as_str()].into_iter().chain(templates.map(Template::source)).chain(pictures)
    }

    /// Whether it acts on one state of a structure at all.
    pub fn acts_on(&self, structure: &StructureId, state: State) -> bool {
        self.effects_on(structure, state).next().is_some()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn dose() -> Dose {
        Dose { sets: 3, reps: Some(8), hold_s: Some(3), lower_s: None, rest_s: Some(30), days: 3, rep_s: 4 }
    }

    #[test]
    fn session_time_counts_sets_sides_rests_and_set_up() {
        // 3 x 8 x (4 + 3) = 168 s, two rests of 30 s, 25 s to get ready.
        assert_eq!(dose().session_seconds(Sides::Left), 168 + 60 + 25);
        assert_eq!(dose().session_seconds(Sides::Both), 168 + 60 + 25);
        assert_eq!(dose().session_seconds(Sides::Each), 336 + 60 + 25);
    }

    #[test]
    fn a_held_stretch_is_its_holds() {
        let stretch = Dose { sets: 2, reps: None, hold_s: Some(30), lower_s: None, rest_s: None, days: 5, rep_s: 4 };
        assert_eq!(stretch.set_seconds(), 30);
        // 2 x 30 s x 5 days = 300 s, the five minutes a week of trade-figures 5.2.
        assert_eq!(stretch.hold_seconds() * stretch.days, 300);
    }
}
