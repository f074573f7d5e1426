//! Reading the pictures of one exercise.

use std::collections::BTreeSet;

use toml::de::DeTable;

use crate::body::Side;
use crate::draw::angle;
use crate::draw::camera::{VIEWS, View};
use crate::draw::library::{PoseLibrary, sorted};
use crate::draw::muscle::Muscle;
use crate::draw::picture::{Arrow, Crop, Distance, Frame, Marks, Picture, Prop, PropKind, Ring, Slide, Turn, Verdict};
use crate::draw::pose::{Direction, Pose, PoseProblem, Target};
use crate::draw::read::{Reader, Value};
use crate::draw::read_prop::{prop, size};
use crate::draw::sites::Site;
use crate::draw::vector::V3;

impl Picture {
    /// Reads the picture file of one exercise, whose poses may build on those of the library.
    ///
    /// # Errors
    /// Everything that is wrong in the file, each with its bytes.
    pub fn parse(text: &str, library: &PoseLibrary) -> Result<Picture, Vec<PoseProblem>> {
        let mut reader = Reader::default();
        let document = reader.document(text);
        reader.allowed = allowed(&document);
        let mut poses = library.clone();
        if let Some(own) = document.get("pose") {
            poses.add(&mut reader, own);
        }
        let mut picture =
            Picture { authored: None, view: VIEWS[2].1, props: Vec::new(), frames: Vec::new(), crop: None };
        for (key, value) in document.iter() {
            match key.get_ref().as_ref() {
                "pose" => {}
                "authored" => picture.authored = reader.choice(value, "side", &AUTHORED).flatten(),
                "view" => picture.view = view(&mut reader, value).unwrap_or(picture.view),
                "props" => {
                    picture.props = reader.list(value).iter().filter_map(|it| prop(&mut reader, it)).collect();
                }
                "frames" => {}
                "crop" => picture.crop = crop(&mut reader, value),
                other => reader.unknown(key.span(), "key of a picture", other, PICTURE_KEYS),
            }
        }
        if let Some(value) = document.get("frames") {
            for item in reader.list(value) {
                if let Some(frame) = frame(&mut reader, item, &poses, &picture.props) {
                    picture.frames.push(frame);
                }
            }
            for frame in &picture.frames {
                let named = frame.marks.arrows.iter().filter_map(|it| it.to).chain(frame.marks.ghost);
                if let Some(missing) = named.into_iter().find(|it| *it == 0 || *it > picture.frames.len()) {
                    let n = picture.frames.len();
                    reader.problem(value.span(), format!("there is no frame {missing}; there are {n}"), None);
                }
            }
            if let (Some(last), Some(at)) = (picture.frames.last(), reader.list(value).last())
                && last.marks.arrows.iter().any(|it| it.to.is_none())
            {
                let message = "an arrow of the last frame leads nowhere: no frame follows";
                reader.problem(at.span(), message, Some("add `to` with the number of a frame".into()));
            }
        }
        if picture.frames.is_empty() && reader.problems.is_empty() {
            reader.problem(0..text.len(), "a picture needs at least one frame", Some("add `[[frames]]`".into()));
        }
        if reader.problems.is_empty() { Ok(picture) } else { Err(sorted(reader.problems)) }
    }
}

/// Every joint motion under `allow` in any frame.
fn allowed(document: &DeTable) -> BTreeSet<String> {
    let frames = document.get("frames").and_then(|it| it.get_ref().as_array());
    let lists = frames.into_iter().flatten().filter_map(|it| it.get_ref().as_table()?.get("allow"));
    let names = lists.filter_map(|it| it.get_ref().as_array()).flatten().filter_map(|it| it.get_ref().as_str());
    // What is wrong with them is told where each frame is read.
    let mut aside = Reader::default();
    names.flat_map(|name| aside.joints(name, 0..0)).map(|(joint, _)| joint.name()).collect()
}

pub(crate) const PICTURE_KEYS: [&str; 6] = ["authored", "view", "crop", "props", "pose", "frames"];
pub(crate) const AUTHORED: [(&str, Option<Side>); 3] =
    [("left", Some(Side::Left)), ("right", Some(Side::Right)), ("both", None)];

