//! Call-out: which length of a rivet a stack gets, and how sure that is.
//!
//! Three figures are kept apart. P(wide) belongs to the length: whether a
//! permitted height exists at which the head is wide enough. P(height) belongs
//! to the set-up: whether it lands in the heights that work. The fold caution
//! looks at the tail alone. The plan's call-out stays as long as it stands.
//! Theory chapter, "Call-out".
//!
//! A double-flush joint has no height and no width to reckon with; it gets no
//! length from here.

use faying_plan::OwnSet;
use faying_standards::{
    Cited, Dash, Diameter, Force, Length, LimitSet, RivetType, ShopHeadLimits, Working, figures,
};
use serde::Serialize;
use thiserror::Error;

use crate::constants::Constants;
use crate::force;
use crate::head::{Bore, Heights, Metal, heights_that_work};
use crate::odds::{HeightAndWidth, Range, Spread};
use crate::seats::{Seats, ShopSeat, in_thousandths};

/// Shortest tail that is worth showing, in shank diameters.
///
/// A head of MIL-HDBK-5H's 1.3 d × 0.3 d takes .51 d of shank; with the hole to
/// fill and metal missing, under .75 d nothing is left to weigh up.
const SHOWN_FROM_D: f64 = 0.75;

/// The limits that judge a rivet in this build.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct InForce {
    /// Name of the set.
    pub key: String,
    /// What it asks of this rivet.
    pub limits: ShopHeadLimits,
    /// What the set has for other sizes and lacks for this one; empty where nothing is missing.
    pub lacks: String,
}

/// A choice of limits that cannot judge a rivet.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum LimitsError {
    /// No set of that name.
    #[error("there is no set of limits \"{name}\": write one of {known}")]
    Unknown {
        /// The name as written.
        name: String,
        /// The names there are.
        known: String,
    },
    /// The set says nothing of this size or alloy.
    #[error(
        "{name} as known here says nothing of {kind}: enter its limits from your own copy, or choose another set"
    )]
    Silent {
        /// The set.
        name: String,
        /// The rivet.
        kind: RivetType,
    },
    /// The set is advice.
    #[error("{name} is advice and judges nothing: choose a set that judges, such as MIL-R-47196A")]
    Advice {
        /// The set.
        name: String,
    },
    /// No set says anything.
    #[error("no set of limits says anything of {kind}: enter limits from your own copy of a document")]
    None {
        /// The rivet.
        kind: RivetType,
    },
}

/// The limits in force: the build's choice; else the kit manual's set, where it
/// speaks of the rivet; else another set of the builder's own that does; else
/// the first of the standards.
///
/// A chosen set that is silent is an error and is never swapped for another:
/// the builder would not know by what the head was judged.
///
/// # Errors
/// [`LimitsError`] says what is missing.
pub fn limits_in_force(
    kind: RivetType,
    choice: Option<&str>,
    own: &[OwnSet],
) -> Result<InForce, LimitsError> {
    let of_own = |set: &OwnSet| {
        set.at(kind.diameter).map(|limits| InForce {
            key: set.name.clone(),
            limits: limits.clone(),
            lacks: String::new(),
        })
    };
    let of_standard = |set: &LimitSet, limits: ShopHeadLimits| {
        let lacks = lacking(set, kind, &limits);
        InForce { key: set.key.clone(), limits, lacks }
    };
    let Some(name) = choice else {
        let (kit, others): (Vec<&OwnSet>, Vec<&OwnSet>) = own.iter().partition(|set| set.kit);
        return kit
            .into_iter()
            .chain(others)
            .find_map(of_own)
            .or_else(|| figures().usual_limits(kind).map(|(set, limits)| of_standard(set, limits)))
            .ok_or(LimitsError::None { kind });
    };
    let silent = || LimitsError::Silent { name: name.to_owned(), kind };
    if let Some(set) = own.iter().find(|set| set.name == name) {
        return of_own(set).ok_or_else(silent);
    }
    let Some(set) = figures().limit_set(name) else {
        let known: Vec<&str> = figures()
            .limit_sets()
            .iter()
            .filter(|set| set.judges)
            .map(|set| set.key.as_str())
            .chain(own.iter().map(|set| set.name.as_str()))
            .collect();
        return Err(LimitsError::Unknown { name: name.to_owned(), known: known.join(", ") });
    };
    if !set.judges {
        return Err(LimitsError::Advice { name: name.to_owned() });
    }
    set.at(kind).map(|limits| of_standard(set, limits)).ok_or_else(silent)
}

/// A set that has a greatest height for another size and none for this one is incomplete here.
pub(crate) fn lacking(set: &LimitSet, kind: RivetType, limits: &ShopHeadLimits) -> String {
    let elsewhere = |of: fn(&ShopHeadLimits) -> bool| {
        Diameter::ALL
            .iter()
            .any(|&diameter| set.at(RivetType { diameter, ..kind }).is_some_and(|row| of(&row)))
    };
    let diameter = kind.diameter;
    if limits.max_height.is_none() && elsewhere(|row| row.max_height.is_some()) {
        format!("the greatest height for {diameter} in is in the document but was not seen")
    } else if limits.max_width.is_none() && elsewhere(|row| row.max_width.is_some()) {
        format!("the greatest width for {diameter} in is in the document but was not seen")
    } else {
        String::new()
    }
}

