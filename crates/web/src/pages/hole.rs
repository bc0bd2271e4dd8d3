//! One hole: section to scale, stack, call-out with its working, head side, history, acts.

use axum::extract::{Path, State};
use axum::response::Response;
use faying_build::World;
use faying_build::report::{
    HoleStanding, SectionNumbers, Standing, cited, joint_limits, joint_working, open_why, section_numbers,
};
use faying_build::room::{
    Candidate, Event, Fold, HeadStyle, HoleId, HoleStatus, Joint, Length, Openness, Preparation, ShopSeat,
    Side, StepId,
};
use faying_sheet::{Quadrants, SectionInput, SectionSheet, ShopHead, section_drawing};
use maud::{Markup, html};

use super::assembly::spacing;
use super::assembly::{
    address, called, count, drawing, hold_form, hole_address, plane_address, row_address, standing_word, word,
};
use super::owed::{self, decision};
use super::photos::{photo_form, photo_strip};
use super::record::{entry, head, take_back};
use super::standards::inches;
use super::{answer, missing, refresh};
use crate::App;
use crate::layout::{About, Tab, first_upper, page_about, working};

pub async fn page(State(app): State<App>, Path(name): Path<String>) -> Response {
    refresh(&app);
    let world = app.build.world();
    let Some(hole) = world.plan().hole_named(&name) else {
        drop(world);
        return missing(&app, &format!("The plan has no hole {name}."));
    };
    let title = format!(
        "Hole {}, {}",
        short(&world, hole),
        world.plan()[world.plan()[world.plan()[hole].row].assembly].title
    );
    answer(page_about(&world, Tab::Assemblies, &title, About::Place(&name), &main(&world, hole)))
}

/// `A-7`: the name of a hole in its plane.
pub fn short(world: &World, hole: HoleId) -> String {
    let plan = world.plan();
    format!("{}-{}", plan[plan[hole].row].name, plan[hole].number)
}

/// What the limits say today of the newest measurement of a hole's head; none without one, or without limits.
pub fn newest_verdict(world: &World, hole: HoleId) -> Option<Said> {
    let measured = world.measured_head(hole, world.state.measured(hole)?.head);
    let verdict = world.judge(hole, &measured)?;
    Some(Said { inside: verdict.inside, reasons: verdict.reasons })
}

/// What limits say of a head.
pub struct Said {
    /// Inside, outside, or not judged.
    pub inside: Option<bool>,
    /// Sentences.
    pub reasons: Vec<String>,
}

fn main(world: &World, id: HoleId) -> Markup {
    let plan = world.plan();
    let hole = &plan[id];
    let row = &plan[hole.row];
    let assembly = &plan[row.assembly];
    let joint = world.side.joints.at(id);
    let standing = Standing::of(world).hole(id);
    let name = plan.hole_name(id);
    let beside = |number: u32| row.hole_ids().find(|&other| plan[other].number == number);
    html! {
        p.trail {
            a href={ "/assembly/" (address(&assembly.id)) } { (assembly.title) }
            @if let Some(plane) = row.plane { " / " a href=(plane_address(world, plane, Side::Near)) { (plan[plane].title) } }
        }
        h1 { "Hole " (short(world, id)) " " small.status { (standing_word(world, standing, id)) } }
        nav.way aria-label={ "Holes of row " (row.name) } {
            @if let Some(before) = hole.number.checked_sub(1).and_then(beside) { a rel="prev" href=(hole_address(world, before)) { "‹ " (short(world, before)) } }
            span { (hole.number) " of " (row.count()) }
            @if let Some(after) = beside(hole.number + 1) { a rel="next" href=(hole_address(world, after)) { (short(world, after)) " ›" } }
            a.past href="#do" { @if !world.is_set(id) { "note" } @else if plan.is_bolt(id) { "torque, note" } @else { "measure, note" } }
        }
        (now(world, id, standing))
        (owed_here(world, id, &name))
        @if !row.note.is_empty() { p.remark { "Row " (row.name) ": " (row.note) } }
        div.pair {
            div {
                h2 { "Section" }
                (section(world, id, joint))
            }
            div {
                h2 { "Stack" }
                (stack(world, id))
                h2 { "Spacing" }
                (spacing::of_hole(world, id))
                h2 { "Call-out" }
                (call_out(world, id, joint))
            }
        }
        @if let Some(joint) = joint { (candidates(joint)) (heads(joint)) (limits(joint)) (workings(world, joint)) }
        (history(world, id))
        (acts(world, id, &name, joint))
        script src="/assets/measure.js" defer {}
    }
}

