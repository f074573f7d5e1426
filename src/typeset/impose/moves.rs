//! What learns that a page has moved: marks, edges, places to go to.

use std::collections::BTreeMap;

use super::file::{File, Step, Value};

/// Where a page has gone: the object of its side, how far to the right, in points, and how many marks stand before its.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    pub(super) side: i32,
    pub(super) across: f64,
    pub(super) marks: usize,
}

/// The places of all pages, by their objects.
pub(super) struct Moves {
    pub(super) places: BTreeMap<i32, Place>,
    /// The page of everything that has edges of its own: notes of a page, and tags.
    stands: BTreeMap<i32, i32>,
}

impl Moves {
    /// Without a place yet. A tag without marks stands where the one before it does.
    pub(super) fn of_pages(file: &File, pages: &[(i32, Vec<Step>)]) -> Self {
        let mut stands = BTreeMap::new();
        for (page, _) in pages {
            let notes = file.things.get(page).and_then(|thing| thing.value.get("Annots")).map_or(&[][..], Value::parts);
            stands.extend(notes.iter().filter_map(|note| Some((note.to()?, *page))));
        }
        let mut here = pages.first().map(|(page, _)| *page).unwrap_or_default();
        let root = file.things.get(&file.catalog).and_then(|thing| thing.value.get("StructTreeRoot")?.to());
        let mut waiting: Vec<i32> = root.into_iter().collect();
        while let Some(number) = waiting.pop() {
            let Some(thing) = file.things.get(&number) else { continue };
            if let Some(page) = thing.value.get("Pg").and_then(Value::to) {
                here = page;
            }
            stands.insert(number, here);
            let within = thing.value.get("K").map_or(&[][..], Value::parts);
            waiting.extend(within.iter().rev().filter_map(Value::to));
        }
        Self { places: BTreeMap::new(), stands }
    }

    /// Tells an object where the pages have gone.
    pub(super) fn apply(&self, number: i32, value: &mut Value) {
        let across = self.stands.get(&number).and_then(|page| self.places.get(page)).map_or(0.0, |place| place.across);
        if value.is("Type", "StructElem") {
            self.tag(value, across);
        } else if value.is("Type", "Annot")
            && let Some(edges) = value.entries().and_then(|note| note.get_mut(&b"Rect"[..]))
        {
            shift(edges, across);
        }
        self.refer(value);
    }

    /// The marks of a tag, and the edges of what it describes.
    fn tag(&self, tag: &mut Value, across: f64) {
        let before = |page: Option<i32>| page.and_then(|page| self.places.get(&page)).map_or(0.0, |at| at.marks as f64);
        let page = tag.get("Pg").and_then(Value::to);
        let Some(tag) = tag.entries() else { return };
        match tag.get_mut(&b"K"[..]) {
            Some(Value::Number(mark)) => *mark += before(page),
            Some(Value::List(items)) => {
                for item in items {
                    let own = item.get("Pg").and_then(Value::to).or(page);
                    match item {
                        Value::Number(mark) => *mark += before(page),
                        Value::Fields(fields) => {
                            if let Some(Value::Number(mark)) = fields.get_mut(&b"MCID"[..]) {
                                *mark += before(own);
                            }
                        }
                        _ => {}
                    }
                }
            }
            _ => {}
        }
        if let Some(Value::List(attributes)) = tag.get_mut(&b"A"[..]) {
            for attribute in attributes {
                if let Some(edges) = attribute.entries().and_then(|fields| fields.get_mut(&b"BBox"[..])) {
                    shift(edges, across);
                }
            }
        }
    }

    /// Whatever names a page names its side from now on; a place to go to moves with its page.
    fn refer(&self, value: &mut Value) {
        match value {
            Value::Ref(to) => {
                if let Some(place) = self.places.get(to) {
                    *to = place.side;
                }
            }
            Value::List(items) => {
                if let [Value::Ref(to), Value::Name(how), Value::Number(left), ..] = items.as_mut_slice()
                    && let (Some(place), b"XYZ") = (self.places.get(to), how.as_slice())
                {
                    *left += place.across;
                }
                items.iter_mut().for_each(|item| self.refer(item));
            }
            Value::Fields(fields) => fields.values_mut().for_each(|value| self.refer(value)),
            Value::Null | Value::Bool(_) | Value::Number(_) | Value::Text(_) | Value::Name(_) => {}
        }
    }
}

/// Moves a box to the right.
fn shift(edges: &mut Value, across: f64) {
    if let Value::List(edges) = edges {
        for edge in edges.iter_mut().step_by(2) {
            if let Value::Number(edge) = edge {
                *edge += across;
            }
        }
    }
}
