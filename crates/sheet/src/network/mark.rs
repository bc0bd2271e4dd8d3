//! The marks of steps and gates, and the small marks of their arcs.
//!
//! A step is a square and a gate a double bar, so that neither is taken for a
//! hole, which is round. What runs along is stopped by the bar of a gate; a
//! stroke goes through the bar when the gate is passed.

use crate::marks::{Fill, Mark, Role, Segment, Shape, Stroke};

/// Half the side of a step's square, px.
pub const HALF: f64 = 6.5;
/// Half the length of a gate's bar, px.
pub const HALF_BAR: f64 = 10.0;
/// From the middle of a gate's double bar to the middle of either line, px.
pub const BAR: f64 = 2.6;
/// Length of an arrow's head, px.
pub const HEAD: f64 = 6.0;
/// Least share of a square that is filled or left free when a step is begun, so that it looks begun.
const LEAST: f64 = 0.18;

use super::Standing;

/// How a gate's bar lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Lie {
    /// From left to right: the arcs go down.
    Across,
    /// From top to bottom, so long: the arcs go right.
    Upright(f64),
}

/// The mark of a standing around a centre.
pub fn marks(stands: Standing, at: [f64; 2], lie: Lie) -> Vec<Mark> {
    let [x, y] = at;
    let ink = |width| Stroke::solid(Role::Ink, width);
    let square = |stroke: Stroke, fill: Role| {
        Mark::area(
            Shape::rectangle(x - HALF, y - HALF, 2.0 * HALF, 2.0 * HALF),
            Fill::Flat(fill),
            Some(stroke),
        )
    };
    match stands {
        Standing::Done => vec![square(ink(1.2), Role::Ink)],
        Standing::Begun(share) => {
            let filled = 2.0 * HALF * share.clamp(LEAST, 1.0 - LEAST);
            let part = Shape::rectangle(x - HALF, y + HALF - filled, 2.0 * HALF, filled);
            vec![square(ink(1.2), Role::Paper), Mark::area(part, Fill::Flat(Role::Ink), None)]
        }
        Standing::Ready => vec![square(ink(2.2), Role::Paper), pointer(at)],
        Standing::Blocked => {
            let arm = 0.62 * HALF;
            let mut corners = Shape::default();
            for [dx, dy] in [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]] {
                let corner = [x + dx * HALF, y + dy * HALF];
                corners.run(&[[corner[0] - dx * arm, corner[1]], corner, [corner[0], corner[1] - dy * arm]]);
            }
            let ground = Shape::rectangle(x - HALF, y - HALF, 2.0 * HALF, 2.0 * HALF);
            vec![Mark::area(ground, Fill::Flat(Role::Paper), None), Mark::line(corners, ink(1.0))]
        }
        Standing::Passed | Standing::Clear | Standing::Shut => {
            let mut marks = vec![bar(at, lie)];
            match stands {
                Standing::Passed => marks.push(through(at, lie)),
                // The bar is open where one may go through.
                Standing::Clear => {
                    let gap = Shape::rectangle(x - 4.5, y - 4.5, 9.0, 9.0);
                    marks.extend([Mark::area(gap, Fill::Flat(Role::Paper), None), pointer(at)]);
                }
                _ => {}
            }
            marks
        }
    }
}

/// The double bar of a gate, on paper.
fn bar([x, y]: [f64; 2], lie: Lie) -> Mark {
    let mut shape = Shape::default();
    for side in [-BAR, BAR] {
        match lie {
            Lie::Across => shape.run(&[[x - HALF_BAR, y + side], [x + HALF_BAR, y + side]]),
            Lie::Upright(long) => shape.run(&[[x + side, y - long / 2.0], [x + side, y + long / 2.0]]),
        }
    }
    Mark::line(shape, Stroke::solid(Role::Ink, 2.0))
}

