//! The fields of an inventory and of a log.

use kitlore_syntax::{closest, key};

/// What a column can mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Field {
    /// An item's id in the inventory, an entry's own id in the log.
    Id,
    /// An item's kind.
    Kind,
    /// Date an item was received.
    Received,
    /// Date an item was taken into service.
    InService,
    /// Date an item was retired.
    Retired,
    /// The kits an item is in.
    Kit,
    /// An item's model.
    Model,
    /// When an entry happened or began.
    When,
    /// What happened.
    Event,
    /// When it ended.
    Until,
    /// What it happened to.
    Item,
    /// How much.
    Amount,
    /// What a meter showed.
    Reading,
    /// The unit of amount or reading.
    Unit,
    /// The conditions.
    In,
    /// The findings.
    Found,
    /// What it refers to.
    Ref,
    /// Who did it.
    By,
    /// Anything else.
    Note,
    /// What a plan expects a day.
    Expect,
}

/// How many fields there are.
pub(crate) const COUNT: usize = 20;

/// Inventory or log.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The inventory: one item per row.
    Items,
    /// The log: one entry per row.
    Log,
}

impl Kind {
    /// Its fields, in the order of the contract.
    pub fn fields(self) -> &'static [Field] {
        use Field::*;
        match self {
            Self::Items => &[Id, Kind, Received, InService, Retired, Kit, Model],
            Self::Log => {
                &[When, Event, Until, Item, Amount, Reading, Unit, In, Found, Ref, Id, By, Note, Expect]
            }
        }
    }

    /// What becomes of columns that are no fields.
    pub(crate) fn use_of_others(self) -> &'static str {
        match self {
            Kind::Items => "taken as an attribute",
            Kind::Log => "not read",
        }
    }

    /// The fields without which no row can be used.
    pub fn required(self) -> [Field; 2] {
        match self {
            Kind::Items => [Field::Id, Field::Kind],
            Kind::Log => [Field::When, Field::Event],
        }
    }
}

impl Field {
    /// Every field.
    pub const ALL: [Field; COUNT] = {
        use Field::*;
        [
            Id, Kind, Received, InService, Retired, Kit, Model, When, Event, Until, Item, Amount, Reading,
            Unit, In, Found, Ref, By, Note, Expect,
        ]
    };

    /// Its name as a heading.
    pub fn name(self) -> &'static str {
        match self {
            Field::Id => "id",
            Field::Kind => "kind",
            Field::Received => "received",
            Field::InService => "in_service",
            Field::Retired => "retired",
            Field::Kit => "kit",
            Field::Model => "model",
            Field::When => "when",
            Field::Event => "event",
            Field::Until => "until",
            Field::Item => "item",
            Field::Amount => "amount",
            Field::Reading => "reading",
            Field::Unit => "unit",
            Field::In => "in",
            Field::Found => "found",
            Field::Ref => "ref",
            Field::By => "by",
            Field::Note => "note",
            Field::Expect => "expect",
        }
    }

    /// The field a heading means by its key: `In Service` is `in_service`.
    pub fn named(heading: &str) -> Option<Field> {
        named_in(&key(heading), &Self::ALL)
    }

    /// The field name that was probably meant by a word that is none.
    pub(crate) fn meant(word: &str, among: &[Field]) -> Option<&'static str> {
        closest(word, among.iter().map(|field| field.name()))
    }
}

/// The field of a key among some.
pub(crate) fn named_in(heading: &str, among: &[Field]) -> Option<Field> {
    among
        .iter()
        .copied()
        .find(|field| heading == field.name() || (*field == Field::InService && heading == "in service"))
}
