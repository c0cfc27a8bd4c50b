//! Forecasts for spreadsheets: one line per row.

use crate::due_csv::{failed, guarded};
use crate::screen::Host;
use crate::stop::Stop;
use kitlore::planning::{Forecast, Forecasts};
use kitlore::render::{basis, too_little};
use kitlore::{Amount, NaiveDate, Row};

const HEADINGS: [&str; 16] = [
    "item",
    "kind",
    "task",
    "standing",
    "due_at",
    "p10",
    "p50",
    "p90",
    "chance",
    "basis",
    "too_little",
    "needs",
    "takes_minutes",
    "by",
    "because",
    "cautions",
];

/// Writes every row.
pub(crate) fn write(ahead: &Forecasts, host: &mut Host<'_>) -> Result<(), Stop> {
    let mut writer = csv::Writer::from_writer(&mut *host.out);
    writer.write_record(HEADINGS).map_err(failed)?;
    for (forecast, row) in ahead.with_standings() {
        writer.write_record(cells(ahead, forecast, &row).map(|cell| guarded(&cell))).map_err(failed)?;
    }
    Ok(writer.flush()?)
}

fn cells(ahead: &Forecasts, forecast: &Forecast, row: &Row<'_>) -> [String; 16] {
    let date = |date: Option<NaiveDate>| date.map(|date| date.to_string()).unwrap_or_default();
    let text = |text: Option<&str>| text.unwrap_or_default().to_owned();
    let due = forecast.due_at.map(|at| ahead.program().local(at).to_rfc3339());
    [
        forecast.item.clone(),
        forecast.kind.clone(),
        forecast.task.clone(),
        forecast.standing.to_string(),
        due.unwrap_or_default(),
        date(forecast.p10),
        date(forecast.p50),
        date(forecast.p90),
        format!("{:.2}", forecast.chance_by(ahead.to())),
        basis(&forecast.basis),
        too_little(forecast).unwrap_or_default(),
        row.needs().join("; "),
        row.takes_minutes().as_ref().map(Amount::to_string).unwrap_or_default(),
        text(row.by()),
        text(row.because()),
        row.cautions().join("; "),
    ]
}
