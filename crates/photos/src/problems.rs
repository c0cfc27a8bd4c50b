//! Problems of many files, in a list of bounded length.

use crate::codes::PictureCode;
use kitlore_engine::{CodeWord, Problem};
use std::collections::BTreeMap;

/// The most problems of one code that are listed one by one.
const LISTED: usize = 1_000;

/// Problems in the order they occurred, the first thousand of each code.
#[derive(Debug, Clone, Default)]
pub(crate) struct Problems {
    list: Vec<Problem>,
    counts: BTreeMap<CodeWord, usize>,
}

impl Problems {
    pub fn add(&mut self, problem: Problem) {
        let count = self.counts.entry(problem.code.clone()).or_default();
        *count += 1;
        if *count <= LISTED {
            self.list.push(problem);
        }
    }

    pub fn extend(&mut self, others: Problems) {
        let mut unlisted = others.counts;
        for problem in others.list {
            if let Some(count) = unlisted.get_mut(&problem.code) {
                *count -= 1;
            }
            self.add(problem);
        }
        for (code, count) in unlisted {
            *self.counts.entry(code).or_default() += count;
        }
    }

    /// The list, with a line for each code of which there are more.
    pub fn finish(mut self) -> Vec<Problem> {
        for (code, count) in self.counts {
            if let Some(more) = count.checked_sub(LISTED).filter(|more| *more > 0) {
                let sentence = "{count} more of `{code}` are not listed; correct the ones above first";
                let problem = Problem::new(PictureCode::MoreProblems, sentence);
                self.list.push(problem.with("count", more).with("code", code.to_string()));
            }
        }
        self.list
    }
}

/// Problems that arrive in any order, sorted by their places. Of each code only the first thousand are kept.
#[derive(Debug)]
pub(crate) struct ProblemCollector<P> {
    by_code: BTreeMap<CodeWord, ProblemsOfCode<P>>,
}

#[derive(Debug)]
struct ProblemsOfCode<P> {
    count: usize,
    /// By place, and by number of arrival where one place has several.
    first: BTreeMap<(P, usize), Problem>,
}

impl<P: Ord> ProblemCollector<P> {
    pub fn new() -> Self {
        Self { by_code: BTreeMap::new() }
    }

    pub fn add(&mut self, place: P, problem: Problem) {
        let none = || ProblemsOfCode { count: 0, first: BTreeMap::new() };
        let of_code = self.by_code.entry(problem.code.clone()).or_insert_with(none);
        of_code.count += 1;
        of_code.first.insert((place, of_code.count), problem);
        if of_code.first.len() > LISTED {
            of_code.first.pop_last();
        }
    }

    pub fn in_order(self) -> Problems {
        let mut problems = Problems::default();
        let mut places = Vec::new();
        for (code, of_code) in self.by_code {
            problems.counts.insert(code, of_code.count);
            places.extend(of_code.first);
        }
        places.sort_by(|(one, _), (other, _)| one.cmp(other));
        problems.list = places.into_iter().map(|(_, problem)| problem).collect();
        problems
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_list_is_in_order_and_ends() {
        let mut unordered = ProblemCollector::new();
        for place in (0..2_500_u32).rev() {
            let code = if place % 2 == 0 { PictureCode::NoDate } else { PictureCode::NoBody };
            unordered.add(place, Problem::new(code, format!("{place}")));
        }
        let list = unordered.in_order().finish();
        let messages: Vec<String> = list.iter().map(Problem::message).collect();
        let first: Vec<String> = (0..2_000).map(|place| place.to_string()).collect();
        assert_eq!(messages.get(..2_000), Some(first.as_slice()));
        let more = "250 more of `no-body` are not listed; correct the ones above first";
        assert_eq!((messages.len(), messages.get(2_000).map(String::as_str)), (2_002, Some(more)));
    }
}
