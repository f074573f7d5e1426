//! A practice's own pictures: whether they can be drawn, and whether they stay within themselves.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::diag::{Problem, Rule};

use super::photo::{self, Crop};

/// Largest SVG, in bytes: drawn again at each use, so it must stay small.
const LARGEST_SVG: usize = 1 << 20;

/// A picture that can be drawn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// File name.
    pub name: String,
    /// The file as it is printed.
    pub bytes: Arc<Vec<u8>>,
}

/// Checks every picture of a folder; those that cannot be used are reported and left out.
pub fn check_all(
    files: &BTreeMap<String, Vec<u8>>,
    folder: &str,
    problems: &mut Vec<Problem>,
) -> BTreeMap<String, Picture> {
    files.iter().filter_map(|(name, bytes)| Some((name.clone(), check(name, bytes, folder, problems)?))).collect()
}

/// Checks one picture, and makes a photo ready for paper.
pub fn check(name: &str, bytes: &[u8], folder: &str, problems: &mut Vec<Problem>) -> Option<Picture> {
    match ready(name, bytes, None) {
        Ok(picture) => Some(picture),
        Err((message, help)) => {
            problems.push(Problem::about(Rule::BadPicture, format!("{folder}/{name}"), message).help(help));
            None
        }
    }
}

/// A picture, or a part of a photo, as it will be printed.
pub fn ready(name: &str, bytes: &[u8], crop: Option<Crop>) -> Result<Picture, Fault> {
    let drawing = name.to_ascii_lowercase().ends_with(".svg");
    let (name, bytes) = match crop {
        None if drawing => match svg_fault(bytes) {
            None => (name.to_owned(), bytes.to_vec()),
            Some(fault) => return Err(fault),
        },
        None => (name.to_owned(), photo::prepare(bytes, None)?),
        Some(_) if drawing => {
            return Err(("a drawing is not cropped".to_owned(), "set its `viewBox`, and take `crop` out"));
        }
        // Each part of a photo is a picture of its own.
        Some(crop) => {
            (format!("{}-{name}", crop.map(|it| it.to_string()).join("-")), photo::prepare(bytes, Some(crop))?)
        }
    };
    Ok(Picture { name, bytes: Arc::new(bytes) })
}

/// Height over width, if it can be told.
pub fn ratio(picture: &Picture) -> Option<f64> {
    let size = if picture.name.to_ascii_lowercase().ends_with(".svg") {
        let size = usvg::Tree::from_data(&picture.bytes, &usvg::Options::default()).ok()?.size();
        (f64::from(size.width()), f64::from(size.height()))
    } else {
        let reader = image::ImageReader::new(std::io::Cursor::new(picture.bytes.as_slice()));
        let (width, height) = reader.with_guessed_format().ok()?.into_dimensions().ok()?;
        (f64::from(width), f64::from(height))
    };
    Some((size.1 / size.0 * 100.0).round() / 100.0)
}

/// What is wrong with a picture, and what to do.
pub type Fault = (String, &'static str);

fn svg_fault(bytes: &[u8]) -> Option<Fault> {
    if bytes.len() > LARGEST_SVG {
        return Some((
            format!("this drawing has {} kB, but at most {} kB are drawn", bytes.len() >> 10, LARGEST_SVG >> 10),
            "simplify its paths",
        ));
    }
    let Ok(text) = std::str::from_utf8(bytes) else {
        return Some(("this drawing is not UTF-8 text".to_owned(), "save it again as a plain SVG"));
    };
    // Neither entities nor a document type are needed by a drawing, and both can be misused.
    if text.contains("<!ENTITY") || text.contains("<!DOCTYPE") {
        return Some(("this drawing declares a document type or entities".to_owned(), "save it again as a plain SVG"));
    }
    let document = match roxmltree::Document::parse(text) {
        Ok(document) => document,
        Err(error) => {
            return Some((format!("this drawing is not well-formed: {error}"), "save it again as a plain SVG"));
        }
    };
    for node in document.descendants().filter(roxmltree::Node::is_element) {
        let tag = node.tag_name().name();
        if matches!(tag, "script" | "foreignObject" | "iframe" | "audio" | "video") {
            return Some((format!("this drawing holds a `{tag}` element"), "take it out"));
        }
        if tag == "text" {
            return Some((
                "this drawing holds text, which needs a font".to_owned(),
                "turn the text into paths, or leave it to the caption",
            ));
        }
        for attribute in node.attributes() {
            let value = attribute.value().trim();
            let refers = attribute.name() == "href" && !value.starts_with('#') && !value.starts_with("data:image/");
            let loads = value.contains("url(") && !value.replace(['\'', '"', ' '], "").contains("url(#");
            if refers || loads || attribute.name().starts_with("on") {
                return Some((
                    format!("this drawing refers to something outside itself: `{}`", attribute.name()),
                    "embed it, or take it out",
                ));
            }
        }
        if tag == "style" && node.text().is_some_and(|css| css.contains("@import") || css.contains("url(")) {
            return Some((
                "the style of this drawing refers to something outside itself".to_owned(),
                "embed it, or take it out",
            ));
        }
    }
    match usvg::Tree::from_data(bytes, &usvg::Options::default()) {
        Ok(tree) if tree.root().has_children() => None,
        Ok(_) => Some(("this drawing is empty".to_owned(), "draw something, or delete the file")),
        Err(error) => Some((format!("this drawing cannot be drawn: {error}"), "save it again as a plain SVG")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check_svg(body: &str, part_of_fault: Option<&str>) {
        let svg = format!(
            "<svg xmlns='http://www.w3.org/2000/svg' xmlns:xlink='http://www.w3.org/1999/xlink' viewBox='0 0 9 9' width='9' height='9'>{body}</svg>"
        );
        match (svg_fault(svg.as_bytes()), part_of_fault) {
            (None, None) => {}
            (Some((message, _)), Some(part)) => assert!(message.contains(part), "{message}"),
            (found, _) => panic!("{found:?}"),
        }
    }

    #[test]
    fn a_drawing_stays_within_itself() {
        check_svg("<path d='M0 0h9v9z'/>", None);
        check_svg("<image href='https://example.org/a.png' width='9' height='9'/>", Some("outside"));
        check_svg("<use xlink:href='other.svg#a'/>", Some("outside"));
        check_svg("<path style='fill:url(http://x/y)' d='M0 0h9v9z'/>", Some("outside"));
        check_svg("<script>1</script>", Some("script"));
        check_svg("<text>hi</text>", Some("text"));
        check_svg("", Some("empty"));
    }

    #[test]
    fn an_entity_bomb_is_refused_before_it_is_parsed() {
        let bomb = "<!DOCTYPE svg [<!ENTITY a 'aaaa'><!ENTITY b '&a;&a;&a;'>]><svg xmlns='http://www.w3.org/2000/svg'>&b;</svg>";
        assert!(svg_fault(bomb.as_bytes()).is_some_and(|(message, _)| message.contains("entities")));
    }
}
