//! What missed which form, and two forms that fit; and, where a correction was found, what it corrects.

use super::names;
use super::rewrite::Why;
use super::tokens::{DETAILS, Line, STARTS};
use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::lexicon::{number_of, unit_of};
use crate::lower::File;
use crate::misread::{Misread, Missed};
use crate::parse::Node;
use crate::source::Span;
use crate::tree::House;
use std::ops::Range;

/// What a diagnostic says of a line that only missed its form; a correction says more.
const GENERAL: [Code; 13] = [
    Code::BadExampleLine,
    Code::BadFilter,
    Code::BadSection,
    Code::DurationWithCondition,
    Code::MissingTask,
    Code::NumberMissing,
    Code::PartWithoutNumber,
    Code::SeveralTasks,
    Code::UnknownComparison,
    Code::UnknownDetail,
    Code::UnknownStatement,
    Code::UnknownTask,
    Code::UnknownTrigger,
];

/// Has a diagnostic of a line that missed its form say what the correction corrects first.
pub(super) fn says(diagnostic: &mut Diagnostic, whys: &[Why], line: &Line<'_>) {
    if !GENERAL.contains(&diagnostic.code) {
        return;
    }
    let place = |why: &Why| {
        let place = line.place(why.at.clone());
        line.file().place(place.start, place.end)
    };
    let within =
        |why: &&Why| place(why).start >= diagnostic.span.start && place(why).start < diagnostic.span.end;
    let Some(why) = whys.iter().find(within).or_else(|| whys.first()) else { return };
    diagnostic.code = why.code;
    diagnostic.message.clone_from(&why.message);
    diagnostic.span = place(why);
}

/// The diagnostic for something that was misread.
pub(crate) fn explain(misread: &Misread, code: &str, house: &House) -> Diagnostic {
    let file = File { code, id: misread.file };
    let of = |node: &Node| Line::of(file, node.start..node.end);
    match &misread.missed {
        Missed::Line(node) => statement(&of(node)),
        Missed::Unreadable(span) => {
            Diagnostic::error(Code::UnknownStatement, *span, "this line cannot be read").help(RULES)
        }
        Missed::Instead(node) => {
            let message = "a comma is missing after `instead`";
            let word = node.first().map_or_else(|| file.span(node), |word| file.span(word));
            Diagnostic::error(Code::MissingComma, word, message)
                .help("write `instead, after 20 trips, wipe body`")
        }
        Missed::Task(node) => task(&of(node), code),
        Missed::NoTask(node) => no_task(&file, node),
        Missed::Detail(node) => detail(&of(node), code, node),
        Missed::DetailWithoutRule(node) => {
            let message = format!("`{}` is a detail, and there is no rule before it", of(node).raw(0));
            let help =
                "put it after its rule: `after 90 days, inspect sensor`, and the detail on the next line";
            Diagnostic::error(Code::DetailWithoutRule, of(node).whole(), message).help(help)
        }
        Missed::ExampleLine(node) => example(&of(node)),
        Missed::Atom(node) => atom(&of(node)),
        Missed::CountingWord { atom: node } => {
            let line = of(node);
            let message = format!(
                "`{}` does not count: numbers are written in digits",
                short(&line.text(0..line.len()))
            );
            Diagnostic::error(Code::NumberInWords, line.whole(), message)
                .help("write for example `after 2 trips` or `every 2 weeks`")
        }
        Missed::Zone { text, span } => names::zone(text, *span),
        Missed::Undeclared { name, what } => names::undeclared(name, what, house),
        Missed::NoticeOfNothing { rule, count, name, span } => {
            names::notice_of_nothing(house.rules.get(*rule), *count, name, *span)
        }
    }
}

const RULES: &str =
    "a rule looks like `after 20 trips, inspect strap` or `every year on 1 March, grease spigot`";
const TRIGGERS: &str = "write for example `after 20 trips` or `after 90 days`";
const DATES: &str = "write for example `every year on 1 March`, `every month on day 15` or `on 2026-03-01`";

