//! One step: what it waits for, what of it is done, the clock, photographs.
//!
//! A step is worked on at the bench over several evenings, so each piece and
//! each row has a tap of its own, and hours go to the step they were spent on.
//! Rivets are set on the run's own pages.

use axum::extract::{Path, State};
use axum::response::Response;
use faying_build::room::{ActId, StepId, now};
use faying_build::{ClockReport, ItemReport, StepReport, World, waiting_words};
use maud::{Markup, html};
use serde_json::json;

use super::assembly::address;
use super::photos::{photo_form, photo_strip};
use super::record::entry;
use super::run::owed_at_step;
use super::today::day_and_time;
use super::{answer, missing, owed, refresh};
use crate::App;
use crate::layout::{About, Tab, first_upper, page_about};

pub async fn page(State(app): State<App>, Path((assembly, step)): Path<(String, String)>) -> Response {
    refresh(&app);
    let world = app.build.world();
    let name = format!("{assembly}/{step}");
    let Some(id) = world.plan().step_named(&name) else {
        drop(world);
        return missing(&app, &format!("The plan has no step {name}."));
    };
    let report = world.step_report(&world.progress(), id);
    let title = format!("{}, {}", report.title, report.assembly_title);
    let main = main(&world, id, &report);
    answer(page_about(&world, Tab::Assemblies, &title, About::Place(&name), &main))
}

/// The clock that runs, for the head of every page; nothing while none does.
///
/// It stands within `main`, so that it follows what another device does; where
/// a page has the clock in its own place (`#clock-here`), the style hides it.
pub fn clock_line(world: &World) -> Markup {
    let Some(clock) = world.clock_report() else { return html! {} };
    let stop = if clock.step.is_empty() {
        "Stop the clock".into()
    } else {
        format!("Stop the clock on {}", clock.title)
    };
    html! {
        form.clock data-act=(json!({ "kind": "worked", "step": clock.step }).to_string()) {
            p {
                @if clock.step.is_empty() { "The clock runs" }
                @else { "The clock runs on " a href={ "/step/" (address(&clock.step)) "#hours" } { (clock.title) } }
                ": " (running(&clock))
            }
            button aria-label=(stop) { "Stop" }
            p.says data-says role="status" hidden {}
        }
        script src="/assets/clock.js" defer {}
    }
}

/// How long a clock has run; the page's script lets it go on.
fn running(clock: &ClockReport) -> Markup {
    html! {
        b.n data-minutes=(format!("{:.2}", clock.minutes)) { (waiting_words(clock.minutes)) }
        " " small { "since " @if now().get(..10) == clock.since.get(..10) { (clock.since.get(11..16).unwrap_or("")) } @else { (day_and_time(&clock.since)) } }
    }
}

fn main(world: &World, id: StepId, it: &StepReport) -> Markup {
    html! {
        p.trail { a href={ "/assembly/" (address(&it.assembly)) } { (it.assembly_title) } }
        h1 { (it.title) " " small.status { (it.state) } }
        p.small {
            @let people = if it.people > 1 { format!("{} people", it.people) } else { String::new() };
            @let said = [it.work.as_str(), it.sheet.as_str(), people.as_str()];
            @for (n, fact) in said.iter().filter(|fact| !fact.is_empty()).enumerate() { @if n > 0 { " · " } (first_upper(fact)) }
        }
        @if !it.note.is_empty() { p.remark { (it.note) } }
        @if !it.tools.is_empty() || it.cure_hours.is_some() {
            dl.about-step {
                @if !it.tools.is_empty() { dt { "Fetch" } dd { (it.tools.join(", ")) } }
                @if let Some(cure) = it.cure_hours { dt { "Cures" } dd { (waiting_words(cure * 60.0)) ", before what comes after it" } }
            }
        }
        (waits(it))
        (owed::here(&owed_at_step(world, id), "Owed at this step"))
        div.pair {
            div { (hours(world, it)) (to_do(it)) (facts(it)) }
            div {
                section #photographs {
                    h2 { "Photographs" }
                    @let about = [it.step.clone()];
                    (photo_form(&about))
                    (photo_strip(world, &about))
                }
                p.put-off { button type="button" data-put-off { "Put something off here…" } }
                (done_here(world, it))
            }
        }
        (next(it))
    }
}

