//! A rivet replaced like for like, step by step: out, the hole read, the new one in, its head measured.
//!
//! Where the builder stands is read off the record; a page that was left is
//! found again where it was.

use axum::extract::{Path, State};
use axum::response::Response;
use faying_build::World;
use faying_build::room::{Aspect, HoleId, HoleStatus};
use maud::{Markup, html};
use serde_json::json;

use super::assembly::{address, called, hole_address};
use super::examine::{judgement, source};
use super::hole::short;
use super::{answer, missing, refresh};
use crate::App;
use crate::layout::{About, Tab, page_about};

pub async fn page(State(app): State<App>, Path(name): Path<String>) -> Response {
    refresh(&app);
    let world = app.build.world();
    let Some(hole) = world.plan().hole_named(&name) else {
        drop(world);
        return missing(&app, &format!("The plan has no hole {name}."));
    };
    let title = format!("Replace {}", short(&world, hole));
    answer(page_about(&world, Tab::Assemblies, &title, About::Place(&name), &main(&world, hole)))
}

/// How far a replacement has come.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Stage {
    Out,
    Read,
    In,
    Measure,
    Done,
}

fn stage(world: &World, hole: HoleId) -> Stage {
    let state = &world.state;
    match state.status(hole) {
        HoleStatus::Empty => Stage::In,
        HoleStatus::OpenedAgain if world.hole_read_since_opened(hole).is_none() => Stage::Read,
        HoleStatus::OpenedAgain => Stage::In,
        HoleStatus::Set if state.removals(hole) == 0 => Stage::Out,
        HoleStatus::Set => match state.measured(hole) {
            None => Stage::Measure,
            Some(it) if it.head.verdict == "outside" => Stage::Out,
            Some(_) => Stage::Done,
        },
    }
}

fn main(world: &World, hole: HoleId) -> Markup {
    let plan = world.plan();
    let name = plan.hole_name(hole);
    let at = stage(world, hole);
    let steps = world.removal_at(hole);
    let item = |its: Stage, title: &str, body: Markup| {
        html! {
            li aria-current=[(its == at).then_some("step")] .done[its < at] {
                h2 { (title) @if its < at { " " small.status { "done" } } }
                @if its == at { (body) }
            }
        }
    };
    html! {
        p.trail { a href=(hole_address(world, hole)) { "Hole " (short(world, hole)) } }
        h1 { "Replace like for like" }
        p { (called(world, plan[hole].row)) " in " (short(world, hole)) ". "
            @match world.state.removals(hole) { 0 => "No rivet was taken out of it so far.", 1 => "One rivet was taken out of it so far.", count => { (count) " rivets were taken out of it so far." } }
            " A second rivet in a hole is likely worse than the first." }
        ol.stages {
            (item(Stage::Out, "Take it out", html! {
                ol.reasons { @for (words, cited) in &steps { li { (words) " " (source(cited)) } } }
                form.fields data-act=(json!({ "kind": "open", "hole": name }).to_string()) {
                    label { "Why" input name="why" required autocomplete="off"; }
                    p.says data-says role="status" hidden {}
                    button.go { "It is out" }
                }
            }))
            (item(Stage::Read, "Read the hole", html! {
                p { "Before the next rivet: its size, its edge, every sheet round it." }
                form.fields.measure data-caliper="send" data-act=(json!({ "kind": "examine", "holes": [name], "aspect": Aspect::Hole.word(), "when": "drilled" }).to_string()) {
                    label { "Diameter, in" input.big name="diameter" inputmode="decimal" required autocomplete="off"; }
                    p.says data-says role="status" hidden {}
                    button.go { "Record it" }
                }
                p { a href={ "/examine/figure-eight?of=" (address(&name)) } { "It is not round" } }
            }))
            (item(Stage::In, "Set the new one", html! {
                @if let Some(judged) = world.hole_read_since_opened(hole) { (judgement(&judged)) }
                p { "The same rivet from a bag that was looked at, deburred hole, sheets closed together." }
                form.fields data-act=(json!({ "kind": "set", "holes": [name] }).to_string()) {
                    p.says data-says role="status" hidden {}
                    button.go { "It is set" }
                }
                p { a href="/owed" { "The hole is too large: the fault stands on the Owed page" } }
            }))
            (item(Stage::Measure, "Measure its head", html! {
                p { "Owed: it stands against the gate until it is measured." }
                p { a.button.go href={ "/measure?of=" (address(&name)) } { "Measure it" } }
            }))
        }
        @if at == Stage::Done { p.lead { "It is replaced and its head is measured inside its limits, as far as checked." } }
        script src="/assets/measure.js" defer {}
    }
}
