//! A pull on the line: what each element in the chain of load bears, the weakest, and what the usual tests ask for.
//!
//! Shear at 0.577 of tension (von Mises), two sections or strands each; after soldering every alloy counts as annealed; solder
//! bears what the trade's annealed joints bear, 0.6 of it in shear (assumption). The formulas carry a fifth at least.

use super::tidy;
use crate::params::{Design, JointKind, Key};
use crate::trade::mechanics::mechanics;
use serde::Serialize;
use std::f64::consts::PI;

/// Shear strength over tensile strength (von Mises).
const SHEAR: f64 = 0.577;
/// What the formulas may be off by, as a share.
pub const SPREAD: f64 = 0.2;
/// What the line must bear, N; what the safety chain must (GB-type buyer tests hold 20 N for 10 s; the rest is a proposal).
pub const LINE: f64 = 50.0;
/// See [`LINE`].
pub const CHAIN: f64 = 20.0;

/// One element.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Element {
    /// In bench words.
    pub element: &'static str,
    /// Pull at which it begins to give, N: least, most.
    pub yields_n: [f64; 2],
    /// Pull at which it breaks, N: least, most.
    pub breaks_n: [f64; 2],
    /// Whether the line hangs on it; the chain does not.
    pub in_line: bool,
}

/// A judgement about a pull.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Holds {
    /// The whole range is over the limit.
    Pass,
    /// The whole range is under it.
    Fail,
    /// The range straddles it: pull a sample.
    Unverified,
}

/// The chain of load.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Strength {
    /// Elements, the weakest first.
    pub elements: Vec<Element>,
    /// The weakest the line hangs on.
    pub weakest: &'static str,
    /// The line against [`LINE`].
    pub line: Holds,
    /// The safety chain against [`CHAIN`]; `None` without one.
    pub chain: Option<Holds>,
    /// Where the strengths come from.
    pub source: &'static str,
    /// What was assumed.
    pub note: &'static str,
}

const NOTE: &str =
    "Annealed after soldering; a fifth either way. The proof is a sample link pulled to breaking.";

/// Tensile strength of a solder joint over the yield of the annealed alloy, and its shear over its tension (assumption).
const SOLDER: f64 = 0.6;

/// Breaking strength of hard wire, MPa: sterling 496 (ESPI Metals, Silver - Sterling), the others from memory.
fn breaks_hard(key: &str) -> f64 {
    if key.starts_with("silver") {
        496.0
    } else if key.starts_with("gold") {
        700.0
    } else {
        550.0
    }
}

/// Where a range lies.
#[must_use]
pub fn against(range: [f64; 2], limit: f64) -> Holds {
    if range[0] >= limit {
        Holds::Pass
    } else if range[1] < limit {
        Holds::Fail
    } else {
        Holds::Unverified
    }
}

/// Pull at which a pin of this diameter shears in two planes, stress in MPa.
#[must_use]
pub fn double_shear(diameter: f64, shear_mpa: f64) -> f64 {
    2.0 * PI * diameter * diameter / 4.0 * shear_mpa
}

