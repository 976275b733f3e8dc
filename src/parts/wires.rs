//! What is made from round wire as it comes from the draw plate, each an exact solid: rings, pins, the connecting wire of a
//! wire loop, U-wires, links of a loop-in-loop chain.
//!
//! Every shape lies in a frame of its own, mm. Face names say what a bench calls the place.

use crate::solid::path::Path;
use crate::solid::pipe::{End, pipe};
use crate::solid::{BuildError, Solid};
use crate::units::Mm;
use nalgebra::{Point3, Vector3};
use std::f64::consts::{FRAC_PI_2, PI};

/// A closed ring: chain ring, or jump ring after closing. About the z axis, its middle at the origin.
///
/// # Errors
/// [`BuildError::Primitive`]: no wire, or no opening.
pub fn ring(inner: Mm, wire: Mm) -> Result<Solid, BuildError> {
    let radius = (inner.0 + wire.0) / 2.0;
    let path = Path::start(Point3::new(radius, 0.0, 0.0), &Vector3::y())?
        .bend("ring", &-Vector3::x(), radius, 2.0 * PI)?
        .close()?;
    pipe(&path, wire.0 / 2.0, None)
}

/// A pin along z: from its cut end at the origin to where its bead begins `length` farther; `bead` is the bead's diameter.
/// The length holds whatever is allowed for a rivet.
///
/// # Errors
/// [`BuildError::Primitive`]: a bead thinner than the wire, no length.
pub fn pin(length: Mm, wire: Mm, bead: Mm) -> Result<Solid, BuildError> {
    let path = Path::start(Point3::origin(), &Vector3::z())?.line("pin", length.0)?;
    pipe(&path, wire.0 / 2.0, Some([End::Flat("pin.end".into()), End::Ball("pin.bead".into(), bead.0 / 2.0)]))
}

/// A connecting wire folded to a closed flat ring: `length` and `height` over the middle line, corners bent to `bend` at
/// the middle line; in the xz plane, the upper leg along x. The seam of the solder is not shown, nor is a hammered leg.
///
/// # Errors
/// [`BuildError::Primitive`]: bends tighter than the wire is thick or larger than the ring, or legs that meet.
pub fn connecting_wire(length: Mm, height: Mm, bend: Mm, wire: Mm) -> Result<Solid, BuildError> {
    let (long, high) = (length.0 - 2.0 * bend.0, height.0 - 2.0 * bend.0);
    let (x, z) = (Vector3::x(), Vector3::z());
    let path = Path::start(Point3::new(-long / 2.0, 0.0, height.0 / 2.0), &x)?
        .line("wire.upper", long)?
        .bend("wire.bend", &-z, bend.0, FRAC_PI_2)?
        .line("wire.end", high)?
        .bend("wire.bend", &-x, bend.0, FRAC_PI_2)?
        .line("wire.lower", long)?
        .bend("wire.bend", &z, bend.0, FRAC_PI_2)?
        .line("wire.end", high)?
        .bend("wire.bend", &x, bend.0, FRAC_PI_2)?
        .close()?;
    pipe(&path, wire.0 / 2.0, None)
}

/// A U of wire: a bar of `bar` over the middle lines of its legs, legs of `leg` from the bar's middle line to their cut
/// ends, corners bent to `bend` at the middle line. In the xz plane, the legs along -z from the bar.
///
/// # Errors
/// [`BuildError::Primitive`]: bends tighter than the wire is thick or too large for bar or legs.
pub fn u_wire(bar: Mm, leg: Mm, bend: Mm, wire: Mm) -> Result<Solid, BuildError> {
    let (x, z) = (Vector3::x(), Vector3::z());
    let path = Path::start(Point3::new(-bar.0 / 2.0, 0.0, -leg.0), &z)?
        .line("u.leg", leg.0 - bend.0)?
        .bend("u.bend", &x, bend.0, FRAC_PI_2)?
        .line("u.bar", bar.0 - 2.0 * bend.0)?
        .bend("u.bend", &-z, bend.0, FRAC_PI_2)?
        .line("u.leg", leg.0 - bend.0)?;
    pipe(&path, wire.0 / 2.0, Some([End::Flat("u.end".into()), End::Flat("u.end".into())]))
}

/// A link of a loop-in-loop chain: a ring of `inner` diameter drawn out to an oval whose eyes have `eye` inner diameter,
/// then folded in the middle so that its two eyes lie side by side, `fold` between the middle lines of the fold. The ring's
/// middle line keeps its length. Eyes below (-z), fold above, the fold about an axis along x.
///
/// # Errors
/// [`BuildError::Primitive`]: a ring too small for its eyes and fold, or a fold tighter than the wire is thick.
pub fn loop_in_loop_link(inner: Mm, wire: Mm, eye: Mm, fold: Mm) -> Result<Solid, BuildError> {
    let d = wire.0;
    let (round, over) = ((eye.0 + d) / 2.0, fold.0 / 2.0);
    // Two ends of half a turn and two folds of half a turn leave this for the four straight pieces.
    let leg = (PI * (inner.0 + d) - 2.0 * PI * round - 2.0 * PI * over) / 4.0;
    let (x, y, z) = (Vector3::x(), Vector3::y(), Vector3::z());
    let path = Path::start(Point3::new(-round, -over, 0.0), &z)?
        .line("link.leg", leg)?
        .bend("link.fold", &y, over, PI)?
        .line("link.leg", leg)?
        .bend("link.eye", &x, round, PI)?
        .line("link.leg", leg)?
        .bend("link.fold", &-y, over, PI)?
        .line("link.leg", leg)?
        .bend("link.eye", &-x, round, PI)?
        .close()?;
    pipe(&path, d / 2.0, None)
}
