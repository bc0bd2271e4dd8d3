//! A run: before it starts, and at the bench.
//!
//! Before the start the page shows what it takes: set-ups, what to tape off,
//! the tray. At the bench one script owns the moving parts; the page carries
//! its run as data, and the maps are drawn here once.

use std::collections::HashSet;

use axum::Json;
use axum::extract::{Path, RawQuery, State};
use axum::response::{IntoResponse, Response};
use faying_build::report::{RunReport, SetUpReport, TakesReport};
use faying_build::room::{HoleId, PlaneId, Point, Side, StepId, StepState};
use faying_build::{BenchReport, BenchSetUp, OtherHand, OwedReport, World};
use faying_sheet::symbol::state_drawing;
use faying_sheet::{HoleLook, HoleState, PlaneOptions, plane_drawing, svg};
use maud::{Markup, PreEscaped, html};

use super::assembly::address;
use super::{answer, missing, owed, refresh, search};
use crate::App;
use crate::layout::{About, Tab, first_upper, page_about, page_with_script_about};

/// Tools that are not at hand, as the page's address carries them: `?without=deep&without=hand`.
pub fn without(query: Option<&str>) -> Vec<String> {
    let pairs = query.unwrap_or_default().split('&');
    pairs.filter_map(|pair| pair.strip_prefix("without=")).map(str::to_owned).collect()
}

pub async fn before(
    State(app): State<App>,
    Path((assembly, step)): Path<(String, String)>,
    RawQuery(query): RawQuery,
) -> Response {
    refresh(&app);
    let world = app.build.world();
    let name = format!("{assembly}/{step}");
    let Some(id) = world.plan().step_named(&name) else {
        drop(world);
        return missing(&app, &format!("The plan has no step {name}."));
    };
    let without = without(query.as_deref());
    let report = RunReport::of(&world, &world.run_without(id, &without));
    let look = app.build.look(&world, id, &without);
    let started = world
        .state
        .runs()
        .iter()
        .rev()
        .find(|run| run.step == name && run.ended.is_none())
        .map(|run| run.run.clone());
    let before = Before {
        report: &report,
        look: search::panel(&name, &without, &look, None),
        started: started.as_deref(),
        not_yet: world.not_yet(id),
        without: without
            .iter()
            .filter_map(|name| Some((name.clone(), world.plan().tools.title_of(name)?.to_owned())))
            .collect(),
        other_hand: world.other_hand(id),
        hands: world.hands_open(world.plan()[id].assembly).then(|| hands(&world, id)),
        gate: at_gate(&world, id),
        owed: owed_at_step(&world, id),
    };
    answer(page_about(&world, Tab::None, &report.title, About::Place(&name), &before.main()))
}

/// What is looked at before left and right can be mistaken for ever.
fn hands(world: &World, step: StepId) -> Markup {
    let plan = world.plan();
    let assembly = &plan[plan[step].assembly];
    let other = plan.assemblies.iter().find(|it| it.mirror_of == Some(plan[step].assembly));
    let other = assembly.mirror_of.map(|other| &plan[other]).or(other);
    html! {
        section.hands aria-labelledby="hands" {
            h2 #hands { "Left and right" }
            p {
                "No rivet is in " (assembly.title) " yet. Lay its parts out as they will be"
                @if let Some(other) = other { ", beside those of " (other.title) }
                ", and read the mark on each: which hand, which end outboard, which face forward."
            }
        }
    }
}

/// The gate that keeps a step from being begun, with its title.
fn at_gate(world: &World, step: StepId) -> Option<(String, String)> {
    match world.progress().of(step).state {
        StepState::AtGate { gate } => Some((world.plan().gate_name(gate), world.gate_title(gate))),
        _ => None,
    }
}

