//! Every complaint about a user's file: what was found, where, what is allowed, what to do.
//!
//! A problem is a value. It is gathered with others and shown at the end; nothing in here prints or stops a run.

use std::fmt;
use std::ops::Range;
use std::sync::Arc;

use codespan_reporting::diagnostic::{Diagnostic, Label};
use codespan_reporting::files::SimpleFile;
use codespan_reporting::term;
use serde::Serialize;

use crate::ids::ClientId;

/// A text file as it was read, kept so that a problem can show the line.
#[derive(Debug, PartialEq, Eq)]
pub struct SourceFile {
    /// Path inside the practice, with `/` between the parts.
    pub path: String,
    /// The whole text, without a byte order mark.
    pub text: String,
}

/// A stretch of a source file, in bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// The file.
    pub file: Arc<SourceFile>,
    /// First byte and one past the last.
    pub span: Range<usize>,
}

impl Place {
    /// Line and column of the first character, both from 1; columns count characters.
    pub fn line_column(&self) -> (usize, usize) {
        line_column(&self.file.text, self.span.start)
    }

    /// Line and column one past the last character.
    pub fn end_line_column(&self) -> (usize, usize) {
        line_column(&self.file.text, self.span.end.max(self.span.start))
    }
}

fn line_column(text: &str, at: usize) -> (usize, usize) {
    let before = &text[..floor_char(text, at)];
    let line = before.bytes().filter(|b| *b == b'\n').count() + 1;
    let column = before.rsplit('\n').next().map_or(0, |l| l.chars().count()) + 1;
    (line, column)
}

/// The largest character boundary that is no later than `at`.
fn floor_char(text: &str, at: usize) -> usize {
    (0..=at.min(text.len())).rev().find(|i| text.is_char_boundary(*i)).unwrap_or(0)
}

/// How much a problem matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// The paper can be made; a person should look.
    Warning,
    /// The paper that this concerns is not made.
    Error,
}

macro_rules! rules {
    ($($variant:ident $code:literal $severity:ident $about:literal $why:literal;)*) => {
        /// Every kind of problem, each with a code that stays the same from version to version.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Rule {
            $(#[doc = $about] $variant,)*
        }

        impl Rule {
            /// Every rule.
            pub const ALL: &[Self] = &[$(Self::$variant,)*];

            /// The code that machines and people can look up.
            pub fn code(self) -> &'static str {
                match self { $(Self::$variant => $code,)* }
            }

            /// How much it matters.
            pub fn severity(self) -> Severity {
                match self { $(Self::$variant => Severity::$severity,)* }
            }

            /// One sentence: what the rule guards.
            pub fn about(self) -> &'static str {
                match self { $(Self::$variant => $about,)* }
            }

            /// One sentence: why it matters.
            pub fn why(self) -> &'static str {
                match self { $(Self::$variant => $why,)* }
            }
        }
    };
}

