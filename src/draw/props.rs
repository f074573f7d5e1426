//! Things in the room: solids that are sorted by depth together with the body.

use crate::body::Side;
use crate::draw::camera::Camera;
use crate::draw::flesh::{Blob, PartKind, SHANK_PROFILE, THIGH_PROFILE, profile_at};
use crate::draw::order::{Face, Owner, Part, Solid, Token, Tone};
use crate::draw::picture::{Hold, PathPoint, Prop, PropKind};
use crate::draw::reach::{Surfaces, direction};
use crate::draw::region::Region;
use crate::draw::silhouette::hull;
use crate::draw::sites::{self, Site};
use crate::draw::skeleton::{Bone, SHANK, Skeleton, THIGH};
use crate::draw::solve::{height_of, radius_of};
use crate::draw::vector::{M3, V3, v};

/// Everything a prop needs to find its place.
pub(crate) struct Scene<'a> {
    pub skeleton: &'a Skeleton,
    pub surfaces: &'a Surfaces,
    pub camera: &'a Camera,
}

/// What of the body holds it, so that no paper shows between the two.
pub(crate) fn held_by(prop: &Prop) -> Vec<PartKind> {
    let holds = |it: &PathPoint| match it.hold {
        Hold::Grip(_) => Some(PartKind::Hand),
        Hold::Sole(_) => Some(PartKind::Foot),
        Hold::Site(_) | Hold::Point(_) => None,
    };
    let hand = prop.hand.map(|_| PartKind::Hand);
    hand.into_iter().chain(prop.path.iter().filter_map(holds)).collect()
}

const SEAT: Site = Site { name: "seat", side: None };

/// The parts of one prop. The mat is not among them: it lies on the ground.
pub(crate) fn parts(scene: &Scene, prop: &Prop, index: usize) -> Vec<Part> {
    let owner = Owner::Prop(index);
    let token = |usual: Token| prop.color.unwrap_or(usual);
    let height = height_of(prop);
    let at = prop.at.unwrap_or([0.0; 2]);
    let cuboid = |center: V3, size: V3, token: Token| cuboid(scene.camera, owner, center, size, token);
    match prop.kind {
        PropKind::Mat => Vec::new(),
        PropKind::Wall => wall(scene, prop, owner).into_iter().collect(),
        PropKind::Chair => chair(scene, prop, owner, height),
        PropKind::Step => {
            let size = v(prop.depth.unwrap_or(20.0), prop.width.unwrap_or(34.0), height);
            vec![cuboid(v(at[0], at[1], height / 2.0), size, token("prop"))]
        }
        PropKind::Bed => {
            let (depth, width) = (prop.depth.unwrap_or(112.0), prop.width.unwrap_or(50.0));
            let top = 9.0;
            vec![
                cuboid(
                    v(at[0], at[1], (height - top) / 2.0 + 2.0),
                    v(depth - 3.0, width - 3.0, height - top - 4.0),
                    token("wood"),
                ),
                cuboid(v(at[0], at[1], height - top / 2.0), v(depth, width, top), token("pillow")),
            ]
        }
        PropKind::Table => {
            let (depth, width) = (prop.depth.unwrap_or(30.0), prop.width.unwrap_or(54.0));
            let mut parts = vec![cuboid(v(at[0], at[1], height - 1.2), v(depth, width, 2.4), token("wood"))];
            for (a, b) in [(-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0), (1.0, 1.0)] {
                let leg = v(at[0] + a * (depth / 2.0 - 2.0), at[1] + b * (width / 2.0 - 2.0), (height - 2.4) / 2.0);
                parts.push(cuboid(leg, v(2.0, 2.0, height - 2.4), token("wood")));
            }
            parts
        }
        PropKind::Post => {
            let size = v(prop.depth.unwrap_or(5.0), prop.width.unwrap_or(5.0), height);
            vec![cuboid(v(at[0], at[1], height / 2.0), size, token("wood"))]
        }
        PropKind::Roller => roller(scene, prop, owner, token("prop")),
        PropKind::Ball => ball(scene, prop, owner, token("accent")),
        PropKind::Pillow => {
            let Some(site) = prop.under else {
                return Vec::new();
            };
            let c = sites::outermost(scene.skeleton, site, -V3::UP);
            let (low, depth, width) =
                (prop.distance.unwrap_or(0.0), prop.depth.unwrap_or(15.0), prop.width.unwrap_or(21.0));
            let corner = |x: f64, y: f64| Blob {
                center: v(c.x() + x * (depth / 2.0 - 3.5), c.y() + y * (width / 2.0 - 3.5), low + height / 2.0),
                shape: M3::diagonal(3.5, 3.5, height / 2.0),
            };
            let corners = [corner(-1.0, -1.0), corner(-1.0, 1.0), corner(1.0, -1.0), corner(1.0, 1.0)];
            let body = Blob {
                center: v(c.x(), c.y(), low + height / 2.0),
                shape: M3::diagonal(depth / 2.0, width / 2.0, height / 2.0),
            };
            let region = Region::convex(hull(&corners, scene.camera));
            let face = Face { region: region.clone(), token: token("pillow"), tone: Tone::Plain };
            vec![Part::of_blobs(owner, region, &[body], token("pillow"), scene.camera).with_faces(vec![face])]
        }
        PropKind::Band => vec![tube(scene, &prop.path, prop.radius.unwrap_or(0.6), owner, token("band"))],
        PropKind::Loop => loop_band(scene, prop, owner, token("band")),
        PropKind::Stick => {
            let ends: Vec<V3> = prop.path.iter().map(|it| hold_point(scene.skeleton, it)).collect();
            let (Some(&a), Some(&b)) = (ends.first(), ends.last()) else {
                return Vec::new();
            };
            let along = (b - a).unit() * prop.length.unwrap_or(12.0);
            vec![cylinder(scene.camera, owner, a - along, b + along, prop.radius.unwrap_or(0.9), token("stick"), false)]
        }
        PropKind::Weight => weight(scene, prop, owner),
    }
}

