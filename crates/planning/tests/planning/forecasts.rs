//! What forecasts must hold, on small houses.

use chrono::{Days, NaiveDate};
use kitlore_engine::{Book, Entry, Item, Program, When};
use kitlore_planning::{Basis, Forecasts, KnownUse, Options, Plan, forecast};

fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// A camera C1 and some others, used once every `every` days over the year before 2026-03-01.
fn house(rules: &str, cameras: usize, every: u64) -> Book {
    let rules = Program::parse(rules).unwrap();
    let mut book = Book::new(&rules);
    for number in 1..=cameras {
        let id = format!("C{number}");
        book.add_item(Item::new(&id, "camera").received(date("2025-03-01"))).unwrap();
        let mut day = date("2025-03-02") + Days::new(number as u64);
        while day <= date("2026-03-01") {
            book.record(Entry::new(day, "use").item(&id)).unwrap();
            day = day + Days::new(every);
        }
        book.record(Entry::new("2026-03-01T20:00:00", "look").item(&id)).unwrap();
    }
    book
}

fn ahead(book: &mut Book, options: &Options) -> Forecasts {
    let at = book.program().when_is_over(When::Date(date("2026-03-01")));
    forecast(book, at, options)
}

fn year() -> Options {
    Options { days: 365, ..Options::default() }
}

#[test]
fn a_new_item_borrows_from_others_of_its_kind() {
    let mut book = house("for cameras\n after 10 uses, look", 4, 3);
    book.add_item(Item::new("N1", "camera").received(date("2026-02-26"))).unwrap();
    let found = ahead(&mut book, &year());
    let new = found.get("N1", "look").unwrap();
    assert!(new.enough());
    // The others need about 30 days for 10 uses.
    let days = (new.p50.unwrap() - date("2026-03-01")).num_days();
    assert!((20..=45).contains(&days), "{days}");
}

#[test]
fn what_it_rests_on_is_said_of_items_of_which_no_time_is_known() {
    let mut book = house("for cameras\n after 10 uses, look\n after 10 jumps, wipe", 4, 3);
    book.add_item(Item::new("N1", "camera")).unwrap();
    book.add_item(Item::new("N2", "camera").received(date("2026-02-27"))).unwrap();
    let found = ahead(&mut book, &year());
    let known = |item: &str| match &found.get(item, "look").unwrap().basis {
        Basis::Use(uses) => uses[0].clone(),
        other => panic!("{other:?}"),
    };
    let unknown = KnownUse {
        counted: "uses".to_owned(),
        own: 0.0,
        weeks: 0.0,
        others: 5,
        by_season: false,
        plans: Vec::new(),
    };
    assert_eq!(known("N1"), unknown);
    let new = known("N2");
    assert!((0.1..0.5).contains(&new.weeks) && new == KnownUse { weeks: new.weeks, ..unknown.clone() });
    let wipe = found.get("N1", "wipe").unwrap();
    assert_eq!(wipe.too_little, [KnownUse { counted: "jumps".to_owned(), others: 0, ..unknown }]);
}

#[test]
fn too_little_says_so_and_keeps_what_is_certain() {
    let mut book = house("for cameras\n after 10 uses or 60 days, look\n after 10 jumps, wipe", 0, 3);
    book.add_item(Item::new("C1", "camera").received(date("2026-02-01"))).unwrap();
    book.record(Entry::new("2026-02-10", "use").item("C1")).unwrap();
    let found = ahead(&mut book, &Options::default());
    let look = found.get("C1", "look").unwrap();
    let [uses] = &look.too_little[..] else { panic!("{:?}", look.too_little) };
    assert_eq!((uses.counted.as_str(), uses.own, uses.weeks.round()), ("uses", 1.0, 3.0));
    assert_eq!((look.p10, look.p90), (Some(date("2026-04-02")), Some(date("2026-04-02"))));
    let wipe = found.get("C1", "wipe").unwrap();
    assert!(!wipe.enough() && wipe.p10.is_none() && wipe.chance_by(found.to()) == 0.0);
}

