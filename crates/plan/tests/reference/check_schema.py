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
    if tab and kind in ("assembly", "limits"):
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
ROW = ["planes", "web", "rows", "A"]
TAKEN = [
    ("assembly", "the example", FLAP),
    ("limits", "the example", LIMITS),
    ("assembly", "one name for a list", put(FLAP, ["steps", "ribs", "adds"], "rib")),
    ("assembly", "numbers for copies", put(FLAP, ["parts", "rib", "copies"], [1, 2])),
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
    ("limits", "yes for true", put(LIMITS, ["half_sizes"], "yes")),
]

assert set(SCHEMAS) == {"assembly", "limits"}, "the schemas were not printed"
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
