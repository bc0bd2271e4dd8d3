//! Sizes that are read: hole, countersink, edge distance, pitch, flushness.

use faying_plan::Preparation;
use faying_standards::{
    Cited, Diameter, HeadStyle, HoleRole, Known, Length, RivetSize, RivetType, SpacingItem, Working, figures,
};

use super::{Asked, advice, not_judged, ruling};
use crate::constants::Constants;
use crate::ruling::{Judgement, Ruling, Said};
use crate::seats::in_thousandths;
use crate::spacing::{LeastRule, rules};

/// When a hole was measured: the bands known here are of holes before dimpling.
#[derive(Clone, Copy, PartialEq, Eq)]
enum When {
    Drilled,
    Dimpled,
    /// Not said, at a joint with a dimpled sheet.
    Unsaid,
}

/// The band of table I before dimpling, where it was seen; else the drill with its tolerance.
pub(super) fn hole(asked: &Asked<'_>) -> Judgement {
    let Some(size) = asked.length("diameter") else {
        return not_judged(Vec::new(), "the hole was not measured.");
    };
    let when = match asked.word("when") {
        "dimpled" => When::Dimpled,
        "" if asked.at.has_dimpled_sheet() => When::Unsaid,
        _ => When::Drilled,
    };
    sized(asked, size, when)
}

/// A hole that is longer than wide is as large as it is long; its shape is nobody's rule here.
pub(super) fn figure_eight(asked: &Asked<'_>) -> Judgement {
    let (long, wide) = (asked.length("long"), asked.length("wide"));
    let Some(size) = long.max(wide) else {
        return not_judged(
            Vec::new(),
            "measure it across its length; a rivet fills a round hole, and no rule here allows another.",
        );
    };
    let when = if asked.at.has_dimpled_sheet() { When::Unsaid } else { When::Drilled };
    let mut judgement = sized(asked, size, when);
    if judgement.said != Said::Outside {
        // Not larger than a hole may be, and still not round.
        for ruling in &mut judgement.rulings {
            ruling.rules = false;
        }
        let why = match (when, long) {
            (When::Unsaid, _) => "it is not round, and no band is known here of a hole after dimpling.",
            (_, Some(_)) => "across its length it is not larger than the hole may be, but it is not round.",
            (_, None) => "it is as large as it is long, and that was not measured; it is not round.",
        };
        let views = judgement.views;
        judgement = not_judged(judgement.rulings, why);
        judgement.views = views;
    }
    if long.is_none() {
        judgement.not_checked.push("its length".to_owned());
    }
    judgement
}

/// The largest hole by the rule that rules: table I where it was seen, else the drill with its tolerance.
pub(crate) fn largest_hole(diameter: Diameter, constants: &Constants) -> Option<(Length, Cited)> {
    let band = figures().holes_for(diameter).find(|hole| hole.role == HoleRole::Band);
    if let Some((most, cited)) = band.and_then(|hole| Some((hole.max?, hole.cited.clone()))) {
        return Some((most, cited));
    }
    let usual = figures().usual_hole(diameter)?.nominal?;
    Some((usual + constants.hole_over.value, constants.hole_over.cited.clone()))
}

