//! Where lines run between boxes in rows and columns.
//!
//! Between two columns lies a channel of upright tracks, above each row a
//! corridor of level ones. A line leaves a box at its right, goes up or down in
//! the channel behind it, if need be along a corridor to the channel before its
//! end, and comes in at the left. What leaves one box may share its tracks; two
//! lines of different boxes never share one at the same place. Lines come in
//! above where others go out, so that no piece of a line is part of two.
//!
//! Everything is counted here in rows, columns and tracks; how far they are
//! apart is the sheet's matter.

use std::collections::BTreeMap;

/// Height of a row in ranks: places in the order from top to bottom.
const ROW: usize = 1000;
/// Rank within its row at which lines come in, and go out.
const IN: usize = 500;
const OUT: usize = 600;

/// A box: its row and its column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    pub row: usize,
    pub column: usize,
}

/// How a line runs. Tracks count from the left and from the top.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// Level from box to box.
    Straight,
    /// Through the channel between two neighbours.
    Near { track: usize },
    /// By a corridor (above the row of that number) and its track.
    Far { tracks: [usize; 2], corridor: [usize; 2] },
    /// Not at all.
    Cut,
}

/// How all lines run.
#[derive(Debug)]
pub struct Routing {
    /// For each line its way.
    pub ways: Vec<Way>,
    /// Tracks in the channel left of each column.
    pub channels: Vec<usize>,
    /// Tracks in the corridor above each row, and one below the last.
    pub corridors: Vec<usize>,
}

/// Finds a way for lines between boxes; cuts the longest while a channel has more than `most` tracks.
///
/// Every line goes to a column farther right than its own.
pub fn route(places: &[Place], lines: &[[usize; 2]], most: usize) -> Routing {
    let mut cut = vec![false; lines.len()];
    loop {
        let plan = Plan::of(places, lines, &cut);
        let Some(over) = plan.over(most) else { return plan.finish() };
        // Of those in the crowded channel, the one that goes farthest up or down.
        let rows = |line: &usize| places[lines[*line][0]].row.abs_diff(places[lines[*line][1]].row);
        let columns = |line: &usize| places[lines[*line][1]].column - places[lines[*line][0]].column;
        match over.into_iter().max_by_key(|line| (rows(line), columns(line), *line)) {
            Some(line) => cut[line] = true,
            None => return plan.finish(),
        }
    }
}

/// An upright stretch in a channel.
#[derive(Default)]
struct Stretch {
    /// The box its line comes from.
    net: usize,
    /// Ranks where something joins at the left and at the right.
    left: Vec<usize>,
    right: Vec<usize>,
    /// The lines it belongs to.
    lines: Vec<usize>,
}

impl Stretch {
    fn span(&self) -> [usize; 2] {
        let all = || self.left.iter().chain(&self.right).copied();
        [all().min().unwrap_or(0), all().max().unwrap_or(0)]
    }
}

struct Plan {
    ways: Vec<Way>,
    /// Corridor of each line that has one.
    corridor: Vec<Option<usize>>,
    /// For each corridor its nets with their span of channels and their track.
    corridors: Vec<BTreeMap<usize, ([usize; 2], usize)>>,
    /// Stretches by channel.
    channels: Vec<Vec<Stretch>>,
    ends: Vec<[Place; 2]>,
    nets: Vec<usize>,
}

impl Plan {
    fn of(places: &[Place], lines: &[[usize; 2]], cut: &[bool]) -> Self {
        let rows = places.iter().map(|place| place.row + 1).max().unwrap_or(0);
        let columns = places.iter().map(|place| place.column + 1).max().unwrap_or(0);
        let mut taken = vec![false; rows * columns];
        for place in places {
            taken[place.row * columns + place.column] = true;
        }
        let ends: Vec<[Place; 2]> = lines.iter().map(|line| line.map(|at| places[at])).collect();
        let mut plan = Self {
            ways: vec![Way::Cut; lines.len()],
            corridor: vec![None; lines.len()],
            corridors: vec![BTreeMap::new(); rows + 1],
            channels: (0..columns).map(|_| Vec::new()).collect(),
            nets: lines.iter().map(|line| line[0]).collect(),
            ends,
        };
        let mut order: Vec<usize> = (0..lines.len()).filter(|line| !cut[*line]).collect();
        // Long ones first: short ones then find the corridors they share.
        order.sort_by_key(|line| {
            let [from, to] = plan.ends[*line];
            (std::cmp::Reverse(to.column - from.column), *line)
        });
        for line in order {
            let [from, to] = plan.ends[line];
            let free = |column: usize| !taken[from.row * columns + column];
            if from.row == to.row && (from.column + 1..to.column).all(free) {
                plan.ways[line] = Way::Straight;
            } else if from.column + 1 == to.column {
                plan.ways[line] = Way::Near { track: 0 };
            } else {
                let corridor = plan.choose(line);
                plan.ways[line] = Way::Far { tracks: [0; 2], corridor: [corridor, 0] };
                plan.corridor[line] = Some(corridor);
                let span = plan.corridors[corridor]
                    .entry(plan.nets[line])
                    .or_insert(([from.column + 1, to.column], 0));
                span.0[1] = span.0[1].max(to.column);
            }
        }
        plan.lay_corridors();
        plan.stretches();
        plan
    }

