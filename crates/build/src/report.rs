//! The JSON reports that the command line and the pages share.
//!
//! Versioned: a key is added, never renamed. Numbers are inches unless the key
//! says otherwise.

use faying_bench::{Change, Run};
use faying_joint::callout::{
    CalledVerdict, Fold, InForce, LimitsError, Stock, call_out, limits_in_force, working,
};
use faying_joint::judge::{
    Action, Measured, OverAll, Verdict, judge as judge_head, judge_under, sets as sets_of, why_rules,
};
use faying_joint::ruling::{Judgement, Ruling, Said};
use faying_joint::seats::{HeadOn, Sheet, ShopSeat, seats};
use faying_joint::{Constants, Joint, Joints, in_force};
use faying_plan::{BuildLimits, HoleId, PieceId, Plan, PlaneId, RowId, Side, StepId};
use faying_record::HoleStatus;
use faying_sequence::{Openness, StepState};
use faying_standards::limits::ShopHeadLimits;
use faying_standards::{Dash, Finding, Length, RivetType, Unit, Working};
use serde::Serialize;

use crate::world::{PlanSide, World};

/// Version of every report here.
pub const VERSION: u32 = 1;

/// What `faying check` found.
#[derive(Debug, Serialize)]
pub struct CheckReport {
    /// Version of the report.
    pub version: u32,
    /// How many assemblies.
    pub assemblies: usize,
    /// How many parts.
    pub parts: usize,
    /// How many rows.
    pub rows: usize,
    /// How many holes.
    pub holes: usize,
    /// How many steps.
    pub steps: usize,
    /// What was found.
    pub findings: Vec<Finding>,
}

impl CheckReport {
    /// From a plan.
    #[must_use]
    pub fn of(side: &PlanSide) -> Self {
        let plan = &side.plan;
        Self {
            version: VERSION,
            assemblies: plan.assemblies.len(),
            parts: plan.parts.len(),
            rows: plan.rows.len(),
            holes: plan.holes.len(),
            steps: plan.steps.len(),
            findings: side.findings.clone(),
        }
    }
}

/// Limits of a shop head.
#[derive(Clone, Debug, Serialize)]
pub struct LimitsReport {
    /// Name of the set.
    pub name: String,
    /// Least width.
    pub min_width_in: f64,
    /// Greatest width, where the set has one.
    pub max_width_in: Option<f64>,
    /// Least height.
    pub min_height_in: f64,
    /// Greatest height, where the set has one.
    pub max_height_in: Option<f64>,
    /// Where they come from and how they are known.
    pub source: String,
    /// What the set lacks for this rivet; empty where nothing.
    pub lacks: String,
}

impl LimitsReport {
    /// From limits in force.
    #[must_use]
    pub fn of(name: &str, limits: &ShopHeadLimits, lacks: &str) -> Self {
        Self {
            name: name.to_owned(),
            min_width_in: rounded(limits.min_width),
            max_width_in: limits.max_width.map(rounded),
            min_height_in: rounded(limits.min_height),
            max_height_in: limits.max_height.map(rounded),
            source: cited(&limits.cited),
            lacks: lacks.to_owned(),
        }
    }

    fn in_force(in_force: &InForce) -> Self {
        Self::of(&in_force.key, &in_force.limits, &in_force.lacks)
    }
}

/// A citation in one line.
#[must_use]
pub fn cited(cited: &faying_standards::Cited) -> String {
    let title = faying_standards::figures()
        .source(&cited.source)
        .map_or_else(|| cited.source.clone(), |source| source.title.clone());
    let place = if cited.place.is_empty() { String::new() } else { format!(", {}", cited.place) };
    format!("{title}{place} ({})", cited.known)
}

/// Inches without the noise of binary fractions.
fn rounded(length: Length) -> f64 {
    (length.inches() * 1e6).round() / 1e6
}

fn probability(p: f64) -> f64 {
    (p * 1e4).round() / 1e4
}

/// What `faying callout` computed.
#[derive(Debug, Serialize)]
pub struct CallOutReport {
    /// Version of the report.
    pub version: u32,
    /// The rivet.
    pub rivet: String,
    /// The sheets alone.
    pub grip_in: f64,
    /// From the seat of one head to that of the other.
    pub seat_to_seat_in: f64,
    /// What the shop head sits on: flat, lip or cone.
    pub seat: ShopSeat,
    /// The limits in force.
    pub limits: LimitsReport,
    /// Lengths weighed up, shortest first.
    pub candidates: Vec<CandidateReport>,
    /// The length to take.
    pub best: Option<String>,
    /// What becomes of the plan's length: stands, coupon, short or fold.
    pub called: Option<CalledVerdict>,
    /// Sentences.
    pub why: Vec<String>,
    /// The two lengths around the middle of the preferred tail.
    pub bracket: [Option<String>; 2],
    /// The length that would give its middle, for a rivet that is cut.
    pub cut_in: f64,
    /// What somebody should look at.
    pub findings: Vec<Finding>,
    /// The working of the length to take, or of the one called.
    pub working: Working,
}

