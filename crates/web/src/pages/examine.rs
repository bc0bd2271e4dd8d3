//! What else may be wrong with a hole or its rivet: the fields of it, and what every rule says at once.
//!
//! The page asks here again whenever a figure changes and shows the answer,
//! as the Measure page does; the act that puts it down carries what was typed.

use std::collections::BTreeMap;

use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse, Response};
use faying_build::room::{Aspect, Cited, Field, FieldKind, HoleId, Judgement, Ruling, Said, read_aspect};
use faying_build::{World, report};
use maud::{Markup, html};
use serde_json::json;

use super::assembly::{address, hole_address};
use super::hole::short;
use super::{answer, missing, refresh};
use crate::App;
use crate::layout::{About, Tab, first_upper, page_with_script_about, working};

pub async fn page(
    State(app): State<App>,
    Path(word): Path<String>,
    Query(typed): Query<BTreeMap<String, String>>,
) -> Response {
    refresh(&app);
    let world = app.build.world();
    let of = typed.get("of").map_or("", |it| it.trim());
    let (Some(aspect), Some(hole)) = (Aspect::named(&word), world.plan().hole_named(of)) else {
        drop(world);
        return missing(&app, &format!("There is nothing to look at: {word} at {of}."));
    };
    if typed.get("part").is_some_and(|part| part == "says") {
        return answer(says(&world, hole, aspect, &typed)).into_response();
    }
    let title = format!("{}, {}", aspect.title(), short(&world, hole));
    let main = main(&world, hole, aspect, &typed);
    answer(page_with_script_about(&world, Tab::Measure, &title, About::Place(of), &main))
}

fn main(world: &World, hole: HoleId, aspect: Aspect, typed: &BTreeMap<String, String>) -> Markup {
    let plan = world.plan();
    let value = |name: &str| typed.get(name).map_or("", String::as_str);
    let row = &plan[plan[hole].row];
    html! {
        p.trail { a href=(hole_address(world, hole)) { "Hole " (short(world, hole)) } }
        h1 { (aspect.title()) }
        form.fields.measure #examine method="get" action={ "/examine/" (aspect.word()) } data-caliper="ask" {
            input type="hidden" name="of" value=(plan.hole_name(hole));
            @if !aspect.fields().is_empty() {
                @let many = aspect.fields().len() > 1;
                div.row[many].two[many] { @for field in aspect.fields() { (entry(field, value(field.name))) } }
            }
            @if row.count() > 1 {
                label { "Other holes of row " (row.name) " that have it too" input name="also" value=(value("also")) placeholder="8-12, 15" autocomplete="off"; }
            }
            label { @if aspect.fields().is_empty() && !aspect.is_plain() { "What is wrong" } @else { "What you see (may stay empty)" }
                textarea name="words" rows="2" { (value("words")) } }
            label { "With what (may stay empty)" input name="instrument" value=(value("instrument")) autocomplete="off"; }
            button { "Ask the rules" }
        }
        section #says aria-live="polite" aria-label="What the rules say" { (says(world, hole, aspect, typed)) }
        script src="/assets/measure.js" defer {}
    }
}

fn entry(field: &Field, value: &str) -> Markup {
    html! {
        @match field.kind {
            FieldKind::Length => label { (field.label) input.big name=(field.name) value=(value) inputmode="decimal" autocomplete="off"; },
            FieldKind::Count => label { (field.label) input.big name=(field.name) value=(value) inputmode="numeric" autocomplete="off"; },
            FieldKind::Words => label { (field.label) input name=(field.name) value=(value) autocomplete="off" autocapitalize="characters"; },
            FieldKind::Yes => label { (field.label) select name=(field.name) {
                @for (word, words) in [("", "not looked"), ("no", "no"), ("yes", "yes")] { option value=(word) selected[value == word] { (words) } }
            } },
            FieldKind::Choice(words) => label { (field.label) select name=(field.name) {
                option value="" { "choose" }
                @for (word, words) in words { option value=(word) selected[value == *word] { (words) } }
            } },
        }
    }
}

/// What the rules say of what was typed so far, and the act that puts it down.
fn says(world: &World, hole: HoleId, aspect: Aspect, typed: &BTreeMap<String, String>) -> Markup {
    let value = |name: &str| typed.get(name).map_or("", |it| it.trim());
    let holes = match world.with_others(hole, value("also")) {
        Ok(holes) => holes,
        Err(why) => return html! { p.caution { (first_upper(&why)) "." } },
    };
    let readings = match read_aspect(aspect, typed) {
        Ok(readings) => readings,
        Err(why) => return html! { p { (first_upper(&why)) "." } },
    };
    let judged = world.examine(hole, aspect, &readings);
    html! {
        @match &judged {
            Some(judged) => (judgement(judged)),
            None => p { "Not judged: no solid rivet belongs here, and no rule here speaks of another fastener's hole. It is written down and stands against nothing; where it departs from the plan, put it down as a fault as well." },
        }
        (record(world, &holes, aspect, typed))
    }
}

const fn said_word(said: Said) -> &'static str {
    match said {
        Said::Inside => "inside",
        Said::Outside => "outside",
        Said::NotJudged => "not judged",
    }
}

