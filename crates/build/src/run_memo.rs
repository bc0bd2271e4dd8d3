//! Runs that were reckoned already: a page and the act that follows it see the same one.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use faying_bench::Run;
use faying_plan::StepId;

/// How many runs are kept; a phone and a laptop look at two or three.
const KEPT: usize = 8;

/// A run that is kept.
#[derive(Debug)]
struct Kept {
    version: u64,
    step: StepId,
    without: Vec<String>,
    run: Arc<Run>,
}

/// Runs by version of the world, step, and tools that are not at hand.
#[derive(Debug, Default)]
pub(crate) struct RunMemo(Mutex<Vec<Kept>>);

impl RunMemo {
    /// The run as it was reckoned for this version, or reckoned now.
    pub(crate) fn get(
        &self,
        version: u64,
        step: StepId,
        without: &[String],
        reckon: impl FnOnce() -> Run,
    ) -> Arc<Run> {
        let known = self.locked().iter().find_map(|it| {
            let same = it.version == version && it.step == step && it.without == without;
            same.then(|| Arc::clone(&it.run))
        });
        // Not under the lock: another page may want another run meanwhile.
        known.unwrap_or_else(|| {
            let run = Arc::new(reckon());
            self.put(version, step, without, &run);
            run
        })
    }

    /// Keeps a run that was searched for longer.
    pub(crate) fn put(&self, version: u64, step: StepId, without: &[String], run: &Arc<Run>) {
        let mut kept = self.locked();
        kept.retain(|it| it.version == version && !(it.step == step && it.without == without));
        if kept.len() == KEPT {
            kept.remove(0);
        }
        kept.push(Kept { version, step, without: without.to_vec(), run: Arc::clone(run) });
    }

    fn locked(&self) -> MutexGuard<'_, Vec<Kept>> {
        // What is kept can be reckoned again, so a thread that died while holding it does no harm.
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
