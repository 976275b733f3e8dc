"""All outside checks that fit the budget of every change, one count at the end; `--count FILE` writes it there too."""
import argparse
import concurrent.futures
import contextlib
import io
import multiprocessing
import os
import sys
import tempfile

import check_assembly
import check_clasp
import check_compare
import check_draws
import check_exports
import check_flow
import check_guide
import check_jigs
import check_life
import check_live
import check_masters
import check_papers
import check_motion
import check_params
import check_plan
import check_plates
import check_rounds
import check_sheets
import check_supply
import check_twins
import check_wall_places
import check_walls
import product
import random_links
import selftest
import sweep_motion
from harness import Checks

# Random links compared here, files drawn, files with all their sheets, joints turned; tests/long compares 300, draws 3,000, 200 and 60.
RANDOM_LINKS, DRAWS, SHEETS, TURNED, SEED = 12, 96, 12, 2, 20
# A seed of its own: its files are turned in a few seconds each.
TURNED_SEED = 1


def links(c):
    with tempfile.TemporaryDirectory() as out:
        random_links.run(c, RANDOM_LINKS, SEED, out)


def drawn(c):
    with tempfile.TemporaryDirectory() as out:
        check_draws.run(c, DRAWS, SEED, out)


def sheets(c):
    with tempfile.TemporaryDirectory() as out:
        check_sheets.run(c, SHEETS, SEED, out)


def turned(c):
    with tempfile.TemporaryDirectory() as out:
        sweep_motion.run(c, TURNED, TURNED_SEED, out)


# The longest first, so that two cores end at about the same time.
PARTS = (
    ("selftest", selftest.main),
    ("exports", check_exports.main),
    ("masters", check_masters.main),
    ("motion", check_motion.main),
    ("joints of random files", turned),
    ("plan", check_plan.main),
    ("bench sheet and page", check_papers.main),
    ("live page", check_live.main),
    ("sheets of random files", sheets),
    ("links written again", check_twins.main),
    ("random links", links),
    ("random files", drawn),
    ("what it is built from", check_supply.main),
    ("parameter files", check_params.main),
    ("compare", check_compare.main),
    ("life and strength", check_life.main),
    ("assembly", check_assembly.main),
    ("gauge, calibration, plates", check_plates.main),
    ("how masters fill", check_flow.main),
    ("bench jigs", check_jigs.main),
    ("guide", check_guide.main),
    ("clasp", check_clasp.main),
    ("wires, rings and balls", check_rounds.main),
    ("walls of meshes", check_walls.main),
    ("thinnest places", check_wall_places.main),
)


def one(name):
    """Runs one part in a process of its own: its counts and all it printed."""
    c = Checks()
    said = io.StringIO()
    with contextlib.redirect_stdout(said), c.section(name):
        dict(PARTS)[name](c)
    return c, said.getvalue()


if __name__ == "__main__":
    a = argparse.ArgumentParser(description=__doc__)
    a.add_argument("--count")
    a = a.parse_args()
    c = Checks()
    built = c.check("the product is built", product.BINARY.is_file(), product.BINARY.name)
    names = [n for n, run in PARTS if built or run is selftest.main]
    # Two at a time on two cores; spawned, so that no part sees what another left in a module.
    with concurrent.futures.ProcessPoolExecutor(os.cpu_count() or 1, multiprocessing.get_context("spawn")) as pool:
        waiting = {pool.submit(one, n): n for n in names}
        for done in concurrent.futures.as_completed(waiting):
            print(f"-- {waiting[done]}", flush=True)
            try:
                part, said = done.result()
            except Exception as e:  # a process that died is a failed part, never a missing one
                c.check(waiting[done], False, f"its process died: {e}")
                continue
            print(said, end="", flush=True)
            c.passed += part.passed
            c.failed += part.failed
            c.failures += part.failures
    if c.failures:
        print("failed:", *c.failures, sep="\n  ")
    if a.count:
        with open(a.count, "w", encoding="utf-8") as f:
            f.write(f"{c.passed} {c.failed}\n")
    else:
        print(f"{c.passed} passed, {c.failed} failed")
    sys.exit(c.failed > 0 or c.passed == 0)
