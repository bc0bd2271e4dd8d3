//! Tools: what there is to set rivets with, and what was learned about it.
//!
//! Each tool has a form of its own, which needs no script: a plain post, answered with the list
//! again, or with the form where something is refused. What a form asks is not written here.

use std::collections::BTreeMap;

use axum::Form as Posted;
use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse, Redirect, Response};
use faying_build::entry::EntryError;
use faying_build::entry::tools::{
    self as edit, Field, Form, Input, Listed, SectionListed, Standing, ToolEdit,
};
use faying_build::room::tools::{Adjust, DiesFor, Drive, Seconds, Times, Tools};
use faying_build::room::{HeadStyle, Length};
use faying_build::{LearnedFigure, World};
use maud::{Markup, html};
use serde::Deserialize;

use super::assembly::address;
use super::entry::why;
use super::{answer, missing, refresh};
use crate::App;
use crate::layout::{self, Tab, first_upper, page as framed, page_with_script};

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

/// A tool's own page: `yokes/deep`; `yokes` for one more; `times` for a section of values.
pub async fn form(State(app): State<App>, Path(what): Path<String>) -> Response {
    refresh(&app);
    let (of, tool) = parts(&what);
    let world = app.build.world();
    match edit::form(world.plan(), of, tool) {
        Ok(form) => form_page(&world, &form, &BTreeMap::new(), None),
        // The list says what is wrong with the file.
        Err(_) if edit::listing(world.plan()).unreadable.is_some() => Redirect::to("/tools").into_response(),
        Err(error) => {
            drop(world);
            missing(&app, &why(&error))
        }
    }
}

/// What a form was answered with.
enum Sent {
    Written { out: bool, tool: String },
    Same,
    Refused(EntryError),
}

pub async fn write(
    State(app): State<App>,
    Path(what): Path<String>,
    Posted(pairs): Posted<Vec<(String, String)>>,
) -> Response {
    let (of, tool) = parts(&what);
    let (of, tool) = (of.to_owned(), tool.map(str::to_owned));
    refresh(&app);
    let form = edit::form(app.build.world().plan(), &of, tool.as_deref());
    let form = match form {
        Ok(form) => form,
        Err(error) => return missing(&app, &why(&error)),
    };
    let typed = typed(&form, &pairs);
    let sent = {
        let (build, asked) = (app.build.clone(), asked(&form, &pairs, &typed));
        let mark = first(&pairs, "mark").to_owned();
        let done = tokio::task::spawn_blocking(move || {
            let Some(asked) = asked else { return Sent::Same };
            match edit::write(&build, &of, &mark, &asked) {
                Ok((_, tool)) => Sent::Written { out: matches!(asked, ToolEdit::TakeOut { .. }), tool },
                Err(error) => Sent::Refused(error),
            }
        });
        match done.await {
            Ok(sent) => sent,
            Err(error) => return missing(&app, &error.to_string()),
        }
    };
    let of = form.section;
    match sent {
        Sent::Written { out, tool } => {
            let (how, at) = if out { ("out", String::new()) } else { ("wrote", dashed(&tool)) };
            let to = format!("/tools?of={of}&{how}={}#{of}{}", address(&tool), address(&at));
            Redirect::to(&to).into_response()
        }
        Sent::Same => {
            let said = html! { "Nothing was written: the form says what tools.toml says." };
            form_page(&app.build.world(), &form, &typed, Some(&said))
        }
        Sent::Refused(error) => {
            let said = match &error {
                EntryError::Found { findings } => html! {
                    "Nothing was written."
                    @for finding in findings { (layout::finding(finding)) }
                },
                error => html! { (why(error)) },
            };
            let world = app.build.world();
            // The text may be another by now: what it says stands under what was typed.
            match edit::form(world.plan(), of, tool.as_deref()) {
                Ok(form) => form_page(&world, &form, &typed, Some(&said)),
                Err(_) => {
                    drop(world);
                    missing(&app, &why(&error))
                }
            }
        }
    }
}

fn parts(what: &str) -> (&str, Option<&str>) {
    what.split_once('/').map_or((what, None), |(of, tool)| (of, Some(tool)))
}

fn dashed(tool: &str) -> String {
    if tool.is_empty() { String::new() } else { format!("-{tool}") }
}

fn first<'a>(pairs: &'a [(String, String)], key: &str) -> &'a str {
    pairs.iter().find(|(name, _)| name == key).map_or("", |(_, value)| value)
}

