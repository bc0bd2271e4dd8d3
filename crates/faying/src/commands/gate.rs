//! `faying gate DIR [GATE]` and `faying gates DIR --practice COUNTRY`.

use std::path::PathBuf;

use faying_build::{Build, Folder, GateReport, gate_practices};

use super::{counted, print_json};
use crate::{Ended, Failure, Outcome};

/// A gate, and everything that stands against passing it; all gates without a name
#[derive(clap::Args)]
pub struct Arguments {
    /// The build's folder
    dir: PathBuf,
    /// The gate, such as flap-left/close
    gate: Option<String>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Writes gates of the whole build as builders of a country meet them, for you to change
#[derive(clap::Args)]
pub struct StartArguments {
    /// The build's folder
    dir: PathBuf,
    /// Whose practice; the authority's rule decides
    #[arg(long, value_name = "COUNTRY", value_parser = clap::builder::PossibleValuesParser::new(gate_practices()))]
    practice: String,
}

pub fn run(arguments: &Arguments) -> Ended {
    let world = Build::read(&arguments.dir).map_err(|error| Failure::of(&error))?;
    let (plan, progress) = (world.plan(), world.progress());
    let ids = (0..plan.gates.len()).map(faying_build::room::GateId::from_index);
    let Some(name) = &arguments.gate else {
        let reports: Vec<GateReport> = ids.map(|id| world.gate_report(&progress, id)).collect();
        if arguments.json {
            print_json(&reports)?;
        } else {
            for report in &reports {
                say!("{:<28} {}", report.gate, standing(report));
            }
        }
        return Ok(Outcome::Clean);
    };
    let id = plan.gate_named(name).ok_or_else(|| {
        let names: Vec<String> = ids.map(|id| plan.gate_name(id)).collect();
        let near = faying_build::room::nearest(name, names.iter().map(String::as_str));
        Failure(match near {
            Some(near) => format!("the plan has no gate {name}; did you mean {near}?"),
            None => format!("the plan has no gate {name}; there are {}", names.join(", ")),
        })
    })?;
    let report = world.gate_report(&progress, id);
    if arguments.json {
        print_json(&report)?;
    } else {
        say!("{}, {}: {}", report.gate, report.title, standing(&report));
        for it in &report.blockers {
            let whose = if it.structure { "" } else { " (your reason may let it pass)" };
            say!("  {}{whose}\n      {}", it.what, it.next);
        }
        for (what, who, role, why) in &report.let_pass {
            say!("  let pass by {who}, {role}: {what} ({why})");
        }
    }
    Ok(if report.blockers.is_empty() { Outcome::Clean } else { Outcome::Findings })
}

fn standing(report: &GateReport) -> String {
    match (report.passed, &report.passed_at, report.blockers.len()) {
        (true, Some((at, _)), _) => format!("passed on {}", at.get(..10).unwrap_or(at)),
        (_, Some(_), count) => format!("passed, and since then {} against it", counted(count, "thing")),
        (_, None, 0) => "nothing stands against it; not passed".to_owned(),
        (_, None, count) => format!("{} against it", counted(count, "thing")),
    }
}

pub fn start(arguments: &StartArguments) -> Ended {
    let folder = Folder::open(&arguments.dir).map_err(|error| Failure::of(&error))?;
    let file = folder.start_gates(&arguments.practice).map_err(|error| Failure::of(&error))?;
    say!("{} is written: read it and make it yours; the authority's rule decides.", file.display());
    Ok(Outcome::Clean)
}
