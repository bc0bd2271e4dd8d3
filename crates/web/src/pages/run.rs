//! A run: before it starts, and at the bench.
//!
//! Before the start the page shows what it takes: set-ups, what to tape off,
//! the tray. At the bench one script owns the moving parts; the page carries
//! its run as data, and the maps are drawn here once.

use axum::Json;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use faying_build::report::RunReport;
use faying_build::room::{HoleId, PlaneId, Point, Side};
use faying_build::{BenchReport, BenchSetUp, World};
use faying_sheet::symbol::state_drawing;
use faying_sheet::{HoleLook, HoleState, PlaneOptions, plane_drawing, svg};
use maud::{Markup, PreEscaped, html};

use super::{answer, missing, refresh};
use crate::App;
use crate::layout::{Tab, first_upper, page, page_with_script};

pub async fn before(State(app): State<App>, Path((assembly, step)): Path<(String, String)>) -> Response {
    refresh(&app);
    let world = app.build.world();
    let name = format!("{assembly}/{step}");
    let Some(id) = world.plan().step_named(&name) else {
        drop(world);
        return missing(&app, &format!("The plan has no step {name}."));
    };
    let report = RunReport::of(&world, &world.run_of(id));
    let started = world
        .state
        .runs()
        .iter()
        .rev()
        .find(|run| run.step == name && run.ended.is_none())
        .map(|run| run.run.clone());
    answer(page(
        &world,
        Tab::None,
        &report.title,
        &before_main(&report, started.as_deref(), world.not_yet(id).as_deref()),
    ))
}

fn before_main(report: &RunReport, started: Option<&str>, not_yet: Option<&str>) -> Markup {
    // Within its own assembly a row needs no more than `web/A`.
    let assembly = report.step.rsplit_once('/').map_or("", |(assembly, _)| assembly);
    let assembly = format!("{assembly}/");
    let assembly = assembly.as_str();
    let holes: usize = report.set_ups.iter().map(|it| it.holes.len()).sum();
    html! {
        header.run-head { h1 { (report.title) } p.small { (report.sheet) @if holes > 0 { " · " (holes) " holes, " (report.set_ups.len()) @if report.set_ups.len() == 1 { " set-up" } @else { " set-ups" } } } }
        @if report.set_ups.is_empty() {
            p.note { "Every hole that can be set at this step is set." }
        } @else {
            @if let Some(run) = started {
                p { a.button.go href={ "/bench/" (run) } { "Go on with the run" } }
            } @else if let Some(why) = not_yet {
                p.caution { b { "Not yet. " } (first_upper(why)) "." }
            } @else {
                form data-act=(serde_json::json!({ "kind": "start", "step": report.step }).to_string()) data-new="run" data-then="/bench/ID" {
                    button.go { "Start the run" }
                    p.caution data-says hidden {}
                }
            }
            p.caution { "Eyes and ears: glasses and ear protection before the first rivet. Fingers out of the yoke." }
        }
        @if !report.open.is_empty() {
            h2 { "Tape these: they stay open" }
            ul.lines {
                @for open in &report.open {
                    li { div.line { span { b { (open.row.strip_prefix(assembly).unwrap_or(&open.row)) } ", " (open.holes) br; small { (open.why) } } span.count { (open.names.len()) } } }
                }
            }
        }
        @if !report.bag.is_empty() {
            h2 { "In the tray" }
            p.small { "Look at the head marks, and measure the length of three." }
            table {
                thead { tr { th scope="col" { "Fastener" } th.n scope="col" { "Need" } th.n scope="col" { "Spare" } } }
                tbody { @for line in &report.bag { tr { td { (line.fastener) } td.n { (line.need) } td.n { (line.spare) } } } }
            }
        }
        @if !report.set_ups.is_empty() {
            h2 { "Set-ups, in order" }
            ol.set-ups {
                @for it in &report.set_ups {
                    li {
                        b { (it.title) } " · " (it.holes.len()) " holes"
                        p.small { (it.tool) @if !it.dies.is_empty() { ", " (it.dies) } @if !it.head_on.is_empty() { " · manufactured head " (it.head_on) } }
                        @if !it.setting.is_empty() { p.small { (it.setting) } }
                        details { summary { "Why this tool" } p.small { (it.why) } }
                    }
                }
            }
        }
    }
}

pub async fn bench(State(app): State<App>, Path(run): Path<String>) -> Response {
    refresh(&app);
    let world = app.build.world();
    let Some(report) = world.bench(&run) else {
        drop(world);
        return missing(&app, "There is no such run.");
    };
    let main = bench_main(&world, &report);
    answer(page_with_script(&world, Tab::None, &report.title, &main))
}

/// The run's data alone, for a page that has seen a new version.
pub async fn data(State(app): State<App>, Path(run): Path<String>) -> Response {
    match app.build.world().bench(&run) {
        Some(report) => Json(report).into_response(),
        None => (axum::http::StatusCode::NOT_FOUND, "There is no such run.").into_response(),
    }
}

