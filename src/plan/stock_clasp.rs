//! What the folding clasp and its safety chain are cut from.

use super::metal::{Known, Whole};
use super::stock::{Piece, collet, wire};
use crate::mesh::exact::SolidMass;
use crate::params::{CHEEK_FOOT, CHEEK_ROOM, Design, EYE_THICK, KNUCKLE_GAP, Key, RAIL};
use crate::parts::Route;
use std::f64::consts::PI;

/// A pin is drawn in by this much more than it needs, to grip it, mm (common practice).
const GRIP: f64 = 6.0;
/// What a side catch needs beyond its length to hold it while its last hook is bent, mm (common practice).
const CATCH_HOLD: f64 = 3.0;
/// What a rivet needs beyond the plate for its two heads and the hold, mm (common practice).
const RIVET: f64 = 3.0;

/// Half length of a ledge and its thickness, mm.
const LEDGE: (f64, f64) = (0.90, 0.25);
/// How far a cheek reaches into the rail, mm.
const INTO_RAIL: f64 = 0.10;

/// How the frame is made; `None` where the clasp is bought.
#[must_use]
pub fn frame_route(design: &Design) -> Option<Route> {
    design.dims().clasp.as_ref()?;
    Some(if design.get(Key::FrameRoute) == 0.0 { Route::Cast } else { Route::Fabricated })
}

/// What a frame that is built is cut from: collets of its own, rails, cheeks, lug and cross bar. They are weighed with the frame.
fn built_frame(design: &Design) -> Vec<Piece> {
    let Some(c) = design.dims().clasp.as_ref().filter(|_| frame_route(design) == Some(Route::Fabricated))
    else {
        return Vec::new();
    };
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 1 to 40
    let stones = design.get(Key::ClaspCount) as usize;
    let strip = |what: &str, thick: f64, high: f64, length: f64, count: usize, how: &str| Piece {
        what: what.to_owned(),
        section: format!("strip {thick:.2} x {high:.2}"),
        area_mm2: thick * high,
        length_mm: length,
        in_finished: 0.0,
        count,
        how: how.to_owned(),
        temper: "annealed",
    };
    let under = c.frame_bottom.get();
    let mut out = collet(design, stones, ["frame collet", "frame claw"]);
    out.push(strip(
        "rail",
        design.get(Key::RailWidth),
        RAIL.get(),
        (c.length - c.lug_outer * 2.0).get(),
        2,
        "from lug to lug",
    ));
    out.push(strip(
        "cheek",
        design.get(Key::Cheek),
        under + INTO_RAIL - CHEEK_FOOT.get(),
        2.0 * CHEEK_ROOM.get(),
        2,
        "from the rail down beside the strip of the tongue",
    ));
    let lug = (c.lug_inner - c.lug_outer).get();
    let wide = 2.0 * c.lug_half_width.get();
    out.push(strip("frame lug and cross bar", lug, under, wide, 2, "across the frame, one at each end"));
    out
}

/// The frame: its collets cut off at their underside, two rails, cross bar and lug. An estimate, within a fifth.
pub fn frame(design: &Design, link: SolidMass) -> Option<Whole<'static>> {
    let d = design.dims();
    let c = d.clasp.as_ref()?;
    let stones = design.get(Key::ClaspCount);
    let above = (1.0 - c.frame_bottom / d.claw_top_raw).clamp(0.0, 1.0);
    let long = c.length.get() - 2.0 * c.lug_outer.get();
    let rails = 2.0 * design.get(Key::RailWidth) * RAIL.get() * long;
    // Cross bar and lug: each a lug thick, as wide as the lugs, as high as the frame's underside.
    let lug = (c.lug_inner - c.lug_outer).get();
    let ends = 2.0 * lug * 2.0 * c.lug_half_width.get() * c.frame_bottom.get();
    Some(Whole {
        part: "clasp frame",
        route: frame_route(design)?,
        count: 1,
        known: Known::Estimate,
        volume: stones * above * link.volume + rails + ends,
        area: stones * above * link.area + 4.0 * (RAIL.get() + design.get(Key::RailWidth)) * long,
    })
}

