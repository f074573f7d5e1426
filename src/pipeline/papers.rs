//! Papers beside the handout: made of the sheet that was last issued for the visit, so that none says something else.
//! They are not in the ledger, for they can be made again from the sheet at any time.

use super::prepare::{prepare, words_hash, write};
use super::press::{Press, Turn, file_name, line};
use super::{Made, State, Which, no_visit};
use crate::assess::assess;
use crate::diag::{Problem, Rule};
use crate::ledger::{Ledger, Sheet};
use crate::plan::plan;
use crate::print::{Look, What};
use crate::record::{Client, Visit};
use crate::safety::{Fired, fired};
use crate::word::Writer;
use crate::word::letter::Sent;
use crate::word::papers::paper;

impl Press<'_> {
    /// The visit that the order is about.
    pub(super) fn visit<'c>(&self, client: &'c Client) -> Result<&'c Visit, Vec<Problem>> {
        let visit = match self.order.which {
            Which::AsOf(day) => client.visits.iter().rev().find(|visit| visit.on <= day),
            Which::Due | Which::Again | Which::Renew => client.visits.last(),
        };
        visit.ok_or_else(|| vec![no_visit(client)])
    }

    /// Makes a paper of the sheet that was last issued for the visit.
    pub(super) fn paper(
        &self,
        client: &Client,
        ledger: &Ledger,
        what: What,
        turn: &mut Turn,
    ) -> Result<(), Vec<Problem>> {
        let visit = self.visit(client)?;
        let Some(sheet) = ledger.last_for(visit.on) else {
            let message = format!("no sheet has been issued for the visit of {}", visit.on);
            let help = format!("print the handout first, or with it: `--what handout,{}`", what.key());
            return Err(vec![
                Problem::about(Rule::Ledger, client.file.path.as_str(), message).help(help).client(&client.id),
            ]);
        };
        let usual = client.wishes.or(self.practice.brand.wishes);
        let look = self.order.wishes.or(usual).settle();
        let words = self.sheet_words(client, visit, sheet, look, turn)?;
        let (id, number) = (&client.id, Some(sheet.number));
        let data = match paper(what, &words) {
            Ok(data) => data,
            Err(none) => {
                turn.0.push(not_needed(client, what, number, none.why()));
                return Ok(());
            }
        };
        let ident = format!("{id}/sheet-{}/{}", sheet.number, what.key());
        let pdf = self.typesetter.typeset(what.key(), &data, &ident, id, &client.file)?;
        let file = file_name(client, sheet.number, what, look, usual.settle());
        let state = self.put(client, &file, &pdf.bytes)?;
        turn.0.push(line(client, what, number, &file, &pdf, state));
        Ok(())
    }

    /// The words of an issued sheet, as they were issued.
    fn sheet_words(
        &self,
        client: &Client,
        visit: &Visit,
        sheet: &Sheet,
        look: Look,
        turn: &mut Turn,
    ) -> Result<serde_json::Value, Vec<Problem>> {
        let mut warnings = Vec::new();
        let prepared = prepare(self.practice, client, visit, &mut warnings)?;
        let handout = write(self.practice, client, visit, &prepared, sheet.number, look).map_err(|one| vec![one])?;
        if words_hash(&handout) != sheet.words {
            return Err(vec![self.changed(client, sheet.number, "the record or the library has changed since")]);
        }
        // A run that prints the handout has said them already.
        if !self.order.what.contains(&What::Handout) {
            turn.1.extend(warnings);
        }
        Ok(serde_json::to_value(&handout).expect("sheets are plain data"))
    }

    /// Makes the letters to clinicians, if the visit sends the client to any.
    pub(super) fn letter(&self, client: &Client, ledger: &Ledger, turn: &mut Turn) -> Result<(), Vec<Problem>> {
        let visit = self.visit(client)?;
        let library = &self.practice.library;
        let look = self.order.wishes.or(client.wishes.or(self.practice.brand.wishes)).settle();
        let number = ledger.last_for(visit.on).map(|sheet| sheet.number);
        let findings = assess(client, visit, library);
        let fired = fired(client, visit, library);
        // A program that cannot be made is no reason to hold a letter back; the handout says what is wrong with it.
        let stops = fired.iter().any(Fired::stops);
        let program = if stops { None } else { plan(client, visit, &findings, library).0.ok() };
        let sent = Sent { findings: &findings, fired: &fired, program: program.as_ref() };
        let writer = Writer::new(client, visit, library, &self.practice.brand, &self.practice.words);
        let letters = writer.letters(&sent, number.unwrap_or(0), look).map_err(|error| {
            let message = format!("a text for this letter cannot be filled in: {error}");
            let problem = Problem::about(Rule::BadTemplate, client.file.path.as_str(), message);
            vec![problem.help("correct the text in layouts/words").client(&client.id)]
        })?;
        let (id, what) = (&client.id, What::Letter);
        let Some(mut letters) = letters else {
            turn.0.push(not_needed(client, what, number, "this visit refers the client to nobody"));
            return Ok(());
        };
        if self.practice.logo.is_none() {
            letters.studio.logo_src = None;
        }
        let ident = format!("{id}/{}/{}", visit.on, what.key());
        let pdf = self.typesetter.typeset(what.key(), &letters, &ident, id, &client.file)?;
        let file = format!("{id}-{}-{}.pdf", visit.on, what.key());
        let state = self.put(client, &file, &pdf.bytes)?;
        turn.0.push(line(client, what, number, &file, &pdf, state));
        Ok(())
    }

    /// Publishes a document that is not in the ledger, unless the very same lies there.
    pub(super) fn put(&self, client: &Client, file: &str, bytes: &[u8]) -> Result<State, Vec<Problem>> {
        if self.desk.published(&client.id, file).is_some_and(|there| there == bytes) {
            return Ok(State::NotDue);
        }
        self.desk.publish(&client.id, file, bytes).map_err(|problem| vec![problem])?;
        Ok(State::New)
    }
}

fn not_needed(client: &Client, what: What, sheet: Option<u32>, why: &'static str) -> Made {
    Made {
        client: client.id.to_string(),
        document: what.key(),
        sheet,
        file: None,
        pages: None,
        bytes: None,
        state: State::NotNeeded,
        why: Some(why),
    }
}
