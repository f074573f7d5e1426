//! The sole reader of the practice folder: bytes and texts as they are on disk, nothing understood yet.
//!
//! Nothing outside the folder is ever read: a link or path that leads out is a problem.

use std::collections::BTreeMap;
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::diag::{Problem, Rule, SourceFile};

/// Largest text file, in bytes; a client's record has a few thousand.
const LARGEST_TEXT: u64 = 4 << 20;
/// Largest picture or font file, in bytes.
const LARGEST_BINARY: u64 = 20 << 20;

/// A text file with the stem of its name.
#[derive(Clone, Debug)]
pub struct Entry {
    /// Name without the ending.
    pub stem: String,
    /// The file.
    pub file: Arc<SourceFile>,
}

/// A file that holds the texts of another in a further language.
#[derive(Clone, Debug)]
pub struct Overlay {
    /// Path of the file that it translates.
    pub original: String,
    /// The language.
    pub language: String,
    /// The file.
    pub file: Arc<SourceFile>,
}

/// Splits `calf-roll.es` into the stem of the original and the language.
fn translated(stem: &str) -> Option<(&str, &str)> {
    let (original, language) = stem.rsplit_once('.')?;
    let is_language = (2..=3).contains(&language.len()) && language.bytes().all(|b| b.is_ascii_lowercase());
    is_language.then_some((original, language))
}

/// A practice folder as it is on disk.
#[derive(Debug, Default)]
pub struct Files {
    /// `layouts/brand.toml`.
    pub brand: Option<Arc<SourceFile>>,
    /// `layouts/words/*.toml`, by language.
    pub words: Vec<Entry>,
    /// `layouts/quality/*.toml`, by language.
    pub quality: Vec<Entry>,
    /// `layouts/*.typ`, by file name.
    pub layouts: Vec<Entry>,
    /// `layouts/fonts/*`, by file name.
    pub fonts: BTreeMap<String, Vec<u8>>,
    /// Pictures in `layouts/`, by file name.
    pub logos: BTreeMap<String, Vec<u8>>,
    /// `exercises/vocabulary.toml`.
    pub vocabulary: Option<Arc<SourceFile>>,
    /// `exercises/phases.toml`.
    pub phases: Option<Arc<SourceFile>>,
    /// `exercises/planning.toml`.
    pub planning: Option<Arc<SourceFile>>,
    /// `exercises/tests/*.toml`.
    pub tests: Vec<Entry>,
    /// `exercises/<phase>/*.toml`, with the folder's name.
    pub exercises: Vec<(String, Entry)>,
    /// `exercises/pictures/*`, by file name.
    pub pictures: BTreeMap<String, Vec<u8>>,
    /// `exercises/poses/library.toml`: poses that the others build on.
    pub base_poses: Option<Arc<SourceFile>>,
    /// `exercises/poses/*.toml`: the pictures of one exercise each.
    pub poses: Vec<Entry>,
    /// `exercises/poses/tests/*.toml`: the pictures of one test each.
    pub test_poses: Vec<Entry>,
    /// `<stem>.<language>.toml` beside any file of the library, and beside `layouts/brand.toml`.
    pub overlays: Vec<Overlay>,
    /// Stems of `clients/*.toml`, without the ledgers. Records are read one by one when their turn comes, so that memory
    /// does not grow with the number of clients.
    pub clients: Vec<String>,
}

/// What a folder of exercises may not be called, since it holds something else.
const NOT_PHASES: [&str; 3] = ["tests", "poses", "pictures"];

/// The ending of a ledger's stem.
pub const LEDGER: &str = ".sheets";

