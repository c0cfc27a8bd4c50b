//! Cases as text, in the form of `tests/cases`: the engine and the plain evaluator answer alike.

use crate::answers::{answered, checked_json};
use crate::evaluate::same_as_plain;
use kitlore_engine::{Program, When};
use kitlore_syntax::parse_date;
use kitlore_tests::case::{LOG, Question};
use kitlore_tests::evaluators::{book, house};
use kitlore_tests::plain::{ItemRow, LogRow};

/// What a case may cost: the plain evaluator looks through the whole log for each answer.
const ROWS: usize = 40;

/// `rules`, then `--- items`, `--- log` with their tables, and `--- at` with an instant, in any order.
pub(crate) fn case(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    let text = text.replace('\r', "\n");
    let mut question = Question::default();
    let mut ats = Vec::new();
    for (number, part) in text.split("--- ").enumerate() {
        let (head, body) =
            if number == 0 { ("rules", part) } else { part.split_once('\n').unwrap_or((part, "")) };
        match head.trim().split_once(' ').unwrap_or((head.trim(), "")) {
            ("rules", _) => question.rules = body.to_owned(),
            ("items", _) => question.items = items(body),
            ("log", _) => question.log = log(body),
            ("at", when) => ats.extend(When::parse(when.trim()).ok()),
            _ => {}
        }
    }
    let Ok(house) = house(&question.rules) else { return };
    let program = Program::compile(house);
    let mut asked = book(&program, &question);
    ats.truncate(3);
    for at in ats {
        checked_json(&answered(&mut asked, program.when_is_over(at)));
        same_as_plain(&program, &question, at);
    }
}

/// Lines of values under headings, parted by commas; what goes beyond the bound is left out.
fn table(text: &str) -> impl Iterator<Item = (u32, Vec<(&str, &str)>)> {
    let mut lines = text.lines().filter(|line| !line.trim().is_empty());
    let headings: Vec<&str> = lines.next().unwrap_or_default().split(',').map(str::trim).collect();
    (2..)
        .zip(lines.take(ROWS))
        .map(move |(row, line)| (row, headings.iter().copied().zip(line.split(',')).collect()))
}

fn items(text: &str) -> Vec<ItemRow> {
    let item = |(row, values): (u32, Vec<(&str, &str)>)| {
        let mut item = ItemRow { row, ..ItemRow::default() };
        for (heading, value) in values {
            match heading {
                "id" => item.id = value.to_owned(),
                "kind" => item.kind = value.to_owned(),
                "received" => item.received = value.to_owned(),
                "in_service" => item.in_service = value.to_owned(),
                "retired" => item.retired = value.to_owned(),
                "kit" => item.kit = value.to_owned(),
                "model" => item.model = value.to_owned(),
                _ => item.attributes.push((heading.to_owned(), value.to_owned())),
            }
        }
        // Which of a date's mistakes leaves an item without it is for readers of tables.
        for date in [&mut item.received, &mut item.in_service, &mut item.retired] {
            if parse_date(date.trim()).is_err() {
                date.clear();
            }
        }
        item
    };
    table(text).map(item).collect()
}

fn log(text: &str) -> Vec<LogRow> {
    let entry = |(row, values): (u32, Vec<(&str, &str)>)| {
        let mut fields = LOG.map(|_| String::new());
        for (heading, value) in values {
            if let Some(at) = LOG.iter().position(|known| *known == heading) {
                fields[at] = value.to_owned();
            }
        }
        let [
            when,
            until,
            item,
            event,
            amount,
            reading,
            unit,
            conditions,
            found,
            reference,
            id,
            by,
            note,
            expect,
        ] = fields;
        LogRow {
            row,
            when,
            until,
            item,
            event,
            amount,
            reading,
            unit,
            conditions,
            found,
            reference,
            id,
            by,
            note,
            expect,
        }
    };
    table(text).map(entry).collect()
}
