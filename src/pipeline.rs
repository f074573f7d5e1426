//! The order of the stages, and what happens to a client whose sheet cannot be made: it is said at the end, and the
//! others go on.

mod book;
mod coach;
mod contact;
mod gauge;
mod kept;
mod old_texts;
mod papers;
mod prepare;
mod press;
mod tongue;

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use jiff::civil::Date;
use serde::Serialize;

pub use self::book::{BookOrder, Bound, book};
use self::coach::record_of;
use self::kept::Cabinet;
use self::prepare::{Prepared, issued, prepare, write};
use self::press::Press;
use crate::body::Side;
use crate::check::{Practice, check, check_client, doubts, hard_to_read, pose_doubts, wording};
use crate::coverage::{Coverage, coverage};
use crate::diag::{Problem, Rule, Severity, in_order, meant};
use crate::draw::{Show, png};
use crate::ids::{ClientId, Id};
use crate::ledger::Ledger;
use crate::load::{LEDGER, load, text};
use crate::print::{Ink, Paper, What, Wishes};
use crate::publish::{self, Desk};
use crate::quality::Report;
use crate::record::Client;
use crate::typeset::{self, Facts, Typesetter};
use crate::word::handout::Handout;
use crate::word::record::Record;

/// Which sheets to make.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which {
    /// What is due: the latest visit without a sheet, or a sheet whose file is gone.
    Due,
    /// The latest sheet once more, exactly as it was.
    Again,
    /// A new sheet for the latest visit, even if it has one.
    Renew,
    /// The sheet that was current on a day, exactly as it was.
    AsOf(Date),
}

/// What to print.
#[derive(Clone, Debug)]
pub struct Order {
    /// The practice folder.
    pub practice: PathBuf,
    /// The folder for documents.
    pub out: PathBuf,
    /// Clients by name; none means all.
    pub clients: Vec<String>,
    /// Which sheets.
    pub which: Which,
    /// Which documents of each.
    pub what: BTreeSet<What>,
    /// Paper, type and ink, where the command line asks for them.
    pub wishes: Wishes,
    /// The day on which the command runs.
    pub on: Date,
    /// Clients worked on at once.
    pub jobs: usize,
    /// Whether all that each new sheet was measured by is wanted, not only what it misses.
    pub quality: bool,
}

/// What became of a document.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    /// Made for the first time.
    New,
    /// Made again, byte for byte.
    Remade,
    /// Already there and as issued.
    NotDue,
    /// Could not be made.
    Failed,
    /// There is no such document of this sheet, and none is wanting.
    NotNeeded,
}

/// One line of the closing table.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Made {
    /// The client.
    pub client: String,
    /// The document.
    pub document: &'static str,
    /// Its sheet.
    pub sheet: Option<u32>,
    /// Its file in the folder for documents.
    pub file: Option<String>,
    /// Pages.
    pub pages: Option<usize>,
    /// Bytes.
    pub bytes: Option<usize>,
    /// What became of it.
    pub state: State,
    /// What a sheet that was planned anew gives that the one before did not.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub differs: Vec<String>,
    /// Why there is none, if none is needed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<&'static str>,
    /// What the quality gate says of a new sheet.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub quality: Option<Box<Report>>,
}

/// The outcome of a run.
#[derive(Clone, Debug, Default)]
pub struct Outcome {
    /// One line a document, in the order of clients.
    pub made: Vec<Made>,
    /// Every problem, in the order of files.
    pub problems: Vec<Problem>,
    /// What the library covers, after a check.
    pub coverage: Option<Coverage>,
    /// What the quality gate says of each client's first sheet, after a check.
    pub quality: Vec<(String, Report)>,
}

impl Outcome {
    /// Whether anything could not be made: a document, or the logo on all of them.
    pub fn failed(&self) -> bool {
        let of_brand = |problem: &Problem| problem.file().is_some_and(|file| file.starts_with("layouts/"));
        self.made.iter().any(|made| made.state == State::Failed)
            || self.problems.iter().any(|problem| problem.rule == Rule::BadPicture && of_brand(problem))
    }
}

