//! The views of a part of the clasp, with the dimensions that matter at the bench. Frame of the parts: x along the line, y across,
//! z from the skin.

use super::measure::{Collector, Ruler, Side};
use super::project::{Eye, Seen, seen};
use super::section::Cut;
use super::view::View;
use crate::mesh::TriMesh;
use crate::params::Design;
use crate::parts::Part;
use crate::units::Tolerance;
use nalgebra::Vector3;

/// All views of a part. Third angle projection.
#[derive(Clone, Debug)]
pub struct PartViews {
    /// From above, over the side view.
    pub top: View,
    /// A long side.
    pub side: View,
    /// From the skin, under the side view; without dimensions.
    pub under: View,
    /// The right end, right of the side view.
    pub end: View,
    /// Cut across it, where something is to be seen there.
    pub section: Option<View>,
    /// Side and top without dimensions, for true size.
    pub plain: [View; 2],
}

/// What is drawn.
pub struct PartSubject<'a> {
    /// The design.
    pub design: &'a Design,
    /// The part.
    pub part: &'a Part,
    /// Its mesh.
    pub mesh: &'a TriMesh,
}

/// Lines are this exact at scale 1, mm.
const FINE: f64 = 0.003;

impl PartViews {
    /// Draws a part from all sides.
    #[must_use]
    pub fn of(s: &PartSubject) -> Option<Self> {
        let tolerance = Tolerance::new(FINE)?;
        let (x, y, z) = (Vector3::x(), Vector3::y(), Vector3::z());
        let (side, top) = (Eye { right: x, up: z }, Eye { right: x, up: y });
        let (under, end) = (Eye { right: x, up: -y }, Eye { right: y, up: z });
        let ruler = Ruler { solid: &s.part.solid, wear: &[] };
        let at = section_at(&ruler, s.part.name);
        let cut = at.map(|at| Cut::new(end, at, s.mesh));
        let look = |eye: Eye, cut: Option<&Cut>| seen(eye, &s.part.solid, s.mesh, cut, tolerance);
        let ((a, b), (c, e, f)) = std::thread::scope(|scope| {
            let other = scope
                .spawn(|| (look(under, None), look(end, None), cut.as_ref().map(|cut| look(end, Some(cut)))));
            let mine = (look(side, None), look(top, None));
            (mine, other.join().unwrap_or_default())
        });
        let plain = |seen: &Seen| View {
            seen: Seen { visible: seen.visible.clone(), hidden: Vec::new() },
            ..View::default()
        };
        let made = Maker { ruler: &ruler };
        let dims = |eye: Eye| {
            let mut c = Collector::new(&ruler, eye);
            match s.part.name {
                "clasp.plate" => made.plate(&mut c, eye),
                "clasp.leaf" => made.leaf(&mut c, eye),
                _ => made.frame(&mut c, eye),
            }
            c.found
        };
        // Many edges lie behind the collets of the frame: hidden ones would say nothing there.
        let show_hidden = s.part.name != "clasp.frame";
        let view = |title: &str, eye: Eye, seen: Seen| View {
            title: title.into(),
            seen,
            dimensions: dims(eye),
            ..View::default()
        };
        let section = cut.zip(f).map(|(cut, seen)| View {
            title: "A\u{2013}A".into(),
            seen,
            cut: Some(cut),
            dimensions: made.section(Collector::new(&ruler, end), s.part.name),
            centre: [true, false],
            ..View::default()
        });
        Some(Self {
            plain: [plain(&a), plain(&b)],
            side: View {
                show_hidden,
                plane: at.map(|_| ('A', true, -1.0)),
                plane_at: at.unwrap_or(0.0),
                ..view("side", side, a)
            },
            top: View { show_hidden, centre: [false, true], ..view("top", top, b) },
            under: View { centre: [false, true], ..view("from the skin", under, c) },
            end: View { show_hidden, centre: [true, false], ..view("right end", end, e) },
            section,
        })
    }
}

/// Where a part is cut across: the frame through its second stone, the plate through the pockets of the strips.
fn section_at(ruler: &Ruler, part: &str) -> Option<f64> {
    let middle = |n: &str| ruler.extent(&[n], Vector3::x()).map(|e| f64::midpoint(e[0], e[1]));
    match part {
        "clasp.frame" => middle("stone2.collet.rim").or_else(|| middle("stone1.collet.rim")),
        "clasp.plate" => middle("rivet.front.1.side"),
        _ => None,
    }
}

struct Maker<'a> {
    ruler: &'a Ruler<'a>,
}

