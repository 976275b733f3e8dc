//! The gauge that a printer is measured with: a staircase for the caliper along each axis, and a plate of holes, slots and pins.
//!
//! Every staircase has the same twelve sizes in bands 2.4 mm wide, the largest at one end, so that a size is known by its
//! place; from 3 mm on the size is cut into the step, and one, two or three bars tell the axes x, y, z apart. The one that
//! stands measures upwards. Beside holes and pins their size is cut in tenths of a millimetre. All four bodies stand on the build plate as they lie in the file.

use super::digits::{CELL, bars, number};
use super::manifest::FileSum;
use crate::solid::tree::{Corner, cylinder, prism, rounded_rectangle};
use crate::solid::{BuildError, Frame, Solid, Tree};
use nalgebra::{Point3, Vector3};
use serde::Serialize;
use std::fmt::Write as _;

/// Sizes of the steps, mm.
pub const STEPS: [f64; 12] = [0.8, 1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 5.0, 8.0, 12.0, 16.0, 20.0];
/// Diameters of the holes, mm.
pub const HOLES: [f64; 8] = [0.4, 0.5, 0.6, 0.8, 1.0, 1.5, 2.0, 3.0];
/// Widths of the slots, mm.
pub const SLOTS: [f64; 5] = [0.2, 0.3, 0.4, 0.5, 0.6];
/// Webs left between the slots, mm.
pub const WEBS: [f64; 4] = [0.35, 0.45, 0.50, 0.60];
/// Diameters of the pins, mm.
pub const PINS: [f64; 4] = [0.6, 0.8, 1.0, 1.5];
/// Width of a step and thickness of a staircase, mm.
const BAND: f64 = 2.4;
const THICK: f64 = 3.0;
/// Plate of holes: length, width, thickness, mm.
const PLATE: [f64; 3] = [31.0, 13.0, 1.5];
/// Room between bodies, mm.
const ROOM: f64 = 3.0;

/// The bodies with their names.
///
/// # Errors
/// What the kernel refuses; none for these sizes.
pub fn bodies() -> Result<Vec<(&'static str, Solid)>, BuildError> {
    let o = |x, y| Point3::new(x, y, 0.0);
    let bands = BAND * 12.0;
    let x = Frame::with_axes(o(0.0, 0.0), Vector3::x(), Vector3::y());
    // Sizes along y, bands along -x.
    let y = Frame::with_axes(o(20.0 + ROOM + bands, 0.0), Vector3::y(), -Vector3::x());
    // Sizes upwards, bands along x.
    let z = Frame::with_axes(o(0.0, bands + ROOM + THICK), Vector3::z(), Vector3::x());
    let holes = o(bands + ROOM, bands + ROOM);
    [
        ("gauge x", staircase(&x, 1)),
        ("gauge y", staircase(&y, 2)),
        ("gauge z", staircase(&z, 3)),
        ("holes slots pins", plate(holes)),
    ]
    .into_iter()
    .map(|(name, tree)| Ok((name, Solid::build(&tree)?)))
    .collect()
}

/// Sizes from here on have room for their number, mm.
const NUMBERED: f64 = 3.0;

fn staircase(frame: &Frame, axis: u8) -> Tree {
    let corner = |at, name: &str| Corner { at, arc: None, name: name.to_owned() };
    let mut profile = vec![corner([0.0, 0.0], "end")];
    let mut across = 0.0;
    let margin = (BAND - 5.0 * CELL) / 2.0;
    let mut cuts = bars(frame, [12.0, margin], THICK, axis);
    for s in STEPS.iter().rev() {
        if *s >= NUMBERED {
            cuts.extend(number(frame, [0.8, across + margin], THICK, &s.to_string()));
        }
        profile.push(corner([*s, across], "step"));
        across += BAND;
        profile.push(corner([*s, across], "ledge"));
    }
    profile.push(corner([0.0, across], "datum"));
    prism(*frame, profile, THICK, ["below", "above"]).minus(cuts)
}

/// A size in tenths of a millimetre.
fn tenths(size: f64) -> String {
    format!("{:.0}", size * 10.0)
}

fn plate(at: Point3<f64>) -> Tree {
    let [length, width, thick] = PLATE;
    let sides = ["side", "side", "side", "side"];
    let body = prism(
        Frame::at(at),
        rounded_rectangle([0.0, length], [0.0, width], 0.0, sides),
        thick,
        ["below", "above"],
    );
    let mut cuts = Vec::new();
    let mut x = 1.5;
    for d in HOLES {
        x += d / 2.0;
        let from = Frame::at(at + Vector3::new(x, 2.5, -1.0));
        cuts.push(cylinder(from, d / 2.0, thick + 2.0, "hole", ["out", "out"]));
        // Beside its hole, at least 0.4 from the next.
        cuts.extend(number(&Frame::at(at), [x - d / 2.0, 4.6], thick, &tenths(d)));
        x += d / 2.0 + 2.1;
    }
    let mut x = 2.0;
    for (i, w) in SLOTS.iter().enumerate() {
        let profile = rounded_rectangle([x, x + w], [9.0, width + 1.0], 0.0, sides);
        cuts.push(prism(Frame::at(at + Vector3::new(0.0, 0.0, -1.0)), profile, thick + 2.0, ["out", "out"]));
        x += w + WEBS.get(i).copied().unwrap_or_default();
    }
    let mut pins = Vec::new();
    let mut x = 12.0;
    for d in PINS {
        cuts.extend(number(&Frame::at(at), [x - 0.5, 7.2], thick, &tenths(d)));
        let from = Frame::at(at + Vector3::new(x, 10.6, thick / 2.0));
        pins.push(cylinder(from, d / 2.0, thick / 2.0 + 3.0, "pin", ["in", "top"]));
        x += 4.2;
    }
    body.minus(cuts).plus(pins)
}

