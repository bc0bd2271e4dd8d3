//! The checked model of a build: what is to be built, as plain data.
//!
//! Everything lies in flat lists and names its neighbours by index, so that
//! twenty thousand holes are one contiguous list and a computation walks it
//! without a lookup by name. Ids ([`HoleId`] and its kin) are positions in
//! those lists and hold only for the [`Plan`] they came from; a record that
//! must last names things as the builder does (see [`Plan::hole_name`]).

use std::collections::HashMap;
use std::fmt;
use std::ops::{Index, Range};

use faying_standards::fastener::Fastener;
use faying_standards::rivet::RivetType;
use faying_standards::{Length, Unit};

use crate::geometry::{Loop, Point};
use crate::limits::BuildLimits;
use crate::people::People;
use crate::tools::Tools;
use crate::tree::{SourceText, Spot};

macro_rules! ids {
    ($($(#[$doc:meta])* $id:ident => $list:ident: $item:ident;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $id(pub u32);

        impl $id {
            /// Position in the list.
            #[must_use]
            pub const fn index(self) -> usize {
                self.0 as usize
            }

            /// From a position in the list.
            #[must_use]
            pub fn from_index(index: usize) -> Self {
                Self(u32::try_from(index).expect("a build has fewer than four thousand million of anything"))
            }
        }

        impl Index<$id> for Plan {
            type Output = $item;
            fn index(&self, id: $id) -> &$item {
                &self.$list[id.index()]
            }
        }
    )*};
}

ids! {
    /// An assembly of this plan.
    AssemblyId => assemblies: Assembly;
    /// A part of this plan.
    PartId => parts: Part;
    /// A piece (one copy of a part) of this plan.
    PieceId => pieces: Piece;
    /// A plane of this plan.
    PlaneId => planes: Plane;
    /// A row of this plan.
    RowId => rows: Row;
    /// A hole of this plan.
    HoleId => holes: Hole;
    /// A step of this plan.
    StepId => steps: Step;
    /// A bay of this plan.
    BayId => bays: Bay;
    /// A gate of this plan.
    GateId => gates: Gate;
}

/// A build as its plan files describe it.
#[derive(Clone, Debug, Default)]
pub struct Plan {
    /// Assemblies, in the order of their files' names.
    pub assemblies: Vec<Assembly>,
    /// Parts of all assemblies.
    pub parts: Vec<Part>,
    /// Every copy of every part.
    pub pieces: Vec<Piece>,
    /// Planes of all assemblies.
    pub planes: Vec<Plane>,
    /// Rows of all assemblies.
    pub rows: Vec<Row>,
    /// Holes of all rows; a row's holes lie together.
    pub holes: Vec<Hole>,
    /// Bays of all assemblies.
    pub bays: Vec<Bay>,
    /// Steps of all assemblies.
    pub steps: Vec<Step>,
    /// Gates of all assemblies.
    pub gates: Vec<Gate>,
    /// The builder's own values.
    pub limits: BuildLimits,
    /// The tools of the build, or the starter set.
    pub tools: Tools,
    /// Who works on it, and when.
    pub people: People,
    /// The texts it was read from.
    pub files: Vec<SourceText>,
    pub(crate) rows_by_name: HashMap<String, RowId>,
}

/// Parts joined together.
#[derive(Clone, Debug)]
pub struct Assembly {
    /// Short name, unique in the build.
    pub id: String,
    /// Name as shown.
    pub title: String,
    /// Unit of the bare numbers of its file.
    pub unit: Unit,
    /// Whether it is the other hand: drawings are reversed, distances stay.
    pub mirrored: bool,
    /// The assembly it is the mirror image of.
    pub mirror_of: Option<AssemblyId>,
    /// Its file, an index into [`Plan::files`].
    pub file: usize,
    /// A remark.
    pub note: String,
    /// Its planes, in file order.
    pub planes: Vec<PlaneId>,
    /// Its parts, in file order.
    pub parts: Vec<PartId>,
    /// All its rows, those of planes first.
    pub rows: Vec<RowId>,
    /// Its steps, in file order.
    pub steps: Vec<StepId>,
    /// Its bays.
    pub bays: Vec<BayId>,
    /// Its gates.
    pub gates: Vec<GateId>,
}

/// One kind of piece: material, thickness, finish.
#[derive(Clone, Debug)]
pub struct Part {
    /// The assembly in whose file it stands.
    pub assembly: AssemblyId,
    /// Short name, unique in its assembly.
    pub name: String,
    /// Name as shown.
    pub title: String,
    /// Material and temper as written, such as `2024-T3`.
    pub material: String,
    /// Sheet thickness; none for a part of another kind (a casting, a bought hinge).
    pub thickness: Option<Length>,
    /// What is done to it before assembly, such as `prime`.
    pub finish: String,
    /// The part number in the builder's own plans.
    pub number: String,
    /// Its copies.
    pub pieces: Vec<PieceId>,
    /// A remark.
    pub note: String,
    pub(crate) spot: Spot,
}

/// One copy of a part: what is held in the hand.
#[derive(Clone, Debug)]
pub struct Piece {
    /// Which part.
    pub part: PartId,
    /// Which copy, empty where there is one only.
    pub copy: String,
}

/// The side of a plane.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Side {
    /// The side that is drawn first.
    Near,
    /// The other one.
    Far,
}

