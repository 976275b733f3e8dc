"""Bench sheets of random sane files, read as SVG: no text over another, nothing beyond the frame, every page numbered in turn.

The room a text takes is worked out here from its place, length and size; capitals of Helvetica are 0.718 of its size, descenders 0.207
(Adobe's metrics of the standard fonts of PDF 1.7)."""
import json
import pathlib
import re
import xml.etree.ElementTree as ET
from concurrent.futures import ThreadPoolExecutor

import check_parts
import generate
import product
from harness import command

SVG = "{http://www.w3.org/2000/svg}"
CAPITALS, DESCENDERS = 0.718, 0.207
# Frame after ISO 5457: 20 mm at the binding edge, 10 mm elsewhere.
BINDING, EDGE = 20.0, 10.0
# Share of the files that may be refused: wishes of which no clasp can be made (proposal).
REFUSED = 0.15
# A file that takes longer hangs, s.
PATIENCE = 600
# Places are rounded to 0.01 mm.
NEAR = 0.006


def box(t):
    """Left, top, right, bottom of a text, mm, y down."""
    x, y, size, long = (float(t.get(k)) for k in ("x", "y", "font-size", "textLength"))
    from_ = {None: 0.0, "middle": -long / 2, "end": -long}[t.get("text-anchor")]
    up, down = CAPITALS * size, DESCENDERS * size
    if t.get("transform"):
        return (x - up, y - from_ - long, x + down, y - from_)
    return (x + from_, y - up, x + from_ + long, y + down)


def over(a, b):
    return a[0] < b[2] - 1e-6 and b[0] < a[2] - 1e-6 and a[1] < b[3] - 1e-6 and b[1] < a[3] - 1e-6


def wrong(svg):
    """What is wrong with one sheet, and its number of all."""
    root = ET.parse(svg).getroot()
    wide, high = (float(v) for v in root.get("viewBox").split()[2:])
    texts = [(t.text, box(t)) for t in root.iter(f"{SVG}text")]
    found = [f"{a!r} over {b!r}" for i, (a, p) in enumerate(texts) for b, q in texts[i + 1:] if over(p, q)]
    inside = lambda x0, y0, x1, y1: x0 >= BINDING - NEAR and y0 >= EDGE - NEAR and x1 <= wide - EDGE + NEAR and y1 <= high - EDGE + NEAR
    found += [f"{a!r} leaves the frame" for a, p in texts if not inside(*p)]
    points = 0
    for path in root.iter(f"{SVG}path"):
        x = y = 0.0
        for how, u, v in re.findall(r"([Ml])(-?[\d.]+) (-?[\d.]+)", path.get("d")):
            # M gives a place, l a step.
            x, y = (float(u), float(v)) if how == "M" else (x + float(u), y + float(v))
            points += 1
            if not inside(x, y, x, y):
                found.append(f"a line leaves the frame at {x}, {y}")
                break
    if points < 100 or len(texts) < 20:
        found.append(f"an empty sheet: {points} points, {len(texts)} texts")
    numbers = [a for a, _ in texts if re.fullmatch(r"\d+/\d+", a)]
    return found, numbers[0] if len(numbers) == 1 else numbers


def one(file, out, paper):
    p = product.run("make", file, "--only", "sheet", "--anyway", "--paper", paper, "--out", out, timeout=PATIENCE)
    if p.returncode not in (0, 1) or not (out / "sheets.pdf").is_file():
        return None, [product.said(p)]
    bad, numbers = [], []
    sheets = sorted(out.glob("*.sheet*.svg"))
    for svg in sheets:
        found, number = wrong(svg)
        bad += [f"{svg.stem}: {f}" for f in found]
        numbers.append(number)
    if sorted(map(str, numbers)) != [f"{k + 1}/{len(sheets)}" for k in range(len(sheets))]:
        bad.append(f"sheets are numbered {numbers}")
    return len(sheets), bad


def files(count, seed, folder):
    """Two kinds in turn: sane files of every shape and joint, most with a bought clasp; files as a goldsmith writes them, with a folding clasp."""
    drawn = folder / "drawn"
    manifest = generate.write(seed, 2 * count + 25, drawn)
    sane = [drawn / m["file"] for m in manifest if m["expect"] == "accept" and m["kind"] in ("sane", "sparse")]
    folding = folder / "folding"
    folding.mkdir(parents=True, exist_ok=True)
    wished = [folding / d["file"] for d in check_parts.draws(seed, count + 8, folding)]
    return [f for pair in zip(sane, wished) for f in pair]


def run(c, count, seed, folder):
    folder = pathlib.Path(folder)
    jobs = [(f, folder / "out" / f"{f.parent.name}-{f.stem}", ("a4", "letter")[i // 2 % 2]) for i, f in enumerate(files(count, seed, folder))]
    made, pages, at = 0, 0, 0
    refused, bad = [], []
    with ThreadPoolExecutor(2) as pool:
        # As many as are wanted: a wished clasp may still be one that cannot be made, which is refused and told.
        while made < count and at < len(jobs):
            some = jobs[at:at + count - made]
            at += len(some)
            for job, (sheets, why) in zip(some, pool.map(lambda j: one(*j), some)):
                name = "/".join(job[0].parts[-2:])
                if sheets is None:
                    refused.append(f"{name}: {why[0]}")
                    continue
                made += 1
                pages += sheets
                bad += [f"{name} {w}" for w in why]
    c.check(f"sheets of seed {seed}: as many files as wanted", made == count, f"{made} of {count}, {pages} sheets; {len(refused)} of {at} refused")
    c.none("sheets: no text over another, nothing beyond the frame, numbered in turn", bad[:12], f"{pages} sheets")
    c.check("sheets: sane files are drawn", len(refused) <= REFUSED * at, "; ".join(refused[:4]))


if __name__ == "__main__":
    command(__doc__, run, 200)
