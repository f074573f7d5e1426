//! A throw-away practice: the demo's layouts and library with clients of the test's own.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value as Json;
use tempfile::TempDir;

/// A sound record.
pub const ANA: &str = r#"name = "Ana Silva"
goals = ["Climb the stairs with ease."]
minutes_a_day = 20

[[visits]]
on = 2026-11-20
screening = { yes = [] }
readings = [{ test = "knee-to-wall", left = 10, right = 6 }]
program = [{ exercise = "knee-to-wall", side = "right" }]
"#;

/// The day on which tests run, unless they say otherwise.
pub const TODAY: &str = "2026-11-25";

pub struct Practice {
    folder: TempDir,
}

/// What a run of the program gave.
pub struct Run {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Run {
    /// The report for machines.
    pub fn json(&self) -> Json {
        serde_json::from_str(&self.out).unwrap_or_else(|_| panic!("not JSON: {}\n{}", self.out, self.err))
    }
}

/// The repo's root, itself a working practice.
pub fn demo() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

pub fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &target);
        } else {
            fs::copy(entry.path(), target).unwrap();
        }
    }
}

impl Practice {
    /// The demo's layouts and library, and no client.
    pub fn without_clients() -> Self {
        let practice = Self { folder: tempfile::tempdir().unwrap() };
        for part in ["layouts", "exercises"] {
            copy(&demo().join(part), &practice.path(part));
        }
        fs::create_dir(practice.path("clients")).unwrap();
        practice
    }

    /// With Ana, whose record is sound.
    pub fn with_ana() -> Self {
        let practice = Self::without_clients();
        practice.write("clients/ana.toml", ANA);
        practice
    }

    /// The demo with its clients and ledgers, and nothing printed.
    pub fn demo() -> Self {
        let practice = Self::without_clients();
        fs::remove_dir(practice.path("clients")).unwrap();
        copy(&demo().join("clients"), &practice.path("clients"));
        practice
    }

    pub fn path(&self, inside: &str) -> PathBuf {
        self.folder.path().join(inside)
    }

    pub fn write(&self, inside: &str, text: impl AsRef<[u8]>) {
        let path = self.path(inside);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    pub fn read(&self, inside: &str) -> String {
        fs::read_to_string(self.path(inside)).unwrap()
    }

    /// Changes a file by replacing one text, which must be in it.
    pub fn replace(&self, inside: &str, from: &str, to: &str) {
        let text = self.read(inside);
        assert!(text.contains(from), "{inside} does not hold {from}");
        self.write(inside, text.replacen(from, to, 1));
    }

    /// Runs the program in this practice.
    pub fn run(&self, arguments: &[&str]) -> Run {
        self.run_on(TODAY, arguments)
    }

    /// The same on another day.
    pub fn run_on(&self, day: &str, arguments: &[&str]) -> Run {
        run(Command::new(env!("CARGO_BIN_EXE_kinleaf"))
            .args(["--practice"])
            .arg(self.folder.path())
            .args(["--on", day])
            .args(arguments))
    }

    /// Every file of layouts and library whose name has this ending.
    pub fn files(&self, ending: &str) -> Vec<String> {
        let mut found = Vec::new();
        let mut folders = vec!["layouts".to_owned(), "exercises".to_owned()];
        while let Some(folder) = folders.pop() {
            for entry in fs::read_dir(self.path(&folder)).unwrap() {
                let inside = format!("{folder}/{}", entry.unwrap().file_name().to_str().unwrap());
                if self.path(&inside).is_dir() {
                    folders.push(inside);
                } else if inside.ends_with(ending) {
                    found.push(inside);
                }
            }
        }
        found
    }

    /// The words and numbers of the first client's sheet, as its layout gets them.
    pub fn sheet(&self) -> Json {
        let on = TODAY.parse().unwrap();
        let (_, sheets) = kinleaf::pipeline::sheets(self.folder.path(), on).unwrap_or_else(|problems| {
            panic!("{}", problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))
        });
        serde_json::from_slice(&sheets[0].1).unwrap()
    }

    /// The documents made, by path inside `out`.
    pub fn documents(&self) -> Vec<(String, Vec<u8>)> {
        documents(&self.path("out"))
    }
}

/// Runs a command to its end.
pub fn run(command: &mut Command) -> Run {
    let output = command.output().unwrap();
    Run {
        code: output.status.code().unwrap_or(-1),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

/// Every PDF under a folder, in the order of paths.
pub fn documents(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let mut found = Vec::new();
    let Ok(clients) = fs::read_dir(folder) else {
        return found;
    };
    for client in clients.map(|entry| entry.unwrap().path()).filter(|path| path.is_dir()) {
        for file in fs::read_dir(client).unwrap().map(|entry| entry.unwrap().path()) {
            let name = file.strip_prefix(folder).unwrap().display().to_string();
            if name.ends_with(".pdf") {
                found.push((name, fs::read(&file).unwrap()));
            }
        }
    }
    found.sort();
    found
}
