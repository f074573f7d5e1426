//! One visit of one client, from its record to the words and pictures of a sheet.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use serde_json::Value as Json;

use super::tongue::Tongue;
use crate::assess::{Findings, assess};
use crate::body::{Side, Sides};
use crate::check::Practice;
use crate::coherence::contradictions;
use crate::diag::{Problem, Rule};
use crate::draw::{Figure, FigureLabel, Said, Show, Subject, Wanted, qr};
use crate::ids::{ExerciseId, Id, TestId};
use crate::ledger::{Given, Ledger, Sheet, hash, text_hash};
use crate::library::Library;
use crate::library::exercise::Dose;
use crate::plan::{Item, Program, plan};
use crate::print::{Ink, Look, Type};
use crate::record::{self, Client, Visit};
use crate::safety::{Gate, gate};
use crate::typeset;
use crate::word::handout::{Body, Check, Finding, Frame, FrameLabel, Handout};
use crate::word::{Matter, Writer};

/// What a sheet will be about.
pub(super) enum Prepared {
    Plan { findings: Findings, program: Box<Program> },
    SeeSomeone(Gate),
}

impl Prepared {
    /// The exercises and tests whose texts the sheet uses.
    pub(super) fn uses(&self) -> (BTreeSet<ExerciseId>, BTreeSet<TestId>) {
        match self {
            Self::SeeSomeone(_) => Default::default(),
            Self::Plan { findings, program } => {
                let planned = program.items.iter().map(|item| &item.exercise);
                let waiting = program.waits.iter().map(|waits| &waits.exercise);
                let tests = findings.tests.iter().map(|finding| &finding.test);
                (planned.chain(waiting).cloned().collect(), tests.cloned().collect())
            }
        }
    }
}

/// Assesses, looks at safety and plans, in the client's language if all of the sheet is there in it. Warnings go to
/// `warnings`.
pub(super) fn prepare(
    practice: &Practice,
    client: &Client,
    visit: &Visit,
    warnings: &mut Vec<Problem>,
) -> Result<Prepared, Vec<Problem>> {
    let prepared = prepare_in(practice, client, visit, warnings)?;
    let tongue = Tongue::choose(practice, client, &prepared);
    if tongue.is_translated() {
        // The same again, so that what the plan takes from the library is in that language; its warnings are known.
        return prepare_in(tongue.practice, client, visit, &mut Vec::new());
    }
    Ok(prepared)
}

