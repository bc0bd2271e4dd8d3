//! What is learned at the bench, against other programs, print and hand reckoning.
//!
//! - `reference/learn_yoke.py` and `reference/learn_ewma.py` (NumPy, SciPy)
//!   wrote `data/learn_yoke.csv` and `data/learn_ewma.csv`.
//! - NIST/SEMATECH e-Handbook 6.3.2.4 and 6.3.2.2: the printed examples, as quoted.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use faying_bench::learn::{
    Calibration, HeadSeen, LookBack, Reading, Yoke, calibrate, drift, ewma, ewma_limit, heads_to_measure,
    individuals, learn_times, look_back, share,
};
use faying_bench::settings::{Adjust, Head, Spring};
use faying_joint::constants::Constants;
use faying_joint::head::Bore;
use faying_standards::{Force, Length, inches};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

fn mil(thousandths: f64) -> Length {
    inches(thousandths / 1e3)
}

fn head(seat_to_seat: f64, height: f64, force: f64) -> Head {
    Head { seat_to_seat: inches(seat_to_seat), height: inches(height), force: Some(Force::from_lbf(force)) }
}

fn cells(line: &str) -> Vec<f64> {
    line.split(',').skip(1).filter(|cell| !cell.is_empty()).map(|cell| cell.parse().unwrap()).collect()
}

/// Lengths are kept to the nanometre, 4·10⁻⁸ in; the forces take that to 10⁻¹¹ in per lbf.
#[test]
fn the_yoke_is_as_scipy_has_it() {
    let text = include_str!("data/learn_yoke.csv");
    let mut readings: Vec<Reading> = Vec::new();
    let (mut answers, mut single) = (0, 0);
    for line in text.lines().skip(1) {
        let value = cells(line);
        if line.starts_with("reading") {
            readings.push(Reading { open: inches(value[1]), head: head(value[2], value[3], value[4]) });
            continue;
        }
        let before = Spring { per_lbf: value[3], u: value[4] };
        let yoke = Yoke::of(&readings, before, inches(value[1]), inches(value[2])).unwrap();
        let close = |name: &str, got: f64, wanted: f64, tolerance: f64| {
            assert!((got - wanted).abs() < tolerance, "case {}: {name} {got}, SciPy {wanted}", value[0]);
        };
        let (s0, s0_u) = yoke.s0();
        close("s0", s0.inches(), value[5], 2e-7);
        close("u of s0", s0_u.inches(), value[6], 2e-7);
        close("1/k", yoke.spring.per_lbf, value[7], 1e-10);
        close("u of 1/k", yoke.spring.u, value[8], 1e-10);
        let (x, u) = yoke.setting_for(&head(value[9], value[10], value[11])).unwrap();
        close("setting", x.inches(), value[12], 2e-7);
        close("u of the setting", u.inches(), value[13], 2e-7);
        if readings.len() == 1 {
            // One head says nothing of the spring.
            assert!((yoke.spring.per_lbf - before.per_lbf).abs() < 1e-15);
            assert!((yoke.spring.u - before.u).abs() < 1e-15);
            single += 1;
        }
        answers += 1;
        readings.clear();
    }
    assert_eq!((answers, single), (24, 3));
}

/// Yokes drawn from the prior, heads with the assumed noise: the true setting lies within 1.96 u
/// 95 times in 100, whatever the number of heads.
#[test]
fn the_uncertainty_of_a_setting_is_what_it_says() {
    let mut rng = ChaCha8Rng::seed_from_u64(1941);
    let mut normal = move || {
        let (one, other): (f64, f64) = (1.0 - rng.random::<f64>(), rng.random());
        (-2.0 * one.ln()).sqrt() * (std::f64::consts::TAU * other).cos()
    };
    let before = Spring::practice();
    let (height_u, caliper_u) = (mil(2.6), mil(1.0));
    for heads in [1, 3, 8] {
        let (mut inside, draws) = (0, 4000);
        for _ in 0..draws {
            let (s0, per_lbf) = (-0.1 + 0.05 * normal(), before.per_lbf + before.u * normal());
            let setting = |head: &Head, s0: f64| {
                s0 + (head.seat_to_seat + head.height).inches() - head.force.unwrap().lbf() * per_lbf
            };
            let readings: Vec<Reading> = (0..heads)
                .map(|_| {
                    let made = head(0.1, 0.06, 1900.0 + 400.0 * normal());
                    let noise = 0.0026 * normal() + 0.001 * normal();
                    Reading { open: inches(setting(&made, s0) + noise), head: made }
                })
                .collect();
            let yoke = Yoke::of(&readings, before, height_u, caliper_u).unwrap();
            let next = head(0.143, 0.060, 2500.0);
            let (x, u) = yoke.setting_for(&next).unwrap();
            inside += u32::from((x.inches() - setting(&next, s0)).abs() < 1.96 * u.inches());
        }
        let share = f64::from(inside) / f64::from(draws);
        // The share itself scatters by .0034.
        assert!((share - 0.95).abs() < 0.012, "{heads} heads: {share}");
    }
}

