"""Gauge, calibration and build plates against programs that are not ours: sizes measured on the meshes by trimesh, the 3MF read by
lib3mf, the straight lines of the calibration by scipy's least squares."""
import json
import pathlib
import subprocess
import tempfile

import lib3mf
import numpy as np
import trimesh
from scipy import stats

import product
import stl
from harness import Checks

# Coordinates are written in single precision; below 64 mm that is 4e-6 at most.
EXACT = 1e-5
AXES = "xyz"


def solid_problems(mesh, bodies):
    found = [] if mesh.is_volume and mesh.is_winding_consistent else ["not a closed oriented volume"]
    if mesh.body_count != bodies:
        found.append(f"{mesh.body_count} bodies instead of {bodies}")
    return found


def read_3mf(c, name, path):
    """Objects by name with their mesh, and the build items, through lib3mf in strict mode."""
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    c.none(f"{name}: lib3mf, strict", [reader.GetWarning(i) for i in range(reader.GetWarningCount())], "no warning")
    c.check(f"{name}: millimetres", model.GetUnit() == lib3mf.ModelUnit.MilliMeter)
    data = model.GetMetaDataGroup()
    known = {data.GetMetaData(i).GetName() for i in range(data.GetMetaDataCount())}
    c.check(f"{name}: metadata", {"Title", "Description", "Application"} <= known, sorted(known))
    objects, it = {}, model.GetMeshObjects()
    while it.MoveNext():
        o = it.GetCurrentMeshObject()
        mesh = trimesh.Trimesh([tuple(v.Coordinates) for v in o.GetVertices()], [tuple(f.Indices) for f in o.GetTriangleIndices()], process=False)
        colour, has = o.GetObjectLevelProperty()[0], o.GetObjectLevelProperty()[-1]
        objects[o.GetName()] = (o.GetResourceID(), mesh, bool(o.IsManifoldAndOriented() and has and colour))
    c.check(f"{name}: every object closed, oriented, with a material", len(objects) > 0 and all(o[2] for o in objects.values()), sorted(objects))
    items, it = [], model.GetBuildItems()
    while it.MoveNext():
        item = it.GetCurrent()
        t = item.GetObjectTransform()
        items.append((item.GetObjectResource().GetResourceID(), np.array([t.Fields[3][k] for k in range(3)])))
    return objects, items


def sums(c, name, folder, listed):
    names = [f["name"] for f in listed]
    lines = subprocess.run(["sha256sum", *names], cwd=folder, capture_output=True, text=True, check=True).stdout.splitlines()
    c.check(f"{name}: checksums are those of sha256sum", {line.split()[1]: line.split()[0] for line in lines} == {f["name"]: f["sha256"] for f in listed} and len(names) > 1, f"{len(names)} files")


def length(mesh, origin, direction):
    """Metal along a ray from outside: first to second hit."""
    at, _, _ = mesh.ray.intersects_location([origin], [direction], multiple_hits=True)
    along = sorted(float(np.dot(p, direction)) for p in at)
    return along[1] - along[0] if len(along) == 2 else float("nan")


