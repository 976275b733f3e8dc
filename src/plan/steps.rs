//! The work in its order, what to measure, and the usual caution beside each step that can hurt. Local codes and licensed
//! practice go before all of it.

use super::bench::Bench;
use super::line::Line;
use super::stock::link_route;
use crate::params::{Design, JointKind, Key};
use crate::parts::Route;
use crate::trade::hallmark::{of_alloy, standards, threshold_g};
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
const NICKEL: &str =
    "Nickel on the skin: not sold as skin-safe without an EN 1811 release test of the finished piece.";
const SMALL: &str = "Small parts: not for children under three; count stones and pins before and after.";

/// The steps of a design.
#[must_use]
pub fn steps(design: &Design, bench: &Bench, mark: Option<&Hallmark>) -> Vec<Step> {
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
    add("mark", mark.map_or_else(|| "Fineness marks: ask your assay office.".into(), Hallmark::words), "");
    if d.clasp.is_some() {
        add(
            "tongue",
            "Two strips of hard-drawn stock, never heated: tang and foot into their pockets, two rivets each, heads filed flush. Any later heat near them means drilling them out first.".into(),
            BURS,
        );
    }
    add("inside", "Polish inside the collets and the sides before any stone is in.".into(), WHEEL);
    add(
        "setting",
        format!(
            "Seats {:.2} deep to a mouth of {:.2}; each claw notched on one mark {:.2} deep, {:.0} % of its wire; girdle {:.2} over the skin; claws from {:.2} down to {:.2} over the skin. Opposite claws in turn, 1-3-2-4, a little each; then cup.",
            d.rim.get() - d.seat_bottom.get(),
            2.0 * d.seat_radius.get(),
            d.bite.get(),
            100.0 * d.bite_share,
            d.girdle.get(),
            d.claw_top_raw.get(),
            d.claw_top.get()
        ),
        BURS,
    );
    if !wire || d.clasp.is_some() {
        add(
            "pins",
            "Hard pins, bead melted before the pin is drawn in; rivet the other end, file flush.".into(),
            TORCH,
        );
    }
    if d.clasp.is_some() {
        add(
            "catches and chain",
            "Hook the side catches into the ends of their cheniers: one hook is bent beforehand, the other at the mouth of the tube, cold; bars under the ledges; hang the chain in its eyes with two jump rings, closed and not soldered. Nothing hot from here on.".into(),
            "Cut wire flies: goggles.",
        );
    }
    add("finish", "Underside and long sides: emery 600, 1200, then tripoli, then rouge (platinum: 800, 4000, 8000 compounds); brush between the claws. Clean by steam or ultrasound only if the stones allow.".into(), WHEEL);
    if design.metal().nickel_white || bench.thousandths("Ni").is_some_and(|n| n > 0.0) {
        add(
            "nickel",
            "Send the finished piece to be tested before it is sold; plating does not lift the duty.".into(),
            NICKEL,
        );
    }
    add(
        "hand over",
        "Count stones, pull the line gently, weigh, note the pulled length for later.".into(),
        SMALL,
    );
    out
}

/// The hallmark.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Hallmark {
    /// Precious metal.
    pub metal: &'static str,
    /// Its thousandths in the alloy: as the alloy is named, or by the composition in the bench file.
    pub fineness: f64,
    /// Standard it may be marked with, rounded down; `None` below the lowest.
    pub mark: Option<u32>,
    /// Weight of metal from which it is the law in the United Kingdom, g.
    pub threshold_g: Option<f64>,
    /// Whether this piece is over it.
    pub over_threshold: Option<bool>,
    /// Where it goes.
    pub place: String,
    /// How and when.
    pub when: &'static str,
}

