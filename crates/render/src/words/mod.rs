//! Answers in words, once for every screen, page and calendar: why a row stands as it does, since when, what
//! happens next, what a forecast rests on, dates and lengths as people say them.

mod awaited;
mod dates;
#[cfg(feature = "planning")]
mod forecast;
mod next;
mod numbers;
mod part;
mod plain;
mod reasons;
mod row;
mod suggestion;
#[cfg(feature = "planning")]
mod trip;

pub use awaited::awaited;
pub use dates::Days;
#[cfg(feature = "planning")]
pub use forecast::{basis, too_little};
pub use next::next;
pub use numbers::{amount_of, counted, grouped, listed, minutes};
pub use part::usage;
pub use plain::{plain, plain_lines};
pub use reasons::reasons;
pub use row::{last_time, totals, when, without_rule};
pub use suggestion::did_you_mean;
#[cfg(feature = "planning")]
pub use trip::{calls, cause, note};
