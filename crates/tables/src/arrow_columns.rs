//! The columns of a log in a record batch as the book takes them: without a copy where their types allow it.

use crate::arrow_cells::{Integer, integer, is_text, text, ticks, time};
use arrow_array::cast::AsArray;
use arrow_array::types::{Float64Type, Int8Type, Int16Type, Int32Type, UInt8Type, UInt16Type, UInt32Type};
use arrow_array::{
    Array, ArrayRef, ArrowNativeTypeOp, Int64Array, LargeStringArray, StringArray, StringViewArray,
};
use arrow_buffer::ScalarBuffer;
use arrow_schema::{DataType, TimeUnit};
use kitlore_engine::columns::{Amounts, Codes, Keys, Ticks, Times};
use kitlore_engine::{Amount, When};
use std::collections::HashMap;

/// A column of times.
pub(crate) enum WhenColumn<'a> {
    Ticks(Ticks<'a>, bool),
    Days(Vec<i32>),
    Each(Vec<When>),
}

impl WhenColumn<'_> {
    pub fn times(&self) -> Times<'_> {
        match self {
            Self::Ticks(ticks, true) => Times::Instants(*ticks),
            Self::Ticks(ticks, false) => Times::Local(*ticks),
            Self::Days(days) => Times::Dates(days),
            Self::Each(whens) => Times::Each(whens),
        }
    }
}

/// The times of a column; rows that only the way of all tables can tell go to `odd`. `dates` says that its
/// local times are all midnights and mean dates.
pub(crate) fn whens<'a>(
    array: Option<&'a ArrayRef>,
    dates: bool,
    rows: usize,
    odd: &mut Vec<usize>,
) -> WhenColumn<'a> {
    let Some(array) = array else {
        odd.extend(0..rows);
        return WhenColumn::Days(vec![0; rows]);
    };
    if array.null_count() > 0 {
        odd.extend((0..rows).filter(|row| array.is_null(*row)));
    }
    match (array.data_type(), ticks(array)) {
        (DataType::Timestamp(unit, zone), Some(list)) if zone.is_some() || !dates => {
            let ticks = match unit {
                TimeUnit::Second => Ticks::Seconds(list),
                TimeUnit::Millisecond => Ticks::Millis(list),
                TimeUnit::Microsecond => Ticks::Micros(list),
                TimeUnit::Nanosecond => Ticks::Nanos(list),
            };
            WhenColumn::Ticks(ticks, zone.is_some())
        }
        _ => {
            // A time that cannot be read stands for an odd row.
            let read = |row| match time(array, row, dates) {
                Some(read) => read.ok(),
                None => When::parse(text(array, row)?.trim()).ok(),
            };
            let read = |row: usize| {
                read(row).unwrap_or_else(|| {
                    odd.push(row);
                    When::Date(chrono::NaiveDate::default())
                })
            };
            WhenColumn::Each((0..rows).map(read).collect())
        }
    }
}

/// A column of amounts.
pub(crate) enum AmountColumn<'a> {
    Absent,
    Whole(&'a [i64]),
    Each(Vec<Option<Amount>>),
}

impl AmountColumn<'_> {
    pub fn amounts(&self) -> Amounts<'_> {
        match self {
            Self::Absent => Amounts::Absent,
            Self::Whole(numbers) => Amounts::Whole(numbers),
            Self::Each(amounts) => Amounts::Each(amounts),
        }
    }
}

/// The amounts of a column; rows that only the way of all tables can tell go to `odd`.
pub(crate) fn amounts<'a>(
    array: Option<&'a ArrayRef>,
    rows: usize,
    odd: &mut Vec<usize>,
) -> AmountColumn<'a> {
    let Some(array) = array.filter(|array| array.null_count() < array.len()) else {
        return AmountColumn::Absent;
    };
    if array.null_count() == 0
        && let Some(numbers) = array.as_any().downcast_ref::<Int64Array>()
    {
        return AmountColumn::Whole(numbers.values());
    }
    let read = |row| {
        if array.is_null(row) {
            return Some(None);
        }
        let number = match array.data_type() {
            DataType::Float64 => whole(array.as_primitive::<Float64Type>().value(row))?,
            DataType::Null => return Some(None),
            _ => match integer(array, row)? {
                Integer::Signed(number) => number,
                Integer::Unsigned(number) => i64::try_from(number).ok()?,
            },
        };
        let in_range = number.unsigned_abs() < 1_000_000_000_000;
        in_range.then(|| Some(Amount::from_micros(number * 1_000_000)))
    };
    let read = |row| {
        read(row).unwrap_or_else(|| {
            odd.push(row);
            None
        })
    };
    AmountColumn::Each((0..rows).map(read).collect())
}

/// A binary fraction that is a whole number.
fn whole(number: f64) -> Option<i64> {
    const LIMIT: f64 = 1e12;
    #[expect(clippy::cast_possible_truncation, reason = "whole and within the range of the type")]
    (number.fract() == 0.0 && number.abs() < LIMIT).then_some(number as i64)
}

