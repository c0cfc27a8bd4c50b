//! Types of other crates that functions here take or return.
//!
//! ```
//! use kitlore::time::{FixedOffset, Tz};
//! let rules = kitlore::Rules::parse("time zone Europe/Lisbon\nfor cameras\n  after 90 days, inspect sensor")?;
//! assert_eq!(rules.house().zone, Tz::Europe__Lisbon);
//! let over = rules.local(rules.when_is_over(kitlore::When::parse("2026-07-01")?));
//! assert_eq!(FixedOffset::east_opt(3_600).as_ref(), Some(over.offset()));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

#[doc(no_inline)]
pub use chrono::{DateTime, FixedOffset, NaiveDate, NaiveDateTime, TimeDelta, Utc, Weekday};
#[doc(no_inline)]
pub use chrono_tz::Tz;
