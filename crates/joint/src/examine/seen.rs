//! What is seen by eye: cracks, slant, marks, gaps, what is not there.

use faying_standards::{Cited, Dash, Fastener, HeadStyle, Known, Length, figures};

use super::{Asked, advice, not_judged, ruling};
use crate::callout::{CalledVerdict, Stock, call_out};
use crate::ruling::{Judgement, Said};
use crate::seats::in_thousandths;

/// AC 43.13-1B of a finished rivet, as printed: one sentence without a figure.
fn finished(said: Said, words: &str) -> crate::ruling::Ruling {
    ruling(
        "AC 43.13-1B",
        (said, false),
        format!("A finished rivet is straight, tight, not overdriven and free from cracks; {words}."),
        Cited::new("ac43-13-1b", "4-58, p 4-25", Known::Seen),
    )
}

fn field(words: &str, place: &str) -> crate::ruling::Ruling {
    advice("TM 1-1520-240-BD", words.to_owned(), Cited::new("tm-1-1520-240-bd", place, Known::Seen))
}

pub(super) fn cracks(asked: &Asked<'_>) -> Judgement {
    let count = asked.count("count");
    // None at all is nowhere, and one alone meets no other.
    let inside = asked.yes("inside").or_else(|| (count == Some(0)).then_some(false));
    let meet = asked.yes("meet").or_else(|| count.is_some_and(|count| count < 2).then_some(false));
    let circle = figures().constant("crack-circle");
    let from = figures().constant("crack-count");
    let reach = Length::from_inches(circle.value * asked.at.rivet.diameter.length().inches());
    let many = count.map(|count| f64::from(count) >= from.value);
    let said = if [inside, meet, many].contains(&Some(true)) {
        Said::Outside
    } else if [inside, meet, many].iter().all(Option::is_some) {
        Said::Inside
    } else {
        Said::NotJudged
    };
    let mut found: Vec<String> = Vec::new();
    if inside == Some(true) {
        found.push("one reaches inside it".to_owned());
    }
    if meet == Some(true) {
        found.push("two meet".to_owned());
    }
    if let Some(count) = count.filter(|_| many == Some(true)) {
        found.push(format!("there are {count}"));
    }
    let found = match said {
        Said::Outside => found.join(", "),
        Said::Inside => "none of that was seen".to_owned(),
        Said::NotJudged => "that was not looked at wholly".to_owned(),
    };
    let words = format!(
        "Rejected: inside a circle of {:.2} d ({} in across) about the shank, where two meet, or from {} on; {found}.",
        circle.value,
        in_thousandths(reach),
        from.value
    );
    let mut quoted = ruling("MIL-R-47196A", (said, false), words, circle.cited.clone());
    quoted.rules = true;
    "quoted without its heading, read as a list of rejections".clone_into(&mut quoted.lacks);
    let clear = count == Some(0) && said == Said::Inside;
    let printed = if clear {
        finished(Said::Inside, "no crack was seen here")
    } else {
        finished(Said::Outside, "this one has cracks")
    };
    let mut judgement = Judgement::of(
        vec![quoted, printed],
        "MIL-R-47196A rules: the only rule here that counts cracks, as a builder quotes it.".to_owned(),
    );
    judgement.views = vec![
        (
            "A producer's tests: ten heads from good to very poor were within 5 % of the strongest in tension, and a \
             second rivet in a hole is likely worse than the first."
                .to_owned(),
            Cited::new("producer-1941", "inspection of driven rivets", Known::Seen),
        ),
        (
            "A producer's book: badly cracked heads keep static strength, fatigue life and resistance to corrosion."
                .to_owned(),
            Cited::new("producer-1984", "", Known::Seen),
        ),
    ];
    for (what, missing) in [
        ("how many there are", count.is_none()),
        ("whether one reaches in over the shank", inside.is_none()),
        ("whether two meet", meet.is_none()),
    ] {
        if missing {
            judgement.not_checked.push(what.to_owned());
        }
    }
    judgement.cautions.push(no_more_blows());
    judgement
}

