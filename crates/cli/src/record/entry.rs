//! From the words of a command line to an entry, and back into words.

use crate::args::RecordArgs;
use crate::screen::plain;
use crate::stop::Stop;
use chrono::{Datelike, Days, NaiveDate, Weekday};
use kitlore::fields::{Number, Time};
use kitlore::{Book, Entry, When};

/// The entry that the arguments describe.
pub(super) fn entry(args: &RecordArgs, book: &Book, today: NaiveDate) -> Result<Entry, Stop> {
    let text = |text: &Option<String>| text.as_deref().map(str::trim).unwrap_or_default().to_owned();
    let (item, event) = item_and_event(&args.words, book);
    let when = args.when.as_deref().unwrap_or("today");
    let mut entry = Entry::new(time("--when", when, today)?, event)
        .item(item)
        .amount(text(&args.amount))
        .reading(text(&args.reading))
        .unit(text(&args.unit))
        .expect(text(&args.expect))
        .reference(text(&args.reference))
        .id(text(&args.id))
        .by(text(&args.by))
        .note(text(&args.note));
    if let Some(until) = &args.until {
        entry = entry.until(time("--until", until, today)?);
    }
    for condition in listed(&args.conditions) {
        entry = entry.condition(condition);
    }
    for finding in listed(&args.found) {
        entry = entry.found(finding);
    }
    Ok(entry)
}

/// The names of an option that may be given several times, each time with several names.
pub(super) fn listed(given: &[String]) -> impl Iterator<Item = &str> {
    given.iter().flat_map(|names| names.split([';', ','])).map(str::trim).filter(|name| !name.is_empty())
}

/// Whom an entry is for and what happened: the item is the longest run of first words that names something in the
/// inventory, else the first word.
fn item_and_event(words: &[String], book: &Book) -> (String, String) {
    let joined = |words: &[String]| words.iter().map(|word| word.trim()).collect::<Vec<_>>().join(" ");
    let names = |count: &usize| {
        let name = joined(words.get(..*count).unwrap_or_default());
        !book.members(&name).is_empty()
    };
    let count = (1..words.len()).rev().find(names).unwrap_or(1);
    let (item, event) = words.split_at_checked(count).unwrap_or_default();
    (joined(item), joined(event))
}

/// A time as the log has it: as it is written, or the date that a word stands for.
fn time(option: &str, text: &str, today: NaiveDate) -> Result<String, Stop> {
    let text = text.trim();
    let lower = text.to_lowercase();
    let date = match lower.as_str() {
        "today" => Some(today),
        "yesterday" => today.checked_sub_days(Days::new(1)),
        "tomorrow" => today.checked_add_days(Days::new(1)),
        _ => lower
            .strip_prefix("last ")
            .and_then(|day| day.trim().parse().ok())
            .and_then(|day| last(day, today)),
    };
    match date {
        Some(date) => Ok(date.to_string()),
        None => match When::parse(text) {
            Ok(_) => Ok(text.to_owned()),
            Err(error) => Err(Stop::Data(format!(
                "not recorded: `{option}` `{text}` {error}; today, yesterday, tomorrow and \"last Friday\" are dates too"
            ))),
        },
    }
}

/// The latest day of that name before today.
fn last(day: Weekday, today: NaiveDate) -> Option<NaiveDate> {
    let back = (today.weekday().days_since(day) + 6) % 7 + 1;
    today.checked_sub_days(Days::new(back.into()))
}

/// An entry in words, in the order in which an example writes it.
pub(super) fn in_words(entry: &Entry) -> String {
    let fields = entry.fields();
    let text = |time: Time<'_>| match time {
        Time::Text(text) => text.to_owned(),
        _ => String::new(),
    };
    let number = |number: Number<'_>| match number {
        Number::Text(text) => text.to_owned(),
        _ => String::new(),
    };
    let item = if fields.item.is_empty() { "every item" } else { fields.item };
    let list = |names: &str| names.split(';').map(str::trim).collect::<Vec<_>>().join(", ");
    let words = [
        ("", text(fields.when)),
        ("to ", text(fields.until)),
        ("", item.to_owned()),
        ("", fields.event.to_owned()),
        ("", number(fields.amount)),
        ("reading ", number(fields.reading)),
        ("", fields.unit.to_owned()),
        ("in ", list(fields.conditions)),
        ("found ", list(fields.found)),
        ("expecting ", fields.expect.to_owned()),
        ("ref ", fields.reference.to_owned()),
        ("by ", fields.by.to_owned()),
    ];
    let said = words.iter().filter(|(_, value)| !value.is_empty());
    said.map(|(word, value)| format!("{word}{}", plain(value))).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_named_as_people_name_them() {
        // A Wednesday.
        let today = NaiveDate::from_ymd_opt(2026, 11, 25).unwrap_or_default();
        let of = |text| time("--when", text, today).unwrap_or_else(|_| "refused".to_owned());
        for (text, date) in [
            ("today", "2026-11-25"),
            ("Yesterday", "2026-11-24"),
            ("tomorrow", "2026-11-26"),
            ("last Friday", "2026-11-20"),
            ("last tue", "2026-11-24"),
            ("last Wednesday", "2026-11-18"),
            ("2026-11-01", "2026-11-01"),
            ("2026-11-01T10:00", "2026-11-01T10:00"),
            ("last week", "refused"),
            ("01/11/2026", "refused"),
        ] {
            assert_eq!(of(text), date, "{text}");
        }
    }
}
