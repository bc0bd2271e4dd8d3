//! Row entry: a plan typed in from paper, a line to a part and a line to a row.
//!
//! The page shows what the room below makes of a line while it is typed, and
//! writes only when asked. Forms stand apart from the lists, so that a list can
//! be shown anew while somebody types.

use axum::Json;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use faying_build::World;
use faying_build::entry::{self, Edit, EntryError, RowEntry, RowShown};
use faying_build::room::{AssemblyId, RowId, Unit};
use maud::{Markup, html};
use serde::Deserialize;
use serde_json::json;

use super::assembly::address;
use super::{answer, missing, refresh};
use crate::App;
use crate::layout::{self, Tab, first_upper, page_with_script};

pub async fn page(State(app): State<App>, Path(assembly): Path<String>) -> Response {
    let failed = refresh(&app);
    let world = app.build.world();
    let Some(id) = world.plan().assembly_named(&assembly) else {
        drop(world);
        return missing(&app, "There is no such assembly");
    };
    let title = format!("Parts and rows of {}", world.plan()[id].title);
    answer(page_with_script(&world, Tab::Assemblies, &title, &main(&world, id, failed.as_deref())))
}

/// An edit, and the text it was made for.
#[derive(Debug, Deserialize)]
pub struct Asked {
    mark: String,
    edit: Edit,
}

pub async fn write(
    State(app): State<App>,
    Path(assembly): Path<String>,
    Json(asked): Json<Asked>,
) -> Response {
    let build = app.build.clone();
    let done =
        tokio::task::spawn_blocking(move || entry::write(&build, &assembly, &asked.mark, &asked.edit)).await;
    told(done.map_err(|error| error.to_string()).and_then(|done| {
        done.map(|written| json!({ "ok": true, "mark": written.mark, "says": written.says }))
            .map_err(|error| why(&error))
    }))
}

/// What a typed row would be, as a piece of the page.
pub async fn preview(
    State(app): State<App>,
    Path(assembly): Path<String>,
    Json(row): Json<RowEntry>,
) -> Response {
    let build = app.build.clone();
    let read = tokio::task::spawn_blocking(move || {
        let world = build.world();
        match entry::preview(&world, &assembly, &row) {
            Ok(preview) => {
                json!({ "ok": true, "flush": preview.row.flush, "html": preview_markup(&preview).into_string() })
            }
            Err(error) => json!({ "ok": false, "html": html! { p.caution { (why(&error)) } }.into_string() }),
        }
    })
    .await;
    told(read.map_err(|error| error.to_string()))
}

/// A new assembly, or the other hand of one.
#[derive(Debug, Deserialize)]
pub struct NewAssembly {
    id: String,
    #[serde(default)]
    title: String,
    #[serde(default)]
    units: String,
    /// The assembly it is the other hand of, if it is.
    #[serde(default)]
    mirror: String,
}

pub async fn create(State(app): State<App>, Json(new): Json<NewAssembly>) -> Response {
    let build = app.build.clone();
    let done = tokio::task::spawn_blocking(move || match new.mirror.as_str() {
        "" => entry::new_assembly(&build, &new.id, &new.title, &new.units).map(|id| format!("/entry/{id}")),
        of => entry::mirror(&build, of, &new.id, &new.title).map(|id| format!("/assembly/{id}")),
    })
    .await;
    told(
        done.map_err(|error| error.to_string())
            .and_then(|done| done.map(|go| json!({ "ok": true, "go": go })).map_err(|error| why(&error))),
    )
}

/// A refusal is an answer like any other: nothing was broken.
pub fn told(done: Result<serde_json::Value, String>) -> Response {
    Json(done.unwrap_or_else(|why| json!({ "ok": false, "why": why }))).into_response()
}

pub fn why(error: &EntryError) -> String {
    format!("{}.", first_upper(&error.to_string()))
}

