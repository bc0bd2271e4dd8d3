//! The builder's own pace, and the hours a week really has.
//!
//! Pace is the ratio of real to planned hours. Its logarithm is taken as
//! normal about a centre that is not known, with a scatter that is not known,
//! and both are learned together from the steps that are finished (a normal
//! and an inverse gamma, which stay of that kind whatever is seen). While
//! little is seen the centre stays near 0, which is pace 1. A plan can be too
//! hopeful of one assembly and not of the next; how much assemblies differ is
//! learned too, because a tail says less of the wings than its many steps
//! would.
//!
//! Hours of a week are learned in two parts. Weeks without an hour come in
//! gaps: the odds that a gap begins, and that it ends, are learned from the
//! weeks so far. Of the other weeks the square root of real over planned hours
//! has a centre and a scatter as the pace has: sessions are left out or cut
//! short, and a root is nearer to a bell than a logarithm then. How alike
//! neighbouring weeks are is learned too: a busy winter is not fifteen busy
//! weeks that happen to follow each other.
//!
//! What is assumed before anything is seen stands in [`ASSUMED`], once.
//! Formulas: `docs/theory.md`, "Pace and forecast".

use rand_chacha::ChaCha8Rng;
use statrs::distribution::{ContinuousCDF, StudentsT};
use statrs::function::gamma::ln_gamma;

use crate::forecast::draw::Normals;

/// What is assumed before anything is seen.
///
/// None of it has a document behind it: guesses (`memory`) and habits of the
/// trade (`practice`). They stand here in one place so that they can be
/// doubted together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Assumed {
    /// A step of so many planned hours counts as one step. `practice`: one session.
    pub step_hours: f64,
    /// Shorter steps scatter no more than a step of this length, hours. `memory`.
    pub least_step_hours: f64,
    /// Longer steps count no more than a step of this length, hours. `memory`.
    pub most_step_hours: f64,
    /// Of the logarithm of real over planned hours. `memory`.
    pub pace: Belief,
    /// How much assemblies differ, as a variance over that of a step of one session; each as likely
    /// as the others. `memory`.
    pub assemblies_differ: [f64; 4],
    /// Of the root of real over planned hours in a week that has any. `memory`.
    pub week: Belief,
    /// How alike neighbouring weeks are, as a correlation; each as likely as the others. `memory`.
    pub weeks_alike: [f64; 5],
    /// Weeks behind which a gap began, and those behind which none did. `memory`.
    pub gap_begins: [f64; 2],
    /// Weeks of gaps behind which one ended, and those behind which it did not. `memory`.
    pub gap_ends: [f64; 2],
    /// No week has more hours of work than this. `memory`.
    pub most_week_hours: f64,
}

/// Pace 1 and the builder's own week in the middle; a step of one session scatters by a factor of
/// about 1.5, and the pace itself is known no better; one week in ten begins a gap of two or three.
pub const ASSUMED: Assumed = Assumed {
    step_hours: 3.0,
    least_step_hours: 1.5,
    most_step_hours: 12.0,
    pace: Belief { centre: 0.0, strength: 1.0, shape: 3.0, scale: 3.0 * 0.4 * 0.4 },
    assemblies_differ: [0.0, 0.1, 0.3, 1.0],
    week: Belief { centre: 1.0, strength: 2.0, shape: 3.0, scale: 3.0 * 0.25 * 0.25 },
    weeks_alike: [0.0, 0.3, 0.6, 0.8, 0.9],
    gap_begins: [1.5, 13.5],
    gap_ends: [2.0, 2.0],
    most_week_hours: 80.0,
};

/// What is believed of a centre and a scatter that are not known.
///
/// Given the variance v, the centre is normal about `centre` with v over
/// `strength`; 1/v is gamma with `shape` and rate `scale`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Belief {
    /// Where the centre is believed to be.
    pub centre: f64,
    /// How many readings the belief in the centre is worth.
    pub strength: f64,
    /// Half of the readings that the belief in the scatter is worth.
    pub shape: f64,
    /// `shape` times the variance that is believed in.
    pub scale: f64,
}

