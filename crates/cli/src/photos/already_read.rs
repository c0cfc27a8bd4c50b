//! Which pictures were read for a log before: a file beside the log, so that they need not be read again.
//!
//! It only saves time. Without it all pictures are read, and the ids of the log's entries ensure that nothing is
//! added twice. Each picture has one line of 32 digits: a fingerprint of 128 bits of its path, size and time of
//! change. The lines are sorted: one is found with a few reads, and new ones are merged with those in the file, so
//! that the list is never in memory.

use kitlore::photos::SpillError;
use siphasher::sip128::{Hasher128, SipHasher24};
use std::fs::File;
use std::hash::Hasher;
use std::io::{self, BufReader, BufWriter, ErrorKind, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// First line of the list.
const HEAD: &[u8] = b"kitlore: pictures read for this log, a line for each; may be deleted\n";

/// A picture's line: 32 hexadecimal digits and the line's end.
type Fingerprint = [u8; 33];
const LINE: usize = size_of::<Fingerprint>();

/// How many lines one read covers.
const LOOK: u64 = 128;
/// How many new lines are merged with the list at a time.
const PART: usize = 1 << 15;

/// The fingerprints of the pictures read for a log.
pub(crate) struct AlreadyRead {
    path: PathBuf,
    list: Option<FingerprintFile>,
}

impl AlreadyRead {
    /// The list of a log: its file name with `.pictures`. One that cannot be read, or has another format, counts as
    /// empty.
    pub fn of(log: &str) -> Self {
        let path = PathBuf::from(format!("{log}.pictures"));
        let list = File::open(&path).and_then(FingerprintFile::of).ok();
        Self { path, list }
    }

    pub fn has(&mut self, picture: &Path) -> bool {
        let Some(list) = &mut self.list else { return false };
        line(picture).is_some_and(|line| list.has(&line).unwrap_or(false))
    }

    /// Adds pictures: a new list is written and then put in the place of the old one.
    pub fn add(self, pictures: impl Iterator<Item = Result<PathBuf, SpillError>>) -> io::Result<()> {
        let lines = pictures.filter_map(|picture| picture.map(|picture| line(&picture)).transpose());
        self.add_lines(lines.map(|line| line.map_err(io::Error::other)))
    }

    fn add_lines(self, mut lines: impl Iterator<Item = io::Result<Fingerprint>>) -> io::Result<()> {
        let folder = self.path.parent().filter(|folder| !folder.as_os_str().is_empty());
        let mut list = self.list;
        let mut written: Option<NamedTempFile> = None;
        loop {
            let mut part = lines.by_ref().take(PART).collect::<io::Result<Vec<Fingerprint>>>()?;
            if part.is_empty() {
                break;
            }
            part.sort_unstable();
            part.dedup();
            let before = list.as_ref().map_or(0, |list| list.lines);
            let file = NamedTempFile::new_in(folder.unwrap_or(Path::new(".")))?;
            merge(list.as_mut(), &part, file.as_file())?;
            let merged = FingerprintFile::of(file.reopen()?)?;
            if merged.lines > before {
                (list, written) = (Some(merged), Some(file));
            }
        }
        // Some systems do not let an open file be replaced.
        drop(list);
        if let Some(file) = written {
            file.persist(&self.path)?;
        }
        Ok(())
    }
}

/// Merges the lines of a list with others; both are sorted.
fn merge(list: Option<&mut FingerprintFile>, more: &[Fingerprint], to: &File) -> io::Result<()> {
    let mut to = BufWriter::new(to);
    to.write_all(HEAD)?;
    let mut more = more.iter().peekable();
    if let Some(list) = list {
        list.file.seek(SeekFrom::Start(HEAD.len() as u64))?;
        let mut file = BufReader::new(&list.file);
        for _ in 0..list.lines {
            let mut old: Fingerprint = [0; LINE];
            file.read_exact(&mut old)?;
            while let Some(new) = more.next_if(|new| **new <= old) {
                if *new < old {
                    to.write_all(new)?;
                }
            }
            to.write_all(&old)?;
        }
    }
    more.try_for_each(|new| to.write_all(new))?;
    to.flush()
}

/// A list in its file.
struct FingerprintFile {
    file: File,
    lines: u64,
}

impl FingerprintFile {
    fn of(mut file: File) -> io::Result<Self> {
        let mut head = [0; HEAD.len()];
        file.read_exact(&mut head)?;
        if head != HEAD {
            return Err(ErrorKind::InvalidData.into());
        }
        let lines = (file.metadata()?.len() - HEAD.len() as u64) / LINE as u64;
        Ok(Self { file, lines })
    }

    /// Interpolation search: fingerprints are spread evenly.
    fn has(&mut self, line: &Fingerprint) -> io::Result<bool> {
        // The lines it must lie between, and the numbers these begin with.
        let (mut lines, mut numbers) = (0..self.lines, 0..u64::MAX);
        let mut bytes = Vec::new();
        for look in 1_u32.. {
            let length = lines.end - lines.start;
            if length == 0 {
                break;
            }
            let share = u128::from(number(line)?.saturating_sub(numbers.start)) * u128::from(length)
                / u128::from(numbers.end.saturating_sub(numbers.start).max(1));
            // However the lines are spread, every third look halves the rest.
            let at =
                if look % 3 == 0 { length / 2 } else { length.min(u64::try_from(share).unwrap_or(length)) };
            let first = (lines.start + at).saturating_sub(LOOK / 2);
            let first = first.min(lines.end.saturating_sub(LOOK)).max(lines.start);
            let part = first..lines.end.min(first + LOOK);
            bytes.resize(usize::try_from(part.end - part.start).unwrap_or_default() * LINE, 0);
            self.file.seek(SeekFrom::Start(HEAD.len() as u64 + first * LINE as u64))?;
            self.file.read_exact(&mut bytes)?;
            let (seen, _) = bytes.as_chunks::<LINE>();
            match (seen.first(), seen.last()) {
                (Some(first), _) if line < first => (lines.end, numbers.end) = (part.start, number(first)?),
                (_, Some(last)) if line > last => (lines.start, numbers.start) = (part.end, number(last)?),
                _ => return Ok(seen.binary_search(line).is_ok()),
            }
        }
        Ok(false)
    }
}

/// The number that a line begins with.
fn number(line: &Fingerprint) -> io::Result<u64> {
    let digits = line.first_chunk::<16>().and_then(|digits| std::str::from_utf8(digits).ok());
    let number = digits.and_then(|digits| u64::from_str_radix(digits, 16).ok());
    number.ok_or_else(|| ErrorKind::InvalidData.into())
}

/// The line of a picture; none if it is gone.
fn line(picture: &Path) -> Option<Fingerprint> {
    let metadata = picture.metadata().ok()?;
    let changed = metadata.modified().ok()?.duration_since(std::time::UNIX_EPOCH).ok()?.as_nanos();
    let mut hasher = SipHasher24::new();
    hasher.write(&metadata.len().to_le_bytes());
    hasher.write(&changed.to_le_bytes());
    hasher.write(std::path::absolute(picture).ok()?.as_os_str().as_encoded_bytes());
    format!("{:032x}\n", hasher.finish128().as_u128()).into_bytes().try_into().ok()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "a test fails by panicking")]

    use super::*;
    use std::hash::{BuildHasher, BuildHasherDefault, DefaultHasher};

    fn line_of(number: u128) -> Fingerprint {
        format!("{number:032x}\n").into_bytes().try_into().unwrap()
    }

    /// Spread evenly, as fingerprints are.
    fn spread(number: u64) -> u128 {
        let hasher = BuildHasherDefault::<DefaultHasher>::default();
        u128::from(hasher.hash_one(number)) << 64 | u128::from(number)
    }

    fn list_of(lines: &[Fingerprint]) -> FingerprintFile {
        let file = tempfile::tempfile().unwrap();
        merge(None, lines, &file).unwrap();
        FingerprintFile::of(rewound(file)).unwrap()
    }

    fn rewound(mut file: File) -> File {
        file.rewind().unwrap();
        file
    }

    #[test]
    fn a_line_is_found_where_it_is_and_nowhere_else() {
        let even: fn(u64) -> u128 = |number| spread(number);
        let at_one_end: fn(u64) -> u128 = |number| u128::from(number) * 3;
        let at_both: fn(u64) -> u128 = |number| (u128::MAX * u128::from(number % 2)) ^ u128::from(number);
        for numbers in [even, at_one_end, at_both] {
            for count in [0, 1, 2, 127, 128, 129, 5_000] {
                let mut lines: Vec<Fingerprint> = (0..count).map(|number| line_of(numbers(number))).collect();
                lines.sort_unstable();
                let mut list = list_of(&lines);
                assert_eq!(list.lines, count);
                assert!(lines.iter().all(|line| list.has(line).unwrap()));
                let others = (count..2 * count + 9).map(|number| line_of(numbers(number)));
                assert!(
                    others
                        .filter(|line| lines.binary_search(line).is_err())
                        .all(|line| !list.has(&line).unwrap())
                );
            }
        }
    }

    #[test]
    fn lists_are_merged_in_order_without_repeats() {
        let sorted = |step: usize| {
            let mut lines: Vec<Fingerprint> =
                (0..1_000).step_by(step).map(|number| line_of(spread(number))).collect();
            lines.sort_unstable();
            lines
        };
        let (twos, threes) = (sorted(2), sorted(3));
        let file = tempfile::tempfile().unwrap();
        merge(Some(&mut list_of(&twos)), &threes, &file).unwrap();
        let mut expected = [twos, threes].concat();
        expected.sort_unstable();
        expected.dedup();
        let mut bytes = Vec::new();
        rewound(file).read_to_end(&mut bytes).unwrap();
        assert!(bytes == [HEAD.to_vec(), expected.concat()].concat());
    }

    #[test]
    fn a_list_in_another_format_is_empty_and_a_damaged_one_ends_the_search() {
        for text in
            ["", "pictures\n", "kitlore: pictures read for this log, a line for each; may be deletes\n"]
        {
            let mut file = tempfile::tempfile().unwrap();
            file.write_all(text.as_bytes()).unwrap();
            assert!(FingerprintFile::of(rewound(file)).is_err());
        }
        let lines: Vec<Fingerprint> = (0..900).rev().map(|number| line_of(spread(number))).collect();
        // Not sorted: what is found is there; what is not found is read again.
        let mut list = list_of(&lines);
        assert!(!list.has(&line_of(spread(1_000))).unwrap());
        let mut list = list_of(&[[b'?'; LINE]; 900]);
        assert!(!list.has(&line_of(spread(1))).unwrap_or(false));
    }

    #[test]
    fn many_lines_are_added_part_by_part() {
        let folder = tempfile::tempdir().unwrap();
        let log = folder.path().join("log.csv").to_string_lossy().into_owned();
        let lines: Vec<Fingerprint> = (0..PART as u64 + 700).map(|number| line_of(spread(number))).collect();
        let add =
            |lines: &[Fingerprint]| AlreadyRead::of(&log).add_lines(lines.iter().copied().map(Ok)).unwrap();
        let (early, late) = lines.split_at(300);
        add(early);
        let mut list = AlreadyRead::of(&log).list.unwrap();
        assert!(
            early.iter().all(|line| list.has(line).unwrap())
                && late.iter().all(|line| !list.has(line).unwrap())
        );
        add(&lines);
        let mut list = AlreadyRead::of(&log).list.unwrap();
        assert!(lines.iter().all(|line| list.has(line).unwrap()));
        assert_eq!(list.lines, lines.len() as u64);
        // Nothing new, nothing written.
        let written = || std::fs::metadata(format!("{log}.pictures")).unwrap().modified().unwrap();
        let at = written();
        add(&lines);
        assert_eq!(written(), at);
    }

    #[test]
    fn a_picture_that_was_changed_was_not_read() {
        let folder = tempfile::tempdir().unwrap();
        let log = folder.path().join("log.csv").to_string_lossy().into_owned();
        let pictures = [1, 2].map(|number| folder.path().join(format!("{number}.jpg")));
        pictures.iter().for_each(|picture| std::fs::write(picture, "").unwrap());
        AlreadyRead::of(&log).add(pictures.iter().cloned().map(Ok)).unwrap();
        std::fs::write(&pictures[0], "changed").unwrap();
        let mut before = AlreadyRead::of(&log);
        assert_eq!(pictures.each_ref().map(|picture| before.has(picture)), [false, true]);
    }
}
