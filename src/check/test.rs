//! `exercises/tests/*.toml`.

use crate::diag::Rule;
use crate::draw::is_motion;
use crate::fields::{Fields, Value};
use crate::ids::{FlagId, StructureId, TestId};
use crate::library::test::{
    Better, Evidence, HomeCheck, MeasuringError, Reference, Scale, SendsOn, Sex, Sign, Sourced, Test, TestWords,
};
use crate::library::vocabulary::{State, Vocabulary};
use crate::template::Template;
use crate::units::{Amount, Unit};
use crate::words::Words;

use super::exercise::Samples;
use super::{features, known_id, known_ids};

const SIDES: [(&str, bool); 2] = [("each", true), ("none", false)];
const SEXES: [(&str, Option<Sex>); 3] = [("any", None), ("female", Some(Sex::Female)), ("male", Some(Sex::Male))];

fn amount(value: &Value<'_>) -> Option<Amount> {
    value.number(-10_000.0, 10_000.0).and_then(|at| Amount::from_f64(at.value))
}

fn need_amount(fields: &Fields<'_>, key: &str) -> Option<Amount> {
    fields.need(key).and_then(|value| amount(&value))
}

fn text(fields: &Fields<'_>, key: &str, limit: usize) -> Option<String> {
    fields.need(key).and_then(|value| value.text(limit)).map(|at| at.value)
}

fn sourced(fields: &Fields<'_>, key: &str) -> Option<Sourced> {
    let table = fields.get(key)?.table()?;
    let value = table.get("change").or_else(|| table.get("above")).or_else(|| table.get("percent"));
    let source = text(&table, "source", 300);
    let found = match value {
        Some(value) => amount(&value),
        None => {
            table.need("above");
            None
        }
    };
    table.done();
    Some(Sourced { amount: found?, source: source? })
}

/// Reads a list of evidence.
fn evidence(tables: Vec<Fields<'_>>, vocabulary: &Vocabulary) -> Vec<Evidence> {
    tables
        .iter()
        .filter_map(|table| {
            let structure = table.need("structure").and_then(|v| v.id::<StructureId>());
            let structure = structure.and_then(|id| known_id(table.sink(), &id, vocabulary.structures.keys()));
            let state = table.need("state").and_then(|v| v.one_of(&State::ALL));
            let weight = table.need("weight").and_then(|v| v.number(0.0, 1.0));
            table.done();
            Some(Evidence { structure: structure?, state: state?, weight: weight?.value })
        })
        .collect()
}

fn reference(fields: &Fields<'_>) -> Option<Reference> {
    let sex = fields.need("sex").and_then(|v| v.one_of(&SEXES));
    let ages = fields.need("age").and_then(|v| v.table()).and_then(|f| {
        let (min, max) = (f.need("min").and_then(|v| v.whole(0, 130)), f.need("max").and_then(|v| v.whole(0, 130)));
        f.done();
        Some((min?.value, max?.value))
    });
    let low = fields.get("low").and_then(|v| amount(&v));
    let high = fields.get("high").and_then(|v| amount(&v));
    fields.get("words").and_then(|v| v.text(60));
    let source = text(fields, "source", 400);
    fields.done();
    if low.is_none() && high.is_none() {
        fields.sink().report(
            Rule::MissingKey,
            fields.span(),
            "a usual range has neither `low` nor `high`",
            "add at least one edge",
        );
        return None;
    }
    if let (Some(low), Some(high)) = (low, high)
        && low > high
    {
        fields.sink().report(Rule::BadValue, fields.span(), "`low` is above `high`", "put the two in order");
    }
    Some(Reference { sex: sex?, ages: ages?, low, high, source: source? })
}

fn error(fields: &Fields<'_>) -> Option<MeasuringError> {
    let sem = fields.get("sem").and_then(|v| amount(&v));
    let mdc95 = need_amount(fields, "mdc95");
    let source = text(fields, "source", 400);
    fields.done();
    Some(MeasuringError { sem, mdc95: mdc95?, source: source? })
}