fn bench_main(world: &World, report: &BenchReport) -> Markup {
    // In a data block "</script" must not end it early.
    let data = serde_json::to_string(report).unwrap_or_default().replace('<', "\\u003c");
    html! {
        div #run {
            header.run-head { h1 { (report.title) } p.small #where {} }
            section.set-up aria-labelledby="set-up" {
                h2 #set-up {}
                details #facts open { summary { "Tool, setting, limits" } dl #set-up-facts {} }
                div.turn #set-up-turn { button type="button" #previous { "Set-up before" } button type="button" #next { "Next set-up" } }
            }
            @for (number, set_up) in report.set_ups.iter().enumerate() {
                div.maps data-set-up=(number) hidden { (maps(world, report, number, set_up)) }
            }
            p.legend {
                @for state in [HoleState::Now, HoleState::ToDo, HoleState::Set, HoleState::SetMeasured, HoleState::Open] {
                    span { (PreEscaped(svg::write(&state_drawing(&format!("legend-{}", state.key()), HoleLook::plain(state))))) " " (state.words()) }
                }
                span { "broken ring: drilled out" }
            }
            div.dock {
                section #scrap hidden {
                    h3 { "Scrap first" }
                    p.small { "One head on scrap of the same stack. A second squeeze may help; a crack means another rivet." }
                    div.pair {
                        label { "Width, in" input #scrap-width inputmode="decimal" autocomplete="off"; }
                        label { "Height, in" input #scrap-height inputmode="decimal" autocomplete="off"; }
                    }
                    p.verdict #scrap-verdict role="status" {}
                    div.turn { button.go type="button" #scrap-done { "Scrap measured" } button type="button" #scrap-skip { "Set without scrap" } }
                }
                section #work {
                    p.now { b #now-holes {} small #now-words {} }
                    button.go.wide type="button" #set { "Set" }
                    div.turn { button type="button" #one { "One hole" } button type="button" #measure { "Measure" } button type="button" #wrong { "Not right" } }
                    div.turn { button.quiet type="button" #undo { "Take back" } button.quiet type="button" #all { "Set all of this set-up" } }
                }
                section #measuring hidden {
                    h3 #measuring-title {}
                    p.small #measuring-limits {}
                    div.pair {
                        label { "Width, in" input #width inputmode="decimal" autocomplete="off"; }
                        label { "Height, in" input #height inputmode="decimal" autocomplete="off"; }
                    }
                    p.verdict #verdict role="status" {}
                    div.turn { button.go type="button" #keep { "Keep this" } button type="button" #later { "Not now" } button type="button" #this-wrong { "Not right" } }
                }
                section #not-right hidden {
                    h3 #not-right-title {}
                    label { "What is wrong" input #why autocomplete="off"; }
                    div.turn { button.go type="button" #drilled { "Drilled out" } button type="button" #noted { "Only a note" } button type="button" #leave { "Nothing" } }
                    p.small { "The second rivet in a hole is usually worse than the first. Structure that departs from the plan goes to the kit's designer." }
                }
                p.says #says role="status" {}
            }
            section #finished hidden {
                h2 { "All set" }
                p { "Every hole of this run is set." }
                button.go type="button" #end { "End the run" }
            }
            script #run-data type="application/json" { (PreEscaped(data)) }
            script src="/assets/run.js" defer {}
        }
    }
}

/// The maps of a set-up: a plane for each that it touches, or a strip of squares for rows without one.
fn maps(world: &World, report: &BenchReport, number: usize, set_up: &BenchSetUp) -> Markup {
    let plan = world.plan();
    let ours: Vec<HoleId> = set_up.holes.iter().filter_map(|hole| plan.hole_named(&hole.name)).collect();
    let mut planes: Vec<PlaneId> = Vec::new();
    let mut undrawn: Vec<HoleId> = Vec::new();
    for &hole in &ours {
        match plan[plan[hole].row].plane {
            Some(plane) if !planes.contains(&plane) => planes.push(plane),
            Some(_) => {}
            None => undrawn.push(hole),
        }
    }
    let step = plan.step_named(&report.step);
    let open: Vec<HoleId> = step.map_or_else(Vec::new, |step| {
        world.side.sequence.work(step).open.iter().map(|(hole, _)| *hole).collect()
    });
    let side =
        world.side.joints.at(*ours.first().unwrap_or(&HoleId(0))).map_or(Side::Near, |joint| joint.head.side);
    let mut sorted = ours.clone();
    sorted.sort_unstable();
    html! {
        @for plane in planes {
            @let look = |hole: HoleId| HoleLook::plain(if sorted.binary_search(&hole).is_ok() { HoleState::ToDo } else if open.contains(&hole) { HoleState::Open } else { HoleState::Other });
            @let options = PlaneOptions {
                key: format!("m{number}-{}", plane.index()),
                width: 362.0,
                max_height: 620.0,
                window: Some(window(world, plane, &ours)),
                max_aspect: Some(4.0),
                least_pitch: 15.0,
                touch: true,
                title_block: false,
                ..PlaneOptions::default()
            };
            p.small { (plan[plane].title) ", from " (plan[plane].side_name(side)) }
            div.drawing { (PreEscaped(svg::write(&plane_drawing(plan, plane, side, &look, &options)))) }
        }
        @if !undrawn.is_empty() {
            ol.strip aria-label="Holes of this set-up" {
                @for hole in &undrawn {
                    @let name = plan.hole_name(*hole);
                    li { button type="button" data-hole=(name) { (plan[*hole].number) } }
                }
            }
        }
    }
}

/// What of a plane a set-up needs to see: its holes, and an inch and a half around them.
fn window(world: &World, plane: PlaneId, holes: &[HoleId]) -> [f64; 4] {
    const AROUND: f64 = 1.5;
    let plan = world.plan();
    let mut window = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
    for &hole in holes.iter().filter(|&&hole| plan[plan[hole].row].plane == Some(plane)) {
        if let Some([x, y]) = plan[hole].at.map(Point::inches) {
            window = [
                window[0].min(x - AROUND),
                window[1].min(y - AROUND),
                window[2].max(x + AROUND),
                window[3].max(y + AROUND),
            ];
        }
    }
    window
}
