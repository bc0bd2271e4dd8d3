//! A curve of chance over time: how likely something is over by a day.
//!
//! The days come as numbers from the first on; what they are called is handed
//! in, as is the band that is set off below the curve. Nothing is reckoned here
//! but places on the sheet.

use crate::marks::{Anchor, Dash, Drawing, Fill, Mark, Role, Shape, Stroke, Text};
use crate::text::width;

/// What is drawn.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Curve {
    /// Prefix of the drawing's ids.
    pub key: String,
    /// What it shows, in a few words.
    pub title: String,
    /// What it shows, for somebody who cannot see it.
    pub description: String,
    /// Days after the first, never falling, and the chance by then, 0 to 1.
    pub points: Vec<[f64; 2]>,
    /// Days that have a name below the axis.
    pub ticks: Vec<(f64, String)>,
    /// Low end, middle and high end of the band, days after the first.
    pub band: [f64; 3],
    /// What the band is, such as `80 %`.
    pub band_words: String,
    /// What goes to the right, such as `finished by`.
    pub across: String,
    /// What goes up, such as `chance`.
    pub up: String,
}

/// Least width of a drawing, px.
const LEAST_WIDTH: f64 = 240.0;
/// From the left edge to the axis, and from the axis' end to the right edge, px.
const SIDES: [f64; 2] = [44.0, 14.0];
/// Above the plot, for the words of the axis that goes up, px.
const TOP: f64 = 30.0;
/// Height of the plot over its width, and its bounds, px.
const HEIGHT: (f64, [f64; 2]) = (0.5, [120.0, 260.0]);
/// Below the plot: names of days, then the words of the axis, px.
const FOOT: f64 = 44.0;
/// Type of the axes, px.
const SMALL: f64 = 11.0;
/// Lines that go across: chance, and what is written.
const LINES: [(f64, &str); 5] = [(0.0, "0"), (0.1, "10"), (0.5, "50"), (0.9, "90"), (1.0, "100 %")];

/// The curve with its axes.
///
/// # Units
/// - `wide`: width of the drawing, px; at least 240
#[must_use]
pub fn curve_drawing(curve: &Curve, wide: f64) -> Drawing {
    let wide = wide.max(LEAST_WIDTH);
    let [left, right] = [SIDES[0], wide - SIDES[1]];
    let tall = ((right - left) * HEIGHT.0).clamp(HEIGHT.1[0], HEIGHT.1[1]);
    let bottom = TOP + tall;
    let last = curve.points.iter().map(|[day, _]| *day).fold(1.0, f64::max);
    let x = |day: f64| left + (right - left) * (day / last).clamp(0.0, 1.0);
    let y = |chance: f64| bottom - tall * chance.clamp(0.0, 1.0);
    let faint = Stroke::solid(Role::Faint, 0.8);
    let ink = Stroke::solid(Role::Ink, 1.4);
    let small = |at: [f64; 2], words: &str| Text::new(at, SMALL, words);
    let mut marks = Vec::new();

    // The band lies below everything.
    let [low, middle, high] = curve.band.map(x);
    let band = Shape::rectangle(low, TOP, (high - low).max(2.0), tall);
    marks.push(Mark::area(band, Fill::Flat(Role::Wash), None));
    for (chance, words) in LINES {
        let down = y(chance);
        let edge = chance == 0.0 || chance == 1.0;
        let stroke = if edge { faint } else { faint.dashed(Dash::Hidden) };
        marks.push(Mark::straight([left, down], [right, down], stroke));
        marks.push(Mark::Text(small([left - 6.0, down + 4.0], words).anchored(Anchor::End)));
    }
    for day in [low, high] {
        marks.push(Mark::straight([day, TOP], [day, bottom], faint));
    }
    marks.push(Mark::straight(
        [middle, TOP],
        [middle, bottom],
        Stroke::solid(Role::Ink, 1.0).dashed(Dash::Chain),
    ));
    let words = small([(low + high) / 2.0, TOP - 6.0], &curve.band_words);
    marks.push(Mark::Text(within(words.anchored(Anchor::Middle), left, right)));

    let line: Vec<[f64; 2]> = curve.points.iter().map(|&[day, chance]| [x(day), y(chance)]).collect();
    if line.len() > 1 {
        marks.push(Mark::line(Shape::open(&line), Stroke::solid(Role::Accent, 2.4)));
    } else if let Some(&centre) = line.first() {
        marks.push(Mark::Circle { centre, radius: 4.0, fill: Some(Fill::Flat(Role::Accent)), stroke: None });
    }

    marks.push(Mark::line(Shape::open(&[[left, TOP], [left, bottom], [right, bottom]]), ink));
    for (day, name) in &curve.ticks {
        marks.push(Mark::straight([x(*day), bottom], [x(*day), bottom + 5.0], ink));
        let name = small([x(*day), bottom + 17.0], name).anchored(Anchor::Middle);
        marks.push(Mark::Text(within(name, 0.0, wide)));
    }
    let across = small([right, bottom + 35.0], &curve.across).anchored(Anchor::End);
    marks.push(Mark::Text(across.coloured(Role::Faint)));
    marks.push(Mark::Text(small([4.0, TOP - 16.0], &curve.up).coloured(Role::Faint)));
    Drawing {
        key: curve.key.clone(),
        width: wide,
        height: bottom + FOOT,
        title: curve.title.clone(),
        description: curve.description.clone(),
        marks,
    }
}

