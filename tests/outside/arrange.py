"""Exact measures of a plane region whose outline is made of lines along x or y, circles and ellipses. General geometry only.

Each curve is cut at its crossings with the others; a piece belongs to the outline when exactly one of its two sides is inside.
Green's theorem over those pieces gives the area in closed form, and their lengths, each times a factor of its curve, the rate
at which the surface of a solid grows from slice to slice. Only y > 0 is done: `inside` must say no below.
"""
import math

import numpy as np

SIDE = 1e-10  # mm: how far beside a piece the inside test looks; far below any feature, far above rounding (1e-16)
SAME = 1e-12  # two curves closer than this are one curve computed twice


class Line:
    """x = v (along "y") or y = v (along "x"); `rate`: surface per length and height."""

    def __init__(self, name, along, v, rate=1.0, cuts=()):
        self.name, self.along, self.v, self.rate, self.cuts = name, along, v, rate, tuple(cuts)

    def key(self):
        return self.along, self.v


class Oval:
    """c + u cos t + w sin t; `rate`: surface per parameter and height. `span`: from where to where, counting up, it is there at
    all (None: all round); the rest may happen to touch another curve and means nothing. `touches`: lines that only touch it,
    at the ends of the span: a touch is not left to the rounding of a double root."""

    def __init__(self, name, c, u, w, rate, span=None, touches=()):
        self.name, self.c, self.u, self.w, self.rate, self.span, self.touches = name, c, u, w, rate, span, touches
        self.cuts = tuple(t % (2 * math.pi) for t in span or ())
        self.round = abs(math.hypot(*u) - math.hypot(*w)) < SAME
        self.reach = max(math.hypot(*u), math.hypot(*w))

    def key(self):
        return "oval", *self.c, *self.u, *self.w

    def there(self, t):
        return self.span is None or (t - self.span[0]) % (2 * math.pi) < self.span[1] - self.span[0]

    def at(self, t):
        c, s = np.cos(t), np.sin(t)
        return self.c[0] + self.u[0] * c + self.w[0] * s, self.c[1] + self.u[1] * c + self.w[1] * s


def circle(name, x, y, r, rate=1.0):
    """`rate` here per length: 1 for an upright wall."""
    return Oval(name, (x, y), (r, 0.0), (0.0, r), rate * r)


def distinct(curves):
    """Curves that say the same twice are kept once, the first."""
    kept, at = [], {}
    for c in curves:
        kind, *values = c.key()
        group = at.setdefault(kind, [])
        if not any(all(abs(a - b) < SAME for a, b in zip(values, k)) for k in group):
            group.append(values)
            kept.append(c)
    return kept


def oval_on_line(o, line):
    """Parameters where the oval meets the line."""
    i = 0 if line.along == "y" else 1
    r, k = math.hypot(o.u[i], o.w[i]), line.v - o.c[i]
    if abs(k) >= r:
        return ()
    m, a = math.atan2(o.w[i], o.u[i]), math.acos(k / r)
    return m - a, m + a


def oval_on_circle(o, k):
    """Parameters of `o` where it meets the circle `k`: |P(t) - c|^2 = r^2, a trigonometric polynomial of degree 2."""
    r = k.reach
    dx, dy = o.c[0] - k.c[0], o.c[1] - k.c[1]
    gap = math.hypot(dx, dy)
    if gap > r + o.reach or gap < r - o.reach:
        return ()
    if o.round:
        s = o.reach
        if not abs(r - s) < gap < r + s:
            return ()
        t, w = math.atan2(-dy, -dx), math.acos((s * s + gap * gap - r * r) / (2 * s * gap))
        t = math.atan2(o.w[0] * math.cos(t) + o.w[1] * math.sin(t), o.u[0] * math.cos(t) + o.u[1] * math.sin(t))  # counts from u to w
        return t - w, t + w
    (a, b), (e, f) = o.u, o.w
    uu, ww, uw = a * a + b * b, e * e + f * f, a * e + b * f
    c1, s1 = 2 * (a * dx + b * dy), 2 * (e * dx + f * dy)
    c0, c2, s2 = dx * dx + dy * dy - r * r + (uu + ww) / 2, (uu - ww) / 2, uw
    p = [(c2 - 1j * s2) / 2, (c1 - 1j * s1) / 2, c0, (c1 + 1j * s1) / 2, (c2 + 1j * s2) / 2]
    found = []
    for z in np.roots(p):
        if abs(abs(z) - 1) > 1e-5:
            continue
        t = math.atan2(z.imag, z.real)
        for _ in range(3):  # Newton: the companion matrix gives 1e-12 or so
            g = c0 + c1 * math.cos(t) + s1 * math.sin(t) + c2 * math.cos(2 * t) + s2 * math.sin(2 * t)
            h = -c1 * math.sin(t) + s1 * math.cos(t) - 2 * c2 * math.sin(2 * t) + 2 * s2 * math.cos(2 * t)
            step = g / h if h else 0.0
            t -= step if abs(step) < 1e-3 else 0.0
        found.append(t)
    return found


