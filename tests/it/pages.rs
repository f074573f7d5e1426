//! What stands where on the pages of the longest and the shortest records, on every paper and in every type size: nothing
//! beyond the margins, no text over another, and no more pages than there should be. A check's table is kept whole, and
//! lines to write on move nothing, which takes the longest record in large type some more pages than could be. In large
//! type an exercise takes two pages, in a booklet an opening.

use jiff::civil::date;
use kinleaf::pipeline::sheets;
use kinleaf::print::What;
use kinleaf::typeset::{Facts, PageFacts};
use kinleaf::word::papers::paper;
use serde_json::{Value as Json, json};

use crate::practice::Practice;

/// Ten exercises, twelve findings, two goals, two signs to watch for, a name of sixty letters.
const LONG: &str = r#"name = "Maximiliana Theodora Featherstonehaugh-Kowalczyk van der Mer"
call = "Maximiliana"
born = 1980-02-14
sex = "female"
goals = [
  "Carry the kayak to the water and back without a rest, and lift it on the roof of the car.",
  "Sleep well after a day of digging, weeding and planting in the long garden by the sea.",
]
loves = ["gardening", "rowing"]
minutes_a_day = 120
equipment = ["mat", "loop-band", "long-band", "roller", "ball", "tape-measure"]

[[visits]]
on = 2026-11-17
next = 2026-12-15T14:45:00
screening = { yes = [] }
readings = [
  { test = "shoulder-reach", left = 118, right = 126 },
  { test = "knee-to-wall", left = 4.5, right = 5.5 },
  { test = "one-leg-stand", left = 16, right = 14 },
  { test = "trunk-turn", left = 24, right = 26 },
  { test = "neck-turn", left = 40, right = 46 },
  { test = "hip-rotation-seated", left = 18, right = 20 },
  { test = "straight-leg-raise", left = 48, right = 50 },
  { test = "side-bridge", left = 13, right = 14 },
  { test = "shoulder-rotation-arc", left = 98, right = 100 },
  { test = "chair-stand", value = 8 },
  { test = "back-hold", value = 20 },
  { test = "thigh-level", left = -30, right = -30 },
]
watch = ["Pain in your left shoulder that wakes you at night.", "A hot or swollen calf."]
program = [
  { exercise = "wall-slide", side = "each", note = "Stay well below the height at which your shoulder pinches, and rest your arm in between." },
  { exercise = "upper-back-ball", side = "each" },
  { exercise = "calf-wall-stretch", side = "each" },
  { exercise = "hamstring-door-stretch", side = "each" },
  { exercise = "seated-turn", side = "each" },
  { exercise = "neck-side-stretch", side = "each" },
  { exercise = "slow-bridge" },
  { exercise = "side-lying-knee-lift", side = "each" },
  { exercise = "chair-squat" },
  { exercise = "split-stance-reach", side = "each" },
]
left_out = [{ what = "Overhead press", why = "Your arms do not reach high enough yet." }]
"#;

/// One exercise, nothing measured, a name of five letters.
const SHORT: &str = r#"name = "Bo Li"
goals = ["Swim."]
minutes_a_day = 10

[[visits]]
on = 2026-11-17
screening = { yes = [] }
readings = []
program = [{ exercise = "chin-nod" }]
"#;

/// Points that a line box may reach into the next without a letter touching: cap height is 0.668 em, descent 0.2 em.
const TOUCH: f64 = 1.0;

/// What is wrong with where things stand on a page.
fn faults(page: &PageFacts) -> Vec<String> {
    // An office printer loses 4 to 6 mm at each edge (handout-quality 6.4); heads and feet stand in the margins.
    let mm = 72.0 / 25.4;
    let (side, end) = (11.0 * mm, 7.0 * mm);
    let boxes: Vec<_> = page
        .pieces
        .iter()
        .filter(|piece| !piece.text.trim().is_empty())
        .map(|piece| (piece, piece.baseline - 0.668 * piece.size, piece.baseline + 0.2 * piece.size))
        .collect();
    let mut found: Vec<String> = boxes
        .iter()
        .filter(|(piece, top, bottom)| {
            piece.left < side || piece.right > page.size.0 - side || *top < end || *bottom > page.size.1 - end
        })
        .map(|(piece, ..)| format!("beyond the edge: {}", piece.text))
        .collect();
    for (i, (a, a_top, a_bottom)) in boxes.iter().enumerate() {
        for (b, b_top, b_bottom) in &boxes[i + 1..] {
            let across = a.right.min(b.right) - a.left.max(b.left);
            let down = a_bottom.min(*b_bottom) - a_top.max(*b_top);
            if across > TOUCH && down > TOUCH {
                found.push(format!("one over the other: “{}” and “{}”", a.text, b.text));
            }
        }
    }
    found
}

