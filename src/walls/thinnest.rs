//! The thinnest places of a whole solid, pair of faces by pair of faces, with a proof that nothing thinner was missed.

use super::acute::{AcuteEdge, acute_edges, material_angle};
use super::cell::angle;
use super::interval::Interval;
use super::measure::report;
use super::search::{FITTED, Goal, Scene};
use crate::solid::Solid;
use crate::units::{Deg, Mm};
use nalgebra::Point3;
use std::f64::consts::PI;

/// Widest interval a pair is narrowed to, mm: a tenth of the micrometre walls are judged by.
const NARROW: f64 = 1e-7;
/// Pairs of cells looked at for one pair of faces before its bounds are left as they are, some 0.03 s.
const BUDGET: usize = 30_000;
/// Chords shorter than this are contact, mm: a hundred times what fitted edges may lie apart, a hundredth of a micrometre.
const TOUCH: f64 = 1e-5;
/// An edge turned inward by less than this is smooth and its fan of normals empty, radians. A fitted edge may lie
/// 1e-7 mm off surfaces of 0.1 mm radius, which turns a normal by 1e-6.
const SMOOTH: f64 = 1e-5;

/// One thin place.
#[derive(Clone, Debug, PartialEq)]
pub struct Thinnest {
    /// Length of the shortest chord found between the two faces, mm.
    pub value: Mm,
    /// Bounds of the infimum over the two faces.
    pub interval: Interval,
    /// Names of the faces, for a chord from a reflex edge that of its left face.
    pub between: [String; 2],
    /// Ends of the chord, mm, in the frame of the solid.
    pub at: [Point3<f64>; 2],
}

/// What is known of all walls of a solid.
#[derive(Clone, Debug, PartialEq)]
pub struct PartWalls {
    /// The thinnest places, one for each pair of faces, thinnest first.
    pub thinnest: Vec<Thinnest>,
    /// No chord between pairs of faces not listed is shorter, mm. Below the last listed value only where a search ran
    /// out of its budget.
    pub rest: Mm,
    /// Edges sharper than twice delta: towards them thickness goes to zero by definition, so their pairs of faces
    /// are not in the list.
    pub acute: Vec<AcuteEdge>,
    /// Corners and edges where two faces (or reflex edges) touch and chords of no length may meet the normals within
    /// delta: sharp corners by definition, or undecided. A ball of 1e-5 mm about them is left out of the search.
    pub contacts: Vec<Contact>,
}

/// A place where faces touch, see [`PartWalls::contacts`].
#[derive(Clone, Debug, PartialEq)]
pub struct Contact {
    /// Names of the faces, for a reflex edge that of its left face.
    pub between: [String; 2],
    /// Where, mm.
    pub at: Point3<f64>,
}

impl PartWalls {
    /// Bounds of the least thickness of the part away from its acute edges; `None` if nothing is thinner than `rest`.
    #[must_use]
    pub fn least(&self) -> Option<Interval> {
        let first = self.thinnest.first()?;
        let lower = self.thinnest.iter().map(|t| t.interval.lower.get()).fold(self.rest.get(), f64::min);
        Some(Interval { lower: Mm(lower), upper: first.interval.upper })
    }
    /// Whether nothing thinner than the first place was missed, acute edges and contacts apart. If not, some search ran
    /// out of its budget and the list is a sample.
    #[must_use]
    pub fn proved(&self) -> bool {
        self.thinnest.first().is_some_and(|t| t.interval.lower <= self.rest)
    }
}

