//! `exercises/<phase>/*.toml`.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::body::{Side, Sides};
use crate::diag::{Problem, Rule};
use crate::fields::{Fields, Value};
use crate::ids::{ExerciseId, PhaseId, RegionId, StructureId, TestId};
use crate::library::Phase;
use crate::library::exercise::{Ask, Bears, DoseRange, Effect, Exercise, OwnPicture, Part, RelativeSide, Rung, Span};
use crate::library::test::Test;
use crate::library::vocabulary::{Features, State, Vocabulary};
use crate::load::Entry;
use crate::template::{Facts, Template};
use crate::units::Amount;
use crate::words::Words;

use super::photo::Crop;
use super::picture;
use super::{Broken, Picture, entries, features, known_id, known_ids};

/// Example facts with which every template is tried once, so that a slip shows in the library and not on paper.
pub struct Samples {
    facts: Vec<Facts>,
}

impl Samples {
    fn new(words: &Words, sides: &[Option<Side>], tests: &Arc<BTreeSet<String>>) -> Self {
        let facts = sides
            .iter()
            .map(|side| {
                let mut values = BTreeMap::from([
                    ("goal", "Row".to_owned()),
                    ("tool", "a band".to_owned()),
                    ("coach", "Ana".to_owned()),
                ]);
                if let Some(side) = side {
                    values.insert("side", words.side(*side).to_owned());
                    values.insert("other_side", words.side(side.other()).to_owned());
                }
                let forms = side.map(|side| words.side_forms(side)).unwrap_or_default();
                Facts { values, forms, readings: Arc::default(), tests: Arc::clone(tests) }
            })
            .collect();
        Self { facts }
    }

    /// For texts that may name a side.
    pub fn sided(words: &Words) -> Self {
        Self::new(words, &Side::BOTH.map(Some), &Arc::default())
    }

    /// For texts that may not.
    pub fn whole(words: &Words) -> Self {
        Self::new(words, &[None], &Arc::default())
    }

    /// For the texts of an exercise that is done on `sides`.
    pub fn of_exercise(words: &Words, sides: &[Sides], tests: &Arc<BTreeSet<String>>) -> Self {
        let mut tried: Vec<Option<Side>> = Vec::new();
        if sides.iter().any(|s| s.shown().is_some()) {
            tried.extend(Side::BOTH.map(Some));
        }
        if sides.contains(&Sides::Both) {
            tried.push(None);
        }
        Self::new(words, &tried, tests)
    }

    /// For words at pictures, which may name a side if the pictures have one, and tests.
    pub fn of_pictures(words: &Words, sided: bool, tests: &BTreeMap<TestId, Test>) -> Self {
        let sides: &[Option<Side>] = if sided { &Side::BOTH.map(Some) } else { &[None] };
        Self::new(words, sides, &names_of(tests))
    }

    /// Reads a template and tries it.
    pub fn template(&self, value: &Value<'_>, limit: usize) -> Option<Template> {
        let text = value.text(limit)?;
        let template = Template::new(text.value);
        match self.fault(&template) {
            None => Some(template),
            Some((rule, message, help)) => value.refuse(rule, message, help),
        }
    }

    /// What keeps a template from being filled in, if anything does.
    pub fn fault(&self, template: &Template) -> Option<(Rule, String, String)> {
        let (facts, error) =
            self.facts.iter().find_map(|facts| template.fill(facts).err().map(|error| (facts, error)))?;
        let rule = if error.endless { Rule::TemplateFuel } else { Rule::BadTemplate };
        let known = if facts.values.contains_key("side") {
            "side, other_side, goal, tool, coach, own(...)"
        } else {
            "goal, tool, coach, own(...); there is no side here"
        };
        Some((rule, error.message, format!("a text may name: {known}")))
    }

    fn need(&self, fields: &Fields<'_>, key: &str, limit: usize) -> Option<Template> {
        fields.need(key).and_then(|value| self.template(&value, limit))
    }

    fn list(&self, fields: &Fields<'_>, key: &str, limit: usize) -> Vec<Template> {
        fields
            .get(key)
            .and_then(|value| value.list())
            .unwrap_or_default()
            .iter()
            .filter_map(|value| self.template(value, limit))
            .collect()
    }
}

