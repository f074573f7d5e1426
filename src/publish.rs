//! The sole writer: whole files or none, readable by their owner only, never half of anything at any moment.

mod fresh;

use std::fs::{self, File};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use crate::diag::{Problem, Rule};
use crate::ids::ClientId;
use crate::issued::{self, Store};
use crate::ledger::Ledger;
use crate::load::LEDGER;

/// What the names of unfinished files begin with.
const UNFINISHED: &str = ".kinleaf-";
/// The file that holds a folder for one run.
const LOCK: &str = ".kinleaf-lock";

pub use fresh::{mended, new_files, new_folder};

/// A practice folder and the folder for its documents, held by one run at a time.
#[derive(Debug)]
pub struct Desk {
    practice: PathBuf,
    out: PathBuf,
    _held: Vec<File>,
}

impl Desk {
    /// Takes hold of the records and of the folder for documents, making the latter if need be, and clears away what a
    /// run that was cut short has left unfinished.
    ///
    /// # Errors
    /// If they cannot be written, or if another run is at work in either.
    pub fn open(practice: &Path, out: &Path) -> Result<Self, Problem> {
        private_folder(out).map_err(|error| failed(&out.display().to_string(), &error))?;
        let mut held = vec![hold(out).map_err(|error| busy_or_failed(out, &error))?];
        // Two runs into two folders would still write the same ledgers.
        let clients = practice.join("clients");
        match hold(&clients) {
            Ok(file) => held.push(file),
            // Records that may only be read can still be printed from.
            Err(error) if matches!(error.kind(), ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem) => {}
            Err(error) => return Err(busy_or_failed(&clients, &error)),
        }
        let desk = Self { practice: practice.to_owned(), out: out.to_owned(), _held: held };
        desk.clear();
        Ok(desk)
    }

    /// Deletes unfinished files. One that cannot be deleted does no harm.
    fn clear(&self) {
        let folders = [self.out.clone(), self.practice.join("clients"), self.kept_folder()];
        let documents = fs::read_dir(&self.out).into_iter().flatten().flatten().map(|entry| entry.path());
        for folder in folders.into_iter().chain(documents.filter(|path| path.is_dir())) {
            for file in fs::read_dir(folder).into_iter().flatten().flatten() {
                let name = file.file_name();
                let unfinished = name.to_str().is_some_and(|name| name.starts_with(UNFINISHED) && name != LOCK);
                if unfinished && file.file_type().is_ok_and(|kind| kind.is_file()) {
                    let _ = fs::remove_file(file.path());
                }
            }
        }
    }

    fn kept_folder(&self) -> PathBuf {
        self.practice.join("clients").join(issued::FOLDER)
    }

    /// Keeps things for good. Call it before anything that names them is written.
    ///
    /// # Errors
    /// If they cannot be written; what is kept already still is.
    pub fn keep(&self, client: &ClientId, store: &Store) -> Result<(), Problem> {
        let folder = self.kept_folder();
        let mut new = false;
        for (name, bytes) in store {
            if folder.join(name).exists() {
                continue;
            }
            private_folder(&folder)
                .and_then(|()| put(&folder, name, &issued::packed(bytes)))
                .map_err(|error| failed(&format!("clients/{}/{name}", issued::FOLDER), &error).client(client))?;
            new = true;
        }
        if new {
            settle(&folder);
        }
        Ok(())
    }

    /// The bytes of a published document, if it is there.
    pub fn published(&self, client: &ClientId, file: &str) -> Option<Vec<u8>> {
        fs::read(self.out.join(client.to_string()).join(file)).ok()
    }

    /// Publishes a document, replacing an older one of the same name as a whole.
    ///
    /// # Errors
    /// If it cannot be written; whatever stood there before still does.
    pub fn publish(&self, client: &ClientId, file: &str, bytes: &[u8]) -> Result<(), Problem> {
        let folder = self.out.join(client.to_string());
        let path = format!("{}/{client}/{file}", self.out.display());
        private_folder(&folder)
            .and_then(|()| replace(&folder, file, bytes))
            .map_err(|error| failed(&path, &error).client(client))
    }

    /// Writes a ledger. Call it only after the documents that it names are published.
    ///
    /// # Errors
    /// If it cannot be written; the older ledger still stands.
    pub fn record(&self, client: &ClientId, ledger: &Ledger) -> Result<(), Problem> {
        let file = format!("{client}{LEDGER}.toml");
        replace(&self.practice.join("clients"), &file, ledger.to_text().as_bytes())
            .map_err(|error| failed(&format!("clients/{file}"), &error).client(client))
    }
}

/// Writes a file into a folder, making the folder if need be.
///
/// # Errors
/// If it cannot be written; whatever stood there before still does.
pub fn file(folder: &Path, name: &str, bytes: &[u8]) -> Result<(), Problem> {
    let path = folder.join(name).display().to_string();
    private_folder(folder).and_then(|()| replace(folder, name, bytes)).map_err(|error| failed(&path, &error))
}

/// Holds a folder as long as the file that is handed back lives.
fn hold(folder: &Path) -> std::io::Result<File> {
    let held = File::options().create(true).truncate(false).write(true).open(folder.join(LOCK))?;
    held.try_lock().map_err(|_| ErrorKind::ResourceBusy)?;
    Ok(held)
}

