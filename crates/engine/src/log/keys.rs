//! Names that were looked up, for hosts that record many entries. A key belongs to one book; the default of
//! those that can be absent stands for nothing.

/// A source of entries, as [`crate::Book::source`] gave it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SourceKey(pub(crate) u32);

/// An event's name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct EventKey(pub(crate) u32);

/// What entries can be for: an item, a kit, a model, a kind, or every item.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ItemKey(pub(crate) u32);

/// A set of conditions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ConditionsKey(pub(crate) u32);

/// A set of findings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct FindingsKey(pub(crate) u32);

/// A unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct UnitKey(pub(crate) u32);

/// What entries refer to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ReferenceKey(pub(crate) u32);

/// What plans expect a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ExpectKey(pub(crate) u32);
