//! `kitlore photos`: frames, shooting days and lens changes from pictures.

mod already_read;

use crate::args::PhotosArgs;
use crate::screen::{Host, plain, wrap};
use crate::stop::Stop;
use crate::{load, problems};
use already_read::AlreadyRead;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use kitlore::codes::PictureCode;
use kitlore::fields::{Number, Time};
use kitlore::photos::{
    Folders, Imported, MeasuredCondition, PhotoReport, Pictures, Settings, Unmatched, parse_shift,
    zone as zone_of,
};
use kitlore::render::{counted, grouped, listed};
use kitlore::tables::{AppendError, append_entries, check_append};
use kitlore::{Book, Entry, Item, Problem, Rules};
use std::io::IsTerminal;
use std::num::NonZeroUsize;
use std::path::Path;
use std::time::{Duration, Instant};

/// A run that takes longer gets a progress bar.
const PATIENCE: Duration = Duration::from_secs(1);

/// Runs the command.
pub(crate) fn photos(args: &PhotosArgs, host: &mut Host<'_>) -> Result<u8, Stop> {
    let columns = load::columns(&args.columns)?;
    // Only items and ids matter here; what an entry means is up to the rules.
    let rules = Rules::parse("").map_err(|_| Stop::Data("no rules".to_owned()))?;
    let mut book = Book::new(&rules);
    load::items(&mut book, &args.items, &columns)?;
    let items: Vec<Item> = book.items().cloned().collect();
    let of_tables = book.standings(host.now).problems().to_vec();
    let mut settings = settings(args, &items)?;
    if args.folders.iter().all(|folder| !folder.exists()) {
        let folders: Vec<String> =
            args.folders.iter().map(|folder| format!("`{}`", folder.display())).collect();
        return Err(Stop::Data(format!(
            "there is no folder or picture {}",
            listed(folders.iter().map(String::as_str), "or")
        )));
    }
    if let Some(log) = args.log.as_deref().filter(|_| !args.show) {
        check_append(log).map_err(Stop::data)?;
    }
    if let Some(log) = args.log.as_deref().filter(|log| Path::new(log).exists()) {
        load::log(&mut book, log, &columns)?;
        settings.imported = Imported::from_ids(book.ids());
    }
    let before =
        args.log.as_deref().map(AlreadyRead::of).filter(|_| !settings.imported.is_empty() && !args.again);
    let mut pictures = read(args, before)?;
    let mut report = pictures.report(&items, &settings).map_err(Stop::data)?;
    if pictures.left_out() > 0 && report.within_imported {
        pictures = read(args, None)?;
        report = pictures.report(&items, &settings).map_err(Stop::data)?;
    }
    match args.log.as_deref().filter(|_| !args.show) {
        None => print(&report.entries, host)?,
        Some(log) => {
            add(log, &columns, &report.entries, host)?;
            let settled = report.settled(&mut pictures).map_err(std::io::Error::other);
            if let Err(error) = settled.and_then(|settled| AlreadyRead::of(log).add(settled)) {
                host.say(&format!("note: the list of pictures read cannot be saved beside `{log}`: {error}"));
            }
        }
    }
    summary(&pictures, &report, host);
    for item in settings.shifts.keys().filter(|item| settings.imported.has_frames_of(item)) {
        host.say(&format!(
            "note: entries of `{item}` that the log has already keep their times; the corrected clock applies to new ones"
        ));
    }
    list_unmatched(&report.unmatched, host);
    let of_pictures = report.problems.into_iter().filter(|problem| !problem.is(PictureCode::UnknownGear));
    let problems: Vec<Problem> = of_tables.into_iter().chain(of_pictures).collect();
    problems::report(&problems, args.problems, host);
    Ok(0)
}

fn settings(args: &PhotosArgs, items: &[Item]) -> Result<Settings, Stop> {
    let mut settings = Settings::default();
    if let Some(zone) = &args.zone {
        settings.zone = Some(zone_of(zone).map_err(|error| Stop::Use(format!("`--zone`: {error}")))?);
    }
    for shift in &args.shift {
        let wrong_form = || Stop::Use(format!("`--shift` `{shift}` is not of the form `C1=+1h`"));
        let (item, span) = shift.rsplit_once('=').ok_or_else(wrong_form)?;
        let item = item.trim();
        if !items.iter().any(|known| known.id == item) {
            return Err(Stop::Use(format!("`--shift` `{shift}`: the inventory has no item `{item}`")));
        }
        let span = parse_shift(span).map_err(|error| Stop::Use(format!("`--shift`: {error}")))?;
        if settings.shifts.insert(item.to_owned(), span).is_some() {
            return Err(Stop::Use(format!("`--shift` names `{item}` twice; give the sum of both")));
        }
    }
    for mark in &args.mark {
        let condition: MeasuredCondition =
            mark.parse().map_err(|error| Stop::Use(format!("`--mark`: {error}")))?;
        settings.conditions.push(condition);
    }
    Ok(settings)
}