/// One length.
#[derive(Debug, Serialize)]
pub struct CandidateReport {
    /// The length: "-5".
    pub dash: String,
    /// The tail in shank diameters.
    pub tail_d: f64,
    /// Probability that a permitted height exists at which the head is wide enough.
    pub p_wide: f64,
    /// Probability of landing in the heights that work.
    pub p_height: Option<f64>,
    /// Least and greatest height that works.
    pub heights_in: Option<[f64; 2]>,
    /// Whether the tail may fold.
    pub fold: Fold,
    /// Width of the head at the middle of those heights, all metal arriving.
    pub head_at_mid_in: Option<f64>,
    /// The same with the missing metal taken off.
    pub head_at_mid_less_in: Option<f64>,
    /// The middle of those heights, to aim at.
    pub mid_height_in: Option<f64>,
}

/// A question that cannot be answered as it was put.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
pub struct Unanswerable(pub String);

/// Computes a call-out for sheets, near to far.
///
/// # Errors
/// [`Unanswerable`] says what is missing.
pub fn call_out_report(
    rivet: RivetType,
    sheets: &[Sheet],
    called: Option<Dash>,
    half: bool,
    limits: Option<&str>,
    constants: &Constants,
) -> Result<CallOutReport, Unanswerable> {
    let say = |error: &dyn std::error::Error| Unanswerable(error.to_string());
    let seats = seats(rivet, sheets, HeadOn::First, None, constants).map_err(|error| say(&error))?;
    let in_force = limits_in_force(rivet, limits, &[]).map_err(|error| say(&error))?;
    let result = call_out(&seats, &in_force, called, Stock { half, in_run: &[] }, constants);
    let worked = result.best.or(called).or_else(|| result.candidates.first().map(|it| it.dash));
    let candidates = result
        .candidates
        .iter()
        .map(|it| CandidateReport {
            dash: it.dash.to_string(),
            tail_d: (it.tail_d * 1e3).round() / 1e3,
            p_wide: probability(it.p_wide),
            p_height: it.p_height.map(probability),
            heights_in: it.heights.map(|heights| [rounded(heights.least), rounded(heights.most)]),
            fold: it.fold,
            head_at_mid_in: it.head_at_mid.map(rounded),
            head_at_mid_less_in: it.head_at_mid_less.map(rounded),
            mid_height_in: it.heights.map(|heights| rounded(heights.middle())),
        })
        .collect();
    Ok(CallOutReport {
        version: VERSION,
        rivet: rivet.to_string(),
        grip_in: rounded(seats.grip),
        seat_to_seat_in: rounded(seats.seat_to_seat),
        seat: seats.shop_seat,
        limits: LimitsReport::in_force(&in_force),
        candidates,
        best: result.best.map(|dash| dash.to_string()),
        called: result.called,
        why: result.why,
        bracket: [
            result.bracket.0.map(|dash| dash.to_string()),
            result.bracket.1.map(|dash| dash.to_string()),
        ],
        cut_in: rounded(result.cut),
        findings: seats.notes.clone(),
        working: worked.map_or_else(Working::default, |dash| working(&seats, &in_force, dash, constants)),
    })
}

/// Whether there is a set of limits of this name, the builder's own among them, or none is named.
///
/// # Errors
/// [`Unanswerable`] names those there are.
pub fn limits_named(name: Option<&str>, limits: &BuildLimits) -> Result<(), Unanswerable> {
    let own = || limits.own_sets.iter().map(|set| set.name.as_str());
    let Some(name) = name.filter(|name| {
        faying_standards::figures().limit_set(name).is_none() && !own().any(|own| own == *name)
    }) else {
        return Ok(());
    };
    let known: Vec<&str> = faying_standards::figures()
        .limit_sets()
        .iter()
        .filter(|set| set.judges)
        .map(|set| set.key.as_str())
        .chain(own())
        .collect();
    Err(Unanswerable(format!("there is no set of limits \"{name}\": write one of {}", known.join(", "))))
}

/// What `faying judge` says.
#[derive(Debug, Serialize)]
pub struct JudgeReport {
    /// Version of the report.
    pub version: u32,
    /// The rivet.
    pub rivet: String,
    /// Inside the quoted limits checked, outside, or null: not judged.
    pub inside: Option<bool>,
    /// Within the uncertainty of a limit.
    pub close: bool,
    /// Probability that the true dimensions are inside.
    pub conforms: Option<f64>,
    /// What to do next.
    pub action: Action,
    /// Lowest and highest height to which another squeeze may bring it.
    pub resqueeze_band_in: Option<[f64; 2]>,
    /// The limits, where any judge this rivet.
    pub limits: Option<LimitsReport>,
    /// Sentences.
    pub reasons: Vec<String>,
    /// What was not checked.
    pub not_checked: Vec<String>,
    /// What a gauge cut to the rule of thumb would have said.
    pub thumb_rule: Option<ThumbRuleReport>,
    /// Documents behind the sentences.
    pub sources: Vec<String>,
    /// What every set of limits and every gauge says, the ruling one first.
    pub rulings: Vec<RulingReport>,
    /// Which set rules and why, or why none does.
    pub why: String,
    /// How the figures were reckoned.
    pub working: Working,
}

