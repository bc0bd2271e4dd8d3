"""Monte Carlo of the shop head, by NumPy.

An independent program for crates/joint/src/callout.rs. It draws rivet length,
sheets and hole from their rectangles and the set height from a normal, forms
each head by constant volume, and counts; it knows nothing of first order.
Run:  python3 head_monte_carlo.py > ../data/head_monte_carlo.csv
Written with NumPy 2.

Figures: shank nominal; hole as drilled (#40 .098, #30 .1285, #21 .159), or
.105 and .134 after dimpling; hole +.003/-0; length +-.010; set height u
.0026; 15 % of the metal missing; sheet tolerance by thickness as a trade page
quotes ASTM B209. Limits: MIL-R-47196A as quoted (3/32, 1/8), MIL-HDBK-5H
(1.3 d x 0.3 d) for 5/32.
"""

import math

import numpy as np

N = 2_000_000
MISSING = 0.15
HEAD = {3: 0.179, 4: 0.225}  # MS20426 head diameter
DIMPLED = {3: 0.105, 4: 0.134}
DRILLED = {3: 0.098, 4: 0.1285, 5: 0.159}
LIMITS = {3: (0.122, 0.038, 0.050), 4: (0.163, 0.050, 0.070), 5: (1.3 * 0.15625, 0.3 * 0.15625, None)}


def sheet_tolerance(t):
    for low, high, tolerance in [
        (0.006, 0.012, 0.0008),
        (0.013, 0.019, 0.001),
        (0.020, 0.032, 0.0015),
        (0.033, 0.063, 0.002),
        (0.064, 0.125, 0.003),
        (0.126, 0.249, 0.005),
    ]:
        if low <= t <= high:
            return tolerance
    raise ValueError(t)


def odds(dash, sheets, dimpled, length_32nds, rng):
    d = dash / 32
    w_min, h_min, h_max = LIMITS[dash]
    hole = DIMPLED[dash] if dimpled else DRILLED[dash]
    lip = (HEAD[dash] - hole) / (2 * math.tan(math.radians(50))) if dimpled else 0.0

    def squares(length, grip, hole):  # d2 p less what the hole takes, in3 over pi/4
        return d * d * (length - grip - lip) - (hole**2 - d * d) * grip

    length = length_32nds / 32 + rng.uniform(-0.010, 0.010, N)
    grip = sum(t + rng.uniform(-sheet_tolerance(t), sheet_tolerance(t), N) for t in sheets)
    arrived = (1 - MISSING) * squares(length, grip, hole + rng.uniform(0, 0.003, N))
    wide_below = arrived / w_min**2
    p_wide = np.mean(wide_below >= h_min)

    nominal = (1 - MISSING) * squares(length_32nds / 32, sum(sheets), hole) / w_min**2
    if h_max is None or nominal < h_min:
        return p_wide, None
    aim = (h_min + min(h_max, nominal)) / 2
    h = rng.normal(aim, 0.0026, N)
    inside = (h >= h_min) & (h <= h_max) & (arrived >= h * w_min**2)
    return p_wide, np.mean(inside)


print("rivet,sheets,dimpled,length_32nds,p_wide,p_height")
rng = np.random.default_rng(47196)
for dash, sheets, dimpled, lengths in [
    (4, (0.063, 0.040, 0.040), False, (8, 9, 10, 11)),
    (4, (0.032, 0.032), False, (5, 6, 7, 8)),
    (4, (0.032, 0.040), False, (6, 7, 8)),
    (4, (0.125, 0.125, 0.063), False, (14, 15, 16)),
    (3, (0.025, 0.025), False, (4, 5, 6)),
    (3, (0.063, 0.063), False, (6, 7, 8)),
    (3, (0.025, 0.032), True, (6, 7, 8)),
    (3, (0.032, 0.040), True, (6, 7, 8)),
    (4, (0.032, 0.032), True, (7, 8, 9)),
    (5, (0.063, 0.063), False, (7, 8, 10)),
]:
    for length in lengths:
        p_wide, p_height = odds(dash, sheets, dimpled, length, rng)
        shown = "" if p_height is None else f"{p_height:.4f}"
        print(f"{dash},{' '.join(map(str, sheets))},{str(dimpled).lower()},{length},{p_wide:.4f},{shown}")
