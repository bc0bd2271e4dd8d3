//! placeholder
use axum::extract::State;
use axum::response::Response;
use crate::App;
pub async fn page(State(app): State<App>) -> Response {
    super::missing(&app, "Not there yet")
}
pub async fn list(State(app): State<App>) -> Response {
    super::missing(&app, "Not there yet")
}
