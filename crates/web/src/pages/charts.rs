//! Charts: heads by setting against their limits, rivets drilled out, and the caliper itself.
//!
//! Every chart stands with its words and its figures in a table, so that
//! nothing is only to be seen.

use std::collections::HashMap;

use axum::extract::{Query, State};
use axum::response::Response;
use faying_build::{
    CaliperReport, ChartHead, ChartsReport, DrilledOut, SettingChart, SizeChart, World, heads_wanted,
};
use faying_sheet::{Across, Chart, Drawing, Level, Panel, Rate, chart_drawing, rates_drawing, svg};
use maud::{Markup, PreEscaped, html};

use super::assembly::address;
use super::standards::inches;
use super::{answer, refresh};
use crate::App;
use crate::layout::{Tab, first_upper, page as framed, page_with_script, working};

/// Width of a drawing on a phone and at a desk, px.
const WIDE: [f64; 2] = [328.0, 760.0];
/// Settings that are drawn; the rest is led to.
const DRAWN: usize = 6;
/// Readings that the form has room for, of each head.
const FIELDS: usize = 10;
/// What a display steps by where nothing else is typed, in; most do.
const STEP: &str = ".0005";

pub async fn page(State(app): State<App>, Query(asked): Query<HashMap<String, String>>) -> Response {
    refresh(&app);
    // The first chart of a large build works out which tools reach what: not on a thread that answers others.
    let build = app.build.clone();
    let done = tokio::task::spawn_blocking(move || {
        let world = build.world();
        match asked.get("show").map(String::as_str) {
            Some("caliper") => {
                answer(page_with_script(&world, Tab::None, "Caliper", &caliper(&world, &asked)))
            }
            _ => answer(framed(&world, Tab::None, "Charts", &main(&world, &asked))),
        }
    });
    match done.await {
        Ok(page) => page,
        Err(error) => super::missing(&app, &error.to_string()),
    }
}

fn main(world: &World, asked: &HashMap<String, String>) -> Markup {
    let report = world.charts();
    let one = asked.get("setting");
    html! {
        h1 { "Charts" }
        nav.way aria-label="On this page" {
            a href="#settings" { "Heads by setting" }
            a href="#drilled" { "Drilled out" }
            a href="#row" { "How many to measure" }
            a href="/charts?show=caliper" { "Caliper" }
        }
        section.charts {
            h2 #settings { "Heads by setting" }
            (settings(&report, one.map(String::as_str)))
        }
        section.charts {
            h2 #drilled { "Drilled out" }
            (drilled(&report))
        }
        section {
            h2 #row { "How many to measure" }
            (row(asked.get("row").map_or("", String::as_str)))
        }
    }
}

fn settings(report: &ChartsReport, one: Option<&str>) -> Markup {
    let chosen: Vec<&SettingChart> = match one {
        Some(key) => report.settings.iter().filter(|it| it.key == key).collect(),
        None => report.settings.iter().take(DRAWN).collect(),
    };
    let others: Vec<&SettingChart> =
        report.settings.iter().filter(|it| chosen.iter().all(|drawn| drawn.key != it.key)).collect();
    html! {
        @if report.settings.is_empty() {
            p { "No head that was set is measured yet. Each measured head stands in the chart of its setting: tool, dies and opening as the run had them." }
        } @else { (legend()) }
        @for it in chosen { (setting(it)) }
        @if !others.is_empty() {
            h3 { @if one.is_some() { "The other settings" } @else { "Measured longer ago" } }
            ul.lines {
                @for it in others {
                    li { a href={ "/charts?setting=" (it.key) "#settings" } { b { (it.title) } span { (it.rivet) @if !it.setting.is_empty() { ", " (it.setting) } } span.count { (it.measured) " measured" } } }
                }
            }
        }
        @if one.is_some() { p { a.tap href="/charts" { "All settings" } } }
    }
}

