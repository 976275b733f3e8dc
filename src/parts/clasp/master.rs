//! The frame of the clasp as it is cast: what is left on its surfaces follows the classes of the link's master.
//!
//! Base plate and leaf are built from rolled sheet, tongue, pins and rivets cut from hard stock: they have no master. Like the
//! link's, the master's underside stands at z = 0, so that it lies higher than the finished frame by what is left under it.

use super::build::eased;
use super::frame::{CATCH_BORE, Casting, Left, left};
use super::shape::{ClaspShape, Hang};
use crate::params::{CATCH_PLAY, Design, EYE_RIM, Key, STRIP_CLEAR};
use crate::parts::link::{Allowances, Bores, Dimension, GROOVE_SHALLOW, Master, PILOT_SHARE};
use crate::solid::{BuildError, Frame, Solid, Tree};
use crate::units::Mm;
use nalgebra::Point3;

/// The frame as cast.
#[derive(Clone, Debug, PartialEq)]
pub struct FrameMaster {
    shape: ClaspShape,
    left: Left,
    /// Every named dimension.
    pub dimensions: Vec<Dimension>,
}

impl FrameMaster {
    /// That of a design; `hole` is what round holes are opened by on the diameter because the printer closes them. `None` where
    /// the clasp is a bought one, or its frame built up.
    #[must_use]
    pub fn of(design: &Design, hole: Mm) -> Option<Self> {
        let shape = ClaspShape::of(design).filter(|_| design.word(Key::FrameRoute) == 0)?;
        let q = Allowances::of(design);
        let on = [q.outside, q.openings, q.underside, q.mating].map(Mm::get);
        let link = Master::of(design, hole);
        let cast = Casting { link: link.shape().clone(), bores: Bores::of(design), hole: hole.get() };
        let dimensions = dimensions(&shape, on, &cast, &link.dimensions);
        Some(Self { shape, left: Left { on, cast: Some(cast) }, dimensions })
    }

    /// Builds the exact solid, larger by the factor.
    ///
    /// # Errors
    /// The first refusal of the kernel, if no easing helps.
    pub fn build(&self, k: f64) -> Result<Solid, BuildError> {
        self.build_with(k, &[])
    }

    /// The same together with more, which is not enlarged: the stub of a sprue.
    ///
    /// # Errors
    /// As [`FrameMaster::build`].
    pub fn build_with(&self, k: f64, more: &[Tree]) -> Result<Solid, BuildError> {
        let lift = Frame::at(Point3::new(0.0, 0.0, self.lift()));
        let built = eased(&self.shape, |s| {
            let solid = Solid::build(&left(s, &self.left).moved(&lift).scaled(k).plus(more.to_vec()))?;
            solid.whole().map(|()| solid)
        });
        built.map(|b| b.0)
    }
    /// Height of the finished frame over the master's, mm.
    #[must_use]
    pub fn lift(&self) -> f64 {
        self.left.on[2]
    }
    /// Thickness of a cheek and of a rail as cast, mm.
    #[must_use]
    pub fn cheek_and_rail(&self) -> [f64; 2] {
        let ([o, g, _, m], s) = (self.left.on, &self.shape);
        [s.side() + o - s.cheek_inner() + m, s.side() + o - s.half_width + s.rail + g]
    }
}

/// Words of the link's dimensions that a collet of the frame shares, cut off under its seat.
const SHARED: [&str; 5] =
    ["collet, wall", "claw, diameter", "opening, width", "setting, over the claws", "seat, across its edge"];

