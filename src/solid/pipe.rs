//! Round wire along a path, rings and balls as exact solids, put together without a boolean: cylinders, tori and spheres
//! that touch in whole circles.

use super::brep::{Edge, EdgeUse, Face, Lump, Solid};
use super::curve::{Arc, Curve};
use super::error::BuildError;
use super::path::{Heading, Path, Piece, refused};
use super::surface::{Cone, Surface, square_to};
use super::torus::Torus;
use nalgebra::{Point3, Vector3};
use std::f64::consts::PI;

/// How a wire ends.
#[derive(Clone, Debug, PartialEq)]
pub enum End {
    /// Cut square.
    Flat(String),
    /// A ball of at least the wire's radius, mm, whose middle lies on the path's line beyond the end so that the sphere
    /// meets the wire in the end's circle; of the wire's own radius, a half ball.
    Ball(String, f64),
}

/// A bend whose radius exceeds the wire's by less than this part of it is refused: inside it there would be no metal
/// but a point.
const TIGHTEST: f64 = 1e-3;

/// Directions round a closed wire that come back within this, radians, are the same.
const UNTWISTED: f64 = 1e-9;

/// A ball that meets its wire nearer to square than this to its own equator, as a part of the radius, could leave a face
/// too small to hold.
const NECK: f64 = 1e-3;

/// The wire of `radius` mm along a path; `ends` of an open one, `None` for a closed one. Each piece of the path becomes two
/// faces of its name, a numbered one for the second.
///
/// # Errors
/// A bend tighter than the wire is thick, a wire that runs into itself, ends that do not go with the path, a closed path
/// that comes back twisted: [`BuildError::Primitive`] with the piece's name.
pub fn pipe(path: &Path, radius: f64, ends: Option<[End; 2]>) -> Result<Solid, BuildError> {
    let first = path.names.first().map_or("path", String::as_str);
    if !(radius > 0.0 && radius.is_finite()) {
        return Err(refused(first, format!("a wire of radius {radius} mm is none")));
    }
    if path.pieces.is_empty() || path.closed == ends.is_some() {
        let detail = "an open wire has two ends and some length, a closed one has no ends";
        return Err(refused(first, detail.into()));
    }
    for (p, name) in path.pieces.iter().zip(&path.names) {
        if let Piece::Bend(b) = p
            && b.radius < radius * (1.0 + TIGHTEST)
        {
            let detail = format!(
                "a wire of {} mm cannot bend about a middle line of {} mm radius: it must be more than {radius} mm",
                2.0 * radius,
                b.radius
            );
            return Err(refused(name, detail));
        }
    }
    if let Err([a, b]) = path.clear(radius) {
        let detail = format!("the wire runs into itself where it is {}", path.names[b]);
        return Err(refused(&path.names[a], detail));
    }
    let sides = sides(path)?;
    let mut made = Builder { path, radius, sides, solid: empty() };
    made.corners();
    made.circles();
    for i in 0..path.pieces.len() {
        made.piece(i);
    }
    if let Some(ends) = ends {
        for (which, end) in ends.iter().enumerate() {
            made.end(which, end)?;
        }
    }
    finish(made.solid)
}

/// A ball.
///
/// # Errors
/// A radius that is none.
pub fn ball(centre: Point3<f64>, radius: f64, name: &str) -> Result<Solid, BuildError> {
    if !(radius > 0.0 && radius.is_finite() && centre.coords.iter().all(|c| c.is_finite())) {
        return Err(refused(name, format!("a ball of radius {radius} mm is none")));
    }
    let (x, y, z) = (Vector3::x() * radius, Vector3::y() * radius, Vector3::z());
    let mut solid = empty();
    solid.vertices = vec![centre + x, centre - x];
    let arc = |x, y| Curve::Arc(Arc { centre, x, y, sweep: PI });
    solid.edges = vec![
        Edge { ends: [0, 1], curve: arc(x, y), faces: [0, 1] },
        Edge { ends: [1, 0], curve: arc(-x, -y), faces: [0, 1] },
    ];
    let face = |towards: Vector3<f64>, loops| Face {
        name: name.to_owned(),
        surface: Surface::Torus(Torus::sphere(centre, &towards, radius)),
        outward: true,
        seam: 0.0,
        loops: vec![loops],
    };
    solid.faces =
        vec![face(z, vec![used(0, true), used(1, true)]), face(-z, vec![used(1, false), used(0, false)])];
    finish(solid)
}

