//! What was issued, to and from the store: a sheet's data and the means that it was set with.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use serde_json::Value as Json;

use crate::check::{Picture, Practice};
use crate::diag::{Problem, Rule, SourceFile};
use crate::issued::{self, FOLDER, Issued, Means, Store, keep, pictures};
use crate::load::bytes;
use crate::print::{Ink, Look};
use crate::typeset::Typesetter;

/// Where layouts, fonts and pictures stand in a list of means.
const LAYOUTS: &str = "layouts/";
const FONTS: &str = "fonts/";
const PICTURES: &str = "pictures/";

/// The store of one practice, and the means of printing that this run has seen in it.
pub(super) struct Cabinet<'a> {
    folder: &'a std::path::Path,
    practice: &'a Practice,
    /// Layouts, fonts and logo of today: what each sheet is set with.
    common: OnceLock<(BTreeMap<String, String>, Store)>,
    /// Typesetters by the name of their means.
    typesetters: Mutex<BTreeMap<String, Arc<Typesetter>>>,
}

/// Why something kept cannot be used.
pub(super) type Lost = String;

impl<'a> Cabinet<'a> {
    pub(super) fn new(folder: &'a std::path::Path, practice: &'a Practice) -> Self {
        Self { folder, practice, common: OnceLock::new(), typesetters: Mutex::default() }
    }

    /// Begins to put a sheet together for keeping.
    pub(super) fn pack(&self) -> Packing<'_> {
        let (common, files) = self.common.get_or_init(|| common(self.practice));
        let (means, store) = (Means(common.clone()), files.clone());
        Packing { practice: self.practice, means, store, sheet: Issued::blank() }
    }

    /// A sheet that was kept.
    pub(super) fn sheet(&self, name: &str) -> Result<Issued, Lost> {
        serde_json::from_slice(&self.fetch(name)?).map_err(|_| damaged(name))
    }

    /// A sheet's data in one look, and the typesetter that it was issued with.
    pub(super) fn unpack(&self, sheet: &Issued, look: Look) -> Result<(Json, Arc<Typesetter>), Lost> {
        let mut lost = None;
        let data = sheet.data(look, &mut |name| match self.fetch(name) {
            Ok(bytes) => String::from_utf8(bytes).ok(),
            Err(why) => {
                lost = Some(why);
                None
            }
        });
        let data = data.map_err(|name| lost.unwrap_or_else(|| damaged(&name)))?;
        Ok((data, self.typesetter(&sheet.means)?))
    }

    fn typesetter(&self, means: &str) -> Result<Arc<Typesetter>, Lost> {
        let known = || self.typesetters.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(ready) = known().get(means) {
            return Ok(Arc::clone(ready));
        }
        let list: Means = serde_json::from_slice(&self.fetch(means)?).map_err(|_| damaged(means))?;
        let (mut layouts, mut fonts, mut pictures) = (BTreeMap::new(), BTreeMap::new(), Vec::new());
        for (path, hash) in &list.0 {
            let bytes = self.fetch(hash)?;
            if let Some(stem) = path.strip_prefix(LAYOUTS) {
                let text = String::from_utf8(bytes).map_err(|_| damaged(hash))?;
                let file = SourceFile { path: format!("clients/{FOLDER}/{hash}"), text };
                layouts.insert(stem.to_owned(), Arc::new(file));
            } else if let Some(name) = path.strip_prefix(FONTS) {
                fonts.insert(name.to_owned(), bytes);
            } else if let Some(name) = path.strip_prefix(PICTURES) {
                pictures.push(Picture { name: name.to_owned(), bytes: Arc::new(bytes) });
            }
        }
        let pictures: Vec<&Picture> = pictures.iter().collect();
        let ready = Typesetter::with(layouts, &fonts, &pictures).map_err(|_| damaged(means))?;
        Ok(Arc::clone(known().entry(means.to_owned()).or_insert(Arc::new(ready))))
    }

    fn fetch(&self, name: &str) -> Result<Vec<u8>, Lost> {
        let path = format!("clients/{FOLDER}/{name}");
        let whole = name.len() == 64 && name.bytes().all(|byte| byte.is_ascii_hexdigit());
        let packed = if whole { bytes(self.folder, &path).ok().flatten() } else { None };
        let packed = packed.ok_or_else(|| format!("`{path}`, which it was set from, is gone"))?;
        issued::unpacked(name, &packed).ok_or_else(|| damaged(name))
    }
}

/// A sheet on its way into the store.
pub(super) struct Packing<'a> {
    practice: &'a Practice,
    means: Means,
    store: Store,
    sheet: Issued,
}

impl Packing<'_> {
    /// Adds the sheet's data in one ink.
    pub(super) fn add(&mut self, ink: Ink, data: Json) {
        for name in pictures(&data) {
            if let Some(picture) = self.practice.pictures.get(name) {
                let hash = keep(&mut self.store, Arc::clone(&picture.bytes));
                self.means.0.insert(format!("{PICTURES}{name}"), hash);
            }
        }
        self.sheet.add(ink, data, &mut self.store);
    }

    /// The data in one look, as it will be read back.
    pub(super) fn read_back(&self, look: Look) -> Json {
        let written = serde_json::to_vec(&self.sheet).expect("sheets are plain data");
        let sheet: Issued = serde_json::from_slice(&written).expect("what was packed can be read");
        let mut drawing = |name: &str| String::from_utf8(self.store.get(name)?.to_vec()).ok();
        sheet.data(look, &mut drawing).expect("a sheet is packed with its drawings")
    }

    /// The sheet's name, and everything to write.
    pub(super) fn done(mut self) -> (String, Store) {
        self.sheet.means = keep(&mut self.store, serde_json::to_vec(&self.means).expect("lists are plain data"));
        (self.sheet.keep(&mut self.store), self.store)
    }
}

fn damaged(name: &str) -> Lost {
    format!("`clients/{FOLDER}/{name}`, which it was set from, is not whole")
}

/// Layouts, fonts and logo of a practice as it is.
fn common(practice: &Practice) -> (BTreeMap<String, String>, Store) {
    let (mut means, mut store) = (BTreeMap::new(), Store::new());
    let mut add = |path: String, bytes: Vec<u8>| {
        means.insert(path, keep(&mut store, bytes));
    };
    for layout in &practice.layouts {
        add(format!("{LAYOUTS}{}", layout.stem), layout.file.text.clone().into_bytes());
    }
    for (name, bytes) in practice.fonts.iter() {
        add(format!("{FONTS}{name}"), bytes.clone());
    }
    if let Some(logo) = &practice.logo {
        add(format!("{PICTURES}{}", logo.name), logo.bytes.to_vec());
    }
    (means, store)
}

/// What says that a sheet cannot be made from the store.
pub(super) fn lost(path: String, sheet: u32, why: &str) -> Problem {
    Problem::about(Rule::ChangedSinceIssue, path, format!("sheet {sheet} cannot be made again as it was issued: {why}"))
        .help("restore `clients/issued` from a backup, or use `--renew` to issue a new sheet with a new number")
}
