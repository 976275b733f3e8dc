"""The link written a second time, in OCCT, straight from the parameter file: round, square or cushion, wire loop or hinge tube.

It shares no line with the product: own reading of the file, own formulas from the description of the link (given.py). A wrong
dimension in either shows as a difference of volume, area, centre or box.

Frame: origin centre of the underside, x along the line, y across, z away from the skin. Millimetres, degrees.
"""
import json
import math
import sys

import occ
from given import GIRDLE, TABLE, Missing, dimensions, number, read_jsonc, strip_jsonc  # noqa: F401  the reader is part of this door

BEYOND = 1.0  # mm: how far a cutting tool runs past the metal it has to leave


def rounded(x0, x1, y0, y1, r):
    """Rectangle with rounded corners, counter-clockwise, as a prism profile; a side that the arcs use up is left out."""
    corners = [((x0 + r, y0), None), ((x1 - r, y0), ((x1 - r, y0 + r), True)), ((x1, y0 + r), None), ((x1, y1 - r), ((x1 - r, y1 - r), True)),
               ((x1 - r, y1), None), ((x0 + r, y1), ((x0 + r, y1 - r), True)), ((x0, y1 - r), None), ((x0, y0 + r), ((x0 + r, y0 + r), True))]
    return [c for i, c in enumerate(corners) if math.dist(c[0], corners[(i + 1) % 8][0]) > 1e-9]


def collet_wall(d, half, r, z0, z1):
    """Square collet solid of half width half(z) = half + z tan(alpha) from z0 to z1."""
    return occ.taper(half + z0 * d["tan_a"], d["tan_a"], r, z1 - z0, occ.Frame((0, 0, z0)))


def bar(x, z, r, y0, y1):
    """Round bar along y."""
    return occ.revolve([(0, y0), (r, y0), (r, y1), (0, y1)], occ.Frame((x, 0, z), (1, 0, 0), (0, 1, 0)))


def pocket(x, z, r, y0, y1):
    """Round over the axis, open below it, as a round file from below leaves it."""
    return occ.fuse(bar(x, z, r, y0, y1), box(2 * r, -BEYOND, z, (x, (y0 + y1) / 2), y1 - y0))


def body(d):
    """Collet with its seat; with a hinge tube the foot filled and, where the collet is round, standing on a block."""
    H, R_b, t_h, ta = d["H"], d["R_b"], d["t_h"], d["tan_a"]
    if d["shape"] == "round" and d["joint"] == "wire_loop":
        return occ.revolve([(R_b - t_h, 0), (R_b, 0), (d["W"] / 2, H), (d["r_s"], H), (d["r_si"], d["z_s"])])
    floor, over = d.get("h_fill", -BEYOND), H + BEYOND
    if d["shape"] == "round":
        outer = occ.revolve([(0, 0), (R_b, 0), (d["W"] / 2, H), (0, H)])
        inner = occ.revolve([(0, floor), (R_b - t_h + floor * ta, floor), (R_b - t_h + over * ta, over), (0, over)])
        outer = occ.fuse(outer, occ.prism(rounded(-d["block"], d["block"], -d["block"], d["block"], d["r_q"]), d["h_fill"]))
    else:
        outer = collet_wall(d, R_b, d["r_q"], 0, H)
        inner = collet_wall(d, R_b - t_h, d["r_qi"], floor, over)
    tb = math.tan(d["half_bur"])
    seat = occ.revolve([(0, H - d["r_s"] / tb), (d["r_s"] + BEYOND * tb, over), (0, over)])
    return occ.cut(outer, inner, seat)


def openings(d):
    r_o = min(d["bur_d"] / 2, (d["z2"] - d["z1"]) / 2, d["w_o"] / 2)
    for s in (1, -1):
        # sketch plane at |y| = y_s, extruded outwards; sketch x = s * -x keeps the frame right-handed, the profile is symmetric
        frame = occ.Frame((0, s * d["y_s"], 0), (-s, 0, 0), (0, s, 0))
        yield occ.prism(rounded(-d["w_o"] / 2, d["w_o"] / 2, d["z1"], d["z2"], r_o), d["W"], frame)


