//! Steps and gates drawn: in lanes for the desk and for paper, as a column for a phone.

use axum::extract::{RawQuery, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use faying_build::{ArcReport, PlanReport, Stands, World};
use faying_sheet::network::{Arc, Network, Node, Path, Standing, lanes, rails};
use faying_sheet::{Drawing, Paper, svg};
use maud::{Markup, PreEscaped, html};

use crate::App;
use crate::layout::revision;
use crate::pages::{missing, refresh};
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
pub fn network(world: &World, report: &PlanReport, key: &str, keeps: &[usize], arcs: &[ArcReport]) -> Network {
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

/// The drawing on the plan's page: lanes where there is room for them, else what is not done as a column.
pub fn section(world: &World, report: &PlanReport) -> Markup {
    let ahead = report.ahead();
    html! {
        section #drawing {
            h2.on-desk { "Drawing" }
            div.drawing.on-desk { (PreEscaped(svg::write(&whole(world, report)))) }
            @if !ahead.is_empty() {
                details #column.on-phone {
                    summary { "Drawing of what is not done" }
                    div.drawing { (PreEscaped(svg::write(&column(world, report, &ahead)))) }
                }
            }
            p.small { a.tap href="/print/plan.pdf" { "As a PDF" } " · one sheet; where it is larger than A4, print it in tiles" }
        }
    }
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
