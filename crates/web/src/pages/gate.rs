//! A gate: what stands against it, where each is resolved, and how it is passed.

use axum::extract::{Path, State};
use axum::response::Response;
use faying_build::room::{Event, GateId, NeedSort};
use faying_build::{BlockerReport, GateReport, World};
use maud::{Markup, html};
use serde_json::json;

use super::assembly::{address, count};
use super::owed::{changed_plan, people, roles};
use super::photos::{photo_form, photo_strip};
use super::record::words;
use super::today::{day_and_time, step_title};
use super::{answer, missing, refresh};
use crate::App;
use crate::layout::{About, Tab, first_upper, page_about, sentence};

/// What stands against a gate, by sort: what would be forgotten first, what the plan has anyway last.
const GROUPS: [(&[&str], &str); 9] = [
    (&["owed"], "Put off"),
    (&["held"], "Held open"),
    (&["plan"], "Done by an earlier plan"),
    (&["fault", "outside"], "To be decided"),
    (&["torque"], "Not torqued"),
    (&["first-article"], "Not measured"),
    (&["inspection", "photograph", "check"], "Asked for by name"),
    (&["undone"], "Not done"),
    (&["unset"], "Not set"),
];

pub async fn page(State(app): State<App>, Path(name): Path<String>) -> Response {
    let failed = refresh(&app);
    let world = app.build.world();
    let Some(gate) = world.plan().gate_named(&name) else {
        drop(world);
        return missing(&app, &format!("The plan has no gate {name}."));
    };
    let report = world.gate_report(&world.progress(), gate);
    let title = world.gate_title(gate);
    let main = main(&world, gate, &report, failed.as_deref());
    answer(page_about(&world, Tab::Plan, &title, About::Gate(gate), &main))
}

fn main(world: &World, gate: GateId, it: &GateReport, failed: Option<&str>) -> Markup {
    let groups = grouped(&it.blockers);
    html! {
        h1 { (world.gate_title(gate)) }
        @if let Some(why) = failed { p.caution { "The plan's files could not be read again: " (why) } }
        (standing(it))
        @if let Some(before) = &it.before {
            p { "It stands before " a href={ "/step/" (address(before)) } { (step_title(world, before)) } "." }
        } @else {
            p { "It is a gate of the whole build." }
        }
        @if !it.rule.is_empty() { p.remark { "The rule: " (it.rule) } }
        @if !it.note.is_empty() { p.remark { (it.note) } }
        (changed_plan(world))
        @if !it.blockers.is_empty() {
            h2 #against { "What stands against it" }
            @for (title, group) in &groups {
                p.group { (title) ", " (group.len()) }
                ul.lines.against {
                    @for some in group.chunk_by(|a, b| a.sort == "unset" && b.sort == "unset" && a.link == b.link) {
                        @if let [one] = some { (line(it, one)) } @else { (at_one_step(world, some)) }
                    }
                }
            }
        }
        (looked_at(world, gate, it))
        @if !it.let_pass.is_empty() {
            h2 { "Let pass" }
            ul.lines {
                @for (what, who, role, why) in &it.let_pass {
                    li { div.line { span { b { (sentence(what)) } br; small { (who) ", " (role) ": “" (why) "”" } } } }
                }
            }
        }
        @if !it.passed { (pass(it, &groups)) }
        (people(world))
        script src="/assets/gate.js" defer {}
    }
}

/// What stands against a gate, sort by sort.
type Groups<'r> = Vec<(&'static str, Vec<&'r BlockerReport>)>;

fn grouped(blockers: &[BlockerReport]) -> Groups<'_> {
    let of = |sorts: &[&str]| blockers.iter().filter(|one| sorts.contains(&one.sort)).collect::<Vec<_>>();
    GROUPS
        .into_iter()
        .map(|(sorts, title)| (title, of(sorts)))
        .filter(|(_, group)| !group.is_empty())
        .collect()
}

/// Rows that one step sets: one way leads to all of them.
fn at_one_step(world: &World, rows: &[&BlockerReport]) -> Markup {
    let link = rows.first().map_or("", |row| &row.link);
    let step = link.strip_prefix("/run/").unwrap_or(link);
    // The step's own assembly stands in its title.
    let assembly = step.split_once('/').map_or(step, |(assembly, _)| assembly);
    let short = |row: &BlockerReport| {
        let what = row.what.strip_suffix(": not set").unwrap_or(&row.what);
        what.strip_prefix(assembly).and_then(|rest| rest.strip_prefix('/')).unwrap_or(what).to_owned()
    };
    html! {
        li { a href=(link) {
            span {
                b { (step_title(world, step)) }
                br; small { @for (n, row) in rows.iter().enumerate() { @if n > 0 { "; " } (short(row)) } }
            }
            span.count { (rows.len()) small { "rows" } }
        } }
    }
}

/// Whether it is passed, and what came up since.
fn standing(it: &GateReport) -> Markup {
    let against = match it.blockers.len() {
        0 => "Nothing known here stands against it.".to_owned(),
        1 => "One thing stands against it.".to_owned(),
        many => format!("{many} things stand against it."),
    };
    html! {
        @match &it.passed_at {
            Some((at, who)) if it.passed => p.lead { "Passed on " (day_and_time(at)) @if !who.is_empty() { " by " (who) } "." },
            Some((at, who)) => {
                p.caution {
                    b { @if it.blockers.len() == 1 { "Something has come up since it was passed." } @else { (it.blockers.len()) " things have come up since it was passed." } }
                    " That was on " (day_and_time(at)) @if !who.is_empty() { ", by " (who) } ". It keeps what comes behind it until it is passed again."
                }
            }
            None => p.lead { "Not passed. " (against) },
        }
    }
}

