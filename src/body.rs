//! Sides of the body, and values that come in a left and a right.

use serde::Serialize;

/// A side of the client's own body.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Side {
    /// The client's left.
    Left,
    /// The client's right.
    Right,
}

impl Side {
    /// Left, then right.
    pub const BOTH: [Self; 2] = [Self::Left, Self::Right];

    /// Both, with the words used in files.
    pub const ALL: [(&'static str, Self); 2] = [("left", Self::Left), ("right", Self::Right)];

    /// The opposite side.
    pub fn other(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }

    /// The word used in files: `left` or `right`.
    pub fn key(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }

    /// +1 on the left, -1 on the right: what is mirrored is multiplied by it.
    pub(crate) fn sign(self) -> f64 {
        match self {
            Self::Left => 1.0,
            Self::Right => -1.0,
        }
    }

    /// 0 on the left, 1 on the right.
    pub(crate) fn index(self) -> usize {
        match self {
            Self::Left => 0,
            Self::Right => 1,
        }
    }
}

/// One value for each side.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct BySide<T> {
    /// The left side's value.
    pub left: T,
    /// The right side's value.
    pub right: T,
}

impl<T> BySide<T> {
    /// Both values from one function of the side.
    pub fn from_fn(mut value: impl FnMut(Side) -> T) -> Self {
        Self { left: value(Side::Left), right: value(Side::Right) }
    }

    /// The value of one side.
    pub fn get(&self, side: Side) -> &T {
        match side {
            Side::Left => &self.left,
            Side::Right => &self.right,
        }
    }
}

/// How an exercise is shared out over the two sides.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sides {
    /// The left side only.
    Left,
    /// The right side only.
    Right,
    /// First one side, then the other.
    Each,
    /// Both at once, or the whole body.
    Both,
}

impl Sides {
    /// Every value, with the word used in files.
    pub const ALL: [(&'static str, Self); 4] =
        [("left", Self::Left), ("right", Self::Right), ("each", Self::Each), ("both", Self::Both)];

    /// The word used in files.
    pub fn key(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
            Self::Each => "each",
            Self::Both => "both",
        }
    }

    /// The side that words and pictures show; `None` if the exercise has no side.
    pub fn shown(self) -> Option<Side> {
        match self {
            Self::Left | Self::Each => Some(Side::Left),
            Self::Right => Some(Side::Right),
            Self::Both => None,
        }
    }

    /// How many times the work is done: twice if one side follows the other.
    pub fn turns(self) -> u32 {
        match self {
            Self::Each => 2,
            Self::Left | Self::Right | Self::Both => 1,
        }
    }

    /// Whether the work reaches `side`.
    pub fn covers(self, side: Side) -> bool {
        match self {
            Self::Left => side == Side::Left,
            Self::Right => side == Side::Right,
            Self::Each | Self::Both => true,
        }
    }
}
