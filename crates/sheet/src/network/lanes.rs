//! A lane for each assembly, what comes first at the left.
//!
//! The column of a step is how many steps the longest way to it has before it.
//! What is wider than the sheet is broken into strips, each with the lanes that
//! have something in it. As on any engineering drawing a letter (the lane) and a
//! number (the column) name a zone; an arc that is not drawn, because it leads
//! to another strip or through a crowded channel, names the zone of its other
//! end on both sides.
//!
//! A gate that stands before one step is a double bar at the left of its box.

use std::collections::BTreeMap;

use super::graph::depths;
use super::mark::{self, HALF, HALF_BAR, Lie};
use super::route::{Place, Routing, Way, route};
use super::{Aside, MARGIN, Network, Node, Seen, Sorted, Standing, ground, lines, set_lines, state_lines};
use crate::foot::nothing;
use crate::marks::{Anchor, Dash, Drawing, Fill, Mark, Role, Shape, Stroke, Text};

/// Least width of a drawing, px.
pub const LEAST_WIDTH: f64 = 700.0;
/// Where the lanes' titles stand, px.
const LANE: f64 = 104.0;
/// Width of a box, px: what it is given at first, and what it must be left.
const BOX: [f64; 3] = [136.0, 118.0, 230.0];
/// Width of a channel with a number of tracks, px: what is left free at its sides, and the pitch.
const CHANNEL: [f64; 3] = [10.0, 15.0, 6.5];
/// Most tracks of a channel.
const MOST_TRACKS: usize = 8;
/// Height of a corridor: without a track, what is left free, the pitch; px.
const CORRIDOR: [f64; 3] = [12.0, 15.0, 6.0];
/// Above and below what stands in a lane, px.
const LANE_PAD: f64 = 4.0;
/// Above the lanes of a strip: the numbers of the columns, px.
const NUMBERS: f64 = 20.0;
/// Between two strips, px.
const STRIP_GAP: f64 = 26.0;
/// Where lines come in and go out, from the top of a box, px.
const IN: f64 = 13.0;
const OUT: f64 = 24.0;
/// Room of a gate's bar before a box, px.
const BAR_ROOM: f64 = 12.0;
/// Indent of words after a small mark, px.
const ASIDE: f64 = 17.0;
const RADIUS: f64 = 5.0;
/// Size and pitch of type, px.
const TITLE: [f64; 2] = [13.0, 16.0];
const STATE: [f64; 2] = [12.0, 15.0];
const SMALL: [f64; 2] = [11.0, 14.0];
const LANE_TITLE: [f64; 2] = [13.0, 16.0];
/// Least height of a box and of a gate's words: what a finger needs, px.
const LEAST_BOX: f64 = 44.0;
/// Left and right within a box, px.
const PAD: f64 = 6.0;

pub fn draw(network: &Network, wide: f64) -> Drawing {
    let sorted = Sorted::new(network);
    let all: Vec<usize> = (0..network.nodes.len()).collect();
    let seen = Seen { cut_to: "the zone named", implied: sorted.graph.implied.len(), ..Seen::default() };
    let units = Units::of(&sorted);
    let mut columns =
        (((wide - LANE - MARGIN) / (BOX[0] + CHANNEL[0] + CHANNEL[1] + 2.0 * CHANNEL[2])) as usize).max(1);
    let sheet = loop {
        let mut sheet = Sheet {
            sorted: &sorted,
            units: &units,
            wide,
            zones: Vec::new(),
            cut: Vec::new(),
            marks: Vec::new(),
            seen,
        };
        let strips = sheet.strips(columns);
        // Crowded channels take from the boxes; then there must be fewer.
        if columns == 1 || strips.iter().all(|strip| strip.box_wide >= BOX[1]) {
            let mut top = 4.0;
            sheet.zones = sheet.zones(&strips);
            sheet.cut = strips.iter().flat_map(|strip| strip.cut.iter().copied()).collect();
            sheet.seen.cut = !sheet.cut.is_empty();
            for strip in &strips {
                top = sheet.strip(strip, top) + STRIP_GAP;
            }
            break (sheet, top - STRIP_GAP);
        }
        columns -= 1;
    };
    let (mut sheet, mut bottom) = sheet;
    if all.is_empty() {
        nothing(&mut sheet.marks, [wide / 2.0, 40.0], "There is no step or gate to draw.");
        bottom = 70.0;
    }
    let mut marks = sheet.marks;
    let height = sorted.foot(&mut marks, &all, sheet.seen, bottom + 12.0, wide - 2.0 * MARGIN);
    Drawing {
        key: network.key.clone(),
        width: wide,
        height: height.ceil(),
        title: sorted.title(),
        description: sorted.description(&all),
        marks,
    }
}