fn sized(asked: &Asked<'_>, size: Length, when: When) -> Judgement {
    let diameter = asked.at.rivet.diameter;
    let drilled = when == When::Drilled;
    let after = match when {
        When::Unsaid => "whether this was measured before it is not said.",
        _ => "this was measured after.",
    };
    let mut rulings: Vec<Ruling> = Vec::new();
    let mut why = format!(
        "The drill and its tolerance rule: no band of a finished hole was seen for {diameter}. Enter it from your \
         own copy of MIL-R-47196A, table I."
    );
    let band = figures().holes_for(diameter).find(|hole| hole.role == HoleRole::Band);
    if let Some((band, min, max)) = band.and_then(|band| Some((band, band.min?, band.max?))) {
        let asks = format!("It asks {} to {} in, before dimpling", min.decimal(), max.decimal());
        let (said, words) = if drilled {
            let said = asked.against(size, Some(min), Some(max));
            let small = if size < min { " Open it with its drill and read it again." } else { "" };
            (said, format!("{asks}; {} in is {}.{small}", size.decimal(), inside(said.0)))
        } else {
            ((Said::NotJudged, false), format!("{asks}; {after}"))
        };
        let mut table = ruling("MIL-R-47196A, table I", said, words, band.cited.clone());
        table.rules = drilled;
        rulings.push(table);
        why = format!("MIL-R-47196A rules: its band for {diameter} was seen, second-hand.");
    }
    let usual = figures().usual_hole(diameter);
    if let Some((hole, nominal)) = usual.and_then(|hole| Some((hole, hole.nominal?))) {
        let most = nominal + asked.constants.hole_over.value;
        let least = nominal - asked.constants.hole_under.value;
        let (said, is) = if !drilled {
            ((Said::NotJudged, false), after.to_owned())
        } else if size < least {
            // Nothing makes a hole smaller than its drill: it was not drilled out, or read too small.
            let (_, close) = asked.against(size, Some(least), None);
            let words = format!("{} in is under the drill: run it through and read again.", size.decimal());
            ((Said::NotJudged, close), words)
        } else {
            let said = asked.against(size, None, Some(most));
            (said, format!("{} in is {}.", size.decimal(), inside(said.0)))
        };
        let words = format!(
            "{} drills {} in, and up to {} in is taken for its tolerance; {is}",
            hole.drill,
            nominal.decimal(),
            most.decimal()
        );
        let mut drill =
            ruling("drill and its tolerance", said, words, asked.constants.hole_over.cited.clone());
        drill.rules = rulings.is_empty() && drilled;
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
    if drilled && !rulings.iter().any(|it| it.rules) {
        return not_judged(rulings, &format!("neither a band nor a drill for {diameter} was seen."));
    }
    if drilled {
        let mut judgement = Judgement::of(rulings, why);
        judgement.working = drill_working(diameter, asked.constants);
        return judgement;
    }
    let why = match when {
        When::Unsaid => {
            "a sheet is dimpled here, and dimpling makes a hole larger: say whether it was measured before or after."
        }
        _ => "after dimpling no band is known here; a hole is checked before.",
    };
    let mut judgement = not_judged(rulings, why);
    judgement.views = after_dimpling(diameter, size, asked.constants);
    judgement
}

/// How the largest hole of a drill was reckoned.
fn drill_working(diameter: Diameter, constants: &Constants) -> Working {
    let mut working = Working::default();
    if let Some((hole, nominal)) = figures().usual_hole(diameter).and_then(|hole| Some((hole, hole.nominal?)))
    {
        working.add(
            format!("hole of {}", hole.drill),
            "drill + tolerance",
            format!("{} + {}", nominal.decimal(), constants.hole_over.value.decimal()),
            format!("{} in", (nominal + constants.hole_over.value).decimal()),
            constants.hole_over.cited.clone(),
        );
    }
    working
}

/// What a hole was after it was dimpled, in a builder's test and on the builder's own die.
pub(crate) fn after_dimpling(
    diameter: Diameter,
    size: Length,
    constants: &Constants,
) -> Vec<(String, Cited)> {
    let beside = |known: Length| match size - known {
        more if more > Length::ZERO => format!("; {} in is {} in more", size.decimal(), more.decimal()),
        _ => format!("; {} in is not more", size.decimal()),
    };
    let test = figures().holes_for(diameter).find(|hole| hole.role == HoleRole::Measured);
    let test = test.and_then(|seen| {
        // It is the least that the hole was.
        let through = seen.min?;
        let words = format!(
            "In a builder's test a drill of {} in went through a hole, {}{}.",
            through.decimal(),
            seen.drill,
            beside(through)
        );
        Some((words, seen.cited.clone()))
    });
    let own = constants.dimpled_hole(diameter).filter(|own| own.cited.known == Known::Own).map(|own| {
        let words = format!("Your own die leaves {} in{}.", own.value.decimal(), beside(own.value));
        (words, own.cited.clone())
    });
    test.into_iter().chain(own).collect()
}

const fn inside(said: Said) -> &'static str {
    match said {
        Said::Inside => "inside",
        Said::Outside => "outside",
        Said::NotJudged => "not judged",
    }
}

