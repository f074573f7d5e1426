//! The words and numbers of one printed sheet, final: layouts place them and decide nothing.
//!
//! Every text under a key that [`printed`] does not skip must reach the page; the typeset stage checks that it did.

use serde::Serialize;
use serde_json::Value as Json;

use crate::body::Side;
use crate::brand::Brand;
use crate::ids::TestId;
use crate::print::Anchor;
use crate::print::Look;

/// One sheet.
#[derive(Clone, Debug, Serialize)]
pub struct Handout {
    /// What kind of sheet, whose, when.
    pub doc: Doc,
    /// Who prints.
    pub studio: Studio,
    /// Colours and typefaces.
    pub brand: House,
    /// The client's name.
    pub client: Person,
    /// Standing labels.
    pub labels: Json,
    /// Greeting and main message.
    pub message: Message,
    /// A plan, or the page that sends the client on.
    #[serde(flatten)]
    pub body: Body,
}

/// What a sheet is for.
#[derive(Clone, Debug, Serialize)]
#[serde(untagged)]
pub enum Body {
    /// A plan with findings, exercises, checks, diary and safety.
    Plan(Box<Plan>),
    /// No plan: see someone first.
    SeeSomeone {
        /// The page.
        see: Box<SeeSomeone>,
    },
}

/// Facts about the document.
#[derive(Clone, Debug, Serialize)]
pub struct Doc {
    /// `plan`, `well` or `see-someone`.
    pub kind: &'static str,
    /// Language.
    pub lang: String,
    /// Region of the language.
    pub region: Option<String>,
    /// Title for the window bar; holds no finding.
    pub title: String,
    /// Number of the sheet, per client.
    pub sheet: u32,
    /// Day of the visit, in words.
    pub date: String,
    /// Day of the visit as year, month, day.
    pub ymd: [i32; 3],
    /// Paper, type, ink.
    pub look: Look,
    /// That no fluent reader has read the language of the sheet; its other papers say it too.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub draft: Option<String>,
}

/// Who prints.
#[derive(Clone, Debug, Serialize)]
pub struct Studio {
    /// Name.
    pub name: String,
    /// Logo file, served by the typeset stage.
    pub logo_src: Option<String>,
    /// What the logo shows.
    pub logo_alt: String,
    /// The coach.
    pub coach: String,
    /// Telephone.
    pub phone: String,
    /// Mail.
    pub email: Option<String>,
    /// When the coach answers.
    pub hours: String,
    /// What the coach is.
    pub role: String,
    /// Where to find them.
    pub address: Option<String>,
}

/// Colours and typefaces of a practice.
#[derive(Clone, Debug, Serialize)]
pub struct House {
    /// Colour of text, as hex.
    pub ink: String,
    /// Accent, as hex.
    pub accent: String,
    /// Its own typefaces, before those of the layouts.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub typefaces: Vec<String>,
}

impl House {
    pub(super) fn of(brand: &Brand) -> Self {
        Self { ink: brand.ink.to_hex(), accent: brand.accent.to_hex(), typefaces: brand.typefaces.clone() }
    }
}

/// A client's name.
#[derive(Clone, Debug, Serialize)]
pub struct Person {
    /// In full.
    pub name: String,
}

/// Greeting and main message.
#[derive(Clone, Debug, Serialize)]
pub struct Message {
    /// The one heading of the first level.
    pub greeting: String,
    /// Goals, in the client's words.
    pub goals: Vec<String>,
    /// The main message, one or two sentences.
    pub main: Vec<String>,
    /// One line under it.
    pub sub: String,
    /// A line from the coach.
    pub note: Option<String>,
    /// Why the sheet is not in the client's language, in theirs and in its own.
    pub language: Vec<InLanguage>,
}

/// A sentence with its language.
#[derive(Clone, Debug, Serialize)]
pub struct InLanguage {
    /// The language.
    pub lang: String,
    /// The sentence.
    pub text: String,
}

/// The parts of a plan.
#[derive(Clone, Debug, Serialize)]
pub struct Plan {
    /// What changed since the last sheet, if there was one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub changed: Option<Changed>,
    /// How a round is counted, and what each side means.
    pub rounds: Vec<String>,
    /// The pain scale, if there is anything to do.
    pub pain: Vec<PainBand>,
    /// Where to read on about pain, without the page number, which the layout knows.
    pub pain_pointer: Option<[String; 2]>,
    /// Minutes on each day of the week.
    pub minutes: [u32; 7],
    /// What is needed, a sentence for exercises and one for checks.
    pub kit: Vec<String>,
    /// Days that matter.
    pub dates: Dates,
    /// What the tests can and cannot tell.
    pub limits: String,
    /// What is limited.
    pub findings: Vec<Finding>,
    /// What came out well.
    pub well: Vec<Well>,
    /// What was measured without a judgement.
    pub measured: Vec<Well>,
    /// Exercises by phase.
    pub phases: Vec<Phase>,
    /// Home checks.
    pub checks: Checks,
    /// The diary, if there is anything to do.
    pub diary: Option<Diary>,
    /// The safety page.
    pub safety: Safety,
}

