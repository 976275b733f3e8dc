"""The bench sheet and the page as other programs see it: qpdf and poppler read the PDF, pdfplumber measures it, and what the drawing
says is compared with the STL of the same run."""
import csv
import gzip
import io
import json
import pathlib
import re
import subprocess
import tempfile
import xml.etree.ElementTree as ET

import pdfplumber
import trimesh
from PIL import Image, ImageStat

import product

SVG = "{http://www.w3.org/2000/svg}"
POINT = 72 / 25.4
# file, paper, size in mm (ISO 216; ANSI/ASME Y14.1)
SHEETS = (("line-4.0-platinum", "a4", (297.0, 210.0)), ("line-3.5-rose-block", "letter", (279.4, 215.9)))


def tool(*args):
    return subprocess.run([str(a) for a in args], capture_output=True, text=True, timeout=60)


def dimensions(svg):
    """What the drawing says of each thing measured."""
    found = {}
    for t in ET.parse(svg).getroot().iter(f"{SVG}text"):
        if name := t.get("data-measures"):
            found[name] = float(re.search(r"\d+\.\d+", t.text).group())
    return found


def main(c):
    for name, paper, size in SHEETS:
        with tempfile.TemporaryDirectory() as folder:
            sheet(c, name, paper, size, pathlib.Path(folder))
    with tempfile.TemporaryDirectory() as folder:
        page(c, pathlib.Path(folder))
    with tempfile.TemporaryDirectory() as folder:
        pictures(c, pathlib.Path(folder))


def sheet(c, name, paper, size, folder):
    p = product.run("make", f"params/{name}.jsonc", "--only", "sheet,stl", "--paper", paper, "--date", "2026-03-14", "--out", folder)
    if not c.check(f"{name}: sheet on {paper}", p.returncode == 0, product.said(p)):
        return
    svg, pdf = folder / "link.sheet.svg", folder / "sheets.pdf"
    q = tool("qpdf", "--check", pdf)
    c.check(f"{name}: qpdf finds nothing", q.returncode == 0 and "warning" not in (q.stdout + q.stderr).lower(), q.stderr.strip())
    i = tool("pdfinfo", pdf)
    pts = re.search(r"Page size:\s+([\d.]+) x ([\d.]+)", i.stdout)
    parts = [f"clasp.{p}" for p in ("frame", "plate", "leaf")]
    sheets = [folder / f"{n}.sheet.svg" for n in ("link", *parts, "job")] + sorted(folder.glob("job.sheet.*.svg"))
    c.check(f"{name}: pdfinfo reads a page for each sheet", i.returncode == 0 and i.stderr == "" and re.search(r"Pages:\s+(\d+)", i.stdout)[1] == str(len(sheets)) and len(sheets) >= 6, i.stderr or len(sheets))
    for got, want in zip((float(v) / POINT for v in pts.groups()), size):
        c.close(f"{name}: paper", got, want, 0.02)
    with pdfplumber.open(pdf) as doc:
        for page, file in zip(doc.pages, sheets):
            ruler_and_text(c, f"{name}, {file.stem}", page, file)
    model(c, name, svg, folder / "link.finished.stl")
    clasp(c, name, folder)
    job(c, name, sheets)


def ruler_and_text(c, name, page, svg):
    if "job" not in svg.stem:
        # The strokes of the ruler: short upright lines of one foot; the longest row of them is 101 strokes, 1 mm apart.
        rows = {}
        for l in page.lines:
            if abs(l["x0"] - l["x1"]) < 0.01 and l["height"] < 13:
                rows.setdefault(round(l["bottom"], 1), set()).add(round(l["x0"], 3))
        row = sorted(max(rows.values(), key=len))
        c.check(f"{name}: strokes of the ruler", len(row) == 101, len(row))
        c.close(f"{name}: the ruler in the PDF", (row[-1] - row[0]) / POINT, 100.0, 0.002)
    words = page.extract_text()
    c.check(f"{name}: date and scale can be read", "2026-03-14" in words and re.search(r"\b(20:1|10:1|5:1|none)", words) is not None)
    chars = page.chars
    inside = all(-0.01 <= ch["x0"] and ch["x1"] <= page.width and ch["top"] >= 0 and ch["bottom"] <= page.height for ch in chars)
    c.check(f"{name}: no letter off the page", inside and len(chars) > 300, len(chars))
    # Text takes the room it was laid out with: the PDF library has its own metrics of Helvetica. Both files list the texts
    # in one order, letter after letter.
    off, at = [], 0
    texts = [t for t in ET.parse(svg).getroot().iter(f"{SVG}text") if t.text]
    for t in texts:
        piece = chars[at:at + len(t.text)]
        at += len(t.text)
        if "".join(ch["text"] for ch in piece) != t.text:
            off.append(f"{t.text!r} is {''.join(ch['text'] for ch in piece)!r} in the PDF")
            continue
        upright = t.get("transform") is not None
        size = float(t.get("font-size")) * POINT
        ends = (piece[0]["bottom"] - piece[-1]["top"]) if upright else (piece[-1]["x1"] - piece[0]["x0"])
        want = float(t.get("textLength")) / float(t.get("font-size"))
        if abs(ends / size - want) > 0.005 * len(t.text):
            off.append(f"{t.text!r} {ends / size:.3f} em, laid out as {want:.3f}")
    c.check(f"{name}: every letter of the PDF is in the SVG", at == len(chars), f"{at} of {len(chars)}")
    c.none(f"{name}: text as long as laid out", off, f"{len(texts)} texts")


