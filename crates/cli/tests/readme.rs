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
        let told = String::from_utf8(out).unwrap() + &String::from_utf8(err).unwrap();
        assert_eq!(told.trim_end(), expected.trim_end(), "{command}");
        runs += 1;
    }
    assert!(runs >= 4, "the README shows {runs} runs");
}
