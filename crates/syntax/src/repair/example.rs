//! Lines of examples that missed their form.

use super::tokens::Tokens;
use super::words::FIRST;
use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::lower::File;
use crate::nearness::closest;
use crate::parse::Node;
use crate::when::parse_date;

/// A line of an example block that has none of the three forms.
pub(super) fn example_line(file: &File<'_>, node: &Node) -> Diagnostic {
    let p = Tokens::of(file, node);
    let error = |span, message: String, help: String| {
        Diagnostic::error(Code::BadExampleLine, span, message).help(help)
    };
    if p.low(0) == "on" {
        return claim(&p);
    }
    if p.is_figure(0) && parse_date(p.raw(0)).is_err() && !p.raw(0).contains('T') {
        let message = format!("`{}` is not a date such as `2026-03-01`", p.raw(0));
        return Diagnostic::error(Code::BadDate, p.at(0), message)
            .help("write year, month, day: `2026-03-01`");
    }
    if p.is_figure(0) {
        let odd = (1..p.len())
            .find(|i| p.is_figure(*i) && !matches!(p.low(i - 1), "to" | "reading") && p.is_figure(i + 1));
        let message = "an entry is a date, an item's id, an event, and what belongs to it, in this order";
        let help = "write `2026-02-07 C1 lens change 12 reading 300 frames in dust, sand found spots ref \"v1\"`, \
                    leaving out what is not there";
        return error(odd.map_or(p.whole(), |i| p.at(i)), message.to_owned(), help.to_owned());
    }
    if FIRST.contains(&p.low(0)) {
        let message = format!("`{}` cannot begin a line of an example", p.raw(0));
        return error(
            p.at(0),
            message,
            "an item line begins with the kind: `camera C1 received 2026-01-10`".to_owned(),
        );
    }
    let message = format!("`{}` has none of the forms of an example line", p.rest(0));
    let help = "write an item `camera C1 received 2026-01-10`, an entry `2026-02-07 C1 lens change 12 in dust` or a claim \
                `on 2026-02-08 C1 inspect sensor is due`";
    error(p.whole(), message, help.to_owned())
}

fn claim(p: &Tokens<'_>) -> Diagnostic {
    const STANDINGS: [&str; 6] = ["clear", "unknown", "soon", "due", "overdue", "grounded"];
    let error = |span, message: String, help: String| {
        Diagnostic::error(Code::BadExampleLine, span, message).help(help)
    };
    let Some(is) = p.find("is") else {
        let message = "a claim names the standing of a task after `is`".to_owned();
        return error(p.whole(), message, "write `on 2026-02-08 C1 inspect sensor is due`".to_owned());
    };
    let said = p.low(is + 1);
    if STANDINGS.contains(&said) {
        let message = format!("`{}` cannot follow here", p.rest(is + 2));
        let help = "write `since` and a date, or nothing".to_owned();
        if p.len() > is + 2 {
            return error(p.span(is + 2, p.len()).unwrap_or(p.whole()), message, help);
        }
        let message = "a claim is a date, an item's id, a task, `is` and a standing".to_owned();
        return error(p.whole(), message, "write `on 2026-02-08 C1 inspect sensor is due`".to_owned());
    }
    let meant = match said {
        "ok" | "fine" | "good" | "done" | "not" | "free" => Some("clear"),
        "late" => Some("overdue"),
        "blocked" | "stopped" => Some("grounded"),
        _ => closest(said, STANDINGS),
    };
    let message = format!("`{}` is not a standing", p.rest(is + 1));
    let help = match meant {
        Some(meant) => format!("write `{} {meant}`", p.text(0, is + 1)),
        None => "the standings are `clear`, `unknown`, `soon`, `due`, `overdue` and `grounded`".to_owned(),
    };
    error(p.span(is + 1, p.len()).unwrap_or(p.at(is)), message, help)
}
