//! Amounts, counts and lists as people say them.

use kitlore_engine::Amount;
use kitlore_syntax::key;

/// `2 problems`, `1 problem`.
pub fn counted(count: usize, one: &str) -> String {
    let plural = if count == 1 { "" } else { "s" };
    format!("{} {one}{plural}", grouped(&count.to_string()))
}

/// So much of an event: `4 lens changes`, `1 shoot`, `800 frames`, however the event was spelled.
pub fn amount_of(amount: Amount, event: &str) -> String {
    // What comes behind such a word is not counted: `exposure to salt air`.
    const JOINTS: [&str; 9] = ["to", "of", "under", "with", "without", "from", "by", "in", "at"];
    let single = key(event);
    let is_plural = event.to_lowercase().replace(['-', '_'], " ") != single;
    let compound = event.split_whitespace().any(|word| JOINTS.contains(&word.to_lowercase().as_str()));
    let event = match amount == Amount::ONE {
        true if is_plural && !compound => single,
        false if !is_plural && !compound => plural(event),
        _ => event.to_owned(),
    };
    format!("{} {event}", grouped(&amount.to_string()))
}

/// The plural of a name whose key is the name itself, if the rules would take the one for the other.
fn plural(name: &str) -> String {
    let lower = name.to_lowercase();
    let is_vowel = |c: char| "aeiou".contains(c);
    let stem = lower.strip_suffix('y').filter(|stem| !stem.ends_with(is_vowel));
    // The `y` is the last letter of the name in either case.
    let ies = stem.map(|_| name.chars().take(name.chars().count() - 1).chain("ies".chars()).collect());
    let es = ["s", "x", "z", "ch", "sh"].iter().any(|end| lower.ends_with(end));
    let plural: String = ies.unwrap_or_else(|| format!("{name}{}", if es { "es" } else { "s" }));
    if key(&plural) == key(name) { plural } else { name.to_owned() }
}

/// Minutes as hours and minutes: `45 min`, `2 h`, `2 h 30 min`.
pub fn minutes(amount: Amount) -> String {
    const HOUR: i64 = 60;
    // Parts of a minute are of no use in a plan; a part counts as a whole one.
    let whole = amount.micros().div_euclid(1_000_000) + i64::from(amount.micros().rem_euclid(1_000_000) > 0);
    match (whole / HOUR, whole % HOUR) {
        (0, minutes) => format!("{minutes} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}

/// A number with its whole part grouped in threes, as the rules write it.
pub fn grouped(number: &str) -> String {
    let (sign, number) = number.strip_prefix('-').map_or(("", number), |rest| ("-", rest));
    let (whole, fraction) = number.split_at(number.find('.').unwrap_or(number.len()));
    let mut text = sign.to_owned();
    for (i, digit) in whole.chars().enumerate() {
        if i > 0 && (whole.len() - i) % 3 == 0 {
            text.push(',');
        }
        text.push(digit);
    }
    text + fraction
}

/// A decimal with at most 9 fraction digits, in billionths.
pub fn billionths(number: &str) -> Option<i128> {
    let (whole, fraction) = number.split_once('.').unwrap_or((number, ""));
    let whole = whole.parse::<i128>().ok()?.checked_mul(1_000_000_000)?;
    let fraction = format!("{fraction:0<9}").parse::<i128>().ok()?;
    whole.checked_add(fraction)
}

/// Names joined as a list: `a, b or c`.
pub fn listed<'a>(names: impl IntoIterator<Item = &'a str>, last: &str) -> String {
    let names: Vec<&str> = names.into_iter().collect();
    match names.split_last() {
        None => String::new(),
        Some((only, [])) => (*only).to_owned(),
        Some((end, rest)) => format!("{} {last} {end}", rest.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_grouped_in_threes() {
        let said = ["7", "123", "1234", "200000", "-1234567.25", "0.5"].map(grouped);
        assert_eq!(said, ["7", "123", "1,234", "200,000", "-1,234,567.25", "0.5"]);
    }

    #[test]
    fn what_is_counted_stands_in_the_plural_where_it_is_not_one() {
        let said = [
            (4, "lens change"),
            (1, "shoot"),
            (800, "frame"),
            (1, "lens changes"),
            (1200, "frames"),
            (0, "battery"),
            (2, "key"),
            (3, "Lens"),
            (2, "flash"),
            (2, "exposure to salt air"),
            (1, "exposure to salt air"),
        ]
        .map(|(count, event)| amount_of(Amount::from(count), event));
        assert_eq!(
            said,
            [
                "4 lens changes",
                "1 shoot",
                "800 frames",
                "1 lens change",
                "1,200 frames",
                "0 batteries",
                "2 keys",
                "3 Lenses",
                "2 flashes",
                "2 exposure to salt air",
                "1 exposure to salt air",
            ]
        );
        let half = Amount::from_micros(1_500_000);
        assert_eq!(amount_of(half, "shoot"), "1.5 shoots");
    }

    #[test]
    fn minutes_become_hours() {
        let said = [45_u32, 60, 150].map(|count| minutes(Amount::from(count)));
        assert_eq!(said, ["45 min", "1 h", "2 h 30 min"]);
    }

    #[test]
    fn lists_have_a_last_word() {
        assert_eq!(listed(["a"], "or"), "a");
        assert_eq!(listed(["a", "b", "c"], "or"), "a, b or c");
    }
}
