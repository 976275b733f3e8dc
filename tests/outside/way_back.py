"""From the mesh of a master back to the finished part, every named dimension: rays and vertices of the STL (trimesh) give lengths of the
pattern; times (1 - s) for each stage, which is shrink itself and not the product's factor; then each surface loses its allowance along
its normal, which is what filing does. What is left must be the finished dimension to a micrometre.

Shrink of a linear size by s: L becomes L (1 - s) (artistryofgold.com, mold shrinkage, uses the same).
"""
import math

import manifold3d
import numpy as np
import trimesh

import stl

MICRON = 1e-3
X, Y, Z = np.eye(3)
# What the manual says is left for bur and drill, mm: groove, seat, pilot's share, mark.
GROOVE, SEAT, PILOT, MARK = 0.05, 0.30, 0.75, 0.40


class Casting:
    """The mesh in the casting's size: shrunk, allowances still on it, the finished underside at z = 0."""

    def __init__(self, path, manifest, part, shrink, hole=0.0):
        self.k = math.prod(1 - s / 100 for s in shrink)
        self.mesh = stl.load(path)[1]
        for p in manifest["parts"]:
            if p["part"] == part and "stub" in p:
                self.mesh = sawn_off(self.mesh, p["stub"])
        self.mesh.apply_scale(self.k)
        a = manifest["allowances"]
        self.o, self.g, self.u, self.m = a["outside"], a["openings"], a["underside"], a["mating"]
        self.mesh.apply_translation([0, 0, -self.u])
        self.bores = manifest["bores"]
        self.named = {d["name"]: d for d in manifest["dimensions"] if d["part"] == part}
        self.hole = hole
        self.found, self.hidden = {}, []

    def hits(self, origin, direction):
        d = np.asarray(direction, float) / np.linalg.norm(direction)
        at, _, _ = self.mesh.ray.intersects_location([origin], [d], multiple_hits=True)
        return sorted(float(np.dot(p - origin, d)) for p in at)

    def across(self, origin, direction):
        """Room on both sides of a point in the open."""
        d = np.asarray(direction, float)
        return self.hits(origin, d)[0] + self.hits(origin, -d)[0]

    def in_plane(self, axis, at, within=2e-5):
        return self.mesh.vertices[np.abs(self.mesh.vertices[:, axis] - at) < within]

    def set(self, name, value):
        self.found[name] = value

    def bore(self, name, cast, by_drill):
        """A bore: what the drill makes of pilot or mark is its business; the casting must hold the share of the finished width."""
        want = self.named[name]["finished"]
        share = {"open": 1.0, "pilot": PILOT, "dimple": None}[self.bores if by_drill else "dimple"]
        self.set(name, want if share is None and abs(cast - MARK) <= MICRON else (cast - self.hole) / share if share else math.nan)

    def compare(self, c, name):
        told = f"{len(self.found)} dimensions" + (f"; under the claws of the casting: {', '.join(self.hidden)}" if self.hidden else "")
        c.none(f"{name}: every named dimension measured", sorted(set(self.named) - set(self.found) - set(self.hidden)), told)
        for n, value in self.found.items():
            c.close(f"{name}: {n}, polished and shrunk", value, self.named[n]["finished"], MICRON)


def sawn_off(mesh, stub):
    """The casting without the stub of its sprue: all that lies under the flat about the stub's axis is taken away (manifold3d)."""
    x, y, z = stub["at_mm"]
    v = mesh.vertices
    about = np.hypot(v[:, 0] - x, v[:, 1] - y) <= stub["foot_mm"] / 2 + 2e-3
    level = float(np.median(v[about & (np.abs(v[:, 2] - z) < 2e-3), 2]))
    length = stub["length_mm"] + 1
    tool = manifold3d.Manifold.cylinder(length, stub["diameter_mm"] / 2 + 0.1, circular_segments=64).translate([x, y, level - length])
    body = manifold3d.Manifold(manifold3d.Mesh64(vert_properties=v.copy(), tri_verts=np.asarray(mesh.faces, np.uint64))) - tool
    out = body.to_mesh64()
    return trimesh.Trimesh(np.asarray(out.vert_properties)[:, :3], np.asarray(out.tri_verts), process=False)


