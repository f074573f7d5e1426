//! Lines with fewer points that look the same.

use crate::draw::region::Point;
use crate::draw::vector::hypot;

/// A closed line with the points that carry no shape left out.
pub(crate) fn simplified(ring: &[Point], tolerance: f64) -> Vec<Point> {
    if ring.len() < 8 {
        return ring.to_vec();
    }
    let far = |from: usize| {
        let away = |i: usize| hypot(ring[i][0] - ring[from][0], ring[i][1] - ring[from][1]);
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
        let length = hypot(dx, dy);
        let (mut worst, mut most) = (a, tolerance);
        for (i, r) in line.iter().enumerate().take(b).skip(a + 1) {
            let (ex, ey) = (r[0] - p[0], r[1] - p[1]);
            let off = if length < 1e-9 { hypot(ex, ey) } else { (dx * ey - dy * ex).abs() / length };
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