/// Prints. `progress` is told how many clients are done and how many there are.
///
/// # Errors
/// If nothing can be made at all: no practice, no such client, no folder to write to.
pub fn print(order: &Order, progress: &(dyn Fn(usize, usize) + Sync)) -> Result<Outcome, Vec<Problem>> {
    let (practice, mut problems) = open(&order.practice)?;
    let clients = wanted(&practice, &order.clients, &mut problems)?;
    let typesetter = Typesetter::new(&practice).map_err(|problem| with(problem, &problems))?;
    let desk = Desk::open(&order.practice, &order.out).map_err(|problem| with(problem, &problems))?;
    let cabinet = Cabinet::new(&order.practice, &practice);
    let press = Press {
        order,
        practice: &practice,
        typesetter: &typesetter,
        desk: &desk,
        cabinet: &cabinet,
        at_work: AtomicUsize::new(0),
    };
    let done = each(&clients, order.jobs, progress, |id| press.client(id));
    let mut made = Vec::new();
    for (lines, found) in done {
        made.extend(lines);
        problems.extend(found);
    }
    Ok(Outcome { made, problems: in_order(problems), coverage: None, quality: Vec::new() })
}

/// What a check looks at beyond the usual.
#[derive(Clone, Copy, Debug, Default)]
pub struct Depth {
    /// Each first sheet typeset, on both papers, so that the quality gate sees its pages.
    pub on_paper: bool,
    /// Who holds any text that has changed; texts corrected for safety are always told.
    pub old_texts: bool,
}

/// Checks the whole practice and every client's latest visit, and changes nothing.
///
/// # Errors
/// If there is no practice to check.
pub fn check_all(practice: &Path, on: Date, jobs: usize, depth: Depth) -> Result<Outcome, Vec<Problem>> {
    let (sound, mut problems) = open_to_check(practice)?;
    let clients = wanted(&sound, &[], &mut problems)?;
    let typesetter =
        if depth.on_paper { Some(Typesetter::new(&sound).map_err(|problem| with(problem, &problems))?) } else { None };
    let done = each(&clients, jobs, &|_, _| {}, |id| {
        let mut found = old_texts::held_in(practice, id, &sound.library, depth.old_texts);
        let checked = first_sheet(practice, &sound, id, on, &mut found).and_then(|(client, prepared, sheet)| {
            let facts = typesetter.as_ref().map(|typesetter| both_papers(typesetter, &client, &sheet)).transpose()?;
            let papers = facts.as_ref().map_or(&[][..], |facts| facts.as_slice());
            Ok(gauge::gauge(&sound, &client, &prepared, &sheet, papers).map(|report| (client, report)))
        });
        match checked {
            Ok(None) => {
                let message = "nothing says how plain the language of this sheet must be";
                let problem = Problem::about(Rule::Unmeasured, format!("clients/{id}.toml"), message);
                found.push(problem.help("add its file to layouts/quality, with the keys of en.toml").client(id));
                (found, None)
            }
            Ok(Some((client, report))) => {
                found.extend(gauge::misses(&sound, &report, &client));
                (found, Some((id.to_string(), report)))
            }
            Err(errors) => {
                found.extend(errors);
                (found, None)
            }
        }
    });
    let mut quality = Vec::new();
    for (found, report) in done {
        problems.extend(found);
        quality.extend(report);
    }
    problems.extend(wording(&sound));
    problems.extend(doubts(&sound));
    let coverage = Some(coverage(&sound.library));
    Ok(Outcome { made: Vec::new(), problems: in_order(problems), coverage, quality })
}

/// A client's record in the coach's words, if it can be made, and every problem on the way.
pub type Explained = (Option<Box<Record>>, Vec<Problem>);

/// Explains one visit of one client: what was found, which rules fired, what was chosen and why.
///
/// # Errors
/// If there is no practice or no such client.
pub fn explain(folder: &Path, client: &str, visit: Option<Date>, on: Date) -> Result<Explained, Vec<Problem>> {
    let (practice, mut problems) = open(folder)?;
    let clients = wanted(&practice, &[client.to_owned()], &mut problems)?;
    let Some(id) = clients.first() else {
        return Err(problems);
    };
    let found = record(folder, &practice, id, on).and_then(|client| {
        let visit = match visit {
            None => client.visits.last().ok_or_else(|| vec![no_visit(&client)])?,
            Some(day) => client.visits.iter().find(|visit| visit.on == day).ok_or_else(|| {
                let message = format!("there is no visit on {day}");
                let problem = Problem::about(Rule::UnknownName, client.file.path.as_str(), message);
                vec![problem.help("name the day of a visit in the record").client(id)]
            })?,
        };
        let look = client.wishes.or(practice.brand.wishes).settle();
        record_of(&practice, &client, visit, 0, look)
    });
    match found {
        Ok((record, warnings)) => {
            problems.extend(warnings);
            Ok((Some(Box::new(record)), in_order(problems)))
        }
        Err(errors) => {
            problems.extend(errors);
            Ok((None, in_order(problems)))
        }
    }
}

