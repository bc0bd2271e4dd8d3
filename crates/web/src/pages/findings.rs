//! Findings: everything in the plan that somebody should look at, file by file.

use axum::extract::State;
use axum::response::Response;
use faying_build::World;
use faying_build::room::{Finding, Severity};
use maud::{Markup, html};

use super::{answer, refresh};
use crate::App;
use crate::layout::{Tab, finding, page as framed};

pub async fn page(State(app): State<App>) -> Response {
    let failed = refresh(&app);
    let world = app.build.world();
    answer(framed(&world, Tab::None, "Findings", &main(&world, failed.as_deref())))
}

fn main(world: &World, failed: Option<&str>) -> Markup {
    let findings = &world.side.findings;
    let mut files: Vec<(&str, Vec<&Finding>)> = Vec::new();
    for one in findings {
        let file = one.place.as_ref().map_or("", |place| &*place.file);
        match files.iter_mut().find(|(name, _)| *name == file) {
            Some((_, list)) => list.push(one),
            None => files.push((file, vec![one])),
        }
    }
    // Within a file: what keeps it from being used first, then by line.
    for (_, list) in &mut files {
        list.sort_by_key(|one| (one.severity, one.place.as_ref().map_or(0, |place| place.line)));
    }
    let wrong = findings.iter().filter(|one| one.severity == Severity::Wrong).count();
    html! {
        h1 { "Findings" }
        @if let Some(why) = failed { p.caution { "The plan's files could not be read again: " (why) } }
        (super::owed::changed_plan(world))
        @if findings.is_empty() {
            p { "Nothing was found in the plan. That says that it does not contradict itself, or the figures known here; not that it is right." }
        } @else {
            p {
                (findings.len()) @if findings.len() == 1 { " finding" } @else { " findings" }
                @if wrong > 0 { ", " (wrong) " of them about something that cannot be used as it is written" }
                ". The plan is read again whenever a file is saved."
            }
            ul.contents {
                @for (index, (file, list)) in files.iter().enumerate() {
                    li { a href={ "#file-" (index) } { @if file.is_empty() { "No place in a file" } @else { (file) } } " " small { (list.len()) } }
                }
            }
        }
        @for (index, (file, list)) in files.iter().enumerate() {
            h2 id={ "file-" (index) } { @if file.is_empty() { "No place in a file" } @else { (file) } }
            @for one in list {
                @if let Some(about) = &one.about { p.about { (about) } }
                (finding(one))
            }
        }
    }
}
