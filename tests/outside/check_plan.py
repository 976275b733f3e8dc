"""The plan recomputed from the parameter file and the exported STL by other means: own formulas, trimesh's volume, Monte-Carlo, a solver of
scipy (HiGHS) for the cut list, brute force for the order of solders. Formulas: elementary geometry, as described with the link; limits
of the bench are common practice, no published source."""
import csv
import io
import itertools
import json
import math
import pathlib
import random
import re
import tempfile

import numpy as np
import product
import stl
from harness import Checks
from scipy.optimize import LinearConstraint, milp

EXAMPLES = sorted(p for p in (product.ROOT / "params").glob("*.jsonc"))
BENCH = product.ROOT / "params" / "bench" / "bench.jsonc"


def plan(*args, exact=False):
    """The clasp is built only where its weight is looked at: the rest of a plan does not depend on it."""
    p = product.run("plan", *args, "--format", "json", *(() if exact else ("--estimate",)))
    return p.returncode, json.loads(p.stdout)


def line(c, name, values, p):
    n, gap, width = values["line.count"], values["line.gap"], values["collet.width"]
    z = values["joint.groove_depth"] + values["joint.web_height"] / 2 if values["joint.kind"] == "wire_loop" else values["joint.tube_height"]
    pitch = width + gap
    c.close(f"plan {name}: length", p["line"]["length_mm"], n * pitch, 1e-9)
    # a closed polygon of n links: the inside lies z below the pivots, which are p apart
    pivots = pitch / 2 / math.tan(math.pi / n)
    c.close(f"plan {name}: inner length", p["line"]["inner_length_mm"], 2 * n * (pivots - z) * math.tan(math.pi / n), 1e-9)
    c.check(f"plan {name}: stones", p["line"]["stones"] == n == p["stones"]["count"] == p["line"]["links"] + p["line"]["clasp_stones"], n)
    c.close(f"plan {name}: carats", p["stones"]["carats"], n * values["stone.carat"], 1e-9, "ct")
    for a in p["line"]["alternatives"]:
        c.close(f"plan {name}: {a['stones']} stones at the same length", a["stones"] * (width + a["gap_for_length_mm"]), n * pitch, 1e-9)
    s, links = p["line"]["spread"], p["line"]["links"]
    rng = np.random.default_rng(7)
    three = rng.normal(0, s["link_mm"] / 3, (20000, links)).sum(1) + rng.normal(0, s["clasp_mm"] / 3, 20000)
    even = rng.uniform(-s["link_mm"], s["link_mm"], (20000, links)).sum(1) + rng.uniform(-s["clasp_mm"], s["clasp_mm"], 20000)
    c.close(f"plan {name}: three sigma against Monte-Carlo", s["three_sigma_mm"], 3 * three.std(), 0.03 * s["three_sigma_mm"])
    c.close(f"plan {name}: \"within\" against Monte-Carlo", s["uniform_mm"], 3 * even.std(), 0.03 * s["uniform_mm"])
    c.check(f"plan {name}: nothing is beyond the worst case", max(abs(even).max(), 0) <= s["worst_mm"])


