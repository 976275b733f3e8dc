"""Solid against solid, solid against mesh: the measurements the checks are made of. General geometry only."""
import numpy as np
import occ
import stl
import trimesh
from OCP.gp import gp_Dir, gp_Lin, gp_Pnt
from OCP.IntCurvesFace import IntCurvesFace_ShapeIntersector

# A hit twice within this is one hit: a line that runs through the edge between two faces. Far below any dimension of a link.
SAME_HIT = 1e-6
# A distance, mm, beyond any chord that is compared, after which a point is asked again, and the steps beside it.
SUSPECT, STEP = 0.02, 1e-6


def hits(shape, origin, direction, reach=50.0):
    """Sorted distances from `origin` along `direction` at which the line crosses the boundary, both ways."""
    i = IntCurvesFace_ShapeIntersector()
    i.Load(shape, 1e-9)
    i.Perform(gp_Lin(gp_Pnt(*map(float, origin)), gp_Dir(*map(float, direction))), -reach, reach)
    found = sorted(i.WParameter(k) for k in range(1, i.NbPnt() + 1))
    return [w for k, w in enumerate(found) if k == 0 or w - found[k - 1] > SAME_HIT]


def mesh_volume(shape, deflection):
    """Volume of OCCT's own mesh: no Gauss integration over trimmed faces in it, so a second way to the same number."""
    t = occ.triangles(shape, deflection)
    return float(np.einsum("ij,ij->i", t[:, 0], np.cross(t[:, 1], t[:, 2])).sum() / 6)


def distance(faces, point):
    """Distance of a point from a boundary(). OCCT has been seen to overlook the very face a point lies on where the point's
    parameters are round numbers; asked a little beside it finds it. No point is farther than its neighbour and the step to it."""
    d = occ.distance(faces, point)
    if d < SUSPECT:
        return d
    beside = ((STEP, 2 * STEP, 3 * STEP), (-3 * STEP, STEP, -2 * STEP))
    return min([d, *(occ.distance(faces, np.asarray(point) + s) + float(np.linalg.norm(s)) for s in beside)])


def stl_to_solid(path, shape, samples, seed=1):
    """Largest and mean distance from the STL to the solid, over its vertices, its largest triangles and a seeded sample.

    The chord error of a flat triangle on a convex face is largest inside, so centroids and edge middles of the largest
    triangles are asked first.
    """
    _, m = stl.load(path)
    faces = occ.boundary(shape)
    order = np.argsort(-m.area_faces, kind="stable")[: samples // 4]
    corners = m.triangles[order]
    longest = np.argmax(((corners - np.roll(corners, 1, axis=1)) ** 2).sum(axis=2), axis=1)
    middles = ((corners + np.roll(corners, 1, axis=1)) / 2)[np.arange(len(corners)), longest]
    rng = np.random.default_rng(seed)
    spread = trimesh.sample.sample_surface(m, samples // 4, seed=seed)[0]
    picked = m.vertices[rng.permutation(len(m.vertices))[: samples // 4]]
    points = np.concatenate([picked, corners.mean(axis=1), middles, spread])
    d = np.array([distance(faces, p) for p in points])
    worst = points[int(d.argmax())]
    return float(d.max()), float(d.mean()), tuple(round(float(x), 4) for x in worst), len(points), float(d[: len(picked)].max())


def solid_to_stl(shape, path, deflection):
    """Largest distance from points on the solid to the STL: finds what the STL has lost. Points: vertices of OCCT's own mesh."""
    _, m = stl.load(path)
    points = np.unique(occ.triangles(shape, deflection).reshape(-1, 3), axis=0)
    _, d, _ = trimesh.proximity.closest_point(m, points)
    worst = points[int(d.argmax())]
    return float(d.max()), tuple(round(float(x), 4) for x in worst), len(points)