    /// The corridor that lies best between two ends.
    fn choose(&self, line: usize) -> usize {
        let [from, to] = self.ends[line];
        let best = (0..self.corridors.len()).min_by_key(|&corridor| {
            let rank = corridor * ROW;
            let up_and_down = rank.abs_diff(from.row * ROW + OUT) + rank.abs_diff(to.row * ROW + IN);
            let here = &self.corridors[corridor];
            let crowd = if here.contains_key(&self.nets[line]) { 0 } else { 300 + 150 * here.len() };
            (up_and_down + crowd, rank.abs_diff(to.row * ROW))
        });
        best.unwrap_or(0)
    }

    fn lay_corridors(&mut self) {
        for nets in &mut self.corridors {
            let mut spans: Vec<(usize, [usize; 2])> =
                nets.iter().map(|(net, (span, _))| (*net, *span)).collect();
            spans.sort_by_key(|(net, span)| (span[0], *net));
            let meet = |a: usize, b: usize| meets(spans[a].1, spans[b].1);
            for (at, track) in lay(spans.len(), &meet, &|_, _| 0, &|_| 0).into_iter().enumerate() {
                if let Some(entry) = nets.get_mut(&spans[at].0) {
                    entry.1 = track;
                }
            }
        }
    }

    fn stretches(&mut self) {
        let mut channels: Vec<BTreeMap<usize, Stretch>> =
            self.channels.iter().map(|_| BTreeMap::new()).collect();
        for line in 0..self.ways.len() {
            let ([from, to], net) = (self.ends[line], self.nets[line]);
            let (out, end) = (from.row * ROW + OUT, to.row * ROW + IN);
            let mut add = |channel: usize, left: usize, right: usize| {
                let stretch = channels[channel].entry(net).or_insert(Stretch { net, ..Stretch::default() });
                stretch.left.push(left);
                stretch.right.push(right);
                stretch.lines.push(line);
            };
            match (self.ways[line], self.corridor[line]) {
                (Way::Near { .. }, _) => add(to.column, out, end),
                (Way::Far { .. }, Some(corridor)) => {
                    let track = self.corridors[corridor].get(&net).map_or(0, |(_, track)| *track);
                    let rank = corridor * ROW + 1 + track;
                    add(from.column + 1, out, rank);
                    add(to.column, rank, end);
                }
                _ => {}
            }
        }
        for (channel, stretches) in self.channels.iter_mut().zip(channels) {
            *channel = stretches.into_values().collect();
            for stretch in channel.iter_mut() {
                for joins in [&mut stretch.left, &mut stretch.right] {
                    joins.sort_unstable();
                    joins.dedup();
                }
            }
            channel.sort_by_key(|stretch| (stretch.span()[0], stretch.net));
        }
    }

    /// The lines of the first channel that has too many tracks.
    fn over(&self, most: usize) -> Option<Vec<usize>> {
        self.channels.iter().find_map(|channel| {
            channel.iter().find_map(|stretch| {
                let at = stretch.span()[0];
                let here: Vec<&Stretch> =
                    channel.iter().filter(|other| other.span()[0] <= at && at <= other.span()[1]).collect();
                (here.len() > most).then(|| here.iter().flat_map(|stretch| stretch.lines.clone()).collect())
            })
        })
    }

    fn finish(mut self) -> Routing {
        let mut counts = vec![0; self.channels.len()];
        let mut tracks: Vec<BTreeMap<usize, usize>> = vec![BTreeMap::new(); self.channels.len()];
        for (at, channel) in self.channels.iter().enumerate() {
            let meet = |a: usize, b: usize| meets(channel[a].span(), channel[b].span());
            let inside = |ranks: &[usize], of: &Stretch| {
                let [low, high] = of.span();
                ranks.iter().filter(|rank| low < **rank && **rank < high).count()
            };
            let cost = |left: usize, right: usize| {
                inside(&channel[right].left, &channel[left]) + inside(&channel[left].right, &channel[right])
            };
            for (stretch, track) in lay(channel.len(), &meet, &cost, &|_| 0).into_iter().enumerate() {
                tracks[at].insert(channel[stretch].net, track);
                counts[at] = counts[at].max(track + 1);
            }
        }
        for line in 0..self.ways.len() {
            let ([from, to], net) = (self.ends[line], self.nets[line]);
            let track = |channel: usize| tracks[channel].get(&net).copied().unwrap_or(0);
            match &mut self.ways[line] {
                Way::Near { track: it } => *it = track(to.column),
                Way::Far { tracks: both, corridor } => {
                    *both = [track(from.column + 1), track(to.column)];
                    corridor[1] = self.corridors[corridor[0]].get(&net).map_or(0, |(_, track)| *track);
                }
                Way::Straight | Way::Cut => {}
            }
        }
        let corridors = self
            .corridors
            .iter()
            .map(|nets| nets.values().map(|(_, track)| track + 1).max().unwrap_or(0))
            .collect();
        Routing { ways: self.ways, channels: counts, corridors }
    }
}

