"""Random parameter files with an idea of their own of what is sane.

  generate.py --seed 1 --count 3000 --out DIR

Nothing of the product is called or read. A file is laid out from the habits of the bench (the proportions below are common practice,
no published source), its derived dimensions come from given.py, and bench.py says what a goldsmith would say of it. Kinds of draw:
- sane: every value given, inside the habits;
- sparse: stone, metal, wrist, shape, joint and a few of the values; the rest is left to the product's defaults;
- edge: one measure of a sane file driven to its limit or within 1 % of it, every measure in turn from either side;
- touch: equal numbers and touching faces;
- over: one measure well past its limit;
- misplaced: a value of another joint or shape.
Beside NNNNN.jsonc, manifest.json says what each draw is, what is expected (accept, refuse, either), and which parameters may be
blamed if it is refused. Draw i depends on the seed and on i alone.
"""
import argparse
import copy
import json
import math
import pathlib
import random

import bench
import given

METALS = ("platinum950_ru", "gold750_yellow", "silver925")
COMBINATIONS = [(s, j, o) for s in given.SHAPES for j in given.JOINTS for o in ("small", "large", "through")]


def between(x, a, b, low, high):
    """Straight line through (a, low) and (b, high)."""
    return low + (high - low) * (x - a) / (b - a)


def half_chord(r, x):
    return math.sqrt(max(r * r - x * x, 0.0))


def r2(x):
    return round(x, 2)


