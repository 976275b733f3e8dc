//! The joint between two links as bodies: a link with its wire or pin stands still, its neighbour moves.
//!
//! Frame of the standing link; its right end carries the joint. The connecting wire is soldered to it, the pin riveted into it.
//! The wire is the closed flat loop that is folded at the bench: a round upper leg through both bores, two upright ends, balls
//! for the bends, a flat lower leg in both grooves.

use super::body::Body;
use super::near::Pair;
use super::place::{Pose, Turn};
use super::swing::{Swing, swing};
use super::{Play, settled};
use crate::mesh::{FaceMesh, MeshError, TriMesh};
use crate::params::{Design, Key};
use crate::parts::stone;
use crate::solid::tree::{cylinder, prism, rounded_rectangle};
use crate::solid::{BuildError, Frame, Solid, Tree};
use crate::units::{Deg, Mm, Tolerance};
use nalgebra::{Point3, Vector3};
use serde::Serialize;
use std::f64::consts::PI;
use thiserror::Error;

/// Facets of the faces a joint turns on, and of all others, mm off their faces at most; finest mesh first. The play of a joint is some
/// hundredths of a millimetre, and where a web is about to bind a micrometre is half a degree.
const CHORD: [[f64; 2]; 3] = [[0.00012, 0.001], [0.001, 0.002], [0.004, 0.008]];
/// Parts of half a turn that a ball is divided into, roughest mesh first.
const BALL: [u32; 3] = [8, 20, 80];

/// A movement of the neighbour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Movement {
    /// The undersides come together, as on the wrist.
    Inward,
    /// The other way.
    Back,
    /// To the side, in the plane of the line lying flat.
    Sideways,
    /// About the line's own direction.
    Twist,
}

/// Why a joint's motion could not be measured.
#[derive(Debug, Error)]
pub enum MotionError {
    /// A body could not be built.
    #[error(transparent)]
    Build(#[from] BuildError),
    /// A body could not be meshed.
    #[error(transparent)]
    Mesh(#[from] MeshError),
    /// The joint binds at rest, or is free by less than its facets lie off their faces.
    #[error("the joint is not proved free at rest: {} and {} touch or nearly touch", .0[0], .0[1])]
    Binds([String; 2]),
    /// A thread ended without a result.
    #[error("a worker thread died")]
    Died,
}

/// Two links with what joins them.
#[derive(Clone, Debug)]
pub struct Joint {
    /// The bodies; the turn is that of the last movement.
    pub pair: Pair,
    /// At rest with the play shared out.
    pub rest: Pose,
    /// How far shifts can reach, mm: along, across, up.
    reach: [[f64; 2]; 3],
    /// Whether the axis is held (a pin in its bore) or the link may shift (a web in its loop).
    held: bool,
}

impl Movement {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Inward, Self::Back, Self::Sideways, Self::Twist];
    /// In bench words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Inward => "bending inward",
            Self::Back => "bending back",
            Self::Sideways => "swinging sideways",
            Self::Twist => "twisting",
        }
    }
    /// Axis, the two directions square to it, and how far to look.
    fn plane(self) -> (Vector3<f64>, [usize; 2], f64) {
        match self {
            Self::Inward => (Vector3::y(), [0, 2], 120.0),
            Self::Back => (Vector3::y(), [0, 2], -60.0),
            Self::Sideways => (Vector3::z(), [0, 1], 45.0),
            Self::Twist => (Vector3::x(), [1, 2], 45.0),
        }
    }
}

