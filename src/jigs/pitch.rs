//! The pitch jig: five links in a row, each on a tongue in its opening, back against a wall; ends, tops and fronts stay free.

use super::{BEYOND, Bench, FLOOR, Jig, Made, Size, Without, block, built, engraved};
use crate::parts::link::End;
use crate::solid::tree::cylinder;
use crate::solid::{BuildError, Frame};
use nalgebra::{Point3, Vector3};

/// Places of the links, in pitches.
const PLACES: [f64; 5] = [-2.0, -1.0, 0.0, 1.0, 2.0];
/// Joints between them.
const JOINTS: [f64; 4] = [-1.5, -0.5, 0.5, 1.5];
/// Room beyond the links at the ends and in front, wall over the tongues, mm.
const OVER: f64 = 1.0;
/// How deep the channel under the joints is, mm.
const CHANNEL: f64 = 1.2;

/// The pitch jig.
///
/// # Errors
/// The kernel's refusal.
pub(crate) fn pitch(b: &Bench<'_>) -> Result<Made, BuildError> {
    let (jig, title) = ("jig.pitch", "pitch jig for five links");
    let t = b.tongue();
    if let Some(why) = t.missing() {
        return Ok(Err(Without { jig, title, why }));
    }
    let pitch = b.design.dims().pitch.get();
    let (face, back) = (b.pocket(), b.pocket() + b.wall);
    let long = 2.0 * pitch + b.reach + OVER;
    let front = b.reach + OVER;
    let floor = block([-long, long], [-back, front], [-FLOOR, 0.0], "jig.side", ["jig.below", "nest.floor"]);
    let high = b.shape.opening.top.get() + OVER;
    let wall = block([-long, long], [-back, -face], [-FLOOR, high], "jig.wall", ["jig.below", "jig.above"]);
    let tongues = PLACES.map(|k| t.tree(k * pitch, -1.0, face + b.wall / 2.0));
    let mut cuts = Vec::new();
    let mut sizes = vec![
        Size::of("play", "play of a link on its tongue on each surface", b.play),
        Size::of("pitch", "pitch", pitch),
        Size::of("tongue_width", "tongue, wide", 2.0 * t.half),
        Size::of("tongue_height", "tongue, high", t.z[1] - t.z[0]),
    ];
    let mut how = String::from(
        "Slide the links over the floor onto the tongues until the wall stops them: they stand at pitch. Printed plastic does not \
         stand a flame: set out, check and rivet cold in it. To solder at pitch bed the row in investment or on a charcoal block and \
         lift the jig off, or mill the same jig of graphite or machinable ceramic.",
    );
    // Where nothing is hinged the lower leg of the wire and its seam are reached from below.
    let mut half = 0.0_f64;
    for end in &b.shape.ends {
        match end {
            End::Plain => {}
            End::Loop(j) => half = half.max(j.groove_width.get() / 2.0 + 0.3),
            End::Pair(j) | End::Middle(j) => {
                if j.height.get() < j.outer.get() / 2.0 {
                    half = half.max(j.length.get() / 2.0 + b.play);
                }
                let hole = j.bore.get() + 2.0 * b.play;
                for k in JOINTS {
                    let from = Point3::new(k * pitch, -back - BEYOND, j.height.get());
                    let frame = Frame::with_axes(from, Vector3::z(), Vector3::x());
                    let length = back - face + 2.0 * BEYOND;
                    cuts.push(cylinder(frame, hole / 2.0, length, "pin.hole", ["out", "out"]));
                }
            }
        }
        if !cuts.is_empty() {
            break;
        }
    }
    if let Some(End::Pair(j) | End::Middle(j)) = b.shape.ends.iter().find(|e| !matches!(e, End::Plain)) {
        sizes.push(Size::of("pin_hole", "hole for the pin", j.bore.get() + 2.0 * b.play));
        sizes.push(Size::of("pin_height", "its axis over the underside", j.height.get()));
        how += " The pins go in from the front and out through the holes in the wall.";
    }
    if half > 0.0 {
        let across = [-half, half];
        let z = [-CHANNEL, BEYOND];
        cuts.push(block(
            [-long - BEYOND, long + BEYOND],
            across,
            z,
            "channel.side",
            ["channel.floor", "out"],
        ));
    }
    cuts.extend(engraved(-1.0, back, -FLOOR, &format!("{:.0}", pitch * 100.0)));
    cuts.extend(engraved(1.0, front, -FLOOR, &b.stone()));
    // The tongues are added last: no cut of the floor reaches them.
    let solid = built(&floor.plus(vec![wall]).minus(cuts).plus(tongues.into()))?;
    Ok(Ok(Jig {
        name: jig,
        title,
        count: 1,
        solid,
        sizes,
        numbers: format!(
            "on the back the pitch in hundredths of a millimetre, {:.0}; in front the stone, {}",
            pitch * 100.0,
            b.stone()
        ),
        rules: vec![b.wall_rule()],
        how: format!(
            "{how} A link can shift by {:.2} each way: push all the same way before you measure.",
            b.play
        ),
    }))
}
