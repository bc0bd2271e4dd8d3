//! What was done: event kinds and their versions, and the fold to a state.
//!
//! Everything that happens at the bench is an [`Event`] in an [`Envelope`]:
//! who, when, under which revision of the plan. Nothing is ever changed or
//! taken away; a mistake is mended by a later event that names the earlier
//! one. The as-built [`State`] is never stored, only computed: the fold of the
//! events over the plan.
//!
//! This room opens no file and knows no SQL. It says what the bytes of an
//! event mean; where they lie is the business of `ledger`.

mod envelope;
mod event;
mod moment;
mod state;

pub use envelope::{Envelope, EnvelopeError};
pub use event::{
    Asked, BagChecked, BenchTemperature, ClockStarted, ConstantsAdopted, CouponProven, Decided, Disagreement,
    Event, Examined, FaultFound, GatePassed, HeadMeasured, HoldLifted, HoldPlaced, HoleOpened, HolesSet,
    LearnedValue, LetPass, Looked, NoteMade, Owed, OwedDone, Photographed, ReadingTaken, RevisionAdopted,
    RunChanged, RunEnded, RunStarted, SetBefore, SetUpFrozen, StepDone, Torqued, Undone, WorkDone, Worked,
};
pub use moment::{day_number, seconds_of};
pub use state::{Act, ActId, HoleStatus, Measurement, RunState, State};
