//! What each hole needs: stack, seats, head side, call-out, verdict, spacing.
//!
//! [`Joints`] works out every hole of a plan; [`check`] tells what somebody
//! should look at. The single computations can be asked for alone: [`seats`],
//! [`callout`] and [`judge`] need no plan.
//!
//! This room knows no events and no steps: whether a layer is there yet is the
//! business of `sequence`. Formulas and their sources: `docs/theory.md`.

pub mod callout;
mod check;
pub mod constants;
pub mod examine;
pub mod force;
pub mod gauge;
pub mod head;
pub mod judge;
pub mod odds;
pub mod ruling;
pub mod seats;
pub mod side;
pub mod spacing;
mod stack;
pub mod strength;
pub mod way_back;

pub use check::{Joint, Joints, check, in_force};
pub use constants::{Constants, Value};
pub use side::{HeadChoice, Reason, head_side};
pub use stack::Stacks;
