//! From a good chord of an exact solid to the shortest one near it, exact to rounding.
//!
//! Each end is held on a face, on an edge or at a corner, and either leans as far as it may or is free to turn. For each of
//! these cases the shortest chord is a point where the gradient of its length is a mix of those of its conditions
//! (Lagrange); Newton's method finds it. What it finds counts only if it is a real chord, checked on the exact faces.

use super::prim::{Boundary, Normals, nearest_of_arc};
use super::search::Chord;
use super::sharp::Zone;
use crate::solid::{Face, Solid};
use crate::walls::cell::angle;
use crate::walls::region::{Region, Side};
use nalgebra::{DMatrix, DVector, Point3, SVector, Vector3};
use std::collections::BTreeMap;

/// An edge or corner this near to the end of a chord may be where it belongs, mm: what a search leaves open, with room.
const NEAR: f64 = 0.02;
/// An end that leans by this much less than it may is taken to be free, radians.
const FREE: f64 = 0.08;
/// Newton steps at most; half a dozen suffice where there is anything to find.
const STEPS: usize = 30;
/// Steps of the differences that Newton's method is fed with, mm; its answer is checked without them.
const GRADIENT: f64 = 1e-5;
const HESSIAN: f64 = 2e-4;
/// How far off its surfaces, mm, or over its angle, radians, an end may be by rounding.
const EXACT: f64 = 1e-12;

/// A chord shorter than this part of the one it began at is another place, or none.
const SAME_PLACE: f64 = 0.9;
/// Eigenvalues below this are those of directions in which nothing changes, as along a tube; what the differences are
/// off by is a hundredth of it.
const FLAT: f64 = 1e-5;

type Ends = SVector<f64, 6>;

/// What one end of a chord is held by.
#[derive(Clone, Debug, PartialEq)]
enum Held {
    /// A face; two faces at their common edge; or a corner, with the faces whose normals count.
    Face(usize),
    Edge([usize; 2]),
    Corner(Point3<f64>),
}

#[derive(Clone, Debug)]
struct End {
    held: Held,
    /// Faces whose normals count; two of them mean the fan between both.
    normals: Vec<usize>,
}

/// Polishes chords of one boundary.
pub(super) struct Polish<'a> {
    s: &'a Boundary<'a>,
    zone: &'a Zone,
    delta: f64,
    regions: BTreeMap<usize, Region>,
}

impl<'a> Polish<'a> {
    pub(super) fn new(s: &'a Boundary<'a>, zone: &'a Zone, delta: f64) -> Self {
        Self { s, zone, delta, regions: BTreeMap::new() }
    }

    /// The shortest real chord near one, and the faces it lies between; the chord itself where nothing shorter is found.
    pub(super) fn polished(&mut self, c: Chord) -> (Chord, [u32; 2]) {
        let mut best = (c, c.prims.map(|i| self.s.prims[i].face));
        let Some(solid) = self.s.solid else { return best };
        let ends = [0, 1].map(|k| self.ends(solid, c.prims[k], &c.at[k]));
        let lean = [0, 1].map(|k| {
            let out = c.at[k] - c.at[1 - k];
            angle(&out, &self.s.normal_near(c.prims[k], &c.at[k], &out)) > self.delta - FREE
        });
        for a in &ends[0] {
            for b in &ends[1] {
                for tight in [[false, false], [true, false], [false, true], [true, true]] {
                    if (tight[0] && !lean[0]) || (tight[1] && !lean[1]) {
                        continue;
                    }
                    let at = self.newton(solid, [a, b], tight, &c.at);
                    let Some(at) = at else { continue };
                    let length = (at[1] - at[0]).norm();
                    if length < best.0.length
                        && length > SAME_PLACE * c.length
                        && let Some(faces) = self.real(solid, [a, b], &at)
                    {
                        best = (Chord { length, at, ..c }, faces);
                    }
                }
            }
        }
        best
    }

