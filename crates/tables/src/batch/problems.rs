//! Problems that several formats report.

use crate::codes::Code;
use crate::error::short;
use crate::mapping::Kind;
use kitlore_engine::{Argument, Problem};

/// A cell that cannot be used.
pub(crate) fn bad_value(sentence: &'static str, field: &str, what: &str) -> Problem {
    Problem::new(Code::BadValue, sentence).with("field", field).with("what", what)
}

/// A heading that is no field.
pub(crate) fn unknown_heading(heading: &str, kind: Kind) -> Problem {
    let use_of_it = Argument::Words(kind.use_of_others().into());
    let problem = Problem::new(Code::UnknownHeading, "the column `{column}` is {use}");
    problem.with("column", short(heading)).with("use", use_of_it)
}
