//! What the log as a whole has that cannot be used, whatever `at` is.

use crate::book::{Book, Noted};
use crate::cabinet::Stream;
use crate::filter_slips;
use crate::line::VOIDED;
use crate::names::Candidates;
use crate::names::Map;
use crate::problem::{Place, Problem};
use crate::program::EventInfo;
use kitlore_syntax::key;
use std::collections::{BTreeMap, BTreeSet};

/// Suggestions are looked for among this many different unknown names: enough for people.
pub(crate) const SUGGESTIONS: usize = 200;

/// So many names of the rules that the data never has are compared with those it has.
pub(crate) const NAMES: usize = 2_000;

/// The problems of entries, of corrections, of names. `applies` says for every kit, model or kind that
/// entries name which task events count for some member.
pub(crate) fn of_log(book: &Book, applies: &Map<u32, Vec<bool>>) -> Vec<Problem> {
    let is_in = |seq: &u32| !book.identities.is_out(*seq);
    let noted = book.noted.iter().filter_map(|noted| match noted {
        Noted::OfEntry(seq, problem) => is_in(seq).then_some(problem),
        Noted::ByHost(_, problem) => Some(problem),
    });
    let mut problems: Vec<Problem> = noted.cloned().collect();
    let voids = book.identities.problems().into_iter();
    problems.extend(voids.map(|(seq, problem)| problem.at(book.place(seq))));
    unknown_events(book, &mut problems);
    unknown_items(book, &mut problems);
    unknown_tasks(book, applies, &mut problems);
    slips(book, &mut problems);
    filter_slips::report(book, &mut problems);
    problems
}

impl Book {
    /// Names of the rules that nothing in the book has, each as first spelled in the rules and after its sort:
    /// `event`, `condition`, `finding`, `kind`, or `column` for what filters ask of items. Tasks are left out: that
    /// one was never done is no slip.
    ///
    /// ```
    /// use kitlore_engine::{Book, Item, Program};
    /// let rules = Program::parse("for bodies\n after 20 shoots in dust, inspect sensor").unwrap();
    /// let mut book = Book::new(&rules);
    /// book.add_item(Item::new("C1", "camera")).unwrap();
    /// assert_eq!(book.unused_names(), [("event", "shoots"), ("condition", "dust"), ("kind", "bodies")]);
    /// ```
    pub fn unused_names(&self) -> Vec<(&'static str, &str)> {
        let rules = self.program.inner();
        let is_task =
            |name: &str| rules.events.find(&key(name)).is_some_and(|event| rules.info(event).task.is_some());
        let mut unused = Vec::new();
        for sort in sorts(self) {
            let occurs =
                |name: &str| sort.in_data.contains_key(&key(name)) || sort.word == "event" && is_task(name);
            let never = sort.in_rules.iter().copied().filter(|name| !occurs(name));
            unused.extend(never.map(|name| (sort.word, name)));
        }
        unused.extend(filter_slips::unused_columns(self).into_iter().map(|name| ("column", name)));
        unused
    }
}

fn unknown_events(book: &Book, problems: &mut Vec<Problem>) {
    let candidates = Candidates::new(book.program.inner().all_names());
    let mut meant: Map<u32, Option<&str>> = Map::default();
    for (seq, event) in book.strangers.iter().filter(|(seq, _)| !book.identities.is_out(*seq)) {
        let text = book.events.text(*event);
        let room = meant.len() < SUGGESTIONS;
        let meant =
            *meant.entry(*event).or_insert_with(|| if room { candidates.closest(text) } else { None });
        let message =
            format!("no rule knows the event `{text}`; if it is right, declare it with an `events` line");
        problems.push(Problem::new("unknown-event", message).meant(meant).at(book.place(*seq)));
    }
}

