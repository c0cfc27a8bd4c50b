#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::string_slice, reason = "tests")]

use super::CsvRecords;
use proptest::prelude::*;
use std::io::Read;

/// Gives a few bytes at a time, so that every place of a table falls on the end of what is at hand.
struct Slow<'a>(&'a [u8], usize);

impl Read for Slow<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        let count = self.1.min(self.0.len()).min(buffer.len());
        buffer[..count].copy_from_slice(&self.0[..count]);
        self.0 = &self.0[count..];
        Ok(count)
    }
}

type Records = Vec<(u64, Vec<String>)>;

fn ours(text: &str, step: usize) -> (u8, Records) {
    let mut records = CsvRecords::open("t.csv", Slow(text.as_bytes(), step), 1 << 20).unwrap();
    let mut found = Vec::new();
    while let Some(record) = records.next().unwrap() {
        found.push((record.line, record.text().unwrap().fields().map(str::to_owned).collect()));
    }
    (records.delimiter(), found)
}

/// The records of the csv crate, their lines counted from where it says that they start.
fn theirs(text: &str, delimiter: u8) -> Records {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter)
        .from_reader(text.as_bytes());
    let records = reader.records().map(|record| {
        let record = record.unwrap();
        let byte = usize::try_from(record.position().unwrap().byte()).unwrap();
        let blank = text[byte..].len() - text[byte..].trim_start_matches(['\r', '\n']).len();
        let line = 1 + text[..byte + blank].matches('\n').count() as u64;
        (line, record.iter().map(|field| field.trim().to_owned()).collect())
    });
    records.collect()
}

proptest! {
    #[test]
    fn records_are_those_of_the_csv_crate(
        parts in prop::collection::vec(prop::sample::select(vec!["a", "bc", "é", " ", ",", ";", "\t", "\"", "\"\"", "\n", "\r\n", ",\"x\ny\",", "1"]), 0..60),
        step in 1_usize..9,
    ) {
        let text = parts.concat();
        let (delimiter, found) = ours(&text, step);
        prop_assert_eq!(found, theirs(&text, delimiter));
    }
}
