"""What a bench sheet says about one link: dimensions from the file's values, and the rules a goldsmith holds them against.

Written from the description of the link alone, so that the random files have an idea of sane that shares nothing with the product.
`v` is {path: number or word}, every number given. Millimetres, degrees. Limits: common practice and proposals, as described with the link.
"""
import math

# Round brilliant as fractions of its diameter: pavilion, girdle, crown, share of the crown on a finished claw.
PAVILION, GIRDLE, CROWN, BEAD = 0.43, 0.025, 0.145, 0.70
BETA = math.atan(2 * PAVILION)
LET_IN = 0.08
PROUD = 0.004  # a claw in a square corner stands out over the rim's edges by this, each way


class Nonsense(Exception):
    """No such part: a root of a negative number, a wall that is not there."""


def root(x):
    if x < 0:
        raise Nonsense("nothing there")
    return math.sqrt(x)


def part(x):
    """asin/acos of a ratio that a closed form may push just past 1."""
    if not -1 <= x <= 1:
        raise Nonsense("no angle")
    return x


def dims(v):
    """Derived dimensions, by the symbols of the description."""
    d = dict(shape=v["collet.shape"], joint=v["joint.kind"])
    D, W, H, R_b = v["stone.diameter"], v["collet.width"], v["collet.height"], v["collet.foot_half_width"]
    half = math.radians(v["seat.bur_angle"]) / 2
    ta = (W / 2 - R_b) / H
    t_h = v["collet.wall"] * math.sqrt(1 + ta * ta)
    r_s = W / 2 - v["seat.rim_land"]
    tb = math.tan(half)
    d.update(R=lambda z: R_b + z * ta, ta=ta, t_h=t_h, p=W + v["line.gap"], z_g=H + (D / 2 - r_s) / tb)
    d.update(z_s=(R_b - t_h - r_s + H * tb) / (tb - ta), z_c=d["z_g"] - PAVILION * D, z_fin=d["z_g"] + (GIRDLE + BEAD * CROWN) * D)
    d_c = v["claw.diameter"]
    d["r_c"] = math.sqrt(2) * (W / 2 - d_c / 2 + (0 if d["shape"] == "round" else PROUD))
    if d["joint"] == "wire_loop":
        d["z_p"] = v["joint.groove_depth"] + v["joint.web_height"] / 2
        d["z_b0"] = v["joint.groove_depth"] + v["joint.web_height"]
        d["z_b1"] = d["z_b0"] + v["joint.bore_height"]
        d["x_w"] = d["R"](d["z_p"]) - t_h / 2
        d["w_f"] = math.pi * v["joint.wire"] ** 2 / (4 * v["joint.wire_flat"])
    else:
        d["z_p"] = v["joint.tube_height"]
        d["r_p"] = v["joint.tube_outer"] / 2 + v["joint.pocket_clearance"]
        d["cup"] = max(1.6 * v["joint.pin"], v["joint.tube_bore"] + 0.20)
        d["face"] = v["collet.block_half_width"] if d["shape"] == "round" else d["R"](d["z_p"])
    if ta <= 0:
        raise Nonsense("no taper for the claws to stand on")
    d["rise"] = rise = (d["r_c"] - d_c / 2 + LET_IN - R_b) / ta
    # Never under the joint; beside a tube never under the neighbour's knuckles as they turn; in a corner 0.05 higher, 0.30 at least.
    clear = d["z_p"] if d["joint"] == "wire_loop" else d["z_p"] + d["r_p"]
    d["z_c0"] = max(rise, clear) if d["shape"] == "round" else max(rise, clear, d["z_p"] + 0.05, 0.30)
    return d


def pavilion(d, x, z):
    return x * math.sin(BETA) - (z - d["z_c"]) * math.cos(BETA)


def side(v, d, z):
    """End metal beside the opening at height z: from its side to the skin (round: where the floor of the opening meets it)."""
    r = d["R"](z)
    return (root(r * r - v["opening.stop"] ** 2) if d["shape"] == "round" else r) - v["opening.width"] / 2


