//! Photographs: taken in, shown where they belong, all of them by day.
//!
//! A picture comes as the bytes that the camera wrote and is kept as such;
//! the act that ties it to a place follows by itself, from `photo.js`. What is
//! small on a page is the original, drawn small by the browser.

use axum::Json;
use axum::body::Body;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use faying_build::{OriginalError, PhotographReport, Picture, World};
use futures_util::StreamExt;
use maud::{Markup, html};
use serde::Deserialize;

use super::assembly::address;
use super::{answer, refresh};
use crate::App;
use crate::layout::{Tab, page as framed};

/// Most bytes of one photograph: phones write 2 to 15 MB, and a file that is no picture should not fill the disk.
const MOST_BYTES: usize = 40 * 1024 * 1024;
/// Most bytes that are read off and thrown away, so that a browser hears the answer and not a broken line.
const MOST_READ_OFF: usize = 8 * MOST_BYTES;

/// For which build a photograph was taken.
#[derive(Debug, Deserialize)]
pub struct Asked {
    #[serde(default)]
    build: String,
}

/// Takes in the bytes of one picture; answers with the name under which they are kept.
pub async fn keep(
    State(app): State<App>,
    Query(asked): Query<Asked>,
    headers: HeaderMap,
    body: Body,
) -> Response {
    let kind = headers.get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or("");
    // Some phones do not know their own HEIC; the bytes are looked at anyway.
    if !kind.is_empty() && !kind.starts_with("image/") && !kind.starts_with("application/octet-stream") {
        let why = format!("A photograph is sent as it is, as image/jpeg or image/png, and not as {kind}.");
        return (StatusCode::UNSUPPORTED_MEDIA_TYPE, why).into_response();
    }
    // A phone may have kept the picture since another build was open here.
    if !asked.build.is_empty() && asked.build != app.build.world().id {
        let why = "This photograph was taken on a page of another build; nothing is kept here.";
        return (StatusCode::CONFLICT, why).into_response();
    }
    let bytes = match read(body).await {
        Ok(bytes) => bytes,
        Err(answer) => return answer,
    };
    let build = std::sync::Arc::clone(&app.build);
    // Synced to the disk, which is long for whoever waits for another page.
    match tokio::task::spawn_blocking(move || build.keep_photograph(&bytes)).await {
        Ok(Ok(file)) => Json(serde_json::json!({ "file": file })).into_response(),
        Ok(Err(error @ OriginalError::NotAPicture)) => {
            (StatusCode::UNSUPPORTED_MEDIA_TYPE, sentence(&error)).into_response()
        }
        Ok(Err(error)) => (StatusCode::INTERNAL_SERVER_ERROR, sentence(&error)).into_response(),
        Err(_) => {
            let why = "The photograph was not kept; send it again.";
            (StatusCode::INTERNAL_SERVER_ERROR, why).into_response()
        }
    }
}

async fn read(body: Body) -> Result<Vec<u8>, Response> {
    let (mut bytes, mut seen) = (Vec::new(), 0_usize);
    let mut stream = body.into_data_stream();
    while let Some(chunk) = stream.next().await {
        let Ok(chunk) = chunk else {
            let why = "The photograph did not come to its end; send it again.";
            return Err((StatusCode::BAD_REQUEST, why).into_response());
        };
        seen += chunk.len();
        if seen <= MOST_BYTES {
            bytes.extend_from_slice(&chunk);
        } else {
            bytes = Vec::new();
            if seen > MOST_READ_OFF {
                break;
            }
        }
    }
    if seen > MOST_BYTES {
        let why = format!(
            "This file is larger than {} MB, the most that is kept of one photograph; take it in a smaller size.",
            MOST_BYTES / 1024 / 1024
        );
        return Err((StatusCode::PAYLOAD_TOO_LARGE, why).into_response());
    }
    Ok(bytes)
}

fn sentence(error: &OriginalError) -> String {
    format!("{}.", crate::layout::first_upper(&error.to_string()))
}

