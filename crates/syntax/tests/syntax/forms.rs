//! Every form of the language is read as the reference says.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a panic in a test is a failed test"
)]

use crate::files::Files;
use chrono::{NaiveDate, Weekday};
use kitlore_syntax::tree::*;
use kitlore_syntax::{Amount, Name, NoIncludes, When, parse};

fn read(text: &str) -> House {
    parse("t.lore", text, &NoIncludes).unwrap_or_else(|e| panic!("{e}\n in:\n{text}"))
}

/// What is read without a doubt.
fn house(text: &str) -> House {
    let house = read(text);
    assert!(house.doubts.is_empty(), "doubted: {:?}\n in:\n{text}", house.doubts);
    house
}

fn refused(text: &str) -> bool {
    parse("t.lore", text, &NoIncludes).is_err()
}

fn trigger(text: &str) -> Trigger {
    house(&format!("{text}, x")).rules.remove(0).trigger
}

/// The one atom of a trigger.
fn atom(text: &str) -> AtomKind {
    match trigger(text) {
        Trigger::Atom(atom) => atom.kind,
        other => panic!("{text} is {other:?}"),
    }
}

/// A trigger with its atoms as accounts quote them: `[a | b]` for or, `{a & b}` for and.
fn shape(text: &str) -> String {
    fn write(trigger: &Trigger, house: &House) -> String {
        let list = |parts: &[Trigger], sign: &str| {
            parts.iter().map(|p| write(p, house)).collect::<Vec<_>>().join(sign)
        };
        match trigger {
            Trigger::Or(parts) => format!("[{}]", list(parts, " | ")),
            Trigger::And(parts) => format!("{{{}}}", list(parts, " & ")),
            Trigger::Atom(atom) => house.sources.text(atom.span).to_owned(),
        }
    }
    let house = read(&format!("{text}, x"));
    write(&house.rules[0].trigger, &house)
}

fn keys(names: &[Name]) -> Vec<&str> {
    names.iter().map(|n| n.key.as_str()).collect()
}

fn details(text: &str) -> Details {
    house(&format!("after 20 trips, x; {text}")).rules.remove(0).details
}

fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn length(count: u32, unit: Unit) -> Duration {
    Duration { count, unit }
}

#[test]
fn parts_are_quoted_without_after_or_at() {
    for (text, quoted) in [
        ("after 20 lens changes in dust", "20 lens changes in dust"),
        ("after 90 days", "90 days"),
        ("at age 12 months", "age 12 months"),
        ("age 12 months", "age 12 months"),
        ("after every trip in sand", "every trip in sand"),
        ("every trip", "every trip"),
        ("every 2 weeks", "every 2 weeks"),
        ("before every trip", "before every trip"),
        ("before a second shoot", "before a second shoot"),
        ("when inspect sensor finds dust", "when inspect sensor finds dust"),
        ("7 days after each release unless a recall", "7 days after each release unless a recall"),
        ("after 60 shoots (in sand count 3)", "60 shoots (in sand count 3)"),
    ] {
        assert_eq!(shape(text), quoted);
    }
}

#[test]
fn lists_go_on_with_a_name_and_end_before_a_part() {
    for (text, expected) in [
        ("after 20 lens changes in dust or 90 days", "[20 lens changes in dust | 90 days]"),
        ("after 20 trips in dust or sand or 90 days", "[20 trips in dust or sand | 90 days]"),
        ("after 20 trips in dust and sand and 90 days", "{20 trips in dust and sand & 90 days}"),
        ("after 20 trips in dust or sand and 90 days", "{20 trips in dust or sand & 90 days}"),
        ("after 2 trips in dust or age 3 years", "[2 trips in dust | age 3 years]"),
        ("after 2 trips in dust or \"age\" or at age 3 years", "[2 trips in dust or \"age\" | age 3 years]"),
        ("when x finds a1 or b1 or when c1 is found", "[when x finds a1 or b1 | when c1 is found]"),
        ("when a1 or b1 is found and on 2026-03-01", "{when a1 or b1 is found & on 2026-03-01}"),
        (
            "7 days after each x unless y or any z or each w",
            "[7 days after each x unless y or any z | each w]",
        ),
        ("7 days after a x unless a newer x or (2 trips)", "[7 days after a x unless a newer x | 2 trips]"),
        ("before any trip in sand or before a walk", "[before any trip in sand | before a walk]"),
        ("after 2 trips not in dust or sand or every week", "[2 trips not in dust or sand | every week]"),
    ] {
        assert_eq!(shape(text), expected);
    }
    assert!(refused("after 2 trips in dust or sand and cold, x"));
    assert!(refused("after 2 trips in dust or age, x"));
    assert!(refused("after 2 trips not in dust and sand, x"));
    assert!(refused("after 2 trips or dust, x"));
    assert!(refused("when x finds a1 and b1, x"));
}

