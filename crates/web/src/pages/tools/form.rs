//! A tool's own form: a plain post that needs no script.
//!
//! It is answered with the list again, or with the form where something is refused; then what was
//! typed stands in it, over what the file says by now. What a form asks is not written here: it
//! comes from the keys of the file.

use std::collections::BTreeMap;

use axum::Form as Posted;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Redirect, Response};
use faying_build::World;
use faying_build::entry::EntryError;
use faying_build::entry::tools::{self as edit, Field, Form, Input, Standing, ToolEdit};
use maud::{Markup, html};

use super::{heading, is_learned, lower, rows, whose_time};
use crate::App;
use crate::layout::{Tab, first_upper, page_with_script};
use crate::pages::assembly::address;
use crate::pages::entry::{spelt, why};
use crate::pages::{answer, missing, refresh};

/// A tool's own page: `yokes/deep`; `yokes` for one more; `times` for a section of values.
pub async fn page(State(app): State<App>, Path(what): Path<String>) -> Response {
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
                // Not with line and text: they are of a file that was not written.
                EntryError::Found { findings } => html! {
                    @for it in findings { p { b { (first_upper(&it.what)) "." } " " (first_upper(&it.next)) "." } }
                    p { "Nothing was written." }
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
                p.small { "Lengths as you say them: 1 1/4, .032 or 3.2 mm; a number alone is in " (spelt(form.unit)) "." }
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
    let side = world.bench_side();
    let times = if form.section == "times" { rows(&side.times).to_vec() } else { Vec::new() };
    if let Some((_, _, time)) = times.into_iter().find(|(key, ..)| *key == field.key) {
        hints.push(format!("{} s is used now, {}", time.value, whose_time(time)));
        if is_learned(time) {
            hints.push("what was learned goes before what is written here".to_owned());
        }
    }
    let of_yoke = |dies: &str| dies.rsplit_once(" / ").map(|(_, yoke)| yoke) == form.tool.as_deref();
    if form.section == "yokes" && field.key == "stiffness" && side.springs.keys().any(|it| of_yoke(it)) {
        hints.push("what was learned of its spring goes before what is written here".to_owned());
    }
    hints.join("; ")
}
