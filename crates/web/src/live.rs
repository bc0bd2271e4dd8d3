//! One stream of version numbers; a page that sees a new one fetches its own parts.

use std::convert::Infallible;
use std::time::Duration;

use axum::body::Body;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use tokio::sync::watch;

use crate::App;

/// How often the version is looked at: well under the second in which two devices see each other.
const LOOK: Duration = Duration::from_millis(200);
/// A sign of life through proxies and sleeping phones.
const ALIVE: u32 = 75;

pub async fn stream(State((app, closed)): State<(App, watch::Receiver<bool>)>) -> Response {
    let body = Body::from_stream(Versions { app, closed, last: 0, quiet: 0 }.into_stream());
    ([(header::CONTENT_TYPE, "text/event-stream"), (header::CACHE_CONTROL, "no-store")], body).into_response()
}

struct Versions {
    app: App,
    closed: watch::Receiver<bool>,
    last: u64,
    quiet: u32,
}

impl Versions {
    fn into_stream(self) -> impl futures_core::Stream<Item = Result<String, Infallible>> + Send {
        futures_util::stream::unfold(self, |mut versions| async move {
            let text = versions.next().await?;
            Some((Ok(text), versions))
        })
    }

    /// The next text to send; none when the server ends.
    async fn next(&mut self) -> Option<String> {
        loop {
            let now = self.app.build.version();
            if now != self.last {
                self.last = now;
                self.quiet = 0;
                return Some(format!("data: {now}\n\n"));
            }
            self.quiet += 1;
            if self.quiet >= ALIVE {
                self.quiet = 0;
                return Some(": still here\n\n".to_owned());
            }
            tokio::select! {
                () = tokio::time::sleep(LOOK) => {}
                _ = self.closed.changed() => return None,
            }
        }
    }
}
