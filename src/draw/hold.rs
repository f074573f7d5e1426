//! The sign of a frame that is held: a stopwatch, as beside the seconds of a dose, in the nearest free corner.

use crate::draw::canvas::{Canvas, Ink, Label, Said};
use crate::draw::region::{Bounds, Point, Region};
use crate::draw::style::Style;
use crate::print::Anchor;

/// Radius of the face, in percent of stature, in a picture without a close-up.
const RADIUS: f64 = 4.2;
/// Room for the stopwatch with its words: how wide and how tall, in radii.
const ROOM: [f64; 2] = [7.8, 2.8];
/// Nothing comes nearer to it than this, in radii.
const CLEAR: f64 = 0.3;
/// Steps in which it looks for room, in radii.
const STEP: f64 = 0.25;

/// Where the stopwatch of a frame goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Place {
    room: Bounds,
    radius: f64,
    /// In the right corner, its words to the left.
    right: bool,
}

/// What a place costs the picture, and the place.
pub(crate) type Offer = (f64, Place);

/// The place in the left corner and the one in the right corner that cost the picture least: free as it is, or free once
/// the picture grows a little. `bounds` and `taken` are those of the side the author wrote, so that the other side is the
/// mirror image.
pub(crate) fn places(bounds: Bounds, taken: &[Region], scale: f64) -> [Offer; 2] {
    let radius = RADIUS * scale;
    let room = |right: bool, aside: f64, up: f64| {
        let (top, width) = (bounds.top - up, ROOM[0] * radius);
        let left = if right { bounds.right + aside - width } else { bounds.left - aside };
        Bounds { left, right: left + width, top, bottom: top + ROOM[1] * radius }
    };
    let free = |room: Bounds| {
        let room = room.grow(CLEAR * radius);
        let field = Region::rectangle(room);
        !taken.iter().any(|it| it.bounds().meets(room) && !it.intersection(&field).is_empty())
    };
    let steps = |most: f64| (0..=(most / STEP).ceil() as u32).map(move |i| f64::from(i) * STEP * radius);
    // A tall picture has room beside it on a card, a wide one above.
    let cost = |aside: f64, up: f64| {
        let beyond = (bounds.width() + aside - bounds.height() - up).clamp(0.0, aside);
        up + beyond + 0.15 * aside
    };
    [false, true].map(|right| {
        let above = (ROOM[1] + CLEAR) * radius;
        let mut best = (cost(0.0, above), Place { room: room(right, 0.0, above), radius, right });
        for up in steps(ROOM[1] + CLEAR + STEP) {
            for aside in steps(ROOM[0] + CLEAR + STEP) {
                let cost = cost(aside, up);
                if cost >= best.0 {
                    break;
                }
                let room = room(right, aside, up);
                if free(room) {
                    best = (cost, Place { room, radius, right });
                    break;
                }
            }
        }
        best
    })
}

/// The places of all frames of a picture that are held: all in one corner, or two of them could stand side by side.
pub(crate) fn corner(offers: &[[Offer; 2]]) -> usize {
    let cost = |corner: usize| offers.iter().map(|it| it[corner].0).sum::<f64>();
    usize::from(cost(1) < cost(0))
}

/// Paints the stopwatch, and says where its seconds go.
pub(crate) fn paint(canvas: &mut Canvas, place: Place, style: &Style) -> Label {
    let Place { room, radius: r, right } = place;
    let inward = if right { -1.0 } else { 1.0 };
    let edge = if right { room.right } else { room.left };
    let center = [edge + inward * 1.15 * r, room.bottom - 1.15 * r];
    let (paper, ink) = (style.color("paper"), style.color("ink"));
    let line = Ink::stroke(ink, 0.24 * r);
    canvas.mark(2.0 * r);
    canvas.circle(center, r, Ink::fill(paper).outlined(ink, 0.24 * r));
    let from = |x: f64, y: f64| -> Point { [center[0] + x * r, center[1] + y * r] };
    canvas.lines(&[[center, from(0.0, -0.6)], [from(-0.36, -1.5), from(0.36, -1.5)]], line);
    Label {
        x: center[0] + inward * 1.6 * r,
        y: center[1],
        says: Said::Seconds,
        anchor: if right { Anchor::End } else { Anchor::Start },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TALL: Bounds = Bounds { left: 0.0, right: 40.0, top: -100.0, bottom: 0.0 };

    fn block(left: f64, right: f64, top: f64, bottom: f64) -> Region {
        Region::rectangle(Bounds { left, right, top, bottom })
    }

    fn place(bounds: Bounds, taken: &[Region]) -> Place {
        let offers = places(bounds, taken, 1.0);
        offers[corner(&[offers])].1
    }

    #[test]
    fn it_takes_the_free_corner() {
        let width = ROOM[0] * RADIUS;
        let left = place(TALL, &[block(36.0, 40.0, -100.0, 0.0)]);
        assert_eq!((left.right, left.room.left, left.room.top), (false, 0.0, -100.0));
        let right = place(TALL, &[block(0.0, 5.0, -100.0, 0.0)]);
        assert_eq!((right.right, right.room.right, right.room.top), (true, 40.0, -100.0));
        assert!((right.room.width() - width).abs() < 1e-9);
    }

    #[test]
    fn it_goes_beside_a_tall_picture_and_above_a_wide_one() {
        let tall = place(TALL, &[block(0.0, 40.0, -100.0, 0.0)]);
        assert!(tall.room.top == -100.0 && tall.room.right <= -CLEAR * RADIUS, "{tall:?}");
        let wide = Bounds { left: 0.0, right: 100.0, top: -30.0, bottom: 0.0 };
        let wide = place(wide, &[block(0.0, 100.0, -30.0, 0.0)]);
        assert!(wide.room.bottom <= -30.0 - CLEAR * RADIUS + 1e-9, "{wide:?}");
    }

    #[test]
    fn frames_of_one_picture_share_a_corner() {
        // The first would rather have the left corner, by a little; the second needs the right one.
        let first = places(TALL, &[block(23.0, 24.0, -100.0, 0.0)], 1.0);
        let second = places(TALL, &[block(0.0, 5.0, -100.0, 0.0)], 1.0);
        assert_eq!((corner(&[first]), corner(&[second])), (0, 1));
        assert_eq!(corner(&[first, second]), 1);
    }
}
