//! Steps and gates as a network: what follows what, and where the work stands.
//!
//! Two drawings of the same input. [`rails`] is one column from top to bottom,
//! for a phone and for the path to one gate: every node is a row to be tapped,
//! and what connects them runs in a band of rails at the left. [`lanes`] is for
//! the desk: a lane for each assembly, what comes first at the left, broken into
//! strips where it is wider than the sheet, with the zones of an engineering
//! drawing (a letter for the lane, a number for the column).
//!
//! An arc that a longer way implies is left out, and one that would be too long
//! to be followed by eye is cut and written in words at both ends. The sheet
//! says both. How a node stands is told by its mark and in words, never by
//! colour alone. All words and states are handed in; nothing here is reckoned
//! but places on the sheet.

mod graph;
mod lanes;
mod mark;
mod rails;
mod route;

use std::fmt::Write as _;

use crate::foot::{Entry, legend, title_block};
use crate::marks::{Drawing, Fill, Group, Mark, Role, Shape, Stroke, Text};
use crate::text::{width, wrap_tight};

use graph::{Bits, Graph};

/// What is drawn.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Network {
    /// Prefix of the drawing's ids.
    pub key: String,
    /// What it shows, such as the build's name.
    pub title: String,
    /// Titles of the assemblies; a node names one by its place here.
    pub lanes: Vec<String>,
    /// Steps and gates; in doubt they are drawn in this order.
    pub nodes: Vec<Node>,
    /// What follows what.
    pub arcs: Vec<Arc>,
    /// What leads to a gate or step that was asked for.
    pub path: Option<Path>,
    /// Plan revision, as text.
    pub revision: String,
    /// Date, as text.
    pub date: String,
}

/// A step or a gate.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    /// Its name in the plan, such as `wing-left/spar`.
    pub key: String,
    /// Where it leads, if anywhere.
    pub link: Option<String>,
    /// Its title.
    pub title: String,
    /// A few words more, such as `58 to set · 2 h`; may be empty.
    pub note: String,
    /// Its assembly, as a place in [`Network::lanes`].
    pub lane: usize,
    /// What it is and how it stands.
    pub stands: Standing,
}

/// What a node is and how it stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Standing {
    /// A step of which nothing is left to do.
    Done,
    /// A step that is begun; its share that is done, 0 to 1.
    Begun(f64),
    /// A step that nothing keeps from being begun.
    Ready,
    /// A step that waits for something.
    Blocked,
    /// A gate that is passed.
    Passed,
    /// A gate that is not passed, with nothing left on its list.
    Clear,
    /// A gate that is not passed, with something left on its list.
    Shut,
}

impl Standing {
    /// One of each, in the order of the legend; the begun one at a half.
    pub const ALL: [Self; 7] =
        [Self::Ready, Self::Begun(0.5), Self::Blocked, Self::Done, Self::Shut, Self::Clear, Self::Passed];

    /// Whether it is that of a gate.
    #[must_use]
    pub const fn is_gate(self) -> bool {
        matches!(self, Self::Passed | Self::Clear | Self::Shut)
    }

    /// In words, as it stands beside a node.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Done => "done",
            Self::Begun(_) => "begun",
            Self::Ready => "ready",
            Self::Blocked => "blocked",
            Self::Passed => "gate, passed",
            Self::Clear => "gate, list empty",
            Self::Shut => "gate, not passed",
        }
    }

    /// In words, as the legend says it.
    const fn meaning(self) -> &'static str {
        match self {
            Self::Done => "done",
            Self::Begun(_) => "begun, filled to its share",
            Self::Ready => "ready to be begun",
            Self::Blocked => "blocked by what leads to it",
            Self::Passed => "gate, passed",
            Self::Clear => "gate, not passed, its list empty",
            Self::Shut => "gate, not passed",
        }
    }

    /// Whether nothing is left of it, so that it may stand back.
    const fn is_behind(self) -> bool {
        matches!(self, Self::Done | Self::Passed)
    }
}

/// That one node follows another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Arc {
    /// What comes first, as a place in [`Network::nodes`].
    pub from: usize,
    /// What follows it, likewise.
    pub to: usize,
    /// What a wait between them is, such as `cures 24 h`; empty where there is none.
    pub wait: String,
}

impl Arc {
    /// One after the other, without a wait.
    #[must_use]
    pub const fn after(from: usize, to: usize) -> Self {
        Self { from, to, wait: String::new() }
    }
}

/// What leads to a node.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Path {
    /// What it leads to, in words for the legend.
    pub to: String,
    /// The nodes on it, as places in [`Network::nodes`].
    pub nodes: Vec<usize>,
}

/// The column of rows with rails at the left. Where a path is given, only what is on it is drawn.
///
/// # Units
/// - `width`: width of the drawing, px; at least 300
#[must_use]
pub fn rails(network: &Network, width: f64) -> Drawing {
    rails::draw(network, width.max(rails::LEAST_WIDTH))
}

