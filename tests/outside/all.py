"""All outside checks that fit the budget of every change, one count at the end; `--count FILE` writes it there too."""
import argparse
import sys
import tempfile

import check_assembly
import check_clasp
import check_compare
import check_draws
import check_exports
import check_guide
import check_life
import check_live
import check_masters
import check_papers
import check_motion
import check_params
import check_plan
import check_plates
import check_rounds
import check_supply
import check_twins
import check_wall_places
import check_walls
import product
import random_links
import selftest
from harness import Checks

# Random links compared here, and files drawn; tests/long compares 300 and draws 3,000.
RANDOM_LINKS, DRAWS, SEED = 12, 96, 20


def links(c):
    with tempfile.TemporaryDirectory() as out:
        random_links.run(c, RANDOM_LINKS, SEED, out)


def drawn(c):
    with tempfile.TemporaryDirectory() as out:
        check_draws.run(c, DRAWS, SEED, out)


PARTS = (
    ("selftest", selftest.main),
    ("what it is built from", check_supply.main),
    ("parameter files", check_params.main),
    ("plan", check_plan.main),
    ("compare", check_compare.main),
    ("life and strength", check_life.main),
    ("exports", check_exports.main),
    ("masters", check_masters.main),
    ("assembly", check_assembly.main),
    ("gauge, calibration, plates", check_plates.main),
    ("bench sheet and page", check_papers.main),
    ("live page", check_live.main),
    ("guide", check_guide.main),
    ("clasp", check_clasp.main),
    ("wires, rings and balls", check_rounds.main),
    ("links written again", check_twins.main),
    ("walls of meshes", check_walls.main),
    ("thinnest places", check_wall_places.main),
    ("motion", check_motion.main),
    ("random links", links),
    ("random files", drawn),
)

if __name__ == "__main__":
    a = argparse.ArgumentParser(description=__doc__)
    a.add_argument("--count")
    a = a.parse_args()
    c = Checks()
    built = c.check("the product is built", product.BINARY.is_file(), product.BINARY.name)
    for name, run in PARTS:
        if built or run is selftest.main:
            print(f"-- {name}", flush=True)
            with c.section(name):
                run(c)
    if c.failures:
        print("failed:", *c.failures, sep="\n  ")
    if a.count:
        with open(a.count, "w", encoding="utf-8") as f:
            f.write(f"{c.passed} {c.failed}\n")
    else:
        print(f"{c.passed} passed, {c.failed} failed")
    sys.exit(c.failed > 0 or c.passed == 0)
