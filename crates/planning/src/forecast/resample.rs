//! Courses of use drawn from whole weeks of the past: for amounts that vary, where no formula is at hand.
//!
//! Each course draws week after week: one of the item's own, recent ones more often; one of a fellow item,
//! seldom unless its own are few; or once more a week that this course had before. The last (a Pólya urn) makes
//! courses differ as much as a past of so few weeks leaves open (Rubin 1981, "The Bayesian Bootstrap").

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use std::sync::{Arc, OnceLock};

/// How many courses are drawn: the chances are exact to about 2 in 100.
pub(crate) const COURSES: usize = 256;

/// Weeks of the past that are looked at: three years.
pub(crate) const WEEKS: usize = 156;

/// After so many weeks a week counts half.
const HALF_LIFE: f64 = 26.0;

/// Fellow items weigh as much as so many weeks of one's own.
const FELLOWS: f64 = 2.0;

/// How much a week counts, 0 the last.
pub(crate) fn weight(week: usize) -> f64 {
    (-(week as f64) / HALF_LIFE).exp2()
}

/// One drawn week.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Draw {
    /// So many weeks ago.
    Own(u16),
    /// A week of the course's fellow, as a share of its past.
    Fellow(u16),
}

/// Courses for an item with so many weeks of its own. They are the same for all items with as many, so that
/// they are drawn once; what the weeks held differs.
#[derive(Debug)]
pub(crate) struct Courses {
    draws: Vec<Draw>,
    /// For each course, which of the fellows it has.
    fellows: Vec<u32>,
    length: usize,
}

impl Courses {
    fn new(weeks: usize, fellows: bool, length: usize, seed: u64) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(weeks as u64 * 2 + u64::from(fellows));
        let mut share = || (random.next_u64() >> 11) as f64 / (1_u64 << 53) as f64;
        let mut sum = 0.0;
        let sums: Vec<f64> = (0..weeks)
            .map(|week| {
                sum += weight(week);
                sum
            })
            .collect();
        let squares: f64 = (0..weeks).map(|week| weight(week).powi(2)).sum();
        // So many weeks that count alike would say as much.
        let own = if squares > 0.0 { sum * sum / squares } else { 0.0 };
        let others = if fellows { FELLOWS } else { 0.0 };
        let mut new = Self { draws: Vec::new(), fellows: Vec::new(), length };
        for course in 0..COURSES {
            new.fellows.push((share() * f64::from(u32::MAX)) as u32);
            for number in 0..length {
                let at = share() * (own + others + number as f64);
                let draw = if at < own {
                    let wanted = share() * sum;
                    let week = sums.partition_point(|sum| *sum <= wanted).min(weeks.saturating_sub(1));
                    Draw::Own(u16::try_from(week).unwrap_or(u16::MAX))
                } else if at < own + others {
                    Draw::Fellow((share() * 65_536.0) as u16)
                } else {
                    let again = course * length + (at - own - others) as usize;
                    new.draws.get(again).copied().unwrap_or(Draw::Fellow(0))
                };
                new.draws.push(draw);
            }
        }
        new
    }

    /// Every course: its fellow, as a share of all, and its weeks.
    pub fn each(&self) -> impl Iterator<Item = (u32, &[Draw])> {
        self.fellows.iter().copied().zip(self.draws.chunks(self.length.max(1)))
    }
}

/// The courses for every number of weeks, drawn when first asked for.
#[derive(Debug)]
pub(crate) struct DrawnCourses {
    courses: Vec<[OnceLock<Arc<Courses>>; 2]>,
    length: usize,
    seed: u64,
}

impl DrawnCourses {
    /// Courses of so many weeks.
    pub fn new(length: usize, seed: u64) -> Self {
        Self { courses: (0..=WEEKS).map(|_| Default::default()).collect(), length, seed }
    }

    /// The courses for an item with so many weeks of its own, with or without fellows.
    pub fn of(&self, weeks: usize, fellows: bool) -> Option<Arc<Courses>> {
        let slot = self.courses.get(weeks.min(WEEKS))?.get(usize::from(fellows))?;
        let draw = || Arc::new(Courses::new(weeks.min(WEEKS), fellows, self.length, self.seed));
        Some(slot.get_or_init(draw).clone())
    }
}

/// The past of one usage, week by week, for the courses to draw from.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pool<'a> {
    /// The item's own weeks, the latest first.
    pub own: &'a [f32],
    /// Those of its fellows.
    pub fellows: &'a [Vec<f32>],
    /// How much use the season of each week brings; absent where there are none.
    pub shares: Option<&'a [f64]>,
    /// Which of the fellows is the item itself.
    pub itself: Option<usize>,
}

impl Pool<'_> {
    /// What a drawn week held, and how much use its season brings, in average weeks.
    fn week(&self, fellow: u32, draw: Draw) -> (f32, f32) {
        let (weeks, week) = match draw {
            Draw::Own(week) => (self.own, usize::from(week)),
            Draw::Fellow(at) => {
                let others = self.fellows.len() - usize::from(self.itself.is_some());
                let number = ((u64::from(fellow) * others as u64) >> 32) as usize;
                let skipped = self.itself.is_some_and(|itself| number >= itself);
                let weeks = self.fellows.get(number + usize::from(skipped)).map_or(&[][..], Vec::as_slice);
                (weeks, (usize::from(at) * weeks.len()) >> 16)
            }
        };
        let share = self.shares.map_or(1.0, |shares| shares.get(week).map_or(1.0, |share| *share as f32));
        (weeks.get(week).copied().unwrap_or(0.0), share)
    }

    /// Whether there is any fellow but itself.
    pub fn has_fellows(&self) -> bool {
        self.fellows.len() > usize::from(self.itself.is_some())
    }

    /// After how much time, in average weeks, a course has brought so much; `None` if it is too short.
    pub fn reached(&self, needed: f64, fellow: u32, course: &[Draw]) -> Option<f64> {
        let (mut sum, mut time, needed) = (0.0_f32, 0.0_f32, needed as f32);
        for draw in course {
            let (amount, share) = self.week(fellow, *draw);
            if sum + amount >= needed {
                return Some(f64::from(time + share * (needed - sum) / amount));
            }
            (sum, time) = (sum + amount, time + share);
        }
        None
    }

    /// Time and sum of a course after each week.
    pub fn sums(&self, fellow: u32, course: &[Draw]) -> Vec<(f64, f64)> {
        let (mut sum, mut time) = (0.0, 0.0);
        course
            .iter()
            .map(|draw| {
                let (amount, share) = self.week(fellow, *draw);
                (sum, time) = (sum + f64::from(amount), time + f64::from(share));
                (time, sum)
            })
            .collect()
    }
}
