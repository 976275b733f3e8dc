//! The former for the connecting wire: a ridge as wide as the loop is inside, its flanks leaning in by what the wire springs back.
//!
//! The neutral line of a bend keeps its length: bent round the radius r by 90 deg + s, it springs back to 90 deg and the radius
//! r' with (r' + d/2) 90 = (r + d/2)(90 + s), d the wire. The straight between the bends, S - 2 r', stays.

use super::{Bench, Jig, LEAST_TONGUE, Made, PROPOSAL, Size, Without, built, engraved, judged};
use crate::params::Key;
use crate::parts::joint::BEND;
use crate::solid::tree::{ArcTo, Corner, prism};
use crate::solid::{BuildError, Frame};
use crate::units::Deg;
use nalgebra::{Point3, Vector3};

/// Length of the ridge, height of its base, width of the base beside it, mm.
const LENGTH: f64 = 14.0;
const BASE: f64 = 4.0;
const BESIDE: f64 = 3.0;
/// Height of the flanks over what the loop is high inside, in wires: room to press the leg against.
const OVER: f64 = 1.5;

/// The former of a wire loop.
///
/// # Errors
/// The kernel's refusal.
pub(crate) fn former(b: &Bench<'_>) -> Result<Made, BuildError> {
    let (jig, title) = ("jig.wire", "former for the connecting wire");
    let Some(w) = &b.design.dims().wire else {
        let why = "the joint is a hinge tube: its pin is straight, there is no wire to form".to_owned();
        return Ok(Err(Without { jig, title, why }));
    };
    let d = b.design.get(Key::Wire);
    let spring = b.design.get(Key::JigSpring);
    let span = w.loop_span.get() + 2.0 * b.design.get(Key::EndPlay);
    let after = (BEND - 0.5) * d;
    let before = (after + d / 2.0) * 90.0 / (90.0 + spring) - d / 2.0;
    let (s, c) = libm::sincos(Deg(spring).radians());
    // From the middle: half the straight top, then an arc of radius `before` turned by 90 deg + spring, then the flank.
    let straight = span / 2.0 - after;
    let meets = [straight + before * c, -before * (1.0 + s)];
    let deep = w.loop_height.get() + OVER * d;
    let foot = meets[0] - (deep + meets[1]) * s / c;
    if 2.0 * foot < LEAST_TONGUE || straight <= 0.0 || before <= 0.0 {
        let why = format!(
            "the ridge would be {:.2} mm thin at its foot: give less jig.spring_back",
            (2.0 * foot).max(0.0)
        );
        return Ok(Err(Without { jig, title, why }));
    }
    let half = span / 2.0 + BESIDE;
    let low = -deep - BASE;
    let corner = |at: [f64; 2], name: &str| Corner { at, arc: None, name: name.to_owned() };
    let arc = |at: [f64; 2], x: f64| Corner {
        at,
        arc: Some(ArcTo { centre: [x, -before], ccw: true }),
        name: "former.bend".to_owned(),
    };
    let profile = vec![
        corner([-half, low], "former.below"),
        corner([half, low], "former.side"),
        corner([half, -deep], "former.base"),
        corner([foot, -deep], "former.flank"),
        arc(meets, straight),
        corner([straight, 0.0], "former.top"),
        arc([-straight, 0.0], -straight),
        corner([-meets[0], meets[1]], "former.flank"),
        corner([-foot, -deep], "former.base"),
        corner([-half, -deep], "former.side"),
    ];
    // Profile in (x, z), swept along -y.
    let frame = Frame::with_axes(Point3::new(0.0, LENGTH / 2.0, 0.0), Vector3::x(), Vector3::z());
    let body = prism(frame, profile, LENGTH, ["former.end", "former.end"]);
    let mut cuts = engraved(1.0, LENGTH / 2.0, low, &format!("{:.0}", span * 100.0));
    cuts.extend(engraved(-1.0, LENGTH / 2.0, low, &b.stone()));
    let solid = built(&body.minus(cuts))?;
    Ok(Ok(Jig {
        name: jig,
        title,
        count: 1,
        solid,
        sizes: vec![
            Size::of("span", "inner span of the loop it makes", span),
            Size::of("wire", "wire", d),
            Size::of("bend_former", "inner radius on the former", before),
            Size::of("bend_wire", "inner radius of the wire, sprung back", after),
            Size::of("straight", "flat of the ridge between the bends", 2.0 * straight),
            Size::of("spring_back_deg", "spring back allowed for, degrees", spring),
            Size::of("foot", "ridge at its foot", 2.0 * foot),
        ],
        numbers: format!(
            "on one end the span in hundredths of a millimetre, {:.0}; on the other the stone, {}",
            span * 100.0,
            b.stone()
        ),
        rules: vec![judged("ridge of the former at its foot", 2.0 * foot, 0.6, PROPOSAL, "jig.spring_back")],
        how: format!(
            "Soft wire, annealed, quenched and dry, laid across the ridge; press both legs down along the flanks. They lean in by \
             {spring:.1} deg for the spring back; 1 to 5 is from memory, so measure the first loop and change jig.spring_back. Wire of \
             {d:.2} dents a print in time: file the same ridge in brass for a long line. Not for hot wire."
        ),
    }))
}
