//! Tools: what there is to set rivets with, and what was learned about it.

use axum::extract::State;
use axum::response::Response;
use faying_build::room::tools::{Adjust, DiesFor, Drive, Tools};
use faying_build::room::{HeadStyle, Length};
use faying_build::{LearnedFigure, World};
use maud::{Markup, html};

use super::{answer, refresh};
use crate::App;
use crate::layout::{Tab, first_upper, page as framed};

pub async fn page(State(app): State<App>) -> Response {
    refresh(&app);
    let world = app.build.world();
    answer(framed(&world, Tab::Tools, "Tools", &main(&world)))
}

fn main(world: &World) -> Markup {
    let tools = &world.plan().tools;
    html! {
        h1 { "Tools" }
        @if tools.own {
            p { "As tools.toml has them. A run takes the tool that reaches and has the force, and changes as little as it can." }
        } @else {
            p.note { "This build has no tools.toml yet: these are a starter set, from common practice and from memory. Write your own into tools.toml beside the plan folder; the figures decide which tool reaches a hole." }
        }
        (learned(&world.learned()))
        h2 { "Squeezers" }
        (table(&["", "Force", "Stroke", "Set by", "Repeats"], tools.squeezers.iter().map(|it| vec![
            it.title.clone(),
            format!("{:.0} lbf{}", it.force.lbf(), match (it.drive, it.pressure_psi) {
                (Drive::Air, Some(psi)) => format!(" at {psi:.0} psi"),
                (Drive::Air, None) => ", air".to_owned(),
                (Drive::Hand, _) => ", by hand".to_owned(),
            }),
            inches(it.stroke),
            adjust(&it.adjust),
            it.repeatability.map_or_else(String::new, |u| format!("{} in", u.decimal())),
        ])))
        h2 { "Yokes" }
        (table(&["", "Throat", "Gap", "Nose", "Fits"], tools.yokes.iter().map(|it| vec![
            it.title.clone(),
            inches(Some(it.throat)),
            inches(Some(it.gap)),
            format!("{} wide, {} high", (it.nose_half_width + it.nose_half_width).decimal(), it.nose_height.decimal()),
            it.squeezers.iter().filter_map(|&n| tools.squeezers.get(n)).map(|it| it.title.clone()).collect::<Vec<_>>().join(", "),
        ])))
        h2 { "Dies and sets" }
        (table(&["", "For", "Held in", "Across"], tools.dies.iter().map(|it| vec![
            it.title.clone(),
            format!("{} {}", it.diameter.map_or_else(|| "any".to_owned(), |d| d.to_string()), match it.head { HeadStyle::Universal => "universal", HeadStyle::Flush => "flush" }),
            match it.held_in { DiesFor::Squeezer => "squeezer", DiesFor::Gun => "gun", DiesFor::Back => "gun, back-riveting" }.to_owned(),
            inches(Some(it.across)),
        ])))
        h2 { "Guns, bars, plates" }
        (table(&["", ""], tools.guns.iter().map(|it| vec![
            it.title.clone(),
            it.pressure_psi.iter().map(|(d, psi)| format!("{d} at {psi:.0} psi")).collect::<Vec<_>>().join(", "),
        ]).chain(tools.bars.iter().map(|it| vec![
            it.title.clone(),
            format!("{}enters {}", it.weight_lb.map_or_else(String::new, |lb| format!("{lb} lb, ")), inches(Some(it.enters))),
        ])).chain(tools.plates.iter().map(|it| vec![
            it.title.clone(),
            format!("{} by {} in", it.size[0].decimal(), it.size[1].decimal()),
        ]))))
        h2 { "Clecoes, clamps, gauges" }
        (table(&["", ""], tools.clecoes.iter().map(|it| vec![format!("Clecoes {}", it.diameter), it.count.to_string()])
            .chain(tools.clamps.iter().map(|it| vec![it.title.clone(), it.count.to_string()]))
            .chain(tools.gauges.iter().map(|it| vec![it.title.clone(), it.uncertainty.map_or_else(|| "uncertainty not written".to_owned(), |u| format!("u {} in", u.decimal()))]))))
        h2 { "What things take" }
        (times(tools))
    }
}

fn inches(length: Option<Length>) -> String {
    length.map_or_else(String::new, |length| format!("{} in", length.decimal()))
}

fn adjust(adjust: &Adjust) -> String {
    let list = |lengths: &[Length]| lengths.iter().map(|it| it.decimal()).collect::<Vec<_>>().join(", ");
    match adjust {
        Adjust::Screw { turns_per_inch } => format!("ram thread, {turns_per_inch} turns to the inch"),
        Adjust::Shims(shims) => format!("shims {}", list(shims)),
        Adjust::SetLengths(lengths) => format!("sets {}", list(lengths)),
        Adjust::Unknown => "not written".to_owned(),
    }
}

fn table(heads: &[&str], rows: impl Iterator<Item = Vec<String>>) -> Markup {
    let rows: Vec<Vec<String>> = rows.collect();
    html! {
        @if rows.is_empty() {
            p.small { "None written." }
        } @else {
            div.scroll tabindex="0" role="region" aria-label=(rows[0][0]) {
                table {
                    @if heads.iter().any(|head| !head.is_empty()) {
                        thead { tr { @for head in heads { @if head.is_empty() { td {} } @else { th scope="col" { (head) } } } } }
                    }
                    tbody { @for row in &rows { tr { @for (n, cell) in row.iter().enumerate() { @if n == 0 { th scope="row" { (first_upper(cell)) } } @else { td { (cell) } } } } } }
                }
            }
        }
    }
}

fn times(tools: &Tools) -> Markup {
    let it = &tools.times;
    let rows = [
        ("A rivet with the squeezer", &it.squeeze),
        ("A rivet with gun and bar", &it.gun),
        ("A rivet on the plate", &it.back),
        ("Another tool", &it.tool),
        ("Another yoke", &it.yoke),
        ("Other dies", &it.dies),
        ("Another setting", &it.setting),
        ("Another bag", &it.bag),
        ("The part turned over", &it.flip),
        ("A head on scrap", &it.coupon),
        ("A cleco out", &it.cleco),
        ("A foot along the part", &it.foot),
        ("To another plane", &it.plane),
        ("A rivet drilled out and set again", &it.removal),
    ];
    html! {
        p.small { "Seconds; they decide what is worth a change. Your own go into tools.toml under times." }
        table {
            tbody { @for (what, time) in rows { tr { th scope="row" { (what) } td.n { (time.value) " s" } td { small { (time.cited.known) } } } } }
        }
    }
}

/// What the builder's own heads and times say, with a way to take it over.
fn learned(figures: &[LearnedFigure]) -> Markup {
    html! {
        h2 #learned { "Learned at your bench" }
        @if figures.is_empty() {
            p.small { "Nothing yet. Measured heads, proven scrap and the times of your own runs end up here; nothing is used before you take it over." }
        }
        ul.lines {
            @for it in figures {
                li {
                    form.line data-act=(serde_json::json!({ "kind": "adopt", "values": [[it.name, it.value]] }).to_string()) {
                        span { b { (first_upper(&it.title)) } br; (it.value_words) ", used now " (it.used_words) br; small { (it.from) } }
                        @if (it.value - it.used).abs() > 1e-9 { button aria-label={ "Use from the next run: " (it.title) } { "Use it" } } @else { small { "in use" } }
                    }
                }
            }
        }
    }
}