def crossings(curves):
    """For each curve the sorted [(parameter, name of the other)]."""
    cuts = [[(t, "own") for t in c.cuts] for c in curves]
    for i, a in enumerate(curves):
        for j in range(i):
            b = curves[j]
            if isinstance(a, Line) and isinstance(b, Line):
                if a.along != b.along:
                    cuts[i].append((b.v, b.name))
                    cuts[j].append((a.v, a.name))
                continue
            o, k = (i, j) if isinstance(a, Oval) and (not isinstance(b, Oval) or b.round) else (j, i)
            if curves[k].name in curves[o].touches:
                ts = ()
            elif isinstance(curves[k], Line):
                ts = oval_on_line(curves[o], curves[k])
            elif curves[k].round:
                ts = oval_on_circle(curves[o], curves[k])
            else:
                ts = ()  # two corners of one collet: far apart or one inside the other
            for t in ts:
                x, y = (float(q) for q in curves[o].at(t))
                cuts[o].append((t % (2 * math.pi), curves[k].name))
                if isinstance(curves[k], Line):
                    cuts[k].append((y if curves[k].along == "y" else x, curves[o].name))
                else:
                    round_, dx, dy = curves[k], x - curves[k].c[0], y - curves[k].c[1]
                    u = math.atan2(round_.w[0] * dx + round_.w[1] * dy, round_.u[0] * dx + round_.u[1] * dy)
                    cuts[k].append((u % (2 * math.pi), curves[o].name))
    return cuts


def measure(curves, inside, far):
    """(area, surface rate, signature) of the region in y > 0. The signature names the outline's pieces: it changes where the
    outline changes its make-up."""
    curves = distinct([Line("middle", "x", 0.0, 0.0), *curves])
    cuts = crossings(curves)
    which, lo, hi, ends = [], [], [], []
    for i, c in enumerate(curves):
        own = sorted(cuts[i])
        if isinstance(c, Line):
            low, high = (0.0, far) if c.along == "y" else (-far, far)
            own = [(low, "end"), *[q for q in own if low < q[0] < high], (high, "end")]
        elif own:
            own = [*own, (own[0][0] + 2 * math.pi, own[0][1])]
        else:
            own = [(0.0, "end"), (2 * math.pi, "end")]
        for (a, m), (b, n) in zip(own, own[1:]):
            if b > a and (isinstance(c, Line) or c.there((a + b) / 2)):
                which.append(i)
                lo.append(a)
                hi.append(b)
                ends.append((m, n))
    which, lo, hi = np.array(which), np.array(lo), np.array(hi)
    mid = (lo + hi) / 2
    x, y, nx, ny = (np.empty(len(mid)) for _ in range(4))
    for i, c in enumerate(curves):
        on = which == i
        t = mid[on]
        if isinstance(c, Line):
            x[on], y[on] = (c.v, t) if c.along == "y" else (t, c.v)
            nx[on], ny[on] = (1, 0) if c.along == "y" else (0, 1)
        else:
            x[on], y[on] = c.at(t)
            co, si = np.cos(t), np.sin(t)
            dx, dy = c.w[0] * co - c.u[0] * si, c.w[1] * co - c.u[1] * si
            turn = np.sign(c.u[0] * c.w[1] - c.u[1] * c.w[0]) / np.hypot(dx, dy)
            nx[on], ny[on] = dy * turn, -dx * turn  # outwards
    plus, minus = inside(x + SIDE * nx, y + SIDE * ny), inside(x - SIDE * nx, y - SIDE * ny)
    area = rate = 0.0
    signature = []
    for k in np.flatnonzero(plus != minus):
        c, a, b = curves[which[k]], lo[k], hi[k]
        sign = 1 if minus[k] else -1  # inside lies against the normal
        if isinstance(c, Line):
            area += sign * c.v * (b - a)
            rate += c.rate * (b - a)
        else:
            (cx, cy), (ux, uy), (wx, wy) = c.c, c.u, c.w
            turn = ux * wy - uy * wx
            co, si = math.cos(b) - math.cos(a), math.sin(b) - math.sin(a)
            area += sign * math.copysign(1, turn) * (turn * (b - a) + cx * (uy * co + wy * si) - cy * (ux * co + wx * si))
            rate += c.rate * (b - a)
        signature.append((c.name, *ends[k], sign))
    return area / 2, rate, tuple(sorted(signature))
