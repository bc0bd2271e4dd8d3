//! The commands, one file each.

pub mod backup;
pub mod bench_psplib;
pub mod bench_sop;
pub mod callout;
pub mod check;
pub mod demo;
pub mod gate;
pub mod import;
pub mod judge;
mod measured;
pub mod new;
pub mod next;
pub mod owed;
pub mod run;
pub mod schema;
pub mod serve;
pub mod strength;
pub mod verify;

use serde::Serialize;

use crate::Failure;

/// Prints a report as JSON.
fn print_json(report: &impl Serialize) -> Result<(), Failure> {
    let text = serde_json::to_string_pretty(report).map_err(|error| Failure::of(&error))?;
    say!("{text}");
    Ok(())
}

/// `1 finding`, `3 findings`, `2 assemblies`.
fn counted(count: usize, what: &str) -> String {
    match (count, what.strip_suffix('y')) {
        (1, _) => format!("1 {what}"),
        (_, Some(stem)) => format!("{count} {stem}ies"),
        (_, None) => format!("{count} {what}s"),
    }
}