/// A line that no form takes.
fn statement(line: &Line<'_>) -> Diagnostic {
    let error = |code, message: &str, help: &str| Diagnostic::error(code, line.whole(), message).help(help);
    match line.low(0) {
        "for" => section(line),
        word @ ("house" | "include" | "example") => {
            let message = format!("`{word}` is followed by a text in quotes, and nothing else");
            let text = if word == "include" { "shared.lore" } else { "Foxglove Light" };
            error(Code::QuotesMissing, &message, &format!("write for example `{word} \"{text}\"`"))
        }
        "time" | "timezone" => error(
            Code::UnknownStatement,
            "a time zone is written as `time zone` and its name",
            "write for example `time zone Europe/Lisbon` or `time zone UTC`",
        ),
        "count" => error(
            Code::UnknownStatement,
            "`count from` is followed by a date",
            "write for example `count from 2026-01-01`",
        ),
        "a" | "an" => error(
            Code::UnknownStatement,
            "a statement that begins with `a` names two kinds",
            "write for example `a rangefinder is a camera`",
        ),
        word @ ("events" | "conditions" | "findings") => {
            let message = format!("`{word}` is followed by names with commas between them");
            let names = if word == "events" { "trip, shoot" } else { "dust, sand" };
            error(Code::UnknownStatement, &message, &format!("write for example `{word} {names}`"))
        }
        "or" | "and" => error(
            Code::UnknownStatement,
            &format!("`{}` continues a trigger, and none is open", line.low(0)),
            "end the line above with `or` or `and`, and go on here without it",
        ),
        _ if line.find("covers").is_some() => error(
            Code::UnknownStatement,
            "`covers` stands between a task and the tasks that are done with it",
            "write for example `clean sensor covers inspect sensor`",
        ),
        _ if line.find(",").is_none() && line.len() <= 2 => {
            let message = format!("`{}` is not the beginning of a statement", line.raw(0));
            Diagnostic::error(Code::UnknownStatement, line.at(0), message)
                .help("write for example `for cameras` for a section, or a rule such as `after 20 trips, inspect strap`")
        }
        _ => {
            let message = format!("`{}` is not the beginning of a statement", line.raw(0));
            Diagnostic::error(Code::UnknownStatement, line.at(0), message).help(RULES)
        }
    }
}

/// A section that missed its form.
fn section(line: &Line<'_>) -> Diagnostic {
    match line.find("where") {
        Some(place) => {
            let message = "what follows `where` is not a condition on the items";
            let span = line.span(place..line.len());
            Diagnostic::error(Code::BadFilter, span, message)
                .help("write for example `where maker is \"third party\"` or `where slots is above 1`")
        }
        None => Diagnostic::error(Code::BadSection, line.whole(), "`for` is followed by kinds of items")
            .help("write for example `for cameras and lenses`, or `for every item`; the rules follow on lines of their own"),
    }
}

