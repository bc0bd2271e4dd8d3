//! Tools: what there is to set rivets with, and what was learned about it.
//!
//! The list is here, a tool's own form in [`form`].

pub mod form;

use axum::extract::{Query, State};
use axum::response::Response;
use faying_build::entry::tools::{self as edit, Listed, SectionListed, Standing};
use faying_build::room::tools::{Adjust, DiesFor, Drive, Seconds, Times, Tools};
use faying_build::room::{HeadStyle, Length};
use faying_build::{LearnedFigure, World};
use maud::{Markup, html};
use serde::Deserialize;

use super::assembly::address;
use super::{answer, refresh};
use crate::App;
use crate::layout::{self, Tab, first_upper, page as framed};

/// What was done to a tool just now.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Done {
    /// The section.
    of: String,
    /// The tool that was put in or changed; empty for a section of values.
    wrote: Option<String>,
    /// The tool that was taken out.
    out: Option<String>,
}

pub async fn page(State(app): State<App>, Query(done): Query<Done>) -> Response {
    let failed = refresh(&app);
    let world = app.build.world();
    answer(framed(&world, Tab::Tools, "Tools", &main(&world, &done, failed.as_deref())))
}

fn main(world: &World, done: &Done, failed: Option<&str>) -> Markup {
    let tools = &world.plan().tools;
    let listing = edit::listing(world.plan());
    let found = world.side.findings.iter();
    let found = found.filter(|it| it.place.as_ref().is_some_and(|it| &*it.file == "tools.toml"));
    let starter = listing.sections.iter().flat_map(|it| &it.entries).any(|it| it.partly);
    let can_edit = listing.unreadable.is_none();
    html! {
        link rel="stylesheet" href="/assets/entry.css";
        h1 { "Tools" }
        @if let Some(why) = failed { p.caution { "The plan's files could not be read again: " (why) } }
        @if let Some(why) = &listing.unreadable {
            p.caution { "tools.toml cannot be changed here before it is mended in a text editor: " (why) "." }
        }
        p.note { (stands(listing.standing, starter)) }
        @for finding in found { (layout::finding(finding)) }
        (learned(&world.learned()))
        p.more { a.button href="/charts" { "Charts of heads and of drilled-out rivets" } " " a.button href="/charts?show=caliper" { "Ten readings for the caliper" } }
        @for section in &listing.sections {
            h2 #(section.name) { (heading(section)) }
            @if let (true, Some(out)) = (done.of == section.name, &done.out) {
                @if section.entries.iter().all(|it| it.name != *out) {
                    p.note role="status" { "The " (section.one) " " (out) " is taken out of tools.toml." }
                }
            }
            @let wrote = done.wrote.as_deref().filter(|_| done.of == section.name);
            @if section.of_tools {
                (of_tools(tools, section, wrote))
                @if can_edit {
                    p.more { a.button href={ "/tools/" (section.name) } { "Add a " (section.one) } }
                }
            } @else {
                @if wrote.is_some() { (written()) }
                (of_values(world, section))
                @if can_edit {
                    p.more { a.button href={ "/tools/" (section.name) } { (change_words(section)) } }
                }
            }
        }
    }
}

fn written() -> Markup {
    html! { p.note role="status" { "Written into tools.toml." } }
}

fn lower(words: &str) -> String {
    let mut chars = words.chars();
    chars.next().map_or_else(String::new, |first| first.to_lowercase().chain(chars).collect())
}

/// Where the figures come from, in words.
fn stands(standing: Standing, starter: bool) -> Markup {
    html! {
        @match standing {
            Standing::Missing => {
                "This build has no tools.toml yet: these are a starter set, from common practice and from memory. "
                "The first change here writes the whole set into tools.toml, with your change in it."
            }
            Standing::AsItCame => {
                "tools.toml is the starter set as it came, from common practice and from memory; nobody has measured these tools. "
                "Write your own figures over it and take out what you do not have: they decide which tool reaches a hole."
            }
            Standing::Own => {
                "As tools.toml has them. A run takes the tool that reaches and has the force, and changes as little as it can."
                @if starter { " What is marked as the starter set's is from common practice and from memory: measure yours and write it over." }
            }
        }
    }
}

fn heading(section: &SectionListed) -> &'static str {
    match section.name {
        "squeezers" => "Squeezers",
        "yokes" => "Yokes",
        "dies" => "Dies and sets",
        "guns" => "Guns",
        "bars" => "Bucking bars",
        "plates" => "Back-riveting plates",
        "clecoes" => "Clecoes",
        "clamps" => "Clamps",
        "gauges" => "Calipers and gauges",
        "times" => "What things take",
        edit::OTHER => "A second person",
        other => other,
    }
}