/// One thing that stands against it: the way to where it is resolved, or the means themselves.
fn line(gate: &GateReport, it: &BlockerReport) -> Markup {
    let says = html! {
        span { b { (sentence(&it.what)) } br; small { (first_upper(&it.next)) } }
    };
    // What a gate asks for by name is resolved on its own page.
    let here = it.link.split_once('#').filter(|_| ["inspection", "photograph", "check"].contains(&it.sort));
    let Some((_, place)) = here else {
        return html! { li { a href=(it.link) { (says) } } };
    };
    let need = it.keys.first().and_then(|key| key.strip_prefix("need:")).unwrap_or_default();
    let name = need.split_once(':').map_or(need, |(_, name)| name);
    html! {
        li id=(place) {
            @match it.sort {
                "check" => form.line data-act=(json!({ "kind": "looked", "need": need, "place": gate.gate }).to_string()) {
                    (says)
                    button aria-label={ "Looked for it: " (name) } { "Looked for it" }
                    p.says data-says role="status" hidden {}
                },
                "photograph" => {
                    div.line { (says) }
                    (photo_form(&[gate.gate.clone(), need.to_owned()]))
                },
                _ => details id={ "inspect-" (place) } {
                    summary { (says) }
                    form.fields data-act=(json!({ "kind": "looked", "need": need, "place": gate.gate }).to_string()) {
                        div.row.two {
                            label { "Who inspected it" input name="who" list="people" required autocomplete="off"; }
                            (roles(true))
                        }
                        label { "What they found" textarea name="found" rows="2" {} }
                        p.says data-says role="status" hidden {}
                        button.go aria-label={ "Write the inspection down: " (name) } { "Write it down" }
                    }
                },
            }
        }
    }
}

/// What the gate asks for by name and the record has.
fn looked_at(world: &World, gate: GateId, it: &GateReport) -> Markup {
    let newest = |sort: NeedSort, need: &str| {
        let kind = if sort == NeedSort::Photograph { "photographed" } else { "looked" };
        world.state.of_kind(kind).rev().find_map(|(_, act)| match &act.event {
            Event::Photographed(body) => {
                (body.about.contains(&it.gate) && body.about.iter().any(|about| about == need)).then_some(act)
            }
            Event::Looked(body) => (body.at == it.gate && body.need == need).then_some(act),
            _ => None,
        })
    };
    let seen: Vec<_> =
        world.plan()[gate].needs.iter().filter_map(|need| newest(need.sort, &need.to_string())).collect();
    html! {
        @if !seen.is_empty() {
            h2 { "Asked for, and there" }
            ol.log.dated { @for act in seen { li { span.when { (act.at.get(..10).unwrap_or("")) } span.what { (words(world, act)) } } } }
            (photo_strip(world, std::slice::from_ref(&it.gate)))
        }
    }
}

/// Passing it: with nothing against it by one tap, else with a reason for each thing.
fn pass(it: &GateReport, groups: &Groups<'_>) -> Markup {
    let structure = it.blockers.iter().filter(|one| one.structure).count();
    html! {
        h2 #pass { "Pass the gate" }
        @if it.blockers.is_empty() {
            p { "That says what the plan and the record know; what nobody wrote down is not in it. Look once more yourself." }
            form.fields data-act=(json!({ "kind": "pass-gate", "gate": it.gate }).to_string()) {
                p.says data-says role="status" hidden {}
                button.go { "Pass the gate" }
            }
        } @else {
            details #pass-with-reasons {
                summary { "Pass it with a reason for each thing" }
                p { "Each thing is let pass by a named person, with a reason that stays in the record." }
                @if structure > 0 {
                    p.caution { b { "Structure. " } "The builder's word alone lets none of it pass: for " (if structure == it.blockers.len() { "each of these".to_owned() } else { format!("{structure} of them") }) " it takes the kit's designer, an inspector or the authority." }
                }
                form #let-pass data-gate=(it.gate) {
                    @for (number, one) in groups.iter().flat_map(|(_, group)| group).enumerate() { (reason(number, one)) }
                    p.says data-says role="status" hidden {}
                    p #pass-count data-count role="status" { "0 of " (it.blockers.len()) " with a reason" }
                    button.go disabled { "Pass the gate with " (count(it.blockers.len(), "reason")) }
                }
            }
        }
    }
}

fn reason(number: usize, it: &BlockerReport) -> Markup {
    html! {
        details.reason id={ "reason-" (number) } data-keys=(json!(it.keys).to_string()) {
            summary { span { (sentence(&it.what)) " " small data-state { "no reason yet" } } }
            div.fields {
                div.row.two {
                    label { "Who lets it pass" input name="who" list="people" autocomplete="off"; }
                    (roles(it.structure))
                }
                label { "Why it may pass" textarea name="why" rows="2" {} }
            }
        }
    }
}
