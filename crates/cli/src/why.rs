//! `kitlore why`: the full account of a row.

use crate::args::WhyArgs;
use crate::fit::fit;
use crate::load;
use crate::quote::Quotes;
use crate::screen::{BOLD, CAUTION, FAINT, Host, columns, pad, paint, plain, push_line, style_of, wrap};
use crate::stop::Stop;
use kitlore::answer::RuleText;
use kitlore::language::{closest, key, tree::AtomKind};
use kitlore::render::{Days, counted, did_you_mean, minutes, next, usage, when};
use kitlore::{Account, Book, Part, Row, Standing, Standings};
use std::collections::HashSet;

/// Runs the command.
pub(crate) fn why(args: &WhyArgs, host: &mut Host<'_>) -> Result<u8, Stop> {
    let rules = load::rules(&args.files.rules, host)?;
    let at = load::at(args.at.as_deref(), &rules, host.now)?;
    let columns = load::columns(&args.files.columns)?;
    let mut book = Book::new(&rules);
    load::items(&mut book, &args.files.items, &columns)?;
    let item = args.item.trim();
    known_item(&book, item)?;
    book.answer_for([item]);
    load::log(&mut book, &args.files.log, &columns)?;
    let standings = book.standing(item, at);
    let mut rows: Vec<Row<'_>> = standings.rows().collect();
    if rows.is_empty() {
        if let Some(awaited) = standings.awaited().next() {
            return Err(Stop::Data(format!(
                "`{item}` is not there yet: it is from {} on",
                awaited.there_from
            )));
        }
        let date = Days::new(&rules, at).today;
        return Err(Stop::Data(format!(
            "`{item}` has no task on {date}: it is retired, or no rule applies to its kind"
        )));
    }
    if let Some(task) = &args.task {
        known_task(&rows, item, task)?;
        rows.retain(|row| key(row.task) == key(task));
    }
    let quotes = Quotes::new([&args.files.log, &args.files.items]);
    let text = pages(&standings, rows, args.task.is_some(), quotes, host.text_width(), host.colour_out);
    host.print(&text)?;
    // An entry that could not be used may explain an unexpected standing.
    let problems = load::standings(&mut book, args.at.as_deref(), at).problems().len();
    if problems > 0 {
        let them = if problems == 1 { "it" } else { "them" };
        let problems = counted(problems, "problem");
        host.say(&format!(
            "{problems} in the data that can affect `{}`; `kitlore due` shows {them}",
            plain(item)
        ));
    }
    Ok(0)
}

/// The full account of rows, the worst first, as `kitlore why` prints it. Rows that are clear get one line each
/// unless `whole`; `tables` are the paths of tables whose entries may be quoted.
pub fn account(
    standings: &Standings,
    rows: Vec<Row<'_>>,
    whole: bool,
    tables: &[String],
    width: usize,
) -> String {
    pages(standings, rows, whole, Quotes::new(tables), width, false)
}

fn pages(
    standings: &Standings,
    mut rows: Vec<Row<'_>>,
    whole: bool,
    quotes: Quotes,
    width: usize,
    colour: bool,
) -> String {
    rows.sort_by_key(|row| std::cmp::Reverse(row.standing));
    let days = Days::new(standings.program(), standings.at());
    let page = WhyPage { days, quotes, width, colour };
    let mut text = String::new();
    let (clear, listed): (Vec<&Row<'_>>, Vec<&Row<'_>>) =
        rows.iter().partition(|row| !whole && row.standing == Standing::Clear);
    for (i, row) in listed.iter().enumerate() {
        if i > 0 {
            text.push('\n');
        }
        page.row(&mut text, row);
    }
    if !clear.is_empty() {
        page.clear(&mut text, &clear, listed.is_empty());
    }
    fit(&text, width)
}

fn known_item(book: &Book, item: &str) -> Result<(), Stop> {
    if book.items().any(|known| known.id == item) {
        return Ok(());
    }
    let meant = closest(item, book.items().map(|known| known.id.as_str()));
    Err(Stop::Data(format!("the inventory has no item `{item}`{}", did_you_mean(meant))))
}

fn known_task(rows: &[Row<'_>], item: &str, task: &str) -> Result<(), Stop> {
    if rows.iter().any(|row| key(row.task) == key(task)) {
        return Ok(());
    }
    let meant = closest(task, rows.iter().map(|row| row.task));
    let tasks: Vec<String> = rows.iter().map(|row| format!("`{}`", row.task)).collect();
    let meant = did_you_mean(meant);
    Err(Stop::Data(format!(
        "no rule for `{task}` applies to `{item}`{meant}; its tasks are {}",
        tasks.join(", ")
    )))
}

/// What stays the same on one screen.
struct WhyPage<'a> {
    days: Days<'a>,
    quotes: Quotes,
    width: usize,
    colour: bool,
}

