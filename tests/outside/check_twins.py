"""Square and cushion collets, hinge tubes, foot blocks, mirrored and plain ends: designs with every dimension given, each made by the
product and held against the link built from the same file by OCCT, by slices and by rays.

  check_twins.py [--all]

Without --all the few that between them have every part; with it all of data/ that the product is to make, and what a dimension
5 um off does to the volume.
"""
import contextlib
import io
import multiprocessing
import pathlib
import sys
import tempfile

import occ
import occt_link
import product
import solids
from contract import DONE
from harness import Checks

DATA = pathlib.Path(__file__).resolve().parent / "data"
# Between them every shape, joint and kind of end.
FEW = ("line-4.0-square", "mirrored-3.0-cushion", "plain-right-3.0-foot-block")
MORE = ("line-3.0-cushion", "line-2.5-square", "plain-left-2.5-square", "line-3.0-foot-block", "line-4.0-foot-block")
WORKERS = 2
TUBE = ("tube_outer", "tube_bore", "tube_length", "tube_height", "pocket_clearance", "side_gap", "outer_share")
SENSITIVE = (
    ("line-3.0-cushion", [("collet", k) for k in ("corner_radius", "inner_corner_radius", "foot_fill", "light_hole")] + [("line", "gap")] + [("joint", k) for k in TUBE]),
    ("line-3.0-foot-block", [("collet", k) for k in ("corner_radius", "block_half_width")]),
)


def one(c, name, scratch):
    out = scratch / name
    p = product.run("make", DATA / f"{name}.jsonc", "--out", out, "--only", "step,stl")
    if not c.check(f"{name}: make exits 0", p.returncode == DONE and not product.panicked(p), product.said(p)):
        return
    report = solids.load_report(out / "report.json")
    genus, chord = solids.genus_and_chord(report)
    solids.check_stl(c, f"{name} link.finished.stl", out / "link.finished.stl", genus)
    shape = solids.check_step(c, name, out / "link.step", report)
    solids.check_report(c, name, shape, report)
    solids.check_distance(c, name, out / "link.finished.stl", shape, chord, 400)
    d = occt_link.dimensions(occt_link.read_jsonc(DATA / f"{name}.jsonc"))
    solids.check_twin(c, name, shape, d, scratch / f"{name}.scratch.step")


def sensitivity(c, name, keys):
    """Each dimension of the file wrong by 5 um against the right link: what the comparison above would see."""
    right = occt_link.read_jsonc(DATA / f"{name}.jsonc")
    ref = occt_link.build(occt_link.dimensions(right))
    volume, centre = occ.volume(ref), occ.centre(ref)
    for group, key in keys:
        wrong = {g: dict(v) for g, v in right.items()}
        wrong[group][key] = occt_link.number(right[group][key]) + 0.005
        shape = occt_link.build(occt_link.dimensions(wrong))
        gap = solids.relative(occ.volume(shape), volume)
        # what the outer knuckles lose the middle one wins: the share shows in the centre of mass alone
        moved = max(abs(a - b) for a, b in zip(occ.centre(shape), centre))
        c.check(f"{name}: {group}.{key} 5 um off is seen", gap > 2 * solids.RELATIVE or moved > 2 * solids.PLACE, f"volume {gap:.1e}, centre {moved:.1e} mm")


def worker(job):
    """Runs in a process of its own, so it returns what was printed and counted."""
    name, scratch = job
    c, said = Checks(), io.StringIO()
    with contextlib.redirect_stdout(said), c.section(name):
        one(c, name, pathlib.Path(scratch))
    return said.getvalue(), c.passed, c.failed, c.failures


def main(c, names=FEW):
    with tempfile.TemporaryDirectory() as scratch, multiprocessing.get_context("spawn").Pool(WORKERS) as pool:
        for said, passed, failed, failures in pool.imap(worker, [(n, scratch) for n in names], chunksize=1):
            print(said, end="", flush=True)
            c.passed += passed
            c.failed += failed
            c.failures += failures


if __name__ == "__main__":
    checks = Checks()
    everything = "--all" in sys.argv[1:]
    main(checks, FEW + MORE if everything else FEW)
    if everything:
        for design, keys in SENSITIVE:
            with checks.section(f"{design}: sensitivity"):
                sensitivity(checks, design, keys)
    print(f"{checks.passed} passed, {checks.failed} failed")
    sys.exit(checks.failed > 0 or checks.passed == 0)