/// What was typed over what the form showed, by field; the short name of a new tool too.
fn typed(form: &Form, pairs: &[(String, String)]) -> BTreeMap<String, String> {
    let mut typed = BTreeMap::new();
    for field in &form.fields {
        let was = first(pairs, &format!("was:{}", field.key));
        let name = format!("is:{}", field.key);
        let values: Vec<&str> =
            pairs.iter().filter(|(key, _)| *key == name).map(|(_, value)| value.as_str()).collect();
        let is = match field.input {
            Input::Flag if values.is_empty() => "false".to_owned(),
            _ => values.join(", "),
        };
        if edit::differs(field, was, &is) {
            typed.insert(field.key.clone(), is);
        }
    }
    typed.insert(NAME.to_owned(), first(pairs, NAME).to_owned());
    typed
}

/// The field of the short name.
const NAME: &str = "name";

/// What a form asks to be done; nothing where it says what it said.
fn asked(form: &Form, pairs: &[(String, String)], typed: &BTreeMap<String, String>) -> Option<ToolEdit> {
    let of_form = |field: &Field| Some((field.key.clone(), typed.get(&field.key)?.clone()));
    let values: Vec<(String, String)> = form.fields.iter().filter_map(of_form).collect();
    match (&form.tool, form.of_tools) {
        (Some(tool), _) if first(pairs, "do") == "take-out" => Some(ToolEdit::TakeOut { tool: tool.clone() }),
        (None, true) => Some(ToolEdit::Add { name: typed.get(NAME).cloned().unwrap_or_default(), values }),
        _ if values.is_empty() => None,
        (tool, _) => Some(ToolEdit::Change { tool: tool.clone(), values }),
    }
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
            }
            _ => {}
        }
    }
}

/// A time that was learned says so: it is used in the place of what the file says.
fn whose_time(time: &Seconds) -> String {
    if time.cited.source == "record" {
        "learned at your bench".to_owned()
    } else {
        time.cited.known.to_string()
    }
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
                        @if (it.value - it.used).abs() > 1e-9 { button aria-label={ "Use from the next run: " (it.title) } { "Use it" } } @else { small { "in use" } }
                    }
                }
            }
        }
    }
}

/// The page of a form; what was typed stands in it.
fn form_page(
    world: &World,
    form: &Form,
    typed: &BTreeMap<String, String>,
    refused: Option<&Markup>,
) -> Response {
    let section = edit::listing(world.plan()).sections.into_iter().find(|it| it.name == form.section);
    let of = section.as_ref().map_or("", heading);
    let title = match (&form.tool, form.of_tools) {
        (Some(tool), _) => {
            let title = world.plan().tools.title_of(tool).unwrap_or(tool);
            first_upper(title)
        }
        (None, true) => format!("Add a {}", form.one),
        (None, false) => of.to_owned(),
    };
    answer(page_with_script(world, Tab::Tools, &title, &asks(world, form, typed, refused, &title, of)))
}

fn asks(
    world: &World,
    form: &Form,
    typed: &BTreeMap<String, String>,
    refused: Option<&Markup>,
    title: &str,
    of: &str,
) -> Markup {
    let here = format!(
        "/tools/{}{}",
        form.section,
        form.tool.as_ref().map_or_else(String::new, |it| format!("/{}", address(it)))
    );
    let back = match &form.tool {
        Some(tool) => format!("/tools#{}-{}", form.section, address(tool)),
        None => format!("/tools#{}", form.section),
    };
    html! {
        link rel="stylesheet" href="/assets/entry.css";
        p.up { a href=(back) { "Tools, " (lower(of)) } }
        h1 { (title) }
        @if let Some(refused) = refused {
            div.caution #refused role="alert" tabindex="-1" autofocus { (refused) }
        }
        @if form.standing == Standing::Missing {
            p.note { "There is no tools.toml yet. What you write here goes into a new one, together with the starter set." }
        }
        @if form.starter {
            p.note { "These are the figures of the starter set, from common practice and from memory: measure yours and write them over these. Where yours come out the same, say so in the remark." }
        }
        form.entry.asks method="post" action=(here) {
            input type="hidden" name="mark" value=(form.mark);
            (all(world, form, typed))
            @if form.of_tools && form.tool.is_none() {
                label { "Short name, by which runs and the record name it"
                    input name=(NAME) value=[typed.get(NAME)] autocomplete="off" autocapitalize="none" spellcheck="false" aria-describedby="short-hint"; }
                small #short-hint.hint { "Letters, digits, - and _. Left empty, it is made of the name as shown; it cannot be changed later." }
            }
            @if form.fields.iter().any(|it| matches!(it.input, Input::Length)) {
                p.small { "Lengths as you say them: 1 1/4, .032 or 3.2 mm; a number alone is in " (super::entry::spelt(form.unit)) "." }
            }
            button.go { "Write it into tools.toml" }
        }
        @if form.tool.is_some() {
            details.out {
                summary { "Take it out" }
                form.entry method="post" action=(here) {
                    input type="hidden" name="mark" value=(form.mark);
                    input type="hidden" name="do" value="take-out";
                    p.small { "Its line goes out of tools.toml, with its figures; remarks above it stay. The record keeps what was done with it." }
                    button { "Take out " (title) }
                }
            }
        }
    }
}

