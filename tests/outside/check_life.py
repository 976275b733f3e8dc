"""Wear, strength and passport recomputed from the dimensions of the report, by formulas written here.

Archard V = K F s / H, H = 9.807 HV (convention: Juvinall and Marshek); von Mises shear 0.577; two sections each. Numbers to meet
within their rounding for three examples: life 5.1, 4.4, 2.9 years, elasticities, pulls (worked out by hand once from the same formulas).
"""
import json
import math

import product
from harness import Checks

SPREAD = 0.2


def asked(verb, stem, *more):
    p = product.run(verb, product.ROOT / "params" / f"{stem}.jsonc", *more, "--format", "json")
    return p.returncode, (json.loads(p.stdout) if p.stdout else None), p


def loop(v):
    tan = (v["collet.width"] / 2 - v["collet.foot_half_width"]) / v["collet.height"]
    return v["collet.wall"] * math.hypot(1, tan)


def wear(c, stem, v, life, hv):
    years = {p["point"]: p["years"] for p in life["wear"]["points"]}
    swing = 1e4 * math.radians(10)
    if v["joint.kind"] == "wire_loop":
        volume = 1e-4 * 1.0 * swing * v["joint.web_height"] / 2 / (9.807 * hv)
        area = v["joint.wire"] * v["joint.web_height"]
        want = {"web under the bore": loop(v) / 2 * area, "connecting wire": v["joint.wire"] / 2 * area}
    else:
        volume = 1e-4 * 1.0 * swing * v["joint.pin"] / 2 / (9.807 * hv)
        area = v["joint.pin"] * (v["joint.tube_length"] * (1 - 2 * v["joint.outer_share"]) - 2 * v["joint.side_gap"])
        want = {"middle knuckle": (v["joint.tube_outer"] - v["joint.tube_bore"]) / 4 * area, "hinge pin": 0.3 * v["joint.pin"] * area}
    for point, lost in want.items():
        middle = lost / volume / 365
        c.close(f"life {stem}: {point}", years[point][1], middle, 2e-6, "years")
        c.check(f"life {stem}: {point} spans a hundred to one", abs(years[point][0] * 100 - years[point][2]) < 1e-3)


def pulls(c, stem, v, life, strong):
    found = {e["element"]: e for e in life["strength"]["elements"]}
    y, u = strong
    if v["joint.kind"] == "wire_loop":
        a = loop(v)
        web = a * v["joint.web_height"] - (4 - math.pi) * v["joint.web_edge"] ** 2
        beside = (v["opening.stop"] - v["joint.bore_width"] / 2) * a
        want = {"web, sheared at both ends": 2 * web * 0.577, "end wall beside the bore": 2 * beside * 0.577, "two strands of wire": 2 * math.pi / 4 * v["joint.wire"] ** 2}
    else:
        cup = v["joint.pin"] / 2
        middle = v["joint.tube_length"] * (1 - 2 * v["joint.outer_share"]) - 2 * v["joint.side_gap"]
        path = min(4 * (v["joint.outer_share"] * v["joint.tube_length"] - cup), 2 * middle)
        want = {"knuckle, torn out": 0.577 * (v["joint.tube_outer"] - v["joint.tube_bore"]) / 2 * path}
    for name, section in want.items():
        for key, s in (("yields_n", y), ("breaks_n", u)):
            for k, f in enumerate((1 - SPREAD, 1 + SPREAD)):
                c.close(f"life {stem}: {name}, {key[:-2]} {f:.1f}", found[name][key][k], section * s * f, 2e-6, "N")
    weakest = min((e for e in life["strength"]["elements"] if e["in_line"]), key=lambda e: e["breaks_n"][0])
    c.check(f"life {stem}: the weakest is the weakest", weakest["element"] == life["strength"]["weakest"])
    low, high = weakest["breaks_n"]
    c.check(f"life {stem}: a range that straddles 50 N is open", life["strength"]["line"] == ("pass" if low >= 50 else "fail" if high < 50 else "unverified"))


