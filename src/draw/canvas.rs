//! The canvas: writes shapes as SVG. Lengths come in percent of stature and leave as tenths of a percent.

use std::fmt::Write;

use crate::draw::region::{Bounds, Point, Region, simplified, thinned};
use crate::draw::style::Rgb;
use crate::print::Anchor;

/// Width of a picture on a card, in millimetres.
pub(crate) const CARD_MM: f64 = 45.0;
/// Thinnest line that prints, in millimetres: half a point (handout-quality.md, print section, CV).
pub(crate) const THINNEST_LINE_MM: f64 = 0.5 * 25.4 / 72.0;
/// Picture units per percent of stature.
const SCALE: f64 = 10.0;
/// How far a written outline may stray from the true one, in percent of stature.
const TOLERANCE: f64 = 0.04;
/// Rings smaller than this are not worth ink.
const SPECK: f64 = 0.06;

/// How a shape is inked.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub(crate) struct Ink {
    pub fill: Option<Rgb>,
    pub fill_opacity: f64,
    pub stroke: Option<(Rgb, f64)>,
    pub dash: Option<[f64; 2]>,
    /// A detail that nobody misses when it is too thin to print.
    pub detail: bool,
}

impl Ink {
    /// A filled shape without an outline.
    pub fn fill(color: Rgb) -> Ink {
        Ink { fill: Some(color), fill_opacity: 1.0, ..Ink::default() }
    }
    /// An outline without a fill; its width in percent of stature.
    pub fn stroke(color: Rgb, width: f64) -> Ink {
        Ink { stroke: Some((color, width)), fill_opacity: 1.0, ..Ink::default() }
    }
    /// The same with an outline.
    pub fn outlined(self, color: Rgb, width: f64) -> Ink {
        Ink { stroke: Some((color, width)), ..self }
    }
    /// The same, as a detail that may be too thin to print.
    pub fn detail(self) -> Ink {
        Ink { detail: true, ..self }
    }
    /// The same fill, so much of it: 0 clear, 1 solid.
    pub fn clear(self, opacity: f64) -> Ink {
        Ink { fill_opacity: opacity, ..self }
    }
    /// The same outline in dashes, in percent of stature.
    pub fn dashed(self, on: f64, off: f64) -> Ink {
        Ink { dash: Some([on, off]), ..self }
    }
    /// Whether its stroke matters: halos of paper and details may be too thin to print.
    fn must_print(&self) -> bool {
        !self.detail && self.stroke.is_some_and(|(color, _)| color != Rgb::PAPER)
    }
    /// The attributes of a path. Strokes thinner than `least` are thickened, but never by more than half: a line drawing
    /// of something very wide is told, not spoiled.
    fn attributes(&self, least: f64) -> String {
        let mut out = String::new();
        match self.fill {
            Some(color) => write!(out, " fill=\"{}\"", color.hex()),
            None => write!(out, " fill=\"none\""),
        }
        .unwrap_or_default();
        if self.fill.is_some() && self.fill_opacity < 1.0 {
            write!(out, " fill-opacity=\"{}\"", decimal(self.fill_opacity, 100.0)).unwrap_or_default();
        }
        if let Some((color, width)) = self.stroke {
            let width = if self.must_print() { thickened(width, least) } else { width };
            let width = decimal(width * SCALE, 10.0);
            write!(out, " stroke=\"{}\" stroke-width=\"{width}\"", color.hex()).unwrap_or_default();
            out.push_str(" stroke-linecap=\"round\" stroke-linejoin=\"round\"");
        }
        if let Some([on, off]) = self.dash {
            let (on, off) = (decimal(on * SCALE, 10.0), decimal(off * SCALE, 10.0));
            write!(out, " stroke-dasharray=\"{on} {off}\"").unwrap_or_default();
        }
        out
    }
}