#[test]
fn and_binds_tighter_and_brackets_flatten() {
    assert_eq!(shape("2 a1 or 3 b1 and 4 c1 or 5 d1"), "[2 a1 | {3 b1 & 4 c1} | 5 d1]");
    assert_eq!(shape("(2 a1 or 3 b1) and 4 c1"), "{[2 a1 | 3 b1] & 4 c1}");
    assert_eq!(shape("after (2 a1 or (3 b1 or at (4 c1)))"), "[2 a1 | 3 b1 | 4 c1]");
    assert_eq!(shape("(2 a1 and (3 b1 and 4 c1)) or 5 d1"), "[{2 a1 & 3 b1 & 4 c1} | 5 d1]");
    assert_eq!(shape("2 a1 (in s count 2) or (3 b1)"), "[2 a1 (in s count 2) | 3 b1]");
}

#[test]
fn intervals_ages_and_uses_are_distinguished() {
    let interval = |count, unit| AtomKind::Interval(length(count, unit));
    for text in ["after 90 days", "every 90 days", "each 90 Days", "at 90 days", "90 day"] {
        assert_eq!(atom(text), interval(90, Unit::Day), "{text}");
    }
    for text in ["every month", "each month", "after every month", "EVERY Month"] {
        assert_eq!(atom(text), interval(1, Unit::Month), "{text}");
    }
    assert_eq!(atom("after 1,000 weeks"), interval(1000, Unit::Week));
    assert_eq!(atom("at age 12 months"), AtomKind::Age(length(12, Unit::Month)));
    for (text, count, name) in [
        ("after 2,000 hours", 2000, "hour"),
        ("after 20 day trips", 20, "day trip"),
        ("every day trip", 1, "day trip"),
        ("after each shoot", 1, "shoot"),
        ("at every shoot", 1, "shoot"),
        ("20 \"month ends\"", 20, "month end"),
        ("after 3 age checks", 3, "age check"),
        ("every newer release", 1, "newer release"),
    ] {
        let AtomKind::Usage { threshold, name: used, .. } = atom(text) else { panic!("{text}") };
        assert_eq!((threshold, used.key.as_str()), (Amount::from(count), name), "{text}");
    }
    for wrong in [
        "after 90 days in dust",
        "after every 3 months",
        "after age 3 days",
        "after month",
        "after 1.5 days",
        "every 0 days",
        "every other trip",
        "each second trip",
        "every two weeks",
        "after two trips",
        "20 \"days\"",
        "at age month",
        "every age 3 days",
    ] {
        assert!(refused(&format!("{wrong}, x")), "{wrong}");
    }
    assert!(!refused("every 200 years, x") && refused("every 201 years, x"));
    assert!(!refused("every 2400 months, x") && refused("every 2401 months, x"));
}

