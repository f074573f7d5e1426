//! Muscles: soft regions carried by the bones, shown where a stretch or effort is felt.

use crate::body::Side;
use crate::draw::flesh::{Blob, PartKind};
use crate::draw::sites::{ARM, BoneOf, CHEST, DORSAL, FOOT, FORE, HEAD, LUMBAR, NECK, PELVIS, SHANK, THIGH};
use crate::draw::skeleton::Skeleton;
use crate::draw::vector::V3;

/// A place to feel something, with its side if it has one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Muscle {
    pub name: &'static str,
    pub side: Option<Side>,
}

type Spot = (BoneOf, [f64; 3], [f64; 3]);

struct Row {
    name: &'static str,
    sided: bool,
    /// Bone, centre (left side), half-axes.
    spots: &'static [Spot],
    /// The way its skin looks (left side), in the frame of a bone.
    outward: (BoneOf, [f64; 3]),
    /// Parts of the body it may be painted on.
    on: &'static [PartKind],
}

use PartKind as P;

macro_rules! row {
    ($name:literal, $sided:literal, $outward:expr, $on:expr, $spots:expr) => {
        Row { name: $name, sided: $sided, outward: $outward, on: $on, spots: $spots }
    };
}

const TRUNK: &[PartKind] = &[P::Torso, P::Pelvis];
const SEAT: &[PartKind] = &[P::Pelvis, P::Thigh];
const GIRDLE: &[PartKind] = &[P::Sleeve, P::Torso];

