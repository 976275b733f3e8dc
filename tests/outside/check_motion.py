"""How far the joint moves, by other means: the exported mesh of the link, wire, pin and stones built here from the numbers of the
file, posed by a transform of our own (scipy), intersected by manifold3d and measured by FCL.

What `colletline motion` calls free must have no common volume and be at least as far apart as it says; at the angle by which it
says that something touches, every shift tried within the play must have common volume."""
import json
import math
import pathlib
import sys
import tempfile

import fcl
import manifold3d as m3
import numpy as np
import product
import trimesh
from harness import Checks
from scipy.spatial.transform import Rotation

M = m3.Manifold
# A wire loop and a hinge, round and with corners.
DESIGNS = ("line-4.0-platinum", "line-3.0-silver-cushion")
# What was measured of each design.
MEASURED = {}
CLASPS = ("line-4.0-platinum",)
AXES = {"inward": (0, 1, 0), "back": (0, 1, 0), "sideways": (0, 0, 1), "twist": (1, 0, 0)}
SIGN = {"inward": 1, "back": -1, "sideways": 1, "twist": 1}
# Directions a shift may take in the plane of each movement.
PLANE = {"inward": (0, 2), "back": (0, 2), "sideways": (0, 1), "twist": (1, 2)}
# The exported mesh lies this far off the solid at most, mm.
TOLERANCE = 0.001
# Stones: depth of the pavilion, thickness of the girdle, height of the crown, table, shares of the diameter (as the product's table).
PAVILION, GIRDLE, CROWN, TABLE = 0.43, 0.025, 0.145, 0.57


def turned(profile, n=256):
    return m3.CrossSection([np.array(profile, float)]).revolve(n)


def along(solid, start, direction):
    """A body that stands on z = 0 about z, set to start with its z along a direction."""
    z = np.array(direction, float) / np.linalg.norm(direction)
    x = np.cross([0, 1, 0] if abs(z[1]) < 0.9 else [1, 0, 0], z)
    x /= np.linalg.norm(x)
    r = np.column_stack([x, np.cross(z, x), z])
    return solid.transform(np.column_stack([r, start]))


def rod(start, end, r, n=256):
    length = np.linalg.norm(np.subtract(end, start))
    return along(M.cylinder(length, r, r, n), start, np.subtract(end, start))


class Numbers:
    """The joint's dimensions from the parameters alone."""

    def __init__(self, report):
        v = {x["path"]: x["value"] for x in report["values"]}
        self.v = v
        self.wired = v["joint.kind"] == "wire_loop"
        w, h, foot = v["collet.width"], v["collet.height"], v["collet.foot_half_width"]
        self.pitch = w + v["line.gap"]
        tan = (w / 2 - foot) / h
        self.girdle = h + (v["stone.diameter"] / 2 - w / 2 + v["seat.rim_land"]) / math.tan(math.radians(v["seat.bur_angle"] / 2))
        if self.wired:
            self.a = v["collet.wall"] * math.hypot(1, tan)
            self.z = v["joint.groove_depth"] + v["joint.web_height"] / 2
            self.x = foot + self.z * tan - self.a / 2
            self.pivot = np.array([-self.x, 0, self.z])
        else:
            self.z = v["joint.tube_height"]
            self.pivot = np.array([-self.pitch / 2, 0, self.z])
        self.home = self.pivot + [self.pitch, 0, 0]

    def stone(self, larger):
        d, z = self.v["stone.diameter"] + larger, self.girdle
        top = z + (GIRDLE + CROWN) * d
        return turned([(0, z - PAVILION * d), (d / 2, z), (d / 2, z + GIRDLE * d), (TABLE * d / 2, top), (0, top)])

    def join(self):
        """Wire or pin, on the standing link. The wire without the balls at its bends for contact, with them for freedom."""
        v = self.v
        if not self.wired:
            half = v["joint.tube_length"] / 2
            pin = rod([self.pitch / 2, -half, self.z], [self.pitch / 2, half, self.z], v["joint.pin"] / 2)
            return pin
        r, flat, play = v["joint.wire"] / 2, v["joint.wire_flat"], v["joint.end_play"]
        wide = math.pi * r * r / flat / 2
        inner = self.x - self.a / 2
        ends = (inner - play - r, self.pitch - inner + play + r)
        up = v["joint.groove_depth"] + v["joint.web_height"] + r
        out = rod([ends[0], 0, up], [ends[1], 0, up], r)
        out += M.cube([ends[1] - ends[0], 2 * wide, flat]).translate([ends[0], -wide, 0])
        for x in ends:
            out += rod([x, 0, 0], [x, 0, up], r) + M.sphere(r, 192).translate([x, 0, up])
        return out

    def play(self, plane):
        """Shifts to try at contact: a grid over what the play can be at most, by the gaps of the parts."""
        v = self.v
        if self.wired:
            loop = v["joint.groove_depth"] + v["joint.web_height"] - v["joint.wire_flat"]
            spans = [(-v["line.gap"] - 2 * v["joint.end_play"], 2 * v["joint.end_play"]),
                     (-v["joint.bore_width"] + v["joint.wire"], v["joint.bore_width"] - v["joint.wire"]),
                     (v["joint.web_height"] - loop, loop - v["joint.web_height"])]
        else:
            p = v["joint.tube_bore"] - v["joint.pin"]
            spans = [(-p, p), (-2 * v["joint.side_gap"], 2 * v["joint.side_gap"]), (-p, p)]
        return [np.linspace(*spans[k], 7) for k in plane]


