//! The mark of an angle: an arc at a joint, between the lines that a goniometer's arms lie along.

use crate::body::Side;
use crate::draw::camera::Camera;
use crate::draw::canvas::{Canvas, Ink, Label, Said};
use crate::draw::pose::Direction;
use crate::draw::reach::direction;
use crate::draw::read::{Reader, Value};
use crate::draw::region::Point;
use crate::draw::sites::{self, BoneOf, Site, site_names};
use crate::draw::skeleton::{Bone, Skeleton};
use crate::draw::style::Style;
use crate::draw::vector::{V3, acos, hypot, sin_cos};
use crate::print::Anchor;

/// An angle between two lines from a joint.
#[derive(Clone, Debug)]
pub struct Angle {
    /// The joint: a place whose centre of motion is known.
    pub joint: Site,
    pub arms: [Arm; 2],
    /// Whether its size is printed, in degrees.
    pub degrees: bool,
    /// Radius of the arc, in percent of stature.
    pub radius: f64,
}

/// Where one of the two lines leads.
#[derive(Clone, Debug)]
pub enum Arm {
    Site(Site),
    Way(Direction),
}

/// Joints at which an angle can be marked, with the bone that turns there.
const JOINTS: [(&str, BoneOf); 7] = [
    ("hip", Bone::Thigh),
    ("knee", Bone::Shank),
    ("ankle", Bone::Foot),
    ("shoulder", Bone::UpperArm),
    ("elbow", Bone::Forearm),
    ("wrist", Bone::Hand),
    ("neck", |_| Bone::Neck),
];
pub(crate) const KEYS: [&str; 5] = ["joint", "from", "to", "degrees", "r"];
/// Usual radius of the arc, and the least, in percent of stature.
const RADIUS: f64 = 16.0;
pub(crate) const LEAST_RADIUS: f64 = 4.0;
/// How far the lines go on past the arc, in percent of stature.
const PAST: f64 = 4.0;

/// Reads the mark of an angle.
pub(crate) fn read(reader: &mut Reader, value: &Value) -> Option<Angle> {
    let (mut joint, mut from, mut to, mut degrees, mut radius) = (None, None, None, false, RADIUS);
    for (key, inner) in reader.table(value)?.iter() {
        match key.get_ref().as_ref() {
            "joint" => joint = Some(read_joint(reader, inner)?),
            "from" => from = Some(arm(reader, inner)?),
            "to" => to = Some(arm(reader, inner)?),
            "degrees" => degrees = reader.flag(inner),
            "r" => {
                radius = reader.number(inner)?;
                if radius < LEAST_RADIUS {
                    let message = format!("an angle needs an arc of at least {LEAST_RADIUS}, not {radius}");
                    reader.problem(inner.span(), message, Some(format!("leave it out for the usual {RADIUS}")));
                }
            }
            other => reader.unknown(key.span(), "key of `angle`", other, KEYS),
        }
    }
    let (Some(joint), Some(from), Some(to)) = (joint, from, to) else {
        let help = "write `{ joint = \"right.hip\", from = \"feet\", to = \"right.knee\" }`";
        reader.problem(value.span(), "an angle needs a joint and two lines, `from` and `to`", Some(help.into()));
        return None;
    };
    let leads_nowhere = |arm: &Arm| matches!(arm, Arm::Site(site) if *site == joint);
    if leads_nowhere(&from) || leads_nowhere(&to) {
        let message = format!("a line from `{0}` to `{0}` leads nowhere", joint.full_name());
        reader.problem(value.span(), message, Some("name the next joint, or a direction such as `feet`".into()));
        return None;
    }
    Some(Angle { joint, arms: [from, to], degrees, radius })
}

fn read_joint(reader: &mut Reader, value: &Value) -> Option<Site> {
    let site = reader.site(value)?;
    if !JOINTS.iter().any(|row| row.0 == site.name) {
        let names: Vec<&str> = JOINTS.iter().map(|row| row.0).collect();
        let message = format!("`{}` is no joint at which an angle can be marked", site.full_name());
        reader.problem(value.span(), message, Some(format!("take one of {}", names.join(", "))));
        return None;
    }
    Some(site)
}