#[test]
fn or_is_earlier_and_and_is_later_than_each_part() {
    let of = |trigger: &str| {
        let mut book = house(&format!("for cameras\n after {trigger}, look"), 3, 3);
        let found = ahead(&mut book, &year());
        let row = found.get("C1", "look").unwrap();
        found.dates().map(|date| row.chance_by(date)).collect::<Vec<f64>>()
    };
    let (uses, days) = (of("10 uses"), of("30 days"));
    let (either, both) = (of("10 uses or 30 days"), of("10 uses and 30 days"));
    for day in 0..uses.len() {
        assert!((either[day] - (1.0 - (1.0 - uses[day]) * (1.0 - days[day]))).abs() < 1e-9, "day {day}");
        assert!((both[day] - uses[day] * days[day]).abs() < 1e-9, "day {day}");
    }
    // Two thresholds of one use hang together: the lower one decides.
    let (two, lower) = (of("10 uses or 20 uses"), of("10 uses"));
    let middle = |chances: &[f64]| chances.iter().position(|chance| *chance >= 0.5).unwrap();
    let (drawn, counted) = (middle(&two), middle(&lower));
    assert!(drawn.abs_diff(counted) <= 5, "drawn {drawn}, counted {counted}");
    let later = of("10 uses and 20 uses");
    assert!(later.iter().zip(&two).all(|(later, two)| later <= two));
}

#[test]
fn chances_only_rise_and_the_seed_decides() {
    let mut book = house("for cameras\n after 10 uses (in dust count 2) or 400 days, look", 3, 3);
    book.record(Entry::new("2026-02-20", "use").item("C2").condition("dust")).unwrap();
    let found = ahead(&mut book, &year());
    let again = ahead(&mut book, &year());
    let other = ahead(&mut book, &Options { seed: 1, ..year() });
    let threads = ahead(&mut book, &Options { threads: 3.try_into().unwrap(), ..year() });
    for (number, row) in found.rows().iter().enumerate() {
        let chances: Vec<f64> = found.dates().map(|date| row.chance_by(date)).collect();
        assert!(chances.windows(2).all(|pair| pair[0] <= pair[1]));
        let same = |other: &Forecasts| {
            other.dates().map(|date| other.rows()[number].chance_by(date)).collect::<Vec<f64>>() == chances
        };
        assert!(same(&again) && same(&threads) && !same(&other));
        assert!(row.p10 <= row.p50 && row.p50 <= row.p90);
    }
}

#[test]
fn plans_take_the_place_of_the_average() {
    let rules = "for cameras\n after 10 uses in sand, look\n after 60 uses, wipe\n before every trip, pack";
    let mut book = house(rules, 2, 10);
    let usual = ahead(&mut book, &year()).get("C1", "wipe").unwrap().p50;
    let planned = Entry::new("2026-04-01", "trip").until("2026-04-05").item("C1").condition("sand");
    book.record(planned.expect("use 4")).unwrap();
    let found = ahead(&mut book, &year());
    let look = found.get("C1", "look").unwrap();
    // 4, 8, 12: the third day.
    assert_eq!([look.p10, look.p50, look.p90], [Some(date("2026-04-03")); 3]);
    assert!(found.get("C1", "wipe").unwrap().p50 < usual, "20 uses more in five days");
    assert!(!found.get("C2", "look").unwrap().enough(), "the plan is for C1 alone");

    // A plan that is not in the log says the same.
    let mut book = house(rules, 2, 10);
    let plan =
        Plan::new(date("2026-04-01"), date("2026-04-05"), "use 4").unwrap().item("C1").condition("sand");
    let other = ahead(&mut book, &Options { plans: vec![plan], ..year() });
    assert_eq!(other.get("C1", "look").unwrap().p50, look.p50);
}

#[test]
fn what_is_due_stays_so_and_nothing_breaks_on_little() {
    let mut book = house("for cameras\n after 1 use, look\n after 90 days, wipe", 1, 400);
    book.record(Entry::new("2026-03-01T21:00:00", "use").item("C1")).unwrap();
    for days in [0, 1, 90, u32::MAX] {
        let found = ahead(&mut book, &Options { days, ..Options::default() });
        let look = found.get("C1", "look").unwrap();
        assert_eq!(look.p90, Some(date("2026-03-01")), "{days}");
        assert_eq!(look.chance_by(date("2026-02-01")), 0.0);
    }
    let mut empty = Book::new(&Program::parse("after 1 use, look").unwrap());
    assert!(ahead(&mut empty, &Options::default()).rows().is_empty());
}
