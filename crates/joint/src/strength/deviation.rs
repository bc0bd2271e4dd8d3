//! A hole as built beside the hole as planned.
//!
//! The ratio says what is left of what was planned, for the hole, its row and
//! its group. It is never above 1: what came out stronger earns nothing. It is
//! not a judgement: it goes, with its working, into the question to the
//! designer, who knows the load.
//!
//! Two figures for a hole. [`HoleDeviation::ratio`] is the lowest mode as
//! built over the lowest as planned, and needs every mode. Alloys often lack
//! one; but what a mode is proportional to can be compared without its stress,
//! and the least of those comparisons is a lower bound,
//! [`HoleDeviation::at_least`], whichever mode governs. Where not even that
//! can be compared there is no figure.

use faying_standards::Working;
use thiserror::Error;

use super::group::{Fastener, properties};
use super::modes::{Hole, Mode, ModeName, Strength, modes};
use super::{figure, theory};

/// One mode as built over as planned.
#[derive(Clone, Debug, PartialEq)]
pub struct ModeRatio {
    /// Which.
    pub name: ModeName,
    /// The sheet, from 0, where it is about one.
    pub sheet: Option<usize>,
    /// As built over as planned, at most 1; `None` where it cannot be compared.
    pub ratio: Option<f64>,
    /// Why there is none; empty where there is.
    pub left_out: String,
}

/// A hole as built over the hole as planned.
#[derive(Clone, Debug, PartialEq)]
pub struct HoleDeviation {
    /// Lowest mode as built over lowest as planned, at most 1; `None` where a mode is left out of either.
    pub ratio: Option<f64>,
    /// The least ratio of any mode: the hole keeps at least this share, whichever mode governs.
    /// `None` where a mode cannot be compared.
    pub at_least: Option<f64>,
    /// Mode by mode.
    pub modes: Vec<ModeRatio>,
    /// What is left out, each as a sentence.
    pub left_out: Vec<String>,
    /// What was taken for granted.
    pub assumed: Vec<String>,
    /// The hole as planned.
    pub planned: Strength,
    /// The hole as built.
    pub built: Strength,
    /// Formula, numbers, result, source.
    pub working: Working,
}

/// Sets a hole as built beside the hole as planned.
///
/// # Units
/// - both holes: lengths
/// - returns: ratios, at most 1
///
/// # Source
/// Theory chapter, "Strength". min(b)/min(p) is at least min(b/p), since no
/// mode as built is under min(b/p) times its plan.
#[must_use]
pub fn hole(planned: &Hole, built: &Hole) -> HoleDeviation {
    let (was, is) = (modes(planned), modes(built));
    let mut working = Working::default();
    let mut ratios = Vec::new();
    let empty = built.rivet.is_none();
    for mode in &was.modes {
        let (ratio, left_out) = match counterpart(mode, &is) {
            // An empty hole carries nothing, whatever else is known of it.
            _ if empty && carries_through_rivet(mode.name) => (Some(0.0), String::new()),
            Some(other) => compare(mode, other),
            None => (None, "as built the joint is of another kind".to_owned()),
        };
        working.add(
            mode.words(),
            "as built over as planned, at most 1",
            put_in(mode, counterpart(mode, &is)),
            ratio.map_or_else(|| format!("left out: {left_out}"), |ratio| format!("{ratio:.3}")),
            theory(),
        );
        ratios.push(ModeRatio { name: mode.name, sheet: mode.sheet, ratio, left_out });
    }
    // A mode that only the hole as built has.
    for mode in &is.modes {
        let planned_too = was.modes.iter().any(|other| other.name == mode.name && other.sheet == mode.sheet);
        let stands_for_all = mode.sheet.is_none() && was.modes.iter().any(|other| other.name == mode.name);
        if !planned_too && !stands_for_all && !empty {
            let left_out = "as planned the joint is of another kind".to_owned();
            ratios.push(ModeRatio { name: mode.name, sheet: mode.sheet, ratio: None, left_out });
        }
    }
    let nothing_planned = planned.rivet.is_none();
    let mut left_out: Vec<String> = Vec::new();
    if nothing_planned {
        left_out.push("no rivet was planned here".to_owned());
    }
    for it in ratios.iter().filter(|it| it.ratio.is_none()) {
        let sheet = it.sheet.map_or_else(String::new, |sheet| format!(" of sheet {}", sheet + 1));
        left_out.push(format!("{}{sheet}: {}", it.name.words(), it.left_out));
    }
    let at_least = (left_out.is_empty() && !ratios.is_empty())
        .then(|| ratios.iter().filter_map(|it| it.ratio).fold(1.0, f64::min));
    let whole = was.left_out.is_empty() && (empty || is.left_out.is_empty()) && left_out.is_empty();
    let ratio = match (was.lowest, is.lowest) {
        _ if empty && !nothing_planned => Some(0.0),
        (Some(was), Some(is)) if whole && was.lbf() > 0.0 => Some((is.lbf() / was.lbf()).min(1.0)),
        _ => None,
    };
    match (ratio, was.lowest, is.lowest) {
        (Some(ratio), Some(was), Some(is)) => working.add(
            "hole as built over as planned",
            "lowest as built / lowest as planned, at most 1",
            format!("{:.0}/{:.0}", is.lbf(), was.lbf()),
            format!("{ratio:.3}"),
            theory(),
        ),
        (Some(ratio), ..) => {
            working.add("empty hole", "", "nothing as built", format!("{ratio:.3}"), theory());
        }
        _ => {}
    }
    if let Some(at_least) = at_least {
        working.add(
            "at least, whichever mode governs",
            "the least of the ratios",
            "",
            format!("{at_least:.3}"),
            theory(),
        );
    }
    for (when, strength) in [("as planned", &was), ("as built", &is)] {
        if ratio.is_none() {
            left_out.extend(strength.left_out.iter().map(|it| format!("{when}, {it}")));
        }
    }
    let mut assumed = was.assumed.clone();
    for it in &is.assumed {
        if !assumed.contains(it) {
            assumed.push(it.clone());
        }
    }
    HoleDeviation { ratio, at_least, modes: ratios, left_out, assumed, planned: was, built: is, working }
}

