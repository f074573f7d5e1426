//! Styles: the colors of a figure, and the ways of printing it.

use std::collections::BTreeMap;

/// A color of the screen or the printer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rgb(pub [u8; 3]);

impl Rgb {
    /// Reads `#rrggbb`.
    #[cfg(test)]
    pub fn parse(text: &str) -> Option<Rgb> {
        let digits = text.strip_prefix('#').filter(|it| it.len() == 6 && it.is_ascii())?;
        let byte = |i: usize| u8::from_str_radix(&digits[i..i + 2], 16).ok();
        Some(Rgb([byte(0)?, byte(2)?, byte(4)?]))
    }
    /// White paper.
    pub const PAPER: Rgb = Rgb([255; 3]);
    /// Writes `#rrggbb`.
    pub fn hex(self) -> String {
        let [r, g, b] = self.0;
        format!("#{r:02x}{g:02x}{b:02x}")
    }
    /// A share `t` of the way to the other color.
    pub fn mix(self, other: Rgb, t: f64) -> Rgb {
        let blend = |a: u8, b: u8| (f64::from(a) * (1.0 - t) + f64::from(b) * t).round() as u8;
        Rgb([0, 1, 2].map(|i| blend(self.0[i], other.0[i])))
    }
    /// Brightness from 0 to 255, weighed as the eye does (ITU-R BT.709).
    pub fn brightness(self) -> f64 {
        let [r, g, b] = self.0.map(f64::from);
        0.2126 * r + 0.7152 * g + 0.0722 * b
    }
    fn grey(level: f64) -> Rgb {
        Rgb([level.round().clamp(0.0, 255.0) as u8; 3])
    }
    const fn of(hex: u32) -> Rgb {
        Rgb([(hex >> 16) as u8, (hex >> 8) as u8, hex as u8])
    }
}

const TOKENS: [(&str, u32); 19] = [
    ("paper", 0xffffff),
    ("ink", 0x22313f),
    ("top", 0x2b7f86),
    ("bottom", 0x37475a),
    ("skin", 0xdcb493),
    ("hair", 0x4a3a30),
    ("prop", 0xa9b8c2),
    ("floor", 0xc3ced6),
    ("ground", 0xeef2f4),
    ("mat", 0xb9cdc6),
    ("accent", 0xc8401f),
    ("feel", 0xf0873a),
    ("band", 0xd29a1e),
    ("good", 0x1f7a4d),
    ("bad", 0xb3261e),
    ("wood", 0xc79a62),
    ("stick", 0x7d5331),
    ("towel", 0x8fb0d6),
    ("pillow", 0xbccadb),
];

/// Colors by token.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Palette(BTreeMap<&'static str, Rgb>);

impl Default for Palette {
    fn default() -> Palette {
        Palette(TOKENS.iter().map(|(name, hex)| (*name, Rgb::of(*hex))).collect())
    }
}

impl Palette {
    /// The palette in a clinic's own colors: the shirt takes the first, arrows the second.
    pub fn with_brand(primary: Rgb, accent: Rgb) -> Palette {
        let mut palette = Palette::default();
        let paper = palette.get("paper");
        let mut top = primary;
        // A shirt as dark as the trousers or as pale as the paper would not read.
        while top.brightness() < 95.0 {
            top = top.mix(paper, 0.12);
        }
        while top.brightness() > 135.0 {
            top = top.mix(palette.get("ink"), 0.12);
        }
        let mut arrow = accent;
        while arrow.brightness() > 110.0 {
            arrow = arrow.mix(palette.get("ink"), 0.12);
        }
        palette.set("top", top);
        palette.set("accent", arrow);
        palette
    }
    /// The color of a token; grey if there is none.
    pub fn get(&self, token: &str) -> Rgb {
        self.0.get(token).copied().unwrap_or(Rgb([128; 3]))
    }
    /// Sets one token; an unknown one changes nothing and gives false.
    pub fn set(&mut self, token: &str, color: Rgb) -> bool {
        match self.0.get_mut(token) {
            Some(slot) => {
                *slot = color;
                true
            }
            None => false,
        }
    }
    /// The same palette for a printer without color: cloth, skin and paper keep clearly different greys.
    fn greyed(&self) -> Palette {
        let mut grey: BTreeMap<&'static str, Rgb> =
            self.0.iter().map(|(name, color)| (*name, Rgb::grey(color.brightness()))).collect();
        grey.insert("bottom", Rgb::grey(58.0));
        grey.insert("top", Rgb::grey(112.0));
        grey.insert("skin", Rgb::grey(self.get("skin").brightness().clamp(165.0, 205.0)));
        grey.insert("hair", Rgb::grey(self.get("hair").brightness().min(60.0)));
        grey.insert("accent", Rgb::grey(10.0));
        grey.insert("ink", Rgb::grey(20.0));
        Palette(grey)
    }
}

/// A way of printing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Look {
    Color,
    Grey,
    /// Outlines only, to save ink.
    Line,
}

/// Everything that decides how a solved frame is painted.
#[derive(Clone, Debug)]
pub struct Style {
    pub look: Look,
    pub(crate) palette: Palette,
}

/// How far the tint of a far limb goes toward the paper.
const FAR: f64 = 0.42;

/// Cloth of less brightness than this is dark.
const DARK: f64 = 90.0;

impl Style {
    /// A look in a palette; greys unless the look has color.
    pub fn new(look: Look, palette: Palette) -> Style {
        let palette = if look == Look::Color { palette } else { palette.greyed() };
        Style { look, palette }
    }
    /// Whether it draws outlines only.
    pub(crate) fn is_line(&self) -> bool {
        self.look == Look::Line
    }
    /// The color of a token.
    pub(crate) fn color(&self, token: &str) -> Rgb {
        self.palette.get(token)
    }
    /// The fill of a cloth or of skin.
    pub(crate) fn cloth(&self, token: &str, far: bool) -> Rgb {
        let paper = self.color("paper");
        match (self.is_line(), far) {
            (true, false) => paper,
            (true, true) => paper.mix(self.color("ink"), 0.10),
            (false, false) => self.color(token),
            (false, true) => self.color(token).mix(paper, FAR),
        }
    }
    /// The tone of a cloth or of skin where another part of the body lies over it: darker, or paler if it is dark itself.
    pub(crate) fn seam(&self, token: &str, far: bool) -> Rgb {
        let cloth = self.cloth(token, far);
        if cloth.brightness() < DARK { cloth.mix(self.color("paper"), 0.4) } else { cloth.mix(self.color("ink"), 0.4) }
    }
    /// The color of arrows.
    pub(crate) fn arrow(&self) -> Rgb {
        self.color(if self.is_line() { "ink" } else { "accent" })
    }
}
