//! Record: what was done, by day, newest first; corrections stay visible.

use axum::extract::{Query, State};
use axum::response::Response;
use faying_build::World;
use faying_build::room::{Act, ActId, Aspect, Event, Examined, Length};
use maud::{Markup, html};
use serde::Deserialize;

use super::assembly::address;
use super::today::step_title;
use super::{answer, refresh};
use crate::App;
use crate::layout::{Tab, first_upper, page as framed};

/// How many acts stand on one page.
const PAGE: usize = 200;
/// How many of the newest acts can be taken back from here; an older one from its hole.
const TAKEN_BACK: usize = 12;

/// What part of the record is asked for.
#[derive(Debug, Deserialize)]
pub struct Asked {
    /// Only acts before this place.
    before: Option<usize>,
}

pub async fn page(State(app): State<App>, Query(asked): Query<Asked>) -> Response {
    refresh(&app);
    let world = app.build.world();
    answer(framed(&world, Tab::Record, "Record", &main(&world, asked.before)))
}

fn main(world: &World, before: Option<usize>) -> Markup {
    let acts = world.state.acts();
    let end = before.unwrap_or(acts.len()).min(acts.len());
    let start = end.saturating_sub(PAGE);
    let mut days: Vec<(&str, Vec<usize>)> = Vec::new();
    for index in (start..end).rev() {
        let day = acts[index].at.split_once('T').map_or("", |(day, _)| day);
        match days.last_mut() {
            Some((last, list)) if *last == day => list.push(index),
            _ => days.push((day, vec![index])),
        }
    }
    let newest = end == acts.len();
    html! {
        h1 { "Record" }
        p { a href="/photos" { "Photographs" } }
        p { a href="/photos" { "Photographs" } }
        p { (acts.len()) @if acts.len() == 1 { " act" } @else { " acts" } ". Nothing is ever rubbed out: what was taken back stays, struck through." }
        @if world.state.unknown > 0 {
            p.caution { (world.state.unknown) " acts were written by a newer version of faying. They are kept and not shown in full." }
        }
        @if !world.state.orphans.is_empty() {
            details.caution #orphans {
                summary { (world.state.orphans.len()) " holes in the record are not in the plan any more" }
                p { "What was done at them is kept. If a row has another name now, adopt a revision that says so." }
                ul { @for (name, act) in &world.state.orphans { li { (name) ", " (world.state.act(*act).at.get(..10).unwrap_or("")) } } }
            }
        }
        @if newest {
            details #note-form {
                summary { "Write a note" }
                form.fields data-act=(serde_json::json!({ "kind": "note" }).to_string()) {
                    label { "About (a hole, row, part or step; empty for the whole build)" input name="about" autocomplete="off"; }
                    label { "Note" textarea name="text" rows="3" required {} }
                    p.says data-says role="status" hidden {}
                    button.go { "Write it down" }
                }
            }
        }
        @if days.is_empty() { p { "Nothing has been recorded yet." } }
        @for (day, list) in &days {
            h2 { @if day.is_empty() { "Without a date" } @else { (day) } }
            ol.log {
                @for &index in list {
                    li { (entry(world, &acts[index], newest && index + TAKEN_BACK >= acts.len())) }
                }
            }
        }
        @if start > 0 { p { a.button href={ "/record?before=" (start) } { "Older" } } }
        @if !newest { p { a href="/record" { "Back to the newest" } } }
    }
}

/// One act: when, what, by whom; struck through where it no longer counts.
pub fn entry(world: &World, act: &Act, can_take_back: bool) -> Markup {
    let time = act.at.split_once('T').and_then(|(_, time)| time.get(..5)).unwrap_or("");
    let undone = act.undone_by.map(|by| world.state.act(by));
    let counts = world.state.act_with_id(&act.id).is_none_or(|id| world.state.counts(id));
    html! {
        span.when { (time) }
        span.what {
            @if counts { (words(world, act)) } @else { s { (words(world, act)) } }
            @if let Some(by) = undone {
                " " small {
                    @if counts { "(taken back on " (by.at.get(..10).unwrap_or("")) ", and that was taken back again)" }
                    @else { "taken back on " (by.at.get(..10).unwrap_or("")) @if let Event::Undone(undone) = &by.event { @if !undone.why.is_empty() { ", " (quoted(&undone.why)) } } }
                }
            }
            br;
            small { @if !act.person.is_empty() { (act.person) } @else { "no name" } @if act.revision > 0 { ", revision " (act.revision) } }
        }
        @if can_take_back && undone.is_none() && !matches!(act.event, Event::RevisionAdopted(_) | Event::RunStarted(_) | Event::Unknown { .. }) {
            (take_back(world, act))
        }
    }
}

