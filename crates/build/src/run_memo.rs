//! Runs that were reckoned already: a page and the act that follows it see the same one.
//!
//! A run is kept for as long as everything it rests on is as it was. An act
//! that changes nothing of that, such as a rivet set elsewhere, does not throw
//! away what somebody has waited for.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use faying_bench::Run;

use crate::search::Question;

/// How many runs are kept; a phone and a laptop look at two or three.
const KEPT: usize = 8;

/// A run that is kept.
#[derive(Clone, Debug)]
pub(crate) struct Kept {
    question: Question,
    /// The run.
    pub run: Arc<Run>,
    /// How long somebody has had it looked for beyond what every page waits for.
    pub looked: Duration,
    /// Whether the look ended by itself without a proof, so that another would end likewise.
    pub spent: bool,
}

/// Runs by what they rest on; the one wanted last stands last.
#[derive(Debug, Default)]
pub(crate) struct RunMemo(Mutex<Vec<Kept>>);

impl RunMemo {
    /// The run as it was reckoned for this question, or reckoned now.
    pub(crate) fn get(&self, question: Question, reckon: impl FnOnce(&Question) -> Run) -> Kept {
        let known = {
            let mut kept = self.locked();
            let at = kept.iter().position(|it| it.question == question);
            at.map(|at| {
                let it = kept.remove(at);
                kept.push(it.clone());
                it
            })
        };
        // Not under the lock: another page may want another run meanwhile.
        known.unwrap_or_else(|| {
            let run = Arc::new(reckon(&question));
            self.put(Kept { question, run, looked: Duration::ZERO, spent: false })
        })
    }

    /// Keeps a run that was looked for longer, unless the one that is kept is better.
    ///
    /// How long was looked is kept in either case, so that nobody waits for the same again.
    pub(crate) fn better(&self, question: Question, run: Run, looked: Duration, spent: bool) {
        let found = Kept { question, run: Arc::new(run), looked, spent };
        let known = self.locked().iter().find(|it| it.question == found.question).cloned();
        let kept = match known {
            Some(known) if !is_better(&found.run, &known.run) => {
                Kept { looked: known.looked.max(looked), spent, ..known }
            }
            Some(known) => Kept { looked: known.looked.max(looked), ..found },
            None => found,
        };
        self.put(kept);
    }

    fn put(&self, new: Kept) -> Kept {
        let mut kept = self.locked();
        // What was waited for longer wins over what another page has reckoned at the same moment.
        if let Some(known) = kept.iter().find(|it| it.question == new.question && it.looked > new.looked) {
            return known.clone();
        }
        // The same step with the same tools out is asked once; an older plan is not asked any more.
        kept.retain(|it| !it.question.is_replaced_by(&new.question));
        if kept.len() == KEPT {
            // What somebody has waited for goes last.
            let least = kept.iter().position(|it| it.looked.is_zero()).unwrap_or(0);
            kept.remove(least);
        }
        kept.push(new.clone());
        new
    }

    fn locked(&self) -> MutexGuard<'_, Vec<Kept>> {
        // What is kept can be reckoned again, so a thread that died while holding it does no harm.
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Quicker; or as quick, and known to be nearer to the least there can be.
fn is_better(found: &Run, known: &Run) -> bool {
    let (found, known) = (&found.takes, &known.takes);
    found.seconds < known.seconds || (found.seconds <= known.seconds && found.bound > known.bound)
}
