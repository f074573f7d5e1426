//! From a picture as written to frames in which every joint, contact and arrow has its place.

use crate::body::Side;
use crate::draw::camera::View;
use crate::draw::contact::{Anchor, Plane, Support, into_pelvis, settle};
use crate::draw::facts::{Facts, facts};
use crate::draw::lint::{Lint, lints};
use crate::draw::motion::{Angles, angles_of, body_from};
use crate::draw::picture::{Crop, Frame, Marks, Picture, Prop, PropKind, Verdict};
use crate::draw::pose::{End, Pose, Reach, Target};
use crate::draw::reach::{Surfaces, carry_out};
use crate::draw::sites::{self, Site};
use crate::draw::skeleton::{Body, Bone, Skeleton};
use crate::draw::vector::{V3, rx, ry, v};

/// A support after solving.
#[derive(Clone, Debug)]
pub struct Contact {
    pub site: Site,
    pub surface: String,
    /// How far the skin is off the surface, in percent of stature; negative when inside.
    pub gap: f64,
    pub wall: bool,
}

/// A frame in which everything has its place. Drawing it needs nothing else.
#[derive(Clone, Debug)]
pub struct SolvedFrame {
    /// The body on the side the author wrote; ask [`SolvedFrame::body`] for the side that was asked for.
    pub(crate) authored: Body,
    pub(crate) skeleton: Skeleton,
    pub(crate) surfaces: Surfaces,
    pub(crate) pose: Pose,
    pub(crate) view: View,
    pub(crate) props: Vec<Prop>,
    pub(crate) marks: Marks,
    /// The path of each arrow's site through the room.
    pub(crate) paths: Vec<Vec<V3>>,
    pub(crate) ghost: Option<Skeleton>,
    pub(crate) crop: Option<(Crop, V3)>,
    /// The floor the mat of all frames covers: least x, least y, most x, most y.
    pub(crate) ground: [f64; 4],
    pub(crate) caption: Option<String>,
    pub(crate) sign: Option<String>,
    pub(crate) rungs: Vec<usize>,
    pub(crate) flipped: bool,
    pub(crate) supports: Vec<Contact>,
    /// By how much each hand or foot misses its target, in percent of stature.
    pub(crate) misses: Vec<(End, Side, f64)>,
    pub(crate) number: usize,
    pub(crate) allow: Vec<String>,
}

impl SolvedFrame {
    /// Whether it shows the other side than the author wrote.
    #[cfg(test)]
    pub fn is_mirrored(&self) -> bool {
        self.flipped
    }
    /// All that can be seen in it, as text: whatever changes the drawing changes this.
    pub fn described(&self) -> String {
        let mut marks = self.marks.clone();
        // Where a label is written in its file cannot be seen.
        marks.distances.iter_mut().for_each(|it| it.at = 0..0);
        let ghost = self.ghost.as_ref().map(|it| Bone::ALL.map(|bone| it.origin(bone)));
        let Self { authored, view, props, paths, crop, ground, caption, sign, .. } = self;
        format!("{authored:?}{view:?}{props:?}{marks:?}{paths:?}{ghost:?}{crop:?}{ground:?}{caption:?}{sign:?}")
    }
    /// Whether it shows how not to do it.
    pub fn is_wrong(&self) -> bool {
        self.marks.verdict == Some(Verdict::Bad)
    }
    /// Whether it shows a rung, counted from 1.
    pub fn shows(&self, rung: usize) -> bool {
        self.rungs.is_empty() || self.rungs.contains(&rung)
    }
    /// The body on the side that is shown.
    pub fn body(&self) -> Body {
        if self.flipped { self.authored.mirrored() } else { self.authored.clone() }
    }
    /// Its joint angles.
    pub fn angles(&self) -> Angles {
        angles_of(&self.body())
    }
    /// What rests on what, on the side that is shown.
    pub fn contacts(&self) -> Vec<Contact> {
        let turned = |it: &Contact| Contact { site: self.site(it.site), ..it.clone() };
        self.supports.iter().map(turned).collect()
    }
    /// Whether a palm lies on something of the room.
    pub(crate) fn touches_with_hands(&self) -> bool {
        let reaches = |it: &Reach| it.end == End::Hand && matches!(it.to, Target::Surface(_));
        self.pose.reach.iter().any(reaches) || self.supports.iter().any(|it| it.site.name == "palm")
    }
    /// What it shows, in terms of rules.
    pub fn facts(&self) -> Facts {
        facts(self)
    }
    /// What is doubtful about the frame itself; [`crate::draw::lint::alike`] compares frames.
    pub fn lints(&self) -> Vec<Lint> {
        lints(self)
    }
    /// A site named on the side the author wrote, on the side that is shown.
    pub(crate) fn site(&self, site: Site) -> Site {
        if self.flipped { site.mirrored() } else { site }
    }
    /// A side as written, as it is shown.
    pub(crate) fn side(&self, side: Side) -> Side {
        if self.flipped { side.other() } else { side }
    }
}

