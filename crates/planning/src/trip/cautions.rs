//! Cautions about taking things along, such as lithium cells: a table of kinds and texts, no code.

use kitlore_engine::Program;
use kitlore_syntax::key;

const TABLE: &str = include_str!("../../data/cautions.txt");

/// The cautions that the kinds of some items call for, each once.
pub(crate) fn of_kinds<'a>(rules: &Program, kinds: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut keys: Vec<String> = kinds.flat_map(|kind| rules.broader_kinds(kind)).collect();
    keys.sort();
    keys.dedup();
    // `flash battery` is a battery even where no rule says so.
    let is = |kind: &str| keys.iter().any(|key| key == kind || key.ends_with(&format!(" {kind}")));
    TABLE
        .lines()
        .filter(|line| !line.starts_with('#'))
        .filter_map(|line| line.split_once('|'))
        .filter(|(kinds, _)| kinds.split(';').any(|kind| is(&key(kind))))
        .map(|(_, caution)| caution.trim().to_owned())
        .collect()
}
