//! Verdict: a measured shop head against the limits in force.
//!
//! A verdict says which quoted limits were checked and what was not, and never
//! approves a rivet. A height without its datum is not judged; it may be
//! reckoned from the over-all thickness of the set joint, and then carries the
//! uncertainty of the stack. Whether another squeeze helps follows from
//! constant volume; it is never offered for a head that is cracked, tilted,
//! folded or has a gap. Readings near a limit are marked by the guard band of
//! JCGM 106. What every other set and gauge would have said stands beside it
//! ([`judge_every`]). Theory chapter, "Verdict".

use faying_plan::BuildLimits;
use faying_standards::{
    Cited, HeadStyle, Known, Length, RivetAlloy, RivetType, ShopHeadLimits, Working, figures,
};
use serde::Serialize;

use crate::callout::{InForce, LimitsError, lacking};
use crate::check::in_force;
use crate::constants::Constants;
use crate::gauge;
use crate::head::Metal;
use crate::odds::{Spread, combined, guard_band};
use crate::ruling::{Judgement, Ruling, Said};
use crate::seats::{Seats, ShopSeat, in_thousandths};

/// What was measured of a shop head.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Measured {
    /// Width across the head.
    pub diameter: Option<Length>,
    /// Width across the first one.
    pub second_diameter: Option<Length>,
    /// Height over `seat`.
    pub height: Option<Length>,
    /// What the height was measured from.
    pub seat: Option<ShopSeat>,
    /// Over-all thickness of the set joint; the height follows from it where it was not read itself.
    pub over_all: Option<OverAll>,
    /// What was seen by eye.
    pub defects: Defects,
}

/// Over-all thickness of a set joint, across both heads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OverAll {
    /// As read.
    pub read: Length,
    /// What of it is not the shop head; `None` where the joint is not known.
    pub rest: Option<Rest>,
}

/// What of an over-all thickness is not the shop head.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rest {
    /// G, from the seat of the manufactured head to the face the shop head bears on.
    pub seat_to_seat: Length,
    /// How high the manufactured head stands over its seat; nothing where it is flush.
    pub head: Length,
    /// What the shop head bears on.
    pub seat: ShopSeat,
    /// Its spread about zero, in: the tolerances of sheets, head and lip, without the reading's own.
    pub spread: Spread,
    /// Whether the height of a lip in it was reckoned and not measured: its uncertainty is not known.
    pub lip_reckoned: bool,
}

impl OverAll {
    /// A reading over both heads of a joint; `seats` where the stack is known.
    ///
    /// # Units
    /// - `read`: outer face of the manufactured head to the top of the shop head
    ///
    /// # Source
    /// Theory chapter, "Verdict". Sheet tolerances: `thickness_tolerance.csv`; heads: `solid_rivets.csv`.
    #[must_use]
    pub fn of(read: Length, seats: Option<&Seats>, constants: &Constants) -> Self {
        let rest = seats.and_then(|seats| {
            // A joint that has seats has a rivet whose size is known.
            let size = figures().rivet_size(seats.kind)?;
            let protrudes = seats.kind.head == HeadStyle::Universal;
            let own_lip = seats.lip.is_some() && constants.lip(seats.kind.diameter).is_some();
            let head_half = size.head_height_tolerance.filter(|_| protrudes).map_or(0.0, Length::inches);
            let tolerance = |thickness| {
                figures().thickness_tolerance(thickness).map_or(0.0, |row| row.plus_minus.inches())
            };
            let sheets = seats.sheets.iter().map(|sheet| tolerance(sheet.thickness));
            let mut spread = Spread::of_tolerances(0.0, sheets.chain([head_half]));
            if own_lip {
                spread.rest = combined([spread.rest, constants.caliper_u.value.inches()]);
            }
            Some(Rest {
                seat_to_seat: seats.seat_to_seat,
                head: if protrudes { size.head_height } else { Length::ZERO },
                seat: seats.shop_seat,
                spread,
                lip_reckoned: seats.lip.is_some() && !own_lip,
            })
        });
        Self { read, rest }
    }

    /// What is left for the shop head.
    #[must_use]
    pub fn height(&self) -> Option<Length> {
        self.rest.map(|rest| self.read - rest.seat_to_seat - rest.head)
    }
}

impl Measured {
    /// The smaller of two widths: it is the one that is judged.
    #[must_use]
    pub fn width(&self) -> Option<Length> {
        match (self.diameter, self.second_diameter) {
            (Some(one), Some(other)) => Some(one.min(other)),
            (one, other) => one.or(other),
        }
    }

    /// The over-all thickness where the height comes from it: a height that was read itself counts before it.
    fn over_all_alone(&self) -> Option<&OverAll> {
        self.over_all.as_ref().filter(|_| self.height.is_none())
    }

    /// The height that is judged: as read, else from the over-all thickness.
    #[must_use]
    pub fn height(&self) -> Option<Length> {
        self.height.or_else(|| self.over_all.and_then(|over_all| over_all.height()))
    }

    /// What that height stands on.
    #[must_use]
    pub fn seat(&self) -> Option<ShopSeat> {
        match self.over_all_alone() {
            Some(over_all) => over_all.rest.map(|rest| rest.seat),
            None => self.seat,
        }
    }
}

/// A width and a height as they are judged.
struct Head {
    width: Length,
    height: Length,
    width_spread: Spread,
    height_spread: Spread,
    /// How far from a limit a width, and a height, is still within its uncertainty, in.
    guards: [f64; 2],
}

impl Head {
    fn of(measured: &Measured, constants: &Constants) -> Option<Self> {
        let (width, height) = (measured.width()?, measured.height()?);
        let u = constants.caliper_u.value.inches();
        let read = |length: Length| Spread { mean: length.inches(), half: 0.0, rest: u };
        let mut height_spread = read(height);
        if let Some(rest) = measured.over_all_alone().and_then(|over_all| over_all.rest) {
            height_spread.half = rest.spread.half;
            height_spread.rest = combined([rest.spread.rest, u]);
        }
        let width_spread = read(width);
        let guards = [width_spread, height_spread].map(|it| guard_band(it.u(), constants.guard_level.value));
        Some(Self { width, height, width_spread, height_spread, guards })
    }
}

/// What was seen by eye; `None` is not looked at.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Defects {
    /// The shop head has cracks.
    pub cracked: Option<bool>,
    /// A head stands at a slant.
    pub tilted: Option<bool>,
    /// The tail went over to one side.
    pub folded: Option<bool>,
    /// A gap under a head or between sheets.
    pub gap: Option<bool>,
}

impl Defects {
    /// Looked at, and nothing seen.
    pub const NONE_SEEN: Self =
        Self { cracked: Some(false), tilted: Some(false), folded: Some(false), gap: Some(false) };

    const fn named(&self) -> [(&'static str, Option<bool>); 4] {
        [("cracks", self.cracked), ("tilt", self.tilted), ("fold", self.folded), ("gap", self.gap)]
    }

    fn seen(&self) -> impl Iterator<Item = &'static str> {
        self.named().into_iter().filter(|(_, seen)| *seen == Some(true)).map(|(name, _)| name)
    }

