"""Bench jigs against the link's own mesh, by programs that are not ours: manifold3d puts the link into the jig and shifts it within
the play and past it; trimesh measures windows, guides, tongues and former; OCCT reads the exact solids."""
import json
import pathlib
import subprocess
import tempfile

import numpy as np

import occ
import product
import stl
from harness import Checks

# Coordinates are written in single precision.
EXACT = 1e-5
# Of two meshes with a chord of 0.005 each, against each other.
LOOSE = 0.012
# A volume that is none, mm3: of faces that lie on each other.
NONE = 1e-5
AXIS = 0.010
STEMS = ("jig.openings", "jig.key", "jig.bores", "jig.wire", "jig.pitch")


def hits(mesh, origin, direction):
    """Places along a ray where it meets the mesh, in order."""
    at = mesh.ray.intersects_location([origin], [direction], multiple_hits=True)[0]
    return np.unique(np.round(sorted(float(np.dot(p - np.array(origin), direction)) for p in at), 7))


def circle(mesh, axis, at, near, size):
    """Centre and diameter of the ring in a section across an axis that lies nearest to a place and has about this diameter."""
    normal = np.eye(3)[axis]
    cut = mesh.section(plane_origin=normal * at, plane_normal=normal)
    keep = [k for k in range(3) if k != axis]
    best = (np.full(2, np.nan), np.nan)
    for ring in cut.discrete if cut is not None else []:
        p = np.asarray(ring)[:-1, keep]
        a = np.c_[2 * p, np.ones(len(p))]
        (x, y, k), *_ = np.linalg.lstsq(a, (p ** 2).sum(1), rcond=None)
        d = 2 * np.sqrt(max(k + x * x + y * y, 0))
        c = np.array([x, y])
        if abs(d - size) < 0.02 and (np.isnan(best[1]) or np.linalg.norm(c - near) < np.linalg.norm(best[0] - near)):
            best = (c, d)
    return best


def inside(c, name, link, jig, play, ways):
    """The link in its place, shifted within the play, and past it."""
    m, j = link, stl.manifold(jig)
    met = lambda by: (m.translate(by) ^ j).volume()
    c.check(f"{name}: no interpenetration in place", met((0, 0, 0)) < NONE, met((0, 0, 0)))
    for way in ways:
        w = np.array(way, float)
        free, stopped = met(tuple(w * (play - LOOSE))), met(tuple(w * (play + LOOSE)))
        c.check(f"{name}: plays {play} mm along {way}", free < NONE < stopped, f"{free:.2e} {stopped:.2e}")


def flat(mesh, direction, where):
    """Distance from the origin along a direction of the planes that face it, of the faces that `where` takes; the largest in area."""
    w = np.array(direction, float)
    keep = (mesh.face_normals @ w > 0.99999) & np.array([where(p) for p in mesh.triangles_center])
    if not keep.any():
        return float("nan")
    at = np.round(mesh.triangles_center[keep] @ w, 5)
    values, n = np.unique(at, return_inverse=True)
    return float(values[np.argmax(np.bincount(n.reshape(-1), mesh.area_faces[keep]))])


def windows(c, name, link, mesh, v, sizes):
    """Window against opening: sides, floor and roof on both meshes; the face against the end of the opening."""
    play = sizes["play"]
    half, low, high = v["opening.width"] / 2, v["opening.bottom"], v["opening.top"]
    middle = (low + high) / 2
    face = mesh.bounds[1][1]
    stop = flat(link, (0, 1, 0), lambda p: p[1] > 0 and abs(p[0]) < half and low < p[2] < high)
    c.close(f"{name}: from the face to the end of the opening", face - stop, sizes["depth"], EXACT)
    back = flat(link, (0, -1, 0), lambda p: p[1] < 0 and abs(p[0]) < half and low < p[2] < high)
    c.close(f"{name}: the same behind", -mesh.bounds[0][1] - back, sizes["depth"], EXACT)
    for what, k, at, want in (("wide", 0, (0, face - 0.3, middle), 2 * half), ("high", 2, (0, face - 0.3, middle), high - low)):
        d = np.eye(3)[k]
        window = hits(mesh, at, d)[0] + hits(mesh, at, -d)[0]
        c.close(f"{name}: window {what} is the opening and twice the play", window, want + 2 * play, EXACT)
    # The opening itself, on the link's mesh: its two sides where it ends, its roof and floor in the long side.
    sides = [flat(link, (s, 0, 0), lambda p: low < p[2] < high and stop - EXACT < p[1] and abs(abs(p[0]) - half) < 0.05) for s in (1, -1)]
    c.check(f"{name}: the link's opening is as wide as the window says", np.allclose(np.abs(sides), half, atol=EXACT), sides)
    edges = [flat(link, (0, 0, s), lambda p: abs(p[1]) > stop - EXACT and abs(p[0]) < half and low - 0.05 < p[2] < high + 0.05) for s in (1, -1)]
    c.check(f"{name}: and as high", np.allclose(np.abs(edges), (low, high), atol=EXACT), edges)


