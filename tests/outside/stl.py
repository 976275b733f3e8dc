"""An STL file through three independent readers: trimesh, admesh, manifold3d. Lists what is wrong; empty when nothing is."""
import re
import subprocess

import manifold3d
import numpy as np
import trimesh


def load(path):
    """(raw, merged): the triangle soup as written, and with vertices of equal f32 coordinates made one."""
    raw = trimesh.load(path, file_type="stl", process=False)
    merged = raw.copy()
    # digits_vertex None would merge within 1e-8; the file's own f32 values must already agree exactly
    unique, inverse = np.unique(raw.vertices.astype(np.float32), axis=0, return_inverse=True)
    return raw, trimesh.Trimesh(unique.astype(float), inverse.reshape(-1)[raw.faces], process=False)


def trimesh_problems(path):
    _, m = load(path)
    found = []
    if len(m.faces) < 4:
        return [f"{len(m.faces)} triangles"]
    if not m.is_watertight:
        found.append("trimesh: not watertight")
    if not m.is_winding_consistent:
        found.append("trimesh: winding not consistent")
    if not m.is_volume:
        found.append("trimesh: bounds no volume")
    if m.volume <= 0:
        found.append(f"trimesh: volume {m.volume}")
    if m.body_count != 1:
        found.append(f"trimesh: {m.body_count} bodies")
    if degenerate := int((m.area_faces == 0).sum()):
        found.append(f"trimesh: {degenerate} triangles without area")
    return found


def admesh_report(path):
    p = subprocess.run(["admesh", "--exact", "--normal-directions", "--normal-values", str(path)], capture_output=True, text=True, timeout=120)
    if p.returncode:
        raise RuntimeError(f"admesh: exit {p.returncode} {p.stderr.strip()}")
    values = {}
    for line in p.stdout.splitlines():
        for k, v in re.findall(r"([A-Z][A-Za-z0-9 -]*?)\s*:\s*(-?[0-9.eE+-]+)(?=\s|$)", line):
            values.setdefault(k.strip(), []).append(float(v))
    return values


def admesh_problems(path):
    v = admesh_report(path)
    found = []
    # First number after each label is the file as it came; a second one, where there is, is after repair.
    for label in ("Total disconnected facets", "Facets with 1 disconnected edge", "Facets with 2 disconnected edges", "Facets with 3 disconnected edges",
                  "Backwards edges", "Degenerate facets", "Edges fixed", "Facets removed", "Facets added", "Facets reversed", "Normals fixed"):
        if label not in v:
            found.append(f"admesh: no line '{label}' (another admesh than expected?)")
        elif any(v[label]):
            found.append(f"admesh: {label.lower()} {v[label]}")
    if v.get("Number of parts") != [1.0]:
        found.append(f"admesh: number of parts {v.get('Number of parts')}")
    return found


def manifold(path):
    _, m = load(path)
    return manifold3d.Manifold(manifold3d.Mesh64(np.ascontiguousarray(m.vertices), np.ascontiguousarray(m.faces, dtype=np.uint64)))


def manifold_problems(path, genus=None):
    m = manifold(path)
    if m.status() != manifold3d.Error.NoError:
        return [f"manifold3d: {m.status()}"]
    found = []
    if m.num_tri() == 0:
        found.append("manifold3d: empty")
    parts = len(m.decompose())
    if parts != 1:
        found.append(f"manifold3d: {parts} parts")
    if genus is not None and m.genus() != genus:
        found.append(f"manifold3d: genus {m.genus()}, report says {genus}")
    return found


def volumes(path):
    """The same volume by three programs."""
    return {"trimesh": float(load(path)[1].volume), "admesh": admesh_report(path)["Volume"][0], "manifold3d": manifold(path).volume()}
