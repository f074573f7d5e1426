//! The practice in its other languages: overlay files laid over the library, text by text.
//!
//! A translation names and states what its original does, or it is refused. What is missing or refused is noted by the
//! exercise or test that needs it, so that a sheet is either wholly in a language or not in it at all.

mod exercise;
mod pictures;
mod test;
mod vocabulary;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::brand::{Brand, Coach, Lines};
use crate::diag::{Problem, Rule, SourceFile, meant};
use crate::draw::Subject;
use crate::fields::{Fields, Value};
use crate::ids::{CoachId, ExerciseId, Id, TestId};
use crate::library::{Library, Phase};
use crate::load::Files;
use crate::template::Template;
use crate::words::Words;

use super::exercise::Samples;
use super::{Practice, brand, one, words};

/// Parts of the practice of which something can be said.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Parts {
    /// What every sheet uses: brand, standing texts, vocabulary, phases.
    pub common: bool,
    /// Exercises, with their pictures.
    pub exercises: BTreeSet<ExerciseId>,
    /// Tests, with their pictures.
    pub tests: BTreeSet<TestId>,
}

impl Parts {
    /// Whether a sheet with these exercises and tests uses any of them.
    pub fn touch<'a>(
        &self,
        mut exercises: impl Iterator<Item = &'a ExerciseId>,
        mut tests: impl Iterator<Item = &'a TestId>,
    ) -> bool {
        self.common || exercises.any(|id| self.exercises.contains(id)) || tests.any(|id| self.tests.contains(id))
    }

    fn add(&mut self, what: &What) {
        match what {
            What::Common => self.common = true,
            What::Of(Subject::Exercise(id)) => drop(self.exercises.insert(id.clone())),
            What::Of(Subject::Test(id)) => drop(self.tests.insert(id.clone())),
        }
    }
}

/// The practice in a further language.
#[derive(Debug)]
pub struct Translation {
    /// The practice with every text that could be translated.
    pub practice: Practice,
    /// What has no sound translation.
    pub missing: Parts,
    /// What no fluent reader has read.
    pub drafts: Parts,
}

/// What a file belongs to.
enum What {
    Common,
    Of(Subject),
}

/// Lays the overlays of one language over their originals.
struct Translator<'a> {
    words: &'a Words,
    /// Whether clients may choose the language: then nothing may be missing.
    offered: bool,
    overlays: BTreeMap<&'a str, &'a Arc<SourceFile>>,
    met: BTreeSet<&'a str>,
    missing: Parts,
    drafts: Parts,
    draft_files: usize,
    problems: &'a mut Vec<Problem>,
}

/// Reads every language but the one that the library is written in.
pub fn translate_all(base: &Practice, files: &Files, problems: &mut Vec<Problem>) -> BTreeMap<String, Translation> {
    let brand = &base.brand;
    let written = files.words.iter().map(|entry| entry.stem.as_str());
    let languages: BTreeSet<&str> = written.chain(brand.languages.iter().map(String::as_str)).collect();
    stray(&languages, files, problems);
    let others = languages.into_iter().filter(|language| *language != brand.written_in);
    others.filter_map(|language| Some((language.to_owned(), translate(base, language, files, problems)?))).collect()
}

/// Overlays in a language that has no standing texts.
fn stray(languages: &BTreeSet<&str>, files: &Files, problems: &mut Vec<Problem>) {
    for overlay in files.overlays.iter().filter(|overlay| !languages.contains(overlay.language.as_str())) {
        let message = format!("there are no standing texts in `{}`", overlay.language);
        let help = format!("add layouts/words/{}.toml, or rename the file", overlay.language);
        problems.push(Problem::about(Rule::UnknownName, overlay.file.path.as_str(), message).help(help));
    }
}

