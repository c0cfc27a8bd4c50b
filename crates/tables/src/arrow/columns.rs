//! The columns of a log in a record batch as the book takes them: without a copy where their types allow it.

use super::cells::{Integer, cell, in_years, integer, is_text, text, ticks, time};
use crate::batch::{Value, read_number};
use arrow_array::cast::AsArray;
use arrow_array::types::{
    Date32Type, Decimal32Type, Decimal64Type, Decimal128Type, Float32Type, Float64Type, Int8Type, Int16Type,
    Int32Type, UInt8Type, UInt16Type, UInt32Type,
};
use arrow_array::{
    Array, ArrayRef, ArrowNativeTypeOp, Int64Array, LargeStringArray, StringArray, StringViewArray,
};
use arrow_buffer::ScalarBuffer;
use arrow_schema::{DataType, TimeUnit};
use kitlore_engine::columns::{Amounts, Codes, Ends, Keys, ShortName, Ticks, Times};
use kitlore_engine::{Amount, Program, When};
use std::borrow::Cow;
use std::collections::HashMap;

/// A column of times.
pub(crate) enum WhenColumn<'a> {
    Ticks(Ticks<'a>, bool),
    Days(&'a [i32]),
    OwnDays(Vec<i32>),
    Each(Vec<When>),
}

impl WhenColumn<'_> {
    pub fn times(&self) -> Times<'_> {
        match self {
            Self::Ticks(ticks, true) => Times::Instants(*ticks),
            Self::Ticks(ticks, false) => Times::Local(*ticks),
            Self::Days(days) => Times::Dates(days),
            Self::OwnDays(days) => Times::Dates(days),
            Self::Each(whens) => Times::Each(whens),
        }
    }
}

/// The times of a column; rows whose time cannot be read, or lies outside the years of the language, go to `odd`.
/// `dates` says that its local times are all midnights and mean dates.
pub(crate) fn whens<'a>(array: &'a ArrayRef, dates: bool, odd: &mut Vec<usize>) -> WhenColumn<'a> {
    let rows = array.len();
    if array.null_count() > 0 {
        odd.extend((0..rows).filter(|row| array.is_null(*row)));
    }
    match (array.data_type(), ticks(array)) {
        (DataType::Timestamp(unit, zone), Some(list)) => {
            let outside = |(row, ticks): (usize, &i64)| (!in_years(*ticks, *unit)).then_some(row);
            odd.extend(list.iter().enumerate().filter_map(outside));
            if zone.is_none() && dates {
                return WhenColumn::OwnDays(days(list, *unit));
            }
            let ticks = match unit {
                TimeUnit::Second => Ticks::Seconds(list),
                TimeUnit::Millisecond => Ticks::Millis(list),
                TimeUnit::Microsecond => Ticks::Micros(list),
                TimeUnit::Nanosecond => Ticks::Nanos(list),
            };
            WhenColumn::Ticks(ticks, zone.is_some())
        }
        (DataType::Date32, _) => {
            let days: &[i32] = array.as_primitive::<Date32Type>().values();
            let outside = |row: &usize| matches!(time(array, *row, false), Some(Err(_)));
            // The first day of the year 0001, and the last of 9999.
            let is_far = days.iter().any(|day| !(-719_162..=2_932_896).contains(day));
            if is_far {
                odd.extend((0..rows).filter(outside));
            }
            WhenColumn::Days(days)
        }
        _ => {
            let read = |row| match time(array, row, dates) {
                Some(read) => read.ok(),
                None => When::parse(text_of(array, row)?.trim()).ok(),
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

/// The text of a cell, of a dictionary too.
fn text_of(array: &ArrayRef, row: usize) -> Option<&str> {
    text(array, row).or_else(|| {
        let dictionary = array.as_any_dictionary_opt()?;
        let number = match integer(dictionary.keys(), row)? {
            Integer::Signed(number) => usize::try_from(number).ok()?,
            Integer::Unsigned(number) => usize::try_from(number).ok()?,
        };
        text(dictionary.values(), number)
    })
}

/// Timestamps at midnight as days.
fn days(ticks: &[i64], unit: TimeUnit) -> Vec<i32> {
    let per_day = super::cells::per_second(unit) * 86_400;
    ticks.iter().map(|ticks| i32::try_from(ticks.div_euclid(per_day)).unwrap_or(i32::MAX)).collect()
}

/// A column of ends.
pub(crate) enum UntilColumn<'a> {
    Absent,
    All(WhenColumn<'a>),
    Each(Vec<Option<When>>),
}

impl UntilColumn<'_> {
    pub fn ends(&self) -> Ends<'_> {
        match self {
            Self::Absent => Ends::Absent,
            Self::All(times) => Ends::All(times.times()),
            Self::Each(ends) => Ends::Each(ends),
        }
    }
}

/// The ends of a column, where any row has one; rows whose end cannot be read go to `odd`.
pub(crate) fn ends<'a>(array: Option<&'a ArrayRef>, dates: bool, odd: &mut Vec<usize>) -> UntilColumn<'a> {
    let Some(array) = array.filter(|array| array.logical_null_count() < array.len()) else {
        return UntilColumn::Absent;
    };
    let is_counted = matches!(array.data_type(), DataType::Timestamp(..) | DataType::Date32);
    if is_counted && array.null_count() == 0 {
        return UntilColumn::All(whens(array, dates, odd));
    }
    let mut read = |row: usize| {
        if array.is_null(row) {
            return None;
        }
        let read = match time(array, row, dates) {
            Some(read) => read.ok(),
            None => match text_of(array, row).map(str::trim) {
                Some("") => return None,
                Some(text) => When::parse(text).ok(),
                None => None,
            },
        };
        if read.is_none() {
            odd.push(row);
        }
        read
    };
    UntilColumn::Each((0..array.len()).map(&mut read).collect())
}

