"""How long a maker waits in the live page for the 4 mm link, from the last key to the verdict on every wall, in Chromium; nothing is judged, for
that depends on what else the machine does: its load is told.

  time_live.py [--count 12]
"""
import argparse
import json
import os
import pathlib
import re
import shutil
import signal
import statistics
import subprocess
import tempfile

import product

MJS = product.ROOT / "tests" / "outside" / "time_live.mjs"


def main(count):
    with tempfile.TemporaryDirectory() as folder:
        file = pathlib.Path(folder) / "line.jsonc"
        shutil.copy(product.ROOT / "params" / "line-4.0-platinum.jsonc", file)
        p = subprocess.Popen([str(product.BINARY), "show", str(file)], stdout=subprocess.PIPE, text=True)
        try:
            address = re.search(r"http://\S+/", p.stdout.readline()).group()
            before = os.getloadavg()[0]
            run = subprocess.run(["node", str(MJS), address, str(count)], capture_output=True, text=True, timeout=1200, check=True)
        finally:
            p.send_signal(signal.SIGINT)
            p.wait(timeout=10)
    changes = json.loads(run.stdout.splitlines()[-1])
    print(f"{count} changes, load before {before:.1f}, after {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores; ms from the key, 60 of them waiting for the next key")
    for stage in ("rules", "verdict", "settled"):
        t = sorted(c["seen"][stage] for c in changes if stage in c["seen"])
        if t:
            print(f"  {stage}: least {t[0]}, median {statistics.median(t):.0f}, most {t[-1]} ({len(t)} seen)")
    told = [dict(re.findall(r"(\w+) (\d+)", c["told"].split("ms:")[-1])) for c in changes]
    for stage in ("rules", "solid", "walls", "paper", "clasp", "job"):
        t = sorted(int(c[stage]) for c in told if stage in c)
        if t:
            print(f"  in the program, {stage}: least {t[0]}, median {statistics.median(t):.0f}")


if __name__ == "__main__":
    a = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    a.add_argument("--count", type=int, default=12)
    main(a.parse_args().count)
