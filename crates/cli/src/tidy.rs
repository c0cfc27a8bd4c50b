//! `kitlore tidy`: rewrites a rule file in its canonical layout.

use crate::args::TidyArgs;
use crate::drawing;
use crate::screen::Host;
use crate::stop::Stop;
use std::io::Write;
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

/// Replaces a file in one step: a crash leaves the old text or the new one.
fn replace(path: &Path, text: &str) -> std::io::Result<()> {
    // If the path is a link, its target is replaced and the link stays.
    let path = path.canonicalize()?;
    let folder = path.parent().unwrap_or(Path::new("."));
    let permissions = std::fs::metadata(&path)?.permissions();
    let mut new = tempfile::NamedTempFile::new_in(folder)?;
    new.write_all(text.as_bytes())?;
    new.as_file().set_permissions(permissions)?;
    new.as_file().sync_all()?;
    new.persist(&path).map_err(|error| error.error)?;
    // The new name is safe only once the folder is on disk. Where a folder cannot be opened as a file, the system
    // takes care of that itself.
    if let Ok(folder) = std::fs::File::open(folder) {
        let _ = folder.sync_all();
    }
    Ok(())
}
