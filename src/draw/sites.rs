//! Named places on the skin: what can rest on something, be reached for, pressed or followed by an arrow.

use crate::body::Side;
use crate::draw::flesh::Blob;
use crate::draw::skeleton::{Bone, Skeleton};
use crate::draw::vector::{V3, v};

/// A named place, with its side if it has one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Site {
    pub name: &'static str,
    pub side: Option<Side>,
}

impl Site {
    /// The same place on the other side.
    pub fn mirrored(self) -> Site {
        Site { side: self.side.map(Side::other), ..self }
    }
    /// The name used in pose files, such as `left.heel`.
    pub fn full_name(self) -> String {
        match self.side {
            Some(side) => format!("{}.{}", side.key(), self.name),
            None => self.name.to_owned(),
        }
    }
    /// Plain words, such as "left heel".
    pub fn words(self) -> String {
        self.full_name().replace(['.', '_'], " ")
    }
}

/// The bone on a side; the trunk has one for both.
pub(crate) type BoneOf = fn(Side) -> Bone;
/// One blob of a site: bone, centre (left side), half-axes.
type Spot = (BoneOf, [f64; 3], [f64; 3]);
/// Name, whether each side has its own, blobs.
type SiteRow = (&'static str, bool, &'static [Spot]);

// Short names for the table below and that of the muscles.
pub(crate) const PELVIS: BoneOf = |_| Bone::Pelvis;
pub(crate) const LUMBAR: BoneOf = |_| Bone::Lumbar;
pub(crate) const DORSAL: BoneOf = |_| Bone::Dorsal;
pub(crate) const CHEST: BoneOf = |_| Bone::Chest;
pub(crate) const NECK: BoneOf = |_| Bone::Neck;
pub(crate) const HEAD: BoneOf = |_| Bone::Head;
pub(crate) const ARM: BoneOf = Bone::UpperArm;
pub(crate) const FORE: BoneOf = Bone::Forearm;
pub(crate) const HAND: BoneOf = Bone::Hand;
pub(crate) const THIGH: BoneOf = Bone::Thigh;
pub(crate) const SHANK: BoneOf = Bone::Shank;
pub(crate) const FOOT: BoneOf = Bone::Foot;
pub(crate) const TOES: BoneOf = Bone::Toes;

const BELLY: Spot = (LUMBAR, [0.6, 0.0, 3.2], [5.3, 7.3, 2.6]);
const RIBS: Spot = (DORSAL, [0.5, 0.0, 3.2], [6.3, 7.9, 3.2]);
const BREAST: Spot = (CHEST, [0.5, 0.0, 1.6], [6.9, 8.6, 3.6]);
const SKULL: Spot = (HEAD, [1.0, 0.0, 5.1], [5.4, 4.55, 5.0]);
const BASIN: Spot = (PELVIS, [-0.9, 0.0, 1.2], [5.5, 9.25, 5.1]);