/// What the lines and marks mean, in words.
fn legend() -> Markup {
    html! {
        details.legend {
            summary { "What the lines and marks mean" }
            dl {
                dt { "Heavy line, hatched beyond" } dd { "a limit in force for this rivet" }
                dt { "Dashes marked own" } dd { "mean ± three standard deviations of these heads among themselves; no limit of anybody's, and only from five heads on" }
                dt { "Dashes that open from left to right" } dd { "how far the moving average may be from the aim by chance" }
                dt { "Open square with a name" } dd { "outside: of the limits in force in the first chart, of the chart's own in the others" }
                dt { "Sums" } dd { "what adds up above the aim (full dots) and below it (open dots); they find a slow drift that no single head shows" }
                dt { "Thin upright line" } dd { "the tool was set anew, or proven again; averages and sums begin from nothing" }
                dt { "Cpk" } dd { "from the mean to the nearer limit, in units of three standard deviations; with few heads it is rough" }
            }
        }
    }
}

fn setting(it: &SettingChart) -> Markup {
    html! {
        section.setting id=(it.key) aria-labelledby={ (it.key) "-title" } {
            h3 id={ (it.key) "-title" } { (it.title) ", " (it.rivet) }
            @if !it.setting.is_empty() { p.small { "Setting as the run had it: " (it.setting) } }
            @match &it.limits {
                Some(limits) => p.small { "Limits: " (limits.name) ". " (limits.source) @if !limits.lacks.is_empty() { ". " (first_upper(&limits.lacks)) } "." },
                None => p.small { "No limits judge this rivet." },
            }
            @if it.first > 1 { p.small { "The newest " (it.heads.len()) " are drawn; " (it.first - 1) " before them are left out." } }
            @if let Some(heights) = &it.heights { (size(it, heights, Size::Height)) }
            @if let Some(widths) = &it.widths { (size(it, widths, Size::Width)) }
            @if !it.sample.says.is_empty() { p.sample { (it.sample.says) @if it.measured < it.set && it.sample.outside == 0 { " That holds if each head had the same chance to be measured." } } }
            details {
                summary { "The heads in a table" }
                div.scroll tabindex="0" role="region" aria-label={ "Heads of " (it.title) } {
                    table {
                        thead { tr { th scope="col" { "Head" } th.n scope="col" { "height, in" } th.n scope="col" { "aim, in" } th.n scope="col" { "width, in" } } }
                        tbody { @for (at, head) in it.heads.iter().enumerate() { (row_of(it, at, head)) } }
                    }
                }
            }
        }
    }
}

fn row_of(it: &SettingChart, at: usize, head: &ChartHead) -> Markup {
    let value = |value: Option<f64>, of: Option<&SizeChart>| {
        let outside = of.is_some_and(|of| of.outside.contains(&at));
        let value = value.map_or_else(String::new, fourth);
        html! { td.n { @if outside { b.bad { "outside " (value) } } @else { (value) } } }
    };
    html! {
        tr {
            th scope="row" {
                a.tap href={ "/hole/" (address(&head.hole)) } { (head.short) }
                @if it.breaks.contains(&at) { " " small { "after setting anew" } }
                @if head.drilled_out { " " small { "drilled out since" } }
            }
            (value(head.height_in, it.heights.as_ref()))
            td.n { (head.aim_in.map_or_else(String::new, fourth)) }
            (value(head.width_in, it.widths.as_ref()))
        }
    }
}

/// A size with all its ten-thousandths, so that a column of them stands in line.
fn fourth(value: f64) -> String {
    format!("{value:.4}").trim_start_matches('0').to_owned()
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Size {
    Height,
    Width,
}

impl Size {
    const fn word(self) -> &'static str {
        match self {
            Self::Height => "Height",
            Self::Width => "Width",
        }
    }
}