/// What takes one place: a step with the gates right before it, or a gate by itself.
struct Unit {
    gates: Vec<usize>,
    main: usize,
    lane: usize,
    /// From 0, over all strips.
    column: usize,
}

struct Units {
    units: Vec<Unit>,
    /// The unit of each node.
    of: Vec<usize>,
}

impl Units {
    fn of(sorted: &Sorted<'_>) -> Self {
        let nodes = &sorted.network.nodes;
        // A gate that leads to one step only, of its own assembly, stands before it.
        let before = |node: usize| match sorted.graph.after[node][..] {
            [step]
                if nodes[node].stands.is_gate()
                    && !nodes[step].stands.is_gate()
                    && nodes[node].lane == nodes[step].lane =>
            {
                Some(step)
            }
            _ => None,
        };
        let mut units: Vec<Unit> = Vec::new();
        let mut of = vec![usize::MAX; nodes.len()];
        for node in (0..nodes.len()).filter(|node| before(*node).is_none()) {
            of[node] = units.len();
            let lane = nodes[node].lane;
            units.push(Unit { gates: Vec::new(), main: node, lane, column: 0 });
        }
        for node in 0..nodes.len() {
            if let Some(step) = before(node) {
                of[node] = of[step];
                units[of[step]].gates.push(node);
            }
        }
        let places = units.len();
        let arcs: Vec<[usize; 2]> = sorted
            .graph
            .arcs
            .iter()
            .map(|(_, ends)| ends.map(|node| of[node]))
            .filter(|[from, to]| from != to)
            .collect();
        for (unit, depth) in units.iter_mut().zip(depths(places, &arcs)) {
            unit.column = depth;
        }
        Self { units, of }
    }
}

/// The letter of a lane: A to Z, then AA and on.
fn letter(lane: usize) -> String {
    let (before, last) = (lane / 26, (b'A' + (lane % 26) as u8) as char);
    if before == 0 { last.to_string() } else { format!("{}{last}", letter(before - 1)) }
}

/// A stretch of columns and what lies in it.
struct Strip {
    columns: [usize; 2],
    /// Its units, in the order of their places.
    units: Vec<usize>,
    places: Vec<Place>,
    /// Its lanes with their rows, from and up to.
    lanes: Vec<(usize, [usize; 2])>,
    /// Arcs between its units, as nodes, and as indices into `places`.
    arcs: Vec<[usize; 2]>,
    lines: Vec<[usize; 2]>,
    routing: Routing,
    /// Arcs of it that are not drawn, and those that leave it.
    cut: Vec<[usize; 2]>,
    box_wide: f64,
}

impl Strip {
    /// Whether the place above one is in the same lane, and neither a box nor a line is in it or below it.
    fn clear_above(&self, place: Place) -> bool {
        let first = self.lanes.iter().any(|(_, rows)| rows[0] == place.row);
        let over = |from: Place, to: Place| from.column < place.column && place.column < to.column;
        let crossed = |(&ends, way): (&[usize; 2], &Way)| {
            let [from, to] = ends.map(|at| self.places[at]);
            let row = match *way {
                Way::Straight => Some(from.row + 1),
                Way::Far { corridor, .. } => Some(corridor[0]),
                Way::Near { .. } | Way::Cut => None,
            };
            row == Some(place.row) && over(from, to)
        };
        !first
            && !self.places.iter().any(|other| other.column == place.column && other.row + 1 == place.row)
            && !self.lines.iter().zip(&self.routing.ways).any(crossed)
    }
}

