//! Whether the spans hold what they promise: simulated items of known use, forecast from their log and then
//! used on. The share of true dates within the 10–90 % span is printed: run with `--nocapture`.

use chrono::{Datelike, Days, NaiveDate};
use kitlore_engine::batch::Batch;
use kitlore_engine::columns::{Amounts, Keys, Times};
use kitlore_engine::{Amount, Book, EventKey, Item, ItemKey, Program, When};
use kitlore_planning::{Options, forecast};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use std::num::NonZeroUsize;

const ITEMS: usize = 2_000;
const HORIZON: u32 = 730;

/// Draws for simulations.
struct Dice(ChaCha8Rng);

impl Dice {
    fn share(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Knuth's method: the rates here are small.
    fn poisson(&mut self, mean: f64) -> u32 {
        let (limit, mut product, mut count) = ((-mean).exp(), self.share(), 0);
        while product > limit {
            product *= self.share();
            count += 1;
        }
        count
    }

    /// A gamma number of whole shape and mean 1.
    fn gamma(&mut self, shape: u32) -> f64 {
        -(0..shape).map(|_| (1.0 - self.share()).ln()).sum::<f64>() / f64::from(shape)
    }
}

/// How a day's uses come about, as amounts.
type DayOf = fn(&mut Dice, f64, NaiveDate) -> Vec<u32>;

fn steady(dice: &mut Dice, rate: f64, _: NaiveDate) -> Vec<u32> {
    vec![1; dice.poisson(rate) as usize]
}

/// Hardly used from November to February, most in June.
fn seasonal(dice: &mut Dice, rate: f64, date: NaiveDate) -> Vec<u32> {
    let year = f64::from(date.ordinal()) / 365.25 * std::f64::consts::TAU;
    let share = (1.0 - 1.3 * (year + 0.2).cos()).max(0.0) / 1.07;
    vec![1; dice.poisson(rate * share) as usize]
}

/// Jobs now and then, each with 1 to 9 uses.
fn bursty(dice: &mut Dice, rate: f64, _: NaiveDate) -> Vec<u32> {
    let jobs = dice.poisson(rate / 5.0);
    (0..jobs).flat_map(|_| vec![1; 1 + (dice.share() * 9.0) as usize]).collect()
}

/// Shoots of very different length, as amounts.
fn frames(dice: &mut Dice, rate: f64, _: NaiveDate) -> Vec<u32> {
    let shoots = dice.poisson(rate);
    (0..shoots).map(|_| 20 + (dice.share().powi(3) * 800.0) as u32).collect()
}

/// Frames by season.
fn frames_seasonal(dice: &mut Dice, rate: f64, date: NaiveDate) -> Vec<u32> {
    seasonal(dice, rate, date).into_iter().map(|_| 20 + (dice.share().powi(3) * 800.0) as u32).collect()
}

/// Share of true dates within the span, and how many forecasts said that there is too little.
fn held(threshold: u32, weeks: u64, items: usize, day_of: DayOf, seed: u64) -> (f64, usize) {
    let mut dice = Dice(ChaCha8Rng::seed_from_u64(seed));
    let rules = Program::parse(&format!("for cameras\n after {threshold} uses, inspect sensor")).unwrap();
    let mut book = Book::new(&rules);
    let end: NaiveDate = "2026-03-01".parse().unwrap();
    let begin = end - Days::new(weeks * 7);
    let (used, done) = (book.event_key("use"), book.event_key("inspect sensor"));
    let mut truths = Vec::new();
    for number in 0..items {
        let id = format!("C{number:05}");
        let began = begin + Days::new((dice.share() * weeks as f64 * 3.5) as u64);
        book.add_item(Item::new(&id, "camera").received(began)).unwrap();
        let key = book.item_key(&id);
        let rate = dice.gamma(4) * 1.5 / 7.0;
        let (mut count, mut truth) = (0, None);
        for date in began.iter_days().skip(1).take_while(|date| *date <= end + Days::new(HORIZON.into())) {
            let amounts = day_of(&mut dice, rate, date);
            if date <= end {
                for amount in &amounts {
                    let when = When::Local(date.and_hms_opt(12, 0, 0).unwrap());
                    record(&mut book, when, used, key, Some(Amount::from(*amount)));
                }
            }
            count += amounts.iter().sum::<u32>();
            if count >= threshold && date <= end {
                count = 0;
                let when = When::Local(date.and_hms_opt(20, 0, 0).unwrap());
                record(&mut book, when, done, key, None);
            } else if count >= threshold {
                truth = Some(date);
                break;
            }
        }
        truths.push(truth);
    }
    let at = rules.when_is_over(When::Date(end));
    let threads = std::num::NonZeroUsize::new(2).unwrap();
    let ahead = forecast(&mut book, at, &Options { days: HORIZON, seed, threads, ..Options::default() });
    let too_little = ahead.rows().iter().filter(|row| !row.enough()).count();
    let pairs: Vec<_> = ahead.rows().iter().zip(&truths).filter(|(row, _)| row.enough()).collect();
    let within = pairs.iter().filter(|(row, truth)| {
        let truth = truth.unwrap_or(NaiveDate::MAX);
        row.p10.is_some_and(|p10| p10 <= truth) && row.p90.is_none_or(|p90| truth <= p90)
    });
    (within.count() as f64 / pairs.len() as f64, too_little)
}

#[test]
fn spans_hold_what_they_promise() {
    let cases: [(&str, DayOf, u32, usize, std::ops::RangeInclusive<f64>); 6] = [
        ("steady, counted", steady, 20, ITEMS, 0.76..=0.84),
        ("seasonal, counted", seasonal, 20, ITEMS, 0.70..=1.0),
        ("bursty, counted", bursty, 20, ITEMS, 0.70..=1.0),
        ("frames, drawn", frames, 4_000, ITEMS, 0.70..=1.0),
        ("seasonal frames, drawn", frames_seasonal, 4_000, ITEMS, 0.70..=1.0),
        ("steady, five cameras", steady, 20, 5, 0.0..=1.0),
    ];
    for (name, day_of, threshold, items, promised) in cases {
        let runs = if items < 100 { 200 } else { 1 };
        let (mut sum, mut too_little) = (0.0, 0);
        for run in 0..runs {
            let (share, few) = held(threshold, 104, items, day_of, 7 + run);
            sum += share;
            too_little += few;
        }
        let share = sum / runs as f64;
        println!(
            "{name:24} {:5.1} % of {} within 10–90 %, {too_little} with too little",
            share * 100.0,
            items as u64 * runs
        );
        assert!(promised.contains(&share), "{name}: {share}");
    }
}

/// Records one entry.
fn record(book: &mut Book, when: When, event: EventKey, item: ItemKey, amount: Option<Amount>) {
    let when = [when];
    let entry = Batch {
        item: Keys::One(item),
        amount: Amounts::Each(&[amount]),
        ..Batch::new(Times::Each(&when), Keys::One(event))
    };
    assert_eq!(book.record_batches(&[entry], NonZeroUsize::MIN), []);
}
