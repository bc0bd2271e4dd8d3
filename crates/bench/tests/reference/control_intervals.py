"""Exact binomial intervals by beta quantiles, and factors of the t distribution.

An independent program for src/control.rs.
Run:  python3 control_intervals.py > ../data/control_intervals.csv
Written with SciPy 1.17.
"""

from scipy.stats import beta, t

CASES = [
    (0, 1), (0, 30), (1, 30), (3, 30), (30, 30), (1, 1), (2, 7), (5, 200), (1, 3000), (57, 3000),
    (12, 840), (839, 840),
]

print("kind,a,b,c,d,e")
for events, trials in CASES:
    low = 0.0 if events == 0 else beta.ppf(0.05, events, trials - events + 1)
    high = 1.0 if events == trials else beta.ppf(0.95, events + 1, trials - events)
    print(f"rate,{events},{trials},0.9,{low:.15g},{high:.15g}")
for level in (0.90, 0.95):
    for freedom in (1, 2, 9, 16, 60, 400):
        print(f"factor,{level},{freedom},{t.ppf((1 + level) / 2, freedom):.15g},,")
