//! Contact sheets: every picture at the size of a card, with its name, for looking the library through.

use std::fmt::Write;
use std::sync::Arc;

use crate::draw::Figure;

/// Paper and its margin, in millimetres: A4.
const PAGE: [u32; 2] = [210, 297];
const MARGIN: u32 = 10;
/// Width and height of a picture, in millimetres: the width of a picture on a card.
const PICTURE: u32 = 45;
/// Space between two pictures side by side, in millimetres.
const GAP: u32 = 3;
/// Room for the words under a picture, in millimetres.
const WORDS: u32 = 9;
const COLUMNS: usize = 4;
const ROWS: usize = 5;
/// Longest words under a picture, in characters.
const LONGEST: usize = 34;

/// The pages, each an SVG. Names are text, so a viewer with any font is needed.
pub(super) fn pages(pictures: &[(String, Arc<Vec<Figure>>)]) -> Vec<String> {
    let all: Vec<(String, &Figure)> = pictures
        .iter()
        .flat_map(|(name, figures)| figures.iter().zip(1..).map(move |(it, n)| (format!("{name} {n}"), it)))
        .collect();
    all.chunks(COLUMNS * ROWS).map(page).collect()
}

fn page(pictures: &[(String, &Figure)]) -> String {
    let [width, height] = PAGE;
    let mut page = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" \
         viewBox=\"0 0 {width} {height}\" font-family=\"sans-serif\" font-size=\"2.4\">\n\
         <rect width=\"{width}\" height=\"{height}\" fill=\"#fff\"/>\n"
    );
    for (i, (name, figure)) in pictures.iter().enumerate() {
        let (column, row) = ((i % COLUMNS) as u32, (i / COLUMNS) as u32);
        let (x, y) = (MARGIN + column * (PICTURE + GAP), MARGIN + row * (PICTURE + WORDS));
        // Ids of close-ups must differ within one file.
        let drawing = figure.svg.replace("close-up-", &format!("close-up-{i}-"));
        let inside = drawing.find(" viewBox=").map_or("/>", |at| &drawing[at..]);
        let mut line = |down: u32, text: &str| {
            let text: String = text.chars().take(LONGEST).collect();
            let text = text.replace('&', "&amp;").replace('<', "&lt;");
            let _ = writeln!(page, "<text x=\"{x}\" y=\"{}\">{text}</text>", y + PICTURE + down);
        };
        line(3, name);
        line(6, figure.caption.as_deref().unwrap_or_default());
        let place = format!("x=\"{x}\" y=\"{y}\" width=\"{PICTURE}\" height=\"{PICTURE}\"");
        let _ = writeln!(page, "<svg {place} preserveAspectRatio=\"xMidYMax\"{inside}");
    }
    page + "</svg>\n"
}
