//! `faying judge`.

use faying_build::report::{JudgeReport, judge_report, limits_named};
use faying_build::room::{Constants, Defects, Length, Measured, ShopSeat, Unit};

use super::{callout, print_json};
use crate::{Ended, Failure, Outcome};

/// A measured shop head against the limits
#[derive(clap::Args)]
pub struct Arguments {
    /// The rivet without its length, such as MS20470AD4
    #[arg(long)]
    rivet: String,
    /// Width of the shop head
    #[arg(long, visible_alias = "width")]
    diameter: Option<String>,
    /// Width across the first one
    #[arg(long, visible_alias = "width-across")]
    second_diameter: Option<String>,
    /// Height of the shop head
    #[arg(long)]
    height: Option<String>,
    /// What the height was measured from
    #[arg(long, value_enum)]
    seat: Option<Seat>,
    /// The set of shop-head limits, by name
    #[arg(long)]
    limits: Option<String>,
    /// The head has cracks
    #[arg(long)]
    cracked: bool,
    /// A head stands at a slant
    #[arg(long)]
    tilted: bool,
    /// The tail went over to one side
    #[arg(long)]
    folded: bool,
    /// There is a gap under a head or between the sheets
    #[arg(long)]
    gap: bool,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// What a height was measured from.
#[derive(Clone, Copy, clap::ValueEnum)]
enum Seat {
    /// The flat sheet
    Flat,
    /// The lip of a dimple
    Lip,
}

pub fn run(arguments: &Arguments) -> Ended {
    let rivet = callout::rivet(&arguments.rivet)?;
    let seen = |flag: bool| flag.then_some(true);
    let measured = Measured {
        diameter: length(arguments.diameter.as_deref())?,
        second_diameter: length(arguments.second_diameter.as_deref())?,
        height: length(arguments.height.as_deref())?,
        seat: arguments.seat.map(|seat| match seat {
            Seat::Flat => ShopSeat::Flat,
            Seat::Lip => ShopSeat::Lip,
        }),
        defects: Defects {
            cracked: seen(arguments.cracked),
            tilted: seen(arguments.tilted),
            folded: seen(arguments.folded),
            gap: seen(arguments.gap),
        },
    };
    let constants = Constants::standard();
    // A name that no set has is a slip of the pen, not a verdict.
    limits_named(arguments.limits.as_deref()).map_err(|error| Failure::of(&error))?;
    let report = judge_report(rivet, &measured, arguments.limits.as_deref(), &constants);
    if arguments.json {
        print_json(&report)?;
    } else {
        show(&report);
    }
    Ok(if report.inside == Some(true) { Outcome::Clean } else { Outcome::Findings })
}

fn length(text: Option<&str>) -> Result<Option<Length>, Failure> {
    text.map(|text| Length::read(text, Unit::Inch)).transpose().map_err(|error| Failure::of(&error))
}

fn show(report: &JudgeReport) {
    for reason in &report.reasons {
        say!("{reason}");
    }
    if !report.not_checked.is_empty() {
        say!("Not checked: {}.", report.not_checked.join(", "));
    }
    if let Some(rule) = &report.thumb_rule {
        say!("{}", rule.says);
    }
    for source in &report.sources {
        say!("    {source}");
    }
}