fn view(reader: &mut Reader, value: &Value) -> Option<View> {
    if value.get_ref().is_array() {
        let [azimuth, elevation] = reader.numbers(value)?;
        return Some(View { azimuth, elevation });
    }
    reader.choice(value, "view", &VIEWS)
}

/// Least radius of a close-up, in percent of stature: half a hand.
const LEAST_CLOSE_UP: f64 = 4.0;

fn crop(reader: &mut Reader, value: &Value) -> Option<Crop> {
    let (mut site, mut radius, mut shift) = (None, 27.0, [0.0; 2]);
    for (key, inner) in reader.table(value)?.iter() {
        match key.get_ref().as_ref() {
            "site" => site = reader.site(inner),
            "radius" => {
                radius = reader.number(inner)?;
                if !(LEAST_CLOSE_UP..=100.0).contains(&radius) {
                    let message =
                        format!("a close-up reaches {LEAST_CLOSE_UP} to 100 percent of stature, not {radius}");
                    reader.problem(inner.span(), message, Some("leave it out for the usual 27".into()));
                }
            }
            "shift" => shift = reader.numbers(inner)?,
            other => reader.unknown(key.span(), "key of `crop`", other, ["site", "radius", "shift"]),
        }
    }
    Some(Crop { site: site?, radius, shift })
}

pub(crate) const FRAME_KEYS: [&str; 18] = [
    "pose", "caption", "view", "allow", "arrow", "slide", "turn", "press", "feel", "look", "verdict", "ghost",
    "distance", "angle", "hold", "set", "sign", "rungs",
];

fn frame(reader: &mut Reader, value: &Value, poses: &PoseLibrary, props: &[Prop]) -> Option<Frame> {
    let table = reader.table(value)?;
    let Some(named) = table.get("pose") else {
        reader.problem(value.span(), "a frame needs a pose", None);
        return None;
    };
    let name = reader.text(named)?;
    let Some(mut pose) = poses.get(name).cloned() else {
        let known: Vec<&str> = poses.names().collect();
        reader.unknown(named.span(), "pose", name, known);
        return None;
    };
    if let Some(over) = table.get("set") {
        let inner = reader.table(over)?;
        crate::draw::library::apply(reader, &mut pose, inner);
    }
    check_surfaces(reader, &pose, props, named, name);
    let (mut caption, mut own_view, mut sign, mut rungs) = (None, None, None, Vec::new());
    let (mut allow, mut marks) = (Vec::new(), Marks::default());
    for (key, inner) in table.iter() {
        match key.get_ref().as_ref() {
            "pose" | "set" => {}
            "caption" => caption = reader.text(inner).map(str::to_owned),
            "view" => own_view = view(reader, inner),
            "rungs" => {
                let list = reader.list(inner);
                rungs = list.iter().filter_map(|it| reader.number(it)).map(|it| it.max(0.0) as usize).collect();
            }
            "sign" => sign = reader.text(inner).map(str::to_owned),
            "allow" => {
                for item in reader.list(inner) {
                    if let Some(text) = reader.text(item) {
                        allow.extend(reader.joints(text, item.span()).iter().map(|it| it.0.name()));
                    }
                }
            }
            _ => mark(reader, &mut marks, key.get_ref(), key.span(), inner)?,
        }
    }
    Some(Frame { caption, pose, view: own_view, marks, allow, sign, rungs, at: value.span() })
}

/// Every surface that a pose rests on or reaches for must be the floor or a prop.
fn check_surfaces(reader: &mut Reader, pose: &Pose, props: &[Prop], at: &Value, name: &str) {
    let rests = pose.rest.iter().map(|it| it.surface.as_str()).chain(pose.head_on.as_deref());
    let adjusts = pose.adjust.iter().map(|it| it.until.surface.as_str());
    let reaches = pose.reach.iter().filter_map(|it| match &it.to {
        Target::Surface(name) => Some(name.as_str()),
        Target::Site(_) | Target::Point => None,
    });
    for surface in rests.chain(adjusts).chain(reaches) {
        if surface != "floor" && !props.iter().any(|prop| prop.name == surface) {
            let known: Vec<&str> = props.iter().map(|it| it.name.as_str()).chain(["floor"]).collect();
            let message = format!("pose `{name}` needs a `{surface}`, but the picture has none");
            let help = format!("the picture has: {}", known.join(", "));
            reader.problem(at.span(), message, Some(help));
        }
    }
    check_contradictions(reader, pose, props, at, name);
}

