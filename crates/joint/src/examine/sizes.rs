//! Sizes that are read: hole, countersink, edge distance, pitch, flushness.

use faying_plan::Preparation;
use faying_standards::{Cited, HeadStyle, HoleRole, Known, Length, RivetType, SpacingItem, Working, figures};

use super::{Asked, advice, not_judged, ruling};
use crate::ruling::{Judgement, Ruling, Said};
use crate::seats::in_thousandths;
use crate::spacing::{LeastRule, rules};

/// The band of table I before dimpling, where it was seen; else the drill with its tolerance.
pub(super) fn hole(asked: &Asked<'_>) -> Judgement {
    let Some(size) = asked.length("diameter") else {
        return not_judged(Vec::new(), "the hole was not measured.");
    };
    let dimpled = asked.word("when") == "dimpled";
    let mut judgement = sized(asked, size, dimpled);
    if asked.word("when").is_empty() && sheets_dimpled(asked) {
        judgement.not_checked.push("whether it was measured before it was dimpled".to_owned());
    }
    judgement
}

/// A hole that is longer than wide is as large as it is long; its shape is nobody's rule here.
pub(super) fn figure_eight(asked: &Asked<'_>) -> Judgement {
    let long = asked.length("long");
    let wide = asked.length("wide");
    let Some(size) = long.into_iter().chain(wide).max() else {
        return not_judged(
            Vec::new(),
            "measure it across its length; a rivet fills a round hole, and no rule here allows another.",
        );
    };
    let mut judgement = sized(asked, size, false);
    if judgement.said == Said::Inside {
        // Not larger than a hole may be, and still not round.
        for ruling in &mut judgement.rulings {
            ruling.rules = false;
        }
        judgement = not_judged(
            judgement.rulings,
            "across its length it is not larger than the hole may be, but it is not round.",
        );
    }
    judgement
}

fn sheets_dimpled(asked: &Asked<'_>) -> bool {
    asked
        .at
        .joint
        .is_some_and(|joint| joint.sheets.iter().any(|sheet| sheet.preparation == Preparation::Dimpled))
}

fn sized(asked: &Asked<'_>, size: Length, dimpled: bool) -> Judgement {
    let diameter = asked.at.rivet.diameter;
    let mut rulings: Vec<Ruling> = Vec::new();
    let mut why = format!(
        "The drill and its tolerance rule: no band of a finished hole was seen for {diameter}. Enter it from your \
         own copy of MIL-R-47196A, table I."
    );
    let band = figures().holes_for(diameter).find(|hole| hole.role == HoleRole::Band);
    if let Some((band, min, max)) = band.and_then(|band| Some((band, band.min?, band.max?))) {
        let asks = format!("It asks {} to {} in, before dimpling", min.decimal(), max.decimal());
        let (said, words) = if dimpled {
            ((Said::NotJudged, false), format!("{asks}; this was measured after."))
        } else {
            let said = asked.against(size, Some(min), Some(max));
            (said, format!("{asks}; {} in is {}.", size.decimal(), inside(said.0)))
        };
        let mut table = ruling("MIL-R-47196A, table I", said, words, band.cited.clone());
        table.rules = !dimpled;
        rulings.push(table);
        why = format!("MIL-R-47196A rules: its band for {diameter} was seen, second-hand.");
    }
    let usual = figures().usual_hole(diameter);
    if let Some((hole, nominal)) = usual.and_then(|hole| Some((hole, hole.nominal?))) {
        let (under, over) = (asked.constants.hole_under.value, asked.constants.hole_over.value);
        let (least, most) = (nominal - under, nominal + over);
        let said =
            if dimpled { (Said::NotJudged, false) } else { asked.against(size, Some(least), Some(most)) };
        let words = format!(
            "{} drills {} in, and up to {} in is taken for its tolerance; {} in is {}.",
            hole.drill,
            nominal.decimal(),
            most.decimal(),
            size.decimal(),
            if dimpled { "after dimpling".to_owned() } else { inside(said.0).to_owned() }
        );
        let mut drill =
            ruling("drill and its tolerance", said, words, asked.constants.hole_over.cited.clone());
        drill.rules = rulings.is_empty() && !dimpled;
        rulings.push(drill);
    }
    if let Some((listed, nominal)) = figures().listed_hole(diameter).and_then(|it| Some((it, it.nominal?))) {
        let words = if size > nominal {
            format!(
                "Over {} in, the hole that the handbook's shear values stand for: a larger hole earns nothing.",
                nominal.decimal()
            )
        } else {
            format!("Not over {} in, the hole that the handbook's shear values stand for.", nominal.decimal())
        };
        rulings.push(advice("MIL-HDBK-5, listed hole", words, listed.cited.clone()));
    }
    if dimpled {
        let mut judgement =
            not_judged(rulings, "after dimpling no band is known here; a hole is checked before.");
        if let Some(seen) = figures().holes_for(diameter).find(|hole| hole.role == HoleRole::Measured) {
            let words = format!(
                "In a builder's test a fresh {} measured {} in.",
                seen.drill,
                seen.max.map_or_else(String::new, Length::decimal)
            );
            judgement.views.push((words, seen.cited.clone()));
        }
        return judgement;
    }
    Judgement::of(rulings, why)
}

