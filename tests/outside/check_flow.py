"""Where a master is heavy and what it is fed through, against OCCT's distance on the exact solid and a voxel field of our own from
scipy: a k-d tree of points spread over the mesh gives distances, parity along rays tells metal from air, labels tell what is connected.

Both fields change by no more than one goes (Lipschitz, constant 1), so that half a cell's diagonal is all that either leaves open.
"""
import json
import pathlib
import tempfile

import numpy as np
import trimesh
from scipy import ndimage
from scipy.spatial import cKDTree

import occ
import product
import stl
from harness import Checks

STEP = 0.08
# Points spread over the mesh, and the farthest any place of it lies from one: measured below, not assumed.
POINTS = 150_000


class Voxels:
    def __init__(self, mesh, room):
        self.low = mesh.bounds[0] - room - STEP * np.array([0.317, 0.441, 0.283])
        self.size = np.ceil((mesh.bounds[1] + room - self.low) / STEP).astype(int) + 2
        points, _ = trimesh.sample.sample_surface(mesh, POINTS, seed=1)
        tree = cKDTree(points)
        probe, _ = trimesh.sample.sample_surface(mesh, 20_000, seed=2)
        self.spread = 1.5 * float(tree.query(probe)[0].max())
        grid = np.stack(np.meshgrid(*(self.low[k] + STEP * np.arange(self.size[k]) for k in range(3)), indexing="ij"), -1)
        self.inside = self.parity(mesh)
        distance = tree.query(grid.reshape(-1, 3))[0].reshape(self.size)
        self.metal = np.where(self.inside, distance, -1.0)
        self.air = np.where(self.inside, -1.0, distance)
        self.slack = STEP * np.sqrt(3) / 2 + self.spread

    def parity(self, mesh):
        """Metal or air by the number of crossings below, one row of voxels at a time."""
        crossings = {}
        for a, b, c in mesh.triangles:
            lo, hi = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
            i0, i1 = (np.ceil((lo[:2] - self.low[:2]) / STEP).astype(int), np.floor((hi[:2] - self.low[:2]) / STEP).astype(int))
            for i in range(i0[0], i1[0] + 1):
                for j in range(i0[1], i1[1] + 1):
                    p = self.low[:2] + STEP * np.array([i, j])
                    area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
                    if area == 0:
                        continue
                    u = ((p[0] - a[0]) * (c[1] - a[1]) - (p[1] - a[1]) * (c[0] - a[0])) / area
                    v = ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])) / area
                    if u >= 0 and v >= 0 and u + v <= 1:
                        crossings.setdefault((i, j), []).append(a[2] + u * (b[2] - a[2]) + v * (c[2] - a[2]))
        out = np.zeros(self.size, bool)
        z = self.low[2] + STEP * np.arange(self.size[2])
        self.odd = 0
        for (i, j), at in crossings.items():
            if len(at) % 2:
                self.odd += 1
                continue
            out[i, j] = np.searchsorted(np.sort(at), z) % 2 == 1
        return out

    def index(self, p):
        return tuple(np.rint((np.asarray(p) - self.low) / STEP).astype(int))

    def place(self):
        return np.stack(np.meshgrid(*(self.low[k] + STEP * np.arange(self.size[k]) for k in range(3)), indexing="ij"), -1)


def connected(where, start, end):
    """Whether a place is connected with any of some others."""
    label, _ = ndimage.label(where, np.ones((3, 3, 3)))
    return bool(label[end]) and bool((label[start & where] == label[end]).any())


def one(c, name, part, out):
    f = part["flow"]
    faces = occ.boundary(occ.read_step(out / f"{part['part']}.master.step"))
    for h in f["heavy"]:
        low, high = h["between_mm"]
        wide = 2 * occ.distance(faces, h["at_mm"])
        # Places are told to a thousandth.
        c.check(f"{name}: sphere at {h['at_mm']} is what OCCT measures", low - 0.002 <= wide <= high + 0.002, f"{wide:.4f} in {low} to {high}")
    mesh = stl.load(out / f"{part['part']}.master.stl")[1]
    v = Voxels(mesh, 0.6)
    c.check(f"{name}: voxels tell metal from air", v.odd == 0 and abs(v.inside.sum() * STEP**3 / mesh.volume - 1) < 0.02, f"{v.odd} rows, {v.inside.sum() * STEP**3:.3f} of {mesh.volume:.3f} mm3")
    low, high = f["heavy"][0]["between_mm"]
    most = 2 * v.metal.max()
    c.check(f"{name}: no sphere of the field is larger, and one as large is there", low - 2 * v.slack <= most <= high + 2 * v.spread, f"{most:.3f} in {low} to {high}")
    s = f["sprue"]
    start = v.inside & (np.linalg.norm(v.place() - np.array(s["at_mm"]), axis=-1) <= 0.75 * s["foot_mm"])
    # The sprue is molten: it is no narrower than anything.
    depth = np.where(start, np.inf, v.metal)
    for h in f["heavy"]:
        at = v.index(h["at_mm"])
        low, high = (x / 2 for x in h["neck"]["between_mm"])
        c.check(f"{name}: a ball of the neck's lower end comes to {h['at_mm']}", connected(depth >= low - v.slack, start, at), f"{2 * low:.3f}")
        # What lies in the sprue's own reach is fed by it alone.
        c.check(f"{name}: none larger than its upper end does", start[at] or not connected(depth >= high + v.slack, start, at), f"{2 * high:.3f}")
    _, n = ndimage.label(~v.inside)
    c.check(f"{name}: hollows without a way out", n - 1 == sum(p["closed"] for p in f["pockets"]), n - 1)
    for p in (p for p in f["pockets"] if not p["closed"]):
        r = p["width_mm"] / 2 + v.slack
        label, _ = ndimage.label(v.air >= r, np.ones((3, 3, 3)))
        middles = label == label[0, 0, 0]
        off = STEP * ndimage.distance_transform_edt(~middles)[v.index(p["at_mm"])]
        c.check(f"{name}: no ball of {p['width_mm']} mm covers {p['at_mm']}", off > p["width_mm"] / 2 - 2 * v.slack and v.air[v.index(p["at_mm"])] > -v.slack - STEP, f"{off:.3f}")


def main(c):
    with tempfile.TemporaryDirectory() as scratch:
        for stem, part in (("line-4.0-platinum", "link"), ("line-3.5-rose-block", "link")):
            out = pathlib.Path(scratch) / stem
            text = (product.ROOT / "params" / f"{stem}.jsonc").read_text().rstrip()
            if '"master"' not in text:
                text = text[:-1].rstrip().rstrip(",") + ',\n "master": { "metal": { "compensated_by": "caster" }, "pattern": { "compensated_by": "printer" } }\n}\n'
            file = pathlib.Path(scratch) / f"{stem}.jsonc"
            file.write_text(text)
            p = product.run("masters", file, "--part", part, "--out", out)
            c.check(f"{stem}: masters written", p.returncode == 0, product.said(p))
            m = json.loads((out / "manifest.json").read_text())
            with c.section(f"{stem} {part}"):
                one(c, f"{stem} {part}", m["parts"][0], out)


if __name__ == "__main__":
    checks = Checks()
    main(checks)
    print(f"{checks.passed} passed, {checks.failed} failed")
    raise SystemExit(checks.failed > 0 or checks.passed == 0)