def lay_out(rnd, shape, joint, opening):
    """A link as a bench would lay it out; every value given."""
    D = r2(rnd.choice([rnd.uniform(2.0, 5.5), rnd.choice((2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0))]))
    W, g = r2(D + rnd.choice((0.10, 0.10, 0.12))), r2(rnd.uniform(0.09, 0.18))
    wall, m = r2(between(D, 2.5, 4, 0.43, 0.50) + rnd.uniform(0, 0.03)), r2(between(D, 2.5, 4, 0.25, 0.30))
    v = {
        "metal": {"alloy": rnd.choice(METALS)},
        "stone": {"diameter": D, "tolerance": rnd.choice((0.03, 0.05)), "carat": round(0.0061 * D**3 * 0.60 * 1.03 * rnd.uniform(0.9, 1.1), 4)},
        "collet": {"shape": shape, "width": W, "wall": wall},
        "seat": {"rim_land": m, "bur_angle": rnd.choice((90, 90, 90, 88, 92))},
        "claw": {"diameter": r2(max(0.62, between(D, 2.5, 4, 0.66, 0.95))), "over": r2(rnd.uniform(0.3, 0.4))},
        "joint": {"kind": joint},
        "link": {"route": rnd.choice(("cast", "fabricated")), "kind": rnd.choice(("line",) * 5 + ("plain_left", "plain_right", "mirrored"))},
        "line": {"gap": g},
    }
    c, j, o = v["collet"], v["joint"], v.setdefault("opening", {})
    if shape != "round":
        c["corner_radius"] = r2(W * (rnd.uniform(0.085, 0.13) if shape == "square" else rnd.uniform(0.105, 0.15)))
        c["inner_corner_radius"] = r2(max(0.10, c["corner_radius"] - wall + rnd.choice((0, 0.03))))
    if joint == "wire_loop":
        wire = r2(max(0.34, 0.135 * W))
        flat = r2(0.77 * wire)
        leg = math.pi * wire * wire / 4 / flat
        j.update(wire=wire, wire_flat=flat, bore_width=r2(max(wire + 0.05, leg + 0.035)), end_play=0.02, groove_depth=r2(flat + rnd.choice((0.02, 0.03))),
                 groove_width=r2(leg + rnd.uniform(0.06, 0.10)), web_height=r2(max(0.53, 1.2 * wall)), web_edge=r2(0.44 * wall))
        j["bore_width"] = min(j["bore_width"], r2(wire + 0.075))
        j["bore_height"] = r2(1.25 * j["bore_width"] + rnd.uniform(0, 0.05))
        axis = j["groove_depth"] + j["web_height"] / 2
        z1, need = r2(rnd.uniform(0.72, 0.85)), j["groove_depth"] + j["web_height"] + j["bore_height"] + 0.62
    else:
        tube = r2(max(1.0, 0.37 * W)) if D < 4.2 else r2(rnd.uniform(1.25, 1.45))
        pin = r2(min((tube - 0.42) / 1.6, tube - 0.40 - 0.28, tube - 0.68))
        j.update(tube_outer=tube, pin=pin, tube_bore=r2(pin + 0.04), tube_length=r2(0.66 * W), tube_height=r2(tube / 2 + rnd.choice((0, 0.02, 0.04))),
                 pocket_clearance=0.06, side_gap=rnd.choice((0.04, 0.05)), outer_share=rnd.choice((0.30, 0.30, 0.32)))
        axis = j["tube_height"]
        v["trial"] = {"gap": 0.01, "bore_offset": 0.01}
        if shape == "round":
            c["corner_radius"] = r2(rnd.uniform(0.2, 0.3))
        z1, need = None, 0
    # The lowest collet, in steps of 0.05, that leaves room for everything.
    lean = math.tan(math.radians(rnd.uniform(5.0, 7.0)))
    H = 1.8
    while H < 5.5:
        H = r2(H + 0.05)
        c["height"], c["foot_half_width"] = H, r2(W / 2 - lean * H)
        inner = lambda z: c["foot_half_width"] + z * (W / 2 - c["foot_half_width"]) / H - wall * math.hypot(1, lean)  # noqa: E731
        if joint == "hinge_tube":
            r_p, p = j["tube_outer"] / 2 + j["pocket_clearance"], W + g
            # Fill high enough that the pocket leaves a wall's thickness behind its upper edge.
            keep = p / 2 - inner(axis + r_p) - 0.42
            c["foot_fill"] = r2(axis + half_chord(r_p, max(keep, 0.0)) + 0.03)
            if shape == "round":
                c["foot_fill"] = max(c["foot_fill"], r2(axis + r_p + rnd.uniform(0.21, 0.25)))
            c["light_hole"] = r2(min(p - 2 * r_p - 0.74, 2 * inner(c["foot_fill"]) - 0.3, 1.2))
            z1 = r2(c["foot_fill"] + 0.12)
            z1 = max(z1, r2(axis + r_p * (1.0 if opening == "through" else 0.6) + 0.35))
            if shape == "round":
                c["block_half_width"] = r2(min(W / 2, c["foot_half_width"] + c["foot_fill"] * (W / 2 - c["foot_half_width"]) / H + 0.06))
        o.update(width=0.6, bottom=z1, top=r2(z1 + 0.6), stop=0.5, bur=0.3)
        d = given.dimensions(v)
        if d["z_s"] < max(need, z1 + 1.12) or d["z_c"] < 0.68 or H - d["z_c0"] < 0.45:
            continue
        if joint == "wire_loop" and shape == "round" and (d["r_c"] - d["d_c"] / 2 + given.LET_IN - d["R_b"]) / d["tan_a"] < axis + 0.02:
            continue
        beta = math.atan(2 * given.PAVILION)
        under = lambda x, z: x * math.sin(beta) - (z - d["z_c"]) * math.cos(beta)  # noqa: E731
        if joint == "wire_loop":
            if under(inner(axis) - j["wire"], d["z_b0"] + j["wire"]) >= 0.15:
                break
        elif under(c["light_hole"] / 2, c["foot_fill"]) >= 0.15 and d["r_s"] - (H - c["foot_fill"]) * math.tan(d["half_bur"]) < c["light_hole"] / 2 - 0.06:
            break
    o["top"] = r2(d["z_s"] - rnd.uniform(0.42, 0.5))
    half = j["bore_width"] / 2 if joint == "wire_loop" else 0.2
    o["stop"] = r2(min(half + rnd.uniform(0.33, 0.45), inner(z1) - 0.12))
    if joint == "wire_loop":
        o["stop"] = max(o["stop"], r2(half + 0.33))
    if opening == "through":  # down to where the claws begin, so that they are what is left at its ends
        z1 = o["bottom"] = max(z1, r2(given.dimensions(v)["z_c0"] + rnd.choice((0.01, 0.05, 0.10))))
    R = lambda z: c["foot_half_width"] + z * d["tan_a"]  # noqa: E731
    reach = half_chord(R(z1), o["stop"]) if shape == "round" else R(z1)
    widest = 2 * (reach - 0.42)
    if shape == "round":
        widest = min(widest, 2 * R(z1) * math.cos(math.radians(47)))
    if joint == "hinge_tube":
        up = z1 - axis - 0.32
        if up < d["r_p"]:
            widest = min(widest, 2 * (d["p"] / 2 - half_chord(d["r_p"], max(up, 0.0))))
    if opening == "through":
        end = half_chord(R(o["top"]), o["stop"]) if shape == "round" else R(o["top"])
        o["bur"] = r2(rnd.choice((0.9, 0.6)) * (o["top"] - z1))
        o["width"] = r2(2 * end + o["bur"] + rnd.uniform(0.12, 0.25))  # the bur runs out at both ends
    else:
        o["width"] = r2(max(0.45, widest * (rnd.uniform(0.45, 0.6) if opening == "small" else rnd.uniform(0.9, 0.99))))
    room = min(o["width"], r2(o["top"] - z1))
    if opening != "through":
        o["bur"] = r2(rnd.choice((0.8, 0.6)) * room) if rnd.random() < 0.9 else room
    n = round((rnd.uniform(150, 190) + 13 + 2 * math.pi * axis) / (W + g))
    v["line"]["count"] = n
    inside = n * (W + g - 2 * axis * math.tan(math.pi / n))
    v["wearer"] = {"wrist": round(inside - rnd.uniform(11, 16), 1)}
    v["clasp"] = {"kind": "bought", "count": max(1, round(20 / (W + g)))}
    if joint == "hinge_tube" and rnd.random() < 0.15:
        j["tube_height"] = j["tube_outer"] / 2  # touches the plane of the skin
    if joint == "wire_loop" and rnd.random() < 0.10 and j["bore_width"] - leg >= 0.05:
        j["groove_width"] = j["bore_width"]  # equal floats: no ledge
    return v