const fn inside(said: Said) -> &'static str {
    match said {
        Said::Inside => "inside",
        Said::Outside => "outside",
        Said::NotJudged => "not judged",
    }
}

/// Width, depth and the sheet that is left: the first that is outside rules.
pub(super) fn countersink(asked: &Asked<'_>) -> Judgement {
    let rivet = asked.at.rivet;
    if rivet.head != HeadStyle::Flush {
        return not_judged(Vec::new(), "the plan has a protruding head here, and no countersink.");
    }
    let (width, depth) = (asked.length("width"), asked.length("depth"));
    let mut rulings: Vec<Ruling> = Vec::new();
    if let Some(band) = figures().countersink_diameter(rivet.diameter) {
        let said =
            width.map_or((Said::NotJudged, false), |it| asked.against(it, Some(band.min), Some(band.max)));
        let reading =
            width.map_or_else(String::new, |it| format!("; {} in is {}", it.decimal(), inside(said.0)));
        let words = format!("It prints {} to {} in wide{reading}.", band.min.decimal(), band.max.decimal());
        let mut printed = ruling("TM 9-2320-363-34-2, width", said, words, band.cited.clone());
        "printed for blind rivets with the same head".clone_into(&mut printed.lacks);
        rulings.push(printed);
    }
    let joint = asked.at.joint;
    let sheets = joint.map_or(&[][..], |joint| joint.sheets.as_slice());
    let sunk = sheets.iter().find(|sheet| sheet.preparation == Preparation::Countersunk);
    let skin = sheets.iter().find(|sheet| sheet.preparation == Preparation::Dimpled);
    let mut working = Working::default();
    if let (Some(depth), Some(size)) = (depth, figures().rivet_size(rivet)) {
        let added = skin.map_or(Length::ZERO, |skin| nest(skin.thickness));
        let most = size.head_height + added;
        let said = asked.against(depth, None, Some(most));
        working.add(
            "depth that takes the head",
            "z = z0 + (1/sin 50° − 1)·t",
            format!(
                "{} + .305·{}",
                size.head_height.decimal(),
                skin.map_or_else(|| "0".to_owned(), |skin| skin.thickness.decimal())
            ),
            format!("{} in", in_thousandths(most)),
            Cited::theory("spacing"),
        );
        let under = if skin.is_some() { " under the dimple of its skin" } else { "" };
        let words = format!(
            "The head takes {} in{under}; {} in is {}. Shallow costs no strength, deep does.",
            in_thousandths(most),
            depth.decimal(),
            if said.0 == Said::Inside { "not deeper" } else { "deeper" }
        );
        rulings.push(ruling("the head's own depth", said, words, Cited::theory("spacing")));
    }
    if let (Some(depth), Some(sunk)) = (depth, sunk) {
        let land = asked.constants.countersink_land.value;
        let left = sunk.thickness - depth;
        let said = asked.against(left, Some(land), None);
        let words = if left <= Length::ZERO {
            format!("It goes through the sheet of {} in: a knife edge.", sunk.thickness.decimal())
        } else {
            format!(
                "It leaves {} in of the sheet of {} in; a land of {} in is asked.",
                in_thousandths(left),
                sunk.thickness.decimal(),
                land.decimal()
            )
        };
        let cited = asked.constants.countersink_land.cited.clone();
        rulings.push(ruling("land under the countersink", said, words, cited));
    }
    if let Some(sunk) = sunk {
        for minimum in figures().countersink_minima(rivet.diameter) {
            let Some(least) = minimum.least_sheet else { continue };
            let said = if sunk.thickness >= least { Said::Inside } else { Said::Outside };
            let words = format!(
                "{}: {} in; this sheet is {} in.",
                first_upper(&minimum.rule),
                least.decimal(),
                sunk.thickness.decimal()
            );
            let name = if minimum.default { "least sheet" } else { "least sheet, otherwise" };
            let mut row = ruling(name, (said, false), words, minimum.cited.clone());
            row.judges = minimum.default;
            rulings.push(row);
        }
    }
    // A rule that nothing was read for cannot rule; one that is outside rules before one that is not.
    let judging = |ruling: &Ruling, said: Said| ruling.judges && ruling.said == said;
    let rules = rulings
        .iter()
        .position(|it| judging(it, Said::Outside))
        .or_else(|| rulings.iter().position(|it| judging(it, Said::Inside)));
    let why = match rules {
        Some(at) => {
            rulings[at].rules = true;
            format!(
                "What is said of {} rules: {}.",
                rulings[at].rule,
                if rulings[at].said == Said::Outside {
                    "it is outside, whatever else is inside"
                } else {
                    "nothing that was read is outside"
                }
            )
        }
        None => {
            "Not judged: neither width nor depth was measured, and the plan has no countersunk sheet here."
                .to_owned()
        }
    };
    let mut judgement = Judgement::of(rulings, why);
    judgement.working = working;
    for (what, missing) in [("the width", width.is_none()), ("the depth", depth.is_none())] {
        if missing {
            judgement.not_checked.push(what.to_owned());
        }
    }
    if sunk.is_none() {
        judgement
            .not_checked
            .push("the sheet that is left: the plan has no countersunk sheet here".to_owned());
    }
    judgement
}

