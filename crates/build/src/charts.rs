//! Charts: what the record says of the heads of a setting, of rivets drilled out, and of the caliper.
//!
//! A setting is tool, yoke, dies and opening as a run froze them, for one
//! rivet. Its heads are all that were measured, those since drilled out as
//! well: a chart without its rejects would be no chart. The reckoning is
//! `bench`'s; here the record is gathered, and said in words.

use faying_bench::control::{self, Course, Point, Repeatability};
use faying_joint::odds::Range;
use faying_plan::HoleId;
use faying_record::{ActId, Event, HeadMeasured, HolesSet, RunState, SetUpFrozen};
use faying_standards::{Cited, Known, Length, RivetType, Unit, Working, figures};
use serde::Serialize;

use crate::bench_run::BenchSide;
use crate::report::LimitsReport;
use crate::world::World;

/// Heads of a setting that are drawn: the newest of them.
const DRAWN: usize = 50;
/// Least heads under which an interval is called wide: the whole of it is above so many of a hundred.
const WIDE: f64 = 10.0;

/// The charts of a build.
#[derive(Clone, Debug, Serialize)]
pub struct ChartsReport {
    /// Settings with measured heads, that of the newest head first.
    pub settings: Vec<SettingChart>,
    /// Rivets drilled out, by the person who set them, tool and diameter.
    pub drilled: Vec<DrilledOut>,
    /// Rivets drilled out that were set before the record began; they are in no rate.
    pub drilled_before: usize,
    /// Probability of the intervals.
    pub level: f64,
}

/// The heads of one setting.
#[derive(Clone, Debug, Serialize)]
pub struct SettingChart {
    /// Its place on the page: `setting-1`.
    pub key: String,
    /// Tool and dies, in words.
    pub title: String,
    /// How the setting was found, in words; empty where nothing is kept.
    pub setting: String,
    /// The rivet.
    pub rivet: String,
    /// Rivets set with it that are in now.
    pub set: usize,
    /// Of these, how many were measured.
    pub measured: usize,
    /// The heads drawn, in the order in which they were set.
    pub heads: Vec<ChartHead>,
    /// Number of the first one drawn, from 1.
    pub first: usize,
    /// Heads drawn (from 0) before which the tool was set anew.
    pub breaks: Vec<usize>,
    /// The limits in force, where any judge this rivet.
    pub limits: Option<LimitsReport>,
    /// Heights.
    pub heights: Option<SizeChart>,
    /// Widths; of two, the smaller.
    pub widths: Option<SizeChart>,
    /// What the measured heads say of those that were not.
    pub sample: SampleReport,
}

/// A head of a chart.
#[derive(Clone, Debug, Serialize)]
pub struct ChartHead {
    /// Lasting name of its hole.
    pub hole: String,
    /// Short name: `A-7`.
    pub short: String,
    /// Height, if it was measured.
    pub height_in: Option<f64>,
    /// Smaller width, if it was measured.
    pub width_in: Option<f64>,
    /// The height aimed at, where it is known.
    pub aim_in: Option<f64>,
    /// Whether it was drilled out since.
    pub drilled_out: bool,
}

/// The charts of one size, by the heads drawn.
#[derive(Clone, Debug, Serialize)]
pub struct SizeChart {
    /// How many were measured.
    pub n: usize,
    /// How many more there must be before the heads have limits of their own.
    pub missing: usize,
    /// What was measured, in.
    pub values: Vec<Option<f64>>,
    /// Heads outside the limits in force, from 0.
    pub outside: Vec<usize>,
    /// Mean of all, in.
    pub mean_in: Option<f64>,
    /// Limits that the heads have of themselves, in.
    pub of_heads_in: Option<[f64; 2]>,
    /// Heads outside those, from 0.
    pub beyond: Vec<usize>,
    /// Whether averages and sums are about what was aimed at; else about the mean.
    pub about_aim: bool,
    /// Moving averages, in.
    pub averages: Vec<Option<f64>>,
    /// How far each may be from nothing, in.
    pub average_limits: Vec<Option<f64>>,
    /// Heads at which the average is outside, from 0.
    pub drifted: Vec<usize>,
    /// Sums upwards and downwards, in.
    pub sums: [Vec<Option<f64>>; 2],
    /// What a sum must not be above, in.
    pub sum_limit_in: Option<f64>,
    /// Heads at which the sum upwards, and the sum downwards, is above it, from 0.
    pub crept: [Vec<usize>; 2],
    /// Threefold standard deviations to the nearer limit in force, and how many heads that rests on.
    pub capability: Option<CapabilityReport>,
    /// All that in sentences.
    pub says: Vec<String>,
    /// Where the limits come from.
    pub working: Working,
}