/// A countersink as it was read, in the sheets that the plan has there.
struct Sunk<'a> {
    asked: &'a Asked<'a>,
    size: Option<&'static RivetSize>,
    width: Option<Length>,
    depth: Option<Length>,
    /// The thinnest countersunk sheet.
    sheet: Option<Length>,
    /// All dimpled skins that lie in it.
    skins: Length,
}

/// Width, depth and the sheet that is left: the first that is outside rules.
pub(super) fn countersink(asked: &Asked<'_>) -> Judgement {
    let rivet = asked.at.rivet;
    if rivet.head != HeadStyle::Flush {
        return not_judged(Vec::new(), "the plan has a protruding head here, and no countersink.");
    }
    let sheets = asked.at.joint.map_or(&[][..], |joint| joint.sheets.as_slice());
    let of = |preparation| sheets.iter().filter(move |it| it.preparation == preparation);
    let countersunk = of(Preparation::Countersunk).count();
    let sunk = Sunk {
        asked,
        size: figures().rivet_size(rivet),
        width: asked.length("width"),
        depth: asked.length("depth"),
        sheet: of(Preparation::Countersunk).map(|it| it.thickness).min(),
        // A dimple lies in a countersink only where there is one.
        skins: if countersunk > 0 {
            of(Preparation::Dimpled).map(|it| it.thickness).sum()
        } else {
            Length::ZERO
        },
    };
    let mut working = Working::default();
    let mut read: Vec<Ruling> = vec![sunk.width_ruling(&mut working)];
    read.extend(sunk.depth_ruling(&mut working));
    read.extend(sunk.what_is_left());
    let judging = |it: &Ruling, said: Said| it.judges && it.said == said;
    // What the plan's sheet is cannot say that a countersink in it is inside; only a reading can.
    let inside_at = read.iter().position(|it| judging(it, Said::Inside));
    let mut rulings = read;
    rulings.extend(sunk.least_sheets());
    let rules = rulings.iter().position(|it| judging(it, Said::Outside)).or(inside_at);
    let why = match rules {
        Some(at) => {
            rulings[at].rules = true;
            let of = if rulings[at].said == Said::Outside {
                "it is outside, whatever else is inside"
            } else {
                "nothing that was read is outside"
            };
            format!("What is said of {} rules: {of}.", rulings[at].rule)
        }
        None if sunk.width.is_none() && sunk.depth.is_none() => {
            "Not judged: neither width nor depth was measured.".to_owned()
        }
        None => "Not judged: no rule here has a limit for what was read. Ask the kit's designer.".to_owned(),
    };
    let mut judgement = Judgement::of(rulings, why);
    judgement.working = working;
    for (what, missing) in [("the width", sunk.width.is_none()), ("the depth", sunk.depth.is_none())] {
        if missing {
            judgement.not_checked.push(what.to_owned());
        }
    }
    let left = match countersunk {
        0 => "the sheet that is left: the plan has no countersunk sheet here",
        1 => return judgement,
        _ => "which of the countersunk sheets it is in: the thinnest was taken",
    };
    judgement.not_checked.push(left.to_owned());
    judgement
}

/// Whether a countersink is wider or deeper than its head asks.
pub(super) fn countersunk_too_far(asked: &Asked<'_>) -> bool {
    let judged = countersink(asked);
    let outside = |rule: &str| judged.rulings.iter().any(|it| it.rule == rule && it.said == Said::Outside);
    let narrow = figures()
        .countersink_diameter(asked.at.rivet.diameter)
        .zip(asked.length("width"))
        .is_some_and(|(band, width)| width < band.min);
    outside(OWN_DEPTH) || (outside(PRINTED_WIDTH) && !narrow)
}

/// The rule of the printed width.
const PRINTED_WIDTH: &str = "TM 9-2320-363-34-2, width";
/// The rule of the depth that the head takes.
const OWN_DEPTH: &str = "the head's own depth";