def setting(d):
    """Stone and seat bur in one turned tool: both cones pass through the circle (D/2, z_g), so together they are the one that
    starts lower, usually the bur (the pavilion then never shows in the claw)."""
    r, z_g = d["D"] / 2, d["z_g"]
    apex = min(z_g - r / math.tan(d["half_bur"]), d["z_c"])
    return occ.revolve([(0, apex), (r, z_g), (r, z_g + GIRDLE * d["D"]), (TABLE * r, d["z_t"]), (0, d["z_t"])])


def claws(d):
    c = d["r_c"] / math.sqrt(2)
    for sx in (1, -1):
        for sy in (1, -1):
            yield occ.revolve([(0, d["z_c0"]), (d["d_c"] / 2, d["z_c0"]), (d["d_c"] / 2, d["z_fin"]), (0, d["z_fin"])], occ.Frame((sx * c, sy * c, 0)))


def wire_joint(d):
    """(slots, grooves, webs)"""
    slots, grooves, webs = [], [], []
    inside = (d["R_b"] - d["t_h"]) / 2  # anywhere in the cavity will do: beyond the wall's inner face, short of the other end
    w_b, w_g, d_g, t_h, far = d["w_b"] / 2, d["w_g"] / 2, d["d_g"], d["t_h"], d["W"]
    axis = d["z_b1"] - w_b
    for s in d["ends"]:
        frame = occ.Frame((s * inside, 0, 0), (0, s, 0), (s, 0, 0))  # sketch (y, z), extruded along +-x
        slots.append(occ.prism([((-w_b, d_g), None), ((w_b, d_g), None), ((w_b, axis), ((0, axis), True)), ((-w_b, axis), None)], far, frame))
        grooves.append(occ.prism([((-w_g, -1), None), ((w_g, -1), None), ((w_g, d_g), None), ((-w_g, d_g), None)], far, frame))
        x0, x1 = sorted((s * (d["x_w"] - t_h / 2), s * (d["x_w"] + t_h / 2)))
        # sketch plane at y = +w_b/2 seen along -y: x right, z up, extruded towards -y
        webs.append(occ.prism(rounded(x0, x1, d_g, d["z_b0"], d["r_e"]), 2 * w_b, occ.Frame((0, w_b, 0), (1, 0, 0), (0, -1, 0))))
    return slots, grooves, webs


def tube_joint(d):
    """(pockets, knuckles, bores): outer pair at +x, middle at -x."""
    pockets, knuckles, bores = [], [], []
    y_b, c_k, half, z, r = d["y_b"], d["c_k"], d["l_h"] / 2, d["z_h"], d["OD"] / 2
    for s in d["ends"]:
        x = s * d["x_h"]
        # the outer pockets run out to the sides: no thin horn is left beside the neighbour's knuckles
        pair = [(y_b - c_k, d["W"]), (-d["W"], c_k - y_b)] if s < 0 else [(y_b, half), (-half, -y_b)]
        if s > 0:
            pockets.append(pocket(x, z, d["r_p"], -y_b, y_b))
            knuckles += [bar(x, z, r, *y) for y in pair]
        else:
            pockets += [pocket(x, z, d["r_p"], *y) for y in pair]
            knuckles.append(bar(x, z, r, c_k - y_b, y_b - c_k))
        bores.append(bar(x, z, d["bore"] / 2, -d["W"], d["W"]))  # a drill runs right through
    return pockets, knuckles, bores


def pieces(d):
    """The primitives, so that other checks can use them one by one."""
    names = ("slots", "grooves", "webs") if d["joint"] == "wire_loop" else ("pockets", "knuckles", "bores")
    joint = wire_joint(d) if d["joint"] == "wire_loop" else tube_joint(d)
    return dict(body=body(d), openings=list(openings(d)), tool=setting(d), claws=list(claws(d)), **dict(zip(names, joint)))