    fn not_looked_at(&self) -> impl Iterator<Item = &'static str> {
        self.named().into_iter().filter(|(_, seen)| seen.is_none()).map(|(name, _)| name)
    }
}

/// What to do next.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Action {
    /// Nothing: inside the quoted limits checked.
    None,
    /// Another squeeze can bring it inside.
    Squeeze,
    /// No squeeze can bring it inside.
    Replace,
    /// Something is missing, or is for somebody else to decide.
    Ask,
}

/// What a gauge cut to the rule of thumb would have said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ThumbRule {
    /// Whether it passes; `None` where a dimension is missing.
    pub inside: Option<bool>,
    /// The same as a sentence.
    pub says: String,
    /// Where the rule comes from.
    pub cited: Cited,
}

/// A verdict on one shop head.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    /// Inside the quoted limits checked, outside, or `None`: not judged.
    pub inside: Option<bool>,
    /// Within the uncertainty of a limit.
    pub close: bool,
    /// Probability that the true dimensions are inside, for those read; `None` where not judged.
    pub conforms: Option<f64>,
    /// What to do next.
    pub action: Action,
    /// Lowest and highest height to which another squeeze may bring it.
    pub resqueeze: Option<(Length, Length)>,
    /// Name of the limits; empty where none judge this rivet.
    pub limits: String,
    /// Sentences a builder reads.
    pub reasons: Vec<String>,
    /// What was not checked.
    pub not_checked: Vec<String>,
    /// What the rule of thumb would have said.
    pub thumb_rule: Option<ThumbRule>,
    /// Documents behind the sentences.
    pub sources: Vec<Cited>,
}

/// One limit and a reading against it.
struct Check {
    what: &'static str,
    reading: Length,
    limit: Length,
    /// Whether the limit is a least one.
    least: bool,
    /// How far from the limit the reading is still within its uncertainty, in.
    guard: f64,
}

impl Check {
    fn held(&self) -> bool {
        if self.least { self.reading >= self.limit } else { self.reading <= self.limit }
    }

    fn close(&self) -> bool {
        (self.reading - self.limit).inches().abs() < self.guard
    }

    /// Probability that the true value is beyond this limit.
    fn beyond(&self, spread: &Spread) -> f64 {
        let limit = self.limit.inches();
        if self.least { spread.at_most(limit) } else { spread.at_least(limit) }
    }

    fn sentence(&self) -> String {
        let (side, name) = match (self.held(), self.least) {
            (true, true) => ("not under", "least"),
            (true, false) => ("not over", "greatest"),
            (false, true) => ("under", "least"),
            (false, false) => ("over", "greatest"),
        };
        let (what, reading, limit) = (self.what, self.reading.decimal(), self.limit.decimal());
        format!("The {what} of {reading} in is {side} the {name} {what} of {limit} in.")
    }
}

/// A verdict on a measured shop head.
///
/// # Units
/// - `limits`: what [`crate::callout::limits_in_force`] gave, an error included:
///   a rivet without limits is not judged, and the sentence says why
///
/// # Source
/// Theory chapter, "Verdict"; JCGM 106:2012.
#[must_use]
pub fn judge(
    kind: RivetType,
    measured: &Measured,
    limits: Result<&InForce, &LimitsError>,
    constants: &Constants,
) -> Verdict {
    let (width, height) = (measured.width(), measured.height());
    let mut verdict = Verdict {
        inside: None,
        close: false,
        conforms: None,
        action: Action::Ask,
        resqueeze: None,
        limits: limits.map_or_else(|_| String::new(), |found| found.key.clone()),
        reasons: Vec::new(),
        not_checked: Vec::new(),
        thumb_rule: thumb_rule(kind, width, height),
        sources: Vec::new(),
    };
    verdict.not_checked.push(other_head(kind).to_owned());
    verdict.not_checked.extend(measured.defects.not_looked_at().map(str::to_owned));
    if measured.diameter.is_some() != measured.second_diameter.is_some() {
        verdict.not_checked.push("a second width, across the first".to_owned());
    }
    let in_force = match limits {
        Ok(in_force) => in_force,
        Err(error) => {
            verdict.reasons.push(format!("Not judged: {error}."));
            return verdict;
        }
    };
    verdict.sources.push(in_force.limits.cited.clone());
    if let Some(why) = not_judged(kind, measured) {
        verdict.not_checked.extend(missing(measured));
        verdict.reasons.push(why);
        defects(&mut verdict, &measured.defects);
        return verdict;
    }
    let Some(head) = Head::of(measured, constants) else {
        return verdict; // not_judged has answered for both
    };
    let (width, height) = (head.width, head.height);

    let checks = checks(&in_force.limits, &head);
    let inside = checks.iter().all(Check::held);
    verdict.inside = Some(inside);
    verdict.conforms = Some(conformance(&checks, &head));
    for check in &checks {
        verdict.close |= check.close();
        if !check.held() {
            verdict.reasons.push(check.sentence());
        }
        if check.close() {
            verdict.reasons.push(format!(
                "The {} of {} in is within the uncertainty of the limit of {} in ({} in): read it again.",
                check.what,
                check.reading.decimal(),
                check.limit.decimal(),
                in_ten_thousandths(check.guard)
            ));
        }
    }
    let seen: Vec<&str> = measured.defects.seen().collect();
    if !seen.is_empty() {
        // The dimensions of such a head do not speak for it.
        verdict.inside = if inside { None } else { Some(false) };
        defects(&mut verdict, &measured.defects);
    } else if inside && !in_force.lacks.is_empty() {
        verdict.inside = None;
        verdict.not_checked.push(in_force.lacks.clone());
        verdict.reasons.push(format!(
            "Not judged: inside what {} is known to ask here, but {}. Enter it from your own copy.",
            in_force.key, in_force.lacks
        ));
    } else if inside {
        verdict.action = Action::None;
    } else {
        squeeze_or_replace(&mut verdict, &in_force.limits, width, height, constants);
    }
    if verdict.inside == Some(true) {
        verdict.reasons.insert(0, inside_sentence(in_force, width, height, &verdict.not_checked));
    }
    if let Some(over_all) = measured.over_all_alone() {
        verdict.reasons.extend(over_all_sentence(kind, over_all, &head));
        verdict.sources.push(Cited::theory("verdict"));
        let protrudes = over_all.rest.is_some_and(|rest| rest.head > Length::ZERO);
        verdict
            .sources
            .extend(figures().rivet_size(kind).filter(|_| protrudes).map(|size| size.cited.clone()));
    }
    verdict
}

