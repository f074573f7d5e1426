//! What a sheet was set from, in a form that can be kept: its words and numbers, its drawings, and the layouts, fonts and
//! pictures that it was set with.
//!
//! Each thing is kept once under the hash of its bytes, so that sheets share what they have in common. A sheet's data
//! differs from one ink to the next by its drawings alone; paper and type are put in when it is set.

use std::collections::BTreeMap;
use std::sync::Arc;

use serde::{Deserialize, Serialize};
use serde_json::Value as Json;

use crate::ledger::hash;
use crate::print::{Ink, Look};

/// The folder in `clients/` that holds what was kept.
pub const FOLDER: &str = "issued";
/// Largest thing that is kept, in bytes; fonts for large scripts have some ten million.
const LARGEST: usize = 64 << 20;
/// A sheet shrinks to a quarter, fonts to half; the highest level takes twice the time for a third of a hundredth.
const LEVEL: u8 = 6;

/// The data of one sheet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Issued {
    /// The version of the program that issued it.
    pub program: String,
    /// The name of the list of files that it was set with.
    pub means: String,
    /// What its layout reads, by ink; each drawing is named by its hash.
    pub data: BTreeMap<String, Json>,
}

/// The files that sheets are set with: layouts, fonts and pictures by path, each with its hash.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Means(pub BTreeMap<String, String>);

/// Things to keep, by the hash of their bytes.
pub type Store = BTreeMap<String, Arc<Vec<u8>>>;

/// The version that is at work now.
pub const PROGRAM: &str = concat!("kinleaf ", env!("CARGO_PKG_VERSION"));

fn key(ink: Ink) -> &'static str {
    Ink::ALL.iter().find(|(_, known)| *known == ink).map_or("colour", |(key, _)| key)
}

/// Adds something to a store and gives its name.
pub fn keep(store: &mut Store, bytes: impl Into<Arc<Vec<u8>>>) -> String {
    let bytes = bytes.into();
    let name = hash(&bytes);
    store.insert(name.clone(), bytes);
    name
}

impl Issued {
    /// A sheet that nothing is kept of yet.
    pub fn blank() -> Self {
        Self { program: PROGRAM.to_owned(), means: String::new(), data: BTreeMap::new() }
    }

    /// Adds a sheet's data in one ink. Its drawings go into `store`.
    pub fn add(&mut self, ink: Ink, mut json: Json, store: &mut Store) {
        let named = drawings(&mut json, &mut |svg| Some(keep(store, svg.as_bytes().to_vec())));
        named.expect("every drawing gets a name");
        if let Some(doc) = json.get_mut("doc").and_then(Json::as_object_mut) {
            doc.shift_remove("look");
        }
        self.data.insert(key(ink).to_owned(), json);
    }

    /// Puts the sheet itself into `store`; gives its name.
    pub fn keep(&self, store: &mut Store) -> String {
        keep(store, serde_json::to_vec(self).expect("sheets are plain data"))
    }

    /// The data for one look, its drawings fetched by name.
    ///
    /// # Errors
    /// The name of a drawing that cannot be fetched, or nothing if this ink was not kept.
    pub fn data(&self, look: Look, fetch: &mut dyn FnMut(&str) -> Option<String>) -> Result<Json, String> {
        let mut json = self.data.get(key(look.ink)).cloned().ok_or_else(String::new)?;
        drawings(&mut json, fetch)?;
        if let Some(doc) = json.get_mut("doc").and_then(Json::as_object_mut) {
            doc.insert("look".to_owned(), serde_json::to_value(look).expect("looks are plain data"));
        }
        Ok(json)
    }
}

/// Puts something else in the place of each drawing.
///
/// # Errors
/// The first drawing that `with` has nothing for.
fn drawings(value: &mut Json, with: &mut dyn FnMut(&str) -> Option<String>) -> Result<(), String> {
    match value {
        Json::Object(fields) => fields.iter_mut().try_for_each(|(key, item)| match item {
            Json::String(svg) if key == "svg" => {
                *svg = with(svg).ok_or_else(|| svg.clone())?;
                Ok(())
            }
            _ => drawings(item, with),
        }),
        Json::Array(items) => items.iter_mut().try_for_each(|item| drawings(item, with)),
        _ => Ok(()),
    }
}