fn busy_or_failed(folder: &Path, error: &std::io::Error) -> Problem {
    let path = folder.display().to_string();
    if error.kind() == ErrorKind::ResourceBusy {
        return Problem::about(Rule::Write, path, "another run is at work in this folder")
            .help("wait until it is done");
    }
    failed(&path, error)
}

fn failed(path: &str, error: &std::io::Error) -> Problem {
    let (message, help) = match error.kind() {
        ErrorKind::StorageFull => ("the disk is full".to_owned(), "make room and print again"),
        ErrorKind::PermissionDenied => ("may not be written".to_owned(), "check the permissions of the folder"),
        kind => (format!("cannot be written: {kind}"), "check the folder and print again"),
    };
    Problem::about(Rule::Write, path, message).help(help)
}

/// Makes a folder that only its owner can look into; one that is there already stays as it is.
fn private_folder(folder: &Path) -> std::io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder)
}

/// Puts a whole file in place and makes sure that it stays there.
fn replace(folder: &Path, file: &str, bytes: &[u8]) -> std::io::Result<()> {
    put(folder, file, bytes)?;
    settle(folder);
    Ok(())
}

/// Writes beside the target, makes sure that it is on disk, then puts it in place in one step.
fn put(folder: &Path, file: &str, bytes: &[u8]) -> std::io::Result<()> {
    // In the same folder, so that the last step never crosses to another file system. Mode 0600 is the crate's own.
    let mut temporary = NamedTempFile::with_prefix_in(UNFINISHED, folder)?;
    temporary.write_all(bytes)?;
    temporary.as_file().sync_all()?;
    temporary.persist(folder.join(file)).map_err(|error| error.error)?;
    Ok(())
}

/// New names in a folder are safe only once it is on disk itself; not every file system can say so.
fn settle(folder: &Path) {
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ids::Id;

    fn ana() -> ClientId {
        ClientId::new("ana").unwrap()
    }

    fn practice() -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        fs::create_dir(folder.path().join("clients")).unwrap();
        folder
    }

    #[test]
    fn a_document_is_replaced_as_a_whole_and_is_private() {
        let folder = practice();
        let desk = Desk::open(folder.path(), &folder.path().join("out")).unwrap();
        desk.publish(&ana(), "a.pdf", b"one").unwrap();
        desk.publish(&ana(), "a.pdf", b"two").unwrap();
        assert_eq!(desk.published(&ana(), "a.pdf").as_deref(), Some(&b"two"[..]));
        let names: Vec<_> = fs::read_dir(folder.path().join("out/ana")).unwrap().collect();
        assert_eq!(names.len(), 1, "no temporary file stays behind");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode = fs::metadata(folder.path().join("out/ana/a.pdf")).unwrap().permissions().mode();
            assert_eq!(mode & 0o777, 0o600);
        }
    }

    #[test]
    fn two_runs_do_not_share_a_folder() {
        let folder = practice();
        let out = |name: &str| folder.path().join(name);
        let _first = Desk::open(folder.path(), &out("out")).unwrap();
        assert_eq!(Desk::open(folder.path(), &out("out")).unwrap_err().rule, Rule::Write);
        // Not even into another folder: both would write the same ledgers.
        let busy = Desk::open(folder.path(), &out("other")).unwrap_err();
        assert!(busy.path.unwrap().ends_with("clients"));
    }

    #[test]
    fn what_a_run_has_left_unfinished_is_cleared_and_nothing_else() {
        let folder = practice();
        let out = folder.path().join("out");
        for file in ["clients/.kinleaf-abc", "clients/issued/.kinleaf-abc", "out/ana/.kinleaf-abc", "clients/ana.toml"]
        {
            let file = folder.path().join(file);
            fs::create_dir_all(file.parent().unwrap()).unwrap();
            File::create(file).unwrap();
        }
        drop(Desk::open(folder.path(), &out).unwrap());
        let left = |inside: &str| -> Vec<String> {
            let entries = fs::read_dir(folder.path().join(inside)).unwrap();
            let mut names: Vec<String> = entries.map(|it| it.unwrap().file_name().into_string().unwrap()).collect();
            names.sort();
            names
        };
        assert_eq!(left("clients"), [".kinleaf-lock", "ana.toml", "issued"]);
        assert!(left("clients/issued").is_empty() && left("out/ana").is_empty());
    }

    #[test]
    fn what_is_kept_is_whole_and_written_once() {
        let folder = practice();
        let desk = Desk::open(folder.path(), &folder.path().join("out")).unwrap();
        let mut store = Store::new();
        let name = issued::keep(&mut store, b"a drawing".to_vec());
        desk.keep(&ana(), &store).unwrap();
        let file = folder.path().join("clients/issued").join(&name);
        assert_eq!(issued::unpacked(&name, &fs::read(&file).unwrap()).as_deref(), Some(&b"a drawing"[..]));
        let written = fs::metadata(&file).unwrap().modified().unwrap();
        desk.keep(&ana(), &store).unwrap();
        assert_eq!(fs::metadata(&file).unwrap().modified().unwrap(), written);
    }
}
