//! Plan: how far the build is, what is ready, what blocks what, and what to bring forward.
//!
//! The page itself only shows what every page knows anyway. When it will be
//! finished takes longer to reckon, and the drawing is large: these parts have
//! addresses of their own, and the page's script fetches them.

mod drawing;
mod finish;
mod open;
mod path;

use axum::Form;
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Redirect, Response};
use faying_build::{BatchReport, LineReport, PlanReport, World, hours_words};
use faying_sheet::network::standing_drawing;
use faying_sheet::svg;
use maud::{Markup, PreEscaped, html};
use serde::Deserialize;
use serde_json::json;

pub use drawing::{page as drawing, print};
pub use finish::page as finish;
pub use open::page as open;
pub use path::{choose, page as path};

use super::assembly::{address, count};
use super::owed::changed_plan;
use super::{answer, refresh};
use crate::App;
use crate::layout::{Tab, first_upper, page as framed};

/// From how many assemblies on the page has a list of them.
const MANY: usize = 4;

/// What was asked of the page.
#[derive(Debug, Deserialize)]
pub struct Asked {
    /// Hours a week, as typed: what if it were another number.
    #[serde(default)]
    week: String,
}

/// The practice by which gates are written.
#[derive(Debug, Deserialize)]
pub struct Practice {
    practice: String,
}

pub async fn page(State(app): State<App>, Query(asked): Query<Asked>) -> Response {
    shown(&app, &asked.week, None)
}

fn shown(app: &App, week: &str, said: Option<&str>) -> Response {
    let failed = refresh(app);
    let world = app.build.world();
    let failed = failed.map(|why| format!("The plan's files could not be read again: {why}"));
    let said = failed.as_deref().or(said);
    answer(framed(&world, Tab::Plan, "Plan", &main(&world, week, said)))
}

/// Writes gates of the whole build by the practice of a country.
pub async fn start_gates(State(app): State<App>, Form(asked): Form<Practice>) -> Response {
    let build = app.build.clone();
    let done = tokio::task::spawn_blocking(move || {
        build.folder().start_gates(&asked.practice).and_then(|_| build.refresh())
    });
    let failed = match done.await {
        Ok(Ok(_)) => return Redirect::to("/plan#gates").into_response(),
        Ok(Err(error)) => error.to_string(),
        Err(error) => error.to_string(),
    };
    shown(&app, "", Some(&failed))
}

fn main(world: &World, week: &str, said: Option<&str>) -> Markup {
    let progress = world.progress();
    let report = world.plan_report(&progress);
    html! {
        link rel="stylesheet" href="/assets/plan.css";
        h1 { "Plan" }
        @if let Some(said) = said { p.caution role="alert" { (first_upper(said)) } }
        (tally(&report))
        (adopt(world))
        @if report.steps == 0 {
            p { "The plan has no steps yet. They are written into the files of its assemblies, under steps." }
        } @else {
            nav.way aria-label="On this page" {
                a href="#steps" { "Steps and gates" }
                a href="#batches" { "Batches" }
                a href="#finish" { "Finish" }
                a href="/plan/open" { "Open and closing" }
            }
            @if report.gates > 0 { (path::chooser(&report, "")) }
            (drawing::section(&report))
            (steps(&report))
            (batches(&world.batches(&progress)))
            (finish::placeholder(week))
        }
        (gates(world))
        script src="/assets/plan.js" defer {}
    }
}

/// How far it is, in holes, steps, gates and hours.
fn tally(it: &PlanReport) -> Markup {
    html! {
        dl.tally {
            div { dt { "Holes set" } dd { b { (it.set) } " of " (it.holes) (bar(it.set, it.holes)) } }
            div { dt { "Steps done" } dd { b { (it.steps_done) } " of " (it.steps) (bar(it.steps_done, it.steps)) } }
            div { dt { "Gates passed" } dd { b { (it.gates_passed) } " of " (it.gates) (bar(it.gates_passed, it.gates)) } }
            div { dt { "Hours" } dd {
                b { (hours_words(it.hours_left)) } " left of " (hours_words(it.hours_planned)) " planned"
                br; small { (hours_words(it.hours_worked)) " worked so far" }
            } }
        }
    }
}

fn bar(done: usize, all: usize) -> Markup {
    let share = (done * 100).checked_div(all).unwrap_or(0);
    html! { div.bar { i style={ "width:" (share) "%" } {} } }
}

/// A plan that has changed since it was adopted: what no longer agrees, and the act that adopts it.
fn adopt(world: &World) -> Markup {
    let number = world.revision();
    if world.is_adopted() || number < 2 {
        return html! {};
    }
    let agrees = world.disagreements().is_empty();
    html! {
        (changed_plan(world))
        div #adopt {
            @if agrees { p.note { "The plan has changed since revision " (number - 1) ". Nothing that was done disagrees with it. The next act adopts it." } }
            form.fields data-act=(json!({ "kind": "adopt-plan" }).to_string()) {
                p.says data-says role="status" hidden {}
                button { "Adopt revision " (number) " now" }
            }
        }
    }
}