/// The width of the labels of a row's details.
const LABEL: usize = 13;
/// The width that a part's state needs beside the part.
const STATE: usize = 38;

impl WhyPage<'_> {
    fn row(&self, text: &mut String, row: &Row<'_>) {
        let title = paint(
            self.colour,
            BOLD,
            &format!("{} {}: {}", plain(row.item), plain(row.kind), plain(row.task)),
        );
        let word = paint(self.colour, style_of(row.standing), row.standing.word());
        let when = when(row, &self.days);
        push_line(text, &title);
        let joint = if row.standing >= Standing::Due || when.is_empty() { "" } else { "," };
        push_line(text, &format!("{word}{joint} {when}"));
        let mut accounts: Vec<Account<'_>> = row.rules().collect();
        accounts.sort_by_key(|account| {
            (std::cmp::Reverse(account.standing), account.due_at.is_none(), account.due_at)
        });
        for account in &accounts {
            text.push('\n');
            self.account(text, row, account);
        }
        text.push('\n');
        self.details(text, row);
    }

    fn account(&self, text: &mut String, row: &Row<'_>, account: &Account<'_>) {
        let place = format!("{}:{}", plain(account.rule.file), account.rule.line);
        push_line(text, &paint(self.colour, FAINT, &place));
        self.rule_text(text, &account.rule);
        let (parts, limit) = (account.parts(), account.limit_parts());
        let widest = parts.iter().chain(&limit).map(|part| columns(part.text)).max().unwrap_or(0);
        // States are beside the parts only if there is space beside every one.
        let widest = Some(widest).filter(|widest| widest + STATE <= self.width);
        for part in &parts {
            self.part(text, row, part, widest);
        }
        if !limit.is_empty() {
            push_line(text, "  no later than");
            for part in &limit {
                self.part(text, row, part, widest);
            }
        }
        let word = paint(self.colour, style_of(account.standing), account.standing.word());
        let next = next(account, &self.days);
        let start = format!("  {}", account.standing.word());
        for (i, wrapped) in wrap(&next, self.width, &format!("{start}; ")).iter().enumerate() {
            match wrapped.strip_prefix(&start) {
                Some(rest) if i == 0 => push_line(text, &format!("  {word}{rest}")),
                _ => push_line(text, wrapped),
            }
        }
    }

    /// The rule as written, indented, without the details that are listed below; lines keep their indentation
    /// relative to each other.
    fn rule_text(&self, text: &mut String, rule: &RuleText<'_>) {
        let indent = |line: &str| line.len() - line.trim_start().len();
        let rest = || rule.text.lines().skip(1).filter(|line| !line.trim().is_empty());
        let least = rest().map(indent).min().unwrap_or(0);
        let below = listed_below(rule);
        for (i, written) in rule.text.lines().enumerate().filter(|(i, _)| !below.contains(i)) {
            let deeper = if i == 0 { 0 } else { 2 + indent(written).saturating_sub(least) };
            let start = " ".repeat(4 + deeper);
            for wrapped in wrap(&plain(written.trim()), self.width, &start) {
                push_line(text, &wrapped);
            }
        }
    }

    fn part(&self, text: &mut String, row: &Row<'_>, part: &Part<'_>, widest: Option<usize>) {
        let reached = part.reached_at.is_some_and(|at| self.days.is_past(at));
        let mark = if reached { "*" } else { "-" };
        let state = self.state(row, part);
        let words = plain(part.text);
        if let Some(widest) = widest {
            for wrapped in wrap(&state, self.width, &format!("  {mark} {}  ", pad(&words, widest))) {
                push_line(text, &wrapped);
            }
        } else {
            for wrapped in wrap(&words, self.width, &format!("  {mark} ")) {
                push_line(text, &wrapped);
            }
            for wrapped in wrap(&state, self.width, "      ") {
                push_line(text, &wrapped);
            }
        }
        if let Some(place) = &part.tipped_by {
            let at = format!("{}:{}", plain(&place.source), place.line);
            let quoted = self.quotes.line(&place.source, place.line);
            let words = quoted.map_or(at.clone(), |words| format!("{at}  {}", plain(&words)));
            for wrapped in wrap(&words, self.width, "      ") {
                push_line(text, &paint(self.colour, FAINT, &wrapped));
            }
        }
    }

    /// How far one part is.
    fn state(&self, row: &Row<'_>, part: &Part<'_>) -> String {
        let days = &self.days;
        let mut state = Vec::new();
        if part.count.is_some() {
            state.push(usage(part));
        }
        match part.reached_at {
            Some(at) if days.is_past(at) => {
                let word = match part.written.kind {
                    AtomKind::Before { .. } => "window open since",
                    _ => "reached",
                };
                state.push(format!("{word} {} ({})", days.moment(at), days.distance(days.date(at))));
            }
            Some(at) => state.push(format!("{}, {}", days.moment(at), days.distance(days.date(at)))),
            None if part.is_undated() => state.push("no date to count from".to_owned()),
            None if part.count.is_none() => state.push("not reached".to_owned()),
            None => {}
        }
        if let Some(from) = part.from {
            let done = row.last_done.is_some_and(|done| days.date(done) == from);
            let what = match part.written.kind {
                _ if done => ", when it was last done",
                AtomKind::Unused(_) if part.tipped_by.is_some() => ", its last use",
                _ => "",
            };
            state.push(format!("counted from {from}{what}"));
        }
        state.join("; ")
    }

    fn details(&self, text: &mut String, row: &Row<'_>) {
        let done = match row.last_done {
            Some(at) => format!("{}, {}", self.days.moment(at), self.days.distance(self.days.date(at))),
            None => "never, as far as the log knows".to_owned(),
        };
        self.detail(text, "last done", &done);
        if !row.needs().is_empty() {
            self.detail(text, "needs", &row.needs().join(", "));
        }
        if let Some(takes) = row.takes_minutes() {
            self.detail(text, "takes", &minutes(takes));
        }
        if let Some(by) = row.by() {
            self.detail(text, "by", by);
        }
        if let Some(because) = row.because() {
            self.detail(text, "because", because);
        }
        for caution in row.cautions() {
            self.detail(text, "caution", caution);
        }
        for rule in row.silenced() {
            let first = rule.text.lines().next().unwrap_or_default().trim();
            self.detail(
                text,
                "silenced",
                &format!("{}:{} `{first}`, by a rule marked `instead`", rule.file, rule.line),
            );
        }
    }

    fn detail(&self, text: &mut String, label: &str, words: &str) {
        let start = pad(label, LABEL);
        for (i, wrapped) in wrap(&plain(words), self.width, &start).iter().enumerate() {
            match wrapped.strip_prefix(&start) {
                Some(rest) if i == 0 && label == "caution" => {
                    let blanks = " ".repeat(LABEL - label.len());
                    push_line(text, &format!("{}{blanks}{rest}", paint(self.colour, CAUTION, label)));
                }
                _ => push_line(text, wrapped),
            }
        }
    }

    /// The tasks of the item that are clear, one line each.
    fn clear(&self, text: &mut String, rows: &[&Row<'_>], first: bool) {
        let Some(row) = rows.first() else {
            return;
        };
        if !first {
            text.push('\n');
        }
        let title =
            format!("{} {}: {}", plain(row.item), plain(row.kind), if first { "all clear" } else { "clear" });
        push_line(text, &paint(self.colour, BOLD, &title));
        let widest = rows.iter().map(|row| columns(row.task)).max().unwrap_or(0).min(28);
        for row in rows {
            let next: Vec<String> = row.rules().map(|account| next(&account, &self.days)).collect();
            let start = format!("  {}  ", pad(&plain(row.task), widest));
            for wrapped in wrap(&next.join("; "), self.width, &start) {
                push_line(text, &wrapped);
            }
        }
    }
}

/// The numbers of the lines of a rule that hold nothing but a detail that the row's own list repeats.
fn listed_below(rule: &RuleText<'_>) -> HashSet<usize> {
    let at = |byte: u32| rule.text.split_at_checked(byte.saturating_sub(rule.rule.span.start) as usize);
    let mut lines = HashSet::new();
    for detail in &rule.rule.details.described {
        let (Some((before, _)), Some((to_end, after))) = (at(detail.start), at(detail.end)) else { continue };
        let is_first = before.rsplit_once('\n').is_some_and(|(_, before)| before.trim().is_empty());
        let after = after.lines().next().unwrap_or_default().trim_start();
        if is_first && (after.is_empty() || after.starts_with('#')) {
            lines.extend(before.matches('\n').count()..=to_end.matches('\n').count());
        }
    }
    lines
}
