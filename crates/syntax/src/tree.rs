//! The checked tree of a rule text: what the statements say, names not yet resolved.
//!
//! One tree holds a whole house: what is included is placed where it was included.

use crate::amount::Amount;
use crate::diagnostic::Diagnostic;
use crate::name::Name;
use crate::source::{Sources, Span};
use crate::when::When;
use chrono::{NaiveDate, Weekday};
use std::fmt;
use std::sync::Arc;

/// Everything a rule text says.
#[derive(Debug, Clone, Default)]
pub struct House {
    /// The texts, for places.
    pub sources: Sources,
    /// `house "…"`.
    pub name: Option<String>,
    /// `time zone …`; UTC if absent.
    pub zone: chrono_tz::Tz,
    /// `count from …`.
    pub count_from: Option<NaiveDate>,
    /// `a rangefinder is a camera`.
    pub kinds: Vec<KindOf>,
    /// `clean sensor covers inspect sensor`.
    pub covers: Vec<Covers>,
    /// `events …`, all such statements together; `None` if there is none.
    pub events: Option<Vec<Name>>,
    /// `conditions …`.
    pub conditions: Option<Vec<Name>>,
    /// `findings …`.
    pub findings: Option<Vec<Name>>,
    /// The rules in reading order.
    pub rules: Vec<Rule>,
    /// The example blocks.
    pub examples: Vec<Example>,
    /// What is allowed but probably not meant.
    pub doubts: Vec<Diagnostic>,
}

/// One kind is narrower than another.
#[derive(Debug, Clone, PartialEq)]
pub struct KindOf {
    /// The narrower kind.
    pub narrower: Name,
    /// The broader kind.
    pub broader: Name,
}

/// Doing one task counts as doing others.
#[derive(Debug, Clone, PartialEq)]
pub struct Covers {
    /// The task that is done.
    pub task: Name,
    /// The tasks it also counts as.
    pub covered: Vec<Name>,
}

/// The items a rule is for.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Section {
    /// The kinds; `None` for every item.
    pub kinds: Option<Vec<Name>>,
    /// The `where` filter.
    pub filter: Option<Filter>,
}

/// A condition on an item's columns.
#[derive(Debug, Clone, PartialEq)]
pub enum Filter {
    /// Every one holds (`and`).
    All(Vec<Filter>),
    /// At least one holds (`or`).
    Any(Vec<Filter>),
    /// One column passes one test.
    Test {
        /// The column.
        attribute: Name,
        /// The test.
        test: Test,
    },
}

/// A test of one column.
#[derive(Debug, Clone, PartialEq)]
pub enum Test {
    /// `is …`: the text as written, without quotes.
    Is(String),
    /// `is not …`.
    IsNot(String),
    /// `is above 3` and other comparisons.
    Compare(Comparison, Amount),
    /// `is before 2026-01-01`.
    Before(NaiveDate),
    /// `is after 2026-01-01`.
    After(NaiveDate),
    /// `is known`.
    Known,
    /// `is missing`.
    Missing,
}

/// How a number is compared with a bound.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Comparison {
    /// Less than the bound.
    Below,
    /// More than the bound.
    Above,
    /// The bound or more.
    AtLeast,
    /// The bound or less.
    AtMost,
}

impl Comparison {
    /// Whether `value` satisfies the comparison with `bound`.
    ///
    /// ```
    /// use kitlore_syntax::{Amount, tree::Comparison};
    /// assert!(Comparison::AtMost.holds(Amount::from(20), Amount::from(20)));
    /// assert!(!Comparison::Below.holds(Amount::from(20), Amount::from(20)));
    /// ```
    pub fn holds(self, value: Amount, bound: Amount) -> bool {
        match self {
            Comparison::Below => value < bound,
            Comparison::Above => value > bound,
            Comparison::AtLeast => value >= bound,
            Comparison::AtMost => value <= bound,
        }
    }
}

/// One rule: a trigger, a task, details.
#[derive(Debug, Clone, PartialEq)]
pub struct Rule {
    /// The section it is in.
    pub section: Arc<Section>,
    /// Marked `instead`: it takes the place of the other rules of its task.
    pub instead: bool,
    /// When the task falls due.
    pub trigger: Trigger,
    /// What is to be done.
    pub task: Name,
    /// The details.
    pub details: Details,
    /// From the first word of the rule to its last detail.
    pub span: Span,
}

/// The details of a rule.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Details {
    /// `within 3 days`, for `before`.
    pub within: Option<Duration>,
    /// `notice …`.
    pub notice: Option<Notice>,
    /// `allow 3 days`.
    pub allow: Option<Duration>,
    /// `no later than …`.
    pub no_later_than: Option<Trigger>,
    /// `do not use until done`.
    pub do_not_use: bool,
    /// `at most every 30 days`.
    pub at_most_every: Option<Duration>,
    /// `needs …`, in order.
    pub needs: Vec<String>,
    /// `takes …`, in minutes.
    pub takes_minutes: Option<Amount>,
    /// `by "…"`.
    pub by: Option<String>,
    /// `because "…"`.
    pub because: Option<String>,
    /// `caution "…"`, in order.
    pub cautions: Vec<String>,
    /// Where what describes the work stands: `needs`, `takes`, `by`, `because` and `caution`, in order.
    pub described: Vec<Span>,
}

