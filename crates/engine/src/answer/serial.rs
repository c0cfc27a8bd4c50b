//! Standings as serde values: the JSON of the command line and of Python.

use super::clause::Part;
use super::standings::{Account, Awaited, Row, RuleText, Standings};
use crate::time::Instant;
use kitlore_syntax::Amount;
use serde::ser::{Serialize, SerializeStruct, Serializer};

impl Serialize for Standings {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut fields = serializer.serialize_struct("Standings", 5)?;
        fields.serialize_field("house", &self.program().house().name)?;
        fields.serialize_field("at", &shown(self, self.at()))?;
        fields.serialize_field("rows", &Rows(self))?;
        fields.serialize_field("awaited", &self.awaited().collect::<Vec<_>>())?;
        fields.serialize_field("problems", self.problems())?;
        fields.end()
    }
}

/// RFC 3339 in the house's time zone.
fn shown(standings: &Standings, at: Instant) -> String {
    standings.program().local(at).to_rfc3339()
}

fn maybe(standings: &Standings, at: Option<Instant>) -> Option<String> {
    at.map(|at| shown(standings, at))
}

impl Serialize for Awaited<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut fields = serializer.serialize_struct("Awaited", 3)?;
        fields.serialize_field("item", self.item)?;
        fields.serialize_field("kind", self.kind)?;
        fields.serialize_field("there_from", &self.there_from.to_string())?;
        fields.end()
    }
}

struct Rows<'a>(&'a Standings);

impl Serialize for Rows<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.0.rows())
    }
}

impl Serialize for Row<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let standings = self.standings();
        let mut fields = serializer.serialize_struct("Row", 14)?;
        fields.serialize_field("item", self.item)?;
        fields.serialize_field("kind", self.kind)?;
        fields.serialize_field("task", self.task)?;
        fields.serialize_field("standing", self.standing.word())?;
        fields.serialize_field("due_at", &maybe(standings, self.due_at))?;
        fields.serialize_field("limit_at", &maybe(standings, self.limit_at))?;
        fields.serialize_field("last_done", &maybe(standings, self.last_done))?;
        fields.serialize_field("needs", &self.needs())?;
        fields.serialize_field("takes_minutes", &self.takes_minutes().map(JsonMinutes))?;
        fields.serialize_field("by", &self.by())?;
        fields.serialize_field("because", &self.because())?;
        fields.serialize_field("cautions", &self.cautions())?;
        fields.serialize_field("rules", &self.rules().collect::<Vec<_>>())?;
        fields.serialize_field("silenced", &self.silenced().collect::<Vec<_>>())?;
        fields.end()
    }
}

/// Minutes as a JSON number, whole where they are whole.
///
/// ```
/// use kitlore_engine::{Amount, JsonMinutes};
/// let json = |text: &str| Some(serde_json::to_string(&JsonMinutes(text.parse().ok()?)).ok()?);
/// assert_eq!(json("90").as_deref(), Some("90"));
/// assert_eq!(json("2.5").as_deref(), Some("2.5"));
/// ```
#[derive(Debug, Clone, Copy)]
pub struct JsonMinutes(pub Amount);

impl Serialize for JsonMinutes {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let micros = self.0.micros();
        if micros % 1_000_000 == 0 {
            return serializer.serialize_i64(micros / 1_000_000);
        }
        match self.0.to_string().parse() {
            Ok(minutes) => serializer.serialize_f64(minutes),
            Err(_) => serializer.serialize_none(),
        }
    }
}

impl Serialize for RuleText<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut fields = serializer.serialize_struct("RuleText", 2)?;
        fields.serialize_field("file", self.file)?;
        fields.serialize_field("line", &self.line)?;
        fields.end()
    }
}

impl Serialize for Account<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let standings = self.standings();
        let parts =
            |parts: Vec<_>| parts.into_iter().map(|part| ShownPart { standings, part }).collect::<Vec<_>>();
        let mut fields = serializer.serialize_struct("Account", 8)?;
        fields.serialize_field("file", self.rule.file)?;
        fields.serialize_field("line", &self.rule.line)?;
        fields.serialize_field("standing", self.standing.word())?;
        fields.serialize_field("due_at", &maybe(standings, self.due_at))?;
        fields.serialize_field("late_at", &maybe(standings, self.late_at))?;
        fields.serialize_field("limit_at", &maybe(standings, self.limit_at))?;
        fields.serialize_field("parts", &parts(self.parts()))?;
        fields.serialize_field("limit_parts", &parts(self.limit_parts()))?;
        fields.end()
    }
}

/// A part with the zone its times are shown in.
struct ShownPart<'a> {
    standings: &'a Standings,
    part: Part<'a>,
}

impl Serialize for ShownPart<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let part = &self.part;
        let mut fields = serializer.serialize_struct("Part", 7)?;
        fields.serialize_field("text", part.text)?;
        fields.serialize_field("kind", part.kind)?;
        fields.serialize_field("count", &part.count.map(|count| count.to_string()))?;
        fields.serialize_field("of", &part.of.map(|of| of.to_string()))?;
        fields.serialize_field("reached_at", &maybe(self.standings, part.reached_at))?;
        fields.serialize_field("counts_from", &part.from.map(|from| from.to_string()))?;
        fields.serialize_field("tipped_by", &part.tipped_by)?;
        fields.end()
    }
}
