//! What is open, ready and closing.
//!
//! A hole stays open at a step while a layer of its stack has not arrived, or
//! while the plan holds it for a reason. A step may hide sides of planes; what
//! is not set by then is a finding. This room knows the plan's own order of
//! steps and what was done; it reads no clock and decides no order at the
//! bench.

mod batch;
mod calendar;
mod check;
mod closing;
mod effort;
mod fault;
mod forecast;
mod gate;
mod hands;
mod open;
mod order;
mod pace;
mod progress;
pub mod revision;
pub mod schedule;
mod today;
mod working_order;

pub use batch::{Batch, Forward, batches};
pub use calendar::{Calendar, Day, Moment, Session, Week, WeekError, Weekday};
pub use check::check;
pub use closing::{Hidden, hidden_by};
pub use effort::{Effort, planned_hours};
pub use fault::{OpenFault, examined_open, stands};
pub use forecast::{DRAWS, Forecast, ForecastError, Question, Remaining, forecast};
pub use gate::{Block, Blocker, GateStanding, Scope};
pub use hands::has_hands;
pub use open::{Openness, Sequence, StepWork, hole_at};
pub use order::StepOrder;
pub use pace::{ASSUMED, Assumed, Band, Belief, FinishedStep, Pace, WeekHours};
pub use progress::{Progress, StepProgress, StepState, progress};
pub use today::{Asked, Pick, Reason, today};
pub use working_order::{Turn, With, WorkingOrder, working_order};
