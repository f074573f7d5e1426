//! The camera: an orthographic look at the room. Picture x runs right, picture y runs down.

use crate::draw::vector::{M3, V3, sin_cos, v};

/// A direction to look from, in degrees.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    /// 0 from the front, 90 from the person's left, -90 from the right, 180 from behind.
    pub azimuth: f64,
    /// 0 level, 90 from straight above.
    pub elevation: f64,
}

/// View words that pose files may use.
pub const VIEWS: [(&str, View); 9] = [
    ("front", View { azimuth: 0.0, elevation: 0.0 }),
    ("left", View { azimuth: 90.0, elevation: 0.0 }),
    ("right", View { azimuth: -90.0, elevation: 0.0 }),
    ("back", View { azimuth: 180.0, elevation: 0.0 }),
    ("front-left", View { azimuth: 45.0, elevation: 8.0 }),
    ("front-right", View { azimuth: -45.0, elevation: 8.0 }),
    ("back-left", View { azimuth: 135.0, elevation: 8.0 }),
    ("back-right", View { azimuth: -135.0, elevation: 8.0 }),
    ("top", View { azimuth: 0.0, elevation: 89.9 }),
];

/// A view ready to project with.
#[derive(Clone, Copy, Debug)]
pub struct Camera {
    pub view: View,
    /// Rows: picture right, picture down, toward the eye.
    pub axes: M3,
}

impl Camera {
    /// The camera that looks from `view`.
    pub fn new(view: View) -> Camera {
        let (sa, ca) = sin_cos(view.azimuth);
        let (se, ce) = sin_cos(view.elevation);
        let toward = v(ce * ca, ce * sa, se);
        let right = v(-sa, ca, 0.0);
        let up = toward.cross(right);
        Camera { view, axes: M3([right.0, (-up).0, toward.0]) }
    }
    /// The unit vector from the scene to the eye.
    pub fn toward(&self) -> V3 {
        self.axes.row(2)
    }
    /// A point of the room on the picture.
    pub fn flat(&self, p: V3) -> [f64; 2] {
        [self.axes.row(0).dot(p), self.axes.row(1).dot(p)]
    }
    /// How near a point is; bigger is nearer.
    pub fn depth(&self, p: V3) -> f64 {
        self.toward().dot(p)
    }
    /// Whether the floor shows as a line.
    pub fn is_level(&self) -> bool {
        self.view.elevation < 3.0
    }
    /// Whether walls across x show edge-on.
    pub fn is_square_to_side(&self) -> bool {
        self.toward().y().abs() > 0.985
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(azimuth: f64, p: V3, want: [f64; 2]) {
        let got = Camera::new(View { azimuth, elevation: 0.0 }).flat(p);
        assert!((got[0] - want[0]).abs() + (got[1] - want[1]).abs() < 1e-9, "{got:?}");
    }

    #[test]
    fn from_the_right_the_person_faces_picture_right() {
        check(-90.0, v(1.0, 0.0, 0.0), [1.0, 0.0]);
        check(-90.0, V3::UP, [0.0, -1.0]);
    }

    #[test]
    fn from_the_front_their_left_is_picture_right() {
        check(0.0, v(0.0, 1.0, 0.0), [1.0, 0.0]);
    }

    #[test]
    fn axes_are_right_handed() {
        let camera = Camera::new(View { azimuth: 33.0, elevation: 21.0 });
        let (right, up) = (camera.axes.row(0), -camera.axes.row(1));
        assert!((right.cross(up) - camera.toward()).norm() < 1e-12);
    }
}