rules! {
    Unreadable "unreadable" Error "A file or folder cannot be read."
        "What cannot be read is missing from every sheet that needs it.";
    OutsidePractice "outside-practice" Error "A path leads out of the practice folder."
        "Only what lies in the folder is read, so that a practice can be copied, kept and trusted as a whole.";
    NotUtf8 "not-utf8" Error "A text file is not UTF-8."
        "Names and signs would come out garbled on paper.";
    Syntax "syntax" Error "A file is not well-formed TOML."
        "Nothing in the file can be understood until it is mended.";
    UnknownKey "unknown-key" Error "A key that this kind of file does not have."
        "A slip in a key would quietly lose what it says: a caution as easily as a note.";
    MissingKey "missing-key" Error "A key that this kind of file must have."
        "Without it a page would have a gap, or a rule nothing to go by.";
    WrongType "wrong-type" Error "A value of the wrong type."
        "A value read as something else would be printed, or reckoned with, wrongly.";
    BadValue "bad-value" Error "A value outside what is allowed."
        "A number or word out of bounds leads to a program nobody meant.";
    TooLong "too-long" Error "A text too long for its place on paper."
        "Text that does not fit would run out of its place or push others off the page.";
    BadCharacter "bad-character" Error "A control character in a text."
        "Such a character has no shape on paper and can hide in a text.";
    BadId "bad-id" Error "A name that cannot be used in a file name."
        "File names are made of it, and they must work on every system.";
    Duplicate "duplicate" Error "Two things with one name."
        "With two of a name, nobody can say which one is meant.";
    UnknownName "unknown-name" Error "A name that nothing in the practice has."
        "What it should point to would be left out of the sheet, or out of the safety rules.";
    BrokenName "broken-name" Error "A library entry that is itself in error is used."
        "What depends on a broken entry cannot be trusted.";
    BadDate "bad-date" Error "A date that cannot be right."
        "Dates decide which visit is the latest and when answers lapse.";
    BadReading "bad-reading" Error "A reading that cannot be right."
        "A wrong reading leads to a wrong finding, and to work that the client does not need.";
    BadDose "bad-dose" Error "A dose outside the range of its exercise."
        "A dose outside its range may do harm, or nothing.";
    BadSide "bad-side" Error "A side that the exercise or test does not have."
        "The wrong side would be worked.";
    BadTemplate "bad-template" Error "A text template that cannot be filled in."
        "The client would read a sentence with a hole in it.";
    TemplateFuel "template-fuel" Error "A text template that does not end."
        "A text without end would stop all printing.";
    BadPicture "bad-picture" Error "A picture that cannot be used."
        "The client would work from a card without its picture, or with a damaged one.";
    BadPose "bad-pose" Error "A pose file that cannot be used."
        "The figure cannot be drawn, so the card would show none.";
    PoseTags "pose-tags" Error "A picture shows something of which the safety rules must know, and the exercise does not say it."
        "The rules for a sore, weak or limited place cannot act on what they are not told.";
    ImpossiblePose "impossible-pose" Error "A pose that no body can take."
        "A client who tried to do what such a picture shows could be hurt.";
    DoubtfulPose "doubtful-pose" Warning "A pose that nobody could hold, or pictures too alike to show a movement."
        "Clients copy what they see.";
    WeakContrast "weak-contrast" Error "A brand colour that is too light to read."
        "Many clients read with tired or ageing eyes, often from a poor printer.";
    NoPractice "no-practice" Error "The folder is not a practice, or it has no clients."
        "There is nothing to print from.";
    NotAllowed "not-allowed" Error "The safety rules forbid an exercise for this client."
        "It may hurt this client.";
    NoPosition "no-position" Error "An exercise needs a position that the client cannot get into."
        "The client cannot do it, so it will not be done.";
    NoEquipment "no-equipment" Error "An exercise needs something that the client does not have."
        "The client cannot do it, so it will not be done.";
    BeyondReach "beyond-reach" Error "An exercise goes further than the client's own reading."
        "It would push a joint past what this client was measured to have.";
    NothingFits "nothing-fits" Error "There is work to do, but nothing in the library is for this client."
        "An empty program would look like a clean bill of health.";
    NeedUnmet "need-unmet" Warning "Nothing in the library works on a need of this client."
        "The coach should know what this sheet does not work on.";
    TooManyExercises "too-many-exercises" Error "More exercises than anybody keeps up."
        "A long list is not done at all.";
    ManySteps "many-steps" Warning "Several exercises for one place go up at once."
        "If it flares up, nobody can tell which step was too much.";
    OverTime "over-time" Warning "A program is longer than the client's minutes a day."
        "What does not fit the day is skipped, and not the part that you would choose.";
    ManyExercises "many-exercises" Warning "More exercises than people keep up."
        "Few exercises are kept up better than many.";
    StaleScreening "stale-screening" Warning "Health answers are older than the visit."
        "Health changes between visits, and the rules go by the answers.";
    WeeklyStretch "weekly-stretch" Warning "Less weekly stretch than the trade's guide for lasting change."
        "Less may feel good and change nothing.";
    HandOver "hand-over" Warning "A change, or none, that a clinician should look at."
         "What gets worse, or does not move for long, may be more than training can answer.";
    NoTranslation "no-translation" Error "A text that a language of the practice needs has no translation."
         "The client would get a sheet in a language that they read less well.";
    TranslationDiffers "translation-differs" Error "A translation names or states something else than its original."
         "Two clients with one exercise would be told different things.";
    Unfinished "unfinished" Warning "A text that is still as it was written for a start."
        "A client would read what nobody meant for them, or another's telephone number.";
    NoUsualRange "no-usual-range" Warning "A reading that cannot be judged for want of the client's sex or age."
        "What the test would have found is missing from the program.";
    NotGiven "not-given" Warning "A diary result for an exercise that the last program did not have."
        "What the client has done is not counted, and nothing follows from it.";
    DraftTranslation "draft-translation" Warning "A translation that no fluent reader has read."
         "A slip in a caution is easily missed by who does not speak the language well.";
    Wording "wording" Warning "Words that a tired reader may stumble on."
         "Who is tired or in pain skips what they stumble on.";
    HardToRead "hard-to-read" Warning "A text that is harder to read than the language's file allows."
         "Half of all readers give up on a text above their level.";
    Unmeasured "unmeasured" Warning "A language for which no file says how plain it must be."
         "Nobody has looked at how hard its sheets are to read.";
    Quality "quality" Warning "An item of a public instrument for health handouts that a sheet does not meet."
         "What such an item asks for is known to help people understand and act.";
    Contradiction "contradiction" Error "Two parts of a sheet say different things."
         "A client who finds two answers trusts neither.";
    Layout "layout" Error "A layout file that the typesetter cannot use."
        "No sheet can be set with a broken layout.";
    TypesetWarning "typeset-warning" Error "The typesetter was not sure of a document."
        "What the typesetter is unsure of may look wrong, or be missing.";
    NoGlyph "no-glyph" Error "A character that no font of the practice can show."
        "The reader would see an empty box.";
    OffPage "off-page" Error "Something on a page lies beyond its edge."
        "A printer cannot print it.";
    LostText "lost-text" Error "Words that should be on paper are not."
        "A caution that is not on paper does not protect.";
    Export "export" Error "A document does not meet the PDF standards."
        "Screen readers and archives rely on the standards.";
    Panic "panic" Error "The typesetter stopped on a fault of its own."
        "No sheet is better than a half-made one.";
    Ledger "ledger" Error "The record of sheets issued cannot be used."
        "A client's sheet could not be given again as it was.";
    ChangedSinceIssue "changed-since-issue" Error "A sheet cannot be remade as it was issued."
        "Two sheets with one number must never say different things.";
    MovedOn "moved-on" Warning "The record or the library has changed since the current sheet was printed."
        "The client's paper and the practice no longer say the same.";
    OldText "old-text" Warning "A client holds a sheet with words that the library has changed since."
         "The coach may want to give the client the better words.";
    UnsafeText "unsafe-text" Error "A client holds a sheet with words that were corrected for safety since."
         "The client still does it the way that was found to be unsafe.";
    Write "write" Error "A file could not be written."
        "What is not safely on disk has not been made.";
    LateRetest "late-retest" Warning "The next visit is later than the trade's guide for a retest."
        "A program that nobody looks at again is not adapted, and then dropped.";
}

