//! The link as it is cast: the finished link with metal left for filing and polishing, bores and seat left for the bench.
//!
//! Rebuilt from derived dimensions as an exact solid. What is left on a surface moves it outward along its normal by the
//! allowance q of its class, so that an outside dimension X is cast X + 2q, a one-sided one X + q or X - q, and an opening
//! X - 2q. The underside of the master stands at z = 0 like that of the finished link, which lies higher by the allowance
//! under it. Shrink comes last, as a similarity 1/(1 - s) of every dimension.

use super::easing::{Built, build_as};
use super::shape::{End, LinkShape, LoopJoint, Outline, TubeJoint};
use super::{claws, collet, hinge, wire};
use crate::params::{Design, Key};
use crate::solid::tree::{prism, revolve, rounded_rectangle};
use crate::solid::{BuildError, Frame, Tree};
use crate::units::Mm;
use nalgebra::{Point3, Vector3};
use serde::Serialize;
use std::f64::consts::SQRT_2;

/// How far under size the pilot of the seat is cast, on the diameter, mm (proposal).
pub const SEAT_UNDER: Mm = Mm(0.30);
/// By how much the groove is cast shallower, mm (proposal).
pub const GROOVE_SHALLOW: Mm = Mm(0.05);
/// Pilot hole as a share of the bore's width (proposal).
pub const PILOT_SHARE: f64 = 0.75;
/// Diameter and depth of the mark for a drill, mm (proposal).
pub const DIMPLE: (Mm, Mm) = (Mm(0.40), Mm(0.25));
/// Smallest radius a hollow corner is left with, mm: less is a crack starter in the investment (casters' guide: 0.125; a bur
/// cuts it to size).
const LEAST_CORNER: Mm = Mm(0.05);
/// The same inside a square collet, mm.
const LEAST_INNER: Mm = Mm(0.02);

/// Metal left on each surface, by class.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Allowances {
    /// Outside of the collet, rim, claws, foot block.
    pub outside: Mm,
    /// Inside of the collet, openings, light hole.
    pub openings: Mm,
    /// Underside.
    pub underside: Mm,
    /// Knuckles and pockets.
    pub mating: Mm,
}

/// How bores are cast.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Bores {
    /// A round hole under size, to be drilled out.
    Pilot,
    /// A mark for the drill.
    Dimple,
    /// As finished.
    Open,
}

/// One named dimension through all states, mm.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Dimension {
    /// In bench words.
    pub name: &'static str,
    /// Finished.
    pub finished: f64,
    /// As cast, before shrink is added.
    pub cast: f64,
    /// What is done between the two.
    pub by: &'static str,
}

/// The link as cast, in finished size or enlarged for shrink.
#[derive(Clone, Debug, PartialEq)]
pub struct Master {
    shape: LinkShape,
    bores: Bores,
    hole: Mm,
    dimple: (Mm, Mm),
    tube_bore: Mm,
    /// Height of the finished underside over the master's.
    pub lift: Mm,
    /// Allowances it was made with.
    pub allowances: Allowances,
    /// Every named dimension.
    pub dimensions: Vec<Dimension>,
}

impl Bores {
    /// Those of a design.
    #[must_use]
    pub fn of(d: &Design) -> Self {
        match d.word(Key::MasterBores) {
            0 => Self::Pilot,
            1 => Self::Dimple,
            _ => Self::Open,
        }
    }
}

impl Allowances {
    /// Those of a design.
    #[must_use]
    pub fn of(d: &Design) -> Self {
        let mm = |k: Key| Mm(d.get(k));
        Self {
            outside: mm(Key::PolishOutside),
            openings: mm(Key::PolishOpenings),
            underside: mm(Key::PolishUnderside),
            mating: mm(Key::PolishMating),
        }
    }
}

/// The larger of two lengths.
fn at_least(x: Mm, floor: Mm) -> Mm {
    if x < floor { floor } else { x }
}

