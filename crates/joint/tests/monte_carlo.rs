//! First order against counting: the odds of a call-out agree within .02 with
//! heads that are formed one by one.
//!
//! - `reference/head_monte_carlo.py` (NumPy) wrote `data/head_monte_carlo.csv`.
//! - A seeded count here goes over many more stacks, with a greatest width too,
//!   and over 5/32 and 3/16 under limits with the proportions of those for 1/8.
//! - Another counts how often the true dimensions behind a reading are inside,
//!   for heights that were read and for heights from an over-all thickness.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use faying_joint::callout::{InForce, Stock, call_out, limits_in_force};
use faying_joint::constants::Constants;
use faying_joint::judge::{Measured, OverAll, judge};
use faying_joint::seats::{HeadOn, Seats, Sheet, ShopSeat, seats};
use faying_plan::Preparation;
use faying_standards::{Dash, Diameter, HeadStyle, Length, RivetAlloy, RivetType, figures, inches};
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
    let most_width = limits.max_width.map_or(f64::INFINITY, Length::inches);
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

/// The limits of the standards where they have a greatest height, else the proportions of those for 1/8
/// (1.3 d wide, .4 to .56 d high), as a builder's own copy might have them.
fn with_greatest_height(kind: RivetType) -> InForce {
    let mut in_force = limits_in_force(kind, None, &[]).unwrap();
    if in_force.limits.max_height.is_none() {
        let d = kind.diameter.length().inches();
        in_force.limits.min_width = inches(1.3 * d);
        in_force.limits.min_height = inches(0.4 * d);
        in_force.limits.max_height = Some(inches(0.56 * d));
    }
    in_force
}

#[test]
fn odds_agree_with_a_seeded_count() {
    let mut rng = ChaCha8Rng::seed_from_u64(47196);
    let constants = Constants::standard();
    let (mut count, mut narrow, mut farthest) = (0, 0, 0.0_f64);
    for dash in [3, 4, 5, 6] {
        let all = [(HeadStyle::Universal, Preparation::Plain), (HeadStyle::Flush, Preparation::Dimpled)];
        // How wide a dimpled hole for a larger rivet is, is not in the standards.
        let heads = if dash > 4 { &all[..1] } else { &all[..] };
        for &(head, preparation) in heads {
            for sheets in [&[0.025, 0.032][..], &[0.032, 0.040], &[0.040, 0.063], &[0.025, 0.032, 0.063]] {
                for most_width in [None, Some(1.66)] {
                    let kind = kind(head, dash);
                    let seats = stack(kind, sheets, preparation);
                    let mut limits = with_greatest_height(kind);
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
    assert!(count > 90 && narrow > 15, "{count} lengths, {narrow} narrow ones");
    println!("{count} lengths, {narrow} narrow; farthest from the count: {farthest:.4}");
}

/// Counts how often the true width and height behind a reading are inside: each caliper reading is out by a
/// normal, each sheet and the manufactured head by its rectangle.
fn counted_inside(
    seats: &Seats,
    in_force: &InForce,
    [width, height]: [f64; 2],
    over_all: bool,
    rng: &mut ChaCha8Rng,
) -> f64 {
    const READINGS: u32 = 20_000;
    let limits = &in_force.limits;
    let u = Constants::standard().caliper_u.value.inches();
    let size = figures().rivet_size(seats.kind).unwrap();
    let protrudes = seats.kind.head == HeadStyle::Universal;
    let mut halves: Vec<f64> = Vec::new();
    if over_all {
        let of_sheet = |sheet: &Sheet| figures().thickness_tolerance(sheet.thickness).unwrap().plus_minus;
        halves.extend(seats.sheets.iter().map(|sheet| of_sheet(sheet).inches()));
        halves.extend(size.head_height_tolerance.filter(|_| protrudes).map(Length::inches));
    }
    let mut inside = 0_u32;
    for _ in 0..READINGS {
        // Box and Muller give two normals at once: one for each reading.
        let (one, other): (f64, f64) = (1.0 - rng.random::<f64>(), rng.random());
        let (radius, angle) = ((-2.0 * one.ln()).sqrt(), std::f64::consts::TAU * other);
        let true_width = width + u * radius * angle.cos();
        let joint: f64 = halves.iter().map(|half| half * (2.0 * rng.random::<f64>() - 1.0)).sum();
        let true_height = height + u * radius * angle.sin() - joint;
        let within = |value: f64, least: f64, most: Option<f64>| {
            value >= least && most.is_none_or(|most| value <= most)
        };
        let wide = within(true_width, limits.min_width.inches(), limits.max_width.map(Length::inches));
        let high = within(true_height, limits.min_height.inches(), limits.max_height.map(Length::inches));
        inside += u32::from(wide && high);
    }
    f64::from(inside) / f64::from(READINGS)
}

#[test]
fn conformance_agrees_with_a_seeded_count() {
    let mut rng = ChaCha8Rng::seed_from_u64(106);
    let constants = Constants::standard();
    let (mut count, mut unsure, mut farthest) = (0, 0, 0.0_f64);
    for (head, preparation, dash) in [
        (HeadStyle::Universal, Preparation::Plain, 3),
        (HeadStyle::Universal, Preparation::Plain, 4),
        (HeadStyle::Universal, Preparation::Plain, 5),
        (HeadStyle::Flush, Preparation::Dimpled, 3),
        (HeadStyle::Flush, Preparation::Dimpled, 4),
    ] {
        for sheets in [&[0.025, 0.032][..], &[0.040, 0.063], &[0.025, 0.032, 0.063]] {
            let kind = kind(head, dash);
            let seats = stack(kind, sheets, preparation);
            let in_force = with_greatest_height(kind);
            let least_width = in_force.limits.min_width;
            let (least, most) = (in_force.limits.min_height, in_force.limits.max_height.unwrap());
            for out in [-0.003, -0.001, 0.0, 0.002, 0.004] {
                for height in [least - inches(out), most + inches(out)] {
                    let width = least_width + inches(0.001);
                    for over_all in [false, true] {
                        let head = size_over(&seats);
                        let read = OverAll::of(height + head, Some(&seats), &constants);
                        let measured = Measured {
                            diameter: Some(width),
                            height: (!over_all).then_some(height),
                            seat: (!over_all).then_some(ShopSeat::Lip),
                            over_all: over_all.then_some(read),
                            ..Measured::default()
                        };
                        let got = judge(kind, &measured, Ok(&in_force), &constants).conforms.unwrap();
                        let both = [width.inches(), height.inches()];
                        let counted = counted_inside(&seats, &in_force, both, over_all, &mut rng);
                        let off = (got - counted).abs();
                        assert!(
                            off < AGREEMENT,
                            "{kind} in {sheets:?}, {both:?}, over all {over_all}: {got:.3}, counted {counted:.3}"
                        );
                        farthest = farthest.max(off);
                        count += 1;
                        unsure += usize::from((0.05..0.8).contains(&got));
                    }
                }
            }
        }
    }
    assert!(count == 300 && unsure > 150, "{count} readings, {unsure} unsure ones");
    println!("{count} readings, {unsure} unsure; farthest from the count: {farthest:.4}");
}

/// What of an over-all thickness is not the shop head, by the tables alone.
fn size_over(seats: &Seats) -> Length {
    let size = figures().rivet_size(seats.kind).unwrap();
    let protrudes = seats.kind.head == HeadStyle::Universal;
    seats.seat_to_seat + if protrudes { size.head_height } else { Length::ZERO }
}
