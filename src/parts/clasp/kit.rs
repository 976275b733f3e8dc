//! Bodies the clasp is put together from.

use crate::solid::tree::{Corner, Primitive, Shape, cylinder, prism};
use crate::solid::{Frame, Tree};
use nalgebra::{Point3, Vector3};

/// A stretch along one axis, mm.
pub(super) type Stretch = [f64; 2];

/// A stretch on one side of the middle: as given for side 1, reflected for side -1.
pub(super) fn on_side(side: f64, [a, b]: Stretch) -> Stretch {
    if side > 0.0 { [a, b] } else { [-b, -a] }
}

/// A block; its faces are `name.left`, `.right` (-x, +x), `.back`, `.front` (-y, +y), `.under`, `.top`.
pub(super) fn block(name: &str, x: Stretch, y: Stretch, z: Stretch) -> Tree {
    let n = |part: &str| format!("{name}.{part}");
    let corner = |at, name: String| Corner { at, arc: None, name };
    let profile = vec![
        corner([x[0], y[0]], n("back")),
        corner([x[1], y[0]], n("right")),
        corner([x[1], y[1]], n("front")),
        corner([x[0], y[1]], n("left")),
    ];
    prism(Frame::at(Point3::new(0.0, 0.0, z[0])), profile, z[1] - z[0], [&n("under"), &n("top")])
}

/// A round bar along y about (x, z).
pub(super) fn bar_y(name: &str, [x, z]: [f64; 2], radius: f64, y: Stretch) -> Tree {
    let frame = Frame::with_axes(Point3::new(x, y[0], z), Vector3::z(), Vector3::x());
    bar(frame, name, radius, y[1] - y[0])
}

/// A round bar along x about (y, z).
pub(super) fn bar_x(name: &str, [y, z]: [f64; 2], radius: f64, x: Stretch) -> Tree {
    let frame = Frame::with_axes(Point3::new(x[0], y, z), Vector3::y(), Vector3::z());
    bar(frame, name, radius, x[1] - x[0])
}

/// A round bar along z about (x, y).
pub(super) fn bar_z(name: &str, [x, y]: [f64; 2], radius: f64, z: Stretch) -> Tree {
    bar(Frame::at(Point3::new(x, y, z[0])), name, radius, z[1] - z[0])
}

fn bar(frame: Frame, name: &str, radius: f64, length: f64) -> Tree {
    let end = format!("{name}.end");
    cylinder(frame, radius, length, &format!("{name}.side"), [&end, &end])
}

/// A prism along x over a polygon in (y, z), counter-clockwise seen from +x; each side has its name.
pub(super) fn along_x(name: &str, x: Stretch, polygon: &[([f64; 2], &str)]) -> Tree {
    let frame = Frame::with_axes(Point3::new(x[0], 0.0, 0.0), Vector3::y(), Vector3::z());
    let corner =
        |(at, part): &([f64; 2], &str)| Corner { at: *at, arc: None, name: format!("{name}.{part}") };
    let ends = [format!("{name}.left"), format!("{name}.right")];
    prism(frame, polygon.iter().map(corner).collect(), x[1] - x[0], [&ends[0], &ends[1]])
}

/// The recipe with a word in front of every face's name.
pub(super) fn named(tree: Tree, word: &str) -> Tree {
    let n = |s: String| if s.is_empty() { s } else { format!("{word}.{s}") };
    match tree {
        Tree::Union(v) => Tree::Union(v.into_iter().map(|t| named(t, word)).collect()),
        Tree::Difference(a, v) => {
            Tree::Difference(Box::new(named(*a, word)), v.into_iter().map(|t| named(t, word)).collect())
        }
        Tree::Primitive(Primitive { frame, mut shape }) => {
            match &mut shape {
                Shape::Revolve(c) => c.iter_mut().for_each(|c| c.name = n(std::mem::take(&mut c.name))),
                Shape::Prism { profile, ends, .. } => {
                    profile.iter_mut().for_each(|c| c.name = n(std::mem::take(&mut c.name)));
                    ends.iter_mut().for_each(|e| *e = n(std::mem::take(e)));
                }
                Shape::Taper(t) => {
                    for list in [&mut t.sides, &mut t.corners] {
                        list.iter_mut().for_each(|s| *s = n(std::mem::take(s)));
                    }
                    t.ends.iter_mut().for_each(|e| *e = n(std::mem::take(e)));
                }
            }
            Tree::Primitive(Primitive { frame, shape })
        }
    }
}
