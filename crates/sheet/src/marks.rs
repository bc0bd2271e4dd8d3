//! The list of marks that every drawing is made of.
//!
//! Only what both writers can do well is here: a path has straight and cubic
//! segments (a PDF knows no arc), a fill is flat or hatched, a colour is a
//! [`Role`]. Positions are in px, 96 to the inch, y down; a PDF writer takes
//! three quarters of them as points.
//!
//! Nothing here measures or places; see [`crate::text`] for widths.

/// Px of a drawing to the inch of paper, as browsers print them.
pub const PX_PER_INCH: f64 = 96.0;

/// A finished drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// Prefix of every id in it, so that several drawings share a page.
    pub key: String,
    /// Width, px.
    pub width: f64,
    /// Height, px.
    pub height: f64,
    /// What it shows, in a few words.
    pub title: String,
    /// What it shows, for somebody who cannot see it.
    pub description: String,
    /// The marks, the lowest first.
    pub marks: Vec<Mark>,
}

/// What a mark is for; the page or the printer gives it a colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Role {
    /// Lines and figures.
    Ink,
    /// Secondary lines and words; still dark enough to be read.
    Faint,
    /// The one colour: what is being done now.
    Accent,
    /// A quiet area, such as a doubler.
    Wash,
    /// Something wrong.
    Warn,
    /// The sheet itself.
    Paper,
}

impl Role {
    /// All roles.
    pub const ALL: [Self; 6] = [Self::Ink, Self::Faint, Self::Accent, Self::Wash, Self::Warn, Self::Paper];

    /// The custom property a page sets for it.
    #[must_use]
    pub const fn property(self) -> &'static str {
        match self {
            Self::Ink => "--ink",
            Self::Faint => "--faint",
            Self::Accent => "--accent",
            Self::Wash => "--wash",
            Self::Warn => "--warn",
            Self::Paper => "--paper",
        }
    }

    /// Red, green and blue on white paper, and where no page sets the property.
    #[must_use]
    pub const fn print(self) -> [u8; 3] {
        match self {
            Self::Ink => [0x11, 0x17, 0x1f],
            Self::Faint => [0x56, 0x61, 0x6d],
            Self::Accent => [0x17, 0x50, 0x8f],
            Self::Wash => [0xe8, 0xef, 0xf7],
            Self::Warn => [0x9a, 0x3b, 0x00],
            Self::Paper => [0xff, 0xff, 0xff],
        }
    }
}

/// The way hatching leans.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Lean {
    /// Up to the right.
    Right,
    /// Up to the left.
    Left,
}

/// How an area is filled.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Fill {
    /// One colour.
    Flat(Role),
    /// Lines on paper: [`HATCH_PITCH`] apart, [`HATCH_WIDTH`] wide, at 45°.
    Hatch(Role, Lean),
}

/// Distance from hatch line to hatch line, px.
pub const HATCH_PITCH: f64 = 4.0;
/// Width of a hatch line, px.
pub const HATCH_WIDTH: f64 = 1.2;

/// The pattern of a line.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Dash {
    /// Unbroken.
    #[default]
    Solid,
    /// Short dashes: behind what is in view.
    Hidden,
    /// Long and short: a bend or a centre.
    Chain,
    /// Long and twice short: a part that is not there yet.
    Phantom,
}

impl Dash {
    /// Lengths of line and gap in turn, px; none for an unbroken line.
    #[must_use]
    pub const fn lengths(self) -> &'static [f64] {
        match self {
            Self::Solid => &[],
            Self::Hidden => &[6.0, 4.0],
            Self::Chain => &[14.0, 3.0, 3.0, 3.0],
            Self::Phantom => &[12.0, 3.0, 2.0, 3.0, 2.0, 3.0],
        }
    }
}

/// A line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    /// Its colour.
    pub role: Role,
    /// Its width, px.
    pub width: f64,
    /// Its pattern.
    pub dash: Dash,
}

impl Stroke {
    /// An unbroken line of a width in px.
    #[must_use]
    pub const fn solid(role: Role, width: f64) -> Self {
        Self { role, width, dash: Dash::Solid }
    }

