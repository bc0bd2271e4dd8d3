//! Section through a hole, to scale: the sheets, the rivet before and after driving.
//!
//! Every figure is handed in and drawn as it is, so a lip that does not reach
//! or a shank that is too short is seen to be so. The cone of a dimple or a
//! countersink is that of the flush head; a dimpled sheet keeps its thickness
//! along the rivet. Under a protruding head no cone is known and every sheet
//! is drawn flat.
//!
//! The near side is up. The bulge of a shop head is for the eye; its width and
//! its height are the ones given.

use faying_plan::Preparation;
use faying_standards::{HeadStyle, Length, Unit};

use crate::foot::scale_bar;
use crate::marks::{Anchor, Drawing, Fill, Lean, Mark, Role, Segment, Shape, Stroke, Text};
use crate::text::{width, wrap};

/// A sheet of the stack.
#[derive(Clone, Debug, PartialEq)]
pub struct SectionSheet {
    /// Name of the piece.
    pub name: String,
    /// Its thickness, in.
    pub thickness_in: f64,
    /// What is done to it at the hole.
    pub preparation: Preparation,
}

/// A shop head, as it is computed or was measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShopHead {
    /// Its width, in.
    pub width_in: f64,
    /// Its height from the face it sits on, in.
    pub height_in: f64,
}

/// What is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct SectionInput {
    /// Prefix of the drawing's ids.
    pub key: String,
    /// Width of the drawing, px.
    pub width: f64,
    /// What it shows, such as `Hole A 18`.
    pub title: String,
    /// The sheets, near to far.
    pub sheets: Vec<SectionSheet>,
    /// The manufactured head.
    pub head: HeadStyle,
    /// Shank diameter, in.
    pub shank_in: f64,
    /// Length as it is measured for this head, in: over a flush one, under a protruding one.
    pub length_in: f64,
    /// Hole diameter, in; of a dimple, at its lip.
    pub hole_in: f64,
    /// Diameter of the manufactured head, in.
    pub head_dia_in: f64,
    /// Height of the manufactured head, in.
    pub head_height_in: f64,
    /// Whether the manufactured head is on the near side.
    pub head_on_near: bool,
    /// From the seat of the manufactured head, or the top of a flush one, to the face the shop head sits on, in.
    pub seat_to_seat_in: f64,
    /// The shop head, if one is known.
    pub shop_head: Option<ShopHead>,
    /// Trade name of the near side.
    pub near_name: String,
    /// Trade name of the far side.
    pub far_name: String,
}

const WORDS: f64 = 12.0;
const CAPTION: f64 = 11.0;
const EDGE: f64 = 8.0;
/// Dimension line and its two lines of text, px.
const DIMENSION: f64 = 72.0;
/// From the sheets to a dimension line, px.
const OFF: f64 = 10.0;
/// Sheet shown beyond the widest head, as a multiple of that head.
const BEYOND: f64 = 1.35;
/// Greatest height of one view, px.
const MOST_HEIGHT: f64 = 260.0;
const HEAD_ROOM: f64 = 38.0;
/// Narrower than this, the second view stands below the first, px.
const SIDE_BY_SIDE: f64 = 480.0;

/// The section as a drawing.
#[must_use]
pub fn section_drawing(input: &SectionInput) -> Drawing {
    let frame = Frame::new(input);
    let mut marks = Vec::new();
    let before = frame.centre(0);
    frame.sheets(&mut marks, before);
    marks.push(rivet(frame.before(), |at| frame.px(before, at)));
    frame.labels(&mut marks);
    frame.caption(&mut marks, before, "before driving");
    frame.grip_and_tail(&mut marks, before);
    if let Some(shop) = input.shop_head {
        let after = frame.centre(1);
        frame.sheets(&mut marks, after);
        marks.push(rivet(frame.after(shop), |at| frame.px(after, at)));
        frame.caption(&mut marks, after, "after driving");
        frame.shop_head(&mut marks, after, shop);
    }
    let bar = frame.bottom() + 12.0;
    scale_bar(&mut marks, [EDGE, bar], frame.scale, 110.0, Unit::Inch);
    Drawing {
        key: input.key.clone(),
        width: input.width,
        height: bar + 10.0,
        title: format!("{}, section", input.title),
        description: description(input),
        marks,
    }
}

fn figure(inches: f64) -> String {
    Length::from_inches((inches * 1e4).round() / 1e4).decimal()
}

fn thickness(sheet: &SectionSheet) -> String {
    format!("{} in", figure(sheet.thickness_in))
}