/// Which step fills it, and whether it stays open.
fn now(world: &World, id: HoleId, standing: HoleStanding) -> Markup {
    let plan = world.plan();
    let row = plan[id].row;
    let due = world.side.sequence.due(id);
    let run = |step| format!("/run/{}", address(&plan.step_name(step)));
    html! {
        p.lead {
            @match standing {
                HoleStanding::Set => "A fastener is in it.",
                HoleStanding::Ready(step) => { "Due now, at " a href=(run(step)) { (plan[step].title) } "." },
                HoleStanding::Later(step) => { "Filled at " (plan[step].title) ", which waits for other steps." },
                HoleStanding::Open(Openness::SharedWith { piece, arrives }) => {
                    b { "Leave it open. " } (first_upper(&plan.piece_name(piece))) " shares it and comes at " (plan[arrives].title) "."
                },
                HoleStanding::Open(reason) => { b { "Leave it open. " } (first_upper(&open_why(plan, row, reason))) "." },
                HoleStanding::NoStep => "No step of the plan fills it.",
            }
            @if let Some(step) = due.filter(|&step| says_more(standing, step)) {
                " The plan fills it at " (plan[step].title) "."
            }
            @if world.state.status(id) == HoleStatus::OpenedAgain { " One was set in it and drilled out." }
        }
        @if let Some(head_measured) = world.state.measured(id) {
            @let it = head_measured.head;
            p { "Measured: " (head(it.width, it.width_across, it.height)) ". "
                @match newest_verdict(world, id) {
                    Some(said) => { @for reason in &said.reasons { (reason) " " } },
                    None => "No limits judge this fastener.",
                }
            }
        }
    }
}

/// What is owed at the hole, at its row or at several holes together.
fn owed_here(world: &World, id: HoleId, name: &str) -> Markup {
    let row = world.plan().row_name(world.plan()[id].row);
    let list = world.owed_at(&world.progress(), |place| place == name || place == row);
    owed::here(&list, "Owed here")
}

/// Whether the step that fills a hole was not named yet.
fn says_more(standing: HoleStanding, due: StepId) -> bool {
    match standing {
        HoleStanding::Set => true,
        HoleStanding::Open(Openness::SharedWith { arrives, .. }) => arrives != due,
        HoleStanding::Open(Openness::Held { until }) => until != Some(due),
        _ => false,
    }
}

/// The section for a desk's screen and for a phone's.
fn section(world: &World, id: HoleId, joint: Option<&Joint>) -> Markup {
    let numbers = joint.and_then(|joint| Some((joint, section_numbers(joint)?)));
    html! {
        @match numbers {
            Some((joint, numbers)) => {
                div.drawing.on-wide { (drawing(&section_drawing(&section_input(world, id, joint, &numbers, "cut-wide", 560.0)))) }
                div.drawing.on-narrow { (drawing(&section_drawing(&section_input(world, id, joint, &numbers, "cut-narrow", 328.0)))) }
                @match numbers.shop_head_in {
                    Some([width, height]) => p { small { "After driving: aimed at the middle of the heights that work, " (inches(height)) " in high, where the head is computed to be " (inches(width)) " in wide." } },
                    None => p { small { "No head after driving is drawn: for this length there is no middle of heights that work to aim at." } },
                }
            }
            None => p { "Not drawn: it takes a solid rivet with a length, and the thickness of every sheet." },
        }
    }
}