/// Which pictures to draw.
#[derive(Clone, Debug)]
pub struct Sketches {
    /// The practice folder.
    pub practice: PathBuf,
    /// The folder for the pictures.
    pub out: PathBuf,
    /// Exercises and tests by name; none means all that have poses.
    pub names: Vec<String>,
    /// The side to show, where it makes a difference.
    pub side: Option<Side>,
    /// Ink.
    pub ink: Ink,
    /// Width in pixels for PNG; SVG if there is none.
    pub png_width: Option<u32>,
    /// All on pages with their names, instead of a file each.
    pub contact_sheet: bool,
}

/// Draws pictures and gives the names of their files.
///
/// # Errors
/// If nothing can be drawn at all: no practice, no such picture, no folder to write to.
pub fn draw(order: &Sketches) -> Result<(Vec<String>, Vec<Problem>), Vec<Problem>> {
    let (practice, mut problems) = open(&order.practice)?;
    let known: Vec<String> = practice.studio.subjects().map(|(subject, _)| subject.stem()).collect();
    // A file with an error gives no picture; that it is not there would mislead.
    let file = |name: &String| match name.strip_prefix("test-") {
        Some(test) => format!("exercises/poses/tests/{test}.toml"),
        None => format!("exercises/poses/{name}.toml"),
    };
    let missing: Vec<String> = order.names.iter().filter(|name| !known.contains(name)).map(file).collect();
    let is_why = |problem: &Problem| problem.file().is_some_and(|file| missing.iter().any(|path| path == file));
    if problems.iter().any(is_why) {
        problems.retain(is_why);
        return Err(problems);
    }
    let see = "see the file names in exercises/poses; a test is called `test-` and its name";
    all_known(&order.names, known.iter().map(String::as_str), "exercises/poses", "picture", see)?;
    let (mut files, mut shown) = (Vec::new(), Vec::new());
    for (subject, pictures) in practice.studio.subjects() {
        let stem = subject.stem();
        if !order.names.is_empty() && !order.names.contains(&stem) {
            continue;
        }
        let side = pictures.authored().map(|authored| order.side.unwrap_or(authored));
        let figures = practice.studio.figures(subject, side, order.ink, Show::All).unwrap_or_default();
        problems.extend(hard_to_read(&practice, subject, pictures, order.ink));
        if !order.names.is_empty() {
            problems.extend(pose_doubts(&practice, subject, pictures));
        }
        if order.contact_sheet {
            shown.push((stem, figures));
            continue;
        }
        // All pictures of one thing are equally tall, so the widest has the smallest ratio: one scale for all.
        let widest = figures.iter().map(|figure| figure.ratio).fold(f64::INFINITY, f64::min);
        for (figure, number) in figures.iter().zip(1..) {
            let side = side.map_or_else(String::new, |side| format!("-{}", side.key()));
            let (ending, bytes) = match order.png_width {
                None => ("svg", figure.svg.clone().into_bytes()),
                Some(width) => {
                    let width = (f64::from(width) * widest / figure.ratio).round().max(1.0);
                    let pixels = png(&figure.svg, width as u32).ok_or_else(|| {
                        let message = format!("picture {number} cannot be drawn {width} pixels wide");
                        let problem = Problem::about(Rule::BadPose, subject.path(), message);
                        with(problem.help("ask for another `--width`"), &problems)
                    })?;
                    ("png", pixels)
                }
            };
            let name = format!("{stem}{side}-{number}.{ending}");
            publish::file(&order.out, &name, &bytes).map_err(|problem| with(problem, &problems))?;
            files.push(name);
        }
    }
    for (page, number) in contact::pages(&shown).iter().zip(1..) {
        let name = format!("contact-sheet-{number}.svg");
        publish::file(&order.out, &name, page.as_bytes()).map_err(|problem| with(problem, &problems))?;
        files.push(name);
    }
    Ok((files, problems))
}

/// A practice's typesetter, and each client's sheet as the data that its layout reads, with the document's lasting name.
pub type Sheets = (Typesetter, Vec<(String, Vec<u8>)>);

