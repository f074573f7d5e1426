//! Marks over the body: arrows, muscles, rings, right and wrong, measured gaps.

use crate::body::Side;
use crate::draw::camera::Camera;
use crate::draw::canvas::{CARD_MM, Canvas, Ink, Label, Said};
use crate::draw::flesh::Blob;
use crate::draw::muscle::Muscle;
use crate::draw::picture::{PropKind, Ring, Verdict};
use crate::draw::reach::direction;
use crate::draw::region::{Point, Region};
use crate::draw::silhouette::silhouette;
use crate::draw::sites;
use crate::draw::skeleton::{Bone, Skeleton};
use crate::draw::solve::SolvedFrame;
use crate::draw::style::{Look, Style};
use crate::draw::vector::{V3, hypot, v};
use crate::print::Anchor;

/// One weight for every arrow.
const SHAFT: f64 = 1.6;
const HEAD: f64 = 4.6;
const HALO: f64 = 1.5;
/// An arrow shorter than this cannot be read at print size.
pub const SHORTEST_ARROW: f64 = 9.0;
/// Smallest mark that reads on a card, in millimetres. Our own limit: the head of an arrow is about as wide.
pub(crate) const SMALLEST_MARK_MM: f64 = 1.5;
/// Half the width of the sign of right or wrong, in percent of stature.
pub(crate) const VERDICT: f64 = 5.2;
/// Room for a label of the smallest type below a picture that prints at a quarter of a millimetre a percent of stature.
pub(crate) const LABEL_ROOM: f64 = 11.0;

/// The points of each arrow of a frame, in the order arrows, slides, turns; true if it points both ways. Arrows stand
/// off away from `middle`, the middle of the body.
pub(crate) fn arrow_paths(frame: &SolvedFrame, camera: &Camera, middle: Point) -> Vec<(Vec<Point>, bool)> {
    let mut paths = Vec::new();
    let shifted = |p: Point, by: [f64; 2]| [p[0] + by[0], p[1] + by[1]];
    for (arrow, path) in frame.marks.arrows.iter().zip(&frame.paths) {
        let mut points: Vec<Point> = path.iter().map(|p| camera.flat(*p)).collect();
        let length = length_of(&points);
        if let Some(wanted) = arrow.length
            && length > 1e-6
        {
            let middle = points[points.len() / 2];
            let k = wanted / length;
            points
                .iter_mut()
                .for_each(|p| *p = [middle[0] + (p[0] - middle[0]) * k, middle[1] + (p[1] - middle[1]) * k]);
        }
        points = stood_off(&points, middle, arrow.off);
        points.iter_mut().for_each(|p| *p = shifted(*p, arrow.shift));
        if camera.is_level() && points.iter().filter(|p| p[1] < -2.2).count() > 3 {
            points.retain(|p| p[1] < -2.2);
        }
        let n = length_of(&points);
        let trimmed = trim(&points, arrow.trim[0].min(n * 0.3), arrow.trim[1].min(n * 0.2));
        paths.push((trimmed, arrow.both_ways));
    }
    for slide in &frame.marks.slides {
        let side = slide.site.side.unwrap_or(Side::Left);
        let way = camera.flat(direction(&frame.skeleton, &slide.toward, side, Bone::Chest));
        let n = hypot(way[0], way[1]).max(1e-6);
        let half = [way[0] / n * slide.length / 2.0, way[1] / n * slide.length / 2.0];
        let c = shifted(camera.flat(sites::middle(&frame.skeleton, slide.site)), slide.shift);
        paths.push((vec![[c[0] - half[0], c[1] - half[1]], [c[0] + half[0], c[1] + half[1]]], slide.both_ways));
    }
    for turn in &frame.marks.turns {
        let c = shifted(camera.flat(sites::middle(&frame.skeleton, turn.site)), turn.shift);
        let [from, to] = turn.degrees;
        let point = |i: usize| {
            let angle = -(from + (to - from) * i as f64 / 40.0);
            let (s, co) = libm::sincos(angle.to_radians());
            [c[0] + turn.radius * co, c[1] + turn.radius * s * turn.flat]
        };
        paths.push(((0..=40).map(point).collect(), false));
    }
    paths
}

