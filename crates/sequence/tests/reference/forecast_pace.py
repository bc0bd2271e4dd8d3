"""Pace and hours of a week, by SciPy's multivariate Student distribution.

An independent program for src/pace.rs. There is no centre and no group mean
here: what was seen is one draw from a multivariate Student distribution, whose
shape matrix holds the scatter of each reading, what readings share, and the
centre that is not known. How likely each factor is comes from its density; the
centre is one more coordinate of the same distribution, conditioned on the
others. Quantiles of the mixture by root finding.
Run:  python3 forecast_pace.py > ../data/forecast_pace.csv
Written with NumPy 2.4 and SciPy 1.17.

Lines: "step" case, assembly, planned and real hours; "week" case, planned and
real hours; "pace" case, chance of each factor, then the centre at .1 .5 .9 and
the scatter; "weeks" case, chance of each factor, then the centre at .1 .5 .9.
"plain" has one belief without a factor: prior centre, strength, shape, scale,
then the readings' number, weights and values, and after them the centre and the
next reading of weight 2, each at .025 .1 .5 .9 .975.
"""

import numpy as np
from scipy import optimize, stats

rng = np.random.default_rng(1970)


def joint(shape, scale, prior_mean, strength, covariance):
    """Mean and shape matrix of (readings, centre)."""
    n = len(covariance)
    whole = np.full((n + 1, n + 1), 1 / strength)
    whole[:n, :n] += covariance
    return np.full(n + 1, prior_mean), whole * scale / shape


def condition(mean, whole, dof, seen):
    """Student distribution of the last coordinate, given the others."""
    n = len(seen)
    if n == 0:
        return stats.t(dof, mean[0], np.sqrt(whole[0, 0]))
    inside, across = whole[:n, :n], whole[n, :n]
    solved = np.linalg.solve(inside, seen - mean[:n])
    distance = (seen - mean[:n]) @ solved
    centre = mean[n] + across @ solved
    spread = whole[n, n] - across @ np.linalg.solve(inside, across)
    return stats.t(dof + n, centre, np.sqrt(spread * (dof + distance) / (dof + n)))


def mixture(prior, covariances, seen):
    prior_mean, strength, shape, scale = prior
    logs, given, scatter = [], [], []
    for covariance in covariances:
        mean, whole = joint(shape, scale, prior_mean, strength, covariance)
        n = len(seen)
        density = stats.multivariate_t(mean[:n], whole[:n, :n], df=2 * shape).logpdf(seen) if n else 0.0
        logs.append(float(density))
        given.append(condition(mean, whole, 2 * shape, seen))
        # Scale over shape behind the readings: the conditional of one more reading tells it.
        distance = 0.0
        if n:
            distance = (seen - mean[:n]) @ np.linalg.solve(whole[:n, :n], seen - mean[:n]) * scale / shape
        scatter.append((scale + distance / 2) / (shape + n / 2))
    chances = np.exp(np.array(logs) - max(logs))
    chances /= chances.sum()
    places = []
    for chance in (0.1, 0.5, 0.9):
        ends = [one.ppf(chance) for one in given]
        below = lambda x: sum(c * one.cdf(x) for c, one in zip(chances, given)) - chance
        low, high = min(ends) - 1e-6, max(ends) + 1e-6
        places.append(optimize.brentq(below, low, high, xtol=1e-14))
    return chances, places, np.sqrt(chances @ np.array(scatter))


def line(kind, *cells):
    print(kind, *[repr(float(c)) if isinstance(c, (float, np.floating)) else c for c in cells], sep=",")


for case in range(12):
    count = [0, 1, 2, 5, 12, 25, 40, 60, 80, 100, 3, 9][case]
    assemblies = np.sort(rng.integers(0, [1, 3, 6][case % 3], count)) * 7 + 2
    planned = np.round(rng.gamma(2, 2.5, count) + 0.1, 2)
    centre = rng.normal(0.3, 0.4)
    differ = {int(a): rng.normal(0, [0, 0.3, 0.8][case % 3]) for a in assemblies}
    real = np.round(planned * np.exp(centre + np.array([differ[int(a)] for a in assemblies]) + rng.normal(0, 0.4, count)), 2)
    real = np.maximum(real, 0.01)
    for row in zip(assemblies, planned, real):
        line("step", case, *row)
    weight = np.clip(planned, 1.5, 12.0) / 3.0
    same = (assemblies[:, None] == assemblies[None, :]).astype(float)
    covariances = [np.diag(1 / weight) + differ * same for differ in (0.0, 0.1, 0.3, 1.0)]
    chances, places, scatter = mixture((0.0, 1.0, 3.0, 3 * 0.4**2), covariances, np.log(real / planned))
    line("pace", case, *chances, *places, scatter)

for case in range(12):
    count = [0, 1, 2, 4, 8, 15, 30, 52, 80, 120, 150, 20][case]
    hours = [8.0, 6.5, 12.0][case % 3]
    level, weeks = 0.0, []
    kept = [0.0, 0.5, 0.9][case % 3]
    for _ in range(count):
        level = kept * level + np.sqrt(1 - kept**2) * rng.normal(0, 0.25)
        weeks.append(0.0 if rng.random() < 0.2 else round(hours * max(0.1, 0.85 + level) ** 2, 2))
    for week in weeks:
        line("week", case, hours, week)
    weeks = np.array(weeks)
    at = np.flatnonzero(weeks > 0)
    apart = np.abs(at[:, None] - at[None, :])
    covariances = [np.where(apart == 0, 1.0, alike**apart) for alike in (0.0, 0.3, 0.6, 0.8, 0.9)]
    chances, places, _ = mixture((1.0, 2.0, 3.0, 3 * 0.25**2), covariances, np.sqrt(weeks[at] / hours))
    line("weeks", case, *chances, *places)

for case in range(8):
    prior_mean, strength = rng.normal(0, 0.5), float(np.round(rng.uniform(0.5, 4), 2))
    shape, scale = float(np.round(rng.uniform(1.5, 5), 2)), float(np.round(rng.uniform(0.2, 2), 3))
    count = [0, 1, 2, 3, 6, 10, 30, 100][case]
    weight = np.round(rng.uniform(0.5, 4, count), 3)
    seen = np.round(rng.normal(prior_mean + 0.5, 0.6, count), 4)
    mean, whole = joint(shape, scale, prior_mean, strength, np.diag(1 / weight))
    centre = condition(mean, whole, 2 * shape, seen)
    # The next reading in place of the centre: it scatters by itself too.
    whole[-1, -1] += scale / shape / 2.0
    following = condition(mean, whole, 2 * shape, seen)
    chances = (0.025, 0.1, 0.5, 0.9, 0.975)
    line("plain", case, prior_mean, strength, shape, scale, count, *weight, *seen,
         *[float(centre.ppf(c)) for c in chances], *[float(following.ppf(c)) for c in chances])
