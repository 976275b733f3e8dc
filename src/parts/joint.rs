//! What joins two links, as a solid in the frame of their boundary: the connecting wire of a loop, or the pin of a hinge tube.

use super::wires::connecting_wire;
use crate::params::{Design, Key};
use crate::solid::tree::cylinder;
use crate::solid::{BuildError, Frame, Solid};
use crate::units::Mm;
use nalgebra::{Point3, Vector3};

/// Bend of the wire's corners over its middle line, in thicknesses (proposal: as tight as round pliers leave it).
pub(crate) const BEND: f64 = 0.6;

/// The wire, closed, its lower leg still round: all the metal that hammering spreads, its inner side where the hammered one's is.
/// The hammered leg, whose width is that of a kept section ([`crate::params::WireDims::flat_width`]), stands in rules and in `motion`.
/// Or the pin, as long as its row, without its beads. x = 0 on the boundary of the two links, z = 0 their underside.
///
/// # Errors
/// The kernel's refusal.
pub fn build(design: &Design) -> Result<Solid, BuildError> {
    let d = design.dims();
    let p = d.pitch.get();
    if let Some(w) = &d.wire {
        let (wire, flat, play) = (design.get(Key::Wire), design.get(Key::WireFlat), design.get(Key::EndPlay));
        let inner = w.web_x.get() - w.web_depth.get() / 2.0;
        let half = p / 2.0 - inner + play + wire / 2.0;
        let (up, low) = (w.bore_floor.get() + wire / 2.0, flat - wire / 2.0);
        let ring = connecting_wire(Mm(2.0 * half), Mm(up - low), Mm(BEND * wire), Mm(wire))?;
        return Ok(ring.moved(&Frame::at(Point3::new(0.0, 0.0, f64::midpoint(up, low)))));
    }
    let (length, pin) = (design.get(Key::TubeLength), design.get(Key::Pin));
    let from = Point3::new(0.0, -length / 2.0, d.joint_height.get());
    let frame = Frame::with_axes(from, Vector3::z(), Vector3::x());
    Solid::build(&cylinder(frame, pin / 2.0, length, "pin.side", ["pin.end", "pin.end"]))
}
