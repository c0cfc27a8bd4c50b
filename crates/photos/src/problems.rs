//! Problems of many files, with an end to the list.

use kitlore_engine::Problem;
use std::collections::BTreeMap;

/// So many of one code are listed one by one.
const LISTED: usize = 1_000;

/// Problems in the order they were met, of each code the first thousand.
#[derive(Debug, Clone, Default)]
pub(crate) struct Problems {
    list: Vec<Problem>,
    counts: BTreeMap<String, usize>,
}

impl Problems {
    pub fn add(&mut self, problem: Problem) {
        let count = self.counts.entry(problem.code.to_string()).or_default();
        *count += 1;
        if *count <= LISTED {
            self.list.push(problem);
        }
    }

    pub fn extend(&mut self, others: Problems) {
        self.list.extend(others.list);
        for (code, count) in others.counts {
            *self.counts.entry(code).or_default() += count;
        }
    }

    /// The list, with a line for each code of which there are more.
    pub fn finish(mut self) -> Vec<Problem> {
        for (code, count) in self.counts {
            if let Some(more) = count.checked_sub(LISTED).filter(|more| *more > 0) {
                let message = format!("{more} more of `{code}` are not listed; mend the ones above first");
                self.list.push(Problem::new("more-problems", message));
            }
        }
        self.list
    }
}