/// How far the heads are from the limits in force.
#[derive(Clone, Debug, Serialize)]
pub struct CapabilityReport {
    /// Cpk.
    pub index: f64,
    /// Heads it rests on.
    pub n: usize,
    /// Whether there is one limit only.
    pub one_sided: bool,
}

/// What measured heads say of those that were not measured.
#[derive(Clone, Debug, Default, Serialize)]
pub struct SampleReport {
    /// Heads that must be measured, none of them outside, before it can be said that fewer than one
    /// in so many are.
    pub wanted: usize,
    /// Of those measured, how many are outside.
    pub outside: usize,
    /// The same in a sentence.
    pub says: String,
}

/// Rivets drilled out, side by side.
#[derive(Clone, Debug, Serialize)]
pub struct DrilledOut {
    /// By what: `the person who set them`, `tool`, `diameter`.
    pub by: String,
    /// One for each.
    pub rows: Vec<DrilledRow>,
    /// Whether they can be told apart, in a sentence.
    pub says: String,
}

/// Rivets drilled out of those that were set in one way.
#[derive(Clone, Debug, Serialize)]
pub struct DrilledRow {
    /// Who or what.
    pub name: String,
    /// Rivets set, those drilled out included.
    pub set: usize,
    /// Rivets drilled out.
    pub drilled: usize,
    /// Of a hundred.
    pub per_hundred: f64,
    /// Least and greatest rate of a hundred that go with it.
    pub interval: [f64; 2],
    /// Whether so few were set that the interval says little.
    pub few: bool,
}

/// What readings of a head say of a caliper.
#[derive(Clone, Debug, Serialize)]
pub struct CaliperReport {
    /// Readings.
    pub n: usize,
    /// Heads they are of.
    pub heads: usize,
    /// How many more there must be.
    pub missing: usize,
    /// Least and greatest reading of each head, in.
    pub ranges_in: Vec<[f64; 2]>,
    /// Standard deviation of a reading, in.
    pub s_in: f64,
    /// Its degrees of freedom.
    pub freedom: usize,
    /// How far that standard deviation may itself be off, as a share of it.
    pub s_share: f64,
    /// Standard uncertainty of a reading, in.
    pub u_in: f64,
    /// Its degrees of freedom; none where it is the step of the display alone.
    pub u_freedom: Option<f64>,
    /// What holds a reading 95 times in 100, to either side, in.
    pub within_in: f64,
    /// What is used now, in.
    pub used_in: f64,
    /// Where that comes from.
    pub used_source: String,
    /// Whether it is the builder's own, from `limits.toml`.
    pub used_own: bool,
    /// The line for `limits.toml`; none before there are enough readings.
    pub line: Option<String>,
    /// The same for the record.
    pub note: Option<String>,
    /// How it was worked out.
    pub working: Working,
}

/// One rivet that was set in a hole, and what became of it.
struct Rivet<'w> {
    hole: HoleId,
    kind: RivetType,
    by: ActId,
    /// Nothing for one set before the record began.
    set: Option<&'w HolesSet>,
    /// The newest measurement of its head.
    head: Option<(ActId, &'w HeadMeasured)>,
    drilled_out: bool,
}

/// What makes heads belong to one chart.
#[derive(Clone, PartialEq)]
struct Setting<'w> {
    /// Tool, yoke and dies by their names; empty where the rivet was set outside of a run.
    on: &'w [String],
    dies: &'w str,
    opening: Option<Length>,
    /// In words, where no opening is kept.
    setting: &'w str,
    kind: RivetType,
}

impl World {
    /// The charts of this build.
    #[must_use]
    pub fn charts(&self) -> ChartsReport {
        let rivets = self.rivets();
        let level = figures().constant("rate-level").value;
        ChartsReport {
            settings: self.setting_charts(&rivets),
            drilled: self.drilled_out(&rivets, level),
            drilled_before: rivets.iter().filter(|it| it.set.is_none() && it.drilled_out).count(),
            level,
        }
    }