/// What one rule says.
#[derive(Clone, Debug, Serialize)]
pub struct RulingReport {
    /// The rule by its name.
    pub rule: String,
    /// Whether it rules.
    pub rules: bool,
    /// Whether it judges; else it is advice, a target or a gauge.
    pub judges: bool,
    /// What it says: inside, outside or not judged.
    pub said: Said,
    /// Within the uncertainty of its limit.
    pub close: bool,
    /// The same as sentences.
    pub words: String,
    /// What of its document is not known here; empty where nothing.
    pub lacks: String,
    /// Where it comes from and how it is known.
    pub source: String,
}

impl RulingReport {
    /// From a ruling.
    #[must_use]
    pub fn of(ruling: &Ruling) -> Self {
        Self {
            rule: ruling.rule.clone(),
            rules: ruling.rules,
            judges: ruling.judges,
            said: ruling.said,
            close: ruling.close,
            words: ruling.words.clone(),
            lacks: ruling.lacks.clone(),
            source: cited(&ruling.cited),
        }
    }
}

/// What the rule of thumb would have said.
#[derive(Debug, Serialize)]
pub struct ThumbRuleReport {
    /// Whether a gauge cut to it passes the head.
    pub inside: Option<bool>,
    /// The same as a sentence.
    pub says: String,
    /// Where the rule comes from.
    pub source: String,
}

/// An over-all thickness as it was read, over the sheets of its joint where they are known.
///
/// # Errors
/// [`Unanswerable`] where the sheets are given and their seats cannot be reckoned.
pub fn over_all_report(
    rivet: RivetType,
    read: Length,
    sheets: Option<&[Sheet]>,
    constants: &Constants,
) -> Result<OverAll, Unanswerable> {
    let seats = sheets
        .map(|sheets| seats(rivet, sheets, HeadOn::First, None, constants))
        .transpose()
        .map_err(|error| Unanswerable(error.to_string()))?;
    Ok(OverAll::of(read, seats.as_ref(), constants))
}

/// Judges a head by the builder's own values, or by the standards alone where there are none.
///
/// # Units
/// - `choice`: the set that is to rule this one head; it is never swapped for another
#[must_use]
pub fn judge_report(
    rivet: RivetType,
    measured: &Measured,
    choice: Option<&str>,
    limits: &BuildLimits,
    constants: &Constants,
) -> JudgeReport {
    let in_force = match choice {
        None => in_force(rivet, limits),
        Some(name) => limits_in_force(rivet, Some(name), &limits.own_sets),
    };
    let in_force = in_force.as_ref();
    let why = match (choice, in_force) {
        (Some(_), Ok(found)) => format!("{} rules: it was asked for.", found.key),
        _ => why_rules(rivet, limits, in_force),
    };
    let verdict = judge_head(rivet, measured, in_force, constants);
    let judgement = judge_under(rivet, measured, limits, (in_force, why), constants);
    JudgeReport::of(rivet, verdict, in_force, judgement)
}

impl JudgeReport {
    /// From a verdict and what stands beside it.
    #[must_use]
    fn of(
        rivet: RivetType,
        verdict: Verdict,
        in_force: Result<&InForce, &LimitsError>,
        judgement: Judgement,
    ) -> Self {
        Self {
            version: VERSION,
            rivet: rivet.to_string(),
            inside: verdict.inside,
            close: verdict.close,
            conforms: verdict.conforms.map(probability),
            action: verdict.action,
            resqueeze_band_in: verdict.resqueeze.map(|(low, high)| [rounded(low), rounded(high)]),
            limits: in_force.ok().map(LimitsReport::in_force),
            reasons: verdict.reasons,
            not_checked: verdict.not_checked,
            thumb_rule: verdict.thumb_rule.map(|rule| ThumbRuleReport {
                inside: rule.inside,
                says: rule.says,
                source: cited(&rule.cited),
            }),
            sources: verdict.sources.iter().map(cited).collect(),
            rulings: judgement.rulings.iter().map(RulingReport::of).collect(),
            why: judgement.why,
            working: judgement.working,
        }
    }
}

/// A run as the command line and the Run page have it.
#[derive(Debug, Serialize)]
pub struct RunReport {
    /// Version of the report.
    pub version: u32,
    /// The step.
    pub step: String,
    /// Its title.
    pub title: String,
    /// Where it stands in the builder's own plans.
    pub sheet: String,
    /// Set-ups, in order.
    pub set_ups: Vec<SetUpReport>,
    /// Holes to leave open.
    pub open: Vec<OpenReport>,
    /// What to put in the tray.
    pub bag: Vec<BagReport>,
    /// Clecoes that hold the holes in between.
    pub clecoes: Vec<ClecoReport>,
    /// Tools that it uses, by their names in `tools.toml`.
    pub tools: Vec<ToolName>,
    /// Holes that want a second person.
    pub helper: Vec<RowHoles>,
    /// What it takes, and what it is compared with.
    pub takes: TakesReport,
}

/// What a run takes. Minutes are reckoned, not measured.
#[derive(Debug, Serialize)]
pub struct TakesReport {
    /// All of it.
    pub minutes: f64,
    /// No order of these set-ups takes less.
    pub bound_minutes: f64,
    /// How far it is from that bound, as a part of the whole.
    pub gap: f64,
    /// Whether no order is quicker.
    pub proven: bool,
    /// The same holes as the plan lists them, with the same settings.
    pub plan_order_minutes: f64,
    /// Set-ups, one after the other.
    pub set_ups: usize,
    /// Settings of squeezers.
    pub settings: usize,
    /// No choice of settings that keeps the odds has fewer.
    pub least_settings: usize,
    /// Settings if each length had one.
    pub settings_per_length: usize,
    /// Settings if each grip had one.
    pub settings_per_grip: usize,
    /// Minutes of settings and of rivets that are expected to come out again: as chosen, one for
    /// each length, one for each grip.
    pub settings_minutes: [f64; 3],
    /// Changes: tool, yoke, dies, setting, bag, turning over.
    pub changes: [u32; 6],
    /// The same in the plan's order.
    pub plan_changes: [u32; 6],
    /// Way along the parts.
    pub travel_in: f64,
}

