//! Whether the pages can be read in a brand's colours: every text and every mark on every ground, as the layouts mix
//! them from ink and accent (layouts/theme.typ).

use super::Colour;

/// Text: WCAG 2.2 level AAA, for paper and toner lose contrast.
const TEXT: f64 = 7.0;
/// Body text in the ink itself on white paper: our own limit, with room for weak toner.
const BODY: f64 = 12.0;
/// Lines and marks that carry meaning: WCAG 2.2, 1.4.11.
const MARK: f64 = 3.0;

/// Share of the ink in second-level text.
const SOFT: u32 = 80;
/// Share of the ink in lines that carry meaning.
const LINE: u32 = 60;
/// Share of the accent in the ground of messages and of the dose.
const TINT: u32 = 7;
/// Share of the accent in bands.
const WASH: u32 = 15;

/// One of the two colours that a brand chooses.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Chosen {
    /// Text.
    Ink,
    /// The accent.
    Accent,
}

/// Something to be read, on its ground.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pair {
    /// The chosen colour that makes it readable or not.
    pub chosen: Chosen,
    /// What stands on what.
    pub what: &'static str,
    /// Its contrast, 1 to 21.
    pub ratio: f64,
    /// The contrast that it needs.
    pub least: f64,
}

impl Pair {
    /// Whether it cannot be read.
    pub fn is_weak(&self) -> bool {
        self.ratio < self.least
    }
}

/// Every pair of the pages, in colour and in grey, where the ink takes the accent's place.
pub fn pairs(ink: Colour, accent: Colour) -> Vec<Pair> {
    let white = Colour::WHITE;
    let (soft, line) = (ink.thinned(SOFT), ink.thinned(LINE));
    let (tint, wash) = (accent.thinned(TINT), accent.thinned(WASH));
    let (grey_tint, grey_wash) = (ink.thinned(TINT), ink.thinned(WASH));
    let pair = |chosen, what, a: Colour, b: Colour, least| Pair { chosen, what, ratio: a.contrast(b), least };
    use Chosen::{Accent, Ink};
    vec![
        pair(Ink, "text on white", ink, white, BODY),
        pair(Ink, "text on the tint of messages", ink, tint, TEXT),
        pair(Ink, "text on the wash of bands", ink, wash, TEXT),
        pair(Ink, "text on the grey wash of bands", ink, grey_wash, TEXT),
        pair(Ink, "second-level text on white", soft, white, TEXT),
        pair(Ink, "second-level text on the tint of messages", soft, tint, TEXT),
        pair(Ink, "second-level text on the grey tint of messages", soft, grey_tint, TEXT),
        pair(Ink, "lines on white", line, white, MARK),
        pair(Ink, "lines on the tint of the dose", line, tint, MARK),
        pair(Ink, "the hatch on the wash of the usual range", line, wash, MARK),
        pair(Ink, "the hatch on the grey wash of the usual range", line, grey_wash, MARK),
        pair(Accent, "numerals on white, and white letters on day squares", accent, white, TEXT),
        pair(Accent, "icons on the tint of the dose", accent, tint, MARK),
    ]
}

/// The pair that falls short the most by one of the two colours; `None` if all can be read.
pub fn weakest(chosen: Chosen, ink: Colour, accent: Colour) -> Option<Pair> {
    let short = |pair: &Pair| pair.least / pair.ratio;
    pairs(ink, accent)
        .into_iter()
        .filter(|pair| pair.chosen == chosen && pair.is_weak())
        .max_by(|a, b| short(a).total_cmp(&short(b)))
}

