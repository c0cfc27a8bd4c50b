//! kitlore inside another program: rules and data in memory, entries one by one, standings at any time.
//!
//! `cargo run --example due_list`

use kitlore::{Book, Entry, Item, Rules, When, date};

const RULES: &str = r#"
for cameras
  after 20 lens changes in dust or 90 days, inspect sensor
    needs blower, plain bright wall
for batteries
  at age 12 months, retire battery; no later than age 24 months
    caution "Tape the contacts; a collection point, never the bin."
"#;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let rules = Rules::parse(RULES)?;
    let mut book = Book::new(&rules);
    book.add_item(Item::new("C1", "camera").received(date!(2026 - 01 - 10)))?;
    book.add_item(Item::new("B1", "battery").received(date!(2025 - 01 - 31)))?;
    for (day, changes) in [("2026-02-07", 12), ("2026-02-08", 8)] {
        book.record(Entry::new(day, "lens change").item("C1").amount(changes).condition("dust"))?;
        let at = rules.when_is_over(When::parse(day)?);
        println!("{day}");
        for row in book.standings(at).rows() {
            let due = row.due_at.map_or("-".to_owned(), |due| rules.local(due).date_naive().to_string());
            println!("  {:<8} {} {}: {due}", row.standing, row.item, row.task);
            for caution in row.cautions() {
                println!("           caution: {caution}");
            }
        }
    }
    Ok(())
}