/// The fields, those of one group together.
fn all(world: &World, form: &Form, typed: &BTreeMap<String, String>) -> Markup {
    let groups = form.fields.chunk_by(|one, next| one.group == next.group);
    let ids: BTreeMap<&str, usize> =
        form.fields.iter().enumerate().map(|(at, field)| (field.key.as_str(), at)).collect();
    let one = |field: &Field| {
        let id = format!("f{}", ids.get(field.key.as_str()).copied().unwrap_or_default());
        let value = typed.get(&field.key).map_or(field.value.as_str(), String::as_str);
        ask(world, form, field, &id, value)
    };
    html! {
        @for group in groups {
            @if let Some(words) = &group[0].group {
                fieldset {
                    legend { (first_upper(words)) }
                    div.sizes { @for field in group { (one(field)) } }
                }
            } @else {
                @for field in group { (one(field)) }
            }
        }
    }
}

fn ask(world: &World, form: &Form, field: &Field, id: &str, value: &str) -> Markup {
    let name = format!("is:{}", field.key);
    let label = first_upper(&field.label);
    let hints = hints(world, form, field);
    let hint = format!("{id}-hint");
    let by = (!hints.is_empty()).then_some(hint.as_str());
    let need = html! { @if field.needed { small.need { "needed" } } };
    html! {
        div.ask {
            input type="hidden" name={ "was:" (field.key) } value=(field.value);
            @match &field.input {
                Input::Text => label { (label) (need)
                    input id=(id) name=(name) value=(value) autocomplete="off" required[field.needed] aria-describedby=[by]; },
                Input::Length => label { (label) (need)
                    input id=(id) name=(name) value=(value) autocomplete="off" autocapitalize="none" spellcheck="false" required[field.needed] aria-describedby=[by]; },
                Input::Number => label { (label) (need)
                    input id=(id) name=(name) value=(value) inputmode="decimal" autocomplete="off" required[field.needed] aria-describedby=[by]; },
                Input::Word(words) => label { (label) (need)
                    select id=(id) name=(name) required[field.needed] aria-describedby=[by] {
                        @if !field.needed || value.is_empty() { option value="" { "not written" } }
                        @for word in *words { option value=(word) selected[*word == value] { (word) } }
                        @if !value.is_empty() && !words.contains(&value) { option value=(value) selected { (value) } }
                    } },
                Input::Flag => label.tick {
                    input type="checkbox" id=(id) name=(name) value="true" checked[value == "true"] aria-describedby=[by];
                    (label) },
                Input::Names(names) => fieldset aria-describedby=[by] {
                    legend { (label) }
                    @for own in names {
                        label.tick {
                            input type="checkbox" name=(name) value=(own) checked[value.split(',').any(|it| it.trim() == own)];
                            (first_upper(world.plan().tools.title_of(own).unwrap_or(own))) }
                    }
                },
            }
            @if !hints.is_empty() { small.hint #(hint) { (first_upper(&hints)) "." } }
        }
    }
}

/// What stands under a field.
fn hints(world: &World, form: &Form, field: &Field) -> String {
    let mut hints: Vec<String> = Vec::new();
    if !field.hint.is_empty() {
        hints.push(field.hint.clone());
    }
    // That the whole tool is the starter set's is said above.
    if field.starter && !form.starter {
        hints.push(format!("{} as in the starter set", field.value));
    }
    if form.section == "times" {
        let side = world.bench_side();
        if let Some((_, _, time)) = rows(&side.times).into_iter().find(|(key, ..)| *key == field.key) {
            hints.push(format!("{} s is used now, {}", time.value, whose_time(time)));
        }
    }
    hints.join("; ")
}