impl Side {
    /// The other side.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Near => Self::Far,
            Self::Far => Self::Near,
        }
    }
}

/// A flat face in which holes are drawn.
#[derive(Clone, Debug)]
pub struct Plane {
    /// The assembly it belongs to.
    pub assembly: AssemblyId,
    /// Short name, unique in its assembly.
    pub name: String,
    /// Name as shown.
    pub title: String,
    /// Trade name of the near side, such as `aft`.
    pub near: String,
    /// Trade name of the far side.
    pub far: String,
    /// Layers, near to far.
    pub layers: Vec<Layer>,
    /// Bend lines, from point to point.
    pub bends: Vec<[Point; 2]>,
    /// The flanges of those bends that say theirs.
    pub flanges: Vec<Flange>,
    /// What stands on a side of it: brackets and other parts that are not layers.
    pub stands: Vec<Stand>,
    /// Its rows, in file order.
    pub rows: Vec<RowId>,
    /// A remark.
    pub note: String,
    pub(crate) spot: Spot,
}

impl Plane {
    /// Trade name of a side.
    #[must_use]
    pub fn side_name(&self, side: Side) -> &str {
        match side {
            Side::Near => &self.near,
            Side::Far => &self.far,
        }
    }

    /// The side that has this trade name.
    #[must_use]
    pub fn side(&self, name: &str) -> Option<Side> {
        side_named(name, &self.near, &self.far)
    }
}

/// The side that a name means where the two have these trade names.
pub(crate) fn side_named(name: &str, near: &str, far: &str) -> Option<Side> {
    match name {
        _ if name == near => Some(Side::Near),
        _ if name == far => Some(Side::Far),
        "near" => Some(Side::Near),
        "far" => Some(Side::Far),
        _ => None,
    }
}

/// A flange that stands on a plane along a bend.
#[derive(Clone, Debug, PartialEq)]
pub struct Flange {
    /// Its bend, a position in [`Plane::bends`].
    pub bend: usize,
    /// The part that is bent, where the plan says which; else it is there from the start.
    pub pieces: Vec<PieceId>,
    /// The side it stands on.
    pub side: Side,
    /// How high, over that side.
    pub height: Length,
    /// How far it goes back over the web, for a return flange.
    pub lip: Option<Length>,
}

/// Something that stands on a side of a plane.
#[derive(Clone, Debug)]
pub struct Stand {
    /// Short name, unique in its plane.
    pub name: String,
    /// What of the plane it stands on.
    pub outline: Loop,
    /// The side it stands on.
    pub side: Side,
    /// How high, over that side.
    pub height: Length,
    /// The step from which it is there; from the start where none is given.
    pub from: Option<StepId>,
    /// A remark.
    pub note: String,
}