fn empty() -> Solid {
    Solid { vertices: Vec::new(), edges: Vec::new(), faces: Vec::new(), lumps: Vec::new() }
}

fn used(edge: usize, forward: bool) -> EdgeUse {
    EdgeUse { edge, forward }
}

fn finish(mut solid: Solid) -> Result<Solid, BuildError> {
    solid.number_pieces();
    solid.lumps = vec![Lump { outer: (0..solid.faces.len()).collect(), voids: Vec::new() }];
    solid.check().map_err(BuildError::Unsound)?;
    Ok(solid)
}

/// A unit vector square to the path at each joint, carried along without twist.
fn sides(path: &Path) -> Result<Vec<Vector3<f64>>, BuildError> {
    let start = path.headings[0];
    // In the plane of the first bend, so that a flat wire is parted along its outline.
    let bend = path.pieces.iter().find_map(|p| if let Piece::Bend(b) = p { Some(b.axis) } else { None });
    let plane = bend.map(|a| a.cross(&start.along)).and_then(|d| d.try_normalize(1e-6));
    let mut side = plane.unwrap_or_else(|| square_to(&start.along));
    let mut out = vec![side];
    for (p, to) in path.pieces.iter().zip(path.headings.iter().skip(1)) {
        if let Piece::Bend(b) = p {
            side = b.turned(&side, b.angle);
        }
        side = (side - to.along * side.dot(&to.along)).normalize();
        out.push(side);
    }
    if path.closed {
        let twist = start.along.dot(&out[0].cross(&side)).abs();
        if twist > UNTWISTED || side.dot(&out[0]) < 0.0 {
            let detail = "the path comes back twisted: lay it out mirrored about a plane".to_owned();
            return Err(refused(&path.names[0], detail));
        }
        let n = out.len();
        out[n - 1] = out[0];
    }
    Ok(out)
}

struct Builder<'a> {
    path: &'a Path,
    radius: f64,
    sides: Vec<Vector3<f64>>,
    solid: Solid,
}