impl Master {
    /// The master of a design; `hole` is what round holes are opened by on the diameter because the printer closes them.
    #[must_use]
    pub fn of(design: &Design, hole: Mm) -> Self {
        let f = LinkShape::finished(design);
        let q = Allowances::of(design);
        let bores = Bores::of(design);
        let (o, g, u, m) = (q.outside, q.openings, q.underside, q.mating);
        let tan = f.taper();
        let sec = libm::hypot(1.0, tan);
        let mut s = f.clone();
        s.foot_radius = f.foot_radius + o * sec - u * tan;
        s.rim_radius = f.rim_radius + o * sec + o * tan;
        s.height = f.height + u + o;
        s.wall = f.wall + o + g;
        // The seat keeps its cone, drawn in; the rim stands higher by what is left on it.
        let slope = (f.bur_angle / 2.0).tan();
        let edge = f.rim_radius - f.rim_land + o * slope - SEAT_UNDER / 2.0;
        s.rim_land = s.rim_radius - edge;
        s.claw.diameter = f.claw.diameter + o * 2.0;
        s.claw.foot = f.claw.foot + u - o;
        s.claw.top = design.dims().claw_top_raw + u;
        s.opening.width = f.opening.width - g * 2.0;
        s.opening.bottom = f.opening.bottom + u + g;
        s.opening.top = f.opening.top + u - g;
        s.opening.corner = at_least(f.opening.corner - g, LEAST_CORNER);
        s.opening.stop = f.opening.stop + g;
        if let Outline::Square { corner, inner_corner } = &mut s.outline {
            *corner = *corner + o;
            *inner_corner = at_least(*inner_corner - g, LEAST_INNER);
        }
        if let Some(foot) = &mut s.foot {
            foot.fill = foot.fill + u + g;
            foot.light = foot.light - g * 2.0 + hole;
            if let Some(b) = &mut foot.block {
                b.half_width = b.half_width + o;
                b.corner = b.corner + o;
            }
        }
        let mut hole_size = Mm(0.0);
        let mut tube_bore = Mm(0.0);
        for end in &mut s.ends {
            match end {
                End::Plain => {}
                End::Loop(j) => {
                    j.groove_depth = j.groove_depth + u - GROOVE_SHALLOW;
                    j.web_height = j.web_height + GROOVE_SHALLOW;
                    hole_size = j.bore_width * PILOT_SHARE + hole;
                }
                End::Pair(j) => {
                    let boundary = Mm(j.boundary()) - m;
                    j.length = j.length + m * 2.0;
                    j.outer_share = 0.5 - boundary / j.length;
                    tube(j, u, m);
                    tube_bore = j.bore;
                }
                End::Middle(j) => {
                    j.side_gap = j.side_gap - m;
                    tube(j, u, m);
                    tube_bore = j.bore;
                }
            }
        }
        if bores == Bores::Pilot && tube_bore > Mm(0.0) {
            tube_bore = tube_bore * PILOT_SHARE + hole;
        }
        let dimensions = dimensions(design, &f, &s, bores);
        Self {
            shape: s,
            bores,
            hole: hole_size,
            dimple: DIMPLE,
            tube_bore,
            lift: u,
            allowances: q,
            dimensions,
        }
    }

    /// The dimensions the solid is built from.
    #[must_use]
    pub fn shape(&self) -> &LinkShape {
        &self.shape
    }
    /// How its bores are cast.
    #[must_use]
    pub fn bores(&self) -> Bores {
        self.bores
    }
    /// Diameter of the pilot hole through an end wall, where there is one.
    #[must_use]
    pub fn pilot(&self) -> Option<Mm> {
        let d = if self.tube_bore > Mm(0.0) { self.tube_bore } else { self.hole };
        (self.bores == Bores::Pilot && d > Mm(0.0)).then_some(d)
    }

    /// Everything larger by the factor: a similarity of the exact solid.
    #[must_use]
    pub fn scaled(&self, k: f64) -> Self {
        Self {
            shape: self.shape.scaled(k),
            hole: self.hole * k,
            dimple: (self.dimple.0 * k, self.dimple.1 * k),
            tube_bore: self.tube_bore * k,
            lift: self.lift * k,
            ..self.clone()
        }
    }

    /// Builds the exact solid.
    ///
    /// # Errors
    /// The first refusal of the kernel, if no easing helps.
    pub fn build(&self) -> Result<Built, BuildError> {
        self.build_with(&[])
    }

    /// The same together with more: the stub of a sprue.
    ///
    /// # Errors
    /// As [`Master::build`].
    pub fn build_with(&self, more: &[Tree]) -> Result<Built, BuildError> {
        build_as(&self.shape, |s| self.tree(s).plus(more.to_vec()))
    }

