//! From solved frames to SVG: floor, body, props and marks in paint order.

use crate::draw::camera::Camera;
use crate::draw::canvas::{Canvas, Ink, Label, Svg, finish};
use crate::draw::face;
use crate::draw::fingers;
use crate::draw::flesh::{BodyPart, PartKind};
use crate::draw::gaps::{cut_gaps, merge, unhidden};
use crate::draw::hold;
use crate::draw::marks;
use crate::draw::order::{Face, Owner, Part, Tone, ordered, parts_of_body};
use crate::draw::picture::PropKind;
use crate::draw::props::{self, Scene};
use crate::draw::region::{Bounds, Region};
use crate::draw::silhouette::silhouette;
use crate::draw::skeleton::Skeleton;
use crate::draw::solve::SolvedFrame;
use crate::draw::style::{Look, Rgb, Style};
use crate::draw::vector::v;

const GAP: f64 = 0.75;
const GAP_LINE: f64 = 0.16;
const OUTLINE: f64 = 0.62;
/// Width of the edge of a seam.
const SEAM_EDGE: f64 = 0.2;
const PROP_LINE: f64 = 0.45;
const MARGIN: f64 = 2.0;

/// Draws all frames of a picture to one height, so that their floors line up.
pub(crate) fn draw_all(frames: &[SolvedFrame], style: &Style) -> Vec<Svg> {
    let mut sketches: Vec<Sketch> = frames.iter().map(|it| sketch(it, style)).collect();
    let tallest = |sketches: &[Sketch]| sketches.iter().fold(Bounds::EMPTY, |all, it| all.join(it.canvas.bounds));
    let before = tallest(&sketches);
    let mut held: Vec<(&mut Sketch, &SolvedFrame)> =
        sketches.iter_mut().zip(frames).filter(|(_, frame)| frame.marks.hold).collect();
    let offers: Vec<_> = held.iter().map(|(sketch, frame)| signs(sketch, frame, before)).collect();
    let corner = hold::corner(&offers);
    for ((sketch, frame), offers) in held.iter_mut().zip(&offers) {
        let label = hold::paint(&mut sketch.canvas, offers[corner].1, style);
        sketch.labels.push(if frame.flipped { label.flipped() } else { label });
    }
    let tall = tallest(&sketches);
    let framed = |it: &Sketch| {
        let own = it.canvas.bounds;
        frame_up(it, Bounds { top: tall.top, bottom: tall.bottom, ..own })
    };
    sketches.iter().map(framed).collect()
}

/// A painted frame that has no edges yet.
struct Sketch {
    canvas: Canvas,
    labels: Vec<Label>,
    definitions: String,
    /// In a frame that is held, what its sign may not cover, on the side that the author wrote.
    taken: Vec<Region>,
}

/// Where the sign of a held frame may go, in a picture that is as tall as its neighbours.
fn signs(sketch: &Sketch, frame: &SolvedFrame, tall: Bounds) -> [hold::Offer; 2] {
    let own = sketch.canvas.bounds;
    let bounds = Bounds { top: tall.top, bottom: tall.bottom, ..if frame.flipped { own.flipped() } else { own } };
    // A close-up is drawn larger than the whole body; its sign is as large on paper.
    let scale = frame.crop.map_or(1.0, |(crop, _)| crop.radius / 50.0);
    hold::places(bounds, &sketch.taken, scale)
}

/// What the sign of a held frame may not cover: body, things, arrows, rings.
fn taken(frame: &SolvedFrame, parts: &[&[Part]], camera: &Camera, middle: [f64; 2]) -> Vec<Region> {
    if !frame.marks.hold {
        return Vec::new();
    }
    let mut taken: Vec<Region> = parts.iter().flat_map(|it| it.iter()).map(|it| it.region.clone()).collect();
    for (points, _) in marks::arrow_paths(frame, camera, middle) {
        taken.extend(points.chunks(6).map(|it| Region::hull(it.to_vec()).offset(3.0)));
        taken.extend(points.iter().step_by(5).map(|it| Region::circle(*it, 3.0)));
    }
    taken.extend(frame.marks.look.iter().map(|it| it.region(&frame.skeleton, camera)));
    taken
}

