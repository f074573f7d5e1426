//! `exercises/vocabulary.toml`.

use std::collections::BTreeMap;

use crate::diag::Rule;
use crate::fields::{Fields, Value};
use crate::ids::{Id, RegionId};
use crate::library::vocabulary::{
    Action, Activity, Condition, ConditionRule, Equipment, Flag, Level, PainScale, Position, Structure, StructureKind,
    Vocabulary,
};

use crate::words::Words;

use super::exercise::Samples;
use super::{features, known_id};

const KINDS: [(&str, StructureKind); 3] =
    [("muscle", StructureKind::Muscle), ("motion", StructureKind::Motion), ("skill", StructureKind::Skill)];

const ACTIONS: [(&str, Action); 3] =
    [("leave-out", Action::LeaveOut), ("needs-clearance", Action::NeedsClearance), ("caution", Action::Caution)];

/// Reads a table of named tables.
fn named<K: Id, T>(fields: &Fields<'_>, key: &str, build: impl Fn(&Fields<'_>) -> Option<T>) -> BTreeMap<K, T> {
    let mut found = BTreeMap::new();
    let Some(table) = fields.need(key).and_then(|value| value.table()) else {
        return found;
    };
    for (name, value) in table.entries() {
        let id = match K::new(&name.value) {
            Ok(id) => id,
            Err(bad) => {
                fields.sink().report(Rule::BadId, name.span, bad.to_string(), "use a name like `loop-band`");
                continue;
            }
        };
        if let Some(table) = value.table()
            && let Some(built) = build(&table)
        {
            table.done();
            found.insert(id, built);
        }
    }
    found
}

fn text(fields: &Fields<'_>, key: &str, limit: usize) -> Option<String> {
    fields.need(key).and_then(|value| value.text(limit)).map(|at| at.value)
}

fn optional(fields: &Fields<'_>, key: &str, limit: usize) -> Option<String> {
    fields.get(key).and_then(|value| value.text(limit)).map(|at| at.value)
}

pub fn read(fields: &Fields<'_>, words: &Words) -> Option<Vocabulary> {
    let mut vocabulary =
        Vocabulary { regions: named(fields, "regions", |f| text(f, "name", 30)), ..Vocabulary::default() };
    vocabulary.structures = named(fields, "structures", |f| {
        let name = text(f, "name", 40);
        let kind = f.need("kind").and_then(|v| v.one_of(&KINDS));
        let region = f.need("region").and_then(|v| v.id::<RegionId>());
        let region = region.and_then(|id| known_id(f.sink(), &id, vocabulary.regions.keys()));
        let sided = f.get("sided").and_then(|v| v.yes()).unwrap_or(true);
        // Kept for authors and for the book of the library; no sheet prints it.
        optional(f, "works", 160);
        Some(Structure { name: name?, kind: kind?, region: region?, sided })
    });
    vocabulary.equipment = named(fields, "equipment", |f| {
        let household = f.get("household").and_then(|v| v.yes()).unwrap_or(false);
        Some(Equipment { stand_in: optional(f, "stand_in", 60), name: text(f, "name", 60)?, household })
    });
    vocabulary.positions = named(fields, "positions", |f| {
        Some(Position { ask: optional(f, "ask", 160), swap: optional(f, "swap", 120), name: text(f, "name", 40)? })
    });
    vocabulary.tags = named(fields, "tags", |f| text(f, "name", 60));
    vocabulary.activities = named(fields, "activities", |f| {
        let name = text(f, "name", 40);
        let mut because = BTreeMap::new();
        if let Some(table) = f.get("because").and_then(|v| v.table()) {
            for (key, value) in table.entries() {
                read_because(f, words, &vocabulary, key, &value, &mut because);
            }
        }
        Some(Activity { name: name?, because })
    });
    let pain = fields.need("pain").and_then(|v| v.table()).and_then(|f| pain(&f));
    let lapses_months = fields.need("screening").and_then(|v| v.table()).and_then(|f| {
        let months = f.need("lapses_months").and_then(|v| v.whole(1, 60));
        text(&f, "source", 240);
        f.done();
        Some(months?.value)
    });
    vocabulary.flags = named(fields, "flags", |f| {
        let level = f.need("level").and_then(|v| {
            let level = v.one_of(&Level::ALL)?;
            if level.stops_program() {
                return Some(level);
            }
            v.refuse(
                Rule::BadValue,
                "a screening question must stop the program",
                "use emergency, same-day or refer-before; weaker things are conditions",
            )
        });
        let (ask, tell) = (text(f, "ask", 240), text(f, "tell", 120));
        text(f, "source", 200);
        Some(Flag { level: level?, ask: ask?, tell: tell? })
    });
    vocabulary.conditions = named(fields, "conditions", |f| {
        let name = text(f, "name", 120);
        let level = f.need("level").and_then(|v| v.one_of(&Level::ALL));
        text(f, "source", 240);
        let from_blood_pressure = f.get("from_blood_pressure").and_then(|v| v.table()).and_then(|f| {
            let (systolic, diastolic) = (f.need("systolic"), f.need("diastolic"));
            let read = |v: Option<Value<'_>>| v.and_then(|v| v.whole(60, 300)).map(|at| at.value);
            f.done();
            Some((read(systolic)?, read(diastolic)?))
        });
        let rules = f.tables("rules").iter().filter_map(|rule| read_rule(rule, &vocabulary)).collect();
        Some(Condition { name: name?, level: level?, from_blood_pressure, rules })
    });
    vocabulary.pain = pain?;
    vocabulary.lapses_months = lapses_months?;
    Some(vocabulary)
}