/// The thinnest stroke that prints on a card, in percent of stature, in a picture of this width.
fn least_stroke(width: f64) -> f64 {
    // A little over the limit, since widths are written in whole tenths.
    THINNEST_LINE_MM * 1.03 * width / CARD_MM
}

/// A stroke made as thick as it must be, but never by more than half.
fn thickened(width: f64, least: f64) -> f64 {
    width.max(least.min(width * 1.5))
}

/// A number with as few decimals as it needs; `steps` is 10 for one decimal, 100 for two.
pub(crate) fn decimal(value: f64, steps: f64) -> String {
    let n = (value * steps).round() as i64;
    if n == 0 {
        return "0".to_owned();
    }
    let steps = steps as i64;
    let (whole, part) = (n.abs() / steps, n.abs() % steps);
    let sign = if n < 0 { "-" } else { "" };
    if part == 0 {
        return format!("{sign}{whole}");
    }
    let digits = if steps == 10 { format!("{part}") } else { format!("{part:02}").trim_end_matches('0').to_owned() };
    if whole == 0 { format!("{sign}.{digits}") } else { format!("{sign}{whole}.{digits}") }
}

/// The finest things of a picture, in percent of stature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Finest {
    /// Width of the thinnest stroke that matters.
    pub stroke: f64,
    /// Size of the smallest mark: the length of an arrow, the width of anything else.
    pub mark: f64,
}

impl Default for Finest {
    fn default() -> Finest {
        Finest { stroke: f64::MAX, mark: f64::MAX }
    }
}

/// One thing on a canvas.
#[derive(Clone, Debug)]
enum Item {
    /// How it is inked, and its path.
    Shape(Ink, String),
    /// A group, with its tag and what else comes first.
    Open(String),
    Close,
}

/// Collects shapes in paint order.
#[derive(Clone, Debug)]
pub(crate) struct Canvas {
    items: Vec<Item>,
    /// Everything painted so far, as it will be seen.
    pub bounds: Bounds,
    /// The thinnest stroke that matters and the smallest mark, in percent of stature; very large if there is none.
    pub finest: Finest,
    flip: bool,
    /// Whether points are written to a hundredth of a percent of stature, for a close-up; else a tenth is finer than print.
    pub fine: bool,
}