def metal(c, name, values, p, folder):
    made = product.run("make", product.ROOT / "params" / f"{name}.jsonc", "--only", "stl", "--out", folder)
    _, m = stl.load(pathlib.Path(folder) / "link.finished.stl")
    parts = {x["part"]: x for x in p["metal"]["parts"]}
    rho = p["metal"]["density_g_cm3"]
    link = parts["link"]
    c.check(f"plan {name}: the link is made", made.returncode == 0)
    # facets of 5 um on 40 to 130 mm2 of skin: at most a per cent of a link of 7 to 50 mm3
    c.close(f"plan {name}: a link's weight by trimesh", link["each_g"], m.volume * rho / 1000, 0.01 * link["each_g"], "g")
    c.close(f"plan {name}: finished weight is the sum", p["metal"]["finished_g"], sum(x["each_g"] * x["count"] for x in parts.values()), 1e-9, "g")
    cast = sum(x["as_cast_g"] for x in parts.values() if x["route"] == "cast")
    c.close(f"plan {name}: to melt", p["metal"]["to_melt_g"], cast * (1 + p["metal"]["sprues_and_button"]), 1e-9, "g")
    c.close(f"plan {name}: filings", p["metal"]["filings_g"], sum(x["as_cast_g"] - x["all_g"] for x in parts.values()), 1e-9, "g")
    stock = {x["what"]: x for x in p["stock"]}
    c.check(f"plan {name}: nothing twice", not (link["route"] == "cast" and {"collet", "claw"} & set(stock)))
    if values["joint.kind"] == "wire_loop":
        # the loop as a rounded rectangle of two thicknesses, bent about the web's dressed edges, neutral line 0.45 of the thickness
        d_w, t_f, r = values["joint.wire"], values["joint.wire_flat"], values["joint.web_edge"]
        tan_a = (values["collet.width"] / 2 - values["collet.foot_half_width"]) / values["collet.height"]
        a = values["collet.wall"] * math.hypot(1, tan_a)
        z = values["joint.groove_depth"] + values["joint.web_height"] / 2
        span = values["collet.width"] + values["line.gap"] - 2 * (values["collet.foot_half_width"] + z * tan_a) + 2 * a + 2 * values["joint.end_play"]
        high = values["joint.groove_depth"] - t_f + values["joint.web_height"]
        quarter = lambda t: math.pi / 2 * (r + 0.45 * t)  # noqa: E731
        blank = 2 * (span - 2 * r) + 2 * (high - 2 * r) + 2 * quarter(d_w) + 2 * quarter(t_f)
        c.close(f"plan {name}: blank of the connecting wire", stock["connecting wire"]["length_mm"], blank + 0.5, 1e-9)
        c.check(f"plan {name}: one wire a joint", stock["connecting wire"]["count"] == p["line"]["joints"] == p["line"]["links"] + 1)
    else:
        c.check(f"plan {name}: one pin a joint", stock["hinge pin"]["count"] == p["line"]["joints"])


def heats(c, name, p):
    done = []
    for h in p["solder"]["heats"]:
        s = h["solder"]
        if c.check(f"plan {name}: heat {h['step']} has a solder", s is not None):
            lower = [e for e in done if e != s]
            c.check(f"plan {name}: heat {h['step']} flows 20 below all before it", all(s["flow_c"] <= e["solidus_c"] - 20 for e in lower))
            done.append(s)


def forms(c, name, path):
    text, md, table = (product.run("plan", path, "--format", f).stdout for f in ("text", "markdown", "csv"))
    rows = list(csv.reader(io.StringIO(table)))
    c.check(f"plan {name}: CSV is read", len(rows) > 40 and all(len(r) >= 2 for r in rows), len(rows))
    _, p = plan(path, exact=True)
    for what, value in (("length, flat", p["line"]["length_mm"]), ("length, inside", p["line"]["inner_length_mm"]), ("finished", p["metal"]["finished_g"]), ("carats", p["stones"]["carats"])):
        shown = f"{value:.2f}"
        cell = next((r[2] for r in rows if r[1] == what), "")
        c.check(f"plan {name}: {what} is {shown} in all forms", cell.startswith(shown) and re.search(rf"{re.escape(what)}\s+{re.escape(shown)}", text) is not None and f"- {what}: {shown}" in md)
    wide = [x for x in text.splitlines() if len(x) > 80]
    c.none(f"plan {name}: no line is wider than the window", wide)


def clasp(c, path):
    """The clasp's weight against the volumes that the parts themselves report, and near the estimate that stands in for it."""
    _, p = plan(path, exact=True)
    _, rough = plan(path)
    report = json.loads(product.run("check", path, "--part", "clasp", "--format", "json").stdout)
    volumes = {x["name"]: x["volume_mm3"] for x in report["clasp"]["parts"]}
    parts = {x["part"]: x for x in p["metal"]["parts"]}
    tubes = sum(parts[t]["volume_mm3"] * parts[t]["count"] for t in ("clasp, outer knuckle", "clasp, middle knuckle", "side catch, chenier"))
    got = sum(parts[n]["volume_mm3"] * parts[n]["count"] for n in ("clasp frame", "base plate", "leaf", "tongue strip")) + tubes
    want = volumes["clasp.frame"] + volumes["clasp.plate"] + volumes["clasp.leaf"] + volumes["clasp.strip.front"] + volumes["clasp.strip.back"]
    c.close(f"plan {path.stem}: metal of the clasp is that of its solids", got, want, 1e-6, "mm3")
    off = p["metal"]["finished_g"] / rough["metal"]["finished_g"] - 1
    c.check(f"plan {path.stem}: the estimate is near", abs(off) < 0.06, f"{off:+.3f}")


