//! How much of a file the readers take before they refuse it.

/// Bounds on what a table may hold, so that no file exhausts memory or time.
///
/// ```
/// use kitlore_tables::Limits;
/// let limits = Limits { columns: 50, ..Limits::default() };
/// assert_eq!(limits.record_bytes, 1 << 20);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of a csv or jsonl file; 16 GiB. These are read as a stream, never as a whole.
    pub text_file_bytes: u64,
    /// Bytes of one row or of one cell; 1 MiB.
    pub record_bytes: usize,
    /// Columns of a table, keys of an object; 1,000.
    pub columns: usize,
    /// Bytes of a workbook as stored; 64 MiB.
    pub workbook_bytes: u64,
    /// Bytes of all XML parts of a workbook once unpacked; 64 MiB.
    pub unpacked_bytes: u64,
    /// Parts (sheets, pictures, styles …) of a workbook; 5,000.
    pub parts: usize,
    /// Different texts in a workbook; 1,000,000.
    pub texts: usize,
    /// Problems reported one by one for one file; 10,000. The rest are counted in one last problem.
    pub problems: usize,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            text_file_bytes: 16 << 30,
            record_bytes: 1 << 20,
            columns: 1_000,
            workbook_bytes: 64 << 20,
            unpacked_bytes: 64 << 20,
            parts: 5_000,
            texts: 1_000_000,
            problems: 10_000,
        }
    }
}

/// A size for people: `64 MiB`.
pub(crate) fn size(bytes: u64) -> String {
    const UNITS: [(u32, &str); 3] = [(30, "GiB"), (20, "MiB"), (10, "KiB")];
    UNITS
        .iter()
        .find(|(shift, _)| bytes >= 1 << shift)
        .map_or_else(|| format!("{bytes} bytes"), |(shift, unit)| format!("{} {unit}", bytes >> shift))
}