def guides(c, name, link, mesh, v, sizes):
    """The axis of each guide hole against the axis of the bore, both from meshes."""
    x, y, _ = mesh.bounds[1]
    size = sizes["guide"]
    hinged = v["joint.kind"] == "hinge_tube"
    axis = 1 if hinged else 0
    found = []
    if hinged:
        bore, length = v["joint.tube_bore"], v["joint.tube_length"]
        p2 = (v["collet.width"] + v["line.gap"]) / 2
        for side, at in ((-1, 0.0), (1, length / 2 - 0.15)):
            found.append(circle(link, 1, at, (side * p2, v["joint.tube_height"]), bore)[0])
    else:
        w = v["joint.bore_width"]
        z = sizes["axis_height"]
        wall = hits(link, (5.0, w / 2 + 0.12, z), (-1, 0, 0))
        for side in (-1, 1):
            at = side * (5.0 - (wall[0] + wall[1]) / 2)
            left, right = hits(link, (at, 0, z), (0, -1, 0))[0], hits(link, (at, 0, z), (0, 1, 0))[0]
            floor = z - hits(link, (at, 0, z), (0, 0, -1))[0]
            # As the plan has it: the pilot stands half the bore's width over the web.
            found.append(np.array([(right - left) / 2, floor + (left + right) / 2]))
    out = (y if hinged else x)
    for i, want in enumerate(found):
        places = [-1, 1] if hinged else [(-1, 1)[i]]
        for side in places:
            got = [circle(mesh, axis, side * (out - d), want, size)[0] for d in (0.05, sizes["guided"] - 0.05)]
            off = max(float(np.linalg.norm(g - want)) for g in got)
            c.check(f"{name}: guide {i + 1} stands on the bore's axis", off <= AXIS, f"{off * 1000:.2f} um, {want}")
    c.check(f"{name}: every bore found", len(found) == 2)
    c.check(f"{name}: the guide is longer than 1.5 drills (common practice, no published source)", sizes["guided"] >= 1.5 * sizes["drill"])
    # Between two drill diameters from the axis, clear of hole and pocket corner, the wall is as thick as said.
    off = size / 2 + 0.1
    ray = ((found[1][0] - off, y + 5, sizes["axis_height"]), (0, -1, 0)) if hinged else ((x + 5, off, sizes["axis_height"]), (-1, 0, 0))
    h = hits(mesh, *ray)
    c.close(f"{name}: guided length", h[1] - h[0], sizes["guided"], EXACT)


def former(c, name, link, mesh, v, sizes):
    z = v["joint.groove_depth"] + v["joint.web_height"] / 2
    webs = [hits(link, (0, 0, z), (s, 0, 0))[0] for s in (1, -1)]
    span = v["collet.width"] + v["line.gap"] - sum(webs) + 2 * v["joint.end_play"]
    c.close(f"{name}: span between the webs of two links at pitch, with the play of both ends", sizes["span"], span, EXACT)
    top = mesh.bounds[1][2]
    on = mesh.vertices[np.abs(mesh.vertices[:, 2] - top) < 1e-6]
    straight = np.ptp(on[:, 0])
    c.close(f"{name}: flat of the ridge", straight, sizes["straight"], EXACT)
    spring, wire = sizes["spring_back_deg"], sizes["wire"]
    # The bend keeps its neutral line: arc of 90 + spring on the former, of 90 on the wire.
    after = (sizes["bend_former"] + wire / 2) * (90 + spring) / 90 - wire / 2
    c.close(f"{name}: sprung back, the loop has the span", straight + 2 * after, span, EXACT)
    n = mesh.face_normals
    # Beside where the loop lies, above the base and its numbers.
    z, deep = top - mesh.triangles_center[:, 2], v["joint.groove_depth"] - v["joint.wire_flat"] + v["joint.web_height"] + wire
    lean = n[(np.abs(n[:, 1]) < 1e-6) & (n[:, 0] > 0.9) & (0.2 < z) & (z < deep)]
    angles = np.degrees(np.arcsin(-lean[:, 2]))
    c.check(f"{name}: flanks lean in by the spring back", len(lean) > 0 and np.allclose(angles, spring, atol=1e-2), list(angles.round(3)))
    # Points of the bend against its circle.
    p = mesh.vertices[(mesh.vertices[:, 0] > straight / 2 + 1e-6) & (mesh.vertices[:, 2] > top - sizes["bend_former"] * 1.06)]
    r = np.hypot(p[:, 0] - straight / 2, p[:, 2] - top + sizes["bend_former"])
    c.check(f"{name}: bend radius", len(p) > 0 and np.abs(r - sizes["bend_former"]).max() <= EXACT, list(r.round(5)[:4]))