def cut_list(c):
    """The program's cut list for random small jobs against scipy's solver on the same bars and pieces."""
    rnd = random.Random(3)
    base = json.loads(re.sub(r"//.*", "", BENCH.read_text(encoding="utf-8")))
    path = product.ROOT / "params" / "line-4.0-platinum.jsonc"
    with tempfile.TemporaryDirectory() as folder:
        for k in range(6):
            bars = [(rnd.choice((60, 90, 100, 120, 150)), rnd.randint(2, 6)) for _ in range(2)]
            if bars[0][0] == bars[1][0]:
                bars = bars[:1]
            bench = base | {"stock": [{"section": "wire 0.55", "length": a, "count": b} for a, b in bars]}
            file = pathlib.Path(folder) / "bench.jsonc"
            file.write_text(json.dumps(bench), encoding="utf-8")
            _, p = plan(path, "--bench", file)
            cut = next(x for x in p["cuts"] if x["section"] == "wire 0.55")
            piece = next(x for x in p["stock"] if x["section"] == "wire 0.55")
            take, kerf = piece["length_mm"] + bench["kerf"], bench["kerf"]
            fits = [int((a + kerf + 1e-9) / take) for a, _ in bars]
            best = milp([a for a, _ in bars], constraints=[LinearConstraint([fits], piece["count"], np.inf)], bounds=(0, [b for _, b in bars]), integrality=[1] * len(bars))
            if not best.success:
                c.check(f"cut list {k}: too little wire is told", cut["short"] is not None and len(p["findings"]) > 0, cut["short"])
                # the shortest one bar that does it, to the whole mm, by trying every length
                have = sum(f * b for f, (_, b) in zip(fits, bars))
                more = math.ceil((piece["count"] - have) * take - kerf - 1e-6)
                c.check(f"cut list {k}: and the shortest bar that does", f"one more bar of {more} mm" in cut["short"], more)
                continue
            used = sum(b["length_mm"] * b["count"] for b in cut["bars"])
            c.close(f"cut list {k}: wire begun, {bars}", used, best.fun, 1e-6)
            c.check(f"cut list {k}: proved, whole, inside the bars", cut["proved_least"] and sum(n * b["count"] for b in cut["bars"] for _, _, n in b["pieces"]) == piece["count"] and all(sum(n for _, _, n in b["pieces"]) * take <= b["length_mm"] + kerf + 1e-6 for b in cut["bars"]))


def routes(c):
    """Each part in the stock of its own route: collets, claws and seams of line and frame counted apart, by the file's own numbers."""
    text = (product.ROOT / "params" / "line-4.0-platinum.jsonc").read_text(encoding="utf-8")
    with tempfile.TemporaryDirectory() as folder:
        file = pathlib.Path(folder) / "line.jsonc"
        for link, frame in itertools.product(("cast", "fabricated"), repeat=2):
            file.write_text(text.replace('"link": {\n    "route": "cast"', f'"link": {{\n    "route": "{link}"').replace('"frame": { "route": "cast" }', f'"frame": {{ "route": "{frame}" }}'), encoding="utf-8")
            _, p = plan(file)
            got = {x["what"]: x["count"] for x in p["stock"]}
            c.check(f"routes {link}, {frame}: no piece twice", len(got) == len(p["stock"]))
            want = (37 * (link != "cast"), 5 * (frame != "cast"))
            c.check(f"routes {link}, {frame}: collets", (got.get("collet", 0), got.get("frame collet", 0)) == want, want)
            c.check(f"routes {link}, {frame}: claws", (got.get("claw", 0), got.get("frame claw", 0)) == (4 * want[0], 4 * want[1]))
            seams = sum(h["joints"] for h in p["solder"]["heats"] if "seams" in h["joins"])
            c.check(f"routes {link}, {frame}: seams and claws soldered", seams == 5 * sum(want), seams)
            cast = sum(x["count"] for x in p["metal"]["parts"] if x["route"] == "cast")
            c.check(f"routes {link}, {frame}: cast parts", cast == 37 * (link == "cast") + (frame == "cast"), cast)
            bought = sum(x["to_buy_mm"] * next(y["area_mm2"] for y in p["stock"] if y["section"] == x["section"]) for x in p["cuts"]) * p["metal"]["density_g_cm3"] / 1000
            c.close(f"routes {link}, {frame}: weight of the stock", p["metal"]["stock_g"], bought, 1e-9, "g")
            c.check(f"routes {link}, {frame}: seats and claws of all 42 stones", {t["cut"]: t["times"] for t in p["tools"]}["seat"] == 42 and {t["cut"]: t["times"] for t in p["tools"]}["claw ends"] == 168)


