//! When it will be finished: a forecast as a band and a curve, and the order of the rest.

use axum::extract::{Query, State};
use axum::response::Response;
use faying_build::{FinishReport, ForecastReport, OrderReport, World, hours_words};
use faying_sheet::{Curve, curve_drawing, svg};
use maud::{Markup, PreEscaped, html};

use super::{Asked, address, count};
use crate::App;
use crate::layout::{Tab, page as framed};
use crate::pages::{answer, refresh};

/// Width of the curve, px: all that a phone has.
const WIDE: f64 = 325.0;

pub async fn page(State(app): State<App>, Query(asked): Query<Asked>) -> Response {
    refresh(&app);
    // Some tenths of a second at some hundred steps: not on a thread that answers others.
    let build = app.build.clone();
    let week = asked.week;
    let done = tokio::task::spawn_blocking(move || {
        let world = build.world();
        let main = html! {
            link rel="stylesheet" href="/assets/plan.css";
            p.trail { a href="/plan" { "Plan" } }
            h1 { "Finish" }
            (section(&world, &week))
        };
        answer(framed(&world, Tab::Plan, "Finish", &main))
    });
    match done.await {
        Ok(page) => page,
        Err(error) => crate::pages::missing(&app, &error.to_string()),
    }
}

/// Where the page's script puts it; without one, the way to it.
pub fn placeholder(week: &str) -> Markup {
    let to = if week.is_empty() {
        "/plan/finish".to_owned()
    } else {
        format!("/plan/finish?week={}", address(week))
    };
    html! {
        section #finish data-part=(to) {
            h2 { "Finish" }
            p { a.tap href=(to) { "When it will be finished, and the order of the rest" } }
        }
    }
}

/// Hours of a week as typed: `10`, `7,5`, `10 h`; nothing where nothing is asked.
fn hours(typed: &str) -> Result<Option<f64>, String> {
    let text = typed.trim();
    if text.is_empty() {
        return Ok(None);
    }
    let number = text.trim_end_matches('h').trim().replace(',', ".");
    match number.parse::<f64>() {
        Ok(hours) if hours.is_finite() && hours > 0.0 && hours <= 168.0 => Ok(Some(hours)),
        _ => Err(format!("\"{text}\" is no number of hours of a week: write one such as 10")),
    }
}

fn section(world: &World, typed: &str) -> Markup {
    let (asked, refused) = match hours(typed) {
        Ok(asked) => (asked, None),
        Err(why) => (None, Some(why)),
    };
    let it = world.finish_report(&world.progress(), asked);
    html! {
        section #finish {
            h2 { "Finish" }
            @if it.finished {
                p { "Every step of the plan is done: there is nothing to forecast." }
            } @else {
                (forecast(&it, asked.is_some()))
                form.fields.what-if method="get" action="/plan#finish" {
                    label { "What if it were so many hours a week" input name="week" inputmode="decimal" autocomplete="off" value=(typed.trim()) aria-describedby=[refused.as_ref().map(|_| "week-refused")]; }
                    button { "Reckon with them" }
                    @if let Some(why) = &refused { p.says #week-refused role="alert" { (why) } }
                }
                @if asked.is_some() { p { a.tap href="/plan#finish" { "Back to your own week" } } }
                (order(&it.order))
            }
        }
    }
}

fn forecast(it: &FinishReport, what_if: bool) -> Markup {
    let found = match &it.forecast {
        Ok(found) => found,
        Err(why) => return html! { p.caution { "No forecast: " (why) "." } },
    };
    let [low, middle, high] = &found.finish;
    html! {
        p.lead #band {
            @if what_if { "With " (hours_words(found.hours_a_week)) " a week: " }
            "80 % between " b { (low) } " and " b { (high) } ", middle " b { (middle) } "."
        }
        p.small { "A forecast from these figures, nothing promised: rework nobody knows of yet, parts that do not come and an inspector's date are not in it." }
        @if let Some(curve) = &it.curve {
            @let sheet = Curve {
                key: "when".to_owned(),
                title: "When it will be finished".to_owned(),
                description: format!("The chance that it is finished by a day rises from {low}, one in ten, over {middle}, one in two, to {high}, nine in ten."),
                points: curve.points.clone(),
                ticks: curve.ticks.clone(),
                band: curve.band,
                band_words: "80 %".to_owned(),
                across: "finished by".to_owned(),
                up: "chance, %".to_owned(),
            };
            div.when { div.drawing.curve { (PreEscaped(svg::write(&curve_drawing(&sheet, WIDE)))) } (from(it, found)) }
        } @else { (from(it, found)) }
    }
}