fn size(it: &SettingChart, chart: &SizeChart, size: Size) -> Markup {
    let drawn = |at: usize, wide: f64| {
        let key = format!("{}-{}-{at}", it.key, size.word().to_lowercase());
        PreEscaped(svg::write(&chart_of(it, chart, size, key, wide)))
    };
    html! {
        div.drawing.on-narrow { (drawn(0, WIDE[0])) }
        div.drawing.on-wide { (drawn(1, WIDE[1])) }
        ul.says-list { @for line in &chart.says { li { (line) } } }
        @if !chart.working.figures().is_empty() { (working(&format!("{}: where the limits come from", size.word()), &chart.working)) }
    }
}

fn chart_of(it: &SettingChart, chart: &SizeChart, size: Size, key: String, wide: f64) -> Drawing {
    let limits = it.limits.as_ref().map(|limits| match size {
        Size::Height => (limits.min_height_in, limits.max_height_in),
        Size::Width => (limits.min_width_in, limits.max_width_in),
    });
    let level = |value: f64, words: &str, across| Level { value, words: words.to_owned(), across };
    let mut single = Vec::new();
    if let Some((least, most)) = limits {
        single.push(level(least, "least", Across::Least));
        single.extend(most.map(|most| level(most, "most", Across::Most)));
    }
    if let (Some([lower, upper]), Some(mean)) = (chart.of_heads_in, chart.mean_in) {
        single.extend([
            level(lower, "own", Across::OfHeads),
            level(upper, "own", Across::OfHeads),
            level(mean, "mean", Across::Middle),
        ]);
    }
    let mut panels = vec![Panel {
        title: format!("{}, in", size.word()),
        values: chart.values.clone(),
        joined: true,
        outside: chart.outside.clone(),
        levels: single,
        ..Panel::default()
    }];
    let about = if chart.about_aim { "aim" } else { "mean" };
    if chart.averages.iter().any(Option::is_some) {
        panels.push(Panel {
            title: format!("Moving average less the {about}, in"),
            values: chart.averages.clone(),
            joined: true,
            outside: chart.drifted.clone(),
            levels: vec![level(0.0, about, Across::Middle)],
            between: chart.average_limits.iter().map(|limit| limit.map(|it| [-it, it])).collect(),
            ..Panel::default()
        });
    }
    // A width follows from the height and the metal: what drifts slowly is found by the height.
    if let Some(limit) = chart.sum_limit_in.filter(|_| size == Size::Height) {
        let [up, down] = &chart.sums;
        let [crept, crept_down] = chart.crept.clone();
        panels.push(Panel {
            title: format!("Sums about the {about}, in"),
            values: up.clone(),
            second: down.iter().map(|sum| sum.map(|sum| -sum)).collect(),
            joined: true,
            outside: crept,
            second_outside: crept_down,
            levels: vec![level(limit, "limit", Across::OfHeads), level(-limit, "limit", Across::OfHeads)],
            ..Panel::default()
        });
    }
    let chart = Chart {
        key,
        title: format!("{} of heads: {}, {}", size.word(), it.title, it.rivet),
        description: chart.says.join(" "),
        names: it.heads.iter().map(|head| head.short.clone()).collect(),
        first: it.first,
        breaks: it.breaks.clone(),
        panels,
    };
    chart_drawing(&chart, wide)
}

fn drilled(report: &ChartsReport) -> Markup {
    let level = format!("{:.0} %", 100.0 * report.level);
    html! {
        @if report.drilled.is_empty() { p { "No solid rivet is set yet." } }
        @else { p { "Rivets drilled out of a hundred that were set, whatever the reason, with the interval of " (level) " that the counts leave. A rivet that was set and drilled out twice counts twice." } }
        @for (at, it) in report.drilled.iter().enumerate() { (drilled_by(at, it, &level)) }
        @if report.drilled_before > 0 {
            p.small { (report.drilled_before) " drilled out of rivets that were set before the record began: they are in no rate, because nobody counted what was set." }
        }
    }
}

