//! A look at finished pages: missing glyphs, things beyond the edge, and texts that never arrived.

use std::collections::BTreeSet;

use serde_json::Value as Json;
use typst::introspection::{Location, Tag};
use typst::layout::{Abs, Frame, FrameItem, Point, Transform};
use typst::model::{FigureElem, HeadingElem, TableElem};
use typst_layout::PagedDocument;

use crate::diag::{Problem, Rule};
use crate::template::{END_OF_ISOLATE, FIRST_STRONG, runs_right_to_left};
use crate::word::handout::printed;

use super::About;

/// Office printers lose at least this much at each edge (handout-quality 6.4 gives 4 to 6 mm).
const UNPRINTABLE: Abs = Abs::raw(4.0 * 72.0 / 25.4);

/// Where a piece of text stands on its page, in points.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// The text.
    pub text: String,
    /// Left edge.
    pub left: f64,
    /// Right edge.
    pub right: f64,
    /// Baseline, from the top.
    pub baseline: f64,
    /// Type size as printed.
    pub size: f64,
    /// Whether it stands in a column of text, outside tables and drawings.
    pub prose: bool,
}

/// One page as it will be printed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PageFacts {
    /// Width and height, in points.
    pub size: (f64, f64),
    /// Texts in the order of the page.
    pub pieces: Vec<Piece>,
    /// Headings that start here: level and text.
    pub headings: Vec<(usize, String)>,
    /// How far down anything reaches above the foot, in points: text, lines, pictures.
    pub lowest: f64,
}

/// All pages of a document.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Facts {
    /// The pages.
    pub pages: Vec<PageFacts>,
}

#[derive(Default)]
struct Seen {
    page: PageFacts,
    missing: BTreeSet<char>,
    off: Vec<String>,
    /// Tables and drawings that are open here.
    open: Vec<Location>,
}

impl Seen {
    /// Notes how far down something reaches, unless it stands in the foot.
    fn reaches(&mut self, down: f64) {
        if down < self.page.size.1 - FOOT {
            self.page.lowest = self.page.lowest.max(down);
        }
    }
}

/// Facts about the pages of one sheet, and everything wrong with them.
pub fn inspect(document: &PagedDocument, sheet: &Json, about: &About<'_>) -> (Facts, Vec<Problem>) {
    let mut facts = Facts::default();
    let mut problems = Vec::new();
    let mut missing = BTreeSet::new();
    let mut lines = Vec::new();
    let bare = sheet.pointer("/doc/bare").is_some_and(|bare| *bare == Json::Bool(true));
    for (number, seen) in (1..).zip(look(document)) {
        missing.extend(seen.missing);
        for text in seen.off {
            problems.push(
                about
                    .problem(Rule::OffPage, format!("on page {number} this does not fit the paper: {text}"))
                    .help("shorten the text, or correct the layout"),
            );
        }
        lines.push(live_text(&seen.page, number == 1 || bare, bare));
        facts.pages.push(seen.page);
    }
    for c in &missing {
        problems.push(no_glyph(*c, sheet, about));
    }
    // A character without a glyph is on the page as a box: the one message is enough.
    if missing.is_empty() {
        problems.extend(lost(&lines.concat(), sheet, about));
    }
    (facts, problems)
}

/// Facts about the pages.
pub fn facts(document: &PagedDocument) -> Facts {
    Facts { pages: look(document).into_iter().map(|seen| seen.page).collect() }
}

fn look(document: &PagedDocument) -> Vec<Seen> {
    let mut open = Vec::new();
    document
        .pages()
        .iter()
        .map(|page| {
            let size = page.frame.size();
            let mut seen = Seen {
                page: PageFacts { size: (size.x.to_pt(), size.y.to_pt()), ..PageFacts::default() },
                // A table may go on overleaf.
                open: std::mem::take(&mut open),
                ..Seen::default()
            };
            walk(&page.frame, Transform::identity(), &mut seen);
            open.clone_from(&seen.open);
            seen
        })
        .collect()
}

