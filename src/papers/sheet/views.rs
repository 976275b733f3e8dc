//! The views of a link, its sections and enlarged details, with the dimensions that matter at the bench.

use super::measure::{Collector, Ruler, Side};
use super::project::{Eye, Seen, seen};
use super::section::Cut;
use super::view::View;
use crate::mesh::TriMesh;
use crate::params::{Design, JointKind, Key, Shape};
use crate::parts::link::WearReading;
use crate::solid::Solid;
use crate::units::Tolerance;
use nalgebra::{Point3, Vector3};

/// All views of a link. Third angle projection: each stands on the side it is seen from.
#[derive(Clone, Debug)]
pub struct Views {
    /// From above, over the side view.
    pub top: View,
    /// A long side.
    pub side: View,
    /// From the skin, under the side view.
    pub under: View,
    /// The right end, right of the side view.
    pub end: View,
    /// Cut along the line.
    pub along: View,
    /// Cut across it.
    pub across: View,
    /// The joint, enlarged.
    pub joint: View,
    /// The seat, enlarged.
    pub seat: View,
    /// Side and top without dimensions, for true size.
    pub plain: [View; 2],
}

/// What is drawn.
pub struct Subject<'a> {
    /// The design.
    pub design: &'a Design,
    /// Its solid.
    pub solid: &'a Solid,
    /// The solid's mesh.
    pub mesh: &'a TriMesh,
    /// Wear points, measured.
    pub wear: &'a [WearReading],
}

/// Lines are this exact at scale 1, mm.
const FINE: f64 = 0.002;

impl Views {
    /// Draws a link from all sides.
    #[must_use]
    pub fn of(s: &Subject) -> Option<Self> {
        let tolerance = Tolerance::new(FINE)?;
        let (x, y, z) = (Vector3::x(), Vector3::y(), Vector3::z());
        let side = Eye { right: x, up: z };
        let top = Eye { right: x, up: y };
        let under = Eye { right: x, up: -y };
        let end = Eye { right: y, up: z };
        let look = |eye: Eye, cut: Option<&Cut>| seen(eye, s.solid, s.mesh, cut, tolerance);
        let (along_cut, across_cut) = (Cut::new(side, 0.0, s.mesh), Cut::new(end, 0.0, s.mesh));
        let ((a, b, c), (e, f, g)) = std::thread::scope(|scope| {
            let other =
                scope.spawn(|| (look(end, None), look(side, Some(&along_cut)), look(end, Some(&across_cut))));
            let mine = (look(side, None), look(top, None), look(under, None));
            let other = other.join().unwrap_or_default();
            (mine, other)
        });
        let ruler = Ruler { solid: s.solid, wear: s.wear };
        let made = Maker { s, ruler: &ruler };
        Some(Self {
            plain: [made.plain(&a), made.plain(&b)],
            side: made.side(side, a),
            top: made.top(top, b),
            under: View { title: "from the skin".into(), seen: c, centre: [true, true], ..View::default() },
            end: made.end(end, e),
            joint: made.joint(side, &f, &along_cut),
            seat: made.seat(side, &f, &along_cut),
            along: made.along(side, f, along_cut),
            across: made.across(end, g, across_cut),
        })
    }
}

struct Maker<'a> {
    s: &'a Subject<'a>,
    ruler: &'a Ruler<'a>,
}