def near(values, want):
    """Where a surface is: the middle one of the coordinates (or distances) within 0.02 of where it is looked for; none is no number."""
    found = np.asarray(values)[np.abs(np.asarray(values) - want) < 0.02]
    return float(np.median(found)) if len(found) else math.nan


def plane(r, axis, want, where=None, middle=0.0):
    """Distance from `middle` of the plane square to an axis nearest to where it is looked for: of its facets, within 0.02."""
    at = np.abs(r.mesh.triangles_center[:, axis] - middle)
    on = (np.abs(r.mesh.face_normals[:, axis]) > 0.999999) & (np.abs(at - want) < 0.02)
    if where is not None:
        on &= where(r.mesh.triangles_center)
    if not on.any():
        return math.nan
    order = np.argsort(at[on])
    heap = np.cumsum(r.mesh.area_faces[on][order])
    return float(at[on][order][np.searchsorted(heap, heap[-1] / 2)])


def about(r, x, z, cast):
    """Diameter about an axis along y through (x, z), from the vertices on it."""
    v = r.mesh.vertices
    return 2 * near(np.hypot(v[:, 0] - x, v[:, 2] - z), cast / 2)


def circle(points):
    """Centre and diameter of the circle through points of a plane, by least squares."""
    p = np.asarray(points)
    (a, b, d), *_ = np.linalg.lstsq(np.c_[2 * p, np.ones(len(p))], (p ** 2).sum(1), rcond=None)
    return np.array([a, b]), 2 * math.sqrt(d + a * a + b * b)


def collet(r, d, x0, z1, z2, azimuth):
    """Skin, wall, claws, openings and seat of one collet about (x0, 0); heights in the finished part's frame."""
    o, g = r.o, r.g
    a = math.radians(azimuth)
    flat = 1.0 if d["shape"] == "round" else math.cos(a)
    out = [[h * flat for h in r.hits([x0, 0, z], [math.cos(a), math.sin(a), 0])[:2]] for z in (z1, z2)]
    slope = (out[1][1] - out[0][1]) / (z2 - z1)
    sec = math.hypot(1, d["tan_a"])
    r.set("collet, wall", (out[0][1] - out[0][0]) / sec - o - g)
    far = 30.0
    rim = d["W"] / 2 - 0.12
    at = (rim * math.cos(a), rim * math.sin(a)) if d["shape"] == "round" else (rim, rim * math.tan(a))
    top = far - r.hits([x0 + at[0], at[1], far], -Z)[0]
    here, beyond = r.hits([x0, 0, top + 0.3], [-1, 1, 0])[:2]
    r.set("claw, diameter", beyond - here - 2 * o)
    r.set("setting, over the claws", ((beyond + here) / 2 / math.sqrt(2) + (beyond - here) / 2 - o) * 2)
    low = 0.01
    edge = r.hits([x0, 0, top - low], [math.cos(a), math.sin(a), 0])[0] + low * math.tan(d["half_bur"])
    r.set("seat, across its edge", 2 * (edge - o * math.tan(d["half_bur"])) + SEAT)
    return out[0][1] - o * sec, slope, top


