//! Papers beside the handout: made of the sheet that was last issued for the visit, so that none says something else.
//! They are not in the ledger, for they can be made again from the sheet at any time.

use super::press::{Job, Press, Turn};
use super::{State, Which, no_visit};
use crate::assess::assess;
use crate::coherence::contradictions_of_paper;
use crate::diag::{Problem, Rule};
use crate::ledger::Ledger;
use crate::plan::plan;
use crate::print::What;
use crate::record::{Client, Visit};
use crate::safety::{Fired, fired};
use crate::typeset;
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

    /// Makes a paper of the sheet that was last issued for the visit, from what was kept of it.
    pub(super) fn paper(&self, job: &Job<'_>, ledger: &Ledger, turn: &mut Turn) -> Result<(), Vec<Problem>> {
        let client = job.client()?;
        let visit = self.visit(client)?;
        let what = job.what;
        let Some(sheet) = ledger.last_for(visit.on) else {
            // Why there is none has been said if this run was to print it.
            if self.order.what.contains(&What::Handout) {
                return Err(Vec::new());
            }
            let message = format!("no sheet has been issued for the visit of {}", visit.on);
            let help = format!("print the handout first, or with it: `--what handout,{}`", what.key());
            return Err(vec![job.problem(Rule::Ledger, message).help(help)]);
        };
        let Some(kept) = &sheet.kept else {
            let why = "nothing was kept of it";
            return Err(vec![job.changed(sheet.number, why)]);
        };
        let usual = client.wishes.or(self.practice.brand.wishes);
        let look = self.order.wishes.or(usual).settle();
        let (words, typesetter, _) = self.kept(job, sheet.number, kept, look)?;
        let number = sheet.number;
        let data = match paper(what, &words) {
            Ok(data) => data,
            Err(none) => {
                turn.0.push(job.not_needed(Some(number), none.why()));
                return Ok(());
            }
        };
        let found = contradictions_of_paper(&words, &data);
        if !found.is_empty() {
            let what: Vec<String> = found.into_iter().map(|contradiction| contradiction.what).collect();
            let problem = job.problem(Rule::Contradiction, what.join("; "));
            return Err(vec![problem.help("issue the sheet again with `--renew`, or report the fault")]);
        }
        let mut pdf = self.make(job, number, &data, &typesetter)?;
        if what == What::Booklet {
            let message = "the pages of the booklet cannot be laid out for folding";
            let problem = || job.problem(Rule::Export, message).help("print the handout instead, and report the fault");
            pdf = pdf.folded().ok_or_else(|| vec![problem()])?;
        }
        let file = job.file_name(number, look, usual.settle());
        let state = self.put(job, &file, &pdf.bytes)?;
        turn.0.push(job.line(Some(number), &file, &pdf, state));
        Ok(())
    }

    /// Makes the letters to clinicians, if the visit sends the client to any.
    pub(super) fn letter(&self, job: &Job<'_>, ledger: &Ledger, turn: &mut Turn) -> Result<(), Vec<Problem>> {
        let client = job.client()?;
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
            vec![job.problem(Rule::BadTemplate, message).help("correct the text in layouts/words")]
        })?;
        let (id, what) = (job.id, job.what);
        let Some(mut letters) = letters else {
            turn.0.push(job.not_needed(number, "this visit refers the client to nobody"));
            return Ok(());
        };
        if self.practice.logo.is_none() {
            letters.studio.logo_src = None;
        }
        let ident = format!("{id}/{}/{}", visit.on, what.key());
        let pdf = self.typesetter.typeset(what.key(), &typeset::data(&letters), &ident, id, &client.file)?;
        let file = format!("{id}-{}-{}.pdf", visit.on, what.key());
        let state = self.put(job, &file, &pdf.bytes)?;
        turn.0.push(job.line(number, &file, &pdf, state));
        Ok(())
    }

    /// Publishes a document that is not in the ledger, unless the very same lies there.
    pub(super) fn put(&self, job: &Job<'_>, file: &str, bytes: &[u8]) -> Result<State, Vec<Problem>> {
        if self.desk.published(job.id, file).is_some_and(|there| there == bytes) {
            return Ok(State::NotDue);
        }
        self.desk.publish(job.id, file, bytes).map_err(|problem| vec![problem])?;
        Ok(State::New)
    }
}