/// The sheet of lanes. Where a path is given, it is drawn heavier than the rest.
///
/// # Units
/// - `width`: width of the drawing, px; at least 700
#[must_use]
pub fn lanes(network: &Network, width: f64) -> Drawing {
    lanes::draw(network, width.max(lanes::LEAST_WIDTH))
}

/// The mark of a standing by itself, for use in a line of text.
#[must_use]
pub fn standing_drawing(key: &str, stands: Standing) -> Drawing {
    let side = 2.0 * mark::HALF_BAR + 2.0;
    Drawing {
        key: key.to_owned(),
        width: side,
        height: side,
        title: stands.words().to_owned(),
        description: if stands.is_gate() {
            stands.words().to_owned()
        } else {
            format!("step, {}", stands.words())
        },
        marks: mark::marks(stands, [side / 2.0, side / 2.0], mark::Lie::Across),
    }
}

const WORDS: f64 = 12.0;
/// Left and right of everything, px.
const MARGIN: f64 = 8.0;

/// A network with its arcs sorted out.
struct Sorted<'n> {
    network: &'n Network,
    graph: Graph,
    path: Option<Bits>,
}

impl<'n> Sorted<'n> {
    fn new(network: &'n Network) -> Self {
        let count = network.nodes.len();
        let arcs: Vec<_> =
            network.arcs.iter().map(|arc| ([arc.from, arc.to], !arc.wait.is_empty())).collect();
        let path = network.path.as_ref().map(|path| {
            let mut on = Bits::none(count);
            path.nodes.iter().filter(|node| **node < count).for_each(|node| on.add(*node));
            on
        });
        // A drawing of nothing but the path has nothing to set it off from.
        let path = path.filter(|_| network.path.as_ref().is_some_and(|path| !path.nodes.is_empty()));
        Self { network, graph: Graph::of(count, &arcs), path }
    }

    /// Whether an arc lies on the path.
    fn on_path(&self, [from, to]: [usize; 2]) -> bool {
        self.path.as_ref().is_some_and(|path| path.has(from) && path.has(to))
    }

