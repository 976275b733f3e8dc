"""The thinnest wall of random links between two bounds of a second method: a plain search in Python over the written mesh.

  random_walls.py --count 100 --seed 1 [--keep DIR]

A facet leans against the surface it stands for, so the search is made twice: with less freedom for the chord than the certificate gives
(what it finds is there: nothing larger may be proved), and with more (what it excludes is nowhere: nothing smaller may be found inside
two faces). The search (walls_prototype.py) knows facets and nothing else; a chord to an edge with its fan of normals may be shorter.
"""
import concurrent.futures
import json
import math
import pathlib

import trimesh

import check_draws
import product
import walls_prototype
from harness import command

WORKERS = 2
# The mesh that is searched is off the solid by so much at most, on either side, mm.
CHORD = 0.0005
# How far facets of that mesh lean at most against the surface, rad: acos(1 - CHORD / r) on the least bend, of radius 0.05 mm.
LEAN = math.radians(8.2)
DELTA = math.radians(15)
# Processor seconds for one search; what is not settled then is counted, and settles nothing.
PATIENCE = 120.0


def examine(file):
    """What both say of one file: (ended, wrong)."""
    out = file.with_suffix("")
    p = product.run("make", file, "--only", "stl,walls", "--tolerance", str(CHORD), "--anyway", "--out", out, timeout=300)
    if product.panicked(p) or p.returncode not in (0, 1, 2):
        return "wrong", [f"{file.name}: {product.said(p)}"]
    if p.returncode == 2:
        return "refused", []
    thinnest = json.loads((out / "report.json").read_text(encoding="utf-8"))["walls"].get("thinnest")
    if not thinnest or thinnest["how"] != "proved":
        return "wrong", [f"{file.name}: no wall was proved"]
    mesh = trimesh.load(out / "link.finished.stl")
    mesh.merge_vertices()
    walls_prototype.DELTA = DELTA - LEAN
    _, found, _ = walls_prototype.run(mesh, PATIENCE)
    wrong = []
    if thinnest["lower_mm"] > found + 2 * CHORD:
        wrong.append(f"{file.name}: {thinnest['lower_mm']} is proved, a chord of {found} was found")
    walls_prototype.DELTA = DELTA + LEAN
    excluded, _, complete = walls_prototype.run(mesh, PATIENCE)
    if not complete:
        return "unsettled", wrong
    return "edge" if thinnest["upper_mm"] < excluded - 2 * CHORD else "between", wrong


def run(c, count, seed, folder):
    manifest = check_draws.prepare(seed, count, folder)
    files = [pathlib.Path(folder) / m["file"] for m in manifest if m["expect"] == "accept"]
    with concurrent.futures.ProcessPoolExecutor(WORKERS) as pool:
        found = list(pool.map(examine, files))
    count = {k: sum(1 for e, _ in found if e == k) for k in ("between", "edge", "unsettled", "refused", "wrong")}
    print("     " + ", ".join(f"{k}: {n}" for k, n in count.items()))
    c.none("walls: what is proved is nowhere above what a plain search finds", [w for _, ws in found for w in ws])
    c.check("walls: most lie between its two bounds", count["between"] > 0.5 * len(found), f"{count['between']} of {len(found)}")


if __name__ == "__main__":
    command(__doc__, run, 100)
