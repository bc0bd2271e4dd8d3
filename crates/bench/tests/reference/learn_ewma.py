"""Moving averages and their limits, by SciPy's recursive filter.

An independent program for src/learn/chart.rs.
Run:  python3 learn_ewma.py > ../data/learn_ewma.csv
Written with NumPy 2.4 and SciPy 1.17.

The variance of the i-th average is summed from its weights, λ(1 − λ)^j of the
value j before: no closed form.
"""

import numpy as np
from scipy.signal import lfilter

rng = np.random.default_rng(6324)
print("case,lambda,sigma,limits,value,z,limit")
for case, (weight, sigma, limits, drift) in enumerate(
    [(0.2, 0.0028, 3.0, 0.0), (0.2, 0.0028, 3.0, 0.0004), (0.05, 1.0, 2.7, 0.0), (1.0, 2.0, 3.0, 0.1)]
):
    values = np.round(rng.normal(0, sigma, 25) + drift * np.arange(25), 6)
    z = lfilter([weight], [1.0, weight - 1.0], values)
    weights = weight * (1 - weight) ** np.arange(25)
    limit = limits * sigma * np.sqrt(np.cumsum(weights**2))
    for row in zip(values, z, limit):
        print(case, weight, sigma, limits, *row, sep=",")
