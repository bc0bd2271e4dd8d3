"""The tool's own search on the public project-scheduling instances.

    cargo build --release -p faying
    python psplib_own.py PROGRAM FOLDER --seconds 10 > ../data/psplib_own.csv

PROGRAM is the built faying. Every schedule is held against links and
capacities here, from the file, before it is written down. Seconds are
wall-clock, the start of the program and the reading of the file included;
processor seconds are those of both threads together.
"""

import argparse
import csv
import json
import pathlib
import re
import resource
import subprocess
import sys
import time

SEEDS = (1, 2, 3)


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


def check(after, work, there, report):
    """A start for every job, links and capacities kept, the end as it says."""
    start = dict(enumerate(report["starts"], 1))
    assert set(start) == set(work) and all(value >= 0 for value in start.values())
    end = {job: start[job] + work[job][0] for job in work}
    for job, successors in after.items():
        for successor in successors:
            assert start[successor] >= end[job], (job, successor)
    for slot in range(max(end.values())):
        busy = [job for job in work if start[job] <= slot < end[job]]
        for r, capacity in enumerate(there):
            assert sum(work[job][1][r] for job in busy) <= capacity, (slot, r)
    assert max(end.values()) == report["makespan"] >= report["lower_bound"]
    assert report["proven"] == (report["makespan"] == report["lower_bound"])


def processor_seconds():
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("program")
    arguments.add_argument("folder", type=pathlib.Path)
    arguments.add_argument("--seconds", type=float, default=10)
    arguments = arguments.parse_args()
    fields = [
        "instance", "jobs", "seed", "makespan", "lower_bound", "proven", "seconds", "processor_s", "limit_s",
    ]
    out = csv.DictWriter(sys.stdout, fields, lineterminator="\n")
    out.writeheader()
    for path in sorted(arguments.folder.glob("*.sm")):
        after, work, there = read(path)
        for seed in SEEDS:
            began, used = time.monotonic(), processor_seconds()
            ended = subprocess.run(
                [arguments.program, "bench-psplib", path, "--seconds", str(arguments.seconds), "--seed", str(seed), "--json"],
                capture_output=True,
                check=True,
            )
            took, used = time.monotonic() - began, processor_seconds() - used
            report = json.loads(ended.stdout)
            check(after, work, there, report)
            out.writerow(
                {
                    "instance": path.stem,
                    "jobs": len(work),
                    "seed": seed,
                    "makespan": report["makespan"],
                    "lower_bound": report["lower_bound"],
                    "proven": "yes" if report["proven"] else "no",
                    "seconds": f"{took:.2f}",
                    "processor_s": f"{used:.2f}",
                    "limit_s": f"{arguments.seconds:g}",
                }
            )
            sys.stdout.flush()


main()
