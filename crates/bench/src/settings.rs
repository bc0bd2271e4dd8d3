//! Settings of a squeezer: which holes share one, and how far one is from the next.
//!
//! At the end of its stroke the open gap is S = S0 + G + h − F/k. S0 (tool,
//! yoke, dies) is not known until it is learned and is the same for all holes
//! that are looked at here, so everything is reckoned in x = G + h − F/k, and
//! only differences of x are shown: no absolute gap. A setting serves several
//! groups of holes where each of them keeps its P(height); the cheapest choice
//! of settings is exact. Theory chapter, "Settings".
//!
//! Not here: whether the tool reaches the holes and has the force, and in
//! which order they are set.

mod adjust;
mod cover;

use std::collections::BTreeSet;

use faying_joint::callout::Landing;
use faying_joint::head::Heights;
use faying_joint::odds::{Range, conforms};
use faying_standards::{Cited, Dash, Force, Length, Working, figures};

pub use adjust::{Adjust, How, Move};

/// How near to the best aim is near enough: a hundredth of a thousandth.
const FINE: Length = Length::from_nanometres(254);
/// Standard uncertainties beyond the heights that work from which nothing lands inside.
const FAR: f64 = 6.0;
/// Standard uncertainties beyond the heights that work within which the best aim lies.
const NEAR: f64 = 3.0;
/// Probabilities nearer to each other than this are one: the quadrature is no better.
const SAME: f64 = 1e-6;
/// Lowest height at which a head is reckoned, in. Thinner than any rivet leaves one.
const LOWEST: f64 = 1e-3;

/// How far a yoke springs open under a force.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spring {
    /// 1/k, in per lbf.
    pub per_lbf: f64,
    /// Its standard uncertainty, in per lbf.
    pub u: f64,
}

impl Spring {
    /// A yoke that does not give.
    pub const STIFF: Self = Self { per_lbf: 0.0, u: 0.0 };

    /// What practice says of a throat of about three inches, until heads are in.
    ///
    /// # Source
    /// `standards/constants.csv`, `yoke-spring-least` and `yoke-spring-most`:
    /// so much at the force that presses a 1/8 rivet of 2117-T4 to 1.5 d.
    #[must_use]
    pub fn practice() -> Self {
        let [least, most] =
            ["least", "most"].map(|end| figures().constant(&format!("yoke-spring-{end}")).value);
        let eighth = Length::sixty_fourths(8);
        let width = Length::sixty_fourths(12);
        let force = faying_joint::force::to_form(faying_standards::RivetAlloy::Ad, eighth, width)
            .expect("2117-T4 has a fit")
            .lbf();
        Self {
            per_lbf: f64::midpoint(least, most) / force,
            u: faying_joint::odds::rectangular((most - least) / 2.0) / force,
        }
    }
}

/// A head: where it sits, how high it is, what force it took.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Head {
    /// G.
    pub seat_to_seat: Length,
    /// Its height.
    pub height: Length,
    /// The force that forms it; `None` for an alloy without a fit.
    pub force: Option<Force>,
}

/// The change from one head to another with the same tool, yoke, dies and diameter.
#[derive(Clone, Debug, PartialEq)]
pub struct Opening {
    /// ΔS, positive is more open.
    pub by: Length,
    /// Its standard uncertainty from the spring of the yoke alone.
    pub u: Length,
    /// Whether the spring of the yoke is in it; not for an alloy without a force.
    pub spring_in: bool,
    /// How it was reckoned.
    pub working: Working,
}

/// ΔS = ΔG + Δh − ΔF/k.
///
/// # Source
/// Theory chapter, "Settings".
#[must_use]
pub fn opening(from: &Head, to: &Head, spring: Spring) -> Opening {
    let force = from.force.zip(to.force).map(|(from, to)| to.lbf() - from.lbf());
    let springs = Length::from_inches(force.unwrap_or(0.0) * spring.per_lbf);
    let by = (to.seat_to_seat - from.seat_to_seat) + (to.height - from.height) - springs;
    let mut working = Working::default();
    working.add(
        "change of the gap",
        if force.is_some() { "ΔS = ΔG + Δh − ΔF/k" } else { "ΔS = ΔG + Δh" },
        format!(
            "({} − {}) + ({} − {}){}",
            to.seat_to_seat.decimal(),
            from.seat_to_seat.decimal(),
            to.height.decimal(),
            from.height.decimal(),
            force.map_or_else(String::new, |force| format!(
                " − ({force:.0} lbf × {:.1} in per million lbf)",
                spring.per_lbf * 1e6
            ))
        ),
        adjust::said(by),
        Cited::theory("settings"),
    );
    Opening {
        by,
        u: Length::from_inches(force.unwrap_or(0.0).abs() * spring.u),
        spring_in: force.is_some(),
        working,
    }
}

