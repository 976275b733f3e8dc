"""Files of every shape and joint, drawn by generate.py, through reader, kernel, mesh and second kernel.

  check_draws.py --count 3000 --seed 1 [--keep DIR]

What must hold: sane files are accepted, whatever is accepted becomes a closed solid whose mesh has its faces, edges and genus, whatever
is refused names a parameter, no process dies, every binding rule's limit is met from both sides within 1 %.
"""
import collections
import json
import pathlib
import subprocess
from concurrent.futures import ThreadPoolExecutor

import generate
import product
from harness import command

WORKERS = 2
# Share of the accepted that each joint x shape x opening must have, and of the sane that must be accepted.
LEAST_SHARE, LEAST_ACCEPTED = 0.05, 0.90
# Files enough to ask for shares and limits at all.
MANY = 1000
NEAR = 0.01
# Rules of the clasp: the sheets drawn here are of links and leave the clasp to the product.
OF_THE_CLASP = ("catch.", "chain.", "clasp.", "mark.", "tongue.")
# Share of the links that truck's mesher may leave open: they are written as "not confirmed".
LEFT_OPEN = 0.002
# Limits that no file meets from outside, because something else refuses it first; src/params/rules/tests.rs meets what can be met.
HELD_ELSEWHERE = {
    ("opening.bur", "least"): "a bur that does not fit is refused by the reader",
    ("turn.back", "least"): "the least gap of the table leaves more",
    ("web.depth", "least"): "the web is deeper than the wall, whose limit is the same",
    ("stone.culet", "least"): "the bore meets the seat first",
    ("stone.fill", "least"): "the seat bur meets the foot first",
}


def prepare(seed, count, folder):
    """Files and manifest, unless they are there already."""
    manifest = pathlib.Path(folder) / "manifest.json"
    if not manifest.is_file():
        generate.write(seed, count, folder)
    return json.loads(manifest.read_text(encoding="utf-8"))


