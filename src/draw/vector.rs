//! Points and rotations in space. Owns no unit; trigonometry goes through libm so that every machine draws the same bytes.

use std::ops::{Add, Mul, Neg, Sub};

/// A point or a direction.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct V3(pub [f64; 3]);

/// A short way to write a vector.
pub const fn v(x: f64, y: f64, z: f64) -> V3 {
    V3([x, y, z])
}

impl V3 {
    /// Nowhere.
    pub const ZERO: V3 = v(0.0, 0.0, 0.0);
    /// The way up.
    pub const UP: V3 = v(0.0, 0.0, 1.0);

    /// Ahead.
    pub fn x(self) -> f64 {
        self.0[0]
    }
    /// To the person's left.
    pub fn y(self) -> f64 {
        self.0[1]
    }
    /// Up.
    pub fn z(self) -> f64 {
        self.0[2]
    }
    /// Dot product.
    pub fn dot(self, other: V3) -> f64 {
        self.0[0] * other.0[0] + self.0[1] * other.0[1] + self.0[2] * other.0[2]
    }
    /// Cross product, right-handed.
    pub fn cross(self, o: V3) -> V3 {
        let [a, b, c] = self.0;
        let [d, e, f] = o.0;
        v(b * f - c * e, c * d - a * f, a * e - b * d)
    }
    /// Length.
    pub fn norm(self) -> f64 {
        self.dot(self).sqrt()
    }
    /// The direction; zero stays zero.
    pub fn unit(self) -> V3 {
        let n = self.norm();
        if n > 1e-9 { self * (1.0 / n) } else { V3::ZERO }
    }
    /// What is left after taking away the part along the unit vector `n`.
    pub fn across(self, n: V3) -> V3 {
        self - n * self.dot(n)
    }
    /// The same offset on the other side of the body when `sign` is -1.
    pub fn sided(self, sign: f64) -> V3 {
        v(self.0[0], self.0[1] * sign, self.0[2])
    }
    /// The point a share `t` of the way to the other.
    pub fn lerp(self, other: V3, t: f64) -> V3 {
        self * (1.0 - t) + other * t
    }
}

impl Add for V3 {
    type Output = V3;
    fn add(self, o: V3) -> V3 {
        v(self.0[0] + o.0[0], self.0[1] + o.0[1], self.0[2] + o.0[2])
    }
}
impl Sub for V3 {
    type Output = V3;
    fn sub(self, o: V3) -> V3 {
        v(self.0[0] - o.0[0], self.0[1] - o.0[1], self.0[2] - o.0[2])
    }
}
impl Neg for V3 {
    type Output = V3;
    fn neg(self) -> V3 {
        self * -1.0
    }
}
impl Mul<f64> for V3 {
    type Output = V3;
    fn mul(self, k: f64) -> V3 {
        v(self.0[0] * k, self.0[1] * k, self.0[2] * k)
    }
}

/// A 3 by 3 matrix, stored by rows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct M3(pub [[f64; 3]; 3]);

impl M3 {
    /// Turns nothing.
    pub const IDENTITY: M3 = M3::diagonal(1.0, 1.0, 1.0);

    /// Scales along the axes.
    pub const fn diagonal(a: f64, b: f64, c: f64) -> M3 {
        M3([[a, 0.0, 0.0], [0.0, b, 0.0], [0.0, 0.0, c]])
    }
    /// The matrix with these columns.
    pub fn from_columns(x: V3, y: V3, z: V3) -> M3 {
        M3([x.0, y.0, z.0]).transpose()
    }
    /// Column `i`, counted from 0.
    pub fn column(&self, i: usize) -> V3 {
        v(self.0[0][i], self.0[1][i], self.0[2][i])
    }
    /// Row `i`, counted from 0.
    pub fn row(&self, i: usize) -> V3 {
        V3(self.0[i])
    }
    /// Rows and columns exchanged; for a rotation, its inverse.
    pub fn transpose(&self) -> M3 {
        let [[a, b, c], [d, e, f], [g, h, i]] = self.0;
        M3([[a, d, g], [b, e, h], [c, f, i]])
    }
    /// Sum of the diagonal.
    pub fn trace(&self) -> f64 {
        self.0[0][0] + self.0[1][1] + self.0[2][2]
    }
    /// The matrix that takes back what this one does; none if it flattens everything.
    pub fn inverse(&self) -> Option<M3> {
        let [a, b, c] = [self.column(0), self.column(1), self.column(2)];
        let det = a.dot(b.cross(c));
        let scale = |it: V3| (it * (1.0 / det)).0;
        (det.abs() > 1e-12).then(|| M3([scale(b.cross(c)), scale(c.cross(a)), scale(a.cross(b))]))
    }
    /// Seen in a mirror that stands in the plane of symmetry of the body.
    pub fn mirrored(&self) -> M3 {
        let m = M3::diagonal(1.0, -1.0, 1.0);
        m * *self * m
    }
}

