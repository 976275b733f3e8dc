//! The exact curve two surfaces share between two known points.
//!
//! Line, circle and conic come out exact; any other curve as a cubic fitted to [`FIT`]. The chain of the working mesh
//! only says which way the curve runs; the points come from the surfaces.

use super::common_sphere::common_sphere;
use super::curve::{Arc, ConicPiece, Curve};
use super::newton::common_point;
use super::surface::{Plane, SAME, Surface};
use nalgebra::{Point3, Vector3};
use std::f64::consts::TAU;

/// Greatest distance of a fitted curve from both surfaces, mm: a third of the 1e-7 that the contract of a solid allows,
/// so that the samples of the fit leave room for what lies between them.
pub const FIT: f64 = 3e-8;

/// Greatest distance of any edge curve from both surfaces, mm.
pub const ON_SURFACE: f64 = 1e-7;

/// Point and unit tangent.
type Station = (Point3<f64>, Vector3<f64>);

/// The plane that replaces a lost equation where two surfaces touch along a common ruling.
#[must_use]
pub fn tangency(a: &Surface, b: &Surface) -> Option<Surface> {
    // Tangent within this is tangent by design (a fillet of a profile), mm; less would be undone by rounding.
    const TOUCH: f64 = 1e-7;
    match (a, b) {
        (Surface::Plane(p), Surface::Cone(c)) | (Surface::Cone(c), Surface::Plane(p)) => {
            let height = (p.normal.dot(&c.origin.coords) - p.offset).abs();
            let along = p.normal.dot(&c.axis).abs();
            let touches = if c.is_cylinder() {
                along < SAME && (height - c.radius).abs() < TOUCH
            } else {
                // Through the apex, at the angle of the rulings.
                let apex = c.origin - c.axis * (c.radius / c.slope);
                (along - c.slope.abs() * c.cos_half_angle()).abs() < SAME
                    && (p.normal.dot(&apex.coords) - p.offset).abs() < TOUCH
            };
            touches.then(|| Surface::plane(&c.origin, &p.normal.cross(&c.axis)))
        }
        (Surface::Cone(c), Surface::Cone(d)) => {
            let apart = (c.origin - d.origin).norm();
            let gap = (apart - c.radius - d.radius).abs().min((apart - (c.radius - d.radius).abs()).abs());
            (c.is_cylinder()
                && d.is_cylinder()
                && (c.axis - d.axis).norm() < SAME
                && apart > 1e-6
                && gap < TOUCH)
                .then(|| Surface::plane(&c.origin, &c.axis.cross(&(d.origin - c.origin))))
        }
        (Surface::Plane(_), Surface::Plane(_)) | (Surface::Torus(_), _) | (_, Surface::Torus(_)) => None,
    }
}

/// The edge curve of two surfaces along a chain of points whose first and last are exact.
///
/// `extra` is the plane of a split ruling or of a tangency, where the two surfaces alone do not determine the curve.
///
/// # Errors
/// What went wrong, as text; the caller knows the names.
pub fn edge_curve(
    pair: &[Surface; 2],
    extra: Option<&Surface>,
    chain: &[Point3<f64>],
) -> Result<Curve, String> {
    let (Some(&a), Some(&b)) = (chain.first(), chain.last()) else { return Err("an empty chain".into()) };
    let curve = match (kind(pair, extra, chain), pair) {
        (Kind::Line, _) => Curve::Line(a, b),
        (Kind::Circle, [Surface::Cone(c), _] | [_, Surface::Cone(c)]) => {
            let centre = c.origin + c.axis * (a - c.origin).dot(&c.axis);
            circle(&centre, &c.axis, chain)?
        }
        (Kind::Conic, [s @ Surface::Cone(_), _] | [_, s @ Surface::Cone(_)]) => conic(pair, s, chain)?,
        (Kind::Planar(plane), [s, _]) => edge_curve(&[Surface::Plane(plane), *s], None, chain)?,
        _ => fitted(pair, chain)?,
    };
    let end = curve.end_parameter();
    // 40 samples a curve: the curves are smooth, of few pieces, and exact or fitted at 7 places a piece already.
    let worst = (0..=40)
        .map(|i| curve.point(end * f64::from(i) / 40.0))
        .map(|p| pair.iter().map(|s| s.distance(&p)).fold(0.0, f64::max))
        .fold(0.0, f64::max);
    if worst > ON_SURFACE {
        Err(format!("the edge leaves its surfaces by {worst:.1e} mm"))
    } else {
        Ok(curve)
    }
}

