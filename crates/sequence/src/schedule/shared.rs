//! What the searching and the proving half know together.

use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Mutex, PoisonError};

/// The best schedule so far and the best bound so far.
///
/// Both halves read the numbers often and the starts seldom, so the numbers stand apart.
pub(super) struct Shared {
    makespan: AtomicU32,
    bound: AtomicU32,
    starts: Mutex<Vec<i32>>,
}

impl Shared {
    pub(super) fn new(starts: Vec<i32>, makespan: u32, bound: u32) -> Self {
        Self {
            makespan: AtomicU32::new(makespan),
            bound: AtomicU32::new(bound.min(makespan)),
            starts: Mutex::new(starts),
        }
    }

    pub(super) fn makespan(&self) -> u32 {
        self.makespan.load(Ordering::Acquire)
    }

    pub(super) fn bound(&self) -> u32 {
        self.bound.load(Ordering::Acquire).min(self.makespan())
    }

    pub(super) fn closed(&self) -> bool {
        self.bound.load(Ordering::Acquire) >= self.makespan()
    }

    /// Takes a schedule if it ends sooner than the best so far.
    pub(super) fn offer(&self, starts: &[i32], makespan: u32) {
        if makespan >= self.makespan() {
            return;
        }
        let mut best = self.starts.lock().unwrap_or_else(PoisonError::into_inner);
        // Asked again under the lock: the other half may have been faster.
        if makespan < self.makespan() {
            best.clear();
            best.extend_from_slice(starts);
            self.makespan.store(makespan, Ordering::Release);
        }
    }

    /// Takes a bound that is proven.
    pub(super) fn raise(&self, bound: u32) {
        self.bound.fetch_max(bound, Ordering::AcqRel);
    }

    /// The best schedule, and when it ends.
    pub(super) fn best(&self) -> (Vec<i32>, u32) {
        let starts = self.starts.lock().unwrap_or_else(PoisonError::into_inner);
        (starts.clone(), self.makespan())
    }
}