/// A box with its edges along the room.
fn cuboid(camera: &Camera, owner: Owner, center: V3, size: V3, token: Token) -> Part {
    let half = size * 0.5;
    let axis = |i: usize| {
        let mut a = V3::ZERO;
        a.0[i] = half.0[i];
        a
    };
    let toward = camera.toward();
    let level = v(toward.x(), toward.y(), 0.0).unit();
    let mut faces = Vec::new();
    for i in 0..3 {
        for sign in [1.0, -1.0] {
            let n = axis(i).unit() * sign;
            if n.dot(toward) < 0.01 {
                continue;
            }
            let (a, b) = (axis((i + 1) % 3), axis((i + 2) % 3));
            let middle = center + axis(i) * sign;
            let corners = [a + b, a - b, -a - b, b - a].map(|it| camera.flat(middle + it));
            let tone = if n.z() > 0.7 {
                Tone::Light
            } else if n.dot(level).abs() < 0.6 {
                Tone::Dark
            } else {
                Tone::Plain
            };
            faces.push(Face { region: Region::union_of(&[corners.to_vec()]), token, tone });
        }
    }
    let region = Region::union_all(faces.iter().map(|it| &it.region)).offset(0.01);
    Part::of_solid(owner, region, Solid { center, half }, token, faces)
}

fn chair(scene: &Scene, prop: &Prop, owner: Owner, height: f64) -> Vec<Part> {
    let seat = sites::middle(scene.skeleton, SEAT);
    let [x, y] = prop.at.unwrap_or([seat.x() + 3.5, seat.y()]);
    let (depth, width) = (prop.depth.unwrap_or(25.0), prop.width.unwrap_or(26.0));
    // The back stands behind whoever faces north; a chair that faces south is turned round.
    let turn = if prop.faces == crate::draw::picture::Faces::South { -1.0 } else { 1.0 };
    let part = |center: V3, size: V3| cuboid(scene.camera, owner, center, size, "prop");
    let mut parts = vec![part(v(x, y, height - 1.2), v(depth, width, 2.4))];
    for (a, b) in [(-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0), (1.0, 1.0)] {
        let leg = v(x + a * (depth / 2.0 - 1.3), y + b * (width / 2.0 - 1.3), (height - 2.4) / 2.0);
        parts.push(part(leg, v(1.7, 1.7, height - 2.4)));
    }
    if prop.back {
        let back = x - turn * (depth / 2.0 - 0.9);
        for b in [-1.0, 1.0] {
            parts.push(part(v(back, y + b * (width / 2.0 - 1.3), height + 9.0), v(1.5, 1.7, 18.0)));
        }
        parts.push(part(v(back, y, height + 15.5), v(1.6, width, 9.0)));
    }
    parts
}