def put(v, path, x):
    *groups, leaf = path.split(".")
    for group in groups:
        v = v[group]
    v[leaf] = round(x, 5)


def rounded_corner(x, z, r):
    """Distance of the axis from an opening that begins x beside and z over it, its corner rounded by r."""
    return math.hypot(max(0.0, x + r), z + r) - r


def measures(v):
    """Name of a measure: (value now, limit, 'least' or 'most', parameter that moves it)."""
    d = given.dimensions(v)
    o, j, s, c = v["opening"], v["joint"], v["stone"], v["collet"]
    R = lambda z: d["R_b"] + z * d["tan_a"]  # noqa: E731
    out = {
        "skin": (c["wall"], 0.40, "least", "collet.wall"),
        "land": (d["m"], 0.20, "least", "seat.rim_land"),
        "over opening": (d["z_s"] - o["top"], 0.35, "least", "opening.top"),
        "rail": (o["bottom"], 0.60, "least", "opening.bottom"),
        "claw": (d["d_c"], 0.60, "least", "claw.diameter"),
        "bite low": ((d["D"] / 2 - d["r_c"] + d["d_c"] / 2) / d["d_c"], 0.20, "least", "claw.diameter"),
        "bite high": ((d["D"] / 2 - d["r_c"] + d["d_c"] / 2) / d["d_c"], 0.40, "most", "claw.diameter"),
        "bite": ((d["D"] / 2 - d["r_c"] + d["d_c"] / 2) / d["d_c"], 0.50, "most", "claw.diameter"),
        "gap": (v["line"]["gap"], 0.08, "least", "line.gap"),
        "gap high": (v["line"]["gap"], 0.20, "most", "line.gap"),
        "culet": (d["z_c"], 0.60, "least", "collet.height"),
        "girdles": (d["W"] + v["line"]["gap"] - d["D"] - s["tolerance"], 0.05, "least", "stone.tolerance"),
        "inset": (d["W"] - d["D"] - s["tolerance"], 0.05, "least", "stone.tolerance"),
        "weight low": (s["carat"] / (0.0061 * d["D"] ** 3 * 0.618), 0.85, "least", "stone.carat"),
        "weight high": (s["carat"] / (0.0061 * d["D"] ** 3 * 0.618), 1.15, "most", "stone.carat"),
        "bur": (o["bur"] / (o["top"] - o["bottom"]), 1.0, "most", "opening.bur"),
    }
    ends = [(half_chord(R(z), d["y_s"]) if d["shape"] == "round" else R(z)) - d["w_o"] / 2 for z in (d["z1"], d["z2"])]
    out["end metal"] = (min(ends), 0.40, "least", "opening.width")
    if d["shape"] == "round":
        out["edge"] = (math.degrees(math.acos(min(1, d["w_o"] / 2 / R(d["z1"])))), 45, "least", "opening.width")
    else:
        out["corner high"] = (c["corner_radius"] / d["W"], 0.15 if d["shape"] == "square" else 0.25, "most", "collet.corner_radius")
        if d["shape"] == "cushion":
            out["corner low"] = (c["corner_radius"] / d["W"], 0.10, "least", "collet.corner_radius")
        sin2 = math.sin(math.atan(d["tan_a"])) ** 2
        i = 1 / math.sqrt((1 + sin2) / 2)
        out["corner wall"] = ((d["t_n"] * i - (c["corner_radius"] - c["inner_corner_radius"]) * (i - 1)) / d["t_n"], 1.0, "least", "collet.corner_radius")
    if d["w_o"] > d["W"]:  # runs out at both ends
        out["through to the claw"] = (d["z1"] - d["z_c0"], 0.0, "least", "opening.bottom")
    if d["joint"] == "wire_loop":
        leg = math.pi * j["wire"] ** 2 / 4 / j["wire_flat"]
        axis, a, r = d["z_w"], d["t_h"], d.get("r_e", j["web_edge"])
        out.update({
            "web height": (j["web_height"], 0.50, "least", "joint.web_height"),
            "crown": (d["z_s"] - d["z_b1"], 0.30, "least", "joint.bore_height"),
            "beside bore": (d["y_s"] - j["bore_width"] / 2, 0.30, "least", "opening.stop"),
            "wire play low": (j["bore_width"] - j["wire"], 0.04, "least", "joint.bore_width"),
            "wire play high": (j["bore_width"] - j["wire"], 0.08, "most", "joint.bore_width"),
            "leg in groove": (j["groove_width"] - leg, 0.05, "least", "joint.groove_width"),
            "leg through bore": (j["bore_width"] - leg, 0.03, "least", "joint.wire_flat"),
            "flush": (j["groove_depth"] - j["wire_flat"], 0.05, "most", "joint.groove_depth"),
            "claw foot": ((d["r_c"] - d["d_c"] / 2 + given.LET_IN - d["R_b"]) / d["tan_a"] / axis, 1.0, "least", "collet.foot_half_width"),
            "flush low": (j["groove_depth"] - j["wire_flat"], 0.0, "least", "joint.groove_depth"),
            "depth": (a, 0.40, "least", "collet.wall"),
            "loops": (R(axis) - a - j["wire"], 0.10, "least", "joint.wire"),
        })
        beta = math.atan(2 * given.PAVILION)
        x, z = R(axis) - a - j["wire"], d["z_b0"] + j["wire"]
        out["stone wire"] = (x * math.sin(beta) - (z - d["z_c"]) * math.cos(beta), 0.10, "least", "collet.height")
        h_in, b = j["groove_depth"] - j["wire_flat"] + j["web_height"], math.hypot(j["web_height"] - 2 * r, a - 2 * r)
        web = 90.0 if b + 2 * r <= h_in else math.degrees(math.atan2(a - 2 * r, j["web_height"] - 2 * r) - math.acos(min(1, (h_in - 2 * r) / b)))
        B, A = a - r - d["tan_a"] * (d["z_b1"] - axis), j["bore_height"] + r
        roof = math.degrees(math.acos(min(1, (j["wire"] + r) / math.hypot(A, B))) - math.atan2(B, A))
        out["turn"] = (min(web, roof) / (360 / v["line"]["count"] + 3), 1.0, "least", "joint.bore_height")
        sheet = bench.dims(flat(v))
        out["turn at the clasp"] = (min(web, roof) / bench.clasp_turn(flat(v), sheet), 1.0, "least", "joint.bore_height")
        out["back turn"] = (bench.outward(flat(v), sheet), 10.0, "most", "line.gap")
        out["turn web"] = (min(web, roof) / (360 / v["line"]["count"] + 3), 1.0, "least", "joint.web_edge")
    else:
        p, z, bead = d["p"], d["z_h"], max(1.6 * j["pin"], d["bore"] + 0.20)
        wall_at = lambda h: c.get("block_half_width", R(h)) if d["shape"] == "round" else R(h)  # noqa: E731
        out.update({
            "tube wall": ((d["OD"] - d["bore"]) / 2, 0.30, "least", "joint.tube_bore"),
            "pin play low": (d["bore"] - j["pin"], 0.03, "least", "joint.pin"),
            "pin play high": (d["bore"] - j["pin"], 0.08, "most", "joint.pin"),
            "rim": ((d["OD"] - bead) / 2, 0.20, "least", "joint.tube_outer"),
            "behind bead": (j["outer_share"] * d["l_h"] - j["pin"] / 2, 0.15, "least", "joint.tube_length"),
            "let in": (d["OD"] / 2 - (p / 2 - wall_at(z)), 0.15, "least", "collet.block_half_width" if d["shape"] == "round" else "collet.foot_half_width"),
            "behind pocket": (p / 2 - d["r_p"] - d["light"] / 2, 0.35, "least", "collet.light_hole"),
            "clearance": (j["pocket_clearance"], 0.04, "least", "joint.pocket_clearance"),
            "clearance high": (j["pocket_clearance"], 0.10, "most", "joint.pocket_clearance"),
            "side gap": (j["side_gap"], 0.03, "least", "joint.side_gap"),
            "side gap high": (j["side_gap"], 0.08, "most", "joint.side_gap"),
            "turn": (2 * math.degrees(math.atan((p / 2 - wall_at(0)) / z)) / (360 / v["line"]["count"] + 3), 1.0, "least",
                     "collet.block_half_width" if d["shape"] == "round" else "collet.foot_half_width"),
            "row on the flat": (d["l_h"] / 2 / (wall_at(z) - c["corner_radius"] / 2), 1.0, "most", "joint.tube_length"),
            "block over pocket": (d["h_fill"] - z - half_chord(d["r_p"], p / 2 - c.get("block_half_width", 0)) if d["shape"] == "round" else 1.0, 0.20, "least", "collet.foot_fill"),
            "stone over fill": (bench.pavilion(bench.dims(flat(v)), d["light"] / 2, d["h_fill"]), 0.10, "least", "collet.height"),
            "fill over pocket": (d["h_fill"] - z - half_chord(d["r_p"], max(0.0, p / 2 - R(d["h_fill"]) + d["t_h"])), 0.20, "least", "collet.foot_fill"),
            "back turn": (bench.outward(flat(v), bench.dims(flat(v))), 10.0, "most", "line.gap"),
            "over pocket": (rounded_corner(p / 2 - d["w_o"] / 2, d["z1"] - z, o["bur"] / 2) - d["r_p"], 0.30, "least", "opening.width"),
            "beside pocket": (math.hypot(p / 2 - R(d["h_fill"]) + d["t_h"], d["h_fill"] - z) - d["r_p"], 0.20, "least", "collet.foot_fill"),
        })
    z_p = d["z_p"]
    n = v["line"]["count"]
    ease = n * (d["W"] + v["line"]["gap"] - 2 * z_p * math.tan(math.pi / n)) - v["wearer"]["wrist"]
    out["ease low"] = (ease, 10, "least", "wearer.wrist")
    out["ease high"] = (ease, 18, "most", "wearer.wrist")
    return out


