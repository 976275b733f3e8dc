"""Parameter files against the published JSON Schema meta-schema (draft 2020-12) and python-jsonschema; bad files against exit codes."""
import json
import pathlib
import sys
import tempfile

import jsonschema
import occt_link
import product
from contract import DONE, FILE_WRONG, NOT_READABLE
from harness import Checks

# Bad files (by stem) whose fault no JSON Schema can see, because it lies in a relation between two values. All others must be
# rejected by the schema, or by a plain JSON reader (syntax, a key written twice).
BEYOND_SCHEMA = {
    "bore-through-the-seat", "claws-beside-the-stone", "opening-above-the-rim", "wall-fills-the-collet", "web-edge-too-round",
    "slot-for-a-pin", "tube-on-a-loop",  # which parameters take part follows from shape and joint
    "light-hole-meets-the-pocket", "corners-eat-the-wall", "block-wider-than-the-setting", "foot-filled-into-the-opening",
    "pin-thicker-than-its-bore", "tube-below-the-skin",
    "clasp-bead-wider-than-its-tube", "clasp-feet-meet", "clasp-leaf-longer-than-the-frame", "clasp-pin-thicker-than-its-bore", "clasp-tube-too-fat",
    "clasp-catch-below-the-skin", "clasp-catch-on-its-bump", "chain-ring-too-tight",
}


def strict(pairs):
    keys = [k for k, _ in pairs]
    if len(keys) != len(set(keys)):
        raise ValueError(f"key twice: {[k for k in keys if keys.count(k) > 1][0]}")
    return dict(pairs)


def read(path):
    with open(path, encoding="utf-8-sig") as f:
        text = f.read()
    try:
        return json.loads(occt_link.strip_jsonc(text), object_pairs_hook=strict)
    except ValueError as e:
        return e


def main(c):
    p = product.run("schema")
    if not c.check("schema: printed", p.returncode == DONE, product.said(p)):
        return
    schema = json.loads(p.stdout)
    c.check("schema: says draft 2020-12", schema.get("$schema") == "https://json-schema.org/draft/2020-12/schema", schema.get("$schema"))
    try:
        jsonschema.Draft202012Validator.check_schema(schema)
        wrong = []
    except jsonschema.SchemaError as e:
        wrong = [e.message]
    if not c.none("schema: valid by the draft 2020-12 meta-schema", wrong):
        return
    validator = jsonschema.Draft202012Validator(schema)

    good = sorted((product.ROOT / "params").glob("*.jsonc"))
    c.check("params: there are designs", len(good) > 0, len(good))
    for path in good:
        value = read(path)
        wrong = [value] if isinstance(value, Exception) else [f"{'/'.join(map(str, e.path))}: {e.message[:120]}" for e in validator.iter_errors(value)]
        c.none(f"{path.stem}: accepted by the schema", wrong)

    bad = sorted((product.ROOT / "params" / "bad").glob("*.json*"))
    c.check("params/bad: there are bad files", len(bad) > 0, len(bad))
    c.none("params/bad: every file listed as beyond the schema is there", sorted(BEYOND_SCHEMA - {p.stem for p in bad}))
    seen = 0
    with tempfile.TemporaryDirectory() as scratch:
        for path in bad:
            out = pathlib.Path(scratch) / path.stem
            for verb in (("check", path), ("make", path, "--out", out)):
                p = product.run(*verb)
                c.check(f"bad/{path.stem}: {verb[0]} exits 2", p.returncode == FILE_WRONG and not product.panicked(p), product.said(p)[:160])
                c.check(f"bad/{path.stem}: {verb[0]} says why", len((p.stderr + p.stdout).strip()) > 0)
            c.check(f"bad/{path.stem}: nothing written", not out.exists() or not any(out.iterdir()))
            value = read(path)
            rejected = isinstance(value, Exception) or not validator.is_valid(value)
            if path.stem in BEYOND_SCHEMA:
                c.check(f"bad/{path.stem}: beyond a schema, as listed", not rejected, "schema accepts; the relation between values is wrong")
            else:
                seen += rejected
                c.check(f"bad/{path.stem}: rejected before or by the schema", rejected, str(value)[:120] if isinstance(value, Exception) else "by the schema" if rejected else "schema accepts it; list it in BEYOND_SCHEMA if only a relation between values is wrong")
    c.check("params/bad: the schema rejects some of them", seen > 0, f"{seen} of {len(bad)}")

    missing = product.run("make", "params/no-such-file.jsonc", "--out", tempfile.gettempdir())
    c.check("a file that is not there: exit 3", missing.returncode == NOT_READABLE, product.said(missing)[:160])


if __name__ == "__main__":
    checks = Checks()
    main(checks)
    print(f"{checks.passed} passed, {checks.failed} failed")
    sys.exit(checks.failed > 0 or checks.passed == 0)
