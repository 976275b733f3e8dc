"""Volume of the round wire-loop link without any kernel: exact area of each horizontal slice, integrated over the height.

A slice's outline is made of circles and of lines along x or y. Each is cut at its crossings with the others; a piece belongs
to the outline when exactly one of its two sides is metal; Green's theorem over those pieces gives the area in closed form.
Only the quadrant x, y > 0 is done (the link is symmetric in both). Third opinion beside OCCT and the product.
"""
import math

from given import CROWN, GIRDLE, TABLE

SIDE = 1e-10  # mm: how far beside a piece the metal test looks; far below any feature, far above rounding (1e-16)
GAUSS = [(-0.8611363115940526, 0.3478548451374538), (-0.3399810435848563, 0.6521451548625461), (0.3399810435848563, 0.6521451548625461), (0.8611363115940526, 0.3478548451374538)]


def section(d, z):
    """(curves, metal(x, y)) of the quadrant slice at height z."""
    circles, xs, ys = set(), {0.0}, {0.0}
    ring = opening = slot = groove = web = claw = None
    if 0 < z < d["H"]:
        outer = d["R_b"] + z * d["tan_a"]
        inner = outer - d["t_h"] if z < d["z_s"] else d["r_s"] - (d["H"] - z) * math.tan(d["half_bur"])
        ring = outer * outer, inner * inner
        circles |= {(0.0, 0.0, outer), (0.0, 0.0, inner)}
    if d["z1"] < z < d["z2"]:
        r = min(d["bur_d"] / 2, (d["z2"] - d["z1"]) / 2, d["w_o"] / 2)
        e = max(0.0, d["z1"] + r - z, z - d["z2"] + r)
        opening = d["w_o"] / 2 - r + math.sqrt(r * r - e * e), d["y_s"]
        xs.add(opening[0])
        ys.add(opening[1])
    inside = (d["R_b"] - d["t_h"]) / 2
    if z < d["d_g"]:
        groove = d["w_g"] / 2
        ys.add(groove)
    elif z < d["z_b1"]:
        h = d["w_b"] / 2
        e = max(0.0, z - d["z_b1"] + h)
        slot = math.sqrt(h * h - e * e)
        ys.add(slot)
    if d["d_g"] < z < d["z_b0"]:
        r = d["r_e"]
        e = max(0.0, d["d_g"] + r - z, z - d["z_b0"] + r)
        w = d["t_h"] / 2 - r + math.sqrt(r * r - e * e)
        web = d["x_w"] - w, d["x_w"] + w, d["w_b"] / 2
        xs |= {web[0], web[1]}
        ys.add(web[2])
    if d["z_c0"] < z < d["z_fin"]:
        c, r = d["r_c"] / math.sqrt(2), d["d_c"] / 2
        g = d["z_g"] + GIRDLE * d["D"]
        if z < d["z_g"]:  # the wider of bur and pavilion below the girdle
            tool = max(d["D"] / 2 - (d["z_g"] - z) * math.tan(d["half_bur"]), d["D"] / 2 * (z - d["z_c"]) / (d["z_g"] - d["z_c"]), 0.0)
        elif z < g:
            tool = d["D"] / 2
        else:
            tool = d["D"] / 2 * (1 - (1 - TABLE) * (z - g) / (CROWN * d["D"]))
        claw = c, r * r, tool * tool
        circles |= {(c, c, r), (0.0, 0.0, tool)}

    def metal(x, y):
        if x <= 0 or y <= 0:
            return False
        q = x * x + y * y
        if claw and (x - claw[0]) ** 2 + (y - claw[0]) ** 2 < claw[1] and q > claw[2]:
            return True
        if web and web[0] < x < web[1] and y < web[2]:
            return True
        if not ring or not ring[1] < q < ring[0]:
            return False
        if opening and x < opening[0] and y > opening[1]:
            return False
        if x > inside and (groove is not None and y < groove or slot is not None and y < slot):
            return False
        return True

    return circles, xs, ys, metal