    fn tree(&self, s: &LinkShape) -> Tree {
        let mut cuts = collet::cuts(s);
        let (mut added, mut pockets, mut bores) = (Vec::new(), Vec::new(), Vec::new());
        for (end, (side, name)) in s.ends.iter().zip([(-1.0, "left"), (1.0, "right")]) {
            match end {
                End::Plain => {}
                End::Loop(j) if self.bores == Bores::Open => {
                    cuts.push(wire::cut(s, j, side, name));
                    added.push(wire::web(s, j, side, name));
                }
                End::Loop(j) => {
                    cuts.push(groove(s, j, side, name));
                    cuts.push(self.mark(s, j, side, name));
                }
                End::Pair(j) | End::Middle(j) => {
                    let pair = matches!(end, End::Pair(_));
                    pockets.extend(hinge::pockets(j, pair, side, name));
                    added.extend(hinge::knuckles(j, pair, side, name));
                    if self.bores == Bores::Dimple {
                        bores.extend(tube_marks(j, pair, side, name, self.dimple));
                    } else {
                        bores.push(hinge::bore(&TubeJoint { bore: self.tube_bore, ..j.clone() }, side, name));
                    }
                }
            }
        }
        let collet = collet::body(s).minus(cuts);
        if pockets.is_empty() {
            added.push(claws::uncut(s));
            return collet.plus(added);
        }
        collet.plus(vec![claws::uncut(s)]).minus(pockets).plus(added).minus(bores)
    }

    /// Pilot hole or dimple in the end wall, on the axis of the round pilot of the finished bore.
    fn mark(&self, s: &LinkShape, j: &LoopJoint, side: f64, name: &str) -> Tree {
        let height = j.groove_depth.0 + j.web_height.0 + j.bore_width.0 / 2.0;
        let (x, z) = (Vector3::y() * side, Vector3::z());
        let wall = format!("bore.{name}.pilot");
        if self.bores == Bores::Pilot {
            let from = wire::cavity(s);
            let frame = Frame::with_axes(Point3::new(side * from, 0.0, height), x, z);
            return round(frame, self.hole.0 / 2.0, s.rim_radius.0 + 1.0 - from, &wall);
        }
        // From the skin, beside the axis of the mark, inward.
        let skin = s.outer(height);
        let deep = skin - self.dimple.1.0;
        let frame = Frame::with_axes(Point3::new(side * deep, 0.0, height), x, z);
        narrowing(frame, self.dimple.0.0 / 2.0, s.rim_radius.0 + 1.0 - deep, &wall)
    }
}

/// Marks for the drill on both ends of the knuckles.
pub(in crate::parts) fn tube_marks(
    j: &TubeJoint,
    pair: bool,
    side: f64,
    name: &str,
    dimple: (Mm, Mm),
) -> Vec<Tree> {
    let end = if pair { j.length.0 / 2.0 } else { j.boundary() - j.side_gap.0 };
    let wall = format!("bore.{name}.pilot");
    let (r, deep) = (dimple.0.0 / 2.0, dimple.1.0);
    [1.0, -1.0]
        .map(|y: f64| {
            let from = Point3::new(side * j.axis.0, y * (end - deep), j.height.0);
            let frame = Frame::with_axes(from, Vector3::z() * y, Vector3::x());
            narrowing(frame, r, deep + 1.0, &wall)
        })
        .into()
}

/// A collet without ends, its claws as they stand before setting.
pub(in crate::parts) fn unset(s: &LinkShape) -> Tree {
    collet::body(s).minus(collet::cuts(s)).plus(vec![claws::uncut(s)])
}

fn tube(j: &mut TubeJoint, u: Mm, m: Mm) {
    j.height = j.height + u;
    leave(j, m);
}

/// Leaves metal on knuckles and in their pockets.
pub(in crate::parts) fn leave(j: &mut TubeJoint, m: Mm) {
    j.outer = j.outer + m * 2.0;
    j.pocket_clearance = j.pocket_clearance - m * 2.0;
}

fn round(frame: Frame, r: f64, length: f64, name: &str) -> Tree {
    revolve(
        frame,
        &[(0.0, 0.0, "joint.inner"), (r, 0.0, name), (r, length, "joint.outer"), (0.0, length, "")],
    )
}