fn sends_on(fields: &Fields<'_>, vocabulary: &Vocabulary) -> Option<SendsOn> {
    // `from` sends on at the figure itself, `beyond` only past it.
    let from = fields.get("from").and_then(|v| amount(&v));
    let inclusive = from.is_some();
    let beyond = if inclusive { from } else { need_amount(fields, "beyond") };
    let flag = fields.need("flag").and_then(|v| v.id::<FlagId>());
    let flag = flag.and_then(|id| known_id(fields.sink(), &id, vocabulary.flags.keys()));
    let source = text(fields, "source", 300);
    fields.done();
    Some(SendsOn { beyond: beyond?, inclusive, flag: flag?, source: source? })
}

fn range(fields: &Fields<'_>, key: &str) -> Option<(Amount, Amount)> {
    let value = fields.need(key)?;
    let table = value.table()?;
    let (min, max) = (need_amount(&table, "min"), need_amount(&table, "max"));
    table.done();
    let (min, max) = (min?, max?);
    if min < max {
        Some((min, max))
    } else {
        value.refuse(Rule::BadValue, format!("`{key}` must rise from min to max"), "put the two in order")
    }
}

fn scale(fields: &Fields<'_>) -> Option<Scale> {
    let value = fields.need("scale")?;
    let table = value.table()?;
    let (min, max, step) = (need_amount(&table, "min"), need_amount(&table, "max"), need_amount(&table, "step"));
    table.done();
    let scale = Scale { min: min?, max: max?, step: step? };
    let whole_steps = scale.step > Amount::default()
        && scale.max > scale.min
        && scale.max.minus(scale.min).to_nearest(scale.step) == scale.max.minus(scale.min);
    if whole_steps {
        Some(scale)
    } else {
        value.refuse(Rule::BadValue, "`scale` must go from min to max in whole steps", "choose round numbers")
    }
}

fn home(fields: &Fields<'_>, vocabulary: &Vocabulary, words: &Words) -> Option<HomeCheck> {
    let name = text(fields, "name", 24);
    let kit = known_ids(fields.sink(), fields.ids("kit"), vocabulary.equipment.keys());
    let steps: Vec<String> = fields.texts("steps", 140).into_iter().map(|at| at.value).collect();
    if !(2..=5).contains(&steps.len()) {
        fields.sink().report(
            Rule::BadValue,
            fields.span(),
            format!("the home check has {} steps", steps.len()),
            "write 2 to 5 steps, one action each",
        );
    }
    let samples = Samples::sided(words);
    let each_side = fields.get("each_side").and_then(|v| samples.template(&v, 40)).map(|heading| {
        // Words without a gap stand before the side.
        if heading.gaps().is_empty() { Template::new(format!("{} {{{{ side }}}}", heading.source())) } else { heading }
    });
    let note = text(fields, "note", 200);
    fields.done();
    Some(HomeCheck { name: name?, kit, steps, each_side, note: note? })
}

