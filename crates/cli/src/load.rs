//! Loads the rules, tables and times that the arguments name.

use crate::args::{ColumnsArg, Files};
use crate::drawing;
use crate::screen::{Host, plain};
use crate::stop::Stop;
use kitlore::render::counted;
use kitlore::tables::{Columns, Limits, RulesFileError, Table, load_rules, read_items, read_log};
use kitlore::{Book, Instant, Rules, Standings, When};
use std::num::NonZeroUsize;

/// The rules of a file. Mistakes are shown, and the number of doubts is reported: a rule in doubt may never fall
/// due.
pub(crate) fn rules(path: &str, host: &mut Host<'_>) -> Result<Rules, Stop> {
    let rules = load_rules(path).map_err(|error| match error {
        RulesFileError::Mistakes(mistakes) => {
            drawing::mistakes(&mistakes, host);
            Stop::Reported(1)
        }
        error => Stop::data(error),
    })?;
    let doubts = rules.house().doubts.len();
    if doubts > 0 {
        let them = if doubts == 1 { "it" } else { "them" };
        let path = plain(path);
        host.say(&format!("{} in the rules; `kitlore proof {path}` shows {them}", counted(doubts, "doubt")));
    }
    Ok(rules)
}

/// The book of an inventory and a log.
pub(crate) fn book(files: &Files, rules: &Rules) -> Result<Book, Stop> {
    let columns = columns(&files.columns)?;
    let mut book = Book::new(rules);
    items(&mut book, &files.items, &columns)?;
    log(&mut book, &files.log, &columns)?;
    Ok(book)
}

pub(crate) fn items(book: &mut Book, path: &str, columns: &Columns) -> Result<(), Stop> {
    let table = Table::open(path).map_err(Stop::data)?;
    read_items(book, table, columns, &Limits::default()).map_err(Stop::data)
}

pub(crate) fn log(book: &mut Book, path: &str, columns: &Columns) -> Result<(), Stop> {
    let threads = std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN);
    let table = Table::open(path).map_err(Stop::data)?.on_threads(threads);
    read_log(book, table, columns, &Limits::default()).map_err(Stop::data)
}

/// The mapping of headings: each argument is `field=Heading` or the path of a file with such lines.
pub(crate) fn columns(arg: &ColumnsArg) -> Result<Columns, Stop> {
    let mut text = String::new();
    for given in &arg.columns {
        if given.contains('=') {
            text.push_str(given);
        } else {
            let file = std::fs::read_to_string(given)
                .map_err(|error| Stop::Data(format!("cannot read the columns file `{given}`: {error}")))?;
            Columns::parse(&file)
                .map_err(|error| Stop::Data(format!("in the columns file `{given}`: {error}")))?;
            text.push_str(&file);
        }
        text.push('\n');
    }
    Columns::parse(&text).map_err(|error| Stop::Use(format!("`--columns`: {error}")))
}

/// How all items stand; without `--at` the instant is now.
pub(crate) fn standings(book: &mut Book, arg: Option<&str>, at: Instant) -> Standings {
    let threads = std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN);
    match arg {
        None => book.standings_now(at, threads),
        Some(_) => book.standings_on(at, threads),
    }
}

/// The instant to ask about: the end of a date, a date-time, or now.
pub(crate) fn at(arg: Option<&str>, rules: &Rules, now: Instant) -> Result<Instant, Stop> {
    match arg {
        None => Ok(now),
        Some(text) => When::parse(text.trim())
            .map(|when| rules.when_is_over(when))
            .map_err(|error| Stop::Use(format!("`--at` `{text}` {error}"))),
    }
}
