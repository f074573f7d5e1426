//! `kinleaf start`.

use std::path::Path;

use super::args::{Common, Start};
use super::{ALL_WELL, UNUSABLE, show};
use crate::check::check;
use crate::diag::Problem;
use crate::publish;
use crate::schema;
use crate::starter;

pub fn run(common: &Common, command: &Start) -> u8 {
    match write(&command.folder) {
        Ok(files) => {
            show::written(&files, &farewell(&command.folder), common.json);
            ALL_WELL
        }
        Err(problems) => {
            show::unusable(&problems, common.json, UNUSABLE);
            UNUSABLE
        }
    }
}

/// Writes the starter practice with its schemas, and gives the names of its files.
fn write(folder: &Path) -> Result<Vec<String>, Vec<Problem>> {
    let (practice, problems) = check(starter::files());
    let practice = practice.ok_or(problems)?;
    let mut files: Vec<(String, Vec<u8>)> =
        starter::all().into_iter().map(|(path, bytes)| (path, bytes.to_vec())).collect();
    for (kind, schema) in schema::all(Some(&practice))? {
        files.push((format!("{}/{kind}.json", schema::FOLDER), format!("{schema:#}\n").into_bytes()));
    }
    publish::new_folder(folder, &files).map_err(|problem| vec![problem])?;
    Ok(files.into_iter().map(|(path, _)| path).collect())
}

/// What there is now, and what to do next.
fn farewell(folder: &Path) -> String {
    let folder = folder.display();
    format!(
        "{folder} is a practice now, with a library and one client who does not exist. Next, from inside it:\n\
         \n\
         \x20 layouts/brand.toml            your name, coaches, colours and logo: edit it first\n\
         \x20 kinleaf print                 the made-up client's handout, in out/\n\
         \x20 kinleaf new client NAME       a client of your own\n\
         \x20 kinleaf new exercise NAME     an exercise, with its pictures; `new test` is alike\n\
         \x20 kinleaf check                 after every change: what is wrong, where, and how to mend it"
    )
}
