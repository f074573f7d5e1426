//! The words of a practice, and what each health condition rules out.

use std::collections::{BTreeMap, BTreeSet};

use crate::ids::{ActivityId, ConditionId, EquipmentId, FlagId, PositionId, RegionId, StructureId, TagId};
use crate::template::Template;

/// All words and rules that tests, exercises and records refer to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Vocabulary {
    /// Parts of the body, with the client's word.
    pub regions: BTreeMap<RegionId, String>,
    /// Muscles, joint motions and skills.
    pub structures: BTreeMap<StructureId, Structure>,
    /// What exercises and tests may need.
    pub equipment: BTreeMap<EquipmentId, Equipment>,
    /// Positions.
    pub positions: BTreeMap<PositionId, Position>,
    /// Safety tags, with the client's words.
    pub tags: BTreeMap<TagId, String>,
    /// What clients love to do.
    pub activities: BTreeMap<ActivityId, Activity>,
    /// The one pain scale.
    pub pain: PainScale,
    /// Months after which answers and clearances no longer hold.
    pub lapses_months: u32,
    /// Screening questions.
    pub flags: BTreeMap<FlagId, Flag>,
    /// Health conditions.
    pub conditions: BTreeMap<ConditionId, Condition>,
}

/// What kind of thing a structure is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StructureKind {
    /// A muscle or muscle group.
    Muscle,
    /// The motion of a joint.
    Motion,
    /// A skill of control.
    Skill,
}

/// What a sign or reading points to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Structure {
    /// The client's word, such as `calf`.
    pub name: String,
    /// Its kind.
    pub kind: StructureKind,
    /// Where it is.
    pub region: RegionId,
    /// Whether there is a left and a right one.
    pub sided: bool,
}

/// The state of a structure that an exercise can change.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    /// Not long enough.
    Short,
    /// Works when it need not.
    Overbusy,
    /// Not strong or enduring enough.
    Weak,
    /// Starts late.
    Slow,
    /// Does not move far enough.
    Stiff,
}

impl State {
    /// Every state, with its word in files.
    pub const ALL: [(&'static str, Self); 5] = [
        ("short", Self::Short),
        ("overbusy", Self::Overbusy),
        ("weak", Self::Weak),
        ("slow", Self::Slow),
        ("stiff", Self::Stiff),
    ];

    /// Its word in files.
    pub fn key(self) -> &'static str {
        match self {
            Self::Short => "short",
            Self::Overbusy => "overbusy",
            Self::Weak => "weak",
            Self::Slow => "slow",
            Self::Stiff => "stiff",
        }
    }
}

/// Something an exercise or test needs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Equipment {
    /// The client's words, with article.
    pub name: String,
    /// What at home does the same, if anything.
    pub stand_in: Option<String>,
    /// Whether every home has it.
    pub household: bool,
}

/// A position.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Position {
    /// The client's words.
    pub name: String,
    /// What the coach asks to know whether it is possible.
    pub ask: Option<String>,
    /// What does instead, in the coach's words.
    pub swap: Option<String>,
}

/// Something a client loves to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Activity {
    /// The client's word.
    pub name: String,
    /// What a limit of a structure may mean for it.
    pub because: BTreeMap<StructureId, Template>,
}

/// The one pain scale, 0 to 10: fine up to one mark, ease off up to the next, stop above.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PainScale {
    /// Highest pain at which to carry on.
    pub fine_to: u32,
    /// Highest pain at which to ease off; above it, stop.
    pub ease_to: u32,
    /// The caution on exercises where a test hurt, in the client's words.
    pub tell_in_test: String,
    /// The caution on exercises at a sore place, in the client's words; `{region}` is the place.
    pub tell_sore: String,
}

/// How strictly something is to be taken, strictest first (safety.md section 1).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Level {
    /// Ring emergency services now.
    Emergency,
    /// Medical care today.
    SameDay,
    /// See a doctor or licensed clinician before exercise.
    ReferBefore,
    /// A program, with methods or positions left out.
    Modify,
    /// A program, with cautions.
    Caution,
}

impl Level {
    /// Every level, with its word in files.
    pub const ALL: [(&'static str, Self); 5] = [
        ("emergency", Self::Emergency),
        ("same-day", Self::SameDay),
        ("refer-before", Self::ReferBefore),
        ("modify", Self::Modify),
        ("caution", Self::Caution),
    ];

    /// Its word in files.
    pub fn key(self) -> &'static str {
        match self {
            Self::Emergency => "emergency",
            Self::SameDay => "same-day",
            Self::ReferBefore => "refer-before",
            Self::Modify => "modify",
            Self::Caution => "caution",
        }
    }

    /// Whether no program may be printed at this level without clearance.
    pub fn stops_program(self) -> bool {
        self <= Self::ReferBefore
    }