/// What is owed at a step itself, at the holes that it fills, and at the pieces that come in or are worked on.
pub fn owed_at_step(world: &World, step: StepId) -> Vec<OwedReport> {
    let plan = world.plan();
    let fill = &world.side.sequence.work(step).fill;
    let mut here: HashSet<String> = fill.iter().map(|&hole| plan.hole_name(hole)).collect();
    here.extend(fill.iter().map(|&hole| plan.row_name(plan[hole].row)));
    let pieces = plan[step].adds.iter().chain(&plan[step].parts);
    here.extend(pieces.map(|&piece| plan.piece_full_name(piece)));
    here.insert(plan.step_name(step));
    world.owed_at(&world.progress(), |place| here.contains(place))
}

/// What stands before the start of a run.
struct Before<'a> {
    report: &'a RunReport,
    look: Markup,
    started: Option<&'a str>,
    not_yet: Option<String>,
    without: Vec<(String, String)>,
    other_hand: Option<OtherHand>,
    /// What to look at, where left and right are not told apart yet.
    hands: Option<Markup>,
    /// The gate before it that is not passed, with its title.
    gate: Option<(String, String)>,
    owed: Vec<OwedReport>,
}

impl Before<'_> {
    fn main(&self) -> Markup {
        let report = self.report;
        let holes: usize = report.set_ups.iter().map(|it| it.holes.len()).sum();
        html! {
            header.run-head { h1 { (report.title) } p.small { (report.sheet) @if holes > 0 { " · " (holes) " holes, " (plural(report.set_ups.len(), "set-up", "set-ups")) } } }
            @if report.set_ups.is_empty() {
                p.note { "Every hole that can be set at this step is set." }
            } @else {
                @if let (None, Some(why)) = (self.started, &self.not_yet) {
                    p.caution { b { "Not yet. " } (first_upper(why)) "."
                        @if let Some((gate, title)) = &self.gate { br; a.tap href={ "/gate/" (address(gate)) } { (title) } } }
                }
                p.caution { "Eyes and ears: glasses and ear protection before the first rivet. Fingers out of the yoke." }
                @if let (None, None, Some(look)) = (self.started, &self.not_yet, &self.hands) { (look) }
                (takes(&report.takes, &self.look))
                (self.other_hand())
            }
            (owed::here(&self.owed, "Owed at this step"))
            (self.open())
            (self.tray())
            (self.helper())
            @if !report.set_ups.is_empty() {
                h2 { "Set-ups, in order" }
                ol.set-ups { @for it in &report.set_ups { li { (self.set_up(it)) } } }
                (self.at_hand())
                (self.prints())
                (self.start())
            }
        }
    }

    /// Within its own assembly a row needs no more than `web/A`.
    fn row<'r>(&self, row: &'r str) -> &'r str {
        let assembly = self.report.step.rsplit_once('/').map_or("", |(assembly, _)| assembly);
        row.strip_prefix(assembly).and_then(|row| row.strip_prefix('/')).unwrap_or(row)
    }

    /// Within the thumb's reach wherever the page stands.
    fn start(&self) -> Markup {
        html! {
            @if let Some(run) = self.started {
                div.start { a.button.go.wide href={ "/bench/" (run) } { "Go on with the run" } }
            } @else if self.not_yet.is_none() && self.hands.is_some() {
                @let assembly = self.report.step.split('/').next().unwrap_or("");
                form.start data-act=(serde_json::json!({ "kind": "looked", "need": "hands", "place": assembly }).to_string()) {
                    p.caution data-says hidden {}
                    button.go.wide { "Left and right are told apart" }
                }
            } @else if self.not_yet.is_none() {
                @let without: Vec<&String> = self.without.iter().map(|(name, _)| name).collect();
                form.start data-act=(serde_json::json!({ "kind": "start", "step": self.report.step, "without": without }).to_string()) data-new="run" data-then="/bench/ID" {
                    p.caution data-says hidden {}
                    button.go.wide { "Start the run" }
                }
            }
        }
    }

    fn other_hand(&self) -> Markup {
        html! {
            @if let Some(other) = &self.other_hand {
                p.note { "Runs in the order of " a href={ "/bench/" (other.run) } { (other.title) } ", mirrored. " (other.learned) }
            }
        }
    }

    fn open(&self) -> Markup {
        html! {
            @if !self.report.open.is_empty() {
                h2 { "Tape these: they stay open" }
                ul.lines {
                    @for open in &self.report.open {
                        li { div.line { span { b { (self.row(&open.row)) } ", " (open.holes) br; small { (open.why) } } span.count { (open.names.len()) } } }
                    }
                }
            }
        }
    }

    fn tray(&self) -> Markup {
        let report = self.report;
        html! {
            @if !report.bag.is_empty() {
                h2 { "In the tray" }
                table {
                    thead { tr { th scope="col" { "Fastener" } th.n scope="col" { "Need" } th.n scope="col" { "Spare" } } }
                    tbody { @for line in &report.bag { tr { td { (line.fastener) } td.n { (line.need) } td.n { (line.spare) } } } }
                }
            }
            @for it in &report.clecoes {
                @match it.have {
                    Some(have) if have < it.need => p.caution { b { "Short of clecoes. " } (it.need) " hold every other hole for " (it.diameter) ", and there are " (have) ": set it in stretches, or borrow " (it.need - have) "." },
                    Some(_) => p.small { (it.need) " clecoes for " (it.diameter) " hold every other hole." },
                    None => p.small { (it.need) " clecoes for " (it.diameter) " hold every other hole; how many there are is not in tools.toml." },
                }
            }
        }
    }

    fn helper(&self) -> Markup {
        html! {
            @if !self.report.helper.is_empty() {
                h2 { "With a helper" }
                p.small { "These want a second person: keep them for an evening with a helper. The helper's first rivets are looked at from outside before going on." }
                ul.lines {
                    @for row in &self.report.helper { li { div.line { span { b { (self.row(&row.row)) } ", " (row.holes) } span.count { (row.count) } } } }
                }
            }
        }
    }

    fn set_up(&self, it: &SetUpReport) -> Markup {
        let tool = [&it.tool, &it.with, &it.dies].into_iter().filter(|part| !part.is_empty());
        let tool: Vec<&str> = tool.map(String::as_str).collect();
        html! {
            b { (it.title) } " · " (it.holes.len()) " holes"
            p.small { @for (n, row) in it.rows.iter().enumerate() { @if n > 0 { "; " } (self.row(&row.row)) ", " (row.holes) } }
            p.small { (first_upper(&tool.join(", "))) @if it.people > 1 { " · two people" } }
            @if !it.head_on.is_empty() { p.small { "Manufactured head " (it.head_on) } }
            @if !it.setting.is_empty() { p.small { (it.setting) } }
            @for note in &it.notes { p.small { (first_upper(note)) } }
            details {
                summary { "Why" }
                p.small { (first_upper(&it.why)) "." }
                @for stack in it.stacks.iter().filter(|stack| stack.aim_in.is_some()) {
                    p.small { (stack.sheets) ": aim at " (decimal(stack.aim_in)) " in high" @if let Some(p) = stack.p_height { "; " (percent(p)) " land inside" } "." }
                }
                @for (tool, reason) in &it.refused { p.small { b { (first_upper(tool)) ": " } (reason) "." } }
            }
        }
    }

    /// Tools of this run, each with a way to do without it.
    fn at_hand(&self) -> Markup {
        let address = |names: &[&String]| {
            let names: Vec<String> = names.iter().map(|name| format!("without={name}")).collect();
            format!("/run/{}?{}", self.report.step, names.join("&"))
        };
        let missing: Vec<&String> = self.without.iter().map(|(name, _)| name).collect();
        html! {
            @if self.started.is_none() {
                details.tools open[!missing.is_empty()] {
                    summary { "A tool is not at hand" }
                    ul.lines {
                        @for (name, title) in &self.without {
                            @let rest: Vec<&String> = missing.iter().copied().filter(|other| *other != name).collect();
                            li { a href=(address(&rest)) { span { (title) " is here again" } } }
                        }
                        @for tool in &self.report.tools {
                            @let more: Vec<&String> = missing.iter().copied().chain([&tool.name]).collect();
                            li { a href=(address(&more)) { span { "Without " (tool.title) } } }
                        }
                    }
                }
            }
        }
    }

    fn prints(&self) -> Markup {
        let step = &self.report.step;
        html! {
            h2 { "On paper" }
            ul.lines.prints {
                @for (what, title) in [("card", "Run card"), ("labels", "Bag labels"), ("map", "Full-size map")] {
                    li { div.line { span { (title) } span {
                        a href={ "/print/" (step) "/" (what) ".pdf?paper=a4" } { "A4" } " "
                        a href={ "/print/" (step) "/" (what) ".pdf?paper=letter" } { "Letter" }
                    } } }
                }
            }
        }
    }
}

