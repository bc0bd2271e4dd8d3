//! The pages, one file each.

pub mod assembly;
pub mod charts;
pub mod entry;
pub mod examine;
pub mod fault;
pub mod findings;
pub mod gate;
pub mod hole;
pub mod import;
pub mod measure;
pub mod owed;
pub mod photos;
pub mod plan;
pub mod print;
pub mod record;
pub mod replace;
pub mod run;
pub mod search;
pub mod standards;
pub mod step;
pub mod today;
pub mod tools;

use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use crate::App;
use crate::layout::{Tab, page};

/// A page as an answer.
fn answer(markup: Markup) -> Response {
    (
        [(header::CONTENT_TYPE, "text/html; charset=utf-8"), (header::CACHE_CONTROL, "no-store")],
        markup.into_string(),
    )
        .into_response()
}

/// Reads the plan again if its files have changed; a file that cannot be read leaves the plan as it was.
fn refresh(app: &App) -> Option<String> {
    app.build.refresh().err().map(|error| error.to_string())
}

/// An address that leads nowhere.
pub async fn not_found(State(app): State<App>) -> Response {
    missing(&app, "There is no such page.")
}

fn missing(app: &App, what: &str) -> Response {
    let world = app.build.world();
    let main = html! {
        h1 { (what) }
        p { a href="/" { "Go to Today" } }
    };
    (StatusCode::NOT_FOUND, answer(page(&world, Tab::None, "Not found", &main))).into_response()
}