/// Reads all exercises of all phases.
pub fn read_all(
    files: &[(String, Entry)],
    phases: &[Phase],
    known: &Known<'_>,
    problems: &mut Vec<Problem>,
) -> (BTreeMap<ExerciseId, Exercise>, Broken) {
    let mut all = BTreeMap::new();
    let mut broken = Broken::new();
    let mut seen: BTreeMap<&str, &str> = BTreeMap::new();
    for (folder, entry) in files {
        let Some(phase) = phases.iter().find(|phase| phase.id.to_string() == *folder) else {
            problems.push(
                Problem::about(
                    Rule::UnknownName,
                    entry.file.path.as_str(),
                    format!("the folder `{folder}` is not a phase"),
                )
                .help("add the phase to exercises/phases.toml, or move the file"),
            );
            continue;
        };
        if let Some(first) = seen.insert(&entry.stem, &entry.file.path) {
            problems.push(
                Problem::about(
                    Rule::Duplicate,
                    entry.file.path.as_str(),
                    format!("another exercise has this name: {first}"),
                )
                .help("rename one of the two files"),
            );
            continue;
        }
        let (sound, bad) = entries(std::slice::from_ref(entry), problems, |id: ExerciseId, fields| {
            read(id, phase.id.clone(), fields, known)
        });
        all.extend(sound);
        broken.extend(bad);
    }
    (all, broken)
}

/// The names of tests, as `own(...)` in a text may say them.
pub fn names_of(tests: &BTreeMap<TestId, Test>) -> Arc<BTreeSet<String>> {
    Arc::new(tests.keys().map(ToString::to_string).collect())
}

/// What an exercise may refer to.
pub struct Known<'a> {
    words: &'a Words,
    vocabulary: &'a Vocabulary,
    tests: &'a BTreeMap<TestId, Test>,
    test_names: Arc<BTreeSet<String>>,
    pictures: &'a BTreeMap<String, Picture>,
    /// The files in `exercises/pictures` as they are.
    photos: &'a BTreeMap<String, Vec<u8>>,
    /// Parts of photos that exercises have asked for.
    cropped: RefCell<BTreeMap<String, Picture>>,
}

impl<'a> Known<'a> {
    pub fn new(
        words: &'a Words,
        vocabulary: &'a Vocabulary,
        tests: &'a BTreeMap<TestId, Test>,
        pictures: &'a BTreeMap<String, Picture>,
        photos: &'a BTreeMap<String, Vec<u8>>,
    ) -> Self {
        Self { words, vocabulary, tests, test_names: names_of(tests), pictures, photos, cropped: RefCell::default() }
    }

    /// The parts of photos that the exercises read have asked for.
    pub fn into_cropped(self) -> BTreeMap<String, Picture> {
        self.cropped.into_inner()
    }
}

