//! Rows that are one piece of work, together: the same task with the same tools, time and cautions.

use crate::words::{last_time, minutes, plain};
use kitlore_engine::{Amount, Instant, Row, Standing};
use std::collections::HashMap;
use std::hash::Hash;

/// What a task takes, the same for all its items.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct WorkDetails<'a> {
    /// The task.
    pub task: &'a str,
    /// How long it takes, in minutes.
    pub takes: Option<Amount>,
    /// Tools and supplies.
    pub needs: Vec<&'a str>,
    /// Who may do it.
    pub by: Option<&'a str>,
    /// Why it is done.
    pub because: Option<&'a str>,
    /// Its cautions.
    pub cautions: Vec<&'a str>,
}

impl<'a> WorkDetails<'a> {
    /// Those of a row.
    pub fn of_row(row: &Row<'a>) -> Self {
        Self {
            task: row.task,
            takes: row.takes_minutes(),
            needs: row.needs(),
            by: row.by(),
            because: row.because(),
            cautions: row.cautions(),
        }
    }

    /// Those of a task of a trip.
    #[cfg(feature = "planning")]
    pub fn of_task(task: &'a kitlore_planning::Task) -> Self {
        Self {
            task: &task.task,
            takes: task.takes_minutes,
            needs: task.needs.iter().map(String::as_str).collect(),
            by: task.by.as_deref(),
            because: task.because.as_deref(),
            cautions: task.cautions.iter().map(String::as_str).collect(),
        }
    }

    /// The same where it is not said why: what is done for several reasons is then one piece of work.
    #[must_use]
    pub fn without_because(self) -> Self {
        Self { because: None, ..self }
    }

    /// How long, with what, by whom: `10 min each; needs blower`; `each` where it is done more than once.
    pub fn in_words(&self, each: bool) -> String {
        let each = if each { " each" } else { "" };
        let mut words: Vec<String> = self.takes.map(|takes| minutes(takes) + each).into_iter().collect();
        if !self.needs.is_empty() {
            words.push(format!("needs {}", plain(&self.needs.join(", "))));
        }
        words.extend(self.by.map(|by| format!("by {}", plain(by))));
        words.join("; ")
    }
}

/// Things with equal keys together, in the order of the first of each.
///
/// ```
/// let works = kitlore_render::work::group([("wipe", 1), ("clean", 2), ("wipe", 3)]);
/// assert_eq!(works, [("wipe", vec![1, 3]), ("clean", vec![2])]);
/// ```
pub fn group<K: Hash + Eq + Clone, T>(things: impl IntoIterator<Item = (K, T)>) -> Vec<(K, Vec<T>)> {
    let mut groups: Vec<(K, Vec<T>)> = Vec::new();
    let mut numbers: HashMap<K, usize> = HashMap::new();
    for (key, thing) in things {
        let number = *numbers.entry(key).or_insert_with_key(|key| {
            groups.push((key.clone(), Vec::new()));
            groups.len() - 1
        });
        if let Some((_, group)) = groups.get_mut(number) {
            group.push(thing);
        }
    }
    groups
}

/// By when the rows of one standing come: the first to be done first, what has no date last.
pub fn urgency(row: &Row<'_>) -> (bool, Option<Instant>) {
    let time = match row.standing {
        Standing::Grounded => row.limit_at,
        Standing::Due => last_time(row),
        _ => row.due_at,
    };
    (time.is_none(), time)
}
