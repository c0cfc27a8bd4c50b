//! What stands on every page: the line of a row, the problems of the data.

use super::frame::PageSection;
use super::work_table::WorkLine;
use crate::words::{Days, counted, plain, reasons, when};
use kitlore_engine::{Problem, Row};
use maud::{Markup, html};

/// So many problems of the data are listed on paper; the others are counted.
const PROBLEMS: usize = 20;

pub(crate) fn line<'a>(row: &Row<'a>, days: &Days<'_>) -> WorkLine<'a> {
    WorkLine {
        item: row.item,
        kind: row.kind,
        standing: None,
        when: when(row, days),
        why: reasons(row, days).join("; "),
    }
}

pub(crate) fn problems(problems: &[Problem]) -> Option<PageSection> {
    let listed = |problem: &Problem| -> Markup {
        let place = problem.place.as_ref().map(|place| format!("{}, line {}: ", place.source, place.line));
        html! { li { (plain(&(place.unwrap_or_default() + &problem.words()))) } }
    };
    (!problems.is_empty()).then(|| PageSection {
        id: "problems",
        heading: html! { "Problems in the data" },
        title: counted(problems.len(), "problem"),
        body: html! {
            ul { @for problem in problems.iter().take(PROBLEMS) { (listed(problem)) } }
            @if problems.len() > PROBLEMS { p { "and " (counted(problems.len() - PROBLEMS, "more problem")) } }
        },
    })
}
