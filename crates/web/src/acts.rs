//! Acts from a page: taken in order, answered one by one.

use axum::Json;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use faying_build::{ActRequest, Answer};
use serde::{Deserialize, Serialize};

use crate::App;

/// Acts in the order in which they were done.
#[derive(Debug, Deserialize)]
pub struct Acts {
    /// Each as it comes, so that one that cannot be read does not hold up the others.
    acts: Vec<serde_json::Value>,
}

/// The answer to one act.
#[derive(Debug, Serialize)]
struct Answered {
    id: String,
    #[serde(flatten)]
    answer: Answer,
}

/// What is sent back.
#[derive(Debug, Serialize)]
struct Answers {
    version: u64,
    answers: Vec<Answered>,
    /// Why the record could not be written, if it could not.
    #[serde(skip_serializing_if = "Option::is_none")]
    failed: Option<String>,
}

pub async fn post(State(app): State<App>, Json(acts): Json<Acts>) -> Response {
    let mut waiting = Vec::with_capacity(acts.acts.len());
    for act in acts.acts {
        let (answer, answered) = tokio::sync::oneshot::channel();
        let id = act["id"].as_str().unwrap_or_default().to_owned();
        let act = match serde_json::from_value::<ActRequest>(act) {
            Ok(act) => act,
            Err(error) => {
                let why = format!("this act cannot be read ({error}); load the page again");
                let _ = answer.send(Ok(Answer::Refused { why }));
                waiting.push((id, answered));
                continue;
            }
        };
        app.build.send(act, move |result| {
            // A page that has gone away in the meantime asks again with the same id.
            let _ = answer.send(result);
        });
        waiting.push((id, answered));
    }
    let mut answers = Vec::with_capacity(waiting.len());
    let mut failed = None;
    for (id, answered) in waiting {
        match answered.await {
            Ok(Ok(answer)) => answers.push(Answered { id, answer }),
            Ok(Err(why)) => failed = Some(why),
            Err(_) => failed = Some("the record was closed".to_owned()),
        }
    }
    Json(Answers { version: app.build.version(), answers, failed }).into_response()
}