/// What every set of limits, and every gauge, says of a measured shop head, side by side.
///
/// The set in force rules, and its word is that of [`judge`]; the others say
/// what they would have said. A set that is silent of this rivet, that lacks a
/// limit, or that is advice, says so. A gauge judges nothing.
///
/// # Source
/// `shop_head_limits.csv` and the builder's own sets, each ruling with its own;
/// theory chapter, "Verdict".
///
/// ```
/// # use faying_joint::judge::{Measured, judge_every};
/// # use faying_joint::{Constants, ruling::Said};
/// # use faying_standards::inches;
/// let head = Measured {
///     diameter: Some(inches(0.175)), height: Some(inches(0.058)), ..Measured::default()
/// };
/// let judged = judge_every("MS20470AD4".parse()?, &head, &Default::default(), &Constants::standard());
/// let said = |rule: &str| judged.rulings.iter().find(|it| it.rule == rule).unwrap().said;
/// assert_eq!((judged.said, said("MIL-R-47196A"), said("thumb")), (Said::Inside, Said::Inside, Said::Outside));
/// # Ok::<(), faying_standards::ReadFastenerError>(())
/// ```
#[must_use]
pub fn judge_every(
    kind: RivetType,
    measured: &Measured,
    limits: &BuildLimits,
    constants: &Constants,
) -> Judgement {
    let in_force = in_force(kind, limits);
    let why = why_rules(kind, limits, in_force.as_ref());
    judge_under(kind, measured, limits, (in_force.as_ref(), why), constants)
}

/// The same where somebody chose what rules this one head: the limits in force and why they are.
#[must_use]
pub fn judge_under(
    kind: RivetType,
    measured: &Measured,
    limits: &BuildLimits,
    (in_force, why): (Result<&InForce, &LimitsError>, String),
    constants: &Constants,
) -> Judgement {
    let verdict = judge(kind, measured, in_force, constants);
    let head = Head::of(measured, constants).filter(|_| not_judged(kind, measured).is_none());
    let seen: Vec<&str> = measured.defects.seen().collect();
    let ruling_key = in_force.map_or("", |found| found.key.as_str());
    let rulings = sets(kind, limits).into_iter().map(|set| {
        let rules = set.rule == ruling_key;
        let (said, close, words) = if rules {
            let said = match verdict.inside {
                Some(true) => Said::Inside,
                Some(false) => Said::Outside,
                None => Said::NotJudged,
            };
            let asked = set.asks.as_ref().map_or_else(String::new, |asks| format!("{}. ", asked(asks)));
            (said, verdict.close, format!("{asked}{}", verdict.reasons.join(" ")))
        } else {
            says_of_set(&set, head.as_ref(), &seen, kind)
        };
        let Set { rule, judges, lacks, cited, .. } = set;
        Ruling { rule, rules, judges, said, close, words, lacks, cited }
    });
    let gauges = limits.gauges.iter().map(|it| gauge::ruling(it, kind, measured, constants));
    let mut judgement = Judgement::of(rulings.chain(gauges).collect(), why);
    judgement.working = working(measured, in_force, &verdict, constants);
    judgement.not_checked = verdict.not_checked;
    judgement
}

/// A set of limits as it stands beside others for one rivet.
#[derive(Clone, Debug, PartialEq)]
pub struct Set {
    /// Its name.
    pub rule: String,
    /// Whether it judges; else it is advice.
    pub judges: bool,
    /// Whether it is the builder's own.
    pub own: bool,
    /// Whether it is the kit manual's.
    pub kit: bool,
    /// What it asks of this rivet; `None` where it is silent.
    pub asks: Option<ShopHeadLimits>,
    /// What of its document is not known here; empty where nothing.
    pub lacks: String,
    /// What it has for other sizes and lacks for this one; empty where nothing.
    pub lacks_here: String,
    /// Where it comes from.
    pub cited: Cited,
}

/// Every set of limits for one rivet, the builder's own first.
#[must_use]
pub fn sets(kind: RivetType, limits: &BuildLimits) -> Vec<Set> {
    let own = limits.own_sets.iter().map(|set| {
        let asks = set.at(kind.diameter).cloned();
        let unsaid = || Cited::new("limits.toml", set.name.as_str(), Known::Own);
        Set {
            rule: set.name.clone(),
            judges: true,
            own: true,
            kit: set.kit,
            cited: asks.as_ref().map_or_else(unsaid, |asks| asks.cited.clone()),
            asks,
            lacks: String::new(),
            lacks_here: String::new(),
        }
    });
    let standard = figures().limit_sets().iter().map(|set| {
        let asks = set.at(kind);
        Set {
            rule: set.key.clone(),
            judges: set.judges,
            own: false,
            kit: false,
            cited: asks.as_ref().map_or_else(|| set.cited.clone(), |asks| asks.cited.clone()),
            lacks: set.lacks.clone(),
            lacks_here: asks.as_ref().map_or_else(String::new, |asks| lacking(set, kind, asks)),
            asks,
        }
    });
    own.chain(standard).collect()
}

/// `It asks .163 in or more wide and .050 to .070 in high`.
fn asked(asks: &ShopHeadLimits) -> String {
    let range = |least: Length, most: Option<Length>| match most {
        Some(most) => format!("{} to {} in", least.decimal(), most.decimal()),
        None => format!("{} in or more", least.decimal()),
    };
    format!(
        "It asks {} wide and {} high",
        range(asks.min_width, asks.max_width),
        range(asks.min_height, asks.max_height)
    )
}

/// Why a set says nothing of a rivet: of its diameter, or of its alloy alone.
fn silence(kind: RivetType, set: &Set) -> String {
    let other = figures().limit_set(&set.rule).filter(|_| !set.own).is_some_and(|set| {
        RivetAlloy::ALL.into_iter().any(|alloy| set.at(RivetType { alloy, ..kind }).is_some())
    });
    if other {
        format!("It says nothing of {kind} as known here.")
    } else {
        format!("It says nothing of {} as known here.", kind.diameter)
    }
}

/// What a set that does not rule would have said of a head.
fn says_of_set(set: &Set, head: Option<&Head>, seen: &[&str], kind: RivetType) -> (Said, bool, String) {
    let Some(asks) = &set.asks else {
        return (Said::NotJudged, false, silence(kind, set));
    };
    let asked = asked(asks);
    let Some(head) = head else {
        return (Said::NotJudged, false, format!("{asked}."));
    };
    let checks = checks(asks, head);
    let close = checks.iter().any(Check::close);
    let failed: Vec<String> = checks.iter().filter(|check| !check.held()).map(Check::sentence).collect();
    let both = format!("{} × {} in", head.width.decimal(), head.height.decimal());
    if !failed.is_empty() {
        return (Said::Outside, close, format!("{asked}. {}", failed.join(" ")));
    }
    if !seen.is_empty() {
        let seen = seen.join(", ");
        let words =
            format!("{asked}; {both} is inside, which does not speak for a head with this seen: {seen}.");
        return (Said::NotJudged, close, words);
    }
    if !set.lacks_here.is_empty() {
        let words = format!("{asked}; {both} is inside that, but {}.", set.lacks_here);
        return (Said::NotJudged, close, words);
    }
    (Said::Inside, close, format!("{asked}; {both} is inside."))
}

