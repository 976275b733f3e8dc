//! Wear by Archard's law, V = K F s/H (J. F. Archard, Contact and Rubbing of Flat Surfaces, J. Appl. Phys. 24, 981, 1953; the form
//! without the factor 3, as in Juvinall and Marshek, Fundamentals of Machine Component Design).
//!
//! A joint that swings by an angle Δθ slides r Δθ at the radius r it turns on; the metal lost is spread over a contact area A, so
//! that a depth t lasts t A H/(365 K F N Δθ r) years.

use super::Assumptions;
use crate::params::{ClaspDims, Design, JointKind, Key};
use serde::Serialize;

/// MPa in one Vickers unit, kgf/mm².
const VICKERS: f64 = 9.807;
/// Days a year.
const YEAR: f64 = 365.0;
/// The coefficient is known to a factor of ten either way, and so is every life.
pub const BAND: f64 = 10.0;
/// Share of a web, wire or tube wall that may go before the joint is mended, and of a pin (common practice, no published source).
const MAY_GO: (f64, f64) = (0.5, 0.3);
/// Times a day the clasp is opened and shut again (common practice, no published source).
const OPENED: f64 = 2.0;
/// How far a hinge of the clasp turns from shut to open, deg: the leaf folds right over (proposal).
const OPENS: f64 = 180.0;
/// Step of the central difference of a sensitivity, as a share.
const DIFFERENCE: f64 = 1e-3;
/// Smallest sensitivity that is told.
const SMALL: f64 = 0.005;

/// Volume worn off by sliding, mm³: V = K F s/H, F in N, s in mm, H in MPa.
#[must_use]
pub fn archard(k: f64, load_n: f64, slid_mm: f64, hardness_mpa: f64) -> f64 {
    k * load_n * slid_mm / hardness_mpa
}

/// A life in years.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Years {
    /// With ten times the coefficient.
    pub short: f64,
    /// With the coefficient of the file.
    pub indicative: f64,
    /// With a tenth of it.
    pub long: f64,
}

/// A place that wears.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WearPoint {
    /// Stable word for programs.
    pub point: &'static str,
    /// In bench words.
    pub name: &'static str,
    /// Metal there when new, mm.
    pub metal_mm: f64,
    /// How much of it may go, mm.
    pub may_go_mm: f64,
    /// How long that lasts.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub years: Option<Years>,
    /// Why there is no life.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub no_years: Option<&'static str>,
}

/// What one dimension buys.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sensitivity {
    /// Parameter.
    pub parameter: &'static str,
    /// d ln(life)/d ln(dimension), everything else as it stands.
    pub elasticity: f64,
    /// Years that 0.05 more adds to the indicative life, for lengths.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub years_per_005_mm: Option<f64>,
}

/// What rubs: depth that may go, contact area, radius slid on.
#[derive(Clone, Copy)]
struct Rub {
    depth: f64,
    area: f64,
    radius: f64,
}

impl Rub {
    fn years(self, a: &Assumptions) -> Years {
        let day = archard(
            a.coefficient,
            a.load_n,
            a.swings_per_day * a.angle_deg.to_radians() * self.radius,
            VICKERS * a.hardness_hv,
        );
        band(self.depth * self.area / (day * YEAR))
    }
}

impl Rub {
    /// Of a hinge that turns only when the clasp is opened and shut, through `OPENS` each way, under the mean pull of the line.
    fn opened_years(self, a: &Assumptions) -> Years {
        let day = archard(
            a.coefficient,
            a.load_n,
            2.0 * OPENED * OPENS.to_radians() * self.radius,
            VICKERS * a.hardness_hv,
        );
        band(self.depth * self.area / (day * YEAR))
    }
}

fn band(x: f64) -> Years {
    Years { short: x / BAND, indicative: x, long: x * BAND }
}

fn point(
    word: &'static str,
    name: &'static str,
    metal_mm: f64,
    may_go_mm: f64,
    years: Result<Years, &'static str>,
) -> WearPoint {
    WearPoint { point: word, name, metal_mm, may_go_mm, years: years.ok(), no_years: years.err() }
}

/// Every named wear point of the line.
#[must_use]
pub fn points(design: &Design) -> Vec<WearPoint> {
    let a = Assumptions::of(design);
    let d = design.dims();
    let mut out = Vec::new();
    if let Some(w) = &d.wire {
        let (web, wire) = loop_rubs(design);
        out.push(point("web", "web, where the loop hangs", w.web_depth.get(), web.depth, Ok(web.years(&a))));
        out.push(point(
            "wire_bend",
            "wire, inside of its bends",
            design.get(Key::Wire),
            wire.depth,
            Ok(wire.years(&a)),
        ));
        out.push(point(
            "bore_crown",
            "crown over the bore",
            w.crown_over_bore.get(),
            MAY_GO.0 * w.crown_over_bore.get(),
            Err("rubs only while the line is pushed together"),
        ));
    }
    if let Some(h) = &d.hinge {
        let (tube, pin) = hinge_rubs(design);
        out.push(point(
            "knuckle",
            "knuckle, wall of its bore",
            h.tube_wall.get(),
            tube.depth,
            Ok(tube.years(&a)),
        ));
        out.push(point("pin", "pin of the hinge", design.get(Key::Pin), pin.depth, Ok(pin.years(&a))));
    }
    if let Some(c) = &d.clasp {
        out.push(tongue(design, &a, c.latch.tongue_force.usual, c.ridge_height.get()));
        let (tube, pin) = clasp_rubs(design, c);
        out.push(point(
            "clasp_pin",
            "pins of the clasp",
            design.get(Key::ClaspPin),
            pin.depth,
            Ok(pin.opened_years(&a)),
        ));
        out.push(point(
            "clasp_knuckle",
            "knuckles of the clasp",
            c.tube_wall.get(),
            tube.depth,
            Ok(tube.opened_years(&a)),
        ));
        for (word, name, key) in [
            ("chain_ring", "rings of the safety chain", Key::ChainWire),
            ("jump_ring", "jump rings of the chain", Key::JumpWire),
        ] {
            let wire = design.get(key);
            out.push(point(
                word,
                name,
                wire,
                MAY_GO.1 * wire,
                Err("hangs slack, no load to reckon with: look at it"),
            ));
        }
    }
    out
}

