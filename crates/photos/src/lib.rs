//! Photographs as the use log: frames, shooting days and lens changes read off their metadata.
//!
//! [`Pictures::read`] searches [`Folders`] and reads the pictures in parallel, [`Pictures::report`] turns them into
//! entries. Internal to kitlore; use the feature `photos` of the crate `kitlore`, or the command `kitlore photos`.
//!
//! ```
//! use kitlore_photos::{Folders, Pictures, Settings};
//! let mut pictures = Pictures::default();
//! pictures.read(Folders::new(&["pictures of February"], false), std::num::NonZeroUsize::MIN, |_| true)?;
//! let report = pictures.report(&[], &Settings::default())?;
//! assert!(report.entries.is_empty()); // there is no such folder,
//! assert_eq!(report.problems[0].code, "unreadable-folder"); // and that is reported
//! # Ok::<(), kitlore_photos::SpillError>(())
//! ```
//!
//! # What is read
//! The fields of the Exif standard (CIPA DC-008), from JPEG, HEIF, TIFF, DNG and raw files built like a TIFF, from
//! the JPEG in RAF, from PNG and WebP. Makers' notes are not read: what only they contain (a shutter count, the lens
//! of some older bodies) stays unknown. Pictures are never written to.
//!
//! # Memory
//! Memory does not grow with the number of pictures: it holds moment and name of as many as [`SpillOptions`] allows;
//! the others are sorted in temporary files. It grows with what entries are made of (bodies, lenses, and the days on
//! which they were used), with the number of folders, and with the number of pictures that all claim the same
//! moment: those are compared with each other, to tell copies from frames. Of each code the first thousand problems
//! are kept.
//!
//! # Untrusted input
//! A picture may claim anything. At most 16 MiB of each are read, lists and values in it have limits of their own,
//! and no claimed length is believed before its bytes are there.

mod clock_shift;
pub mod codes;
mod conditions;
mod entries;
mod exif;
mod folders;
mod frames;
mod gear;
mod imported;
mod pictures;
mod problems;
mod report;
mod settings;
mod sort;

pub use clock_shift::{ShiftError, ZoneError, parse_shift, zone};
pub use codes::PictureCode;
pub use conditions::{MeasuredCondition, MeasuredConditionError};
pub use exif::{Gear, Measured, Picture};
pub use folders::Folders;
pub use gear::Unmatched;
pub use imported::Imported;
pub use pictures::Pictures;
pub use report::PhotoReport;
pub use settings::Settings;
pub use sort::{SpillError, SpillOptions};