def frame_collet(r, d, x0, cut, count):
    """The same of a collet of the frame, from vertices, which lie on the exact surfaces: circles of claw, seat and wall."""
    o, g, v = r.o, r.g, r.mesh.vertices
    top = d["H"] + o
    crown = v[(np.abs(v[:, 2] - v[:, 2].max()) < 2e-5)]
    corner = crown[(np.abs(crown[:, 0] - x0 + d["W"] / 2 - d["d_c"] / 2) < d["d_c"]) & (np.abs(crown[:, 1] - d["W"] / 2 + d["d_c"] / 2) < d["d_c"])]
    (x, y), dia = circle(corner[corner[:, 0] < x0 - 0.5 * d["d_c"]][:, :2])
    r.set("claw, diameter", dia - 2 * o)
    r.set("setting, over the claws", 2 * (y + dia / 2 - o))
    edge = v[np.abs(v[:, 2] - top) < 2e-5]
    dia = 2 * near(np.hypot(edge[:, 0] - x0, edge[:, 1]), d["r_s"] + o * math.tan(d["half_bur"]) - SEAT / 2)
    r.set("seat, across its edge", dia - 2 * o * math.tan(d["half_bur"]) + SEAT)
    sec = math.hypot(1, d["tan_a"])
    z = cut - r.u
    if d["shape"] == "round":
        level = v[np.abs(v[:, 2] - z) < 2e-5]
        off = np.concatenate([np.hypot(level[:, 0] - (i + 0.5) * d["pitch"], level[:, 1]) for i in range(count)])
        want = d["R_b"] + z * d["tan_a"] + o * sec
        across = [near(off, w) for w in (want, want - (d["t_n"] + o + g) * sec)]
        r.set("collet, wall", (across[0] - across[1]) / sec - o - g)
    else:
        a = math.radians(20)
        h = [x * math.cos(a) for x in r.hits([x0, 0, cut + 0.53], [-math.cos(a), math.sin(a), 0])[:2]]
        r.set("collet, wall", (h[1] - h[0]) / sec - o - g)


def link(r, d):
    """Every named dimension of a link, from the mesh; `d` tells only where to look."""
    o, g, u, m = r.o, r.g, r.u, r.m
    H, fill = d["H"], d.get("h_fill", 0.0)
    z1, z2 = (fill + 0.25, fill + 0.85) if fill else (0.225 * H, 0.69 * H)
    far, low = 30.0, d["R_b"] - d["t_h"] / 2
    skin, slope, top = collet(r, d, 0.0, z1, z2, 20)
    bottom = r.hits([0, low, -far], Z)[0] - far
    r.set("collet, outside at half height", 2 * (skin + slope * (H / 2 - z1)))
    r.set("collet, height", top - bottom - o - u)
    r.set("claw, end over the underside", float(r.mesh.bounds[1][2] - r.mesh.bounds[0][2]) - u)
    middle = (d["z1"] + d["z2"]) / 2
    side, stop = r.named["opening, width"]["cast"] / 2, r.named["opening, back to back"]["cast"] / 2
    width = plane(r, 0, side, lambda c: np.abs(c[:, 1]) > d["y_s"])
    axis = (r.found["setting, over the claws"] - r.found["claw, diameter"]) / 2
    if math.isnan(width) and math.hypot(side - axis, stop - axis) < r.found["claw, diameter"] / 2 + o:
        # The claws, uncut and thick with their allowance, stand over both sides of the opening: on the casting there is none.
        r.hidden.append("opening, width")
    else:
        r.set("opening, width", 2 * width + 2 * g)
    centre = [0, d["R_b"] - 0.12, middle]
    up, down = r.hits(centre, Z)[0], r.hits(centre, -Z)[0]
    r.set("opening, height", up + down + 2 * g)
    # Over the finished underside, which lies u higher than the casting's.
    r.set("opening, lower edge to underside", middle - down - g - bottom - u)
    r.set("opening, back to back", 2 * plane(r, 1, r.named["opening, back to back"]["cast"] / 2) - 2 * g)
    if fill:
        top = far - r.hits([0, d["light"] / 2 + 0.15, far], -Z)[0]
        r.set("foot, filled to", top - bottom - u - g)
        r.set("light hole", 2 * r.hits([0, 0, fill / 2], Y)[0] + 2 * g - r.hole)
        if d["shape"] == "round":
            r.set("foot block, width", 2 * (far - r.hits([0.2, far, fill - 0.2], -Y)[0] - o))
        x, z = d["pitch"] / 2, d["z_h"]
        r.set("knuckle, diameter", about(r, x, z, r.named["knuckle, diameter"]["cast"]) - 2 * m)
        r.bore("hinge bore", about(r, x, z, r.named["hinge bore"]["cast"] + r.hole), True)
    else:
        x = d["R_b"] - d["t_h"] / 2
        r.set("groove, depth", r.hits([x, 0, -far], Z)[0] - far - bottom - u + GROOVE)
        r.set("groove, width", r.across([x, 0, 0.2], Y))
        z = d["z_b0"] + d["w_b"] / 2
        x = far - r.hits([far, 0.5 * d["w_b"] + 0.05, z], -X)[0] - 0.03 if r.bores == "dimple" else x + 0.12
        r.bore("bore, width", r.across([x, 0, z], Y), True)