/// One place of the body cannot rest on two level things at once; it may touch the floor and a wall.
fn check_contradictions(reader: &mut Reader, pose: &Pose, props: &[Prop], at: &Value, name: &str) {
    let upright = |surface: &str| {
        let stands = |it: &Prop| it.name == surface && matches!(it.kind, PropKind::Wall | PropKind::Post);
        props.iter().any(stands)
    };
    let level: Vec<_> = pose.rest.iter().filter(|it| !upright(&it.surface)).collect();
    for (i, one) in level.iter().enumerate() {
        if let Some(other) = level[..i].iter().find(|it| it.site == one.site && it.surface != one.surface) {
            let (site, first, second) = (one.site.full_name(), &other.surface, &one.surface);
            let message = format!("in pose `{name}` `{site}` rests on `{first}` and on `{second}` at once");
            reader.problem(at.span(), message, Some("keep one of the two in `rest`".into()));
        }
    }
}

fn mark(reader: &mut Reader, marks: &mut Marks, key: &str, span: std::ops::Range<usize>, value: &Value) -> Option<()> {
    match key {
        "arrow" => {
            for item in reader.list(value) {
                marks.arrows.extend(arrow(reader, item));
            }
        }
        "slide" => {
            for item in reader.list(value) {
                marks.slides.extend(slide(reader, item));
            }
        }
        "turn" => {
            for item in reader.list(value) {
                marks.turns.extend(turn(reader, item));
            }
        }
        "press" => {
            for item in reader.list(value) {
                marks.press.extend(reader.site(item));
            }
        }
        "feel" => {
            for item in reader.list(value) {
                marks.feel.extend(muscle(reader, item));
            }
        }
        "look" => {
            for item in reader.list(value) {
                let at = placed(reader, item, &["r"], 6.0)?;
                marks.look.push(Ring { site: at.site, radius: at.radius, shift: at.shift });
            }
        }
        "verdict" => {
            marks.verdict = reader.choice(value, "verdict", &[("good", Verdict::Good), ("bad", Verdict::Bad)]);
        }
        "ghost" => marks.ghost = reader.number(value).map(|it| it.max(0.0) as usize),
        "distance" => {
            for item in reader.list(value) {
                marks.distances.extend(distance(reader, item));
            }
        }
        "angle" => {
            for item in reader.list(value) {
                marks.angles.extend(angle::read(reader, item));
            }
        }
        "hold" => marks.hold = hold(reader, value)?,
        other => reader.unknown(span, "key of a frame", other, FRAME_KEYS),
    }
    Some(())
}

/// Whether the pose is held. How long is a matter of the dose: a number here could only contradict it.
fn hold(reader: &mut Reader, value: &Value) -> Option<bool> {
    if value.get_ref().as_bool().is_none() {
        let help = "write `hold = true`; the seconds come from the dose on the sheet";
        reader.problem(value.span(), "`hold` says only that the pose is held: true or false", Some(help.into()));
        return None;
    }
    Some(reader.flag(value))
}

fn distance(reader: &mut Reader, value: &Value) -> Option<Distance> {
    let (mut from, mut wall, mut label) = (None, "wall".to_owned(), None);
    for (key, inner) in reader.table(value)?.iter() {
        match key.get_ref().as_ref() {
            "from" => from = Some(reader.site(inner)?),
            "wall" => wall = reader.text(inner)?.to_owned(),
            "label" => label = Some((reader.text(inner)?.to_owned(), inner.span())),
            other => reader.unknown(key.span(), "key of `distance`", other, ["from", "wall", "label"]),
        }
    }
    let Some(from) = from else {
        let help = "add `from = \"left.toe\"`";
        reader.problem(value.span(), "a distance needs a place to measure from", Some(help.into()));
        return None;
    };
    // Without words the line and its ends would read as a letter.
    let Some((label, at)) = label.filter(|it| !it.0.trim().is_empty()) else {
        let help = "add `label = \"two fingers\"`, or the text of a step, such as {{ own(...) }}";
        reader.problem(value.span(), "a distance needs words to print at it", Some(help.into()));
        return None;
    };
    Some(Distance { from, wall, label, at })
}

