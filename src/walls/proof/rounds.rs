//! Closed forms where balls and drill points are part of the boundary.

use super::tests::{bar, meshed, turned, upright};
use super::*;
use crate::solid::tree::{Corner, prism, revolve};
use crate::solid::{Frame, Tree};
use nalgebra::Vector3;

const LEAN: f64 = 15.0;

fn pose() -> Frame {
    Frame::along(Point3::new(0.7, -1.4, 0.9), &Vector3::new(-0.8, 0.6, 1.1))
}

/// The thinnest place in the metal or in the air, here and in another pose: truth inside, 2 um wide at most, polished.
fn holds(name: &str, solid: &Solid, inside: bool, truth: f64) {
    for s in [solid.clone(), solid.moved(&pose())] {
        let fine = meshed(&s, FINE);
        let q = Question {
            delta: Deg(LEAN),
            below: Mm(9.0),
            count: 1,
            thick: ANY,
            tolerance: Mm(ENOUGH),
            work: WORK,
        };
        let p = of_solid(&s, &fine, inside, &q);
        let (v, l) = (p.places[0].value.get(), p.lower.get());
        println!(
            "{name}: [{:.3} um] {:.3e} looked {} sharp {}",
            1e3 * (v - l),
            v - truth,
            p.looked,
            p.sharp.len()
        );
        assert!(!p.ended && l <= truth + 1e-9 && truth <= v + 1e-9, "{name}: {l} {truth} {v}");
        assert!(v - l <= 2e-3, "{name}: {l} {v}");
        assert!((v - truth).abs() < 1e-6, "{name}: {v} {truth}");
    }
}

/// What a cup of a ball about (x, y, 2.6) is cut with, before its cone is bent out; the ball is wider than the mouth.
fn cutter(x: f64, y: f64, radius: f64, name: &str) -> Tree {
    let mouth = (radius * radius - 0.16f64).sqrt();
    let (low, foot) = (0.8 * radius, 0.6 * radius);
    let slope = (mouth - foot) / (0.4 + low);
    let profile = [
        (0.0, 2.6 - low, "low"),
        (foot, 2.6 - low, name),
        (mouth + 0.5 * slope, 3.5, "high"),
        (0.0, 3.5, "axis"),
    ];
    revolve(Frame::at(Point3::new(x, y, 0.0)), &profile)
}

#[test]
fn cups_of_balls() {
    let block = || bar([-2.0, 2.0], [-2.0, 2.0], [0.0, 3.0]);
    let one = Solid::build(&block().minus(vec![cutter(0.9, 0.2, 0.8, "cup")])).unwrap();
    let one = one.with_ball_cup("cup", &Point3::new(0.9, 0.2, 2.6), 0.8).unwrap();
    holds("ball cup beside a flat side: d - r", &one, true, 0.3);
    let two = block().minus(vec![cutter(-0.9, 0.1, 0.8, "one"), cutter(0.8, -0.2, 0.7, "two")]);
    let two = Solid::build(&two).unwrap();
    let two = two.with_ball_cup("one", &Point3::new(-0.9, 0.1, 2.6), 0.8).unwrap();
    let two = two.with_ball_cup("two", &Point3::new(0.8, -0.2, 2.6), 0.7).unwrap();
    holds("two ball cups: c - r - s", &two, true, libm::hypot(1.7, 0.3) - 1.5);
    let bored =
        block().minus(vec![cutter(-0.6, 0.1, 0.8, "cup"), upright(0.9, 0.1, -1.0, 0.45, 5.0, "bore")]);
    let bored =
        Solid::build(&bored).unwrap().with_ball_cup("cup", &Point3::new(-0.6, 0.1, 2.6), 0.8).unwrap();
    holds("ball cup beside a bore: c - r - s", &bored, true, 1.5 - 1.25);
}

/// Half the chisel edge of a drill of 1 mm, mm; common practice, no published source.
const CHISEL: f64 = 0.08;

