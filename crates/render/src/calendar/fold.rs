//! Lines of at most 75 octets.

/// RFC 5545 §3.1, without the line break.
const OCTETS: usize = 75;

/// The text with every line folded anew; each physical line is whole UTF-8.
pub(crate) fn again(text: &str) -> String {
    let mut folded = String::with_capacity(text.len() + text.len() / OCTETS * 3);
    for line in text.replace("\r\n ", "").split_terminator("\r\n") {
        let mut octets = 0;
        for c in line.chars() {
            if octets + c.len_utf8() > OCTETS {
                folded.push_str("\r\n ");
                octets = 1;
            }
            folded.push(c);
            octets += c.len_utf8();
        }
        folded.push_str("\r\n");
    }
    folded
}

#[cfg(test)]
mod tests {
    use super::again;
    use proptest::prelude::*;

    #[test]
    fn a_last_part_of_75_octets_is_folded_too() {
        let folded = again(&format!("{}\r\n", "x".repeat(150)));
        let octets: Vec<usize> = folded.split_terminator("\r\n").map(str::len).collect();
        assert_eq!(octets, [75, 75, 2]);
    }

    proptest! {
        #[test]
        fn unfolding_gives_the_line_back(line in "[^\r\n]{1,400}") {
            let line = format!("X{line}");
            let folded = again(&format!("{line}\r\n"));
            prop_assert!(folded.split_terminator("\r\n").all(|part| part.len() <= 75));
            prop_assert_eq!(folded.replace("\r\n ", ""), format!("{line}\r\n"));
        }
    }
}