# Parameters that are first made smaller: a rounder edge than the web has room for is no edge.
DOWNWARDS = {"joint.web_edge"}


def drive(v, name, share):
    """The file with one measure brought to `share` of its limit by the parameter that moves it; None where it cannot be."""
    _, limit, _, path = measures(v)[name]
    want = limit * share if limit else (share - 1) * 0.1  # nearness to nothing counts in tenths of a millimetre
    group, leaf = path.split(".")
    now = v[group][leaf]
    value = lambda x: (put(w := copy.deepcopy(v), path, x), measures(w)[name][0])[1] - want  # noqa: E731
    # Outwards from where it is, until the wanted value lies between two places; then by halves.
    step = max(abs(now) * 0.01, 0.002)
    for sign in (-1, 1) if path in DOWNWARDS else (1, -1):
        a, fa = now, value(now)
        for k in range(1, 120):
            b = now + sign * step * k
            if b <= 0:
                break
            try:
                fb = value(b)
            except (ValueError, ZeroDivisionError, bench.Nonsense):
                break
            if fa * fb <= 0:
                for _ in range(60):
                    m = (a + b) / 2
                    a, b, fa = (m, b, value(m)) if fa * value(m) > 0 else (a, m, fa)
                out = copy.deepcopy(v)
                put(out, path, (a + b) / 2)
                return out
            a, fa = b, fb
    return None


