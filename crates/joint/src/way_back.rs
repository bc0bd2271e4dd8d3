//! The way back from a fault: what the builder may do, and what only the question to the designer may name.
//!
//! Three things are the builder's own: another squeeze, where a band of
//! heights is left; a new rivet of the same kind in the same hole; and asking.
//! A larger rivet, a bolt or a blind rivet are options for whoever decides,
//! each with what it does to hole, edge distance and pitch. Theory chapter,
//! "The way back".

use faying_standards::{
    Cited, Diameter, HeadStyle, HoleRole, Known, Length, RivetAlloy, RivetType, SpacingItem, Working, figures,
};

use crate::check::{Joint, in_force};
use crate::constants::Constants;
use crate::examine::{Aspect, At, after_dimpling, largest_hole};
use crate::judge::{Action, Defects, Measured, judge};
use crate::ruling::Said;
use crate::seats::{ShopSeat, in_thousandths};
use crate::spacing::rules;

/// What can be done.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum WayKind {
    /// Another squeeze.
    SqueezeMore,
    /// A new rivet of the same kind in the same hole.
    Replace,
    /// The question to whoever decides.
    Ask,
    /// The next larger rivet.
    NextSize,
    /// A bolt in the rivet's place.
    Bolt,
    /// A blind rivet in its place.
    Blind,
}

/// One way, with what speaks for and against it.
#[derive(Clone, Debug, PartialEq)]
pub struct Way {
    /// Which.
    pub kind: WayKind,
    /// Whether the builder may take it; else it is only an option in the question.
    pub offered: bool,
    /// Sentences, each with its source.
    pub says: Vec<(String, Cited)>,
    /// Lowest and highest height of another squeeze.
    pub squeeze_to: Option<(Length, Length)>,
    /// How its figures were reckoned.
    pub working: Working,
}

/// Where the builder stands with a fault.
#[derive(Clone, Copy, Debug)]
pub struct Situation<'a> {
    /// Rivet, joint, limits.
    pub at: At<'a>,
    /// What is wrong; none for the size of the shop head, and for a fault told in words.
    pub aspect: Option<Aspect>,
    /// What the ruling rule says of it.
    pub said: Said,
    /// Width and height of the head, where they were measured.
    pub head: Option<(Length, Length)>,
    /// Whether the head has a crack, a slant, a fold or a gap.
    pub defects: bool,
    /// The hole as read.
    pub hole: Option<Length>,
    /// From its centre to the nearest edge, as read or as drawn.
    pub edge: Option<Length>,
    /// To the nearest hole, as read or as drawn.
    pub pitch: Option<Length>,
    /// Rivets of the pattern.
    pub pattern: usize,
    /// Other holes of it that are oversize, or countersunk too wide.
    pub oversize: usize,
    /// Of those, how many lie side by side with this one.
    pub adjacent: usize,
    /// How often a rivet was taken out of this hole already.
    pub removals: usize,
}

/// Every way back, the builder's own first.
///
/// # Units
/// - returns: [`WayKind::Ask`] is always there; a way with `offered` false is none of the builder's
///
/// # Source
/// Constant volume (theory chapter, "Verdict"); MIL-R-47196A 3.4.1 and 3.4.3 as quoted;
/// TM 1-1520-240-BD 2-5 and 2-6; AC 43.13-1B 4-57b.
#[must_use]
pub fn ways(it: &Situation<'_>, constants: &Constants) -> Vec<Way> {
    let mut ways: Vec<Way> = Vec::new();
    let is_head = it.aspect.is_none() && it.head.is_some();
    if is_head && it.said == Said::Outside && !it.defects {
        ways.extend(squeeze_more(it, constants));
    }
    let of_rivet = is_head || it.aspect.is_some_and(Aspect::goes_with_rivet);
    if of_rivet && it.said != Said::Inside {
        ways.push(replace(it, constants));
    }
    ways.push(Way {
        kind: WayKind::Ask,
        offered: true,
        says: vec![(
            "On structure the kit's designer decides, or an inspector or the authority: leaving it, a larger rivet, \
             a bolt and every other change are theirs."
                .to_owned(),
            Cited::theory("the way back"),
        )],
        squeeze_to: None,
        working: Working::default(),
    });
    ways.push(next_size(it));
    ways.push(bolt(it));
    ways.push(blind());
    ways
}

