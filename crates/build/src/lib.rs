//! The open folder of a build: one writer, many readers.
//!
//! A [`Build`] reads the plan's text files, folds the record over them and
//! keeps both in memory as a [`World`]. Acts go through one writer thread,
//! which answers only after the rows are on the disk; several acts that arrive
//! together share one write. This room also shapes what the command line and
//! the pages show ([`report`]); it holds no formula, no HTTP and no SQL.

mod act;
mod bag;
mod bench_report;
mod bench_run;
mod care;
mod charts;
mod clock;
mod cost;
pub mod entry;
mod error;
mod evening;
mod fault;
mod folder;
mod gates;
mod learned;
mod look_back;
mod photographs;
mod plan_page;
pub mod report;
pub mod room;
mod run_memo;
mod search;
pub mod spacing;
mod start;
mod steps;
pub mod strength;
mod world;
mod writer;

pub use act::{ActKind, ActRequest, Answer, ReasonGiven};
pub use bench_report::{BenchAct, BenchBag, BenchHole, BenchReport, BenchSetUp};
pub use bench_run::{BenchSide, OtherHand};
pub use care::{VerifyReport, backup, verify};
pub use charts::{
    CaliperReport, CapabilityReport, ChartHead, ChartsReport, DrilledOut, DrilledRow, SampleReport,
    SettingChart, SizeChart, heads_wanted,
};
pub use cost::Cost;
pub use error::BuildError;
pub use evening::{BatchReport, CuringReport, ForecastReport, NextGate, NextReport, NextStep};
pub use fault::{FaultReport, FaultState, Repairs, reading_words};
pub use folder::{Folder, PLAN_FOLDER, RECORD_FILE, gate_practices};
pub use gates::{BlockerReport, GateReport, OwedReport, anchor, waiting, waiting_until, waiting_words};
pub use learned::LearnedFigure;
pub use look_back::Shared;
pub use photographs::{OriginalError, PHOTO_FOLDER, PhotographReport, Picture};
pub use plan_page::{
    ArcReport, ClosedRow, ClosingReport, CurveReport, FinishReport, LaneReport, LineReport, OpenStep,
    OrderReport, PathReport, PlanReport, Stands, TurnReport, UnfilledRow, WholeOpenReport, hours_words,
};
pub use search::{FIRST_LOOK, Going, LONGEST_LOOK, LookError, LookReport};
pub use start::{start_fault, start_text};
pub use steps::{ClockReport, ItemReport, StepReport, WaitReport};
pub use world::{PlanSide, World};
pub use writer::{Build, Disk};