    /// Every solid rivet that was ever set, hole by hole.
    fn rivets(&self) -> Vec<Rivet<'_>> {
        let plan = self.plan();
        let mut rivets: Vec<Rivet<'_>> = Vec::new();
        for hole in (0..plan.holes.len()).map(HoleId::from_index) {
            let Some(kind) = plan[plan[hole].row].rivet else { continue };
            let from = rivets.len();
            for &by in self.state.history(hole).iter().filter(|&&id| self.state.counts(id)) {
                let rivet = |set| Rivet { hole, kind, by, set, head: None, drilled_out: false };
                match &self.state.act(by).event {
                    Event::HolesSet(set) => rivets.push(rivet(Some(set))),
                    Event::SetBefore(_) => rivets.push(rivet(None)),
                    Event::HeadMeasured(head) => {
                        if let Some(last) = rivets[from..].last_mut().filter(|it| !it.drilled_out) {
                            last.head = Some((by, head));
                        }
                    }
                    Event::HoleOpened(_) => {
                        if let Some(last) = rivets[from..].last_mut() {
                            last.drilled_out = true;
                        }
                    }
                    _ => {}
                }
            }
        }
        rivets
    }

    fn frozen_of(&self, set: &HolesSet) -> Option<(&RunState, &SetUpFrozen)> {
        let run = self.state.run(&set.run)?;
        Some((run, run.set_ups.iter().find(|it| it.key == set.set_up)?))
    }

    fn setting_charts(&self, rivets: &[Rivet<'_>]) -> Vec<SettingChart> {
        let mut settings: Vec<(Setting<'_>, Vec<&Rivet<'_>>)> = Vec::new();
        for rivet in rivets {
            let frozen = rivet.set.and_then(|set| self.frozen_of(set)).map(|(_, frozen)| frozen);
            let setting = frozen.map_or(
                Setting { on: &[], dies: "", opening: None, setting: "", kind: rivet.kind },
                |it| Setting {
                    on: &it.on[..it.on.len().min(3)],
                    dies: &it.dies,
                    opening: it.opening,
                    setting: if it.opening.is_some() { "" } else { &it.setting },
                    kind: rivet.kind,
                },
            );
            match settings.iter_mut().find(|(known, _)| *known == setting) {
                Some((_, of)) => of.push(rivet),
                None => settings.push((setting, vec![rivet])),
            }
        }
        settings.retain(|(_, of)| of.iter().any(|it| it.head.is_some()));
        let newest = |of: &[&Rivet<'_>]| of.iter().filter_map(|it| it.head.map(|(act, _)| act)).max();
        settings.sort_by_key(|(_, of)| std::cmp::Reverse(newest(of)));
        let side = self.bench_side();
        let numbered = settings.iter().enumerate();
        numbered.map(|(at, (setting, of))| self.setting_chart(at, setting, of, &side)).collect()
    }

    fn setting_chart(
        &self,
        at: usize,
        setting: &Setting<'_>,
        of: &[&Rivet<'_>],
        side: &BenchSide,
    ) -> SettingChart {
        let mut heads: Vec<&Rivet<'_>> = of.iter().copied().filter(|it| it.head.is_some()).collect();
        // As they were set; those of one act in the order in which they were measured.
        heads.sort_by_key(|it| (it.by, it.head.map(|(act, _)| act), it.hole));
        let first = heads.len().saturating_sub(DRAWN);
        let heads = heads.split_off(first);
        let set_anew: Vec<Option<(&str, &str, Option<ActId>)>> =
            heads.iter().map(|it| self.set_up_since(it)).collect();
        let breaks: Vec<usize> = (1..heads.len()).filter(|&it| set_anew[it] != set_anew[it - 1]).collect();

        let in_force = faying_joint::in_force(setting.kind, &self.plan().limits).ok();
        let limits = in_force.as_ref().map(|it| &it.limits);
        let inches = |length: Option<Length>| length.map(Length::inches);
        let bench = (!setting.on.is_empty()).then(|| side.bench(self, &[]));
        let aim = |rivet: &Rivet<'_>| {
            let (_, frozen) = self.frozen_of(rivet.set?)?;
            let bench = bench.as_ref()?;
            faying_bench::aim_at(bench, rivet.hole, &frozen.on, frozen.opening?).map(|(aim, _)| aim)
        };
        let drawn: Vec<ChartHead> = heads
            .iter()
            .map(|it| {
                let hole = self.plan().hole_name(it.hole);
                let head = it.head.map(|(_, head)| head);
                ChartHead {
                    short: crate::bench_report::short(&hole),
                    hole,
                    height_in: inches(head.and_then(|head| head.height)),
                    width_in: inches(head.and_then(smaller_width)),
                    aim_in: inches(aim(it)),
                    drilled_out: it.drilled_out,
                }
            })
            .collect();
        let caliper = side.constants.caliper_u.value.inches();
        let spread = faying_joint::odds::combined([side.constants.set_height_u.value.inches(), caliper]);
        let heights = SizeChart::of(
            "height",
            &drawn,
            |head| (head.height_in, head.aim_in),
            &breaks,
            spread,
            limits.map(|it| Range { least: Some(it.min_height.inches()), most: inches(it.max_height) }),
        );
        let widths = SizeChart::of(
            "width",
            &drawn,
            |head| (head.width_in, None),
            &breaks,
            0.0,
            limits.map(|it| Range { least: Some(it.min_width.inches()), most: inches(it.max_width) }),
        );
        let in_now: Vec<&&Rivet<'_>> = of.iter().filter(|it| !it.drilled_out).collect();
        let measured = in_now.iter().filter(|it| it.head.is_some()).count();
        let outside = in_now.iter().filter_map(|it| it.head).filter(|(_, head)| head.verdict == "outside");
        let newest = heads.last().and_then(|it| self.frozen_of(it.set?)).map(|(_, frozen)| frozen);
        SettingChart {
            key: format!("setting-{}", at + 1),
            title: if setting.dies.is_empty() {
                "Set outside of a run".to_owned()
            } else {
                setting.dies.to_owned()
            },
            setting: newest.map_or_else(String::new, |it| it.setting.clone()),
            rivet: setting.kind.to_string(),
            set: in_now.len(),
            measured,
            sample: sample(in_now.len(), measured, outside.count()),
            heads: drawn,
            first: first + 1,
            breaks,
            limits: in_force.as_ref().map(|it| LimitsReport::of(&it.key, &it.limits, &it.lacks)),
            heights,
            widths,
        }
    }

    /// The run, the set-up and the proof on scrap that a rivet was set under.
    fn set_up_since<'w>(&'w self, rivet: &Rivet<'w>) -> Option<(&'w str, &'w str, Option<ActId>)> {
        let set = rivet.set?;
        let (run, frozen) = self.frozen_of(set)?;
        let proven = run.coupons.iter().filter(|(key, act)| *key == frozen.key && self.state.counts(*act));
        let since = proven.map(|(_, act)| *act).filter(|&act| act < rivet.by).max();
        Some((&set.run, &set.set_up, since))
    }

    fn drilled_out(&self, rivets: &[Rivet<'_>], level: f64) -> Vec<DrilledOut> {
        let recorded = || rivets.iter().filter_map(|it| Some((it, it.set?)));
        let who = |rivet: &Rivet<'_>, _: &HolesSet| match self.state.act(rivet.by).person.trim() {
            "" => "nobody named".to_owned(),
            person => person.to_owned(),
        };
        let tool = |_: &Rivet<'_>, set: &HolesSet| {
            let name = self.frozen_of(set).and_then(|(_, frozen)| frozen.on.first());
            name.map_or_else(
                || "set outside of a run".to_owned(),
                |name| self.plan().tools.title_of(name).unwrap_or(name).to_owned(),
            )
        };
        let diameter = |rivet: &Rivet<'_>, _: &HolesSet| format!("{} in", rivet.kind.diameter);
        type Way<'f> = (&'f str, &'f dyn Fn(&Rivet<'_>, &HolesSet) -> String);
        let ways: [Way<'_>; 3] =
            [("the person who set them", &who), ("tool", &tool), ("diameter", &diameter)];
        ways.into_iter()
            .filter_map(|(by, name)| {
                let mut counts: std::collections::BTreeMap<String, (usize, usize)> = Default::default();
                for (rivet, set) in recorded() {
                    let count = counts.entry(name(rivet, set)).or_default();
                    count.0 += 1;
                    count.1 += usize::from(rivet.drilled_out);
                }
                let rows: Vec<DrilledRow> = counts
                    .into_iter()
                    .map(|(name, (set, drilled))| DrilledRow::of(name, set, drilled, level))
                    .collect();
                (!rows.is_empty()).then(|| DrilledOut { by: by.to_owned(), says: told_apart(&rows), rows })
            })
            .collect()
    }

    /// What readings of one head, or of two, say of a caliper.
    ///
    /// - `heads`: readings as typed, head by head; empty fields are left out
    /// - `step`: the smallest step of the display, as typed
    ///
    /// Nothing where no head was read twice yet.
    ///
    /// # Errors
    /// In words, where something typed is not a length.
    pub fn caliper(&self, heads: &[Vec<String>], step: &str) -> Result<Option<CaliperReport>, String> {
        let read = |text: &str, what: &str| {
            Length::read(text.trim(), Unit::Inch).map_err(|error| format!("{what}: {error}"))
        };
        let mut readings: Vec<Vec<f64>> = Vec::new();
        for (head, typed) in heads.iter().enumerate() {
            let mut of_head = Vec::new();
            for (at, text) in typed.iter().enumerate().filter(|(_, text)| !text.trim().is_empty()) {
                let what = match head {
                    0 => format!("reading {}", at + 1),
                    _ => format!("reading {} of the second head", at + 1),
                };
                of_head.push(read(text, &what)?.inches());
            }
            readings.push(of_head);
        }
        readings.retain(|it| !it.is_empty());
        let step = if step.trim().is_empty() { 0.0 } else { read(step, "step of the display")?.inches() };
        let slices: Vec<&[f64]> = readings.iter().map(Vec::as_slice).collect();
        let used = &self.side.joints.constants.caliper_u;
        let Some(found) = Repeatability::of(&slices, step) else { return Ok(None) };
        let missing = (control::least_readings() - 1).saturating_sub(found.freedom);
        // Never rounded to less than it is.
        let written = format!("{:.4}", (found.u * 1e4 - 1e-6).ceil() / 1e4);
        let enough = missing == 0 && found.u > 0.0;
        let heads_words = if found.heads == 1 { "one head" } else { "two heads" };
        let note = format!(
            "Caliper: {} readings of {heads_words}, s {:.5} in with {} degrees of freedom; standard uncertainty of a reading {written} in.",
            found.n, found.s, found.freedom,
        );
        Ok(Some(CaliperReport {
            n: found.n,
            heads: found.heads,
            missing,
            ranges_in: readings.iter().map(|it| range(it)).collect(),
            s_in: found.s,
            freedom: found.freedom,
            s_share: found.s_share(),
            u_in: found.u,
            u_freedom: found.u_freedom.is_finite().then_some(found.u_freedom),
            within_in: found.u * control::coverage_factor(0.95, found.u_freedom),
            used_in: used.value.inches(),
            used_source: crate::report::cited(&used.cited),
            used_own: self.plan().limits.caliper.is_some(),
            line: enough.then(|| format!("caliper = {written}")),
            note: enough.then_some(note),
            working: caliper_working(&found, step),
        }))
    }
}

