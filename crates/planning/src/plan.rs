//! Use that is known beforehand.

use chrono::NaiveDate;
use kitlore_engine::{Amount, parse_expect};

/// A trip, a job or a rest that is known beforehand, with what it will ask of the items it takes along.
///
/// Plans of the log are read from the log; this is for one that is not in it.
///
/// ```
/// use kitlore_planning::Plan;
/// let date = |text: &str| text.parse().unwrap();
/// let plan = Plan::new(date("2026-12-01"), date("2026-12-07"), "lens change 15; frames 800")
///     .unwrap()
///     .item("C1")
///     .condition("sand");
/// assert_eq!(plan.expect.len(), 2);
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// Its first date.
    pub from: NaiveDate,
    /// Its last date.
    pub to: NaiveDate,
    /// Ids of the items it is for.
    pub items: Vec<String>,
    /// The conditions that hold while it lasts.
    pub conditions: Vec<String>,
    /// How much of each event is expected a day; what is not named goes on as usual.
    pub expect: Vec<(String, Amount)>,
}

impl Plan {
    /// A plan for no item yet.
    ///
    /// # Errors
    /// What is wrong with `expect`: see [`parse_expect`].
    pub fn new(from: NaiveDate, to: NaiveDate, expect: &str) -> Result<Self, String> {
        let expect =
            parse_expect(expect)?.into_iter().map(|(name, amount)| (name.to_owned(), amount)).collect();
        Ok(Self { from, to, items: Vec::new(), conditions: Vec::new(), expect })
    }

    /// One more item.
    pub fn item(mut self, id: impl Into<String>) -> Self {
        self.items.push(id.into());
        self
    }

    /// One more condition.
    pub fn condition(mut self, name: impl Into<String>) -> Self {
        self.conditions.push(name.into());
        self
    }
}