def main(c):
    by_hand = {"line-4.0-platinum": (120, (300, 415), 5.1), "line-2.5-yellow": (150, (300, 520), 4.4), "line-3.0-silver-cushion": (71, (124, 207), 2.9)}
    for stem, (hv, strong, years) in by_hand.items():
        code, life, _ = asked("life", stem)
        report = json.loads(product.run("check", product.ROOT / "params" / f"{stem}.jsonc", "--format", "json").stdout)
        v = {x["path"]: x["value"] for x in report["values"]}
        wear(c, stem, v, life, hv)
        pulls(c, stem, v, life, strong)
        point = "middle knuckle" if "cushion" in stem else "web under the bore"
        usual = next(p for p in life["wear"]["points"] if p["point"] == point)
        c.close(f"life {stem}: worked by hand", usual["years"][1], years, 0.05, "years")
        c.check(f"life {stem}: exit code says whether all passes", code == int([life["strength"]["line"], life["strength"]["chain"]] != ["pass", "pass"]))
    _, life, _ = asked("life", "line-3.0-silver-cushion")
    bought = {b["path"]: b["elasticity"] for p in life["wear"]["points"] if p["point"] == "middle knuckle" for b in p["buys"]}
    # d ln((OD - bore)/4 x middle x ...)/d ln x, by hand: 1.20/0.70, -0.50/0.70, 2.10 x 0.4/0.76
    for path, want in (("joint.tube_outer", 1.2 / 0.7), ("joint.tube_bore", -0.5 / 0.7), ("joint.tube_length", 0.84 / 0.76)):
        c.close(f"life: what {path} buys", bought[path], want, 2e-4, "")
    code, p, _ = asked("passport", "line-4.0-platinum", "--delivered", "177.8", "--now", "179.1")
    e = p["entry"]
    c.check("passport: growth within two readings of a quarter", e["growth_mm"] == [0.8, 1.8] or max(abs(e["growth_mm"][0] - 0.8), abs(e["growth_mm"][1] - 1.8)) < 1e-9)
    c.close("passport: share of the web's half depth", e["worn"][1], 1.8 / (38 * 0.5 * loop({"collet.width": 4.1, "collet.foot_half_width": 1.72, "collet.height": 2.75, "collet.wall": 0.5})), 1e-9, "")
    for now, words in (("7.05", "20 to 1000"), ("150", "no length of this line"), ("175", "shorter")):
        r = product.run("passport", product.ROOT / "params" / "line-4.0-platinum.jsonc", "--delivered", "177.8", "--now", now)
        c.check(f"passport: {now} is told", r.returncode == 2 and words in r.stderr, r.stderr.strip()[:100])
    # compare: the table's row is what life, plan and check say of the file so changed
    r = product.run("compare", product.ROOT / "params" / "line-4.0-platinum.jsonc", "--vary", "collet.wall=0.45,0.50", "--vary", "joint.web_edge=0.18,0.20", "--format", "json")
    rows = json.loads(r.stdout)["designs"]
    c.check("compare: all four designs, in order", [x["values"] for x in rows] == [[0.45, 0.18], [0.45, 0.2], [0.5, 0.18], [0.5, 0.2]])
    import pathlib
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        text = (product.ROOT / "params" / "line-4.0-platinum.jsonc").read_text(encoding="utf-8").replace('"web_edge": 0.22', '"web_edge": 0.20').replace('"wall": 0.50', '"wall": 0.45')
        file = pathlib.Path(folder) / "line.jsonc"
        file.write_text(text, encoding="utf-8")
        life = json.loads(product.run("life", file, "--format", "json").stdout)
        plan = json.loads(product.run("plan", file, "--format", "json").stdout)
        report = json.loads(product.run("check", file, "--format", "json").stdout)
        c.close("compare: life", rows[1]["life_years"], life["wear"]["points"][0]["years"][1], 1e-9, "years")
        c.close("compare: metal", rows[1]["finished_g"], plan["metal"]["finished_g"], 1e-9, "g")
        margin = min(w["value_mm"] / w["limit_mm"] for w in report["walls"]["wear_points"])
        c.close("compare: least margin of a wall", rows[1]["wall_margin"], margin, 1e-6, "")
        c.check("compare: verdict", rows[1]["verdict"] == report["verdict"], f"{rows[1]['verdict']} {report['verdict']}")


if __name__ == "__main__":
    checks = Checks()
    main(checks)
    print(f"{checks.passed} passed, {checks.failed} failed")
