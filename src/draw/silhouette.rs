//! Silhouettes: the exact outline of chains of ellipsoids, seen from a camera.

use crate::draw::camera::Camera;
use crate::draw::flesh::{Blob, Chain};
use crate::draw::region::{Point, Region, simplified};

/// Directions in which an outline is sampled; 60 lose a quarter of a percent of a capsule's area.
const N: usize = 60;

/// Corners flatter than this are left out before hulls are joined, in percent of stature.
const FINE: f64 = 0.01;

fn directions() -> [Point; N] {
    std::array::from_fn(|i| {
        let (s, c) = libm::sincos(i as f64 * std::f64::consts::TAU / N as f64);
        [c, s]
    })
}

/// Projected ellipse of a blob: centre and 2 by 2 matrix.
fn ellipse(blob: &Blob, camera: &Camera) -> (Point, [f64; 3]) {
    let m = camera.axes * blob.shape;
    let (right, down) = (m.row(0), m.row(1));
    (camera.flat(blob.center), [right.dot(right), right.dot(down), down.dot(down)])
}

/// For each direction, the outermost point of one blob and how far it reaches.
fn rim(blob: &Blob, camera: &Camera, ways: &[Point; N]) -> [(f64, Point); N] {
    let (c, [a, b, d]) = ellipse(blob, camera);
    std::array::from_fn(|i| {
        let w = ways[i];
        let q = [a * w[0] + b * w[1], b * w[0] + d * w[1]];
        let h = (q[0] * w[0] + q[1] * w[1]).max(1e-12).sqrt();
        (w[0] * c[0] + w[1] * c[1] + h, [c[0] + q[0] / h, c[1] + q[1] / h])
    })
}

/// The convex hull of projected blobs. The points, in the order of their directions, are the hull already.
pub fn hull(blobs: &[Blob], camera: &Camera) -> Vec<Point> {
    let ways = directions();
    let rims: Vec<_> = blobs.iter().map(|blob| rim(blob, camera, &ways)).collect();
    hull_of(&rims.iter().collect::<Vec<_>>())
}

fn hull_of(rims: &[&[(f64, Point); N]]) -> Vec<Point> {
    let best = |i: usize| rims.iter().map(|rim| rim[i]).fold((-1e18, [0.0; 2]), |a, b| if b.0 > a.0 { b } else { a }).1;
    let mut ring: Vec<Point> = (0..N).map(best).collect();
    ring.dedup_by(|a, b| (a[0] - b[0]).abs() + (a[1] - b[1]).abs() < 1e-6);
    ring
}

/// The union of the hulls of neighbouring blobs, with creases narrower than twice `close` filled.
pub fn silhouette(chains: &[Chain], camera: &Camera, close: f64) -> Region {
    let ways = directions();
    let mut rings = Vec::new();
    for chain in chains {
        let rims: Vec<_> = chain.iter().map(|blob| rim(blob, camera, &ways)).collect();
        if rims.len() == 1 {
            rings.push(simplified(&hull_of(&[&rims[0]]), FINE));
        }
        rings.extend(rims.windows(2).map(|pair| simplified(&hull_of(&[&pair[0], &pair[1]]), FINE)));
    }
    let region = Region::union_of(&rings);
    if close > 0.0 { region.closed(close) } else { region }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::camera::View;
    use crate::draw::vector::v;

    #[test]
    fn capsule_has_the_area_it_should() {
        let camera = Camera::new(View { azimuth: 0.0, elevation: 0.0 });
        let balls = vec![Blob::ball(v(0.0, 0.0, 0.0), 3.0), Blob::ball(v(0.0, 10.0, 0.0), 3.0)];
        let area = silhouette(&[balls], &camera, 0.0).area();
        assert!((area - (60.0 + 9.0 * std::f64::consts::PI)).abs() < 0.3, "{area}");
    }
}