/// The chosen colour, as little darker as makes all of its pairs readable.
pub fn nearest(chosen: Chosen, ink: Colour, accent: Colour) -> Colour {
    let own = match chosen {
        Chosen::Ink => ink,
        Chosen::Accent => accent,
    };
    let passes = |colour: &Colour| match chosen {
        Chosen::Ink => weakest(chosen, *colour, accent).is_none(),
        Chosen::Accent => weakest(chosen, ink, *colour).is_none(),
    };
    (0..=255).map(|step| own.darkened(step)).find(passes).unwrap_or(Colour { channels: [0; 3] })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn colour(hex: &str) -> Colour {
        Colour::from_hex(hex).unwrap()
    }

    #[test]
    fn contrast_follows_wcag() {
        // handout-quality 6.2: the last greys that pass 4.5, 7 and 3 to 1 on white, and the end of the scale.
        for (hex, ratio) in [("#767676", 4.54), ("#595959", 7.00), ("#949494", 3.03), ("#000000", 21.0)] {
            assert!((colour(hex).contrast(Colour::WHITE) - ratio).abs() < 0.005, "{hex}");
        }
        // Red, green and blue weigh as their luminance says (WCAG 2.2).
        for (hex, ratio) in [("#ff0000", 4.00), ("#00ff00", 1.37), ("#0000ff", 8.59)] {
            assert!((colour(hex).contrast(Colour::WHITE) - ratio).abs() < 0.005, "{hex}");
        }
    }

    #[test]
    fn the_shares_are_those_of_the_layouts() {
        let theme = include_str!("../../layouts/theme.typ");
        for (name, from, share) in
            [("soft", "ink", SOFT), ("line", "ink", LINE), ("tint", "accent", TINT), ("wash", "accent", WASH)]
        {
            let line = theme.lines().find(|line| line.trim_start().starts_with(&format!("{name}:"))).unwrap();
            assert!(line.contains(&format!("thin({from}, {share}%)")), "{line}");
        }
    }

    #[test]
    fn the_demo_passes_and_its_ratios_are_those_of_the_design() {
        let (ink, accent) = (colour("#16242d"), colour("#0b5a68"));
        assert!(pairs(ink, accent).iter().all(|pair| !pair.is_weak()));
        // layout-design section 4, measured there.
        let of = |what: &str| pairs(ink, accent).into_iter().find(|pair| pair.what == what).unwrap().ratio;
        for (what, ratio) in [
            ("text on white", 15.9),
            ("text on the tint of messages", 14.2),
            ("second-level text on white", 8.3),
            ("second-level text on the tint of messages", 7.4),
            ("lines on white", 4.2),
            ("lines on the tint of the dose", 3.8),
            ("numerals on white, and white letters on day squares", 7.8),
            ("icons on the tint of the dose", 7.0),
        ] {
            assert!((of(what) - ratio).abs() < 0.1, "{what}: {}", of(what));
        }
    }

    #[test]
    fn an_ink_that_passes_on_white_may_fail_where_it_is_thinned() {
        // #333333 has 12.6 to 1 on white; four fifths of it, #5c5c5c, have 6.7.
        let (ink, accent) = (colour("#333333"), colour("#0b5a68"));
        assert!(ink.contrast(Colour::WHITE) > BODY);
        let weak = weakest(Chosen::Ink, ink, accent).unwrap();
        assert!(weak.what.starts_with("second-level text"), "{weak:?}");
        let near = nearest(Chosen::Ink, ink, accent);
        assert!(weakest(Chosen::Ink, near, accent).is_none());
        // One step lighter does not pass: it is the nearest.
        let [grey, ..] = near.channels;
        let lighter = Colour { channels: [grey + 1; 3] };
        assert!(weakest(Chosen::Ink, lighter, accent).is_some(), "{near:?}");
    }

    #[test]
    fn yellow_and_a_mid_teal_are_refused_and_plum_passes() {
        // layout-design section 4.
        let ink = colour("#16242d");
        for (hex, passes) in [("#ffd400", false), ("#2a9d9a", false), ("#6b2457", true)] {
            assert_eq!(weakest(Chosen::Accent, ink, colour(hex)).is_none(), passes, "{hex}");
            let near = nearest(Chosen::Accent, ink, colour(hex));
            assert!(weakest(Chosen::Accent, ink, near).is_none(), "{hex}");
        }
    }
}
