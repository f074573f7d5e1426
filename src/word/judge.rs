//! What only a person can judge of a sheet: the items of public instruments that no program can measure. They stand in the
//! coach's record with room for an answer, and are never counted as passed.

use serde::Serialize;

/// One thing to judge.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Question {
    /// Instrument and item.
    pub item: &'static str,
    /// What to look at.
    pub question: &'static str,
}

/// Everything that a person must judge.
pub const QUESTIONS: &[Question] = &[
    Question { item: "PEMAT-P 2", question: "Does anything on the sheet distract?" },
    Question { item: "PEMAT-P 5, CDC 6", question: "Does each sentence say who does what?" },
    Question { item: "PEMAT-P 16", question: "Does each picture show what its words say?" },
    Question { item: "PEMAT-P 18", question: "Is each picture clear at arm's length?" },
    Question { item: "CDC 7", question: "Are these the words that this client uses?" },
    Question { item: "CERT 2", question: "Coach's training and experience" },
    Question { item: "CERT 7b", question: "What was changed since the last sheet, and why?" },
    Question { item: "CERT 11", question: "Did anything go wrong at home? What, how often?" },
    Question { item: "CERT 16a", question: "Which exercises were watched at the retest?" },
    Question { item: "CERT 16b", question: "How many days were done as planned?" },
    Question { item: "PDF/UA", question: "Are the words for listeners right, and their order?" },
    Question { item: "WCAG 1.4.1", question: "Is anything said by colour alone?" },
];
