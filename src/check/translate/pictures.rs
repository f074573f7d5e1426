//! `exercises/poses/<id>.<language>.toml`: captions, and what authors say of their poses, by the original text.

use std::collections::BTreeMap;

use crate::check::exercise::Samples;
use crate::draw::{Studio, Subject, Translated};
use crate::ids::TestId;
use crate::library::test::Test;
use crate::load::Files;

use super::vocabulary::by_text;
use super::{Translator, What};

impl<'a> Translator<'a> {
    pub(super) fn pictures(
        &mut self,
        studio: &Studio,
        tests: &BTreeMap<TestId, Test>,
        files: &'a Files,
    ) -> BTreeMap<Subject, Translated> {
        let mut all = BTreeMap::new();
        for (subject, pictures) in studio.subjects() {
            let texts = pictures.texts();
            if texts.captions.is_empty() && texts.say.is_empty() {
                continue;
            }
            let path = subject.path();
            let mut entries = files.poses.iter().chain(&files.test_poses);
            let Some(entry) = entries.find(|entry| entry.file.path == path) else { continue };
            // A pose that no frame shows may have words too.
            let spare = |text: &str| entry.file.text.contains(&format!("\"{text}\""));
            let what = What::Of(subject.clone());
            let found = self.overlay(&entry.file.path, &what, |fields, words| {
                let of_marks = Samples::of_pictures(words, pictures.authored().is_some(), tests);
                let captions = by_text(fields, "captions", texts.captions.iter().copied(), 100, &of_marks, spare);
                let say = by_text(fields, "say", texts.say.iter().copied(), 260, &Samples::whole(words), spare);
                Some(Translated { captions: captions?, say: say? })
            });
            if let Some(found) = found {
                all.insert(subject.clone(), found);
            }
        }
        all
    }
}
