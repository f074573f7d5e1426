//! Whether a picture reads on paper at the width of a card: lines and marks.

use crate::draw::canvas::{CARD_MM, Svg, THINNEST_LINE_MM};
use crate::draw::lint::Lint;
use crate::draw::marks::SMALLEST_MARK_MM;

/// What is too fine in a drawn picture at the width of a card.
pub(crate) fn too_fine(number: usize, svg: &Svg) -> Vec<Lint> {
    let mm = CARD_MM / svg.width;
    let (line, mark) = (svg.finest.stroke * mm, svg.finest.mark * mm);
    let mut out = Vec::new();
    if line < THINNEST_LINE_MM {
        out.push(Lint::ThinLine { frame: number, mm: line, least: THINNEST_LINE_MM });
    }
    if mark < SMALLEST_MARK_MM {
        out.push(Lint::SmallMark { frame: number, mm: mark, least: SMALLEST_MARK_MM });
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::brand::Colour;
    use crate::draw::style::{Look, Palette, Rgb, Style};
    use crate::draw::tests::drawn;

    /// Least contrast of a sign with the paper: graphics, WCAG 2.2 SC 1.4.11 (handout-quality.md).
    const SIGN_CONTRAST: f64 = 3.0;
    /// Least contrast of two fills that lie side by side. Our own limit: a strip of paper parts them in most places, so less
    /// than SC 1.4.11 asks will do.
    const FILL_CONTRAST: f64 = 1.4;

    /// Pairs of colors that lie side by side, or a sign on paper, with too little between them. Outlines need no fills.
    fn run_together(style: &Style) -> Vec<[&'static str; 2]> {
        const FILLS: [[&str; 2]; 6] = [
            ["skin", "top"],
            ["top", "bottom"],
            ["skin", "bottom"],
            ["skin", "hair"],
            ["skin", "paper"],
            ["top", "paper"],
        ];
        const SIGNS: [[&str; 2]; 4] = [["accent", "paper"], ["good", "paper"], ["bad", "paper"], ["ink", "paper"]];
        let fills = FILLS.iter().filter(|_| !style.is_line()).map(|pair| (pair, FILL_CONTRAST));
        let signs = SIGNS.iter().map(|pair| (pair, SIGN_CONTRAST));
        let doubt = |(pair, least): (&[&'static str; 2], f64)| {
            let [one, other] = pair.map(|token| Colour { channels: style.color(token).0 });
            (one.contrast(other) < least).then_some(*pair)
        };
        fills.chain(signs).filter_map(doubt).collect()
    }

    #[track_caller]
    fn check(frame: &str, look: Look, wanted: &[&str]) {
        let svg = &drawn(&format!("view = \"right\"\n[[frames]]\npose = \"standing\"\n{frame}"), look)[0];
        let found: Vec<String> = too_fine(1, svg).iter().map(Lint::to_string).collect();
        assert_eq!(found, wanted, "{:?} of {}", svg.finest, svg.width);
    }

    #[test]
    fn a_usual_picture_reads() {
        for look in [Look::Color, Look::Grey, Look::Line] {
            check("arrow = [{ site = \"left.knee\", to = 1, length = 15 }]\nset = { lean = 0 }", look, &[]);
        }
    }

    #[test]
    fn two_inks_stand_for_all() {
        let marks = "arrow = [{ site = \"left.knee\", to = 1, length = 15 }]\nfeel = [\"left.calf\", \"left.quads\"]\n\
                     look = [{ site = \"left.heel\" }]\npress = [\"left.knee\"]\nverdict = \"bad\"";
        let props = "props = [{ kind = \"mat\" }, { kind = \"chair\" }, { kind = \"wall\", distance = 30 }]";
        for view in ["right", "front", "back"] {
            let text = format!("view = \"{view}\"\n{props}\n[[frames]]\npose = \"standing\"\n{marks}");
            let [color, grey, saver] = [Look::Color, Look::Grey, Look::Line].map(|look| drawn(&text, look)[0].finest);
            assert!(saver.stroke <= grey.stroke && saver.stroke <= color.stroke, "{saver:?} {grey:?} {color:?}");
            assert!((grey.mark - color.mark).abs() < 1e-9, "{grey:?} {color:?}");
        }
    }

    #[test]
    fn a_tiny_ring_is_told() {
        check(
            "look = [{ site = \"left.knee\", r = 0.5 }]",
            Look::Color,
            &["picture 1: at 45 mm wide the smallest mark is 1.4 mm; below 1.5 mm it does not read"],
        );
    }

    #[test]
    fn a_wide_line_drawing_is_too_thin() {
        let wide = "view = \"right\"\nprops = [{ kind = \"step\", at = [150, 0] }]\n[[frames]]\npose = \"standing\"";
        let svg = &drawn(wide, Look::Line)[0];
        assert!(matches!(too_fine(1, svg)[..], [Lint::ThinLine { .. }]), "{}", svg.width);
    }

    #[test]
    fn no_brand_makes_colors_run_together() {
        let steps: Vec<u8> = (0..=255).step_by(15).collect();
        let all = steps.iter().flat_map(|r| steps.iter().flat_map(|g| steps.iter().map(|b| Rgb([*r, *g, *b]))));
        for own in all {
            let palette = Palette::with_brand(own, Palette::default().get("accent"));
            for look in [Look::Color, Look::Grey, Look::Line] {
                assert_eq!(
                    run_together(&Style::new(look, palette.clone())),
                    Vec::<[&str; 2]>::new(),
                    "{own:?} {look:?}"
                );
            }
        }
        let mut palette = Palette::default();
        palette.set("top", palette.get("bottom"));
        palette.set("accent", Rgb([255, 238, 0]));
        // What would be told if one could.
        assert_eq!(run_together(&Style::new(Look::Color, palette)), [["top", "bottom"], ["accent", "paper"]]);
    }
}
