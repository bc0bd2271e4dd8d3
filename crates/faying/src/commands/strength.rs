//! `faying strength`.

use faying_build::room::{Length, Preparation, RivetType, Unit, Working, figures};
use faying_build::strength::{
    DeviationReport, Fastener, FlexibilitiesReport, FlexibilityReport, Formula, GroupReport, Head, HoleAsked,
    HoleReport, Joint, Kind, Line, PerInchReport, ShareReport, SheetAsked, flexibilities_report,
    flexibility_report, group_report, hole_report, per_inch_report, share_report, usual_hole,
};

use super::{callout, counted, print_json};
use crate::{Ended, Failure, Outcome};

/// Strength, to put numbers into a question to the designer
#[derive(clap::Args)]
pub struct Arguments {
    #[command(subcommand)]
    what: What,
}

#[derive(clap::Subcommand)]
enum What {
    PerInch(PerInch),
    Group(Group),
    Share(Share),
    Flexibility(Flexibility),
    Hole(Hole),
}

/// Rivets per inch that restore cut sheet: AC 43.13-1B tables 4-9 to 4-11
#[derive(clap::Args)]
struct PerInch {
    /// The table: 4-9 (2014, 2024, 7075), 4-10 (2017, 2024 clad) or 4-11 (5052)
    #[arg(long)]
    table: String,
    /// Thickness of the sheet, such as 0.032
    #[arg(long)]
    thickness: String,
    /// A 2117-T4 rivet by its diameter, such as 1/8, or AN-3
    #[arg(long)]
    fastener: String,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// The force on each fastener of a group under a force and a moment
#[derive(clap::Args)]
struct Group {
    /// The fasteners, such as "40,30 -40,30"; a third number is a weight, such as d² where they differ
    #[arg(long, allow_hyphen_values = true)]
    at: String,
    /// The force to the right and up, such as 0,-10
    #[arg(long, allow_hyphen_values = true)]
    force: String,
    /// The moment about the centroid of the group, anticlockwise
    #[arg(long, allow_hyphen_values = true, default_value = "0")]
    moment: String,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// How rows in line share a load
#[derive(clap::Args)]
struct Share {
    /// How many rows
    #[arg(long)]
    rows: usize,
    /// Stiffness of the sheet that brings the load, E·A/p between two rows: one number, or one for each stretch
    #[arg(long, value_delimiter = ',', required = true, allow_hyphen_values = true)]
    ka: Vec<String>,
    /// The same of the sheet that takes it away
    #[arg(long, value_delimiter = ',', required = true, allow_hyphen_values = true)]
    kb: Vec<String>,
    /// Flexibility of a fastener, length over force: one number, or one for each row
    #[arg(long, value_delimiter = ',', required = true, allow_hyphen_values = true)]
    flexibility: Vec<String>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// How much a fastener gives, by published formulas
#[derive(clap::Args)]
struct Flexibility {
    /// The formula: H, S, B, G, "TR single", "TR double", or all
    #[arg(long)]
    formula: String,
    /// Thickness of sheet 1; in double shear, of the centre
    #[arg(long, allow_hyphen_values = true)]
    t1: String,
    /// Thickness of sheet 2; in double shear, of each strap
    #[arg(long, allow_hyphen_values = true)]
    t2: String,
    /// Diameter of the fastener
    #[arg(long, allow_hyphen_values = true)]
    d: String,
    /// Modulus of sheet 1
    #[arg(long, allow_hyphen_values = true)]
    e1: String,
    /// Modulus of sheet 2; that of sheet 1 where left out
    #[arg(long, allow_hyphen_values = true)]
    e2: Option<String>,
    /// Modulus of the fastener
    #[arg(long, allow_hyphen_values = true)]
    ef: String,
    /// Transverse contraction over elongation of the fastener; only TR takes it
    #[arg(long, allow_hyphen_values = true)]
    nu: Option<String>,
    /// bolted, riveted or composite
    #[arg(long, default_value = "riveted")]
    kind: String,
    /// Shear planes: 1 or 2
    #[arg(long, default_value = "1")]
    planes: String,
    /// With "all": so many rows in line, for the spread of their shares
    #[arg(long, requires = "ka", requires = "kb")]
    rows: Option<usize>,
    /// Stiffness of sheet 1 between two rows
    #[arg(long, requires = "rows", allow_hyphen_values = true)]
    ka: Option<String>,
    /// Stiffness of sheet 2 between two rows
    #[arg(long, requires = "rows", allow_hyphen_values = true)]
    kb: Option<String>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// The ways in which one hole can give way; as built beside as planned
#[derive(clap::Args)]
struct Hole {
    /// The rivet without its length, such as MS20470AD4
    #[arg(long)]
    rivet: String,
    /// A sheet that carries: alloy, thickness and preparation, such as "2024-T3 clad, .032, dimpled"
    #[arg(long, required = true)]
    sheet: Vec<String>,
    /// The hole; the usual one where left out
    #[arg(long)]
    hole: Option<String>,
    /// Hole centre to the nearest edge
    #[arg(long)]
    edge: Option<String>,
    /// Distance to the next hole of the row
    #[arg(long)]
    pitch: Option<String>,
    /// Two shear planes
    #[arg(long)]
    double: bool,
    /// The hole as built
    #[arg(long)]
    built_hole: Option<String>,
    /// The edge distance as built
    #[arg(long)]
    built_edge: Option<String>,
    /// As built, the hole is empty
    #[arg(long)]
    built_empty: bool,
    /// As built, the shop head is under 1.3 d wide or .3 d high
    #[arg(long)]
    built_head_under: bool,
    /// How many holes the row has
    #[arg(long)]
    row: Option<usize>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

pub fn run(arguments: &Arguments) -> Ended {
    match &arguments.what {
        What::PerInch(it) => per_inch(it),
        What::Group(it) => group(it),
        What::Share(it) => share(it),
        What::Flexibility(it) => flexibility(it),
        What::Hole(it) => hole(it),
    }?;
    Ok(Outcome::Clean)
}

/// As JSON, or in words.
fn out<T: serde::Serialize>(json: bool, report: &T, show: fn(&T)) -> Result<(), Failure> {
    if json {
        return print_json(report);
    }
    show(report);
    Ok(())
}

fn length(text: &str) -> Result<Length, Failure> {
    Length::read(text, Unit::Inch).map_err(|error| Failure::of(&error))
}

/// A plain number in the asker's own units; a fraction is one.
fn number(name: &str, text: &str) -> Result<f64, Failure> {
    let text = text.trim();
    let fraction = text.split_once('/').and_then(|(top, bottom)| {
        let (top, bottom) = (top.trim().parse::<f64>().ok()?, bottom.trim().parse::<f64>().ok()?);
        (bottom != 0.0).then(|| top / bottom)
    });
    fraction.or_else(|| text.parse().ok()).filter(|number: &f64| number.is_finite()).ok_or_else(|| {
        Failure(format!("{name}: \"{text}\" is not a number: write one, such as .125, 1/8, 2e-5 or -10"))
    })
}

fn pair(name: &str, text: &str) -> Result<(f64, f64), Failure> {
    match text.split(',').collect::<Vec<_>>().as_slice() {
        [x, y] => Ok((number(name, x)?, number(name, y)?)),
        _ => Err(Failure(format!("{name}: \"{text}\" is not two numbers: write x,y such as 0,-10"))),
    }
}

fn per_inch(it: &PerInch) -> Result<(), Failure> {
    let report = per_inch_report(&it.table, length(&it.thickness)?, &it.fastener)
        .map_err(|error| Failure::of(&error))?;
    out(it.json, &report, show_per_inch)
}

fn show_per_inch(report: &PerInchReport) {
    say!("table {}: {}", report.table, report.sheet);
    let number = |number: Option<f64>| number.map_or_else(|| "no figure".to_owned(), |it| format!("{it:.2}"));
    let governs = match report.governs {
        Some(governs) => format!(", {} governs", format!("{governs:?}").to_lowercase()),
        None => String::new(),
    };
    say!(
        "{} in {:.3} in sheet: {} per inch computed{governs}",
        report.fastener,
        report.thickness_in,
        number(report.per_inch)
    );
    if let Some(printed) = report.printed {
        let differs = if report.printed_differs { ", which disagrees" } else { "" };
        say!("printed: {printed:.1}{differs}; to use, the larger: {}", number(report.to_use));
    }
    for it in &report.reductions {
        say!("{}: {:.0} % may be used, {:.2} per inch", it.at, it.share * 100.0, it.per_inch);
    }
    for sentence in &report.says {
        say!("{sentence}");
    }
    say!("{}", report.purpose);
    show_working(&report.working);
}

fn group(it: &Group) -> Result<(), Failure> {
    let fasteners = it
        .at
        .split([' ', ';'])
        .filter(|place| !place.is_empty())
        .map(|place| {
            let numbers = place.split(',').map(|text| number("--at", text)).collect::<Result<Vec<_>, _>>()?;
            match numbers.as_slice() {
                [x, y] => Ok(Fastener::at(*x, *y)),
                [x, y, weight] => Ok(Fastener { x: *x, y: *y, weight: *weight }),
                _ => Err(Failure(format!(
                    "--at: \"{place}\" is not a place: write x,y for each fastener, such as \"40,30 -40,30\""
                ))),
            }
        })
        .collect::<Result<Vec<_>, _>>()?;
    let report = group_report(&fasteners, pair("--force", &it.force)?, number("--moment", &it.moment)?)
        .map_err(|error| Failure::of(&error))?;
    out(it.json, &report, show_group)
}

fn show_group(report: &GroupReport) {
    say!("fastener           x           y          fx          fy   resultant");
    for (index, it) in report.fasteners.iter().enumerate() {
        let mark = if index + 1 == report.largest_fastener { "  <" } else { "" };
        say!(
            "{:>8} {:>11} {:>11} {:>11} {:>11} {:>11}{mark}",
            index + 1,
            four(it.x),
            four(it.y),
            four(it.fx),
            four(it.fy),
            four(it.resultant)
        );
    }
    say!("{}", report.purpose);
    show_working(&report.working);
}

/// Four significant figures, or so.
fn four(number: f64) -> String {
    if number == 0.0 || (1e-3..1e6).contains(&number.abs()) {
        let places = if number.abs() >= 1000.0 { 1 } else { 4 };
        format!("{number:.places$}")
    } else {
        format!("{number:.3e}")
    }
}

fn share(it: &Share) -> Result<(), Failure> {
    let list = |name: &str, texts: &[String], count: usize, of: &str| -> Result<Vec<f64>, Failure> {
        let numbers = texts.iter().map(|text| number(name, text)).collect::<Result<Vec<_>, _>>()?;
        match numbers.as_slice() {
            [one] => Ok(vec![*one; count]),
            many if many.len() == count => Ok(numbers),
            many => Err(Failure(format!(
                "{name}: {} where {count} are needed, one for each {of}: or write one for all",
                counted(many.len(), "number")
            ))),
        }
    };
    let between = it.rows.saturating_sub(1);
    let line = Line {
        ka: list("--ka", &it.ka, between, "stretch between two rows")?,
        kb: list("--kb", &it.kb, between, "stretch between two rows")?,
        flexibility: list("--flexibility", &it.flexibility, it.rows, "row")?,
    };
    let report = share_report(&line).map_err(|error| Failure::of(&error))?;
    out(it.json, &report, show_share)
}

fn show_share(report: &ShareReport) {
    for (index, share) in report.shares.iter().enumerate() {
        say!("row {}: {:.1} %", index + 1, share * 100.0);
    }
    say!("{}", report.purpose);
    show_working(&report.working);
}

fn flexibility(it: &Flexibility) -> Result<(), Failure> {
    let kind = Kind::WORDS.iter().find(|(word, _)| it.kind.eq_ignore_ascii_case(word)).ok_or_else(|| {
        let words: Vec<&str> = Kind::WORDS.iter().map(|(word, _)| *word).collect();
        Failure(format!("\"{}\" is not a kind of joint: write one of {}", it.kind, words.join(", ")))
    })?;
    let double = match it.planes.trim() {
        "1" => false,
        "2" => true,
        other => return Err(Failure(format!("--planes: \"{other}\" is not 1 or 2"))),
    };
    let e1 = number("--e1", &it.e1)?;
    let joint = Joint {
        t1: number("--t1", &it.t1)?,
        t2: number("--t2", &it.t2)?,
        d: number("--d", &it.d)?,
        e1,
        e2: it.e2.as_deref().map_or(Ok(e1), |text| number("--e2", text))?,
        ef: number("--ef", &it.ef)?,
        nu: match &it.nu {
            Some(text) => number("--nu", text)?,
            None => figures().constant("transverse-contraction").value,
        },
        double,
        kind: kind.1,
    };
    if it.formula.trim().eq_ignore_ascii_case("all") {
        let line = match (it.rows, &it.ka, &it.kb) {
            (Some(rows), Some(ka), Some(kb)) => Some((rows, number("--ka", ka)?, number("--kb", kb)?)),
            _ => None,
        };
        let report = flexibilities_report(&joint, line).map_err(|error| Failure::of(&error))?;
        return out(it.json, &report, show_all);
    }
    let formula = Formula::read(&it.formula).ok_or_else(|| {
        let codes: Vec<&str> = Formula::ALL.iter().map(|formula| formula.code()).collect();
        Failure(format!("there is no formula \"{}\": write one of {}, or all", it.formula, codes.join(", ")))
    })?;
    let report = flexibility_report(formula, &joint).map_err(|error| Failure::of(&error))?;
    out(it.json, &report, show_flexibility)
}

fn show_flexibility(report: &FlexibilityReport) {
    say!("formula {}: C = {:.4e}, k = 1/C = {:.4e}", report.formula, report.c, report.k);
    if !report.note.is_empty() {
        say!("    {}", report.note);
    }
    show_working(&report.working);
}

fn show_all(report: &FlexibilitiesReport) {
    for it in &report.formulas {
        show_flexibility(it);
    }
    for sentence in &report.left_out {
        say!("{sentence}");
    }
    say!("from {:.4e} to {:.4e}", report.c.least, report.c.most);
    for (index, band) in report.spread.iter().flatten().enumerate() {
        say!("row {}: {:.1} to {:.1} %", index + 1, band.least * 100.0, band.most * 100.0);
    }
    say!("{}", report.purpose);
}

fn hole(it: &Hole) -> Result<(), Failure> {
    let rivet: RivetType = callout::rivet(&it.rivet)?;
    let asked = |text: &Option<String>| text.as_deref().map(length).transpose();
    let diameter = asked(&it.hole)?.or_else(|| usual_hole(rivet)).ok_or_else(|| {
        Failure(format!("no usual hole is known for {rivet}: write --hole with its diameter"))
    })?;
    let planned = HoleAsked {
        rivet: Some(rivet),
        diameter,
        edge_distance: asked(&it.edge)?,
        pitch: asked(&it.pitch)?,
        sheets: it.sheet.iter().map(|text| sheet(text)).collect::<Result<_, _>>()?,
        head: Head::NotMeasured,
        double_shear: it.double,
    };
    let as_built =
        it.built_hole.is_some() || it.built_edge.is_some() || it.built_empty || it.built_head_under;
    let mut built = planned.clone();
    built.diameter = asked(&it.built_hole)?.unwrap_or(built.diameter);
    built.edge_distance = asked(&it.built_edge)?.or(built.edge_distance);
    if it.built_empty {
        built.rivet = None;
    }
    if it.built_head_under {
        built.head = Head::Under;
    }
    let report = hole_report(&planned, as_built.then_some(&built), it.row);
    out(it.json, &report, show_hole)
}

fn sheet(text: &str) -> Result<SheetAsked, Failure> {
    let cells: Vec<&str> = text.split(',').map(str::trim).collect();
    let (alloy, thickness, preparation) = match cells.as_slice() {
        [alloy, thickness] => (alloy, thickness, "plain"),
        [alloy, thickness, preparation] => (alloy, thickness, *preparation),
        _ => {
            return Err(Failure(format!(
                "\"{text}\" is not a sheet: write alloy, thickness and preparation, such as \"2024-T3, .032, plain\""
            )));
        }
    };
    let preparation = Preparation::read(preparation).ok_or_else(|| {
        let words = Preparation::WORDS.join(", ");
        Failure(format!("\"{preparation}\" is not a preparation: write one of {words}"))
    })?;
    Ok(SheetAsked { alloy: Some((*alloy).to_owned()), thickness: length(thickness)?, preparation })
}

fn show_hole(report: &HoleReport) {
    for it in &report.modes {
        let figure = match it.ultimate_lbf {
            Some(lbf) if it.at_most => format!("at most {lbf:.0} lbf"),
            Some(lbf) => format!("{lbf:.0} lbf"),
            None => "no figure".to_owned(),
        };
        let why = if it.left_out.is_empty() { String::new() } else { format!(" ({})", it.left_out) };
        say!("{}: {figure}{why}", it.words);
    }
    match (report.governs, report.lowest_lbf) {
        (Some(mode), Some(lbf)) => say!("{} governs: {lbf:.0} lbf", mode.words()),
        (None, Some(lbf)) => say!("no more than {lbf:.0} lbf; what is left out could be lower"),
        _ => say!("no figure"),
    }
    for sentence in report.convention.iter().chain(&report.assumed) {
        say!("{sentence}");
    }
    if let Some(it) = &report.deviation {
        show_deviation(it);
    }
    say!("{}", report.purpose);
    show_working(&report.working);
}

fn show_deviation(it: &DeviationReport) {
    match (it.ratio, it.at_least) {
        (Some(ratio), _) => say!("as built over as planned: {ratio:.3}"),
        (None, Some(least)) => say!("as built over as planned: at least {least:.3}, whichever mode governs"),
        (None, None) => say!("as built over as planned: no figure"),
    }
    for sentence in &it.left_out {
        say!("    left out: {sentence}");
    }
    if let Some(row) = &it.row {
        say!(
            "its row: {:.3} if the rest take over, {:.3} if the weakest governs",
            row.taking_over,
            row.weakest_governs
        );
        for sentence in row.assumed {
            say!("    {sentence}");
        }
    }
    show_working(&it.working);
}

fn show_working(working: &Working) {
    for figure in working.figures() {
        say!("{}: {}", figure.name, figure.result);
        match (figure.formula.is_empty(), figure.put_in.is_empty()) {
            (false, false) => say!("    {} = {}", figure.formula, figure.put_in),
            (false, true) => say!("    {}", figure.formula),
            (true, false) => say!("    {}", figure.put_in),
            (true, true) => {}
        }
        say!("    {}", faying_build::report::cited(&figure.source));
    }
}
