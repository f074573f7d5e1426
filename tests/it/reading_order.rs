//! What a listener hears: the tags of a finished sheet in their order, read back from the PDF itself.

use std::collections::BTreeMap;

use hayro_syntax::Pdf;
use hayro_syntax::object::{Array, Dict, Name, Object, Stream};

use crate::practice::Practice;

type Marks = BTreeMap<(i32, i32), String>;

/// Text of every marked stretch, by page object and mark.
fn marked_texts(pdf: &Pdf) -> Marks {
    let mut texts = Marks::new();
    for page in pdf.pages().iter() {
        let id = page.raw().obj_id().expect("pages are indirect objects").obj_number;
        let mut font: BTreeMap<u16, String> = BTreeMap::new();
        // Open marks: the mark's number, or nothing for an artifact or a span without one.
        let mut open: Vec<Option<i32>> = Vec::new();
        let mut operations = page.operations();
        while let Some(operation) = operations.next() {
            let operands: Vec<Object<'_>> = operation.operands().cloned().collect();
            match &operation.operator[..] {
                b"BDC" => open.push(
                    operands.get(1).cloned().and_then(Object::into_dict).and_then(|dict| dict.get::<i32>("MCID")),
                ),
                b"BMC" => open.push(None),
                b"EMC" => {
                    open.pop();
                }
                b"Tf" => {
                    let name = operands[0].clone().into_name().expect("a font has a name");
                    let dict = page.resources().get_font(&name).expect("the font is in the page's resources");
                    let map: Stream<'_> = dict.get("ToUnicode").expect("every font maps to Unicode");
                    font = to_unicode(&String::from_utf8_lossy(&map.decoded().expect("the map can be read")));
                }
                b"Tj" | b"TJ" => {
                    let Some(mark) = open.iter().rev().find_map(|mark| *mark) else {
                        continue;
                    };
                    let mut show = |object: Object<'_>| {
                        if let Some(string) = object.into_string() {
                            let glyphs =
                                string.as_bytes().chunks_exact(2).map(|pair| u16::from_be_bytes([pair[0], pair[1]]));
                            let text: String =
                                glyphs.map(|glyph| font.get(&glyph).cloned().unwrap_or_default()).collect();
                            texts.entry((id, mark)).or_default().push_str(&text);
                        }
                    };
                    match operands[0].clone() {
                        Object::Array(parts) => parts.iter::<Object<'_>>().for_each(&mut show),
                        other => show(other),
                    }
                }
                _ => {}
            }
        }
    }
    texts
}

/// Reads a font's map from glyphs to characters.
fn to_unicode(map: &str) -> BTreeMap<u16, String> {
    let hex = |token: &str| -> Vec<u16> {
        let digits = token.trim_matches(['<', '>']);
        (0..digits.len() / 4).map(|i| u16::from_str_radix(&digits[4 * i..4 * i + 4], 16).expect("hex digits")).collect()
    };
    let mut found = BTreeMap::new();
    let mut kind = "";
    for line in map.lines() {
        if line.ends_with("beginbfchar") || line.ends_with("beginbfrange") {
            kind = if line.ends_with("char") { "char" } else { "range" };
        } else if line.starts_with("endbf") {
            kind = "";
        } else if !kind.is_empty() {
            let tokens: Vec<&str> = line.split_whitespace().collect();
            let (first, target) = (hex(tokens[0])[0], hex(tokens[tokens.len() - 1]));
            let last = if kind == "range" { hex(tokens[1])[0] } else { first };
            for (glyph, step) in (first..=last).zip(0u16..) {
                let mut units = target.clone();
                if let Some(end) = units.last_mut() {
                    *end += step;
                }
                found.insert(glyph, String::from_utf16_lossy(&units));
            }
        }
    }
    found
}

/// One line for each element that says something of its own.
struct Listener<'a> {
    texts: &'a Marks,
    lines: Vec<String>,
}

