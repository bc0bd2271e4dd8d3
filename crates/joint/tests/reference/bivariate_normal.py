"""Rectangle probabilities of a bivariate normal, by SciPy.

An independent program for crates/joint/src/odds.rs: SciPy integrates the
density in two dimensions (Genz), the crate does a one-dimensional quadrature.
Run:  python3 bivariate_normal.py > ../data/bivariate_normal.csv
Written with SciPy 1.17.1.
"""

import itertools

import numpy as np
from scipy.stats import multivariate_normal


def rectangle(mean, u, rho, low, high):
    cov = [[u[0] ** 2, rho * u[0] * u[1]], [rho * u[0] * u[1], u[1] ** 2]]
    # In units of the standard uncertainties: SciPy's error goal is absolute.
    pair = multivariate_normal([0, 0], [[1, rho], [rho, 1]], abseps=1e-10, releps=1e-10, maxpts=10_000_000)
    scaled = lambda corner: [(corner[i] - mean[i]) / u[i] for i in range(2)]
    return pair.cdf(scaled(high), lower_limit=scaled(low))


print("h,d,u_h,u_d,rho,h_least,h_most,d_least,d_most,probability")
# Height and width of a 1/8 and a 3/32 shop head, in; limits of the specification as quoted,
# and narrower ones; the width falls with the height, so rho is negative.
cases = [
    ((0.060, 0.189), (0.0026, 0.0050), (0.050, 0.163), (0.070, 9.0)),
    ((0.060, 0.168), (0.0026, 0.0050), (0.050, 0.163), (0.070, 9.0)),
    ((0.053, 0.164), (0.0026, 0.0040), (0.050, 0.163), (0.070, 9.0)),
    ((0.044, 0.124), (0.0026, 0.0060), (0.038, 0.122), (0.050, 9.0)),
    ((0.044, 0.140), (0.0026, 0.0060), (0.038, 0.122), (0.050, 0.1439)),
    ((0.044, 0.131), (0.0040, 0.0040), (0.041, 0.128), (0.047, 0.134)),
]
for (mean, u, low, high), rho in itertools.product(cases, (-0.98, -0.8, -0.5, 0.0, 0.4)):
    p = rectangle(np.array(mean), u, rho, low, high)
    print(",".join(f"{x:g}" for x in (*mean, *u, rho, low[0], high[0], low[1], high[1])) + f",{p:.9f}")
