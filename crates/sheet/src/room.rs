//! Room on the sheet: which places are taken, so that no text falls on a hole.

use std::collections::HashMap;

use crate::marks::{Anchor, Text};
use crate::text::{CAPITAL, TAIL, width};

/// An upright box: left, top, right, bottom, px.
pub type Bounds = [f64; 4];

/// The box a text takes, by the widths of its typeface.
pub fn text_bounds(text: &Text) -> Bounds {
    let wide = width(&text.text, text.size);
    let left = match text.anchor {
        Anchor::Start => text.at[0],
        Anchor::Middle => text.at[0] - wide / 2.0,
        Anchor::End => text.at[0] - wide,
    };
    [left, text.at[1] - CAPITAL * text.size, left + wide, text.at[1] + TAIL * text.size]
}

/// Places that are taken, in cells so that a thousand labels ask quickly.
#[derive(Default)]
pub struct Taken {
    cells: HashMap<(i64, i64), Vec<Bounds>>,
}

const CELL: f64 = 48.0;

impl Taken {
    fn cells_of(bounds: Bounds) -> impl Iterator<Item = (i64, i64)> {
        let [left, top, right, bottom] = bounds.map(|v| (v / CELL).floor() as i64);
        (left..=right).flat_map(move |x| (top..=bottom).map(move |y| (x, y)))
    }

    pub fn add(&mut self, bounds: Bounds) {
        for cell in Self::cells_of(bounds) {
            self.cells.entry(cell).or_default().push(bounds);
        }
    }

    /// Takes a line in short pieces, because the box of a slanting one is mostly empty.
    pub fn add_line(&mut self, from: [f64; 2], to: [f64; 2]) {
        let length = (to[0] - from[0]).hypot(to[1] - from[1]);
        let upright = (to[0] - from[0]).abs() < 0.5 || (to[1] - from[1]).abs() < 0.5;
        let pieces = if upright { 1 } else { (length / 8.0).ceil().clamp(1.0, 4000.0) as u32 };
        for piece in 0..pieces {
            let at = |n: u32| {
                let t = f64::from(n) / f64::from(pieces);
                [from[0] + t * (to[0] - from[0]), from[1] + t * (to[1] - from[1])]
            };
            let (a, b) = (at(piece), at(piece + 1));
            self.add([a[0].min(b[0]), a[1].min(b[1]), a[0].max(b[0]), a[1].max(b[1])]);
        }
    }

    pub fn free(&self, bounds: Bounds) -> bool {
        Self::cells_of(bounds).all(|cell| {
            self.cells.get(&cell).is_none_or(|taken| taken.iter().all(|other| !meet(bounds, *other)))
        })
    }
}

fn meet(a: Bounds, b: Bounds) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}
