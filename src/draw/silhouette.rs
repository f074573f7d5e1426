//! Silhouettes: the exact outline of chains of ellipsoids, seen from a camera.

use crate::draw::camera::Camera;
use crate::draw::flesh::{Blob, Chain};
use crate::draw::region::{Point, Region, crosses_itself, simplified};

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
fn rim(blob: &Blob, camera: &Camera, ways: &[Point; N]) -> Rim {
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

fn hull_of(rims: &[&Rim]) -> Vec<Point> {
    let best = |i: usize| rims.iter().map(|rim| rim[i]).fold((-1e18, [0.0; 2]), |a, b| if b.0 > a.0 { b } else { a }).1;
    let mut ring: Vec<Point> = (0..N).map(best).collect();
    ring.dedup_by(|a, b| (a[0] - b[0]).abs() + (a[1] - b[1]).abs() < 1e-6);
    ring
}

/// How far the outline of a blob reaches each way, and where.
type Rim = [(f64, Point); N];

/// The union of the hulls of neighbouring blobs, with creases narrower than twice `close` filled. The blobs grow before
/// they are joined, which costs nothing; only the way back is an offset.
pub fn silhouette(chains: &[Chain], camera: &Camera, close: f64) -> Region {
    let ways = directions();
    let grown = |blob: &Blob| {
        let mut rim = rim(blob, camera, &ways);
        if close > 0.0 {
            for ((reach, point), way) in rim.iter_mut().zip(&ways) {
                *reach += close;
                *point = [point[0] + way[0] * close, point[1] + way[1] * close];
            }
        }
        rim
    };
    let mut rings = Vec::new();
    for chain in chains {
        let rims: Vec<Rim> = chain.iter().map(grown).collect();
        match walked(&rims) {
            Some(ring) => rings.push(ring),
            None => rings.extend(rims.windows(2).map(|pair| simplified(&hull_of(&[&pair[0], &pair[1]]), FINE))),
        }
    }
    // A ring that was walked does not cross itself, so one alone needs no union.
    let region = if let [_] = rings[..] { Region::convex(rings.remove(0)) } else { Region::union_of(&rings) };
    if close > 0.0 { region.offset(-close) } else { region }
}

/// The outline of a whole chain, walked along the tangents from blob to blob. None if that is not the union of the
/// hulls: where a chain is seen end-on or folds over itself.
fn walked(rims: &[Rim]) -> Option<Vec<Point>> {
    let last = rims.len().checked_sub(1)?;
    if last == 0 {
        return Some(simplified(&hull_of(&[&rims[0]]), FINE));
    }
    // For each pair, the first way in which the second blob reaches farther and the first in which it no longer does.
    let mut switches: Vec<[usize; 2]> = Vec::with_capacity(last);
    for pair in rims.windows(2) {
        let farther: [bool; N] = std::array::from_fn(|k| pair[1][k].0 > pair[0][k].0);
        let turns = |k: &usize| farther[*k] != farther[(k + N - 1) % N];
        let mut found = (0..N).filter(turns);
        let (a, b) = (found.next()?, found.next()?);
        if found.next().is_some() {
            return None;
        }
        switches.push(if farther[a] { [a, b] } else { [b, a] });
    }
    let at = |blob: usize, way: usize| rims[blob][way % N].1;
    let mut ring: Vec<Point> = Vec::with_capacity(2 * N);
    // Up one side, round the end, down the other side, round the start.
    for i in 1..=last {
        let arrival = switches[i - 1][0];
        let leave = if i == last { switches[i - 1][1] + N - 1 } else { switches[i][0] + N - 1 };
        if i == last {
            arc(&mut ring, &rims[i], arrival, (leave - arrival) % N);
        } else {
            join(&mut ring, rims, [i - 1, i, i + 1], arrival, leave, at)?;
        }
    }
    for i in (0..last).rev() {
        let arrival = switches[i][1];
        if i == 0 {
            arc(&mut ring, &rims[0], arrival, (switches[0][0] + 2 * N - 1 - arrival) % N);
        } else {
            join(&mut ring, rims, [i + 1, i, i - 1], arrival, switches[i - 1][1] + N - 1, at)?;
        }
    }
    ring.dedup_by(|a, b| (a[0] - b[0]).abs() + (a[1] - b[1]).abs() < 1e-6);
    let ring = simplified(&ring, FINE);
    if ring.len() < 3 || crosses_itself(std::iter::once(ring.as_slice())) { None } else { Some(ring) }
}

/// Adds the points of a rim from one way on, `steps` further.
fn arc(ring: &mut Vec<Point>, rim: &Rim, from: usize, steps: usize) {
    ring.extend((from..=from + steps).map(|k| rim[k % N].1));
}

/// Passes a blob in the middle of a chain: round it where the outline bends outward, else where the tangents meet.
fn join(
    ring: &mut Vec<Point>,
    rims: &[Rim],
    [before, here, after]: [usize; 3],
    arrival: usize,
    leave: usize,
    at: impl Fn(usize, usize) -> Point,
) -> Option<()> {
    let steps = (leave + N - arrival % N) % N;
    if steps < N / 2 {
        arc(ring, &rims[here], arrival, steps);
        return Some(());
    }
    let (a, b) = (at(before, arrival + N - 1), at(here, arrival));
    let (c, d) = (at(here, leave), at(after, leave + 1));
    let (p, q) = ([b[0] - a[0], b[1] - a[1]], [d[0] - c[0], d[1] - c[1]]);
    let turn = p[0] * q[1] - p[1] * q[0];
    if turn.abs() < 1e-9 {
        ring.push(b);
        return Some(());
    }
    let r = [c[0] - a[0], c[1] - a[1]];
    let (s, t) = ((r[0] * q[1] - r[1] * q[0]) / turn, (r[0] * p[1] - r[1] * p[0]) / turn);
    if !(0.0..=1.0).contains(&s) || !(0.0..=1.0).contains(&t) {
        // Neighbouring ways of a sampled rim: nearly the same point.
        if steps == N - 1 {
            ring.push(b);
            return Some(());
        }
        return None;
    }
    ring.push([a[0] + p[0] * s, a[1] + p[1] * s]);
    Some(())
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

    #[test]
    fn a_walked_outline_is_the_union_of_the_hulls() {
        let ways = directions();
        let mut walks = 0;
        for turn in -12..=12 {
            let bend = f64::from(turn) * 6.0;
            let camera = Camera::new(View { azimuth: 20.0 + bend, elevation: 10.0 });
            let (s, c) = libm::sincos(bend.to_radians());
            let chain = [
                Blob::ball(v(0.0, 0.0, 0.0), 3.0),
                Blob::ball(v(0.0, 1.0, -9.0), 2.4),
                Blob::ball(v(9.0 * s, 1.0, -9.0 - 9.0 * c), 2.8),
                Blob::ball(v(16.0 * s, 1.0, -9.0 - 16.0 * c), 1.2),
            ];
            let rims: Vec<Rim> = chain.iter().map(|it| rim(it, &camera, &ways)).collect();
            let hulls: Vec<Vec<Point>> = rims.windows(2).map(|it| hull_of(&[&it[0], &it[1]])).collect();
            let union = Region::union_of(&hulls);
            if let Some(ring) = walked(&rims) {
                let walked = Region::convex(ring);
                let differ = union.difference(&walked).area() + walked.difference(&union).area();
                assert!(differ < 0.005 * union.area(), "{bend}: {differ} of {}", union.area());
                walks += 1;
            }
        }
        assert!(walks > 15, "{walks}");
    }
}
