//! From files to a practice that the later stages can trust: every key, name, date, figure and template looked at,
//! every problem reported.
//!
//! A broken library entry or record costs only those who need it; a broken brand, vocabulary or phase list costs all.

mod brand;
mod client;
mod exercise;
mod photo;
mod picture;
mod planning;
mod poses;
mod retest;
mod shapes;
mod test;
mod translate;
mod vocabulary;
mod wording;
mod words;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::civil::Date;

use crate::brand::Brand;
use crate::diag::{Problem, Rule, Severity, SourceFile, in_order, meant};
use crate::draw::{Studio, Subject};
use crate::fields::{At, Fields, Sink, read};
use crate::ids::{ActivityId, ClientId, ConditionId, EquipmentId, ExerciseId, Id, PhaseId, PositionId, TestId};
use crate::library::vocabulary::Vocabulary;
use crate::library::{Correction, Library, Phase};
use crate::load::{Entry, Files};
use crate::plain::Plain;
use crate::record::Client;
use crate::words::Words;

pub use crate::draw::{joint_motions, named_things};
pub use picture::Picture;
pub use poses::{doubts, hard_to_read, pose_doubts};
pub use shapes::shapes;
pub use translate::{Parts, Translation};
pub use wording::{own_doubts, wording};

/// A practice that can be worked with: everything but the clients' records.
#[derive(Debug)]
pub struct Practice {
    /// Who prints.
    pub brand: Brand,
    /// The brand's logo.
    pub logo: Option<Picture>,
    /// Standing texts in the language that the library is written in.
    pub words: Words,
    /// How plain the words must be, by language.
    pub plain: BTreeMap<String, Plain>,
    /// The library.
    pub library: Library,
    /// The practice's own pictures, by file name.
    pub pictures: BTreeMap<String, Picture>,
    /// Pictures drawn from poses.
    pub studio: Arc<Studio>,
    /// The file of each of these pictures.
    pub pose_files: BTreeMap<Subject, Arc<SourceFile>>,
    /// Stems of the records.
    pub clients: Vec<String>,
    /// Layout sources, by file name without ending.
    pub layouts: Vec<Entry>,
    /// Font files, by name.
    pub fonts: Arc<BTreeMap<String, Vec<u8>>>,
    /// The practice in its other languages, by language.
    pub translations: BTreeMap<String, Translation>,
    sources: BTreeMap<String, Arc<SourceFile>>,
    broken_tests: BTreeSet<TestId>,
    broken_exercises: BTreeSet<ExerciseId>,
}

impl Practice {
    /// Every exercise that has a file, sound or not.
    pub fn exercise_names(&self) -> impl Iterator<Item = &ExerciseId> + Clone {
        self.library.exercises.keys().chain(&self.broken_exercises)
    }

    /// Whether clients may choose a language.
    pub fn offers(&self, language: &str) -> bool {
        self.brand.languages.iter().any(|offered| offered == language)
    }

    /// The practice in the language of a sheet.
    pub fn speaking(&self, language: &str) -> &Self {
        self.translations.get(language).map_or(self, |translation| &translation.practice)
    }

    /// The practice in the language of a client who chose `language`, or none: a translation, or this one itself.
    pub fn translation(&self, language: Option<&str>) -> Option<&Translation> {
        self.translations.get(language.unwrap_or(&self.brand.language))
    }
}