#[rustfmt::skip]
const MUSCLES: &[Row] = &[
    row!("calf", true, (SHANK, [-1.0, 0.0, 0.0]), &[P::Shank],
        &[(SHANK, [-2.9, 0.0, -3.5], [1.4, 2.0, 1.6]), (SHANK, [-3.3, 0.0, -7.0], [1.7, 2.8, 2.6]), (SHANK, [-2.6, 0.0, -11.5], [1.3, 2.0, 2.0])]),
    row!("calf_low", true, (SHANK, [-1.0, 0.0, 0.0]), &[P::Shank],
        &[(SHANK, [-2.6, 0.0, -11.0], [1.4, 2.0, 2.0]), (SHANK, [-1.9, 0.0, -17.0], [1.2, 1.6, 2.0])]),
    row!("achilles", true, (SHANK, [-1.0, 0.0, 0.0]), &[P::Shank, P::Foot],
        &[(SHANK, [-2.0, 0.0, -16.0], [1.0, 1.4, 2.0]), (SHANK, [-1.6, 0.0, -22.0], [1.0, 1.2, 1.5])]),
    row!("shin", true, (SHANK, [1.0, 0.5, 0.0]), &[P::Shank],
        &[(SHANK, [2.4, 0.8, -5.0], [1.2, 1.6, 2.0]), (SHANK, [1.9, 0.5, -13.0], [1.0, 1.3, 2.0])]),
    row!("quads", true, (THIGH, [1.0, 0.0, 0.0]), &[P::Thigh],
        &[(THIGH, [4.2, 0.0, -5.0], [2.2, 3.0, 2.5]), (THIGH, [4.6, 0.0, -12.0], [2.4, 3.4, 4.0]), (THIGH, [3.6, 0.0, -19.0], [1.8, 2.5, 2.0])]),
    row!("hamstrings", true, (THIGH, [-1.0, 0.0, 0.0]), &[P::Thigh],
        &[(THIGH, [-5.0, 0.0, -6.0], [2.4, 3.0, 2.0]), (THIGH, [-4.6, 0.0, -12.0], [2.4, 3.0, 4.0]), (THIGH, [-3.6, 0.0, -20.0], [1.6, 2.3, 2.0])]),
    row!("adductors", true, (THIGH, [0.0, -1.0, 0.0]), &[P::Thigh],
        &[(THIGH, [0.5, -4.2, -3.0], [2.5, 2.0, 2.0]), (THIGH, [0.4, -4.0, -12.0], [2.0, 1.7, 3.0])]),
    row!("outer_thigh", true, (THIGH, [0.0, 1.0, 0.0]), &[P::Thigh],
        &[(THIGH, [0.0, 5.0, -4.0], [2.2, 2.0, 2.0]), (THIGH, [0.0, 4.6, -16.0], [1.8, 1.6, 3.0])]),
    row!("hip_flexor", true, (PELVIS, [1.0, 0.2, 0.0]), &[P::Thigh, P::Pelvis],
        &[(PELVIS, [4.4, 4.6, 2.4], [2.2, 2.4, 2.0]), (THIGH, [4.6, 0.0, -4.5], [2.2, 2.4, 2.6])]),
    row!("glute", true, (PELVIS, [-1.0, 0.25, 0.0]), SEAT,
        &[(PELVIS, [-5.6, 4.2, 1.2], [3.2, 3.6, 3.0]), (PELVIS, [-5.6, 4.6, -3.0], [3.0, 3.4, 2.6])]),
    // Behind the hip bone, near the back pocket.
    row!("glute_side", true, (PELVIS, [-0.8, 1.0, 0.0]), SEAT,
        &[(PELVIS, [-4.6, 6.0, 2.2], [2.4, 2.4, 2.2]), (PELVIS, [-4.2, 6.6, -1.4], [2.4, 2.2, 2.2])]),
    row!("low_back", false, (LUMBAR, [-1.0, 0.0, 0.0]), TRUNK,
        &[(PELVIS, [-5.4, 0.0, 6.0], [1.6, 3.0, 2.0]), (DORSAL, [-5.0, 0.0, 0.0], [1.6, 3.2, 2.5])]),
    row!("upper_back", false, (CHEST, [-1.0, 0.0, 0.0]), TRUNK,
        &[(CHEST, [-5.6, 0.0, 5.0], [1.8, 4.4, 2.0]), (DORSAL, [-5.2, 0.0, 4.0], [1.6, 3.4, 2.0])]),
    row!("shoulder_blade", true, (CHEST, [-1.0, 0.2, 0.0]), TRUNK,
        &[(CHEST, [-5.4, 3.4, 5.0], [1.8, 2.2, 2.0]), (DORSAL, [-5.2, 2.6, 4.4], [1.6, 2.0, 2.0])]),
    row!("upper_trap", true, (CHEST, [-0.4, 0.3, 0.8]), &[P::Torso, P::Neck],
        &[(CHEST, [-1.5, 2.8, 9.2], [2.0, 1.5, 1.6]), (CHEST, [-1.5, 7.0, 7.2], [1.9, 1.6, 1.4])]),
    row!("neck_side", true, (NECK, [-0.1, 1.0, 0.0]), &[P::Torso, P::Neck],
        &[(NECK, [-0.2, 2.2, 3.6], [1.8, 1.5, 1.8]), (CHEST, [-1.3, 3.6, 8.8], [1.8, 2.0, 1.6])]),
    row!("pec", true, (CHEST, [1.0, 0.2, 0.0]), TRUNK,
        &[(CHEST, [5.6, 2.6, 3.6], [2.2, 1.8, 2.6]), (CHEST, [4.0, 7.4, 5.2], [2.2, 1.8, 1.8])]),
    row!("lat", true, (CHEST, [-0.5, 1.0, 0.0]), TRUNK,
        &[(CHEST, [-2.2, 7.6, 1.5], [2.6, 2.0, 2.4]), (DORSAL, [-2.6, 6.6, 0.0], [2.2, 2.0, 2.6])]),
    row!("abdominals", false, (LUMBAR, [1.0, 0.0, 0.0]), &[P::Torso],
        &[(DORSAL, [6.2, 0.0, 2.0], [1.6, 3.4, 3.0]), (PELVIS, [5.6, 0.0, 5.0], [1.5, 3.2, 3.0])]),
    row!("obliques", true, (LUMBAR, [0.2, 1.0, 0.0]), TRUNK,
        &[(DORSAL, [1.2, 7.2, 1.5], [2.8, 1.7, 2.5]), (PELVIS, [0.6, 7.4, 6.5], [2.6, 1.7, 1.8])]),
    row!("shoulder", true, (ARM, [0.0, 1.0, 0.0]), GIRDLE,
        &[(ARM, [0.0, 2.0, -0.3], [2.6, 2.2, 2.4]), (ARM, [0.0, 2.2, -5.0], [2.0, 1.8, 1.8])]),
    row!("shoulder_back", true, (CHEST, [-1.0, 0.3, 0.0]), GIRDLE,
        &[(ARM, [-2.4, 1.0, 0.2], [1.6, 2.2, 2.2]), (CHEST, [-4.6, 6.6, 4.0], [1.8, 2.4, 2.2])]),
    row!("shoulder_front", true, (CHEST, [1.0, 0.3, 0.0]), GIRDLE,
        &[(ARM, [2.4, 0.6, 0.0], [1.6, 2.2, 2.4]), (ARM, [2.2, 0.4, -3.5], [1.4, 1.8, 1.8])]),
    row!("triceps", true, (ARM, [-1.0, 0.0, 0.0]), &[P::Sleeve, P::UpperArm],
        &[(ARM, [-2.2, 0.0, -6.0], [1.3, 1.8, 2.0]), (ARM, [-1.8, 0.0, -12.0], [1.1, 1.5, 2.0])]),
    row!("biceps", true, (ARM, [1.0, 0.0, 0.0]), &[P::Sleeve, P::UpperArm],
        &[(ARM, [2.2, 0.0, -7.0], [1.3, 1.8, 2.0]), (ARM, [1.8, 0.0, -12.0], [1.1, 1.5, 2.0])]),
    row!("forearm", true, (FORE, [1.0, 0.0, 0.0]), &[P::Forearm],
        &[(FORE, [1.4, 0.0, -2.5], [1.4, 1.7, 1.8]), (FORE, [1.2, 0.0, -8.0], [1.1, 1.3, 2.0])]),
    row!("neck_front", false, (NECK, [1.0, 0.0, 0.0]), &[P::Neck],
        &[(NECK, [2.2, 0.0, 0.5], [1.0, 1.5, 1.2]), (HEAD, [1.4, 0.0, -0.4], [1.0, 1.5, 1.2])]),
    row!("neck_back", false, (NECK, [-1.0, 0.0, 0.0]), &[P::Neck],
        &[(NECK, [-2.4, 0.0, 0.0], [1.1, 2.0, 1.6]), (HEAD, [-2.6, 0.0, 0.8], [1.2, 2.0, 1.4])]),
    row!("armpit", true, (CHEST, [-0.5, 1.0, 0.0]), TRUNK,
        &[(CHEST, [-3.4, 7.0, 2.2], [2.4, 2.2, 2.8])]),
    row!("sole", true, (FOOT, [0.0, 0.0, -1.0]), &[P::Foot],
        &[(FOOT, [-2.5, 0.0, -3.6], [1.5, 1.4, 0.5]), (FOOT, [6.5, 0.0, -3.8], [1.4, 2.0, 0.4])]),
    row!("arch", true, (FOOT, [0.2, -1.0, -0.4]), &[P::Foot],
        &[(FOOT, [-0.5, -1.4, -2.8], [1.6, 0.9, 1.0]), (FOOT, [4.5, -1.2, -2.7], [1.6, 0.9, 0.9])]),
    row!("front_knee", true, (SHANK, [1.0, 0.0, 0.0]), &[P::Shank, P::Thigh],
        &[(SHANK, [2.6, 0.0, 0.0], [1.2, 1.8, 2.0])]),
];

