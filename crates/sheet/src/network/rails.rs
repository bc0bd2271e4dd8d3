//! One column of rows, and the rails beside it.
//!
//! What leaves a node leaves on one rail: down from the mark, out to a track,
//! and back in at every row that follows. Tracks are few, so that the band
//! stays narrow; when more rails run than there are tracks, the arc that goes
//! farthest is cut, and so is one that goes past [`FARTHEST`] rows, because
//! nobody follows a line over two screens. Two rails never share a track at the
//! same height.

use super::graph::column;
use super::mark::{self, HALF, HALF_BAR, Lie};
use super::route::lay;
use super::{Aside, MARGIN, Network, Seen, Sorted, WORDS, ground, lines, set_lines, state_lines};
use crate::foot::nothing;
use crate::marks::{Drawing, Mark, Role, Stroke, Text};
use crate::text::width;

/// Least width of a drawing, px.
pub const LEAST_WIDTH: f64 = 300.0;
/// Share of the width that the band of rails takes, and its bounds, px: 84 of 360.
const BAND: (f64, [f64; 2]) = (84.0 / 360.0, [64.0, 150.0]);
/// From track to track, px.
const PITCH: f64 = 8.5;
/// From the marks to the first track, px.
const FIRST: f64 = 20.0;
/// From the middle of a mark down to where its rail turns out, px.
const OUT: f64 = 16.0;
/// From the top of a row to the middle of its mark, px.
const MIDDLE: f64 = 17.0;
/// Least height of a row, px: what a finger needs.
const LEAST_ROW: f64 = 46.0;
/// Rows past which no arc is drawn.
const FARTHEST: usize = 20;
/// Size and pitch of titles, of how it stands, and of the lines below, px.
const TITLE: [f64; 2] = [15.0, 19.0];
const STATE: [f64; 2] = [13.0, 17.0];
const SMALL: [f64; 2] = [WORDS, 16.0];
/// Lines of text that run on are hard to read, px.
const LONGEST_LINE: f64 = 620.0;
/// Where an assembly begins, px.
const HEADING: f64 = 34.0;
/// Indent of words after a small mark, px.
const INDENT: f64 = 18.0;
const RADIUS: f64 = 6.0;

pub fn draw(network: &Network, wide: f64) -> Drawing {
    let only = only_path(network);
    let left_out = network.nodes.len() - only.nodes.len();
    let sorted = Sorted::new(&only);
    let lanes: Vec<usize> = only.nodes.iter().map(|node| node.lane).collect();
    let order = column(&sorted.graph, &lanes);
    let mut place = vec![0; order.len()];
    for (row, &node) in order.iter().enumerate() {
        place[node] = row;
    }
    let band = (wide * BAND.0).clamp(BAND.1[0], BAND.1[1]);
    let marks_at = band - HALF_BAR - 6.0;
    let tracks = ((marks_at - FIRST - 5.0) / PITCH).floor() as usize + 1;
    let ends: Vec<[usize; 2]> =
        sorted.graph.arcs.iter().map(|(_, ends)| ends.map(|node| place[node])).collect();
    let rails = Rails::of(order.len(), &ends, tracks);
    let mut sheet = Sheet {
        sorted: &sorted,
        order: &order,
        rails: &rails,
        wide,
        marks_at,
        words_at: band + 2.0,
        rows: Vec::new(),
        marks: Vec::new(),
        seen: Seen {
            cut_to: "the step named",
            implied: sorted.graph.implied.len(),
            left_out,
            ..Seen::default()
        },
    };
    let mut bottom = sheet.rows();
    sheet.arcs();
    if order.is_empty() {
        nothing(&mut sheet.marks, [wide / 2.0, 40.0], "There is no step or gate to draw.");
        bottom = 70.0;
    }
    let all: Vec<usize> = (0..order.len()).collect();
    let mut marks = sheet.marks;
    let height = sorted.foot(&mut marks, &all, sheet.seen, bottom + 10.0, wide - 2.0 * MARGIN);
    Drawing {
        key: network.key.clone(),
        width: wide,
        height: height.ceil(),
        title: sorted.title(),
        description: sorted.description(&all),
        marks,
    }
}

/// The network without what is not on its path.
fn only_path(network: &Network) -> Network {
    let Some(path) = &network.path else { return network.clone() };
    let mut place = vec![None; network.nodes.len()];
    let mut nodes = Vec::new();
    for (at, node) in network.nodes.iter().enumerate() {
        if path.nodes.contains(&at) {
            place[at] = Some(nodes.len());
            nodes.push(node.clone());
        }
    }
    // An arc to nowhere stays one, so that it is counted.
    let new = |at: usize| place.get(at).copied().unwrap_or(Some(usize::MAX));
    let arcs = network.arcs.iter().filter_map(|arc| {
        Some(super::Arc { from: new(arc.from)?, to: new(arc.to)?, wait: arc.wait.clone() })
    });
    let arcs = arcs.collect();
    let path = Some(super::Path { to: path.to.clone(), nodes: Vec::new() });
    Network { nodes, arcs, path, ..network.clone() }
}