fn prepare_in(
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
    warnings.extend(stale_since.map(|asked| stale_answers(client, visit, asked)));
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

/// That the health questions were not asked at this visit.
pub(super) fn stale_answers(client: &Client, visit: &Visit, asked: Date) -> Problem {
    let message = format!("the health questions were last asked on {asked}");
    Problem::at(Rule::StaleScreening, &client.file, visit.place.clone(), message)
        .help("ask them again at each visit, and write down the answers")
        .client(&client.id)
}

/// The words of a sheet with its pictures in the look's ink.
pub(super) fn write(
    practice: &Practice,
    client: &Client,
    visit: &Visit,
    prepared: &Prepared,
    sheet: u32,
    look: Look,
) -> Result<Handout, Problem> {
    let words = words(practice, client, visit, prepared, sheet, look)?;
    pictured(practice, client, visit, prepared, &words, look.ink)
}

/// The words of a sheet, and those of its pictures that are the practice's own files.
pub(super) fn words(
    practice: &Practice,
    client: &Client,
    visit: &Visit,
    prepared: &Prepared,
    sheet: u32,
    look: Look,
) -> Result<Handout, Problem> {
    let tongue = Tongue::choose(practice, client, prepared);
    let practice = tongue.practice;
    let writer = Writer::new(client, visit, &practice.library, &practice.brand, &practice.words);
    let mut handout = match prepared {
        Prepared::Plan { findings, program } => writer.write(&Matter::Plan { findings, program }, sheet, look),
        Prepared::SeeSomeone(Gate::Closed { level, reasons }) => {
            writer.write(&Matter::SeeSomeone { level: *level, reasons }, sheet, look)
        }
        Prepared::SeeSomeone(Gate::Open { .. }) => unreachable!("an open gate leads to a plan"),
    }?;
    tongue.mark(writer.coach_call(), &mut handout);
    // A logo that cannot be used has been reported; the sheet does without it.
    if practice.logo.is_none() {
        handout.studio.logo_src = None;
    }
    agrees(client, &handout)?;
    Ok(handout)
}

/// A worded sheet with its pictures in one ink.
pub(super) fn pictured(
    practice: &Practice,
    client: &Client,
    visit: &Visit,
    prepared: &Prepared,
    words: &Handout,
    ink: Ink,
) -> Result<Handout, Problem> {
    let practice = practice.speaking(&words.doc.lang);
    let writer = Writer::new(client, visit, &practice.library, &practice.brand, &practice.words);
    let mut handout = words.clone();
    illustrate(practice, prepared, &writer, &mut handout, ink)?;
    agrees(client, &handout)?;
    Ok(handout)
}

/// Stops a sheet whose parts say different things.
fn agrees(client: &Client, handout: &Handout) -> Result<(), Problem> {
    let found = contradictions(handout);
    if found.is_empty() {
        return Ok(());
    }
    let what: Vec<String> = found.into_iter().map(|contradiction| contradiction.what).collect();
    let problem = Problem::about(Rule::Contradiction, client.file.path.as_str(), what.join("; "));
    Err(problem
        .help("correct the text or the practice's own layout words that it names; if none is wrong, report the fault")
        .client(&client.id))
}

/// Most home checks, and most findings, on one page beside pictures.
const MOST_PICTURED: usize = 2;

fn card(item: &Item) -> Wanted {
    (Subject::Exercise(item.exercise.clone()), item.sides.shown(), Show::Rung(item.rung))
}

fn of_check(check: &Check) -> Wanted {
    (Subject::Test(check.test.clone()), check.shown, Show::All)
}

fn of_finding(finding: &Finding) -> Wanted {
    (Subject::Test(finding.found_by.clone()), finding.shown, Show::Outcome)
}

/// The findings that have room for what their tests look like, in normal type.
fn pictured_findings(findings: &[Finding]) -> impl Iterator<Item = Wanted> {
    findings.iter().filter(|_| findings.len() <= MOST_PICTURED).map(of_finding)
}

/// Hash of what a sheet's pictures show. Nothing is drawn for it.
pub(super) fn pictures_hash(practice: &Practice, prepared: &Prepared, words: &Handout) -> String {
    let (Prepared::Plan { program, .. }, Body::Plan(plan)) = (prepared, &words.body) else {
        return text_hash([]);
    };
    let tests = pictured_findings(&plan.findings).chain(plan.checks.rows.iter().map(of_check));
    let wanted = program.items.iter().map(card).chain(tests);
    let prints = wanted.filter_map(|(subject, _, show)| practice.studio.fingerprint(&subject, show));
    text_hash(prints.collect::<Vec<_>>().iter().map(String::as_str))
}

/// Adds to each exercise card without pictures of its own those drawn from poses, for its side, and to findings and home
/// checks those of their tests.
fn illustrate(
    practice: &Practice,
    prepared: &Prepared,
    writer: &Writer<'_>,
    handout: &mut Handout,
    ink: Ink,
) -> Result<(), Problem> {
    let (Prepared::Plan { program, .. }, Body::Plan(plan)) = (prepared, &mut handout.body) else {
        return Ok(());
    };
    let large = handout.doc.look.type_size == Type::Large;
    let of_findings: Vec<Wanted> = pictured_findings(&plan.findings).filter(|_| !large).collect();
    let checks = &mut plan.checks.rows;
    let tests = of_findings.iter().cloned().chain(checks.iter().map(of_check));
    let wanted: Vec<_> = program.items.iter().map(card).chain(tests).collect();
    practice.studio.prepare(&wanted, ink);
    for (finding, wanted) in plan.findings.iter_mut().zip(&of_findings) {
        finding.frames = drawn(practice, writer, wanted, ink, None)?;
    }
    for video in plan.phases.iter_mut().flat_map(|phase| &mut phase.exercises).filter_map(|card| card.video.as_mut()) {
        video.svg = qr(&format!("https://{}", video.text));
    }
    let cards = plan.phases.iter_mut().flat_map(|phase| &mut phase.exercises);
    for (placed, item) in cards.zip(&program.items).filter(|(placed, _)| placed.frames.is_empty()) {
        placed.frames = drawn(practice, writer, &card(item), ink, item.dose.hold_s)?;
    }
    // Three checks fill a page with words alone; fewer leave room for what they look like.
    if !large && checks.len() > MOST_PICTURED {
        return Ok(());
    }
    for check in checks {
        check.frames = drawn(practice, writer, &of_check(check), ink, None)?;
        // Lying figures are wide: the way to do it and the way not to are enough.
        let wide = |frame: &Frame| frame.ratio.is_some_and(|it| it < 0.75);
        if check.frames.len() > 2 && check.frames.iter().all(wide) {
            check.frames.remove(0);
        }
    }
    Ok(())
}

/// The pictures of something, with the words at their marks; `hold_s` are the seconds of hold of the dose.
fn drawn(
    practice: &Practice,
    writer: &Writer<'_>,
    (subject, side, show): &Wanted,
    ink: Ink,
    hold_s: Option<u32>,
) -> Result<Vec<Frame>, Problem> {
    let figures = practice.studio.figures(subject, *side, ink, *show).unwrap_or_default();
    let which = match show {
        Show::All => String::new(),
        Show::Rung(rung) => format!("-rung-{}", rung + 1),
        Show::Outcome => "-outcome".to_owned(),
    };
    let stem = format!("figure-{}-{}{which}", subject.stem(), side.map_or("both", Side::key));
    let seconds = hold_s.map(|seconds| writer.seconds(seconds));
    let words = |said: &Said| match said {
        Said::Words(text) => writer.label(text, *side).map(Some),
        Said::Seconds => Ok(seconds.clone()),
    };
    figures.iter().zip(1..).map(|(figure, number)| framed(figure, format!("{stem}-{number}.svg"), words)).collect()
}

/// A drawing with the words at its marks: what `say` makes of them, or none.
pub(super) fn framed(
    figure: &Figure,
    src: String,
    say: impl Fn(&Said) -> Result<Option<String>, Problem>,
) -> Result<Frame, Problem> {
    let share = |it: f64| (it * 1000.0).round() / 1000.0;
    let mark = |label: &FigureLabel| {
        let text = say(&label.says)?;
        let place = |text| FrameLabel { text, anchor: label.anchor, across: share(label.x), down: share(label.y) };
        Ok(text.map(place))
    };
    Ok(Frame {
        src,
        alt: figure.alt.clone(),
        caption: figure.caption.clone(),
        svg: Some(figure.svg.clone()),
        ratio: Some((figure.ratio * 100.0).round() / 100.0),
        wrong: figure.wrong,
        marks: figure.labels.iter().filter_map(|label| mark(label).transpose()).collect::<Result<_, Problem>>()?,
    })
}

/// Hash of a sheet's words and numbers, whatever its number, what it is printed on and what its other papers are called.
/// Pictures are left out: nothing that only asks whether a sheet still holds has to draw them.
pub(super) fn words_hash(handout: &Handout) -> String {
    hash_without(handout, &["doc", "frames", "papers"])
}

/// The hash that sheets have of which nothing is kept: with the words of their pictures.
pub(super) fn old_words_hash(handout: &Handout) -> String {
    hash_without(handout, &["look", "svg", "ratio", "marks", "papers"])
}

fn hash_without(handout: &Handout, keys: &[&str]) -> String {
    fn strip(value: &mut Json, keys: &[&str]) {
        match value {
            Json::Object(fields) => {
                fields.retain(|key, _| !keys.contains(&key.as_str()));
                fields.values_mut().for_each(|item| strip(item, keys));
            }
            Json::Array(items) => items.iter_mut().for_each(|item| strip(item, keys)),
            _ => {}
        }
    }
    let mut json = typeset::data(handout);
    strip(&mut json, keys);
    hash(json.to_string().as_bytes())
}

/// What the ledger says of a sheet that is about to be issued.
pub(super) fn entry(
    practice: &Practice,
    visit: &Visit,
    prepared: &Prepared,
    number: u32,
    words: &Handout,
    kept: String,
) -> Sheet {
    let library = &practice.library;
    let (exercises, tests) = match prepared {
        Prepared::Plan { findings, program } => {
            let given = program.items.iter().filter_map(|item| given(item, library));
            let tests = findings.tests.iter().filter_map(|finding| library.tests.get(&finding.test));
            (given.collect(), tests.map(|test| (test.id.to_string(), text_hash(test.texts()))).collect())
        }
        Prepared::SeeSomeone(_) => (Vec::new(), BTreeMap::new()),
    };
    Sheet {
        number,
        visit: visit.on,
        words: words_hash(words),
        pictures: Some(pictures_hash(practice, prepared, words)),
        kept: Some(kept),
        documents: Vec::new(),
        exercises,
        tests,
    }
}

fn given(item: &Item, library: &Library) -> Option<Given> {
    let exercise = library.exercises.get(&item.exercise)?;
    Some(Given {
        exercise: item.exercise.to_string(),
        side: item.sides.key().to_owned(),
        rung: item.rung + 1,
        sets: item.dose.sets,
        reps: item.dose.reps,
        hold_s: item.dose.hold_s,
        lower_s: item.dose.lower_s,
        rest_s: item.dose.rest_s,
        days: item.dose.days,
        text: text_hash(exercise.texts()),
    })
}

/// The programs that a ledger holds, by visit: of several sheets for one visit the last counts. What the library no longer
/// has is left out.
pub(super) fn issued(ledger: &Ledger, library: &Library) -> BTreeMap<Date, Vec<record::Given>> {
    let kept = ledger.sheets.iter().filter(|sheet| sheet.kept.is_some());
    let program = |sheet: &Sheet| {
        let items = sheet.exercises.iter().filter_map(|given| as_given(given, library)).collect::<Vec<_>>();
        // A sheet without a program, such as one that sends on, is not what another goes on from.
        (!items.is_empty()).then_some((sheet.visit, items))
    };
    kept.filter_map(program).collect()
}

fn as_given(given: &Given, library: &Library) -> Option<record::Given> {
    let exercise = library.exercises.get(&ExerciseId::new(&given.exercise).ok()?)?;
    let rung = given.rung.checked_sub(1)?.min(exercise.rungs.len().checked_sub(1)?);
    let dose = Dose {
        sets: given.sets,
        reps: given.reps,
        hold_s: given.hold_s,
        lower_s: given.lower_s,
        rest_s: given.rest_s,
        days: given.days,
        rep_s: exercise.rungs[rung].dose.rep_s,
    };
    let sides = Sides::ALL.iter().find(|(key, _)| *key == given.side)?.1;
    Some(record::Given { exercise: exercise.id.clone(), sides, rung, dose })
}