/// The section for a print; none where it cannot be drawn.
pub fn section_for_print(world: &World, id: HoleId) -> Option<SectionInput> {
    let joint = world.side.joints.at(id)?;
    Some(section_input(world, id, joint, &section_numbers(joint)?, "cut", 300.0))
}

fn section_input(
    world: &World,
    id: HoleId,
    joint: &Joint,
    numbers: &SectionNumbers,
    key: &str,
    width: f64,
) -> SectionInput {
    let plan = world.plan();
    let plane = plan[plan[id].row].plane;
    let side = |side| {
        plane.map_or_else(
            || if side == Side::Near { "first" } else { "last" }.to_owned(),
            |plane| plan[plane].side_name(side).to_owned(),
        )
    };
    SectionInput {
        key: key.to_owned(),
        width,
        title: format!("Hole {}", short(world, id)),
        sheets: joint
            .layers
            .iter()
            .zip(&joint.sheets)
            .map(|(&piece, sheet)| SectionSheet {
                // The copy stands in the table of the stack; here there is no room for it.
                name: plan[plan[piece].part].name.clone(),
                thickness_in: sheet.thickness.inches(),
                preparation: sheet.preparation,
            })
            .collect(),
        head: joint.rivet.head,
        shank_in: numbers.shank_in,
        length_in: numbers.length_in,
        hole_in: numbers.hole_in,
        head_dia_in: numbers.head_dia_in,
        head_height_in: numbers.head_height_in,
        head_on_near: numbers.head_on_near,
        seat_to_seat_in: numbers.seat_to_seat_in,
        shop_head: numbers.shop_head_in.map(|[width_in, height_in]| ShopHead { width_in, height_in }),
        near_name: side(Side::Near),
        far_name: side(Side::Far),
    }
}

fn stack(world: &World, id: HoleId) -> Markup {
    let plan = world.plan();
    let row = plan[id].row;
    let layers = world.side.joints.stacks.at(id);
    let faces = plan[row].plane.map(|plane| (plan[plane].near.as_str(), plan[plane].far.as_str()));
    html! {
        @if layers.is_empty() { p { "The plan does not say which sheets lie here." } } @else {
            table {
                caption { @match faces { Some((near, far)) => { "From " (near) " to " (far) }, None => "As listed in the plan" } }
                thead { tr { th scope="col" { "Layer" } th scope="col" { "Material" } th.n scope="col" { "Thickness, in" } th scope="col" { "Preparation" } } }
                tbody {
                    @for &piece in layers {
                        @let part = plan[piece].part;
                        tr {
                            th scope="row" { (plan.piece_name(piece)) }
                            td { (plan[part].material) }
                            td.n { @match plan[part].thickness { Some(thickness) => (thickness.decimal()), None => "not said" } }
                            td { (plan.preparation(row, part)) }
                        }
                    }
                }
            }
        }
    }
}

/// The plan's call-out, its symbol, and the verdict in plain words.
fn call_out(world: &World, id: HoleId, joint: Option<&Joint>) -> Markup {
    let row = world.plan()[id].row;
    html! {
        div.callout {
            @if let Some(joint) = joint {
                @let (quadrants, says) = symbol(world, id, joint);
                div.symbol {
                    (drawing(&quadrants.drawing("symbol", 15.0, &says)))
                    p { small { (says) "." } }
                }
            }
            div {
                p {
                    "The plan calls " b { (called(world, row)) } "."
                    @if let Some(verdict) = joint.and_then(|joint| joint.call_out.as_ref()?.called) { " As computed: " (word(verdict)) "." }
                }
                @match joint {
                    None => p { "Nothing is computed here: it takes a solid rivet and two sheets of known thickness." },
                    Some(joint) => {
                        @if let Err(error) = &joint.seats { p.caution { "Not computed: " (error) "." } }
                        @if let Err(error) = &joint.in_force { p.caution { (first_upper(&error.to_string())) "." } }
                        @if let Some(call_out) = &joint.call_out {
                            @for sentence in &call_out.why { p { (sentence) } }
                        }
                    }
                }
            }
        }
    }
}