/// Height of the rim between the drill's point and its bore.
fn rim() -> f64 {
    1.0 + (0.5 - CHISEL) * libm::tan(31f64.to_radians())
}

/// A block with a drilled hole, its point of 118 deg (the usual twist drill, ISO 5419), over a floor that leans by `lean` from
/// the flank of the point; of the floor the height at the axis.
fn drilled(lean: f64, height: f64) -> Tree {
    let rise = libm::tan((31.0 + lean).to_radians());
    let frame = Frame::with_axes(Point3::new(0.0, 2.0, 0.0), Vector3::x(), Vector3::z());
    let corners = [(-2.0, height + 2.0 * rise), (2.0, height - 2.0 * rise), (2.0, 3.0), (-2.0, 3.0)];
    let corners: Vec<Corner> = corners
        .iter()
        .zip(["floor", "right", "top", "left"])
        .map(|(&(x, z), name)| Corner { at: [x, z], arc: None, name: name.into() })
        .collect();
    let hole = [
        (0.0, 1.0, "chisel"),
        (CHISEL, 1.0, "point"),
        (0.5, rim(), "bore"),
        (0.5, 5.0, "high"),
        (0.0, 5.0, "axis"),
    ];
    prism(frame, corners, 4.0, ["near", "far"]).minus(vec![revolve(Frame::at(Point3::origin()), &hole)])
}

#[test]
fn a_drill_point_over_a_leaning_floor() {
    for (lean, height) in [(0.0, 0.6), (4.0, 0.5), (-5.0, 0.7)] {
        let angle = (31.0f64 + lean).to_radians();
        // Distances of point and rim from the floor; the nearest of the rim lies on the side where the floor rises.
        let from = |x: f64, z: f64| (z - (height - x * libm::tan(angle))) * libm::cos(angle);
        let truth = from(-CHISEL, 1.0).min(from(-0.5, rim()));
        let solid = Solid::build(&drilled(lean, height)).unwrap();
        holds(&format!("drill point, floor {lean} deg off its flank"), &solid, true, truth);
    }
}

/// A part with a cup of a ball, as plate and frame of the clasp have: decided throughout, nothing taken as sharp.
#[test]
fn a_cup_is_not_sharp() {
    let block = upright(0.0, 0.0, 0.0, 2.0, 3.0, "skin")
        .minus(vec![cutter(0.3, 0.1, 0.8, "cup"), turned(0.3, (0.3, -0.5), (0.3, 2.0), "bore")]);
    let solid = Solid::build(&block).unwrap().with_ball_cup("cup", &Point3::new(0.3, 0.1, 2.6), 0.8).unwrap();
    let p = of_part(&solid, Deg(LEAN), 1, &[]).unwrap();
    assert!(p.sharp.is_empty() && p.undecided.is_empty() && !p.ended, "{p:?}");
}

/// A corner of reflex edges is not sharp, and a thin place beside it is found: the foot of a block with a hole under it. Nor
/// does air that closes at 8 deg hide the neck between: a rod sunk a little into a flat side.
#[test]
fn thin_places_beside_reflex_corners_and_narrow_air() {
    let step = bar([-2.0, 2.0], [-2.0, 2.0], [0.0, 0.5]).plus(vec![bar([0.0, 1.5], [0.0, 1.5], [0.4, 2.0])]);
    let solid = Solid::build(&step.minus(vec![upright(0.0, 0.0, -1.0, 0.06, 1.45, "hole")])).unwrap();
    holds("hole under the foot of a block: planes", &solid, true, 0.05);
    assert!(of_part(&solid, Deg(LEAN), 1, &[]).unwrap().sharp.is_empty());
    let dip = 0.7 * libm::cos(8f64.to_radians());
    let rod = upright(0.0, dip, -0.5, 0.7, 4.0, "rod");
    let solid = Solid::build(&bar([-2.0, 2.0], [-1.0, 0.0], [0.0, 3.0]).plus(vec![rod])).unwrap();
    holds("rod that dips into a flat side: 2 r sin", &solid, true, 1.4 * libm::sin(8f64.to_radians()));
}
