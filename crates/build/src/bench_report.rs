//! A started run as the page at the bench has it: frozen set-ups, and how every hole stands.

use faying_plan::HoleId;
use faying_record::{ActId, Event, HoleStatus, RunState, SetUpFrozen};
use faying_standards::{HeadStyle, Length, figures};
use serde::Serialize;

use crate::bench_run::BenchSide;
use crate::report::{LimitsReport, ToolName, tools_of};
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
    /// How often its order was changed since the start.
    pub changes: usize,
    /// How many heads are measured first with every set-up.
    pub measure_first: u32,
    /// What the rest takes, as reckoned.
    pub minutes_left: f64,
    /// Tools that the rest uses.
    pub tools: Vec<ToolName>,
    /// Tools that are not at hand.
    pub without: Vec<ToolName>,
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
    /// Why that tool, in short; empty where it needs no word.
    pub why: String,
    /// Which side faces up.
    pub face_up: String,
    /// Whether it takes two people.
    pub two_people: bool,
    /// How the setting is found.
    pub setting: String,
    /// What the tool is opened by for it since the head that it is counted from.
    pub opened_in: Option<f64>,
    /// The bag it takes from, for a solid rivet.
    pub bag: Option<BenchBag>,
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

/// A bag at the bench, and what to look at.
#[derive(Debug, Serialize)]
pub struct BenchBag {
    /// The part number.
    pub fastener: String,
    /// The mark on its head, in words; empty where it is not known.
    pub mark: String,
    /// Its length.
    pub length_in: Option<f64>,
    /// Whether the length is measured over the head.
    pub over_head: bool,
    /// What was found, if somebody looked.
    pub checked: Option<String>,
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
    /// Whether its head is to be measured.
    pub measure: bool,
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
        let side = self.bench_side();
        let step = plan.step_named(&state.step);
        let title = step.map_or_else(|| state.step.clone(), |step| plan[step].title.clone());
        let set_ups: Vec<BenchSetUp> =
            state.set_ups.iter().map(|frozen| self.bench_set_up(&side, state, frozen)).collect();
        let left = |set_up: &&SetUpFrozen| {
            set_up.holes.iter().any(|name| plan.hole_named(name).is_some_and(|hole| !self.is_set(hole)))
        };
        let seconds: f64 = state
            .set_ups
            .iter()
            .map(|set_up| {
                let all = set_up.holes.len().max(1);
                let unset = set_up
                    .holes
                    .iter()
                    .filter(|name| plan.hole_named(name).is_some_and(|hole| !self.is_set(hole)));
                set_up.seconds * unset.count() as f64 / all as f64
            })
            .sum();
        let named = |name: &String| {
            plan.tools.title_of(name).map(|title| ToolName { name: name.clone(), title: title.to_owned() })
        };
        Some(BenchReport {
            run: run.to_owned(),
            step: state.step.clone(),
            title,
            sheet: step.map_or_else(String::new, |step| plan[step].sheet.clone()),
            ended: state.ended.is_some(),
            version: self.version,
            revision: self.revision(),
            changes: state.changes,
            measure_first: figures().constant("first-article").value as u32,
            minutes_left: (seconds / 60.0).round(),
            tools: tools_of(plan, state.set_ups.iter().filter(left).map(|it| it.on.as_slice())),
            without: state.without.iter().filter_map(named).collect(),
            set_ups,
            acts: self.bench_acts(run),
        })
    }

    fn bench_set_up(&self, side: &BenchSide, run: &RunState, frozen: &SetUpFrozen) -> BenchSetUp {
        let plan = self.plan();
        let holes: Vec<_> = frozen.holes.iter().filter_map(|name| plan.hole_named(name)).collect();
        // Limits follow from the joint; tool, side, setting and heights are as they were frozen.
        let need = holes.first().map(|&first| faying_bench::need(plan, &self.side.joints, first));
        let joint = holes.first().and_then(|&hole| self.side.joints.at(hole));
        let seat = joint.and_then(|joint| joint.seats.as_ref().ok()).map(|seats| seats.shop_seat);
        let rivet = need.as_ref().and_then(|need| need.rivet);
        let limits = need
            .as_ref()
            .and_then(|need| need.limits.as_ref())
            .map(|(name, limits)| LimitsReport::of(name, limits, ""));
        let newest = |acts: &[(String, ActId)]| {
            let of_this = acts.iter().rev().filter(|(key, _)| *key == frozen.key);
            of_this.map(|(_, act)| *act).find(|act| self.state.counts(*act))
        };
        let proven = newest(&run.coupons).and_then(|act| match &self.state.act(act).event {
            Event::CouponProven(coupon) if self.state.rejected_since(act, &holes) == 0 => {
                Some(coupon_words(coupon))
            }
            _ => None,
        });
        // A bag that was looked at in this run is the same bag at the next set-up.
        let looked = run.bags.iter().rev().filter(|(_, act)| self.state.counts(*act));
        let bags = looked.filter_map(|(_, act)| match &self.state.act(*act).event {
            Event::BagChecked(bag) if bag.fastener == frozen.fastener => Some(bag),
            _ => None,
        });
        let checked = bags.take(1).find(|bag| bag.head_mark).map(bag_words);
        let heights = frozen.least_height.zip(frozen.most_height);
        let (setting, opened) = self.setting_now(side, frozen);
        BenchSetUp {
            key: frozen.key.clone(),
            title: frozen.title.clone(),
            fastener: frozen.fastener.clone(),
            dies: frozen.dies.clone(),
            head_on: frozen.head_on.clone(),
            why: String::new(),
            face_up: frozen.face_up.clone(),
            two_people: frozen.two_people,
            setting,
            opened_in: opened.map(|by| (by.inches() * 1e4).round() / 1e4),
            bag: rivet.map(|(rivet, dash)| BenchBag {
                fastener: frozen.fastener.clone(),
                mark: figures().alloy(rivet.alloy).head_mark.clone(),
                length_in: dash.map(|dash| dash.length().inches()),
                over_head: rivet.head == HeadStyle::Flush,
                checked,
            }),
            coupon: rivet.is_some(),
            proven,
            limits,
            from_lip: seat == Some(faying_joint::seats::ShopSeat::Lip),
            heights_in: heights
                .map(|(least, most)| [least, most].map(|it| (it.inches() * 1e4).round() / 1e4)),
            holes: self.bench_holes(&holes, &frozen.measure),
        }
    }

    fn bench_holes(&self, holes: &[HoleId], measure: &[String]) -> Vec<BenchHole> {
        let plan = self.plan();
        let first = figures().constant("first-article").value as usize;
        let mut heads = self.measured_again(holes, first);
        heads.extend(self.heads_measured(holes, measure, first));
        let mut stretch = 0;
        let mut last: Option<HoleId> = None;
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
                let name = plan.hole_name(hole);
                BenchHole {
                    measure: heads.contains(&hole),
                    name,
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

    /// Heads that are measured: the first that are really set, whichever those were, and the later ones as planned.
    fn heads_measured(&self, holes: &[HoleId], planned: &[String], first: usize) -> Vec<HoleId> {
        let planned: Vec<HoleId> = planned.iter().filter_map(|name| self.plan().hole_named(name)).collect();
        if planned.is_empty() {
            return planned;
        }
        let (opening, later) = planned.split_at(first.min(planned.len()));
        let mut set: Vec<(ActId, usize, HoleId)> = holes
            .iter()
            .filter(|&&hole| self.is_set(hole))
            .filter_map(|&hole| {
                let act = self.state.set_by(hole)?;
                let Event::HolesSet(set) = &self.state.act(act).event else { return None };
                let name = self.plan().hole_name(hole);
                Some((act, set.holes.iter().position(|other| *other == name)?, hole))
            })
            .collect();
        set.sort_unstable();
        let really = set.iter().take(opening.len()).map(|(.., hole)| *hole);
        let still = opening.iter().copied().filter(|&hole| !self.is_set(hole));
        let to_come = opening.len().saturating_sub(set.len());
        really.chain(still.take(to_come)).chain(later.iter().copied()).collect()
    }

    /// Heads that are measured again after a reject: as many of the next ones as were measured at first.
    fn measured_again(&self, holes: &[HoleId], first: usize) -> Vec<HoleId> {
        // The newest reject of this set-up, and how many were measured inside after it.
        let measured =
            |hole: &&HoleId| self.state.measured(**hole).map(|it| (it.act, it.head.verdict.clone()));
        let mut heads: Vec<(ActId, String)> = holes.iter().filter_map(|hole| measured(&hole)).collect();
        heads.sort_unstable_by_key(|(act, _)| *act);
        let Some(reject) = heads.iter().rposition(|(_, verdict)| verdict == "outside") else {
            return Vec::new();
        };
        let since = heads.len() - reject - 1;
        let left = holes.iter().copied().filter(|&hole| !self.is_set(hole));
        left.take(first.saturating_sub(since)).collect()
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
                    Event::BagChecked(bag) if bag.run == run => "bag looked at".to_owned(),
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
pub(crate) fn short(name: &str) -> String {
    let mut parts = name.rsplit('/');
    let number = parts.next().unwrap_or(name);
    parts.next().map_or_else(|| number.to_owned(), |row| format!("{row}-{number}"))
}

fn bag_words(bag: &faying_record::BagChecked) -> String {
    let lengths: Vec<String> =
        bag.lengths.iter().map(|&length| Length::from_nanometres(length).decimal()).collect();
    if lengths.is_empty() { "head mark right".to_owned() } else { lengths.join(", ") }
}

fn coupon_words(coupon: &faying_record::CouponProven) -> String {
    let size = |length: Option<Length>| length.map_or_else(|| "?".to_owned(), Length::decimal);
    format!("{} in wide, {} in high: {}", size(coupon.width), size(coupon.height), coupon.verdict)
}