/// A column of amounts.
pub(crate) enum AmountColumn<'a> {
    Absent,
    Whole(&'a [i64]),
    Micros(Vec<i64>),
    Each(Vec<Option<Amount>>),
}

impl AmountColumn<'_> {
    pub fn amounts(&self) -> Amounts<'_> {
        match self {
            Self::Absent => Amounts::Absent,
            Self::Whole(numbers) => Amounts::Whole(numbers),
            Self::Micros(micros) => Amounts::Micros(micros),
            Self::Each(amounts) => Amounts::Each(amounts),
        }
    }

    /// The amount of a row, if it states one.
    pub fn get(&self, row: usize) -> Option<Amount> {
        match self {
            Self::Absent => None,
            Self::Whole(numbers) => numbers.get(row)?.checked_mul(MILLION).map(Amount::from_micros),
            Self::Micros(micros) => micros.get(row).copied().map(Amount::from_micros),
            Self::Each(amounts) => amounts.get(row).copied().flatten(),
        }
    }
}

const MILLION: i64 = 1_000_000;

/// Numbers with more digits before the point are no amounts.
const WHOLE: u64 = 1_000_000_000_000;

/// The amounts of a column; rows whose number is none go to `odd`.
pub(crate) fn amounts<'a>(
    array: Option<&'a ArrayRef>,
    rules: &Program,
    odd: &mut Vec<usize>,
) -> AmountColumn<'a> {
    let Some(array) = array.filter(|array| array.logical_null_count() < array.len()) else {
        return AmountColumn::Absent;
    };
    let whole = |number: i64| (number.unsigned_abs() < WHOLE).then(|| number * MILLION);
    if array.null_count() == 0
        && let Some(numbers) = array.as_any().downcast_ref::<Int64Array>()
    {
        let numbers: &[i64] = numbers.values();
        odd.extend((0..numbers.len()).filter(|row| numbers.get(*row).is_some_and(|n| whole(*n).is_none())));
        return AmountColumn::Whole(numbers);
    }
    match array.data_type() {
        DataType::Float64 => {
            let values = array.as_primitive::<Float64Type>().values();
            micros(array, rules, odd, |row| values.get(row).copied().and_then(of_f64))
        }
        DataType::Float32 => {
            let values = array.as_primitive::<Float32Type>().values();
            micros(array, rules, odd, |row| values.get(row).copied().and_then(of_f32))
        }
        DataType::Decimal32(_, scale) => {
            let values = array.as_primitive::<Decimal32Type>().values();
            micros(array, rules, odd, |row| of_decimal((*values.get(row)?).into(), *scale))
        }
        DataType::Decimal64(_, scale) => {
            let values = array.as_primitive::<Decimal64Type>().values();
            micros(array, rules, odd, |row| of_decimal((*values.get(row)?).into(), *scale))
        }
        DataType::Decimal128(_, scale) => {
            let values = array.as_primitive::<Decimal128Type>().values();
            micros(array, rules, odd, |row| of_decimal(*values.get(row)?, *scale))
        }
        _ => micros(array, rules, odd, |row| match integer(array, row)? {
            Integer::Signed(number) => whole(number),
            Integer::Unsigned(number) => i64::try_from(number).ok().and_then(whole),
        }),
    }
}

