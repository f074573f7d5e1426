//! In which language a client's sheet is made: wholly in theirs, or wholly in the library's, and then the sheet says so.

use super::prepare::Prepared;
use crate::check::{Practice, Translation};
use crate::record::Client;
use crate::word::handout::{Body, Handout, InLanguage};

/// The practice in the language of one sheet.
pub(super) struct Tongue<'a> {
    /// The practice to word the sheet with.
    pub(super) practice: &'a Practice,
    own: &'a Practice,
    wanted: Option<&'a Translation>,
    language: &'a str,
    draft: bool,
}

impl<'a> Tongue<'a> {
    /// Chooses the language for what has been prepared in the library's own.
    pub(super) fn choose(practice: &'a Practice, client: &'a Client, prepared: &Prepared) -> Self {
        let language = client.language.as_deref().unwrap_or(&practice.brand.language);
        let wanted = practice.translation(Some(language));
        let (exercises, tests) = prepared.uses();
        let touches = |parts: &crate::check::Parts| parts.touch(exercises.iter(), tests.iter());
        let whole = wanted.filter(|translation| !touches(&translation.missing));
        Self {
            practice: whole.map_or(practice, |translation| &translation.practice),
            own: practice,
            wanted,
            language,
            draft: whole.map_or(practice.words.draft, |translation| touches(&translation.drafts)),
        }
    }

    /// Whether the sheet is in another language than the library.
    pub(super) fn is_translated(&self) -> bool {
        self.practice.words.language != self.own.words.language
    }

    /// Says on the sheet what the reader must know about its language.
    pub(super) fn mark(&self, coach: &str, handout: &mut Handout) {
        let say = |practice: &Practice, text: &crate::template::Template, language: &str| InLanguage {
            lang: practice.words.language.clone(),
            text: practice.words.phrase(text, None, &[("coach", coach), ("language", language)]),
        };
        if self.practice.words.language != self.language {
            let name = self.wanted.map_or(self.language, |translation| &translation.practice.words.name);
            let theirs = self.wanted.map(|translation| &translation.practice);
            let in_theirs = theirs.map(|theirs| say(theirs, &theirs.words.sentences.fallback_own, name));
            let here = say(self.own, &self.own.words.sentences.fallback, name);
            handout.message.language = in_theirs.into_iter().chain([here]).collect();
        }
        if self.draft {
            let know = match &mut handout.body {
                Body::Plan(plan) => &mut plan.safety.know,
                Body::SeeSomeone { see } => &mut see.know,
            };
            let draft = say(self.practice, &self.practice.words.sentences.draft, "").text;
            know.push(draft.clone());
            handout.doc.draft = Some(draft);
        }
    }
}
