"""A general constraint solver on the public sequential-ordering instances, for comparison.

CP-SAT of OR-Tools: one circuit over all jobs and a depot that stands for both
free ends, one place for each job, precedences between places, 2 workers.
Nothing of the tool is used here.

    pip install ortools
    python sop_ortools.py FOLDER [FOLDER ...] --seconds 10 > ../data/sop_ortools.csv

The instances are not part of the project; FOLDER is where the .sop files lie.
A second is a second of each of two cores: the search ends when the process has
used twice that much processor time, so that other work on the machine does not
tell against it.
"""

import argparse
import csv
import pathlib
import sys
import threading
import time

import ortools
from ortools.sat.python import cp_model


WORKERS = 2


def read(path):
    """The matrix of a .sop file, or of a bare matrix; -1 at [i][j]: j comes before i."""
    text = path.read_text()
    if "EDGE_WEIGHT_SECTION" in text:
        text = text.split("EDGE_WEIGHT_SECTION", 1)[1].split("EOF", 1)[0]
        numbers = [int(word) for word in text.split()]
        n, numbers = numbers[0], numbers[1:]
    else:
        n = len(text.splitlines()[0].split())
        numbers = [int(word) for word in text.split()]
    assert len(numbers) == n * n, path
    return [numbers[i * n : (i + 1) * n] for i in range(n)]


def closure(cost):
    """after[i]: all that come after job i, directly or through others."""
    n = len(cost)
    after = [{j for j in range(n) if j != i and cost[j][i] == -1} for i in range(n)]
    changed = True
    while changed:
        changed = False
        for i in range(n):
            more = set().union(*(after[j] for j in after[i])) - after[i]
            if more:
                after[i] |= more
                changed = True
    return after


def solve(cost, seconds):
    n = len(cost)
    after = closure(cost)
    before = [{i for i in range(n) if j in after[i]} for j in range(n)]
    model = cp_model.CpModel()
    place = [model.new_int_var(len(before[j]), n - 1 - len(after[j]), f"place{j}") for j in range(n)]
    model.add_all_different(place)
    arcs, terms = [], []
    for j in range(n):
        if not before[j]:
            first = model.new_bool_var("")
            arcs.append((n, j, first))
            model.add(place[j] == 0).only_enforce_if(first)
        if not after[j]:
            last = model.new_bool_var("")
            arcs.append((j, n, last))
            model.add(place[j] == n - 1).only_enforce_if(last)
    for i in range(n):
        for j in range(n):
            if i == j or i in after[j] or (j in after[i] and after[i] & before[j]):
                continue
            used = model.new_bool_var("")
            arcs.append((i, j, used))
            terms.append(cost[i][j] * used)
            model.add(place[j] == place[i] + 1).only_enforce_if(used)
    for i in range(n):
        for j in after[i]:
            if not after[i] & before[j]:
                model.add(place[i] + 1 <= place[j])
    model.add_circuit(arcs)
    model.minimize(sum(terms))
    solver = cp_model.CpSolver()
    start, ended = time.process_time(), threading.Event()

    def watch():
        while not ended.wait(0.05):
            if time.process_time() - start >= WORKERS * seconds:
                solver.stop_search()

    watcher = threading.Thread(target=watch)
    watcher.start()
    solver.parameters.num_workers = WORKERS
    solver.parameters.random_seed = 1
    status = solver.solve(model)
    used = (time.process_time() - start) / WORKERS
    ended.set()
    watcher.join()
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return {
        "cost": round(solver.objective_value) if found else "",
        "lower_bound": round(solver.best_objective_bound),
        "proven": "yes" if status == cp_model.OPTIMAL else "no",
        "seconds": f"{used:.1f}",
    }


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("folders", nargs="+", type=pathlib.Path)
    arguments.add_argument("--seconds", type=float, default=10)
    arguments = arguments.parse_args()
    fields = ["instance", "jobs", "cost", "lower_bound", "proven", "seconds", "limit_s", "solver"]
    out = csv.DictWriter(sys.stdout, fields, lineterminator="\n")
    out.writeheader()
    for path in sorted(path for folder in arguments.folders for path in folder.glob("*.sop")):
        cost = read(path)
        row = solve(cost, arguments.seconds)
        out.writerow(
            {
                "instance": path.stem,
                "jobs": len(cost),
                **row,
                "limit_s": f"{arguments.seconds:g}",
                "solver": f"OR-Tools {ortools.__version__} CP-SAT, 2 workers",
            }
        )
        sys.stdout.flush()


main()
