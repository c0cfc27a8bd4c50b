//! Forecasts.

use crate::words::{basis, too_little};
use kitlore_engine::{Instant, JsonMinutes, Row};
use kitlore_planning::{Forecast, Forecasts};
use serde::ser::{Serialize, SerializeStruct, Serializer};

/// Forecasts as a serde value.
pub fn forecasts(forecasts: &Forecasts) -> impl Serialize + '_ {
    JsonForecasts(forecasts)
}

struct JsonForecasts<'a>(&'a Forecasts);

impl Serialize for JsonForecasts<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let all = self.0;
        let mut fields = serializer.serialize_struct("Forecasts", 9)?;
        fields.serialize_field("house", &all.program().house().name)?;
        fields.serialize_field("at", &shown(all, all.at()))?;
        fields.serialize_field("from", &all.from())?;
        fields.serialize_field("to", &all.to())?;
        fields.serialize_field("days", &all.days())?;
        fields.serialize_field("seed", &all.seed())?;
        fields.serialize_field("rows", &JsonRows(all))?;
        fields.serialize_field("awaited", &all.standings().awaited().collect::<Vec<_>>())?;
        fields.serialize_field("problems", all.standings().problems())?;
        fields.end()
    }
}

/// RFC 3339 in the house's time zone.
fn shown(all: &Forecasts, at: Instant) -> String {
    all.program().local(at).to_rfc3339()
}

struct JsonRows<'a>(&'a Forecasts);

impl Serialize for JsonRows<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let all = self.0;
        serializer.collect_seq(all.with_standings().map(|(forecast, row)| JsonForecast {
            all,
            forecast,
            row,
        }))
    }
}

struct JsonForecast<'a> {
    all: &'a Forecasts,
    forecast: &'a Forecast,
    row: Row<'a>,
}

impl Serialize for JsonForecast<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Self { all, forecast, row } = self;
        let time = |at: Option<Instant>| at.map(|at| shown(all, at));
        let by_day: Vec<f64> = all.dates().map(|date| rounded(forecast.chance_by(date))).collect();
        let mut fields = serializer.serialize_struct("Forecast", 19)?;
        fields.serialize_field("item", &forecast.item)?;
        fields.serialize_field("kind", &forecast.kind)?;
        fields.serialize_field("task", &forecast.task)?;
        fields.serialize_field("standing", forecast.standing.word())?;
        fields.serialize_field("due_at", &time(forecast.due_at))?;
        fields.serialize_field("limit_at", &time(row.limit_at))?;
        fields.serialize_field("p10", &forecast.p10)?;
        fields.serialize_field("p50", &forecast.p50)?;
        fields.serialize_field("p90", &forecast.p90)?;
        fields.serialize_field("chance", &by_day.last().copied().unwrap_or(0.0))?;
        fields.serialize_field("basis", &basis(&forecast.basis))?;
        fields.serialize_field("enough", &forecast.enough())?;
        fields.serialize_field("too_little", &too_little(forecast))?;
        fields.serialize_field("needs", &row.needs())?;
        fields.serialize_field("takes_minutes", &row.takes_minutes().map(JsonMinutes))?;
        fields.serialize_field("by", &row.by())?;
        fields.serialize_field("because", &row.because())?;
        fields.serialize_field("cautions", &row.cautions())?;
        // The chance by the end of each day, from `from` to `to`.
        fields.serialize_field("by_day", &by_day)?;
        fields.end()
    }
}

/// Chances are never so exact that a fifth digit means anything.
fn rounded(chance: f64) -> f64 {
    (chance * 10_000.0).round() / 10_000.0
}