fn waits(it: &StepReport) -> Markup {
    html! {
        @if !it.waits.is_empty() {
            section #waits {
                h2 { "Waits for" }
                ul.lines {
                    @for wait in &it.waits {
                        li { a href=(address(&wait.link)) { span { b { (wait.what) } br; small { (first_upper(&wait.how_far)) } } } }
                    }
                }
            }
        }
    }
}

/// Pieces and rows to be ticked, holes to be set.
fn to_do(it: &StepReport) -> Markup {
    let left = it.items.iter().filter(|item| item.done < item.all).count();
    let may = it.waits.is_empty();
    html! {
        @if !it.items.is_empty() {
            section #work {
                h2 { (first_upper(if it.work.is_empty() { "work" } else { &it.work })) " " small.status { (it.items.len() - left) " of " (it.items.len()) " done" } }
                @if left > 0 && may && !it.caution.is_empty() { p.caution { (it.caution) } }
                @if left > 0 && !it.before_first.is_empty() {
                    h3 { "Before the first hole" }
                    ul.before-first { @for words in &it.before_first { li { (words) } } }
                }
                ul.lines.ticks { @for item in &it.items { li { (tick(it, item, may)) } } }
                @if left > 1 && may {
                    form.rest data-act=(json!({ "kind": "work-done", "step": it.step }).to_string()) {
                        p.says data-says role="status" hidden {}
                        button { "All " (left) " that are left are done" }
                    }
                }
            }
        }
        @if !it.sets.is_empty() {
            section #holes {
                h2 { "Holes to set" }
                ul.lines {
                    @for (row, set) in &it.sets {
                        li { div.line { span { b { (short(it, &row.row)) } ", " (row.holes) } span.count { (set) " of " (row.count) small { "set" } } } }
                    }
                }
                p { a.tap href={ "/run/" (address(&it.step)) } { "The run: set-ups, tray, what to tape" } }
            }
        }
        @if it.whole && it.state != "done" && may && !it.caution.is_empty() { p.caution { (it.caution) } }
    }
}

/// A piece or a row: done, with when, or a tap away from it.
fn tick(it: &StepReport, item: &ItemReport, may: bool) -> Markup {
    let act = if item.is_row {
        json!({ "kind": "work-done", "step": it.step, "rows": [item.name] })
    } else {
        json!({ "kind": "work-done", "step": it.step, "parts": [item.name] })
    };
    let when = item.at.as_deref().map(day_and_time);
    html! {
        @if item.done == item.all {
            div.line.done { span { (item.title) } span.count { "Done" @if let Some(when) = when { small { (when) } } } }
        } @else {
            form.line data-act=(act.to_string()) {
                span {
                    b { (item.title) }
                    @if item.done > 0 { br; small { (item.done) " of " (item.all) " done" } }
                    p.says data-says role="status" hidden {}
                }
                @if may { button aria-label={ "Done: " (item.title) } { "Done" } } @else { span.count { small { "to do" } } }
            }
        }
    }
}