/// Every piece of stock of the clasp; none for a bought one.
#[must_use]
pub fn pieces(design: &Design) -> Vec<Piece> {
    let d = design.dims();
    let (Some(c), g) = (&d.clasp, |k: Key| design.get(k)) else { return Vec::new() };
    let (outer, bore, row) = (g(Key::ClaspTubeOuter), g(Key::ClaspTubeBore), g(Key::ClaspTubeRow));
    let share = g(Key::ClaspOuterShare);
    let tube = |what: &str, od: f64, id: f64, length: f64, count: usize| Piece {
        what: what.to_owned(),
        section: format!("tube {od:.2}/{id:.2}"),
        area_mm2: PI * (od * od - id * id) / 4.0,
        length_mm: length,
        in_finished: length,
        count,
        how: "filed to length with its neighbours".into(),
        temper: "as drawn",
    };
    let sheet = |what: &str, thick: f64, wide: f64, long: f64| Piece {
        what: what.to_owned(),
        section: format!("sheet {thick:.2} x {wide:.2}"),
        area_mm2: thick * wide,
        length_mm: long,
        in_finished: long,
        count: 1,
        how: "the outline, before slots and pockets".into(),
        temper: "rolled, annealed after soldering",
    };
    let pin = g(Key::ClaspPin);
    let bead = c.pin_bead.get();
    let inside = row - c.recess_depth.get() + 2.0 * bead * bead * bead / (3.0 * pin * pin) + 0.25 * pin;
    let (plate, foot) = (g(Key::PlateThickness), g(Key::FootWidth));
    let strip = g(Key::TongueLength) + g(Key::FootLength);
    let wide = 2.0 * c.lug_half_width.get();
    let small = |what: &str, thick: f64, high: f64, long: f64, count: usize, how: &str| Piece {
        what: what.to_owned(),
        section: format!("strip {thick:.2} x {high:.2}"),
        area_mm2: thick * high,
        length_mm: long,
        in_finished: long,
        count,
        how: how.to_owned(),
        temper: "annealed",
    };
    let eye = d.chain.as_ref().map_or(0.0, |c| c.eye_proud.get());
    let mut out = built_frame(design);
    out.extend([
        small(
            "plate lug",
            (c.lug_inner - c.lug_outer).get(),
            wide,
            c.lug_top.get(),
            1,
            "stands on the plate up to the last link's joint",
        ),
        small(
            "eye of the chain",
            EYE_THICK.get(),
            eye,
            eye + 0.30,
            if frame_route(design) == Some(Route::Cast) { 1 } else { 2 },
            "upright beside the outermost stone, on plate and frame; that of a cast frame is cast with it",
        ),
        small(
            "ledge",
            LEDGE.1,
            c.side_catch.ledge_proud.get(),
            2.0 * LEDGE.0,
            2,
            "beside the plate, under the bar of a side catch",
        ),
        sheet("base plate", plate, g(Key::Width), c.length.get() - 2.0 * c.lug_outer.get()),
        sheet("leaf", g(Key::LeafThickness), c.leaf_width.get(), c.leaf_length.get()),
        tube("clasp, outer knuckle", outer, bore, share * row, 4),
        tube("clasp, middle knuckle", outer, bore, (1.0 - 2.0 * share) * row - 2.0 * KNUCKLE_GAP.get(), 2),
        wire(
            "clasp pin",
            pin,
            inside + GRIP,
            inside,
            2,
            "through the row, the bead's melt, a quarter of its diameter for the rivet, and 6 mm to hold",
            "hard",
        ),
        Piece {
            what: "tongue strip".into(),
            section: format!("strip {plate:.2} x {foot:.2}"),
            area_mm2: plate * foot,
            length_mm: strip + 1.0,
            in_finished: strip,
            count: 2,
            how: "free length and foot, and 1 mm to hold; its spring is filed from it".into(),
            temper: "hard; fixed cold",
        },
        wire(
            "strip rivet",
            g(Key::StripRivet),
            plate + RIVET,
            plate + g(Key::StripRivet),
            4,
            "plate, two heads, and what the hand holds",
            "annealed",
        ),
        wire(
            "side catch",
            g(Key::CatchWire),
            c.side_catch.wire.get() + CATCH_HOLD,
            c.side_catch.wire.get(),
            2,
            "bar, two legs, two hooks, four bends at the middle line, and 3 mm to hold",
            "hard",
        ),
        tube(
            "side catch, chenier",
            g(Key::CatchTube),
            g(Key::CatchWire) + 0.05,
            2.0 * c.side_catch.tube_half.get(),
            2,
        ),
    ]);
    if let Some(chain) = &d.chain {
        let jump = g(Key::JumpWire);
        let ring = PI * (g(Key::JumpInner) + jump);
        out.push(wire(
            "chain ring",
            g(Key::ChainWire),
            chain.ring_wire.get(),
            chain.ring_wire.get(),
            chain.rings,
            &format!(
                "pi (inside + wire), wound on a mandrel of {:.2}; measure ten rings, the wire springs open",
                g(Key::ChainRing)
            ),
            "annealed",
        ));
        out.push(wire("jump ring", jump, ring, ring, 2, "pi (inside + wire)", "annealed"));
    }
    out
}
