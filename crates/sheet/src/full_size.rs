//! A plane at full size over several sheets that are joined to one.
//!
//! Sheets overlap; in the middle of the overlap runs the line on which two are
//! joined. A hole is drawn in full, with its name, on the one sheet on whose
//! side of the lines its centre lies; where another sheet sees it, it is a
//! dashed circle without a name. A sheet with nothing on it is left out. Each
//! carries a bar of 100 mm and one of 4 in: a printer that fits a page to its
//! paper spoils the scale without a word.

use faying_plan::{HoleId, Plan, PlaneId, Side};

use crate::document::{Date, Document, Paper};
use crate::foot::title_block;
use crate::marks::{Anchor, Dash, Drawing, Fill, Group, Lean, Mark, PX_PER_INCH, Role, Shape, Stroke, Text};
use crate::page::{CAPTION, MARGIN, fitted};
use crate::plane::{PlaneOptions, Scale, Sheet, Strip, View};
use crate::room::{Bounds, text_bounds};
use crate::text::CAPITAL;

/// What is printed at full size, and from which side.
pub struct FullSize<'f> {
    /// The plan.
    pub plan: &'f Plan,
    /// The plane.
    pub plane: PlaneId,
    /// The side in view.
    pub side: Side,
    /// How each hole is drawn.
    pub hole: &'f dyn Fn(HoleId) -> FullSizeHole,
    /// Plan revision.
    pub revision: String,
    /// The day it was made.
    pub date: Date,
    /// Where this stands in the builder's own plans; may be empty.
    pub sheet: String,
    /// Who it is from, for the file's properties; may be empty.
    pub author: String,
}

/// How one hole is drawn at full size.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct FullSizeHole {
    /// Its diameter, in; none is drawn as a cross only.
    pub diameter_in: Option<f64>,
    /// Whether it stays open; drawn hatched.
    pub open: bool,
}

/// What two neighbouring sheets both show, px: half an inch.
const OVERLAP: f64 = 48.0;
/// Round the plane, in.
const ROUND: f64 = 0.25;
/// Size of a hole's name, px.
const NAME: f64 = 9.5;
/// A hole's cross reaches past its edge by this, px.
const CROSS: f64 = 3.5;
/// Half a cross of a hole without a diameter, px.
const BARE_CROSS: f64 = 6.0;
/// Height of the words and bars, px.
const BARS: f64 = 62.0;

/// The sheets, upright or lying, whichever takes fewer.
#[must_use]
pub fn pages(input: &FullSize<'_>, paper: Paper) -> Document {
    let options =
        PlaneOptions { key: "full".to_owned(), scale: Scale::OneTo(1.0), ..PlaneOptions::default() };
    let look = |_| crate::HoleLook::plain(crate::HoleState::ToDo);
    let view = View::new(input.plan, input.plane, input.side, &look, &options);
    let title = format!("{}, full size", view.title());
    let [wide, high] = paper.px();
    let layouts = [[wide, high], [high, wide]].map(|size| Layout::new(&view, input, size));
    let [upright, lying] = &layouts;
    let layout = if lying.count() < upright.count() { lying } else { upright };
    let mut tiles: Vec<Tile> = Vec::new();
    for row in 0..layout.tiles[1] {
        for column in 0..layout.tiles[0] {
            tiles.extend(layout.tile(&view, input, [column, row]));
        }
    }
    let there: Vec<[usize; 2]> = tiles.iter().map(|tile| tile.place).collect();
    let count = tiles.len();
    let drawings = tiles.into_iter().enumerate().map(|(index, tile)| {
        let number = index + 1;
        let mut marks = tile.marks.clone();
        layout.joins(&mut marks, &tile, &there);
        layout.foot(&mut marks, input, &view, tile.place, &there, number);
        Drawing {
            key: format!("full-{number}"),
            width: layout.size[0],
            height: layout.size[1],
            title: format!("{title}, sheet {}", name(tile.place)),
            description: format!("Sheet {number} of {count} at full size."),
            marks,
        }
    });
    Document {
        title: title.clone(),
        author: input.author.clone(),
        date: input.date,
        pages: drawings.collect(),
    }
}

