//! Calendar dates that missed their form: `every month on the 15th`, `on 1 March 2026`.

use super::tokens::Tokens;
use super::when::once_new;
use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::lexicon::{month_named, month_of, number_of, weekday_of};
use crate::when::parse_date;
use chrono::NaiveDate;

const FORMS: &str = "write `on 2026-03-01`, `every year on 1 March`, `every month on day 15`, `every month on the first Monday` or \
                     `every week on Monday`";

/// `on …`, `every … on …`; `start` is the place after `every`.
pub(super) fn calendar(p: &Tokens<'_>, start: usize, on: usize) -> Diagnostic {
    if let Some(diagnostic) = once_new(p) {
        return diagnostic;
    }
    let mut weekdays = Vec::new();
    for i in start..p.len() {
        if let Some(day) = weekday_of(p.low(i))
            && (weekdays.is_empty() || matches!(p.low(i - 1), "or" | "and"))
        {
            weekdays.push((i, day));
        }
    }
    let unit = p.text(start, on).to_lowercase();
    // `every week on Monday may` has no month.
    let may_name =
        |i: &usize| unit != "week" || weekdays.is_empty() || p.is_figure(i + 1) || p.is_figure(i - 1);
    let month = (start..p.len()).filter(may_name).find_map(|i| Some((i, month_named(p.low(i))?)));
    let date = (start..p.len()).find(|i| parse_date(p.raw(*i)).is_ok());
    let meant = match month {
        None if !weekdays.is_empty() => {
            let days: Vec<&str> = weekdays.iter().map(|(_, day)| *day).collect();
            Some(on_weekdays(p, &unit, start, &days))
        }
        None => on_day(p, &unit, start, date),
        Some((at, month)) => {
            let spelled = || in_words(p, start).filter(|_| weekdays.is_empty());
            let number = month_of(month).unwrap_or_default();
            let exists = |day: &u32| NaiveDate::from_ymd_opt(2024, number, *day).is_some();
            day_of_month(p, start).or_else(spelled).filter(exists).map(|day| match year(p, at) {
                Some(year) if unit.is_empty() => {
                    format!("on {year}-{number:02}-{day:02}")
                }
                _ => format!("every year on {day} {month}"),
            })
        }
    };
    // What follows a good date is something else: a task without its comma.
    let figure = || (start..p.len()).find(|i| p.is_figure(*i));
    let last = weekdays.last().map(|(i, _)| *i).max(month.map(|(i, _)| i)).or_else(figure);
    if let Some(last) = last.filter(|i| p.is_bit(i + 1)) {
        let written = p.text(0, last + 1);
        let plain = written.to_lowercase().replace("each ", "every ");
        if meant.as_deref().is_some_and(|m| m.to_lowercase() == plain) {
            let message = "a comma is missing between trigger and task";
            let help = format!("write `{written}, {}`", p.rest(last + 1));
            return Diagnostic::error(Code::MissingComma, p.at(last + 1), message).help(help);
        }
    }
    let message = format!("`{}` is not how a date is written", p.rest(0));
    let help = meant.map_or_else(|| FORMS.to_owned(), |meant| format!("write `{meant}`"));
    Diagnostic::error(Code::BadDate, p.whole(), message).help(help)
}

/// Days of the week, with the `first` or `last` of a month before them.
fn on_weekdays(p: &Tokens<'_>, unit: &str, start: usize, days: &[&str]) -> String {
    let mut ranks: Vec<&str> = (start..p.len()).filter_map(|i| rank(p.low(i))).collect();
    let monthly = unit == "month" || p.find("month").is_some();
    if ranks.is_empty() && monthly {
        ranks.push("first");
    }
    let parts: Vec<String> = if ranks.is_empty() {
        days.iter().map(|day| format!("every week on {day}")).collect()
    } else {
        let each = |rank| days.iter().map(move |day| format!("every month on the {rank} {day}"));
        ranks.into_iter().flat_map(each).collect()
    };
    parts.join(" or ")
}

/// Which weekday of a month a word means; a fifth one is the last, where there is one.
fn rank(word: &str) -> Option<&'static str> {
    Some(match word {
        "first" | "1st" => "first",
        "second" | "2nd" => "second",
        "third" | "3rd" => "third",
        "fourth" | "4th" => "fourth",
        "last" | "fifth" | "5th" | "final" => "last",
        _ => return None,
    })
}

/// A day without a month, or a date in figures.
fn on_day(p: &Tokens<'_>, unit: &str, start: usize, date: Option<usize>) -> Option<String> {
    match date.map(|i| p.raw(i)) {
        Some(date) if unit == "year" => {
            Some(format!("every year on {}", parse_date(date).ok()?.format("%-d %B")))
        }
        Some(date) => Some(format!("on {date}")),
        // Also `on the 15th of each month`.
        None => {
            let days: Vec<u32> = days_of_month(p, start).collect();
            if days.is_empty() {
                return None;
            }
            p.find("month")?;
            let parts: Vec<String> = days.iter().map(|day| format!("every month on day {day}")).collect();
            Some(parts.join(" or "))
        }
    }
}

/// The day of a month in figures: `15`, `15th`.
fn day_of_month(p: &Tokens<'_>, start: usize) -> Option<u32> {
    days_of_month(p, start).next()
}

fn days_of_month(p: &Tokens<'_>, start: usize) -> impl Iterator<Item = u32> {
    let digits = |i: usize| p.raw(i).trim_end_matches(|c: char| c.is_ascii_alphabetic());
    (start..p.len()).filter_map(move |i| digits(i).parse().ok().filter(|day| (1..=31).contains(day)))
}

/// The day of a month in words: `third`, `twenty-first`.
fn in_words(p: &Tokens<'_>, start: usize) -> Option<u32> {
    let number = |word: &str| if word == "first" { Some(1) } else { number_of(word) };
    let words: Vec<u32> = (start..p.len()).flat_map(|i| p.low(i).split('-')).filter_map(number).collect();
    match words.as_slice() {
        [day] => Some(*day),
        [tens @ (20 | 30), ones] => Some(tens + ones),
        _ => None,
    }
    .filter(|day| *day <= 31)
}

/// The year after a month.
fn year<'a>(p: &Tokens<'a>, month: usize) -> Option<&'a str> {
    (month..p.len())
        .map(|i| p.raw(i))
        .find(|text| text.len() == 4 && text.bytes().all(|b| b.is_ascii_digit()))
}
