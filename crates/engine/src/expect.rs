//! What a plan expects: uses a day, as a log writes them.

use kitlore_syntax::Amount;

/// Reads what a plan expects: names and amounts a day, joined by `;`, such as `lens change 15; frames 800`.
///
/// ```
/// let expected = kitlore_engine::parse_expect("lens change 15; frames 1,200").unwrap();
/// assert_eq!(expected.len(), 2);
/// assert_eq!((expected[1].0, expected[1].1.to_string()), ("frames", "1200".to_owned()));
/// assert!(kitlore_engine::parse_expect("many frames").is_err());
/// ```
///
/// # Errors
/// What is wrong with the first part that is no name with an amount after it.
pub fn parse_expect(text: &str) -> Result<Vec<(&str, Amount)>, String> {
    let parts = text.split(';').map(str::trim).filter(|part| !part.is_empty());
    parts
        .map(|part| {
            let (name, amount) = part.rsplit_once(char::is_whitespace).ok_or_else(|| no_amount(part))?;
            if !amount.starts_with(|c: char| c.is_ascii_digit()) {
                return Err(no_amount(part));
            }
            let amount = amount.parse().map_err(|error| format!("`{amount}` {error}"))?;
            Ok((name.trim_end(), amount))
        })
        .collect()
}

fn no_amount(part: &str) -> String {
    format!(
        "`{part}` is no name with an amount a day after it; write it such as `lens change 15; frames 800`"
    )
}