/// What no faulty head gets.
fn no_more_blows() -> (String, Cited) {
    (
        "Do not squeeze or drive it again: a head that is cracked, slanted or folded, or has a gap, is not brought back that way."
            .to_owned(),
        Cited::theory("the way back"),
    )
}

pub(super) fn tilt(asked: &Asked<'_>) -> Judgement {
    let both = asked.length("high").zip(asked.length("low"));
    let measured = both.map_or_else(String::new, |(high, low)| {
        format!(" Measured: {} in from side to side.", (high.max(low) - high.min(low)).decimal())
    });
    let mut judgement = not_judged(
        vec![field(&format!("The head seats all round, without marked tilt; no figure.{measured}"), "2-4b")],
        "no figure for a slant was seen.",
    );
    judgement.cautions.push(no_more_blows());
    judgement
}

pub(super) fn offset(asked: &Asked<'_>) -> Judgement {
    let both = asked.length("most").zip(asked.length("least"));
    let words = both.map_or_else(
        || "The tail seats all round; no figure for how far beside the shank it may stand.".to_owned(),
        |(most, least)| {
            let beside = Length::from_inches(((most - least).inches().abs() / 2.0 * 1e4).round() / 1e4);
            format!(
                "The tail seats all round; no figure. From the overhangs it stands {} in beside the shank.",
                beside.decimal()
            )
        },
    );
    let mut judgement = not_judged(
        vec![field(&words, "2-4c, d")],
        "no figure for a head off its shank was seen; measure its smaller width as that of any head.",
    );
    judgement.cautions.push(no_more_blows());
    judgement
}

/// A tool mark on the manufactured head: a quarter of its height on a protruding one, never on a flush one.
pub(super) fn smile(asked: &Asked<'_>) -> Judgement {
    let rivet = asked.at.rivet;
    let share = figures().constant("smile-share");
    let why = "MIL-STD-403C rules: the only rule here for a tool mark, as a builder quotes it.";
    let quoted = |said, words: String| {
        let mut it = ruling("MIL-STD-403C", said, words, share.cited.clone());
        it.rules = true;
        it
    };
    if rivet.head == HeadStyle::Flush {
        let words = "Never on a flush head.".to_owned();
        return Judgement::of(vec![quoted((Said::Outside, false), words)], why.to_owned());
    }
    let Some(size) = figures().rivet_size(rivet) else {
        return not_judged(Vec::new(), "the height of this manufactured head is not known here.");
    };
    // Whole ten-thousandths, rounded down: what is said must not lie outside the limit.
    let limit = Length::from_inches((size.head_height.inches() * share.value * 1e4 + 1e-6).floor() / 1e4);
    let asks = format!(
        "On a protruding head to {} of its height: {} in of {} in",
        share.value,
        limit.decimal(),
        size.head_height.decimal()
    );
    let mut judgement = match asked.length("depth") {
        None => {
            let it = quoted((Said::NotJudged, false), format!("{asks}; the depth was not measured."));
            Judgement::of(vec![it], format!("{why} Measure the depth of the mark."))
        }
        Some(depth) => {
            let said = asked.against(depth, None, Some(limit));
            let side = if said.0 == Said::Inside { "not deeper" } else { "deeper" };
            let words = format!("{asks}; {} in is {side}.", depth.decimal());
            Judgement::of(vec![quoted(said, words)], why.to_owned())
        }
    };
    judgement.working.add(
        "deepest mark",
        "share of the head's height",
        format!("{} · {} in", share.value, size.head_height.decimal()),
        format!("{} in", limit.decimal()),
        size.cited.clone(),
    );
    judgement.views.push((
        "Builders advised replacing one on a loaded hinge bracket all the same; that is the designer's decision."
            .to_owned(),
        Cited::new("builder-accounts", "hinge bracket", Known::Seen),
    ));
    judgement
}

pub(super) fn clinched() -> Judgement {
    let mut straight = finished(Said::Outside, "this tail went over");
    straight.rules = true;
    let mut judgement = Judgement::of(
        vec![straight],
        "AC 43.13-1B rules: the only rule here, and it has no figure.".to_owned(),
    );
    judgement.views.push((
        "A folded rivet stretches its hole, and the next one is likely to fold too: look at the hole's size first."
            .to_owned(),
        Cited::new("builder-accounts", "folded rivet", Known::Seen),
    ));
    judgement.cautions.push(no_more_blows());
    judgement
}