/// A to Z, then AA: the row from above; 1 and on: the column from the left.
fn name([column, row]: [usize; 2]) -> String {
    let letter = |n: usize| char::from(b'A' + (n % 26) as u8);
    let row =
        if row < 26 { letter(row).to_string() } else { format!("{}{}", letter(row / 26 - 1), letter(row)) };
    format!("{row}{}", column + 1)
}

/// A sheet while it is made.
struct Tile {
    place: [usize; 2],
    marks: Vec<Mark>,
    /// All holes of the plane, px of this sheet, those beyond its edge as well.
    holes: Vec<[f64; 2]>,
}

/// A line of joining, px, and the sheet beyond it.
type Join = ([f64; 2], [f64; 2], [usize; 2]);

/// How the plane is laid over the sheets.
struct Layout {
    /// Paper, px.
    size: [f64; 2],
    /// Width and height of what is shown of the plane on a sheet, px.
    shown: [f64; 2],
    /// Sheets across and down.
    tiles: [usize; 2],
    /// Upper left corner of the whole, in.
    corner: [f64; 2],
}

impl Layout {
    fn new(view: &View<'_>, input: &FullSize<'_>, size: [f64; 2]) -> Self {
        let measure = size[0] - 2.0 * MARGIN;
        let cells = title_cells(input, view, "Z99", "99 of 99");
        let foot = title_block(&mut Vec::new(), &cells, [0.0, 0.0], measure) + BARS + 6.0;
        let shown = [measure, size[1] - 2.0 * MARGIN - foot];
        let [low_x, low_y, high_x, high_y] = view.extent().unwrap_or([0.0; 4]);
        let whole = [high_x - low_x, high_y - low_y].map(|inches| (inches + 2.0 * ROUND) * PX_PER_INCH);
        let tiles = [0, 1].map(|axis| sheets(whole[axis], shown[axis]));
        Self { size, shown, tiles, corner: [low_x - ROUND, high_y + ROUND] }
    }

    fn count(&self) -> usize {
        self.tiles[0] * self.tiles[1]
    }

    /// From a sheet to the next, in.
    fn step(&self, axis: usize) -> f64 {
        (self.shown[axis] - OVERLAP) / PX_PER_INCH
    }

    /// The sheet on which a point lies between the lines of joining.
    fn home(&self, at: [f64; 2]) -> [usize; 2] {
        let along = [at[0] - self.corner[0], self.corner[1] - at[1]];
        [0, 1].map(|axis| {
            let place = (along[axis] - OVERLAP / 2.0 / PX_PER_INCH) / self.step(axis);
            (place.floor().max(0.0) as usize).min(self.tiles[axis] - 1)
        })
    }

