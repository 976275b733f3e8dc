//! What each element in the chain of load holds, and which is the weakest.
//!
//! Closed forms of Gere and Timoshenko, Mechanics of Materials: average shear F/A with shear strength 0.577 of the tensile one
//! (von Mises), net section, Euler's column, eccentric compression; the ring as a curved bar pulled open at its joint, 1.7 σ Z/R
//! (plastic bending of a round wire, shape factor 16/3π = 1.70).

use crate::params::{Design, JointKind, KNUCKLE_GAP, KNUCKLE_ROOM, Key};
use crate::walls::Judgement;
use serde::Serialize;
use std::f64::consts::PI;

/// Shear strength as a share of the tensile one, 1/√3.
const SHEAR: f64 = 0.577;
/// The same of a solder joint (proposal).
const SOLDER_SHEAR: f64 = 0.6;
/// Factor by which the closed forms may be off either way (proposal).
pub const OFF: f64 = 1.2;
/// Plastic over elastic moment of a round wire, 16/(3π).
const ROUND_PLASTIC: f64 = 1.7;

/// Least pull of the line (proposal: no standard gives one), of the chain, and of hinge pins (a proposal beyond the usual), N.
const LINE: f64 = 50.0;
const CHAIN: f64 = 20.0;

/// One element.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Element {
    /// Stable word for programs.
    pub element: &'static str,
    /// In bench words.
    pub name: &'static str,
    /// Whether it hangs in the line; else in the safety chain.
    pub in_line: bool,
    /// Pull at which it gives for good, N.
    pub yield_n: f64,
    /// Pull at which it parts, N.
    pub ultimate_n: f64,
    /// The least and the most it may part at, N.
    pub range_n: [f64; 2],
}

/// A pull it is held against.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PullTest {
    /// What is pulled.
    pub what: &'static str,
    /// With how much, N.
    pub pull_n: f64,
    /// Where that comes from.
    pub source: &'static str,
    /// Weakest element.
    pub weakest: &'static str,
    /// Its range, N.
    pub range_n: [f64; 2],
    /// What follows; a range that straddles the pull decides nothing.
    pub verdict: Judgement,
    /// What to do about it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub change: Option<&'static str>,
}

/// The chain of load.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Strength {
    /// Every element, the weakest first.
    pub elements: Vec<Element>,
    /// The weakest in the line.
    pub weakest: &'static str,
    /// Verdicts.
    pub tests: Vec<PullTest>,
    /// The alloy's figures and where they come from.
    pub metal: String,
}

/// Yield and ultimate of a stress times an area.
#[derive(Clone, Copy)]
struct Metal {
    soft: [f64; 2],
    hard: [f64; 2],
    solder: f64,
    modulus: f64,
}

impl Metal {
    fn pull(self, area: f64) -> [f64; 2] {
        self.soft.map(|s| s * area)
    }
    fn shear(self, area: f64) -> [f64; 2] {
        self.soft.map(|s| SHEAR * s * area)
    }
    /// A pin in double shear, one plane softened by the bead melted beside it.
    fn pin(self, pin: f64) -> [f64; 2] {
        let area = PI / 4.0 * pin * pin;
        let [y, u] = self.soft;
        [SHEAR * (y + self.hard[0]) * area, SHEAR * (u + self.hard[1]) * area]
    }
    fn joint(self, area: f64) -> [f64; 2] {
        [SOLDER_SHEAR * self.solder * area; 2]
    }
}

fn element(word: &'static str, name: &'static str, in_line: bool, n: [f64; 2]) -> Element {
    let n = n.map(|x| x.max(0.0));
    Element {
        element: word,
        name,
        in_line,
        yield_n: n[0],
        ultimate_n: n[1],
        range_n: [n[1] / OFF, n[1] * OFF],
    }
}

/// Every element of the design and how it stands the usual pulls.
#[must_use]
pub fn strength(design: &Design) -> Strength {
    let (m, w) = (design.mechanics(), design.wearing());
    let metal = Metal {
        soft: [m.yield_annealed, m.ultimate_annealed],
        hard: [m.yield_hard, w.ultimate_hard],
        solder: w.solder,
        modulus: m.modulus,
    };
    let mut elements = match design.joint() {
        JointKind::WireLoop => wire(design, metal),
        JointKind::HingeTube => hinge(design, metal),
    };
    clasp(design, metal, &mut elements);
    elements.sort_by(|a, b| a.ultimate_n.total_cmp(&b.ultimate_n));
    let mut tests = vec![test(&elements, true, LINE)];
    tests.extend(elements.iter().any(|e| !e.in_line).then(|| test(&elements, false, CHAIN)));
    Strength {
        weakest: elements.iter().find(|e| e.in_line).map_or("", |e| e.element),
        tests,
        metal: format!(
            "annealed {:.0}/{:.0} MPa, hard {:.0}/{:.0} MPa, solder {:.0} MPa ({}; {})",
            metal.soft[0], metal.soft[1], metal.hard[0], metal.hard[1], metal.solder, m.source, w.source
        ),
        elements,
    }
}