def tri(m):
    mesh = m.to_mesh64()
    return np.asarray(mesh.vert_properties)[:, :3], np.asarray(mesh.tri_verts)


def model(m):
    v, f = tri(m)
    out = fcl.BVHModel()
    out.beginModel(len(v), len(f))
    out.addSubModel(v, f)
    out.endModel()
    return out


class Posed:
    def __init__(self, n, movement, angle, shift):
        self.r = Rotation.from_rotvec(np.radians(SIGN[movement] * angle) * np.array(AXES[movement])).as_matrix()
        self.t = n.home + shift - self.r @ n.pivot

    def manifold(self, m):
        return m.transform(np.column_stack([self.r, self.t]))

    def fcl(self):
        return fcl.Transform(self.r, self.t)


def one(c, name, folder):
    file = product.ROOT / "params" / f"{name}.jsonc"
    out = folder / name
    p = product.run("make", file, "--out", out, "--only", "stl", "--tolerance", TOLERANCE)
    if not c.check(f"{name}: made", p.returncode == 0, product.said(p)):
        return
    p = product.run("motion", file, "--format", "json")
    if not c.check(f"{name}: motion measured, every binding limit met", p.returncode == 0, product.said(p)):
        return
    report = json.loads(p.stdout)
    MEASURED[name] = report
    said = report["joint"]
    n = Numbers(json.loads((out / "report.json").read_text()))
    mesh = trimesh.load(out / "link.finished.stl")
    link = M(m3.Mesh64(mesh.vertices.astype(np.float64), mesh.faces.astype(np.uint64)))
    c.check(f"{name}: the exported link is a manifold", link.status() == m3.Error.NoError and link.volume() > 0, f"{link.volume():.4f} mm3")
    larger = n.v["stone.tolerance"]
    c.close(f"{name}: largest stone", said["stones_mm"], n.v["stone.diameter"] + larger, 1e-9)
    stone, joint = n.stone(larger), n.join()
    still = [link, joint, stone]
    moving = [link, stone]
    still_f, moving_f = ([fcl.CollisionObject(model(b)) for b in x] for x in (still, moving))

    def common(pose):
        return max((a ^ pose.manifold(b)).volume() for a in still for b in moving)

    def apart(pose, only_stones=False):
        best = math.inf
        for i, a in enumerate(still_f):
            for j, b in enumerate(moving_f):
                if only_stones and (i, j) != (2, 1):
                    continue
                b.setTransform(pose.fcl())
                best = min(best, fcl.distance(a, b, fcl.DistanceRequest(), fcl.DistanceResult()))
        return best

    rest = Posed(n, "inward", 0.0, np.array(said["rest_shift_mm"]))
    d = apart(rest)
    low, high = said["at_rest_mm"]
    # Both meshes here lie off their solids by the tolerance at most.
    slack = 2 * TOLERANCE
    c.check(f"{name}: clearance at rest, FCL", low - slack <= d <= high + slack, f"{d:.4f} in {low:.4f} to {high:.4f} mm")
    low, high = said["stones_at_rest_mm"]
    d = apart(rest, True)
    c.check(f"{name}: stones apart at rest, FCL", low - slack <= d <= high + slack, f"{d:.4f} in {low:.4f} to {high:.4f} mm")
    c.check(f"{name}: four movements", [m["movement"] for m in said["movements"]] == list(AXES), "")
    for m in said["movements"]:
        what = m["movement"]
        poses = m["poses"]
        c.check(f"{name} {what}: poses from rest to the end", len(poses) >= 3 and poses[0]["deg"] == 0 and math.isclose(abs(poses[-1]["deg"]), m["free_to_deg"]), len(poses))
        met, near = 0.0, math.inf
        for q in poses:
            pose = Posed(n, what, abs(q["deg"]), np.array(q["shift_mm"]))
            met = max(met, common(pose))
            near = min(near, apart(pose))
        # Where it is nearly stuck the two meshes' own chords may overlap by a sliver.
        c.check(f"{name} {what}: free up to {m['free_to_deg']:.2f} deg", met < 1e-6, f"common volume {met:.1e} mm3, nearest {near * 1000:.2f} um, {len(poses)} poses")
        if what == "inward":
            continue_to = m["poses"][-1]
            c.check(f"{name} {what}: turns the way the undersides close", (Posed(n, what, 10.0, np.zeros(3)).r @ [1, 0, 0])[2] < 0 and continue_to["deg"] > 0, "")
        if not c.check(f"{name} {what}: contact proved", m.get("touches_by_deg") is not None, m.get("touches_by_deg")):
            continue
        last = np.array(poses[-1]["shift_mm"])
        angle = m["touches_by_deg"]
        held = not n.wired and what in ("inward", "back")
        grid = [(0.0, 0.0)] if held else [(x, y) for x in n.play(PLANE[what])[0] for y in n.play(PLANE[what])[1]]
        least = math.inf
        # The last free shift too.
        for place in [*grid, None]:
            shift = last.copy()
            if place is not None and not held:
                shift[list(PLANE[what])] = place
            least = min(least, common(Posed(n, what, angle, shift)))
        c.check(f"{name} {what}: contact at {angle:.2f} deg whatever the shift", least > 0, f"least common volume {least:.1e} mm3 over {len(grid)} shifts")


