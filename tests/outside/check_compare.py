"""`compare` row by row against what the other commands say of a file so changed: there is one truth, whichever verb is asked."""
import json
import pathlib
import tempfile

import product
from harness import Checks

EXAMPLE = product.ROOT / "params" / "line-4.0-platinum.jsonc"


def asked(verb, *args):
    return json.loads(product.run(verb, *args, "--format", "json").stdout)


def main(c):
    rows = asked("compare", EXAMPLE, "--vary", "collet.wall=0.45,0.50", "--vary", "joint.web_edge=0.18,0.20")["designs"]
    c.check("compare: all four designs, in order", [x["values"] for x in rows] == [[0.45, 0.18], [0.45, 0.2], [0.5, 0.18], [0.5, 0.2]])
    with tempfile.TemporaryDirectory() as folder:
        text = EXAMPLE.read_text(encoding="utf-8").replace('"web_edge": 0.22', '"web_edge": 0.20').replace('"wall": 0.50', '"wall": 0.45')
        file = pathlib.Path(folder) / "line.jsonc"
        file.write_text(text, encoding="utf-8")
        plan, report = asked("plan", file, "--estimate"), asked("check", file)
        c.close("compare: metal", rows[1]["finished_g"], plan["metal"]["finished_g"], 1e-9, "g")
        c.close("compare: ease", rows[1]["ease_mm"], plan["line"]["ease_mm"], 1e-9)
        margin = min(w["value_mm"] / w["limit_mm"] for w in report["walls"]["wear_points"])
        c.close("compare: least margin of a wall", rows[1]["wall_margin"], margin, 1e-6, "")
        c.check("compare: verdict", rows[1]["verdict"] == report["verdict"], f"{rows[1]['verdict']} {report['verdict']}")
        c.check("compare: how the clasp is weighed is said", all(x["clasp_by"] == "estimate" for x in rows))
        life = rows[1]["life_years"]
        c.check("compare: the life has its range", abs(rows[1]["life_range_years"][0] * 10 - life) < 1e-9 and abs(rows[1]["life_range_years"][1] / 10 - life) < 1e-6)
        exact = asked("compare", file, "--vary", "line.gap=0.10", "--exact")["designs"][0]
        whole = asked("plan", file)["metal"]["finished_g"]
        c.check("compare --exact: weighed as by plan", exact["clasp_by"] == "solids" and abs(exact["finished_g"] - whole) < 1e-9, f"{exact['finished_g']} {whole}")
        plot = pathlib.Path(folder) / "plot.svg"
        one, two = (product.run("compare", EXAMPLE, "--vary", "line.gap=0.10..0.14:0.02", "--plot", p) for p in (plot, plot))
        c.check("compare: the plot is drawn once and never over another", one.returncode == 0 and two.returncode == 3 and plot.read_text(encoding="utf-8").count("<circle") >= 9)
        c.check("compare: the plot shows the range of the life", "#e4e4e4" in plot.read_text(encoding="utf-8"))
        text = product.run("compare", EXAMPLE, "--vary", "line.gap=0.10", "--vary", "collet.wall=0.50").stdout
        c.check("compare: the table says what its numbers are, in 60 columns", all(w in text for w in ("by estimate", "closed form", "factor of ten")) and max(map(len, text.splitlines())) <= 60, text)
    for vary, words in (("collet.wal=1", "no parameter"), ("collet.shape=1", "no number"), ("collet.wall=0.7..0.4:0.1", "climb")):
        r = product.run("compare", EXAMPLE, "--vary", vary)
        c.check(f"compare: {vary} is told", r.returncode == 2 and words in r.stderr, r.stderr.strip()[:90])


if __name__ == "__main__":
    checks = Checks()
    main(checks)
    print(f"{checks.passed} passed, {checks.failed} failed")
