"""A plain reference of the same method, to time the product against: the least chord between facets that leans at most 15 deg from
square to both, by branch and bound in numpy, whole levels at a time, one core.

Boxes with cones of normals are paired first, then facets, which are halved. Simpler than the product: facets only, no fans of normals
at edges, and pairs that share a corner are left out; it must still find the same wall. run(mesh, seconds) gives lower bound, upper
bound and whether it ended by itself."""
import time

import numpy as np

DELTA = np.radians(15.0)
TOLERANCE = 1e-3
# Pairs held at once: what a few GB take.
AT_ONCE = 400_000


def angle(a, b):
    return np.arccos(np.clip(np.einsum("ij,ij->i", a, b), -1.0, 1.0))


class Tree:
    """Halves the facets by the longest side of the box of their middles."""

    def __init__(self, corners, normals):
        self.lo, self.hi, self.axis, self.spread, self.child, self.facets = [], [], [], [], [], []
        middle = corners.mean(axis=1)
        todo = [(np.arange(len(corners)), -1, 0)]
        while todo:
            own, parent, side = todo.pop()
            here = len(self.lo)
            if parent >= 0:
                self.child[parent][side] = here
            self.lo.append(corners[own].min(axis=(0, 1)))
            self.hi.append(corners[own].max(axis=(0, 1)))
            axis = normals[own].sum(axis=0)
            size = np.linalg.norm(axis)
            axis = axis / size if size > 1e-9 else np.array([0.0, 0.0, 1.0])
            self.axis.append(axis)
            self.spread.append(np.arccos(np.clip(normals[own] @ axis, -1, 1)).max() if size > 1e-9 else np.pi)
            self.child.append([-1, -1])
            self.facets.append(own[0])
            if len(own) > 1:
                k = np.argmax(np.ptp(middle[own], axis=0))
                own = own[np.argsort(middle[own, k], kind="stable")]
                todo += [(own[: len(own) // 2], here, 0), (own[len(own) // 2 :], here, 1)]
        self.lo, self.hi, self.axis, self.spread = map(np.array, (self.lo, self.hi, self.axis, self.spread))
        self.child, self.facets = np.array(self.child), np.array(self.facets)


def boxes(tree, upper, until):
    """Pairs of facets that boxes and cones do not exclude."""
    pairs, out = np.array([[0, 0]]), []
    while len(pairs) and time.process_time() < until:
        now, pairs = pairs[-AT_ONCE:], pairs[:-AT_ONCE]
        a, b = now.T
        gap = np.linalg.norm(np.maximum(np.maximum(tree.lo[a] - tree.hi[b], tree.lo[b] - tree.hi[a]), 0), axis=1)
        apart = np.pi - angle(tree.axis[a], tree.axis[b])
        a, b = now[(gap < upper) & (apart <= tree.spread[a] + tree.spread[b] + 2 * DELTA)].T
        leaf = (tree.child[a, 0] < 0) & (tree.child[b, 0] < 0)
        out.append(np.stack([a[leaf], b[leaf]], axis=1)[a[leaf] != b[leaf]])
        a, b = a[~leaf], b[~leaf]
        size = [np.where(tree.child[x, 0] < 0, -1.0, np.linalg.norm(tree.hi[x] - tree.lo[x], axis=1)) for x in (a, b)]
        same = a == b
        first = (size[0] >= size[1]) & ~same
        parts = [np.stack([tree.child[a[same], i], tree.child[a[same], j]], axis=1) for i, j in ((0, 0), (1, 1), (0, 1))]
        parts += [np.stack([tree.child[a[first], i], b[first]], axis=1) for i in (0, 1)]
        rest = ~same & ~first
        parts += [np.stack([a[rest], tree.child[b[rest], i]], axis=1) for i in (0, 1)]
        pairs = np.concatenate([pairs, *parts])
    return np.concatenate(out), len(pairs) == 0


def halves(t):
    """Both halves of triangles over their longest side."""
    i = np.argmax(np.linalg.norm(t - np.roll(t, -1, axis=1), axis=2), axis=1)
    r = np.arange(len(t))
    j = (i + 1) % 3
    m = (t[r, i] + t[r, j]) / 2
    x, y = t.copy(), t.copy()
    x[r, i], y[r, j] = m, m
    return x, y


def run(mesh, seconds):
    corners, normals, ids = mesh.triangles, mesh.face_normals, mesh.faces
    until = time.process_time() + seconds
    upper, lower = float(np.linalg.norm(mesh.extents)), np.inf
    tree = Tree(corners, normals)
    nodes, complete = boxes(tree, upper, until)
    f, g = tree.facets[nodes[:, 0]], tree.facets[nodes[:, 1]]
    free = ~(ids[f][:, :, None] == ids[g][:, None, :]).any(axis=(1, 2))
    near = np.argsort(-np.linalg.norm(corners[f[free]].mean(axis=1) - corners[g[free]].mean(axis=1), axis=1), kind="stable")
    f, g = f[free][near], g[free][near]
    stack = [(corners[f], corners[g], normals[f], normals[g])]
    while stack and time.process_time() < until:
        a, b, n, m = stack.pop()
        if len(a) > AT_ONCE:
            stack.append(tuple(x[:-AT_ONCE] for x in (a, b, n, m)))
            a, b, n, m = (x[-AT_ONCE:] for x in (a, b, n, m))
        ca, cb = a.mean(axis=1), b.mean(axis=1)
        ra = np.linalg.norm(a - ca[:, None], axis=2).max(axis=1)
        rb = np.linalg.norm(b - cb[:, None], axis=2).max(axis=1)
        d = cb - ca
        far = np.linalg.norm(d, axis=1)
        rho = ra + rb
        # Every point of a facet lies beyond the plane through its nearest corner square to the line of middles.
        u = d / np.maximum(far, 1e-12)[:, None]
        least = np.maximum(far - rho, (np.einsum("ijk,ik->ij", b, u).min(axis=1) - np.einsum("ijk,ik->ij", a, u).max(axis=1)))
        sway = np.where(far > rho, np.arcsin(np.clip(rho / np.maximum(far, 1e-12), 0, 1)), np.pi)
        lean = np.maximum(angle(-u, n), angle(u, m))
        feasible = (lean <= DELTA) & (far > 0)
        if feasible.any():
            upper = min(upper, far[feasible].min())
        keep = (least < upper - TOLERANCE) & (lean <= DELTA + sway)
        done = keep & (rho < TOLERANCE / 2)
        if done.any():
            lower = min(lower, least[done].min())
        keep &= ~done
        a, b, n, m, ra, rb = a[keep], b[keep], n[keep], m[keep], ra[keep], rb[keep]
        first = ra >= rb
        for which, (s, t) in ((first, (a, b)), (~first, (b, a))):
            if which.any():
                for h in halves(s[which]):
                    stack.append((h, b[which], n[which], m[which]) if which is first else (a[which], h, n[which], m[which]))
    return min(lower, upper - TOLERANCE), upper, complete and not stack