#[test]
fn heads_without_a_force_are_left_out() {
    let known = Reading { open: Length::ZERO, head: head(0.08, 0.06, 1900.0) };
    let unknown = Reading { open: mil(10.0), head: Head { force: None, ..known.head } };
    let before = Spring::practice();
    let of = |readings: &[Reading]| Yoke::of(readings, before, mil(2.6), mil(1.0));
    assert_eq!(of(&[unknown]), None);
    assert_eq!(of(&[]), None);
    let yoke = of(&[known, unknown]).unwrap();
    assert_eq!((yoke.heads, yoke.left_out, yoke.scatter), (1, 1, None));
    assert_eq!(yoke.setting_for(&unknown.head), None);
    // The first head's own setting is no change.
    let (x, u) = yoke.setting_for(&known.head).unwrap();
    assert_eq!(x, Length::ZERO);
    assert!((u.inches() - 0.0026_f64.hypot(0.001)).abs() < 1e-7);
    // A yoke known exactly stays as it is.
    let stiff = Yoke::of(&[known, known], Spring::STIFF, mil(2.6), mil(1.0)).unwrap();
    assert_eq!(stiff.spring, Spring::STIFF);
    assert_eq!(yoke.working().figures().len(), 2);
}

/// Three heads that are .030, 0 and .030 off a line are far beyond the noise.
#[test]
fn heads_that_contradict_each_other_scatter() {
    let at = |open: f64| Reading { open: mil(open), head: head(0.08, 0.06, 1900.0) };
    let yoke = Yoke::of(&[at(0.0), at(30.0), at(60.0)], Spring::practice(), mil(2.6), mil(1.0)).unwrap();
    // √(2·.030²/1) = .0424 over .00279.
    assert!((yoke.scatter.unwrap() - 15.23).abs() < 0.01, "{:?}", yoke.scatter);
}

/// Hole and shank alike, tail 1.5 d: V = d²·p·π/4. Pressed to 1.5 d it is .8 of p/1.5² high if a
/// fifth is missing: .0667 in.
fn seen(missing: f64) -> HeadSeen {
    let bore = Bore { shank: inches(0.125), hole: inches(0.125), cylinder: inches(0.08), fill: 1.0 };
    let height = (1.0 - missing) * 0.1875 / 2.25;
    HeadSeen { bore, tail: inches(0.1875), width: inches(0.1875), height: inches(height) }
}

