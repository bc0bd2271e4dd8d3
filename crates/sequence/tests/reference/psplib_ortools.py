"""A general constraint solver on the public project-scheduling instances, for comparison.

CP-SAT of OR-Tools: one interval for each job, one cumulative constraint for
each resource, precedences between ends and starts, 2 workers. Nothing of the
tool is used here.

    pip install ortools
    python psplib_ortools.py FOLDER --seconds 10 > ../data/psplib_ortools.csv

The instances are not part of the project; FOLDER is where the .sm files lie.
A second is a second of each of two cores: the search ends when the process has
used twice that much processor time, so that other work on the machine does not
tell against it.
"""

import argparse
import csv
import pathlib
import re
import sys
import threading
import time

import ortools
from ortools.sat.python import cp_model


WORKERS = 2


def rows(text, title, end):
    """The rows of numbers between two titles."""
    part = text.split(title, 1)[1]
    if end:
        part = part.split(end, 1)[0]
    return [[int(word) for word in line.split()] for line in part.splitlines() if re.match(r"\s*\d", line)]


def read(path):
    text = path.read_text()
    after = {row[0]: row[3:] for row in rows(text, "PRECEDENCE RELATIONS:", "REQUESTS/DURATIONS:")}
    work = {row[0]: (row[2], row[3:]) for row in rows(text, "REQUESTS/DURATIONS:", "RESOURCEAVAILABILITIES:")}
    (there,) = rows(text, "RESOURCEAVAILABILITIES:", None)
    return after, work, there


def solve(after, work, there, seconds):
    horizon = sum(duration for duration, _ in work.values())
    model = cp_model.CpModel()
    start = {job: model.new_int_var(0, horizon, f"start{job}") for job in work}
    spans = {
        job: model.new_fixed_size_interval_var(start[job], duration, f"job{job}")
        for job, (duration, _) in work.items()
    }
    for job, successors in after.items():
        for successor in successors:
            model.add(start[successor] >= start[job] + work[job][0])
    for r, capacity in enumerate(there):
        users = [job for job, (_, demands) in work.items() if demands[r] > 0]
        model.add_cumulative([spans[job] for job in users], [work[job][1][r] for job in users], capacity)
    makespan = model.new_int_var(0, horizon, "makespan")
    model.add_max_equality(makespan, [start[job] + duration for job, (duration, _) in work.items()])
    model.minimize(makespan)
    solver = cp_model.CpSolver()
    began, ended = time.process_time(), threading.Event()

    def watch():
        while not ended.wait(0.05):
            if time.process_time() - began >= WORKERS * seconds:
                solver.stop_search()

    watcher = threading.Thread(target=watch)
    watcher.start()
    solver.parameters.num_workers = WORKERS
    solver.parameters.random_seed = 1
    status = solver.solve(model)
    used = (time.process_time() - began) / WORKERS
    ended.set()
    watcher.join()
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return {
        "makespan": round(solver.objective_value) if found else "",
        "lower_bound": round(solver.best_objective_bound),
        "proven": "yes" if status == cp_model.OPTIMAL else "no",
        "seconds": f"{used:.2f}",
    }


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("folder", type=pathlib.Path)
    arguments.add_argument("--seconds", type=float, default=10)
    arguments = arguments.parse_args()
    fields = ["instance", "jobs", "makespan", "lower_bound", "proven", "seconds", "limit_s", "solver"]
    out = csv.DictWriter(sys.stdout, fields, lineterminator="\n")
    out.writeheader()
    for path in sorted(arguments.folder.glob("*.sm")):
        after, work, there = read(path)
        out.writerow(
            {
                "instance": path.stem,
                "jobs": len(work),
                **solve(after, work, there, arguments.seconds),
                "limit_s": f"{arguments.seconds:g}",
                "solver": f"OR-Tools {ortools.__version__} CP-SAT, 2 workers",
            }
        )
        sys.stdout.flush()


main()