/// A place on the body, or else a direction.
fn arm(reader: &mut Reader, value: &Value) -> Option<Arm> {
    let text = reader.text(value)?;
    if text.contains('.') || site_names().any(|row| row.0 == text) {
        return reader.site(value).map(Arm::Site);
    }
    reader.direction(value).map(Arm::Way)
}

/// Where a joint turns; for any other place, its middle.
fn center(skeleton: &Skeleton, site: Site) -> V3 {
    match JOINTS.iter().find(|row| row.0 == site.name) {
        Some((_, bone)) => skeleton.origin(bone(site.side.unwrap_or(Side::Left))),
        None => sites::middle(skeleton, site),
    }
}

impl Angle {
    /// Unit vectors along both lines.
    fn ways(&self, skeleton: &Skeleton) -> [V3; 2] {
        let from = center(skeleton, self.joint);
        let leg = matches!(self.joint.name, "hip" | "knee" | "ankle");
        let follows = if leg { Bone::Pelvis } else { Bone::Chest };
        self.arms.each_ref().map(|arm| match arm {
            Arm::Site(site) => (center(skeleton, *site) - from).unit(),
            Arm::Way(way) => direction(skeleton, way, self.joint.side.unwrap_or(Side::Left), follows),
        })
    }
    /// Its true size, in degrees.
    pub fn size(&self, skeleton: &Skeleton) -> f64 {
        let [a, b] = self.ways(skeleton);
        acos(a.dot(b))
    }
    /// Its size as the camera sees it, in degrees.
    pub fn seen(&self, skeleton: &Skeleton, camera: &Camera) -> f64 {
        let [a, b] = self.ways(skeleton).map(|it| camera.flat(it));
        let dot = (a[0] * b[0] + a[1] * b[1]) / (hypot(a[0], a[1]) * hypot(b[0], b[1])).max(1e-9);
        acos(dot)
    }
    /// The arc at a share of its radius, on the picture. It lies in the plane of both lines, however that is seen.
    fn arc(&self, skeleton: &Skeleton, camera: &Camera) -> Vec<Point> {
        let (c, [a, b]) = (center(skeleton, self.joint), self.ways(skeleton));
        let across = b.across(a);
        // Of a straight angle one half is as good as the other.
        let across = if across.norm() > 1e-3 { across.unit() } else { V3::UP.across(a).unit() };
        let whole = acos(a.dot(b));
        let point = |i: u32| {
            let (s, co) = sin_cos(whole * f64::from(i) / 24.0);
            camera.flat(c + (a * co + across * s) * self.radius)
        };
        (0..=24).map(point).collect()
    }
    /// Paints the arc and its two lines, and says where its size goes if that is printed.
    pub fn paint(&self, canvas: &mut Canvas, skeleton: &Skeleton, camera: &Camera, style: &Style) -> Option<Label> {
        let (paper, ink) = (style.color("paper"), style.color("ink"));
        let c = center(skeleton, self.joint);
        let ends = self.ways(skeleton).map(|it| camera.flat(c + it * (self.radius + PAST)));
        let c = camera.flat(c);
        let arc = self.arc(skeleton, camera);
        let length: f64 = arc.windows(2).map(|it| hypot(it[1][0] - it[0][0], it[1][1] - it[0][1])).sum();
        canvas.mark(length);
        canvas.lines(&ends.map(|end| [c, end]), Ink::stroke(paper, 1.7));
        canvas.line(&arc, Ink::stroke(paper, 2.6));
        canvas.lines(&ends.map(|end| [c, end]), Ink::stroke(ink, 0.7).dashed(1.6, 1.6));
        canvas.line(&arc, Ink::stroke(ink, 1.1));
        canvas.circle(c, 1.1, Ink::fill(ink).outlined(paper, 0.6));
        let middle = arc[arc.len() / 2];
        let away = [middle[0] - c[0], middle[1] - c[1]];
        let n = hypot(away[0], away[1]).max(1e-9);
        let out = |i: usize| c[i] + away[i] / n * (n + LABEL_OFF);
        let says = Said::Words(format!("{:.0}°", self.size(skeleton)));
        self.degrees.then(|| Label { x: out(0), y: out(1), says, anchor: Anchor::Middle })
    }
}

/// How far off the arc its size stands, in percent of stature.
const LABEL_OFF: f64 = 7.0;
