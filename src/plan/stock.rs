//! What is cut from wire, strip and tube: section, length with its bends on the neutral line, what the saw and the flame take.

use crate::params::{Design, JointKind, Key};
use crate::parts::Route;
use serde::Serialize;
use std::f64::consts::PI;

/// Neutral line of a bent wire, as a share of its thickness from the inside (0.40 to 0.50 at the bench; assumption).
pub const NEUTRAL: f64 = 0.45;
/// Scarf where the ends of a folded wire meet, mm (common practice).
const SCARF: f64 = 0.5;
/// What melts back at the end of a claw, mm (common practice).
const MELT_BACK: f64 = 0.05;
/// Height left on a collet strip to true both ends, mm (common practice).
const TRUE_UP: f64 = 0.20;
/// A pin is drawn in by this much more than it needs, to grip it, mm (common practice).
const GRIP: f64 = 6.0;

/// One kind of piece to cut.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Piece {
    /// What it becomes, in bench words.
    pub what: String,
    /// Section in the words of the plan: `wire 0.55`, `strip 0.50 x 2.97`, `tube 1.20/0.50`.
    pub section: String,
    /// Area of the section, mm2.
    pub area_mm2: f64,
    /// Length of one, cut.
    pub length_mm: f64,
    /// How much of that length is in the finished piece.
    pub in_finished: f64,
    /// How many.
    pub count: usize,
    /// How the length was found.
    pub how: String,
    /// Temper it is used in.
    pub temper: &'static str,
}

pub(super) fn wire(
    what: &str,
    d: f64,
    length: f64,
    in_finished: f64,
    count: usize,
    how: &str,
    temper: &'static str,
) -> Piece {
    Piece {
        what: what.to_owned(),
        section: format!("wire {d:.2}"),
        area_mm2: PI * d * d / 4.0,
        length_mm: length,
        in_finished,
        count,
        how: how.to_owned(),
        temper,
    }
}

/// Every piece of stock of a design's links, joints and clasp; a cast link needs none of its own.
#[must_use]
pub fn pieces(design: &Design, links: usize, joints: usize) -> Vec<Piece> {
    let mut out = Vec::new();
    if link_route(design) == Route::Fabricated {
        out.extend(collet(design, links, ["collet", "claw"]));
    }
    out.extend(joint(design, joints, links));
    out.extend(super::stock_clasp::pieces(design));
    out
}

/// How the link is made.
#[must_use]
pub fn link_route(design: &Design) -> Route {
    if design.get(Key::LinkRoute) == 0.0 { Route::Cast } else { Route::Fabricated }
}

/// Strip and claw wire of so many collets, under these names.
pub(super) fn collet(design: &Design, count: usize, names: [&str; 2]) -> Vec<Piece> {
    let d = design.dims();
    let wall = design.get(Key::Wall);
    let slant = d.rim.get() / libm::cos(d.taper.radians());
    let middle = (d.rim_radius.get() + d.foot_radius.get()) / 2.0 - d.wall_horizontal.get() / 2.0;
    let (round, how) = if d.shape.is_flat() {
        let r = design.get(Key::CornerRadius) - wall / 2.0;
        let r = r.max(0.0);
        (8.0 * (middle - r) + 2.0 * PI * r, "four sides and four corners along the middle of the wall")
    } else {
        (2.0 * PI * middle, "circumference along the middle of the wall, half way up")
    };
    let height = slant + TRUE_UP;
    let strip = Piece {
        what: names[0].to_owned(),
        section: format!("strip {wall:.2} x {height:.2}"),
        area_mm2: wall * height,
        length_mm: round + wall,
        // Weighed with the solid it becomes.
        in_finished: 0.0,
        count,
        how: format!("{how}, and one wall for the seam; drawn up to its taper in the collet block"),
        temper: "annealed",
    };
    let claw = d.claw_top_raw.get() - d.claw_foot.get() + MELT_BACK;
    let claws = wire(
        names[1],
        design.get(Key::ClawDiameter),
        claw,
        0.0,
        4 * count,
        "from its foot to the height left for the setter, and what melts back",
        "annealed",
    );
    vec![strip, claws]
}

fn joint(design: &Design, joints: usize, links: usize) -> Vec<Piece> {
    let d = design.dims();
    if design.joint() == JointKind::WireLoop {
        let Some(w) = &d.wire else { return Vec::new() };
        let (dw, tf, r) = (design.get(Key::Wire), design.get(Key::WireFlat), design.get(Key::WebEdge));
        let span = w.loop_span.get() + 2.0 * design.get(Key::EndPlay);
        let straight = 2.0 * (span - 2.0 * r) + 2.0 * (w.loop_height.get() - 2.0 * r);
        let bends = PI * (2.0 * r + NEUTRAL * dw + NEUTRAL * tf);
        let blank = straight + bends;
        let how = "two legs, two sides, four bends on the neutral line, and the scarf; fold three, measure the span, correct by half";
        return vec![wire("connecting wire", dw, blank + SCARF, blank, joints, how, "annealed")];
    }
    let Some(h) = &d.hinge else { return Vec::new() };
    let (outer, bore, pin) = (design.get(Key::TubeOuter), design.get(Key::TubeBore), design.get(Key::Pin));
    let row = design.get(Key::TubeLength);
    let bead = h.pin_bead.get();
    // A ball of diameter b takes 2 b^3 / 3 d^2 of wire d.
    let melted = 2.0 * bead * bead * bead / (3.0 * pin * pin);
    let inside = row - h.recess_depth.get() + melted + 0.25 * pin;
    let how = "through the row, the bead's melt, a quarter of its diameter for the rivet, and 6 mm to hold; cut off after riveting";
    let mut out = vec![wire(
        "hinge pin",
        pin,
        inside + GRIP,
        inside,
        joints,
        how,
        "hard; the bead end is annealed by its melting",
    )];
    if link_route(design) == Route::Fabricated {
        let tube = |what: &str, length: f64, count: usize| Piece {
            what: what.to_owned(),
            section: format!("tube {outer:.2}/{bore:.2}"),
            area_mm2: PI * (outer * outer - bore * bore) / 4.0,
            length_mm: length,
            in_finished: 0.0,
            count,
            how: "knuckle, filed to length with its neighbours".into(),
            temper: "as drawn",
        };
        out.push(tube("outer knuckle", h.outer_knuckle.get(), 2 * links));
        out.push(tube("middle knuckle", h.middle_knuckle.get(), links));
    }
    out
}
