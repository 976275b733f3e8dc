"""The checks, checked: each passes on a good solid and fails on a planted defect. The product has no part in it."""
import contextlib
import io
import math
import os
import pathlib
import shutil
import sys
import tempfile

import arrange
import check_draws
import check_exports
import check_params
import compare
import double
import numpy as np
import occ
import occt_link
import occt_tree
import product
import random_links
import slices
import solids
import step_text
import stl
import trimesh
from OCP.BRep import BRep_Tool
from OCP.BRepFilletAPI import BRepFilletAPI_MakeFillet
from OCP.TopAbs import TopAbs_EDGE
from OCP.TopExp import TopExp
from OCP.TopoDS import TopoDS
from harness import Checks

HERE = pathlib.Path(__file__).resolve().parent
A, B = HERE / "data" / "line-4.0-platinum.jsonc", HERE / "data" / "line-2.5-yellow.jsonc"


def quiet(f, *args):
    """Runs checks without their lines; returns what they counted."""
    c = Checks()
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        f(c, *args)
    return c


def harness(c):
    inner = quiet(lambda k: (k.check("empty list", []), k.check("none", None), k.check("numpy true", np.bool_(True)), k.none("no problem", []), k.none("one", ["x"])))
    c.check("selftest harness: what is not true is not passed", (inner.passed, inner.failed) == (2, 3), f"{inner.passed} passed {inner.failed} failed of 5")

    def raises(k):
        with k.section("boom"):
            raise RuntimeError("boom")

    c.check("selftest harness: an exception is a failed check", quiet(raises).failed == 1)


def reading(c):
    text = '{"a": "x // y /* z */ ,]", // note\n "b": [1, 2, /* three */ ], "c": {"d": "\\"",},\n}'
    c.check("selftest reader: comments, trailing commas, strings", occt_link.json.loads(occt_link.strip_jsonc(text)) == {"a": "x // y /* z */ ,]", "b": [1, 2], "c": {"d": '"'}})
    # ASTM B258: 20 AWG is 0.0320 in = 0.8118 mm, 36 AWG 0.127 mm by definition.
    c.close("selftest reader: 20 AWG by ASTM B258", occt_link.number("20 AWG"), 0.8118, 5e-5)
    c.close("selftest reader: 0.03 in", occt_link.number("0.03 in"), 0.762, 1e-12)
    c.check("selftest reader: doubled key is seen", raised(ValueError, occt_link.json.loads, '{"a":1,"a":2}', object_pairs_hook=check_params.strict))


def raised(kind, f, *args, **kw):
    try:
        f(*args, **kw)
    except kind:
        return True
    return False


