//! Problems that several formats report.

use crate::codes::Code;
use crate::error::short;
use crate::mapping::{Doubt, Kind};
use kitlore_engine::{Argument, Problem};

/// A cell that cannot be used.
pub(crate) fn bad_value(sentence: &'static str, field: &str, what: &str) -> Problem {
    Problem::new(Code::BadValue, sentence).with("field", field).with("what", what)
}

/// A heading that is no field and probably should be one; `table` is named where no place says it.
pub(crate) fn unknown_heading(doubt: &Doubt, kind: Kind, table: Option<&str>) -> Problem {
    let code = match kind {
        Kind::Items => Code::UnknownHeading,
        Kind::Log => Code::UnreadColumn,
    };
    let sentence = match table {
        None => "the column `{column}` is {use}",
        Some(_) => "the column `{column}` of `{table}` is {use}",
    };
    let problem = Problem::new(code, sentence).with("column", short(&doubt.heading)).meant(doubt.meant);
    let problem = problem.with("use", Argument::Words(kind.use_of_others().into()));
    match table {
        None => problem,
        Some(table) => problem.with("table", table),
    }
}
