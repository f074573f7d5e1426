//! Mends what is mechanical in a practice's TOML files: the order of keys, units as they are usually written, spaces at
//! the ends of lines. What a file says stays the same, and so does every comment.

use toml_edit::{DocumentMut, InlineTable, Item, Table, Value};

use crate::shape::{Kind, Shape};
use crate::units;

/// A file's text, mended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mended {
    /// The text.
    pub text: String,
    /// What was done, in words.
    pub done: Vec<&'static str>,
}

/// Mends a text; `None` if there is nothing to mend, or if it is not TOML. Keys are put in order where the file's shape is
/// known.
pub fn mend(text: &str, shape: Option<&Shape>) -> Option<Mended> {
    if text.trim().is_empty() {
        return None;
    }
    let mut done = Vec::new();
    let mut now = text.strip_prefix('\u{feff}').unwrap_or(text).to_owned();
    if now.len() != text.len() {
        done.push("byte order mark taken out");
    }
    // Inside a text of several lines spaces at the ends are part of what it says.
    if !now.contains("\"\"\"") && !now.contains("'''") {
        let trimmed = now.lines().map(str::trim_end).collect::<Vec<_>>().join("\n");
        if trimmed != now.strip_suffix('\n').unwrap_or(&now) {
            done.push("spaces at the ends of lines taken out");
        }
        now = trimmed + "\n";
    }
    let whole = format!("{}\n", now.trim_end());
    if whole != now || !text.ends_with('\n') {
        done.push("one line end at the end");
    }
    now = whole;
    if let Some(shape) = shape {
        let mut document: DocumentMut = now.parse().ok()?;
        let mut work = Work::default();
        work.table(document.as_table_mut(), shape, true);
        if work.ordered {
            done.push("keys put in order");
        }
        if work.units {
            done.push("units written as usual");
        }
        if work.ordered || work.units {
            now = document.to_string();
        }
    }
    (now != text && same(text, &now)).then_some(Mended { text: now, done })
}

/// Whether two texts say the same, units written one way or another.
fn same(before: &str, after: &str) -> bool {
    let read = |text: &str| text.strip_prefix('\u{feff}').unwrap_or(text).parse::<toml::Table>();
    match (read(before), read(after)) {
        (Ok(before), Ok(after)) => usual(before.into()) == usual(after.into()),
        _ => false,
    }
}

fn usual(value: toml::Value) -> toml::Value {
    match value {
        toml::Value::String(text) => units::usual(&text).unwrap_or(text).into(),
        toml::Value::Array(items) => items.into_iter().map(usual).collect::<Vec<_>>().into(),
        toml::Value::Table(table) => {
            table.into_iter().map(|(key, value)| (key, usual(value))).collect::<toml::Table>().into()
        }
        other => other,
    }
}

#[derive(Default)]
struct Work {
    ordered: bool,
    units: bool,
}

impl Work {
    fn table(&mut self, table: &mut Table, shape: &Shape, top: bool) {
        let keys: Vec<String> =
            table.iter().filter(|(_, item)| item.is_value()).map(|(key, _)| key.to_owned()).collect();
        if !in_order(&keys, shape) {
            // What stands above the first key of a file is about the file.
            let first = |table: &Table| table.iter().next().map(|(key, _)| key.to_owned());
            let before = first(table).filter(|_| top);
            let rank = |key: &str| shape.rank(key);
            table.sort_values_by(|a, _, b, _| rank(a.get()).cmp(&rank(b.get())));
            if let (Some(before), Some(now)) = (before, first(table)) {
                swap_heads(table, &before, &now);
            }
            self.ordered = true;
        }
        for (key, item) in table.iter_mut() {
            let Some(shape) = shape.inner(key.get()) else { continue };
            match item {
                Item::Value(value) => self.value(value, &shape),
                Item::Table(table) => self.table(table, &shape, false),
                Item::ArrayOfTables(tables) => {
                    if let Some(shape) = shape.with(|node| node.items.clone()) {
                        tables.iter_mut().for_each(|table| self.table(table, &shape, false));
                    }
                }
                Item::None => {}
            }
        }
    }

    fn value(&mut self, value: &mut Value, shape: &Shape) {
        match value {
            Value::String(text) if shape.with(|node| node.kinds.contains(&Kind::Quantity)) => {
                if let Some(usual) = units::usual(text.value()) {
                    let decor = text.decor().clone();
                    *value = Value::from(usual);
                    *value.decor_mut() = decor;
                    self.units = true;
                }
            }
            Value::Array(items) => {
                if let Some(shape) = shape.with(|node| node.items.clone()) {
                    items.iter_mut().for_each(|item| self.value(item, &shape));
                }
            }
            Value::InlineTable(table) => self.inline(table, shape),
            _ => {}
        }
    }

    fn inline(&mut self, table: &mut InlineTable, shape: &Shape) {
        let keys: Vec<String> = table.iter().map(|(key, _)| key.to_owned()).collect();
        // Over several lines, or with comments, its form is the writer's own.
        if !in_order(&keys, shape) && !table.to_string().contains(['\n', '#']) {
            table.sort_values_by(|a, _, b, _| shape.rank(a.get()).cmp(&shape.rank(b.get())));
            table.fmt();
            self.ordered = true;
        }
        for (key, value) in table.iter_mut() {
            if let Some(shape) = shape.inner(key.get()) {
                self.value(value, &shape);
            }
        }
    }
}

/// Whether keys stand as the shape has them. Those that it does not know stay where they are, so nothing is moved then.
fn in_order(keys: &[String], shape: &Shape) -> bool {
    let ranks: Vec<Option<usize>> = keys.iter().map(|key| shape.rank(key)).collect();
    ranks.iter().any(Option::is_none) || ranks.is_sorted()
}

/// Gives the lines above one key to another, and the other's to it.
fn swap_heads(table: &mut Table, a: &str, b: &str) {
    let head = |table: &Table, key: &str| table.key(key).and_then(|key| key.leaf_decor().prefix().cloned());
    let (of_a, of_b) = (head(table, a), head(table, b));
    for (key, head) in [(a, of_b), (b, of_a)] {
        if let Some(mut key) = table.key_mut(key) {
            key.leaf_decor_mut().set_prefix(head.unwrap_or_default());
        }
    }
}

#[cfg(test)]
mod tests;
