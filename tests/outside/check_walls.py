"""`check` of meshes, held against trimesh: closed forms on meshes made there, rays through the same spot, soundness."""
import io
import json
import math
import pathlib
import sys
import tempfile
import zipfile

import numpy as np
import trimesh

import product
from harness import Checks

TURN = trimesh.transformations.euler_matrix(0.7, -1.1, 0.4)


def told(path, *more):
    p = product.run("check", path, "--format", "json", *more)
    return p, json.loads(p.stdout)


def holed(outer, *holes):
    """Bodies with hollows: the hollows' triangles turned round and put beside the outer ones."""
    for h in holes:
        h.invert()
    return trimesh.util.concatenate([outer, *holes])


def sphere(r, at=(0, 0, 0), level=4):
    m = trimesh.creation.icosphere(subdivisions=level, radius=r)
    m.apply_translation(at)
    return m


def closed_forms():
    """Name, mesh, truth of the smooth body, and how far facets inscribed in it may be from that."""
    sag = lambda r, level: r * (1.05 / 2**level) ** 2 / 6
    yield "slab", trimesh.creation.box((3, 2, 0.4)), 0.4, 0
    yield "slab with a hidden box", holed(trimesh.creation.box((4, 3, 2)), trimesh.creation.box((1, 1, 1), trimesh.transformations.translation_matrix((0.3, 0.2, 0.28)))), 0.22, 0
    yield "tube", trimesh.creation.annulus(r_min=0.7, r_max=1.0, height=2, sections=128), 0.3, 1.0 * (1 - math.cos(math.pi / 128))
    e = np.array((0.3, 0.4, -0.2))
    e *= 0.25 / np.linalg.norm(e)
    yield "sphere with an offset hollow", holed(sphere(2.0), sphere(1.35, e)), 2.0 - 1.35 - 0.25, sag(2.0, 4) + sag(1.35, 4)
    yield "cone frustum", trimesh.creation.revolve([(0, 0), (1, 0), (0.8, 0.5), (0, 0.5)], sections=96), 0.5, 0


def ray_at(mesh, place):
    """Length of metal along the line of the chord. Chords often end on an edge or corner, where rays slip through between
    two triangles; the line is moved by 1e-6 mm to all sides and the nearest answer taken."""
    p, q = (np.array(x) for x in place["at"])
    want = np.linalg.norm(q - p)
    d = (q - p) / want
    side = np.cross(d, np.eye(3)[np.abs(d).argmin()])
    found = []
    for x, y in ((0, 0), (1, 0.3), (-0.4, 1), (-1, -0.3), (0.4, -1)):
        start = p + 1e-6 * (x * side + y * np.cross(d, side))
        hits, _, _ = mesh.ray.intersects_location([start - 1e-3 * d], [d], multiple_hits=True)
        t = np.sort((hits - p) @ d)
        if len(t) > 1:
            found.append(t[np.abs(t - want).argmin()] - t[np.abs(t).argmin()])
    return min(found, key=lambda x: abs(x - want), default=math.nan)


def three_mf(mesh):
    """A 3MF after the core specification, by hand."""
    v = "".join(f'<vertex x="{x:.9f}" y="{y:.9f}" z="{z:.9f}"/>' for x, y, z in mesh.vertices)
    t = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.faces)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as z:
        z.writestr("[Content_Types].xml", '<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>')
        z.writestr("_rels/.rels", '<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Target="/3D/part.model" Id="r0" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>')
        z.writestr("3D/part.model", f'<?xml version="1.0"?><model unit="millimeter" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"><resources><object id="1" type="model"><mesh><vertices>{v}</vertices><triangles>{t}</triangles></mesh></object></resources><build><item objectid="1"/></build></model>')
    return out.getvalue()


def measured(c, scratch):
    for name, mesh, truth, sag in closed_forms():
        for turned in (False, True):
            m = mesh.copy()
            if turned:
                m.apply_transform(TURN)
            m.merge_vertices()
            path = scratch / "part.stl"
            m.export(path)
            p, r = told(path, "--min-wall", "0.01")
            what = f"{name}{', turned' if turned else ''}"
            if not c.check(f"{what}: exit 0 and sound", p.returncode == 0 and r["mesh"]["sound"], r["faults"]):
                continue
            t = r["walls"]["thinnest"]
            # single precision of coordinates up to 3 mm: 2e-7 at either end
            single = 5e-7
            inside = t["lower_mm"] - sag - single <= truth <= t["upper_mm"] + sag + single
            c.check(f"{what}: {truth} within the interval and its facets", inside, f"{t['lower_mm']:.7f} to {t['upper_mm']:.7f}, facets {sag:.1e}")
            c.check(f"{what}: interval at most 2 um", t["upper_mm"] - t["lower_mm"] <= 2e-3)
            c.close(f"{what}: trimesh ray through the same spot", ray_at(trimesh.load(path), t), t["value_mm"], 2e-6)
            c.close(f"{what}: trimesh volume", r["mesh"]["volume_mm3"], float(m.volume), 1e-5, "mm3")


def broken(c, scratch):
    box = trimesh.creation.box((4, 3, 2))

    def says(name, mesh, *codes):
        path = scratch / f"{name}.stl"
        mesh.export(path)
        p, r = told(path)
        found = [f["code"] for f in r["faults"]]
        c.check(f"broken, {name}: told and exit 1", p.returncode == 1 and all(x in found for x in codes) and "thinnest" not in r["walls"], found)

    says("hole", trimesh.Trimesh(box.vertices, box.faces[1:], process=False), "open")
    inside_out = box.copy()
    inside_out.invert()
    says("inverted", inside_out, "inside_out")
    other = box.copy()
    other.apply_translation((1.1, 0.7, 0.3))
    says("overlap", trimesh.util.concatenate([box, other]), "crossing")
    turned = box.faces.copy()
    turned[5] = turned[5][::-1]
    says("one turned", trimesh.Trimesh(box.vertices, turned, process=False), "against")


def same(c, scratch):
    """Text, binary and 3MF of one part say the same."""
    m = trimesh.creation.annulus(r_min=0.7, r_max=1.0, height=2, sections=24)
    m.merge_vertices()
    values = []
    for name, kind in (("a.stl", "stl"), ("b.stl", "stl_ascii"), ("c.3mf", "3mf")):
        path = scratch / name
        data = three_mf(m) if kind == "3mf" else m.export(file_type=kind)
        path.write_bytes(data if isinstance(data, bytes) else data.encode())
        p, r = told(path)
        if c.check(f"{kind}: exit 0", p.returncode == 0, product.said(p)):
            values.append(r["walls"]["thinnest"]["value_mm"])
    # 3MF keeps more digits than single precision
    c.check("text, binary and 3MF agree", len(values) == 3 and max(values) - min(values) < 1e-6, values)


def main(c):
    with tempfile.TemporaryDirectory() as d:
        scratch = pathlib.Path(d)
        for run in (measured, broken, same):
            with c.section(run.__name__):
                run(c, scratch)


if __name__ == "__main__":
    checks = Checks()
    main(checks)
    print(f"{checks.passed} passed, {checks.failed} failed")
    sys.exit(checks.failed > 0 or checks.passed == 0)