def row(c, name, link, path, mesh, v, sizes):
    pitch = v["collet.width"] + v["line.gap"]
    five = [link.translate((k * pitch, 0, 0)) for k in range(-2, 3)]
    apart = max((a ^ b).volume() for a, b in zip(five, five[1:]))
    c.check(f"{name}: five links at pitch do not meet", apart < NONE, apart)
    together = sum(five[1:], five[0])
    inside(c, name, together, path, sizes["play"], [(1, 0, 0), (-1, 0, 0), (0, -1, 0), (0, 0, 1)])
    z = (v["opening.bottom"] + v["opening.top"]) / 2
    y = -(v["opening.stop"] + sizes["play"] + 0.1)
    h = hits(mesh, (-20, y, z), (1, 0, 0)) - 20
    middles = (h[::2] + h[1::2]) / 2
    c.check(f"{name}: pitch of the five tongues", len(h) == 10 and np.allclose(np.diff(middles), pitch, atol=EXACT) and abs(middles[2]) < EXACT, list(middles.round(5)))
    if "pin_hole" in sizes:
        back = mesh.bounds[0][1] + 0.3
        off = [np.linalg.norm(circle(mesh, 1, back, ((k + 0.5) * pitch, v["joint.tube_height"]), sizes["pin_hole"])[0] - ((k + 0.5) * pitch, v["joint.tube_height"])) for k in range(-2, 2)]
        c.check(f"{name}: pin holes on the axes of the joints", max(off) <= AXIS, f"{max(off) * 1000:.2f} um")


def one(c, name, file, scratch):
    out, parts = scratch / name, scratch / f"{name}-link"
    p = product.run("jigs", file, "--out", out)
    if not c.check(f"{name}: written", p.returncode == 0, product.said(p)):
        return
    q = product.run("make", file, "--only", "stl", "--part", "link", "--out", parts)
    if not c.check(f"{name}: link", q.returncode == 0, product.said(q)):
        return
    v = {x["path"]: x["value"] for x in json.loads((parts / "report.json").read_text())["values"]}
    listed = json.loads((out / "jigs.json").read_text())
    names = [f["name"] for f in listed["files"]]
    c.check(f"{name}: files listed are the files there", set(names) | {"jigs.json", "jigs.md"} == {f.name for f in out.iterdir()})
    lines = subprocess.run(["sha256sum", *names], cwd=out, capture_output=True, text=True, check=True).stdout.splitlines()
    c.check(f"{name}: checksums are those of sha256sum", {x.split()[1]: x.split()[0] for x in lines} == {f["name"]: f["sha256"] for f in listed["files"]})
    jigs = {j["jig"]: j for j in listed["jigs"]}
    wire = v["joint.kind"] == "wire_loop"
    c.check(f"{name}: the jigs that serve this joint, the others with a reason", set(jigs) == set(STEMS) - (set() if wire else {"jig.wire"}) and set(jigs) | {w["jig"] for w in listed["without"] if w["why"]} == set(STEMS), sorted(jigs))
    link, raw = stl.manifold(parts / "link.finished.stl"), stl.load(parts / "link.finished.stl")[1]
    for stem, j in jigs.items():
        label, path = f"{name}, {stem}", out / f"{stem}.stl"
        c.none(f"{label}: trimesh, admesh, manifold3d", stl.trimesh_problems(path) + stl.admesh_problems(path) + stl.manifold_problems(path))
        shape = occ.read_step(out / f"{stem}.step")
        c.none(f"{label}: OCCT reads one valid closed solid", occ.problems(shape))
        c.close(f"{label}: exact volume, of the STEP in OCCT", j["volume_mm3"], occ.volume(shape), 1e-6 * occ.volume(shape))
        mesh = stl.load(path)[1]
        c.close(f"{label}: volume of STL and STEP", mesh.volume, occ.volume(shape), occ.area(shape) * j["chord_mm"])
        sizes = {s["word"]: s["value"] for s in j["sizes"]}
        level = [(1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0)]
        if stem == "jig.openings":
            inside(c, label, link, path, sizes["play"], level)
            windows(c, label, raw, mesh, v, sizes)
        elif stem == "jig.bores":
            inside(c, label, link, path, sizes["play"], level)
            guides(c, label, raw, mesh, v, sizes)
        elif stem == "jig.key":
            inside(c, label, link, path, sizes["play"], [(1, 0, 0), (-1, 0, 0), (0, 0, 1), (0, 0, -1)])
            for other in ("jig.openings", "jig.bores"):
                both = (stl.manifold(path) ^ stl.manifold(out / f"{other}.stl")).volume()
                c.check(f"{label}: through the window of {other}", both < NONE, both)
        elif stem == "jig.wire":
            former(c, label, raw, mesh, v, sizes)
        else:
            row(c, label, link, path, mesh, v, sizes)
    text = (out / "jigs.md").read_text()
    c.check(f"{name}: cautions on the page: burs and eyes, uncured resin, small parts, no torch", all(w in text for w in ("Burs and drills: eye protection", "Uncured resin", "Small parts", "no torch")))


def main(c):
    files = sorted((product.ROOT / "params").glob("*.jsonc"))
    c.check("six designs", len(files) == 6, len(files))
    with tempfile.TemporaryDirectory() as scratch:
        for f in files:
            with c.section(f.stem):
                one(c, f.stem, f, pathlib.Path(scratch))


if __name__ == "__main__":
    import sys
    checks = Checks()
    main(checks)
    print(f"{checks.passed} passed, {checks.failed} failed")
    sys.exit(checks.failed > 0)
