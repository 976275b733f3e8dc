"""Wires, rings and balls: STEP read by OCCT, STL by trimesh, manifold3d and admesh, volumes against Pappus and Guldin."""
import json
import math
import pathlib
import sys
import tempfile

from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.GeomAbs import GeomAbs_Cylinder, GeomAbs_Plane, GeomAbs_Sphere, GeomAbs_Torus
from OCP.TopoDS import TopoDS

import occ
import product
import stl
from harness import Checks

KINDS = {GeomAbs_Plane: "plane", GeomAbs_Cylinder: "cylinder", GeomAbs_Sphere: "sphere", GeomAbs_Torus: "torus"}


def wire(length, d):
    """Volume and skin of round wire along any middle line (Pappus and Guldin)."""
    return math.pi * d * d / 4 * length, math.pi * d * length


def ball(d):
    return math.pi * d**3 / 6, math.pi * d * d


def plus(*parts):
    return tuple(map(sum, zip(*parts)))


def bead(d, r):
    """A ball beyond the circle of radius r that it shares with its wire: the ball less a cap (any handbook)."""
    big = d / 2
    h = big - math.sqrt(big * big - r * r)
    return 4 / 3 * math.pi * big**3 - math.pi * h * h * (3 * big - h) / 3, 4 * math.pi * big**2 - 2 * math.pi * big * h


def ends(d, n=2):
    return 0.0, n * math.pi * d * d / 4


def expected():
    """Volume and area of what examples/rounds.rs makes, from its dimensions alone."""
    ring = wire(math.pi * 4.55, 0.35)
    half = tuple(x / 2 for x in ball(0.6))
    return {
        "ball": ball(1.4),
        "ring": ring,
        "ring_askew": ring,
        "pin": plus(wire(12, 0.5), ends(0.5, 1), bead(0.8, 0.25)),
        "connecting_wire": wire(2 * (3 - 0.9) + 2 * (1.5 - 0.9) + 2 * math.pi * 0.45, 0.55),
        "u_wire": plus(wire(7 + 2 * 2.5 + math.pi * 0.5, 0.4), ends(0.4)),
        "loop_in_loop": ring,
        "probe": plus(wire(3 + 1.2 + 1.6 + 1.5, 0.6), bead(1.2, 0.3), half),
        "tight": plus(wire(3 + math.pi * 0.32, 0.6), ends(0.6, 1), half),
    }


def faces(shape):
    """How many faces OCCT sees of each kind of surface."""
    n = {}
    for f in occ.subshapes(shape, occ.TopAbs_FACE):
        kind = KINDS.get(BRepAdaptor_Surface(TopoDS.Face(f)).GetType(), "other")
        n[kind] = n.get(kind, 0) + 1
    return n


def main(c):
    with tempfile.TemporaryDirectory() as out:
        made = product.example("rounds", out)
        if not c.check("rounds are written", made.returncode == 0, product.said(made)):
            return
        out = pathlib.Path(out)
        told = json.loads((out / "rounds.json").read_text(encoding="utf-8"))
        want = expected()
        c.check("every round part is known", sorted(told) == sorted(want), " ".join(sorted(told)))
        for name, (volume, area) in want.items():
            t = told[name]
            c.close(f"{name}: own volume", t["volume"], volume, 1e-9 * volume, "mm3")
            c.close(f"{name}: own area", t["area"], area, 1e-9 * area, "mm2")
            shape = occ.read_step(str(out / f"{name}.step"))
            c.none(f"{name}: OCCT finds it valid", occ.problems(shape))
            c.close(f"{name}: volume in OCCT", occ.volume(shape), volume, 1e-9 * volume, "mm3")
            c.close(f"{name}: area in OCCT", occ.area(shape), area, 1e-9 * area, "mm2")
            c.check(f"{name}: analytic faces", faces(shape) == t["faces"], f"{faces(shape)} {t['faces']}")
            mesh = str(out / f"{name}.stl")
            c.none(f"{name}: trimesh", stl.trimesh_problems(mesh))
            c.none(f"{name}: manifold3d", stl.manifold_problems(mesh, t["genus"]))
            off = max(abs(v - volume) for v in stl.volumes(mesh).values())
            c.check(f"{name}: volume of the mesh", off <= t["tolerance"] * area, f"off {off:.2e} mm3")


if __name__ == "__main__":
    c = Checks()
    main(c)
    print(f"{c.passed} passed, {c.failed} failed")
    sys.exit(c.failed > 0 or c.passed == 0)