/// Whether two spans have a place in common.
fn meets(a: [usize; 2], b: [usize; 2]) -> bool {
    a[0] <= b[1] && b[0] <= a[1]
}

/// Gives each of `count` stretches a track, so that two that meet have different ones.
///
/// They come in the order in which they begin, so that no more tracks are used
/// than lie side by side somewhere. `cost(a, b)` is how often lines cross when
/// `a` has the lower track of two that meet; it is made small by moving and
/// changing places. `wish` is the track a stretch would have if all cost the same.
pub fn lay(
    count: usize,
    meet: &dyn Fn(usize, usize) -> bool,
    cost: &dyn Fn(usize, usize) -> usize,
    wish: &dyn Fn(usize) -> usize,
) -> Vec<usize> {
    let near: Vec<Vec<usize>> =
        (0..count).map(|at| (0..count).filter(|it| *it != at && meet(*it, at)).collect()).collect();
    let most = (0..count).map(|at| 1 + near[at].iter().filter(|it| **it < at).count()).max().unwrap_or(0);
    let mut track = vec![usize::MAX; count];
    let crossings = |track: &[usize], at: usize, mine: usize| -> usize {
        near[at]
            .iter()
            .filter(|it| track[**it] != usize::MAX)
            .map(|&it| if mine < track[it] { cost(at, it) } else { cost(it, at) })
            .sum()
    };
    let fits = |track: &[usize], at: usize, mine: usize| near[at].iter().all(|it| track[*it] != mine);
    for at in 0..count {
        let best = (0..most)
            .filter(|mine| fits(&track, at, *mine))
            .min_by_key(|mine| (crossings(&track, at, *mine), wish(at).abs_diff(*mine), *mine));
        track[at] = best.unwrap_or(most);
    }
    for _ in 0..8 {
        let mut better = false;
        for at in 0..count {
            for mine in 0..most {
                if fits(&track, at, mine) && crossings(&track, at, mine) < crossings(&track, at, track[at]) {
                    track[at] = mine;
                    better = true;
                }
            }
            for &other in &near[at] {
                let both = |track: &[usize]| {
                    let between = if track[at] < track[other] { cost(at, other) } else { cost(other, at) };
                    crossings(track, at, track[at]) + crossings(track, other, track[other]) - between
                };
                let before = both(&track);
                track.swap(at, other);
                if both(&track) < before && fits(&track, at, track[at]) && fits(&track, other, track[other]) {
                    better = true;
                } else {
                    track.swap(at, other);
                }
            }
        }
        if !better {
            break;
        }
    }
    track
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(row: usize, column: usize) -> Place {
        Place { row, column }
    }

    #[test]
    fn a_level_line_needs_no_track() {
        let routing = route(&[at(0, 0), at(0, 2), at(1, 1)], &[[0, 1]], 4);
        assert_eq!(routing.ways, [Way::Straight]);
        assert_eq!(routing.channels, [0, 0, 0]);
    }

    #[test]
    fn a_line_past_a_box_takes_a_corridor() {
        let routing = route(&[at(0, 0), at(0, 1), at(0, 2)], &[[0, 2]], 4);
        assert!(matches!(routing.ways[0], Way::Far { .. }), "{:?}", routing.ways);
        assert_eq!(routing.corridors.iter().sum::<usize>(), 1);
    }

    #[test]
    fn two_lines_that_meet_have_two_tracks() {
        let places = [at(0, 0), at(1, 0), at(0, 1), at(1, 1)];
        let routing = route(&places, &[[0, 3], [1, 2]], 4);
        assert_eq!(routing.channels, [0, 2]);
        assert_ne!(routing.ways[0], routing.ways[1]);
    }

    #[test]
    fn a_crowded_channel_loses_its_longest_line() {
        let places = [at(0, 0), at(1, 0), at(0, 1), at(1, 1), at(5, 1)];
        let routing = route(&places, &[[0, 3], [1, 2], [0, 4]], 1);
        assert_eq!(routing.ways.iter().filter(|way| **way == Way::Cut).count(), 2);
        assert_eq!(routing.ways[2], Way::Cut);
    }
}