/// Which set rules and why, or why none does, as a sentence.
#[must_use]
pub fn why_rules(kind: RivetType, limits: &BuildLimits, in_force: Result<&InForce, &LimitsError>) -> String {
    let found = match in_force {
        Err(error) => return format!("No set of limits rules: {error}."),
        Ok(found) => found,
    };
    let key = &found.key;
    let chosen = limits.shop_head.as_deref();
    if chosen == Some(key) {
        return format!("{key} rules: it is the choice of this build (shop_head in limits.toml).");
    }
    let start = chosen.map_or_else(String::new, |chosen| {
        format!("The choice of this build, {chosen}, says nothing of {kind} as known here. ")
    });
    let why = match limits.own_sets.iter().find(|set| set.name == *key) {
        Some(set) if set.kit => format!("it is the kit manual's and speaks of {}.", kind.diameter),
        Some(_) => format!("it is a set of your own and speaks of {}.", kind.diameter),
        None if chosen.is_some() => format!("it is the first of the standards that speaks of {kind}."),
        None => format!("none is chosen, and it is the first of the standards that speaks of {kind}."),
    };
    format!("{start}{key} rules: {why}")
}

/// How the height, the guard band, the odds and the band of another squeeze were reckoned.
fn working(
    measured: &Measured,
    in_force: Result<&InForce, &LimitsError>,
    verdict: &Verdict,
    constants: &Constants,
) -> Working {
    let mut working = Working::default();
    let level = constants.guard_level.value;
    let u = constants.caliper_u.value.inches();
    if let Some((over_all, rest)) = measured.over_all_alone().and_then(|it| Some((it, it.rest?))) {
        let (formula, put_in) = if rest.head > Length::ZERO {
            (
                "T − G − k",
                format!(
                    "{} − {} − {}",
                    over_all.read.decimal(),
                    rest.seat_to_seat.decimal(),
                    rest.head.decimal()
                ),
            )
        } else {
            ("T − G", format!("{} − {}", over_all.read.decimal(), rest.seat_to_seat.decimal()))
        };
        let height = over_all.height().map_or_else(String::new, |height| format!("{} in", height.decimal()));
        working.add("height", formula, put_in, height, Cited::theory("verdict"));
    }
    let Some(head) = Head::of(measured, constants) else {
        let put_in = format!("u {} at a probability of {level}", in_ten_thousandths(u));
        let guard = format!("{} in", in_ten_thousandths(guard_band(u, level)));
        working.add("guard band", "w = z·u", put_in, guard, constants.guard_level.cited.clone());
        return working;
    };
    let mut guard = |name: &str, spread: &Spread, guard: f64| {
        let put_in = format!("u {} at a probability of {level}", in_ten_thousandths(spread.u()));
        let guard = format!("{} in", in_ten_thousandths(guard));
        working.add(name, "w = z·u", put_in, guard, constants.guard_level.cited.clone());
    };
    if measured.over_all_alone().is_some() {
        guard("guard band of the width", &head.width_spread, head.guards[0]);
        guard("guard band of the height", &head.height_spread, head.guards[1]);
    } else {
        guard("guard band", &head.width_spread, head.guards[0]);
    }
    let Ok(in_force) = in_force else { return working };
    let asks = &in_force.limits;
    if let Some(conforms) = verdict.conforms {
        let bounds = |sign: &str, least: Length, most: Option<Length>| match most {
            Some(most) => format!("P({} ≤ {sign} ≤ {})", least.decimal(), most.decimal()),
            None => format!("P({} ≤ {sign})", least.decimal()),
        };
        working.add(
            "true dimensions inside, for those read",
            "P(D inside)·P(h inside)",
            format!(
                "{}·{} about {} and {}",
                bounds("D", asks.min_width, asks.max_width),
                bounds("h", asks.min_height, asks.max_height),
                head.width.decimal(),
                head.height.decimal()
            ),
            format!("{conforms:.3}"),
            Cited::theory("uncertainty"),
        );
    }
    if let Some((least, most)) = verdict.resqueeze {
        working.add(
            "height at which the same metal is just wide enough",
            "h·(D/Dmin)²",
            format!("{}·({}/{})²", head.height.decimal(), head.width.decimal(), asks.min_width.decimal()),
            format!(
                "{} in",
                in_thousandths(Metal::of_head(head.width, head.height, 1.0).height_at(asks.min_width))
            ),
            Cited::theory("verdict"),
        );
        let (low, high) = inward(least, most);
        working.add(
            "another squeeze",
            "max(hmin, h(Dmax)) to min(h, hmax, h(Dmin))",
            format!("{} to {}", least.decimal(), most.decimal()),
            format!("between {low} and {high} in high"),
            Cited::theory("verdict"),
        );
    }
    working
}

/// A shop head says nothing of the other one.
const fn other_head(kind: RivetType) -> &'static str {
    match kind.head {
        HeadStyle::Universal => "how the manufactured head sits",
        HeadStyle::Flush => "how the manufactured head sits, or how far it was shaved",
    }
}

/// Why a head is not judged at all.
fn not_judged(kind: RivetType, measured: &Measured) -> Option<String> {
    let flush = kind.head == HeadStyle::Flush;
    if measured.seat() == Some(ShopSeat::Cone) {
        return Some(
            "Not judged: a shop head that fills a countersink has no height and width limits; it is filled and \
             flush, or it is not."
                .to_owned(),
        );
    }
    if let Some(over_all) = measured.over_all_alone().filter(|over_all| over_all.rest.is_none()) {
        return Some(format!(
            "Not judged: from an over-all thickness of {} in the height follows only where the sheets of the joint \
             are known, and they are not. Give them, or measure the height itself.",
            over_all.read.decimal()
        ));
    }
    let missing = missing(measured);
    if !missing.is_empty() {
        return Some(format!("Not judged: {} was not measured.", missing.join(" and ")));
    }
    if let Some((read, rest)) = measured.over_all_alone().and_then(|it| Some((it.read, it.rest?)))
        && read <= rest.seat_to_seat + rest.head
    {
        return Some(format!(
            "Not judged: an over-all thickness of {} in leaves nothing for a shop head, because {} in of it is the \
             joint.",
            read.decimal(),
            (rest.seat_to_seat + rest.head).decimal()
        ));
    }
    for (what, length) in [("width", measured.width()), ("height", measured.height())] {
        if let Some(length) = length.filter(|&length| length <= Length::ZERO) {
            return Some(format!("Not judged: a {what} of {} in cannot be.", length.decimal()));
        }
    }
    (flush && measured.seat().is_none()).then(|| {
        "Not judged: say whether the height is from the flat or from the lip of the dimple. The over-all thickness \
         of the set joint, less the seat to seat, is easier to measure there than the height."
            .to_owned()
    })
}

fn missing(measured: &Measured) -> Vec<String> {
    [("the width", measured.width()), ("the height", measured.height())]
        .into_iter()
        .filter(|(_, length)| length.is_none())
        .map(|(what, _)| what.to_owned())
        .collect()
}

