//! What a trip needs, for people: one list after the other, tasks that are one piece of work together.

use crate::fit::fit;
use crate::screen::{BOLD, CAUTION, columns, pad, paint, plain, style_of, wrap};
use kitlore::planning::{FollowUp, LeftAtHome, Packed, Task, Trip};
use kitlore::render::{WorkDetails, amount_of, calls, cause, counted, group, grouped, listed, minutes, note};
use kitlore::{Amount, NaiveDate, Standing};
use std::collections::BTreeSet;

/// The whole screen.
pub(crate) fn table(trip: &Trip, width: usize, colour: bool) -> String {
    let mut screen = Screen { text: String::new(), width, colour };
    screen.heading(trip);
    screen.tasks(
        &format!("Before leaving{}", work(trip)),
        "nothing",
        trip.before.iter().map(|task| {
            let standing = match (task.standing, task.due) {
                (Standing::Grounded | Standing::Overdue | Standing::Due, Some(due)) => {
                    format!("{} {due}", task.standing)
                }
                (_, Some(due)) => format!("due {due}"),
                (_, None) if task.chance >= 1.0 => "certain on the way".to_owned(),
                (_, None) => format!("{} chance on the way", chance(task.chance)),
            };
            Line { task: &task.task, lead: standing, standing: Some(task.standing), why: cause(&task.why) }
        }),
    );
    screen.tasks(
        "On the way, perhaps",
        "nothing that can be foreseen",
        trip.on_the_way.iter().map(|task| {
            let lead = if task.chance >= 1.0 {
                format!("due {}", task.day)
            } else {
                format!("{} {}", task.day, chance(task.chance))
            };
            Line { task: &task.task, lead, standing: None, why: cause(&task.why) }
        }),
    );
    if !trip.follow_ups.is_empty() {
        let follow = |follow_up: &FollowUp| {
            let later = if follow_up.task.by.is_some() { "; after the trip" } else { "" };
            format!("if {}{later}", calls(&follow_up.when))
        };
        screen.tasks(
            "And if something is found or done there",
            "nothing",
            trip.follow_ups.iter().map(|follow_up| Line {
                task: &follow_up.task,
                lead: String::new(),
                standing: None,
                why: follow(follow_up),
            }),
        );
    }
    screen.tasks(
        "On return",
        "nothing that the trip brings",
        trip.on_return.iter().map(|task| Line {
            task: &task.task,
            lead: format!("due {}", task.due),
            standing: None,
            why: cause(&task.why),
        }),
    );
    screen.pack(&trip.pack);
    screen.left(&trip.leave_at_home, trip.at);
    screen.closing(trip);
    fit(&screen.text, width)
}

/// `, 1 h 20 min, and 2 tasks with no time given`.
fn work(trip: &Trip) -> String {
    let own = || trip.before.iter().filter(|task| task.task.by.is_none());
    let untimed = own().filter(|task| task.task.takes_minutes.is_none()).count();
    let by_others = trip.before.len() - own().count();
    let mut parts = Vec::new();
    if trip.before_minutes > Amount::ZERO {
        parts.push(minutes(trip.before_minutes));
    }
    if untimed > 0 {
        parts.push(format!("{} with no time given", counted(untimed, "task")));
    }
    if by_others > 0 {
        parts.push(format!("{by_others} by others"));
    }
    if parts.is_empty() { String::new() } else { format!(": {}", parts.join(", ")) }
}

/// `35 %`; never 0 or 100 of what is not certain.
fn chance(chance: f64) -> String {
    let percent = (chance * 100.0).round().clamp(1.0, 99.0);
    if chance >= 1.0 { "certain".to_owned() } else { format!("{percent:.0} %") }
}

/// One task of one item with what is said of it.
struct Line<'a> {
    task: &'a Task,
    lead: String,
    standing: Option<Standing>,
    why: String,
}

struct Screen {
    text: String,
    width: usize,
    colour: bool,
}

impl Screen {
    fn push(&mut self, line: &str) {
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }

    fn wrapped(&mut self, text: &str, first: &str) {
        for line in wrap(&plain(text), self.width, first) {
            self.push(&line);
        }
    }

    fn caution(&mut self, text: &str, indent: &str) {
        let lines = wrap(&plain(text), self.width, &format!("{indent}caution: "));
        for line in lines {
            self.push(&paint(self.colour, CAUTION, &line));
        }
    }

    fn title(&mut self, text: &str) {
        self.text.push('\n');
        self.push(&paint(self.colour, BOLD, text));
    }

    fn heading(&mut self, trip: &Trip) {
        let house = trip.house.as_deref().map_or_else(String::new, |house| format!("{house}: "));
        let day = |date: NaiveDate| date.format("%a %-d %B %Y").to_string();
        let title = format!("{house}{}, {} to {}", trip.name, day(trip.from), day(trip.to));
        let title = paint(self.colour, BOLD, &plain(&title));
        self.push(&title);
        let conditions = match trip.conditions.is_empty() {
            true => String::new(),
            false => format!(", in {}", listed(trip.conditions.iter().map(String::as_str), "and")),
        };
        for entry in &trip.entries {
            let whose = if entry.item.is_empty() { "every item" } else { &entry.item };
            let days = if entry.from == entry.to {
                entry.from.to_string()
            } else {
                format!("{} to {}", entry.from, entry.to)
            };
            self.wrapped(&format!("{} of {whose}, {days}", entry.event), "  ");
        }
        let uses = trip.expect.iter().map(|expected| amount_of(expected.a_day, &expected.event));
        let uses: Vec<String> = uses.collect();
        let uses = if uses.is_empty() { String::new() } else { format!("; a day {}", uses.join(", ")) };
        self.wrapped(
            &format!("{}{conditions}{uses}; seen from {}", counted(trip.items.len(), "item"), trip.at),
            "  ",
        );
    }