/// A tool by its name in `tools.toml`, and as it is called.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ToolName {
    /// Its name.
    pub name: String,
    /// What it is called.
    pub title: String,
}

/// Clecoes of one size.
#[derive(Debug, Serialize)]
pub struct ClecoReport {
    /// The rivet whose hole they fill.
    pub diameter: String,
    /// For every other hole.
    pub need: usize,
    /// What there is, where it is written.
    pub have: Option<usize>,
}

/// Holes of one row.
#[derive(Debug, Serialize)]
pub struct RowHoles {
    /// The row.
    pub row: String,
    /// Which holes, in words.
    pub holes: String,
    /// How many.
    pub count: usize,
}

/// A set-up.
#[derive(Debug, Serialize)]
pub struct SetUpReport {
    /// Its key.
    pub key: String,
    /// The fastener in short.
    pub title: String,
    /// The part number.
    pub fastener: String,
    /// The tool.
    pub tool: String,
    /// Yoke, bar or plate.
    pub with: String,
    /// Dies or set.
    pub dies: String,
    /// Why this tool.
    pub why: String,
    /// What else is to be known before.
    pub notes: Vec<String>,
    /// Tools that do not set it: which, and why.
    pub refused: Vec<(String, String)>,
    /// How many people.
    pub people: u8,
    /// Where the manufactured head goes.
    pub head_on: String,
    /// Which side faces up.
    pub face_up: String,
    /// Its holes by row.
    pub rows: Vec<RowHoles>,
    /// What it takes, changes before it included.
    pub minutes: f64,
    /// How the setting is found, in a sentence.
    pub setting: String,
    /// The setting's change in inches, positive is more open.
    pub change_in: Option<f64>,
    /// From the seat of one head to that of the other.
    pub seat_to_seat_in: Option<f64>,
    /// Heights that work at all of its holes.
    pub heights_in: Option<[f64; 2]>,
    /// Its stacks: seat to seat, the height that the setting leaves, and the odds of landing inside.
    pub stacks: Vec<StackReport>,
    /// What the shop head sits on.
    pub seat: Option<ShopSeat>,
    /// The limits in force.
    pub limits: Option<LimitsReport>,
    /// Its holes, in order.
    pub holes: Vec<HoleReport>,
    /// Those whose heads are measured, by their short names.
    pub measure: Vec<String>,
}

/// A stack of a set-up.
#[derive(Debug, Serialize)]
pub struct StackReport {
    /// The sheets, near to far: `.040 + .063`.
    pub sheets: String,
    /// From the seat of one head to that of the other.
    pub seat_to_seat_in: Option<f64>,
    /// The height that the setting leaves.
    pub aim_in: Option<f64>,
    /// Probability of landing inside the limits.
    pub p_height: Option<f64>,
    /// How many holes.
    pub count: usize,
}

/// A hole of a run.
#[derive(Debug, Serialize)]
pub struct HoleReport {
    /// Its lasting name.
    pub name: String,
    /// Its short name within the assembly: `A-7`.
    pub short: String,
    /// Whether it has its fastener.
    pub set: bool,
    /// Whether its head was measured.
    pub measured: bool,
}

/// Holes of a row that stay open for one reason.
#[derive(Debug, Serialize)]
pub struct OpenReport {
    /// The row.
    pub row: String,
    /// Which holes, in words.
    pub holes: String,
    /// Why.
    pub why: String,
    /// The holes by name.
    pub names: Vec<String>,
}

/// A line of the tray.
#[derive(Debug, Serialize)]
pub struct BagReport {
    /// The fastener.
    pub fastener: String,
    /// For the holes of the run.
    pub need: usize,
    /// For spoiled ones.
    pub spare: usize,
}

impl RunReport {
    /// From a run.
    #[must_use]
    pub fn of(world: &World, run: &Run) -> Self {
        let plan = world.plan();
        let step = &plan[run.step];
        Self {
            version: VERSION,
            step: plan.step_name(run.step),
            title: format!("{}, {}", plan[step.assembly].title, lower_first(&step.title)),
            sheet: step.sheet.clone(),
            set_ups: run.set_ups.iter().map(|set_up| set_up_report(world, set_up)).collect(),
            open: open_report(plan, run),
            bag: run
                .bag
                .iter()
                .map(|line| BagReport { fastener: line.fastener.clone(), need: line.need, spare: line.spare })
                .collect(),
            clecoes: run
                .clecoes
                .iter()
                .map(|it| ClecoReport { diameter: it.diameter.to_string(), need: it.need, have: it.have })
                .collect(),
            tools: tools_of(plan, run.set_ups.iter().map(|it| it.on.as_slice())),
            helper: row_holes(plan, &run.helper),
            takes: takes(run),
        }
    }
}

