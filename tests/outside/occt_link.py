"""The round wire-loop link written a second time, in OCCT, straight from the parameter file.

It shares no line with the product: own reading of the file, own formulas from the description of the link. A wrong
dimension in either shows as a difference of volume, area, centre or box. Every dimension must be given in the file; a
missing one is an error here, since defaults are the product's business.

Frame: origin centre of the underside, x along the line, y across, z away from the skin. Millimetres, degrees.
"""
import json
import math
import re
import sys

import occ

# Round brilliant as a fraction of its diameter, and the share of the crown height left on a finished claw: the proportions
# the link is drawn to (common practice, no published source).
PAVILION, GIRDLE, CROWN, TABLE, BEAD = 0.43, 0.025, 0.145, 0.57, 0.70
LET_IN = 0.08  # how far the skin has risen into the claw wire at the claw's foot


def strip_jsonc(text):
    """Comments and trailing commas out, strings untouched."""
    out, i = [], 0
    while i < len(text):
        c = text[i]
        if c == '"':
            m = re.compile(r'"(?:\\.|[^"\\])*"').match(text, i)
            if not m:
                raise ValueError("string without end")
            out.append(m.group())
            i = m.end()
        elif text.startswith("//", i):
            end = text.find("\n", i)
            i = len(text) if end < 0 else end
        elif text.startswith("/*", i):
            end = text.find("*/", i)
            if end < 0:
                raise ValueError("comment without end")
            i = end + 2
        else:
            out.append(c)
            i += 1
    text, out, i = "".join(out), [], 0
    for m in re.finditer(r'"(?:\\.|[^"\\])*"|,(?=\s*[}\]])|.', text, re.S):
        if m.group() != ",":
            out.append(m.group())
        elif not re.match(r"\s*[}\]]", text[m.end():]):
            out.append(",")
    return "".join(out)


def read_jsonc(path):
    with open(path, encoding="utf-8-sig") as f:
        return json.loads(strip_jsonc(f.read()))


def number(value):
    """A number, or text with mm, in, ° or AWG (ASTM B258: d = 0.127 mm * 92^((36 - n) / 39))."""
    if isinstance(value, bool):
        raise ValueError("a length cannot be true or false")
    if isinstance(value, (int, float)):
        return float(value)
    m = re.fullmatch(r"\s*([-+0-9.eE]+)\s*(mm|in|inch|\"|°|deg|AWG|ct)?\s*", value)
    if not m:
        raise ValueError(f"not a length: {value!r}")
    n, unit = float(m.group(1)), m.group(2)
    if unit in ("in", "inch", '"'):
        return n * 25.4
    return 0.127 * 92 ** ((36 - n) / 39) if unit == "AWG" else n


class Missing(Exception):
    """The file leaves a dimension to a default, so this file cannot be built independently."""


def dimensions(params):
    def get(path):
        node = params
        for key in path.split("."):
            if not isinstance(node, dict) or key not in node:
                raise Missing(path)
            node = node[key]
        return number(node)

    kind = params.get("link", {}).get("kind", "line")
    if kind not in ("line", "plain_left", "plain_right"):
        raise ValueError(f"link.kind {kind!r}")
    D, W, H, R_b, t_n = get("stone.diameter"), get("collet.width"), get("collet.height"), get("collet.foot_half_width"), get("collet.wall")
    m, half_bur = get("seat.rim_land"), math.radians(get("seat.bur_angle")) / 2
    d_c = get("claw.diameter")
    tan_a = (W / 2 - R_b) / H
    t_h = t_n * math.sqrt(1 + tan_a * tan_a)
    r_s = W / 2 - m
    z_g = H + (D / 2 - W / 2 + m) / math.tan(half_bur)
    d_g, h_web, h_b = get("joint.groove_depth"), get("joint.web_height"), get("joint.bore_height")
    z_w = d_g + h_web / 2
    r_c = math.sqrt(2) * (W / 2 - d_c / 2)
    # seat cone r = r_s - (H - z) tan(bur/2) meets the inner cone r = R_b - t_h + z tan(alpha), solved exactly
    tb = math.tan(half_bur)
    z_s = (R_b - t_h - r_s + H * tb) / (tb - tan_a)
    return dict(
        kind=kind, D=D, W=W, H=H, R_b=R_b, t_n=t_n, t_h=t_h, tan_a=tan_a, m=m, half_bur=half_bur, r_s=r_s, z_g=z_g, z_s=z_s, r_si=R_b - t_h + z_s * tan_a,
        z_c=z_g - PAVILION * D, z_t=z_g + (GIRDLE + CROWN) * D, z_fin=z_g + GIRDLE * D + BEAD * CROWN * D,
        d_c=d_c, r_c=r_c, z_c0=max((r_c - d_c / 2 + LET_IN - R_b) / tan_a, z_w),
        w_o=get("opening.width"), z1=get("opening.bottom"), z2=get("opening.top"), y_s=get("opening.stop"), bur_d=get("opening.bur"),
        w_b=get("joint.bore_width"), h_b=h_b, d_g=d_g, w_g=get("joint.groove_width"), h_web=h_web, r_e=get("joint.web_edge"),
        z_w=z_w, z_b0=d_g + h_web, z_b1=d_g + h_web + h_b, x_w=R_b + z_w * tan_a - t_h / 2,
    )