fn change_words(section: &SectionListed) -> &'static str {
    match section.name {
        "clecoes" => "Change the counts",
        "times" => "Change the seconds",
        _ => "Change this",
    }
}

fn of_tools(tools: &Tools, section: &SectionListed, wrote: Option<&str>) -> Markup {
    html! {
        @if section.entries.is_empty() { p.small { "None written." } }
        ul.lines {
            @for it in &section.entries {
                @let shown = shown(tools, section.name, &it.name);
                li #{ (section.name) "-" (it.name) } {
                    @if wrote == Some(it.name.as_str()) { (written()) }
                    a href={ "/tools/" (section.name) "/" (address(&it.name)) } {
                        span {
                            @if let Some((title, about, note)) = shown {
                                b { (first_upper(title)) }
                                @if !about.is_empty() { br; (about) }
                                @if !note.is_empty() { br; small { (first_upper(note)) } }
                            } @else {
                                b { (it.name) } br;
                                span.bad { "Cannot be used as it is written" }
                            }
                            @if let Some(words) = whose(it) { br; small { (words) } }
                        }
                        span.count.change { "Change" }
                    }
                }
            }
        }
    }
}

/// Whose figures they are, where they are nobody's.
const fn whose(it: &Listed) -> Option<&'static str> {
    match (it.starter, it.partly) {
        (true, _) => Some("Starter set: not measured"),
        (false, true) => Some("Some figures are still those of the starter set"),
        (false, false) => None,
    }
}

/// A tool's title, its figures in a line, and its remark; nothing where it could not be used.
fn shown<'a>(tools: &'a Tools, section: &str, name: &str) -> Option<(&'a str, String, &'a str)> {
    let line = |parts: &[Option<String>]| parts.iter().flatten().cloned().collect::<Vec<_>>().join(", ");
    Some(match section {
        "squeezers" => {
            let it = tools.squeezers.iter().find(|it| it.name == name)?;
            let force = match (it.drive, it.pressure_psi) {
                (Drive::Air, Some(psi)) => format!("{:.0} lbf at {psi:.0} psi", it.force.lbf()),
                (Drive::Air, None) => format!("{:.0} lbf, air", it.force.lbf()),
                (Drive::Hand, _) => format!("{:.0} lbf, by hand", it.force.lbf()),
            };
            let stroke = it.stroke.map(|it| format!("stroke {}", inches(it)));
            let repeats = it.repeatability.map(|it| format!("repeatability {}", inches(it)));
            (&it.title, line(&[Some(force), stroke, Some(adjust(&it.adjust)), repeats]), &it.note)
        }
        "yokes" => {
            let it = tools.yokes.iter().find(|it| it.name == name)?;
            let width = it.nose_half_width + it.nose_half_width;
            let fits: Vec<&str> =
                it.squeezers.iter().filter_map(|&n| Some(tools.squeezers.get(n)?.title.as_str())).collect();
            let fits = if fits.is_empty() { "no squeezer".to_owned() } else { fits.join(", ") };
            let about = [
                Some(format!("throat {}", inches(it.throat))),
                Some(format!("gap {}", inches(it.gap))),
                Some(format!("nose {} wide and {} high", inches(width), inches(it.nose_height))),
                it.stiffness_lbf_in.map(|it| format!("{it:.0} lbf open it by an inch")),
                Some(format!("fits {fits}")),
            ];
            (&it.title, line(&about), &it.note)
        }
        "dies" => {
            let it = tools.dies.iter().find(|it| it.name == name)?;
            let head = match it.head {
                HeadStyle::Universal => "universal",
                HeadStyle::Flush => "flush",
            };
            let size = it.diameter.map_or_else(|| "any".to_owned(), |it| it.to_string());
            let held = match it.held_in {
                DiesFor::Squeezer => "squeezer",
                DiesFor::Gun => "gun",
                DiesFor::Back => "gun, back-riveting",
            };
            let shop =
                (it.across_shop != it.across).then(|| format!("the flat one {}", inches(it.across_shop)));
            let about = [
                Some(format!("for {size} {head}")),
                Some(format!("held in {held}")),
                Some(format!("{} across", inches(it.across))),
                shop,
            ];
            (&it.title, line(&about), &it.note)
        }
        "guns" => {
            let it = tools.guns.iter().find(|it| it.name == name)?;
            let pressures: Vec<Option<String>> =
                it.pressure_psi.iter().map(|(d, psi)| Some(format!("{d} at {psi:.0} psi"))).collect();
            (&it.title, line(&pressures), &it.note)
        }
        "bars" => {
            let it = tools.bars.iter().find(|it| it.name == name)?;
            let weight = it.weight_lb.map(|lb| format!("{lb} lb"));
            (&it.title, line(&[weight, Some(format!("enters {}", inches(it.enters)))]), &it.note)
        }
        "plates" => {
            let it = tools.plates.iter().find(|it| it.name == name)?;
            (&it.title, format!("{} by {}", it.size[0].decimal(), inches(it.size[1])), &it.note)
        }
        "clamps" => {
            let it = tools.clamps.iter().find(|it| it.name == name)?;
            let reach = it.reach.map(|it| format!("reach {}", inches(it)));
            (&it.title, line(&[Some(format!("{} of them", it.count)), reach]), "")
        }
        "gauges" => {
            let it = tools.gauges.iter().find(|it| it.name == name)?;
            let u = it.uncertainty.map_or_else(
                || "uncertainty not written".to_owned(),
                |u| format!("standard uncertainty {}", inches(u)),
            );
            (&it.title, u, &it.note)
        }
        _ => return None,
    })
}

