//! One run at the bench: tools, set-ups, settings, order.
//!
//! A run is the holes of one step that are filled now, grouped by set-up, so
//! that the squeezer is changed as seldom as may be; within a set-up every
//! other hole first, then those between. Settings are shown only as changes
//! from a head proven on scrap. This room does not decide what stays open;
//! `sequence` has said so.

mod run;
mod tools;

pub use run::{BagLine, Change, Proven, Run, SetUp, run, run_of_holes};
pub use tools::{Choice, Tool, tool_for};
