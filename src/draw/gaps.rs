//! Gaps instead of outlines: a narrow strip of paper round every nearer part, so that any tint works underneath.

use crate::draw::camera::Camera;
use crate::draw::flesh::{BodyPart, PartKind};
use crate::draw::order::{Ordered, Owner, Part};
use crate::draw::region::{Point, Region};
use crate::draw::skeleton::{Bone, Skeleton};
use crate::draw::vector::v;

/// Where two neighbouring parts flow into each other without a gap.
enum Join {
    Nowhere,
    Everywhere,
    /// Inside this disc.
    Disc(Point, f64),
}

fn join(a: BodyPart, b: BodyPart, skeleton: &Skeleton, camera: &Camera) -> Join {
    use PartKind::*;
    let (first, second) = if a.kind <= b.kind { (a, b) } else { (b, a) };
    let opposite = a.side.is_some() && b.side.is_some() && a.side != b.side;
    let disc = |bone: Bone, radius| Join::Disc(camera.flat(skeleton.origin(bone)), radius);
    if opposite {
        return match (first.kind, second.kind) {
            (Thigh, Thigh) => Join::Disc(camera.flat(skeleton.at(Bone::Pelvis, v(0.0, 0.0, -3.0))), 5.2),
            _ => Join::Nowhere,
        };
    }
    let Some(side) = a.side.or(b.side) else {
        return match (first.kind, second.kind) {
            (Pelvis, Torso) | (Torso, Neck) | (Neck, Head) => Join::Everywhere,
            _ => Join::Nowhere,
        };
    };
    match (first.kind, second.kind) {
        (Pelvis, Thigh) | (Shank, Foot) | (UpperArm, Sleeve) => Join::Everywhere,
        (Thigh, Shank) => disc(Bone::Shank(side), 4.6),
        (Torso, Sleeve) => disc(Bone::UpperArm(side), 5.4),
        (UpperArm, Forearm) => disc(Bone::Forearm(side), 3.2),
        (Forearm, Hand) => disc(Bone::Hand(side), 2.6),
        (Sleeve, Forearm) => disc(Bone::Forearm(side), 2.9),
        _ => Join::Nowhere,
    }
}

/// Removes needle-thin remains; drops pieces below this share of their part.
const OPENING: f64 = 0.28;
const CRUMB: f64 = 0.05;
/// Parts of one color whose depths differ by less flow together.
const LEVEL: f64 = 0.9;

/// What remains visible of each part after the gaps round the parts in front are cut, in the same order.
pub(crate) fn cut_gaps(ordered: &Ordered, skeleton: &Skeleton, camera: &Camera, gap: f64) -> Vec<Region> {
    let parts = &ordered.parts;
    let grown: Vec<Region> = parts.iter().map(|part| part.region.offset_plain(gap)).collect();
    let rings: Vec<Region> = parts.iter().zip(&grown).map(|(part, it)| it.difference(&part.region)).collect();
    let cut = |i: usize| {
        let part = &parts[i];
        let near = |j: &usize| part.region.bounds().meets(grown[*j].bounds());
        let strips: Vec<Region> = (i + 1..parts.len())
            .filter(near)
            .filter_map(|j| strip(ordered, i, j, &rings[j], skeleton, camera))
            .collect();
        if strips.is_empty() {
            return part.region.clone();
        }
        part.region.without(&strips).opened(OPENING).without_crumbs(CRUMB * part.region.area())
    };
    (0..parts.len()).map(cut).collect()
}

/// The strip round part `j` that is cut out of part `i` behind it.
fn strip(ordered: &Ordered, i: usize, j: usize, ring: &Region, skeleton: &Skeleton, camera: &Camera) -> Option<Region> {
    let (back, front) = (&ordered.parts[i], &ordered.parts[j]);
    let join = match (back.owner, front.owner) {
        (Owner::Prop(a), Owner::Prop(b)) if a == b => return None,
        (Owner::Body(a), Owner::Body(b)) => join(a, b, skeleton, camera),
        _ => Join::Nowhere,
    };
    let same = back.token == front.token && back.far == front.far && back.both_body(front);
    if same && ordered.in_front[j][i].is_some_and(|it| it.abs() < LEVEL) {
        return None;
    }
    match join {
        Join::Everywhere => None,
        Join::Nowhere => Some(ring.clone()),
        Join::Disc(center, radius) => Some(ring.difference(&Region::circle(center, radius))),
    }
}

/// A patch of one color: everything of one cloth and tint in one piece, or one piece of a prop.
pub(crate) struct Patch {
    /// Index of the part that last joined it.
    pub part: usize,
    pub region: Region,
}

/// Merges what has the same cloth and tint into one outline, less everything in front of it. A patch is painted at the
/// place of its nearest part.
pub(crate) fn merge(parts: &[Part], visible: &[Region], underlap: f64) -> Vec<Patch> {
    let kin = |i: usize, j: usize| {
        let (a, b) = (&parts[i], &parts[j]);
        a.both_body(b) && a.token == b.token && a.far == b.far
    };
    // A little is left under whatever lies in front, or hairlines of paper would show.
    let cutters: Vec<Region> = visible.iter().map(|it| it.offset_plain(-underlap)).collect();
    let left = |i: usize| {
        let over: Vec<Region> = (i + 1..parts.len()).filter(|&j| !kin(i, j)).map(|j| cutters[j].clone()).collect();
        visible[i].without(&over)
    };
    let rest: Vec<Region> = (0..parts.len()).map(left).collect();
    let mut patches = Vec::new();
    for i in 0..parts.len() {
        if (i + 1..parts.len()).any(|j| kin(i, j)) {
            continue;
        }
        let family: Vec<&Region> = (0..=i).filter(|&j| j == i || kin(i, j)).map(|j| &rest[j]).collect();
        let region = Region::union_all(family);
        let body = matches!(parts[i].owner, Owner::Body(_));
        patches.push(Patch { part: i, region: if body { region.opened(0.1) } else { region } });
    }
    patches
}

/// For each part, what is left of its visible region once the parts of other cloth in front are taken away.
pub(crate) fn unhidden(parts: &[Part], visible: &[Region], i: usize) -> Region {
    let (part, region) = (&parts[i], &visible[i]);
    let hides = |j: &usize| {
        let front = &parts[*j];
        !(front.token == part.token && front.both_body(part)) && front.region.bounds().meets(region.bounds())
    };
    let covers: Vec<&Region> = (i + 1..parts.len()).filter(hides).map(|j| &parts[j].region).collect();
    region.difference(&Region::union_all(covers))
}
