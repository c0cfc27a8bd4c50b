//! `kitlore ahead`: what will fall due, by which dates with which chance.

mod csv;

use crate::args::{AheadArgs, OutputForm};
use crate::fit::fit;
use crate::screen::{BOLD, CAUTION, FAINT, Host, columns, pad, paint, plain, push_line, style_of, wrap};
use crate::stop::Stop;
use crate::{load, problems};
use kitlore::planning::{Forecast, Forecasts, Options, forecast};
use kitlore::render::{awaited, basis, counted, json, page, too_little};
use kitlore::{NaiveDate, Row, Standing};
use std::num::NonZeroUsize;

/// Runs the command.
pub(crate) fn ahead(args: &AheadArgs, host: &mut Host<'_>) -> Result<u8, Stop> {
    let rules = load::rules(&args.files.rules, host)?;
    let at = load::at(args.at.as_deref(), &rules, host.now)?;
    let mut book = load::book(&args.files, &rules)?;
    let threads = std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN);
    let options = Options { days: args.days, seed: args.seed, threads, ..Options::default() };
    let ahead = forecast(&mut book, at, &options);
    match args.form {
        OutputForm::Json => {
            serde_json::to_writer(&mut *host.out, &json::forecasts(&ahead))
                .map_err(|error| Stop::Write(error.into()))?;
            host.print("\n")?;
        }
        OutputForm::Csv => self::csv::write(&ahead, host)?,
        OutputForm::Html => host.print(&page::ahead(&ahead))?,
        OutputForm::Table => {
            let text = table(&ahead, host.text_width(), host.colour_out);
            host.print(&text)?;
        }
    }
    host.out.flush()?;
    if args.form != OutputForm::Json {
        problems::report(ahead.standings().problems(), args.problems, host);
    }
    Ok(0)
}

/// One row with its cells.
struct ForecastLine<'a> {
    forecast: &'a Forecast,
    row: Row<'a>,
    item: String,
    task: String,
    dates: String,
}

const DATE: usize = 10;

/// The whole screen.
fn table(ahead: &Forecasts, width: usize, colour: bool) -> String {
    let mut text = String::new();
    let house = ahead.program().house().name.as_deref();
    let house = house.map_or_else(String::new, |name| format!("{}, ", plain(name)));
    let from = ahead.program().local(ahead.at()).format("%A %-d %B %Y");
    let title = format!("{house}{from} and {} on, to {}", counted(ahead.days() as usize, "day"), ahead.to());
    for line in wrap(&title, width, "") {
        push_line(&mut text, &paint(colour, BOLD, &line));
    }
    let mut lines: Vec<ForecastLine<'_>> =
        ahead.with_standings().map(|(forecast, row)| line(forecast, row)).collect();
    let total = lines.len();
    lines.retain(|line| first(line.forecast).is_some() || !line.forecast.enough());
    lines.sort_by_key(|line| (first(line.forecast).is_none(), first(line.forecast), line.forecast.p10));
    let later = total - lines.len();
    let item = lines.iter().map(|line| columns(&line.item)).max().unwrap_or(0).clamp(4, 20);
    let task = lines.iter().map(|line| columns(&line.task)).max().unwrap_or(0).clamp(4, 28);
    if !lines.is_empty() {
        let heads = [pad("10 %", DATE), pad("50 %", DATE), pad("90 %", DATE)].join("  ");
        let head = format!("  {}  {}  {heads}", pad("item", item), pad("task", task));
        push_line(&mut text, "");
        if columns(&head) <= width {
            push_line(&mut text, &paint(colour, FAINT, head.trim_end()));
        } else {
            push_line(&mut text, &paint(colour, FAINT, "  item and task, then the dates with 10, 50, 90 %"));
        }
    }
    for line in &lines {
        line.draw(&mut text, (item, task), width, colour);
    }
    push_line(&mut text, "");
    let soon = lines.len();
    let mut end = format!("{} by {}", counted(soon, "row"), ahead.to());
    if later > 0 {
        end += &format!("; {later} later, or depending on what is found, read or planned");
    }
    if total == 0 {
        end = "no rule applies to any item".to_owned();
    }
    for end in std::iter::once(end).chain(awaited(ahead.standings())) {
        for line in wrap(&end, width, "") {
            push_line(&mut text, &line);
        }
    }
    fit(&text, width)
}

/// The date by which rows are sorted: the middle one, else the first that is known.
fn first(forecast: &Forecast) -> Option<NaiveDate> {
    forecast.p50.or(forecast.p10)
}

fn line<'a>(forecast: &'a Forecast, row: Row<'a>) -> ForecastLine<'a> {
    let shown = |date: Option<NaiveDate>| date.map_or_else(|| "later".to_owned(), |date| date.to_string());
    let dates = match (forecast.p10, forecast.p90) {
        (Some(date), _) if forecast.standing >= Standing::Due => {
            format!("{} since {date}", forecast.standing)
        }
        (Some(first), Some(last)) if first == last => format!("on {first}"),
        (None, None) => "cannot be said".to_owned(),
        (first, last) => {
            [shown(first), shown(forecast.p50), shown(last)].map(|date| pad(&date, DATE)).join("  ")
        }
    };
    ForecastLine { item: plain(&forecast.item), task: plain(&forecast.task), dates, forecast, row }
}

impl ForecastLine<'_> {
    fn draw(&self, text: &mut String, (item, task): (usize, usize), width: usize, colour: bool) {
        let dates = match self.dates.split_once(' ') {
            Some((word, rest)) if self.forecast.standing >= Standing::Due => {
                format!("{} {rest}", paint(colour, style_of(self.forecast.standing), word))
            }
            _ => self.dates.clone(),
        };
        let left = format!("  {}  {}", pad(&self.item, item), pad(&self.task, task));
        if columns(&left) + 2 + 3 * DATE + 4 <= width {
            push_line(text, &format!("{left}  {dates}"));
        } else {
            push_line(text, &left);
            push_line(text, &format!("      {dates}"));
        }
        let basis = Some(basis(&self.forecast.basis)).filter(|_| !self.forecast.is_certain());
        let grounds = basis.into_iter().chain(too_little(self.forecast));
        let grounds: Vec<String> = grounds.filter(|part| !part.is_empty()).collect();
        let grounds = plain(&grounds.join("; "));
        for line in wrap(&grounds, width, "      ").iter().filter(|_| !grounds.is_empty()) {
            push_line(text, line);
        }
        for caution in self.row.cautions() {
            for (number, line) in wrap(&plain(caution), width, "      caution: ").iter().enumerate() {
                match line.strip_prefix("      caution: ") {
                    Some(rest) if number == 0 => {
                        push_line(text, &format!("      {} {rest}", paint(colour, CAUTION, "caution:")));
                    }
                    _ => push_line(text, line),
                }
            }
        }
    }
}
