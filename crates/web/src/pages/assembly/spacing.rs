//! Spacing of a plane under every rule: marks for its drawing, a summary above it and a table below.

use std::collections::BTreeMap;

use faying_build::World;
use faying_build::room::HoleId;
use faying_build::spacing::{SpacedReport, SpacingLine, SpacingReport, SpacingRow, Stands};
use faying_sheet::{SpacingDimension, SpacingMark};
use maud::{Markup, html};

use super::{count, hole_address};
use crate::layout::first_upper;

/// Up to so many distances are drawn each; of more, the worst of each row.
const EACH: usize = 12;
/// Dimensions drawn at most: more hide what they measure.
const MOST: usize = 24;

/// A ring for every hole under a rule, dimensions for the worst.
pub fn marks(report: &SpacingReport) -> Vec<SpacingMark> {
    let ruling = |stands: Stands| stands == Stands::UnderRuling;
    let lines = || report.rows.iter().flat_map(|row| row.lines.iter().map(move |line| (row, line)));
    let mut marks: BTreeMap<HoleId, SpacingMark> = BTreeMap::new();
    for (_, line) in lines() {
        for &hole in &line.holes {
            let mark =
                marks.entry(hole).or_insert(SpacingMark { hole, ruling: false, dimensions: Vec::new() });
            mark.ruling |= ruling(line.stands);
        }
    }
    let drawn: Vec<(&SpacingRow, &SpacingLine)> = if lines().count() <= EACH {
        lines().collect()
    } else {
        report.rows.iter().filter_map(|row| Some((row, row.lines.first()?))).take(MOST).collect()
    };
    let mut order: Vec<HoleId> = Vec::new();
    for (row, line) in drawn {
        let worst = &line.worst;
        if let Some(mark) = marks.get_mut(&worst.id) {
            let words = format!("{}-{}: {}", row.name, line.number, worst.words);
            // Layers that end at the same edge are one distance of the drawing; the table tells both.
            if mark.dimensions.iter().any(|it| it.words == words && same_place(it.to, worst.end)) {
                continue;
            }
            mark.dimensions.push(SpacingDimension { ruling: ruling(line.stands), to: worst.end, words });
            if !order.contains(&worst.id) {
                order.push(worst.id);
            }
        }
    }
    // The worst first: it finds more room.
    let mut first: Vec<SpacingMark> = order.iter().filter_map(|hole| marks.remove(hole)).collect();
    first.extend(marks.into_values());
    first
}

/// Whether two ends fall together, to the thousandth to which a plan is drawn.
fn same_place(a: Option<[f64; 2]>, b: Option<[f64; 2]>) -> bool {
    match (a, b) {
        (Some(a), Some(b)) => (a[0] - b[0]).hypot(a[1] - b[1]) < 0.001,
        _ => a == b,
    }
}

/// How many holes are under what, before the drawing.
pub fn summary(report: &SpacingReport) -> Markup {
    let holes = |number: usize| count(number, "hole");
    let lines: usize = report.rows.iter().map(|row| row.lines.len()).sum();
    html! {
        p.lead {
            @if report.compared == 0 { "No hole of this plane is drawn for a solid rivet: nothing to hold against a rule." }
            @else if lines == 0 { "Of " (holes(report.compared)) " none is under a rule that has a figure." }
            @else {
                "Of " (holes(report.compared)) ", " b { (report.under_ruling) } " under the rule that rules this build, "
                b { (report.under_another) } " under another rule only. "
                a href="#spacing" { "Each distance" } "."
            }
        }
        @if lines > EACH { p { small { "Drawn is the worst of each row, where it finds room" @if report.rows.len() > MOST { ", of the worst " (MOST) " rows" } "; every hole under a rule has its ring, and the table names it." } } }
    }
}

/// Every distance under a rule, by row, and what was not known.
pub fn table(world: &World, report: &SpacingReport) -> Markup {
    html! {
        h2 #spacing { "Spacing" }
        @if !report.rows.is_empty() {
            table.folds.spacing role="table" {
                thead role="rowgroup" { tr role="row" {
                    th scope="col" role="columnheader" { "Hole" }
                    th scope="col" role="columnheader" { "To" }
                    th scope="col" role="columnheader" { "Distance" }
                    th scope="col" role="columnheader" { "Least by each rule" }
                } }
                @for row in &report.rows {
                    tbody role="rowgroup" {
                        @for line in &row.lines {
                            @let worst = &line.worst;
                            tr role="row" {
                                th scope="row" role="rowheader" {
                                    a.tap href=(hole_address(world, worst.id)) { b { (row.name) "-" (line.number) } }
                                }
                                td role="cell" { (worst.to) }
                                td role="cell" { b { (worst.words) } }
                                td.full role="cell" {
                                    (rules(worst))
                                    @if !line.others.is_empty() { p { small { "Likewise " (line.others) "." } } }
                                }
                            }
                        }
                    }
                }
            }
            p { small { "Each line names the worst hole of its row. A plan is drawn to a thousandth: half of one is no shortfall. Compare with your plans, and ask the kit's designer." } }
        }
        @for words in &report.not_known { p { small { (words) } } }
        @if !report.documents.is_empty() {
            details { summary { "Rules asked of this plane" }
                ul { @for document in &report.documents { li { (document) } } }
            }
        }
    }
}

/// Every rule on a distance: what it asks, and whether the distance is under it.
pub fn rules(spaced: &SpacedReport) -> Markup {
    html! {
        ul.least {
            @for rule in &spaced.rules {
                li.under[rule.under == Some(true)] {
                    b { (rule.least) } " "
                    @match rule.under {
                        Some(true) => em { @if rule.rules { "under; it rules this build" } @else { "under" } },
                        Some(false) => span { @if rule.rules { "not under; it rules this build" } @else { "not under" } },
                        None => span { "not compared" },
                    }
                    " " small { (first_upper(&rule.rule)) ". " (rule.source) }
                }
            }
        }
    }
}

/// Every distance of a hole, each with its rules; open where it is under one.
pub fn of_hole(world: &World, hole: HoleId) -> Markup {
    let distances = world.hole_spacing(hole);
    html! {
        @if distances.is_empty() { p { "Not measured: the hole is not drawn, or holds no solid rivet." } }
        @else { div.spaced {
            @let (under, rest): (Vec<&SpacedReport>, Vec<&SpacedReport>) = distances.iter().partition(|it| it.stands != Stands::UnderNone);
            @for spaced in under {
                details open {
                    summary { span { b { (spaced.words) } " " (to(&spaced.to)) ": " (stands(spaced)) } }
                    (rules(spaced))
                }
            }
            @if let Some(nearest) = rest.first() {
                details {
                    summary { span {
                        @if rest.len() == 1 { "One distance" } @else { (rest.len()) " distances" }
                        " under no rule that has a figure, such as " (nearest.words) " " (to(&nearest.to))
                    } }
                    @for spaced in &rest { p { b { (spaced.words) } " " (to(&spaced.to)) ": " (stands(spaced)) } (rules(spaced)) }
                }
            }
        } }
    }
}

/// `to the edge of spar`; a sheet's thickness is to nothing.
fn to(what: &str) -> String {
    if what.starts_with("thickness") { what.to_owned() } else { format!("to {what}") }
}

fn stands(spaced: &SpacedReport) -> &'static str {
    match spaced.stands {
        _ if spaced.distance_in.is_none() => "not known",
        Stands::UnderRuling => "under the rule that rules this build",
        Stands::UnderAnother => "under another rule only",
        Stands::UnderNone => "under no rule that has a figure",
    }
}