/// Where and when the mark goes; `None` for an alloy without a standard.
#[must_use]
pub fn hallmark(design: &Design, bench: &Bench, metal_g: f64) -> Option<Hallmark> {
    let (metal, named) = of_alloy(design.metal().key)?;
    let symbol = match metal {
        "platinum" => "Pt",
        "palladium" => "Pd",
        "gold" => "Au",
        _ => "Ag",
    };
    let fineness = bench.thousandths(symbol).unwrap_or(f64::from(named));
    let own = &bench.own;
    let threshold_g = threshold_g(metal).map(|t| own.or("hallmark", metal, "threshold_g", t));
    let least = |s: u32| own.or("fineness", &format!("{metal} {s}"), "least", f64::from(s));
    let mark = standards(metal).iter().rev().copied().find(|s| fineness + 1e-9 >= least(*s));
    let g = |k: Key| design.get(k);
    let place = match &design.dims().clasp {
        Some(c) => format!(
            "under the base plate, beyond the feet of the strips, {:.1} to {:.1} mm from the plate's end of the clasp, {:.1} high",
            c.mark_from.get(),
            c.mark_from.get() + g(Key::MarkLength),
            g(Key::MarkHeight)
        ),
        None => "on the bought clasp, where it has room".to_owned(),
    };
    Some(Hallmark {
        metal,
        fineness,
        mark,
        threshold_g,
        over_threshold: threshold_g.map(|t| metal_g > t),
        place,
        when: if g(Key::MarkMethod) == 0.0 && design.dims().clasp.is_some() {
            "struck on a flat steel backing, after the last heat, before the strips are fitted and before the final polish; then true the plate"
        } else {
            "by laser, after the last heat and before the final polish"
        },
    })
}

impl Hallmark {
    /// In one sentence or two.
    #[must_use]
    pub fn words(&self) -> String {
        let mark = self.mark.map_or_else(
            || format!("No standard mark for {:.0} thousandths of {}", self.fineness, self.metal),
            |m| format!("Usual mark {m} for {}, with the maker's and the assay office's", self.metal),
        );
        let law = match (self.threshold_g, self.over_threshold) {
            (Some(t), Some(true)) => {
                format!("; compulsory from {t} g in the United Kingdom, and this is more")
            }
            (Some(t), _) => format!("; compulsory from {t} g in the United Kingdom"),
            _ => String::new(),
        };
        format!(
            "{mark}{law}. Place: {}; {}. Solder may have a fineness of its own; the law of the place decides: ask your assay office.",
            self.place, self.when
        )
    }
}

/// What is tried, not measured, before the piece is handed over (M. Mann, Professional Jeweler, December 1998: fit, every hinge
/// complete and smooth, closures that work with precision, a second lock; the rest common practice, no published source).
#[must_use]
pub fn trials(design: &Design) -> Vec<&'static str> {
    let mut out = vec![
        "Every joint turns by its own weight; none is loose, none binds.",
        "No stone moves under a needle; tables level, row straight.",
        "Nothing catches on a stocking; every edge is broken 0.05 to 0.10.",
        "On the wrist: one finger's width of room.",
    ];
    if design.dims().clasp.is_some() {
        out.extend([
            "The clasp clicks shut; the tongue holds by itself, and each side catch holds by itself.",
            "Open, the bracelet passes over the hand; lifted in the middle, the frame rises without force.",
            "The chain lets the clasp open fully and holds both halves.",
        ]);
    } else {
        out.push("The clasp has a second lock.");
    }
    out
}

/// What to hold, with its limits: the design's own, or the tolerance of the bench.
#[must_use]
pub fn inspection(design: &Design, line: &Line) -> Vec<Inspect> {
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
    let off = line.spread.uniform_mm;
    add(
        "length, flat and pulled",
        "",
        line.length_mm + line.spread.play_mm,
        off + line.spread.play_mm,
        off,
        "mm",
    );
    add("length, inside, closed", "", line.inner_length_mm, off, off + line.spread.play_mm, "mm");
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
    if let Some(c) = &d.clasp {
        let t = g(Key::ToleranceClasp);
        add("clasp, closed", "", c.length.get(), t, t, "mm");
        add(
            "play of the clasp's pins",
            "",
            c.pin_play.get(),
            (c.pin_play.get() - 0.03).max(0.0),
            (0.08 - c.pin_play.get()).max(0.0),
            "mm",
        );
        let over = c.over_centre.get();
        add("back hinge over front hinge", "", over, (over - c.pin_play.get() - 0.05).max(0.0), 0.05, "mm");
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
