//! Photographs as the use log: frames, shooting days and lens changes read off their metadata.
//!
//! [`Found`] looks through folders, [`Pictures`] reads what is found in parallel, [`Pictures::report`] turns it
//! into entries. Internal to kitlore; use the `kitlore` crate's feature `photos` or the command `kitlore photos`.
//!
//! ```
//! use kitlore_photos::{Found, Pictures, Settings};
//! let found = Found::in_folders(&["pictures of February"], false);
//! let pictures = Pictures::read(found, std::num::NonZeroUsize::MIN, |_| true);
//! let report = pictures.report(&[], &Settings::default());
//! assert!(report.entries.is_empty()); // there is no such folder,
//! assert_eq!(report.problems[0].code, "unreadable-folder"); // and that is told
//! ```
//!
//! # What is read
//! The fields of the Exif standard (CIPA DC-008), out of JPEG, HEIF, TIFF, DNG and raw files built like a TIFF,
//! out of the JPEG within RAF, out of PNG and WebP. Makers' own notes are not read: what only they say (a count
//! of the shutter, the lens of some older bodies) is not known. Pictures are never written to.
//!
//! # Untrusted input
//! A picture may claim anything: at most 16 MiB of each are read, lists and values within have bounds of their
//! own, and no length that a file claims is believed before its bytes are there.

mod bodies;
mod changes;
pub mod codes;
mod container;
mod copies;
mod counts;
mod fields;
mod folder;
mod frames;
mod jumps;
mod known;
mod lenses;
mod marks;
mod metadata;
mod pictures;
mod problems;
mod report;
mod shift;
mod unmatched;
mod window;

pub use folder::Found;
pub use known::Known;
pub use marks::{Mark, MarkError};
pub use metadata::{Gear, Measured, Picture};
pub use pictures::Pictures;
pub use report::{Report, Settings};
pub use shift::{ShiftError, ZoneError, parse_shift, zone};
pub use unmatched::Unmatched;