def primitives(c):
    """OCCT through our door against closed forms (Bronstein, solid geometry: frustum, cylinder)."""
    frustum = occ.revolve([(0, 0), (2, 0), (1, 3), (0, 3)], occ.Frame((1, 2, 3), (0, 1, 0), (1, 0, 0)))
    c.close("selftest OCCT: frustum", occ.volume(frustum), math.pi * 3 / 3 * (4 + 2 + 1), 1e-9, "mm3")
    lo = occ.bounds(frustum)
    c.close("selftest OCCT: frame puts it where meant", lo[0], 1, 1e-6)
    stadium = occ.prism([((-1, -1), None), ((1, -1), ((1, 0), True)), ((1, 1), None), ((-1, 1), ((-1, 0), True))], 2)
    c.close("selftest OCCT: stadium", occ.volume(stadium), 2 * (4 + math.pi), 1e-9, "mm3")
    bite = occ.prism([((-1, -1), None), ((1, -1), ((1, 0), False)), ((1, 1), None), ((-1, 1), None)], 2)
    c.close("selftest OCCT: clockwise arc cuts in", occ.volume(bite), 2 * (4 - math.pi / 2), 1e-9, "mm3")
    # a square body with leaning sides and right cylinders on its ridges: frustum of a pyramid less, at each corner, the kite between two
    # tangents outside their circle, square to the ridge, times the ridge's length
    h, slope, r, high = 1.2, 0.1, 0.35, 2.7
    phi = math.pi - math.acos(slope * slope / (1 + slope * slope))
    lost = 4 * high * math.sqrt(1 + 2 * slope * slope) * r * r * (1 / math.tan(phi / 2) - (math.pi - phi) / 2)
    body = occ.taper(h, slope, r, high, occ.Frame((1, 2, 3), (0, 1, 0), (1, 0, 0)))
    c.close("selftest OCCT: leaning square", occ.volume(body), 4 * ((h + slope * high) ** 3 - h**3) / (3 * slope) - lost, 1e-8, "mm3")
    c.none("selftest OCCT: leaning square valid", occ.problems(body))
    round_off = rolled(h, slope, r, high)
    c.close("selftest OCCT: leaning square against a ball rolled along its ridges, area", occ.area(body), occ.area(round_off), 1e-9, "mm2")
    c.close("selftest OCCT: the same, volume", occ.volume(body), occ.volume(round_off), 1e-9, "mm3")
    c.close("selftest OCCT: leaning square along its frame", occ.bounds(body)[3], 1 + high, 1e-6)
    # upper half of the lens of two unit circles a unit apart: pi/3 - sqrt(3)/4; its two arcs are pi/3 each
    lens = lambda x, y: ((x - 0.5) ** 2 + y * y < 1) & ((x + 0.5) ** 2 + y * y < 1) & (y > 0)
    a, arcs, _ = arrange.measure([arrange.circle("a", 0.5, 0, 1), arrange.circle("b", -0.5, 0, 1)], lens, 5)
    c.close("selftest slices: lens", a, math.pi / 3 - math.sqrt(3) / 4, 1e-12, "mm2")
    c.close("selftest slices: its outline", arcs, 2 * math.pi / 3, 1e-12)
    # an ellipse of half axes 2 and 1, askew, outside a circle of radius 1.5 about its middle: they meet where (x/2)^2 + y^2 = 1 and
    # x^2 + y^2 = 9/4, at x^2 = 5/3; each of the two ends is the ellipse's sector (2 t) less the circle's (9/4 s)
    t, s = math.acos(math.sqrt(5 / 12)), math.acos(math.sqrt(20 / 27))
    k = math.sqrt(0.5)
    oval = arrange.Oval("oval", (0, 3), (2 * k, 2 * k), (-k, k), 0)
    outside = lambda x, y: (((x + y - 3) * k / 2) ** 2 + ((y - 3 - x) * k) ** 2 < 1) & (x * x + (y - 3) ** 2 > 2.25)
    a, _, _ = arrange.measure([oval, arrange.circle("c", 0, 3, 1.5)], outside, 9)
    c.close("selftest slices: ellipse outside a circle", a, 2 * (2 * t - 2.25 * s), 1e-12, "mm2")
    tree = {"t": "difference", "from": {"t": "union", "of": [box(0, 4), box(3, 4)]}, "minus": [
        {"t": "revolve", "frame": {"o": [2, 2, -1], "x": [1, 0, 0], "z": [0, 0, 1]}, "profile": [[0, 0], [1, 0], [1, 9], [0, 9]]}]}
    t = occt_tree.build(tree)
    c.close("selftest tree: two boxes less a cylinder", occ.volume(t), 7 * 4 * 4 - math.pi * 4, 1e-8, "mm3")
    c.none("selftest tree: valid", occ.problems(t))
    c.check("selftest OCCT: crossing line", [round(h, 9) for h in compare.hits(t, (0, 2, 2), (1, 0, 0))] == [0, 1, 3, 7])
    c.check("selftest OCCT: two solids are seen", len(occ.problems(occ.fuse(occt_tree.build(box(0, 1)), occt_tree.build(box(5, 1))))) > 0)
    wrong = occ.boundary(t)
    c.check("selftest OCCT: faces without a solid are seen", len(occ.problems(wrong)) > 0)


def rolled(half, slope, r, height, beyond=0.2):
    """The leaning square a second way: OCCT's own rolling-ball fillet along the four sharp ridges, drawn longer and cut square."""
    lo, hi = -beyond, height + beyond
    bottom, top = ([(s * (half + z * slope), t * (half + z * slope), z) for s, t in ((1, 1), (-1, 1), (-1, -1), (1, -1))] for z in (lo, hi))
    sharp = occ.polyhedron([bottom[::-1], top, *([bottom[i], bottom[(i + 1) % 4], top[(i + 1) % 4], top[i]] for i in range(4))])
    fillet, done = BRepFilletAPI_MakeFillet(sharp), set()
    for edge in map(TopoDS.Edge, occ.subshapes(sharp, TopAbs_EDGE)):
        a, b = (BRep_Tool.Pnt_s(v(edge)) for v in (TopExp.FirstVertex_s, TopExp.LastVertex_s))
        if abs(a.Z() - b.Z()) > height and (way := (a.X() > 0, a.Y() > 0)) not in done:  # each ridge is met once from either side
            done.add(way)
            fillet.Add(r, edge)
    fillet.Build()
    far = half + hi * abs(slope) + 1
    return occ.common(fillet.Shape(), occ.prism([((-far, -far), None), ((far, -far), None), ((far, far), None), ((-far, far), None)], height))