/// A column of names: for each row the number of its text in a list.
pub(crate) struct NameColumn<'a> {
    codes: Numbers,
    pub texts: Words<'a>,
    /// The numbers that occur, in the order they do; `None` if the book knows all texts already.
    pub used: Option<Vec<u32>>,
}

enum Numbers {
    /// Every row has text 0.
    Same,
    U8(ScalarBuffer<u8>),
    U16(ScalarBuffer<u16>),
    U32(ScalarBuffer<u32>),
}

/// The texts of a column of names; a number past the end means an empty one.
pub(crate) enum Words<'a> {
    List(Vec<&'a str>),
    Dictionary(&'a ArrayRef),
}

impl Words<'_> {
    pub fn len(&self) -> usize {
        match self {
            Self::List(list) => list.len(),
            Self::Dictionary(values) => values.len(),
        }
    }

    pub fn get(&self, number: u32) -> &str {
        let number = number as usize;
        match self {
            Self::List(list) => list.get(number).copied().unwrap_or(""),
            Self::Dictionary(values) if number < values.len() => text(values, number).unwrap_or(""),
            Self::Dictionary(_) => "",
        }
    }
}

impl<'a> NameColumn<'a> {
    fn same() -> Self {
        Self { codes: Numbers::Same, texts: Words::List(Vec::new()), used: Some(vec![0]) }
    }

    /// The names of a column, of which some keys may be known; a null is an empty text, and so is a column that
    /// is not there. Rows that only the way of all tables can tell go to `odd`.
    pub fn of<K: Copy>(
        array: Option<&'a ArrayRef>,
        known: &NameKeys<K>,
        rows: usize,
        odd: &mut Vec<usize>,
    ) -> Self {
        let Some(array) = array.filter(|array| array.data_type() != &DataType::Null) else {
            return Self::same();
        };
        if let Some(dictionary) = array.as_any_dictionary_opt() {
            if is_text(dictionary.values().data_type()) {
                let all_known = array.null_count() == 0 && known.are_all_of(dictionary.values());
                return Self::of_dictionary(array, dictionary.values(), dictionary.keys(), all_known, rows);
            }
        } else if let Some(texts) = Texts::of(array) {
            return Self::of_texts(&texts, rows);
        }
        odd.extend(0..rows);
        Self::same()
    }

    fn of_dictionary(
        array: &dyn Array,
        values: &'a ArrayRef,
        keys: &dyn Array,
        all_known: bool,
        rows: usize,
    ) -> Self {
        let count = values.len();
        let codes = match keys.data_type() {
            _ if array.null_count() > 0 => None,
            DataType::UInt8 => Some(Numbers::U8(keys.as_primitive::<UInt8Type>().values().clone())),
            DataType::UInt16 => Some(Numbers::U16(keys.as_primitive::<UInt16Type>().values().clone())),
            DataType::UInt32 => Some(Numbers::U32(keys.as_primitive::<UInt32Type>().values().clone())),
            // Numbers below 0 become large ones, which no text has.
            DataType::Int8 => {
                Some(Numbers::U8(keys.as_primitive::<Int8Type>().values().inner().clone().into()))
            }
            DataType::Int16 => {
                Some(Numbers::U16(keys.as_primitive::<Int16Type>().values().inner().clone().into()))
            }
            DataType::Int32 => {
                Some(Numbers::U32(keys.as_primitive::<Int32Type>().values().inner().clone().into()))
            }
            _ => None,
        };
        let codes = codes.unwrap_or_else(|| {
            let empty = u32::try_from(count).unwrap_or(u32::MAX);
            let code = |row| match integer(keys, row) {
                None => empty,
                Some(Integer::Signed(number)) => u32::try_from(number).unwrap_or(u32::MAX),
                Some(Integer::Unsigned(number)) => u32::try_from(number).unwrap_or(u32::MAX),
            };
            Numbers::U32((0..rows).map(code).collect())
        });
        // The number after those of the texts is that of a null.
        let bound = count + usize::from(array.null_count() > 0);
        let used = (!all_known).then(|| match &codes {
            Numbers::Same => Vec::new(),
            Numbers::U8(codes) => used(codes, bound),
            Numbers::U16(codes) => used(codes, bound),
            Numbers::U32(codes) => used(codes, bound),
        });
        Self { codes, texts: Words::Dictionary(values), used }
    }

    fn of_texts(texts: &Texts<'a>, rows: usize) -> Self {
        let mut known: HashMap<&str, u32, foldhash::fast::FixedState> = HashMap::default();
        let mut list = Vec::new();
        let mut last = ("", u32::MAX);
        let code = |row| {
            let text = texts.get(row);
            if last.1 == u32::MAX || last.0 != text {
                let next = u32::try_from(list.len()).unwrap_or(u32::MAX);
                let code = *known.entry(text).or_insert(next);
                if code == next {
                    list.push(text);
                }
                last = (text, code);
            }
            last.1
        };
        let codes = Numbers::U32((0..rows).map(code).collect());
        let used = Some((0..).take(list.len()).collect());
        Self { codes, texts: Words::List(list), used }
    }

