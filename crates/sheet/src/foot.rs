//! What stands at the foot of a drawing: legend, scale bar, title block.

use faying_standards::Unit;

use crate::marks::{Anchor, Fill, Mark, Role, Shape, Stroke, Text};
use crate::text::{width, wrap};

const CAPTION: f64 = 10.0;
const VALUE: f64 = 13.0;
const WORDS: f64 = 12.0;
/// Between two entries of a legend, px.
const GAP: f64 = 22.0;

/// An entry of a legend: a symbol and its words.
pub struct Entry {
    /// Draws the symbol around a centre, px.
    pub symbol: Box<dyn Fn([f64; 2]) -> Vec<Mark>>,
    /// Half the width of the symbol, px.
    pub half: f64,
    /// Room above the symbol for a letter, px.
    pub head: f64,
    /// What it means.
    pub words: String,
}

/// Entries in lines from `[x, y]` on (upper left), no wider than `measure`; returns the height taken, px.
pub fn legend(marks: &mut Vec<Mark>, entries: &[Entry], [x, y]: [f64; 2], measure: f64) -> f64 {
    let words = |entry: &Entry| wrap(&entry.words, WORDS, measure - 2.0 * entry.half - 7.0);
    let need = |entry: &Entry| {
        let widest = words(entry).iter().map(|line| width(line, WORDS)).fold(0.0, f64::max);
        2.0 * entry.half + 7.0 + widest
    };
    let mut lines: Vec<Vec<&Entry>> = Vec::new();
    let mut used = 0.0;
    for entry in entries {
        match lines.last_mut() {
            Some(line) if used + GAP + need(entry) <= measure => {
                used += GAP + need(entry);
                line.push(entry);
            }
            _ => {
                used = need(entry);
                lines.push(vec![entry]);
            }
        }
    }
    let mut top = y;
    for line in lines {
        let head = line.iter().map(|entry| entry.head).fold(0.0, f64::max);
        let middle = top + head + 13.0;
        let (mut left, mut lowest) = (x, middle);
        for entry in line {
            marks.extend((entry.symbol)([left + entry.half, middle]));
            for (row, line) in words(entry).into_iter().enumerate() {
                let down = middle + 0.38 * WORDS + 15.0 * row as f64;
                marks.push(Mark::Text(Text::new([left + 2.0 * entry.half + 7.0, down], WORDS, line)));
                lowest = lowest.max(down);
            }
            left += need(entry) + GAP;
        }
        top = lowest.max(middle + 4.0) + 11.0;
    }
    top - y
}

/// A scale bar with its lower left at a point; returns its width with the words, px.
///
/// # Units
/// - `scale`: px to the inch of the part
/// - `most`: greatest length of the bar, px
pub fn scale_bar(marks: &mut Vec<Mark>, [x, y]: [f64; 2], scale: f64, most: f64, unit: Unit) -> f64 {
    let step = match unit {
        Unit::Inch => scale,
        Unit::Millimetre => scale / 25.4,
    };
    let count = round_count(most / step);
    let long = count * step;
    let half = long / 2.0;
    let ink = Stroke::solid(Role::Ink, 1.0);
    marks.push(Mark::area(Shape::rectangle(x, y - 5.0, half, 5.0), Fill::Flat(Role::Ink), Some(ink)));
    marks.push(Mark::area(
        Shape::rectangle(x + half, y - 5.0, half, 5.0),
        Fill::Flat(Role::Paper),
        Some(ink),
    ));
    let count = format!("{count}");
    let words = format!(
        "{} {}",
        count.strip_prefix('0').filter(|_| unit == Unit::Inch).unwrap_or(&count),
        unit.symbol()
    );
    let end = width(&words, CAPTION + 1.0);
    marks.push(Mark::Text(Text::new([x + long + 6.0, y + 1.0], CAPTION + 1.0, words)));
    long + 6.0 + end
}

/// The greatest of 1, 2, 5 times a power of ten that is no more than a number.
fn round_count(most: f64) -> f64 {
    let power = 10_f64.powf(most.max(1e-6).log10().floor());
    [5.0, 2.0, 1.0].into_iter().map(|n| n * power).find(|n| *n <= most).unwrap_or(power)
}

/// Cells of caption and value across the foot, in as many lines as they need; returns the height taken, px.
pub fn title_block(marks: &mut Vec<Mark>, cells: &[(&str, String)], [x, y]: [f64; 2], measure: f64) -> f64 {
    let pad = 8.0;
    let need = |(caption, value): &(&str, String)| {
        (width(value, VALUE).max(width(caption, CAPTION)) + 2.0 * pad).min(measure)
    };
    let mut lines: Vec<Vec<usize>> = vec![Vec::new()];
    let mut used = 0.0;
    for (index, cell) in cells.iter().enumerate() {
        if used > 0.0 && used + need(cell) > measure {
            lines.push(Vec::new());
            used = 0.0;
        }
        used += need(cell);
        if let Some(line) = lines.last_mut() {
            line.push(index);
        }
    }
    let heavy = Stroke::solid(Role::Ink, 1.8);
    let thin = Stroke::solid(Role::Ink, 1.0);
    let mut top = y;
    for (number, line) in lines.iter().enumerate() {
        let taken: f64 = line.iter().map(|&index| need(&cells[index])).sum();
        let spare = (measure - taken).max(0.0) / line.len() as f64;
        let values: Vec<Vec<String>> = line
            .iter()
            .map(|&index| wrap(&cells[index].1, VALUE, need(&cells[index]) + spare - 2.0 * pad))
            .collect();
        let rows = values.iter().map(Vec::len).max().unwrap_or(1).max(1);
        let height = 22.0 + rows as f64 * 17.0;
        let mut left = x;
        for (place, (&index, value)) in line.iter().zip(&values).enumerate() {
            if place > 0 {
                marks.push(Mark::straight([left, top], [left, top + height], thin));
            }
            let caption = Text::new([left + pad, top + 14.0], CAPTION, cells[index].0).coloured(Role::Faint);
            marks.push(Mark::Text(caption));
            for (row, words) in value.iter().enumerate() {
                let at = [left + pad, top + 30.0 + row as f64 * 17.0];
                marks.push(Mark::Text(Text::new(at, VALUE, words.clone())));
            }
            left += need(&cells[index]) + spare;
        }
        if number > 0 {
            marks.push(Mark::straight([x, top], [x + measure, top], thin));
        }
        top += height;
    }
    marks.push(Mark::line(Shape::rectangle(x, y, measure, top - y), heavy));
    top - y
}

/// A short text in the middle of a place, for a drawing that has nothing to draw.
pub fn nothing(marks: &mut Vec<Mark>, at: [f64; 2], words: &str) {
    marks.push(Mark::Text(Text::new(at, WORDS, words).anchored(Anchor::Middle).coloured(Role::Faint)));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bar_has_a_round_length() {
        for (most, want) in [(1.0, 1.0), (4.99, 2.0), (7.3, 5.0), (0.3, 0.2), (120.0, 100.0)] {
            assert!((round_count(most) - want).abs() < 1e-9, "{most}");
        }
    }
}
