//! What a smaller paper may not leave out: the cautions of every exercise that it tells the client to do.

use serde_json::Value as Json;

use super::{Contradiction, Kind, numbers};

/// Every contradiction between a sheet and a paper that was cut from it.
pub fn contradictions_of_paper(sheet: &Json, paper: &Json) -> Vec<Contradiction> {
    let shown = exercises(paper);
    let sent_on: Vec<u32> = numbers(paper["warned"].as_str().unwrap_or_default());
    let mut found = Vec::new();
    for card in exercises(sheet) {
        // A paper that names an exercise without a dose, such as the diary, sends nobody to it.
        let Some(shown) = shown.iter().find(|shown| shown["n"] == card["n"] && !texts(&shown["dose"]).is_empty())
        else {
            continue;
        };
        let mut say = |what: &str| {
            let what = format!("“{}” shows exercise {}, and not {what}", paper["doc"]["title"], card["n"]);
            found.push(Contradiction { kind: Kind::Caution, what });
        };
        let sent_on = sent_on.iter().any(|n| card["n"] == *n);
        if !sent_on && texts(&shown["cautions"]) != texts(&card["cautions"]) {
            say("its cautions, nor where they stand");
        }
        if texts(&shown["for_you"]) != texts(&card["for_you"]) {
            say("what this client must mind in it");
        }
    }
    found
}

fn exercises(sheet: &Json) -> Vec<&Json> {
    let phases = sheet["phases"].as_array().into_iter().flatten();
    phases.flat_map(|phase| phase["exercises"].as_array().into_iter().flatten()).collect()
}

fn texts(list: &Json) -> &[Json] {
    list.as_array().map_or(&[], Vec::as_slice)
}
