"""All outside checks that fit the budget of every change, one count at the end."""
import sys
import tempfile

import check_exports
import check_params
import random_links
import selftest
from harness import Checks

# Random links compared here; tests/long/run compares 300.
RANDOM_LINKS, SEED = 12, 20

if __name__ == "__main__":
    c = Checks()
    for name, run in (("selftest", selftest.main), ("parameter files", check_params.main), ("exports", check_exports.main)):
        print(f"-- {name}", flush=True)
        with c.section(name):
            run(c)
    print("-- random links", flush=True)
    with c.section("random links"), tempfile.TemporaryDirectory() as out:
        random_links.run(c, RANDOM_LINKS, SEED, out)
    if c.failures:
        print("failed:", *c.failures, sep="\n  ")
    print(f"{c.passed} passed, {c.failed} failed")
    sys.exit(c.failed > 0 or c.passed == 0)
