//! `faying import dxf FILE`.

use std::path::PathBuf;

use faying_build::room::{DrawingUnits, Reading, Sketch, SketchOptions, Unit, read_dxf};

use super::{counted, print_json};
use crate::{Ended, Failure, Outcome};

/// Reads a drawing or a list into a sketch of a plan
#[derive(clap::Args)]
pub struct Arguments {
    #[command(subcommand)]
    what: What,
}

#[derive(clap::Subcommand)]
enum What {
    Dxf(Dxf),
}

/// Holes, outlines and rows of a DXF drawing
#[derive(clap::Args)]
struct Dxf {
    /// The drawing
    file: PathBuf,
    /// Print the plan text of a plane with this name
    #[arg(long)]
    plane: Option<String>,
    /// Unit of the drawing, where its header does not say: in, mm, cm, m or ft
    #[arg(long)]
    units: Option<String>,
    /// A layer to leave out; may be given several times
    #[arg(long)]
    leave: Vec<String>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

pub fn run(arguments: &Arguments) -> Ended {
    let What::Dxf(dxf) = &arguments.what;
    let bytes =
        std::fs::read(&dxf.file).map_err(|error| Failure(format!("{}: {error}", dxf.file.display())))?;
    let drawing = read_dxf(&bytes);
    let asked = dxf
        .units
        .as_deref()
        .map(|text| {
            DrawingUnits::read(text).ok_or_else(|| {
                Failure(format!("\"{text}\" is not a unit of a drawing: write in, mm, cm, m or ft"))
            })
        })
        .transpose()?;
    let units = asked.or(drawing.units);
    let Some(plane) = &dxf.plane else {
        let reading = Reading::of(&drawing, asked);
        print_json(&reading)?;
        return Ok(if drawing.findings.is_empty() { Outcome::Clean } else { Outcome::Findings });
    };
    let Some(units) = units else {
        return Err(Failure("the drawing does not say its unit: add --units in or --units mm".to_owned()));
    };
    let mut options = SketchOptions::new(units);
    options.leave_layers.clone_from(&dxf.leave);
    let sketch = Sketch::of(&drawing, &options);
    let unit = if units.is_metric() { Unit::Millimetre } else { Unit::Inch };
    say!("{}", sketch.to_toml(plane, unit));
    for finding in &drawing.findings {
        eprintln!("{finding}");
    }
    eprintln!("{} in the drawing", counted(drawing.circles.len(), "circle"));
    Ok(if drawing.findings.is_empty() { Outcome::Clean } else { Outcome::Findings })
}