fn main(world: &World, id: AssemblyId, failed: Option<&str>) -> Markup {
    let plan = world.plan();
    let assembly = &plan[id];
    let file = entry::plan_file(plan, id);
    html! {
        link rel="stylesheet" href="/assets/entry.css";
        h1 { "Parts and rows of " (assembly.title) }
        @if let Some(why) = failed { p.caution { "The plan's files could not be read again: " (why) } }
        @if let Some(of) = assembly.mirror_of {
            p.note { "This is the other hand of " (plan[of].title) ": what is typed there holds here too. "
                a href={ "/entry/" (address(&plan[of].id)) } { "Type parts and rows of " (plan[of].title) } }
        } @else {
            p { small { "Written into " (file.name) "; your comments and the order of its lines stay. "
                a href={ "/import/" (address(&assembly.id)) } { "Take a plane from a DXF drawing" } } }
            section aria-labelledby="parts-title" {
                h2 #parts-title { "Parts" }
                form.entry data-kind="add-part" {
                    label { "Part: name, thickness, material"
                        input name="line" autocomplete="off" autocapitalize="none" spellcheck="false" required enterkeyhint="done" aria-describedby="part-hint"; }
                    small #part-hint.hint { "For example: web .040 2024-T3. A number alone is in " (spelt(assembly.unit)) "." }
                    div data-live="part-step" { (step_choice(world, id, "Comes in at step")) }
                    button { "Add part" }
                    p.caution data-says role="alert" hidden {}
                }
                div data-live="parts" { (parts(world, id)) }
            }
            section aria-labelledby="rows-title" {
                h2 #rows-title { "Rows" }
                @let (rivet, way) = entry::last_used(plan, id);
                form.entry data-kind="add-row" data-preview {
                    label { "Row: how many, length, near part to far part"
                        input name="line" autocomplete="off" autocapitalize="none" spellcheck="false" required enterkeyhint="done" aria-describedby="row-hint"; }
                    small #row-hint.hint { "For example: 26 × -5, doubler to web. Or 12 AD3-3.5 skin to rib flush dimpled." }
                    div.fields {
                        label { "Usual rivet"
                            select name="rivet" {
                                @for (number, words) in entry::usual_rivets() {
                                    option value=(number) selected[number == rivet] data-flush[words.ends_with("flush")] { (words) }
                                }
                                @if !entry::usual_rivets().iter().any(|(number, _)| *number == rivet) {
                                    option value=(rivet) selected { (rivet) }
                                }
                                option value="" { "none: the line says it" }
                            } }
                        label data-flush { "Flush holes"
                            select name="flush" {
                                @for (key, words) in entry::flush_ways() { option value=(key) selected[key == way] { (words) } }
                            } }
                        label { "Row's name"
                            input name="name" value=(entry::next_row_name(plan, id)) autocomplete="off" autocapitalize="none" spellcheck="false"; }
                        div data-live="row-step" { (step_choice(world, id, "Set at step")) }
                    }
                    div.preview #preview role="status" {}
                    button.go { "Add row" }
                    p.caution data-says role="alert" hidden {}
                }
                div data-live="rows" { (rows(world, id)) }
            }
            section aria-labelledby="steps-title" {
                h2 #steps-title { "Steps" }
                div data-live="steps" { (steps(world, id)) }
            }
        }
        section aria-labelledby="findings-title" {
            h2 #findings-title { "Findings" }
            div data-live="findings" { (findings(world, id)) }
        }
        section aria-labelledby="more-title" {
            h2 #more-title { "More assemblies" }
            @if !assembly.mirrored {
                @let (hand, title) = other_hand(&assembly.id, &assembly.title);
                details {
                    summary { "Mirror this assembly" }
                    form.entry data-create {
                        input type="hidden" name="mirror" value=(assembly.id);
                        label { "Short name of the other hand"
                            input name="id" value=(hand) required autocomplete="off" autocapitalize="none" spellcheck="false"; }
                        label { "Name as shown" input name="title" value=(title) autocomplete="off"; }
                        button { "Mirror " (assembly.title) }
                        p.caution data-says role="alert" hidden {}
                    }
                }
            }
            details {
                summary { "A new assembly" }
                form.entry data-create {
                    label { "Short name, such as flap-left"
                        input name="id" required autocomplete="off" autocapitalize="none" spellcheck="false"; }
                    label { "Name as shown" input name="title" autocomplete="off"; }
                    label { "Unit of bare numbers"
                        select name="units" { option value="in" { "inch" } option value="mm" { "millimetre" } } }
                    button { "Make the assembly" }
                    p.caution data-says role="alert" hidden {}
                }
            }
        }
        div #entry hidden data-address={ "/entry/" (address(&assembly.id)) } data-mark=(entry::mark(&file.text))
            data-next=(entry::next_row_name(plan, id)) {}
        script src="/assets/entry.js" defer {}
    }
}