def rounded(x0, x1, y0, y1, r):
    """Rectangle with rounded corners, counter-clockwise, as a prism profile; a side that the arcs use up is left out."""
    corners = [((x0 + r, y0), None), ((x1 - r, y0), ((x1 - r, y0 + r), True)), ((x1, y0 + r), None), ((x1, y1 - r), ((x1 - r, y1 - r), True)),
               ((x1 - r, y1), None), ((x0 + r, y1), ((x0 + r, y1 - r), True)), ((x0, y1 - r), None), ((x0, y0 + r), ((x0 + r, y0 + r), True))]
    return [c for i, c in enumerate(corners) if math.dist(c[0], corners[(i + 1) % 8][0]) > 1e-9]


def pieces(d):
    """The primitives, so that other checks can use them one by one."""
    g = lambda k: d[k]
    ends = [e for e, plain in ((1, "plain_right"), (-1, "plain_left")) if d["kind"] != plain]
    W, H, R_b, t_h, far = g("W"), g("H"), g("R_b"), g("t_h"), g("W")
    body = occ.revolve([(R_b - t_h, 0), (R_b, 0), (W / 2, H), (g("r_s"), H), (g("r_si"), g("z_s"))])
    openings = []
    r_o = min(g("bur_d") / 2, (g("z2") - g("z1")) / 2, g("w_o") / 2)
    for s in (1, -1):
        # sketch plane at |y| = y_s, extruded outwards; sketch x = s * -x keeps the frame right-handed, the profile is symmetric
        frame = occ.Frame((0, s * g("y_s"), 0), (-s, 0, 0), (0, s, 0))
        openings.append(occ.prism(rounded(-g("w_o") / 2, g("w_o") / 2, g("z1"), g("z2"), r_o), far, frame))
    slots, grooves, webs = [], [], []
    inside = (R_b - t_h) / 2  # anywhere in the cavity will do: beyond the wall's inner face, short of the other end
    w_b, w_g, d_g = g("w_b") / 2, g("w_g") / 2, g("d_g")
    axis = g("z_b1") - w_b
    for s in ends:
        frame = occ.Frame((s * inside, 0, 0), (0, s, 0), (s, 0, 0))  # sketch (y, z), extruded along +-x
        slots.append(occ.prism([((-w_b, d_g), None), ((w_b, d_g), None), ((w_b, axis), ((0, axis), True)), ((-w_b, axis), None)], far, frame))
        grooves.append(occ.prism([((-w_g, -1), None), ((w_g, -1), None), ((w_g, d_g), None), ((-w_g, d_g), None)], far, frame))
        x0, x1 = sorted((s * (g("x_w") - t_h / 2), s * (g("x_w") + t_h / 2)))
        # sketch plane at y = +w_b/2 seen along -y: x right, z up, extruded towards -y
        webs.append(occ.prism(rounded(x0, x1, d_g, g("z_b0"), g("r_e")), 2 * w_b, occ.Frame((0, w_b, 0), (1, 0, 0), (0, -1, 0))))
    # Stone and seat bur in one turned tool: both cones pass through the circle (D/2, z_g), so together they are the one that
    # starts lower, usually the bur (the pavilion then never shows in the claw).
    apex = min(g("z_g") - g("D") / 2 / math.tan(d["half_bur"]), g("z_c"))
    tool = occ.revolve([(0, apex), (g("D") / 2, g("z_g")), (g("D") / 2, g("z_g") + GIRDLE * g("D")), (TABLE * g("D") / 2, g("z_t")), (0, g("z_t"))])
    claws = []
    for sx in (1, -1):
        for sy in (1, -1):
            c = g("r_c") / math.sqrt(2)
            claws.append(occ.revolve([(0, g("z_c0")), (g("d_c") / 2, g("z_c0")), (g("d_c") / 2, g("z_fin")), (0, g("z_fin"))], occ.Frame((sx * c, sy * c, 0))))
    return dict(body=body, openings=openings, slots=slots, grooves=grooves, webs=webs, tool=tool, claws=claws)