fn wall(scene: &Scene, prop: &Prop, owner: Owner) -> Option<Part> {
    let plane = scene.surfaces.get(&prop.name)?;
    let (height, width) = (height_of(prop), prop.width.unwrap_or(70.0));
    let thick = 4.0;
    let face = plane.n * plane.d;
    let center = face - plane.n * (thick / 2.0);
    let along_x = plane.n.x().abs() > 0.5;
    let middle = prop.at.unwrap_or([0.0; 2]);
    let center = if along_x { v(center.x(), middle[1], height / 2.0) } else { v(middle[0], center.y(), height / 2.0) };
    let size = if along_x { v(thick, width, height) } else { v(width, thick, height) };
    Some(cuboid(scene.camera, owner, center, size, prop.color.unwrap_or("floor")))
}

fn cylinder(camera: &Camera, owner: Owner, a: V3, b: V3, radius: f64, token: Token, hollow: bool) -> Part {
    let axis = (b - a).unit();
    let e = axis.cross(v(0.3, 0.2, 0.9)).unit();
    let f = axis.cross(e);
    let disc = |center: V3, r: f64| Blob { center, shape: M3::from_columns(e * r, f * r, axis * 0.02) };
    let near = if (a - b).dot(camera.toward()) > 0.0 { a } else { b };
    let side = Region::convex(hull(&[disc(a, radius), disc(b, radius)], camera));
    let mut faces = vec![Face { region: side.clone(), token, tone: Tone::Plain }];
    if axis.dot(camera.toward()).abs() > 0.05 {
        faces.push(Face { region: Region::convex(hull(&[disc(near, radius)], camera)), token, tone: Tone::Light });
        if hollow {
            let hole = Region::convex(hull(&[disc(near, radius * 0.42)], camera));
            faces.push(Face { region: hole, token, tone: Tone::Dark });
        }
    }
    let n = (((b - a).norm() / radius * 2.0) as usize).clamp(2, 60);
    let blobs: Vec<Blob> = (0..n).map(|i| Blob::ball(a.lerp(b, i as f64 / (n - 1) as f64), radius)).collect();
    Part::of_blobs(owner, side, &blobs, token, camera).with_faces(faces)
}

fn roller(scene: &Scene, prop: &Prop, owner: Owner, token: Token) -> Vec<Part> {
    let Some(site) = prop.under else {
        return Vec::new();
    };
    let radius = radius_of(prop);
    let mut c = sites::outermost(scene.skeleton, site, -V3::UP);
    c.0[2] = radius + prop.distance.unwrap_or(0.0);
    if let Some(at) = prop.at {
        c.0[1] = at[1];
    }
    let axis = prop.axis.as_ref().map_or(v(0.0, 1.0, 0.0), |it| direction(scene.skeleton, it, Side::Left, Bone::Chest));
    let half = axis * (prop.length.unwrap_or(26.0) / 2.0);
    vec![cylinder(scene.camera, owner, c - half, c + half, radius, token, true)]
}

fn ball(scene: &Scene, prop: &Prop, owner: Owner, token: Token) -> Vec<Part> {
    let radius = radius_of(prop);
    let center = match (prop.under, prop.touch) {
        (Some(site), _) => {
            let c = sites::outermost(scene.skeleton, site, -V3::UP);
            v(c.x(), c.y(), c.z() - radius)
        }
        (None, Some(site)) => {
            let way = prop.toward.as_ref();
            let side = site.side.unwrap_or(Side::Left);
            let n = way.map_or(v(-1.0, 0.0, 0.0), |it| direction(scene.skeleton, it, side, Bone::Chest));
            sites::outermost(scene.skeleton, site, n) + n * radius
        }
        (None, None) => return Vec::new(),
    };
    let region = Region::convex(hull(&[Blob::ball(center, radius)], scene.camera));
    let [x, y] = scene.camera.flat(center);
    let shine = Region::circle([x - radius * 0.28, y - radius * 0.3], radius * 0.45);
    let faces = vec![
        Face { region: region.clone(), token, tone: Tone::Plain },
        Face { region: shine, token, tone: Tone::Light },
    ];
    vec![Part::of_blobs(owner, region, &[Blob::ball(center, radius)], token, scene.camera).with_faces(faces)]
}

