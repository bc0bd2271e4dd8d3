//! Control of the work against published and independently computed values.
//!
//! - NIST/SEMATECH e-Handbook 6.3.2.3, printed example as quoted (EW1 and IM1
//!   are in `learn.rs`, beside the charts they belong to); 6.1.6 from memory
//!   of the print.
//! - `data/spc_constants.csv`: factors of control charts for n = 2 to 20, as
//!   printed in the table of a statistics textbook.
//! - `data/spc_gauge.csv`: the ninety readings of the gauge study of a manual
//!   on measurement systems, with its analysis as printed.
//! - `data/control_accepts.csv` (OC1), `data/control_zero.csv` (CZ1, CZ2):
//!   computed by another program from the textbook formulas.
//! - JCGM 100:2008 (GUM) annex H.1, end gauge, as printed.
//! - `reference/control_intervals.py` (SciPy) wrote `data/control_intervals.csv`.
//!
//! Not used: the code letters of sampling by lots (no lot is bought or sold
//! here), and of the gauge study all but repeatability (one builder, one
//! caliper).

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use faying_bench::control::{
    Capability, Repeatability, at_most, c4, coverage_factor, cusum, cusum_limits, effective_freedom,
    rate_interval, standard_deviation, zero_acceptance,
};
use faying_joint::odds::{Range, normal};
use faying_standards::figures;

fn rows(text: &str) -> impl Iterator<Item = Vec<&str>> {
    text.lines().skip(1).map(|line| line.split(',').collect())
}

fn number(cell: &str) -> f64 {
    cell.parse().unwrap()
}

/// CU1, printed to two places.
#[test]
fn cu1_the_sums_of_the_handbook() {
    let values = [
        324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625,
        325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350,
    ];
    let sums = cusum(&values, 325.0, 0.3175);
    for (at, printed) in [(2, 0.01), (4, 0.33), (7, 0.56)] {
        assert!((sums[at - 1].down - printed).abs() <= 0.005 + 1e-9, "down at {at}: {}", sums[at - 1].down);
    }
    assert!((sums[4].up - 0.03).abs() <= 0.005 + 1e-9, "up at 5: {}", sums[4].up);
    let first = sums.iter().position(|it| it.outside(4.1959)).unwrap();
    assert_eq!(first + 1, 14);
    assert!((sums[first].up - 4.94).abs() <= 0.005 + 1e-9);
    // Its slack is that of a shift of one standard deviation, and its limit follows from it: h = 4.1959.
    let (slack, limit) = cusum_limits(2.0 * 0.3175);
    assert!((slack - 0.3175).abs() < 1e-12);
    assert!((limit - 4.1959).abs() <= 5e-5, "{limit}");
}

/// CP1, from memory of the print.
#[test]
fn cp1_the_capability_of_the_handbook() {
    let limits = Range { least: Some(8.0), most: Some(20.0) };
    let it = Capability::from_spread(50, 16.0, 2.0, limits).unwrap();
    for (got, printed) in [
        (it.spread_only().unwrap(), 1.0),
        (it.upper.unwrap(), 0.6667),
        (it.lower.unwrap(), 1.3333),
        (it.index(), 0.6667),
    ] {
        assert!((got - printed).abs() <= 5e-5, "{got}, printed {printed}");
    }
    // A shop head that has lower limits only has one side.
    let least = Range { least: Some(8.0), most: None };
    let it = Capability::from_spread(50, 16.0, 2.0, least).unwrap();
    assert!((it.index() - 1.3333).abs() <= 5e-5);
    assert_eq!((it.upper, it.spread_only()), (None, None));
    assert_eq!(Capability::from_spread(50, 16.0, 2.0, Range::default()), None);
}

/// OC1, to four places.
#[test]
fn oc1_what_a_binomial_lets_through() {
    let mut count = 0;
    for row in rows(include_str!("data/control_accepts.csv")) {
        let got = at_most(row[0].parse().unwrap(), row[1].parse().unwrap(), number(row[2]));
        assert!((got - number(row[3])).abs() <= 5e-5, "{row:?}: {got}");
        count += 1;
    }
    assert_eq!(count, 16);
}

