//! Rule texts: a house or mistakes with a place and a remedy; one layout that changes neither meaning nor comments.

use kitlore_engine::Program;
use kitlore_syntax::tree::House;
use kitlore_syntax::{Diagnostic, Loaded, Loader, Sources};

/// Two texts that can be included; one includes the other, and itself.
struct Texts;

impl Loader for Texts {
    fn load(&self, path: &str, _from: &str) -> Result<Loaded, String> {
        let text = match path {
            "kinds.lore" => {
                "a rangefinder is a camera\nclean sensor covers inspect sensor\nevents trip, shoots"
            }
            "more.lore" => {
                "include \"kinds.lore\"\ninclude \"more.lore\"\nfor lenses\n every year, clean mount"
            }
            _ => return Err("there is no such text".to_owned()),
        };
        Ok(Loaded { name: path.to_owned(), text: text.to_owned() })
    }
}

fn read(text: &str) -> Result<House, kitlore_syntax::Diagnostics> {
    kitlore_syntax::parse("t.lore", text, &Texts)
}

/// Any text is a house whose examples can be run, or mistakes that can be shown.
pub(crate) fn parse(data: &[u8]) {
    let text = String::from_utf8_lossy(data);
    match read(&text) {
        Err(mistakes) => {
            assert!(!mistakes.list.is_empty(), "refused without a mistake");
            well_formed(&mistakes.list, &mistakes.sources);
            assert!(!mistakes.to_string().is_empty());
        }
        Ok(house) => {
            well_formed(&house.doubts, &house.sources);
            for rule in &house.rules {
                assert!(!house.sources.text(rule.span).is_empty(), "a rule without a text: {rule:?}");
            }
            let program = Program::compile(house);
            for failure in program.run_examples() {
                assert!(!failure.message.is_empty());
                assert!(!program.house().sources.text(failure.span).is_empty(), "{failure:?}");
            }
        }
    }
}

/// Each has a place with text, words for people, a remedy where it is a mistake, and can be drawn.
fn well_formed(list: &[Diagnostic], sources: &Sources) {
    for d in list {
        let source = &sources.get(d.span.source).expect("a place in a text").text;
        assert!(
            source.get(d.span.start as usize..d.span.end as usize).is_some_and(|text| !text.is_empty()),
            "nothing underlined: {d:?}"
        );
        let help = d.help.as_deref().unwrap_or_default();
        assert!(!d.message.is_empty() && !help.is_empty(), "no words: {d:?}");
        let empty = d.message.contains("``") || help.contains("``");
        assert!(!empty || source.contains('`'), "an empty quotation: {d:?}");
    }
    let places: Vec<_> = list.iter().map(|d| (d.span.source, d.span.start)).collect();
    assert!(places.is_sorted(), "not in reading order: {list:?}");
    for width in [20, 80] {
        assert!(!kitlore_cli::draw_mistakes(list, sources, width, width == 80).is_empty());
    }
}

/// The canonical layout of a text that is accepted means the same, keeps every comment and is stable.
pub(crate) fn tidy(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    let Ok(before) = read(text) else { return };
    let once = kitlore_syntax::tidy("t.lore", text).expect("an accepted text can be laid out");
    let after = read(&once).unwrap_or_else(|e| panic!("{e}\nin tidied\n{once}\nof\n{text}"));
    assert_eq!(meaning(&before), meaning(&after), "\n{text}\n-- became\n{once}");
    assert_eq!(comments(&before), comments(&after), "\n{text}\n-- became\n{once}");
    let twice = kitlore_syntax::tidy("t.lore", &once).expect("a tidied text can be laid out");
    assert!(once == twice, "not stable:\n{once}\n-- became\n{twice}");
    assert!(!once.contains("\n\n\n") && !once.starts_with('\n') && !once.ends_with("\n\n"), "{once}");
}

/// The tree without places, as text.
fn meaning(house: &House) -> String {
    let whole = format!(
        "{:?}",
        (
            (&house.name, &house.zone, &house.count_from, &house.kinds, &house.covers, &house.events),
            (&house.conditions, &house.findings, &house.rules, &house.examples),
        )
    );
    let mut out = String::new();
    let mut rest = whole.as_str();
    while let Some(at) = rest.find("Span {") {
        out.push_str(&rest[..at]);
        rest = &rest[at..];
        rest = &rest[rest.find('}').expect("the end of a span") + 1..];
    }
    out + rest
}

/// From each `#` that stands outside quotes to the end of its line; quotes end with their line.
fn comments(house: &House) -> Vec<String> {
    let text = &house.sources.iter().next().expect("the first text").text;
    let mut found = Vec::new();
    for line in text.lines() {
        let mut quoted = false;
        let mut characters = line.char_indices();
        while let Some((at, c)) = characters.next() {
            match c {
                '"' => quoted = !quoted,
                '\\' if quoted => drop(characters.next()),
                '#' if !quoted => {
                    found.push(line[at..].trim_end().to_owned());
                    break;
                }
                _ => {}
            }
        }
    }
    found
}
