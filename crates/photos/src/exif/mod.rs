//! Metadata of one picture: found in its file, and read by the Exif standard.

mod bounded_reader;
mod container;
mod error;
mod picture;
mod tiff;

pub(crate) use picture::FileReader;
pub use picture::{Gear, Measured, Picture};
