//! What is open, ready and closing.
//!
//! A hole stays open at a step while a layer of its stack has not arrived, or
//! while the plan holds it for a reason. A step may hide sides of planes; what
//! is not set by then is a finding. This room knows the plan's own order of
//! steps and what was done; it reads no clock and decides no order at the
//! bench.

mod check;
mod open;
mod order;
mod progress;

pub use check::check;
pub use open::{Openness, Sequence, StepWork, hole_at};
pub use order::StepOrder;
pub use progress::{Progress, StepProgress, StepState, progress};