impl Sunk<'_> {
    /// How much deeper it goes under its skins: .305 of their thickness for a 100° head.
    fn deeper(&self) -> Length {
        nest(self.skins)
    }

    fn under(&self) -> String {
        if self.skins > Length::ZERO {
            format!(" under {} in of dimpled skin", self.skins.decimal())
        } else {
            String::new()
        }
    }

    fn width_ruling(&self, working: &mut Working) -> Ruling {
        let diameter = self.asked.at.rivet.diameter;
        let Some(band) = figures().countersink_diameter(diameter) else {
            let head = self.size.map(|size| (size.head_diameter, size.head_diameter_tolerance, &size.cited));
            let (words, cited) = match head {
                Some((head, give, cited)) => {
                    let words =
                        format!("; the head itself is {} ± {} in wide", head.decimal(), give.decimal());
                    (words, cited.clone())
                }
                None => (String::new(), Cited::theory("faults")),
            };
            let words = format!("No width of a countersink was seen for {diameter} in{words}.");
            return advice("width", words, cited);
        };
        // A cone that goes deeper by z is wider by 2·tan 50°·z.
        let wider = Length::from_inches(2.0 * tan_half() * self.deeper().inches());
        let most = band.max + wider;
        if self.skins > Length::ZERO {
            working.add(
                "widest countersink under a dimpled skin",
                "W + 2·tan 50°·(1/sin 50° − 1)·t",
                format!("{} + 2.384·.305·{}", band.max.decimal(), self.skins.decimal()),
                format!("{} in", in_thousandths(most)),
                Cited::theory("faults"),
            );
        }
        let said = self
            .width
            .map_or((Said::NotJudged, false), |it| self.asked.against(it, Some(band.min), Some(most)));
        let more = if self.skins > Length::ZERO {
            format!(", and up to {} in{}", in_thousandths(most), self.under())
        } else {
            String::new()
        };
        let reading =
            self.width.map_or_else(String::new, |it| format!("; {} in is {}", it.decimal(), inside(said.0)));
        // A narrow one is a shallow one.
        let narrow = if self.width.is_some_and(|it| it < band.min) { " It can be cut further." } else { "" };
        let words = format!(
            "It prints {} to {} in wide{more}{reading}.{narrow}",
            band.min.decimal(),
            band.max.decimal()
        );
        let mut printed = ruling(PRINTED_WIDTH, said, words, band.cited.clone());
        "printed for blind rivets with the same head".clone_into(&mut printed.lacks);
        printed
    }

    fn depth_ruling(&self, working: &mut Working) -> Option<Ruling> {
        let depth = self.depth?;
        let Some(size) = self.size else {
            let words = format!("No head of {} was seen.", self.asked.at.rivet);
            return Some(advice(OWN_DEPTH, words, Cited::theory("faults")));
        };
        let most = size.head_height + self.deeper();
        let said = self.asked.against(depth, None, Some(most));
        working.add(
            "depth that takes the head",
            "z = z0 + (1/sin 50° − 1)·t",
            format!(
                "{} + .305·{}",
                size.head_height.decimal(),
                if self.skins > Length::ZERO { self.skins.decimal() } else { "0".to_owned() }
            ),
            format!("{} in", in_thousandths(most)),
            Cited::theory("faults"),
        );
        let side = if said.0 == Said::Inside { "not deeper" } else { "deeper" };
        let words = format!(
            "The head takes {} in{}; {} in is {side}. Shallow costs no strength, deep does.",
            in_thousandths(most),
            self.under(),
            depth.decimal()
        );
        Some(ruling(OWN_DEPTH, said, words, Cited::theory("faults")))
    }

    /// A knife edge is a fault; how much land there should be is shown, because the printed least sheets leave less.
    fn what_is_left(&self) -> Vec<Ruling> {
        let (Some(depth), Some(sheet)) = (self.depth, self.sheet) else { return Vec::new() };
        let left = sheet - depth;
        let said = if left > Length::ZERO { Said::Inside } else { Said::Outside };
        let close = left.inches().abs() < self.asked.guard();
        let words = if said == Said::Outside {
            format!("{} in goes through the sheet of {} in.", depth.decimal(), sheet.decimal())
        } else {
            format!("It leaves {} in of the sheet of {} in.", left.decimal(), sheet.decimal())
        };
        let quoted = Cited::new("mil-hdbk-5f", "flush rivet table", Known::SecondHand);
        let mut edge = ruling("MIL-HDBK-5F, knife edge", (said, close), words, quoted);
        "quoted for 3/32 in .032 in only".clone_into(&mut edge.lacks);
        let land = &self.asked.constants.countersink_land;
        let said = self.asked.against(left, Some(land.value), None);
        let words = format!(
            "A land of {} in is asked below the cone; {} in is left.",
            land.value.decimal(),
            left.max(Length::ZERO).decimal()
        );
        let mut shown = ruling("land below the countersink", said, words, land.cited.clone());
        shown.judges = false;
        vec![edge, shown]
    }

    fn least_sheets(&self) -> Vec<Ruling> {
        let Some(sheet) = self.sheet else { return Vec::new() };
        let diameter = self.asked.at.rivet.diameter;
        let row = |name: &str, what: &str, least: Length, judges, cited: Cited| {
            let said = if sheet >= least { Said::Inside } else { Said::Outside };
            let words = format!(
                "{}: {} in; this sheet is {} in.",
                first_upper(what),
                least.decimal(),
                sheet.decimal()
            );
            Ruling { judges, ..ruling(name, (said, false), words, cited) }
        };
        let mut rows: Vec<Ruling> = Vec::new();
        if figures().countersink_minimum(diameter).is_none() {
            let words = format!("No least sheet for a countersink was seen for {diameter} in.");
            rows.push(advice("least sheet", words, Cited::theory("faults")));
        }
        for minimum in figures().countersink_minima(diameter) {
            let Some(least) = minimum.least_sheet else { continue };
            let name = if minimum.default { "least sheet" } else { "least sheet, otherwise" };
            rows.push(row(name, &minimum.rule, least, minimum.default, minimum.cited.clone()));
        }
        let hole = figures().usual_hole(diameter).and_then(|hole| hole.nominal);
        if let (Some(size), Some(hole)) = (self.size, hole)
            && self.skins > Length::ZERO
        {
            let cone = (size.head_diameter - hole).inches() / (2.0 * tan_half());
            let land = self.asked.constants.countersink_land.value;
            let least = Length::from_inches(cone) + self.deeper() + land;
            // To the thousandth, as a reckoned length is told.
            let least = Length::from_inches((least.inches() * 1e3).round() / 1e3);
            let what = "least sheet, head, nesting and land together";
            rows.push(row("least sheet under a dimpled skin", what, least, false, Cited::theory("faults")));
        }
        rows
    }
}

