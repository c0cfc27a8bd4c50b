//! The evaluators in one form.

use crate::case::{Answer, At, Line, Question};
use crate::plain::clock::Instant;
use crate::plain::{self, ItemRow, LogRow, Problem, Report, Row, RuleRow};
use kitlore_engine::{Account, Book, Fields, Item, Number, Place, Program, Standings, Time};
use kitlore_syntax::tree::House;
use kitlore_syntax::{NoIncludes, When, parse, parse_date};
use std::collections::BTreeSet;
use std::num::NonZeroUsize;

/// The house of a rule text, or what is wrong with it.
pub fn house(rules: &str) -> Result<House, String> {
    parse("house.lore", rules, &NoIncludes).map_err(|d| d.to_string())
}

/// An `at` as written.
pub fn at_of(text: &str) -> When {
    When::parse(text).unwrap_or_else(|e| panic!("`{text}` {e}"))
}

/// An evaluator in the form the cases ask for.
fn answer(question: &Question, report: impl Fn(House) -> Report) -> Answer {
    match house(&question.rules) {
        Err(why) => Answer::Refused(why),
        Ok(house) => {
            let report = report(house);
            Answer::Rows(lines(&report), report.problems)
        }
    }
}

/// The plain evaluator.
pub fn plain(question: &Question, at: &At) -> Answer {
    answer(question, |house| plain_report(&house, question, at))
}

/// What the plain evaluator answers.
pub fn plain_report(house: &House, question: &Question, at: &At) -> Report {
    plain::evaluate(house, &question.items, &question.log, at_of(&at.when), at.now)
}

/// The engine.
pub fn engine(question: &Question, at: &At) -> Answer {
    answer(question, |house| {
        let program = Program::compile(house);
        let instant = program.when_is_over(at_of(&at.when));
        let mut book = book(&program, question);
        if at.now { engine_report_now(&mut book, instant) } else { engine_report(&mut book, instant) }
    })
}

/// The rows of a report as cases state them.
pub fn lines(report: &Report) -> Vec<Line> {
    let line = |row: &Row| Line {
        item: row.item.clone(),
        task: row.task.clone(),
        standing: row.standing.word().to_owned(),
        due_at: row.due_at,
        limit_at: row.limit_at,
        last_done: row.last_done,
    };
    report.rows.iter().map(line).collect()
}

/// The engine's book of a question.
pub fn book(program: &Program, question: &Question) -> Book {
    let mut book = Book::new(program);
    for row in &question.items {
        add_item(&mut book, row);
    }
    for row in &question.log {
        record(&mut book, row);
    }
    book
}

/// Hands an item of text columns to the engine, and reports what is wrong with it.
pub fn add_item(book: &mut Book, row: &ItemRow) {
    let place = Place::new("items", row.row);
    let mut bad_dates = Vec::new();
    let mut date = |text: &str| match text.trim() {
        "" => None,
        text => parse_date(text).map_err(|e| bad_dates.push(format!("`{text}` {e}"))).ok(),
    };
    let item = Item {
        id: row.id.clone(),
        kind: row.kind.clone(),
        received: date(&row.received),
        in_service: date(&row.in_service),
        retired: date(&row.retired),
        kits: vec![row.kit.clone()],
        model: Some(row.model.clone()).filter(|m| !m.is_empty()),
        attributes: row.attributes.clone(),
        place: Some(place.clone()),
    };
    for message in bad_dates {
        book.report(kitlore_engine::Problem::new("bad-time", message).at(Some(place.clone())));
    }
    if let Err(problem) = book.add_item(item) {
        book.report(problem);
    }
}

/// Hands a log row of text columns to the engine, and reports what is wrong with it.
pub fn record(book: &mut Book, row: &LogRow) {
    let source = book.source("log");
    let fields = Fields {
        when: Time::Text(&row.when),
        until: Time::Text(&row.until),
        event: &row.event,
        item: &row.item,
        amount: Number::Text(&row.amount),
        reading: Number::Text(&row.reading),
        unit: &row.unit,
        conditions: &row.conditions,
        found: &row.found,
        reference: &row.reference,
        id: &row.id,
        by: &row.by,
        note: &row.note,
        expect: &row.expect,
    };
    if let Err(problem) = book.record_fields(&fields, Some((source, row.row))) {
        book.report(problem);
    }
}

/// What the engine answers, in the form of the plain evaluator.
pub fn engine_report(book: &mut Book, at: kitlore_engine::Instant) -> Report {
    report(&book.standings(at))
}

/// As [`engine_report`], where the instant is now.
pub fn engine_report_now(book: &mut Book, now: kitlore_engine::Instant) -> Report {
    report(&book.standings_now(now, NonZeroUsize::MIN))
}

fn report(standings: &Standings) -> Report {
    let house = standings.program().house();
    let rule_row = |account: Account<'_>| RuleRow {
        rule: house.rules.iter().position(|r| r.span == account.rule.rule.span).unwrap(),
        standing: account.standing,
        due_at: utc(account.due_at),
        limit_at: utc(account.limit_at),
        late_at: utc(account.late_at),
        reached: parts(&account).map(|part| utc(part.reached_at)).collect(),
        counts: parts(&account).filter_map(|part| part.count).map(|count| count.to_string()).collect(),
    };
    let to_come = standings.awaited().map(|a| (a.item.to_owned(), a.there_from)).collect();
    let rows = standings.rows().map(|row| Row {
        item: row.item.to_owned(),
        kind: row.kind.to_owned(),
        task: row.task.to_owned(),
        standing: row.standing,
        due_at: utc(row.due_at),
        limit_at: utc(row.limit_at),
        last_done: utc(row.last_done),
        rules: row.rules().map(rule_row).collect(),
    });
    Report { rows: rows.collect(), to_come, problems: problems(standings.problems()), idle: BTreeSet::new() }
}

fn parts<'a>(account: &Account<'a>) -> impl Iterator<Item = kitlore_engine::Part<'a>> {
    account.parts().into_iter().chain(account.limit_parts())
}

fn utc(instant: Option<kitlore_engine::Instant>) -> Option<Instant> {
    instant.map(kitlore_engine::Instant::utc)
}

fn problems(list: &[kitlore_engine::Problem]) -> BTreeSet<Problem> {
    let place = |p: &Place| format!("{} {}", p.source, p.line);
    let problem = |p: &kitlore_engine::Problem| Problem {
        code: p.code.to_string(),
        place: p
            .place
            .as_ref()
            .filter(|p| ["log", "items"].contains(&&*p.source))
            .map_or("-".to_owned(), place),
    };
    list.iter().map(problem).collect()
}
