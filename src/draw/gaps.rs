//! Gaps instead of outlines: a narrow strip round every nearer part. Round a thing it is paper, so that any tint works
//! underneath; where one part of the body lies over another it is a seam in a tone of the cloth behind, or an arm before
//! a shirt would tear it to pieces.

use std::borrow::Cow;

use crate::body::Side;
use crate::draw::camera::Camera;
use crate::draw::flesh::{BodyPart, PartKind, shoulder};
use crate::draw::order::{Ordered, Owner, Part};
use crate::draw::region::{Bounds, Point, Region};
use crate::draw::silhouette::silhouette;
use crate::draw::skeleton::{Bone, Skeleton};
use crate::draw::vector::v;

/// Where two neighbouring parts flow into each other without a gap.
enum Join {
    Nowhere,
    Everywhere,
    /// Inside this disc.
    Disc(Point, f64),
    /// Inside a disc round the shoulder of this side, and on the cloth that shirt and sleeve share.
    Shoulder(Side),
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
        (Torso, Sleeve) => Join::Shoulder(side),
        (UpperArm, Forearm) => disc(Bone::Forearm(side), 3.2),
        (Forearm, Hand) => disc(Bone::Hand(side), 2.6),
        (Sleeve, Forearm) => disc(Bone::Forearm(side), 2.9),
        _ => Join::Nowhere,
    }
}

/// Radius of the disc round a shoulder in which shirt and sleeve are one.
const SHOULDER: f64 = 5.4;
/// How wide a notch is filled where that disc meets the shared cloth.
const SHOULDER_CREASE: f64 = 1.5;
/// Removes needle-thin remains; drops pieces below this share of their part.
const OPENING: f64 = 0.28;
const CRUMB: f64 = 0.05;
/// A piece of a limb smaller than this is a scrap, in square percent of stature, if less than this share of it is seen.
const SCRAP: f64 = 6.0;
const MOSTLY_HIDDEN: f64 = 0.5;
/// Parts of one color whose depths differ by less flow together.
const LEVEL: f64 = 0.9;
/// The same for a sleeve behind the trunk: a line across the shoulder of a hanging arm would look like a tear.
const LEVEL_SHOULDER: f64 = 1.15;

/// How far the seam of a part of which pieces were dropped reaches under the part in front.
const SEAM_UNDER: f64 = 0.2;
/// Pieces of a seam smaller than this are not seen.
const SPECK: f64 = 0.02;
/// More than this, in square percent of stature, is a piece; less are needles that a seam takes up.
const DROPPED: f64 = 0.6;

/// What remains visible of each part, back to front.
pub(crate) struct Visible {
    pub regions: Vec<Region>,
    /// What remains of each part together with its seams; empty where the body cuts nothing off.
    seams: Vec<Region>,
    /// `cleared[i]`: the parts in front under which nothing of part i is left.
    cleared: Vec<Vec<usize>>,
}

/// How a part in front cuts one behind it.
enum Cut {
    No,
    /// Everything under it and a strip round it goes.
    All,
    /// The same, but in this place the two flow together.
    Outside(Region),
}

