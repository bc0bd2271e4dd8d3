//! Measure: a shop head as typed, and what the limits say of it at once.
//!
//! The page holds no formula: its script asks here again whenever a figure
//! changes, and shows the answer.

use axum::extract::{Query, State};
use axum::response::{IntoResponse, Response};
use faying_build::World;
use faying_build::report::{JudgeReport, TypedHead, judge_typed, judging_sets};
use faying_build::room::{Action, Event, Fastener, HoleId, RivetType, RowId, ShopSeat};
use maud::{Markup, html};
use serde::Deserialize;

use super::assembly::{address, hole_address};
use super::hole::{odds, short};
use super::standards::inches;
use super::{answer, refresh};
use crate::App;
use crate::layout::{Tab, first_upper, page_with_script};

/// How many holes that were set and not measured are offered.
const OFFERED: usize = 12;

/// What was typed so far.
#[derive(Debug, Default, Deserialize)]
pub struct Asked {
    /// A hole or a part number.
    #[serde(default)]
    of: String,
    #[serde(default)]
    width: String,
    #[serde(default)]
    width_across: String,
    #[serde(default)]
    height: String,
    #[serde(default)]
    seat: String,
    #[serde(default)]
    limits: String,
    /// `says` for the answer alone.
    #[serde(default)]
    part: String,
}

pub async fn page(State(app): State<App>, Query(asked): Query<Asked>) -> Response {
    refresh(&app);
    let world = app.build.world();
    if asked.part == "says" {
        return answer(says(&world, &asked)).into_response();
    }
    answer(page_with_script(&world, Tab::Measure, "Measure", &main(&world, &asked)))
}

/// What a head belongs to.
enum Of {
    Nothing,
    Hole(HoleId),
    Rivet(RivetType),
    /// Several rows have a hole that is called so.
    Several(Vec<HoleId>),
    Unknown,
}

/// A hole by its lasting name, or by its short one (`A-7`); else a rivet's part number.
fn read(world: &World, text: &str) -> Of {
    let plan = world.plan();
    let text = text.trim();
    if text.is_empty() {
        return Of::Nothing;
    }
    if let Some(hole) = plan.hole_named(text) {
        return Of::Hole(hole);
    }
    if let Some(rivet) = Fastener::read(text).ok().and_then(|read| read.fastener.rivet()) {
        return Of::Rivet(rivet);
    }
    let Some((row, number)) = text.rsplit_once(['-', '/', ' ']) else { return Of::Unknown };
    let Ok(number) = number.trim().parse::<u32>() else { return Of::Unknown };
    let row = row.trim();
    let named = |id: RowId| {
        let name = plan.row_name(id);
        name.eq_ignore_ascii_case(row)
            || plan[id].name.eq_ignore_ascii_case(row)
            || name.ends_with(&format!("/{row}"))
    };
    let found: Vec<HoleId> = (0..plan.rows.len())
        .map(RowId::from_index)
        .filter(|&id| plan[id].same.is_none() && named(id))
        .filter_map(|id| plan[id].hole_ids().find(|&hole| plan[hole].number == number))
        .collect();
    match found.as_slice() {
        [] => Of::Unknown,
        [one] => Of::Hole(*one),
        _ => Of::Several(found),
    }
}

