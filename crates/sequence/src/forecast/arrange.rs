//! The orders in which the remaining steps are walked.
//!
//! In working order, work that waits for a cure is passed over and the next
//! that is ready goes on; when the cure is over, it comes back, and what was
//! begun meanwhile rests. How much is passed over depends on how fast the
//! builder is, so a few speeds are tried, each with the usual hours of the
//! steps, and each gives one order of pieces of steps.
//!
//! In such an order the finish is built of sums and of the later of two
//! moments only: a longer step, a longer cure or a shorter week cannot make it
//! earlier, and the earliest of a few such finishes has the same property. A
//! builder who chose anew in every draw would not: with more hours, a step can
//! be begun that had better waited (Graham 1969).

use super::Remaining;
use super::weeks::Weeks;
use crate::calendar::{Moment, Week};
use crate::forecast::draw::Normals;

/// Hours a week at which orders are made. Any would do; these reach from few
/// to more than anyone has.
const SPEEDS: [f64; 5] = [4.0, 10.0, 20.0, 40.0, 80.0];

/// A part of a step, done in one go.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Piece {
    step: usize,
    /// Of the whole step.
    share: f64,
    first: bool,
    last: bool,
}

/// Pieces of steps in the order in which they are done.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Order(Vec<Piece>);

/// The orders that a draw chooses from.
#[derive(Clone, Debug)]
pub(super) struct Orders(Vec<Order>);

impl Orders {
    /// The working order itself, and what waiting makes of it at some speeds.
    ///
    /// # Units
    /// - `usual`: hours that each step usually takes
    pub(super) fn of(remaining: &[Remaining], usual: &[f64], week: &Week, start: Moment) -> Self {
        let whole = |step| Piece { step, share: 1.0, first: true, last: true };
        let mut orders = vec![Order((0..remaining.len()).map(whole).collect())];
        let waits =
            |step: &Remaining| step.waits_for.iter().any(|&before| remaining[before].cure_hours > 0.0);
        if remaining.iter().any(waits) {
            for speed in SPEEDS {
                let order = arrange(remaining, usual, &mut Weeks::steady(week, start, speed));
                if !orders.contains(&order) {
                    orders.push(order);
                }
            }
        }
        Self(orders)
    }

    /// All orders, one of them first.
    pub(super) fn beginning_with(&self, first: usize) -> impl Iterator<Item = usize> + use<> {
        let count = self.0.len();
        (0..count).map(move |at| (first + at) % count)
    }

    /// When the last piece of an order is done.
    ///
    /// # Units
    /// - `took`: hours of each step
    /// - `begun`, returns, `after`: hours of capacity; `after` gives those at the end of a cure
    pub(super) fn walk(
        &self,
        order: usize,
        remaining: &[Remaining],
        took: &[f64],
        begun: f64,
        ready: &mut [f64],
        mut after: impl FnMut(f64, f64) -> f64,
    ) -> f64 {
        let mut done = begun;
        for piece in &self.0[order].0 {
            let step = &remaining[piece.step];
            if piece.first {
                done = step.waits_for.iter().fold(done, |done, &before| done.max(ready[before]));
            }
            done += piece.share * took[piece.step];
            if piece.last {
                ready[piece.step] = if step.cure_hours > 0.0 { after(done, step.cure_hours) } else { done };
            }
        }
        done
    }
}

/// At each moment the first step in working order that is ready, in steady weeks.
fn arrange(remaining: &[Remaining], usual: &[f64], weeks: &mut Weeks) -> Order {
    // The weeks are steady: nothing is drawn.
    let mut normals = Normals::default();
    let mut rng = rand::SeedableRng::seed_from_u64(0);
    let count = remaining.len();
    let mut left = vec![1.0; count];
    let mut ready = vec![f64::INFINITY; count];
    let mut released = vec![f64::INFINITY; count];
    let release = |released: &mut [f64], ready: &[f64]| {
        for (released, step) in released.iter_mut().zip(remaining) {
            *released = step.waits_for.iter().fold(0.0, |latest, &before| f64::max(latest, ready[before]));
        }
    };
    release(&mut released, &ready);
    let mut now = weeks.missed();
    let mut pieces: Vec<Piece> = Vec::with_capacity(count);
    let mut undone = count;
    while undone > 0 {
        let open = |step: &usize| left[*step] > 0.0;
        let Some(step) = (0..count).filter(open).find(|&step| released[step] <= now) else {
            let next = (0..count).filter(open).map(|step| released[step]).fold(f64::INFINITY, f64::min);
            if next.is_infinite() {
                // A cure beyond fifty years: the rest as it stands.
                for step in (0..count).filter(open) {
                    pieces.push(Piece { step, share: left[step], first: left[step] >= 1.0, last: true });
                }
                break;
            }
            now = next;
            continue;
        };
        let come_back = (0..step).filter(open).map(|before| released[before]).fold(f64::INFINITY, f64::min);
        let first = left[step] >= 1.0;
        let rest = left[step] * usual[step];
        if rest <= come_back - now {
            pieces.push(Piece { step, share: left[step], first, last: true });
            now += rest;
            left[step] = 0.0;
            undone -= 1;
            ready[step] = weeks.after(now, remaining[step].cure_hours, &mut normals, &mut rng);
            release(&mut released, &ready);
        } else {
            let share = (come_back - now) / usual[step];
            pieces.push(Piece { step, share, first, last: false });
            left[step] -= share;
            now = come_back;
        }
    }
    Order(pieces)
}