fn read_because(
    fields: &Fields<'_>,
    words: &Words,
    vocabulary: &Vocabulary,
    key: crate::fields::At<String>,
    value: &Value<'_>,
    because: &mut BTreeMap<crate::ids::StructureId, crate::template::Template>,
) {
    use crate::ids::StructureId;
    let sink = fields.sink();
    let id = match StructureId::new(&key.value) {
        Ok(id) => id,
        Err(bad) => {
            return sink.report(Rule::BadId, key.span, bad.to_string(), "use the name of a structure");
        }
    };
    let Some(id) = known_id(sink, &crate::fields::At { value: id, span: key.span }, vocabulary.structures.keys())
    else {
        return;
    };
    let sided = vocabulary.structures.get(&id).is_some_and(|structure| structure.sided);
    let samples = if sided { Samples::sided(words) } else { Samples::whole(words) };
    if let Some(template) = samples.template(value, 200) {
        because.insert(id, template);
    }
}

fn pain(fields: &Fields<'_>) -> Option<PainScale> {
    let fine_to = fields.need("fine_to").and_then(|v| v.whole(0, 9));
    let ease = fields.need("ease_to");
    let ease_to = ease.as_ref().and_then(|v| v.whole(1, 9));
    text(fields, "source", 240);
    let (in_test, sore) = (text(fields, "tell_in_test", 160), text(fields, "tell_sore", 160));
    fields.done();
    let scale =
        PainScale { fine_to: fine_to?.value, ease_to: ease_to?.value, tell_in_test: in_test?, tell_sore: sore? };
    if scale.ease_to > scale.fine_to {
        return Some(scale);
    }
    ease?.refuse(Rule::BadValue, "`ease_to` must be more than `fine_to`", "set three bands: fine, ease off, stop")
}

fn read_rule(fields: &Fields<'_>, vocabulary: &Vocabulary) -> Option<ConditionRule> {
    let action = fields.need("action").and_then(|v| v.one_of(&ACTIONS));
    let of = features(fields, vocabulary);
    let local = fields.get("local").and_then(|v| v.yes()).unwrap_or(false);
    let why = text(fields, "why", 240);
    let tell = optional(fields, "tell", 160);
    fields.done();
    let action = action?;
    if action == Action::Caution && tell.is_none() {
        fields.sink().report(
            Rule::MissingKey,
            fields.span(),
            "a caution has no `tell`",
            "add the sentence that the client reads on the card",
        );
        return None;
    }
    Some(ConditionRule { action, of, local, why: why?, tell })
}