def build(d):
    """The finished link as one OCCT solid."""
    p = pieces(d)
    collet = occ.cut(p["body"], *p["openings"], *p["slots"], *p["grooves"])
    claws = [occ.cut(c, p["tool"]) for c in p["claws"]]
    return occ.fuse(collet, *p["webs"], *claws)


def probes(d):
    """Lines through the link that each show named dimensions: (name, origin, direction, positions that must be among the hits).

    Positions are distances from the origin along the direction, by formula from the file, touching no solid.
    """
    right = d["kind"] != "plain_right"
    mid_o, claw_out = (d["z1"] + d["z2"]) / 2, (d["r_c"] + d["d_c"] / 4) / math.sqrt(2)
    R = lambda z: d["R_b"] + z * d["tan_a"]
    s = 1 if right else -1
    y_wall = R(mid_o) - d["t_h"] / 2
    # beside the opening, as near the middle as there is metal: further out a claw may stand in front
    y_side = max(d["y_s"], math.sqrt(max((R(mid_o) - d["t_h"]) ** 2 - d["w_o"] ** 2 / 4, 0))) + 0.02
    z_band = (d["z2"] + d["z_s"]) / 2
    g, bead = d["z_g"] + GIRDLE * d["D"] / 2, d["r_c"] + d["d_c"] / 2
    found = [
        ("web depth and place", (0, 0, d["z_w"]), (s, 0, 0), [d["x_w"] - d["t_h"] / 2, d["x_w"] + d["t_h"] / 2]),
        ("groove depth, web height, bore height", (s * d["x_w"], 0, -1), (0, 0, 1), [1 + d["d_g"], 1 + d["z_b0"], 1 + d["z_b1"]]),
        ("bore width", (s * (d["x_w"] + R(0)) / 2, 0, (d["z_b0"] + d["z_b1"] - d["w_b"] / 2) / 2), (0, 1, 0), [-d["w_b"] / 2, d["w_b"] / 2]),
        ("groove width", (s * (R(0) - d["t_h"] / 2), 0, d["d_g"] / 2), (0, 1, 0), [-d["w_g"] / 2, d["w_g"] / 2]),
        ("collet wall over the opening", (0, 0, z_band), (0, 1, 0), [R(z_band) - d["t_h"], R(z_band), -R(z_band)]),
        ("foot half width", (0, 0, d["z1"] / 4), (0, 1, 0), [R(d["z1"] / 4) - d["t_h"], R(d["z1"] / 4)]),
        ("opening bottom and top", (0, y_wall, -1), (0, 0, 1), [1, 1 + d["z1"], 1 + d["z2"]]),
        ("opening width", (0, y_side, mid_o), (1, 0, 0), [-d["w_o"] / 2, d["w_o"] / 2]),
        ("rim height", (0, (d["r_s"] + d["W"] / 2) / 2, 9), (0, 0, -1), [9 - d["H"]]),
        ("seat", (0, (d["r_s"] + d["r_si"]) / 2, 9), (0, 0, -1), [9 - d["H"] + (d["r_s"] - d["r_si"]) / 2 / math.tan(d["half_bur"])]),
        ("claw foot and bead height", (claw_out, claw_out, -1), (0, 0, 1), [1 + d["z_c0"], 1 + d["z_fin"]]),
        ("claw notch at the girdle and claw outside", (0, 0, g), (1 / math.sqrt(2), 1 / math.sqrt(2), 0), [d["D"] / 2, bead]),
    ]
    if math.hypot(d["w_o"] / 2 - 0.01, d["y_s"]) > R(mid_o) - d["t_h"]:  # else the cavity has eaten the opening's floor
        found.append(("opening stop", (d["w_o"] / 2 - 0.01, 0, mid_o), (0, 1, 0), [-d["y_s"], d["y_s"]]))
    return found


def main():
    d = dimensions(read_jsonc(sys.argv[1]))
    import time

    t = time.time()
    s = build(d)
    t = time.time() - t
    print(json.dumps({k: v if isinstance(v, str) else round(v, 6) for k, v in d.items()}))
    print(f"build {t * 1e3:.0f} ms, problems {occ.problems(s)}")
    print(f"volume {occ.volume(s):.9f} area {occ.area(s):.9f} centre {occ.centre(s)} box {occ.bounds(s)}")
    print("faces", occ.count(s, occ.TopAbs_FACE), "unified", occ.count(occ.unify(s), occ.TopAbs_FACE))
    if len(sys.argv) > 2:
        occ.write_step(s, sys.argv[2])


if __name__ == "__main__":
    main()
