//! Names of things in a practice: short, safe to use in a file name, each kind its own type.

use std::fmt;

/// Longest id, in characters.
const LONGEST: usize = 40;

/// Why a text cannot be an id.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "`{0}` is not a usable name: it may hold a to z, 0 to 9 and `-`, at most {LONGEST} characters, and must start with a letter or digit"
)]
pub struct BadId(String);

fn is_id(text: &str) -> bool {
    !text.is_empty()
        && text.len() <= LONGEST
        && !text.starts_with('-')
        && text.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-')
}

/// What every kind of id offers.
pub trait Id: Sized + Ord + fmt::Display {
    /// What a person calls the thing: `exercise`, `test`.
    const KIND: &'static str;

    /// Checks `text` and wraps it.
    ///
    /// # Errors
    /// If it holds anything but lower-case letters, digits and hyphens, or is empty or too long.
    fn new(text: &str) -> Result<Self, BadId>;

    /// The id as text.
    fn as_str(&self) -> &str;
}

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident = $kind:literal;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
        pub struct $name(String);

        impl Id for $name {
            const KIND: &'static str = $kind;

            fn new(text: &str) -> Result<Self, BadId> {
                if is_id(text) { Ok(Self(text.to_owned())) } else { Err(BadId(text.to_owned())) }
            }

            fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }

        impl std::borrow::Borrow<str> for $name {
            fn borrow(&self) -> &str {
                &self.0
            }
        }
    )*};
}

ids! {
    /// One client; the stem of the record's file name.
    ClientId = "client";
    /// One library exercise; the stem of its file name.
    ExerciseId = "exercise";
    /// One test; the stem of its file name.
    TestId = "test";
    /// One phase of a program.
    PhaseId = "phase";
    /// A muscle, a joint motion or a skill.
    StructureId = "structure";
    /// A part of the body.
    RegionId = "region";
    /// Something an exercise needs.
    EquipmentId = "equipment";
    /// A position that a client can or cannot get into.
    PositionId = "position";
    /// A safety tag of an exercise or test.
    TagId = "tag";
    /// Something a client loves to do.
    ActivityId = "activity";
    /// A screening question.
    FlagId = "screening question";
    /// A health condition that changes what is allowed.
    ConditionId = "condition";
    /// A coach of the practice.
    CoachId = "coach";
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_id_cannot_leave_its_folder() {
        for bad in ["", "..", "a/b", "a\\b", "-x", "Ana", "a b", "é", &"a".repeat(41)] {
            assert!(ClientId::new(bad).is_err(), "{bad}");
        }
        for good in ["ana", "knee-to-wall", "7", &"a".repeat(40)] {
            assert!(ClientId::new(good).is_ok(), "{good}");
        }
    }
}
