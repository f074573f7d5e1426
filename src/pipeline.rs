//! The order of the stages, and what happens to a client whose sheet cannot be made: it is said at the end, and the
//! others go on.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use jiff::civil::Date;
use serde::Serialize;

use crate::assess::{Findings, assess};
use crate::body::Side;
use crate::check::{Practice, check, check_client, compare_poses};
use crate::coverage::{Coverage, coverage};
use crate::diag::{Problem, Rule, Severity, in_order, meant};
use crate::draw::{Subject, png};
use crate::ids::{ClientId, Id};
use crate::ledger::{Document, Ledger, Sheet, hash};
use crate::load::{LEDGER, load, text};
use crate::plan::{Program, plan};
use crate::print::{Ink, Look, What, Wishes};
use crate::publish::{self, Desk};
use crate::record::{Client, Visit};
use crate::safety::{Fired, Gate, fired, gate};
use crate::typeset::{Pdf, Typesetter};
use crate::word::handout::{Body, Frame, Handout};
use crate::word::record::{Reasoning, Record};
use crate::word::{Matter, Writer};

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
}

/// One line of the closing table.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
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
}

impl Outcome {
    /// Whether anything could not be made.
    pub fn failed(&self) -> bool {
        self.made.iter().any(|made| made.state == State::Failed)
    }
}

/// The document that a sheet is printed as.
const HANDOUT: &str = What::Handout.key();

/// Prints. `progress` is told how many clients are done and how many there are.
///
/// # Errors
/// If nothing can be made at all: no practice, no such client, no folder to write to.
pub fn print(order: &Order, progress: &(dyn Fn(usize, usize) + Sync)) -> Result<Outcome, Vec<Problem>> {
    let (practice, mut problems) = open(&order.practice)?;
    let clients = wanted(&practice, &order.clients, &mut problems)?;
    let typesetter = Typesetter::new(&practice).map_err(|problem| with(problem, &problems))?;
    let desk = Desk::open(&order.practice, &order.out).map_err(|problem| with(problem, &problems))?;
    let press = Press { order, practice: &practice, typesetter: &typesetter, desk: &desk };
    let done = each(&clients, order.jobs, progress, |id| press.client(id));
    let mut made = Vec::new();
    for (lines, found) in done {
        made.extend(lines);
        problems.extend(found);
    }
    Ok(Outcome { made, problems: in_order(problems), coverage: None })
}

