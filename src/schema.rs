//! JSON Schemas of a practice's files, by which editors complete and check while somebody types.
//!
//! They are made from what the readers themselves ask for ([`crate::shape`]) while they read the starter practice and,
//! for keys that it does not use, a few examples that are kept beside this file.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::civil::Date;
use serde_json::{Map, Value as Json, json};

use crate::check::{Practice, check, shapes};
use crate::diag::{Problem, SourceFile};
use crate::draw;
use crate::ids::Id;
use crate::load::Entry;
use crate::shape::{Kind, Node, Shape, Shapes};
use crate::starter;

/// The folder of a practice that holds them.
pub const FOLDER: &str = ".schemas";

/// Examples with every key and a word on each, by kind of file.
const EXAMPLES: [(&str, &str); 4] = [
    ("brand", include_str!("schema/brand.toml")),
    ("client", include_str!("schema/client.toml")),
    ("exercise", include_str!("schema/exercise.toml")),
    ("test", include_str!("schema/test.toml")),
];

/// The picture that the example of an exercise names.
const PICTURE: &[u8] = b"<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'><path d='M1 1h7v7z'/></svg>";
/// A photo for the same.
const PHOTO: &[u8] = include_bytes!("schema/example.png");

/// A day after every date in the examples.
const DAY: Date = Date::constant(2027, 1, 1);

/// What each kind of file may hold.
///
/// # Errors
/// If an example does not read well.
pub fn known() -> Result<Shapes, Vec<Problem>> {
    let mut files = starter::files();
    files.pictures.insert("example.svg".to_owned(), PICTURE.to_vec());
    files.pictures.insert("example.png".to_owned(), PHOTO.to_vec());
    let (practice, problems) = check(files);
    let Some(practice) = practice else {
        return Err(problems);
    };
    let example = |(kind, text): (&'static str, &str)| {
        let file = SourceFile { path: format!("example of {kind}"), text: text.to_owned() };
        (kind, Entry { stem: "example".to_owned(), file: Arc::new(file) })
    };
    let mut examples: Vec<_> = EXAMPLES.into_iter().map(example).collect();
    examples.extend(starter::texts().into_iter().filter(|(kind, _)| !kind.ends_with("poses")));
    shapes(&practice, &examples, DAY)
}

/// Every schema by kind of file. Where a name is asked for, those of `practice` are offered; others are no fault, since
/// a name may be newer than the schema.
///
/// # Errors
/// If an example does not read well.
pub fn all(practice: Option<&Practice>) -> Result<BTreeMap<&'static str, Json>, Vec<Problem>> {
    let names = practice.map(names).unwrap_or_default();
    let mut schemas: BTreeMap<&'static str, Json> =
        known()?.into_iter().map(|(kind, shape)| (kind, document(kind, of(&shape), &names))).collect();
    schemas.insert("poses", document("poses", draw::pictures(), &names));
    schemas.insert("base-poses", document("base-poses", draw::base_poses(), &names));
    Ok(schemas)
}

/// The comment line by which the text of a file at `path` names its schema; editors look for it at the top.
pub fn reference(kind: &str, path: &str) -> String {
    format!("#:schema {}{FOLDER}/{kind}.json", "../".repeat(path.matches('/').count()))
}

type Names = BTreeMap<&'static str, Vec<String>>;

/// Every name of a practice, by what it names.
fn names(practice: &Practice) -> Names {
    fn of<'a, K: Id + 'a>(ids: impl Iterator<Item = &'a K>) -> (&'static str, Vec<String>) {
        (K::KIND, ids.map(ToString::to_string).collect())
    }
    let library = &practice.library;
    let words = &library.vocabulary;
    BTreeMap::from([
        of(practice.exercise_names()),
        of(library.tests.keys()),
        of(library.phases.iter().map(|phase| &phase.id)),
        of(words.structures.keys()),
        of(words.regions.keys()),
        of(words.equipment.keys()),
        of(words.positions.keys()),
        of(words.tags.keys()),
        of(words.activities.keys()),
        of(words.conditions.keys()),
        of(words.flags.keys()),
        of(practice.brand.coaches.keys()),
    ])
}