/// The quadrant symbol and what it says in words.
fn symbol(world: &World, id: HoleId, joint: &Joint) -> (Quadrants, String) {
    let plan = world.plan();
    let plane = plan[plan[id].row].plane;
    let side = joint.head.side;
    let side_name =
        plane.map_or(if side == Side::Near { "first" } else { "last" }, |plane| plan[plane].side_name(side));
    let many = |how: Preparation| joint.sheets.iter().filter(|sheet| sheet.preparation == how).count();
    let mark = |count: usize, letter: &str| match count {
        0 => String::new(),
        1 => letter.to_owned(),
        count => format!("{letter}{count}"),
    };
    let preparation =
        format!("{}{}", mark(many(Preparation::Dimpled), "D"), mark(many(Preparation::Countersunk), "C"));
    let length =
        joint.dash().map_or_else(String::new, |dash| dash.to_string().trim_start_matches('-').to_owned());
    let side_letter = if side == Side::Near { "N" } else { "F" };
    let head_words = match joint.rivet.head {
        HeadStyle::Universal => "universal head",
        HeadStyle::Flush => "flush head",
    };
    let sheets = |how: Preparation, words: &str| match many(how) {
        0 => String::new(),
        number => format!(", {} {words}", count(number, "sheet")),
    };
    let says = format!(
        "{}{}, {} in, {head_words} on the {side_name} side{}{}",
        joint.rivet,
        joint.dash().map_or_else(String::new, |dash| dash.to_string()),
        joint.rivet.diameter,
        sheets(Preparation::Dimpled, "dimpled"),
        sheets(Preparation::Countersunk, "countersunk")
    );
    let quadrants = Quadrants {
        rivet: format!("{}{}", joint.rivet.head.number(), joint.rivet.alloy),
        diameter_and_head: format!("{}{side_letter}", joint.rivet.diameter.dash()),
        preparation,
        length,
    };
    (quadrants, says)
}

fn candidates(joint: &Joint) -> Markup {
    let Some(call_out) = joint.call_out.as_ref().filter(|call_out| !call_out.candidates.is_empty()) else {
        return html! {};
    };
    html! {
        h2 #lengths { "Lengths" }
        div.scroll tabindex="0" role="region" aria-labelledby="lengths" {
            table.lengths {
                thead { tr {
                    th scope="col" { (joint.rivet) }
                    th.n scope="col" { "Tail, d" }
                    th.n scope="col" { "Wide enough, P" }
                    th.n scope="col" { "Height inside, P" }
                    th.n scope="col" { "Heights that work, in" }
                    th.n scope="col" { "Head at mid height, in" }
                    th.n scope="col" { "With metal missing, in" }
                    th scope="col" { "Fold" }
                } }
                tbody { @for it in &call_out.candidates { (candidate(joint, call_out.best, it)) } }
            }
        }
        p { small { "Wide enough belongs to the length: whether a permitted height exists at which the head is wide enough. Height inside belongs to the set-up: whether it lands in the heights that work, aimed at their middle." } }
    }
}

