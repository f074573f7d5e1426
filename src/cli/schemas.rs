//! `kinleaf schemas`.

use std::path::Path;

use super::args::Common;
use super::{ALL_WELL, UNUSABLE, practice, show};
use crate::check::Practice;
use crate::diag::Problem;
use crate::publish;
use crate::schema;

pub fn run(common: &Common) -> u8 {
    let written = practice(&common.practice).and_then(|practice| write(&common.practice, &practice));
    match written {
        Ok(files) => {
            let folder = common.practice.join(schema::FOLDER);
            show::written(&files, &format!("{} schemas in {}.", files.len(), folder.display()), common.json);
            ALL_WELL
        }
        Err(problems) => {
            show::unusable(&problems, common.json, UNUSABLE);
            UNUSABLE
        }
    }
}

/// Writes the schemas of a practice, with its own names in them.
pub fn write(folder: &Path, practice: &Practice) -> Result<Vec<String>, Vec<Problem>> {
    let folder = folder.join(schema::FOLDER);
    let mut files = Vec::new();
    for (kind, schema) in schema::all(Some(practice))? {
        let name = format!("{kind}.json");
        publish::file(&folder, &name, format!("{schema:#}\n").as_bytes()).map_err(|problem| vec![problem])?;
        files.push(format!("{}/{name}", schema::FOLDER));
    }
    Ok(files)
}