fn description(input: &SectionInput) -> String {
    let sheets: Vec<String> = input
        .sheets
        .iter()
        .map(|sheet| {
            let thick = figure(sheet.thickness_in);
            match sheet.preparation {
                Preparation::Plain => format!("{} {thick} in", sheet.name),
                other => format!("{} {thick} in {other}", sheet.name),
            }
        })
        .collect();
    let side = if input.head_on_near { &input.near_name } else { &input.far_name };
    let shop = input.shop_head.map_or(String::new(), |shop| {
        format!(", shop head {} in wide and {} in high", figure(shop.width_in), figure(shop.height_in))
    });
    format!(
        "From {} to {}: {}. Manufactured head {side}, grip {} in, length {} in{shop}.",
        input.near_name,
        input.far_name,
        sheets.join(", "),
        figure(input.seat_to_seat_in),
        figure(input.length_in),
    )
}

/// Half a closed outline as (radius, depth below the head) and the curve of the shop head.
fn rivet(half: Vec<Segment>, px: impl Fn([f64; 2]) -> [f64; 2]) -> Mark {
    // Down the right side as given, up the left side as its mirror image.
    let mut shape = Shape(half.clone());
    let mut ends: Vec<[f64; 2]> = Vec::new();
    for segment in &half {
        if let Segment::Move(to) | Segment::Line(to) | Segment::Cubic(_, _, to) = segment {
            ends.push(*to);
        }
    }
    let left = |[r, u]: [f64; 2]| [-r, u];
    if let Some(last) = ends.last() {
        shape.0.push(Segment::Line(left(*last)));
    }
    for (index, segment) in half.iter().enumerate().skip(1).rev() {
        let to = left(ends[index - 1]);
        shape.0.push(match *segment {
            Segment::Cubic(a, b, _) => Segment::Cubic(left(b), left(a), to),
            _ => Segment::Line(to),
        });
    }
    shape.0.push(Segment::Close);
    Mark::area(shape.map(px), Fill::Flat(Role::Wash), Some(Stroke::solid(Role::Ink, 1.6)))
}

/// Where everything goes. Depth `u` runs from the head's seat along the rivet, in.
struct Frame<'i> {
    input: &'i SectionInput,
    /// Px to the inch.
    scale: f64,
    /// Width of the column of sheet names, px.
    names: f64,
    /// Half the width of sheet shown, in.
    reach: f64,
    /// Least and greatest depth, in.
    depth: [f64; 2],
    /// Depth of the top of each sheet from the head on, with the sheet.
    stack: Vec<(f64, &'i SectionSheet)>,
    /// Whether the second view stands below the first, because side by side both would be too small.
    stacked: bool,
}

impl<'i> Frame<'i> {
    fn new(input: &'i SectionInput) -> Self {
        let mut order: Vec<&SectionSheet> = input.sheets.iter().collect();
        if !input.head_on_near {
            order.reverse();
        }
        let mut total = 0.0;
        let stack: Vec<(f64, &SectionSheet)> = order
            .into_iter()
            .map(|sheet| {
                let from = total;
                total += sheet.thickness_in;
                (from, sheet)
            })
            .collect();
        let widest = input
            .shop_head
            .map_or(0.0, |shop| shop.width_in)
            .max(input.head_dia_in)
            .max(input.hole_in)
            .max(0.01);
        let above = if input.head == HeadStyle::Universal { -input.head_height_in } else { 0.0 };
        let driven = input.shop_head.map_or(0.0, |shop| input.seat_to_seat_in + shop.height_in);
        let below = input.length_in.max(driven).max(total).max(input.seat_to_seat_in);
        let names = input
            .sheets
            .iter()
            .map(|sheet| width(&sheet.name, WORDS) + 8.0 + width(&thickness(sheet), WORDS))
            .chain(
                [&input.near_name, &input.far_name]
                    .map(|name| width(name, CAPTION) + width(" side", CAPTION)),
            )
            .fold(0.0, f64::max)
            .min(0.34 * input.width);
        let stacked = input.width < SIDE_BY_SIDE;
        let views = if input.shop_head.is_some() && !stacked { 2.0 } else { 1.0 };
        let reach = widest / 2.0 * BEYOND;
        let room = input.width - 2.0 * EDGE - names - 12.0 - views * DIMENSION;
        let scale = (room / (views * 2.0 * reach)).min(MOST_HEIGHT / (below - above)).max(1.0);
        Self { input, scale, names, reach, depth: [above, below], stack, stacked }
    }

