//! A DXF drawing as a plane of an assembly: what it gives, what it leaves, what it cannot know.
//!
//! The drawing stays in the browser until it is written: it is sent to be
//! looked at, and sent again with the answers.

use axum::body::Bytes;
use axum::extract::{Path, Query, State};
use axum::response::Response;
use faying_build::World;
use faying_build::entry;
use faying_build::entry::drawing::{self, DrawingAnswers, DrawingShown};
use faying_build::room::AssemblyId;
use maud::{Markup, html};
use serde::Deserialize;
use serde_json::json;

use super::assembly::address;
use super::entry::{counted, spelt, told, why};
use super::{answer, missing, refresh};
use crate::App;
use crate::layout::{self, Tab, page_with_script};

/// Largest drawing taken, bytes: a whole wing at true scale is some megabytes.
pub const MOST_BYTES: usize = 64 << 20;

pub async fn page(State(app): State<App>, Path(assembly): Path<String>) -> Response {
    let failed = refresh(&app);
    let world = app.build.world();
    let Some(id) = world.plan().assembly_named(&assembly) else {
        drop(world);
        return missing(&app, "There is no such assembly");
    };
    let title = format!("A drawing for {}", world.plan()[id].title);
    answer(page_with_script(&world, Tab::Assemblies, &title, &main(&world, id, failed.as_deref())))
}

/// How a drawing is to be read.
#[derive(Debug, Deserialize)]
pub struct How {
    /// The builder's answer; empty takes the drawing's own.
    #[serde(default)]
    units: String,
    /// Layers to leave out, as JSON.
    #[serde(default)]
    leave: String,
}

pub async fn look(
    State(app): State<App>,
    Path(assembly): Path<String>,
    Query(how): Query<How>,
    bytes: Bytes,
) -> Response {
    let build = app.build.clone();
    let done = tokio::task::spawn_blocking(move || {
        let world = build.world();
        let plan = world.plan();
        let id = plan.assembly_named(&assembly).ok_or_else(|| "There is no such assembly.".to_owned())?;
        let leave: Vec<String> = serde_json::from_str(&how.leave).unwrap_or_default();
        let shown = drawing::look(&bytes, &how.units, &leave, plan[id].unit).map_err(|error| why(&error))?;
        Ok(json!({ "ok": true, "html": shown_markup(&world, id, &shown, &leave).into_string() }))
    })
    .await;
    told(done.map_err(|error| error.to_string()).and_then(|done| done))
}

/// The answers beside a drawing.
#[derive(Debug, Deserialize)]
pub struct With {
    mark: String,
    /// [`DrawingAnswers`] as JSON.
    answers: String,
}

pub async fn write(
    State(app): State<App>,
    Path(assembly): Path<String>,
    Query(with): Query<With>,
    bytes: Bytes,
) -> Response {
    let build = app.build.clone();
    let done = tokio::task::spawn_blocking(move || {
        let answers: DrawingAnswers = serde_json::from_str(&with.answers)
            .map_err(|error| format!("The answers cannot be read ({error}); load the page again."))?;
        drawing::import(&build, &assembly, &with.mark, &bytes, &answers)
            .map(|written| json!({ "ok": true, "says": written.says, "go": format!("/assembly/{}", address(&assembly)) }))
            .map_err(|error| why(&error))
    })
    .await;
    told(done.map_err(|error| error.to_string()).and_then(|done| done))
}

fn main(world: &World, id: AssemblyId, failed: Option<&str>) -> Markup {
    let plan = world.plan();
    let assembly = &plan[id];
    let file = entry::plan_file(plan, id);
    html! {
        link rel="stylesheet" href="/assets/entry.css";
        h1 { "A drawing for " (assembly.title) }
        @if let Some(why) = failed { p.caution { "The plan's files could not be read again: " (why) } }
        @if assembly.mirrored {
            p.note { "This is the other hand of another assembly; a drawing goes into the file it is made from." }
        } @else {
            p { "One flat part, drawn at true size. Its outline, cut-outs and holes become a plane in " (file.name)
                "; nothing is written before you say so. "
                a href={ "/entry/" (address(&assembly.id)) } { "Type rows instead" } }
            form.entry #drawing-form {
                label { "DXF drawing" input type="file" name="drawing" accept=".dxf" required; }
                p.caution data-says role="alert" hidden {}
                div #shown {}
            }
        }
        div #entry hidden data-address={ "/import/" (address(&assembly.id)) } data-mark=(entry::mark(&file.text)) {}
        script src="/assets/entry.js" defer {}
    }
}

fn unit_choice(shown: &DrawingShown) -> Markup {
    html! {
        label { @if shown.unit.is_none() { "The drawing does not say its unit: which is it?" } @else { "Unit of the drawing" }
            select name="units" data-look {
                @if shown.unit.is_none() { option value="" selected { "choose" } }
                @for (unit, words) in [("in", "inch"), ("mm", "millimetre"), ("cm", "centimetre"), ("m", "metre"), ("ft", "foot")] {
                    option value=(unit) selected[shown.unit == Some(unit)] { (words) }
                }
                // A unit that nobody would choose, and the drawing has.
                @if let Some(other) = shown.unit.filter(|unit| !["in", "mm", "cm", "m", "ft"].contains(unit)) {
                    option value=(other) selected { (other) }
                }
            } }
    }
}

