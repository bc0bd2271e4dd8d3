//! Steps and gates drawn: in lanes for the desk and for paper, as a column for a phone.

use axum::extract::{Query, RawQuery, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use faying_build::{ArcReport, PlanReport, Stands, World};
use faying_sheet::network::{Arc, Network, Node, Path, Standing, lanes, rails};
use faying_sheet::{Drawing, Paper, svg};
use maud::{Markup, PreEscaped, html};
use serde::Deserialize;

use crate::App;
use crate::layout::{Tab, page as framed, revision};
use crate::pages::{answer, missing, refresh};
use crate::prints::plan_sheet;

/// Width of the lanes on the widest page, px.
const DESK: f64 = 1145.0;
/// Width of the column on a phone and on the desk, px.
pub const COLUMN: [f64; 2] = [325.0, 900.0];

/// How a step or a gate stands, as the sheet draws it.
pub const fn standing(stands: Stands) -> Standing {
    match stands {
        Stands::Done => Standing::Done,
        Stands::Begun(share) => Standing::Begun(share),
        Stands::Ready => Standing::Ready,
        Stands::Blocked => Standing::Blocked,
        Stands::Passed => Standing::Passed,
        Stands::Clear => Standing::Clear,
        Stands::Shut => Standing::Shut,
    }
}

/// Some of the lines as a network: places in the report become places in it.
pub fn network(
    world: &World,
    report: &PlanReport,
    key: &str,
    keeps: &[usize],
    arcs: &[ArcReport],
) -> Network {
    let mut place = vec![usize::MAX; report.lines.len()];
    for (at, &line) in keeps.iter().enumerate() {
        place[line] = at;
    }
    Network {
        key: key.to_owned(),
        title: String::new(),
        lanes: report.lanes.iter().map(|lane| lane.title.clone()).collect(),
        nodes: keeps
            .iter()
            .map(|&line| {
                let it = &report.lines[line];
                Node {
                    // Two names that differ only by what an address minds would be one id.
                    key: format!("{line}-{}", it.name),
                    link: Some(super::address(&it.link)),
                    title: it.title.clone(),
                    note: it.note.clone(),
                    lane: it.lane,
                    stands: standing(it.stands),
                }
            })
            .collect(),
        arcs: arcs
            .iter()
            .map(|arc| Arc { from: place[arc.from], to: place[arc.to], wait: arc.wait.clone() })
            .collect(),
        path: None,
        revision: revision(world),
        date: faying_build::room::now().get(..10).unwrap_or_default().to_owned(),
    }
}

/// The lanes of the whole plan.
pub fn whole(world: &World, report: &PlanReport) -> Drawing {
    let all: Vec<usize> = (0..report.lines.len()).collect();
    lanes(&network(world, report, "plan", &all, &report.arcs), DESK)
}

/// What is not done on the way to a gate, as a column.
pub fn path(world: &World, report: &PlanReport, path: &faying_build::PathReport, wide: f64) -> Drawing {
    let mut network = network(world, report, &format!("path-{wide:.0}"), &path.lines, &path.arcs);
    network.path = Some(Path { to: path.title.clone(), nodes: (0..path.lines.len()).collect() });
    rails(&network, wide)
}

/// Which drawing was asked for.
#[derive(Debug, Deserialize)]
pub struct Asked {
    /// `column` for what is not done as a column; else the lanes.
    #[serde(default, rename = "as")]
    form: String,
}

/// The drawing on the plan's page: lanes where there is room for them, else what is not done as a column.
///
/// At some hundred steps it is larger than all else on the page together, and a phone rarely asks for it:
/// the page's script fetches what is in view.
pub fn section(report: &PlanReport) -> Markup {
    html! {
        section #drawing {
            h2.on-desk { "Drawing" }
            div.drawing.on-desk data-drawing="/plan/drawing?as=lanes" { (link("lanes")) }
            @if !report.ahead().is_empty() {
                details #column.on-phone {
                    summary { "Drawing of what is not done" }
                    div.drawing data-drawing="/plan/drawing?as=column" { (link("column")) }
                }
            }
            p.small { a.tap href="/print/plan.pdf" { "As a PDF" } " · one sheet; where it is larger than A4, print it in tiles" }
        }
    }
}

fn link(form: &str) -> Markup {
    html! { p { a.tap href={ "/plan/drawing?as=" (form) } { "To the drawing" } } }
}

/// A drawing of the plan on a page of its own; [`section`] takes it from there.
pub async fn page(State(app): State<App>, Query(asked): Query<Asked>) -> Response {
    refresh(&app);
    let world = app.build.world();
    let report = world.plan_report(&world.progress());
    let ahead = report.ahead();
    let drawn = match asked.form.as_str() {
        "column" => column(&world, &report, &ahead),
        _ => whole(&world, &report),
    };
    let main = html! {
        link rel="stylesheet" href="/assets/plan.css";
        p.trail { a href="/plan" { "Plan" } }
        h1 { "Drawing" }
        div.drawing.scroll #drawn { (PreEscaped(svg::write(&drawn))) }
    };
    answer(framed(&world, Tab::Plan, "Drawing of the plan", &main))
}

fn column(world: &World, report: &PlanReport, ahead: &[usize]) -> Drawing {
    rails(&network(world, report, "ahead", ahead, &report.arcs_among(ahead)), COLUMN[0])
}

/// The whole plan as PDF.
pub async fn print(State(app): State<App>, RawQuery(query): RawQuery) -> Response {
    refresh(&app);
    let paper = match query.as_deref() {
        None | Some("paper=a4") => Paper::A4,
        Some("paper=letter") => Paper::Letter,
        Some(other) => {
            return missing(&app, &format!("There is no sheet for {other}: write paper=a4 or paper=letter."));
        }
    };
    let drawing = {
        let world = app.build.world();
        whole(&world, &world.plan_report(&world.progress()))
    };
    match plan_sheet(drawing, paper) {
        Ok(bytes) => (
            [
                (header::CONTENT_TYPE, "application/pdf"),
                (header::CONTENT_DISPOSITION, "inline; filename=\"plan.pdf\""),
                (header::CACHE_CONTROL, "no-store"),
            ],
            bytes,
        )
            .into_response(),
        Err(why) => missing(&app, &format!("Not printed: {why}.")),
    }
}