/// A round cut whose bottom narrows to a small flat, as a centre drill leaves it; it begins at the flat.
pub(in crate::parts) fn narrowing(frame: Frame, r: f64, length: f64, name: &str) -> Tree {
    let (flat, tip) = (0.3 * r, format!("{name}.tip"));
    let floor = format!("{name}.floor");
    revolve(
        frame,
        &[
            (0.0, 0.0, &floor),
            (flat, 0.0, &tip),
            (r, r - flat, name),
            (r, length, "joint.outer"),
            (0.0, length, ""),
        ],
    )
}

/// The groove under an end, without bore and web.
fn groove(s: &LinkShape, j: &LoopJoint, side: f64, name: &str) -> Tree {
    let from = wire::cavity(s);
    let frame = Frame::with_axes(Point3::new(side * from, 0.0, 0.0), Vector3::y() * side, Vector3::z());
    let (half, wall) = (j.groove_width.0 / 2.0, format!("groove.{name}.side"));
    let roof = format!("groove.{name}.roof");
    let below = format!("groove.{name}.below");
    let sides = [&below, &wall, &roof, &wall].map(String::as_str);
    let profile = rounded_rectangle([-half, half], [-1.0, j.groove_depth.0], 0.0, sides);
    prism(frame, profile, s.rim_radius.0 + 1.0 - from, ["joint.inner", "joint.outer"])
}

fn dimensions(design: &Design, f: &LinkShape, s: &LinkShape, bores: Bores) -> Vec<Dimension> {
    let mut out = Vec::new();
    let mut add = |name, finished: Mm, cast: Mm, by| {
        out.push(Dimension { name, finished: finished.0, cast: cast.0, by });
    };
    let polish = "polish";
    let across = |s: &LinkShape, z: Mm| Mm(2.0 * s.outer(z.0));
    let lift = design.get(Key::PolishUnderside);
    let middle = f.height / 2.0;
    add("collet, outside at half height", across(f, middle), across(s, middle + Mm(lift)), polish);
    add("collet, wall", f.wall, s.wall, polish);
    add("collet, height", f.height, s.height, polish);
    add("claw, diameter", f.claw.diameter, s.claw.diameter, polish);
    let over = |s: &LinkShape| s.claw.circle * SQRT_2 + s.claw.diameter;
    add("setting, over the claws", over(f), over(s), polish);
    add(
        "claw, end over the underside",
        design.dims().claw_top_raw,
        s.claw.top,
        "cut to length by the setter",
    );
    add("opening, width", f.opening.width, s.opening.width, polish);
    let tall = |s: &LinkShape| s.opening.top - s.opening.bottom;
    add("opening, height", tall(f), tall(s), polish);
    add("opening, lower edge to underside", f.opening.bottom, s.opening.bottom, polish);
    add("opening, back to back", f.opening.stop * 2.0, s.opening.stop * 2.0, polish);
    let edge = |s: &LinkShape| (s.rim_radius - s.rim_land) * 2.0;
    add("seat, across its edge", edge(f), edge(s), "setting bur");
    if let (Some(a), Some(b)) = (&f.foot, &s.foot) {
        add("foot, filled to", a.fill, b.fill, polish);
        add("light hole", a.light, b.light, polish);
        if let (Some(a), Some(b)) = (&a.block, &b.block) {
            add("foot block, width", a.half_width * 2.0, b.half_width * 2.0, polish);
        }
    }
    let ends = f.ends.iter().zip(&s.ends).find(|e| *e.0 != End::Plain);
    match ends {
        Some((End::Loop(a), End::Loop(b))) => {
            add("groove, depth", a.groove_depth, b.groove_depth, "bur");
            add("groove, width", a.groove_width, b.groove_width, "bur");
            let cast = match bores {
                Bores::Open => b.bore_width,
                Bores::Pilot => a.bore_width * PILOT_SHARE,
                Bores::Dimple => DIMPLE.0,
            };
            add(
                "bore, width",
                a.bore_width,
                cast,
                if bores == Bores::Open { "as cast" } else { "drill and bur" },
            );
        }
        Some((End::Pair(a) | End::Middle(a), End::Pair(b) | End::Middle(b))) => {
            add("knuckle, diameter", a.outer, b.outer, polish);
            let cast = match bores {
                Bores::Open => a.bore,
                Bores::Pilot => a.bore * PILOT_SHARE,
                Bores::Dimple => DIMPLE.0,
            };
            add("hinge bore", a.bore, cast, if bores == Bores::Open { "as cast" } else { "drill" });
        }
        _ => {}
    }
    out
}

