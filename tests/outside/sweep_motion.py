"""Random sane files through `colletline motion`: what it calls free and what it calls blocked, turned again by manifold3d and FCL.

  sweep_motion.py --count 60 --seed 1 [--keep DIR]

Files come from generate.py. Of every line link with a joint the checks of check_motion.py are made: poses of the proved paths free,
contact at the upper bound whatever the shift tried, clearances at rest. A joint that binds at rest must be named, never refused.
"""
import json
import pathlib

import check_motion
import generate
import product
from harness import command

# A file that takes longer hangs, s.
PATIENCE = 600
# Draws looked through for each that is wanted: the others are not sane, not line links, or of a kind without a joint at the right.
LOOKED = 12


def run(c, count, seed, folder):
    folder = pathlib.Path(folder)
    done = named = 0
    for i, note, text in generate.draws(seed, count * LOOKED):
        if done + named >= count:
            break
        # A link plain at one end or mirrored has its joint elsewhere.
        if note["kind"] != "sane" or note["expect"] != "accept" or json.loads(text)["link"]["kind"] != "line":
            continue
        file = folder / f"{i:05}.jsonc"
        file.write_text(text + "\n", encoding="utf-8")
        p = product.run("motion", file, "--format", "json", timeout=PATIENCE)
        if p.returncode == 2:
            c.check(f"{file.name}: refused by name, not by accident", not product.panicked(p) and len(p.stderr) > 20, product.said(p))
            named += 1
            continue
        said = json.loads(p.stdout)
        if "joint" not in said:
            c.check(f"{file.name}: a joint that binds is named", bool(said.get("binds")), said.get("not_measured"))
            continue
        with c.section(file.name):
            check_motion.one(c, file.stem, folder, file, said)
        done += 1
    c.check("files turned", done >= count // 2, f"{done} of {count}, {named} refused by name")


if __name__ == "__main__":
    command(__doc__, run, 60)