/// How early a task is announced.
#[derive(Debug, Clone, PartialEq)]
pub enum Notice {
    /// So long before the due date.
    Ahead(Duration),
    /// So many uses before the threshold.
    Uses(Amount, Name),
}

/// When a task falls due.
#[derive(Debug, Clone, PartialEq)]
pub enum Trigger {
    /// Whichever comes first; two or more parts.
    Or(Vec<Trigger>),
    /// Only when all hold; two or more parts.
    And(Vec<Trigger>),
    /// One thing that can be reached.
    Atom(Atom),
}

impl Trigger {
    /// The atoms from left to right.
    pub fn atoms(&self) -> Vec<&Atom> {
        match self {
            Trigger::Atom(atom) => vec![atom],
            Trigger::Or(parts) | Trigger::And(parts) => parts.iter().flat_map(Trigger::atoms).collect(),
        }
    }
}

/// One part of a trigger, with its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Atom {
    /// What it says.
    pub kind: AtomKind,
    /// Where, without a leading `after` or `at`: the text that accounts quote.
    pub span: Span,
}

impl Atom {
    /// Of its text what stands from a byte of its source on.
    ///
    /// ```
    /// use kitlore_syntax::tree::{AtomKind, Trigger};
    /// let rule = "for cameras\n after 20 lens changes in dust, inspect sensor";
    /// let house = kitlore_syntax::parse("house.lore", rule, &kitlore_syntax::NoIncludes).unwrap();
    /// let Trigger::Atom(atom) = &house.rules[0].trigger else { panic!("one part") };
    /// let AtomKind::Usage { name, .. } = &atom.kind else { panic!("a use") };
    /// let text = house.sources.text(atom.span);
    /// assert_eq!(atom.text_from(text, name.span.start), "lens changes in dust");
    /// ```
    pub fn text_from<'t>(&self, text: &'t str, byte: u32) -> &'t str {
        text.get(byte.saturating_sub(self.span.start) as usize..).unwrap_or(text)
    }
}

/// What one part of a trigger says.
#[derive(Debug, Clone, PartialEq)]
pub enum AtomKind {
    /// `before every trip in sand`.
    Before {
        /// What is planned.
        event: Name,
        /// The conditions it must have.
        conditions: Conditions,
    },
    /// `when inspect strap finds fraying or tears`.
    Finding {
        /// The inspection.
        task: Name,
        /// Any of these findings.
        findings: Vec<Name>,
    },
    /// `when mould is found`.
    Spotted {
        /// Any of these findings.
        findings: Vec<Name>,
    },
    /// `when capacity is below 80 percent`.
    Reading {
        /// The gauge.
        name: Name,
        /// How it is compared.
        comparison: Comparison,
        /// With what; may be negative.
        bound: Amount,
        /// In which unit, if stated.
        unit: Option<Name>,
    },
    /// `when unused for 60 days`.
    Unused(Duration),
    /// A date or a recurring one.
    Calendar(Calendar),
    /// `7 days after each firmware release unless firmware recall`.
    Delay {
        /// How long after.
        duration: Duration,
        /// After what.
        event: Name,
        /// What cancels it.
        unless: Vec<Unless>,
    },
    /// `at age 12 months`.
    Age(Duration),
    /// `after 90 days`, `every 2 weeks`.
    Interval(Duration),
    /// `after 20 lens changes in dust (in sand count 3)`.
    Usage {
        /// How many; above 0.
        threshold: Amount,
        /// Where that number stands; `None` in `every trip`, which is one.
        figure: Option<Span>,
        /// Of what.
        name: Name,
        /// Under which conditions.
        conditions: Conditions,
        /// How much each counts; the weight has up to 3 fraction digits.
        weights: Vec<Weight>,
    },
}

/// Which conditions an entry must have.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Conditions {
    /// No condition asked.
    #[default]
    Whatever,
    /// `in dust or sand`; also a single name.
    Any(Vec<Name>),
    /// `in dust and cold`.
    All(Vec<Name>),
    /// `not in studio or store`.
    Neither(Vec<Name>),
}

impl Conditions {
    /// The names asked for.
    pub fn names(&self) -> &[Name] {
        match self {
            Conditions::Whatever => &[],
            Conditions::Any(names) | Conditions::All(names) | Conditions::Neither(names) => names,
        }
    }
}

/// `in sand count 3`.
#[derive(Debug, Clone, PartialEq)]
pub struct Weight {
    /// The condition.
    pub condition: Name,
    /// What each amount is multiplied by.
    pub factor: Amount,
}