pub fn read(id: ExerciseId, phase: PhaseId, fields: &Fields<'_>, known: &Known<'_>) -> Option<Exercise> {
    let Known { vocabulary, .. } = known;
    let sink = fields.sink();
    let name = fields.need("name").and_then(|v| v.text(28));
    let short = fields.need("short").and_then(|v| v.text(13));
    let sides: Vec<Sides> = fields
        .need("sides")
        .and_then(|v| v.list())
        .unwrap_or_default()
        .iter()
        .filter_map(|v| v.one_of(&Sides::ALL))
        .collect();
    if sides.is_empty() {
        sink.report(
            Rule::BadValue,
            fields.span(),
            "the exercise has no sides",
            "write sides = [\"left\", \"right\", \"each\"] or [\"both\"]",
        );
    }
    let samples = Samples::of_exercise(known.words, &sides, &known.test_names);

    let purpose = samples.need(fields, "purpose", 120);
    let own = features(fields, vocabulary);
    let equipment = known_ids(sink, fields.ids("equipment"), vocabulary.equipment.keys());
    let start = samples.need(fields, "start", 200);
    let steps = samples.list(fields, "steps", 140);
    if !(2..=6).contains(&steps.len()) {
        sink.report(
            Rule::BadValue,
            fields.span(),
            format!("the exercise has {} usable steps", steps.len()),
            "write 2 to 6 steps, one action each",
        );
    }
    let feel = samples.need(fields, "feel", 140);
    let not_feel = samples.need(fields, "not_feel", 140);
    let slip = samples.need(fields, "slip", 140);
    let ease = samples.need(fields, "ease", 140);
    let cautions = samples.list(fields, "cautions", 160);
    let corrections = super::corrections(fields);
    let source_dose = fields.need("source_dose").and_then(|v| v.text(200));
    let dose = fields.need("dose").and_then(|v| v.table()).and_then(|f| dose_range(&f));
    let moving = moving(fields, dose);
    let demands = demands(fields, known);
    let rungs = read_rungs(fields, dose, &own, &demands, &samples, known);
    let effects = read_effects(fields, vocabulary);
    let own_pictures =
        fields.tables("pictures").iter().filter_map(|table| own_picture(table, &samples, known)).collect();
    let video = fields.get("video").and_then(|value| address(&value));
    let rungs = rungs?;
    let mut all = own;
    for rung in &rungs {
        all.methods.extend(rung.features.methods.iter().copied());
        all.regions.extend(rung.features.regions.iter().cloned());
        all.positions.extend(rung.features.positions.iter().cloned());
        all.tags.extend(rung.features.tags.iter().cloned());
    }
    Some(Exercise {
        id,
        phase,
        name: name?.value,
        short: short?.value,
        purpose: purpose?,
        sides,
        equipment,
        features: all,
        start: start?,
        steps,
        feel: feel?,
        not_feel: not_feel?,
        slip: slip?,
        ease: ease?,
        cautions,
        rungs,
        effects,
        moving: moving?,
        pictures: own_pictures,
        video,
        source_dose: source_dose?.value,
        corrections,
    })
}

/// The address of a film.
fn address(value: &Value<'_>) -> Option<String> {
    let text = value.text(60)?.value;
    match printable(&text) {
        Some(address) => Some(address.to_owned()),
        None => value.refuse(
            Rule::BadValue,
            format!("`{text}` is not an address that a handout can print"),
            "write a short one that starts with https://, without user name, port or blanks",
        ),
    }
}

/// Reads one of a practice's own pictures, or the part of a photo that it asks for.
fn own_picture(table: &Fields<'_>, samples: &Samples, known: &Known<'_>) -> Option<OwnPicture> {
    let crop = table.get("crop").map(|value| crop(&value));
    let file = table.need("file").and_then(|value| {
        let name = value.text(60)?.value;
        let Some(whole) = known.pictures.get(&name) else {
            return value.refuse(
                Rule::BadPicture,
                format!("there is no usable picture `{name}`"),
                "put it in exercises/pictures, or correct its own fault first",
            );
        };
        let Some(crop) = crop else {
            return Some((name, picture::ratio(whole)));
        };
        let photo = known.photos.get(&name).map_or(&[][..], Vec::as_slice);
        match picture::ready(&name, photo, Some(crop?)) {
            Ok(part) => {
                let (name, ratio) = (part.name.clone(), picture::ratio(&part));
                known.cropped.borrow_mut().insert(name.clone(), part);
                Some((name, ratio))
            }
            Err((message, help)) => value.refuse(Rule::BadPicture, message, help),
        }
    });
    let alt = samples.need(table, "alt", 240);
    table.done();
    let (file, ratio) = file?;
    Some(OwnPicture { file, alt: alt?, ratio })
}

/// Reads left, top, width and height in percent.
fn crop(value: &Value<'_>) -> Option<Crop> {
    let numbers: Vec<u32> = value.list()?.iter().filter_map(|it| Some(it.whole(0, 100)?.value)).collect();
    match numbers[..] {
        [left, top, width, height] if left + width <= 100 && top + height <= 100 => Some([left, top, width, height]),
        _ => value.refuse(
            Rule::BadValue,
            "this is no part of a picture",
            "write left, top, width and height in percent, such as `[10, 0, 80, 100]`",
        ),
    }
}

