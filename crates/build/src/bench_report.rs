//! A started run as the page at the bench has it: frozen set-ups, and how every hole stands.

use faying_record::{Event, HoleStatus, SetUpFrozen};
use faying_standards::figures;
use serde::Serialize;

use crate::report::LimitsReport;
use crate::world::World;

/// A started run.
#[derive(Debug, Serialize)]
pub struct BenchReport {
    /// Its id.
    pub run: String,
    /// Its step.
    pub step: String,
    /// Its title.
    pub title: String,
    /// Where it stands in the builder's own plans.
    pub sheet: String,
    /// Whether it is ended.
    pub ended: bool,
    /// Version of the world that this shows.
    pub version: u64,
    /// The revision of the plan that its names belong to.
    pub revision: u64,
    /// How many heads are measured first with every set-up.
    pub measure_first: u32,
    /// Its set-ups, in order.
    pub set_ups: Vec<BenchSetUp>,
    /// Acts of this run that can be taken back, newest last.
    pub acts: Vec<BenchAct>,
}

/// A set-up at the bench.
#[derive(Debug, Serialize)]
pub struct BenchSetUp {
    /// Its key.
    pub key: String,
    /// The fastener in short.
    pub title: String,
    /// The part number.
    pub fastener: String,
    /// Tool and dies.
    pub dies: String,
    /// Where the manufactured head goes.
    pub head_on: String,
    /// How the setting is found.
    pub setting: String,
    /// Whether a head on scrap comes first.
    pub coupon: bool,
    /// What was found on scrap, if it was.
    pub proven: Option<String>,
    /// What a head must be, if any limits judge it.
    pub limits: Option<LimitsReport>,
    /// Whether a height is measured from the lip of a dimple.
    pub from_lip: bool,
    /// Heights that work, to aim at their middle.
    pub heights_in: Option<[f64; 2]>,
    /// Its holes, in order.
    pub holes: Vec<BenchHole>,
}

/// A hole at the bench.
#[derive(Debug, Serialize)]
pub struct BenchHole {
    /// Its lasting name.
    pub name: String,
    /// Short name: `A-7`.
    pub short: String,
    /// Row and pass, by which holes are set together.
    pub stretch: String,
    /// Whether it has its fastener.
    pub set: bool,
    /// Whether its head was measured.
    pub measured: bool,
    /// Whether one was drilled out of it.
    pub opened: bool,
    /// Whether its head was measured outside the limits.
    pub outside: bool,
}

/// An act that can be taken back.
#[derive(Debug, Serialize)]
pub struct BenchAct {
    /// Its id.
    pub id: String,
    /// In words.
    pub says: String,
}

impl World {
    /// A started run as the page at the bench has it.
    #[must_use]
    pub fn bench(&self, run: &str) -> Option<BenchReport> {
        let plan = self.plan();
        let state = self.state.run(run)?;
        let step = plan.step_named(&state.step);
        let title = step.map_or_else(|| state.step.clone(), |step| plan[step].title.clone());
        let set_ups = state
            .set_ups
            .iter()
            .map(|frozen| {
                let proven = state
                    .coupons
                    .iter()
                    .rev()
                    .filter(|(key, act)| *key == frozen.key && self.state.counts(*act))
                    .find_map(|(_, act)| match &self.state.act(*act).event {
                        Event::CouponProven(coupon) => Some(coupon_words(coupon)),
                        _ => None,
                    });
                self.bench_set_up(frozen, proven)
            })
            .collect();
        Some(BenchReport {
            run: run.to_owned(),
            step: state.step.clone(),
            title,
            sheet: step.map_or_else(String::new, |step| plan[step].sheet.clone()),
            ended: state.ended.is_some(),
            version: self.version,
            revision: self.revision(),
            measure_first: figures().constant("first-article").value as u32,
            set_ups,
            acts: self.bench_acts(run),
        })
    }

