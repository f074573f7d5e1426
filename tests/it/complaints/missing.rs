//! A key that is missing is one complaint: the keys beside it, which are sound, are not called unknown.

use std::fs;

use kinleaf::diag::Rule;
use toml_edit::{DocumentMut, Item, TableLike};

use super::{SMALL, Small};

/// Where a key stands: names of tables, and then its own. In a list of tables it is the first that is meant.
type KeyPath = Vec<String>;

/// Every key of a file; of tables that are all alike, such as the structures of the vocabulary, those of the first.
fn keys(table: &dyn TableLike, path: &KeyPath, found: &mut Vec<KeyPath>) {
    let alike = table.len() > 3 && table.iter().all(|(_, item)| item.is_table_like());
    for (name, item) in table.iter().take(if alike { 1 } else { usize::MAX }) {
        let mut path = path.clone();
        path.push(name.to_owned());
        let first = item.as_array_of_tables().and_then(|tables| tables.iter().next());
        if let Some(table) = item.as_table_like().or(first.map(|table| table as &dyn TableLike)) {
            keys(table, &path, found);
        }
        found.push(path);
    }
}

fn without(text: &str, path: &KeyPath) -> String {
    fn first(item: &mut Item) -> &mut dyn TableLike {
        if item.is_array_of_tables() {
            return item.as_array_of_tables_mut().unwrap().get_mut(0).unwrap();
        }
        item.as_table_like_mut().unwrap()
    }
    let mut document: DocumentMut = text.parse().unwrap();
    let (last, tables) = path.split_last().unwrap();
    let mut table: &mut dyn TableLike = document.as_table_mut();
    for name in tables {
        table = first(table.get_mut(name).unwrap());
    }
    assert!(table.remove(last).is_some(), "{path:?}");
    document.to_string()
}

#[test]
fn a_missing_key_never_makes_another_one_unknown() {
    let small = Small::translated();
    let overlay = |file: &&str| match file.strip_suffix("/en.toml") {
        Some(folder) => format!("{folder}/es.toml"),
        None => file.replace(".toml", ".es.toml"),
    };
    let mut files: Vec<String> = SMALL.iter().map(|file| (*file).to_owned()).chain(SMALL.iter().map(overlay)).collect();
    files.push("clients/ana.toml".to_owned());
    files.retain(|file| file.ends_with(".toml") && !file.contains("/poses/") && !file.contains("/quality/"));
    files.sort();
    files.dedup();
    let mut tried = 0;
    for file in files {
        let Ok(text) = fs::read_to_string(small.root().join(&file)) else { continue };
        let mut found = Vec::new();
        keys(text.parse::<DocumentMut>().unwrap().as_table(), &Vec::new(), &mut found);
        for path in found {
            small.write(&file, without(&text, &path));
            let unknown: Vec<_> = small.read().into_iter().filter(|it| it.rule == Rule::UnknownKey).collect();
            let here: Vec<_> = unknown.iter().map(ToString::to_string).filter(|it| it.contains(&file)).collect();
            assert!(here.is_empty(), "{file} without {path:?}:\n{}", here.join("\n"));
            tried += 1;
        }
        small.write(&file, &text);
    }
    assert!(tried > 300, "{tried}");
}
