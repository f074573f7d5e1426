//! Booleans on the integer grid. One desk per thread keeps its buffers from one boolean to the next.

use std::cell::RefCell;

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::{Overlay, ShapeType};
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;

use crate::draw::region::Point;

/// Steps of the grid to one percent of stature: fine enough for print, coarse enough to be quick. A power of two, so
/// that a point of the grid survives the way there and back.
const STEPS: f64 = 4096.0;

/// Nothing that is drawn lies farther out, in percent of stature.
const FARTHEST: f64 = 5e4;

/// One ring, walked backward if it takes away instead of adding.
#[derive(Clone, Copy)]
pub(super) struct Ring<'a> {
    pub points: &'a [Point],
    pub backward: bool,
}

impl<'a> Ring<'a> {
    /// A ring that adds what it winds round.
    pub fn of(points: &'a [Point]) -> Ring<'a> {
        Ring { points, backward: false }
    }
}

thread_local! {
    static DESK: RefCell<Overlay> = RefCell::new(Overlay::new(1024));
}

fn on_grid(p: Point) -> IntPoint {
    let [x, y] = p.map(|it| (it.clamp(-FARTHEST, FARTHEST) * STEPS).round() as i32);
    IntPoint { x, y }
}

/// Which points are in: all that are wound round at all, or only those wound round forward.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Fill {
    Any,
    Forward,
}

/// One boolean. What comes out is a list of outlines, each followed by its holes, wound the other way.
pub(super) fn overlaid<'a>(
    subject: impl IntoIterator<Item = Ring<'a>>,
    clip: impl IntoIterator<Item = Ring<'a>>,
    rule: OverlayRule,
    fill: Fill,
) -> Vec<Vec<Vec<Point>>> {
    DESK.with_borrow_mut(|desk| {
        desk.clear();
        let mut add = |ring: Ring, kind: ShapeType| {
            if ring.backward {
                desk.add_path_iter(ring.points.iter().rev().map(|p| on_grid(*p)), kind);
            } else {
                desk.add_path_iter(ring.points.iter().map(|p| on_grid(*p)), kind);
            }
        };
        subject.into_iter().for_each(|ring| add(ring, ShapeType::Subject));
        clip.into_iter().for_each(|ring| add(ring, ShapeType::Clip));
        let fill = match fill {
            Fill::Any => FillRule::NonZero,
            Fill::Forward => FillRule::Positive,
        };
        let back = |p: IntPoint| [f64::from(p.x) / STEPS, f64::from(p.y) / STEPS];
        let ring = |ring: Vec<IntPoint>| ring.into_iter().map(back).collect();
        desk.overlay(rule, fill).into_iter().map(|shape| shape.into_iter().map(ring).collect()).collect()
    })
}