/// Reads everything that a practice folder holds, in the order of file names.
pub fn load(root: &Path) -> (Files, Vec<Problem>) {
    let mut reader = match fs::canonicalize(root) {
        Ok(root) => Reader { root, problems: Vec::new(), overlays: Vec::new() },
        Err(error) => {
            let problem = Problem::about(Rule::NoPractice, root.display().to_string(), plain(&error))
                .help("name a practice folder with `--practice`");
            return (Files::default(), vec![problem]);
        }
    };
    let mut files = Files {
        brand: reader.text("layouts/brand.toml"),
        vocabulary: reader.text("exercises/vocabulary.toml"),
        phases: reader.text("exercises/phases.toml"),
        planning: reader.text("exercises/planning.toml"),
        words: reader.texts("layouts/words", "toml"),
        quality: reader.texts("layouts/quality", "toml"),
        layouts: reader.texts("layouts", "typ"),
        fonts: reader.binaries("layouts/fonts", &["ttf", "otf", "ttc"]),
        logos: reader.binaries("layouts", &["svg", "png"]),
        tests: reader.texts("exercises/tests", "toml"),
        base_poses: reader.text("exercises/poses/library.toml"),
        poses: reader.texts("exercises/poses", "toml"),
        test_poses: reader.texts("exercises/poses/tests", "toml"),
        pictures: reader.binaries("exercises/pictures", &["svg", "png", "jpg", "jpeg"]),
        ..Files::default()
    };
    for folder in reader.folders("exercises") {
        if !NOT_PHASES.contains(&folder.as_str()) {
            let entries = reader.texts(&format!("exercises/{folder}"), "toml");
            files.exercises.extend(entries.into_iter().map(|entry| (folder.clone(), entry)));
        }
    }
    // Beside single files; those in folders of entries have been met there.
    for folder in ["layouts", "exercises"] {
        reader.texts(folder, "toml");
    }
    files.overlays = std::mem::take(&mut reader.overlays);
    files.clients = reader
        .names("clients")
        .iter()
        .filter_map(|name| name.strip_suffix(".toml"))
        .filter(|stem| !stem.ends_with(LEDGER))
        .map(ToOwned::to_owned)
        .collect();
    (files, reader.problems)
}

/// Reads one text file of a practice; `None` if it is not there.
///
/// # Errors
/// If it is there but cannot be read.
pub fn text(root: &Path, path: &str) -> Result<Option<Arc<SourceFile>>, Vec<Problem>> {
    let root = fs::canonicalize(root)
        .map_err(|error| vec![Problem::about(Rule::NoPractice, root.display().to_string(), plain(&error))])?;
    let mut reader = Reader { root, problems: Vec::new(), overlays: Vec::new() };
    let file = reader.text(path);
    if reader.problems.is_empty() { Ok(file) } else { Err(reader.problems) }
}

/// Reads one file of a practice as it is; `None` if it is not there.
///
/// # Errors
/// If it is there but cannot be read.
pub fn bytes(root: &Path, path: &str) -> Result<Option<Vec<u8>>, Vec<Problem>> {
    let root = fs::canonicalize(root)
        .map_err(|error| vec![Problem::about(Rule::NoPractice, root.display().to_string(), plain(&error))])?;
    let mut reader = Reader { root, problems: Vec::new(), overlays: Vec::new() };
    let bytes = reader.bytes(path, LARGEST_BINARY);
    if reader.problems.is_empty() { Ok(bytes) } else { Err(reader.problems) }
}

impl Files {
    /// The path of every TOML file that was found.
    pub fn paths(&self) -> Vec<String> {
        let single = [&self.brand, &self.vocabulary, &self.phases, &self.planning, &self.base_poses];
        let listed = [&self.words, &self.tests, &self.poses, &self.test_poses];
        let mut paths: Vec<String> = single
            .into_iter()
            .flatten()
            .chain(listed.into_iter().flatten().map(|entry| &entry.file))
            .chain(self.exercises.iter().map(|(_, entry)| &entry.file))
            .map(|file| file.path.clone())
            .chain(self.clients.iter().map(|stem| format!("clients/{stem}.toml")))
            .collect();
        paths.sort();
        paths.dedup();
        paths
    }
}

struct Reader {
    root: PathBuf,
    problems: Vec<Problem>,
    overlays: Vec<Overlay>,
}

impl Reader {
    fn report(&mut self, rule: Rule, path: &str, message: impl Into<String>, help: &str) {
        self.problems.push(Problem::about(rule, path, message).help(help));
    }

    /// The real path of something in the practice, or `None` if it does not exist or must not be read.
    fn inside(&mut self, path: &str) -> Option<PathBuf> {
        match fs::canonicalize(self.root.join(path)) {
            Ok(real) if real.starts_with(&self.root) => Some(real),
            Ok(_) => {
                self.report(
                    Rule::OutsidePractice,
                    path,
                    "this link leads out of the practice folder, so it is not read",
                    "copy the file into the practice",
                );
                None
            }
            Err(error) if error.kind() == ErrorKind::NotFound => {
                // A link to nothing is a slip; a file that is not there is for the check stage to judge.
                if fs::symlink_metadata(self.root.join(path)).is_ok() {
                    self.report(Rule::Unreadable, path, "this link leads to nothing", "mend or delete the link");
                }
                None
            }
            Err(error) => {
                self.unreadable(path, &error);
                None
            }
        }
    }