fn candidate(joint: &Joint, best: Option<faying_build::room::Dash>, it: &Candidate) -> Markup {
    let called = joint.called == Some(it.dash);
    html! {
        tr.best[best == Some(it.dash)] {
            th scope="row" {
                (it.dash) @if called { ", plan" }
                @if best == Some(it.dash) && !called { ", computed" }
                @if !it.listed { br; small { "below the table" } }
            }
            td.n { (format!("{:.2}", it.tail_d)) }
            td.n { (odds(it.p_wide)) }
            td.n { (it.p_height.map_or_else(|| "none".to_owned(), odds)) }
            td.n { @match it.heights { Some(heights) => { (thousandths(heights.least)) " to " (thousandths(heights.most)) }, None => "none" } }
            td.n { @match (it.head_at_mid, it.heights) { (Some(width), Some(heights)) => { (thousandths(width)) " × " (thousandths(heights.middle())) }, _ => "none" } }
            td.n { (it.head_at_mid_less.map_or_else(|| "none".to_owned(), thousandths)) }
            td { @match it.fold { Fold::None => "no", Fold::Caution => b { "may fold" }, Fold::Refused => b { "folds: by decision only" } } }
        }
    }
}

/// A probability in percent, without claiming a certainty.
pub fn odds(p: f64) -> String {
    match 100.0 * p {
        high if high >= 99.95 => "over 99.9 %".to_owned(),
        low if low < 0.05 => "under .1 %".to_owned(),
        middle => format!("{middle:.1} %"),
    }
}

/// Inches to the thousandth, as the trade says a computed one.
fn thousandths(length: Length) -> String {
    let text = format!("{:.3}", length.inches());
    text.strip_prefix('0').map_or(text.clone(), str::to_owned)
}

/// The reasons for the side of the manufactured head, the deciding one first.
fn heads(joint: &Joint) -> Markup {
    let mut reasons: Vec<_> = joint.head.reasons.iter().collect();
    reasons.sort_by_key(|reason| !reason.decides);
    html! {
        h2 { "Which side the head goes" }
        @if joint.head.contradicted { p.caution { "The plan's word and the preparation of the sheets contradict one another. Ask the kit's designer before anything is set." } }
        ol.reasons {
            @for reason in reasons {
                li { @if reason.decides { b { (first_upper(&reason.says)) } ". It decides." } @else { (first_upper(&reason.says)) "." }
                    br; small { (cited(&reason.cited)) } }
            }
        }
        p { small { "Not checked: whether the tools reach, and what moves near the heads." } }
    }
}

fn limits(joint: &Joint) -> Markup {
    html! {
        h2 { "Limits in force" }
        @match joint_limits(joint) {
            Err(why) => p { (first_upper(&why)) "." },
            Ok(limits) => {
                p {
                    b { (limits.name) } ": shop head at least " (inches(limits.min_width_in)) " in wide"
                    @if let Some(most) = limits.max_width_in { ", at most " (inches(most)) }
                    "; at least " (inches(limits.min_height_in)) " in high"
                    @match limits.max_height_in { Some(most) => { ", at most " (inches(most)) "." }, None => "; no greatest height." }
                }
                p { small { (limits.source) } }
                @if !limits.lacks.is_empty() { p.caution { (first_upper(&limits.lacks)) "." } }
            }
        }
    }
}

fn workings(world: &World, joint: &Joint) -> Markup {
    let best = joint.call_out.as_ref().and_then(|call_out| call_out.best);
    let mut dashes: Vec<_> = joint.called.into_iter().chain(best).collect();
    dashes.dedup();
    html! {
        h2 { "Working" }
        @if dashes.is_empty() { p { "No length was worked out." } }
        @for dash in dashes {
            (working(&format!("{dash}, {}", if joint.called == Some(dash) { "as the plan has it" } else { "as computed" }), &joint_working(&world.side.joints, joint, dash)))
        }
        @if let Ok(seats) = &joint.seats { @for note in &seats.notes { (crate::layout::finding(note)) } }
    }
}

fn history(world: &World, id: HoleId) -> Markup {
    let acts = world.state.history(id);
    html! {
        h2 { "History" }
        @if acts.is_empty() { p { "Nothing has been recorded of this hole." } } @else {
            ol.log.dated {
                @for &act in acts {
                    @let it = world.state.act(act);
                    li { span.when { (it.at.get(..10).unwrap_or("")) } (entry(world, it, false)) }
                }
            }
        }
    }
}

