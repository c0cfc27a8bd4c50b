//! People see a task as it was first spelled in the rules, whichever of its files that is in.

#![allow(clippy::unwrap_used, reason = "a test: a panic is its failure")]

use kitlore_engine::Program;
use kitlore_syntax::{Loaded, Loader, When, parse};
use kitlore_tests::case::{Question, read_items};
use kitlore_tests::evaluators::{book, engine_report};
use kitlore_tests::plain;

struct Files(&'static [(&'static str, &'static str)]);

impl Loader for Files {
    fn load(&self, path: &str, _: &str) -> Result<Loaded, String> {
        let file = self.0.iter().find(|(name, _)| *name == path).ok_or("not there")?;
        Ok(Loaded { name: path.to_owned(), text: file.1.to_owned() })
    }
}

/// The task of the only row, as both evaluators show it.
fn shown(rules: &str, files: &'static [(&'static str, &'static str)]) -> [String; 2] {
    let house = parse("house.lore", rules, &Files(files)).unwrap();
    let items = read_items("id,kind,received\nC1,camera,2026-01-01");
    let at = When::parse("2026-02-01").unwrap();
    let plain = plain::evaluate(&house, &items, &[], at, false);
    let program = Program::compile(house);
    let question = Question { items, ..Question::default() };
    let engine = engine_report(&mut book(&program, &question), program.when_is_over(at));
    [plain, engine].map(|report| report.rows.iter().map(|row| row.task.clone()).collect())
}

#[test]
fn a_task_is_shown_as_first_spelled_where_it_was_included() {
    const PARTS: &[(&str, &str)] = &[
        ("parts.lore", "for cameras\n  after 9 trips, inspect sensors\ninclude \"more.lore\"\n"),
        ("more.lore", "for cameras\n  after 8 trips, INSPECT SENSOR\n"),
    ];
    let own = "for cameras\n  after 90 days, Inspect Sensor\n";
    let before = format!("include \"parts.lore\"\n{own}");
    assert_eq!(shown(&before, PARTS), ["inspect sensors", "inspect sensors"]);
    let after = format!("{own}include \"parts.lore\"\n");
    assert_eq!(shown(&after, PARTS), ["Inspect Sensor", "Inspect Sensor"]);
    let within = format!("include \"more.lore\"\n{own}include \"parts.lore\"\n");
    assert_eq!(shown(&within, PARTS), ["INSPECT SENSOR", "INSPECT SENSOR"]);
}
