//! Areas of the picture: unions, cuts, offsets and measures of polygons with holes.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::float::scale::FixedScaleFloatOverlay;
use i_overlay::float::single::SingleFloatOverlay;
use i_overlay::mesh::outline::offset::OutlineOffset;
use i_overlay::mesh::style::{LineJoin, OutlineStyle};

/// A point of the picture: right, down.
pub type Point = [f64; 2];

/// Any number of polygons, each an outline followed by its holes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Region {
    pub(crate) shapes: Vec<Vec<Vec<Point>>>,
}

/// Shape finer than this is lost on purpose, in percent of stature.
const GRAIN: f64 = 0.014;

/// Steps of the integer grid to one percent of stature: fine enough for print, coarse enough to be quick.
const STEPS: f64 = 4096.0;

/// One boolean on the grid; a picture too large for the grid takes the grid that fits it.
fn overlaid(subject: &[Vec<Vec<Point>>], clip: &[Vec<Vec<Point>>], rule: OverlayRule) -> Vec<Vec<Vec<Point>>> {
    let (subject, clip) = (subject.to_vec(), clip.to_vec());
    subject
        .overlay_with_fixed_scale(&clip, rule, FillRule::NonZero, STEPS)
        .unwrap_or_else(|_| subject.overlay(&clip, rule, FillRule::NonZero))
}

/// A box around something: left, top, right, bottom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
}

impl Bounds {
    pub const EMPTY: Bounds = Bounds { left: 1e9, top: 1e9, right: -1e9, bottom: -1e9 };