    fn lane_title(&self, node: usize) -> &'n str {
        self.network.lanes.get(self.network.nodes[node].lane).map_or("", String::as_str)
    }

    /// A node in one line, with all that the drawing says of it by lines: for a pointer at rest, and for ears.
    fn spoken(&self, node: usize) -> String {
        let it = &self.network.nodes[node];
        let mut text = it.title.clone();
        let lane = self.lane_title(node);
        if !lane.is_empty() {
            let _ = write!(text, ", {lane}");
        }
        let _ = write!(text, ": {}", it.stands.words());
        if !it.note.is_empty() {
            let _ = write!(text, " · {}", it.note);
        }
        let before = &self.graph.before[node];
        if !before.is_empty() {
            let names: Vec<String> = before.iter().map(|&at| self.named_from(at, node)).collect();
            let _ = write!(text, "; after {}", names.join(", "));
        }
        text
    }

    /// A node's title, with its assembly where that is another one.
    fn named_from(&self, node: usize, seen_from: usize) -> String {
        let it = &self.network.nodes[node];
        let lane = self.lane_title(node);
        if it.lane == self.network.nodes[seen_from].lane || lane.is_empty() {
            it.title.clone()
        } else {
            format!("{} ({lane})", it.title)
        }
    }

    /// The group of a node, so far without marks.
    fn group(&self, node: usize) -> Group {
        let it = &self.network.nodes[node];
        Group {
            id: Some(it.key.clone()),
            link: it.link.clone(),
            data: vec![(if it.stands.is_gate() { "gate" } else { "step" }, it.key.clone())],
            title: Some(self.spoken(node)),
            marks: Vec::new(),
        }
    }

    /// An arc: its line, and a head at its end.
    fn arc(&self, [from, to]: [usize; 2], shape: Shape, stroke: Stroke, head: Option<Mark>) -> Mark {
        let key = |node: usize| self.network.nodes[node].key.clone();
        let mut marks = vec![Mark::line(shape, stroke)];
        marks.extend(head);
        Mark::Group(Group { data: vec![("from", key(from)), ("to", key(to))], marks, ..Group::default() })
    }

    fn title(&self) -> String {
        let what = match &self.network.path {
            Some(path) => format!("Steps and gates, the path to {}", path.to),
            None => "Steps and gates".to_owned(),
        };
        if self.network.title.is_empty() { what } else { format!("{}: {what}", self.network.title) }
    }

    /// How many of the nodes shown stand how.
    fn description(&self, shown: &[usize]) -> String {
        let gates = shown.iter().filter(|node| self.network.nodes[**node].stands.is_gate()).count();
        let mut text = format!("{}, {}", count(shown.len() - gates, "step"), count(gates, "gate"));
        let mut before = ": ";
        for stands in Standing::ALL {
            let alike = |node: &&usize| same_kind(self.network.nodes[**node].stands, stands);
            let number = shown.iter().filter(alike).count();
            if number > 0 {
                let _ = write!(text, "{before}{number} {}", stands.words());
                before = "; ";
            }
        }
        text.push('.');
        text
    }

    /// What the marks on this sheet mean, and what was left out of it.
    fn entries(&self, shown: &[usize], seen: Seen) -> Vec<Entry> {
        let mut entries = Vec::new();
        let mut put = |half: f64, words: String, symbol: Box<dyn Fn([f64; 2]) -> Vec<Mark>>| {
            entries.push(Entry { symbol, half, head: 0.0, words });
        };
        for stands in Standing::ALL {
            if shown.iter().any(|node| same_kind(self.network.nodes[*node].stands, stands)) {
                put(
                    mark::HALF_BAR,
                    stands.meaning().to_owned(),
                    Box::new(move |at| mark::marks(stands, at, mark::Lie::Across)),
                );
            }
        }
        let sample = |stroke: Stroke| -> Box<dyn Fn([f64; 2]) -> Vec<Mark>> {
            Box::new(move |[x, y]| {
                vec![
                    Mark::straight([x - 14.0, y], [x + 9.0, y], stroke),
                    mark::head([x + 14.0, y], [1.0, 0.0], stroke.role),
                ]
            })
        };
        if seen.within {
            put(14.0, "leads to, in one assembly".to_owned(), sample(WITHIN));
        }
        if seen.across {
            put(14.0, "leads to, in another assembly".to_owned(), sample(ACROSS));
        }
        if let (Some(path), true) = (&self.network.path, seen.path) {
            put(14.0, format!("on the path to {}", path.to), sample(ON_PATH));
        }
        if seen.waits {
            put(5.0, "a time to wait".to_owned(), Box::new(|at| vec![mark::glass(at)]));
        }
        if seen.cut {
            let words = format!("line not drawn: leads to {}, or comes from it", seen.cut_to);
            put(8.0, words, Box::new(|[x, y]| vec![mark::out([x - 8.0, y]), mark::into([x + 8.0, y + 6.0])]));
        }
        // Words without a symbol begin at the margin: half of the symbol's usual distance is taken back.
        const NO_SYMBOL: f64 = -3.5;
        let nothing = || -> Box<dyn Fn([f64; 2]) -> Vec<Mark>> { Box::new(|_| Vec::new()) };
        if seen.implied > 0 {
            let words = match seen.implied {
                1 => "1 line that longer ways imply is left out".to_owned(),
                number => format!("{number} lines that longer ways imply are left out"),
            };
            put(NO_SYMBOL, words, nothing());
        }
        if !self.graph.rings.is_empty() {
            let words = match self.graph.rings.len() {
                1 => "1 line is not drawn: it leads round in a ring, or nowhere".to_owned(),
                number => format!("{number} lines are not drawn: they lead round in a ring, or nowhere"),
            };
            put(NO_SYMBOL, words, nothing());
        }
        entries
    }

    /// Legend and title block from a height on; returns where the sheet ends, px.
    fn foot(&self, marks: &mut Vec<Mark>, shown: &[usize], seen: Seen, top: f64, measure: f64) -> f64 {
        let mut bottom = top;
        bottom += legend(marks, &self.entries(shown, seen), [MARGIN, bottom], measure) + 10.0;
        let what = match &self.network.path {
            Some(path) => format!("Path to {}", path.to),
            None => "Steps and gates".to_owned(),
        };
        let gates = shown.iter().filter(|node| self.network.nodes[**node].stands.is_gate()).count();
        let mut shows = format!("{}, {}", count(shown.len() - gates, "step"), count(gates, "gate"));
        if seen.left_out > 0 {
            let _ = write!(shows, "; {} more are not on the path", seen.left_out);
        }
        let cells: Vec<(&str, String)> = [
            ("Build", self.network.title.clone()),
            ("Drawing", what),
            ("Shows", shows),
            ("Plan revision", self.network.revision.clone()),
            ("Date", self.network.date.clone()),
        ]
        .into_iter()
        .filter(|(_, value)| !value.is_empty())
        // A cell that is wider than the sheet is broken, not cut.
        .map(|(caption, value)| (caption, wrap_tight(&value, 13.0, measure - 16.0).join(" ")))
        .collect();
        bottom + title_block(marks, &cells, [MARGIN, bottom], measure) + 2.0
    }
}