/// One complaint.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// Which rule.
    pub rule: Rule,
    /// Whose paper it stops, if only one client's.
    pub client: Option<ClientId>,
    /// Where, if it has a place in a text file.
    pub place: Option<Place>,
    /// The file or folder it is about, when there is no text to show.
    pub path: Option<String>,
    /// What was found and what is allowed.
    pub message: String,
    /// What to do.
    pub help: Option<String>,
}

impl Problem {
    /// A problem at a place in a text file.
    pub fn at(rule: Rule, file: &Arc<SourceFile>, span: Range<usize>, message: impl Into<String>) -> Self {
        Self {
            rule,
            client: None,
            place: Some(Place { file: Arc::clone(file), span }),
            path: None,
            message: message.into(),
            help: None,
        }
    }

    /// A problem with a whole file or folder.
    pub fn about(rule: Rule, path: impl Into<String>, message: impl Into<String>) -> Self {
        Self { rule, client: None, place: None, path: Some(path.into()), message: message.into(), help: None }
    }

    /// Adds what to do.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Says whose paper it stops.
    #[must_use]
    pub fn client(mut self, client: &ClientId) -> Self {
        self.client = Some(client.clone());
        self
    }

    /// How much it matters.
    pub fn severity(&self) -> Severity {
        self.rule.severity()
    }

    /// The file it is about.
    pub fn file(&self) -> Option<&str> {
        self.place.as_ref().map(|place| place.file.path.as_str()).or(self.path.as_deref())
    }

    fn order(&self) -> (Option<&str>, usize, Rule, &str) {
        let start = self.place.as_ref().map_or(0, |place| place.span.start);
        (self.file(), start, self.rule, &self.message)
    }

    /// The problem as plain data, for machines.
    pub fn to_json(&self) -> serde_json::Value {
        let at = self.place.as_ref().map(Place::line_column);
        serde_json::json!({
            "rule": self.rule.code(),
            "severity": self.severity(),
            "client": self.client.as_ref().map(ToString::to_string),
            "file": self.file(),
            "line": at.map(|(line, _)| line),
            "column": at.map(|(_, column)| column),
            "message": self.message,
            "help": self.help,
        })
    }
}