#[test]
fn uses_have_conditions_and_weights() {
    let AtomKind::Usage { threshold, name, conditions, weights, .. } =
        atom("after 0.5 lens changes in salt air and sand (in head count count 2.125, in dust count 0)")
    else {
        panic!()
    };
    assert_eq!(threshold.to_string(), "0.5");
    assert_eq!(name.text, "lens changes");
    assert!(matches!(&conditions, Conditions::All(names) if keys(names) == ["salt air", "sand"]));
    let weights: Vec<_> = weights.iter().map(|w| (w.condition.key.as_str(), w.factor.to_string())).collect();
    assert_eq!(weights, [("head count", "2.125".to_owned()), ("dust", "0".to_owned())]);
    let conditions = |text| match atom(text) {
        AtomKind::Usage { conditions, .. } => conditions,
        other => panic!("{other:?}"),
    };
    assert!(matches!(conditions("2 trips in dust"), Conditions::Any(n) if keys(&n) == ["dust"]));
    assert!(
        matches!(conditions("2 trips in dust or sand"), Conditions::Any(n) if keys(&n) == ["dust", "sand"])
    );
    assert!(
        matches!(conditions("2 trips not in dust or sand"), Conditions::Neither(n) if keys(&n) == ["dust", "sand"])
    );
    assert!(matches!(conditions("2 trips"), Conditions::Whatever));
    assert!(
        refused("2 trips (in sand count 1.0005), x")
            && refused("2 trips (in sand), x")
            && refused("2 days (in sand count 2), x")
    );
}

#[test]
fn findings_and_spotted() {
    let found = |text| match atom(text) {
        AtomKind::Finding { task, findings } => (task.key, keys(&findings).join("|")),
        other => panic!("{other:?}"),
    };
    assert_eq!(
        found("when inspect strap finds fraying or tears"),
        ("inspect strap".into(), "fraying|tear".into())
    );
    assert_eq!(found("when inspect strap leaves spots"), ("inspect strap".into(), "spot".into()));
    // The first `finds` or `leaves` that a name follows is the verb.
    let doubted = read("when tea leaves finds dust, x");
    assert!(
        matches!(&doubted.rules[0].trigger, Trigger::Atom(Atom { kind: AtomKind::Finding { task, findings }, .. })
            if task.key == "tea" && keys(findings) == ["finds dust"])
    );
    assert_eq!(doubted.doubts[0].code.word(), "like-a-sentence");
    assert_eq!(found("when \"tea leaves\" finds dust"), ("tea leave".into(), "dust".into()));
    assert!(
        matches!(atom("when mould or rust is found"), AtomKind::Spotted { findings } if keys(&findings) == ["mould", "rust"])
    );
    assert!(
        matches!(atom("when tea leaves is found"), AtomKind::Spotted { findings } if keys(&findings) == ["tea leave"])
    );
}

#[test]
fn readings() {
    let read = |text| match atom(text) {
        AtomKind::Reading { name, comparison, bound, unit } => {
            (name.key, comparison, bound.to_string(), unit.map(|u| u.key))
        }
        other => panic!("{other:?}"),
    };
    assert_eq!(
        read("when capacity is below 80 percent"),
        ("capacity".into(), Comparison::Below, "80".into(), Some("percent".into()))
    );
    assert_eq!(read("when heat is ABOVE -5.5"), ("heat".into(), Comparison::Above, "-5.5".into(), None));
    assert_eq!(read("when heat is at least - 0"), ("heat".into(), Comparison::AtLeast, "0".into(), None));
    assert_eq!(
        read("when unused is at most 1,000 day trips"),
        ("unused".into(), Comparison::AtMost, "1000".into(), Some("day trip".into()))
    );
    assert_eq!(atom("when unused for 60 days"), AtomKind::Unused(length(60, Unit::Day)));
}

#[test]
fn calendars() {
    let calendar = |text| match atom(text) {
        AtomKind::Calendar(calendar) => calendar,
        other => panic!("{other:?}"),
    };
    assert_eq!(calendar("on 2026-03-01"), Calendar::On(date("2026-03-01")));
    assert_eq!(calendar("every year on 29 February"), Calendar::Yearly { month: 2, day: 29 });
    assert_eq!(calendar("each year on 1 may"), Calendar::Yearly { month: 5, day: 1 });
    assert_eq!(calendar("every month on day 31"), Calendar::Monthly { day: 31 });
    assert_eq!(calendar("Each Week On sunday"), Calendar::Weekly(Weekday::Sun));
    let rank = |rank, weekday| Calendar::MonthlyWeekday { rank, weekday };
    assert_eq!(calendar("every month on the second Tuesday"), rank(Rank::Nth(2), Weekday::Tue));
    assert_eq!(calendar("every month on the last Friday"), rank(Rank::Last, Weekday::Fri));
    for wrong in [
        "every year on 30 February",
        "every year on 31 April",
        "every month on day 0",
        "every month on day 32",
        "on 2026-02-29",
        "every year on March 1",
        "every year on 1 Mar",
        "after every year on 1 March",
        "every day on Monday",
    ] {
        assert!(refused(&format!("{wrong}, x")), "{wrong}");
    }
}

