"""Every design in params/: make it, then hold each file against programs that are not ours."""
import filecmp
import json
import pathlib
import sys
import tempfile

import occt_link
import product
import solids
from contract import DONE, FILES
from harness import Checks

# The two designs whose every dimension stands in the file, so that the independent link can be built from it.
EXPLICIT = ("line-4.0-platinum", "line-2.5-yellow")


def designs():
    return sorted((product.ROOT / "params").glob("*.jsonc"))


def one(c, design, scratch):
    name, out = design.stem, scratch / design.stem
    p = product.run("make", design, "--out", out)
    if not c.check(f"{name}: make exits 0", p.returncode == DONE and not product.panicked(p), product.said(p)):
        return
    lost = [f for f in FILES if not (out / f).is_file() or (out / f).stat().st_size == 0]
    if not c.none(f"{name}: files written", [f"{f} missing or empty" for f in lost], ", ".join(FILES)):
        return
    again = scratch / f"{design.stem}-again"
    p = product.run("make", design, "--out", again)
    differ = [f.name for f in sorted(out.iterdir()) if not (again / f.name).is_file() or not filecmp.cmp(f, again / f.name, shallow=False)]
    differ += [f.name for f in sorted(again.iterdir()) if not (out / f.name).is_file()] if again.is_dir() else ["everything"]
    c.none(f"{name}: two runs byte for byte the same", differ, f"{len(list(out.iterdir()))} files")

    report = solids.load_report(out / "report.json")
    genus, chord = solids.genus_and_chord(report)
    with c.section(f"{name}: STL"):
        for f in ("link.finished.stl", "link.trial.stl"):
            solids.check_stl(c, f"{name} {f}", out / f, genus)
    with c.section(f"{name}: STEP"):
        shape = solids.check_step(c, name, out / "link.step", report)
        solids.check_report(c, name, shape, report)
        solids.check_distance(c, name, out / "link.finished.stl", shape, chord)
        with c.section(f"{name}: same tree in OCCT"):
            p = product.example("tree", design)
            if c.check(f"{name}: tree printed", p.returncode == 0, product.said(p)):
                solids.check_tree(c, name, shape, json.loads(p.stdout), scratch / "scratch.step")
        with c.section(f"{name}: written again from the file"):
            try:
                d = occt_link.dimensions(occt_link.read_jsonc(design))
            except occt_link.Missing as e:
                c.check(f"{name}: no second link, since the file leaves {e} to its default", design.stem not in EXPLICIT, "only designs with every dimension given can have one")
            else:
                solids.check_twin(c, name, shape, d, scratch / "scratch.step")


def main(c):
    found = designs()
    c.none("designs: the explicit ones are there", [f"params/{e}.jsonc missing" for e in EXPLICIT if e not in [d.stem for d in found]], ", ".join(d.stem for d in found))
    with tempfile.TemporaryDirectory() as scratch:
        for design in found:
            with c.section(design.stem):
                one(c, design, pathlib.Path(scratch))


if __name__ == "__main__":
    checks = Checks()
    main(checks)
    print(f"{checks.passed} passed, {checks.failed} failed")
    sys.exit(checks.failed > 0 or checks.passed == 0)
