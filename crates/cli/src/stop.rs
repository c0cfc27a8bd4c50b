//! What ends a command early.

/// Why a command ends early.
pub(crate) enum Stop {
    /// The rules or the data prevent it; the message says where and what to do.
    Data(String),
    /// Wrong use of the command.
    Use(String),
    /// Everything was reported already; the exit code.
    Reported(u8),
    /// The results cannot be written.
    Write(std::io::Error),
}

impl Stop {
    pub fn data(message: impl ToString) -> Self {
        Self::Data(message.to_string())
    }
}

impl From<std::io::Error> for Stop {
    fn from(error: std::io::Error) -> Self {
        Self::Write(error)
    }
}