impl Maker<'_> {
    fn z_of(&self, names: &[&str], high: bool) -> Option<f64> {
        self.ruler.extent(names, Vector3::z()).map(|e| e[usize::from(high)])
    }
    fn wire(&self) -> bool {
        self.s.design.joint() == JointKind::WireLoop
    }
    fn end(&self, eye: Eye, seen: Seen) -> View {
        let mut c = Collector::new(self.ruler, eye);
        let end = if self.s.design.joints()[1] { "right" } else { "left" };
        if self.wire() {
            c.across(Side::Bottom, &[&format!("groove.{end}.side")], 0.0, "", "joint.groove_width");
            let top = self.z_of(&[&format!("bore.{end}.roof")], true).unwrap_or(0.0);
            c.across(Side::Top, &[&format!("bore.{end}.side")], top, "", "joint.bore_width");
            c.across(Side::Bottom, &["collet.underside"], 0.0, "", "foot width");
        } else {
            c.across(Side::Bottom, &["knuckle.left.side"], 0.0, "", "knuckles, left end");
            c.across(Side::Bottom, &["knuckle.right.side"], 0.0, "", "knuckles, right end");
        }
        View {
            title: "right end".into(),
            seen,
            show_hidden: true,
            dimensions: c.found,
            centre: [true, false],
            ..View::default()
        }
    }
    fn plain(&self, seen: &Seen) -> View {
        View { seen: Seen { visible: seen.visible.clone(), hidden: Vec::new() }, ..View::default() }
    }
    fn side(&self, eye: Eye, seen: Seen) -> View {
        let mut c = Collector::new(self.ruler, eye);
        let half = self.s.design.get(Key::Width) / 2.0;
        let flank = |n: &str, high: usize| self.ruler.extent(&[n], Vector3::x()).map(|e| e[high]);
        let (bottom, top) =
            (self.z_of(&["opening.back.floor"], false), self.z_of(&["opening.back.roof"], true));
        c.between(
            Side::Bottom,
            [flank("opening.back.left", 0), flank("opening.back.right", 1)],
            bottom.unwrap_or(0.0),
            "opening.width",
        );
        let rim = self.z_of(&["collet.rim"], true);
        c.between(Side::Left, [Some(0.0), bottom], -half, "opening.bottom");
        c.between(Side::Left, [Some(0.0), top], -half, "opening.top");
        c.between(Side::Left, [Some(0.0), rim], -half, "collet.height");
        c.between(Side::Left, [Some(0.0), self.z_of(&["claw"], true)], -half, "height over the claws");
        View {
            title: "side".into(),
            seen,
            show_hidden: true,
            dimensions: c.found,
            centre: [true, false],
            plane: Some(('B', true, -1.0)),
            ..View::default()
        }
    }
    fn top(&self, eye: Eye, seen: Seen) -> View {
        let mut c = Collector::new(self.ruler, eye);
        let middle = |n: &str, v: Vector3<f64>| self.ruler.extent(&[n], v).map(|e| f64::midpoint(e[0], e[1]));
        let sign = if self.s.design.shape() == Shape::Round { "\u{d8}" } else { "" };
        c.across(Side::Top, &["collet.rim"], 0.0, sign, "collet.width");
        let (x, y) = (Vector3::x(), Vector3::y());
        let apart = [middle("claw.2.side", x), middle("claw.1.side", x)];
        c.between(Side::Top, apart, middle("claw.1.side", y).unwrap_or(0.0), "claws, middle to middle");
        let at = middle("claw.1.side", x).unwrap_or(0.0);
        c.across(Side::Left, &["claw.2.side"], -at, "\u{d8}", "claw.diameter");
        let r = self.s.design.get(Key::ClawDiameter) / 2.0 + 0.12;
        let crosses = ["claw.1.side", "claw.2.side", "claw.3.side", "claw.4.side"]
            .iter()
            .filter_map(|n| Some(([middle(n, x)?, middle(n, y)?], r)))
            .collect();
        View {
            title: "top".into(),
            seen,
            dimensions: c.found,
            centre: [true, false],
            crosses,
            plane: Some(('A', false, 1.0)),
            ..View::default()
        }
    }
    fn seat_circle(&self) -> Option<([f64; 2], f64)> {
        let (_, [a, b]) = self.ruler.wear("rim.land")?;
        let seat = self.z_of(&["seat"], false).unwrap_or(a.z - 0.4);
        let r = (1.3 * (b.x - a.x)).max(0.75 * (a.z - seat)) + 0.12;
        Some(([f64::midpoint(a.x, b.x), a.z - 0.35 * r], r))
    }
    fn joint_circle(&self) -> Option<([f64; 2], f64)> {
        let (_, z) = self.joint_end();
        let x = |names: &[&str]| self.ruler.extent(names, Vector3::x());
        if self.wire() {
            let end = self.joint_end().0?;
            let web = x(&[&format!("web.{end}.outside"), &format!("web.{end}.inside")])?;
            let r = z / 2.0 * 1.12 + 0.1;
            return Some(([f64::midpoint(web[0], web[1]), z / 2.0], r));
        }
        let end = self.joint_end().0?;
        let bore = x(&[&format!("knuckle.{end}.side")])?;
        let r = (bore[1] - bore[0]).max(z) * 0.62 + 0.1;
        Some(([f64::midpoint(bore[0], bore[1]), z / 2.0], r))
    }
    /// The end whose joint is shown, the right one where it has one, and how high the joint reaches.
    fn joint_end(&self) -> (Option<&'static str>, f64) {
        let breadth = |end: &str| {
            let row = self.ruler.extent(&[&format!("knuckle.{end}.side")], Vector3::y());
            row.map_or(0.0, |e| e[1] - e[0])
        };
        let end = match self.s.design.joints() {
            // The cut goes through a middle knuckle, which is shorter than the pair.
            [true, true] if breadth("left") < breadth("right") => "left",
            [_, true] => "right",
            [true, false] => "left",
            _ => return (None, 0.0),
        };
        let names = if self.wire() {
            [format!("bore.{end}.roof"), format!("bore.{end}.side")]
        } else {
            [format!("knuckle.{end}.side"), format!("pocket.{end}.roof")]
        };
        (Some(end), self.z_of(&[&names[0], &names[1]], true).unwrap_or(1.0))
    }
    fn along(&self, eye: Eye, seen: Seen, cut: Cut) -> View {
        let mut c = Collector::new(self.ruler, eye);
        if let Some((_, [a, _])) = self.ruler.wear("rim.land") {
            c.between(Side::Top, [Some(-a.x), Some(a.x)], a.z, "seat at the rim");
        }
        let inside = self.ruler.extent(&["collet.inside"], Vector3::z());
        let seat = self.z_of(&["seat"], false).filter(|_| inside.is_some());
        c.between(Side::Left, [Some(0.0), seat], -self.s.design.get(Key::FootHalfWidth), "seat.bottom");
        let mut details = Vec::new();
        if let Some((at, r)) = self.joint_circle() {
            details.push((at, r, 'C'));
        }
        if let Some((at, r)) = self.seat_circle() {
            details.push((at, r, 'D'));
        }
        View {
            title: "A\u{2013}A".into(),
            seen,
            cut: Some(cut),
            dimensions: c.found,
            centre: [true, false],
            details,
            ..View::default()
        }
    }
    fn across(&self, eye: Eye, seen: Seen, cut: Cut) -> View {
        let mut c = Collector::new(self.ruler, eye);
        let y = |n: &str, high: usize| self.ruler.extent(&[n], Vector3::y()).map(|e| e[high]);
        let floor = self.z_of(&["opening.front.floor"], false).unwrap_or(0.0);
        c.between(
            Side::Bottom,
            [y("opening.back.stop", 1), y("opening.front.stop", 0)],
            floor,
            "between the stops",
        );
        c.wear(Side::Right, "opening.front.over", "over the opening");
        View {
            title: "B\u{2013}B".into(),
            seen,
            cut: Some(cut),
            dimensions: c.found,
            centre: [true, false],
            ..View::default()
        }
    }
    fn joint(&self, eye: Eye, seen: &Seen, cut: &Cut) -> View {
        let mut c = Collector::new(self.ruler, eye);
        let window = self.joint_circle();
        if let (Some(end), Some((at, r))) = (self.joint_end().0, window) {
            let way = if end == "right" { 1.0 } else { -1.0 };
            let edge = at[0] + way * r * 0.4;
            let n = |a: &str, b: &str| format!("{a}.{end}.{b}");
            let one = |a: &str, b: &str, high| self.z_of(&[&n(a, b)], high);
            if self.wire() {
                let (groove, floor) = (one("groove", "roof", true), one("bore", "floor", true));
                c.between(Side::Right, [Some(0.0), groove], edge, "joint.groove_depth");
                c.wear(Side::Right, &n("web", "height"), "joint.web_height");
                c.between(Side::Right, [floor, one("bore", "roof", true)], edge, "joint.bore_height");
                c.wear(Side::Bottom, &n("web", "depth"), "depth of the web");
            } else {
                let (knuckle, bore) = (n("knuckle", "side"), n("bore", "side"));
                c.across(Side::Right, &[&bore], at[0], "\u{d8}", "joint.tube_bore");
                c.across(Side::Right, &[&knuckle], at[0], "\u{d8}", "joint.tube_outer");
                let axis = self.ruler.extent(&[&bore], Vector3::z()).map(|e| f64::midpoint(e[0], e[1]));
                c.between(Side::Left, [Some(0.0), axis], at[0], "joint.tube_height");
            }
        }
        View {
            title: "C".into(),
            seen: seen.clone(),
            cut: Some(cut.clone()),
            dimensions: c.found,
            window,
            ..View::default()
        }
    }
    fn seat(&self, eye: Eye, seen: &Seen, cut: &Cut) -> View {
        let mut c = Collector::new(self.ruler, eye);
        c.wear(Side::Top, "rim.land", "seat.rim_land");
        if let Some((_, [a, _])) = self.ruler.wear("rim.land") {
            let rim: Point3<f64> = a;
            c.between(Side::Right, [self.z_of(&["seat"], false), Some(rim.z)], rim.x, "depth of the seat");
        }
        View {
            title: "D".into(),
            seen: seen.clone(),
            cut: Some(cut.clone()),
            dimensions: c.found,
            window: self.seat_circle(),
            ..View::default()
        }
    }
}