const SITES: [SiteRow; 57] = [
    ("seat", false, &[(PELVIS, [-3.1, 3.9, -1.9], [5.1; 3]), (PELVIS, [-3.1, -3.9, -1.9], [5.1; 3])]),
    ("pelvis", false, &[BASIN]),
    ("belly", false, &[BELLY]),
    ("low_back", false, &[BELLY]),
    ("mid_back", false, &[RIBS]),
    ("upper_back", false, &[BREAST, (CHEST, [-0.7, 0.0, 8.7], [3.4, 3.8, 1.4])]),
    ("chest", false, &[BREAST]),
    ("breastbone", false, &[(CHEST, [3.5, 0.0, 3.0], [3.2; 3])]),
    ("neck", false, &[(NECK, [0.0, 0.0, 2.0], [2.6; 3])]),
    ("nape", false, &[(NECK, [-0.2, 0.0, 2.2], [2.7; 3])]),
    ("head", false, &[SKULL]),
    ("head_back", false, &[(HEAD, [-2.6, 0.0, 4.4], [1.8; 3])]),
    ("forehead", false, &[(HEAD, [4.2, 0.0, 5.6], [2.2; 3])]),
    ("chin", false, &[(HEAD, [4.6, 0.0, -0.4], [1.2; 3])]),
    ("nose", false, &[(HEAD, [6.55, 0.0, 2.75], [0.75; 3])]),
    ("crown", false, &[(HEAD, [1.0, 0.0, 8.5], [1.8; 3])]),
    ("navel", false, &[(LUMBAR, [4.6, 0.0, 1.0], [1.4; 3])]),
    ("heel", true, &[(FOOT, [-2.9, 0.1, -1.95], [1.95; 3])]),
    ("forefoot", true, &[(FOOT, [7.2, -1.25, -2.75], [1.15; 3])]),
    ("toe", true, &[(TOES, [2.9, -1.1, -0.15], [0.9; 3])]),
    ("sole", true, &[(FOOT, [2.5, 0.2, -3.0], [0.9; 3])]),
    ("arch", true, &[(FOOT, [2.5, -0.8, -2.6], [0.9; 3])]),
    ("ankle", true, &[(FOOT, [0.0, 0.0, 0.0], [1.95; 3])]),
    ("instep", true, &[(FOOT, [2.6, -0.1, -1.1], [1.75; 3])]),
    ("outer_foot", true, &[(FOOT, [2.0, 0.93, -2.6], [1.2; 3])]),
    ("knee", true, &[(SHANK, [0.15, 0.0, 0.0], [3.3; 3])]),
    ("knee_back", true, &[(SHANK, [0.1, 0.0, -1.0], [3.3; 3])]),
    ("shin", true, &[(SHANK, [-0.39, 0.0, -9.0], [3.2; 3])]),
    ("calf", true, &[(SHANK, [-0.75, 0.0, -8.4], [3.5; 3])]),
    ("ankle_front", true, &[(SHANK, [0.0, 0.0, -22.0], [2.0; 3])]),
    ("achilles", true, &[(SHANK, [-0.1, 0.0, -20.0], [2.02; 3])]),
    ("thigh", true, &[(THIGH, [0.4, 0.0, -13.0], [4.95; 3])]),
    ("thigh_back", true, &[(THIGH, [0.57, 0.0, -14.0], [4.8; 3])]),
    ("thigh_low", true, &[(THIGH, [0.2, 0.0, -20.0], [3.7; 3])]),
    ("thigh_outer", true, &[(THIGH, [0.4, 0.1, -13.0], [4.8; 3])]),
    ("thigh_inner", true, &[(THIGH, [0.4, -0.1, -14.0], [4.7; 3])]),
    ("hip", true, &[(THIGH, [-0.1, 0.25, -2.5], [5.65; 3])]),
    ("glute", true, &[(PELVIS, [-3.1, 4.2, -1.9], [5.1; 3])]),
    ("hip_bone", true, &[(PELVIS, [0.6, 6.6, 4.2], [2.6; 3])]),
    ("groin", true, &[(THIGH, [2.0, 0.0, -2.0], [4.0; 3])]),
    ("shoulder", true, &[(ARM, [-0.1, 0.2, 0.0], [2.82; 3])]),
    ("shoulder_top", true, &[(CHEST, [-1.6, 5.6, 7.2], [1.8; 3])]),
    ("elbow", true, &[(FORE, [0.0, 0.0, 0.0], [2.2; 3])]),
    ("forearm", true, &[(FORE, [0.0, 0.0, -10.0], [1.8; 3])]),
    ("forearm_belly", true, &[(FORE, [0.3, 0.0, -4.5], [2.2; 3])]),
    ("wrist", true, &[(HAND, [0.0, 0.0, 0.2], [1.45; 3])]),
    ("upper_arm", true, &[(ARM, [0.1, 0.1, -9.0], [2.8; 3])]),
    ("palm", true, &[(HAND, [0.0, 0.0, -4.2], [2.0, 1.0, 1.6])]),
    ("hand_back", true, &[(HAND, [0.0, 0.0, -4.2], [2.0, 1.0, 1.6])]),
    ("fingertips", true, &[(HAND, [-0.1, 0.0, -9.6], [0.8; 3])]),
    ("armpit", true, &[(CHEST, [-1.6, 3.93, 1.5], [3.8; 3])]),
    ("pec", true, &[(CHEST, [1.66, 5.2, 4.2], [3.0; 3])]),
    ("shoulder_blade", true, &[(CHEST, [-2.09, 4.6, 3.4], [3.2; 3])]),
    ("side_ribs", true, &[RIBS]),
    ("waist", true, &[(LUMBAR, [0.6, 2.6, 3.4], [4.6; 3])]),
    ("ear", true, &[(HEAD, [0.4, 4.2, 3.8], [0.6; 3])]),
    ("temple", true, &[(HEAD, [3.2, 2.6, 5.6], [1.8; 3])]),
];

/// Names of the sites, and whether each side has its own.
pub fn site_names() -> impl Iterator<Item = (&'static str, bool)> {
    SITES.iter().map(|row| (row.0, row.1))
}

fn spots(site: Site) -> &'static [Spot] {
    SITES.iter().find(|row| row.0 == site.name).map_or(&[], |row| row.2)
}

/// The blobs whose skin makes the site.
pub fn blobs(skeleton: &Skeleton, site: Site) -> Vec<Blob> {
    let side = site.side.unwrap_or(Side::Left);
    let blob =
        |(bone, center, radii): &Spot| Blob::new(skeleton, bone(side), V3(*center).sided(side.sign()), V3(*radii));
    spots(site).iter().map(blob).collect()
}

/// The middle of the site.
pub fn middle(skeleton: &Skeleton, site: Site) -> V3 {
    let blobs = blobs(skeleton, site);
    let sum = blobs.iter().fold(V3::ZERO, |sum, blob| sum + blob.center);
    sum * (1.0 / blobs.len().max(1) as f64)
}

/// The point of the site that reaches farthest along the unit vector `n`.
pub fn outermost(skeleton: &Skeleton, site: Site, n: V3) -> V3 {
    let mut best: Option<(f64, V3)> = None;
    for blob in blobs(skeleton, site) {
        let reach = blob.support(n);
        if best.is_none_or(|(most, _)| reach > most) {
            best = Some((reach, blob.outermost(n)));
        }
    }
    best.map_or(V3::ZERO, |(_, point)| point)
}

/// Where a closed hand holds a thing.
pub fn grip(skeleton: &Skeleton, side: Side) -> V3 {
    skeleton.at(Bone::Hand(side), v(0.0, -side.sign() * 1.1, -4.2))
}