/// What lengths there are to choose from.
#[derive(Clone, Copy, Debug, Default)]
pub struct Stock<'a> {
    /// Whether half sizes are in the store.
    pub half: bool,
    /// Lengths that the run uses already.
    pub in_run: &'a [Dash],
}

/// Whether the tail may fold over.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Fold {
    /// The tail is short enough.
    None,
    /// It may fold.
    Caution,
    /// So long that it is no candidate except by decision.
    Refused,
}

/// One length, weighed up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Candidate {
    /// The length.
    pub dash: Dash,
    /// Whether the trade's table lists it; a length below it exists, but is rarely in a bag.
    pub listed: bool,
    /// What stands out before driving.
    pub tail: Length,
    /// The tail in shank diameters.
    pub tail_d: f64,
    /// Probability that a permitted height exists at which the head is wide enough.
    pub p_wide: f64,
    /// Probability of landing in the heights that work; `None` without such heights.
    pub p_height: Option<f64>,
    /// The heights that work; `None` where there are none, or no greatest height.
    pub heights: Option<Heights>,
    /// Width at the middle of those heights, all metal arriving.
    pub head_at_mid: Option<Length>,
    /// The same with the missing metal taken off.
    pub head_at_mid_less: Option<Length>,
    /// Whether the tail may fold.
    pub fold: Fold,
}

/// What becomes of the plan's call-out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum CalledVerdict {
    /// It stays.
    Stands,
    /// It stays after a coupon has proven it.
    Coupon,
    /// Its head will not be wide enough.
    Short,
    /// Its tail is too long.
    Fold,
}

/// What a stack's rivet length comes to.
#[derive(Clone, Debug, PartialEq)]
pub struct CallOut {
    /// Lengths weighed up, shortest first.
    pub candidates: Vec<Candidate>,
    /// The length to take: the plan's where it stays, else the proposal; `None` where nothing stands.
    pub best: Option<Dash>,
    /// What becomes of the plan's length; `None` where none is called or none can be weighed up.
    pub called: Option<CalledVerdict>,
    /// Name of the limits by which heads are wide and high enough.
    pub limits: String,
    /// Sentences a builder reads.
    pub why: Vec<String>,
    /// The lengths of the stock on both sides of the middle of the preferred tail.
    pub bracket: (Option<Dash>, Option<Dash>),
    /// The length that would give the middle of the preferred tail, for a rivet that is cut.
    pub cut: Length,
}

impl CallOut {
    /// A candidate by its length.
    #[must_use]
    pub fn candidate(&self, dash: Dash) -> Option<&Candidate> {
        self.candidates.iter().find(|candidate| candidate.dash == dash)
    }
}

/// What a tail stands out of, in a stack.
#[must_use]
pub fn bore(seats: &Seats, constants: &Constants) -> Bore {
    Bore {
        shank: seats.kind.diameter.length(),
        hole: seats.hole,
        cylinder: seats.cylinder,
        fill: constants.fill.value,
    }
}

/// How the heads of one length in one stack land, for any height that is aimed at.
///
/// What [`Candidate::p_height`] says of the middle, this says of every aim: a
/// setting that serves two stacks is in the middle of neither.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Landing {
    kind: RivetType,
    /// What arrives in the head.
    metal: Metal,
    heights: Heights,
    /// The height at which a head is just wide enough, in.
    wide_below: Spread,
    height_u: f64,
    height: Range,
    least_width: f64,
    most_width: Option<f64>,
}

impl Landing {
    /// The landing of a length; `None` where its limits leave no heights that
    /// work, or have no greatest height, or the shop head fills a countersink.
    #[must_use]
    pub fn of(seats: &Seats, limits: &ShopHeadLimits, dash: Dash, constants: &Constants) -> Option<Self> {
        limits.max_height?;
        if seats.shop_seat == ShopSeat::Cone {
            return None;
        }
        let weigh = Weigh::new(seats, limits, constants);
        let metal = weigh.metal(weigh.tail(dash));
        let heights = heights_that_work(limits, metal.less(constants.missing_metal.value), metal).ok()?;
        Some(weigh.landing(metal, heights, weigh.wide_below(metal)))
    }

    /// The heights that work.
    #[must_use]
    pub const fn heights(&self) -> Heights {
        self.heights
    }

    /// Standard uncertainty of the height that the set-up leaves, in.
    #[must_use]
    pub const fn height_u(&self) -> f64 {
        self.height_u
    }

