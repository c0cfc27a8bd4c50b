//! What rules, items and entries come to: cases, two evaluators compared, laws, outside checks.

mod agree;
mod calendar_outside;
mod codes;
mod columns;
mod conformance;
mod edges;
mod history;
mod many_names;
mod one_entry;
mod properties;
mod saved;
mod spelling;
mod zones;
