//! The marks of a hole: its state, and the quadrant symbol of its fastener.
//!
//! A state is told by fill, stroke and letter together, never by colour alone,
//! so it reads the same on a black and white print. The quadrant symbol is a
//! cross in the manner of NAS523; its four texts are handed in, because which
//! code stands for which rivet is a figure of the trade and not of a drawing.

use crate::marks::{Anchor, Drawing, Fill, Lean, Mark, Role, Shape, Stroke, Text};
use crate::text::width;

/// How a hole stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum HoleState {
    /// To be filled in this view.
    ToDo,
    /// To be filled next.
    Now,
    /// Filled.
    Set,
    /// Filled and its shop head measured.
    SetMeasured,
    /// To be left open, for a later part or by a hold.
    Open,
    /// Something is wrong with it.
    Fault,
    /// Belongs to another set-up or step.
    Other,
}

impl HoleState {
    /// One word, as a page's script and style sheet know it.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::ToDo => "to-do",
            Self::Now => "now",
            Self::Set => "set",
            Self::SetMeasured => "set-measured",
            Self::Open => "open",
            Self::Fault => "fault",
            Self::Other => "other",
        }
    }

    /// All states, in the order of a legend.
    pub const ALL: [Self; 7] =
        [Self::Now, Self::ToDo, Self::Set, Self::SetMeasured, Self::Open, Self::Fault, Self::Other];

    /// In words, as a legend says it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::ToDo => "to do",
            Self::Now => "now",
            Self::Set => "set",
            Self::SetMeasured => "set, measured",
            Self::Open => "leave open",
            Self::Fault => "fault",
            Self::Other => "other set-up",
        }
    }
}

/// How a hole is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HoleLook {
    /// How it stands.
    pub state: HoleState,
    /// A letter beside it; a fault has F where none is given.
    pub letter: Option<char>,
    /// Whether it is picked out by ticks around it, for instance because it was asked for.
    pub emphasis: bool,
}

impl HoleLook {
    /// A state without letter or ticks.
    #[must_use]
    pub const fn plain(state: HoleState) -> Self {
        Self { state, letter: None, emphasis: false }
    }

    /// The letter that is shown.
    #[must_use]
    pub fn shown_letter(&self) -> Option<char> {
        self.letter.or((self.state == HoleState::Fault).then_some('F'))
    }

    /// How far its marks reach from the centre, letter apart, px.
    #[must_use]
    pub fn reach(&self, radius: f64) -> f64 {
        let ring = match self.state {
            HoleState::Now => radius * RING + ring_width(radius) / 2.0,
            HoleState::Other => radius * OTHER + 0.5,
            _ => radius + 0.9,
        };
        if self.emphasis { ring.max(tick_start(ring) + TICK_ROOM + 0.7) } else { ring }
    }

    /// How far the circle and its ring reach, px.
    fn rim(&self, radius: f64) -> f64 {
        Self { emphasis: false, ..*self }.reach(radius)
    }

    /// The letter as it stands above a hole.
    #[must_use]
    pub fn letter_text(&self, centre: [f64; 2], radius: f64) -> Option<Text> {
        let letter = self.shown_letter()?;
        let role = if self.state == HoleState::Fault { Role::Warn } else { Role::Ink };
        let at = [centre[0], centre[1] - self.reach(radius) - 2.0];
        Some(Text::new(at, LETTER, letter).anchored(Anchor::Middle).coloured(role).heavy().rimmed())
    }

    /// The hole as marks around a centre, the letter above it.
    ///
    /// # Units
    /// - `centre`, `radius`: px
    #[must_use]
    pub fn marks(&self, centre: [f64; 2], radius: f64) -> Vec<Mark> {
        let mut marks = self.body(centre, radius);
        marks.extend(self.letter_text(centre, radius).map(Mark::Text));
        marks
    }

    /// The hole without its letter.
    pub(crate) fn body(&self, centre: [f64; 2], radius: f64) -> Vec<Mark> {
        let circle = |radius: f64, fill: Fill, stroke: Stroke| Mark::Circle {
            centre,
            radius,
            fill: Some(fill),
            stroke: Some(stroke),
        };
        let paper = Fill::Flat(Role::Paper);
        let ink = Fill::Flat(Role::Ink);
        let line = |width| Stroke::solid(Role::Ink, width);
        let mut marks = match self.state {
            HoleState::ToDo => vec![circle(radius, paper, line(1.4))],
            HoleState::Now => vec![
                Mark::Circle {
                    centre,
                    radius: radius * RING,
                    fill: None,
                    stroke: Some(Stroke::solid(Role::Accent, ring_width(radius))),
                },
                circle(radius * INNER, paper, line(1.4)),
            ],
            HoleState::Set => vec![circle(radius, ink, line(1.4))],
            HoleState::SetMeasured => vec![
                circle(radius, ink, line(1.4)),
                Mark::Circle { centre, radius: radius * 0.42, fill: Some(paper), stroke: None },
            ],
            HoleState::Open => vec![circle(radius, Fill::Hatch(Role::Ink, Lean::Right), line(1.2))],
            HoleState::Fault => {
                let arm = radius * std::f64::consts::FRAC_1_SQRT_2;
                let [x, y] = centre;
                let mut cross = Shape::open(&[[x - arm, y - arm], [x + arm, y + arm]]);
                cross.run(&[[x - arm, y + arm], [x + arm, y - arm]]);
                let warn = Stroke::solid(Role::Warn, 1.8);
                vec![circle(radius, paper, warn), Mark::line(cross, warn)]
            }
            HoleState::Other => {
                vec![circle(radius * OTHER, paper, Stroke::solid(Role::Faint, 1.0))]
            }
        };
        if self.emphasis {
            marks.push(self.ticks(centre, radius));
        }
        marks
    }