impl Mul<V3> for M3 {
    type Output = V3;
    fn mul(self, p: V3) -> V3 {
        v(self.row(0).dot(p), self.row(1).dot(p), self.row(2).dot(p))
    }
}
impl Mul<M3> for M3 {
    type Output = M3;
    fn mul(self, o: M3) -> M3 {
        let columns = o.transpose();
        M3([(columns * self.row(0)).0, (columns * self.row(1)).0, (columns * self.row(2)).0])
    }
}

/// Sine and cosine of an angle in degrees.
pub fn sin_cos(degrees: f64) -> (f64, f64) {
    libm::sincos(degrees.to_radians())
}
/// The angle whose cosine is `c`, in degrees; out-of-range input is clamped.
pub fn acos(c: f64) -> f64 {
    libm::acos(c.clamp(-1.0, 1.0)).to_degrees()
}
/// The angle whose sine is `s`, in degrees; out-of-range input is clamped.
pub fn asin(s: f64) -> f64 {
    libm::asin(s.clamp(-1.0, 1.0)).to_degrees()
}
/// The length of `(x, y)`. The standard one may differ from platform to platform.
pub fn hypot(x: f64, y: f64) -> f64 {
    (x * x + y * y).sqrt()
}
/// The angle of the direction `(x, y)`, in degrees.
pub fn atan2(y: f64, x: f64) -> f64 {
    libm::atan2(y, x).to_degrees()
}

/// Right-hand rotation about x, in degrees.
pub fn rx(degrees: f64) -> M3 {
    let (s, c) = sin_cos(degrees);
    M3([[1.0, 0.0, 0.0], [0.0, c, -s], [0.0, s, c]])
}
/// Right-hand rotation about y, in degrees.
pub fn ry(degrees: f64) -> M3 {
    let (s, c) = sin_cos(degrees);
    M3([[c, 0.0, s], [0.0, 1.0, 0.0], [-s, 0.0, c]])
}
/// Right-hand rotation about z, in degrees.
pub fn rz(degrees: f64) -> M3 {
    let (s, c) = sin_cos(degrees);
    M3([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
}

/// The rotation by `|w|` radians about `w`.
pub fn rotation(w: V3) -> M3 {
    let angle = w.norm();
    if angle < 1e-12 {
        return M3::IDENTITY;
    }
    let [x, y, z] = (w * (1.0 / angle)).0;
    let (s, c) = libm::sincos(angle);
    let t = 1.0 - c;
    M3([
        [t * x * x + c, t * x * y - s * z, t * x * z + s * y],
        [t * x * y + s * z, t * y * y + c, t * y * z - s * x],
        [t * x * z - s * y, t * y * z + s * x, t * z * z + c],
    ])
}

/// The rotation vector of a rotation, in radians; the inverse of [`rotation`].
pub fn rotation_vector(r: &M3) -> V3 {
    let angle = libm::acos(((r.trace() - 1.0) / 2.0).clamp(-1.0, 1.0));
    if angle < 1e-9 {
        return V3::ZERO;
    }
    if angle > std::f64::consts::PI - 1e-4 {
        let diagonal = [0, 1, 2].map(|i| (r.0[i][i] + 1.0) / 2.0);
        let i = (0..3).fold(0, |best, i| if diagonal[i] > diagonal[best] { i } else { best });
        let mut axis = r.column(i) * 0.5;
        axis.0[i] = diagonal[i];
        return axis.unit() * angle;
    }
    let m = &r.0;
    v(m[2][1] - m[1][2], m[0][2] - m[2][0], m[1][0] - m[0][1]) * (angle / (2.0 * libm::sin(angle)))
}

/// The rotation a share `t` of the way from `a` to `b`, by the shortest turn.
pub fn slerp(a: &M3, b: &M3, t: f64) -> M3 {
    *a * rotation(rotation_vector(&(a.transpose() * *b)) * t)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rotation_and_its_vector_are_inverses() {
        for w in [v(0.3, -0.2, 0.9), v(0.0, 3.1, 0.0), v(1e-12, 0.0, 0.0)] {
            assert!((rotation_vector(&rotation(w)) - w).norm() < 1e-6, "{w:?}");
        }
    }

    #[test]
    fn slerp_goes_half_way() {
        let half = slerp(&M3::IDENTITY, &rz(80.0), 0.5);
        assert!((half * v(1.0, 0.0, 0.0) - rz(40.0) * v(1.0, 0.0, 0.0)).norm() < 1e-12);
    }
}