def build(d):
    """The finished link as one OCCT solid."""
    p = pieces(d)
    claws = [occ.cut(c, p["tool"]) for c in p["claws"]]
    if d["joint"] == "wire_loop":
        collet = occ.cut(p["body"], *p["openings"], *p["slots"], *p["grooves"])
        link = occ.fuse(collet, *p["webs"], *claws)
    else:
        light = [occ.revolve([(0, -BEYOND), (d["light"] / 2, -BEYOND), (d["light"] / 2, d["H"]), (0, d["H"])])] if d["light"] > 0 else []
        link = occ.fuse(occ.cut(p["body"], *p["openings"]), *claws)
        for what, tools in ((occ.cut, p["pockets"] + light), (occ.fuse, p["knuckles"]), (occ.cut, p["bores"])):
            link = what(link, *tools)
    return occ.mirrored(link) if d["kind"] == "mirrored" else link


def probes(d):
    """Lines through the link that each show named dimensions: (name, origin, direction, positions that must be among the hits).

    Positions are distances from the origin along the direction, by formula from the file, touching no solid.
    """
    mid_o, claw_out = (d["z1"] + d["z2"]) / 2, (d["r_c"] + d["d_c"] / 4) / math.sqrt(2)
    R, inside = lambda z: d["R_b"] + z * d["tan_a"], lambda z: d["R_b"] - d["t_h"] + z * d["tan_a"]
    turned = d["shape"] == "round"
    y_wall = R(mid_o) - d["t_h"] / 2
    # beside the opening, as near the middle as there is metal: further out a claw may stand in front
    y_side = max(d["y_s"], math.sqrt(max(inside(mid_o) ** 2 - d["w_o"] ** 2 / 4, 0)) if turned else inside(mid_o)) + 0.02
    z_band = (d["z2"] + d["z_s"]) / 2
    g, bead = d["z_g"] + GIRDLE * d["D"] / 2, d["r_c"] + d["d_c"] / 2
    found = [
        ("collet wall over the opening", (0, 0, z_band), (0, 1, 0), [R(z_band) - d["t_h"], R(z_band), -R(z_band)]),
        ("opening bottom and top", (0, y_wall, -1), (0, 0, 1), [1, 1 + d["z1"], 1 + d["z2"]]),
        ("rim height", (0, (d["r_s"] + d["W"] / 2) / 2, 9), (0, 0, -1), [9 - d["H"]]),
        ("seat", (0, (d["r_s"] + d["r_si"]) / 2, 9), (0, 0, -1), [9 - d["H"] + (d["r_s"] - d["r_si"]) / 2 / math.tan(d["half_bur"])]),
        ("claw bead height", (claw_out, claw_out, -1), (0, 0, 1), [1 + d["z_fin"]]),
        ("claw notch at the girdle and claw outside", (0, 0, g), (1 / math.sqrt(2), 1 / math.sqrt(2), 0), [d["D"] / 2, bead]),
    ]
    c = d["r_c"] / math.sqrt(2)
    if math.hypot(d["w_o"] / 2 - c, y_side - c) > d["d_c"] / 2:  # else a claw stands in front
        found.append(("opening width", (0, y_side, mid_o), (1, 0, 0), [-d["w_o"] / 2, d["w_o"] / 2]))

    def corner(half, r):
        """How far out on the diagonal a corner of the collet or of its block stands."""
        q = half - r * math.hypot(1, d["tan_a"])
        return math.sqrt(2) * q + r * math.sqrt(1 + 2 * d["tan_a"] ** 2)

    foot = d["z_c0"]
    if "block" in d and foot < d["h_fill"]:
        covered = math.sqrt(2) * (d["block"] - d["r_q"]) + d["r_q"]
    else:
        covered = R(foot) if turned else corner(R(foot), d["r_q"])
    if covered < math.sqrt(2) * claw_out:  # else the claw begins inside the metal
        found.append(("claw foot", (claw_out, claw_out, -1), (0, 0, 1), [1 + foot]))
    if not turned:
        low, high = d["z1"] / 16, (d.get("h_fill", 0) + d["z1"]) / 2
        found += [("corner outside", (0, 0, low), (1, 1, 0), [corner(R(low), d["r_q"])]), ("corner inside", (0, 0, high), (1, 1, 0), [corner(inside(high), d["r_qi"])])]
    x = d["w_o"] / 2 - 0.01
    if (math.hypot(x, d["y_s"]) if turned else max(x, d["y_s"])) > inside(mid_o):  # else the cavity has eaten the opening's floor
        found.append(("opening stop", (x, 0, mid_o), (0, 1, 0), [-d["y_s"], d["y_s"]]))
    found += wire_probes(d, R) if d["joint"] == "wire_loop" else tube_probes(d, inside)
    if d["kind"] == "mirrored":
        found = [(what, (-o[0], *o[1:]), (-v[0], *v[1:]), at) for what, o, v, at in found]
    return found


