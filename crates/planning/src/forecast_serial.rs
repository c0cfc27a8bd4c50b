//! Forecasts as serde values: the JSON of the command line and of Python.

use crate::forecast::{Forecast, Forecasts};
use crate::serial;
use kitlore_engine::{Amount, Instant, Row};
use serde::ser::{Serialize, SerializeStruct, Serializer};

impl Serialize for Forecasts {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut fields = serializer.serialize_struct("Forecasts", 8)?;
        fields.serialize_field("house", &self.program().house().name)?;
        fields.serialize_field("at", &self.shown(self.at()))?;
        fields.serialize_field("from", &self.from())?;
        fields.serialize_field("to", &self.to())?;
        fields.serialize_field("days", &self.days())?;
        fields.serialize_field("seed", &self.seed())?;
        fields.serialize_field("rows", &Rows(self))?;
        fields.serialize_field("problems", self.standings().problems())?;
        fields.end()
    }
}

impl Forecasts {
    /// RFC 3339 in the house's time zone.
    fn shown(&self, at: Instant) -> String {
        self.program().local(at).to_rfc3339()
    }
}

struct Rows<'a>(&'a Forecasts);

impl Serialize for Rows<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let all = self.0;
        serializer.collect_seq(all.with_standings().map(|(forecast, row)| Told { all, forecast, row }))
    }
}

struct Told<'a> {
    all: &'a Forecasts,
    forecast: &'a Forecast,
    row: Row<'a>,
}

impl Serialize for Told<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Told { all, forecast, row } = self;
        let time = |at: Option<Instant>| at.map(|at| all.shown(at));
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
        fields.serialize_field("basis", &forecast.basis)?;
        fields.serialize_field("enough", &forecast.enough())?;
        fields.serialize_field("too_little", &forecast.too_little)?;
        fields.serialize_field("needs", &row.needs())?;
        fields.serialize_field("takes_minutes", &row.takes_minutes().map(Minutes))?;
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

struct Minutes(Amount);

impl Serialize for Minutes {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serial::minutes(&self.0, serializer)
    }
}
