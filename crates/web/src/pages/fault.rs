//! One fault: what is there, what every rule says, the way back, others that share it, the question, the decision.

use axum::extract::{Path, State};
use axum::response::Response;
use faying_build::room::{Length, WayKind};
use faying_build::{FaultReport, FaultState, World, report};
use maud::{Markup, html};
use serde_json::json;

use super::assembly::{address, hole_address};
use super::examine::judgement;
use super::hole::short;
use super::owed::{decision, people, roles};
use super::photos::{photo_form, photo_strip};
use super::record::take_back;
use super::today::day_and_time;
use super::{answer, missing, refresh};
use crate::App;
use crate::layout::{About, Tab, first_upper, page_about, working};

pub async fn page(State(app): State<App>, Path(id): Path<String>) -> Response {
    refresh(&app);
    let world = app.build.world();
    let Some(report) = world.fault_report(&id) else {
        drop(world);
        return missing(&app, "The record has no fault of that name.");
    };
    let title = title(&world, &report);
    let place = report.holes.first().map_or_else(|| report.at.clone(), |&hole| world.plan().hole_name(hole));
    let about = if place.is_empty() { About::Build } else { About::Place(&place) };
    answer(page_about(&world, Tab::Owed, &title, about, &main(&world, &report)))
}

/// `Edge distance, C-9`; several holes by the first and how many.
pub fn title(world: &World, it: &FaultReport) -> String {
    let at = match it.holes.as_slice() {
        [] => it.at.clone(),
        [one] => short(world, *one),
        [first, rest @ ..] => format!("{} and {} more", short(world, *first), rest.len()),
    };
    if at.is_empty() { it.title.clone() } else { format!("{}, {at}", it.title) }
}

fn main(world: &World, it: &FaultReport) -> Markup {
    let names: Vec<String> = it.holes.iter().map(|&hole| world.plan().hole_name(hole)).collect();
    let open = it.state == FaultState::Open;
    html! {
        p.trail { @if let Some(&hole) = it.holes.first() { a href=(hole_address(world, hole)) { "Hole " (short(world, hole)) } } @else { a href="/owed" { "Owed" } } }
        h1 { (title(world, it)) " " small.status { (state(it.state)) } }
        @if it.holes.len() > 1 {
            p { "At " @for (n, &hole) in it.holes.iter().enumerate() { @if n > 0 { ", " } a href=(hole_address(world, hole)) { (short(world, hole)) } } "." }
        }
        (found(it))
        @if let Some((decided, when)) = &it.decided {
            div.note #decided { p { b { "Decided" } " by " (decided.who) ", " (decided.role) ", " (day_and_time(when)) ": " (decided.what) } }
        }
        @if open { nav.way aria-label="On this page" {
            a href="#ways" { "What can be done" } a href="#question" { "Ask" } a href="#decide" { "Decision" }
        } }
        @if let Some(judged) = &it.judgement { section aria-label="What the rules say" { (judgement(judged)) } }
        @if open { (ways(world, it)) }
        (cost(it))
        (shared(world, it))
        @if open { (question(world, it)) (decide(world, it)) }
        h2 { "Photographs" }
        (photo_strip(world, &names))
        @if open { (photo_form(&names)) }
        div.last { p { "Found " (day_and_time(&it.when)) @if !it.person.is_empty() { " by " (it.person) } "." } (take_back(world, world.state.act(it.act))) }
        @if open { (people(world)) }
    }
}

const fn state(state: FaultState) -> &'static str {
    match state {
        FaultState::None => "no fault by what was read",
        FaultState::Open => "waits for a decision",
        FaultState::Decided => "decided",
        FaultState::Over => "over",
    }
}

/// What is there beside what the plan has.
fn found(it: &FaultReport) -> Markup {
    html! {
        @if it.state == FaultState::Over { p { "What was done since has ended it: it was read again, drilled out, or taken back." } }
        @if it.state == FaultState::None { p { "Nothing waits for a decision here." } }
        @if !it.words.is_empty() { p.remark { (first_upper(&it.words)) } }
        div.pair {
            div {
                h2 { "Is" }
                @if it.readings.is_empty() { p { "Nothing was measured." } } @else {
                    dl.facts { @for (name, value) in &it.readings { dt { (name) } dd { (value) } } @if !it.instrument.is_empty() { dt { "With" } dd { (it.instrument) } } }
                }
            }
            div {
                h2 { "Planned" }
                @if it.planned.is_empty() { p { "The plan has nothing here." } } @else { dl.facts { @for (name, value) in &it.planned { dt { (name) } dd { (value) } } } }
            }
        }
    }
}