fn frame_up(sketch: &Sketch, bounds: Bounds) -> Svg {
    let bounds = bounds.grow(MARGIN);
    let mut svg = finish(&sketch.canvas, bounds, &sketch.definitions);
    let placed = |it: &Label| Label { x: it.x - bounds.left, y: it.y - bounds.top, ..it.clone() };
    svg.labels = sketch.labels.iter().map(placed).collect();
    svg
}

fn sketch(frame: &SolvedFrame, style: &Style) -> Sketch {
    let camera = Camera::new(frame.view);
    let scene = Scene { skeleton: &frame.skeleton, surfaces: &frame.surfaces, camera: &camera };
    let (mut backdrop, mut solids, mut glass) = (Vec::new(), parts_of_body(&frame.skeleton, &camera), Vec::new());
    let bare = solids.len();
    for (i, prop) in frame.props.iter().enumerate() {
        let mut parts = props::parts(&scene, prop, i);
        parts.iter_mut().for_each(|part| part.held_by = props::held_by(prop));
        match (prop.kind, prop.see_through) {
            (_, true) => glass.extend(parts),
            (PropKind::Wall, false) => backdrop.extend(parts),
            (_, false) => solids.extend(parts),
        }
    }
    let reach = solids[..bare].iter().fold(Bounds::EMPTY, |b, it| b.join(it.region.bounds()));
    // Only what shows through needs the outline of the whole body.
    let body =
        if glass.is_empty() { Region::empty() } else { Region::union_all(solids[..bare].iter().map(|it| &it.region)) };
    let mut canvas = Canvas::new(frame.flipped);
    canvas.fine = frame.crop.is_some();
    let around = backdrop.iter().chain(&solids).chain(&glass).fold(Bounds::EMPTY, |b, it| b.join(it.region.bounds()));
    ground(&mut canvas, frame, &camera, style, around);
    for part in &backdrop {
        part.faces.iter().for_each(|it| wall_face(&mut canvas, it, style));
    }
    if let Some(ghost) = &frame.ghost {
        paint_ghost(&mut canvas, ghost, &camera, style);
    }
    let ordered = ordered(solids, &camera);
    let gap = if style.is_line() { GAP_LINE } else { GAP };
    let visible = cut_gaps(&ordered, &frame.skeleton, &camera, gap);
    let parts = &ordered.parts;
    for patch in merge(parts, &visible, if style.is_line() { 0.0 } else { 0.12 }) {
        let part = &parts[patch.part];
        match part.owner {
            Owner::Body(_) => {
                if !style.is_line() && !patch.seams.is_empty() {
                    // Its edge runs a little under the patch, or a hairline of paper would show between them.
                    let seam = style.seam(part.token, part.far);
                    canvas.region(&patch.seams, Ink::fill(seam).outlined(seam, SEAM_EDGE).detail());
                }
                let ink = Ink::fill(style.cloth(part.token, part.far));
                let ink = if style.is_line() { ink.outlined(style.color("ink"), OUTLINE) } else { ink };
                canvas.region(&patch.region, ink);
            }
            Owner::Prop(_) => {
                for face in &part.faces {
                    let region = face.region.intersection(&patch.region);
                    canvas.region(&region, face_ink(face, style));
                }
            }
        }
    }
    let whole = canvas.bounds.join(if frame.flipped { around.flipped() } else { around }).grow(1.5 * MARGIN);
    let width = frame.crop.map_or(whole.width(), |(crop, _)| 2.0 * crop.radius);
    for muscle in &frame.marks.feel {
        let carries = |part: &Part| match part.owner {
            Owner::Body(it) => {
                muscle.parts().contains(&it.kind)
                    && (it.side.is_none() || muscle.side.is_none() || it.side == muscle.side)
            }
            Owner::Prop(_) => false,
        };
        let on: Vec<Region> =
            (0..parts.len()).filter(|&i| carries(&parts[i])).map(|i| unhidden(parts, &visible, i)).collect();
        marks::feel(&mut canvas, *muscle, &frame.skeleton, &camera, style, &Region::union_all(&on), width);
    }
    for (i, part) in parts.iter().enumerate() {
        if let Owner::Body(BodyPart { kind: PartKind::Hand, side: Some(side) }) = part.owner {
            let hand = unhidden(parts, &visible, i);
            fingers::paint(&mut canvas, &frame.skeleton, side, part.far, &camera, style, &hand);
        }
    }
    let head = (0..parts.len()).find(|&i| matches!(parts[i].owner, Owner::Body(it) if it.kind == PartKind::Head));
    if let Some(i) = head {
        face::paint(&mut canvas, &frame.skeleton, &camera, style, &unhidden(parts, &visible, i));
    }
    for part in &glass {
        for face in &part.faces {
            paint_glass(&mut canvas, face, &body, style);
        }
    }
    let labels = marks::paint(&mut canvas, frame, &camera, style, reach.middle());
    let labels: Vec<Label> = labels.into_iter().map(|it| if frame.flipped { it.flipped() } else { it }).collect();
    let mut taken = taken(frame, &[&backdrop, parts, &glass], &camera, reach.middle());
    for label in &labels {
        canvas.bounds.add([label.x, label.y + marks::LABEL_ROOM / 2.0]);
    }
    let mut definitions = String::new();
    if let Some((crop, at)) = frame.crop {
        let [x, y] = camera.flat(at);
        let middle = [x + crop.shift[0], y + crop.shift[1]];
        let mut cropped = Canvas::new(frame.flipped);
        cropped.fine = true;
        let ground = if style.is_line() { style.color("paper") } else { style.color("ground") };
        cropped.circle(middle, crop.radius, Ink::fill(ground));
        let id = format!("close-up-{}", frame.number);
        definitions = format!("<clipPath id=\"{id}\"><path d=\"{}\"/></clipPath>", cropped.round(middle, crop.radius));
        cropped.group(&format!("<g clip-path=\"url(#{id})\">{}", canvas.content(2.0 * crop.radius)));
        cropped.end_group();
        let edge = style.color(if style.is_line() { "ink" } else { "floor" });
        cropped.circle(middle, crop.radius, Ink::stroke(edge, 0.8));
        cropped.finest = canvas.finest;
        canvas = cropped;
        taken = vec![Region::circle(middle, crop.radius)];
    }
    if let Some(it) = frame.marks.verdict {
        let b = canvas.bounds;
        let right = b.right - 4.0;
        let center = [if frame.flipped { -right } else { right }, b.top - 6.5];
        marks::verdict(&mut canvas, center, it, style);
        taken.push(Region::circle(center, marks::VERDICT * 1.2));
    }
    Sketch { canvas, labels, definitions, taken }
}