/// Solves every frame of a picture and shows it on `side`. The other side is the mirror image; nothing is solved twice.
pub fn solve(picture: &Picture, side: Option<Side>) -> Vec<SolvedFrame> {
    let flipped = picture.authored.is_some() && side.is_some() && picture.authored != side;
    let solved: Vec<Placed> = picture.frames.iter().map(|frame| place(&frame.pose, &picture.props)).collect();
    let ground = ground(&solved);
    let crop = picture.crop.map(|it| (it, sites::middle(&solved[0].skeleton, it.site)));
    let frame = |(i, (frame, placed)): (usize, (&Frame, &Placed))| {
        let path = |arrow: &crate::draw::picture::Arrow| {
            let to = arrow.to.map_or(i + 1, |it| it - 1);
            path_of(&placed.body, &solved[to.min(solved.len() - 1)].body, arrow.site)
        };
        SolvedFrame {
            authored: placed.body.clone(),
            skeleton: placed.skeleton.clone(),
            surfaces: placed.surfaces.clone(),
            pose: frame.pose.clone(),
            view: frame.view.unwrap_or(picture.view),
            props: picture
                .props
                .iter()
                .filter(|it| it.frames.is_empty() || it.frames.contains(&(i + 1)))
                .cloned()
                .collect(),
            marks: frame.marks.clone(),
            paths: frame.marks.arrows.iter().map(path).collect(),
            ghost: frame.marks.ghost.map(|it| solved[it - 1].skeleton.clone()),
            crop,
            ground,
            caption: frame.caption.clone(),
            sign: frame.sign.clone(),
            rungs: frame.rungs.clone(),
            flipped,
            supports: placed.contacts.clone(),
            misses: placed.misses.clone(),
            number: i + 1,
            allow: frame.allow.clone(),
        }
    };
    picture.frames.iter().zip(&solved).enumerate().map(frame).collect()
}

/// A body that has settled and reached.
pub(crate) struct Placed {
    pub body: Body,
    pub skeleton: Skeleton,
    pub surfaces: Surfaces,
    pub contacts: Vec<Contact>,
    pub misses: Vec<(End, Side, f64)>,
}

const PATH_STEPS: usize = 20;

/// The way a site really takes: each joint turns along its arc.
fn path_of(from: &Body, to: &Body, site: Site) -> Vec<V3> {
    let point = |i: usize| sites::middle(&from.toward(to, i as f64 / PATH_STEPS as f64).skeleton(), site);
    (0..=PATH_STEPS).map(point).collect()
}

/// The floor under everything near it, with a margin.
fn ground(solved: &[Placed]) -> [f64; 4] {
    const NEAR: f64 = 45.0;
    let over = |low: fn(f64) -> bool| {
        let bones = solved.iter().flat_map(|it| Bone::ALL.map(|bone| it.skeleton.origin(bone)));
        bones.filter(|p| low(p.z())).fold(None, |area: Option<[f64; 4]>, p| {
            let own = [p.x() - 12.0, p.y() - 11.0, p.x() + 12.0, p.y() + 11.0];
            let Some(all) = area else { return Some(own) };
            Some([all[0].min(own[0]), all[1].min(own[1]), all[2].max(own[2]), all[3].max(own[3])])
        })
    };
    // Who hangs from a bar or lies on a table has all of the body over the floor.
    over(|z| z < NEAR).or_else(|| over(|_| true)).expect("every body has bones")
}

