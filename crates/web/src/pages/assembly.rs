//! Assemblies: the drawing, plane by plane, from either side, and its rows below.

use std::fmt::Write as _;

use axum::extract::{Path, Query, State};
use axum::response::Response;
use faying_build::report::{HoleStanding, Standing, open_why};
use faying_build::room::{
    ActId, AssemblyId, CalledVerdict, Depth, Event, HeadSide, HoleId, HoleStatus, Joint, Openness, PlaneId,
    RowId, Side,
};
use faying_build::spacing::SpacingReport;
use faying_build::{World, anchor};
use faying_sheet::{HoleLook, HoleState, PlaneOptions, plane_drawing, svg};
use maud::{Markup, PreEscaped, html};
use serde::Deserialize;

use super::{answer, missing, refresh};
use crate::App;
use crate::layout::{About, Tab, first_upper, gate_option, page as framed, page_about, revision};

pub mod spacing;

/// Width of a drawing on a desk's screen and on a phone's, px.
const WIDE: f64 = 1148.0;
const NARROW: f64 = 328.0;
/// What an address asks for to see the spacing of a plane.
const SPACING: &str = "spacing";

pub async fn list(State(app): State<App>) -> Response {
    refresh(&app);
    let world = app.build.world();
    answer(framed(&world, Tab::Assemblies, "Assemblies", &assemblies(&world)))
}

fn assemblies(world: &World) -> Markup {
    let plan = world.plan();
    html! {
        h1 { "Assemblies" }
        @if plan.assemblies.is_empty() {
            p { "The plan has no assembly yet. Write one in a file of its own under plan/; the page follows as you save." }
        } @else {
            table.folds.assemblies role="table" {
                thead role="rowgroup" { tr role="row" {
                    th scope="col" role="columnheader" { "Assembly" }
                    th scope="col" role="columnheader" { "Planes" }
                    th.n scope="col" role="columnheader" { "Parts" }
                    th.n scope="col" role="columnheader" { "Holes" }
                    th.n scope="col" role="columnheader" { "Set" }
                } }
                tbody role="rowgroup" {
                    @for assembly in &plan.assemblies {
                        @let holes: Vec<_> = assembly.rows.iter().flat_map(|&row| plan[row].hole_ids()).collect();
                        tr role="row" {
                            th scope="row" role="rowheader" {
                                a.tap href={ "/assembly/" (address(&assembly.id)) } { (assembly.title) }
                                br; a.tap.small href={ "/entry/" (address(&assembly.id)) } aria-label={ "Parts and rows of " (assembly.title) } { "parts and rows" }
                                @if let Some(other) = assembly.mirror_of { small { "other hand of " (plan[other].title) } }
                            }
                            td.full role="cell" {
                                @if assembly.planes.is_empty() { small { "no plane drawn" } } @else {
                                    ul.planes { @for &plane in &assembly.planes {
                                        li { a.tap href=(plane_address(world, plane, Side::Near)) { (title_of(&plan[plane].title, &plan[plane].name)) } }
                                    } }
                                }
                            }
                            td.n role="cell" data-label="parts" { (assembly.parts.iter().map(|&part| plan[part].pieces.len()).sum::<usize>()) }
                            td.n role="cell" data-label="holes" { (holes.len()) }
                            td.n role="cell" data-label="set" { (holes.iter().filter(|&&hole| world.is_set(hole)).count()) }
                        }
                    }
                }
            }
        }
    }
}

/// Which face is asked for.
#[derive(Debug, Deserialize)]
pub struct Asked {
    plane: Option<String>,
    side: Option<String>,
    show: Option<String>,
}

pub async fn page(State(app): State<App>, Path(id): Path<String>, Query(asked): Query<Asked>) -> Response {
    refresh(&app);
    let world = app.build.world();
    let plan = world.plan();
    let Some(assembly) = plan.assembly_named(&id) else {
        drop(world);
        return missing(&app, &format!("The plan has no assembly {id}."));
    };
    let planes = &plan[assembly].planes;
    let plane = match &asked.plane {
        None => planes.first().copied(),
        Some(name) => match planes.iter().copied().find(|&plane| plan[plane].name == *name) {
            Some(plane) => Some(plane),
            None => {
                let what = format!("{} has no plane {name}.", plan[assembly].title);
                drop(world);
                return missing(&app, &what);
            }
        },
    };
    let side = plane
        .zip(asked.side.as_deref())
        .and_then(|(plane, side)| plan[plane].side(side))
        .unwrap_or(Side::Near);
    let title = plan[assembly].title.clone();
    let spacing = asked.show.as_deref() == Some(SPACING);
    let main = main(&world, assembly, plane, side, spacing);
    answer(page_about(&world, Tab::Assemblies, &title, About::Place(&id), &main))
}