/// Length of an open line.
pub(crate) fn length_of(points: &[Point]) -> f64 {
    points.windows(2).map(|it| hypot(it[1][0] - it[0][0], it[1][1] - it[0][1])).sum()
}

/// The path moved sideways, away from the body.
fn stood_off(points: &[Point], from: Point, off: f64) -> Vec<Point> {
    let n = points.len();
    let normal = |i: usize| {
        let (a, b) = (points[i.saturating_sub(1)], points[(i + 1).min(n - 1)]);
        let t = [b[0] - a[0], b[1] - a[1]];
        let length = hypot(t[0], t[1]).max(1e-9);
        [-t[1] / length, t[0] / length]
    };
    let outward: f64 = (0..n)
        .map(|i| {
            let w = normal(i);
            w[0] * (points[i][0] - from[0]) + w[1] * (points[i][1] - from[1])
        })
        .sum();
    let sign = if outward < 0.0 { -1.0 } else { 1.0 };
    (0..n).map(|i| [points[i][0] + normal(i)[0] * off * sign, points[i][1] + normal(i)[1] * off * sign]).collect()
}

/// The point a length along a line, counted from its start.
fn along(points: &[Point], length: f64) -> Point {
    let mut left = length;
    for pair in points.windows(2) {
        let step = hypot(pair[1][0] - pair[0][0], pair[1][1] - pair[0][1]);
        if step >= left && step > 0.0 {
            let t = left / step;
            return [pair[0][0] + (pair[1][0] - pair[0][0]) * t, pair[0][1] + (pair[1][1] - pair[0][1]) * t];
        }
        left -= step;
    }
    points.last().copied().unwrap_or([0.0; 2])
}

fn trim(points: &[Point], start: f64, end: f64) -> Vec<Point> {
    let total = length_of(points);
    if total < 1e-6 {
        return points.to_vec();
    }
    let n = 24;
    (0..=n).map(|i| along(points, start + (total - start - end) * f64::from(i) / f64::from(n))).collect()
}

/// Paints one arrow with a halo of paper, so that it reads on any tint.
fn arrow(canvas: &mut Canvas, points: &[Point], both_ways: bool, style: &Style) {
    let total = length_of(points);
    if total < 1.0 {
        return;
    }
    canvas.mark(total);
    let head = HEAD.min(total * if both_ways { 0.4 } else { 0.55 });
    let (color, paper) = (style.arrow(), style.color("paper"));
    let mut heads = vec![arrow_head(points, total, head)];
    let start = if both_ways { head * 0.75 } else { 0.0 };
    let shaft = trim(points, start, head * 0.75);
    if both_ways {
        let back: Vec<Point> = points.iter().rev().copied().collect();
        heads.push(arrow_head(&back, total, head));
    }
    canvas.line(&shaft, Ink::stroke(paper, SHAFT + HALO));
    for it in &heads {
        canvas.region(it, Ink::fill(paper).outlined(paper, HALO));
    }
    canvas.line(&shaft, Ink::stroke(color, SHAFT));
    for it in &heads {
        canvas.region(it, Ink::fill(color).outlined(color, 0.4).detail());
    }
}

fn arrow_head(points: &[Point], total: f64, head: f64) -> Region {
    let tip = along(points, total);
    let base = along(points, total - head);
    let d = [tip[0] - base[0], tip[1] - base[1]];
    let n = hypot(d[0], d[1]).max(1e-9);
    let (u, w) = ([d[0] / n, d[1] / n], [-d[1] / n, d[0] / n]);
    let at = |back: f64, side: f64| [tip[0] - u[0] * back + w[0] * side, tip[1] - u[1] * back + w[1] * side];
    Region::convex(vec![tip, at(head, head * 0.55), at(head * 0.78, 0.0), at(head, -head * 0.55)])
}

