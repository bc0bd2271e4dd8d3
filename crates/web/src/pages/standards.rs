//! Standards: every figure in use, with its source and how it is known.

use axum::extract::State;
use axum::response::Response;
use faying_build::World;
use faying_build::report::{LimitsBeside, LimitsReport, SetReport, limits_side_by_side, own_values};
use faying_build::room::{Known, Table, figures};
use maud::{Markup, html};

use super::{answer, refresh};
use crate::App;
use crate::layout::{Tab, first_upper, page as framed};

pub async fn page(State(app): State<App>) -> Response {
    refresh(&app);
    let world = app.build.world();
    answer(framed(&world, Tab::Standards, "Standards", &main(&world)))
}

/// How a figure can be known, and what that means; best first.
const LEGEND: [(Known, &str); 6] = [
    (Known::Seen, "the figure itself stood in a document that was read"),
    (Known::SecondHand, "somebody else's quotation of the document was read, not the document"),
    (Known::Derived, "computed by a stated formula from figures that have their own source"),
    (Known::Practice, "common practice of the trade, or a choice of this tool; no document behind it"),
    (Known::Memory, "remembered: check it before you rely on it"),
    (Known::Own, "your own value, from limits.toml; it wins over the others"),
];

fn main(world: &World) -> Markup {
    let plan = world.plan();
    let own = own_values(plan);
    html! {
        h1 { "Standards" }
        p { "Every figure in use here, as it is written in the tables of this version (" (figures().revision()) "). A blank cell is a figure that is not known; it stays blank. Where you have the document, your copy wins: write its values in limits.toml." }
        h2 #known { "How a figure is known" }
        dl.legend {
            @for (known, means) in LEGEND { dt { (first_upper(&known.to_string())) } dd { (means) } }
        }
        h2 #contents { "Contents" }
        ul.contents {
            li { a href="#in-force" { "Limits in force in this build" } }
            li { a href="#own" { "Your own values" } }
            @for table in figures().tables() { li { a href={ "#" (table.name) } { (table.title) } " " small { (table.rows.len()) } } }
            li { a href="#sources" { "Sources" } " " small { (figures().sources().len()) } }
        }
        h2 #in-force { "Limits in force in this build" }
        (in_force(world))
        h2 #own { "Your own values" }
        @if own.is_empty() && plan.limits.own_sets.is_empty() {
            p { "limits.toml has none: everything here is the standards' own." }
        }
        @if !own.is_empty() {
            div.scroll tabindex="0" role="region" aria-label="Your own values" {
                table {
                    thead { tr { th scope="col" { "What" } th scope="col" { "Value" } th scope="col" { "Known" } } }
                    tbody { @for (what, value) in &own { tr.own { th scope="row" { (what) } td { (value) } td { "your own, limits.toml" } } } }
                }
            }
        }
        @for set in &plan.limits.own_sets {
            h3 { "Your set " (set.name) @if set.kit { ", the kit manual's" } }
            p { small { @if set.source.is_empty() { "No document is named in limits.toml." } @else { (set.source) } } }
            div.scroll tabindex="0" role="region" aria-label={ "Your set " (set.name) } {
                table {
                    thead { tr { th scope="col" { "Rivet" } (limit_heads()) } }
                    tbody { @for (diameter, limits) in &set.heads {
                        tr.own { th scope="row" { (diameter) " in" } (limit_cells(&LimitsReport::of(&set.name, limits, ""))) }
                    } }
                }
            }
        }
        @for table in figures().tables() { (figures_of(table)) }
        h2 #sources { "Sources" }
        dl.sources {
            @for (key, source) in figures().sources() {
                dt id={ "source-" (key) } {
                    b { (source.title) }
                    @if !source.revision.is_empty() { ", revision " (source.revision) }
                    @if let Some(year) = source.year { ", " (year) }
                    " " small { (key) }
                }
                dd { (first_upper(&source.note)) }
            }
        }
    }
}

/// A table as written; source, place, how known and note share the last column.
fn figures_of(table: &Table) -> Markup {
    let at = |name: &str| table.columns.iter().position(|column| column == name);
    let about = ["source", "place", "known", "note"].map(at);
    let own: Vec<usize> = (0..table.columns.len()).filter(|&index| !about.contains(&Some(index))).collect();
    html! {
        section.table {
            h2 id=(table.name) { (table.title) }
            div.scroll tabindex="0" role="region" aria-labelledby=(table.name) {
                table {
                    thead { tr {
                        @for &index in &own { th scope="col" { (heading(&table.columns[index])) } }
                        th scope="col" { "Source, and how it is known" }
                    } }
                    tbody {
                        @for row in &table.rows {
                            tr {
                                @for &index in &own {
                                    @if index == own[0] { th scope="row" { (row[index]) } } @else { td { (row[index]) } }
                                }
                                td.cited { (cited_cell(about.map(|index| index.map_or("", |index| row[index].as_str())))) }
                            }
                        }
                    }
                }
            }
            p.up { a href="#contents" { "Contents" } }
        }
    }
}

