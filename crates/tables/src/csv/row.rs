//! A record as a row of its table, and what is held against it.

use super::records::{CsvRecord, CsvText};
use crate::batch::{Row, Value};
use crate::codes::Code;
use crate::mapping::{Field, Kind, Layout};
use kitlore_engine::Problem;

/// A record under the headings of its table.
pub(super) struct CsvRow<'a> {
    pub text: CsvText<'a>,
    pub layout: &'a Layout,
    pub delimiter: u8,
}

impl Row for CsvRow<'_> {
    #[inline]
    fn get(&self, field: Field) -> Value<'_> {
        match self.layout.position(field) {
            None => Value::Absent,
            Some(column) => value(self.text.field(column)),
        }
    }

    fn may_have_faults(&self) -> bool {
        false
    }

    fn may_group_by_points(&self) -> bool {
        self.delimiter == b';'
    }

    fn attributes(&self, each: &mut dyn FnMut(&str, Value<'_>)) {
        for (column, heading) in &self.layout.others {
            each(heading, value(self.text.field(*column)));
        }
    }
}

#[inline]
fn value(field: &str) -> Value<'_> {
    if field.is_empty() { Value::Absent } else { Value::Text(field) }
}

/// What records are held to.
#[derive(Clone, Copy)]
pub(super) struct Check<'a> {
    pub layout: &'a Layout,
    pub kind: Kind,
    pub delimiter: u8,
}

impl Check<'_> {
    /// The text of a record, or reports why it cannot be used, or what makes it doubtful; blank ones are passed over.
    #[inline]
    pub fn usable<'a>(
        &self,
        record: &CsvRecord<'a>,
        problem: &mut impl FnMut(Problem),
    ) -> Option<CsvText<'a>> {
        let width = self.layout.width;
        let Some(text) = record.text() else {
            let sentence =
                "this row holds bytes that are not UTF-8 text and is left out; save the file as `CSV UTF-8`";
            problem(Problem::new(Code::BadText, sentence));
            return None;
        };
        if record.len() > width && text.fields().skip(width).any(|field| !field.is_empty()) {
            let sentence = "this row has {values} values under {headings} headings and is left out; put a value that holds the separator in quotes";
            let too_many = Problem::new(Code::TooManyValues, sentence).with("values", record.len());
            problem(too_many.with("headings", width));
            return None;
        }
        // The first field tells most rows from blank ones.
        if text.field(0).is_empty() && record.is_blank() {
            return None;
        }
        if record.unclosed || record.lines > 1 || !record.terminated {
            self.doubt(record, text, problem);
        }
        Some(text)
    }

    fn doubt(&self, record: &CsvRecord<'_>, text: CsvText<'_>, problem: &mut impl FnMut(Problem)) {
        let lines = record.lines;
        if record.unclosed {
            let sentence = "a quote in this row is never closed, so that {lines} lines to the end of the file are read as one; close it";
            return problem(Problem::new(Code::UnclosedQuote, sentence).with("lines", lines));
        }
        if record.lines > 1 && self.swallows_a_row(text) {
            let sentence = "a quote in this row goes over {lines} lines, and one of them looks like a row of its own; close the quote before it";
            problem(Problem::new(Code::UnclosedQuote, sentence).with("lines", lines));
        }
        if !record.terminated && record.len() < self.layout.width {
            let sentence = "the last row has no line end and fewer values than there are headings: it may have been cut off; compare it with what was meant";
            problem(Problem::new(Code::CutOff, sentence));
        }
    }

    /// Whether a line inside quotes reads as a row: as many values as there are headings, and in a log a
    /// time where one belongs.
    fn swallows_a_row(&self, text: CsvText<'_>) -> bool {
        let (layout, delimiter) = (self.layout, char::from(self.delimiter));
        text.fields().any(|field| {
            field.lines().skip(1).any(|line| {
                if self.kind == Kind::Items {
                    return layout.width > 2 && line.split(delimiter).count() == layout.width;
                }
                let when = layout.position(Field::When).and_then(|column| line.split(delimiter).nth(column));
                when.is_some_and(|when| kitlore_syntax::When::parse(when.trim()).is_ok())
                    && line.contains(delimiter)
            })
        })
    }
}