#[test]
fn missing_metal_moves_with_the_heads() {
    let constants = Constants::standard();
    let of = |missing: f64, count: usize| calibrate(&vec![seen(missing); count], &constants);
    assert!((seen(0.2).missing(1.0).unwrap() - 0.2).abs() < 1e-6);
    let near = |found: &Calibration, own: f64, after: f64| {
        assert!((found.own.unwrap() - own).abs() < 1e-6, "{found:?}");
        assert!((found.after - after).abs() < 1e-6, "{found:?}");
    };
    let none = of(0.2, 0);
    assert_eq!((none.own, none.after, none.settled), (None, 0.15, false));
    // The default counts as ten heads: (10·.15 + 5·.2)/15, (10·.15 + 10·.2)/20.
    let five = of(0.2, 5);
    near(&five, 0.2, 2.5 / 15.0);
    assert!(!five.settled);
    let ten = of(0.2, 10);
    near(&ten, 0.2, 0.175);
    assert!(ten.settled && ten.before == 0.15);
    near(&of(0.05, 90), 0.05, 0.06);
    assert!(none.u > five.u && five.u > of(0.2, 100).u);
    // A default known as a rectangle from .10 to .20.
    assert!((none.u - 0.05 / 3_f64.sqrt()).abs() < 1e-9);
    // One head: .8·√((2·.001/.1875)² + (.001/.0667)² + (.010/√3/.1875)²) = .0287, however alike they are.
    let u = |default: f64, heads: f64| (default * 0.05 / 3_f64.sqrt()).hypot(heads * 0.028_699);
    assert!((ten.u - u(0.5, 0.5 / 10_f64.sqrt())).abs() < 2e-6, "{}", ten.u);
    // Heads that scatter more than that count by their scatter: .1 and .3 have √2·.1.
    let apart = calibrate(&[seen(0.1), seen(0.3)], &constants);
    let wanted = (10.0 / 12.0 * 0.05 / 3_f64.sqrt()).hypot(2.0 / 12.0 * 0.1);
    assert!((apart.u - wanted).abs() < 1e-6, "{}", apart.u);
    let swallowed = HeadSeen { tail: Length::ZERO, ..seen(0.2) };
    let found = calibrate(&[swallowed, seen(0.2)], &constants);
    assert_eq!((found.heads, found.left_out), (1, 1));

    assert_eq!(none.sentence(), "No head is measured yet: 15 % of the metal is taken as missing.");
    assert_eq!(
        of(0.2, 1).sentence(),
        "Your 1 head misses 20 % of the metal; 15 % stays until 10 are in (with it 15 %)."
    );
    assert_eq!(
        five.sentence(),
        "Your 5 heads miss 20 % of the metal; 15 % stays until 10 are in (with them 17 %)."
    );
    assert_eq!(ten.sentence(), "Your 10 heads miss 20 % of the metal: 15 % before, 18 % with them.");
    assert_eq!(ten.working().figures()[0].put_in, "(10·0.150 + 10·0.200)/(10 + 10)");
}

/// The handbook's twenty values, λ .3, start 50, s 2.0539: printed to two places, limits to four
/// (the lower one cut off, not rounded).
#[test]
fn the_moving_average_is_as_the_handbook_prints_it() {
    let values = [
        52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6,
        52.4, 53.6, 52.1,
    ];
    let printed = [
        50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05,
        49.38, 49.92, 50.73, 51.23, 51.94, 51.99,
    ];
    let chart = ewma(&values, 50.0, 2.0539, 0.3, 3.0);
    for (point, printed) in chart.iter().zip(printed) {
        assert!((point.z - printed).abs() <= 0.005 + 1e-9, "{} printed {printed}", point.z);
    }
    let limit = ewma_limit(2.0539, 0.3, 3.0, None);
    assert!((50.0 + limit - 52.5884).abs() < 1e-4 && (50.0 - limit - 47.4115).abs() < 1e-4);
    assert!(chart.iter().all(|point| (point.z - 50.0).abs() < limit), "in control");
    // A chart that has just begun has narrower limits, and comes to the same.
    assert!(chart[0].limit < 0.72 * limit && (chart[19].limit - limit).abs() < 1e-5);
}

#[test]
fn moving_averages_are_as_scipy_has_them() {
    let rows: Vec<Vec<f64>> = include_str!("data/learn_ewma.csv")
        .lines()
        .skip(1)
        .map(|line| line.split(',').map(|cell| cell.parse().unwrap()).collect())
        .collect();
    assert_eq!(rows.len(), 100);
    for case in rows.chunks(25) {
        let values: Vec<f64> = case.iter().map(|row| row[4]).collect();
        let chart = ewma(&values, 0.0, case[0][2], case[0][1], case[0][3]);
        for (point, row) in chart.iter().zip(case) {
            assert!((point.z - row[5]).abs() < 1e-12, "{point:?} {row:?}");
            assert!((point.limit - row[6]).abs() < 1e-12, "{point:?} {row:?}");
        }
    }
}

