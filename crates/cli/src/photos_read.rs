//! Which pictures were read for a log before: a list beside the log, which spares reading them again.
//!
//! It only saves time. Without it all pictures are read, and the ids of the log's entries see to it that nothing
//! is added twice. A picture stands in it by path, size and time of change.

use std::collections::HashSet;
use std::io::Write;
use std::path::{Path, PathBuf};

/// First line of the list.
const HEAD: &str = "kitlore: pictures read for this log; may be deleted";

pub(crate) struct ReadBefore {
    path: PathBuf,
    lines: HashSet<String>,
}

impl ReadBefore {
    /// The list of a log: its file name with `.pictures`. One that cannot be read is as none.
    pub fn of(log: &str) -> Self {
        let path = PathBuf::from(format!("{log}.pictures"));
        let text = std::fs::read_to_string(&path).unwrap_or_default();
        let lines = match text.strip_prefix(HEAD) {
            Some(lines) => lines.lines().filter(|line| !line.is_empty()).map(str::to_owned).collect(),
            None => HashSet::new(),
        };
        Self { path, lines }
    }

    pub fn has(&self, picture: &Path) -> bool {
        !self.lines.is_empty() && line(picture).is_some_and(|line| self.lines.contains(&line))
    }

    /// Adds pictures and writes the list anew, beside the old one and then in its place.
    pub fn add(mut self, pictures: impl Iterator<Item = PathBuf>) -> std::io::Result<()> {
        let before = self.lines.len();
        self.lines.extend(pictures.filter_map(|picture| line(&picture)));
        if self.lines.len() == before {
            return Ok(());
        }
        let folder = self.path.parent().filter(|folder| !folder.as_os_str().is_empty());
        let mut file = tempfile::NamedTempFile::new_in(folder.unwrap_or(Path::new(".")))?;
        let mut lines: Vec<&String> = self.lines.iter().collect();
        lines.sort_unstable();
        let mut writer = std::io::BufWriter::new(&mut file);
        writeln!(writer, "{HEAD}")?;
        for line in lines {
            writeln!(writer, "{line}")?;
        }
        writer.flush()?;
        drop(writer);
        file.persist(&self.path)?;
        Ok(())
    }
}

/// None of a picture that is gone, or whose path goes over several lines.
fn line(picture: &Path) -> Option<String> {
    let metadata = picture.metadata().ok()?;
    let changed = metadata.modified().ok()?.duration_since(std::time::UNIX_EPOCH).ok()?.as_nanos();
    let path = std::path::absolute(picture).ok()?;
    let path = path.to_str().filter(|path| !path.contains(['\n', '\r']))?;
    Some(format!("{} {changed} {path}", metadata.len()))
}
