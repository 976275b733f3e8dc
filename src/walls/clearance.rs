//! Clearance between two parts: the shortest distance of their surfaces, proved on the exact solids.

use super::measure::{Kind, MeasureError, Measured, measure_within};
use crate::solid::{Edge, EdgeUse, Face, Lump, Solid};

/// Width the interval is narrowed to, mm.
const NARROW: f64 = 1e-6;

/// A part in its place, with the names of faces that count; empty for all of them.
#[derive(Clone, Copy, Debug)]
pub struct Placed<'a> {
    /// What its faces are called by: `pin` gives `pin: side`.
    pub name: &'a str,
    /// The solid where it stands.
    pub solid: &'a Solid,
    /// Features of it: a name stands for all faces that begin with it.
    pub faces: &'a [&'a str],
}

/// The shortest distance between the surfaces of two parts that stand clear of each other, whatever lies in between. Names
/// in the result begin with those of the parts, the first part's end first.
///
/// Of parts that run into each other the surfaces meet: zero. A part wholly inside the metal of the other is not noticed.
///
/// # Errors
/// [`MeasureError::NoFace`] and [`MeasureError::NoPair`] where the names find nothing; [`MeasureError::Unsettled`].
pub fn clearance(a: &Placed<'_>, b: &Placed<'_>) -> Result<Measured, MeasureError> {
    let both = beside(a, b);
    let (from, to) = (chosen(a)?, chosen(b)?);
    let [from, to] = [&from, &to].map(|v| v.iter().map(String::as_str).collect::<Vec<_>>());
    let m = measure_within(&both, &from, &to, Kind::Shortest, NARROW)?;
    // The search is free to begin at either.
    let turned = m.between[1].starts_with(&format!("{}: ", a.name));
    Ok(if turned {
        let ([p, q], [x, y]) = (m.at, m.between);
        Measured { at: [q, p], between: [y, x], ..m }
    } else {
        m
    })
}

fn called(part: &Placed<'_>, face: &str) -> String {
    format!("{}: {face}", part.name)
}

fn chosen(part: &Placed<'_>) -> Result<Vec<String>, MeasureError> {
    let wanted = |n: &str| {
        part.faces.is_empty()
            || part
                .faces
                .iter()
                .any(|f| n.strip_prefix(f).is_some_and(|r| r.is_empty() || r.starts_with('.')))
    };
    let all: Vec<String> =
        part.solid.faces.iter().filter(|f| wanted(&f.name)).map(|f| called(part, &f.name)).collect();
    if all.is_empty() {
        return Err(MeasureError::NoFace(called(part, part.faces.first().copied().unwrap_or(""))));
    }
    Ok(all)
}

