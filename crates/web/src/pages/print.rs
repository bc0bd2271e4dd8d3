//! Prints of a step as PDF.

use axum::extract::{Path, RawQuery, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use faying_sheet::Paper;

use super::{missing, refresh};
use crate::App;
use crate::prints::{Print, print};

pub async fn file(
    State(app): State<App>,
    Path((assembly, step, file)): Path<(String, String, String)>,
    RawQuery(query): RawQuery,
    headers: HeaderMap,
) -> Response {
    refresh(&app);
    let Some(what) = file.strip_suffix(".pdf").and_then(Print::named) else {
        return missing(&app, &format!("There is no print {file}: write card.pdf, labels.pdf or map.pdf."));
    };
    let paper = match paper(query.as_deref()) {
        Ok(paper) => paper,
        Err(why) => return missing(&app, &why),
    };
    let name = format!("{assembly}/{step}");
    // The guard has let this name through: it is one by which the phone can call too, unless it is this machine's own.
    let host = headers.get(header::HOST).and_then(|host| host.to_str().ok()).unwrap_or("localhost");
    let printed = {
        let world = app.build.world();
        let Some(id) = world.plan().step_named(&name) else {
            drop(world);
            return missing(&app, &format!("The plan has no step {name}."));
        };
        print(&world, id, what, paper, &format!("http://{host}/run/{name}"))
    };
    sent(&app, printed, &format!("{assembly}-{step}-{file}"))
}

/// The question about a fault: one page for whoever decides.
pub async fn question(
    State(app): State<App>,
    Path(file): Path<String>,
    RawQuery(query): RawQuery,
    headers: HeaderMap,
) -> Response {
    refresh(&app);
    let paper = match paper(query.as_deref()) {
        Ok(paper) => paper,
        Err(why) => return missing(&app, &why),
    };
    let id = file.strip_suffix(".pdf").unwrap_or(&file).to_owned();
    let host = headers.get(header::HOST).and_then(|host| host.to_str().ok()).unwrap_or("localhost");
    let printed = {
        let world = app.build.world();
        let Some(report) = world.fault_report(&id) else {
            drop(world);
            return missing(&app, "The record has no fault of that name.");
        };
        crate::question::print(&world, &report, paper, &format!("http://{host}/fault/{id}"))
    };
    sent(&app, printed, "question.pdf")
}

/// The paper that is asked for.
fn paper(query: Option<&str>) -> Result<Paper, String> {
    match query.and_then(|query| query.split('&').find_map(|it| it.strip_prefix("paper="))) {
        None | Some("a4") => Ok(Paper::A4),
        Some("letter") => Ok(Paper::Letter),
        Some(other) => Err(format!("There is no paper {other}: write a4 or letter.")),
    }
}

fn sent(app: &App, printed: Result<Vec<u8>, String>, name: &str) -> Response {
    match printed {
        Ok(bytes) => (
            [
                (header::CONTENT_TYPE, "application/pdf".to_owned()),
                (header::CONTENT_DISPOSITION, format!("inline; filename=\"{name}\"")),
                (header::CACHE_CONTROL, "no-store".to_owned()),
            ],
            bytes,
        )
            .into_response(),
        Err(why) => {
            (StatusCode::UNPROCESSABLE_ENTITY, missing(app, &format!("Not printed: {why}."))).into_response()
        }
    }
}
