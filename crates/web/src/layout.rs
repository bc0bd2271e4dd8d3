//! The frame of every page: head, way through the pages, foot.

use faying_build::World;
use faying_build::room::{GateId, Progress};
use maud::{DOCTYPE, Markup, html};

/// The pages one goes to by name.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Tab {
    Today,
    Plan,
    Owed,
    Assemblies,
    Measure,
    Tools,
    Record,
    Standards,
    /// A page below one of these.
    None,
}

const TABS: [(Tab, &str, &str); 8] = [
    (Tab::Today, "/", "Today"),
    (Tab::Plan, "/plan", "Plan"),
    (Tab::Owed, "/owed", "Owed"),
    (Tab::Assemblies, "/assemblies", "Assemblies"),
    (Tab::Measure, "/measure", "Measure"),
    (Tab::Tools, "/tools", "Tools"),
    (Tab::Record, "/record", "Record"),
    (Tab::Standards, "/standards", "Standards"),
];

/// What is put off without many words: what builders put off most.
const PUT_OFF: [&str; 4] = ["Final torque", "Fastener out of stock", "Hole left open", "Look at it again"];

/// What a page is about: there something is put off from it.
#[derive(Clone, Copy)]
pub enum About<'a> {
    /// The whole build.
    Build,
    /// A hole, row, piece, step or assembly, by its lasting name.
    Place(&'a str),
    /// What a gate stands before.
    Gate(GateId),
}

/// A page; what is in `main` is fetched anew when something changes.
pub fn page(world: &World, tab: Tab, title: &str, main: &Markup) -> Markup {
    framed(world, tab, title, About::Build, main, true)
}

/// The same for a page about one place.
pub fn page_about(world: &World, tab: Tab, title: &str, about: About<'_>, main: &Markup) -> Markup {
    framed(world, tab, title, about, main, true)
}

/// A page whose script keeps its own parts up to date.
pub fn page_with_script(world: &World, tab: Tab, title: &str, main: &Markup) -> Markup {
    framed(world, tab, title, About::Build, main, false)
}

/// The same for a page about one place.
pub fn page_with_script_about(
    world: &World,
    tab: Tab,
    title: &str,
    about: About<'_>,
    main: &Markup,
) -> Markup {
    framed(world, tab, title, about, main, false)
}

fn framed(world: &World, tab: Tab, title: &str, about: About<'_>, main: &Markup, live: bool) -> Markup {
    let progress = world.progress();
    let owed_now = world.owed(&progress).iter().filter(|it| it.now).count();
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) " · faying" }
                link rel="stylesheet" href="/assets/faying.css";
                link rel="stylesheet" href="/assets/desk.css";
                link rel="stylesheet" href="/assets/fault.css";
                link rel="icon" href="data:,";
                script src="/assets/acts.js" defer {}
                script src="/assets/frame.js" defer {}
                script src="/assets/photo.js" defer {}
                @if live { script src="/assets/live.js" defer {} }
            }
            body {
                a.skip href="#main" { "To the page" }
                nav.pages aria-label="Pages" {
                    b { "faying" }
                    div.ways {
                        @for (name, address, text) in TABS {
                            a id={ "to-" (text) } href=(address) aria-current=[(name == tab).then_some("page")] {
                                (text) @if name == Tab::Owed && owed_now > 0 { " " span.count { (owed_now) } }
                            }
                        }
                    }
                    button.quiet #owe-open type="button" aria-haspopup="dialog" { "Put off…" }
                }
                main #main data-version=(world.version) data-revision=(world.revision()) data-build=(world.id) { @if live { (crate::pages::step::clock_line(world)) } (main) }
                footer.block {
                    div { small { "Plan" } (revision(world)) }
                    @if live { div { small { "Holes set" } (progress.set) " of " (progress.holes) } }
                    div.word { "Shows and computes; never approves. The kit designer, the inspector and the authority have the last word." }
                }
                (put_off(world, &progress, about))
                div #waiting role="status" hidden {}
                div #owe-said role="status" hidden {}
            }
        }
    }
}