/// What decides where heads of a group land.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Heads {
    /// Height and width as the call-out has them, with the force to form.
    Landing(Landing),
    /// Heights alone, with a standard uncertainty in inches.
    Window { heights: Heights, u: f64 },
}

/// Holes of one stack and one length, set with one tool, yoke and pair of dies.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// Its name, for the caller.
    pub name: String,
    /// How many holes.
    pub count: usize,
    /// The length of rivet.
    pub dash: Dash,
    /// G.
    pub seat_to_seat: Length,
    heads: Heads,
    /// 1/k, in per lbf.
    per_lbf: f64,
}

impl Group {
    /// A group whose heads land as the call-out reckons them.
    #[must_use]
    pub fn new(
        name: impl Into<String>,
        count: usize,
        dash: Dash,
        seat_to_seat: Length,
        landing: Landing,
        spring: Spring,
    ) -> Self {
        let heads = Heads::Landing(landing);
        // A few heads that contradict each other may say that a yoke closes under load.
        let per_lbf = spring.per_lbf.max(0.0);
        Self { name: name.into(), count, dash, seat_to_seat, heads, per_lbf }
    }

    /// A group of which only the heights are known: no width and no force.
    ///
    /// # Units
    /// - `u`: standard uncertainty of the height that a set-up leaves
    #[must_use]
    pub fn of_heights(
        name: impl Into<String>,
        count: usize,
        dash: Dash,
        seat_to_seat: Length,
        heights: Heights,
        u: Length,
    ) -> Self {
        let heads = Heads::Window { heights, u: u.inches() };
        Self { name: name.into(), count, dash, seat_to_seat, heads, per_lbf: 0.0 }
    }

    /// The heights that work.
    #[must_use]
    pub const fn heights(&self) -> Heights {
        match self.heads {
            Heads::Landing(landing) => landing.heights(),
            Heads::Window { heights, .. } => heights,
        }
    }

    fn u(&self) -> f64 {
        match self.heads {
            Heads::Landing(landing) => landing.height_u(),
            Heads::Window { u, .. } => u,
        }
    }

    /// The head of this group at a height.
    #[must_use]
    pub fn head_at(&self, height: Length) -> Head {
        let force = match self.heads {
            Heads::Landing(landing) => landing.force_at(height),
            Heads::Window { .. } => None,
        };
        Head { seat_to_seat: self.seat_to_seat, height, force }
    }

    /// x = G + h − F/k, the gap that leaves a height, less S0.
    ///
    /// It rises with the height: a higher head takes less force.
    #[must_use]
    pub fn x_at(&self, height: Length) -> Length {
        let head = self.head_at(height);
        let springs = head.force.map_or(0.0, |force| force.lbf() * self.per_lbf);
        head.seat_to_seat + head.height - Length::from_inches(springs)
    }

