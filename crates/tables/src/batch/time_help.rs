//! What to do about a value that is no time, where more can be said than the form of a date.

use super::value::Value;
use chrono::NaiveDate;

/// The remedy for a value that is no time.
#[derive(Debug, PartialEq)]
pub(crate) struct TimeHelp {
    /// What to do; `{day}` stands for the day.
    pub sentence: &'static str,
    /// The only day that can be meant.
    pub day: Option<NaiveDate>,
}

/// The remedy for a value that is no time.
pub(crate) fn time_help(value: &Value<'_>) -> Option<TimeHelp> {
    match value {
        Value::Number(_) => {
            let sentence = "a plain number is no date; in a spreadsheet give the cell a date format";
            Some(TimeHelp { sentence, day: None })
        }
        Value::Text(text) => local_date_help(text),
        _ => None,
    }
}

/// The remedy for a date as one country or another writes it: `1.3.2026`, `03/01/26`, `1-3-2026`. Which
/// day is meant is never guessed: only one that can be read in no other way is named.
fn local_date_help(text: &str) -> Option<TimeHelp> {
    let [first, second, year] = numbers(text)?;
    let help = |sentence, day| Some(TimeHelp { sentence, day });
    if year.len() < 4 {
        return help("the year needs four digits; write year, month, day", None);
    }
    let year = year.parse().ok()?;
    let date = |month: &str, day: &str| NaiveDate::from_ymd_opt(year, month.parse().ok()?, day.parse().ok()?);
    match (date(second, first), date(first, second)) {
        (None, None) => {
            help("no such day exists, whichever number is the month; write year, month, day", None)
        }
        (Some(day), Some(other)) if day != other => {
            help("day and month can be read either way round; write year, month, day", None)
        }
        (Some(day), _) | (None, Some(day)) => help("write year, month, day: `{day}`", Some(day)),
    }
}

/// The three numbers of a date that does not begin with its year; a clock time may follow.
fn numbers(text: &str) -> Option<[&str; 3]> {
    let date = text.split_whitespace().next()?.trim_end_matches('.');
    let numbers = ['.', '/', '-'].iter().find_map(|separator| {
        let parts: Vec<&str> = date.split(*separator).collect();
        <[&str; 3]>::try_from(parts).ok()
    })?;
    let fits = numbers.iter().zip([2, 2, 4]).all(|(number, longest)| {
        (1..=longest).contains(&number.len()) && number.bytes().all(|byte| byte.is_ascii_digit())
    });
    fits.then_some(numbers)
}

#[cfg(test)]
mod tests {
    use super::{TimeHelp, local_date_help};

    #[test]
    fn each_date_has_its_own_help() {
        let (either, year, none) = ("either way round", "four digits", "no such day");
        for (written, trouble) in [
            ("1.3.2026", either),
            ("03/01/2026", either),
            ("1-3-2026", either),
            ("1.3.2026 14:30", either),
            ("31.02.2026", none),
            ("29/2/2026", none),
            ("13.13.2026", none),
            ("0.3.2026", none),
            ("15.3.26", year),
            ("03/01/26", year),
            ("26-03-01", year),
            ("25.12.2026", "`2026-12-25`"),
            ("12/25/2026", "`2026-12-25`"),
            ("3.3.2026.", "`2026-03-03`"),
            ("29.2.2028", "`2028-02-29`"),
        ] {
            let day = |help: TimeHelp| help.day.map_or_else(String::new, |day| format!("`{day}`"));
            let help = local_date_help(written).map(|help| help.sentence.to_owned() + &day(help));
            assert!(help.as_ref().is_some_and(|help| help.contains(trouble)), "{written}: {help:?}");
        }
        for written in ["2026.3.1", "soon", "1.3", "1.3.20266", "1.333.2026", "a.b.2026", ""] {
            assert_eq!(local_date_help(written), None, "{written}");
        }
    }
}
