//! End-to-end tests: the program itself, on the demo practice and on small practices that are broken in one way each.

#![allow(clippy::disallowed_methods, reason = "tests write broken files on purpose")]

mod bad_input;
mod booklet;
mod brands;
mod complaints;
mod demo;
mod extremes;
mod kept;
mod killed;
mod languages;
mod library;
mod module_map;
mod old_texts;
mod pages;
mod papers;
mod pictures;
mod practice;
mod quality;
mod reading_order;
mod reasoning;
mod sheets;
mod walk;
mod wording;
