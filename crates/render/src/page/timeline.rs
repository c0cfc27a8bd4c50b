//! What falls due when, drawn: a row for each task of each item, days from left to right.
//!
//! Every row is a drawing of its own with places in hundredths of its width, so that letters keep their size
//! on a phone and no page break cuts a row.

use super::frame::text;
use super::mark::{mark, shape};
use crate::words::plain;
use chrono::{Datelike, Days, Months, NaiveDate};
use kitlore_engine::Standing;
use maud::{Markup, html};
use std::collections::BTreeMap;

/// One row of the drawing.
pub(crate) struct Bar<'a> {
    pub item: &'a str,
    pub task: &'a str,
    /// The shape at `middle`.
    pub standing: Standing,
    /// The due date, or the date of a chance of 50 %; none where that lies beyond what was looked at.
    pub middle: Option<NaiveDate>,
    /// From a chance of 10 % to one of 90 %; an open end lies beyond what was looked at.
    pub span: Option<(NaiveDate, Option<NaiveDate>)>,
    /// The same in words.
    pub words: String,
}

/// The days that are drawn.
#[derive(Clone, Copy)]
pub(crate) struct Window {
    /// A day that a line marks, and what it is.
    pub marked: (NaiveDate, &'static str),
    pub from: NaiveDate,
    pub to: NaiveDate,
}

/// What is overdue for longer is drawn at the left edge.
const BACK: u64 = 14;

impl Window {
    /// So many days ahead, and a little of what lies behind.
    pub fn ahead(today: NaiveDate, days: u32) -> Self {
        let from = today.checked_sub_days(Days::new(BACK)).unwrap_or(today);
        let to = today.checked_add_days(Days::new(days.max(1).into())).unwrap_or(today);
        Self { marked: (today, "today"), from, to }
    }

    /// The place of a date in hundredths of the width; what lies outside is at the edge.
    fn place(self, date: NaiveDate) -> f64 {
        let days = |to: NaiveDate| (to - self.from).num_days() as f64;
        // A little space on both sides, so that shapes at the edges are whole.
        3.0 + 94.0 * (days(date) / days(self.to).max(1.0)).clamp(0.0, 1.0)
    }

    fn x(self, date: NaiveDate) -> String {
        format!("{:.1}%", self.place(date))
    }

    /// The first days of the months in it, or of every so many where they are many.
    fn months(self) -> Vec<NaiveDate> {
        let first = self.from.with_day(1).unwrap_or(self.from);
        let every = (self.to - self.from).num_days() as u32 / 190 + 1;
        let steps = (1..=240_u32).filter_map(|step| first.checked_add_months(Months::new(step * every)));
        steps.take_while(|date| *date <= self.to).collect()
    }
}

/// The table of rows with its scale and the meaning of its shapes.
pub(crate) fn draw(bars: &[Bar<'_>], window: Window) -> Markup {
    let spans = bars.iter().any(|bar| bar.span.is_some());
    html! {
        table.timeline aria-label="what falls due when" {
            thead { tr {
                th.label scope="col" { "Item and task" }
                th.scale scope="col" { (scale(window)) }
            } }
            @for item in by_item(bars) { tbody { @for bar in item { tr {
                th.label scope="row" {
                    span { b { (plain(bar.item)) } " " (plain(bar.task)) }
                    " " span.faint { (text(&bar.words)) }
                }
                td { (row(bar, window)) }
            } } } }
        }
        (legend(bars, window, spans))
    }
}

/// The rows of each item together, the item with the earliest row first; `bars` is in the order of time.
fn by_item<'b, 'a>(bars: &'b [Bar<'a>]) -> Vec<Vec<&'b Bar<'a>>> {
    let mut items: Vec<Vec<&Bar<'_>>> = Vec::new();
    let mut places: BTreeMap<&str, usize> = BTreeMap::new();
    for bar in bars {
        let place = *places.entry(bar.item).or_insert(items.len());
        match items.get_mut(place) {
            Some(item) => item.push(bar),
            None => items.push(vec![bar]),
        }
    }
    items
}

fn scale(window: Window) -> Markup {
    html! {
        svg.scale-row role="img" aria-label={ "drawn from " (window.from) " to " (window.to) } {
            @for month in window.months() {
                line.grid x1=(window.x(month)) x2=(window.x(month)) y1="0" y2="100%" {}
                text.tiny x=(window.x(month)) dx="3" y="14" { (month.format(if month.month() == 1 { "%b %Y" } else { "%b" })) }
            }
        }
    }
}

fn row(bar: &Bar<'_>, window: Window) -> Markup {
    html! {
        svg.row role="img" {
            title { (plain(bar.item)) ", " (plain(bar.task)) ": " (bar.words) }
            @for month in window.months() { line.grid x1=(window.x(month)) x2=(window.x(month)) y1="0" y2="100%" {} }
            line.marked x1=(window.x(window.marked.0)) x2=(window.x(window.marked.0)) y1="0" y2="100%" {}
            @if let Some((early, late)) = bar.span {
                line.span x1=(window.x(early)) x2=(window.x(late.unwrap_or(window.to))) y1="50%" y2="50%" {}
                @if late.is_none() {
                    svg x=(window.x(window.to)) y="50%" overflow="visible" { path d="M-2-7 8 0-2 7Z" {} }
                }
            }
            @if let Some(middle) = bar.middle {
                @if middle < window.from { line.tail x1="0" x2=(window.x(middle)) y1="50%" y2="50%" stroke-dasharray="2 2" {} }
                svg x=(window.x(middle)) y="50%" overflow="visible" { (shape(bar.standing)) }
            }
        }
    }
}

fn legend(bars: &[Bar<'_>], window: Window, spans: bool) -> Markup {
    let (day, what) = window.marked;
    let standings = Standing::ALL.into_iter().filter(|one| bars.iter().any(|bar| bar.standing == *one));
    html! {
        ul.legend {
            @for standing in standings { li { (mark(standing)) (standing) } }
            li { svg.key aria-hidden="true" { line.marked x1="50%" x2="50%" y1="0" y2="100%" {} } (what) ", " time { (day) } }
            @if spans { li { svg.key aria-hidden="true" { line.span x1="0" x2="100%" y1="50%" y2="50%" {} } "from a chance of 10 % to one of 90 %; with a point at the right it goes on" } }
        }
    }
}
