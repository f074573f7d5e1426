//! Areas of the picture: unions, cuts, offsets and measures of polygons with holes.

mod clip;
mod offset;
mod thin;

use i_overlay::core::overlay_rule::OverlayRule;

use clip::{Fill, Ring, overlaid};
pub(crate) use offset::crosses_itself;
pub(crate) use thin::{simplified, thinned};

/// A point of the picture: right, down.
pub type Point = [f64; 2];

/// Any number of polygons, each an outline followed by its holes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Region {
    pub(crate) shapes: Vec<Vec<Vec<Point>>>,
}

/// Level lines that measure what two regions share.
const ROWS: usize = 28;

/// A box around something: left, top, right, bottom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
}

impl Bounds {
    /// Around nothing.
    pub const EMPTY: Bounds = Bounds { left: 1e9, top: 1e9, right: -1e9, bottom: -1e9 };

    /// Grows to hold a point.
    pub fn add(&mut self, p: Point) {
        self.left = self.left.min(p[0]);
        self.right = self.right.max(p[0]);
        self.top = self.top.min(p[1]);
        self.bottom = self.bottom.max(p[1]);
    }
    /// Around both.
    pub fn join(self, o: Bounds) -> Bounds {
        Bounds {
            left: self.left.min(o.left),
            top: self.top.min(o.top),
            right: self.right.max(o.right),
            bottom: self.bottom.max(o.bottom),
        }
    }
    /// Larger by this much on every side.
    pub fn grow(self, by: f64) -> Bounds {
        Bounds { left: self.left - by, top: self.top - by, right: self.right + by, bottom: self.bottom + by }
    }
    /// In a mirror.
    pub fn flipped(self) -> Bounds {
        Bounds { left: -self.right, right: -self.left, ..self }
    }
    /// Whether the two share a point.
    pub fn meets(self, o: Bounds) -> bool {
        self.left <= o.right && o.left <= self.right && self.top <= o.bottom && o.top <= self.bottom
    }
    /// Its middle.
    pub fn middle(self) -> Point {
        [(self.left + self.right) / 2.0, (self.top + self.bottom) / 2.0]
    }
    /// Whether the other box lies wholly inside.
    pub fn holds(self, o: Bounds) -> bool {
        self.left <= o.left && o.right <= self.right && self.top <= o.top && o.bottom <= self.bottom
    }
    /// From left to right.
    pub fn width(self) -> f64 {
        self.right - self.left
    }
    /// From top to bottom.
    pub fn height(self) -> f64 {
        self.bottom - self.top
    }
}

/// Twice the signed area of a closed line; its sign tells the direction.
fn double_area(ring: &[Point]) -> f64 {
    let mut sum = 0.0;
    for (i, a) in ring.iter().enumerate() {
        let b = ring[(i + 1) % ring.len()];
        sum += a[0] * b[1] - b[0] * a[1];
    }
    sum
}

