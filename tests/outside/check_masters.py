"""Masters against programs that are not ours: every format of every example, and the way back from the pattern's mesh to the
finished dimensions of the parameter file.

The way back: the STL is measured by rays (trimesh); lengths are multiplied by (1 - s) for each stage, which is shrink itself and not
our factor; then each surface loses its allowance along its normal, which is what filing and polishing does. What is left must be
the dimension in the file. Shrink of a linear size by s: L becomes L (1 - s) (artistryofgold.com, mold shrinkage, uses the same).
"""
import json
import math
import pathlib
import subprocess
import tempfile
import zipfile

import lib3mf
import numpy as np
import trimesh

import occ
import occt_link
import product
import solids
import stl
from harness import Checks

# Mesh fine enough that its chord, on both sides of a wall, is below the micrometre asked for.
FINE = 0.0004
MICRON = 1e-3
NODE = pathlib.Path(__file__).resolve().parents[1] / ".node"
GLB_SCRIPT = """
const v = require('gltf-validator'), fs = require('fs');
(async () => { for (const f of process.argv.slice(1)) {
  const r = await v.validateBytes(new Uint8Array(fs.readFileSync(f)));
  console.log(JSON.stringify({file: f, errors: r.issues.numErrors, warnings: r.issues.numWarnings, infos: r.issues.numInfos,
    first: r.issues.messages.slice(0, 3).map(m => m.code), triangles: r.info.totalTriangleCount})); } })();
"""


def run(c, name, design, out, *more):
    p = product.run("masters", design, "--out", out, *more)
    if not c.check(f"{name}: masters written", p.returncode in (0, 1) and not product.panicked(p), product.said(p)):
        raise RuntimeError("nothing to measure")
    return p.returncode, json.loads((out / "manifest.json").read_text())


def check_3mf(c, name, path, triangles, volume):
    """lib3mf in strict mode: no warning, millimetres, a closed oriented mesh, one build item."""
    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    warnings = [reader.GetWarning(i) for i in range(reader.GetWarningCount())]
    c.none(f"{name}: lib3mf, strict", warnings, "no warning")
    c.check(f"{name}: 3MF in millimetres", model.GetUnit() == lib3mf.ModelUnit.MilliMeter)
    found, objects = [], model.GetMeshObjects()
    while objects.MoveNext():
        o = objects.GetCurrentMeshObject()
        found.append((o.GetName(), o.IsManifoldAndOriented(), o.GetTriangleCount()))
        mesh = trimesh.Trimesh([tuple(v.Coordinates) for v in o.GetVertices()], [tuple(f.Indices) for f in o.GetTriangleIndices()], process=False)
    c.check(f"{name}: 3MF holds one closed named mesh", len(found) == 1 and found[0][0].startswith("link master") and found[0][1] and found[0][2] == triangles, found)
    items, n = model.GetBuildItems(), 0
    while items.MoveNext():
        n += 1
    c.check(f"{name}: 3MF build items", n == 1, n)
    with zipfile.ZipFile(path) as z:
        text = z.read("3D/3dmodel.model").decode()
    c.check(f"{name}: 3MF has the STL's volume", abs(mesh.volume - volume) <= 1e-6 * volume and "displaycolor" in text, f"{mesh.volume:.6f} against {volume:.6f}")


def check_glb(c, files):
    p = subprocess.run(["node", "-e", GLB_SCRIPT, *map(str, files)], capture_output=True, text=True, timeout=120, cwd=NODE)
    lines = [json.loads(line) for line in p.stdout.splitlines()]
    c.check("GLB: the validator read every file", len(lines) == len(files) > 0, f"{len(lines)} of {len(files)} {p.stderr[:200]}")
    for r in lines:
        c.check(f"GLB {pathlib.Path(r['file']).parent.name}: 0 errors, 0 warnings, 0 infos", r["errors"] == r["warnings"] == r["infos"] == 0 and r["triangles"] > 100, r)