def wire_probes(d, R):
    s = d["ends"][0]
    foot = d["z1"] / 4
    return [
        ("web depth and place", (0, 0, d["z_w"]), (s, 0, 0), [d["x_w"] - d["t_h"] / 2, d["x_w"] + d["t_h"] / 2]),
        ("groove depth, web height, bore height", (s * d["x_w"], 0, -1), (0, 0, 1), [1 + d["d_g"], 1 + d["z_b0"], 1 + d["z_b1"]]),
        ("bore width", (s * (d["x_w"] + R(0)) / 2, 0, (d["z_b0"] + d["z_b1"] - d["w_b"] / 2) / 2), (0, 1, 0), [-d["w_b"] / 2, d["w_b"] / 2]),
        ("groove width", (s * (R(0) - d["t_h"] / 2), 0, d["d_g"] / 2), (0, 1, 0), [-d["w_g"] / 2, d["w_g"] / 2]),
        ("foot half width", (0, 0, foot), (0, 1, 0), [R(foot) - d["t_h"], R(foot)]),
    ]


def tube_probes(d, inside):
    z, r, bore, light, half, y_b, c_k = d["z_h"], d["OD"] / 2, d["bore"] / 2, d["light"] / 2, d["l_h"] / 2, d["y_b"], d["c_k"]
    y, wall = (y_b + half) / 2, d["x_h"] + (r + bore) / 2  # middle of an outer knuckle; middle of the tube's wall, away from the collet
    level, deep = d["h_fill"] / 2, d["x_h"] - d["r_p"]
    found = [
        ("foot fill", (0, (light + inside(d["h_fill"])) / 2, -1), (0, 0, 1), [1, 1 + d["h_fill"]]),
        ("light hole and foot half width", (0, 0, level), (0, 1, 0), [light, -light, d.get("block", d["R_b"] + level * d["tan_a"])]),
    ]
    for s in d["ends"]:
        at, heights = (y, (z - r, z - bore, z + bore, z + r)) if s > 0 else (0, (z - r, z - bore, z + bore, z + r))
        ends = (y_b, half) if s > 0 else (y_b - c_k,)
        name = "outer knuckles" if s > 0 else "middle knuckle"
        found += [
            (f"{name}: tube and bore", (s * d["x_h"], at, -1), (0, 0, 1), [1 + h for h in heights]),
            (f"{name}: ends", (s * wall, 0, z), (0, 1, 0), [k * e for k in (1, -1) for e in ends]),
            (f"{name}: how far out", (0, at, z), (s, 0, 0), [d["x_h"] - bore, d["x_h"] + bore, d["x_h"] + r]),
            (f"pocket beside the {name}", (0, 0 if s > 0 else y, z), (s, 0, 0), [deep]),
            (f"pocket beside the {name}: sides", (s * (deep + 0.03), 0, z), (0, 1, 0), [-y_b, y_b] if s > 0 else [y_b - c_k, c_k - y_b]),
        ]
    if "block" in d:
        diagonal = math.sqrt(2) * (d["block"] - d["r_q"]) + d["r_q"]
        found.append(("block corner", (0, 0, level), (1, 1, 0), [diagonal]))
    return found


def main():
    d = dimensions(read_jsonc(sys.argv[1]))
    import time

    t = time.time()
    s = build(d)
    t = time.time() - t
    print(json.dumps({k: round(v, 6) if isinstance(v, float) else v for k, v in d.items()}))
    print(f"build {t * 1e3:.0f} ms, problems {occ.problems(s)}")
    print(f"volume {occ.volume(s):.9f} area {occ.area(s):.9f} centre {occ.centre(s)} box {occ.bounds(s)}")
    print("faces", occ.count(s, occ.TopAbs_FACE), "unified", occ.count(occ.unify(s), occ.TopAbs_FACE))
    if len(sys.argv) > 2:
        occ.write_step(s, sys.argv[2])


if __name__ == "__main__":
    main()