def wishes(c):
    path = product.ROOT / "params" / "line-4.0-platinum.jsonc"
    code, p = plan(path, "--length", "178.5")
    for n, gap in p["wish"]["ways"]:
        c.close(f"plan --length: {n} stones", n * (4.1 + gap), 178.5, 1e-9)
    # small lines have lengths that no count gives: between the longest of n and the shortest of n + 1
    code, p = plan(path, "--length", "44.5")
    near = [x[0] for x in p["wish"]["nearest"]]
    c.check("plan --length: what no count gives is told with its neighbours", code == 1 and not p["wish"]["ways"] and len(near) == 2 and near[0] < 44.5 < near[1] and abs(near[0] - 10 * 4.3) < 1e-9 and abs(near[1] - 11 * 4.18) < 1e-9, near)
    with tempfile.TemporaryDirectory() as folder:
        bad = pathlib.Path(folder) / "bench.jsonc"
        bad.write_text('{ "solder": [{ "grade": "easy", "solidus_c": 600, "flow_c": 640, "cadmium": true }], "drils": [] }', encoding="utf-8")
        r = product.run("plan", path, "--bench", bad)
        c.check("plan: cadmium solder and unknown keys are refused", r.returncode == 2 and "cadmium" in r.stderr and "drils" in r.stderr)
        one = pathlib.Path(folder) / "one.jsonc"
        one.write_text('{ "solder": [{ "grade": "only", "solidus_c": 745, "flow_c": 778 }] }', encoding="utf-8")
        code, p = plan(path, "--bench", one)
        c.check("plan: heats that cannot be ordered are a finding", code == 1 and any("725 C" in f for f in p["findings"]), p["findings"])


def measured(c):
    rnd = random.Random(11)
    path = product.ROOT / "params" / "line-4.0-platinum.jsonc"
    n = 42
    pitches = [4.2 + rnd.gauss(0, 0.01) for _ in range(n)]
    stones = [4.0 + rnd.uniform(-0.04, 0.04) for _ in range(n)]
    with tempfile.TemporaryDirectory() as folder:
        file = pathlib.Path(folder) / "line.csv"
        rows = "\n".join(f"{p:.3f};{s:.3f}" for p, s in zip(pitches, stones)).replace(".", ",")
        file.write_text("\ufeffpitch;stone\r\n" + rows.replace("\n", "\r\n"), encoding="utf-8")
        r = product.run("plan", path, "--measured", file, "--format", "json")
        a = json.loads(r.stdout)
        c.close("plan --measured: the length is the sum of the pitches", a["length_mm"], sum(round(p, 3) for p in pitches), 1e-6)
        c.close("plan --measured: the clasp takes the rest", a["clasp_takes_mm"], a["length_mm"] - 176.4, 1e-6)
        order = [x["stone"] for x in a["places"]]
        c.check("plan --measured: every stone once", sorted(order) == list(range(1, n + 1)))
        row = [x["pitch_mm"] for x in a["places"]]
        c.check("plan --measured: every link once, with its own pitch", sorted(x["link"] for x in a["places"]) == list(range(1, n + 1)) and all(abs(x["pitch_mm"] - round(pitches[x["link"] - 1], 3)) < 1e-9 for x in a["places"]))
        c.check("plan --measured: the clasp's links stay", [x["link"] for x in a["places"]][-5:] == list(range(38, 43)))
        # gaps by hand: half of either link's pitch, less the settings
        gaps = [(p + q) / 2 - 4.1 for p, q in zip(row, row[1:] + row[:1])]
        drawn = rnd.sample(range(37), 37)
        lay = [round(pitches[i], 3) for i in drawn] + row[37:]
        other = [(p + q) / 2 - 4.1 for p, q in zip(lay, lay[1:] + lay[:1])]
        c.check("plan --measured: gaps by hand", max(abs(g - x["gap_mm"]) for g, x in zip(gaps, a["places"])) < 1e-9)
        c.check("plan --measured: more even than as drawn", max(gaps) - min(gaps) < 0.7 * (max(other) - min(other)), f"{max(gaps) - min(gaps):.4f}, {max(other) - min(other):.4f}")
        room = [x["pitch_mm"] - x["stone_mm"] for x in a["places"]]
        other = max(min(p - round(stones[o], 3) for p, o in zip(row, rnd.sample(range(n), n))) for _ in range(300))
        c.check("plan --measured: no order of 300 drawn leaves more room", min(room) >= other - 1e-9, f"{min(room):.4f}, {other:.4f}")
        file.write_text("link,ptich\n4,10,4,20\n", encoding="utf-8")
        r = product.run("plan", path, "--measured", file)
        c.check("plan --measured: an unknown column is told with its neighbour", r.returncode == 2 and "perhaps pitch" in r.stderr, r.stderr.strip())
        file.write_text("link,stone\n0.161,4.0\n", encoding="utf-8")
        r = product.run("plan", path, "--measured", file)
        c.check("plan --measured: inches are told", r.returncode == 2 and "inches" in r.stderr and "4.09" in r.stderr, r.stderr.strip())


