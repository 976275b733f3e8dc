//! The work in its order, what to measure, and the usual caution beside each step that can hurt. Local codes and licensed
//! practice go before all of it.

use super::stock::link_route;
use crate::params::{Design, JointKind, Key};
use crate::parts::Route;
use crate::trade::hallmark::{mark_for, of_alloy, threshold_g};
use serde::Serialize;

/// One step.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Step {
    /// Short name.
    pub step: &'static str,
    /// What to do.
    pub how: String,
    /// The usual caution; empty where nothing hurts.
    pub caution: &'static str,
}

/// One dimension to hold at the bench.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Inspect {
    /// What.
    pub what: String,
    /// Path of the parameter, or empty where it is derived.
    pub path: &'static str,
    /// Nominal, mm or degrees.
    pub nominal: f64,
    /// Least and most.
    pub least: f64,
    /// Most.
    pub most: f64,
    /// Unit.
    pub unit: &'static str,
}

const BURS: &str = "Burs and drills: goggles, hair and sleeves tied back.";
const TORCH: &str = "Torch: fire-proof bench, moving air; flux fumes are not for breathing. Pickle: goggles and gloves, acid to water, never heat it covered.";
const WHITE: &str =
    "Platinum glows white: welding shade for the eyes (8 to 10 or darker), no carbon in the flame.";
const WHEEL: &str = "Never hold a flexible line loosely to a polishing wheel: it wraps round the spindle and takes the hand along. Fix it on a board or use a hand piece. Goggles, dust drawn off.";
const RESIN: &str =
    "Uncured resin and its solvent: gloves, goggles, moving air; wash and cure before handling.";
const FLASK: &str = "Burn-out fumes outdoors; investment dust is silica: mask (FFP2 or 3), damp, never dry-sweep. Molten metal: dry moulds, face shield, leather.";
const SMALL: &str = "Small parts: not for children under three; count stones and pins before and after.";

/// The steps of a design.
#[must_use]
pub fn steps(design: &Design) -> Vec<Step> {
    let d = design.dims();
    let cast = link_route(design) == Route::Cast;
    let wire = design.joint() == JointKind::WireLoop;
    let platinum = design.metal().key.starts_with("platinum") || design.metal().key.starts_with("palladium");
    let mut out = Vec::new();
    let mut add = |step, how: String, caution| out.push(Step { step, how, caution });
    if cast {
        add("masters", "Print one link first; try it in the hand before all are printed. Sprue on the underside edge of an end wall, each part on its own sprue.".into(), RESIN);
        add("casting", "To the caster with the sheet; say who compensates shrink. On return weigh all, look for pits at the web.".into(), FLASK);
        add(
            "true up",
            "Cut sprues, true the castings on the collet mandrel, gauge width and height.".into(),
            BURS,
        );
    } else {
        add(
            "collets",
            "Strip, seam, drawn up to the taper in the collet block; true both ends.".into(),
            TORCH,
        );
        add("openings", "Parallel bur against one stop, both sides; before the claws.".into(), BURS);
        add(
            "claws",
            "Four uprights at 45 deg, flush with the rim outside, soldered with the seam's grade.".into(),
            TORCH,
        );
    }
    add(
        "gauge",
        format!(
            "Width {:.2} and pitch {:.2} on a jig of five; sort the links before any joint is cut.",
            design.get(Key::Width),
            d.pitch.get()
        ),
        "",
    );
    if wire {
        add(
            "joints",
            "Pilots, bores, then up; grooves; dress the web's edges round. The web is cut once only.".into(),
            BURS,
        );
        add("wires", "Anneal; flatten the leading leg; through both bores, fold down in the free link, pull tight, fold into the grooves, hammer only over the fast link's groove. From the middle outwards.".into(), "");
        add(
            "solder",
            "Each wire at its fast link, one at a time.".into(),
            if platinum { WHITE } else { TORCH },
        );
    } else {
        add(
            "hinges",
            "Bore the assembled rows, oil, brass pins for the trial; each joint falls by its own weight."
                .into(),
            BURS,
        );
    }
    add(
        "clasp",
        "Pinned with brass until it closes with a click and does not bind; then the last heat near it."
            .into(),
        if platinum { WHITE } else { TORCH },
    );
    add("mark", hallmark(design).unwrap_or_else(|| "Fineness marks: ask your assay office.".into()), "");
    add("inside", "Polish inside the collets and the sides before any stone is in.".into(), WHEEL);
    add(
        "setting",
        format!(
            "Seat each claw on one mark, girdle {:.2} over the skin; claws from {:.2} down to {:.2} over the skin. Opposite claws in turn, 1-3-2-4, a little each; then cup.",
            d.girdle.get(),
            d.claw_top_raw.get(),
            d.claw_top.get()
        ),
        BURS,
    );
    if !wire {
        add(
            "pins",
            "Hard pins, bead melted before the pin is drawn in; rivet the other end, file flush.".into(),
            TORCH,
        );
    }
    add("finish", "Underside and long sides: emery 600, 1200, then tripoli, then rouge (platinum: 800, 4000, 8000 compounds); brush between the claws. Clean by steam or ultrasound only if the stones allow.".into(), WHEEL);
    add(
        "hand over",
        "Count stones, pull the line gently, weigh, note the pulled length for later.".into(),
        SMALL,
    );
    out
}

