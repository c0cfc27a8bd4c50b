//! Answers as text: pages, the calendar file, forecasts in words.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::panic,
    reason = "a test fails by panicking"
)]

mod calendar;
mod forecasts;
mod pages;