pub fn read(id: TestId, fields: &Fields<'_>, vocabulary: &Vocabulary, standing: &Words) -> Option<Test> {
    let sink = fields.sink();
    let name = text(fields, "name", 30);
    let about = text(fields, "about", 100);
    let unit = fields.need("unit").and_then(|v| v.one_of(&Unit::ALL));
    let sided = fields.need("sides").and_then(|v| v.one_of(&SIDES));
    let better = fields.need("better").and_then(|v| v.one_of(&Better::ALL));
    let resolution = need_amount(fields, "resolution");
    let possible = range(fields, "possible");
    let method = text(fields, "method", 300);
    let of = features(fields, vocabulary);
    let kit = known_ids(sink, fields.ids("kit"), vocabulary.equipment.keys());
    let how: Vec<String> = fields.texts("how", 240).into_iter().map(|at| at.value).collect();
    let pain_stops_at = fields.need("pain_stops_at").and_then(|v| v.whole(0, 10));
    let scale = scale(fields);
    let references: Vec<Reference> = fields.tables("reference").iter().filter_map(reference).collect();
    let error = fields.get("error").and_then(|v| v.table()).and_then(|f| error(&f));
    let worthwhile = sourced(fields, "worthwhile");
    let side_difference = sourced(fields, "side_difference");
    let judged = fields.get("verdict").and_then(|v| v.yes()).unwrap_or(true);
    let motion = fields.get("motion").and_then(|v| {
        let name = v.text(40)?;
        if is_motion(&name.value) {
            return Some(name.value);
        }
        v.refuse(
            Rule::UnknownName,
            format!("there is no joint motion `{}`", name.value),
            "name it as pose files do, such as `shoulder.flexion`, or take the line out",
        )
    });
    let sends_on = fields.tables("sends_on").iter().filter_map(|table| sends_on(table, vocabulary)).collect();
    let samples = if sided == Some(true) { Samples::sided(standing) } else { Samples::whole(standing) };
    let mut signs: Vec<Sign> = Vec::new();
    for table in fields.tables("signs") {
        let id = text(&table, "id", 40);
        let see = text(&table, "see", 120);
        let say = table.need("say").and_then(|v| samples.template(&v, 120));
        let evidence = evidence(table.tables("evidence"), vocabulary);
        table.done();
        if let (Some(id), Some(see), Some(say)) = (id, see, say) {
            if signs.iter().any(|sign| sign.id == id) {
                sink.report(Rule::Duplicate, table.span(), format!("two signs are called `{id}`"), "rename one");
            }
            signs.push(Sign { id, see, say, evidence });
        }
    }
    let limited = evidence(fields.tables("limited"), vocabulary);
    let fine = evidence(fields.tables("fine"), vocabulary);
    let words = fields.need("words").and_then(|v| v.table()).and_then(|f| {
        let both = Samples::whole(standing);
        let one = |key: &str, limit: usize| f.get(key).and_then(|v| samples.template(&v, limit));
        let (limited, meaning) = (one("limited", 60), one("meaning", 240));
        let whole = |key: &str, limit: usize| f.need(key).and_then(|v| both.template(&v, limit));
        let (limited_both, meaning_both) = (whole("limited_both", 60), whole("meaning_both", 240));
        let fine = whole("fine", 80);
        if sided == Some(true) && (limited.is_none() || meaning.is_none()) {
            sink.report(
                Rule::MissingKey,
                f.span(),
                "the words for one side are missing",
                "add `limited` and `meaning`",
            );
        }
        f.done();
        let plain = |template: crate::template::Template| template.source().to_owned();
        Some(TestWords {
            limited,
            limited_both: plain(limited_both?),
            meaning,
            meaning_both: plain(meaning_both?),
            fine: plain(fine?),
        })
    });
    let grades: Vec<String> = fields
        .get("grades")
        .and_then(|v| v.table())
        .map(|f| {
            let names = f.texts("names", 30).into_iter().map(|at| at.value).collect();
            f.done();
            names
        })
        .unwrap_or_default();
    if unit == Some(Unit::Grade) && grades.len() != 3 {
        sink.report(
            Rule::MissingKey,
            fields.span(),
            "a graded test needs three grades",
            "add `[grades]` with three `names`, worst first",
        );
    }
    let home = fields.get("home").and_then(|v| v.table()).and_then(|f| home(&f, vocabulary, standing));
    let corrections = super::corrections(fields);
    Some(Test {
        id,
        name: name?,
        about: about?,
        unit: unit?,
        sided: sided?,
        better: better?,
        resolution: resolution?,
        possible: possible?,
        method: method?,
        motion,
        sends_on,
        features: of,
        kit,
        how,
        pain_stops_at: pain_stops_at?.value,
        scale: scale?,
        references,
        error,
        worthwhile,
        side_difference,
        judged,
        grades,
        signs,
        limited,
        fine,
        words: words?,
        home,
        corrections,
    })
}