enum Kind {
    Line,
    Circle,
    Conic,
    /// In this plane, although both surfaces are curved.
    Planar(Plane),
    Fitted,
}

fn kind(pair: &[Surface; 2], extra: Option<&Surface>, chain: &[Point3<f64>]) -> Kind {
    if extra.is_some() {
        // A ruling of one cone, or the line where two surfaces touch.
        return Kind::Line;
    }
    match pair {
        [Surface::Plane(_), Surface::Plane(_)] => Kind::Line,
        [Surface::Plane(p), Surface::Cone(c)] | [Surface::Cone(c), Surface::Plane(p)] => {
            let along = p.normal.dot(&c.axis).abs();
            // 1 - cos of 1.4e-7 rad; nearer than that a circle and the true ellipse agree to 1e-13 mm.
            if along > 1.0 - 1e-14 {
                Kind::Circle
            } else if along < 1e-9
                && (c.is_cylinder() || (p.normal.dot(&c.origin.coords) - p.offset).abs() < SAME)
            {
                Kind::Line
            } else {
                Kind::Conic
            }
        }
        [a, b] if a.coaxial(b) => Kind::Circle,
        [a, b] => common_sphere(a, b).map_or(Kind::Fitted, |s| {
            let away = |p: &Plane| {
                chain.iter().map(|q| (p.normal.dot(&q.coords) - p.offset).abs()).fold(0.0, f64::max)
            };
            let [p, q] = s.planes;
            Kind::Planar(if away(&p) < away(&q) { p } else { q })
        }),
    }
}

/// A circle about `axis`, running the way the chain does.
fn circle(centre: &Point3<f64>, axis: &Vector3<f64>, chain: &[Point3<f64>]) -> Result<Curve, String> {
    let (Some(a), Some(b)) = (chain.first(), chain.last()) else { return Err("an empty chain".into()) };
    let x = a - centre;
    let side = axis.cross(&x);
    let angle = |p: &Point3<f64>| {
        let w = p - centre;
        libm::atan2(w.dot(&side), w.dot(&x))
    };
    let swept: f64 =
        chain.windows(2).map(|w| (angle(&w[1]) - angle(&w[0]) + TAU / 2.0).rem_euclid(TAU) - TAU / 2.0).sum();
    let end = angle(b);
    let (y, sweep) = if swept > 0.0 { (side, end.rem_euclid(TAU)) } else { (-side, (-end).rem_euclid(TAU)) };
    if (sweep - swept.abs()).abs() > 1.0 {
        return Err("a circle whose chain runs another way".into());
    }
    Ok(Curve::Arc(Arc { centre: *centre, x, y, sweep }))
}

/// Unit tangent of the intersection, pointing along `ahead`.
fn tangent(pair: &[Surface; 2], p: &Point3<f64>, ahead: &Vector3<f64>) -> Option<Vector3<f64>> {
    let t = pair[0].signed_distance(p).1.cross(&pair[1].signed_distance(p).1);
    // The sine of the angle between the surfaces; below this the curve has no direction.
    if t.norm() < 1e-6 {
        return None;
    }
    let t = t.normalize();
    Some(if t.dot(ahead) < 0.0 { -t } else { t })
}

/// The point of both surfaces in the plane through `at` square to `normal`.
fn in_plane(pair: &[Surface; 2], at: &Point3<f64>, normal: &Vector3<f64>) -> Option<Point3<f64>> {
    let n = normal.try_normalize(0.0)?;
    let cut = Surface::Plane(Plane { normal: n, offset: n.dot(&at.coords) });
    common_point(&[pair[0], pair[1], cut], at)
}

