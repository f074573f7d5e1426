//! The smaller papers of a sheet: its plan alone, pocket cards, its diary alone, a booklet.
//!
//! Each is cut from the words of the sheet as its layout reads them, so that no paper can say something else. A list
//! names what a paper shows; nothing else of the sheet reaches its page.

use serde_json::{Map, Value as Json};

use crate::print::What;

/// Why a sheet has no such paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoPaper {
    /// It sends the client on.
    SeeSomeone,
    /// It has no exercise.
    NothingToDo,
    /// It is wanted in large type, and the paper's pages are small.
    SmallPages,
}

impl NoPaper {
    /// In words for the coach.
    pub const fn why(self) -> &'static str {
        match self {
            Self::SeeSomeone => "the sheet sends this client to see someone first, and has no plan",
            Self::NothingToDo => "the sheet has no exercise",
            Self::SmallPages => "its pages are too small for large type; `--type normal` makes one",
        }
    }
}

/// What every paper shows.
const ALWAYS: &[&str] = &[
    "doc",
    "brand",
    "client",
    "labels",
    "studio.name",
    "studio.logo_src",
    "studio.logo_alt",
    "studio.coach",
    "studio.phone",
    "studio.hours",
    "phases.letter",
    "phases.exercises.n",
    "phases.exercises.days",
];
/// What the plan alone shows.
const GLANCE: &[&str] = &[
    "message.goals",
    "message.main",
    "message.sub",
    "message.note",
    "rounds",
    "pain",
    "minutes",
    "kit",
    "dates",
    "phases.exercises.name",
    "phases.exercises.side",
    "phases.exercises.frames.src",
    "phases.exercises.frames.svg",
    "phases.exercises.frames.alt",
    "phases.exercises.frames.ratio",
    "phases.exercises.dose",
    "phases.exercises.for_you",
    "safety.zones.icon",
    "safety.zones.head",
    "safety.zones.for_you",
    "safety.zones.act",
];
/// What the plan alone shows in large type: what one page can hold.
const GLANCE_LARGE: &[&str] = &[
    "message.main",
    "message.sub",
    "pain",
    "dates",
    "phases.exercises.name",
    "phases.exercises.side",
    "phases.exercises.dose",
    "phases.exercises.for_you",
    "safety.zones.icon",
    "safety.zones.head",
    "safety.zones.for_you",
    "safety.zones.act",
];
/// What pocket cards show.
const CARDS: &[&str] = &[
    "pain",
    "minutes",
    "phases.exercises.name",
    "phases.exercises.side",
    "phases.exercises.frames.src",
    "phases.exercises.frames.svg",
    "phases.exercises.frames.alt",
    "phases.exercises.frames.ratio",
    "phases.exercises.dose",
    "phases.exercises.days_text",
    "phases.exercises.min",
    "phases.exercises.cautions",
    "phases.exercises.for_you",
    "safety.zones",
];
/// What the diary alone shows.
const DIARY: &[&str] = &[
    "pain",
    "diary",
    "phases.exercises.short",
    "safety.zones.icon",
    "safety.zones.head",
    "safety.zones.for_you",
    "safety.zones.act",
];

/// A paper of the sheet whose words are `sheet`, as data for the layout of its name.
///
/// # Errors
/// If the sheet has no such paper.
pub fn paper(what: What, sheet: &Json) -> Result<Json, NoPaper> {
    if sheet.get("see").is_some() {
        return Err(NoPaper::SeeSomeone);
    }
    if sheet["phases"].as_array().is_none_or(Vec::is_empty) {
        return Err(NoPaper::NothingToDo);
    }
    let large = sheet["doc"]["look"]["type"] == "large";
    if large && what == What::Booklet {
        return Err(NoPaper::SmallPages);
    }
    let shows: &[&str] = match what {
        What::Glance if large => GLANCE_LARGE,
        What::Glance => GLANCE,
        What::Cards => CARDS,
        What::Diary => DIARY,
        // The booklet is the whole handout on smaller pages.
        What::Booklet | What::Handout | What::Letter | What::Record => return Ok(titled(what, sheet.clone())),
    };
    let paths: Vec<&str> = ALWAYS.iter().chain(shows).copied().collect();
    let mut paper = keep(sheet, &paths);
    if what == What::Glance {
        send_to_cautions(sheet, &mut paper);
    }
    // What to do next time, and what is fine, is said by the pain scale.
    if let Some(zones) = paper["safety"]["zones"].as_array_mut() {
        zones.retain(|zone| matches!(zone["icon"].as_str(), Some("stop" | "call")));
    }
    Ok(titled(what, paper))
}

/// Says of which exercises the cautions stand on the sheet: one page has no room for all, and none may be lost.
fn send_to_cautions(sheet: &Json, paper: &mut Json) {
    let phases = sheet["phases"].as_array().into_iter().flatten();
    let cards = phases.flat_map(|phase| phase["exercises"].as_array().into_iter().flatten());
    let warned = cards.filter(|card| card["cautions"].as_array().is_some_and(|cautions| !cautions.is_empty()));
    let numbers: Vec<String> = warned.map(|card| card["n"].to_string()).collect();
    if let (Some(text), false) = (sheet["labels"]["papers"]["warned"].as_str(), numbers.is_empty()) {
        paper["warned"] = format!("{text} {}", numbers.join(", ")).into();
    }
}

/// The paper with its own kind and title: “Pocket cards: ...”.
fn titled(what: What, mut paper: Json) -> Json {
    let name = paper["labels"]["papers"][what.key()].as_str().unwrap_or_default().to_owned();
    let title = paper["doc"]["title"].as_str().unwrap_or_default();
    paper["doc"]["title"] = format!("{name}: {title}").into();
    paper["doc"]["kind"] = what.key().into();
    paper
}

/// The parts of `value` that lie on one of the `paths`, whose steps are keys; lists are looked through.
fn keep(value: &Json, paths: &[&str]) -> Json {
    match value {
        Json::Object(fields) => {
            let kept = fields.iter().filter_map(|(key, value)| {
                let within: Vec<&str> = paths
                    .iter()
                    .filter_map(|path| path.strip_prefix(key.as_str()))
                    .filter_map(|rest| if rest.is_empty() { Some("") } else { rest.strip_prefix('.') })
                    .collect();
                let whole = within.contains(&"");
                (!within.is_empty()).then(|| (key.clone(), if whole { value.clone() } else { keep(value, &within) }))
            });
            Json::Object(kept.collect::<Map<_, _>>())
        }
        Json::Array(items) => items.iter().map(|item| keep(item, paths)).collect(),
        Json::Null | Json::Bool(_) | Json::Number(_) | Json::String(_) => value.clone(),
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn a_paper_holds_what_it_names_and_nothing_else() {
        let sheet = json!({"a": {"b": [{"c": 1, "d": 2}, {"c": 3}], "e": 4}, "f": {"g": 5}, "abc": 6});
        assert_eq!(keep(&sheet, &["a.b.c", "f"]), json!({"a": {"b": [{"c": 1}, {"c": 3}]}, "f": {"g": 5}}));
    }

    #[test]
    fn a_sheet_without_a_plan_has_no_paper() {
        let sent_on = json!({"see": {}});
        assert_eq!(paper(What::Cards, &sent_on), Err(NoPaper::SeeSomeone));
        assert_eq!(paper(What::Booklet, &json!({"phases": []})), Err(NoPaper::NothingToDo));
        let large = json!({"doc": {"look": {"type": "large"}}, "phases": [{}]});
        assert_eq!(paper(What::Booklet, &large), Err(NoPaper::SmallPages));
    }
}
