//! The sheet of a day: what is due, the worst first, and what falls due in the weeks ahead.

use super::frame::{HtmlPage, PageSection};
use super::mark::mark;
use super::row::{line, problems};
use super::timeline::{Bar, DaysShown, draw};
use super::work_table::table;
use crate::words::{Days, awaited, counted, totals};
use crate::work::{WorkDetails, group, urgency};
use kitlore_engine::{Row, Standing, Standings};
use maud::html;

/// How far the drawing looks ahead, in days.
const AHEAD: u32 = 90;

/// The page of standings: what is to be done or announced; with `all` what is clear as well.
pub fn due(standings: &Standings, all: bool) -> String {
    let days = Days::new(standings.program(), standings.at());
    let mut sections: Vec<PageSection> = Vec::new();
    for standing in Standing::ALL {
        if standing != Standing::Clear || all {
            sections.extend(part(standings, standing, &days));
        }
    }
    sections.extend(timeline(standings, &days));
    sections.extend(problems(standings.problems()));
    let house = standings.program().house().name.as_deref();
    HtmlPage {
        title: house.map_or_else(|| "WorkRows sheet".to_owned(), |house| format!("{house}: work sheet")),
        of: standings.program().local(standings.at()).format("%A %-d %B %Y").to_string(),
        totals: [Some(totals(standings)), awaited(standings)]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join("; "),
        cautions: Vec::new(),
        sections,
    }
    .draw()
}

/// The rows that stand so.
fn part(standings: &Standings, standing: Standing, days: &Days<'_>) -> Option<PageSection> {
    let mut rows: Vec<Row<'_>> = standings.rows().filter(|row| row.standing == standing).collect();
    rows.sort_by_key(urgency);
    let works = group(rows.iter().map(|row| (WorkDetails::of_row(row), line(row, days))));
    let (id, title) = match standing {
        Standing::Grounded => ("grounded", "Grounded: do not use until done"),
        Standing::Overdue => ("overdue", "Overdue"),
        Standing::Due => ("due", "Due"),
        Standing::Soon => ("soon", "Soon"),
        Standing::Unknown => ("unknown", "No date to count from"),
        Standing::Clear => ("clear", "Clear"),
    };
    (!works.is_empty()).then(|| PageSection {
        id,
        heading: html! { (mark(standing)) (title) },
        title: format!("{standing}, {}", rows.len()),
        body: table(title, &works, true),
    })
}

/// What falls due when; the rows that lie further ahead are counted.
fn timeline(standings: &Standings, days: &Days<'_>) -> Option<PageSection> {
    let window = DaysShown::ahead(days.today, AHEAD);
    let dated = || standings.rows().filter_map(|row| Some((row, days.date(row.due_at?))));
    let mut bars: Vec<Bar<'_>> = dated()
        .filter(|(row, date)| *date <= window.to || row.standing >= Standing::Due)
        .map(|(row, middle)| Bar {
            item: row.item,
            task: row.task,
            standing: row.standing,
            middle: Some(middle),
            span: None,
            words: match row.standing {
                Standing::Soon | Standing::Clear => middle.to_string(),
                standing => format!("{standing}, {middle}"),
            },
        })
        .collect();
    bars.sort_by(|one, other| (one.middle, one.item, one.task).cmp(&(other.middle, other.item, other.task)));
    let further = dated().count() - bars.len();
    (!bars.is_empty()).then(|| PageSection {
        id: "when",
        heading: html! { "What falls due when" },
        title: "what falls due when".to_owned(),
        body: html! {
            (draw(&bars, window))
            @if further > 0 { p { (counted(further, "task")) " with a date after " (window.to) "." } }
            p.faint { "What hangs on use alone has no date and is not drawn." }
        },
    })
}