/// The sheets that a first print would typeset, without typesetting them: what a bench measures against.
///
/// # Errors
/// If any of them cannot be made.
pub fn sheets(folder: &Path, on: Date) -> Result<Sheets, Vec<Problem>> {
    let (practice, _) = open(folder)?;
    let typesetter = Typesetter::new(&practice).map_err(|problem| vec![problem])?;
    let mut sheets = Vec::new();
    for stem in &practice.clients {
        let Ok(id) = ClientId::new(stem) else {
            continue;
        };
        let (_, _, handout) = first_sheet(folder, &practice, &id, on, &mut Vec::new())?;
        sheets.push((ident(&id, 1, What::Handout), serde_json::to_vec(&handout).expect("sheets are plain data")));
    }
    Ok((typesetter, sheets))
}

/// The latest visit's sheet as a first print would word it, in the client's usual look.
fn first_sheet(
    folder: &Path,
    practice: &Practice,
    id: &ClientId,
    on: Date,
    warnings: &mut Vec<Problem>,
) -> Result<(Client, Prepared, Handout), Vec<Problem>> {
    let client = record(folder, practice, id, on)?;
    let visit = client.visits.last().ok_or_else(|| vec![no_visit(&client)])?;
    let prepared = prepare(practice, &client, visit, warnings)?;
    let look = client.wishes.or(practice.brand.wishes).settle();
    let handout = write(practice, &client, visit, &prepared, 1, look).map_err(|problem| vec![problem])?;
    Ok((client, prepared, handout))
}

/// Typesets a sheet on either paper; the facts are those of its own.
fn both_papers(typesetter: &Typesetter, client: &Client, sheet: &Handout) -> Result<[Facts; 2], Vec<Problem>> {
    let on = |paper: Paper| {
        let mut sheet = sheet.clone();
        sheet.doc.look.paper = paper;
        typesetter.typeset(
            What::Handout.key(),
            &typeset::data(&sheet),
            &ident(&client.id, 1, What::Handout),
            &client.id,
            &client.file,
        )
    };
    let own = sheet.doc.look.paper;
    let other = on(if own == Paper::A4 { Paper::Letter } else { Paper::A4 })?.facts;
    Ok([on(own)?.facts, other])
}

/// The lasting name of a document: its identifier in the PDF is made from it.
fn ident(client: &ClientId, sheet: u32, what: What) -> String {
    format!("{client}/sheet-{sheet}/{}", what.key())
}

/// Reads a practice for work. That translations are drafts is said by sheets and by a check, not at every print.
fn open(folder: &Path) -> Result<(Practice, Vec<Problem>), Vec<Problem>> {
    open_to_check(folder).map(|(practice, mut problems)| {
        problems.retain(|problem| problem.rule != Rule::DraftTranslation);
        (practice, problems)
    })
}

fn open_to_check(folder: &Path) -> Result<(Practice, Vec<Problem>), Vec<Problem>> {
    let (files, mut problems) = load(folder);
    if problems.iter().any(|problem| problem.rule == Rule::NoPractice) {
        return Err(problems);
    }
    let (practice, found) = check(files);
    problems.extend(found);
    let problems = in_order(problems);
    match practice {
        Some(practice) if !practice.clients.is_empty() => Ok((practice, problems)),
        Some(_) | None => Err(problems),
    }
}

fn with(problem: Problem, others: &[Problem]) -> Vec<Problem> {
    others.iter().cloned().chain([problem]).collect()
}

/// Every name on the command line that is not known, as a problem about a folder.
fn all_known<'a>(
    names: &[String],
    known: impl Iterator<Item = &'a str> + Clone,
    folder: &str,
    kind: &str,
    otherwise: &str,
) -> Result<(), Vec<Problem>> {
    let unknown: Vec<Problem> = names
        .iter()
        .filter(|name| !known.clone().any(|known| known == name.as_str()))
        .map(|name| {
            let help = meant(name, known.clone(), || otherwise.to_owned());
            Problem::about(Rule::UnknownName, folder, format!("there is no {kind} `{name}`")).help(help)
        })
        .collect();
    if unknown.is_empty() { Ok(()) } else { Err(unknown) }
}

/// The clients asked for, in the order of names; all if none is named.
fn wanted(practice: &Practice, names: &[String], problems: &mut Vec<Problem>) -> Result<Vec<ClientId>, Vec<Problem>> {
    let known: BTreeSet<&str> = practice.clients.iter().map(String::as_str).collect();
    all_known(names, known.iter().copied(), "clients", "client", "see the file names in clients/")?;
    let mut clients = Vec::new();
    for stem in known.into_iter().filter(|stem| names.is_empty() || names.iter().any(|name| name == stem)) {
        match ClientId::new(stem) {
            Ok(id) => clients.push(id),
            Err(bad) => problems.push(
                Problem::about(Rule::BadId, format!("clients/{stem}.toml"), bad.to_string())
                    .help("rename the file; lower case only, so that no two names differ by case alone"),
            ),
        }
    }
    Ok(clients)
}