/// Reads on all processors; on a terminal with a progress bar if it takes long.
fn read(args: &PhotosArgs, before: Option<AlreadyRead>) -> Result<Pictures, Stop> {
    let folders = || Folders::new(&args.folders, args.follow_links);
    let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden());
    if let Ok(style) =
        ProgressStyle::with_template("{wide_bar} {human_pos} of {human_len} pictures, {eta} left")
    {
        bar.set_style(style);
    }
    let begun = Instant::now();
    let threads = std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN);
    let mut hidden = std::io::stderr().is_terminal();
    let mut pictures = Pictures::default();
    let new = match before {
        Some(mut before) => folders().retain(move |picture| !before.has(picture)),
        None => folders(),
    };
    let done = pictures.read(new, threads, |read| {
        if hidden && begun.elapsed() > PATIENCE {
            // Counted only for the bar: pictures are read as they are found.
            bar.set_length(folders().count() as u64);
            bar.set_draw_target(ProgressDrawTarget::stderr());
            hidden = false;
        }
        bar.set_position(read as u64);
        true
    });
    bar.finish_and_clear();
    done.map_err(Stop::data)?;
    Ok(pictures)
}

/// The columns that entries from pictures use.
const COLUMNS: [&str; 8] = ["when", "until", "item", "event", "amount", "in", "id", "note"];

fn print(entries: &[Entry], host: &mut Host<'_>) -> Result<(), Stop> {
    let failed = |error: csv::Error| Stop::Data(error.to_string());
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(COLUMNS).map_err(failed)?;
    for entry in entries {
        let fields = entry.fields();
        let time = |time| if let Time::Text(text) = time { text } else { "" };
        let amount = if let Number::Text(text) = fields.amount { text } else { "" };
        let row = [
            time(fields.when),
            time(fields.until),
            fields.item,
            fields.event,
            amount,
            fields.conditions,
            fields.id,
            fields.note,
        ];
        writer.write_record(row).map_err(failed)?;
    }
    let table = writer.into_inner().map_err(|error| Stop::Data(error.to_string()))?;
    host.print(&plain_table(&table))
}

/// Names in pictures may contain terminal control sequences.
fn plain_table(table: &[u8]) -> String {
    String::from_utf8_lossy(table).lines().map(|line| format!("{}\n", plain(line))).collect()
}

fn add(
    log: &str,
    columns: &kitlore::tables::Columns,
    entries: &[Entry],
    host: &mut Host<'_>,
) -> Result<(), Stop> {
    let mut done = 0;
    let result = append_entries(log, columns, entries, |written| done = written);
    if done > 0 || result.is_ok() {
        let name =
            Path::new(log).file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
        host.print(&format!("{}: {} added\n", plain(&name), entries_of(done)))?;
    }
    result.map_err(|error| match &error {
        AppendError::NoColumn { .. } => {
            Stop::Data(format!("{error}; entries from pictures use the columns {}", COLUMNS.join(",")))
        }
        _ => Stop::data(error),
    })
}

fn entries_of(count: usize) -> String {
    if count == 1 { "1 entry".to_owned() } else { format!("{} entries", grouped(&count.to_string())) }
}

fn summary(pictures: &Pictures, report: &PhotoReport, host: &mut Host<'_>) {
    let mut parts = vec![counted(pictures.found(), "picture"), counted(report.frames, "frame")];
    if pictures.left_out() > 0 {
        parts.push(format!("{} read before", grouped(&pictures.left_out().to_string())));
    }
    if report.copies > 0 {
        parts.push(format!("{} of frames already counted", counted(report.copies, "file")));
    }
    host.say(&parts.join(", "));
}

/// Bodies and lenses without an item: each, and the lines that would add them.
fn list_unmatched(unmatched: &[Unmatched], host: &mut Host<'_>) {
    if unmatched.is_empty() {
        return;
    }
    host.say("bodies and lenses without an item");
    for one in unmatched {
        let lines = wrap(&plain(&one.describe()), host.text_width(), "  ");
        host.say(&lines.join("\n"));
    }
    let lines: Vec<String> = unmatched.iter().filter_map(|one| one.line.as_deref()).map(plain).collect();
    if !lines.is_empty() {
        host.say(
            "to add them, append these lines to the inventory (id,kind,model,serial), with ids of your own",
        );
        lines.iter().for_each(|line| host.say(&format!("  {line}")));
    }
}
