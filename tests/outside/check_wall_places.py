"""The thinnest places of a link, held against OCCT at the same spots, and the map of its walls against OCCT's area."""
import json
import math
import pathlib
import sys
import tempfile

import numpy as np
from OCP.BRep import BRep_Tool
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.GeomAPI import GeomAPI_ProjectPointOnSurf
from OCP.GeomLProp import GeomLProp_SLProps
from OCP.gp import gp_Pnt
from OCP.TopAbs import TopAbs_FACE, TopAbs_REVERSED
from OCP.TopoDS import TopoDS

import occ
import product
from harness import Checks

FILES = ("line-4.0-platinum", "line-3.5-rose-block")
# Places are found on a mesh within 0.2 um of the solid; ends are put on its surfaces, but may pass a curved border by as much.
ON = 2.1e-4
DELTA = math.radians(15)


def normal(face, p):
    """Outward unit normal of a face at a point of it."""
    surface = BRep_Tool.Surface_s(face)
    u, v = GeomAPI_ProjectPointOnSurf(gp_Pnt(*p), surface).LowerDistanceParameters()
    n = GeomLProp_SLProps(surface, u, v, 1, 1e-12).Normal()
    n = np.array((n.X(), n.Y(), n.Z()))
    return -n if face.Orientation() == TopAbs_REVERSED else n


def apart(a, b):
    """OCCT's shortest chord between two faces."""
    d = BRepExtrema_DistShapeShape(a, b)
    if not d.IsDone():
        raise RuntimeError("OCCT distance failed")
    ends = d.PointOnShape1(1), d.PointOnShape2(1)
    return d.Value(), [np.array((x.X(), x.Y(), x.Z())) for x in ends]


def angle(a, b):
    return math.atan2(np.linalg.norm(np.cross(a, b)), a @ b)


def places(c, name, scratch):
    p = product.run("make", f"params/{name}.jsonc", "--only", "walls,step", "--thinnest", "6", "--out", scratch)
    if not c.check(f"{name}: made", p.returncode == 0, product.said(p)):
        return 0
    walls = json.loads((scratch / "report.json").read_text())["walls"]
    shape = occ.read_step(scratch / "link.step")
    faces = [TopoDS.Face(f) for f in occ.subshapes(shape, TopAbs_FACE)]
    c.check(f"{name}: six kinds of places, the thinnest first", len(walls["places"]) == 6 and all(a["value_mm"] <= b["value_mm"] for a, b in zip(walls["places"], walls["places"][1:])))
    held, bound = 0, walls["thinnest"]["lower_mm"]
    for place in walls["places"]:
        what = f"{name}, {place['between'][0]} to {place['between'][1]}"
        ends = [np.array(x) for x in place["at"]]
        c.close(f"{what}: the chord is as long as it says", float(np.linalg.norm(ends[1] - ends[0])), place["value_mm"], 1e-9)
        about = [[f for f in faces if occ.distance(f, x) < ON] for x in ends]
        if not c.check(f"{what}: both ends lie on faces of the STEP file", all(about), [occ.distance(occ.boundary(shape), x) for x in ends]):
            continue
        # OCCT's chords know no angle: any of them may be shorter, but not one that meets both normals.
        pairs = [(f, g, *apart(f, g)) for f in about[0] for g in about[1] if not f.IsSame(g)]
        c.check(f"{what}: OCCT's chords are no longer", all(p[2] <= place["upper_mm"] + ON for p in pairs), [round(p[2], 6) for p in pairs])
        for f, g, value, (a, b) in pairs:
            if value > 1e-6 and angle(a - b, normal(f, a)) <= DELTA and angle(b - a, normal(g, b)) <= DELTA:
                held += 1
                c.check(f"{what}: OCCT's own chord meets both normals and is not below the bound", value >= bound - ON, f"OCCT {value:.7f}, bound {bound:.7f}")
    m = walls["map"]
    total = sum(b["area_mm2"] for b in m["histogram"]) + m["rest_mm2"]
    c.check(f"{name}: the histogram holds the whole skin", abs(total / occ.area(shape) - 1) < 0.01, f"{total:.3f} of {occ.area(shape):.3f} mm2")
    thin = [b["from_mm"] for b in m["histogram"] if b["area_mm2"] > 0][0]
    c.check(f"{name}: no sample below the proved bound", thin + 0.05 > walls["thinnest"]["lower_mm"], thin)
    c.check(f"{name}: the picture is a PNG", (scratch / "link.walls.png").read_bytes()[:4] == b"\x89PNG")
    return held


def main(c):
    held = 0
    for name in FILES:
        with tempfile.TemporaryDirectory() as d, c.section(name):
            held += places(c, name, pathlib.Path(d))
    c.check("some of OCCT's own chords met both normals", held > 0, held)


if __name__ == "__main__":
    checks = Checks()
    main(checks)
    print(f"{checks.passed} passed, {checks.failed} failed")
    sys.exit(checks.failed > 0 or checks.passed == 0)
