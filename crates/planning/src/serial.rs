//! Values as they go out through serde.

use kitlore_engine::{Amount, Standing};
use serde::{Serialize, Serializer};

/// Minutes as a number, whole where they are whole.
pub(crate) fn minutes<S: Serializer>(minutes: &Amount, serializer: S) -> Result<S::Ok, S::Error> {
    let micros = minutes.micros();
    if micros % 1_000_000 == 0 {
        return serializer.serialize_i64(micros / 1_000_000);
    }
    match minutes.to_string().parse() {
        Ok(minutes) => serializer.serialize_f64(minutes),
        Err(_) => serializer.serialize_none(),
    }
}

/// As [`minutes`], or nothing.
pub(crate) fn maybe_minutes<S: Serializer>(given: &Option<Amount>, serializer: S) -> Result<S::Ok, S::Error> {
    match given {
        Some(given) => minutes(given, serializer),
        None => serializer.serialize_none(),
    }
}

/// An amount as text, exact.
pub(crate) fn amount<S: Serializer>(amount: &Amount, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_str(amount)
}

/// As [`amount`], or nothing.
pub(crate) fn maybe_amount<S: Serializer>(amount: &Option<Amount>, serializer: S) -> Result<S::Ok, S::Error> {
    amount.as_ref().map(Amount::to_string).serialize(serializer)
}

/// A standing's word.
pub(crate) fn standing<S: Serializer>(standing: &Standing, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(standing.word())
}
