//! Forecasts and trips as serde values: the JSON of the command line and of Python.
//!
//! ```
//! use kitlore_engine::{Book, Item, Program, When};
//! use kitlore_planning::{Options, forecast};
//! let rules = Program::parse("for cameras\n after 90 days, inspect sensor")?;
//! let mut book = Book::new(&rules);
//! book.add_item(Item::new("C1", "camera").received("2026-01-10".parse()?))?;
//! let at = rules.when_is_over(When::parse("2026-02-08")?);
//! let ahead = forecast(&mut book, at, &Options::default());
//! let text = serde_json::to_string(&kitlore_render::json::forecasts(&ahead))?;
//! assert!(text.contains(r#""basis":"a certain date""#));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod forecast;
mod trip;

pub use forecast::forecasts;
pub use trip::trip;
