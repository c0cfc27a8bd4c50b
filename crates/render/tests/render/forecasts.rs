//! What a forecast rests on, in words.

use kitlore_engine::{Book, Entry, Item, Program, When};
use kitlore_planning::{Forecasts, Options, forecast};
use kitlore_render::words::{basis, too_little};

/// Five cameras, each used three times in the last four weeks, and what else `add` puts into the book.
fn ahead(rules: &str, cameras: u32, add: impl Fn(&mut Book)) -> Forecasts {
    let rules = Program::parse(rules).unwrap();
    let mut book = Book::new(&rules);
    for number in 0..cameras {
        let id = format!("C{number}");
        book.add_item(Item::new(&id, "camera").received("2026-01-01".parse().unwrap())).unwrap();
        for day in ["2026-02-03", "2026-02-12", "2026-02-21"] {
            book.record(Entry::new(day, "use").item(&id)).unwrap();
        }
    }
    add(&mut book);
    let at = rules.when_is_over(When::parse("2026-03-01").unwrap());
    forecast(&mut book, at, &Options { days: 365, ..Options::default() })
}

#[test]
fn what_it_rests_on_is_said_of_items_of_which_no_time_is_known() {
    let found = ahead("for cameras\n after 10 uses, look\n after 10 jumps, wipe", 5, |book| {
        book.add_item(Item::new("N1", "camera")).unwrap();
        book.add_item(Item::new("N2", "camera").received("2026-02-27".parse().unwrap())).unwrap();
    });
    let said = |item: &str| basis(&found.get(item, "look").unwrap().basis);
    assert_eq!(said("C1"), "uses: 3 in 4 weeks, and 6 others of its kind");
    assert_eq!(said("N1"), "uses: 6 others of its kind");
    assert_eq!(said("N2"), "uses: 0 in less than a week, and 6 others of its kind");
    let wipe = found.get("N1", "wipe").unwrap();
    assert_eq!(basis(&wipe.basis), "");
    assert_eq!(too_little(wipe).as_deref(), Some("too little to go by: jumps: no use known"));
}

#[test]
fn what_is_counted_is_named_as_the_rule_has_it() {
    let rules = "for cameras\n after 20 uses in dust (in sand count 3), look\n after every jump, wipe\n every 3 walks, air";
    let found = ahead(rules, 1, |book| {
        book.record(Entry::new("2026-02-25", "use").item("C0").condition("dust")).unwrap();
    });
    let said = |task: &str| too_little(found.get("C0", task).unwrap()).unwrap();
    assert_eq!(said("look"), "too little to go by: uses in dust (in sand count 3): 1 in 4 weeks");
    assert_eq!(said("wipe"), "too little to go by: every jump: 0 in 4 weeks");
    assert_eq!(said("air"), "too little to go by: every 3 walks: 0 in 4 weeks");
}