pub(super) fn loose() -> Judgement {
    let mut field = ruling(
        "TM 1-1520-240-BD",
        (Said::Outside, false),
        "A rivet that can be moved by hand is replaced.".to_owned(),
        Cited::new("tm-1-1520-240-bd", "2-4e", Known::Seen),
    );
    field.rules = true;
    Judgement::of(
        vec![field, finished(Said::Outside, "this one can be moved")],
        "TM 1-1520-240-BD rules: the only rule here for a loose rivet.".to_owned(),
    )
}

pub(super) fn gap(asked: &Asked<'_>) -> Judgement {
    let place = match asked.word("where") {
        "manufactured" => "under the manufactured head",
        "shop" => "under the shop head",
        "sheets" => "between the sheets",
        _ => "there",
    };
    let feeler = figures().constant("gap-feeler");
    let limit = Length::from_inches(feeler.value);
    let reading = asked.length("gap").map_or_else(String::new, |gap| {
        let side = if gap < limit { "does not go that far" } else { "is not under that" };
        format!(" A gap of {} in {place} {side}.", gap.decimal())
    });
    let blind = advice(
        "TM 10-5410-223-14-1",
        format!("A feeler of {} in, of blind rivets only.{reading}", limit.decimal()),
        feeler.cited.clone(),
    );
    let mut judgement = not_judged(
        vec![blind, field("The head seats all round.", "2-4b, c")],
        "the limit for solid rivets was not found.",
    );
    judgement.cautions.push((
        "A gap is not closed by striking again: metal pressed between the sheets can crack the joint."
            .to_owned(),
        Cited::new("engine-practices-manual", "70-13-01", Known::Seen),
    ));
    judgement
}

/// A scratch or dent in the sheet: no rule of depth was found for sheet.
pub(super) fn mark(asked: &Asked<'_>) -> Judgement {
    let depth = asked.length("depth");
    let mut judgement =
        not_judged(Vec::new(), "no rule for a mark in sheet was found; place and direction decide.");
    let outer = asked.at.joint.and_then(|joint| Some([joint.sheets.first()?, joint.sheets.last()?]));
    for sheet in outer.into_iter().flatten() {
        let thickness = sheet.thickness;
        // The cladding is thinner, as a share, from .063 on.
        let name = if thickness < Length::from_inches(0.063) { "clad-thin" } else { "clad-thick" };
        let share = figures().constant(name);
        let clad = Length::from_inches((thickness.inches() * share.value * 1e4).round() / 1e4);
        let of = depth.map_or_else(String::new, |depth| {
            let side = if depth > clad { "deeper" } else { "not deeper" };
            let share = 100.0 * depth.inches() / thickness.inches();
            format!("; this mark of {} in is {side}, and {share:.0} % of the sheet", depth.decimal())
        });
        let view = format!(
            "Where the sheet of {} in is clad, its cladding is about {} in deep{of}.",
            thickness.decimal(),
            clad.decimal()
        );
        if judgement.views.iter().all(|(known, _)| *known != view) {
            judgement.views.push((view, share.cited.clone()));
        }
    }
    judgement.views.push((
        "A rule of 10 % of the thickness that is quoted for this is one for tubing.".to_owned(),
        Cited::new("builder-accounts", "marks on clad sheet", Known::SecondHand),
    ));
    judgement.views.push((
        "Another one, of 10 % or .032 in, whichever is less, is one for deburring holes.".to_owned(),
        Cited::new("mil-r-47196a", "deburring", Known::SecondHand),
    ));
    judgement.cautions.push((
        "A mark is blended out along the sheet and primed, not filled; across the load, near a hole or an edge, ask first."
            .to_owned(),
        Cited::new("builder-accounts", "marks on clad sheet", Known::SecondHand),
    ));
    judgement
}

