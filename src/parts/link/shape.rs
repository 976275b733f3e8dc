//! The dimensions of one link and its recipe.
//!
//! Frame: origin in the centre of the underside, x along the line, y across it, z away from the skin. The left end is
//! at -x. Names of faces: `collet.outside`, `collet.inside`, `collet.rim`, `collet.underside`, `seat`;
//! `opening.front.*` (at +y) and `opening.back.*`; `bore.left.side`, `bore.left.roof`, `groove.left.side`,
//! `groove.left.roof`; `web.left.*`, whose top is `bore.left.floor`; `claw.1.*` to `claw.4.*`, counter-clockwise from
//! +x +y. What stays of the groove's ceiling beside the web is part of `groove.left.roof`, as the web's own underside is.

use crate::solid::surface::SAME;
use crate::solid::tree::{ArcTo, Corner, cylinder, prism, revolve, rounded_rectangle};
use crate::solid::{Frame, Tree};
use crate::units::{Deg, Mm};
use nalgebra::{Point3, Vector3};

/// Everything that shapes the link, finished size. Lengths in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct LinkShape {
    /// Outer radius at the underside.
    pub foot_radius: Mm,
    /// Outer radius at the rim: half the setting width.
    pub rim_radius: Mm,
    /// Height of the collet.
    pub height: Mm,
    /// Thickness of the wall measured square to its skin.
    pub wall: Mm,
    /// Width of the flat rim outside the seat.
    pub rim_land: Mm,
    /// Full angle of the seat bur.
    pub bur_angle: Deg,
    /// The stone.
    pub stone: StoneShape,
    /// The claws.
    pub claw: ClawShape,
    /// The openings on the two long sides.
    pub opening: OpeningShape,
    /// The joint at the left end, if there is one.
    pub left: Option<LoopJoint>,
    /// The joint at the right end, if there is one.
    pub right: Option<LoopJoint>,
}

/// The stone as the claws are cut for it.
#[derive(Clone, Debug, PartialEq)]
pub struct StoneShape {
    /// Girdle diameter.
    pub diameter: Mm,
    /// Height of the lower girdle edge above the underside.
    pub girdle: Mm,
    /// Thickness of the girdle.
    pub girdle_thickness: Mm,
    /// Height of the crown.
    pub crown: Mm,
    /// Diameter of the table.
    pub table: Mm,
}

/// Four upright round claws at 45 degrees.
#[derive(Clone, Debug, PartialEq)]
pub struct ClawShape {
    /// Diameter of the wire.
    pub diameter: Mm,
    /// Distance of a claw's axis from the middle of the link.
    pub circle: Mm,
    /// Height of the foot.
    pub foot: Mm,
    /// Height of the end.
    pub top: Mm,
}

/// A rounded rectangle cut from both long sides.
#[derive(Clone, Debug, PartialEq)]
pub struct OpeningShape {
    /// Width along the line.
    pub width: Mm,
    /// Lower edge.
    pub bottom: Mm,
    /// Upper edge.
    pub top: Mm,
    /// Radius of the corners.
    pub corner: Mm,
    /// Distance from the middle of the link where the cut ends.
    pub stop: Mm,
}

/// Bore, web and groove of one end.
#[derive(Clone, Debug, PartialEq)]
pub struct LoopJoint {
    /// Width of the bore.
    pub bore_width: Mm,
    /// Height of the bore; equal to its width for a round one.
    pub bore_height: Mm,
    /// Depth of the groove in the underside.
    pub groove_depth: Mm,
    /// Width of the groove.
    pub groove_width: Mm,
    /// Height of the web between groove and bore.
    pub web_height: Mm,
    /// Radius of the web's dressed edges.
    pub web_edge: Mm,
}

impl LinkShape {
    fn taper(&self) -> f64 {
        (self.rim_radius - self.foot_radius) / self.height
    }
    fn outer(&self, z: f64) -> f64 {
        self.foot_radius.0 + self.taper() * z
    }
    /// Thickness of the wall measured level.
    #[must_use]
    pub fn level_wall(&self) -> Mm {
        self.wall * libm::hypot(1.0, self.taper())
    }
    fn inner(&self, z: f64) -> f64 {
        self.outer(z) - self.level_wall().0
    }
    /// Height and radius where the seat cone runs out into the inside of the collet.
    #[must_use]
    pub fn seat_foot(&self) -> (Mm, Mm) {
        let slope = (self.bur_angle / 2.0).tan();
        let edge = self.rim_radius.0 - self.rim_land.0;
        // edge - slope (H - z) = inner(z)
        let z = (self.inner(0.0) - edge + slope * self.height.0) / (slope - self.taper());
        (Mm(z), Mm(self.inner(z)))
    }

    /// The recipe of the finished link.
    #[must_use]
    pub fn tree(&self) -> Tree {
        let mut cuts = vec![self.opening_cut(1.0, "opening.front"), self.opening_cut(-1.0, "opening.back")];
        let mut webs = Vec::new();
        for (joint, side, name) in [(&self.left, -1.0, "left"), (&self.right, 1.0, "right")] {
            if let Some(j) = joint {
                cuts.push(self.joint_cut(j, side, name));
                webs.push(self.web(j, side, name));
            }
        }
        webs.push(self.claws());
        self.collet().minus(cuts).plus(webs)
    }

    fn collet(&self) -> Tree {
        let (zs, rs) = self.seat_foot();
        let (h, rt) = (self.height.0, self.rim_radius.0);
        revolve(
            Frame::at(Point3::origin()),
            &[
                (self.inner(0.0), 0.0, "collet.underside"),
                (self.foot_radius.0, 0.0, "collet.outside"),
                (rt, h, "collet.rim"),
                (rt - self.rim_land.0, h, "seat"),
                (rs.0, zs.0, "collet.inside"),
            ],
        )
    }

