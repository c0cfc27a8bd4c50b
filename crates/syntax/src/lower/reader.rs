//! The lines of one file, one after the other: what each says, and what the next may belong to.

use super::detail::Seen;
use super::example_lines::Vocabulary;
use super::file::File;
use super::lowering::Lowering;
use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::limits;
use crate::lines::{self, Line};
use crate::misread::Missed;
use crate::name::{Name, key};
use crate::normalise::normalise;
use crate::parse::{self, Node, Part};
use crate::source::{SourceId, Span};
use crate::tree::{Covers, Details, Example, Filter, KindOf, Rule, Section, Test};
use std::sync::Arc;

impl Lowering<'_> {
    /// Reads a text with all it includes; `asked` is the place of the `include`.
    pub(crate) fn file(&mut self, name: &str, text: &str, asked: Option<Span>) {
        if text.len() > limits::FILE_BYTES {
            let id = self.house.sources.add(name, "", asked);
            self.codes.push("".into());
            self.lines.push(Vec::new());
            let mib = limits::FILE_BYTES / (1024 * 1024);
            let span = asked.unwrap_or(Span { source: id, start: 0, end: 0 });
            let message = format!("`{name}` is larger than {mib} MiB");
            self.report.push(
                Diagnostic::error(Code::FileTooLarge, span, message)
                    .help("split it into files that are included"),
            );
            return;
        }
        let text = normalise(text);
        let id = self.house.sources.add(name, &text, asked);
        let mut lines = lines::cut(&text, id);
        lines.mistakes.drain(..).for_each(|mistake| self.report.push(mistake));
        let code: Arc<str> = lines.code.into();
        self.codes.push(code.clone());
        self.lines.push(lines.list.iter().map(|line| line.range.clone()).collect());
        self.stack.push(name.to_owned());
        let mut reader = Reader::new(&code, id);
        for line in &lines.list {
            if self.report.is_full() || !reader.line(line, self) {
                break;
            }
        }
        self.stack.pop();
    }
}

/// What the next line may belong to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Open {
    /// Nothing: a detail here has no rule.
    Nothing,
    /// The last rule of the house.
    Rule,
    /// A rule that was not understood: its details are read for their own mistakes only.
    BrokenRule,
    /// The last example of the house.
    Example,
}

/// Reads one file's lines.
pub(super) struct Reader<'a> {
    file: File<'a>,
    section: Arc<Section>,
    open: Open,
}

impl<'a> Reader<'a> {
    /// At the beginning of a file: rules are for every item.
    pub(super) fn new(code: &'a str, id: SourceId) -> Self {
        Self { file: File { code, id }, section: Arc::default(), open: Open::Nothing }
    }

    /// Reads a line; `false` where no more should be read.
    pub(super) fn line(&mut self, line: &Line, to: &mut Lowering<'_>) -> bool {
        if line.broken {
            self.broken(line, to);
            return true;
        }
        if self.open == Open::Example
            && let Some(node) = parse::example_line(self.file.code, line)
        {
            self.example_line(&node, to);
            return true;
        }
        match parse::statement(self.file.code, line) {
            Some(node) => self.statement(&node, to),
            None => {
                let span = self.file.place(line.range.start, line.range.end);
                to.report.misread(self.file.id, Missed::Unreadable(span));
                true
            }
        }
    }

    /// A line that could not be read still decides what the next ones belong to.
    fn broken(&mut self, line: &Line, to: &mut Lowering<'_>) {
        let text = self.file.code.get(line.range.clone()).unwrap_or("");
        to.places.names_missing |= declares(text);
        let first = text.split_whitespace().next().unwrap_or("").to_ascii_lowercase();
        self.open = match first.as_str() {
            "for" => {
                self.section = Arc::default();
                Open::Nothing
            }
            "example" => {
                to.house.examples.push(example("", self.file.place(line.range.start, line.range.end)));
                Open::Example
            }
            _ if self.open == Open::Example => Open::Example,
            _ => Open::BrokenRule,
        };
    }