    fn unreadable(&mut self, path: &str, error: &std::io::Error) {
        self.report(
            Rule::Unreadable,
            path,
            format!("cannot be read: {}", plain(error)),
            "check the permissions of the file and its folder",
        );
    }

    fn bytes(&mut self, path: &str, largest: u64) -> Option<Vec<u8>> {
        let real = self.inside(path)?;
        let size = match fs::metadata(&real) {
            Ok(found) if found.is_file() => found.len(),
            Ok(_) => return None,
            Err(error) => {
                self.unreadable(path, &error);
                return None;
            }
        };
        if size > largest {
            let (size, largest) = (size >> 20, largest >> 20);
            self.report(
                Rule::Unreadable,
                path,
                format!("is {size} MB large, but at most {largest} MB are read"),
                "make the file smaller",
            );
            return None;
        }
        match fs::read(&real) {
            Ok(bytes) => Some(bytes),
            Err(error) => {
                self.unreadable(path, &error);
                None
            }
        }
    }

    fn text(&mut self, path: &str) -> Option<Arc<SourceFile>> {
        let bytes = self.bytes(path, LARGEST_TEXT)?;
        match String::from_utf8(bytes) {
            Ok(text) => {
                let text = match text.strip_prefix('\u{feff}') {
                    Some(rest) => rest.to_owned(),
                    None => text,
                };
                Some(Arc::new(SourceFile { path: path.to_owned(), text }))
            }
            Err(error) => {
                let good = error.utf8_error().valid_up_to();
                let line = error.as_bytes()[..good].iter().filter(|b| **b == b'\n').count() + 1;
                self.report(
                    Rule::NotUtf8,
                    path,
                    format!("line {line} is not UTF-8 text"),
                    "save the file as UTF-8 in your editor",
                );
                None
            }
        }
    }

    /// Names in a folder, sorted; none if there is no such folder.
    fn names(&mut self, folder: &str) -> Vec<String> {
        let Some(real) = self.inside(folder) else {
            return Vec::new();
        };
        let mut names = Vec::new();
        match fs::read_dir(&real).and_then(|list| list.collect::<Result<Vec<_>, _>>()) {
            Ok(list) => {
                for entry in list {
                    match entry.file_name().into_string() {
                        Ok(name) if !name.starts_with('.') => names.push(name),
                        Ok(_) => {}
                        Err(name) => self.report(
                            Rule::BadId,
                            folder,
                            format!("holds a file name that is not UTF-8: {}", name.display()),
                            "rename the file",
                        ),
                    }
                }
            }
            Err(error) => self.unreadable(folder, &error),
        }
        names.sort();
        names
    }

    fn texts(&mut self, folder: &str, ending: &str) -> Vec<Entry> {
        let mut entries = Vec::new();
        for name in self.names(folder) {
            let Some(stem) = name.strip_suffix(ending).and_then(|rest| rest.strip_suffix('.')) else {
                continue;
            };
            let Some(file) = self.text(&format!("{folder}/{name}")) else {
                continue;
            };
            match translated(stem).filter(|_| ending == "toml") {
                Some((original, language)) => self.overlays.push(Overlay {
                    original: format!("{folder}/{original}.toml"),
                    language: language.to_owned(),
                    file,
                }),
                None => entries.push(Entry { stem: stem.to_owned(), file }),
            }
        }
        entries
    }

    fn binaries(&mut self, folder: &str, endings: &[&str]) -> BTreeMap<String, Vec<u8>> {
        let mut found = BTreeMap::new();
        for name in self.names(folder) {
            let ending = name.rsplit_once('.').map(|(_, ending)| ending.to_ascii_lowercase());
            if !ending.is_some_and(|ending| endings.contains(&ending.as_str())) {
                continue;
            }
            if let Some(bytes) = self.bytes(&format!("{folder}/{name}"), LARGEST_BINARY) {
                found.insert(name, bytes);
            }
        }
        found
    }

    fn folders(&mut self, folder: &str) -> Vec<String> {
        let names = self.names(folder);
        names
            .into_iter()
            .filter(|name| self.inside(&format!("{folder}/{name}")).is_some_and(|real| real.is_dir()))
            .collect()
    }
}

/// The reason without the operating system's error number.
fn plain(error: &std::io::Error) -> String {
    match error.kind() {
        ErrorKind::NotFound => "there is no such file or folder".to_owned(),
        ErrorKind::PermissionDenied => "permission denied".to_owned(),
        kind => kind.to_string(),
    }
}
