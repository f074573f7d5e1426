//! The shape of pose files for editors, from the very lists that the readers go by.

use serde_json::{Map, Value as Json, json};

use crate::draw::angle;
use crate::draw::camera::VIEWS;
use crate::draw::library::{LIMBS, POSE_KEYS, REACH_KEYS, SHAPES, TRUNK_TURNS};
use crate::draw::motion::{MOTIONS, Posture};
use crate::draw::muscle::Muscle;
use crate::draw::picture::{Faces, PropKind};
use crate::draw::pose::Word;
use crate::draw::read::TRUNK;
use crate::draw::read_picture::{AUTHORED, FRAME_KEYS, PICTURE_KEYS};
use crate::draw::read_prop::{COLORS, PROP_KEYS, SIDES};
use crate::draw::sites::site_names;

/// The shape of the file of base poses.
pub fn base_poses() -> Json {
    with_definitions(table([("pose", poses())], &["pose"]))
}

/// What is referred to more than once is written down once.
fn with_definitions(mut schema: Json) -> Json {
    schema["definitions"] = json!({
        "place": sided(site_names(), &["left", "right", "both"]),
        "place-nearby": sided(site_names(), &["left", "right", "both", "same", "other"]),
        "joint": all_joints(),
        "direction": any_direction(),
        "one-pose": any_pose(),
    });
    schema
}

fn defined(name: &str) -> Json {
    json!({ "$ref": format!("#/definitions/{name}") })
}

/// The shape of the pictures of one exercise or test.
pub fn pictures() -> Json {
    let keys = PICTURE_KEYS.map(|key| {
        let shape = match key {
            "pose" => poses(),
            "authored" => one_of(AUTHORED.map(|row| row.0)),
            "view" => view(),
            "props" => list(prop()),
            "frames" => json!({ "type": "array", "minItems": 1, "items": frame() }),
            "crop" => table([("site", site()), ("radius", number()), ("shift", numbers(2))], &["site"]),
            _ => json!({}),
        };
        (key, shape)
    });
    with_definitions(table(keys, &["frames"]))
}

fn table<'a>(keys: impl IntoIterator<Item = (&'a str, Json)>, needed: &[&str]) -> Json {
    let properties: Map<String, Json> = keys.into_iter().map(|(key, shape)| (key.to_owned(), shape)).collect();
    json!({ "type": "object", "properties": properties, "required": needed, "additionalProperties": false })
}

fn list(items: Json) -> Json {
    json!({ "type": "array", "items": items })
}

fn one_of<'a>(words: impl IntoIterator<Item = &'a str>) -> Json {
    json!({ "enum": words.into_iter().collect::<Vec<_>>() })
}

fn number() -> Json {
    json!({ "type": "number" })
}

fn text() -> Json {
    json!({ "type": "string" })
}

fn numbers(count: usize) -> Json {
    json!({ "type": "array", "items": number(), "minItems": count, "maxItems": count })
}

/// A size in percent of stature.
fn size() -> Json {
    json!({ "type": "number", "exclusiveMinimum": 0, "maximum": 400 })
}

/// Three coordinates; `keep` leaves one alone.
fn coordinates() -> Json {
    json!({ "type": "array", "maxItems": 3, "items": { "anyOf": [number(), one_of(["keep"])] } })
}