    fn statement(&mut self, node: &Node, to: &mut Lowering<'_>) -> bool {
        let file = self.file;
        let span = file.span(node);
        let before = std::mem::replace(&mut self.open, Open::Nothing);
        match node.part {
            Part::house => {
                if to.once("house", span) {
                    to.house.name = file.quoted(node, &mut to.report);
                }
            }
            Part::zone => self.zone(node, to),
            Part::include => self.include(node, to),
            Part::count_from => {
                if to.once("count from", span) {
                    to.house.count_from = node.part(Part::figure).and_then(|f| file.date(f, &mut to.report));
                }
            }
            Part::kind_of => {
                if let Some([narrower, broader]) = file.names(node, &mut to.report).as_deref() {
                    let kind = KindOf { narrower: narrower.clone(), broader: broader.clone() };
                    if to.has_room(to.house.kinds.len() + 1, span) {
                        to.house.kinds.push(kind);
                    }
                }
            }
            Part::declared => self.declared(node, to),
            Part::covers => {
                let task = node.part(Part::covering).and_then(|n| file.name(n, &mut to.report));
                let covered = file.names(node, &mut to.report);
                if let (Some(task), Some(covered)) = (task, covered) {
                    to.links += covered.len();
                    if to.has_room(to.links, span) {
                        to.house.covers.push(Covers { task, covered });
                    }
                }
            }
            Part::section => {
                let section = file.section(node, &mut to.report).unwrap_or_default();
                to.known.kinds.extend(section.kinds.iter().flatten().map(|k| k.key.clone()));
                if let Some(filter) = &section.filter {
                    collect(filter, &mut to.known);
                }
                self.section = Arc::new(section);
            }
            Part::example => {
                let title = file.quoted(node, &mut to.report).unwrap_or_default();
                to.house.examples.push(example(&title, span));
                self.open = Open::Example;
            }
            Part::rule => return self.rule(node, to),
            Part::details => self.details(node, before, to),
            _ => {
                to.places.names_missing |= declares(file.text(node));
                to.report.misread(file.id, Missed::Line(node.clone()));
                if has_comma(&file, node) || before == Open::Rule {
                    self.open = Open::BrokenRule;
                }
            }
        }
        true
    }

    fn zone(&self, node: &Node, to: &mut Lowering<'_>) {
        let Some(name) = node.part(Part::zone_name) else {
            return;
        };
        if !to.once("time zone", self.file.span(node)) {
            return;
        }
        let text = self.file.text(name);
        let found = chrono_tz::TZ_VARIANTS.iter().find(|z| z.name().eq_ignore_ascii_case(text));
        match found {
            Some(zone) => to.house.zone = *zone,
            None => {
                let span = self.file.span(name);
                to.report.misread(self.file.id, Missed::Zone { text: text.to_owned(), span });
            }
        }
    }

    fn declared(&self, node: &Node, to: &mut Lowering<'_>) {
        let Some(names) = self.file.names(node, &mut to.report) else {
            return;
        };
        let list = match node.first().map(|n| n.part) {
            Some(Part::k_events) => &mut to.house.events,
            Some(Part::k_conditions) => &mut to.house.conditions,
            _ => &mut to.house.findings,
        };
        list.get_or_insert_default().extend(names);
    }

    fn include(&self, node: &Node, to: &mut Lowering<'_>) {
        let Some(loader) = to.loader else {
            return;
        };
        let Some(path) = self.file.quoted(node, &mut to.report) else {
            return;
        };
        let span = node.part(Part::string).map_or(self.file.span(node), |s| self.file.span(s));
        let from = to.stack.last().cloned().unwrap_or_default();
        // Until it is read.
        let names_missing = std::mem::replace(&mut to.places.names_missing, true);
        let refuse = |message: String, help: &str| Diagnostic::error(Code::Include, span, message).help(help);
        match loader.load(&path, &from) {
            Err(why) => {
                let message = format!("`{path}` cannot be included: {why}");
                to.report.push(refuse(message, "check the path; it starts from the folder of this file"));
            }
            Ok(loaded) if to.stack.contains(&loaded.name) => {
                let way = to.stack.iter().skip_while(|n| **n != loaded.name);
                let way: Vec<String> = way.chain([&loaded.name]).map(|n| format!("`{n}`")).collect();
                let message = format!("files include each other in a loop: {}", way.join(" includes "));
                to.report.push(refuse(message, "remove one of these `include` lines"));
            }
            Ok(_) if to.stack.len() >= limits::INCLUDES || to.codes.len() >= limits::FILES => {
                let message = format!("with `{path}` the house has too many files");
                let help = "a house has at most 1000 files, and at most 32 that include one another in a row";
                to.report.push(refuse(message, help));
            }
            Ok(loaded) => {
                to.places.names_missing = names_missing;
                to.file(&loaded.name, &loaded.text, Some(span));
            }
        }
    }

