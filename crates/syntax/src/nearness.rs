//! How near one name is to another: the one matcher behind every suggestion.

use crate::name::key;

/// A longer name is compared with none: comparing would take long and help no one.
const LONGEST: usize = 60;

/// In how many letters a slip of a name may differ from it: a letter is added, lost, changed or exchanged with its
/// neighbour.
const fn limit(letters: usize) -> usize {
    match letters {
        3..=5 => 1,
        6..=LONGEST => 2,
        _ => 0,
    }
}

/// A name as it is compared: its [`key`] without spaces and signs.
fn plain(name: &str) -> String {
    key(name).chars().filter(|letter| letter.is_alphanumeric()).collect()
}

/// Names of which another may be a slip, made ready for many comparisons.
#[derive(Debug, Clone, Default)]
pub struct Candidates<'a>(Vec<Candidate<'a>>);

#[derive(Debug, Clone)]
struct Candidate<'a> {
    text: &'a str,
    plain: String,
    letters: usize,
}

impl<'a> Candidates<'a> {
    /// Of these names.
    pub fn new(names: impl IntoIterator<Item = &'a str>) -> Self {
        let candidate = |text| {
            let plain = plain(text);
            Candidate { text, letters: plain.chars().count(), plain }
        };
        Self(names.into_iter().map(candidate).collect())
    }

    /// The name nearest to one, as spelled among the candidates, if it is near enough to be meant; of several, the
    /// first. Never the very name that was asked about.
    pub fn closest(&self, name: &str) -> Option<&'a str> {
        self.closest_within(name, limit)
    }

    /// As [`Candidates::closest`] for ids, which differ from one another by a digit: one letter in ids of more than
    /// three, in shorter ones only case, spaces and signs.
    pub fn closest_id(&self, name: &str) -> Option<&'a str> {
        self.closest_within(name, |letters| usize::from(letters > 3))
    }

    fn closest_within(&self, name: &str, limit: impl Fn(usize) -> usize) -> Option<&'a str> {
        let wanted = plain(name);
        let letters = wanted.chars().count();
        if !(1..=LONGEST).contains(&letters) {
            return None;
        }
        let most = limit(letters);
        self.0
            .iter()
            .filter(|candidate| candidate.letters.abs_diff(letters) <= most && candidate.text != name)
            .map(|candidate| (strsim::osa_distance(&wanted, &candidate.plain), candidate.text))
            .filter(|(distance, _)| *distance <= most)
            .min_by_key(|(distance, _)| *distance)
            .map(|(_, text)| text)
    }
}

/// The name that was probably meant by another, see [`Candidates::closest`].
///
/// One letter may differ in a name of three to five letters, two in a longer one. Capitals, spaces, signs and a
/// plural make no difference.
///
/// ```
/// use kitlore_syntax::closest;
/// assert_eq!(closest("inspect snesor", ["wet clean", "inspect sensor"]), Some("inspect sensor"));
/// assert_eq!(closest("cam-1", ["CAM-01", "LEN-01"]), Some("CAM-01"));
/// assert_eq!(closest("tripod", ["CAM-01", "LEN-01"]), None);
/// ```
pub fn closest<'a>(name: &str, names: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    Candidates::new(names).closest(name)
}

#[cfg(test)]
mod tests {
    use super::{LONGEST, closest};

    #[test]
    fn one_letter_differs_in_short_names_and_two_in_longer_ones() {
        assert_eq!(closest("in", ["on"]), None);
        assert_eq!(closest("tip", ["trip"]), Some("trip"));
        assert_eq!(closest("tirp", ["trip"]), Some("trip"));
        assert_eq!(closest("trio", ["trip"]), Some("trip"));
        assert_eq!(closest("shoot", ["shot"]), Some("shot"));
        assert_eq!(closest("salty", ["sandy"]), None);
        assert_eq!(closest("humidd", ["humid"]), Some("humid"));
        assert_eq!(closest("humidddd", ["humid"]), None);
        assert_eq!(closest("callibrate mettre", ["calibrate meter"]), None);
        assert_eq!(closest("callibrate metre", ["calibrate meter"]), Some("calibrate meter"));
    }

    #[test]
    fn capitals_spaces_signs_and_plurals_do_not_count() {
        assert_eq!(closest("LENSCHANGE", ["lens changes"]), Some("lens changes"));
        assert_eq!(closest("a 1", ["A-1"]), Some("A-1"));
        assert_eq!(closest("…", ["—"]), None);
    }

    #[test]
    fn the_nearest_is_meant_and_never_the_same_name() {
        assert_eq!(closest("sensor", ["sensor"]), None);
        assert_eq!(closest("sensor", ["sensor", "Sensor"]), Some("Sensor"));
        assert_eq!(closest("cam-13", ["CAM-12", "CAM-013"]), Some("CAM-12"));
        assert_eq!(closest("cam-13", ["CAM-31", "CAM-13"]), Some("CAM-13"));
    }

    #[test]
    fn a_very_long_name_is_near_to_none() {
        let (long, longer) = ("a".repeat(LONGEST), "a".repeat(LONGEST + 1));
        assert_eq!(closest(&long, [longer.as_str()]), Some(longer.as_str()));
        assert_eq!(closest(&longer, [long.as_str()]), None);
    }
}