    /// The same line in a pattern.
    #[must_use]
    pub const fn dashed(self, dash: Dash) -> Self {
        Self { dash, ..self }
    }
}

/// A piece of a [`Shape`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Segment {
    /// Starts somewhere, px.
    Move([f64; 2]),
    /// Straight on, px.
    Line([f64; 2]),
    /// A cubic: two handles and the end, px.
    Cubic([f64; 2], [f64; 2], [f64; 2]),
    /// Back to the start.
    Close,
}

/// An open or closed line.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Shape(pub Vec<Segment>);

impl Shape {
    /// Straight from point to point.
    #[must_use]
    pub fn open(points: &[[f64; 2]]) -> Self {
        let mut shape = Self::default();
        shape.run(points);
        shape
    }

    /// Straight from point to point and back.
    #[must_use]
    pub fn closed(points: &[[f64; 2]]) -> Self {
        let mut shape = Self::open(points);
        shape.0.push(Segment::Close);
        shape
    }

    /// An upright rectangle from its upper left corner.
    #[must_use]
    pub fn rectangle(x: f64, y: f64, width: f64, height: f64) -> Self {
        Self::closed(&[[x, y], [x + width, y], [x + width, y + height], [x, y + height]])
    }

    /// Adds a line of its own through these points.
    pub fn run(&mut self, points: &[[f64; 2]]) {
        for (index, &point) in points.iter().enumerate() {
            self.0.push(if index == 0 { Segment::Move(point) } else { Segment::Line(point) });
        }
    }

    /// Adds a closed loop through these points.
    pub fn ring(&mut self, points: &[[f64; 2]]) {
        self.run(points);
        self.0.push(Segment::Close);
    }

    /// The shape with each of its points moved.
    #[must_use]
    pub fn map(mut self, place: impl Fn([f64; 2]) -> [f64; 2]) -> Self {
        for segment in &mut self.0 {
            *segment = match *segment {
                Segment::Move(to) => Segment::Move(place(to)),
                Segment::Line(to) => Segment::Line(place(to)),
                Segment::Cubic(a, b, to) => Segment::Cubic(place(a), place(b), place(to)),
                Segment::Close => Segment::Close,
            };
        }
        self
    }

    /// All points of it, handles as well.
    pub fn points(&self) -> impl Iterator<Item = [f64; 2]> + '_ {
        self.0.iter().flat_map(|segment| match *segment {
            Segment::Move(to) | Segment::Line(to) => vec![to],
            Segment::Cubic(a, b, to) => vec![a, b, to],
            Segment::Close => Vec::new(),
        })
    }
}

/// Which part of a text stands at its position.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Anchor {
    /// The beginning.
    #[default]
    Start,
    /// The middle.
    Middle,
    /// The end.
    End,
}

/// A line of text.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// Its position on the base line, px.
    pub at: [f64; 2],
    /// What it says.
    pub text: String,
    /// Size of the type, px.
    pub size: f64,
    /// Which part of it stands at `at`.
    pub anchor: Anchor,
    /// Its colour.
    pub role: Role,
    /// Whether it is heavy.
    pub bold: bool,
    /// Whether a rim of paper keeps it clear of lines below it.
    pub rim: bool,
}

impl Text {
    /// A plain text in ink.
    #[must_use]
    pub fn new(at: [f64; 2], size: f64, text: impl Into<String>) -> Self {
        Self { at, text: text.into(), size, anchor: Anchor::Start, role: Role::Ink, bold: false, rim: false }
    }

    /// The same text anchored otherwise.
    #[must_use]
    pub fn anchored(self, anchor: Anchor) -> Self {
        Self { anchor, ..self }
    }

    /// The same text in another colour.
    #[must_use]
    pub fn coloured(self, role: Role) -> Self {
        Self { role, ..self }
    }

    /// The same text, heavy.
    #[must_use]
    pub fn heavy(self) -> Self {
        Self { bold: true, ..self }
    }

    /// The same text with a rim of paper.
    #[must_use]
    pub fn rimmed(self) -> Self {
        Self { rim: true, ..self }
    }
}

