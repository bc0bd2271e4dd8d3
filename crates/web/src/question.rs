//! The question to whoever decides, filled from the report of a fault: words in, one page out.

use faying_build::room::{Aspect, HoleId, Role, Ruling, Said, Side, WayKind, Working, now};
use faying_build::{FaultReport, World, report};
use faying_sheet::question::{
    Asked, Compared, CutHole, CutOut, Dimension, End, OptionLine, Question, RuleLine, StrengthLine,
};
use faying_sheet::{Date, Paper, pdf};

use crate::layout::{first_upper, revision};
use crate::pages::fault::title;
use crate::pages::hole::{section_for_print, short};

/// The question as PDF.
///
/// # Units
/// - `address`: of the page of the fault; it goes into the QR code
///
/// # Errors
/// In words, where the sheet cannot be written.
pub fn print(world: &World, it: &FaultReport, paper: Paper, address: &str) -> Result<Vec<u8>, String> {
    let joints = &world.side.joints;
    let plan = world.plan();
    let look = |hole: HoleId| CutHole {
        diameter_in: joints
            .at(hole)
            .and_then(|joint| joint.seats.as_ref().ok())
            .map(|seats| seats.hole.inches())
            .or(plan[plan[hole].row].hole_size.map(faying_build::room::Length::inches)),
        set: world.is_set(hole),
    };
    let first = it.holes.first().copied();
    let plane = first.and_then(|hole| plan[plan[hole].row].plane.filter(|_| plan[hole].at.is_some()));
    let cut_out = plane.map(|plane| CutOut {
        plan,
        plane,
        side: Side::Near,
        faulty: it.holes.clone(),
        hole: &look,
        later: Vec::new(),
        dimensions: dimensions(world, it),
    });
    let section = first.and_then(|hole| section_for_print(world, hole));
    let assembly = first.map(|hole| &plan[plan[plan[hole].row].assembly]);
    let photographs = {
        let names: Vec<String> = it.holes.iter().map(|&hole| plan.hole_name(hole)).collect();
        let all = if names.is_empty() { Vec::new() } else { world.photographs(&names[..1]) };
        all.into_iter().map(|it| it.file).collect()
    };
    let question = Question {
        asked: asked(it),
        build: String::new(),
        assembly: assembly.map_or_else(String::new, |assembly| assembly.title.clone()),
        plane: plane.map_or_else(String::new, |plane| {
            format!("{}, seen from {}", plan[plane].title, plan[plane].side_name(Side::Near))
        }),
        holes: it.holes.iter().map(|&hole| short(world, hole)).collect::<Vec<_>>().join(", "),
        sheet: first
            .and_then(|hole| world.side.sequence.due(hole))
            .map_or_else(String::new, |step| plan[step].sheet.clone()),
        revision: revision(world),
        date: today(),
        author: String::new(),
        address: address.to_owned(),
        fault: fault(world, it),
        asks: it.asked.as_ref().map_or_else(String::new, |(asked, _)| asked.words.clone()),
        cut_out,
        section_says: section.as_ref().map_or_else(String::new, |_| "As planned.".to_owned()),
        section,
        compared: compared(it),
        rules: rules(it),
        published: it.judgement.as_ref().map_or_else(Vec::new, |judged| {
            judged.views.iter().map(|(view, cited)| format!("{view} {}", report::cited(cited))).collect()
        }),
        unchecked: it.judgement.as_ref().map_or_else(Vec::new, |judged| judged.not_checked.clone()),
        strength: strength(it),
        working: working(it),
        options: options(it),
        repairs: repairs(it),
        photographs,
        gate: plan.gate_named(&it.gate).map_or_else(String::new, |gate| world.gate_title(gate)),
    };
    let mut document = question.page(paper).map_err(|error| error.to_string())?;
    // A builder's own word in another script is no reason to print nothing; the box shows where it was.
    pdf::substitute(&mut document);
    pdf::write(&document).map_err(|error| error.to_string())
}

fn today() -> Date {
    // The clock gives `2026-05-12T…`; whatever else it gave would be no date.
    let now = now();
    let part = |range: std::ops::Range<usize>| now.get(range).and_then(|text| text.parse::<u16>().ok());
    let (year, month, day) = (part(0..4), part(5..7), part(8..10));
    Date {
        year: year.unwrap_or(1970),
        month: month.map_or(1, |month| month as u8),
        day: day.map_or(1, |day| day as u8),
    }
}

fn asked(it: &FaultReport) -> Asked {
    match it.asked.as_ref().and_then(|(asked, _)| Role::read(&asked.role)) {
        Some(Role::Inspector) => Asked::Inspector,
        Some(Role::Authority) => Asked::Authority,
        _ => Asked::Designer,
    }
}