/// Checks everything but the clients' records. Without a sound brand, vocabulary, phase list and standing texts there is
/// no practice.
pub fn check(mut files: Files) -> (Option<Practice>, Vec<Problem>) {
    let mut problems = Vec::new();
    let brand = need(files.brand.as_ref(), "layouts/brand.toml", &mut problems)
        .and_then(|file| one(file, &mut problems, |fields| brand::read(fields, &files.fonts)));
    let words = brand.as_ref().and_then(|brand| words::read(&brand.written_in, &files.words, &mut problems));
    let vocabulary = need(files.vocabulary.as_ref(), "exercises/vocabulary.toml", &mut problems)
        .zip(words.as_ref())
        .and_then(|(file, words)| one(file, &mut problems, |fields| vocabulary::read(fields, words)));
    let phases = need(files.phases.as_ref(), "exercises/phases.toml", &mut problems)
        .and_then(|file| one(file, &mut problems, read_phases));
    let planning = need(files.planning.as_ref(), "exercises/planning.toml", &mut problems)
        .zip(phases.as_ref())
        .and_then(|(file, phases)| one(file, &mut problems, |fields| planning::read(fields, phases)));
    let (Some(brand), Some(vocabulary), Some(phases), Some(planning), Some(words)) =
        (brand, vocabulary, phases, planning, words)
    else {
        return (None, in_order(problems));
    };
    let mut pictures = picture::check_all(&files.pictures, "exercises/pictures", &mut problems);
    let logo = brand::logo(&brand, &files.logos, &mut problems);
    let (tests, mut broken_tests) =
        entries(&files.tests, &mut problems, |id: TestId, fields| test::read(id, fields, &vocabulary, &words));
    let known = exercise::Known::new(&words, &vocabulary, &tests, &pictures, &files.pictures);
    let (mut exercises, mut broken_exercises) = exercise::read_all(&files.exercises, &phases, &known, &mut problems);
    let cropped = known.into_cropped();
    pictures.extend(cropped);
    let known = poses::Known { exercises: &exercises, tests: &tests };
    let (studio, pose_files, mut unusable) = poses::read_all(&files, &known, brand.accent, &words, &mut problems);
    let studio = Arc::new(studio);
    problems.extend(poses::measure(&studio, &pose_files, &mut exercises, &tests, &mut unusable));
    // A card with a wrong picture or none could hurt someone: what has such a picture waits until it is mended. So does
    // what its author has not finished.
    unusable.extend(unfinished(&files, &mut problems));
    for subject in unusable {
        match subject {
            Subject::Exercise(id) => {
                exercises.remove(&id);
                broken_exercises.insert(id);
            }
            Subject::Test(id) => {
                broken_tests.insert(id);
            }
        }
    }
    if files.clients.is_empty() {
        problems.push(
            Problem::about(Rule::NoPractice, "clients", "there are no client records here")
                .help("add a record such as `clients/ana.toml`, or name another folder with `--practice`"),
        );
    }
    let plain = files
        .quality
        .iter()
        .filter_map(|entry| {
            Some((entry.stem.clone(), one(&entry.file, &mut problems, |f| Plain::read(&entry.stem, f))?))
        })
        .collect();
    let sources = wording::sources(&files);
    let mut practice = Practice {
        brand,
        logo,
        words,
        plain,
        library: Library { vocabulary, phases, planning, tests, exercises },
        pictures,
        studio,
        pose_files,
        clients: std::mem::take(&mut files.clients),
        layouts: std::mem::take(&mut files.layouts),
        fonts: Arc::new(std::mem::take(&mut files.fonts)),
        translations: BTreeMap::new(),
        sources,
        broken_tests,
        broken_exercises,
    };
    practice.translations = translate::translate_all(&practice, &files, &mut problems);
    (Some(practice), in_order(problems))
}

