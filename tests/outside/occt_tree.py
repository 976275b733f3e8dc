"""Builds a CSG tree (JSON, as the dev example `tree` prints it) with OCCT's own primitives and booleans.

Same tree, other kernel: what differs is the kernel's doing. Each node is one of
  {"t":"revolve","frame":{"o","x","z"},"profile":[[r,z],...]}
  {"t":"prism","frame":...,"height":h,"profile":[{"at":[x,y],"arc":null|{"centre":[x,y],"ccw":bool}},...]}
  {"t":"taper","frame":...,"half":h,"slope":s,"corner":r,"height":h}   half width half + z slope, round corners
  {"t":"union","of":[...]}   {"t":"difference","from":{...},"minus":[...]}
"""
import json
import sys

import occ


def _frame(f):
    return occ.Frame(f["o"], f["x"], f["z"])


def build(node):
    kind = node["t"]
    if kind == "revolve":
        return occ.revolve(node["profile"], _frame(node["frame"]))
    if kind == "prism":
        profile = [(tuple(p["at"]), (tuple(p["arc"]["centre"]), p["arc"]["ccw"]) if p.get("arc") else None) for p in node["profile"]]
        return occ.prism(profile, node["height"], _frame(node["frame"]))
    if kind == "taper":
        return occ.taper(node["half"], node["slope"], node["corner"], node["height"], _frame(node["frame"]))
    if kind == "union":
        return occ.fuse(*[build(n) for n in node["of"]])
    if kind == "difference":
        return occ.cut(build(node["from"]), *[build(n) for n in node["minus"]])
    raise ValueError(f"unknown node {kind!r}")


if __name__ == "__main__":
    with open(sys.argv[1], encoding="utf-8") as f:
        s = build(json.load(f))
    print(f"problems {occ.problems(s)} volume {occ.volume(s):.10f} area {occ.area(s):.10f}")