fn drilled_by(at: usize, it: &DrilledOut, level: &str) -> Markup {
    let rates: Vec<Rate> = it
        .rows
        .iter()
        .map(|row| Rate { name: row.name.clone(), rate: row.per_hundred, interval: row.interval })
        .collect();
    let title = format!("Drilled out, by {}", it.by);
    let drawn = |wide: f64| {
        let key = format!("drilled-{at}-{wide}");
        PreEscaped(svg::write(&rates_drawing(&key, &title, "drilled out of a hundred", &rates, wide)))
    };
    html! {
        h3 { "By " (it.by) }
        div.pair {
            div.rates { div.drawing.on-narrow { (drawn(WIDE[0])) } div.drawing.on-wide { (drawn(520.0)) } }
            table.drilled {
                caption { "Drilled out, by " (it.by) }
                thead { tr { td {} th.n scope="col" { "set" } th.n scope="col" { "out" } th.n scope="col" { "per 100" } th.n scope="col" { (level) } } }
                tbody {
                    @for row in &it.rows {
                        tr {
                            th scope="row" { (row.name) @if row.few { br; small { "few: the interval is wide" } } }
                            td.n { (row.set) } td.n { (row.drilled) } td.n { (hundredth(row.per_hundred)) }
                            td.n { (hundredth(row.interval[0])) " to " (hundredth(row.interval[1])) }
                        }
                    }
                }
            }
        }
        @if !it.says.is_empty() { p.small { (it.says) } }
    }
}

fn hundredth(rate: f64) -> String {
    format!("{rate:.1}")
}

fn row(typed: &str) -> Markup {
    html! {
        p { "How many heads of a row are to be measured, none of them outside, before the others can be spoken for. Which ones must be left to chance." }
        form.fields method="get" action="/charts#row" {
            label { "Heads in the row" input name="row" value=(typed) inputmode="numeric" autocomplete="off"; }
            button { "How many" }
        }
        @match typed.trim() {
            "" => {},
            text => @match text.parse::<usize>() {
                Ok(heads @ 1..=100_000) => p.says #wanted { (heads_wanted(heads)) },
                _ => p.caution #wanted { "\"" (text) "\" is not a number of heads: write a whole number, such as 40." },
            },
        }
    }
}

/// Readings of one head, and of a second one, from the fields.
fn readings(asked: &HashMap<String, String>) -> Vec<Vec<String>> {
    ["a", "b"]
        .into_iter()
        .map(|head| {
            let field = |at| asked.get(&format!("{head}{at}")).cloned().unwrap_or_default();
            (1..=FIELDS).map(field).collect()
        })
        .collect()
}

fn caliper(world: &World, asked: &HashMap<String, String>) -> Markup {
    let typed = readings(asked);
    let step = asked.get("step").map_or(STEP, String::as_str);
    let found = world.caliper(&typed, step);
    let any = |head: &[String]| head.iter().any(|text| !text.trim().is_empty());
    // Only who asks for it has a second head: Enter goes through every field there is.
    let second = asked.contains_key("second") || any(&typed[1]);
    let empty = |head: &[String]| head.iter().position(|text| text.trim().is_empty());
    let first_empty = empty(&typed[0]);
    let second_empty = empty(&typed[1]).filter(|_| first_empty.is_none() && !any(&typed[1]));
    html! {
        p.trail { a.tap href="/charts" { "Charts" } " · " a.tap href="/measure" { "Measure" } }
        h1 { "Caliper" }
        p { "Measure one shop head ten times, the same width each time. Open the jaws and take the caliper off between readings; write down what it shows, also when it surprises." }
        form.fields #caliper method="get" action="/charts" data-caliper="send" {
            input type="hidden" name="show" value="caliper";
            (fields("a", "Reading", &typed[0], first_empty))
            @if second {
                h2 { "A second head" }
                p.small { "Its readings are held against their own mean." }
                (fields("b", "Head 2, reading", &typed[1], second_empty))
            }
            // No caliper types it, so Enter passes it by.
            label.short { "Smallest step of the display, in" input name="step" value=(step) inputmode="text" autocomplete="off"; }
            p.hint { small { "Enter goes to the next empty field, as a caliper with a cable does, and after the last one asks." } }
            button { "Work it out" }
        }
        section #spread aria-live="polite" aria-label="What the readings say" {
            @match &found {
                Err(why) => p.caution { (first_upper(why)) "." },
                Ok(None) => { @if any(&typed[0]) { p { "One reading says nothing of its spread." } } },
                Ok(Some(it)) => {
                    (spread(it))
                    @if !second { p { button form="caliper" name="second" value="1" { "Read a second head as well" } } }
                },
            }
        }
        script src="/assets/measure.js" defer {}
        script src="/assets/charts.js" defer {}
    }
}

