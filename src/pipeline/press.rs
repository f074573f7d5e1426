//! Which documents of a client are due, and how they are made, kept and entered in the ledger.

use super::prepare::{Prepared, prepare, words_hash, write};
use super::{HANDOUT, Made, Order, State, Which, ident, no_visit, of, record, record_of};
use crate::check::Practice;
use crate::diag::{Problem, Rule};
use crate::ids::ClientId;
use crate::ledger::{Document, Ledger, Sheet, hash};
use crate::load::{LEDGER, text};
use crate::print::{Look, What};
use crate::publish::Desk;
use crate::record::{Client, Visit};
use crate::typeset::{Pdf, Typesetter};
use crate::word::handout::Handout;

/// One run's means of making documents.
pub(super) struct Press<'a> {
    pub(super) order: &'a Order,
    pub(super) practice: &'a Practice,
    pub(super) typesetter: &'a Typesetter,
    pub(super) desk: &'a Desk,
}

/// What one client's turn gives.
pub(super) type Turn = (Vec<Made>, Vec<Problem>);

impl Press<'_> {
    pub(super) fn client(&self, id: &ClientId) -> Turn {
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
                What::Letter => self.letter(&client, &ledger, &mut turn),
                What::Glance | What::Cards | What::Diary | What::Booklet => {
                    self.paper(&client, &ledger, *what, &mut turn)
                }
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

    pub(super) fn changed(&self, client: &Client, sheet: u32, why: &str) -> Problem {
        Problem::about(
            Rule::ChangedSinceIssue,
            client.file.path.as_str(),
            format!("sheet {sheet} cannot be made again as it was issued: {why}"),
        )
        .help("use `--renew` to issue a new sheet with a new number")
        .client(&client.id)
    }

    fn make(&self, client: &Client, handout: &Handout) -> Result<Pdf, Vec<Problem>> {
        let ident = ident(&client.id, handout.doc.sheet);
        self.typesetter.typeset(HANDOUT, handout, &ident, &client.id, &client.file)
    }

    /// Makes the coach's record of the visit that the order is about.
    fn record(&self, client: &Client, ledger: &Ledger, turn: &mut Turn) -> Result<(), Vec<Problem>> {
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
        let pdf = self.typesetter.typeset(what.key(), &record, &ident, id, &client.file)?;
        let file = format!("{id}-{}-{}.pdf", visit.on, what.key());
        let state = self.put(client, &file, &pdf.bytes)?;
        turn.0.push(line(client, what, None, &file, &pdf, state));
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
        let file = file_name(client, number, What::Handout, look, usual.settle());
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
            let file = file_name(client, sheet.number, What::Handout, handout.doc.look, usual);
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
        why: None,
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
        why: None,
    }
}

pub(super) fn line(client: &Client, what: What, sheet: Option<u32>, file: &str, pdf: &Pdf, state: State) -> Made {
    Made {
        client: client.id.to_string(),
        document: what.key(),
        sheet,
        file: Some(file.to_owned()),
        pages: Some(pdf.pages),
        bytes: Some(pdf.bytes.len()),
        state,
        why: None,
    }
}

/// A document's file: its client, sheet and kind, and what is unusual in its look.
pub(super) fn file_name(client: &Client, sheet: u32, what: What, look: Look, usual: Look) -> String {
    let mut name = format!("{}-sheet-{sheet:02}-{}", client.id, what.key());
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