def gauge(c, scratch):
    out = scratch / "gauge"
    p = product.run("coupon", "--out", out)
    if not c.check("gauge: written", p.returncode == 0, product.said(p)):
        return
    again = scratch / "gauge2"
    product.run("coupon", "--out", again)
    files = sorted(f.name for f in out.iterdir())
    c.check("gauge: two runs byte for byte the same", all((out / f).read_bytes() == (again / f).read_bytes() for f in files) and files == sorted(f.name for f in again.iterdir()), f"{len(files)} files")
    m = json.loads((out / "gauge.json").read_text())
    c.check("gauge: files listed are the files there", {f["name"] for f in m["files"]} | {"gauge.json"} == set(files))
    sums(c, "gauge", out, m["files"])
    steps, band = m["steps_mm"], m["step_width_mm"]
    for k, axis in enumerate(AXES):
        c.none(f"gauge {axis}: trimesh, admesh, manifold3d", stl.trimesh_problems(out / f"gauge-{axis}.stl") + stl.admesh_problems(out / f"gauge-{axis}.stl") + stl.manifold_problems(out / f"gauge-{axis}.stl", 0))
        mesh = stl.load(out / f"gauge-{axis}.stl")[1]
        low, high = mesh.bounds
        # Bands: largest first; along +y, -x, +x. The ray runs a quarter of the band in, 0.5 mm over the lower face, clear of the numbers.
        side, thick, sign = {"x": (1, 2, 1), "y": (0, 2, -1), "z": (0, 1, 1)}[axis]
        found = []
        for i in range(len(steps)):
            origin, direction = low.copy(), np.eye(3)[k]
            origin[side] = (low if sign > 0 else high)[side] + sign * band * (i + 0.25)
            origin[thick] += 0.5
            origin[k] -= 5
            found.append(length(mesh, origin, direction))
        c.check(f"gauge {axis}: twelve steps as listed", len(found) == 12 and max(abs(a - b) for a, b in zip(found, sorted(steps, reverse=True))) <= EXACT, ", ".join(f"{v:.4f}" for v in found))
        c.close(f"gauge {axis}: caliper bar", high[k] - low[k], max(steps), EXACT)
        # Numbers: as deep as listed; without them the staircase would be a prism of this volume.
        cut = sum(steps) * band * 3.0 - mesh.volume
        cells = cut / m["engraving_mm"] ** 3
        c.check(f"gauge {axis}: numbers are cut in, whole strokes of {m['engraving_mm']} mm", cells > 20 and abs(cells - round(cells)) < 1e-2, f"{cells:.4f} cells")
    path = out / "holes-slots-pins.stl"
    c.none("gauge holes: trimesh, admesh, manifold3d", stl.trimesh_problems(path) + stl.admesh_problems(path) + stl.manifold_problems(path, len(m["holes_mm"])))
    mesh = stl.load(path)[1]
    chord = 0.002
    # A section half way through the plate, below the numbers: its inner rings are the holes.
    rings = mesh.section(plane_origin=[0, 0, 0.75], plane_normal=[0, 0, 1]).discrete
    holes = sorted(diameter(r) for r in rings)[:-1]
    c.check("gauge: holes as listed", len(holes) == len(m["holes_mm"]) and all(abs(want - d) <= 2 * chord for d, want in zip(holes, m["holes_mm"])), ", ".join(f"{d:.4f}" for d in holes))
    pins = mesh.section(plane_origin=[0, 0, 3.0], plane_normal=[0, 0, 1]).discrete
    pins = sorted(diameter(p) for p in pins)
    c.check("gauge: pins as listed", len(pins) == len(m["pins_mm"]) and all(abs(want - d) <= 2 * chord for d, want in zip(pins, m["pins_mm"])), ", ".join(f"{d:.4f}" for d in pins))
    low, high = mesh.bounds
    hits = mesh.ray.intersects_location([[low[0] - 5, high[1] - 0.5, 0.75]], [[1, 0, 0]], multiple_hits=True)[0]
    xs = np.sort(hits[:, 0])
    widths, webs = xs[2:-1:2] - xs[1:-2:2], xs[3:-2:2] - xs[2:-3:2]
    c.check("gauge: slots and webs as listed", len(widths) == len(m["slots_mm"]) and np.allclose(widths, m["slots_mm"], atol=EXACT) and np.allclose(webs, m["webs_mm"], atol=EXACT), f"{widths.round(4)} {webs.round(4)}")
    objects, items = read_3mf(c, "gauge.3mf", out / "gauge.3mf")
    c.check("gauge.3mf: the four bodies in place", sorted(objects) == ["gauge x", "gauge y", "gauge z", "holes slots pins"] and len(items) == 4 and all(np.abs(t).max() == 0 for _, t in items))
    boxes = [o[1].bounds for o in objects.values()]
    apart = all(any(a[0][k] >= b[1][k] + 2 or b[0][k] >= a[1][k] + 2 for k in (0, 1)) for i, a in enumerate(boxes) for b in boxes[:i])
    c.check("gauge.3mf: bodies stand 2 mm apart or more, on z = 0", apart and max(abs(b[0][2]) for b in boxes) <= EXACT)


def diameter(ring):
    """Of the circle as large as a closed level curve."""
    x, y = np.asarray(ring)[:, :2].T
    return 2 * float(np.sqrt(abs(np.dot(x[:-1], y[1:]) - np.dot(x[1:], y[:-1])) / 2 / np.pi))


