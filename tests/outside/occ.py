"""Small door to OCCT (cadquery-ocp): the second kernel that the product's solids are held against.

Millimetres throughout. Everything here is general geometry; nothing knows what a bracelet is.
"""
import math
import os

from OCP.Bnd import Bnd_Box
from OCP.BRep import BRep_Tool
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon, BRepBuilderAPI_MakeSolid, BRepBuilderAPI_MakeVertex, BRepBuilderAPI_MakeWire, BRepBuilderAPI_Sewing, BRepBuilderAPI_Transform
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepGProp import BRepGProp
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism, BRepPrimAPI_MakeRevol
from OCP.BRepTools import BRepTools
from OCP.GC import GC_MakeArcOfCircle
from OCP.gp import gp_Ax1, gp_Ax2, gp_Ax3, gp_Dir, gp_Pnt, gp_Trsf, gp_Vec
from OCP.GProp import GProp_GProps
from OCP.IFSelect import IFSelect_RetDone
from OCP.Interface import Interface_Static
from OCP.Message import Message, Message_Gravity
from OCP.ShapeAnalysis import ShapeAnalysis_FreeBounds
from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain
from OCP.STEPControl import STEPControl_AsIs, STEPControl_Reader, STEPControl_Writer
from OCP.StlAPI import StlAPI_Writer
from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE, TopAbs_REVERSED, TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS
from OCP.OCP.collections import List_TopoDS_Shape

# Relative error per face asked of OCCT's adaptive Gauss integration. Measured on the links: 1e-10 and 1e-8 agree to 11 digits.
INTEGRATION_EPS = 1e-10

# OCCT prints transfer statistics to stdout; failures still come back as return values.
for _printer in Message.DefaultMessenger_s().Printers():
    _printer.SetTraceLevel(Message_Gravity.Message_Fail)


class Frame:
    """Right-handed frame: origin o, unit x and z (y = z cross x)."""

    def __init__(self, o=(0, 0, 0), x=(1, 0, 0), z=(0, 0, 1)):
        self.o, self.x, self.z = gp_Vec(*o), gp_Vec(*x).Normalized(), gp_Vec(*z).Normalized()
        if abs(self.x.Dot(self.z)) > 1e-9:
            raise ValueError("frame: x is not square to z")
        self.y = self.z.Crossed(self.x)

    def point(self, x, y, z):
        v = self.o + self.x * x + self.y * y + self.z * z
        return gp_Pnt(v.X(), v.Y(), v.Z())


def revolve(profile, frame=Frame()):
    """Closed polygon [(r, z)] turned fully about the frame's z."""
    wire = BRepBuilderAPI_MakePolygon()
    for r, z in profile:
        wire.Add(frame.point(r, 0, z))
    wire.Close()
    face = BRepBuilderAPI_MakeFace(wire.Wire()).Face()
    return BRepPrimAPI_MakeRevol(face, gp_Ax1(frame.point(0, 0, 0), gp_Dir(frame.z))).Shape()


def prism(profile, height, frame=Frame()):
    """Closed line-arc profile [((x, y), None | ((cx, cy), ccw))] in the frame's xy, extruded along z.

    The second item describes the way from this corner to the next.
    """
    wire = BRepBuilderAPI_MakeWire()
    for i, ((x, y), arc) in enumerate(profile):
        u, v = profile[(i + 1) % len(profile)][0]
        a, b = frame.point(x, y, 0), frame.point(u, v, 0)
        if arc is None:
            edge = BRepBuilderAPI_MakeEdge(a, b)
        else:
            (cx, cy), ccw = arc
            start, end = math.atan2(y - cy, x - cx), math.atan2(v - cy, u - cx)
            turn = (end - start) % (2 * math.pi) if ccw else -((start - end) % (2 * math.pi))
            r, mid = math.hypot(x - cx, y - cy), start + turn / 2
            edge = BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(a, frame.point(cx + r * math.cos(mid), cy + r * math.sin(mid), 0), b).Value())
        wire.Add(edge.Edge())
        if not wire.IsDone():
            raise ValueError(f"prism: profile does not connect at corner {i}")
    return BRepPrimAPI_MakePrism(BRepBuilderAPI_MakeFace(wire.Wire()).Face(), frame.z * height).Shape()


def polyhedron(faces):
    """Closed solid of flat polygons [[(x, y, z), ...], ...]; neighbours give their common corners the same numbers."""
    sewing = BRepBuilderAPI_Sewing(1e-9)
    for f in faces:
        wire = BRepBuilderAPI_MakePolygon()
        for corner in f:
            wire.Add(gp_Pnt(*corner))
        wire.Close()
        sewing.Add(BRepBuilderAPI_MakeFace(wire.Wire(), True).Face())
    sewing.Perform()
    if sewing.NbFreeEdges():
        raise ValueError("polyhedron: not closed")
    solid = BRepBuilderAPI_MakeSolid(TopoDS.Shell(sewing.SewedShape())).Solid()
    return solid if volume(solid) > 0 else solid.Reversed()