fn main(world: &World, asked: &Asked) -> Markup {
    let sets = judging_sets(world.plan());
    let lip = match read(world, &asked.of) {
        Of::Hole(hole) => shop_seat(world, hole) == Some(ShopSeat::Lip),
        _ => false,
    };
    // Where the dimple is known, the lip is offered first and nobody has to choose.
    let seat = if asked.seat.is_empty() && lip { "lip" } else { &asked.seat };
    html! {
        h1 { "Measure" }
        form.fields.measure #measure method="get" action="/measure" data-caliper="ask" {
            label { "Hole, or rivet" input name="of" value=(asked.of) placeholder="flap-left/web/A/7, A-7 or MS20470AD4" autocomplete="off" autocapitalize="characters" autofocus[asked.of.is_empty()]; }
            div.row {
                label { "Width, in" input.big name="width" value=(asked.width) inputmode="decimal" autocomplete="off" autofocus[!asked.of.is_empty()]; }
                label { "Width across, in" input.big name="width_across" value=(asked.width_across) inputmode="decimal" autocomplete="off"; }
                label { "Height, in" input.big name="height" value=(asked.height) inputmode="decimal" autocomplete="off"; }
            }
            div.row.two {
                label { "Height from" select name="seat" {
                    @for (value, words) in [("", "as the joint is"), ("flat", "the flat"), ("lip", "the lip of the dimple"), ("over-all", "over all, from head to head")] {
                        option value=(value) selected[seat == value] { (words) }
                    }
                } }
                label { "Limits" select name="limits" {
                    option value="" { "those in force" }
                    @for set in &sets { option value=(set) selected[asked.limits == *set] { (set) } }
                } }
            }
            p.hint { small { "Fractions, decimals and millimetres are read: 3/16, .175, 4.4 mm. Enter goes to the next empty field, as a caliper with a cable does." } }
            button { "Ask the limits" }
        }
        section #says aria-live="polite" aria-label="What the limits say" { (says(world, asked)) }
        (offered(world))
        p.more { a.button href="/charts" { "Charts of measured heads" } " " a.button href="/charts?show=caliper" { "Ten readings for the caliper" } }
        script src="/assets/measure.js" defer {}
    }
}

fn shop_seat(world: &World, hole: HoleId) -> Option<ShopSeat> {
    let joint = world.side.joints.at(hole)?;
    joint.seats.as_ref().ok().map(|seats| seats.shop_seat)
}

/// What the limits say of what was typed so far.
fn says(world: &World, asked: &Asked) -> Markup {
    let plan = world.plan();
    let (rivet, hole) = match read(world, &asked.of) {
        Of::Nothing => return html! { p { "Name a hole of the plan, or a rivet alone." } },
        Of::Unknown => {
            return html! { p.caution { "Neither a hole of the plan nor a solid rivet: " (asked.of) ". Write flap-left/web/A/7, A-7 where only one row is called so, or MS20470AD4." } };
        }
        Of::Several(holes) => {
            return html! {
                p { "Several rows have such a hole. Which?" }
                ul.lines { @for hole in holes { li { a href={ "/measure?of=" (address(&plan.hole_name(hole))) } { b { (plan.hole_name(hole)) } span.count { @if world.is_set(hole) { "set" } } } } } }
            };
        }
        Of::Rivet(rivet) => (rivet, None),
        Of::Hole(hole) => match plan[plan[hole].row].rivet {
            Some(rivet) => (rivet, Some(hole)),
            None => {
                return html! { p { (plan.hole_name(hole)) " takes no solid rivet; no shop head is measured there." } };
            }
        },
    };
    let typed = TypedHead {
        width: asked.width.clone(),
        width_across: asked.width_across.clone(),
        height: asked.height.clone(),
        seat: if asked.seat.is_empty() && hole.and_then(|hole| shop_seat(world, hole)) == Some(ShopSeat::Lip)
        {
            "lip".to_owned()
        } else {
            asked.seat.clone()
        },
        limits: asked.limits.clone(),
    };
    let report = judge_typed(world, rivet, hole, &typed);
    html! {
        p.subject {
            @match hole {
                Some(hole) => {
                    a href=(hole_address(world, hole)) { (plan.hole_name(hole)) } ", " (rivet) ". "
                    a href={ (hole_address(world, hole)) "#fault" } { "Something else than its head" }
                },
                None => (rivet),
            }
        }
        @match &report {
            Err(why) => p.caution { (first_upper(why)) "." },
            Ok(report) => { (verdict(report)) },
        }
        @if let (Some(hole), Ok(_)) = (hole, &report) { (record(world, hole, &typed, report.as_ref().is_ok_and(|it| it.inside == Some(false)))) }
    }
}