fn main(world: &World, id: AssemblyId, plane: Option<PlaneId>, side: Side, spacing: bool) -> Markup {
    let plan = world.plan();
    let assembly = &plan[id];
    let standing = Standing::of(world);
    // Only the plane in view is measured, and only when it is asked for.
    let report = plane.filter(|_| spacing).map(|plane| world.spacing(plane));
    let at = |plane: PlaneId, side: Side| shown_address(world, plane, side, spacing);
    let without: Vec<RowId> =
        assembly.rows.iter().copied().filter(|&row| plan[row].plane.is_none()).collect();
    html! {
        h1 { (assembly.title) }
        p { a.tap href={ "/entry/" (address(&assembly.id)) } { "Parts and rows" } }
        @if let Some(other) = assembly.mirror_of {
            p { small { "The other hand of " a href={ "/assembly/" (address(&plan[other].id)) } { (plan[other].title) } "." } }
        }
        @if !assembly.note.is_empty() { p.remark { (assembly.note) } }
        @if let Some(shown) = plane {
            @if assembly.planes.len() > 1 {
                nav.way aria-label="Planes of this assembly" {
                    @for &one in &assembly.planes {
                        a href=(at(one, Side::Near)) aria-current=[(one == shown).then_some("true")] { (title_of(&plan[one].title, &plan[one].name)) }
                    }
                }
            }
            nav.way.sides aria-label="Side in view" {
                @for one in [Side::Near, Side::Far] {
                    a href=(at(shown, one)) aria-current=[(one == side).then_some("true")] { "from " (plan[shown].side_name(one)) }
                }
                a.past href="#rows" { "to the rows" }
            }
            nav.way.sides aria-label="What is drawn" {
                a href=(plane_address(world, shown, side)) aria-current=[(!spacing).then_some("true")] { "How it stands" }
                a href=(shown_address(world, shown, side, true)) aria-current=[spacing.then_some("true")] { "Spacing" }
            }
            @if let Some(report) = &report { (spacing::summary(report)) }
            (drawings(world, &standing, shown, side, report.as_ref()))
            @if let Some(report) = &report { (spacing::table(world, report)) }
            @if !plan[shown].note.is_empty() { p.remark { (plan[shown].note) } }
            h2 #rows { "Rows of " (title_of(&plan[shown].title, &plan[shown].name)) }
            @if plan[shown].rows.is_empty() { p { "No row is in this plane." } } @else { (rows(world, &standing, &plan[shown].rows)) }
        }
        @if !without.is_empty() {
            h2 #counted { "Rows without a plane" }
            p { small { "Counted or with their sheets listed; not drawn." } }
            (rows(world, &standing, &without))
        }
        @if plane.is_none() && without.is_empty() { p { "This assembly has no plane and no row yet." } }
        @if !assembly.parts.is_empty() {
            details #parts {
                summary { "Parts" }
                div.scroll tabindex="0" role="region" aria-label="Parts" {
                    table {
                        thead { tr { th scope="col" { "Part" } th scope="col" { "Number" } th scope="col" { "Material" } th.n scope="col" { "Thickness" } th scope="col" { "Finish" } th.n scope="col" { "Pieces" } } }
                        tbody {
                            @for &part in &assembly.parts {
                                @let it = &plan[part];
                                tr {
                                    th scope="row" { (title_of(&it.title, &it.name)) @if !it.note.is_empty() { br; small { (it.note) } } }
                                    td { (it.number) }
                                    td { (it.material) }
                                    td.n { @if let Some(thickness) = it.thickness { (thickness.decimal()) " in" } }
                                    td { (it.finish) }
                                    td.n { (it.pieces.len()) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The same face twice, for a desk's screen and for a phone's; the style sheet shows one.
fn drawings(
    world: &World,
    standing: &Standing<'_>,
    plane: PlaneId,
    side: Side,
    report: Option<&SpacingReport>,
) -> Markup {
    let plan = world.plan();
    let look = |hole: HoleId| look(world, standing, hole);
    let link = |hole: HoleId| hole_address(world, hole);
    let later = standing.later(plane);
    let spacing = report.map_or_else(Vec::new, spacing::marks);
    let options = |key: &str| PlaneOptions {
        key: key.to_owned(),
        touch: true,
        later: later.clone(),
        link: Some(&link),
        letters: vec![
            ('H', "held by the plan".to_owned()),
            ('D', "drilled out".to_owned()),
            ('F', "measured outside the limits".to_owned()),
        ],
        spacing: spacing.clone(),
        revision: revision(world),
        date: adopted_on(world),
        ..PlaneOptions::default()
    };
    let wide = PlaneOptions { width: WIDE, max_height: 760.0, max_aspect: Some(9.0), ..options("wide") };
    let narrow = PlaneOptions { width: NARROW, max_height: 2400.0, least_pitch: 24.0, ..options("narrow") };
    html! {
        div.drawing.on-wide { (drawing(&plane_drawing(plan, plane, side, &look, &wide))) }
        div.drawing.on-narrow.scroll { (drawing(&plane_drawing(plan, plane, side, &look, &narrow))) }
    }
}

/// A drawing as part of a page.
pub fn drawing(drawing: &faying_sheet::Drawing) -> Markup {
    PreEscaped(svg::write(drawing))
}

/// How a hole is drawn as it stands now.
fn look(world: &World, standing: &Standing<'_>, hole: HoleId) -> HoleLook {
    let opened = world.state.status(hole) == HoleStatus::OpenedAgain;
    match standing.hole(hole) {
        HoleStanding::Set if measured_outside(world, hole) => HoleLook::plain(HoleState::Fault),
        HoleStanding::Set if world.state.measured(hole).is_some() => HoleLook::plain(HoleState::SetMeasured),
        HoleStanding::Set => HoleLook::plain(HoleState::Set),
        HoleStanding::Open(reason) => {
            let held = matches!(reason, Openness::Held { .. }).then_some('H');
            let letter = if opened { Some('D') } else { held };
            HoleLook { letter, ..HoleLook::plain(HoleState::Open) }
        }
        _ => HoleLook { letter: opened.then_some('D'), ..HoleLook::plain(HoleState::ToDo) },
    }
}

/// Whether the newest measurement of a hole's head is outside what the limits ask today.
fn measured_outside(world: &World, hole: HoleId) -> bool {
    super::hole::newest_verdict(world, hole).is_some_and(|verdict| verdict.inside == Some(false))
}

/// The day on which the plan in force was adopted.
fn adopted_on(world: &World) -> String {
    let acts = world.state.acts().iter().rev();
    let act = acts.into_iter().find(|act| matches!(act.event, Event::RevisionAdopted(_)));
    act.and_then(|act| act.at.get(..10)).unwrap_or("").to_owned()
}

/// Holes of a row for which the same stands in the table.
struct Alike<'w> {
    holes: Vec<HoleId>,
    joint: Option<&'w Joint>,
    stack: String,
}

fn alike(world: &World, row: RowId) -> Vec<Alike<'_>> {
    let joints = &world.side.joints;
    let said = |joint: Option<&Joint>| {
        joint.map(|joint| {
            (joint.seats.is_ok(), joint.call_out.as_ref().map(|call_out| (call_out.called, call_out.best)))
        })
    };
    let mut groups: Vec<Alike<'_>> = Vec::new();
    for hole in world.plan()[row].hole_ids() {
        let (joint, stack) = (joints.at(hole), stack(world, row, hole));
        match groups.iter_mut().find(|group| group.stack == stack && said(group.joint) == said(joint)) {
            Some(group) => group.holes.push(hole),
            None => groups.push(Alike { holes: vec![hole], joint, stack }),
        }
    }
    groups
}

fn rows(world: &World, standing: &Standing<'_>, rows: &[RowId]) -> Markup {
    html! {
        table.folds.rows role="table" {
            thead role="rowgroup" { tr role="row" {
                th scope="col" role="columnheader" { "Row" }
                th scope="col" role="columnheader" { "Call-out in the plan" }
                th scope="col" role="columnheader" { "As computed" }
                th scope="col" role="columnheader" { "Stack, in" }
                th.n scope="col" role="columnheader" { "Holes" }
                th.n scope="col" role="columnheader" { "Set" }
                th.n scope="col" role="columnheader" { "Open" }
            } }
            @for &row in rows { (one_row(world, standing, row)) }
        }
    }
}

fn one_row(world: &World, standing: &Standing<'_>, id: RowId) -> Markup {
    let plan = world.plan();
    let row = &plan[id];
    if let Some(other) = row.same {
        return html! {
            tbody role="rowgroup" { tr role="row" {
                th scope="row" role="rowheader" { b { (row.name) } }
                td.full colspan="6" role="cell" {
                    "Seen in "
                    @match plan[other].plane {
                        Some(plane) => a href=(plane_address(world, plane, Side::Near)) { (plan.row_name(other)) },
                        None => a href={ "/assembly/" (address(&plan[plan[other].assembly].id)) "#counted" } { (plan.row_name(other)) },
                    }
                    ", where its holes are."
                }
            } }
        };
    }
    let groups = alike(world, id);
    let lines = groups.len().max(1).to_string();
    let holes: Vec<HoleId> = row.hole_ids().collect();
    let set = holes.iter().filter(|&&hole| world.is_set(hole)).count();
    let open = holes.iter().filter(|&&hole| matches!(standing.hole(hole), HoleStanding::Open(_))).count();
    html! {
        tbody role="rowgroup" {
            @for (index, group) in groups.iter().enumerate() {
                tr role="row" {
                    @if index == 0 {
                        th scope="rowgroup" role="rowheader" rowspan=(lines) { b { (row.name) } }
                        td role="cell" rowspan=(lines) { (called(world, id)) }
                    }
                    td role="cell" {
                        (verdict(world, id, group))
                        @if groups.len() > 1 { br; small { (plan.hole_range(&group.holes)) } }
                    }
                    td role="cell" { (group.stack) }
                    @if index == 0 {
                        td.n role="cell" rowspan=(lines) data-label="holes" { (holes.len()) }
                        td.n role="cell" rowspan=(lines) data-label="set" { (set) }
                        td.n role="cell" rowspan=(lines) data-label=[(open > 0).then_some("open")] { @if open > 0 { (open) } }
                    }
                }
            }
            tr.more role="row" { td.full colspan="7" role="cell" { (more(world, standing, id, &holes)) } }
        }
    }
}

/// What the plan calls for, as written.
pub fn called(world: &World, row: RowId) -> Markup {
    let row = &world.plan()[row];
    html! {
        @match (&row.called, row.rivet) {
            (Some(called), _) => (called),
            (None, Some(rivet)) => { (rivet) " " small { "no length" } },
            (None, None) => small { "nothing" },
        }
        @if let Some(attach) = &row.attach { br; small { (attach.each) " × " (attach.called) " each" } }
    }
}

/// What the computation makes of a call-out, in words.
fn verdict(world: &World, row: RowId, group: &Alike<'_>) -> Markup {
    let plan = world.plan();
    let Some(joint) = group.joint else {
        let why = match (plan[row].rivet, plan[row].depth) {
            (None, _) => "not a solid rivet",
            (Some(_), Depth::Counted) => "no stack in the plan",
            (Some(_), _) => "no stack of two sheets here",
        };
        return html! { small { (why) } };
    };
    if let Err(error) = &joint.seats {
        return html! { span.bad { "not computed" } br; small { (first_upper(&error.to_string())) } };
    }
    let Some(call_out) = &joint.call_out else { return html! { small { "no limits for this rivet" } } };
    let best = call_out.best.filter(|&best| Some(best) != joint.called);
    html! {
        @match call_out.called {
            Some(called) => { (word(called)) }
            None if call_out.candidates.is_empty() => "double flush: prove on a coupon",
            None => {}
        }
        @if let Some(best) = best { @if call_out.called.is_some() { ", " } (best) " computed" }
        @else if call_out.best.is_none() && !call_out.candidates.is_empty() { span.bad { " no length stands" } }
    }
}

/// A verdict on the plan's length in words.
pub fn word(called: CalledVerdict) -> Markup {
    match called {
        CalledVerdict::Stands => html! { "stands" },
        CalledVerdict::Coupon => html! { b { "prove on a coupon" } },
        CalledVerdict::Short => html! { span.bad { "too short" } },
        CalledVerdict::Fold => html! { span.bad { "folds" } },
    }
}

/// `.063 + .040 + .040`, near to far, with what is done to each that is not plain.
fn stack(world: &World, row: RowId, hole: HoleId) -> String {
    let plan = world.plan();
    let mut text = String::new();
    for &piece in world.side.joints.stacks.at(hole) {
        let part = plan[piece].part;
        if !text.is_empty() {
            text.push_str(" + ");
        }
        text.push_str(
            &plan[part].thickness.map_or_else(|| plan.piece_name(piece), faying_build::room::Length::decimal),
        );
        let how = plan.preparation(row, part);
        if how != faying_build::room::Preparation::Plain {
            let _ = write!(text, " {how}");
        }
    }
    text
}

/// What a row is asked for: its holes, why some stay open, and the act for a row that was set earlier.
fn more(world: &World, standing: &Standing<'_>, id: RowId, holes: &[HoleId]) -> Markup {
    let plan = world.plan();
    let row = &plan[id];
    let name = plan.row_name(id);
    let unset: Vec<String> =
        holes.iter().filter(|&&hole| !world.is_set(hole)).map(|&hole| plan.hole_name(hole)).collect();
    let mut open: Vec<(Openness, Vec<HoleId>)> = Vec::new();
    for &hole in holes {
        if let HoleStanding::Open(reason) = standing.hole(hole) {
            match open.iter_mut().find(|(known, _)| *known == reason) {
                Some((_, list)) => list.push(hole),
                None => open.push((reason, vec![hole])),
            }
        }
    }
    html! {
        details id={ "row-" (id.index()) } {
            summary {
                @if !row.note.is_empty() { span.remark { (row.note) } }
                span.opens { "Row " (row.name) ": holes, reasons, acts" }
            }
            div.inside {
                @match &row.head {
                    Some(HeadSide::Side(side)) => p { "Manufactured head " @if let Some(plane) = row.plane { (plan[plane].side_name(*side)) } @else if *side == Side::Near { "on the first sheet" } @else { "on the last sheet" } ", says the plan." },
                    Some(HeadSide::Words(words)) => p { "Manufactured head " (words) ", says the plan." },
                    None => {}
                }
                @for (reason, list) in &open { p { b { "Leave open: " } (plan.hole_range(list)) ". " (first_upper(&open_why(plan, id, *reason))) "." } }
                ul.holes aria-label={ "Holes of row " (row.name) } {
                    @for &hole in holes {
                        li { a href=(hole_address(world, hole)) aria-label={ "Hole " (plan[hole].number) ", " (standing_word(world, standing.hole(hole), hole)) } class=(if world.is_set(hole) { "set" } else { "unset" }) { (plan[hole].number) } }
                    }
                }
                p { small { "Filled: set. Outlined: not set." } }
                (held(world, holes))
                @if holes.iter().any(|&hole| !world.is_set(hole) && world.state.held(hole).is_none()) {
                    details id={ "hold-" (id.index()) } {
                        summary { "Leave it open…" }
                        p { "For a part that comes later and that the plan does not know. What is not set of row " (row.name) " stays open on your word, and stands against every gate that hides it until the hold is lifted." }
                        (hold_form(world, row.assembly, std::slice::from_ref(&name), &format!("Leave row {} open", row.name)))
                    }
                }
                @if !unset.is_empty() {
                    details id={ "before-" (id.index()) } {
                        summary { "Set before the record began…" }
                        p { "For work that was done before this record was kept. It puts " (count(unset.len(), "hole")) " of row " (row.name) " down as set, with no tool, no person and no measurement known." }
                        form.fields data-act=(serde_json::json!({ "kind": "set-before", "holes": unset }).to_string()) {
                            label { "What is known about it (when, who, which length)" input name="note" autocomplete="off"; }
                            p.says data-says role="status" hidden {}
                            button aria-label={ "Put down as set before the record began: " (name) } { "Put " (count(unset.len(), "hole")) " down as set before" }
                        }
                    }
                }
            }
        }
    }
}

/// Holes of a row that the builder holds, each hold with the way to where it is lifted.
fn held(world: &World, holes: &[HoleId]) -> Markup {
    let mut holds: Vec<(ActId, Vec<HoleId>)> = Vec::new();
    for &hole in holes {
        if let Some((act, _)) = world.state.held(hole) {
            match holds.iter_mut().find(|(known, _)| *known == act) {
                Some((_, list)) => list.push(hole),
                None => holds.push((act, vec![hole])),
            }
        }
    }
    html! {
        @for (act, list) in &holds {
            @let act = world.state.act(*act);
            @if let Event::HoldPlaced(hold) = &act.event {
                p { b { "Held open on your word: " } (world.plan().hole_range(list)) ". " (first_upper(&hold.why))
                    @if !hold.until.is_empty() { ", until " (until_words(world, &hold.until)) } ". "
                    a.tap href={ "/owed#" (anchor(&act.id, "")) } { "Lift the hold" } }
            }
        }
    }
}

/// A step or gate until which something is held, as shown.
fn until_words(world: &World, until: &str) -> String {
    let gate = world.plan().gate_named(until).map(|gate| world.gate_title(gate));
    gate.unwrap_or_else(|| super::today::step_title(world, until))
}

/// The act that keeps holes open on the builder's word.
pub fn hold_form(world: &World, assembly: AssemblyId, holes: &[String], says: &str) -> Markup {
    let plan = world.plan();
    let gates = world.gates_ahead(&world.progress());
    html! {
        form.fields data-act=(serde_json::json!({ "kind": "hold", "holes": holes }).to_string()) {
            label { "Why" input name="why" required autocomplete="off"; }
            label { "Until" select name="until" {
                option value="" { "not known yet" }
                optgroup label="Steps of this assembly" {
                    @for &step in &plan[assembly].steps { option value=(plan.step_name(step)) { (plan[step].title) } }
                }
                optgroup label="Gates" {
                    @for gate in gates { option value=(plan.gate_name(gate)) { (gate_option(world, gate)) } }
                }
            } }
            p.says data-says role="status" hidden {}
            button { (says) }
        }
    }
}

/// How a hole stands, in a word or two.
pub fn standing_word(world: &World, standing: HoleStanding, hole: HoleId) -> &'static str {
    match standing {
        HoleStanding::Set if measured_outside(world, hole) => "set, measured outside the limits",
        HoleStanding::Set if world.state.measured(hole).is_some() => "set, measured",
        HoleStanding::Set => "set",
        HoleStanding::Open(Openness::Held { .. }) => "held open",
        HoleStanding::Open(_) => "leave open",
        _ if world.state.status(hole) == HoleStatus::OpenedAgain => "drilled out",
        _ => "to do",
    }
}

/// `1 hole`, `12 holes`.
pub fn count(number: usize, what: &str) -> String {
    format!("{number} {what}{}", if number == 1 { "" } else { "s" })
}

fn title_of<'t>(title: &'t str, name: &'t str) -> &'t str {
    if title.is_empty() { name } else { title }
}

/// Where a face of a plane is shown.
pub fn plane_address(world: &World, plane: PlaneId, side: Side) -> String {
    let plan = world.plan();
    let it = &plan[plane];
    let side = if side == Side::Near { "near" } else { "far" };
    format!("/assembly/{}?plane={}&side={side}", address(&plan[it.assembly].id), address(&it.name))
}

/// Where a face of a plane is shown, as it stands or with its spacing.
fn shown_address(world: &World, plane: PlaneId, side: Side, spacing: bool) -> String {
    let page = plane_address(world, plane, side);
    if spacing { format!("{page}&show={SPACING}") } else { page }
}

/// Where a row is shown, opened.
pub fn row_address(world: &World, row: RowId) -> String {
    let plan = world.plan();
    let page = match plan[row].plane {
        Some(plane) => plane_address(world, plane, Side::Near),
        None => format!("/assembly/{}", address(&plan[plan[row].assembly].id)),
    };
    format!("{page}#row-{}", row.index())
}

/// Where a hole is shown.
pub fn hole_address(world: &World, hole: HoleId) -> String {
    format!("/hole/{}", address(&world.plan().hole_name(hole)))
}

/// A name as part of an address; its slashes stay.
pub fn address(name: &str) -> String {
    let mut address = String::with_capacity(name.len());
    for byte in name.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~/".contains(&byte) {
            address.push(char::from(byte));
        } else {
            let _ = write!(address, "%{byte:02X}");
        }
    }
    address
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_survives_an_address() {
        assert_eq!(address("flap-left/web/A/7"), "flap-left/web/A/7");
        assert_eq!(address("rows & é"), "rows%20%26%20%C3%A9");
    }

    #[test]
    fn one_is_not_a_plural() {
        assert_eq!(count(1, "hole"), "1 hole");
        assert_eq!(count(12, "hole"), "12 holes");
    }
}