fn hours(world: &World, it: &StepReport) -> Markup {
    let clock = world.clock_report();
    let so_far = html! {
        p {
            @if it.worked_minutes > 0.0 { b { (waiting_words(it.worked_minutes)) } " written down" } @else { "None written down" }
            @if let Some(hours) = it.hours { " · " (waiting_words(hours * 60.0)) " planned" }
        }
    };
    html! {
        section #hours {
            h2 { "Hours" }
            @match clock {
                Some(clock) if clock.step == it.step => {
                    form #clock-here data-act=(json!({ "kind": "worked", "step": it.step }).to_string()) {
                        div.between {
                            div { (so_far) p { "The clock runs: " (running(&clock)) } }
                            button.go { "Stop the clock" }
                        }
                        p.says data-says role="status" hidden {}
                        details #stop-otherwise {
                            summary { "It ran on, or two people worked" }
                            div.fields { (worked_fields()) }
                        }
                    }
                    script src="/assets/clock.js" defer {}
                }
                Some(_) => {
                    (so_far)
                    div #clock-here { (clock_line(world)) }
                    // What is written in now would be taken for the time of that clock.
                    p.small { "Hours of this step can be written once it is stopped." }
                }
                None => {
                    form data-act=(json!({ "kind": "clock", "step": it.step }).to_string()) {
                        div.between { (so_far) button { "Start the clock" } }
                        p.says data-says role="status" hidden {}
                    }
                    details #write-hours {
                        summary { "Write hours in" }
                        form.fields data-act=(json!({ "kind": "worked", "step": it.step }).to_string()) {
                            (worked_fields())
                            p.says data-says role="status" hidden {}
                            button.go { "Write it down" }
                        }
                    }
                }
            }
        }
    }
}

fn worked_fields() -> Markup {
    html! {
        div.row.two {
            label { "How long, as 1.5, 1:30 or 90 min" input name="time" autocomplete="off"; }
            label { "People, if not one" input name="people" inputmode="numeric" autocomplete="off"; }
        }
        label { "Note (may stay empty)" input name="note" autocomplete="off"; }
    }
}

/// What comes in, what is hidden afterwards, what stays open.
fn facts(it: &StepReport) -> Markup {
    html! {
        @if !it.adds.is_empty() || !it.closes.is_empty() {
            section #parts {
                h2 { "Parts" }
                dl.about-step {
                    @if !it.adds.is_empty() { dt { "Come in" } dd { (it.adds.join(", ")) } }
                    @if !it.closes.is_empty() { dt { "Hidden after it" } dd { (it.closes.join("; ")) } }
                }
            }
        }
        @if !it.open.is_empty() {
            section #open {
                h2 { "Stays open" }
                ul.lines {
                    @for open in &it.open {
                        li { div.line { span { b { (short(it, &open.row)) } ", " (open.holes) br; small { (first_upper(&open.why)) } } span.count { (open.names.len()) } } }
                    }
                }
            }
        }
    }
}

/// Acts of this step, each to be taken back where it was a slip.
fn done_here(world: &World, it: &StepReport) -> Markup {
    let acts: Vec<ActId> = it.acts.iter().rev().copied().collect();
    html! {
        @if !acts.is_empty() {
            section #history {
                h2 { "Written down here" }
                ol.log {
                    @for id in acts { @let act = world.state.act(id); li { (entry(world, act, true)) } }
                }
            }
        }
    }
}

/// What the thumb does next.
fn next(it: &StepReport) -> Markup {
    let to_set: usize = it.sets.iter().map(|(row, set)| row.count - set).sum();
    html! {
        @if it.waits.is_empty() && to_set > 0 {
            div.start { a.button.go.wide href={ "/run/" (address(&it.step)) } { "Set " (to_set) @if to_set == 1 { " hole" } @else { " holes" } } }
        } @else if it.waits.is_empty() && it.whole && it.state != "done" {
            form.start data-act=(json!({ "kind": "step-done", "step": it.step }).to_string()) {
                p.caution data-says role="status" hidden {}
                button.go.wide { "Done" }
            }
        }
    }
}

/// A row within its own assembly: `web/A`.
fn short<'r>(it: &StepReport, row: &'r str) -> &'r str {
    row.strip_prefix(it.assembly.as_str()).and_then(|row| row.strip_prefix('/')).unwrap_or(row)
}