/// Amounts in millionths by a quick way, where it says what a number is, else by its text.
fn micros(
    array: &ArrayRef,
    rules: &Program,
    odd: &mut Vec<usize>,
    quick: impl Fn(usize) -> Option<i64>,
) -> AmountColumn<'static> {
    let mut buffer = String::new();
    let mut read = |row: usize| {
        quick(row).map(Amount::from_micros).or_else(|| {
            let number = read_number(cell(array, row, false, rules, &mut buffer));
            if number.is_none() {
                odd.push(row);
            }
            number.flatten()
        })
    };
    if array.null_count() > 0 {
        let each = (0..array.len()).map(|row| if array.is_valid(row) { read(row) } else { None });
        return AmountColumn::Each(each.collect());
    }
    let mut list = Vec::with_capacity(array.len());
    for row in 0..array.len() {
        match read(row) {
            Some(amount) => list.push(amount.micros()),
            // An empty text states none.
            None => {
                let mut each: Vec<Option<Amount>> =
                    list.into_iter().map(|micros| Some(Amount::from_micros(micros))).collect();
                each.push(None);
                each.extend((row + 1..array.len()).map(&mut read));
                return AmountColumn::Each(each);
            }
        }
    }
    AmountColumn::Micros(list)
}

/// The shortest decimal of a binary fraction, where it has at most six fraction digits.
///
/// Below 2³³ numbers lie closer than a millionth: then at most one number of millionths is nearest to this one,
/// and no shorter decimal is.
#[expect(clippy::cast_possible_truncation, reason = "looked at before and after")]
fn of_f64(number: f64) -> Option<i64> {
    const CLOSE: f64 = 8_589_934_592.0;
    if number.abs() >= CLOSE {
        return None;
    }
    let micros = (number * 1e6).round();
    (micros / 1e6 == number).then_some(micros as i64)
}

/// As [`of_f64`]: the fewest fraction digits that tell a number from its neighbours.
#[expect(clippy::cast_possible_truncation, reason = "looked at before and after")]
fn of_f32(number: f32) -> Option<i64> {
    /// From here on not every whole number is one of them.
    const WHOLE: f32 = 16_777_216.0;
    if number.abs() >= WHOLE {
        return None;
    }
    let mut scale = 1.0_f64;
    for _ in 0..=6 {
        let digits = (f64::from(number) * scale).round();
        if (digits / scale) as f32 == number {
            return Some((digits * (1e6 / scale)).round() as i64);
        }
        scale *= 10.0;
    }
    None
}

