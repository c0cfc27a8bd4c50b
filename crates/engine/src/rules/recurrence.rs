//! The dates of recurring calendars.

use crate::time::{day_of_month, next_month};
use chrono::{Datelike, Days, NaiveDate, Weekday};
use kitlore_syntax::in_range;
use kitlore_syntax::tree::{Calendar, Rank};

/// The first date of a recurring calendar after a date; `None` past the year 9999 and for a single date.
pub(crate) fn next_after(calendar: Calendar, after: NaiveDate) -> Option<NaiveDate> {
    let date = match calendar {
        Calendar::On(_) => None,
        Calendar::Weekly(weekday) => {
            let ahead = days_until(after.weekday(), weekday);
            after.checked_add_days(Days::new(if ahead == 0 { 7 } else { ahead }))
        }
        Calendar::Yearly { month, day } => {
            let in_year = |year| day_of_month(year, month, day).filter(|date| *date > after);
            in_year(after.year()).or_else(|| in_year(after.year() + 1))
        }
        Calendar::Monthly { day } => by_month(after, |year, month| day_of_month(year, month, day)),
        Calendar::MonthlyWeekday { rank, weekday } => {
            by_month(after, |year, month| weekday_of_month(year, month, rank, weekday))
        }
    };
    date.filter(|date| in_range(*date))
}

/// The first date on or after a date.
pub(crate) fn first_from(calendar: Calendar, from: NaiveDate) -> Option<NaiveDate> {
    next_after(calendar, from.pred_opt()?)
}

/// The date of this month or the next that lies after a date.
fn by_month(after: NaiveDate, date_in: impl Fn(i32, u32) -> Option<NaiveDate>) -> Option<NaiveDate> {
    let later = |month: NaiveDate| date_in(month.year(), month.month()).filter(|date| *date > after);
    later(after).or_else(|| later(next_month(after)?))
}

fn weekday_of_month(year: i32, month: u32, rank: Rank, weekday: Weekday) -> Option<NaiveDate> {
    match rank {
        Rank::Nth(nth) => NaiveDate::from_weekday_of_month_opt(year, month, weekday, u8::try_from(nth).ok()?),
        Rank::Last => {
            let fifth = NaiveDate::from_weekday_of_month_opt(year, month, weekday, 5);
            fifth.or_else(|| NaiveDate::from_weekday_of_month_opt(year, month, weekday, 4))
        }
    }
}

fn days_until(from: Weekday, to: Weekday) -> u64 {
    u64::from((7 + to.num_days_from_monday() - from.num_days_from_monday()) % 7)
}
