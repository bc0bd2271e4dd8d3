"""Layers at every drawn hole of the demo kit, by Shapely: the expected values of tests/stacks.rs.

Reads the plan files by itself (tomllib and the rules of the format, written
here anew) and asks Shapely which outlines hold each hole and how far the hole
is from the nearest edge of each. Bulged edges are approximated by 720 chords.

    python -m venv v && v/bin/pip install shapely
    v/bin/python crates/joint/tests/reference/stacks.py plans/teasel > crates/joint/tests/data/stacks.csv

Written with Python 3.11 and Shapely 2.2.
"""

import math
import sys
import tomllib
from fractions import Fraction
from pathlib import Path

from shapely.geometry import Point, Polygon


def length(value, unit):
    """Inches from a number in the file's unit or a text such as 1 1/4 or 3.2 mm."""
    if not isinstance(value, str):
        return float(value) / (25.4 if unit == "mm" else 1.0)
    text, scale = value.strip(), 25.4 if unit == "mm" else 1.0
    for mark, factor in (("mm", 25.4), ("in", 1.0), ('"', 1.0)):
        if text.endswith(mark):
            text, scale = text[: -len(mark)].strip(), factor
            break
    return float(sum(Fraction(part) for part in text.split())) / scale


def arc(start, end, bulge):
    """Points between two corners, on the arc that the bulge describes."""
    (x0, y0), (x1, y1) = start, end
    angle = 4 * math.atan(bulge)
    chord = math.hypot(x1 - x0, y1 - y0)
    radius = chord / (2 * math.sin(abs(angle) / 2))
    toward = math.atan2(y1 - y0, x1 - x0)
    # The centre lies off the chord's middle, on the left for a counter-clockwise arc under a half circle.
    off = math.sqrt(max(radius**2 - (chord / 2) ** 2, 0)) * (1 if abs(angle) <= math.pi else -1) * (1 if bulge > 0 else -1)
    cx = (x0 + x1) / 2 - off * math.sin(toward)
    cy = (y0 + y1) / 2 + off * math.cos(toward)
    first = math.atan2(y0 - cy, x0 - cx)
    return [(cx + radius * math.cos(first + angle * i / 720), cy + radius * math.sin(first + angle * i / 720)) for i in range(1, 720)]


def shape(table, unit):
    kind, numbers = next(iter(table.items()))
    if kind == "rect":
        x, y, w, h = (length(n, unit) for n in numbers)
        return Polygon([(x, y), (x + w, y), (x + w, y + h), (x, y + h)])
    if kind == "circle":
        x, y, d = (length(n, unit) for n in numbers)
        return Point(x, y).buffer(d / 2, quad_segs=720)
    corners = [((length(c[0], unit), length(c[1], unit)), float(c[2]) if len(c) > 2 else 0.0) for c in numbers]
    points = []
    for (at, bulge), (following, _) in zip(corners, corners[1:] + corners[:1]):
        points.append(at)
        if bulge:
            points.extend(arc(at, following, bulge))
    return Polygon(points)


def positions(rows, name, unit):
    row = rows[name]
    if "same" in row:
        return []
    if "like" in row:
        dx, dy = (length(n, unit) for n in row.get("shift", [0, 0]))
        return [(x + dx, y + dy) for x, y in positions(rows, row["like"], unit)]
    if "at" in row:
        return [(length(x, unit), length(y, unit)) for x, y in row["at"]]
    (x0, y0), (x1, y1) = (tuple(length(n, unit) for n in row[key]) for key in ("from", "to"))
    count = row.get("count") or round(math.hypot(x1 - x0, y1 - y0) / length(row["pitch"], unit)) + 1
    return [(x0 + (x1 - x0) * i / (count - 1), y0 + (y1 - y0) * i / (count - 1)) for i in range(count)]


def main(folder):
    plans = {}
    for path in sorted(Path(folder).glob("*.toml")):
        plan = tomllib.loads(path.read_text())
        # The other hand has the same geometry; Rust's own tests hold the two together.
        if "id" in plan and "mirror" not in plan:
            plans[plan["id"]] = plan
    print("hole,layers,edges_in")
    for identity, plan in plans.items():
        unit = plan.get("units", "in")
        for plane_name, plane in plan.get("planes", {}).items():
            layers = []
            for layer in plane["layers"]:
                owner, part = plan, layer
                if part not in owner["parts"] and "/" in part and part.split("/")[0] in plans:
                    owner, part = plans[part.split("/")[0]], part.split("/", 1)[1]
                copy = None
                if part not in owner["parts"]:
                    part, copy = part.rsplit("/", 1)
                copies = [copy] if copy else owner["parts"][part].get("copies", [None])
                shapes = plane.get("outline", {}).get(layer)
                shapes = shapes if isinstance(shapes, list) else [shapes] if shapes else [None] * len(copies)
                cuts = plane.get("cut", {}).get(layer, [])
                cuts = cuts if isinstance(cuts, list) else [cuts]
                for index, name in enumerate(copies):
                    own = cuts if len(copies) == 1 else cuts[index : index + 1]
                    outline = shape(shapes[index], unit) if shapes[index] else None
                    layers.append((part if name is None else f"{part}/{name}", outline, [shape(cut, unit) for cut in own]))
            rows = plane.get("rows", {})
            for row in rows:
                for number, (x, y) in enumerate(positions(rows, row, unit), 1):
                    point, found, edges = Point(x, y), [], []
                    for name, outline, cuts in layers:
                        if (outline is None or outline.contains(point)) and not any(cut.contains(point) for cut in cuts):
                            found.append(name)
                            distances = [s.exterior.distance(point) for s in [outline, *cuts] if s is not None]
                            edges.append(f"{min(distances):.4f}" if distances else "")
                    print(f"{identity}/{plane_name}/{row}/{number},{' '.join(found)},{' '.join(edges)}")


main(sys.argv[1])