    fn bench_set_up(&self, frozen: &SetUpFrozen, proven: Option<String>) -> BenchSetUp {
        let plan = self.plan();
        let holes: Vec<_> = frozen.holes.iter().filter_map(|name| plan.hole_named(name)).collect();
        // Limits and heights follow from the joint; tool, side and setting are as they were frozen.
        let computed = holes.first().and_then(|&first| {
            faying_bench::run_of_holes(plan, &self.side.joints, &[first], &[]).into_iter().next()
        });
        let joint = holes.first().and_then(|&hole| self.side.joints.at(hole));
        let seat = joint.and_then(|joint| joint.seats.as_ref().ok()).map(|seats| seats.shop_seat);
        let solid = computed.as_ref().is_some_and(|it| it.rivet.is_some());
        let limits = computed
            .as_ref()
            .and_then(|it| it.limits.as_ref())
            .map(|(name, limits)| LimitsReport::of(name, limits, ""));
        let heights = computed.as_ref().and_then(|it| it.heights);
        BenchSetUp {
            key: frozen.key.clone(),
            title: frozen.title.clone(),
            fastener: frozen.fastener.clone(),
            dies: frozen.dies.clone(),
            head_on: frozen.head_on.clone(),
            setting: frozen.setting.clone(),
            coupon: solid,
            proven,
            limits,
            from_lip: seat == Some(faying_joint::seats::ShopSeat::Lip),
            heights_in: heights
                .map(|it| [it.least.inches(), it.most.inches()].map(|x| (x * 1e4).round() / 1e4)),
            holes: self.bench_holes(&holes),
        }
    }

    fn bench_holes(&self, holes: &[faying_plan::HoleId]) -> Vec<BenchHole> {
        let plan = self.plan();
        let mut stretch = 0;
        let mut last: Option<faying_plan::HoleId> = None;
        holes
            .iter()
            .map(|&hole| {
                // A new row, or a turn back along the same one, begins a new stretch.
                let goes_on = last.is_some_and(|last| {
                    plan[last].row == plan[hole].row && plan[last].number.abs_diff(plan[hole].number) <= 2
                });
                if !goes_on {
                    stretch += 1;
                }
                last = Some(hole);
                let status = self.state.status(hole);
                BenchHole {
                    name: plan.hole_name(hole),
                    short: format!("{}-{}", plan[plan[hole].row].name, plan[hole].number),
                    stretch: stretch.to_string(),
                    set: status == HoleStatus::Set,
                    measured: self.state.measured(hole).is_some(),
                    opened: status == HoleStatus::OpenedAgain,
                    outside: self.state.measured(hole).is_some_and(|it| it.head.verdict == "outside"),
                }
            })
            .collect()
    }

    fn bench_acts(&self, run: &str) -> Vec<BenchAct> {
        const SHOWN: usize = 20;
        let Some(state) = self.state.run(run) else { return Vec::new() };
        let ours: std::collections::HashSet<&str> =
            state.set_ups.iter().flat_map(|set_up| set_up.holes.iter().map(String::as_str)).collect();
        let from = state.started.0 as usize;
        let mut acts: Vec<BenchAct> = self.state.acts()[from..]
            .iter()
            .rev()
            .filter(|act| act.undone_by.is_none())
            .filter_map(|act| {
                let says = match &act.event {
                    Event::HolesSet(set) if set.run == run => match set.holes.as_slice() {
                        [one] => format!("{} set", short(one)),
                        [first, .., last] => {
                            format!("{} to {}, {} set", short(first), short(last), set.holes.len())
                        }
                        [] => return None,
                    },
                    Event::HeadMeasured(head) if ours.contains(head.hole.as_str()) => {
                        format!("{} measured", short(&head.hole))
                    }
                    Event::HoleOpened(opened) if ours.contains(opened.hole.as_str()) => {
                        format!("{} drilled out", short(&opened.hole))
                    }
                    Event::CouponProven(coupon) if coupon.run == run => "scrap measured".to_owned(),
                    _ => return None,
                };
                Some(BenchAct { id: act.id.clone(), says })
            })
            .take(SHOWN)
            .collect();
        acts.reverse();
        acts
    }
}

/// `flap-left/web/A/7` as it is said at the bench: `A-7`.
fn short(name: &str) -> String {
    let mut parts = name.rsplit('/');
    let number = parts.next().unwrap_or(name);
    parts.next().map_or_else(|| number.to_owned(), |row| format!("{row}-{number}"))
}

fn coupon_words(coupon: &faying_record::CouponProven) -> String {
    let size = |length: Option<faying_standards::Length>| {
        length.map_or_else(|| "?".to_owned(), faying_standards::Length::decimal)
    };
    format!("{} in wide, {} in high: {}", size(coupon.width), size(coupon.height), coupon.verdict)
}
