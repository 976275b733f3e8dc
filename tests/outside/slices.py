"""Volume and area of a link without any kernel: exact slices, integrated over the height. Third opinion beside OCCT and the product.

A horizontal slice of every part of the link is bounded by lines along x or y, circles and ellipses (arrange.py); what is metal is
said point by point, in the order in which the link is made. The slice's area and the growth of the surface are smooth in z between
the heights where the outline changes its make-up, so those heights are searched for and the pieces between integrated by Gauss.
Level faces are what differs between the slice just below and just above a height.
"""
import math

import numpy as np
from arrange import Line, Oval, circle, measure as outline
from given import GIRDLE, TABLE

TOLERANCE = 1e-10  # mm3, mm2: two Gauss rules agree within this on a piece, or the piece is divided
SHORTEST = 1e-9  # mm: a piece of height below this adds less than TOLERANCE whatever it is
RULES = [np.polynomial.legendre.leggauss(n) for n in (9, 13)]


class Slice:
    """Curves and metal at one height; `side` +1 / -1: the limit from above / below, 0: neither matters."""

    def __init__(self, d, z, side=0):
        self.d, self.z, self.side, self.curves = d, z, side, []
        H, ta = d["H"], d["tan_a"]
        self.R, self.Ri = d["R_b"] + z * ta, d["R_b"] - d["t_h"] + z * ta
        hollow_from = d.get("h_fill", 0.0)
        self.wall, self.hollow = self.within(0, H), self.within(hollow_from, H)
        self.block = "block" in d and self.within(0, d["h_fill"])
        if self.wall:
            self.wall_curves("outer", self.R, d.get("r_q"))
        if self.hollow:
            self.wall_curves("inner", self.Ri, d.get("r_qi"))
        if self.block:
            b, r = d["block"], d["r_q"]
            self.curves += [Line(f"block x {s}", "y", s * b, cuts=(b - r,)) for s in (1, -1)]
            self.curves.append(Line("block y", "x", b, cuts=(r - b, b - r)))
            self.curves += [Oval(f"block {s}", (s * (b - r), b - r), (s * r, 0.0), (0.0, r), r, (0.0, math.pi / 2), (f"block x {s}", "block y")) for s in (1, -1)]
        slope = math.tan(d["half_bur"])
        self.seat = self.wall and max(0.0, d["r_s"] - (H - z) * slope)
        if self.seat:
            self.curves.append(circle("seat", 0, 0, self.seat, math.hypot(1, slope)))
        self.opening = self.within(d["z1"], d["z2"]) and self.rounded_half(d["w_o"] / 2, d["z1"], d["z2"], min(d["bur_d"] / 2, (d["z2"] - d["z1"]) / 2, d["w_o"] / 2))
        if self.opening:
            self.lines("opening", "y", (-self.opening[0], self.opening[0]), self.opening[1])
            self.lines("stop", "x", (d["y_s"],))
        self.claw = self.within(d["z_c0"], d["z_fin"])
        if self.claw:
            self.claw_curves()
        (self.wire_curves if d["joint"] == "wire_loop" else self.tube_curves)()

    def within(self, a, b):
        z = self.z
        return a <= z < b if self.side > 0 else a < z <= b if self.side < 0 else a < z < b

    def lines(self, name, along, values, rate=1.0):
        self.curves += [Line(f"{name} {i}", along, v, rate) for i, v in enumerate(values)]

    def rounded_half(self, half, lo, hi, r):
        """(half width, rate) at this height of an upright rectangle with rounded corners."""
        e = max(0.0, lo + r - self.z, self.z - hi + r)
        h = math.sqrt(max(r * r - e * e, 0.0))
        return half - r + h, r / h if h else 0.0  # the rate is not asked for in a limit slice

    def wall_curves(self, name, R, r):
        ta = self.d["tan_a"]
        if r is None or self.d["shape"] == "round":
            self.curves.append(circle(name, 0, 0, R, math.hypot(1, ta)))
            return
        root = math.hypot(1, ta)
        q, along = R - r * root, r * math.sqrt(1 + 2 * ta * ta)
        t = q + r * ta * ta / root  # the corner's tangent points are (R, t) and (t, R)
        s = math.sqrt(0.5)
        # ellipse parameter of the tangent point, from its offset square to the diagonal
        phi = math.asin((R - t) * s / r)
        self.curves += [Line(f"{name} x {k}", "y", k * R, root, (t,)) for k in (1, -1)]
        self.curves.append(Line(f"{name} y", "x", R, root, (-t, t)))
        for k in (1, -1):
            self.curves.append(Oval(f"{name} corner {k}", (k * q, q), (k * along * s, along * s), (-k * r * s, r * s), r * math.sqrt(1 + 2 * ta * ta), (-phi, phi), (f"{name} x {k}", f"{name} y")))

    def in_wall(self, x, y, R, r):
        d, ta = self.d, self.d["tan_a"]
        if d["shape"] == "round":
            return x * x + y * y < R * R
        root, ax, ay = math.hypot(1, ta), np.abs(x), np.abs(y)
        q, along = R - r * root, r * math.sqrt(1 + 2 * ta * ta)
        t = q + r * ta * ta / root
        u, v = (ax + ay - 2 * q) * math.sqrt(0.5) / along, (ax - ay) * math.sqrt(0.5) / r
        return (ax < R) & (ay < R) & ((ax + ay < R + t) | (u * u + v * v < 1))

    def claw_curves(self):
        d, z = self.d, self.z
        c, r, g, R = d["r_c"] / math.sqrt(2), d["d_c"] / 2, d["z_g"] + GIRDLE * d["D"], d["D"] / 2
        bur, stone = R - (d["z_g"] - z) * math.tan(d["half_bur"]), R * (z - d["z_c"]) / (d["z_g"] - d["z_c"])
        if z < d["z_g"]:  # the wider of bur and pavilion below the girdle
            slope = math.tan(d["half_bur"]) if bur > stone else R / (d["z_g"] - d["z_c"])
            self.tool = max(bur, stone, 0.0)
        elif z < g:
            slope, self.tool = 0.0, R
        else:
            slope = R * (1 - TABLE) / (d["z_t"] - g)
            self.tool = R - slope * (z - g)
        self.curves += [circle(f"claw {k}", k * c, c, r) for k in (1, -1)]
        if self.tool > 0:
            self.curves.append(circle("tool", 0, 0, self.tool, math.hypot(1, slope)))

    def wire_curves(self):
        d, z = self.d, self.z
        self.groove = d["w_g"] / 2 if self.within(-1, d["d_g"]) else 0.0
        self.slot = self.web = 0.0
        if self.within(d["d_g"], d["z_b1"]):
            h = d["w_b"] / 2
            e = max(0.0, z - d["z_b1"] + h)
            self.slot = math.sqrt(max(h * h - e * e, 0.0))
            self.lines("slot", "x", (self.slot,), h / self.slot if self.slot else 0.0)
        if self.groove:
            self.lines("groove", "x", (self.groove,))
        if self.within(d["d_g"], d["z_b0"]):
            w, rate = self.rounded_half(d["t_h"] / 2, d["d_g"], d["z_b0"], d["r_e"])
            self.web = [sorted((s * (d["x_w"] - w), s * (d["x_w"] + w))) for s in d["ends"]]
            for k, xs in enumerate(self.web):
                self.lines(f"web {k}", "y", xs, rate)
            self.lines("web end", "x", (d["w_b"] / 2,))

    def tube_curves(self):
        d = self.d
        self.light = d["light"] / 2
        if self.light and self.within(-1, d["h_fill"]):
            self.curves.append(circle("light", 0, 0, self.light))
        self.bars = {}
        for name, r in (("pocket", d["r_p"]), ("knuckle", d["OD"] / 2), ("bore", d["bore"] / 2)):
            h = self.z - d["z_h"]
            if name == "pocket":
                h = max(h, 0.0)  # open below the axis
            w = math.sqrt(max(r * r - h * h, 0.0)) if abs(h) < r else 0.0
            self.bars[name] = w
            if w:
                for s in d["ends"]:
                    self.lines(f"{name} {s}", "y", (s * d["x_h"] - w, s * d["x_h"] + w), r / w)
        if self.bars["pocket"]:
            half, y_b, c_k = d["l_h"] / 2, d["y_b"], d["c_k"]
            self.lines("knuckle y", "x", (y_b, half, y_b - c_k))

    def bar(self, name, end, x, y, y0, y1):
        return (np.abs(x - end * self.d["x_h"]) < self.bars[name]) & (y > y0) & (y < y1)

    def metal(self, x, y):
        d, nowhere = self.d, np.zeros(len(x), bool)
        q = x * x + y * y
        m = self.in_wall(x, y, self.R, d.get("r_q")) if self.wall else nowhere
        if self.block:
            b, r = d["block"], d["r_q"]
            u, v = np.abs(x) - b + r, y - b + r
            m = m | (u < r) & (v < r) & ~((u > 0) & (v > 0) & (u * u + v * v > r * r))
        if self.hollow:
            m = m & ~self.in_wall(x, y, self.Ri, d.get("r_qi"))
        if self.seat:
            m = m & (q > self.seat * self.seat)
        if self.opening:
            m = m & ~((np.abs(x) < self.opening[0]) & (y > d["y_s"]))
        if d["joint"] == "wire_loop":
            inside = (d["R_b"] - d["t_h"]) / 2
            for s in d["ends"]:
                m = m & ~((s * x > inside) & (y < (self.groove or self.slot)))
            for x0, x1 in self.web or ():
                m = m | (x > x0) & (x < x1) & (y < d["w_b"] / 2)
        if self.claw:
            c, r = d["r_c"] / math.sqrt(2), d["d_c"] / 2
            m = m | ((np.abs(x) - c) ** 2 + (y - c) ** 2 < r * r) & (q > self.tool * self.tool)
        if d["joint"] == "hinge_tube":
            half, y_b, c_k = d["l_h"] / 2, d["y_b"], d["c_k"]
            span = {1: ((0, y_b), (y_b, half)), -1: ((y_b - c_k, d["W"]), (-1, y_b - c_k))}
            for s in d["ends"]:
                m = m & ~self.bar("pocket", s, x, y, *span[s][0])
            if self.light and self.within(-1, d["h_fill"]):
                m = m & (q > self.light * self.light)
            for s in d["ends"]:
                m = m | self.bar("knuckle", s, x, y, *span[s][1])
            for s in d["ends"]:
                m = m & ~self.bar("bore", s, x, y, -1, d["W"])
        return m & (y > 0)