fn dimensions(
    s: &ClaspShape,
    [o, g, u, m]: [f64; 4],
    cast: &Casting,
    of_link: &[Dimension],
) -> Vec<Dimension> {
    let mut out: Vec<Dimension> = of_link.iter().filter(|d| SHARED.contains(&d.name)).cloned().collect();
    let mut add = |name, finished: f64, more: f64, by| {
        out.push(Dimension { name, finished, cast: finished + more, by });
    };
    let polish = "polish";
    let f = &s.front;
    let gap = s.pitch - s.link.claw.circle.get() * std::f64::consts::SQRT_2 - s.link.claw.diameter.get();
    // Where the allowances close it, the claws of two collets are cast as one.
    add("gap between two settings", gap, -gap.min(2.0 * o), "saw and file");
    add("rail, width", s.side() - s.half_width + s.rail, o + g, polish);
    add("rail, height", s.rail_top - s.cut, g + u, polish);
    add("frame, over the rails", 2.0 * s.side(), 2.0 * o, polish);
    add("frame, between the rails", 2.0 * (s.half_width - s.rail), -2.0 * g, polish);
    add("cheek, thickness", s.side() - s.cheek_inner(), o + m, polish);
    add("cheeks, between", 2.0 * s.cheek_inner(), -2.0 * m, "fitted to the strips");
    let snap = s.ridge_height + CATCH_PLAY.get() - STRIP_CLEAR.get();
    add("snap groove, deep", snap, -snap, "cut to fit its strip");
    add("knuckle, diameter", 2.0 * f.radius, 2.0 * m, polish);
    add("knuckles, over both", 2.0 * f.half, 2.0 * m, polish);
    add("knuckles, between", 2.0 * f.boundary, -2.0 * m, "fitted to the leaf");
    let by = if cast.bores == Bores::Open { "as cast" } else { "drill" };
    // What a printer closes is allowance for the printer, not a dimension of the casting.
    let bore = |d: f64| Casting { hole: 0.0, ..cast.clone() }.bore(d) - d;
    add("hinge bore", f.bore, bore(f.bore), by);
    add("side catch tube, diameter", s.catch.tube, 2.0 * o, polish);
    add("side catch tube, length", 2.0 * s.catch.tube_half, 2.0 * o, polish);
    let tube = s.catch.wire + 2.0 * CATCH_BORE;
    let mark = crate::parts::link::DIMPLE.0.get();
    add("side catch tube, bore", tube, if cast.bores == Bores::Open { 0.0 } else { mark - tube }, by);
    let eye = if cast.bores == Bores::Open { 0.0 } else { s.eye * (PILOT_SHARE - 1.0) };
    add("eye of the chain, hole", s.eye, eye, by);
    add("eye of the chain, over its rim", s.eye + 2.0 * EYE_RIM.get(), 2.0 * o, polish);
    add("lug, width", 2.0 * s.lug_half, 2.0 * o, polish);
    match &s.hang {
        Hang::Legs { bore: d, groove, depth, .. } => {
            add("lug, thickness", s.lug[1] - s.lug[0], o + g, polish);
            add("lug bore", *d, bore(*d), by);
            add("lug groove, width", *groove, 0.0, "bur");
            add("lug groove, depth", *depth, u - GROOVE_SHALLOW.get(), "bur");
        }
        Hang::Tube(j) => {
            add("line knuckle, diameter", j.outer.get(), 2.0 * m, polish);
            add("line hinge bore", j.bore.get(), bore(j.bore.get()), by);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::super::{ClaspPart, build};
    use super::*;
    use crate::mesh::exact::solid_mass;
    use crate::params::read;

    const FILES: [&str; 6] = [
        include_str!("../../../params/line-4.0-platinum.jsonc"),
        include_str!("../../../params/line-2.5-yellow.jsonc"),
        include_str!("../../../params/line-3.0-silver-cushion.jsonc"),
        include_str!("../../../params/line-3.2-silver-short.jsonc"),
        include_str!("../../../params/line-3.5-rose-block.jsonc"),
        include_str!("../../../params/line-4.0-platinum-square.jsonc"),
    ];

    #[test]
    fn the_master_of_every_frame_is_one_body_heavier_than_the_finished_one() {
        for file in FILES {
            let design = read(file).unwrap();
            let finished = build(&design, ClaspPart::Frame).unwrap().unwrap().solid;
            let master = FrameMaster::of(&design, Mm(0.0)).unwrap();
            let solid = master.build(1.0).unwrap_or_else(|e| panic!("{}: {e}", design.name()));
            assert!(solid.whole().is_ok());
            let (a, b) = (solid_mass(&finished), solid_mass(&solid));
            assert!(b.volume > a.volume + 0.03 * a.area, "{}: {} {}", design.name(), a.volume, b.volume);
            let low = solid.vertices.iter().map(|v| v.z).fold(f64::MAX, f64::min);
            assert!(low.abs() < 1e-9, "{low}");
        }
    }

    #[test]
    fn shrink_is_a_similarity_of_the_frame() {
        let master = FrameMaster::of(&read(FILES[0]).unwrap(), Mm(0.0)).unwrap();
        let k = 1.0 / (0.982 * 0.99);
        let (a, b) = (master.build(1.0).unwrap(), master.build(k).unwrap());
        let (ma, mb) = (solid_mass(&a), solid_mass(&b));
        assert!((mb.volume / ma.volume - k * k * k).abs() < 1e-8, "{} {}", mb.volume, ma.volume);
        assert!((mb.area / ma.area - k * k).abs() < 1e-8, "{} {}", mb.area, ma.area);
        assert_eq!(a.genus(), b.genus());
    }

    #[test]
    fn a_built_frame_or_a_bought_clasp_has_no_master() {
        let built =
            FILES[0].replace(r#""frame": { "route": "cast" }"#, r#""frame": { "route": "fabricated" }"#);
        assert_ne!(built, FILES[0]);
        assert_eq!(FrameMaster::of(&read(&built).unwrap(), Mm(0.0)), None);
    }
}
