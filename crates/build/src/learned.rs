//! What the builder's own heads and times say, beside what is used; and what was taken over.
//!
//! Nothing learned is used by itself: a page shows it, an act takes it over,
//! and every run from then on is reckoned with it.

use std::collections::BTreeMap;

use faying_bench::learn::{Calibration, HeadSeen, Reading, Yoke, calibrate, learn_times, share};
use faying_bench::settings::Spring;
use faying_joint::callout::bore;
use faying_plan::HoleId;
use faying_plan::tools::{Seconds, Times};
use faying_record::{Event, RunState, SetUpFrozen, State};
use faying_standards::{Cited, Diameter, Known, Length};
use serde::Serialize;

use crate::bench_run::BenchSide;
use crate::world::World;

/// A figure that could be taken over.
#[derive(Clone, Debug, Serialize)]
pub struct LearnedFigure {
    /// Its name in the record.
    pub name: String,
    /// What it is, in words.
    pub title: String,
    /// What came out, in the unit of its name.
    pub value: f64,
    /// What is used now.
    pub used: f64,
    /// Both in words: `13 %`, `6.5 s`.
    pub value_words: String,
    /// What is used now, in words.
    pub used_words: String,
    /// What it rests on.
    pub from: String,
}

/// The share of missing metal, in the record.
pub(crate) const MISSING_METAL: &str = "missing-metal";
const SPRING: &str = "yoke-spring ";
const TIME: &str = "time ";

/// Times that are learned: three ways to set a rivet, what is changed between set-ups (as
/// [`SetUpFrozen::on`] has it, from [`FIRST_CHANGE`]), and a head on scrap.
const TIMED: [(&str, &str); 10] = [
    ("squeeze", "a rivet with the squeezer"),
    ("gun", "a rivet with gun and bar"),
    ("back", "a rivet on the plate"),
    ("tool", "another tool"),
    ("yoke", "another yoke"),
    ("dies", "other dies"),
    ("setting", "another setting"),
    ("bag", "another bag"),
    ("flip", "turning the part over"),
    ("coupon", "a head on scrap"),
];
const FIRST_CHANGE: usize = 3;
const COUPON: usize = 9;

fn time_of<'t>(times: &'t mut Times, kind: &str) -> Option<&'t mut Seconds> {
    Some(match kind {
        "squeeze" => &mut times.squeeze,
        "gun" => &mut times.gun,
        "back" => &mut times.back,
        "tool" => &mut times.tool,
        "yoke" => &mut times.yoke,
        "dies" => &mut times.dies,
        "setting" => &mut times.setting,
        "bag" => &mut times.bag,
        "flip" => &mut times.flip,
        "coupon" => &mut times.coupon,
        _ => return None,
    })
}

/// Where a figure comes from that was learned.
pub(crate) fn taken_over() -> Cited {
    Cited::new("record", "learned, and taken over by the builder", Known::Own)
}

/// Lays what was taken over upon what runs are reckoned with.
pub(crate) fn lay_over(state: &State, side: &mut BenchSide) {
    for (name, learned) in state.all_learned() {
        // Missing metal is not laid over here: joints are reckoned with it, and this takes theirs.
        if let Some(yoke) = name.strip_prefix(SPRING) {
            let spring = Spring { per_lbf: learned.value * 1e-6, u: 0.0 };
            side.springs.insert(yoke.to_owned(), spring);
        } else if let Some(time) = name.strip_prefix(TIME).and_then(|kind| time_of(&mut side.times, kind)) {
            *time = Seconds { value: learned.value, cited: taken_over() };
        }
    }
}

/// What a run that starts now rests on, by name.
pub(crate) fn in_use(world: &World) -> Vec<(String, f64)> {
    let side = world.bench_side();
    let mut figures = vec![
        (MISSING_METAL.to_owned(), side.constants.missing_metal.value),
        ("set-height-u".to_owned(), side.constants.set_height_u.value.inches()),
        ("caliper-u".to_owned(), side.constants.caliper_u.value.inches()),
        ("rivet-length-tolerance".to_owned(), side.constants.rivet_length.value.inches()),
    ];
    figures
        .extend(side.springs.iter().map(|(yoke, spring)| (format!("{SPRING}{yoke}"), spring.per_lbf * 1e6)));
    let mut times = side.times;
    figures.extend(
        TIMED
            .iter()
            .filter_map(|(kind, _)| Some((format!("{TIME}{kind}"), time_of(&mut times, kind)?.value))),
    );
    figures
}