/// Steps and gates, assembly by assembly; what is done is folded away.
fn steps(report: &PlanReport) -> Markup {
    html! {
        section #steps {
            h2 { "Steps and gates" }
            @if report.lanes.len() >= MANY {
                ul.contents {
                    @for lane in &report.lanes {
                        li { a href={ "#" (lane_id(&lane.assembly)) } { (lane.title) }
                            @if lane.steps > 0 { " " small { (lane.done) " of " (lane.steps) } } }
                    }
                }
            }
            @for (number, lane) in report.lanes.iter().enumerate() {
                @let lines: Vec<(usize, &LineReport)> = report.lines.iter().enumerate().filter(|(_, it)| it.lane == number).collect();
                @let (behind, ahead): (Vec<_>, Vec<_>) = lines.into_iter().partition(|(_, it)| it.stands.is_behind());
                h3 id=(lane_id(&lane.assembly)) {
                    @if lane.assembly.is_empty() { (lane.title) } @else { a href={ "/assembly/" (address(&lane.assembly)) } { (lane.title) } }
                    @if lane.steps > 0 { " " small.status { (lane.done) " of " (lane.steps) " steps done" @if lane.hours_left > 0.0 { " · " (hours_words(lane.hours_left)) " left" } } }
                }
                @if !behind.is_empty() {
                    details id={ "done-" (lane_id(&lane.assembly)) } {
                        summary { (done_words(&behind)) }
                        ul.lines.plan { @for (at, it) in behind { li { (line(at, it)) } } }
                    }
                }
                @if !ahead.is_empty() { ul.lines.plan { @for (at, it) in ahead { li { (line(at, it)) } } } }
            }
        }
    }
}

fn lane_id(assembly: &str) -> String {
    if assembly.is_empty() { "gates".to_owned() } else { format!("of-{}", address(assembly)) }
}

fn done_words(behind: &[(usize, &LineReport)]) -> String {
    let gates = behind.iter().filter(|(_, it)| it.stands.is_gate()).count();
    match (behind.len() - gates, gates) {
        (steps, 0) => format!("{} done", count(steps, "step")),
        (0, gates) => format!("{} passed", count(gates, "gate")),
        (steps, gates) => format!("{} done, {} passed", count(steps, "step"), count(gates, "gate")),
    }
}

/// A step or a gate as a line that leads to its page.
fn line(at: usize, it: &LineReport) -> Markup {
    line_of(at, it, "")
}

/// The same with its assembly, outside of its lane.
fn line_of(at: usize, it: &LineReport, lane: &str) -> Markup {
    let stands = drawing::standing(it.stands);
    // What stands against a gate belongs to its state; what is left of a step stands at the right.
    let gate = it.stands.is_gate();
    html! {
        a href=(address(&it.link)) {
            span.mark aria-hidden="true" { (PreEscaped(svg::write(&standing_drawing(&format!("line-{at}"), stands)))) }
            span {
                @if !lane.is_empty() { small { (lane) } br; }
                b { @if gate { "Gate: " } (it.title) }
                br; span.state { (first_upper(&it.state)) @if gate && !it.note.is_empty() { ": " (it.note) } }
                @if !it.sheet.is_empty() { " " small { "· " (it.sheet) } }
            }
            @if !gate && !it.note.is_empty() { span.count { @for part in it.note.split(" · ") { span { (part) } } } }
        }
    }
}

/// What can join the next batch of each finish, what could be brought forward, what waits for it.
fn batches(batches: &[BatchReport]) -> Markup {
    html! {
        section #batches {
            h2 { "Batches" }
            @if batches.is_empty() { p { "Nothing is left to be finished in a batch." } }
            @for it in batches {
                h3 { (first_upper(&it.finish)) }
                @if it.ready.is_empty() {
                    p { "Nothing can join the next batch yet." }
                } @else {
                    p { "Can join the next batch now:" }
                    ul.lines { @for (name, title) in &it.ready { li { a href={ "/step/" (address(name)) } { span { b { (title) } } } } } }
                }
                @if !it.forward.is_empty() {
                    p.group { "Could be brought forward; each that joins a batch saves " (hours_words(it.set_up_hours)) " of getting ready and cleaning up" }
                    ul.lines {
                        @for (name, title, first, hours) in &it.forward {
                            li { a href={ "/step/" (address(name)) } {
                                span { b { (title) } br; small { @if first.is_empty() { "Nothing has to be done first" } @else { "First: " (first.join("; ")) } } }
                                span.count { (hours_words(*hours)) small { "of that first" } }
                            } }
                        }
                    }
                }
                @if it.waiting > 0 {
                    p { "While this batch is not done, " (count(it.waiting, "step")) " with " (hours_words(it.waiting_hours)) " of work " @if it.waiting == 1 { "waits" } @else { "wait" } " for it and for nothing else." }
                }
            }
        }
    }
}

/// Gates of the whole build, where the build has no file of them yet.
fn gates(world: &World) -> Markup {
    let practices = world.practices_to_start();
    html! {
        @if !practices.is_empty() {
            section #start-gates {
                h2 { "Gates of the whole build" }
                p { "There is no gates.toml: nothing stands yet before rigging, the first engine run, weighing or an inspection of the whole. It can be written as builders of a country commonly meet these; every line is yours to change. The authority's own rule decides." }
                form.fields method="post" action="/plan/gates" {
                    label { "Whose practice" select name="practice" required {
                        option value="" { "choose" }
                        @for name in practices { option value=(name) { (name) } }
                    } }
                    button { "Write gates.toml" }
                }
            }
        }
    }
}
