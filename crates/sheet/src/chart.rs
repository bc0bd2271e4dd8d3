//! A control chart as an engineer draws it: one mark for every head, limits across, hatching beyond them.
//!
//! Panels stand above one another over the same heads. Values, limits and
//! their words come from outside; nothing is reckoned here but places on the
//! sheet. What is outside differs by its shape and its name and not by its
//! colour alone, so that it is seen on a black and white print as well.

use crate::marks::{Anchor, Dash, Drawing, Fill, Group, Lean, Mark, Role, Shape, Stroke, Text};
use crate::text::width;

/// What is drawn.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Chart {
    /// Prefix of the drawing's ids.
    pub key: String,
    /// What it shows, in a few words.
    pub title: String,
    /// What it shows, for somebody who cannot see it.
    pub description: String,
    /// Names of the heads, in the order in which they were set.
    pub names: Vec<String>,
    /// Number of the first head, from 1.
    pub first: usize,
    /// Heads (from 0) before which something was changed.
    pub breaks: Vec<usize>,
    /// The panels, from above.
    pub panels: Vec<Panel>,
}

/// One set of axes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Panel {
    /// What goes up, with its unit.
    pub title: String,
    /// A value for each head, none where it has none.
    pub values: Vec<Option<f64>>,
    /// The same on a second line, such as a sum downwards; empty for none.
    pub second: Vec<Option<f64>>,
    /// Whether neighbouring values are joined; never over a break.
    pub joined: bool,
    /// Heads whose mark says outside, from 0.
    pub outside: Vec<usize>,
    /// The same on the second line.
    pub second_outside: Vec<usize>,
    /// Lines that go across.
    pub levels: Vec<Level>,
    /// Limits that differ from head to head, least and greatest; empty for none.
    pub between: Vec<Option<[f64; 2]>>,
}

/// What a line across is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Across {
    /// A limit of the set in force; what is below it is hatched.
    Least,
    /// The same, hatched above.
    Most,
    /// A limit that comes from the heads themselves.
    OfHeads,
    /// What is aimed at, or a mean.
    Middle,
}

/// A line across a panel.
#[derive(Clone, Debug, PartialEq)]
pub struct Level {
    /// Where.
    pub value: f64,
    /// Its name at the right edge.
    pub words: String,
    /// What it is.
    pub across: Across,
}

/// Least width of a drawing, px.
const LEAST_WIDTH: f64 = 280.0;
/// From the left edge to the axis, px.
const LEFT: f64 = 46.0;
/// Above a panel, for its title, px.
const TITLE: f64 = 26.0;
/// Height of a panel over its width, and its bounds, px.
const HEIGHT: (f64, [f64; 2]) = (0.26, [112.0, 170.0]);
/// Between panels, px.
const GAP: f64 = 10.0;
/// Below the lowest panel: numbers of heads, then the words of the axis, px.
const FOOT: f64 = 40.0;
/// Type of the axes, px.
const SMALL: f64 = 11.0;
/// Line pitch of [`SMALL`] type, px.
const PITCH: f64 = 12.5;
/// Height of the hatching beyond a limit, px.
const BEYOND: f64 = 7.0;
/// Radius of a head's mark, px.
const DOT: f64 = 2.6;
/// Distance between the marks on the axis that goes up, least, px.
const TICK_PITCH: f64 = 26.0;

/// The panels over one another.
///
/// # Units
/// - `wide`: width of the drawing, px; at least 280
#[must_use]
pub fn chart_drawing(chart: &Chart, wide: f64) -> Drawing {
    let wide = wide.max(LEAST_WIDTH);
    let words = chart.panels.iter().flat_map(|panel| &panel.levels).map(|level| width(&level.words, SMALL));
    let right = wide - words.fold(12.0, f64::max) - 8.0;
    let tall = ((right - LEFT) * HEIGHT.0).clamp(HEIGHT.1[0], HEIGHT.1[1]);
    let mut marks = Vec::new();
    let mut top = TITLE;
    for panel in &chart.panels {
        let frame = Frame::of(panel, chart, [LEFT, right], [top, top + tall]);
        frame.draw(&mut marks);
        top += tall + GAP + TITLE;
    }
    let bottom = top - GAP - TITLE;
    foot(chart, [LEFT, right], bottom, &mut marks);
    Drawing {
        key: chart.key.clone(),
        width: wide,
        height: bottom + FOOT,
        title: chart.title.clone(),
        description: chart.description.clone(),
        marks,
    }
}