#[test]
fn delays() {
    let delay = |text| match atom(text) {
        AtomKind::Delay { duration, event, unless } => (duration, event.key, unless),
        other => panic!("{other:?}"),
    };
    let (duration, event, unless) = delay(
        "7 days after each firmware release unless firmware recall or a newer firmware releases or any other thing",
    );
    assert_eq!((duration, event.as_str()), (length(7, Unit::Day), "firmware release"));
    assert!(
        matches!(&unless[..], [Unless::Event(a), Unless::Newer(_), Unless::Event(b)] if a.key == "firmware recall" && b.key == "other thing")
    );
    assert_eq!(delay("0 days after a release").0, length(0, Unit::Day));
    assert!(refused("7 days after release, x") && refused("after 7 days after each release, x"));
    assert!(refused("7 days after each release unless a newer recall, x"));
}

#[test]
fn rules_and_their_details() {
    let text = "for cameras\n  Instead, after 2 trips, \"a, b\" strap check; within 0 days\n  # note\n\n  needs A,\n b\nevery day, y";
    let rules = parse("t", &text.replace("after 2 trips", "before every trip"), &NoIncludes).unwrap();
    let rule = &rules.rules[0];
    assert!(rule.instead);
    assert_eq!(rule.task.text, "a, b strap check");
    assert_eq!(rule.details.within, Some(length(0, Unit::Day)));
    assert_eq!(rule.details.needs, ["A", "b"]);
    assert_eq!(rules.sources.line_column(rule.span), (2, 3));
    assert!(rules.sources.text(rule.span).ends_with("b"));
    assert!(!rules.rules[1].instead);
    assert!(refused("instead after 2 trips, x"), "the comma belongs to it");

    assert_eq!(details("notice 2 weeks").notice, Some(Notice::Ahead(length(2, Unit::Week))));
    assert!(
        matches!(details("notice 0.5 trips").notice, Some(Notice::Uses(n, name)) if n.to_string() == "0.5" && name.key == "trip")
    );
    assert_eq!(details("allow 0 days").allow, Some(length(0, Unit::Day)));
    assert!(
        matches!(details("no later than 3 years or 90 trips").no_later_than, Some(Trigger::Or(parts)) if parts.len() == 2)
    );
    assert!(details("do not use until done").do_not_use);
    assert_eq!(details("at most every month").at_most_every, Some(length(1, Unit::Month)));
    assert_eq!(details("at most every 30 days").at_most_every, Some(length(30, Unit::Day)));
    assert_eq!(details("takes 1.5 hours").takes_minutes, Some(Amount::from(90)));
    assert_eq!(details("takes 10 minutes").takes_minutes, Some(Amount::from(10)));
    let text = r#"by "a \"b\" \\ c"; because "so"; caution "one"; caution "two"; needs a  soft cloth, 2 swabs, "x, y;""#;
    let all = details(text);
    assert_eq!(all.by.as_deref(), Some(r#"a "b" \ c"#));
    assert_eq!(all.because.as_deref(), Some("so"));
    assert_eq!(all.cautions, ["one", "two"]);
    assert_eq!(all.needs, ["a soft cloth", "2 swabs", "x, y;"]);
}

#[test]
fn statements() {
    let text = "HOUSE \"A house\"\nTime Zone Etc/GMT+5\ncount from 2026-01-01\na rangefinder is a camera\nan \"a1\" is an item\n\
                clean sensor covers inspect sensor, lens covers\nevents trip,\n shoot\nevents walk\nconditions dust\nfindings mould, rust";
    let house = house(text);
    assert_eq!(house.name.as_deref(), Some("A house"));
    assert_eq!(house.zone, chrono_tz::Etc::GMTPlus5);
    assert_eq!(house.count_from, Some(date("2026-01-01")));
    assert_eq!(house.kinds[0].narrower.key, "rangefinder");
    assert_eq!(house.kinds[1].broader.key, "item");
    // The first `covers` is the verb.
    assert_eq!(house.covers[0].task.key, "clean sensor");
    assert_eq!(keys(&house.covers[0].covered), ["inspect sensor", "lens cover"]);
    assert_eq!(keys(house.events.as_deref().unwrap()), ["trip", "shoot", "walk"]);
    assert_eq!(keys(house.conditions.as_deref().unwrap()), ["dust"]);
    assert_eq!(keys(house.findings.as_deref().unwrap()), ["mould", "rust"]);
    assert_eq!(parse("t", "", &NoIncludes).unwrap().zone, chrono_tz::UTC);
}

#[test]
fn sections_hold_until_the_next() {
    let text = "every day, a1\nfor cameras, lenses and field recorders\nevery day, b1\nfor every item where maker is third party\nevery day, c1";
    let house = house(text);
    let kinds: Vec<_> = house.rules.iter().map(|r| r.section.kinds.as_deref().map(keys)).collect();
    assert_eq!(kinds, [None, Some(vec!["camera", "lens", "field recorder"]), None]);
    assert!(house.rules[2].section.filter.is_some());
    assert!(refused("for cameras or lenses") && refused("for each item") && refused("for every camera"));
}

#[test]
fn filters() {
    let filter = |text: &str| {
        house(&format!("for every item where {text}\nevery day, x")).rules[0].section.filter.clone().unwrap()
    };
    let test = |text: &str| match filter(text) {
        Filter::Test { attribute, test } => (attribute.key, test),
        other => panic!("{other:?}"),
    };
    assert_eq!(test("maker is third party"), ("maker".into(), Test::Is("third party".into())));
    assert_eq!(test("serial numbers is \"A or B\""), ("serial number".into(), Test::Is("A or B".into())));
    assert_eq!(test("slots is 200,000").1, Test::Is("200,000".into()));
    assert_eq!(test("slots is -3").1, Test::Is("-3".into()));
    assert_eq!(test("size is 35mm").1, Test::Is("35mm".into()));
    assert_eq!(test("bought is 2026-01-02").1, Test::Is("2026-01-02".into()));
    assert_eq!(test("maker is not Orla").1, Test::IsNot("Orla".into()));
    assert_eq!(test("maker is \"known\"").1, Test::Is("known".into()));
    assert_eq!(test("maker is known").1, Test::Known);
    assert_eq!(test("maker is missing").1, Test::Missing);
    assert_eq!(test("slots is at least 2.5").1, Test::Compare(Comparison::AtLeast, "2.5".parse().unwrap()));
    assert_eq!(test("received is before 2026-01-01").1, Test::Before(date("2026-01-01")));
    assert_eq!(test("received is after 2026-01-01").1, Test::After(date("2026-01-01")));
    let Filter::Any(parts) = filter("a1 is x or b1 is y and (c1 is z or d1 is w)") else { panic!() };
    assert!(
        matches!(&parts[..], [Filter::Test { .. }, Filter::All(inner)] if matches!(&inner[1], Filter::Any(_)))
    );
    assert!(
        refused("for every item where maker is a or b") && refused("for every item where slots is above 1,5")
    );
}

#[test]
fn names_have_keys_and_mixes() {
    let name = |text: &str| house(&format!("every day, {text}")).rules.remove(0).task;
    assert_eq!(name("Clean  sensor").text, "Clean sensor");
    assert_eq!(name("clean \"and dry\" bodies").key, "clean and dry body");
    assert_eq!(name("d'été/x.y_z-1").key, "d'été/x.y z 1");
    assert_eq!(name("l’objectif").text, "l'objectif");
    // A sign that joins letters is no letter, and belongs to the word.
    assert_eq!(name("लेंस स्वच्छ").key, "लेंस स्वच्छ");
    assert_eq!(name("wipe \"\" body").text, "wipe body");
    assert_eq!((name("wide lenses").key.as_str(), name("oil gas").key.as_str()), ("wide lens", "oil gas"));
    assert_eq!(
        name("notice board").key,
        "notice board",
        "words of the language are keywords only where they are expected"
    );
    for word in "a an and any after at before each every for if in instead is not on or the unless when where"
        .split(' ')
    {
        assert!(refused(&format!("every day, wipe {word} body")), "{word}");
        assert!(!refused(&format!("every day, wipe \"{word}\" body")), "{word}");
    }
    assert!(refused("every day, \"\"") && refused("every day, wipe 3"));
}

#[test]
fn examples() {
    let text = "example \"one\"\n  field recorder R1 received 2026-01-10 in service 2026-01-11 serial no 12 maker \"Orla Z\" old -3\n  \
                2026-02-07 to 2026-02-08T10:00 R1 lens change 12 in dust, salt air found spots, mould ref \"v1\"\n  \
                2026-02-07T10:00:00+01:00 \"R 2\" frames reading -5.5 per day\n  2026-02-07 R1 in service\n  \
                on 2026-02-08 R1 inspect sensor is Due since 2026-02-07\n  on 2026-02-08 R1 x is clear\n\
                example \"two\"\n  house H1\n  x Y\nfor field recorders where serial no is known\n on 2026-03-01, renew cover\n7 days after each x, y";
    let house = house(text);
    let [one, two] = &house.examples[..] else { panic!() };
    assert_eq!((one.title.as_str(), one.items.len(), one.entries.len(), one.claims.len()), ("one", 1, 3, 2));
    let item = &one.items[0];
    // The longest run of words that is a kind named in the file, here below.
    assert_eq!((item.kind.key.as_str(), item.id.as_str()), ("field recorder", "R1"));
    assert_eq!((item.received, item.in_service), (Some(date("2026-01-10")), Some(date("2026-01-11"))));
    let attributes: Vec<_> = item.attributes.iter().map(|(n, v)| (n.key.as_str(), v.as_str())).collect();
    assert_eq!(attributes, [("serial no", "12"), ("maker", "Orla Z"), ("old", "-3")]);
    let first = &one.entries[0];
    assert_eq!(first.when, When::Date(date("2026-02-07")));
    assert!(matches!(first.until, Some(When::Local(_))));
    assert_eq!(
        (first.item.as_str(), first.event.key.as_str(), first.amount),
        ("R1", "lens change", Some(Amount::from(12)))
    );
    assert_eq!(
        (keys(&first.conditions), keys(&first.found)),
        (vec!["dust", "salt air"], vec!["spot", "mould"])
    );
    assert_eq!(first.reference.as_deref(), Some("v1"));
    let second = &one.entries[1];
    assert!(matches!(second.when, When::Instant(_)));
    assert_eq!((second.item.as_str(), second.reading.unwrap().to_string()), ("R 2", "-5.5".to_owned()));
    assert_eq!(second.unit.as_ref().unwrap().key, "per day");
    assert_eq!(one.entries[2].event.key, "in service");
    assert_eq!((one.claims[0].standing, one.claims[0].since), (Standing::Due, Some(date("2026-02-07"))));
    assert_eq!((two.items.len(), two.items[0].kind.key.as_str()), (2, "house"));
    assert_eq!(house.rules.len(), 2);
}

#[test]
fn examples_name_kinds_and_columns_in_quotes_too() {
    let text = "example \"one\"\n  \"field recorder\" R1 \"serial no\" 12";
    let item = house(text).examples.remove(0).items.remove(0);
    assert_eq!((item.kind.key.as_str(), item.id.as_str()), ("field recorder", "R1"));
    assert_eq!((item.attributes[0].0.key.as_str(), item.attributes[0].1.as_str()), ("serial no", "12"));
}

#[test]
fn a_word_that_ends_with_or_does_not_go_on() {
    assert_eq!(house("every day, sort this-or\nevery day, y").rules.len(), 2);
}

#[test]
fn what_the_house_declares_is_not_doubted() {
    house("events Monday\nafter 2 Mondays, x");
    assert!(!read("after 2 Mondays, x").doubts.is_empty());
}

#[test]
fn standings_and_durations_are_shown_as_they_are_written() {
    assert_eq!(
        Standing::ALL.map(|s| s.to_string()),
        ["grounded", "overdue", "due", "soon", "unknown", "clear"]
    );
    assert_eq!(
        (length(1, Unit::Day).to_string(), length(2, Unit::Month).to_string()),
        ("1 day".into(), "2 months".into())
    );
}

#[test]
fn included_files_stand_where_they_are_included() {
    let files = Files(&[("kits/b.lore", "every day, b1\nfor lenses\nevery day, c1\n")]);
    let text = "for cameras\nevery day, a1\ninclude \"kits/b.lore\"\nevery day, d1";
    let house = parse("a.lore", text, &files).unwrap();
    let rules: Vec<_> =
        house.rules.iter().map(|r| (r.task.key.as_str(), r.section.kinds.as_deref().map(keys))).collect();
    let lens = Some(vec!["lens"]);
    let camera = Some(vec!["camera"]);
    assert_eq!(rules, [("a1", camera.clone()), ("b1", None), ("c1", lens), ("d1", camera)]);
    assert_eq!(house.sources.name(house.rules[1].span), "kits/b.lore");
    assert_eq!(house.sources.iter().map(|s| &*s.name).collect::<Vec<_>>(), ["a.lore", "kits/b.lore"]);
    assert_eq!(house.sources.line_column(house.rules[2].span), (3, 1));
}

#[test]
fn errors_at_the_end_of_section_three() {
    for (wrong, right) in [
        ("every day, x; within 3 days", "before every trip or every day, x; within 3 days"),
        ("2 trips, x; notice 1 shoot", "2 trips or 3 shoots, x; notice 1 shoot"),
        ("2 trips, x; notice 2 trips", "2 trips, x; notice 1.999999 trips"),
        ("9 trips or 5 trips in sand, x; notice 5 trips", "9 trips or 5 trips in sand, x; notice 4 trips"),
        ("every trip, x; notice 1 trip", "every trip, x; notice 0 trips"),
        (
            "2 trips, x; notice 1 shoot; no later than 9 shoots",
            "2 trips, x; notice 1 trip; no later than 9 shoots",
        ),
        ("every day, x; by \"a\"\nby \"b\"", "every day, x; caution \"a\"\ncaution \"b\""),
        ("2 trips, x; no later than every week on Monday", "2 trips, x; no later than every week"),
        ("2 trips, x; no later than on 2026-03-01", "2 trips, x; no later than 3 trips"),
        (
            "2 trips, x; no later than 3 trips or before a shoot",
            "2 trips, x; no later than when unused for 3 days",
        ),
        ("2 trips, x; no later than age 3 years", "at age 2 years, x; no later than age 3 years"),
        (
            "at age 2 years or 2 trips, x; no later than age 3 years",
            "(at age 2 years), x; no later than age 3 years or 9 trips",
        ),
        ("a b is a c\na c is a d\na d is a b", "a b is a c\na c is a d\na b is a d"),
        (
            "2 trips, x; allow 2 days; do not use until done",
            "2 trips, x; allow 2 days; no later than 9 trips",
        ),
        ("2 received, x", "2 received parcels, x"),
        ("2 trips, Finding", "7 days after each received, x"),
        ("void covers x", "void check covers x"),
        ("every day, \"in-service\"", "every day, \"in-service\" check"),
        ("every day, x\nbefore every x, y", "every day, x\nbefore every z, y"),
        ("x covers z\nbefore every z, y", "x covers z\nbefore every w, y"),
        ("events trip\n2 shoots, x", "events trip\n2 trips or 2 y, x\nevery day, y"),
        ("events trip\nwhen heat is above 3, x", "events heat\nwhen heat is above 3, x"),
        ("conditions dust\n2 trips (in sand count 2), x", "conditions dust\n2 trips (in dust count 2), x"),
        ("findings dust\nwhen a1 finds mould, x", "findings dust\nwhen a1 finds dust, x"),
        ("house \"a\"\nhouse \"a\"", "house \"a\""),
    ] {
        assert!(refused(wrong), "accepted: {wrong}");
        read(right);
    }
}