/// A part of a trigger that has none of the forms.
fn atom(line: &Line<'_>) -> Diagnostic {
    let shown = short(&line.text(0..line.len()));
    let error = |code, span, message: String, help: &str| Diagnostic::error(code, span, message).help(help);
    let lead = usize::from(matches!(line.low(0), "after" | "every" | "each" | "at" | "before"));
    let figure = lead + usize::from(line.low(lead) == "age");
    let joint = (lead..line.len()).find(|i| matches!(line.low(*i), "or" | "and"));
    let vague = ["few", "several", "some", "many", "couple", "half"];
    if let Some(word) = (lead..line.len().min(lead + 2))
        .find(|i| vague.contains(&line.low(*i)) || number_of(line.low(*i)).is_some())
    {
        let message = format!("`{}` is not a number in digits", line.raw(word));
        return error(Code::NumberInWords, line.at(word), message, TRIGGERS);
    }
    if line.is_figure(figure)
        && unit_of(line.low(figure + 1)).is_some()
        && matches!(line.low(figure + 2), "in" | "not" | "(")
    {
        let message =
            format!("`{}` is a length of time and takes no conditions", line.text(figure..figure + 2));
        return error(
            Code::DurationWithCondition,
            line.span(figure + 2..line.len()),
            message,
            "write the time alone, or count uses: `after 20 trips in dust`",
        );
    }
    if figure > lead && line.is_figure(figure) {
        return unit(line, figure, "write for example `at age 12 months` or `at age 2 years`");
    }
    if line.is_figure(lead) && matches!(line.low(lead + 1), "hour" | "hours" | "minute" | "minutes") {
        let message = format!("`{}` is not a unit of time", line.raw(lead + 1));
        return error(
            Code::UnknownUnit,
            line.at(lead + 1),
            message,
            "the shortest is a day: `1 day after each trip` or `after 2 days`",
        );
    }
    if line.is_figure(lead) && line.len() == lead + 1 {
        let message = format!("`{}` of what?", line.raw(lead));
        let help = format!("write for example `after {0} trips` or `after {0} days`", line.raw(lead));
        return error(Code::UnknownTrigger, line.at(lead), message, &help);
    }
    if let Some(bracket) = line.find("(").filter(|at| *at > lead) {
        return error(
            Code::BadWeight,
            line.span(bracket..line.len()),
            "what stands in these brackets is no weight".to_owned(),
            "write for example `after 60 shoots (in sand count 3)`, several with commas between",
        );
    }
    if line.is_figure(lead)
        && let Some(joint) = joint
    {
        let what = line.text(joint + 1..line.len());
        return match what.is_empty() || (lead..joint).any(|i| line.low(i) == "in") {
            true => error(
                Code::MixedList,
                line.span(joint..line.len()),
                format!("`{}` does not go on with the list before it", line.text(joint..line.len())),
                "a list is joined by `or` alone or by `and` alone: `after 20 trips in dust or sand`",
            ),
            false => error(
                Code::PartWithoutNumber,
                line.span(joint..line.len()),
                format!(
                    "`{what}` does not begin a new part of the trigger: a number or a word such as `after` is missing"
                ),
                "write for example `after 20 trips or after 5 shoots`",
            ),
        };
    }
    match line.low(0) {
        "when" if line.find("is").is_some() && (0..line.len()).any(|i| line.is_figure(i)) => error(
            Code::UnknownComparison,
            line.whole(),
            format!("`{shown}` is not how a reading is compared"),
            "write for example `when capacity is below 80 percent` or `when heat is at least 40`",
        ),
        "when" if line.low(1) == "unused" => unit(line, 3, "write for example `when unused for 60 days`"),
        "when"
            if (2..line.len())
                .any(|i| matches!(line.low(i), "reaches" | "hits" | "passes") && line.is_figure(i + 1)) =>
        {
            error(
                Code::UnknownTrigger,
                line.whole(),
                format!("`{shown}` has none of the forms of `when`"),
                "what the log counts is written `after 50,000 frames`; a reading, `when shutter count is at least 50,000`",
            )
        }
        "when" if line.len() == 2 => error(
            Code::UnknownTrigger,
            line.whole(),
            format!("`{shown}` has none of the forms of `when`"),
            "what happens is written `every drop`, as the log names it; what is seen, `when damage is found`",
        ),
        "when" => error(
            Code::UnknownTrigger,
            line.whole(),
            format!("`{shown}` has none of the forms of `when`"),
            "write for example `when inspect strap finds fraying` or `when capacity is below 80 percent`",
        ),
        "before" => error(
            Code::UnknownTrigger,
            line.whole(),
            format!("`{shown}` does not name a planned event"),
            "write for example `before every trip` or `before every trip in sand`",
        ),
        "on" => error(Code::BadDate, line.whole(), format!("`{shown}` is not how a date is written"), DATES),
        "every" | "each" if line.find("on").is_some() => {
            error(Code::BadDate, line.whole(), format!("`{shown}` is not how a date is written"), DATES)
        }
        "after" | "at" if line.len() > 1 && !line.is_figure(1) && line.find("age").is_none() => error(
            Code::NumberMissing,
            line.at(0),
            format!("a number is missing after `{}`", line.raw(0)),
            "write how many, as in `after 20 trips`, or `after every trip` for each single time",
        ),
        _ => error(
            Code::UnknownTrigger,
            line.whole(),
            format!("`{shown}` says neither how often nor when"),
            TRIGGERS,
        ),
    }
}