/// `ac43-13-1b, 4-57 (as quoted)`, and the note.
fn cited_cell([source, place, known, note]: [&str; 4]) -> Markup {
    let known = match known {
        "second-hand" => "as quoted",
        "memory" => "from memory",
        other => other,
    };
    html! {
        @if figures().source(source).is_some() { a href={ "#source-" (source) } { (source) } } @else { (source) }
        @if !place.is_empty() { ", " (place) }
        @if !known.is_empty() { " " b { "(" (known) ")" } }
        @if !note.is_empty() { br; small { (first_upper(note)) } }
    }
}

fn in_force(world: &World) -> Markup {
    let beside = limits_side_by_side(world.plan());
    html! {
        @if beside.is_empty() { p { "The plan has no solid rivet." } } @else {
            p { "What every set of limits asks of a shop head, for each rivet of the plan. The sets do not agree and none is mixed with another: one rules, the others stand beside it and change nothing. What was not seen of a document stays blank, and is said." }
            @for it in &beside { (sets_of(it)) }
        }
    }
}

/// One rivet: a row for each set, the ruling one first.
fn sets_of(beside: &LimitsBeside) -> Markup {
    let id = format!("in-force-{}", beside.rivet);
    html! {
        section.beside {
            h3 id=(id) { (beside.rivet) }
            p { (beside.why) }
                table.beside aria-labelledby=(id) {
                    thead { tr { th scope="col" { "Set" } th scope="col" { "Wide, in" } th scope="col" { "High, in" } } }
                    tbody {
                        @for set in &beside.sets { (set_row(set)) }
                        @for gauge in &beside.gauges {
                            tr.own {
                                th scope="row" { "Gauge " (gauge.name) br; small { "turns down what drops into its hole or goes under its slot; it judges nothing" } }
                                td { @if let Some(hole) = gauge.hole_in { "hole " (inches(hole)) } }
                                td { @if let Some(slot) = gauge.slot_in { "slot " (inches(slot)) } }
                            }
                        }
                    }
                }
        }
    }
}

fn set_row(set: &SetReport) -> Markup {
    let kind = match (set.rules, set.judges, set.kit, set.own) {
        (true, ..) => "rules",
        (false, false, ..) => "advice, judges nothing",
        (_, _, true, _) => "the kit manual's",
        (_, _, _, true) => "your own",
        _ => "",
    };
    html! {
        tr.own[set.own].rules[set.rules] {
            th scope="row" {
                (set.name)
                @if !kind.is_empty() { " " b.mark { (kind) } }
                @if set.rules && set.own { " " b.mark { @if set.kit { "the kit manual's" } @else { "your own" } } }
                br;
                small { (set.source) }
                @if let Some(asks) = set.asks.as_ref().filter(|asks| !asks.lacks.is_empty()) {
                    br; small { b { "Incomplete for this rivet: " } (asks.lacks) "." }
                } @else if !set.lacks.is_empty() {
                    br; small { b { "Incomplete: " } (set.lacks) "." }
                }
            }
            @match &set.asks {
                Some(asks) => {
                    td { (least_most(asks.min_width_in, asks.max_width_in)) }
                    td { (least_most(asks.min_height_in, asks.max_height_in)) }
                }
                // A blank is told to those who hear the page, too.
                None => { td colspan="2" { "says nothing of this rivet as known here" } }
            }
        }
    }
}

/// `.050 to .070`, or `.163 or more`.
fn least_most(least: f64, most: Option<f64>) -> String {
    match most {
        Some(most) => format!("{} to {}", inches(least), inches(most)),
        None => format!("{} or more", inches(least)),
    }
}

fn limit_heads() -> Markup {
    html! {
        th.n scope="col" { "Width least, in" }
        th.n scope="col" { "Width most, in" }
        th.n scope="col" { "Height least, in" }
        th.n scope="col" { "Height most, in" }
    }
}

fn limit_cells(limits: &LimitsReport) -> Markup {
    html! {
        td.n { (inches(limits.min_width_in)) }
        td.n { (limits.max_width_in.map_or_else(|| "none".to_owned(), inches)) }
        td.n { (inches(limits.min_height_in)) }
        td.n { (limits.max_height_in.map_or_else(|| "none".to_owned(), inches)) }
    }
}

/// Inches as the trade writes them: `.163`.
pub fn inches(value: f64) -> String {
    faying_build::room::Length::from_inches(value).decimal()
}

/// `min_width_in` as `min width, in`; the unit stands behind a comma.
fn heading(column: &str) -> String {
    const UNITS: [(&str, &str); 9] = [
        ("_lb_in3", "lb/in³"),
        ("_plus_minus_in", "plus or minus, in"),
        ("_plus_in", "plus, in"),
        ("_minus_in", "minus, in"),
        ("_in", "in"),
        ("_deg", "degrees"),
        ("_msi", "million psi"),
        ("_kn", "kN"),
        ("_d", "d"),
    ];
    let (name, unit) = UNITS
        .iter()
        .find_map(|(end, unit)| column.strip_suffix(end).map(|name| (name, format!(", {unit}"))))
        .unwrap_or((column, String::new()));
    first_upper(&format!("{}{unit}", name.replace('_', " ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_column_is_headed_in_words_with_its_unit() {
        for (column, want) in [
            ("min_width_in", "Min width, in"),
            ("head_diameter_plus_minus_in", "Head diameter, plus or minus, in"),
            ("least_d", "Least, d"),
            ("density_lb_in3", "Density, lb/in³"),
            ("drill", "Drill"),
        ] {
            assert_eq!(heading(column), want);
        }
    }
}
