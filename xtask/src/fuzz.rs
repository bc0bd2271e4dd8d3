//! Inputs made at random for the two readers of foreign text, for a given time.
//!
//! With cargo-fuzz, its two targets (`fuzz/`) take turns. Without it, the
//! property tests of the same crates run over and over, with new seeds each
//! time: they know the shape of the input but not the paths through the code.

use std::time::{Duration, Instant};

use crate::Outcome;
use crate::shell::{self, Fault, answer, cargo, say, top};

/// The targets in `fuzz/fuzz_targets`.
const TARGETS: [&str; 2] = ["plan", "dxf"];
/// Cases of each property in one round of the fall-back, four times the usual number: a round is a minute or so.
const CASES: &str = "1024";

/// Runs for `minutes`, or until something is found.
pub fn run(minutes: u64) -> Result<Outcome, Fault> {
    let next = "keep the input as an ordinary test of the crate, then mend the crate";
    if answer(cargo().args(["fuzz", "--version"])).is_some() {
        let seconds = (minutes * 60 / TARGETS.len() as u64).max(1);
        let folder = top().join("fuzz");
        for target in TARGETS {
            let (corpus, seeds) = (format!("corpus/{target}"), format!("seeds/{target}"));
            std::fs::create_dir_all(folder.join(&corpus))
                .map_err(|error| Fault::new(format!("fuzz/{corpus}: {error}"), "is the folder writable?"))?;
            let mut command = cargo();
            command.current_dir(&folder).args(["fuzz", "run", target, &corpus, &seeds]);
            command.arg("--").arg(format!("-max_total_time={seconds}"));
            // The flags it passes are for a nightly compiler; this lets the stable one take them.
            shell::run(command.env("RUSTC_BOOTSTRAP", "1"), next)?;
        }
        return Ok(Outcome::Passed);
    }
    say(
        "cargo-fuzz is not installed (cargo install --locked cargo-fuzz): repeating the property tests instead",
    );
    let end = Instant::now() + Duration::from_secs(minutes * 60);
    let mut rounds = 0;
    while rounds == 0 || Instant::now() < end {
        let mut command = cargo();
        command.args(["test", "--quiet", "--package", "faying-plan", "--package", "faying-import"]);
        shell::run(command.env("PROPTEST_CASES", CASES), next)?;
        rounds += 1;
    }
    say(&format!("{rounds} rounds of {CASES} cases of each property"));
    Ok(Outcome::Passed)
}