impl LinkShape {
    /// Every length times the factor.
    #[must_use]
    pub fn scaled(&self, k: f64) -> Self {
        let mut s = self.clone();
        if let Outline::Square { corner, inner_corner } = &mut s.outline {
            times(k, [corner, inner_corner]);
        }
        times(k, [&mut s.foot_radius, &mut s.rim_radius, &mut s.height, &mut s.wall, &mut s.rim_land]);
        let t = &mut s.stone;
        times(k, [&mut t.diameter, &mut t.girdle, &mut t.girdle_thickness, &mut t.crown, &mut t.table]);
        let c = &mut s.claw;
        times(k, [&mut c.diameter, &mut c.circle, &mut c.foot, &mut c.top]);
        let o = &mut s.opening;
        times(k, [&mut o.width, &mut o.bottom, &mut o.top, &mut o.corner, &mut o.stop]);
        if let Some(f) = &mut s.foot {
            times(k, [&mut f.fill, &mut f.light]);
            if let Some(b) = &mut f.block {
                times(k, [&mut b.half_width, &mut b.corner]);
            }
        }
        for end in &mut s.ends {
            match end {
                End::Plain => {}
                End::Loop(j) => {
                    times(k, [&mut j.bore_width, &mut j.bore_height, &mut j.groove_depth]);
                    times(k, [&mut j.groove_width, &mut j.web_height, &mut j.web_edge]);
                }
                End::Pair(j) | End::Middle(j) => {
                    times(k, [&mut j.axis, &mut j.height, &mut j.outer, &mut j.bore, &mut j.length]);
                    times(k, [&mut j.side_gap, &mut j.pocket_clearance]);
                }
            }
        }
        s
    }
}

fn times<const N: usize>(k: f64, lengths: [&mut Mm; N]) {
    for l in lengths {
        *l = *l * k;
    }
}

#[cfg(test)]
mod tests {
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
    fn the_master_of_every_example_is_one_body_heavier_than_the_finished_link() {
        for file in FILES {
            let design = read(file).unwrap();
            let finished = super::super::build(&LinkShape::finished(&design)).unwrap();
            let master =
                Master::of(&design, Mm(0.0)).build().unwrap_or_else(|e| panic!("{}: {e}", design.name()));
            assert_eq!(master.easings, [], "{}", design.name());
            assert_eq!(master.solid.bodies().len(), 1);
            assert!(master.solid.bodies()[0].voids.is_empty());
            let (a, b) = (solid_mass(&finished.solid), solid_mass(&master.solid));
            assert!(
                b.volume > a.volume + 0.05 * a.area * 0.5,
                "{}: {} {}",
                design.name(),
                a.volume,
                b.volume
            );
        }
    }

    #[test]
    fn shrink_is_a_similarity_of_the_exact_solid() {
        let design = read(FILES[0]).unwrap();
        let master = Master::of(&design, Mm(0.0));
        // 1.8 % twice: 1/(0.982 x 0.982) = 1.036996...
        let k = 1.0 / (0.982 * 0.982);
        let (a, b) = (master.build().unwrap(), master.scaled(k).build().unwrap());
        let (va, vb) = (solid_mass(&a.solid).volume, solid_mass(&b.solid).volume);
        assert!((vb / va - k * k * k).abs() < 1e-8, "{vb} {va}");
        assert_eq!(a.solid.faces.len(), b.solid.faces.len());
    }

    #[test]
    fn without_allowance_and_with_open_bores_the_outside_is_the_finished_one() {
        let none =
            r#""master": { "bores": "open", "polish": { "outside": 0, "openings": 0, "underside": 0 }, "#;
        let text = FILES[0].replacen("\"master\": {", none, 1);
        assert_ne!(text, FILES[0], "the example has a group of that name");
        let design = read(&text).unwrap_or_else(|p| panic!("{p:?}"));
        let (f, m) = (LinkShape::finished(&design), Master::of(&design, Mm(0.0)));
        let s = m.shape();
        assert_eq!(
            (s.foot_radius, s.rim_radius, s.height, s.wall),
            (f.foot_radius, f.rim_radius, f.height, f.wall)
        );
        assert_eq!((&s.opening, s.claw.diameter), (&f.opening, f.claw.diameter));
    }
}