/// What remains visible of each part after the gaps round the parts in front are cut, in the same order. What lies
/// hidden under a part goes with its gap: one cut does for both.
pub(crate) fn cut_gaps(ordered: &Ordered, skeleton: &Skeleton, camera: &Camera, gap: f64) -> Visible {
    let parts = &ordered.parts;
    let grown: Vec<Region> = parts.iter().map(|part| part.region.offset(gap)).collect();
    let bounds: Vec<Bounds> = parts.iter().map(|part| part.region.bounds()).collect();
    let mut cleared = vec![Vec::new(); parts.len()];
    let mut regions = Vec::with_capacity(parts.len());
    // Of parts that other parts of the body cut: the things that cut them too.
    let mut sewn: Vec<(usize, Vec<usize>, f64)> = Vec::new();
    for (i, part) in parts.iter().enumerate() {
        let mut cutters: Vec<Cow<Region>> = Vec::new();
        let (mut things, mut bodily) = (Vec::new(), false);
        for j in i + 1..parts.len() {
            if !bounds[i].meets(bounds[j].grow(gap)) {
                continue;
            }
            let cut = how_cut(ordered, i, j, skeleton, camera, gap);
            match (part.both_body(&parts[j]), &cut) {
                (_, Cut::No) => {}
                (true, _) => bodily = true,
                (false, _) => things.push(j),
            }
            match cut {
                Cut::No => {}
                Cut::All => {
                    cutters.push(Cow::Borrowed(&grown[j]));
                    cleared[i].push(j);
                }
                Cut::Outside(place) => cutters.push(Cow::Owned(grown[j].difference(&place))),
            }
        }
        if cutters.is_empty() {
            regions.push(part.region.clone());
            continue;
        }
        let whole = part.region.area();
        let cut = part.region.without(cutters.iter().map(AsRef::as_ref));
        if bodily {
            sewn.push((i, things, cut.area()));
        }
        let left = cut.opened(OPENING);
        // Pieces of the trunk between two arms stay: without them one would see through it.
        if matches!(part.owner, Owner::Body(BodyPart { kind: PartKind::Torso, .. })) {
            regions.push(left);
            continue;
        }
        // The largest piece counts even if it is small, unless most of the part is hidden.
        let hidden = whole - left.area();
        regions.push(if hidden > 0.5 * whole {
            left.without_pieces(CRUMB * whole)
        } else {
            left.without_crumbs(CRUMB * whole)
        });
    }
    drop_scraps(parts, &mut regions);
    let mut seams = vec![Region::empty(); parts.len()];
    for (i, things, area) in sewn {
        let outside = parts[i].region.without(things.iter().map(|&j| &grown[j]));
        // What was dropped leaves no seam either.
        let dropped = area - regions[i].area() > DROPPED;
        seams[i] = if dropped { regions[i].offset(gap + SEAM_UNDER).intersection(&outside) } else { outside };
    }
    Visible { regions, seams, cleared }
}

/// Drops what peeps out of a limb that is mostly hidden: nobody can tell what such a scrap belongs to.
fn drop_scraps(parts: &[Part], regions: &mut [Region]) {
    for side in Side::BOTH {
        for leg in [false, true] {
            let of_limb = |part: &Part| match part.owner {
                Owner::Body(it) => it.side == Some(side) && it.is_leg() == leg,
                Owner::Prop(_) => false,
            };
            let limb: Vec<usize> = (0..parts.len()).filter(|&i| of_limb(&parts[i])).collect();
            let whole: f64 = limb.iter().map(|&i| parts[i].region.area()).sum();
            let seen: f64 = limb.iter().map(|&i| regions[i].area()).sum();
            if seen > MOSTLY_HIDDEN * whole {
                continue;
            }
            let pieces = Region::union_all(limb.iter().map(|&i| &regions[i]));
            let scraps = pieces.difference(&pieces.without_pieces(SCRAP)).offset(0.05);
            if !scraps.is_empty() {
                limb.iter().for_each(|&i| regions[i] = regions[i].difference(&scraps));
            }
        }
    }
}

