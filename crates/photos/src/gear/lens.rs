//! The lens of a frame, and its name.

use crate::exif::Gear;

/// The lens that a frame shows, if any, and the id of its item, if it has one.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Lens<'a> {
    pub shown: Option<&'a Gear>,
    pub item: Option<&'a str>,
}

impl Lens<'_> {
    /// Its name for people: the id of its item, else its model.
    pub fn name(&self) -> Option<String> {
        self.item.map(str::to_owned).or_else(|| self.shown.map(label))
    }
}

/// The name of a lens in the ids of entries: as the picture gives it, so that an item added later changes no id.
pub(crate) fn label(lens: &Gear) -> String {
    match (lens.model.is_empty(), lens.serial.is_empty()) {
        (false, true) => lens.model.clone(),
        _ => format!("{}#{}", lens.model, lens.serial),
    }
}

/// The lens of a label.
pub(crate) fn of_label(label: &str) -> Gear {
    let (model, serial) = label.rsplit_once('#').unwrap_or((label, ""));
    Gear { make: String::new(), model: model.to_owned(), serial: serial.to_owned() }
}

/// Whether these are certainly two different lenses.
pub(crate) fn is_another(one: &Gear, other: &Gear) -> bool {
    let differ = |a: &str, b: &str| !a.is_empty() && !b.is_empty() && !a.eq_ignore_ascii_case(b);
    differ(&one.model, &other.model) || differ(&one.serial, &other.serial)
}
