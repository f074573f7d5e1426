//! Offsets: outlines moved outward or inward by the same distance everywhere.
//!
//! Most outlines move without ever crossing themselves, so the moved outline is the answer. Only one that does cross
//! goes through a boolean. All arcs come from libm.

use i_overlay::core::overlay_rule::OverlayRule;

use crate::draw::region::clip::{Fill, Ring, overlaid};
use crate::draw::region::thin::simplified;
use crate::draw::region::{Bounds, Point, Region, double_area, ring_bounds};

/// How far an arc may stray from the true one, in percent of stature.
const ARC: f64 = 0.02;
/// Shape finer than this is lost on purpose, in percent of stature.
const GRAIN: f64 = 0.025;

/// Tangent of half the turn below which an outer corner may be lost.
const MILD: f64 = 0.12;

/// One side of an outline: where it starts, its unit direction and its length.
#[derive(Clone, Copy)]
struct Edge {
    from: Point,
    way: Point,
    length: f64,
}

fn cross(a: Point, b: Point) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

fn dot(a: Point, b: Point) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

fn edges_of(ring: &[Point]) -> Vec<Edge> {
    let mut edges = Vec::with_capacity(ring.len());
    let mut from = ring[ring.len() - 1];
    for &to in ring {
        let d = [to[0] - from[0], to[1] - from[1]];
        let length = dot(d, d).sqrt();
        if length > 1e-9 {
            edges.push(Edge { from, way: [d[0] / length, d[1] / length], length });
        }
        from = to;
    }
    edges
}

/// The tangent of half the turn from one edge to the next; a full turn back counts as a very large one.
fn half_turn(a: &Edge, b: &Edge) -> f64 {
    let (c, d) = (cross(a.way, b.way), dot(a.way, b.way));
    if d < -0.999_999 { 1e6_f64.copysign(c) } else { c / (1.0 + d) }
}

/// How much of an edge is left after the move, if only its inner corners shorten it.
fn left_of(edges: &[Edge], i: usize, by: f64) -> f64 {
    let n = edges.len();
    let (before, after) = (half_turn(&edges[(i + n - 1) % n], &edges[i]), half_turn(&edges[i], &edges[(i + 1) % n]));
    edges[i].length + (by * before).min(0.0) + (by * after).min(0.0)
}

/// Takes out the edges that the move would turn round, first the one that vanishes first. False if that fails.
fn collapse(edges: &mut Vec<Edge>, by: f64) -> bool {
    let mut left: Vec<f64> = (0..edges.len()).map(|i| left_of(edges, i, by)).collect();
    loop {
        let n = edges.len();
        if n < 3 {
            edges.clear();
            return true;
        }
        let mut first: Option<(f64, usize)> = None;
        for i in 0..n {
            if left[i] <= 1e-9 {
                // The share of the move after which it is gone.
                let when = edges[i].length / (edges[i].length - left[i]).max(1e-12);
                if first.is_none_or(|(least, _)| when < least) {
                    first = Some((when, i));
                }
            }
        }
        let Some((_, gone)) = first else {
            return true;
        };
        let (before, after) = ((gone + n - 1) % n, (gone + 1) % n);
        let (a, b) = (edges[before], edges[after]);
        // Round an outer corner the outline is an arc, which stays when the edge beside it is gone.
        let outer = |p: &Edge, q: &Edge| by * half_turn(p, q) > by.abs() * MILD;
        if outer(&a, &edges[gone]) || outer(&edges[gone], &b) {
            return false;
        }
        let turn = cross(a.way, b.way);
        if turn.abs() < 1e-6 {
            if dot(a.way, b.way) < 0.0 {
                // Two sides of a needle: it is gone if nothing else is left.
                if n == 4 || n == 3 {
                    edges.clear();
                    return true;
                }
                return false;
            }
            let end = [b.from[0] + b.way[0] * b.length, b.from[1] + b.way[1] * b.length];
            let d = [end[0] - a.from[0], end[1] - a.from[1]];
            let length = dot(d, d).sqrt();
            if length < 1e-9 {
                return false;
            }
            edges[before] = Edge { from: a.from, way: [d[0] / length, d[1] / length], length };
            let high = gone.max(after);
            let low = gone.min(after);
            edges.remove(high);
            left.remove(high);
            edges.remove(low);
            left.remove(low);
        } else {
            let s = cross([b.from[0] - a.from[0], b.from[1] - a.from[1]], b.way) / turn;
            let meet = [a.from[0] + a.way[0] * s, a.from[1] + a.way[1] * s];
            edges[before].length = s;
            edges[after].length = b.length + dot([b.from[0] - meet[0], b.from[1] - meet[1]], b.way);
            edges[after].from = meet;
            edges.remove(gone);
            left.remove(gone);
        }
        let n = edges.len();
        if n < 3 {
            edges.clear();
            return true;
        }
        // The gap closed at `gone`: edges up to two away have new neighbours.
        for k in 0..4 {
            let i = (gone + n + k - 2) % n;
            left[i] = left_of(edges, i, by);
        }
    }
}

