//! Pages over HTTP.
//!
//! Server-rendered; small scripts without a build step. A page asks the open
//! [`Build`] for what it shows and computes nothing. Acts are posted to one
//! address, answered one by one, and only after they are on the disk. Live
//! updates carry nothing but a version number; a page fetches its own parts.

mod acts;
mod assets;
mod guard;
mod layout;
mod live;
mod pages;
pub mod prints;
mod question;

use std::sync::Arc;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::routing::{get, post};
use faying_build::Build;

/// Where the pages are served, and who may ask.
#[derive(Clone, Debug)]
pub struct Settings {
    /// Names beside localhost by which a browser may call.
    pub hosts: Vec<String>,
    /// The port.
    pub port: u16,
    /// Whether the workshop's network may ask by address.
    pub lan: bool,
}

/// What every page gets.
#[derive(Clone, Debug)]
struct App {
    build: Arc<Build>,
    settings: Arc<Settings>,
}

/// Serves a build until `ending` comes.
///
/// # Errors
/// Where the listener fails.
pub async fn serve(
    listener: tokio::net::TcpListener,
    build: Arc<Build>,
    settings: Settings,
    ending: impl Future<Output = ()> + Send + 'static,
) -> std::io::Result<()> {
    let app = App { build, settings: Arc::new(settings) };
    // Open streams must end with the server, or it would wait for every page to be closed.
    let (closing, closed) = tokio::sync::watch::channel(false);
    let ending = async move {
        ending.await;
        let _ = closing.send(true);
    };
    axum::serve(listener, router(app, closed)).with_graceful_shutdown(ending).await
}

fn router(app: App, closed: tokio::sync::watch::Receiver<bool>) -> Router {
    Router::new()
        .route("/", get(pages::today::page))
        .route("/assemblies", get(pages::assembly::list))
        .route("/assembly/{assembly}", get(pages::assembly::page))
        .route("/hole/{*hole}", get(pages::hole::page))
        .route("/entry", post(pages::entry::create))
        .route("/entry/{assembly}", get(pages::entry::page).post(pages::entry::write))
        .route("/entry/{assembly}/preview", post(pages::entry::preview))
        .route("/import/{assembly}", get(pages::import::page))
        .route(
            "/import/{assembly}/look",
            post(pages::import::look).layer(DefaultBodyLimit::max(pages::import::MOST_BYTES)),
        )
        .route(
            "/import/{assembly}/write",
            post(pages::import::write).layer(DefaultBodyLimit::max(pages::import::MOST_BYTES)),
        )
        .route("/examine/{aspect}", get(pages::examine::page))
        .route("/fault/{act}", get(pages::fault::page))
        .route("/replace/{*hole}", get(pages::replace::page))
        .route("/findings", get(pages::findings::page))
        .route("/gate/{*gate}", get(pages::gate::page))
        .route("/owed", get(pages::owed::page))
        .route("/step/{assembly}/{step}", get(pages::step::page))
        .route("/plan", get(pages::plan::page))
        .route("/plan/drawing", get(pages::plan::drawing))
        .route("/plan/finish", get(pages::plan::finish))
        .route("/plan/gates", post(pages::plan::start_gates))
        .route("/plan/open", get(pages::plan::open))
        .route("/plan/to", get(pages::plan::choose))
        .route("/plan/to/{*gate}", get(pages::plan::path))
        .route("/photos", get(pages::photos::page).post(pages::photos::keep))
        .route("/photos/{file}", get(pages::photos::file))
        .route("/run/{assembly}/{step}", get(pages::run::before))
        .route("/search/{assembly}/{step}", get(pages::search::part).post(pages::search::begin))
        .route("/search/{assembly}/{step}/stop", post(pages::search::stop))
        .route("/bench/{run}", get(pages::run::bench))
        .route("/bench/{run}/data", get(pages::run::data))
        .route("/measure", get(pages::measure::page))
        .route("/charts", get(pages::charts::page))
        .route("/tools", get(pages::tools::page))
        .route("/tools/{*what}", get(pages::tools::form::page).post(pages::tools::form::write))
        .route("/print/question/{file}", get(pages::print::question))
        .route("/print/plan.pdf", get(pages::plan::print))
        .route("/print/{assembly}/{step}/{file}", get(pages::print::file))
        .route("/record", get(pages::record::page))
        .route("/standards", get(pages::standards::page))
        .route("/acts", post(acts::post))
        .route("/live", get(live::stream).with_state((app.clone(), closed)))
        .route("/assets/{*name}", get(assets::file))
        .fallback(pages::not_found)
        .layer(axum::middleware::from_fn_with_state(app.clone(), guard::guard))
        .with_state(app)
}