    /// The axis of a view, and how far it stands below the first one, px.
    fn centre(&self, view: u8) -> [f64; 2] {
        let each = 2.0 * self.reach * self.scale + DIMENSION;
        let first = EDGE + self.names + 12.0 + self.reach * self.scale;
        let view = f64::from(view);
        if self.stacked { [first, view * self.view_height()] } else { [first + view * each, 0.0] }
    }

    fn view_height(&self) -> f64 {
        let drawn = HEAD_ROOM + (self.depth[1] - self.depth[0]) * self.scale;
        let labels = self.label_places().last().map_or(0.0, |place| place.0 + 8.0);
        drawn.max(labels) + 8.0
    }

    /// Where a depth lies, px.
    fn y(&self, u: f64) -> f64 {
        let from_top = if self.input.head_on_near { u - self.depth[0] } else { self.depth[1] - u };
        HEAD_ROOM + from_top * self.scale
    }

    fn px(&self, centre: [f64; 2], [r, u]: [f64; 2]) -> [f64; 2] {
        [centre[0] + r * self.scale, centre[1] + self.y(u)]
    }

    fn bottom(&self) -> f64 {
        let last = if self.input.shop_head.is_some() { self.centre(1)[1] } else { 0.0 };
        // The width of the shop head stands beyond it.
        let beyond = if self.input.head_on_near && self.input.shop_head.is_some() { 30.0 } else { 12.0 };
        last + self.view_height() - 8.0 + beyond
    }

    /// Depth a flush head's cone gains for each inch of radius; none where there is no cone.
    fn cone(&self) -> Option<f64> {
        let run = (self.input.head_dia_in - self.input.shank_in) / 2.0;
        (self.input.head == HeadStyle::Flush && run > 0.0).then(|| self.input.head_height_in / run)
    }

    fn sheets(&self, marks: &mut Vec<Mark>, centre: [f64; 2]) {
        let (hole, rim) = (self.input.hole_in / 2.0, self.input.head_dia_in / 2.0);
        for (index, &(from, sheet)) in self.stack.iter().enumerate() {
            let to = from + sheet.thickness_in;
            let reach = self.reach;
            let flat = vec![[reach, from], [hole, from], [hole, to], [reach, to]];
            let profile = match (self.cone(), sheet.preparation) {
                (Some(steep), Preparation::Dimpled) if rim > hole => {
                    let deep = (rim - hole) * steep;
                    let cone = [[rim, from], [hole, from + deep], [hole, to + deep], [rim, to]];
                    [&[[reach, from]], &cone[..], &[[reach, to]]].concat()
                }
                (Some(steep), Preparation::Countersunk) if rim > hole => {
                    let deep = (rim - hole) * steep;
                    if deep < sheet.thickness_in {
                        vec![[reach, from], [rim, from], [hole, from + deep], [hole, to], [reach, to]]
                    } else {
                        let knife = rim - sheet.thickness_in / steep;
                        vec![[reach, from], [rim, from], [knife, to], [reach, to]]
                    }
                }
                _ => flat,
            };
            let lean = if index % 2 == 0 { Lean::Right } else { Lean::Left };
            for side in [1.0, -1.0] {
                let points: Vec<[f64; 2]> =
                    profile.iter().map(|&[r, u]| self.px(centre, [side * r, u])).collect();
                marks.push(Mark::area(Shape::closed(&points), Fill::Hatch(Role::Faint, lean), None));
                // Open at its outer end: the sheet goes on.
                marks.push(Mark::line(Shape::open(&points), Stroke::solid(Role::Ink, 1.3)));
            }
        }
    }

    /// The right half of the manufactured head, from the axis to where the shank begins.
    fn head_half(&self, shank: f64) -> Vec<Segment> {
        let (rim, high) = (self.input.head_dia_in / 2.0, self.input.head_height_in);
        match self.input.head {
            HeadStyle::Universal => {
                // A quarter of an ellipse: 0.5523 of each half axis is the usual handle.
                let handle = 0.5523;
                vec![
                    Segment::Move([0.0, -high]),
                    Segment::Cubic([rim * handle, -high], [rim, -high * handle], [rim, 0.0]),
                    Segment::Line([shank, 0.0]),
                ]
            }
            HeadStyle::Flush => {
                let deep = self.cone().map_or(high, |steep| ((rim - shank) * steep).max(0.0));
                vec![Segment::Move([0.0, 0.0]), Segment::Line([rim, 0.0]), Segment::Line([shank, deep])]
            }
        }
    }

    fn before(&self) -> Vec<Segment> {
        let shank = self.input.shank_in / 2.0;
        let mut half = self.head_half(shank);
        half.push(Segment::Line([shank, self.input.length_in]));
        half
    }