/// A piece in a plane, with its shape where it is drawn.
#[derive(Clone, Debug)]
pub struct Layer {
    /// Which piece.
    pub piece: PieceId,
    /// Its outline; none means that the piece is everywhere in this plane.
    pub outline: Option<Loop>,
    /// Lightening holes and other cut-outs.
    pub cuts: Vec<Loop>,
}

/// What is done to a layer at a hole.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Preparation {
    /// Drilled and deburred.
    #[default]
    Plain,
    /// Pressed into a cone; the sheet keeps about its thickness.
    Dimpled,
    /// Cut to a cone; the sheet loses it.
    Countersunk,
}

impl Preparation {
    /// All of them, for a message.
    pub const WORDS: [&'static str; 3] = ["plain", "dimpled", "countersunk"];

    /// Reads one of [`Preparation::WORDS`].
    #[must_use]
    pub fn read(word: &str) -> Option<Self> {
        match word {
            "plain" => Some(Self::Plain),
            "dimpled" => Some(Self::Dimpled),
            "countersunk" => Some(Self::Countersunk),
            _ => None,
        }
    }
}

impl fmt::Display for Preparation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Plain => "plain",
            Self::Dimpled => "dimpled",
            Self::Countersunk => "countersunk",
        })
    }
}

/// How much the plan says of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Depth {
    /// A count and a call-out.
    Counted,
    /// The layers as well.
    Stacked,
    /// Positions in a plane.
    Drawn,
}

/// Holes with one rule.
#[derive(Clone, Debug)]
pub struct Row {
    /// The assembly it belongs to.
    pub assembly: AssemblyId,
    /// The plane it lies in, for a drawn row.
    pub plane: Option<PlaneId>,
    /// Short name, unique in its plane, or in its assembly without one.
    pub name: String,
    /// How much is known of it.
    pub depth: Depth,
    /// Its holes, positions in [`Plan::holes`].
    pub holes: Range<u32>,
    /// The rivet without its length, where a solid rivet goes in.
    pub rivet: Option<RivetType>,
    /// What the plan calls for: a whole part number, or the rivet with its length.
    pub called: Option<Fastener>,
    /// Side of the manufactured head, in words of the plane.
    pub head: Option<HeadSide>,
    /// Preparation of the layers that are not plain.
    pub prep: Vec<(PartId, Preparation)>,
    /// The layers as the builder lists them, near to far.
    pub through: Option<Vec<PieceId>>,
    /// Hole size where the plan gives one.
    pub hole_size: Option<Length>,
    /// Room in front of the shop head before something else is met.
    pub clearance: Option<Length>,
    /// Kept open until a step, with the reason.
    pub hold: Option<Hold>,
    /// The rivets that hold a nutplate.
    pub attach: Option<Attach>,
    /// The row of another plane whose holes these are.
    pub same: Option<RowId>,
    /// A remark.
    pub note: String,
    pub(crate) spot: Spot,
}

impl Row {
    /// How many holes.
    #[must_use]
    pub fn count(&self) -> u32 {
        self.holes.end - self.holes.start
    }

    /// Its holes.
    pub fn hole_ids(&self) -> impl DoubleEndedIterator<Item = HoleId> + use<> {
        self.holes.clone().map(HoleId)
    }
}

/// Where the manufactured head goes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum HeadSide {
    /// A side of the row's plane, or of the listed stack.
    Side(Side),
    /// The builder's own words, carried as written.
    Words(String),
}

/// A place kept empty.
#[derive(Clone, Debug)]
pub struct Hold {
    /// The step at which it is filled.
    pub until: Option<StepId>,
    /// Why.
    pub why: String,
}

/// The rivets that hold each nutplate of a row.
#[derive(Clone, Debug)]
pub struct Attach {
    /// Which rivet.
    pub called: Fastener,
    /// How many for each nutplate.
    pub each: u32,
}

