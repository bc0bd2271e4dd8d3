//! One fault: what is there, what every rule says, the way back, others that share it, the question, the decision.

use axum::extract::{Path, State};
use axum::response::Response;
use faying_build::room::{Length, Way, WayKind};
use faying_build::{FaultReport, FaultState, World};
use maud::{Markup, html};
use serde_json::json;

use super::assembly::{address, hole_address};
use super::examine::{judgement, source};
use super::hole::short;
use super::owed::{decision_form, people, roles};
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
        @if it.state == FaultState::Over { p { "What was done since has ended it: it was read again, drilled out, or taken back." } }
        @if it.state == FaultState::None { p { "Nothing waits for a decision here." } }
        @if !it.words.is_empty() { p.remark { (first_upper(&it.words)) } }
        @if let Some(judged) = &it.judgement { section aria-label="What the rules say" { (judgement(judged)) } }
        @if let Some((decided, when)) = &it.decided {
            div.note #decided { p { b { "Decided" } " by " (decided.who) ", " (decided.role) ", " (day_and_time(when)) ": " (decided.what) } }
        }
        @if open { nav.way aria-label="On this page" {
            a href="#ways" { "What can be done" } a href="#question" { "Ask" } a href="#decide" { "Decision" }
        } }
        (found(it))
        @if open { (ways(world, it)) }
        (cost(it))
        (shared(world, it))
        @if open { (decide(world, it)) }
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
    let offered = it.ways.iter().filter(|way| way.offered);
    let options: Vec<_> = it.ways.iter().filter(|way| !way.offered).collect();
    let holes = |word: &'static str, page: &'static str| {
        html! { p.ways { @for &hole in &it.holes {
            @let name = world.plan().hole_name(hole);
            a.button href={ (page) (address(&name)) } { (word) @if it.holes.len() > 1 { ": " (short(world, hole)) } }
        } } }
    };
    html! {
        h2 #ways { "What can be done" }
        ul.ways-back {
            @for way in offered {
                @match way.kind {
                    WayKind::SqueezeMore => li { h3 { "Squeeze it again" } (says(way)) (holes("Measure it anew", "/measure?of=")) },
                    WayKind::Replace => li { h3 { "Replace it like for like" } (says(way)) (holes("Replace it, step by step", "/replace/")) },
                    _ => {},
                }
            }
            li #question { h3 { "Ask" } (question(world, it)) }
        }
        @if !options.is_empty() {
            details {
                summary { "Options for whoever decides" }
                p { "None of these is yours to take; they stand in the question with their figures." }
                @for way in options {
                    h3 { @match way.kind { WayKind::NextSize => "The next larger rivet", WayKind::Bolt => "A bolt", _ => "A blind rivet" } }
                    (says(way))
                    @if !way.working.figures().is_empty() { (working("Working", &way.working)) }
                }
            }
        }
    }
}

fn says(way: &Way) -> Markup {
    html! {
        @if let Some((least, most)) = way.squeeze_to { p.big { "To between " (inward(least, f64::ceil)) " and " (inward(most, f64::floor)) " in high" } }
        @for (says, cited) in &way.says { p { (says) " " (source(cited)) } }
    }
}

/// An end of a band in thousandths, rounded into the band: what is said must not lie outside it.
fn inward(length: Length, round: fn(f64) -> f64) -> String {
    // Lengths are whole nanometres: a band that ends on a thousandth ends there.
    let thousandths = (length.inches() * 1e3 * 1e4).round() / 1e4;
    let text = format!("{:.3}", round(thousandths) / 1e3);
    text.strip_prefix('0').map_or_else(|| text.clone(), str::to_owned)
}

/// Hole, row and group as built over as planned, never above 1.
fn cost(it: &FaultReport) -> Markup {
    let Some(cost) = &it.cost else { return html! {} };
    let share = |it: f64| format!("{it:.2}");
    let hole = cost.hole.as_ref().and_then(|it| {
        it.ratio.map(|ratio| (ratio, "")).or_else(|| it.at_least.map(|least| (least, "at least ")))
    });
    html! {
        h2 #cost { "What it costs" }
        p { "As built over as planned, from the plan's own numbers. It says nothing of the load, and is for whoever decides." }
        table.cost {
            thead { tr { td {} th.n scope="col" { "With what it keeps" } th.n scope="col" { "If it carried nothing" } } }
            tbody {
                tr { th scope="row" { @if it.holes.len() > 1 { "Each hole" } @else { "The hole" } }
                    td.n { @match hole { Some((ratio, words)) => { (words) (share(ratio)) }, None => "no figure" } } td.n { "0" } }
                tr { th scope="row" { "The row, " (cost.of.0) " rivets" }
                    td.n { @match &cost.row { Some(row) => { (share(row.weakest_governs)) " to " (share(row.taking_over)) }, None => "no figure" } }
                    td.n { @match &cost.row_without { Some(row) => (share(row.taking_over)), None => "no figure" } } }
                @if cost.of.1 > 1 {
                    tr { th scope="row" { "All " (cost.of.1) " through the same sheets, pulled" }
                        td.n { @match &cost.group { Some(group) => (share(group.direct)), None => "no figure" } }
                        td.n { @match &cost.group_without { Some(group) => (share(group.direct)), None => "no figure" } } }
                    tr { th scope="row" { "The same, twisted" }
                        td.n { @match cost.group.as_ref().and_then(|it| it.torsional) { Some(it) => (share(it)), None => "no figure" } }
                        td.n { @match cost.group_without.as_ref().and_then(|it| it.torsional) { Some(it) => (share(it)), None => "no figure" } } }
                }
            }
        }
        @match cost.left_out.as_slice() {
            [] => {},
            [one] => p { b { "Left out: " } (one) "." },
            [first, ..] => {
                p { b { "Left out: " } (first) "." }
                details { summary { "Everything left out: " (cost.left_out.len()) } ul { @for it in &cost.left_out { li { (first_upper(it)) "." } } } }
            }
        }
        @if let Some(hole) = &cost.hole {
            @if !hole.assumed.is_empty() { p { small { "Taken for granted: " (hole.assumed.join("; ")) "." } } }
            (working("Working", &hole.working))
        }
    }
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
        p { "On structure the kit's designer decides, or an inspector or the authority. One page tells them all of this, with room for the answer." }
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
        (decision_form(&it.id, "", &title(world, it)))
    }
}