def inward(v, d):
    """Inward turn of one joint, degrees: the least of web in loop, wire under the roof, foot against foot."""
    R_b, p = v["collet.foot_half_width"], d["p"]
    if d["joint"] == "hinge_tube":
        foot = v["collet.block_half_width"] if d["shape"] == "round" else R_b
        return math.degrees(2 * math.atan((p / 2 - foot) / d["z_p"]))
    a, r, h_web, h_b, d_w = d["t_h"], v["joint.web_edge"], v["joint.web_height"], v["joint.bore_height"], v["joint.wire"]
    h_in = v["joint.groove_depth"] - v["joint.wire_flat"] + h_web
    q = math.hypot(h_web - 2 * r, a - 2 * r)
    turns = [90.0]
    if q + 2 * r > h_in:
        if h_in - 2 * r > q or h_in < 2 * r:
            raise Nonsense("web does not go into the loop")
        turns.append(math.degrees(math.atan2(a - 2 * r, h_web - 2 * r) - math.acos(part((h_in - 2 * r) / q))))
    b, z1 = a - r - d["ta"] * (d["z_b1"] - d["z_p"]), h_b + r
    big = math.hypot(z1, b)
    turns.append(math.degrees(math.acos(part((d_w + r) / big)) - math.atan(b / z1)))
    # foot against foot: z sin t + k cos t = c
    k, c = R_b - d["x_w"], p - R_b - d["x_w"]
    if abs(c) < math.hypot(d["z_p"], k):
        turns.append(math.degrees(math.asin(c / math.hypot(d["z_p"], k)) - math.atan2(k, d["z_p"])))
    return min(turns)


def outward(v, d):
    g = v["line.gap"]
    if d["joint"] == "hinge_tube":
        return math.degrees(2 * math.atan(g / 2 / (d["z_fin"] - d["z_p"])))
    # Leaned back, the web with its dressed edges reaches farther towards the end of the wire and leaves less of the play.
    r = v["joint.web_edge"]
    h, w = d["z_fin"] - d["z_p"] + v["joint.web_height"] / 2 - r, v["collet.width"] / 2 - d["x_w"] + d["t_h"] / 2 - r
    c = g + v["joint.end_play"]
    # h sin t + w cos t = c + w
    return math.degrees(math.asin(part((c + w) / math.hypot(h, w))) - math.atan2(w, h))


def clasp_turn(v, d):
    n = v["line.count"]
    inner = n * (d["p"] - 2 * d["z_p"] * math.tan(math.pi / n))
    pivot = inner / 2 / math.pi + d["z_p"]
    return math.degrees(math.asin(part(v["clasp.count"] * d["p"] / 2 / pivot)) + math.asin(part(d["p"] / 2 / pivot)))


def ease(v, d):
    n = v["line.count"]
    return n * (d["p"] - 2 * d["z_p"] * math.tan(math.pi / n)) - v["wearer.wrist"]