fn squeeze_more(it: &Situation<'_>, constants: &Constants) -> Option<Way> {
    let (width, height) = it.head?;
    // The seat does not matter for a band: it is the face the height was measured from.
    let measured = Measured {
        diameter: Some(width),
        second_diameter: Some(width),
        height: Some(height),
        seat: Some(ShopSeat::Flat),
        defects: Defects::NONE_SEEN,
        ..Measured::default()
    };
    let limits = in_force(it.at.rivet, it.at.limits);
    let verdict = judge(it.at.rivet, &measured, limits.as_ref(), constants);
    let band = verdict.resqueeze.filter(|_| verdict.action == Action::Squeeze)?;
    let words =
        verdict.reasons.into_iter().filter(|it| it.contains("squeeze") || it.contains("set-up repeats"));
    let mut says: Vec<(String, Cited)> = words.map(|words| (words, Cited::theory("verdict"))).collect();
    says.push((
        "Close the setting a little at a time and measure after each squeeze: metal does not go back. Look for \
         cracks, slant and gaps first; a head that has one is not squeezed again."
            .to_owned(),
        practice(),
    ));
    Some(Way {
        kind: WayKind::SqueezeMore,
        offered: true,
        says,
        squeeze_to: Some(band),
        working: Working::default(),
    })
}

fn replace(it: &Situation<'_>, constants: &Constants) -> Way {
    let mut says: Vec<(String, Cited)> = Vec::new();
    let earlier = match it.removals {
        0 => "No rivet was taken out of this hole so far.".to_owned(),
        1 => "One rivet was taken out of this hole already.".to_owned(),
        count => format!("{count} rivets were taken out of this hole already."),
    };
    says.push((earlier, Cited::new("plan", "the record", Known::Own)));
    says.push((
        "A second rivet in a hole is likely worse than the first: replace one only for a reason.".to_owned(),
        Cited::new("producer-1941", "inspection of driven rivets", Known::Seen),
    ));
    if matches!(it.aspect, Some(Aspect::Clinched)) {
        says.push((
            "A folded rivet stretches its hole, and the next one is likely to fold again: read the hole first."
                .to_owned(),
            Cited::new("builder-accounts", "folded rivet", Known::Seen),
        ));
    }
    match it.aspect {
        Some(Aspect::MissingLayer) => says.push((
            "The missing layer goes in first: the same rivet without it is the same fault.".to_owned(),
            practice(),
        )),
        Some(Aspect::WrongLength) => {
            let length = it.at.joint.and_then(Joint::dash);
            let length = length.map_or_else(String::new, |dash| format!(", {}{dash}", it.at.rivet));
            says.push((
                format!("The plan's own goes in{length}, not what came out."),
                Cited::new("plan", "", Known::Own),
            ));
        }
        _ => {}
    }
    says.extend(hole_for_another(it, constants));
    says.push(("The new head is measured; until then it stands against the gate.".to_owned(), practice()));
    Way { kind: WayKind::Replace, offered: true, says, squeeze_to: None, working: Working::default() }
}

/// Whether the hole takes another rivet of the same size, as far as a rule speaks of it.
fn hole_for_another(it: &Situation<'_>, constants: &Constants) -> Vec<(String, Cited)> {
    let diameter = it.at.rivet.diameter;
    let Some((most, cited)) = largest_hole(diameter, constants) else { return Vec::new() };
    if it.at.has_dimpled_sheet() {
        let words = match it.hole {
            Some(hole) => format!(
                "The hole was read as {} in. {} in is asked before dimpling; of a dimpled one no band is known here: ask.",
                hole.decimal(),
                most.decimal()
            ),
            None => format!(
                "Read the hole once the rivet is out. {} in is asked before dimpling; of a dimpled one no band is known here.",
                most.decimal()
            ),
        };
        let seen = it.hole.map_or_else(Vec::new, |hole| after_dimpling(diameter, hole, constants));
        return std::iter::once((words, cited)).chain(seen).collect();
    }
    let words = match it.hole {
        Some(hole) if hole > most => format!(
            "The hole was read as {} in, over {} in: ask before a rivet of the same size goes into it.",
            hole.decimal(),
            most.decimal()
        ),
        Some(hole) => format!("The hole was read as {} in, not over {} in.", hole.decimal(), most.decimal()),
        None => format!(
            "Read the hole once the rivet is out: over {} in, ask before another of the same size goes in.",
            most.decimal()
        ),
    };
    vec![(words, cited)]
}

/// The next larger size; where no rivet has it, the next that there is.
///
/// # Source
/// `next-size-…` of the constants.
#[must_use]
pub fn next_larger(diameter: Diameter) -> Option<Diameter> {
    let inches = |name: &str| Length::from_inches(figures().constant(name).value);
    let small = diameter.length() <= inches("next-size-to");
    let more = inches(if small { "next-size-more" } else { "next-size-more-above" });
    Diameter::ALL.into_iter().find(|larger| larger.length() >= diameter.length() + more)
}