    /// The column with keys for its texts; the key after them is that of an empty text.
    pub fn keys<'k, K: Copy>(&'k self, keys: &'k [Option<K>]) -> Keys<'k, K> {
        match &self.codes {
            Numbers::Same => match keys.first().copied().flatten() {
                Some(key) => Keys::One(key),
                None => Keys::Coded(Codes::U8(&[]), keys),
            },
            Numbers::U8(codes) => Keys::Coded(Codes::U8(codes), keys),
            Numbers::U16(codes) => Keys::Coded(Codes::U16(codes), keys),
            Numbers::U32(codes) => Keys::Coded(Codes::U32(codes), keys),
        }
    }
}

/// Keys for the texts of columns of one name. A dictionary that several batches share is looked up once.
pub(crate) struct NameKeys<K> {
    /// The dictionary of the last list; held, so that no other one can lie where it lies.
    dictionary: Option<ArrayRef>,
    lists: Vec<Vec<Option<K>>>,
    /// Every text of the dictionary has its key.
    all: bool,
}

impl<K> Default for NameKeys<K> {
    fn default() -> Self {
        Self { dictionary: None, lists: Vec::new(), all: false }
    }
}

impl<K: Copy> NameKeys<K> {
    /// Looks up the texts of a column that occur, in the order they do; gives the number of its list of keys.
    pub fn look_up(&mut self, names: &NameColumn<'_>, mut key: impl FnMut(&str) -> Option<K>) -> usize {
        let dictionary = match &names.texts {
            Words::Dictionary(values) => Some(*values),
            Words::List(_) => None,
        };
        let is_new = self.lists.is_empty() || !dictionary.is_some_and(|one| self.is_of(one));
        if is_new {
            self.lists.push(vec![None; names.texts.len() + 1]);
            self.dictionary = dictionary.cloned();
        }
        let list = self.lists.last_mut().map_or(&mut [][..], Vec::as_mut_slice);
        let look_up = |number: u32| {
            if let Some(room @ None) = list.get_mut(number as usize) {
                *room = key(names.texts.get(number));
            }
        };
        match &names.used {
            Some(used) => used.iter().copied().for_each(look_up),
            // Another dictionary came between.
            None if is_new => (0..).take(names.texts.len()).for_each(look_up),
            None => {}
        }
        self.lists.len() - 1
    }

    pub fn get(&self, list: usize) -> &[Option<K>] {
        self.lists.get(list).map_or(&[], Vec::as_slice)
    }

    fn is_of(&self, values: &ArrayRef) -> bool {
        self.dictionary.as_ref().is_some_and(|dictionary| same(dictionary, values))
    }

    /// Whether every text of a dictionary has its key: then no row need be looked at for those that occur.
    fn are_all_of(&self, values: &ArrayRef) -> bool {
        self.all && self.is_of(values)
    }

    pub fn forget_all_but_last(&mut self) {
        self.lists.drain(..self.lists.len().saturating_sub(1));
        // The last key is that of an empty text, which is not among them.
        self.all = self
            .lists
            .last()
            .and_then(|list| list.split_last())
            .is_some_and(|(_, list)| list.iter().all(Option::is_some));
    }
}

/// Whether two arrays are the same memory.
fn same(one: &ArrayRef, other: &ArrayRef) -> bool {
    one.len() == other.len() && one.to_data().ptr_eq(&other.to_data())
}

/// The numbers below a bound that occur, in the order they do.
fn used<C: Copy + Into<u32> + ArrowNativeTypeOp>(codes: &[C], bound: usize) -> Vec<u32> {
    let mut seen = vec![false; bound];
    let mut used = Vec::new();
    for code in codes {
        let code: u32 = (*code).into();
        if let Some(seen) = seen.get_mut(code as usize)
            && !*seen
        {
            *seen = true;
            used.push(code);
            if used.len() == bound {
                break;
            }
        }
    }
    used
}

/// A column of texts.
enum Texts<'a> {
    Utf8(&'a StringArray),
    Large(&'a LargeStringArray),
    View(&'a StringViewArray),
}

impl<'a> Texts<'a> {
    fn of(array: &'a ArrayRef) -> Option<Self> {
        match array.data_type() {
            DataType::Utf8 => array.as_string_opt().map(Self::Utf8),
            DataType::LargeUtf8 => array.as_string_opt().map(Self::Large),
            DataType::Utf8View => array.as_string_view_opt().map(Self::View),
            _ => None,
        }
    }

    /// The text of a row; empty for a null.
    fn get(&self, row: usize) -> &'a str {
        match self {
            Self::Utf8(array) if array.is_valid(row) => array.value(row),
            Self::Large(array) if array.is_valid(row) => array.value(row),
            Self::View(array) if array.is_valid(row) => array.value(row),
            _ => "",
        }
    }
}