/// The handbook's ten values: mean 50.81, mean moving range 1.8778, limits 55.8041 and 45.8159.
#[test]
fn the_individuals_chart_is_as_the_handbook_prints_it() {
    let values = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
    let chart = individuals(&values).unwrap();
    for (got, printed) in
        [(chart.mean, 50.81), (chart.moving_range, 1.8778), (chart.upper, 55.8041), (chart.lower, 45.8159)]
    {
        assert!((got - printed).abs() <= 0.5e-4 + 1e-9, "{got}, printed {printed}");
    }
    assert!(chart.outside.is_empty());
    let mut with_one_out = [0.0; 20];
    with_one_out[12] = 5.0;
    // Mean .25, mean moving range 10/19: limits .25 ± 1.40.
    assert_eq!(individuals(&with_one_out).unwrap().outside, [12]);
    assert_eq!(individuals(&[1.0]), None);
}

/// σ = √(.0026² + .001²) = .002786. Heads that stand .006 high: averages .0012 and .00216, limits
/// .00167 and .00214: the second signals.
#[test]
fn a_drift_raises_an_adjustment() {
    let of = |deviations: &[f64], per_height: f64| {
        let deviations: Vec<Length> = deviations.iter().map(|&d| mil(d)).collect();
        drift(&deviations, mil(2.6), mil(1.0), &Adjust::Free, &[], per_height)
    };
    let quiet = of(&[1.0, -2.0, 0.5, 2.0, -1.0], 1.0);
    assert_eq!((quiet.signalled, quiet.adjustment.clone()), (None, None));
    let one = of(&[6.0], 1.0);
    assert_eq!(one.signalled, None);
    let two = of(&[6.0, 6.0], 1.0);
    assert!((two.chart[1].z - 0.00216).abs() < 1e-9 && (two.chart[1].limit - 0.00214).abs() < 5e-6);
    assert_eq!(two.signalled, Some(1));
    // Too high, so close by .00216; on a yoke that gives half as much again, by .00324.
    assert_eq!(two.adjustment.clone().unwrap().wanted, mil(-2.16));
    assert_eq!(of(&[6.0, 6.0], 1.5).adjustment.unwrap().to_string(), ".003 less open");
    assert_eq!(
        two.sentence(),
        "Drift: the average is .002 above the aim; limit .002. .002 less open, and prove it."
    );
    assert_eq!(of(&[-6.0, -6.0], 1.0).adjustment.unwrap().to_string(), ".002 more open");
    let back = of(&[6.0, 6.0, -6.0, -6.0, 0.0], 1.0);
    assert_eq!((back.signalled, back.adjustment.clone()), (Some(1), None));
    assert!(back.sentence().starts_with("It drifted at measured head 2 and came back: "));
    // One head .009 low: 3.2 σ, and its average of .0018 is beyond .00167 as well.
    let astray = of(&[-9.0, 0.0, 1.0], 1.0);
    assert_eq!((astray.astray.clone(), astray.signalled), (vec![0], Some(0)));
    assert!(astray.sentence().ends_with(" Measured head 1 stands out by itself."), "{}", astray.sentence());
    assert!((of(&[1.0, -2.0], 1.0).individuals.unwrap().moving_range - 0.003).abs() < 1e-12);
    assert_eq!(of(&[], 1.0).sentence(), "No head of this setting is measured yet.");
    assert_eq!(one.sentence(), "No drift: the average is .001 above the aim; limit .002.");
    assert_eq!(two.working().figures()[0].result, "0.0022 in, limit 0.0021");
}