    /// One sheet of the plane; none if there is nothing on it.
    fn tile(&self, view: &View<'_>, input: &FullSize<'_>, place: [usize; 2]) -> Option<Tile> {
        let left = self.corner[0] + place[0] as f64 * self.step(0);
        let top = self.corner[1] - place[1] as f64 * self.step(1);
        let [wide, high] = self.shown.map(|px| px / PX_PER_INCH);
        let window = [left, top - high, left + wide, top];
        let strip = Strip {
            window,
            origin: [MARGIN, MARGIN],
            scale: PX_PER_INCH,
            radius: 0.0,
            goes_on: [place[0] > 0, place[0] + 1 < self.tiles[0], place[1] + 1 < self.tiles[1], place[1] > 0],
        };
        let mut sheet = Sheet::new(view);
        sheet.full_width = self.size[0];
        sheet.frame = Some(self.kept(place));
        sheet.fills(&strip);
        sheet.outlines(&strip);
        sheet.bends(&strip);
        let inside = |at: [f64; 2]| {
            window[0] <= at[0] && at[0] <= window[2] && window[1] <= at[1] && at[1] <= window[3]
        };
        let holes: Vec<_> = view.holes.iter().filter(|hole| inside(hole.at)).collect();
        if sheet.marks.is_empty() && holes.is_empty() {
            return None;
        }
        let all: Vec<[f64; 2]> = view.holes.iter().map(|hole| strip.px(hole.at)).collect();
        for line in self.lines(place) {
            sheet.lines.add_line(line.0, line.1);
            sheet.taken.add(text_bounds(&self.join_name(line)));
            for [x, y] in targets(line, &all) {
                sheet.taken.add([x - TARGET, y - TARGET, x + TARGET, y + TARGET]);
            }
        }
        let reach = |look: FullSizeHole| match look.diameter_in {
            Some(inches) => inches / 2.0 * PX_PER_INCH + CROSS,
            None => BARE_CROSS,
        };
        for hole in &holes {
            let ([x, y], reach) = (strip.px(hole.at), reach((input.hole)(hole.hole)));
            sheet.taken.add([x - reach, y - reach, x + reach, y + reach]);
        }
        let ways: [[f64; 2]; 8] = [-45.0, -90.0, 45.0, 90.0, -135.0, 135.0, 0.0, 180.0]
            .map(|degrees: f64| [degrees.to_radians().cos(), degrees.to_radians().sin()]);
        let mut drawn = Vec::new();
        for hole in &holes {
            let look = (input.hole)(hole.hole);
            let centre = strip.px(hole.at);
            if self.home(hole.at) != place {
                drawn.push(beyond(centre, look));
                continue;
            }
            let words = format!("{} {}", input.plan[hole.row].name, input.plan[hole.hole].number);
            let text = Text::new(centre, NAME, words.clone());
            let label = sheet.place(&strip, &text, centre, &ways, reach(look), 1.0).unwrap_or_else(|| {
                let off = reach(look) * std::f64::consts::FRAC_1_SQRT_2 + 2.0;
                let placed = Text { at: [centre[0] + off, centre[1] - off], ..text }.rimmed();
                sheet.taken.add(text_bounds(&placed));
                placed
            });
            let mut marks = body(centre, look);
            marks.push(Mark::Text(label));
            drawn.push(Mark::Group(Group {
                data: vec![("hole", input.plan.hole_name(hole.hole))],
                title: Some(words),
                marks,
                ..Group::default()
            }));
        }
        let parts = sheet.part_labels(&strip);
        let mut marks = sheet.marks;
        marks.extend(parts.into_iter().map(Mark::Text));
        marks.extend(drawn);
        Some(Tile { place, marks, holes: all })
    }

    /// Lines of joining of a sheet, px, each with the sheet beyond it.
    fn lines(&self, [column, row]: [usize; 2]) -> Vec<Join> {
        let (left, top) = (MARGIN, MARGIN);
        let (right, bottom) = (left + self.shown[0], top + self.shown[1]);
        let half = OVERLAP / 2.0;
        let mut lines = Vec::new();
        if column > 0 {
            lines.push(([left + half, top], [left + half, bottom], [column - 1, row]));
        }
        if column + 1 < self.tiles[0] {
            lines.push(([right - half, top], [right - half, bottom], [column + 1, row]));
        }
        if row > 0 {
            lines.push(([left, top + half], [right, top + half], [column, row - 1]));
        }
        if row + 1 < self.tiles[1] {
            lines.push(([left, bottom - half], [right, bottom - half], [column, row + 1]));
        }
        lines
    }

    /// What is left of a sheet when it is cut along its lines of joining, px.
    fn kept(&self, [column, row]: [usize; 2]) -> Bounds {
        let cut = |joined: bool| if joined { OVERLAP / 2.0 } else { 0.0 };
        [
            MARGIN + cut(column > 0),
            MARGIN + cut(row > 0),
            MARGIN + self.shown[0] - cut(column + 1 < self.tiles[0]),
            MARGIN + self.shown[1] - cut(row + 1 < self.tiles[1]),
        ]
    }

    /// The lines with the names of the neighbours and marks to lay on each other.
    fn joins(&self, marks: &mut Vec<Mark>, tile: &Tile, there: &[[usize; 2]]) {
        for line in self.lines(tile.place) {
            let (from, to, other) = line;
            if there.contains(&other) {
                marks.push(Mark::straight(from, to, Stroke::solid(Role::Faint, 0.8).dashed(Dash::Chain)));
                marks.extend(targets(line, &tile.holes).into_iter().flat_map(target));
                marks.push(Mark::Text(self.join_name(line)));
            }
        }
    }

    fn join_name(&self, (from, to, other): Join) -> Text {
        let [left, top] = [MARGIN, MARGIN];
        let words = format!("join {}", name(other));
        let text = if (from[0] - to[0]).abs() < 1e-9 {
            let outer = if from[0] < left + self.shown[0] / 2.0 { Anchor::Start } else { Anchor::End };
            let x = if outer == Anchor::Start { from[0] + 4.0 } else { from[0] - 4.0 };
            Text::new([x, top + 10.0], 10.0, words).anchored(outer)
        } else {
            let x = left + self.shown[0] * 0.5;
            Text::new([x, from[1] - 4.0], 10.0, words).anchored(Anchor::Middle)
        };
        text.coloured(Role::Faint).rimmed()
    }