fn one_ruling(ruling: &Ruling) -> Markup {
    html! {
        li.rules[ruling.rules] {
            p {
                b { (ruling.rule) }
                @if ruling.judges || ruling.said != Said::NotJudged { span.said { (said_word(ruling.said)) } }
                @if ruling.rules { " " small { "rules this build" } } @else if !ruling.judges { " " small { "shown, judges nothing" } }
            }
            p { (ruling.words) }
            @if !ruling.lacks.is_empty() { p { small { "Not complete here: " (ruling.lacks) "." } } }
            p { small { (report::cited(&ruling.cited)) } }
        }
    }
}

/// Where a sentence comes from, short: the document by the name the trade has for it, the place, how it is known.
pub fn source(cited: &Cited) -> Markup {
    let whole = report::cited(cited);
    let short = match cited.source.as_str() {
        // The sentence itself says so.
        "plan" => return html! {},
        "defaults" => format!("({})", cited.known),
        "theory" => format!("(theory, {})", cited.place),
        _ => {
            let title = whole.split([',', ':', '(']).next().unwrap_or(&whole).trim().to_owned();
            let place = if cited.place.is_empty() { String::new() } else { format!(", {}", cited.place) };
            format!("({title}{place}; {})", cited.known)
        }
    };
    html! { small title=(whole) { (short) } }
}

/// What every rule says, the one that rules this build first.
pub fn judgement(it: &Judgement) -> Markup {
    html! {
        h2 {
            @match (it.said, it.close) {
                (Said::Inside, false) => "Inside what the rule asks, as far as checked",
                (Said::Inside, true) => "Inside, within the uncertainty of the limit",
                (Said::Outside, false) => "Outside",
                (Said::Outside, true) => "Outside, within the uncertainty of the limit",
                (Said::NotJudged, _) => "Not judged",
            }
        }
        p { (it.why) }
        @for (caution, cited) in &it.cautions { p.caution { (caution) " " (source(cited)) } }
        @let (own, others): (Vec<&Ruling>, Vec<&Ruling>) = it.rulings.iter().partition(|ruling| ruling.rules);
        @if !own.is_empty() { ul.rulings { @for ruling in own { (one_ruling(ruling)) } } }
        @if !others.is_empty() {
            details.others open[it.rulings.iter().all(|ruling| !ruling.rules)] {
                summary { span {
                    "Other rules: "
                    @for (n, ruling) in others.iter().enumerate() { @if n > 0 { ", " } (ruling.rule) " " @match ruling.said { Said::NotJudged if !ruling.judges => "(shown)", said => b { (said_word(said)) } } }
                } }
                ul.rulings { @for ruling in others { (one_ruling(ruling)) } }
            }
        }
        @if !it.views.is_empty() {
            h3 { "Also published; it changes no verdict" }
            @for (view, cited) in &it.views { p { (view) " " (source(cited)) } }
        }
        @if !it.not_checked.is_empty() { p { "Not checked: " (it.not_checked.join(", ")) "." } }
        @if !it.working.figures().is_empty() { (working("Working", &it.working)) }
    }
}

fn record(world: &World, holes: &[HoleId], aspect: Aspect, typed: &BTreeMap<String, String>) -> Markup {
    let plan = world.plan();
    let value = |name: &str| typed.get(name).map_or("", |it| it.trim());
    let names: Vec<String> = holes.iter().map(|&hole| plan.hole_name(hole)).collect();
    let mut act = json!({
        "kind": "examine", "holes": names, "aspect": aspect.word(),
        "words": value("words"), "instrument": value("instrument"),
    });
    for field in aspect.fields() {
        act[field.name] = json!(value(field.name));
    }
    html! {
        @if aspect.takes_rivet() && holes.iter().any(|&hole| !world.is_set(hole)) {
            p { "There is no rivet in it, so nothing can be recorded of one." }
        } @else if aspect.fields().is_empty() && !aspect.is_plain() && value("words").is_empty() {
            p { "Write what is wrong, with what can be measured." }
        } @else {
            form.fields #record data-act=(act.to_string()) data-then="/fault/ID" {
                p.says data-says role="status" hidden {}
                button.go { "Record it for " @if let [hole] = holes { (short(world, *hole)) } @else { (holes.len()) " holes" } }
            }
        }
    }
}

/// The ways to everything that may be wrong at a hole.
pub fn choices(world: &World, hole: HoleId) -> Markup {
    let set = world.is_set(hole);
    let name = world.plan().hole_name(hole);
    let offered = |sizes: bool| {
        Aspect::ALL.into_iter().filter(move |it| it.is_size() == sizes && (set || !it.takes_rivet()))
    };
    let list = |title: &'static str, sizes: bool| {
        html! {
            h3 { (title) }
            ul.choices { @for aspect in offered(sizes) {
                li { a.button href={ "/examine/" (aspect.word()) "?of=" (address(&name)) } { (aspect.title()) } }
            } }
        }
    };
    html! {
        (list("Measure", true))
        (list("What you see", false))
    }
}