impl World {
    /// What the builder's own heads and times say, where they say anything.
    #[must_use]
    pub fn learned(&self) -> Vec<LearnedFigure> {
        let side = self.bench_side();
        let mut figures = Vec::new();
        figures.extend(self.learned_metal(&side));
        figures.extend(self.learned_springs(&side));
        figures.extend(self.learned_times(&side));
        figures
    }

    fn learned_metal(&self, side: &BenchSide) -> Option<LearnedFigure> {
        let mut by_diameter: BTreeMap<Diameter, Vec<HeadSeen>> = BTreeMap::new();
        for hole in (0..self.plan().holes.len()).map(HoleId::from_index) {
            let seen = self.state.head(hole).and_then(|(width, height)| {
                let rivet = self.plan()[self.plan()[hole].row].rivet?;
                Some((rivet.diameter, self.head_seen(side, hole, width?, height?)?))
            });
            if let Some((diameter, head)) = seen {
                by_diameter.entry(diameter).or_default().push(head);
            }
        }
        let heads: Vec<HeadSeen> = by_diameter.values().flatten().copied().collect();
        // What is used now may be learned already; the prior stays the one before anything was.
        let mut before = side.constants.clone();
        before.missing_metal = faying_joint::Constants::with(&self.plan().limits).missing_metal;
        let found = calibrate(&heads, &before);
        found.own?;
        let each: Vec<(Diameter, Calibration)> = by_diameter
            .iter()
            .map(|(&diameter, heads)| (diameter, calibrate(heads, &before)))
            .filter(|(_, found)| found.settled)
            .collect();
        let from =
            [Some(found.sentence()), at_odds(&each)].into_iter().flatten().collect::<Vec<_>>().join(" ");
        found.settled.then(|| LearnedFigure {
            name: MISSING_METAL.to_owned(),
            title: "metal that does not arrive in the head".to_owned(),
            value: round(found.after, 1e-4),
            used: side.constants.missing_metal.value,
            value_words: percent(found.after),
            used_words: percent(side.constants.missing_metal.value),
            from,
        })
    }

    fn head_seen(&self, side: &BenchSide, hole: HoleId, width: Length, height: Length) -> Option<HeadSeen> {
        let joint = self.side.joints.at(hole)?;
        let seats = joint.seats.as_ref().ok()?;
        Some(HeadSeen {
            bore: bore(seats, &side.constants),
            tail: joint.dash()?.length() - seats.seat_to_seat,
            width,
            height,
        })
    }

    /// Springs of yokes, from proven heads for which the builder wrote down what was opened in between.
    fn learned_springs(&self, side: &BenchSide) -> Vec<LearnedFigure> {
        let mut chains: Vec<(String, String, Vec<Reading>)> = Vec::new();
        for proven in &side.proven {
            let known = chains.iter_mut().find(|(dies, ..)| *dies == proven.dies);
            match (known, proven.opened) {
                (Some((_, _, readings)), Some(opened)) => {
                    let open = readings.last().map_or(Length::ZERO, |last| last.open) + opened;
                    readings.push(Reading { open, head: proven.head });
                }
                // What was opened is not known: the chain begins anew with this head.
                (Some((_, _, readings)), None) => {
                    *readings = vec![Reading { open: Length::ZERO, head: proven.head }];
                }
                (None, _) => {
                    let yoke = proven.dies.rsplit_once(" / ").map_or("", |(yoke, _)| yoke).to_owned();
                    let first = Reading { open: Length::ZERO, head: proven.head };
                    chains.push((proven.dies.clone(), yoke, vec![first]));
                }
            }
        }
        chains
            .into_iter()
            .filter(|(_, _, readings)| readings.len() > 1)
            .filter_map(|(_, yoke, readings)| {
                let constants = &side.constants;
                let before = self.spring_before(&yoke);
                let found =
                    Yoke::of(&readings, before, constants.set_height_u.value, constants.caliper_u.value)?;
                let used = side.springs.get(&yoke).copied().unwrap_or(before);
                let words = |per_lbf: f64| format!("{:.1} thousandths at 2,000 lbf", per_lbf * 2e6);
                Some(LearnedFigure {
                    name: format!("{SPRING}{yoke}"),
                    title: format!("how far {} springs open", self.tools_in(&yoke)),
                    value: round(found.spring.per_lbf * 1e6, 1e-3),
                    used: used.per_lbf * 1e6,
                    value_words: words(found.spring.per_lbf),
                    used_words: words(used.per_lbf),
                    from: format!("{} heads proven on scrap, with what was opened between them", found.heads),
                })
            })
            .collect()
    }