    /// Where an end may belong.
    fn ends(&self, solid: &Solid, prim: usize, p: &Point3<f64>) -> Vec<End> {
        let of = |held, normals: &[usize]| End { held, normals: normals.to_vec() };
        let mut out = Vec::new();
        let faces = match self.s.prims[prim].normals {
            Normals::RoundFan([f, g]) => {
                out.push(of(Held::Edge([f, g]), &[f, g]));
                vec![f, g]
            }
            // Nothing to slide.
            Normals::Cap(..) | Normals::Fan(_) => return out,
            Normals::Flat(_) | Normals::Round(_) => vec![self.s.prims[prim].face as usize],
        };
        for &f in &faces {
            let Some(face) = solid.faces.get(f) else { continue };
            out.push(of(Held::Face(f), &[f]));
            for u in face.loops.iter().flatten() {
                let e = &solid.edges[u.edge];
                let g = if e.faces[0] == f { e.faces[1] } else { e.faces[0] };
                let Some(other) = solid.faces.get(g) else { continue };
                if other.surface.distance(p) < NEAR {
                    let edge = Held::Edge([f, g]);
                    if !out.iter().any(|x| x.held == edge && x.normals == [f]) {
                        out.push(of(edge, &[f]));
                    }
                }
                let v = solid.vertices[solid.start_of(*u)];
                if (v - p).norm() < NEAR {
                    out.push(of(Held::Corner(v), &[f]));
                    if faces.len() == 2 {
                        out.push(of(Held::Corner(v), &faces));
                    }
                }
            }
        }
        out
    }

    /// The stationary chord of one case, started at a chord.
    fn newton(
        &self,
        solid: &Solid,
        ends: [&End; 2],
        tight: [bool; 2],
        from: &[Point3<f64>; 2],
    ) -> Option<[Point3<f64>; 2]> {
        let split = |x: &Ends| [Point3::new(x[0], x[1], x[2]), Point3::new(x[3], x[4], x[5])];
        let values = |x: &Ends| {
            let at = split(x);
            let mut c = Vec::with_capacity(6);
            for k in 0..2 {
                let p = &at[k];
                match &ends[k].held {
                    Held::Face(f) => c.push(solid.faces[*f].surface.signed_distance(p).0),
                    Held::Edge(pair) => {
                        c.extend(pair.map(|f| solid.faces[f].surface.signed_distance(p).0));
                    }
                    Held::Corner(v) => c.extend((p - v).iter()),
                }
                if tight[k] {
                    let out = at[k] - at[1 - k];
                    let n = self.nearest(solid, ends[k], p, &out);
                    c.push(out.normalize().dot(&n) - libm::cos(self.delta));
                }
            }
            c
        };
        let start = Ends::from_iterator(from.iter().flat_map(|p| p.coords.iter().copied()));
        let m = values(&start).len();
        if m > 6 {
            return None;
        }
        let mut x = start;
        let mut l = DVector::<f64>::zeros(m);
        for round in 0..STEPS {
            let c = DVector::from_vec(values(&x));
            let mut jacobian = DMatrix::<f64>::zeros(m, 6);
            for i in 0..6 {
                let mut step = Ends::zeros();
                step[i] = GRADIENT;
                let (up, down) = (values(&(x + step)), values(&(x - step)));
                for k in 0..m {
                    jacobian[(k, i)] = (up[k] - down[k]) / (2.0 * GRADIENT);
                }
            }
            let d = Vector3::new(x[3] - x[0], x[4] - x[1], x[5] - x[2]);
            let gradient = DVector::from_iterator(6, (-d).iter().chain(d.iter()).copied());
            if round == 0 {
                l = solved(&jacobian * jacobian.transpose(), &(&jacobian * &gradient));
            }
            let held = |x: &Ends| values(x).iter().zip(l.iter()).map(|(c, l)| c * l).sum::<f64>();
            let mut system = DMatrix::<f64>::zeros(6 + m, 6 + m);
            for i in 0..6 {
                for j in i..6 {
                    let (mut u, mut v) = (Ends::zeros(), Ends::zeros());
                    u[i] = HESSIAN;
                    v[j] = HESSIAN;
                    let bend =
                        held(&(x + u + v)) - held(&(x + u - v)) - held(&(x - u + v)) + held(&(x - u - v));
                    let own = f64::from(i8::from(i == j) - i8::from(i + 3 == j));
                    let value = own - bend / (4.0 * HESSIAN * HESSIAN);
                    system[(i, j)] = value;
                    system[(j, i)] = value;
                }
                for k in 0..m {
                    system[(i, 6 + k)] = -jacobian[(k, i)];
                    system[(6 + k, i)] = -jacobian[(k, i)];
                }
            }
            let mut right = DVector::<f64>::zeros(6 + m);
            right.rows_mut(0, 6).copy_from(&(jacobian.transpose() * &l - gradient));
            right.rows_mut(6, m).copy_from(&c);
            // Least step where a chord may slide without a change of length, as along a tube.
            let step = solved(system, &right);
            let size = step.rows(0, 6).norm();
            if !size.is_finite() {
                return None;
            }
            let part = (0.1 / size).min(1.0);
            for i in 0..6 {
                x[i] += part * step[i];
            }
            for k in 0..m {
                l[k] += part * step[6 + k];
            }
            if (x - start).norm() > 0.5 {
                return None;
            }
            if size < 1e-12 {
                break;
            }
        }
        values(&x).iter().all(|c| c.abs() <= EXACT).then(|| split(&x))
    }

