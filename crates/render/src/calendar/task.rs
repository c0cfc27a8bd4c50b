//! A row as a task to do and as an event.

use super::moment::{Moments, Span, date, time, written};
use crate::words::{minutes, reasons, when};
use icalendar::{Alarm, Component, Event, EventLike, Property, Todo};
use kitlore_engine::{Instant, Row, Standing};
use kitlore_syntax::key;
use uuid::Uuid;

/// The names of kitlore's rows among all names that are hashed to ids of this sort (RFC 9562 §5.5).
const ROWS: Uuid = Uuid::from_u128(0x6b69_746c_6f72_4500_8f72_6f77_7300_0001);

/// The task to do of a row; `None` where it has neither a date nor was ever done.
pub(crate) fn todo(row: &Row<'_>, moments: &Moments<'_>) -> Option<Todo> {
    let uid = uid(row, moments, "");
    let mut todo = Todo::new();
    match (moments.span(row), row.last_done) {
        (Some(span), _) => {
            for property in moments.properties(&span) {
                todo.append_property(property);
            }
            todo.add_property("STATUS", "NEEDS-ACTION").priority(priority(row.standing));
            alarm(&mut todo, row, moments, &span, &uid);
        }
        (None, Some(done)) => {
            todo.append_property(time("COMPLETED", done));
            todo.add_property("STATUS", "COMPLETED").add_property("PERCENT-COMPLETE", "100");
        }
        (None, None) => return None,
    }
    common(&mut todo, row, moments, &uid);
    Some(todo)
}

/// The event of a row with a date: the whole of its due day.
pub(crate) fn event(row: &Row<'_>, moments: &Moments<'_>) -> Option<Event> {
    let span = moments.span(row)?;
    let day = moments.dates.date(span.from);
    let uid = uid(row, moments, "event");
    let mut event = Event::new();
    event.append_property(date("DTSTART", day));
    // The end of whole days is the day after (RFC 5545 §3.6.1).
    event.append_property(date("DTEND", day.succ_opt()?));
    event.add_property("TRANSP", "TRANSPARENT");
    common(&mut event, row, moments, &uid);
    Some(event)
}

fn common(component: &mut impl Component, row: &Row<'_>, moments: &Moments<'_>, uid: &str) {
    let at = written(moments.at());
    // Minutes since 1970 grow with every later export and fit an INTEGER for four thousand years.
    let sequence = (moments.at().timestamp() / 60).clamp(0, i32::MAX.into());
    component
        .uid(uid)
        .add_property("DTSTAMP", &at)
        .add_property("LAST-MODIFIED", &at)
        .add_property("SEQUENCE", sequence.to_string())
        .summary(&summary(row))
        .description(&description(row, moments));
}

/// Rings when the row is announced.
fn alarm(todo: &mut Todo, row: &Row<'_>, moments: &Moments<'_>, span: &Span, uid: &str) {
    let Some(trigger) = moments.trigger(span) else { return };
    let mut alarm = Alarm::display(&summary(row), chrono::Duration::zero());
    // Without RELATED=END a trigger depends on DTSTART, which a task may lack (RFC 5545 §3.8.6.3).
    alarm.append_property(Property::new("TRIGGER", trigger).add_parameter("RELATED", "END").done());
    // The library would give it a random id and the time of the clock (UID of alarms: RFC 9074 §4).
    alarm.uid(&format!("{uid}-notice")).add_property("DTSTAMP", written(moments.at()));
    todo.alarm(alarm);
}

/// RFC 5545 §3.8.1.9: 1 is the highest, 9 the lowest.
fn priority(standing: Standing) -> u32 {
    match standing {
        Standing::Grounded => 1,
        Standing::Overdue => 2,
        Standing::Due => 4,
        Standing::Soon => 5,
        Standing::Unknown | Standing::Clear => 9,
    }
}

/// The same for the same house, item and task, whatever the date; names as the rules compare them.
fn uid(row: &Row<'_>, moments: &Moments<'_>, part: &str) -> String {
    let (house, task) = (key(moments.house()), key(row.task));
    // Lengths keep `a` + `bc` apart from `ab` + `c`.
    let name = format!("{}:{house}{}:{}{}:{task}{part}", house.len(), row.item.len(), row.item, task.len());
    Uuid::new_v5(&ROWS, name.as_bytes()).to_string()
}

fn summary(row: &Row<'_>) -> String {
    let warning = if row.standing == Standing::Grounded { " (do not use until done)" } else { "" };
    text(&format!("{}: {} {}{warning}", row.task, row.kind, row.item))
}

/// All that a work order says, the cautions first.
fn description(row: &Row<'_>, moments: &Moments<'_>) -> String {
    let dates = &moments.dates;
    let mut lines: Vec<String> = row.cautions().iter().map(|caution| format!("Caution: {caution}")).collect();
    lines.push(match (moments.span(row), row.last_done) {
        (None, Some(done)) => format!("Done {}; no date yet for the next time", dates.date(done)),
        (Some(span), _) => format!("{}{}", row.standing, days(row, moments, span.until)),
        (None, None) => row.standing.to_string(),
    });
    let reasons = reasons(row, dates);
    if !reasons.is_empty() {
        lines.push(format!("Why: {}", reasons.join("; ")));
    }
    if !row.needs().is_empty() {
        lines.push(format!("Needs: {}", row.needs().join(", ")));
    }
    lines.extend(row.takes_minutes().map(|takes| format!("Takes: {}", minutes(takes))));
    lines.extend(row.by().map(|by| format!("By: {by}")));
    lines.extend(row.because().map(|because| format!("Because: {because}")));
    let places: Vec<String> =
        row.rules().map(|account| format!("{}, line {}", account.rule.file, account.rule.line)).collect();
    lines.push(format!("Rule: {}", places.join("; ")));
    let lines: Vec<String> = lines.iter().map(|line| text(line)).collect();
    lines.join("\n")
}

/// Since when it stands so and the last day to do it, in words.
fn days(row: &Row<'_>, moments: &Moments<'_>, until: Instant) -> String {
    let words = match row.standing {
        Standing::Grounded | Standing::Overdue => when(row, &moments.dates),
        _ => {
            let due = row.due_at.map(|due| moments.dates.date(due)).unwrap_or_default();
            let last = moments.dates.last_before(until);
            if until <= row.due_at.unwrap_or(until) {
                format!("to be done before {due}")
            } else if last > due {
                format!("due {due}, the last day for it is {last}")
            } else {
                format!("due {due}")
            }
        }
    };
    if words.is_empty() { words } else { format!(": {words}") }
}

/// Foreign text on one line, without what readers take for the end of a line or for commands.
pub(crate) fn text(text: &str) -> String {
    let is_break = |c: char| c.is_control() || matches!(c, '\u{2028}' | '\u{2029}');
    text.chars().map(|c| if is_break(c) { ' ' } else { c }).collect()
}
