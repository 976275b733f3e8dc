"""Time and peak memory of one link: ours as a whole process, OCCT's own for the same tree, one after the other in the same run.

OCCT's share is boolean + mesh at the same deflection + STEP and STL written, in a process of its own whose start and imports are not
counted in its time (its memory holds the Python interpreter and the OCCT libraries, given apart).
"""
import json
import os
import pathlib
import resource
import statistics
import subprocess
import sys
import tempfile
import time

import product

RUNS = 9


def ours(design, out):
    """(wall s, peak MB) of one whole run."""
    start = time.perf_counter()
    pid = os.posix_spawn(product.BINARY, [str(product.BINARY), "make", str(design), "--part", "link", "--only", "stl,step,walls", "--out", str(out)], os.environ,
                         file_actions=[(os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0)])
    _, status, usage = os.wait4(pid, 0)
    wall = time.perf_counter() - start
    if os.waitstatus_to_exitcode(status):
        raise RuntimeError(f"colletline exits {os.waitstatus_to_exitcode(status)}")
    return wall, usage.ru_maxrss / 1024


def occt_once(tree, deflection, out):
    import occ
    import occt_tree

    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    marks = [time.perf_counter()]
    shape = occt_tree.build(tree)
    marks.append(time.perf_counter())
    occ.write_stl(shape, os.path.join(out, "occt.stl"), deflection)
    marks.append(time.perf_counter())
    occ.write_step(shape, os.path.join(out, "occt.step"))
    marks.append(time.perf_counter())
    return [b - a for a, b in zip(marks, marks[1:])], before, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def compare(design, tree, deflection, scratch):
    mine, theirs = [], []
    ours(design, scratch)  # the first run reads both programs from disk and is not counted
    for _ in range(RUNS):  # in turn, so that a busy machine hurts both
        mine.append(ours(design, scratch))
        p = subprocess.run([sys.executable, __file__, "--occt", str(deflection), str(scratch)], input=json.dumps(tree), capture_output=True, text=True, check=True)
        theirs.append(json.loads(p.stdout.splitlines()[-1]))
    wall, peak = statistics.median(w for w, _ in mine), max(m for _, m in mine)
    whole = statistics.median(sum(t[0]) for t in theirs)
    parts = [statistics.median(t[0][k] for t in theirs) for k in range(3)]
    return wall, peak, whole, parts, statistics.median(t[1] for t in theirs), max(t[2] for t in theirs)


def report(design, scratch):
    p = product.example("tree", design)
    if p.returncode:
        raise RuntimeError(f"tree: {product.said(p)}")
    deflection = 0.005  # mm: the product's default chord error
    wall, peak, whole, parts, before, top = compare(design, json.loads(p.stdout), deflection, scratch)
    name = pathlib.Path(design).stem
    print(f"{name}: colletline make --part link --only stl,step,walls: median of {RUNS} {wall * 1e3:.0f} ms whole process, peak {peak:.0f} MB")
    print(f"{name}: OCCT boolean {parts[0] * 1e3:.0f} + mesh and STL {parts[1] * 1e3:.0f} + STEP {parts[2] * 1e3:.0f} ms, median sum {whole * 1e3:.0f} ms; peak {top:.0f} MB, of which {before:.0f} before it starts")
    print(f"{name}: ours is {wall / whole:.3f} of OCCT's time (aim 0.1), {peak:.0f} MB (aim 60)", flush=True)
    return wall / whole, peak


if __name__ == "__main__":
    if sys.argv[1:2] == ["--occt"]:
        print(json.dumps(occt_once(json.load(sys.stdin), float(sys.argv[2]), sys.argv[3])))
    else:
        with tempfile.TemporaryDirectory() as scratch:
            for design in sys.argv[1:] or [product.ROOT / "params" / "line-4.0-platinum.jsonc"]:
                report(design, scratch)