fn next_size(it: &Situation<'_>) -> Way {
    let mut way = Way {
        kind: WayKind::NextSize,
        offered: false,
        says: Vec::new(),
        squeeze_to: None,
        working: Working::default(),
    };
    let rivet = it.at.rivet;
    let Some(diameter) = next_larger(rivet.diameter) else {
        let words = "No larger solid rivet is in the tables here.".to_owned();
        way.says.push((words, Cited::theory("the way back")));
        return way;
    };
    let larger = RivetType { diameter, ..rivet };
    let size = Cited::new("mil-r-47196a", "next larger size", Known::SecondHand);
    let hole = figures().usual_hole(diameter).or_else(|| figures().listed_hole(diameter));
    let hole = hole.and_then(|hole| Some((hole.drill.clone(), hole.nominal?)));
    let words = match (hole, it.hole) {
        (Some((drill, nominal)), Some(read)) if read > nominal => format!(
            "{larger} in a hole of {drill}, {} in; {} in, as this was read, is past that already.",
            nominal.decimal(),
            read.decimal()
        ),
        (Some((drill, nominal)), Some(read)) => format!(
            "{larger} in a hole of {drill}, {} in; {} in, as this was read, opens to that.",
            nominal.decimal(),
            read.decimal()
        ),
        (Some((drill, nominal)), None) => {
            format!("{larger} in a hole of {drill}, {} in.", nominal.decimal())
        }
        (None, _) => format!("{larger}; its hole is not known here."),
    };
    way.says.push((words, size));
    for (item, distance, what) in
        [(SpacingItem::EdgeDistance, it.edge, "Edge distance"), (SpacingItem::Pitch, it.pitch, "Pitch")]
    {
        let Some(distance) = distance else {
            way.says.push((format!("{what}: not known here."), Cited::theory("spacing")));
            continue;
        };
        let was = distance.inches() / rivet.diameter.length().inches();
        let is = distance.inches() / diameter.length().inches();
        let least = rules(item, larger).into_iter().next();
        let against = least.as_ref().map_or_else(String::new, |rule| {
            let side = if distance < rule.least { "under" } else { "not under" };
            format!(", {side} {} in ({})", in_thousandths(rule.least), rule.rule)
        });
        way.working.add(
            format!("{} in diameters", what.to_lowercase()),
            "e/d",
            format!("{} / {}", in_thousandths(distance), in_thousandths(diameter.length())),
            format!("{is:.2} d"),
            Cited::theory("spacing"),
        );
        way.says.push((
            format!("{what} {} in: {was:.2} d becomes {is:.2} d{against}.", in_thousandths(distance)),
            least.map_or_else(|| Cited::theory("spacing"), |rule| rule.cited),
        ));
    }
    way.says.push(repair_limit(it));
    if it.adjacent >= 2 {
        way.says.push((
            format!(
                "With this one {} oversize lie side by side; more than two need more, and the rest was cut off in what was read.",
                it.adjacent + 1
            ),
            Cited::new("mil-r-47196a", "3.4.3", Known::SecondHand),
        ));
    }
    if rivet.head == HeadStyle::Flush {
        let row = figures().countersink_minimum(diameter);
        let (least, cited) = match row.and_then(|row| Some((row.least_sheet?, row.cited.clone()))) {
            Some((least, cited)) => {
                (format!("a countersink for {diameter} in takes a sheet of {} in", least.decimal()), cited)
            }
            None => (format!("no least sheet for {diameter} in was seen"), Cited::theory("the way back")),
        };
        way.says.push((format!("A larger flush head takes a larger dimple or countersink; {least}."), cited));
        way.says.push((
            "Builders tell of a repair rivet with the larger shank under the smaller head, and of a dimpled backing \
             piece; both are the designer's to name."
                .to_owned(),
            Cited::new("builder-accounts", "folded rivet", Known::Seen),
        ));
    }
    way
}

/// 20 % of the rivets or 10 of a pattern, whichever is less, this one counted with those before it.
fn repair_limit(it: &Situation<'_>) -> (String, Cited) {
    let share = figures().constant("repair-limit-share");
    let most = figures().constant("repair-limit-count");
    if it.pattern == 0 {
        let words = format!(
            "How many rivets its pattern has is not known here; the limit is {:.0} % or {:.0}, whichever is less.",
            100.0 * share.value,
            most.value
        );
        return (words, share.cited.clone());
    }
    // Whole rivets: a part of one is none.
    #[expect(clippy::cast_precision_loss, reason = "rivets of a row")]
    let of_pattern = (it.pattern as f64 * share.value + 1e-9).floor();
    let limit = of_pattern.min(most.value);
    let (with_this, pattern) = (it.oversize + 1, it.pattern);
    #[expect(clippy::cast_precision_loss, reason = "rivets of a row")]
    let over = if with_this as f64 > limit { ": over it" } else { "" };
    (
        format!(
            "Of the {pattern} rivets of the row {with_this} would be oversize with this one; the limit is {limit:.0} \
             ({:.0} % or {:.0}, whichever is less){over}.",
            100.0 * share.value,
            most.value
        ),
        share.cited.clone(),
    )
}

