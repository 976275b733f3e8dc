"""Masters against programs that are not ours: every format of every example, and the way back from the pattern's mesh to the
finished dimensions of the parameter file.

The way back is in way_back.py.
"""
import concurrent.futures
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
import step_text
import stl
import way_back as way
from harness import Checks

# Mesh fine enough that its chord, on both sides of a wall, is below the micrometre asked for.
FINE = 0.0004
NODE = pathlib.Path(__file__).resolve().parents[1] / ".node"
GLB_SCRIPT = """
const v = require('gltf-validator'), fs = require('fs');
(async () => { for (const f of process.argv.slice(1)) {
  const r = await v.validateBytes(new Uint8Array(fs.readFileSync(f)));
  console.log(JSON.stringify({file: f, errors: r.issues.numErrors, warnings: r.issues.numWarnings, infos: r.issues.numInfos,
    first: r.issues.messages.slice(0, 3).map(m => m.code), triangles: r.info.totalTriangleCount})); } })();
"""

def check_3mf(c, name, part, path, triangles, volume):
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
    c.check(f"{name}: 3MF holds one closed named mesh", len(found) == 1 and found[0][0] == f"{part} master" and found[0][1] and found[0][2] == triangles, found)
    items, n = model.GetBuildItems(), 0
    while items.MoveNext():
        n += 1
    c.check(f"{name}: 3MF build items", n == 1, n)
    with zipfile.ZipFile(path) as z:
        text = z.read("3D/3dmodel.model").decode()
    c.check(f"{name}: 3MF has the STL's volume", abs(mesh.volume - volume) <= 1e-6 * volume and "displaycolor" in text, f"{mesh.volume:.6f} against {volume:.6f}")


def check_volume(c, part, ours, shape):
    """The exact volume in the list is that of the STEP in OCCT, to a millionth. On three of these solids OCCT's integral over the faces is
    aside by 4e-6 to 3.4e-5, while its own meshes of the same file, ever finer and extrapolated, meet the list within 1e-7. So where the
    integral is aside its meshes decide, whichever part it is."""
    integral = occ.volume(shape)
    if abs(ours - integral) <= 1e-6 * integral:
        c.close(f"{part}: exact volume in the list, of the STEP in OCCT", ours, integral, 1e-6 * integral, "mm3")
        return
    volume, ratio = occ.converged_volume(shape)
    c.check(f"{part}: OCCT's meshes converge as their law asks", 3.2 < ratio < 4.8, f"{ratio:.2f}; its integral is aside by {integral / ours - 1:.1e}")
    c.close(f"{part}: exact volume in the list, of the STEP in OCCT's meshes extrapolated", ours, volume, 1e-6 * volume, "mm3")


def check_glb(c, files):
    p = subprocess.run(["node", "-e", GLB_SCRIPT, *map(str, files)], capture_output=True, text=True, timeout=120, cwd=NODE)
    lines = [json.loads(line) for line in p.stdout.splitlines()]
    c.check("GLB: the validator read every file", len(lines) == len(files) > 0, f"{len(lines)} of {len(files)} {p.stderr[:200]}")
    for r in lines:
        c.check(f"GLB {pathlib.Path(r['file']).parent.name}: 0 errors, 0 warnings, 0 infos", r["errors"] == r["warnings"] == r["infos"] == 0 and r["triangles"] > 100, r)