/// A rail: the row it leaves, the rows it comes to, its track counted from the marks.
#[derive(Clone, Debug)]
struct Rail {
    from: usize,
    to: Vec<usize>,
    track: usize,
}

impl Rail {
    fn end(&self) -> usize {
        self.to.last().copied().unwrap_or(self.from)
    }

    fn meets(&self, other: &Self) -> bool {
        self.from < other.end() && other.from < self.end()
    }

    /// How often what leads to and from this rail runs over another that is nearer the marks.
    fn over(&self, nearer: &Self) -> usize {
        let inside = |row: usize| nearer.from < row && row < nearer.end();
        usize::from(inside(self.from)) + self.to.iter().filter(|row| inside(**row)).count()
    }
}

/// How each arc is drawn.
struct Rails {
    /// Straight down to the next row.
    straight: Vec<[usize; 2]>,
    rails: Vec<Rail>,
    /// Written in words.
    cut: Vec<[usize; 2]>,
}

impl Rails {
    fn of(count: usize, ends: &[[usize; 2]], tracks: usize) -> Self {
        let (mut straight, mut cut) = (Vec::new(), Vec::new());
        let mut to: Vec<Vec<usize>> = vec![Vec::new(); count];
        for &[from, end] in ends {
            match end - from {
                1 => straight.push([from, end]),
                2..=FARTHEST => to[from].push(end),
                _ => cut.push([from, end]),
            }
        }
        // What runs past each row, as places in `to`.
        let mut alive: Vec<usize> = Vec::new();
        for row in 0..count {
            to[row].sort_unstable();
            to[row].dedup();
            alive.retain(|from| to[*from].last().is_some_and(|end| *end > row));
            if !to[row].is_empty() {
                alive.push(row);
            }
            while alive.len() > tracks {
                let farthest = alive.iter().copied().max_by_key(|from| to[*from].last().copied());
                let Some(from) = farthest else { break };
                cut.extend(to[from].pop().map(|end| [from, end]));
                alive.retain(|from| to[*from].last().is_some_and(|end| *end > row));
            }
        }
        let mut rails: Vec<Rail> = to
            .into_iter()
            .enumerate()
            .filter(|(_, to)| !to.is_empty())
            .map(|(from, to)| Rail { from, to, track: 0 })
            .collect();
        let meet = |a: usize, b: usize| rails[a].meets(&rails[b]);
        let cost = |nearer: usize, outer: usize| rails[outer].over(&rails[nearer]);
        let wish = |at: usize| (rails[at].end() - rails[at].from) / 2;
        let laid = lay(rails.len(), &meet, &cost, &wish);
        for (rail, track) in rails.iter_mut().zip(laid) {
            rail.track = track;
        }
        cut.sort_unstable();
        Self { straight, rails, cut }
    }
}

/// The drawing while it is made.
struct Sheet<'s> {
    sorted: &'s Sorted<'s>,
    order: &'s [usize],
    rails: &'s Rails,
    wide: f64,
    /// The middle of the marks, px.
    marks_at: f64,
    /// Where words begin, px.
    words_at: f64,
    /// The middle of each row's mark, px.
    rows: Vec<f64>,
    marks: Vec<Mark>,
    seen: Seen,
}