/// Marks that belong together.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Group {
    /// A name, unique in the drawing; the writer puts the drawing's key before it.
    pub id: Option<String>,
    /// Where a click leads.
    pub link: Option<String>,
    /// What a page's script looks for: `("hole", "flap-left/web/A/7")` becomes `data-hole`.
    pub data: Vec<(&'static str, String)>,
    /// What it is, in words.
    pub title: Option<String>,
    /// Its marks.
    pub marks: Vec<Mark>,
}

/// One mark.
#[derive(Clone, Debug, PartialEq)]
pub enum Mark {
    /// A line or an area; loops inside loops are left out of the fill (even-odd).
    Path {
        /// Its shape.
        shape: Shape,
        /// How it is filled, if it is.
        fill: Option<Fill>,
        /// How it is drawn, if it is.
        stroke: Option<Stroke>,
    },
    /// A circle.
    Circle {
        /// Its centre, px.
        centre: [f64; 2],
        /// Its radius, px.
        radius: f64,
        /// How it is filled, if it is.
        fill: Option<Fill>,
        /// How it is drawn, if it is.
        stroke: Option<Stroke>,
    },
    /// A line of text.
    Text(Text),
    /// A round area that takes a finger and is not seen.
    Target {
        /// Its centre, px.
        centre: [f64; 2],
        /// Its radius, px.
        radius: f64,
    },
    /// Marks that belong together.
    Group(Group),
}

impl Mark {
    /// A line without a fill.
    #[must_use]
    pub const fn line(shape: Shape, stroke: Stroke) -> Self {
        Self::Path { shape, fill: None, stroke: Some(stroke) }
    }

    /// An area with or without an outline.
    #[must_use]
    pub const fn area(shape: Shape, fill: Fill, stroke: Option<Stroke>) -> Self {
        Self::Path { shape, fill: Some(fill), stroke }
    }

    /// The mark scaled about the origin and then moved; lines and type are scaled with it.
    #[must_use]
    pub fn placed(self, at: [f64; 2], scale: f64) -> Self {
        let put = |[x, y]: [f64; 2]| [at[0] + scale * x, at[1] + scale * y];
        let thin = |stroke: Option<Stroke>| stroke.map(|s| Stroke { width: s.width * scale, ..s });
        match self {
            Self::Path { shape, fill, stroke } => {
                Self::Path { shape: shape.map(put), fill, stroke: thin(stroke) }
            }
            Self::Circle { centre, radius, fill, stroke } => {
                Self::Circle { centre: put(centre), radius: radius * scale, fill, stroke: thin(stroke) }
            }
            Self::Text(text) => Self::Text(Text { at: put(text.at), size: text.size * scale, ..text }),
            Self::Target { centre, radius } => Self::Target { centre: put(centre), radius: radius * scale },
            Self::Group(group) => {
                let marks = group.marks.into_iter().map(|mark| mark.placed(at, scale)).collect();
                Self::Group(Group { marks, ..group })
            }
        }
    }

    /// A straight line from one point to another.
    #[must_use]
    pub fn straight(from: [f64; 2], to: [f64; 2], stroke: Stroke) -> Self {
        Self::line(Shape::open(&[from, to]), stroke)
    }
}

#[cfg(test)]
impl Drawing {
    /// Every text of it, in the order in which it is drawn.
    pub(crate) fn texts(&self) -> Vec<&Text> {
        let mut texts = Vec::new();
        self.walk(&mut |mark| {
            if let Mark::Text(text) = mark {
                texts.push(text);
            }
        });
        texts
    }
}

impl Drawing {
    /// Calls `visit` with every mark, groups before what is in them.
    pub fn walk<'d>(&'d self, visit: &mut dyn FnMut(&'d Mark)) {
        walk(&self.marks, visit);
    }

    /// Whether something in it leads somewhere.
    #[must_use]
    pub fn has_links(&self) -> bool {
        let mut found = false;
        self.walk(&mut |mark| found |= matches!(mark, Mark::Group(Group { link: Some(_), .. })));
        found
    }
}

fn walk<'d>(marks: &'d [Mark], visit: &mut dyn FnMut(&'d Mark)) {
    for mark in marks {
        visit(mark);
        if let Mark::Group(group) = mark {
            walk(&group.marks, visit);
        }
    }
}
