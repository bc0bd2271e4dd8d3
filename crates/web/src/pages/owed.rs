//! Owed: everything that was put off, by the gate before which it must be done, what presses first.

use axum::extract::State;
use axum::response::Response;
use faying_build::room::Role;
use faying_build::{OwedReport, World, anchor};
use maud::{Markup, html};
use serde_json::json;

use super::assembly::address;
use super::record::words;
use super::{answer, refresh};
use crate::App;
use crate::layout::{Tab, page as framed, sentence};

pub async fn page(State(app): State<App>) -> Response {
    let failed = refresh(&app);
    let world = app.build.world();
    answer(framed(&world, Tab::Owed, "Owed", &main(&world, failed.as_deref())))
}

fn main(world: &World, failed: Option<&str>) -> Markup {
    let owed = world.owed(&world.progress());
    // They come sorted: those of one gate lie together.
    let same = |a: &OwedReport, b: &OwedReport| (a.now, &a.gate) == (b.now, &b.gate);
    html! {
        h1 { "Owed" }
        @if let Some(why) = failed { p.caution { "The plan's files could not be read again: " (why) } }
        (changed_plan(world))
        @if owed.is_empty() {
            p { "Nothing was put off, held open or left undecided. What is put off from any page, with Put off at its top, stands here until it is done." }
        }
        @for group in owed.chunk_by(same) {
            @let first = &group[0];
            h2 {
                @if first.gate.is_empty() { "No gate" } @else if first.gate_title.is_empty() { (first.gate) }
                @else { a href={ "/gate/" (address(&first.gate)) } { (first.gate_title) } }
                " " small { @if first.now { "now" } @else { "later" } ", " (group.len()) }
            }
            ul.lines.owed { @for it in group { (entry(world, it)) } }
        }
        (people(world))
    }
}

/// One thing owed, with the act that ends it.
fn entry(world: &World, it: &OwedReport) -> Markup {
    html! {
        li id=(anchor(&it.act, &it.key)) {
            a href=(it.link) {
                span {
                    b { (sentence(&it.what)) }
                    br; small {
                        @if !it.at.is_empty() && !it.what.starts_with(&it.at) { (it.at) " · " }
                        @if !it.why.is_empty() { (it.why) " · " }
                        "since " (it.since.get(..10).unwrap_or(""))
                    }
                }
            }
            (ending(world, it))
        }
    }
}

fn ending(world: &World, it: &OwedReport) -> Markup {
    let what = sentence(&it.what);
    html! {
        @match it.sort {
            "owed" => details.end id={ "end-" (anchor(&it.act, "")) } {
                summary aria-label={ "It is done: " (what) } { "It is done" }
                @let shown = world.evidence(&it.act);
                @if shown.is_empty() {
                    p.small { "Nothing was recorded at its place since. Measure, torque or photograph it there first, or say how it was done." }
                } @else {
                    p.small { "Recorded at its place since:" }
                    ul.small { @for act in shown { li { (act.at.get(..10).unwrap_or("")) " " (words(world, act)) } } }
                }
                form.fields data-act=(json!({ "kind": "owed-done", "owed": it.act }).to_string()) {
                    label { "How, and what shows it" input name="how" autocomplete="off"; }
                    p.says data-says role="status" hidden {}
                    button.go aria-label={ "Done: " (what) } { "Done" }
                }
            },
            "held" => details.end id={ "end-" (anchor(&it.act, "")) } {
                summary aria-label={ "Lift the hold: " (what) } { "Lift the hold" }
                form.fields data-act=(json!({ "kind": "lift-hold", "hold": it.act }).to_string()) {
                    label { "Why (may stay empty)" input name="why" autocomplete="off"; }
                    p.says data-says role="status" hidden {}
                    button.go aria-label={ "They may be filled: " (what) } { "They may be filled" }
                }
            },
            _ => (decision(&it.act, &it.key, &what)),
        }
    }
}

/// What somebody with the authority decided about a fault, a head or what a changed plan no longer agrees with.
pub fn decision(act: &str, key: &str, what: &str) -> Markup {
    html! {
        details.end id={ "end-" (anchor(act, key)) } {
            summary aria-label={ "It is decided: " (what) } { "It is decided" }
            (decision_form(act, key, what))
        }
    }
}

/// The same, open: on a page that is about nothing else.
pub fn decision_form(act: &str, key: &str, what: &str) -> Markup {
    html! {
        p.small { "On structure the kit's designer decides, or an inspector or the authority; write down whose word it is. Where it was done anew, say so." }
        form.fields data-act=(json!({ "kind": "decide", "about": act, "key": key }).to_string()) {
            label { "What was decided" textarea name="what" rows="2" required {} }
            div.row.two {
                label { "By whom" input name="who" list="people" required autocomplete="off"; }
                (roles(true))
            }
            p.says data-says role="status" hidden {}
            button.go aria-label={ "Write the decision down: " (what) } { "Write it down" }
        }
    }
}

/// What somebody is to the build; for structure only those whose word counts there.
pub fn roles(structure: bool) -> Markup {
    let offered = Role::ALL.into_iter().filter(|role| !structure || role.decides_on_structure());
    html! {
        label { "Who is" select name="role" required {
            option value="" { "choose" }
            @for role in offered { option value=(role.word()) { (role.word()) } }
        } }
    }
}

/// Names that were written before, for every field that asks for one.
pub fn people(world: &World) -> Markup {
    html! {
        datalist #people {
            @for (name, role) in world.known_people() {
                @let word = role.map(Role::word);
                option value=(name) data-role=[word] { @if let Some(word) = word { (word) } }
            }
        }
    }
}

/// What is owed at a place, each leading to its entry.
pub fn here(owed: &[OwedReport], title: &str) -> Markup {
    html! {
        @if !owed.is_empty() {
            h2 { (title) }
            ul.lines {
                @for it in owed {
                    li { a href={ "/owed#" (anchor(&it.act, &it.key)) } { span {
                        b { (sentence(&it.what)) }
                        br; small {
                            @if !it.why.is_empty() { (it.why) }
                            @if !it.gate_title.is_empty() { @if !it.why.is_empty() { " · " } "until " (it.gate_title) }
                        }
                    } } }
                }
            }
        }
    }
}

/// What the next act adopts and what then no longer agrees with what was done.
pub fn changed_plan(world: &World) -> Markup {
    let disagrees = world.disagreements();
    html! {
        @if !disagrees.is_empty() {
            div.caution #changed-plan {
                p { "The plan has changed since revision " (world.state.revision) ". With the next act it is adopted, and these become decisions owed:" }
                ul {
                    @for it in &disagrees {
                        li {
                            @match it.holes.first() { Some(hole) => { a href=(world.page_of(hole)) { (it.at) } }, None => { (it.at) } }
                            ": " (it.what) "."
                        }
                    }
                }
            }
        }
    }
}