fn translate(base: &Practice, language: &str, files: &Files, problems: &mut Vec<Problem>) -> Option<Translation> {
    let standing = words::read(language, &files.words, problems)?;
    words::compare(&standing, &base.words, &files.words, problems);
    let of_language = files.overlays.iter().filter(|overlay| overlay.language == language);
    let mut translator = Translator {
        words: &standing,
        offered: base.brand.languages.iter().any(|offered| offered == language),
        overlays: of_language.map(|overlay| (overlay.original.as_str(), &overlay.file)).collect(),
        met: BTreeSet::new(),
        missing: Parts::default(),
        drafts: Parts { common: standing.draft, ..Parts::default() },
        draft_files: usize::from(standing.draft),
        problems,
    };
    let brand = translator.brand(&base.brand);
    let library = translator.library(&base.library, files);
    let texts = translator.pictures(&base.studio, &base.library.tests, files);
    let Translator { missing, drafts, .. } = translator.finish(language);
    let practice = Practice {
        brand,
        logo: base.logo.clone(),
        library,
        pictures: base.pictures.clone(),
        studio: Arc::new(base.studio.speaking(&standing, texts)),
        clients: Vec::new(),
        layouts: base.layouts.clone(),
        fonts: Arc::clone(&base.fonts),
        pose_files: base.pose_files.clone(),
        broken_tests: base.broken_tests.clone(),
        broken_exercises: base.broken_exercises.clone(),
        plain: base.plain.clone(),
        sources: BTreeMap::new(),
        translations: BTreeMap::new(),
        words: standing,
    };
    Some(Translation { practice, missing, drafts })
}

impl<'a> Translator<'a> {
    /// Reads the overlay of one file. If there is none, or it is not sound, that is noted for what it belongs to.
    fn overlay<T>(
        &mut self,
        original: &'a str,
        what: &What,
        build: impl FnOnce(&Fields<'_>, &Words) -> Option<T>,
    ) -> Option<T> {
        self.met.insert(original);
        let Some(file) = self.overlays.get(original) else {
            self.missing.add(what);
            if self.offered {
                let language = &self.words.language;
                let overlay = original.replace(".toml", &format!(".{language}.toml"));
                let message =
                    format!("this file has no translation into {}, which the practice offers", self.words.name);
                let help = format!("add {overlay}, or take `{language}` out of `languages` in layouts/brand.toml");
                self.problems.push(Problem::about(Rule::NoTranslation, original, message).help(help));
            }
            return None;
        };
        let mut draft = false;
        let built = one(file, self.problems, |fields| {
            draft = fields.get("draft").and_then(|value| value.yes()).unwrap_or(false);
            build(fields, self.words)
        });
        if draft {
            self.drafts.add(what);
            self.draft_files += 1;
        }
        if built.is_none() {
            self.missing.add(what);
        }
        built
    }

    /// Overlays without an original, and how much is a draft.
    fn finish(self, language: &str) -> Self {
        for (original, file) in self.overlays.iter().filter(|(original, _)| !self.met.contains(*original)) {
            let message = format!("there is no usable {original} that this file could translate");
            let help = "rename it after its original, or correct the fault of the original first";
            self.problems.push(Problem::about(Rule::UnknownName, file.path.as_str(), message).help(help));
        }
        if self.draft_files > 0 && self.offered {
            let count = self.draft_files;
            let message = format!("no fluent reader has read {count} files in {} yet; sheets say so", self.words.name);
            let help = "have them read, then take `draft = true` out of each";
            let path = format!("layouts/words/{language}.toml");
            self.problems.push(Problem::about(Rule::DraftTranslation, path, message).help(help));
        }
        self
    }

    fn brand(&mut self, base: &Brand) -> Brand {
        let read = |fields: &Fields<'_>, words: &Words| {
            let texts = Texts::new(fields, Samples::whole(words));
            let mut brand = base.clone();
            brand.language.clone_from(&words.language);
            brand.region = super::brand::region(fields);
            // Everything is read before anything stops: a key that is not looked at would be called unknown.
            let logo_alt = match base.logo {
                Some(_) => texts.plain("logo_alt", 160, &base.logo_alt),
                None => Some(String::new()),
            };
            let lines = lines(&texts, &base.lines);
            let coaches = fields.need("coaches").and_then(|value| value.table());
            let coaches = coaches.and_then(|table| translated_coaches(&table, &base.coaches, words));
            brand.logo_alt = logo_alt?;
            brand.lines = lines?;
            brand.coaches = coaches?;
            Some(brand)
        };
        self.overlay("layouts/brand.toml", &What::Common, read).unwrap_or_else(|| base.clone())
    }