def taper(half, slope, r, height, frame=Frame()):
    """Square body of half width half + z slope, z 0 to height: four leaning planes, and at each corner a right circular cylinder of
    radius r that touches two of them (r 0: sharp ridges). An eight-sided frustum through the tangent lines and on each corner a
    segment of a cylinder, all longer than wanted, then cut square."""
    root = math.hypot(1, slope)
    least = min(half, half + height * slope) - r * root  # how far the corners' axes are from the middle at the narrow end
    e = min(1.0, least / abs(slope) / 2) if slope else 1.0
    lo, hi = -e, height + e

    def ring(z):
        w = half + z * slope
        t = w - r * root + r * slope * slope / root  # where the corner's tangent line lies beside the middle of the side
        return [(sx * x, sy * y, z) for sx, sy, order in ((1, 1, 1), (-1, 1, -1), (-1, -1, 1), (1, -1, -1)) for x, y in ((w, t), (t, w))[::order][: 2 if r else 1]]

    bottom, top = ring(lo), ring(hi)
    n = len(bottom)
    parts = [polyhedron([bottom[::-1], top, *([bottom[i], bottom[(i + 1) % n], top[(i + 1) % n], top[i]] for i in range(n))])]
    for sx in (1, -1):
        for sy in (1, -1) if r else ():
            n1, n2 = (sx / root, 0, -slope / root), (0, sy / root, -slope / root)  # normals of the two sides, both square to the ridge
            q = half + lo * slope - r * root
            at = Frame((sx * q, sy * q, lo), n1, (sx * slope, sy * slope, 1))
            x, y = (gp_Vec(*n2).Dot(v) for v in (at.x, at.y))
            parts.append(prism([((r, 0), ((0, 0), y > 0)), ((r * x, r * y), None)], (hi - lo) * math.sqrt(1 + 2 * slope * slope), at))
    far = half + hi * abs(slope) + 1
    slab = prism([((-far, -far), None), ((far, -far), None), ((far, far), None), ((-far, far), None)], height)
    return moved(common(fuse(*parts), slab), frame)


def moved(shape, frame):
    """The shape, drawn in the world's frame, put into `frame`."""
    t = gp_Trsf()
    t.SetTransformation(gp_Ax3(frame.point(0, 0, 0), gp_Dir(frame.z), gp_Dir(frame.x)), gp_Ax3())
    return BRepBuilderAPI_Transform(shape, t, True).Shape()


def mirrored(shape, normal=(1, 0, 0)):
    """Reflected in the plane through the origin square to `normal`."""
    t = gp_Trsf()
    t.SetMirror(gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(*normal)))
    return BRepBuilderAPI_Transform(shape, t, True).Shape()


def _list(shapes):
    result = List_TopoDS_Shape()
    for s in shapes:
        result.Append(s)
    return result


def _boolean(op, args, tools):
    op.SetArguments(_list(args))
    op.SetTools(_list(tools))
    op.SetRunParallel(False)
    op.Build()
    if not op.IsDone():
        raise RuntimeError("OCCT boolean failed")
    return op.Shape()


def fuse(first, *others):
    return _boolean(BRepAlgoAPI_Fuse(), [first], others) if others else first


def cut(body, *tools):
    return _boolean(BRepAlgoAPI_Cut(), [body], tools) if tools else body


def common(first, *others):
    return _boolean(BRepAlgoAPI_Common(), [first], others)


def unify(shape):
    """Merges neighbouring faces on one surface and edges on one curve: what a person would count."""
    u = ShapeUpgrade_UnifySameDomain(shape, True, True, False)
    u.Build()
    return u.Shape()


def subshapes(shape, kind):
    e, found = TopExp_Explorer(shape, kind), []
    while e.More():
        found.append(e.Current())
        e.Next()
    return found


def count(shape, kind):
    return len(subshapes(shape, kind))


def volume(shape, eps=INTEGRATION_EPS):
    g = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, g, eps)
    return g.Mass()


def area(shape, eps=INTEGRATION_EPS):
    g = GProp_GProps()
    BRepGProp.SurfaceProperties_s(shape, g, eps)
    return g.Mass()


def outline(face):
    """Length of a face's edges."""
    g = GProp_GProps()
    BRepGProp.LinearProperties_s(face, g)
    return g.Mass()


def centre(shape, eps=INTEGRATION_EPS):
    g = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, g, eps)
    c = g.CentreOfMass()
    return c.X(), c.Y(), c.Z()