def slice_area(d, z):
    circles, xs, ys, metal = section(d, z)
    # the seat and the bur's cut in the claw are one cone, computed twice: equal but for rounding
    kept = []
    for q in sorted(c for c in circles if c[2] > 0):
        if not any(max(abs(x - y) for x, y in zip(q, k)) < SIDE for k in kept):
            kept.append(q)
    circles = kept
    far, total = 2 * d["W"], 0.0
    for v, along_x in [(x, False) for x in xs] + [(y, True) for y in ys]:  # x = v or y = v
        cuts = {0.0, far, *(xs if along_x else ys)}
        for cx, cy, r in circles:
            a, b = (cy, cx) if along_x else (cx, cy)
            if (q := r * r - (v - a) ** 2) > 0:
                cuts |= {b - math.sqrt(q), b + math.sqrt(q)}
        cuts = sorted(c for c in cuts if c >= 0)
        for lo, hi in zip(cuts, cuts[1:]):
            m = (lo + hi) / 2
            if along_x:  # metal above: run +x, x dy - y dx = -v dx
                up, down = metal(m, v + SIDE), metal(m, v - SIDE)
                total += (-v if up else v) * (hi - lo) if up != down else 0.0
            else:  # metal left of +y is x < v
                left, right = metal(v - SIDE, m), metal(v + SIDE, m)
                total += (v if left else -v) * (hi - lo) if left != right else 0.0
    for i, (cx, cy, r) in enumerate(circles):
        cuts = {0.0, 2 * math.pi}
        for v in xs:
            if abs(v - cx) < r:
                t = math.acos((v - cx) / r)
                cuts |= {t, 2 * math.pi - t}
        for v in ys:
            if abs(v - cy) < r:
                t = math.asin((v - cy) / r)
                cuts |= {t % (2 * math.pi), (math.pi - t) % (2 * math.pi)}
        for j, (ox, oy, s) in enumerate(circles):
            gap = math.hypot(ox - cx, oy - cy)
            if j != i and abs(r - s) < gap < r + s:
                t, w = math.atan2(oy - cy, ox - cx), math.acos((r * r + gap * gap - s * s) / (2 * r * gap))
                cuts |= {(t + w) % (2 * math.pi), (t - w) % (2 * math.pi)}
        cuts = sorted(cuts)
        for lo, hi in zip(cuts, cuts[1:]):
            c, s = math.cos((lo + hi) / 2), math.sin((lo + hi) / 2)
            i_, o_ = metal(cx + (r - SIDE) * c, cy + (r - SIDE) * s), metal(cx + (r + SIDE) * c, cy + (r + SIDE) * s)
            if i_ != o_:
                part = r * (cx * (math.sin(hi) - math.sin(lo)) - cy * (math.cos(hi) - math.cos(lo)) + r * (hi - lo))
                total += part if i_ else -part
    return 4 * total / 2


def volume(d, panels=48):
    r_o = min(d["bur_d"] / 2, (d["z2"] - d["z1"]) / 2, d["w_o"] / 2)
    levels = {0.0, d["d_g"], d["d_g"] + d["r_e"], d["z_b0"] - d["r_e"], d["z_b0"], d["z_b1"] - d["w_b"] / 2, d["z_b1"], d["z1"], d["z1"] + r_o, d["z2"] - r_o, d["z2"],
              d["z_s"], d["H"], d["z_c0"], d["z_g"], d["z_g"] + GIRDLE * d["D"], d["z_fin"]}
    levels = sorted(z for z in levels if 0 <= z <= d["z_fin"])
    total = 0.0
    for a, b in zip(levels, levels[1:]):
        if b - a < 1e-12:
            continue
        for k in range(panels):  # z = a + (b - a)(3t^2 - 2t^3) tames the square roots at both ends
            for x, w in GAUSS:
                t = (k + (x + 1) / 2) / panels
                total += w / 2 / panels * 6 * t * (1 - t) * (b - a) * slice_area(d, a + (b - a) * t * t * (3 - 2 * t))
    return total


def measure(d):
    """(volume, relative difference of two rules that share no node): the second is the convergence reached."""
    a, b = volume(d, 131), volume(d, 179)
    return b, abs(a - b) / b


if __name__ == "__main__":
    import sys

    from occt_link import dimensions, read_jsonc

    for path in sys.argv[1:]:
        d = dimensions(read_jsonc(path))
        print(path, *(f"{volume(d, n):.10f}" for n in (97, 131, 179)))