/// The step a new part or row goes to; nothing where there is none to choose from.
fn step_choice(world: &World, id: AssemblyId, label: &str) -> Markup {
    let plan = world.plan();
    let steps = &plan[id].steps;
    html! {
        @if !steps.is_empty() {
            label { (label)
                select name="step" {
                    @for (at, &step) in steps.iter().enumerate() {
                        option value=(plan[step].name) selected[at + 1 == steps.len()] { (plan[step].title) }
                    }
                    option value="" { "none yet" }
                } }
        }
    }
}

fn parts(world: &World, id: AssemblyId) -> Markup {
    let plan = world.plan();
    let assembly = &plan[id];
    html! {
        @if assembly.parts.is_empty() { p { small { "No part yet." } } }
        @for &part in &assembly.parts {
            @let it = &plan[part];
            @let thickness = it.thickness.map(|it| it.show(assembly.unit));
            details.thing #{ "part-" (it.name) } {
                summary {
                    b { (it.name) }
                    span { (thickness.as_deref().unwrap_or("thickness not known")) " " (it.material)
                        @if it.pieces.len() > 1 { ", " (it.pieces.len()) " copies" } }
                }
                form.entry data-kind="change-part" {
                    input type="hidden" name="part" value=(it.name);
                    div.fields {
                        label { "Thickness of " (it.name) input name="thickness" value=[thickness.as_deref()] autocomplete="off"; }
                        label { "Material of " (it.name) input name="material" value=(it.material) autocomplete="off" autocapitalize="none"; }
                    }
                    button { "Change " (it.name) }
                    p.caution data-says role="alert" hidden {}
                }
            }
        }
    }
}

fn rows(world: &World, id: AssemblyId) -> Markup {
    let plan = world.plan();
    let rows = &plan[id].rows;
    html! {
        @if rows.is_empty() { p { small { "No row yet." } } }
        ol.rows {
            @for &row in rows { li #{ "row-" (entry::row_in_assembly(plan, row).replace('/', "-")) } { (row_shown(world, row)) } }
        }
    }
}

fn row_shown(world: &World, id: RowId) -> Markup {
    let plan = world.plan();
    let row = RowShown::of(&world.side, id);
    let holes: Vec<String> = plan[id].hole_ids().map(|hole| plan.hole_name(hole)).collect();
    let set = plan[id].hole_ids().filter(|&hole| world.is_set(hole)).count();
    let first = holes.first().map(|hole| format!("/hole/{}", address(hole)));
    // Where a drawn row lies cannot be typed again in one line.
    let can_copy = plan[id].plane.is_none();
    html! {
        p.what {
            b { "Row " (row.name) } " "
            span { (row.count) " × " (row.fastener) }
            @if set > 0 { span.set { (set) " of " (row.count) " set" } }
        }
        p.layers { (layers(&row)) }
        p.verdict { (row.verdict) @if let Some(first) = first { " " a href=(first) aria-label={ "Hole 1 of row " (row.name) } { "hole 1" } } }
        @if !row.note.is_empty() { p { small { (row.note) } } }
        div.acts {
            @if can_copy {
                button type="button" data-copy=(row.line()) data-rivet=[plan[id].rivet.map(|it| it.to_string())] data-flush=[row.flush.then(|| entry::flush_way(plan, id))] aria-label={ "Copy row " (row.name) } { "Copy" }
            }
            button type="button" data-edit=(json!({ "kind": "remove-row", "row": row.name }).to_string())
                data-ask={ "Take row " (row.name) " out of the plan?" } aria-label={ "Remove row " (row.name) } disabled[set > 0] { "Remove" }
            @if set < holes.len() {
                form data-act=(json!({ "kind": "set-before", "holes": holes }).to_string()) {
                    button aria-label={ "Row " (row.name) ": set before the record began" } { "Set before the record" }
                    p.caution data-says hidden {}
                }
            }
        }
    }
}

fn layers(row: &RowShown) -> Markup {
    html! {
        @if row.layers.is_empty() { small { "no layers named" } }
        @for (at, (name, about)) in row.layers.iter().enumerate() {
            @if at > 0 { " to " }
            span { (name) " " small { (about) } }
        }
        @if !row.stack.is_empty() && row.layers.len() > 1 { span.stack { "stack " (row.stack) } }
        @if row.stacks > 1 { " " small { "at hole 1; " (row.stacks) " stacks along the row" } }
    }
}

fn preview_markup(preview: &entry::Preview) -> Markup {
    let row = &preview.row;
    html! {
        p { b { "Row " (row.name) ": " (row.count) " × " (row.fastener) } }
        p.layers { (layers(row)) }
        p { b { (row.verdict) } @if !row.note.is_empty() { " · note: " (row.note) } }
        @for finding in &preview.findings {
            p.caution { b { (first_upper(&finding.what)) "." } " " (first_upper(&finding.next)) "." }
        }
        @if !row.why.is_empty() || row.working.is_some() {
            details #preview-why {
                summary { "Why" }
                @for why in &row.why { p.small { (first_upper(why)) } }
                @if let Some(working) = &row.working { (layout::working("Working", working)) }
            }
        }
    }
}

