//! Tasks to tick: gathered where one piece of work is the same for several items.

use crate::mark::mark;
use crate::page::{cautions, text};
use kitlore_engine::{Amount, Standing};
use kitlore_words::{minutes, plain};
use maud::{Markup, html};

/// What a task takes, the same for all its items.
#[derive(PartialEq)]
pub(crate) struct Task<'a> {
    pub task: &'a str,
    pub takes: Option<Amount>,
    pub needs: Vec<&'a str>,
    pub by: Option<&'a str>,
    pub because: Option<&'a str>,
    pub cautions: Vec<&'a str>,
}

/// One item of a piece of work.
pub(crate) struct Line<'a> {
    pub item: &'a str,
    pub kind: &'a str,
    pub standing: Option<Standing>,
    pub when: String,
    pub why: String,
}

/// A task with its items.
pub(crate) struct Work<'a> {
    pub task: Task<'a>,
    pub lines: Vec<Line<'a>>,
}

/// Lines of one task together, in the order of their first lines.
pub(crate) fn gather<'a>(lines: impl IntoIterator<Item = (Task<'a>, Line<'a>)>) -> Vec<Work<'a>> {
    let mut works: Vec<Work<'a>> = Vec::new();
    for (task, line) in lines {
        match works.iter_mut().find(|work| work.task == task) {
            Some(work) => work.lines.push(line),
            None => works.push(Work { task, lines: vec![line] }),
        }
    }
    works
}

/// A group of so many lines is kept on one page of paper.
const SHORT: usize = 8;

/// The table of a part of the page; without boxes where there is nothing to tick yet.
pub(crate) fn table(caption: &str, works: &[Work<'_>], tick: bool) -> Markup {
    html! {
        table aria-label=(caption) {
            thead { tr {
                @if tick { th.tick scope="col" { "Done" } }
                th.item scope="col" { "Item" }
                th scope="col" { "When and why" }
            } }
            @for work in works {
                tbody.short[work.lines.len() <= SHORT] {
                    tr { th.work colspan=(2 + u8::from(tick)) scope="rowgroup" { (head(work)) } }
                    @for line in &work.lines { tr { (row(work.task.task, line, tick)) } }
                }
            }
        }
    }
}

fn head(work: &Work<'_>) -> Markup {
    let task = &work.task;
    let each = if work.lines.len() > 1 { " each" } else { "" };
    let mut details: Vec<String> = task.takes.map(|takes| minutes(takes) + each).into_iter().collect();
    if !task.needs.is_empty() {
        details.push(format!("needs {}", plain(&task.needs.join(", "))));
    }
    details.extend(task.by.map(|by| format!("by {}", plain(by))));
    html! {
        h3 { (plain(task.task)) @if !details.is_empty() { span { ": " (details.join("; ")) } } }
        @if let Some(because) = task.because { p.faint { "Because: " (plain(because)) } }
        (cautions(task.cautions.iter().copied()))
    }
}

fn row(task: &str, line: &Line<'_>, tick: bool) -> Markup {
    let name = format!("done: {}, {} {}", plain(task), plain(line.kind), plain(line.item));
    html! {
        @if tick { td.tick { input type="checkbox" aria-label=(name) autocomplete="off"; } }
        th.item scope="row" { b { (plain(line.item)) } span.faint { (plain(line.kind)) } }
        td { div.line {
            span.when { @if let Some(standing) = line.standing { (mark(standing)) " " (standing) ": " } (text(&line.when)) }
            span { (text(&line.why)) }
        } }
    }
}