/// What changed since the last sheet.
#[derive(Clone, Debug, Serialize)]
pub struct Changed {
    /// How to read the charts, if there are any.
    pub lead: Vec<String>,
    /// What must be heard first, if anything: whom to see.
    pub first: Vec<String>,
    /// How it was kept up, and how it felt.
    pub kept: Vec<String>,
    /// One chart a test and side.
    pub charts: Vec<Chart>,
    /// What was measured again, without a chart.
    pub more: Vec<String>,
    /// The last program beside this one.
    pub rows: Vec<ChangeRow>,
}

/// One test on one side over all visits.
#[derive(Clone, Debug, Serialize)]
pub struct Chart {
    /// Side and test.
    pub name: String,
    /// Lower end of the axis.
    pub min: f64,
    /// Upper end.
    pub max: f64,
    /// Distance between marks.
    pub step: f64,
    /// The usual range; missing edges end at the axis.
    pub usual: Option<[f64; 2]>,
    /// Half-width of the error strip: the smallest change that counts.
    pub noise: Option<f64>,
    /// The visits, oldest first.
    pub points: Vec<ChartPoint>,
    /// Which sign stands beside the verdict.
    pub icon: &'static str,
    /// The verdict in a few words.
    pub verdict: String,
    /// By how much, and what that means.
    pub words: String,
    /// The whole picture in words.
    pub alt: String,
}

/// One visit in a chart.
#[derive(Clone, Debug, Serialize)]
pub struct ChartPoint {
    /// The reading.
    pub at: f64,
    /// When, as a share of the time from the first to the last.
    pub time: f64,
    /// The day.
    pub day: String,
    /// The value with its unit.
    pub value: String,
}

/// One exercise of the last program or of this one.
#[derive(Clone, Debug, Serialize)]
pub struct ChangeRow {
    /// Its number now, if it is in.
    pub n: Option<u32>,
    /// Its name.
    pub name: String,
    /// What is different.
    pub tag: Tag,
    /// What to do.
    pub what: String,
    /// Why.
    pub why: String,
}

/// What is different about an exercise, in a word.
#[derive(Clone, Debug, Serialize)]
pub struct Tag {
    /// Its sign: `same`, `up`, `down`, `new`, `out`, `swap`.
    pub icon: &'static str,
    /// Its word.
    pub word: String,
}

/// One band of the pain scale.
#[derive(Clone, Debug, Serialize)]
pub struct PainBand {
    /// First number.
    pub from: u32,
    /// Last number.
    pub to: u32,
    /// What to do, in one or two words.
    pub word: String,
}

/// Days that matter.
#[derive(Clone, Debug, Serialize)]
pub struct Dates {
    /// First day of the program.
    pub first: Option<String>,
    /// Check days.
    pub checks: Vec<String>,
    /// Next visit.
    pub next: Option<String>,
}

/// One limited test.
#[derive(Clone, Debug, Serialize)]
pub struct Finding {
    /// Title.
    pub title: String,
    /// The test that found it.
    #[serde(skip)]
    pub found_by: TestId,
    /// The side that its picture shows; none if both are limited or it has no sides.
    #[serde(skip)]
    pub shown: Option<Side>,
    /// A picture of the test, where there is room for it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub frames: Vec<Frame>,
    /// What it may mean, what was seen, what works on it.
    pub sentences: Vec<String>,
    /// Numbers of the exercises that its last sentence names.
    pub works_on: Vec<u32>,
    /// The test's name and what it shows.
    pub test: String,
    /// The bars, if the test is read in numbers.
    pub bar: Option<Bar>,
    /// The words for each side, if it is read in grades.
    pub grades: Vec<GradeLine>,
}

/// A graded result.
#[derive(Clone, Debug, Serialize)]
pub struct GradeLine {
    /// The side, if there is one.
    pub label: Option<String>,
    /// The grade in words.
    pub grade: String,
}

/// The picture of a reading: one lane a side.
#[derive(Clone, Debug, Serialize)]
pub struct Bar {
    /// Left end of the axis.
    pub min: f64,
    /// Right end.
    pub max: f64,
    /// Distance between marks.
    pub step: f64,
    /// Lower and upper edge of the usual range; missing edges end at the axis.
    pub usual: Option<[f64; 2]>,
    /// The usual range in words, or that there is none.
    pub usual_text: String,
    /// Half-width of the error strip: the smallest change that counts.
    pub noise: Option<f64>,
    /// Lanes, left first.
    pub lanes: Vec<Lane>,
    /// The whole picture in words.
    pub alt: String,
}

