//! `faying judge`.

use std::path::PathBuf;

use faying_build::report::{JudgeReport, LimitsReport, judge_report, limits_named, over_all_report};
use faying_build::room::{BuildLimits, Constants, Defects, Length, Measured, Said, ShopSeat, Unit};
use faying_build::{Folder, PlanSide};

use super::{callout, print_json};
use crate::{Ended, Failure, Outcome};

/// A measured shop head against the limits
#[derive(clap::Args)]
pub struct Arguments {
    /// The build's folder, for its own limits and gauges; without it the standards alone
    dir: Option<PathBuf>,
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
    /// Over-all thickness of the set joint, across both heads, in place of the height
    #[arg(long)]
    over_all: Option<String>,
    /// For --over-all: sheet thicknesses from the manufactured head to the shop head, such as 0.063,0.040
    #[arg(long, value_delimiter = ',')]
    stack: Vec<String>,
    /// For --over-all: preparation of each sheet: plain, dimpled or countersunk
    #[arg(long, value_delimiter = ',')]
    prep: Vec<String>,
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
    let (limits, constants) = match &arguments.dir {
        None => (BuildLimits::default(), Constants::standard()),
        Some(dir) => {
            let folder = Folder::open(dir).map_err(|error| Failure::of(&error))?;
            let side = PlanSide::of(folder.texts().map_err(|error| Failure::of(&error))?);
            (side.plan.limits, side.joints.constants)
        }
    };
    let sheets = match arguments.stack.as_slice() {
        [] => None,
        stack => Some(callout::sheets(stack, &arguments.prep)?),
    };
    let over_all = length(arguments.over_all.as_deref())?
        .map(|read| over_all_report(rivet, read, sheets.as_deref(), &constants))
        .transpose()
        .map_err(|error| Failure::of(&error))?;
    let seen = |flag: bool| flag.then_some(true);
    let measured = Measured {
        diameter: length(arguments.diameter.as_deref())?,
        second_diameter: length(arguments.second_diameter.as_deref())?,
        height: length(arguments.height.as_deref())?,
        seat: arguments.seat.map(|seat| match seat {
            Seat::Flat => ShopSeat::Flat,
            Seat::Lip => ShopSeat::Lip,
        }),
        over_all,
        defects: Defects {
            cracked: seen(arguments.cracked),
            tilted: seen(arguments.tilted),
            folded: seen(arguments.folded),
            gap: seen(arguments.gap),
        },
    };
    // A name that no set has is a slip of the pen, not a verdict.
    limits_named(arguments.limits.as_deref(), &limits).map_err(|error| Failure::of(&error))?;
    let report = judge_report(rivet, &measured, arguments.limits.as_deref(), &limits, &constants);
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
    say!("");
    say!("{}", report.why);
    side_by_side(report);
    say!("");
    for figure in report.working.figures() {
        say!("{}: {}", figure.name, figure.result);
        if !figure.formula.is_empty() {
            say!("    {} = {}", figure.formula, figure.put_in);
        }
    }
}

/// Every rule in a line of its own: what it is for, what it says, what it asks.
fn side_by_side(report: &JudgeReport) {
    let rulings = &report.rulings;
    let widest = rulings.iter().map(|it| it.rule.chars().count()).max().unwrap_or_default();
    for it in rulings {
        let role = match (it.rules, it.judges) {
            (true, _) => "rules",
            (false, true) => "",
            (false, false) => "advice",
        };
        let close = if it.close { ", close" } else { "" };
        let said = match it.said {
            Said::Inside => "inside",
            Said::Outside => "outside",
            Said::NotJudged => "not judged",
        };
        // What the ruling one says stands above already; what it asks does not.
        let words = match &report.limits {
            Some(limits) if it.rules => asks(limits),
            _ => it.words.clone(),
        };
        say!("  {:<widest$}  {role:<6}  {:<17}  {words}", it.rule, format!("{said}{close}"));
        if !it.lacks.is_empty() {
            say!("  {:<widest$}  incomplete: {}", "", it.lacks);
        }
    }
}

fn asks(limits: &LimitsReport) -> String {
    let in_words = |inches: f64| Length::from_inches(inches).decimal();
    let range = |least: f64, most: Option<f64>| match most {
        Some(most) => format!("{} to {} in", in_words(least), in_words(most)),
        None => format!("{} in or more", in_words(least)),
    };
    format!(
        "It asks {} wide and {} high.",
        range(limits.min_width_in, limits.max_width_in),
        range(limits.min_height_in, limits.max_height_in)
    )
}
