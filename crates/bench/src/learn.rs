//! What is learned at the bench: the tool, the metal, the drift, the times.
//!
//! Nothing that is learned is put to use by itself. Each part gives what
//! stood before, what the builder's own heads say, and what comes of both; a
//! builder adopts it or does not. While there is little data the defaults
//! weigh more. Theory chapter, "Learning".

mod chart;
mod measure;
mod metal;
mod times;
mod yoke;

pub use chart::{Average, Drift, Individuals, drift, ewma, ewma_limit, individuals};
pub use measure::{LookBack, heads_to_measure, is_measured, look_back};
pub use metal::{Calibration, HeadSeen, calibrate};
pub use times::{Learned, learn_times, share};
pub use yoke::{Reading, Yoke};