impl<'a> Listener<'a> {
    /// Walks an element; returns the text that stands in it directly or in its spans.
    fn element(&mut self, element: &Dict<'a>, page: i32, depth: usize) -> String {
        let role = element.get::<Name<'_>>("S").map(|name| name.as_str().to_owned()).unwrap_or_default();
        let page = element.get_ref("Pg").map_or(page, |page| page.obj_number);
        let alt = element.get::<hayro_syntax::object::String<'_>>("Alt").map(|alt| plain(alt.as_bytes()));
        let place = self.lines.len();
        let speaks = matches!(
            role.as_str(),
            "H1" | "H2" | "H3" | "P" | "Lbl" | "LBody" | "TH" | "TD" | "Figure" | "Link" | "L" | "Table" | "TR"
        );
        let inner = depth + usize::from(speaks);
        let mut text = String::new();
        if let Some(kids) = element.get::<Array<'a>>("K") {
            for kid in kids.iter::<Object<'a>>() {
                text.push_str(&self.kid(kid, page, inner));
            }
        } else if let Some(kid) = element.get::<Object<'a>>("K") {
            text.push_str(&self.kid(kid, page, inner));
        }
        if !speaks {
            return text;
        }
        let said = alt.map_or_else(|| text.trim().to_owned(), |alt| format!("[{alt}]"));
        self.lines.insert(place, format!("{}{role} {said}", "  ".repeat(depth)).trim_end().to_owned());
        String::new()
    }

    fn kid(&mut self, kid: Object<'a>, page: i32, depth: usize) -> String {
        match kid {
            Object::Number(number) => self.texts.get(&(page, number.as_f64() as i32)).cloned().unwrap_or_default(),
            Object::Dict(dict) if dict.contains_key("S") => self.element(&dict, page, depth),
            Object::Dict(dict) => {
                let page = dict.get_ref("Pg").map_or(page, |page| page.obj_number);
                dict.get::<i32>("MCID").and_then(|mark| self.texts.get(&(page, mark)).cloned()).unwrap_or_default()
            }
            _ => String::new(),
        }
    }
}

/// A PDF text string.
fn plain(bytes: &[u8]) -> String {
    match bytes.strip_prefix(&[0xfe, 0xff]) {
        Some(wide) => String::from_utf16_lossy(
            &wide.chunks_exact(2).map(|pair| u16::from_be_bytes([pair[0], pair[1]])).collect::<Vec<_>>(),
        ),
        None => String::from_utf8_lossy(bytes).into_owned(),
    }
}

/// The lines that a listener hears of a document.
pub fn heard(bytes: Vec<u8>) -> Vec<String> {
    let pdf = Pdf::new(bytes).expect("a PDF");
    let texts = marked_texts(&pdf);
    let root: Dict<'_> = pdf.xref().get(pdf.xref().root_id()).expect("a catalogue");
    let tree: Dict<'_> = root.get("StructTreeRoot").expect("a tagged document");
    let mut listener = Listener { texts: &texts, lines: Vec::new() };
    listener.element(&tree, 0, 0);
    listener.lines
}

fn sheet_of(client: &str) -> Vec<String> {
    let practice = Practice::demo();
    assert_eq!(practice.run(&["print", client]).code, 0);
    heard(practice.documents().pop().expect("a sheet").1)
}

#[test]
fn a_plan_is_heard_in_the_order_of_use() {
    let lines = sheet_of("ines-okafor");
    let headings: Vec<&str> = lines.iter().map(|line| line.trim()).filter(|line| line.starts_with('H')).collect();
    insta::assert_snapshot!(headings.join("\n"));
    // Lists are lists, tables have heads, pictures have words.
    let count = |role: &str| lines.iter().filter(|line| line.trim_start().starts_with(role)).count();
    assert!(count("Lbl") > 20 && count("TH ") > 20, "{}", lines.join("\n"));
    let figures: Vec<&String> = lines.iter().filter(|line| line.trim_start().starts_with("Figure")).collect();
    assert!(!figures.is_empty() && figures.iter().all(|line| line.contains('[')), "{figures:?}");
    // The steps of the first exercise, in order, each its own item.
    let at = |text: &str| {
        lines
            .iter()
            .position(|line| line.contains(text))
            .unwrap_or_else(|| panic!("{text} is not heard:\n{}", lines.join("\n")))
    };
    assert!(at("What we found") < at("Part A Loosen"));
    assert!(at("Part A Loosen") < at("Part B Stretch"));
    assert!(at("Check yourself at home") < at("Your diary") && at("Your diary") < at("H2 Stay safe"));
}