fn fields(head: &str, label: &str, typed: &[String], first_empty: Option<usize>) -> Markup {
    html! {
        div.readings {
            @for (at, text) in typed.iter().enumerate() {
                label { (label) " " (at + 1) input name={ (head) (at + 1) } value=(text) inputmode="decimal" autocomplete="off" autofocus[first_empty == Some(at)]; }
            }
        }
    }
}

fn spread(it: &CaliperReport) -> Markup {
    let fifth = |value: f64| {
        let text = format!("{value:.5}");
        text.trim_start_matches('0').to_owned()
    };
    html! {
        h2 { "What " (it.n) " readings say" }
        table.limits {
            tbody {
                @for (at, [least, most]) in it.ranges_in.iter().enumerate() {
                    tr { th scope="row" { @if it.ranges_in.len() > 1 { @if at == 0 { "First head" } @else { "Second head" } } @else { "Readings" } } td.n { (inches(*least)) " to " (inches(*most)) " in" } }
                }
                tr { th scope="row" { "Standard deviation s" } td.n { (fifth(it.s_in)) " in" } }
                tr { th scope="row" { "Degrees of freedom of s" } td.n { (it.freedom) } }
                tr { th scope="row" { "s itself is known to" } td.n { "± " (format!("{:.0}", 100.0 * it.s_share)) " %" } }
                tr { th scope="row" { "Standard uncertainty of a reading" } td.n { b { (fifth(it.u_in)) " in" } } }
                @if let Some(freedom) = it.u_freedom { tr { th scope="row" { "Degrees of freedom of it" } td.n { (format!("{freedom:.1}")) } } }
                tr { th scope="row" { "95 times in 100 a reading is within" } td.n { "± " (fifth(it.within_in)) " in" } }
            }
        }
        p.small { "That is how far readings differ among themselves. Whether the caliper reads true is another question: a gauge block, or the shank of a drill of known size, answers it." }
        (working("How it was worked out", &it.working))
        h2 { "For limits.toml" }
        p { "Used now: " (fifth(it.used_in)) " in, " (it.used_source) "." }
        @match (&it.line, &it.note) {
            (Some(line), Some(note)) => {
                p { @if it.used_own { "limits.toml has a caliper already: write this in the place of that line." } @else { "Write this line into limits.toml, above any line that begins with [. A new limits.toml begins with format = 1." } }
                div.line-to-copy { pre #line { (line) } button type="button" data-copy-line=(line) { "Copy the line" } }
                form.fields #keep data-act=(serde_json::json!({ "kind": "note", "about": "", "text": note }).to_string()) {
                    p.small { (note) }
                    p.says data-says role="status" hidden {}
                    button { "Put that into the record" }
                }
            },
            _ => p.note {
                @if it.missing == 1 { "1 reading more is wanted" } @else if it.missing > 1 { (it.missing) " readings more are wanted" } @else { "The readings are all the same and no step of the display is given" }
                " before this goes into limits.toml."
            },
        }
    }
}
