//! Contacts: turns and shifts the whole body until its named supports touch their surfaces.

use crate::draw::flesh::Blob;
use crate::draw::pose::Freedom;
use crate::draw::skeleton::{Body, Bone};
use crate::draw::vector::{M3, V3, rotation};

/// The edge of a solid: `n` points out of it toward the person; points `p` on it have `n.p = d`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plane {
    pub n: V3,
    pub d: f64,
}

impl Plane {
    /// A level surface at a height over the floor.
    pub fn level(height: f64) -> Plane {
        Plane { n: V3::UP, d: height }
    }
    /// How far the lowest of the blobs is off the plane; negative when it is inside the solid.
    pub fn clearance(&self, blobs: &[Blob]) -> f64 {
        blobs.iter().map(|blob| -blob.support(-self.n)).fold(1e9, f64::min) - self.d
    }
    /// Whether it is closer to upright than to level.
    pub fn is_wall(&self) -> bool {
        self.n.z().abs() < 0.5
    }
}

/// Blobs of one support, in the frame of the pelvis, and the plane they must touch.
pub(crate) struct Support {
    pub blobs: Vec<Blob>,
    pub plane: Plane,
}

/// A point of the body that is held over a place of the floor, in the frame of the pelvis.
pub(crate) struct Anchor {
    pub point: V3,
    pub target: [f64; 3],
    /// Which of x and y are held.
    pub axes: [bool; 2],
}

const MAX_STEPS: usize = 40;
/// How hard the authored posture pulls, pass by pass.
const PULLS: [f64; 3] = [0.12, 0.01, 0.001];
const LOCKED_WEIGHT: f64 = 40.0;
const ANCHOR_WEIGHT: f64 = 0.3;
const N: usize = 6;

/// Levenberg-Marquardt on the six unknowns of the root. The body moves as one rigid piece, so nothing is placed anew.
pub(crate) fn settle(body: &mut Body, supports: &[Support], anchor: Option<&Anchor>, freedom: Freedom) {
    if supports.is_empty() {
        return;
    }
    let start = *body.turn(Bone::Pelvis);
    let root = body.root;
    let pose = |x: &[f64; N]| (rotation(V3([x[0], x[1], x[2]])) * start, root + V3([x[3], x[4], x[5]]) * 10.0);
    let locked = [!freedom.tilt, !freedom.lean, !freedom.turn];
    let residuals = |x: &[f64; N], pull: f64, out: &mut Vec<f64>| {
        out.clear();
        let (turn, shift) = pose(x);
        for support in supports {
            let n = turn.transpose() * support.plane.n;
            let local = Plane { n, d: support.plane.d - support.plane.n.dot(shift) };
            out.push(local.clearance(&support.blobs));
        }
        if let Some(anchor) = anchor {
            let p = turn * anchor.point + shift;
            for i in 0..2 {
                if anchor.axes[i] {
                    out.push(ANCHOR_WEIGHT * (p.0[i] - anchor.target[i]));
                }
            }
        }
        for (i, hard) in locked.iter().enumerate() {
            let weight = if *hard { LOCKED_WEIGHT } else { 6.0 * pull * [1.0, 1.0, 2.2][i] };
            out.push(x[i] * weight);
        }
        for value in &x[3..] {
            out.push(value * pull * 0.3);
        }
    };
    let mut x = [0.0; N];
    let mut damping = 1e-2;
    let (mut r, mut tried) = (Vec::new(), Vec::new());
    let mut columns: [Vec<f64>; N] = Default::default();
    for pull in PULLS {
        residuals(&x, pull, &mut r);
        for _ in 0..MAX_STEPS {
            let step = 1e-4;
            for (i, column) in columns.iter_mut().enumerate() {
                let mut nudged = x;
                nudged[i] += step;
                residuals(&nudged, pull, &mut tried);
                column.clear();
                column.extend(tried.iter().zip(&r).map(|(a, b)| (a - b) / step));
            }
            let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(p, q)| p * q).sum::<f64>();
            let mut matrix = [[0.0; N + 1]; N];
            for i in 0..N {
                for j in 0..N {
                    matrix[i][j] = dot(&columns[i], &columns[j]) + if i == j { damping } else { 0.0 };
                }
                matrix[i][N] = -dot(&columns[i], &r);
            }
            let change = solve(matrix);
            let mut next = x;
            next.iter_mut().zip(change).for_each(|(value, by)| *value += by);
            residuals(&next, pull, &mut tried);
            let done = if dot(&tried, &tried) < dot(&r, &r) {
                x = next;
                damping = f64::max(damping * 0.3, 1e-7);
                std::mem::swap(&mut r, &mut tried);
                dot(&change, &change) < 1e-14
            } else {
                damping *= 6.0;
                damping > 1e6
            };
            if done {
                break;
            }
        }
    }
    let (turn, shift) = pose(&x);
    body.set_turn(Bone::Pelvis, turn);
    body.root = shift;
}

/// Gaussian elimination with row exchange on a matrix with its right side as last column.
fn solve(mut m: [[f64; N + 1]; N]) -> [f64; N] {
    for i in 0..N {
        let pivot = (i..N).fold(i, |best, k| if m[k][i].abs() > m[best][i].abs() { k } else { best });
        m.swap(i, pivot);
        let row = m[i];
        if row[i].abs() < 1e-14 {
            continue;
        }
        for (k, other) in m.iter_mut().enumerate() {
            if k != i {
                let share = other[i] / row[i];
                other.iter_mut().zip(row).for_each(|(a, b)| *a -= share * b);
            }
        }
    }
    std::array::from_fn(|i| if m[i][i].abs() < 1e-14 { 0.0 } else { m[i][N] / m[i][i] })
}

/// Moves a blob of the room into the frame of the pelvis.
pub(crate) fn into_pelvis(blob: &Blob, turn: &M3, root: V3) -> Blob {
    Blob { center: turn.transpose() * (blob.center - root), shape: turn.transpose() * blob.shape }
}
