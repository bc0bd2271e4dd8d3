//! placeholder
use crate::App;
use axum::extract::State;
use axum::response::Response;
pub async fn page(State(app): State<App>) -> Response {
    super::missing(&app, "Not there yet")
}