impl Maker<'_> {
    fn span(&self, names: &[&str], v: Vector3<f64>) -> [Option<f64>; 2] {
        self.ruler.extent(names, v).map_or([None; 2], |e| e.map(Some))
    }
    fn middle(&self, name: &str, v: Vector3<f64>) -> Option<f64> {
        self.ruler.extent(&[name], v).map(|e| f64::midpoint(e[0], e[1]))
    }
    /// Place of a view's border on the side given, so that lines of extension start there.
    fn edge(&self, side: Side, eye: Eye) -> f64 {
        let (v, k) = match side {
            Side::Top => (eye.up, 1),
            Side::Bottom => (eye.up, 0),
            Side::Left => (eye.right, 0),
            Side::Right => (eye.right, 1),
        };
        self.ruler.whole(v).map_or(0.0, |e| e[k])
    }
    fn overall(&self, c: &mut Collector, side: Side, eye: Eye, measures: &'static str) {
        let way = if matches!(side, Side::Top | Side::Bottom) { eye.right } else { eye.up };
        if let Some([a, b]) = self.ruler.whole(way) {
            c.between(side, [Some(a), Some(b)], self.edge(side, eye), measures);
        }
    }
    fn plate(&self, c: &mut Collector, eye: Eye) {
        let (x, y, z) = (Vector3::x(), Vector3::y(), Vector3::z());
        let at = |side| self.edge(side, eye);
        if eye.right == x && eye.up == y {
            self.overall(c, Side::Bottom, eye, "plate, over all");
            c.across(
                Side::Bottom,
                &["plate.left", "plate.right", "lug.right"],
                at(Side::Bottom),
                "",
                "plate, edge to edge",
            );
            c.across(Side::Left, &["plate.back", "plate.front"], at(Side::Left), "", "plate, width");
            c.across(Side::Left, &["knuckle.front", "knuckle.back"], at(Side::Left), "", "hinge row");
            c.across(Side::Right, &["plate.slot"], at(Side::Right), "", "slot, width");
            c.across(Side::Top, &["ledge.front"], at(Side::Top), "", "ledge, length");
            c.across(
                Side::Bottom,
                &["foot.pocket.front"],
                at(Side::Bottom),
                "",
                "pocket of the foot, length",
            );
            let rivets = [self.middle("rivet.front.1.side", x), self.middle("rivet.front.2.side", x)];
            c.between(Side::Top, rivets, at(Side::Top), "rivets, middle to middle");
        } else if eye.right == x && eye.up == z {
            c.across(Side::Left, &["plate.under", "plate.top"], at(Side::Left), "", "clasp.plate.thickness");
            c.between(
                Side::Left,
                [Some(0.0), self.middle("bore.back.side", z)],
                at(Side::Left),
                "clasp.hinge.back",
            );
            c.across(Side::Left, &["bore.back.side"], at(Side::Left), "\u{d8}", "clasp.hinge.bore");
            c.across(Side::Bottom, &["knuckle.front.side"], 0.0, "\u{d8}", "hinge knuckle");
            let bore = self.middle("bore.back.side", x);
            c.between(Side::Bottom, [bore, self.span(&["lug.right"], x)[1]], 0.0, "hinge to lug");
            c.between(
                Side::Right,
                [Some(0.0), self.span(&["lug.top"], z)[1]],
                at(Side::Right),
                "lug, height",
            );
        } else if eye.right == y {
            self.overall(c, Side::Bottom, eye, "plate, over all across");
            c.across(Side::Top, &["lug.back", "lug.front"], at(Side::Top), "", "lug, width");
            c.across(Side::Top, &["eye.hole.side"], at(Side::Top), "\u{d8}", "eye, hole");
            c.across(Side::Bottom, &["foot.pocket.front"], 0.0, "", "pocket of the foot, width");
            c.between(
                Side::Right,
                [Some(0.0), self.span(&["ledge.front.under"], z)[0]],
                at(Side::Right),
                "under the ledge",
            );
            c.across(Side::Left, &["lug.bore.side"], 0.0, "\u{d8}", "bore of the lug");
            c.between(
                Side::Left,
                [Some(0.0), self.span(&["lug.groove.top"], z)[1]],
                0.0,
                "groove of the lug, depth",
            );
        }
    }
    fn leaf(&self, c: &mut Collector, eye: Eye) {
        let (x, y, z) = (Vector3::x(), Vector3::y(), Vector3::z());
        let at = |side| self.edge(side, eye);
        if eye.right == x && eye.up == y {
            self.overall(c, Side::Bottom, eye, "leaf, over all");
            c.across(Side::Top, &["leaf.left", "leaf.right"], at(Side::Top), "", "leaf, wide part");
            c.across(Side::Left, &["leaf.back", "leaf.front"], at(Side::Left), "", "leaf, width");
            c.across(Side::Right, &["knuckle.front.end"], at(Side::Right), "", "middle knuckle, length");
        } else if eye.right == x && eye.up == z {
            let axes = |v| [self.middle("bore.back.side", v), self.middle("bore.front.side", v)];
            c.between(Side::Bottom, axes(x), at(Side::Bottom), "axis to axis, along");
            c.across(Side::Bottom, &["knuckle.front.side"], at(Side::Bottom), "\u{d8}", "hinge knuckle");
            c.across(Side::Left, &["leaf.under", "leaf.top"], at(Side::Left), "", "clasp.leaf.thickness");
            c.across(Side::Left, &["bore.back.side"], at(Side::Left), "\u{d8}", "clasp.hinge.bore");
            c.between(Side::Right, axes(z), at(Side::Right), "axis to axis, in height");
        } else if eye.right == y {
            self.overall(c, Side::Right, eye, "leaf, height");
        }
    }
    fn frame(&self, c: &mut Collector, eye: Eye) {
        let (x, y, z) = (Vector3::x(), Vector3::y(), Vector3::z());
        let at = |side| self.edge(side, eye);
        if eye.right == x && eye.up == y {
            self.overall(c, Side::Bottom, eye, "frame, over all");
            c.across(Side::Bottom, &["eye.left", "eye.right"], at(Side::Bottom), "", "eye, thickness");
            let stones = [self.middle("stone1.collet.rim", x), self.middle("stone2.collet.rim", x)];
            c.between(Side::Top, stones, at(Side::Top), "stone to stone");
            c.across(Side::Top, &["stone1.collet.rim"], at(Side::Top), "", "collet.width");
            self.overall(c, Side::Left, eye, "frame, over all across");
            c.across(
                Side::Left,
                &["rail.front.front", "rail.back.back"],
                at(Side::Left),
                "",
                "over the rails",
            );
        } else if eye.right == x && eye.up == z {
            self.overall(c, Side::Left, eye, "frame, height");
            let under = self.span(&["rail.front.under", "rail.front.front"], z)[0];
            c.between(
                Side::Left,
                [under, self.span(&["rail.front.top"], z)[1]],
                at(Side::Left),
                "rail, height",
            );
            let bore = [self.middle("bore.front.side", x), self.middle("tube.bore.front.side", x)];
            c.between(Side::Bottom, bore, at(Side::Bottom), "front hinge to middle of the side tubes");
            c.between(
                Side::Bottom,
                [self.span(&["lug.left"], x)[0], bore[0]],
                at(Side::Bottom),
                "lug to front hinge",
            );
            c.across(Side::Bottom, &["cheek.front"], at(Side::Bottom), "", "cheek, length");
            c.between(
                Side::Right,
                [self.span(&["cheek.front.under"], z)[0], under],
                at(Side::Right),
                "cheek under the rail",
            );
            c.across(Side::Right, &["bore.front.side"], at(Side::Right), "\u{d8}", "clasp.hinge.bore");
        } else if eye.right == y {
            c.across(
                Side::Bottom,
                &["knuckle.front.end", "knuckle.back.end"],
                at(Side::Bottom),
                "",
                "hinge row",
            );
            c.across(
                Side::Bottom,
                &["cheek.front.back", "cheek.back.front"],
                at(Side::Bottom),
                "",
                "between the cheeks",
            );
            let axes = [self.middle("tube.bore.back.side", y), self.middle("tube.bore.front.side", y)];
            c.between(Side::Top, axes, at(Side::Top), "side tubes, axis to axis");
            c.across(Side::Top, &["eye.hole.side"], at(Side::Top), "\u{d8}", "eye, hole");
            c.across(Side::Bottom, &["lug.back", "lug.front"], at(Side::Bottom), "", "lug, width");
            c.across(Side::Left, &["lug.bore.side"], 0.0, "\u{d8}", "bore of the lug");
        }
    }
    fn section(&self, mut c: Collector, part: &str) -> Vec<super::measure::Dimension> {
        let z = Vector3::z();
        if part == "clasp.frame" {
            let n = if self.ruler.extent(&["stone2.collet.rim"], z).is_some() { "stone2" } else { "stone1" };
            let rim = self.span(&[&format!("{n}.collet.rim")], z)[1];
            let under = self.span(&["rail.front.under", "rail.front.front"], z)[0];
            c.between(
                Side::Right,
                [under, rim],
                self.ruler.whole(Vector3::y()).map_or(0.0, |e| e[1]),
                "rim over the rails' underside",
            );
            c.between(Side::Left, [self.span(&["cheek.front.under"], z)[0], under], 0.0, "cheek");
        } else {
            let at = self.ruler.whole(Vector3::y()).map_or(0.0, |e| e[1]);
            c.between(
                Side::Right,
                [Some(0.0), self.span(&["foot.pocket.front.top"], z)[1]],
                at,
                "pocket of the foot, depth",
            );
        }
        c.found
    }
}