impl Belief {
    /// The belief with readings added, each a pair (c, u) with u = c·centre + scatter.
    ///
    /// A reading of weight w and value y is (√w, √w·y).
    #[must_use]
    pub fn with(self, readings: &[(f64, f64)]) -> Self {
        let strength = self.strength + readings.iter().map(|(c, _)| c * c).sum::<f64>();
        let pulled = readings.iter().map(|(c, u)| c * u).sum::<f64>();
        let centre = (self.strength * self.centre + pulled) / strength;
        // About the new centre: a difference of two large sums would lose what is small.
        let squares = readings.iter().map(|(c, u)| (u - c * centre).powi(2)).sum::<f64>();
        let moved = self.strength * (centre - self.centre).powi(2);
        Self {
            centre,
            strength,
            shape: self.shape + readings.len() as f64 / 2.0,
            scale: self.scale + (squares + moved) / 2.0,
        }
    }

    /// Logarithm of how likely the readings were that lead from `before` to this belief.
    fn ln_evidence(&self, before: &Self) -> f64 {
        (before.strength / self.strength).ln() / 2.0 + before.shape * before.scale.ln()
            - self.shape * self.scale.ln()
            + ln_gamma(self.shape)
            - ln_gamma(before.shape)
            - (self.shape - before.shape) * std::f64::consts::TAU.ln()
    }

    /// How the centre is distributed, and a reading about it that scatters `more` than nothing.
    fn student(&self, more: f64) -> StudentsT {
        let scale = (self.scale / self.shape * (more + 1.0 / self.strength)).sqrt();
        StudentsT::new(self.centre, scale, 2.0 * self.shape).expect("strength, shape and scale stay above 0")
    }

    /// Below which the centre lies with a chance.
    ///
    /// # Units
    /// - `chance`: above 0, under 1
    #[must_use]
    pub fn centre_at(&self, chance: f64) -> f64 {
        self.student(0.0).inverse_cdf(chance)
    }

    /// The chance that the centre lies below x.
    fn centre_below(&self, x: f64) -> f64 {
        self.student(0.0).cdf(x)
    }

    /// Below which the next reading lies with a chance.
    ///
    /// # Units
    /// - `weight`: of the reading
    /// - `chance`: above 0, under 1
    #[must_use]
    pub fn next_at(&self, weight: f64, chance: f64) -> f64 {
        self.student(1.0 / weight).inverse_cdf(chance)
    }

    /// A centre and a standard deviation.
    fn draw(&self, normals: &mut Normals, rng: &mut ChaCha8Rng) -> (f64, f64) {
        let sigma = (self.scale / normals.gamma(rng, self.shape)).sqrt();
        (self.centre + sigma / self.strength.sqrt() * normals.next(rng), sigma)
    }
}

/// The middle of what is likely, and the band that holds it eight times in ten.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band<T> {
    /// One in ten is lower.
    pub low: T,
    /// One in two is lower.
    pub middle: T,
    /// Nine in ten are lower.
    pub high: T,
}

impl<T> Band<T> {
    /// Of what lies at each chance.
    pub(crate) fn of(at: impl Fn(f64) -> T) -> Self {
        Self { low: at(0.1), middle: at(0.5), high: at(0.9) }
    }
}

/// Beliefs of which one is right, each with a factor that is not known either.
#[derive(Clone, Debug, PartialEq)]
struct Beliefs(Vec<OneOf>);

#[derive(Clone, Copy, Debug, PartialEq)]
struct OneOf {
    factor: f64,
    belief: Belief,
    /// The chance that this one is right.
    chance: f64,
}

impl Beliefs {
    /// What readings make of a belief, for each factor; before them the factors are equally likely.
    ///
    /// `readings` gives those of a factor, and the logarithm of what they were stretched by: the
    /// likelihood of what was seen is theirs times that.
    fn learn(before: Belief, factors: &[f64], readings: impl Fn(f64) -> (Vec<(f64, f64)>, f64)) -> Self {
        let mut beliefs: Vec<OneOf> = factors
            .iter()
            .map(|&factor| {
                let (readings, ln_stretch) = readings(factor);
                let belief = before.with(&readings);
                OneOf { factor, belief, chance: belief.ln_evidence(&before) + ln_stretch }
            })
            .collect();
        let top = beliefs.iter().map(|one| one.chance).fold(f64::NEG_INFINITY, f64::max);
        let sum: f64 = beliefs.iter().map(|one| (one.chance - top).exp()).sum();
        for one in &mut beliefs {
            one.chance = (one.chance - top).exp() / sum;
        }
        Self(beliefs)
    }