    /// Probability that a set-up aimed at a height lands inside, as a pair of height and width.
    ///
    /// # Source
    /// Theory chapter, "Uncertainty".
    #[must_use]
    pub fn p_at(&self, aim: Length) -> f64 {
        let aim = aim.inches();
        if aim <= 0.0 || self.wide_below.mean <= 0.0 {
            return 0.0;
        }
        // h(D)·D² is the metal, so the width at any height follows from the height at the least width.
        let width = self.least_width * (self.wide_below.mean / aim).sqrt();
        let per_height = width / (2.0 * self.wide_below.mean);
        let pair = HeightAndWidth {
            height: aim,
            height_u: self.height_u,
            width: Spread {
                mean: width,
                half: per_height * self.wide_below.half,
                rest: per_height * self.wide_below.rest,
            },
            slope: -width / (2.0 * aim),
        };
        pair.inside(self.height, Range { least: Some(self.least_width), most: self.most_width })
    }

    /// The force that presses a head to a height; `None` for an alloy without a fit.
    ///
    /// It is reckoned with the metal that arrives.
    #[must_use]
    pub fn force_at(&self, height: Length) -> Option<Force> {
        force::to_form(self.kind.alloy, self.kind.diameter.length(), self.metal.width_at(height))
    }
}

/// What the lengths of one stack have in common.
struct Weigh<'a> {
    seats: &'a Seats,
    limits: &'a ShopHeadLimits,
    constants: &'a Constants,
    shank: f64,
    /// Change of (d²·p − swallowed) with length, sheet and hole, times their half widths.
    halves: Vec<f64>,
    /// The same figure's loss for a hole in the middle of its tolerance instead of at its drill.
    hole_shift: f64,
}

impl<'a> Weigh<'a> {
    fn new(seats: &'a Seats, limits: &'a ShopHeadLimits, constants: &'a Constants) -> Self {
        let shank = seats.kind.diameter.length().inches();
        let (hole, cylinder) = (seats.hole.inches(), seats.cylinder.inches());
        let fill = constants.fill.value;
        let (over, under) = (constants.hole_over.value.inches(), constants.hole_under.value.inches());
        let clearance = fill * (hole.powi(2) - shank.powi(2));
        let swallowed = |hole: f64| fill * hole.powi(2) * cylinder;
        let per_sheet = shank.powi(2) + clearance;
        let tolerance =
            |thickness| figures().thickness_tolerance(thickness).map_or(0.0, |row| row.plus_minus.inches());
        let mut halves = Vec::with_capacity(seats.sheets.len() + 2);
        halves.push(shank.powi(2) * constants.rivet_length.value.inches());
        halves.push(2.0 * fill * hole * cylinder * (over + under) / 2.0);
        halves.extend(seats.sheets.iter().map(|sheet| per_sheet * tolerance(sheet.thickness)));
        let hole_shift = swallowed(hole + (over - under) / 2.0) - swallowed(hole);
        Self { seats, limits, constants, shank, halves, hole_shift }
    }

    fn tail(&self, dash: Dash) -> Length {
        dash.length() - self.seats.seat_to_seat
    }

    fn metal(&self, tail: Length) -> Metal {
        Metal::of_tail(&bore(self.seats, self.constants), tail, self.constants.spread.value)
    }

    /// The height at which the head is just wide enough, with metal missing and its spread.
    fn wide_below(&self, metal: Metal) -> Spread {
        let width = self.limits.min_width.inches() / self.constants.spread.value;
        let scale = (1.0 - self.constants.missing_metal.value) / width.powi(2);
        let squares = metal.volume() / std::f64::consts::FRAC_PI_4 - self.hole_shift;
        Spread::of_tolerances(scale * squares, self.halves.iter().map(|half| scale * half))
    }

    fn weigh(&self, dash: Dash) -> Candidate {
        let constants = self.constants;
        let tail = self.tail(dash);
        let tail_d = tail.inches() / self.shank;
        let metal = self.metal(tail);
        let little = metal.less(constants.missing_metal.value);
        let wide_below = self.wide_below(metal);
        let mut candidate = Candidate {
            dash,
            listed: figures().rivet_lengths(self.seats.kind).shortest.is_none_or(|shortest| dash >= shortest),
            tail,
            tail_d,
            p_wide: if tail > Length::ZERO {
                wide_below.at_least(self.limits.min_height.inches())
            } else {
                0.0
            },
            p_height: None,
            heights: None,
            head_at_mid: None,
            head_at_mid_less: None,
            fold: match tail_d {
                _ if tail_d >= constants.fold_refusal_d.value => Fold::Refused,
                _ if tail_d > constants.fold_caution_d.value => Fold::Caution,
                _ => Fold::None,
            },
        };
        // Without a greatest height there is no middle to aim at.
        if self.limits.max_height.is_some()
            && let Ok(heights) = heights_that_work(self.limits, little, metal)
        {
            let aim = heights.middle();
            candidate.heights = Some(heights);
            candidate.head_at_mid = Some(metal.width_at(aim));
            candidate.head_at_mid_less = Some(little.width_at(aim));
            candidate.p_height = Some(self.landing(metal, heights, wide_below).p_at(aim));
        }
        candidate
    }

