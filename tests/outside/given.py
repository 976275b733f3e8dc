"""A parameter file read a second time: its dimensions, and those that follow from them by the description of the link.

It shares no line with the product. Every dimension must be given in the file; a missing one is an error here, since defaults are
the product's business. Frame: origin centre of the underside, x along the line, y across, z away from the skin. Millimetres, degrees.
"""
import json
import math
import re

# Round brilliant as a fraction of its diameter, and the share of the crown height left on a finished claw: the proportions
# the link is drawn to (common practice, no published source).
PAVILION, GIRDLE, CROWN, TABLE, BEAD = 0.43, 0.025, 0.145, 0.57, 0.70
LET_IN = 0.08  # how far the skin has risen into the claw wire at the claw's foot
PROUD = 0.004  # how far a claw in a square corner stands out over the rim's two edges, each way
CLAW_FOOT, OVER_AXIS = 0.30, 0.05  # a claw in a corner starts no lower than this over the skin, and over the joint's axis


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


KINDS = ("line", "plain_left", "plain_right", "mirrored")
SHAPES = ("round", "square", "cushion")
JOINTS = ("wire_loop", "hinge_tube")


def word(params, group, key, default, known):
    value = params.get(group, {}).get(key, default).replace("-", "_")
    if value not in known:
        raise ValueError(f"{group}.{key} {value!r}")
    return value


def dimensions(params):
    def get(path):
        node = params
        for key in path.split("."):
            if not isinstance(node, dict) or key not in node:
                raise Missing(path)
            node = node[key]
        return number(node)

    kind, shape, joint = word(params, "link", "kind", "line", KINDS), word(params, "collet", "shape", "round", SHAPES), word(params, "joint", "kind", "wire_loop", JOINTS)
    D, W, H, R_b, t_n = get("stone.diameter"), get("collet.width"), get("collet.height"), get("collet.foot_half_width"), get("collet.wall")
    m, half_bur = get("seat.rim_land"), math.radians(get("seat.bur_angle")) / 2
    d_c = get("claw.diameter")
    tan_a = (W / 2 - R_b) / H
    t_h = t_n * math.sqrt(1 + tan_a * tan_a)
    r_s = W / 2 - m
    z_g = H + (D / 2 - W / 2 + m) / math.tan(half_bur)
    r_c = math.sqrt(2) * (W / 2 - d_c / 2 + (0 if shape == "round" else PROUD))
    # seat cone r = r_s - (H - z) tan(bur/2) meets the inner wall (half width R_b - t_h + z tan(alpha)), solved exactly
    tb = math.tan(half_bur)
    z_s = (R_b - t_h - r_s + H * tb) / (tb - tan_a)
    # which ends have the joint: the link mirrored in x = 0 has the outer pair of knuckles at -x
    ends = [e for e, plain in ((1, "plain_right"), (-1, "plain_left")) if kind != plain]
    d = dict(
        kind=kind, shape=shape, joint=joint, ends=ends, D=D, W=W, H=H, R_b=R_b, t_n=t_n, t_h=t_h, tan_a=tan_a, m=m, half_bur=half_bur, r_s=r_s, z_g=z_g, z_s=z_s,
        r_si=R_b - t_h + z_s * tan_a, z_c=z_g - PAVILION * D, z_t=z_g + (GIRDLE + CROWN) * D, z_fin=z_g + GIRDLE * D + BEAD * CROWN * D, d_c=d_c, r_c=r_c,
        w_o=get("opening.width"), z1=get("opening.bottom"), z2=get("opening.top"), y_s=get("opening.stop"), bur_d=get("opening.bur"),
    )
    if shape != "round":
        d.update(r_q=get("collet.corner_radius"), r_qi=get("collet.inner_corner_radius"))
    lowest = (r_c - d_c / 2 + LET_IN - R_b) / tan_a
    if joint == "wire_loop":
        d_g, h_web, h_b = get("joint.groove_depth"), get("joint.web_height"), get("joint.bore_height")
        z_p = d_g + h_web / 2
        d.update(w_b=get("joint.bore_width"), h_b=h_b, d_g=d_g, w_g=get("joint.groove_width"), h_web=h_web, r_e=get("joint.web_edge"),
                 z_w=z_p, z_b0=d_g + h_web, z_b1=d_g + h_web + h_b, x_w=R_b + z_p * tan_a - t_h / 2)
        lowest = max(lowest, z_p)
    else:
        z_p, OD, l_h, k_f, c_p = get("joint.tube_height"), get("joint.tube_outer"), get("joint.tube_length"), get("joint.outer_share"), get("joint.pocket_clearance")
        p = W + get("line.gap")
        d.update(g=get("line.gap"), p=p, z_h=z_p, OD=OD, bore=get("joint.tube_bore"), l_h=l_h, c_k=get("joint.side_gap"), r_p=OD / 2 + c_p, y_b=l_h * (0.5 - k_f),
                 h_fill=get("collet.foot_fill"), light=get("collet.light_hole"), x_h=p / 2)
        if shape == "round":
            d.update(block=get("collet.block_half_width"), r_q=get("collet.corner_radius"))
        lowest = max(lowest, z_p + OD / 2 + c_p)  # the neighbour's outer knuckles turn under the claws
    d.update(z_p=z_p, z_c0=lowest if shape == "round" else max(lowest, CLAW_FOOT, z_p + OVER_AXIS))
    return d