/// Entries for a name that is no id, kit, model or kind of the inventory.
fn unknown_items(book: &Book, problems: &mut Vec<Problem>) {
    let strangers = book.cabinet.streams.iter().zip(0_u32..).filter(|(stream, _)| !names_items(book, stream));
    let strangers = strangers.filter(|(_, number)| !book.cabinet.lines(*number).is_empty());
    for (number, (stream, lines)) in strangers.enumerate() {
        let names = book.items.iter().map(|record| &*record.id);
        let names = names.chain(book.kits.iter().chain(&book.models).map(String::as_str));
        let names = names.chain(book.kinds.iter().map(|kind| &*kind.name));
        let meant = if number < SUGGESTIONS { closest_id(&stream.name, names) } else { None };
        for line in book.cabinet.lines(lines).iter().filter(|line| !line.is(VOIDED)) {
            let message = format!("the inventory has no item, kit, model or kind `{}`", stream.name);
            problems.push(Problem::new("unknown-item", message).meant(meant).at(book.place(line.seq)));
        }
    }
}

/// Whether a stream's name means some item of the inventory, or every item.
fn names_items(book: &Book, stream: &Stream) -> bool {
    let name = &*stream.name;
    if name.is_empty() || stream.item.is_some() || book.kits.contains(name) || book.models.contains(name) {
        return true;
    }
    let wanted = key(name);
    book.kinds.iter().any(|kind| kind.keys.contains(&wanted))
}

/// Ids are short and differ by a digit: only a difference of case, spaces or one letter is a slip.
fn closest_id<'a>(name: &str, candidates: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let plain = |text: &str| {
        text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect::<String>()
    };
    let wanted = plain(name);
    let limit = usize::from(wanted.chars().count() > 3);
    candidates
        .map(|candidate| (strsim::osa_distance(&wanted, &plain(candidate)), candidate))
        .filter(|(distance, _)| *distance <= limit)
        .min()
        .map(|(_, candidate)| candidate)
}

/// Completions for a kit, model or kind that count for none of its items.
fn unknown_tasks(book: &Book, applies: &Map<u32, Vec<bool>>, problems: &mut Vec<Problem>) {
    let program = book.program.inner();
    for (number, tasks) in applies {
        let Some(stream) = book.cabinet.stream(*number) else {
            continue;
        };
        for line in book.cabinet.lines(*number).iter().filter(|line| !line.is(VOIDED)) {
            let event = book.fact(line).event;
            let counts = tasks.get(event as usize).copied().unwrap_or(false);
            if program.info(event).task.is_some() && !counts {
                let problem = unknown_task(book.events.text(event), &stream.name);
                problems.push(problem.at(book.place(line.seq)));
            }
        }
    }
}

/// A completion that counts for none of the items it is for.
pub(crate) fn unknown_task(task: &str, item: &str) -> Problem {
    let whose = if item.is_empty() { "any item".to_owned() } else { format!("`{item}`") };
    let message = format!("no rule for `{task}` applies to {whose}; this entry does not count as done");
    Problem::new("unknown-task-for-item", message)
}

/// Names of one sort, in the rules and in the data.
struct Sort<'a> {
    /// What people call the sort.
    word: &'static str,
    /// The code for a name of the data that no rule knows and that looks like a slip.
    unknown: Option<&'static str>,
    in_rules: Vec<&'a str>,
    /// The keys of those.
    known: BTreeSet<String>,
    /// By key, with the spelling first met.
    in_data: BTreeMap<String, &'a str>,
}

impl Sort<'_> {
    /// The names of the data that the rules do not know as of this sort, and that are close to none they know.
    fn strangers(&self) -> Vec<&str> {
        let known = Candidates::new(self.in_rules.iter().copied());
        let unknown = self.in_data.iter().filter(|(used, _)| !self.known.contains(*used));
        let strange = unknown.take(SUGGESTIONS).filter(|(_, name)| known.closest(name).is_none());
        strange.map(|(_, name)| *name).collect()
    }
}