    /// The names as shown of what is written `air-squeezer / deep`.
    fn tools_in(&self, names: &str) -> String {
        let tools = &self.plan().tools;
        let titles: Vec<&str> = names.split(" / ").map(|name| tools.title_of(name).unwrap_or(name)).collect();
        titles.join(" with ")
    }

    /// What is known of a yoke's spring before its own heads: as tools.toml has it, else as practice
    /// has it. What is written is taken to be no surer, in proportion, than practice is.
    fn spring_before(&self, yoke: &str) -> Spring {
        let practice = Spring::practice();
        let name = yoke.rsplit_once(" / ").map_or(yoke, |(_, name)| name);
        let written = self.plan().tools.yokes.iter().find(|it| it.name == name);
        match written.and_then(|it| it.stiffness_lbf_in) {
            Some(stiffness) => {
                let per_lbf = 1.0 / stiffness;
                Spring { per_lbf, u: per_lbf * practice.u / practice.per_lbf }
            }
            None => practice,
        }
    }

    /// Seconds for a rivet and for each change, from the times of acts that follow one another in a run.
    fn learned_times(&self, side: &BenchSide) -> Vec<LearnedFigure> {
        let mut used = side.times.clone();
        let used: Vec<f64> =
            TIMED.iter().filter_map(|(name, _)| Some(time_of(&mut used, name)?.value)).collect();
        let acts: Vec<(usize, f64)> =
            self.state.runs().iter().flat_map(|run| self.times_in(run, &used)).collect();
        let mut usual = self.plan().tools.times.clone();
        let defaults: Vec<(usize, f64)> = TIMED
            .iter()
            .enumerate()
            .filter_map(|(kind, (name, _))| Some((kind, time_of(&mut usual, name)?.value)))
            .collect();
        learn_times(&defaults, &acts)
            .into_iter()
            .filter_map(|found| {
                let own = found.own?;
                let (name, what) = TIMED[found.kind];
                let used = used[found.kind];
                let of = if found.kind < FIRST_CHANGE { "rivets" } else { "times" };
                let shared = if found.kind < FIRST_CHANGE {
                    ""
                } else {
                    "; what was changed together is told apart by what is reckoned for each"
                };
                Some(LearnedFigure {
                    name: format!("{TIME}{name}"),
                    title: format!("time for {what}"),
                    value: round(found.seconds, 0.1),
                    used,
                    value_words: format!("{:.1} s", found.seconds),
                    used_words: format!("{used:.1} s"),
                    from: format!(
                        "{} {of} of yours, their median {own:.1} s; breaks left out{shared}",
                        found.acts
                    ),
                })
            })
            .collect()
    }

