//! `exercises/tests/<id>.<language>.toml`.

use crate::check::exercise::Samples;
use crate::fields::Fields;
use crate::library::test::{HomeCheck, Sign, Test, TestWords};
use crate::words::Words;

use super::{Texts, by_id};

pub fn read(base: &Test, fields: &Fields<'_>, words: &Words) -> Option<Test> {
    let of_side = || if base.sided { Samples::sided(words) } else { Samples::whole(words) };
    let texts = Texts::new(fields, Samples::whole(words));
    let (name, about) = (texts.plain("name", 40, &base.name), texts.plain("about", 140, &base.about));
    let ids = base.signs.iter().map(|sign| sign.id.clone()).collect();
    let signs = by_id(fields, "signs", ids).and_then(|tables| {
        let said = tables.iter().zip(&base.signs).filter_map(|(table, sign)| {
            let say = Texts::new(table, of_side()).text("say", 160, &sign.say);
            table.done();
            Some(Sign { say: say?, ..sign.clone() })
        });
        let signs: Vec<Sign> = said.collect();
        (signs.len() == base.signs.len()).then_some(signs)
    });
    let said = fields.need("words").and_then(|v| v.table()).and_then(|table| {
        let (one, both) = (Texts::new(&table, of_side()), Texts::new(&table, Samples::whole(words)));
        let original = &base.words;
        let maybe = |key: &str, limit: usize, original: &Option<crate::template::Template>| match original {
            Some(original) => one.text(key, limit, original).map(Some),
            None => Some(None),
        };
        let (limited, meaning) = (maybe("limited", 80, &original.limited), maybe("meaning", 310, &original.meaning));
        let limited_both = both.plain("limited_both", 80, &original.limited_both);
        let meaning_both = both.plain("meaning_both", 310, &original.meaning_both);
        let fine = both.plain("fine", 105, &original.fine);
        table.done();
        Some(TestWords {
            limited: limited?,
            limited_both: limited_both?,
            meaning: meaning?,
            meaning_both: meaning_both?,
            fine: fine?,
        })
    });
    let grades = if base.grades.is_empty() {
        Some(Vec::new())
    } else {
        fields.need("grades").and_then(|v| v.table()).and_then(|table| {
            let grades = Texts::new(&table, Samples::whole(words)).plain_list("names", 40, &base.grades);
            table.done();
            grades
        })
    };
    let home = match &base.home {
        None => Some(None),
        Some(base) => fields.need("home").and_then(|v| v.table()).and_then(|f| home(base, &f, words)).map(Some),
    };
    Some(Test { name: name?, about: about?, signs: signs?, words: said?, grades: grades?, home: home?, ..base.clone() })
}

fn home(base: &HomeCheck, fields: &Fields<'_>, words: &Words) -> Option<HomeCheck> {
    let texts = Texts::new(fields, Samples::whole(words));
    let name = texts.plain("name", 32, &base.name);
    let steps = texts.plain_list("steps", 180, &base.steps);
    let each_side = match &base.each_side {
        Some(original) => Texts::new(fields, Samples::sided(words)).text("each_side", 50, original).map(Some),
        None => Some(None),
    };
    let note = texts.plain("note", 260, &base.note);
    fields.done();
    Some(HomeCheck { name: name?, kit: base.kit.clone(), steps: steps?, each_side: each_side?, note: note? })
}