fn takes(run: &Run) -> TakesReport {
    let minutes = |seconds: f64| (seconds / 6.0).round() / 10.0;
    let it = &run.takes;
    TakesReport {
        minutes: minutes(it.seconds),
        bound_minutes: (it.bound / 6.0).floor() / 10.0,
        gap: if it.seconds > 0.0 { ((it.seconds - it.bound) / it.seconds).max(0.0) } else { 0.0 },
        proven: it.proven,
        plan_order_minutes: minutes(it.plan_order),
        set_ups: run.set_ups.len(),
        settings: it.settings,
        least_settings: it.least_settings,
        settings_per_length: it.per_length.0 + it.settings - it.chosen.0,
        settings_per_grip: it.per_grip.0 + it.settings - it.chosen.0,
        settings_minutes: [it.chosen.1, it.per_length.1, it.per_grip.1].map(minutes),
        changes: it.changes,
        plan_changes: it.plan_changes,
        travel_in: it.travel_in.round(),
    }
}

/// Tools that set-ups use, each once, by what is set up.
#[must_use]
pub fn tools_of<'a>(plan: &Plan, on: impl Iterator<Item = &'a [String]>) -> Vec<ToolName> {
    let mut tools: Vec<ToolName> = Vec::new();
    for name in on.flat_map(|on| on.iter().take(3)).filter(|name| !name.is_empty()) {
        if !tools.iter().any(|tool| tool.name == *name)
            && let Some(title) = plan.tools.title_of(name)
        {
            tools.push(ToolName { name: name.clone(), title: title.to_owned() });
        }
    }
    tools
}

/// Holes by row, in words.
#[must_use]
pub fn row_holes(plan: &Plan, holes: &[HoleId]) -> Vec<RowHoles> {
    let mut rows: Vec<(RowId, Vec<HoleId>)> = Vec::new();
    for &hole in holes {
        match rows.iter_mut().find(|(row, _)| *row == plan[hole].row) {
            Some((_, holes)) => holes.push(hole),
            None => rows.push((plan[hole].row, vec![hole])),
        }
    }
    rows.into_iter()
        .map(|(row, holes)| RowHoles {
            row: plan.row_name(row),
            holes: plan.hole_range(&holes),
            count: holes.len(),
        })
        .collect()
}

fn lower_first(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_lowercase().chain(chars).collect())
}

/// How a setting is found, in a sentence, and its change in inches.
#[must_use]
pub fn setting_words(change: &Change) -> (String, Option<f64>) {
    match change {
        Change::First => ("Prove one head on scrap of the same stack first.".to_owned(), None),
        Change::From { open, words, of } => (from_words(*open, words, of), Some(rounded(*open))),
        Change::None => (String::new(), None),
    }
}

/// A setting as counted from another, in a sentence.
#[must_use]
pub fn from_words(open: Length, words: &str, of: &str) -> String {
    if open.abs() < Length::from_inches(0.000_5) {
        format!("As for {of}; prove it on scrap.")
    } else {
        format!("From {of}: {words}. Prove it on scrap.")
    }
}

fn set_up_report(world: &World, set_up: &faying_bench::SetUp) -> SetUpReport {
    let plan = world.plan();
    let (setting, change_in) = setting_words(&set_up.change);
    let joint = set_up.holes.first().and_then(|&hole| world.side.joints.at(hole));
    SetUpReport {
        key: set_up.key.clone(),
        title: set_up.title.clone(),
        fastener: set_up.fastener.clone(),
        tool: set_up.choice.tool.clone(),
        with: set_up.choice.with.clone(),
        dies: set_up.choice.dies.clone(),
        why: set_up.choice.why.clone(),
        notes: set_up.choice.notes.clone(),
        refused: set_up
            .choice
            .refused
            .iter()
            .map(|refused| (refused.tool.clone(), refused.reason.clone()))
            .collect(),
        people: set_up.choice.people,
        head_on: set_up.head_on.clone(),
        face_up: set_up.face_up.clone(),
        rows: row_holes(plan, &set_up.holes),
        minutes: (set_up.seconds / 6.0).round() / 10.0,
        setting,
        change_in,
        seat_to_seat_in: set_up.stacks.first().and_then(|stack| stack.seat_to_seat).map(rounded),
        stacks: set_up
            .stacks
            .iter()
            .map(|stack| StackReport {
                sheets: stack.joint.map_or_else(String::new, |joint| sheets(world, joint)),
                seat_to_seat_in: stack.seat_to_seat.map(rounded),
                aim_in: stack.aim.map(rounded),
                p_height: stack.p,
                count: stack.count,
            })
            .collect(),
        heights_in: set_up.heights.map(|heights| [rounded(heights.least), rounded(heights.most)]),
        seat: joint.and_then(|joint| joint.seats.as_ref().ok()).map(|seats| seats.shop_seat),
        limits: set_up.limits.as_ref().map(|(name, limits)| LimitsReport::of(name, limits, "")),
        holes: set_up
            .holes
            .iter()
            .map(|&hole| HoleReport {
                name: plan.hole_name(hole),
                short: short(plan, hole),
                set: world.state.status(hole) == HoleStatus::Set,
                measured: world.state.measured(hole).is_some(),
            })
            .collect(),
        measure: set_up.measure.iter().map(|&hole| short(plan, hole)).collect(),
    }
}