def model(c, name, svg, stl):
    said = dimensions(svg)
    mesh = trimesh.load(stl, process=False)
    mesh.merge_vertices()
    low, high = mesh.bounds
    # A drawing is rounded to 0.01 and the mesh is within 0.005 of the solid.
    near = 0.005 + 0.005 + 1e-6
    c.close(f"{name}: height over the claws", said["height over the claws"], high[2], near)
    flat = [round(float(z), 4) for z in {round(float(v), 6) for v in mesh.triangles_center[abs(mesh.face_normals[:, 2]) > 0.999999][:, 2]}]
    c.check(f"{name}: the rim is where the drawing says", any(abs(z - said["collet.height"]) < near for z in flat), said["collet.height"])
    c.check(f"{name}: the roof of the opening", any(abs(z - said["opening.top"]) < near for z in flat), said["opening.top"])
    rim = mesh.section(plane_origin=[0, 0, said["collet.height"] - 0.001], plane_normal=[0, 0, 1])
    c.close(f"{name}: width at the rim", said["collet.width"], float(rim.bounds[1][1] - rim.bounds[0][1]), near)
    # Seat at the rim, on the cutting plane A-A: the inner ends of the metal.
    cut = [seg for seg in trimesh.intersections.mesh_plane(mesh, [0, 1, 0], [0, 1e-5, 0])]
    at = [abs(float(p[0])) for seg in cut for p in seg if abs(p[2] - said["collet.height"]) < 1e-3]
    c.close(f"{name}: seat at the rim", said["seat at the rim"], 2 * min(at), near)
    if "joint.groove_depth" in said:
        c.check(f"{name}: the roof of the groove", any(abs(z - said["joint.groove_depth"]) < near for z in flat), said["joint.groove_depth"])


def clasp(c, name, folder):
    """What the sheets of the clasp say, on the meshes of its parts."""
    p = product.run("make", f"params/{name}.jsonc", "--only", "stl", "--part", "clasp", "--out", folder / "clasp")
    if not c.check(f"{name}: the clasp's meshes", p.returncode == 0, product.said(p)):
        return
    near = 0.005 + 2 * 0.005 + 1e-6
    for part in ("frame", "plate", "leaf"):
        said = dimensions(folder / f"clasp.{part}.sheet.svg")
        mesh = trimesh.load(folder / "clasp" / f"clasp.{part}.finished.stl", process=False)
        mesh.merge_vertices()
        low, high = mesh.bounds
        size = high - low
        c.close(f"{name}: {part}, over all", said[f"{part}, over all"], size[0], near)
        if part == "leaf":
            c.close(f"{name}: leaf, height", said["leaf, height"], size[2], near)
            c.close(f"{name}: leaf, width", said["leaf, width"], size[1], near)
        else:
            c.close(f"{name}: {part}, over all across", said[f"{part}, over all across"], size[1], near)
        if part == "plate":
            ends = [float(s[2]) for seg in trimesh.intersections.mesh_plane(mesh, [1, 0, 0], [high[0] - 3.5, 0, 0]) for s in seg if abs(s[1]) < 1.2]
            c.close(f"{name}: plate, thickness", said["clasp.plate.thickness"], max(ends) - min(ends), near)
        if part == "frame":
            c.close(f"{name}: frame, height", said["frame, height"], size[2], near)