/// Where head `at` of so many stands between two edges, px.
fn across(count: usize, [left, right]: [f64; 2], at: usize) -> f64 {
    let pitch = (right - left) / count.max(1) as f64;
    left + pitch * (at as f64 + 0.5)
}

/// Numbers of heads below the lowest panel.
fn foot(chart: &Chart, sides: [f64; 2], bottom: f64, marks: &mut Vec<Mark>) {
    let count = chart.names.len();
    let pitch = (sides[1] - sides[0]) / count.max(1) as f64;
    let every = [1, 2, 5, 10, 20, 50, 100].into_iter().find(|&it| it as f64 * pitch >= 22.0).unwrap_or(200);
    for at in 0..count {
        let number = chart.first + at;
        if number.is_multiple_of(every) || (at == 0 && every <= 2) {
            let x = across(count, sides, at);
            marks.push(Mark::straight([x, bottom], [x, bottom + 4.0], Stroke::solid(Role::Ink, 1.0)));
            let text = Text::new([x, bottom + 15.0], SMALL, number.to_string());
            marks.push(Mark::Text(text.anchored(Anchor::Middle)));
        }
    }
    let words = Text::new([sides[1], bottom + 31.0], SMALL, "measured heads, as they were set");
    marks.push(Mark::Text(words.anchored(Anchor::End).coloured(Role::Faint)));
}

/// A panel at its place.
struct Frame<'c> {
    panel: &'c Panel,
    chart: &'c Chart,
    sides: [f64; 2],
    ends: [f64; 2],
    /// Least and greatest value that finds room.
    range: [f64; 2],
}