/// One original, as it was kept.
pub async fn file(State(app): State<App>, Path(name): Path<String>) -> Response {
    let build = std::sync::Arc::clone(&app.build);
    let asked = name.clone();
    let read = tokio::task::spawn_blocking(move || build.photograph(&asked)).await;
    let bytes = match read {
        Ok(Ok(bytes)) => bytes,
        Ok(Err(error)) if error.is_missing() => {
            let why = "This photograph is not in the build's folder photos/; take the file from a copy.";
            return (StatusCode::NOT_FOUND, why).into_response();
        }
        Ok(Err(error)) => return (StatusCode::INTERNAL_SERVER_ERROR, sentence(&error)).into_response(),
        Err(_) => return StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    };
    let kind = Picture::of(&bytes).map_or("application/octet-stream", Picture::media_type);
    // The name is made from the bytes: other bytes have another name.
    let keep = "private, max-age=31536000, immutable";
    ([(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, keep)], bytes).into_response()
}

/// A tap for the camera, and one for a picture that is there already; both tie it to `about`.
///
/// `about` are lasting names; what a gate asks for is the gate's name and `photograph:NAME`.
pub fn photo_form(about: &[String]) -> Markup {
    let about = serde_json::json!(about).to_string();
    html! {
        form.photo data-about=(about) data-most=(MOST_BYTES) {
            label { "What it shows (may stay empty)" input name="words" autocomplete="off"; }
            div.ways {
                label.button { input type="file" accept="image/*" capture="environment"; span { "Take a photograph" } }
                label.button.quiet { input type="file" accept="image/*,.heic,.heif" multiple; span { "Choose from this device" } }
            }
            p.says data-says role="status" hidden {}
        }
    }
}

/// What is tied to all of `about`, newest first; nothing where there is none.
pub fn photo_strip(world: &World, about: &[String]) -> Markup {
    let photographs = if about.is_empty() { Vec::new() } else { world.photographs(about) };
    html! {
        @if !photographs.is_empty() {
            ul.photos { @for it in &photographs { li { (photograph(it, false)) } } }
        }
    }
}

/// One photograph, small, leading to its original.
fn photograph(it: &PhotographReport, with_about: bool) -> Markup {
    let when = super::today::day_and_time(&it.at);
    let what = if it.words.is_empty() {
        let about: Vec<&str> = it.about.iter().map(|(name, _)| name.as_str()).collect();
        format!(
            "Photograph of {}, {when}",
            if about.is_empty() { "the build".into() } else { about.join(", ") }
        )
    } else {
        it.words.clone()
    };
    html! {
        @if it.shown {
            a href={ "/photos/" (it.file) } { img src={ "/photos/" (it.file) } alt=(what) loading="lazy" decoding="async"; }
        } @else {
            a.unseen href={ "/photos/" (it.file) } aria-label={ (what) ": the original" } {
                "Kept as the phone wrote it, not as JPEG or PNG. This browser may not show it: open the original."
            }
        }
        p {
            @if !it.words.is_empty() { (it.words) br; }
            // The day stands over them where all are listed.
            small { @if with_about { (it.at.get(11..16).unwrap_or("")) } @else { (when) } }
            @if with_about {
                @for (name, link) in &it.about {
                    br;
                    @if link.is_empty() { small { (name) } } @else { a.small href=(address(link)) { (name) } }
                }
            }
        }
    }
}

/// Photographs: all of them, by day.
pub async fn page(State(app): State<App>) -> Response {
    refresh(&app);
    let world = app.build.world();
    answer(framed(&world, Tab::Record, "Photographs", &main(&world)))
}

fn main(world: &World) -> Markup {
    let all = world.photographs(&[]);
    let mut days: Vec<(&str, Vec<&PhotographReport>)> = Vec::new();
    for it in &all {
        let day = it.at.split_once('T').map_or("", |(day, _)| day);
        match days.last_mut() {
            Some((last, list)) if *last == day => list.push(it),
            _ => days.push((day, vec![it])),
        }
    }
    html! {
        p.trail { a href="/record" { "Record" } }
        h1 { "Photographs" }
        p { (all.len()) @if all.len() == 1 { " photograph" } @else { " photographs" } ". The originals are in the folder photos/ of the build, as the camera wrote them; copy that folder with your backups." }
        @if all.is_empty() { p { "They are taken on the page of a step, a hole or a gate, so that they are found there again." } }
        @for (day, list) in &days {
            h2 { @if day.is_empty() { "Without a date" } @else { (day) } }
            ul.photos { @for it in list { li { (photograph(it, true)) } } }
        }
        h2 { "Of the build as a whole" }
        (photo_form(&[]))
    }
}