/// What is wrong, in a sentence.
fn fault(world: &World, it: &FaultReport) -> String {
    let ruling = it.judgement.as_ref().and_then(|judged| judged.rulings.iter().find(|ruling| ruling.rules));
    let says =
        ruling.map_or_else(String::new, |ruling| format!(" {}: {}", ruling.rule, opening(&ruling.words)));
    let words = if it.words.is_empty() {
        String::new()
    } else {
        format!(" {}.", first_upper(it.words.trim_end_matches('.')))
    };
    format!("{}.{words}{says}", title(world, it))
}

/// The first sentences of a text, as many as a heading bears; the rule's own line has all of them.
fn opening(text: &str) -> &str {
    /// Letters.
    const MOST: usize = 130;
    let ends = text.match_indices(". ").map(|(at, _)| at + 1);
    let cut = ends.take_while(|&end| end <= MOST).last();
    if text.len() <= MOST { text } else { cut.map_or(text, |cut| &text[..cut]) }
}

fn dimensions(world: &World, it: &FaultReport) -> Vec<Dimension> {
    let Some(&from) = it.holes.first() else { return Vec::new() };
    let planned = |name: &str| {
        let value = it.planned.iter().find(|(known, _)| known == name).map(|(_, value)| value.as_str());
        value.map_or_else(String::new, |value| value.split(',').next().unwrap_or(value).to_owned())
    };
    let read = |aspect: Aspect| {
        if it.aspect != Some(aspect) {
            return String::new();
        }
        it.distance.map_or_else(String::new, |distance| format!("{} in", distance.decimal()))
    };
    let mut dimensions = Vec::new();
    if let Some(piece) = world.nearest_edge(from) {
        dimensions.push(Dimension {
            from,
            to: End::Edge(piece),
            planned: planned("Edge distance as drawn"),
            there: read(Aspect::Edge),
        });
    }
    if let Some(other) = world.nearest_hole(from) {
        dimensions.push(Dimension {
            from,
            to: End::Hole(other),
            planned: planned("Pitch as drawn"),
            there: read(Aspect::Pitch),
        });
    }
    if it.aspect == Some(Aspect::Pitch) {
        dimensions.reverse();
    }
    dimensions
}

/// What was planned beside what is there; a reading stands in the row of what it was planned to be.
fn compared(it: &FaultReport) -> Vec<Compared> {
    let with = if it.instrument.is_empty() { String::new() } else { format!(", with {}", it.instrument) };
    let uncertain = it.uncertainty.as_deref().map_or_else(String::new, |u| format!(" ({u})"));
    let beside = match it.aspect {
        Some(Aspect::WrongLength) => "Fastener",
        Some(Aspect::Hole | Aspect::FigureEight) => "Hole",
        Some(Aspect::Edge) => "Edge distance as drawn",
        Some(Aspect::Pitch) => "Pitch as drawn",
        _ => "",
    };
    let mut there = Vec::new();
    let mut lines: Vec<Compared> = Vec::new();
    for (name, value) in &it.readings {
        let is_length = value.ends_with(" in");
        let value = format!("{value}{}{with}", if is_length { uncertain.as_str() } else { "" });
        if beside.is_empty() {
            lines.push(Compared { what: name.clone(), planned: String::new(), there: value });
        } else {
            there.push(format!("{name}: {value}"));
        }
    }
    if let Some(distance) = it.distance.filter(|_| it.aspect == Some(Aspect::Edge)) {
        there.insert(0, format!("{} in", distance.decimal()));
    }
    let there = there.join("; ");
    let rows = it.planned.iter().map(|(name, value)| Compared {
        what: name.clone(),
        planned: value.clone(),
        there: if name == beside { there.clone() } else { String::new() },
    });
    // What is asked about stands first.
    let (of_it, others): (Vec<Compared>, Vec<Compared>) = rows.partition(|row| row.what == beside);
    if of_it.is_empty() && !there.is_empty() {
        lines.push(Compared { what: it.title.clone(), planned: String::new(), there });
    }
    lines.extend(of_it);
    lines.extend(others);
    lines
}

const fn said(said: Said) -> &'static str {
    match said {
        Said::Inside => "inside",
        Said::Outside => "outside",
        Said::NotJudged => "not judged",
    }
}

fn rules(it: &FaultReport) -> Vec<RuleLine> {
    let Some(judged) = &it.judgement else { return Vec::new() };
    let line = |ruling: &Ruling| {
        let close = if ruling.close { ", within uncertainty" } else { "" };
        let verdict = if ruling.judges || ruling.said != Said::NotJudged {
            format!("{}{close}. ", first_upper(said(ruling.said)))
        } else {
            String::new()
        };
        RuleLine {
            rule: ruling.rule.clone(),
            says: format!("{verdict}{}", ruling.words),
            ruling: ruling.rules,
            ..RuleLine::default()
        }
    };
    judged.rulings.iter().map(line).collect()
}

