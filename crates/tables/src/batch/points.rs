//! Numbers whose point may group digits: `1.234` in a table whose cells are separated by `;`.

use super::value::{Row, Value};
use crate::codes::Code;
use crate::error::{narrow, short};
use crate::mapping::{Field, Kind};
use kitlore_engine::Problem;

/// Such numbers by column: how many, the line and the text of the first.
#[derive(Debug, Default)]
pub(crate) struct Points(Vec<Seen>);

#[derive(Debug)]
struct Seen {
    column: String,
    count: u64,
    line: u32,
    text: String,
}

impl Points {
    /// Looks at the numbers of a row.
    pub fn look(&mut self, row: &impl Row, kind: Kind, line: u64) {
        if !row.may_group_by_points() {
            return;
        }
        let mut look = |column: &str, value: Value<'_>| {
            let text = value.text().trim();
            if is_doubtful(text) {
                self.add(Seen {
                    column: column.to_owned(),
                    count: 1,
                    line: narrow(line),
                    text: text.to_owned(),
                });
            }
        };
        match kind {
            Kind::Log => {
                for field in [Field::Amount, Field::Reading] {
                    look(field.name(), row.get(field));
                }
            }
            Kind::Items => row.attributes(&mut look),
        }
    }

    /// Moves the lines down by some.
    pub fn move_down(&mut self, lines: u32) {
        self.0.iter_mut().for_each(|seen| seen.line = seen.line.saturating_add(lines));
    }

    /// Adds those of rows that come after.
    pub fn append(&mut self, others: Self) {
        others.0.into_iter().for_each(|seen| self.add(seen));
    }

    fn add(&mut self, seen: Seen) {
        match self.0.iter_mut().find(|known| known.column == seen.column) {
            Some(known) => known.count += seen.count,
            None => self.0.push(seen),
        }
    }

    /// One problem for each column, with the line of the first.
    pub fn problems(self) -> impl Iterator<Item = (u32, Problem)> {
        self.0.into_iter().map(|Seen { column, count, line, text }| {
            let sentence =
                "`{column}` `{text}` is read as a decimal; if its point groups digits, write it without";
            let problem = Problem::new(Code::PointOrGroup, sentence);
            let problem = problem.with("column", short(&column)).with("text", short(&text));
            match count {
                1 => (line, problem),
                _ => (line, problem.then("so in {count} rows").with("count", count)),
            }
        })
    }
}

/// Whether a text is a number with one point and three digits after it.
fn is_doubtful(text: &str) -> bool {
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    let number = text.strip_prefix('-').unwrap_or(text);
    number.split_once('.').is_some_and(|(whole, rest)| digits(whole) && rest.len() == 3 && digits(rest))
}

#[cfg(test)]
mod tests {
    use super::is_doubtful;

    #[test]
    fn a_point_before_three_digits_may_group_them() {
        for text in ["1.234", "-1.234", "12345.000", "0.125"] {
            assert!(is_doubtful(text), "{text}");
        }
        for text in
            ["1.23", "1.2345", "1.234.567", "1234", ".234", "1.23a", "a.234", "1,234.567", "1 .234", ""]
        {
            assert!(!is_doubtful(text), "{text}");
        }
    }
}
