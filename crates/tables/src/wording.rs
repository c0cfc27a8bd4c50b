//! Turns of phrase that several messages have.

/// The name that was probably meant, in brackets.
pub(crate) fn did_you_mean(meant: Option<&str>) -> String {
    meant.map_or_else(String::new, |meant| format!(" (did you mean `{meant}`?)"))
}