impl fmt::Display for Problem {
    /// The message with the offending line under it, as plain text.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.rendered(false)?)
    }
}

impl Problem {
    /// As it is displayed, and also why its rule matters.
    pub fn explained(&self) -> String {
        self.rendered(true).unwrap_or_else(|_| self.message.clone())
    }

    fn rendered(&self, why: bool) -> Result<String, fmt::Error> {
        let mut diagnostic = match self.severity() {
            Severity::Error => Diagnostic::error(),
            Severity::Warning => Diagnostic::warning(),
        }
        .with_code(self.rule.code());
        let file = match &self.place {
            Some(place) => {
                diagnostic =
                    diagnostic.with_message(&self.message).with_labels(vec![Label::primary((), shown_span(place))]);
                SimpleFile::new(place.file.path.as_str(), place.file.text.as_str())
            }
            None => {
                let message = match &self.path {
                    Some(path) => format!("{path}: {}", self.message),
                    None => self.message.clone(),
                };
                diagnostic = diagnostic.with_message(message);
                SimpleFile::new("", "")
            }
        };
        if let Some(client) = &self.client {
            diagnostic = diagnostic.with_note(format!("client: {client}"));
        }
        if why {
            diagnostic = diagnostic.with_note(format!("why: {}", self.rule.why()));
        }
        if let Some(help) = &self.help {
            diagnostic = diagnostic.with_note(format!("help: {help}"));
        }
        let mut text = String::new();
        term::emit_to_string(&mut text, &term::Config::default(), &file, &diagnostic).map_err(|_| fmt::Error)?;
        Ok(text.trim_end().to_owned())
    }
}

/// The span to underline: never more than one line, and never half a character.
fn shown_span(place: &Place) -> Range<usize> {
    let text = &place.file.text;
    let start = floor_char(text, place.span.start);
    let end = floor_char(text, place.span.end.max(start));
    let line_end = text[start..].find('\n').map_or(text.len(), |n| start + n);
    start..end.min(line_end).max(start)
}

/// Sorts problems by file and place and drops exact repeats.
pub fn in_order(mut problems: Vec<Problem>) -> Vec<Problem> {
    problems.sort_by(|a, b| a.order().cmp(&b.order()));
    problems.dedup();
    problems
}

/// The name in `known` that is most like `word`, if any is like it at all.
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    known
        .into_iter()
        .map(|name| (strsim::damerau_levenshtein(word, name), name))
        .filter(|(distance, name)| *distance <= 1 + name.len().min(word.len()) / 4)
        .min()
        .map(|(_, name)| name)
}

/// What to do about a word that is not known: take the nearest one that is, or else what `otherwise` says.
pub fn meant<'a>(word: &str, known: impl IntoIterator<Item = &'a str>, otherwise: impl FnOnce() -> String) -> String {
    nearest(word, known).map_or_else(otherwise, |near| format!("did you mean `{near}`?"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_unique() {
        let mut codes: Vec<_> = Rule::ALL.iter().map(|rule| rule.code()).collect();
        codes.sort_unstable();
        codes.dedup();
        assert_eq!(codes.len(), Rule::ALL.len());
    }

    #[test]
    fn a_place_counts_characters_not_bytes() {
        let file = Arc::new(SourceFile { path: "clients/ana.toml".into(), text: "a = 1\nnäme = 2\n".into() });
        let place = Place { file, span: 13..14 };
        assert_eq!(place.line_column(), (2, 7));
    }

    #[test]
    fn a_message_names_file_line_and_cure() {
        let file =
            Arc::new(SourceFile { path: "clients/ana.toml".into(), text: "name = \"Ana\"\nreach = 400\n".into() });
        let problem = Problem::at(Rule::BadReading, &file, 21..24, "400 cm is more than 40 cm")
            .help("measure again, or correct the unit");
        insta::assert_snapshot!(problem.to_string(), @r"
        error[bad-reading]: 400 cm is more than 40 cm
          ┌─ clients/ana.toml:2:9
          │
        2 │ reach = 400
          │         ^^^
          │
          = help: measure again, or correct the unit
        ");
    }

    #[test]
    fn the_nearest_name_must_be_near() {
        assert_eq!(nearest("nmae", ["name", "goals"]), Some("name"));
        assert_eq!(nearest("zebra", ["name", "goals"]), None);
    }
}