    fn pick(&self, uniform: f64) -> &OneOf {
        let mut left = uniform;
        let found = self.0.iter().find(|one| {
            left -= one.chance;
            left <= 0.0
        });
        found.or(self.0.last()).expect("there is a list of factors")
    }

    /// Below which something lies with a chance, when `below` says how likely each has it below x.
    fn at(&self, chance: f64, place: impl Fn(&OneOf, f64) -> f64, below: impl Fn(&OneOf, f64) -> f64) -> f64 {
        let ends = self.0.iter().map(|one| place(one, chance));
        let (mut low, mut high) =
            ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| (low.min(x), high.max(x)));
        // The answer lies between those of each alone; sixty halvings are exact for a float.
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            let share: f64 = self.0.iter().map(|one| one.chance * below(one, middle)).sum();
            if share < chance { low = middle } else { high = middle }
        }
        f64::midpoint(low, high)
    }
}

/// A finished step: what the plan had for it, and what it took.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FinishedStep {
    /// Its assembly: any number, the same for steps of the same.
    pub assembly: usize,
    /// Hours of the plan.
    pub planned_hours: f64,
    /// Hours it took.
    pub real_hours: f64,
}

/// What was seen of one assembly.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Seen {
    assembly: usize,
    /// Sum of the weights of its steps.
    weight: f64,
    /// Weighted mean of the logarithm of their pace.
    mean: f64,
}

/// What is known of the builder's pace.
#[derive(Clone, Debug, PartialEq)]
pub struct Pace {
    beliefs: Beliefs,
    assemblies: Vec<Seen>,
    steps: usize,
    left_out: usize,
}

/// How much a step of so many planned hours counts.
fn weight(planned_hours: f64) -> f64 {
    planned_hours.clamp(ASSUMED.least_step_hours, ASSUMED.most_step_hours) / ASSUMED.step_hours
}

impl Pace {
    /// What the finished steps say. Steps without hours, planned or real, say nothing and are
    /// counted.
    #[must_use]
    pub fn learn(steps: &[FinishedStep]) -> Self {
        let has = |hours: f64| hours.is_finite() && hours > 0.0;
        let mut steps_seen: Vec<(usize, f64, f64)> = steps
            .iter()
            .filter(|step| has(step.planned_hours) && has(step.real_hours))
            .map(|step| {
                (step.assembly, weight(step.planned_hours), (step.real_hours / step.planned_hours).ln())
            })
            .collect();
        steps_seen.sort_by_key(|&(assembly, ..)| assembly);
        // Of each assembly: what it says together, and what its steps differ by.
        let mut assemblies = Vec::new();
        let mut apart: Vec<(f64, f64)> = Vec::with_capacity(steps_seen.len());
        for group in steps_seen.chunk_by(|a, b| a.0 == b.0) {
            let total: f64 = group.iter().map(|(_, weight, _)| weight).sum();
            let mean = group.iter().map(|(_, weight, y)| weight * y).sum::<f64>() / total;
            let squares: f64 = group.iter().map(|(_, weight, y)| weight * (y - mean).powi(2)).sum();
            // As many readings as there are steps, less the one that gave the mean.
            apart.extend((1..group.len()).map(|at| (0.0, if at == 1 { squares.sqrt() } else { 0.0 })));
            assemblies.push(Seen { assembly: group[0].0, weight: total, mean });
        }
        let beliefs = Beliefs::learn(ASSUMED.pace, &ASSUMED.assemblies_differ, |differ| {
            let mut readings = apart.clone();
            readings.extend(assemblies.iter().map(|seen| {
                let root = (seen.weight / (1.0 + differ * seen.weight)).sqrt();
                (root, root * seen.mean)
            }));
            let stretch: f64 = assemblies.iter().map(|seen| (1.0 + differ * seen.weight).ln()).sum();
            (readings, -stretch / 2.0)
        });
        Self { beliefs, assemblies, steps: steps_seen.len(), left_out: steps.len() - steps_seen.len() }
    }

    /// How many steps it was learned from.
    #[must_use]
    pub fn steps(&self) -> usize {
        self.steps
    }

    /// How many steps had no hours and say nothing.
    #[must_use]
    pub fn left_out(&self) -> usize {
        self.left_out
    }

