//! What is to be built: every text file the builder writes, as a checked model.
//!
//! [`read`] takes the texts of a build's plan files and gives a [`Plan`] with
//! everything it found on the way. Nothing here opens a file; nothing here
//! computes a joint: whether a hole has enough edge distance, or a rivet the
//! right length, is the business of the next room.
//!
//! The keys of the files are in [`keys`], once; the guide and the JSON
//! [`schema`] are made from that table. [`edit`] writes rows, parts and steps
//! into a file without touching the rest of it.

pub mod difference;
mod draft;
pub mod edit;
pub mod geometry;
pub mod keys;
pub mod limits;
pub mod model;
pub mod people;
pub mod practice;
mod resolve;
pub mod tools;
mod tree;

pub use geometry::{Corner, Loop, Point};
pub use keys::schema;
pub use limits::{BuildLimits, GaugeSize, HeadGauge, OwnSet};
pub use model::{
    Assembly, AssemblyId, Attach, Bay, BayId, Depth, Flange, Gate, GateId, HeadSide, Hold, Hole, HoleId,
    Layer, Need, NeedSort, Part, PartId, Piece, PieceId, Plan, Plane, PlaneId, PlaneSide, Preparation, Row,
    RowId, RowPart, Side, Stand, Step, StepId, Work,
};
pub use people::{People, Person, Role};
pub use resolve::{Reading, read};
pub use tools::Tools;
pub use tree::SourceText;