def formats(c, name, out, m):
    """Names, checksums and every format of every casting."""
    c.check(f"{name}: verdict and state agree", m["compensation"]["stated"] and m["verdict"] in ("pass", "fail"), m["verdict"])
    listed = {f["name"]: f["sha256"] for f in m["files"]}
    sums = subprocess.run(["sha256sum", *sorted(listed)], cwd=out, capture_output=True, text=True, check=True).stdout
    c.check(f"{name}: checksums are those of sha256sum", {line.split()[1]: line.split()[0] for line in sums.splitlines()} == listed, f"{len(listed)} files")
    c.check(f"{name}: files listed are the files there", set(listed) | {"manifest.json", "caster.md"} == {f.name for f in out.iterdir()})
    glbs = []
    for p in m["parts"]:
        part, stem = f"{name} {p['part']}", f"{p['part']}.master"
        shape = occ.read_step(out / f"{stem}.step")
        c.none(f"{part}: OCCT reads one valid closed solid", occ.problems(shape))
        wrong, parsed = step_text.problems(out / f"{stem}.step")
        counts = step_text.faces_by_surface(parsed)
        c.check(f"{part}: every face plane, cylinder or cone, as counted", not wrong and all(counts.get(k, 0) == n for k, n in p["faces"].items()) and sum(counts.values()) == sum(p["faces"].values()), f"{dict(counts)} {p['faces']} {wrong}")
        check_volume(c, part, p["solid_volume_mm3"], shape)
        mesh = stl.load(out / f"{stem}.stl")[1]
        solids.check_stl(c, part, out / f"{stem}.stl", (2 - mesh.euler_number) // 2)
        # The mesh lies within the chord of the solid, so the volumes differ by at most area times chord.
        c.close(f"{part}: volume of STEP and STL", mesh.volume, occ.volume(shape), occ.area(shape) * p["chord_mm"], "mm3")
        c.close(f"{part}: volume in the list", p["pattern_volume_mm3"], mesh.volume, 1e-6 * mesh.volume, "mm3")
        check_3mf(c, part, p["part"], out / f"{stem}.3mf", len(mesh.faces), mesh.volume)
        glbs.append(out / f"{stem}.glb")
    return glbs


MASTER = '"master": { "metal": { "shrink": 1.8, "compensated_by": "us" }, "pattern": { "shrink": 1.0, "compensated_by": "us" } }'
# Names of dimensions that stand in the file as they are.
IN_FILE = {
    "collet, wall": "collet.wall", "claw, diameter": "claw.diameter", "opening, width": "opening.width", "collet, height": "collet.height", "groove, depth": "joint.groove_depth",
    "groove, width": "joint.groove_width", "bore, width": "joint.bore_width", "foot, filled to": "collet.foot_fill", "light hole": "collet.light_hole", "line knuckle, diameter": "joint.tube_outer",
    "line hinge bore": "joint.tube_bore", "cheek, thickness": "clasp.cheek", "knuckles, over both": "clasp.tube_row", "side catch tube, diameter": "clasp.side_catch.tube", "lug bore": "joint.bore_width",
    "lug groove, width": "joint.groove_width", "lug groove, depth": "joint.groove_depth",
}


# Round, cushion and square links with a stub, and a frame.
STUBS = {"line-3.0-silver-cushion": ("--part", "link"), "line-4.0-platinum-square": ("--part", "link"), "line-4.0-platinum": ()}


def stated(design, scratch):
    """The design with its shrink said to be ours."""
    text = design.read_text().rstrip()
    if '"master"' not in text:
        text = text[:-1].rstrip().rstrip(",") + ",\n  " + MASTER + "\n}\n"
    file = scratch / f"{design.stem}.jsonc"
    file.write_text(text)
    return file


def with_stub(file, scratch):
    """The same design with a stub for the sprue: round, 1.5 by 4 mm."""
    out = scratch / f"{file.stem}-stub.jsonc"
    out.write_text(file.read_text().replace('"master": {', '"master": { "sprue": { "diameter": 1.5, "length": 4.0 },', 1))
    return out


def check_stub(c, name, bare, stubbed):
    """A stub adds a frustum, two cylinders and an end, and nothing else: OCCT's volumes of both STEP files against the closed form; sawn
    off the mesh by manifold3d the part is left."""
    for p, q in zip(*(json.loads((out / "manifest.json").read_text())["parts"] for out in (bare, stubbed))):
        s, stem = q["stub"], f"{q['part']}.master"
        r, f = s["diameter_mm"] / 2, s["foot_mm"] / 2
        frustum = lambda a, b, h: math.pi * h / 3 * (a * a + a * b + b * b)
        want = frustum(f, f, s["neck_mm"]) + frustum(f, r, r - f) + frustum(r, r, s["length_mm"] - s["neck_mm"] - (r - f))
        a, b = (occ.volume(occ.read_step(out / f"{stem}.step")) for out in (bare, stubbed))
        # The foot is told to a thousandth; OCCT's integral over these faces is good to some 3e-5 of the part.
        c.close(f"{name} {q['part']}: the stub adds a frustum and two cylinders", b - a, want, 2e-3 + 3e-5 * b, "mm3")
        c.close(f"{name} {q['part']}: its volume in the list", s["volume_mm3"], want, 2e-3, "mm3")
        more = {k: q["faces"][k] - p["faces"][k] for k in q["faces"]}
        c.check(f"{name} {q['part']}: one end, two halves each of neck, cone and side", more == {"PLANE": 1, "CYLINDRICAL_SURFACE": 4, "CONICAL_SURFACE": 2}, more)
        c.close(f"{name} {q['part']}: the casting weighs what it does without", q["casting_g"], p["casting_g"], 1e-6 * p["casting_g"], "g")
        c.check(f"{name} {q['part']}: named, told on the sheet, shown from below", f"sprue stub for the process" in json.dumps(json.loads((stubbed / "manifest.json").read_text())["rules"]) and "Saw it off just under the flat" in (stubbed / "caster.md").read_text() and (stubbed / f"{stem}.below.png").exists() and "'sprue.end'" in (stubbed / f"{stem}.step").read_text())
        whole, left = (stl.load(out / f"{stem}.stl")[1] for out in (stubbed, bare))
        sawn = way.sawn_off(whole, s)
        # Both meshes lie within their chord of one solid.
        c.close(f"{name} {q['part']}: sawn off, the part is left", sawn.volume, left.volume, left.area * (p["chord_mm"] + q["chord_mm"]), "mm3")
        c.check(f"{name} {q['part']}: closed when sawn off", sawn.is_watertight and np.allclose(sawn.bounds, left.bounds, atol=2e-4), np.round(sawn.bounds, 3).tolist())


def flat(nested, before=""):
    out = {}
    for k, v in nested.items():
        out |= flat(v, f"{before}{k}.") if isinstance(v, dict) else {before + k: v}
    return out


def cast_link(file):
    return occt_link.read_jsonc(file).get("link", {}).get("route", "cast") == "cast"


def way_back(c, name, file, out, m):
    """Every named dimension of every casting, from the meshes alone."""
    nested = occt_link.read_jsonc(file)
    try:
        d = occt_link.dimensions(nested)
    except occt_link.Missing:
        # What the file leaves to its defaults is only where to look; the defaults have checks of their own.
        p = product.run("make", file, "--only", "step", "--out", out.with_name(f"{out.name}-made"), "--format", "json")
        nested = {}
        for value in json.loads(p.stdout)["values"]:
            *groups, leaf = value["path"].split(".")
            at = nested
            for g in groups:
                at = at.setdefault(g, {})
            at[leaf] = value["value"]
        d = occt_link.dimensions(nested)
    values = flat(nested)
    d["pitch"] = d["W"] + values["line.gap"]
    f = {"count": int(values["clasp.count"]), "front_height": values["clasp.front_height"], "tube_row": values["clasp.tube_row"], "tube_outer": values["clasp.tube_outer"]}
    for p in m["parts"]:
        fine = out.with_name(out.name + "-fine") if p["part"] == "link" else out
        r = way.Casting(fine / f"{p['part']}.master.stl", m, p["part"], (1.8, 1.0))
        with c.section(f"{name}, the way back of {p['part']}"):
            if p["part"] == "link":
                way.link(r, d)
            else:
                way.frame(r, d, f)
        r.compare(c, f"{name} {p['part']}")
        wrong = [f"{n}: {r.named[n]['finished']} for {path} {values[path]}" for n, path in IN_FILE.items() if n in r.named and path in values and abs(r.named[n]["finished"] - values[path]) > 1e-6]
        c.none(f"{name} {p['part']}: finished dimensions are those of the file", wrong)


def main(c):
    with tempfile.TemporaryDirectory() as scratch:
        scratch = pathlib.Path(scratch)
        files = [stated(design, scratch) for design in sorted((product.ROOT / "params").glob("*.jsonc"))]
        c.check("masters: all example designs", len(files) == 6, ", ".join(f.stem for f in files))
        axes = scratch / "axes.jsonc"
        text = (scratch / "line-4.0-platinum.jsonc").read_text()
        axes.write_text(text.replace('"pattern": { "shrink": 1.0,', '"pattern": { "shrink": 1.0, "shrink_z": 0.4,'))
        runs = [(f, scratch / f.stem, ()) for f in files] + [(files[3], scratch / "again", ())]
        # Round walls of the link are measured by rays: a mesh whose chord, on both sides of a wall, is below the micrometre.
        links = [f for f in files if cast_link(f)]
        stubs = [with_stub(f, scratch) for f in files if f.stem in STUBS]
        c.check("masters: designs with a stub", len(stubs) == len(STUBS))
        runs += [(f, scratch / f.stem, STUBS[f.stem.removesuffix("-stub")]) for f in stubs]
        runs += [(stubs[-1], scratch / f"{stubs[-1].stem}-fine", ("--part", "link", "--tolerance", FINE))]
        runs += [(f, scratch / f"{f.stem}-fine", ("--part", "link", "--tolerance", FINE)) for f in [*links, axes]]
        with concurrent.futures.ThreadPoolExecutor(2) as pool:
            made = list(pool.map(lambda r: product.run("masters", r[0], "--out", r[1], *r[2]), runs))
        for (file, out, _), p in zip(runs, made):
            c.check(f"{out.name}: masters written", p.returncode in (0, 1) and not product.panicked(p) and out.is_dir(), product.said(p))
        differ = [f.name for f in (scratch / files[3].stem).iterdir() if f.read_bytes() != (scratch / "again" / f.name).read_bytes()]
        c.none("masters: two runs byte for byte the same", differ)
        glbs = []
        for file in files:
            out = scratch / file.stem
            m = json.loads((out / "manifest.json").read_text())
            cast = {"link"} if cast_link(file) else set()
            c.check(f"{file.stem}: what is cast has a master, what is built has none", {p["part"] for p in m["parts"]} == cast | {"clasp.frame"})
            with c.section(f"formats of {file.stem}"):
                glbs += formats(c, file.stem, out, m)
            with c.section(f"way back of {file.stem}"):
                way_back(c, file.stem, file, out, m)
        for file in stubs:
            bare, out = scratch / file.stem.removesuffix("-stub"), scratch / file.stem
            with c.section(f"stub of {file.stem}"):
                glbs += formats(c, file.stem, out, json.loads((out / "manifest.json").read_text()))
                check_stub(c, file.stem, bare, out)
        with c.section("way back with a stub"):
            way_back(c, stubs[-1].stem, stubs[-1], scratch / stubs[-1].stem, json.loads((scratch / stubs[-1].stem / "manifest.json").read_text()))
        with c.section("GLB"):
            check_glb(c, glbs)
        with c.section("axes that shrink differently"):
            a, b = (stl.load(scratch / f / "link.master.stl")[1] for f in ("line-4.0-platinum-fine", "axes-fine"))
            for axis, s in enumerate((1.0, 1.0, 0.4)):
                c.close(f"axes: size along {'xyz'[axis]}", np.ptp(b.vertices[:, axis]) * (1 - s / 100), np.ptp(a.vertices[:, axis]) * 0.99, 0.002)
            c.check("axes: no exact solid is claimed", not (scratch / "axes-fine" / "link.master.step").exists())
            solids.check_stl(c, "axes", scratch / "axes-fine" / "link.master.stl", (2 - b.euler_number) // 2)


if __name__ == "__main__":
    checks = Checks()
    main(checks)
    print(f"{checks.passed} passed, {checks.failed} failed")
    raise SystemExit(checks.failed > 0 or checks.passed == 0)