    /// What the times of one run's acts say, by kind.
    fn times_in(&self, run: &RunState, used: &[f64]) -> Vec<(usize, f64)> {
        let set_up_of = |key: &str| run.set_ups.iter().find(|set_up| set_up.key == key);
        let mut acts = Vec::new();
        // Where the hands were free last, and after which set-up's rivet.
        let mut before: Option<(&SetUpFrozen, jiff::Timestamp)> = None;
        let (mut looked, mut proven) = (false, false);
        for act in &self.state.acts()[run.started.0 as usize..] {
            let Some(at) = crate::clock::instant(&act.at) else { continue };
            let set = match &act.event {
                Event::HolesSet(set) if set.run == run.run && act.undone_by.is_none() => set,
                Event::HeadMeasured(_) => {
                    // The hands go on from here; what came before was no rivet and no change.
                    before = before.map(|(set_up, _)| (set_up, at));
                    continue;
                }
                Event::CouponProven(coupon) if coupon.run == run.run => {
                    proven = true;
                    continue;
                }
                Event::BagChecked(_) => {
                    looked = true;
                    continue;
                }
                _ => continue,
            };
            let Some(set_up) = set_up_of(&set.set_up) else { continue };
            let kind = self.kind_of_tool(&set_up.on);
            if let (Some((last, since)), Some(kind)) = (before, kind) {
                let seconds = at.duration_since(since).as_secs_f64();
                let holes = set.holes.len().max(1) as f64;
                if last.key == set_up.key {
                    // Between two rivets somebody looked at a bag or at scrap: no time of a rivet.
                    if !looked && !proven {
                        acts.push((kind, seconds / holes));
                    }
                } else {
                    let changed = last.on.iter().zip(&set_up.on).enumerate();
                    let mut done: Vec<usize> = changed
                        .filter(|(_, (was, is))| was != is)
                        .map(|(part, _)| FIRST_CHANGE + part)
                        .collect();
                    done.extend(proven.then_some(COUPON));
                    let done: Vec<(usize, f64)> = done.into_iter().map(|kind| (kind, used[kind])).collect();
                    acts.extend(share(&done, seconds - holes * used[kind]));
                }
            }
            before = Some((set_up, at));
            (looked, proven) = (false, false);
        }
        acts
    }

    /// Which of [`TIMED`] a set-up is.
    fn kind_of_tool(&self, on: &[String]) -> Option<usize> {
        let tools = &self.plan().tools;
        let [tool, with] = [on.first()?, on.get(1)?];
        if tools.squeezers.iter().any(|it| it.name == *tool) {
            Some(0)
        } else if tools.plates.iter().any(|it| it.name == *with) {
            Some(2)
        } else {
            tools.guns.iter().any(|it| it.name == *tool).then_some(1)
        }
    }
}

fn percent(share: f64) -> String {
    format!("{:.1} %", share * 100.0)
}

/// That heads of several diameters say different things, if they do.
fn at_odds(each: &[(Diameter, Calibration)]) -> Option<String> {
    let disagree = each.iter().any(|(_, a)| each.iter().any(|(_, b)| a.disagrees(b)));
    let says = |(diameter, found): &(Diameter, Calibration)| {
        Some(format!("{diameter} says {}", percent(found.own?)))
    };
    disagree.then(|| {
        let says: Vec<String> = each.iter().filter_map(says).collect();
        format!("The diameters disagree ({}): no one figure suits them.", says.join(", "))
    })
}

/// A figure is shown, and taken over, to a step that means something.
fn round(value: f64, step: f64) -> f64 {
    (value / step).round() * step
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(heads: usize, own: f64, own_u: f64) -> Calibration {
        Calibration {
            heads,
            left_out: 0,
            before: 0.15,
            own: Some(own),
            own_u,
            after: own,
            u: own_u,
            settled: heads >= 10,
        }
    }

    #[test]
    fn diameters_that_disagree_are_said() {
        let eighth = (Diameter::from_dash(4).unwrap(), of(12, 0.14, 0.01));
        // .05 apart, with .014 together: beyond twice that.
        assert_eq!(
            at_odds(&[(Diameter::from_dash(3).unwrap(), of(10, 0.09, 0.01)), eighth.clone()]).unwrap(),
            "The diameters disagree (3/32 says 9.0 %, 1/8 says 14.0 %): no one figure suits them."
        );
        assert_eq!(at_odds(&[(Diameter::from_dash(3).unwrap(), of(10, 0.12, 0.01)), eighth.clone()]), None);
        assert_eq!(
            at_odds(&[(Diameter::from_dash(3).unwrap(), of(9, 0.09, 0.01)), eighth]),
            None,
            "nine are too few"
        );
    }
}
