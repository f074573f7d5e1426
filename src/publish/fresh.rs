//! Files of the practice itself: a new practice, new entries, and entries that were mended.

use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use super::{failed, private_folder};
use crate::diag::{Problem, Rule};

/// Writes a file of the practice anew, as a whole; who may read it stays as it was.
///
/// # Errors
/// If it cannot be written; what stood there before still does.
pub fn mended(practice: &Path, path: &str, text: &str) -> Result<(), Problem> {
    let target = practice.join(path);
    let write = || -> std::io::Result<()> {
        // Through a link the file itself is written, not the link.
        let target = fs::canonicalize(&target)?;
        let mut temporary = NamedTempFile::with_prefix_in(".kinleaf-", target.parent().unwrap_or(practice))?;
        temporary.write_all(text.as_bytes())?;
        temporary.as_file().set_permissions(fs::metadata(&target)?.permissions())?;
        temporary.as_file().sync_all()?;
        temporary.persist(&target).map_err(|error| error.error)?;
        Ok(())
    };
    write().map_err(|error| failed(path, &error))
}

/// Makes a new folder with these files, by their paths inside it: all of them, or nothing.
///
/// # Errors
/// If something of that name is there already, or a file cannot be written.
pub fn new_folder(folder: &Path, files: &[(String, Vec<u8>)]) -> Result<(), Problem> {
    let name = folder.display().to_string();
    if folder.symlink_metadata().is_ok() {
        return Err(Problem::about(Rule::Write, name, "is there already, and nothing in it is overwritten")
            .help("name a folder that does not exist yet"));
    }
    let parent = folder.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let make = || -> std::io::Result<()> {
        private_folder(parent)?;
        let temporary = tempfile::Builder::new().prefix(".kinleaf-").tempdir_in(parent)?;
        for (path, bytes) in files {
            let path = temporary.path().join(path);
            if let Some(inner) = path.parent() {
                fs::create_dir_all(inner)?;
            }
            let mut file = File::create(&path)?;
            file.write_all(bytes)?;
            file.sync_all()?;
        }
        fs::rename(temporary.path(), folder)?;
        // What was renamed is not there to be cleared away.
        let _ = temporary.keep();
        Ok(())
    };
    make().map_err(|error| failed(&name, &error))
}

/// Writes files that must not be there yet, by their paths in a practice: all of them, or none.
///
/// # Errors
/// If one of them is there already, or cannot be written.
pub fn new_files(practice: &Path, files: &[(String, String)]) -> Result<(), Problem> {
    if let Some((path, _)) = files.iter().find(|(path, _)| practice.join(path).symlink_metadata().is_ok()) {
        return Err(Problem::about(Rule::Write, path.as_str(), "is there already, and nothing is overwritten")
            .help("choose another name"));
    }
    let mut made: Vec<PathBuf> = Vec::new();
    for (path, text) in files {
        let target = practice.join(path);
        if let Err(error) = new_file(&target, text) {
            for made in &made {
                let _ = fs::remove_file(made);
            }
            return Err(failed(path, &error));
        }
        made.push(target);
    }
    Ok(())
}

fn new_file(target: &Path, text: &str) -> std::io::Result<()> {
    let folder = target.parent().unwrap_or(Path::new("."));
    private_folder(folder)?;
    let mut temporary = NamedTempFile::with_prefix_in(".kinleaf-", folder)?;
    temporary.write_all(text.as_bytes())?;
    temporary.as_file().sync_all()?;
    temporary.persist_noclobber(target).map_err(|error| error.error)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> =
            fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    #[test]
    fn a_new_folder_is_made_whole_or_not_at_all() {
        let parent = tempfile::tempdir().unwrap();
        let folder = parent.path().join("new");
        let files = [("a/b.toml".to_owned(), b"one".to_vec()), ("c.toml".to_owned(), b"two".to_vec())];
        new_folder(&folder, &files).unwrap();
        assert_eq!(fs::read(folder.join("a/b.toml")).unwrap(), b"one");
        assert_eq!(names(parent.path()), ["new"]);
        assert_eq!(new_folder(&folder, &files).unwrap_err().rule, Rule::Write);
        // A file that cannot be: one of the others is no folder.
        let clash = [("a".to_owned(), b"one".to_vec()), ("a/b".to_owned(), b"two".to_vec())];
        assert_eq!(new_folder(&parent.path().join("other"), &clash).unwrap_err().rule, Rule::Write);
        assert_eq!(names(parent.path()), ["new"]);
    }

    #[test]
    fn new_files_take_no_ones_place() {
        let practice = tempfile::tempdir().unwrap();
        let file = |path: &str, text: &str| (path.to_owned(), text.to_owned());
        new_files(practice.path(), &[file("a/one.toml", "1"), file("b/one.toml", "2")]).unwrap();
        let again = [file("a/two.toml", "1"), file("b/one.toml", "3")];
        assert_eq!(new_files(practice.path(), &again).unwrap_err().file(), Some("b/one.toml"));
        // The second stands in the way of a folder, so the first is taken back.
        let clash = [file("a/two.toml", "1"), file("a/one.toml/two.toml", "1")];
        assert_eq!(new_files(practice.path(), &clash).unwrap_err().rule, Rule::Write);
        assert_eq!(names(&practice.path().join("a")), ["one.toml"]);
        assert_eq!(fs::read_to_string(practice.path().join("b/one.toml")).unwrap(), "2");
    }
}