/// The practice's own picture files that a sheet's data names.
pub fn pictures(value: &Json) -> Vec<&str> {
    fn walk<'a>(value: &'a Json, found: &mut Vec<&'a str>) {
        match value {
            Json::Object(fields) => {
                let drawn = fields.contains_key("svg");
                for (key, item) in fields {
                    match item {
                        Json::String(file) if (key == "src" && !drawn) || key == "logo_src" => found.push(file),
                        _ => walk(item, found),
                    }
                }
            }
            Json::Array(items) => items.iter().for_each(|item| walk(item, found)),
            _ => {}
        }
    }
    let mut found = Vec::new();
    walk(value, &mut found);
    found
}

/// The bytes as they go to disk. The same on any machine.
pub fn packed(bytes: &[u8]) -> Vec<u8> {
    miniz_oxide::deflate::compress_to_vec_zlib(bytes, LEVEL)
}

/// The bytes that were kept under a name; none if they are not whole.
pub fn unpacked(name: &str, packed: &[u8]) -> Option<Vec<u8>> {
    let bytes = miniz_oxide::inflate::decompress_to_vec_zlib_with_limit(packed, LARGEST).ok()?;
    (hash(&bytes) == name).then_some(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::print::{Paper, Type};
    use serde_json::json;

    #[test]
    fn what_was_kept_comes_back_with_its_drawings_in_any_ink_paper_and_type() {
        let sheet = |svg: &str, ink: &str| {
            json!({
                "doc": { "sheet": 1, "look": { "paper": "a4", "type": "normal", "ink": ink } },
                "frames": [{ "src": "a.svg", "svg": svg }, { "src": "own.png" }],
            })
        };
        let mut store = Store::new();
        let mut issued = Issued::blank();
        issued.add(Ink::Colour, sheet("<svg>red</svg>", "colour"), &mut store);
        issued.add(Ink::Grey, sheet("<svg>grey</svg>", "grey"), &mut store);
        let name = issued.keep(&mut store);
        assert_eq!(store.len(), 3, "the sheet and its two drawings");
        let text = String::from_utf8(store[&name].to_vec()).unwrap();
        assert!(!text.contains("<svg>") && !text.contains("look"), "{text}");
        let kept: Issued = serde_json::from_slice(&store[&name]).unwrap();
        let mut fetch = |name: &str| store.get(name).map(|svg| String::from_utf8(svg.to_vec()).unwrap());
        let look = Look { paper: Paper::Letter, type_size: Type::Large, ink: Ink::Grey };
        let grey = kept.data(look, &mut fetch).unwrap();
        assert_eq!(grey["frames"][0]["svg"], "<svg>grey</svg>");
        assert_eq!(grey["doc"]["look"], json!({ "paper": "letter", "type": "large", "ink": "grey" }));
        assert_eq!(pictures(&grey), ["own.png"]);
        // What is not there is named.
        let lost = kept.data(look, &mut |_| None).unwrap_err();
        assert_eq!(lost, hash(b"<svg>grey</svg>"));
        let saver = Look { ink: Ink::Saver, ..look };
        assert_eq!(kept.data(saver, &mut fetch).unwrap_err(), "");
    }

    #[test]
    fn what_is_not_whole_is_nothing() {
        let bytes = b"a sheet, a sheet, a sheet".to_vec();
        let name = hash(&bytes);
        let kept = packed(&bytes);
        assert_eq!(unpacked(&name, &kept), Some(bytes));
        assert_eq!(unpacked(&name, &kept[..kept.len() - 1]), None);
        assert_eq!(unpacked(&hash(b"other"), &kept), None);
    }
}
