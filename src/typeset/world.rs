//! What the typesetter may see: the practice's layouts, fonts and pictures, and one sheet's data. Nothing else exists.

use std::collections::BTreeMap;
use std::sync::Arc;

use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Feature, Library, LibraryExt, World};

use crate::check::Picture;
use crate::diag::{Problem, Rule, SourceFile};

/// What all sheets of a run share.
pub struct Shared {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
    sources: BTreeMap<&'static str, Source>,
    files: BTreeMap<&'static str, Bytes>,
    mains: BTreeMap<String, FileId>,
    data: FileId,
}

/// The id of a path in the practice. Ids are never freed, so only the practice's own few names are ever made into one.
fn id(path: &str) -> Result<FileId, Problem> {
    VirtualPath::new(path).map(|path| RootedPath::new(VirtualRoot::Project, path).intern()).map_err(|_| {
        Problem::about(Rule::BadId, path, "this file name cannot be used by a layout").help("rename the file")
    })
}

/// The path that an id stands for; ids themselves have no order.
fn name_of(id: FileId) -> &'static str {
    id.get().vpath().get_with_slash()
}

impl Shared {
    pub fn new(
        layouts: &BTreeMap<String, Arc<SourceFile>>,
        fonts: &BTreeMap<String, Vec<u8>>,
        pictures: &[&Picture],
    ) -> Result<Self, Problem> {
        // In the order of file names: the order of fonts decides ties, and so bytes.
        let fonts: Vec<Font> = fonts.values().flat_map(|bytes| Font::iter(Bytes::new(bytes.clone()))).collect();
        if fonts.is_empty() {
            return Err(Problem::about(Rule::NoPractice, "layouts/fonts", "there is no usable font here")
                .help("copy the fonts from the demo practice"));
        }
        let mut sources = BTreeMap::new();
        let mut mains = BTreeMap::new();
        for (name, file) in layouts {
            let id = id(&format!("/{name}.typ"))?;
            sources.insert(name_of(id), Source::new(id, file.text.clone()));
            mains.insert(name.clone(), id);
        }
        let mut files = BTreeMap::new();
        for picture in pictures {
            files.insert(name_of(id(&format!("/{}", picture.name))?), Bytes::new(picture.bytes.as_ref().clone()));
        }
        Ok(Self {
            // Row headers of tables are still an experiment of the typesetter's, but what a listener needs.
            library: LazyHash::new(
                Library::builder().with_features([Feature::A11yExtras].into_iter().collect()).build(),
            ),
            book: LazyHash::new(FontBook::from_fonts(&fonts)),
            fonts,
            sources,
            files,
            mains,
            data: id("/data.json")?,
        })
    }

    /// The world of one sheet; `None` if there is no such layout.
    pub fn sheet(&self, layout: &str, data: Bytes) -> Option<OneSheet<'_>> {
        Some(OneSheet { shared: self, main: *self.mains.get(layout)?, data })
    }
}

/// The world of one sheet: never changed, so that no client's data can reach another's document.
pub struct OneSheet<'a> {
    shared: &'a Shared,
    main: FileId,
    data: Bytes,
}

impl World for OneSheet<'_> {
    fn library(&self) -> &LazyHash<Library> {
        &self.shared.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.shared.book
    }

    fn main(&self) -> FileId {
        self.main
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        self.shared.sources.get(name_of(id)).cloned().ok_or_else(|| not_found(id))
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        if id == self.shared.data {
            return Ok(self.data.clone());
        }
        self.shared.files.get(name_of(id)).cloned().ok_or_else(|| not_found(id))
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.shared.fonts.get(index).cloned()
    }

    /// There is no clock in here: a layout that asks for the date gets an error.
    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        None
    }
}

fn not_found(id: FileId) -> FileError {
    FileError::NotFound(id.vpath().get_without_slash().into())
}
