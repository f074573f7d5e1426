//! Hair, ears, eyes and the shadow of the nose: patches on the skull. No mouth and no brows, so the figure stays calm.

use crate::body::Side;
use crate::draw::camera::Camera;
use crate::draw::canvas::{Canvas, Ink};
use crate::draw::flesh::Blob;
use crate::draw::region::{Point, Region};
use crate::draw::silhouette::hull;
use crate::draw::skeleton::{Bone, Skeleton};
use crate::draw::style::{Rgb, Style};
use crate::draw::vector::{M3, V3, v};

const SKULL: V3 = v(1.0, 0.0, 5.1);
/// Thickest at the crown, so that a rim of hair frames a face that looks at us from below.
const HAIR: V3 = v(5.75, 4.9, 5.85);
/// Hair may stand out from the skull by this much, in percent of stature.
const HAIR_OUT: f64 = 1.05;
const HAIR_AXIS: V3 = v(-0.55, 0.0, 0.84);
const HAIR_EDGE: f64 = -0.13;
const N: usize = 160;

/// The visible part of the cap of hair, as an outline.
fn cap(skeleton: &Skeleton, camera: &Camera) -> Region {
    let frame = *skeleton.frame(Bone::Head);
    let center = skeleton.at(Bone::Head, SKULL);
    let shape = frame * M3::diagonal(HAIR.x(), HAIR.y(), HAIR.z());
    let flat = |s: V3| camera.flat(center + shape * s);
    // The way to the eye, on the unit ball of the skull: a point shows if it faces along the gradient.
    let shrink = M3::diagonal(1.0 / HAIR.x(), 1.0 / HAIR.y(), 1.0 / HAIR.z());
    let eye = (shrink * (frame.transpose() * camera.toward())).unit();
    let axis = HAIR_AXIS.unit();
    let circle = |a: V3, cosine: f64| -> Vec<V3> {
        let f = a.cross(v(0.2, 0.9, 0.4)).unit();
        let g = a.cross(f);
        let sine = (1.0 - cosine * cosine).max(0.0).sqrt();
        let point = |i: usize| {
            let (s, c) = libm::sincos(i as f64 * std::f64::consts::TAU / N as f64);
            a * cosine + (f * c + g * s) * sine
        };
        (0..N).map(point).collect()
    };
    let edge = circle(axis, HAIR_EDGE);
    let rim = circle(eye, 0.0);
    let shown = run(&edge, |s| s.dot(eye) >= 0.0);
    let mut inside = run(&rim, |s| s.dot(axis) >= HAIR_EDGE);
    let points: Vec<V3> = match (shown.len() == N, inside.len() == N) {
        (true, true) | (false, false) => {
            if let (Some(end), Some(a), Some(b)) = (shown.last(), inside.first(), inside.last())
                && (*end - *a).norm() > (*end - *b).norm()
            {
                inside.reverse();
            }
            shown.into_iter().chain(inside).collect()
        }
        (true, false) => shown,
        (false, true) => inside,
    };
    if points.len() < 3 {
        return Region::empty();
    }
    Region::polygon(points.into_iter().map(flat).collect())
}

/// The one stretch of a closed line on which something holds.
fn run(points: &[V3], holds: impl Fn(&V3) -> bool) -> Vec<V3> {
    let on: Vec<bool> = points.iter().map(holds).collect();
    let n = points.len();
    let start = (0..n).find(|&i| on[i] && !on[(i + n - 1) % n]);
    match start {
        Some(start) => (0..n).map(|k| (start + k) % n).take_while(|&i| on[i]).map(|i| points[i]).collect(),
        None if on.iter().all(|it| *it) => points.to_vec(),
        None => Vec::new(),
    }
}

/// Paints the details of the head inside what is visible of it.
pub(crate) fn paint(canvas: &mut Canvas, skeleton: &Skeleton, camera: &Camera, style: &Style, head: &Region) {
    if head.is_empty() {
        return;
    }
    let ink = style.color("ink");
    let paper = style.color("paper");
    let hair_color = if style.is_line() { ink.mix(paper, 0.25) } else { style.color("hair") };
    let hair = cap(skeleton, camera).intersection(&head.offset(HAIR_OUT)).closed(0.3).opened(0.15);
    let hair_ink = Ink::fill(hair_color);
    canvas.region(&hair, if style.is_line() { hair_ink.outlined(ink, 0.4).detail() } else { hair_ink });
    let dark = if style.is_line() { ink } else { style.color("skin").mix(Rgb([0x4a, 0x30, 0x24]), 0.45) };
    let patch =
        |center: V3, radii: V3| -> Vec<Point> { hull(&[Blob::new(skeleton, Bone::Head, center, radii)], camera) };
    for side in Side::BOTH {
        let sign = side.sign();
        if skeleton.direction(Bone::Head, v(-0.15, sign, 0.0)).dot(camera.toward()) > 0.12 {
            let ear = Region::convex(patch(v(0.2, sign * 4.25, 4.0), v(1.15, 0.45, 1.6)));
            let ear = ear.intersection(&head.offset(0.4));
            canvas.region(&ear, Ink::fill(style.cloth("skin", false)).outlined(dark, 0.4).detail());
        }
    }
    let mut eyes = Region::empty();
    for side in Side::BOTH {
        let y = side.sign() * 1.75;
        let z = 3.5;
        let square = |it: f64| it * it;
        let depth = 1.0 - square(y / 4.35) - square((z - SKULL.z()) / 4.85);
        let at = v(SKULL.x() + 5.2 * depth.max(0.0).sqrt(), y, z);
        let normal = v(at.x() - SKULL.x(), y * 1.4, (z - SKULL.z()) * 0.5).unit();
        if skeleton.direction(Bone::Head, normal).dot(camera.toward()) > 0.16 {
            eyes = eyes.union(&Region::convex(patch(at, v(0.25, 0.5, 0.62))));
        }
    }
    let eye_color = if style.is_line() { ink } else { style.color("hair").mix(Rgb([0; 3]), 0.2) };
    canvas.region(&eyes.intersection(head), Ink::fill(eye_color));
    if skeleton.direction(Bone::Head, v(1.0, 0.0, 0.0)).dot(camera.toward()) > 0.55 {
        let low = Blob::new(skeleton, Bone::Head, v(6.2, 0.0, 2.75), v(0.6, 0.75, 0.5));
        let high = Blob::new(skeleton, Bone::Head, v(5.9, 0.0, 3.4), v(0.5, 0.4, 0.4));
        let nose = Region::convex(hull(&[low, high], camera)).intersection(head);
        // Paler than the eyes, or they would be three.
        let shadow = style.color("skin").mix(dark, 0.55);
        canvas.region(&nose, Ink::fill(if style.is_line() { paper.mix(ink, 0.35) } else { shadow }));
    }
}
