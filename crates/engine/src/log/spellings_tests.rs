//! Short names are equal where their texts are, and found whatever their length.
#![allow(clippy::unwrap_used, reason = "tests")]

use super::{ShortName, Spellings};
use proptest::prelude::*;
use std::collections::HashMap;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(20_000))]

    #[test]
    fn short_names_are_equal_where_their_texts_are(a in "[ab\0é]{0,17}", b in "[ab\0é]{0,17}") {
        prop_assert_eq!(ShortName::of(&a).is_some(), a.len() <= 16);
        if let (Some(short_a), Some(short_b)) = (ShortName::of(&a), ShortName::of(&b)) {
            prop_assert_eq!(short_a == short_b, a == b);
        }
    }

    #[test]
    fn short_names_with_one_other_byte_differ(a in "[a-z0-9\0]{1,16}", at in 0_usize..16) {
        let mut other = a.clone().into_bytes();
        let at = at % other.len();
        if let Some(byte) = other.get_mut(at) {
            *byte ^= 1;
        }
        prop_assert_ne!(ShortName::of(&a), ShortName::of(&String::from_utf8(other).unwrap()));
    }
}

proptest! {
    #[test]
    fn numbers_are_those_of_a_map(names in prop::collection::vec("[ab\0]{0,5}|[ab]{14,19}", 0..60), other in "[ab]{0,19}") {
        let (mut spellings, mut map) = (Spellings::default(), HashMap::new());
        for (number, name) in (0..).zip(&names) {
            spellings.insert(name, number);
            map.insert(name, number);
        }
        for name in names.iter().chain([&other]) {
            prop_assert_eq!(spellings.get(name), map.get(name).copied());
        }
    }
}