def readings(rnd, template, truth, noise):
    rows = []
    for line in template.splitlines():
        what, _, rest = line.partition(",")
        if what in truth and rest.endswith(","):
            size = float(rest[:-1])
            k, off = truth[what]
            line += f"{k * size + off + rnd.normal(0, noise):.5f}"
        rows.append(line)
    return "\n".join(rows) + "\n"


def calibrated(scratch, text, *more):
    f = scratch / "readings.csv"
    f.write_text(text)
    return product.run("calibrate", f, *more)


def calibration(c, scratch):
    template = (scratch / "gauge" / "readings.csv").read_text()
    rnd = np.random.default_rng(20)
    truth = {"x": (0.988, 0.0), "y": (1.0, 0.0), "z": (0.994, -0.03), "hole": (1.0, -0.07)}
    text = readings(rnd, template, truth, 0.008)
    p = calibrated(scratch, text, "--format", "json")
    if not c.check("calibrate: taken", p.returncode == 0, product.said(p)):
        return
    lines = {line["what"]: line for line in json.loads(p.stdout)["lines"]}
    for what, line in lines.items():
        rows = [r.split(",") for r in text.splitlines() if r.startswith(what + ",")]
        x, y = np.array([[float(a), float(b)] for _, a, b in rows]).T
        if line["left_out"] or line["used"] != len(x):
            c.check(f"calibrate {what}: every reading used", False, line)
            continue
        fit = stats.linregress(x, y)
        t = stats.t.ppf(0.975, len(x) - 2)
        if what != "hole":
            got, want = (line["scale"]["value"], line["scale"]["half"]), (fit.slope, t * fit.stderr)
            c.check(f"calibrate {what}: scale and interval are scipy's", np.allclose(got, want, rtol=1e-6, atol=1e-9), f"{got} {want}")
            got, want = (line["offset"]["value"], line["offset"]["half"]), (fit.intercept, t * fit.intercept_stderr)
            c.check(f"calibrate {what}: offset and interval are scipy's", np.allclose(got, want, rtol=1e-6, atol=1e-9), f"{got} {want}")
    # How often the stated interval holds the truth: 60 sets of three axes. Of 180 at 95 % fewer than 160 or all but none
    # have a chance below 1 in 500 (binomial).
    held = [0, 0]
    n = 60
    for _ in range(n):
        p = calibrated(scratch, readings(rnd, template, truth, 0.012), "--format", "json")
        for line in json.loads(p.stdout)["lines"]:
            k, off = truth[line["what"]]
            if line["what"] != "hole":
                held[0] += abs(line["scale"]["value"] - k) <= line["scale"]["half"]
                held[1] += abs(line["offset"]["value"] - off) <= line["offset"]["half"]
    low, high = stats.binom.ppf([0.001, 0.999], 3 * n, 0.95)
    c.check("calibrate: intervals hold the truth at their rate", all(low <= h <= high for h in held), f"{held} of {3 * n}, between {low:.0f} and {high:.0f}")
    # A blunder is left out and named; what cannot be used is one clear message.
    good = readings(rnd, template, truth, 0.008)
    number, row = next((i + 1, r) for i, r in enumerate(good.splitlines()) if r.startswith("y,8,"))
    p = calibrated(scratch, good.replace(row, "y,8,8.8"), "--format", "json")
    c.check("calibrate: a blunder is left out and its line told", any(line["left_out"] == [number] for line in json.loads(p.stdout)["lines"]), product.said(p))
    inches = "\n".join(f"{a},{b},{float(m) / 25.4:.5f}" if a in truth else r for r in good.splitlines() for a, b, m in [(r.split(",") + ["", ""])[:3]])
    one = "\n".join(f"{a},{b},{float(m) / 25.4:.5f}" if a == "z" else r for r in good.splitlines() for a, b, m in [(r.split(",") + ["", ""])[:3]])
    without = "\n".join(r for r in good.splitlines() if not r.startswith("y,"))
    halfway = "\n".join(r.rsplit(",", 1)[0] + "," if r.startswith("hole,") else r for r in good.splitlines())
    for name, text, says in (
        ("inches", inches, ("inches", "25.4")),
        ("one axis in inches", one, ("outside upwards, z: the readings look like inches",)),
        ("an axis missing", without, ("outside along y: 0 readings", "measure this axis")),
        ("template not filled", template, ("no size has a reading yet", "Lines 4-47")),
        ("holes not filled", halfway, ("some sizes have no reading yet", "Lines 40-47")),
    ):
        p = calibrated(scratch, text)
        told = [line for line in p.stderr.splitlines()[1:] if line.strip()]
        c.check(f"calibrate, {name}: one clear message, exit 2", p.returncode == 2 and len(told) == 1 and all(s in told[0] for s in says), p.stderr.strip())


