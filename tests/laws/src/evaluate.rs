//! Houses, inventories and logs put together from pieces, with times and numbers from one end to the other.

use crate::answers::{answered, checked_json, json};
use arbitrary::{Result, Unstructured};
use kitlore_engine::{Program, When};
use kitlore_tests::case::Question;
use kitlore_tests::evaluators::{book, engine_report, house};
use kitlore_tests::plain::{self, ItemRow, LogRow};

const ZONES: [&str; 8] = [
    "UTC",
    "Europe/Lisbon",
    "America/St_Johns",
    "Pacific/Apia",
    "Australia/Lord_Howe",
    "Asia/Kathmandu",
    "Pacific/Kiritimati",
    "America/Sao_Paulo",
];
const DATES: [&str; 24] = [
    "0001-01-01",
    "0001-01-02",
    "0001-12-31",
    "1582-10-10",
    "1900-02-28",
    "1969-12-31",
    "1970-01-01",
    "2011-12-29",
    "2011-12-31",
    "2018-11-04",
    "2024-02-29",
    "2024-03-31",
    "2024-10-06",
    "2025-12-31",
    "2026-01-01",
    "2026-02-01",
    "2026-02-02",
    "2026-02-28",
    "2026-03-29",
    "2026-10-25",
    "9799-12-31",
    "9998-02-28",
    "9999-12-30",
    "9999-12-31",
];
const CLOCKS: [&str; 12] = [
    "",
    "",
    "",
    "T00:00",
    "T00:30",
    "T01:30:59.999999999",
    "T02:30",
    "T23:59:60",
    "T12:00Z",
    "T00:00+14:00",
    "T23:59-12:00",
    "T09:00+05:45",
];
const NUMBERS: [&str; 16] = [
    "0",
    "1",
    "2",
    "3",
    "12",
    "0.000001",
    "0.5",
    "20",
    "1,000",
    "500,000,000,000",
    "999,999,999,999.999999",
    "999,999,999,999",
    "-1",
    "-0.000001",
    "1,000,000,000,000",
    "1,5",
];
const COUNTS: [&str; 8] =
    ["1", "2", "3", "20", "0.5", "0.000001", "900,000,000,000", "999,999,999,999.999999"];
const LENGTHS: [&str; 12] = [
    "1 day",
    "2 days",
    "3 days",
    "1 week",
    "1 month",
    "12 months",
    "1 year",
    "4 years",
    "200 years",
    "2,400 months",
    "73,000 days",
    "10,435 weeks",
];
const USES: [&str; 5] = ["trip", "lens change", "frames", "release", "charge"];
const TASKS: [&str; 5] = ["inspect sensor", "clean sensor", "wipe body", "retire battery", "check strap"];
const CONDITIONS: [&str; 4] = ["dust", "sand", "rain", "salt air"];
const FINDINGS: [&str; 3] = ["dust", "fraying", "mould"];
const KINDS: [&str; 4] = ["camera", "rangefinder", "battery", "tripod"];
const WHOSE: [&str; 12] =
    ["C1", "C1", "C1", "C2", "C3", "", "", "bag", "M1", "cameras", "rangefinder", "nobody"];
const OTHER_EVENTS: [&str; 6] = ["void", "received", "in service", "retired", "finding", "wedding"];

/// Bytes that choose.
struct Choices<'a>(Unstructured<'a>);

