"""Bayesian linear regression of S0 and the spring of a yoke, by NumPy and SciPy.

An independent program for src/learn/yoke.rs. The prior on the spring is put in
as one more equation, everything is divided by its standard uncertainty, and
the whole is solved by least squares; the covariance is the inverse of the
normal matrix. There is no closed form here and no mean force is taken off.
Run:  python3 learn_yoke.py > ../data/learn_yoke.csv
Written with NumPy 2.4 and SciPy 1.17.

Lines: "reading" case, setting, G, h (in), F (lbf); "answer" case, u of the
height, u of the caliper (in), prior 1/k and its u (in per lbf), then s0, its
u, 1/k, its u, and a head to predict: G, h, F, its setting, its u.
"""

import numpy as np
from scipy import linalg

rng = np.random.default_rng(20470)
print("line,case,a,b,c,d,e,f,g,h,i,j,k,l,m")
for case in range(24):
    count = 1 if case < 3 else int(rng.integers(2, 15))
    height_u, caliper_u = [(0.0026, 0.001), (0.0015, 0.0005), (0.004, 0.001)][case % 3]
    prior, prior_u = [(7.9e-6, 1.5e-6), (5e-6, 5e-6), (1.2e-5, 8e-7)][case % 3]
    noise = np.hypot(height_u, caliper_u)
    spring = rng.normal(prior, prior_u)
    s0 = rng.uniform(-0.2, 0.0)
    grip = np.round(rng.uniform(0.05, 0.25, count), 4)
    height = np.round(rng.uniform(0.045, 0.075, count), 4)
    force = np.round(rng.uniform(1300, 2900, count), 1)
    if case % 5 == 4:
        force = np.round(1900 + rng.uniform(-3, 3, count), 1)  # nearly equal forces
    opened = np.round(s0 + grip + height - force * spring + rng.normal(0, noise, count), 4)
    for row in zip(opened, grip, height, force):
        print("reading", case, *row, sep=",", end=",,,,,,,,,\n")
    rows = np.column_stack([np.ones(count), -force]) / noise
    right = (opened - grip - height) / noise
    rows = np.vstack([rows, [0.0, 1.0 / prior_u]])
    right = np.append(right, prior / prior_u)
    scale = np.array([1.0, 1e-5])  # of the unknowns, for the condition of the matrix
    answer, *_ = linalg.lstsq(rows * scale, right)
    covariance = linalg.inv((rows * scale).T @ (rows * scale)) * np.outer(scale, scale)
    answer = answer * scale
    at = (0.1 + 0.01 * case / 24, 0.06, 1500.0 + 50 * case)
    at = tuple(np.round(at, 4))
    along = np.array([1.0, -at[2]])
    print(
        "answer", case, height_u, caliper_u, prior, prior_u,
        answer[0], covariance[0, 0] ** 0.5, answer[1], covariance[1, 1] ** 0.5,
        *at, at[0] + at[1] + along @ answer, (along @ covariance @ along) ** 0.5,
        sep=",",
    )