def plates(c, scratch):
    design = product.ROOT / "params" / "line-4.0-platinum.jsonc"
    out, spacing, size = scratch / "plates", 1.2, (40.0, 32.0)
    p = product.run("plate", design, "--size", "40x32", "--spacing", spacing, "--tag", "A-17 B", "--out", out)
    if not c.check("plates: written", p.returncode == 0, product.said(p)):
        return
    report = json.loads((out / "plates.json").read_text())
    sums(c, "plates", out, report["files"])
    total = {}
    for i, plate in enumerate(report["plates"], 1):
        objects, items = read_3mf(c, f"plate {i}", out / f"plate-{i}.3mf")
        meshes = {o[0]: (name, o[1]) for name, o in objects.items()}
        boxes = []
        for k, t in items:
            name, mesh = meshes[k]
            total[name] = total.get(name, 0) + 1
            boxes.append(mesh.bounds + t)
        inside = all((b[0] >= -EXACT).all() and b[1][0] <= size[0] + EXACT and b[1][1] <= size[1] + EXACT and abs(b[0][2]) <= EXACT for b in boxes)
        gap = min((max(max(a[0][k] - b[1][k], b[0][k] - a[1][k]) for k in (0, 1)) for n, a in enumerate(boxes) for b in boxes[:n]), default=0)
        c.check(f"plate {i}: every part inside, on the plate, {spacing} mm apart", inside and gap >= spacing - EXACT, f"{len(boxes)} parts, {gap:.3f} mm")
        raw = stl.load(out / f"plate-{i}.stl")[1]
        c.none(f"plate {i}: STL by trimesh", solid_problems(raw, len(items)))
        volume = sum(meshes[k][1].volume for k, _ in items)
        c.check(f"plate {i}: volume of STL, 3MF and list", abs(raw.volume - volume) <= 1e-5 * volume and abs(plate["volume_mm3"] - volume) <= 1e-5 * volume, f"{raw.volume:.3f} {volume:.3f} {plate['volume_mm3']:.3f}")
    counts = {k: n for k, n in total.items() if k != "tag"}
    c.check("plates: every copy once, a tag on each", counts == {f"{p['part']} master": p["count"] for p in report["parts"]} and sum(counts.values()) == 38 and total.get("tag") == len(report["plates"]), total)
    # Too small: the size told is one that works.
    for more in ((), ("--tag", "ORDER 12")):
        p = product.run("plate", design, "--size", "5x5", *more, "--out", scratch / "small")
        told = [line for line in p.stderr.splitlines() if line.strip()]
        works = told[0].partition("--size ")[2].split()[0] if told else ""
        c.check(f"plate too small {' '.join(more)}: one message with the size that works", p.returncode == 2 and len(told) == 1 and "x" in works and not (scratch / "small").exists(), p.stderr.strip())
        p = product.run("plate", design, "--size", works, *more, "--count", 1, "--out", scratch / "works")
        c.check(f"plate of {works} {' '.join(more)} works", p.returncode == 0, product.said(p))


def main(c):
    with tempfile.TemporaryDirectory() as scratch:
        scratch = pathlib.Path(scratch)
        for name, run in (("gauge", gauge), ("calibration", calibration), ("plates", plates)):
            with c.section(name):
                run(c, scratch)


if __name__ == "__main__":
    checks = Checks()
    main(checks)
    print(f"{checks.passed} passed, {checks.failed} failed")
    raise SystemExit(checks.failed > 0 or checks.passed == 0)