/// Paints the patch of one muscle on what is visible of the parts that carry it, in a picture about this wide.
pub(crate) fn feel(
    canvas: &mut Canvas,
    muscle: Muscle,
    skeleton: &Skeleton,
    camera: &Camera,
    style: &Style,
    on: &Region,
    width: f64,
) {
    // A little generous: it must read at print size.
    let blobs: Vec<Blob> = muscle.blobs(skeleton).iter().map(|it| it.scaled(1.22)).collect();
    let patch = silhouette(&[blobs], camera, 2.0).intersection(on);
    if patch.is_empty() {
        canvas.mark(0.0);
        return;
    }
    let patch = seen_well(patch, SMALLEST_MARK_MM * 1.03 * width / CARD_MM);
    let bounds = patch.largest().bounds();
    canvas.mark(bounds.width().min(bounds.height()));
    let (paper, ink) = (style.color("paper"), style.color("ink"));
    // What lies behind is dashed, and never as strong as what lies in front.
    if muscle.outward(skeleton).dot(camera.toward()) < -0.35 {
        let (edge, wash) = match style.look {
            Look::Color => (style.color("feel"), Ink::fill(style.color("feel")).clear(0.25)),
            Look::Grey | Look::Line => (ink, Ink::fill(paper).clear(0.5)),
        };
        canvas.region(&patch, wash);
        canvas.region(&patch.offset(-0.3), Ink::stroke(edge, 0.7).dashed(1.2, 1.4));
        return;
    }
    match style.look {
        Look::Color => {
            let core = (1..=4)
                .rev()
                .map(|k| patch.offset(-0.3 * f64::from(k)).offset(0.15))
                .find(|it| it.area() > 0.4 * patch.area());
            let core = core.unwrap_or_else(|| patch.clone()).largest();
            canvas.region(&patch, Ink::fill(style.color("feel")).clear(0.5));
            canvas.region(&core, Ink::fill(style.color("feel")).outlined(paper, 0.45));
        }
        Look::Grey | Look::Line => {
            canvas.region(&patch, Ink::fill(paper).outlined(paper, 0.9));
            canvas.lines(&hatch(&patch), Ink::stroke(ink, 0.42));
            canvas.region(&patch, Ink::stroke(ink, 0.5));
        }
    }
}

/// A patch that is only a sliver of what it should be becomes a disc in its middle; one that would be thinner than
/// `least` on paper is thickened.
fn seen_well(patch: Region, least: f64) -> Region {
    const HALF: f64 = 1.3;
    if patch.offset(-HALF).is_empty() {
        let deepest = (1..=7).rev().map(|k| patch.offset(-0.18 * f64::from(k))).find(|it| !it.is_empty());
        let spot = deepest.unwrap_or(patch).largest();
        return Region::circle(spot.bounds().middle(), (least / 2.0).max(2.6));
    }
    let bounds = patch.largest().bounds();
    let wanting = least - bounds.width().min(bounds.height());
    if wanting > 0.0 { patch.offset(wanting / 2.0 + 0.05) } else { patch }
}

/// Slanted lines inside a region.
fn hatch(region: &Region) -> Vec<[Point; 2]> {
    let b = region.bounds();
    let step = 1.25;
    let mut lines = Vec::new();
    let mut k = b.left + b.top;
    while k < b.right + b.bottom {
        // Points of the line x + y = k, walked in small steps.
        let n = ((b.width() + b.height()) / 0.12) as usize + 1;
        let mut start: Option<Point> = None;
        let mut last = [0.0; 2];
        for i in 0..=n {
            let x = b.left - 1.0 + (b.width() + 2.0) * i as f64 / n as f64;
            let p = [x, k - x];
            let inside = region.contains(p);
            match (inside, start) {
                (true, None) => start = Some(p),
                (false, Some(from)) => {
                    if length_of(&[from, last]) > 0.5 {
                        lines.push([from, last]);
                    }
                    start = None;
                }
                _ => {}
            }
            last = p;
        }
        k += step;
    }
    lines
}

