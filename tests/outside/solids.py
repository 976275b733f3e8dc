"""Checks of one link's STEP and STL against the report and against solids that OCCT built by itself."""
import json

import compare
import occ
import occt_link
import occt_tree
import slices
import step_text
import stl
from contract import AREA, CHORD, FACES, GENUS, VOLUME, look

# Volume and area against OCCT, relative. OCCT's own STEP round trip of a link moves them by 1e-11 and 3e-11, its boolean of set A
# is 2.9e-9 off the slices; a dimension wrong by 5 micrometres moves the volume by 1e-5 or more.
RELATIVE = 1e-6
# Slices: two Gauss rules differ by 2e-11 at most on the development links. Against them OCCT's volumes and areas are off by up to
# 1.4e-8 (near-tangent corners); a wrong dimension is far above either.
SLICES_SURE = 1e-9
RELATIVE_SLICES = 1e-7
# Centre of mass and dimensions by ray, mm. STEP carries 1e-7 edges, OCCT's intersector is asked for 1e-9.
PLACE = 1e-6
# OCCT widens its boxes by its 1e-7 confusion distance.
BOX = 1e-6
# f32 coordinates below 8 mm are rounded by at most 2.4e-7 mm an axis; added to the chord error the report promises.
F32 = 5e-7


def relative(a, b):
    return abs(a - b) / abs(b)


def check_step(c, name, path, report=None, wants=None):
    """STEP as text and through OCCT; returns OCCT's reading of it. `wants`: face counts where there is no report."""
    wrong, parsed = step_text.problems(path)
    edges = len(parsed.of("EDGE_CURVE"))
    c.none(f"{name}: STEP text (each edge twice, one shell, names, mm)", wrong, f"{edges} edges, {len(parsed.of('ADVANCED_FACE'))} faces")
    if report is not None:
        counts = step_text.faces_by_surface(parsed)
        wants = {kind: look(report, key) for kind, key in FACES.items()}
        c.check(f"{name}: faces by surface as reported", {k: counts.get(k, 0) for k in FACES} == wants and sum(counts.values()) == sum(wants.values()), f"STEP {dict(counts)}, report {wants}")
    shape = occ.read_step(path)
    c.none(f"{name}: OCCT reads one valid closed solid", occ.problems(shape))
    return shape


def check_against(c, name, shape, ref, what, allowed=RELATIVE):
    """Two OCCT shapes: volume, area, centre, box."""
    for quantity, f in (("volume", occ.volume), ("area", occ.area)):
        a, b = f(shape), f(ref)
        c.check(f"{name}: {quantity} against {what}", relative(a, b) <= allowed, f"{a:.9f} against {b:.9f}, relative {relative(a, b):.1e}, allowed {allowed:.1e}")
    gap = max(abs(a - b) for a, b in zip(occ.centre(shape), occ.centre(ref)))
    c.check(f"{name}: centre of mass against {what}", gap <= PLACE, f"off {gap:.1e} mm")
    gap = max(abs(a - b) for a, b in zip(occ.bounds(shape), occ.bounds(ref)))
    c.check(f"{name}: box against {what}", gap <= BOX, f"off {gap:.1e} mm")


def own_noise(ref, scratch):
    """OCCT's own relative difference between a boolean and the same solid reread from STEP: what it cannot tell apart."""
    occ.write_step(ref, scratch)
    again = occ.read_step(scratch)
    return max(relative(occ.volume(again), occ.volume(ref)), relative(occ.area(again), occ.area(ref)))


def check_report(c, name, shape, report):
    for quantity, key, f in (("volume", VOLUME, occ.volume), ("area", AREA, occ.area)):
        a, b = look(report, key), f(shape)
        c.check(f"{name}: reported {quantity} against OCCT's of the STEP", relative(a, b) <= RELATIVE, f"{a:.9f} against {b:.9f}, relative {relative(a, b):.1e}")


def check_twin(c, name, shape, d, scratch):
    """Against the link written independently from the parameter file: OCCT booleans, slices, and rays by formula."""
    ref = occt_link.build(d)
    c.none(f"{name}: independent OCCT link is itself valid", occ.problems(ref))
    noise = own_noise(ref, scratch)
    check_against(c, name, shape, ref, f"independent OCCT link (OCCT's own noise {noise:.0e})", max(RELATIVE, noise))
    *known, sure = slices.measure(d)
    c.check(f"{name}: slices agree with themselves", sure <= SLICES_SURE, f"relative {sure:.1e}")
    for quantity, f, v in zip(("volume", "area"), (occ.volume, occ.area), known):
        c.check(f"{name}: {quantity} against slices (no kernel)", relative(f(shape), v) <= RELATIVE_SLICES, f"{f(shape):.9f} against {v:.9f}, relative {relative(f(shape), v):.1e}")
    for what, origin, direction, wants in occt_link.probes(d):
        a, b = compare.hits(shape, origin, direction), compare.hits(ref, origin, direction)
        missing = [w for w in wants if not any(abs(h - w) <= PLACE for h in a)]
        same = len(a) == len(b) and all(abs(x - y) <= PLACE for x, y in zip(a, b))
        c.check(f"{name}: {what}", not missing and same, "at " + ", ".join(f"{w:.4f}" for w in wants) if not missing and same else f"wanted {wants}, missing {missing}; hits {a}; twin {b}")


def check_tree(c, name, shape, tree, scratch):
    ref = occt_tree.build(tree)
    c.none(f"{name}: OCCT's boolean of the same tree is valid", occ.problems(ref))
    noise = own_noise(ref, scratch)
    check_against(c, name, shape, ref, f"OCCT's boolean of the same tree (its own noise {noise:.0e})", max(RELATIVE, noise))


def check_stl(c, name, path, genus):
    c.none(f"{name}: trimesh", stl.trimesh_problems(path))
    c.none(f"{name}: admesh", stl.admesh_problems(path))
    c.none(f"{name}: manifold3d, genus {genus}", stl.manifold_problems(path, genus))
    v = stl.volumes(path)
    # admesh prints six significant digits and sums in f32
    spread = (max(v.values()) - min(v.values())) / min(v.values())
    c.check(f"{name}: three programs agree on the volume", spread <= 1e-5 and min(v.values()) > 0, ", ".join(f"{k} {x:.6f}" for k, x in v.items()))


def check_distance(c, name, path, shape, chord, samples=1600):
    far, mean, at, n, vertices = compare.stl_to_solid(path, shape, samples)
    c.check(f"{name}: STL to solid below the chord error", far <= chord + F32, f"largest {far * 1e3:.3f} um at {at}, mean {mean * 1e3:.3f}, {n} points, chord {chord * 1e3:.3f} um")
    c.check(f"{name}: STL vertices lie on the solid", vertices <= 2 * F32, f"largest {vertices * 1e6:.1f} nm")
    far, at, n = compare.solid_to_stl(shape, path, chord)
    c.check(f"{name}: solid to STL below the chord error", far <= chord + F32, f"largest {far * 1e3:.3f} um at {at}, {n} points")


def load_report(path):
    with open(path, encoding="utf-8") as f:
        return json.load(f)


def genus_and_chord(report):
    return look(report, GENUS), look(report, CHORD)