def clasp(c, name, folder):
    """The shut clasp by FCL on the exported meshes, and the lift at which the tongue holds by manifold3d."""
    file = product.ROOT / "params" / f"{name}.jsonc"
    out = folder / f"{name}.clasp"
    tolerance = 0.002
    p = product.run("make", file, "--out", out, "--only", "stl", "--part", "clasp", "--tolerance", tolerance)
    if not c.check(f"{name}: clasp made", p.returncode == 0, product.said(p)):
        return
    said = MEASURED.get(name, {}).get("clasp")
    if not c.check(f"{name}: clasp measured", said is not None, ""):
        return
    v = {x["path"]: x["value"] for x in json.loads((out / "report.json").read_text())["values"]}
    k = json.loads((out / "report.json").read_text())["clasp"]["dimensions"]
    hinges = {"back pin": (k["back_x"], v["clasp.back_height"]), "front pin": (k["front_x"], v["clasp.front_height"])}

    def load(part):
        mesh = trimesh.load(out / f"clasp.{part}.finished.stl")
        return M(m3.Mesh64(mesh.vertices.astype(np.float64), mesh.faces.astype(np.uint64)))

    front = load("strip.front")
    parts = {"plate": load("plate"), "leaf": load("leaf"), "frame": load("frame"), "strips": front + load("strip.back")}
    # The pin is a plain cylinder here: its bead belongs in its cup.
    half = v["clasp.tube_row"] / 2
    parts |= {n: rod([x, -half, z], [x, half, z], v["clasp.pin"] / 2) for n, (x, z) in hinges.items()}
    models = {n: fcl.CollisionObject(model(m)) for n, m in parts.items()}
    seen = 0
    for g in said["at_rest"]:
        a, b = g["parts"]
        if a not in parts or b not in parts:
            continue
        seen += 1
        d = fcl.distance(models[a], models[b], fcl.DistanceRequest(), fcl.DistanceResult())
        low, high = g["gap_mm"]
        c.check(f"{name}: {a} and {b} shut, FCL", low - 2 * tolerance <= d <= high + 2 * tolerance and d > 0, f"{d:.4f} in {low:.4f} to {high:.4f} mm")
    c.check(f"{name}: eight gaps compared", seen == 8, seen)
    # The tongue: free up to its play, held beyond it.
    low, high = said["tongue"]["play_mm"]
    # The frame goes with the leaf: it lifts and moves along a little.
    bar = np.array([k["front_x"] - k["back_x"], v["clasp.front_height"] - v["clasp.back_height"]])

    def lifted(z, aside=0.0):
        a = np.linspace(0, 0.1, 100001)
        lift = bar[0] * np.sin(a) + bar[1] * (np.cos(a) - 1)
        a = float(np.interp(z, lift, a))
        x = bar[0] * (math.cos(a) - 1) - bar[1] * math.sin(a)
        return parts["frame"].translate([x, aside, z]) ^ (front if aside else parts["strips"])

    c.check(f"{name}: strips free to {low:.3f} mm of lift", lifted(low - 0.003).volume() < 1e-7, f"{lifted(low - 0.003).volume():.1e} mm3")
    c.check(f"{name}: strips hold from {high:.3f} mm of lift", lifted(high + 0.004).volume() > 0, f"{lifted(high + 0.004).volume():.1e} mm3")
    low, high = said["tongue"]["gives_way_mm"]
    heights = np.linspace(0.0, 0.6, 41)
    c.check(f"{name}: moved aside by {high:.3f} a strip lets go", max(lifted(z, high + 0.003).volume() for z in heights) < 1e-7, "41 heights")
    c.check(f"{name}: moved aside by {low:.3f} it does not", low < 0.02 or max(lifted(z, low - 0.003).volume() for z in heights) > 0, "41 heights")


def main(c):
    with tempfile.TemporaryDirectory() as folder:
        for name in DESIGNS:
            with c.section(f"motion of {name}"):
                one(c, name, pathlib.Path(folder))
        for name in CLASPS:
            with c.section(f"clasp of {name}"):
                clasp(c, name, pathlib.Path(folder))


if __name__ == "__main__":
    c = Checks()
    main(c)
    print(f"{c.passed} passed, {c.failed} failed")
    sys.exit(c.failed > 0 or c.passed == 0)
