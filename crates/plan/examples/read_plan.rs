//! Reads the plan files of a folder and prints what was found, and what there is.
//!
//! `cargo run -p faying-plan --example read_plan -- FOLDER`: every `*.toml` of
//! the folder, `limits.toml` and `tools.toml` as the builder's own. Ends with 1 where
//! there is a finding, with 2 where the folder cannot be read.
#![allow(clippy::print_stdout, clippy::print_stderr)]

use std::io;
use std::path::Path;
use std::process::ExitCode;

use faying_plan::{Assembly, Depth, Plan, Reading, RowId, SourceText, read};

fn main() -> ExitCode {
    let Some(folder) = std::env::args().nth(1) else {
        eprintln!("write the folder of the plan files behind the command, for example plans/teasel");
        return ExitCode::from(2);
    };
    let files = match texts(Path::new(&folder)) {
        Ok(files) => files,
        Err(error) => {
            eprintln!("{folder} cannot be read: {error}");
            return ExitCode::from(2);
        }
    };
    let Reading { plan, findings } = read(files);
    for finding in &findings {
        println!("{finding}\n");
    }
    for assembly in &plan.assemblies {
        print_assembly(&plan, assembly);
    }
    println!(
        "{} assemblies, {} planes, {} rows, {} holes, {} steps; {} findings",
        plan.assemblies.len(),
        plan.planes.len(),
        plan.rows.len(),
        plan.holes.len(),
        plan.steps.len(),
        findings.len()
    );
    if findings.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

/// The files by name, so that the same folder gives the same plan everywhere.
#[expect(
    clippy::disallowed_methods,
    reason = "the room opens no file; this example stands outside it, as a caller"
)]
fn texts(folder: &Path) -> io::Result<Vec<SourceText>> {
    let mut paths: Vec<_> =
        std::fs::read_dir(folder)?.map(|entry| Ok(entry?.path())).collect::<io::Result<_>>()?;
    paths.retain(|path| path.extension().is_some_and(|extension| extension == "toml"));
    paths.sort();
    paths
        .iter()
        .map(|path| {
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            let own = name == "limits.toml" || name == "tools.toml";
            let name = if own { name.into_owned() } else { format!("plan/{name}") };
            Ok(SourceText { name: name.into(), text: std::fs::read_to_string(path)?.into() })
        })
        .collect()
}

fn print_assembly(plan: &Plan, assembly: &Assembly) {
    let holes = |rows: &[RowId]| rows.iter().map(|&row| plan[row].count()).sum::<u32>();
    println!("{}  {} holes  {}", assembly.id, holes(&assembly.rows), assembly.title);
    for &plane in &assembly.planes {
        let plane = &plan[plane];
        println!("  {}  {} holes  near {}, far {}", plane.name, holes(&plane.rows), plane.near, plane.far);
        for &row in &plane.rows {
            print_row(plan, row);
        }
    }
    let without_plane: Vec<RowId> =
        assembly.rows.iter().copied().filter(|&row| plan[row].plane.is_none()).collect();
    if !without_plane.is_empty() {
        println!("  no plane  {} holes", holes(&without_plane));
        for row in without_plane {
            print_row(plan, row);
        }
    }
}

fn print_row(plan: &Plan, id: RowId) {
    let row = &plan[id];
    let depth = match row.depth {
        Depth::Counted => "counted",
        Depth::Stacked => "stacked",
        Depth::Drawn => "drawn",
    };
    let fastener = row
        .called
        .as_ref()
        .map(ToString::to_string)
        .or_else(|| row.rivet.map(|rivet| rivet.to_string()))
        .unwrap_or_default();
    println!("    {:<4} {:>4}  {depth:<8} {fastener}", row.name, row.count());
}