    /// The height that a gap leaves, to 10⁻⁷ in; `None` where the dies would meet the sheet.
    #[must_use]
    pub fn height_at(&self, x: Length) -> Option<Length> {
        let lowest = Length::from_inches(LOWEST);
        let plain = x - self.seat_to_seat;
        if self.per_lbf == 0.0 || matches!(self.heads, Heads::Window { .. }) {
            return (plain >= lowest).then_some(plain);
        }
        if self.x_at(lowest) > x {
            return None;
        }
        // The yoke only ever springs open, so the head is no lower than the gap without force.
        let mut low = plain.max(lowest);
        let mut high = low.max(self.heights().most);
        while self.x_at(high) < x {
            high = high * 2;
        }
        while (high - low).inches() > 1e-7 {
            let middle = Length::from_nanometres(i64::midpoint(low.nanometres(), high.nanometres()));
            if self.x_at(middle) < x {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some(high)
    }

    /// How far the gap changes for a change of the height, dx/dh; 1 for a yoke that does not give.
    #[must_use]
    pub fn x_per_height(&self, height: Length) -> f64 {
        let step = Length::from_nanometres(2_540);
        (self.x_at(height + step) - self.x_at(height - step)).inches() / (step + step).inches()
    }

    /// P(height) when a height is aimed at.
    fn p_of(&self, height: Length) -> f64 {
        match self.heads {
            Heads::Landing(landing) => landing.p_at(height),
            Heads::Window { heights, u } => {
                let range = Range { least: Some(heights.least.inches()), most: Some(heights.most.inches()) };
                conforms(height.inches(), u, range)
            }
        }
    }

    /// P(height) at a gap.
    #[must_use]
    pub fn p_at(&self, x: Length) -> f64 {
        let Some(height) = self.height_at(x) else { return 0.0 };
        let far = Length::from_inches(FAR * self.u());
        let Heights { least, most } = self.heights();
        if height < least - far || height > most + far { 0.0 } else { self.p_of(height) }
    }

    /// P(height) along a row of rising gaps, made to fall from its best on both sides.
    ///
    /// It does so already, but for the last digits: height and
    /// the height at which the head is wide enough have a joint density that is
    /// log-concave, what is inside is a convex set, and such a density stays
    /// log-concave when a variable is summed out. So P has one peak in the aim,
    /// and the aim rises with the gap. The call-out takes the width as straight
    /// about each aim; a test holds the one peak to 10⁻⁶ all the same.
    fn p_along(&self, points: &[Length]) -> Vec<f64> {
        let (least, most) = self.span();
        let p_of = |&x: &Length| if (least..=most).contains(&x) { self.p_at(x) } else { 0.0 };
        let mut p: Vec<f64> = points.iter().map(p_of).collect();
        let best = highest(&p);
        for point in best + 1..p.len() {
            p[point] = p[point].min(p[point - 1]);
        }
        for point in (0..best).rev() {
            p[point] = p[point].min(p[point + 1]);
        }
        p
    }

    /// Gaps outside of which none of its heads lands inside.
    fn span(&self) -> (Length, Length) {
        let far = Length::from_inches(FAR * self.u());
        let Heights { least, most } = self.heights();
        (self.x_at((least - far).max(Length::from_inches(LOWEST))), self.x_at(most + far))
    }

    /// The gap at which most of its heads land inside, and P(height) there.
    ///
    /// Found by thirds, because P has one peak. It lies near the heights that
    /// work, though not always among them: their end is where a head is wide
    /// enough on average, and a tail may be longer than on average.
    #[must_use]
    pub fn best(&self) -> (Length, f64) {
        let middle = self.heights().middle();
        let p = self.p_of(middle);
        // As good as certain over a whole range, whose middle is farthest from trouble.
        if p >= 1.0 - SAME {
            return (self.x_at(middle), p);
        }
        let near = Length::from_inches(NEAR * self.u());
        let Heights { least, most } = self.heights();
        let (mut low, mut high) = (least - near, most + near);
        while high - low > FINE {
            let third = Length::from_nanometres((high - low).nanometres() / 3);
            if self.p_of(low + third) < self.p_of(high - third) {
                low += third;
            } else {
                high = high - third;
            }
        }
        let at = Length::from_nanometres(i64::midpoint(low.nanometres(), high.nanometres()));
        (self.x_at(at), self.p_of(at))
    }
}

fn highest(p: &[f64]) -> usize {
    p.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1).then(b.0.cmp(&a.0))).map_or(0, |(at, _)| at)
}

/// The middle of the points of the least cost: where a whole range costs the same, its
/// middle is farthest from trouble.
fn middle_of_best(values: &[f64], cost: impl Fn(f64) -> f64) -> usize {
    let least = values.iter().map(|&value| cost(value)).fold(f64::INFINITY, f64::min);
    let among = |value: &&f64| cost(**value) <= least + 1e-9 * least.abs().max(1.0);
    let first = values.iter().position(|value| among(&value)).unwrap_or(0);
    let count = values[first..].iter().take_while(among).count().max(1);
    first + (count - 1) / 2
}

/// Seconds that the choice of settings weighs against each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Costs {
    /// A change of the setting, with its coupon.
    pub set_up: f64,
    /// Drilling out a rivet and setting another.
    pub removal: f64,
}

/// Where the tool stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Stand {
    /// x of the head that was proven last, or of the one that will be proven first.
    pub x: Length,
    /// Shims under the set, or the length of the set that is in, as in [`Adjust::nearest`].
    pub fitted: Vec<Length>,
}

