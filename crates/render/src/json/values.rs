//! Single values as they go out through serde.

use kitlore_engine::Amount;
use serde::{Serialize, Serializer};

/// Minutes as a number, whole where they are whole.
pub(crate) struct JsonMinutes(pub Amount);

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