impl Canvas {
    /// A canvas that shows everything in a mirror if `flip` is set; signs with a meaning stay upright.
    pub fn new(flip: bool) -> Canvas {
        Canvas { items: Vec::new(), bounds: Bounds::EMPTY, finest: Finest::default(), flip, fine: false }
    }
    fn seen(&self, p: Point) -> Point {
        if self.flip { [-p[0], p[1]] } else { p }
    }
    fn push(&mut self, data: String, ink: &Ink) {
        if data.is_empty() {
            return;
        }
        if let Some((_, width)) = ink.stroke.filter(|_| ink.must_print()) {
            self.finest.stroke = self.finest.stroke.min(width);
        }
        match self.items.last_mut() {
            Some(Item::Shape(last, d)) if last == ink && ink.fill_opacity >= 1.0 && ink.stroke.is_none() => {
                d.push_str(&data)
            }
            _ => self.items.push(Item::Shape(*ink, data)),
        }
    }
    fn ring(&self, data: &mut String, ring: &[Point], closed: bool) {
        let grain = if self.fine { 1.0 } else { 10.0 };
        let whole = |p: Point| p.map(|it| ((it * SCALE * 10.0 / grain).round() * grain) as i64);
        let mut points: Vec<[i64; 2]> = ring.iter().map(|&p| whole(self.seen(p))).collect();
        points.dedup();
        for (i, q) in points.iter().enumerate() {
            let last = if i == 0 { [0, 0] } else { points[i - 1] };
            data.push_str(match i {
                0 => "M",
                1 => "l",
                _ => "",
            });
            number(data, q[0] - last[0], i > 1);
            number(data, q[1] - last[1], true);
        }
        if closed {
            data.push('z');
        }
    }
    fn grow(&mut self, p: Point, by: f64) {
        let [x, y] = self.seen(p);
        self.bounds.add([x - by, y - by]);
        self.bounds.add([x + by, y + by]);
    }
    /// Paints a region, without its specks.
    pub fn region(&mut self, region: &Region, ink: Ink) {
        let mut data = String::new();
        let edge = ink.stroke.map_or(0.0, |it| it.1 / 2.0);
        for shape in &region.shapes {
            for (i, ring) in shape.iter().enumerate() {
                if ring_area(ring) < if i == 0 { SPECK * 2.0 } else { SPECK } {
                    if i == 0 {
                        break;
                    }
                    continue;
                }
                let ring = simplified(ring, TOLERANCE);
                self.ring(&mut data, &ring, true);
                ring.iter().for_each(|&p| self.grow(p, edge));
            }
        }
        self.push(data, &ink);
    }
    /// Paints an open line.
    pub fn line(&mut self, points: &[Point], ink: Ink) {
        let mut data = String::new();
        self.ring(&mut data, &thinned(points, TOLERANCE), false);
        let edge = ink.stroke.map_or(0.0, |it| it.1 / 2.0);
        points.iter().for_each(|&p| self.grow(p, edge));
        self.push(data, &ink);
    }
    /// Paints many open lines as one path.
    pub fn lines(&mut self, lines: &[impl AsRef<[Point]>], ink: Ink) {
        let mut data = String::new();
        for line in lines.iter().map(AsRef::as_ref) {
            self.ring(&mut data, &thinned(line, TOLERANCE), false);
            line.iter().for_each(|&p| self.grow(p, 0.0));
        }
        self.push(data, &ink);
    }
    /// Paints a circle.
    pub fn circle(&mut self, center: Point, radius: f64, ink: Ink) {
        self.grow(center, radius + ink.stroke.map_or(0.0, |it| it.1 / 2.0));
        self.push(self.round(center, radius), &ink);
    }
    /// The path data of a circle: two arcs.
    pub fn round(&self, center: Point, radius: f64) -> String {
        // From one side across and back, so that the mirror image is the same to the last digit.
        let whole = |p: Point| self.seen(p).map(|it| (it * SCALE * 10.0).round());
        let ([left, y], [right, _]) = (whole([center[0] - radius, center[1]]), whole([center[0] + radius, center[1]]));
        let number = |it: f64| decimal(it / 10.0, 10.0);
        let (r, there, back) = (number(radius * SCALE * 10.0), number(right - left), number(left - right));
        format!("M{} {}a{r} {r} 0 1 0 {there} 0a{r} {r} 0 1 0 {back} 0z", number(left), number(y))
    }
    /// Notes the size of a mark.
    pub fn mark(&mut self, size: f64) {
        self.finest.mark = self.finest.mark.min(size);
    }
    /// A sign whose shape must not be turned round in a mirror: points are offsets from the center.
    pub fn upright(&mut self, center: Point, offsets: &[Point], ink: Ink) {
        let sign = if self.flip { -1.0 } else { 1.0 };
        let points: Vec<Point> = offsets.iter().map(|p| [center[0] + sign * p[0], center[1] + p[1]]).collect();
        self.line(&points, ink);
    }
    /// Opens a group; `opening` is its tag and what else comes first.
    pub fn group(&mut self, opening: &str) {
        self.items.push(Item::Open(opening.to_owned()));
    }
    /// Closes the group.
    pub fn end_group(&mut self) {
        self.items.push(Item::Close);
    }
    /// Everything painted, as the inside of an `svg` element that will be `width` wide, in percent of stature.
    pub fn content(&self, width: f64) -> String {
        let least = least_stroke(width);
        let mut out = String::new();
        for item in &self.items {
            match item {
                Item::Open(opening) => out.push_str(opening),
                Item::Close => out.push_str("</g>"),
                Item::Shape(ink, data) => {
                    write!(out, "<path d=\"{data}\"{}/>", ink.attributes(least)).unwrap_or_default();
                }
            }
        }
        out
    }
}