/// Usual height of a thing to rest on, in percent of stature.
pub(crate) fn height_of(prop: &Prop) -> f64 {
    prop.height.unwrap_or(match prop.kind {
        PropKind::Chair => 26.0,
        PropKind::Step => 11.0,
        PropKind::Table => 52.0,
        PropKind::Bed => 28.0,
        PropKind::Pillow => 4.5,
        PropKind::Post | PropKind::Wall => 112.0,
        PropKind::Mat
        | PropKind::Roller
        | PropKind::Ball
        | PropKind::Band
        | PropKind::Loop
        | PropKind::Stick
        | PropKind::Weight => 0.0,
    })
}

/// Usual radius of a thing that rolls, in percent of stature.
pub(crate) fn radius_of(prop: &Prop) -> f64 {
    prop.radius.unwrap_or(if prop.kind == PropKind::Roller { 4.4 } else { 3.0 })
}

/// The surfaces that do not wait for the body.
fn surfaces_of(props: &[Prop]) -> Surfaces {
    let mut surfaces = Surfaces::from([("floor".to_owned(), Plane::level(0.0))]);
    for prop in props {
        let plane = match prop.kind {
            PropKind::Chair | PropKind::Step | PropKind::Table | PropKind::Bed => Plane::level(height_of(prop)),
            PropKind::Pillow => Plane::level(height_of(prop) + prop.distance.unwrap_or(0.0)),
            PropKind::Roller | PropKind::Ball => Plane::level(2.0 * radius_of(prop) + prop.distance.unwrap_or(0.0)),
            PropKind::Wall | PropKind::Post => {
                let Some(distance) = prop.distance else {
                    continue;
                };
                Plane { n: prop.faces.normal(), d: -distance }
            }
            PropKind::Mat | PropKind::Band | PropKind::Loop | PropKind::Stick | PropKind::Weight => continue,
        };
        surfaces.insert(prop.name.clone(), plane);
    }
    surfaces
}

/// Solves one pose among the props.
pub(crate) fn place(pose: &Pose, props: &[Prop]) -> Placed {
    let mut surfaces = surfaces_of(props);
    let mut angles = pose.angles.clone();
    for adjust in &pose.adjust {
        let start = angles.clone();
        let bent = |by: f64| {
            let mut angles = start.clone();
            for (joint, share) in &adjust.joints {
                *angles.entry(*joint).or_insert(0.0) += share * by;
            }
            angles
        };
        let error = |by: f64| match surfaces.get(&adjust.until.surface) {
            Some(plane) => {
                let skeleton = settled(pose, &bent(by), &surfaces).skeleton();
                plane.clearance(&sites::blobs(&skeleton, adjust.until.site))
            }
            None => 0.0,
        };
        angles = bent(search(adjust.range, error));
    }
    let mut body = settled(pose, &angles, &surfaces);
    if let Some(plane) = pose.head_on.as_ref().and_then(|it| surfaces.get(it)) {
        rest_head(&mut body, plane);
    }
    let skeleton = body.skeleton();
    for prop in props.iter().filter(|it| it.kind == PropKind::Wall) {
        if let Some(site) = prop.touch {
            let n = prop.faces.normal();
            let reach = sites::blobs(&skeleton, site).iter().map(|it| it.support(-n)).fold(-1e9, f64::max);
            surfaces.insert(prop.name.clone(), Plane { n, d: -reach - prop.gap });
        }
    }
    let mut misses = Vec::new();
    for reach in &pose.reach {
        misses.extend(carry_out(&mut body, reach, &surfaces));
    }
    let skeleton = body.skeleton();
    let contact = |rest: &crate::draw::pose::Rest| {
        let plane = surfaces.get(&rest.surface)?;
        let gap = plane.clearance(&sites::blobs(&skeleton, rest.site));
        Some(Contact { site: rest.site, surface: rest.surface.clone(), gap, wall: plane.is_wall() })
    };
    let contacts = pose.rest.iter().filter_map(contact).collect();
    Placed { body, skeleton, surfaces, contacts, misses }
}