/// Sets every paper of both records in one look, and gives the pages of each by the name of record and paper.
fn pages(look: &Json) -> Vec<(String, usize)> {
    let practice = Practice::without_clients();
    practice.write("clients/long.toml", LONG);
    practice.write("clients/short.toml", SHORT);
    // The data of the demo stop at eight.
    practice.replace("exercises/planning.toml", "never_above = 8", "never_above = 10");
    let (typesetter, sheets) = sheets(&practice.path(""), date(2026, 11, 20)).unwrap();
    let mut found = Vec::new();
    for (name, bytes) in sheets {
        let mut sheet: Json = serde_json::from_slice(&bytes).unwrap();
        sheet["doc"]["look"] = look.clone();
        let small = [What::Glance, What::Cards, What::Diary, What::Booklet];
        let papers = small.into_iter().filter_map(|what| Some((what, paper(what, &sheet).ok()?)));
        for (what, data) in papers.chain([(What::Handout, sheet.clone())]) {
            let facts = typesetter.facts(what.key(), &data).unwrap();
            for (page, number) in facts.pages.iter().zip(1..) {
                // A page may stay a third empty; cards keep the size that they are cut to.
                let empty = page.size.1 - page.lowest - 19.0 * 72.0 / 25.4;
                let most = if what == What::Cards { page.size.1 } else { page.size.1 / 3.0 };
                assert!(empty < most, "{name} {} {look}, page {number}: {empty} pt are empty", what.key());
                assert_eq!(faults(page), Vec::<String>::new(), "{name} {} {look}, page {number}", what.key());
            }
            let record = name.split('/').next().unwrap();
            found.push((format!("{record} {}", what.key()), facts.pages.len()));
        }
    }
    found
}

#[track_caller]
fn check(look: &Json, most: &[(&str, usize)]) {
    let pages = pages(look);
    for (paper, count) in &pages {
        let (_, most) =
            most.iter().find(|(name, _)| name == paper).unwrap_or_else(|| panic!("{paper} is not expected"));
        assert!(count <= most, "{paper} has {count} pages, and {most} are enough");
    }
    assert_eq!(pages.len(), most.len());
}

#[test]
fn the_longest_and_the_shortest_record_fit_a4() {
    check(
        &json!({"paper": "a4", "type": "normal", "ink": "colour"}),
        &[
            ("long glance", 1),
            ("long cards", 2),
            ("long diary", 2),
            ("long booklet", 40),
            ("long handout", 20),
            ("short glance", 1),
            ("short cards", 1),
            ("short diary", 1),
            ("short booklet", 8),
            ("short handout", 4),
        ],
    );
}

#[test]
fn the_longest_and_the_shortest_record_fit_letter_in_large_type() {
    check(
        &json!({"paper": "letter", "type": "large", "ink": "saver"}),
        &[
            ("long glance", 1),
            ("long cards", 7),
            ("long diary", 5),
            ("long handout", 40),
            ("short glance", 1),
            ("short cards", 2),
            ("short diary", 2),
            ("short handout", 8),
        ],
    );
}

/// Every line of body text outside tables and drawings that is off the grid of the handout: half a line of 15 pt from the
/// top of the type area, 21 mm down. The first page is left out: there the rows of the plan share the height.
fn off_the_grid(facts: &Facts) -> Vec<String> {
    let (body, step, top) = (12.0, 7.5, 21.0 * 72.0 / 25.4);
    let mut found = Vec::new();
    for (page, number) in facts.pages.iter().zip(1..).skip(1) {
        let live = top..page.size.1 - 19.0 * 72.0 / 25.4;
        for piece in &page.pieces {
            let steps = (piece.baseline - top - 0.885 * body) / step;
            let off = (steps - steps.round()).abs() * step;
            if piece.prose && (piece.size - body).abs() < 0.01 && live.contains(&piece.baseline) && off > 0.1 {
                found.push(format!("page {number}, {off:.2} pt: {}", piece.text));
            }
        }
    }
    found
}

#[test]
fn body_text_stands_on_the_baseline_grid() {
    let practice = Practice::demo();
    let (typesetter, sheets) = sheets(&practice.path(""), date(2026, 11, 25)).unwrap();
    let mut seen = 0;
    for (name, bytes) in sheets {
        let mut sheet: Json = serde_json::from_slice(&bytes).unwrap();
        for paper in ["a4", "letter"] {
            sheet["doc"]["look"] = json!({"paper": paper, "type": "normal", "ink": "colour"});
            let facts = typesetter.facts("handout", &sheet).unwrap();
            assert_eq!(off_the_grid(&facts), Vec::<String>::new(), "{name} on {paper}");
            seen += facts.pages.len();
        }
    }
    assert!(seen > 150, "only {seen} pages");
}