/// Runs `work` for each client on `jobs` threads; results come back in the order of clients.
///
/// Each thread owns a pool of one: the typesetter's own parallel parts would otherwise start other clients' documents
/// in the middle of one, on the same stack, without end.
fn each<T: Send>(
    clients: &[ClientId],
    jobs: usize,
    progress: &(dyn Fn(usize, usize) + Sync),
    work: impl Fn(&ClientId) -> T + Sync,
) -> Vec<T> {
    let (next, done) = (AtomicUsize::new(0), AtomicUsize::new(0));
    let results: Mutex<Vec<(usize, T)>> = Mutex::new(Vec::with_capacity(clients.len()));
    std::thread::scope(|scope| {
        for _ in 0..jobs.clamp(1, clients.len().max(1)) {
            scope.spawn(|| {
                let pool = rayon::ThreadPoolBuilder::new()
                    .num_threads(1)
                    .stack_size(WORKER_STACK)
                    .build()
                    .expect("the system lets a program start threads");
                pool.install(|| {
                    loop {
                        let index = next.fetch_add(1, Ordering::Relaxed);
                        let Some(client) = clients.get(index) else {
                            break;
                        };
                        let result = work(client);
                        results.lock().expect("no thread panics while it holds the results").push((index, result));
                        progress(done.fetch_add(1, Ordering::Relaxed) + 1, clients.len());
                    }
                });
            });
        }
    });
    let mut results = results.into_inner().expect("no thread panics while it holds the results");
    results.sort_by_key(|(index, _)| *index);
    results.into_iter().map(|(_, result)| result).collect()
}

/// Deeply nested layouts need a deep stack.
const WORKER_STACK: usize = 32 << 20;

/// The record of one client, by the name of the file.
///
/// # Errors
/// If there is no such client, or the record is in error.
pub fn client(folder: &Path, practice: &Practice, name: &str, on: Date) -> Result<Client, Vec<Problem>> {
    let mut problems = Vec::new();
    match wanted(practice, &[name.to_owned()], &mut problems)?.first() {
        Some(id) => record(folder, practice, id, on),
        None => Err(problems),
    }
}

/// A client's record, with the programs that were issued. A ledger that cannot be read is reported by those who print.
fn record(folder: &Path, practice: &Practice, id: &ClientId, on: Date) -> Result<Client, Vec<Problem>> {
    let path = format!("clients/{id}.toml");
    let Some(file) = text(folder, &path).map_err(|problems| of(problems, id))? else {
        return Err(vec![
            Problem::about(Rule::Unreadable, path, "this record has just gone").help("restore it").client(id),
        ]);
    };
    let mut client = check_client(practice, id, &file, on)?;
    if let Ok(ledger) = ledger(folder, id) {
        client.issued = issued(&ledger, &practice.library);
    }
    Ok(client)
}

/// What was issued to a client.
fn ledger(folder: &Path, id: &ClientId) -> Result<Ledger, Vec<Problem>> {
    let path = format!("clients/{id}{LEDGER}.toml");
    match text(folder, &path).map_err(|problems| of(problems, id))? {
        Some(file) => Ledger::read(&file, id).map_err(|problem| vec![problem]),
        None => Ok(Ledger::default()),
    }
}

fn of(problems: Vec<Problem>, client: &ClientId) -> Vec<Problem> {
    problems.into_iter().map(|problem| problem.client(client)).collect()
}

fn no_visit(client: &Client) -> Problem {
    Problem::about(Rule::MissingKey, client.file.path.as_str(), "this record has no visit")
        .help("add a `[[visits]]` table")
        .client(&client.id)
}

/// Whether any problem is more than a warning.
pub fn has_errors(problems: &[Problem]) -> bool {
    problems.iter().any(|problem| problem.severity() == Severity::Error)
}

/// The sheet and the coach's record of a client's latest visit, for unit tests of what reads finished sheets.
#[cfg(test)]
pub(crate) fn sheet_for_tests(practice: &Practice, client: &Client) -> (Handout, Record) {
    let visit = client.visits.last().expect("test clients have a visit");
    let prepared = prepare(practice, client, visit, &mut Vec::new()).expect("the client can have a plan");
    let look = Wishes::default().settle();
    let sheet = write(practice, client, visit, &prepared, 1, look).expect("the sheet can be written");
    let (record, _) = record_of(practice, client, visit, 1, look).expect("the record can be written");
    (sheet, record)
}
