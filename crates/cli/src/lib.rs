//! The command `kitlore`, as a library so that the Python package can offer it too.
//!
//! ```
//! use kitlore_cli::{Host, run};
//! let (mut out, mut err) = (Vec::new(), Vec::new());
//! let now = chrono::DateTime::parse_from_rfc3339("2026-11-25T12:00:00Z")?.into();
//! let host = &mut Host { out: &mut out, err: &mut err, now, width: 80, colour_out: false, colour_err: false };
//! let code = run(["kitlore", "due", "missing.lore", "--items", "i.csv", "--log", "l.csv"], host);
//! assert_eq!(code, 1);
//! assert!(String::from_utf8(err)?.starts_with("kitlore: cannot read the rules: `missing.lore`"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Exit codes: 0 success; 1 the rules or the data prevent it; 2 wrong use of the command; 3 `due --fail-on` found
//! such a row.

mod ahead;
mod args;
mod calendar;
mod drawing;
mod due;
mod fit;
mod load;
mod mend;
mod photos;
mod problems;
mod proof;
mod quote;
mod record;
mod replace;
mod screen;
mod spreadsheet;
mod stop;
mod tidy;
mod trip;
mod why;

use args::{Cli, Command};
use clap::Parser;
use std::ffi::OsString;
use stop::Stop;

pub use drawing::all as draw_mistakes;
pub use screen::Host;
pub use why::account;

/// Runs one command and returns its exit code; `args` begins with the program's name.
pub fn run<T: Into<OsString> + Clone>(args: impl IntoIterator<Item = T>, host: &mut Host<'_>) -> u8 {
    let done = match Cli::try_parse_from(args) {
        Ok(cli) => command(&cli.command, host),
        Err(error) => refused(&error, host),
    };
    let (code, message) = match done {
        Ok(code) | Err(Stop::Reported(code)) => return code,
        Err(Stop::Data(message)) => (1, message),
        Err(Stop::Use(message)) => (2, message),
        // The reader of the results has closed the pipe.
        Err(Stop::Write(error)) if error.kind() == std::io::ErrorKind::BrokenPipe => return 0,
        Err(Stop::Write(error)) => (1, format!("cannot write the results: {error}")),
    };
    host.say(&format!("kitlore: {}", screen::plain_lines(&message)));
    code
}

fn command(command: &Command, host: &mut Host<'_>) -> Result<u8, Stop> {
    match command {
        Command::Due(args) => due::due(args, host),
        Command::Ahead(args) => ahead::ahead(args, host),
        Command::Trip(args) => trip::trip(args, host),
        Command::Why(args) => why::why(args, host),
        Command::Calendar(args) => calendar::calendar(args, host),
        Command::Proof(args) if args.mend => mend::mend(args, host),
        Command::Proof(args) => proof::proof(args, host),
        Command::Tidy(args) => tidy::tidy(args, host),
        Command::Record(args) => record::record(args, host),
        Command::Photos(args) => photos::photos(args, host),
    }
}

/// Help on request is a result; anything else that does not parse is wrong use.
fn refused(error: &clap::Error, host: &mut Host<'_>) -> Result<u8, Stop> {
    let styled = error.render();
    if error.use_stderr() {
        let text = if host.colour_err { styled.ansi().to_string() } else { styled.to_string() };
        host.say(text.trim_end());
        return Ok(2);
    }
    let text = if host.colour_out { styled.ansi().to_string() } else { styled.to_string() };
    host.print(&text)?;
    Ok(0)
}
