//! The sole writer: whole files or none, readable by their owner only, never half of anything at any moment.

use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use crate::diag::{Problem, Rule};
use crate::ids::ClientId;
use crate::ledger::Ledger;
use crate::load::LEDGER;

/// A practice folder and the folder for its documents, held by one run at a time.
#[derive(Debug)]
pub struct Desk {
    practice: PathBuf,
    out: PathBuf,
    _held: File,
}

impl Desk {
    /// Takes hold of the folder for documents, making it if need be.
    ///
    /// # Errors
    /// If it cannot be made or written, or if another run is at work in it.
    pub fn open(practice: &Path, out: &Path) -> Result<Self, Problem> {
        private_folder(out).map_err(|error| failed(&out.display().to_string(), &error))?;
        let lock = out.join(".kinleaf-lock");
        let held = File::options()
            .create(true)
            .truncate(false)
            .write(true)
            .open(&lock)
            .map_err(|error| failed(&lock.display().to_string(), &error))?;
        held.try_lock().map_err(|_| {
            Problem::about(Rule::Write, out.display().to_string(), "another run is printing into this folder")
                .help("wait until it is done")
        })?;
        Ok(Self { practice: practice.to_owned(), out: out.to_owned(), _held: held })
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

fn failed(path: &str, error: &std::io::Error) -> Problem {
    let (message, help) = match error.kind() {
        std::io::ErrorKind::StorageFull => ("the disk is full".to_owned(), "make room and print again"),
        std::io::ErrorKind::PermissionDenied => {
            ("may not be written".to_owned(), "check the permissions of the folder")
        }
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

/// Writes beside the target, makes sure that it is on disk, then puts it in place in one step.
fn replace(folder: &Path, file: &str, bytes: &[u8]) -> std::io::Result<()> {
    // In the same folder, so that the last step never crosses to another file system. Mode 0600 is the crate's own.
    let mut temporary = NamedTempFile::with_prefix_in(".kinleaf-", folder)?;
    temporary.write_all(bytes)?;
    temporary.as_file().sync_all()?;
    temporary.persist(folder.join(file)).map_err(|error| error.error)?;
    // The new name is safe only once the folder is on disk too; not every file system can say so.
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ids::Id;

    fn ana() -> ClientId {
        ClientId::new("ana").unwrap()
    }

    #[test]
    fn a_document_is_replaced_as_a_whole_and_is_private() {
        let folder = tempfile::tempdir().unwrap();
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
        let folder = tempfile::tempdir().unwrap();
        let _first = Desk::open(folder.path(), folder.path()).unwrap();
        assert_eq!(Desk::open(folder.path(), folder.path()).unwrap_err().rule, Rule::Write);
    }
}