/// Both parts as two bodies of one solid.
fn beside(a: &Placed<'_>, b: &Placed<'_>) -> Solid {
    let (v, e, f) = (a.solid.vertices.len(), a.solid.edges.len(), a.solid.faces.len());
    let named = |p: &Placed<'_>, face: &Face, loops: Vec<Vec<EdgeUse>>| Face {
        name: called(p, &face.name),
        loops,
        ..face.clone()
    };
    let mut out = Solid {
        vertices: a.solid.vertices.clone(),
        edges: a.solid.edges.clone(),
        faces: a.solid.faces.iter().map(|x| named(a, x, x.loops.clone())).collect(),
        lumps: a.solid.lumps.clone(),
    };
    out.vertices.extend_from_slice(&b.solid.vertices);
    out.edges.extend(b.solid.edges.iter().map(|x| Edge {
        ends: x.ends.map(|k| k + v),
        faces: x.faces.map(|k| k + f),
        ..x.clone()
    }));
    out.faces.extend(b.solid.faces.iter().map(|x| {
        let moved = |u: &EdgeUse| EdgeUse { edge: u.edge + e, ..*u };
        named(b, x, x.loops.iter().map(|l| l.iter().map(moved).collect()).collect())
    }));
    let up = |l: &[usize]| l.iter().map(|k| k + f).collect::<Vec<_>>();
    out.lumps.extend(
        b.solid
            .lumps
            .iter()
            .map(|l| Lump { outer: up(&l.outer), voids: l.voids.iter().map(|w| up(w)).collect() }),
    );
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::solid::Frame;
    use crate::walls::testkit::{circle, prism, rectangle};
    use nalgebra::{Point3, Vector3};

    fn held(what: &str, a: &Placed<'_>, b: &Placed<'_>, truth: f64) {
        let m = clearance(a, b).unwrap();
        let i = m.interval;
        println!("{what} {truth} {i:?} {:?}", m.between);
        assert!(i.lower.get() <= truth + 1e-11 && truth <= i.upper.get() + 1e-11, "{what}: {truth} {i:?}");
        assert!(i.width().get() <= 2e-6, "{what}: {i:?}");
        assert!(m.between[0].starts_with(a.name) && m.between[1].starts_with(b.name), "{m:?}");
        assert!(((m.at[1] - m.at[0]).norm() - truth).abs() < 3e-6);
    }

    fn all<'a>(name: &'a str, solid: &'a Solid) -> Placed<'a> {
        Placed { name, solid, faces: &[] }
    }

    fn block_with_bore(r: f64) -> Solid {
        prism(&[rectangle(4.0, 3.0), circle("bore", [2.0, 1.5], r, 0.4, false)], 2.0)
    }

    #[test]
    fn a_pin_in_a_bore_and_boxes_at_angles() {
        // Off centre by e in a bore: r - s - e (closed form), in three poses.
        let block = block_with_bore(0.6);
        let pin = prism(&[circle("side", [2.03, 1.46], 0.5, 0.9, true)], 3.0);
        let pin = pin.moved(&Frame::at(Point3::new(0.0, 0.0, -0.5)));
        let truth = 0.1 - libm::hypot(0.03, 0.04);
        let tilt = Frame::along(Point3::new(1.0, -2.0, 0.5), &Vector3::new(0.3, -0.8, 1.1));
        for pose in [Frame::at(Point3::origin()), tilt] {
            let (x, y) = (block.moved(&pose), pin.moved(&pose));
            held("pin", &all("block", &x), &all("pin", &y), truth);
            held(
                "sides",
                &Placed { faces: &["bore"], ..all("block", &x) },
                &Placed { faces: &["side"], ..all("pin", &y) },
                truth,
            );
        }
        // A box above another, its lowest edge and then its lowest corner down.
        let cube = prism(&[rectangle(1.0, 1.0)], 1.0);
        let floor = prism(&[rectangle(9.0, 9.0)], 1.0);
        let h = (0.5f64).sqrt();
        let edge = Frame::with_axes(Point3::new(4.0, 4.0, 1.25), Vector3::new(h, 0.0, h), Vector3::y());
        held("edge down", &all("floor", &floor), &all("cube", &cube.moved(&edge)), 0.25);
        // The diagonal upright: the corner at the origin is lowest.
        let x = Vector3::new((2.0f64 / 3.0).sqrt(), 0.0, (1.0f64 / 3.0).sqrt());
        let y = Vector3::new(-(1.0f64 / 6.0).sqrt(), h, (1.0f64 / 3.0).sqrt());
        let corner = Frame::with_axes(Point3::new(4.0, 4.0, 1.07), x, y);
        held("corner down", &all("floor", &floor), &all("cube", &cube.moved(&corner)), 0.07);
        // Two rods that pass at right angles: d - r - s.
        let rod = prism(&[circle("rod", [0.0; 2], 0.3, 0.2, true)], 4.0)
            .moved(&Frame::at(Point3::new(0.0, 0.0, -2.0)));
        let across = Frame::along(Point3::new(-2.0, 0.75, 0.1), &Vector3::x());
        let other = prism(&[circle("rod", [0.0; 2], 0.35, 2.2, true)], 4.0).moved(&across);
        held("rods", &all("one", &rod), &all("two", &other), 0.1);
        held("rods", &all("two", &other), &all("one", &rod), 0.1);
        // Nothing of that name.
        let none = Placed { faces: &["thread"], ..all("pin", &pin) };
        assert!(matches!(clearance(&all("block", &block), &none), Err(MeasureError::NoFace(_))));
    }
}