fn ways(world: &World, it: &FaultReport) -> Markup {
    let hole = it.holes.first().copied();
    let offered = it.ways.iter().filter(|way| way.offered);
    let options: Vec<_> = it.ways.iter().filter(|way| !way.offered).collect();
    html! {
        h2 #ways { "What can be done" }
        @if it.ways.is_empty() { p { "Ask whoever may decide, below." } }
        ul.ways-back {
            @for way in offered {
                li {
                    h3 { @match way.kind {
                        WayKind::SqueezeMore => "Squeeze it again",
                        WayKind::Replace => "Replace it like for like",
                        _ => "Ask",
                    } }
                    @if let Some((least, most)) = way.squeeze_to { p.big { "To between " (inches(least)) " and " (inches(most)) " in high" } }
                    @for (says, cited) in &way.says { p { (says) " " small { (report::cited(cited)) } } }
                    @match (way.kind, hole) {
                        (WayKind::SqueezeMore, Some(hole)) => p { a.button href={ "/measure?of=" (address(&world.plan().hole_name(hole))) } { "Measure it anew" } },
                        (WayKind::Replace, Some(hole)) => p { a.button href={ "/replace/" (address(&world.plan().hole_name(hole))) } { "Replace it, step by step" } },
                        (WayKind::Ask, _) => p { a.button href="#question" { "The question" } },
                        _ => {},
                    }
                }
            }
        }
        @if !options.is_empty() {
            details {
                summary { "Options for whoever decides" }
                p { "None of these is yours to take; they stand in the question with their figures." }
                @for way in options {
                    h3 { @match way.kind { WayKind::NextSize => "The next larger rivet", WayKind::Bolt => "A bolt", _ => "A blind rivet" } }
                    @for (says, cited) in &way.says { p { (says) " " small { (report::cited(cited)) } } }
                    @if !way.working.figures().is_empty() { (working("Working", &way.working)) }
                }
            }
        }
    }
}

fn inches(length: Length) -> String {
    let text = format!("{:.3}", length.inches());
    text.strip_prefix('0').map_or_else(|| text.clone(), str::to_owned)
}

fn cost(_it: &FaultReport) -> Markup {
    html! {}
}

/// Others that share something with it, each group with the act that has it looked at.
fn shared(world: &World, it: &FaultReport) -> Markup {
    html! {
        @if !it.shared.is_empty() {
            h2 #shared { "Others that share it" }
            p { "Made since the last one that was measured inside. Look at them before you go on." }
            ul.lines.shared {
                @for group in &it.shared {
                    @let names: Vec<String> = group.holes.iter().map(|&hole| world.plan().hole_name(hole)).collect();
                    li {
                        p { b { (first_upper(&group.what)) } }
                        p {
                            (group.holes.len()) @if group.holes.len() == 1 { " other: " } @else { " others: " }
                            @for (n, &hole) in group.holes.iter().take(12).enumerate() { @if n > 0 { ", " } a href=(hole_address(world, hole)) { (short(world, hole)) } }
                            @if group.holes.len() > 12 { " and " (group.holes.len() - 12) " more" } "."
                            @match group.since { Some(good) => { " Last good: " a href=(hole_address(world, good)) { (short(world, good)) } "." }, None => " None before them was measured inside." }
                        }
                        form.fields data-act=(json!({
                            "kind": "owe", "what": format!("Look at them again: {}", title(world, it)),
                            "holes": names, "why": format!("shares {}", group.what), "gate": it.gate,
                        }).to_string()) {
                            p.says data-says role="status" hidden {}
                            button { "Have " @if group.holes.len() == 1 { "it" } @else { "all " (group.holes.len()) } " looked at" }
                        }
                    }
                }
            }
        }
    }
}

fn question(world: &World, it: &FaultReport) -> Markup {
    html! {
        h2 #question { "Ask" }
        p { "One page with the drawing, what was planned and what is there, the rules, the figures and the options, and room for the answer." }
        p.ways {
            a.button href={ "/print/question/" (it.id) ".pdf" } { "The question, A4" }
            a.button.quiet href={ "/print/question/" (it.id) ".pdf?paper=letter" } { "Letter" }
        }
        @if let Some((asked, when)) = &it.asked { p { (asked.who) ", " (asked.role) ", was asked " (day_and_time(when)) "." } }
        details #asked {
            summary { @if it.asked.is_some() { "It was asked again" } @else { "It was asked" } }
            form.fields data-act=(json!({ "kind": "ask", "about": it.id }).to_string()) {
                div.row.two {
                    label { "Who was asked" input name="who" list="people" required autocomplete="off"; }
                    (roles(true))
                }
                label { "What else was asked (may stay empty)" input name="words" autocomplete="off"; }
                p.says data-says role="status" hidden {}
                button { "Write down that it was asked" }
            }
        }
        @if world.known_people().iter().all(|(_, role)| role.is_none_or(|role| !role.decides_on_structure())) {
            p.small { "Nobody who may decide stands in people.toml yet; write the name here." }
        }
    }
}

fn decide(world: &World, it: &FaultReport) -> Markup {
    html! {
        h2 #decide { "Decision" }
        (decision(&it.id, "", &title(world, it)))
    }
}