def sparse(rnd, v):
    """Only what must be given, the two choices, and a few of the values."""
    out = {"metal": v["metal"], "stone": {"diameter": v["stone"]["diameter"]}, "wearer": v["wearer"], "collet": {"shape": v["collet"]["shape"]},
           "joint": {"kind": v["joint"]["kind"]}, "link": v["link"]}
    free = [("collet", "wall"), ("seat", "rim_land"), ("claw", "diameter"), ("claw", "over"), ("stone", "tolerance"), ("seat", "bur_angle")]
    for group, leaf in rnd.sample(free, rnd.randint(0, 3)):
        out.setdefault(group, {})[leaf] = v[group][leaf]
    return out


def gauge(x):
    """The American wire gauge nearest to x mm (ASTM B258)."""
    return round(36 - 39 * math.log(x / 0.127) / math.log(92))


def as_written(rnd, v):
    """Some lengths as text with a unit or a gauge, as a bench writes them."""
    out = copy.deepcopy(v)
    for group, leaf in (("collet", "height"), ("claw", "diameter"), ("opening", "width"), ("joint", "groove_depth"), ("joint", "tube_outer")):
        x = out.get(group, {}).get(leaf)
        if x is not None and rnd.random() < 0.1:
            out[group][leaf] = f"{x} mm" if rnd.random() < 0.7 else f"{x / 25.4:.7f} in"
    if "diameter" in out.get("claw", {}) and rnd.random() < 0.05:
        out["claw"]["diameter"] = f"{gauge(v['claw']['diameter'])} AWG"
    return out