def box(x, n):
    return {"t": "prism", "frame": {"o": [x, 0, 0], "x": [1, 0, 0], "z": [0, 0, 1]}, "height": 4,
            "profile": [{"at": p, "arc": None} for p in ([0, 0], [n, 0], [n, 4], [0, 4])]}


def stl_defects(c, good, scratch):
    c.none("selftest STL: good file, trimesh", stl.trimesh_problems(good))
    c.none("selftest STL: good file, admesh", stl.admesh_problems(good))
    c.none("selftest STL: good file, manifold3d, genus 5", stl.manifold_problems(good, 5))
    raw = trimesh.load(good, file_type="stl", process=False)
    t = raw.triangles.copy()

    def spoilt(name, triangles, readers):
        path = scratch / "spoilt.stl"
        trimesh.Trimesh(triangles.reshape(-1, 3), np.arange(len(triangles) * 3).reshape(-1, 3), process=False).export(path)
        for what, f in readers.items():
            found = f(path)
            c.check(f"selftest STL: {name}, {what} sees it", len(found) > 0, "; ".join(found))

    every = {"trimesh": stl.trimesh_problems, "admesh": stl.admesh_problems, "manifold3d": stl.manifold_problems}
    flipped = t.copy()
    flipped[100] = flipped[100][::-1]
    spoilt("flipped facet", flipped, every)
    spoilt("missing facet", np.delete(t, 100, axis=0), every)
    spoilt("doubled facet", np.concatenate([t, t[100:101]]), every)
    tetra = trimesh.creation.box((0.1, 0.1, 0.1)).triangles + [9, 9, 9]
    spoilt("second body", np.concatenate([t, tetra]), every)
    spoilt("inside out", t[:, ::-1], {"trimesh": stl.trimesh_problems})
    moved = t.copy()
    moved[100][0] += 2e-5
    spoilt("one corner moved by 20 nm, a slit", moved, every)
    c.check("selftest STL: wrong genus, manifold3d sees it", len(stl.manifold_problems(good, 4)) > 0)


def distance_defects(c, good, shape, scratch):
    c.check("selftest distance: good file", quiet(solids.check_distance, "d", good, shape, double.CHORD).failed == 0)
    raw = trimesh.load(good, file_type="stl", process=False)
    t = raw.triangles.copy()
    # a whole vertex pushed 30 um outwards, in every triangle that has it: closed, but not the solid
    v = t[np.argmax(raw.area_faces)][0].copy()
    t[(np.abs(t - v) < 1e-9).all(axis=2)] += 0.03 * v / np.linalg.norm(v)
    path = scratch / "dent.stl"
    trimesh.Trimesh(t.reshape(-1, 3), np.arange(len(t) * 3).reshape(-1, 3), process=False).export(path)
    c.check("selftest distance: a vertex 30 um off is seen", quiet(solids.check_distance, "d", path, shape, double.CHORD).failed > 0)
    # a feature left out of the STL altogether: only the way back from the solid shows it
    d = occt_link.dimensions(occt_link.read_jsonc(A))
    p = occt_link.pieces(d)
    plug = occ.fuse(shape, occ.prism([((-0.1, 1.06), None), ((0.1, 1.06), None), ((0.1, 1.07), None), ((-0.1, 1.07), None)], d["t_h"] * 0.6,
                                     occ.Frame((d["x_w"] - d["t_h"] * 0.3, 0, 0), (0, 1, 0), (1, 0, 0))), p["webs"][0])
    c.check("selftest distance: what the STL has lost is seen", compare.solid_to_stl(plug, good, 0.002)[0] > 0.01, "a 10 um fin inside the bore")


