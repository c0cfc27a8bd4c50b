//! A picture with its place in the order of all frames.

use crate::pictures::Shot;
use crate::sort::{Record, codec};
use chrono::NaiveDateTime;
use std::cmp::Ordering;
use std::ffi::OsStr;

/// A picture with its place in the order of all frames.
#[derive(Debug, Clone)]
pub(crate) struct PlacedShot {
    /// The number of the body's item.
    pub item: u32,
    pub order: NaiveDateTime,
    /// Its folder is an index into the sorted folders.
    pub shot: Shot,
}

codec!(PlacedShot { item, order, shot });

impl Record for PlacedShot {
    fn compare(&self, other: &Self) -> Ordering {
        let (one, another) = (&self.shot, &other.shot);
        let by_name = || natural(&one.name).cmp(&natural(&another.name));
        let by_place = || (one.folder, &one.name).cmp(&(another.folder, &another.name));
        let by_time = self.item.cmp(&other.item).then(self.order.cmp(&other.order));
        by_time.then_with(by_name).then_with(by_place)
    }

    fn group(&self) -> u32 {
        self.item
    }
}

/// A name split into text and numbers, so that `IMG_9` sorts before `IMG_10`.
fn natural(name: &OsStr) -> Vec<(String, u64)> {
    let name = name.to_string_lossy().to_lowercase();
    let mut parts = vec![(String::new(), 0_u64)];
    let mut digits = false;
    for c in name.chars() {
        let number = c.to_digit(10);
        if number.is_none() && digits {
            parts.push((String::new(), 0));
        }
        digits = number.is_some();
        if let Some((text, value)) = parts.last_mut() {
            match number {
                Some(number) => *value = value.saturating_mul(10).saturating_add(number.into()),
                None => text.push(c),
            }
        }
    }
    parts
}