/// What the run takes, and what it is compared with.
fn takes(it: &TakesReport, look: &Markup) -> Markup {
    html! {
        section.takes {
            p.big { (duration(it.minutes)) " " small { "reckoned" } }
            dl {
                dt { "Order" }
                dd { @if it.proven { "no order of these set-ups is quicker" } @else { "within " (percent(it.gap)) " of the least there can be, " (duration(it.bound_minutes)) } "; row by row as the plan lists them it is " (duration(it.plan_order_minutes)) }
                dt { "Settings" }
                dd { (it.settings) @if it.settings > 0 { "; one for each length would be " (it.settings_per_length) (against(it, 1)) ", one for each grip " (it.settings_per_grip) (against(it, 2)) } }
                dt { "Changes" }
                dd { (changes(&it.changes)) }
            }
            (look)
        }
        script src="/assets/search.js" defer {}
    }
}

/// What is changed between set-ups, in words; dies and turning over are said even where there is none of it.
fn changes(&[tool, yoke, dies, _, bag, flips]: &[u32; 6]) -> String {
    let times = |count: u32, one: &str, many: &str| (count > 0).then(|| plural(count as usize, one, many));
    let said = [
        times(tool, "other tool", "other tools"),
        times(yoke, "other yoke or bar", "other yokes or bars"),
        Some(times(dies, "change of dies", "changes of dies").unwrap_or_else(|| "no other dies".to_owned())),
        times(bag, "other bag", "other bags"),
        Some(match flips {
            0 => "never turned over".to_owned(),
            1 => "turned over once".to_owned(),
            many => format!("turned over {many} times"),
        }),
    ];
    said.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// What another choice of settings would take, set-ups and rivets drilled out again together.
fn against(it: &TakesReport, other: usize) -> String {
    let more = it.settings_minutes[other] - it.settings_minutes[0];
    let more_words = duration(more.abs());
    match more.round() as i64 {
        0 => String::new(),
        1.. => format!(" ({more_words} more, rework with it)"),
        _ => format!(" ({more_words} less, rework with it)"),
    }
}

fn plural(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// Minutes as they are said: `48 min`, `1 h 12 min`.
pub fn duration(minutes: f64) -> String {
    let whole = minutes.round() as u64;
    match (whole / 60, whole % 60) {
        (0, 0) => "under 1 min".to_owned(),
        (0, minutes) => format!("{minutes} min"),
        (hours, minutes) => format!("{hours} h {minutes:02} min"),
    }
}

/// A part in per cent; what is not nothing does not read as nothing.
pub fn percent(part: f64) -> String {
    if part > 0.0 && part < 0.000_5 {
        return "less than 0.1 %".to_owned();
    }
    format!("{:.1} %", part * 100.0)
}

fn decimal(inches: Option<f64>) -> String {
    inches.map_or_else(String::new, |inches| format!("{inches:.3}").trim_start_matches('0').to_owned())
}

pub async fn bench(State(app): State<App>, Path(run): Path<String>) -> Response {
    refresh(&app);
    let world = app.build.world();
    let Some(report) = world.bench(&run) else {
        drop(world);
        return missing(&app, "There is no such run.");
    };
    let main = bench_main(&world, &report);
    let about = About::Place(&report.step);
    answer(page_with_script_about(&world, Tab::None, &report.title, about, &main))
}

/// The run's data alone, for a page that has seen a new version.
pub async fn data(State(app): State<App>, Path(run): Path<String>) -> Response {
    match app.build.world().bench(&run) {
        Some(report) => Json(report).into_response(),
        None => (axum::http::StatusCode::NOT_FOUND, "There is no such run.").into_response(),
    }
}

fn bench_main(world: &World, report: &BenchReport) -> Markup {
    // In a data block "</script" must not end it early.
    let data = serde_json::to_string(report).unwrap_or_default().replace('<', "\\u003c");
    html! {
        div #run {
            header.run-head { h1 { (report.title) } p.small #where {} }
            section.set-up aria-labelledby="set-up" {
                h2 #set-up {}
                details #facts open { summary { "Tool, setting, limits" } dl #set-up-facts {} }
                div.turn #set-up-turn { button type="button" #previous { "Set-up before" } button type="button" #next { "Next set-up" } }
            }
            @for (number, set_up) in report.set_ups.iter().enumerate() {
                div.maps data-set-up=(number) hidden { (maps(world, report, number, set_up)) }
            }
            p.legend {
                @for state in [HoleState::Now, HoleState::ToDo, HoleState::Set, HoleState::SetMeasured, HoleState::Open] {
                    span { (PreEscaped(svg::write(&state_drawing(&format!("legend-{}", state.key()), HoleLook::plain(state))))) " " (state.words()) }
                }
                span { "broken ring: drilled out" }
            }
            div.dock {
                section #bag hidden {
                    h3 { "The bag first" }
                    p.now { b #bag-says {} small #bag-look {} }
                    details { summary { "Write the three lengths down" } label { "Lengths, in, with spaces between" input #bag-lengths autocomplete="off"; } }
                    div.turn { button.go type="button" #bag-right { "Right bag" } button type="button" #bag-wrong { "Wrong bag" } }
                }
                section #scrap hidden {
                    h3 { "Scrap first" }
                    p.small { "One head on scrap of the same stack. A second squeeze may help; a crack means another rivet." }
                    div.pair {
                        label { "Width, in" input #scrap-width inputmode="decimal" autocomplete="off"; }
                        label { "Height, in" input #scrap-height inputmode="decimal" autocomplete="off"; }
                    }
                    label #scrap-opened-of hidden { "Opened since the last good head, in (− for less open)" input #scrap-opened inputmode="text" autocomplete="off"; }
                    p.verdict #scrap-verdict role="status" {}
                    div.turn { button.go type="button" #scrap-done { "Scrap measured" } button type="button" #scrap-skip { "Set without scrap" } }
                }
                section #work {
                    p.now { b #now-holes {} small #now-words {} }
                    button.go.wide type="button" #set { "Set" }
                    div.turn { button type="button" #one { "One hole" } button type="button" #measure { "Measure" } button type="button" #wrong { "Not right" } }
                    div.turn { button.quiet type="button" #undo { "Take back" } button.quiet type="button" #all { "Set all of this set-up" } }
                }
                section #measuring hidden {
                    h3 #measuring-title {}
                    p.small #measuring-limits {}
                    div.pair {
                        label { "Width, in" input #width inputmode="decimal" autocomplete="off"; }
                        label { "Height, in" input #height inputmode="decimal" autocomplete="off"; }
                    }
                    p.verdict #verdict role="status" {}
                    div.turn { button.go type="button" #keep { "Keep this" } button type="button" #later { "Not now" } button type="button" #this-wrong { "Not right" } }
                }
                section #not-right hidden {
                    h3 #not-right-title {}
                    label { "What is wrong" input #why autocomplete="off"; }
                    div.turn { button.go type="button" #drilled { "Drilled out" } button type="button" #noted { "Only a note" } button type="button" #leave { "Nothing" } }
                    p.small { "The second rivet in a hole is usually worse than the first. Structure that departs from the plan goes to the kit's designer." }
                }
                p.says #says role="status" {}
                details #more {
                    summary { "More" }
                    div.turn { button type="button" #put-off { "Put off" } a.button href="/" { "Stop for now" } }
                    @if !report.tools.is_empty() || !report.without.is_empty() {
                        p.small { "A tool that is not at hand: what is left is put in order without it." }
                        div.turn.tools {
                            @for tool in &report.tools { button type="button" data-without=(tool.name) { "Without " (tool.title) } }
                            @for tool in &report.without { button type="button" data-with=(tool.name) { (tool.title) " is here again" } }
                        }
                    }
                    div.pair {
                        label { "Bench temperature, as 20 C or 68 F" input #temperature autocomplete="off"; }
                        button type="button" #temperature-keep { "Keep" }
                    }
                }
            }
            section #finished hidden {
                h2 { "All set" }
                p { "Every hole of this run is set." }
                button.go type="button" #end { "End the run" }
            }
            script #run-data type="application/json" { (PreEscaped(data)) }
            script src="/assets/run.js" defer {}
        }
    }
}

/// The maps of a set-up: a plane for each that it touches, or a strip of squares for rows without one.
fn maps(world: &World, report: &BenchReport, number: usize, set_up: &BenchSetUp) -> Markup {
    let plan = world.plan();
    let ours: Vec<HoleId> = set_up.holes.iter().filter_map(|hole| plan.hole_named(&hole.name)).collect();
    let mut planes: Vec<PlaneId> = Vec::new();
    let mut undrawn: Vec<HoleId> = Vec::new();
    for &hole in &ours {
        match plan[plan[hole].row].plane {
            Some(plane) if !planes.contains(&plane) => planes.push(plane),
            Some(_) => {}
            None => undrawn.push(hole),
        }
    }
    let step = plan.step_named(&report.step);
    let open: Vec<HoleId> = step.map_or_else(Vec::new, |step| {
        world.side.sequence.work(step).open.iter().map(|(hole, _)| *hole).collect()
    });
    let side =
        world.side.joints.at(*ours.first().unwrap_or(&HoleId(0))).map_or(Side::Near, |joint| joint.head.side);
    let mut sorted = ours.clone();
    sorted.sort_unstable();
    html! {
        @for plane in planes {
            @let look = |hole: HoleId| HoleLook::plain(if sorted.binary_search(&hole).is_ok() { HoleState::ToDo } else if open.contains(&hole) { HoleState::Open } else { HoleState::Other });
            @let options = PlaneOptions {
                key: format!("m{number}-{}", plane.index()),
                width: 362.0,
                max_height: 620.0,
                window: Some(window(world, plane, &ours)),
                max_aspect: Some(4.0),
                least_pitch: 15.0,
                touch: true,
                title_block: false,
                ..PlaneOptions::default()
            };
            p.small { (plan[plane].title) ", from " (plan[plane].side_name(side)) }
            div.drawing { (PreEscaped(svg::write(&plane_drawing(plan, plane, side, &look, &options)))) }
        }
        @if !undrawn.is_empty() {
            ol.strip aria-label="Holes of this set-up" {
                @for hole in &undrawn {
                    @let name = plan.hole_name(*hole);
                    li { button type="button" data-hole=(name) { (plan[*hole].number) } }
                }
            }
        }
    }
}

/// What of a plane a set-up needs to see: its holes, and an inch and a half around them.
fn window(world: &World, plane: PlaneId, holes: &[HoleId]) -> [f64; 4] {
    const AROUND: f64 = 1.5;
    let plan = world.plan();
    let mut window = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
    for &hole in holes.iter().filter(|&&hole| plan[plan[hole].row].plane == Some(plane)) {
        if let Some([x, y]) = plan[hole].at.map(Point::inches) {
            window = [
                window[0].min(x - AROUND),
                window[1].min(y - AROUND),
                window[2].max(x + AROUND),
                window[3].max(y + AROUND),
            ];
        }
    }
    window
}
