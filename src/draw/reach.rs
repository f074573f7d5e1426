//! Reaching: bends one limb of two bones so that its hand or foot lands where it should.

use std::collections::BTreeMap;

use crate::body::Side;
use crate::draw::contact::Plane;
use crate::draw::motion::follow_with_girdle;
use crate::draw::pose::{Direction, End, Reach, Target, Word};
use crate::draw::sites;
use crate::draw::skeleton::{Body, Bone, FOREARM, SHANK, Skeleton, THIGH, TOE_JOINT, UPPER_ARM};
use crate::draw::vector::{M3, V3, acos, hypot, ry, rz, v};

/// Surfaces by name.
pub type Surfaces = BTreeMap<String, Plane>;

/// The middle and the end joint of a limb, the way it bends, and by how much the target is out of reach.
pub(crate) struct TwoBones {
    pub middle: V3,
    pub end: V3,
    pub pole: V3,
    pub miss: f64,
}

/// Bends two bones of these lengths toward the pole so that they end at the target, or as near as they can.
pub(crate) fn two_bones(root: V3, target: V3, upper: f64, lower: f64, pole: V3) -> TwoBones {
    let along = target - root;
    let distance = along.norm();
    let u = along.unit();
    let length = distance.clamp((upper - lower).abs() + 0.05, (upper + lower) * 0.9995);
    let c = ((upper * upper + length * length - lower * lower) / (2.0 * upper * length)).clamp(-1.0, 1.0);
    let mut p = pole.across(u);
    if p.norm() < 1e-6 {
        p = u.cross(v(0.0, 1.0, 0.0));
    }
    let p = p.unit();
    let middle = root + (u * c + p * (1.0 - c * c).sqrt()) * upper;
    TwoBones { middle, end: root + u * length, pole: p, miss: distance - length }
}

/// A frame whose -z runs along the bone and whose x is as near `ahead` as it can be.
fn frame_along(bone: V3, ahead: V3) -> M3 {
    let z = -bone.unit();
    let x = ahead.across(z).unit();
    M3::from_columns(x, z.cross(x), z)
}

fn bend_arm(body: &mut Body, side: Side, wrist: V3, pole: V3) -> f64 {
    let mut miss = 0.0;
    for _ in 0..3 {
        let skeleton = body.skeleton();
        let shoulder = skeleton.origin(Bone::UpperArm(side));
        let arm = two_bones(shoulder, wrist, UPPER_ARM, FOREARM, pole);
        let (u, w) = ((arm.middle - shoulder).unit(), (arm.end - arm.middle).unit());
        let ahead = w.across(u);
        let ahead = if ahead.norm() > 0.02 { ahead } else { -arm.pole };
        let chest = *skeleton.frame(Bone::Chest);
        body.set_turn(Bone::UpperArm(side), chest.transpose() * frame_along(u, ahead));
        body.set_turn(Bone::Forearm(side), ry(-acos(u.dot(w))));
        follow_with_girdle(body, side);
        miss = arm.miss;
    }
    miss
}

fn bend_leg(body: &mut Body, side: Side, ankle: V3, pole: V3) -> f64 {
    let skeleton = body.skeleton();
    let hip = skeleton.origin(Bone::Thigh(side));
    let leg = two_bones(hip, ankle, THIGH, SHANK, pole);
    let (u, w) = ((leg.middle - hip).unit(), (leg.end - leg.middle).unit());
    let ahead = -w.across(u);
    let ahead = if ahead.norm() > 0.02 { ahead } else { leg.pole };
    let pelvis = *skeleton.frame(Bone::Pelvis);
    body.set_turn(Bone::Thigh(side), pelvis.transpose() * frame_along(u, ahead));
    body.set_turn(Bone::Shank(side), ry(acos(u.dot(w))));
    leg.miss
}

fn turn_hand(body: &mut Body, side: Side, fingers: V3, palm: V3) {
    let f = fingers.unit();
    let y = palm.across(f).unit() * -side.sign();
    let z = -f;
    let forearm = *body.skeleton().frame(Bone::Forearm(side));
    body.set_turn(Bone::Hand(side), forearm.transpose() * M3::from_columns(y.cross(z), y, z));
}