/// A hole as it is said at the bench: `A-7`.
#[must_use]
pub fn short(plan: &Plan, hole: HoleId) -> String {
    format!("{}-{}", plan[plan[hole].row].name, plan[hole].number)
}

/// The sheets of a joint, near to far: `.040 + .063`.
fn sheets(world: &World, joint: u32) -> String {
    let sheets: Vec<String> = world.side.joints.joints[joint as usize]
        .sheets
        .iter()
        .map(|sheet| sheet.thickness.decimal())
        .collect();
    sheets.join(" + ")
}

/// Open holes of a run by row and reason.
#[must_use]
pub fn open_report(plan: &Plan, run: &Run) -> Vec<OpenReport> {
    open_by_row(plan, &run.open)
}

/// Open holes by row and reason.
#[must_use]
pub fn open_by_row(plan: &Plan, open: &[(HoleId, Openness)]) -> Vec<OpenReport> {
    let mut groups: Vec<(RowId, Openness, Vec<HoleId>)> = Vec::new();
    for &(hole, reason) in open {
        let row = plan[hole].row;
        match groups.iter_mut().find(|(known, why, _)| *known == row && *why == reason) {
            Some((_, _, holes)) => holes.push(hole),
            None => groups.push((row, reason, vec![hole])),
        }
    }
    groups
        .into_iter()
        .map(|(row, reason, holes)| OpenReport {
            row: plan.row_name(row),
            holes: plan.hole_range(&holes),
            why: open_why(plan, row, reason),
            names: holes.iter().map(|&hole| plan.hole_name(hole)).collect(),
        })
        .collect()
}

/// Joints by how many holes they have, for a page that lists them.
#[must_use]
pub fn joint_counts(plan: &Plan, joints: &Joints) -> Vec<(u32, usize)> {
    let mut counts = vec![0_usize; joints.joints.len()];
    for hole in (0..plan.holes.len()).map(HoleId::from_index) {
        if let Some(number) = joints.number(hole) {
            counts[number as usize] += 1;
        }
    }
    (0..).zip(counts).filter(|(_, count)| *count > 0).collect()
}

/// Plain numbers of a joint for a drawing of its section.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SectionNumbers {
    /// Shank diameter, in.
    pub shank_in: f64,
    /// Length that goes in, in.
    pub length_in: f64,
    /// Hole diameter, in.
    pub hole_in: f64,
    /// Diameter of the manufactured head, in.
    pub head_dia_in: f64,
    /// Height of the manufactured head, in.
    pub head_height_in: f64,
    /// Whether the manufactured head is on the near side.
    pub head_on_near: bool,
    /// From the seat of one head to that of the other, in.
    pub seat_to_seat_in: f64,
    /// Width and height of the shop head at the middle of the heights that work, in.
    pub shop_head_in: Option<[f64; 2]>,
}

/// Numbers for a drawing of a joint; none where its seats or its length are not known.
#[must_use]
pub fn section_numbers(joint: &Joint) -> Option<SectionNumbers> {
    let seats = joint.seats.as_ref().ok()?;
    let size = faying_standards::figures().rivet_size(joint.rivet)?;
    let dash = joint.dash()?;
    let candidate = joint.call_out.as_ref().and_then(|call_out| call_out.candidate(dash));
    let shop = candidate.and_then(|it| Some([rounded(it.head_at_mid?), rounded(it.heights?.middle())]));
    Some(SectionNumbers {
        shank_in: rounded(size.shank),
        length_in: rounded(dash.length()),
        hole_in: rounded(seats.hole),
        head_dia_in: rounded(size.head_diameter),
        head_height_in: rounded(size.head_height),
        head_on_near: joint.head.side == Side::Near,
        seat_to_seat_in: rounded(seats.seat_to_seat),
        shop_head_in: shop,
    })
}

/// The whole working of one length of a joint; that of its seats where no length can be weighed up.
#[must_use]
pub fn joint_working(joints: &Joints, joint: &Joint, dash: Dash) -> Working {
    let constants = &joints.constants;
    match (&joint.seats, &joint.in_force) {
        (Ok(seats), Ok(in_force)) => working(seats, in_force, dash, constants),
        (Ok(seats), Err(_)) => seats.working(constants),
        (Err(_), _) => Working::default(),
    }
}

/// The limits in force for a joint, or why there are none.
///
/// # Errors
/// A sentence that says what is missing.
pub fn joint_limits(joint: &Joint) -> Result<LimitsReport, String> {
    joint.in_force.as_ref().map(LimitsReport::in_force).map_err(ToString::to_string)
}

/// A set of limits beside others, for one rivet.
#[derive(Debug)]
pub struct SetReport {
    /// Its name.
    pub name: String,
    /// Whether it rules the rivet in this build.
    pub rules: bool,
    /// Whether it judges; else it is advice.
    pub judges: bool,
    /// Whether it is the builder's own.
    pub own: bool,
    /// Whether it is the kit manual's.
    pub kit: bool,
    /// What it asks; none where it says nothing of the rivet.
    pub asks: Option<LimitsReport>,
    /// What of its document is not known here; empty where nothing.
    pub lacks: String,
    /// Where it comes from and how it is known.
    pub source: String,
}

