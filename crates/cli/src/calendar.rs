//! `kitlore calendar`: whatever has a date, for the calendar that people look at anyway.

use crate::args::CalendarArgs;
use crate::screen::Host;
use crate::stop::Stop;
use crate::{load, problems};
use kitlore::render::CalendarFile;

/// Runs the command.
pub(crate) fn calendar(args: &CalendarArgs, host: &mut Host<'_>) -> Result<u8, Stop> {
    let rules = load::rules(&args.files.rules, host)?;
    let at = load::at(args.at.as_deref(), &rules, host.now)?;
    let mut book = load::book(&args.files, &rules)?;
    let standings = load::standings(&mut book, args.at.as_deref(), at);
    let text = CalendarFile::of(&standings).events(args.events).within_days(args.days).to_string();
    match args.out.as_deref() {
        None | Some("-") => host.print(&text)?,
        Some(path) => std::fs::write(path, text)
            .map_err(|error| Stop::Data(format!("cannot write `{path}`: {error}")))?,
    }
    host.out.flush()?;
    problems::report(standings.problems(), args.problems, host);
    Ok(0)
}
