//! How a document is to look on paper: sheet, type size, ink. The choices of brand, client and command line meet here.

use serde::{Deserialize, Serialize};

/// A document that can be made of a visit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum What {
    /// The client's handout: the sheet itself, the only document in the ledger.
    Handout,
    /// The sheet's plan alone, on one page.
    Glance,
    /// The sheet's exercises as pocket cards to cut out.
    Cards,
    /// The sheet's diary alone.
    Diary,
    /// The sheet as a booklet: half pages laid out to be printed on both sides and folded.
    Booklet,
    /// A letter to a clinician about what this visit sends on.
    Letter,
    /// The coach's own record.
    Record,
}

impl What {
    /// Its word, in file names and on the command line.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Handout => "handout",
            Self::Glance => "glance",
            Self::Cards => "cards",
            Self::Diary => "diary",
            Self::Booklet => "booklet",
            Self::Letter => "letter",
            Self::Record => "record",
        }
    }
}

/// A way to print the library.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Volume {
    /// A book for coaches.
    Book,
    /// One large page for the wall.
    Poster,
    /// Cards to cut, with or without a back.
    Cards {
        /// Whether the back says how it is done.
        backs: bool,
    },
}

impl Volume {
    /// Its word, in file names and on the command line.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Book => "book",
            Self::Poster => "poster",
            Self::Cards { backs: false } => "cards",
            Self::Cards { backs: true } => "cards-two-sided",
        }
    }

    /// Its layout.
    pub const fn layout(self) -> &'static str {
        match self {
            Self::Book => "book",
            Self::Poster => "book-poster",
            Self::Cards { .. } => "book-cards",
        }
    }
}

/// Sheet of paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Paper {
    /// ISO 216 A4, 210 by 297 mm.
    A4,
    /// US Letter, 215.9 by 279.4 mm.
    Letter,
}

impl Paper {
    /// Every sheet, with its word in files and on the command line.
    pub const ALL: [(&'static str, Self); 2] = [("a4", Self::A4), ("letter", Self::Letter)];
}

/// Type size.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Type {
    /// 12 pt body.
    Normal,
    /// 18 pt body, re-typeset.
    Large,
}

impl Type {
    /// Every size, with its word in files and on the command line.
    pub const ALL: [(&'static str, Self); 2] = [("normal", Self::Normal), ("large", Self::Large)];
}

/// How much colour and toner a document uses.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Ink {
    /// The brand's colours.
    Colour,
    /// Greys only.
    Grey,
    /// No tints, outlines instead of fills.
    Saver,
}

impl Ink {
    /// Every kind, with its word in files and on the command line.
    pub const ALL: [(&'static str, Self); 3] = [("colour", Self::Colour), ("grey", Self::Grey), ("saver", Self::Saver)];
}

/// What someone asked for; what they left open is decided by the next in line.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Wishes {
    /// Sheet.
    pub paper: Option<Paper>,
    /// Type size.
    pub type_size: Option<Type>,
    /// Ink.
    pub ink: Option<Ink>,
}

impl Wishes {
    /// These wishes, with the gaps filled from `next`.
    #[must_use]
    pub fn or(self, next: Self) -> Self {
        Self {
            paper: self.paper.or(next.paper),
            type_size: self.type_size.or(next.type_size),
            ink: self.ink.or(next.ink),
        }
    }

    /// The look, with A4, normal type and colour where nobody asked.
    pub fn settle(self) -> Look {
        Look {
            paper: self.paper.unwrap_or(Paper::A4),
            type_size: self.type_size.unwrap_or(Type::Normal),
            ink: self.ink.unwrap_or(Ink::Colour),
        }
    }
}

/// The look of one document.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Look {
    /// Sheet.
    pub paper: Paper,
    /// Type size.
    #[serde(rename = "type")]
    pub type_size: Type,
    /// Ink.
    pub ink: Ink,
}

/// Which part of a label stands at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Anchor {
    /// Its left edge.
    Start,
    /// Its middle.
    Middle,
    /// Its right edge.
    End,
}