/// Names that stand for a place on each side, and for those that have one only.
fn sided(names: impl Iterator<Item = (&'static str, bool)>, prefixes: &[&str]) -> Json {
    let words: Vec<String> = names
        .flat_map(|(name, sided)| {
            if sided { prefixes.iter().map(|side| format!("{side}.{name}")).collect() } else { vec![name.to_owned()] }
        })
        .collect();
    json!({ "enum": words })
}

fn site() -> Json {
    defined("place")
}

fn joint() -> Json {
    defined("joint")
}

fn direction() -> Json {
    defined("direction")
}

fn pose() -> Json {
    defined("one-pose")
}

fn all_joints() -> Json {
    let trunk = TRUNK.iter().map(|(name, _)| format!("trunk.{name}"));
    let mut joints = sided(MOTIONS.iter().map(|row| (row.1, row.2)), &["left", "right", "both"]);
    if let Some(words) = joints["enum"].as_array_mut() {
        words.extend(trunk.map(Json::from));
    }
    joints
}

/// Words joined by `+`, or a direction in numbers.
fn any_direction() -> Json {
    let words = Word::NAMES.map(|row| row.0).join("|");
    json!({ "anyOf": [{ "type": "string", "pattern": format!(r"^ *({words}) *(\+ *({words}) *)*$") }, numbers(3)] })
}

fn view() -> Json {
    json!({ "anyOf": [one_of(VIEWS.map(|row| row.0)), numbers(2)] })
}

fn poses() -> Json {
    json!({ "type": "object", "additionalProperties": pose() })
}

fn any_pose() -> Json {
    let keys = POSE_KEYS.into_iter().chain(TRUNK_TURNS).map(|key| (key, pose_key(key)));
    table(keys, &[])
}

fn pose_key(key: &str) -> Json {
    match key {
        "base" | "say" => text(),
        "posture" => one_of(Posture::NAMES.map(|row| row.0)),
        "rest" => list(json!({ "type": "string", "pattern": " on " })),
        "lock" | "free" => list(one_of(TRUNK_TURNS)),
        "anchor" => site(),
        "anchor_at" => coordinates(),
        "hold" => one_of(["chest", "pelvis"]),
        "adjust" => list(table(
            [("joint", joint()), ("until", json!({ "type": "string", "pattern": " on " })), ("range", number())],
            &["joint", "until"],
        )),
        "reach" => list(table(REACH_KEYS.map(|key| (key, reach_key(key))), &["limb"])),
        "left" | "right" | "both" => angles(|_, sided| sided, true),
        "hand" => table([("shape", one_of(SHAPES.map(|row| row.0)))], &[]),
        "trunk" => table(TRUNK.map(|(name, _)| (name, number())), &[]),
        part @ ("lumbar" | "thoracic" | "neck" | "head") => parts(part),
        _ => number(),
    }
}

/// The joints of one side, and the shape of its hand.
fn angles(wanted: impl Fn(&str, bool) -> bool, hand: bool) -> Json {
    let mut parts: Map<String, Json> = Map::new();
    for (_, name, sided, _) in MOTIONS.iter().filter(|row| wanted(row.1, row.2)) {
        if let Some((joint, motion)) = name.split_once('.').filter(|_| *sided) {
            let joint = parts.entry(joint).or_insert_with(|| table([], &[]));
            joint["properties"][motion] = number();
        }
    }
    if hand {
        parts.insert("hand".into(), table([("shape", one_of(SHAPES.map(|row| row.0)))], &[]));
    }
    json!({ "type": "object", "properties": parts, "additionalProperties": false })
}

/// The motions of one part of the trunk.
fn parts(part: &str) -> Json {
    let motions = MOTIONS.iter().filter_map(|row| row.1.split_once('.')).filter(|(of, _)| *of == part);
    table(motions.map(|(_, motion)| (motion, number())), &[])
}

fn reach_key(key: &str) -> Json {
    match key {
        "limb" => one_of(LIMBS.map(|row| row.0)),
        "at" => coordinates(),
        "from" => defined("place-nearby"),
        "to" => text(),
        "by" => table(Word::NAMES.map(|row| (row.0, number())), &[]),
        "side" | "fingers" | "palm" | "bend" | "toes" => direction(),
        _ => number(),
    }
}

fn prop() -> Json {
    let keys = PROP_KEYS.map(|key| {
        let shape = match key {
            "kind" => one_of(PropKind::NAMES.map(|row| row.0)),
            "name" => text(),
            "frames" => list(number()),
            "see_through" | "back" => json!({ "type": "boolean" }),
            "at" => numbers(2),
            "faces" => one_of(Faces::NAMES.map(|row| row.0)),
            "under" | "touch" => site(),
            "toward" | "axis" => direction(),
            "path" => list(json!({ "anyOf": [text(), numbers(3)] })),
            "hand" => one_of(SIDES.map(|row| row.0)),
            "segment" => one_of(["thigh", "shank"]),
            "color" => one_of(COLORS.map(|row| row.0)),
            "height" | "depth" | "width" | "radius" | "length" => size(),
            _ => number(),
        };
        (key, shape)
    });
    table(keys, &["kind"])
}

fn mark(more: &[(&str, Json)]) -> Json {
    let own = more.iter().map(|(key, shape)| (*key, shape.clone()));
    list(table([("site", site()), ("shift", numbers(2))].into_iter().chain(own), &["site"]))
}

fn angle_key(key: &str) -> Json {
    match key {
        "joint" => site(),
        "degrees" => json!({ "type": "boolean" }),
        "r" => json!({ "type": "number", "minimum": angle::LEAST_RADIUS }),
        _ => json!({ "anyOf": [site(), direction()] }),
    }
}

fn frame() -> Json {
    let flag = || json!({ "type": "boolean" });
    let keys = FRAME_KEYS.map(|key| {
        let shape = match key {
            "view" => view(),
            "allow" => list(joint()),
            "arrow" => mark(&[
                ("to", number()),
                ("off", number()),
                ("length", size()),
                ("trim", numbers(2)),
                ("both_ways", flag()),
            ]),
            "slide" => mark(&[("dir", direction()), ("length", size()), ("both_ways", flag())]),
            "turn" => mark(&[("r", number()), ("flat", number()), ("deg", numbers(2))]),
            "press" => list(site()),
            "feel" => list(sided(Muscle::names(), &["left", "right"])),
            "look" => mark(&[("r", number())]),
            "verdict" => one_of(["good", "bad"]),
            "ghost" => number(),
            "distance" => {
                let label = json!({ "type": "string", "minLength": 1 });
                list(table([("from", site()), ("wall", text()), ("label", label)], &["from", "label"]))
            }
            "angle" => {
                let keys = angle::KEYS.map(|key| (key, angle_key(key)));
                list(table(keys, &["joint", "from", "to"]))
            }
            "hold" => flag(),
            "set" => pose(),
            "rungs" => list(number()),
            _ => text(),
        };
        (key, shape)
    });
    table(keys, &["pose"])
}