impl Joint {
    /// The joint at a link's right end with a neighbour; `larger` is added to the stones' diameter.
    ///
    /// # Errors
    /// See [`MotionError`].
    pub fn of(design: &Design, link: &Solid, neighbour: &Solid, larger: Mm) -> Result<Self, MotionError> {
        let d = design.dims();
        let p = d.pitch.get();
        let first = meshed("", link)?;
        let second = if std::ptr::eq(link, neighbour) { first.clone() } else { meshed("", neighbour)? };
        let (mut still, mut moving) = (vec![first], vec![second]);
        let stone = built("stone", &stone::recipe(design, larger.get()))?;
        let (pivot, reach) = if let Some(w) = &d.wire {
            let (dw, flat, play) =
                (design.get(Key::Wire), design.get(Key::WireFlat), design.get(Key::EndPlay));
            let (a, x) = (w.web_depth.get(), w.web_x.get());
            let inner = x - a / 2.0;
            let ends = [inner - play - dw / 2.0, p - inner + play + dw / 2.0];
            let up = w.bore_floor.get() + dw / 2.0;
            still.extend(wire(ends, up, dw / 2.0, [w.flat_width.get() / 2.0, flat])?);
            // The middle of the web stays inside the loop; the wire's middle stays between the sides of the bore.
            let along = [inner - play - (p - x), a / 2.0 + play];
            let side = design.get(Key::BoreWidth) / 2.0;
            let height = [flat - w.web_middle.get(), w.bore_floor.get() - w.web_middle.get()];
            (Point3::new(-x, 0.0, w.web_middle.get()), [along, [-side, side], height])
        } else {
            let z = d.joint_height.get();
            let (length, pin) = (design.get(Key::TubeLength), design.get(Key::Pin));
            let frame = Frame::with_axes(Point3::new(p / 2.0, -length / 2.0, z), Vector3::z(), Vector3::x());
            still.push(built("pin", &cylinder(frame, pin / 2.0, length, "side", ["end", "end"]))?);
            // The pin's middle stays inside the bore, the middle knuckle between the outer ones.
            let bore = design.get(Key::TubeBore) / 2.0;
            let side = length * design.get(Key::OuterShare) / 2.0;
            (Point3::new(-p / 2.0, 0.0, z), [[-bore, bore], [-side, side], [-bore, bore]])
        };
        still.push(stone.clone());
        moving.push(stone);
        let turn = Turn { pivot, axis: Vector3::y(), home: pivot + Vector3::new(p, 0.0, 0.0) };
        let held = d.wire.is_none();
        let mut out = Self { pair: Pair { still, moving, turn }, rest: Pose::REST, reach, held };
        if let Some(w) = &d.wire {
            // Half way between the legs: the line of anatomy hangs on the upper one.
            let middle = f64::midpoint(design.get(Key::WireFlat), w.bore_floor.get()) - w.web_middle.get();
            let start = Pose { shift: Vector3::new(0.0, 0.0, middle), ..Pose::REST };
            out.rest = settled(&out.pair, &out.play([0, 2]), &start);
        }
        if let Some(n) = out.pair.nearest(&out.rest, 0.0) {
            let name =
                |b: &[Body], (i, f): (usize, u32)| b.get(i).map_or_else(String::new, |b| b.face_name(f));
            return Err(MotionError::Binds([
                name(&out.pair.still, n.still),
                name(&out.pair.moving, n.moving),
            ]));
        }
        Ok(out)
    }

    fn play(&self, directions: [usize; 2]) -> Play {
        let axes = [Vector3::x(), Vector3::y(), Vector3::z()];
        Play { along: directions.map(|k| axes[k]).into(), reach: directions.map(|k| self.reach[k]).into() }
    }

    /// The play that goes with a movement.
    #[must_use]
    pub fn play_in(&self, m: Movement) -> Play {
        let (_, directions, _) = m.plane();
        let turns_on_pin = self.held && matches!(m, Movement::Inward | Movement::Back);
        if turns_on_pin { Play::NONE } else { self.play(directions) }
    }

    /// Turns the pair's axis to that of a movement.
    #[must_use]
    pub fn turned_to(&self, m: Movement) -> Pair {
        let turn = Turn { axis: m.plane().0, ..self.pair.turn };
        Pair { turn, ..self.pair.clone() }
    }

    /// How far the neighbour moves until something touches.
    #[must_use]
    pub fn swing(&self, m: Movement) -> Swing {
        let pair = self.turned_to(m);
        swing(&pair, &self.play_in(m), &self.rest, Deg(m.plane().2))
    }

    /// Bounds of the least distance at a pose about the bending axis, mm.
    #[must_use]
    pub fn clearance(&self, pose: &Pose) -> [f64; 2] {
        self.pair.nearest(pose, 10.0).map_or([10.0, f64::INFINITY], |n| [n.lower, n.mesh + n.chords])
    }
}