/// A group at its setting.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// Number of the group.
    pub group: usize,
    /// P(height) there.
    pub p: f64,
    /// The height that the setting leaves.
    pub height: Length,
    /// P(height) at its own best, were the tool free of steps.
    pub p_best: f64,
}

/// One setting and what is set with it.
#[derive(Clone, Debug, PartialEq)]
pub struct Setting {
    /// x, for reckoning; it is not shown.
    pub x: Length,
    /// The change from where the tool stands.
    pub change: Move,
    /// Its groups, one length after the other.
    pub groups: Vec<Placed>,
}

/// What another way of choosing would come to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Compared {
    /// How many settings.
    pub settings: usize,
    /// Seconds of set-ups and of expected removals.
    pub seconds: f64,
    /// How many rivets are expected to come out again.
    pub removals: f64,
    /// The lowest P(height) of any group.
    pub p_least: f64,
}

/// The settings of a run, and how good the choice is.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// From least to most open.
    pub settings: Vec<Setting>,
    /// What they come to.
    pub total: Compared,
    /// No choice under the same rule is cheaper than this, in seconds.
    pub lower_bound: f64,
    /// No choice under the same rule has fewer settings.
    pub least_settings: usize,
    /// One setting for each length of rivet, whatever the odds.
    pub per_length: Compared,
    /// One setting for each G.
    pub per_grip: Compared,
    /// Groups that the tool cannot set: none of its steps gives any of their heads.
    pub unreached: Vec<usize>,
}

/// The settings that cost least.
///
/// A setting serves a group if P(height) is at least `shared-setting` of the
/// constants there; a group that reaches that nowhere on the tool's steps has
/// the steps of its own best odds and no others. The cost is that of the
/// settings and of the rivets that are expected to come out again. All groups
/// must be of one tool, yoke, pair of dies and diameter.
///
/// # Source
/// Theory chapter, "Settings".
#[must_use]
pub fn choose(groups: &[Group], adjust: &Adjust, stand: &Stand, costs: Costs) -> Settings {
    let points = points_of(groups, adjust, stand);
    let odds: Vec<Vec<f64>> = groups.iter().map(|group| group.p_along(&points)).collect();
    let best_of = |group: usize| odds[group].iter().copied().fold(0.0, f64::max);
    let (reached, unreached): (Vec<usize>, Vec<usize>) =
        (0..groups.len()).partition(|&group| best_of(group) > SAME);
    let keep = figures().constant("shared-setting").value;
    let rework = |group: usize, p: f64| groups[group].count as f64 * (1.0 - p) * costs.removal;
    let valleys: Vec<cover::Valley> = reached
        .iter()
        .map(|&group| {
            let best = best_of(group);
            let least = if best >= keep { keep } else { best - SAME };
            let cost = |&p: &f64| if p >= least { rework(group, p) } else { f64::INFINITY };
            odds[group].iter().map(cost).collect()
        })
        .collect();

    let open = cover::cheapest(&valleys, costs.set_up);
    let mut members: Vec<Vec<usize>> = vec![Vec::new(); open.len()];
    for (user, valley) in valleys.iter().enumerate() {
        let cheapest = (0..open.len()).min_by(|&a, &b| valley[open[a]].total_cmp(&valley[open[b]]));
        if let Some(setting) = cheapest {
            members[setting].push(user);
        }
    }
    let settings: Vec<Setting> = members
        .iter()
        .filter(|users| !users.is_empty())
        .map(|users| {
            let sums: Vec<f64> =
                (0..points.len()).map(|point| users.iter().map(|&user| valleys[user][point]).sum()).collect();
            let at = middle_of_best(&sums, |cost| cost);
            let x = points[at];
            let mut placed: Vec<Placed> = users
                .iter()
                .map(|&user| {
                    let group = &groups[reached[user]];
                    let height = group.height_at(x).unwrap_or_default();
                    let p = odds[reached[user]][at];
                    Placed { group: reached[user], p, height, p_best: group.best().1 }
                })
                .collect();
            placed.sort_by_key(|placed| {
                let group = &groups[placed.group];
                (group.dash, group.seat_to_seat, placed.group)
            });
            Setting { x, change: adjust.nearest(&stand.fitted, x - stand.x), groups: placed }
        })
        .collect();

    let total = compared(
        settings.len(),
        settings.iter().flat_map(|setting| &setting.groups).map(|it| (groups[it.group].count, it.p)),
        costs,
    );
    let spans: Vec<(usize, usize)> = valleys.iter().filter_map(|valley| span_of(valley)).collect();
    let least_settings = cover::stab(&spans).len();
    let least_rework: f64 = reached.iter().map(|&group| rework(group, best_of(group))).sum();
    let alike = |key: &dyn Fn(&Group) -> i64| {
        let keys: BTreeSet<i64> = reached.iter().map(|&group| key(&groups[group])).collect();
        let mut odds_there = Vec::new();
        for own in &keys {
            let users: Vec<usize> =
                reached.iter().copied().filter(|&group| key(&groups[group]) == *own).collect();
            let failing: Vec<f64> = (0..points.len())
                .map(|point| users.iter().map(|&it| groups[it].count as f64 * (1.0 - odds[it][point])).sum())
                .collect();
            let at = middle_of_best(&failing, |cost| cost);
            odds_there.extend(users.iter().map(|&group| (groups[group].count, odds[group][at])));
        }
        compared(keys.len(), odds_there.into_iter(), costs)
    };
    Settings {
        total,
        lower_bound: least_settings as f64 * costs.set_up + least_rework,
        least_settings,
        per_length: alike(&|group| i64::from(group.dash.thirty_seconds())),
        per_grip: alike(&|group| group.seat_to_seat.nanometres()),
        settings,
        unreached,
    }
}