fn shown_markup(world: &World, id: AssemblyId, shown: &DrawingShown, leave: &[String]) -> Markup {
    let plan = world.plan();
    let assembly = &plan[id];
    let [outlines, cuts, holes] = shown.taken;
    html! {
        (unit_choice(shown))
        @if shown.unit.is_none() {
            p { "It holds " (counted(outlines, "closed outline")) " and " (counted(holes, "circle")) "." }
        } @else {
            h2 { "Taken" }
            p { (counted(outlines, "outline")) @if !shown.extent.is_empty() { " of " (shown.extent) }
                ", " (counted(cuts, "cut-out")) @if shown.bends > 0 { ", " (counted(shown.bends, "bend line")) } ", " (counted(holes, "hole")) " in " (counted(shown.rows.len(), "row")) "." }
            @if !shown.rows.is_empty() {
                div.scroll { table {
                    thead { tr { th scope="col" { "Row" } th.n scope="col" { "Holes" } th scope="col" { "Size" } th scope="col" { "Layer of the drawing" } } }
                    tbody { @for row in &shown.rows {
                        tr { td { (row.name) } td.n { (row.holes) } td { (row.size) } td { (row.layer) } }
                    } }
                } }
            }
            @for finding in &shown.findings { (layout::finding(finding)) }
            h2 { "Left" }
            @if shown.left.is_empty() { p { "Nothing." } }
            ul.left { @for left in &shown.left { li { (left.count) " " (left.what) ": " (left.why) } } }
            @if shown.layers.len() > 1 {
                details #layers open[!leave.is_empty()] {
                    summary { "Leave a layer of the drawing out" }
                    @for layer in &shown.layers {
                        label.tick { input type="checkbox" name="leave" value=(layer) data-look checked[leave.contains(layer)]; span { (layer) } }
                    }
                }
            }
            h2 { "What the drawing does not say" }
            fieldset {
                legend { "The part whose outline it is" }
                div.fields {
                    label { "Part" input name="part" list="known-parts" required autocomplete="off" autocapitalize="none" spellcheck="false"; }
                    label { "Thickness" input name="thickness" autocomplete="off"; }
                    label { "Material" input name="material" autocomplete="off" autocapitalize="none"; }
                }
                small.hint { "Of a part that is in the plan already only the name is needed. A number alone is in " (spelt(assembly.unit)) "." }
                div.fields {
                    label { "Side that is drawn" input name="near" list="sides" autocomplete="off" autocapitalize="none"; }
                    label { "Other side" input name="far" list="sides" autocomplete="off" autocapitalize="none"; }
                }
                details { summary { "Another name for the plane" }
                    label { "Plane" input name="plane" autocomplete="off" autocapitalize="none" spellcheck="false"; } }
            }
            datalist #known-parts { @for &part in &assembly.parts { option value=(plan[part].name) {} } }
            datalist #sides { @for side in ["aft", "forward", "upper", "lower", "inboard", "outboard"] { option value=(side) {} } }
            div #others { (other(1)) }
            button type="button" data-more-other { "Another part lies on it" }
            @for size in &shown.sizes {
                @if size.rivets.is_empty() {
                    p { small { (counted(size.holes, "hole")) " of " (size.size) ": suits no usual rivet; write the fastener into the row later." } }
                } @else {
                    fieldset data-size=(size.size) {
                        legend { (counted(size.holes, "hole")) " of " (size.size) }
                        div.fields {
                            label { "Rivet in the " (size.size) " holes"
                                select name="rivet" {
                                    @for (at, (number, words)) in size.rivets.iter().enumerate() { option value=(number) selected[at == 0] data-flush[words.ends_with("flush")] { (words) } }
                                    option value="" { "not said yet" }
                                } }
                            label data-flush { "Flush holes"
                                select name="flush" { @for (key, words) in entry::flush_ways() { option value=(key) { (words) } } } }
                        }
                    }
                }
            }
            label { "Manufactured heads"
                select name="head" {
                    option value="" { "not said: by the sheets" }
                    option value="near" { "on the side that is drawn" }
                    option value="far" { "on the other side" }
                } }
            @if assembly.steps.is_empty() {
                label.tick { input type="checkbox" name="one_step" checked; span { "One step sets all rows, so that a run can be started" } }
            }
            button.go { "Write it into the plan" }
        }
    }
}

/// Fields of a part that lies on the drawn one.
fn other(number: usize) -> Markup {
    html! {
        fieldset data-other {
            legend { "A part that lies on it " span data-number { (number) } }
            div.fields {
                label { "Part on it" input name="other" list="known-parts" autocomplete="off" autocapitalize="none" spellcheck="false"; }
                label { "Its thickness" input name="other-thickness" autocomplete="off"; }
                label { "Its material" input name="other-material" autocomplete="off" autocapitalize="none"; }
                label { "It lies"
                    select name="other-side" {
                        option value="far" { "on the other side" }
                        option value="near" { "on the side that is drawn" }
                    } }
            }
            small.hint { "It is taken to be under every hole; draw its outline later to say more." }
        }
    }
}