fn test(elements: &[Element], line: bool, pull: f64) -> PullTest {
    let weakest = elements.iter().find(|e| e.in_line == line);
    let range = weakest.map_or([0.0; 2], |e| e.range_n);
    let verdict = if range[0] >= pull {
        Judgement::Pass
    } else if range[1] < pull {
        Judgement::Fail
    } else {
        Judgement::Unverified
    };
    PullTest {
        what: if line { "the line" } else { "the safety chain" },
        pull_n: pull,
        source: if line {
            "proposal: no standard gives a least pull of a bracelet"
        } else {
            "buyers' pull test of closed loops, 20 N held for 10 s (garmentstech.com); taken as the least pull here by proposal"
        },
        weakest: weakest.map_or("", |e| e.name),
        range_n: range,
        verdict,
        change: match verdict {
            Judgement::Pass => None,
            Judgement::Fail => Some("thicken the weakest element"),
            Judgement::Unverified => Some("pull a sample, or thicken the weakest element"),
        },
    }
}

fn wire(design: &Design, m: Metal) -> Vec<Element> {
    let Some(w) = &design.dims().wire else { return Vec::new() };
    let (a, height, edge, wire) =
        (w.web_depth.get(), design.get(Key::WebHeight), design.get(Key::WebEdge), design.get(Key::Wire));
    let web = a * height - (4.0 - PI) * edge * edge;
    let seam = 2.0 * (w.flat_width.get() + 2.0 * design.get(Key::WireFlat)) * a;
    vec![
        element("web", "web, torn through the bore", true, m.shear(2.0 * web)),
        element("loop", "wire loop, two legs", true, m.pull(PI / 2.0 * wire * wire)),
        element("seam", "soldered seam of the loop", true, m.joint(seam)),
        element("beside_bore", "end wall beside the bore", true, m.shear(2.0 * w.beside_bore.get() * a)),
    ]
}

fn hinge(design: &Design, m: Metal) -> Vec<Element> {
    let Some(h) = &design.dims().hinge else { return Vec::new() };
    let lengths = (4.0 * h.behind_recess.get()).min(2.0 * h.middle_knuckle.get());
    let (r, l) = (h.tube_radius.get(), h.let_in.get());
    let chord = 2.0 * (r * r - (r - l) * (r - l)).max(0.0).sqrt();
    vec![
        element("pin", "hinge pin, sheared", true, m.pin(design.get(Key::Pin))),
        element("knuckle", "hinge knuckle, torn out", true, m.shear(h.tube_wall.get() * lengths)),
        element(
            "tube_solder",
            "tube soldered to the end wall",
            true,
            m.joint(2.0 * h.outer_knuckle.get() * chord),
        ),
    ]
}

fn clasp(design: &Design, m: Metal, out: &mut Vec<Element>) {
    let Some(c) = &design.dims().clasp else { return };
    let g = |k: Key| design.get(k);
    let (plate, leaf, width) = (g(Key::PlateThickness), g(Key::LeafThickness), g(Key::Width));
    let middle = g(Key::ClaspTubeRow) * (1.0 - 2.0 * g(Key::ClaspOuterShare)) - 2.0 * KNUCKLE_GAP.get();
    let lengths = (4.0 * c.behind_recess.get()).min(2.0 * middle);
    let feet = (width - 2.0 * g(Key::FootWidth)) * plate + (g(Key::FootWidth) - g(Key::StripRivet)) * plate;
    let beside = width - g(Key::ClaspTubeRow) - 2.0 * KNUCKLE_ROOM.get();
    let neck = 2.0 * (c.boundary - KNUCKLE_GAP).get();
    let off = (c.leaf_bottom.get() + leaf / 2.0 - (g(Key::ClaspFront) + g(Key::ClaspBack)) / 2.0).abs();
    let across = c.leaf_width.get();
    let squeezed = 1.0 / (1.0 / (across * leaf) + 6.0 * off / (across * leaf * leaf));
    out.extend([
        element("clasp_pin", "pin of the clasp, sheared", true, m.pin(g(Key::ClaspPin))),
        element(
            "clasp_knuckle",
            "knuckle of the clasp, torn out",
            true,
            m.shear(c.tube_wall.get() * lengths),
        ),
        element("plate_strips", "base plate beside the strips", true, m.pull(c.plate_between.get() * plate)),
        element("plate_feet", "base plate at the feet of the strips", true, m.pull(feet)),
        element("plate_hinge", "base plate beside the front hinge", true, m.pull(beside * plate)),
        element("leaf_neck", "neck of the leaf at a pin", true, m.pull(neck * leaf)),
        element("leaf_bent", "leaf, pressed off its middle", true, m.pull(squeezed)),
        element(
            "leaf_buckled",
            "leaf, buckled",
            true,
            [euler(m.modulus, across, leaf, c.leaf_length.get()); 2],
        ),
    ]);
    let (wire, inner) = (g(Key::JumpWire), g(Key::JumpInner));
    let bent = ROUND_PLASTIC * PI * wire * wire * wire / 32.0 / ((inner + wire) / 2.0);
    let strand = g(Key::ChainWire);
    out.extend([
        element("jump_ring", "jump ring, pulled open", false, m.pull(bent)),
        element("chain_ring", "ring of the chain, two strands", false, m.pull(PI / 2.0 * strand * strand)),
    ]);
}

/// π² E I/L² of a strip with both ends free to turn.
#[must_use]
pub fn euler(modulus: f64, width: f64, thickness: f64, length: f64) -> f64 {
    PI * PI * modulus * width * thickness * thickness * thickness / 12.0 / (length * length)
}