/// Names that look like slips of one another: in the rules and never in the data, or in the data and unknown
/// to the rules.
fn slips(book: &Book, problems: &mut Vec<Problem>) {
    let sorts = sorts(book);
    // What one sort knows, or is a slip of, is no slip of another.
    let strangers: Vec<Vec<&str>> = sorts.iter().map(Sort::strangers).collect();
    for (number, sort) in sorts.iter().enumerate() {
        let others = strangers.iter().enumerate().filter(|(other, _)| *other != number);
        let others = others.flat_map(|(_, names)| names.iter().copied());
        let data = Candidates::new(sort.in_data.values().copied().take(SUGGESTIONS).chain(others));
        let unseen = sort.in_rules.iter().filter(|name| !sort.in_data.contains_key(&key(name)));
        for name in unseen.take(NAMES) {
            let Some(meant) = data.closest(name) else { continue };
            let word = sort.word;
            let is_of =
                |(other, names): &(&Sort<'_>, &Vec<&str>)| other.word != word && names.contains(&meant);
            let other = sorts.iter().zip(&strangers).find(is_of).map(|(other, _)| other.word);
            let role = match other.filter(|_| !sort.in_data.values().any(|known| *known == meant)) {
                Some("event") => " as an event".to_owned(),
                Some(other) => format!(" as a {other}"),
                None => String::new(),
            };
            // What was probably meant is told behind it.
            let and = match role.is_empty() && meant != *name {
                true => String::new(),
                false => format!(", and `{meant}` does{role}"),
            };
            let message = format!("the {word} `{name}` of the rules never occurs in the data{and}");
            problems
                .push(Problem::new("never-seen", message).meant(Some(meant).filter(|meant| meant != name)));
        }
    }
    for sort in &sorts {
        let Some(code) = sort.unknown else { continue };
        let known = Candidates::new(sort.in_rules.iter().copied());
        let strange = sort.in_data.iter().filter(|(used, _)| !sort.known.contains(*used));
        let meant: BTreeMap<&str, &str> = strange
            .take(SUGGESTIONS)
            .filter_map(|(used, name)| Some((used.as_str(), known.closest(name)?)))
            .collect();
        let is_strange = |name: &str| meant.get(key(name).as_str()).copied();
        let spots = if meant.is_empty() { Vec::new() } else { occurrences(book, sort.word, &is_strange) };
        for (name, meant, place) in spots {
            let message = format!("no rule knows the {} `{name}`", sort.word);
            problems.push(Problem::new(code, message).meant(Some(meant)).at(place));
        }
    }
}

/// Where the data has a condition, finding or kind that was probably meant otherwise: the name, what was meant, the
/// place. What is taken out does not count.
fn occurrences<'b, 'm>(
    book: &'b Book,
    sort: &str,
    meant: &dyn Fn(&str) -> Option<&'m str>,
) -> Vec<(&'b str, &'m str, Option<Place>)> {
    if sort == "kind" {
        let of = |item: &'b crate::Item| Some((item.kind.as_str(), meant(&item.kind)?, item.place.clone()));
        return book.items.iter().filter_map(|record| of(&record.item)).collect();
    }
    let mut found = Vec::new();
    // A key is made once for a name and not for each entry.
    let mut met: Map<u32, Option<&'m str>> = Map::default();
    for line in book.cabinet.all_lines().filter(|line| !line.is(VOIDED)) {
        let fact = book.fact(line);
        let (names, ids) = match sort {
            "condition" => (&book.conditions, book.sets.list(fact.conditions)),
            _ => (&book.findings, book.extra(fact).map_or(&[][..], |extra| &extra.found)),
        };
        let mut known = |id: u32| *met.entry(id).or_insert_with(|| meant(names.text(id)));
        let strange = ids.iter().filter_map(|id| Some((names.text(*id), known(*id)?)));
        found.extend(strange.map(|(name, meant)| (name, meant, book.place(line.seq))));
    }
    found
}

fn sorts(book: &Book) -> Vec<Sort<'_>> {
    let program = book.program.inner();
    fn keyed<'a>(names: impl Iterator<Item = &'a str>) -> BTreeMap<String, &'a str> {
        names.map(|name| (key(name), name)).collect()
    }
    let events = book.seen.iter().zip(book.events.texts()).filter(|(seen, _)| **seen).map(|(_, text)| text);
    let conditions = book.sets.used().map(|condition| book.conditions.text(condition));
    let findings =
        book.extras.iter().flat_map(|extra| &extra.found).map(|finding| book.findings.text(*finding));
    let kinds = book.kinds.iter().flat_map(|kind| {
        let broader = kind.keys.iter().skip(1).map(String::as_str);
        std::iter::once(&*kind.name).chain(broader)
    });
    let is_common = |(info, _): &(&EventInfo, &str)| info.life.is_none();
    let events_in_rules = program.event_info.iter().zip(program.events.texts()).filter(is_common);
    let kinds_in_rules = program.house.rules.iter().flat_map(|rule| rule.section.kinds.iter().flatten());
    let mut kinds_in_rules: Vec<&str> = kinds_in_rules.map(|kind| kind.text.as_str()).collect();
    kinds_in_rules.sort_unstable();
    kinds_in_rules.dedup();
    let sort = |word, unknown, in_rules: Vec<_>, in_data| {
        let known = in_rules.iter().map(|name: &&str| key(name)).collect();
        Sort { word, unknown, in_rules, known, in_data }
    };
    vec![
        sort("event", None, events_in_rules.map(|(_, text)| text).collect(), keyed(events)),
        sort("condition", Some("unknown-condition"), program.conditions.texts().collect(), keyed(conditions)),
        sort("finding", Some("unknown-finding"), program.findings.texts().collect(), keyed(findings)),
        sort("kind", Some("unknown-kind"), kinds_in_rules, keyed(kinds)),
    ]
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a panic is a failed test")]

    use crate::{Book, Entry, Item, Program, When};

    /// All problems of a log of C1 and C17, in words.
    fn told(rules: &str, log: Vec<Entry>) -> Vec<String> {
        let rules = Program::parse(rules).unwrap();
        let mut book = Book::new(&rules);
        for id in ["C1", "C17", "C1703"] {
            book.add_item(Item::new(id, "camera")).unwrap();
        }
        log.into_iter().for_each(|entry| book.record(entry).unwrap());
        let found = book.standings(rules.when_is_over(When::parse("2026-02-08").unwrap()));
        found.problems().iter().map(ToString::to_string).collect()
    }

    fn of(item: &str) -> Entry {
        Entry::new("2026-02-07", "shoot").item(item)
    }

    #[test]
    fn ids_of_three_letters_or_fewer_are_only_taken_for_others_in_another_spelling() {
        let log = ["c-17", "C18", "C1704", "B2"].map(of).to_vec();
        assert_eq!(
            told("for cameras\n after 9 shoots, wipe body", log),
            [
                "the inventory has no item, kit, model or kind `c-17` (did you mean `C17`?)",
                "the inventory has no item, kit, model or kind `C18`",
                "the inventory has no item, kit, model or kind `C1704` (did you mean `C1703`?)",
                "the inventory has no item, kit, model or kind `B2`",
            ]
        );
    }

    #[test]
    fn a_name_that_stands_in_another_column_is_told_with_that_column() {
        let rules = "for cameras
  when inspect sensor finds dust or scratch, clean sensor
  after 9 shoots, inspect sensor";
        let never = "the finding `dust` of the rules never occurs in the data";
        let found = of("C1").found("scratch");
        let other = format!("{never}, and `dust` does as a condition");
        assert_eq!(told(rules, vec![found.clone().condition("dust")]), [other]);
        let both = told(rules, vec![found.found("dusk")]);
        assert_eq!(
            both,
            [
                format!("{never} (did you mean `dusk`?)"),
                "no rule knows the finding `dusk` (did you mean `dust`?)".to_owned()
            ]
        );
    }
}