    pub fn add(&mut self, p: Point) {
        self.left = self.left.min(p[0]);
        self.right = self.right.max(p[0]);
        self.top = self.top.min(p[1]);
        self.bottom = self.bottom.max(p[1]);
    }
    pub fn join(self, o: Bounds) -> Bounds {
        Bounds {
            left: self.left.min(o.left),
            top: self.top.min(o.top),
            right: self.right.max(o.right),
            bottom: self.bottom.max(o.bottom),
        }
    }
    pub fn grow(self, by: f64) -> Bounds {
        Bounds { left: self.left - by, top: self.top - by, right: self.right + by, bottom: self.bottom + by }
    }
    pub fn meets(self, o: Bounds) -> bool {
        self.left <= o.right && o.left <= self.right && self.top <= o.bottom && o.top <= self.bottom
    }
    pub fn width(self) -> f64 {
        self.right - self.left
    }
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
    pub fn circle(center: Point, radius: f64) -> Region {
        const N: usize = 40;
        let ring = (0..N).map(|i| {
            let (s, c) = libm::sincos(i as f64 * std::f64::consts::TAU / N as f64);
            [center[0] + radius * c, center[1] + radius * s]
        });
        Region::convex(ring.collect())
    }
    pub fn rectangle(b: Bounds) -> Region {
        Region::convex(vec![[b.left, b.top], [b.right, b.top], [b.right, b.bottom], [b.left, b.bottom]])
    }
    /// Everything inside at least one of the outlines.
    pub fn union_of(rings: &[Vec<Point>]) -> Region {
        let mut facing: Vec<Vec<Point>> = rings.to_vec();
        for ring in &mut facing {
            if double_area(ring) < 0.0 {
                ring.reverse();
            }
        }
        let none: Vec<Vec<Vec<Point>>> = Vec::new();
        Region { shapes: overlaid(&[facing], &none, OverlayRule::Union) }
    }
    /// Everything inside at least one of the regions.
    pub fn union_all<'a>(regions: impl IntoIterator<Item = &'a Region>) -> Region {
        let shapes: Vec<_> = regions.into_iter().flat_map(|region| region.shapes.iter().cloned()).collect();
        if shapes.len() < 2 {
            return Region { shapes };
        }
        let none: Vec<Vec<Vec<Point>>> = Vec::new();
        Region { shapes: overlaid(&shapes, &none, OverlayRule::Union) }
    }
    fn combine(&self, other: &Region, rule: OverlayRule) -> Region {
        Region { shapes: overlaid(&self.shapes, &other.shapes, rule) }
    }
    pub fn union(&self, other: &Region) -> Region {
        match (self.is_empty(), other.is_empty()) {
            (true, _) => other.clone(),
            (_, true) => self.clone(),
            _ => self.combine(other, OverlayRule::Union),
        }
    }
    pub fn intersection(&self, other: &Region) -> Region {
        if self.is_empty() || other.is_empty() || !self.bounds().meets(other.bounds()) {
            return Region::empty();
        }
        self.combine(other, OverlayRule::Intersect)
    }
    pub fn difference(&self, other: &Region) -> Region {
        if self.is_empty() || other.is_empty() || !self.bounds().meets(other.bounds()) {
            return self.clone();
        }
        self.combine(other, OverlayRule::Difference)
    }
    /// Without everything inside at least one of the others; they may overlap.
    pub fn without(&self, others: &[Region]) -> Region {
        let own = self.bounds();
        let near = |shape: &&Vec<Vec<Point>>| ring_bounds(&shape[0]).meets(own);
        let clip: Vec<Vec<Vec<Point>>> = others
            .iter()
            .flat_map(|it| it.shapes.iter().filter(|shape| !shape.is_empty()).filter(near))
            .cloned()
            .collect();
        if clip.is_empty() || self.is_empty() {
            return self.clone();
        }
        Region { shapes: overlaid(&self.shapes, &clip, OverlayRule::Difference) }
    }
    /// Where a level line at `y` is inside, as pairs of x in rising order.
    fn crossings(&self, y: f64, out: &mut Vec<f64>) {
        out.clear();
        for ring in self.shapes.iter().flatten() {
            let mut a = ring[ring.len() - 1];
            for &b in ring {
                if (a[1] > y) != (b[1] > y) {
                    out.push((b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]) + a[0]);
                }
                a = b;
            }
        }
        out.sort_by(f64::total_cmp);
    }
    /// Points spread over what two regions share, and the area of that, both from level scan lines.
    pub fn shared(&self, other: &Region) -> (Vec<Point>, f64) {
        const ROWS: usize = 28;
        let (a, b) = (self.bounds(), other.bounds());
        let (top, bottom) = (a.top.max(b.top), a.bottom.min(b.bottom));
        let (mut points, mut area) = (Vec::new(), 0.0);
        let (mut mine, mut theirs) = (Vec::new(), Vec::new());
        let step = (bottom - top) / ROWS as f64;
        for row in 0..ROWS {
            let y = top + (row as f64 + 0.5) * step;
            self.crossings(y, &mut mine);
            other.crossings(y, &mut theirs);
            for p in mine.chunks_exact(2) {
                for q in theirs.chunks_exact(2) {
                    let (left, right) = (p[0].max(q[0]), p[1].min(q[1]));
                    if right > left {
                        area += (right - left) * step;
                        points.extend([0.17, 0.5, 0.83].map(|t| [left + (right - left) * t, y]));
                    }
                }
            }
        }
        (points, area)
    }
    /// Grown by `by` all round, with round corners; shrunk when negative.
    pub fn offset(&self, by: f64) -> Region {
        self.offset_with(by, LineJoin::Round(0.4))
    }
    /// The same with plain corners, which costs far fewer points on outlines that are smooth already.
    pub fn offset_plain(&self, by: f64) -> Region {
        self.offset_with(by, LineJoin::Miter(0.7 * std::f64::consts::PI))
    }
    fn offset_with(&self, by: f64, join: LineJoin<f64>) -> Region {
        if self.is_empty() || by == 0.0 {
            return self.clone();
        }
        let style = OutlineStyle::new(by).line_join(join);
        let shapes = self.shapes.outline_fixed_scale(&style, STEPS).unwrap_or_else(|_| self.shapes.outline(&style));
        Region { shapes }.thinned()
    }
    /// Without the points that carry no shape. Round corners breed points, so every offset ends with this.
    fn thinned(mut self) -> Region {
        for ring in self.shapes.iter_mut().flatten() {
            *ring = simplified(ring, GRAIN);
        }
        self
    }
    /// Fills creases narrower than twice `by`.
    pub fn closed(&self, by: f64) -> Region {
        self.offset_plain(by).offset(-by)
    }
    /// Removes what is thinner than twice `by`.
    pub fn opened(&self, by: f64) -> Region {
        self.offset_plain(-by).offset_plain(by)
    }
    pub fn is_empty(&self) -> bool {
        self.shapes.is_empty()
    }
    pub fn area(&self) -> f64 {
        self.shapes.iter().map(|shape| shape_area(shape)).sum()
    }
    pub fn bounds(&self) -> Bounds {
        let mut bounds = Bounds::EMPTY;
        for ring in self.shapes.iter().filter_map(|shape| shape.first()) {
            ring.iter().for_each(|&p| bounds.add(p));
        }
        bounds
    }
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
    /// The middle of the corners, good enough to tell one side from the other.
    pub fn middle(&self) -> Point {
        let b = self.bounds();
        [(b.left + b.right) / 2.0, (b.top + b.bottom) / 2.0]
    }
    /// Without the pieces smaller than `area`; the largest piece always stays.
    pub fn without_crumbs(&self, area: f64) -> Region {
        let largest = self.shapes.iter().map(|shape| shape_area(shape)).fold(0.0, f64::max);
        let keep = |shape: &&Vec<Vec<Point>>| shape_area(shape) >= area.min(largest);
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

/// A closed line with the points that carry no shape left out.
pub(crate) fn simplified(ring: &[Point], tolerance: f64) -> Vec<Point> {
    if ring.len() < 8 {
        return ring.to_vec();
    }
    let far = |from: usize| {
        let away = |i: usize| (ring[i][0] - ring[from][0]).powi(2) + (ring[i][1] - ring[from][1]).powi(2);
        (0..ring.len()).fold(from, |best, i| if away(i) > away(best) { i } else { best })
    };
    let cut = far(0);
    let mut first = thinned(&ring[..=cut], tolerance);
    let mut rest: Vec<Point> = ring[cut..].to_vec();
    rest.push(ring[0]);
    let second = thinned(&rest, tolerance);
    first.extend(&second[1..second.len() - 1]);
    first
}

/// Ramer's rule on an open line.
pub(crate) fn thinned(line: &[Point], tolerance: f64) -> Vec<Point> {
    let n = line.len();
    if n < 3 {
        return line.to_vec();
    }
    let mut keep = vec![false; n];
    keep[0] = true;
    keep[n - 1] = true;
    let mut spans = vec![(0, n - 1)];
    while let Some((a, b)) = spans.pop() {
        let (p, q) = (line[a], line[b]);
        let (dx, dy) = (q[0] - p[0], q[1] - p[1]);
        let length = dx.hypot(dy);
        let (mut worst, mut most) = (a, tolerance);
        for (i, r) in line.iter().enumerate().take(b).skip(a + 1) {
            let (ex, ey) = (r[0] - p[0], r[1] - p[1]);
            let off = if length < 1e-9 { ex.hypot(ey) } else { (dx * ey - dy * ex).abs() / length };
            if off > most {
                (worst, most) = (i, off);
            }
        }
        if worst != a {
            keep[worst] = true;
            spans.push((a, worst));
            spans.push((worst, b));
        }
    }
    line.iter().zip(keep).filter(|it| it.1).map(|it| *it.0).collect()
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