    fn rule(&mut self, node: &Node, to: &mut Lowering<'_>) -> bool {
        if to.house.rules.len() >= limits::RULES {
            let message =
                format!("this is rule {}; a house has at most {}", limits::RULES + 1, limits::RULES);
            let error = Diagnostic::error(Code::TooManyRules, self.file.span(node), message);
            to.report.push(error.help("split the house, or write one rule for several kinds"));
            return false;
        }
        self.open = Open::BrokenRule;
        let file = self.file;
        if node.has(Part::k_instead) && !node.has(Part::instead_comma) {
            to.report.misread(file.id, Missed::Instead(node.clone()));
        }
        let trigger = node.part(Part::trigger);
        let trigger = trigger.and_then(|t| file.trigger(t, &mut to.report));
        let task = self.task(node, to);
        let (mut details, mut seen) = (Details::default(), Seen::new());
        for detail in node.all(Part::detail) {
            file.detail(detail, &mut details, &mut seen, &mut to.report);
        }
        let (Some(trigger), Some(task)) = (trigger, task) else {
            return true;
        };
        to.house.rules.push(Rule {
            section: self.section.clone(),
            instead: node.has(Part::k_instead),
            trigger,
            task,
            details,
            span: file.span(node),
        });
        to.places.details.push(seen);
        self.open = Open::Rule;
        true
    }

    fn task(&self, node: &Node, to: &mut Lowering<'_>) -> Option<Name> {
        let task = node.part(Part::task).and_then(Node::first);
        match task {
            Some(name) if name.part == Part::name => self.file.name(name, &mut to.report),
            Some(bad) => {
                to.report.misread(self.file.id, Missed::Task(bad.clone()));
                None
            }
            None => {
                // A trigger with a mistake of its own may have swallowed the task.
                if !node.part(Part::trigger).is_some_and(|t| holds(t, Part::bad_atom)) {
                    to.report.misread(self.file.id, Missed::NoTask(node.clone()));
                }
                None
            }
        }
    }

    fn details(&mut self, node: &Node, before: Open, to: &mut Lowering<'_>) {
        self.open = before;
        let (mut spare, mut spare_seen) = (Details::default(), Seen::new());
        let (details, seen) = match (before, to.house.rules.last_mut(), to.places.details.last_mut()) {
            (Open::Rule, Some(rule), Some(seen)) => {
                rule.span = rule.span.to(self.file.span(node));
                (&mut rule.details, seen)
            }
            (Open::BrokenRule, ..) => (&mut spare, &mut spare_seen),
            _ => {
                to.report.misread(self.file.id, Missed::DetailWithoutRule(node.clone()));
                return;
            }
        };
        for detail in node.all(Part::detail) {
            self.file.detail(detail, details, seen, &mut to.report);
        }
    }

    fn example_line(&self, node: &Node, to: &mut Lowering<'_>) {
        let number = to.house.examples.len().saturating_sub(1);
        let file = self.file;
        match node.part {
            Part::item => to.items.push((number, node.clone(), file.id)),
            Part::entry => {
                let entry = file.entry(node, &mut to.report);
                if let (Some(entry), Some(example)) = (entry, to.house.examples.last_mut()) {
                    example.entries.push(entry);
                }
            }
            Part::claim => {
                let claim = file.claim(node, &mut to.report);
                if let (Some(claim), Some(example)) = (claim, to.house.examples.last_mut()) {
                    example.claims.push(claim);
                }
            }
            _ => to.report.misread(file.id, Missed::ExampleLine(node.clone())),
        }
    }
}

/// Whether a statement that could not be read was to declare names.
fn declares(text: &str) -> bool {
    let first = text.split_whitespace().next().unwrap_or("");
    ["events", "conditions", "findings", "include"].iter().any(|word| first.eq_ignore_ascii_case(word))
}

/// An example block that has no lines yet.
fn example(title: &str, span: Span) -> Example {
    Example { title: title.to_owned(), span, items: Vec::new(), entries: Vec::new(), claims: Vec::new() }
}

/// Whether a form occurs anywhere in a node.
fn holds(node: &Node, part: Part) -> bool {
    node.part == part || node.parts.iter().any(|n| holds(n, part))
}

/// The attributes a filter asks, and the kinds it names.
fn collect(filter: &Filter, known: &mut Vocabulary) {
    match filter {
        Filter::All(parts) | Filter::Any(parts) => parts.iter().for_each(|p| collect(p, known)),
        Filter::Test { attribute, test } => {
            if let (Test::Is(value) | Test::IsNot(value), "kind") = (test, attribute.key.as_str()) {
                known.kinds.insert(key(value));
            }
            known.attributes.insert(attribute.key.clone());
        }
    }
}

/// Whether a line that was not understood has a comma: it is a rule then, and details may follow it.
fn has_comma(file: &File<'_>, node: &Node) -> bool {
    match node.parts.as_slice() {
        [] => file.text(node) == ",",
        _ if node.part == Part::bracket => false,
        parts => parts.iter().any(|part| has_comma(file, part)),
    }
}
