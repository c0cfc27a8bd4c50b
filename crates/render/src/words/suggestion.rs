//! The name that was probably meant.

/// ` (did you mean ...?)`, or nothing.
pub fn did_you_mean(meant: Option<&str>) -> String {
    meant.map_or_else(String::new, |meant| format!(" (did you mean `{meant}`?)"))
}