/// The smaller of two widths, or the one there is.
fn smaller_width(head: &HeadMeasured) -> Option<Length> {
    [head.width, head.width_across].into_iter().flatten().min()
}

fn range(values: &[f64]) -> [f64; 2] {
    let fold = |of: fn(f64, f64) -> f64, from: f64| values.iter().copied().fold(from, of);
    [fold(f64::min, f64::INFINITY), fold(f64::max, f64::NEG_INFINITY)]
}

fn caliper_working(found: &Repeatability, step: f64) -> Working {
    let gum = |place: &str| Cited::new("gum", place, Known::Memory);
    let mut working = Working::default();
    working.add(
        "standard deviation of a reading",
        "s = √(Σ(x − mean of its head)²/(n − heads))",
        format!("{} readings, {} heads", found.n, found.heads),
        format!("{:.5} in, {} degrees of freedom", found.s, found.freedom),
        gum("4.2"),
    );
    working.add(
        "standard uncertainty of a reading",
        "u = √(s² + (step/2)²/3)",
        format!("s {:.5}, step {step}", found.s),
        format!("{:.5} in", found.u),
        gum("F.2.2.1"),
    );
    if found.u_freedom.is_finite() {
        working.add(
            "degrees of freedom of u",
            "ν = u⁴/(s⁴/ν(s))",
            format!("{:.5}⁴/({:.5}⁴/{})", found.u, found.s, found.freedom),
            format!("{:.1}", found.u_freedom),
            gum("G.4.1"),
        );
    }
    working
}

