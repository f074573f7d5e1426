//! Square codes for links (ISO/IEC 18004), as one path with the quiet zone that readers need.

use std::fmt::Write as _;

use qrcodegen::{QrCode, QrCodeEcc};

/// Light modules on every side.
const QUIET: i32 = 4;

/// The code of a text as SVG, black on white whatever the ink; `None` if the text is too long for one.
///
/// A quarter of it may be lost to a fold or weak toner and it still reads.
pub fn qr(text: &str) -> Option<String> {
    let code = QrCode::encode_text(text, QrCodeEcc::Quartile).ok()?;
    let size = code.size();
    let mut path = String::new();
    for y in 0..size {
        let mut x = 0;
        while x < size {
            let run = (x..size).take_while(|x| code.get_module(*x, y)).count() as i32;
            if run > 0 {
                // Writing to a string cannot fail.
                let _ = write!(path, "M{} {}h{run}v1h-{run}z", x + QUIET, y + QUIET);
            }
            x += run.max(0) + 1;
        }
    }
    let side = size + 2 * QUIET;
    Some(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{side}\" height=\"{side}\" viewBox=\"0 0 {side} {side}\" \
         shape-rendering=\"crispEdges\"><path fill=\"#fff\" d=\"M0 0h{side}v{side}h-{side}z\"/><path d=\"{path}\"/></svg>"
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_has_its_quiet_zone_and_three_corner_marks() {
        // 23 letters at the quarter level need version 3, which is 29 modules wide (ISO/IEC 18004).
        let svg = qr("https://film.example/ab").unwrap();
        assert!(svg.contains("viewBox=\"0 0 37 37\""), "{svg}");
        // The upper edge of a corner mark is seven dark modules; the first and second are in the first row.
        for mark in ["M4 4h7v1", "M26 4h7v1", "M4 26h7v1"] {
            assert!(svg.contains(mark), "{mark}: {svg}");
        }
        assert!(!svg.contains("M3 ") && !svg.contains(" 3h"), "nothing dark in the quiet zone");
    }

    #[test]
    fn a_text_that_no_code_can_hold_has_none() {
        assert_eq!(qr(&"x".repeat(5000)), None);
    }
}
