//! The lines between the fingers: without them a hand on a limb is only a lump of it.

use crate::body::Side;
use crate::draw::camera::Camera;
use crate::draw::canvas::{Canvas, Ink};
use crate::draw::region::{Point, Region};
use crate::draw::skeleton::{Bone, HandShape, Skeleton};
use crate::draw::style::Style;
use crate::draw::vector::{V3, v};

/// Where the lines start, across the hand; the palm looks along y.
const ACROSS: [f64; 3] = [-1.0, 0.0, 1.0];
/// Width of a line.
const WIDTH: f64 = 0.3;
/// How squarely the skin must face us for its lines to show.
const FACING: f64 = 0.3;
/// How far inside the hand a line stays, so that it never cuts the outline.
const INSIDE: f64 = 0.25;

/// A point on the skin, and which way the skin looks there.
type Spot = (V3, V3);

/// The line that starts at `x` across an open hand, a sheet as good as flat that is seen from both sides.
fn along(x: f64, rows: [[f64; 3]; 3]) -> Vec<Spot> {
    let points = rows.map(|[narrow, y, z]| v(x * narrow, y, z));
    let ways = [points[1] - points[0], points[2] - points[0], points[2] - points[1]];
    points.iter().zip(ways).map(|(p, way)| (*p, way.cross(v(1.0, 0.0, 0.0)).unit())).collect()
}

/// The line that starts at `x` across a closed hand: from the knuckles over the end of the hand into the palm.
fn around(x: f64) -> Vec<Spot> {
    const RADII: [f64; 2] = [2.15, 1.75];
    const STEPS: usize = 12;
    let share = x / RADII[0];
    let round = RADII[1] * (1.0 - share * share).sqrt();
    let spot = |i: usize| {
        let (s, c) = libm::sincos((-50.0 + 160.0 * i as f64 / STEPS as f64).to_radians());
        (v(x, 0.6 + round * s, -4.1 - round * c), v(0.0, s, -c))
    };
    (0..=STEPS).map(spot).collect()
}

/// The lines of a hand in its own frame, as of a right hand, and whether its skin is seen from one side only.
fn lines(shape: HandShape) -> ([Vec<Spot>; 3], bool) {
    match shape {
        HandShape::Flat => (ACROSS.map(|x| along(x, [[1.0, 0.0, -5.3], [0.92, 0.0, -7.4], [0.7, 0.0, -9.4]])), false),
        HandShape::Relaxed => (ACROSS.map(|x| along(x, [[1.0, 0.4, -4.9], [0.9, 0.9, -6.9], [0.7, 1.8, -8.5]])), false),
        HandShape::Fist | HandShape::Grip => (ACROSS.map(around), true),
    }
}

/// Paints the lines of one hand inside what is visible of it.
pub(crate) fn paint(
    canvas: &mut Canvas,
    skeleton: &Skeleton,
    side: Side,
    far: bool,
    camera: &Camera,
    style: &Style,
    hand: &Region,
) {
    let room = hand.offset(-INSIDE);
    if room.is_empty() {
        return;
    }
    let bone = Bone::Hand(side);
    let (lines, closed) = lines(skeleton.hands[side.index()]);
    let mut drawn: Vec<Vec<Point>> = Vec::new();
    for line in lines {
        let seen = |(p, n): &Spot| {
            let turned = |it: &V3| v(it.x(), -side.sign() * it.y(), it.z());
            let facing = skeleton.direction(bone, turned(n)).dot(camera.toward());
            let shows = if closed { facing > FACING } else { facing.abs() > FACING };
            let at = camera.flat(skeleton.at(bone, turned(p)));
            (shows && room.contains(at)).then_some(at)
        };
        let points: Vec<Option<Point>> = fine(&line).iter().map(seen).collect();
        drawn.extend(points.split(Option::is_none).map(|run| run.iter().copied().flatten().collect()));
    }
    drawn.retain(|run| run.len() > 2);
    let tone = if style.is_line() { style.color("ink") } else { style.seam("skin", far) };
    canvas.lines(&drawn, Ink::stroke(tone, WIDTH).detail());
}

/// A line with points between its points.
fn fine(line: &[Spot]) -> Vec<Spot> {
    const BETWEEN: usize = 4;
    let mut points = Vec::new();
    for pair in line.windows(2) {
        let share = |i: usize| i as f64 / BETWEEN as f64;
        let between = |i: usize| (pair[0].0.lerp(pair[1].0, share(i)), pair[0].1.lerp(pair[1].1, share(i)));
        points.extend((0..BETWEEN).map(between));
    }
    points.extend(line.last());
    points
}