def rules(v, d):
    """[(name, value, least or None, most or None, binding, parameters that could be named)]"""
    found, wire, rnd = [], d["joint"] == "wire_loop", d["shape"] == "round"

    def rule(name, value, least, most, binding, *parameters):
        found.append((name, value, least, most, binding, parameters))

    R, W, D, H = d["R"], v["collet.width"], v["stone.diameter"], v["collet.height"]
    z1, z2, stop, w_o = v["opening.bottom"], v["opening.top"], v["opening.stop"], v["opening.width"]
    setting = ("collet.height", "collet.width", "collet.foot_half_width", "seat.rim_land", "seat.bur_angle", "collet.wall")
    rule("skin", v["collet.wall"], 0.40, None, True, "collet.wall")
    rule("rim land", v["seat.rim_land"], 0.20, None, True, "seat.rim_land")
    rule("over opening", d["z_s"] - z2, 0.35, None, True, "opening.top", *setting)
    # Right through: the corners of the opening, too, lie outside the link, by 0.05.
    through = v["opening.width"] / 2 - v["opening.bur"] / 2 >= (root(R(z2) ** 2 - stop ** 2) if rnd else R(z2)) + 0.05 - 1e-12
    if through:
        rule("through to the claw", z1 - d["z_c0"], 0.0, None, True, "opening.bottom", "opening.width", "claw.diameter", "collet.foot_half_width")
    else:
        rule("end metal", side(v, d, z1), 0.40, None, True, "opening.width", "opening.stop", "opening.bottom", "collet.foot_half_width")
    rule("claw wire", v["claw.diameter"], 0.60, None, True, "claw.diameter")
    bite = (D / 2 - d["r_c"] + v["claw.diameter"] / 2) / v["claw.diameter"]
    rule("bite", bite, None, 0.50, True, "claw.diameter", "collet.width", "stone.diameter")
    rule("bite as usual", bite, 0.20, 0.40, False, "claw.diameter", "collet.width")
    rule("rail", z1, 0.60, None, True, "opening.bottom")
    rule("bur fits", z2 - z1 - v["opening.bur"], 0.0, None, True, "opening.bur", "opening.top", "opening.bottom")
    rule("claw foot", d["rise"] - d["z_p"], 0.0, None, wire and rnd, "collet.foot_half_width", "claw.diameter", "collet.width", "collet.height")
    rule("opening breaks in", R(z1) - d["t_h"] - stop, 0.05, None, True, "opening.stop", "opening.bottom", "collet.wall", "collet.foot_half_width")
    rule("gap", v["line.gap"], 0.08, None, True, "line.gap", "line.count")
    rule("gap as usual", v["line.gap"], None, 0.20, False, "line.gap")
    rule("wrist turn", inward(v, d), 360 / v["line.count"] + 3, None, True, "joint.bore_height", "joint.web_edge", "joint.groove_depth", "line.count", "line.gap", "collet.foot_half_width", "joint.tube_height", "collet.block_half_width")
    rule("turn at the clasp", inward(v, d), clasp_turn(v, d), None, False, "clasp.count")
    rule("back turn", outward(v, d), 0.01, 10.0, False, "line.gap")
    rule("culet", d["z_c"], 0.60, None, True, "collet.height", "stone.diameter", "seat.rim_land")
    rule("ease", ease(v, d), 10.0, 18.0, False, "line.count")
    rule("weight", v["stone.carat"] / (0.0061 * D ** 3 * 0.60 * 1.03), 0.85, 1.15, False, "stone.carat")
    rule("girdles", W + v["line.gap"] - D - v["stone.tolerance"], 0.05, None, True, "line.gap", "collet.width", "stone.tolerance", "stone.diameter")
    rule("stone is the stop", W - D - v["stone.tolerance"], 0.05, None, False, "collet.width")
    if rnd:
        rule("edge", math.degrees(math.acos(min(1.0, w_o / 2 / R(z1)))), 45.0, None, False, "opening.width")
    if wire:
        a, d_w, t_f, w_b, w_g = d["t_h"], v["joint.wire"], v["joint.wire_flat"], v["joint.bore_width"], v["joint.groove_width"]
        rule("web height", v["joint.web_height"], 0.50, None, True, "joint.web_height")
        rule("web depth", a, 0.40, None, True, "collet.wall")
        rule("crown", d["z_s"] - d["z_b1"], 0.30, None, True, "joint.bore_height", "joint.web_height", "joint.groove_depth", *setting)
        rule("beside bore", stop - w_b / 2, 0.30, None, True, "opening.stop", "joint.bore_width")
        rule("wire play", w_b - d_w, 0.04, 0.08, True, "joint.bore_width", "joint.wire")
        rule("leg in groove", w_g - d["w_f"], 0.05, None, True, "joint.groove_width", "joint.wire_flat", "joint.wire")
        rule("leg through bore", w_b - d["w_f"], 0.03, None, True, "joint.bore_width", "joint.wire_flat", "joint.wire")
        rule("flush", v["joint.groove_depth"] - t_f, 0.0, 0.05, False, "joint.groove_depth", "joint.wire_flat")
        rule("wire to stone", pavilion(d, R(d["z_p"]) - a - d_w, d["z_b0"] + d_w), 0.10, None, True, "collet.height", "joint.wire", "collet.foot_half_width")
        rule("loops", R(d["z_p"]) - a - d_w, 0.10, None, True, "joint.wire", "collet.wall", "collet.foot_half_width")
        rule("web edge", min(a, v["joint.web_height"]) / 2 - v["joint.web_edge"], 0.0, None, True, "joint.web_edge", "joint.web_height", "collet.wall")
        rule("bore round or drawn up", v["joint.bore_height"] - w_b, 0.0, None, True, "joint.bore_height", "joint.bore_width")
    else:
        p, r_p, z_h, od, bore, pin = d["p"], d["r_p"], d["z_p"], v["joint.tube_outer"], v["joint.tube_bore"], v["joint.pin"]
        light, share, row, fill = v["collet.light_hole"] / 2, v["joint.outer_share"], v["joint.tube_length"], v["collet.foot_fill"]
        pocket = ("joint.tube_outer", "joint.pocket_clearance", "collet.light_hole", "line.gap", "collet.width")
        rule("behind pocket", p / 2 - r_p - light, 0.35, None, True, *pocket)
        reach = r_p ** 2 - (p / 2 - w_o / 2) ** 2
        if reach > 0:
            rule("above pocket", z1 - z_h - math.sqrt(reach), 0.30, None, True, "opening.bottom", "opening.width", "joint.tube_height", *pocket)
        rule("pin in bore", bore - pin, 0.03, 0.08, True, "joint.tube_bore", "joint.pin")
        rule("tube wall", (od - bore) / 2, 0.30, None, True, "joint.tube_outer", "joint.tube_bore", "joint.pin")
        rule("recess rim", (od - d["cup"]) / 2, 0.20, None, True, "joint.pin", "joint.tube_outer", "joint.tube_bore")
        rule("behind the cup", share * row - pin / 2, 0.15, None, True, "joint.pin", "joint.outer_share", "joint.tube_length")
        rule("tube let in", od / 2 - (p / 2 - d["face"]), 0.15, None, True, "joint.tube_outer", "joint.tube_height", "collet.foot_half_width", "collet.block_half_width", "line.gap")
        corner = v["collet.corner_radius"]
        rule("row on the flat", 2 * (d["face"] - corner / 2) - row, 0.0, None, True, "joint.tube_length", "collet.corner_radius", "collet.foot_half_width", "collet.block_half_width", "collet.width")
        rule("axis over skin", z_h - od / 2, 0.0, None, True, "joint.tube_height", "joint.tube_outer")
        rule("pocket clearance", v["joint.pocket_clearance"], 0.04, 0.10, True, "joint.pocket_clearance")
        rule("side gap", v["joint.side_gap"], 0.03, 0.08, True, "joint.side_gap")
        rule("outer share", share, 0.25, 0.35, True, "joint.outer_share")
        rule("fill below opening", z1 - fill, 0.0, None, True, "collet.foot_fill", "opening.bottom")
        # Not in a table, but no bench would file it otherwise: stone clear of the fill, pocket closed above, light hole that passes light.
        rule("stone over fill", pavilion(d, light, fill), 0.10, None, True, "collet.foot_fill", "collet.height", "opening.bottom", "collet.light_hole")
        inner = R(fill) - d["t_h"]
        into = r_p ** 2 - max(0.0, p / 2 - inner) ** 2
        if into > 0:
            rule("fill over pocket", fill - z_h - math.sqrt(into), 0.20, None, True, "collet.foot_fill", "opening.bottom", *pocket)
        # No sliver between the end wall and the bore cut beside it.
        rule("bore to the end wall", abs(p / 2 - bore / 2 - d["face"]), 0.03, None, True, "joint.tube_bore", "collet.foot_half_width", "collet.block_half_width", "line.gap")
        if rnd:
            reach = r_p ** 2 - (p / 2 - d["face"]) ** 2
            rule("block over pocket", fill - z_h - math.sqrt(max(reach, 0.0)), 0.20, None, True, "collet.foot_fill", "opening.bottom", *pocket)
            over = d["z_c0"] - fill  # a slit between block and claw holds dirt and cannot be polished
            rule("slit under claws", abs(over) if over > 0 else 1.0, 0.05, None, True, "collet.foot_fill", "claw.diameter", "joint.tube_outer")
            rule("block over collet", d["face"] - R(fill), 0.0, None, True, "collet.block_half_width", "collet.foot_fill", "collet.foot_half_width")
            rule("block within setting", W / 2 - d["face"], 0.0, None, True, "collet.block_half_width", "collet.width")
    if not rnd:
        r_q, r_i = v["collet.corner_radius"], v["collet.inner_corner_radius"]
        i = 1 / math.sin((math.pi - math.acos(d["ta"] ** 2 / (1 + d["ta"] ** 2))) / 2)  # sin^2(alpha) = tan^2 / (1 + tan^2)
        rule("corner wall", v["collet.wall"] * i - (r_q - r_i) * (i - 1) - v["collet.wall"], 0.0, None, True, "collet.corner_radius", "collet.inner_corner_radius", "collet.wall")
        rule("corner", r_q / W, 0.10 if d["shape"] == "cushion" else None, 0.15 if d["shape"] == "square" else 0.25, True, "collet.corner_radius", "collet.width")
    # A part must be left: nothing of the collet may vanish.
    rule("inside", R(0) - d["t_h"], 0.05, None, True, "collet.foot_half_width", "collet.wall", "collet.width")
    rule("seat inside", d["t_h"] - v["seat.rim_land"], 0.0, None, True, "seat.rim_land", "collet.wall")
    rule("claw in the rim", d["z_s"] - d["z_c0"], 0.0, None, True, "collet.foot_half_width", "claw.diameter", "collet.height")
    return found, through


# Values this near a limit may be judged either way: rounding of a sum.
EVEN = 1e-9


# A bench would not file such slivers, yet some can be built: either verdict is right.
SLIVERS = {"bore to the end wall", "slit under claws"}


def judged(v):
    """({failing binding rule: parameters}, [binding rules exactly at a limit], through)."""
    found, through = rules(v, dims(v))
    bad, even = {}, []
    for name, value, least, most, binding, parameters in found:
        if not binding:
            continue
        room = min(([value - least] if least is not None else []) + ([most - value] if most is not None else []))
        if abs(room) <= EVEN or (room < 0 and name in SLIVERS):
            even.append(name)
        elif room < 0:
            bad[name] = parameters
    return bad, even, through