def flat(v):
    words = ("alloy", "shape", "kind", "route")
    return {f"{g}.{k}": x if k in words else given.number(x) for g, group in v.items() for k, x in group.items()}


# Limits that compare two numbers of the file as they stand: equal is allowed, and no sum rounds them apart.
PLAIN = {"axis over skin", "bore round or drawn up", "block within setting"}


def opinion(v):
    """('accept' | 'refuse' | 'either', parameters to blame, rules broken) by the bench sheet."""
    try:
        bad, even, _ = bench.judged(flat(v))
    except (bench.Nonsense, ZeroDivisionError) as e:
        return "refuse", [], [str(e)]
    if bad:
        return "refuse", sorted({p for ps in bad.values() for p in ps}), sorted(bad)
    return ("either" if set(even) - PLAIN else "accept"), [], even


def touched(rnd, v):
    """Equal numbers and touching faces: (name, file)."""
    w, d = copy.deepcopy(v), given.dimensions(v)
    c, j, o = w["collet"], w["joint"], w["opening"]
    ways = {
        "opening as high as its bur": lambda: o.update(bur=r2(o["top"] - o["bottom"])),
        "opening beside the claws": lambda: o.update(width=round(d["W"] - 2 * d["d_c"], 4)),
        "opening to the claws' axes": lambda: o.update(width=round(d["W"] - d["d_c"], 4)),
        "setting as wide as its stone": lambda: (c.update(width=v["stone"]["diameter"]), w["line"].update(gap=0.15)),
        "opening from the claws' feet": lambda: o.update(bottom=round(d["z_c0"], 4)),
        "claws along the seat": lambda: w["claw"].update(diameter=round((0.2071067811865475 * d["W"] + d["m"]) / 1.2071067811865475, 4)),
    }
    if d["shape"] != "round":
        ways["inner corner as outer"] = lambda: c.update(inner_corner_radius=c["corner_radius"])
        ways["corners about one axis"] = lambda: c.update(inner_corner_radius=max(0.10, round(c["corner_radius"] - d["t_n"], 5)))
    if d["joint"] == "wire_loop":
        ways |= {
            "groove as wide as the bore": lambda: j.update(groove_width=j["bore_width"]),
            "round bore": lambda: j.update(bore_height=j["bore_width"]),
            "half round web": lambda: j.update(web_edge=j["web_height"] / 2),
            "flush leg": lambda: j.update(groove_depth=j["wire_flat"]),
            "opening level with the web": lambda: o.update(bottom=round(d["z_b0"], 4)),
            "opening level with the bore": lambda: o.update(bottom=round(d["z_b1"], 4)),
        }
    else:
        ways |= {
            "tube on the skin": lambda: j.update(tube_height=j["tube_outer"] / 2),
            "fill level with the tube": lambda: c.update(foot_fill=round(d["z_h"] + d["OD"] / 2, 4)),
            "fill level with the pocket": lambda: c.update(foot_fill=round(d["z_h"] + d["r_p"], 4)),
            "light hole as the bore": lambda: c.update(light_hole=j["tube_bore"]),
            "opening beside the pocket": lambda: o.update(width=round(d["p"] - 2 * d["r_p"], 4)),
            "row to the stop": lambda: o.update(stop=round(d["l_h"] / 2, 4)),
        }
        if d["shape"] == "round":
            ways |= {
                "block as wide as the setting": lambda: c.update(block_half_width=d["W"] / 2),
                "block touching the collet": lambda: c.update(block_half_width=round(d["R_b"] + d["h_fill"] * d["tan_a"], 5)),
            }
    name = rnd.choice(sorted(ways))
    ways[name]()
    return name, w