/// A text in the middle of its place, moved so far that it stays between two edges.
fn within(text: Text, left: f64, right: f64) -> Text {
    let half = width(&text.text, text.size) / 2.0;
    let [x, y] = text.at;
    let x = if 2.0 * half > right - left { (left + right) / 2.0 } else { x.clamp(left + half, right - half) };
    Text { at: [x, y], ..text }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve() -> Curve {
        Curve {
            key: "when".to_owned(),
            points: vec![[0.0, 0.0], [50.0, 0.5], [100.0, 1.0]],
            ticks: vec![(0.0, "2027-01".to_owned()), (100.0, "2027-04".to_owned())],
            band: [10.0, 50.0, 90.0],
            band_words: "80 %".to_owned(),
            across: "finished by".to_owned(),
            up: "chance".to_owned(),
            ..Curve::default()
        }
    }

    /// 300 px wide: the axis from 44 to 286, the plot 121 px high from 30 on.
    #[test]
    fn a_point_stands_where_its_day_and_its_chance_meet() {
        let drawing = curve_drawing(&curve(), 300.0);
        let lines: Vec<&Shape> = drawing
            .marks
            .iter()
            .filter_map(|mark| match mark {
                Mark::Path { shape, stroke: Some(stroke), .. } if stroke.role == Role::Accent => Some(shape),
                _ => None,
            })
            .collect();
        let points: Vec<[f64; 2]> = lines[0].points().collect();
        assert_eq!(points, [[44.0, 151.0], [165.0, 90.5], [286.0, 30.0]]);
    }

    #[test]
    fn no_word_leaves_the_sheet() {
        let mut curve = curve();
        curve.band = [98.0, 99.0, 100.0];
        curve.band_words = "80 %: 2027-04-01 to 2027-04-02".to_owned();
        for wide in [240.0, 324.0, 700.0] {
            let drawing = curve_drawing(&curve, wide);
            for text in drawing.texts() {
                let long = width(&text.text, text.size);
                let from = match text.anchor {
                    Anchor::Start => text.at[0],
                    Anchor::Middle => text.at[0] - long / 2.0,
                    Anchor::End => text.at[0] - long,
                };
                assert!(from >= -1e-9 && from + long <= wide + 1e-9, "{:?} at {wide}", text.text);
            }
        }
    }

    /// A build that is over today has one day; nothing is divided by nought.
    #[test]
    fn one_day_is_a_point() {
        let one = Curve { points: vec![[0.0, 1.0]], band: [0.0; 3], ticks: Vec::new(), ..curve() };
        let drawing = curve_drawing(&one, 300.0);
        assert!(drawing.marks.iter().any(|mark| matches!(mark, Mark::Circle { .. })));
        assert!(!crate::svg::write(&drawing).contains("NaN"));
    }
}
