//! Items that are not there yet.

use super::numbers::counted;
use super::plain::plain;
use kitlore_engine::{Awaited, Standings};

/// So many of them are named.
const SHOWN: usize = 3;

/// How many items are not there yet, which come first, and which last: a year far ahead may be a slip.
///
/// ```
/// use kitlore_engine::{Book, Item, Program, When};
/// use kitlore_render::words::awaited;
/// let rules = Program::parse("for cameras\n after 90 days, inspect sensor")?;
/// let mut book = Book::new(&rules);
/// for (id, received) in [("C1", "2026-03-01"), ("C2", "2026-01-10"), ("C3", "2062-01-10")] {
///     book.add_item(Item::new(id, "camera").received(received.parse()?))?;
/// }
/// let found = book.standings(rules.when_is_over(When::parse("2026-02-08")?));
/// assert_eq!(awaited(&found).unwrap(), "2 items are not there yet: C1 from 2026-03-01, C3 from 2062-01-10");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn awaited(standings: &Standings) -> Option<String> {
    let list: Vec<Awaited<'_>> = standings.awaited().collect();
    let from = |awaited: &Awaited<'_>| format!("{} from {}", plain(awaited.item), awaited.there_from);
    let are = match list.len() {
        0 => return None,
        1 => "1 item is".to_owned(),
        count => format!("{} are", counted(count, "item")),
    };
    let mut named: Vec<String> = list.iter().take(SHOWN).map(from).collect();
    if let Some(last) = list.get(SHOWN..).and_then(<[_]>::last) {
        named.pop();
        named.push(format!("{} more, the last {}", list.len() - SHOWN + 1, from(last)));
    }
    Some(format!("{are} not there yet: {}", named.join(", ")))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a panic is a failed test")]

    use kitlore_engine::{Book, Item, Program, When};

    fn shown(dates: &[&str]) -> Option<String> {
        let rules = Program::parse("for cameras\n after 90 days, inspect sensor").unwrap();
        let mut book = Book::new(&rules);
        for (number, date) in dates.iter().enumerate() {
            book.add_item(Item::new(format!("C{number}"), "camera").received(date.parse().unwrap())).unwrap();
        }
        super::awaited(&book.standings(rules.when_is_over(When::parse("2026-02-08").unwrap())))
    }

    #[test]
    fn the_nearest_and_the_last_are_named() {
        assert_eq!(shown(&["2026-02-08"]), None);
        let one = "1 item is not there yet: C1 from 2026-02-09";
        assert_eq!(shown(&["2026-02-08", "2026-02-09"]).as_deref(), Some(one));
        let three = "3 items are not there yet: C2 from 2026-02-10, C1 from 2026-02-11, C0 from 2026-02-12";
        assert_eq!(shown(&["2026-02-12", "2026-02-11", "2026-02-10"]).as_deref(), Some(three));
        let five = "5 items are not there yet: C1 from 2026-02-10, C3 from 2026-02-10, 3 more, the last C4 from 2062-02-01";
        let dates = ["2026-02-12", "2026-02-10", "2026-02-11", "2026-02-10", "2062-02-01"];
        assert_eq!(shown(&dates).as_deref(), Some(five));
    }
}
