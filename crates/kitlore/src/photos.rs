//! Pictures as a log: frames, shooting days and lens changes, from the metadata of the pictures.
//!
//! ```
//! use kitlore::photos::{Folders, Pictures, Settings};
//! let mut pictures = Pictures::default();
//! pictures.read(Folders::new(&["card"], false), std::num::NonZeroUsize::MIN, |_| true)?;
//! let report = pictures.report(&[], &Settings::default())?;
//! for entry in &report.entries {
//!     println!("{entry:?}");
//! }
//! # assert_eq!(report.problems[0].code, "unreadable-folder"); // there is no such folder
//! # Ok::<(), kitlore::photos::SpillError>(())
//! ```

pub use kitlore_photos::{
    Folders, Gear, Imported, Measured, MeasuredCondition, MeasuredConditionError, PhotoReport, Picture,
    Pictures, Settings, ShiftError, SpillError, SpillOptions, Unmatched, ZoneError, parse_shift, zone,
};