pub(super) fn missing_layer(asked: &Asked<'_>) -> Judgement {
    let layers = asked.at.joint.map_or(0, |joint| joint.sheets.len());
    let why = match layers {
        0 => "the joint is not the plan's.".to_owned(),
        count => format!(
            "the plan has {count} sheets here. With one missing, grip, tail and the way of the load are not the plan's, and no figure of it holds."
        ),
    };
    not_judged(Vec::new(), &why)
}

/// Another length than called: what it gives as computed; the heads are judged as measured.
pub(super) fn wrong_length(asked: &Asked<'_>) -> Judgement {
    let text = asked.word("fastener");
    let rivet = asked.at.rivet;
    let (other, dash) = match Fastener::read(text).ok().map(|read| read.fastener) {
        Some(Fastener::Solid { kind, dash, .. }) => (Some(kind.to_string()).filter(|_| kind != rivet), dash),
        Some(Fastener::AsWritten(_)) | None => (None, Dash::read(text)),
        Some(fastener) => (Some(fastener.to_string()), None),
    };
    if let Some(other) = other {
        let mut plan = ruling(
            "the plan's call-out",
            (Said::Outside, false),
            format!("The plan has {rivet}; {other} is another fastener, whatever its length."),
            Cited::new("plan", "", Known::Own),
        );
        plan.rules = true;
        return Judgement::of(vec![plan], "The plan's call-out rules: it is another fastener.".to_owned());
    }
    let Some(dash) = dash else {
        return not_judged(Vec::new(), "write what went in with its length, such as MS20470AD4-4 or -4.");
    };
    let joint = asked.at.joint;
    if joint.is_some_and(|joint| joint.called == Some(dash)) {
        return not_judged(
            Vec::new(),
            &format!("{dash} is the length that the plan calls; read the bag again."),
        );
    }
    let reckoned = joint.and_then(|joint| {
        let (seats, limits) = (joint.seats.as_ref().ok()?, joint.in_force.as_ref().ok()?);
        let stock = Stock { half: asked.at.limits.half_sizes, in_run: &[] };
        Some((joint, seats, limits, call_out(seats, limits, Some(dash), stock, asked.constants)))
    });
    let Some((joint, seats, limits, found)) = reckoned else {
        return not_judged(
            Vec::new(),
            "the stack or its limits are not known here, so no tail can be reckoned.",
        );
    };
    let (said, comes_to) = match found.called {
        Some(CalledVerdict::Short) => (Said::Outside, format!("is likely too short for {}", found.limits)),
        Some(CalledVerdict::Fold) => (Said::Outside, "has a tail so long that it may have folded".to_owned()),
        Some(CalledVerdict::Stands | CalledVerdict::Coupon) => {
            (Said::NotJudged, format!("can give a head inside {}", found.limits))
        }
        None => (Said::NotJudged, "cannot be reckoned".to_owned()),
    };
    let words = found.why.first().cloned().unwrap_or_default();
    // What is reckoned of a length foretells a head and is no reading of it: it stands beside and rules nothing.
    let mut computed = ruling(&found.limits, (said, false), words, Cited::theory("call-out"));
    "as computed from the length, not as measured".clone_into(&mut computed.lacks);
    computed.judges = false;
    let plan = joint.called.map_or_else(String::new, |called| format!(" The plan calls {called}."));
    let mut judgement = Judgement::of(
        vec![computed],
        format!(
            "Not judged: as computed {dash} {comes_to}. Look for folds and measure the heads: what is measured is \
             judged, and the length is not the plan's, so ask.{plan}"
        ),
    );
    judgement.working = crate::callout::working(seats, limits, dash, asked.constants);
    judgement.not_checked.push("the heads themselves".to_owned());
    judgement
}

pub(super) fn wrong_feature() -> Judgement {
    let mut judgement = not_judged(
        Vec::new(),
        "what was drilled, dimpled or countersunk at the wrong place departs from the plan.",
    );
    judgement.views.push((
        "An edge distance counts from the centre of the hole, and a countersink does not change it."
            .to_owned(),
        Cited::new("builder-accounts", "wrong holes of a spar", Known::Seen),
    ));
    judgement
}