fn loop_rubs(design: &Design) -> (Rub, Rub) {
    let (height, wire) = (design.get(Key::WebHeight), design.get(Key::Wire));
    let depth = design.dims().wall_horizontal.get();
    let area = wire * height;
    let of = |metal: f64| Rub { depth: MAY_GO.0 * metal, area, radius: height / 2.0 };
    (of(depth), of(wire))
}

fn hinge_rubs(design: &Design) -> (Rub, Rub) {
    let pin = design.get(Key::Pin);
    let (middle, wall) =
        design.dims().hinge.as_ref().map_or((0.0, 0.0), |h| (h.middle_knuckle.get(), h.tube_wall.get()));
    let of = |depth: f64| Rub { depth, area: pin * middle, radius: pin / 2.0 };
    (of(MAY_GO.0 * wall), of(MAY_GO.1 * pin))
}

/// The hinges of the clasp, as those of the line: middle knuckle on its pin.
fn clasp_rubs(design: &Design, c: &ClaspDims) -> (Rub, Rub) {
    let pin = design.get(Key::ClaspPin);
    let middle = design.get(Key::ClaspTubeRow) * (1.0 - 2.0 * design.get(Key::ClaspOuterShare));
    let of = |depth: f64| Rub { depth, area: pin * middle, radius: pin / 2.0 };
    (of(MAY_GO.0 * c.tube_wall.get()), of(MAY_GO.1 * pin))
}

/// The ridge of a strip is a prism: worn flat by h it has lost V = t_P h² (cot α + cot β)/2. Each time it is pressed past, its crest
/// slides as far as its foot is long.
fn tongue(design: &Design, a: &Assumptions, force: f64, ridge: f64) -> WearPoint {
    let cot = |k: Key| 1.0 / libm::tan(design.get(k).to_radians());
    let slopes = cot(Key::LeadAngle) + cot(Key::HoldAngle);
    let may_go = MAY_GO.0 * design.get(Key::TongueSnap);
    let volume = design.get(Key::PlateThickness) * may_go * may_go * slopes / 2.0;
    let day = archard(a.coefficient, force, 2.0 * OPENED * ridge * slopes, VICKERS * a.hardness_hv);
    point("tongue", "ridge of the tongue", ridge, may_go, Ok(band(volume / (day * YEAR))))
}

/// Indicative life of the joint: of what wears out first in it.
#[must_use]
pub fn joint_years(design: &Design) -> f64 {
    let a = Assumptions::of(design);
    let (x, y) = match design.joint() {
        JointKind::WireLoop => loop_rubs(design),
        JointKind::HingeTube => hinge_rubs(design),
    };
    x.years(&a).indicative.min(y.years(&a).indicative)
}

/// Indicative life of the bearing metal (web or tube), the wire or pin apart.
fn bearing_years(design: &Design) -> f64 {
    let a = Assumptions::of(design);
    let (x, _) = match design.joint() {
        JointKind::WireLoop => loop_rubs(design),
        JointKind::HingeTube => hinge_rubs(design),
    };
    x.years(&a).indicative
}

/// How the indicative life of the web, or of the tube, follows each dimension and assumption, by central differences.
#[must_use]
pub fn sensitivities(design: &Design) -> Vec<Sensitivity> {
    let wire = [Key::Wall, Key::Wire, Key::WebHeight];
    let hinge = [Key::TubeOuter, Key::TubeBore, Key::TubeLength, Key::Pin];
    let keys: &[Key] = if design.joint() == JointKind::WireLoop { &wire } else { &hinge };
    let assumed = [Key::WearLoad, Key::WearCoefficient, Key::WearSwings, Key::WearAngle];
    let now = bearing_years(design);
    keys.iter()
        .chain(&assumed)
        .map(|k| {
            let x = design.get(*k);
            let at = |s: f64| bearing_years(&design.varied(*k, x * s));
            let slope = libm::log(at(1.0 + DIFFERENCE) / at(1.0 - DIFFERENCE))
                / libm::log((1.0 + DIFFERENCE) / (1.0 - DIFFERENCE));
            let elasticity = if slope.abs() < SMALL { 0.0 } else { slope };
            let length = keys.contains(k);
            Sensitivity {
                parameter: k.path(),
                elasticity,
                years_per_005_mm: length.then_some(elasticity * now / x * 0.05),
            }
        })
        .collect()
}
