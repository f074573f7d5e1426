//! Poses as their author wrote them: joint angles, what rests on what, and where hands and feet reach.

use std::ops::Range;

use crate::body::Side;
use crate::draw::motion::{Angles, Joint, Posture};
use crate::draw::sites::Site;
use crate::draw::skeleton::HandShape;
use crate::draw::vector::V3;

/// Something wrong in a pose file, with the bytes it is about.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct PoseProblem {
    /// Byte range in the file that was read.
    pub span: Range<usize>,
    /// What is wrong.
    pub message: String,
    /// What to do about it, when that is known.
    pub help: Option<String>,
}

/// A direction. The first six are the room's, the rest follow the trunk (legs: the pelvis).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Word {
    Up,
    Down,
    North,
    South,
    West,
    East,
    Ahead,
    Behind,
    Head,
    Feet,
    Out,
    In,
}

impl Word {
    /// The word in pose files for each.
    pub const NAMES: [(&str, Word); 12] = [
        ("up", Word::Up),
        ("down", Word::Down),
        ("north", Word::North),
        ("south", Word::South),
        ("west", Word::West),
        ("east", Word::East),
        ("ahead", Word::Ahead),
        ("behind", Word::Behind),
        ("head", Word::Head),
        ("feet", Word::Feet),
        ("out", Word::Out),
        ("in", Word::In),
    ];
}

/// Words joined with `+`, or a vector of the room.
#[derive(Clone, Debug, PartialEq)]
pub enum Direction {
    Words(Vec<Word>),
    Vector(V3),
}

/// A site that may be named from the limb that reaches: `same.thigh`, `other.knee`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NearSite {
    Fixed(Site),
    Same(&'static str),
    Other(&'static str),
}

impl NearSite {
    /// The site, for the limb on this side.
    pub fn of(self, side: Side) -> Site {
        match self {
            NearSite::Fixed(site) => site,
            NearSite::Same(name) => Site { name, side: Some(side) },
            NearSite::Other(name) => Site { name, side: Some(side.other()) },
        }
    }
}

/// One thing that touches a surface: `left.heel on floor`.
#[derive(Clone, Debug, PartialEq)]
pub struct Rest {
    pub site: Site,
    /// `floor` or the name of a prop.
    pub surface: String,
}

/// Bend one joint until one more site touches its surface.
#[derive(Clone, Debug, PartialEq)]
pub struct Adjust {
    /// The joint and the share of the bend that it takes; `trunk` shares between two.
    pub joints: Vec<(Joint, f64)>,
    pub until: Rest,
    /// How far to search each way, in degrees.
    pub range: f64,
}

/// A hand or a foot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    Hand,
    Foot,
}

/// What a limb reaches for.
#[derive(Clone, Debug, PartialEq)]
pub enum Target {
    Surface(String),
    Site(NearSite),
    /// The point in `at`.
    Point,
}

/// Where a hand or a foot goes.
#[derive(Clone, Debug, PartialEq)]
pub struct Reach {
    pub end: End,
    pub sides: Vec<Side>,
    pub to: Target,
    /// Coordinates that are fixed; y counts outward when both sides reach.
    pub at: [Option<f64>; 3],
    pub from: Option<NearSite>,
    pub by: Vec<(Word, f64)>,
    /// Which side of a site to lie on.
    pub side: Option<Direction>,
    pub fingers: Option<Direction>,
    pub palm: Option<Direction>,
    /// Where the elbow or the knee points.
    pub bend: Option<Direction>,
    pub toes: Option<Direction>,
    /// Room between a foot and the site it lies on.
    pub clear: f64,
    /// How far the heel is raised about the ball of the foot, in degrees.
    pub heel: f64,
    /// How far the whole foot is lifted off its surface.
    pub lift: f64,
    pub turnout: f64,
}

/// Which ways the whole body may still turn while it settles on its supports.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Freedom {
    pub lean: bool,
    pub tilt: bool,
    pub turn: bool,
}

/// A pose with its base worked in.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Pose {
    pub say: Option<String>,
    pub posture: Posture,
    pub angles: Angles,
    pub hands: [HandShape; 2],
    pub rest: Vec<Rest>,
    /// Sites the neck brings down by bending, since the root must not be turned for the head.
    pub head_on: Option<String>,
    pub locked: Vec<String>,
    pub freed: Vec<String>,
    pub anchor: Option<Site>,
    pub anchor_at: [f64; 3],
    /// The posture is the rib cage's and not the pelvis'.
    pub hold_chest: bool,
    pub adjust: Vec<Adjust>,
    pub reach: Vec<Reach>,
}

impl Pose {
    /// Pitch is free unless locked; tilt and turn are locked unless freed, or a one-sided support rolls the body over.
    pub fn freedom(&self) -> Freedom {
        let locked = |name: &str| self.locked.iter().any(|it| it == name);
        let freed = |name: &str| self.freed.iter().any(|it| it == name);
        Freedom {
            lean: !locked("lean"),
            tilt: freed("tilt") && !locked("tilt"),
            turn: freed("turn") && !locked("turn"),
        }
    }
    /// Whether a site of this name rests on the surface.
    pub fn rests_on(&self, name: &str, surface: &str) -> bool {
        self.rest.iter().any(|rest| rest.site.name == name && rest.surface == surface)
    }
}