/// Finds the `count` thinnest places below `below` by the definition of thickness: chords within `delta` of the normals
/// at both ends, the fan of normals between both faces at a reflex edge.
///
/// Every pair of faces (a face with itself too) and of reflex edges is searched by branch and bound on the exact
/// surfaces, or excluded because its bounding balls are too far apart or its normals cannot oppose each other. Proved,
/// within the contract of [`Solid`]: fitted edges and vertices are taken to lie within 1e-7 mm of their surfaces, which is
/// taken off each lower bound.
#[must_use]
pub fn thinnest(solid: &Solid, delta: Deg, count: usize, below: Mm) -> PartWalls {
    let mut scene = Scene::new(solid);
    let delta = delta.radians();
    let acute = acute_edges(solid, Deg::from_radians(2.0 * delta));
    let mut sharp: Vec<[usize; 2]> = acute.iter().map(|a| sorted(solid.edges[a.edge].faces)).collect();
    sharp.sort_unstable();
    let mut groups: Vec<Vec<usize>> = (0..solid.faces.len()).map(|f| scene.face_cells(f)).collect();
    for (e, edge) in solid.edges.iter().enumerate() {
        let k = edge.curve.knots();
        let reflex = k.windows(2).any(|w| {
            // Ends, quarter points and middle: an edge that turns inward only between those is not foreseen.
            (0..=4).any(|i| material_angle(solid, e, w[0] + (w[1] - w[0]) * f64::from(i) / 4.0) > PI + SMOOTH)
        });
        if reflex {
            groups.push(scene.edge_cells(e, edge.faces[0], Some(edge.faces[1])));
        }
    }
    let balls: Vec<Option<Ball>> = groups.iter().map(|g| Ball::of(&scene, g)).collect();
    let mut found: Vec<Thinnest> = Vec::new();
    let mut contacts = Vec::new();
    let mut rest = below.get();
    for i in 0..groups.len() {
        for j in i..groups.len() {
            let cap =
                if found.len() >= count { found.last().map_or(below, |t| t.value) } else { below }.get();
            let (Some(a), Some(b)) = (&balls[i], &balls[j]) else { continue };
            if sharp.binary_search(&[i, j]).is_ok() || a.excludes(b, cap, delta) {
                continue;
            }
            let goal =
                Goal { delta: Some(delta), below: cap, tolerance: NARROW, budget: BUDGET, touch: TOUCH };
            let f = scene.search(&groups[i], &groups[j], &goal);
            if let Some(at) = f.contact {
                contacts.push(Contact { between: f_names(solid, &scene, groups[i][0], groups[j][0]), at });
            }
            let Some(m) = report(solid, &f) else {
                rest = rest.min((f.lower - 2.0 * FITTED).max(0.0));
                continue;
            };
            let lower = Mm((m.interval.lower.get() - 2.0 * FITTED).max(0.0));
            let interval = Interval { lower, upper: m.interval.upper };
            let t = Thinnest { value: m.value, interval, between: m.between, at: m.at };
            let at = found.partition_point(|x| x.value <= t.value);
            found.insert(at, t);
            if found.len() > count {
                rest = found.pop().map_or(rest, |t| rest.min(t.interval.lower.get()));
            }
        }
    }
    if found.len() >= count {
        rest = found.last().map_or(rest, |t| rest.min(t.value.get()));
    }
    PartWalls { thinnest: found, rest: Mm(rest), acute, contacts }
}

fn f_names(solid: &Solid, scene: &Scene<'_>, i: usize, j: usize) -> [String; 2] {
    [i, j].map(|c| solid.faces[scene.cell(c).face].name.clone())
}

fn sorted(mut f: [usize; 2]) -> [usize; 2] {
    f.sort_unstable();
    f
}

/// Ball and cone of normals about a group of cells.
struct Ball {
    centre: Point3<f64>,
    radius: f64,
    axis: nalgebra::Vector3<f64>,
    spread: f64,
}