/// A gauge for one rivet.
#[derive(Debug)]
pub struct GaugeReport {
    /// Its name.
    pub name: String,
    /// Diameter of its hole.
    pub hole_in: Option<f64>,
    /// Height of its slot.
    pub slot_in: Option<f64>,
}

/// Every set of limits for one rivet, side by side.
#[derive(Debug)]
pub struct LimitsBeside {
    /// The rivet.
    pub rivet: RivetType,
    /// Which set rules and why, or why none does.
    pub why: String,
    /// The sets: the ruling one, what else judges, then advice.
    pub sets: Vec<SetReport>,
    /// The gauges that have a place for it.
    pub gauges: Vec<GaugeReport>,
}

/// The sets of limits side by side for every rivet of a plan, each once.
#[must_use]
pub fn limits_side_by_side(plan: &Plan) -> Vec<LimitsBeside> {
    let limits = &plan.limits;
    let mut rivets: Vec<RivetType> = plan.rows.iter().filter_map(|row| row.rivet).collect();
    rivets.sort_unstable();
    rivets.dedup();
    rivets
        .into_iter()
        .map(|rivet| {
            let in_force = in_force(rivet, limits);
            let key = in_force.as_ref().map_or("", |found| found.key.as_str());
            let mut sets: Vec<SetReport> = sets_of(rivet, limits)
                .into_iter()
                .map(|set| SetReport {
                    rules: set.rule == key,
                    judges: set.judges,
                    own: set.own,
                    kit: set.kit,
                    asks: set.asks.as_ref().map(|asks| LimitsReport::of(&set.rule, asks, &set.lacks_here)),
                    source: cited(&set.cited),
                    name: set.rule,
                    lacks: set.lacks,
                })
                .collect();
            sets.sort_by_key(|set| (!set.rules, !set.judges));
            let gauges = limits.gauges.iter().filter_map(|gauge| {
                let size = gauge.at(rivet.diameter)?;
                let (hole_in, slot_in) = (size.hole.map(rounded), size.slot.map(rounded));
                Some(GaugeReport { name: gauge.name.clone(), hole_in, slot_in })
            });
            let gauges = gauges.collect();
            LimitsBeside { rivet, why: why_rules(rivet, limits, in_force.as_ref()), sets, gauges }
        })
        .collect()
}

/// Names of the sets of limits that judge, the builder's own first.
#[must_use]
pub fn judging_sets(plan: &Plan) -> Vec<String> {
    let own = plan.limits.own_sets.iter().map(|set| set.name.clone());
    let standard =
        faying_standards::figures().limit_sets().iter().filter(|set| set.judges).map(|set| set.key.clone());
    own.chain(standard).collect()
}

/// The builder's own values: what each is, as written, and the key in `limits.toml`.
#[must_use]
pub fn own_values(plan: &Plan) -> Vec<(String, String)> {
    let limits = &plan.limits;
    let mut values = Vec::new();
    if let Some(set) = &limits.shop_head {
        values.push(("set of limits for shop heads".to_owned(), set.clone()));
    }
    for gauge in &limits.gauges {
        for (diameter, size) in &gauge.sizes {
            let cut = [("hole", size.hole), ("slot", size.slot)]
                .into_iter()
                .filter_map(|(what, length)| Some(format!("{what} {} in", length?.decimal())));
            let what = format!("gauge {}, {diameter}", gauge.name);
            values.push((what, cut.collect::<Vec<_>>().join(", ")));
        }
    }
    if limits.half_sizes {
        values.push(("half sizes".to_owned(), "in the store".to_owned()));
    }
    for (diameter, lip) in &limits.lips {
        values.push((format!("lip of a dimple, {diameter}"), format!("{} in", lip.decimal())));
    }
    for (diameter, hole) in &limits.dimpled_holes {
        values.push((format!("hole in a dimpled sheet, {diameter}"), format!("{} in", hole.decimal())));
    }
    for (what, value) in [
        ("caliper, standard uncertainty", limits.caliper),
        ("set height, one standard deviation", limits.set_height),
        ("rivet length, plus or minus", limits.rivet_length),
        ("primer film on one face", limits.film),
    ] {
        if let Some(value) = value {
            values.push((what.to_owned(), format!("{} in", value.decimal())));
        }
    }
    if let Some(share) = limits.missing_metal {
        values.push(("share of the metal that does not reach the head".to_owned(), share.to_string()));
    }
    values
}

/// A shop head as typed, to be judged and not to be recorded.
#[derive(Clone, Debug, Default)]
pub struct TypedHead {
    /// Width.
    pub width: String,
    /// Width across the first one.
    pub width_across: String,
    /// Height.
    pub height: String,
    /// `flat` or `lip`; empty if not said.
    pub seat: String,
    /// The set of limits; empty for the one in force.
    pub limits: String,
}