/// Whether a mode works through the rivet, and not through the sheet alone.
const fn carries_through_rivet(name: ModeName) -> bool {
    matches!(name, ModeName::RivetShear | ModeName::Bearing | ModeName::FlushJoint)
}

/// The same mode of the hole as built; one that stands for all sheets counts for each.
fn counterpart<'a>(mode: &Mode, built: &'a Strength) -> Option<&'a Mode> {
    let named = || built.modes.iter().filter(|other| other.name == mode.name);
    named().find(|other| other.sheet == mode.sheet).or_else(|| named().find(|other| other.sheet.is_none()))
}

/// As built over as planned, at most 1, or why there is none.
fn compare(planned: &Mode, built: &Mode) -> (Option<f64>, String) {
    let over = |built: f64, planned: f64| (planned > 0.0).then(|| (built / planned).min(1.0));
    let whole = |mode: &Mode| mode.ultimate.filter(|_| !mode.at_most);
    let (was, is) = (&planned.measure, &built.measure);
    let ratio = match (whole(planned), whole(built)) {
        (Some(planned), Some(built)) => over(built.lbf(), planned.lbf()),
        _ if was.all.is_some() && was.all == is.all => Some(1.0),
        _ if was.of == is.of => was.value.zip(is.value).and_then(|(was, is)| over(is, was)),
        _ => None,
    };
    match ratio {
        Some(ratio) => (Some(ratio), String::new()),
        None => {
            let why = [&built.left_out, &planned.left_out].into_iter().find(|why| !why.is_empty());
            (None, why.cloned().unwrap_or_else(|| "it cannot be compared".to_owned()))
        }
    }
}

fn put_in(planned: &Mode, built: Option<&Mode>) -> String {
    let force =
        |mode: &Mode| mode.ultimate.filter(|_| !mode.at_most).map(|force| format!("{:.0}", force.lbf()));
    let number = |mode: &Mode| mode.measure.value.map(|value| figure(value, 4));
    let Some(built) = built else { return String::new() };
    match (force(built).zip(force(planned)), number(built).zip(number(planned))) {
        (Some((built, planned)), _) => format!("{built}/{planned} lbf"),
        (None, Some((built, planned))) => format!("{built}/{planned}, without the stress"),
        (None, None) => String::new(),
    }
}

/// One hole of a row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum InRow {
    /// It keeps this share of what was planned, at most 1.
    Keeps(f64),
    /// It is empty: the load goes past it.
    Empty,
    /// A mode is left out.
    NotKnown,
}

impl InRow {
    /// From a hole's deviation; the lower bound where that is all there is.
    #[must_use]
    pub fn of(hole: &Hole, deviation: &HoleDeviation) -> Self {
        if hole.rivet.is_none() {
            return Self::Empty;
        }
        deviation.ratio.or(deviation.at_least).map_or(Self::NotKnown, Self::Keeps)
    }
}

/// A row as built over the row as planned.
#[derive(Clone, Debug, PartialEq)]
pub struct RowDeviation {
    /// Every hole carries what it can, the rest taking over from the weak one: at most 1.
    pub taking_over: f64,
    /// All holes with a rivet carry alike until the weakest gives way: at most 1, and the lower.
    pub weakest_governs: f64,
    /// What was taken for granted.
    pub assumed: [&'static str; 2],
    /// Formula, numbers, result, source.
    pub working: Working,
}

/// A row or group without a figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum DeviationError {
    /// No hole.
    #[error("there is no hole in it")]
    Empty,
    /// A hole of it has no figure.
    #[error("hole {0} has no figure: a mode is left out")]
    NotKnown(usize),
    /// A number that is none, or a stiffness of nothing as planned.
    #[error("hole {0}: its place must be a number and what was planned more than 0")]
    Number(usize),
}

