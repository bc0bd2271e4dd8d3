//! Style, scripts and fonts, read from disk while developing and compiled in for use.

use axum::extract::Path;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use rust_embed::Embed;

#[derive(Embed)]
#[folder = "assets/"]
struct Assets;

pub async fn file(Path(name): Path<String>) -> Response {
    let Some(file) = Assets::get(&name) else {
        return (StatusCode::NOT_FOUND, "There is no such file.").into_response();
    };
    let kind = match name.rsplit_once('.').map(|(_, ending)| ending) {
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("otf") => "font/otf",
        Some("txt") => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    };
    // Fonts never change; the rest may with the next version of faying.
    let keep = if name.starts_with("fonts/") { "max-age=31536000, immutable" } else { "no-cache" };
    ([(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, keep)], file.data).into_response()
}
