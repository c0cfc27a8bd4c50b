//! The due list for spreadsheets: one line per row.

use crate::screen::Host;
use crate::stop::Stop;
use kitlore::render::{Days, reasons};
use kitlore::{Amount, Instant, Row, Standings};

const HEADINGS: [&str; 13] = [
    "item",
    "kind",
    "task",
    "standing",
    "due_at",
    "limit_at",
    "last_done",
    "needs",
    "takes_minutes",
    "by",
    "because",
    "cautions",
    "reasons",
];

/// Writes every row.
pub(crate) fn write(standings: &Standings, host: &mut Host<'_>) -> Result<(), Stop> {
    let days = Days::new(standings.program(), standings.at());
    let mut writer = csv::Writer::from_writer(&mut *host.out);
    writer.write_record(HEADINGS).map_err(failed)?;
    for row in standings.rows() {
        writer.write_record(cells(&row, standings, &days).map(|cell| guarded(&cell))).map_err(failed)?;
    }
    Ok(writer.flush()?)
}

/// The underlying error, so that a closed pipe is recognised.
pub(crate) fn failed(error: csv::Error) -> Stop {
    match error.into_kind() {
        csv::ErrorKind::Io(error) => Stop::Write(error),
        other => Stop::Write(std::io::Error::other(format!("{other:?}"))),
    }
}

fn cells(row: &Row<'_>, standings: &Standings, days: &Days<'_>) -> [String; 13] {
    let time =
        |at: Option<Instant>| at.map_or_else(String::new, |at| standings.program().local(at).to_rfc3339());
    let text = |text: Option<&str>| text.unwrap_or_default().to_owned();
    [
        row.item.to_owned(),
        row.kind.to_owned(),
        row.task.to_owned(),
        row.standing.to_string(),
        time(row.due_at),
        time(row.limit_at),
        time(row.last_done),
        row.needs().join("; "),
        row.takes_minutes().as_ref().map(Amount::to_string).unwrap_or_default(),
        text(row.by()),
        text(row.because()),
        row.cautions().join("; "),
        reasons(row, days).join("; "),
    ]
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