impl<'c> Frame<'c> {
    fn of(panel: &'c Panel, chart: &'c Chart, sides: [f64; 2], ends: [f64; 2]) -> Self {
        let values = panel.values.iter().chain(&panel.second).copied().flatten();
        let levels = panel.levels.iter().map(|level| level.value);
        let between = panel.between.iter().flatten().flatten().copied();
        let (mut least, mut most) = values
            .chain(levels)
            .chain(between)
            .filter(|value| value.is_finite())
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), it| (a.min(it), b.max(it)));
        if least > most {
            (least, most) = (0.0, 1.0);
        }
        // All values alike still want a height.
        let spread = (most - least).max(most.abs() * 1e-3).max(1e-9);
        // Room for the hatching beyond the outermost limit, and for a name above a mark.
        let air = spread * 0.14;
        Self { panel, chart, sides, ends, range: [least - air, most + air] }
    }

    fn y(&self, value: f64) -> f64 {
        let [top, bottom] = self.ends;
        let [least, most] = self.range;
        bottom - (bottom - top) * ((value - least) / (most - least)).clamp(0.0, 1.0)
    }

    fn x(&self, at: usize) -> f64 {
        across(self.chart.names.len(), self.sides, at)
    }

    fn draw(&self, marks: &mut Vec<Mark>) {
        let ([left, right], [top, bottom]) = (self.sides, self.ends);
        self.hatching(marks);
        self.ticks(marks);
        for &at in &self.chart.breaks {
            if at > 0 && at < self.chart.names.len() {
                let x = f64::midpoint(self.x(at - 1), self.x(at));
                let stroke = Stroke::solid(Role::Faint, 1.0).dashed(Dash::Phantom);
                marks.push(Mark::straight([x, top], [x, bottom], stroke));
            }
        }
        self.levels(marks);
        self.between(marks);
        for values in [&self.panel.values, &self.panel.second] {
            if self.panel.joined {
                self.joined(values, marks);
            }
        }
        let axis = Shape::open(&[[left, top], [left, bottom], [right, bottom]]);
        marks.push(Mark::line(axis, Stroke::solid(Role::Ink, 1.4)));
        self.heads(marks);
        let title = Text::new([4.0, top - 12.0], SMALL + 1.0, self.panel.title.as_str());
        marks.push(Mark::Text(title.heavy()));
    }

    /// Strips beyond the limits in force.
    fn hatching(&self, marks: &mut Vec<Mark>) {
        let [left, right] = self.sides;
        for level in &self.panel.levels {
            let y = self.y(level.value);
            let from = match level.across {
                Across::Least => y,
                Across::Most => y - BEYOND,
                Across::OfHeads | Across::Middle => continue,
            };
            let strip = Shape::rectangle(left, from, right - left, BEYOND);
            marks.push(Mark::area(strip, Fill::Hatch(Role::Faint, Lean::Right), None));
        }
    }

    /// The scale that goes up, in steps of one, two or five.
    fn ticks(&self, marks: &mut Vec<Mark>) {
        let [top, bottom] = self.ends;
        let [least, most] = self.range;
        let step = step((most - least) * TICK_PITCH / (bottom - top));
        let places = (-step.log10().floor()).clamp(0.0, 6.0) as usize;
        let mut number = (least / step).ceil();
        while number * step <= most + 1e-12 {
            let value = number * step;
            let y = self.y(value);
            marks.push(Mark::straight(
                [self.sides[0] - 4.0, y],
                [self.sides[0], y],
                Stroke::solid(Role::Ink, 1.0),
            ));
            let text = Text::new([self.sides[0] - 7.0, y + 4.0], SMALL, decimal(value, places));
            marks.push(Mark::Text(text.anchored(Anchor::End)));
            number += 1.0;
        }
    }

    fn levels(&self, marks: &mut Vec<Mark>) {
        let [left, right] = self.sides;
        let mut names: Vec<(f64, &str)> = Vec::new();
        for level in &self.panel.levels {
            let y = self.y(level.value);
            let stroke = match level.across {
                Across::Least | Across::Most => Stroke::solid(Role::Ink, 1.8),
                Across::OfHeads => Stroke::solid(Role::Ink, 1.0).dashed(Dash::Hidden),
                Across::Middle => Stroke::solid(Role::Faint, 1.0).dashed(Dash::Chain),
            };
            marks.push(Mark::straight([left, y], [right, y], stroke));
            names.push((y + 4.0, &level.words));
        }
        for (y, words) in apart(names, PITCH, [self.ends[0], self.ends[1] + 4.0]) {
            marks.push(Mark::Text(Text::new([right + 5.0, y], SMALL, words)));
        }
    }

    /// Limits that widen from head to head, as steps; they begin anew after a break.
    fn between(&self, marks: &mut Vec<Mark>) {
        let half = (self.sides[1] - self.sides[0]) / self.chart.names.len().max(1) as f64 / 2.0;
        for side in 0..2 {
            let mut shape = Shape::default();
            let mut run: Vec<[f64; 2]> = Vec::new();
            for (at, limits) in self.panel.between.iter().enumerate() {
                if (self.chart.breaks.contains(&at) || limits.is_none()) && !run.is_empty() {
                    shape.run(&std::mem::take(&mut run));
                }
                if let Some(limits) = limits {
                    let (x, y) = (self.x(at), self.y(limits[side]));
                    run.extend([[x - half, y], [x + half, y]]);
                }
            }
            shape.run(&run);
            if !shape.0.is_empty() {
                marks.push(Mark::line(shape, Stroke::solid(Role::Ink, 1.0).dashed(Dash::Hidden)));
            }
        }
    }

    fn joined(&self, values: &[Option<f64>], marks: &mut Vec<Mark>) {
        let mut shape = Shape::default();
        let mut run: Vec<[f64; 2]> = Vec::new();
        for (at, value) in values.iter().enumerate() {
            if self.chart.breaks.contains(&at) && !run.is_empty() {
                shape.run(&std::mem::take(&mut run));
            }
            // A head without a value lies on the line.
            if let Some(value) = value {
                run.push([self.x(at), self.y(*value)]);
            }
        }
        shape.run(&run);
        if !shape.0.is_empty() {
            marks.push(Mark::line(shape, Stroke::solid(Role::Ink, 1.0)));
        }
    }

    /// A name beside its square, on the side from which no line comes: a high one is come up to, a low one left.
    fn name(&self, at: usize, [x, y]: [f64; 2]) -> Text {
        let ([left, right], [top, bottom]) = (self.sides, self.ends);
        let name = self.chart.names[at].as_str();
        let long = width(name, SMALL);
        let high = y < f64::midpoint(top, bottom);
        let (to_left, to_right) = (x - 3.0 - long > left, x + 8.0 + long < right);
        let text = if high && to_left {
            Text::new([x - 3.0, y - 7.0], SMALL, name).anchored(Anchor::End)
        } else if to_right || !to_left {
            Text::new([x + 8.0, y + 4.0], SMALL, name)
        } else {
            Text::new([x - 8.0, y + 4.0], SMALL, name).anchored(Anchor::End)
        };
        text.rimmed()
    }

    /// A mark for every value; outside it is an open square with its name.
    fn heads(&self, marks: &mut Vec<Mark>) {
        for (second, values) in [&self.panel.values, &self.panel.second].into_iter().enumerate() {
            for (at, value) in values.iter().enumerate() {
                let Some(value) = *value else { continue };
                let [x, y] = [self.x(at), self.y(value)];
                let list = [&self.panel.outside, &self.panel.second_outside][second];
                // A second sum of nothing lies on the first.
                if second == 1 && value == 0.0 {
                    continue;
                }
                let mut of_head = Vec::new();
                if list.contains(&at) {
                    let square = Shape::rectangle(x - 4.5, y - 4.5, 9.0, 9.0);
                    let stroke = Stroke::solid(Role::Warn, 2.0);
                    of_head.push(Mark::area(square, Fill::Flat(Role::Paper), Some(stroke)));
                    // Of a run of them the first is named: the words beside the chart have them all.
                    if at == 0 || !list.contains(&(at - 1)) {
                        of_head.push(Mark::Text(self.name(at, [x, y])));
                    }
                } else {
                    let fill = if second == 0 { Role::Ink } else { Role::Paper };
                    of_head.push(Mark::Circle {
                        centre: [x, y],
                        radius: DOT,
                        fill: Some(Fill::Flat(fill)),
                        stroke: (second == 1).then_some(Stroke::solid(Role::Ink, 1.0)),
                    });
                }
                let data = vec![("head", self.chart.names[at].clone())];
                marks.push(Mark::Group(Group { data, marks: of_head, ..Group::default() }));
            }
        }
    }
}