/// A place for a fastener.
#[derive(Clone, Copy, Debug)]
pub struct Hole {
    /// Its row.
    pub row: RowId,
    /// Its number in the row, from 1.
    pub number: u32,
    /// Where it is, in a drawn row.
    pub at: Option<Point>,
}

/// A side of a plane.
pub type PlaneSide = (PlaneId, Side);

/// Plane sides that are reached, and hidden, together.
#[derive(Clone, Debug)]
pub struct Bay {
    /// The assembly in whose file it stands.
    pub assembly: AssemblyId,
    /// Short name.
    pub name: String,
    /// Its sides.
    pub sides: Vec<PlaneSide>,
}

/// A piece of work.
#[derive(Clone, Debug)]
pub struct Step {
    /// The assembly in whose file it stands.
    pub assembly: AssemblyId,
    /// Short name, unique in its assembly.
    pub name: String,
    /// Name as shown.
    pub title: String,
    /// Where it stands in the builder's own plans.
    pub sheet: String,
    /// Pieces that come in.
    pub adds: Vec<PieceId>,
    /// Rows, or parts of rows, that are set.
    pub sets: Vec<RowPart>,
    /// Sides that are hidden afterwards.
    pub closes: Vec<PlaneSide>,
    /// Steps that come before.
    pub after: Vec<StepId>,
    /// Planned hours.
    pub hours: Option<f64>,
    /// Kind of work.
    pub work: Work,
    /// Pieces it is done to, where it is done piece by piece.
    pub parts: Vec<PieceId>,
    /// Rows it is done to, where it is done row by row and sets nothing.
    pub rows: Vec<RowPart>,
    /// How many people it takes.
    pub people: u32,
    /// What to fetch for it.
    pub tools: Vec<String>,
    /// Hours that must pass before what comes after it.
    pub cure_hours: Option<f64>,
    /// Places on the bench that it takes, also while it cures.
    pub bench: Option<u32>,
    /// A remark.
    pub note: String,
    pub(crate) spot: Spot,
}

/// A kind of work, in the order in which a piece goes through them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Work {
    /// Drilled or reamed to size.
    FinalDrill,
    /// Edges and holes deburred.
    Deburr,
    /// Layers dimpled.
    Dimple,
    /// Layers countersunk.
    Countersink,
    /// Marked, so that it is known again after finishing.
    Mark,
    /// Primed, or otherwise finished in a batch.
    Prime,
    /// Put together.
    Assemble,
    /// Rivets set.
    Set,
    /// Bolts put in and torqued.
    Bolt,
    /// Fitted to something else.
    Fit,
    /// Sealed.
    Seal,
    /// Anything else.
    #[default]
    Other,
}

impl Work {
    /// All of them, in the order of [`crate::keys::WORKS`].
    pub const ALL: [Self; 12] = [
        Self::FinalDrill,
        Self::Deburr,
        Self::Dimple,
        Self::Countersink,
        Self::Mark,
        Self::Prime,
        Self::Assemble,
        Self::Set,
        Self::Bolt,
        Self::Fit,
        Self::Seal,
        Self::Other,
    ];

    /// The word by which a plan file names it.
    #[must_use]
    pub fn word(self) -> &'static str {
        crate::keys::WORKS[self as usize]
    }

    /// The kind of work that a word means.
    #[must_use]
    pub fn read(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|work| work.word() == word)
    }

    /// Whether it is done to pieces before they are finished: afterwards it would go through the primer.
    #[must_use]
    pub const fn is_preparation(self) -> bool {
        matches!(self, Self::FinalDrill | Self::Deburr | Self::Dimple | Self::Countersink)
    }
}

/// A row, or some of its holes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RowPart {
    /// The row.
    pub row: RowId,
    /// First hole number.
    pub first: u32,
    /// Last hole number.
    pub last: u32,
}

impl RowPart {
    /// Whether the hole with this number is meant.
    #[must_use]
    pub const fn has(&self, number: u32) -> bool {
        self.first <= number && number <= self.last
    }
}

