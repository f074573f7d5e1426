//! `exercises/<phase>/<id>.<language>.toml`.

use std::collections::BTreeSet;
use std::sync::Arc;

use crate::check::exercise::Samples;
use crate::diag::Rule;
use crate::fields::Fields;
use crate::library::exercise::Exercise;
use crate::words::Words;

use super::Texts;

pub fn read(base: &Exercise, fields: &Fields<'_>, words: &Words, tests: &Arc<BTreeSet<String>>) -> Option<Exercise> {
    let samples = || Samples::of_exercise(words, &base.sides, tests);
    let texts = Texts::new(fields, samples());
    let (name, short) = (texts.plain("name", 36, &base.name), texts.plain("short", 16, &base.short));
    let purpose = texts.text("purpose", 160, &base.purpose);
    let start = texts.text("start", 260, &base.start);
    let steps = texts.list("steps", 180, &base.steps);
    let (feel, not_feel) = (texts.text("feel", 180, &base.feel), texts.text("not_feel", 180, &base.not_feel));
    let (slip, ease) = (texts.text("slip", 180, &base.slip), texts.text("ease", 180, &base.ease));
    let cautions = texts.list("cautions", 210, &base.cautions);
    let rungs = each(fields, "rungs", &base.rungs, |table, rung| {
        let texts = Texts::new(table, samples());
        let (name, how) = (texts.plain("name", 36, &rung.name), texts.text("how", 180, &rung.how));
        let mut rung = rung.clone();
        rung.name = name?;
        rung.how = how?;
        Some(rung)
    });
    let pictures = each(fields, "pictures", &base.pictures, |table, picture| {
        let alt = Texts::new(table, samples()).text("alt", 310, &picture.alt);
        let mut picture = picture.clone();
        picture.alt = alt?;
        Some(picture)
    });
    Some(Exercise {
        name: name?,
        short: short?,
        purpose: purpose?,
        start: start?,
        steps: steps?,
        feel: feel?,
        not_feel: not_feel?,
        slip: slip?,
        ease: ease?,
        cautions: cautions?,
        rungs: rungs?,
        pictures: pictures?,
        ..base.clone()
    })
}

/// Reads a list of tables against its original, in the same order.
fn each<T>(
    fields: &Fields<'_>,
    key: &str,
    originals: &[T],
    read: impl Fn(&Fields<'_>, &T) -> Option<T>,
) -> Option<Vec<T>> {
    let tables = fields.tables(key);
    if tables.len() != originals.len() {
        let message = format!("there are {} `[[{key}]]`, but the original has {}", tables.len(), originals.len());
        let help = "translate them one to one, in the same order";
        fields.sink().report(Rule::TranslationDiffers, fields.span(), message, help);
        return None;
    }
    let found: Vec<T> = tables
        .iter()
        .zip(originals)
        .filter_map(|(table, original)| {
            let found = read(table, original);
            table.done();
            found
        })
        .collect();
    (found.len() == originals.len()).then_some(found)
}