impl Muscle {
    /// Every name, and whether each side has its own.
    pub fn names() -> impl Iterator<Item = (&'static str, bool)> {
        MUSCLES.iter().map(|row| (row.name, row.sided))
    }
    /// The same on the other side.
    pub fn mirrored(self) -> Muscle {
        Muscle { side: self.side.map(Side::other), ..self }
    }
    fn row(self) -> Option<&'static Row> {
        MUSCLES.iter().find(|row| row.name == self.name)
    }
    /// The patches of skin that show it.
    pub(crate) fn blobs(self, skeleton: &Skeleton) -> Vec<Blob> {
        let side = self.side.unwrap_or(Side::Left);
        let blob =
            |(bone, center, radii): &Spot| Blob::new(skeleton, bone(side), V3(*center).sided(side.sign()), V3(*radii));
        self.row().map_or(Vec::new(), |row| row.spots.iter().map(blob).collect())
    }
    /// The way its skin looks.
    pub(crate) fn outward(self, skeleton: &Skeleton) -> V3 {
        let side = self.side.unwrap_or(Side::Left);
        self.row().map_or(V3::UP, |row| {
            let (bone, way) = row.outward;
            skeleton.direction(bone(side), V3(way).sided(side.sign()).unit())
        })
    }
    /// The parts of the body it may be painted on.
    pub(crate) fn parts(self) -> &'static [PartKind] {
        self.row().map_or(&[], |row| row.on)
    }
}