fn walk(frame: &Frame, transform: Transform, seen: &mut Seen) {
    for (position, item) in frame.items() {
        let at = transform.pre_concat(Transform::translate(position.x, position.y));
        match item {
            FrameItem::Group(group) => walk(&group.frame, at.pre_concat(group.transform), seen),
            FrameItem::Text(text) => {
                let start = Point::zero().transform(at);
                let end = Point::new(text.width(), Abs::zero()).transform(at);
                for glyph in text.glyphs.iter().filter(|glyph| glyph.id == 0) {
                    seen.missing.extend(text.text[glyph.range()].chars().filter(|c| !c.is_control()));
                }
                let edge = UNPRINTABLE.to_pt();
                let (width, height) = seen.page.size;
                let piece = Piece {
                    text: text.text.to_string(),
                    left: start.x.to_pt().min(end.x.to_pt()),
                    right: start.x.to_pt().max(end.x.to_pt()),
                    baseline: start.y.to_pt(),
                    size: text.size.to_pt() * at.sy.get().abs(),
                    prose: seen.open.is_empty(),
                };
                let inside = piece.left >= edge
                    && piece.right <= width - edge
                    && piece.baseline >= edge
                    && piece.baseline <= height - edge;
                if !inside && !piece.text.trim().is_empty() {
                    seen.off.push(format!("“{}”", piece.text));
                }
                seen.reaches(piece.baseline);
                seen.page.pieces.push(piece);
            }
            FrameItem::Image(_, size, _) => {
                let end = Point::new(size.x, size.y).transform(at);
                seen.reaches(end.y.to_pt());
                let (width, height) = seen.page.size;
                if end.x.to_pt() > width || end.y.to_pt() > height {
                    seen.off.push("a picture".to_owned());
                }
            }
            FrameItem::Shape(shape, _) => seen.reaches(shape.bbox(false).max.transform(at).y.to_pt()),
            FrameItem::Link(..) => {}
            FrameItem::Tag(Tag::Start(element, _)) => {
                if element.is::<TableElem>() || element.is::<FigureElem>() {
                    seen.open.extend(element.location());
                }
                if let Some(heading) = element.to_packed::<HeadingElem>() {
                    let level = heading.resolve_level(typst::foundations::StyleChain::default()).get();
                    seen.page.headings.push((level, heading.body.plain_text().to_string()));
                }
            }
            FrameItem::Tag(Tag::End(location, ..)) => seen.open.retain(|open| open != location),
        }
    }
}

/// Height of the running head and of the foot, in points: their texts stand between those of the body (layouts/theme.typ).
const HEAD: f64 = 18.5 * 72.0 / 25.4;
const FOOT: f64 = 17.0 * 72.0 / 25.4;

/// The body's text without any white space. Where there is no running head or foot, that part is body too.
fn live_text(page: &PageFacts, headless: bool, footless: bool) -> String {
    page.pieces
        .iter()
        .filter(|piece| headless || piece.baseline > HEAD)
        .filter(|piece| footless || piece.baseline < page.size.1 - FOOT)
        .flat_map(|piece| piece.text.chars())
        .filter(|c| is_ink(*c))
        .collect()
}

fn is_ink(c: char) -> bool {
    let unseen = matches!(c, '\u{200b}' | '\u{2060}' | '\u{feff}' | '\u{200e}' | '\u{200f}');
    !c.is_whitespace() && !unseen && c != FIRST_STRONG && c != END_OF_ISOLATE
}

/// Texts of the sheet that are nowhere on its pages.
fn lost(body: &str, sheet: &Json, about: &About<'_>) -> Vec<Problem> {
    printed(sheet)
        .into_iter()
        .filter(|text| {
            let words: Vec<String> =
                text.split_whitespace().map(|word| word.chars().filter(|c| is_ink(*c)).collect()).collect();
            // A text in a column that goes on overleaf stands in two pieces, with the other columns between them. One with
            // a script that runs the other way stands in more, in the order of the page: its letters must do.
            let in_two = || {
                (1..words.len()).any(|at| body.contains(&words[..at].concat()) && body.contains(&words[at..].concat()))
            };
            let in_letters = || {
                text.chars().any(runs_right_to_left)
                    && text.split(|c: char| !c.is_alphanumeric()).all(|letters| body.contains(letters))
            };
            !(body.contains(&words.concat()) || in_two() || in_letters())
        })
        .map(|text| {
            about
                .problem(Rule::LostText, format!("this text did not reach the paper: “{text}”"))
                .help("correct the layout that left it out")
        })
        .collect()
}

/// A character without a glyph, shown in the record if it comes from there, else with the text that holds it.
fn no_glyph(c: char, sheet: &Json, about: &About<'_>) -> Problem {
    let message = format!("no font of the practice can show `{c}` (U+{:04X})", u32::from(c));
    let help = "leave the character out, or add a font that has it to layouts/fonts and name it in layouts/theme.typ";
    let in_record = match about {
        About::Client { record, .. } => record.text.find(c).map(|start| (*record, start)),
        About::Library => None,
    };
    let problem = match in_record {
        Some((record, start)) => about.sign(Problem::at(Rule::NoGlyph, record, start..start + c.len_utf8(), message)),
        None => match printed(sheet).into_iter().find(|text| text.contains(c)) {
            Some(text) => about.problem(Rule::NoGlyph, format!("{message}, in “{text}”")),
            None => about.problem(Rule::NoGlyph, message),
        },
    };
    problem.help(help)
}