    fn after(&self, shop: ShopHead) -> Vec<Segment> {
        let hole = self.input.hole_in.max(self.input.shank_in) / 2.0;
        let (seat, end) = (self.input.seat_to_seat_in, self.input.seat_to_seat_in + shop.height_in);
        let rim = shop.width_in / 2.0;
        let flat = rim - (0.3 * shop.height_in).min(0.7 * (rim - hole).max(0.0));
        // Four thirds of the bulge as handles puts the widest place exactly at the rim.
        let handle = flat + (rim - flat) * 4.0 / 3.0;
        let mut half = self.head_half(hole);
        half.extend([
            Segment::Line([hole, seat]),
            Segment::Line([flat, seat]),
            Segment::Cubic(
                [handle, seat + 0.15 * shop.height_in],
                [handle, end - 0.15 * shop.height_in],
                [flat, end],
            ),
        ]);
        half
    }

    fn caption(&self, marks: &mut Vec<Mark>, centre: [f64; 2], words: &str) {
        let text = Text::new([centre[0], centre[1] + 13.0], CAPTION, words);
        marks.push(Mark::Text(text.anchored(Anchor::Middle).coloured(Role::Faint)));
    }

    /// Base lines of the labels and what they point at: near side, sheets near to far, far side.
    fn label_places(&self) -> Vec<(f64, Option<f64>)> {
        let near_to_far: Vec<f64> = {
            let mut middles: Vec<f64> =
                self.stack.iter().map(|(from, sheet)| self.y(from + sheet.thickness_in / 2.0)).collect();
            middles.sort_by(f64::total_cmp);
            middles
        };
        let total: f64 = self.input.sheets.iter().map(|sheet| sheet.thickness_in).sum();
        let faces = [self.y(0.0).min(self.y(total)), self.y(0.0).max(self.y(total))];
        let mut wanted = vec![(faces[0] - 10.0, None)];
        wanted.extend(near_to_far.into_iter().map(|y| (y, Some(y))));
        wanted.push((faces[1] + 10.0, None));
        // Pushed apart downwards, then all moved back by half of what the last was moved.
        let apart =
            |index: usize| 8.5 * (self.lines(index).max(1) + self.lines(index + 1).max(1)) as f64 - 1.0;
        let mut places: Vec<f64> = wanted.iter().map(|place| place.0).collect();
        for index in 1..places.len() {
            places[index] = places[index].max(places[index - 1] + apart(index - 1));
        }
        let last = places.len() - 1;
        let back = ((places[last] - wanted[last].0) / 2.0).min(places[0] - 12.0).max(0.0);
        places.iter().zip(&wanted).map(|(y, want)| (y - back, want.1)).collect()
    }

    /// Lines of text of a label: 1 for the sides, 1 or more for a sheet.
    fn lines(&self, index: usize) -> usize {
        match index.checked_sub(1).and_then(|index| self.input.sheets.get(index)) {
            None => 1,
            Some(sheet) => wrap(&sheet.name, WORDS, self.name_measure(sheet)).len(),
        }
    }

    fn name_measure(&self, sheet: &SectionSheet) -> f64 {
        self.names - width(&thickness(sheet), WORDS) - 8.0
    }

    fn labels(&self, marks: &mut Vec<Mark>) {
        let right = EDGE + self.names;
        let edge = self.centre(0)[0] - self.reach * self.scale;
        let places = self.label_places();
        for (index, &(middle, points_at)) in places.iter().enumerate() {
            let Some(sheet) = index.checked_sub(1).and_then(|index| self.input.sheets.get(index)) else {
                let name = if index == 0 { &self.input.near_name } else { &self.input.far_name };
                let text = Text::new([right, middle + 4.0], CAPTION, format!("{name} side"));
                marks.push(Mark::Text(text.anchored(Anchor::End).coloured(Role::Faint)));
                continue;
            };
            let thick = thickness(sheet);
            marks.push(Mark::Text(Text::new([right, middle + 4.0], WORDS, thick).anchored(Anchor::End)));
            let lines = wrap(&sheet.name, WORDS, self.name_measure(sheet));
            let first = middle + 4.0 - 7.5 * (lines.len().max(1) - 1) as f64;
            for (row, words) in lines.into_iter().enumerate() {
                let at = [right - width(&thickness(sheet), WORDS) - 8.0, first + 15.0 * row as f64];
                marks.push(Mark::Text(Text::new(at, WORDS, words).anchored(Anchor::End)));
            }
            if let Some(y) = points_at {
                let line = Stroke::solid(Role::Faint, 1.0);
                marks.push(Mark::straight([right + 2.5, middle], [edge + 3.0, y], line));
            }
        }
    }

