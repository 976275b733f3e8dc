//! The one door to the truck kernel: our solid as a `truck_modeling::Solid`.

use super::brep::{Face, Solid};
use super::curve::Curve;
use super::nurbs::Nurbs;
use super::surface::Surface;
use truck_modeling as tm;
use truck_modeling::InnerSpace as _;

/// How far a surface's generator reaches beyond the face at either end, mm: more than truck's own tolerance, small
/// against the part.
const REACH: f64 = 0.01;

impl Solid {
    /// The same solid for the truck kernel, which checks for itself that its shell is closed and oriented.
    ///
    /// # Errors
    /// What truck refused, as text.
    pub fn to_truck(&self) -> Result<tm::Solid, String> {
        let vertices: Vec<tm::Vertex> = self.vertices.iter().map(|p| tm::builder::vertex(point(p))).collect();
        let edges = self
            .edges
            .iter()
            .map(|e| {
                let [a, b] = e.ends.map(|v| &vertices[v]);
                tm::Edge::try_new(a, b, curve(&e.curve)).map_err(|e| e.to_string())
            })
            .collect::<Result<Vec<_>, _>>()?;
        let faces = self
            .faces
            .iter()
            .map(|f| {
                let wires = f.loops.iter().map(|ring| {
                    ring.iter()
                        .map(|u| if u.forward { edges[u.edge].clone() } else { edges[u.edge].inverse() })
                        .collect::<tm::Wire>()
                });
                tm::Face::try_new(wires.collect(), self.truck_surface(f)?)
                    .map_err(|e| format!("{}: {e}", f.name))
            })
            .collect::<Result<Vec<_>, _>>()?;
        let shells = self
            .shell_list()
            .iter()
            .map(|list| {
                let shell: tm::Shell = list.iter().map(|&f| faces[f].clone()).collect();
                match shell.shell_condition() {
                    tm::ShellCondition::Closed => Ok(shell),
                    other => Err(format!("a shell is {other:?}")),
                }
            })
            .collect::<Result<Vec<_>, _>>()?;
        tm::Solid::try_new(shells).map_err(|e| e.to_string())
    }

    /// A truck surface whose own normal points out of the material, its seam where the face is not.
    fn truck_surface(&self, face: &Face) -> Result<tm::Surface, String> {
        Ok(match &face.surface {
            Surface::Torus(t) => {
                let turned = self.turned(face, t);
                let t = turned.ok_or_else(|| format!("{}: reaches the poles of its sphere", face.name))?;
                let axis = tm::Vector3::new(t.axis.x, t.axis.y, t.axis.z);
                tm::Surface::RevolutedCurve(tm::Processor::new(tm::RevolutedCurve::by_revolution(
                    curve(&Curve::Arc(t.arc)),
                    point(&t.origin),
                    axis.normalize(),
                )))
            }
            Surface::Plane(p) => {
                let (u, v) = p.axes();
                let o = nalgebra::Point3::from(p.normal * p.offset);
                // Swapping the axes turns the normal round.
                let (u, v) = if face.outward { (u, v) } else { (v, u) };
                tm::Surface::Plane(tm::Plane::new(point(&o), point(&(o + u)), point(&(o + v))))
            }
            Surface::Cone(c) => {
                let heights = face.loops.iter().flatten().flat_map(|u| {
                    let curve = &self.edges[u.edge].curve;
                    curve.knots().into_iter().map(|t| c.angle_height(&curve.point(t)).1)
                });
                let (mut low, mut high) = (f64::MAX, f64::MIN);
                for h in heights {
                    low = low.min(h);
                    high = high.max(h);
                }
                let reach = REACH + 0.2 * (high - low);
                (low, high) = (low - reach, high + reach);
                // Clear of the apex: half the radius at the nearer end remains.
                let apex = if c.is_cylinder() { f64::MAX } else { -c.radius / c.slope };
                if apex < low + reach {
                    low = low.max((low + reach + apex) / 2.0);
                } else if apex < f64::MAX && apex > high - reach {
                    high = high.min((high - reach + apex) / 2.0);
                }
                let ends = [low, high].map(|h| point(&c.at(face.seam, h)));
                let [a, b] = if face.outward { [ends[1], ends[0]] } else { ends };
                tm::Surface::RevolutedCurve(tm::Processor::new(tm::RevolutedCurve::by_revolution(
                    tm::Curve::Line(tm::Line(a, b)),
                    point(&c.origin),
                    tm::Vector3::new(c.axis.x, c.axis.y, c.axis.z).normalize(),
                )))
            }
        })
    }
}

fn point(p: &nalgebra::Point3<f64>) -> tm::Point3 {
    tm::Point3::new(p.x, p.y, p.z)
}

fn curve(c: &Curve) -> tm::Curve {
    if let Curve::Line(a, b) = c {
        return tm::Curve::Line(tm::Line(point(a), point(b)));
    }
    let n = Nurbs::of(c);
    let knots: Vec<f64> = n.knots.iter().flat_map(|&(k, m)| std::iter::repeat_n(k, m)).collect();
    let knots = tm::KnotVec::from(knots);
    match n.weights {
        None => tm::Curve::BSplineCurve(tm::BSplineCurve::new(knots, n.points.iter().map(point).collect())),
        Some(w) => {
            let h = n.points.iter().zip(w).map(|(p, w)| tm::Vector4::new(p.x * w, p.y * w, p.z * w, w));
            tm::Curve::NurbsCurve(tm::NurbsCurve::new(tm::BSplineCurve::new(knots, h.collect())))
        }
    }
}
