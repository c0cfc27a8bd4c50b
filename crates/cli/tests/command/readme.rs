//! What the README shows is what the command prints.

use kitlore_cli::Host;
use std::fs;
use std::path::Path;

/// A fenced block: its language and its text.
struct Block {
    language: String,
    text: String,
}

fn blocks(page: &str) -> Vec<Block> {
    let mut blocks = Vec::new();
    let mut open: Option<Block> = None;
    for line in page.lines() {
        match (&mut open, line.strip_prefix("```")) {
            (None, Some(language)) => {
                open = Some(Block { language: language.to_owned(), text: String::new() })
            }
            (Some(_), Some(_)) => blocks.extend(open.take()),
            (Some(block), None) => block.text.push_str(&format!("{line}\n")),
            (None, None) => {}
        }
    }
    blocks
}

/// The words of a command line, with double quotes round some.
fn words(line: &str) -> Vec<String> {
    let parts = line.split('"').enumerate();
    parts
        .flat_map(|(number, part)| match number % 2 {
            0 => part.split_whitespace().map(str::to_owned).collect::<Vec<_>>(),
            _ => vec![part.to_owned()],
        })
        .collect()
}

#[test]
fn the_tour_prints_what_it_says() {
    let page = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../../README.md")).unwrap();
    let blocks = blocks(&page);
    let folder = tempfile::tempdir().unwrap();
    let nth = |language: &str, number: usize| {
        let text = blocks.iter().filter(|block| block.language == language).nth(number);
        text.unwrap_or_else(|| panic!("block {number} of {language}")).text.clone()
    };
    for (name, text) in [
        ("house.lore", nth("lore", 0)),
        ("wrong.lore", nth("lore-wrong", 0)),
        ("items.csv", nth("csv", 0)),
        ("log.csv", nth("csv", 1)),
        ("shoot.csv", nth("csv", 2)),
    ] {
        fs::write(folder.path().join(name), text).unwrap();
    }
    let mut runs = 0;
    for block in blocks.iter().filter(|block| block.language == "text") {
        let (command, expected) = block.text.split_once('\n').unwrap();
        let args = words(command.strip_prefix("$ ").unwrap()).into_iter().map(|word| {
            let file = folder.path().join(&word);
            let shipped = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").join(&word);
            match () {
                () if file.is_file() => file.to_string_lossy().into_owned(),
                () if word.starts_with("examples/") => shipped.to_string_lossy().into_owned(),
                () => word,
            }
        });
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let mut host = Host {
            out: &mut out,
            err: &mut err,
            now: kitlore::Rules::parse("").unwrap().when_is_over(kitlore::When::parse("2026-11-11").unwrap()),
            width: 80,
            colour_out: false,
            colour_err: false,
        };
        kitlore_cli::run(args, &mut host);
        let text = String::from_utf8(out).unwrap() + &String::from_utf8(err).unwrap();
        assert_eq!(text.trim_end(), expected.trim_end(), "{command}");
        runs += 1;
    }
    assert!(runs >= 4, "the README shows {runs} runs");
}

#[test]
fn the_table_of_the_shipped_trip_says_what_the_command_prints() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let page = fs::read_to_string(root.join("README.md")).unwrap();
    let blocks = blocks(&page);
    let block = blocks.iter().find(|block| block.text.contains("-- trip examples/studio")).unwrap();
    let (_, arguments) = block.text.split_once("-- ").unwrap();
    let path = |word: String| match word.starts_with("examples/") {
        true => root.join(word).display().to_string(),
        false => word,
    };
    let arguments: Vec<String> =
        ["kitlore".to_owned()].into_iter().chain(words(arguments).into_iter().map(path)).collect();
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let now = chrono::DateTime::UNIX_EPOCH.into();
    let mut host =
        Host { out: &mut out, err: &mut err, now, width: 140, colour_out: false, colour_err: false };
    assert_eq!(kitlore_cli::run(arguments, &mut host), 0);
    let text = String::from_utf8(out).unwrap();
    let (_, table) = page.split_once("| list | says, of this trip |").unwrap();
    let (table, _) = table.split_once("\n\n").unwrap();
    for (said, printed) in [
        (
            "1 h 13 min of work and 7 tasks with no time given, the frayed strap `STR-02` first",
            "Before leaving: 1 h 13 min, 7 tasks with no time given, 1 by others\n  replace strap\n    grounded 2026-11-18  STR-02",
        ),
        (
            "the sensor of `CAM-01`, due 2026-11-22",
            "due 2026-11-22  CAM-01  90 days since last done 2026-08-24",
        ),
        (
            "both sensors fall due on day three, once 40 lens changes are counted",
            "due 2026-12-02  CAM-01, CAM-03  0 of 40 lens changes on leaving",
        ),
        ("what is a workshop's stays the workshop's", "service sensor: by an authorised workshop"),
        ("rinse the tripod's legs", "due 2026-12-04  TRI-01  trip in sand or salt air"),
        (
            "look at the glass",
            "due 2026-12-04  LEN-01, LEN-02, LEN-03, LEN-06  trip in sand, dust or salt air",
        ),
        ("for the sand, at the sensors", "due 2026-12-04  CAM-01, CAM-03  trip in sand"),
        ("the swabs (6 in stock)", "sensor swabs: 6 in stock (SUP-02)"),
        ("the hex key, should a plate come loose", "hex key\n    for refit plate (TRI-01)"),
        ("`STR-02`, grounded", "STR-02 Strap: grounded since 2026-11-18, until replace strap"),
        ("`STR-03` is clear and could go instead", "instead: STR-03 (Wrist strap)"),
    ] {
        assert!(table.contains(said), "{said}");
        assert!(text.contains(printed), "{printed} is not in {text}");
    }
    let (_, pack) = text.split_once("\nPack\n").unwrap();
    let (pack, _) = pack.split_once("\n\n").unwrap();
    let things = pack.lines().filter(|line| !line.starts_with("   ")).count();
    assert!(table.contains(&format!("{things} things, each once")), "{things}");
}