/// A length of time whose unit is none, or is missing.
fn unit(line: &Line<'_>, figure: usize, help: &str) -> Diagnostic {
    if !line.is_figure(figure) {
        let message = format!("a length of time is missing in `{}`", short(&line.text(0..line.len())));
        return Diagnostic::error(Code::UnknownTrigger, line.whole(), message).help(help);
    }
    if unit_of(line.low(figure + 1)).is_some() {
        let message = format!("`{}` does not end with its length of time", short(&line.text(0..line.len())));
        return Diagnostic::error(Code::UnknownTrigger, line.whole(), message).help(help);
    }
    let (message, place) = match line.raw(figure + 1) {
        "" => (format!("`{}` of what? a unit of time is missing", line.raw(figure)), figure),
        word => (format!("`{word}` is not a unit of time"), figure + 1),
    };
    Diagnostic::error(Code::UnknownUnit, line.at(place), message).help(help)
}

/// A task that is not a name.
fn task(line: &Line<'_>, code: &str) -> Diagnostic {
    let before = code.get(..line.range.start).unwrap_or("");
    let blank = before.get(before.trim_end().len()..).unwrap_or("");
    if blank.contains('\n') {
        let comma = before.trim_end().len().saturating_sub(1);
        let message = "the task is missing after the comma, and the next line is taken for it";
        return Diagnostic::error(Code::MissingTask, line.file().place(comma, comma + 1), message)
            .help("write what is to be done after the comma, or leave the comma out");
    }
    let begins = line.is_figure(0) || STARTS.contains(&line.low(0));
    if begins && line.find(",").is_some() {
        let message = "a part of a trigger is no task: parts are joined by `or` or `and`, and one comma comes before the task";
        return Diagnostic::error(Code::UnknownTask, line.whole(), message)
            .help("write for example `after 20 trips or 90 days, wipe body` or `after 20 trips and 90 days, wipe body`");
    }
    let joint = (1..line.len()).find(|i| matches!(line.low(*i), "," | "and" | "or"));
    match joint {
        Some(joint) if joint + 1 < line.len() => {
            Diagnostic::error(Code::SeveralTasks, line.at(joint), "a rule has one task")
                .help("write a rule for each of them; or, if it is one task, put its whole name in quotes")
        }
        _ => {
            let message = format!("`{}` is not a task", short(&line.text(0..line.len())));
            Diagnostic::error(Code::UnknownTask, line.whole(), message)
                .help("write what is to be done, as in `after 20 trips, wipe body`; a name with other signs is put in quotes")
        }
    }
}

/// A rule that ends without a task.
fn no_task(file: &File<'_>, node: &Node) -> Diagnostic {
    let line = Line::of(*file, node.start..node.end);
    let span = match line.find(",").filter(|_| !line.is_figure(line.len())) {
        Some(comma) => line.at(comma),
        None => line.whole(),
    };
    let help =
        format!("write a comma and the task after the trigger, as in `{}, inspect strap`", "after 20 trips");
    Diagnostic::error(Code::MissingTask, span, "this rule says when, but not what is to be done").help(help)
}