/// How much deeper a countersink goes under a dimpled skin: .305 of its thickness for a 100° head.
fn nest(skin: Length) -> Length {
    Length::from_inches(figures().constant("film-proud").value * skin.inches())
}

pub(super) fn edge(asked: &Asked<'_>) -> Judgement {
    let rivet = asked.at.rivet;
    let hole = figures().usual_hole(rivet.diameter).and_then(|hole| hole.nominal);
    let mut working = Working::default();
    let distance = match (asked.length("centre"), asked.length("rim"), hole) {
        (Some(centre), ..) => Some(centre),
        (None, Some(rim), Some(hole)) => {
            let centre = rim + Length::from_inches(hole.inches() / 2.0);
            working.add(
                "edge distance",
                "e = rim + D/2",
                format!("{} + {}/2", rim.decimal(), hole.decimal()),
                format!("{} in", in_thousandths(centre)),
                Cited::theory("spacing"),
            );
            Some(centre)
        }
        _ => None,
    };
    let mut judgement = spaced(asked, SpacingItem::EdgeDistance, distance, "edge distance");
    judgement.working = working;
    judgement
}

pub(super) fn pitch(asked: &Asked<'_>) -> Judgement {
    spaced(asked, SpacingItem::Pitch, asked.length("centres"), "pitch")
}

