//! From a sheet's words to PDF bytes, through the practice's own layouts. The sole user of the typesetter.
//!
//! A sheet reaches the layouts as data, never as source. Whatever the typesetter is not sure of is an error: a warning,
//! a missing glyph, something beyond the page, a text that did not arrive.

mod impose;
mod inspect;
mod world;

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

use serde::Serialize;
use serde_json::Value as Json;
use typst::diag::SourceDiagnostic;
use typst::foundations::{Bytes, Smart};

use typst::WorldExt;
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards};

use crate::check::{Picture, Practice};
use crate::diag::{Problem, Rule, SourceFile};
use crate::ids::ClientId;

pub use inspect::{Facts, PageFacts};
use world::{OneSheet, Shared};

/// A sheet as the layouts see it.
///
/// # Panics
/// Never: everything that is typeset is plain data.
pub fn data(sheet: &impl Serialize) -> Json {
    serde_json::to_value(sheet).expect("sheets are plain data")
}

/// A typeset document.
#[derive(Clone, Debug, PartialEq)]
pub struct Pdf {
    /// The file's bytes: PDF/UA-1 and PDF/A-2a.
    pub bytes: Vec<u8>,
    /// Number of pages.
    pub pages: usize,
    /// What stands on them.
    pub facts: Facts,
}

impl Pdf {
    /// The same as a booklet: two pages a side, to be printed on both sides of the sheet, turned over the short edge
    /// and folded. Its tags keep the order of reading. `None` if its pages cannot be moved.
    pub fn folded(self) -> Option<Self> {
        let (bytes, pages) = impose::impose(&self.bytes)?;
        Some(Self { bytes, pages, facts: self.facts })
    }
}

/// How many documents an unused piece of the typesetter's memory outlives. Clients share little beyond fonts and layouts,
/// which are kept anyway: keeping more cost 170 MB and gained nothing that could be measured.
const KEEP_FOR: usize = 0;

/// The layouts, fonts and pictures of a practice, ready for any number of sheets.
pub struct Typesetter {
    shared: Shared,
    layouts: BTreeMap<String, Arc<SourceFile>>,
}

impl Typesetter {
    /// Prepares a practice's layouts, fonts and pictures.
    ///
    /// # Errors
    /// If there is no handout layout or no usable font.
    pub fn new(practice: &Practice) -> Result<Self, Problem> {
        let layouts = practice.layouts.iter().map(|entry| (entry.stem.clone(), Arc::clone(&entry.file))).collect();
        let pictures: Vec<&Picture> = practice.logo.iter().chain(practice.pictures.values()).collect();
        Self::with(layouts, &practice.fonts, &pictures)
    }

    /// Prepares layouts, fonts and pictures, wherever they come from.
    ///
    /// # Errors
    /// If there is no handout layout or no usable font.
    pub fn with(
        layouts: BTreeMap<String, Arc<SourceFile>>,
        fonts: &BTreeMap<String, Vec<u8>>,
        pictures: &[&Picture],
    ) -> Result<Self, Problem> {
        if !layouts.contains_key("handout") {
            return Err(Problem::about(
                Rule::NoPractice,
                "layouts/handout.typ",
                "this layout is missing, and every sheet needs it",
            )
            .help("copy it from the demo practice"));
        }
        let shared = Shared::new(&layouts, fonts, pictures)?;
        Ok(Self { shared, layouts })
    }

    /// Typesets one sheet with the layout called `layout`; `ident` names the document for ever.
    ///
    /// # Errors
    /// With every problem found: nothing of a doubtful document is handed on.
    pub fn typeset(
        &self,
        layout: &str,
        sheet: &Json,
        ident: &str,
        client: &ClientId,
        record: &Arc<SourceFile>,
    ) -> Result<Pdf, Vec<Problem>> {
        self.about(layout, sheet, ident, &About::Client { client, record })
    }

    /// Typesets the library with the layout called `layout`.
    ///
    /// # Errors
    /// With every problem found: nothing of a doubtful document is handed on.
    pub fn typeset_library(&self, layout: &str, book: &Json, ident: &str) -> Result<Pdf, Vec<Problem>> {
        self.about(layout, book, ident, &About::Library)
    }

    fn about(&self, layout: &str, sheet: &Json, ident: &str, about: &About<'_>) -> Result<Pdf, Vec<Problem>> {
        // Leaving memory behind on a failure would let it grow with the number of bad records.
        let _evict = Evict;
        guarded(about, || self.compile(layout, sheet, ident, about))
    }

    /// Compiles and exports without any of the checks on what came out: what the bench compares with.
    ///
    /// # Panics
    /// If the sheet does not compile; it is for sheets that [`Self::typeset`] has accepted.
    pub fn bare(&self, layout: &str, json: &[u8], ident: &str) -> Vec<u8> {
        let _evict = Evict;
        let world = self.world(layout, json.to_vec()).expect("the layout exists");
        let document: PagedDocument = typst::compile(&world).output.expect("the sheet compiles");
        typst_pdf::pdf(&document, &options(ident)).expect("the sheet exports")
    }

