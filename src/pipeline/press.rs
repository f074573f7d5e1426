//! Which documents of a client are due, and how they are made, kept and entered in the ledger.
//!
//! A sheet is kept before its document is published, and published before the ledger names it: whenever a run is cut
//! short, all that the ledger names is there or can be made again.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use serde_json::Value as Json;

use super::gauge::{gauge, misses};
use super::kept::{Cabinet, lost};
use super::old_texts::held;
use super::prepare::{Prepared, entry, old_words_hash, pictured, pictures_hash, prepare, words, words_hash, write};
use super::{Made, Order, State, Which, ident, ledger, no_visit, record, record_of};
use crate::check::Practice;
use crate::diag::{Problem, Rule, SourceFile};
use crate::ids::ClientId;
use crate::issued::PROGRAM;
use crate::ledger::{Document, Ledger, Sheet, hash};
use crate::print::{Ink, Look, What};
use crate::publish::Desk;
use crate::record::{Client, Visit};
use crate::typeset::{self, Pdf, Typesetter};

/// One run's means of making documents.
pub(super) struct Press<'a> {
    pub(super) order: &'a Order,
    pub(super) practice: &'a Practice,
    pub(super) typesetter: &'a Typesetter,
    pub(super) desk: &'a Desk,
    pub(super) cabinet: &'a Cabinet<'a>,
    /// How many new sheets are being made at this moment.
    pub(super) at_work: AtomicUsize,
}

/// What one client's turn gives.
pub(super) type Turn = (Vec<Made>, Vec<Problem>);

/// A client as far as the record can be read, and the document of theirs that is being made. What was issued and kept
/// needs no record.
pub(super) struct Job<'a> {
    pub(super) id: &'a ClientId,
    pub(super) read: &'a Result<Client, Vec<Problem>>,
    pub(super) what: What,
}

