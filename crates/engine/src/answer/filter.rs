//! Whether a section's filter holds for an item.

use crate::codes::Code;
use crate::log::Member;
use crate::problem::{Argument, Problem};
use chrono::NaiveDate;
use kitlore_syntax::tree::{Filter, Test};
use kitlore_syntax::{Amount, Name, key, parse_date};

/// An item as filters see it: its kits are those it was in on some dates.
pub(crate) struct Filtered<'a> {
    pub member: &'a Member<'a>,
    pub from: NaiveDate,
    pub to: NaiveDate,
}

/// The values of one column: none where it is missing, several for kits.
enum Column<'a> {
    /// Compared exactly: id, kits, model.
    Exact(Vec<&'a str>),
    /// Compared by key: the kind.
    Key(&'a str),
    /// A date of the item.
    Date(Option<NaiveDate>),
    /// Compared without case, or as numbers.
    Text(Option<&'a str>),
}

impl Filtered<'_> {
    /// Whether the filter holds; values that are no number or date where one is asked for are reported.
    pub fn passes(&self, filter: &Filter, problems: &mut Vec<Problem>) -> bool {
        // Every part is looked at, so that what is reported does not hang on the order of parts.
        let mut count = |parts: &[Filter]| parts.iter().filter(|part| self.passes(part, problems)).count();
        match filter {
            Filter::All(parts) => count(parts) == parts.len(),
            Filter::Any(parts) => count(parts) > 0,
            Filter::Test { attribute, test } => self.holds(attribute, test, problems),
        }
    }

    fn column(&self, attribute: &Name) -> Column<'_> {
        let record = self.member.record;
        let item = &record.item;
        match attribute.key.as_str() {
            "id" => Column::Exact(vec![&item.id]),
            "kind" => Column::Key(&item.kind),
            "kit" => {
                let kits = record.kits.iter().filter(|own| own.dates.meets(self.from, self.to));
                Column::Exact(kits.map(|own| &*own.kit).collect())
            }
            "model" => Column::Exact(item.model.as_deref().into_iter().collect()),
            "received" => Column::Date(self.member.received),
            "in service" => Column::Date(self.member.in_service),
            "retired" => Column::Date(item.retired),
            other => {
                let found = record.attributes.iter().find(|(heading, _)| heading == other);
                Column::Text(found.map(|(_, value)| value.as_str()))
            }
        }
    }

    fn holds(&self, attribute: &Name, test: &Test, problems: &mut Vec<Problem>) -> bool {
        let column = self.column(attribute);
        match test {
            Test::Known => !column.is_missing(),
            Test::Missing => column.is_missing(),
            Test::Is(value) => column.equals(value),
            Test::IsNot(value) => !column.equals(value),
            Test::Compare(comparison, bound) => {
                let Some(text) = column.text() else {
                    return false;
                };
                match Amount::parse_signed(&text) {
                    Ok(value) => comparison.holds(value, *bound),
                    Err(_) => self.refuse(attribute, &text, "a number", problems),
                }
            }
            Test::Before(date) => self.dated(attribute, &column, problems).is_some_and(|value| value < *date),
            Test::After(date) => self.dated(attribute, &column, problems).is_some_and(|value| value > *date),
        }
    }

    fn dated(&self, attribute: &Name, column: &Column<'_>, problems: &mut Vec<Problem>) -> Option<NaiveDate> {
        if let Column::Date(date) = column {
            return *date;
        }
        let text = column.text()?;
        let date = parse_date(&text).ok();
        if date.is_none() {
            self.refuse(attribute, &text, "a date", problems);
        }
        date
    }

    fn refuse(
        &self,
        attribute: &Name,
        text: &str,
        wanted: &'static str,
        problems: &mut Vec<Problem>,
    ) -> bool {
        let item = &self.member.record.item;
        let sentence = "`{column}` of `{item}` is `{text}`, and a rule asks for {wanted}";
        let problem = Problem::new(Code::NotANumber, sentence).with("column", attribute.text.as_str());
        let problem = problem.with("item", item.id.as_str()).with("text", text);
        problems.push(problem.with("wanted", Argument::Words(wanted.into())).at(item.place.clone()));
        false
    }
}

impl Column<'_> {
    fn is_missing(&self) -> bool {
        match self {
            Column::Exact(values) => values.is_empty(),
            Column::Key(_) => false,
            Column::Date(date) => date.is_none(),
            Column::Text(text) => text.is_none(),
        }
    }

    fn text(&self) -> Option<String> {
        match self {
            Column::Exact(values) => values.first().map(|value| (*value).to_owned()),
            Column::Key(kind) => Some((*kind).to_owned()),
            Column::Date(date) => date.map(|date| date.to_string()),
            Column::Text(text) => text.map(str::to_owned),
        }
    }

    fn equals(&self, wanted: &str) -> bool {
        let wanted = wanted.trim();
        match self {
            Column::Exact(values) => values.contains(&wanted),
            Column::Key(kind) => key(kind) == key(wanted),
            Column::Date(date) => date.is_some_and(|date| parse_date(wanted) == Ok(date)),
            Column::Text(None) => false,
            Column::Text(Some(text)) => match (Amount::parse_signed(text), Amount::parse_signed(wanted)) {
                (Ok(value), Ok(wanted)) => value == wanted,
                _ => text.to_lowercase() == wanted.to_lowercase(),
            },
        }
    }
}
