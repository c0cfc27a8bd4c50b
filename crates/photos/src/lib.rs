//! Photographs as the use log: frames, shooting days and lens changes read off their metadata.
//!
//! [`Pictures::read`] looks through [`Folders`] and reads what is found in parallel, [`Pictures::report`] turns it
//! into entries. Internal to kitlore; use the `kitlore` crate's feature `photos` or the command `kitlore photos`.
//!
//! ```
//! use kitlore_photos::{Folders, Pictures, Settings};
//! let mut pictures = Pictures::default();
//! pictures.read(Folders::new(&["pictures of February"], false), std::num::NonZeroUsize::MIN, |_| true)?;
//! let report = pictures.report(&[], &Settings::default())?;
//! assert!(report.entries.is_empty()); // there is no such folder,
//! assert_eq!(report.problems[0].code, "unreadable-folder"); // and that is told
//! # Ok::<(), kitlore_photos::RoomError>(())
//! ```
//!
//! # What is read
//! The fields of the Exif standard (CIPA DC-008), out of JPEG, HEIF, TIFF, DNG and raw files built like a TIFF,
//! out of the JPEG within RAF, out of PNG and WebP. Makers' own notes are not read: what only they say (a count
//! of the shutter, the lens of some older bodies) is not known. Pictures are never written to.
//!
//! # What is kept
//! Memory does not grow with the number of pictures: of so many as a [`Room`] holds it keeps moment and name, those
//! beyond go to temporary files and are put in order there. It grows with what entries are told of (bodies and
//! lenses, and the days on which they were used), with the number of folders, and with that of pictures which all
//! claim one and the same moment: those are looked at together, to tell copies from frames. Of problems the first
//! thousand of each code are kept.
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
mod order;
mod pictures;
mod problems;
mod report;
mod room;
mod shift;
mod sorter;
mod stored;
mod unmatched;
mod window;

pub use folder::Folders;
pub use known::Known;
pub use marks::{Mark, MarkError};
pub use metadata::{Gear, Measured, Picture};
pub use pictures::Pictures;
pub use report::{Report, Settings};
pub use room::{Room, RoomError};
pub use shift::{ShiftError, ZoneError, parse_shift, zone};
pub use unmatched::Unmatched;
