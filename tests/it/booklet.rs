//! The booklet: which page stands where on the sheets that are printed and folded, and what a listener hears of them.

use std::collections::BTreeMap;
use std::fs;
use std::sync::Arc;

use hayro_syntax::Pdf as File;
use hayro_syntax::object::{Array, Dict, Name, Object};
use jiff::civil::date;
use kinleaf::diag::SourceFile;
use kinleaf::pipeline::sheets;
use kinleaf::print::What;
use kinleaf::typeset::{Facts, Pdf, Typesetter};
use kinleaf::word::papers::paper;

use crate::practice::{Practice, demo};
use crate::reading_order::heard;

/// Pages of 100 by 150 points, each with a bar as many points wide as its number.
const BARS: &str = r#"#set document(title: "Bars", date: datetime(year: 2026, month: 11, day: 24))
#set page(width: 100pt, height: 150pt, margin: 10pt)
#for n in range(1, json("/data.json").pages + 1) {
  if n > 1 { pagebreak() }
  place(dx: 10pt, rect(width: n * 1pt, height: 1pt, fill: black))
}"#;

fn folded(reading: Vec<u8>) -> Vec<u8> {
    let pdf = Pdf { bytes: reading, pages: 0, facts: Facts::default() };
    pdf.folded().expect("its pages can be moved").bytes
}

/// The numbers of the pages on each side, from left to right, told by their bars; 0 where there is none.
fn laid_out(pages: usize) -> Vec<[usize; 2]> {
    let source = SourceFile { path: "layouts/handout.typ".to_owned(), text: BARS.to_owned() };
    let layouts = BTreeMap::from([("handout".to_owned(), Arc::new(source))]);
    let font = fs::read(demo().join("layouts/fonts/AtkinsonHyperlegibleNext_400Regular.ttf")).unwrap();
    let typesetter = Typesetter::with(layouts, &BTreeMap::from([("font".to_owned(), font)]), &[]).unwrap();
    let reading = typesetter.bare("handout", format!(r#"{{"pages": {pages}}}"#).as_bytes(), "bars");
    let file = File::new(folded(reading)).unwrap();
    let number = |object: &Object<'_>| object.clone().into_f32().unwrap();
    let sides = file.pages().iter().map(|side| {
        assert_eq!((side.media_box().x1, side.media_box().y1), (200.0, 150.0), "two pages wide");
        let mut found = [0, 0];
        let (mut across, mut deep) = (0.0, 0);
        let mut steps = side.operations();
        while let Some(step) = steps.next() {
            let given: Vec<Object<'_>> = step.operands().cloned().collect();
            match &step.operator[..] {
                b"q" => deep += 1,
                b"Q" => deep -= 1,
                b"cm" if deep == 1 => across = number(&given[4]),
                b"l" => {
                    let width = &mut found[usize::from(across > 0.0)];
                    *width = (*width).max(number(&given[0]).round() as usize);
                }
                _ => {}
            }
        }
        found
    });
    sides.collect()
}

/// Worked out with folded paper: the outermost sheet first, its front, then its back, turned over the short edge.
#[test]
fn pages_stand_where_the_folded_sheets_need_them() {
    assert_eq!(laid_out(5), [[0, 1], [2, 0], [0, 3], [4, 5]]);
    assert_eq!(laid_out(8), [[8, 1], [2, 7], [6, 3], [4, 5]]);
    assert_eq!(laid_out(13), [[0, 1], [2, 0], [0, 3], [4, 13], [12, 5], [6, 11], [10, 7], [8, 9]]);
}

#[test]
fn a_folded_booklet_is_heard_from_its_first_page_to_its_last() {
    let (typesetter, sheets) = sheets(&demo(), date(2026, 11, 28)).unwrap();
    let ines = sheets.iter().find(|(name, _)| name.starts_with("ines")).unwrap();
    let data = paper(What::Booklet, &serde_json::from_slice(&ines.1).unwrap()).unwrap();
    let reading = typesetter.bare("booklet", &serde_json::to_vec(&data).unwrap(), "ines");
    let folded = folded(reading.clone());
    assert_eq!(heard(folded.clone()), heard(reading.clone()));
    let (folded, reading) = (File::new(folded).unwrap(), File::new(reading).unwrap());
    assert_eq!(2 * folded.pages().len(), reading.pages().len(), "the layout fills its sheets");
    let root: Dict<'_> = folded.xref().get(folded.xref().root_id()).unwrap();
    let wishes: Dict<'_> = root.get("ViewerPreferences").unwrap();
    assert_eq!(wishes.get::<Name<'_>>("Duplex").unwrap().as_str(), "DuplexFlipShortEdge");
    // Each side counts its marks from nought, and each has its tag.
    let tree: Dict<'_> = root.get("StructTreeRoot").unwrap();
    let parents: Dict<'_> = tree.get("ParentTree").unwrap();
    let pairs: Vec<Object<'_>> = parents.get::<Array<'_>>("Nums").unwrap().iter().collect();
    let keys: Vec<i32> = pairs.iter().step_by(2).filter_map(|key| key.clone().into_i32()).collect();
    assert!(keys.is_sorted(), "{keys:?}");
    for side in folded.pages().iter() {
        let key = side.raw().get::<i32>("StructParents").unwrap();
        let at = keys.iter().position(|known| *known == key).unwrap();
        let tags = pairs[2 * at + 1].clone().into_array().unwrap().iter::<Object<'_>>().count();
        let mut marks: Vec<i32> = Vec::new();
        let mut steps = side.operations();
        while let Some(step) = steps.next() {
            let given: Vec<Object<'_>> = step.operands().cloned().collect();
            marks.extend(given.get(1).cloned().and_then(Object::into_dict).and_then(|mark| mark.get::<i32>("MCID")));
        }
        marks.sort_unstable();
        assert!(marks.into_iter().eq(0..tags as i32));
    }
}

#[test]
fn a_booklet_is_the_same_to_the_byte_each_time() {
    let practice = Practice::with_ana();
    let state = || {
        let run = practice.run(&["print", "--what", "handout,booklet", "--json"]);
        let made = run.json()["documents"][1].clone();
        (made["pages"].as_u64().unwrap() % 2, made["state"].clone())
    };
    assert_eq!(state(), (0, "new".into()));
    assert_eq!(state(), (0, "not-due".into()));
}

#[test]
fn what_is_no_pdf_is_not_folded() {
    let pdf = Pdf { bytes: b"trailer <</Size 1>>".to_vec(), pages: 1, facts: Facts::default() };
    assert_eq!(pdf.folded(), None);
}