/// A point that may not be passed while something before it is undone.
#[derive(Clone, Debug)]
pub struct Gate {
    /// The assembly in whose file it stands; none for a gate of the whole build.
    pub assembly: Option<AssemblyId>,
    /// Short name.
    pub name: String,
    /// Name as shown.
    pub title: String,
    /// The step it stands before.
    pub before: Option<StepId>,
    /// Steps it stands behind.
    pub after: Vec<StepId>,
    /// Assemblies all of whose work it asks for.
    pub covers: Vec<AssemblyId>,
    /// What it asks for beside what every gate does.
    pub needs: Vec<Need>,
    /// Whether what it covers is structure.
    pub structure: bool,
    /// Where the authority's rule stands.
    pub rule: String,
    /// A remark.
    pub note: String,
    pub(crate) spot: Spot,
}

/// Something that a gate asks for by name.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Need {
    /// What sort of thing.
    pub sort: NeedSort,
    /// Its name, in the builder's words.
    pub name: String,
}

/// What a gate may ask for by name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum NeedSort {
    /// That somebody entitled has looked at it.
    Inspection,
    /// A photograph.
    Photograph,
    /// That something was looked for and found: a conduit inside, a full free travel.
    Check,
}

impl NeedSort {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Inspection, Self::Photograph, Self::Check];

    /// The word by which a plan file names it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Inspection => "inspection",
            Self::Photograph => "photograph",
            Self::Check => "check",
        }
    }
}

impl fmt::Display for Need {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.sort.word(), self.name)
    }
}

impl Plan {
    /// Name of a piece within its assembly: `rib/1`, or `web` where there is one only.
    #[must_use]
    pub fn piece_name(&self, id: PieceId) -> String {
        let piece = &self[id];
        let part = &self[piece.part];
        if piece.copy.is_empty() { part.name.clone() } else { format!("{}/{}", part.name, piece.copy) }
    }

    /// Name of a row: `flap-left/web/A`, or `flap-left/K` without a plane.
    #[must_use]
    pub fn row_name(&self, id: RowId) -> String {
        let row = &self[id];
        let assembly = &self[row.assembly].id;
        match row.plane {
            Some(plane) => format!("{assembly}/{}/{}", self[plane].name, row.name),
            None => format!("{assembly}/{}", row.name),
        }
    }

    /// Lasting name of a hole: `flap-left/web/A/7`.
    #[must_use]
    pub fn hole_name(&self, id: HoleId) -> String {
        let hole = &self[id];
        format!("{}/{}", self.row_name(hole.row), hole.number)
    }

    /// Holes of one row in words: `hole 7`, or `holes 1 to 4, 7 and 9 to 12`.
    #[must_use]
    pub fn hole_range(&self, holes: &[HoleId]) -> String {
        let mut numbers: Vec<u32> = holes.iter().map(|&hole| self[hole].number).collect();
        numbers.sort_unstable();
        let mut stretches: Vec<(u32, u32)> = Vec::new();
        for number in numbers {
            match stretches.last_mut() {
                Some((_, last)) if *last + 1 >= number => *last = number,
                _ => stretches.push((number, number)),
            }
        }
        let words: Vec<String> = stretches
            .iter()
            .flat_map(|&(first, last)| match last - first {
                0 => vec![first.to_string()],
                1 => vec![first.to_string(), last.to_string()],
                _ => vec![format!("{first} to {last}")],
            })
            .collect();
        let sort = if holes.len() == 1 { "hole" } else { "holes" };
        format!("{sort} {}", crate::draft::list(words.iter().map(String::as_str)))
    }

    /// Name of a step: `flap-left/ribs`.
    #[must_use]
    pub fn step_name(&self, id: StepId) -> String {
        let step = &self[id];
        format!("{}/{}", self[step.assembly].id, step.name)
    }