/// The act that takes another back, behind a second tap.
pub fn take_back(world: &World, act: &Act) -> Markup {
    let what = plain(world, act);
    html! {
        details.back id={ "back-" (act.id) } {
            summary aria-label={ "Take back: " (what) } { "Take back" }
            form.fields data-act=(serde_json::json!({ "kind": "undo", "act": act.id }).to_string()) {
                label { "Why (may stay empty)" input name="why" autocomplete="off"; }
                p.says data-says role="status" hidden {}
                button aria-label={ "Take back: " (what) } { "Take it back" }
            }
        }
    }
}

/// An act as text alone.
fn plain(world: &World, act: &Act) -> String {
    match &act.event {
        Event::HolesSet(body) => format!("set {}", hole_words(&body.holes)),
        Event::SetBefore(body) => format!("set before the record began, {}", hole_words(&body.holes)),
        Event::HoleOpened(body) => format!("drilled out {}", body.hole),
        Event::HeadMeasured(body) => format!("measured {}", body.hole),
        Event::NoteMade(body) => format!("note: {}", body.text),
        Event::StepDone(body) => format!("done, {}", step_title(world, &body.step)),
        Event::RunStarted(body) => format!("run started, {}", step_title(world, &body.step)),
        Event::RunEnded(_) => "run ended".to_owned(),
        Event::RunChanged(body) => format!("order changed, {}", body.why),
        Event::BagChecked(body) => format!("bag of {} looked at", body.fastener),
        Event::BenchTemperature(body) => format!("bench at {}", degrees(body.celsius)),
        Event::ConstantsAdopted(_) => "what was learned is used".to_owned(),
        Event::CouponProven(_) => "coupon".to_owned(),
        Event::RevisionAdopted(body) => format!("revision {} adopted", body.number),
        Event::WorkDone(body) => format!("{}, {}", body.work, step_title(world, &body.step)),
        Event::Owed(body) => format!("put off: {}", body.what),
        Event::OwedDone(_) => "what was put off is done".to_owned(),
        Event::HoldPlaced(body) => format!("held open {}", hole_words(&body.holes)),
        Event::HoldLifted(_) => "hold lifted".to_owned(),
        Event::GatePassed(body) => format!("gate {} passed", body.gate),
        Event::Looked(body) => format!("{}, {}", looked_for(&body.need), body.at),
        Event::Torqued(body) => format!("torqued {}", hole_words(&body.holes)),
        Event::Photographed(body) => format!("photograph {}", body.words),
        Event::ClockStarted(_) => "clock started".to_owned(),
        Event::Worked(body) => format!("worked {}", hours(body.minutes)),
        Event::FaultFound(body) => format!("fault: {}", body.what),
        Event::Examined(body) => examined(body),
        Event::Asked(body) => format!("{} was asked", body.who),
        Event::Decided(body) => format!("decided: {}", body.what),
        Event::Undone(_) => "taking back".to_owned(),
        Event::Unknown { kind, .. } => kind.clone(),
    }
}