/// Puts the corner between two moved edges into the outline.
fn corner(out: &mut Vec<Point>, a: &Edge, b: &Edge, by: f64, inner_stays: bool) {
    let p = b.from;
    let half = half_turn(a, b);
    let (na, nb) = ([a.way[1] * by, -a.way[0] * by], [b.way[1] * by, -b.way[0] * by]);
    if by * half < 0.0 && inner_stays {
        out.extend([[p[0] + na[0], p[1] + na[1]], p, [p[0] + nb[0], p[1] + nb[1]]]);
        return;
    }
    // A sharp outer corner turns into an arc; everything else is where the moved edges meet.
    let sharp = by * half > 0.0 && by.abs() * ((1.0 + half * half).sqrt() - 1.0) > ARC;
    if sharp {
        let turn = 2.0 * libm::atan(half);
        let step = 2.0 * libm::acos((1.0 - ARC / by.abs()).max(0.0));
        let n = ((turn.abs() / step).ceil() as usize).max(1);
        let (s, c) = libm::sincos(turn / n as f64);
        let mut normal = na;
        out.push([p[0] + normal[0], p[1] + normal[1]]);
        for _ in 1..=n {
            normal = [normal[0] * c - normal[1] * s, normal[0] * s + normal[1] * c];
            out.push([p[0] + normal[0], p[1] + normal[1]]);
        }
    } else {
        let (x, y) = (na[0] + a.way[0] * half * by, na[1] + a.way[1] * half * by);
        out.push([p[0] + x, p[1] + y]);
    }
}

fn moved(edges: &[Edge], by: f64, inner_stays: bool) -> Vec<Point> {
    let mut out = Vec::with_capacity(edges.len() * 2);
    for (i, edge) in edges.iter().enumerate() {
        let before = &edges[(i + edges.len() - 1) % edges.len()];
        corner(&mut out, before, edge, by, inner_stays);
    }
    out
}

/// Whether any two sides of the outlines meet other than neighbours at their corner.
pub(crate) fn crosses_itself<'a>(rings: impl Iterator<Item = &'a [Point]>) -> bool {
    struct Side {
        a: Point,
        b: Point,
        bounds: Bounds,
        before: usize,
        after: usize,
    }
    let mut sides: Vec<(f64, usize)> = Vec::new();
    let mut all: Vec<Side> = Vec::new();
    for ring in rings {
        let (first, n) = (all.len(), ring.len());
        for (i, &a) in ring.iter().enumerate() {
            let b = ring[(i + 1) % n];
            let mut bounds = Bounds::EMPTY;
            bounds.add(a);
            bounds.add(b);
            sides.push((bounds.left, all.len()));
            all.push(Side { a, b, bounds, before: first + (i + n - 1) % n, after: first + (i + 1) % n });
        }
    }
    sides.sort_by(|p, q| p.0.total_cmp(&q.0));
    for (place, &(_, i)) in sides.iter().enumerate() {
        let one = &all[i];
        for &(left, j) in &sides[place + 1..] {
            if left > one.bounds.right {
                break;
            }
            let other = &all[j];
            if other.bounds.top > one.bounds.bottom || one.bounds.top > other.bounds.bottom {
                continue;
            }
            if one.before == j || one.after == j {
                continue;
            }
            let side_of =
                |s: &Side, p: Point| cross([s.b[0] - s.a[0], s.b[1] - s.a[1]], [p[0] - s.a[0], p[1] - s.a[1]]);
            if side_of(one, other.a) * side_of(one, other.b) <= 0.0
                && side_of(other, one.a) * side_of(other, one.b) <= 0.0
            {
                return true;
            }
        }
    }
    false
}

/// The quick way: every outline moves on its own. None if the outcome would cross itself.
fn quick(shapes: &[Vec<Vec<Point>>], by: f64) -> Option<Vec<Vec<Vec<Point>>>> {
    let mut out: Vec<Vec<Vec<Point>>> = Vec::with_capacity(shapes.len());
    for shape in shapes {
        let mut grown: Vec<Vec<Point>> = Vec::with_capacity(shape.len());
        for (i, ring) in shape.iter().enumerate() {
            let mut edges = edges_of(ring);
            if !collapse(&mut edges, by) {
                return None;
            }
            if edges.is_empty() {
                if i == 0 {
                    break;
                }
                continue;
            }
            let ring_moved = moved(&edges, by, false);
            if double_area(&ring_moved) * double_area(ring) <= 0.0 {
                return None;
            }
            // Two sides that all but fold back on each other may meet far outside the drawing.
            let outward = if i == 0 { by } else { -by };
            if !ring_bounds(ring).grow(outward + ARC).holds(ring_bounds(&ring_moved)) {
                return None;
            }
            grown.push(ring_moved);
        }
        let Some((outline, holes)) = grown.split_first() else {
            continue;
        };
        let around = ring_bounds(outline);
        if holes.iter().any(|hole| !around.holds(ring_bounds(hole))) {
            return None;
        }
        out.push(grown);
    }
    if crosses_itself(out.iter().flatten().map(Vec::as_slice)) { None } else { Some(out) }
}

