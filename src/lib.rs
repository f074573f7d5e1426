//! Kinleaf merges client records with an exercise library, does the reasoning and arithmetic, and typesets personal
//! take-home handouts.
//!
//! The way through is `load -> check -> assess -> plan -> word -> draw -> typeset -> publish`, each stage a module with
//! one entry and a plain data type handed to the next; [`pipeline`] keeps the order. DEVELOPERS.md has the map.

pub mod assess;
pub mod blank;
pub mod body;
pub mod brand;
pub mod check;
pub mod cli;
pub mod coherence;
pub mod coverage;
pub mod diag;
pub mod draw;
pub mod fields;
pub mod ids;
pub mod issued;
pub mod ledger;
pub mod library;
pub mod load;
pub mod memory;
pub mod mend;
pub mod pipeline;
pub mod plain;
pub mod plan;
pub mod print;
pub mod publish;
pub mod quality;
pub mod record;
pub mod retest;
pub mod safety;
pub mod schema;
pub mod shape;
pub mod starter;
pub mod template;
pub mod typeset;
pub mod units;
pub mod word;
pub mod words;

#[cfg(test)]
mod testing;
