//! Numbers as words: `two`, `second`, `two hundred and fifty`.

/// Words that count, with the number they mean.
const COUNTING: [(&str, u32); 46] = [
    ("other", 2),
    ("second", 2),
    ("third", 3),
    ("fourth", 4),
    ("fifth", 5),
    ("sixth", 6),
    ("seventh", 7),
    ("eighth", 8),
    ("ninth", 9),
    ("tenth", 10),
    ("eleventh", 11),
    ("twelfth", 12),
    ("twentieth", 20),
    ("one", 1),
    ("two", 2),
    ("three", 3),
    ("four", 4),
    ("five", 5),
    ("six", 6),
    ("seven", 7),
    ("eight", 8),
    ("nine", 9),
    ("ten", 10),
    ("eleven", 11),
    ("twelve", 12),
    ("thirteen", 13),
    ("fourteen", 14),
    ("fifteen", 15),
    ("sixteen", 16),
    ("seventeen", 17),
    ("eighteen", 18),
    ("nineteen", 19),
    ("twenty", 20),
    ("thirty", 30),
    ("forty", 40),
    ("fifty", 50),
    ("sixty", 60),
    ("seventy", 70),
    ("eighty", 80),
    ("ninety", 90),
    ("hundred", 100),
    ("thousand", 1000),
    ("million", 1_000_000),
    ("dozen", 12),
    ("once", 1),
    ("twice", 2),
];

/// The number a word means.
pub(crate) fn number_of(word: &str) -> Option<u32> {
    COUNTING.iter().find(|(w, _)| *w == word).map(|(_, n)| *n)
}

/// Whether a word is an ordinal: `every second trip` counts trips, `two trips` too.
pub(crate) fn ordinal(word: &str) -> bool {
    word == "other" || word == "second" || word == "third" || word.ends_with("th")
}

/// The number that words begin with, and how many words say it: `two hundred and fifty`.
pub(crate) fn in_words<'w>(words: impl IntoIterator<Item = &'w str>) -> Option<(u32, usize)> {
    let mut said = None;
    for (i, word) in words.into_iter().enumerate() {
        let sum = said.map_or(0, |(sum, _)| sum);
        if word == "and" && sum >= 100 {
            continue;
        }
        // `thirty second exposures` last thirty seconds.
        let later = |word| said.is_some() && matches!(word, "second" | "other");
        let numbers = word.split('-').map(|w| Some((w, number_of(w).filter(|_| !later(w))?)));
        let Some(numbers) = numbers.collect::<Option<Vec<_>>>() else {
            break;
        };
        said = Some((numbers.into_iter().fold(sum, |sum, (word, number)| with(sum, word, number)), i + 1));
    }
    said
}

/// A number said so far, with one more word: `two` and `dozen`, `two hundred` and `fifty`.
fn with(sum: u32, word: &str, number: u32) -> u32 {
    let times = match word {
        "dozen" | "hundred" => sum % 1000,
        "thousand" | "million" => sum,
        _ => return sum.saturating_add(number),
    };
    (sum - times).saturating_add(times.max(1).saturating_mul(number))
}
