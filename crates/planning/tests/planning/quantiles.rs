//! Closed forms against scipy.stats: `scipy_quantiles.csv`, made by `scipy_quantiles.py` beside it.

use kitlore_planning::{GammaPoisson, time_at_rate};

#[test]
fn quantiles_are_those_of_scipy() {
    let mut checked = 0;
    let lines = include_str!("scipy_quantiles.csv").lines().skip(2);
    for line in lines {
        let cells: Vec<&str> = line.split(',').collect();
        let number = |at: usize| cells[at].parse::<f64>().unwrap_or(f64::NAN);
        let [shape, exposure, needed, time, probability, value] = [1, 2, 3, 4, 5, 6].map(number);
        let rate = GammaPoisson { shape, exposure };
        let ours = match cells[0] {
            "known" => time_at_rate(shape, needed, probability),
            "rate" => rate.rate(probability),
            "time" => rate.time(needed, probability),
            "count" => rate.count(time, probability) as f64,
            "chance" => rate.chance(needed, time),
            other => panic!("{other}"),
        };
        let near = if cells[0] == "chance" { 1e-9 } else { 1e-6 * value.abs().max(1e-6) };
        assert!((ours - value).abs() <= near, "{line}: {ours}");
        checked += 1;
    }
    assert!(checked > 300, "{checked} rows");
}

/// Check values worked with scipy by others: Gamma(1, 30) and 3 uses in 90 days, 5 more.
#[test]
fn the_worked_example_holds() {
    let rate = GammaPoisson { shape: 1.0, exposure: 30.0 }.after(3.0, 90.0);
    for (probability, days) in [(0.05, 48.83356), (0.5, 152.6311), (0.95, 502.0745)] {
        assert!((rate.time(5.0, probability) - days).abs() < 1e-6 * days * 10.0);
    }
    assert!((rate.chance(1.0, 30.0) - (1.0 - 0.8_f64.powi(4))).abs() < 1e-12);
    assert_eq!([0.05, 0.5, 0.95].map(|p| rate.count(30.0, p)), [0, 1, 3]);
}
