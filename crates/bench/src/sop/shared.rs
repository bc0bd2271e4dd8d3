//! What the searching and the proving half know together.

use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::{Mutex, PoisonError};

/// The best order so far and the best bound so far.
///
/// Both halves read the numbers often and the order seldom, so the numbers stand apart.
pub(super) struct Shared {
    cost: AtomicI64,
    bound: AtomicI64,
    order: Mutex<Vec<u32>>,
}

impl Shared {
    pub(super) fn new(order: Vec<u32>, cost: i64, bound: i64) -> Self {
        Self { cost: AtomicI64::new(cost), bound: AtomicI64::new(bound.min(cost)), order: Mutex::new(order) }
    }

    pub(super) fn cost(&self) -> i64 {
        self.cost.load(Ordering::Acquire)
    }

    pub(super) fn bound(&self) -> i64 {
        self.bound.load(Ordering::Acquire).min(self.cost())
    }

    pub(super) fn closed(&self) -> bool {
        self.bound.load(Ordering::Acquire) >= self.cost()
    }

    /// Takes an order if it is cheaper than the best so far.
    pub(super) fn offer(&self, order: &[u32], cost: i64) {
        if cost >= self.cost() {
            return;
        }
        let mut best = self.order.lock().unwrap_or_else(PoisonError::into_inner);
        // Asked again under the lock: the other half may have been faster.
        if cost < self.cost() {
            best.clear();
            best.extend_from_slice(order);
            self.cost.store(cost, Ordering::Release);
        }
    }

    /// Takes a bound that is proven.
    pub(super) fn raise(&self, bound: i64) {
        self.bound.fetch_max(bound, Ordering::AcqRel);
    }

    /// The best order, and what it costs.
    pub(super) fn best(&self) -> (Vec<u32>, i64) {
        let order = self.order.lock().unwrap_or_else(PoisonError::into_inner);
        (order.clone(), self.cost())
    }
}