/// What takes a delay's occurrence back.
#[derive(Debug, Clone, PartialEq)]
pub enum Unless {
    /// An entry of this name, without `ref` or with the same.
    Event(Name),
    /// A later occurrence of the delay's own name.
    Newer(Span),
}

/// A date or a recurring one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Calendar {
    /// `on 2026-03-01`.
    On(NaiveDate),
    /// `every year on 1 March`.
    Yearly {
        /// 1 to 12.
        month: u32,
        /// 1 to 31, one the month can have (29 February too).
        day: u32,
    },
    /// `every month on day 31`.
    Monthly {
        /// 1 to 31.
        day: u32,
    },
    /// `every week on Monday`.
    Weekly(Weekday),
    /// `every month on the last Friday`.
    MonthlyWeekday {
        /// Which of the month's.
        rank: Rank,
        /// Which day.
        weekday: Weekday,
    },
}

/// Which weekday of a month.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rank {
    /// 1 to 4.
    Nth(u32),
    /// The last one.
    Last,
}

/// A length in calendar units, as written.
///
/// ```
/// use kitlore_syntax::tree::{Duration, Unit};
/// assert_eq!(Duration { count: 2, unit: Unit::Week }.to_string(), "2 weeks");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Duration {
    /// How many.
    pub count: u32,
    /// Of what.
    pub unit: Unit,
}

/// A calendar unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Unit {
    /// Calendar days.
    Day,
    /// Seven days.
    Week,
    /// Months, kept to the month's last day.
    Month,
    /// Twelve months.
    Year,
}

impl fmt::Display for Duration {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unit = match self.unit {
            Unit::Day => "day",
            Unit::Week => "week",
            Unit::Month => "month",
            Unit::Year => "year",
        };
        let plural = if self.count == 1 { "" } else { "s" };
        write!(f, "{} {unit}{plural}", self.count)
    }
}

/// An example block: a few items and entries, and what must then hold.
#[derive(Debug, Clone, PartialEq)]
pub struct Example {
    /// Its title.
    pub title: String,
    /// The `example "…"` line.
    pub span: Span,
    /// The items.
    pub items: Vec<ExampleItem>,
    /// The log.
    pub entries: Vec<ExampleEntry>,
    /// What is claimed.
    pub claims: Vec<Claim>,
}

/// `camera C1 received 2026-01-10 maker Orla`.
#[derive(Debug, Clone, PartialEq)]
pub struct ExampleItem {
    /// The kind.
    pub kind: Name,
    /// The id.
    pub id: String,
    /// Date received.
    pub received: Option<NaiveDate>,
    /// Date taken into service.
    pub in_service: Option<NaiveDate>,
    /// Other columns.
    pub attributes: Vec<(Name, String)>,
    /// The line.
    pub span: Span,
}

/// `2026-02-07 C1 lens change 12 in dust`.
#[derive(Debug, Clone, PartialEq)]
pub struct ExampleEntry {
    /// When.
    pub when: When,
    /// Until when, for what has a span.
    pub until: Option<When>,
    /// The item.
    pub item: String,
    /// The event.
    pub event: Name,
    /// The amount.
    pub amount: Option<Amount>,
    /// The reading.
    pub reading: Option<Amount>,
    /// Its unit.
    pub unit: Option<Name>,
    /// The conditions.
    pub conditions: Vec<Name>,
    /// The findings.
    pub found: Vec<Name>,
    /// The ref.
    pub reference: Option<String>,
    /// The line.
    pub span: Span,
}

/// `on 2026-02-08 C1 inspect sensor is due since 2026-02-08`.
#[derive(Debug, Clone, PartialEq)]
pub struct Claim {
    /// When it holds.
    pub when: When,
    /// The item.
    pub item: String,
    /// The task.
    pub task: Name,
    /// The standing claimed.
    pub standing: Standing,
    /// The date of due_at claimed.
    pub since: Option<NaiveDate>,
    /// The line.
    pub span: Span,
}

/// The state of a task on an item, the best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Standing {
    /// Nothing to do.
    Clear,
    /// No date to count from.
    Unknown,
    /// Announced.
    Soon,
    /// To be done.
    Due,
    /// Should have been done.
    Overdue,
    /// Not to be used until done.
    Grounded,
}

impl Standing {
    /// Every standing, the worst first.
    pub const ALL: [Standing; 6] = [
        Standing::Grounded,
        Standing::Overdue,
        Standing::Due,
        Standing::Soon,
        Standing::Unknown,
        Standing::Clear,
    ];

    /// The word people see.
    pub fn word(self) -> &'static str {
        match self {
            Standing::Clear => "clear",
            Standing::Unknown => "unknown",
            Standing::Soon => "soon",
            Standing::Due => "due",
            Standing::Overdue => "overdue",
            Standing::Grounded => "grounded",
        }
    }
}

impl fmt::Display for Standing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}