/// What a drawing came to show.
#[derive(Clone, Copy, Default)]
struct Seen {
    within: bool,
    across: bool,
    path: bool,
    waits: bool,
    cut: bool,
    /// How the far end of a cut arc is named.
    cut_to: &'static str,
    implied: usize,
    /// Nodes that are not on the path and not drawn.
    left_out: usize,
}

impl Seen {
    fn stroke(&mut self, of: &Sorted<'_>, ends: [usize; 2]) -> Stroke {
        let [from, to] = ends.map(|node| of.network.nodes[node].lane);
        let stroke = if of.on_path(ends) {
            self.path = true;
            ON_PATH
        } else if from == to {
            self.within = true;
            WITHIN
        } else {
            self.across = true;
            ACROSS
        };
        // Beside a path the rest stands back.
        if of.path.is_some() && !of.on_path(ends) { Stroke { role: Role::Faint, ..stroke } } else { stroke }
    }
}

const WITHIN: Stroke = Stroke::solid(Role::Ink, 1.1);
const ACROSS: Stroke = Stroke::solid(Role::Ink, 1.6);
const ON_PATH: Stroke = Stroke::solid(Role::Accent, 2.6);

fn same_kind(one: Standing, other: Standing) -> bool {
    std::mem::discriminant(&one) == std::mem::discriminant(&other)
}

fn count(number: usize, what: &str) -> String {
    if number == 1 { format!("1 {what}") } else { format!("{number} {what}s") }
}

/// A text in at most so many lines of a measure; what is left over is cut with an ellipsis.
fn lines(text: &str, size: f64, measure: f64, most: usize) -> Vec<String> {
    let mut lines = wrap_tight(text, size, measure);
    if lines.len() > most {
        lines.truncate(most);
        if let Some(last) = lines.last_mut() {
            while !last.is_empty() && width(last, size) + width("…", size) > measure {
                last.pop();
            }
            *last = format!("{}…", last.trim_end());
        }
    }
    lines
}

/// What is written beside a node because a line does not say it: a small mark and words.
struct Aside {
    mark: fn([f64; 2]) -> Mark,
    before: String,
    names: Vec<String>,
}

impl Aside {
    /// A time to wait after a node.
    fn wait(wait: &str, after: String) -> Self {
        Self {
            mark: |[x, y]| mark::glass([x + 6.0, y]),
            before: format!("{wait}, after "),
            names: vec![after],
        }
    }

    /// Where arcs that are not drawn come from.
    fn from(names: Vec<String>) -> Option<Self> {
        let mark: fn([f64; 2]) -> Mark = |[x, y]| mark::into([x + 12.0, y]);
        (!names.is_empty()).then(|| Self { mark, before: "after ".to_owned(), names })
    }

    /// Where arcs that are not drawn go.
    fn to(names: Vec<String>) -> Option<Self> {
        (!names.is_empty()).then(|| Self { mark: mark::out, before: "then ".to_owned(), names })
    }

    /// In at most three lines; names that find no room are counted.
    fn lines(&self, size: f64, measure: f64) -> Vec<String> {
        let all = self.names.len();
        let with = |shown: usize| {
            let text = format!("{}{}", self.before, self.names[..shown].join("; "));
            if shown < all { format!("{text}; and {} more", all - shown) } else { text }
        };
        (1..=all)
            .rev()
            .map(|shown| wrap_tight(&with(shown), size, measure))
            .find(|lines| lines.len() <= 3)
            .unwrap_or_else(|| lines(&with(1), size, measure, 3))
    }
}

/// How a node stands and its note, in at most two lines that break between its parts where they can.
fn state_lines(node: &Node, size: f64, measure: f64) -> Vec<String> {
    let mut parts = vec![node.stands.words()];
    parts.extend(node.note.split(" · ").filter(|part| !part.is_empty()));
    let mut broken: Vec<String> = Vec::new();
    for part in parts {
        match broken.last_mut() {
            Some(line) if width(line, size) + width(" · ", size) + width(part, size) <= measure => {
                line.push_str(" · ");
                line.push_str(part);
            }
            _ => broken.push(part.to_owned()),
        }
    }
    let fits = |line: &String| width(line, size) <= measure;
    if broken.len() <= 2 && broken.iter().all(fits) {
        broken
    } else {
        lines(&broken.join(" · "), size, measure, 2)
    }
}

/// Puts down lines of text from a base line on; returns the base line after the last.
fn set_lines(marks: &mut Vec<Mark>, lines: &[String], style: &Text, pitch: f64) -> f64 {
    let [x, mut y] = style.at;
    for line in lines {
        marks.push(Mark::Text(Text { at: [x, y], text: line.clone(), ..style.clone() }));
        y += pitch;
    }
    y
}

/// A ground of paper that takes a click.
fn ground(x: f64, y: f64, width: f64, height: f64) -> Mark {
    Mark::area(Shape::rectangle(x, y, width, height), Fill::Flat(Role::Paper), None)
}
