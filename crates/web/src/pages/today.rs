//! Today: what can be done now, and what waits.

use axum::extract::State;
use axum::response::Response;
use faying_build::World;
use faying_build::room::StepState;
use maud::{Markup, html};

use super::{answer, refresh};
use crate::App;
use crate::layout::{Tab, page as framed};

pub async fn page(State(app): State<App>) -> Response {
    let failed = refresh(&app);
    let world = app.build.world();
    answer(framed(&world, Tab::Today, "Today", &main(&world, failed.as_deref())))
}

fn main(world: &World, failed: Option<&str>) -> Markup {
    let plan = world.plan();
    let progress = world.progress();
    let runs: Vec<_> = world.state.runs().iter().filter(|run| run.ended.is_none()).collect();
    let blocked: Vec<_> = progress
        .steps
        .iter()
        .filter_map(|step| match step.state {
            StepState::Blocked { by } => Some((step, by)),
            _ => None,
        })
        .collect();
    html! {
        h1 { "Today" }
        @if let Some(why) = failed { p.caution { "The plan's files could not be read again: " (why) } }
        @let findings = world.side.findings.len();
        @if findings > 0 {
            p.note { a href="/findings" { @if findings == 1 { "1 finding" } @else { (findings) " findings" } } " in the plan to look at." }
        }
        @if !runs.is_empty() {
            h2 { "At the bench" }
            ul.lines {
                @for run in &runs {
                    @let left = run.set_ups.iter().flat_map(|it| &it.holes).filter(|name| plan.hole_named(name).is_some_and(|hole| !world.is_set(hole))).count();
                    @let all = run.set_ups.iter().map(|it| it.holes.len()).sum::<usize>();
                    li { a href={ "/bench/" (run.run) } {
                        span { b { (step_title(world, &run.step)) } br; small { "started " (day_and_time(&world.state.act(run.started).at)) } }
                        span.count { (all - left) " of " (all) small { "set" } }
                    } }
                }
            }
        }
        h2 { "Ready" }
        @for assembly in &plan.assemblies {
            @let ready: Vec<_> = progress.steps.iter().filter(|step| step.state == StepState::Ready && plan[plan[step.step].assembly].id == assembly.id).collect();
            @if !ready.is_empty() {
                p.group { (assembly.title) }
                ul.lines {
                    @for step in ready {
                        @let it = &plan[step.step];
                        li {
                            @if step.holes > 0 {
                                a href={ "/run/" (plan.step_name(step.step)) } {
                                    span { b { (it.title) } br; small { (it.sheet) @if let Some(hours) = it.hours { " · " (hours) " h planned" } } }
                                    span.count { (step.left()) small { "to set" } }
                                }
                            } @else {
                                form.line data-act=(serde_json::json!({ "kind": "step-done", "step": plan.step_name(step.step) }).to_string()) {
                                    span { b { (it.title) } br; small { (it.sheet) @if let Some(hours) = it.hours { " · " (hours) " h planned" } } }
                                    button aria-label={ "Done: " (it.title) ", " (assembly.title) } { "Done" }
                                }
                            }
                        }
                    }
                }
            }
        }
        @if plan.steps.is_empty() {
            p { "The plan has no steps yet. Every row can still be looked at and set from its " a href="/assemblies" { "assembly" } "." }
        }
        @if !blocked.is_empty() {
            details #blocked {
                summary { (blocked.len()) " steps wait for others" }
                ul.lines {
                    @for (step, by) in &blocked {
                        @let it = &plan[step.step];
                        li { div.line {
                            span { (plan[it.assembly].title) ": " (it.title) br; small { "waits for " (plan[*by].title) @if plan[*by].assembly != it.assembly { ", " (plan[plan[*by].assembly].title) } } }
                            span.count { (step.left()) small { "to set" } }
                        } }
                    }
                }
            }
        }
        h2 { "Progress" }
        @for assembly in &plan.assemblies {
            @let holes: Vec<_> = assembly.rows.iter().flat_map(|&row| plan[row].hole_ids()).collect();
            @let set = holes.iter().filter(|&&hole| world.is_set(hole)).count();
            @if !holes.is_empty() {
                p { a href={ "/assembly/" (assembly.id) } { (assembly.title) } " " small { (set) " of " (holes.len()) } }
                div.bar { i style={ "width:" (set * 100 / holes.len()) "%" } {} }
            }
        }
        // Whoever comes back to the bench has one thumb free.
        @if let Some(run) = runs.last() {
            div.start { a.button.go.wide href={ "/bench/" (run.run) } { "Go on: " (step_title(world, &run.step)) } }
        }
    }
}

/// A step by its assembly's and its own title.
pub fn step_title(world: &World, name: &str) -> String {
    let plan = world.plan();
    plan.step_named(name).map_or_else(
        || name.to_owned(),
        |step| format!("{}: {}", plan[plan[step].assembly].title, plan[step].title),
    )
}

/// `2026-05-12T19:30:12+02:00` as `2026-05-12 19:30`.
pub fn day_and_time(at: &str) -> String {
    match at.split_once('T') {
        Some((day, time)) => format!("{day} {}", time.get(..5).unwrap_or(time)),
        None => at.to_owned(),
    }
}