/// The tangent of half the angle of a 100° head, from the same 1/sin 50° − 1 as everything else here.
fn tan_half() -> f64 {
    let over = figures().constant("film-proud").value + 1.0;
    1.0 / (over * over - 1.0).sqrt()
}

/// How much deeper a countersink goes under a dimpled skin: .305 of its thickness for a 100° head.
fn nest(skin: Length) -> Length {
    Length::from_inches(figures().constant("film-proud").value * skin.inches())
}

pub(super) fn edge(asked: &Asked<'_>) -> Judgement {
    let diameter = asked.at.rivet.diameter;
    let drilled = figures().usual_hole(diameter).or_else(|| figures().listed_hole(diameter));
    let hole = drilled.and_then(|hole| hole.nominal);
    let mut working = Working::default();
    let (centre, rim) = (asked.length("centre"), asked.length("rim"));
    let from_rim = rim.zip(hole).map(|(rim, hole)| {
        let centre = rim + Length::from_inches(hole.inches() / 2.0);
        working.add(
            "edge distance",
            "e = rim + D/2",
            format!("{} + {}/2", rim.decimal(), hole.decimal()),
            format!("{} in", in_thousandths(centre)),
            Cited::theory("spacing"),
        );
        centre
    });
    // Of two readings the smaller counts: a drawn rim and a drawn centre are not one.
    let distance = centre.into_iter().chain(from_rim).min();
    let why = if rim.is_some() && hole.is_none() {
        format!("no hole is known for {diameter} in: measure from its centre.")
    } else {
        "the edge distance was not measured.".to_owned()
    };
    let mut judgement = spaced(asked, SpacingItem::EdgeDistance, distance, &why);
    judgement.working = working;
    judgement
}

pub(super) fn pitch(asked: &Asked<'_>) -> Judgement {
    spaced(asked, SpacingItem::Pitch, asked.length("centres"), "the pitch was not measured.")
}