fn checks(limits: &ShopHeadLimits, head: &Head) -> Vec<Check> {
    let [width_guard, height_guard] = head.guards;
    let width = |limit: Option<Length>, least| {
        limit.map(|limit| Check { what: "width", reading: head.width, limit, least, guard: width_guard })
    };
    let height = |limit: Option<Length>, least| {
        limit.map(|limit| Check { what: "height", reading: head.height, limit, least, guard: height_guard })
    };
    [
        width(Some(limits.min_width), true),
        width(limits.max_width, false),
        height(Some(limits.min_height), true),
        height(limits.max_height, false),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Both dimensions inside; the errors of width and height are independent.
fn conformance(checks: &[Check], head: &Head) -> f64 {
    [("width", &head.width_spread), ("height", &head.height_spread)]
        .into_iter()
        .map(|(what, spread)| {
            let of_it = checks.iter().filter(|check| check.what == what);
            (1.0 - of_it.map(|check| check.beyond(spread)).sum::<f64>()).max(0.0)
        })
        .product()
}

/// How a height came out of an over-all thickness, and what goes into it.
fn over_all_sentence(kind: RivetType, over_all: &OverAll, head: &Head) -> Vec<String> {
    let Some(rest) = over_all.rest else { return Vec::new() };
    let manufactured = if rest.head > Length::ZERO {
        format!(" and the manufactured head of {} in", rest.head.decimal())
    } else {
        String::new()
    };
    let mut says = vec![format!(
        "The height of {} in is the over-all thickness of {} in less the seat to seat of {} in{manufactured}. The \
         tolerances of the joint go into it: {} in is its uncertainty, and a limit is told from it no closer.",
        head.height.decimal(),
        over_all.read.decimal(),
        rest.seat_to_seat.decimal(),
        in_ten_thousandths(head.guards[1])
    )];
    if kind.head == HeadStyle::Flush {
        says.push(
            "How far the flush head stands proud or low goes into it too, and was not taken off.".to_owned(),
        );
    }
    if rest.lip_reckoned {
        says.push(
            "The lip of the dimple in it is reckoned, and how far that is out is not known: measure a lip and write \
             it in limits.toml."
                .to_owned(),
        );
    }
    says
}

fn inside_sentence(in_force: &InForce, width: Length, height: Length, not_checked: &[String]) -> String {
    let rest = if not_checked.is_empty() {
        String::new()
    } else {
        format!("; not checked: {}", not_checked.join(", "))
    };
    format!(
        "{} wide × {} in high is inside the quoted limits checked ({}){rest}.",
        width.decimal(),
        height.decimal(),
        in_force.key
    )
}

fn defects(verdict: &mut Verdict, defects: &Defects) {
    let seen: Vec<&str> = defects.seen().collect();
    if seen.is_empty() {
        return;
    }
    verdict.action = Action::Ask;
    verdict.reasons.push(format!(
        "Seen: {}. No limit for it is in the standards here, and the dimensions do not speak for such a head: ask \
         the kit's designer. It is not squeezed again.",
        seen.join(", ")
    ));
    if defects.cracked == Some(true) {
        verdict.reasons.push(
            "Cracks as quoted: rejected inside a circle of 1.10 shank diameters about the shank, where they meet, \
             or from five on. A producer's tests found badly cracked heads within 5 % of the strongest in tension."
                .to_owned(),
        );
        verdict.sources.push(Cited::new("mil-r-47196a", "", Known::SecondHand));
        verdict.sources.push(Cited::new("producer-1941", "inspection of driven rivets", Known::Seen));
    }
    if defects.gap == Some(true) {
        verdict.reasons.push("A gap is not closed by striking again: that can crack the joint.".to_owned());
        verdict.sources.push(Cited::new("engine-practices-manual", "70-13-01", Known::Seen));
    }
}

fn squeeze_or_replace(
    verdict: &mut Verdict,
    limits: &ShopHeadLimits,
    width: Length,
    height: Length,
    constants: &Constants,
) {
    let metal = Metal::of_head(width, height, 1.0);
    match resqueeze_band(limits, metal, height) {
        Ok((least, most)) => {
            verdict.action = Action::Squeeze;
            verdict.resqueeze = Some((least, most));
            let wide = |at| in_thousandths(metal.width_at(at));
            let (low, high) = inward(least, most);
            verdict.reasons.push(format!(
                "Another squeeze can bring it inside: to between {low} and {high} in high, where it is {} to {} in \
                 wide.",
                wide(most),
                wide(least)
            ));
            let room = (most - least).inches();
            let repeats = 2.0 * constants.set_height_u.value.inches();
            if room < repeats {
                verdict.reasons.push(format!(
                    "That is a room of {} in, and a set-up repeats within about {} in either way: it may not land \
                     there.",
                    in_ten_thousandths(room),
                    in_ten_thousandths(repeats)
                ));
            }
            verdict.sources.push(Cited::theory("verdict"));
        }
        Err(why) => {
            verdict.action = Action::Replace;
            verdict.reasons.push(why);
            verdict.reasons.push(
                "It can only be replaced, and a second rivet in a hole is likely worse than the first (a producer's \
                 tests of 1941). Leaving it is the designer's decision."
                    .to_owned(),
            );
            verdict.sources.push(Cited::new("producer-1941", "inspection of driven rivets", Known::Seen));
        }
    }
}

/// Both ends of a band in thousandths, rounded into the band: what is said must not lie outside it.
fn inward(least: Length, most: Length) -> (String, String) {
    let (low, high) = ((least.inches() * 1e3 - 1e-6).ceil(), (most.inches() * 1e3 + 1e-6).floor());
    if low > high {
        // Less than a thousandth wide: the next place tells the ends apart.
        return (in_ten_thousandths(least.inches()), in_ten_thousandths(most.inches()));
    }
    let thousandths = |count: f64| Length::from_inches(count / 1e3).decimal();
    (thousandths(low), thousandths(high))
}

/// The heights to which a head of this metal may still be pressed, or why there are none.
fn resqueeze_band(limits: &ShopHeadLimits, metal: Metal, height: Length) -> Result<(Length, Length), String> {
    if height < limits.min_height {
        return Err(format!(
            "It is overdriven: {} in high, and a squeeze only makes it lower.",
            height.decimal()
        ));
    }
    let wide_below = metal.height_at(limits.min_width);
    if wide_below < limits.min_height {
        return Err(format!(
            "It has too little metal: {} in wide only below {} in high, and the least height is {} in.",
            limits.min_width.decimal(),
            in_thousandths(wide_below),
            limits.min_height.decimal()
        ));
    }
    let not_too_wide = limits.max_width.map_or(limits.min_height, |most| metal.height_at(most));
    let least = limits.min_height.max(not_too_wide);
    let most = [Some(wide_below), limits.max_height, Some(height)]
        .into_iter()
        .flatten()
        .min()
        .expect("the height is always one of them");
    if least > most {
        return Err("It has too much metal: before it is low enough it is too wide.".to_owned());
    }
    Ok((least, most))
}

/// What a gauge cut to the rule of thumb would say: go over the width, no-go under the height.
fn thumb_rule(kind: RivetType, width: Option<Length>, height: Option<Length>) -> Option<ThumbRule> {
    let rule = figures().limit_set("thumb")?.at(kind)?;
    let checks = [("width", width, rule.min_width), ("height", height, rule.min_height)];
    let failed: Vec<String> = checks
        .iter()
        .filter_map(|&(what, reading, least)| {
            let reading = reading.filter(|reading| *reading < least)?;
            Some(format!("the {what} of {} in is under {} in", reading.decimal(), least.decimal()))
        })
        .collect();
    let missing = checks.iter().any(|(_, reading, _)| reading.is_none());
    let inside = if failed.is_empty() { (!missing).then_some(true) } else { Some(false) };
    let says = match inside {
        Some(true) => "A gauge cut to the rule of thumb (1.5 d × 0.5 d) would pass it.".to_owned(),
        Some(false) => format!(
            "A gauge cut to the rule of thumb (1.5 d × 0.5 d) would turn it down: {}. That rule is a target, not a \
             limit of the specification.",
            failed.join(" and ")
        ),
        None => "A gauge cut to the rule of thumb needs width and height.".to_owned(),
    };
    Some(ThumbRule { inside, says, cited: rule.cited })
}

fn in_ten_thousandths(inches: f64) -> String {
    Length::from_inches(inches).decimal()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::callout::limits_in_force;
    use crate::seats::{HeadOn, Sheet, seats};
    use faying_plan::{HeadGauge, OwnSet, Preparation};
    use faying_standards::{Diameter, inches};
    use proptest::prelude::*;

    fn head(diameter: f64, height: f64) -> Measured {
        Measured { diameter: Some(inches(diameter)), height: Some(inches(height)), ..Measured::default() }
    }

    fn of(kind: &str, measured: &Measured) -> Verdict {
        let kind = kind.parse().unwrap();
        let limits = limits_in_force(kind, None, &[]);
        judge(kind, measured, limits.as_ref(), &Constants::standard())
    }

    /// 1/8, .150 wide and .080 high is wide enough from .0677 in down: .068 would be just outside.
    #[test]
    fn a_band_is_rounded_into_itself() {
        assert_eq!(inward(inches(0.050), inches(0.067_7)), (".050".to_owned(), ".067".to_owned()));
        assert_eq!(inward(inches(0.050_2), inches(0.050_8)), (".0502".to_owned(), ".0508".to_owned()));
    }

    #[test]
    fn inside_says_what_was_not_checked() {
        let verdict = of("MS20470AD4", &head(0.175, 0.058));
        assert_eq!((verdict.inside, verdict.close, verdict.action), (Some(true), false, Action::None));
        assert_eq!(
            verdict.reasons,
            [
                ".175 wide × .058 in high is inside the quoted limits checked (MIL-R-47196A); not checked: how the \
             manufactured head sits, cracks, tilt, fold, gap, a second width, across the first."
            ]
        );
        let looked = Measured {
            second_diameter: Some(inches(0.176)),
            defects: Defects::NONE_SEEN,
            ..head(0.175, 0.058)
        };
        assert_eq!(of("MS20470AD4", &looked).not_checked, ["how the manufactured head sits"]);
    }

    #[test]
    fn the_smaller_width_counts() {
        let oval = Measured { second_diameter: Some(inches(0.155)), ..head(0.175, 0.058) };
        let verdict = of("MS20470AD4", &oval);
        assert_eq!(verdict.inside, Some(false));
        assert_eq!(verdict.reasons[0], "The width of .155 in is under the least width of .163 in.");
    }

    /// Constant volume: .155² · .065 / .163² = .0588.
    #[test]
    fn a_narrow_high_head_is_squeezed_on() {
        let verdict = of("MS20470AD4", &head(0.155, 0.065));
        assert_eq!((verdict.inside, verdict.action), (Some(false), Action::Squeeze));
        let (least, most) = verdict.resqueeze.unwrap();
        assert_eq!(least, inches(0.050));
        assert!((most.inches() - 0.155_f64.powi(2) * 0.065 / 0.163_f64.powi(2)).abs() < 1e-6);
    }

    #[test]
    fn a_narrow_low_head_cannot_be_saved() {
        let verdict = of("MS20470AD4", &head(0.150, 0.052));
        assert_eq!((verdict.inside, verdict.action), (Some(false), Action::Replace));
        assert_eq!(verdict.resqueeze, None);
        assert!(verdict.reasons.last().unwrap().contains("second rivet"));
    }

    #[test]
    fn a_head_with_a_defect_is_never_squeezed_again() {
        let all = |seen: Option<bool>| {
            [
                Defects { cracked: seen, ..Defects::NONE_SEEN },
                Defects { tilted: seen, ..Defects::NONE_SEEN },
                Defects { folded: seen, ..Defects::NONE_SEEN },
                Defects { gap: seen, ..Defects::NONE_SEEN },
            ]
        };
        for defects in all(Some(true)) {
            let high = of("MS20470AD4", &Measured { defects, ..head(0.155, 0.065) });
            assert_eq!((high.inside, high.action, high.resqueeze), (Some(false), Action::Ask, None));
            let good = of("MS20470AD4", &Measured { defects, ..head(0.175, 0.058) });
            assert_eq!((good.inside, good.action), (None, Action::Ask));
        }
        for defects in all(Some(false)) {
            assert_eq!(of("MS20470AD4", &Measured { defects, ..head(0.155, 0.065) }).action, Action::Squeeze);
        }
    }

    /// 1.645 · .001 is the guard band at 95 %.
    #[test]
    fn a_reading_near_a_limit_is_close() {
        assert!(of("MS20470AD4", &head(0.164, 0.058)).close);
        assert!(!of("MS20470AD4", &head(0.165, 0.058)).close);
        assert!(of("MS20470AD4", &head(0.175, 0.0712)).close);
        let conforms = of("MS20470AD4", &head(0.164, 0.060)).conforms.unwrap();
        assert!((conforms - crate::odds::normal(1.0)).abs() < 1e-6);
    }

    #[test]
    fn a_height_without_its_datum_is_not_judged() {
        let flush = head(0.135, 0.044);
        let verdict = of("MS20426AD3", &flush);
        assert_eq!((verdict.inside, verdict.action), (None, Action::Ask));
        assert!(verdict.reasons[0].contains("over-all thickness"));
        for seat in [ShopSeat::Flat, ShopSeat::Lip] {
            assert_eq!(of("MS20426AD3", &Measured { seat: Some(seat), ..flush }).inside, Some(true));
        }
        let cone = of("MS20426AD3", &Measured { seat: Some(ShopSeat::Cone), ..flush });
        assert_eq!((cone.inside, cone.action), (None, Action::Ask));
    }

    #[test]
    fn limits_that_lack_something_do_not_judge_a_head_inside() {
        let verdict = of("MS20470AD2", &head(0.090, 0.030));
        assert_eq!((verdict.inside, verdict.action), (None, Action::Ask));
        insta::assert_snapshot!(
            verdict.reasons[0],
            @"Not judged: inside what MIL-R-47196A is known to ask here, but the greatest height for 1/16 in is in the document but was not seen. Enter it from your own copy."
        );
        assert_eq!(of("MS20470AD2", &head(0.070, 0.030)).inside, Some(false));
    }

    #[test]
    fn a_chosen_set_that_is_silent_judges_nothing() {
        let kind = "MS20470AD5".parse().unwrap();
        let limits = limits_in_force(kind, Some("MIL-R-47196A"), &[]);
        let verdict = judge(kind, &head(0.21, 0.07), limits.as_ref(), &Constants::standard());
        assert_eq!((verdict.inside, verdict.action), (None, Action::Ask));
        assert!(
            verdict.reasons[0]
                .starts_with("Not judged: MIL-R-47196A as known here says nothing of MS20470AD5")
        );
    }

    #[test]
    fn nonsense_is_not_judged() {
        for measured in [head(0.0, 0.05), head(0.17, -0.05), Measured::default()] {
            assert_eq!(of("MS20470AD4", &measured).inside, None);
        }
    }

    /// Sheets of .063 and .040 and a head of MS20470, .054 high: .211 − .103 − .054 = .054. The head alone
    /// is ±.005, .0029 as a standard uncertainty, so its guard band is over .0047 and the limit is .004 away.
    #[test]
    fn a_height_comes_from_the_over_all_thickness() {
        let constants = Constants::standard();
        let kind: RivetType = "MS20470AD4".parse().unwrap();
        let seats = plain(kind, &[0.063, 0.040]);
        let over_all = Some(OverAll::of(inches(0.211), Some(&seats), &constants));
        let measured = Measured { diameter: Some(inches(0.175)), over_all, ..Measured::default() };
        assert_eq!((measured.height(), measured.seat()), (Some(inches(0.054)), Some(ShopSeat::Flat)));
        let verdict = of("MS20470AD4", &measured);
        assert_eq!(verdict.inside, Some(true));
        let direct = of("MS20470AD4", &head(0.175, 0.054));
        assert!(!direct.close && verdict.close, "the tolerances of the joint go into it");
        assert!(verdict.conforms.unwrap() < direct.conforms.unwrap());
        // A height that was read itself counts before it.
        let both = Measured { height: Some(inches(0.075)), ..measured };
        assert_eq!(both.height(), Some(inches(0.075)));
        assert_eq!(of("MS20470AD4", &both).inside, Some(false));

        let unknown = Some(OverAll::of(inches(0.211), None, &constants));
        let verdict = of("MS20470AD4", &Measured { over_all: unknown, ..measured });
        assert_eq!((verdict.inside, verdict.action), (None, Action::Ask));
        assert!(verdict.reasons[0].contains("only where the sheets of the joint are known"));
        let less = Some(OverAll::of(inches(0.157), Some(&seats), &constants));
        let verdict = of("MS20470AD4", &Measured { over_all: less, ..measured });
        insta::assert_snapshot!(
            verdict.reasons[0],
            @"Not judged: an over-all thickness of .157 in leaves nothing for a shop head, because .157 in of it is the joint."
        );
    }

    /// All dimpled: the lip is in the seat to seat, and the height is from it without anybody saying so.
    #[test]
    fn over_a_dimple_the_over_all_thickness_needs_no_datum() {
        let kind: RivetType = "MS20426AD3".parse().unwrap();
        let sheet = |t| Sheet { thickness: inches(t), preparation: Preparation::Dimpled };
        let of_joint = |constants: &Constants| {
            let seats = seats(kind, &[sheet(0.025), sheet(0.032)], HeadOn::First, None, constants).unwrap();
            let read = seats.seat_to_seat + inches(0.044);
            let over_all = Some(OverAll::of(read, Some(&seats), constants));
            Measured { diameter: Some(inches(0.135)), over_all, ..Measured::default() }
        };
        let reckoned = of_joint(&Constants::standard());
        assert_eq!((reckoned.height(), reckoned.seat()), (Some(inches(0.044)), Some(ShopSeat::Lip)));
        let verdict = of("MS20426AD3", &reckoned);
        assert_eq!(verdict.inside, Some(true));
        assert!(verdict.reasons.iter().any(|why| why.contains("The lip of the dimple in it is reckoned")));
        assert!(verdict.reasons.iter().any(|why| why.contains("proud or low")));

        let lips = vec![(kind.diameter, inches(0.009))];
        let measured = of_joint(&Constants::with(&BuildLimits { lips, ..BuildLimits::default() }));
        assert!(!of("MS20426AD3", &measured).reasons.iter().any(|why| why.contains("reckoned")));
        let spread = |measured: &Measured| measured.over_all.unwrap().rest.unwrap().spread.u();
        assert!(
            spread(&measured) > spread(&reckoned),
            "a lip that was measured has the caliper's uncertainty"
        );
    }

    fn plain(kind: RivetType, sheets: &[f64]) -> Seats {
        let sheets: Vec<Sheet> =
            sheets.iter().map(|&t| Sheet { thickness: inches(t), preparation: Preparation::Plain }).collect();
        seats(kind, &sheets, HeadOn::First, None, &Constants::standard()).unwrap()
    }

    fn own(name: &str, kit: bool, dash: u8, least_width: f64) -> OwnSet {
        let limits = ShopHeadLimits {
            min_width: inches(least_width),
            max_width: None,
            min_height: inches(0.050),
            max_height: Some(inches(0.070)),
            cited: Cited::new("own copy", "", Known::Own),
            note: String::new(),
        };
        let heads = vec![(Diameter::from_dash(dash).unwrap(), limits)];
        OwnSet { name: name.to_owned(), source: "own copy".to_owned(), kit, heads }
    }

    #[test]
    fn every_set_and_every_gauge_stand_side_by_side() {
        let limits = BuildLimits {
            own_sets: vec![own("mine", false, 4, 0.190), own("kit manual", true, 4, 0.170)],
            gauges: vec![HeadGauge { name: "plate".to_owned(), sizes: Vec::new() }],
            ..BuildLimits::default()
        };
        let kind = "MS20470AD4".parse().unwrap();
        let judged = judge_every(kind, &head(0.175, 0.058), &limits, &Constants::standard());
        let rows: Vec<(&str, bool, bool, Said)> =
            judged.rulings.iter().map(|it| (it.rule.as_str(), it.rules, it.judges, it.said)).collect();
        assert_eq!(
            rows,
            [
                ("kit manual", true, true, Said::Inside),
                ("mine", false, true, Said::Outside),
                ("MIL-R-47196A", false, true, Said::Inside),
                ("MIL-HDBK-5H", false, true, Said::Inside),
                ("thumb", false, true, Said::Outside),
                ("training", false, false, Said::Inside),
                ("1940s", false, false, Said::Outside),
                ("gauge plate", false, false, Said::NotJudged),
            ]
        );
        assert_eq!(judged.why, "kit manual rules: it is the kit manual's and speaks of 1/8.");
        assert!(
            judged.rulings[0].words.starts_with("It asks .170 in or more wide and .050 to .070 in high. ")
        );
        let working: Vec<&str> = judged.working.figures().iter().map(|it| it.name.as_str()).collect();
        assert_eq!(working, ["guard band", "true dimensions inside, for those read"]);

        // Of 5/32 only two of the standards' judging sets speak; the others say that they do not.
        let kind = "MS20470AD5".parse().unwrap();
        let judged = judge_every(kind, &head(0.210, 0.060), &limits, &Constants::standard());
        let of = |rule: &str| judged.rulings.iter().find(|it| it.rule == rule).unwrap();
        assert_eq!((of("MIL-HDBK-5H").rules, of("MIL-R-47196A").said), (true, Said::NotJudged));
        assert_eq!(of("MIL-R-47196A").words, "It says nothing of 5/32 as known here.");
        assert_eq!(of("kit manual").words, "It says nothing of 5/32 as known here.");
        let seven = judge_every(
            "MS20470E4".parse().unwrap(),
            &head(0.180, 0.058),
            &BuildLimits::default(),
            &Constants::standard(),
        );
        let silent = seven.rulings.iter().find(|it| it.rule == "MIL-R-47196A").unwrap();
        assert_eq!(silent.words, "It says nothing of MS20470E4 as known here.");
    }

    #[test]
    fn a_choice_that_is_silent_is_said_in_the_reason() {
        let limits = BuildLimits { shop_head: Some("MIL-R-47196A".to_owned()), ..BuildLimits::default() };
        let why = |kind: &str| {
            judge_every(kind.parse().unwrap(), &head(0.21, 0.07), &limits, &Constants::standard()).why
        };
        insta::assert_snapshot!(
            why("MS20470AD4"),
            @"MIL-R-47196A rules: it is the choice of this build (shop_head in limits.toml)."
        );
        insta::assert_snapshot!(
            why("MS20470AD5"),
            @"The choice of this build, MIL-R-47196A, says nothing of MS20470AD5 as known here. MIL-HDBK-5H rules: it is the first of the standards that speaks of MS20470AD5."
        );
    }

    /// 1/16 has no greatest height here: no set that lacks it calls a head inside, whether it rules or not.
    #[test]
    fn a_set_that_lacks_a_limit_never_says_inside() {
        let kind = "MS20470AD2".parse().unwrap();
        for shop_head in [None, Some("MIL-HDBK-5H".to_owned())] {
            let limits = BuildLimits { shop_head, ..BuildLimits::default() };
            let judged = judge_every(kind, &head(0.090, 0.030), &limits, &Constants::standard());
            let ruling = judged.rulings.iter().find(|it| it.rule == "MIL-R-47196A").unwrap();
            assert_eq!(ruling.said, Said::NotJudged, "{}", ruling.words);
            assert!(ruling.words.contains("was not seen") && !ruling.lacks.is_empty(), "{}", ruling.words);
        }
    }

    #[test]
    fn what_was_seen_keeps_every_set_from_saying_inside() {
        let defects = Defects { cracked: Some(true), ..Defects::NONE_SEEN };
        let measured = Measured { defects, ..head(0.200, 0.065) };
        let kind = "MS20470AD4".parse().unwrap();
        let judged = judge_every(kind, &measured, &BuildLimits::default(), &Constants::standard());
        assert!(judged.rulings.iter().all(|it| it.said != Said::Inside), "{:?}", judged.rulings);
    }

    /// No word of a verdict approves a part.
    #[test]
    fn no_verdict_approves() {
        for (width, height) in [(0.175, 0.058), (0.155, 0.065), (0.15, 0.05), (0.17, 0.03)] {
            for defects in [Defects::default(), Defects { cracked: Some(true), ..Defects::NONE_SEEN }] {
                let verdict = of("MS20470AD4", &Measured { defects, ..head(width, height) });
                let thumb = verdict.thumb_rule.unwrap().says;
                for text in verdict.reasons.iter().chain([&thumb]) {
                    for word in text.split(|c: char| !c.is_alphanumeric()) {
                        let word = word.to_lowercase();
                        assert!(
                            !["ok", "legal", "accepted", "approved", "acceptable"].contains(&word.as_str())
                        );
                    }
                }
            }
        }
    }

    proptest! {
        /// Whatever rules, its word beside the others is that of the verdict, and the judgement's own;
        /// at most one rules, and what is advice or a gauge never does.
        #[test]
        fn the_ruling_one_says_what_the_verdict_says(
            rivet in prop::sample::select(vec!["MS20470AD2", "MS20470AD3", "MS20470AD4", "MS20470AD5", "MS20426AD4", "MS20470E4"]),
            width in prop::option::of(0.06..0.25),
            across in prop::option::of(0.06..0.25),
            height in prop::option::of(0.02..0.11),
            lip in prop::option::of(any::<bool>()),
            seen in prop::option::of(any::<bool>()),
            choice in prop::sample::select(vec!["", "MIL-R-47196A", "MIL-HDBK-5H", "thumb", "training", "mine", "none of them"]),
            kit in any::<bool>(),
            dash in 2_u8..6,
        ) {
            let kind: RivetType = rivet.parse().unwrap();
            let measured = Measured {
                diameter: width.map(inches),
                second_diameter: across.map(inches),
                height: height.map(inches),
                seat: lip.map(|lip| if lip { ShopSeat::Lip } else { ShopSeat::Flat }),
                defects: Defects { cracked: seen, ..Defects::NONE_SEEN },
                ..Measured::default()
            };
            let limits = BuildLimits {
                shop_head: Some(choice.to_owned()).filter(|choice| !choice.is_empty()),
                own_sets: vec![own("mine", false, dash, 0.15), own("kit manual", kit, dash, 0.17)],
                gauges: vec![HeadGauge { name: "plate".to_owned(), sizes: Vec::new() }],
                ..BuildLimits::default()
            };
            let constants = Constants::standard();
            let in_force = in_force(kind, &limits);
            let verdict = judge(kind, &measured, in_force.as_ref(), &constants);
            let judged = judge_every(kind, &measured, &limits, &constants);
            let said = match verdict.inside {
                Some(true) => Said::Inside,
                Some(false) => Said::Outside,
                None => Said::NotJudged,
            };
            prop_assert_eq!((judged.said, judged.close), (said, verdict.close));
            let ruling: Vec<&Ruling> = judged.rulings.iter().filter(|it| it.rules).collect();
            prop_assert_eq!(ruling.len(), usize::from(in_force.is_ok()));
            for it in ruling {
                prop_assert!(it.judges);
                prop_assert_eq!((it.said, it.close, &it.rule), (said, verdict.close, &verdict.limits));
            }
            prop_assert!(judged.rulings.iter().all(|it| !it.words.is_empty()));
        }

        /// Any height of a band meets every limit when the head is squeezed to it, and none is above the head.
        #[test]
        fn a_squeeze_into_the_band_is_inside(width in 0.10..0.25, height in 0.03..0.11, share in 0.0..1.0) {
            let verdict = of("MS20470AD4", &head(width, height));
            if let Some((least, most)) = verdict.resqueeze {
                prop_assert!(most <= inches(height));
                let to = Length::from_inches(least.inches() + share * (most - least).inches());
                let wider = Metal::of_head(inches(width), inches(height), 1.0).width_at(to);
                // Lengths are whole nanometres; a micro-inch is a thousand times less than a caliper reads.
                let slack = inches(1e-6);
                let after = of("MS20470AD4", &Measured {
                    diameter: Some(wider + slack), height: Some(to), ..Measured::default()
                });
                prop_assert_eq!(after.inside, Some(true));
            }
            prop_assert_eq!(verdict.resqueeze.is_some(), verdict.action == Action::Squeeze);
        }
    }
}