    /// The normal of an end that is nearest to a direction out of the metal.
    fn nearest(&self, solid: &Solid, end: &End, p: &Point3<f64>, out: &Vector3<f64>) -> Vector3<f64> {
        let of = |f: &usize| solid.faces.get(*f).map_or_else(Vector3::z, |f| f.normal(p)) * self.s.sign;
        match end.normals.as_slice() {
            [f, g] => nearest_of_arc(out, &[of(f), of(g)]),
            [f, ..] => of(f),
            [] => Vector3::z(),
        }
    }

    /// The faces of a chord whose ends lie within their faces and lean no more than they may; `None` if they do not.
    fn real(&mut self, solid: &Solid, ends: [&End; 2], at: &[Point3<f64>; 2]) -> Option<[u32; 2]> {
        let mut faces = [0; 2];
        for k in 0..2 {
            let out = at[k] - at[1 - k];
            let n = self.nearest(solid, ends[k], &at[k], &out);
            if angle(&out, &n) > self.delta + EXACT {
                return None;
            }
            // The foot may lie on another face of the same surface: a bore is cut in two.
            let mut owner = *ends[k].normals.first()?;
            if !matches!(ends[k].held, Held::Corner(_)) {
                for &f in ends[k].normals.iter().rev() {
                    owner = self.owner(solid, solid.faces.get(f)?, &at[k])?;
                }
            }
            faces[k] = u32::try_from(owner).ok()?;
        }
        (!self.zone.covers(&at[..1], &at[1..])).then_some(faces)
    }

    fn owner(&mut self, solid: &Solid, like: &Face, p: &Point3<f64>) -> Option<usize> {
        let same = |f: &usize| {
            let g = &solid.faces[*f];
            g.outward == like.outward && g.surface.same(&like.surface)
        };
        // On a border a point belongs to both.
        (0..solid.faces.len()).filter(same).find(|&f| self.side(solid, f, p) != Side::Out)
    }

    fn side(&mut self, solid: &Solid, f: usize, p: &Point3<f64>) -> Side {
        let face = &solid.faces[f];
        self.regions.entry(f).or_insert_with(|| Region::new(solid, face)).side(face, p, EXACT)
    }
}

/// The shortest solution of a symmetric system, directions in which it says nothing left alone.
fn solved(system: DMatrix<f64>, right: &DVector<f64>) -> DVector<f64> {
    let e = system.symmetric_eigen();
    let mut out = DVector::zeros(right.len());
    for (value, axis) in e.eigenvalues.iter().zip(e.eigenvectors.column_iter()) {
        if value.abs() > FLAT {
            out += axis * (axis.dot(right) / value);
        }
    }
    out
}