/// The gaps the tool can take, as far as any group has use for them.
fn points_of(groups: &[Group], adjust: &Adjust, stand: &Stand) -> Vec<Length> {
    let spans: Vec<(Length, Length)> = groups.iter().map(Group::span).collect();
    let Some((least, most)) = spans.iter().copied().reduce(|a, b| (a.0.min(b.0), a.1.max(b.1))) else {
        return Vec::new();
    };
    let mut points: Vec<Length> = adjust
        .changes(&stand.fitted, least - stand.x, most - stand.x)
        .into_iter()
        .map(|by| stand.x + by)
        .collect();
    points.retain(|x| spans.iter().any(|(least, most)| (least..=most).contains(&x)));
    points
}

fn span_of(valley: &[f64]) -> Option<(usize, usize)> {
    let start = valley.iter().position(|cost| cost.is_finite())?;
    Some((start, valley.iter().rposition(|cost| cost.is_finite())?))
}

fn compared(settings: usize, odds: impl Iterator<Item = (usize, f64)>, costs: Costs) -> Compared {
    let (mut removals, mut p_least) = (0.0, 1.0_f64);
    for (count, p) in odds {
        removals += count as f64 * (1.0 - p);
        p_least = p_least.min(p);
    }
    let seconds = settings as f64 * costs.set_up + removals * costs.removal;
    Compared { settings, seconds, removals, p_least }
}

impl Settings {
    /// The lines by which the choice was weighed up.
    #[must_use]
    pub fn working(&self, groups: &[Group], costs: Costs) -> Working {
        let mut working = Working::default();
        let theory = || Cited::theory("settings");
        for (number, setting) in self.settings.iter().enumerate() {
            for placed in &setting.groups {
                let group = &groups[placed.group];
                working.add(
                    format!("setting {}: {}", number + 1, group.name),
                    "P(height) at x = G + h − F/k",
                    format!(
                        "{} holes, {}, G {}, head {} high of {} to {}",
                        group.count,
                        group.dash,
                        thousandths(group.seat_to_seat),
                        thousandths(placed.height),
                        thousandths(group.heights().least),
                        thousandths(group.heights().most)
                    ),
                    format!("{:.4}", placed.p),
                    Cited::theory("uncertainty"),
                );
            }
        }
        let line = |it: &Compared| {
            format!(
                "{} × {:.0} s + {:.2} removals × {:.0} s",
                it.settings, costs.set_up, it.removals, costs.removal
            )
        };
        let formula = "settings × set-up + Σ n·(1 − P)·removal";
        for (name, it) in [
            ("settings chosen", &self.total),
            ("one setting for each length", &self.per_length),
            ("one setting for each grip", &self.per_grip),
        ] {
            working.add(name, formula, line(it), format!("{:.0} s", it.seconds), theory());
        }
        working.add(
            "lower bound",
            "fewest settings × set-up + Σ n·(1 − best P)·removal",
            format!("{} settings at least", self.least_settings),
            format!("{:.0} s", self.lower_bound),
            theory(),
        );
        working
    }
}

fn thousandths(length: Length) -> String {
    Length::from_inches((length.inches() * 1e3).round() / 1e3).decimal()
}