/// Where a hand, a foot or a point holds a band.
pub(crate) fn hold_point(skeleton: &Skeleton, point: &PathPoint) -> V3 {
    let (base, side) = match point.hold {
        Hold::Grip(side) => (sites::grip(skeleton, side), side),
        Hold::Sole(side) => (skeleton.at(Bone::Foot(side), v(6.0, 0.0, -4.2)), side),
        Hold::Site(site) => (sites::middle(skeleton, site), site.side.unwrap_or(Side::Left)),
        Hold::Point(p) => (p, Side::Left),
    };
    match &point.shift {
        Some((way, amount)) => base + direction(skeleton, way, side, Bone::Chest) * *amount,
        None => base,
    }
}

fn tube(scene: &Scene, path: &[PathPoint], radius: f64, owner: Owner, token: Token) -> Part {
    let points: Vec<V3> = path.iter().map(|it| hold_point(scene.skeleton, it)).collect();
    let mut rings = Vec::new();
    let mut blobs = Vec::new();
    for pair in points.windows(2) {
        rings.push(hull(&[Blob::ball(pair[0], radius), Blob::ball(pair[1], radius)], scene.camera));
        let n = (((pair[1] - pair[0]).norm() / 1.5) as usize).clamp(2, 100);
        blobs.extend((0..=n).map(|i| Blob::ball(pair[0].lerp(pair[1], i as f64 / n as f64), radius)));
    }
    let region = Region::union_of(&rings);
    let face = Face { region: region.clone(), token, tone: Tone::Plain };
    Part::of_blobs(owner, region, &blobs, token, scene.camera).with_faces(vec![face])
}

/// Profile, length and bone of a limb.
type Limb = (&'static [[f64; 4]], f64, fn(Side) -> Bone);

/// A loop round both legs: a strip over each limb's nearer edge, out of which comes the end of the limb that is nearer.
fn loop_band(scene: &Scene, prop: &Prop, owner: Owner, token: Token) -> Vec<Part> {
    let (rows, length, bone): Limb =
        if prop.on_shank { (&SHANK_PROFILE, SHANK, Bone::Shank) } else { (&THIGH_PROFILE, THIGH, Bone::Thigh) };
    let width = prop.width.unwrap_or(1.5);
    let mut blobs = Vec::new();
    let mut nearer = Vec::new();
    for side in Side::BOTH {
        let [radius, x, y] = [1, 2, 3].map(|column| profile_at(rows, prop.fraction, column));
        for dz in [-width, width] {
            let center = v(x, side.sign() * y, -length * prop.fraction + dz);
            blobs.push(Blob::new(scene.skeleton, bone(side), center, v(radius + 0.3, radius + 0.3, 0.2)));
        }
        let slice = |fraction: f64| {
            let [radius, x, y] = [1, 2, 3].map(|column| profile_at(rows, fraction, column));
            let center = v(x, side.sign() * y, -length * fraction);
            Blob::new(scene.skeleton, bone(side), center, v(radius, radius, 0.2))
        };
        let depth = |fraction: f64| scene.camera.depth(slice(fraction).center);
        let (from, to) = if depth(1.0) > depth(0.0) {
            (prop.fraction + width / length, 1.0)
        } else {
            (prop.fraction - width / length, 0.15)
        };
        nearer.push(Region::convex(hull(&[slice(from), slice(to)], scene.camera)));
    }
    let region = Region::convex(hull(&blobs, scene.camera)).without(&nearer);
    let front = blobs.iter().map(|it| scene.camera.depth(it.center)).fold(-1e9, f64::max);
    let face = Face { region: region.clone(), token, tone: Tone::Plain };
    vec![Part::of_flat(owner, region, front + 6.0, token, vec![face])]
}

fn weight(scene: &Scene, prop: &Prop, owner: Owner) -> Vec<Part> {
    let Some(side) = prop.hand else {
        return Vec::new();
    };
    let hand = Bone::Hand(side);
    let center = scene.skeleton.at(hand, v(0.0, -side.sign() * 1.2, -4.0));
    let axis = scene.skeleton.frame(hand).column(0);
    if prop.length.is_some() || prop.on_shank {
        return Vec::new();
    }
    let rod = |from: f64, to: f64, radius: f64, token: Token| {
        cylinder(scene.camera, owner, center + axis * from, center + axis * to, radius, token, false)
    };
    vec![rod(-3.0, 3.0, 0.7, "prop"), rod(-5.4, -3.2, 2.1, "prop"), rod(3.2, 5.4, 2.1, "prop")]
}