/// Turns and shifts a body onto its supports.
fn settled(pose: &Pose, angles: &Angles, surfaces: &Surfaces) -> Body {
    let mut body = body_from(pose.posture, angles, pose.hands);
    if pose.hold_chest {
        let skeleton = body.skeleton();
        let pelvis = *skeleton.frame(Bone::Pelvis);
        let chest_in_pelvis = pelvis.transpose() * *skeleton.frame(Bone::Chest);
        body.set_turn(Bone::Pelvis, pelvis * chest_in_pelvis.transpose());
    }
    let skeleton = body.skeleton();
    let turn = *body.turn(Bone::Pelvis);
    let local = |site: Site| {
        let blobs = sites::blobs(&skeleton, site);
        blobs.iter().map(|it| into_pelvis(it, &turn, body.root)).collect::<Vec<_>>()
    };
    let support = |rest: &crate::draw::pose::Rest| {
        surfaces.get(&rest.surface).map(|plane| Support { blobs: local(rest.site), plane: *plane })
    };
    let supports: Vec<Support> = pose.rest.iter().filter_map(support).collect();
    let wall = supports.iter().find(|it| it.plane.is_wall());
    let axes = wall.map_or([true, true], |it| {
        let along_x = it.plane.n.x().abs() > 0.5;
        [!along_x, along_x]
    });
    let anchor = pose.anchor.or(pose.rest.first().map(|it| it.site)).map(|site| {
        // A pair of supports is held by its middle, so that the body stays over the middle of the room.
        let paired = pose.anchor.is_none() && pose.rest.iter().any(|it| it.site == site.mirrored());
        let other = if paired { site.mirrored() } else { site };
        let held = sites::middle(&skeleton, site).lerp(sites::middle(&skeleton, other), 0.5);
        Anchor { point: turn.transpose() * (held - body.root), target: pose.anchor_at, axes }
    });
    settle(&mut body, &supports, anchor.as_ref(), pose.freedom());
    body
}

/// The smallest bend that makes the error vanish; else the best one.
fn search(range: f64, error: impl Fn(f64) -> f64) -> f64 {
    const N: usize = 16;
    let at = |i: usize| -range + 2.0 * range * i as f64 / N as f64;
    let errors: Vec<f64> = (0..=N).map(|i| error(at(i))).collect();
    let mut crossing: Option<usize> = None;
    for i in 0..N {
        if errors[i] * errors[i + 1] <= 0.0 && crossing.is_none_or(|best| at(i).abs() < at(best).abs()) {
            crossing = Some(i);
        }
    }
    let Some(i) = crossing else {
        let best = (0..=N).fold(0, |best, i| if errors[i].abs() < errors[best].abs() { i } else { best });
        return at(best);
    };
    let (mut low, mut high, sign) = (at(i), at(i + 1), errors[i]);
    for _ in 0..14 {
        let middle = (low + high) / 2.0;
        if error(middle) * sign > 0.0 { low = middle } else { high = middle }
    }
    (low + high) / 2.0
}

/// Bends the neck, forward or sideways as the trunk lies, until the head rests.
fn rest_head(body: &mut Body, plane: &Plane) {
    let (neck, head) = (*body.turn(Bone::Neck), *body.turn(Bone::Head));
    let mut skeleton = body.skeleton();
    let sideways = skeleton.direction(Bone::Chest, v(0.0, 1.0, 0.0)).dot(plane.n).abs() > 0.7;
    let skull = Site { name: "head", side: None };
    let bend = |body: &mut Body, by: f64| {
        let turn = if sideways { rx } else { ry };
        body.set_turn(Bone::Neck, turn(by * 0.65) * neck);
        body.set_turn(Bone::Head, turn(by * 0.35) * head);
    };
    let (mut best, mut least) = (0.0, f64::MAX);
    for i in -110..=110 {
        let by = f64::from(i) * 0.5;
        bend(body, by);
        body.place(&mut skeleton, &[Bone::Neck, Bone::Head]);
        let cost = plane.clearance(&sites::blobs(&skeleton, skull)).abs() + by.abs() * 0.004;
        if cost < least {
            (best, least) = (by, cost);
        }
    }
    bend(body, best);
}
