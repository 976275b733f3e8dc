"""Random links of every shape and joint against OCCT: same tree, other kernel; a reading of our STEP; a third opinion by slices.

  random_links.py --count 12 --seed 1 [--keep DIR]

Files come from generate.py; the dev example `draws` writes tree, STEP, STL and report of every one that is accepted. What is refused,
and whether it should be, is the business of check_draws.py.
"""
import json
import multiprocessing
import pathlib
import statistics
import time

import check_draws
import compare
import occ
import occt_link
import occt_tree
import product
import slices
import solids
import step_text
import stl
from harness import command

WORKERS = 2


def examine(base):
    """Everything measured of one link; `wrong` is empty when all is well. Runs in a worker, so it returns plain values."""
    base = pathlib.Path(base)
    r = {"name": base.name, "wrong": [], "why": []}
    try:
        files = {k: base.with_name(base.name + k) for k in (".json", ".step", ".stl", ".report.json", ".jsonc")}
        lost = [k for k, f in files.items() if not f.is_file()]
        if lost:
            r["wrong"].append(f"not written: {' '.join(lost)}")
            return r
        report = solids.load_report(files[".report.json"])
        wrong, _ = step_text.problems(files[".step"])
        r["wrong"] += wrong
        shape = occ.read_step(files[".step"])
        r["wrong"] += occ.problems(shape)
        v, a = occ.volume(shape), occ.area(shape)
        start = time.monotonic()
        with open(files[".json"], encoding="utf-8") as f:
            ref = occt_tree.build(json.load(f))
        r["build"] = time.monotonic() - start
        ref_problems = occ.problems(ref)
        scratch = base.with_name(base.name + ".occt.step")
        rv, ra = occ.volume(ref), occ.area(ref)
        noise = solids.own_noise(ref, scratch)
        scratch.unlink()
        r["noise"] = noise
        r["volume"], r["area"] = solids.relative(v, rv), solids.relative(a, ra)
        r["reported"] = max(solids.relative(report["volume_mm3"], v), solids.relative(report["area_mm2"], a))
        allowed = max(solids.RELATIVE, noise)
        try:
            d = occt_link.dimensions(occt_link.read_jsonc(files[".jsonc"]))
        except occt_link.Missing:
            d = None
        if d is not None:
            sv, sa, sure = slices.measure(d)
            r["slices"] = solids.relative(v, sv)
            if sure <= solids.RELATIVE_SLICES and max(r["slices"], solids.relative(a, sa)) > solids.RELATIVE:
                r["wrong"].append(f"volume {r['slices']:.1e}, area {solids.relative(a, sa):.1e} off the slices")
        if noise > solids.RELATIVE:
            r["why"].append(f"OCCT's own boolean and its reread differ by {noise:.1e}")
        if max(r["volume"], r["area"]) > allowed:
            # Which of the two is off? A mesh of each at one deflection has no Gauss integration over trimmed faces in it.
            m, n = compare.mesh_volume(shape, 2e-3), compare.mesh_volume(ref, 2e-3)
            r["why"].append(f"OCCT meshes of both at 2 um differ by {solids.relative(m, n):.1e}" + (f"; ours is {r['slices']:.1e} off the slices, OCCT's boolean {solids.relative(rv, sv):.1e}" if "slices" in r else ""))
            r["wrong"].append(f"volume {r['volume']:.1e}, area {r['area']:.1e} off OCCT's boolean (allowed {allowed:.1e})")
        if ref_problems:
            r["why"].append(f"OCCT's boolean itself is bad: {'; '.join(ref_problems)}")
        if r["reported"] > solids.RELATIVE:
            r["wrong"].append(f"report off OCCT's reading of the STEP by {r['reported']:.1e}")
        r["wrong"] += stl.trimesh_problems(files[".stl"]) + stl.manifold_problems(files[".stl"])
        chord = report["chord_mm"]
        out = compare.stl_to_solid(files[".stl"], shape, 240)
        back = compare.solid_to_stl(shape, files[".stl"], chord)
        r["chord"] = max(out[0], back[0]) / chord
        if max(out[0], back[0]) > chord + solids.F32:
            r["wrong"].append(f"STL and solid {max(out[0], back[0]) * 1e3:.2f} um apart at {out[2] if out[0] > back[0] else back[1]}, chord {chord * 1e3:.2f} um")
    except Exception as e:  # noqa: BLE001  one bad link must not end the run
        r["wrong"].append(f"{type(e).__name__}: {e}")
    return r


def spread(values, unit=""):
    return f"median {statistics.median(values):.1e}{unit}, largest {max(values):.1e}{unit}" if values else "none measured"


def run(c, count, seed, out):
    start = time.monotonic()
    # Some of the files are meant to be refused; of each 25 at least 12 are sane.
    links = pathlib.Path(out) / "links"
    links.mkdir(exist_ok=True)
    check_draws.prepare(seed, 2 * count + 18, out)
    lines, died = check_draws.build(out, links)
    drawn = time.monotonic() - start
    c.none(f"random links: none of the files of seed {seed} kills the process", died, f"{drawn:.1f} s")
    bases = [x["file"].split(".")[0] for x in lines if x["is"] == "accepted"][:count]
    c.check("random links: enough were accepted", len(bases) == count, f"{len(bases)} of {count}")
    with multiprocessing.get_context("spawn").Pool(WORKERS) as pool:
        results = []
        for r in pool.imap(examine, [str(links / b) for b in bases], chunksize=1):  # in order, each line as soon as it is known
            results.append(r)
            numbers = f"volume {r['volume']:.1e} area {r['area']:.1e}" + (f" slices {r['slices']:.1e}" if "slices" in r else "") if "volume" in r else ""
            c.none(f"random link {r['name']} (seed {seed})", r["wrong"], numbers)
            for why in r["why"]:
                print(f"       {r['name']}: {why}", flush=True)
    got = lambda k: [r[k] for r in results if k in r]
    print(f"     volume against OCCT's boolean: {spread(got('volume'))}; area: {spread(got('area'))}")
    print(f"     volume against slices: {spread(got('slices'))} ({len(got('slices'))} links); report against STEP: {spread(got('reported'))}")
    print(f"     OCCT's own boolean to reread: {spread(got('noise'))}; its build: {spread(got('build'), ' s')}")
    print(f"     STL to solid as a share of the chord error: {spread(got('chord'))}")
    bad = [r["name"] for r in results if r["wrong"]]
    print(f"     failures: {', '.join(bad) if bad else 'none'}; {time.monotonic() - start:.0f} s")


if __name__ == "__main__":
    command(__doc__, run, 12)