    fn foot(
        &self,
        marks: &mut Vec<Mark>,
        input: &FullSize<'_>,
        view: &View<'_>,
        place: [usize; 2],
        there: &[[usize; 2]],
        number: usize,
    ) {
        let measure = self.shown[0];
        let y = MARGIN + self.shown[1] + 6.0;
        marks.push(Mark::straight(
            [MARGIN, y - 3.0],
            [MARGIN + measure, y - 3.0],
            Stroke::solid(Role::Faint, 0.6),
        ));
        let chart = self.chart(marks, [MARGIN + measure, y + 4.0], place, there);
        let mut legend = String::new();
        if view.holes.iter().any(|hole| (input.hole)(hole.hole).open) {
            legend.push_str("Hatched: leave open. ");
        }
        if there.len() > 1 {
            legend.push_str("Dashed: in full on the sheet beside it. Lay the joins on each other.");
        }
        let words = [
            "Measure both bars before you trust the sheet. Print at 100 %, not fitted to the page.",
            legend.trim_end(),
        ];
        for (row, (line, size)) in words.into_iter().zip([12.0, CAPTION]).enumerate() {
            let size = fitted(line, [8.0, size], measure - chart - 16.0);
            let text = Text::new([MARGIN, y + 10.0 + row as f64 * 14.0], size, line);
            marks.push(Mark::Text(if row == 0 { text.heavy() } else { text }));
        }
        for (index, (inches, words)) in [(100.0 / 25.4, "100 mm"), (4.0, "4 in")].into_iter().enumerate() {
            bar(marks, [MARGIN, y + 31.0 + index as f64 * 14.0], inches * PX_PER_INCH, words);
        }
        let page = format!("{number} of {}", there.len());
        let cells = title_cells(input, view, &name(place), &page);
        title_block(marks, &cells, [MARGIN, y + BARS], measure);
    }

    /// The sheets as they lie, this one filled; returns the width, px.
    fn chart(
        &self,
        marks: &mut Vec<Mark>,
        [right, top]: [f64; 2],
        place: [usize; 2],
        there: &[[usize; 2]],
    ) -> f64 {
        let shape = self.shown[0] / self.shown[1];
        let high = (50.0 / self.tiles[1] as f64).min(120.0 / self.tiles[0] as f64 / shape).min(26.0);
        let wide = high * shape;
        let full = wide * self.tiles[0] as f64;
        for &[column, row] in there {
            let at = [right - full + column as f64 * wide, top + row as f64 * high];
            let fill = if [column, row] == place { Role::Ink } else { Role::Paper };
            let cell = Shape::rectangle(at[0], at[1], wide, high);
            marks.push(Mark::area(cell, Fill::Flat(fill), Some(Stroke::solid(Role::Ink, 0.8))));
        }
        full
    }
}

/// How many sheets a length takes, px.
fn sheets(whole: f64, shown: f64) -> usize {
    // A rounding error is no reason for a sheet with nothing on it.
    ((whole - OVERLAP) / (shown - OVERLAP) - 1e-9).ceil().max(1.0) as usize
}

fn title_cells(input: &FullSize<'_>, view: &View<'_>, tile: &str, page: &str) -> Vec<(&'static str, String)> {
    let side = input.plan[input.plane].side_name(input.side);
    let cells = [
        ("Assembly", view.assembly_title()),
        ("Plane, side in view", format!("{}, from {side}", view.plane_title())),
        ("Scale", "1 : 1".to_owned()),
        ("Plan revision", input.revision.clone()),
        ("Date", input.date.to_string()),
        ("Sheet", input.sheet.clone()),
        ("Part, page", format!("{tile}, {page}")),
    ];
    cells.into_iter().filter(|(_, value)| !value.is_empty()).collect()
}