/// A step along the intersection that cannot leap to another branch of it: where two surfaces nearly touch, the place
/// where they do is off by the sine of their angle over the bend of both, and the branches pass on either side of it.
fn reach(pair: &[Surface; 2], p: &Point3<f64>, t: &Vector3<f64>) -> f64 {
    // Normals are compared this far apart, mm: far above rounding, far below any radius.
    const APART: f64 = 1e-4;
    let n = pair.map(|s| s.signed_distance(p).1);
    let bend: f64 = pair
        .iter()
        .zip(&n)
        .map(|(s, n)| {
            let turn = |d: &Vector3<f64>| (s.signed_distance(&(p + d * APART)).1 - n).norm() / APART;
            turn(t).max(turn(&n.cross(t)))
        })
        .sum();
    0.5 * n[0].cross(&n[1]).norm() / bend.max(1e-9)
}

/// Stations along the intersection from the first to the last point of the chain.
fn path(pair: &[Surface; 2], chain: &[Point3<f64>]) -> Result<Vec<Station>, String> {
    // Where the surfaces are nearly tangent the chain zigzags and may point the wrong way.
    march(pair, chain, 1.0).or_else(|_| march(pair, chain, -1.0))
}

fn march(pair: &[Surface; 2], chain: &[Point3<f64>], sign: f64) -> Result<Vec<Station>, String> {
    let lost = || "the surfaces are tangent at the edge".to_owned();
    let (Some(&a), Some(&b)) = (chain.first(), chain.last()) else { return Err("an empty chain".into()) };
    let length: f64 = chain.windows(2).map(|w| (w[1] - w[0]).norm()).sum();
    let ahead = chain.iter().find(|p| (*p - a).norm() > 0.1 * length).unwrap_or(&b) - a;
    let mut t = tangent(pair, &a, &ahead).ok_or_else(lost)? * sign;
    let (mut p, mut step, mut run) = (a, length / 8.0, 0.0);
    let mut out = vec![(a, t)];
    for _ in 0..4000 {
        let rest = b - p;
        if rest.norm() < 1.3 * step && rest.dot(&t) > 0.95 * rest.norm() {
            let last = tangent(pair, &b, &rest).ok_or_else(lost)?;
            if last.dot(&t) > 0.9 {
                out.push((b, last));
                let arrived = run + rest.norm() > 0.5 * length;
                return if arrived { Ok(out) } else { Err("the edge ends too early".into()) };
            }
        }
        if run > 3.0 * length + 1e-6 {
            return Err("the edge misses its end".into());
        }
        step = step.min(reach(pair, &p, &t));
        let guess = p + t * step;
        let found = in_plane(pair, &guess, &t)
            .filter(|q| (q - guess).norm() < 0.2 * step)
            .and_then(|q| tangent(pair, &q, &t).map(|u| (q, u)))
            .filter(|(_, u)| u.dot(&t) > 0.97);
        if let Some((q, u)) = found {
            run += step;
            if u.dot(&t) > 0.995 {
                step = (step * 1.5).min(length / 8.0);
            }
            (p, t) = (q, u);
            out.push((p, t));
        } else {
            step /= 2.0;
            if step < 1e-7 {
                return Err("the edge cannot be followed".into());
            }
        }
    }
    Err("the edge needs too many steps".into())
}

fn conic(pair: &[Surface; 2], cone: &Surface, chain: &[Point3<f64>]) -> Result<Curve, String> {
    let stations = path(pair, chain)?;
    let mut pieces = Vec::new();
    conic_pieces(cone, &stations, &mut pieces)?;
    Ok(Curve::Conic(pieces))
}

/// A piece may turn by the angle of this cosine, 127 degrees. One piece where it can be: where pieces meet the curve is
/// smooth but its parameter is not, and other kernels project such knots badly (8.7e-3 mm measured in one).
const PIECE: f64 = -0.6;

