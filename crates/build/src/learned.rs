//! What the builder's own heads and times say, beside what is used; and what was taken over.
//!
//! Nothing learned is used by itself: a page shows it, an act takes it over,
//! and every run from then on is reckoned with it.

use faying_bench::learn::{HeadSeen, Reading, Yoke, calibrate, learn_times};
use faying_bench::settings::Spring;
use faying_joint::callout::bore;
use faying_plan::HoleId;
use faying_plan::tools::{Seconds, Times};
use faying_record::{Event, State};
use faying_standards::{Cited, Known, Length};
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

/// Kinds of rivet setting whose time is learned.
const TIMED: [&str; 3] = ["squeeze", "gun", "back"];

fn time_of<'t>(times: &'t mut Times, kind: &str) -> Option<&'t mut Seconds> {
    match kind {
        "squeeze" => Some(&mut times.squeeze),
        "gun" => Some(&mut times.gun),
        "back" => Some(&mut times.back),
        _ => None,
    }
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
        TIMED.iter().filter_map(|kind| Some((format!("{TIME}{kind}"), time_of(&mut times, kind)?.value))),
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
        let heads: Vec<HeadSeen> = (0..self.plan().holes.len())
            .map(HoleId::from_index)
            .filter_map(|hole| {
                let (width, height) = self.state.head(hole)?;
                self.head_seen(side, hole, width?, height?)
            })
            .collect();
        // What is used now may be learned already; the prior stays the one before anything was.
        let mut before = side.constants.clone();
        before.missing_metal = faying_joint::Constants::with(&self.plan().limits).missing_metal;
        let found = calibrate(&heads, &before);
        found.own?;
        let percent = |share: f64| format!("{:.1} %", share * 100.0);
        found.settled.then(|| LearnedFigure {
            name: MISSING_METAL.to_owned(),
            title: "metal that does not arrive in the head".to_owned(),
            value: round(found.after, 1e-4),
            used: side.constants.missing_metal.value,
            value_words: percent(found.after),
            used_words: percent(side.constants.missing_metal.value),
            from: found.sentence(),
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
                let found = Yoke::of(
                    &readings,
                    Spring::practice(),
                    constants.set_height_u.value,
                    constants.caliper_u.value,
                )?;
                let used = side.springs.get(&yoke).copied().unwrap_or_else(Spring::practice);
                let words = |per_lbf: f64| format!("{:.1} thousandths at 2,000 lbf", per_lbf * 2e6);
                Some(LearnedFigure {
                    name: format!("{SPRING}{yoke}"),
                    title: format!("how far {yoke} springs open"),
                    value: round(found.spring.per_lbf * 1e6, 1e-3),
                    used: used.per_lbf * 1e6,
                    value_words: words(found.spring.per_lbf),
                    used_words: words(used.per_lbf),
                    from: format!("{} heads proven on scrap, with what was opened between them", found.heads),
                })
            })
            .collect()
    }

    /// Seconds for a rivet, from the times of acts that follow one another in one set-up.
    fn learned_times(&self, side: &BenchSide) -> Vec<LearnedFigure> {
        let mut acts: Vec<(usize, f64)> = Vec::new();
        for run in self.state.runs() {
            let mut before: Option<(&str, jiff::Timestamp)> = None;
            for act in &self.state.acts()[run.started.0 as usize..] {
                let Some(at) = crate::clock::instant(&act.at) else { continue };
                let set = match &act.event {
                    Event::HolesSet(set) if set.run == run.run => set,
                    // Between two rivets somebody measured, or looked at a bag: no time of a rivet.
                    Event::HeadMeasured(_) | Event::CouponProven(_) | Event::BagChecked(_) => {
                        before = None;
                        continue;
                    }
                    _ => continue,
                };
                let kind = run
                    .set_ups
                    .iter()
                    .find(|set_up| set_up.key == set.set_up)
                    .and_then(|set_up| self.kind_of_tool(&set_up.on));
                if let (Some((set_up, since)), Some(kind)) = (before, kind)
                    && set_up == set.set_up
                {
                    let seconds = at.duration_since(since).as_secs_f64();
                    acts.push((kind, seconds / set.holes.len().max(1) as f64));
                }
                before = Some((&set.set_up, at));
            }
        }
        let mut usual = self.plan().tools.times.clone();
        let mut used = side.times.clone();
        let defaults: Vec<(usize, f64)> = TIMED
            .iter()
            .enumerate()
            .filter_map(|(kind, name)| Some((kind, time_of(&mut usual, name)?.value)))
            .collect();
        learn_times(&defaults, &acts)
            .into_iter()
            .filter_map(|found| {
                let own = found.own?;
                let name = TIMED[found.kind];
                let used = time_of(&mut used, name)?.value;
                let what = ["a rivet with the squeezer", "a rivet with gun and bar", "a rivet on the plate"];
                Some(LearnedFigure {
                    name: format!("{TIME}{name}"),
                    title: format!("time for {}", what[found.kind]),
                    value: round(found.seconds, 0.1),
                    used,
                    value_words: format!("{:.1} s", found.seconds),
                    used_words: format!("{used:.1} s"),
                    from: format!("{} rivets of yours, their median {own:.1} s; breaks left out", found.acts),
                })
            })
            .collect()
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

/// A figure is shown, and taken over, to a step that means something.
fn round(value: f64, step: f64) -> f64 {
    (value / step).round() * step
}