def bounds(shape):
    b = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape, b, False, False)
    lo, hi = b.CornerMin(), b.CornerMax()
    return lo.X(), lo.Y(), lo.Z(), hi.X(), hi.Y(), hi.Z()


def problems(shape):
    """What keeps the shape from being exactly one valid closed solid; empty when nothing does."""
    found = []
    if not BRepCheck_Analyzer(shape).IsValid():
        bad = sum(not BRepCheck_Analyzer(f).IsValid() for f in subshapes(shape, TopAbs_FACE))
        found.append(f"BRepCheck: not valid ({bad} faces bad on their own)")
    solids = count(shape, TopAbs_SOLID)
    if solids != 1:
        found.append(f"{solids} solids where one is wanted")
    free = ShapeAnalysis_FreeBounds(shape)
    open_edges = count(free.GetOpenWires(), TopAbs_EDGE) + count(free.GetClosedWires(), TopAbs_EDGE)
    if open_edges:
        found.append(f"{open_edges} free edges: not closed")
    return found


def read_step(path):
    reader = STEPControl_Reader()
    if reader.ReadFile(str(path)) != IFSelect_RetDone:
        raise RuntimeError(f"OCCT cannot read {path}")
    if reader.TransferRoots() < 1:
        raise RuntimeError(f"OCCT finds nothing to transfer in {path}")
    return reader.OneShape()


def write_step(shape, path):
    writer = STEPControl_Writer()
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    if writer.Transfer(shape, STEPControl_AsIs) != IFSelect_RetDone or writer.Write(str(path)) != IFSelect_RetDone:
        raise RuntimeError(f"OCCT cannot write {path}")


def mesh(shape, deflection, angle=0.5):
    BRepTools.Clean_s(shape)
    BRepMesh_IncrementalMesh(shape, deflection, False, angle, False)


def triangles(shape, deflection, angle=0.5):
    """(n, 3, 3) corner coordinates of OCCT's own mesh, wound outwards; the vertices lie on the surfaces.

    OCCT gives no triangles to a face thinner than the deflection (a lens of 0.07 mm by 0.1 um where a claw just stands over a
    rim was seen); any other face without triangles is an error."""
    import numpy as np

    mesh(shape, deflection, angle)
    out = []
    for f in subshapes(shape, TopAbs_FACE):
        loc = TopLoc_Location()
        t = BRep_Tool.Triangulation_s(TopoDS.Face(f), loc)
        if t is None:
            if area(f) > deflection * outline(f) / 2:
                raise RuntimeError(f"OCCT left a face of {area(f):.1e} mm2 without triangles")
            continue
        trsf, flip = loc.Transformation(), f.Orientation() == TopAbs_REVERSED
        p = [(q.X(), q.Y(), q.Z()) for q in (t.Node(i).Transformed(trsf) for i in range(1, t.NbNodes() + 1))]
        for i in range(1, t.NbTriangles() + 1):
            a, b, c = t.Triangle(i).Get()
            out.append((p[a - 1], p[c - 1], p[b - 1]) if flip else (p[a - 1], p[b - 1], p[c - 1]))
    return np.array(out)


def converged_volume(shape, angle=0.16):
    """Volume from OCCT's own meshes, halved twice and extrapolated (Richardson: the error of a mesh whose corners lie on the surface
    falls with the square of its size), and how the two steps compare: 4 where that law holds."""
    import numpy as np

    found = []
    for a in (angle, angle / 2, angle / 4):
        t = triangles(shape, a * a / 40, a)
        found.append(float(np.einsum("ij,ij->i", t[:, 0], np.cross(t[:, 1], t[:, 2])).sum() / 6))
    return (4 * found[2] - found[1]) / 3, (found[1] - found[0]) / (found[2] - found[1])


def write_stl(shape, path, deflection):
    mesh(shape, deflection)
    writer = StlAPI_Writer()
    writer.ASCIIMode = False
    if not writer.Write(shape, str(path)):
        raise RuntimeError(f"OCCT cannot write {path}")
    return os.path.getsize(path)


def boundary(shape):
    """The faces alone, so that the distance of a point inside the solid is not zero."""
    from OCP.BRep import BRep_Builder
    from OCP.TopoDS import TopoDS_Compound

    compound, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(compound)
    for f in subshapes(shape, TopAbs_FACE):
        builder.Add(compound, f)
    return compound


def distance(faces, point):
    """Distance of a point from a boundary()."""
    d = BRepExtrema_DistShapeShape(BRepBuilderAPI_MakeVertex(gp_Pnt(*map(float, point))).Vertex(), faces)
    if not d.IsDone():
        raise RuntimeError("OCCT distance failed")
    return d.Value()
