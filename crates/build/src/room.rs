//! Names of the pure rooms that the edges need, so that they lean on this room alone.

pub use faying_bench::{Change, Run, SetUp, head_side, order, sop};
pub use faying_import::sketch::{Options as SketchOptions, Reading, Sketch};
pub use faying_import::{DrawingUnits, read as read_dxf};
pub use faying_joint::callout::{CalledVerdict, Candidate, Fold, InForce};
pub use faying_joint::examine::{Aspect, Field, FieldKind, read as read_aspect};
pub use faying_joint::judge::{Action, Defects, Measured};
pub use faying_joint::ruling::{Judgement, Ruling, Said};
pub use faying_joint::seats::{Sheet, ShopSeat};
pub use faying_joint::way_back::{Way, WayKind};
pub use faying_joint::{Constants, Joint, Joints};
pub use faying_plan::keys::nearest;
pub use faying_plan::tools;
pub use faying_plan::{
    Assembly, AssemblyId, BuildLimits, Depth, GateId, HeadSide, HoleId, NeedSort, PieceId, Plan, PlaneId,
    Point, Preparation, Role, RowId, Side, StepId, Work, keys, schema as plan_schema,
};
pub use faying_record::{Act, ActId, Event, Examined, HoleStatus, State};
pub use faying_sequence::schedule;
pub use faying_sequence::{Block, Blocker, GateStanding, Openness, Progress, StepProgress, StepState};
pub use faying_standards::{
    Cited, Dash, Fastener, Figure, Finding, Force, HeadStyle, Known, Length, RivetType, Severity, Table,
    Unit, Working, figures,
};

pub use crate::clock::now;
