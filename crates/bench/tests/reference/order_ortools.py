"""Best orders of the small spars of order_ortools_problems.csv, by another program.

The costs are made here from the words of the task, not by the library. The
solver is CP-SAT of OR-Tools (pip install ortools): a circuit over the jobs
and one more node that stands for both ends, a rank for each job, ranks rise
along the circuit and along every pair of precedence. Costs are in
milliseconds, so a sum over n jobs is off by at most n / 2 ms.

    python order_ortools.py < ../data/order_ortools_problems.csv > ../data/order_ortools.csv
"""

import csv
import math
import sys
from collections import defaultdict

import ortools
from ortools.sat.python import cp_model


def read(lines):
    spars = defaultdict(lambda: {"change": {}, "proof": [], "job": [], "before": []})
    for kind, spar, *rest in csv.reader(lines):
        it = spars[int(spar)]
        if kind == "way":
            it["way"] = (float(rest[0]), float(rest[1]))
        elif kind == "change":
            it["change"][int(rest[0])] = float(rest[1])
        elif kind == "proof":
            it["proof"].append((set(map(int, rest[0].split())), float(rest[1])))
        elif kind == "job":
            parts = tuple(map(int, rest[1].split()))
            it["job"].append((parts, float(rest[2]), float(rest[3]), int(rest[4]), float(rest[5])))
        elif kind == "before":
            it["before"].append((int(rest[0]), int(rest[1])))
        else:
            raise SystemExit(f"unknown kind {kind}")
    return spars


def step(it, a, b):
    (pa, xa, ya, la, _), (pb, xb, yb, lb, _) = it["job"][a], it["job"][b]
    changed = {i for i, (x, y) in enumerate(zip(pa, pb)) if x != y}
    seconds = sum(it["change"][i] for i in changed)
    seconds += sum(s for parts, s in it["proof"] if parts & changed)
    per_inch, between = it["way"]
    return seconds + (between if la != lb else per_inch * math.hypot(xa - xb, ya - yb))


def solve(it):
    n = len(it["job"])
    model = cp_model.CpModel()
    rank = [model.new_int_var(0, n - 1, f"rank {i}") for i in range(n)]
    arcs, cost = [], []
    forbidden = {(b, a) for a, b in it["before"]}
    for a in range(n):
        arcs.append((n, a, model.new_bool_var("")))
        arcs.append((a, n, model.new_bool_var("")))
        for b in range(n):
            if a != b and (a, b) not in forbidden:
                used = model.new_bool_var("")
                arcs.append((a, b, used))
                model.add(rank[b] == rank[a] + 1).only_enforce_if(used)
                cost.append(round(1000 * step(it, a, b)) * used)
    model.add_circuit(arcs)
    model.add_all_different(rank)
    for a, b in it["before"]:
        model.add(rank[a] < rank[b])
    model.minimize(sum(cost))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 2
    solver.parameters.max_time_in_seconds = 120
    status = solver.status_name(solver.solve(model))
    doing = sum(job[4] for job in it["job"])
    return status, solver.objective_value / 1000 + doing, solver.best_objective_bound / 1000 + doing


def main():
    out = csv.writer(sys.stdout, lineterminator="\n")
    out.writerow(["spar", "jobs", "status", "seconds", "bound_seconds", "solver"])
    for spar, it in sorted(read(sys.stdin).items()):
        status, seconds, bound = solve(it)
        out.writerow([spar, len(it["job"]), status, f"{seconds:.3f}", f"{bound:.3f}", f"OR-Tools {ortools.__version__}"])
        sys.stdout.flush()


main()