    /// Below which the logarithm of the builder's pace lies with a chance.
    ///
    /// # Units
    /// - `chance`: above 0, under 1
    #[must_use]
    pub fn ln_ratio_at(&self, chance: f64) -> f64 {
        self.beliefs.at(
            chance,
            |one, chance| one.belief.centre_at(chance),
            |one, x| one.belief.centre_below(x),
        )
    }

    /// Real over planned hours, over all assemblies.
    #[must_use]
    pub fn ratio(&self) -> Band<f64> {
        Band::of(|chance| self.ln_ratio_at(chance).exp())
    }

    /// How much steps of a session's length scatter: standard deviation of the logarithm.
    #[must_use]
    pub fn scatter(&self) -> f64 {
        let variance = |one: &OneOf| one.chance * one.belief.scale / one.belief.shape;
        self.beliefs.0.iter().map(variance).sum::<f64>().sqrt()
    }

    /// The chance of each of [`Assumed::assemblies_differ`].
    #[must_use]
    pub fn assemblies_differ(&self) -> Vec<(f64, f64)> {
        self.beliefs.0.iter().map(|one| (one.factor, one.chance)).collect()
    }

    /// How far a step of so many hours scatters, over the scatter of a step of one session.
    pub(crate) fn spread(planned_hours: f64) -> f64 {
        1.0 / weight(planned_hours).sqrt()
    }

    /// Of each assembly in the list, its number among those seen.
    pub(crate) fn place(&self, assembly: usize) -> Option<usize> {
        self.assemblies.binary_search_by_key(&assembly, |seen| seen.assembly).ok()
    }

    /// A centre of the logarithm, a standard deviation about it, and how far assemblies differ.
    pub(crate) fn draw(&self, normals: &mut Normals, rng: &mut ChaCha8Rng) -> Drawn {
        let one = self.beliefs.pick(Normals::uniform(rng));
        let (centre, sigma) = one.belief.draw(normals, rng);
        Drawn { centre, sigma, differ: one.factor }
    }

    /// The centre of an assembly in a draw.
    pub(crate) fn of_assembly(
        &self,
        drawn: Drawn,
        seen: Option<usize>,
        normals: &mut Normals,
        rng: &mut ChaCha8Rng,
    ) -> f64 {
        let Drawn { centre, sigma, differ } = drawn;
        let normal = normals.next(rng);
        let Some(seen) = seen.map(|place| self.assemblies[place]) else {
            return centre + sigma * differ.sqrt() * normal;
        };
        // What is seen of it counts by its weight, the others by 1/differ.
        let known = differ * seen.weight / (1.0 + differ * seen.weight);
        centre
            + known * (seen.mean - centre)
            + sigma * (differ / (1.0 + differ * seen.weight)).sqrt() * normal
    }
}

/// One draw of the builder's pace.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Drawn {
    centre: f64,
    /// Standard deviation of the logarithm, of a step of one session.
    pub(crate) sigma: f64,
    differ: f64,
}

/// What is known of the hours that a week really has.
#[derive(Clone, Debug, PartialEq)]
pub struct WeekHours {
    beliefs: Beliefs,
    /// Root of real over planned hours of the last week that had any, and weeks since.
    last: Option<(f64, i32)>,
    gap_begins: [f64; 2],
    gap_ends: [f64; 2],
    /// Whether the last week had no hour.
    away: bool,
    weeks: usize,
}

impl WeekHours {
    /// What the weeks so far say, oldest first; a week without an hour is 0.
    ///
    /// # Units
    /// - `planned`: hours of the builder's week, above 0
    /// - `weeks`: hours of each whole week so far
    #[must_use]
    pub fn learn(planned: f64, weeks: &[f64]) -> Self {
        let has = |hours: f64| hours.is_finite() && hours > 0.0;
        let away: Vec<bool> = weeks.iter().map(|&hours| !has(hours)).collect();
        let (mut gap_begins, mut gap_ends) = (ASSUMED.gap_begins, ASSUMED.gap_ends);
        for pair in away.windows(2) {
            match (pair[0], pair[1]) {
                (false, begins) => gap_begins[usize::from(!begins)] += 1.0,
                (true, still) => gap_ends[usize::from(still)] += 1.0,
            }
        }
        let levels: Vec<(i32, f64)> = (0..)
            .zip(weeks)
            .filter(|&(_, &hours)| has(hours))
            .map(|(week, hours)| (week, (hours / planned).sqrt()))
            .collect();
        let count = i32::try_from(weeks.len()).unwrap_or(i32::MAX);
        Self {
            beliefs: Beliefs::learn(ASSUMED.week, &ASSUMED.weeks_alike, |alike| apart(&levels, alike)),
            last: levels.last().map(|&(week, level)| (level, count - 1 - week)),
            gap_begins,
            gap_ends,
            away: away.last().copied().unwrap_or(false),
            weeks: weeks.len(),
        }
    }