    fn landing(&self, metal: Metal, heights: Heights, wide_below: Spread) -> Landing {
        // The greatest width is asked of all the metal: narrower here by what is missing.
        let missing = self.constants.missing_metal.value;
        let all = (1.0 - missing).sqrt();
        Landing {
            kind: self.seats.kind,
            metal: metal.less(missing),
            heights,
            wide_below,
            height_u: self.constants.set_height_u.value.inches(),
            height: Range {
                least: Some(self.limits.min_height.inches()),
                most: self.limits.max_height.map(Length::inches),
            },
            least_width: self.limits.min_width.inches(),
            most_width: self.limits.max_width.map(|most| most.inches() * all),
        }
    }

    fn verdict(&self, candidate: &Candidate) -> CalledVerdict {
        if candidate.fold == Fold::Refused {
            CalledVerdict::Fold
        } else if candidate.p_wide >= self.constants.wide_stands.value {
            CalledVerdict::Stands
        } else if candidate.p_wide >= self.constants.wide_coupon.value {
            CalledVerdict::Coupon
        } else {
            CalledVerdict::Short
        }
    }

    /// How far a tail lies outside the preferred band, in shank diameters.
    fn off_band(&self, tail_d: f64) -> f64 {
        let (least, most) = (self.constants.tail_least_d.value, self.constants.tail_most_d.value);
        (least - tail_d).max(tail_d - most).max(0.0)
    }

    /// The length with the tail nearest to the band. Lengths that are equally
    /// near: one that the run uses already, then the shorter.
    fn nearest(&self, candidates: &[Candidate], in_run: &[Dash]) -> Option<Dash> {
        candidates
            .iter()
            .filter(|candidate| self.verdict(candidate) == CalledVerdict::Stands)
            .min_by(|a, b| {
                let off = |candidate: &Candidate| self.off_band(candidate.tail_d);
                let new = |candidate: &Candidate| !in_run.contains(&candidate.dash);
                off(a).total_cmp(&off(b)).then(new(a).cmp(&new(b))).then(a.dash.cmp(&b.dash))
            })
            .map(|candidate| candidate.dash)
    }
}

/// The longest length of a stock up to `length`, and the shortest from it on.
fn bracket(length: Length, half: bool) -> (Option<Dash>, Option<Dash>) {
    let step: u16 = if half { 1 } else { 2 };
    let steps = length.inches() * 32.0 / f64::from(step);
    let dash = |count: f64| {
        // A stack is inches thick, not yards; past any rivet there is none.
        (1.0..1e3).contains(&count).then(|| Dash::from_thirty_seconds(count as u16 * step)).flatten()
    };
    (dash(steps.floor()), dash(steps.ceil()))
}

/// The length of rivet for a stack.
///
/// # Units
/// - `called`: the plan's length, where it calls one
///
/// # Source
/// Theory chapter, "Call-out".
#[must_use]
pub fn call_out(
    seats: &Seats,
    in_force: &InForce,
    called: Option<Dash>,
    stock: Stock<'_>,
    constants: &Constants,
) -> CallOut {
    let shank = seats.kind.diameter.length().inches();
    let middle = f64::midpoint(constants.tail_least_d.value, constants.tail_most_d.value);
    let cut = seats.seat_to_seat + Length::from_inches(middle * shank);
    let mut call_out = CallOut {
        candidates: Vec::with_capacity(6),
        best: None,
        called: None,
        limits: in_force.key.clone(),
        why: Vec::with_capacity(4),
        bracket: bracket(cut, stock.half),
        cut,
    };
    if seats.shop_seat == ShopSeat::Cone {
        call_out.why.push(
            "Both heads are flush: the shop head fills a countersink, and no set of limits here has a height and \
             width for that. Prove the plan's length on a coupon: filled and flush."
                .to_owned(),
        );
        return call_out;
    }

    let weigh = Weigh::new(seats, &in_force.limits, constants);
    let step = if stock.half { 1 } else { 2 };
    let shown_from = seats.seat_to_seat + Length::from_inches(SHOWN_FROM_D * shank);
    let mut next = bracket(shown_from, stock.half).1;
    while let Some(dash) = next {
        let candidate = weigh.weigh(dash);
        call_out.candidates.push(candidate);
        next = (candidate.fold != Fold::Refused)
            .then(|| Dash::from_thirty_seconds(dash.thirty_seconds() + step))
            .flatten();
    }
    let proposal = weigh.nearest(&call_out.candidates, stock.in_run);
    if let Some(dash) = called
        && let Err(at) = call_out.candidates.binary_search_by_key(&dash, |candidate| candidate.dash)
    {
        call_out.candidates.insert(at, weigh.weigh(dash));
    }
    let called = called.and_then(|dash| call_out.candidate(dash).copied());
    call_out.called = called.map(|candidate| weigh.verdict(&candidate));
    let stays = matches!(call_out.called, Some(CalledVerdict::Stands | CalledVerdict::Coupon));
    call_out.best = if stays { called.map(|candidate| candidate.dash) } else { proposal };
    let why = sentences(&weigh, &call_out, called.as_ref(), in_force);
    call_out.why = why;
    call_out
}