fn acts(world: &World, id: HoleId, name: &str, joint: Option<&Joint>) -> Markup {
    let set = world.is_set(id);
    let seat = joint.and_then(|joint| joint.seats.as_ref().ok()).map(|seats| seats.shop_seat);
    let last = world.state.history(id).iter().rev().copied().find(|&act| world.state.counts(act));
    let act = |value: serde_json::Value| value.to_string();
    html! {
        h2 #do { "Do" }
        @if set && world.plan().is_bolt(id) {
            (torque(world, id, name))
        } @else if set {
            form.fields.measure data-caliper="send" data-act=(act(serde_json::json!({ "kind": "measure", "hole": name }))) {
                h3 { "Measure its shop head" }
                div.row {
                    label { "Width, in" input name="width" inputmode="decimal" autocomplete="off"; }
                    label { "Width across, in" input name="width_across" inputmode="decimal" autocomplete="off"; }
                    label { "Height, in" input name="height" inputmode="decimal" autocomplete="off"; }
                }
                label { "Height from" select name="seat" {
                    @if seat == Some(ShopSeat::Lip) { option value="lip" { "the lip of the dimple" } }
                    option value=(if seat == Some(ShopSeat::Lip) { "flat" } else { "" }) { "the flat" }
                    option value="over-all" { "over all, from head to head" }
                } }
                label { "With what (may stay empty)" input name="instrument" autocomplete="off"; }
                p.says data-says role="status" hidden {}
                button.go #record-head { "Record the measurement" }
            }
            p { a href={ "/measure?of=" (address(name)) } { "Look at what the limits say first" } }
            (outside(world, id))
        } @else if world.plan().is_bolt(id) {
            p { "It is torqued once the bolt is in it." }
        } @else {
            p { "It is measured once a fastener is in it." }
        }
        form.fields data-act=(act(serde_json::json!({ "kind": "note", "about": name }))) {
            label { "Note" textarea name="text" rows="2" required {} }
            p.says data-says role="status" hidden {}
            button { "Write it down" }
        }
        (put_off(world, id, name))
        details #photograph {
            summary { "Photograph…" }
            (photo_form(&[name.to_owned()]))
        }
        (photo_strip(world, &[name.to_owned()]))
        @if set {
            details #drilled-out {
                summary { "Drilled out…" }
                p.caution { "Eye protection. Drill the head, not the sheet; look at the hole, its size and its edge before the next rivet." }
                form.fields data-act=(act(serde_json::json!({ "kind": "open", "hole": name }))) {
                    label { "Why" input name="why" required autocomplete="off"; }
                    p.says data-says role="status" hidden {}
                    button { "It was drilled out" }
                }
            }
        } @else {
            details #before {
                summary { "Set before the record began…" }
                form.fields data-act=(act(serde_json::json!({ "kind": "set-before", "holes": [name] }))) {
                    label { "What is known about it" input name="note" autocomplete="off"; }
                    p.says data-says role="status" hidden {}
                    button { "Put it down as set before" }
                }
            }
        }
        @if let Some(last) = last.map(|last| world.state.act(last)) {
            div.last {
                p { "Last act here: " (super::record::words(world, last)) }
                @if let Some(others) = touched(&last.event).filter(|&holes| holes > 1) {
                    p { "It was one act of " (count(others, "hole")) "; taking it back takes back all of them." }
                }
                (take_back(world, last))
            }
        }
    }
}

