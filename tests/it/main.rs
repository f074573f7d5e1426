//! End-to-end tests: the program itself, on the demo practice and on small practices that are broken in one way each.

mod bad_input;
mod demo;
mod practice;
mod reading_order;
mod sheets;