fn sentences(
    weigh: &Weigh<'_>,
    call_out: &CallOut,
    called: Option<&Candidate>,
    in_force: &InForce,
) -> Vec<String> {
    let constants = weigh.constants;
    let mut why = Vec::with_capacity(5);
    if let (Some(candidate), Some(verdict)) = (called, call_out.called) {
        why.push(called_sentence(weigh, candidate, verdict));
        if matches!(verdict, CalledVerdict::Short | CalledVerdict::Fold) {
            why.push(
                "That is a question for the kit's designer. Another length inside the tail rule is yours to decide \
                 and record; another diameter, alloy, head or count needs the designer's word."
                    .to_owned(),
            );
        }
    }
    match call_out.best.and_then(|best| call_out.candidate(best)) {
        Some(best) if called.is_none_or(|candidate| candidate.dash != best.dash) => {
            why.push(format!("{} has {}.", best.dash, what_it_gives(weigh, best)));
            if weigh.off_band(best.tail_d) > 0.0 {
                why.push(off_band_sentence(weigh, call_out));
            }
            if best.fold == Fold::Caution {
                why.push(fold_caution(best, constants));
            }
        }
        Some(_) => {}
        None => why.push(format!(
            "No length stands: none has a head wide enough before its tail reaches {} d. {}",
            constants.fold_refusal_d.value,
            off_band_sentence(weigh, call_out)
        )),
    }
    if let Some(best) = call_out.best.and_then(|best| call_out.candidate(best)) {
        if let (Some(p), Some(heights)) = (best.p_height, best.heights)
            && p < constants.height_narrow.value
        {
            why.push(format!(
                "Narrow: the heights that work are {} to {} in; aim at {} in, and about {:.0} in 100 land inside.",
                in_thousandths(heights.least),
                in_thousandths(heights.most),
                in_thousandths(heights.middle()),
                100.0 * p
            ));
        }
        let lengths = figures().rivet_lengths(weigh.seats.kind);
        if let Some(shortest) = lengths.shortest.filter(|_| !best.listed) {
            why.push(format!(
                "{} is below the table, which starts at {shortest} ({}): cut a longer one, or buy it specially.",
                best.dash, lengths.table
            ));
        }
    }
    if weigh.limits.max_height.is_none() {
        why.push(format!(
            "{} as known here has no greatest height for {} in: there is no middle height to aim at and no \
             probability of landing in it.",
            in_force.key, weigh.seats.kind.diameter
        ));
    }
    for sheet in &weigh.seats.sheets {
        if figures().thickness_tolerance(sheet.thickness).is_none() {
            why.push(format!(
                "No tolerance is known for a sheet of {} in; it is taken as exact.",
                sheet.thickness.decimal()
            ));
        }
    }
    why
}

fn called_sentence(weigh: &Weigh<'_>, candidate: &Candidate, verdict: CalledVerdict) -> String {
    let dash = candidate.dash;
    let constants = weigh.constants;
    match verdict {
        CalledVerdict::Stands if candidate.fold == Fold::Caution => format!(
            "{dash}, as called, stands: it has {}. {}",
            what_it_gives(weigh, candidate),
            fold_caution(candidate, constants)
        ),
        CalledVerdict::Stands => {
            format!("{dash}, as called, stands: it has {}.", what_it_gives(weigh, candidate))
        }
        CalledVerdict::Coupon => format!(
            "{dash}, as called: prove it on a coupon of the same stack first. It has {}, and about {:.0} in 100 \
             can be made wide enough.",
            what_it_gives(weigh, candidate),
            100.0 * candidate.p_wide
        ),
        CalledVerdict::Short if candidate.tail <= Length::ZERO => {
            format!(
                "{dash}, as called, is too short: it does not come through the {} in of stack.",
                in_thousandths(weigh.seats.seat_to_seat)
            )
        }
        CalledVerdict::Short => {
            let metal = weigh.metal(candidate.tail);
            let below = |metal: Metal| in_thousandths(metal.height_at(weigh.limits.min_width));
            format!(
                "{dash}, as called, is too short: it has {:.2} d of tail and is {} in wide only below {} in high, \
                 with {:.0} % less metal not above {} in; the least height is {} in.",
                candidate.tail_d,
                weigh.limits.min_width.decimal(),
                below(metal),
                100.0 * constants.missing_metal.value,
                below(metal.less(constants.missing_metal.value)),
                weigh.limits.min_height.decimal()
            )
        }
        CalledVerdict::Fold => format!(
            "{dash}, as called, has {:.2} d of tail and may fold: from {} d a length is taken by decision only.",
            candidate.tail_d, constants.fold_refusal_d.value
        ),
    }
}

