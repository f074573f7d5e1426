//! Pictures as their author wrote them: frames, props and marks.

use crate::body::Side;
use crate::draw::angle::Angle;
use crate::draw::camera::View;
use crate::draw::muscle::Muscle;
use crate::draw::pose::{Direction, Pose};
use crate::draw::sites::Site;
use crate::draw::vector::V3;

/// The pictures of one exercise: frames that share scale, floor and props.
#[derive(Clone, Debug)]
pub struct Picture {
    /// The side that works in the poses as written; none if both do, or if it makes no difference.
    pub authored: Option<Side>,
    pub view: View,
    pub props: Vec<Prop>,
    pub frames: Vec<Frame>,
    /// A round close-up on one place, at the same scale in every frame.
    pub crop: Option<Crop>,
}

/// One frame as written.
#[derive(Clone, Debug)]
pub struct Frame {
    /// A few words for under the picture.
    pub caption: Option<String>,
    pub pose: Pose,
    pub view: Option<View>,
    pub marks: Marks,
    /// Motions that may leave their range in this frame, by joint name.
    pub allow: Vec<String>,
    /// The sign of a test that it shows, if it shows how not to do it.
    pub sign: Option<String>,
    /// The rungs that it shows, counted from 1; empty for all.
    pub rungs: Vec<usize>,
    /// Where it stands in its file, in bytes.
    pub at: std::ops::Range<usize>,
}

impl Frame {
    /// Whether it shows a rung, counted from 1.
    pub fn shows(&self, rung: usize) -> bool {
        self.rungs.is_empty() || self.rungs.contains(&rung)
    }
}

/// A round close-up.
#[derive(Clone, Copy, Debug)]
pub struct Crop {
    pub site: Site,
    pub radius: f64,
    pub shift: [f64; 2],
}

/// What a thing is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PropKind {
    Mat,
    Wall,
    Chair,
    Step,
    Table,
    Bed,
    Post,
    Roller,
    Ball,
    Pillow,
    Band,
    Loop,
    Stick,
    Weight,
}

impl PropKind {
    /// The word in pose files for each.
    pub const NAMES: [(&str, PropKind); 14] = [
        ("mat", PropKind::Mat),
        ("wall", PropKind::Wall),
        ("chair", PropKind::Chair),
        ("step", PropKind::Step),
        ("table", PropKind::Table),
        ("bed", PropKind::Bed),
        ("post", PropKind::Post),
        ("roller", PropKind::Roller),
        ("ball", PropKind::Ball),
        ("pillow", PropKind::Pillow),
        ("band", PropKind::Band),
        ("loop", PropKind::Loop),
        ("stick", PropKind::Stick),
        ("weight", PropKind::Weight),
    ];
    /// The word in pose files.
    pub fn name(self) -> &'static str {
        PropKind::NAMES.iter().find(|row| row.1 == self).map_or("", |row| row.0)
    }
}

/// Which way a wall looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Faces {
    North,
    South,
    West,
    East,
}

impl Faces {
    /// The word in pose files for each.
    pub const NAMES: [(&str, Faces); 4] =
        [("north", Faces::North), ("south", Faces::South), ("west", Faces::West), ("east", Faces::East)];
    /// The unit vector it looks along.
    pub fn normal(self) -> V3 {
        match self {
            Faces::North => V3([1.0, 0.0, 0.0]),
            Faces::South => V3([-1.0, 0.0, 0.0]),
            Faces::West => V3([0.0, 1.0, 0.0]),
            Faces::East => V3([0.0, -1.0, 0.0]),
        }
    }
}

/// A thing in the room. Sizes are percent of stature; what is missing takes the usual size of its kind.
#[derive(Clone, Debug)]
pub struct Prop {
    pub kind: PropKind,
    /// How supports and reaches call it.
    pub name: String,
    /// The frames it is in, counted from 1; empty for all.
    pub frames: Vec<usize>,
    /// Drawn last and half clear, so that the body behind it stays visible.
    pub see_through: bool,
    pub at: Option<[f64; 2]>,
    /// How far along its facing a wall stands from the middle of the room, or a thing floats over the floor.
    pub distance: Option<f64>,
    pub faces: Faces,
    pub under: Option<Site>,
    pub touch: Option<Site>,
    pub toward: Option<Direction>,
    pub axis: Option<Direction>,
    pub path: Vec<PathPoint>,
    pub hand: Option<Side>,
    pub on_shank: bool,
    pub back: bool,
    pub color: Option<&'static str>,
    pub height: Option<f64>,
    pub depth: Option<f64>,
    pub width: Option<f64>,
    pub radius: Option<f64>,
    pub length: Option<f64>,
    pub gap: f64,
    pub fraction: f64,
}

/// A point a band or a stick passes through.
#[derive(Clone, Debug)]
pub struct PathPoint {
    pub hold: Hold,
    pub shift: Option<(Direction, f64)>,
}

/// What a point of a path holds on to.
#[derive(Clone, Copy, Debug)]
pub enum Hold {
    Grip(Side),
    Sole(Side),
    Site(Site),
    Point(V3),
}

/// Whether a frame shows how to do it, or how not to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    Good,
    Bad,
}

/// What is drawn over a frame.
#[derive(Clone, Debug, Default)]
pub struct Marks {
    pub arrows: Vec<Arrow>,
    pub slides: Vec<Slide>,
    pub turns: Vec<Turn>,
    pub press: Vec<Site>,
    pub feel: Vec<Muscle>,
    pub look: Vec<Ring>,
    pub verdict: Option<Verdict>,
    /// Another frame, counted from 1, shown pale underneath.
    pub ghost: Option<usize>,
    pub distances: Vec<Distance>,
    pub angles: Vec<Angle>,
    /// The pose is held: a stopwatch says so, with the seconds of the dose.
    pub hold: bool,
}

/// An arrow along the way a site really moves to another frame.
#[derive(Clone, Debug)]
pub struct Arrow {
    pub site: Site,
    /// The frame it moves to, counted from 1; the next one if not given.
    pub to: Option<usize>,
    /// How far the arrow stands off the path, away from the body.
    pub off: f64,
    pub shift: [f64; 2],
    pub length: Option<f64>,
    pub trim: [f64; 2],
    pub both_ways: bool,
}

/// A straight arrow in a direction.
#[derive(Clone, Debug)]
pub struct Slide {
    pub site: Site,
    pub toward: Direction,
    pub length: f64,
    pub shift: [f64; 2],
    pub both_ways: bool,
}

/// A curved arrow round an axis that is seen end-on.
#[derive(Clone, Debug)]
pub struct Turn {
    pub site: Site,
    pub radius: f64,
    /// How flat the circle is seen; 1 is round.
    pub flat: f64,
    pub degrees: [f64; 2],
    pub shift: [f64; 2],
}

/// A dashed ring round a fault.
#[derive(Clone, Debug)]
pub struct Ring {
    pub site: Site,
    pub radius: f64,
    pub shift: [f64; 2],
}

/// A measured gap on the floor between a site and a wall.
#[derive(Clone, Debug)]
pub struct Distance {
    pub from: Site,
    pub wall: String,
    /// What to print at it: a text with gaps, as in the steps of an exercise.
    pub label: String,
    /// Where the label stands in its file, in bytes.
    pub at: std::ops::Range<usize>,
}