impl Sheet<'_> {
    fn measure(&self) -> f64 {
        (self.wide - MARGIN - self.words_at).min(LONGEST_LINE)
    }

    /// Draws the rows; returns where they end, px.
    fn rows(&mut self) -> f64 {
        let mut top = 4.0;
        let mut lane = None;
        for row in 0..self.order.len() {
            let node = self.order[row];
            let here = self.sorted.network.nodes[node].lane;
            if lane != Some(here) {
                top = self.heading(self.sorted.lane_title(node), top);
                lane = Some(here);
            }
            top = self.row(row, top);
        }
        top
    }

    fn heading(&mut self, title: &str, top: f64) -> f64 {
        if title.is_empty() {
            return top;
        }
        let words = lines(title, STATE[0], self.measure(), 2);
        let style = Text::new([self.words_at, top + 23.0], STATE[0], "").heavy().coloured(Role::Faint);
        let height = HEADING + STATE[1] * (words.len() as f64 - 1.0);
        set_lines(&mut self.marks, &words, &style, STATE[1]);
        let rule = top + height - 5.0;
        let right = self.wide - MARGIN;
        self.marks.push(Mark::straight(
            [self.words_at, rule],
            [right, rule],
            Stroke::solid(Role::Faint, 1.0),
        ));
        top + height
    }

    fn row(&mut self, row: usize, top: f64) -> f64 {
        let node = self.order[row];
        let it = &self.sorted.network.nodes[node];
        let (x, middle, measure) = (self.words_at, top + MIDDLE, self.measure());
        let back = if it.stands.is_behind() { Role::Faint } else { Role::Ink };
        let mut marks = Vec::new();
        // Beside the words of a gate a piece of its bar is always to be seen.
        let beside = if it.stands.is_gate() { 30.0 } else { 0.0 };
        let title = lines(&it.title, TITLE[0], measure - beside, 3);
        let mut style = Text::new([x, middle + 5.0], TITLE[0], "").coloured(back);
        style.bold = matches!(it.stands, super::Standing::Ready);
        let mut y = set_lines(&mut marks, &title, &style, TITLE[1]).max(middle + 5.0 + TITLE[1]);
        let state = state_lines(it, STATE[0], measure);
        y = set_lines(
            &mut marks,
            &state,
            &Text::new([x, y - 1.0], STATE[0], "").coloured(Role::Faint),
            STATE[1],
        );
        for aside in self.asides(row) {
            let words = aside.lines(SMALL[0], measure - INDENT);
            marks.push((aside.mark)([x, y - 4.5]));
            y = set_lines(&mut marks, &words, &Text::new([x + INDENT, y], SMALL[0], ""), SMALL[1]);
        }
        let height = (y - STATE[1] + 10.0 - top).max(LEAST_ROW);
        let edge = self.marks_at - HALF_BAR;
        let mut group = self.sorted.group(node);
        group.marks.push(ground(edge, top, self.wide - edge, height));
        group.marks.extend(mark::marks(it.stands, [self.marks_at, middle], Lie::Across));
        if it.stands.is_gate() {
            // The bar goes on beyond the words, across the row.
            let from = x + title.first().map_or(0.0, |line| width(line, TITLE[0])) + 10.0;
            let right = self.wide - MARGIN;
            if right - from > 16.0 {
                for side in [-mark::BAR, mark::BAR] {
                    let stroke = Stroke::solid(back, 1.0);
                    group.marks.push(Mark::straight([from, middle + side], [right, middle + side], stroke));
                }
            }
        }
        group.marks.extend(marks);
        self.marks.push(Mark::Group(group));
        self.rows.push(middle);
        top + height
    }

    /// Waits, and the ends of arcs that are cut.
    fn asides(&mut self, row: usize) -> Vec<Aside> {
        let (sorted, node) = (self.sorted, self.order[row]);
        let mut asides = Vec::new();
        for &(index, [from, to]) in &sorted.graph.arcs {
            let wait = &sorted.network.arcs[index].wait;
            if to == node && !wait.is_empty() {
                self.seen.waits = true;
                asides.push(Aside::wait(wait, sorted.named_from(from, node)));
            }
        }
        let cut = &self.rails.cut;
        let named = |row: &usize| sorted.named_from(self.order[*row], node);
        asides.extend(Aside::from(
            cut.iter().filter(|[_, to]| *to == row).map(|[from, _]| named(from)).collect(),
        ));
        asides.extend(Aside::to(
            cut.iter().filter(|[from, _]| *from == row).map(|[_, to]| named(to)).collect(),
        ));
        self.seen.cut |= !cut.is_empty();
        asides
    }

    /// Draws the arcs over the rows.
    fn arcs(&mut self) {
        let half = |row: usize| {
            let gate = self.sorted.network.nodes[self.order[row]].stands.is_gate();
            if gate { [HALF_BAR, mark::BAR + 1.0] } else { [HALF + 1.0, HALF + 1.0] }
        };
        let x = self.marks_at;
        let mut drawn = Vec::new();
        for &[from, to] in &self.rails.straight {
            let tip = [x, self.rows[to] - half(to)[1]];
            let points = vec![[x, self.rows[from] + half(from)[1]], tip];
            drawn.push(([from, to], points, [0.0, 1.0]));
        }
        for rail in &self.rails.rails {
            let track = x - FIRST - PITCH * rail.track as f64;
            let turn = self.rows[rail.from] + OUT;
            for &to in &rail.to {
                let y = self.rows[to];
                let points = vec![
                    [x, self.rows[rail.from] + half(rail.from)[1]],
                    [x, turn],
                    [track, turn],
                    [track, y],
                    [x - half(to)[0], y],
                ];
                drawn.push(([rail.from, to], points, [1.0, 0.0]));
            }
        }
        drawn.sort_by_key(|(rows, ..)| *rows);
        for (rows, points, sense) in drawn {
            let ends = rows.map(|row| self.order[row]);
            let stroke = self.seen.stroke(self.sorted, ends);
            let head = points.last().map(|tip| mark::head(*tip, sense, stroke.role));
            self.marks.push(self.sorted.arc(ends, mark::rounded(&points, RADIUS), stroke, head));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rail_that_fits_no_track_is_cut_where_it_is_longest() {
        // Three rails side by side, two tracks: the one from row 0 goes farthest.
        let rails = Rails::of(12, &[[0, 11], [0, 2], [1, 8], [2, 9], [3, 4]], 2);
        assert_eq!(rails.straight, [[3, 4]]);
        assert_eq!(rails.cut, [[0, 11]]);
        assert_eq!(
            rails.rails.iter().map(|rail| rail.to.clone()).collect::<Vec<_>>(),
            [vec![2], vec![8], vec![9]]
        );
    }

    #[test]
    fn a_short_rail_inside_a_long_one_lies_nearer_the_marks() {
        let rails = Rails::of(12, &[[0, 10], [2, 5], [6, 9]], 6);
        let track = |at: usize| rails.rails[at].track;
        assert!(track(1) < track(0) && track(2) < track(0));
    }
}