    fn library(&mut self, base: &Library, files: &'a Files) -> Library {
        let mut library = base.clone();
        if let Some(found) = self.overlay("exercises/vocabulary.toml", &What::Common, |fields, words| {
            vocabulary::read(&base.vocabulary, fields, words)
        }) {
            library.vocabulary = found;
        }
        if let Some(found) =
            self.overlay("exercises/phases.toml", &What::Common, |fields, words| phases(&base.phases, fields, words))
        {
            library.phases = found;
        }
        let planning = |fields: &Fields<'_>, words: &Words| {
            let samples = Samples::whole(words);
            let reasons = base.planning.decisions.iter().map(|rule| rule.client.as_str());
            let reasons = vocabulary::by_text(fields, "decisions", reasons, 210, &samples, |_| false);
            let table = fields.need("picture")?.table()?;
            let tell = Texts::new(&table, samples).plain("tell", 210, &base.planning.picture.1);
            table.done();
            let mut planning = base.planning.clone();
            planning.picture.1 = tell?;
            let reasons = reasons?;
            for rule in &mut planning.decisions {
                rule.client = reasons.get(&rule.client)?.clone();
            }
            Some(planning)
        };
        if let Some(found) = self.overlay("exercises/planning.toml", &What::Common, planning) {
            library.planning = found;
        }
        let names = super::exercise::names_of(&base.tests);
        for (_, entry) in &files.exercises {
            let Some((id, known)) = base.exercises.get_key_value(entry.stem.as_str()) else { continue };
            let what = What::Of(Subject::Exercise(id.clone()));
            if let Some(found) =
                self.overlay(&entry.file.path, &what, |fields, words| exercise::read(known, fields, words, &names))
            {
                library.exercises.insert(id.clone(), found);
            }
        }
        for entry in &files.tests {
            let Some((id, known)) = base.tests.get_key_value(entry.stem.as_str()) else { continue };
            let what = What::Of(Subject::Test(id.clone()));
            if let Some(found) = self.overlay(&entry.file.path, &what, |fields, words| test::read(known, fields, words))
            {
                library.tests.insert(id.clone(), found);
            }
        }
        library
    }
}

fn phases(base: &[Phase], fields: &Fields<'_>, words: &Words) -> Option<Vec<Phase>> {
    let mut phases = base.to_vec();
    let mut sound = true;
    let tables = by_id(fields, "phases", base.iter().map(|phase| phase.id.to_string()).collect())?;
    for (phase, table) in phases.iter_mut().zip(tables) {
        let texts = Texts::new(&table, Samples::whole(words));
        let (name, purpose) = (texts.plain("name", 26, &phase.name), texts.plain("purpose", 160, &phase.purpose));
        table.done();
        let (Some(name), Some(purpose)) = (name, purpose) else {
            sound = false;
            continue;
        };
        (phase.name, phase.purpose) = (name, purpose);
    }
    sound.then_some(phases)
}

/// The tables of a list whose `id` is each of `wanted`, in that order; every one must be there, and no other.
fn by_id<'f>(fields: &Fields<'f>, key: &str, wanted: Vec<String>) -> Option<Vec<Fields<'f>>> {
    let mut found = BTreeMap::new();
    for table in fields.tables(key) {
        let Some(id) = table.need("id").and_then(|value| value.text(60)) else { continue };
        if !wanted.contains(&id.value) {
            let help = meant(&id.value, wanted.iter().map(String::as_str), || format!("known: {}", wanted.join(", ")));
            let message = format!("the original has no `{}` in `{key}`", id.value);
            table.sink().report(Rule::UnknownName, id.span, message, help);
            table.entries();
            continue;
        }
        if let Some(first) = found.insert(id.value, table) {
            let message = format!("two entries of `{key}` have this id");
            first.sink().report(Rule::Duplicate, first.span(), message, "take one out");
            first.entries();
        }
    }
    let mut tables = Vec::new();
    for id in &wanted {
        match found.remove(id) {
            Some(table) => tables.push(table),
            None => fields.sink().report(
                Rule::MissingKey,
                fields.span(),
                format!("`{id}` in `{key}` has no translation"),
                format!("add a table `[[{key}]]` with `id = \"{id}\"`"),
            ),
        }
    }
    (tables.len() == wanted.len()).then_some(tables)
}

/// Reads the texts of one table against their originals.
struct Texts<'f, 'a> {
    fields: &'f Fields<'a>,
    samples: Samples,
}

impl<'f, 'a> Texts<'f, 'a> {
    fn new(fields: &'f Fields<'a>, samples: Samples) -> Self {
        Self { fields, samples }
    }

