"""Growth of the wall certificate of `check` from 5 to 500 thousand triangles: a ball with a hollow off its middle, thinnest in one
spot, and a tube that is as thin everywhere.

Processor seconds of the process on one thread, reading and examining the mesh included. The exponent between the smallest and
the largest mesh must stay below 1.35: near linear. The most memory must stay below 1 kB a triangle and 400 MB."""
import json
import math
import os
import pathlib
import subprocess
import sys
import tempfile
import time

import numpy as np
import trimesh

import product
import walls_prototype

MOST = 1.35
# How much faster than the plain reference the product must be, at least, and what the reference may take, s.
PARTS = (("link.finished", 10.0), ("clasp.leaf.finished", 100.0))
PATIENCE = 900.0


def grid(rows, columns):
    """Triangles of a grid of points, row by row."""
    i, j = (x.ravel() for x in np.meshgrid(np.arange(rows), np.arange(columns), indexing="ij"))
    a, b = i * (columns + 1) + j, (i + 1) * (columns + 1) + j
    return np.concatenate([np.stack([a, b, a + 1], 1), np.stack([a + 1, b, b + 1], 1)])


def ball(n, radius):
    """A cube of n by n squares a side, blown up."""
    t = np.tan(np.linspace(-math.pi / 4, math.pi / 4, n + 1))
    x, y = (v.ravel() for v in np.meshgrid(t, t, indexing="ij"))
    one = np.ones_like(x)
    sides = [(x, y, one), (y, x, -one), (one, x, y), (-one, y, x), (y, one, x), (x, -one, y)]
    points = np.concatenate([np.stack(s, 1) for s in sides])
    points *= radius / np.linalg.norm(points, axis=1)[:, None]
    faces = np.concatenate([grid(n, n) + k * (n + 1) ** 2 for k in range(6)])
    m = trimesh.Trimesh(points, faces, process=False)
    m.merge_vertices(digits_vertex=9)
    return m


def spheres(triangles):
    """A ball with a hollow that is off its middle, thinnest in one spot."""
    n = round(math.sqrt(triangles / 24))
    outer, inner = ball(n, 2.0), ball(n, 1.5)
    inner.apply_translation((0.03, 0.02, 0.05))
    inner.invert()
    return trimesh.util.concatenate([outer, inner]), 0.5 - math.sqrt(0.03**2 + 0.02**2 + 0.05**2)


def tube(triangles):
    """A tube of 0.3 wall, its facets as long as wide: as thin everywhere."""
    around = round(math.sqrt(triangles * 2 * math.pi / (2 * 4.6)))
    step = 2 * math.pi / around
    # The outline of the section, walked once: outside, top, inside, bottom.
    corners = [(1.0, 0.0), (1.0, 2.0), (0.7, 2.0), (0.7, 0.0), (1.0, 0.0)]
    outline = [corners[0]]
    for p, q in zip(corners, corners[1:]):
        k = max(round(math.dist(p, q) / step), 1)
        outline += [tuple(np.add(p, np.subtract(q, p) * i / k)) for i in range(1, k + 1)]
    r, z = np.array(outline).T
    turn = np.arange(around + 1) * step
    points = np.stack([np.outer(np.cos(turn), r), np.outer(np.sin(turn), r), np.tile(z, (around + 1, 1))], 2).reshape(-1, 3)
    m = trimesh.Trimesh(points, grid(around, len(outline) - 1), process=False)
    m.merge_vertices(digits_vertex=9)
    m.fix_normals()
    return m, 0.3


def run(path):
    """Processor time in s, most memory in MB and report of one run."""
    env = {**os.environ, "RAYON_NUM_THREADS": "1"}
    with subprocess.Popen([str(product.BINARY), "check", str(path), "--format", "json"], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, env=env) as p:
        said = p.stdout.read()
        _, status, usage = os.wait4(p.pid, 0)
        p.returncode = os.waitstatus_to_exitcode(status)
    # The kernel counts time in hundredths, memory in kB.
    return max(usage.ru_utime, 0.01), usage.ru_maxrss / 1e3, json.loads(said)


def against_reference(d, patience):
    """The parts of a design, each by the plain reference and by the product, both one core."""
    bad = 0
    made = product.run("make", "params/line-4.0-platinum.jsonc", "--out", d, "--part", "link,leaf", "--only", "stl", timeout=600)
    print("| part | triangles | reference s | product s | times faster | least wall, reference and product |")
    print("|---|---|---|---|---|---|")
    for name, least in PARTS:
        path = pathlib.Path(d) / f"{name}.stl"
        if not path.exists():
            print(f"{name} was not made: {product.said(made)}")
            bad += 1
            continue
        m = trimesh.load(path)
        m.merge_vertices()
        start = time.process_time()
        lower, upper, ended = walls_prototype.run(m, patience)
        slow = time.process_time() - start
        t, _, r = run(path)
        w = r["walls"]["thinnest"]
        # The product counts edges with their fans as well, so it may find less; never more than is really there.
        bad += not w["lower_mm"] <= upper + 1e-6
        bad += int(slow / t < least)
        print(f"| {name} | {len(m.faces)} | {'' if ended else 'over '}{slow:.1f} | {t:.2f} | {slow / t:.0f} | {lower:.4f} to {upper:.4f}, {w['lower_mm']:.4f} to {w['upper_mm']:.4f} |", flush=True)
    return bad


def main(thousands, patience=PATIENCE):
    bad = 0
    with tempfile.TemporaryDirectory() as d:
        bad += against_reference(d, patience)
    print("| mesh | triangles | s | us a triangle | MB | interval um |")
    print("|---|---|---|---|---|---|")
    with tempfile.TemporaryDirectory() as d:
        for name, make in (("sphere in a sphere", spheres), ("tube", tube)):
            rows = []
            for n in thousands:
                m, truth = make(1000 * n)
                path = pathlib.Path(d) / "part.stl"
                m.export(path)
                t, memory, r = run(path)
                w = r.get("walls", {}).get("thinnest")
                if not w or not w["lower_mm"] - 0.02 <= truth <= w["upper_mm"] + 0.02:
                    print(f"{name}: {truth} is not near {w}")
                    bad += 1
                    continue
                n = len(m.faces)
                rows.append((n, t))
                if memory > 400 + 1e-3 * n:
                    print(f"{name}: {n} triangles take {memory:.0f} MB")
                    bad += 1
                print(f"| {name} | {n} | {t:.2f} | {1e6 * t / n:.0f} | {memory:.0f} | {1000 * (w['upper_mm'] - w['lower_mm']):.2f} |", flush=True)
            if len(rows) > 1:
                power = np.log(rows[-1][1] / rows[0][1]) / np.log(rows[-1][0] / rows[0][0])
                print(f"{name}: grows with the power {power:.2f} of the triangles")
                bad += int(power > MOST)
    return bad


if __name__ == "__main__":
    sys.exit(main([int(x) for x in sys.argv[1:]] or [5, 15, 50, 150, 500]) > 0)