def levels(d):
    r_o = min(d["bur_d"] / 2, (d["z2"] - d["z1"]) / 2, d["w_o"] / 2)
    found = [0.0, d["z1"], d["z1"] + r_o, d["z2"] - r_o, d["z2"], d["z_s"], d["H"], d["z_c0"], d["z_g"], d["z_g"] + GIRDLE * d["D"], d["z_fin"], d["H"] - d["r_s"] / math.tan(d["half_bur"])]
    if d["joint"] == "wire_loop":
        found += [d["d_g"], d["d_g"] + d["r_e"], d["z_b0"] - d["r_e"], d["z_b0"], d["z_b1"] - d["w_b"] / 2, d["z_b1"]]
    else:
        found += [d["h_fill"]] + [d["z_h"] + s * r for s in (1, 0, -1) for r in (d["r_p"], d["OD"] / 2, d["bore"] / 2)]
    low = min(0.0, d["z_h"] - d["OD"] / 2) if d["joint"] == "hinge_tube" else 0.0
    return sorted({z for z in found if low <= z <= d["z_fin"]})


def measure(d):
    """(volume, area, convergence reached: summed differences between two Gauss rules, relative to the smaller of both)."""
    far = 3 * d["W"]

    def at(z):
        s = Slice(d, z)
        return outline(s.curves, s.metal, far)

    def event(a, b, sa, sb):
        """A height between a and b where the outline's make-up changes."""
        while b - a > 1e-13 * max(1, abs(b)):
            m = (a + b) / 2
            if m in (a, b):
                break
            s = at(m)[2]
            if s == sa:
                a = m
            else:
                b, sb = m, s
        return (a + b) / 2

    def piece(a, b, depth=0):
        nodes, sums = [], []
        for xs, ws in RULES:
            total = np.zeros(2)
            for x, w in zip(xs, ws):
                t = (x + 1) / 2  # z = a + (b - a)(3t^2 - 2t^3) tames the square roots at both ends
                z = a + (b - a) * t * t * (3 - 2 * t)
                v, s, sign = at(z)
                nodes.append((z, sign))
                total += w / 2 * 6 * t * (1 - t) * (b - a) * np.array([v, s])
            sums.append(total)
        off = float(np.abs(sums[1] - sums[0]).max())
        if off < TOLERANCE or b - a < SHORTEST or depth > 40:
            return *sums[1], off
        nodes.sort(key=lambda q: q[0])
        cut = (a + b) / 2
        for (z0, s0), (z1, s1) in zip(nodes, nodes[1:]):
            if s0 != s1:
                e = event(z0, z1, s0, s1)
                if min(e - a, b - e) > 1e-12:
                    cut = e
                    break
        one, two = piece(a, cut, depth + 1), piece(cut, b, depth + 1)
        return tuple(p + q for p, q in zip(one, two))

    zs = levels(d)
    volume, area, off = (sum(c) for c in zip(*(piece(a, b) for a, b in zip(zs, zs[1:]) if b - a > 1e-12)))
    for z in zs:  # level faces; two heights that are one but for rounding are both asked
        below, above = Slice(d, z, -1), Slice(d, z, 1)
        area += outline(below.curves + above.curves, lambda x, y: below.metal(x, y) != above.metal(x, y), far)[0]
    return 2 * volume, 2 * area, off / min(volume, area)


if __name__ == "__main__":
    import sys
    import time

    from given import dimensions, read_jsonc

    for path in sys.argv[1:]:
        start = time.monotonic()
        v, a, off = measure(dimensions(read_jsonc(path)))
        print(f"{path}: volume {v:.11f} area {a:.11f} sure to {off:.1e}, {time.monotonic() - start:.1f} s")
