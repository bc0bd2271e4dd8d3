"""The tool's own search on the public sequential-ordering instances.

    cargo build --release -p faying
    python sop_own.py PROGRAM FOLDER [FOLDER ...] --seconds 10 > ../data/sop_own.csv

PROGRAM is the built faying. Every order is counted and held against its
precedences here, from the file, before it is written down. Seconds are
wall-clock, the start of the program and the reading of the file included.
"""

import argparse
import csv
import json
import pathlib
import subprocess
import sys
import time

SEEDS = (1, 2, 3)


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


def check(cost, report):
    """An order of all jobs, precedences kept, at the cost it says."""
    order = report["order"]
    assert sorted(order) == list(range(len(cost)))
    place = {job: at for at, job in enumerate(order)}
    for i, row in enumerate(cost):
        for j, entry in enumerate(row):
            assert entry != -1 or place[j] < place[i], (j, i)
    assert sum(cost[i][j] for i, j in zip(order, order[1:])) == report["cost"]


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("program")
    arguments.add_argument("folders", nargs="+", type=pathlib.Path)
    arguments.add_argument("--seconds", type=float, default=10)
    arguments = arguments.parse_args()
    fields = ["instance", "jobs", "seed", "cost", "lower_bound", "proven", "seconds", "limit_s"]
    out = csv.DictWriter(sys.stdout, fields, lineterminator="\n")
    out.writeheader()
    for path in sorted(path for folder in arguments.folders for path in folder.glob("*.sop")):
        cost = read(path)
        for seed in SEEDS:
            start = time.monotonic()
            ended = subprocess.run(
                [arguments.program, "bench-sop", path, "--seconds", str(arguments.seconds), "--seed", str(seed), "--json"],
                capture_output=True,
                check=True,
            )
            took = time.monotonic() - start
            report = json.loads(ended.stdout)
            check(cost, report)
            out.writerow(
                {
                    "instance": path.stem,
                    "jobs": len(cost),
                    "seed": seed,
                    "cost": report["cost"],
                    "lower_bound": report["lower_bound"],
                    "proven": "yes" if report["proven"] else "no",
                    "seconds": f"{took:.2f}",
                    "limit_s": f"{arguments.seconds:g}",
                }
            )
            sys.stdout.flush()


main()
