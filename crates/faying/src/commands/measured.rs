//! What the hidden commands share that run a search on a public instance: a file, a time, a progress line.

use std::io::{IsTerminal, Write};
use std::path::PathBuf;
use std::sync::Mutex;
use std::time::{Duration, Instant};

use serde::Serialize;

use crate::{Ended, Failure, Outcome};

/// Between two progress lines that are written below each other.
const BETWEEN_LINES: Duration = Duration::from_secs(1);
/// Between two that are written over each other.
const BETWEEN_CHANGES: Duration = Duration::from_millis(100);

/// A file of a public benchmark, and how it is searched
#[derive(clap::Args)]
pub struct Instance {
    /// The file
    file: PathBuf,
    /// How long to search; it ends sooner where the result is proven best
    #[arg(long, value_name = "SECONDS", default_value_t = 10.0)]
    seconds: f64,
    /// Where the search's draws start
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pub seed: u64,
    /// As JSON
    #[arg(long)]
    json: bool,
}

impl Instance {
    /// The file as what its reader makes of it.
    pub fn read<P, E: std::fmt::Display>(
        &self,
        reader: impl FnOnce(&str) -> Result<P, E>,
    ) -> Result<P, Failure> {
        if !(self.seconds.is_finite() && (0.0..=1e6).contains(&self.seconds)) {
            return Err(Failure(format!("--seconds {}: write a number such as 10", self.seconds)));
        }
        let file = self.file.display();
        let bytes =
            std::fs::read(&self.file).map_err(|error| Failure(format!("{file} cannot be read: {error}")))?;
        reader(&String::from_utf8_lossy(&bytes))
            .map_err(|error| Failure(format!("{file} cannot be read: {error}")))
    }

    /// Searches until the time is over, with a progress line on the standard error.
    ///
    /// `search` gets what says that it is to stop, and is shown a line of how far it is.
    pub fn search<S>(&self, search: impl FnOnce(&(dyn Fn(&str) -> bool + Sync)) -> S) -> S {
        let (start, time) = (Instant::now(), Duration::from_secs_f64(self.seconds));
        let terminal = std::io::stderr().is_terminal();
        let between = if terminal { BETWEEN_CHANGES } else { BETWEEN_LINES };
        let last = Mutex::new(start);
        let found = search(&|how_far| {
            // A line that is being written by the other thread is not waited for.
            if let Ok(mut last) = last.try_lock()
                && last.elapsed() >= between
            {
                *last = Instant::now();
                let line = format!("{:.1} s  {how_far}", start.elapsed().as_secs_f64());
                let mut err = std::io::stderr().lock();
                // Progress that cannot be shown is no reason to stop.
                let _ = if terminal { write!(err, "\r{line:<70}") } else { writeln!(err, "{line}") };
            }
            start.elapsed() >= time
        });
        if terminal {
            eprint!("\r{:70}\r", "");
        }
        found
    }

    /// Prints a report as one line of JSON, or in words: hundreds of numbers, one to a line, are nothing to read.
    pub fn tell<R: Serialize>(&self, report: &R, in_words: impl FnOnce(&R)) -> Ended {
        if self.json {
            let text = serde_json::to_string(report).map_err(|error| Failure::of(&error))?;
            say!("{text}");
        } else {
            in_words(report);
        }
        Ok(Outcome::Clean)
    }
}