/// Strength of a design.
#[must_use]
pub fn strength(design: &Design) -> Strength {
    let d = design.dims();
    let m = mechanics(design.word(Key::Alloy));
    let g = |k: Key| design.get(k);
    let hard_break = breaks_hard(m.key).max(m.yield_hard);
    let solder = SOLDER * SOLDER * m.yield_annealed;
    let mut out: Vec<Element> = Vec::new();
    let mut add = |element, yields: f64, breaks: f64, in_line| {
        let range = |x: f64| [x * (1.0 - SPREAD), x * (1.0 + SPREAD)].map(tidy);
        out.push(Element { element, yields_n: range(yields), breaks_n: range(breaks), in_line });
    };
    let (y, u) = (m.yield_annealed, m.ultimate_annealed);
    if let (JointKind::WireLoop, Some(w)) = (design.joint(), &d.wire) {
        let (a, r, wire) = (w.web_depth.get(), g(Key::WebEdge), g(Key::Wire));
        let web = a * g(Key::WebHeight) - (4.0 - PI) * r * r;
        add("web, sheared at both ends", 2.0 * web * SHEAR * y, 2.0 * web * SHEAR * u, true);
        let beside = w.beside_bore.get() * a;
        add("end wall beside the bore", 2.0 * beside * SHEAR * y, 2.0 * beside * SHEAR * u, true);
        let strands = 2.0 * PI * wire * wire / 4.0;
        add("two strands of wire", strands * y, strands * u, true);
        let seam = 2.0 * (w.flat_width.get() + 2.0 * g(Key::WireFlat)) * a * solder;
        add("solder of the wire in its groove", seam, seam, true);
    }
    if let (JointKind::HingeTube, Some(h)) = (design.joint(), &d.hinge) {
        let section = PI * g(Key::Pin) * g(Key::Pin) / 4.0;
        // One plane is annealed by the melting of its bead.
        add("hinge pin", section * SHEAR * (y + m.yield_hard), section * SHEAR * (u + hard_break), true);
        let path = h.tube_wall.get() * (4.0 * h.behind_recess.get()).min(2.0 * h.middle_knuckle.get());
        add("knuckle, torn out", SHEAR * y * path, SHEAR * u * path, true);
        let (radius, let_in) = (h.tube_radius.get(), h.let_in.get());
        let chord = 2.0 * (radius * radius - (radius - let_in) * (radius - let_in)).max(0.0).sqrt();
        let seam = solder * 2.0 * h.outer_knuckle.get() * chord;
        add("knuckle's seat in its wall", seam, seam, true);
    }
    if let Some(c) = &d.clasp {
        let section = PI * g(Key::ClaspPin) * g(Key::ClaspPin) / 4.0;
        add("clasp pin", section * SHEAR * (y + m.yield_hard), section * SHEAR * (u + hard_break), true);
        let middle = g(Key::ClaspTubeRow) * (1.0 - 2.0 * g(Key::ClaspOuterShare)) - 0.08;
        let path = c.tube_wall.get() * (4.0 * c.behind_recess.get()).min(2.0 * middle);
        add("clasp knuckle, torn out", SHEAR * y * path, SHEAR * u * path, true);
        let plate = g(Key::PlateThickness);
        let net = c.plate_between.get() * plate;
        add("plate between its slots", net * y, net * u, true);
        add("leaf, buckling", c.leaf_buckling, c.leaf_buckling, true);
    }
    if d.chain.is_some() {
        let (ring, jump) = (g(Key::ChainWire), g(Key::JumpWire));
        let strands = 2.0 * PI * ring * ring / 4.0;
        add("chain ring, two strands", strands * y, strands * u, false);
        // A round wire bent open: plastic moment 1.7 of the elastic, on the ring's mean radius.
        let opens = 1.7 * PI * jump * jump * jump / 32.0 / ((g(Key::JumpInner) + jump) / 2.0);
        add("open jump ring", opens * y, opens * u, false);
    }
    out.sort_by(|a, b| a.breaks_n[0].total_cmp(&b.breaks_n[0]));
    let weakest = out.iter().find(|e| e.in_line);
    let line = weakest.map_or(Holds::Unverified, |e| against(e.breaks_n, LINE));
    let chain = out.iter().find(|e| !e.in_line).map(|e| against(e.breaks_n, CHAIN));
    Strength {
        weakest: weakest.map_or("", |e| e.element),
        line,
        chain,
        source: m.source,
        note: NOTE,
        elements: out,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Gere and Timoshenko, Mechanics of Materials, solutions 1.6-4 and 1.6-5; Hibbeler, Mechanics of Materials, 1-61.
    #[test]
    fn textbook_shear_and_bearing() {
        // Pin of 20 mm, 20 kN: 31.8 MPa in two planes; bearing on 2 x 12 mm: 41.7 MPa.
        assert!((double_shear(20.0, 31.8) - 20_000.0).abs() < 30.0);
        assert!((20_000.0_f64 / (20.0 * 24.0) - 41.7).abs() < 0.05);
        // Pins of 18 mm at 60 MPa bear 15 268 N in one plane.
        assert!((double_shear(18.0, 60.0) / 2.0 - 15_268.0).abs() < 1.0);
        // A bolt of a quarter inch, 360 lb: 7330 psi; lb and inch as N and mm cancel.
        assert!((360.0 / (PI * 0.0625 / 4.0) - 7330.0).abs() < 5.0);
        // 0.8 mm annealed sterling, yield 124 MPa: 72 N in two planes.
        assert!((double_shear(0.8, SHEAR * 124.0) - 72.0).abs() < 0.3);
    }

    #[test]
    fn a_range_that_straddles_its_limit_is_unverified() {
        assert_eq!(against([50.0, 60.0], 50.0), Holds::Pass);
        assert_eq!(against([40.0, 49.9], 50.0), Holds::Fail);
        assert_eq!(against([45.0, 60.0], 50.0), Holds::Unverified);
    }
}