#[test]
fn one_page_is_heard_whole() {
    insta::assert_snapshot!(sheet_of("owen-pryce").join("\n"));
}

#[test]
fn every_word_of_a_plan_in_its_order() {
    insta::assert_snapshot!(sheet_of("ines-okafor").join("\n"));
}

#[test]
fn a_retest_shows_last_time_beside_today() {
    let lines = sheet_of("kofi-mensah");
    let ranges: Vec<&str> =
        lines.iter().map(|line| line.trim()).filter(|line| line.contains("The usual range")).collect();
    // What changed has a dot for each of his three visits, and a verdict.
    let (charts, bars): (Vec<&str>, Vec<&str>) = ranges.iter().partition(|line| line.contains("21 Oct"));
    assert!(!charts.is_empty() && charts.iter().all(|chart| chart.contains("23 Sep") && chart.contains("19 Nov")));
    // Neither of his tests can be done alone: no page, date or diary row may speak of a check.
    assert!(!lines.iter().any(|line| line.contains("Check yourself")));
    // No day is named on which there would be nothing to check.
    let days: Vec<_> = lines.iter().filter(|line| line.contains("Check day")).collect();
    assert!(matches!(days[..], [line] if line.contains("none at home this time")), "{days:?}");
    assert!(!bars.is_empty());
    insta::assert_snapshot!(ranges.join("\n"));
    assert!(bars.iter().all(|bar| bar.contains("Last time it was")), "{bars:?}");
}

#[test]
fn inches_are_printed_where_the_client_thinks_in_them() {
    let lines = sheet_of("jo-tanaka").join("\n");
    assert!(lines.contains("2\u{a0}in") && !lines.contains("\u{a0}cm"), "{lines}");
    // Three quarters of 2 inches, never more than they can do.
    assert!(lines.contains("1.5\u{a0}in from the wall"), "{lines}");
    // 2 cm count at the ankle (trade-figures 3.1); to the quarter inch that is 1 in, on the bar as in words.
    let practice = Practice::with_ana();
    practice.replace("clients/ana.toml", "[[visits]]", "[print]\nunits = \"imperial\"\n[[visits]]");
    let ankle = &practice.sheet()["findings"][0];
    assert!(ankle["test"].as_str().unwrap().ends_with("A change of 1\u{a0}in or more counts."), "{ankle:#}");
    assert_eq!(ankle["bar"]["noise"], 1.0);
}

#[test]
fn a_check_says_from_where_it_is_really_better_or_worse() {
    let practice = Practice::with_ana();
    let changes = || practice.sheet()["checks"]["rows"][0]["changes"].clone();
    // 10 and 6 cm at the wall; 2 cm count (trade-figures 3.1).
    let label = |row: &serde_json::Value| row["label"].as_str().unwrap().to_owned();
    let rows = changes();
    assert_eq!(label(&rows[0]), "Really better");
    assert_eq!(rows[0]["values"], serde_json::json!(["12\u{a0}cm or more", "8\u{a0}cm or more"]));
    assert!(label(&rows[1]).starts_with("Really worse: tell "), "{rows:#}");
    assert_eq!(rows[1]["values"], serde_json::json!(["8\u{a0}cm or less", "4\u{a0}cm or less"]));
    // Nobody reaches less than nothing.
    practice.replace("clients/ana.toml", "right = 6", "right = 1");
    assert_eq!(changes()[1]["values"], serde_json::json!(["8\u{a0}cm or less", null]));
}