def formats(c, design, scratch):
    name, out = design.stem, scratch / design.stem
    code, m = run(c, name, design, out)
    stated = m["compensation"]["stated"]
    stem = "link.master" if stated else "link.master.not-compensated"
    c.check(f"{name}: verdict, exit code and names agree", (code == 0) == (m["verdict"] == "pass") and stated == (m["verdict"] == "pass"), f"exit {code}, {m['verdict']}")
    listed = {f["name"]: f["sha256"] for f in m["files"]}
    sums = subprocess.run(["sha256sum", *sorted(listed)], cwd=out, capture_output=True, text=True, check=True).stdout
    c.check(f"{name}: checksums are those of sha256sum", {line.split()[1]: line.split()[0] for line in sums.splitlines()} == listed, f"{len(listed)} files")
    c.check(f"{name}: files listed are the files there", set(listed) | {"manifest.json", "caster.md"} == {f.name for f in out.iterdir()})
    shape = occ.read_step(out / f"{stem}.step")
    c.none(f"{name}: OCCT reads one valid closed solid", occ.problems(shape))
    mesh = stl.load(out / f"{stem}.stl")[1]
    solids.check_stl(c, f"{name} master", out / f"{stem}.stl", (2 - mesh.euler_number) // 2)
    # The mesh lies within the chord of the solid, so the volumes differ by at most area times chord.
    allowed = occ.area(shape) * m["parts"][0]["chord_mm"]
    c.close(f"{name}: volume of STEP and STL", mesh.volume, occ.volume(shape), allowed, "mm3")
    c.close(f"{name}: volume in the list", m["parts"][0]["pattern_volume_mm3"], mesh.volume, 1e-6 * mesh.volume, "mm3")
    check_3mf(c, name, out / f"{stem}.3mf", len(mesh.faces), mesh.volume)
    return out / f"{stem}.glb"


class Rays:
    def __init__(self, path):
        self.mesh = stl.load(path)[1]

    def hits(self, origin, direction):
        d = np.asarray(direction, float)
        d /= np.linalg.norm(d)
        at, _, _ = self.mesh.ray.intersects_location([origin], [d], multiple_hits=True)
        return sorted(float(np.dot(p - origin, d)) for p in at)


def way_back(c, name, design, out, shrink):
    """Every named dimension of a link for a wire loop, from the mesh alone."""
    want = occt_link.read_jsonc(design)
    _, m = run(c, name, design, out, "--tolerance", FINE)
    r = Rays(out / "link.master.stl")
    k = math.prod(1 - s / 100 for s in shrink)
    q = m["allowances"]
    o, g, u = q["outside"], q["openings"], q["underside"]
    wide, high, foot, wall = (want["collet"][x] for x in ("width", "height", "foot_half_width", "wall"))
    tan = (wide / 2 - foot) / high
    sec = math.hypot(1, tan)
    far = 20.0

    def from_axis(angle, z):
        """Distances from the axis of the hits of a ray outward at this azimuth; z in the casting's size."""
        a = math.radians(angle)
        return [h * k for h in r.hits([0, 0, z / k], [math.cos(a), math.sin(a), 0])]

    def close(what, value, wanted):
        c.close(f"{name}: {what}, polished and shrunk", value, wanted, MICRON)

    round_ = want["collet"].get("shape", "round") == "round"
    # Beside the bore and clear of openings and claws: azimuth 20 degrees; on a flat wall its normal distance is the ray's cosine.
    azimuth = 20
    flat = 1.0 if round_ else math.cos(math.radians(azimuth))
    z1, z2 = 0.62, 1.9
    (in1, out1), (in2, out2) = ([h * flat for h in from_axis(azimuth, z)[:2]] for z in (z1, z2))
    slope = (out2 - out1) / (z2 - z1)
    close("taper of the skin over its height", slope * high, tan * high)
    # A skin filed by o along its normal moves level by o sec; the finished underside lies u higher.
    close("half width at the skin", out1 - o * sec - slope * (z1 - u), foot)
    close("wall, square to the skin", (out1 - in1) / sec - o - g, wall)
    close("wall higher up", (out2 - in2) / sec - o - g, wall)
    # Rim and underside, straight up and down through the middle of the rim land.
    rim = wide / 2 - 0.12
    a = math.radians(azimuth)
    x, y = (rim * math.cos(a), rim * math.sin(a)) if round_ else (rim, rim * math.tan(a))
    top = far - r.hits([x / k, y / k, far], [0, 0, -1])[0]
    low = foot - wall / 2
    x, y = (low * math.cos(a), low * math.sin(a)) if round_ else (low, low * math.tan(a))
    bottom = r.hits([x / k, y / k, -far], [0, 0, 1])[0] - far
    close("height of the collet", (top - bottom) * k - o - u, high)
    # Claws: a ray at 45 degrees through the first one's axis, well above the rim.
    z = (high + u + o + 0.4) / k
    near, beyond = (h * k for h in r.hits([0, 0, z], [1, 1, 0])[:2])
    close("claw", beyond - near - 2 * o, want["claw"]["diameter"])
    proud = 0.0 if round_ else 0.004
    close("setting over the claws", ((beyond + near) / 2 / math.sqrt(2) + (beyond - near) / 2 - o) * 2, wide + 2 * proud)
    # The opening, from its middle.
    op = want["opening"]
    middle = (op["bottom"] + op["top"]) / 2 + u
    inside = want["collet"]["foot_half_width"] - 0.15
    centre = [0, inside / k, middle / k]
    # Nearer the axis, so that the rays meet the sides of the opening and not a claw before it.
    side = [0, (op["stop"] + 0.25) / k, middle / k]
    close("opening, width", (r.hits(side, [1, 0, 0])[0] + r.hits(side, [-1, 0, 0])[0]) * k + 2 * g, op["width"])
    up, down = r.hits(centre, [0, 0, 1])[0] * k, r.hits(centre, [0, 0, -1])[0] * k
    close("opening, lower edge", middle - down - u - g, op["bottom"])
    close("opening, upper edge", middle + up - u + g, op["top"])
    # Its stop, close to its side, where there is metal behind it.
    x = (op["width"] / 2 - g - 0.03) / k
    stop = side[1] - r.hits([x, *side[1:]], [0, -1, 0])[0]
    close("opening, stop", stop * k - g, op["stop"])
    # Groove: 0.05 shallow, width as finished.
    j = want["joint"]
    x = (foot - wall / 2) / k
    close("groove, depth with the 0.05 left for the bur", (r.hits([x, 0, -far], [0, 0, 1])[0] - far) * k - bottom * k - u + 0.05, j["groove_depth"])
    z = 0.2 / k
    close("groove, width", sum(r.hits([x, 0, z], [0, s, 0])[0] for s in (1, -1)) * k, j["groove_width"])
    # Pilot hole on the axis of the round pilot of the bore, three quarters of its width.
    z = (j["groove_depth"] + j["web_height"] + j["bore_width"] / 2 + u) / k
    x = (foot + 0.13 - wall / 2) / k
    sides = [r.hits([x, 0, z], d)[0] * k for d in ([0, 1, 0], [0, -1, 0], [0, 0, 1], [0, 0, -1])]
    c.check(f"{name}: pilot is round, on the bore's axis, 0.75 of its width", max(abs(s - 0.375 * j["bore_width"]) for s in sides) <= MICRON, ", ".join(f"{s:.5f}" for s in sides))
    # Seat: the finished cone drawn in by 0.30 on the diameter.
    s, slope = want["seat"], math.tan(math.radians(want["seat"]["bur_angle"] / 2))
    z = high - 0.05 + u
    hit = min(from_axis(azimuth, z))
    close("seat, with the 0.30 left for the bur", hit + 0.15 + 0.05 * slope, wide / 2 - s["rim_land"])


def main(c):
    with tempfile.TemporaryDirectory() as scratch:
        scratch = pathlib.Path(scratch)
        glbs = []
        for design in sorted((product.ROOT / "params").glob("*.jsonc")):
            if occt_link.read_jsonc(design).get("link", {}).get("route", "cast") != "cast":
                continue
            with c.section(f"masters of {design.stem}"):
                glbs.append(formats(c, design, scratch))
        with c.section("GLB"):
            check_glb(c, glbs)
        text = (product.ROOT / "params" / "line-4.0-platinum.jsonc").read_text()
        with c.section("the way back, round"):
            way_back(c, "round", product.ROOT / "params" / "line-4.0-platinum.jsonc", scratch / "round", (1.8, 1.0))
        with c.section("axes that shrink differently"):
            other = scratch / "axes.jsonc"
            other.write_text(text.replace('"pattern": { "shrink": 1.0,', '"pattern": { "shrink": 1.0, "shrink_z": 0.4,'))
            _, m = run(c, "axes", other, scratch / "axes", "--tolerance", FINE)
            a, b = (stl.load(scratch / f / "link.master.stl")[1] for f in ("round", "axes"))
            for axis, s in enumerate((1.0, 1.0, 0.4)):
                c.close(f"axes: size along {'xyz'[axis]}", np.ptp(b.vertices[:, axis]) * (1 - s / 100), np.ptp(a.vertices[:, axis]) * 0.99, 0.002)
            c.check("axes: no exact solid is claimed", not (scratch / "axes" / "link.master.step").exists())
            solids.check_stl(c, "axes", scratch / "axes" / "link.master.stl", (2 - b.euler_number) // 2)


if __name__ == "__main__":
    checks = Checks()
    main(checks)
    print(f"{checks.passed} passed, {checks.failed} failed")
    raise SystemExit(checks.failed > 0 or checks.passed == 0)