fn toned(face: &Face, style: &Style) -> Rgb {
    let base = style.color(face.token);
    match face.tone {
        Tone::Plain => base,
        Tone::Light => base.mix(style.color("paper"), 0.38),
        Tone::Dark => base.mix(style.color("ink"), 0.22),
    }
}

fn face_ink(face: &Face, style: &Style) -> Ink {
    if !style.is_line() {
        return Ink::fill(toned(face, style));
    }
    let paper = style.color("paper");
    let fill = if face.tone == Tone::Dark { paper.mix(style.color("ink"), 0.2) } else { paper };
    Ink::fill(fill).outlined(style.color("ink"), PROP_LINE)
}

fn wall_face(canvas: &mut Canvas, face: &Face, style: &Style) {
    let paper = style.color("paper");
    let ink = if style.is_line() {
        Ink::fill(paper.mix(style.color("ink"), 0.08)).outlined(style.color("ink"), PROP_LINE)
    } else {
        // A broad panel must stay paler than a slab seen edge-on, or it would compete with the body.
        let broad = face.region.bounds().width() > 12.0;
        Ink::fill(toned(face, style).mix(paper, if broad { 0.5 } else { 0.0 }))
    };
    canvas.region(&face.region, ink);
}

fn paint_glass(canvas: &mut Canvas, face: &Face, body: &Region, style: &Style) {
    let inside = face.region.intersection(body);
    let outside = face.region.difference(body);
    if style.look == Look::Line {
        let ink = style.color("ink");
        canvas.region(&outside, Ink::fill(style.color("paper")).outlined(ink, PROP_LINE));
        canvas.region(&inside, Ink::stroke(ink, 0.4).dashed(1.0, 1.0));
        return;
    }
    canvas.region(&outside, Ink::fill(toned(face, style)));
    canvas.region(&inside, Ink::fill(toned(face, style)).clear(0.42));
}

