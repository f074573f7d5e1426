//! `exercises/vocabulary.<language>.toml`: what a client reads of it.

use std::collections::BTreeMap;

use crate::check::exercise::Samples;
use crate::diag::{Rule, meant};
use crate::fields::Fields;
use crate::ids::{Id, StructureId};
use crate::library::vocabulary::{Activity, Vocabulary};
use crate::template::Template;
use crate::words::Words;

use super::{Texts, same};

pub fn read(base: &Vocabulary, fields: &Fields<'_>, words: &Words) -> Option<Vocabulary> {
    let name = |limit: usize| {
        move |table: &Fields<'_>, original: &String| {
            Texts::new(table, Samples::whole(words)).plain("name", limit, original)
        }
    };
    let regions = named(fields, "regions", &base.regions, name(40));
    let structures = named(fields, "structures", &base.structures, |table, structure| {
        let mut structure = structure.clone();
        structure.name = name(54)(table, &structure.name)?;
        Some(structure)
    });
    let equipment = named(fields, "equipment", &base.equipment, |table, known| {
        let texts = Texts::new(table, Samples::whole(words));
        let mut equipment = known.clone();
        let name = texts.plain("name", 80, &known.name);
        let stand_in = known.stand_in.as_ref().map(|original| texts.plain("stand_in", 80, original));
        equipment.name = name?;
        if let Some(stand_in) = stand_in {
            equipment.stand_in = Some(stand_in?);
        }
        Some(equipment)
    });
    let activities = named(fields, "activities", &base.activities, |table, known| activity(base, known, table, words));
    let pain = fields.need("pain").and_then(|value| value.table()).and_then(|table| {
        let texts = Texts::new(&table, Samples::whole(words));
        let mut pain = base.pain.clone();
        let in_test = texts.plain("tell_in_test", 210, &pain.tell_in_test);
        let sore = texts.plain("tell_sore", 210, &pain.tell_sore);
        table.done();
        pain.tell_in_test = in_test?;
        pain.tell_sore = sore?;
        if pain.tell_sore.contains("{region}") {
            return Some(pain);
        }
        let value = table.get("tell_sore")?;
        value.refuse(Rule::TranslationDiffers, "`tell_sore` does not name the region", "write `{region}` in it")
    });
    let flags = named(fields, "flags", &base.flags, |table, known| {
        let mut flag = known.clone();
        flag.tell = Texts::new(table, Samples::whole(words)).plain("tell", 170, &known.tell)?;
        Some(flag)
    });
    let tells = tells(base, fields, words);
    let mut conditions = base.conditions.clone();
    let tells = tells?;
    for rule in conditions.values_mut().flat_map(|condition| &mut condition.rules) {
        rule.tell = rule.tell.as_ref().map(|tell| tells.get(tell).unwrap_or(tell).clone());
    }
    Some(Vocabulary {
        regions: regions?,
        structures: structures?,
        equipment: equipment?,
        activities: activities?,
        pain: pain?,
        flags: flags?,
        conditions,
        ..base.clone()
    })
}

/// Reads a table of named tables against its original: every name must be there, and no other.
fn named<K: Id + Ord + Clone, T>(
    fields: &Fields<'_>,
    key: &str,
    originals: &BTreeMap<K, T>,
    read: impl Fn(&Fields<'_>, &T) -> Option<T>,
) -> Option<BTreeMap<K, T>> {
    let table = fields.need(key)?.table()?;
    let mut found = BTreeMap::new();
    for (id, original) in originals {
        let Some(entry) = table.need(id.as_str()).and_then(|value| value.table()) else { continue };
        let built = read(&entry, original);
        entry.done();
        if let Some(built) = built {
            found.insert(id.clone(), built);
        }
    }
    table.done();
    (found.len() == originals.len()).then_some(found)
}

fn activity(vocabulary: &Vocabulary, known: &Activity, fields: &Fields<'_>, words: &Words) -> Option<Activity> {
    let name = Texts::new(fields, Samples::whole(words)).plain("name", 54, &known.name);
    let mut because = BTreeMap::new();
    if !known.because.is_empty() {
        let table = fields.need("because")?.table()?;
        let sided = |id: &StructureId| vocabulary.structures.get(id).is_some_and(|structure| structure.sided);
        for (id, original) in &known.because {
            let samples = if sided(id) { Samples::sided(words) } else { Samples::whole(words) };
            if let Some(text) = Texts::new(&table, samples).text(id.as_str(), 260, original) {
                because.insert(id.clone(), text);
            }
        }
        table.done();
    }
    let name = name?;
    (because.len() == known.because.len()).then_some(Activity { name, because })
}

/// What clients read of the conditions' rules, by the original sentence: many rules share one.
fn tells(base: &Vocabulary, fields: &Fields<'_>, words: &Words) -> Option<BTreeMap<String, String>> {
    let rules = base.conditions.values().flat_map(|condition| &condition.rules);
    let wanted = rules.filter_map(|rule| rule.tell.as_deref());
    by_text(fields, "tells", wanted, 210, &Samples::whole(words), |_| false)
}

/// Reads a table whose keys are original texts. Each of `wanted` must be there, and no other, unless `spare` says so.
pub fn by_text<'w>(
    fields: &Fields<'_>,
    key: &str,
    wanted: impl Iterator<Item = &'w str>,
    limit: usize,
    samples: &Samples,
    spare: impl Fn(&str) -> bool,
) -> Option<BTreeMap<String, String>> {
    let wanted: std::collections::BTreeSet<&str> = wanted.collect();
    let table = match (fields.get(key), wanted.is_empty()) {
        (None, true) => return Some(BTreeMap::new()),
        (None, false) => fields.need(key)?.table()?,
        (Some(value), _) => value.table()?,
    };
    let (mut found, mut sound) = (BTreeMap::new(), true);
    for (original, value) in table.entries() {
        let known = wanted.contains(original.value.as_str());
        if !known && !spare(&original.value) {
            let help = meant(&original.value, wanted.iter().copied(), || {
                "take it out, or copy the text of the original as it is now".to_owned()
            });
            let message = "the original has no such text";
            fields.sink().report(Rule::TranslationDiffers, original.span, message, help);
            sound = false;
            continue;
        }
        match samples.template(&value, limit).filter(|text| same(&value, &Template::new(&original.value), text)) {
            Some(text) => drop(found.insert(original.value, text.source().to_owned())),
            None => sound = false,
        }
    }
    for original in wanted.iter().filter(|original| !found.contains_key(**original)) {
        if table.get(original).is_none() {
            let message = format!("`{key}` has no translation of “{original}”");
            let help = format!("add a line `\"{original}\" = ...`");
            fields.sink().report(Rule::MissingKey, table.span(), message, help);
        }
        sound = false;
    }
    sound.then_some(found)
}