/// The sure way: the raw outlines, less all that is wound round backward.
fn sure(shapes: &[Vec<Vec<Point>>], by: f64) -> Vec<Vec<Vec<Point>>> {
    let raw: Vec<Vec<Point>> = shapes.iter().flatten().map(|ring| moved(&edges_of(ring), by, true)).collect();
    let mut shapes =
        overlaid(raw.iter().map(|ring| Ring::of(ring)), std::iter::empty(), OverlayRule::Subject, Fill::Forward);
    for ring in shapes.iter_mut().flatten() {
        *ring = simplified(ring, GRAIN);
    }
    shapes
}

/// Grown by `by` all round, with round corners; shrunk when negative.
pub(super) fn offset(region: &Region, by: f64) -> Region {
    if region.is_empty() || by == 0.0 {
        return region.clone();
    }
    let thin = |shape: &Vec<Vec<Point>>| shape.iter().map(|ring| simplified(ring, GRAIN / 2.0)).collect();
    let shapes: Vec<Vec<Vec<Point>>> = region.shapes.iter().map(thin).collect();
    let shapes = quick(&shapes, by).unwrap_or_else(|| sure(&shapes, by));
    Region { shapes }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn star(radii: &[f64]) -> Region {
        let n = radii.len();
        let point = |(i, r): (usize, &f64)| {
            let (s, c) = libm::sincos(i as f64 * std::f64::consts::TAU / n as f64);
            [r * c, r * s]
        };
        Region::polygon(radii.iter().enumerate().map(point).collect())
    }

    /// A star with slits cut into it and spikes put on it, each as thin as rounding leaves them.
    fn slit_star(radii: &[f64], slits: &[(usize, f64, f64)]) -> Vec<Point> {
        let mut ring = star(radii).shapes.swap_remove(0).swap_remove(0);
        for &(at, reach, width) in slits {
            let at = at % ring.len();
            let [x, y] = ring[at];
            let tip = [x * reach, y * reach];
            ring.splice(at..at, [[x, y], tip].map(|[x, y]| [x + width, y - width]));
            ring.insert(at + 2, tip);
        }
        ring
    }

    /// How far a point is from the outlines.
    fn away(region: &Region, p: Point) -> f64 {
        let mut least = f64::MAX;
        for ring in region.shapes.iter().flatten() {
            for (i, a) in ring.iter().enumerate() {
                let b = ring[(i + 1) % ring.len()];
                let (d, e) = ([b[0] - a[0], b[1] - a[1]], [p[0] - a[0], p[1] - a[1]]);
                let t = (dot(d, e) / dot(d, d).max(1e-12)).clamp(0.0, 1.0);
                let off = [e[0] - d[0] * t, e[1] - d[1] * t];
                least = least.min(dot(off, off).sqrt());
            }
        }
        least
    }

    /// The first point of a raster that lies on the wrong side, if it is clearly on one.
    fn wrong(region: &Region, moved: &Region, by: f64) -> Option<Point> {
        const CLEARLY: f64 = 0.05;
        for i in -60..=60 {
            for j in -60..=60 {
                let p = [f64::from(i) * 0.25 + 0.013, f64::from(j) * 0.25 + 0.007];
                let depth = if region.contains(p) { away(region, p) } else { -away(region, p) };
                if (depth + by).abs() > CLEARLY && moved.contains(p) != (depth + by > 0.0) {
                    return Some(p);
                }
            }
        }
        None
    }

    proptest! {
        #[test]
        fn a_moved_outline_is_as_far_off_as_it_should_be(
            radii in proptest::collection::vec(2.0..12.0_f64, 5..60), by in -2.0..2.0_f64, hole in 0.0..1.8_f64,
        ) {
            let region = star(&radii).difference(&Region::circle([0.0, 0.0], hole));
            let sure = Region { shapes: sure(&region.shapes, by) };
            prop_assert_eq!(wrong(&region, &sure, by), None, "sure");
            if let Some(shapes) = quick(&region.shapes, by) {
                prop_assert_eq!(wrong(&region, &Region { shapes }, by), None, "quick");
            }
        }

        #[test]
        fn no_slit_and_no_spike_throws_an_outline_far_out(
            radii in proptest::collection::vec(2.0..12.0_f64, 5..30), by in -2.0..2.0_f64,
            slits in proptest::collection::vec((0..30_usize, 0.1..1.8_f64, -1e-3..1e-3_f64), 1..4),
        ) {
            let region = Region::polygon(slit_star(&radii, &slits));
            let moved = offset(&region, by);
            let most = region.bounds().grow(by + ARC + GRAIN);
            prop_assert!(moved.is_empty() || most.holds(moved.bounds()), "{:?} not in {most:?}", moved.bounds());
        }
    }
}