impl DrilledRow {
    fn of(name: String, set: usize, drilled: usize, level: f64) -> Self {
        let interval = control::rate_interval(drilled, set, level).map(|it| 100.0 * it);
        let per_hundred = if set == 0 { 0.0 } else { 100.0 * drilled as f64 / set as f64 };
        Self { name, set, drilled, per_hundred, interval, few: interval[1] - interval[0] > WIDE }
    }
}

/// Which of these lie apart, in a sentence.
fn told_apart(rows: &[DrilledRow]) -> String {
    if rows.len() < 2 {
        return String::new();
    }
    let mut apart = Vec::new();
    for (at, one) in rows.iter().enumerate() {
        for other in &rows[at + 1..] {
            let (low, high) = if one.per_hundred < other.per_hundred { (one, other) } else { (other, one) };
            if low.interval[1] < high.interval[0] {
                apart.push(format!("{} above {}", high.name, low.name));
            }
        }
    }
    if apart.is_empty() {
        "Every interval overlaps every other: these counts do not tell one from another.".to_owned()
    } else {
        format!("Intervals that do not overlap: {}.", apart.join("; "))
    }
}

/// How many heads of a row are to be measured, none of them outside, and what that then says.
#[must_use]
pub fn heads_wanted(row: usize) -> String {
    let [share, level] = ["sample-share", "sample-level"].map(|name| figures().constant(name).value);
    let wanted = control::zero_acceptance(Some(row), share, level);
    let one_in = (1.0 / share).round();
    let chance = format!("{:.0} times in 100", 100.0 * level);
    if wanted == row {
        format!("Of {row} heads every one must be measured: so few cannot speak for one another.")
    } else {
        format!(
            "Of {row} heads {wanted}: if none of those is outside, {chance} fewer than one in {one_in} of all are."
        )
    }
}