    fn world(&self, layout: &str, data: Vec<u8>) -> Option<OneSheet<'_>> {
        self.shared.sheet(layout, Bytes::new(data))
    }

    fn compile(&self, layout: &str, sheet: &Json, ident: &str, about: &About<'_>) -> Result<Pdf, Vec<Problem>> {
        let data = serde_json::to_vec(sheet).expect("a JSON value is always written");
        let Some(world) = self.world(layout, data) else {
            let missing = Problem::about(Rule::NoPractice, format!("layouts/{layout}.typ"), "this layout is missing");
            return Err(vec![about.sign(missing.help("copy it from the demo practice"))]);
        };
        let compiled = typst::compile::<PagedDocument>(&world);
        let document = match compiled.output {
            Ok(document) => document,
            Err(errors) => return Err(self.problems(&world, errors.iter(), Rule::Layout, about)),
        };
        let mut problems = self.problems(&world, compiled.warnings.iter(), Rule::TypesetWarning, about);
        let (facts, found) = inspect::inspect(&document, sheet, about);
        problems.extend(found);
        if !problems.is_empty() {
            return Err(problems);
        }
        match typst_pdf::pdf(&document, &options(ident)) {
            Ok(bytes) => Ok(Pdf { bytes, pages: document.pages().len(), facts }),
            Err(errors) => Err(self.problems(&world, errors.iter(), Rule::Export, about)),
        }
    }

    /// Facts about a sheet's pages, for tests of layouts.
    ///
    /// # Errors
    /// If the layout does not compile, or not without a warning.
    pub fn facts(&self, layout: &str, sheet: &impl Serialize) -> Result<Facts, String> {
        let world = self.world(layout, serde_json::to_vec(sheet).map_err(|error| error.to_string())?);
        let compiled = typst::compile::<PagedDocument>(&world.ok_or("no such layout")?);
        let (document, errors) = match compiled.output {
            Ok(document) => (Some(document), compiled.warnings),
            Err(errors) => (None, errors),
        };
        match document.filter(|_| errors.is_empty()) {
            Some(document) => Ok(inspect::facts(&document)),
            None => Err(errors.iter().map(|error| error.message.to_string()).collect::<Vec<_>>().join("; ")),
        }
    }

    fn problems<'a>(
        &self,
        world: &OneSheet<'_>,
        diagnostics: impl Iterator<Item = &'a SourceDiagnostic>,
        rule: Rule,
        about: &About<'_>,
    ) -> Vec<Problem> {
        diagnostics.map(|diagnostic| self.problem(world, diagnostic, rule, about)).collect()
    }

    /// A typesetter's complaint, at its place in the layout if it has one.
    fn problem(&self, world: &OneSheet<'_>, diagnostic: &SourceDiagnostic, rule: Rule, about: &About<'_>) -> Problem {
        let place = diagnostic.span.id().and_then(|id| {
            let name = id.vpath().file_stem()?.to_owned();
            Some((self.layouts.get(&name)?, world.range(diagnostic.span)?))
        });
        let hints: Vec<&str> = diagnostic.hints.iter().map(|hint| hint.v.as_str()).collect();
        let help = if hints.is_empty() {
            "correct the layout, or restore it from the demo practice".to_owned()
        } else {
            hints.join("; ")
        };
        let message = diagnostic.message.as_str();
        let problem = match place {
            Some((file, span)) => Problem::at(rule, file, span, message),
            None => about.problem(rule, message),
        };
        about.sign(problem.help(help))
    }
}

/// What a problem is about.
enum About<'a> {
    /// A client's sheet.
    Client { client: &'a ClientId, record: &'a Arc<SourceFile> },
    /// The library in print.
    Library,
}

impl About<'_> {
    fn problem(&self, rule: Rule, message: impl Into<String>) -> Problem {
        let path = match self {
            Self::Client { record, .. } => record.path.as_str(),
            Self::Library => "exercises",
        };
        self.sign(Problem::about(rule, path, message))
    }

    /// Puts the client's name to a problem.
    fn sign(&self, problem: Problem) -> Problem {
        match self {
            Self::Client { client, .. } => problem.client(client),
            Self::Library => problem,
        }
    }
}

/// Runs the typesetter; a fault of its own costs one sheet and not the run.
fn guarded<T>(about: &About<'_>, work: impl FnOnce() -> Result<T, Vec<Problem>>) -> Result<T, Vec<Problem>> {
    catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|_| {
        Err(vec![
            about
                .problem(Rule::Panic, "the typesetter stopped on a fault of its own while it set this sheet")
                .help("simplify the layout or the pictures of this sheet, and report the fault"),
        ])
    })
}

/// Frees the typesetter's memory when a document is done, whatever came of it.
struct Evict;

impl Drop for Evict {
    fn drop(&mut self) {
        typst::comemo::evict(KEEP_FOR);
    }
}

/// The strongest pair of standards that the exporter allows together.
fn options(ident: &str) -> PdfOptions {
    PdfOptions {
        ident: Smart::Custom(ident.to_owned()),
        creator: Smart::Custom(Some("Kinleaf".to_owned())),
        standards: PdfStandards::new(&[PdfStandard::Ua_1, PdfStandard::A_2a]).expect("UA-1 and A-2a go together"),
        ..PdfOptions::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ids::Id;

    #[test]
    fn a_fault_of_the_typesetter_is_a_problem_of_its_client() {
        let record = Arc::new(SourceFile { path: "clients/ana.toml".into(), text: String::new() });
        let client = ClientId::new("ana").unwrap();
        let about = About::Client { client: &client, record: &record };
        let problems = guarded::<()>(&about, || panic!("a fault")).unwrap_err();
        assert_eq!((problems[0].rule, problems[0].client.as_ref()), (Rule::Panic, Some(&client)));
        assert_eq!(guarded(&about, || Ok(1)), Ok(1));
    }
}