fn strength(it: &FaultReport) -> Vec<StrengthLine> {
    let Some(cost) = &it.cost else { return Vec::new() };
    let share = |it: f64| format!("{it:.2}");
    let hole = cost.hole.as_ref();
    let left_out = cost.left_out.first().cloned().unwrap_or_default();
    let force = |it: Option<faying_build::room::Force>| {
        it.map_or_else(String::new, |it| format!("{:.0} lbf", it.lbf()))
    };
    let line = |place: String, ratio: Option<String>, without: Option<f64>| StrengthLine {
        place,
        ratio,
        left_out: without
            .map_or_else(String::new, |it| format!("if the faulty rivets carried nothing: {it:.2}")),
        ..StrengthLine::default()
    };
    let mut lines = vec![StrengthLine {
        place: if it.holes.len() > 1 { "each hole".to_owned() } else { "the hole".to_owned() },
        // With a mode left out the lowest figure is only a limit: nothing to be set beside another.
        planned: hole
            .map_or_else(String::new, |it| force(it.planned.lowest.filter(|_| it.planned.governs.is_some()))),
        built: hole
            .map_or_else(String::new, |it| force(it.built.lowest.filter(|_| it.built.governs.is_some()))),
        ratio: hole
            .and_then(|it| it.ratio.map(share).or_else(|| it.at_least.map(|it| format!("at least {it:.2}")))),
        left_out,
    }];
    let row = cost.row.as_ref().map(|row| format!("{:.2} to {:.2}", row.weakest_governs, row.taking_over));
    lines.push(line(
        format!("row of {}", cost.of.0),
        row,
        cost.row_without.as_ref().map(|row| row.taking_over),
    ));
    if cost.of.1 > 1 {
        lines.push(line(
            format!("{} through the same sheets, pulled", cost.of.1),
            cost.group.as_ref().map(|it| share(it.direct)),
            cost.group_without.as_ref().map(|it| it.direct),
        ));
        lines.push(line(
            "the same, twisted".to_owned(),
            cost.group.as_ref().and_then(|it| it.torsional).map(share),
            cost.group_without.as_ref().and_then(|it| it.torsional),
        ));
    }
    lines
}

fn working(it: &FaultReport) -> Vec<String> {
    let of_cost = it.cost.as_ref().and_then(|cost| cost.hole.as_ref()).map(|hole| &hole.working);
    let of_rules = it.judgement.as_ref().map(|judged| &judged.working);
    let figures = of_rules.into_iter().chain(of_cost).flat_map(Working::figures);
    figures
        .map(|figure| {
            let put_in =
                if figure.put_in.is_empty() { String::new() } else { format!(" = {}", figure.put_in) };
            format!("{}: {}{put_in} = {}", figure.name, figure.formula, figure.result)
        })
        .collect()
}

fn options(it: &FaultReport) -> Vec<OptionLine> {
    let named = |kind: WayKind| match kind {
        WayKind::SqueezeMore => Some("squeeze it again"),
        WayKind::Replace => Some("replace it like for like"),
        WayKind::NextSize => Some("the next larger rivet"),
        WayKind::Bolt => Some("a bolt"),
        WayKind::Blind => Some("a blind rivet"),
        WayKind::Ask => None,
    };
    let mut lines = vec![OptionLine {
        option: "leave it as it is".to_owned(),
        effect: "The figures above.".to_owned(),
        ..OptionLine::default()
    }];
    for way in &it.ways {
        let Some(option) = named(way.kind) else { continue };
        let in_diameters = |what: &str| {
            let figure = way.working.figures().iter().find(|figure| figure.name.starts_with(what));
            figure.map_or_else(String::new, |figure| figure.result.clone())
        };
        // What the columns of hole, edge and pitch say is not said again.
        let is_column = |says: &str| says.starts_with("Edge distance") || says.starts_with("Pitch");
        let mut says: Vec<&str> =
            way.says.iter().map(|(says, _)| says.as_str()).filter(|says| !is_column(says)).collect();
        let hole = if way.kind == WayKind::NextSize && !says.is_empty() { says.remove(0) } else { "" };
        lines.push(OptionLine {
            option: option.to_owned(),
            hole: hole.trim_end_matches('.').to_owned(),
            edge: in_diameters("edge distance"),
            pitch: in_diameters("pitch"),
            effect: says.into_iter().take(2).collect::<Vec<_>>().join(" "),
        });
    }
    lines
}

fn repairs(it: &FaultReport) -> Vec<String> {
    let repairs = &it.repairs;
    let removals = match repairs.removals {
        0 => "no rivet was taken out of this hole so far".to_owned(),
        1 => "one rivet was taken out of this hole so far".to_owned(),
        count => format!("{count} rivets were taken out of this hole so far"),
    };
    let mut lines = vec![first_upper(&removals) + "."];
    if repairs.oversize > 0 {
        lines.push(format!(
            "Of the {} rivets of the row {} others are oversize, {} of them side by side with this one.",
            repairs.pattern, repairs.oversize, repairs.adjacent
        ));
    }
    lines
}