/// Bezier pieces that turn less than [`PIECE`] each.
fn conic_pieces(cone: &Surface, path: &[Station], out: &mut Vec<ConicPiece>) -> Result<(), String> {
    let (Some(a), Some(b)) = (path.first(), path.last()) else { return Err("an empty path".into()) };
    let chord = b.0 - a.0;
    if path.len() > 2 && (a.1.dot(&b.1) < PIECE || a.1.dot(&chord) <= 0.0) {
        let half = path.len() / 2;
        conic_pieces(cone, &path[..=half], out)?;
        return conic_pieces(cone, &path[half..], out);
    }
    let c = a.1.dot(&b.1);
    let middle = a.0 + chord / 2.0;
    let bend = 1.0 - c * c;
    // Tangents parallel to 1e-8: a straight piece.
    if bend < 1e-16 {
        out.push(ConicPiece { points: [a.0, middle, b.0], weight: 1.0 });
        return Ok(());
    }
    // The end tangents meet at q; the shoulder point middle + t (q - middle) lies on the conic and gives the weight.
    let q = a.0 + a.1 * ((chord.dot(&a.1) - c * chord.dot(&b.1)) / bend);
    let mut t = 0.5;
    for _ in 0..50 {
        let (f, g) = cone.signed_distance(&(middle + (q - middle) * t));
        let step = f / g.dot(&(q - middle));
        if !step.is_finite() {
            break;
        }
        t -= step;
        if step.abs() < 1e-15 {
            break;
        }
    }
    if !(t > 0.01 && t < 0.99) {
        return Err("a conic without a shoulder".into());
    }
    out.push(ConicPiece { points: [a.0, q, b.0], weight: t / (1.0 - t) });
    Ok(())
}

fn fitted(pair: &[Surface; 2], chain: &[Point3<f64>]) -> Result<Curve, String> {
    let stations = path(pair, chain)?;
    let mut pieces = Vec::new();
    hermite(pair, &stations, &mut pieces, 0)?;
    Ok(Curve::Spline(pieces))
}

/// Cubic pieces with unit end tangents, each so long in its parameter that its middle lies on the curve.
fn hermite(
    pair: &[Surface; 2],
    path: &[Station],
    out: &mut Vec<[Point3<f64>; 4]>,
    depth: u32,
) -> Result<(), String> {
    let (Some(&a), Some(&b)) = (path.first(), path.last()) else { return Err("an empty path".into()) };
    let chord = b.0 - a.0;
    let length = chord.norm();
    let middle = a.0 + chord / 2.0;
    let straight = path.iter().all(|q| q.1.dot(&chord) > 0.7 * length);
    let on = if straight { in_plane(pair, &middle, &chord) } else { None };
    if let Some(on) = on {
        let bend = a.1 - b.1;
        let span = if bend.norm() > 1e-6 {
            (8.0 * (on - middle).dot(&bend) / bend.norm_squared()).clamp(0.95 * length, 1.3 * length)
        } else {
            length
        };
        let piece = [a.0, a.0 + a.1 * (span / 3.0), b.0 - b.1 * (span / 3.0), b.0];
        let trial = Curve::Spline(vec![piece]);
        let close = (1..8).all(|i| {
            let p = trial.point(f64::from(i) / 8.0);
            pair.iter().all(|s| s.distance(&p) < FIT)
        });
        if close {
            out.push(piece);
            return Ok(());
        }
    }
    // 2^30 pieces would be shorter than an atom; a curve that asks for more has no tangent somewhere.
    if depth > 30 {
        return Err("the edge cannot be fitted".into());
    }
    let (first, second) = if path.len() > 2 {
        let half = path.len() / 2;
        (path[..=half].to_vec(), path[half..].to_vec())
    } else {
        let on = on.ok_or("the edge cannot be halved")?;
        let t = tangent(pair, &on, &chord).ok_or("the surfaces are tangent at the edge")?;
        (vec![a, (on, t)], vec![(on, t), b])
    };
    hermite(pair, &first, out, depth + 1)?;
    hermite(pair, &second, out, depth + 1)
}
