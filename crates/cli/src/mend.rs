//! `kitlore proof --mend`: corrects what has one correction only.

use crate::args::ProofArgs;
use crate::drawing;
use crate::replace::replace;
use crate::screen::{Host, plain};
use crate::stop::Stop;
use kitlore::Rules;
use kitlore::language::{Diagnostic, Edit, Fix, Severity, SourceId};
use kitlore::render::counted;
use kitlore::tables::FolderLoader;
use std::path::Path;

/// A correction may bring another mistake of its line to light; so often the file is looked through again.
const ROUNDS: usize = 10;

/// Runs the command: the file is written with every correction that is the only one for its mistake.
pub(crate) fn mend(args: &ProofArgs, host: &mut Host<'_>) -> Result<u8, Stop> {
    let (loader, first) = FolderLoader::open(&args.rules).map_err(Stop::data)?;
    let (width, colour) = (host.width, host.colour_err);
    let look = |text: &str| read(&first.name, text, &loader, (width, colour));
    let mut text = first.text.clone();
    let mut changes = String::new();
    let mut mended = 0;
    let mut left = look(&text);
    for _ in 0..ROUNDS {
        let Some(Wrong { source, list, .. }) = &left else { break };
        let fixes = apart(list);
        let Some(together) = joined(&fixes) else { break };
        let (before, better) = (list.len(), together.applied(source));
        let after = look(&better);
        let count = after.as_ref().map_or(0, |wrong| wrong.list.len());
        if count >= before {
            break;
        }
        for fix in &fixes {
            changes.push_str(&shown(&first.name, source, fix));
        }
        mended += before - count;
        (text, left) = (better, after);
    }
    let rest = left.as_ref().map_or(0, |wrong| wrong.list.len());
    if args.show {
        host.print(&text)?;
    } else if mended > 0 {
        replace(Path::new(&args.rules), &as_written(&text, &first.text)).map_err(|error| {
            Stop::Data(format!("cannot write `{}`: {error}; it is as it was", args.rules))
        })?;
        let count = counted(mended, "mistake");
        host.print(&format!("{changes}{count} corrected in `{}`\n", plain(&first.name)))?;
    } else if rest == 0 {
        host.say(&format!("`{}` has no mistakes", plain(&first.name)));
    }
    if let Some(Wrong { shown, .. }) = &left {
        host.say(shown.trim_end());
    }
    Ok(u8::from(rest > 0))
}

/// The mistakes of a text.
struct Wrong {
    /// The text that their places are in.
    source: String,
    list: Vec<Diagnostic>,
    /// As drawn.
    shown: String,
}

fn read(name: &str, text: &str, loader: &FolderLoader, (width, colour): (usize, bool)) -> Option<Wrong> {
    let mistakes = Rules::parse_with(name, text, loader).err()?;
    let source = mistakes.sources.get(SourceId::default()).map_or("", |source| &source.text).to_owned();
    let shown = drawing::all(&mistakes.list, &mistakes.sources, width, colour);
    let list =
        mistakes.list.into_iter().filter(|diagnostic| diagnostic.severity == Severity::Error).collect();
    Some(Wrong { source, list, shown })
}

/// The corrections of the first file that do not touch one another, in order of place. What included files need is
/// corrected in them.
fn apart(list: &[Diagnostic]) -> Vec<Fix> {
    let own = |fix: &&Fix| fix.edits.iter().all(|edit| edit.span.source == SourceId::default());
    let mut fixes: Vec<Fix> =
        list.iter().filter_map(|diagnostic| diagnostic.fix.as_ref()).filter(own).cloned().collect();
    let start = |fix: &Fix| fix.edits.first().map_or(0, |edit| edit.span.start);
    let end = |fix: &Fix| fix.edits.last().map_or(0, |edit| edit.span.end);
    fixes.sort_by_key(start);
    let mut last = None;
    fixes.retain(|fix| {
        let apart = last.is_none_or(|last| start(fix) > last);
        if apart {
            last = Some(end(fix));
        }
        apart
    });
    fixes
}

/// Corrections as one.
fn joined(fixes: &[Fix]) -> Option<Fix> {
    let edits: Vec<Edit> = fixes.iter().flat_map(|fix| fix.edits.clone()).collect();
    (!edits.is_empty()).then_some(Fix { edits })
}

/// The lines that a correction changes, before and after.
fn shown(name: &str, text: &str, fix: &Fix) -> String {
    let (Some(first), Some(last)) = (fix.edits.first(), fix.edits.last()) else { return String::new() };
    let before = text.get(..first.span.start as usize).unwrap_or("");
    let start = before.rfind('\n').map_or(0, |at| at + 1);
    let rest = text.get(last.span.end as usize..).unwrap_or("");
    let end = last.span.end as usize + rest.find('\n').unwrap_or(rest.len());
    let better = fix.applied(text);
    let grown = (better.len() + end).saturating_sub(text.len());
    let lines = |sign: &str, text: &str| -> String {
        text.lines().map(|line| format!("{sign} {}\n", plain(line.trim()))).collect()
    };
    let number = before.matches('\n').count() + 1;
    let (old, new) = (text.get(start..end).unwrap_or(""), better.get(start..grown).unwrap_or(""));
    format!("{}:{number}\n{}{}\n", plain(name), lines("-", old), lines("+", new))
}

/// A text with the line ends and the byte order mark of the file that it was.
fn as_written(text: &str, file: &str) -> String {
    let text = if file.contains("\r\n") { text.replace('\n', "\r\n") } else { text.to_owned() };
    if file.starts_with('\u{feff}') { format!("\u{feff}{text}") } else { text }
}
