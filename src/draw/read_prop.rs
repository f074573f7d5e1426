//! Reading the things in the room.

use crate::body::Side;
use crate::draw::picture::{Faces, Hold, PathPoint, Prop, PropKind};
use crate::draw::pose::Direction;
use crate::draw::read::{Reader, Value};
use crate::draw::vector::V3;

pub(crate) const COLORS: [(&str, &str); 9] = [
    ("prop", "prop"),
    ("wood", "wood"),
    ("towel", "towel"),
    ("pillow", "pillow"),
    ("band", "band"),
    ("accent", "accent"),
    ("mat", "mat"),
    ("skin", "skin"),
    ("floor", "floor"),
];
pub(crate) const PROP_KEYS: [&str; 23] = [
    "kind",
    "name",
    "frames",
    "see_through",
    "at",
    "distance",
    "faces",
    "under",
    "touch",
    "toward",
    "axis",
    "path",
    "hand",
    "segment",
    "back",
    "color",
    "height",
    "depth",
    "width",
    "radius",
    "length",
    "gap",
    "fraction",
];

/// Reads one prop.
pub(crate) fn prop(reader: &mut Reader, value: &Value) -> Option<Prop> {
    let table = reader.table(value)?;
    let Some(kind) = table.get("kind") else {
        reader.problem(value.span(), "a prop needs a kind", Some("write `kind = \"mat\"`".into()));
        return None;
    };
    let kind = reader.choice(kind, "kind of prop", &PropKind::NAMES)?;
    let mut prop = Prop {
        kind,
        name: kind.name().to_owned(),
        frames: Vec::new(),
        see_through: false,
        at: None,
        distance: None,
        faces: Faces::North,
        under: None,
        touch: None,
        toward: None,
        axis: None,
        path: Vec::new(),
        hand: None,
        on_shank: false,
        back: true,
        color: None,
        height: None,
        depth: None,
        width: None,
        radius: None,
        length: None,
        gap: 0.0,
        fraction: 0.85,
    };
    for (key, inner) in table.iter() {
        match key.get_ref().as_ref() {
            "kind" => {}
            "name" => prop.name = reader.text(inner)?.to_owned(),
            "frames" => {
                let list = reader.list(inner);
                prop.frames = list.iter().filter_map(|it| reader.number(it)).map(|it| it.max(0.0) as usize).collect();
            }
            "see_through" => prop.see_through = reader.flag(inner),
            "at" => prop.at = reader.numbers(inner),
            "distance" => prop.distance = reader.number(inner),
            "faces" => prop.faces = reader.choice(inner, "way to face", &Faces::NAMES)?,
            "under" => prop.under = reader.site(inner),
            "touch" => prop.touch = reader.site(inner),
            "toward" => prop.toward = reader.direction(inner),
            "axis" => prop.axis = reader.direction(inner),
            "path" => {
                let list = reader.list(inner);
                prop.path = list.iter().filter_map(|it| path_point(reader, it)).collect();
            }
            "hand" => prop.hand = reader.choice(inner, "side", &SIDES),
            "segment" => prop.on_shank = reader.choice(inner, "segment", &[("thigh", false), ("shank", true)])?,
            "back" => prop.back = reader.flag(inner),
            "color" => prop.color = reader.choice(inner, "color", &COLORS),
            "height" => prop.height = size(reader, inner),
            "depth" => prop.depth = size(reader, inner),
            "width" => prop.width = size(reader, inner),
            "radius" => prop.radius = size(reader, inner),
            "length" => prop.length = size(reader, inner),
            "gap" => prop.gap = reader.number(inner)?,
            "fraction" => prop.fraction = reader.number(inner)?.clamp(0.0, 1.0),
            other => reader.unknown(key.span(), "key of a prop", other, PROP_KEYS),
        }
    }
    let missing = match kind {
        PropKind::Roller | PropKind::Pillow => prop.under.is_none().then_some("under"),
        PropKind::Ball => (prop.under.is_none() && prop.touch.is_none()).then_some("under"),
        PropKind::Wall => (prop.distance.is_none() && prop.touch.is_none()).then_some("distance"),
        PropKind::Step | PropKind::Table | PropKind::Bed | PropKind::Post => prop.at.is_none().then_some("at"),
        PropKind::Band | PropKind::Stick => (prop.path.len() < 2).then_some("path"),
        PropKind::Weight => prop.hand.is_none().then_some("hand"),
        PropKind::Mat | PropKind::Chair | PropKind::Loop => None,
    };
    if let Some(key) = missing {
        reader.problem(value.span(), format!("a {} needs `{key}`", kind.name()), None);
        return None;
    }
    Some(prop)
}

pub(crate) const SIDES: [(&str, Side); 2] = [("left", Side::Left), ("right", Side::Right)];

/// A size, which must be more than nothing.
pub(crate) fn size(reader: &mut Reader, value: &Value) -> Option<f64> {
    let size = reader.number(value)?;
    if size <= 0.0 || size > 400.0 {
        reader.problem(value.span(), format!("a size of {size} is not between 0 and 400 percent of stature"), None);
        return None;
    }
    Some(size)
}

/// Reads `left.grip`, `right.sole`, a site, `site +ahead 3`, or a point of the room.
fn path_point(reader: &mut Reader, value: &Value) -> Option<PathPoint> {
    if value.get_ref().is_array() {
        return reader.numbers(value).map(|it| PathPoint { hold: Hold::Point(V3(it)), shift: None });
    }
    let text = reader.text(value)?;
    let mut words = text.split_whitespace();
    let name = words.next().unwrap_or("");
    let hold = match name {
        "left.grip" => Hold::Grip(Side::Left),
        "right.grip" => Hold::Grip(Side::Right),
        "left.tread" => Hold::Sole(Side::Left),
        "right.tread" => Hold::Sole(Side::Right),
        _ => Hold::Site(reader.sites(name, value.span()).first().copied()?),
    };
    let shift = match (words.next(), words.next().map(str::parse::<f64>)) {
        (None, _) => None,
        (Some(way), Some(Ok(amount))) => {
            let way = way.split('+').filter(|it| !it.is_empty());
            let words: Vec<_> = way.filter_map(|it| reader.word(it, value.span())).collect();
            Some((Direction::Words(words), amount))
        }
        _ => {
            reader.problem(value.span(), "a shift is a direction and a number", Some("write `left.knee +up 3`".into()));
            None
        }
    };
    Some(PathPoint { hold, shift })
}