# A parameter of the other joint or shape, which takes no part and therefore has no business in the file.
OUT_OF_PLACE = {
    "wire_loop": (("joint.tube_outer", 1.2), ("joint.pin", 0.4), ("collet.foot_fill", 0.9), ("collet.light_hole", 0.8), ("joint.side_gap", 0.04)),
    "hinge_tube": (("joint.bore_width", 0.6), ("joint.bore_height", 0.75), ("joint.wire", 0.5), ("joint.web_edge", 0.2), ("joint.groove_width", 0.6)),
}


def misplaced(rnd, v):
    joint, shape = v["joint"]["kind"], v["collet"]["shape"]
    choices = list(OUT_OF_PLACE[joint])
    if shape == "round":
        choices.append(("collet.inner_corner_radius", 0.15))
        if joint == "wire_loop":
            choices += [("collet.corner_radius", 0.3), ("collet.block_half_width", 1.5)]
    else:
        choices.append(("collet.block_half_width", 1.5))
    path, x = rnd.choice(choices)
    out = copy.deepcopy(v)
    put(out, path, x)
    return path, out


# How many of each kind in 25 draws of one combination.
KINDS = ["sane"] * 10 + ["edge"] * 8 + ["touch"] * 2 + ["sparse"] * 2 + ["over"] * 2 + ["misplaced"]
TRIES = 90  # sheets begun for one draw; the bench sheet turns down up to half of them


