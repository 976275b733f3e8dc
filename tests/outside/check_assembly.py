"""The whole bracelet as one STEP file, read back by OCCT's assembly reader (STEPCAFControl): the tree of parts and copies, what each
copy's shape measures, and where it stands."""
import json
import pathlib
import tempfile

import numpy as np
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.IFSelect import IFSelect_RetDone
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label
from OCP.TDocStd import TDocStd_Document
from OCP.XCAFDoc import XCAFDoc_DocumentTool, XCAFDoc_ShapeTool
from OCP.collections import Sequence_TDF_Label

import occ
import occt_link
import product
from harness import Checks

# Coordinates are written as the shortest decimals that read back the same.
PLACE = 1e-9
RELATIVE = 1e-6


def name_of(label):
    name = TDataStd_Name()
    return name.Get().ToExtString() if label.FindAttribute(TDataStd_Name.GetID_s(), name) else ""


def matrix(location):
    t = location.Transformation()
    return np.array([[t.Value(i, j) for j in range(1, 5)] for i in range(1, 4)])


def read(path):
    """(name of the whole, copies): each copy its part's name, its matrix, its part's shape."""
    doc = TDocStd_Document(TCollection_ExtendedString("XmlOcaf"))
    reader = STEPCAFControl_Reader()
    reader.SetNameMode(True)
    if reader.ReadFile(str(path)) != IFSelect_RetDone:
        raise RuntimeError("OCCT could not read the file")
    reader.Transfer(doc)
    tool = XCAFDoc_DocumentTool.ShapeTool_s(doc.Main())
    free = Sequence_TDF_Label()
    tool.GetFreeShapes(free)
    roots = [free.Value(i) for i in range(1, free.Length() + 1)]
    parts = Sequence_TDF_Label()
    XCAFDoc_ShapeTool.GetComponents_s(roots[0], parts)
    copies = []
    for i in range(1, parts.Length() + 1):
        label, of = parts.Value(i), TDF_Label()
        XCAFDoc_ShapeTool.GetReferredShape_s(label, of)
        copies.append((name_of(of), name_of(label), matrix(XCAFDoc_ShapeTool.GetLocation_s(label)), XCAFDoc_ShapeTool.GetShape_s(of)))
    return [name_of(r) for r in roots], copies


def one(c, name, design, pose, scratch):
    out = scratch / f"{design.stem}-{pose}"
    p = product.run("assembly", design, "--pose", pose, "--out", out)
    if not c.check(f"{name}: written", p.returncode == 0 and not product.panicked(p), product.said(p)):
        return
    listed = json.loads((out / "assembly.json").read_text())
    roots, copies = read(out / "bracelet.step")
    c.check(f"{name}: one assembly", roots == ["bracelet"], roots)
    counts = {}
    for part, *_ in copies:
        counts[part] = counts.get(part, 0) + 1
    c.check(f"{name}: copies of every part as listed", counts == {p["part"]: p["count"] for p in listed["parts"]} and len(copies) == len(listed["copies"]) > 50, counts)
    shapes = {part: shape for part, _, _, shape in copies}
    bad = [part for part, shape in shapes.items() if not BRepCheck_Analyzer(shape).IsValid()]
    c.none(f"{name}: every part valid in OCCT", bad, f"{len(shapes)} parts")
    off = {p["part"]: abs(occ.volume(shapes[p["part"]]) / p["volume_mm3"] - 1) for p in listed["parts"]}
    c.check(f"{name}: volume of every part as listed", max(off.values()) <= RELATIVE, f"off by {max(off.values()):.1e} at most")
    found = {label: m for _, label, m, _ in copies}
    c.check(f"{name}: every copy has a name of its own, that listed", set(found) == {w["name"] for w in listed["copies"]} and len(found) == len(copies))
    worst = 0.0
    for want in listed["copies"]:
        m = found[want["name"]]
        x, z = np.array(want["x"]), np.array(want["z"])
        worst = max(worst, np.abs(np.c_[x, np.cross(z, x), z, want["origin_mm"]] - m).max())
    c.check(f"{name}: every copy stands where it is listed", worst <= PLACE, f"off by {worst:.1e} at most")
    # By the parameter file alone: links follow each other at the pitch, whatever way the line lies.
    links = sorted((w for w in listed["copies"] if w["part"] == "link"), key=lambda w: int(w["name"].split()[-1]))
    v = occt_link.read_jsonc(design)
    pitch = v["collet"]["width"] + v["line"]["gap"]
    steps = [np.linalg.norm(np.subtract(b["origin_mm"], a["origin_mm"])) for a, b in zip(links, links[1:])]
    c.check(f"{name}: links at the pitch", len(links) == v["line"]["count"] - v["clasp"]["count"] and (np.ptp(steps) < 1e-9) and (abs(steps[0] - pitch) < 1e-9 if pose == "straight" else steps[0] < pitch), f"{len(links)} links, {steps[0]:.6f}, pitch {pitch}")


def main(c):
    with tempfile.TemporaryDirectory() as scratch:
        for stem, pose in (("line-4.0-platinum", "straight"), ("line-3.0-silver-cushion", "wrist")):
            with c.section(f"assembly of {stem}, {pose}"):
                one(c, f"{stem}, {pose}", product.ROOT / "params" / f"{stem}.jsonc", pose, pathlib.Path(scratch))


if __name__ == "__main__":
    checks = Checks()
    main(checks)
    print(f"{checks.passed} passed, {checks.failed} failed")
    raise SystemExit(checks.failed > 0 or checks.passed == 0)
