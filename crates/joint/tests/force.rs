//! Squeeze force against published measurements.
//!
//! Materials 2024, 17(11), 2756 (doi 10.3390/ma17112756): the table that
//! compares earlier tests with two equations; `standards/squeeze.csv`. Twelve
//! points of a 1/8 rivet, to which the constants were fitted, and three of a
//! 5/32 rivet, to which they were not.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use faying_joint::force::to_form;
use faying_standards::{Length, RivetAlloy, SqueezePoint, figures};

fn points(dash: u8) -> Vec<&'static SqueezePoint> {
    let pressed = |point: &&SqueezePoint| point.diameter.dash() == dash && point.width_over_shank > 1.0;
    figures().squeeze_points().iter().filter(pressed).collect()
}

/// Computed over measured.
fn ratio(point: &SqueezePoint) -> f64 {
    let width = Length::from_inches(point.shank.inches() * point.width_over_shank);
    to_form(RivetAlloy::Ad, point.shank, width).unwrap().newtons() / point.force.newtons()
}

#[test]
fn the_force_is_within_ten_percent_at_one_eighth() {
    let points = points(4);
    assert_eq!(points.len(), 12);
    for point in points {
        assert!((ratio(point) - 1.0).abs() <= 0.10, "{} d: {:.3}", point.width_over_shank, ratio(point));
    }
}

/// It differs, and is kept: at 5/32 the fit is 6 to 10 % low.
#[test]
fn the_force_is_low_at_five_thirty_seconds() {
    let points = points(5);
    assert_eq!(points.len(), 3);
    for point in points {
        let low = 1.0 - ratio(point);
        assert!((0.06..=0.10).contains(&low), "{} d: {low:.3} low", point.width_over_shank);
    }
}