impl Choices<'_> {
    fn of<'l>(&mut self, list: &[&'l str]) -> Result<&'l str> {
        self.0.choose(list).copied()
    }

    fn chance(&mut self, percent: u8) -> Result<bool> {
        self.0.ratio(percent, 100_u8)
    }

    fn up_to(&mut self, most: usize) -> Result<usize> {
        self.0.int_in_range(0..=most)
    }

    fn maybe(&mut self, percent: u8, list: &[&str]) -> Result<String> {
        Ok(if self.chance(percent)? { self.of(list)?.to_owned() } else { String::new() })
    }

    fn when(&mut self) -> Result<String> {
        Ok(format!("{}{}", self.of(&DATES)?, self.of(&CLOCKS)?))
    }

    fn conditions(&mut self) -> Result<String> {
        let [one, other] = [self.of(&CONDITIONS)?, self.of(&CONDITIONS)?];
        Ok(match self.up_to(5)? {
            0 => format!(" in {one}"),
            1 => format!(" in {one} or {other}"),
            2 => format!(" in {one} and {other}"),
            3 => format!(" not in {one} or {other}"),
            _ => String::new(),
        })
    }

    fn atom(&mut self) -> Result<String> {
        let (usage, task, length) = (self.of(&USES)?, self.of(&TASKS)?, self.of(&LENGTHS)?);
        Ok(match self.up_to(13)? {
            0 => format!("before every {usage}"),
            1 => format!("when {task} finds {}", self.of(&FINDINGS)?),
            2 => format!("when {} is found", self.of(&FINDINGS)?),
            3 => {
                let how = self.of(&["below", "above", "at least", "at most"])?;
                format!("when capacity is {how} {}{}", self.of(&["", "-"])?, self.of(&COUNTS)?)
            }
            4 => format!("when unused for {length}"),
            5 => self
                .of(&[
                    "on 2026-02-01",
                    "every year on 29 February",
                    "every month on day 31",
                    "every week on Sunday",
                    "every month on the last Friday",
                    "on 9999-12-31",
                ])?
                .to_owned(),
            6 => {
                let unless = self.of(&["", " unless charge", " unless a newer release or trip"])?;
                format!(
                    "{length} after each {}{unless}",
                    if unless.contains("newer") { "release" } else { usage }
                )
            }
            7 => format!("age {length}"),
            8 | 9 => format!("every {length}"),
            10 => format!("every {usage}{}", self.conditions()?),
            11 => format!("after {} {task}", self.of(&COUNTS)?),
            _ => {
                let weights =
                    self.of(&["", " (in dust count 3)", " (in dust count 0, in sand count 0.001)"])?;
                format!("after {} {usage}{}{weights}", self.of(&COUNTS)?, self.conditions()?)
            }
        })
    }

    fn trigger(&mut self) -> Result<String> {
        let mut text = self.atom()?;
        for _ in 0..self.up_to(2)? {
            let join = self.of(&["or", "and"])?;
            text = format!("{text} {join} {}", self.atom()?);
        }
        Ok(text)
    }

    fn rule(&mut self) -> Result<String> {
        let instead = if self.chance(8)? { "instead, " } else { "" };
        let mut text = format!("{instead}{}, {}", self.trigger()?, self.of(&TASKS)?);
        let length = self.of(&LENGTHS)?;
        match self.up_to(9)? {
            0 => text += &format!("; notice {length}"),
            1 => text += &format!("; notice 1 {}", self.of(&USES)?),
            2 => text += &format!("; allow {length}"),
            3 => text += &format!("; no later than {}", self.trigger()?),
            4 => text += "; do not use until done",
            5 => text += &format!("; at most every {length}"),
            6 => text += &format!("; within {length}"),
            _ => {}
        }
        Ok(text + "\n")
    }

    fn rules(&mut self) -> Result<String> {
        let mut text = format!("time zone {}\na rangefinder is a camera\n", self.of(&ZONES)?);
        if self.chance(30)? {
            text += &format!("count from {}\n", self.of(&DATES)?);
        }
        if self.chance(30)? {
            text += "clean sensor covers inspect sensor, wipe body\n";
        }
        for _ in 0..=self.up_to(4)? {
            match self.up_to(4)? {
                0 => text += &format!("for {}\n", self.of(&KINDS)?),
                1 => {
                    text += "for every item where maker is Tern or price is above 10 or received is after 2026-01-01\n"
                }
                _ => {}
            }
            text += &self.rule()?;
        }
        Ok(text)
    }

    fn item(&mut self, row: u32) -> Result<ItemRow> {
        Ok(ItemRow {
            row,
            id: self.of(&["C1", "C2", "C3"])?.to_owned(),
            kind: self.of(&KINDS)?.to_owned(),
            received: self.maybe(60, &DATES)?,
            in_service: self.maybe(20, &DATES)?,
            retired: self.maybe(8, &DATES)?,
            kit: self.maybe(30, &["bag", "bag;case"])?,
            model: self.maybe(20, &["M1"])?,
            attributes: vec![
                ("maker".to_owned(), self.maybe(30, &["Tern", "other"])?),
                ("price".to_owned(), self.maybe(30, &NUMBERS)?),
            ],
        })
    }

    fn entry(&mut self, row: u32) -> Result<LogRow> {
        let event = match self.up_to(9)? {
            0 | 1 => self.of(&TASKS)?,
            2 => self.of(&OTHER_EVENTS)?,
            3 => "capacity",
            _ => self.of(&USES)?,
        };
        Ok(LogRow {
            row,
            when: self.when()?,
            until: if self.chance(20)? { self.when()? } else { String::new() },
            item: self.of(&WHOSE)?.to_owned(),
            event: event.to_owned(),
            amount: self.maybe(25, &NUMBERS)?,
            reading: self.maybe(25, &NUMBERS)?,
            unit: self.maybe(5, &["frames", "percent"])?,
            conditions: self.maybe(30, &["dust", "sand", "rain;dust", "salt-air"])?,
            found: self.maybe(20, &FINDINGS)?,
            reference: self.maybe(15, &["e1", "e2", "e3"])?,
            id: self.maybe(20, &["e1", "e2", "e3"])?,
            by: String::new(),
            note: String::new(),
            expect: self.maybe(5, &["frames 800", "lens change 15; shoot 2", "much"])?,
        })
    }

    fn question(&mut self) -> Result<Question> {
        let mut question = Question { rules: self.rules()?, ..Question::default() };
        for row in (2..).take(1 + self.up_to(2)?) {
            question.items.push(self.item(row)?);
        }
        for row in (2..).take(self.up_to(12)?) {
            question.log.push(self.entry(row)?);
        }
        Ok(question)
    }
}

pub(crate) fn evaluate(data: &[u8]) {
    let mut choices = Choices(Unstructured::new(data));
    let Ok(question) = choices.question() else { return };
    let Ok(at) = choices.when() else { return };
    let Ok(at) = When::parse(&at) else { return };
    let Ok(house) = house(&question.rules) else { return };
    let program = Program::compile(house);
    let mut asked = book(&program, &question);
    let found = answered(&mut asked, program.when_is_over(at));
    checked_json(&found);
    // Another book of the same answers the same, also where it was asked on the way.
    let mut again = book(&program, &Question { log: Vec::new(), ..question.clone() });
    for row in &question.log {
        kitlore_tests::evaluators::record(&mut again, row);
        again.standings(program.when_is_over(at));
    }
    assert_eq!(json(&found), json(&again.standings(program.when_is_over(at))), "\n{question}");
    same_as_plain(&program, &question, at);
}

/// The plain evaluator gives the same rows.
pub(crate) fn same_as_plain(program: &Program, question: &Question, at: When) {
    let expected = plain::evaluate(program.house(), &question.items, &question.log, at, false).rows;
    let found = engine_report(&mut book(program, question), program.when_is_over(at)).rows;
    assert_eq!(
        expected, found,
        "the plain evaluator (left) and the engine (right) differ at {at} of\n{question}"
    );
}