/// CZ1 and CZ2: whole numbers, so no tolerance.
#[test]
fn cz1_and_cz2_heads_to_measure() {
    let mut count = 0;
    for row in rows(include_str!("data/control_zero.csv")) {
        let lot = (!row[1].is_empty()).then(|| row[1].parse().unwrap());
        assert_eq!(zero_acceptance(lot, number(row[2]), number(row[3])).to_string(), row[4], "{row:?}");
        count += 1;
    }
    assert_eq!(count, 9);
}

/// Mean and standard deviation of the range of `n` standard normal values, by Simpson's rule on
/// E[R] = ∫(1 − Φⁿ − (1 − Φ)ⁿ) and E[R²] = 2∫∫(1 − Φ(y)ⁿ − (1 − Φ(x))ⁿ + (Φ(y) − Φ(x))ⁿ), x < y.
fn range_of(n: i32) -> (f64, f64) {
    const STEPS: usize = 400;
    const FAR: f64 = 8.0;
    let step = 2.0 * FAR / STEPS as f64;
    let phi: Vec<f64> = (0..=STEPS).map(|at| normal(-FAR + step * at as f64)).collect();
    let simpson = |at: usize, last: usize| match at {
        0 => 1.0,
        _ if at == last => 1.0,
        _ if at % 2 == 1 => 4.0,
        _ => 2.0,
    };
    let one = |at: usize| 1.0 - phi[at].powi(n) - (1.0 - phi[at]).powi(n);
    let mean = (0..=STEPS).map(|at| simpson(at, STEPS) * one(at)).sum::<f64>() * step / 3.0;
    // The inner integral has its own even number of steps: trapezia, whose error vanishes with the
    // smooth ends; one half of the square, so twice.
    let both = |x: usize, y: usize| {
        1.0 - phi[y].powi(n) - (1.0 - phi[x]).powi(n) + (phi[y] - phi[x]).powi(n)
    };
    let mut square = 0.0;
    for y in 0..=STEPS {
        for x in 0..=y {
            square += if x == y { 0.5 } else { 1.0 } * both(x, y);
        }
    }
    let square = 2.0 * square * step * step;
    (mean, (square - mean * mean).sqrt())
}

/// Every factor of the table, n = 2 to 20, from c4, d2 and d3; printed to three places, c4 to four.
///
/// Three of the table's own figures are not what they compute to, because the table was made from
/// d3 and d2 as rounded: they are named below and must go on to differ.
#[test]
fn the_factors_of_control_charts_are_as_printed() {
    let mut differs = Vec::new();
    let mut count = 0;
    for row in rows(include_str!("data/spc_constants.csv")) {
        let n: i32 = row[0].parse().unwrap();
        let c4 = c4(n as usize);
        let (d2, d3) = range_of(n);
        let root = f64::from(n).sqrt();
        let spread = 3.0 * (1.0 - c4 * c4).sqrt() / c4;
        let from_range = 3.0 * d3 / d2;
        let factors = [
            ("A2", 3.0 / (d2 * root)),
            ("A3", 3.0 / (c4 * root)),
            ("c4", c4),
            ("B3", (1.0 - spread).max(0.0)),
            ("B4", 1.0 + spread),
            ("d2", d2),
            ("d3", d3),
            ("D3", (1.0 - from_range).max(0.0)),
            ("D4", 1.0 + from_range),
        ];
        for ((name, got), printed) in factors.into_iter().zip(&row[1..]) {
            let half = if name == "c4" { 5e-5 } else { 5e-4 };
            let off = (got - number(printed)).abs();
            if off > half + 1e-7 {
                // Never by more than one in the last place.
                assert!(off < 2.0 * half + 1e-3, "{name} of {n}: printed {printed}, computed {got:.5}");
                differs.push(format!("{name}({n}) printed {printed}, computed {got:.4}"));
            }
            count += 1;
        }
    }
    assert_eq!(count, 19 * 9);
    assert_eq!(differs, [""; 0]);
}