fn document(kind: &str, mut schema: Json, names: &Names) -> Json {
    let mut own = schema.as_object_mut().and_then(|fields| fields.remove("definitions"));
    let own = own.as_mut().and_then(Json::as_object_mut).map(std::mem::take).unwrap_or_default();
    let name = json!({ "type": "string", "pattern": "^[a-z0-9][a-z0-9-]{0,39}$" });
    let mut used = Vec::new();
    collect_names(&schema, &mut used);
    let names: Vec<(String, Json)> = used
        .into_iter()
        .filter(|what| !own.contains_key(what))
        .map(|what| {
            let shape = match names.get(what.as_str()) {
                Some(known) => json!({ "anyOf": [{ "enum": known }, name] }),
                None => name.clone(),
            };
            (what, shape)
        })
        .collect();
    let definitions: Map<String, Json> = own.into_iter().chain(names).collect();
    let mut whole =
        json!({ "$schema": "http://json-schema.org/draft-07/schema#", "title": format!("Kinleaf: {kind}") });
    if let (Json::Object(whole), Json::Object(schema)) = (&mut whole, &mut schema) {
        whole.append(schema);
        if !definitions.is_empty() {
            whole.insert("definitions".into(), Json::Object(definitions));
        }
    }
    whole
}

/// What the schema refers to, each once.
fn collect_names(schema: &Json, found: &mut Vec<String>) {
    match schema {
        Json::Object(fields) => {
            if let Some(name) = fields.get("$ref").and_then(Json::as_str).and_then(|it| it.strip_prefix(DEFINITIONS))
                && !found.iter().any(|known| known == name)
            {
                found.push(name.to_owned());
            }
            fields.values().for_each(|inner| collect_names(inner, found));
        }
        Json::Array(items) => items.iter().for_each(|inner| collect_names(inner, found)),
        _ => {}
    }
}

const DEFINITIONS: &str = "#/definitions/";

fn of(shape: &Shape) -> Json {
    shape.with(|node| {
        let mut ways: Vec<Json> = node.kinds.iter().map(value).collect();
        if let Some(items) = &node.items {
            ways.push(json!({ "type": "array", "items": of(items) }));
        }
        if node.tables > 0 {
            ways.push(table(node));
        }
        let mut schema = match ways.len() {
            1 => ways.remove(0),
            _ => json!({ "anyOf": ways }),
        };
        if let Some(about) = &node.about {
            schema = described(schema, about);
        }
        schema
    })
}

/// A reference may have no neighbours, so that it is wrapped where something is said about it.
fn described(schema: Json, about: &str) -> Json {
    let mut described = Map::from_iter([("description".to_owned(), Json::from(about))]);
    match schema {
        Json::Object(mut fields) if !fields.contains_key("$ref") => described.append(&mut fields),
        other => _ = described.insert("allOf".into(), json!([other])),
    }
    Json::Object(described)
}

fn value(kind: &Kind) -> Json {
    match kind {
        Kind::Text(limit) => json!({ "type": "string", "minLength": 1, "maxLength": limit }),
        Kind::OneOf(words) => json!({ "enum": words }),
        Kind::Name(what) => json!({ "$ref": format!("{DEFINITIONS}{what}") }),
        Kind::Whole(least, u32::MAX) => json!({ "type": "integer", "minimum": least }),
        Kind::Whole(least, most) => json!({ "type": "integer", "minimum": least, "maximum": most }),
        Kind::Number(least, most) => json!({ "type": "number", "minimum": least, "maximum": most }),
        Kind::Quantity => json!({ "type": ["number", "string"] }),
        Kind::Yes => json!({ "type": "boolean" }),
        Kind::Date | Kind::DateTime => json!({ "type": "string" }),
    }
}

fn table(node: &Node) -> Json {
    let asked = node.keys.iter().filter(|(_, key)| key.asked.is_some());
    let needed: Vec<&str> =
        asked.clone().filter(|(_, key)| key.needed >= node.tables).map(|(name, _)| name.as_str()).collect();
    let properties: Map<String, Json> = asked.map(|(name, key)| (name.clone(), of(&key.shape))).collect();
    let others = node.named.as_ref().map_or(Json::from(false), of);
    json!({ "type": "object", "properties": properties, "required": needed, "additionalProperties": others })
}

#[cfg(test)]
mod tests;
