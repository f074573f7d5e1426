//! What a new practice starts with: the demo's layouts and library, and one record, kept in the program itself.

use std::sync::Arc;

use include_dir::{Dir, include_dir};

use crate::diag::SourceFile;
use crate::load::{Entry, Files, LEDGER};

static LAYOUTS: Dir = include_dir!("$CARGO_MANIFEST_DIR/layouts");
static EXERCISES: Dir = include_dir!("$CARGO_MANIFEST_DIR/exercises");

/// The one record, of a client who does not exist.
const CLIENT: &str = "lena-fisk";
const RECORD: &str = include_str!("starter/client.toml");

const BRAND: &str = "layouts/brand.toml";
const NO_BRAND: &str = include_str!("starter/brand.toml");

/// Every file by its path in the practice.
pub fn all() -> Vec<(String, &'static [u8])> {
    let mut files = Vec::new();
    collect("layouts", &LAYOUTS, &mut files);
    collect("exercises", &EXERCISES, &mut files);
    files.retain(|(path, _)| !translates(path));
    // The demo's names and numbers are not those of whoever starts.
    if let Some((_, bytes)) = files.iter_mut().find(|(path, _)| path == BRAND) {
        *bytes = NO_BRAND.as_bytes();
    }
    files.push((format!("clients/{CLIENT}.toml"), RECORD.as_bytes()));
    files.push((".gitignore".to_owned(), b"# Documents can be made again at any time.\n/out/\n"));
    files
}

/// Whether a file is the translation of another, such as `calf-roll.es.toml`.
fn translates(path: &str) -> bool {
    let stem = path.rsplit('/').next().and_then(|name| name.strip_suffix(".toml"));
    stem.is_some_and(|stem| stem.contains('.') && !stem.ends_with(LEDGER))
}

fn collect(name: &str, folder: &'static Dir, files: &mut Vec<(String, &'static [u8])>) {
    files.extend(folder.files().map(|file| (format!("{name}/{}", slashed(file.path())), file.contents())));
    for inner in folder.dirs() {
        collect(name, inner, files);
    }
}

fn slashed(path: &std::path::Path) -> String {
    path.iter().map(|part| part.to_string_lossy()).collect::<Vec<_>>().join("/")
}

/// What kind of file stands at a path of a practice, by the name of its schema; none if it has no schema.
pub fn kind(path: &str) -> Option<&'static str> {
    let stem = path.strip_suffix(".toml")?;
    // Translations hold texts only; they have no schema.
    if translates(path) {
        return None;
    }
    match stem.split('/').collect::<Vec<_>>().as_slice() {
        ["layouts", "brand"] => Some("brand"),
        ["layouts", "words", _] => Some("words"),
        ["exercises", "vocabulary"] => Some("vocabulary"),
        ["exercises", "phases"] => Some("phases"),
        ["exercises", "planning"] => Some("planning"),
        ["exercises", "poses", "library"] => Some("base-poses"),
        ["exercises", "poses", _] | ["exercises", "poses", "tests", _] => Some("poses"),
        ["exercises", "tests", _] => Some("test"),
        ["exercises", _, _] => Some("exercise"),
        ["clients", stem] if !stem.ends_with(LEDGER) => Some("client"),
        _ => None,
    }
}

/// Its texts by kind of file.
pub fn texts() -> Vec<(&'static str, Entry)> {
    let entry = |path: String, bytes: &[u8]| {
        let stem = path.rsplit('/').next()?.strip_suffix(".toml")?.to_owned();
        let text = std::str::from_utf8(bytes).ok()?.to_owned();
        Some(Entry { stem, file: Arc::new(SourceFile { path, text }) })
    };
    all().into_iter().filter_map(|(path, bytes)| Some((kind(&path)?, entry(path, bytes)?))).collect()
}

/// Its texts, as if they had been read from a folder; without fonts, layouts and pictures.
pub fn files() -> Files {
    let mut files = Files { clients: vec![CLIENT.to_owned()], ..Files::default() };
    for (kind, entry) in texts() {
        let file = Some(Arc::clone(&entry.file));
        match kind {
            "brand" => files.brand = file,
            "words" => files.words.push(entry),
            "vocabulary" => files.vocabulary = file,
            "phases" => files.phases = file,
            "planning" => files.planning = file,
            "base-poses" => files.base_poses = file,
            "poses" if entry.file.path.contains("/tests/") => files.test_poses.push(entry),
            "poses" => files.poses.push(entry),
            "test" => files.tests.push(entry),
            "exercise" => {
                let folder = entry.file.path.split('/').nth(1).unwrap_or_default().to_owned();
                files.exercises.push((folder, entry));
            }
            _ => {}
        }
    }
    files
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;
    use std::fs;
    use std::path::Path;

    use super::*;

    fn on_disk(folder: &Path, name: &str, found: &mut BTreeMap<String, Vec<u8>>) {
        for entry in fs::read_dir(folder).unwrap().map(|entry| entry.unwrap()) {
            let name = format!("{name}/{}", entry.file_name().to_str().unwrap());
            if entry.path().is_dir() {
                on_disk(&entry.path(), &name, found);
            } else {
                found.insert(name, fs::read(entry.path()).unwrap());
            }
        }
    }

    #[test]
    fn the_program_holds_the_whole_library() {
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        let mut found = BTreeMap::new();
        for folder in ["layouts", "exercises"] {
            on_disk(&root.join(folder), folder, &mut found);
        }
        found.retain(|path, _| !translates(path));
        let held: BTreeMap<String, Vec<u8>> = all()
            .into_iter()
            .filter(|(path, _)| path.starts_with("layouts/") || path.starts_with("exercises/"))
            .map(|(path, bytes)| (path, bytes.to_vec()))
            .collect();
        let names = |files: &BTreeMap<String, Vec<u8>>| files.keys().cloned().collect::<Vec<_>>();
        assert_eq!(names(&held), names(&found), "a file is new or gone: `touch src/starter.rs` and build again");
        let differ: Vec<&String> = held.keys().filter(|path| held[*path] != found[*path]).collect();
        assert_eq!(differ, [BRAND], "a practice starts without the demo's brand");
    }
}