def part(folder, first, last, write):
    """The lines of files first..last; a file that kills the process is named and the rest goes on. Resumes from its own log."""
    log = pathlib.Path(folder) / f"lines-{first:05}.jsonl"
    lines = [json.loads(x) for x in log.read_text(encoding="utf-8").splitlines()] if log.is_file() else []
    died = []
    while first + len(lines) + len(died) < last:
        done = len(lines) + len(died)
        args = [str(product.RELEASE / "examples" / "draws"), str(folder), "--first", str(first + done), "--count", str(last - first - done)]
        p = subprocess.Popen(args + (["--write", str(write)] if write else []), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        errors = []
        with ThreadPoolExecutor(1) as side:
            reading = side.submit(lambda: [errors.append(x.strip()) for x in p.stderr])
            with open(log, "a", encoding="utf-8") as f:
                for x in p.stdout:
                    lines.append(json.loads(x))
                    f.write(x)
                    f.flush()
            reading.result()
        if p.wait() != 0 or first + len(lines) + len(died) < last:
            died.append(f"{errors[-1] if errors else 'nothing said'} (exit {p.returncode})")
    return lines, died


def build(folder, write=None):
    """What became of every file, in order, and the files that killed the process."""
    count = len(list(pathlib.Path(folder).glob("[0-9][0-9][0-9][0-9][0-9].jsonc")))
    half = (count + WORKERS - 1) // WORKERS
    spans = [(a, min(a + half, count)) for a in range(0, count, half)]
    with ThreadPoolExecutor(WORKERS) as pool:
        parts = list(pool.map(lambda s: part(folder, *s, write), spans))
    return [x for lines, _ in parts for x in lines], [x for _, died in parts for x in died]


def rounded_up(values, share):
    v = sorted(values)
    return v[min(len(v) - 1, int(share * len(v)))] if v else float("nan")


def verdict(x):
    """accepted, refused or failed: a link that breaks a rule is refused, whatever becomes of its solid."""
    return "refused" if x["is"] in ("refused", "rule") or x.get("broken") else x["is"]


def named(x):
    """Parameters that the refusal names."""
    return {p["path"] for p in x.get("problems", []) if p["path"]} | {q for b in x.get("broken", []) for q in b["parameters"]}


def tell(m, x):
    """One exception in a line: which draw, what it was meant to be, what the product says."""
    said = sorted({p["code"] for p in x.get("problems", [])} | {b["rule"] for b in x.get("broken", [])})
    meant = ", ".join([m.get("measure", m.get("touch", ""))] * ("measure" in m or "touch" in m) + m.get("broken", []))
    return f"{x['file'][:5]} {m['shape']} {m['joint']} {m['opening']} {m['kind']}{f' ({meant})' if meant else ''}: {', '.join(said) or x.get('why') or x['is']}"


def nearness(lines):
    """{(rule, side): [nearest inside, nearest outside]} as shares of the limit; of a tenth where the limit is less than that."""
    near = collections.defaultdict(lambda: [float("inf"), float("inf")])
    for x in lines:
        for rule, value, least, most in x.get("rules", []):
            if rule.startswith(OF_THE_CLASP):
                continue
            for limit, side, sign in ((least, "least", 1), (most, "most", -1)):
                if limit is not None and value is not None:
                    room, k = (value - limit) * sign / max(abs(limit), 0.1), near[rule, side]
                    k[room < -1e-9] = min(k[room < -1e-9], abs(room))
    return near


def made_of(lines):
    return [x for x in lines if "genus" in x]


def expectations(c, both):
    """What the bench sheet expected of each file against what became of it."""
    sane = [(m, x) for m, x in both if m["expect"] == "accept"]
    turned_down = [tell(m, x) for m, x in sane if verdict(x) != "accepted"]
    c.check("draws: sane files are accepted", len(sane) - len(turned_down) >= LEAST_ACCEPTED * len(sane) > 0, f"{len(sane) - len(turned_down)} of {len(sane)}")
    past = [(m, x) for m, x in both if m["expect"] == "refuse"]
    let = [tell(m, x) for m, x in past if verdict(x) != "refused"]
    c.check("draws: files past a limit are refused", len(past) - len(let) >= LEAST_ACCEPTED * len(past) > 0, f"{len(past) - len(let)} of {len(past)}")
    other = [tell(m, x) for m, x in past if verdict(x) == "refused" and m["blame"] and not named(x) & set(m["blame"])]
    c.check("draws: and for a parameter that was expected", len(other) <= (1 - LEAST_ACCEPTED) * len(past), f"{len(past) - len(let) - len(other)} of {len(past) - len(let)}")
    for what, lines in (("sane, not accepted", turned_down), ("past a limit, not refused", let), ("refused for another parameter", other)):
        for line in lines:
            print(f"       {what}: {line}")


def judge(c, manifest, lines, died):
    c.none("draws: no process dies", died)
    by_name = {m["file"]: m for m in manifest}
    both = [(by_name[x["file"]], x) for x in lines]
    c.check("draws: a line for every file", len(lines) + len(died) == len(manifest) > 0, f"{len(lines)} of {len(manifest)}")
    kinds = collections.Counter((m["kind"], m["expect"], x["is"]) for m, x in both)
    for k, n in sorted(kinds.items()):
        print(f"     {' / '.join(k)}: {n}")
    accepted = [(m, x) for m, x in both if verdict(x) == "accepted"]
    expectations(c, both)
    c.none("draws: whatever the reader takes is built, meshed and not contradicted", [tell(m, x) for m, x in both if verdict(x) == "failed"])
    unsure = [x["file"][:5] for x in made_of(lines) if not x["confirmed"]]
    c.check("draws: the second kernel's own mesher falls short at most now and then", len(unsure) <= LEFT_OPEN * len(lines), f"{len(unsure)} of {len(lines)} {' '.join(unsure)}")
    silent = [x["file"] for _, x in both if x["is"] == "refused" and not all(p["path"] or p["code"].startswith("text.") for p in x["problems"])]
    silent += [x["file"] for _, x in both if x["is"] == "rule" and not all(b["parameters"] for b in x["broken"])]
    c.none("draws: every refusal names a parameter", silent)
    made = made_of(lines)
    c.none("draws: mesh and solid have the same faces and edges, one shell", [x["file"] for x in made if x["faces"][0] != x["faces"][1] or x["edges"][0] != x["edges"][1] or x["shells"] != 1])
    genus = collections.Counter((m["joint"], x["genus"]) for m, x in accepted)
    print("     genus:", ", ".join(f"{j} {g}: {n}" for (j, g), n in sorted(genus.items())))
    for stage in ("read", "build", "mesh", "witness", "trial"):
        t = [x["ms"][stage] for x in made if stage in x["ms"]]
        print(f"     {stage}: median {rounded_up(t, 0.5):.1f} ms, 99 % {rounded_up(t, 0.99):.1f}, largest {max(t):.1f}" if t else f"     {stage}: none")
    slow = sorted(made, key=lambda x: -x["ms"].get("build", 0))[: max(1, len(made) // 100)]
    print("     slowest 1 % to build:", ", ".join(f"{x['file'][:5]} {x['ms']['build']:.0f} ms ({x['retries']} finer meshes)" for x in slow[:12]))
    print(f"     eased: {sum(x['eased'] > 0 for x in made)}, with finer meshes: {sum(x['retries'] > 0 for x in made)} of {len(made)}")
    near = nearness(lines)
    missed = [f"{rule} {side} (inside {a:.1%}, outside {b:.1%})" for (rule, side), (a, b) in sorted(near.items()) if max(a, b) > NEAR and (rule, side) not in HELD_ELSEWHERE]
    if len(manifest) < MANY:
        print(f"     limits approached within 1 % from both sides: {len(near) - len(missed)} of {len(near)}")
        return
    shares = collections.Counter((m["joint"], m["shape"], m["opening"]) for m, _ in accepted)
    thin = [f"{' '.join(k)} {shares[k]}" for k in sorted({(j, s, o) for s, j, o in generate.COMBINATIONS}) if shares[k] < LEAST_SHARE * len(accepted)]
    c.none("draws: every joint x shape x opening has its share of the accepted", thin, f"{len(accepted)} accepted")
    c.none("draws: every limit is approached within 1 % from both sides", missed, f"{len(near)} limits")


def run(c, count, seed, folder, write=None):
    manifest = prepare(seed, count, folder)
    lines, died = build(folder, write)
    judge(c, manifest, lines, died)
    return lines


if __name__ == "__main__":
    command(__doc__, run, 3000)