/// Ten acts of ten seconds against a default of fifteen that counts as ten: 12.5. Supper and an
/// act without a time are left out.
#[test]
fn times_are_the_builders_own_as_far_as_they_are_known() {
    let defaults = [("set", 15.0), ("setting", 240.0), ("flip", 60.0)];
    let mut acts = vec![("set", 10.0); 10];
    acts.extend([("set", 4000.0), ("set", 0.0), ("setting", 900.0), ("setting", 1300.0), ("walk", 5.0)]);
    let found = learn_times(&defaults, &acts);
    let [set, setting, flip] = &found[..] else { panic!("{found:?}") };
    assert_eq!((set.own, set.seconds, set.acts, set.left_out), (Some(10.0), 12.5, 10, 2));
    // A break is five minutes, or five times the default: 1,200 s for a setting.
    assert_eq!((setting.own, setting.acts, setting.left_out), (Some(900.0), 1, 1));
    assert!((setting.seconds - (2400.0 + 900.0) / 11.0).abs() < 1e-9);
    assert_eq!((flip.own, flip.seconds, flip.acts), (None, 60.0, 0));

    // The median does not mind one slow act among nine.
    let mut mixed = vec![("set", 12.0); 8];
    mixed.push(("set", 290.0));
    assert_eq!(learn_times(&defaults, &mixed)[0].own, Some(12.0));
    assert_eq!(learn_times(&defaults, &[("set", 10.0), ("set", 20.0)])[0].own, Some(15.0));
    // Entered all at once afterwards: a second for each, taken as no less than a quarter of the default.
    let at_once = &learn_times(&defaults, &vec![("set", 1.0); 990])[0];
    assert!((at_once.seconds - (150.0 + 990.0 * 3.75) / 1000.0).abs() < 1e-9);
    assert!(learn_times::<&str>(&[], &acts).is_empty());
}

#[test]
fn the_first_three_and_then_one_in_ten_are_measured() {
    assert_eq!(heads_to_measure(0), [0; 0]);
    assert_eq!(heads_to_measure(2), [0, 1]);
    assert_eq!(heads_to_measure(12), [0, 1, 2]);
    assert_eq!(heads_to_measure(40), [0, 1, 2, 12, 22, 32]);
}

#[test]
fn a_reject_points_back_to_the_last_good_head() {
    let (good, bad, not) = (Some(true), Some(false), None);
    assert_eq!(look_back(&[good, good, not]), None);
    assert_eq!(
        look_back(&[good, good, good, not, not, bad, not, bad]),
        Some(LookBack { reject: 5, last_good: Some(2), between: 3..5 })
    );
    assert_eq!(look_back(&[not, not, bad]), Some(LookBack { reject: 2, last_good: None, between: 0..2 }));
    assert_eq!(look_back(&[good, bad]), Some(LookBack { reject: 1, last_good: Some(0), between: 1..1 }));
}

#[test]
fn time_of_what_was_changed_together_is_shared_as_it_is_reckoned() {
    // 30 + 180 reckoned, 420 taken: twice as long for each.
    assert_eq!(share(&[("setting", 30.0), ("coupon", 180.0)], 420.0), [("setting", 60.0), ("coupon", 360.0)]);
    // A thing by itself takes all of it.
    assert_eq!(share(&[("flip", 30.0)], 45.0), [("flip", 45.0)]);
    // 210 reckoned: from 5 × 210 = 1,050 s it is a break; for 30 s reckoned from 300 s.
    assert_eq!(share(&[("setting", 30.0), ("coupon", 180.0)], 1_050.0), []);
    assert_eq!(share(&[("flip", 30.0)], 300.0), []);
    assert_eq!(share::<&str>(&[], 10.0), []);
    assert_eq!(share(&[("bag", 0.0)], 10.0), []);
}

#[test]
fn changes_that_also_come_alone_find_their_own_times() {
    // A builder who takes 90 s for a setting (30 reckoned) and 180 for scrap (180 reckoned). Settings
    // alone 20 times, with scrap 20 times: alone they say 90; together 270 is shared 1 to 6, 38.6 and
    // 231.4. The median of a setting's forty lies between the two, nearer its truth than 30 was.
    let mut acts = Vec::new();
    for _ in 0..20 {
        acts.extend(share(&[("setting", 30.0)], 90.0));
        acts.extend(share(&[("setting", 30.0), ("coupon", 180.0)], 270.0));
    }
    let found = learn_times(&[("setting", 30.0), ("coupon", 180.0)], &acts);
    let own = found[0].own.unwrap();
    assert!((own - f64::midpoint(90.0, 270.0 / 7.0)).abs() < 1e-9, "{own}");
    assert!((found[1].own.unwrap() - 270.0 * 6.0 / 7.0).abs() < 1e-9);
}