def step_defects(c, good, scratch):
    wrong, parsed = step_text.problems(good)
    c.none("selftest STEP: good file", wrong, f"{len(parsed.entities)} entities")
    text = pathlib.Path(good).read_text()

    def spoilt(name, new, kernel=False):
        path = scratch / "spoilt.step"
        path.write_text(new)
        if new == text:
            return c.check(f"selftest STEP: {name}", False, "the defect was not planted")
        try:
            found = step_text.problems(path)[0]
        except step_text.StepError as e:
            found = [e]
        c.check(f"selftest STEP: {name}, the text reader sees it", len(found) > 0, "; ".join(map(str, found))[:150])
        if kernel:
            try:
                found = occ.problems(occ.read_step(path))
            except RuntimeError as e:
                found = [e]
            c.check(f"selftest STEP: {name}, OCCT sees it", len(found) > 0, "; ".join(map(str, found))[:150])

    faces = [n for n, _ in parsed.of("ADVANCED_FACE")]
    spoilt("face without a name", text.replace("ADVANCED_FACE('face.1'", "ADVANCED_FACE(''", 1))
    spoilt("name used twice", text.replace("'face.2'", "'face.1'", 1))
    spoilt("face missing from the shell", text.replace(f"(#{faces[0]},#{faces[1]},", f"(#{faces[1]},", 1), True)
    oriented = [(n, a) for n, a in parsed.of("ORIENTED_EDGE")]
    (n0, a0), (_, a1) = oriented[0], oriented[9]
    spoilt("edge used three times", text.replace(f"#{n0} = ORIENTED_EDGE('',*,*,#{a0[3]},", f"#{n0} = ORIENTED_EDGE('',*,*,#{a1[3]},", 1))
    turned = ".F." if a0[4] == ".T." else ".T."
    spoilt("edge run twice the same way", text.replace(f"#{n0} = ORIENTED_EDGE('',*,*,#{a0[3]},{a0[4]})", f"#{n0} = ORIENTED_EDGE('',*,*,#{a0[3]},{turned})", 1))
    spoilt("metres", text.replace("SI_UNIT(.MILLI.,.METRE.)", "SI_UNIT($,.METRE.)"))
    spoilt("reference to nothing", text.replace(f"(#{faces[0]},#{faces[1]},", f"(#999999,#{faces[1]},", 1))
    spoilt("cut off", text[: len(text) // 2])


def dimension_defects(c, scratch):
    """Each dimension of the file wrong by 5 um (bur by 0.2 degrees) against the right link."""
    right = occt_link.read_jsonc(B)
    d = occt_link.dimensions(right)
    ref = occt_link.build(d)
    c.none("selftest link: OCCT's link is valid", occ.problems(ref))
    v, _, sure = slices.measure(d)
    c.check("selftest link: OCCT's boolean against slices", solids.relative(occ.volume(ref), v) <= solids.RELATIVE_SLICES, f"relative {solids.relative(occ.volume(ref), v):.1e}, slices converged to {sure:.1e}")
    for group, key in (("stone", "diameter"), ("collet", "width"), ("collet", "height"), ("collet", "foot_half_width"), ("collet", "wall"), ("seat", "rim_land"), ("seat", "bur_angle"), ("claw", "diameter"),
                       ("opening", "width"), ("opening", "bottom"), ("opening", "top"), ("opening", "stop"), ("opening", "bur"),
                       ("joint", "bore_width"), ("joint", "bore_height"), ("joint", "groove_depth"), ("joint", "groove_width"), ("joint", "web_height"), ("joint", "web_edge")):
        wrong = {g: dict(v) for g, v in right.items()}
        wrong[group][key] = occt_link.number(right[group][key]) + (0.2 if key == "bur_angle" else 0.005)
        shape = occt_link.build(occt_link.dimensions(wrong))
        v, a = solids.relative(occ.volume(shape), occ.volume(ref)), solids.relative(occ.area(shape), occ.area(ref))
        c.check(f"selftest link: {group}.{key} {'0.2 degrees' if key == 'bur_angle' else '5 um'} off is seen", max(v, a) > 10 * solids.RELATIVE, f"volume {v:.1e}, area {a:.1e}")
    # and the rays by formula see one directly
    wrong = dict(d, h_b=d["h_b"] + 0.005, z_b1=d["z_b1"] + 0.005)
    shape = occt_link.build(wrong)
    c.check("selftest link: bore height 5 um off is seen by rays", quiet(solids.check_twin, "t", shape, d, scratch / "s.step").failed >= 3)
    c.check("selftest link: a default left open is refused, not guessed", raised(occt_link.Missing, occt_link.dimensions, {k: v for k, v in right.items() if k != "claw"}))


def whole(c, scratch):
    """The checks of the product's files, run on a stand-in product: good, then spoilt one way at a time."""
    root = scratch / "root"
    (root / "params" / "bad").mkdir(parents=True)
    shutil.copy(B, root / "params")
    (root / "params" / "bad" / "size.jsonc").write_text('{"stone": {"diameter": -1}}')
    (root / "params" / "bad" / "twice.jsonc").write_text('{"stone": {}, "stone": {}}')
    wrapper = scratch / "colletline"
    wrapper.write_text(f'#!/bin/sh\nexec "{sys.executable}" "{HERE / "double.py"}" "$@"\n')
    wrapper.chmod(0o755)
    examples = scratch / "examples"
    examples.mkdir()
    for name in ("tree", "draws"):
        e = examples / name
        e.write_text(f'#!/bin/sh\nexec "{sys.executable}" "{HERE / "double.py"}" {name} "$@"\n')
        e.chmod(0o755)
    saved = product.ROOT, product.RELEASE, product.BINARY, check_exports.EXPLICIT
    product.ROOT, product.RELEASE, product.BINARY, check_exports.EXPLICIT = root, scratch, wrapper, (B.stem,)
    beyond, check_params.BEYOND_SCHEMA = check_params.BEYOND_SCHEMA, set()
    run_in = product.run
    product.run = lambda *a: run_in(*a, cwd=root)
    try:
        def exports(spoil):
            os.environ["DOUBLE_SPOIL"] = spoil
            return quiet(check_exports.main)

        k = exports("")
        c.check("selftest exports: stand-in good", k.failed == 0 and k.passed > 30, f"{k.passed} passed, {k.failed} failed: {'; '.join(k.failures)[:200]}")
        k = exports("dimension,volume,faces,genus,coarse,clock")
        for spoil, name in (("bore height 5 um off", "volume against OCCT's boolean of the same tree"), ("bore height 5 um off", "area against independent OCCT link"), ("bore height 5 um off", "volume against slices"),
                            ("bore height 5 um off", "groove depth, web height, bore height"), ("reported volume 1e-5 off", "reported volume"), ("one plane too few reported", "faces by surface"),
                            ("genus one too many reported", "link.trial.stl: manifold3d"), ("STL ten times too coarse", "STL to solid"), ("STL ten times too coarse", "solid to STL"), ("a number that changes in the report", "byte for byte")):
            c.check(f"selftest exports: {spoil}, seen by '{name}'", any(name in f for f in k.failures), f"{k.failed} failed in all")
        for spoil, name in (("key", "STEP"), ("lost", "files written"), ("exit", "make exits 0")):
            k = exports(spoil)
            c.check(f"selftest exports: stand-in spoilt: {spoil}", any(name in f for f in k.failures), "; ".join(k.failures)[:200])
        for spoil in ("", "code", "schema"):
            os.environ["DOUBLE_SPOIL"] = spoil
            k = quiet(check_params.main)
            c.check(f"selftest params: stand-in {'spoilt: ' + spoil if spoil else 'good'}", k.failed > 0 if spoil else k.failed == 0 and k.passed > 8, f"{k.passed} passed, {k.failed} failed: {'; '.join(k.failures)[:200]}")
        for spoil in ("", "dimension", "lost", "died"):
            os.environ["DOUBLE_SPOIL"] = spoil
            with tempfile.TemporaryDirectory() as out:
                k = quiet(random_links.run, 3, 1, out)
            c.check(f"selftest random links: stand-in {'spoilt: ' + spoil if spoil else 'good'}", k.failed >= 1 if spoil else k.failed == 0 and k.passed == 5, f"{k.passed} passed, {k.failed} failed: {'; '.join(k.failures)[:200]}")
    finally:
        os.environ.pop("DOUBLE_SPOIL", None)
        product.ROOT, product.RELEASE, product.BINARY, check_exports.EXPLICIT = saved
        product.run = run_in
        check_params.BEYOND_SCHEMA = beyond


def main(c):
    with tempfile.TemporaryDirectory() as scratch:
        scratch = pathlib.Path(scratch)
        with c.section("selftest: harness and reading"):
            harness(c)
            reading(c)
        with c.section("selftest: primitives"):
            primitives(c)
        with c.section("selftest: STL and STEP defects"):
            shape = occt_link.build(occt_link.dimensions(occt_link.read_jsonc(A)))
            occ.write_stl(shape, scratch / "good.stl", 0.002)
            double.named_step(shape, scratch / "good.step")
            stl_defects(c, scratch / "good.stl", scratch)
            step_defects(c, scratch / "good.step", scratch)
            distance_defects(c, scratch / "good.stl", shape, scratch)
        with c.section("selftest: dimensions"):
            dimension_defects(c, scratch)
        with c.section("selftest: whole runs"):
            whole(c, scratch)


if __name__ == "__main__":
    checks = Checks()
    main(checks)
    print(f"{checks.passed} passed, {checks.failed} failed")
    sys.exit(checks.failed > 0 or checks.passed == 0)