fn what_it_gives(weigh: &Weigh<'_>, candidate: &Candidate) -> String {
    let tail = format!("{:.2} d of tail", candidate.tail_d);
    match (candidate.heights, candidate.head_at_mid, candidate.head_at_mid_less) {
        (Some(heights), Some(width), Some(less)) => format!(
            "{tail} and gives {} wide × {} in high ({} wide with {:.0} % less metal)",
            in_thousandths(width),
            in_thousandths(heights.middle()),
            in_thousandths(less),
            100.0 * weigh.constants.missing_metal.value
        ),
        _ => tail,
    }
}

fn fold_caution(candidate: &Candidate, constants: &Constants) -> String {
    format!(
        "Its tail is over {} d and may fold: set {} straight and look at the first ones.",
        constants.fold_caution_d.value, candidate.dash
    )
}

fn off_band_sentence(weigh: &Weigh<'_>, call_out: &CallOut) -> String {
    let constants = weigh.constants;
    let band = format!("{} to {} d", constants.tail_least_d.value, constants.tail_most_d.value);
    let cut = in_thousandths(call_out.cut);
    match call_out.bracket {
        (Some(shorter), Some(longer)) if shorter != longer => {
            let d = |dash| weigh.tail(dash).inches() / weigh.shank;
            format!(
                "The preferred tail of {band} lies between {shorter} ({:.2} d) and {longer} ({:.2} d); a rivet cut \
                 to {cut} in would be in its middle.",
                d(shorter),
                d(longer)
            )
        }
        _ => format!("A rivet cut to {cut} in would have the middle of the preferred tail of {band}."),
    }
}