/// A hole at its diameter with a cross through its centre.
fn body([x, y]: [f64; 2], look: FullSizeHole) -> Vec<Mark> {
    let mut marks = Vec::new();
    let mut arm = BARE_CROSS;
    if let Some(inches) = look.diameter_in {
        let radius = inches / 2.0 * PX_PER_INCH;
        arm = radius + CROSS;
        let fill = if look.open { Fill::Hatch(Role::Ink, Lean::Right) } else { Fill::Flat(Role::Paper) };
        marks.push(Mark::Circle {
            centre: [x, y],
            radius,
            fill: Some(fill),
            stroke: Some(Stroke::solid(Role::Ink, 0.8)),
        });
    }
    marks.push(cross([x, y], arm, Stroke::solid(Role::Ink, 0.5)));
    marks
}

/// A hole that is drawn in full on another sheet.
fn beyond(centre: [f64; 2], look: FullSizeHole) -> Mark {
    let stroke = Stroke::solid(Role::Faint, 0.7).dashed(Dash::Hidden);
    match look.diameter_in {
        Some(inches) => {
            Mark::Circle { centre, radius: inches / 2.0 * PX_PER_INCH, fill: None, stroke: Some(stroke) }
        }
        None => cross(centre, BARE_CROSS, stroke),
    }
}

fn cross([x, y]: [f64; 2], arm: f64, stroke: Stroke) -> Mark {
    let mut shape = Shape::open(&[[x - arm, y], [x + arm, y]]);
    shape.run(&[[x, y - arm], [x, y + arm]]);
    Mark::line(shape, stroke)
}

/// Where on a line of joining two marks stand: far from any hole. Both sheets find
/// the same places, because both weigh all holes of the plane.
fn targets((from, to, _): Join, holes: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let at = |part: f64| [0, 1].map(|axis| from[axis] + part * (to[axis] - from[axis]));
    let clear = |part: f64| {
        let [x, y] = at(part);
        holes.iter().map(|[a, b]| (a - x).hypot(b - y)).fold(TARGET_CLEAR, f64::min)
    };
    [0.06, 0.54]
        .into_iter()
        .filter_map(|half| {
            let parts = (0..20).map(|n| half + 0.02 * f64::from(n));
            parts.reduce(|a, b| if clear(b) > clear(a) + 1e-6 { b } else { a })
        })
        .map(at)
        .collect()
}

/// A mark of joining further than this from a hole is far enough, px.
const TARGET_CLEAR: f64 = 40.0;
/// How far it reaches, px.
const TARGET: f64 = 9.0;

/// A mark that is laid on its like on the next sheet.
fn target(centre: [f64; 2]) -> [Mark; 2] {
    let stroke = Stroke::solid(Role::Ink, 0.6);
    [Mark::Circle { centre, radius: 5.0, fill: None, stroke: Some(stroke) }, cross(centre, TARGET, stroke)]
}

/// A bar in quarters, measured from end to end.
fn bar(marks: &mut Vec<Mark>, [x, y]: [f64; 2], long: f64, words: &str) {
    let quarter = long / 4.0;
    for part in 0..4 {
        let role = if part % 2 == 0 { Role::Ink } else { Role::Paper };
        let shape = Shape::rectangle(x + f64::from(part) * quarter, y, quarter, 8.0);
        marks.push(Mark::area(shape, Fill::Flat(role), None));
    }
    // The outline lies inside, so that the black is exactly as long as it says.
    let half = 0.5;
    let frame = Shape::rectangle(x + half, y + half, long - 2.0 * half, 8.0 - 2.0 * half);
    marks.push(Mark::line(frame, Stroke::solid(Role::Ink, 2.0 * half)));
    let text = Text::new([x + long + 8.0, y + 4.0 + CAPITAL * 6.0], 12.0, words).heavy();
    marks.push(Mark::Text(text));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sheets_reach_the_end_and_none_is_too_many() {
        for shown in [700.0, 1030.5] {
            for tenths in 1..60_000 {
                let whole = f64::from(tenths) / 10.0;
                let count = sheets(whole, shown);
                let reach = |count: usize| count as f64 * (shown - OVERLAP) + OVERLAP;
                assert!(reach(count) >= whole - 1e-6, "{count} sheets of {shown} end before {whole}");
                assert!(count == 1 || reach(count - 1) < whole, "{count} sheets of {shown} for {whole}");
            }
        }
    }

    #[test]
    fn sheets_are_named_by_row_and_column() {
        assert_eq!(name([0, 0]), "A1");
        assert_eq!(name([11, 1]), "B12");
        assert_eq!(name([0, 26]), "AA1");
    }
}
