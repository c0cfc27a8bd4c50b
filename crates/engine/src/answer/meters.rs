//! Meters: what a reading adds to what was shown before.

/// What one meter of an item last showed, and how its uses come.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Meter {
    last: Option<i64>,
    amounts: bool,
    readings: bool,
}

/// How far a meter moved with a reading, in millionths.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Step {
    /// A meter that fell was replaced by one that began at 0.
    pub by: i64,
    /// What it showed before; `None` at its first reading.
    pub before: Option<i64>,
}

impl Meter {
    /// Takes a reading.
    pub fn read(&mut self, reading: i64) -> Step {
        self.readings = true;
        let before = self.last.replace(reading);
        let by = reading - before.filter(|before| reading >= *before).unwrap_or(0);
        Step { by, before }
    }

    /// Takes an amount.
    pub fn add(&mut self) {
        self.amounts = true;
    }

    /// Whether it comes both as readings and as amounts.
    pub fn is_mixed(&self) -> bool {
        self.amounts && self.readings
    }
}

impl Step {
    /// What the meter showed before, if it fell.
    pub fn fell_from(&self, reading: i64) -> Option<i64> {
        self.before.filter(|before| reading < *before)
    }

    /// Whether the reading differs from the one before it.
    pub fn moved(&self, reading: i64) -> bool {
        self.before.is_some_and(|before| before != reading)
    }
}