fn inches(length: Length) -> String {
    format!("{} in", length.decimal())
}

fn adjust(adjust: &Adjust) -> String {
    let list = |lengths: &[Length]| lengths.iter().map(|it| it.decimal()).collect::<Vec<_>>().join(", ");
    match adjust {
        Adjust::Screw { turns_per_inch } => format!("ram thread {turns_per_inch} turns to the inch"),
        Adjust::Shims(shims) => format!("shims {} in", list(shims)),
        Adjust::SetLengths(lengths) => format!("sets {} in", list(lengths)),
        Adjust::Unknown => "how its height is set is not written".to_owned(),
    }
}

fn of_values(world: &World, section: &SectionListed) -> Markup {
    let tools = &world.plan().tools;
    html! {
        @match section.name {
            "clecoes" => {
                @if tools.clecoes.is_empty() { p.small { "None written." } }
                table.counts { tbody {
                    @for it in &tools.clecoes {
                        tr {
                            th scope="row" { (it.diameter) }
                            td.n { (it.count) }
                            td { @if section.entries.iter().any(|own| own.starter && own.name == it.name) { small { "starter set" } } }
                        }
                    }
                } }
            }
            "times" => {
                p.small { "Seconds; they decide what is worth a change. What is not your own is common practice or from memory." }
                table.counts { tbody {
                    @for (_, what, time) in rows(&world.bench_side().times) {
                        tr { th scope="row" { (what) } td.n { (time.value) " s" } td { small { (whose_time(time)) } } }
                    }
                } }
            }
            edit::OTHER => {
                p { @if tools.helper { "A second person comes at times." } @else { "You work alone." } }
                p { "The bench has " @if tools.bench == 1 { "one place" } @else { (tools.bench) " places" } ": what one assembly takes while it is worked on, or cures." }
            }
            _ => {}
        }
    }
}

/// A time that was learned says so: it is used in the place of what the file says.
fn whose_time(time: &Seconds) -> String {
    if is_learned(time) { "learned at your bench".to_owned() } else { time.cited.known.to_string() }
}

fn is_learned(time: &Seconds) -> bool {
    time.cited.source == "record"
}

/// Times by their key in the file, in words.
fn rows(it: &Times) -> [(&'static str, &'static str, &Seconds); 14] {
    [
        ("squeeze", "A rivet with the squeezer", &it.squeeze),
        ("gun", "A rivet with gun and bar", &it.gun),
        ("back", "A rivet on the plate", &it.back),
        ("tool", "Another tool", &it.tool),
        ("yoke", "Another yoke", &it.yoke),
        ("dies", "Other dies", &it.dies),
        ("setting", "Another setting", &it.setting),
        ("bag", "Another bag", &it.bag),
        ("flip", "The part turned over", &it.flip),
        ("coupon", "A head on scrap", &it.coupon),
        ("cleco", "A cleco out", &it.cleco),
        ("foot", "A foot along the part", &it.foot),
        ("plane", "To another plane", &it.plane),
        ("removal", "A rivet drilled out and set again", &it.removal),
    ]
}

/// What the builder's own heads and times say, with a way to take it over.
fn learned(figures: &[LearnedFigure]) -> Markup {
    html! {
        h2 #learned { "Learned at your bench" }
        @if figures.is_empty() {
            p.small { "Nothing yet. Measured heads, proven scrap and the times of your own runs end up here; nothing is used before you take it over." }
        }
        ul.lines {
            @for it in figures {
                li {
                    form.line data-act=(serde_json::json!({ "kind": "adopt", "values": [[it.name, it.value]] }).to_string()) {
                        span { b { (first_upper(&it.title)) } br; (it.value_words) ", used now " (it.used_words) br; small { (it.from) } }
                        @if it.value_words != it.used_words { button aria-label={ "Use it: " (it.title) } { "Use it" } } @else { small { "in use" } }
                    }
                }
            }
        }
    }
}