fn spaced(asked: &Asked<'_>, item: SpacingItem, distance: Option<Length>, missing: &str) -> Judgement {
    let rivet = asked.at.rivet;
    let known: Vec<LeastRule> = rules(item, rivet);
    let mut rulings: Vec<Ruling> = known
        .iter()
        .map(|rule| {
            let said =
                distance.map_or((Said::NotJudged, false), |it| asked.against(it, Some(rule.least), None));
            let reading = distance.map_or_else(String::new, |it| {
                format!("; {} in, {} d, is {}", in_thousandths(it), in_diameters(it, rivet), inside(said.0))
            });
            let words = format!("{}, {} in{reading}.", first_upper(&rule.rule), in_thousandths(rule.least));
            ruling(&title(&rule.cited), said, words, rule.cited.clone())
        })
        .collect();
    if distance.is_none() {
        return Judgement::of(rulings, format!("Not judged: {missing}"));
    }
    let why = match rulings.first_mut() {
        Some(first) => {
            first.rules = true;
            format!(
                "{} rules: it stands first in the standards. The plan itself may have its reasons.",
                first.rule
            )
        }
        None => format!("Not judged: no rule for {rivet} is known here. Ask the kit's designer."),
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
    title.split([',', ':', '(']).next().unwrap_or(title).trim().to_owned()
}

pub(super) fn flushness(asked: &Asked<'_>) -> Judgement {
    let rivet = asked.at.rivet;
    if rivet.head != HeadStyle::Flush {
        return not_judged(Vec::new(), "the plan has a protruding head here.");
    }
    let read = |name| asked.length(name).filter(|&it| it > Length::ZERO);
    let (proud, low) = (read("proud"), read("low"));
    let step = advice(
        "TM 1-1520-240-BD",
        "No marked step above or below the skin; it has no figure for it.".to_owned(),
        Cited::new("tm-1-1520-240-bd", "2-4a", Known::Seen),
    );
    let mut rulings = vec![step];
    let name = format!("shave-proud-{}", rivet.diameter);
    let most = figures().constants().find(|constant| constant.name == name);
    let mut why = match (proud, low) {
        (Some(_), Some(_)) => "a head does not stand proud and low at once: read it again.",
        (None, None) => "neither proud nor low was measured.",
        _ => "no limit for how far a flush head may stand proud or low was seen for this size.",
    };
    let mut judgement = None;
    if let (Some(proud), None, Some(most)) = (proud, low, most) {
        let limit = Length::from_inches(most.value);
        let said = asked.against(proud, None, Some(limit));
        let words = format!(
            "A head that is to be shaved may stand proud by {} in before; {} in is {}.",
            limit.decimal(),
            proud.decimal(),
            inside(said.0)
        );
        let mut shaved = ruling("MIL-R-47196A, before shaving", said, words, most.cited.clone());
        // More than may be shaved is too much for a head that is not. Less says nothing of that one.
        shaved.rules = said.0 == Said::Outside;
        rulings.push(shaved);
        if said.0 == Said::Outside {
            let why = "MIL-R-47196A rules, as quoted: prouder than even a head to be shaved may stand.";
            judgement = Some(Judgement::of(std::mem::take(&mut rulings), why.to_owned()));
        } else {
            why = "a head that is not shaved stays a step, and no figure for that was seen.";
        }
    }
    let mut judgement = judgement.unwrap_or_else(|| not_judged(rulings, why));
    judgement.views.push((film_words(asked.constants.film.value), Cited::theory("faults")));
    judgement
}

/// What a film of primer does to a flush head.
fn film_words(film: Length) -> String {
    let proud = figures().constant("film-proud").value;
    if film <= Length::ZERO {
        return format!(
            "A film of primer in the countersink lifts a 100° head by {:.3} times the film, and leaves it {} times \
             the film proud where the outer face has the same coat.",
            1.0 + proud,
            share(proud)
        );
    }
    let times = |times: f64| Length::from_inches((film.inches() * times * 1e4).round() / 1e4).decimal();
    format!(
        "A film of {} in of primer in the countersink lifts a 100° head by {} in, and leaves it {} in proud where \
         the outer face has the same coat.",
        film.decimal(),
        times(1.0 + proud),
        times(proud)
    )
}

/// A share under one, to the thousandth, as a length is written.
fn share(value: f64) -> String {
    format!("{value:.3}").trim_start_matches('0').to_owned()
}
