//! The file of a saved book: what is changed, cut off, too long or cannot be read.

use super::{RULES, saved, small};
use kitlore_engine::{Book, Entry, Item, LoadError, Problem, Program};
use std::io::{self, BufWriter, Read, Write};

#[test]
fn every_cut_and_every_changed_byte_is_noticed() {
    let rules = Program::parse(RULES).unwrap();
    let file = saved(&small());
    for end in 0..file.len() {
        let error = Book::load(&rules, &file[..end]).unwrap_err();
        assert!(matches!(error, LoadError::NotABook | LoadError::Damaged { .. }), "cut at {end}: {error}");
    }
    let mut errors = std::collections::BTreeMap::new();
    for at in 0..file.len() {
        for flip in [0x01, 0x80, 0xFF] {
            let mut changed = file.clone();
            changed[at] ^= flip;
            let error = Book::load(&rules, &*changed).unwrap_err();
            assert!(matches!(error, LoadError::NotABook | LoadError::Damaged { .. }), "byte {at}: {error}");
            *errors.entry(error.code()).or_insert(0) += 1;
        }
    }
    assert_eq!(errors["not-a-book"], 3 * 12);
    assert_eq!(errors["damaged-book"], 3 * (file.len() - 12));
}

/// The blocks of a file, after its head: length, checksum and content of each.
fn blocks(file: &[u8]) -> Vec<&[u8]> {
    let mut blocks = Vec::new();
    let mut at = 18;
    while at < file.len() {
        let length = u32::from_le_bytes(file[at..at + 4].try_into().unwrap()) as usize;
        blocks.push(&file[at..at + 8 + length]);
        at += 8 + length;
    }
    blocks
}

#[test]
fn blocks_that_change_places_and_what_follows_the_end_are_noticed() {
    let rules = Program::parse(RULES).unwrap();
    let file = saved(&small());
    let mut longer = file.clone();
    longer.push(0);
    let error = Book::load(&rules, &*longer).unwrap_err();
    assert_eq!(
        error.to_string(),
        format!(
            "block 13 of the saved book, at byte {}, follows where the book ends; read the tables again and save the book anew",
            file.len()
        )
    );
    let blocks = blocks(&file);
    let together = |blocks: &[&[u8]]| [&file[..18], &blocks.concat()].concat();
    assert_eq!(together(&blocks), file);
    for one in 0..blocks.len() {
        let mut without = blocks.clone();
        without.remove(one);
        assert!(Book::load(&rules, &*together(&without)).is_err(), "without block {one}");
        for other in one + 1..blocks.len() {
            let mut swapped = blocks.clone();
            swapped.swap(one, other);
            assert!(Book::load(&rules, &*together(&swapped)).is_err(), "{one} and {other} swapped");
        }
    }
}

#[test]
fn what_is_wrong_is_said_with_its_block() {
    let rules = Program::parse(RULES).unwrap();
    let file = saved(&small());
    let refusal = |bytes: &[u8]| Book::load(&rules, bytes).unwrap_err().to_string();
    let mut changed = file.clone();
    changed[40] ^= 4;
    assert_eq!(
        refusal(&changed),
        "block 1 of the saved book, at byte 18, is not as it was written; read the tables again and save the book anew"
    );
    // A length that no block has.
    let mut longer = file.clone();
    longer[21] ^= 4;
    assert_eq!(refusal(&longer), refusal(&changed));
    assert_eq!(
        refusal(&file[..file.len() - 1]),
        format!(
            "block 12 of the saved book, at byte {}, is cut off; read the tables again and save the book anew",
            file.len() - 13
        )
    );
    assert!(refusal(b"when,item,event\n").starts_with("this is no saved book"));
}

/// A file of some contents as if they had been saved so: every checksum is right.
fn written(contents: &[Vec<u8>]) -> Vec<u8> {
    let head = saved(&small())[..18].to_vec();
    (1_u32..).zip(contents).fold(head, |mut file, (number, content)| {
        let length = u32::try_from(content.len()).unwrap().to_le_bytes();
        let sum = crc32(&[&number.to_le_bytes()[..], &length, content].concat());
        file.extend([&length[..], &sum.to_le_bytes(), content].concat());
        file
    })
}

/// As in ISO 3309: the polynomial of Ethernet, bit by bit.
fn crc32(bytes: &[u8]) -> u32 {
    let bit = |sum: u32, _| if sum & 1 == 1 { (sum >> 1) ^ 0xEDB8_8320 } else { sum >> 1 };
    !bytes.iter().fold(u32::MAX, |sum, byte| (0..8).fold(sum ^ u32::from(*byte), bit))
}