/// The exercises and tests in which a text still is as `kinleaf new` wrote it.
fn unfinished(files: &Files, problems: &mut Vec<Problem>) -> Vec<Subject> {
    let exercises = files.exercises.iter().map(|(_, entry)| entry);
    let exercises = exercises.filter_map(|entry| Some((entry, Subject::Exercise(ExerciseId::new(&entry.stem).ok()?))));
    let tests = files.tests.iter().filter_map(|entry| Some((entry, Subject::Test(TestId::new(&entry.stem).ok()?))));
    let mut begun = |file: &Arc<SourceFile>, until_then: &str| {
        let text = &file.text;
        let Some(first) = text.find(UNFINISHED) else { return false };
        let end = text[first..].find('\n').map_or(text.len(), |length| first + length);
        let what = match text.matches(UNFINISHED).count() {
            1 => "a text is".to_owned(),
            count => format!("{count} texts are"),
        };
        let message = format!("{what} still as written for a start; {until_then}");
        let help = "write your own words, and take the angle brackets away";
        problems.push(Problem::at(Rule::Unfinished, file, first..end, message).help(help));
        true
    };
    if let Some(brand) = &files.brand {
        begun(brand, "sheets carry them as they are");
    }
    let unfinished = exercises.chain(tests).filter(|(entry, _)| begun(&entry.file, "until then nobody is given this"));
    unfinished.map(|(_, subject)| subject).collect()
}

/// How a text begins that `kinleaf new` wrote and that is to be replaced.
const UNFINISHED: &str = "\"<";

/// Checks one record; `on` is the day on which the command runs, after which no visit can lie.
///
/// # Errors
/// With every problem of the record, if any of them is an error.
pub fn check_client(
    practice: &Practice,
    id: &ClientId,
    file: &Arc<SourceFile>,
    on: Date,
) -> Result<Client, Vec<Problem>> {
    let sink = Sink::new(file);
    let client = read(&sink, |fields| client::read(id, file, fields, &client::Known { practice, on }));
    let problems: Vec<Problem> = sink.into_problems().into_iter().map(|problem| problem.client(id)).collect();
    match client {
        Some(client) if problems.iter().all(|problem| problem.severity() < Severity::Error) => Ok(client),
        Some(_) | None => Err(in_order(problems)),
    }
}

fn need<'a>(file: Option<&'a Arc<SourceFile>>, path: &str, problems: &mut Vec<Problem>) -> Option<&'a Arc<SourceFile>> {
    // A file that is there but could not be read has been reported already.
    if file.is_none() && !problems.iter().any(|problem| problem.file() == Some(path)) {
        problems.push(
            Problem::about(Rule::NoPractice, path, "this file is missing, and a practice needs it").help(
                "go into your practice's folder or name it with `--practice`; `kinleaf start DIR` makes a new one",
            ),
        );
    }
    file
}