/// The unit vector a direction stands for.
pub(crate) fn direction(skeleton: &Skeleton, way: &Direction, side: Side, follows: Bone) -> V3 {
    match way {
        Direction::Vector(it) => it.unit(),
        Direction::Words(words) => {
            words.iter().fold(V3::ZERO, |sum, it| sum + word(skeleton, *it, side, follows)).unit()
        }
    }
}

fn word(skeleton: &Skeleton, word: Word, side: Side, follows: Bone) -> V3 {
    let trunk = skeleton.frame(follows);
    let out = trunk.column(1) * side.sign();
    match word {
        Word::Up => V3::UP,
        Word::Down => -V3::UP,
        Word::North => v(1.0, 0.0, 0.0),
        Word::South => v(-1.0, 0.0, 0.0),
        Word::West => v(0.0, 1.0, 0.0),
        Word::East => v(0.0, -1.0, 0.0),
        Word::Ahead => trunk.column(0),
        Word::Behind => -trunk.column(0),
        Word::Head => trunk.column(2),
        Word::Feet => -trunk.column(2),
        Word::Out => out,
        Word::In => -out,
    }
}

fn steps(skeleton: &Skeleton, reach: &Reach, side: Side, follows: Bone) -> V3 {
    reach.by.iter().fold(V3::ZERO, |sum, (it, amount)| sum + word(skeleton, *it, side, follows) * *amount)
}

/// Puts the fixed coordinates of a reach into a point.
fn pin(reach: &Reach, side: Side, mut point: V3) -> V3 {
    let sign = if reach.sides.len() == 2 { side.sign() } else { 1.0 };
    for (i, fixed) in reach.at.iter().enumerate() {
        if let Some(value) = fixed {
            point.0[i] = if i == 1 { value * sign } else { *value };
        }
    }
    point
}

/// Carries out one reach. Returns, for each limb, by how much its target was out of reach.
pub(crate) fn carry_out(body: &mut Body, reach: &Reach, surfaces: &Surfaces) -> Vec<(End, Side, f64)> {
    let mut misses = Vec::new();
    for &side in &reach.sides {
        let miss = match reach.end {
            End::Hand => reach_hand(body, reach, side, surfaces),
            End::Foot => reach_foot(body, reach, side, surfaces),
        };
        misses.push((reach.end, side, miss));
    }
    misses
}

/// Palm centre to wrist joint.
const PALM: f64 = 4.2;

fn reach_hand(body: &mut Body, reach: &Reach, side: Side, surfaces: &Surfaces) -> f64 {
    let skeleton = body.skeleton();
    let way = |it: &Option<Direction>, or: &[Word]| match it {
        Some(it) => direction(&skeleton, it, side, Bone::Chest),
        None => direction(&skeleton, &Direction::Words(or.to_vec()), side, Bone::Chest),
    };
    let surface = match &reach.to {
        Target::Surface(name) => surfaces.get(name),
        Target::Site(_) | Target::Point => None,
    };
    let palm_site = sites::Site { name: "palm", side: Some(side) };
    let (target, normal) = match (&reach.to, surface) {
        (Target::Surface(_), Some(plane)) => {
            let mut point = sites::middle(&skeleton, palm_site);
            if let Some(from) = reach.from {
                point = sites::middle(&skeleton, from.of(side)) + steps(&skeleton, reach, side, Bone::Chest);
            }
            let point = pin(reach, side, point);
            (point - plane.n * (point.dot(plane.n) - plane.d), Some(plane.n))
        }
        (Target::Site(site), _) => {
            let n = way(&reach.side, &[Word::Up]);
            let blobs = sites::blobs(&skeleton, site.of(side));
            let middle = sites::middle(&skeleton, site.of(side));
            let out = blobs.iter().map(|blob| blob.support(n)).fold(-1e9, f64::max) - middle.dot(n);
            (middle + n * out + steps(&skeleton, reach, side, Bone::Chest), Some(n))
        }
        _ => {
            let from = reach.from.map(|it| sites::middle(&skeleton, it.of(side)));
            let start = from.unwrap_or_else(|| sites::middle(&skeleton, palm_site));
            (pin(reach, side, start + steps(&skeleton, reach, side, Bone::Chest)), None)
        }
    };
    let pole = way(&reach.bend, &[Word::Feet, Word::Behind]);
    let fixed_fingers = reach.fingers.as_ref().map(|_| way(&reach.fingers, &[]));
    let mut wrist = target;
    let mut fingers = V3::ZERO;
    let mut miss = 0.0;
    // The wrist point depends on the hand's direction and that on the forearm, so go round a few times.
    for _ in 0..4 {
        miss = bend_arm(body, side, wrist, pole);
        let along = body.skeleton().direction(Bone::Forearm(side), v(0.0, 0.0, -1.0));
        fingers = fixed_fingers.unwrap_or(along);
        wrist = match normal {
            Some(n) => {
                if fixed_fingers.is_none() {
                    fingers = fingers - n * (fingers.dot(n) * if surface.is_some() { 1.0 } else { 0.75 });
                }
                fingers = fingers.unit();
                target + n * if surface.is_some() { 1.5 } else { 1.1 } - fingers * PALM
            }
            None => target - fingers.unit() * 3.8,
        };
    }
    let palm = match (&reach.palm, normal) {
        (Some(_), _) => way(&reach.palm, &[]),
        (None, Some(n)) => -n,
        (None, None) => way(&None, &[Word::In]),
    };
    turn_hand(body, side, fingers, palm);
    miss
}