/// The gauge study: repeatability .199933 with the interaction pooled, .214435 without.
///
/// Ten parts, three people, three readings each. What the tool pools is the second; the first
/// counts how people and parts differ together as if it were the reading, which one builder with one
/// caliper has not.
#[test]
fn gr1_repeatability_of_the_gauge_study() {
    let mut cells: Vec<Vec<f64>> = vec![Vec::new(); 30];
    for row in rows(include_str!("data/spc_gauge.csv")) {
        let part: usize = row[0].parse().unwrap();
        let person = "ABC".find(row[1]).unwrap();
        cells[3 * (part - 1) + person].push(number(row[3]));
    }
    let heads: Vec<&[f64]> = cells.iter().map(Vec::as_slice).collect();
    assert!(heads.iter().all(|head| head.len() == 3));
    let it = Repeatability::of(&heads, 0.0).unwrap();
    assert_eq!((it.n, it.heads, it.freedom), (90, 30, 60));
    assert!((it.s - 0.214_435).abs() <= 5e-7, "{}", it.s);
    assert!((it.u - it.s).abs() < 1e-15 && (it.u_freedom - 60.0).abs() < 1e-9);

    let mean = |values: &mut dyn Iterator<Item = f64>| {
        let all: Vec<f64> = values.collect();
        all.iter().sum::<f64>() / all.len() as f64
    };
    let of_cell = |cell: usize| mean(&mut cells[cell].iter().copied());
    let grand = mean(&mut (0..30).map(of_cell));
    let interaction: f64 = (0..30)
        .map(|cell| {
            let part = mean(&mut (0..3).map(|person| of_cell(cell / 3 * 3 + person)));
            let person = mean(&mut (0..10).map(|part| of_cell(3 * part + cell % 3)));
            3.0 * (of_cell(cell) - part - person + grand).powi(2)
        })
        .sum();
    let pooled = ((it.s * it.s * 60.0 + interaction) / 78.0).sqrt();
    assert!((pooled - 0.199_933).abs() <= 5e-7, "{pooled}");
}

/// UM1: GUM H.1. Printed: 16.7 degrees of freedom, cut to 16, k = 2.12. The contributions as printed
/// give 16.64: the print worked with more figures.
#[test]
fn um1_degrees_of_freedom_of_the_end_gauge() {
    let contributions =
        [(25.0, 18.0), (5.8, 24.0), (3.9, 5.0), (6.7, 8.0), (2.9, 50.0), (16.6, 2.0)];
    let freedom = effective_freedom(&contributions);
    assert!((freedom - 16.64).abs() <= 0.04, "{freedom}");
    assert_eq!(freedom.floor(), 16.0);
    let k = coverage_factor(0.95, freedom);
    assert!((k - 2.12).abs() <= 0.005 && (k - 2.1199).abs() <= 5e-5, "{k}");
}

/// SciPy: rates with their intervals (beta quantiles), and Student's factors.
#[test]
fn intervals_agree_with_scipy() {
    let mut count = 0;
    for row in rows(include_str!("data/control_intervals.csv")) {
        let value: Vec<f64> = row[1..].iter().filter(|cell| !cell.is_empty()).map(|cell| number(cell)).collect();
        if row[0] == "rate" {
            let [low, high] = rate_interval(value[0] as usize, value[1] as usize, value[2]);
            assert!((low - value[3]).abs() < 1e-9 && (high - value[4]).abs() < 1e-9, "{row:?}: {low} {high}");
        } else {
            let k = coverage_factor(value[0], value[1]);
            assert!((k - value[2]).abs() < 1e-7, "{row:?}: {k}");
        }
        count += 1;
    }
    assert_eq!(count, 24);
}

/// The constant by which the individuals chart has its limits is the mean range of two: 2/√π.
#[test]
fn the_moving_range_is_a_range_of_two() {
    let exact = 2.0 / std::f64::consts::PI.sqrt();
    assert!((figures().constant("moving-range-d2").value - exact).abs() <= 5e-4);
    assert!((range_of(2).0 - exact).abs() < 1e-9);
    // Two values a and b: s = |a − b|/√2.
    assert!((standard_deviation(&[1.0, 3.0]).unwrap() - 2_f64.sqrt()).abs() < 1e-15);
}