/// The stroke through a bar.
fn through([x, y]: [f64; 2], lie: Lie) -> Mark {
    let over = BAR + 4.0;
    let (from, to) = match lie {
        Lie::Across => ([x, y - over], [x, y + over]),
        Lie::Upright(_) => ([x - over, y], [x + over, y]),
    };
    Mark::straight(from, to, Stroke::solid(Role::Ink, 2.6))
}

/// What can be begun now.
fn pointer([x, y]: [f64; 2]) -> Mark {
    let shape = Shape::closed(&[[x - 2.4, y - 3.6], [x + 3.4, y], [x - 2.4, y + 3.6]]);
    Mark::area(shape, Fill::Flat(Role::Accent), None)
}

/// The head of an arc with its tip at a point, along a unit direction.
pub fn head([x, y]: [f64; 2], [dx, dy]: [f64; 2], role: Role) -> Mark {
    let (back, side) = (HEAD, 3.0);
    let shape = Shape::closed(&[
        [x, y],
        [x - dx * back - dy * side, y - dy * back + dx * side],
        [x - dx * back + dy * side, y - dy * back - dx * side],
    ]);
    Mark::area(shape, Fill::Flat(role), None)
}

/// An hourglass: a time to wait.
pub fn glass([x, y]: [f64; 2]) -> Mark {
    let [wide, high] = [4.0, 5.0];
    let shape = Shape::closed(&[
        [x - wide, y - high],
        [x + wide, y - high],
        [x - wide, y + high],
        [x + wide, y + high],
    ]);
    Mark::area(shape, Fill::Flat(Role::Ink), Some(Stroke::solid(Role::Ink, 0.8)))
}

/// The mark before words of where a cut arc goes: an arrow to the right, 12 px long, from a point.
pub fn out([x, y]: [f64; 2]) -> Mark {
    small([x, y], 1.0)
}

/// The mark before words of where a cut arc comes from: an arrow to the left, 12 px long, from a point.
pub fn into([x, y]: [f64; 2]) -> Mark {
    small([x, y], -1.0)
}

fn small([x, y]: [f64; 2], sense: f64) -> Mark {
    let tip = x + 12.0 * sense;
    let mut shape = Shape::open(&[[x, y], [tip, y]]);
    shape.run(&[[tip - 4.0 * sense, y - 3.0], [tip, y], [tip - 4.0 * sense, y + 3.0]]);
    Mark::line(shape, Stroke::solid(Role::Ink, 1.3))
}

/// A line through points, its corners rounded; each stretch is upright or level.
pub fn rounded(points: &[[f64; 2]], radius: f64) -> Shape {
    // A quarter circle as a cubic has its handles this far along, radii: 4/3 (√2 − 1).
    let handle = 4.0 / 3.0 * (std::f64::consts::SQRT_2 - 1.0);
    let mut points: Vec<[f64; 2]> = points.to_vec();
    points.dedup_by(|a, b| (a[0] - b[0]).abs() + (a[1] - b[1]).abs() < 1e-6);
    let mut shape = Shape::default();
    let Some(&first) = points.first() else { return shape };
    shape.0.push(Segment::Move(first));
    for three in points.windows(3) {
        let [before, corner, after] = [three[0], three[1], three[2]];
        let length = |to: [f64; 2]| (to[0] - corner[0]).hypot(to[1] - corner[1]);
        let turn = radius.min(length(before) / 2.0).min(length(after) / 2.0);
        let towards = |to: [f64; 2], by: f64| {
            let part = by / length(to);
            [corner[0] + (to[0] - corner[0]) * part, corner[1] + (to[1] - corner[1]) * part]
        };
        let rest = turn * (1.0 - handle);
        shape.0.push(Segment::Line(towards(before, turn)));
        shape.0.push(Segment::Cubic(towards(before, rest), towards(after, rest), towards(after, turn)));
    }
    if let Some(&last) = points.last()
        && points.len() > 1
    {
        shape.0.push(Segment::Line(last));
    }
    shape
}
