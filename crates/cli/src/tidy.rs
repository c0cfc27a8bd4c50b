//! `kitlore tidy`: rewrites a rule file in its canonical layout.

use crate::args::TidyArgs;
use crate::drawing;
use crate::replace::replace;
use crate::screen::Host;
use crate::stop::Stop;
use std::path::Path;

/// Runs the command.
pub(crate) fn tidy(args: &TidyArgs, host: &mut Host<'_>) -> Result<u8, Stop> {
    let path = Path::new(&args.rules);
    let failed = |error: std::io::Error| Stop::Data(format!("cannot read `{}`: {error}", args.rules));
    let bytes = std::fs::read(path).map_err(failed)?;
    let written = String::from_utf8(bytes)
        .map_err(|_| Stop::Data(format!("`{}` is not UTF-8 text; save it as UTF-8", args.rules)))?;
    let name =
        path.file_name().map_or_else(|| args.rules.clone(), |name| name.to_string_lossy().into_owned());
    let tidy = kitlore::language::tidy(&name, &written).map_err(|mistakes| {
        drawing::mistakes(&mistakes, host);
        Stop::Reported(1)
    })?;
    if args.show {
        host.print(&tidy)?;
    } else if tidy == written {
        host.say(&format!("`{}` is tidy already", args.rules));
    } else {
        replace(path, &tidy).map_err(|error| {
            Stop::Data(format!("cannot write `{}`: {error}; it is as it was", args.rules))
        })?;
        host.say(&format!("`{}` is tidy now", args.rules));
    }
    Ok(0)
}