/// Ankle over a surface when the foot stands flat on it.
const SOLE: f64 = 3.92;

fn reach_foot(body: &mut Body, reach: &Reach, side: Side, surfaces: &Surfaces) -> f64 {
    let skeleton = body.skeleton();
    let way = |it: &Option<Direction>, or: &[Word]| match it {
        Some(it) => direction(&skeleton, it, side, Bone::Pelvis),
        None => direction(&skeleton, &Direction::Words(or.to_vec()), side, Bone::Pelvis),
    };
    let pole = way(&reach.bend, &[Word::Ahead]);
    if let Target::Site(site) = &reach.to {
        let n = way(&reach.side, &[Word::Up]);
        let blobs = sites::blobs(&skeleton, site.of(side));
        let middle = sites::middle(&skeleton, site.of(side));
        let out = blobs.iter().map(|blob| blob.support(n)).fold(-1e9, f64::max) - middle.dot(n);
        let ankle = middle + n * (out + reach.clear) + steps(&skeleton, reach, side, Bone::Pelvis);
        return bend_leg(body, side, ankle, pole);
    }
    let plane = match &reach.to {
        Target::Surface(name) => surfaces.get(name).copied().unwrap_or(Plane::level(0.0)),
        Target::Site(_) | Target::Point => Plane::level(0.0),
    };
    let n = plane.n;
    let from = reach.from.map(|it| sites::middle(&skeleton, it.of(side)));
    let start = from.unwrap_or_else(|| skeleton.origin(Bone::Foot(side)));
    let place = pin(reach, side, start + steps(&skeleton, reach, side, Bone::Pelvis));
    let height = SOLE + reach.lift;
    let ankle = place - n * (place.dot(n) - plane.d) + n * height;
    let mut toe = match &reach.toes {
        Some(_) => way(&reach.toes, &[]),
        None => skeleton.frame(Bone::Foot(side)).column(0),
    };
    if n.z().abs() > 0.5 && hypot(toe.x(), toe.y()) < 0.3 {
        toe = skeleton.frame(Bone::Pelvis).column(0);
    }
    let toe = (rz(side.sign() * reach.turnout) * toe).across(n).unit();
    let foot = M3::from_columns(toe, n.cross(toe), n) * ry(reach.heel);
    // A raised heel turns about the ball of the foot.
    let ball = ankle - n * height + toe * TOE_JOINT.x() + n * reach.lift;
    let ankle = ball - foot * v(TOE_JOINT.x(), 0.0, -SOLE + reach.heel * 0.008);
    let miss = bend_leg(body, side, ankle, pole);
    let shank = *body.skeleton().frame(Bone::Shank(side));
    body.set_turn(Bone::Foot(side), shank.transpose() * foot);
    body.set_turn(Bone::Toes(side), ry(-reach.heel));
    miss
}