/// A decimal in millionths, if it has no smaller part.
fn of_decimal(number: i128, scale: i8) -> Option<i64> {
    let micros = match 6 - i32::from(scale) {
        more @ 0.. => number.checked_mul(10_i128.checked_pow(more.unsigned_abs())?)?,
        fewer => {
            let unit = 10_i128.checked_pow(fewer.unsigned_abs())?;
            (number % unit == 0).then_some(number / unit)?
        }
    };
    i64::try_from(micros).ok().filter(|micros| micros.unsigned_abs() < WHOLE * MILLION.unsigned_abs())
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
    Own(Vec<String>),
    Dictionary(&'a ArrayRef),
}

impl Words<'_> {
    pub fn len(&self) -> usize {
        match self {
            Self::List(list) => list.len(),
            Self::Own(list) => list.len(),
            Self::Dictionary(values) => values.len(),
        }
    }

    pub fn get(&self, number: u32) -> &str {
        let number = number as usize;
        match self {
            Self::List(list) => list.get(number).copied().unwrap_or(""),
            Self::Own(list) => list.get(number).map_or("", String::as_str),
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
    /// is not there.
    pub fn of<K: Copy>(array: Option<&'a ArrayRef>, known: &NameKeys<K>, rules: &Program) -> Self {
        let Some(array) = array.filter(|array| array.logical_null_count() < array.len()) else {
            return Self::same();
        };
        let rows = array.len();
        if let Some(dictionary) = array.as_any_dictionary_opt() {
            if is_text(dictionary.values().data_type()) {
                let all_known = array.null_count() == 0 && known.are_all_of(dictionary.values());
                return Self::of_dictionary(array, dictionary.values(), dictionary.keys(), all_known, rows);
            }
        } else if let Some(texts) = Texts::of(array) {
            return Self::of_texts(&texts, rows);
        }
        Self::of_cells(array, rules)
    }

    /// The names of a column of something else, such as lists.
    fn of_cells(array: &ArrayRef, rules: &Program) -> Self {
        let mut known: HashMap<String, u32, foldhash::fast::FixedState> = HashMap::default();
        let mut list = Vec::new();
        let mut buffer = String::new();
        let mut code = |row| {
            let text = cell(array, row, false, rules, &mut buffer).text();
            if let Some(code) = known.get(text) {
                return *code;
            }
            let next = u32::try_from(list.len()).unwrap_or(u32::MAX);
            list.push(text.to_owned());
            known.insert(text.to_owned(), next);
            next
        };
        let codes = Numbers::U32((0..array.len()).map(&mut code).collect());
        let used = Some((0..).take(list.len()).collect());
        Self { codes, texts: Words::Own(list), used }
    }

    /// Whether no row has a name.
    pub fn is_absent(&self) -> bool {
        matches!(self.codes, Numbers::Same)
    }

    /// The rows whose name is one of some.
    pub fn rows_of(&self, rows: usize, is: impl Fn(&str) -> bool) -> Vec<usize> {
        let wanted: Vec<bool> = match &self.used {
            // Their keys are known: none is empty.
            None => (0..self.texts.len()).map(|number| is(self.texts.get(number as u32))).collect(),
            Some(used) => {
                let mut wanted = vec![false; self.texts.len() + 1];
                for number in used {
                    if let Some(slot) = wanted.get_mut(*number as usize) {
                        *slot = is(self.texts.get(*number));
                    }
                }
                wanted
            }
        };
        if !wanted.contains(&true) {
            return Vec::new();
        }
        let has = |code: usize| wanted.get(code).copied().unwrap_or_else(|| is(""));
        let is_one = |row: &usize| match &self.codes {
            Numbers::Same => has(0),
            Numbers::U8(codes) => codes.get(*row).is_some_and(|code| has(usize::from(*code))),
            Numbers::U16(codes) => codes.get(*row).is_some_and(|code| has(usize::from(*code))),
            Numbers::U32(codes) => codes.get(*row).is_some_and(|code| has(*code as usize)),
        };
        (0..rows).filter(is_one).collect()
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
        let mut known_short: HashMap<ShortName, u32, foldhash::fast::FixedState> = HashMap::default();
        let mut list = Vec::new();
        let mut last = ("", u32::MAX);
        let code = |row| {
            let text = texts.get(row);
            // An empty text may have no address, and comparing it would be slow.
            let is_last = text.len() == last.0.len() && (text.is_empty() || text == last.0);
            if last.1 == u32::MAX || !is_last {
                let next = u32::try_from(list.len()).unwrap_or(u32::MAX);
                let code = *match ShortName::of(text) {
                    Some(short) => known_short.entry(short).or_insert(next),
                    None => known.entry(text).or_insert(next),
                };
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
            Words::List(_) | Words::Own(_) => None,
        };
        let is_new = self.lists.is_empty() || !dictionary.is_some_and(|one| self.is_of(one));
        if is_new {
            self.lists.push(vec![None; names.texts.len() + 1]);
            self.dictionary = dictionary.cloned();
        }
        let list = self.lists.last_mut().map_or(&mut [][..], Vec::as_mut_slice);
        let look_up = |number: u32| {
            if let Some(slot @ None) = list.get_mut(number as usize) {
                *slot = key(names.texts.get(number));
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

/// The texts of a column that are not looked up, where any row has one.
pub(crate) fn remarks<'a>(array: Option<&'a ArrayRef>, rules: &Program) -> Remarks<'a> {
    let Some(array) = array.filter(|array| array.logical_null_count() < array.len()) else {
        return Remarks::Borrowed(Vec::new());
    };
    if let Some(texts) = Texts::of(array) {
        return Remarks::Borrowed((0..array.len()).map(|row| texts.get(row)).collect());
    }
    let mut buffer = String::new();
    let own = |row| match cell(array, row, false, rules, &mut buffer) {
        Value::Absent => String::new(),
        value => value.text().to_owned(),
    };
    Remarks::Own((0..array.len()).map(own).collect())
}

/// Texts of rows; empty if none has one.
pub(crate) enum Remarks<'a> {
    Borrowed(Vec<&'a str>),
    Own(Vec<String>),
}

impl Remarks<'_> {
    pub fn list(&self) -> Cow<'_, [&str]> {
        match self {
            Self::Borrowed(list) => Cow::Borrowed(list),
            Self::Own(list) => list.iter().map(String::as_str).collect(),
        }
    }
}