def frame(r, d, f):
    """Every named dimension of the clasp's frame. `f` are the values of the file that tell where to look."""
    o, g, u, m = r.o, r.g, r.u, r.m
    far, p, n = 30.0, d["pitch"], f["count"]
    # The rails' underside is the largest level face that looks down: the cut through the collets.
    down = r.mesh.face_normals[:, 2] < -0.999
    levels = r.mesh.triangles_center[down][:, 2].round(4)
    areas = {z: r.mesh.area_faces[down][levels == z].sum() for z in set(levels)}
    cut = max(areas, key=areas.get) + u
    first, last = p / 2, (n - 0.5) * p
    first, v = p / 2, r.mesh.vertices
    y = [plane(r, 1, r.named[k]["cast"] / 2) for k in ("frame, between the rails", "frame, over the rails")]
    r.set("rail, width", y[1] - y[0] - o - g)
    top = plane(r, 2, r.named["rail, height"]["cast"], middle=cut - u) + cut - u
    r.set("rail, height", top - (cut - u) - g - u)
    r.set("frame, over the rails", 2 * y[1] - 2 * o)
    r.set("frame, between the rails", 2 * y[0] + 2 * g)
    frame_collet(r, d, first, cut, n)
    middle = (n // 2 + 0.5) * p
    beside = lambda x: (np.abs(x[:, 1]) > d["y_s"]) & (x[:, 2] > cut - u + 1e-3)  # noqa: E731
    r.set("opening, width", 2 * plane(r, 0, r.named["opening, width"]["cast"] / 2, beside, middle) + 2 * g)
    # Two settings side by side, above the rim: their claws, where the allowance leaves them apart.
    claw = d["W"] / 2 - d["d_c"] / 2
    # The circles of two neighbouring claws: apart, or cast as one where the allowance closes the gap.
    crown = v[np.abs(v[:, 2] - v[:, 2].max()) < 2e-5]
    place = lambda x: crown[(np.hypot(crown[:, 0] - x, crown[:, 1] - claw) < d["d_c"] / 2 + o + 0.01)]  # noqa: E731
    one, two = (circle(on[np.abs(np.hypot(on[:, 0] - x, on[:, 1] - claw) - d["d_c"] / 2 - o) < 0.01][:, :2]) for x in (first + claw, first + p - claw) for on in [place(x)])
    between = two[0][0] - one[0][0] - (one[1] + two[1]) / 2
    r.set("gap between two settings", between + 2 * o if abs(max(between, 0.0) - r.named["gap between two settings"]["cast"]) < MICRON else math.nan)
    # Cheeks end 0.02 over the underside, less what is left under them.
    feet = r.in_plane(2, 0.02 - u)
    ridge = float(feet[:, 0].min() + feet[:, 0].max()) / 2
    h, b = r.hits([ridge, 0, 0.4], Y), r.hits([ridge, 0, 0.4], -Y)
    r.set("cheek, thickness", h[-1] - h[-2] - o - m)
    r.set("cheeks, between", h[-2] + b[-2] + 2 * m)
    # The inside of a cheek is plain: no groove on the casting, whatever the finished one has.
    plain = max(abs(r.hits([ridge, 0, z], Y)[-2] - h[-2]) for z in np.linspace(0.1, cut - u - 0.05, 9))
    r.set("snap groove, deep", r.named["snap groove, deep"]["finished"] if plain < MICRON else math.nan)
    # Front knuckles: lower half of the circle in their end face.
    z_f = f["front_height"]
    end = f["tube_row"] / 2 + m
    ring = r.in_plane(1, end)
    ring = ring[ring[:, 2] < z_f + 1e-6]
    radius = np.hypot(ring[:, 0] - ring[:, 0].mean(), ring[:, 2] - z_f)
    (x_f, z_c), dia = circle(ring[radius > 0.35][:, [0, 2]])
    r.set("knuckle, diameter", dia - 2 * m)
    low = z_f - 0.4 * f["tube_outer"]
    outer = [far - r.hits([x_f, s * far, low], -s * Y)[0] for s in (1, -1)]
    r.set("knuckles, over both", sum(outer) - 2 * m)
    r.set("knuckles, between", r.across([x_f, 0, low], Y) + 2 * m)
    r.bore("hinge bore", about(r, x_f, z_f, r.named["hinge bore"]["cast"] + r.hole), True)
    # Tubes of the side catches: all that lies farther out than the claws.
    out = v[v[:, 1] > d["W"] / 2 + o + 0.05]
    x = [out[:, 0].min(), out[:, 0].max()]
    r.set("side catch tube, length", x[1] - x[0] - 2 * o)
    ends = r.in_plane(0, x[0])
    ends = ends[ends[:, 1] > 0]
    ring = ends[ends[:, 1] > ends[:, 1].max() - 0.2]
    (y_t, z_t), dia = circle(ring[:, 1:])
    r.set("side catch tube, diameter", dia - 2 * o)
    mouth = ends[np.hypot(ends[:, 1] - y_t, ends[:, 2] - z_t) < MARK / 2 + 0.05]
    r.bore("side catch tube, bore", circle(mouth[:, 1:])[1], r.bores == "open")
    # The chain's eye, at the back beside the first stone: its round, and the hole in it.
    eye = v[(np.abs(v[:, 0] - first) < 0.8) & (v[:, 1] < -d["W"] / 2 - o - 0.1)]
    rim, hole = (r.named[k] for k in ("eye of the chain, over its rim", "eye of the chain, hole"))
    at = -(d["W"] / 2 + 0.05 + rim["finished"] / 2), (eye[:, 2].max() + eye[:, 2].min()) / 2
    off = np.hypot(eye[:, 1] - at[0], eye[:, 2] - at[1])
    r.set("eye of the chain, over its rim", 2 * near(off, rim["cast"] / 2) - 2 * o)
    share = 1.0 if r.bores == "open" else PILOT
    r.set("eye of the chain, hole", (2 * near(off, (hole["cast"] + r.hole) / 2) - r.hole) / share)
    # Lug under the first collet.
    left = v[v[:, 0] < 0.8]
    half = plane(r, 1, r.named["lug, width"]["cast"] / 2, lambda c: c[:, 0] < 0.8)
    r.set("lug, width", 2 * half - 2 * o)
    if d["joint"] == "wire_loop":
        h = r.hits([-far, half - 0.1, 0.25], X)
        r.set("lug, thickness", h[1] - h[0] - o - g)
        r.set("lug groove, width", r.across([0.3, 0, 0.2], Y))
        r.set("lug groove, depth", r.hits([0.3, 0, -far], Z)[0] - far + GROOVE)
        # The bore's vertices, wherever it comes out.
        off = np.hypot(left[:, 1], left[:, 2] - d["z_b0"] - d["w_b"] / 2)
        r.bore("lug bore", 2 * near(off, (r.named["lug bore"]["cast"] + r.hole) / 2), True)
    else:
        r.set("line knuckle, diameter", about(r, 0.0, d["z_h"], r.named["line knuckle, diameter"]["cast"]) - 2 * m)
        r.bore("line hinge bore", about(r, 0.0, d["z_h"], r.named["line hinge bore"]["cast"] + r.hole), True)