fn bolt(it: &Situation<'_>) -> Way {
    let dash = it.at.rivet.diameter.dash();
    // The manual pairs bolts with rivets of AD alone.
    let named = |hole: &&faying_standards::HoleSize| {
        it.at.rivet.alloy == RivetAlloy::Ad
            && hole.role == HoleRole::Bolt
            && hole.drill.split([' ', ',']).any(|word| word == format!("AD{dash}"))
    };
    let mut says: Vec<(String, Cited)> = Vec::new();
    let bolt = figures().holes().iter().find(named);
    match bolt {
        Some(hole) => {
            let size = |it: Option<Length>| it.map_or_else(|| "?".to_owned(), Length::decimal);
            says.push((
                format!(
                    "{}: hole {} to {} in. A manual of one helicopter; columns read in printed order.",
                    hole.drill,
                    size(hole.min),
                    size(hole.max)
                ),
                hole.cited.clone(),
            ));
        }
        None => says.push((
            format!("No document read here names a bolt for {}.", it.at.rivet),
            Cited::theory("the way back"),
        )),
    }
    if let Some(largest) = bolt.and_then(|hole| hole.max) {
        for (what, distance) in [("Edge distance", it.edge), ("Pitch", it.pitch)] {
            let Some(distance) = distance else { continue };
            let times = distance.inches() / largest.inches();
            says.push((
                format!(
                    "{what} {} in: {times:.2} times the largest of such a hole.",
                    in_thousandths(distance)
                ),
                Cited::theory("the way back"),
            ));
        }
    }
    says.push((
        "There a bolt takes the rivet's place where the edge distance is under 1.5 d, 2 d preferred."
            .to_owned(),
        Cited::new("tm-1-1520-240-bd", "2-5", Known::Seen),
    ));
    Way { kind: WayKind::Bolt, offered: false, says, squeeze_to: None, working: Working::default() }
}

fn blind() -> Way {
    Way {
        kind: WayKind::Blind,
        offered: false,
        says: vec![(
            "No document read here lets a blind rivet take the place of a solid one; its strength is its maker's figure."
                .to_owned(),
            Cited::theory("the way back"),
        )],
        squeeze_to: None,
        working: Working::default(),
    }
}

fn practice() -> Cited {
    Cited::new("defaults", "the way back", Known::Practice)
}

/// How a rivet is taken out, step by step.
///
/// # Source
/// Common practice of the trade, but where a document is named.
#[must_use]
pub fn removal_steps(rivet: RivetType, joint: Option<&Joint>) -> Vec<(String, Cited)> {
    let drill = figures().usual_hole(rivet.diameter);
    let head = figures().rivet_size(rivet).map(|size| size.head_height);
    let mut steps: Vec<(String, Cited)> = vec![
        (
            "Wear eye protection. Support the part behind the hole: what is not held bends.".to_owned(),
            practice(),
        ),
        (
            match rivet.head {
                HeadStyle::Universal => {
                    "File or spot the manufactured head flat, and centre punch it in its middle."
                }
                HeadStyle::Flush => "Centre punch the manufactured head in its middle.",
            }
            .to_owned(),
            practice(),
        ),
        (
            format!(
                "Drill the head only, no deeper than it is high{}, with a drill not larger than the shank{}: the hole must not grow.",
                head.map_or_else(String::new, |head| format!(" ({} in)", head.decimal())),
                drill.map_or_else(String::new, |hole| format!(
                    " ({} in; its hole is {})",
                    in_thousandths(rivet.diameter.length()),
                    hole.drill
                ))
            ),
            practice(),
        ),
        (
            "Snap the head off with a pin punch of the drill's size, levered in its hole.".to_owned(),
            practice(),
        ),
        (
            "Drive the shank out with a pin punch, the shop head's side held on a bar with a hole in it."
                .to_owned(),
            practice(),
        ),
    ];
    let from =
        Length::from_inches(figures().constant("thick-stack").value * rivet.diameter.length().inches());
    // Where the grip is not known, the stack may be thick.
    let thin = joint.and_then(|joint| joint.seats.as_ref().ok()).is_some_and(|seats| seats.grip < from);
    if !thin {
        steps.push((
            "In a thick stack the shank may not come: do not drill again and again from the shop side, which leaves a \
             funnel. A hammer-set tool drives it; ask before a larger drill."
                .to_owned(),
            Cited::new("builder-accounts", "thick stack", Known::Seen),
        ));
    }
    steps.push((
        "Look at the hole and at every sheet round it, and read its size before anything else.".to_owned(),
        practice(),
    ));
    steps
}