/// That a file of some contents is refused: the number of the block in which that shows, and why.
fn damage(contents: &[Vec<u8>]) -> (usize, &'static str) {
    let file = written(contents);
    match Book::load(&Program::parse(RULES).unwrap(), &*file) {
        Err(LoadError::Damaged { block, at, what }) => {
            let before: usize = blocks(&file)[..block as usize - 1].iter().map(|block| block.len()).sum();
            assert_eq!(at, 18 + before as u64, "block {block} {what}");
            (block as usize, what)
        }
        other => panic!("{other:?}"),
    }
}

fn contents(file: &[u8]) -> Vec<Vec<u8>> {
    blocks(file).iter().map(|block| block[8..].to_vec()).collect()
}

#[test]
fn contents_that_no_book_has_are_refused_where_they_stand() {
    let file = saved(&small());
    let contents = contents(&file);
    assert_eq!(written(&contents), file);
    // The last block counts items, entries, reports and blocks.
    let end = contents.len();
    for (at, counted) in [(1, 2), (2, 10), (3, 1), (4, 11)] {
        let mut other = contents.clone();
        assert_eq!(other[end - 1][at], counted);
        other[end - 1][at] += 1;
        assert_eq!(damage(&other), (end, "counts other than what was read"));
    }
    // Whatever is missing is missed at the end, if not before.
    for one in 0..end - 1 {
        let mut without = contents.clone();
        without.remove(one);
        let (block, what) = damage(&without);
        assert!(block > one, "{one} is missed in block {block}");
        assert!(block == end - 1 || what == "holds what no book holds", "{one}: {what} in block {block}");
    }
    for one in 0..end {
        let mut longer = contents.clone();
        longer[one].push(0);
        assert_eq!(damage(&longer), (one + 1, "holds what no book holds"));
        let mut shorter = contents.clone();
        shorter[one].pop();
        assert_eq!(damage(&shorter), (one + 1, "holds what no book holds"));
    }
}

/// Every entry has its place in every column.
#[test]
fn columns_of_unlike_lengths_are_refused() {
    let mut book = Book::new(&Program::parse(RULES).unwrap());
    book.record(Entry::new("0001-01-02", "trip")).unwrap();
    let contents = contents(&saved(&book));
    let log = contents.len() - 2;
    // Forms, times, nanoseconds, events, items, conditions, whether amounts are whole, amounts, places,
    // what is rare, reports; of a list its length first.
    let columns: [&[u8]; 11] =
        [&[1, 1, 0], &[1, 4], &[0], &[1, 0], &[1, 0], &[1, 0], &[1], &[1, 2], &[1, 1, 0], &[0], &[0]];
    let block = |columns: [&[u8]; 11]| [&[4], &columns.concat()[..]].concat();
    assert_eq!(contents[log], block(columns));
    // A run of no entries says nothing.
    let mut other = contents.clone();
    other[log] = block([&[&[2, 0, 2, 1, 0][..]], &columns[1..]].concat().try_into().unwrap());
    let loaded = Book::load(&Program::parse(RULES).unwrap(), &*written(&other)).unwrap();
    assert!(saved(&loaded) == saved(&book));
    for (column, values) in [(1, 4), (2, 0), (3, 0), (4, 0), (5, 0), (7, 2)] {
        for unlike in [&[0][..], &[2, values, values]] {
            let mut other = contents.clone();
            let mut columns = columns;
            columns[column] = unlike;
            other[log] = block(columns);
            // Without nanoseconds all are 0.
            if (column, unlike) != (2, &[0]) {
                assert_eq!(damage(&other), (log + 1, "holds what no book holds"), "{column} {unlike:?}");
            }
        }
    }
}

/// A disk that is full, or that cannot be read.
struct Broken;

