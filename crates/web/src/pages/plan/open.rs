//! Open and closing: what stays open at every step, what every closing hides, what nobody ever fills.

use axum::extract::State;
use axum::response::Response;
use faying_build::{ClosedRow, ClosingReport, WholeOpenReport};
use maud::{Markup, html};

use super::{address, count};
use crate::App;
use crate::layout::{Tab, first_upper, page as framed};
use crate::pages::{answer, refresh};

pub async fn page(State(app): State<App>) -> Response {
    refresh(&app);
    let world = app.build.world();
    let report = world.whole_open_report(&world.progress());
    answer(framed(&world, Tab::Plan, "Open and closing", &main(&report)))
}

fn main(it: &WholeOpenReport) -> Markup {
    let never: usize = it.never.iter().map(|row| row.count).sum();
    let (done, ahead): (Vec<&ClosingReport>, Vec<&ClosingReport>) =
        it.closings.iter().partition(|closing| closing.done);
    html! {
        link rel="stylesheet" href="/assets/plan.css";
        p.trail { a href="/plan" { "Plan" } }
        h1 { "Open and closing" }
        p.lead {
            @if it.late == 0 && never == 0 { "No row is hidden before the plan fills it, and every hole has its step." }
            @else {
                @if it.late > 0 { b { (count(it.late, "hole")) } " hidden before the plan fills " @if it.late == 1 { "it" } @else { "them" } ". " }
                @if never > 0 { b { (count(never, "hole")) } " that no step fills." }
            }
        }
        @if !it.never.is_empty() {
            section #never {
                h2 { "Nobody ever fills" }
                ul.lines {
                    @for row in &it.never {
                        li { a href=(address(&row.link)) { span { b { (row.row) ", " (row.holes) } br; small { (first_upper(&row.words)) } } span.count { (row.count) } } }
                    }
                }
            }
        }
        section #closings {
            h2 { "Closings" }
            @if it.closings.is_empty() { p { "No step of the plan hides a side of a plane. What is hidden is said under closes of its step." } }
            @for closing in ahead { (shut(closing)) }
            @if !done.is_empty() {
                details #closed {
                    summary { (count(done.len(), "closing")) " done" }
                    @for closing in done { (shut(closing)) }
                }
            }
        }
        section #open {
            h2 { "Left open" }
            @if it.steps.is_empty() { p { "No step that is still to be done leaves a hole open." } }
            @for step in &it.steps {
                details id={ "open-" (address(&step.step).replace('/', "-")) } {
                    summary { span { (step.title) " " small { (count(step.count, "hole")) " open" } } }
                    p { a.tap href={ "/step/" (address(&step.step)) } { "To the step" } }
                    ul.lines {
                        @for open in &step.open {
                            li { a href={ "/hole/" (address(open.names.first().map_or("", String::as_str))) } { span { b { (open.row) ", " (open.holes) } br; small { (first_upper(&open.why)) } } span.count { (open.names.len()) } } }
                        }
                    }
                }
            }
        }
    }
}

fn shut(it: &ClosingReport) -> Markup {
    let of = |sort: &str| -> Vec<&ClosedRow> { it.rows.iter().filter(|row| row.sort == sort).collect() };
    let (late, held, due) = (of("late"), of("held"), of("before"));
    let holes = |rows: &[&ClosedRow]| rows.iter().map(|row| row.count).sum::<usize>();
    html! {
        h3 { a href={ "/step/" (address(&it.step)) } { (it.title) } }
        p.small { @if it.done { "Hidden: " } @else { "Hides: " } (it.sides.join("; ")) " · " (it.counted()) }
        @if !late.is_empty() {
            p.group { "Too late" }
            ul.lines.late { @for row in late { li { (closed(row)) } } }
        }
        @if !held.is_empty() {
            p.group { "Held on purpose" }
            ul.lines { @for row in held { li { (closed(row)) } } }
        }
        @if !due.is_empty() {
            details id={ "due-" (address(&it.step).replace('/', "-")) } {
                summary { (count(holes(&due), "hole")) " not set, due before or at this step" }
                ul.lines { @for row in due { li { (closed(row)) } } }
            }
        }
    }
}

fn closed(row: &ClosedRow) -> Markup {
    html! { a href=(row.link) { span { b { (row.row) ", " (row.holes) } br; small { (first_upper(&row.words)) } } span.count { (row.count) } } }
}