    fn grip_and_tail(&self, marks: &mut Vec<Mark>, [axis, drop]: [f64; 2]) {
        let y = |u: f64| self.y(u) + drop;
        let (grip, length) = (self.input.seat_to_seat_in, self.input.length_in);
        let x = axis + self.reach * self.scale + OFF;
        let from_sheet = axis + self.reach * self.scale + 2.0;
        let shank = axis + self.input.shank_in / 2.0 * self.scale + 3.0;
        let total: f64 = self.input.sheets.iter().map(|sheet| sheet.thickness_in).sum();
        // On a lip the face lies below the sheets and is pointed at from there.
        let lip = axis + self.input.hole_in / 2.0 * self.scale + 3.0;
        let face = if grip > total + 1e-4 { lip } else { from_sheet };
        let mut ends = vec![(0.0, from_sheet), (grip, face)];
        if length > grip {
            ends.push((length, shank));
        }
        for (u, start) in &ends {
            extension(marks, *start, x, y(*u));
        }
        let mut spans = vec![("grip, in", 0.0, grip)];
        if length > grip {
            spans.push(("tail, in", grip, length));
        }
        let middles: Vec<f64> = spans.iter().map(|span| f64::midpoint(y(span.1), y(span.2))).collect();
        // Two texts of two lines need their room even where the spans are short.
        let spread = middles.last().zip(middles.first()).map_or(0.0, |(last, first)| {
            if middles.len() > 1 { ((32.0 - (last - first).abs()) / 2.0).max(0.0) } else { 0.0 }
        });
        let down = if self.input.head_on_near { 1.0 } else { -1.0 };
        for (index, (name, from, to)) in spans.into_iter().enumerate() {
            upright(marks, x, y(from), y(to));
            let shift = if index == 0 { -spread } else { spread } * down;
            two_lines(marks, [x + 6.0, middles[index] + shift], name, &figure(to - from));
        }
    }

    fn shop_head(&self, marks: &mut Vec<Mark>, [axis, drop]: [f64; 2], shop: ShopHead) {
        let y = |u: f64| self.y(u) + drop;
        let (seat, end) = (self.input.seat_to_seat_in, self.input.seat_to_seat_in + shop.height_in);
        let x = axis + self.reach * self.scale + OFF;
        let rim = shop.width_in / 2.0 * self.scale;
        for u in [seat, end] {
            extension(marks, axis + rim + 2.0, x, y(u));
        }
        upright(marks, x, y(seat), y(end));
        two_lines(marks, [x + 6.0, f64::midpoint(y(seat), y(end))], "height, in", &figure(shop.height_in));
        let away = if self.input.head_on_near { 1.0 } else { -1.0 };
        let line = y(end) + away * 9.0;
        let thin = Stroke::solid(Role::Faint, 0.9);
        for side in [-1.0, 1.0] {
            let edge = axis + side * rim;
            marks.push(Mark::straight([edge, y(f64::midpoint(seat, end))], [edge, line + away * 3.0], thin));
            marks.push(tick([edge, line]));
        }
        marks.push(Mark::straight([axis - rim, line], [axis + rim, line], Stroke::solid(Role::Ink, 1.0)));
        let base = if self.input.head_on_near { line + 15.0 } else { line - 6.0 };
        let words = format!("width {} in", figure(shop.width_in));
        marks.push(Mark::Text(Text::new([axis, base], WORDS, words).anchored(Anchor::Middle)));
    }
}

fn extension(marks: &mut Vec<Mark>, from: f64, to: f64, y: f64) {
    marks.push(Mark::straight([from, y], [to + 3.0, y], Stroke::solid(Role::Faint, 0.9)));
}

/// An upright dimension line with a slanting tick at each end, which fits however short it is.
fn upright(marks: &mut Vec<Mark>, x: f64, from: f64, to: f64) {
    marks.push(Mark::straight([x, from], [x, to], Stroke::solid(Role::Ink, 1.0)));
    marks.push(tick([x, from]));
    marks.push(tick([x, to]));
}

fn tick([x, y]: [f64; 2]) -> Mark {
    Mark::straight([x - 3.0, y + 3.0], [x + 3.0, y - 3.0], Stroke::solid(Role::Ink, 1.6))
}

fn two_lines(marks: &mut Vec<Mark>, [x, middle]: [f64; 2], name: &str, value: &str) {
    marks.push(Mark::Text(Text::new([x, middle - 3.0], CAPTION, name).coloured(Role::Faint)));
    marks.push(Mark::Text(Text::new([x, middle + 11.0], WORDS, value)));
}