    fn opening_cut(&self, side: f64, name: &str) -> Tree {
        let o = &self.opening;
        let half = o.width.0 / 2.0;
        let n = |part: &str| format!("{name}.{part}");
        let (bottom, right, top, left) = (n("floor"), n("right"), n("roof"), n("left"));
        // Profile in (x, z), swept along +y from the stop, or along -y with x reversed.
        let (x, names) = if side > 0.0 {
            (-Vector3::x(), [&bottom, &left, &top, &right])
        } else {
            (Vector3::x(), [&bottom, &right, &top, &left])
        };
        let frame = Frame::with_axes(Point3::new(0.0, side * o.stop.0, 0.0), x, Vector3::z());
        let profile =
            rounded_rectangle([-half, half], [o.bottom.0, o.top.0], o.corner.0, names.map(String::as_str));
        // 1 mm beyond the rim is clear of everything.
        let length = self.rim_radius.0 + 1.0 - o.stop.0;
        prism(frame, profile, length, [&n("stop"), &n("out")])
    }

    /// A radius well inside the cavity, where the cuts through an end wall may begin.
    fn cavity(&self) -> f64 {
        self.inner(0.0) * 0.5
    }

    /// Groove and slot of one end as one cutter: bore and web's room above the groove.
    fn joint_cut(&self, j: &LoopJoint, side: f64, name: &str) -> Tree {
        let from = self.cavity();
        let length = self.rim_radius.0 + 1.0 - from;
        // Profile in (y, z), swept along +x from inside the cavity, or along -x with y reversed.
        let y = Vector3::y() * side;
        let frame = Frame::with_axes(Point3::new(side * from, 0.0, 0.0), y, Vector3::z());
        let (half, wide) = (j.bore_width.0 / 2.0, j.groove_width.0 / 2.0);
        let floor = j.groove_depth.0;
        let spring = floor + j.web_height.0 + j.bore_height.0 - half;
        let part = |feature: &str, part: &str| format!("{feature}.{name}.{part}");
        let (wall, ledge, flank) = (part("groove", "side"), part("groove", "roof"), part("bore", "side"));
        let corner = |at, name: &str| Corner { at, arc: None, name: name.to_owned() };
        let mut profile = vec![
            // The cutter begins below the skin.
            corner([-wide, -1.0], &part("groove", "below")),
            corner([wide, -1.0], &wall),
        ];
        // Groove and bore of one width leave no ledge.
        let stepped = (wide - half).abs() > SAME;
        if stepped {
            profile.extend([corner([wide, floor], &ledge)]);
        }
        profile.push(corner([half, floor], &flank));
        profile.push(Corner {
            at: [half, spring],
            arc: Some(ArcTo { centre: [0.0, spring], ccw: true }),
            name: part("bore", "roof"),
        });
        profile.push(corner([-half, spring], &flank));
        profile.push(corner([-half, floor], if stepped { &ledge } else { &wall }));
        if stepped {
            profile.push(corner([-wide, floor], &wall));
        }
        prism(frame, profile, length, ["joint.inner", "joint.outer"])
    }

    fn web(&self, j: &LoopJoint, side: f64, name: &str) -> Tree {
        let depth = self.level_wall().0;
        let middle = self.outer(j.groove_depth.0 + j.web_height.0 / 2.0) - depth / 2.0;
        let half = j.bore_width.0 / 2.0;
        // Profile in (x, z) away from the link's middle, swept across the bore.
        let frame = Frame::with_axes(Point3::new(0.0, side * half, 0.0), Vector3::x() * side, Vector3::z());
        let n = |part: &str| format!("web.{name}.{part}");
        let (under, outside, top, inside) =
            (format!("groove.{name}.roof"), n("outside"), format!("bore.{name}.floor"), n("inside"));
        let z = [j.groove_depth.0, j.groove_depth.0 + j.web_height.0];
        let mut profile = rounded_rectangle(
            [middle - depth / 2.0, middle + depth / 2.0],
            z,
            j.web_edge.0,
            [&under, &outside, &top, &inside],
        );
        for c in &mut profile {
            if c.arc.is_some() {
                c.name = n("edge");
            }
        }
        let end = format!("bore.{name}.side");
        prism(frame, profile, j.bore_width.0, [&end, &end])
    }

    fn claws(&self) -> Tree {
        let c = &self.claw;
        let r = c.circle.0 * std::f64::consts::FRAC_1_SQRT_2;
        let round = |(i, (x, y)): (usize, (f64, f64))| {
            let n = |part: &str| format!("claw.{}.{part}", i + 1);
            cylinder(
                Frame::at(Point3::new(x * r, y * r, c.foot.0)),
                c.diameter.0 / 2.0,
                c.top.0 - c.foot.0,
                &n("side"),
                [&n("foot"), &n("top")],
            )
        };
        let all = [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)].into_iter().enumerate().map(round);
        Tree::Union(all.collect()).minus(vec![self.setting()])
    }

    /// What the seat bur and the stone take out of the claws: the bur's cone up to the girdle, the girdle, the crown.
    fn setting(&self) -> Tree {
        let s = &self.stone;
        let r = s.diameter.0 / 2.0;
        let apex = s.girdle.0 - r / (self.bur_angle / 2.0).tan();
        let girdle = s.girdle.0 + s.girdle_thickness.0;
        revolve(
            Frame::at(Point3::origin()),
            &[
                (0.0, apex, "claw.seat"),
                (r, s.girdle.0, "claw.girdle"),
                (r, girdle, "claw.crown"),
                (s.table.0 / 2.0, girdle + s.crown.0, "claw.table"),
                (0.0, girdle + s.crown.0, ""),
            ],
        )
    }
}
