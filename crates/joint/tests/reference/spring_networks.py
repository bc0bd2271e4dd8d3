"""Load shares of rows in line, and forces in a group, by another way: the expected values of tests/strength.rs.

No formula of the tool is used. Rows in line: every sheet has a node at every
row; sheet stretches and fasteners are springs between nodes; the stiffness
matrix of the whole network is built and solved densely for the
displacements, and a fastener's share is its spring force. Group: a rigid
plate with three freedoms about the origin on springs of equal stiffness in
every direction; the 3 x 3 stiffness matrix is solved. Loads of the group are
a force at a point and a couple, so that no centroid is needed.

    python -m venv v && v/bin/pip install numpy
    v/bin/python crates/joint/tests/reference/spring_networks.py crates/joint/tests/data

Written with Python 3 and NumPy 2.4; seed 20.
"""

import sys
from pathlib import Path

import numpy as np

RNG = np.random.default_rng(20)


def shares(ka, kb, c):
    """Share of each row: sheet A pulled at its first node, sheet B held at its last."""
    n = len(c)
    stiffness = np.zeros((2 * n, 2 * n))

    def spring(i, j, k):
        for a, b, sign in ((i, i, 1), (j, j, 1), (i, j, -1), (j, i, -1)):
            stiffness[a, b] += sign * k

    for i in range(n - 1):
        spring(i, i + 1, ka[i])
        spring(n + i, n + i + 1, kb[i])
    for i in range(n):
        spring(i, n + i, 1 / c[i])
    free = np.arange(2 * n - 1)
    load = np.zeros(2 * n)
    load[0] = 1.0
    moved = np.zeros(2 * n)
    moved[free] = np.linalg.solve(stiffness[np.ix_(free, free)], load[free])
    return [(moved[i] - moved[n + i]) / c[i] for i in range(n)]


def group(places, weights, force, at, couple):
    """Force on each fastener of a rigid plate on springs."""
    stiffness = np.zeros((3, 3))
    for (x, y), w in zip(places, weights):
        moves = np.array([[1, 0, -y], [0, 1, x]])
        stiffness += w * moves.T @ moves
    load = np.array([force[0], force[1], at[0] * force[1] - at[1] * force[0] + couple])
    u, v, turn = np.linalg.solve(stiffness, load)
    return [(w * (u - turn * y), w * (v + turn * x)) for (x, y), w in zip(places, weights)]


def words(numbers):
    return " ".join(f"{number:.12g}" for number in numbers)


def main(folder):
    with open(folder / "spring_lines.csv", "w") as out:
        print("ka,kb,flexibility,shares", file=out)
        for rows in (2, 3, 3, 4, 4, 5, 6, 8, 11, 15):
            ka, kb = RNG.uniform(5e4, 5e5, rows - 1), RNG.uniform(5e4, 5e5, rows - 1)
            c = 10 ** RNG.uniform(-6, -4, rows)
            # What is printed is what is solved.
            ka, kb, c = ([float(f"{number:.6g}") for number in numbers] for numbers in (ka, kb, c))
            print(f"{words(ka)},{words(kb)},{words(c)},{words(shares(ka, kb, c))}", file=out)
    with open(folder / "spring_groups.csv", "w") as out:
        print("x,y,weight,force,at,couple,fx,fy", file=out)
        for count in (2, 3, 3, 4, 5, 6, 9, 12):
            places = [[float(f"{number:.6g}") for number in RNG.uniform(-3, 9, 2)] for _ in range(count)]
            weights = [float(f"{number:.6g}") for number in RNG.uniform(0.5, 4, count)]
            force = [float(f"{number:.6g}") for number in RNG.uniform(-900, 900, 2)]
            at = [float(f"{number:.6g}") for number in RNG.uniform(-12, 12, 2)]
            couple = float(f"{RNG.uniform(-500, 500):.6g}")
            forces = group(places, weights, force, at, couple)
            print(
                ",".join(
                    [
                        words(x for x, _ in places),
                        words(y for _, y in places),
                        words(weights),
                        words(force),
                        words(at),
                        words([couple]),
                        words(fx for fx, _ in forces),
                        words(fy for _, fy in forces),
                    ]
                ),
                file=out,
            )


if __name__ == "__main__":
    main(Path(sys.argv[1]))
