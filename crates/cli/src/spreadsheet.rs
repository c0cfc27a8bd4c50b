//! What every csv output needs: cells that are safe to open, errors of writing.

use crate::stop::Stop;

/// The underlying error, so that a closed pipe is recognised.
pub(crate) fn failed(error: csv::Error) -> Stop {
    match error.into_kind() {
        csv::ErrorKind::Io(error) => Stop::Write(error),
        other => Stop::Write(std::io::Error::other(format!("{other:?}"))),
    }
}

/// A cell that no spreadsheet program mistakes for a formula.
pub(crate) fn guarded(cell: &str) -> String {
    if cell.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{cell}") } else { cell.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::guarded;

    #[test]
    fn no_cell_is_a_formula() {
        for cell in ["=1+1", "+1", "-1", "@x", "\tx", "\rx"] {
            assert_eq!(guarded(cell), format!("'{cell}"));
        }
        assert_eq!(guarded("C=1"), "C=1");
    }
}