fn steps(world: &World, id: AssemblyId) -> Markup {
    let plan = world.plan();
    let assembly = &plan[id];
    let (parts, rows) = entry::without_step(plan, id);
    html! {
        @if assembly.steps.is_empty() {
            @if rows.is_empty() {
                p { small { "A step says what is set together. Type a row first." } }
            } @else {
                p { "No step yet: one can set all rows, so that a run can be started. Your plans' own steps can be written into the file later." }
                button type="button" data-edit=(json!({ "kind": "one-step" }).to_string()) { "One step sets all rows" }
                p.caution data-says role="alert" hidden {}
            }
        } @else {
            ul.lines {
                @for &step in &assembly.steps {
                    @let it = &plan[step];
                    @let holes = world.side.sequence.work(step).fill.len();
                    li {
                        @if holes > 0 {
                            a href={ "/run/" (address(&plan.step_name(step))) } {
                                span { b { (it.title) } br; small { (counted(it.adds.len(), "part")) " in, " (counted(it.sets.len(), "row")) " set" } }
                                span.count { (holes) small { "holes" } }
                            }
                        } @else {
                            div.line { span { (it.title) } span.count { small { "no hole to set" } } }
                        }
                    }
                }
            }
            @let waiting: Vec<&str> = parts.iter().chain(&rows).map(String::as_str).collect();
            @if let (Some(&last), false) = (assembly.steps.last(), waiting.is_empty()) {
                p { "At no step yet: " (waiting.join(", ")) "." }
                button type="button" data-edit=(json!({ "kind": "into-step", "step": plan[last].name }).to_string()) {
                    "Put them into step " (plan[last].title)
                }
                p.caution data-says role="alert" hidden {}
            }
        }
    }
}

fn findings(world: &World, id: AssemblyId) -> Markup {
    let file = &entry::plan_file(world.plan(), id).name;
    let of_file: Vec<_> = world
        .side
        .findings
        .iter()
        .filter(|it| it.place.as_ref().is_some_and(|it| it.file == *file))
        .collect();
    html! {
        @if of_file.is_empty() { p { small { "Nothing found in " (file) "." } } }
        @for finding in of_file { (layout::finding(finding)) }
    }
}

/// A unit as a word.
pub const fn spelt(unit: Unit) -> &'static str {
    match unit {
        Unit::Inch => "inches",
        Unit::Millimetre => "millimetres",
    }
}

pub fn counted(count: usize, what: &str) -> String {
    if count == 1 { format!("1 {what}") } else { format!("{count} {what}s") }
}

/// The other hand's names, where the words left and right are in them.
fn other_hand(id: &str, title: &str) -> (String, String) {
    for (one, other) in [("left", "right"), ("right", "left"), ("Left", "Right"), ("Right", "Left")] {
        if id.contains(one) {
            let upper = |word: &str| first_upper(word);
            let title = title.replace(one, other).replace(&upper(one), &upper(other));
            return (id.replace(one, other), title);
        }
    }
    (format!("{id}-right"), String::new())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_other_hand_is_named_after_this_one() {
        assert_eq!(other_hand("flap-left", "Left flap"), ("flap-right".into(), "Right flap".into()));
        assert_eq!(other_hand("rib-right-2", "Rib 2, right"), ("rib-left-2".into(), "Rib 2, left".into()));
        assert_eq!(other_hand("tab", "Tab"), ("tab-right".into(), String::new()));
    }
}