/// Sets a row as built beside the row as planned, its holes alike as planned.
///
/// # Units
/// - `holes`: what each keeps, at most 1
/// - returns: ratios, at most 1
///
/// # Errors
/// [`DeviationError`] where a hole has no figure.
///
/// # Source
/// Theory chapter, "Strength": Σr/n where the holes take over from each other,
/// and m·min(r)/n where the m holes with a rivet carry alike.
pub fn row(holes: &[InRow]) -> Result<RowDeviation, DeviationError> {
    if holes.is_empty() {
        return Err(DeviationError::Empty);
    }
    let mut kept = Vec::with_capacity(holes.len());
    for (index, it) in holes.iter().enumerate() {
        match it {
            InRow::Keeps(share) if (0.0..=1.0).contains(share) => kept.push(*share),
            InRow::Empty => {}
            _ => return Err(DeviationError::NotKnown(index + 1)),
        }
    }
    let (n, filled) = (holes.len() as f64, kept.len() as f64);
    let sum: f64 = kept.iter().sum();
    let least = kept.iter().copied().fold(1.0, f64::min);
    let (taking_over, weakest_governs) = (sum / n, filled * least / n);
    let mut working = Working::default();
    working.add(
        "row, the rest taking over",
        "Σr/n",
        format!("{}/{}", figure(sum, 4), holes.len()),
        format!("{taking_over:.3}"),
        theory(),
    );
    working.add(
        "row, the weakest governing",
        "m·min(r)/n",
        format!("{}·{least:.3}/{}", kept.len(), holes.len()),
        format!("{weakest_governs:.3}"),
        theory(),
    );
    Ok(RowDeviation {
        taking_over,
        weakest_governs,
        assumed: [
            "as planned, all holes of the row are alike and share its load alike",
            "the higher figure needs rivets that yield before they break; the lower does not",
        ],
        working,
    })
}

/// One hole of a group: its place, and how stiff it is as planned and as built (areas d²; 0 where empty).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InGroup {
    /// Place, to the right.
    pub x: f64,
    /// Place, up.
    pub y: f64,
    /// As planned, over 0.
    pub planned: f64,
    /// As built; what is stiffer than planned earns nothing.
    pub built: f64,
}

/// A group as built over the group as planned.
#[derive(Clone, Debug, PartialEq)]
pub struct GroupDeviation {
    /// Σw as built over as planned, at most 1.
    pub direct: f64,
    /// Σ w·r² about the own centroid, as built over as planned, at most 1; `None` where the group as
    /// planned has none.
    pub torsional: Option<f64>,
    /// How far the centroid moved, to the right and up.
    pub moved: (f64, f64),
    /// Formula, numbers, result, source.
    pub working: Working,
}

/// Sets the stiffness of a group as built beside the group as planned.
///
/// # Units
/// - places: any length; stiffness: any one unit
/// - returns: ratios, at most 1; the shift of the centroid in the unit of the places
///
/// # Errors
/// [`DeviationError`] where a number is amiss.
///
/// # Source
/// Theory chapter, "Strength".
pub fn group(holes: &[InGroup]) -> Result<GroupDeviation, DeviationError> {
    if holes.is_empty() {
        return Err(DeviationError::Empty);
    }
    for (index, it) in holes.iter().enumerate() {
        let finite = [it.x, it.y, it.planned, it.built].iter().all(|number| number.is_finite());
        if !finite || it.planned <= 0.0 || it.built < 0.0 {
            return Err(DeviationError::Number(index + 1));
        }
    }
    let of = |weight: fn(&InGroup) -> f64| -> Vec<Fastener> {
        holes.iter().map(|it| Fastener { x: it.x, y: it.y, weight: weight(it) }).collect()
    };
    let (centre, total, polar) = properties(&of(|it| it.planned));
    let built = of(|it| it.built.min(it.planned));
    let remains = built.iter().any(|it| it.weight > 0.0);
    let (centre_built, total_built, polar_built) =
        if remains { properties(&built) } else { (centre, 0.0, 0.0) };
    let direct = (total_built / total).min(1.0);
    let size = holes.iter().fold(0.0_f64, |size, it| size.max(it.x.abs()).max(it.y.abs()));
    let torsional = (polar > total * (size * 1e-12).powi(2)).then(|| (polar_built / polar).min(1.0));
    let mut working = Working::default();
    working.add(
        "direct stiffness as built over as planned",
        "Σw_b/Σw_p, at most 1",
        format!("{}/{}", figure(total_built, 4), figure(total, 4)),
        format!("{direct:.3}"),
        theory(),
    );
    if let Some(torsional) = torsional {
        working.add(
            "torsional stiffness as built over as planned",
            "J_b/J_p, each about its own centroid, at most 1",
            format!("{}/{}", figure(polar_built, 4), figure(polar, 4)),
            format!("{torsional:.3}"),
            theory(),
        );
    }
    let moved = (centre_built.0 - centre.0, centre_built.1 - centre.1);
    Ok(GroupDeviation { direct, torsional, moved, working })
}