struct Placed {
    site: Site,
    radius: f64,
    shift: [f64; 2],
}

fn placed(reader: &mut Reader, value: &Value, extra: &[&str], radius: f64) -> Option<Placed> {
    let table = reader.table(value)?;
    let mut placed = Placed { site: site_of(reader, value, table)?, radius, shift: [0.0; 2] };
    for (key, inner) in table.iter() {
        match key.get_ref().as_ref() {
            "site" => {}
            "shift" => placed.shift = reader.numbers(inner)?,
            "r" => placed.radius = reader.number(inner)?.clamp(0.5, 200.0),
            other if extra.contains(&other) => {}
            other => reader.unknown(key.span(), "key of a mark", other, extra.iter().copied().chain(["site", "shift"])),
        }
    }
    Some(placed)
}

fn site_of(reader: &mut Reader, value: &Value, table: &DeTable) -> Option<Site> {
    let Some(site) = table.get("site") else {
        let help = "write where it stands, such as `{ site = \"right.heel\" }`; `kinleaf list places` names all places";
        reader.problem(value.span(), "a mark needs a site", Some(help.into()));
        return None;
    };
    reader.site(site)
}

fn arrow(reader: &mut Reader, value: &Value) -> Option<Arrow> {
    let at = placed(reader, value, &["to", "off", "length", "trim", "both_ways"], 0.0)?;
    let table = reader.table(value)?;
    let mut arrow =
        Arrow { site: at.site, to: None, off: 5.0, shift: at.shift, length: None, trim: [3.0, 1.0], both_ways: false };
    for (key, inner) in table.iter() {
        match key.get_ref().as_ref() {
            "to" => arrow.to = reader.number(inner).map(|it| it.max(0.0) as usize),
            "off" => arrow.off = reader.number(inner)?,
            "length" => {
                arrow.length = size(reader, inner);
                arrow.trim = [0.0; 2];
            }
            "trim" => arrow.trim = reader.numbers(inner)?,
            "both_ways" => arrow.both_ways = reader.flag(inner),
            _ => {}
        }
    }
    Some(arrow)
}

fn slide(reader: &mut Reader, value: &Value) -> Option<Slide> {
    let at = placed(reader, value, &["dir", "length", "both_ways"], 0.0)?;
    let mut slide =
        Slide { site: at.site, toward: Direction::Vector(V3::UP), length: 12.0, shift: at.shift, both_ways: false };
    for (key, inner) in reader.table(value)?.iter() {
        match key.get_ref().as_ref() {
            "dir" => slide.toward = reader.direction(inner)?,
            "length" => slide.length = size(reader, inner)?,
            "both_ways" => slide.both_ways = reader.flag(inner),
            _ => {}
        }
    }
    Some(slide)
}

fn turn(reader: &mut Reader, value: &Value) -> Option<Turn> {
    let at = placed(reader, value, &["r", "flat", "deg"], 9.0)?;
    let mut turn = Turn { site: at.site, radius: at.radius, flat: 1.0, degrees: [0.0, 90.0], shift: at.shift };
    for (key, inner) in reader.table(value)?.iter() {
        match key.get_ref().as_ref() {
            "flat" => turn.flat = reader.number(inner)?,
            "deg" => turn.degrees = reader.numbers(inner)?,
            _ => {}
        }
    }
    Some(turn)
}

fn muscle(reader: &mut Reader, value: &Value) -> Option<Muscle> {
    let text = reader.text(value)?;
    let (side, name) = match text.split_once('.') {
        Some(("left", name)) => (Some(Side::Left), name),
        Some(("right", name)) => (Some(Side::Right), name),
        _ => (None, text),
    };
    match Muscle::names().find(|row| row.0 == name) {
        Some((name, sided)) if sided == side.is_some() => Some(Muscle { name, side }),
        Some((name, sided)) => {
            let help = if sided { format!("write `left.{name}`") } else { format!("write `{name}`") };
            reader.problem(value.span(), format!("`{text}` is not a muscle as written"), Some(help));
            None
        }
        None => {
            reader.unknown(value.span(), "muscle", name, Muscle::names().map(|row| row.0));
            None
        }
    }
}