/// Where and when the mark goes, in words; `None` for an alloy without a standard.
#[must_use]
pub fn hallmark(design: &Design) -> Option<String> {
    let (metal, fineness) = of_alloy(design.metal().key)?;
    let mark = mark_for(metal, f64::from(fineness))?;
    let from = threshold_g(metal)
        .map_or(String::new(), |g| format!(", compulsory from {g} g in the United Kingdom"));
    Some(format!(
        "Usual mark {mark} for {metal}{from}, on the base plate, on a steel backing, after the last heat and before the final polish. The law of the place decides: ask your assay office."
    ))
}

/// What to hold, with its limits: the design's own, or the tolerance of the bench.
#[must_use]
pub fn inspection(design: &Design) -> Vec<Inspect> {
    let d = design.dims();
    let mut out = Vec::new();
    let g = |k: Key| design.get(k);
    let mut add =
        |what: &str, path: &'static str, nominal: f64, minus: f64, plus: f64, unit: &'static str| {
            out.push(Inspect {
                what: what.to_owned(),
                path,
                nominal,
                least: nominal - minus,
                most: nominal + plus,
                unit,
            });
        };
    add("setting width", Key::Width.path(), g(Key::Width), 0.03, 0.03, "mm");
    add("height to the rim", Key::Height.path(), g(Key::Height), 0.05, 0.05, "mm");
    add("pitch, on five", "", d.pitch.get(), 0.03, 0.03, "mm");
    add("gap between settings", Key::Gap.path(), g(Key::Gap), 0.02, 0.05, "mm");
    add(
        "wall of the collet",
        Key::Wall.path(),
        g(Key::Wall),
        (g(Key::Wall) - 0.40).clamp(0.0, 0.03),
        0.05,
        "mm",
    );
    if let Some(w) = &d.wire {
        add(
            "web, height",
            Key::WebHeight.path(),
            g(Key::WebHeight),
            (g(Key::WebHeight) - 0.50).clamp(0.0, 0.03),
            0.03,
            "mm",
        );
        add("web, depth", "", w.web_depth.get(), (w.web_depth.get() - 0.40).clamp(0.0, 0.03), 0.05, "mm");
        add(
            "bore, width",
            Key::BoreWidth.path(),
            g(Key::BoreWidth),
            (g(Key::BoreWidth) - g(Key::Wire) - 0.04).max(0.0),
            (g(Key::Wire) + 0.08 - g(Key::BoreWidth)).max(0.0),
            "mm",
        );
        add("inner span of the wire", "", w.loop_span.get() + 2.0 * g(Key::EndPlay), 0.02, 0.02, "mm");
    }
    if let Some(h) = &d.hinge {
        add(
            "play of the pin",
            "",
            h.pin_play.get(),
            (h.pin_play.get() - 0.03).max(0.0),
            (0.08 - h.pin_play.get()).max(0.0),
            "mm",
        );
        add(
            "gap between knuckles",
            Key::SideGap.path(),
            g(Key::SideGap),
            (g(Key::SideGap) - 0.03).max(0.0),
            (0.08 - g(Key::SideGap)).max(0.0),
            "mm",
        );
    }
    add("claw above the table, before setting", Key::ClawOver.path(), g(Key::ClawOver), 0.10, 0.10, "mm");
    add(
        "inward turn of each joint, at least",
        "",
        d.turn_inward.get(),
        (d.turn_inward.get() - d.turn_wrist.get() - 3.0).max(0.0),
        0.0,
        "deg",
    );
    out
}