/// The drawing while it is made.
struct Sheet<'s> {
    sorted: &'s Sorted<'s>,
    units: &'s Units,
    wide: f64,
    /// For each unit its zone, such as `C7`.
    zones: Vec<String>,
    /// Arcs that are not drawn, as nodes.
    cut: Vec<[usize; 2]>,
    marks: Vec<Mark>,
    seen: Seen,
}

/// Where everything of a strip lies, px.
struct Sites {
    /// Left of each column's boxes.
    lefts: Vec<f64>,
    box_wide: f64,
    /// Top of each row's boxes.
    tops: Vec<f64>,
    /// Top of each corridor.
    corridors: Vec<f64>,
}

impl Sites {
    fn track(&self, column: usize, track: usize) -> f64 {
        self.lefts[column - 1] + self.box_wide + CHANNEL[0] + CHANNEL[2] * track as f64
    }

    fn right(&self, place: Place) -> f64 {
        self.lefts[place.column] + self.box_wide
    }

    fn row(&self, place: Place) -> f64 {
        self.tops[place.row]
    }
}

/// A unit set in type: its box, and how far its gates stand above it.
struct Set {
    marks: Vec<Mark>,
    height: f64,
    above: f64,
}

impl Sheet<'_> {
    fn strips(&self, columns: usize) -> Vec<Strip> {
        let count = self.units.units.iter().map(|unit| unit.column + 1).max().unwrap_or(0);
        let strips = count.div_ceil(columns).max(1);
        let each = count.div_ceil(strips).max(1);
        let from = (0..count).step_by(each);
        from.map(|from| self.lay_out([from, (from + each).min(count)], each)).collect()
    }

    /// Places of the units of a strip, and the ways of its arcs.
    fn lay_out(&self, columns: [usize; 2], each: usize) -> Strip {
        let units: Vec<usize> = (0..self.units.units.len())
            .filter(|unit| (columns[0]..columns[1]).contains(&self.units.units[*unit].column))
            .collect();
        let mut local = vec![None; self.units.units.len()];
        for (at, &unit) in units.iter().enumerate() {
            local[unit] = Some(at);
        }
        let (mut arcs, mut lines, mut cut) = (Vec::new(), Vec::new(), Vec::new());
        for &(_, ends) in &self.sorted.graph.arcs {
            let [from, to] = ends.map(|node| self.units.of[node]);
            match (local[from], local[to]) {
                (Some(a), Some(b)) if a != b => {
                    arcs.push(ends);
                    lines.push([a, b]);
                }
                (Some(_), None) => cut.push(ends),
                _ => {}
            }
        }
        let (places, lanes) = self.places(&units, columns[0], &lines);
        let routing = route(&places, &lines, MOST_TRACKS);
        cut.extend(
            arcs.iter().zip(&routing.ways).filter(|(_, way)| **way == Way::Cut).map(|(ends, _)| *ends),
        );
        let channels: f64 = routing.channels.iter().skip(1).map(|tracks| channel(*tracks)).sum();
        // A last strip of fewer columns has boxes as wide as the others'.
        let missing = (each + columns[0] - columns[1]) as f64;
        let room = self.wide - LANE - 2.0 * MARGIN - channels - missing * channel(1);
        let box_wide = (room / each as f64).min(BOX[2]).floor();
        Strip { columns, units, places, lanes, arcs, lines, routing, cut, box_wide }
    }

    /// Rows for the units: few crossings, chains level.
    fn places(
        &self,
        units: &[usize],
        first: usize,
        lines: &[[usize; 2]],
    ) -> (Vec<Place>, Vec<(usize, [usize; 2])>) {
        let it = |at: usize| &self.units.units[units[at]];
        let mut cells: BTreeMap<(usize, usize), Vec<usize>> = BTreeMap::new();
        for at in 0..units.len() {
            cells.entry((it(at).lane, it(at).column - first)).or_default().push(at);
        }
        let mut high: BTreeMap<usize, usize> = BTreeMap::new();
        for ((lane, _), cell) in &cells {
            let rows = high.entry(*lane).or_default();
            *rows = (*rows).max(cell.len());
        }
        let mut start = 0;
        let lanes: Vec<(usize, [usize; 2])> = high
            .into_iter()
            .map(|(lane, rows)| {
                start += rows;
                (lane, [start - rows, start])
            })
            .collect();
        let rows_of =
            |lane: usize| lanes.iter().find(|(it, _)| *it == lane).map_or([0, 0], |(_, rows)| *rows);
        let mut row = vec![0; units.len()];
        for ((lane, _), cell) in &cells {
            for (at, unit) in cell.iter().enumerate() {
                row[*unit] = rows_of(*lane)[0] + at;
            }
        }
        let mut near = [vec![Vec::new(); units.len()], vec![Vec::new(); units.len()]];
        for &[from, to] in lines {
            near[0][to].push(from);
            near[1][from].push(to);
        }
        for sweep in 0..6 {
            let side = sweep % 2;
            let mut keys: Vec<(usize, usize)> = cells.keys().copied().collect();
            keys.sort_by_key(
                |(lane, column)| if side == 0 { (*column, *lane) } else { (usize::MAX - column, *lane) },
            );
            for key in keys {
                let [low, high] = rows_of(key.0);
                let Some(cell) = cells.get_mut(&key) else { continue };
                let centre = |unit: usize, row: &[usize]| {
                    let of = &near[side][unit];
                    // Neighbours of the same lane count for more: their chain is to be level.
                    let weigh = |other: usize| if it(other).lane == key.0 { 8.0 } else { 1.0 };
                    let weight: f64 = of.iter().map(|other| weigh(*other)).sum();
                    if weight == 0.0 {
                        return row[unit] as f64;
                    }
                    of.iter().map(|other| weigh(*other) * row[*other] as f64).sum::<f64>() / weight
                };
                let mut wished: Vec<(f64, usize)> =
                    cell.iter().map(|unit| (centre(*unit, &row), *unit)).collect();
                wished.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
                let mut next = low;
                for (at, &(wish, unit)) in wished.iter().enumerate() {
                    let last = high - (wished.len() - at);
                    let here = (wish.round().max(0.0) as usize).clamp(next, last.max(next));
                    row[unit] = here;
                    next = here + 1;
                }
                *cell = wished.into_iter().map(|(_, unit)| unit).collect();
            }
        }
        let places =
            (0..units.len()).map(|at| Place { row: row[at], column: it(at).column - first }).collect();
        (places, lanes)
    }

    /// Names of zones; what shares one has a small letter, from the top.
    fn zones(&self, strips: &[Strip]) -> Vec<String> {
        let mut zones = vec![String::new(); self.units.units.len()];
        for strip in strips {
            let mut order: Vec<usize> = (0..strip.units.len()).collect();
            order.sort_by_key(|at| strip.places[*at].row);
            let zone_of = |at: usize| {
                (self.units.units[strip.units[at]].lane, self.units.units[strip.units[at]].column)
            };
            for &at in &order {
                let alike: Vec<usize> =
                    order.iter().copied().filter(|it| zone_of(*it) == zone_of(at)).collect();
                let small = alike.iter().position(|it| *it == at).filter(|_| alike.len() > 1);
                let (lane, column) = zone_of(at);
                let small = small.map_or_else(String::new, |at| letter(at).to_lowercase());
                zones[strip.units[at]] = format!("{}{}{small}", letter(lane), column + 1);
            }
        }
        zones
    }

    /// Draws a strip from a height on; returns where it ends, px.
    fn strip(&mut self, strip: &Strip, top: f64) -> f64 {
        let sets: Vec<Set> = strip.units.iter().map(|unit| self.set(*unit, strip.box_wide)).collect();
        let rows = strip.lanes.last().map_or(0, |(_, rows)| rows[1]);
        let (mut above, mut height) = (vec![0.0_f64; rows], vec![0.0_f64; rows]);
        for (set, place) in sets.iter().zip(&strip.places) {
            height[place.row] = height[place.row].max(set.height);
        }
        for (set, place) in sets.iter().zip(&strip.places) {
            // Gates may stand beside the boxes of the row above.
            let beside = if strip.clear_above(*place) { height[place.row - 1] } else { 0.0 };
            above[place.row] = above[place.row].max(set.above - beside);
        }
        let mut sites = Sites {
            lefts: vec![MARGIN + LANE],
            box_wide: strip.box_wide,
            tops: Vec::new(),
            corridors: Vec::new(),
        };
        for column in 1..strip.columns[1] - strip.columns[0] {
            let tracks = strip.routing.channels.get(column).copied().unwrap_or(0);
            sites.lefts.push(sites.lefts[column - 1] + strip.box_wide + channel(tracks));
        }
        for (number, left) in (strip.columns[0] + 1..).zip(&sites.lefts) {
            let (at, number) = ([left + strip.box_wide / 2.0, top + 12.0], number.to_string());
            self.marks.push(Mark::Text(
                Text::new(at, SMALL[0], number).anchored(Anchor::Middle).coloured(Role::Faint),
            ));
        }
        let mut y = top + NUMBERS;
        let right = self.wide - MARGIN;
        let rule = |y: f64| Mark::straight([MARGIN, y], [right, y], Stroke::solid(Role::Ink, 1.5));
        self.marks.push(rule(y));
        for (index, &(lane, [from, to])) in strip.lanes.iter().enumerate() {
            if index > 0 {
                self.marks.push(Mark::straight([MARGIN, y], [right, y], Stroke::solid(Role::Faint, 0.8)));
            }
            let lane_top = y;
            y += LANE_PAD;
            for row in from..to {
                sites.corridors.push(y);
                y += corridor(strip.routing.corridors.get(row).copied().unwrap_or(0)) + above[row];
                sites.tops.push(y);
                y += height[row];
            }
            if index + 1 == strip.lanes.len() {
                sites.corridors.push(y);
                let tracks = strip.routing.corridors.get(to).copied().unwrap_or(0);
                y += if tracks == 0 { 0.0 } else { corridor(tracks) };
            }
            y = (y + LANE_PAD + 4.0).max(self.lane_title(lane, lane_top));
        }
        self.marks.push(rule(y));
        for (set, &place) in sets.into_iter().zip(&strip.places) {
            let at = [sites.lefts[place.column], sites.row(place)];
            self.marks.extend(set.marks.into_iter().map(|mark| mark.placed(at, 1.0)));
        }
        self.arcs(strip, &sites);
        y
    }

    /// The title of a lane; returns where it ends, px.
    fn lane_title(&mut self, lane: usize, top: f64) -> f64 {
        let at = [MARGIN, top + 16.0];
        self.marks.push(Mark::Text(Text::new(at, SMALL[0], letter(lane)).coloured(Role::Faint)));
        let title = self.sorted.network.lanes.get(lane).map_or("", String::as_str);
        let words = lines(title, LANE_TITLE[0], LANE - 14.0, 4);
        let style = Text::new([MARGIN, top + 33.0], LANE_TITLE[0], "").heavy();
        set_lines(&mut self.marks, &words, &style, LANE_TITLE[1]) - 6.0
    }

    /// A unit in type, from the upper left corner of its box; its bars stand in the box's width.
    fn set(&mut self, unit: usize, wide: f64) -> Set {
        let it = &self.units.units[unit];
        let nodes = &self.sorted.network.nodes;
        let alone = nodes[it.main].stands.is_gate();
        let bars = it.gates.len() + usize::from(alone);
        let left = BAR_ROOM * bars as f64;
        let (main, height) = self.box_of(it.main, left, wide);
        let labels: Vec<(Vec<Mark>, f64)> = it
            .gates
            .iter()
            .map(|gate| {
                let (words, high) = self.words(*gate, [left + PAD, 0.0], wide - left - 2.0 * PAD);
                (words, high.max(LEAST_BOX))
            })
            .collect();
        let above: f64 = labels.iter().map(|(_, high)| high + 4.0).sum();
        let mut marks = Vec::new();
        let mut top = -above;
        for (index, (&gate, (words, high))) in it.gates.iter().zip(labels).enumerate() {
            let bar = BAR_ROOM * (index as f64 + 0.5);
            let mut group = self.sorted.group(gate);
            group.marks.push(ground(left, top, wide - left, high));
            group.marks.extend(self.ring(gate, [left, top, wide, top + high]));
            group.marks.extend(mark::marks(
                nodes[gate].stands,
                [bar, f64::midpoint(top, height)],
                Lie::Upright(height - top),
            ));
            group.marks.extend(words.into_iter().map(|mark| mark.placed([0.0, top], 1.0)));
            marks.push(Mark::Group(group));
            top += high + 4.0;
        }
        let mut group = self.sorted.group(it.main);
        if alone {
            let bar = Lie::Upright(height);
            group.marks.extend(mark::marks(nodes[it.main].stands, [BAR_ROOM / 2.0, height / 2.0], bar));
        }
        group.marks.extend(main);
        marks.push(Mark::Group(group));
        Set { marks, height, above }
    }

    /// A box with its title and how it stands, and its height, px.
    fn box_of(&mut self, node: usize, left: f64, wide: f64) -> (Vec<Mark>, f64) {
        let (words, high) = self.words(node, [left + PAD, 4.0], wide - left - 2.0 * PAD);
        let height = (high + 4.0).max(LEAST_BOX);
        let outline = match self.sorted.network.nodes[node].stands {
            Standing::Ready | Standing::Clear => Stroke::solid(Role::Ink, 2.2),
            Standing::Begun(_) => Stroke::solid(Role::Ink, 1.4),
            Standing::Blocked => Stroke::solid(Role::Faint, 1.0).dashed(Dash::Hidden),
            Standing::Done | Standing::Passed | Standing::Shut => Stroke::solid(Role::Faint, 1.0),
        };
        let mut marks = Vec::new();
        marks.extend(self.ring(node, [left - 3.5, -3.5, wide + 3.5, height + 3.5]));
        let shape = Shape::rectangle(left, 0.0, wide - left, height);
        marks.push(Mark::area(shape, Fill::Flat(Role::Paper), Some(outline)));
        marks.extend(words);
        (marks, height)
    }

    /// A ring round what is on the path; left, top, right, bottom, px.
    fn ring(&self, node: usize, [left, top, right, bottom]: [f64; 4]) -> Option<Mark> {
        let on = self.sorted.path.as_ref().is_some_and(|path| path.has(node));
        let shape = Shape::rectangle(left, top, right - left, bottom - top);
        on.then(|| Mark::line(shape, Stroke::solid(Role::Accent, 1.6)))
    }

    /// Title, mark, how it stands, and what is written instead of drawn; with the height, px.
    fn words(&mut self, node: usize, [x, top]: [f64; 2], measure: f64) -> (Vec<Mark>, f64) {
        let it: &Node = &self.sorted.network.nodes[node];
        let back = if it.stands.is_behind() { Role::Faint } else { Role::Ink };
        let mut marks = Vec::new();
        let mut style = Text::new([x, top + 13.0], TITLE[0], "").coloured(back);
        style.bold = it.stands == Standing::Ready;
        // Two lines; a third before anything is cut.
        let mut y =
            set_lines(&mut marks, &lines(&it.title, TITLE[0], measure, 3), &style, TITLE[1]).max(top + 29.0);
        let half = if it.stands.is_gate() { HALF_BAR } else { HALF };
        let indent = 2.0 * half + 7.0;
        marks.extend(mark::marks(it.stands, [x + half + 1.0, y - 1.0], Lie::Across));
        let state = state_lines(it, STATE[0], measure - indent);
        let style = Text::new([x + indent, y + 3.0], STATE[0], "").coloured(Role::Faint);
        y = set_lines(&mut marks, &state, &style, STATE[1]).max(y + 3.0 + STATE[1]);
        for aside in self.asides(node) {
            let words = aside.lines(SMALL[0], measure - ASIDE);
            marks.push((aside.mark)([x, y - 4.0]));
            y = set_lines(&mut marks, &words, &Text::new([x + ASIDE, y], SMALL[0], ""), SMALL[1]);
        }
        (marks, y - STATE[1] + 6.0)
    }

    /// Waits, and the zones at the other ends of arcs that are not drawn.
    fn asides(&mut self, node: usize) -> Vec<Aside> {
        let sorted = self.sorted;
        let zone = |node: usize| self.zones[self.units.of[node]].clone();
        let waits =
            sorted.graph.arcs.iter().filter(|(_, [_, to])| *to == node).filter_map(|&(index, [from, _])| {
                let wait = &sorted.network.arcs[index].wait;
                (!wait.is_empty()).then(|| Aside::wait(wait, zone(from)))
            });
        let mut asides: Vec<Aside> = waits.collect();
        self.seen.waits |= !asides.is_empty();
        let cut = &self.cut;
        asides.extend(Aside::from(
            cut.iter().filter(|[_, to]| *to == node).map(|[from, _]| zone(*from)).collect(),
        ));
        asides.extend(Aside::to(
            cut.iter().filter(|[from, _]| *from == node).map(|[_, to]| zone(*to)).collect(),
        ));
        asides
    }

    fn arcs(&mut self, strip: &Strip, sites: &Sites) {
        let place_of = |node: usize| {
            let unit = self.units.of[node];
            strip.units.iter().position(|it| *it == unit).map(|at| strip.places[at])
        };
        let bars = |node: usize| {
            let unit = &self.units.units[self.units.of[node]];
            unit.gates.len() + usize::from(self.sorted.network.nodes[unit.main].stands.is_gate())
        };
        let mut drawn: Vec<([usize; 2], Vec<[f64; 2]>, bool)> = Vec::new();
        for (&ends, way) in strip.arcs.iter().zip(&strip.routing.ways) {
            let [Some(from), Some(to)] = ends.map(place_of) else { continue };
            let (start, end) =
                (sites.right(from), sites.lefts[to.column] + if bars(ends[1]) > 0 { 2.0 } else { -1.0 });
            let (level, out, into) = (sites.row(from) + IN, sites.row(from) + OUT, sites.row(to) + IN);
            let track = |column: usize, track: usize| sites.track(column, track);
            let points = match *way {
                Way::Cut => continue,
                Way::Straight => vec![[start, level], [end, level]],
                Way::Near { track: it } => {
                    let x = track(to.column, it);
                    vec![[start, out], [x, out], [x, into], [end, into]]
                }
                Way::Far { tracks, corridor } => {
                    let [a, b] = [track(from.column + 1, tracks[0]), track(to.column, tracks[1])];
                    let y =
                        sites.corridors[corridor[0]] + CORRIDOR[0] / 2.0 + CORRIDOR[2] * corridor[1] as f64;
                    vec![[start, out], [a, out], [a, y], [b, y], [b, into], [end, into]]
                }
            };
            drawn.push((ends, points, true));
        }
        // From the bar of a gate to the step behind it.
        for &(_, ends) in &self.sorted.graph.arcs {
            let [from, to] = ends.map(|node| self.units.of[node]);
            let (true, Some(place)) = (from == to, place_of(ends[0])) else { continue };
            let unit = &self.units.units[from];
            let at = unit.gates.iter().position(|gate| *gate == ends[0]).unwrap_or(0);
            let (left, y) = (sites.lefts[place.column], sites.row(place) + IN);
            let bar = left + BAR_ROOM * (at as f64 + 0.5) + mark::BAR + 1.0;
            drawn.push((ends, vec![[bar, y], [left + BAR_ROOM * unit.gates.len() as f64, y]], false));
        }
        drawn.sort_by_key(|(ends, ..)| (self.sorted.on_path(*ends), *ends));
        for (ends, points, headed) in drawn {
            let stroke = self.seen.stroke(self.sorted, ends);
            let head = points.last().filter(|_| headed).map(|tip| mark::head(*tip, [1.0, 0.0], stroke.role));
            self.marks.push(self.sorted.arc(ends, mark::rounded(&points, RADIUS), stroke, head));
        }
    }
}

/// Width of a channel with a number of tracks, px.
fn channel(tracks: usize) -> f64 {
    CHANNEL[0] + CHANNEL[1] + CHANNEL[2] * tracks.saturating_sub(1) as f64
}

/// Height of a corridor with a number of tracks, px.
fn corridor(tracks: usize) -> f64 {
    if tracks == 0 { CORRIDOR[0] } else { CORRIDOR[1] + CORRIDOR[2] * (tracks - 1) as f64 }
}