fn sample(set: usize, measured: usize, outside: usize) -> SampleReport {
    let [share, level] = ["sample-share", "sample-level"].map(|name| figures().constant(name).value);
    let wanted = control::zero_acceptance(Some(set), share, level);
    let one_in = (1.0 / share).round();
    let chance = format!("{:.0} times in 100", 100.0 * level);
    let of = match set {
        0 => return SampleReport::default(),
        1 => "the one rivet set with it".to_owned(),
        set => format!("the {set} rivets set with it"),
    };
    let says = if outside > 0 {
        format!(
            "{measured} of {of} are measured and {outside} of them outside: nothing is said of the rest before each of those is dealt with."
        )
    } else if measured >= set {
        format!("All of {of} are measured; none is outside.")
    } else if measured >= wanted {
        format!(
            "{measured} of {of} are measured and none is outside: {chance} fewer than one in {one_in} are."
        )
    } else {
        let fewer = control::fewer_than(set, measured, level);
        let now = if fewer > set {
            "which says nothing of the rest yet".to_owned()
        } else {
            format!("which says, {chance}, that fewer than {fewer} are")
        };
        let more = wanted - measured;
        let heads = if more == 1 { "1 more".to_owned() } else { format!("{more} more") };
        format!(
            "{measured} of {of} are measured and none is outside, {now}. With {heads}, none outside, it would be fewer than one in {one_in}."
        )
    };
    SampleReport { wanted, outside, says }
}