/// The least of 1, 2, 5, 10, 20 … thousandths, hundredths … that is no smaller.
fn step(least: f64) -> f64 {
    let ten = 10_f64.powf(least.log10().floor());
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|it| it * ten).find(|&it| it >= least * (1.0 - 1e-9)).unwrap_or(ten)
}

/// A value as an inch figure is written: `.060`, `−.002`, `1.5`.
fn decimal(value: f64, places: usize) -> String {
    let text = format!("{:.places$}", value.abs());
    let nothing = text.chars().all(|c| c == '0' || c == '.');
    let text = if places > 0 && text.starts_with("0.") && !nothing { &text[1..] } else { &text };
    if nothing {
        "0".to_owned()
    } else if value < 0.0 {
        format!("−{text}")
    } else {
        text.to_owned()
    }
}

/// Names moved up and down so far that none stands on another, and all between two ends if they can.
fn apart(mut names: Vec<(f64, &str)>, pitch: f64, [top, bottom]: [f64; 2]) -> Vec<(f64, &str)> {
    names.sort_by(|a, b| a.0.total_cmp(&b.0));
    for at in 1..names.len() {
        names[at].0 = names[at].0.max(names[at - 1].0 + pitch);
    }
    if let Some(last) = names.last_mut() {
        last.0 = last.0.min(bottom);
    }
    for at in (0..names.len().saturating_sub(1)).rev() {
        names[at].0 = names[at].0.min(names[at + 1].0 - pitch);
    }
    if let Some(first) = names.first_mut() {
        first.0 = first.0.max(top);
    }
    names
}

