"""Time per stage and per number of features, and beside it OCCT's exact boolean and manifold3d's mesh boolean of the same recipes.

  time_stages.py [FILE...]     parameter files whose links are timed as well; else all in params/

One run of the example `stages` writes the recipes and times our stages (ms of processor time of the calling thread, mean of 40); the
same recipes then go through the two other kernels in this process (ms of processor time of all its threads, median of RUNS).
"""
import json
import math
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time

import manifold3d
import numpy as np
import occt_tree
import product

RUNS = 5
CHORD = 0.002  # mm: the chord our kernel starts from


def segments(radius):
    return max(3, math.ceil(math.pi / math.acos(1 - min(CHORD / radius, 0.2))))


def arc(a, b, centre, ccw):
    """Points from a (left out) towards b (left out) within the chord."""
    angle = lambda p: math.atan2(p[1] - centre[1], p[0] - centre[0])  # noqa: E731
    radius, sign = math.dist(a, centre), 1 if ccw else -1
    sweep = (angle(b) - angle(a)) * sign % math.tau
    n = math.ceil(segments(radius) * sweep / math.tau)
    return [(centre[0] + radius * math.cos(angle(a) + sign * sweep * k / n), centre[1] + radius * math.sin(angle(a) + sign * sweep * k / n)) for k in range(1, n)]


def section(points):
    return manifold3d.CrossSection([points], manifold3d.FillRule.NonZero)


def primitive(node):
    if node["t"] == "revolve":
        return section(node["profile"]).revolve(segments(max(r for r, _ in node["profile"])))
    if node["t"] == "prism":
        points = []
        for p, q in zip(node["profile"], node["profile"][1:] + node["profile"][:1]):
            points.append(p["at"])
            if p.get("arc"):
                points += arc(p["at"], q["at"], p["arc"]["centre"], p["arc"]["ccw"])
        if sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(points, points[1:] + points[:1])) < 0:
            points.reverse()
        return section(points).extrude(node["height"])
    half, q = node["half"], node["corner"]
    corners = [(half - q, half - q), (q - half, half - q), (q - half, q - half), (half - q, q - half)]
    points = [(x + q * math.cos(a), y + q * math.sin(a)) for k, (x, y) in enumerate(corners)
              for a in np.linspace(k * math.pi / 2, (k + 1) * math.pi / 2, segments(q) // 4 + 2)]
    grown = 1 + node["slope"] * node["height"] / half
    return section(points).extrude(node["height"], scale_top=(grown, grown))


def mesh_boolean(node):
    if node["t"] == "union":
        return manifold3d.Manifold.batch_boolean([mesh_boolean(n) for n in node["of"]], manifold3d.OpType.Add)
    if node["t"] == "difference":
        return manifold3d.Manifold.batch_boolean([mesh_boolean(node["from"]), *map(mesh_boolean, node["minus"])], manifold3d.OpType.Subtract)
    f = node["frame"]
    x, z = np.array(f["x"]), np.array(f["z"])
    return primitive(node).transform(np.column_stack((x, np.cross(z, x), z, f["o"])))


def spent(work):
    out = []
    for _ in range(RUNS):
        start = time.process_time()
        result = work()
        out.append((time.process_time() - start) * 1e3)
    return statistics.median(out), result


def main(files):
    with tempfile.TemporaryDirectory() as folder:
        p = subprocess.run([str(product.RELEASE / "examples" / "stages"), "--trees", folder, *files], capture_output=True, text=True, check=True, cwd=product.ROOT)
        head, *rows = p.stdout.splitlines()
        print(head + "      OCCT  manifold3d  of OCCT")
        at = head.index("solid") + len("solid")
        for row in rows:
            name = row[:28].strip() if (pathlib.Path(folder) / f"{row[:28].strip()}.json").is_file() else row.split("  ")[0].split(" ")[0]
            tree = json.loads((pathlib.Path(folder) / f"{name}.json").read_text(encoding="utf-8"))
            occt, _ = spent(lambda: occt_tree.build(tree))
            mesh, m = spent(lambda: (lambda m: (m.num_tri(), m)[1])(mesh_boolean(tree)))
            if m.is_empty():
                raise RuntimeError(f"{name}: manifold3d made nothing")
            shift = len(row) - len(head)
            ours = float(row[: at + shift].split()[-1])
            print(f"{row} {occt:>9.1f}  {mesh:>10.1f}  {ours / occt:>7.3f}", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:] or sorted(map(str, (product.ROOT / "params").glob("*.jsonc"))))
