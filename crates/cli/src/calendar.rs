//! `kitlore calendar`: what has a date, for the calendar that people look at anyway.

use crate::args::CalendarArgs;
use crate::screen::Host;
use crate::stop::Stop;
use crate::{load, problems};
use kitlore::render::Calendar;
use std::num::NonZeroUsize;

/// Runs the command.
pub(crate) fn calendar(args: &CalendarArgs, host: &mut Host<'_>) -> Result<u8, Stop> {
    let rules = load::rules(&args.files.rules, host)?;
    let at = load::at(args.at.as_deref(), &rules, host.now)?;
    let mut book = load::book(&args.files, &rules)?;
    let threads = std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN);
    let standings = book.standings_on(at, threads);
    let text = Calendar::of(&standings).events(args.events).within_days(args.days).to_string();
    match args.out.as_deref() {
        None | Some("-") => host.print(&text)?,
        Some(path) => std::fs::write(path, text)
            .map_err(|error| Stop::Data(format!("cannot write `{path}`: {error}")))?,
    }
    host.out.flush()?;
    problems::report(standings.problems(), args.problems, host);
    Ok(0)
}