/// One side of a bar.
#[derive(Clone, Debug, Serialize)]
pub struct Lane {
    /// Side; empty for tests without sides.
    pub label: String,
    /// How it compares, in words.
    pub band: String,
    /// Whether it is the side to work on.
    pub focus: bool,
    /// Where the dot lies.
    pub at: f64,
    /// The value with its unit.
    pub value: String,
    /// Last time's dot and value.
    pub before: Option<BeforeDot>,
}

/// Last time's reading.
#[derive(Clone, Debug, Serialize)]
pub struct BeforeDot {
    /// Where it lies.
    pub at: f64,
    /// The value with its unit.
    pub value: String,
}

/// A test that came out well.
#[derive(Clone, Debug, Serialize)]
pub struct Well {
    /// One line.
    pub line: String,
    /// The values, left and right.
    pub values: String,
}

/// A phase of the program.
#[derive(Clone, Debug, Serialize)]
pub struct Phase {
    /// Its letter.
    pub letter: String,
    /// Its name.
    pub name: String,
    /// What it is for.
    pub purpose: String,
    /// Its exercises.
    pub exercises: Vec<Exercise>,
}

/// One exercise card.
#[derive(Clone, Debug, Serialize)]
pub struct Exercise {
    /// Number on every paper.
    pub n: u32,
    /// Name.
    pub name: String,
    /// The same name, short.
    pub short: String,
    /// What is different since the last sheet, if there was one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tag: Option<Tag>,
    /// `left`, `right`, `each` or `both`.
    pub side: &'static str,
    /// What to do about the second side.
    pub side_note: Option<String>,
    /// What it is for.
    pub purpose: String,
    /// Start position.
    pub start: String,
    /// The client's version.
    pub version: String,
    /// Steps.
    pub steps: Vec<String>,
    /// Pictures.
    pub frames: Vec<Frame>,
    /// Dose parts in the fixed order.
    pub dose: Vec<DosePart>,
    /// How hard it should feel, and how long each time takes.
    pub effort: String,
    /// Seconds that each time takes, with its hold; none if a round is one hold.
    pub each_s: Option<u32>,
    /// Days of the week.
    pub days: [bool; 7],
    /// The days in words.
    pub days_text: String,
    /// Minutes with set-up.
    pub min: u32,
    /// What to feel.
    pub feel: String,
    /// What not to feel.
    pub not_feel: String,
    /// The common slip.
    pub slip: String,
    /// What to do if it is too hard.
    pub easier: String,
    /// When it is too easy, and what to do then.
    pub harder: [String; 2],
    /// Cautions for everyone.
    pub cautions: Vec<String>,
    /// Cautions for this client.
    pub for_you: Vec<String>,
    /// A film of it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub video: Option<Video>,
}

/// A film of an exercise.
#[derive(Clone, Debug, Serialize)]
pub struct Video {
    /// Its address, as it is typed.
    pub text: String,
    /// What its square code is for.
    pub alt: String,
    /// The square code, which the draw stage adds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub svg: Option<String>,
}

/// One picture.
#[derive(Clone, Debug, Serialize)]
pub struct Frame {
    /// File, served by the typeset stage.
    pub src: String,
    /// What it shows.
    pub alt: String,
    /// A few words for under it.
    pub caption: Option<String>,
    /// The drawing itself, for a picture that is not a file of the practice.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub svg: Option<String>,
    /// Height over width, if it is known.
    pub ratio: Option<f64>,
    /// Whether it shows how not to do it; then it is never the one picture of an exercise.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub wrong: bool,
    /// Words at marks of the drawing.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub marks: Vec<FrameLabel>,
}

/// One part of a dose.
#[derive(Clone, Debug, Serialize)]
pub struct DosePart {
    /// Which icon: `rounds`, `times`, `hold`, `slow`, `rest`.
    pub icon: &'static str,
    /// The number.
    pub n: u32,
    /// Its unit, in words.
    pub unit: String,
}

/// Home checks.
#[derive(Clone, Debug, Serialize)]
pub struct Checks {
    /// How to go about them.
    pub lead: Vec<String>,
    /// The checks.
    pub rows: Vec<Check>,
    /// Days of the checks, the visit first.
    pub days: Vec<String>,
}

/// Words at a mark of a drawing.
#[derive(Clone, Debug, Serialize)]
pub struct FrameLabel {
    /// The words.
    pub text: String,
    /// Which part of them stands at the place: left edge, middle or right edge.
    pub anchor: Anchor,
    /// Their place, as a share of the picture's width.
    pub across: f64,
    /// Their middle, as a share of the picture's height.
    pub down: f64,
}