/// What the limits say of a head as typed, at a hole or of a rivet alone.
///
/// # Errors
/// A sentence where a dimension cannot be read.
pub fn judge_typed(
    world: &World,
    rivet: RivetType,
    hole: Option<HoleId>,
    typed: &TypedHead,
) -> Result<JudgeReport, String> {
    let read = |text: &str, what: &str| match text.trim() {
        "" => Ok(None),
        text => Length::read(text, Unit::Inch).map(Some).map_err(|error| format!("{what}: {error}")),
    };
    // A head on a flat joint is measured from the flat; nobody needs to say so.
    let flat = hole
        .and_then(|hole| world.side.joints.at(hole))
        .and_then(|joint| joint.seats.as_ref().ok())
        .is_some_and(|seats| seats.shop_seat == ShopSeat::Flat);
    let seat = match typed.seat.as_str() {
        "flat" => Some(ShopSeat::Flat),
        "lip" => Some(ShopSeat::Lip),
        _ => flat.then_some(ShopSeat::Flat),
    };
    let mut measured = Measured {
        diameter: read(&typed.width, "width")?,
        second_diameter: read(&typed.width_across, "width across")?,
        height: read(&typed.height, "height")?,
        seat,
        ..Measured::default()
    };
    if typed.seat == crate::act::OVER_ALL {
        let constants = &world.side.joints.constants;
        let over_all =
            |read| hole.map_or_else(|| OverAll::of(read, None, constants), |hole| world.over_all(hole, read));
        measured = Measured { over_all: measured.height.map(over_all), height: None, seat: None, ..measured };
    }
    let choice = Some(typed.limits.as_str()).filter(|name| !name.is_empty());
    Ok(judge_report(rivet, &measured, choice, &world.plan().limits, &world.side.joints.constants))
}

/// How a hole stands now, as far as the steps have come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HoleStanding {
    /// Its fastener is in it.
    Set,
    /// A step that can be gone on with fills it.
    Ready(StepId),
    /// A step that waits for others fills it.
    Later(StepId),
    /// It must not be filled yet.
    Open(Openness),
    /// No step of the plan fills it.
    NoStep,
}

/// How the holes of a plan stand now.
///
/// A plane is seen as at its next step: the first in the plan's order that is
/// not done and sets something in it. What that step leaves open is open.
#[derive(Debug)]
pub struct Standing<'w> {
    world: &'w World,
    /// For every step whether it is done or can be gone on with.
    reached: Vec<bool>,
    /// For every plane its next step; none where everything in it is done.
    next: Vec<Option<StepId>>,
}

impl<'w> Standing<'w> {
    /// Looks at every step once.
    #[must_use]
    pub fn of(world: &'w World) -> Self {
        let plan = world.plan();
        let mut reached = vec![false; plan.steps.len()];
        let mut next = vec![None; plan.planes.len()];
        for it in &world.progress().steps {
            reached[it.step.index()] = matches!(it.state, StepState::Done | StepState::Ready);
            if it.state == StepState::Done {
                continue;
            }
            for plane in plan[it.step].sets.iter().filter_map(|part| plan[part.row].plane) {
                next[plane.index()].get_or_insert(it.step);
            }
        }
        Self { world, reached, next }
    }

    /// Pieces of a plane that come after its next step.
    #[must_use]
    pub fn later(&self, plane: PlaneId) -> Vec<PieceId> {
        let Some(step) = self.next[plane.index()] else { return Vec::new() };
        let order = &self.world.side.sequence.order;
        let pieces = self.world.plan()[plane].layers.iter().map(|layer| layer.piece);
        pieces.filter(|&piece| !order.is_there(piece, step)).collect()
    }

    /// How a hole stands.
    ///
    /// Open is only what could be filled by mistake: some of its layers are
    /// there, another is not; or the plan holds it.
    #[must_use]
    pub fn hole(&self, hole: HoleId) -> HoleStanding {
        let (plan, side) = (self.world.plan(), &self.world.side);
        if self.world.is_set(hole) {
            return HoleStanding::Set;
        }
        let due = side.sequence.due(hole);
        if let Some(step) = due.filter(|step| self.reached[step.index()]) {
            return HoleStanding::Ready(step);
        }
        let row = &plan[plan[hole].row];
        // A row that is not drawn is seen as at the step that fills it, where only a hold can stop it.
        match row.plane.map_or(due, |plane| self.next[plane.index()]) {
            Some(step) => {
                let (stacks, order) = (&side.joints.stacks, &side.sequence.order);
                let some_there = stacks.at(hole).iter().any(|&piece| order.is_there(piece, step));
                match faying_sequence::hole_at(plan, stacks, order, hole, step) {
                    Openness::Fill => {}
                    Openness::SharedWith { .. } if !some_there => {}
                    reason => return HoleStanding::Open(reason),
                }
            }
            None => {
                if let Some(hold) = row.hold.as_ref().filter(|hold| hold.until.is_none()) {
                    return HoleStanding::Open(Openness::Held { until: hold.until });
                }
            }
        }
        due.map_or(HoleStanding::NoStep, HoleStanding::Later)
    }
}

/// Why a hole of a row stays open, in words; empty where it does not.
#[must_use]
pub fn open_why(plan: &Plan, row: RowId, reason: Openness) -> String {
    match reason {
        Openness::Fill => String::new(),
        Openness::SharedWith { piece, arrives } => {
            format!("{} shares them and comes at {}", plan.piece_name(piece), plan[arrives].title)
        }
        Openness::Held { until } => {
            let why = plan[row].hold.as_ref().map_or("", |hold| &hold.why);
            match until {
                Some(until) => format!("held until {}: {why}", plan[until].title),
                None => format!("held: {why}"),
            }
        }
    }
}