/// Reads one file; an entry with an error is no entry.
fn one<T>(
    file: &Arc<SourceFile>,
    problems: &mut Vec<Problem>,
    build: impl FnOnce(&Fields<'_>) -> Option<T>,
) -> Option<T> {
    let sink = Sink::new(file);
    let built = read(&sink, build);
    let mut found = sink.into_problems();
    let sound = found.iter().all(|problem| problem.severity() < Severity::Error);
    problems.append(&mut found);
    built.filter(|_| sound)
}

fn entry_id<T: Id>(entry: &Entry, problems: &mut Vec<Problem>) -> Option<T> {
    match T::new(&entry.stem) {
        Ok(id) => Some(id),
        Err(bad) => {
            problems.push(
                Problem::about(Rule::BadId, entry.file.path.as_str(), bad.to_string())
                    .help("rename the file; lower case only, so that no two names differ by case alone"),
            );
            None
        }
    }
}

/// Reads a folder of entries, each in its own file; also says which are there but broken.
fn entries<K: Id + Clone, T>(
    files: &[Entry],
    problems: &mut Vec<Problem>,
    mut build: impl FnMut(K, &Fields<'_>) -> Option<T>,
) -> (BTreeMap<K, T>, BTreeSet<K>) {
    let mut sound = BTreeMap::new();
    let mut broken = BTreeSet::new();
    for entry in files {
        let Some(id) = entry_id::<K>(entry, problems) else {
            continue;
        };
        match one(&entry.file, problems, |fields| build(id.clone(), fields)) {
            Some(built) => {
                sound.insert(id, built);
            }
            None => {
                broken.insert(id);
            }
        }
    }
    (sound, broken)
}

fn read_phases(fields: &Fields<'_>) -> Option<Vec<Phase>> {
    let mut phases: Vec<Phase> = Vec::new();
    for table in fields.tables("phases") {
        let id = table.need("id").and_then(|v| v.id::<PhaseId>());
        let name = table.need("name").and_then(|v| v.text(20));
        let purpose = table.need("purpose").and_then(|v| v.text(120));
        table.done();
        if let (Some(id), Some(name), Some(purpose)) = (id, name, purpose) {
            if phases.iter().any(|phase| phase.id == id.value) {
                fields.sink().report(
                    Rule::Duplicate,
                    id.span,
                    format!("two phases are called `{}`", id.value),
                    "rename one",
                );
                continue;
            }
            phases.push(Phase { id: id.value, name: name.value, purpose: purpose.value });
        }
    }
    if phases.is_empty() {
        fields.sink().report(Rule::MissingKey, 0..0, "there are no phases here", "add a `[[phases]]` table");
    }
    Some(phases)
}

/// Kinds of names that the practice's vocabulary holds.
const IN_VOCABULARY: [&str; 4] = [ActivityId::KIND, EquipmentId::KIND, PositionId::KIND, ConditionId::KIND];

/// Looks `id` up in `known`; if it is not there, says so and what is near.
fn known_id<'a, T: Id + Clone + 'a>(sink: &Sink, id: &At<T>, known: impl IntoIterator<Item = &'a T>) -> Option<T> {
    let known: Vec<&T> = known.into_iter().collect();
    if known.contains(&&id.value) {
        return Some(id.value.clone());
    }
    let help = meant(id.value.as_str(), known.iter().map(|k| k.as_str()), || {
        if known.len() <= 30 {
            let names = known.iter().map(|k| k.as_str()).collect::<Vec<_>>().join(", ");
            let more = if IN_VOCABULARY.contains(&T::KIND) { "; exercises/vocabulary.toml takes more" } else { "" };
            return format!("known: {names}{more}");
        }
        format!("look for it in the library, or add it there; there are {} others", known.len())
    });
    sink.report(Rule::UnknownName, id.span.clone(), format!("there is no {} `{}`", T::KIND, id.value), help);
    None
}

/// Looks up a list of ids; those that are not known are reported and left out.
fn known_ids<'a, T: Id + Clone + 'a, C: FromIterator<T>>(
    sink: &Sink,
    ids: Vec<At<T>>,
    known: impl IntoIterator<Item = &'a T> + Clone,
) -> C {
    ids.iter().filter_map(|id| known_id(sink, id, known.clone())).collect()
}

/// The vocabulary's rules refer to exercises by their features; this reads such a set.
fn features(fields: &Fields<'_>, vocabulary: &Vocabulary) -> crate::library::vocabulary::Features {
    use crate::library::vocabulary::{Features, Method};
    let sink = fields.sink();
    Features {
        methods: fields
            .get("methods")
            .and_then(|value| value.list())
            .unwrap_or_default()
            .iter()
            .filter_map(|value| value.one_of(&Method::ALL))
            .collect(),
        regions: known_ids(sink, fields.ids("regions"), vocabulary.regions.keys()),
        positions: known_ids(sink, fields.ids("positions"), vocabulary.positions.keys()),
        tags: known_ids(sink, fields.ids("tags"), vocabulary.tags.keys()),
    }
}

/// `[[corrections]]` of a library entry.
fn corrections(fields: &Fields<'_>) -> Vec<Correction> {
    let one = |table: &Fields<'_>| {
        let on = table.need("on").and_then(|v| v.date()).map(|at| at.value);
        let what = table.need("what").and_then(|v| v.text(200));
        let urgent = table.get("urgent").and_then(|v| v.yes()).unwrap_or(false);
        table.done();
        Some(Correction { on: on?, what: what?.value, urgent })
    };
    fields.tables("corrections").iter().filter_map(one).collect()
}

/// Exercise ids and whether they are sound, for messages.
type Broken = BTreeSet<ExerciseId>;