fn verdict(report: &JudgeReport) -> Markup {
    html! {
        h2 {
            @match (report.inside, report.close) {
                (Some(true), false) => "Inside the quoted limits checked",
                (Some(true), true) => "Inside the quoted limits checked, within the uncertainty of one",
                (Some(false), false) => "Outside the limits",
                (Some(false), true) => "Outside the limits, within the uncertainty of one",
                (None, _) => "Not judged",
            }
        }
        @for reason in &report.reasons { p { (reason) } }
        p.next { b { @match report.action {
            Action::None => "Nothing to do by these limits.",
            Action::Squeeze => "Another squeeze can bring it inside.",
            Action::Replace => "No squeeze brings it inside. Leave it and ask the designer, or replace it.",
            Action::Ask => "Something is missing, or it is for somebody else to decide.",
        } } }
        @if let Some(conforms) = report.conforms { p { small { "Odds that the true dimensions are inside, for those read: " (odds(conforms)) "." } } }
        @if report.inside != Some(true) && !report.not_checked.is_empty() { p { "Not checked: " (report.not_checked.join(", ")) "." } }
        @if let Some(rule) = &report.thumb_rule {
            div.note { p { b { "Rule of thumb: " } (rule.says) } p { small { (rule.source) } } }
        }
        @if let Some(limits) = &report.limits {
            table.limits {
                caption { "Limits: " (limits.name) }
                thead { tr { td {} th.n scope="col" { "least, in" } th.n scope="col" { "most, in" } } }
                tbody {
                    tr { th scope="row" { "Width" } td.n { (inches(limits.min_width_in)) } td.n { (limits.max_width_in.map_or_else(|| "none".to_owned(), inches)) } }
                    tr { th scope="row" { "Height" } td.n { (inches(limits.min_height_in)) } td.n { (limits.max_height_in.map_or_else(|| "none".to_owned(), inches)) } }
                }
            }
            p { small { (limits.source) } }
            @if !limits.lacks.is_empty() { p { small { (first_upper(&limits.lacks)) "." } } }
        }
    }
}

/// The act that puts the measurement down, with the figures as they were typed.
///
/// One that is outside leads on to what can be done about it.
fn record(world: &World, hole: HoleId, typed: &TypedHead, outside: bool) -> Markup {
    let plan = world.plan();
    let name = plan.hole_name(hole);
    let next = plan[plan[hole].row].hole_ids().find(|&other| plan[other].number == plan[hole].number + 1);
    let act = serde_json::json!({
        "kind": "measure", "hole": name, "width": typed.width, "width_across": typed.width_across,
        "height": typed.height, "seat": typed.seat,
    });
    html! {
        @if !world.is_set(hole) { p { "No fastener is in it yet, so nothing can be recorded." } }
        @else if !(typed.width.trim().is_empty() && typed.height.trim().is_empty()) {
            form.fields #record data-act=(act.to_string()) data-then=[outside.then_some("/fault/ID")] {
                p.says data-says role="status" hidden {}
                button.go { "Record it for " (short(world, hole)) }
            }
        }
        @if let Some(next) = next { p { a.button href={ "/measure?of=" (address(&plan.hole_name(next))) } { "Next: " (short(world, next)) } } }
    }
}

/// Holes set last whose heads were not measured.
fn offered(world: &World) -> Markup {
    let plan = world.plan();
    let mut offered: Vec<HoleId> = Vec::new();
    'acts: for act in world.state.acts().iter().rev() {
        let Event::HolesSet(set) = &act.event else { continue };
        for hole in set.holes.iter().filter_map(|name| plan.hole_named(name)) {
            if offered.len() == OFFERED {
                break 'acts;
            }
            if world.is_set(hole) && world.state.measured(hole).is_none() && !offered.contains(&hole) {
                offered.push(hole);
            }
        }
    }
    html! {
        @if !offered.is_empty() {
            h2 { "Set last, not measured" }
            ul.holes.wide aria-label="Holes set last, not measured" {
                @for hole in offered { li { a href={ "/measure?of=" (address(&plan.hole_name(hole))) } { (plan[plan[plan[hole].row].assembly].id) " " (short(world, hole)) } } }
            }
        }
    }
}