/// A file to write the readings into: every size, the readings still missing.
#[must_use]
pub fn readings() -> String {
    let mut out = String::from(
        "# Caliper readings in millimetres, after washing and curing. Write the reading behind the last comma;\n\
         # take a line out where a size did not come out. Then: colletline calibrate readings.csv\n\
         axis,nominal,measured\n",
    );
    for axis in ["x", "y", "z"] {
        for s in STEPS {
            // Writing to a String cannot fail.
            let _ = writeln!(out, "{axis},{s},");
        }
    }
    for d in HOLES {
        let _ = writeln!(out, "hole,{d},");
    }
    out
}

/// What the gauge holds, with checksums of its files.
#[derive(Clone, Debug, Serialize)]
pub struct Gauge {
    format: &'static str,
    program: String,
    units: &'static str,
    state: &'static str,
    steps_mm: Vec<f64>,
    step_width_mm: f64,
    holes_mm: Vec<f64>,
    slots_mm: Vec<f64>,
    webs_mm: Vec<f64>,
    pins_mm: Vec<f64>,
    engraving_mm: f64,
    files: Vec<FileSum>,
}

impl Gauge {
    /// The list that goes with these files.
    #[must_use]
    pub fn of(files: Vec<FileSum>) -> Self {
        Self {
            format: "colletline gauge 1",
            program: format!("colletline {}", env!("CARGO_PKG_VERSION")),
            units: "millimetre",
            state: "nominal size, nothing allowed for",
            steps_mm: STEPS.into(),
            step_width_mm: BAND,
            holes_mm: HOLES.into(),
            slots_mm: SLOTS.into(),
            webs_mm: WEBS.into(),
            pins_mm: PINS.into(),
            engraving_mm: CELL,
            files,
        }
    }
}

/// How the gauge is used.
#[must_use]
pub fn about() -> String {
    let list = |v: &[f64]| v.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
    format!(
        "# The gauge\n\n\
         Print `gauge.3mf` (or the four STL files, which share one frame) as it lies, with the resin, layer and exposure of your masters. \
         Wash and cure as usual, let it cool.\n\n\
         - **gauge x, gauge y, gauge z**: steps of {} mm along that axis, in order, \
         those from 3 on by number. One bar on it is x, two bars y, three z. Lay the caliper's fixed jaw on the long straight \
         face and close it on the step.\n\
         - **holes**: {} mm, from left to right, their number in tenths of a millimetre. Measure with drill shanks or pins: the largest that enters.\n\
         - **slots**: {} mm with webs of {} mm between; **pins**: {} mm. By eye: which came out, which closed or broke? That is \
         the least your printer holds.\n\n\
         Write the readings into `readings.csv`, then `colletline calibrate readings.csv`.\n\n\
         Uncured resin and its solvent: gloves, eye protection, moving air.\n",
        list(&STEPS),
        list(&HOLES),
        list(&SLOTS),
        list(&WEBS),
        list(&PINS)
    )
}

#[cfg(test)]
mod tests {
    use super::super::digits::area;
    use super::*;
    use crate::mesh::exact::solid_mass;

    #[test]
    fn the_bodies_have_the_volumes_of_their_sizes() {
        let made = bodies().unwrap();
        let numbers: f64 = STEPS.iter().filter(|s| **s >= NUMBERED).map(|s| area(&s.to_string())).sum();
        for ((name, solid), n) in made.iter().take(3).zip([1.0, 2.0, 3.0]) {
            let cut = (numbers + n * 5.0 * CELL * CELL) * CELL;
            let stairs = STEPS.iter().sum::<f64>() * BAND * THICK - cut;
            assert!((solid_mass(solid).volume - stairs).abs() < 1e-9, "{name}");
        }
        let [l, w, t] = PLATE;
        let round = |d: f64| std::f64::consts::PI * d * d / 4.0;
        let holes: f64 = HOLES.iter().map(|d| round(*d) * t).sum();
        let numbers: f64 = HOLES.iter().chain(&PINS).map(|d| area(&tenths(*d)) * CELL).sum();
        let slots: f64 = SLOTS.iter().map(|s| s * 4.0 * t).sum();
        let pins: f64 = PINS.iter().map(|d| round(*d) * 3.0).sum();
        let found = solid_mass(&made[3].1).volume;
        assert!((found - (l * w * t - holes - slots - numbers + pins)).abs() < 1e-7, "{found}");
        assert_eq!(made[3].1.genus(), 8);
        for (name, solid) in &made {
            assert!(solid.vertices.iter().all(|p| p.z > -1e-9), "{name} stands under the plate");
        }
    }
}