/// An act in words, with the way to what it is about.
pub fn words(world: &World, act: &Act) -> Markup {
    let set_up = |run: &str, key: &str| {
        let run = world.state.run(run)?;
        run.set_ups.iter().find(|set_up| set_up.key == key).map(|set_up| set_up.title.clone())
    };
    match &act.event {
        Event::RevisionAdopted(body) => html! {
            "Revision " (body.number) " of the plan adopted, standards " (body.standards)
            @if !body.renamed.is_empty() { ", " (body.renamed.len()) " holes renamed" } "."
        },
        Event::RunStarted(body) => html! { "Run started: " (step_title(world, &body.step)) "." },
        Event::RunEnded(body) => {
            let step = world.state.run(&body.run).map(|run| step_title(world, &run.step));
            html! { "Run ended" @if let Some(step) = step { ": " (step) } @if !body.why.is_empty() { ", " (quoted(&body.why)) } "." }
        }
        Event::RunChanged(body) => {
            let step = world.state.run(&body.run).map(|run| step_title(world, &run.step));
            html! { "What is left put in order anew" @if let Some(step) = step { ": " (step) } @if !body.why.is_empty() { ", " (body.why) } "." }
        }
        Event::BagChecked(body) => html! {
            "Bag of " (body.fastener) " looked at: " @if body.head_mark { "head mark right" } @else { b { "not the right one" } }
            @if !body.lengths.is_empty() { ", " (lengths(&body.lengths)) " in long" } "."
        },
        Event::BenchTemperature(body) => html! { "Bench at " (degrees(body.celsius)) "." },
        Event::ConstantsAdopted(body) => html! {
            "Used from now on: "
            @for (n, value) in body.values.iter().enumerate() { @if n > 0 { "; " } (value.name) " " (value.value) " (was " (value.was) "), from " (value.from) }
            "."
        },
        Event::CouponProven(body) => html! {
            "Coupon" @if let Some(title) = set_up(&body.run, &body.set_up) { " for " (title) } ": "
            (head(body.width, None, body.height)) ", " (body.verdict) "."
        },
        Event::HolesSet(body) => html! {
            "Set: " (hole_links(&body.holes)) @if !body.fastener.is_empty() { ", " (body.fastener) } "."
        },
        Event::SetBefore(body) => html! {
            "Set before the record began: " (hole_links(&body.holes)) @if !body.note.is_empty() { ", " (quoted(&body.note)) } "."
        },
        Event::HoleOpened(body) => html! {
            "Drilled out: " (hole_links(std::slice::from_ref(&body.hole))) @if !body.why.is_empty() { ", " (quoted(&body.why)) } "."
        },
        Event::HeadMeasured(body) => html! {
            "Measured: " (hole_links(std::slice::from_ref(&body.hole))) ", " (head(body.width, body.width_across, body.height))
            @if body.seat == "lip" { " from the lip" } @else if body.seat == "flat" { " from the flat" }
            ". Then: " (body.verdict) @if !body.limits.is_empty() { " by " (body.limits) }
            @if !body.instrument.is_empty() { ", with " (body.instrument) } "."
        },
        Event::NoteMade(body) => html! {
            "Note" @if !body.about.is_empty() { " on " @if world.plan().hole_named(&body.about).is_some() { (hole_links(std::slice::from_ref(&body.about))) } @else { (body.about) } }
            ": " (body.text)
        },
        Event::StepDone(body) => {
            html! { "Done: " (step_title(world, &body.step)) @if !body.note.is_empty() { ", " (quoted(&body.note)) } "." }
        }
        Event::WorkDone(body) => html! {
            "Done (" (body.work.replace('-', " ")) "): " (step_title(world, &body.step))
            @if !body.parts.is_empty() { ", " (body.parts.join(", ")) }
            @if !body.holes.is_empty() { ", " (hole_links(&body.holes)) }
            @if !body.note.is_empty() { ", " (quoted(&body.note)) } "."
        },
        Event::Owed(body) => html! {
            "Put off: " (body.what)
            @if !body.holes.is_empty() { ", at " (hole_links(&body.holes)) }
            @if !body.at.is_empty() { ", at " a href=(world.page_of(world.state.name_now(&body.at, act.revision))) { (body.at) } }
            @if !body.gate.is_empty() { ", until gate " (body.gate) }
            @if !body.why.is_empty() { ", " (quoted(&body.why)) } "."
        },
        Event::OwedDone(body) => html! {
            "Done that was put off: " (answered(world, &body.owed))
            @if !body.how.is_empty() { ", " (quoted(&body.how)) }
            @if !body.evidence.is_empty() { ", shown by " (body.evidence.len()) " " @if body.evidence.len() == 1 { "act" } @else { "acts" } " since" } "."
        },
        Event::HoldPlaced(body) => html! {
            "To stay open: " (hole_links(&body.holes)) @if !body.until.is_empty() { ", until " (body.until) } ", " (quoted(&body.why)) "."
        },
        Event::HoldLifted(body) => html! {
            "May be filled again: " (answered(world, &body.hold)) @if !body.why.is_empty() { ", " (quoted(&body.why)) } "."
        },
        Event::GatePassed(body) => html! {
            "Gate " (body.gate) " passed"
            @if body.let_pass.is_empty() { ", with nothing against it." } @else {
                "; let pass: "
                @for (n, it) in body.let_pass.iter().enumerate() { @if n > 0 { "; " } (it.what) " (" (it.who) ", " (it.role) ": " (quoted(&it.why)) ")" }
                "."
            }
            @if !body.note.is_empty() { " " (body.note) }
        },
        Event::Looked(body) => html! {
            (first_upper(&looked_for(&body.need))) ", " (body.at) @if !body.who.is_empty() { ", by " (body.who) ", " (body.role) }
            @if !body.found.is_empty() { ": " (quoted(&body.found)) } "."
        },
        Event::Torqued(body) => html! {
            "Torqued: " (hole_links(&body.holes)) ", " (number(body.inch_pounds)) " in-lb"
            @if let Some(drag) = body.drag_inch_pounds { ", drag " (number(drag)) " in-lb" }
            @if !body.wrench.is_empty() { ", with " (body.wrench) }
            @if !body.note.is_empty() { ", " (quoted(&body.note)) } "."
        },
        Event::Photographed(body) => html! {
            a href={ "/photos/" (body.file) } { "Photograph" }
            @if !body.about.is_empty() { " of " (body.about.join(", ")) }
            @if !body.words.is_empty() { ", " (quoted(&body.words)) } "."
        },
        Event::ClockStarted(body) => html! {
            "Clock started" @if !body.step.is_empty() { ": " (step_title(world, &body.step)) } "."
        },
        Event::Worked(body) => html! {
            (first_upper(&format!("worked {}", hours(body.minutes))))
            @if body.people > 1 { ", " (body.people) " people" }
            @if !body.step.is_empty() { ": " (step_title(world, &body.step)) }
            @if !body.note.is_empty() { ", " (quoted(&body.note)) } "."
        },
        Event::FaultFound(body) => html! {
            "Fault" @if !body.holes.is_empty() { " at " (hole_links(&body.holes)) } @else if !body.at.is_empty() { " at " (body.at) } ": " (body.what) "."
        },
        Event::Examined(body) => html! {
            (examined(body)) ", at " (hole_links(&body.holes)) ". Then: " (body.verdict) @if !body.rule.is_empty() { " by " (body.rule) }
            @if !body.instrument.is_empty() { ", with " (body.instrument) } "."
            @if body.stands { " " a href={ "/fault/" (act.id) } { "The fault" } "." }
        },
        Event::Asked(body) => html! {
            "Asked: " (body.who) @if !body.role.is_empty() { ", " (body.role) } ", about " (answered(world, &body.about))
            @if !body.words.is_empty() { ": " (quoted(&body.words)) } "."
        },
        Event::Decided(body) => html! {
            "Decided by " (body.who) ", " (body.role) ": " (quoted(&body.what)) ", about " (answered(world, body.about.split(' ').next().unwrap_or(""))) "."
        },
        Event::Undone(body) => {
            let earlier = world.state.act_with_id(&body.act).map(|id: ActId| world.state.act(id));
            html! {
                "Taken back" @if let Some(earlier) = earlier { ": " (plain(world, earlier)) " (" (earlier.at.get(..10).unwrap_or("")) ")" }
                @if !body.why.is_empty() { ", " (quoted(&body.why)) } "."
            }
        }
        Event::Unknown { kind, version } => {
            html! { "Written by a newer version: " (kind) ", version " (version) "." }
        }
    }
}

