//! `kitlore due`: what to do, the worst first, grouped by task.

mod csv;

use crate::args::{DueArgs, FailOn, OutputForm};
use crate::fit::fit;
use crate::screen::{BOLD, CAUTION, Host, columns, pad, paint, plain, push_line, style_of, wrap};
use crate::stop::Stop;
use crate::{load, problems};
use kitlore::render::{Days, WorkDetails, awaited, group, page, reasons, totals, urgency, when};
use kitlore::{Row, Standing, Standings};

/// Runs the command.
pub(crate) fn due(args: &DueArgs, host: &mut Host<'_>) -> Result<u8, Stop> {
    let rules = load::rules(&args.files.rules, host)?;
    let at = load::at(args.at.as_deref(), &rules, host.now)?;
    let mut book = load::book(&args.files, &rules)?;
    let standings = load::standings(&mut book, args.at.as_deref(), at);
    match args.form {
        OutputForm::Json => {
            serde_json::to_writer(&mut *host.out, &standings).map_err(|error| Stop::Write(error.into()))?;
            host.print("\n")?;
        }
        OutputForm::Csv => self::csv::write(&standings, host)?,
        OutputForm::Html => host.print(&page::due(&standings, args.all))?,
        OutputForm::Table => {
            let text = table(&standings, args.all, host.text_width(), host.colour_out);
            host.print(&text)?;
        }
    }
    host.out.flush()?;
    if args.form != OutputForm::Json {
        problems::report(standings.problems(), args.problems, host);
    }
    let fails = args.fail_on.map(|fail| match fail {
        FailOn::Due => Standing::Due,
        FailOn::Overdue => Standing::Overdue,
        FailOn::Grounded => Standing::Grounded,
    });
    let exists = fails.is_some_and(|worst| standings.rows().any(|row| row.standing >= worst));
    Ok(if exists { 3 } else { 0 })
}

/// Rows that can be done together: the same task, standing and details.
struct DueWork<'a> {
    details: WorkDetails<'a>,
    rows: Vec<DueLine<'a>>,
}

/// One row with its cells in words.
struct DueLine<'a> {
    row: Row<'a>,
    when: String,
    reasons: Vec<String>,
}

/// The whole screen.
fn table(standings: &Standings, all: bool, width: usize, colour: bool) -> String {
    let days = Days::new(standings.program(), standings.at());
    let works = works(standings, all, &days);
    let widths = Widths::of(&works);
    let mut text = String::new();
    let house = standings
        .program()
        .house()
        .name
        .as_deref()
        .map_or_else(String::new, |name| format!("{}, ", plain(name)));
    let title = format!("{house}{}", standings.program().local(standings.at()).format("%A %-d %B %Y"));
    push_line(&mut text, &paint(colour, BOLD, &title));
    for work in &works {
        text.push('\n');
        work.draw(&mut text, &widths, width, colour);
    }
    text.push('\n');
    for end in std::iter::once(totals(standings)).chain(awaited(standings)) {
        for line in wrap(&end, width, "") {
            push_line(&mut text, &line);
        }
    }
    fit(&text, width)
}

fn works<'a>(standings: &'a Standings, all: bool, days: &Days<'_>) -> Vec<DueWork<'a>> {
    let mut rows: Vec<Row<'a>> =
        standings.rows().filter(|row| all || row.standing != Standing::Clear).collect();
    rows.sort_by_key(|row| (std::cmp::Reverse(row.standing), urgency(row)));
    let lines = rows.into_iter().map(|row| {
        let key = (row.standing, WorkDetails::of_row(&row).without_because());
        (key, DueLine { when: when(&row, days), reasons: reasons(&row, days), row })
    });
    group(lines).into_iter().map(|((_, details), rows)| DueWork { details, rows }).collect()
}

struct Widths {
    item: usize,
    kind: usize,
    when: usize,
}

const WORD: usize = 8;
/// A reason gets a column of its own only if the column can be at least this wide.
const REASON: usize = 36;

impl Widths {
    fn of(works: &[DueWork<'_>]) -> Self {
        let lines = || works.iter().flat_map(|work| &work.rows);
        let widest =
            |cell: fn(&DueLine<'_>) -> usize, most: usize| lines().map(cell).max().unwrap_or(0).min(most);
        Self {
            item: widest(|line| columns(line.row.item), 20),
            kind: widest(|line| columns(line.row.kind), 16),
            when: widest(|line| columns(&line.when), 28),
        }
    }
}

impl DueWork<'_> {
    fn draw(&self, text: &mut String, widths: &Widths, width: usize, colour: bool) {
        let task = plain(self.details.task);
        let title = match self.details.in_words(self.rows.len() > 1) {
            details if details.is_empty() => task.clone(),
            details => format!("{task}: {details}"),
        };
        for (i, line) in wrap(&title, width, "").iter().enumerate() {
            let line = match line.strip_prefix(task.as_str()) {
                Some(rest) if i == 0 => format!("{}{rest}", paint(colour, BOLD, &task)),
                _ => format!("  {line}"),
            };
            push_line(text, &line);
        }
        for line in &self.rows {
            line.draw(text, widths, width, colour);
        }
        for caution in &self.details.cautions {
            for (i, line) in wrap(&plain(caution), width, "  caution: ").iter().enumerate() {
                let line = match line.strip_prefix("  caution: ") {
                    Some(rest) if i == 0 => format!("  {} {rest}", paint(colour, CAUTION, "caution:")),
                    _ => line.clone(),
                };
                push_line(text, &line);
            }
        }
    }
}

impl DueLine<'_> {
    fn draw(&self, text: &mut String, widths: &Widths, width: usize, colour: bool) {
        let row = &self.row;
        let word = row.standing.word();
        let blanks = " ".repeat(WORD - word.len().min(WORD));
        let left =
            format!("  {}  {}  ", pad(&plain(row.item), widths.item), pad(&plain(row.kind), widths.kind),);
        let when = plain(&self.when);
        let word = paint(colour, style_of(row.standing), word);
        let reason = plain(&self.reasons.join("; "));
        let reason =
            if row.standing == Standing::Grounded { format!("do not use; {reason}") } else { reason };
        let at = 2 + WORD + columns(&left) + widths.when + 2;
        if width >= at + REASON {
            let start = format!("  {word}{blanks}{left}{}  ", pad(&when, widths.when));
            let indent = " ".repeat(at);
            for (i, line) in wrap(&reason, width - at, "").iter().enumerate() {
                push_line(text, &format!("{}{line}", if i == 0 { &start } else { &indent }));
            }
            if reason.is_empty() {
                push_line(text, &start);
            }
        } else {
            // On a very narrow screen the date moves down to the reason.
            let beside = WORD + 2 + columns(&left) + columns(&when) <= width;
            let below: Vec<&str> = [when.as_str(), &reason]
                .into_iter()
                .skip(usize::from(beside))
                .filter(|part| !part.is_empty())
                .collect();
            let (first, below) = (if beside { when.as_str() } else { "" }, below.join("; "));
            push_line(text, &format!("  {word}{blanks}{left}{first}"));
            for line in wrap(&below, width, &" ".repeat(WORD + 4)).iter().filter(|_| !below.is_empty()) {
                push_line(text, line);
            }
        }
    }
}