impl Region {
    /// Nothing.
    pub fn empty() -> Region {
        Region::default()
    }
    /// One closed outline, which may cross itself.
    pub fn polygon(ring: Vec<Point>) -> Region {
        Region::union_of(&[ring])
    }
    /// One closed outline that is known not to cross itself.
    pub fn convex(ring: Vec<Point>) -> Region {
        Region { shapes: vec![vec![ring]] }
    }
    /// A circle, of 40 corners.
    pub fn circle(center: Point, radius: f64) -> Region {
        const N: usize = 40;
        let ring = (0..N).map(|i| {
            let (s, c) = libm::sincos(i as f64 * std::f64::consts::TAU / N as f64);
            [center[0] + radius * c, center[1] + radius * s]
        });
        Region::convex(ring.collect())
    }
    /// A box as a region.
    pub fn rectangle(b: Bounds) -> Region {
        Region::convex(vec![[b.left, b.top], [b.right, b.top], [b.right, b.bottom], [b.left, b.bottom]])
    }
    /// Everything inside at least one of the outlines.
    pub fn union_of(rings: &[Vec<Point>]) -> Region {
        let facing = rings.iter().map(|ring| Ring { points: ring, backward: double_area(ring) < 0.0 });
        Region { shapes: overlaid(facing, [], OverlayRule::Subject, Fill::Any) }
    }
    /// Everything inside at least one of the regions.
    pub fn union_all<'a>(regions: impl IntoIterator<Item = &'a Region>) -> Region {
        let regions: Vec<&Region> = regions.into_iter().filter(|it| !it.is_empty()).collect();
        if let [] | [_] = regions[..] {
            return regions.first().map_or_else(Region::empty, |it| (*it).clone());
        }
        let rings = regions.into_iter().flat_map(Region::rings);
        Region { shapes: overlaid(rings, [], OverlayRule::Subject, Fill::Any) }
    }
    fn rings(&self) -> impl Iterator<Item = Ring<'_>> {
        self.shapes.iter().flatten().map(|ring| Ring::of(ring))
    }
    fn combine(&self, other: &Region, rule: OverlayRule) -> Region {
        Region { shapes: overlaid(self.rings(), other.rings(), rule, Fill::Any) }
    }
    /// Everything inside one or the other.
    pub fn union(&self, other: &Region) -> Region {
        match (self.is_empty(), other.is_empty()) {
            (true, _) => other.clone(),
            (_, true) => self.clone(),
            _ => self.combine(other, OverlayRule::Union),
        }
    }
    /// Everything inside both.
    pub fn intersection(&self, other: &Region) -> Region {
        if self.is_empty() || other.is_empty() || !self.bounds().meets(other.bounds()) {
            return Region::empty();
        }
        self.combine(other, OverlayRule::Intersect)
    }
    /// Everything inside this one and not the other.
    pub fn difference(&self, other: &Region) -> Region {
        if self.is_empty() || other.is_empty() || !self.bounds().meets(other.bounds()) {
            return self.clone();
        }
        self.combine(other, OverlayRule::Difference)
    }
    /// Without everything inside at least one of the others; they may overlap.
    pub fn without<'a>(&self, others: impl IntoIterator<Item = &'a Region>) -> Region {
        let own = self.bounds();
        let near = |shape: &&Vec<Vec<Point>>| shape.first().is_some_and(|it| ring_bounds(it).meets(own));
        let clip: Vec<Ring> = others
            .into_iter()
            .flat_map(|it| it.shapes.iter().filter(near).flatten())
            .map(|ring| Ring::of(ring))
            .collect();
        if clip.is_empty() || self.is_empty() {
            return self.clone();
        }
        Region { shapes: overlaid(self.rings(), clip, OverlayRule::Difference, Fill::Any) }
    }
    /// Where level lines are inside, as pairs in rising order of line and x; line `i` lies at `top + (i + 0.5) * step`.
    fn crossings(&self, top: f64, step: f64) -> Vec<(usize, f64)> {
        let mut out = Vec::with_capacity(4 * ROWS);
        for ring in self.shapes.iter().flatten() {
            let mut a = ring[ring.len() - 1];
            for &b in ring {
                let (high, low) = (a[1].min(b[1]), a[1].max(b[1]));
                // One line too many at each end; the exact test decides.
                let first = ((high - top) / step - 1.5).max(0.0) as usize;
                let last = ((low - top) / step + 1.5).clamp(0.0, ROWS as f64) as usize;
                for row in first..last {
                    let y = top + (row as f64 + 0.5) * step;
                    if (a[1] > y) != (b[1] > y) {
                        out.push((row, (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]) + a[0]));
                    }
                }
                a = b;
            }
        }
        out.sort_by(|p, q| p.0.cmp(&q.0).then(p.1.total_cmp(&q.1)));
        out
    }
    /// Points spread over what two regions share, and the area of that, both from level scan lines.
    pub fn shared(&self, other: &Region) -> (Vec<Point>, f64) {
        let (a, b) = (self.bounds(), other.bounds());
        let (top, bottom) = (a.top.max(b.top), a.bottom.min(b.bottom));
        let (mut points, mut area) = (Vec::new(), 0.0);
        let step = (bottom - top) / ROWS as f64;
        if step <= 0.0 {
            return (points, area);
        }
        let (mine, theirs) = (self.crossings(top, step), other.crossings(top, step));
        let mut start = 0;
        for p in mine.chunks_exact(2) {
            let row = p[0].0;
            start += theirs[start..].iter().take_while(|it| it.0 < row).count();
            let y = top + (row as f64 + 0.5) * step;
            for q in theirs[start..].chunks_exact(2).take_while(|q| q[0].0 == row) {
                let (left, right) = (p[0].1.max(q[0].1), p[1].1.min(q[1].1));
                if right > left {
                    area += (right - left) * step;
                    points.extend([0.17, 0.5, 0.83].map(|t| [left + (right - left) * t, y]));
                }
            }
        }
        (points, area)
    }
    /// Grown by `by` all round, with round corners; shrunk when negative.
    pub fn offset(&self, by: f64) -> Region {
        offset::offset(self, by)
    }
    /// Fills creases narrower than twice `by`.
    pub fn closed(&self, by: f64) -> Region {
        self.offset(by).offset(-by)
    }
    /// Removes what is thinner than twice `by`.
    pub fn opened(&self, by: f64) -> Region {
        self.offset(-by).offset(by)
    }
    /// Whether there is nothing inside.
    pub fn is_empty(&self) -> bool {
        self.shapes.is_empty()
    }
    /// Area, in squares of one percent of stature.
    pub fn area(&self) -> f64 {
        self.shapes.iter().map(|shape| shape_area(shape)).sum()
    }
    /// The box around it.
    pub fn bounds(&self) -> Bounds {
        let mut bounds = Bounds::EMPTY;
        for ring in self.shapes.iter().filter_map(|shape| shape.first()) {
            ring.iter().for_each(|&p| bounds.add(p));
        }
        bounds
    }
    /// Whether a point is inside.
    pub fn contains(&self, p: Point) -> bool {
        let mut inside = false;
        for ring in self.shapes.iter().flatten() {
            for (i, a) in ring.iter().enumerate() {
                let b = ring[(i + 1) % ring.len()];
                if (a[1] > p[1]) != (b[1] > p[1]) && p[0] < (b[0] - a[0]) * (p[1] - a[1]) / (b[1] - a[1]) + a[0] {
                    inside = !inside;
                }
            }
        }
        inside
    }
    /// Without the pieces smaller than `area`; the largest piece always stays.
    pub fn without_crumbs(&self, area: f64) -> Region {
        let largest = self.shapes.iter().map(|shape| shape_area(shape)).fold(0.0, f64::max);
        let keep = |shape: &&Vec<Vec<Point>>| shape_area(shape) >= area.min(largest);
        Region { shapes: self.shapes.iter().filter(keep).cloned().collect() }
    }
    /// Without the pieces smaller than `area`.
    pub fn without_pieces(&self, area: f64) -> Region {
        let keep = |shape: &&Vec<Vec<Point>>| shape_area(shape) >= area;
        Region { shapes: self.shapes.iter().filter(keep).cloned().collect() }
    }
    /// The one largest piece.
    pub fn largest(&self) -> Region {
        let mut best: Option<&Vec<Vec<Point>>> = None;
        for shape in &self.shapes {
            if best.is_none_or(|it| shape_area(shape) > shape_area(it)) {
                best = Some(shape);
            }
        }
        Region { shapes: best.cloned().into_iter().collect() }
    }
    /// Seen in a mirror: picture x changes sign.
    #[cfg(test)]
    pub fn flipped(&self) -> Region {
        let flip = |ring: &Vec<Point>| ring.iter().rev().map(|p| [-p[0], p[1]]).collect();
        Region { shapes: self.shapes.iter().map(|shape| shape.iter().map(flip).collect()).collect() }
    }
    /// The smallest convex region around the points.
    pub fn hull(mut points: Vec<Point>) -> Region {
        points.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
        points.dedup();
        if points.len() < 3 {
            return Region::empty();
        }
        let turn = |o: Point, a: Point, b: Point| (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0]);
        let half = |points: &mut dyn Iterator<Item = Point>| {
            let mut chain: Vec<Point> = Vec::new();
            for p in points {
                while chain.len() > 1 && turn(chain[chain.len() - 2], chain[chain.len() - 1], p) <= 0.0 {
                    chain.pop();
                }
                chain.push(p);
            }
            chain.pop();
            chain
        };
        let mut ring = half(&mut points.iter().copied());
        ring.extend(half(&mut points.iter().rev().copied()));
        Region::convex(ring)
    }
}

fn ring_bounds(ring: &[Point]) -> Bounds {
    let mut bounds = Bounds::EMPTY;
    ring.iter().for_each(|&p| bounds.add(p));
    bounds
}

fn shape_area(shape: &[Vec<Point>]) -> f64 {
    let mut rings = shape.iter().map(|ring| double_area(ring).abs() / 2.0);
    rings.next().unwrap_or(0.0) - rings.sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn offsets_and_cuts_have_the_areas_they_should() {
        let square = Region::rectangle(Bounds { left: 0.0, top: 0.0, right: 10.0, bottom: 10.0 });
        let grown = square.offset(1.0);
        assert!((grown.area() - (140.0 + std::f64::consts::PI)).abs() < 0.1, "{}", grown.area());
        assert!((grown.offset(-1.0).area() - 100.0).abs() < 0.1);
        let hole = grown.difference(&square);
        assert!((hole.area() - 43.14).abs() < 0.1);
        assert!(!hole.contains([5.0, 5.0]) && hole.contains([10.5, 5.0]));
        assert!((hole.offset(-0.2).area() - 0.6 * 43.1).abs() < 1.5, "{}", hole.offset(-0.2).area());
        assert!(square.offset(-6.0).is_empty());
    }
}