/// The mark of a torque, with what it was read on.
fn torque(world: &World, id: HoleId, name: &str) -> Markup {
    let torqued = world.state.torqued(id).map(|act| world.state.act(act));
    html! {
        form.fields data-act=(serde_json::json!({ "kind": "torque", "holes": [name] }).to_string()) {
            h3 { "Torque" }
            @if let Some(act) = torqued { p.small { (act.at.get(..10).unwrap_or("")) ": " (super::record::words(world, act)) " A new mark takes its place." } }
            div.row {
                label { "Torque, in-lb" input name="torque" inputmode="decimal" required autocomplete="off"; }
                label { "Drag of this nut, in-lb" input name="drag" inputmode="decimal" autocomplete="off"; }
                label { "With which wrench" input name="wrench" list="wrenches" autocomplete="off"; }
            }
            p.small { "Another unit is written with it: 3 ft-lb, 2.8 N·m. The drag is felt before the nut touches; it differs from bolt to bolt." }
            label { "Remark, such as the mark of paint" input name="note" autocomplete="off"; }
            datalist #wrenches { @for wrench in wrenches(world) { option value=(wrench) {} } }
            p.says data-says role="status" hidden {}
            button.go { "Record the torque" }
        }
    }
}

/// Wrenches that the record names, the newest first.
fn wrenches(world: &World) -> Vec<&str> {
    let mut named: Vec<&str> = Vec::new();
    for (_, act) in world.state.of_kind("torqued").rev() {
        if let Event::Torqued(body) = &act.event
            && !body.wrench.is_empty()
            && !named.contains(&body.wrench.as_str())
        {
            named.push(&body.wrench);
        }
    }
    named
}

/// A head that was measured outside its limits: somebody decides, or it comes out.
fn outside(world: &World, id: HoleId) -> Markup {
    let open = world
        .state
        .measured(id)
        .filter(|measured| measured.head.verdict == "outside")
        .map(|measured| world.state.act(measured.act))
        .filter(|act| world.state.answer(&act.id, "").is_none());
    html! {
        @if let Some(act) = open {
            p.caution { "Measured outside the limits. Squeeze it again and measure anew, replace it, or let the designer decide." }
            p { a.button href={ "/fault/" (act.id) } { "What can be done" } }
            (decision(&act.id, "", "the head outside the limits"))
            (owed::people(world))
        }
    }
}

/// What is not done now: put off, held open, or wrong.
fn put_off(world: &World, id: HoleId, name: &str) -> Markup {
    let plan = world.plan();
    let row = plan[id].row;
    let held = world.state.held(id);
    html! {
        p { button type="button" data-put-off { "Put something off here…" } }
        @if !world.is_set(id) && held.is_none() {
            details #hold {
                summary { "Leave it open…" }
                p { "On your word, beside what the plan holds. It stands on the Owed page and on the gate until the hold is lifted. "
                    a href={ (row_address(world, row)) } { "The whole row" } }
                (hold_form(world, plan[row].assembly, &[name.to_owned()], "Leave it open"))
            }
        }
        details #fault {
            summary { "Something is wrong here, or is to be measured…" }
            (super::examine::choices(world, id))
            h3 { "Something else" }
            form.fields data-act=(serde_json::json!({ "kind": "fault", "holes": [name] }).to_string()) {
                label { "What is wrong" textarea name="what" rows="2" required {} }
                p.small { "Write what can be measured: the hole's size, its edge distance, what was done. Structure that departs from the plan goes to the kit's designer." }
                p.says data-says role="status" hidden {}
                button { "Write the fault down" }
            }
        }
    }
}

/// How many holes an act is about.
fn touched(event: &Event) -> Option<usize> {
    match event {
        Event::HolesSet(body) => Some(body.holes.len()),
        Event::SetBefore(body) => Some(body.holes.len()),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_probability_is_a_certainty() {
        for (p, want) in [
            (1.0, "over 99.9 %"),
            (0.9994, "99.9 %"),
            (0.957, "95.7 %"),
            (0.0004, "under .1 %"),
            (0.0, "under .1 %"),
        ] {
            assert_eq!(odds(p), want);
        }
    }

    #[test]
    fn a_computed_inch_is_told_to_the_thousandth() {
        assert_eq!(thousandths(Length::from_inches(0.049_72)), ".050");
        assert_eq!(thousandths(Length::from_inches(1.25)), "1.250");
    }
}