/// What follows `https://` in a secure address that can be typed from paper.
fn printable(text: &str) -> Option<&str> {
    text.strip_prefix("https://").filter(|rest| {
        let host = rest.split('/').next().unwrap_or_default();
        let plain = |c: char| c.is_ascii_alphanumeric() || "-._~/?=&%".contains(c);
        host.contains('.') && !host.starts_with('.') && !host.ends_with('.') && rest.chars().all(plain)
    })
}

fn read_effects(fields: &Fields<'_>, vocabulary: &Vocabulary) -> Vec<Effect> {
    let effects: Vec<Effect> = fields
        .tables("effects")
        .iter()
        .filter_map(|table| {
            let structure = table.need("structure").and_then(|v| v.id::<StructureId>());
            let structure = structure.and_then(|id| known_id(table.sink(), &id, vocabulary.structures.keys()));
            let state = table.need("state").and_then(|v| v.one_of(&State::ALL));
            let effect = table.need("effect").and_then(|v| v.number(0.0, 1.0));
            let side = match table.get("side") {
                None => Some(RelativeSide::Same),
                Some(value) => value.one_of(&RelativeSide::ALL),
            };
            table.done();
            Some(Effect { structure: structure?, state: state?, effect: effect?.value, side: side? })
        })
        .collect();
    if effects.is_empty() {
        fields.sink().report(
            Rule::MissingKey,
            fields.span(),
            "the exercise acts on nothing",
            "add an `[[effects]]` table",
        );
    }
    effects
}

fn read_rungs(
    fields: &Fields<'_>,
    dose: Option<DoseRange>,
    own: &Features,
    demands: &(Vec<Ask>, Vec<Bears>),
    samples: &Samples,
    known: &Known<'_>,
) -> Option<Vec<Rung>> {
    let vocabulary = known.vocabulary;
    let tables = fields.tables("rungs");
    if !(2..=4).contains(&tables.len()) {
        fields.sink().report(
            Rule::BadValue,
            fields.span(),
            format!("the exercise has {} rungs", tables.len()),
            "write 2 to 4 `[[rungs]]`, easiest first",
        );
    }
    let dose = dose?;
    let rungs: Vec<Rung> = tables
        .iter()
        .filter_map(|table| {
            let name = table.need("name").and_then(|v| v.text(28));
            let how = samples.need(table, "how", 140);
            let equipment = known_ids(table.sink(), table.ids("equipment"), vocabulary.equipment.keys());
            let mut features = own.clone();
            let own = super::features(table, vocabulary);
            features.methods.extend(own.methods);
            features.regions.extend(own.regions);
            features.positions.extend(own.positions);
            features.tags.extend(own.tags);
            let dose = match table.get("dose").and_then(|v| v.table()) {
                Some(changes) => dose.changed_by(&changes),
                None => dose,
            };
            let (mut asks, mut bears) = self::demands(table, known);
            asks.extend(demands.0.iter().cloned());
            bears.extend(demands.1.iter().cloned());
            table.done();
            Some(Rung { name: name?.value, how: how?, dose, equipment, features, asks, bears, shown: Vec::new() })
        })
        .collect();
    Some(rungs)
}

/// What an exercise or one of its rungs asks of the body, and what it rests on.
fn demands(fields: &Fields<'_>, known: &Known<'_>) -> (Vec<Ask>, Vec<Bears>) {
    let ask = |table: &Fields<'_>| {
        let test = table.need("test").and_then(|v| v.id::<TestId>());
        let test = test.and_then(|id| known_id(table.sink(), &id, known.tests.keys()));
        let at_least = table.need("at_least").and_then(|v| v.number(-1000.0, 1000.0));
        table.done();
        Some(Ask { test: test?, at_least: Amount::from_f64(at_least?.value)? })
    };
    let bears = |table: &Fields<'_>| {
        let region = table.need("region").and_then(|v| v.id::<RegionId>());
        let region = region.and_then(|id| known_id(table.sink(), &id, known.vocabulary.regions.keys()));
        let side = table.need("side").and_then(|v| v.one_of(&RelativeSide::ALL));
        table.done();
        Some(Bears { region: region?, side: side? })
    };
    (fields.tables("asks").iter().filter_map(ask).collect(), fields.tables("bears").iter().filter_map(bears).collect())
}

