#!/usr/bin/env python3
"""A stand-in for the product, for selftest.py only: OCCT builds the link, so the checks can be shown to pass on good files and to
fail on spoilt ones without the product having any part in it. Not used by any check of the product.

`DOUBLE_SPOIL` in the environment names the defects to plant, separated by commas.
"""
import itertools
import json
import os
import pathlib
import re
import sys

import occ
import occt_link
import step_text
import stl

SPOIL = os.environ.get("DOUBLE_SPOIL", "").split(",")
CHORD = 0.012  # OCCT's mesher is asked for 2 um and stays below this on the links (measured 9.2 um)


class Recorder:
    """Same calls as occ, but writes the tree down."""

    @staticmethod
    def Frame(o=(0, 0, 0), x=(1, 0, 0), z=(0, 0, 1)):
        return {"o": o, "x": x, "z": z}

    def revolve(self, profile, frame=None):
        return {"t": "revolve", "frame": frame or self.Frame(), "profile": profile}

    def prism(self, profile, height, frame=None):
        corners = [{"at": at, "arc": None if arc is None else {"centre": arc[0], "ccw": arc[1]}} for at, arc in profile]
        return {"t": "prism", "frame": frame or self.Frame(), "height": height, "profile": corners}

    def fuse(self, *of):
        return {"t": "union", "of": list(of)}

    def cut(self, body, *tools):
        return {"t": "difference", "from": body, "minus": list(tools)}


def tree(path):
    d = occt_link.dimensions(occt_link.read_jsonc(path))
    occt_link.occ = Recorder()
    try:
        return occt_link.build(d)
    finally:
        occt_link.occ = occ


def named_step(shape, path):
    """OCCT leaves face names empty; give each its own."""
    occ.write_step(shape, path)
    with open(path, encoding="ascii") as f:
        text = f.read()
    n = itertools.count(1)
    text = re.sub(r"ADVANCED_FACE\(''", lambda _: f"ADVANCED_FACE('face.{next(n)}'", text)
    text = re.sub(r"FILE_NAME\([^;]*\);", "FILE_NAME('link','2000-01-01T00:00:00',(''),(''),'','','');", text)
    with open(path, "w", encoding="ascii") as f:
        f.write(text)


def make(path, out):
    out = pathlib.Path(out)
    out.mkdir(parents=True, exist_ok=True)
    d = occt_link.dimensions(occt_link.read_jsonc(path))
    if "dimension" in SPOIL:
        d["h_b"] += 0.005
        d["z_b1"] += 0.005
    shape = occt_link.build(d)
    named_step(shape, out / "link.step")
    for name in ("link.finished.stl", "link.trial.stl"):
        occ.write_stl(shape, out / name, 0.05 if "coarse" in SPOIL else 0.002)
    counts = step_text.faces_by_surface(step_text.Step(out / "link.step"))
    volume = occ.volume(shape) * (1 + 1e-5 * ("volume" in SPOIL))
    report = {
        "solid": {"volume_mm3": volume, "area_mm2": occ.area(shape),
                  "faces": {"plane": counts["PLANE"] - ("faces" in SPOIL), "cylinder": counts["CYLINDRICAL_SURFACE"], "cone": counts["CONICAL_SURFACE"]}},
        "mesh": {"genus": stl.manifold(out / "link.finished.stl").genus() + ("genus" in SPOIL), "chord_mm": CHORD},
    }
    if "clock" in SPOIL:
        report["made"] = os.getpid()
    if "key" in SPOIL:
        del report["solid"]["area_mm2"]
    (out / "report.json").write_text(json.dumps(report))
    if "lost" in SPOIL:
        (out / "link.trial.stl").unlink()
    return 1 if "exit" in SPOIL else 0


def draws(folder, first, count, out):
    """Takes the first three files, whatever they hold, for three links of its own, and refuses the others."""
    out = pathlib.Path(out)
    source = pathlib.Path(__file__).parent / "data" / "line-2.5-yellow.jsonc"
    for i, file in list(enumerate(sorted(pathlib.Path(folder).glob("*.jsonc"))))[first : first + count]:
        if i >= 3:
            print(json.dumps({"file": file.name, "is": "refused", "problems": [{"code": "double", "path": "stone.diameter"}], "ms": {}}))
            continue
        base = out / file.stem
        base.with_suffix(".jsonc").write_text(source.read_text().replace('"height": 2.40', f'"height": {2.40 + 0.01 * i:.2f}'))
        base.with_suffix(".json").write_text(json.dumps(tree(base.with_suffix(".jsonc"))))
        d = occt_link.dimensions(occt_link.read_jsonc(base.with_suffix(".jsonc")))
        if "dimension" in SPOIL and i == 1:
            d["y_s"] += 0.005
        shape = occt_link.build(d)
        named_step(shape, base.with_suffix(".step"))
        occ.write_stl(shape, base.with_suffix(".stl"), 0.002)
        (out / f"{file.stem}.report.json").write_text(json.dumps({"volume_mm3": occ.volume(shape), "area_mm2": occ.area(shape), "chord_mm": CHORD}))
        if "lost" in SPOIL and i == 0:
            base.with_suffix(".step").unlink()
        if "died" in SPOIL and i == 2:
            return 101
        print(json.dumps({"file": file.name, "is": "accepted", "ms": {}}), flush=True)
    return 0


SCHEMA = {"$schema": "https://json-schema.org/draft/2020-12/schema", "type": "object", "required": ["stone"],
          "properties": {"stone": {"type": "object", "properties": {"diameter": {"type": "number", "exclusiveMinimum": 0}}}}}


def main(argv):
    if argv[0] == "make" or argv[0] == "check":
        path = argv[1]
        if not os.path.exists(path):
            return 3
        if "bad" in pathlib.Path(path).parts:
            print("no such parameter", file=sys.stderr)
            return 1 if "code" in SPOIL else 2
        return make(path, argv[argv.index("--out") + 1]) if argv[0] == "make" else 0
    if argv[0] == "schema":
        print(json.dumps(SCHEMA if "schema" not in SPOIL else {**SCHEMA, "type": "nothing"}))
        return 0
    if argv[0] == "tree":
        print(json.dumps(tree(argv[1])))
        return 0
    if argv[0] == "draws":
        return draws(argv[1], *(int(argv[argv.index(k) + 1]) for k in ("--first", "--count")), argv[argv.index("--write") + 1])
    return 2


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