/// What is put off: the place comes from the page, the gate from the place. One tap opens it, one sends it.
fn put_off(world: &World, progress: &Progress, about: About<'_>) -> Markup {
    let plan = world.plan();
    let ahead = world.gates_ahead(progress);
    let (at, until) = match about {
        About::Build => ("", None),
        About::Place(at) => (at, world.gate_hiding(progress, at)),
        About::Gate(gate) => ("", Some(gate)),
    };
    let option = |gate: GateId, chosen: bool| {
        html! { option value=(plan.gate_name(gate)) selected[chosen] { (gate_option(world, gate)) } }
    };
    let rest = ahead.iter().copied().filter(|&gate| until != Some(gate));
    html! {
        dialog #owe aria-labelledby="owe-title" {
            form #owe-form {
                h2 #owe-title { "Put off" }
                label { "Where (a hole, row, part or step; empty for the whole build)" input name="place" value=(at) autocomplete="off" autocapitalize="none"; }
                label { "Until which gate" select name="gate" {
                    @if let Some(gate) = until { (option(gate, true)) }
                    @for gate in rest { (option(gate, false)) }
                    option value="" selected[until.is_none()] { "No gate: owed now" }
                } }
                @if until.is_some() && matches!(about, About::Place(_)) { p.small { "The first gate that needs this place done." } }
                label { "Why (may stay empty)" input name="why" autocomplete="off"; }
                p.small { "What? Each of these puts it off at once." }
                div.quick { @for what in PUT_OFF { button type="button" data-what=(what) autofocus[what == PUT_OFF[0]] { (what) } } }
                label { "Or what, in your own words" input name="what" autocomplete="off"; }
                p.says role="alert" hidden {}
                div.turn { button.go { "Put it off" } button type="button" data-close { "Close" } }
            }
        }
    }
}

/// A gate in a list: what tells it from the others comes first.
pub fn gate_option(world: &World, gate: GateId) -> String {
    let plan = world.plan();
    match plan[gate].assembly {
        Some(assembly) => format!("{}, {}", plan[gate].title, plan[assembly].title),
        None => plan[gate].title.clone(),
    }
}

/// The plan's revision in words.
pub fn revision(world: &World) -> String {
    match (world.state.revision, world.is_adopted()) {
        (0, _) => "not yet adopted".to_owned(),
        (number, true) => format!("revision {number}"),
        (number, false) => format!("changed since revision {number}"),
    }
}

/// A finding with its place and next move.
pub fn finding(finding: &faying_build::room::Finding) -> Markup {
    html! {
        div.finding {
            p {
                @if let Some(place) = &finding.place { small { (place.file) ", line " (place.line) } br; }
                b { (first_upper(&finding.what)) "." }
            }
            @if let Some(place) = &finding.place { pre { (place.excerpt) } }
            p.next { (first_upper(&finding.next)) "." }
        }
    }
}

pub fn first_upper(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

/// The same where the text may begin with a name; a lasting name stays as it is written.
pub fn sentence(text: &str) -> String {
    let names = text.split_whitespace().next().is_some_and(|word| word.contains('/'));
    if names { text.to_owned() } else { first_upper(text) }
}

/// The working of a figure, opened on demand.
pub fn working(summary: &str, working: &faying_build::room::Working) -> Markup {
    html! {
        details.working {
            summary { (summary) }
            dl {
                @for figure in working.figures() {
                    dt { (figure.name) " " b { (figure.result) } }
                    dd {
                        @if !figure.formula.is_empty() { code { (figure.formula) @if !figure.put_in.is_empty() { " = " (figure.put_in) } } }
                        small { (faying_build::report::cited(&figure.source)) }
                    }
                }
            }
        }
    }
}