/// Paints everything that lies over the body, and returns the labels that the typesetter sets.
pub(crate) fn paint(
    canvas: &mut Canvas,
    frame: &SolvedFrame,
    camera: &Camera,
    style: &Style,
    middle: Point,
) -> Vec<Label> {
    for (points, both_ways) in arrow_paths(frame, camera, middle) {
        arrow(canvas, &points, both_ways, style);
    }
    for site in &frame.marks.press {
        let under = frame.props.iter().any(|it| it.under == Some(*site));
        let p = if under {
            sites::outermost(&frame.skeleton, *site, -V3::UP)
        } else {
            sites::middle(&frame.skeleton, *site)
        };
        let (p, r) = (camera.flat(p), if under { 2.0 } else { 2.6 });
        canvas.mark(2.0 * r);
        canvas.circle(p, r, Ink::fill(style.color("paper")).clear(0.9).outlined(style.arrow(), 0.85));
        canvas.circle(p, r * 0.42, Ink::fill(style.arrow()));
    }
    for ring in &frame.marks.look {
        let region = ring.region(&frame.skeleton, camera);
        canvas.mark(2.0 * ring.radius);
        let color = style.color(if style.look == Look::Color { "bad" } else { "ink" });
        // Paper lies under the dashes only: a whole ring of it would cut off what it should show.
        canvas.region(&region, Ink::stroke(style.color("paper"), 1.9).dashed(2.2, 2.0));
        canvas.region(&region, Ink::stroke(color, 1.1).dashed(2.2, 2.0));
    }
    let mut labels: Vec<Label> =
        frame.marks.distances.iter().filter_map(|it| distance(canvas, frame, camera, style, it)).collect();
    labels.extend(frame.marks.angles.iter().filter_map(|it| it.paint(canvas, &frame.skeleton, camera, style)));
    labels
}

/// Paints a measured gap under the floor line, and says where its label goes.
fn distance(
    canvas: &mut Canvas,
    frame: &SolvedFrame,
    camera: &Camera,
    style: &Style,
    mark: &crate::draw::picture::Distance,
) -> Option<Label> {
    let plane = frame.surfaces.get(&mark.wall)?;
    let tip = sites::outermost(&frame.skeleton, mark.from, -plane.n);
    let gap = tip.dot(plane.n) - plane.d;
    let floor = |p: V3| camera.flat(v(p.x(), p.y(), 0.0));
    let (a, b) = (floor(tip), floor(tip - plane.n * gap));
    canvas.mark(gap.abs());
    let (low, ink) = (4.2, Ink::stroke(style.color("ink"), 0.6));
    canvas.line(&[[a[0], 2.2], [a[0], low + 1.4]], ink);
    canvas.line(&[[b[0], 2.2], [b[0], low + 1.4]], ink);
    canvas.line(&[[a[0], low], [b[0], low]], ink);
    let says = Said::Words(mark.label.clone());
    let (x, y) = ((a[0] + b[0]) / 2.0, low + 1.4 + LABEL_ROOM / 2.0);
    Some(Label { x, y, says, anchor: Anchor::Middle })
}

impl Ring {
    /// Where it lies on the picture.
    pub(crate) fn region(&self, skeleton: &Skeleton, camera: &Camera) -> Region {
        let c = camera.flat(sites::middle(skeleton, self.site));
        Region::circle([c[0] + self.shift[0], c[1] + self.shift[1]], self.radius)
    }
}

/// Paints right or wrong: the shapes differ as well as the colors.
pub(crate) fn verdict(canvas: &mut Canvas, center: Point, verdict: Verdict, style: &Style) {
    let r = VERDICT;
    canvas.mark(2.0 * r);
    let paper = style.color("paper");
    let color = match (style.look, verdict) {
        (Look::Color, Verdict::Good) => style.color("good"),
        (Look::Color, Verdict::Bad) => style.color("bad"),
        (Look::Grey | Look::Line, _) => style.color("ink"),
    };
    match verdict {
        Verdict::Good => {
            canvas.circle(center, r, Ink::fill(color));
            canvas.upright(
                center,
                &[[-r * 0.5, 0.02 * r], [-r * 0.12, r * 0.42], [r * 0.52, -r * 0.4]],
                Ink::stroke(paper, r * 0.26),
            );
        }
        Verdict::Bad => {
            let h = r * 0.8;
            let square = crate::draw::region::Bounds {
                left: center[0] - h,
                right: center[0] + h,
                top: center[1] - h,
                bottom: center[1] + h,
            };
            let hollow = style.is_line();
            canvas.region(
                &Region::rectangle(square),
                Ink::fill(if hollow { paper } else { color }).outlined(color, r * 0.24),
            );
            let (k, cross) = (r * 0.42, Ink::stroke(if hollow { color } else { paper }, r * 0.28));
            canvas.upright(center, &[[-k, -k], [k, k]], cross);
            canvas.upright(center, &[[-k, k], [k, -k]], cross);
        }
    }
}

/// Whether a frame has a wall that shows edge-on.
pub(crate) fn has_wall(frame: &SolvedFrame) -> bool {
    frame.props.iter().any(|it| it.kind == PropKind::Wall)
}
