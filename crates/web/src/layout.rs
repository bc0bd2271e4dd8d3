//! The frame of every page: head, way through the pages, foot.

use faying_build::World;
use maud::{DOCTYPE, Markup, html};

/// The pages one goes to by name.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Tab {
    Today,
    Assemblies,
    Measure,
    Tools,
    Record,
    Standards,
    /// A page below one of these.
    None,
}

const TABS: [(Tab, &str, &str); 6] = [
    (Tab::Today, "/", "Today"),
    (Tab::Assemblies, "/assemblies", "Assemblies"),
    (Tab::Measure, "/measure", "Measure"),
    (Tab::Tools, "/tools", "Tools"),
    (Tab::Record, "/record", "Record"),
    (Tab::Standards, "/standards", "Standards"),
];

/// A page; what is in `main` is fetched anew when something changes.
pub fn page(world: &World, tab: Tab, title: &str, main: &Markup) -> Markup {
    framed(world, tab, title, main, true)
}

/// A page whose script keeps its own parts up to date.
pub fn page_with_script(world: &World, tab: Tab, title: &str, main: &Markup) -> Markup {
    framed(world, tab, title, main, false)
}

fn framed(world: &World, tab: Tab, title: &str, main: &Markup, live: bool) -> Markup {
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
                link rel="icon" href="data:,";
                script src="/assets/acts.js" defer {}
                @if live { script src="/assets/live.js" defer {} }
            }
            body {
                a.skip href="#main" { "To the page" }
                nav aria-label="Pages" {
                    b { "faying" }
                    @for (name, address, text) in TABS {
                        a href=(address) aria-current=[(name == tab).then_some("page")] { (text) }
                    }
                }
                main #main data-version=(world.version) data-revision=(world.revision()) data-build=(world.id) { (main) }
                footer.block {
                    div { small { "Plan" } (revision(world)) }
                    @if live { div { small { "Holes set" } (set_of_all(world)) } }
                    div.word { "Shows and computes; never approves. The kit designer, the inspector and the authority have the last word." }
                }
                div #waiting role="status" hidden {}
            }
        }
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

fn set_of_all(world: &World) -> String {
    let progress = world.progress();
    format!("{} of {}", progress.set, progress.holes)
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