    /// A text of at most `limit` characters that may have gaps.
    fn text(&self, key: &str, limit: usize, original: &Template) -> Option<Template> {
        self.one(&self.fields.need(key)?, limit, original)
    }

    /// A text without gaps.
    fn plain(&self, key: &str, limit: usize, original: &str) -> Option<String> {
        self.text(key, limit, &Template::new(original)).map(|text| text.source().to_owned())
    }

    /// A list, one to one; none if the original has none.
    fn list(&self, key: &str, limit: usize, originals: &[Template]) -> Option<Vec<Template>> {
        let Some(value) = (if originals.is_empty() { self.fields.get(key) } else { self.fields.need(key) }) else {
            return originals.is_empty().then(Vec::new);
        };
        let values = value.list()?;
        if values.len() != originals.len() {
            let message = format!("`{key}` has {} texts, but the original has {}", values.len(), originals.len());
            return value.refuse(Rule::TranslationDiffers, message, "translate them one to one");
        }
        let read: Vec<Template> =
            values.iter().zip(originals).filter_map(|(value, original)| self.one(value, limit, original)).collect();
        (read.len() == originals.len()).then_some(read)
    }

    fn plain_list(&self, key: &str, limit: usize, originals: &[String]) -> Option<Vec<String>> {
        let originals: Vec<Template> = originals.iter().map(Template::new).collect();
        Some(self.list(key, limit, &originals)?.iter().map(|text| text.source().to_owned()).collect())
    }

    fn one(&self, value: &Value<'_>, limit: usize, original: &Template) -> Option<Template> {
        let text = self.samples.template(value, limit)?;
        same(value, original, &text).then_some(text)
    }
}

/// Whether a translation names and states what its original does; if not, that is reported.
fn same(value: &Value<'_>, original: &Template, translation: &Template) -> bool {
    let said = |items: Vec<String>| if items.is_empty() { "nothing".to_owned() } else { items.join(", ") };
    let pairs = [
        ("names", original.gaps().into_iter().collect(), translation.gaps().into_iter().collect()),
        ("states the figures", original.figures(), translation.figures()),
    ];
    for (verb, here, there) in pairs {
        if here != there {
            let message = format!("the translation {verb} {}, but the original {verb} {}", said(there), said(here));
            let help = format!("the original: {}", original.source());
            value.refuse::<()>(Rule::TranslationDiffers, message, help);
            return false;
        }
    }
    true
}

/// The coaches with what clients read of them.
fn translated_coaches(
    fields: &Fields<'_>,
    base: &BTreeMap<CoachId, Coach>,
    words: &Words,
) -> Option<BTreeMap<CoachId, Coach>> {
    let one = |(id, coach): (&CoachId, &Coach)| {
        let table = fields.need(id.as_str())?.table()?;
        let texts = Texts::new(&table, Samples::whole(words));
        let role = texts.plain("role", 50, &coach.role);
        // Hours are written in the habit of the language, so their figures may differ.
        let hours = table.need("hours").and_then(|value| value.text(80));
        let lines = lines(&texts, &coach.lines);
        table.done();
        Some((id.clone(), Coach { role: role?, hours: hours?.value, lines: lines?, ..coach.clone() }))
    };
    let coaches: BTreeMap<_, _> = base.iter().filter_map(one).collect();
    fields.done();
    (coaches.len() == base.len()).then_some(coaches)
}

/// The standing lines that the original has filled in.
fn lines(texts: &Texts<'_, '_>, base: &Lines) -> Option<Lines> {
    let line = |key: &str, limit: usize, original: &Option<String>| match original {
        Some(original) => texts.plain(key, limit, original).map(Some),
        None => Some(None),
    };
    let whom = |key: &str, limit: usize, original: &Option<String>| match line(key, limit, original)? {
        Some(text) => brand::whom_alone(key, &texts.fields.need(key)?, text).map(Some),
        None => Some(None),
    };
    let emergency_line = whom("emergency_line", 60, &base.emergency_line);
    let out_of_hours = whom("out_of_hours", 110, &base.out_of_hours);
    let scope_note = line("scope_note", 400, &base.scope_note);
    let privacy_line = line("privacy_line", 400, &base.privacy_line);
    Some(Lines {
        emergency_line: emergency_line?,
        out_of_hours: out_of_hours?,
        scope_note: scope_note?,
        privacy_line: privacy_line?,
        address: base.address.clone(),
    })
}