/// A rate with its interval, for one of a group.
#[derive(Clone, Debug, PartialEq)]
pub struct Rate {
    /// Of what.
    pub name: String,
    /// The rate.
    pub rate: f64,
    /// Least and greatest rate that go with what was counted.
    pub interval: [f64; 2],
}

/// Rates below one another on one scale: a dot, and a bar for its interval.
///
/// # Units
/// - `rates`, `unit`: one unit, `unit` in words below the scale
/// - `wide`: width of the drawing, px; at least 280
#[must_use]
pub fn rates_drawing(key: &str, title: &str, unit: &str, rates: &[Rate], wide: f64) -> Drawing {
    const ROW: f64 = 30.0;
    const TOP: f64 = 6.0;
    let wide = wide.max(LEAST_WIDTH);
    let (left, right) = (8.0, wide - 14.0);
    let most = rates.iter().map(|it| it.interval[1]).fold(0.0, f64::max).max(1e-9);
    // The greatest interval ends inside; a rate of none still has a scale.
    let step = step(most / 5.0);
    let end = (most / step).ceil() * step;
    let places = (-step.log10().floor()).clamp(0.0, 6.0) as usize;
    let x = |rate: f64| left + (right - left) * (rate / end).clamp(0.0, 1.0);
    let bottom = TOP + ROW * rates.len() as f64;
    let mut marks = Vec::new();
    let ink = |width: f64| Stroke::solid(Role::Ink, width);
    let mut number = 0.0;
    while number * step <= end + 1e-9 {
        let at = x(number * step);
        let faint = Stroke::solid(Role::Faint, 0.6).dashed(Dash::Hidden);
        marks.push(Mark::straight([at, TOP], [at, bottom], faint));
        marks.push(Mark::straight([at, bottom], [at, bottom + 4.0], ink(1.0)));
        let text = Text::new([at, bottom + 15.0], SMALL, decimal(number * step, places));
        marks.push(Mark::Text(text.anchored(Anchor::Middle)));
        number += 1.0;
    }
    for (at, it) in rates.iter().enumerate() {
        let base = TOP + ROW * at as f64;
        let y = base + 21.0;
        let [low, high] = it.interval.map(x);
        let mut of_rate = vec![Mark::straight([low, y], [high, y], ink(1.2))];
        for end in [low, high] {
            of_rate.push(Mark::straight([end, y - 4.0], [end, y + 4.0], ink(1.2)));
        }
        let fill = Some(Fill::Flat(Role::Ink));
        of_rate.push(Mark::Circle { centre: [x(it.rate), y], radius: 3.6, fill, stroke: None });
        of_rate.push(Mark::Text(Text::new([left + 2.0, base + 12.0], SMALL, it.name.as_str()).rimmed()));
        let data = vec![("rate", it.name.clone())];
        marks.push(Mark::Group(Group { data, marks: of_rate, ..Group::default() }));
    }
    marks.push(Mark::straight([left, bottom], [right, bottom], ink(1.4)));
    let words = Text::new([right, bottom + 31.0], SMALL, unit).anchored(Anchor::End);
    marks.push(Mark::Text(words.coloured(Role::Faint)));
    let told: Vec<String> = rates.iter().map(|it| it.name.clone()).collect();
    Drawing {
        key: key.to_owned(),
        width: wide,
        height: bottom + FOOT,
        title: title.to_owned(),
        description: format!("{title}: {}. The figures are in the table.", told.join(", ")),
        marks,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn level(value: f64, words: &str, across: Across) -> Level {
        Level { value, words: words.to_owned(), across }
    }

    /// Four heads of .058 to .064; limits .050 and .0625, so the last is outside.
    fn chart() -> Chart {
        Chart {
            key: "set".to_owned(),
            names: ["A-1", "A-2", "A-3", "B-1"].map(str::to_owned).to_vec(),
            first: 1,
            breaks: vec![3],
            panels: vec![Panel {
                title: "Height, in".to_owned(),
                values: [0.060, 0.058, 0.061, 0.064].map(Some).to_vec(),
                joined: true,
                outside: vec![3],
                levels: vec![
                    level(0.050, "least", Across::Least),
                    level(0.0625, "most", Across::Most),
                    level(0.062, "aim", Across::Middle),
                ],
                ..Panel::default()
            }],
            ..Chart::default()
        }
    }

    fn all(drawing: &Drawing) -> Vec<&Mark> {
        let mut marks = Vec::new();
        drawing.walk(&mut |mark| marks.push(mark));
        marks
    }

    #[test]
    fn a_higher_head_stands_higher_and_outside_is_another_mark() {
        let drawing = chart_drawing(&chart(), 400.0);
        let circles: Vec<[f64; 2]> = all(&drawing)
            .iter()
            .filter_map(|mark| match mark {
                Mark::Circle { centre, .. } => Some(*centre),
                _ => None,
            })
            .collect();
        assert_eq!(circles.len(), 3, "the fourth is no dot");
        assert!(circles[1][1] > circles[0][1] && circles[0][1] > circles[2][1]);
        let pitch = circles[1][0] - circles[0][0];
        assert!((circles[2][0] - circles[1][0] - pitch).abs() < 1e-9);
        let named: Vec<&str> = drawing.texts().iter().map(|it| it.text.as_str()).collect();
        assert!(named.contains(&"B-1") && !named.contains(&"A-1"), "{named:?}");
        let squares = all(&drawing)
            .into_iter()
            .filter(|mark| matches!(mark, Mark::Path { stroke: Some(s), .. } if s.role == Role::Warn));
        assert_eq!(squares.count(), 1);
    }

    /// Three in a row are three squares and one name; a sum of nothing has no mark of its own.
    #[test]
    fn of_a_run_the_first_is_named() {
        let mut chart = chart();
        chart.panels[0].outside = vec![1, 2, 3];
        chart.panels[0].second = [0.0, 0.0, 0.05, 0.0].map(Some).to_vec();
        let drawing = chart_drawing(&chart, 400.0);
        let named: Vec<&str> = drawing.texts().iter().map(|it| it.text.as_str()).collect();
        assert!(named.contains(&"A-2") && !named.contains(&"A-3") && !named.contains(&"B-1"), "{named:?}");
        let of = |mark: &&&Mark| matches!(mark, Mark::Circle { .. });
        // One head inside, and one sum that is not nothing.
        assert_eq!(all(&drawing).iter().filter(of).count(), 2);
    }

    /// Hatching lies outside the limits: below the least, above the most, none about the aim.
    #[test]
    fn only_limits_are_hatched_and_on_their_far_side() {
        let drawing = chart_drawing(&chart(), 400.0);
        let line = |words: &str| {
            let chart = chart();
            let panel = &chart.panels[0];
            let at = panel.levels.iter().find(|it| it.words == words).unwrap().value;
            Frame::of(panel, &chart, [LEFT, 300.0], [TITLE, TITLE + 112.0]).y(at)
        };
        let strips: Vec<(f64, f64)> = all(&drawing)
            .iter()
            .filter_map(|mark| match mark {
                Mark::Path { shape, fill: Some(Fill::Hatch(..)), .. } => {
                    let ys: Vec<f64> = shape.points().map(|[_, y]| y).collect();
                    Some((ys[0], ys[2]))
                }
                _ => None,
            })
            .collect();
        assert_eq!(strips.len(), 2);
        assert!((strips[0].0 - line("least")).abs() < 1e-6 && strips[0].1 > strips[0].0);
        assert!((strips[1].1 - line("most")).abs() < 1e-6);
    }

    /// Nothing is joined over a break: three heads, then one, whose own line has one point.
    #[test]
    fn a_line_ends_where_the_setting_changes() {
        let drawing = chart_drawing(&chart(), 400.0);
        let moves =
            |shape: &Shape| shape.0.iter().filter(|it| matches!(it, crate::marks::Segment::Move(_))).count();
        let joined = all(&drawing).into_iter().find_map(|mark| match mark {
            Mark::Path { shape, stroke: Some(stroke), fill: None }
                if shape.0.len() == 4 && stroke.dash == Dash::Solid =>
            {
                Some(moves(shape))
            }
            _ => None,
        });
        assert_eq!(joined, Some(2));
    }

    #[test]
    fn no_word_leaves_the_sheet_or_stands_on_another() {
        let mut chart = chart();
        chart.panels.push(Panel {
            title: "Moving average less the aim, in".to_owned(),
            values: [0.0, -0.002, 0.001, 0.0].map(Some).to_vec(),
            between: [Some([-0.001, 0.001]), Some([-0.0015, 0.0015]), None, Some([-0.001, 0.001])].to_vec(),
            ..Panel::default()
        });
        for wide in [280.0, 328.0, 700.0] {
            let drawing = chart_drawing(&chart, wide);
            for text in drawing.texts() {
                let long = width(&text.text, text.size);
                let from = match text.anchor {
                    Anchor::Start => text.at[0],
                    Anchor::Middle => text.at[0] - long / 2.0,
                    Anchor::End => text.at[0] - long,
                };
                assert!(from >= -1e-9 && from + long <= wide + 1e-9, "{:?} at {wide}", text.text);
                assert!(text.at[1] > 0.0 && text.at[1] < drawing.height, "{:?} at {wide}", text.text);
            }
            let mut right: Vec<f64> = drawing
                .texts()
                .iter()
                .filter(|it| ["least", "most", "aim"].contains(&it.text.as_str()))
                .map(|it| it.at[1])
                .collect();
            right.sort_by(f64::total_cmp);
            assert!(right.windows(2).all(|pair| pair[1] - pair[0] >= PITCH - 1e-9), "{right:?}");
            assert!(!crate::svg::write(&drawing).contains("NaN"));
        }
    }

    #[test]
    fn a_scale_goes_in_ones_twos_and_fives() {
        for (least, wanted) in [(0.0011, 0.002), (0.002, 0.002), (0.0023, 0.005), (0.7, 1.0), (30.0, 50.0)] {
            assert!((step(least) - wanted).abs() < 1e-12, "{least}: {}", step(least));
        }
        assert_eq!(decimal(0.06, 3), ".060");
        assert_eq!(decimal(-0.002, 3), "−.002");
        assert_eq!(decimal(-0.0, 3), "0");
        assert_eq!(decimal(12.0, 0), "12");
    }

    /// No head, one head, heads all alike: nothing is divided by nought.
    #[test]
    fn few_heads_are_drawn_too() {
        for count in [0_usize, 1, 3] {
            let chart = Chart {
                names: vec!["A-1".to_owned(); count],
                first: 1,
                panels: vec![Panel { values: vec![Some(0.06); count], joined: true, ..Panel::default() }],
                ..Chart::default()
            };
            let text = crate::svg::write(&chart_drawing(&chart, 328.0));
            assert!(!text.contains("NaN") && !text.contains("inf"), "{count}");
        }
    }

    #[test]
    fn a_rate_lies_within_its_bar() {
        let rates = [
            Rate { name: "C yoke".to_owned(), rate: 3.0, interval: [1.0, 8.0] },
            Rate { name: "Gun".to_owned(), rate: 0.0, interval: [0.0, 9.5] },
        ];
        let drawing = rates_drawing("r", "Drilled out", "of a hundred", &rates, 328.0);
        let dots: Vec<f64> = all(&drawing)
            .iter()
            .filter_map(|mark| match mark {
                Mark::Circle { centre, .. } => Some(centre[0]),
                _ => None,
            })
            .collect();
        // The scale goes from 0 at 8 to 10 at 314 px.
        assert!((dots[0] - (8.0 + 306.0 * 0.3)).abs() < 1e-9 && dots[1] == 8.0, "{dots:?}");
        assert!(!crate::svg::write(&rates_drawing("r", "", "", &[], 328.0)).contains("NaN"));
    }
}
