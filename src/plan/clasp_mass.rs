//! The clasp's solids in the plan: their volumes take the place of estimates and of section times length.

use super::metal::{Known, Whole};
use super::stock::Piece;
use super::stock_clasp::frame_route;
use crate::mesh::exact::{SolidMass, solid_mass};
use crate::params::Design;
use crate::parts::Route;
use crate::parts::clasp::{ClaspPart, build};

/// Mass properties of the parts of the clasp that have a solid of their own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClaspMass {
    /// Upper frame, with its outer knuckles and the cheniers of the side catches.
    pub frame: SolidMass,
    /// Base plate, with its lug, ledges and outer knuckles.
    pub plate: SolidMass,
    /// Fall-away leaf, with both middle knuckles.
    pub leaf: SolidMass,
    /// One strip of the tongue.
    pub strip: SolidMass,
}

/// Builds them; `None` for a bought clasp.
///
/// # Errors
/// The kernel's refusal, in words.
pub fn clasp_mass(design: &Design) -> Option<Result<ClaspMass, String>> {
    let of = |part| build(design, part).map(|r| r.map(|p| solid_mass(&p.solid)).map_err(|e| e.to_string()));
    let (frame, plate) = (of(ClaspPart::Frame)?, of(ClaspPart::Plate)?);
    let (leaf, strip) = (of(ClaspPart::Leaf)?, of(ClaspPart::FrontStrip)?);
    Some(frame.and_then(|frame| Ok(ClaspMass { frame, plate: plate?, leaf: leaf?, strip: strip? })))
}

/// Pieces that are weighed with the solid they become, once that is known.
const INSIDE: [&str; 6] = ["base plate", "leaf", "plate lug", "eye of the chain", "ledge", "tongue strip"];

/// The parts as the solids have them. Tube is listed apart in every route, so that the weight of a casting is without it:
/// its metal is taken out of the solid it stands on, and the sum stays that of the solids.
pub(super) fn wholes(design: &Design, mass: &ClaspMass, pieces: &mut [Piece]) -> Vec<Whole<'static>> {
    for p in pieces.iter_mut().filter(|p| INSIDE.contains(&p.what.as_str())) {
        p.in_finished = 0.0;
    }
    #[allow(clippy::cast_precision_loss)]
    let tube = |what: &str| -> f64 {
        pieces.iter().filter(|p| p.what == what).map(|p| p.count as f64 * p.in_finished * p.area_mm2).sum()
    };
    let (outer, middle, chenier) =
        (tube("clasp, outer knuckle"), tube("clasp, middle knuckle"), tube("side catch, chenier"));
    let whole = |part, route, count, mass: &SolidMass, less: f64| Whole {
        part,
        route,
        count,
        known: Known::Solid,
        volume: (mass.volume - less).max(0.0),
        area: mass.area,
    };
    let Some(route) = frame_route(design) else { return Vec::new() };
    vec![
        whole("clasp frame", route, 1, &mass.frame, outer / 2.0 + chenier),
        whole("base plate", Route::Fabricated, 1, &mass.plate, outer / 2.0),
        whole("leaf", Route::Fabricated, 1, &mass.leaf, middle),
        whole("tongue strip", Route::Stock, 2, &mass.strip, 0.0),
    ]
}
