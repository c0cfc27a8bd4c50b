//! A table of tasks to tick, each with its items.

use super::frame::{cautions, text};
use super::mark::mark;
use crate::words::plain;
use crate::work::WorkDetails;
use kitlore_engine::Standing;
use maud::{Markup, html};

/// One item of a piece of work.
pub(crate) struct WorkLine<'a> {
    pub item: &'a str,
    pub kind: &'a str,
    pub standing: Option<Standing>,
    pub when: String,
    pub why: String,
}

/// A task with its items.
pub(crate) type Work<'a> = (WorkDetails<'a>, Vec<WorkLine<'a>>);

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
            @for (details, lines) in works {
                tbody.short[lines.len() <= SHORT] {
                    tr { th.work colspan=(2 + u8::from(tick)) scope="rowgroup" { (head(details, lines.len())) } }
                    @for line in lines { tr { (row(details.task, line, tick)) } }
                }
            }
        }
    }
}

fn head(work: &WorkDetails<'_>, items: usize) -> Markup {
    let details = work.in_words(items > 1);
    html! {
        h3 { (plain(work.task)) @if !details.is_empty() { span { ": " (details) } } }
        @if let Some(because) = work.because { p.faint { "Because: " (plain(because)) } }
        (cautions(work.cautions.iter().copied()))
    }
}

fn row(task: &str, line: &WorkLine<'_>, tick: bool) -> Markup {
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