    /// How many weeks it was learned from.
    #[must_use]
    pub fn weeks(&self) -> usize {
        self.weeks
    }

    /// Below which the root of real over planned hours lies with a chance, in the long run, in
    /// weeks that have any.
    ///
    /// # Units
    /// - `chance`: above 0, under 1
    #[must_use]
    pub fn root_ratio_at(&self, chance: f64) -> f64 {
        self.beliefs.at(
            chance,
            |one, chance| one.belief.centre_at(chance),
            |one, x| one.belief.centre_below(x),
        )
    }

    /// The chance of each of [`Assumed::weeks_alike`].
    #[must_use]
    pub fn weeks_alike(&self) -> Vec<(f64, f64)> {
        self.beliefs.0.iter().map(|one| (one.factor, one.chance)).collect()
    }

    /// Share of weeks without an hour, in the long run.
    ///
    /// # Units
    /// - returns: 0 to 1
    #[must_use]
    pub fn share_away(&self) -> f64 {
        let mean = |[yes, no]: [f64; 2]| yes / (yes + no);
        let (begins, ends) = (mean(self.gap_begins), mean(self.gap_ends));
        begins / (begins + ends)
    }

    /// What the builder's weeks are, in one draw.
    pub(crate) fn draw(&self, normals: &mut Normals, rng: &mut ChaCha8Rng) -> Habit {
        let &OneOf { factor: alike, belief, .. } = self.beliefs.pick(Normals::uniform(rng));
        let (centre, sigma) = belief.draw(normals, rng);
        let normal = normals.next(rng);
        let off = match self.last {
            Some((level, ago)) => {
                let kept = alike.powi(ago);
                kept * (level - centre) + sigma * (1.0 - kept * kept).sqrt() * normal
            }
            None => sigma * normal,
        };
        Habit {
            centre,
            off,
            alike,
            step: sigma * (1.0 - alike * alike).sqrt(),
            gap_begins: normals.beta(rng, self.gap_begins),
            gap_ends: normals.beta(rng, self.gap_ends),
            away: self.away,
        }
    }
}

/// Readings with what they share with the one before taken off, and the logarithm of what they
/// were stretched by.
fn apart(levels: &[(i32, f64)], alike: f64) -> (Vec<(f64, f64)>, f64) {
    let mut ln_stretch = 0.0;
    let mut readings = Vec::with_capacity(levels.len());
    let mut before: Option<(i32, f64)> = None;
    for &(week, level) in levels {
        let (kept, shared) = before.map_or((0.0, 0.0), |(then, level)| {
            let kept = alike.powi(week - then);
            (kept, kept * level)
        });
        let scale = (1.0 - kept * kept).sqrt();
        ln_stretch -= scale.ln();
        readings.push(((1.0 - kept) / scale, (level - shared) / scale));
        before = Some((week, level));
    }
    (readings, ln_stretch)
}

/// One draw of the builder's weeks, and where it stands in them.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Habit {
    centre: f64,
    off: f64,
    alike: f64,
    step: f64,
    gap_begins: f64,
    gap_ends: f64,
    away: bool,
}

impl Habit {
    /// Real over planned hours of the next week.
    ///
    /// `at_work`: hours of that week are in the record already, so that no gap has begun.
    pub(crate) fn next(&mut self, at_work: bool, normals: &mut Normals, rng: &mut ChaCha8Rng) -> f64 {
        let pick = Normals::uniform(rng);
        self.off = self.alike * self.off + self.step * normals.next(rng);
        self.away = !at_work && if self.away { pick >= self.gap_ends } else { pick < self.gap_begins };
        if self.away { 0.0 } else { (self.centre + self.off).max(0.0).powi(2) }
    }
}