/// A detail that has none of the forms.
fn detail(line: &Line<'_>, code: &str, node: &Node) -> Diagnostic {
    if line.len() == 0 {
        // The `;` before it is what can be seen.
        let before = code.get(..node.start).and_then(|text| text.rfind(';')).unwrap_or(node.start);
        let span = line.file().place(before, before + 1);
        return Diagnostic::error(Code::UnknownDetail, span, "nothing follows `;`")
            .help("write a detail after it, or remove it");
    }
    let error = |code, message: String, help: &str| Diagnostic::error(code, line.whole(), message).help(help);
    let shown = short(&line.text(0..line.len()));
    let is_length =
        |at: usize| line.is_figure(at) && (line.len() == at + 1 || unit_of(line.low(at + 1)).is_none());
    let form = match line.low(0) {
        "within" => "within 3 days",
        "notice" => "notice 14 days` or `notice 2 trips",
        "allow" => "allow 3 days",
        "no" => "no later than 24 months",
        "do" => "do not use until done",
        "at" => "at most every 30 days",
        "needs" => "needs blower, \"swabs, 24 mm\"",
        "takes" => "takes 10 minutes` or `takes 2 hours",
        "by" => "by \"an authorised workshop\"",
        "because" => "because \"salt eats brass\"",
        "caution" => "caution \"charged battery only\"",
        _ => "",
    };
    let help = format!("write for example `{form}`");
    match line.low(0) {
        "within" | "allow" | "notice" if is_length(1) => unit(line, 1, &help),
        "takes" if (2..line.len()).any(|i| line.is_figure(i)) => error(
            Code::UnknownDetail,
            "a time of work has one number and one unit".to_owned(),
            "write it in minutes, as in `takes 90 minutes`",
        ),
        "takes" if is_length(1) => {
            let mut unit = unit(line, 1, &help);
            unit.message = unit.message.replace("a unit of time", "`minutes` or `hours`");
            unit
        }
        "by" | "because" | "caution" if !line.raw(1).starts_with('"') => {
            error(Code::QuotesMissing, format!("`{}` is followed by a text in quotes", line.low(0)), &help)
        }
        word if DETAILS.contains(&word) => {
            error(Code::UnknownDetail, format!("`{shown}` is not how this detail is written"), &help)
        }
        _ => {
            let message = format!("`{}` is not the beginning of a detail", line.raw(0));
            let help = "details are `within`, `notice`, `allow`, `no later than`, `do not use until done`, `at most every`, \
                        `needs`, `takes`, `by`, `because` and `caution`; another rule begins on its own line";
            Diagnostic::error(Code::UnknownDetail, line.at(0), message).help(help)
        }
    }
}

/// A line of an example block that has none of the three forms.
fn example(line: &Line<'_>) -> Diagnostic {
    let message = format!("`{}` has none of the forms of an example line", short(&line.text(0..line.len())));
    let help = match line.low(0) {
        "on" => {
            "write for example `on 2026-02-08 C1 inspect sensor is due` or `on 2026-02-08 C1 inspect sensor is due since 2026-02-01`"
        }
        _ if line.is_figure(0) => {
            "write a date, an item's id, an event, and what belongs to it: `2026-02-07 C1 lens change 12 in dust` or \
                                   `2026-02-07 C1 frames reading 300 frames ref \"v1\"`"
        }
        _ => {
            "write an item `camera C1 received 2026-01-10`, an entry `2026-02-07 C1 lens change 12 in dust` or a claim \
              `on 2026-02-08 C1 inspect sensor is due`"
        }
    };
    Diagnostic::error(Code::BadExampleLine, line.whole(), message).help(help)
}

impl Line<'_> {
    fn len(&self) -> usize {
        self.tokens.len()
    }

    fn raw(&self, i: usize) -> &str {
        self.tokens.get(i).map_or("", |token| &token.text)
    }

    fn low(&self, i: usize) -> &str {
        self.tokens.get(i).map_or("", |token| token.low.trim_end_matches('.'))
    }

    fn is_figure(&self, i: usize) -> bool {
        self.tokens.get(i).is_some_and(super::tokens::Token::is_figure)
    }

    fn find(&self, word: &str) -> Option<usize> {
        (0..self.len()).find(|i| self.low(*i) == word)
    }

    fn text(&self, range: Range<usize>) -> String {
        super::tokens::joined(self.tokens.get(range).unwrap_or(&[]))
    }

    fn span(&self, range: Range<usize>) -> Span {
        let place = self.place(range);
        self.file().place(place.start, place.end)
    }

    /// The place of a token, or of all.
    fn at(&self, i: usize) -> Span {
        if i < self.len() { self.span(i..i + 1) } else { self.whole() }
    }

    /// The place of all, on its first line.
    fn whole(&self) -> Span {
        let span = self.file().place(self.range.start, self.range.end);
        let text = self.file().code.get(self.range.clone()).unwrap_or("");
        let first = text.lines().next().map_or(0, |line| line.trim_end().len());
        Span { end: span.start + u32::try_from(first).unwrap_or(0), ..span }
    }
}

/// A text cut off where it gets long.
fn short(text: &str) -> String {
    const MOST: usize = 100;
    match text.chars().nth(MOST) {
        Some(_) => text.chars().take(MOST).chain("…".chars()).collect(),
        None => text.to_owned(),
    }
}
