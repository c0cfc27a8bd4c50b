//! The sheet of the days ahead: what is due now, what falls due with which chance, what cannot be said.

use super::frame::{HtmlPage, PageSection};
use super::row::{line, problems};
use super::timeline::{Bar, DaysShown, draw};
use super::work_table::{WorkLine, table};
use crate::words::{Days, awaited, basis, counted, plain, reasons, too_little};
use crate::work::{WorkDetails, group};
use kitlore_engine::{Row, Standing};
use kitlore_planning::{Forecast, Forecasts};
use maud::html;

/// The page of forecasts.
pub fn ahead(forecasts: &Forecasts) -> String {
    let standings = forecasts.standings();
    let days = Days::new(standings.program(), standings.at());
    let (now, later): (Vec<_>, Vec<_>) =
        forecasts.with_standings().partition(|(_, row)| row.standing >= Standing::Due);
    let (mut dated, undated): (Vec<_>, Vec<_>) =
        later.into_iter().partition(|(ahead, _)| ahead.p10.is_some());
    dated.sort_by_key(|(ahead, _)| (ahead.p50.or(ahead.p10), ahead.p10));
    let (later, unknown): (Vec<_>, Vec<_>) = undated.into_iter().partition(|(ahead, _)| ahead.enough());

    let sections = [
        now_due(&now, &days),
        falls_due(&dated, &days),
        timeline(&now, &dated, forecasts, &days),
        unsaid(&unknown),
    ];
    let mut sections: Vec<PageSection> = sections.into_iter().flatten().collect();
    sections.extend(problems(standings.problems()));
    let totals = format!(
        "{} due now; {} may fall due by {}; {} hardly before then",
        counted(now.len(), "task"),
        dated.len(),
        forecasts.to(),
        later.len()
    );
    let house = standings.program().house().name.as_deref();
    HtmlPage {
        title: house.map_or_else(|| "The days ahead".to_owned(), |house| format!("{house}: the days ahead")),
        of: format!(
            "{} to {}, {}",
            forecasts.from(),
            forecasts.to(),
            counted(forecasts.days() as usize, "day")
        ),
        totals: [Some(totals), awaited(standings)].into_iter().flatten().collect::<Vec<_>>().join("; "),
        cautions: Vec::new(),
        sections,
    }
    .draw()
}

type ForecastRow<'a> = (&'a Forecast, Row<'a>);

fn now_due(now: &[ForecastRow<'_>], days: &Days<'_>) -> Option<PageSection> {
    let mut now: Vec<&ForecastRow<'_>> = now.iter().collect();
    now.sort_by_key(|(_, row)| (std::cmp::Reverse(row.standing), row.due_at));
    let lines = now.iter().map(|(_, row)| {
        (WorkDetails::of_row(row), WorkLine { standing: Some(row.standing), ..line(row, days) })
    });
    let works = group(lines);
    (!works.is_empty()).then(|| PageSection {
        id: "now",
        heading: html! { "Due now" },
        title: format!("due now, {}", now.len()),
        body: table("Due now", &works, true),
    })
}

fn falls_due(dated: &[ForecastRow<'_>], days: &Days<'_>) -> Option<PageSection> {
    let works = group(dated.iter().map(|(ahead, row)| {
        let why = [reasons(row, days).join("; "), basis(&ahead.basis), too_little(ahead).unwrap_or_default()];
        let why: Vec<String> = why.into_iter().filter(|text| !text.is_empty()).collect();
        let line = WorkLine {
            item: row.item,
            kind: row.kind,
            standing: None,
            when: chances(ahead),
            why: why.join("; "),
        };
        (WorkDetails::of_row(row), line)
    }));
    (!works.is_empty()).then(|| PageSection {
        id: "ahead",
        heading: html! { "Falls due ahead" },
        title: format!("falls due ahead, {}", dated.len()),
        body: table("Falls due ahead", &works, true),
    })
}

/// The dates of a chance of 10, 50 and 90 %; one date where it is certain.
fn chances(ahead: &Forecast) -> String {
    if ahead.p10.is_some() && ahead.p10 == ahead.p90 {
        return ahead.p10.map(|date| format!("due {date}")).unwrap_or_default();
    }
    let dates = [("10 %", ahead.p10), ("50 %", ahead.p50), ("90 %", ahead.p90)];
    let dates = dates.iter().filter_map(|(share, date)| Some(format!("{share} by {}", (*date)?)));
    dates.collect::<Vec<_>>().join(", ")
}

fn timeline(
    now: &[ForecastRow<'_>],
    dated: &[ForecastRow<'_>],
    forecasts: &Forecasts,
    days: &Days<'_>,
) -> Option<PageSection> {
    let window = DaysShown::ahead(forecasts.from(), forecasts.days());
    let due = now.iter().filter_map(|(_, row)| {
        let middle = days.date(row.due_at?);
        let words = format!("{}, {middle}", row.standing);
        Some(Bar {
            item: row.item,
            task: row.task,
            standing: row.standing,
            middle: Some(middle),
            span: None,
            words,
        })
    });
    let later = dated.iter().filter_map(|(ahead, row)| {
        let early = ahead.p10?;
        let span = (ahead.p10 != ahead.p90).then_some((early, ahead.p90));
        let words = match (span, ahead.p90) {
            (None, _) => chances(ahead),
            (Some(_), Some(late)) => format!("{early} to {late}"),
            (Some(_), None) => format!("from {early}"),
        };
        Some(Bar { item: row.item, task: row.task, standing: row.standing, middle: ahead.p50, span, words })
    });
    let mut bars: Vec<Bar<'_>> = due.chain(later).collect();
    bars.sort_by_key(|bar| (bar.middle.is_none(), bar.middle, bar.item, bar.task));
    (!bars.is_empty()).then(|| PageSection {
        id: "when",
        heading: html! { "What falls due when" },
        title: "what falls due when".to_owned(),
        body: draw(&bars, window),
    })
}

/// Rows of whose use too little is known.
fn unsaid(unknown: &[ForecastRow<'_>]) -> Option<PageSection> {
    (!unknown.is_empty()).then(|| PageSection {
        id: "unsaid",
        heading: html! { "Too little to go by" },
        title: format!("too little to go by, {}", unknown.len()),
        body: html! { ul { @for (ahead, row) in unknown { li {
            b { (plain(row.item)) } ", " (plain(row.task)) ": " (plain(&too_little(ahead).unwrap_or_default()))
        } } } },
    })
}