fn span(fields: &Fields<'_>, part: Part) -> Option<Span> {
    let (_, key, least, most) = Part::ALL.into_iter().find(|(p, ..)| *p == part)?;
    let value = fields.get(key)?;
    let table = value.table()?;
    let bound = |name: &str| table.need(name).and_then(|v| v.whole(least, most));
    let (min, start, max) = (bound("min"), bound("start"), bound("max"));
    table.done();
    let span = Span { min: min?.value, start: start?.value, max: max?.value };
    if span.min <= span.start && span.start <= span.max {
        return Some(span);
    }
    value.refuse(
        Rule::BadDose,
        format!("`{key}` must rise from min over start to max"),
        "put the three numbers in order",
    )
}

fn dose_range(fields: &Fields<'_>) -> Option<DoseRange> {
    fields.need("sets");
    fields.need("days");
    let (sets, days) = (span(fields, Part::Sets), span(fields, Part::Days));
    let (reps, hold_s) = (span(fields, Part::Reps), span(fields, Part::Hold));
    let (lower_s, rest_s) = (span(fields, Part::Lower), span(fields, Part::Rest));
    let rep_s = fields.get("rep_s").and_then(|v| v.whole(1, 30)).map_or(4, |at| at.value);
    let effort = fields.get("effort").and_then(|v| v.table()).and_then(|f| effort(&f));
    fields.done();
    if reps.is_none() && hold_s.is_none() {
        fields.sink().report(
            Rule::MissingKey,
            fields.span(),
            "the dose has neither `reps` nor `hold_s`",
            "add one of them",
        );
        return None;
    }
    Some(DoseRange { sets: sets?, reps, hold_s, lower_s, rest_s, days: days?, rep_s, effort: effort.unwrap_or((3, 4)) })
}

/// Whether the seconds of the dose are spent moving.
fn moving(fields: &Fields<'_>, dose: Option<DoseRange>) -> Option<bool> {
    let Some(value) = fields.get("moving") else { return Some(false) };
    let moving = value.yes()?;
    if moving && dose.is_some_and(|dose| dose.hold_s.is_none() || dose.reps.is_some()) {
        return value.refuse(
            Rule::BadValue,
            "`moving` is for a dose in seconds, without counted times",
            "take it out, or give the dose `hold_s` and no `reps`",
        );
    }
    Some(moving)
}

fn effort(fields: &Fields<'_>) -> Option<(u32, u32)> {
    let start = fields.need("start").and_then(|v| v.whole(1, 10));
    let most = fields.need("max");
    let max = most.as_ref().and_then(|v| v.whole(1, 10));
    fields.done();
    let (start, max) = (start?.value, max?.value);
    if start <= max {
        Some((start, max))
    } else {
        most?.refuse(Rule::BadDose, "effort starts above its most", "put the two numbers in order")
    }
}

impl DoseRange {
    /// This range with the parts that a rung changes.
    fn changed_by(self, fields: &Fields<'_>) -> Self {
        let changed = Self {
            sets: span(fields, Part::Sets).unwrap_or(self.sets),
            reps: span(fields, Part::Reps).or(self.reps),
            hold_s: span(fields, Part::Hold).or(self.hold_s),
            lower_s: span(fields, Part::Lower).or(self.lower_s),
            rest_s: span(fields, Part::Rest).or(self.rest_s),
            days: span(fields, Part::Days).unwrap_or(self.days),
            rep_s: fields.get("rep_s").and_then(|v| v.whole(1, 30)).map_or(self.rep_s, |at| at.value),
            effort: fields.get("effort").and_then(|v| v.table()).and_then(|f| effort(&f)).unwrap_or(self.effort),
        };
        fields.done();
        changed
    }
}

#[cfg(test)]
mod tests {
    use super::printable;

    #[test]
    fn only_a_secure_and_plain_address_is_printed() {
        assert_eq!(printable("https://film.example/knee-to-wall"), Some("film.example/knee-to-wall"));
        for bad in [
            "http://film.example/a",
            "https://coach@film.example/a",
            "https://film.example:8080/a",
            "https://film",
            "https://film.example/a b",
            "https://film.exámple/a",
            "javascript:alert(1)",
        ] {
            assert_eq!(printable(bad), None, "{bad}");
        }
    }
}