    /// A list of tasks: what is the same work, and for the same reason, stands once.
    fn tasks<'a>(&mut self, title: &str, none: &str, lines: impl Iterator<Item = Line<'a>>) {
        self.title(title);
        let works = group(lines.map(|line| (WorkDetails::of_task(line.task).without_because(), line)));
        if works.is_empty() {
            self.push(&format!("  {none}"));
        }
        for (details, lines) in works {
            self.work(&details, lines);
        }
    }

    fn work(&mut self, details: &WorkDetails<'_>, lines: Vec<Line<'_>>) {
        let headline = match details.in_words(false) {
            words if words.is_empty() => details.task.to_owned(),
            words => format!("{}: {words}", details.task),
        };
        self.wrapped(&headline, "  ");
        let items = lines.into_iter().map(|line| ((line.lead, line.why), (line.standing, &line.task.item)));
        let reasons = group(items);
        let lead_width = reasons.iter().map(|((lead, _), _)| columns(lead)).max().unwrap_or(0);
        for ((lead, why), items) in reasons {
            let standing = items.first().and_then(|(standing, _)| *standing);
            let items: Vec<&str> = items.iter().map(|(_, item)| item.as_str()).collect();
            let space = if lead_width > 0 { 2 } else { 0 };
            let first = format!("    {}", pad(&lead, lead_width + space));
            let why = if why.is_empty() { String::new() } else { format!("  {why}") };
            let lines = wrap(&plain(&format!("{}{why}", items.join(", "))), self.width, &first);
            for (number, line) in lines.iter().enumerate() {
                let styled = match (number, standing, line.strip_prefix(&format!("    {lead}"))) {
                    (0, Some(standing), Some(rest)) => {
                        format!("    {}{rest}", paint(self.colour, style_of(standing), &lead))
                    }
                    _ => line.clone(),
                };
                self.push(&styled);
            }
        }
        for caution in &details.cautions {
            self.caution(caution, "    ");
        }
    }

    fn pack(&mut self, pack: &[Packed]) {
        self.title("Pack");
        if pack.is_empty() {
            self.push("  nothing for tasks on the way");
        }
        for packed in pack {
            self.wrapped(&format!("{}{}", packed.need, stock(packed)), "  ");
            let tasks = packed.reasons.iter().map(|reason| (reason.task.as_str(), reason.item.as_str()));
            let tasks = group(tasks);
            let tasks: Vec<String> =
                tasks.iter().map(|(task, items)| format!("{task} ({})", items.join(", "))).collect();
            self.wrapped(&format!("for {}", tasks.join("; ")), "    ");
        }
    }

    fn left(&mut self, left: &[LeftAtHome], at: NaiveDate) {
        if left.is_empty() {
            return;
        }
        self.title("Leave at home");
        for item in left {
            let tasks = item.tasks.iter().map(|held| held.task.task.as_str());
            let tasks = listed(tasks, "and");
            let since = if item.since <= at { "since" } else { "from" };
            let words = match item.for_good {
                true => format!("{} {}: {tasks}, due {since} {}", item.item, item.kind, item.since),
                false => {
                    format!("{} {}: grounded {since} {}, until {tasks}", item.item, item.kind, item.since)
                }
            };
            self.wrapped(&words, "  ");
            for held in &item.tasks {
                let by = held.task.by.as_ref().map_or_else(String::new, |by| format!("; by {by}"));
                self.wrapped(&format!("{}{by}", cause(&held.why)), "    ");
            }
            let cautions: BTreeSet<&String> =
                item.tasks.iter().flat_map(|held| &held.task.cautions).collect();
            for caution in cautions {
                self.caution(caution, "    ");
            }
            let instead = item.instead.iter().map(|other| match &other.model {
                Some(model) => format!("{} ({model})", other.item),
                None => other.item.clone(),
            });
            let instead: Vec<String> = instead.collect();
            let instead =
                if instead.is_empty() { "no clear item of its kind".to_owned() } else { instead.join(", ") };
            self.wrapped(&format!("instead: {instead}"), "    ");
        }
    }

    fn closing(&mut self, trip: &Trip) {
        if !trip.cautions.is_empty() || !trip.notes.is_empty() {
            self.text.push('\n');
        }
        for caution in &trip.cautions {
            self.caution(caution, "");
        }
        for note in &trip.notes {
            self.wrapped(&self::note(note), "note: ");
        }
    }
}

/// `: 3 in stock (SUP-01)`, `: comes along as TOR-01`.
fn stock(packed: &Packed) -> String {
    let ids: Vec<&str> = packed.at_hand.iter().map(|hand| hand.item.as_str()).collect();
    match packed.stock {
        Some(stock) if packed.short => format!(
            ": only {} in stock ({}), and {} may ask for it",
            grouped(&stock.to_string()),
            ids.join(", "),
            counted(packed.uses as usize, "task")
        ),
        Some(stock) => format!(": {} in stock ({})", grouped(&stock.to_string()), ids.join(", ")),
        None if ids.is_empty() => String::new(),
        None => format!(" ({})", ids.join(", ")),
    }
}
