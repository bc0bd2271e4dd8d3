//! First order against counting: the odds of a call-out agree within .02 with
//! heads that are formed one by one.
//!
//! - `reference/head_monte_carlo.py` (NumPy) wrote `data/head_monte_carlo.csv`.
//! - A seeded count here goes over many more stacks, with a greatest width too.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use faying_joint::callout::{InForce, Stock, call_out, limits_in_force};
use faying_joint::constants::Constants;
use faying_joint::seats::{HeadOn, Seats, Sheet, seats};
use faying_plan::Preparation;
use faying_standards::{Dash, Diameter, HeadStyle, RivetAlloy, RivetType, figures, inches};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

const AGREEMENT: f64 = 0.02;

fn stack(kind: RivetType, sheets: &[f64], preparation: Preparation) -> Seats {
    let sheets: Vec<Sheet> = sheets.iter().map(|&t| Sheet { thickness: inches(t), preparation }).collect();
    seats(kind, &sheets, HeadOn::First, None, &Constants::standard()).unwrap()
}

fn kind(head: HeadStyle, dash: u8) -> RivetType {
    RivetType { head, alloy: RivetAlloy::Ad, diameter: Diameter::from_dash(dash).unwrap() }
}

#[test]
fn odds_agree_with_numpy() {
    let (mut count, mut farthest) = (0, 0.0_f64);
    for line in include_str!("data/head_monte_carlo.csv").lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let dimpled = cells[2] == "true";
        let (head, preparation) = if dimpled {
            (HeadStyle::Flush, Preparation::Dimpled)
        } else {
            (HeadStyle::Universal, Preparation::Plain)
        };
        let kind = kind(head, cells[0].parse().unwrap());
        let sheets: Vec<f64> = cells[1].split(' ').map(|t| t.parse().unwrap()).collect();
        let seats = stack(kind, &sheets, preparation);
        let dash = Dash::from_thirty_seconds(cells[3].parse().unwrap()).unwrap();
        let limits = limits_in_force(kind, None, &[]).unwrap();
        let found = call_out(&seats, &limits, Some(dash), Stock::default(), &Constants::standard());
        let candidate = found.candidate(dash).unwrap();
        let mut agree = |name: &str, got: Option<f64>, counted: &str| {
            let counted: Option<f64> = (!counted.is_empty()).then(|| counted.parse().unwrap());
            assert_eq!(got.is_some(), counted.is_some(), "{name} of {line}");
            let off = got.zip(counted).map_or(0.0, |(got, counted)| (got - counted).abs());
            assert!(off < AGREEMENT, "{name} of {line}: {got:?}");
            farthest = farthest.max(off);
        };
        agree("P(wide)", Some(candidate.p_wide), cells[4]);
        agree("P(height)", candidate.p_height, cells[5]);
        count += 1;
    }
    assert_eq!(count, 32);
    println!("farthest from NumPy: {farthest:.4}");
}

/// Counts heads that are formed one by one, for an aim: (wide enough somewhere, landed inside).
fn counted(seats: &Seats, in_force: &InForce, dash: Dash, aim: f64, rng: &mut ChaCha8Rng) -> (f64, f64) {
    const HEADS: u32 = 20_000;
    let constants = Constants::standard();
    let limits = &in_force.limits;
    let d = seats.kind.diameter.length().inches();
    let (least_width, least) = (limits.min_width.inches(), limits.min_height.inches());
    let most = limits.max_height.unwrap().inches();
    let most_width = limits.max_width.map_or(f64::INFINITY, faying_standards::Length::inches);
    let (cone, gap) = (seats.seat_to_seat - seats.cylinder, seats.seat_to_seat - seats.grip);
    let thicknesses: Vec<(f64, f64)> = seats
        .sheets
        .iter()
        .map(|sheet| {
            let half = figures().thickness_tolerance(sheet.thickness).unwrap().plus_minus;
            (sheet.thickness.inches(), half.inches())
        })
        .collect();
    let (mut wide, mut landed) = (0_u32, 0_u32);
    for _ in 0..HEADS {
        let mut within = |half: f64| half * (2.0 * rng.random::<f64>() - 1.0);
        let length = dash.length().inches() + within(constants.rivet_length.value.inches());
        let grip: f64 = thicknesses.iter().map(|&(thickness, half)| thickness + within(half)).sum();
        let hole = seats.hole.inches() + constants.hole_over.value.inches() * rng.random::<f64>();
        let tail = length - grip - gap.inches();
        let cylinder = grip + gap.inches() - cone.inches();
        let all = d * d * tail - (hole * hole - d * d) * cylinder;
        let arrived = all * (1.0 - constants.missing_metal.value);
        wide += u32::from(arrived / least_width.powi(2) >= least);
        // Box and Muller: one normal of two uniforms.
        let (one, other): (f64, f64) = (1.0 - rng.random::<f64>(), rng.random());
        let z = (-2.0 * one.ln()).sqrt() * (std::f64::consts::TAU * other).cos();
        let height = aim + constants.set_height_u.value.inches() * z;
        let inside = (least..=most).contains(&height)
            && arrived >= height * least_width.powi(2)
            && all <= height * most_width.powi(2);
        landed += u32::from(inside);
    }
    (f64::from(wide) / f64::from(HEADS), f64::from(landed) / f64::from(HEADS))
}

#[test]
fn odds_agree_with_a_seeded_count() {
    let mut rng = ChaCha8Rng::seed_from_u64(47196);
    let constants = Constants::standard();
    let (mut count, mut narrow, mut farthest) = (0, 0, 0.0_f64);
    for dash in [3, 4] {
        for (head, preparation) in
            [(HeadStyle::Universal, Preparation::Plain), (HeadStyle::Flush, Preparation::Dimpled)]
        {
            for sheets in [&[0.025, 0.032][..], &[0.032, 0.040], &[0.040, 0.063], &[0.025, 0.032, 0.063]] {
                for most_width in [None, Some(1.66)] {
                    let kind = kind(head, dash);
                    let seats = stack(kind, sheets, preparation);
                    let mut limits = limits_in_force(kind, None, &[]).unwrap();
                    let shank = kind.diameter.length().inches();
                    limits.limits.max_width = most_width.map(|d: f64| inches(d * shank));
                    let stock = Stock { half: true, in_run: &[] };
                    for candidate in call_out(&seats, &limits, None, stock, &constants).candidates {
                        let (Some(heights), Some(p_height)) = (candidate.heights, candidate.p_height) else {
                            continue;
                        };
                        let aim = heights.middle().inches();
                        let (wide, landed) = counted(&seats, &limits, candidate.dash, aim, &mut rng);
                        for (name, got, counted) in
                            [("P(wide)", candidate.p_wide, wide), ("P(height)", p_height, landed)]
                        {
                            let off = (got - counted).abs();
                            assert!(
                                off < AGREEMENT,
                                "{kind}{} in {sheets:?}, greatest width {most_width:?}: {name} {got:.3}, \
                                 counted {counted:.3}",
                                candidate.dash
                            );
                            farthest = farthest.max(off);
                        }
                        count += 1;
                        narrow += usize::from(p_height < 0.9);
                    }
                }
            }
        }
    }
    // A test over easy lengths only would show nothing.
    assert!(count > 60 && narrow > 10, "{count} lengths, {narrow} narrow ones");
    println!("{count} lengths, {narrow} narrow; farthest from the count: {farthest:.4}");
}