def job(c, name, sheets):
    """Every row of the plan's tables for the bench stands on the sheets, number for number."""
    p = product.run("plan", f"params/{name}.jsonc", "--format", "csv")
    if not c.check(f"{name}: the plan", p.returncode == 0, product.said(p)):
        return
    rows = []
    for file in sheets:
        found = {}
        for t in ET.parse(file).getroot().iter(f"{SVG}text"):
            # One row of one column of the page: the left ends, the right begins, at the middle of the frame.
            wide = float(ET.parse(file).getroot().get("viewBox").split()[2]) if not found else wide
            found.setdefault((round(float(t.get("y")), 2), float(t.get("x")) > 20 + (wide - 30) / 2 + 1), []).append(t.text)
        rows += [tuple(v) for v in found.values()]
    missing, looked = [], 0
    for row in csv.reader(io.StringIO(p.stdout)):
        if row[0] not in ("Metal", "Stock", "Drills and burs", "Solder") or len(row) < 5 or row[1] in ("part", "piece", "cut", "heat"):
            continue
        looked += 1
        numbers = [v for v in row[1:] if re.fullmatch(r"[-+]?\d[\d.]*( \(no\. \d+\))?|\d+-\d+", v)]
        if not any(all(r.count(n) >= numbers.count(n) for n in numbers) and any(row[1].startswith(x) for x in r[:1]) for r in rows):
            missing.append(row)
    c.none(f"{name}: the plan's rows are on the sheets to the last digit", missing[:5], f"{looked} rows")
    c.check(f"{name}: parts, stock, drills and solder have rows", looked > 30, looked)


def pictures(c, folder):
    """Sizes as asked, something to be seen, the same twice; on hinge tubes and with wire loops."""
    for name in ("line-4.0-platinum", "line-3.5-rose-block"):
        made = []
        for out in ("a", "b"):
            p = product.run("make", f"params/{name}.jsonc", "--only", "pictures", "--pixels", "160", "--out", folder / name / out)
            if not c.check(f"{name}: pictures", p.returncode == 0, product.said(p)):
                return
            made.append({f.name: f.read_bytes() for f in (folder / name / out).glob("*.png")})
        want = ["catches.png", "joint.png", "line.half.png", "line.open.png", "line.png", "line.shut.png"]
        c.check(f"{name}: the same pictures twice", made[0] == made[1] and sorted(made[0]) == want, sorted(made[0]))
        c.check(f"{name}: no two pictures alike", len(set(made[0].values())) == len(want))
        for file in want:
            size = (160, 106) if file == "joint.png" else (160, 100)
            with Image.open(folder / name / "a" / file) as image:
                spread = ImageStat.Stat(image.convert("L")).stddev[0]
                c.check(f"{name}: {file} has its size and shows something", image.size == size and spread > 15, f"{image.size}, {spread:.1f}")


NODE = product.ROOT / "tests" / "node"


def page(c, folder):
    p = product.run("make", "params/line-4.0-platinum.jsonc", "--only", "page", "--out", folder)
    file = folder / "page.html"
    if not c.check("page: made", p.returncode == 0 and file.is_file(), product.said(p)):
        return
    c.check("page: less than 4 MB", file.stat().st_size < 4_000_000, file.stat().st_size)
    v = tool(NODE / "node_modules/.bin/html-validate", file)
    c.check("page: html-validate finds nothing", v.returncode == 0, v.stdout[:600])
    names = re.findall(r"https?://[^\s\"'<>)]+", file.read_text(encoding="utf-8").split('<script type="application/json"')[0])
    c.none("page: no address in its frame", names)
    bundle = folder / "three.js"
    b = tool(NODE / "bundle", bundle)
    kept = gzip.decompress((product.ROOT / "src/papers/page/three.min.js.gz").read_bytes())
    c.check("page: the script kept is what the pinned three.js gives", b.returncode == 0 and bundle.read_bytes() == kept, b.stderr[:300])
    seen = subprocess.run(["node", str(product.ROOT / "tests/outside/page.mjs"), str(file)], capture_output=True, text=True, timeout=300)
    if not c.check("page: Chromium opens it", seen.returncode == 0, seen.stderr[-600:]):
        return
    for name, ok, detail in json.loads(seen.stdout.splitlines()[-1])["checks"]:
        c.check(f"page, {name}", ok, detail)


if __name__ == "__main__":
    import sys
    from harness import Checks
    checks = Checks()
    main(checks)
    print(f"{checks.passed} passed, {checks.failed} failed")
    sys.exit(checks.failed > 0)