def tables(c):
    """Every number with its source; a bench file overrules what the plan reads, and the plan follows."""
    rows = json.loads(product.run("tables", "--format", "json").stdout)["rows"]
    c.check("tables: every row has a value and a source", len(rows) > 200 and all(r["value"] > 0 and len(r["source"]) > 8 for r in rows), len(rows))
    path = product.ROOT / "params" / "line-3.2-silver-short.jsonc"
    _, usual = plan(path)
    with tempfile.TemporaryDirectory() as folder:
        bench = pathlib.Path(folder) / "bench.jsonc"
        bench.write_text('{ "tables": { "metals": { "silver925": { "density": 10.40 } } } }', encoding="utf-8")
        _, own = plan(path, "--bench", bench)
        c.close("tables: the plan follows the maker's density", own["metal"]["finished_g"] / usual["metal"]["finished_g"], 10.40 / 10.36, 1e-9, "")
        c.check("tables: the plan says so", own["overruled"][0]["source"] == "bench file" and own["overruled"][0]["instead_of"] == 10.36)
        row = next(r for r in json.loads(product.run("tables", "metals", "--bench", bench, "--format", "json").stdout)["rows"] if r["row"] == "silver925")
        c.check("tables: and the table shows it", row["value"] == 10.40 and row["source"] == "bench file" and row["overruled"] == 10.36, row)
        bench.write_text('{ "tables": { "metals": { "silver92": { "density": 10.40 } } } }', encoding="utf-8")
        r = product.run("plan", path, "--bench", bench)
        c.check("tables: an unknown row is refused with the nearest", r.returncode == 2 and 'perhaps "silver925"' in r.stderr.replace("\n  │ ", " "), r.stderr[:200])


def orders(c):
    """Which chains of grades are safe, by trying all: what the plan may use at all."""
    silver = [("hard", 745, 778), ("medium", 720, 765), ("easy", 705, 723), ("extra easy", 667, 709)]
    chains = [x for k in (1, 2, 3) for x in itertools.permutations(silver, k) if all(b[2] <= a[1] - 20 for i, b in enumerate(x) for a in x[:i])]
    longest = max(len(x) for x in chains)
    with tempfile.TemporaryDirectory() as folder:
        text = (product.ROOT / "params" / "line-4.0-platinum.jsonc").read_text(encoding="utf-8").replace("platinum950_ru", "silver925").replace('"cast"', '"fabricated"')
        file = pathlib.Path(folder) / "line.jsonc"
        file.write_text(text, encoding="utf-8")
        _, p = plan(file)
        used = list(dict.fromkeys(h["solder"]["grade"] for h in p["solder"]["heats"] if h["solder"]))
        c.check("solder: as many grades as can be told apart, no more", len(used) == longest == 2, f"{used}, {longest}")
        heats(c, "built in silver", p)


def main(c):
    with tempfile.TemporaryDirectory() as folder:
        for path in EXAMPLES:
            code, p = plan(path, "--bench", BENCH)
            report = json.loads(product.run("check", path, "--format", "json").stdout)
            values = {v["path"]: v["value"] for v in report["values"]}
            c.check(f"plan {path.stem}: no findings", code == 0 and not p["findings"], p["findings"])
            c.check(f"plan {path.stem}: the file's own numbers", values["stone.diameter"] == p["stones"]["diameter_mm"])
            line(c, path.stem, values, p)
            metal(c, path.stem, values, p, folder)
            heats(c, path.stem, p)
            costs = [x["amount"] * x["price"] for x in p["cost"]["lines"]]
            c.close(f"plan {path.stem}: cost", p["cost"]["sum"], sum(costs), 1e-6, "EUR")
    _, p = plan(EXAMPLES[-1])
    c.check("a line of 42 stones of 4.0 comes to more than ten carats", p["stones"]["count"] == 42 and p["stones"]["carats"] > 10, p["stones"]["carats"])
    forms(c, EXAMPLES[-1].stem, EXAMPLES[-1])
    clasp(c, product.ROOT / "params" / "line-4.0-platinum.jsonc")
    cut_list(c)
    routes(c)
    wishes(c)
    measured(c)
    orders(c)
    tables(c)


if __name__ == "__main__":
    checks = Checks()
    main(checks)
    print(f"{checks.passed} passed, {checks.failed} failed")
