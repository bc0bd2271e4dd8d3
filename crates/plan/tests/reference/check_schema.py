"""Outside check of the JSON Schema of the plan files.

From this crate's folder, with the Python package jsonschema installed:

    cargo test -p faying-plan --test schema prints -- --nocapture | python tests/reference/check_schema.py

The example files must be taken, and each slip must be refused.
"""

import copy
import pathlib
import sys
import tomllib

import json
import jsonschema

HERE = pathlib.Path(__file__).resolve().parent.parent
SCHEMAS = {}
for line in sys.stdin:
    kind, tab, text = line.rstrip("\n").rpartition("\t")
    kind = kind.split()[-1] if kind else ""
    if tab and kind in ("assembly", "limits", "tools"):
        SCHEMAS[kind] = json.loads(text)


def example(name):
    return tomllib.loads((HERE / name).read_text(encoding="utf-8"))


def put(document, path, value):
    changed = copy.deepcopy(document)
    at = changed
    for key in path[:-1]:
        at = at.setdefault(key, {})
    at[path[-1]] = value
    return changed


FLAP, LIMITS = example("flap-left.toml"), example("limits.toml")
TOOLS = example("../src/tools_start.toml")
BEND = {"line": [[0, 1], [40, 1]], "side": "aft", "height": 0.7}
STAND = {"rect": [0, 0, 1, 1], "side": "aft", "height": "1/2"}
ROW = ["planes", "web", "rows", "A"]
TAKEN = [
    ("assembly", "the example", FLAP),
    ("limits", "the example", LIMITS),
    ("assembly", "one name for a list", put(FLAP, ["steps", "ribs", "adds"], "rib")),
    ("assembly", "numbers for copies", put(FLAP, ["parts", "rib", "copies"], [1, 2])),
    ("tools", "the starter set", TOOLS),
    ("assembly", "a bend with its flange", put(FLAP, ["planes", "web", "bends"], [[[0, 1], [40, 1]], BEND])),
    ("assembly", "a bracket", put(FLAP, ["planes", "web", "stands"], {"bracket": STAND})),
    ("assembly", "a path", put(FLAP, ["planes", "web", "outline", "web"], {"path": [[0, 0], [1, 0, 0.4], ["1/2", 1]]})),
]
REFUSED = [
    ("assembly", "a slip in a key", put(FLAP, ["parts", "web", "thicknes"], 0.04)),
    ("assembly", "a slip in a section", put(FLAP, ["plane"], {})),
    ("assembly", "a unit that is none", put(FLAP, ["units"], "cm")),
    ("assembly", "no holes", put(FLAP, ROW + ["count"], 0)),
    ("assembly", "half a hole", put(FLAP, ROW + ["count"], 2.5)),
    ("assembly", "a point of one length", put(FLAP, ROW + ["from"], [1])),
    ("assembly", "a preparation that is none", put(FLAP, ROW + ["prep"], {"web": "welded"})),
    ("assembly", "hours below nothing", put(FLAP, ["steps", "ribs", "hours"], -1)),
    ("assembly", "a rect of three lengths", put(FLAP, ["planes", "web", "outline", "web"], {"rect": [0, 0, 1]})),
    ("assembly", "a slip in a bend", put(FLAP, ["planes", "web", "bends"], [BEND | {"hight": 1}])),
    ("assembly", "a slip in a bracket", put(FLAP, ["planes", "web", "stands"], {"bracket": STAND | {"hight": 1}})),
    ("tools", "a drive that is none", put(TOOLS, ["squeezers", "air-squeezer", "drive"], "steam")),
    ("tools", "half a cleco", put(TOOLS, ["clecoes", "1/8"], 2.5)),
    ("limits", "yes for true", put(LIMITS, ["half_sizes"], "yes")),
    ("limits", "the kit manual's by a word", put(LIMITS, ["shop_heads", "kit-manual", "kit"], "yes")),
    ("limits", "a slip in a gauge", put(LIMITS, ["gauges", "plate", "1/8", "slit"], 0.06)),
]

assert set(SCHEMAS) == {"assembly", "limits", "tools"}, "the schemas were not printed"
failed = 0
for schema in SCHEMAS.values():
    jsonschema.Draft202012Validator.check_schema(schema)
for wanted, cases in ((True, TAKEN), (False, REFUSED)):
    for kind, what, document in cases:
        errors = list(jsonschema.Draft202012Validator(SCHEMAS[kind]).iter_errors(document))
        if bool(errors) == wanted:
            failed += 1
            print("WRONG:", kind, what, [error.message for error in errors][:3])
print(f"{len(TAKEN)} taken, {len(REFUSED)} refused, {failed} wrong")
sys.exit(failed > 0)