/// What was examined with its readings: `Edge distance: rim .110 in`.
fn examined(body: &Examined) -> String {
    let aspect = Aspect::named(&body.aspect);
    let title = aspect.map_or(body.aspect.as_str(), |it| it.title());
    let readings: Vec<String> = faying_build::reading_words(body)
        .into_iter()
        .map(|(label, value)| format!("{label} {value}"))
        .collect();
    let mut words = vec![readings.join(", "), body.words.clone()];
    words.retain(|it| !it.is_empty());
    if words.is_empty() { title.to_owned() } else { format!("{title}: {}", words.join("; ")) }
}

/// An earlier act that another answers, as text.
fn answered(world: &World, id: &str) -> String {
    world.state.act_with_id(id).map_or_else(String::new, |id| plain(world, world.state.act(id)))
}

/// What somebody looked for, in words.
fn looked_for(need: &str) -> String {
    match need.split_once(':') {
        Some((sort, name)) => format!("{sort} of {name}"),
        None if need == "hands" => "left and right told apart".to_owned(),
        None => need.to_owned(),
    }
}

/// `1 h 30 min`.
fn hours(minutes: f64) -> String {
    faying_build::waiting_words(minutes)
}

/// A number without needless digits.
fn number(value: f64) -> String {
    let text = format!("{value:.1}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// `20 °C (68 °F)`.
fn degrees(celsius: f64) -> String {
    format!("{celsius:.0} °C ({:.0} °F)", celsius * 1.8 + 32.0)
}

fn lengths(nanometres: &[i64]) -> String {
    nanometres.iter().map(|&it| Length::from_nanometres(it).decimal()).collect::<Vec<_>>().join(", ")
}

/// `.175 and .174 wide × .058 in high`.
pub fn head(width: Option<Length>, across: Option<Length>, height: Option<Length>) -> String {
    let wide = match (width, across) {
        (Some(one), Some(other)) => format!("{} and {} in wide", one.decimal(), other.decimal()),
        (Some(one), None) | (None, Some(one)) => format!("{} in wide", one.decimal()),
        (None, None) => "width not measured".to_owned(),
    };
    match height {
        Some(height) => format!("{wide}, {} in high", height.decimal()),
        None => format!("{wide}, height not measured"),
    }
}

/// What somebody wrote, as theirs.
fn quoted(text: &str) -> String {
    format!("“{text}”")
}

/// Names of holes by row: the row, its numbers.
fn by_row(names: &[String]) -> Vec<(&str, Vec<u32>)> {
    let mut rows: Vec<(&str, Vec<u32>)> = Vec::new();
    for name in names {
        let (row, number) = name.rsplit_once('/').unwrap_or((name, ""));
        let number = number.parse().unwrap_or(0);
        match rows.iter_mut().find(|(known, _)| *known == row) {
            Some((_, numbers)) => numbers.push(number),
            None => rows.push((row, vec![number])),
        }
    }
    rows
}

/// `1 to 4, 7`.
fn stretches(numbers: &[u32]) -> String {
    let mut sorted = numbers.to_vec();
    sorted.sort_unstable();
    let mut stretches: Vec<(u32, u32)> = Vec::new();
    for number in sorted {
        match stretches.last_mut() {
            Some((_, last)) if *last + 1 >= number => *last = number,
            _ => stretches.push((number, number)),
        }
    }
    let words: Vec<String> = stretches
        .into_iter()
        .map(|(first, last)| if first == last { first.to_string() } else { format!("{first} to {last}") })
        .collect();
    words.join(", ")
}

/// Holes as text: `flap-left/web/A 1 to 4`.
fn hole_words(names: &[String]) -> String {
    let rows: Vec<String> =
        by_row(names).into_iter().map(|(row, numbers)| format!("{row} {}", stretches(&numbers))).collect();
    rows.join("; ")
}

/// The same, each row leading to its first hole.
fn hole_links(names: &[String]) -> Markup {
    html! {
        @for (index, (row, numbers)) in by_row(names).into_iter().enumerate() {
            @if index > 0 { "; " }
            @let first = numbers.iter().min().copied().unwrap_or(1);
            a href={ "/hole/" (address(row)) "/" (first) } { (row) " " (stretches(&numbers)) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn holes_are_told_by_row_and_stretch() {
        let names =
            ["flap/web/A/3", "flap/web/A/1", "flap/web/A/2", "flap/K/9", "flap/web/A/7"].map(str::to_owned);
        assert_eq!(hole_words(&names), "flap/web/A 1 to 3, 7; flap/K 9");
    }

    #[test]
    fn a_head_says_what_was_not_measured() {
        let inch = |text| Some(Length::read(text, faying_build::room::Unit::Inch).unwrap());
        assert_eq!(head(inch(".175"), inch(".174"), inch(".058")), ".175 and .174 in wide, .058 in high");
        assert_eq!(head(inch(".175"), None, None), ".175 in wide, height not measured");
        assert_eq!(head(None, None, inch(".058")), "width not measured, .058 in high");
    }
}