/// Checks the whole practice and every client's latest visit, and changes nothing.
///
/// # Errors
/// If there is no practice to check.
pub fn check_all(practice: &Path, on: Date, jobs: usize) -> Result<Outcome, Vec<Problem>> {
    let (sound, mut problems) = open(practice)?;
    let clients = wanted(&sound, &[], &mut problems)?;
    let done = each(&clients, jobs, &|_, _| {}, |id| {
        let mut found = Vec::new();
        if let Err(mut errors) = first_sheet(practice, &sound, id, on, &mut found) {
            found.append(&mut errors);
        }
        found
    });
    problems.extend(done.into_iter().flatten());
    problems.extend(compare_poses(&sound.studio, &sound.library.exercises));
    for (subject, doubt) in sound.studio.doubts() {
        let path = subject.path();
        let help = "correct the pose, or name the joint under `allow` in its frame";
        problems.push(Problem::about(Rule::DoubtfulPose, path, doubt).help(help));
    }
    for doubt in [Ink::Colour, Ink::Grey, Ink::Saver].into_iter().flat_map(|ink| sound.studio.colour_doubts(ink)) {
        let help = "choose another accent: clothes and arrows take it";
        problems.push(Problem::about(Rule::DoubtfulPose, "layouts/brand.toml", doubt).help(help));
    }
    let coverage = Some(coverage(&sound.library));
    Ok(Outcome { made: Vec::new(), problems: in_order(problems), coverage })
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

/// The coach's record of a visit. A program that cannot be printed is a warning here: the record shows why.
fn record_of(
    practice: &Practice,
    client: &Client,
    visit: &Visit,
    sheet: u32,
    look: Look,
) -> Result<(Record, Vec<Problem>), Vec<Problem>> {
    let library = &practice.library;
    let fired = fired(client, visit, library);
    let findings = assess(client, visit, library);
    let mut problems = Vec::new();
    let program = if fired.iter().any(Fired::stops) {
        None
    } else {
        let (program, warnings) = plan(client, visit, &findings, library);
        problems.extend(warnings);
        program.map_err(|errors| problems.extend(errors)).ok()
    };
    let writer = Writer::new(client, visit, library, &practice.brand, &practice.words);
    let reasoning = Reasoning { findings: &findings, fired: &fired, program: program.as_ref() };
    writer.record(&reasoning, sheet, look).map(|record| (record, problems)).map_err(|error| {
        let message = format!("a text for this record cannot be filled in: {error}");
        let problem = Problem::about(Rule::BadTemplate, client.file.path.as_str(), message);
        vec![problem.help("correct the text in layouts/words").client(&client.id)]
    })
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
}

/// Draws pictures and gives the names of their files.
///
/// # Errors
/// If nothing can be drawn at all: no practice, no such picture, no folder to write to.
pub fn draw(order: &Sketches) -> Result<(Vec<String>, Vec<Problem>), Vec<Problem>> {
    let (practice, mut problems) = open(&order.practice)?;
    let known: Vec<String> = practice.studio.subjects().map(|(subject, _)| subject.stem()).collect();
    let see = "see the file names in exercises/poses; a test is called `test-` and its name";
    all_known(&order.names, known.iter().map(String::as_str), "exercises/poses", "picture", see)?;
    let mut files = Vec::new();
    for (subject, pictures) in practice.studio.subjects() {
        let stem = subject.stem();
        if !order.names.is_empty() && !order.names.contains(&stem) {
            continue;
        }
        let side = pictures.authored().map(|authored| order.side.unwrap_or(authored));
        let figures = practice.studio.figures(subject, side, order.ink).unwrap_or_default();
        let help = "draw it larger, turn it, or take something out";
        let fine = pictures.hard_to_read(order.ink).into_iter();
        problems.extend(fine.map(|doubt| Problem::about(Rule::DoubtfulPose, subject.path(), doubt).help(help)));
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
        let handout = first_sheet(folder, &practice, &id, on, &mut Vec::new())?;
        sheets.push((ident(&id, 1), serde_json::to_vec(&handout).expect("sheets are plain data")));
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
) -> Result<Handout, Vec<Problem>> {
    let client = record(folder, practice, id, on)?;
    let visit = client.visits.last().ok_or_else(|| vec![no_visit(&client)])?;
    let prepared = prepare(practice, &client, visit, warnings)?;
    let look = client.wishes.or(practice.brand.wishes).settle();
    write(practice, &client, visit, &prepared, 1, look).map_err(|problem| vec![problem])
}

/// The lasting name of a document: its identifier in the PDF is made from it.
fn ident(client: &ClientId, sheet: u32) -> String {
    format!("{client}/sheet-{sheet}/{HANDOUT}")
}

fn open(folder: &Path) -> Result<(Practice, Vec<Problem>), Vec<Problem>> {
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

fn record(folder: &Path, practice: &Practice, id: &ClientId, on: Date) -> Result<Client, Vec<Problem>> {
    let path = format!("clients/{id}.toml");
    match text(folder, &path).map_err(|problems| of(problems, id))? {
        Some(file) => check_client(practice, id, &file, on),
        None => {
            Err(vec![Problem::about(Rule::Unreadable, path, "this record has just gone").help("restore it").client(id)])
        }
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

/// What a sheet will be about.
enum Prepared {
    Plan { findings: Findings, program: Box<Program> },
    SeeSomeone(Gate),
}

/// Assesses, looks at safety and plans. Warnings go to `warnings`.
fn prepare(
    practice: &Practice,
    client: &Client,
    visit: &Visit,
    warnings: &mut Vec<Problem>,
) -> Result<Prepared, Vec<Problem>> {
    let library = &practice.library;
    let gate = gate(client, visit, library);
    let Gate::Open { stale_since } = gate else {
        return Ok(Prepared::SeeSomeone(gate));
    };
    if let Some(asked) = stale_since {
        warnings.push(
            Problem::at(
                Rule::StaleScreening,
                &client.file,
                visit.place.clone(),
                format!("the health questions were last asked on {asked}"),
            )
            .help("ask them again at each visit, and write down the answers")
            .client(&client.id),
        );
    }
    let findings = assess(client, visit, library);
    let (program, found) = plan(client, visit, &findings, library);
    warnings.extend(found);
    let mut program = program?;
    // Without a test that the client can do alone there is nothing to check on those days.
    let writer = Writer::new(client, visit, library, &practice.brand, &practice.words);
    if !writer.has_home_checks(&findings) {
        program.check_days.clear();
    }
    Ok(Prepared::Plan { findings, program: Box::new(program) })
}

fn write(
    practice: &Practice,
    client: &Client,
    visit: &Visit,
    prepared: &Prepared,
    sheet: u32,
    look: Look,
) -> Result<Handout, Problem> {
    let writer = Writer::new(client, visit, &practice.library, &practice.brand, &practice.words);
    let mut handout = match prepared {
        Prepared::Plan { findings, program } => writer.write(&Matter::Plan { findings, program }, sheet, look),
        Prepared::SeeSomeone(Gate::Closed { level, reasons }) => {
            writer.write(&Matter::SeeSomeone { level: *level, reasons }, sheet, look)
        }
        Prepared::SeeSomeone(Gate::Open { .. }) => unreachable!("an open gate leads to a plan"),
    }?;
    illustrate(practice, prepared, &mut handout, look);
    // A logo that cannot be used has been reported; the sheet does without it.
    if practice.logo.is_none() {
        handout.studio.logo_src = None;
    }
    Ok(handout)
}

/// Adds to each exercise card without pictures of its own those drawn from poses, for its side.
fn illustrate(practice: &Practice, prepared: &Prepared, handout: &mut Handout, look: Look) {
    let (Prepared::Plan { program, .. }, Body::Plan(plan)) = (prepared, &mut handout.body) else {
        return;
    };
    let wanted: Vec<_> =
        program.items.iter().map(|item| (Subject::Exercise(item.exercise.clone()), item.sides.shown())).collect();
    practice.studio.prepare(&wanted, look.ink);
    let cards = plan.phases.iter_mut().flat_map(|phase| &mut phase.exercises);
    for (card, item) in cards.zip(&program.items).filter(|(card, _)| card.frames.is_empty()) {
        let side = item.sides.shown();
        let subject = Subject::Exercise(item.exercise.clone());
        let Some(figures) = practice.studio.figures(&subject, side, look.ink) else { continue };
        let name = |number: usize| format!("figure-{}-{}-{number}.svg", item.exercise, side.map_or("both", Side::key));
        card.frames = figures
            .iter()
            .enumerate()
            .filter(|(_, figure)| figure.shows(item.rung))
            .map(|(index, figure)| Frame {
                src: name(index + 1),
                alt: figure.alt.clone(),
                caption: figure.caption.clone(),
                svg: Some(figure.svg.clone()),
                ratio: Some((figure.ratio * 100.0).round() / 100.0),
            })
            .collect();
    }
}

/// Hash of a sheet's words and numbers, whatever it is printed on and however its pictures are drawn.
fn words_hash(handout: &Handout) -> String {
    fn strip(value: &mut serde_json::Value) {
        match value {
            serde_json::Value::Object(fields) => {
                fields.retain(|key, _| !matches!(key.as_str(), "look" | "svg" | "ratio"));
                fields.values_mut().for_each(strip);
            }
            serde_json::Value::Array(items) => items.iter_mut().for_each(strip),
            _ => {}
        }
    }
    let mut json = serde_json::to_value(handout).expect("sheets are plain data");
    strip(&mut json);
    hash(json.to_string().as_bytes())
}

/// One run's means of making documents.
struct Press<'a> {
    order: &'a Order,
    practice: &'a Practice,
    typesetter: &'a Typesetter,
    desk: &'a Desk,
}

/// What one client's turn gives.
type Turn = (Vec<Made>, Vec<Problem>);

impl Press<'_> {
    fn client(&self, id: &ClientId) -> Turn {
        let mut turn = (Vec::new(), Vec::new());
        let read = record(&self.order.practice, self.practice, id, self.order.on);
        let read = read.and_then(|client| Ok((client, self.ledger(id)?)));
        let (client, mut ledger) = match read {
            Ok(read) => read,
            Err(errors) => {
                self.order.what.iter().for_each(|what| fail(id, *what, None, Vec::new(), &mut turn));
                turn.1.extend(errors);
                return turn;
            }
        };
        for what in &self.order.what {
            let made = match what {
                What::Handout => self.sheets(&client, &mut ledger, &mut turn),
                What::Record => self.record(&client, &ledger, &mut turn),
            };
            if let Err(errors) = made {
                fail(id, *what, None, errors, &mut turn);
            }
        }
        turn
    }

    /// What was issued to a client.
    fn ledger(&self, id: &ClientId) -> Result<Ledger, Vec<Problem>> {
        let path = format!("clients/{id}{LEDGER}.toml");
        match text(&self.order.practice, &path).map_err(|problems| of(problems, id))? {
            Some(file) => Ledger::read(&file, id).map_err(|problem| vec![problem]),
            None => Ok(Ledger::default()),
        }
    }

    /// Makes what is wanted of one client. Each sheet stands for itself: one that fails does not stop the next.
    fn sheets(&self, client: &Client, ledger: &mut Ledger, turn: &mut Turn) -> Result<(), Vec<Problem>> {
        let latest = client.visits.last().ok_or_else(|| vec![no_visit(client)])?;
        let none = |what: String| {
            let problem = Problem::about(Rule::Ledger, client.file.path.as_str(), what);
            vec![problem.help("print it first, without this option").client(&client.id)]
        };
        let (again, new) = match self.order.which {
            Which::Due => (ledger.sheets.clone(), ledger.last_for(latest.on).is_none()),
            Which::Renew => (Vec::new(), true),
            Which::Again => {
                let last = ledger.sheets.last().ok_or_else(|| none("no sheet has been issued yet".to_owned()))?;
                (vec![last.clone()], false)
            }
            Which::AsOf(day) => {
                let current = ledger.sheets.iter().rev().find(|sheet| sheet.visit <= day);
                let current = current.ok_or_else(|| none(format!("no sheet had been issued by {day}")))?;
                (vec![current.clone()], false)
            }
        };
        let last = ledger.sheets.last().map(|sheet| sheet.number);
        for sheet in &again {
            let current = !new && last == Some(sheet.number);
            if let Err(errors) = self.issued(client, sheet, current, ledger, turn) {
                fail(&client.id, What::Handout, Some(sheet.number), errors, turn);
            }
        }
        if new {
            let prepared = prepare(self.practice, client, latest, &mut turn.1)?;
            turn.0.push(self.issue(client, latest, &prepared, ledger)?);
        }
        Ok(())
    }

    /// Sees to a sheet that has been issued: its documents must be there, and if one is gone it is made again.
    fn issued(
        &self,
        client: &Client,
        sheet: &Sheet,
        current: bool,
        ledger: &mut Ledger,
        turn: &mut Turn,
    ) -> Result<(), Vec<Problem>> {
        let looks = self.looks(sheet);
        let all_there = looks.iter().all(|look| {
            sheet.documents.iter().any(|document| document.look == *look && self.is_there(client, document))
        });
        // Old sheets that lie untouched say nothing new: only the current one is compared with the record.
        if all_there && !current {
            turn.0.extend(sheet.documents.iter().map(|document| not_due(client, sheet, document)));
            return Ok(());
        }
        let Some(visit) = client.visits.iter().find(|visit| visit.on == sheet.visit) else {
            return Err(vec![self.changed(client, sheet.number, "its visit is no longer in the record")]);
        };
        let prepared = prepare(self.practice, client, visit, &mut turn.1)?;
        for look in looks {
            let handout =
                write(self.practice, client, visit, &prepared, sheet.number, look).map_err(|problem| vec![problem])?;
            let known = sheet.documents.iter().find(|document| document.look == look);
            let same_words = words_hash(&handout) == sheet.words;
            if let Some(document) = known.filter(|document| self.is_there(client, document)) {
                if !same_words {
                    turn.1.push(
                        Problem::about(
                            Rule::MovedOn,
                            client.file.path.as_str(),
                            format!("the record or the library has changed since sheet {} was printed", sheet.number),
                        )
                        .help("use `--renew` to issue a new sheet")
                        .client(&client.id),
                    );
                }
                turn.0.push(not_due(client, sheet, document));
                continue;
            }
            if !same_words {
                return Err(vec![self.changed(client, sheet.number, "the record or the library has changed since")]);
            }
            turn.0.push(self.make_again(client, &handout, sheet, known, ledger)?);
        }
        Ok(())
    }

    /// The looks in which a sheet is wanted: as issued, or as the command line asks.
    fn looks(&self, sheet: &Sheet) -> Vec<Look> {
        let asked = self.order.wishes;
        let mut looks: Vec<Look> = Vec::new();
        for document in &sheet.documents {
            let look = Look {
                paper: asked.paper.unwrap_or(document.look.paper),
                type_size: asked.type_size.unwrap_or(document.look.type_size),
                ink: asked.ink.unwrap_or(document.look.ink),
            };
            if !looks.contains(&look) {
                looks.push(look);
            }
        }
        looks
    }

    /// Whether a document lies in its folder just as it was issued. With `--again` it is made afresh all the same.
    fn is_there(&self, client: &Client, document: &Document) -> bool {
        self.order.which == Which::Due
            && self.desk.published(&client.id, &document.file).is_some_and(|bytes| hash(&bytes) == document.sha256)
    }

    fn changed(&self, client: &Client, sheet: u32, why: &str) -> Problem {
        Problem::about(
            Rule::ChangedSinceIssue,
            client.file.path.as_str(),
            format!("sheet {sheet} cannot be made again as it was issued: {why}"),
        )
        .help("use `--renew` to issue a new sheet with a new number")
        .client(&client.id)
    }

    fn file_name(&self, client: &Client, sheet: u32, look: Look, usual: Look) -> String {
        let mut name = format!("{}-sheet-{sheet:02}-{HANDOUT}", client.id);
        let mut differs = |different: bool, word: serde_json::Value| {
            if let (true, Some(word)) = (different, word.as_str()) {
                name.push('-');
                name.push_str(word);
            }
        };
        differs(look.paper != usual.paper, serde_json::json!(look.paper));
        differs(look.type_size != usual.type_size, serde_json::json!(look.type_size));
        differs(look.ink != usual.ink, serde_json::json!(look.ink));
        name + ".pdf"
    }

    fn make(&self, client: &Client, handout: &Handout) -> Result<Pdf, Vec<Problem>> {
        let ident = ident(&client.id, handout.doc.sheet);
        self.typesetter.typeset(HANDOUT, handout, &ident, &client.id, &client.file)
    }

    /// Makes the coach's record of the visit that the order is about.
    fn record(&self, client: &Client, ledger: &Ledger, turn: &mut Turn) -> Result<(), Vec<Problem>> {
        let visit = match self.order.which {
            Which::AsOf(day) => client.visits.iter().rev().find(|visit| visit.on <= day),
            Which::Due | Which::Again | Which::Renew => client.visits.last(),
        };
        let visit = visit.ok_or_else(|| vec![no_visit(client)])?;
        let usual = client.wishes.or(self.practice.brand.wishes);
        let look = self.order.wishes.or(usual).settle();
        let sheet = ledger.last_for(visit.on).map_or(0, |sheet| sheet.number);
        let (record, found) = record_of(self.practice, client, visit, sheet, look)?;
        if !self.order.what.contains(&What::Handout) {
            turn.1.extend(found);
        }
        let (id, what) = (&client.id, What::Record);
        let ident = format!("{id}/{}/{}", visit.on, what.key());
        let pdf = self.typesetter.typeset(what.key(), &record, &ident, id, &client.file)?;
        let file = format!("{id}-{}-{}.pdf", visit.on, what.key());
        let same = self.desk.published(id, &file).is_some_and(|bytes| bytes == pdf.bytes);
        if !same {
            self.desk.publish(id, &file, &pdf.bytes).map_err(|problem| vec![problem])?;
        }
        turn.0.push(line(client, what, None, &file, &pdf, if same { State::NotDue } else { State::New }));
        Ok(())
    }

    /// Issues a new sheet.
    fn issue(
        &self,
        client: &Client,
        visit: &Visit,
        prepared: &Prepared,
        ledger: &mut Ledger,
    ) -> Result<Made, Vec<Problem>> {
        let number = ledger.next_number();
        let usual = client.wishes.or(self.practice.brand.wishes);
        let look = self.order.wishes.or(usual).settle();
        let handout = write(self.practice, client, visit, prepared, number, look).map_err(|problem| vec![problem])?;
        let pdf = self.make(client, &handout)?;
        let file = self.file_name(client, number, look, usual.settle());
        let document = self.publish(client, &file, look, &pdf)?;
        ledger.sheets.push(Sheet { number, visit: visit.on, words: words_hash(&handout), documents: vec![document] });
        self.desk.record(&client.id, ledger).map_err(|problem| vec![problem])?;
        Ok(line(client, What::Handout, Some(number), &file, &pdf, State::New))
    }

    fn publish(&self, client: &Client, file: &str, look: Look, pdf: &Pdf) -> Result<Document, Vec<Problem>> {
        self.desk.publish(&client.id, file, &pdf.bytes).map_err(|problem| vec![problem])?;
        Ok(Document {
            what: HANDOUT.to_owned(),
            file: file.to_owned(),
            look,
            pages: pdf.pages,
            sha256: hash(&pdf.bytes),
        })
    }

    /// Makes a document of an issued sheet: one that is gone, byte for byte, or one in another look.
    fn make_again(
        &self,
        client: &Client,
        handout: &Handout,
        sheet: &Sheet,
        known: Option<&Document>,
        ledger: &mut Ledger,
    ) -> Result<Made, Vec<Problem>> {
        let pdf = self.make(client, handout)?;
        let one = |problem: Problem| vec![problem];
        let Some(document) = known else {
            let usual = sheet.documents.first().map_or(handout.doc.look, |document| document.look);
            let file = self.file_name(client, sheet.number, handout.doc.look, usual);
            let document = self.publish(client, &file, handout.doc.look, &pdf)?;
            if let Some(entry) = ledger.sheets.iter_mut().find(|entry| entry.number == sheet.number) {
                entry.documents.push(document);
            }
            self.desk.record(&client.id, ledger).map_err(one)?;
            return Ok(line(client, What::Handout, Some(sheet.number), &file, &pdf, State::New));
        };
        if hash(&pdf.bytes) != document.sha256 {
            return Err(one(self.changed(client, sheet.number, "the layouts, fonts or pictures have changed since")));
        }
        let lies_there = self.desk.published(&client.id, &document.file);
        if lies_there.is_some_and(|bytes| hash(&bytes) != document.sha256) {
            let why = format!("`{}` is not the file that was issued", document.file);
            return Err(one(self.changed(client, sheet.number, &why).help("move that file away and print again")));
        }
        self.desk.publish(&client.id, &document.file, &pdf.bytes).map_err(one)?;
        Ok(line(client, What::Handout, Some(sheet.number), &document.file, &pdf, State::Remade))
    }
}

fn fail(client: &ClientId, what: What, sheet: Option<u32>, errors: Vec<Problem>, turn: &mut Turn) {
    turn.0.push(Made {
        client: client.to_string(),
        document: what.key(),
        sheet,
        file: None,
        pages: None,
        bytes: None,
        state: State::Failed,
    });
    turn.1.extend(errors);
}

fn not_due(client: &Client, sheet: &Sheet, document: &Document) -> Made {
    Made {
        client: client.id.to_string(),
        document: HANDOUT,
        sheet: Some(sheet.number),
        file: Some(document.file.clone()),
        pages: Some(document.pages),
        bytes: None,
        state: State::NotDue,
    }
}

fn line(client: &Client, what: What, sheet: Option<u32>, file: &str, pdf: &Pdf, state: State) -> Made {
    Made {
        client: client.id.to_string(),
        document: what.key(),
        sheet,
        file: Some(file.to_owned()),
        pages: Some(pdf.pages),
        bytes: Some(pdf.bytes.len()),
        state,
    }
}

/// Whether any problem is more than a warning.
pub fn has_errors(problems: &[Problem]) -> bool {
    problems.iter().any(|problem| problem.severity() == Severity::Error)
}