impl Write for Broken {
    fn write(&mut self, _: &[u8]) -> io::Result<usize> {
        Err(io::Error::other("no room"))
    }
    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl Read for Broken {
    fn read(&mut self, _: &mut [u8]) -> io::Result<usize> {
        Err(io::Error::other("no disk"))
    }
}

#[test]
fn what_keeps_a_book_from_being_saved_or_loaded_is_said_with_its_code() {
    let rules = Program::parse(RULES).unwrap();
    // Also what a buffer holds back is known to be written.
    for room in [0, 1 << 20] {
        let error = small().save(BufWriter::with_capacity(room, Broken)).unwrap_err();
        assert_eq!(error.to_string(), "the book cannot be written: no room");
        assert_eq!(error.code(), "cannot-write");
    }
    let long = |length: usize| {
        let mut book = Book::new(&rules);
        book.add_item(Item::new("C1", "camera").attribute("shelf", "x".repeat(length))).unwrap();
        book
    };
    let longest = |file: &[u8]| blocks(file).iter().map(|block| block.len() - 8).max().unwrap();
    let most = (64 << 20) - (longest(&saved(&long(4 << 20))) - (4 << 20));
    let file = saved(&long(most));
    assert_eq!(longest(&file), 64 << 20);
    assert_eq!(Book::load(&rules, &*file).unwrap().items().count(), 1);
    let error = long(most + 1).save(io::sink()).unwrap_err();
    assert_eq!(
        error.to_string(),
        "the book cannot be written: an item takes more than 64 MiB; shorten it in the table"
    );
    assert_eq!(error.code(), "too-long");

    let file = saved(&small());
    for end in [0, 17, 18, 20, 25, 26, 30, file.len() - 1, file.len()] {
        let error = Book::load(&rules, file[..end].chain(Broken)).unwrap_err();
        assert_eq!(error.to_string(), "the saved book cannot be read: no disk", "cut at {end}");
        assert_eq!(error.code(), "cannot-read");
    }
    let error = Book::load(&rules, &b"kitlore book\x02\x00\xf7\x6f\x1a\x04"[..]).unwrap_err();
    assert_eq!(
        error.to_string(),
        "this book was saved in version 2, and this kitlore reads up to version 1; use a later kitlore, or read the tables again"
    );
    assert_eq!(error.code(), "newer-book");
}

/// Nobody who loads a book needs room for more than a few MiB at a time, whatever it holds much of.
#[test]
fn no_block_is_long() {
    const SIZE: usize = 600_000;
    let long = |what: &str, number: usize| format!("{what} {number} {}", "x".repeat(SIZE));
    let item = |number: usize| Item::new(format!("C{number}"), "camera");
    let entry = |number: usize| Entry::new("2026-02-01", "lens change").item("C1").id(number.to_string());
    let add = |book: &mut Book, item: Item| book.add_item(item).unwrap();
    let record = |book: &mut Book, entry: Entry| book.record(entry).unwrap();
    type Fill<'a> = &'a dyn Fn(&mut Book, usize);
    let books: [(&str, Fill<'_>); 9] = [
        ("ids", &|book, n| add(book, Item::new(long("C", n), "camera"))),
        ("models", &|book, n| add(book, item(n).model(long("Alder", n)))),
        ("kits", &|book, n| add(book, item(n).kit(long("travel", n)))),
        ("attributes", &|book, n| add(book, item(n).attribute("shelf", long("left", n)))),
        ("reports", &|book, n| book.report(Problem::new("a-code-of-the-host", long("a word", n)))),
        ("notes", &|book, n| record(book, entry(n).note(long("in rain", n)))),
        ("people", &|book, n| record(book, entry(n).by(long("Jo", n)))),
        ("ids of entries", &|book, n| record(book, entry(n).id(long("id", n)))),
        ("references", &|book, n| record(book, entry(n).reference(long("trip", n)))),
    ];
    let rules = Program::parse(RULES).unwrap();
    for (what, fill) in books {
        let mut book = Book::new(&rules);
        (0..4).for_each(|number| fill(&mut book, number));
        let file = saved(&book);
        assert!(file.len() > 3 * SIZE, "{what}: {} bytes", file.len());
        let longest = blocks(&file).iter().map(|block| block.len()).max().unwrap();
        assert!(longest < 3 * SIZE, "{what}: a block of {longest} bytes, of {} in all", file.len());
        assert!(saved(&Book::load(&rules, &*file).unwrap()) == file, "{what}");
    }
}

#[test]
fn a_book_that_does_not_keep_all_entries_is_not_saved() {
    let rules =
        kitlore_engine::Program::parse("for cameras\n after 20 lens changes, inspect sensor").unwrap();
    let mut book = kitlore_engine::Book::new(&rules);
    book.add_item(kitlore_engine::Item::new("C1", "camera")).unwrap();
    book.answer_for(["C1"]);
    let error = book.save(Vec::new()).unwrap_err();
    assert_eq!(error.code(), "in-part");
}
