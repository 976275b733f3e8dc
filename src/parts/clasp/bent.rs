//! What is bent from round wire: the side catches, the links and jump rings of the safety chain, the pins with their beads.

use super::shape::ClaspShape;
use crate::parts::wires;
use crate::solid::path::Path;
use crate::solid::pipe::{End, pipe};
use crate::solid::{BuildError, Frame, Solid};
use crate::units::Mm;
use nalgebra::{Point3, Vector3};
use std::f64::consts::FRAC_PI_2;

/// A side catch where it rests, the clasp shut; side 1 is the front one. Hooks inside the tube, legs down its ends, bar under the
/// ledge.
pub(super) fn side_catch(s: &ClaspShape, side: f64) -> Result<Solid, BuildError> {
    let c = &s.catch;
    let [y, z] = c.at;
    let (x, down) = (Vector3::x(), -Vector3::z());
    let (hook, leg) = (c.hook, c.leg - 2.0 * c.bend);
    let from = Point3::new(s.middle - c.bar / 2.0 + c.bend + hook, side * y, z);
    let path = Path::start(from, &-x)?
        .line("catch.hook", hook)?
        .bend("catch.bend", &down, c.bend, FRAC_PI_2)?
        .line("catch.leg", leg)?
        .bend("catch.bend", &x, c.bend, FRAC_PI_2)?
        .line("catch.bar", c.bar - 2.0 * c.bend)?
        .bend("catch.bend", &-down, c.bend, FRAC_PI_2)?
        .line("catch.leg", leg)?
        .bend("catch.bend", &-x, c.bend, FRAC_PI_2)?
        .line("catch.hook", hook)?;
    let end = || End::Flat("catch.end".into());
    pipe(&path, c.wire / 2.0, Some([end(), end()]))
}

/// A link of the safety chain: one round ring drawn out to eyes of two wires inside, folded over the two eyes of the next.
pub(super) fn chain_link(s: &ClaspShape) -> Result<Solid, BuildError> {
    let [ring, wire] = s.ring;
    wires::loop_in_loop_link(Mm(ring), Mm(wire), Mm(2.0 * wire), Mm(3.0 * wire))
}

/// A jump ring, closed.
pub(super) fn jump_ring(s: &ClaspShape) -> Result<Solid, BuildError> {
    let [inner, wire] = s.jump;
    wires::ring(Mm(inner), Mm(wire))
}

/// A pin of a hinge as it is drawn in, along y about the origin, the middle of its row: the bead at the front, sunk into its cup as
/// deep as that is; at the back as much over the knuckle as the rivet takes. Both are filed flush afterwards.
pub(super) fn pin(s: &ClaspShape) -> Result<Solid, BuildError> {
    let p = &s.pin;
    let (bead, r) = (p.bead / 2.0, p.wire / 2.0);
    // The bead meets the pin where its sphere is as wide as that.
    let neck = s.back.half + bead - p.sunk - (bead * bead - r * r).max(0.0).sqrt();
    let from = -s.back.half - p.rivet;
    let pin = wires::pin(Mm(neck - from), Mm(p.wire), Mm(p.bead))?;
    // Along z from the origin, to be along y.
    Ok(pin.moved(&Frame::with_axes(Point3::new(0.0, from, 0.0), Vector3::z(), Vector3::x())))
}