impl SizeChart {
    /// Of the heads drawn; nothing where this size was not measured.
    fn of(
        what: &str,
        heads: &[ChartHead],
        size: impl Fn(&ChartHead) -> (Option<f64>, Option<f64>),
        breaks: &[usize],
        spread: f64,
        limits: Option<Range>,
    ) -> Option<Self> {
        let mut points = Vec::new();
        let mut places = Vec::new();
        let mut anew = false;
        for (at, head) in heads.iter().enumerate() {
            anew |= breaks.contains(&at);
            let (Some(value), aim) = size(head) else { continue };
            points.push(Point { value, aim, anew });
            places.push(at);
            anew = false;
        }
        if points.is_empty() {
            return None;
        }
        let range = limits.unwrap_or_default();
        let course = Course::of(&points, spread, range);
        let over = |of: &mut dyn Iterator<Item = f64>| {
            let mut all = vec![None; heads.len()];
            for (&at, value) in places.iter().zip(of) {
                all[at] = Some(value);
            }
            all
        };
        let at_heads = |found: Vec<usize>| found.into_iter().map(|at| places[at]).collect::<Vec<_>>();
        // A float of a whole nanometre is exact enough to be held against another.
        let is_outside = |&(_, point): &(usize, &Point)| {
            range.least.is_some_and(|least| point.value < least - 1e-9)
                || range.most.is_some_and(|most| point.value > most + 1e-9)
        };
        let outside = points.iter().enumerate().filter(is_outside).map(|(at, _)| at).collect();
        let single = course.individuals.as_ref();
        let values: Vec<f64> = points.iter().map(|point| point.value).collect();
        let mut chart = Self {
            n: points.len(),
            missing: course.missing,
            outside: at_heads(outside),
            mean_in: control::mean(&values),
            of_heads_in: single.map(|it| [it.lower, it.upper]),
            beyond: at_heads(single.map_or_else(Vec::new, |it| it.outside.clone())),
            about_aim: course.about_aim,
            averages: over(&mut course.averages.iter().map(|it| it.z)),
            average_limits: over(&mut course.averages.iter().map(|it| it.limit)),
            drifted: at_heads(course.drifted()),
            sums: [
                over(&mut course.sums.iter().map(|it| it.up)),
                over(&mut course.sums.iter().map(|it| it.down)),
            ],
            sum_limit_in: (!course.sums.is_empty()).then_some(course.sum_limit),
            crept: [at_heads(course.crept(|sums| sums.up)), at_heads(course.crept(|sums| sums.down))],
            capability: course.capability.map(|it| CapabilityReport {
                index: (it.index() * 100.0).round() / 100.0,
                n: it.n,
                one_sided: it.spread_only().is_none(),
            }),
            values: over(&mut values.into_iter()),
            says: Vec::new(),
            working: course.working(),
        };
        chart.says = chart.sentences(what, heads, limits.is_some());
        Some(chart)
    }

    fn sentences(&self, what: &str, heads: &[ChartHead], judged: bool) -> Vec<String> {
        let mut says = Vec::new();
        let named = |of: &[usize], with_value: bool| {
            let name = |&at: &usize| {
                let head = &heads[at];
                let value = self.values[at].filter(|_| with_value);
                let value =
                    value.map_or_else(String::new, |it| format!(" {}", Length::from_inches(it).decimal()));
                let gone = if head.drilled_out { ", drilled out" } else { "" };
                match (value.as_str(), gone) {
                    ("", "") => head.short.clone(),
                    _ => format!(
                        "{} ({})",
                        head.short,
                        format!("{value}{gone}").trim().trim_start_matches(", ")
                    ),
                }
            };
            of.iter().map(name).collect::<Vec<_>>().join(", ")
        };
        if !judged {
            says.push("No limits in force judge this rivet.".to_owned());
        } else if !self.outside.is_empty() {
            says.push(format!("Outside the limits in force: {}.", named(&self.outside, true)));
        } else {
            says.push(format!("No {what} drawn is outside the limits in force."));
        }
        if self.missing > 0 {
            let (are, heads) = if self.missing == 1 { ("is", "head") } else { ("are", "heads") };
            says.push(format!(
                "{} measured; {} {heads} more {are} wanted before these heads have limits of their own.",
                self.n, self.missing
            ));
            return says;
        }
        if !self.beyond.is_empty() {
            says.push(format!(
                "Farther from the mean than these heads differ among themselves: {}.",
                named(&self.beyond, true)
            ));
        }
        let about = if self.about_aim { "the aim" } else { "the mean" };
        match self.drifted.as_slice() {
            [] => says.push(format!("The moving average stays within its limits about {about}.")),
            [first, ..] => says.push(format!(
                "The moving average left its limits about {about} at {}{}.",
                heads[*first].short,
                if self.drifted.last() == Some(&(heads.len() - 1)) { " and is outside now" } else { "" },
            )),
        }
        for (crept, way) in self.crept.iter().zip(["above", "below"]) {
            if let Some(first) = crept.first() {
                says.push(format!(
                    "The sums find a slow drift {way} {about}, at {} first.",
                    heads[*first].short
                ));
            }
        }
        if let Some(it) = &self.capability {
            let sides = if it.one_sided { "one limit only" } else { "the nearer limit" };
            says.push(format!(
                "From the mean to {sides}: {:.2} of three standard deviations (Cpk), of {} heads.",
                it.index, it.n
            ));
        }
        says
    }
}
