"""Drawings of our own, and what another reader makes of them.

Run once, by hand, with ezdxf 1.4.5 (`pip install ezdxf==1.4.5`):

    python make_drawings.py ../data

Writes the drawings into ../data and, beside them, expected.csv: every circle with its
place and diameter as ezdxf gives it once all block references are opened.
The drawings are invented; no part of a real aeroplane is drawn.
"""

import csv
import math
import sys
from pathlib import Path

import ezdxf
from ezdxf import units

OUT = Path(sys.argv[1])
VERSIONS = {"r12": "R12", "r2000": "R2000", "r2010": "R2010", "r2018": "R2018"}


def new(version, unit=units.IN):
    doc = ezdxf.new(version)
    if version != "R12":
        doc.header["$INSUNITS"] = unit
    for name in ("OUTLINE", "HOLES_30", "BEND"):
        doc.layers.add(name)
    return doc


def plate(version):
    """Two rows, an outline of lines and fillets drawn out of order, a lightening hole, a bend line."""
    doc = new(version)
    msp = doc.modelspace()
    at = {"layer": "OUTLINE"}
    msp.add_line((0.5, 0), (11.5, 0), at)
    msp.add_line((12, 3.5), (12, 0.5), at)
    msp.add_arc((11.5, 0.5), 0.5, 270, 360, dxfattribs=at)
    msp.add_line((0.5, 4), (11.5, 4), at)
    msp.add_arc((11.5, 3.5), 0.5, 0, 90, dxfattribs=at)
    msp.add_line((0, 0.5), (0, 3.5), at)
    msp.add_arc((0.5, 3.5), 0.5, 90, 180, dxfattribs=at)
    msp.add_arc((0.5, 0.5), 0.5, 180, 270, dxfattribs=at)
    for i in range(11):
        msp.add_circle((1 + i, 0.75), 0.1285 / 2, {"layer": "HOLES_30"})
    for i in range(17):
        msp.add_circle((1 + 0.625 * i, 3.25), 0.1285 / 2, {"layer": "HOLES_30"})
    msp.add_circle((6, 2), 0.75, at)
    msp.add_line((0, 0.4), (12, 0.4), {"layer": "BEND"})
    msp.add_text("NOTE", dxfattribs={"layer": "0"})
    return doc


def blocks(version):
    """Block references: nested, scaled, turned, seen from the back, in arrays, with attributes."""
    doc = new(version, units.MM)
    one = doc.blocks.new("ONE", base_point=(1, 1))
    one.add_circle((1, 1), 1.65)
    one.add_circle((4, 2), 0.5, {"extrusion": (0, 0, -1)})
    two = doc.blocks.new("TWO")
    two.add_blockref("ONE", (10, 0), {"rotation": 30, "xscale": 2, "yscale": 2, "zscale": 2})
    two.add_blockref("ONE", (0, 5), {"xscale": -1})
    three = doc.blocks.new("THREE")
    three.add_blockref("TWO", (0, 0), {"rotation": 90, "extrusion": (0, 0, -1)})
    msp = doc.modelspace()
    msp.add_blockref("ONE", (100, 50))
    msp.add_blockref("TWO", (-20, 7), {"rotation": 45})
    msp.add_blockref("THREE", (3, 4), {"xscale": 0.5, "yscale": 0.5, "zscale": 0.5})
    msp.add_blockref("TWO", (200, 0), {
        "rotation": 20, "column_count": 3, "row_count": 2, "column_spacing": 40, "row_spacing": 25})
    msp.add_blockref("ONE", (0, 300), {"xscale": 2, "yscale": 1})  # ellipses: no circles
    tagged = msp.add_blockref("ONE", (50, 50))
    tagged.add_attrib("TAG", "text", (50, 50))
    msp.add_circle((30, 40, 5), 2.5, {"extrusion": (0, 0, -1)})
    msp.add_circle((3, 4, 5), 2.5, {"extrusion": (1, 2, 3)})
    return doc


def polylines():
    """Closed polylines: by flag, by a repeated corner, of the older kind, with bulges; a slot; a round one."""
    doc = new("R2000", units.MM)
    msp = doc.modelspace()
    msp.add_lwpolyline([(0, 0), (100, 0), (100, 60), (0, 60)], close=True)
    msp.add_lwpolyline([(10, 10), (20, 10), (20, 20), (10, 20), (10, 10)])
    msp.add_polyline2d([(30, 10), (50, 10), (50, 20), (30, 20)], close=True)
    # A slot, 20 between centres and 8 wide, drawn clockwise.
    msp.add_lwpolyline([(40, 36, 0), (60, 36, -1), (60, 28, 0), (40, 28, -1)], format="xyb", close=True)
    # 2.5 mm round, as two half circles.
    msp.add_lwpolyline([(81.25, 40, 1), (78.75, 40, 1)], format="xyb", close=True)
    msp.add_lwpolyline([(0, 80), (10, 80), (10, 90)])
    return doc


def circles(entities):
    for e in entities:
        if e.dxftype() == "INSERT":
            for copy in e.multi_insert() if e.mcount > 1 else [e]:
                yield from circles(copy.virtual_entities())
        elif e.dxftype() == "CIRCLE":
            yield e


def main():
    docs = {}
    for name, version in VERSIONS.items():
        docs[f"plate-{name}.dxf"] = plate(version)
        docs[f"blocks-{name}.dxf"] = blocks(version)
    docs["polylines.dxf"] = polylines()
    rows = []
    for file, doc in docs.items():
        doc.saveas(OUT / file)
        targets = [file]
        if file in ("plate-r12.dxf", "blocks-r12.dxf", "plate-r2018.dxf", "blocks-r2010.dxf"):
            binary = file.replace(".dxf", "-binary.dxf")
            doc.saveas(OUT / binary, fmt="bin")
            targets.append(binary)
        read = ezdxf.readfile(OUT / file)
        for e in circles(read.modelspace()):
            x, y, _ = e.ocs().to_wcs(e.dxf.center)
            for target in targets:
                rows.append((target, f"{x:.9f}", f"{y:.9f}", f"{2 * e.dxf.radius:.9f}"))
    with open(OUT / "expected.csv", "w", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(["file", "x", "y", "diameter"])
        writer.writerows(sorted(rows))
    assert math.isclose(sum(1 for r in rows if r[0] == "plate-r12.dxf"), 29)


main()