impl Ball {
    fn of(scene: &Scene<'_>, group: &[usize]) -> Option<Self> {
        let first = scene.cell(*group.first()?);
        let (centre, axis) = (first.centre, first.axis);
        let (mut radius, mut spread) = (0.0f64, 0.0f64);
        for &i in group {
            let c = scene.cell(i);
            radius = radius.max((c.centre - centre).norm() + c.radius);
            spread = spread.max(angle(&c.axis, &axis) + c.spread);
        }
        Some(Self { centre, radius, axis, spread })
    }
    /// Whether no chord between the two groups is shorter than `cap` and within delta of the normals.
    fn excludes(&self, o: &Self, cap: f64, delta: f64) -> bool {
        (self.centre - o.centre).norm() - self.radius - o.radius >= cap
            || PI - angle(&self.axis, &o.axis) > self.spread + o.spread + 2.0 * delta
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::walls::testkit::{circle, moved, polygon, prism, rectangle};
    use nalgebra::{Isometry3, Vector3};
    use proptest::prelude::*;

    fn eccentric_block(x: f64, y: f64, r: f64) -> Solid {
        prism(&[rectangle(4.0, 2.0), circle("void", [x, y], r, 0.7, false)], 1.5)
    }

    #[test]
    fn a_bored_block_lists_its_walls_in_order() {
        // Closed forms: distance of the axis to each side less the radius.
        let w = thinnest(&eccentric_block(1.0, 0.9, 0.5), Deg(15.0), 4, Mm(1.6));
        let seen: Vec<f64> = w.thinnest.iter().map(|t| t.value.get()).collect();
        println!("{w:#?}");
        assert!(w.acute.is_empty() && w.proved());
        // Each half of the void is a face of its own; 0.4 to the front, 0.5 left, 0.6 back, and what the border of a
        // half leaves of them.
        assert!((seen[0] - 0.4).abs() < 1e-7, "{seen:?}");
        assert!(w.thinnest.iter().all(|t| t.interval.width() < Mm(1e-6)));
        assert!(seen.windows(2).all(|p| p[0] <= p[1]));
    }

    #[test]
    fn an_acute_edge_is_listed_apart_and_hides_nothing_else() {
        let s = prism(&[polygon(&[([0.0, 0.0], "floor"), ([2.0, 0.0], "thick"), ([2.0, 0.5], "roof")])], 0.3);
        let w = thinnest(&s, Deg(15.0), 3, Mm(5.0));
        assert_eq!(w.acute.len(), 1);
        assert_eq!(w.thinnest[0].between, ["bottom", "top"]);
        assert!((w.thinnest[0].value.get() - 0.3).abs() < 1e-7);
    }

    #[test]
    fn a_reflex_edge_counts_with_its_fan_of_normals() {
        // Inner corner at (1, 1); a bevel of the outer corner across it, square to the diagonal, 0.3 away (closed form).
        let h = (2f64).sqrt();
        let c = 0.3 * h; // the bevel x + y = 2 - c
        let s = prism(
            &[polygon(&[
                ([1.0, 1.0], "inner.a"),
                ([1.0, 3.0], "end.a"),
                ([-1.0, 3.0], "outer.a"),
                ([-1.0, 3.0 - c], "bevel"),
                ([3.0 - c, -1.0], "outer.b"),
                ([3.0, -1.0], "end.b"),
                ([3.0, 1.0], "inner.b"),
            ])],
            5.0,
        );
        let w = thinnest(&s, Deg(15.0), 1, Mm(5.0));
        println!("{w:#?}");
        assert!((w.thinnest[0].value.get() - 0.3).abs() < 1e-7);
        assert!(w.thinnest[0].between.contains(&"bevel".to_owned()));
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]
        /// A void hidden at a random place of a block in a random pose: closed form min of the side distances.
        #[test]
        fn a_hidden_void_is_found(x in 0.4f64..3.6, y in 0.4f64..1.6, k in 0.2f64..0.95, a in -3.0f64..3.0, b in -3.0f64..3.0) {
            let room = x.min(y).min(4.0 - x).min(2.0 - y);
            let r = room * k;
            let pose = Isometry3::new(Vector3::new(a, b, a * b), Vector3::new(b, a, 1.0));
            let w = thinnest(&moved(&eccentric_block(x, y, r), &pose), Deg(15.0), 1, Mm(9.0));
            let truth = (room - r).min(1.5);
            let i = w.least().unwrap();
            prop_assert!(i.lower.get() <= truth + 1e-11 && truth <= i.upper.get() + 1e-11, "{:?} {}", i, truth);
            prop_assert!(i.width() < Mm(1e-6), "{:?}", i);
        }
    }
}