/// What the forecast rests on.
fn from(it: &FinishReport, found: &ForecastReport) -> Markup {
    let [least, usual, most] = found.hours_left;
    html! {
        dl.about-step #from {
            dt { "Left" } dd { (hours_words(found.planned_left)) " planned; at your pace " (hours_words(least)) " to " (hours_words(most)) ", middle " (hours_words(usual)) }
            dt { "Pace" } dd { (pace(found.steps_seen, found.pace)) }
            dt { "Week" } dd { (week(it, found.weeks_seen)) }
            dt { "Cures" } dd { (waited(found.waited)) }
        }
    }
}

/// Where the pace comes from.
fn pace(steps: usize, [low, middle, high]: [f64; 3]) -> String {
    if steps == 0 {
        return "no step finished with hours yet: the plan's hours are taken as they are, with a wide margin"
            .to_owned();
    }
    format!(
        "{middle:.2} real hours for each planned one (80 %: {low:.2} to {high:.2}), from {} finished with hours",
        count(steps, "step")
    )
}

/// Where the hours of a week come from.
fn week(it: &FinishReport, weeks: usize) -> String {
    let plan = hours_words(it.week_hours);
    let from = if it.week_is_own {
        format!("{plan} by people.toml")
    } else {
        format!("{plan}, a common week: there is no people.toml")
    };
    match weeks {
        0 => format!("{from}; no whole week in the record yet, so weeks off and short evenings are guessed"),
        weeks => format!(
            "{from}; how much of it comes about is learned from {} of the record",
            count(weeks, "week")
        ),
    }
}

/// How often waiting for a cure made it later.
fn waited(share: f64) -> String {
    let percent = share * 100.0;
    if share <= 0.0 {
        "in no draw did waiting for a cure make it later".to_owned()
    } else if percent < 1.0 {
        "in fewer than 1 of 100 draws waiting for a cure made it later".to_owned()
    } else {
        format!("in {percent:.0} of 100 draws waiting for a cure made it later")
    }
}

fn order(it: &OrderReport) -> Markup {
    html! {
        @if !it.turns.is_empty() {
            details #order {
                summary { "Working order: " (count(it.turns.len(), "turn")) @if it.shared_batches == 1 { ", 1 batch shared" } @else if it.shared_batches > 1 { ", " (it.shared_batches) " batches shared" } }
                p.small { "The best order found for an early finish with few batches. If every session of the week is kept and gates are passed in time, it is over on " b { (it.finish) } "; no order of these turns is over before " (it.bound) "." }
                ol.log.turns {
                    @for turn in &it.turns {
                        li {
                            span.when { (turn.begins) @if turn.ends != turn.begins { " to " (turn.ends) } }
                            span.what {
                                @if turn.steps.len() > 1 { "In one batch: " }
                                @for (number, (name, title)) in turn.steps.iter().enumerate() { @if number > 0 { "; " } a href={ "/step/" (address(name)) } { (title) } }
                                " " small { (hours_words(turn.hours)) }
                            }
                        }
                    }
                }
            }
        } @else { p { "No order was found: the hours of the plan cannot be counted." } }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_of_a_week_as_a_builder_writes_them() {
        assert_eq!(hours(" "), Ok(None));
        for text in ["7.5", "7,5", " 7.5 h", "7.5h"] {
            assert_eq!(hours(text), Ok(Some(7.5)), "{text}");
        }
        for text in ["ten", "0", "-3", "169", "NaN", "inf"] {
            assert!(hours(text).is_err(), "{text}");
        }
    }

    #[test]
    fn how_often_a_cure_made_it_later() {
        assert_eq!(waited(0.0), "in no draw did waiting for a cure make it later");
        assert_eq!(waited(0.002), "in fewer than 1 of 100 draws waiting for a cure made it later");
        assert_eq!(waited(0.25), "in 25 of 100 draws waiting for a cure made it later");
    }
}
