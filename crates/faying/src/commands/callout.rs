//! `faying callout`.

use faying_build::report::{CallOutReport, call_out_report};
use faying_build::room::{Constants, Dash, Length, Preparation, RivetType, Sheet, Unit};

use super::{counted, print_json};
use crate::{Ended, Failure, Outcome};

/// The rivet length for a stack of sheets, with its working
#[derive(clap::Args)]
pub struct Arguments {
    /// Sheet thicknesses from the manufactured head to the shop head, such as 0.063,0.040
    #[arg(long, value_delimiter = ',', required = true)]
    stack: Vec<String>,
    /// Preparation of each sheet: plain, dimpled or countersunk
    #[arg(long, value_delimiter = ',')]
    prep: Vec<String>,
    /// The rivet without its length, such as MS20470AD4
    #[arg(long)]
    rivet: String,
    /// The length the plan calls, such as -5
    #[arg(long, allow_hyphen_values = true)]
    called: Option<String>,
    /// Half sizes are in the store
    #[arg(long)]
    half: bool,
    /// The set of shop-head limits, by name
    #[arg(long)]
    limits: Option<String>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

pub fn run(arguments: &Arguments) -> Ended {
    let rivet = rivet(&arguments.rivet)?;
    let sheets = sheets(&arguments.stack, &arguments.prep)?;
    let called = arguments
        .called
        .as_deref()
        .map(|text| {
            Dash::read(text)
                .ok_or_else(|| Failure(format!("\"{text}\" is not a rivet length: write -5, or -3.5")))
        })
        .transpose()?;
    let report = call_out_report(
        rivet,
        &sheets,
        called,
        arguments.half,
        arguments.limits.as_deref(),
        &Constants::standard(),
    )
    .map_err(|error| Failure::of(&error))?;
    if arguments.json {
        print_json(&report)?;
    } else {
        show(&report);
    }
    let stands = report.called.is_none_or(|called| called == faying_build::room::CalledVerdict::Stands);
    Ok(if stands && report.best.is_some() { Outcome::Clean } else { Outcome::Findings })
}

pub fn rivet(text: &str) -> Result<RivetType, Failure> {
    text.parse::<RivetType>().map_err(|error| Failure::of(&error))
}

pub fn sheets(stack: &[String], prep: &[String]) -> Result<Vec<Sheet>, Failure> {
    if !prep.is_empty() && prep.len() != stack.len() {
        return Err(Failure(format!(
            "{} and {}: write one for each sheet, or leave --prep out",
            counted(stack.len(), "sheet"),
            counted(prep.len(), "preparation")
        )));
    }
    stack
        .iter()
        .enumerate()
        .map(|(index, text)| {
            let thickness = Length::read(text, Unit::Inch).map_err(|error| Failure::of(&error))?;
            if !(0.008..=0.5).contains(&thickness.inches()) {
                return Err(Failure(format!(
                    "{} in is no sheet of an aeroplane: write inches from .008 to .500, or a unit, such as 1.6 mm",
                    thickness.decimal()
                )));
            }
            let preparation = match prep.get(index) {
                None => Preparation::Plain,
                Some(word) => Preparation::read(word.trim()).ok_or_else(|| {
                    Failure(format!(
                        "\"{word}\" is not a preparation: write one of {}",
                        Preparation::WORDS.join(", ")
                    ))
                })?,
            };
            Ok(Sheet { thickness, preparation })
        })
        .collect()
}

fn show(report: &CallOutReport) {
    say!("{}: grip {:.3} in, seat to seat {:.3} in", report.rivet, report.grip_in, report.seat_to_seat_in);
    say!("limits: {}, {}", report.limits.name, report.limits.source);
    say!("");
    say!("length    tail  wide enough  height   fold      head at mid height");
    for it in &report.candidates {
        let height = it.p_height.map_or_else(|| "-".to_owned(), |p| format!("{p:.3}"));
        let head = it
            .head_at_mid_in
            .zip(it.mid_height_in)
            .map_or_else(|| "-".to_owned(), |(width, height)| format!("{width:.3} x {height:.3} in"));
        let fold = format!("{:?}", it.fold).to_lowercase();
        let best = if report.best.as_deref() == Some(&it.dash) { "  <" } else { "" };
        say!(
            "{:>6} {:>5.2} d  {:>11.3}  {height:>6}   {fold:<8}  {head}{best}",
            it.dash,
            it.tail_d,
            it.p_wide
        );
    }
    say!("");
    for sentence in &report.why {
        say!("{sentence}");
    }
    for finding in &report.findings {
        say!("{finding}");
    }
    say!("");
    for figure in report.working.figures() {
        say!("{}: {}", figure.name, figure.result);
        if !figure.formula.is_empty() {
            say!("    {} = {}", figure.formula, figure.put_in);
        }
        say!("    {}", faying_build::report::cited(&figure.source));
    }
}
