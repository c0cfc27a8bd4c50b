//! What an entry must not say without `--as-it-is`: names that nothing knows, work that is not done yet.

use super::entry::listed;
use crate::args::RecordArgs;
use crate::screen::plain;
use crate::stop::Stop;
use kitlore::fields::Time;
use kitlore::language::{closest, key};
use kitlore::render::did_you_mean;
use kitlore::{Book, Entry, Instant, Rules, When};

/// At most this many known names are listed.
const FEW: usize = 8;

/// Refuses an entry that would count for nothing, or too early, unless it is meant as it is.
pub(super) fn refuse(args: &RecordArgs, entry: &Entry, book: &Book, now: Instant) -> Result<(), Stop> {
    if args.as_it_is {
        return Ok(());
    }
    let rules = book.program();
    if let Some(finding) = listed(&args.found).find(|finding| !rules.knows_finding(finding)) {
        return Err(unknown("finding", finding, rules.findings().collect()));
    }
    let is_known = |name: &&str| rules.knows_condition(name) || book.has_condition(name);
    if let Some(condition) = listed(&args.conditions).find(|condition| !is_known(condition)) {
        return Err(unknown("condition", condition, rules.conditions().collect()));
    }
    let fields = entry.fields();
    let is_task = rules.house().rules.iter().any(|rule| rule.task.key == key(fields.event));
    if is_task && let Some(when) = later(fields.when, rules, now) {
        let event = plain(fields.event);
        return Err(Stop::Data(format!(
            "not recorded: `{event}` on {when} lies ahead, and would count as done; record it once it is done \
             (`--as-it-is` records it now)"
        )));
    }
    Ok(())
}

/// A time that lies ahead, as written.
fn later(when: Time<'_>, rules: &Rules, now: Instant) -> Option<When> {
    let Time::Text(text) = when else { return None };
    let when = When::parse(text).ok()?;
    let is_later = match when {
        When::Date(date) => date > rules.local(now).date_naive(),
        when => rules.when_is_over(when) > now,
    };
    is_later.then_some(when)
}

fn unknown(what: &str, name: &str, known: Vec<&str>) -> Stop {
    let meant = did_you_mean(closest(name, known.iter().copied()));
    let list: Vec<String> = known.iter().take(FEW).map(|name| format!("`{}`", plain(name))).collect();
    let more = if known.len() > FEW { ", ..." } else { "" };
    let known = match list.is_empty() {
        true => format!("they know no {what}"),
        false => format!("they know {}{more}", list.join(", ")),
    };
    let name = plain(name);
    Stop::Data(format!(
        "not recorded: the rules do not know the {what} `{name}`{meant}; {known} (`--as-it-is` records it all the same)"
    ))
}