    /// Name of a plane: `flap-left/web`.
    #[must_use]
    pub fn plane_name(&self, id: PlaneId) -> String {
        let plane = &self[id];
        format!("{}/{}", self[plane.assembly].id, plane.name)
    }

    /// The assembly with this short name.
    #[must_use]
    pub fn assembly_named(&self, id: &str) -> Option<AssemblyId> {
        self.assemblies.iter().position(|a| a.id == id).map(AssemblyId::from_index)
    }

    /// The step with this name (`flap-left/ribs`).
    #[must_use]
    pub fn step_named(&self, name: &str) -> Option<StepId> {
        let (assembly, step) = name.split_once('/')?;
        let assembly = self.assembly_named(assembly)?;
        self[assembly].steps.iter().copied().find(|&id| self[id].name == step)
    }

    /// The row with this name (`flap-left/web/A`).
    #[must_use]
    pub fn row_named(&self, name: &str) -> Option<RowId> {
        self.rows_by_name.get(name).copied()
    }

    /// The hole with this lasting name (`flap-left/web/A/7`).
    #[must_use]
    pub fn hole_named(&self, name: &str) -> Option<HoleId> {
        let (row, number) = name.rsplit_once('/')?;
        let row = &self[self.row_named(row)?];
        let number: u32 = number.parse().ok().filter(|&n| n >= 1 && n <= row.count())?;
        Some(HoleId(row.holes.start + number - 1))
    }

    /// Name of a gate: `flap-left/nose`, or `rigging` for one of the whole build.
    #[must_use]
    pub fn gate_name(&self, id: GateId) -> String {
        let gate = &self[id];
        match gate.assembly {
            Some(assembly) => format!("{}/{}", self[assembly].id, gate.name),
            None => gate.name.clone(),
        }
    }

    /// The gate with this name (`flap-left/nose`, `rigging`).
    #[must_use]
    pub fn gate_named(&self, name: &str) -> Option<GateId> {
        let (assembly, short) = match name.split_once('/') {
            Some((assembly, short)) => (Some(self.assembly_named(assembly)?), short),
            None => (None, name),
        };
        let is_meant = |gate: &Gate| gate.assembly == assembly && gate.name == short;
        self.gates.iter().position(is_meant).map(GateId::from_index)
    }

    /// Lasting name of a piece: `flap-left/rib/1`.
    #[must_use]
    pub fn piece_full_name(&self, id: PieceId) -> String {
        format!("{}/{}", self[self[self[id].part].assembly].id, self.piece_name(id))
    }

    /// Whether a hole takes a bolt.
    #[must_use]
    pub fn is_bolt(&self, id: HoleId) -> bool {
        matches!(self[self[id].row].called, Some(Fastener::Bolt { .. }))
    }

    /// Where a gate is written, for a finding of another room.
    #[must_use]
    pub fn gate_place(&self, id: GateId) -> faying_standards::Place {
        self[id].spot.place(&self.files)
    }

    /// Where a row is written, for a finding of another room.
    #[must_use]
    pub fn row_place(&self, id: RowId) -> faying_standards::Place {
        self[id].spot.place(&self.files)
    }

    /// Where a step is written, for a finding of another room.
    #[must_use]
    pub fn step_place(&self, id: StepId) -> faying_standards::Place {
        self[id].spot.place(&self.files)
    }

    /// Where a plane is written, for a finding of another room.
    #[must_use]
    pub fn plane_place(&self, id: PlaneId) -> faying_standards::Place {
        self[id].spot.place(&self.files)
    }

    /// Where a part is written, for a finding of another room.
    #[must_use]
    pub fn part_place(&self, id: PartId) -> faying_standards::Place {
        self[id].spot.place(&self.files)
    }

    /// Preparation of a part at a row.
    #[must_use]
    pub fn preparation(&self, row: RowId, part: PartId) -> Preparation {
        self[row]
            .prep
            .iter()
            .find(|(prepared, _)| *prepared == part)
            .map_or(Preparation::Plain, |(_, how)| *how)
    }
}
