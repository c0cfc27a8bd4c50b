use super::{Amount, AmountError, common};
use proptest::prelude::*;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(20_000))]

    #[test]
    fn the_quick_way_reads_as_the_general_way(text in "[0-9]{0,14}[.,]?[0-9]{0,8}|[0-9.,é-]{0,21}") {
        if let Some(quick) = common(text.as_bytes()) {
            prop_assert_eq!(Ok(quick), Amount::parse_any(&text));
        }
    }
}

#[test]
fn the_quick_way_is_taken_by_the_usual_forms() {
    for text in [
        "1",
        "86412",
        "007",
        "999999999999",
        "0.5",
        "12.25",
        "1.125",
        "0.0625",
        "0.03125",
        "3.000001",
        "999999999999.999999",
    ] {
        assert_eq!(common(text.as_bytes()), Amount::parse_any(text).ok(), "{text}");
        assert!(common(text.as_bytes()).is_some(), "{text}");
    }
}

#[test]
fn what_is_no_number_is_no_number_to_either_way() {
    for (text, error) in [
        ("1:30", AmountError::Malformed),
        ("1/2", AmountError::Malformed),
        ("1000000000000", AmountError::TooLarge),
        ("9999999999999999999", AmountError::TooLarge),
        ("1.0000001", AmountError::TooFine),
    ] {
        assert_eq!(text.parse::<Amount>(), Err(error), "{text}");
    }
}