fn tolerance(mm: f64) -> Tolerance {
    // A constant above zero.
    Tolerance::new(mm).unwrap_or_else(|| unreachable!("a chord above zero"))
}

fn meshed(name: &str, solid: &Solid) -> Result<Body, MotionError> {
    let joints =
        ["web", "bore", "groove", "knuckle", "pocket", "upper", "lower", "upright", "side", "collet"];
    let of = |[joint, other]: [f64; 2]| {
        let chord = |face: &str| if joints.iter().any(|j| face.starts_with(j)) { joint } else { other };
        Body::of(name, solid, |face| tolerance(chord(face)))
    };
    // The roughest is quicker whole: it is asked how near all faces about a joint are, not which facets may meet.
    let rough = of(CHORD[2])?;
    Ok(of(CHORD[0])?.in_pieces().with_rough(of(CHORD[1])?.in_pieces().with_rough(rough)))
}

fn built(name: &str, tree: &Tree) -> Result<Body, MotionError> {
    meshed(name, &Solid::build(tree)?)
}

/// The connecting wire: ends along x of the upright legs' axes, height of the upper leg's axis, its radius, half width and
/// thickness of the lower leg.
fn wire(ends: [f64; 2], up: f64, r: f64, [wide, flat]: [f64; 2]) -> Result<Vec<Body>, MotionError> {
    let along = Frame::with_axes(Point3::new(ends[0], 0.0, up), Vector3::y(), Vector3::z());
    let mut out = vec![
        built("wire", &cylinder(along, r, ends[1] - ends[0], "upper", ["bend", "bend"]))?,
        built(
            "wire",
            &prism(
                Frame::at(Point3::origin()),
                rounded_rectangle(ends, [-wide, wide], 0.0, ["lower"; 4]),
                flat,
                ["lower", "lower"],
            ),
        )?,
    ];
    for x in ends {
        let frame = Frame::at(Point3::new(x, 0.0, 0.0));
        out.push(built("wire", &cylinder(frame, r, up, "upright", ["lower", "bend"]))?);
        let at = Point3::new(x, 0.0, up);
        let [rough, medium, fine] = BALL.map(|n| ball("wire", "bend", &at, r, n));
        out.push(fine.with_rough(medium.with_rough(rough)));
    }
    Ok(out)
}

/// A ball by degrees of latitude and longitude, its corners on the sphere.
fn ball(name: &str, face: &str, centre: &Point3<f64>, r: f64, n: u32) -> Body {
    let mut mesh = TriMesh::default();
    let corner = |i: u32, j: u32| {
        let (s, c) = libm::sincos(PI * f64::from(i) / f64::from(n));
        let (t, u) = libm::sincos(PI * f64::from(j) / f64::from(n));
        centre + Vector3::new(r * s * u, r * s * t, r * c)
    };
    // Poles first, then a ring of 2n for each latitude between them.
    mesh.positions = vec![corner(0, 0), corner(n, 0)];
    mesh.positions.extend((1..n).flat_map(|i| (0..2 * n).map(move |j| corner(i, j))));
    let at = |i: u32, j: u32| match i {
        0 => 0,
        i if i == n => 1,
        i => 2 + 2 * n * (i - 1) + j % (2 * n),
    };
    for i in 0..n {
        for j in 0..2 * n {
            if i + 1 < n {
                mesh.triangles.push([at(i, j), at(i + 1, j), at(i + 1, j + 1)]);
            }
            if i > 0 {
                mesh.triangles.push([at(i, j), at(i + 1, j + 1), at(i, j + 1)]);
            }
        }
    }
    mesh.face = vec![0; mesh.triangles.len()];
    // A triangle lies in a circle of its longest edge over the root of three; that edge is at most the root of two steps.
    let step = PI / f64::from(n);
    let chord = r * (1.0 - libm::cos(step * (2.0_f64 / 3.0).sqrt()));
    Body::of_mesh(name, FaceMesh { mesh, chord: vec![chord], ..FaceMesh::default() }, vec![face.into()])
}