    /// Whether a written clearance can lift it: never at the two most urgent levels.
    pub fn can_be_cleared(self) -> bool {
        self >= Self::ReferBefore
    }
}

/// A screening question; a yes means stop and send on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Flag {
    /// How urgent a yes is.
    pub level: Level,
    /// What the coach asks.
    pub ask: String,
    /// What the client reads on the sheet that sends them on; no disease is named.
    pub tell: String,
}

/// A condition that changes what is allowed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Condition {
    /// The coach's words.
    pub name: String,
    /// How strict it is without clearance.
    pub level: Level,
    /// A blood pressure from which the client has it, by either number: systolic and diastolic, in mmHg.
    pub from_blood_pressure: Option<(u32, u32)>,
    /// What it rules out or cautions.
    pub rules: Vec<ConditionRule>,
}

/// What a rule does with an exercise that it matches.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Action {
    /// The exercise is not for this client.
    LeaveOut,
    /// Not before a doctor or clinician has cleared it.
    NeedsClearance,
    /// Allowed, with a caution on its card.
    Caution,
}

/// What an exercise does to the body.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Method {
    /// Pressure: roller, ball, hand.
    Release,
    /// Lengthening.
    Stretch,
    /// Muscle work, control, balance.
    Load,
}

impl Method {
    /// Every method, with its word in files.
    pub const ALL: [(&'static str, Self); 3] =
        [("release", Self::Release), ("stretch", Self::Stretch), ("load", Self::Load)];
}

/// The features of an exercise that safety rules speak of.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Features {
    /// What it does.
    pub methods: BTreeSet<Method>,
    /// Where.
    pub regions: BTreeSet<RegionId>,
    /// In which positions.
    pub positions: BTreeSet<PositionId>,
    /// What else matters.
    pub tags: BTreeSet<TagId>,
}

/// One rule: an exercise matches if it shares an item with every set that is not empty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ConditionRule {
    /// What happens to an exercise that matches.
    pub action: Action,
    /// The sets.
    pub of: Features,
    /// Whether only exercises at the region noted in the record match.
    pub local: bool,
    /// The coach's reason.
    pub why: String,
    /// The caution that the client reads, for cautions.
    pub tell: Option<String>,
}

impl ConditionRule {
    /// Whether the rule speaks of an exercise with these features, for a condition noted at `place`.
    pub fn matches(&self, exercise: &Features, place: Option<&RegionId>) -> bool {
        fn shares<T: Ord>(rule: &BTreeSet<T>, exercise: &BTreeSet<T>) -> bool {
            rule.is_empty() || !rule.is_disjoint(exercise)
        }
        // A local rule without a place noted could be anywhere: it matches.
        let here = !self.local || place.is_none_or(|place| exercise.regions.contains(place));
        here && shares(&self.of.methods, &exercise.methods)
            && shares(&self.of.regions, &exercise.regions)
            && shares(&self.of.positions, &exercise.positions)
            && shares(&self.of.tags, &exercise.tags)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ids::Id;

    fn features(methods: &[Method], regions: &[&str], tags: &[&str]) -> Features {
        Features {
            methods: methods.iter().copied().collect(),
            regions: regions.iter().map(|r| RegionId::new(r).unwrap()).collect(),
            positions: BTreeSet::new(),
            tags: tags.iter().map(|t| TagId::new(t).unwrap()).collect(),
        }
    }

    #[test]
    fn a_rule_matches_when_every_set_that_it_names_is_met() {
        let rule = ConditionRule {
            action: Action::LeaveOut,
            of: features(&[Method::Release], &["ribs", "hip"], &[]),
            local: false,
            why: String::new(),
            tell: None,
        };
        assert!(rule.matches(&features(&[Method::Release], &["hip"], &[]), None));
        assert!(!rule.matches(&features(&[Method::Release], &["calf"], &[]), None));
        assert!(!rule.matches(&features(&[Method::Load], &["hip"], &["overhead"]), None));
    }

    #[test]
    fn a_local_rule_needs_its_place_and_an_unknown_place_is_everywhere() {
        let rule = ConditionRule {
            action: Action::LeaveOut,
            of: features(&[Method::Release], &[], &[]),
            local: true,
            why: String::new(),
            tell: None,
        };
        let (calf, hip) = (RegionId::new("calf").unwrap(), RegionId::new("hip").unwrap());
        let exercise = features(&[Method::Release], &["calf"], &[]);
        assert!(rule.matches(&exercise, Some(&calf)));
        assert!(!rule.matches(&exercise, Some(&hip)));
        assert!(rule.matches(&exercise, None));
    }

    #[test]
    fn only_a_referral_before_exercise_can_be_cleared_or_less() {
        assert!(!Level::Emergency.can_be_cleared());
        assert!(!Level::SameDay.can_be_cleared());
        assert!(Level::ReferBefore.can_be_cleared() && Level::ReferBefore.stops_program());
        assert!(!Level::Modify.stops_program());
    }
}