/// Another pose, pale, underneath.
fn paint_ghost(canvas: &mut Canvas, skeleton: &Skeleton, camera: &Camera, style: &Style) {
    let chains = crate::draw::flesh::body_parts(skeleton);
    let parts: Vec<Region> = chains.iter().map(|it| silhouette(&it.1, camera, 0.8)).collect();
    let whole = Region::union_all(&parts);
    let ink = style.color("ink");
    if style.is_line() {
        canvas.region(&whole, Ink::fill(style.color("paper")).outlined(ink, 0.5).dashed(1.4, 1.4));
    } else {
        canvas.region(&whole, Ink::fill(style.color("paper").mix(ink, 0.16)));
    }
}

const FLOOR: f64 = 1.3;
const MAT: f64 = 1.5;

/// The floor: a line from the side, an area from above; a mat on top if there is one.
fn ground(canvas: &mut Canvas, frame: &SolvedFrame, camera: &Camera, style: &Style, around: Bounds) {
    let mat = frame.props.iter().any(|it| it.kind == PropKind::Mat);
    let ink = style.color("ink");
    let line = |token: &str| {
        let fill = Ink::fill(if style.is_line() { style.color("paper") } else { style.color(token) });
        if style.is_line() { fill.outlined(ink, PROP_LINE) } else { fill }
    };
    if camera.is_level() {
        let (mut left, mut right) = (around.left - 4.0, around.right + 4.0);
        if marks::has_wall(frame) && camera.is_square_to_side() {
            // Nothing of the floor shows behind a wall that is seen edge-on.
            for prop in frame.props.iter().filter(|it| it.kind == PropKind::Wall) {
                if let Some(plane) = frame.surfaces.get(&prop.name) {
                    let edge = camera.flat(plane.n * (plane.d - 4.0))[0];
                    if edge > (left + right) / 2.0 { right = edge } else { left = edge }
                }
            }
        }
        let bar = |top: f64, height: f64| Region::rectangle(Bounds { left, right, top, bottom: top + height });
        let low = if mat { MAT } else { 0.0 };
        if mat {
            canvas.region(&bar(0.0, MAT), line("mat"));
        }
        let height = if style.is_line() { 0.8 } else { FLOOR };
        let fill = if style.is_line() { style.color("paper").mix(ink, 0.7) } else { style.color("floor") };
        canvas.region(&bar(low, height), Ink::fill(fill));
        return;
    }
    let [x0, y0, x1, y1] = frame.ground;
    let mut area = [x0, y0, x1, y1];
    for part in frame.props.iter().filter(|it| matches!(it.kind, PropKind::Step | PropKind::Table | PropKind::Bed)) {
        if let Some([x, y]) = part.at {
            let (d, w) = (part.depth.unwrap_or(30.0) / 2.0 + 3.0, part.width.unwrap_or(34.0) / 2.0 + 3.0);
            area = [area[0].min(x - d), area[1].min(y - w), area[2].max(x + d), area[3].max(y + w)];
        }
    }
    let [x0, y0, x1, y1] = area;
    let corner = |x: f64, y: f64| camera.flat(v(x, y, 0.0));
    let region = Region::union_of(&[vec![corner(x0, y0), corner(x1, y0), corner(x1, y1), corner(x0, y1)]]);
    if mat {
        let fill = style.color("mat").mix(style.color("paper"), 0.45);
        let ink = if style.is_line() { line("mat") } else { Ink::fill(fill) };
        canvas.region(&region, ink);
    } else {
        let round = (region.bounds().height() / 5.0).min(5.0);
        canvas.region(&region.opened(round), line("ground"));
    }
}