# Steps between the measures that two neighbouring combinations begin with; shares no factor with their number.
STRIDE = 7


def drawn(rnd, kind, shape, joint, opening, turn):
    """(note, file) or None where this sheet did not come out as meant. `turn` counts the edge draws and the tries."""
    v = lay_out(rnd, shape, joint, opening)
    if opinion(v)[0] == "refuse":
        return None
    if kind == "sparse":
        return {"expect": "accept"}, as_written(rnd, sparse(rnd, v))
    if kind == "misplaced":
        path, w = misplaced(rnd, v)
        return {"expect": "refuse", "blame": [path], "broken": ["takes no part"]}, w
    note = {}
    if kind == "touch":
        note["touch"], v = touched(rnd, v)
    elif kind in ("edge", "over"):
        names = sorted(measures(v))
        name = rnd.choice(names) if kind == "over" else names[turn // 2 % len(names)]
        _, limit, side, _ = measures(v)[name]
        beyond = -1 if side == "least" else 1
        near = rnd.choice((1e-9, *[rnd.uniform(0.0005, 0.009)] * 3))
        share = 1 + (beyond * rnd.uniform(0.05, 0.4) if kind == "over" else (-1, 1)[turn % 2] * near)
        note |= {"measure": name, "limit": limit, "share": share}
        try:
            v = drive(v, name, share)
        except (ValueError, ZeroDivisionError, bench.Nonsense):  # on the way there was no such link
            return None
        if v is None:
            return None
    w = as_written(rnd, v)
    expect, blame, broken = opinion(w)
    if kind == "sane" and (expect == "refuse" or set(broken) & bench.SLIVERS):
        return None
    return note | {"expect": expect, "blame": blame, "broken": broken}, w


def draws(seed, count):
    for i in range(count):
        rnd = random.Random(f"{seed}/{i}")
        shape, joint, opening = COMBINATIONS[i % len(COMBINATIONS)]
        turn = i // len(COMBINATIONS)
        kind = KINDS[(7 * turn + 3 * (i % len(COMBINATIONS))) % len(KINDS)]  # 7 shares no factor with 25: every combination has the same mix
        if kind == "sparse" and opening != "large":
            kind = "sane"  # the product chooses the opening there
        before = sum(KINDS[(7 * t + 3 * (i % len(COMBINATIONS))) % len(KINDS)] == "edge" for t in range(turn))
        for k in range(TRIES):
            # One measure from both sides in turn; where it cannot be driven there, the next.
            if made := drawn(rnd, kind, shape, joint, opening, before + 2 * (k // 3) + 2 * STRIDE * (i % len(COMBINATIONS))):
                break
        else:
            raise RuntimeError(f"draw {i}: no {kind} sheet for {shape} {joint} {opening}")
        note, v = made
        yield i, {"shape": shape, "joint": joint, "opening": opening, "kind": kind} | note, json.dumps(v, indent=1)


def write(seed, count, out):
    out = pathlib.Path(out)
    out.mkdir(parents=True, exist_ok=True)
    manifest = []
    for i, note, text in draws(seed, count):
        (out / f"{i:05}.jsonc").write_text(text + "\n", encoding="utf-8")
        manifest.append(note | {"file": f"{i:05}.jsonc"})
    (out / "manifest.json").write_text(json.dumps(manifest, indent=1) + "\n", encoding="utf-8")
    return manifest


if __name__ == "__main__":
    a = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    a.add_argument("--seed", type=int, default=1)
    a.add_argument("--count", type=int, default=3000)
    a.add_argument("--out", required=True)
    args = a.parse_args()
    print(len(write(args.seed, args.count, args.out)), "files in", args.out)
