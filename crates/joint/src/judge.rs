//! Verdict: a measured shop head against the limits in force.
//!
//! A verdict says which quoted limits were checked and what was not, and never
//! approves a rivet. A height without its datum is not judged. Whether another
//! squeeze helps follows from constant volume; it is never offered for a head
//! that is cracked, tilted, folded or has a gap. Readings near a limit are
//! marked by the guard band of JCGM 106. Theory chapter, "Verdict".

use faying_plan::BuildLimits;
use faying_standards::{Cited, HeadStyle, Known, Length, RivetType, ShopHeadLimits, Working, figures};
use serde::Serialize;

use crate::callout::{InForce, LimitsError};
use crate::check::in_force;
use crate::constants::Constants;
use crate::head::Metal;
use crate::odds::{Range, conforms, guard_band};
use crate::ruling::{Judgement, Ruling, Said};
use crate::seats::{ShopSeat, in_thousandths};

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
    /// What was seen by eye.
    pub defects: Defects,
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
}

impl Check {
    fn held(&self) -> bool {
        if self.least { self.reading >= self.limit } else { self.reading <= self.limit }
    }

    fn range(&self) -> Range {
        let limit = Some(self.limit.inches());
        if self.least { Range { least: limit, most: None } } else { Range { least: None, most: limit } }
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
    let width = smaller_width(measured);
    let mut verdict = Verdict {
        inside: None,
        close: false,
        conforms: None,
        action: Action::Ask,
        resqueeze: None,
        limits: limits.map_or_else(|_| String::new(), |found| found.key.clone()),
        reasons: Vec::new(),
        not_checked: Vec::new(),
        thumb_rule: thumb_rule(kind, width, measured.height),
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
    if let Some(why) = not_judged(kind, measured, width) {
        verdict.not_checked.extend(missing(measured, width));
        verdict.reasons.push(why);
        defects(&mut verdict, &measured.defects);
        return verdict;
    }
    let (Some(width), Some(height)) = (width, measured.height) else {
        return verdict; // not_judged has answered for both
    };

    let checks = checks(&in_force.limits, width, height);
    let u = constants.caliper_u.value.inches();
    let guard = guard_band(u, constants.guard_level.value);
    let inside = checks.iter().all(Check::held);
    verdict.inside = Some(inside);
    verdict.conforms = Some(conformance(&checks, u));
    for check in &checks {
        let close = (check.reading - check.limit).inches().abs() < guard;
        verdict.close |= close;
        if !check.held() {
            verdict.reasons.push(check.sentence());
        }
        if close {
            verdict.reasons.push(format!(
                "The {} of {} in is within the uncertainty of the limit of {} in ({} in): read it again.",
                check.what,
                check.reading.decimal(),
                check.limit.decimal(),
                in_ten_thousandths(guard)
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
    verdict
}

/// What every set of limits says of a measured shop head, side by side.
///
/// The set in force rules, and its word is that of [`judge`]; the others say
/// what they would have said. A set that is silent of this rivet, or that is
/// advice, says so.
///
/// # Source
/// `shop_head_limits.csv` and the builder's own sets, each ruling with its own;
/// theory chapter, "Verdict".
#[must_use]
pub fn judge_every(
    kind: RivetType,
    measured: &Measured,
    limits: &BuildLimits,
    constants: &Constants,
) -> Judgement {
    let in_force = in_force(kind, limits);
    let verdict = judge(kind, measured, in_force.as_ref(), constants);
    let ruling_key = in_force.as_ref().map_or("", |found| found.key.as_str());
    let readable = not_judged(kind, measured, smaller_width(measured)).is_none()
        && measured.defects.seen().next().is_none();
    let guard = guard_band(constants.caliper_u.value.inches(), constants.guard_level.value);
    let mut rulings: Vec<Ruling> = Vec::new();
    let mut add = |rule: &str, judges: bool, lacks: &str, asks: Option<&ShopHeadLimits>, cited: &Cited| {
        let rules = rule == ruling_key;
        let (said, close, words) = if rules {
            let said = match verdict.inside {
                Some(true) => Said::Inside,
                Some(false) => Said::Outside,
                None => Said::NotJudged,
            };
            (said, verdict.close, verdict.reasons.join(" "))
        } else {
            let both = smaller_width(measured).zip(measured.height).filter(|_| readable);
            says_of_set(asks, both, guard, kind)
        };
        let (rule, lacks) = (rule.to_owned(), lacks.to_owned());
        let cited = asks.map_or_else(|| cited.clone(), |asks| asks.cited.clone());
        rulings.push(Ruling { rule, rules, judges, said, close, words, lacks, cited });
    };
    for set in &limits.own_sets {
        let cited = Cited::new("limits.toml", set.name.as_str(), Known::Own);
        add(&set.name, true, "", set.at(kind.diameter), &cited);
    }
    for set in figures().limit_sets() {
        add(&set.key, set.judges, &set.lacks, set.at(kind).as_ref(), &set.cited);
    }
    let mut judgement = Judgement::of(rulings, why_rules(kind, limits, &in_force));
    judgement.not_checked = verdict.not_checked;
    judgement.working = working(measured, &in_force, &verdict.resqueeze, constants);
    judgement
}

/// What a set that does not rule would have said of a head.
fn says_of_set(
    asks: Option<&ShopHeadLimits>,
    head: Option<(Length, Length)>,
    guard: f64,
    kind: RivetType,
) -> (Said, bool, String) {
    let Some(asks) = asks else {
        return (Said::NotJudged, false, format!("As known here it says nothing of {kind}."));
    };
    let most = |most: Option<Length>| most.map_or_else(String::new, |it| format!(" to {}", it.decimal()));
    let asked = format!(
        "It asks {}{} in wide and {}{} in high",
        asks.min_width.decimal(),
        most(asks.max_width),
        asks.min_height.decimal(),
        most(asks.max_height)
    );
    let Some((width, height)) = head else {
        return (Said::NotJudged, false, format!("{asked}."));
    };
    let checks = checks(asks, width, height);
    let close = checks.iter().any(|check| (check.reading - check.limit).inches().abs() < guard);
    let failed: Vec<String> = checks.iter().filter(|check| !check.held()).map(Check::sentence).collect();
    if failed.is_empty() {
        let head = format!("{} × {}", width.decimal(), height.decimal());
        (Said::Inside, close, format!("{asked}; {head} is inside."))
    } else {
        (Said::Outside, close, format!("{asked}. {}", failed.join(" ")))
    }
}

/// Which set rules and why, or why none does.
fn why_rules(kind: RivetType, limits: &BuildLimits, in_force: &Result<InForce, LimitsError>) -> String {
    match in_force {
        Err(error) => format!("No set of limits rules: {error}."),
        Ok(found) if limits.shop_head.as_deref() == Some(found.key.as_str()) => {
            format!("{} rules: limits.toml chooses it.", found.key)
        }
        Ok(found) if limits.own_sets.iter().any(|set| set.name == found.key) => {
            format!("{} rules: a set of your own that speaks of {kind}.", found.key)
        }
        Ok(found) => format!(
            "{} rules: limits.toml chooses none, and it is the first of the standards that speaks of {kind}.",
            found.key
        ),
    }
}

/// How the guard band and the band of another squeeze were reckoned.
fn working(
    measured: &Measured,
    in_force: &Result<InForce, LimitsError>,
    band: &Option<(Length, Length)>,
    constants: &Constants,
) -> Working {
    let mut working = Working::default();
    let u = constants.caliper_u.value.inches();
    let level = constants.guard_level.value;
    working.add(
        "guard band",
        "w = z·u",
        format!("u {} at a probability of {level}", in_ten_thousandths(u)),
        format!("{} in", in_ten_thousandths(guard_band(u, level))),
        constants.guard_level.cited.clone(),
    );
    if let (Some(width), Some(height), Ok(in_force), Some((least, most))) =
        (smaller_width(measured), measured.height, in_force, band)
    {
        working.add(
            "another squeeze",
            "h′ = h·(D/D′)²",
            format!("{}·({}/{})²", height.decimal(), width.decimal(), in_force.limits.min_width.decimal()),
            format!("between {} and {} in high", in_thousandths(*least), in_thousandths(*most)),
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

/// The smaller of the two widths counts.
fn smaller_width(measured: &Measured) -> Option<Length> {
    match (measured.diameter, measured.second_diameter) {
        (Some(one), Some(other)) => Some(one.min(other)),
        (one, other) => one.or(other),
    }
}

/// Why a head is not judged at all.
fn not_judged(kind: RivetType, measured: &Measured, width: Option<Length>) -> Option<String> {
    let flush = kind.head == HeadStyle::Flush;
    if measured.seat == Some(ShopSeat::Cone) {
        return Some(
            "Not judged: a shop head that fills a countersink has no height and width limits; it is filled and \
             flush, or it is not."
                .to_owned(),
        );
    }
    let missing = missing(measured, width);
    if !missing.is_empty() {
        return Some(format!("Not judged: {} was not measured.", missing.join(" and ")));
    }
    for (what, length) in [("width", width), ("height", measured.height)] {
        if let Some(length) = length.filter(|&length| length <= Length::ZERO) {
            return Some(format!("Not judged: a {what} of {} in cannot be.", length.decimal()));
        }
    }
    (flush && measured.seat.is_none()).then(|| {
        "Not judged: say whether the height is from the flat or from the lip of the dimple. The over-all thickness \
         of the set joint, less the seat to seat, is easier to measure there than the height."
            .to_owned()
    })
}

fn missing(measured: &Measured, width: Option<Length>) -> Vec<String> {
    [("the width", width), ("the height", measured.height)]
        .into_iter()
        .filter(|(_, length)| length.is_none())
        .map(|(what, _)| what.to_owned())
        .collect()
}

fn checks(limits: &ShopHeadLimits, width: Length, height: Length) -> Vec<Check> {
    let check = |what, reading, limit: Option<Length>, least| {
        limit.map(|limit| Check { what, reading, limit, least })
    };
    [
        check("width", width, Some(limits.min_width), true),
        check("width", width, limits.max_width, false),
        check("height", height, Some(limits.min_height), true),
        check("height", height, limits.max_height, false),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Both dimensions inside; the caliper's errors on width and height are independent.
fn conformance(checks: &[Check], u: f64) -> f64 {
    ["width", "height"]
        .into_iter()
        .filter_map(|what| {
            let mut of_it = checks.iter().filter(|check| check.what == what);
            let first = of_it.next()?;
            let range = of_it.fold(first.range(), |range, check| Range {
                least: range.least.or(check.range().least),
                most: range.most.or(check.range().most),
            });
            Some(conforms(first.reading.inches(), u, range))
        })
        .product()
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
    use faying_standards::inches;
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