/// How part `j` cuts part `i` behind it.
fn how_cut(ordered: &Ordered, i: usize, j: usize, skeleton: &Skeleton, camera: &Camera, gap: f64) -> Cut {
    let (back, front) = (&ordered.parts[i], &ordered.parts[j]);
    let join = match (back.owner, front.owner) {
        (Owner::Prop(a), Owner::Prop(b)) if a == b => return Cut::No,
        (Owner::Body(a), Owner::Body(b)) => join(a, b, skeleton, camera),
        _ if back.holds(front) => return Cut::No,
        _ => Join::Nowhere,
    };
    let level = match (back.owner, front.owner) {
        (Owner::Body(a), Owner::Body(b)) if (a.kind, b.kind) == (PartKind::Sleeve, PartKind::Torso) => LEVEL_SHOULDER,
        _ => LEVEL,
    };
    // Skin or a far limb before dark cloth stands out by itself.
    let dark = matches!(back.token, "bottom" | "hair") && !back.far;
    if dark && back.both_body(front) && !back.is_kin(front) {
        return Cut::No;
    }
    if back.is_kin(front) && ordered.in_front[j][i].is_some_and(|it| it.abs() < level) {
        return Cut::No;
    }
    match join {
        Join::Everywhere => Cut::No,
        Join::Nowhere => Cut::All,
        Join::Disc(center, radius) => Cut::Outside(Region::circle(center, radius)),
        Join::Shoulder(side) => {
            let disc = Region::circle(camera.flat(skeleton.origin(Bone::UpperArm(side))), SHOULDER);
            let shared = silhouette(&shoulder(skeleton, side), camera, 0.0).offset(gap + 0.1);
            Cut::Outside(disc.union(&shared).closed(SHOULDER_CREASE))
        }
    }
}

/// A patch of one color: everything of one cloth and tint in one piece, or one piece of a prop.
pub(crate) struct Patch {
    /// Index of the part that last joined it.
    pub part: usize,
    pub region: Region,
    /// Where other parts of the body lie over it.
    pub seams: Region,
}

/// Merges what has the same cloth and tint into one outline. A patch is painted at the place of its nearest part, so
/// it must leave out what lies in front of its other parts and is painted sooner.
pub(crate) fn merge(parts: &[Part], visible: &Visible, underlap: f64) -> Vec<Patch> {
    // When each part is painted: with the nearest of its kin.
    let turn: Vec<usize> = (0..parts.len())
        .map(|i| (i..parts.len()).rfind(|&j| j == i || parts[i].is_kin(&parts[j])).unwrap_or(i))
        .collect();
    let mut cutters: Vec<Option<Region>> = vec![None; parts.len()];
    let mut patches = Vec::new();
    for last in 0..parts.len() {
        if turn[last] != last {
            continue;
        }
        let (mut family, mut seams): (Vec<Region>, Vec<Region>) = (Vec::new(), Vec::new());
        for i in (0..=last).filter(|&i| turn[i] == last) {
            let sooner = |j: &usize| turn[*j] < last && !visible.cleared[i].contains(j);
            let over: Vec<usize> = (i + 1..last).filter(sooner).collect();
            let sewn = !visible.seams[i].is_empty();
            let under: Vec<usize> = (i + 1..last).filter(|&j| sewn && turn[j] < last).collect();
            for &j in over.iter().chain(&under) {
                // A little is left under whatever lies in front, or hairlines of paper would show.
                cutters[j].get_or_insert_with(|| visible.regions[j].offset(-underlap));
            }
            let cutting = |of: &[usize]| of.iter().filter_map(|&j| cutters[j].as_ref()).collect::<Vec<_>>();
            family.push(visible.regions[i].without(cutting(&over)));
            if sewn {
                seams.push(visible.seams[i].without(cutting(&under)));
            }
        }
        let region = Region::union_all(&family);
        let body = matches!(parts[last].owner, Owner::Body(_));
        let region = if body { region.opened(0.1) } else { region };
        let seams = if seams.is_empty() {
            Region::empty()
        } else {
            Region::union_all(&seams).difference(&region).without_pieces(SPECK)
        };
        patches.push(Patch { part: last, region, seams });
    }
    patches
}

/// For each part, what is left of its visible region once the parts of other cloth in front are taken away.
pub(crate) fn unhidden(parts: &[Part], visible: &Visible, i: usize) -> Region {
    let hides = |j: &usize| {
        let front = &parts[*j];
        let one_cloth = front.token == parts[i].token && front.both_body(&parts[i]);
        !one_cloth && !visible.cleared[i].contains(j)
    };
    visible.regions[i].without((i + 1..parts.len()).filter(hides).map(|j| &parts[j].region))
}