    /// Four ticks on the diagonals, where a row has no neighbours.
    fn ticks(&self, [x, y]: [f64; 2], radius: f64) -> Mark {
        let inner = tick_start(self.rim(radius));
        let outer = inner + TICK_ROOM;
        let mut shape = Shape::default();
        for [dx, dy] in [[1.0, 1.0], [-1.0, 1.0], [1.0, -1.0], [-1.0, -1.0]] {
            shape.run(&[[x + dx * inner, y + dy * inner], [x + dx * outer, y + dy * outer]]);
        }
        Mark::line(shape, Stroke::solid(Role::Ink, 2.0))
    }
}

/// A hole of another set-up is drawn this much smaller.
const OTHER: f64 = 0.55;
/// The ring of now, as a multiple of a hole's radius: two of them side by side do not touch.
const RING: f64 = 1.15;
/// The hole inside the ring, likewise.
const INNER: f64 = 0.72;
/// Width of the ring of now, px.
fn ring_width(radius: f64) -> f64 {
    (0.3 * radius).clamp(1.0, 2.4)
}
/// Where a diagonal tick starts past a rim, along each axis, px.
fn tick_start(rim: f64) -> f64 {
    (rim + 1.2) * std::f64::consts::FRAC_1_SQRT_2
}
/// Room of a tick along each axis, px.
const TICK_ROOM: f64 = 3.6;
/// Size of a letter beside a hole, px.
pub(crate) const LETTER: f64 = 10.0;

/// One hole by itself, for use in a line of text.
#[must_use]
pub fn state_drawing(key: &str, look: HoleLook) -> Drawing {
    let radius = 6.0;
    let side = look.reach(radius).ceil() * 2.0 + 2.0;
    let head = if look.shown_letter().is_some() { LETTER } else { 0.0 };
    Drawing {
        key: key.to_owned(),
        width: side,
        height: side + head,
        title: look.state.words().to_owned(),
        description: match look.shown_letter() {
            Some(letter) => format!("a hole: {}, letter {letter}", look.state.words()),
            None => format!("a hole: {}", look.state.words()),
        },
        marks: look.marks([side / 2.0, side / 2.0 + head], radius),
    }
}

/// The texts of the quadrant symbol.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Quadrants {
    /// Upper left: the rivet.
    pub rivet: String,
    /// Upper right: diameter and side of the manufactured head.
    pub diameter_and_head: String,
    /// Lower left: dimple or countersink.
    pub preparation: String,
    /// Lower right: length.
    pub length: String,
}

impl Quadrants {
    /// Half of its width and height, px, in type of a size in px.
    #[must_use]
    pub fn half(&self, size: f64) -> [f64; 2] {
        let texts = [&self.rivet, &self.diameter_and_head, &self.preparation, &self.length];
        let widest = texts.map(|text| width(text, size)).into_iter().fold(0.0, f64::max);
        [(widest + 0.9 * size).max(1.8 * size), 1.45 * size]
    }

    /// The cross with its texts, centred on a point.
    ///
    /// # Units
    /// - `at`, `size` (of the type): px
    #[must_use]
    pub fn marks(&self, at: [f64; 2], size: f64) -> Vec<Mark> {
        let [half_width, half_height] = self.half(size);
        let [x, y] = at;
        let mut cross = Shape::open(&[[x - half_width, y], [x + half_width, y]]);
        cross.run(&[[x, y - half_height], [x, y + half_height]]);
        let gap = 0.4 * size;
        let text = |text: &str, dx: f64, base: f64, anchor| {
            Mark::Text(Text::new([x + dx, y + base], size, text).anchored(anchor))
        };
        let (above, below) = (-0.38 * size, 1.14 * size);
        let mut marks = vec![Mark::line(cross, Stroke::solid(Role::Ink, 1.4))];
        for (words, dx, base, anchor) in [
            (&self.rivet, -gap, above, Anchor::End),
            (&self.diameter_and_head, gap, above, Anchor::Start),
            (&self.preparation, -gap, below, Anchor::End),
            (&self.length, gap, below, Anchor::Start),
        ] {
            if !words.is_empty() {
                marks.push(text(words, dx, base, anchor));
            }
        }
        marks
    }

    /// The symbol as a drawing of its own, with the call-out in words for its description.
    #[must_use]
    pub fn drawing(&self, key: &str, size: f64, description: &str) -> Drawing {
        let [half_width, half_height] = self.half(size);
        let centre = [half_width + 1.0, half_height + 1.0];
        Drawing {
            key: key.to_owned(),
            width: 2.0 * centre[0],
            height: 2.0 * centre[1],
            title: "Fastener symbol".to_owned(),
            description: description.to_owned(),
            marks: self.marks(centre, size),
        }
    }
}