/// The lines by which one length was weighed up; those of its seats come first.
#[must_use]
pub fn working(seats: &Seats, in_force: &InForce, dash: Dash, constants: &Constants) -> Working {
    let mut working = seats.working(constants);
    if seats.shop_seat == ShopSeat::Cone {
        return working;
    }
    let limits = &in_force.limits;
    let weigh = Weigh::new(seats, limits, constants);
    let candidate = weigh.weigh(dash);
    let metal = weigh.metal(candidate.tail);
    let missing = &constants.missing_metal;
    let little = metal.less(missing.value);
    let theory = || Cited::theory("tail and shop head");
    let inch = |length: Length| format!("{} in", in_thousandths(length));
    let shank = seats.kind.diameter.length();
    working.add(
        "tail",
        "p = L − G",
        format!("{} − {}", dash.length().decimal(), seats.seat_to_seat.decimal()),
        format!("{} in, {:.2} d", candidate.tail.decimal(), candidate.tail_d),
        theory(),
    );
    working.add(
        "metal",
        "V = π/4·d²·p − φ·π/4·(Dh² − d²)·g",
        format!(
            "π/4·{}²·{} − {}·π/4·({}² − {}²)·{}",
            shank.decimal(),
            candidate.tail.decimal(),
            constants.fill.value,
            seats.hole.decimal(),
            shank.decimal(),
            seats.cylinder.decimal()
        ),
        format!("{:.6} in³", metal.volume()),
        theory(),
    );
    working.add(
        "metal that arrives",
        "V' = V·(1 − missing)",
        format!("{:.6}·(1 − {})", metal.volume(), missing.value),
        format!("{:.6} in³", little.volume()),
        missing.cited.clone(),
    );
    let asked = [Some(limits.min_width), limits.max_width, Some(limits.min_height), limits.max_height];
    working.add(
        "limits",
        "width least, width most, height least, height most",
        asked.map(|limit| limit.map_or_else(|| "none".to_owned(), Length::decimal)).join(", "),
        in_force.key.clone(),
        limits.cited.clone(),
    );
    for (name, metal) in [("wide enough below", metal), ("the same with metal missing", little)] {
        working.add(
            name,
            "h(D) = 4V·β²/(π·D²)",
            format!(
                "4·{:.6}·{}²/(π·{}²)",
                metal.volume(),
                constants.spread.value,
                limits.min_width.decimal()
            ),
            inch(metal.height_at(limits.min_width)),
            theory(),
        );
    }
    let wide = weigh.wide_below(metal);
    working.add(
        "P(wide)",
        "P(h(Dmin) ≥ hmin), length a rectangle, the rest normal",
        format!(
            "mean {:.4}, length ± {:.4}, rest u {:.4}, against {}",
            wide.mean,
            wide.half,
            wide.rest,
            limits.min_height.decimal()
        ),
        format!("{:.3}", candidate.p_wide),
        Cited::theory("uncertainty"),
    );
    if let (Some(heights), Some(p), Some(width)) =
        (candidate.heights, candidate.p_height, candidate.head_at_mid)
    {
        working.add(
            "heights that work",
            "[max(hmin, h(Dmax)), min(hmax, h'(Dmin))]",
            String::new(),
            format!("{} to {} in", in_thousandths(heights.least), in_thousandths(heights.most)),
            theory(),
        );
        let aim = heights.middle();
        working.add(
            "head at the middle",
            "D(h) = β·√(4V/(π·h))",
            format!("{}·√(4·{:.6}/(π·{}))", constants.spread.value, metal.volume(), in_thousandths(aim)),
            inch(width),
            theory(),
        );
        working.add(
            "P(height)",
            "P(height and width inside), aimed at the middle",
            format!("aim {}, set-up u {}", in_thousandths(aim), constants.set_height_u.value.decimal()),
            format!("{p:.3}"),
            constants.set_height_u.cited.clone(),
        );
    }
    working
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::seats::{HeadOn, Sheet, seats};
    use faying_plan::Preparation;
    use faying_standards::{Known, inches};

    fn example() -> Seats {
        let sheets =
            [0.063, 0.040, 0.040].map(|t| Sheet { thickness: inches(t), preparation: Preparation::Plain });
        seats("MS20470AD4".parse().unwrap(), &sheets, HeadOn::First, None, &Constants::standard()).unwrap()
    }

    fn dash(text: &str) -> Dash {
        Dash::read(text).unwrap()
    }

    #[test]
    fn the_worked_example_reads_as_a_builder_would_say_it() {
        let (seats, constants) = (example(), Constants::standard());
        let limits = limits_in_force(seats.kind, None, &[]).unwrap();
        let called = call_out(&seats, &limits, Some(dash("-5")), Stock::default(), &constants);
        assert_eq!(
            called.why,
            [
                "-5, as called, stands: it has 1.36 d of tail and gives .205 wide × .060 in high (.189 wide with 15 % less metal)."
            ]
        );
        let short = call_out(&seats, &limits, Some(dash("-4")), Stock::default(), &constants);
        assert_eq!(short.called, Some(CalledVerdict::Short));
        assert_eq!(
            short.why[0],
            "-4, as called, is too short: it has 0.86 d of tail and is .163 in wide only below .058 in high, with \
             15 % less metal not above .049 in; the least height is .050 in."
        );
        assert!(short.why[1].contains("designer"));
        assert_eq!(short.best, Some(dash("-5")));
    }

    /// .319875 is the worked example's G of .143 and 1.415 d.
    #[test]
    fn the_bracket_lies_about_the_middle_of_the_band() {
        assert_eq!(bracket(inches(0.319875), false), (Some(dash("-5")), Some(dash("-6"))));
        assert_eq!(bracket(inches(0.319875), true), (Some(dash("-5")), Some(dash("-5.5"))));
        assert_eq!(bracket(inches(0.25), false), (Some(dash("-4")), Some(dash("-4"))));
        assert_eq!(bracket(inches(0.02), false), (None, Some(dash("-1"))));
    }

    /// Two half sizes of a 1/4 rivet may both lie in the band; the run's own is taken.
    #[test]
    fn of_two_in_the_band_the_runs_own_is_taken() {
        let sheets = [0.125, 0.0645].map(|t| Sheet { thickness: inches(t), preparation: Preparation::Plain });
        let constants = Constants::standard();
        let seats = seats("MS20470AD8".parse().unwrap(), &sheets, HeadOn::First, None, &constants).unwrap();
        let limits = limits_in_force(seats.kind, None, &[]).unwrap();
        let best =
            |in_run: &[Dash]| call_out(&seats, &limits, None, Stock { half: true, in_run }, &constants).best;
        assert_eq!(best(&[]), Some(dash("-8.5")));
        assert_eq!(best(&[dash("-9")]), Some(dash("-9")));
        assert_eq!(best(&[dash("-10")]), Some(dash("-8.5")));
    }

    /// The middle is where the call-out's own P(height) is; away from it the odds fall on both sides.
    #[test]
    fn a_landing_is_known_at_every_aim() {
        let (seats, constants) = (example(), Constants::standard());
        let in_force = limits_in_force(seats.kind, None, &[]).unwrap();
        let called = call_out(&seats, &in_force, Some(dash("-5")), Stock::default(), &constants);
        let candidate = called.candidate(dash("-5")).unwrap();
        let landing = Landing::of(&seats, &in_force.limits, dash("-5"), &constants).unwrap();
        assert_eq!(Some(landing.heights()), candidate.heights);
        assert_eq!(Some(landing.p_at(landing.heights().middle())), candidate.p_height);
        // A set-up that aims at the lowest height lands under it every other time.
        assert!((landing.p_at(inches(0.050)) - 0.5).abs() < 1e-3);
        let odds: Vec<f64> = (30..=90).map(|h| landing.p_at(inches(f64::from(h) / 1e3))).collect();
        let peak = odds.iter().copied().fold(0.0, f64::max);
        let at = odds.iter().position(|&p| p == peak).unwrap();
        assert!(odds[..at].is_sorted() && odds[at..].is_sorted_by(|a, b| a >= b), "{odds:?}");
        assert_eq!(landing.p_at(Length::ZERO), 0.0);
        // -4 is too short, and limits without a greatest height have no middle.
        assert_eq!(Landing::of(&seats, &in_force.limits, dash("-4"), &constants), None);
        let open = ShopHeadLimits { max_height: None, ..in_force.limits.clone() };
        assert_eq!(Landing::of(&seats, &open, dash("-5"), &constants), None);
    }

    fn own_set(name: &str, kit: bool, dashes: &[u8]) -> OwnSet {
        let head = |dash| {
            let limits = ShopHeadLimits {
                min_width: inches(0.210),
                max_width: None,
                min_height: inches(0.070),
                max_height: Some(inches(0.090)),
                cited: Cited::new("own copy", "section 5", Known::Own),
                note: String::new(),
            };
            (Diameter::from_dash(dash).unwrap(), limits)
        };
        let heads = dashes.iter().map(|&dash| head(dash)).collect();
        OwnSet { name: name.to_owned(), source: "own copy, section 5".to_owned(), kit, heads }
    }

    #[test]
    fn the_kit_manual_comes_before_the_builders_other_sets() {
        let sets = [own_set("mine", false, &[3, 4]), own_set("kit manual", true, &[4])];
        let rules = |kind: &str, choice: Option<&str>| {
            limits_in_force(kind.parse().unwrap(), choice, &sets).unwrap().key
        };
        assert_eq!(rules("MS20470AD4", None), "kit manual");
        assert_eq!(rules("MS20470AD3", None), "mine", "the kit manual says nothing of 3/32");
        assert_eq!(rules("MS20470AD5", None), "MIL-HDBK-5H");
        assert_eq!(rules("MS20470AD4", Some("mine")), "mine", "a choice comes before everything");
        let silent = limits_in_force("MS20470AD3".parse().unwrap(), Some("kit manual"), &sets);
        assert!(matches!(silent, Err(LimitsError::Silent { .. })), "never swapped: {silent:?}");
    }

    #[test]
    fn limits_are_the_choice_else_the_builders_own_else_the_standards() {
        let limits = |kind: &str, choice: Option<&str>, own: &[OwnSet]| {
            limits_in_force(kind.parse().unwrap(), choice, own).map(|found| found.key)
        };
        assert_eq!(limits("MS20470AD4", None, &[]).unwrap(), "MIL-R-47196A");
        assert_eq!(limits("MS20470AD5", None, &[]).unwrap(), "MIL-HDBK-5H");
        assert_eq!(limits("MS20470AD4", Some("MIL-HDBK-5H"), &[]).unwrap(), "MIL-HDBK-5H");
        let own = own_set("manual", false, &[5]);
        let own = std::slice::from_ref(&own);
        assert_eq!(limits("MS20470AD5", None, own).unwrap(), "manual");
        assert_eq!(limits("MS20470AD4", None, own).unwrap(), "MIL-R-47196A");
        insta::assert_snapshot!(
            limits("MS20470AD4", Some("manual"), own).unwrap_err(),
            @"manual as known here says nothing of MS20470AD4: enter its limits from your own copy, or choose another set"
        );
        insta::assert_snapshot!(
            limits("MS20470AD5", Some("MIL-R-47196A"), &[]).unwrap_err(),
            @"MIL-R-47196A as known here says nothing of MS20470AD5: enter its limits from your own copy, or choose another set"
        );
        insta::assert_snapshot!(
            limits("MS20470AD4", Some("training"), &[]).unwrap_err(),
            @"training is advice and judges nothing: choose a set that judges, such as MIL-R-47196A"
        );
        assert!(matches!(limits("MS20470AD4", Some("manaul"), own), Err(LimitsError::Unknown { .. })));
    }

    #[test]
    fn a_set_that_lacks_a_limit_for_one_size_says_so() {
        let lacks = |kind: &str| limits_in_force(kind.parse().unwrap(), None, &[]).unwrap().lacks;
        assert_eq!(lacks("MS20470AD4"), "");
        assert_eq!(
            lacks("MS20470AD2"),
            "the greatest height for 1/16 in is in the document but was not seen"
        );
        // MIL-HDBK-5H has no greatest height at all, so none is missing.
        assert_eq!(lacks("MS20470AD5"), "");
    }

    #[test]
    fn every_line_of_the_working_has_a_source() {
        let (seats, constants) = (example(), Constants::standard());
        let limits = limits_in_force(seats.kind, None, &[]).unwrap();
        let working = working(&seats, &limits, dash("-5"), &constants);
        let names: Vec<&str> = working.figures().iter().map(|line| line.name.as_str()).collect();
        assert_eq!(
            names,
            [
                "grip",
                "hole",
                "seat to seat",
                "cylinder",
                "tail",
                "metal",
                "metal that arrives",
                "limits",
                "wide enough below",
                "the same with metal missing",
                "P(wide)",
                "heights that work",
                "head at the middle",
                "P(height)",
            ]
        );
        for line in working.figures() {
            let source = &line.source.source;
            assert!(figures().source(source).is_some() || source == "plan", "{}: {source}", line.name);
        }
    }
}
