//! A longer look for a better order, on the page of a run before its start.
//!
//! The panel is a piece of the Run page and a page of its own address: while a
//! search goes on, a script fetches it twice a second. Begin and end of a
//! search raise the build's version, so that every device that shows the step
//! fetches its page anew. Without the script the buttons are plain forms.

use std::time::Duration;

use axum::extract::{Path, RawQuery, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use faying_build::{Build, FIRST_LOOK, Going, LONGEST_LOOK, LookReport};
use maud::{Markup, html};

use super::assembly::address;
use super::run::{duration, percent, without};
use super::{answer, refresh};
use crate::App;
use crate::layout::first_upper;

/// The panel alone.
pub async fn part(
    State(app): State<App>,
    Path((assembly, step)): Path<(String, String)>,
    RawQuery(query): RawQuery,
) -> Response {
    refresh(&app);
    shown(&app, &format!("{assembly}/{step}"), query.as_deref(), None)
}

/// Begins a search, or joins the one that is going on.
pub async fn begin(
    State(app): State<App>,
    Path((assembly, step)): Path<(String, String)>,
    RawQuery(query): RawQuery,
    headers: HeaderMap,
) -> Response {
    let length = seconds(query.as_deref()).map_or(FIRST_LOOK, Duration::from_secs);
    let act = move |build: &Build, step: &str, out: &[String]| {
        build.look_longer(step, out, length).err().map(|error| error.to_string())
    };
    done(app, format!("{assembly}/{step}"), query.as_deref(), &headers, act).await
}

/// Stops a search; what it found so far is kept.
pub async fn stop(
    State(app): State<App>,
    Path((assembly, step)): Path<(String, String)>,
    RawQuery(query): RawQuery,
    headers: HeaderMap,
) -> Response {
    let act = |build: &Build, step: &str, out: &[String]| {
        build.stop_looking(step, out);
        None
    };
    done(app, format!("{assembly}/{step}"), query.as_deref(), &headers, act).await
}

/// Does what a button asks, and answers with the panel for a script, with the page for a form.
async fn done(
    app: App,
    step: String,
    query: Option<&str>,
    headers: &HeaderMap,
    act: impl FnOnce(&Build, &str, &[String]) -> Option<String> + Send + 'static,
) -> Response {
    let (build, asked, out) = (app.build.clone(), step.clone(), without(query));
    let acted = tokio::task::spawn_blocking(move || act(&build, &asked, &out)).await;
    let why = acted.unwrap_or_else(|error| Some(error.to_string()));
    let accepts = headers.get(header::ACCEPT).and_then(|value| value.to_str().ok()).unwrap_or_default();
    if accepts.starts_with("text/html") && why.is_none() {
        let out = self::query(&without(query));
        return Redirect::to(&format!("/run/{}{out}#look", address(&step))).into_response();
    }
    shown(&app, &step, query, why)
}

fn shown(app: &App, step: &str, query: Option<&str>, why: Option<String>) -> Response {
    let world = app.build.world();
    let Some(id) = world.plan().step_named(step) else {
        return (StatusCode::NOT_FOUND, format!("The plan has no step {step}.")).into_response();
    };
    let out = without(query);
    let look = app.build.look(&world, id, &out);
    answer(panel(step, &out, &look, why.as_deref()))
}

/// What the last search found, the one that is going on, or a way to begin one.
pub fn panel(step: &str, out: &[String], look: &LookReport, why: Option<&str>) -> Markup {
    let here = format!("/search/{}", address(step));
    let query = query(out);
    html! {
        div.look #look data-look=[look.going.map(|_| format!("{here}{query}"))] {
            @if let Some(going) = &look.going {
                (progress(going))
                form method="post" action={ (here) "/stop" (query) } { button #look-here { "Stop here" } }
                p.small { "Stop here keeps the best so far. Until then a start takes the order that stands below." }
            } @else {
                @if let Some(says) = &look.says { p.note role="status" id=[look.offers.is_none().then_some("look-here")] tabindex="-1" { (says) } }
                @if let Some(seconds) = look.offers {
                    form method="post" action={ (here) (query) @if query.is_empty() { "?" } @else { "&" } "seconds=" (seconds) } {
                        button #look-here { "Look longer, up to " (seconds) " s" }
                    }
                }
            }
            @if let Some(why) = why { p.caution role="alert" { (first_upper(why)) "." } }
        }
    }
}

fn progress(going: &Going) -> Markup {
    html! {
        label for="look-bar" { "Looking for a quicker order" }
        progress #look-bar max=(going.of_seconds) value=(format!("{:.1}", going.seconds)) {}
        p.small #look-far {
            (format!("{:.0} of {:.0} s", going.seconds.floor(), going.of_seconds))
            " · best so far " (duration(going.best_minutes))
            @if going.saved_seconds >= 1.0 { ", " (format!("{:.0} s", going.saved_seconds)) " less than below" }
            " · within " (percent(going.gap)) " of the least there can be"
        }
    }
}

/// Tools that are not at hand, as the page's address carries them.
fn query(out: &[String]) -> String {
    let pairs: Vec<String> = out.iter().map(|name| format!("without={}", address(name))).collect();
    if pairs.is_empty() { String::new() } else { format!("?{}", pairs.join("&")) }
}

/// Seconds that are asked for; never more than a search may have.
fn seconds(query: Option<&str>) -> Option<u64> {
    let asked = query?.split('&').find_map(|pair| pair.strip_prefix("seconds="))?;
    Some(asked.parse::<u64>().ok()?.clamp(1, LONGEST_LOOK.as_secs()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_search_has_between_a_second_and_a_minute() {
        assert_eq!(seconds(None), None);
        assert_eq!(seconds(Some("without=deep&seconds=20")), Some(20));
        assert_eq!(seconds(Some("seconds=0")), Some(1));
        assert_eq!(seconds(Some("seconds=86400")), Some(60));
        assert_eq!(seconds(Some("seconds=ten")), None);
    }

    #[test]
    fn one_button_at_a_time() {
        let going =
            Going { seconds: 4.3, of_seconds: 10.0, best_minutes: 72.2, saved_seconds: 40.0, gap: 0.004 };
        let look = LookReport { going: Some(going), says: None, offers: None };
        let text = panel("spar/all", &["deep".into()], &look, None).into_string();
        assert!(text.contains(r#"data-look="/search/spar/all?without=deep""#), "{text}");
        assert!(
            text.contains("4 of 10 s · best so far 1 h 12 min, 40 s less than below · within 0.4 % of"),
            "{text}"
        );
        assert!(text.contains("Stop here") && !text.contains("Look longer"), "{text}");
        let look = LookReport { going: None, says: None, offers: Some(20) };
        let text = panel("spar/all", &[], &look, None).into_string();
        assert!(text.contains(r#"action="/search/spar/all?seconds=20""#), "{text}");
        assert!(text.contains("Look longer, up to 20 s") && !text.contains("data-look"), "{text}");
    }
}
