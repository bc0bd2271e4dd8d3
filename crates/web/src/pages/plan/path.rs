//! The path to a gate: only what is not done on the way, what comes first, and how many hours it is.

use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse, Redirect, Response};
use faying_build::{PathReport, PlanReport, World, hours_words};
use faying_sheet::svg;
use maud::{Markup, PreEscaped, html};
use serde::Deserialize;

use super::drawing::{self, COLUMN};
use super::{address, count, line_of};
use crate::App;
use crate::layout::{Tab, first_upper, page as framed};
use crate::pages::{answer, missing, refresh};

/// Which gate was chosen.
#[derive(Debug, Deserialize)]
pub struct Chosen {
    #[serde(default)]
    gate: String,
}

/// From the list of gates to the path to one.
pub async fn choose(Query(chosen): Query<Chosen>) -> Response {
    if chosen.gate.is_empty() {
        return Redirect::to("/plan").into_response();
    }
    Redirect::to(&format!("/plan/to/{}", address(&chosen.gate))).into_response()
}

pub async fn page(State(app): State<App>, Path(name): Path<String>) -> Response {
    refresh(&app);
    let world = app.build.world();
    let Some(gate) = world.plan().gate_named(&name) else {
        drop(world);
        return missing(&app, &format!("The plan has no gate {name}."));
    };
    let progress = world.progress();
    let report = world.plan_report(&progress);
    let path = world.path_to(&progress, &report, gate);
    let title = format!("Path to {}", path.title);
    answer(framed(&world, Tab::Plan, &title, &main(&world, &report, &path)))
}

/// The list of gates; each leads to its path.
pub fn chooser(report: &PlanReport, chosen: &str) -> Markup {
    html! {
        form.fields.choose method="get" action="/plan/to" {
            label { "Path to a gate" select name="gate" {
                @for (number, lane) in report.lanes.iter().enumerate() {
                    @for it in report.lines.iter().filter(|it| it.lane == number && it.stands.is_gate()) {
                        option value=(it.name) selected[it.name == chosen] { (lane.title) ": " (it.title) ", " (it.state) }
                    }
                }
            } }
            button { "Show the path" }
        }
    }
}

fn main(world: &World, report: &PlanReport, it: &PathReport) -> Markup {
    let gate = &report.lines[it.at];
    html! {
        link rel="stylesheet" href="/assets/plan.css";
        p.trail { a href="/plan" { "Plan" } }
        h1 { "Path to " (it.title) }
        p.lead { (first_upper(&gate.state)) @if !gate.note.is_empty() { ": " (gate.note) } ". " a href={ "/gate/" (address(&it.gate)) } { "To the gate" } }
        @if it.steps + it.gates == 0 {
            p { "No work of the plan is left before it." }
        } @else {
            p #on-the-way {
                b { (count(it.steps, "step")) } @if it.gates > 0 { " and " b { (count(it.gates, "other gate")) } }
                " lie before it and are not behind you: " b { (hours_words(it.hours)) } " of planned work. The longest way takes "
                (hours_words(it.longest)) ", cures included; more hands do not make it shorter."
            }
            h2 { "Comes first" }
            ul.lines.plan #first { @for &at in &it.first { @let one = &report.lines[at]; li { (line_of(at, one, &report.lanes[one.lane].title)) } } }
        }
        @if !it.beside.is_empty() {
            h2 { "Beside the work" }
            ul.lines { @for (what, next, link) in &it.beside { li { a href=(link) { span { b { (first_upper(what)) } br; small { (first_upper(next)) } } } } } }
        }
        @if it.steps + it.gates > 0 {
            h2 { "What is not done on the way" }
            div.drawing.on-phone { (PreEscaped(svg::write(&drawing::path(world, report, it, COLUMN[0])))) }
            div.drawing.on-desk { (PreEscaped(svg::write(&drawing::path(world, report, it, COLUMN[1])))) }
        }
        (chooser(report, &it.gate))
    }
}
