//! Cases as data: `tests/cases/*.txt` hold tables and what a book shows of them, problems with file and
//! line. `KITLORE_BLESS=1` writes what is shown into the files; read the difference before keeping it.
#![cfg(all(feature = "csv", feature = "jsonl", feature = "xlsx"))]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, reason = "tests")]

use crate::common;

use kitlore_tables::Columns;

/// The tables of a case and what follows `=>`.
fn run(case: &str) -> String {
    let mut book = common::book();
    let mut columns = Columns::new();
    let mut shown = String::new();
    for part in case.split("\n--- ").skip(1) {
        let (head, body) = part.split_once('\n').unwrap_or((part, ""));
        let mut words = head.split_whitespace();
        let (what, name) = (words.next().unwrap(), words.next().unwrap_or("table"));
        let mut body = format!("{body}\n");
        let mut latin = false;
        for word in words {
            match word {
                "crlf" => body = body.replace('\n', "\r\n"),
                "cr" => body = body.replace('\n', "\r"),
                "bom" => body.insert(0, '\u{feff}'),
                "no-end" => body.truncate(body.trim_end_matches('\n').len()),
                "latin" => latin = true,
                other => panic!("unknown word `{other}` in `{head}`"),
            }
        }
        let bytes: Vec<u8> = if latin { body.chars().map(|c| c as u8).collect() } else { body.into_bytes() };
        let read = match what {
            "columns" => {
                match Columns::parse(&String::from_utf8_lossy(&bytes)) {
                    Ok(read) => columns = read,
                    Err(error) => shown += &format!("error {}: {error}\n", error.code()),
                }
                continue;
            }
            "items" => common::items(&mut book, name, &bytes, &columns),
            "log" => common::log(&mut book, name, &bytes, &columns),
            other => panic!("unknown part `{other}`"),
        };
        if let Err(error) = read {
            shown += &format!("error {}: {error}\n", error.code());
        }
    }
    common::show(&mut book) + &shown
}

fn check(file: &str) {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases").join(file);
    let text = std::fs::read_to_string(&path).unwrap();
    let mut blessed = String::new();
    let mut wrong = Vec::new();
    let mut cases = 0;
    for case in text.split("\n=== ").skip(1) {
        let (input, expected) = case.split_once("\n=>\n").expect("every case says what is shown");
        let actual = run(input);
        if actual.trim_end() != expected.trim_end() {
            wrong.push(format!("{}\nexpected:\n{expected}\nshown:\n{actual}", input.lines().next().unwrap()));
        }
        blessed += &format!("\n=== {input}\n=>\n{actual}");
        cases += 1;
    }
    if std::env::var_os("KITLORE_BLESS").is_some() {
        let intro = text.split("\n=== ").next().unwrap();
        std::fs::write(&path, format!("{intro}{blessed}")).unwrap();
        return;
    }
    assert!(cases > 0, "{file} holds no case");
    assert!(wrong.is_empty(), "{file}: {} of {cases} differ\n\n{}", wrong.len(), wrong.join("\n\n"));
}

#[test]
fn csv() {
    check("csv.txt");
}

#[test]
fn jsonl() {
    check("jsonl.txt");
}

#[test]
fn columns() {
    check("columns.txt");
}

/// `more-problems` needs ten thousand of them: see `hostile.rs`.
#[test]
fn every_code_has_a_case() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases");
    let cases: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|file| std::fs::read_to_string(file.unwrap().path()).unwrap())
        .collect();
    // Many problems, and what only frames have.
    let elsewhere = ["more-problems", "midnights"];
    let codes = kitlore_tables::codes::Code::ALL.iter().map(|code| code.word());
    for code in codes.filter(|code| !elsewhere.contains(code)) {
        assert!(cases.iter().any(|text| text.contains(&format!(" {code}: "))), "no case shows `{code}`");
    }
}