fn spaced(asked: &Asked<'_>, item: SpacingItem, distance: Option<Length>, what: &str) -> Judgement {
    let rivet = asked.at.rivet;
    let Some(distance) = distance else {
        return Judgement::of(Vec::new(), format!("Not judged: the {what} was not measured."));
    };
    let known: Vec<LeastRule> = rules(item, rivet);
    let mut rulings: Vec<Ruling> = known
        .iter()
        .map(|rule| {
            let said = asked.against(distance, Some(rule.least), None);
            let words = format!(
                "{}, {} in; {} in, {} d, is {}.",
                first_upper(&rule.rule),
                in_thousandths(rule.least),
                in_thousandths(distance),
                in_diameters(distance, rivet),
                inside(said.0)
            );
            ruling(&title(&rule.cited), said, words, rule.cited.clone())
        })
        .collect();
    let why = match rulings.first_mut() {
        Some(first) => {
            first.rules = true;
            format!(
                "{} rules: it stands first in the standards. The plan itself may have its reasons.",
                first.rule
            )
        }
        None => format!("Not judged: no rule of the {what} of {rivet} is known here."),
    };
    Judgement::of(rulings, why)
}

fn first_upper(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

/// A length in shank diameters, to the hundredth.
fn in_diameters(length: Length, rivet: RivetType) -> String {
    format!("{:.2}", length.inches() / rivet.diameter.length().inches())
}

/// A document's own name, as far as its title has one before the comma.
fn title(cited: &Cited) -> String {
    let title = figures().source(&cited.source).map_or(cited.source.as_str(), |source| source.title.as_str());
    title.split([',', ':']).next().unwrap_or(title).to_owned()
}

pub(super) fn flushness(asked: &Asked<'_>) -> Judgement {
    let rivet = asked.at.rivet;
    if rivet.head != HeadStyle::Flush {
        return not_judged(Vec::new(), "the plan has a protruding head here.");
    }
    let (proud, low) = (asked.length("proud"), asked.length("low"));
    let step = advice(
        "TM 1-1520-240-BD",
        "No marked step above or below the skin; it has no figure for it.".to_owned(),
        Cited::new("tm-1-1520-240-bd", "2-4a", Known::Seen),
    );
    let mut rulings = vec![step];
    let mut why = "no limit for how far a flush head may stand proud or low was seen for this size.";
    let name = format!("shave-proud-{}", rivet.diameter);
    let most = figures().constants().find(|constant| constant.name == name);
    let mut judgement = match (proud, most) {
        (Some(proud), Some(most)) => {
            let limit = Length::from_inches(most.value);
            let said = asked.against(proud, None, Some(limit));
            let words = format!(
                "Before shaving it may stand proud by {} in; {} in is {}. Not shaved, it stays a step.",
                limit.decimal(),
                proud.decimal(),
                inside(said.0)
            );
            let mut shaved = ruling("MIL-R-47196A, before shaving", said, words, most.cited.clone());
            shaved.rules = true;
            rulings.push(shaved);
            Judgement::of(
                rulings,
                "MIL-R-47196A rules, as quoted, for a head that is to be shaved.".to_owned(),
            )
        }
        _ => {
            if proud.is_none() && low.is_none() {
                why = "neither proud nor low was measured.";
            }
            not_judged(rulings, why)
        }
    };
    let film = asked.constants.film.value;
    let lifted = Length::from_inches(film.inches() * (1.0 + figures().constant("film-proud").value));
    judgement.views.push((
        format!(
            "A film of {} in of primer in the countersink lifts a 100° head by {} in.",
            film.decimal(),
            Length::from_inches((lifted.inches() * 1e4).round() / 1e4).decimal()
        ),
        Cited::theory("spacing"),
    ));
    judgement
}