impl Job<'_> {
    pub(super) fn path(&self) -> String {
        format!("clients/{}.toml", self.id)
    }

    /// The record, or only its name if it cannot be used.
    pub(super) fn file(&self) -> Arc<SourceFile> {
        match self.read {
            Ok(client) => Arc::clone(&client.file),
            Err(_) => Arc::new(SourceFile { path: self.path(), text: String::new() }),
        }
    }

    pub(super) fn client(&self) -> Result<&Client, Vec<Problem>> {
        self.read.as_ref().map_err(Clone::clone)
    }

    pub(super) fn problem(&self, rule: Rule, message: impl Into<String>) -> Problem {
        Problem::about(rule, self.path(), message).client(self.id)
    }

    pub(super) fn changed(&self, sheet: u32, why: &str) -> Problem {
        let message = format!("sheet {sheet} cannot be made again as it was issued: {why}");
        self.problem(Rule::ChangedSinceIssue, message).help("use `--renew` to issue a new sheet with a new number")
    }

    fn made(&self, sheet: Option<u32>, state: State) -> Made {
        Made {
            client: self.id.to_string(),
            document: self.what.key(),
            sheet,
            file: None,
            pages: None,
            bytes: None,
            state,
            differs: Vec::new(),
            why: None,
            quality: None,
        }
    }

    pub(super) fn line(&self, sheet: Option<u32>, file: &str, pdf: &Pdf, state: State) -> Made {
        let (pages, bytes) = (Some(pdf.pages), Some(pdf.bytes.len()));
        Made { file: Some(file.to_owned()), pages, bytes, ..self.made(sheet, state) }
    }

    /// That there is none, and why none is needed.
    pub(super) fn not_needed(&self, sheet: Option<u32>, why: &'static str) -> Made {
        Made { why: Some(why), ..self.made(sheet, State::NotNeeded) }
    }

    fn not_due(&self, sheet: &Sheet, document: &Document) -> Made {
        let (file, pages) = (Some(document.file.clone()), Some(document.pages));
        Made { file, pages, ..self.made(Some(sheet.number), State::NotDue) }
    }

    /// The documents of a sheet that are of this kind.
    fn documents<'s>(&self, sheet: &'s Sheet) -> impl Iterator<Item = &'s Document> {
        let key = self.what.key();
        sheet.documents.iter().filter(move |document| document.what == key)
    }

    pub(super) fn file_name(&self, sheet: u32, look: Look, usual: Look) -> String {
        let mut name = format!("{}-sheet-{sheet:02}-{}", self.id, self.what.key());
        let mut differs = |different: bool, word: Json| {
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
}

impl Press<'_> {
    pub(super) fn client(&self, id: &ClientId) -> Turn {
        let mut turn = (Vec::new(), Vec::new());
        let read = record(&self.order.practice, self.practice, id, self.order.on);
        let mut ledger = ledger(&self.order.practice, id);
        for what in &self.order.what {
            let job = Job { id, read: &read, what: *what };
            let made = match (what, &mut ledger) {
                (_, Err(errors)) => Err(errors.clone()),
                (What::Handout, Ok(ledger)) => self.sheets(&job, ledger, &mut turn),
                (What::Record, Ok(ledger)) => self.record(&job, ledger, &mut turn),
                (What::Letter, Ok(ledger)) => self.letter(&job, ledger, &mut turn),
                (What::Glance | What::Cards | What::Diary | What::Booklet, Ok(ledger)) => {
                    self.paper(&job, ledger, &mut turn)
                }
            };
            if let Err(errors) = made {
                turn.0.push(job.made(None, State::Failed));
                turn.1.extend(errors);
            }
        }
        // What was corrected for safety is told until the new sheet is issued.
        if let Ok(ledger) = &ledger {
            turn.1.extend(held(ledger, id, &self.practice.library, false));
        }
        turn
    }

    /// Makes what is wanted of one client. Each sheet stands for itself: one that fails does not stop the next.
    fn sheets(&self, job: &Job<'_>, ledger: &mut Ledger, turn: &mut Turn) -> Result<(), Vec<Problem>> {
        let none = |what: String| vec![job.problem(Rule::Ledger, what).help("print it first, without this option")];
        let latest = || -> Result<(&Client, &Visit), Vec<Problem>> {
            let client = job.client()?;
            Ok((client, client.visits.last().ok_or_else(|| vec![no_visit(client)])?))
        };
        let (again, new) = match self.order.which {
            Which::Due => {
                let due =
                    latest().map(|(client, visit)| ledger.last_for(visit.on).is_none().then_some((client, visit)));
                (ledger.sheets.clone(), due)
            }
            Which::Renew => (Vec::new(), latest().map(Some)),
            Which::Again => {
                let last = ledger.sheets.last().ok_or_else(|| none("no sheet has been issued yet".to_owned()))?;
                (vec![last.clone()], Ok(None))
            }
            Which::AsOf(day) => {
                let current = ledger.sheets.iter().rev().find(|sheet| sheet.visit <= day);
                let current = current.ok_or_else(|| none(format!("no sheet had been issued by {day}")))?;
                (vec![current.clone()], Ok(None))
            }
        };
        let last = ledger.sheets.last().map(|sheet| sheet.number);
        for sheet in &again {
            let current = last == Some(sheet.number) && matches!(new, Ok(None));
            if let Err(errors) = self.issued(job, sheet, current, ledger, turn) {
                turn.0.push(job.made(Some(sheet.number), State::Failed));
                turn.1.extend(errors);
            }
        }
        if let Some((client, visit)) = new? {
            let prepared = prepare(self.practice, client, visit, &mut turn.1)?;
            let mut made = self.issue(job, client, visit, &prepared, ledger)?;
            turn.1.extend(made.quality.iter().flat_map(|report| misses(self.practice, report, client)));
            // Kept for every client of a long run, the reports would fill the memory.
            made.quality = made.quality.filter(|_| self.order.quality);
            turn.0.push(made);
        }
        Ok(())
    }

    /// Sees to a sheet that has been issued: its documents must be there, and if one is gone it is made again.
    fn issued(
        &self,
        job: &Job<'_>,
        sheet: &Sheet,
        current: bool,
        ledger: &mut Ledger,
        turn: &mut Turn,
    ) -> Result<(), Vec<Problem>> {
        // Old sheets that lie untouched say nothing new: only the current one is compared with the record.
        if current && self.order.which == Which::Due {
            self.compare(job, sheet, turn)?;
        }
        for look in self.looks(job, sheet) {
            let known = job.documents(sheet).find(|document| document.look == look);
            if let Some(document) = known.filter(|document| self.is_there(job, document)) {
                turn.0.push(job.not_due(sheet, document));
                continue;
            }
            let pdf = match &sheet.kept {
                Some(kept) => self.set_from_store(job, sheet, kept, look)?,
                None => self.set_from_record(job, sheet, look, turn)?,
            };
            turn.0.push(self.make_again(job, &pdf, sheet, look, known, ledger)?);
        }
        Ok(())
    }

    /// Says if the record or the library has moved on since the current sheet was issued. Draws nothing.
    fn compare(&self, job: &Job<'_>, sheet: &Sheet, turn: &mut Turn) -> Result<(), Vec<Problem>> {
        let (Ok(client), Some(first), Some(_)) = (job.read, sheet.documents.first(), &sheet.kept) else {
            return Ok(());
        };
        let Some(visit) = client.visits.iter().find(|visit| visit.on == sheet.visit) else { return Ok(()) };
        let prepared = prepare(self.practice, client, visit, &mut turn.1)?;
        let now = words(self.practice, client, visit, &prepared, sheet.number, first.look)
            .map_err(|problem| vec![problem])?;
        let redrawn = || {
            let print = || pictures_hash(self.practice, &prepared, &now);
            sheet.pictures.as_ref().is_some_and(|pictures| *pictures != print())
        };
        let what = if words_hash(&now) != sheet.words {
            Some("the record or the library has changed")
        } else {
            redrawn().then_some("pictures have changed")
        };
        if let Some(what) = what {
            let message = format!("{what} since sheet {} was printed", sheet.number);
            turn.1.push(job.problem(Rule::MovedOn, message).help("use `--renew` to issue a new sheet"));
        }
        Ok(())
    }

    /// What was kept of a sheet, in one look, the typesetter and the program that it was issued with.
    pub(super) fn kept(
        &self,
        job: &Job<'_>,
        number: u32,
        kept: &str,
        look: Look,
    ) -> Result<(Json, Arc<Typesetter>, String), Vec<Problem>> {
        let gone = |why: String| vec![lost(job.path(), number, &why).client(job.id)];
        let issued = self.cabinet.sheet(kept).map_err(gone)?;
        let (data, typesetter) = self.cabinet.unpack(&issued, look).map_err(gone)?;
        Ok((data, typesetter, issued.program))
    }

    /// Sets a sheet from what was kept of it.
    fn set_from_store(&self, job: &Job<'_>, sheet: &Sheet, kept: &str, look: Look) -> Result<Pdf, Vec<Problem>> {
        let number = sheet.number;
        let (data, typesetter, program) = self.kept(job, number, kept, look)?;
        let pdf = self.make(job, number, &data, &typesetter)?;
        let known = job.documents(sheet).find(|document| document.look == look);
        if known.is_some_and(|document| document.sha256 != hash(&pdf.bytes)) {
            let why = format!("it was issued by {program}, and this is {PROGRAM}, whose typesetter gives other bytes");
            return Err(vec![job.changed(number, &why)]);
        }
        Ok(pdf)
    }

    /// Sets a sheet of an older program, of which nothing was kept, from record and library as they are.
    fn set_from_record(&self, job: &Job<'_>, sheet: &Sheet, look: Look, turn: &mut Turn) -> Result<Pdf, Vec<Problem>> {
        let client = job.client()?;
        let Some(visit) = client.visits.iter().find(|visit| visit.on == sheet.visit) else {
            return Err(vec![job.changed(sheet.number, "its visit is no longer in the record")]);
        };
        let prepared = prepare(self.practice, client, visit, &mut turn.1)?;
        let handout =
            write(self.practice, client, visit, &prepared, sheet.number, look).map_err(|problem| vec![problem])?;
        if old_words_hash(&handout) != sheet.words {
            return Err(vec![job.changed(sheet.number, "the record or the library has changed since")]);
        }
        let data = typeset::data(&handout);
        let pdf = self.make(job, sheet.number, &data, self.typesetter)?;
        let known = job.documents(sheet).find(|document| document.look == look);
        if known.is_some_and(|document| document.sha256 != hash(&pdf.bytes)) {
            return Err(vec![job.changed(sheet.number, "the layouts, fonts or pictures have changed since")]);
        }
        Ok(pdf)
    }

    /// The looks in which a sheet is wanted: as issued, or as the command line asks.
    fn looks(&self, job: &Job<'_>, sheet: &Sheet) -> Vec<Look> {
        let asked = self.order.wishes;
        let mut looks: Vec<Look> = Vec::new();
        for document in job.documents(sheet) {
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
    fn is_there(&self, job: &Job<'_>, document: &Document) -> bool {
        self.order.which == Which::Due
            && self.desk.published(job.id, &document.file).is_some_and(|bytes| hash(&bytes) == document.sha256)
    }

    pub(super) fn make(
        &self,
        job: &Job<'_>,
        sheet: u32,
        data: &Json,
        typesetter: &Typesetter,
    ) -> Result<Pdf, Vec<Problem>> {
        typesetter.typeset(job.what.key(), data, &ident(job.id, sheet, job.what), job.id, &job.file())
    }

    /// Makes the coach's record of the visit that the order is about.
    fn record(&self, job: &Job<'_>, ledger: &Ledger, turn: &mut Turn) -> Result<(), Vec<Problem>> {
        let client = job.client()?;
        let visit = self.visit(client)?;
        let usual = client.wishes.or(self.practice.brand.wishes);
        let look = self.order.wishes.or(usual).settle();
        let sheet = ledger.last_for(visit.on).map_or(0, |sheet| sheet.number);
        let (record, found) = record_of(self.practice, client, visit, sheet, look)?;
        if !self.order.what.contains(&What::Handout) {
            turn.1.extend(found);
        }
        let (id, what) = (&client.id, What::Record);
        let ident = format!("{id}/{}/{}", visit.on, what.key());
        let pdf = self.typesetter.typeset(what.key(), &typeset::data(&record), &ident, id, &client.file)?;
        let file = format!("{id}-{}-{}.pdf", visit.on, what.key());
        let state = self.put(job, &file, &pdf.bytes)?;
        turn.0.push(job.line(None, &file, &pdf, state));
        Ok(())
    }

    /// Issues a new sheet. It is set from what is kept of it, so that it can be set again to the byte.
    fn issue(
        &self,
        job: &Job<'_>,
        client: &Client,
        visit: &Visit,
        prepared: &Prepared,
        ledger: &mut Ledger,
    ) -> Result<Made, Vec<Problem>> {
        let one = |problem: Problem| vec![problem];
        let number = ledger.next_number();
        let usual = client.wishes.or(self.practice.brand.wishes);
        let look = self.order.wishes.or(usual).settle();
        let words = words(self.practice, client, visit, prepared, number, look).map_err(one)?;
        let pictured = |ink: Ink| pictured(self.practice, client, visit, prepared, &words, ink);
        let whole = pictured(look.ink).map_err(one)?;
        let mut packing = self.cabinet.pack();
        packing.add(look.ink, typeset::data(&whole));
        let data = packing.read_back(look);
        let put_away = || {
            for ink in Ink::ALL.into_iter().map(|(_, ink)| ink).filter(|ink| *ink != look.ink) {
                packing.add(ink, typeset::data(&pictured(ink)?));
            }
            let (kept, store) = packing.done();
            self.desk.keep(job.id, &store).map(|()| kept)
        };
        // For a client who waits, the other inks are drawn and everything is put away while the pages are set. In a
        // batch each core has a sheet of its own, and a further thread would only hold memory.
        let alone = self.at_work.fetch_add(1, Ordering::Relaxed) == 0;
        let (pdf, kept) = std::thread::scope(|scope| {
            if alone {
                let putting_away = scope.spawn(put_away);
                let pdf = self.make(job, number, &data, self.typesetter);
                (pdf, putting_away.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
            } else {
                let pdf = self.make(job, number, &data, self.typesetter);
                (pdf, put_away())
            }
        });
        self.at_work.fetch_sub(1, Ordering::Relaxed);
        let (pdf, kept) = (pdf?, kept.map_err(one)?);
        let mut sheet = entry(self.practice, visit, prepared, number, &words, kept);
        let file = job.file_name(number, look, usual.settle());
        sheet.documents.push(self.publish(job, &file, look, &pdf)?);
        let mut made = job.line(Some(number), &file, &pdf, State::New);
        made.quality = gauge(self.practice, client, prepared, &whole, std::slice::from_ref(&pdf.facts)).map(Box::new);
        if let (Which::Renew, Some(last)) = (self.order.which, ledger.sheets.last()) {
            made.differs = sheet.differs_from(last);
        }
        ledger.sheets.push(sheet);
        self.desk.record(job.id, ledger).map_err(one)?;
        Ok(made)
    }

    fn publish(&self, job: &Job<'_>, file: &str, look: Look, pdf: &Pdf) -> Result<Document, Vec<Problem>> {
        self.desk.publish(job.id, file, &pdf.bytes).map_err(|problem| vec![problem])?;
        let (what, file) = (job.what.key().to_owned(), file.to_owned());
        Ok(Document { what, file, look, pages: pdf.pages, sha256: hash(&pdf.bytes) })
    }

    /// Publishes a document of an issued sheet: one that is gone, byte for byte, or one in another look.
    fn make_again(
        &self,
        job: &Job<'_>,
        pdf: &Pdf,
        sheet: &Sheet,
        look: Look,
        known: Option<&Document>,
        ledger: &mut Ledger,
    ) -> Result<Made, Vec<Problem>> {
        let one = |problem: Problem| vec![problem];
        let Some(document) = known else {
            let usual = job.documents(sheet).next().map_or(look, |document| document.look);
            let file = job.file_name(sheet.number, look, usual);
            let document = self.publish(job, &file, look, pdf)?;
            if let Some(entry) = ledger.sheets.iter_mut().find(|entry| entry.number == sheet.number) {
                entry.documents.push(document);
            }
            self.desk.record(job.id, ledger).map_err(one)?;
            return Ok(job.line(Some(sheet.number), &file, pdf, State::New));
        };
        let lies_there = self.desk.published(job.id, &document.file);
        if lies_there.is_some_and(|bytes| hash(&bytes) != document.sha256) {
            let why = format!("`{}` is not the file that was issued", document.file);
            return Err(one(job.changed(sheet.number, &why).help("move that file away and print again")));
        }
        self.desk.publish(job.id, &document.file, &pdf.bytes).map_err(one)?;
        Ok(job.line(Some(sheet.number), &document.file, pdf, State::Remade))
    }
}