/// A finished picture.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Svg {
    pub text: String,
    /// Size in percent of stature: one scale for all figures of a page.
    pub width: f64,
    pub height: f64,
    /// How far below the top the floor lies, to line frames up.
    pub floor: f64,
    /// The finest things in it.
    pub finest: Finest,
    /// Labels for the typesetter: the drawing itself holds no text.
    pub labels: Vec<Label>,
}

/// A label before it is set: its place, from the top left of the picture, in percent of stature.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Label {
    pub x: f64,
    pub y: f64,
    pub says: Said,
    pub anchor: Anchor,
}

/// What a label says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Said {
    /// A text with gaps, as the author wrote it.
    Words(String),
    /// The seconds of hold of the dose on the sheet, which no drawing knows.
    Seconds,
}

impl Label {
    /// The same label of a picture that is shown in a mirror.
    pub fn flipped(self) -> Label {
        let anchor = match self.anchor {
            Anchor::Start => Anchor::End,
            Anchor::Middle => Anchor::Middle,
            Anchor::End => Anchor::Start,
        };
        Label { x: -self.x, anchor, ..self }
    }
}

/// Frames the canvas.
pub(crate) fn finish(canvas: &Canvas, bounds: Bounds, definitions: &str) -> Svg {
    let whole = |it: f64| (it * SCALE).round();
    let (left, top) = ((bounds.left * SCALE).floor(), (bounds.top * SCALE).floor());
    let (width, height) = (whole(bounds.width()) + 1.0, whole(bounds.height()) + 1.0);
    let frame = [left, top, width, height].map(|it| decimal(it, 10.0)).join(" ");
    let mm = |it: f64| decimal(it / SCALE, 10.0);
    let text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{}mm\" height=\"{}mm\" viewBox=\"{frame}\">{definitions}{}</svg>",
        mm(width),
        mm(height),
        canvas.content(bounds.width())
    );
    Svg {
        text,
        width: width / SCALE,
        height: height / SCALE,
        floor: -top / SCALE,
        finest: Finest { stroke: thickened(canvas.finest.stroke, least_stroke(bounds.width())), ..canvas.finest },
        labels: Vec::new(),
    }
}

/// Writes hundredths of a percent as tenths with one decimal.
fn number(data: &mut String, tenths: i64, spaced: bool) {
    if spaced && tenths >= 0 {
        data.push(' ');
    }
    data.push_str(&decimal(tenths as f64 / 10.0, 10.0));
}

fn ring_area(ring: &[Point]) -> f64 {
    let mut sum = 0.0;
    for (i, a) in ring.iter().enumerate() {
        let b = ring[(i + 1) % ring.len()];
        sum += a[0] * b[1] - b[0] * a[1];
    }
    sum.abs() / 2.0
}

#[cfg(test)]
mod tests {
    use super::{Canvas, Ink, decimal};
    use crate::draw::style::Rgb;

    #[test]
    fn a_ring_that_starts_twice_in_one_place_stays_relative() {
        let mut canvas = Canvas::new(false);
        canvas.lines(&[[[50.0, 20.0], [50.01, 20.0]]], Ink::stroke(Rgb::PAPER, 1.0));
        canvas.line(&[[50.0, 20.0], [50.01, 20.0], [60.0, 20.0]], Ink::stroke(Rgb::PAPER, 1.0));
        let drawn = canvas.content(100.0);
        assert!(drawn.contains("\"M500 200\"") && drawn.contains("\"M500 200l100 0\""), "{drawn}");
    }

    #[test]
    fn numbers_are_short_and_never_minus_zero() {
        let shown = [0.0, -0.04, 0.5, -1.25, 12.0, 3.04].map(|it| decimal(it, 100.0));
        assert_eq!(shown, ["0", "-.04", ".5", "-1.25", "12", "3.04"]);
        assert_eq!(decimal(-0.04, 10.0), "0");
    }
}