/// One home check.
#[derive(Clone, Debug, Serialize)]
pub struct Check {
    /// Name.
    pub name: String,
    /// The test that it repeats.
    #[serde(skip)]
    pub test: TestId,
    /// The side that its pictures show; none if both need work or it has no sides.
    #[serde(skip)]
    pub shown: Option<Side>,
    /// Pictures, the last ones of how not to do it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub frames: Vec<Frame>,
    /// Steps.
    pub steps: Vec<String>,
    /// Pain limit, longest time, shoes.
    pub note: String,
    /// What this client's conditions ask for on top.
    pub for_you: Vec<String>,
    /// Column heads: left and right, or one for the whole body.
    pub columns: Vec<String>,
    /// Readings at the visit, one a column.
    pub start: Vec<String>,
    /// The unit of the cells.
    pub unit: String,
    /// From where a change is real: for the better, for the worse.
    pub changes: Vec<Threshold>,
    /// That nobody knows, if so.
    pub unknown: Option<String>,
}

/// From where a change is real, one way.
#[derive(Clone, Debug, Serialize)]
pub struct Threshold {
    /// Which way, and what to do.
    pub label: String,
    /// The reading, one a column; none where it cannot be reached.
    pub values: Vec<Option<String>>,
}

/// The diary.
#[derive(Clone, Debug, Serialize)]
pub struct Diary {
    /// How to fill it in.
    pub lead: String,
    /// Weeks.
    pub weeks: Vec<Week>,
}

/// One week of the diary.
#[derive(Clone, Debug, Serialize)]
pub struct Week {
    /// Number.
    pub n: u32,
    /// From when.
    pub from: String,
    /// Which day is a check day, Monday 0.
    pub check: Option<usize>,
    /// Which days come before the next visit, Monday first: later ones are not ticked on this sheet.
    pub days: [bool; 7],
    /// The day of the next visit, if it falls in this week.
    pub visit: Option<String>,
}

/// The safety page.
#[derive(Clone, Debug, Serialize)]
pub struct Safety {
    /// Zones, most urgent first.
    pub zones: Vec<Zone>,
    /// How to make the place safe.
    pub home: Vec<String>,
    /// What was left out, and why.
    pub left_out: Vec<[String; 2]>,
    /// Good to know.
    pub know: Vec<String>,
}

/// One zone.
#[derive(Clone, Debug, Serialize)]
pub struct Zone {
    /// Which icon and frame: `stop`, `call`, `easier`, `ok`.
    pub icon: &'static str,
    /// Heading.
    pub head: String,
    /// Signs for this person, first.
    pub for_you: Vec<String>,
    /// Signs for everyone.
    pub items: Vec<String>,
    /// What to do.
    pub act: Vec<String>,
}

/// The page that sends a client on.
#[derive(Clone, Debug, Serialize)]
pub struct SeeSomeone {
    /// Whether it is an emergency.
    pub urgent: bool,
    /// What to do, first thing.
    pub act: Vec<String>,
    /// What the client told us.
    pub why: Vec<String>,
    /// Heading of the next part, and what it says.
    pub meanwhile: Vec<String>,
    /// The signs to stop for at once; in an emergency the page says that already.
    pub zone: Option<Zone>,
    /// When the coach answers.
    pub answers: Vec<String>,
    /// Scope.
    pub know: Vec<String>,
}

/// Keys whose texts are not printed as words: files, alternative texts, codes, the labels' own list, and the points of a
/// chart, of which a narrow one labels the first and the last; its alternative text holds them all.
const NOT_PRINTED: [&str; 17] = [
    "svg", "points", "labels", "lang", "region", "title", "kind", "look", "brand", "alt", "src", "logo_src",
    "logo_alt", "side", "icon", "letter", "anchor",
];

/// Every text of a sheet that must be seen on paper.
pub fn printed(sheet: &Json) -> Vec<&str> {
    fn walk<'a>(value: &'a Json, found: &mut Vec<&'a str>) {
        match value {
            Json::String(text) => found.push(text),
            Json::Array(items) => items.iter().for_each(|item| walk(item, found)),
            Json::Object(fields) => fields
                .iter()
                .filter(|(key, _)| !NOT_PRINTED.contains(&key.as_str()))
                .for_each(|(_, item)| walk(item, found)),
            Json::Null | Json::Bool(_) | Json::Number(_) => {}
        }
    }
    let mut found = Vec::new();
    walk(sheet, &mut found);
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn alternative_texts_and_codes_are_not_looked_for_on_paper() {
        let sheet =
            serde_json::json!({"labels": {"a": "x"}, "name": "Ana", "frames": [{"alt": "y", "src": "z"}], "n": 3});
        assert_eq!(printed(&sheet), ["Ana"]);
    }
}
