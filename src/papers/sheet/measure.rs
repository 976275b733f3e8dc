//! The dimensions a drawing carries: each is the distance between two places of the solid, found by the names of its
//! faces, so that a drawing says what is there and not what was asked for.

use super::project::Eye;
use crate::papers::picture::polyline;
use crate::parts::link::WearReading;
use crate::solid::{Solid, Surface};
use crate::units::Tolerance;
use nalgebra::{Point3, Vector3};

/// Which way a dimension runs on the paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Along {
    /// Level.
    Level,
    /// Upright.
    Upright,
}

/// On which side of the view it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Side {
    /// Above.
    Top,
    /// Below.
    Bottom,
    /// Left.
    Left,
    /// Right.
    Right,
}

impl Side {
    /// The way a dimension on this side runs.
    #[must_use]
    pub const fn along(self) -> Along {
        match self {
            Self::Top | Self::Bottom => Along::Level,
            Self::Left | Self::Right => Along::Upright,
        }
    }
}

/// One linear dimension of a view, places at scale 1.
#[derive(Clone, Debug)]
pub struct Dimension {
    /// Where it stands.
    pub side: Side,
    /// What is measured.
    pub from: [f64; 2],
    /// To where.
    pub to: [f64; 2],
    /// Before the number, such as the sign of a diameter.
    pub sign: &'static str,
    /// After it, such as the least allowed.
    pub after: String,
    /// Stable word for programs.
    pub measures: &'static str,
}

impl Dimension {
    /// What it measures, mm.
    #[must_use]
    pub fn value(&self) -> f64 {
        let k = usize::from(self.side.along() == Along::Upright);
        (self.to[k] - self.from[k]).abs()
    }
    /// What stands on its line.
    #[must_use]
    pub fn text(&self) -> String {
        format!("{}{:.2}{}", self.sign, self.value(), self.after)
    }
}

/// Looks places of a solid up by name.
pub struct Ruler<'a> {
    /// The solid.
    pub solid: &'a Solid,
    /// Wear points with their ends and limits.
    pub wear: &'a [WearReading],
}

impl Ruler<'_> {
    /// Least and greatest place of all faces whose name is, or begins with, one of these, along a direction.
    #[must_use]
    pub fn extent(&self, names: &[&str], along: Vector3<f64>) -> Option<[f64; 2]> {
        self.reach(along, |n| {
            names.iter().any(|w| n.strip_prefix(w).is_some_and(|r| r.is_empty() || r.starts_with('.')))
        })
    }
    /// Least and greatest place of the whole solid along a direction.
    #[must_use]
    pub fn whole(&self, along: Vector3<f64>) -> Option<[f64; 2]> {
        self.reach(along, |_| true)
    }
    fn reach(&self, along: Vector3<f64>, named: impl Fn(&str) -> bool) -> Option<[f64; 2]> {
        let fine = Tolerance::new(1e-5)?;
        let mut out = [f64::INFINITY, f64::NEG_INFINITY];
        let mut add = |v: f64| out = [out[0].min(v), out[1].max(v)];
        for face in self.solid.faces.iter().filter(|f| named(&f.name)) {
            for u in face.loops.iter().flatten() {
                for p in polyline(&self.solid.edges.get(u.edge)?.curve, fine) {
                    add(p.coords.dot(&along));
                }
            }
            // A face that is round about an axis square to the direction may reach farther than its edges.
            let Surface::Cone(c) = &face.surface else { continue };
            if c.is_cylinder() && c.axis.dot(&along).abs() < 1e-9 {
                let spoke = along * c.radius;
                for way in [-1.0, 1.0] {
                    let angle = libm::atan2((spoke * way).dot(&c.side()), (spoke * way).dot(&c.reference));
                    if self.reaches(face, angle) {
                        add(c.origin.coords.dot(&along) + way * c.radius);
                    }
                }
            }
        }
        (out[0] <= out[1]).then_some(out)
    }
    /// Whether a face on a cylinder covers an angle: the angles of its edges past its seam lie on both sides of it.
    fn reaches(&self, face: &crate::solid::Face, angle: f64) -> bool {
        let turn = std::f64::consts::TAU;
        let at = (angle - face.seam).rem_euclid(turn);
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for u in face.loops.iter().flatten() {
            let Some(e) = self.solid.edges.get(u.edge) else { continue };
            for t in [0.0, 0.25, 0.5, 0.75, 1.0] {
                let a = face.coordinates(&e.curve.point(e.curve.end_parameter() * t))[0];
                (low, high) = (low.min(a), high.max(a));
            }
        }
        low <= at && at <= high
    }
    /// A wear point.
    #[must_use]
    pub fn wear(&self, point: &str) -> Option<(&WearReading, [Point3<f64>; 2])> {
        let w = self.wear.iter().find(|w| w.point == point)?;
        let at = w.at?;
        Some((w, at.map(Point3::from)))
    }
}

/// Collects the dimensions of one view.
pub struct Collector<'a> {
    ruler: &'a Ruler<'a>,
    eye: Eye,
    /// What was found.
    pub found: Vec<Dimension>,
}

impl<'a> Collector<'a> {
    /// For a view.
    #[must_use]
    pub fn new(ruler: &'a Ruler<'a>, eye: Eye) -> Self {
        Self { ruler, eye, found: Vec::new() }
    }
    fn push(
        &mut self,
        side: Side,
        from: [f64; 2],
        to: [f64; 2],
        sign: &'static str,
        after: String,
        m: &'static str,
    ) {
        let d = Dimension { side, from, to, sign, after, measures: m };
        // What is smaller than a line is wide is no dimension for the bench.
        if d.value() > 0.005 {
            self.found.push(d);
        }
    }
    /// From the least to the greatest place of some faces; the line of extension starts at `at` across the view.
    pub fn across(
        &mut self,
        side: Side,
        names: &[&str],
        at: f64,
        sign: &'static str,
        measures: &'static str,
    ) {
        let level = side.along() == Along::Level;
        let way = if level { self.eye.right } else { self.eye.up };
        if let Some([a, b]) = self.ruler.extent(names, way) {
            let p = |v: f64| if level { [v, at] } else { [at, v] };
            self.push(side, p(a), p(b), sign, String::new(), measures);
        }
    }
    /// Between two places along the way of the side; `at` as for [`Self::across`].
    pub fn between(&mut self, side: Side, ends: [Option<f64>; 2], at: f64, measures: &'static str) {
        if let [Some(a), Some(b)] = ends {
            let p = |v: f64| if side.along() == Along::Level { [v, at] } else { [at, v] };
            self.push(side, p(a), p(b), "", String::new(), measures);
        }
    }
    /// A wear point that runs along the way of the side, with the least allowed.
    pub fn wear(&mut self, side: Side, point: &str, measures: &'static str) {
        let Some((w, [a, b])) = self.ruler.wear(point) else { return };
        let (p, q) = (self.eye.flat(&a), self.eye.flat(&b));
        self.push(side, p, q, "", format!(" (min {:.2})", w.limit_mm), measures);
    }
}
