//! `kitlore record`: checks one entry and appends it to the log.

mod check;
mod entry;
mod unknown;

use crate::args::RecordArgs;
use crate::fit::fit;
use crate::load;
use crate::screen::{Host, paint, plain, style_of};
use crate::stop::Stop;
use check::check;
use entry::{entry, in_words};
use kitlore::fields::Fields;
use kitlore::language::key;
use kitlore::tables::{Columns, append_entry};
use kitlore::{Book, Entry, Standing, Standings};
use std::path::Path;
use unknown::refuse;

/// At most this many changed rows are listed.
const FEW: usize = 12;

/// Runs the command.
pub(crate) fn record(args: &RecordArgs, host: &mut Host<'_>) -> Result<u8, Stop> {
    let rules = load::rules(&args.files.rules, host)?;
    let columns = load::columns(&args.files.columns)?;
    let mut book = Book::new(&rules);
    load::items(&mut book, &args.files.items, &columns)?;
    let entry = entry(args, &book, rules.local(host.now).date_naive())?;
    // An entry for one item concerns no other, unless it takes back what was recorded.
    let Fields { item, event, .. } = entry.fields();
    if key(event) != "void" && book.items().any(|known| known.id == item) {
        book.answer_for([item]);
    }
    if Path::new(&args.files.log).exists() {
        load::log(&mut book, &args.files.log, &columns)?;
    } else if !args.new {
        let log = plain(&args.files.log);
        return Err(Stop::Data(format!(
            "not recorded: there is no log `{log}`; check its name, or add `--new` to begin it"
        )));
    }
    refuse(args, &entry, &book, host.now)?;
    let before = book.standings(host.now);
    let (after, doubts) = check(&mut book, &entry, args.as_it_is, host.now)?;
    let line = append(&args.files.log, &columns, &entry)?;
    let log = Path::new(&args.files.log)
        .file_name()
        .map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    let recorded = format!("{}:{line}: {}\n", plain(&log), in_words(&entry));
    let changes = changes(&before, &after, host.colour_out);
    host.print(&fit(&(recorded + &changes), host.text_width()))?;
    for doubt in &doubts {
        host.say(&format!("  note: {} [{}]", plain(&doubt.message()), doubt.code));
    }
    Ok(0)
}

fn append(log: &str, columns: &Columns, entry: &Entry) -> Result<u32, Stop> {
    append_entry(log, columns, entry).map_err(|error| Stop::Data(format!("not recorded: {error}")))
}

/// The rows whose standing the entry changes, before and after.
fn changes(before: &Standings, after: &Standings, colour: bool) -> String {
    let rows = |standings: &Standings| -> Vec<((String, String), Standing)> {
        standings.rows().map(|row| ((row.item.to_owned(), row.task.to_owned()), row.standing)).collect()
    };
    let old: std::collections::BTreeMap<_, _> = rows(before).into_iter().collect();
    let new: std::collections::BTreeMap<_, _> = rows(after).into_iter().collect();
    let painted = |standing: Standing| paint(colour, style_of(standing), standing.word());
    let mut lines = Vec::new();
    for (name @ (item, task), standing) in &new {
        let was = old.get(name);
        if was == Some(standing) {
            continue;
        }
        let was = was.map_or_else(|| "new".to_owned(), |was| painted(*was));
        lines.push(format!("  {} {}: {was} -> {}", plain(item), plain(task), painted(*standing)));
    }
    let mut gone: Vec<&String> =
        old.keys().filter(|name| !new.contains_key(*name)).map(|(item, _)| item).collect();
    gone.dedup();
    lines.extend(gone.iter().map(|item| format!("  {}: retired, no more tasks", plain(item))));
    let more = lines.len().saturating_sub(FEW);
    lines.truncate(FEW);
    if more > 0 {
        lines.push(format!("  and {more} more"));
    }
    lines.iter().map(|line| format!("{line}\n")).collect()
}
