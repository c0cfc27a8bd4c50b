//! The command as people and programs use it: what it prints, which files it changes, its exit codes.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    reason = "a test fails by panicking"
)]

mod ahead;
mod binary;
mod commands;
mod common;
#[cfg(unix)]
mod crash;
mod mend;
mod photos;
mod readme;
mod screens;
