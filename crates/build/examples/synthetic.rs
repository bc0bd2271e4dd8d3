//! A made-up build of the size of a whole aeroplane, and how long it takes to read and to write.
//!
//! `synthetic DIR [--holes N]` writes the plan: assemblies of four planes,
//! each a web with ribs, doublers and outlines, in rows of five holes, with
//! thirty steps an assembly. `synthetic DIR --time [--acts N]` opens it and
//! prints what each part takes. The figures in docs/measurements.md come from here.

#![allow(clippy::print_stdout, reason = "an example that is run by hand")]

use std::error::Error;
use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use faying_build::{ActKind, ActRequest, Answer, Build, Folder, PlanSide};

/// Holes in a row.
const HOLES: usize = 5;
/// Rows under a rib.
const ROWS: usize = 10;
/// Ribs in a plane.
const RIBS: usize = 10;
/// Planes in an assembly.
const PLANES: usize = 4;

fn main() -> Result<(), Box<dyn Error>> {
    let mut folder = None;
    let (mut holes, mut acts, mut time) = (20_000, 200, false);
    let mut arguments = std::env::args().skip(1);
    let usage = "synthetic DIR [--holes N] | synthetic DIR --time [--acts N]";
    while let Some(argument) = arguments.next() {
        match argument.as_str() {
            "--holes" => holes = arguments.next().ok_or(usage)?.parse()?,
            "--acts" => acts = arguments.next().ok_or(usage)?.parse()?,
            "--time" => time = true,
            _ => folder = Some(PathBuf::from(argument)),
        }
    }
    let folder = folder.ok_or(usage)?;
    if time { measure(&folder, acts) } else { make(&folder, holes) }
}

fn make(folder: &Path, holes: usize) -> Result<(), Box<dyn Error>> {
    let each = HOLES * ROWS * RIBS * PLANES;
    let files: Vec<(String, String)> = (0..holes.div_ceil(each))
        .map(|number| (format!("plan/section-{number}.toml"), assembly(number)))
        .collect();
    let files: Vec<(&str, &str)> = files.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    Folder::create(folder, &files)?;
    println!("{} holes in {} assemblies", files.len() * each, files.len());
    Ok(())
}

fn assembly(number: usize) -> String {
    let mut text = format!(
        "# Made up by a program, to measure with.\nformat = 1\nid = \"section-{number}\"\nunits = \"in\"\n\
         [usual]\nrivet = \"MS20470AD4\"\n[parts]\n"
    );
    let copies: Vec<String> = (1..=RIBS).map(|rib| format!("\"{rib}\"")).collect();
    for plane in 0..PLANES {
        let _ = write!(
            text,
            "web-{plane} = {{ material = \"2024-T3\", thickness = 0.040 }}\n\
             doubler-{plane} = {{ material = \"2024-T3\", thickness = 0.063 }}\n\
             rib-{plane} = {{ material = \"2024-T3\", thickness = 0.032, copies = [{}] }}\n",
            copies.join(", ")
        );
    }
    for plane in 0..PLANES {
        plane_text(&mut text, plane);
    }
    text.push_str("[steps.prime]\nhours = 3\n");
    for plane in 0..PLANES {
        let _ = write!(
            text,
            "[steps.web-{plane}]\nadds = [\"web-{plane}\", \"doubler-{plane}\"]\nafter = [\"prime\"]\n"
        );
        // Two ribs a step.
        for pair in 0..RIBS / 2 {
            let ribs: Vec<String> =
                (1..=2).map(|half| format!("\"rib-{plane}/{}\"", pair * 2 + half)).collect();
            let rows: Vec<String> = (pair * 2 * ROWS..(pair + 1) * 2 * ROWS)
                .map(|row| format!("\"face-{plane}/R{row}\""))
                .collect();
            let after = if pair == 0 { format!("web-{plane}") } else { format!("ribs-{plane}-{}", pair - 1) };
            let _ = write!(
                text,
                "[steps.ribs-{plane}-{pair}]\nadds = [{}]\nsets = [{}]\nafter = [\"{after}\"]\nhours = 2\n",
                ribs.join(", "),
                rows.join(", ")
            );
        }
        let last = RIBS / 2 - 1;
        let _ = write!(
            text,
            "[steps.close-{plane}]\ncloses = [\"face-{plane}: far\"]\nafter = [\"ribs-{plane}-{last}\"]\n"
        );
    }
    text
}

fn plane_text(text: &mut String, plane: usize) {
    let ribs: Vec<String> =
        (0..RIBS).map(|rib| format!("{{ rect = [{}, 0.25, 8, {}] }}", rib * 9, ROWS + 1)).collect();
    let _ = write!(
        text,
        "[planes.face-{plane}]\nnear = \"near\"\nfar = \"far\"\n\
         layers = [\"web-{plane}\", \"doubler-{plane}\", \"rib-{plane}\"]\n\
         outline.web-{plane} = {{ rect = [0, 0, {}, {}] }}\n\
         outline.doubler-{plane} = {{ rect = [0, 0.5, 30, {ROWS}] }}\n\
         outline.rib-{plane} = [{}]\n[planes.face-{plane}.rows]\n",
        RIBS * 9,
        ROWS + 2,
        ribs.join(", ")
    );
    for rib in 0..RIBS {
        for row in 0..ROWS {
            let (x, y) = (rib * 9 + 1, row + 1);
            let called = if rib < 3 { "-5" } else { "-4" };
            let _ = writeln!(
                text,
                "R{} = {{ from = [{x}, {y}], to = [{}, {y}], count = {HOLES}, called = \"{called}\" }}",
                rib * ROWS + row,
                x + HOLES + 1
            );
        }
    }
}

fn measure(folder: &Path, acts: usize) -> Result<(), Box<dyn Error>> {
    let start = Instant::now();
    let texts = Folder::open(folder)?.texts()?;
    let read = start.elapsed();
    let start = Instant::now();
    let side = PlanSide::of(texts);
    println!(
        "{} holes, {} rows, {} steps",
        side.plan.holes.len(),
        side.plan.rows.len(),
        side.plan.steps.len()
    );
    println!("files read        {read:>10.1?}");
    println!("plan and joints   {:>10.1?}", start.elapsed());
    let start = Instant::now();
    let build = Build::open(folder)?;
    println!("build opened      {:>10.1?}", start.elapsed());
    println!("events in record  {:>10}", build.world().state.acts().len());
    let names: Vec<String> = {
        let world = build.world();
        let plan = world.plan();
        let empty = |hole: &faying_build::room::HoleId| !world.is_set(*hole);
        let holes = (0..plan.holes.len()).map(faying_build::room::HoleId::from_index);
        holes.filter(empty).take(acts).map(|hole| plan.hole_name(hole)).collect()
    };
    let mut took: Vec<Duration> = Vec::with_capacity(names.len());
    for name in names {
        let holes = vec![name.clone()];
        let act = ActKind::SetBefore { holes, note: String::new() };
        let start = Instant::now();
        let answer = build.act(ActRequest {
            id: name,
            person: String::new(),
            at: String::new(),
            revision: None,
            build: None,
            act,
        })?;
        took.push(start.elapsed());
        if !matches!(answer, Answer::Taken { .. }) {
            return Err(format!("not taken: {answer:?}").into());
        }
    }
    if let Some(first) = took.first() {
        println!("first act, with the plan's text {first:>10.1?}");
    }
    took.sort_unstable();
    let at = |share: usize| took.get(took.len() * share / 100).copied().unwrap_or_default();
    println!("one act on disk: half under {:.1?}, nine in ten under {:.1?}", at(50), at(90));
    Ok(())
}
