//! Who prints: the practice's name, coaches, colours and habits.

pub mod contrast;

use std::collections::BTreeMap;

use crate::ids::{CoachId, Id};
use crate::print::Wishes;
use crate::units::System;

/// An sRGB colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Colour {
    /// Red, green, blue.
    pub channels: [u8; 3],
}

impl Colour {
    /// Paper white.
    pub const WHITE: Self = Self { channels: [255; 3] };

    /// Reads `#16242d`.
    pub fn from_hex(text: &str) -> Option<Self> {
        let digits = text.strip_prefix('#')?;
        if digits.len() != 6 || !digits.bytes().all(|b| b.is_ascii_hexdigit()) {
            return None;
        }
        let channel = |i: usize| u8::from_str_radix(&digits[i..i + 2], 16).ok();
        Some(Self { channels: [channel(0)?, channel(2)?, channel(4)?] })
    }

    /// Writes `#16242d`.
    pub fn to_hex(self) -> String {
        let [r, g, b] = self.channels;
        format!("#{r:02x}{g:02x}{b:02x}")
    }

    /// Relative luminance, 0 to 1 (WCAG 2.2).
    fn luminance(self) -> f64 {
        let [r, g, b] = self.channels.map(|channel| {
            let c = f64::from(channel) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { libm::pow((c + 0.055) / 1.055, 2.4) }
        });
        0.2126 * r + 0.7152 * g + 0.0722 * b
    }

    /// Contrast ratio with another colour, 1 to 21 (WCAG 2.2).
    pub fn contrast(self, other: Self) -> f64 {
        let (a, b) = (self.luminance(), other.luminance());
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    /// A share of the colour, in percent, mixed toward white.
    fn thinned(self, share: u32) -> Self {
        Self { channels: self.channels.map(|c| ((u32::from(c) * share + 255 * (100 - share) + 50) / 100) as u8) }
    }

    /// The colour mixed toward black by `step` of 255.
    fn darkened(self, step: u32) -> Self {
        Self { channels: self.channels.map(|c| ((u32::from(c) * (255 - step) + 127) / 255) as u8) }
    }
}

/// Standing lines that are printed as they are, and only if they are filled in.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Lines {
    /// What to say instead of "your local emergency number".
    pub emergency_line: Option<String>,
    /// Whom to call outside the coach's hours.
    pub out_of_hours: Option<String>,
    /// What the coach is and is not; local rules decide the wording.
    pub scope_note: Option<String>,
    /// What becomes of what the client tells; local rules decide the wording.
    pub privacy_line: Option<String>,
    /// Where to find them, or another line under whom to ask; the same in every language.
    pub address: Option<String>,
}

/// A person who coaches.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Coach {
    /// Full name.
    pub name: String,
    /// First name, as clients say it.
    pub call: String,
    /// What they are, such as "movement coach".
    pub role: String,
    /// Telephone.
    pub phone: String,
    /// Mail address.
    pub email: Option<String>,
    /// When they answer.
    pub hours: String,
    /// Standing lines of their own, instead of the practice's.
    pub lines: Lines,
}

/// The brand of a practice.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Brand {
    /// The practice's name.
    pub name: String,
    /// Logo file in `layouts/`.
    pub logo: Option<String>,
    /// What the logo shows.
    pub logo_alt: String,
    /// Text colour.
    pub ink: Colour,
    /// The one accent colour.
    pub accent: Colour,
    /// Typefaces of the practice's own, the first that has a character shows it.
    pub typefaces: Vec<String>,
    /// Language of the standing texts, such as `en`.
    pub language: String,
    /// Languages that clients may choose, `language` among them.
    pub languages: Vec<String>,
    /// Language that the library is written in.
    pub written_in: String,
    /// Region of the language, such as `GB`.
    pub region: Option<String>,
    /// Units.
    pub units: System,
    /// Paper, type and ink.
    pub wishes: Wishes,
    /// Standing lines.
    pub lines: Lines,
    /// Coaches.
    pub coaches: BTreeMap<CoachId, Coach>,
    /// The coach for clients that name none.
    pub coach: CoachId,
}

impl Lines {
    /// These lines, and those of `others` where there are none.
    pub fn or(&self, others: &Self) -> Self {
        let pick = |own: &Option<String>, other: &Option<String>| own.clone().or_else(|| other.clone());
        Self {
            emergency_line: pick(&self.emergency_line, &others.emergency_line),
            out_of_hours: pick(&self.out_of_hours, &others.out_of_hours),
            scope_note: pick(&self.scope_note, &others.scope_note),
            privacy_line: pick(&self.privacy_line, &others.privacy_line),
            address: pick(&self.address, &others.address),
        }
    }
}

impl Brand {
    /// The coach by id, or the practice's usual one.
    pub fn coach(&self, id: Option<&CoachId>) -> &Coach {
        id.and_then(|id| self.coaches.get(id))
            .or_else(|| self.coaches.get(self.coach.as_str()))
            .expect("the check stage makes sure that the usual coach exists")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_six_hex_digits_are_a_colour() {
        for bad in ["16242d", "#16242", "#16242g", "#é1242", "red"] {
            assert_eq!(Colour::from_hex(bad), None, "{bad}");
        }
    }
}