impl Builder<'_> {
    /// Number of circles where pieces meet or the wire ends.
    fn joints(&self) -> usize {
        self.path.pieces.len() + usize::from(!self.path.closed)
    }
    fn joint(&self, i: usize) -> usize {
        i % self.joints()
    }
    fn heading(&self, i: usize) -> Heading {
        self.path.headings[i]
    }
    /// The direction a quarter turn about the path from the side: with it and the path right-handed.
    fn across(&self, i: usize) -> Vector3<f64> {
        self.heading(i).along.cross(&self.sides[i])
    }

    /// Two corners a joint: `2 i` on the side, `2 i + 1` opposite.
    fn corners(&mut self) {
        for i in 0..self.joints() {
            let (at, d) = (self.heading(i).at, self.sides[i] * self.radius);
            self.solid.vertices.extend([at + d, at - d]);
        }
    }

    /// Two half circles a joint: edges `2 i` from the side over [`Builder::across`], `2 i + 1` back.
    fn circles(&mut self) {
        for i in 0..self.joints() {
            let centre = self.heading(i).at;
            let (x, y) = (self.sides[i] * self.radius, self.across(i) * self.radius);
            let [a, b] = [2 * i, 2 * i + 1];
            for (ends, s) in [([a, b], 1.0), ([b, a], -1.0)] {
                let curve = Curve::Arc(Arc { centre, x: x * s, y: y * s, sweep: PI });
                self.solid.edges.push(Edge { ends, curve, faces: [usize::MAX; 2] });
            }
        }
    }

    fn face(&mut self, name: &str, surface: Surface, outward: bool, seam: f64, ring: &[EdgeUse]) {
        let f = self.solid.faces.len();
        for u in ring {
            self.solid.edges[u.edge].faces[usize::from(!u.forward)] = f;
        }
        let loops = vec![ring.to_vec()];
        self.solid.faces.push(Face { name: name.to_owned(), surface, outward, seam, loops });
    }

    fn piece(&mut self, i: usize) {
        let (here, next) = (self.joint(i), self.joint(i + 1));
        let name = self.path.names[i].clone();
        let along = self.solid.edges.len();
        for k in 0..2 {
            let ends = [2 * here + k, 2 * next + k];
            let [a, b] = ends.map(|v| self.solid.vertices[v]);
            let curve = match &self.path.pieces[i] {
                Piece::Line(_) => Curve::Line(a, b),
                Piece::Bend(c) => {
                    let w = a - c.centre;
                    let centre = c.centre + c.axis * c.axis.dot(&w);
                    let x = a - centre;
                    Curve::Arc(Arc { centre, x, y: c.axis.cross(&x), sweep: c.angle })
                }
            };
            self.solid.edges.push(Edge { ends, curve, faces: [usize::MAX; 2] });
        }
        let (h, m) = (self.heading(i), self.across(i));
        for (half, out) in [(0, m), (1, -m)] {
            let (surface, seam) = match &self.path.pieces[i] {
                Piece::Line(_) => {
                    let cone = Cone::canonical(&h.at, &h.along, self.radius, 0.0);
                    let away = h.at - out * self.radius;
                    (Surface::Cone(cone), cone.angle_height(&away).0)
                }
                Piece::Bend(b) => {
                    let reference = (h.at - b.centre).normalize();
                    let torus = Torus {
                        centre: b.centre,
                        axis: b.axis,
                        reference,
                        major: b.radius,
                        minor: self.radius,
                        tube_seam: libm::atan2(-out.dot(&b.axis), -out.dot(&reference)),
                    };
                    (Surface::Torus(torus), b.angle / 2.0 + PI)
                }
            };
            let ring = [
                used(2 * here + half, true),
                used(along + 1 - half, true),
                used(2 * next + half, false),
                used(along + half, false),
            ];
            self.face(&name, surface, true, seam, &ring);
        }
    }

    fn end(&mut self, which: usize, end: &End) -> Result<(), BuildError> {
        let i = which * self.path.pieces.len();
        let h = self.heading(i);
        let out = if which == 0 { -h.along } else { h.along };
        let ring = if which == 0 {
            [used(2 * i + 1, false), used(2 * i, false)]
        } else {
            [used(2 * i, true), used(2 * i + 1, true)]
        };
        match end {
            End::Flat(name) => {
                let surface = Surface::plane(&h.at, &out);
                let outward = surface.signed_distance(&h.at).1.dot(&out) > 0.0;
                self.face(name, surface, outward, 0.0, &ring);
            }
            End::Ball(name, ball) => {
                let own = (ball - self.radius).abs() < super::surface::SAME;
                if !(own || ball.is_finite() && *ball > self.radius * (1.0 + NECK)) {
                    let detail = format!(
                        "a ball of {} mm does not hold on a wire of {} mm: give it the wire's own size or more",
                        2.0 * ball,
                        2.0 * self.radius
                    );
                    return Err(refused(name, detail));
                }
                let r = if own { self.radius } else { *ball };
                let middle = h.at + out * (r * r - self.radius * self.radius).max(0.0).sqrt();
                self.ball_is_clear(i, &middle, r, name)?;
                let surface = Surface::Torus(Torus::sphere(middle, &out, r));
                self.face(name, surface, true, 0.0, &ring);
            }
        }
        Ok(())
    }

    /// The ball must meet no part of the wire but its own end.
    fn ball_is_clear(&self, i: usize, middle: &Point3<f64>, r: f64, name: &str) -> Result<(), BuildError> {
        let total = self.path.length();
        let from_end = |s: f64| if i == 0 { s } else { total - s };
        // The part of the wire next to the ball: straight, it leaves it; farther along, nothing may come near.
        let end = &self.path.pieces[i.min(self.path.pieces.len() - 1)];
        let own = if let Piece::Line(l) = end { *l } else { 0.0 };
        let reach = (r * r - self.radius * self.radius).max(0.0).sqrt();
        let mut stack = vec![[own.min(total), total]];
        let mut seen = 0;
        while let Some([a, b]) = stack.pop() {
            let m = f64::midpoint(a, b);
            let d = (self.path.point(from_end(m)) - middle).norm();
            // Beside a plain half ball a bend may start at once: the half ball lies beyond the end's plane.
            if reach == 0.0 || d - (b - a) / 2.0 > r + self.radius || b - a <= 0.0 {
                continue;
            }
            seen += 1;
            if b - a < 1e-6 || seen > 100_000 {
                return Err(refused(
                    name,
                    "the ball meets its own wire again: leave the end straight for longer".into(),
                ));
            }
            stack.extend([[a, m], [m, b]]);
        }
        Ok(())
    }
}
