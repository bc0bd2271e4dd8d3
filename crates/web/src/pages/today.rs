//! Today: what can be done now, and what waits.

use axum::extract::{Query, State};
use axum::response::Response;
use faying_build::room::{Progress, StepProgress, StepState};
use faying_build::{NextReport, NextStep, World, waiting_until};
use maud::{Markup, html};
use serde::Deserialize;

use super::{answer, refresh};
use crate::App;
use crate::layout::{Tab, page as framed};

/// The session that is asked for.
#[derive(Debug, Deserialize)]
pub struct Asked {
    /// Hours, as typed.
    #[serde(default)]
    hours: String,
    /// Whether a second person is there.
    helper: Option<String>,
}

pub async fn page(State(app): State<App>, Query(asked): Query<Asked>) -> Response {
    let failed = refresh(&app);
    let world = app.build.world();
    answer(framed(&world, Tab::Today, "Today", &main(&world, &asked, failed.as_deref())))
}

/// Hours of a session as typed; none where they cannot be those of one day.
fn hours_of(text: &str) -> Option<f64> {
    let hours: f64 = text.trim().replace(',', ".").parse().ok()?;
    (hours > 0.0 && hours <= 24.0).then_some(hours)
}

fn main(world: &World, asked: &Asked, failed: Option<&str>) -> Markup {
    let plan = world.plan();
    let progress = world.progress();
    let runs: Vec<_> = world.state.runs().iter().filter(|run| run.ended.is_none()).collect();
    let hours = hours_of(&asked.hours);
    let next = world.next(&progress, hours.unwrap_or_else(|| world.session_hours()), asked.helper.is_some());
    let waiting: Vec<&StepProgress> =
        progress.steps.iter().filter(|it| !matches!(it.state, StepState::Done | StepState::Ready)).collect();
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
        (evening(world, &progress, &next, asked, hours.is_none() && !asked.hours.trim().is_empty()))
        (presses(&next))
        (also_ready(world, &progress, &next))
        @if plan.steps.is_empty() {
            p { "The plan has no steps yet. Every row can still be looked at and set from its " a href="/assemblies" { "assembly" } "." }
        }
        @if !waiting.is_empty() {
            details #blocked {
                summary { (waiting.len()) " steps wait" }
                ul.lines {
                    @for step in &waiting {
                        @let it = &plan[step.step];
                        li { a href={ "/step/" (plan.step_name(step.step)) } {
                            span { (plan[it.assembly].title) ": " (it.title) br; small { (waits_for(world, step)) } }
                            @if step.left() > 0 { span.count { (step.left()) small { "to set" } } }
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

/// The best ready work for the hours there are.
fn evening(world: &World, progress: &Progress, next: &NextReport, asked: &Asked, odd: bool) -> Markup {
    html! {
        h2 { "This session" }
        form.session action="/" method="get" {
            label { "I have" input name="hours" inputmode="decimal" autocomplete="off" size="4" value=(next.hours) aria-label="Hours of this session"; "hours" }
            label.check { input type="checkbox" name="helper" value="yes" checked[asked.helper.is_some()]; "with a helper" }
            button { "Show" }
        }
        @if odd { p.caution role="alert" { "\u{201c}" (asked.hours) "\u{201d} are not hours of one day; write 2 or 2.5. Shown is what fits into " (next.hours) " h." } }
        @if next.work.is_empty() {
            p { @if progress.steps.iter().all(|it| it.state == StepState::Done) { "Every step is done." } @else { "Nothing is ready that fits." } }
        }
        ol.evening {
            @for it in &next.work { li { (pick(world, it)) } }
        }
        @if (next.pace - 1.0).abs() > 0.05 {
            p.small { "By your own pace: " (format!("{:.2}", next.pace)) " h for each planned hour." }
        }
    }
}

fn pick(world: &World, it: &NextStep) -> Markup {
    html! {
        a href=(it.link) {
            b { (it.title) }
            span.count { (hours_words(it.hours)) }
            small { @if !it.sheet.is_empty() { (it.sheet) ". " } @if !it.finishes { "To begin it. " } @if it.people > 1 { (it.people) " people. " } (crate::layout::first_upper(&it.reasons.join("; "))) "." }
            @if !it.fetch.is_empty() { small.fetch { "Fetch: " @for (n, thing) in it.fetch.iter().enumerate() { @if n > 0 { ", " } span { (thing) } } } }
        }
        (done_button(world, &it.step, &it.title))
    }
}

/// One tap for a step that sets nothing.
fn done_button(world: &World, step: &str, title: &str) -> Markup {
    let no_holes =
        world.plan().step_named(step).is_some_and(|it| world.side.sequence.work(it).fill.is_empty());
    html! {
        @if no_holes {
            form.done data-act=(serde_json::json!({ "kind": "step-done", "step": step }).to_string()) {
                button aria-label={ "Done: " (title) } { "Done" }
            }
        }
    }
}

/// `1 h 30 min`, to five minutes.
fn hours_words(hours: f64) -> String {
    faying_build::waiting_words((hours * 12.0).round() * 5.0)
}

/// What presses: gates that are next, what is owed before them, what cures.
fn presses(next: &NextReport) -> Markup {
    html! {
        @if !next.gates.is_empty() || !next.owed.is_empty() || !next.clocks.is_empty() {
            h2 { "Before you go on" }
            ul.lines {
                @for gate in &next.gates {
                    li { a href={ "/gate/" (gate.gate) } {
                        span { b { "Gate. " (gate.title) } br; small { @if gate.against == 0 { "nothing stands against it; pass it" } @else { "stands before work that is ready" } } }
                        span.count { (gate.against) small { "against it" } }
                    } }
                }
                @for owed in next.owed.iter().take(6) {
                    li { a href={ "/owed#" (faying_build::anchor(&owed.act, &owed.key)) } {
                        span { b { "Owed. " (owed.what) } br; small { @if owed.gate_title.is_empty() { "no gate is named" } @else { "before " (owed.gate_title) } } }
                    } }
                }
                @if next.owed.len() > 6 { li { a href="/owed" { span { (next.owed.len() - 6) " more are owed now" } } } }
                @for clock in &next.clocks {
                    li { a href={ "/step/" (clock.step) } {
                        span { b { "Cures. " (clock.title) } br; small { "leave it alone" } }
                        span.count { (clock.left) small { "left" } }
                    } }
                }
            }
        }
    }
}

/// Ready steps that the session has no room for.
fn also_ready(world: &World, progress: &Progress, next: &NextReport) -> Markup {
    let plan = world.plan();
    let chosen = |step: &StepProgress| {
        let name = plan.step_name(step.step);
        next.work.iter().any(|it| it.step == name)
    };
    let ready: Vec<_> =
        progress.steps.iter().filter(|it| it.state == StepState::Ready && !chosen(it)).collect();
    html! {
        @if !ready.is_empty() {
            h2 { "Also ready" }
            @for assembly in &plan.assemblies {
                @let ready: Vec<_> = ready.iter().filter(|it| plan[plan[it.step].assembly].id == assembly.id).collect();
                @if !ready.is_empty() {
                    p.group { (assembly.title) }
                    ul.lines {
                        @for step in ready {
                            @let it = &plan[step.step];
                            @let name = plan.step_name(step.step);
                            li.with-act {
                                a href={ @if step.holes > 0 { "/run/" } @else { "/step/" } (name) } {
                                    span { b { (it.title) } br; small { (it.sheet) @if let Some(hours) = it.hours { " · " (hours) " h planned" } } }
                                    @if step.holes > 0 { span.count { (step.left()) small { "to set" } } }
                                }
                                (done_button(world, &name, &format!("{}, {}", it.title, assembly.title)))
                            }
                        }
                    }
                }
            }
        }
    }
}

/// What a step waits for, in words.
pub fn waits_for(world: &World, step: &StepProgress) -> String {
    match step.state {
        StepState::Done | StepState::Ready => String::new(),
        StepState::Blocked { by } => format!("waits for {}", world.step_title(by)),
        StepState::Curing { after, until } => {
            format!("{} cures for another {}", world.step_title(after), waiting_until(until))
        }
        StepState::AtGate { gate } => format!("at gate {}", world.gate_title(gate)),
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
